#include "study/internal.h"

namespace fettle::study {

void chuck_findings(Context&) {}

}  // namespace fettle::study
