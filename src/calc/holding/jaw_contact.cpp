#include "calc/holding/jaw_contact.h"

#include <algorithm>
#include <cmath>

namespace fettle::holding {

namespace {

/// Solves A x = b in place by elimination with row pivoting; false when singular to working accuracy.
bool eliminate(std::vector<double>& a, std::vector<double>& b, std::size_t n) {
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t pivot = k;
    for (std::size_t i = k + 1; i < n; ++i)
      if (std::fabs(a[i * n + k]) > std::fabs(a[pivot * n + k])) pivot = i;
    if (!(std::fabs(a[pivot * n + k]) > 1e-13)) return false;
    if (pivot != k) {
      for (std::size_t j = 0; j < n; ++j) std::swap(a[k * n + j], a[pivot * n + j]);
      std::swap(b[k], b[pivot]);
    }
    for (std::size_t i = k + 1; i < n; ++i) {
      const double f = a[i * n + k] / a[k * n + k];
      if (f == 0) continue;
      for (std::size_t j = k; j < n; ++j) a[i * n + j] -= f * a[k * n + j];
      b[i] -= f * b[k];
    }
  }
  for (std::size_t k = n; k-- > 0;) {
    for (std::size_t j = k + 1; j < n; ++j) b[k] -= a[k * n + j] * b[j];
    b[k] /= a[k * n + k];
  }
  return true;
}

struct Scales {
  double flexibility = 1, load = 1;
  std::vector<double> row;
};
Scales scales_of(const ContactProblem& p) {
  Scales s;
  s.flexibility = 0;
  for (std::size_t i = 0; i < p.n; ++i) s.flexibility = std::max(s.flexibility, p.flexibility[i * p.n + i]);
  s.row.assign(p.rows, 0.0);
  for (std::size_t r = 0; r < p.rows; ++r)
    for (std::size_t i = 0; i < p.n; ++i) s.row[r] = std::max(s.row[r], std::fabs(p.arms[r * p.n + i]));
  for (double& r : s.row)
    if (!(r > 0)) r = 1;
  s.load = 0;
  for (std::size_t r = 0; r < p.rows; ++r) s.load = std::max(s.load, std::fabs(p.load[r]) / s.row[r]);
  for (std::size_t i = 0; i < p.n; ++i) s.load = std::max(s.load, std::fabs(p.overlap[i]) / s.flexibility);
  if (!(s.load > 0)) s.load = 1;
  return s;
}

/// The answer with the contacts of `closed` closed and the others free of force.
std::optional<ContactAnswer> with(const ContactProblem& p, const Scales& s, const std::vector<char>& closed) {
  std::vector<std::size_t> on;
  for (std::size_t i = 0; i < p.n; ++i)
    if (closed[i] != 0) on.push_back(i);
  const std::size_t k = on.size(), m = k + p.rows;
  if (k < p.rows) return std::nullopt;
  std::vector<double> a(m * m, 0.0), b(m, 0.0);
  for (std::size_t i = 0; i < k; ++i) {
    for (std::size_t j = 0; j < k; ++j) a[i * m + j] = p.flexibility[on[i] * p.n + on[j]] / s.flexibility;
    for (std::size_t r = 0; r < p.rows; ++r) {
      a[i * m + k + r] = -p.arms[r * p.n + on[i]] / s.row[r];
      a[(k + r) * m + i] = -a[i * m + k + r];
    }
    b[i] = p.overlap[on[i]] / (s.flexibility * s.load);
  }
  for (std::size_t r = 0; r < p.rows; ++r) b[k + r] = p.load[r] / (s.row[r] * s.load);
  if (!eliminate(a, b, m)) return std::nullopt;
  ContactAnswer out;
  out.force.assign(p.n, 0.0);
  for (std::size_t i = 0; i < k; ++i) out.force[on[i]] = b[i] * s.load;
  for (std::size_t r = 0; r < p.rows; ++r) out.motion.push_back(b[k + r] * s.load * s.flexibility / s.row[r]);
  return out;
}

/// Fills gap and residual; positive gap: open by that much.
void verify(const ContactProblem& p, const Scales& s, ContactAnswer& x) {
  x.gap.assign(p.n, 0.0);
  x.residual = 0;
  for (std::size_t r = 0; r < p.rows; ++r) {
    double sum = -p.load[r];
    for (std::size_t i = 0; i < p.n; ++i) sum += p.arms[r * p.n + i] * x.force[i];
    x.residual = std::max(x.residual, std::fabs(sum) / (s.row[r] * s.load));
  }
  for (std::size_t i = 0; i < p.n; ++i) {
    double open = -p.overlap[i];
    for (std::size_t j = 0; j < p.n; ++j) open += p.flexibility[i * p.n + j] * x.force[j];
    for (std::size_t r = 0; r < p.rows; ++r) open -= p.arms[r * p.n + i] * x.motion[r];
    x.gap[i] = open;
    const double scaled = open / (s.flexibility * s.load);
    x.residual = std::max(x.residual, x.force[i] > 0 ? std::fabs(scaled) : std::max(0.0, -scaled));
    x.residual = std::max(x.residual, std::max(0.0, -x.force[i] / s.load));
  }
}

constexpr double kAllowed = 1e-8;

bool sound(const ContactProblem& p) {
  const auto finite = [](const std::vector<double>& v) {
    return std::all_of(v.begin(), v.end(), [](double x) { return std::isfinite(x); });
  };
  return p.n > 0 && p.rows > 0 && p.flexibility.size() == p.n * p.n && p.overlap.size() == p.n &&
         p.arms.size() == p.rows * p.n && p.load.size() == p.rows && finite(p.flexibility) && finite(p.overlap) &&
         finite(p.arms) && finite(p.load);
}

}  // namespace

