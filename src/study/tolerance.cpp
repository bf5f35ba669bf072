// What share of the parts will come out inside, requirement by requirement, and what to mend first?
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "maths/statistics.h"
#include "study/cost.h"
#include "study/ledger_model.h"

namespace fettle::study {

using finding::Finding;
using tolerance::Contributor;

namespace {

constexpr const char* ledger_source =
    "stream of variation in state-space form (Jin & Shi 1999; Zhou, Huang & Shi 2003); contact Jacobian, Asada & By "
    "1985 (all from memory); play by the exact region of the pins";
constexpr double asked_for_band = 0.01;  // of the variance at the bad end: below it an assumption cannot matter

std::string size_words(const Context& c, double si, bool gauge = true) {
  unit::Style s = c.style;
  s.gauge = gauge;
  return unit::print(si, unit::Kind::length, s);
}

Outcome<tolerance::Ledger> build_ledger(const tolerance::Route& route) { return tolerance::build(route); }

/// The call that the memo keeps: which ledger, with which scatters, which requirement.
struct ShareInputs {
  std::string ledger;
  std::vector<double> scatter;
  std::vector<double> lands;  ///< widths of lands other than the ledger's, each after its operation
  int requirement = 0;
  tolerance::SampleInputs how;
};
struct AllInputs {
  std::string ledger;
  tolerance::SampleInputs how;
};
struct LinearInputs {
  std::string ledger;
};
struct TheoryInputs {
  std::string ledger;
  std::vector<double> scatter;  ///< empty: the ledger's own
  std::vector<double> lands;    ///< widths of lands other than the ledger's, each after its operation
  std::vector<int> requirements;
};

std::vector<double> scatters(const std::vector<Contributor>& contributors) {
  std::vector<double> out;
  for (const Contributor& c : contributors) {
    out.push_back(c.mean);
    out.push_back(c.s);
    out.push_back(c.half_width);
  }
  return out;
}

struct Work {
  const LedgerModel& model;
  const tolerance::Ledger& ledger;
  std::string key;
  tolerance::SampleInputs how;
  std::shared_ptr<const std::vector<tolerance::Linear>> theory;  ///< of every requirement of the route
};

tolerance::Ledger with_lands(tolerance::Ledger l, const std::vector<double>& lands) {
  for (std::size_t i = 0; i + 1 < lands.size(); i += 2)
    l.route.operations[static_cast<std::size_t>(lands[i])].pins.pair.land_width = lands[i + 1];
  return l;
}

/// Share outside of one requirement with assumptions at v.
double share_at(Context& c, const Work& w, int requirement, const std::vector<int>& assumed,
                const std::vector<double>& v) {
  std::vector<Contributor> moved;
  const std::vector<Contributor>* use = &w.ledger.route.contributors;
  for (std::size_t i = 0; i < assumed.size(); ++i) {
    const AssumedScatter& a = w.model.assumed[static_cast<std::size_t>(assumed[i])];
    if (v[i] == a.number.si) continue;
    moved = w.ledger.route.contributors;
    use = &moved;
    break;
  }
  std::vector<double> lands;
  if (use == &moved)
    for (std::size_t i = 0; i < assumed.size(); ++i) {
      const AssumedScatter& a = w.model.assumed[static_cast<std::size_t>(assumed[i])];
      if (a.apply) a.apply(moved, v[i]);
      if (a.land_width_of >= 0 && v[i] != a.number.si)
        lands.insert(lands.end(), {static_cast<double>(a.land_width_of), v[i]});
    }
  if (c.options.monte_carlo) {
    const ShareInputs in{w.key, scatters(*use), lands, requirement, w.how};
    const auto share = [&](const ShareInputs& x) {
      tolerance::Ledger l = with_lands(w.ledger, x.lands);
      l.route.contributors = *use;
      base::Halt halt(c.options.stop);
      const double outside = tolerance::share_outside(l, x.requirement, x.how, &halt).share;
      if (halt.over()) throw Stopped();
      return outside;
    };
    return *c.memo.call("share outside", share, in);
  }
  if (use != &moved) return (*w.theory)[static_cast<std::size_t>(requirement)].share_outside;
  const TheoryInputs in{w.key, scatters(moved), lands, {requirement}};
  const auto share = [&](const TheoryInputs& x) {
    if (x.lands.empty()) return tolerance::shares_by_theory(w.ledger, moved, x.requirements).front();
    return tolerance::shares_by_theory(with_lands(w.ledger, x.lands), moved, x.requirements).front();
  };
  return *c.memo.call("share by theory", share, in);
}

/// Assumptions that can matter to this requirement: those whose bad end carries a hundredth of the variance.
std::vector<int> assumptions_of(const Work& w, const tolerance::Linear& linear) {
  std::vector<int> out;
  double total = 0;
  std::vector<double> variance(w.ledger.route.contributors.size(), 0.0);
  for (const tolerance::ContributorShare& s : linear.contributors) {
    total += s.s * s.s;
    if (s.column >= 0 && static_cast<std::size_t>(s.column) < variance.size())
      variance[static_cast<std::size_t>(s.column)] += s.s * s.s;
  }
  for (std::size_t k = 0; k < w.model.assumed.size(); ++k) {
    const AssumedScatter& a = w.model.assumed[k];
    double mine = 0;
    for (int i : a.contributors) mine += variance[static_cast<std::size_t>(i)];
    for (const tolerance::ContributorShare& s : linear.contributors)
      if (a.play_of >= 0 && s.column == static_cast<int>(variance.size()) + a.play_of) mine += s.s * s.s;
    const double grow = a.number.si > 0 ? a.number.high / a.number.si : 1;
    const bool shifts = a.key == "pallet.temperature_high";
    if (mine * (shifts ? 1 : grow * grow) >= asked_for_band * total && mine > 0) out.push_back(static_cast<int>(k));
  }
  return out;
}

std::string question_of(const std::string& id) {
  const auto dot = id.rfind('.');
  return dot == std::string::npos ? id : id.substr(dot + 1);
}
std::string title_of(const plan::Plan& plan, const plan::Requirement& r) {
  const std::string what = words_of(plan, r.feature.value), &kind = r.kind.value;
  const plan::Feature* f = plan::find_feature(plan, plan::parse_reference(r.feature.value).id);
  const bool itself = r.to.known() && plan::parse_reference(r.to.value).id == plan::parse_reference(r.feature.value).id;
  if (itself && plan::parse_reference(r.to.value).side.empty()) return fmt::format("distance of the {}", what);
  if (itself && f != nullptr) {
    std::string axis = plan::parse_reference(r.feature.value).side.substr(1);
    return fmt::format("{} along {}", f->name.known() ? f->name.value : f->id.value, capital(axis));
  }
  if (kind == "distance" && r.to.known()) return fmt::format("{} from the {}", what, words_of(plan, r.to.value));
  if (kind == "distance") return fmt::format("width of the {}", what);
  if (kind == "coaxiality" && r.to.known())
    return fmt::format("{} coaxial to the {}", what, words_of(plan, r.to.value));
  return fmt::format("{} of the {}", kind, what);
}
std::string limits_words(const Context& c, const plan::Requirement& r) {
  const auto& l = r.limits.value;
  if (l.lower && l.upper)
    return fmt::format("{} to {}", size_words(c, *l.lower, false), size_words(c, *l.upper, false));
  if (l.upper) return "at most " + size_words(c, *l.upper, false);
  return "at least " + size_words(c, *l.lower, false);
}
double goal_of(const plan::Plan& plan, const plan::Requirement& r) {
  return r.goal.known() ? r.goal.si : plan.header.goal.si;
}

Finding start_requirement(const Context& c, const LedgerRequirement& q) {
  const plan::Requirement& r = c.plan.requirements[static_cast<std::size_t>(q.of_plan)];
  Finding f = start(q.operation, r.feature.value, question_of(r.id.value), title_of(c.plan, r), unit::Kind::fraction);
  // Two requirements of one feature may end in the same word: the later one is told by its whole name.
  const auto same = [&](const Finding& x) { return x.id == f.id && x.source == ledger_source; };
  if (std::any_of(c.study.findings.begin(), c.study.findings.end(), same)) {
    f.question = r.id.value;
    std::replace(f.question.begin(), f.question.end(), '.', '-');
    f.id = finding::make_id(base::lower(q.operation), r.feature.value, f.question);
  }
  f.limit = finding::share(goal_of(c.plan, r));
  f.source = ledger_source;
  f.formula = "share of parts outside the limits, every contributor of the route drawn";
  return f;
}

/// What would mend a contributor, in words.
std::string mend_words(const std::string& key, const std::string& name = {}) {
  const auto about = [&](const char* word) { return name.find(word) != std::string::npos; };
  if (about("size of") || about("width of")) return "a process that holds the size closer, or aim it at the middle";
  if (about("dirt")) return "wash and wipe the seat, air-check it";
  if (about("zero setting")) return "set zero with a probe, several touches";
  if (about("tool setting") || about("length of T")) return "preset closer, or touch the tool off on the part";
  if (about("wear")) return "change the edge earlier, or correct it by count";
  if (about("spindle growth")) return "warm the spindle up, or touch off warm";
  if (about("push-off")) return "a second pass at the same setting, or less stock for it";
  if (about("machine positioning")) return "a machine that positions better, or cut both in one clamping";
  if (about("thickness")) return "ask the grinder for closer limits, or measure and sort";
  if (about("flat")) return "ask for flatness off the chuck, shim the first side";
  if (key.rfind("spread", 0) == 0 || key == "reading") return "measure it, then halve it";
  if (key == "pallet.temperature_high") return "keep the pallet cooler, or probe its pins again before cutting";
  if (key.rfind("pallet.pin", 0) == 0 || key.find(".locator.") != std::string::npos || key.ends_with(".pin_span"))
    return "closer pins";
  if (key == "pallet.anchor.repeat") return "probe the pallet after every swap";
  if (key.rfind("machine", 0) == 0) return "a machine that positions better, or cut it in the same clamping";
  if (key == "casting") return "a closer casting, or locate on a machined face";
  return key;
}

/// A share of drawn parts: when none was hit, only what so many parts can prove.
std::string drawn_words(double share, const tolerance::Outcomes* sampled) {
  if (sampled != nullptr && share == 0)
    for (const tolerance::Mended& m : sampled->mended)
      if (m.without.of > 0 && m.without.hits == 0) return share_words(0, 0, m.without.high);
  return share_words(share);
}

void contributors(Finding& f, RequirementRow& row, const Work& w, const tolerance::Linear& linear,
                  const tolerance::Outcomes* sampled) {
  std::map<std::string, double> variance;
  std::map<std::string, std::pair<std::string, std::string>> about;
  for (const tolerance::ContributorShare& s : linear.contributors) {
    std::string group = s.name;
    if (s.column >= 0 && static_cast<std::size_t>(s.column) < w.ledger.route.contributors.size()) {
      const Contributor& x = w.ledger.route.contributors[static_cast<std::size_t>(s.column)];
      if (!x.group.empty()) group = x.group;
    }
    variance[group] += s.share;
    about[group] = {s.key, s.operation};
  }
  const auto plain = [&](const std::string& group, const std::string& operation) {
    if (!operation.empty() && group.size() > operation.size() && group.ends_with(" " + operation))
      return group.substr(0, group.size() - operation.size() - 1);
    return group;
  };
  if (sampled != nullptr) {
    for (const tolerance::Mended& m : sampled->mended) {
      ContributorRow x;
      x.operation = m.operation;
      x.name = plain(m.group, m.operation);
      x.key = m.key;
      x.variance_share = variance.count(m.group) > 0 ? variance[m.group] : 0;
      x.share_outside_without = m.without.share;
      x.buys = sampled->outside.share - m.without.share;
      x.mend = mend_words(m.key, m.group);
      if (x.variance_share > 0.001 || std::fabs(x.buys) > 0) row.contributors.push_back(x);
    }
    // Where nothing is outside nothing can be bought; then the largest share of the variance leads.
    std::stable_sort(row.contributors.begin(), row.contributors.end(), [](const auto& a, const auto& b) {
      if (a.buys != b.buys) return a.buys > b.buys;
      return a.variance_share > b.variance_share;
    });
  } else {
    for (const auto& [group, share] : variance)
      if (share > 0.001) {
        ContributorRow x;
        x.name = plain(group, about[group].second);
        x.key = about[group].first;
        x.operation = about[group].second;
        x.variance_share = share;
        x.share_outside_without = std::numeric_limits<double>::quiet_NaN();
        x.buys = std::numeric_limits<double>::quiet_NaN();
        x.mend = mend_words(x.key, x.name);
        row.contributors.push_back(x);
      }
    std::stable_sort(row.contributors.begin(), row.contributors.end(),
                     [](const auto& a, const auto& b) { return a.variance_share > b.variance_share; });
  }
  std::size_t n = 0;
  for (const ContributorRow& x : row.contributors) {
    if (++n > 6) break;
    std::string words = fmt::format("{} of the variance", unit::print(x.variance_share, unit::Kind::fraction));
    if (std::isfinite(x.buys))
      words += fmt::format(", {} outside without it", drawn_words(x.share_outside_without, sampled));
    f.inputs.push_back(
        {fmt::format("{} ({})", x.name, x.operation.empty() ? "casting" : x.operation), 0, unit::Kind::number, words});
  }
  n = 0;
  for (const ContributorRow& x : row.contributors) {
    if (!(x.buys > 0) || ++n > 3) continue;
    finding::Lever l;
    l.name = x.name;
    l.key = x.key;
    l.now = f.value;
    l.flip = std::numeric_limits<double>::quiet_NaN();
    l.kind = unit::Kind::fraction;
    l.text = fmt::format("{} gone: {} → {} outside; {}", x.name, share_words(row.share),
                         drawn_words(x.share_outside_without, sampled), x.mend);
    f.levers.push_back(std::move(l));
  }
}

RequirementRow row_of(const Context& c, const Work& w, const LedgerRequirement& q, const tolerance::Linear& linear,
                      const tolerance::Outcomes* sampled) {
  const plan::Requirement& r = c.plan.requirements[static_cast<std::size_t>(q.of_plan)];
  RequirementRow row;
  row.id = r.id.value;
  row.title = title_of(c.plan, r);
  const auto& asked = w.ledger.route.requirements[static_cast<std::size_t>(q.route)];
  if (asked.elements.size() > 1 && asked.kind != tolerance::Requirement::Kind::span)
    row.title += fmt::format(", worst of {}", asked.elements.size());
  row.lower = q.honed ? std::nullopt : r.limits.value.lower;
  row.upper = r.limits.value.upper;
  row.gauge = row.lower && row.upper ? *row.upper - *row.lower < 5e-5 : row.upper.value_or(1) < 2e-5;
  row.worst_low = linear.worst_low;
  row.worst_high = linear.worst_high;
  row.theory_share = linear.share_outside;
  row.goal = goal_of(c.plan, r);
  row.mean = linear.mean;
  row.s = linear.s;
  row.cp = linear.cp;
  row.cpk = linear.cpk;
  row.share = row.share_low = row.share_high = linear.share_outside;
  if (sampled == nullptr) return row;
  row.mean = sampled->mean;
  row.s = sampled->s;
  row.cp = sampled->cp;
  row.cpk = sampled->cpk;
  row.share = sampled->outside.share;
  row.share_low = sampled->outside.low;
  row.share_high = sampled->outside.high;
  row.first = sampled->first;
  row.step = sampled->step;
  row.bins = sampled->bins;
  return row;
}

void judge_requirement(Context& c, const Work& w, const LedgerRequirement& q, const tolerance::Linear& linear,
                       const tolerance::Outcomes* sampled) {
  const plan::Requirement& r = c.plan.requirements[static_cast<std::size_t>(q.of_plan)];
  Finding f = start_requirement(c, q);
  RequirementRow row = row_of(c, w, q, linear, sampled);
  row.finding = f.id;
  const auto print = [&](double si) { return size_words(c, si, row.gauge || row.s < 2e-5); };
  f.value = row.share;
  f.inputs.push_back({"requirement", 0, unit::Kind::number, r.id.value + ", " + limits_words(c, r)});
  if (q.honed) f.inputs.push_back({"too small", 0, unit::Kind::number, "is honed, so only too large counts here"});
  f.inputs.push_back({"worst case (shown, never decides)", 0, unit::Kind::length,
                      print(linear.worst_low) + " to " + print(linear.worst_high)});
  f.inputs.push_back({"mean", 0, unit::Kind::length, print(row.mean)});
  f.inputs.push_back({"one standard deviation", 0, unit::Kind::length, print(row.s)});
  if (std::isfinite(row.cpk) && row.s > 0) {
    if (row.lower && row.upper) f.inputs.push_back({"Cp", 0, unit::Kind::number, fmt::format("{:.2f}", row.cp)});
    f.inputs.push_back({"Cpk", 0, unit::Kind::number, fmt::format("{:.2f}", row.cpk)});
  }
  f.inputs.push_back({"share outside by linear theory", 0, unit::Kind::fraction, share_words(linear.share_outside)});
  if (sampled != nullptr) {
    f.low = sampled->outside.low;
    f.high = sampled->outside.high;
    f.confidence = fmt::format("95 %, {} parts", w.how.parts);
    if (sampled->outside.hits == 0) f.text = share_words(0, 0, sampled->outside.high);
    f.inputs.push_back({"by the set of pallets one gets, 5 % to 95 %", 0, unit::Kind::fraction,
                        share_words(sampled->build_low) + " to " + share_words(sampled->build_high)});
    if (sampled->outside.hits > 0)
      f.inputs.push_back({"worst part to look at", 0, unit::Kind::number, fmt::format("{}", sampled->worst_part)});
  }
  contributors(f, row, w, linear, sampled);
  const std::string share = sampled != nullptr ? share_words(row.share, sampled->outside.hits, sampled->outside.high)
                                               : share_words(row.share);
  f.sentence = fmt::format("{} of the parts come out outside {} (goal {}).", capital(share), limits_words(c, r),
                           unit::print(row.goal, unit::Kind::fraction));
  if (!row.contributors.empty()) {
    const ContributorRow& first = row.contributors.front();
    f.sentence +=
        fmt::format(" First to mend: {}{} ({} of the variance{}).", first.name,
                    first.operation.empty() ? "" : " in " + first.operation,
                    unit::print(first.variance_share, unit::Kind::fraction),
                    first.buys > 0 ? fmt::format("; without it {}", drawn_words(first.share_outside_without, sampled))
                                   : std::string());
  }
  // Nothing that the ledger knows of reaches it: no proof that nothing does.
  if (!(linear.s > 1e-12)) {
    leave_open(c, std::move(f),
               {fmt::format("spread: operation = \"{}\", moves = \"{}\": nothing that the ledger knows of scatters it",
                            q.operation, r.feature.value)});
    return;
  }
  c.study.requirements.push_back(row);
  // Too few parts drawn to prove the goal: open, not inside.
  if (sampled != nullptr && sampled->outside.hits == 0 && sampled->outside.high > row.goal) {
    leave_open(c, std::move(f),
               {fmt::format("plan.castings: more than {} parts, to prove a goal of {}", w.how.parts,
                            unit::print(row.goal, unit::Kind::fraction))});
    return;
  }
  const std::vector<int> assumed = assumptions_of(w, linear);
  for (int k : assumed) {
    const AssumedScatter& a = w.model.assumed[static_cast<std::size_t>(k)];
    assume(f, a.number, a.name, a.key);
  }
  settle(c, std::move(f), [&](const std::vector<double>& v) { return share_at(c, w, q.route, assumed, v); });
}

void rolled_yield(Context& c, const Work& w, const tolerance::SampleResult& all) {
  Finding f = start("", "", "rolled_yield", "parts lost to any requirement over the route", unit::Kind::fraction);
  double keep = 1;
  int judged = 0, left = 0;
  for (const LedgerRequirement& q : w.model.requirements) {
    if (q.route < 0) ++left;
    else {
      ++judged;
      keep *= 1 - goal_of(c.plan, c.plan.requirements[static_cast<std::size_t>(q.of_plan)]);
    }
  }
  f.limit = finding::share(1 - keep);
  f.source = ledger_source;
  f.formula =
      "share of parts with at least one requirement outside, or that do not go on their pins; limit: every requirement "
      "at "
      "its goal";
  const double not_on = std::min(1.0, static_cast<double>(all.not_on) / w.how.parts);
  const auto lost_with = [&](double share) { return std::min(1.0, share + not_on); };
  const double lost = lost_with(all.any_outside.share);
  f.low = lost_with(all.any_outside.low);
  f.high = lost_with(all.any_outside.high);
  f.confidence = fmt::format("95 %, {} parts", w.how.parts);
  double good = 1 - lost, good_low = 1 - *f.high, good_high = 1 - *f.low;
  f.inputs.push_back({"requirements judged", static_cast<double>(judged), unit::Kind::number, {}});
  if (left > 0) f.inputs.push_back({"requirements not judged", static_cast<double>(left), unit::Kind::number, {}});
  double raw_bad = 0;
  for (const Finding& x : c.study.findings)
    if (x.id == "casting.all.clean_up" && std::isfinite(x.value)) {
      raw_bad = x.value;
      f.inputs.push_back({"castings that do not clean up, not in it", x.value, unit::Kind::fraction, {}});
    }
  for (const plan::Loss& l : c.plan.losses) {
    f.inputs.push_back({"lost besides: " + l.id.value, l.share.si, unit::Kind::fraction, {}});
    good *= 1 - l.share.si, good_low *= 1 - l.share.high, good_high *= 1 - l.share.low;
  }
  f.inputs.push_back(
      {"rolled yield, with the losses that the plan states", 0, unit::Kind::fraction,
       fmt::format("{} ({} to {})", unit::print(good, unit::Kind::fraction),
                   unit::print(good_low, unit::Kind::fraction), unit::print(good_high, unit::Kind::fraction))});
  std::string order;
  if (c.plan.demand.per_week.known() && good > 0) {
    order = fmt::format(" For {} good parts a week start {} castings ({} to {}).",
                        unit::print(c.plan.demand.per_week.si, unit::Kind::number),
                        std::ceil(c.plan.demand.per_week.si / good), std::ceil(c.plan.demand.per_week.si / good_high),
                        good_low > 0 ? std::ceil(c.plan.demand.per_week.si / good_low) : 0);
    f.inputs.push_back(
        {"castings to start a week", std::ceil(c.plan.demand.per_week.si / good), unit::Kind::number, {}});
    if (raw_bad > c.plan.header.goal.si && raw_bad < 1) {
      const double bought = std::ceil(c.plan.demand.per_week.si / good / (1 - raw_bad));
      order += fmt::format(
          " {} of the castings as bought do not clean up and come on top: {} to buy, fewer where the shift for each "
          "casting saves some.",
          unit::print(raw_bad, unit::Kind::fraction), bought);
      f.inputs.push_back({"castings to buy a week, with those that do not clean up", bought, unit::Kind::number, {}});
    }
  }
  if (all.not_on > 0)
    f.inputs.push_back({"parts that did not go on their pins, lost", 0, unit::Kind::number,
                        fmt::format("{} of {}", all.not_on, w.how.parts)});
  // What a gain is worth: the same plan with so many more good parts.
  const auto cost_at = [&](double share) { return plan_cost(c.plan, std::clamp(share, 1e-6, 1.0)); };
  const PlanCost now = cost_at(good);
  std::size_t n = 0;
  for (const tolerance::Mended& m : all.mended) {
    if (!(m.yield_gained > 0) || ++n > 5) continue;
    std::string worth;
    if (now.there) {
      const double saved = now.per_good - cost_at(good * (1 + m.yield_gained / std::max(1e-6, 1 - lost))).per_good;
      worth = fmt::format(", worth {:.2f} {} a good part", saved, now.currency);
    }
    f.levers.push_back(
        {m.group, m.key, lost, std::numeric_limits<double>::quiet_NaN(), unit::Kind::fraction,
         fmt::format("{} gone: {} more good parts{}; {}", m.group, unit::print(m.yield_gained, unit::Kind::fraction),
                     worth, mend_words(m.key, m.group))});
  }
  f.sentence = fmt::format("{} of the parts fail at least one of {} requirements.{}{}",
                           capital(share_words(lost, all.any_outside.hits + all.not_on, *f.high)), judged, order,
                           left > 0 ? fmt::format(" {} more could not be judged.", left) : std::string());
  if (all.any_outside.hits + all.not_on == 0) f.text = share_words(0, 0, all.any_outside.high);
  c.study.kept = 1 - lost;
  // What was not judged may fail as well: the rest alone never makes this good.
  if (left > 0 && !(lost > 1 - keep)) {
    std::vector<std::string> missing;
    for (const LedgerRequirement& q : w.model.requirements)
      if (q.route < 0)
        missing.push_back(fmt::format("what requirement {} asks for (its own finding says what)",
                                      c.plan.requirements[static_cast<std::size_t>(q.of_plan)].id.value));
    leave_open(c, std::move(f), missing);
    return;
  }
  settle(c, std::move(f), [&](const std::vector<double>&) { return lost; });
}

/// Where zero should be along the spindle: on the plate, or on the part's top.
void zero_choice(Context& c, const Work& planned, const PushOf& push) {
  for (const plan::Operation& o : c.plan.operations) {
    if (o.kind.value != "pallet" || o.makes.value.empty()) continue;
    std::vector<int> heights;
    for (const LedgerRequirement& q : planned.model.requirements) {
      const plan::Requirement& r = c.plan.requirements[static_cast<std::size_t>(q.of_plan)];
      if (q.route >= 0 && q.operation == o.id.value && r.kind.value == "distance" && r.to.known() &&
          std::fabs(planned.ledger.route.requirements[static_cast<std::size_t>(q.route)].along.z) > 0.5)
        heights.push_back(q.of_plan);
    }
    if (heights.empty()) continue;
    Finding f = start(o.id.value, "", "zero", "zero along the spindle stands where it should", unit::Kind::fraction);
    f.source = ledger_source;
    f.formula = "share of parts with a height outside, more than with zero at the best place";
    f.limit = finding::share(c.plan.header.goal.si);
    if (!o.zero.known()) {
      leave_open(c, std::move(f), {fmt::format("operation.{}.zero: where zero is", o.id.value)});
      continue;
    }
    const auto lost = [&](const std::string& zero) {
      LedgerVariant v;
      v.zero_operation = o.id.value;
      v.zero = zero;
      LedgerModel m = ledger_model(c.plan, c.data, push, v);
      auto ledger = c.memo.call("ledger", build_ledger, m.route);
      while (!ledger->ok() && drop_refused(m, ledger->problems()))
        ledger = c.memo.call("ledger", build_ledger, m.route);
      if (!ledger->ok()) return std::numeric_limits<double>::quiet_NaN();
      const std::string key = base::hash_hex(base::bytes_of(m.route));
      std::vector<int> asked;
      for (const LedgerRequirement& q : m.requirements)
        if (q.route >= 0 && std::find(heights.begin(), heights.end(), q.of_plan) != heights.end())
          asked.push_back(q.route);
      const auto shares = [&](const TheoryInputs& x) {
        return tolerance::shares_by_theory(ledger->value(), ledger->value().route.contributors, x.requirements);
      };
      double sum = 0;
      for (const double share : *c.memo.call("ledger linear", shares, TheoryInputs{key, {}, {}, asked})) sum += share;
      return std::min(1.0, sum);
    };
    double here = 0;
    for (const LedgerRequirement& q : planned.model.requirements)
      if (q.route >= 0 && std::find(heights.begin(), heights.end(), q.of_plan) != heights.end())
        here += (*planned.theory)[static_cast<std::size_t>(q.route)].share_outside;
    here = std::min(1.0, here);
    const bool on_top = o.zero.value == "part top";
    const double plate = on_top ? lost("plate top") : here, top = on_top ? here : lost("part top");
    if (!std::isfinite(plate) || !std::isfinite(top)) continue;
    f.inputs.push_back({"zero on the plate", plate, unit::Kind::fraction, share_words(plate) + " outside"});
    f.inputs.push_back({"zero on the part's top", top, unit::Kind::fraction, share_words(top) + " outside"});
    f.inputs.push_back({"heights looked at", static_cast<double>(heights.size()), unit::Kind::number, {}});
    f.levers.push_back({"zero", "operation." + o.id.value + ".zero", here, std::min(plate, top), unit::Kind::fraction,
                        fmt::format("zero on the {}: {} outside", on_top ? "plate" : "part's top",
                                    share_words(on_top ? plate : top))});
    f.sentence = fmt::format("Heights cut in {}: {} outside with zero on the plate, {} with zero on the part's top.",
                             o.id.value, share_words(plate), share_words(top));
    const double more = std::max(0.0, here - std::min(plate, top));
    settle(c, std::move(f), [more](const std::vector<double>&) { return more; });
  }
}

}  // namespace

void tolerance_findings(Context& c) {
  if (c.plan.requirements.empty()) return;
  const PushOf push = push_offs(c);
  LedgerModel model = ledger_model(c.plan, c.data, push);
  auto built = c.memo.call("ledger", build_ledger, model.route);
  while (!built->ok() && drop_refused(model, built->problems()))
    built = c.memo.call("ledger", build_ledger, model.route);
  c.study.notices.insert(c.study.notices.end(), model.notices.begin(), model.notices.end());
  for (const LedgerRequirement& q : model.requirements)
    if (q.route < 0 && !q.missing.empty()) leave_open(c, start_requirement(c, q), q.missing);
  if (model.route.requirements.empty()) return;
  if (!built->ok()) {
    for (const LedgerRequirement& q : model.requirements)
      if (q.route >= 0) leave_open(c, start_requirement(c, q), {say(built->problem())});
    return;
  }
  Work w{model, built->value(), base::hash_hex(base::bytes_of(model.route)), {}, {}};
  w.how.parts = std::max(1, c.plan.header.castings.value);
  w.how.seed = static_cast<std::uint64_t>(c.plan.header.seed.value);
  w.how.threads = 1;
  std::shared_ptr<const Outcome<tolerance::SampleResult>> sampled;
  if (c.options.monte_carlo) {
    const AllInputs in{w.key, w.how};
    sampled = c.memo.call(
        "ledger sample",
        [&](const AllInputs& x) {
          tolerance::SampleInputs how = x.how;
          how.threads = c.options.threads;
          base::Halt halt(c.options.stop);
          auto all = tolerance::sample(w.ledger, how, &halt);
          if (halt.over()) throw Stopped();
          return all;
        },
        in);
  }
  const bool drawn = sampled != nullptr;
  if (drawn && !sampled->ok()) {  // what could not be drawn is not judged by theory instead
    for (const LedgerRequirement& q : model.requirements)
      if (q.route >= 0) leave_open(c, start_requirement(c, q), {say(sampled->problem())});
    return;
  }
  w.how.mending = false;
  w.theory = c.memo.call(
      "ledger linear", [&](const LinearInputs&) { return tolerance::linear(w.ledger); }, LinearInputs{w.key});
  double done = 0;
  for (const LedgerRequirement& q : model.requirements) {
    const double share = done++ / static_cast<double>(model.requirements.size());
    if (q.route < 0) continue;
    if (c.options.progress)
      c.options.progress("tolerances, " + c.plan.requirements[static_cast<std::size_t>(q.of_plan)].id.value,
                         draws_share + (0.95 - draws_share) * share);
    judge_requirement(c, w, q, (*w.theory)[static_cast<std::size_t>(q.route)],
                      drawn ? &sampled->value().requirements[static_cast<std::size_t>(q.route)] : nullptr);
  }
  if (drawn) {
    rolled_yield(c, w, sampled->value());
  } else {
    double kept = 1;
    for (const RequirementRow& r : c.study.requirements) kept *= 1 - std::min(1.0, r.theory_share);
    c.study.kept = kept;
  }
  zero_choice(c, w, push);
}

}  // namespace fettle::study
