#include "study/cut_model.h"

namespace fettle::study {

std::vector<CutModel> cut_models(Context&) { return {}; }
CutForces cut_forces(Context&, const CutModel&, const CutKnobs&) { return {}; }
std::optional<PushOff> tool_push_off(Context&, const CutModel&) { return {}; }

}  // namespace fettle::study
