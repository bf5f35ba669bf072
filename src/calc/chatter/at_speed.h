#pragma once
// How deep a cut stays quiet at one spindle speed, with the flank's rubbing: quick, for studies.
#include <array>
#include <string>
#include <vector>

#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::chatter {

struct AtSpeedInputs {
  /// What gives way: tool and part, each in its own axes; what a unit force does to it.
  std::vector<maths::PointResponse> responses;
  /// Unit vectors in the responses' axes: along the feed, spindle x feed, towards the spindle.
  std::array<frame::Vec3, 3> axes{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
  double entry = 0, exit = 0;        ///< rad, engaged arc from `spindle x feed`, in the sense of turning (clockwise)
  double lead = 0;                   ///< rad, that the edge leans back; 0: motion along the spindle makes no chip
  double kt = 0, kr = 0, ka = 0;     ///< N/m2 per axial depth; radial and axial ratio
  double turns = 0;                  ///< per second
  std::vector<double> tooth_angles;  ///< rad, where each tooth stands
  double diameter = 0;               ///< m
  /// Flank: N/m3 of metal pushed aside, land that rubs (m), friction. 0: none.
  double indentation = 0, land = 0, friction = 0.3;
  double highest = 6000;  ///< Hz, looked for
};
struct AtSpeedResult {
  bool ok = false;
  std::string why;
  double depth = 0;           ///< m, axial depth at which it starts; infinity: never in the range looked at
  double frequency = 0;       ///< Hz, of what starts
  std::vector<double> share;  ///< what each response adds to 1/depth there; sums to 1. Empty when it never starts
};
/// Zero order: the forces are averaged over the turn (Altintas and Budak 1995, in three directions as Altintas 2001).
/// At the speed given the smallest depth b at which det(I - b (kt N/(2 pi) (1 - mean exp(-i w T_k)) A - i w c B) G) is
/// zero for some real w, found along the eigenvalues over the frequency, from 0.25 of the lowest mode to 3 times the
/// highest or `highest`. Flank: a wave pushes land^2/2 of metal aside per depth and slope of the wave; the force is
/// indentation times that volume (Wu 1989; small waves, so linear: Ahmadi and Ismail 2012), against the motion, with
/// friction along the edge's way; less for waves that are short against the land (wave_factor() in damping.h). Not for
/// light cuts (arcs much shorter than the tooth spacing), where period doubling may come first. Error: under 0.1 % of
/// the depth.
AtSpeedResult depth_at_speed(const AtSpeedInputs& in);

struct DeeperInputs {
  AtSpeedInputs in;
  double than = 0;  ///< m
};
/// The same where the depth is more than `than`; else it looks no further as soon as that is sure, and `depth` is some
/// depth that is not more. For the best of many.
AtSpeedResult deeper_at_speed(const DeeperInputs& in);

}  // namespace fettle::chatter
