// Close bores: aimed right? gauge good enough? do the last readings drift? what goes to the hone?
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/bore/hone.h"
#include "calc/bore/risk.h"
#include "calc/bore/runs.h"
#include "calc/bore/target.h"
#include "calc/bore/temperature.h"
#include "maths/statistics.h"
#include "ref/materials.h"
#include "study/bore_model.h"

namespace fettle::study {

using finding::Finding;
using unit::Kind;

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

const char* const aim_source =
    "two costs and a spread (Springer, Industrial Quality Control 8(1), 1951, from memory) with gauge, hone and guard "
    "bands (ISO 14253-1:2017, JCGM 106:2012, from memory) added; common practice: aimed small and honed, never large";

/// What the findings of one bore share.
struct Close {
  const Bore& b;
  std::string name, id;
  double lower = 0, upper = 0;
  double goal = 0.001;
  std::optional<double> u;             ///< gauge, m
  double guard = 0;                    ///< m
  std::optional<bore::RunAnswer> run;  ///< null: no run, or one that says nothing
  std::string run_says_nothing;        ///< why
  std::optional<double> s;             ///< process as bored, m
  double s_low = 0, s_high = 0;
  std::string s_from;
  double step = 0;  ///< m, what a target is said in
};

unit::Style gauge_style(const Context& c) {
  unit::Style s = c.style;
  s.gauge = true;
  return s;
}
std::string size(const Context& c, double si) { return unit::print(si, Kind::length, gauge_style(c)); }
/// A few micrometres, as they are said.
std::string little(const Context& c, double si) {
  if (c.style.system == unit::Style::System::inch)
    return base::fixed(unit::in_unit(si, "µin", Kind::length), 0) + " µin";
  return base::fixed(unit::in_unit(si, "µm", Kind::length), std::fabs(si) < 0.995e-6 && si != 0 ? 2 : 1) + " µm";
}
std::string money(const Context& c, double amount) {
  const std::string word = currency_word(c.plan);
  return base::fixed(amount, 2) + (word.empty() ? "" : " " + word);
}
std::string percent(double share) { return share_words(share); }
/// "bore gets SMALLER by 0.5 µm": never a bare sign.
std::string direction_words(const Context& c, double move) {
  return fmt::format("bore gets {} by {}", move < 0 ? "SMALLER" : "BIGGER", little(c, std::fabs(move)));
}

Finding begin(const Context& c, const Close& k, const char* question, std::string title, Kind kind) {
  Finding f = start(k.b.operation_id(), k.id, question, std::move(title), kind);
  f.inputs.push_back({"smallest allowed", k.lower, Kind::length, size(c, k.lower)});
  f.inputs.push_back({"largest allowed", k.upper, Kind::length, size(c, k.upper)});
  return f;
}

// ---- what the aim stands on -----------------------------------------------------------------------------------------

std::string gauge_wanted(const Close& k) {
  if (k.b.gauge != nullptr) return "gauge.uncertainty: of the gauge " + k.b.gauge->id.value;
  return fmt::format("gauge.uncertainty: of a gauge in the shop file with features = \"{}\"; none has that yet", k.id);
}

/// Costs and places that the aim's questions need, with what is missing.
struct AimCase {
  bore::AimInputs inputs;
  double now = 0;  ///< m, where the bores lie
  bool from_run = false, from_middle = false;
  double now_low = 0, now_high = 0;
  double worth = 0, escape = 0;
  bool whole = false;  ///< of the worth
  std::vector<std::string> missing;
};

AimCase aim_case(const Context& c, const Close& k) {
  AimCase a;
  const Bore& b = k.b;
  if (!k.s)
    a.missing.push_back(fmt::format(
        "reading: the last 20 to 30 bores of {} in run order, or spread with replaces = \"size\" and moves = \"{}\"",
        k.id, k.id));
  if (!k.u) a.missing.push_back(gauge_wanted(k));
  const auto worth = worth_after(c.plan, b.operation);
  if (!worth) a.missing.push_back("casting.price: what a part set aside has cost");
  if (b.hone != nullptr) {
    const auto cost = cost_of_hone(c.plan, *b.hone);
    if (!cost)
      a.missing.push_back(
          fmt::format("operation.price of {}, or its time and people.rate: what a hone costs", b.hone->id.value));
    a.inputs.hone_cost = cost.value_or(0);
    a.inputs.hone_s = b.hone->size_scatter.si;
  }
  a.worth = worth ? worth->value : 0;
  a.whole = worth && worth->whole;
  const bool said = b.requirement != nullptr && b.requirement->escape_cost.known();
  a.escape = said ? b.requirement->escape_cost.si : 3 * a.worth;
  a.inputs.lower = k.lower;
  a.inputs.upper = k.upper;
  a.inputs.s = k.s.value_or(0);
  a.inputs.u = k.u.value_or(0);
  a.inputs.guard = k.guard;
  a.inputs.hone = b.hone != nullptr ? bore::Hone::small : bore::Hone::none;
  a.inputs.hone_least = 5e-6;  // only where every bore is honed; from memory: what cleans a bored surface
  a.inputs.scrap_cost = a.worth;
  a.inputs.escape_cost = a.escape;
  a.inputs.step = k.step;
  if (k.run && k.run->drift) {
    // Over one stretch between resets, as long as the stretches of the run are.
    a.inputs.drift = k.run->slope * k.run->n / k.run->stretches;
  }
  if (b.cut != nullptr && b.cut->aim.known()) {
    a.now = a.now_low = a.now_high = b.cut->aim.si;
  } else if (b.run.there && b.run.sizes.size() >= 6) {
    const auto m = maths::moments(b.run.sizes);
    const double n = static_cast<double>(m.n), half = maths::student_t_quantile(0.975, n - 1) * m.s / std::sqrt(n);
    a.now = m.mean;
    a.now_low = m.mean - half;
    a.now_high = m.mean + half;
    a.from_run = true;
  } else {
    a.now = a.now_low = a.now_high = 0.5 * (k.lower + k.upper);
    a.from_middle = true;
  }
  return a;
}

plan::Number number(double si, double low, double high, Kind kind, std::string source, std::string replaced_by) {
  plan::Number n;
  n.origin = plan::Origin::assumed;
  n.si = si;
  n.low = low;
  n.high = high;
  n.kind = kind;
  n.source = std::move(source);
  n.replaced_by = std::move(replaced_by);
  return n;
}

/// The assumptions that the aim's findings share, in one order.
struct AimBands {
  int s = -1, now = -1, worth = -1, escape = -1, hone_s = -1;
};
/// Of what the sizes depend on.
AimBands size_bands(Finding& f, const Close& k, const AimCase& a) {
  AimBands out;
  if (k.s_low < k.s_high)
    out.s = assume(f, number(*k.s, k.s_low, k.s_high, Kind::length, k.s_from, "more readings in run order"),
                   "scatter of the bores", "spread");
  if (a.from_run)
    out.now = assume(f,
                     number(a.now, a.now_low, a.now_high, Kind::length, "95 % interval of the readings' mean",
                            "more readings, or say what the cut is set to"),
                     "where the bores lie now", "operation.cut.aim");
  if (k.b.hone != nullptr)
    out.hone_s = assume(f, k.b.hone->size_scatter, "scatter of honed sizes", "operation.size_scatter");
  return out;
}
/// And of what the money depends on.
AimBands aim_bands(Finding& f, const Close& k, const AimCase& a) {
  AimBands out = size_bands(f, k, a);
  if (!a.whole)
    out.worth =
        assume(f,
               number(a.worth, a.worth, 1.5 * a.worth, Kind::money,
                      "casting, work bought in and cutting time up to there; not all of tools and people is known",
                      "what the plan does not say of times, rates and tools"),
               "what a part set aside is worth", "casting.price");
  if (!(k.b.requirement != nullptr && k.b.requirement->escape_cost.known()))
    out.escape = assume(f,
                        number(a.escape, a.worth, 10 * a.worth, Kind::money,
                               "common practice: the part, its return and a new one", "what the last return cost"),
                        "what a bad part at the customer costs", "requirement.escape_cost");
  return out;
}
AimCase without_prices(AimCase a) {
  a.inputs.hone_cost = a.inputs.scrap_cost = a.inputs.escape_cost = 0;
  return a;
}
/// What is missing of it besides prices.
std::vector<std::string> missing_sizes(const AimCase& a) {
  std::vector<std::string> missing;
  for (const std::string& m : a.missing)
    if (m.rfind("reading", 0) == 0 || m.rfind("gauge", 0) == 0) missing.push_back(m);
  return missing;
}
bore::AimInputs inputs_at(const AimCase& a, const AimBands& i, const std::vector<double>& v) {
  bore::AimInputs in = a.inputs;
  in.s = at(v, i.s, in.s);
  in.scrap_cost = at(v, i.worth, in.scrap_cost);
  in.escape_cost = at(v, i.escape, in.escape_cost);
  in.hone_s = at(v, i.hone_s, in.hone_s);
  return in;
}
Outcome<bore::AimAnswer> solve_aim(const bore::AimInputs& in) { return bore::best_aim(in, 0.01 * in.scrap_cost); }
struct AtAim {
  bore::AimInputs in;
  double aim = 0;
};
Outcome<bore::AimPoint> solve_point(const AtAim& x) { return bore::at_aim(x.in, x.aim); }

std::string now_words(const Context& c, const AimCase& a, const Close& k) {
  if (a.from_run) return fmt::format("the last {} bores lie at {} on average", k.b.run.sizes.size(), size(c, a.now));
  if (a.from_middle)
    return fmt::format("the cut is set to the middle of the limits, {}, as nothing else is said", size(c, a.now));
  return fmt::format("the cut is set to {}", size(c, a.now));
}

std::string why_small(const Problems& p) {
  std::vector<std::string> words;
  for (const Problem& x : p) words.push_back(x.what);
  return base::join(words, "; ");
}

// ---- aimed right ----------------------------------------------------------------------------------------------------

void compare_ways(const Context& c, Finding& f, const AimCase& a, bool hone) {
  const auto cost = [&](bore::Hone way) -> std::string {
    bore::AimInputs in = a.inputs;
    in.hone = way;
    const auto best = c.memo.call("bore aim", solve_aim, in);
    if (!best->ok()) return "not possible: " + why_small(best->problems());
    const bore::AimPoint& p = best->value().rounded;
    return fmt::format("{} a part at {}: {} honed, {} set aside", money(c, p.cost), size(c, p.aim),
                       p.honed > 0 ? percent(p.honed) : std::string("none"), percent(p.lost()));
  };
  f.inputs.push_back({"hone none", 0, Kind::number, cost(bore::Hone::none)});
  if (!hone) return;
  f.inputs.push_back({"hone only the small ones", 0, Kind::number, cost(bore::Hone::small)});
  f.inputs.push_back({"hone all, as a finish may ask", 0, Kind::number, cost(bore::Hone::all)});
}

/// How many readings the tool's present setting has.
int last_stretch(const Close& k) {
  const std::vector<int>& stretch = k.b.run.stretch;
  if (stretch.empty()) return k.run->n;
  return static_cast<int>(std::count(stretch.begin(), stretch.end(), stretch.back()));
}
/// The last stretch against the aim that is set; only with a run and a stated aim.
Outcome<bore::OffsetAdvice> offset_of(const Close& k) {
  return bore::offset_advice(
      {k.b.cut->aim.si, k.run->levels.back(), k.run->s, last_stretch(k), k.run->dof, k.step, 0.5, 0.95});
}
bool aim_and_run(const Close& k) {
  return k.b.cut != nullptr && k.b.cut->aim.known() && k.run && !k.run->levels.empty();
}
/// The stated aim is judged here, but the last readings lie off it: then two moves are spoken of, and it says so.
std::string lies_elsewhere(const Context& c, const Close& k) {
  if (!aim_and_run(k)) return {};
  const auto advice = offset_of(k);
  if (!advice.ok() || advice->leave) return {};
  return fmt::format("This judges the aim that is set; the last bores lie {} {} it: bring them onto it first",
                     little(c, std::fabs(advice->off)), advice->off < 0 ? "below" : "above");
}

void aim_finding(Context& c, const Close& k, const AimCase& a) {
  Finding f = begin(c, k, "aim", fmt::format("{} aimed right", k.name), Kind::money);
  f.formula =
      "cost a part at the present aim minus the least cost: hone x share too small + worth x share too large + escapes";
  f.source = aim_source;
  f.limit = finding::upper(std::max(0.01 * a.worth, 1e-9));
  if (!a.missing.empty()) return leave_open(c, std::move(f), a.missing);
  const AimBands bands = aim_bands(f, k, a);
  const auto best = c.memo.call("bore aim", solve_aim, a.inputs);
  const auto now = c.memo.call("bore at aim", solve_point, AtAim{a.inputs, a.now});
  if (!best->ok() || !now->ok())
    return leave_open(c, std::move(f),
                      {"gauge.uncertainty: " + why_small((best->ok() ? now->problems() : best->problems()))});
  const bore::AimAnswer& x = best->value();
  const bore::AimPoint &p = now->value(), &q = x.rounded;
  f.inputs.push_back({"scatter of the bores, one standard deviation", a.inputs.s, Kind::length,
                      little(c, a.inputs.s) + " (" + k.s_from + ")"});
  f.inputs.push_back({"gauge, standard uncertainty", *k.u, Kind::length, little(c, *k.u)});
  f.inputs.push_back({"accept limits", 0, Kind::number,
                      fmt::format("{} to {}", size(c, k.lower + k.guard), size(c, k.upper - k.guard))});
  if (k.b.hone != nullptr)
    f.inputs.push_back({"one hone", a.inputs.hone_cost, Kind::money, money(c, a.inputs.hone_cost)});
  f.inputs.push_back(
      {"a part set aside", a.worth, Kind::money,
       money(c, a.worth) + (a.whole ? ": casting, work, people and tools up to there"
                                    : ": casting, work bought in, cutting time; not all of it is known")});
  if (k.b.hone != nullptr) f.inputs.push_back({"share to hone now", p.honed, Kind::fraction, percent(p.honed)});
  f.inputs.push_back(
      {"cheapest aim", q.aim, Kind::length,
       fmt::format("{}, no finer than {} since the gauge cannot tell more", size(c, q.aim), little(c, k.step))});
  compare_ways(c, f, a, k.b.hone != nullptr);
  const double move = q.aim - a.now, saves = p.cost - q.cost;
  f.text = money(c, std::max(0.0, p.cost - x.best.cost));
  const bool worth_a_move = std::fabs(move) >= 0.5 * k.step * (1 - 1e-9) && saves >= 0.005;
  f.inputs.push_back({"aims that cost at most 1 % of that more", 0, Kind::number,
                      fmt::format("{} to {}", size(c, x.zone_low), size(c, x.zone_high))});
  const std::string finer = std::string("said no finer than the gauge can tell") +
                            (worth_a_move ? "" : "; the difference is not worth a move");
  f.sentence =
      k.b.hone != nullptr
          ? fmt::format(
                "{}: {} to the hone, {} are set aside as too large; that costs {} a part. The cheapest aim is {} ({} "
                "to hone, {} set aside, {} a part), {}.",
                capital(now_words(c, a, k)), percent(p.honed), percent(p.too_large), money(c, p.cost), size(c, q.aim),
                percent(q.honed), percent(q.lost()), money(c, q.cost), finer)
          : fmt::format(
                "{}: {} are set aside as too large, {} as too small, as none is honed; that costs {} a part. The "
                "cheapest aim is {} ({} set aside, {} a part), {}.",
                capital(now_words(c, a, k)), percent(p.too_large), percent(std::max(0.0, p.lost() - p.too_large)),
                money(c, p.cost), size(c, q.aim), percent(q.lost()), money(c, q.cost), finer);
  const std::string elsewhere = lies_elsewhere(c, k);
  if (!elsewhere.empty()) f.sentence += " " + elsewhere + ".";
  if (worth_a_move)
    f.levers.push_back(
        {"aim of the bore", "operation.cut.aim", a.now, q.aim, Kind::length,
         fmt::format("aim {} → {}: {}, saves {} a part", size(c, a.now), size(c, q.aim),
                     direction_words(c, move) + (elsewhere.empty() ? "" : ", once they lie on their aim"),
                     money(c, saves))});
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    const bore::AimInputs in = inputs_at(a, bands, v);
    const auto b = c.memo.call("bore aim", solve_aim, in);
    const auto n = c.memo.call("bore at aim", solve_point, AtAim{in, at(v, bands.now, a.now)});
    if (!b->ok() || !n->ok()) return nan;
    return std::max(0.0, n->value().cost - b->value().best.cost);
  });
}

