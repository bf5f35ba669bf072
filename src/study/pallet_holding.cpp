#include "study/internal.h"

namespace fettle::study {

void pallet_holding_findings(Context&) {}

}  // namespace fettle::study
