#include "base/version.h"

namespace fettle::base {

const char* version() { return "0.1.0"; }
const char* tables_version() { return "1"; }

}  // namespace fettle::base
