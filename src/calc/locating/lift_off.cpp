#include "calc/locating/lift_off.h"

#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "base/text.h"

namespace fettle::locating {

namespace {
void check(Problems& out, const char* name, double x, double low, double high, const char* range) {
  if (x >= low && x <= high) return;
  out.push_back(bad(std::string(name) + " is impossible", base::shortest(x), range));
}
}  // namespace

Outcome<LiftOffResult> lift_off(const LiftOffInputs& in) {
  Problems problems;
  check(problems, "span of the pins", in.span, 1e-3, 100, "1 mm .. 100 m");
  check(problems, "hole", in.hole, 1e-4, 10, "0.1 mm .. 10 m");
  check(problems, "clearance", in.clearance, 0, 1e-2, "0..10 mm");
  check(problems, "land height", in.land_height, 1e-5, 1, "0.01 mm .. 1 m");
  check(problems, "friction", in.friction, 0, 2, "0..2");
  check(problems, "pull off centre", in.pull_off_centre, 0, 100, "0..100 m");
  if (!problems.empty()) return problems;
  LiftOffResult r;
  const double h = in.land_height, D = in.hole, c = in.clearance;
  r.tallest_one_ended = std::sqrt(in.span * c);
  r.free_one_ended = h <= r.tallest_one_ended;
  // h t + D t^2 / 2 = c
  r.binding_turn = 2 * c / (h + std::sqrt(h * h + 2 * D * c));
  r.lead_of_one_end = in.span * r.binding_turn;
  r.jam_arm = in.friction > 0 ? h / (2 * in.friction) : std::numeric_limits<double>::infinity();
  r.jams = in.pull_off_centre > r.jam_arm;
  r.words = r.free_one_ended
                ? fmt::format("one end may be lifted off first (land {} mm, up to {} mm)", base::fixed(h * 1e3, 2),
                              base::fixed(r.tallest_one_ended * 1e3, 2))
                : fmt::format(
                      "lift level: one end may lead by {} mm at most before the land binds; a land up to {} mm would "
                      "let one end come first",
                      base::fixed(r.lead_of_one_end * 1e3, 2), base::fixed(r.tallest_one_ended * 1e3, 2));
  if (r.jams)
    r.words += fmt::format("; pulled {} mm beside the pin it jams, pull within {} mm",
                           base::fixed(in.pull_off_centre * 1e3, 1), base::fixed(r.jam_arm * 1e3, 1));
  r.cautions = {
      "A part that lets go of a pin suddenly pinches and drops: pry from both sides, keep fingers out of the gap."};
  return r;
}

}  // namespace fettle::locating
