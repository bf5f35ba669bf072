#include "calc/bore/reckoners.h"

namespace fettle::bore {

std::vector<finding::Reckoner> reckoners() { return {}; }

}  // namespace fettle::bore
