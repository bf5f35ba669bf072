#include "study/internal.h"

namespace fettle::study {

void bore_findings(Context&) {}

}  // namespace fettle::study