std::optional<ContactAnswer> all_closed(const ContactProblem& p) {
  if (!sound(p)) return std::nullopt;
  const Scales s = scales_of(p);
  auto x = with(p, s, std::vector<char>(p.n, 1));
  if (x) verify(p, s, *x);
  return x;
}

std::optional<ContactAnswer> solve_contacts(const ContactProblem& p, std::vector<char>* begin) {
  if (!sound(p)) return std::nullopt;
  const Scales s = scales_of(p);
  std::vector<char> closed(p.n, 1);
  if (begin != nullptr && begin->size() == p.n) closed = *begin;
  // Opening what pulls and closing what overlaps nearly always settles in a few rounds; after that one contact at a
  // time, the first that is wrong, which cannot go round in circles.
  bool restarted = false;
  for (int round = 0; round < 2000; ++round) {
    auto x = with(p, s, closed);
    if (!x) {
      if (restarted) break;
      restarted = true;
      closed.assign(p.n, 1);
      round = 30;
      continue;
    }
    verify(p, s, *x);
    if (x->residual <= kAllowed) {
      if (begin != nullptr) *begin = closed;
      return x;
    }
    bool changed = false;
    for (std::size_t i = 0; i < p.n && !(changed && round >= 30); ++i) {
      const char now = closed[i] != 0 ? x->force[i] > 0 : x->gap[i] < 0;
      changed = changed || now != closed[i];
      closed[i] = now;
    }
    if (!changed) break;
  }
  if (p.n > 16) return std::nullopt;
  // Otherwise every set is tried: the problem is strictly convex, so the first that meets the conditions is the one.
  for (std::size_t set = 1; set < (std::size_t{1} << p.n); ++set) {
    for (std::size_t i = 0; i < p.n; ++i) closed[i] = (set >> i) & 1U;
    auto x = with(p, s, closed);
    if (!x) continue;
    verify(p, s, *x);
    if (x->residual <= kAllowed) return x;
  }
  return std::nullopt;
}

}  // namespace fettle::holding
