#include "calc/holding/reckoners.h"

#include <utility>

namespace fettle::holding {

std::vector<finding::Reckoner> reckoners() {
  std::vector<finding::Reckoner> out;
  for (auto* part : {&proof_reckoners, &screw_reckoners})
    for (finding::Reckoner& r : part()) out.push_back(std::move(r));
  return out;
}

}  // namespace fettle::holding
