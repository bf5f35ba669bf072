#include "calc/structure/reckoners.h"

namespace fettle::structure {

std::vector<finding::Reckoner> reckoners() { return plate_reckoners(); }

}  // namespace fettle::structure
