#include "calc/structure/factored.h"

#include <algorithm>

namespace fettle::structure {

Factored::Factored(const Inputs& in) {
  Inputs bare = in;
  bare.points.clear();
  system_ = system_of(bare);
  why_ = system_.why;
  if (!why_.empty()) return;
  // Rounding can let the factor of a plate that nothing holds succeed: what holds it is looked for, not found out.
  const bool something =
      !in.anchors.empty() || std::any_of(in.edges.begin(), in.edges.end(), [](Edge e) { return e != Edge::free; });
  if (something) held_ = std::make_unique<const Held>(system_, 0);
  if (!something || !held_->ok()) why_ = nothing_holds;
}

}  // namespace fettle::structure
