#include "places.h"

namespace fettle::test {
const char* const binary_dir = FETTLE_BINARY_DIR;
}  // namespace fettle::test
