#include "begin/propose/propose.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/questions.h"
#include "plan/read.h"
#include "study/cost.h"

namespace fettle::begin {

namespace {

/// Drafts looked at with a quick study at most: two routes in full, or three with fewer ways to sit.
constexpr std::size_t most_drafts = 12;

std::string one_line(const Choice& c) {
  std::string out = fmt::format("{}: {}. {}", c.about, c.taken, c.why);
  if (!c.asked_by.empty()) out += fmt::format(" [{}]", c.asked_by);
  for (const Alternative& a : c.others) out += fmt::format(" Else: {}, but {}.", a.words, a.why_not);
  return out;
}

/// Comment lines of at most 118 columns; nothing of a model's names may end one early.
std::string comment(const std::string& text) {
  std::string out, line = "#";
  std::string clean = text;
  for (char& c : clean)
    if (static_cast<unsigned char>(c) < 0x20) c = ' ';
  for (const std::string& word : base::split(clean, ' ')) {
    if (word.empty()) continue;
    if (base::code_points(line) + 1 + base::code_points(word) > 118) {
      out += line + "\n";
      line = "#  ";
    }
    line += " " + word;
  }
  return out + line + "\n";
}

std::string text_of(const Draft& d) {
  std::string out = comment(fmt::format("Proposed: {}.", d.name));
  out += "# Chosen, and why:\n";
  for (const Choice& c : d.choices) out += comment("- " + one_line(c));
  if (!d.assumed.empty()) out += "#\n# Assumed, since nobody said it:\n";
  for (const std::string& s : d.assumed) out += comment("- " + s);
  if (!d.disagree.empty()) out += "#\n# A practitioner may see it otherwise:\n";
  for (const std::string& s : d.disagree) out += comment("- " + s);
  return out + "\n" + plan::write_plan(d.plan);
}

/// The plan as the file says it: what is studied is what is written.
Outcome<plan::Plan> read_back(const Scene& scene, const std::string& text) {
  const auto load = [&](const std::string& path) -> Outcome<std::string> {
    if (!scene.shop_path.empty() && path == scene.shop_path) return scene.shop_text;
    return bad("not here", path);
  };
  auto plan = plan::read_plan(text, "the proposal", load);
  if (plan.ok()) return plan;
  Problems out = plan.problems();
  for (Problem& p : out) p.fault = Fault::our_fault;
  return out;
}

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
  std::string text;
  plan::Plan plan;
  Order order;
};

Order order_of(const study::Study& s, const study::PlanCost& cost) {
  return {s.counts.outside, s.counts.open, cost.there ? cost.per_good : INFINITY};
}

/// All drafts that the stages make, in their order of preference; those that clash stand apart.
void make(const Scene& scene, const plan::Plan& read, std::vector<Draft>& drafts, std::vector<Clash>& clashes) {
  Draft first;
  first.plan = read;
  first.plan.shop = scene.shop;
  if (!scene.shop_path.empty()) give(first.plan.header.shop, scene.shop_path);
  apply_answers(scene.answers, first.plan);
  first.plan.header.seed.value = static_cast<int>(scene.seed);
  first.plan.header.seed.origin = plan::Origin::given;
  first.plan.header.seed.typed = std::to_string(scene.seed);
  if (!read.demand.available.known())
    first.assumed.emplace_back(
        "demand: one shift of 37.5 h, 48 weeks, machines there for 85 % of it (70 to 95): from memory");
  order_casting(scene, first);
  const auto clashing = [&](const Draft& d) {
    clashes.insert(clashes.end(), d.clashes.begin(), d.clashes.end());
    return !d.clashes.empty();
  };
  if (clashing(first)) return;
  for (const Draft& route : routes(scene, first, 3)) {
    if (clashing(route)) continue;
    for (const Draft& seat : seats(scene, route, 2)) {
      if (clashing(seat)) continue;
      for (Draft& pallet : pallets(scene, seat, 2)) {
        if (clashing(pallet)) continue;
        cuts(scene, pallet);
        if (!clashing(pallet) && drafts.size() < most_drafts) drafts.push_back(std::move(pallet));
      }
    }
  }
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

std::string why_here(const Proposal& p, const Proposal* first) {
  const int outside = p.study.counts.outside;
  const std::string money =
      p.cost ? fmt::format("{:.2f} {} a good part", *p.cost, p.currency) : "cost open: " + p.no_cost;
  if (outside > 0)
    return fmt::format("{} finding{} outside, the first: {}; {}", outside, outside == 1 ? " is" : "s are",
                       p.study.verdict, money);
  if (first == nullptr) return fmt::format("nothing outside, and the cheapest of those: {}", money);
  return fmt::format("nothing outside; {}", money);
}

void fill_cost(Proposal& p, const plan::Plan& plan) {
  const study::PlanCost cost = study::plan_cost(plan, p.study.kept.value_or(1) * study::share_without_losses(plan));
  p.currency = cost.currency;
  if (cost.there) p.cost = cost.per_good;
  else p.no_cost = base::join(cost.missing, "; ");
}

}  // namespace

Outcome<Proposals> propose(const Scene& scene, const plan::Plan& read, const study::Data& data, int threads,
                           const std::function<void(const std::string&, double)>& progress) {
  Proposals out;
  std::vector<Draft> drafts;
  const auto typed = read_back(scene, plan::write_plan(read));  // limits and defaults as a reader sees them
  if (!typed.ok()) return typed.problems();
  make(scene, *typed, drafts, out.clashes);
  out.clashes = smallest(std::move(out.clashes));
  for (const Question& q : questions(read, scene.shop))
    if (!scene.answers.contains(q.id)) out.not_asked.push_back(q);
  if (drafts.empty()) return out;
  study::Memo memo;
  std::vector<Looked> looked;
  study::Options quick;
  quick.threads = threads;
  quick.monte_carlo = false;
  quick.bands = false;
  for (Draft& d : drafts) {
    if (progress)
      progress("looking at " + d.name, static_cast<double>(looked.size()) / static_cast<double>(drafts.size()));
    Looked l{std::move(d), {}, {}, {}};
    l.text = text_of(l.draft);
    auto plan = read_back(scene, l.text);
    if (!plan.ok()) return plan.problems();
    l.plan = std::move(plan.value());
    const auto s = study::run(l.plan, data, quick, memo);
    if (!s.ok()) return s.problems();
    l.order = order_of(*s, study::plan_cost(l.plan, study::share_without_losses(l.plan)));
    looked.push_back(std::move(l));
    ++out.looked_at;
  }
  std::stable_sort(looked.begin(), looked.end(), [](const Looked& a, const Looked& b) { return a.order < b.order; });
  std::vector<std::pair<Order, Proposal>> whole;
  std::set<std::string> names;  // of each route the best way only, while there are others
  for (const bool again : {false, true})
    for (const Looked& l : looked) {
      if (whole.size() == 3) break;
      if (!again && !names.insert(l.draft.name).second) continue;
      if (again && std::any_of(whole.begin(), whole.end(), [&](const auto& w) { return w.second.text == l.text; }))
        continue;
      if (progress) progress("studying " + l.draft.name, static_cast<double>(whole.size()) / 3);
      study::Options options;
      options.threads = threads;
      auto s = study::run(l.plan, data, options, memo);
      if (!s.ok()) return s.problems();
      Proposal p;
      p.draft = l.draft, p.text = l.text, p.study = std::move(s.value());
      fill_cost(p, l.plan);
      const Order order{p.study.counts.outside, p.study.counts.open, p.cost.value_or(INFINITY)};
      whole.emplace_back(order, std::move(p));
    }
  std::stable_sort(whole.begin(), whole.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto& [order, p] : whole) {
    p.rank = static_cast<int>(out.best.size()) + 1;
    p.why_here = why_here(p, out.best.empty() ? nullptr : &out.best.front());
    out.best.push_back(std::move(p));
  }
  return out;
}

}  // namespace fettle::begin
