#include "calc/tolerance/stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "maths/capability.h"
#include "maths/random.h"

namespace fettle::tolerance {

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();
constexpr double eps = std::numeric_limits<double>::epsilon();
const double root3 = std::sqrt(3.0);

bool uniform(const StackTerm& t) { return t.spread == StackTerm::Spread::uniform; }
double sigma(const StackTerm& t) {
  return std::fabs(t.sign) * (uniform(t) ? t.tolerance / root3 : t.tolerance / t.sigmas);
}
double mean_of(const StackTerm& t) { return t.sign * (t.nominal + t.shift); }

void check(const std::vector<StackTerm>& terms, Problems& problems) {
  if (terms.empty()) problems.push_back(bad("a stack needs at least one dimension"));
  for (const StackTerm& t : terms) {
    const auto refuse = [&](bool good, const char* what, double found, const char* expected) {
      if (!good) problems.push_back(bad(t.name + ": " + what, base::shortest(found), expected));
    };
    refuse(std::isfinite(t.sign) && t.sign != 0, "sign", t.sign, "+1, -1 or another factor, not 0");
    refuse(std::isfinite(t.nominal), "nominal", t.nominal, "a length");
    refuse(std::isfinite(t.tolerance) && t.tolerance >= 0, "tolerance", t.tolerance, "half a width, 0 or more");
    refuse(uniform(t) || (std::isfinite(t.sigmas) && t.sigmas > 0), "sigmas in the tolerance", t.sigmas, "above 0");
    refuse(std::isfinite(t.shift), "shift of the mean", t.shift, "a length");
    refuse(t.wander >= 0 && t.wander <= 1, "share by which the mean wanders", t.wander, "0 to 1");
  }
}

/// The sum without its mean: half widths of the uniform terms, and what is normal.
struct Parts {
  std::vector<double> half;
  double s = 0, mean = 0;
};
Parts parts_of(const std::vector<StackTerm>& terms) {
  Parts p;
  double variance = 0;
  for (const StackTerm& t : terms) {
    p.mean += mean_of(t);
    if (t.tolerance == 0) continue;
    if (uniform(t)) p.half.push_back(std::fabs(t.sign) * t.tolerance);
    else variance += sigma(t) * sigma(t);
  }
  p.s = std::sqrt(variance);
  std::sort(p.half.begin(), p.half.end(), [](double a, double b) { return a > b; });
  return p;
}

/// E[max(0, y - s N)^n] / n! and a bound of the size of what was added and taken away on the way.
struct Moment {
  double value = 0, size = 0;
};
Moment smoothed_power(double y, double s, std::size_t n) {
  if (!(s > 0)) {
    if (!(y > 0)) return {n == 0 && y == 0 ? 1.0 : 0.0, 0};
    double v = 1;
    for (std::size_t i = 1; i <= n; ++i) v *= y / static_cast<double>(i);
    return {v, v};
  }
  const double density = std::exp(-0.5 * (y / s) * (y / s)) / (s * std::sqrt(2 * std::acos(-1.0)));
  Moment before{density, density}, now{maths::normal_cdf(y / s), 0};
  now.size = now.value;
  for (std::size_t i = 1; i <= n; ++i) {
    const auto k = static_cast<double>(i);
    const Moment next{(y * now.value + s * s * before.value) / k, (std::fabs(y) * now.size + s * s * before.size) / k};
    before = now;
    now = next;
  }
  return now;
}

ExactShare formula(const Parts& p, double x) {
  const std::size_t n = p.half.size();
  const double y = x - p.mean;
  if (n > 16) return {std::numeric_limits<double>::quiet_NaN(), inf};
  double width = 1;
  for (const double h : p.half) width *= 2 * h;
  double sum = 0, size = 0;
  for (std::size_t corner = 0; corner < (std::size_t{1} << n); ++corner) {
    double at = y;
    bool negative = false;
    for (std::size_t i = 0; i < n; ++i) {
      const bool minus = (corner >> i) & 1;
      at += minus ? -p.half[i] : p.half[i];
      negative = negative != minus;
    }
    const Moment m = smoothed_power(at, p.s, n);
    sum += negative ? -m.value : m.value;
    size += m.size;
  }
  // Each summand carries some roundings of its own and those of the corner it stands at.
  return {std::clamp(sum / width, 0.0, 1.0), 8 * static_cast<double>(n + 2) * eps * size / width};
}

double sinc(double x) { return std::fabs(x) < 1e-5 ? 1 - x * x / 6 : std::sin(x) / x; }

ExactShare inversion(const Parts& p, double x) {
  double reach = 0;
  for (const double h : p.half) reach += h;
  const double y = x - p.mean;
  const double tails = reach + 9 * p.s;  // beyond this less than 1e-18 of a normal, nothing of the uniforms
  if (y <= -tails) return {0, 1e-18};
  if (y >= tails) return {1, 1e-18};
  // Shares beyond y -+ the period are what a finite step leaves out: none of them holds anything.
  const double step = std::acos(-1.0) / tails;
  const double pi = std::acos(-1.0);
  double sum = 0.5, size = 0.5;
  constexpr long long most = 4'000'000;
  double cut = inf;
  for (long long k = 0; k < most; ++k) {
    const double u = (static_cast<double>(k) + 0.5) * step;
    double phi = std::exp(-0.5 * u * u * p.s * p.s), bound = phi;
    for (const double h : p.half) {
      phi *= sinc(u * h);
      bound *= std::min(1.0, 1 / (u * h));
    }
    const double term = phi * std::sin(u * y) / (pi * (static_cast<double>(k) + 0.5));
    sum += term;
    size += std::fabs(term);
    // The rest of the series, by the decay that is sure from here on: u^-n of the n uniforms past their corner, and
    // exp(-s^2 u^2 / 2) falls at least as fast as u^-(s^2 u^2) does.
    std::size_t falling = 0;
    for (const double h : p.half) falling += u * h > 1 ? 1 : 0;
    const double normal_decay = u * u * p.s * p.s;
    const double order = static_cast<double>(falling) + normal_decay;
    if (order > 0) {
      cut = bound / (pi * order);
      if (cut < 1e-16) break;
    }
  }
  return {std::clamp(sum, 0.0, 1.0), cut + 4 * eps * size * std::sqrt(1 + size) + 1e-18};
}

ExactShare exact_below(const Parts& p, double x) {
  if (p.half.empty() && !(p.s > 0)) return {x > p.mean ? 1.0 : 0.0, 0};
  const ExactShare a = formula(p, x);
  if (a.error < 1e-13) return a;
  const ExactShare b = inversion(p, x);
  return a.error <= b.error ? a : b;
}

void sample(const StackInputs& in, StackResult& r) {
  for (long long i = 0; i < in.samples; ++i) {
    double sum = 0;
    for (std::size_t j = 0; j < in.terms.size(); ++j) {
      const StackTerm& t = in.terms[j];
      const auto item = static_cast<std::uint64_t>(i);
      const auto d = static_cast<std::uint32_t>(j);
      const double draw = uniform(t) ? (2 * maths::uniform(in.seed, item, d) - 1) * t.tolerance
                                     : maths::normal(in.seed, item, d) * t.tolerance / t.sigmas;
      sum += mean_of(t) + t.sign * draw;
    }
    const bool inside = (!in.lower || sum >= *in.lower) && (!in.upper || sum <= *in.upper);
    r.sampled_outside += inside ? 0 : 1;
  }
  r.sampled = maths::clopper_pearson(r.sampled_outside, in.samples, in.confidence);
}

/// Share of the target that terms which cannot be changed use up: plain or squared.
double used_up(const std::vector<StackTerm>& terms, Adding adding) {
  double used = 0;
  for (const StackTerm& t : terms) {
    const double r = std::fabs(t.sign) * t.tolerance;
    if (t.fixed) used += adding == Adding::worst_case ? r : r * r;
  }
  return used;
}
Problem no_room(double used, double target, Adding adding) {
  const double half = adding == Adding::worst_case ? used : std::sqrt(used);
  return bad("the tolerances that are fixed use the target up", "± " + base::shortest(half),
             "less than ± " + base::shortest(target));
}

}  // namespace

