#include "begin/propose/propose.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <thread>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/assume.h"
#include "begin/propose/facts.h"
#include "begin/propose/mend.h"
#include "begin/propose/questions.h"
#include "begin/propose/route.h"
#include "begin/propose/written.h"
#include "plan/read.h"
#include "study/cost.h"
#include "study/practice.h"

namespace fettle::begin {

namespace {

/// Drafts looked at with a quick study at most: two routes in full, or three with fewer ways to sit.
constexpr std::size_t most_drafts = 12;
/// Drafts that are mended: the best of each route, and one more.
constexpr std::size_t most_mended = 4;

/// What sorts proposals: how many are outside, how many open, then cost.
struct Order {
  int outside = 0, open = 0;
  double cost = 0;
  bool operator<(const Order& o) const {
    if (outside != o.outside) return outside < o.outside;
    if (std::isfinite(cost) != std::isfinite(o.cost)) return std::isfinite(cost);
    if (std::isfinite(cost) && cost != o.cost) return cost < o.cost;
    return open < o.open;
  }
};

struct Looked {
  Draft draft;
  Look at;
  Order order;
};

/// What a draft leaves to somebody else counts as much as what is outside: a cut that nobody makes mends nothing.
Order order_of(const Draft& d, const Look& l) {
  const study::PlanCost cost = study::plan_cost(l.plan, study::share_without_losses(l.plan));
  return {l.study.counts.outside + static_cast<int>(d.unmet.size()), l.study.counts.open,
          cost.there ? cost.per_good : INFINITY};
}

/// What is done by hand at every operation, as the rules of the trade ask.
void say_hands(Draft& d) {
  std::map<std::string, std::pair<std::vector<std::string>, std::vector<std::string>>> by;  // operation -> steps, rules
  for (const practice::StepAsked& a : study::say_steps(d.plan)) {
    auto& [steps, rules] = by[a.operation];
    steps.push_back(a.step);
    if (std::find(rules.begin(), rules.end(), a.rule) == rules.end()) rules.push_back(a.rule);
  }
  for (const plan::Operation& o : d.plan.operations)
    if (const auto it = by.find(o.id.value); it != by.end())
      d.choices.push_back({"route",
                           fmt::format("operation.{}.does", o.id.value),
                           base::join(it->second.first, ", "),
                           "by hand, at every part or load",
                           "rule " + base::join(it->second.second, ", rule "),
                           {}});
}

/// The raw sizes that this route needs, found on its first way to sit and to stand on a pallet.
Outcome<bool> size_castings(const Scene& scene, Draft& route, const study::Data& data, study::Memo& memo, int threads) {
  if (answer(scene, "take.casting.sizes") == "by the grades") {
    route.choices.push_back({"casting",
                             "casting.size",
                             "raw sizes by the grades alone",
                             "asked for; more castings may show skin where they are machined",
                             "answer",
                             {{"sizes by virtual castings of this route", "the grades alone were asked for",
                               "take.casting.sizes=as reckoned"}}});
    return true;
  }
  for (Draft& seat : seats(scene, route, 1)) {
    if (!seat.clashes.empty()) continue;
    for (Draft& pallet : pallets(scene, seat, 1)) {
      if (!pallet.clashes.empty()) continue;
      const std::size_t n = pallet.choices.size();
      auto raised = raise_raw_sizes(scene, pallet, data, memo, threads);
      if (!raised.ok() || !*raised) return raised;
      route.plan.casting = pallet.plan.casting;
      route.choices.insert(route.choices.end(), pallet.choices.begin() + static_cast<std::ptrdiff_t>(n),
                           pallet.choices.end());
      for (std::string& a : route.assumed)
        if (base::starts_with(a, "casting.mass "))
          for (const std::string& b : pallet.assumed)
            if (base::starts_with(b, "casting.mass ")) a = b;
      return true;
    }
  }
  return false;
}

/// All drafts that the stages make, in their order of preference; those that clash stand apart.
Outcome<bool> make(const Scene& scene, const plan::Plan& read, const study::Data& data, study::Memo& memo, int threads,
                   std::vector<Draft>& drafts, std::vector<Clash>& clashes) {
  Draft first;
  first.plan = read;
  first.plan.shop = scene.shop;
  if (!scene.shop_path.empty()) give(first.plan.header.shop, scene.shop_path);
  apply_answers(scene.answers, first.plan);
  say_threads(scene.answers, read, first);
  first.plan.header.seed.value = static_cast<int>(scene.seed);
  first.plan.header.seed.origin = plan::Origin::given;
  first.plan.header.seed.typed = std::to_string(scene.seed);
  if (!read.demand.available.known())
    first.assumed.emplace_back(
        "demand: one shift of 37.5 h, 48 weeks, machines there for 85 % of it (70 to 95): from memory");
  assume_critical(scene, first);
  choose_gauges(scene, first);
  order_casting(scene, first);
  const auto clashing = [&](const Draft& d) {
    clashes.insert(clashes.end(), d.clashes.begin(), d.clashes.end());
    return !d.clashes.empty();
  };
  if (clashing(first)) return true;
  for (Draft& route : routes(scene, first, 3)) {
    if (clashing(route)) continue;
    ask_for_gate(scene, route);
    allow_shift(scene, route);
    if (const auto sized = size_castings(scene, route, data, memo, threads); !sized.ok()) return sized.problems();
    for (const Draft& seat : seats(scene, route, 2)) {
      if (clashing(seat)) continue;
      for (Draft& pallet : pallets(scene, seat, 2)) {
        if (clashing(pallet)) continue;
        cuts(scene, pallet);
        say_hands(pallet);
        if (!clashing(pallet) && drafts.size() < most_drafts) drafts.push_back(std::move(pallet));
      }
    }
  }
  return true;
}

/// Work shared by so many threads; each item is done once, whoever does it.
void share(std::size_t items, int threads, const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    for (std::size_t i = next++; i < items; i = next++) work(i);
  };
  std::vector<std::thread> crew;
  for (int t = 1; t < threads && static_cast<std::size_t>(t) < items; ++t) crew.emplace_back(run);
  run();
  for (std::thread& t : crew) t.join();
}

/// Of these, at most so many: the best of every route first, then the best of the rest.
std::vector<std::size_t> best_of_each(const std::vector<Looked>& sorted, std::size_t most) {
  std::vector<std::size_t> out;
  std::set<std::string> names;
  for (const bool again : {false, true})
    for (std::size_t i = 0; i < sorted.size() && out.size() < most; ++i) {
      const bool there = std::any_of(out.begin(), out.end(),
                                     [&](std::size_t k) { return k == i || sorted[k].at.text == sorted[i].at.text; });
      if (there || (!again && !names.insert(sorted[i].draft.name).second)) continue;
      out.push_back(i);
    }
  return out;
}

/// Each set of wishes once, the smaller sets first; a set that holds a smaller one says nothing new.
std::vector<Clash> smallest(std::vector<Clash> all) {
  for (Clash& c : all) std::sort(c.wishes.begin(), c.wishes.end());
  std::stable_sort(all.begin(), all.end(),
                   [](const Clash& a, const Clash& b) { return a.wishes.size() < b.wishes.size(); });
  std::vector<Clash> out;
  for (const Clash& c : all) {
    const bool held = std::any_of(out.begin(), out.end(), [&](const Clash& k) {
      return std::includes(c.wishes.begin(), c.wishes.end(), k.wishes.begin(), k.wishes.end());
    });
    if (!held) out.push_back(c);
  }
  return out;
}

/// What is to be mended first: findings stand in that order.
std::string first_of(const study::Study& s) {
  const finding::Finding& f = s.findings.front();
  return f.title + (f.operation.empty() ? "" : " (" + f.operation + ")");
}

/// Of one with the same clampings as a better one: what was chosen otherwise.
std::string unlike(const Proposal& p, const std::vector<Proposal>& better) {
  for (std::size_t i = 0; i < better.size(); ++i) {
    if (better[i].draft.name != p.draft.name) continue;
    std::vector<std::string> other;
    for (const Choice& c : p.draft.choices) {
      if (c.stage == "cuts" || other.size() == 2) continue;
      const auto& there = better[i].draft.choices;
      const auto same = std::find_if(there.begin(), there.end(), [&](const Choice& x) { return x.about == c.about; });
      if (same != there.end() && same->taken != c.taken)
        other.push_back(fmt::format("{}: {}, there {}", c.about, c.taken, same->taken));
    }
    if (!other.empty()) return fmt::format("; unlike {}, {}", i + 1, base::join(other, "; "));
  }
  return "";
}

std::string why_here(const Proposal& p, const Proposal* first) {
  const int outside = p.study.counts.outside;
  if (!p.draft.unmet.empty())
    return fmt::format("not a whole plan: {}; {} finding{} outside", p.draft.unmet.front().words, outside,
                       outside == 1 ? "" : "s");
  const std::string money =
      p.cost ? fmt::format("{:.2f} {} a good part", *p.cost, p.currency) : "cost open: " + p.no_cost;
  if (outside > 0)
    return fmt::format("{} finding{} outside, the first: {}; {}", outside, outside == 1 ? " is" : "s are",
                       first_of(p.study), money);
  if (first == nullptr) return fmt::format("nothing outside, and the cheapest of those: {}", money);
  return fmt::format("nothing outside; {}", money);
}

void fill_cost(Proposal& p, const plan::Plan& plan) {
  // With the share that the study says is honed, so that plan and study name one cost.
  const auto& week = p.study.counted_week;
  const study::PlanCost cost = study::plan_cost(plan, p.study.kept.value_or(1) * study::share_without_losses(plan),
                                                week && week->hone_share ? *week->hone_share : study::usual_hone_share);
  p.currency = cost.currency;
  if (cost.there) p.cost = cost.per_good;
  else p.no_cost = base::join(cost.missing, "; ");
}

}  // namespace

