#include "calc/timing/unattended.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/text.h"

namespace fettle::timing {

namespace {

constexpr int most_parts = 100000;

/// -log of the chance to reach an age, in parts, without wearing out.
struct Wear {
  double scale = 1, shape = 1;
  explicit Wear(const EdgeRisk& t) : shape(weibull_shape(t.scatter)) { scale = t.life / std::tgamma(1 + 1 / shape); }
  double hazard(double age) const { return std::pow(age / scale, shape); }
};

/// -log of lasts() for 0 .. n parts. A part that an edge has next to no chance to make counts `certain`.
std::vector<double> summed_hazard(const EdgeRisk& t, int n) {
  constexpr double certain = 700;  // exp(-700) is next to nothing, and sums of it stay numbers
  const Wear wear(t);
  const double sudden = -std::log1p(-t.break_chance) / t.planned;
  std::vector<double> out{0};
  out.reserve(static_cast<std::size_t>(n) + 1);
  int age = t.used, spares = t.spares;
  double before = wear.hazard(age);
  for (int i = 0; i < n; ++i) {
    if (age >= t.planned && spares > 0) {
      age = 0;
      before = 0;
      --spares;
    }
    const double after = wear.hazard(++age), worn = after - before;
    out.push_back(out.back() + sudden + (worn < certain ? worn : certain));
    before = after;
  }
  return out;
}
int planned_left(const EdgeRisk& t) {
  const long long left = std::max(0, t.planned - t.used) + static_cast<long long>(t.spares) * t.planned;
  return static_cast<int>(std::min<long long>(left, most_parts));
}

Problems problems_of(const UnattendedInputs& in) {
  Problems out;
  const auto must = [&](bool good, const std::string& what, const std::string& found, const std::string& expected) {
    if (!good) out.push_back(bad(what, found, expected));
  };
  const auto money = [&](const std::string& what, double x) {
    must(x >= 0 && x <= 1e12, what, base::shortest(x), "0 or more");
  };
  must(!in.tools.empty() && in.tools.size() <= 1000, "tools that run", std::to_string(in.tools.size()), "1 to 1000");
  for (const EdgeRisk& t : in.tools) {
    const std::string name = t.name.empty() ? "a tool" : t.name;
    must(t.life > 0 && t.life <= 1e9, name + ": parts an edge lasts in the mean", base::shortest(t.life), "above 0");
    must(t.scatter >= 0.02 && t.scatter <= 1.5, name + ": scatter of its life", base::shortest(t.scatter),
         "0.02 to 1.5");
    must(t.planned >= 1 && t.planned <= 1000000000, name + ": parts after which it is changed",
         std::to_string(t.planned), "1 or more");
    must(t.used >= 0 && t.used <= 1000000000, name + ": parts it has made", std::to_string(t.used), "0 or more");
    must(t.break_chance >= 0 && t.break_chance < 1, name + ": chance of a break", base::shortest(t.break_chance),
         "0 or more, below 1");
    must(t.spares >= 0 && t.spares <= 1000, name + ": spares", std::to_string(t.spares), "0 to 1000");
  }
  must(in.most_risk > 0 && in.most_risk < 1, "accepted chance", base::shortest(in.most_risk), "between 0 and 1");
  must(in.loaded >= 0 && in.loaded <= most_parts, "parts loaded", std::to_string(in.loaded),
       fmt::format("0 to {}", most_parts));
  must(in.per_pallet >= 1 && in.per_pallet <= most_parts, "parts on a pallet", std::to_string(in.per_pallet),
       "1 or more");
  must(in.part_time >= 0 && in.part_time <= 1e9, "time of a part", base::shortest(in.part_time), "0 s or more");
  must(in.found_after >= 0 && in.found_after <= most_parts, "parts before a failure is found",
       std::to_string(in.found_after), "0 (never) or more");
  money("gain of a part", in.gain);
  money("cost of a bad part", in.bad_part);
  money("damage of a failure", in.damage);
  return out;
}

/// Expected good and bad parts and money of a stretch of every length 0 .. n, from the chance to last that long.
struct Expected {
  std::vector<double> good{0}, bad{0}, result{0};
  Expected(const UnattendedInputs& in, const std::vector<double>& last) {
    const int n = static_cast<int>(last.size()) - 1;
    for (int i = 1; i <= n; ++i) {
      const double here = last[static_cast<std::size_t>(i)], before = last[static_cast<std::size_t>(i) - 1];
      const bool some_found = in.found_after > 0 && i > in.found_after;
      const double from = some_found ? last[static_cast<std::size_t>(i - in.found_after)] : 1;
      good.push_back(good.back() + here);
      bad.push_back(bad.back() + from - here);
      result.push_back(result.back() + in.gain * here - in.bad_part * (from - here) - in.damage * (before - here));
    }
  }
};

/// Longest stretch of at most n parts whose summed hazard stays within the accepted chance.
int within(const std::vector<double>& hazard, double most_risk) {
  const double limit = -std::log1p(-most_risk) * (1 + 1e-12);
  int n = 0;
  while (n + 1 < static_cast<int>(hazard.size()) && hazard[static_cast<std::size_t>(n) + 1] <= limit) ++n;
  return n;
}

std::vector<double> add(std::vector<double> a, const std::vector<double>& b) {
  for (std::size_t i = 0; i < a.size(); ++i) a[i] += b[i];
  return a;
}
std::vector<double> chances(const std::vector<double>& hazard) {
  std::vector<double> out;
  for (double h : hazard) out.push_back(std::exp(-h));
  return out;
}

/// The limits that edges, risk and money set, from the summed hazard of all tools over 0 .. loaded parts.
struct Stretch {
  Expected expected;
  int by_edges = 0, by_risk = 0, by_money = 0, parts = 0;
  Stretch(const UnattendedInputs& in, const std::vector<double>& hazard, int edges)
      : expected(in, chances(hazard)), by_edges(edges), by_risk(within(hazard, in.most_risk)), by_money(in.loaded) {
    const std::vector<double>& r = expected.result;
    if (in.gain > 0 || in.bad_part > 0 || in.damage > 0)
      by_money = static_cast<int>(std::max_element(r.begin(), r.end()) - r.begin());
    parts = std::min(std::min(by_edges, in.loaded), std::min(by_risk, by_money));
  }
};

/// The stretch when tool t, and no other, is new.
int parts_if_new(const UnattendedInputs& in, const std::vector<std::vector<double>>& each, std::size_t t) {
  EdgeRisk fresh = in.tools[t];
  fresh.used = 0;
  std::vector<double> hazard = summed_hazard(fresh, in.loaded);
  int edges = planned_left(fresh);
  for (std::size_t k = 0; k < each.size(); ++k) {
    if (k == t) continue;
    hazard = add(std::move(hazard), each[k]);
    edges = std::min(edges, planned_left(in.tools[k]));
  }
  return Stretch(in, hazard, edges).parts;
}

}  // namespace

double weibull_shape(double scatter) {
  if (!(scatter >= 0.02 && scatter <= 1.5)) return std::nan("");
  const auto variance = [](double b) {
    const double g1 = std::tgamma(1 + 1 / b);
    return std::tgamma(1 + 2 / b) / (g1 * g1) - 1;
  };
  double low = 0.5, high = 100;  // scatter 2.24 and 0.0127
  for (int i = 0; i < 100; ++i) {
    const double middle = (low + high) / 2;
    (variance(middle) > scatter * scatter ? low : high) = middle;
  }
  return (low + high) / 2;
}

double lasts(const EdgeRisk& tool, int parts) { return std::exp(-summed_hazard(tool, parts).back()); }

Outcome<UnattendedResult> unattended(const UnattendedInputs& in) {
  Problems problems = problems_of(in);
  if (!problems.empty()) return problems;
  std::vector<std::vector<double>> each;
  std::vector<double> hazard(static_cast<std::size_t>(in.loaded) + 1, 0);
  int edges = most_parts;
  for (const EdgeRisk& t : in.tools) {
    each.push_back(summed_hazard(t, in.loaded));
    hazard = add(std::move(hazard), each.back());
    edges = std::min(edges, planned_left(t));
  }
  const Stretch s(in, hazard, edges);
  UnattendedResult out;
  out.by_risk = s.by_risk;
  out.by_edges = s.by_edges;
  out.by_money = s.by_money;
  out.loaded = in.loaded;
  out.parts = s.parts;
  out.pallets = s.parts / in.per_pallet;
  out.limit = s.parts == in.loaded    ? "loaded"
              : s.parts == s.by_edges ? "edges"
              : s.parts == s.by_risk  ? "risk"
                                      : "money";
  const std::size_t n = static_cast<std::size_t>(s.parts);
  out.time = in.part_time * s.parts;
  out.chance = -std::expm1(-hazard[n]);
  out.chance_loaded = -std::expm1(-hazard.back());
  out.good = s.expected.good[n];
  out.bad = s.expected.bad[n];
  out.result = s.expected.result[n];
  for (std::size_t t = 0; t < in.tools.size(); ++t) {
    EdgeShare e;
    e.name = in.tools[t].name;
    e.chance = -std::expm1(-each[t][n]);
    e.parts_left = planned_left(in.tools[t]);
    e.parts_if_new = in.tools[t].used == 0 ? s.parts : parts_if_new(in, each, t);
    out.tools.push_back(std::move(e));
  }
  std::stable_sort(out.tools.begin(), out.tools.end(),
                   [](const EdgeShare& a, const EdgeShare& b) { return a.chance > b.chance; });
  return out;
}

std::string unattended_caution() {
  return "This counts edges only. A machine alone can burn (oil, fine swarf, a pump run dry), flood, or crush what "
         "comes "
         "to it: whether it may run alone, and with which guards, fire protection and alarms, is decided by local "
         "codes, "
         "the insurer, the machine's maker and licensed practice.";
}

}  // namespace fettle::timing