std::string not_honed_words(const Context& c, const Close& k) {
  for (const plan::Operation& o : c.plan.operations)
    if (o.kind.value == "hone")
      return fmt::format(
          "{} is not taken to hone this bore, so what is too small is lost as well; if it does, say a cut in {} with "
          "features = \"{}\".",
          o.id.value, o.id.value, k.id);
  return "No operation hones this bore, so what is too small is lost as well.";
}

void lost_finding(Context& c, const Close& k, const AimCase& a) {
  const bool hone = k.b.hone != nullptr;
  Finding f = begin(c, k, "lost", fmt::format("{}: parts that nothing can mend", k.name), Kind::fraction);
  f.limit = finding::share(k.goal);
  f.formula = hone ? "share that reads above the accept limit before the hone or after it, at the present aim"
                   : "share that reads outside the accept limits, at the present aim";
  f.source =
      "normal distribution; ISO 14253-1:2017 accept limits (from memory); common practice: small can be honed, large "
      "cannot";
  const std::vector<std::string> missing = missing_sizes(a);
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const AimCase plain = without_prices(a);
  const AimBands bands = size_bands(f, k, a);
  const auto now = c.memo.call("bore at aim", solve_point, AtAim{plain.inputs, a.now});
  if (!now->ok()) return leave_open(c, std::move(f), {"gauge.uncertainty: " + why_small(now->problems())});
  const bore::AimPoint& p = now->value();
  f.inputs.push_back({"scatter of the bores, one standard deviation", a.inputs.s, Kind::length,
                      little(c, a.inputs.s) + " (" + k.s_from + ")"});
  f.inputs.push_back(
      {hone ? "too large before the hone" : "too large", p.too_large, Kind::fraction, percent(p.too_large)});
  if (hone) f.inputs.push_back({"too large after the hone", p.lost_at_hone, Kind::fraction, percent(p.lost_at_hone)});
  else
    f.inputs.push_back(
        {"too small", p.lost() - p.too_large, Kind::fraction, percent(std::max(0.0, p.lost() - p.too_large))});
  f.inputs.push_back(
      {"set aside although inside the drawing", p.refused_good, Kind::fraction, percent(p.refused_good)});
  f.sentence = fmt::format("{}: {} of the parts {} set aside ({} of all parts although inside the drawing).",
                           capital(now_words(c, a, k)), percent(p.lost()), "are", percent(p.refused_good));
  if (!hone) f.sentence += " " + not_honed_words(c, k);
  const auto keep = bore::aim_for_share(plain.inputs, k.goal);
  if (hone && keep.ok() && std::isfinite(*keep)) {
    const auto there = bore::at_aim(a.inputs, *keep);
    const double move = *keep - a.now;
    std::string text =
        fmt::format("aim {} → {}: {}; then {} are too large and {} go to the hone", size(c, a.now), size(c, *keep),
                    direction_words(c, move), percent(k.goal), there.ok() ? percent(there->honed) : "");
    if (move > 0) text = fmt::format("the aim may rise to {} before {} are too large", size(c, *keep), percent(k.goal));
    f.levers.push_back({"aim of the bore", "operation.cut.aim", a.now, *keep, Kind::length, text});
  }
  // In doubt near the upper limit: the mean of four readings halves uncertainty and guard band.
  bore::AimInputs again = plain.inputs;
  again.u *= 0.5;
  again.guard *= 0.5;
  if (const auto fewer = bore::at_aim(again, a.now); fewer.ok() && fewer->lost() < p.lost())
    f.levers.push_back({"readings of a bore in doubt", "gauge.uncertainty", 1, 4, Kind::number,
                        fmt::format("gauge a bore in doubt four times and take the mean: {} → {} set aside",
                                    percent(p.lost()), percent(fewer->lost()))});
  // The scatter at which the goal would just hold at this aim.
  const auto excess = [&](double s) {
    bore::AimInputs in = plain.inputs;
    in.s = s;
    const auto x = bore::at_aim(in, a.now);
    return x.ok() ? x->lost() - k.goal : nan;
  };
  const double s_flip = flip(excess, 0.05 * a.inputs.s, 5 * a.inputs.s);
  if (std::isfinite(s_flip))
    f.levers.push_back({"scatter of the bores", "spread", a.inputs.s, s_flip, Kind::length,
                        fmt::format("scatter {} → {} {}", little(c, a.inputs.s), little(c, s_flip),
                                    s_flip < a.inputs.s ? "brings it to the goal" : "uses the margin up")});
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    const auto n = c.memo.call("bore at aim", solve_point, AtAim{inputs_at(plain, bands, v), at(v, bands.now, a.now)});
    return n->ok() ? n->value().lost() : nan;
  });
}

