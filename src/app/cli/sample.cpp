// `fettle sample`: one drawn part again, with its whole history.
#include "study/sample.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/commands.h"
#include "app/cli/report.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "plan/read.h"

namespace fettle::cli {

namespace {

struct Printer {
  unit::Style style;
  /// One unit and one number of digits down the whole list: a tenth of a micron, or 5 millionths of an inch.
  std::string length(double si) const {
    const bool inch = style.system == unit::Style::System::inch;
    const int digits = inch ? 5 : 4;
    std::string s = base::fixed(si / (inch ? 0.0254 : 1e-3), digits);
    if (s.find_first_of("123456789") == std::string::npos) s = base::fixed(0, digits);
    return s + (inch ? " in" : " mm");
  }
  std::string vector(const frame::Vec3& v) const {
    return fmt::format("{}, {}, {}", length(v.x), length(v.y), length(v.z));
  }
  std::string turn(double w) const {
    const bool inch = style.system == unit::Style::System::inch;
    return fmt::format("{} over {}", length(w * (inch ? 0.1016 : 0.1)), inch ? "4 in" : "100 mm");
  }
  /// Turns as what they do at 100 mm (4 in), which a person can picture.
  std::string turns(const frame::Vec3& w) const {
    const bool inch = style.system == unit::Style::System::inch;
    const double arm = inch ? 0.1016 : 0.1;
    return fmt::format("{}, {}, {} over {}", length(w.x * arm), length(w.y * arm), length(w.z * arm),
                       inch ? "4 in" : "100 mm");
  }
};

/// Lower limit of the drawing where the history has none, because what is smaller is honed afterwards.
std::optional<double> honed_from(const plan::Plan& plan, const std::string& requirement, double low) {
  for (const plan::Requirement& r : plan.requirements)
    if (r.id.value == requirement && r.kind.value == "size" && low < -1e300 && r.limits.value.lower)
      return r.limits.value.lower;
  return {};
}
std::string hone_of(const plan::Plan& plan) {
  for (const plan::Operation& o : plan.operations)
    if (o.kind.value == "hone") return o.id.value;
  return "the hone";
}
/// On a pallet the nests are counted from 1, as at the machine and on the drawings.
int nest_on_pallet(const tolerance::PartHistory& h, const plan::Plan& plan) {
  const int n = static_cast<int>(plan.pallet.nests.size());
  return (n > 0 ? h.nest % n : h.nest) + 1;
}

std::string history_text(const study::SampledPart& s, const plan::Plan& plan) {
  const Printer p{style_of(plan)};
  const tolerance::PartHistory& h = s.history;
  std::string out = fmt::format("Part {} of {}, seed {}: nest {} on pallet {}\n", s.number, s.parts,
                                plan.header.seed.value, nest_on_pallet(h, plan), h.pallet + 1);
  out += "\nWhat the drawing says of it\n";
  for (const auto& v : h.requirements) {
    const auto honed = honed_from(plan, v.requirement, v.low);
    const bool small = honed && v.value < *honed;
    std::string limits = honed                              ? p.length(*honed) + " to " + p.length(v.high)
                         : v.low > -1e300 && v.high < 1e300 ? p.length(v.low) + " to " + p.length(v.high)
                         : v.high < 1e300                   ? "at most " + p.length(v.high)
                                                            : "at least " + p.length(v.low);
    if (honed)
      limits += small ? fmt::format(
                            "; as bored, before the hone: {} too small; {} takes it inside, what the hone "
                            "brings is not drawn here",
                            p.length(*honed - v.value), hone_of(plan))
                      : "; as bored, no hone needed";
    out += wrap(fmt::format("{} {}: {} ({}){}",
                            !v.inside ? "OUTSIDE"
                            : small   ? "to hone"
                                      : "inside ",
                            v.requirement, p.length(v.value), limits,
                            v.most_from.empty() ? std::string()
                                                : fmt::format("; most from {}, {}", v.most_from, p.length(v.most))),
                110, 2);
  }
  out += "\nHow it lay, operation by operation (shift X, Y, Z; turn about X, Y, Z)\n";
  for (const auto& step : h.steps) {
    out += wrap(fmt::format("{}: {}; {}", step.operation, p.vector(step.t), p.turns(step.w)), 110, 2);
    if (step.seat.x != 0 || step.seat.y != 0 || step.seat.turn != 0)
      out += wrap(fmt::format("seat on its pins: {} along their line, {} across, turned {}", p.length(step.seat.x),
                              p.length(step.seat.y), p.turn(step.seat.turn)),
                  110, 4);
  }
  out += "\nWhat it was dealt (largest for its own scatter first)\n";
  std::vector<const tolerance::PartHistory::Error*> errors;
  for (const auto& e : h.errors) errors.push_back(&e);
  std::stable_sort(errors.begin(), errors.end(),
                   [](const auto* a, const auto* b) { return std::fabs(a->in_s) > std::fabs(b->in_s); });
  for (const auto* e : errors) {
    const bool kelvin = e->name.rfind("growth of the pallet", 0) == 0, turn = e->name.ends_with(", turn");
    out +=
        wrap(fmt::format("{:+.2f} s  {}{}: {}", e->in_s, e->name, e->operation.empty() ? "" : " (" + e->operation + ")",
                         kelvin ? unit::print(e->value, unit::Kind::temperature_difference, p.style)
                         : turn ? unit::print(e->value, unit::Kind::angle, p.style)
                                : p.length(e->value)),
             110, 2);
  }
  out += "\nThe surfaces in the end (shift X, Y, Z; turn; size)\n";
  for (const auto& x : h.surfaces)
    out += wrap(fmt::format("{}: {}; {}{}", x.element, p.vector(x.t), p.turns(x.w),
                            x.size != 0 ? "; size " + p.length(x.size) : std::string()),
                110, 2);
  if (!s.not_judged.empty()) {
    out += "\nNot judged\n";
    for (const std::string& n : s.not_judged) out += wrap(n, 110, 2);
  }
  return out;
}

nlohmann::json vec(const frame::Vec3& v) { return {v.x, v.y, v.z}; }
nlohmann::json finite(double x) {
  return std::isfinite(x) && std::fabs(x) < 1e300 ? nlohmann::json(x) : nlohmann::json(nullptr);
}

nlohmann::json history_json(const study::SampledPart& s, const plan::Plan& plan) {
  const tolerance::PartHistory& h = s.history;
  nlohmann::json requirements = nlohmann::json::array(), steps = nlohmann::json::array(),
                 errors = nlohmann::json::array(), surfaces = nlohmann::json::array();
  for (const auto& v : h.requirements)
    requirements.push_back({{"requirement", v.requirement},
                            {"value_m", finite(v.value)},
                            {"low_m", finite(v.low)},
                            {"high_m", finite(v.high)},
                            {"inside", v.inside},
                            {"honed_from_m", honed_from(plan, v.requirement, v.low)
                                                 ? nlohmann::json(*honed_from(plan, v.requirement, v.low))
                                                 : nlohmann::json(nullptr)},
                            {"most_from", v.most_from},
                            {"most_m", finite(v.most)}});
  for (const auto& x : h.steps)
    steps.push_back({{"operation", x.operation},
                     {"shift_m", vec(x.t)},
                     {"turn_rad", vec(x.w)},
                     {"seat", {{"x_m", x.seat.x}, {"y_m", x.seat.y}, {"turn_rad", x.seat.turn}}}});
  for (const auto& e : h.errors)
    errors.push_back(
        {{"name", e.name}, {"operation", e.operation}, {"value_si", finite(e.value)}, {"in_s", finite(e.in_s)}});
  for (const auto& x : h.surfaces)
    surfaces.push_back({{"surface", x.element},
                        {"shift_m", vec(x.t)},
                        {"turn_rad", vec(x.w)},
                        {"size_m", x.size},
                        {"form_m", x.form}});
  return {{"schema", 1},
          {"plan", plan.header.name.value},
          {"plan_hash", plan.hash},
          {"seed", plan.header.seed.value},
          {"part", s.number},
          {"parts", s.parts},
          {"nest", nest_on_pallet(h, plan)},
          {"pallet", h.pallet + 1},
          {"requirements", std::move(requirements)},
          {"steps", std::move(steps)},
          {"errors", std::move(errors)},
          {"surfaces", std::move(surfaces)},
          {"not_judged", s.not_judged}};
}

}  // namespace

int sample_command(const SampleArguments& a) {
  Outcome<plan::Plan> p = plan::read_plan(a.plan);
  if (!p.ok()) return report(p.problems());
  if (a.seed >= 0) p->header.seed.value = a.seed;
  const study::Data data = study::load_data(*p);
  const Outcome<study::SampledPart> s = study::sample_part(*p, data, a.part);
  if (!s.ok()) return report(s.problems());
  if (a.json) std::cout << history_json(*s, *p).dump(1) << "\n";
  else std::cout << history_text(*s, *p);
  const bool inside = std::all_of(s->history.requirements.begin(), s->history.requirements.end(),
                                  [](const auto& v) { return v.inside; });
  return !inside ? 1 : s->not_judged.empty() ? 0 : 4;
}

}  // namespace fettle::cli
