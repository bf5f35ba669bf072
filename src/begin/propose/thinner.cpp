// A plate that is stiffer than its cuts ask for is taken thinner from stock, where that makes the pallet lighter.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/mend.h"
#include "plan/read.h"

namespace fettle::begin {

namespace {

using finding::Finding;
using finding::State;

// Common practice, from memory.
constexpr double least_margin = 0.2;   ///< of what gives, bows or sings, after the change
constexpr double least_plate = 0.018;  ///< m: threads and anchors need that much
constexpr double worth = 0.04;         ///< of the loaded mass: less is no gain

/// What a plate's thickness decides.
bool of_plate(const Finding& f, const std::string& operation) {
  const bool plate = f.question == "give" || f.question == "plate_bow";
  return plate || (f.operation == operation && (f.question == "chatter" || f.question == "flatness"));
}

double loaded(const plan::Plan& p) {
  const double part = p.pallet.loaded_part_mass.known() ? p.pallet.loaded_part_mass.si : 0;
  return p.pallet.empty_mass.si + static_cast<double>(p.pallet.nests.size()) * part;
}

/// How far a state is from good.
int rank(State s) { return s == State::inside ? 0 : s == State::tight ? 1 : s == State::outside ? 3 : 2; }

/// What keeps a thinner plate from being taken, in words; empty: nothing does. Every finding must stay in its state,
/// and what the plate decides must keep a margin.
std::string against(const study::Study& before, const study::Study& after, const std::string& operation) {
  std::map<std::string, const Finding*> was;
  for (const Finding& f : before.findings) was[f.id] = &f;
  for (const Finding& f : after.findings) {
    const auto it = was.find(f.id);
    const Finding* b = it == was.end() ? nullptr : it->second;
    if (rank(f.state) > (b == nullptr ? 0 : rank(b->state)))
      return fmt::format("{}: {}", f.title, finding::word(f.state));
    // A cut that sang before is no reason to keep the plate; one that comes near to it is.
    const bool near =
        of_plate(f, operation) && f.state == State::inside && std::isfinite(f.margin) && f.margin < least_margin;
    if (near && (b == nullptr || f.margin < b->margin - 1e-9))
      return fmt::format("{}: {:.0f} % to spare", f.title, 100 * f.margin);
    const bool deeper = of_plate(f, operation) && f.state == State::outside && b != nullptr &&
                        std::isfinite(f.margin) && f.margin < b->margin - 0.01;
    if (deeper) return fmt::format("{}: farther outside", f.title);
  }
  return {};
}

}  // namespace

Outcome<bool> thinner_plate(const Scene& scene, Mended& m, const study::Data& data, study::Memo& memo, int most) {
  constexpr int in_a_step = 3;  // one look, and two over the bands
  const std::string operation = m.draft.pallet_operation;
  bool changed = false;
  double first = 0, heavy = 0;  // the plate as it was reckoned: m, kg loaded
  while (!operation.empty() && answer(scene, "take.pallet.thickness").empty() && m.studied + in_a_step <= most) {
    const plan::Plan& p = m.last.plan;
    const std::vector<double> size = p.pallet.plate.size.value;
    if (size.size() != 3 || !p.pallet.empty_mass.known()) break;
    double t = 0;
    for (const plan::StockPlate& s : scene.shop.plates)
      if (s.material.value == p.pallet.plate.material.value && s.thickness.si < size[2] - 1e-6 && s.thickness.si > t)
        t = s.thickness.si;
    if (t < least_plate) break;
    Draft other = m.draft;
    plan::Pallet& to = other.plan.pallet;
    const double was = loaded(p), mass = p.pallet.empty_mass.si * t / size[2];
    give(to.plate.size, {size[0], size[1], t}, scene.inch);
    give(to.empty_mass, unit::Kind::mass,
         scene.inch ? base::fixed(mass / 0.45359237, 1) + " lb" : base::fixed(mass, 2) + " kg");
    const double now = was - p.pallet.empty_mass.si + mass;
    if (was - now < worth * was) break;
    auto quick = look(scene, other, data, quick_look(), memo);
    if (!quick.ok()) return quick.problems();
    ++m.studied;
    std::string no = against(m.last.study, quick->study, operation);
    if (no.empty()) {  // and over the bands of what is assumed
      study::Options bands = quick_look();
      bands.bands = true;
      bands.only = {"lifting", "holding", "stiffness", "chatter", "tolerances"};
      const auto a = look(scene, m.draft, data, bands, memo), b = look(scene, other, data, bands, memo);
      if (!a.ok()) return a.problems();
      if (!b.ok()) return b.problems();
      m.studied += 2;
      no = against(a->study, b->study, operation);
    }
    if (!no.empty()) {
      const auto here = std::find_if(m.draft.choices.begin(), m.draft.choices.end(),
                                     [](const Choice& c) { return c.about == "pallet.plate"; });
      if (here != m.draft.choices.end())
        for (Alternative& o : here->others)
          if (o.words == length_text(t, scene.inch)) o.why_not += "; then " + no;
      break;
    }
    const auto kg = [&](double x) {
      return scene.inch ? fmt::format("{:.1f} lb", x / 0.45359237) : fmt::format("{:.1f} kg", x);
    };
    if (!changed) first = size[2], heavy = was;  // the way back is to what was reckoned
    Choice c{"pallet",
             "pallet.plate",
             length_text(t, scene.inch) + " thick",
             fmt::format("what gives, bows and sings stays inside by a fifth and more, and nothing else changes its "
                         "state; it weighs {} loaded instead of {}",
                         kg(now), kg(heavy)),
             "stiffness as studied",
             {{length_text(first, scene.inch),
               fmt::format("stiffer by {:.2f}, which nothing asks for, and {} heavier", std::pow(first / t, 3),
                           kg(heavy - now)),
               "take.pallet.thickness=as reckoned"}}};
    std::erase_if(other.choices, [](const Choice& x) { return x.about == "pallet.plate"; });
    other.choices.push_back(std::move(c));
    m.draft = std::move(other), m.last = std::move(quick.value());
    if (const auto said = read_again(scene, m, data, memo); !said.ok()) return said.problems();
    changed = true;
  }
  return changed;
}

}  // namespace fettle::begin