// ---- the gauge ------------------------------------------------------------------------------------------------------

void gauge_finding(Context& c, const Close& k, const AimCase& a) {
  Finding f = begin(c, k, "gauge", fmt::format("gauge good enough for the {}", k.name), Kind::fraction);
  f.limit = finding::share(k.goal);
  f.formula = "share of the passed parts that lie outside the drawing: passed although outside / passed";
  f.source = "JCGM 106:2012 clause 9, accept limits by ISO 14253-1:2017 (from memory)";
  const std::vector<std::string> missing = missing_sizes(a);
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const double width = k.upper - k.lower;
  const AimCase plain = without_prices(a);
  const AimBands bands = size_bands(f, k, a);
  const auto share_at = [&](const bore::AimInputs& in, double aim) {
    const auto p = c.memo.call("bore at aim", solve_point, AtAim{in, aim});
    if (!p->ok()) return nan;
    const double passed = 1 - p->value().lost();
    return passed > 0 ? p->value().passed_bad / passed : nan;
  };
  const auto at_u = [&](double u, double guard) {
    bore::AimInputs in = plain.inputs;
    in.u = u;
    in.guard = guard;
    return share_at(in, a.now);
  };
  if (!(width > 2 * k.guard))
    return leave_open(c, std::move(f),
                      {fmt::format("gauge.uncertainty: the guard bands of {} leave nothing of {}", little(c, *k.u),
                                   little(c, width))});
  const auto now = c.memo.call("bore at aim", solve_point, AtAim{plain.inputs, a.now});
  if (!now->ok()) return leave_open(c, std::move(f), {"gauge.uncertainty: " + why_small(now->problems())});
  const double share = share_at(plain.inputs, a.now), without = at_u(*k.u, 0);
  f.inputs.push_back({"standard uncertainty of a reading", *k.u, Kind::length, little(c, *k.u)});
  f.inputs.push_back({"6 u over the tolerance", 6 * *k.u / width, Kind::fraction, {}});
  f.inputs.push_back({"guard band, each side", k.guard, Kind::length, little(c, k.guard)});
  f.inputs.push_back({"what the guard bands take of the tolerance", 2 * k.guard / width, Kind::fraction, {}});
  f.inputs.push_back({"pass between", 0, Kind::number,
                      fmt::format("{} and {}", size(c, k.lower + k.guard), size(c, k.upper - k.guard))});
  f.inputs.push_back({"set aside although inside the drawing", now->value().refused_good, Kind::fraction,
                      percent(now->value().refused_good)});
  f.inputs.push_back({"passed although outside, without guard bands", without, Kind::fraction, percent(without)});
  if (k.b.gauge->resolution.known()) {
    const auto step = bore::step_check(k.b.gauge->resolution.si, width);
    f.inputs.push_back({"steps of the gauge within the tolerance", step.steps, Kind::number,
                        base::fixed(step.steps, 0) + (step.fine ? "" : ", fewer than ten: too coarse")});
  }
  f.sentence = fmt::format(
      "Passed between {} and {} ({} of guard band at each limit), {} of the passed bores lie outside the drawing; "
      "without guard bands {}. {} of all parts are set aside although inside.",
      size(c, k.lower + k.guard), size(c, k.upper - k.guard), little(c, k.guard), percent(share), percent(without),
      percent(now->value().refused_good));
  const double factor = k.guard / *k.u;
  const double u_flip =
      flip([&](double u) { return at_u(u, factor * u) - k.goal; }, 0.02 * *k.u, 0.98 * 0.5 * width / factor);
  if (std::isfinite(u_flip))
    f.levers.push_back({"uncertainty of the gauge", "gauge.uncertainty", *k.u, u_flip, Kind::length,
                        fmt::format("uncertainty {} → {} {}", little(c, *k.u), little(c, u_flip),
                                    u_flip < *k.u ? "brings it to the goal" : "uses the margin up")});
  settle(c, std::move(f),
         [&](const std::vector<double>& v) { return share_at(inputs_at(plain, bands, v), at(v, bands.now, a.now)); });
}

