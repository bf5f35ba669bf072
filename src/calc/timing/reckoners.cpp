#include "calc/timing/reckoners.h"

#include <utility>

namespace fettle::timing {

std::vector<finding::Reckoner> reckoners() {
  std::vector<finding::Reckoner> all;
  for (auto* part : {&clock_reckoners, &money_reckoners, &simulation_reckoners})
    for (finding::Reckoner& r : part()) all.push_back(std::move(r));
  return all;
}

}  // namespace fettle::timing
