#include "calc/timing/reckoners.h"

namespace fettle::timing {

std::vector<finding::Reckoner> reckoners() {
  return {};
}

}  // namespace fettle::timing