Outcome<bore::GaugeStudy> solve_study(const bore::StudyInputs& in) { return bore::gauge_study(in); }

void study_finding(Context& c, const Close& k) {
  Finding f = begin(c, k, "gauge_study", fmt::format("gauge study of the {}", k.name), Kind::fraction);
  f.limit = finding::upper(0.30);
  f.formula = "6 x standard deviation of the gauge with its people / tolerance; up to 10 % good, up to 30 % bearable";
  f.source =
      "two-way analysis of variance as in the Measurement Systems Analysis manual, 4th ed.; the 10 and 30 % are common "
      "practice";
  if (!k.b.study.there)
    return leave_open(c, std::move(f),
                      {fmt::format("reading of kind \"gauge study\" for {}: ten parts, two or three people, two or "
                                   "three trials each",
                                   k.id)});
  const auto solved = c.memo.call("gauge study", solve_study, k.b.study.inputs);
  if (!solved->ok())
    return leave_open(c, std::move(f), {"reading " + k.b.study.id + ": " + why_small(solved->problems())});
  const bore::GaugeStudy& g = solved->value();
  const bore::GaugeSpread &v = g.by_variance.spread, &r = g.by_range.spread;
  const double width = k.b.study.inputs.tolerance;
  const auto sigma = [&](const char* name, double s) { f.inputs.push_back({name, s, Kind::length, little(c, s)}); };
  sigma("same person, same part", v.repeatability);
  sigma("between people", v.reproducibility);
  if (!g.by_variance.pooled) sigma("people who differ on some parts", v.interaction);
  sigma("gauge, all together", v.gauge);
  f.inputs.push_back(
      {"its 95 % interval", 0, Kind::number,
       fmt::format("{} to {}", little(c, g.by_variance.gauge_low), little(c, g.by_variance.gauge_high))});
  sigma("between parts", v.parts);
  f.inputs.push_back({"gauge of all variation", v.of_total, Kind::fraction, {}});
  f.inputs.push_back({"by ranges instead: 6 gauge / tolerance", r.of_tolerance, Kind::fraction, {}});
  f.inputs.push_back({"distinct categories", v.categories, Kind::number,
                      fmt::format("{} (cut down; {} when rounded), by ranges {}", v.categories_cut,
                                  v.categories_rounded, r.categories_cut)});
  f.inputs.push_back(
      {"interaction", g.by_variance.p_interaction, Kind::number,
       fmt::format("p {}: {} with repeatability (pooled above {})", base::fixed(g.by_variance.p_interaction, 2),
                   g.by_variance.pooled ? "pooled" : "not pooled", base::fixed(k.b.study.inputs.pool_above, 2))});
  for (const bore::RangeFlag& flag : g.by_range.flags)
    f.inputs.push_back(
        {"read again", flag.range, Kind::length,
         fmt::format("{} on part {}: range {}, above {}", k.b.study.people[static_cast<std::size_t>(flag.person - 1)],
                     k.b.study.parts[static_cast<std::size_t>(flag.part - 1)], little(c, flag.range),
                     little(c, g.by_range.range_limit))});
  f.low = 6 * g.by_variance.gauge_low / width;
  f.high = 6 * g.by_variance.gauge_high / width;
  f.confidence = fmt::format("95 %, {} readings", k.b.study.inputs.readings.size());
  f.sentence = fmt::format(
      "{} people, {} parts, {} trials: one reading scatters by {}, so six of it take {} of the tolerance; {} distinct "
      "categories. Nearly all of it is {}.",
      k.b.study.inputs.persons, k.b.study.inputs.parts, k.b.study.inputs.trials, little(c, v.gauge),
      percent(v.of_tolerance), v.categories_cut,
      v.repeatability * v.repeatability > 0.5 * v.gauge * v.gauge ? "the gauge's own repeatability"
                                                                  : "the difference between people");
  const int n = bore::readings_to_average(v, width, f.limit.high);
  if (v.of_tolerance > f.limit.high && n > 1)
    f.levers.push_back(
        {"readings a bore", "reading", 1, static_cast<double>(n), Kind::number,
         fmt::format("the mean of {} readings a bore brings it to {}", n,
                     percent(6 *
                             std::sqrt(v.repeatability * v.repeatability / n + v.reproducibility * v.reproducibility +
                                       v.interaction * v.interaction) /
                             width))});
  const double needed = f.limit.high * width / 6;
  f.levers.push_back({"scatter of the gauge", "gauge.uncertainty", v.gauge, needed, Kind::length,
                      fmt::format("scatter of a reading {} → {} {}", little(c, v.gauge), little(c, needed),
                                  needed < v.gauge ? "brings it to the limit" : "uses the margin up")});
  settle(c, std::move(f), [&](const std::vector<double>&) { return v.of_tolerance; });
}

