#include "calc/tolerance/reckoners.h"

namespace fettle::tolerance {

std::vector<finding::Reckoner> reckoners() {
  std::vector<finding::Reckoner> all;
  for (auto* part : {chain_reckoners, ledger_reckoners})
    for (finding::Reckoner& r : part()) all.push_back(std::move(r));
  return all;
}

}  // namespace fettle::tolerance
