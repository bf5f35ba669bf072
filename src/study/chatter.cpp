#include "study/internal.h"

namespace fettle::study {

void chatter_findings(Context&) {}

}  // namespace fettle::study
