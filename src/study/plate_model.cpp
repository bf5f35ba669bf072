#include "study/plate_model.h"

namespace fettle::study {

std::vector<std::string> plate_missing(const Context&) { return {"pallet: nothing is computed yet"}; }
PlateKnobs stated_knobs(const Context&) { return {}; }
Outcome<PlateAnswer> plate_answer(Context&, const PlateKnobs&, const std::vector<PlatePoint>&) {
  return Problem{Fault::bad_input, {}, "nothing is computed yet", {}, {}, {}};
}
frame::Vec3 on_pallet(const plan::Plan&, int, frame::Vec3 in_part) { return in_part; }
frame::Vec3 turned_on_pallet(const plan::Plan&, int, frame::Vec3 direction_in_part) { return direction_in_part; }
int nest_count(const plan::Plan&) { return 0; }

}  // namespace fettle::study
