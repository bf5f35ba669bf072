#include "study/internal.h"

namespace fettle::study {

void vise_findings(Context&) {}

}  // namespace fettle::study