ExactShare share_below(const std::vector<StackTerm>& terms, double x) { return exact_below(parts_of(terms), x); }
ExactShare share_below_by_formula(const std::vector<StackTerm>& terms, double x) { return formula(parts_of(terms), x); }
ExactShare share_below_by_inversion(const std::vector<StackTerm>& terms, double x) {
  return inversion(parts_of(terms), x);
}

Outcome<StackResult> stack(const StackInputs& in) {
  Problems problems;
  check(in.terms, problems);
  for (const auto& limit : {in.lower, in.upper})
    if (limit && !std::isfinite(*limit))
      problems.push_back(bad("limit of the sum", base::shortest(*limit), "a length"));
  if (in.lower && in.upper && !(*in.lower < *in.upper))
    problems.push_back(bad("the upper limit of the sum must lie above the lower one", base::shortest(*in.upper)));
  if (in.samples < 0 || in.samples > 100'000'000)
    problems.push_back(bad("number of sampled sums", std::to_string(in.samples), "0 to 100 million"));
  if (!(in.confidence > 0 && in.confidence < 1))
    problems.push_back(bad("confidence", base::shortest(in.confidence), "between 0 and 1"));
  if (!problems.empty()) return problems;

  StackResult r;
  double squares = 0, wander = 0, rest = 0, variance = 0;
  for (const StackTerm& t : in.terms) {
    const double reach = std::fabs(t.sign) * t.tolerance, s = sigma(t);
    r.nominal += t.sign * t.nominal;
    r.mean += mean_of(t);
    r.worst += reach;
    squares += reach * reach;
    wander += t.wander * reach;
    rest += (1 - t.wander) * reach * (1 - t.wander) * reach;
    variance += s * s;
    r.shares.push_back({t.name, s, reach, 0});
  }
  for (StackShare& s : r.shares) s.variance = variance > 0 ? s.s * s.s / variance : 0;
  r.worst_low = r.nominal - r.worst;
  r.worst_high = r.nominal + r.worst;
  r.rss = std::sqrt(squares);
  r.wandering = wander + std::sqrt(rest);
  r.s = std::sqrt(variance);
  const Parts p = parts_of(in.terms);
  const maths::ShareOutside normal =
      maths::share_outside({in.lower.value_or(-inf), in.upper.value_or(inf), r.mean, r.s});
  if (in.lower) {
    r.below = exact_below(p, *in.lower);
    r.normal_below = normal.below;
  }
  if (in.upper) {
    // The share above is the share below of the mirrored sum: small shares keep their digits.
    Parts mirrored = p;
    mirrored.mean = -p.mean;
    r.above = exact_below(mirrored, -*in.upper);
    r.normal_above = normal.above;
  }
  if (in.samples > 0) sample(in, r);
  return r;
}