// ---- the run --------------------------------------------------------------------------------------------------------

void trend_finding(Context& c, const Close& k, const AimCase& a) {
  Finding f = begin(c, k, "trend", fmt::format("drift in the last readings of the {}", k.name), Kind::length);
  f.gauge = true;
  f.formula = "slope common to all stretches between resets x parts of one stretch, against what chance explains";
  f.source =
      "Student's t of a common slope, Mann and Kendall's rank test over the stretches, Fisher's F of the levels, "
      "Grubbs' "
      "farthest value, lag-1 autocorrelation; Bonferroni: any false alarm in at most 5 of 100 runs";
  f.limit = finding::upper(1e-9);
  if (!k.b.run.there)
    return leave_open(c, std::move(f),
                      {fmt::format("reading of kind \"run\" for {}: the last 20 to 30 bores in run "
                                   "order, with a column that says when the tool was set anew",
                                   k.id)});
  if (!k.run) return leave_open(c, std::move(f), {"reading " + k.b.run.id + ": " + k.run_says_nothing});
  const bore::RunAnswer& r = *k.run;
  const double parts = static_cast<double>(r.n) / r.stretches;
  f.limit = finding::upper(r.slope_chance * parts);
  for (const bore::RunTest& t : r.tests)
    f.inputs.push_back({t.name, t.p, Kind::number,
                        fmt::format("chance alone does as much in {} of 100 runs{}",
                                    base::fixed(100 * t.p, t.p < 0.1 ? 1 : 0), t.signal ? ": not chance" : "")});
  f.inputs.push_back({"stretches between resets", static_cast<double>(r.stretches), Kind::number,
                      k.b.run.stretch.empty() ? "taken as one: no column says when the tool was set anew" : ""});
  f.inputs.push_back({"scatter about the levels", r.s, Kind::length,
                      fmt::format("{} ({} to {} at 95 %)", little(c, r.s), little(c, r.s_low), little(c, r.s_high))});
  f.inputs.push_back(
      {"slope a part", r.slope, Kind::length,
       fmt::format("{} ({} to {} at 95 %)", little(c, r.slope), little(c, r.slope_low), little(c, r.slope_high))});
  f.inputs.push_back({"readings", static_cast<double>(r.n), Kind::number, {}});
  std::vector<std::string> found;
  if (r.drift)
    found.push_back(fmt::format("the bores get {} by {} a part", r.slope < 0 ? "smaller" : "larger",
                                little(c, std::fabs(r.slope))));
  if (r.step) found.push_back("the level changes at a reset of the tool");
  if (r.far_off) found.push_back("one reading lies far from the others");
  if (r.linked)
    found.push_back(r.lag1 < 0 ? "neighbours swing to and fro, as when somebody corrects after every part"
                               : "neighbours are alike: something wanders");
  const std::string fall =
      fmt::format("The line {} by {} a part; chance alone explains up to {}", r.slope < 0 ? "falls" : "rises",
                  little(c, std::fabs(r.slope)), little(c, r.slope_chance));
  if (found.empty()) {
    f.sentence = fmt::format("No trend in {} readings over {} {} of the tool. {}. Leave the offset for what these say.",
                             r.n, r.stretches, r.stretches == 1 ? "setting" : "settings", fall);
  } else {
    f.sentence = fmt::format("Not chance in {} readings: {}. {}.", r.n, base::join(found, "; "), fall);
  }
  if (r.drift && a.missing.empty()) {
    bore::ResetInputs reset{a.inputs, r.slope, 0, 1000};
    const plan::Number &minutes = c.plan.shop.people.gauge_time, &rate = c.plan.shop.people.rate;
    if (minutes.known() && rate.known()) {
      reset.reset_cost = 2 * minutes.si / 3600 * rate.si;
      if (k.b.cut != nullptr)
        if (const plan::Tool* t = plan::find_tool(c.plan, k.b.cut->tool.value);
            t != nullptr && t->parts_per_edge.known())
          reset.most = std::max(1, t->parts_per_edge.value);
      const auto n = bore::when_to_reset(reset);
      if (n.ok())
        f.levers.push_back(
            {"parts between resets", "reading", static_cast<double>(r.n) / r.stretches, static_cast<double>(n->count),
             Kind::number,
             fmt::format("set the tool anew every {} parts, to {} for the first: then the last lies at {}", n->count,
                         size(c, n->first), size(c, n->last))});
    }
  }
  // A signal other than the slope is outside as well, by a hair of the limit.
  const double drift = std::fabs(r.slope) * parts;
  const double value = r.any() ? std::max(drift, 1.001 * f.limit.high) : drift;
  if (value != drift) f.text = "not chance";
  settle(c, std::move(f), [value](const std::vector<double>&) { return value; });
}

