#pragma once
// A boring bar sways; its edge meets the wave of the turn before: how much stock may it take a side?
#include <array>
#include <string>
#include <vector>

#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::chatter {

/// The edge of a boring tool as the swaying of its bar sees it.
struct BarEdge {
  double approach = 1.5707963267948966;  ///< rad, between the straight edge and the axis of the bore; 90 deg: square
  double corner_radius = 0;              ///< m
  double feed = 0;                       ///< m a turn and edge
};
/// Length of edge that a swaying bar moves into the metal, m: integral of (radial part of the edge's normal)^2 along
/// the engaged edge, at `depth` (m, on the radius). Straight edge: depth cos^2/sin of the approach; the corner turns
/// from square to the wall to the approach, and is engaged half a feed beyond its lowest point. Own derivation.
double swayed_edge(const BarEdge& edge, double depth);

struct BarInputs {
  std::vector<maths::PointResponse> responses;  ///< tool and part, each in its own axes
  /// Unit vectors in the responses' axes: two across the bore's axis, square to one another.
  std::array<frame::Vec3, 2> across{{{1, 0, 0}, {0, 1, 0}}};
  BarEdge edge;
  int edges = 1;           ///< that cut side by side
  double kt = 0, kr = 0;   ///< N/m2 of chip; force square to the edge over the tangential one
  double speed = 0;        ///< m/s at the edge
  double indentation = 0;  ///< N/m3 of metal pushed aside by the flank; 0: none
  double land = 0;         ///< m that rubs
  double highest = 6000;   ///< Hz, looked for
};
struct BarResult {
  bool ok = false;
  std::string why;
  double edge = 0;       ///< m, swayed edge at which it starts; infinity: never
  double depth = 0;      ///< m on the radius; infinity: the edge at hand never sways that much
  double frequency = 0;  ///< Hz, of what starts
};
/// Regenerative chatter of a turning-like cut at whatever speed suits it worst (Tlusty and Polacek 1963, Tobias 1965)
/// with the flank's rubbing (Wu 1989). With 1/G = P + iQ, K = kt kr and C = indentation land^2/2 the least b over all
/// frequencies that solves (wC/v b)^2 + 2 (Q w C/v + P K) b + P^2 + Q^2 = 0. The direction across the axis that is
/// worse is taken, as if the edge always stood that way. Two edges opposite sway together (factor 2), more share the
/// directions (half their number). Not in it: gyroscopic forces, tangential motion (makes no chip), one mode feeding
/// the other. Not ok: nothing gives way, no force, a size that cannot be.
BarResult bar_limit(const BarInputs& in);

}  // namespace fettle::chatter
