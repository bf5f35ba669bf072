#include "calc/tolerance/reckoners.h"

namespace fettle::tolerance {

std::vector<finding::Reckoner> reckoners() {
  return {};
}

}  // namespace fettle::tolerance
