#include <algorithm>
#include <cmath>

#include "solid/graph.h"
#include "solid/holes.h"

namespace fettle::solid {

void find_features(const Graph& g, Model& model) {
  const auto rings = rings_of(g, true);
  for (auto& f : holes_of(g, rings)) model.holes.push_back(f.hole);
}
void find_ways(const Graph&, Model&) {}

}  // namespace fettle::solid
