#include "study/internal.h"

namespace fettle::study {

void stiffness_findings(Context&) {}

}  // namespace fettle::study
