#include "calc/structure/reckoners.h"

namespace fettle::structure {

std::vector<finding::Reckoner> reckoners() { return {}; }

}  // namespace fettle::structure