void offset_finding(Context& c, const Close& k) {
  if (!aim_and_run(k)) return;
  const bore::RunAnswer& r = *k.run;
  Finding f = begin(c, k, "on_aim", fmt::format("{} lies on its aim", k.name), Kind::length);
  f.gauge = true;
  f.formula =
      "mean of the last stretch off the aim, either way; left alone within t s / sqrt n, else half of it is taken back";
  f.source = "Deming's funnel (Out of the Crisis, 1986, from memory): correcting every part doubles the variance";
  const int last = last_stretch(k);
  const auto advice = offset_of(k);
  f.limit = finding::upper(1e-9);
  if (!advice.ok()) return leave_open(c, std::move(f), {"reading " + k.b.run.id + ": " + why_small(advice.problems())});
  f.limit = finding::upper(advice->dead_band);
  f.inputs.push_back({"aim", k.b.cut->aim.si, Kind::length, {}});
  f.inputs.push_back({"mean of the last stretch", r.levels.back(), Kind::length, size(c, r.levels.back())});
  f.sentence =
      fmt::format("The last {} bores lie {} {} their aim; up to {} is chance or too fine for the gauge: {}.", last,
                  little(c, std::fabs(advice->off)), advice->off < 0 ? "below" : "above", little(c, advice->dead_band),
                  advice->leave ? "leave the offset alone" : direction_words(c, advice->move) + ", half of it");
  if (!advice->leave)
    f.levers.push_back({"offset of the tool", "operation.cut.aim", r.levels.back(), r.levels.back() + advice->move,
                        Kind::length, direction_words(c, advice->move) + ": half of the deviation"});
  settle(c, std::move(f), [&](const std::vector<double>&) { return std::fabs(advice->off); });
}

void hone_list_finding(Context& c, const Close& k) {
  if (!k.b.run.there || !k.u || k.b.hone == nullptr) return;  // asked for by the others
  Finding f = start(k.b.hone->id.value, k.id, "hone_list", fmt::format("{}: hone list", k.name), Kind::number);
  f.limit = finding::upper(0);
  f.yes_no = true;
  f.formula =
      "too small, or not proved large enough: hone to the middle of the accept limits; beyond the upper limit and "
      "its guard band: too large";
  f.source =
      "ISO 14253-1:2017 accept limits (from memory); common practice: doubt below goes to the hone, doubt above is "
      "gauged again";
  bore::HoneInputs in;
  in.names = k.b.run.names;
  in.readings = k.b.run.sizes;
  in.lower = k.lower;
  in.upper = k.upper;
  in.guard = k.guard;
  in.step = k.step;
  const plan::Number& expansion = c.plan.part.expansion;
  if (!k.b.run.temperature.empty() && expansion.known()) {
    in.part_temperatures = k.b.run.temperature;
    in.part_expansion = expansion.si;
  }
  const auto list = bore::hone_list(in);
  if (!list.ok()) return leave_open(c, std::move(f), {"reading " + k.b.run.id + ": " + why_small(list.problems())});
  f.inputs.push_back({"hone to", list->hone_aim, Kind::length, size(c, list->hone_aim)});
  std::vector<std::string> takes;
  for (const bore::HonePart& p : list->parts) {
    if (p.verdict == bore::Verdict::pass) continue;
    std::string what(bore::word(p.verdict));
    if (p.verdict == bore::Verdict::hone) {
      what = "take " + little(c, p.take);
      takes.push_back(fmt::format("no. {} {}", p.name, little(c, p.take)));
    }
    f.inputs.push_back({"no. " + p.name, p.size, Kind::length, size(c, p.size) + ": " + what});
  }
  f.sentence =
      fmt::format("Of the last {} bores {} pass, {} go to the hone{}{}, {} are gauged again, {} are too large.",
                  list->parts.size(), list->pass, list->hone, takes.empty() ? "" : " to ",
                  takes.empty() ? "" : size(c, list->hone_aim) + " (take " + base::join(takes, ", ") + ")", list->again,
                  list->too_large);
  const double too_large = list->too_large;
  settle(c, std::move(f), [too_large](const std::vector<double>&) { return too_large; });
}