Outcome<Proposals> propose(const Scene& given, const plan::Plan& read, const study::Data& data, int threads,
                           const std::function<void(const std::string&, double)>& progress) {
  Proposals out;
  Scene scene = given;
  std::vector<Draft> drafts;
  study::Memo memo;
  const auto say = [&](const std::string& what, double part) {
    if (progress) progress(what, part);
  };
  const auto typed = read_back(scene, plan::write_plan(read));  // limits and defaults as a reader sees them
  if (!typed.ok()) return typed.problems();
  say("making drafts", 0);
  if (scene.sight == nullptr && scene.part != nullptr) scene.sight = look_around(*scene.part, *typed, scene.inch);
  if (const auto made = make(scene, *typed, data, memo, threads, drafts, out.clashes); !made.ok())
    return made.problems();
  out.clashes = smallest(std::move(out.clashes));
  for (const Question& q : questions(read, scene.shop))
    if (!scene.answers.contains(q.id)) out.not_asked.push_back(q);
  if (drafts.empty()) return out;

  say(fmt::format("looking at {} drafts", drafts.size()), 0.2);
  std::vector<Looked> looked(drafts.size());
  std::vector<Problems> wrong(drafts.size());
  share(drafts.size(), threads, [&](std::size_t i) {
    auto l = look(scene, drafts[i], data, quick_look(), memo);
    if (!l.ok()) wrong[i] = l.problems();
    else looked[i] = {std::move(drafts[i]), std::move(l.value()), {}};
  });
  for (const Problems& p : wrong)
    if (!p.empty()) return p;
  for (Looked& l : looked) l.order = order_of(l.draft, l.at);
  std::stable_sort(looked.begin(), looked.end(), [](const Looked& a, const Looked& b) { return a.order < b.order; });

  const std::vector<std::size_t> chosen = best_of_each(looked, most_mended);
  say(fmt::format("mending {} drafts", chosen.size()), 0.3);
  std::vector<Looked> mended(chosen.size());
  std::vector<int> studied(chosen.size());
  share(chosen.size(), threads, [&](std::size_t i) {
    auto m = mend(scene, looked[chosen[i]].draft, data, memo);
    if (!m.ok()) wrong[i] = m.problems();
    else studied[i] = m->studied, mended[i] = {std::move(m->draft), std::move(m->last), {}};
  });
  for (const Problems& p : wrong)
    if (!p.empty()) return p;
  out.looked_at = static_cast<int>(looked.size()) + std::accumulate(studied.begin(), studied.end(), 0);
  for (Looked& l : mended) l.order = order_of(l.draft, l.at);
  std::stable_sort(mended.begin(), mended.end(), [](const Looked& a, const Looked& b) { return a.order < b.order; });

  std::vector<std::pair<Order, Proposal>> whole;
  for (const std::size_t i : best_of_each(mended, 3)) {
    Looked& l = mended[i];
    say("studying " + l.draft.name, 0.6 + 0.13 * static_cast<double>(whole.size()));
    study::Options options;
    options.threads = threads;
    options.pictures = false;  // the plan is studied again when somebody looks at it
    auto s = study::run(l.at.plan, data, options, memo);
    if (!s.ok()) return s.problems();
    Proposal p;
    if (scene.known) scene.known(l.draft);
    p.draft = l.draft, p.text = l.at.text, p.study = std::move(s.value());
    fill_cost(p, l.at.plan);
    p.still = clashes_of(l.at.plan, p.study);
    p.still.insert(p.still.begin(), p.draft.unmet.begin(), p.draft.unmet.end());
    const Order order{p.study.counts.outside + static_cast<int>(p.draft.unmet.size()), p.study.counts.open,
                      p.cost.value_or(INFINITY)};
    whole.emplace_back(order, std::move(p));
  }
  std::stable_sort(whole.begin(), whole.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto& [order, p] : whole) {
    p.rank = static_cast<int>(out.best.size()) + 1;
    p.why_here = why_here(p, out.best.empty() ? nullptr : &out.best.front()) + unlike(p, out.best);
    out.best.push_back(std::move(p));
  }
  // None without anything outside: what keeps the best from it is what clashes.
  if (!out.best.empty() && !out.best.front().still.empty()) {
    out.clashes.insert(out.clashes.end(), out.best.front().still.begin(), out.best.front().still.end());
    out.clashes = smallest(std::move(out.clashes));
  }
  return out;
}

}  // namespace fettle::begin
