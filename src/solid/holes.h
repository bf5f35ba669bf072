#pragma once
// Finding round holes in the graph of a solid: rings (cylinder faces on one axis with one radius that touch along it),
// and the chains of coaxial faces that hang on a closed concave ring.
#include <vector>

#include "solid/graph.h"

namespace fettle::solid {

struct Line {
  Vec3 point, dir;
};

/// Cylinder faces with one axis and radius that touch along the axis. `turn`: the most of the full turn that is covered
/// at any one height (2 pi: closed). A bore split in halves is closed; a cross hole's window does not open it.
struct Ring {
  Line axis;
  double radius = 0;
  double taper = 0;        ///< radius gained per length along the axis, `radius` holding at axis.point; 0: cylinder
  double lo = 0, hi = 0;   ///< along the axis from axis.point
  std::vector<int> faces;  ///< indices into Graph::faces
  double turn = 0;
};

struct FoundHole {
  Hole hole;
  Line axis;
  std::vector<int> faces;  ///< indices
};

bool parallel(Vec3 a, Vec3 b);
bool on_axis(const Line& axis, Vec3 p);
bool coaxial(const Line& axis, const Edge& e);
bool coaxial(const Line& axis, const Face& f);
double largest_turn(const Graph& g, const Ring& ring);

/// All rings of concave (or convex) cylinder faces.
std::vector<Ring> rings_of(const Graph& g, bool concave);

/// Closed rings of concave cones with at most 10 deg of slope: cored and taper-reamed holes.
std::vector<Ring> tapers_of(const Graph& g);

/// Holes on the closed rings among `rings` (which must be the concave ones).
std::vector<FoundHole> holes_of(const Graph& g, const std::vector<Ring>& rings, const std::vector<Ring>& tapers = {});

}  // namespace fettle::solid