// ---- warm parts -----------------------------------------------------------------------------------------------------

void warm_finding(Context& c, const Close& k) {
  Finding f = begin(c, k, "warm", fmt::format("{} read warm", k.name), Kind::length);
  f.gauge = true;
  f.formula = "size x (expansion of part x (t part - 20) - expansion of ring x (t ring - 20)), against the guard band";
  f.source = "ISO 1: a size is what it is at 20 °C";
  f.limit = finding::upper(1e-6);
  const plan::Room& room = c.plan.shop.room;
  std::vector<std::string> missing;
  plan::Number expansion = c.plan.part.expansion;
  if (!expansion.known() && c.plan.part.material.known())
    if (const auto m = ref::material(c.plan.part.material.value); m.ok())
      expansion = number(m->expansion.value, m->expansion.low, m->expansion.high, Kind::expansion, m->source,
                         "say part.expansion");
  if (!expansion.known()) missing.emplace_back("part.expansion: or a part.material that is known");
  if (!k.u) missing.push_back(gauge_wanted(k));
  if (!room.part_off_machine.known() && k.b.run.temperature.empty())
    missing.emplace_back("room.part_off_machine: how warm a part is when it is gauged");
  if (!room.temperature_low.known() || !room.temperature_high.known())
    missing.emplace_back("room.temperature_low, room.temperature_high: the room where gauge and ring lie");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  f.limit = finding::upper(std::max(k.guard, 1e-9));
  double warmest = room.part_off_machine.known() ? room.part_off_machine.si : 0;
  for (double t : k.b.run.temperature) warmest = std::max(warmest, t);
  const double low = room.temperature_low.si, high = room.temperature_high.si;
  const int ring =
      assume(f,
             number(0.5 * (low + high), low, high, Kind::temperature, "the room's temperatures in the shop file",
                    "a thermometer on the ring when the gauge is set"),
             "temperature of the ring", "room.temperature_low");
  const int steel = assume(
      f, number(11.5e-6, 10.5e-6, 12.5e-6, Kind::expansion, "from memory: hardened steel", "the ring's certificate"),
      "expansion of the ring", "gauge");
  const int iron = assume(f, expansion, "expansion of the part", "part.expansion");
  const double middle = 0.5 * (k.lower + k.upper);
  const auto off = [&](double t_part, double t_ring, double a_part, double a_ring) {
    return -bore::correction(middle, t_part - 293.15, a_part, t_ring - 293.15, a_ring);
  };
  const double now = off(warmest, 0.5 * (low + high), expansion.si, 11.5e-6);
  f.inputs.push_back({"part when it is gauged", warmest, Kind::temperature, {}});
  f.inputs.push_back({"guard band", k.guard, Kind::length, little(c, k.guard)});
  f.inputs.push_back({"with the ring as cold as the room gets", off(warmest, low, expansion.si, 11.5e-6), Kind::length,
                      little(c, off(warmest, low, expansion.si, 11.5e-6))});
  f.sentence = fmt::format(
      "A part gauged at {} against a ring at {} reads {} too {}; against a ring at {}, {}. The guard band is {}: "
      "correct "
      "the reading to 20 °C, or let part and ring lie together.",
      unit::print(warmest, Kind::temperature, c.style), unit::print(0.5 * (low + high), Kind::temperature, c.style),
      little(c, std::fabs(now)), now < 0 ? "small" : "large", unit::print(low, Kind::temperature, c.style),
      little(c, std::fabs(off(warmest, low, expansion.si, 11.5e-6))), little(c, k.guard));
  if (c.style.system == unit::Style::System::inch) {
    const std::size_t at = f.sentence.find("20 °C");
    if (at != std::string::npos) f.sentence.replace(at, std::string("20 °C").size(), "68 °F");
  }
  const double flip_part = k.guard / (middle * expansion.si) + low + (low - 293.15) * (11.5e-6 / expansion.si - 1);
  f.levers.push_back({"part when it is gauged", "room.part_off_machine", warmest, flip_part, Kind::temperature,
                      fmt::format("let it cool to {}: then even against a ring at {} the error stays within the guard "
                                  "band; or correct by {}",
                                  unit::print(flip_part, Kind::temperature, c.style),
                                  unit::print(low, Kind::temperature, c.style), little(c, std::fabs(now)))});
  if (!(flip_part < warmest)) f.levers.clear();
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    return std::fabs(off(warmest, at(v, ring, 0.5 * (low + high)), at(v, iron, expansion.si), at(v, steel, 11.5e-6)));
  });
}

// ---- the finish -----------------------------------------------------------------------------------------------------