Outcome<ScaledStack> allocate_in_proportion(const std::vector<StackTerm>& terms, double target, Adding adding) {
  Problems problems;
  check(terms, problems);
  if (!(target > 0) || !std::isfinite(target))
    problems.push_back(bad("target", base::shortest(target), "half a width above 0"));
  if (!problems.empty()) return problems;
  const double used = used_up(terms, adding);
  double free = 0;
  for (const StackTerm& t : terms) {
    const double r = std::fabs(t.sign) * t.tolerance;
    if (!t.fixed) free += adding == Adding::worst_case ? r : r * r;
  }
  if (!(free > 0)) return bad("no tolerance here can be changed", {}, "at least one that is not fixed and not 0");
  const double room = (adding == Adding::worst_case ? target : target * target) - used;
  if (!(room > 1e-12 * (used + room))) return no_room(used, target, adding);
  ScaledStack out;
  out.factor = adding == Adding::worst_case ? room / free : std::sqrt(room / free);
  for (const StackTerm& t : terms) out.tolerances.push_back(t.fixed ? t.tolerance : out.factor * t.tolerance);
  return out;
}

Outcome<CheapestStack> allocate_cheapest(const std::vector<StackTerm>& terms, const std::vector<ToleranceCost>& costs,
                                         double target, Adding adding) {
  Problems problems;
  check(terms, problems);
  if (!(target > 0) || !std::isfinite(target))
    problems.push_back(bad("target", base::shortest(target), "half a width above 0"));
  if (costs.size() != terms.size())
    problems.push_back(bad("one cost for each dimension", std::to_string(costs.size()), std::to_string(terms.size())));
  bool any = false;
  for (std::size_t i = 0; i < std::min(terms.size(), costs.size()); ++i) {
    if (terms[i].fixed) continue;
    any = true;
    const ToleranceCost& c = costs[i];
    const auto refuse = [&](bool good, const char* what, double found, const char* expected) {
      if (!good) problems.push_back(bad(terms[i].name + ": " + what, base::shortest(found), expected));
    };
    refuse(std::isfinite(c.base), "cost", c.base, "an amount of money");
    refuse(std::isfinite(c.scale) && c.scale > 0, "cost scale", c.scale, "above 0");
    refuse(std::isfinite(c.power) && c.power > 0, "cost power", c.power, "above 0");
    refuse(std::isfinite(c.least) && c.least >= 0, "smallest tolerance", c.least, "0 (none) or a length");
    refuse(std::isfinite(c.most) && c.most >= 0 && (c.most == 0 || c.most > c.least), "largest tolerance", c.most,
           "0 (none) or a length above the smallest");
  }
  if (problems.empty() && !any) problems.push_back(bad("no tolerance here can be changed"));
  if (!problems.empty()) return problems;

  const bool plain = adding == Adding::worst_case;
  const double used = used_up(terms, adding);
  const double room = (plain ? target : target * target) - used;
  if (!(room > 1e-12 * (used + room))) return no_room(used, target, adding);

  // At the optimum the cost that a term saves per unit of target it takes is the same, `price`, unless a bound holds
  // it: power scale / t^(power+1) = price |sign|, or = 2 price sign^2 t.
  const auto tolerance_at = [&](std::size_t i, double price) {
    const ToleranceCost& c = costs[i];
    const double a = std::fabs(terms[i].sign);
    double t = plain ? std::pow(c.power * c.scale / (price * a), 1 / (c.power + 1))
                     : std::pow(c.power * c.scale / (2 * price * a * a), 1 / (c.power + 2));
    if (c.most > 0) t = std::min(t, c.most);
    return std::max(t, c.least);
  };
  const auto taken = [&](double price) {
    double sum = 0;
    for (std::size_t i = 0; i < terms.size(); ++i) {
      if (terms[i].fixed) continue;
      const double r = std::fabs(terms[i].sign) * tolerance_at(i, price);
      sum += plain ? r : r * r;
    }
    return sum;
  };
  double least = 0, most = 0;
  for (std::size_t i = 0; i < terms.size(); ++i) {
    if (terms[i].fixed) continue;
    const double a = std::fabs(terms[i].sign), l = a * costs[i].least, m = costs[i].most > 0 ? a * costs[i].most : inf;
    least += plain ? l : l * l;
    most += plain ? m : m * m;
  }
  if (!(least <= room))
    return bad("not even the smallest tolerances hold the target", base::shortest(plain ? least : std::sqrt(least)),
               "± " + base::shortest(plain ? room : std::sqrt(room)) + " left by what is fixed");
  CheapestStack out;
  double low = 1e-300, high = 1e300;  // price: at a low price tolerances are wide
  if (!(most > room)) {
    out.price = 0;
  } else {
    for (int i = 0; i < 4000 && high / low > 1 + 2 * eps; ++i) {
      const double middle = std::sqrt(low) * std::sqrt(high);
      if (middle <= low || middle >= high) break;
      (taken(middle) > room ? low : high) = middle;
    }
    out.price = high;
  }
  double sum = 0, worst = 0;
  for (std::size_t i = 0; i < terms.size(); ++i) {
    if (terms[i].fixed) {
      out.tolerances.push_back(terms[i].tolerance);
      continue;
    }
    const ToleranceCost& c = costs[i];
    const double t = out.price > 0 ? tolerance_at(i, out.price) : c.most;
    out.tolerances.push_back(t);
    out.cost += c.base + c.scale / std::pow(t, c.power);
    const double a = std::fabs(terms[i].sign);
    sum += plain ? a * t : a * t * a * t;
    const double saves = c.power * c.scale / std::pow(t, c.power + 1), takes = out.price * (plain ? a : 2 * a * a * t);
    const bool at_least = t <= c.least, at_most = c.most > 0 && t >= c.most;
    const double off = (saves - takes) / std::max(saves, takes);
    worst = std::max(worst, at_least && off < 0 ? 0 : at_most && off > 0 ? 0 : std::fabs(off));
  }
  const bool clamped = out.price > 0 && taken(out.price) < room * (1 - 1e-9);
  out.residual = std::max({worst, (sum - room) / room, clamped ? 1.0 : 0.0});
  if (!(out.residual < 1e-9)) return ours("the cheapest allocation failed its own check");
  return out;
}

}  // namespace fettle::tolerance
