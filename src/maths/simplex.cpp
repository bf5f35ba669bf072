#include "maths/simplex.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace fettle::maths {
namespace {

using Status = LinearAnswer::Status;
using std::size_t;
const double inf = LinearProgram::infinity;
constexpr double feasible_tol =
    1e-10;  // in scaled numbers, where the largest coefficient of a row and column is about 1
constexpr double cost_tol = 1e-10;
constexpr double pivot_tol = 1e-9;

/// The power of two next below |x|: scaling by it changes no digit.
double power_of_two(double x) { return x > 0 && std::isfinite(x) ? std::ldexp(1.0, std::ilogb(x)) : 1.0; }

/// Variables 0..n-1 are the columns, n..n+m-1 the rows' values a.x. All are bounded; a row's bounds hold its b.
struct Dictionary {
  size_t n = 0, m = 0;
  std::vector<double> low, high, value;  // by variable
  std::vector<size_t> outside, inside;   // variable of each dictionary column (nonbasic) and row (basic)
  std::vector<double> t;                 // m x n: inside[i] = sum_j t(i,j) outside[j]
  std::vector<double> price;             // n: objective = sum_j price[j] outside[j]
  std::vector<double> row_scale, column_scale;
  int pivots = 0;

  double& at(size_t i, size_t j) { return t[i * n + j]; }
  double at(size_t i, size_t j) const { return t[i * n + j]; }
};

std::string refusal(const LinearProgram& p) {
  const size_t n = p.cost.size();
  if ((!p.lower.empty() && p.lower.size() != n) || (!p.upper.empty() && p.upper.size() != n))
    return "bounds and costs differ in number";
  for (double c : p.cost)
    if (!std::isfinite(c)) return "a cost is not a finite number";
  for (size_t j = 0; j < n; ++j) {
    const double l = p.lower.empty() ? 0.0 : p.lower[j], u = p.upper.empty() ? inf : p.upper[j];
    if (!(l <= u) || l == inf || u == -inf) return "a lower bound is not below its upper bound";
  }
  for (const LinearRow& r : p.rows) {
    if (r.a.size() != n) return "a row has another number of coefficients than there are columns";
    if (!std::isfinite(r.b)) return "a right-hand side is not a finite number";
    for (double a : r.a)
      if (!std::isfinite(a)) return "a coefficient is not a finite number";
  }
  return {};
}

double row_low(const LinearRow& r) { return r.sense == LinearRow::Sense::at_most ? -inf : r.b; }
double row_high(const LinearRow& r) { return r.sense == LinearRow::Sense::at_least ? inf : r.b; }
double column_low(const LinearProgram& p, size_t j) { return p.lower.empty() ? 0.0 : p.lower[j]; }
double column_high(const LinearProgram& p, size_t j) { return p.upper.empty() ? inf : p.upper[j]; }

Dictionary build(const LinearProgram& p) {
  Dictionary d;
  d.n = p.cost.size();
  d.m = p.rows.size();
  d.row_scale.assign(d.m, 1.0);
  d.column_scale.assign(d.n, 1.0);
  for (size_t j = 0; j < d.n; ++j) {
    double largest = 0;
    for (const LinearRow& r : p.rows) largest = std::max(largest, std::fabs(r.a[j]));
    d.column_scale[j] = 1 / power_of_two(largest);
  }
  d.t.assign(d.m * d.n, 0.0);
  d.price.assign(d.n, 0.0);
  for (size_t i = 0; i < d.m; ++i) {
    double largest = 0;
    for (size_t j = 0; j < d.n; ++j) largest = std::max(largest, std::fabs(p.rows[i].a[j] * d.column_scale[j]));
    d.row_scale[i] = 1 / power_of_two(largest);
    for (size_t j = 0; j < d.n; ++j) d.at(i, j) = p.rows[i].a[j] * d.column_scale[j] * d.row_scale[i];
  }
  d.low.resize(d.n + d.m);
  d.high.resize(d.n + d.m);
  d.value.assign(d.n + d.m, 0.0);
  for (size_t j = 0; j < d.n; ++j) {
    d.outside.push_back(j);
    d.low[j] = column_low(p, j) / d.column_scale[j];
    d.high[j] = column_high(p, j) / d.column_scale[j];
    d.value[j] = d.low[j] > -inf
                     ? (d.high[j] < inf && std::fabs(d.high[j]) < std::fabs(d.low[j]) ? d.high[j] : d.low[j])
                     : (d.high[j] < inf ? d.high[j] : 0.0);
    d.price[j] = (p.maximise ? -p.cost[j] : p.cost[j]) * d.column_scale[j];
  }
  double largest = 0;
  for (double c : d.price) largest = std::max(largest, std::fabs(c));
  const double cost_scale = 1 / power_of_two(largest);
  for (double& c : d.price) c *= cost_scale;
  for (size_t i = 0; i < d.m; ++i) {
    const size_t v = d.n + i;
    d.inside.push_back(v);
    d.low[v] = row_low(p.rows[i]) * d.row_scale[i];
    d.high[v] = row_high(p.rows[i]) * d.row_scale[i];
    for (size_t j = 0; j < d.n; ++j) d.value[v] += d.at(i, j) * d.value[j];
  }
  return d;
}

double slack_of(double bound) { return feasible_tol * (1 + std::fabs(bound)); }
/// -1: below its lower bound, +1: above its upper bound, 0: within.
int violation(const Dictionary& d, size_t v) {
  if (d.value[v] < d.low[v] - slack_of(d.low[v])) return -1;
  if (d.value[v] > d.high[v] + slack_of(d.high[v])) return 1;
  return 0;
}

/// Gradient of the sum of violations along the nonbasic variables; false when nothing is violated.
bool violation_gradient(const Dictionary& d, std::vector<double>& g) {
  g.assign(d.n, 0.0);
  bool any = false;
  for (size_t i = 0; i < d.m; ++i) {
    const int s = violation(d, d.inside[i]);
    if (s == 0) continue;
    any = true;
    for (size_t j = 0; j < d.n; ++j) g[j] += s * d.at(i, j);
  }
  return any;
}

/// The column to bring in: index or n. `direction` is +1 or -1.
size_t entering(const Dictionary& d, const std::vector<double>& gradient, bool bland, int& direction) {
  size_t best = d.n;
  double size = cost_tol;
  for (size_t j = 0; j < d.n; ++j) {
    const size_t v = d.outside[j];
    const double g = gradient[j];
    if (d.low[v] == d.high[v]) continue;
    const bool up = g < -cost_tol && d.value[v] < d.high[v];
    const bool down = g > cost_tol && d.value[v] > d.low[v];
    if (!up && !down) continue;
    if (bland) {
      if (best == d.n || v < d.outside[best]) {
        best = j;
        direction = up ? 1 : -1;
      }
    } else if (std::fabs(g) > size) {
      size = std::fabs(g);
      best = j;
      direction = up ? 1 : -1;
    }
  }
  return best;
}

struct Step {
  double length = inf;
  size_t row = 0;     // basic row that blocks, or m: the entering variable's own other bound, or none
  double target = 0;  // value of the leaving variable
};

Step ratio_test(const Dictionary& d, size_t q, int direction, bool phase_one, bool bland) {
  Step step;
  step.row = d.m;
  const size_t v = d.outside[q];
  const double own = direction > 0 ? d.high[v] - d.value[v] : d.value[v] - d.low[v];
  if (own < inf) step.length = own;
  double strength = 0;
  for (size_t i = 0; i < d.m; ++i) {
    const double rate = direction * d.at(i, q);
    if (std::fabs(rate) < pivot_tol) continue;
    const size_t b = d.inside[i];
    const int out = phase_one ? violation(d, b) : 0;
    double target = rate > 0 ? d.high[b] : d.low[b];
    if (out < 0) {
      if (rate < 0) continue;  // already below and going further: it does not block
      target = d.low[b];
    } else if (out > 0) {
      if (rate > 0) continue;
      target = d.high[b];
    }
    if (!std::isfinite(target)) continue;
    const double length = std::max(0.0, (target - d.value[b]) / rate);
    const double tie = 1e-12 * (1 + step.length);
    const bool shorter = step.length == inf || length < step.length - tie;
    const bool tied = !shorter && length <= step.length + tie && step.row < d.m;
    const bool better = tied && (bland ? b < d.inside[step.row] : std::fabs(rate) > strength);
    if (!shorter && !better) continue;
    step.length = std::min(length, shorter ? length : step.length);
    step.row = i;
    step.target = target;
    strength = std::fabs(rate);
  }
  return step;
}

void move(Dictionary& d, size_t q, double amount) {
  d.value[d.outside[q]] += amount;
  for (size_t i = 0; i < d.m; ++i) d.value[d.inside[i]] += d.at(i, q) * amount;
}

/// Exchanges the basic variable of row r with the nonbasic one of column q.
void pivot(Dictionary& d, size_t r, size_t q) {
  ++d.pivots;
  const double p = d.at(r, q);
  double* row = &d.t[r * d.n];
  for (size_t j = 0; j < d.n; ++j) row[j] = -row[j] / p;
  row[q] = 1 / p;
  const auto eliminate = [&](double* other) {
    const double f = other[q];
    if (f == 0) return;
    other[q] = 0;
    for (size_t j = 0; j < d.n; ++j) other[j] += f * row[j];
  };
  for (size_t i = 0; i < d.m; ++i)
    if (i != r) eliminate(&d.t[i * d.n]);
  eliminate(d.price.data());
  std::swap(d.outside[q], d.inside[r]);
}

/// Runs both phases. Returns optimal, infeasible, unbounded or failed; `q_out` and `direction_out` name the endless
/// move.
Status search(Dictionary& d, std::vector<double>& gradient, size_t& q_out, int& direction_out) {
  const int most = 200 + 50 * static_cast<int>(d.n + d.m);
  int stalled = 0;
  for (int i = 0; i < most; ++i) {
    const bool phase_one = violation_gradient(d, gradient);
    const bool bland = stalled > 40;
    int direction = 0;
    const size_t q = entering(d, phase_one ? gradient : d.price, bland, direction);
    if (q == d.n) return phase_one ? Status::infeasible : Status::optimal;
    const Step step = ratio_test(d, q, direction, phase_one, bland);
    if (step.length == inf) {
      q_out = q;
      direction_out = direction;
      return phase_one ? Status::failed : Status::unbounded;
    }
    stalled = step.length > 1e-12 ? 0 : stalled + 1;
    move(d, q, direction * step.length);
    if (step.row == d.m) {
      const size_t v = d.outside[q];
      d.value[v] = direction > 0 ? d.high[v] : d.low[v];
    } else {
      d.value[d.inside[step.row]] = step.target;
      pivot(d, step.row, q);
    }
  }
  return Status::failed;
}

/// Solves A z = b in place (n x n row-major, partial pivoting); false when singular.
bool gauss(std::vector<double>& a, std::vector<double>& b, size_t n) {
  for (size_t k = 0; k < n; ++k) {
    size_t p = k;
    for (size_t i = k + 1; i < n; ++i)
      if (std::fabs(a[i * n + k]) > std::fabs(a[p * n + k])) p = i;
    if (!(std::fabs(a[p * n + k]) > 0)) return false;
    if (p != k) {
      std::swap_ranges(a.begin() + static_cast<std::ptrdiff_t>(k * n),
                       a.begin() + static_cast<std::ptrdiff_t>(k * n + n),
                       a.begin() + static_cast<std::ptrdiff_t>(p * n));
      std::swap(b[k], b[p]);
    }
    for (size_t i = k + 1; i < n; ++i) {
      const double f = a[i * n + k] / a[k * n + k];
      if (f == 0) continue;
      for (size_t j = k; j < n; ++j) a[i * n + j] -= f * a[k * n + j];
      b[i] -= f * b[k];
    }
  }
  for (size_t k = n; k-- > 0;) {
    for (size_t j = k + 1; j < n; ++j) b[k] -= a[k * n + j] * b[j];
    b[k] /= a[k * n + k];
  }
  return true;
}

/// Which columns are basic and which rows are tight at the end: enough to compute the answer again from the data.
struct Basis {
  std::vector<size_t> columns, rows;
};
Basis basis_of(const Dictionary& d) {
  Basis b;
  for (size_t v : d.inside)
    if (v < d.n) b.columns.push_back(v);
  for (size_t v : d.outside)
    if (v >= d.n) b.rows.push_back(v - d.n);
  std::sort(b.columns.begin(), b.columns.end());
  std::sort(b.rows.begin(), b.rows.end());
  return b;
}

/// x from the tight rows, with the nonbasic columns at their bounds; false when the rows do not determine it.
bool point_of(const LinearProgram& p, const Dictionary& d, const Basis& basis, std::vector<double>& x) {
  const size_t k = basis.columns.size();
  x.assign(d.n, 0.0);
  for (size_t v : d.outside)
    if (v < d.n) {
      const double l = column_low(p, v), u = column_high(p, v), now = d.value[v] * d.column_scale[v];
      x[v] = d.value[v] == d.low[v] ? l : (d.value[v] == d.high[v] ? u : now);
    }
  std::vector<double> a(k * k), b(k);
  for (size_t i = 0; i < k; ++i) {
    const LinearRow& r = p.rows[basis.rows[i]];
    b[i] = r.b;
    for (size_t j = 0; j < d.n; ++j) b[i] -= r.a[j] * x[j];
    for (size_t j = 0; j < k; ++j) a[i * k + j] = r.a[basis.columns[j]];
  }
  if (!gauss(a, b, k)) return false;
  for (size_t j = 0; j < k; ++j) x[basis.columns[j]] = b[j];
  return true;
}

/// Prices y of the tight rows from the costs of the basic columns.
bool prices_of(const LinearProgram& p, const Basis& basis, std::vector<double>& y) {
  const size_t k = basis.columns.size();
  std::vector<double> a(k * k), b(k);
  for (size_t i = 0; i < k; ++i) {
    b[i] = p.cost[basis.columns[i]];
    for (size_t j = 0; j < k; ++j) a[i * k + j] = p.rows[basis.rows[j]].a[basis.columns[i]];
  }
  y.assign(p.rows.size(), 0.0);
  if (!gauss(a, b, k)) return false;
  for (size_t j = 0; j < k; ++j) y[basis.rows[j]] = b[j];
  return true;
}

double product(const std::vector<double>& a, const std::vector<double>& x) {
  double sum = 0;
  for (size_t j = 0; j < a.size(); ++j) sum += a[j] * x[j];
  return sum;
}
double size_of(const std::vector<double>& a, const std::vector<double>& x) {
  double sum = 0;
  for (size_t j = 0; j < a.size(); ++j) sum += std::fabs(a[j] * x[j]);
  return sum;
}

/// Largest violation of rows and bounds; `relative` is the largest one by the size of the numbers in it.
double worst_violation(const LinearProgram& p, const std::vector<double>& x, double& relative) {
  double worst = 0;
  relative = 0;
  const auto note = [&](double low, double high, double value, double size) {
    const double by = std::max({low - value, value - high, 0.0});
    worst = std::max(worst, by);
    relative = std::max(relative, std::isfinite(value) ? by / (size > 0 ? size : 1) : inf);
  };
  for (size_t j = 0; j < x.size(); ++j)
    note(column_low(p, j), column_high(p, j), x[j], std::max(1e-3, std::fabs(x[j])));
  for (const LinearRow& r : p.rows)
    note(row_low(r), row_high(r), product(r.a, x), std::max(1e-3, size_of(r.a, x) + std::fabs(r.b)));
  return worst;
}

void check_optimal(const LinearProgram& p, const Dictionary& d, LinearAnswer& out) {
  const Basis basis = basis_of(d);
  out.status = Status::failed;
  if (!point_of(p, d, basis, out.x) || !prices_of(p, basis, out.row_price)) {
    out.why = "the final basis is singular";
    return;
  }
  double relative = 0;
  out.primal_residual = worst_violation(p, out.x, relative);
  out.objective = product(p.cost, out.x);
  const double sign = p.maximise ? -1 : 1;
  double dual = 0, dual_size = 0, wrong = 0, cost_size = 0;
  for (double c : p.cost) cost_size = std::max(cost_size, std::fabs(c));
  out.reduced_cost = p.cost;
  for (size_t i = 0; i < p.rows.size(); ++i) {
    const double y = out.row_price[i];
    dual += y * p.rows[i].b;
    dual_size += std::fabs(y * p.rows[i].b);
    for (size_t j = 0; j < d.n; ++j) out.reduced_cost[j] -= y * p.rows[i].a[j];
    // Minimising: relaxing a row can only lower the cost. at_least: y >= 0, at_most: y <= 0.
    double weight = 0;
    for (size_t j = 0; j < d.n; ++j) weight = std::max(weight, std::fabs(p.rows[i].a[j] * d.column_scale[j]));
    if (p.rows[i].sense == LinearRow::Sense::at_least) wrong = std::max(wrong, -sign * y * weight);
    if (p.rows[i].sense == LinearRow::Sense::at_most) wrong = std::max(wrong, sign * y * weight);
  }
  for (size_t v : basis.columns) {
    wrong = std::max(wrong, 1e-3 * std::fabs(out.reduced_cost[v]) * d.column_scale[v]);
    out.reduced_cost[v] = 0;
  }
  for (size_t j = 0; j < d.n; ++j) {
    const double r = sign * out.reduced_cost[j];
    const double at = r > 0 ? column_low(p, j) : column_high(p, j);
    if (r == 0) continue;
    if (at == out.x[j]) {
      dual += out.reduced_cost[j] * at;
      dual_size += std::fabs(out.reduced_cost[j] * at);
    } else {  // a nonbasic column away from the bound its cost points to
      wrong = std::max(wrong, std::fabs(r) * d.column_scale[j]);
      dual += out.reduced_cost[j] * out.x[j];
    }
  }
  out.dual_residual = wrong;
  out.gap = std::fabs(out.objective - dual);
  const double largest_scaled_cost = [&] {
    double s = 0;
    for (size_t j = 0; j < d.n; ++j) s = std::max(s, std::fabs(p.cost[j] * d.column_scale[j]));
    return s;
  }();
  if (!(relative <= 1e-9)) {
    out.why = "a row or bound of the answer is violated";
  } else if (!(wrong <= 1e-8 * std::max(largest_scaled_cost, 1e-300))) {
    out.why = "a price of the answer has the wrong sign";
  } else if (!(out.gap <= 1e-9 * (dual_size + size_of(p.cost, out.x) + 1e-3 * cost_size))) {
    out.why = "the answer and its bound differ";
  } else {
    out.status = Status::optimal;
  }
}

void check_infeasible(const LinearProgram& p, const Dictionary& d, LinearAnswer& out) {
  // The sum of violations is at its least: its gradient, as multipliers of the rows, is the proof. A violated basic
  // row i is s (a_i x - bound); the nonbasic rows carry minus the gradient, so that sum_i y_i a_i x has one end by the
  // bounds on x and another by the rows.
  out.status = Status::failed;
  out.row_price.assign(d.m, 0.0);
  std::vector<double> gradient;
  violation_gradient(d, gradient);
  for (size_t i = 0; i < d.m; ++i)
    if (d.inside[i] >= d.n)
      out.row_price[d.inside[i] - d.n] = violation(d, d.inside[i]) * d.row_scale[d.inside[i] - d.n];
  for (size_t j = 0; j < d.n; ++j)
    if (d.outside[j] >= d.n) {
      const double g = std::fabs(gradient[j]) > cost_tol ? gradient[j] : 0;
      out.row_price[d.outside[j] - d.n] = -g * d.row_scale[d.outside[j] - d.n];
    }
  std::vector<double> columns(d.n, 0.0), sizes(d.n, 0.0);
  double least_columns = 0, size = 0, most_rows = 0;
  for (size_t i = 0; i < d.m; ++i) {
    double& y = out.row_price[i];
    // A multiplier that leans on an absent bound can only be rounding noise.
    if ((y > 0 && row_high(p.rows[i]) == inf) || (y < 0 && row_low(p.rows[i]) == -inf)) y = 0;
    if (y == 0) continue;
    most_rows += y * p.rows[i].b;
    size += std::fabs(y * p.rows[i].b);
    for (size_t j = 0; j < d.n; ++j) {
      columns[j] += y * p.rows[i].a[j];
      sizes[j] += std::fabs(y * p.rows[i].a[j]);
    }
  }
  for (size_t j = 0; j < d.n; ++j) {
    const bool noise = !(std::fabs(columns[j]) > 1e-9 * sizes[j]);
    const double at = columns[j] > 0 ? column_low(p, j) : column_high(p, j);
    if (noise && !std::isfinite(at)) continue;
    if (columns[j] != 0) least_columns += columns[j] * at;
    size += std::isfinite(at) ? std::fabs(columns[j] * at) : 0;
  }
  // y.(A x) is at most `most_rows` by the rows, at least `least_columns` by the bounds.
  out.gap = least_columns - most_rows;
  if (out.gap > 1e-10 * size) {
    out.status = Status::infeasible;
  } else {
    out.why = "no solution was found, and the proof that there is none does not hold";
  }
}

void check_unbounded(const LinearProgram& p, const Dictionary& d, size_t q, int direction, LinearAnswer& out) {
  out.status = Status::failed;
  out.x.assign(d.n, 0.0);
  out.ray.assign(d.n, 0.0);
  for (size_t j = 0; j < d.n; ++j) out.x[j] = d.value[j] * d.column_scale[j];
  if (d.outside[q] < d.n) out.ray[d.outside[q]] = direction * d.column_scale[d.outside[q]];
  for (size_t i = 0; i < d.m; ++i)
    if (d.inside[i] < d.n) out.ray[d.inside[i]] = direction * d.at(i, q) * d.column_scale[d.inside[i]];
  double relative = 0;
  out.primal_residual = worst_violation(p, out.x, relative);
  bool stays = relative <= 1e-9;
  const auto open_end = [&](double low, double high, double rate, double size) {
    if (std::fabs(rate) <= 1e-9 * size) return;
    if ((rate > 0 && high < inf) || (rate < 0 && low > -inf)) stays = false;
  };
  for (size_t j = 0; j < d.n; ++j)
    open_end(column_low(p, j), column_high(p, j), out.ray[j], std::fabs(out.ray[j]) * 1e-3);
  for (const LinearRow& r : p.rows) open_end(row_low(r), row_high(r), product(r.a, out.ray), size_of(r.a, out.ray));
  const double gain = product(p.cost, out.ray) * (p.maximise ? 1 : -1);
  if (stays && gain > 0) {
    out.status = Status::unbounded;
    out.objective = p.maximise ? inf : -inf;
  } else {
    out.why = "the endless direction does not hold";
  }
}

}  // namespace

LinearAnswer solve(const LinearProgram& program) {
  LinearAnswer out;
  out.why = refusal(program);
  if (!out.why.empty()) {
    out.status = Status::refused;
    return out;
  }
  Dictionary d = build(program);
  std::vector<double> gradient;
  size_t q = 0;
  int direction = 0;
  const Status status = search(d, gradient, q, direction);
  out.pivots = d.pivots;
  if (status == Status::optimal) {
    check_optimal(program, d, out);
  } else if (status == Status::infeasible) {
    check_infeasible(program, d, out);
  } else if (status == Status::unbounded) {
    check_unbounded(program, d, q, direction, out);
  } else {
    out.status = Status::failed;
    out.why = "the search did not end";
  }
  return out;
}

}  // namespace fettle::maths
