#pragma once
// The full model of a pallet plate: see structure.h for what goes in and comes out.
#include "calc/structure/structure.h"

namespace fettle::structure {

/// How far the mesh may be off, as shares, from a mesh half as fine after Richardson.
struct MeshError {
  double first = 0;  ///< of the first elastic frequency
  double modes = 0;  ///< the largest, of the frequencies of those modes that carry a twentieth or more of what some
                     ///< point gives at rest; modes of the two meshes are matched by how they move the points
  double give = 0;   ///< the largest, of what a point gives at rest (sum of the three directions)
};
/// `fine` is what solve() said of `in`; points are asked on both meshes. NaN where the coarse mesh has no answer;
/// without points only `first`.
MeshError mesh_error(const Inputs& in, const Result& fine);

/// The inputs with the coarsest mesh whose own estimate (Result::error) is not above `share`; up to `most` elements
/// along the longer side. What it reached is in `error`; `ok` false when even the finest is above.
struct MeshChoice {
  bool ok = false;
  std::string why;
  Inputs in;
  double error = 0;
};
MeshChoice mesh_for(const Inputs& in, double share, int most = 96);

}  // namespace fettle::structure
