// Limits of a machine from a test program and a stopwatch.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/motion/motion.h"
#include "maths/capability.h"

namespace fettle::motion {

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double rise = 3.841458820694124;  ///< 95 % point of chi squared, one degree

double& number(Limits& l, Which w) {
  switch (w) {
    case Which::acceleration:
      return l.ramp.acceleration;
    case Which::jerk:
      return l.ramp.jerk;
    case Which::path_tolerance:
      return l.path_tolerance;
    case Which::block_time:
      break;
  }
  return l.block_time;
}

/// The misfit as a function of the logarithms of what is looked for.
class Problem {
 public:
  explicit Problem(const FitInputs& in) : in_(in) {
    for (Which w : in.wanted) {
      low_.push_back(std::log(bounds(w)[0]));
      high_.push_back(std::log(bounds(w)[1]));
    }
  }
  std::size_t size() const { return low_.size(); }
  double low(std::size_t k) const { return low_[k]; }
  double high(std::size_t k) const { return high_[k]; }
  Limits limits(const std::vector<double>& x) const {
    Limits l = in_.known;
    for (std::size_t k = 0; k < x.size(); ++k) number(l, in_.wanted[k]) = std::exp(x[k]);
    return l;
  }
  /// (computed - measured)/scatter of each group; empty when it cannot be computed.
  std::vector<double> off(const std::vector<double>& x) {
    ++tries;
    std::vector<double> out;
    const Limits l = limits(x);
    for (const Timed& g : in_.groups) {
      const auto r = solve({g.moves, l});
      if (!r.ok()) return {};
      out.push_back((r->sum.total() - g.seconds) / g.scatter);
    }
    return out;
  }
  int tries = 0;

 private:
  const FitInputs& in_;
  std::vector<double> low_, high_;
};

double square(const std::vector<double>& r) {
  double s = 0;
  for (double v : r) s += v * v;
  return r.empty() ? infinite : s;
}

/// Solves the small symmetric system a x = b by elimination; false when it is singular.
bool eliminate(std::vector<std::vector<double>> a, std::vector<double> b, std::vector<double>& x) {
  const std::size_t n = b.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (!(a[i][i] > 0)) return false;
    for (std::size_t k = i + 1; k < n; ++k) {
      const double f = a[k][i] / a[i][i];
      for (std::size_t j = i; j < n; ++j) a[k][j] -= f * a[i][j];
      b[k] -= f * b[i];
    }
  }
  x.assign(n, 0);
  for (std::size_t i = n; i-- > 0;) {
    double s = b[i];
    for (std::size_t j = i + 1; j < n; ++j) s -= a[i][j] * x[j];
    x[i] = s / a[i][i];
  }
  return true;
}

struct Point {
  std::vector<double> x, r;
  double misfit = infinite;
};
Point point(Problem& p, std::vector<double> x) {
  Point out{std::move(x), {}};
  out.r = p.off(out.x);
  out.misfit = square(out.r);
  return out;
}

/// Slopes of the residuals over each free number, by steps that stay within the bounds.
std::vector<std::vector<double>> slopes(Problem& p, const Point& at, const std::vector<std::size_t>& free) {
  std::vector<std::vector<double>> out;
  for (std::size_t k : free) {
    std::vector<double> x = at.x;
    const double h = x[k] + 1e-3 <= p.high(k) ? 1e-3 : -1e-3;
    x[k] += h;
    std::vector<double> r = p.off(x);
    for (std::size_t i = 0; i < r.size(); ++i) r[i] = (r[i] - at.r[i]) / h;
    out.push_back(std::move(r));
  }
  return out;
}

/// Damped steps (Levenberg 1944, Marquardt 1963) over the numbers in `free`, each held within its bounds.
Point descend(Problem& p, Point at, const std::vector<std::size_t>& free, int steps) {
  double damp = 1e-2;
  for (int step = 0; step < steps && !free.empty() && damp < 1e8; ++step) {
    const auto j = slopes(p, at, free);
    const std::size_t n = free.size();
    std::vector<std::vector<double>> a(n, std::vector<double>(n, 0));
    std::vector<double> g(n, 0);
    for (std::size_t u = 0; u < n; ++u) {
      if (j[u].size() != at.r.size()) return at;
      for (std::size_t i = 0; i < at.r.size(); ++i) g[u] -= j[u][i] * at.r[i];
      for (std::size_t v = 0; v < n; ++v)
        for (std::size_t i = 0; i < at.r.size(); ++i) a[u][v] += j[u][i] * j[v][i];
    }
    const double before = at.misfit;
    bool better = false;
    while (!better && damp < 1e8) {
      auto damped = a;
      for (std::size_t u = 0; u < n; ++u) damped[u][u] += damp * a[u][u] + 1e-9;
      std::vector<double> dx, x = at.x;
      if (!eliminate(damped, g, dx)) return at;
      for (std::size_t u = 0; u < n; ++u)
        x[free[u]] = std::clamp(x[free[u]] + std::clamp(dx[u], -1.5, 1.5), p.low(free[u]), p.high(free[u]));
      Point next = point(p, std::move(x));
      better = next.misfit < at.misfit;
      if (better) at = std::move(next);
      damp *= better ? 0.2 : 5;
    }
    if (!(before - at.misfit > 1e-9 * (1 + before))) break;
  }
  return at;
}

std::vector<std::size_t> all_but(std::size_t n, std::size_t held) {
  std::vector<std::size_t> out;
  for (std::size_t k = 0; k < n; ++k)
    if (k != held) out.push_back(k);
  return out;
}

