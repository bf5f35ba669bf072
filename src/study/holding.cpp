// Everything that holds: each kind of clamping has its own coupling.
#include "study/internal.h"
#include "study/vise_jaws.h"

namespace fettle::study {

void holding_findings(Context& c) {
  screw_findings(c);  // first: how far a screw may be tightened bounds what the proof may advise
  pallet_holding_findings(c);
  anchor_findings(c);
  vise_jaw_findings(c);
  vise_findings(c);
  chuck_findings(c);
}

}  // namespace fettle::study
