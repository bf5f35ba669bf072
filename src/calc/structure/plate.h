#pragma once
// The full model of a pallet plate: see structure.h for what goes in and comes out.
#include "calc/structure/structure.h"

namespace fettle::structure {

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