/// How far number k goes towards `end`, the others following, before the misfit has risen by `allowed`.
double edge(Problem& p, const Point& best, std::size_t k, double end, double allowed) {
  const auto others = all_but(p.size(), k);
  Point at = best;
  const auto misfit_at = [&](double xk, Point& from) {
    std::vector<double> x = from.x;
    x[k] = xk;
    Point moved = descend(p, point(p, std::move(x)), others, 8);
    const double m = moved.misfit;
    if (m - best.misfit <= allowed) from = std::move(moved);
    return m - best.misfit;
  };
  double inside = best.x[k], step = end > inside ? 0.05 : -0.05, outside = inside;
  for (;;) {
    outside = inside + step;
    if ((end - outside) * step <= 0) outside = end;
    if (misfit_at(outside, at) > allowed) break;
    inside = outside;
    if (inside == end) return end;
    step *= 2;
  }
  for (int i = 0; i < 12; ++i) {
    const double middle = 0.5 * (inside + outside);
    (misfit_at(middle, at) > allowed ? outside : inside) = middle;
  }
  return outside;
}

/// Start values spread over the bounds, those known first.
std::vector<std::vector<double>> starts(const Problem& p, const FitInputs& in) {
  std::vector<std::vector<double>> out(1);
  Limits known = in.known;
  for (std::size_t k = 0; k < p.size(); ++k) {
    const double v = number(known, in.wanted[k]);
    out[0].push_back(v > 0 && std::isfinite(v) ? std::clamp(std::log(v), p.low(k), p.high(k))
                                               : 0.5 * (p.low(k) + p.high(k)));
  }
  for (int s = 1; s <= 15; ++s) {
    std::vector<double> x;
    for (std::size_t k = 0; k < p.size(); ++k) {
      // Points of an additive sequence: even over the box, the same every time.
      constexpr double ratio[] = {0.8566748838545029, 0.7338918566271260, 0.6287067210378087, 0.5385972572236101};
      const double u = std::fmod(0.5 + s * ratio[k % 4], 1.0);
      x.push_back(p.low(k) + u * (p.high(k) - p.low(k)));
    }
    out.push_back(std::move(x));
  }
  return out;
}

Problems refused(const FitInputs& in) {
  Problems out;
  if (in.wanted.empty()) out.push_back(bad("nothing to fit"));
  if (in.groups.size() < in.wanted.size())
    out.push_back(bad(fmt::format("{} timed groups for {} numbers", in.groups.size(), in.wanted.size()), {},
                      "at least as many groups as numbers"));
  for (std::size_t i = 0; i < in.groups.size(); ++i) {
    const Timed& g = in.groups[i];
    if (!(g.seconds > 0) || !std::isfinite(g.seconds))
      out.push_back(
          bad(fmt::format("time of group {} out of range", i + 1), base::shortest(g.seconds), "more than 0 s"));
    if (!(g.scatter > 0) || !std::isfinite(g.scatter))
      out.push_back(
          bad(fmt::format("scatter of group {} out of range", i + 1), base::shortest(g.scatter), "more than 0 s"));
    if (g.moves.empty()) out.push_back(bad(fmt::format("group {} has no moves", i + 1)));
  }
  return out;
}

}  // namespace

std::array<double, 2> bounds(Which w) {
  switch (w) {
    case Which::acceleration:
      return {0.1, 50};
    case Which::jerk:
      return {1, 5000};
    case Which::path_tolerance:
      return {1e-6, 1e-3};
    case Which::block_time:
      break;
  }
  return {1e-5, 0.05};
}

std::string word(Which w) {
  constexpr const char* words[] = {"acceleration", "jerk", "path tolerance", "block time"};
  return words[static_cast<int>(w)];
}

Outcome<FitResult> fit(const FitInputs& in) {
  if (Problems bad_ones = refused(in); !bad_ones.empty()) return bad_ones;
  Problem p(in);
  const auto every = all_but(p.size(), p.size());
  const auto from = starts(p, in);
  for (const Timed& g : in.groups)
    if (const auto r = solve({g.moves, p.limits(from[0])}); !r.ok()) return r.problems();
  std::vector<Point> points;
  for (const auto& x : from) points.push_back(point(p, x));
  std::stable_sort(points.begin() + 1, points.end(),
                   [](const Point& a, const Point& b) { return a.misfit < b.misfit; });
  points.resize(6);
  Point best;
  for (Point& start : points) {
    Point end = descend(p, std::move(start), every, 60);
    if (end.misfit < best.misfit) best = std::move(end);
  }
  FitResult out;
  out.limits = p.limits(best.x);
  out.misfit = best.misfit;
  out.free = static_cast<int>(in.groups.size()) - static_cast<int>(in.wanted.size());
  // Where the groups scatter more than the stopwatch is said to, the bands widen with them.
  const double wider = out.free > 0 ? std::max(1.0, best.misfit / out.free) : 1;
  out.fits = out.free > 0 && best.misfit <= maths::chi_square_quantile(0.99, out.free);
  for (std::size_t k = 0; k < p.size(); ++k) {
    Fitted f{in.wanted[k], std::exp(best.x[k])};
    const double low = edge(p, best, k, p.low(k), rise * wider), high = edge(p, best, k, p.high(k), rise * wider);
    f.low = std::exp(low);
    f.high = std::exp(high);
    f.fixed = low > p.low(k) && high < p.high(k) && f.high < 4 * f.low;
    out.numbers.push_back(f);
  }
  for (std::size_t i = 0; i < in.groups.size(); ++i)
    out.seconds.push_back(in.groups[i].seconds + best.r[i] * in.groups[i].scatter);
  out.tries = p.tries;
  return out;
}

}  // namespace fettle::motion