/// The surface as bored, for the bores that never see the hone.
void finish_finding(Context& c, const Close& k, const AimCase& a) {
  if (k.b.hone == nullptr) return;  // then the finish is the cut's own question
  const plan::Requirement* asked = nullptr;
  for (const plan::Requirement& r : c.plan.requirements)
    if (r.kind.value == "roughness" && r.feature.known() && plan::parse_reference(r.feature.value).id == k.id)
      asked = &r;
  if (asked == nullptr || !asked->limits.known() || !asked->limits.value.upper || !(*asked->limits.value.upper > 0))
    return;
  Finding f =
      start(k.b.operation_id(), k.id, "finish", fmt::format("{}: finish of the bores not honed", k.name), Kind::length);
  f.gauge = true;
  f.limit = finding::upper(*asked->limits.value.upper);
  f.formula = "0.0321 feed² / nose radius x how much rougher the real surface is";
  f.source = "geometry of a round nose; how much rougher: from memory, grey iron bored with carbide";
  std::vector<std::string> missing;
  const plan::Cut* cut = k.b.cut;
  const plan::Tool* tool = cut != nullptr ? plan::find_tool(c.plan, cut->tool.value) : nullptr;
  double feed = 0;
  if (cut == nullptr) {
    missing.push_back("operation.cut: the cut that finishes " + k.id);
  } else {
    const bool by_tooth = cut->feed_per_tooth.known() && tool != nullptr && tool->teeth.known();
    if (by_tooth) feed = cut->feed_per_tooth.si * tool->teeth.value;
    else if (cut->feed.known() && cut->speed.known()) feed = cut->feed.si * 2 * 3.14159265358979323846 / cut->speed.si;
    else missing.push_back("operation.cut.feed and speed of " + cut->tool.value);
    if (tool == nullptr || !tool->corner_radius.known())
      missing.push_back(fmt::format("tool.corner_radius of {}: nose radius, or read the roughness of one bored part",
                                    cut->tool.value));
  }
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const double radius = tool->corner_radius.si, marks = bore::feed_marks(feed, radius);
  const int rougher = assume(f,
                             number(1.5, 1, 2.5, Kind::number, "from memory: flakes tear out, the edge wears",
                                    "a roughness reading of one bored part"),
                             "how much rougher than feed marks", "operation.cut");
  f.inputs = {{"feed a turn", feed, Kind::feed_per_rev, {}},
              {"nose radius", radius, Kind::length, {}},
              {"feed marks alone, Ra", marks, Kind::length, little(c, marks)}};
  f.sentence = fmt::format("Feed marks alone leave Ra {}, a real surface perhaps {}; asked is {}.", little(c, marks),
                           little(c, 1.5 * marks), little(c, f.limit.high));
  const double feed_flip = feed * std::sqrt(f.limit.high / (1.5 * marks));
  f.levers.push_back({"feed of the finishing cut", "operation.cut.feed", feed, feed_flip, Kind::feed_per_rev,
                      fmt::format("feed {} → {} {}", unit::print(feed, Kind::feed_per_rev, c.style),
                                  unit::print(feed_flip, Kind::feed_per_rev, c.style),
                                  feed_flip < feed ? "brings it to what is asked" : "uses the margin up")});
  if (a.missing.empty()) {
    bore::AimInputs all = a.inputs;
    all.hone = bore::Hone::all;
    const auto x = c.memo.call("bore aim", solve_aim, all);
    const auto now = c.memo.call("bore at aim", solve_point, AtAim{a.inputs, a.now});
    if (x->ok() && now->ok())
      f.levers.push_back(
          {"bores that are honed", "operation", now->value().honed, 1, Kind::fraction,
           fmt::format("hone every bore: {} a part instead of {}, aimed at {}", money(c, x->value().best.cost),
                       money(c, now->value().cost), size(c, x->value().rounded.aim))});
  }
  settle(c, std::move(f), [&](const std::vector<double>& v) { return marks * at(v, rougher, 1.5); });
}

// ---- one bore -------------------------------------------------------------------------------------------------------

Outcome<bore::RunAnswer> solve_run(const bore::RunInputs& in) { return bore::look_at_run(in); }

Close close_of(Context& c, const Bore& b) {
  Close k{b, words_of(c.plan, b.feature->id.value), b.feature->id.value};
  k.lower = *b.limits.lower;
  k.upper = *b.limits.upper;
  const plan::Number& goal =
      b.requirement != nullptr && b.requirement->goal.known() ? b.requirement->goal : c.plan.header.goal;
  if (goal.known()) k.goal = goal.si;
  if (b.gauge != nullptr && b.gauge->uncertainty.known() && b.gauge->uncertainty.si > 0) {
    k.u = b.gauge->uncertainty.si;
    const auto accept = bore::accept_limits({k.lower, k.upper, *k.u, 0.95, false});
    if (accept.ok()) k.guard = accept->guard;
    const bool inch = c.style.system == unit::Style::System::inch;
    k.step = bore::sensible_step(*k.u, b.gauge->resolution.known() ? b.gauge->resolution.si : 0, inch ? 25.4e-9 : 1e-6);
  }
  if (b.run.there) {
    const auto run = c.memo.call("run of readings", solve_run, bore::RunInputs{b.run.sizes, b.run.stretch, 0.05});
    if (run->ok()) k.run = run->value();
    else k.run_says_nothing = why_small(run->problems());
  }
  if (b.scatter != nullptr && b.scatter->value.known() && b.scatter->value.value.s > 0) {
    k.s = k.s_low = k.s_high = b.scatter->value.value.s;
    k.s_from = "as the plan says";
    if (k.run)
      k.s_from += fmt::format("; the last {} readings scatter by {}, {} to {} at 95 %, gauge included", k.run->n,
                              little(c, k.run->s), little(c, k.run->s_low), little(c, k.run->s_high));
  } else if (k.run && k.u) {
    const auto without_gauge = [&](double s) { return std::sqrt(std::max(0.04 * s * s, s * s - *k.u * *k.u)); };
    k.s = without_gauge(k.run->s);
    k.s_low = without_gauge(k.run->s_low);
    k.s_high = without_gauge(k.run->s_high);
    k.s_from = fmt::format("from {} readings, the gauge's share taken out", k.run->n);
  }
  return k;
}

}  // namespace

std::optional<double> share_honed(Context& c) {
  std::optional<double> share;
  for (const Bore& b : close_bores(c)) {
    if (b.hone == nullptr) continue;
    const Close k = close_of(c, b);
    const AimCase a = aim_case(c, k);
    if (!k.s || !k.u) return std::nullopt;
    const auto now = c.memo.call("bore at aim", solve_point, AtAim{a.inputs, a.now});
    if (!now->ok()) return std::nullopt;
    share = 1 - (1 - share.value_or(0)) * (1 - now->value().honed);
  }
  return share;
}

void bore_findings(Context& c) {
  const std::vector<Bore> bores = close_bores(c);
  if (!c.problems.empty()) return;
  for (const Bore& b : bores) {
    const Close k = close_of(c, b);
    const AimCase a = aim_case(c, k);
    aim_finding(c, k, a);
    lost_finding(c, k, a);
    gauge_finding(c, k, a);
    study_finding(c, k);
    trend_finding(c, k, a);
    offset_finding(c, k);
    hone_list_finding(c, k);
    warm_finding(c, k);
    finish_finding(c, k, a);
  }
}

}  // namespace fettle::study
