#include "maths/statistics.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "maths/distributions.h"

namespace fettle::maths {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

bool open_share(double p) { return p > 0 && p < 1; }

template <std::size_t N>
double horner(const double (&c)[N], double x) {
  double sum = c[N - 1];
  for (std::size_t i = N - 1; i-- > 0;) sum = sum * x + c[i];
  return sum;
}

/// horner() written out, for loops over many x.
inline double horner8(const double (&c)[8], double x) {
  return ((((((c[7] * x + c[6]) * x + c[5]) * x + c[4]) * x + c[3]) * x + c[2]) * x + c[1]) * x + c[0];
}

// Coefficients of AS 241, PPND16.
constexpr double a[] = {3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3,
                        1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
                        3.3430575583588128105e4, 2.5090809287301226727e3};
constexpr double b[] = {1.0,
                        4.2313330701600911252e1,
                        6.8718700749205790830e2,
                        5.3941960214247511077e3,
                        2.1213794301586595867e4,
                        3.9307895800092710610e4,
                        2.8729085735721942674e4,
                        5.2264952788528545610e3};
constexpr double c[] = {1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
                        3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
                        2.27238449892691845833e-2, 7.74545014278341407640e-4};
constexpr double d[] = {1.0,
                        2.05319162663775882187e0,
                        1.67638483018380384940e0,
                        6.89767334985100004550e-1,
                        1.48103976427480074590e-1,
                        1.51986665636164571966e-2,
                        5.47593808499534494600e-4,
                        1.05075007164441684324e-9};
constexpr double e[] = {6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
                        2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                        2.71155556874348757815e-5, 2.01033439929228813265e-7};
constexpr double f[] = {1.0,
                        5.99832206555887937690e-1,
                        1.36929880922735805310e-1,
                        1.48753612908506148525e-2,
                        7.86869131145613259100e-4,
                        1.84631831751005468180e-5,
                        1.42151175831644588870e-7,
                        2.04426310338993978564e-15};

}  // namespace

double normal_cdf(double z) { return 0.5 * std::erfc(-z * 0.70710678118654752440); }

double normal_quantile(double p) {
  const double q = p - 0.5;
  if (std::fabs(q) <= 0.425) {
    const double r = 0.180625 - q * q;
    return q * horner(a, r) / horner(b, r);
  }
  if (!open_share(p)) {
    if (p == 0) return -std::numeric_limits<double>::infinity();
    return p == 1 ? std::numeric_limits<double>::infinity() : nan;
  }
  double r = std::sqrt(-std::log(q < 0 ? p : 1 - p));
  double z = 0;
  if (r <= 5) {
    r -= 1.6;
    z = horner(c, r) / horner(d, r);
  } else {
    r -= 5;
    z = horner(e, r) / horner(f, r);
  }
  return q < 0 ? -z : z;
}

void normal_quantiles(const double* p, std::size_t count, double* out) {
  constexpr std::size_t lot = 64;  // of one length, over plain arrays: compilers make vector code of it
  std::size_t i = 0;
  for (; i + lot <= count; i += lot) {
    double share[lot], middle[lot];
    std::size_t outer[lot], outers = 0;
    for (std::size_t k = 0; k < lot; ++k) share[k] = p[i + k];
    for (std::size_t k = 0; k < lot; ++k) {
      const double q = share[k] - 0.5, r = 0.180625 - q * q;
      middle[k] = q * horner8(a, r) / horner8(b, r);
    }
    for (std::size_t k = 0; k < lot; ++k) {
      outer[outers] = k;
      outers += !(std::fabs(share[k] - 0.5) <= 0.425);
    }
    for (std::size_t k = 0; k < outers; ++k) middle[outer[k]] = normal_quantile(share[outer[k]]);
    for (std::size_t k = 0; k < lot; ++k) out[i + k] = middle[k];
  }
  for (; i < count; ++i) out[i] = normal_quantile(p[i]);
}

double tolerance_factor(int n, double share, double confidence) {
  if (n < 2 || !open_share(share) || !open_share(confidence)) return nan;
  const double root = std::sqrt(static_cast<double>(n));
  return noncentral_t_quantile(confidence, n - 1, normal_quantile(share) * root) / root;
}

double guaranteed_share(int n, double distance, double confidence) {
  if (n < 2 || !open_share(confidence) || !std::isfinite(distance)) return nan;
  const double root = std::sqrt(static_cast<double>(n));
  // The cdf falls as delta rises: halve until the interval no longer shrinks.
  double low = -8 * root, high = 8 * root;
  const auto above = [&](double delta) { return noncentral_t_cdf(distance * root, n - 1, delta) > confidence; };
  if (!above(low)) return 0;
  if (above(high)) return normal_cdf(8);
  for (int i = 0; i < 200; ++i) {
    const double middle = 0.5 * (low + high);
    if (middle <= low || middle >= high) break;
    (above(middle) ? low : high) = middle;
  }
  return normal_cdf(low / root);
}

Interval clopper_pearson(long long hits, long long n, double confidence) {
  if (n < 1 || hits < 0 || hits > n || !open_share(confidence)) return {nan, nan};
  const double tail = 0.5 * (1 - confidence);
  const auto k = static_cast<double>(hits);
  const auto m = static_cast<double>(n - hits);
  return {hits == 0 ? 0.0 : beta_quantile(tail, k, m + 1), hits == n ? 1.0 : beta_quantile(1 - tail, k + 1, m)};
}

Interval wilson(long long hits, long long n, double confidence) {
  if (n < 1 || hits < 0 || hits > n || !open_share(confidence)) return {nan, nan};
  const double z = normal_quantile(0.5 * (1 + confidence));
  const auto N = static_cast<double>(n);
  const double p = static_cast<double>(hits) / N;
  const double scale = 1 / (1 + z * z / N);
  const double middle = scale * (p + z * z / (2 * N));
  const double half = scale * z * std::sqrt(p * (1 - p) / N + z * z / (4 * N * N));
  return {hits == 0 ? 0.0 : std::max(0.0, middle - half), hits == n ? 1.0 : std::min(1.0, middle + half)};
}

Moments moments(const std::vector<double>& values) {
  Moments m;
  m.n = values.size();
  if (m.n == 0) return {0, nan, nan};
  const auto n = static_cast<double>(m.n);
  double sum = 0;
  for (double x : values) sum += x;
  const double guess = sum / n;
  double first = 0, second = 0;
  for (double x : values) {
    first += x - guess;
    second += (x - guess) * (x - guess);
  }
  m.mean = guess + first / n;
  m.s = m.n < 2 ? nan : std::sqrt((second - first * first / n) / (n - 1));
  return m;
}

double lag1(const std::vector<double>& values) {
  const double m = moments(values).mean;
  double top = 0, bottom = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    bottom += (values[i] - m) * (values[i] - m);
    if (i + 1 < values.size()) top += (values[i] - m) * (values[i + 1] - m);
  }
  return top / bottom;
}

Covariance covariance(const std::vector<double>& rows, std::size_t columns) {
  Covariance out;
  out.columns = columns;
  out.n = columns == 0 ? 0 : rows.size() / columns;
  std::vector<double> column(out.n);
  for (std::size_t j = 0; j < columns; ++j) {
    for (std::size_t i = 0; i < out.n; ++i) column[i] = rows[i * columns + j];
    out.mean.push_back(moments(column).mean);
  }
  out.matrix.assign(columns * columns, nan);
  if (out.n < 2) return out;
  for (std::size_t j = 0; j < columns; ++j)
    for (std::size_t k = 0; k <= j; ++k) {
      double sum = 0;
      for (std::size_t i = 0; i < out.n; ++i)
        sum += (rows[i * columns + j] - out.mean[j]) * (rows[i * columns + k] - out.mean[k]);
      out.matrix[j * columns + k] = out.matrix[k * columns + j] = sum / static_cast<double>(out.n - 1);
    }
  return out;
}

std::vector<double> semidefinite_factor(const std::vector<double>& matrix, std::size_t n, std::size_t* rank) {
  std::vector<double> left = matrix, factor(n * n, 0.0);
  std::size_t found = 0;
  double first = 0;
  for (std::size_t step = 0; step < n; ++step) {
    std::size_t p = 0;
    for (std::size_t i = 1; i < n; ++i)
      if (left[i * n + i] > left[p * n + p]) p = i;
    const double pivot = left[p * n + p];
    if (step == 0) first = pivot;
    if (!(pivot > 1e-13 * first)) break;
    const double root = std::sqrt(pivot);
    for (std::size_t i = 0; i < n; ++i) factor[i * n + step] = left[i * n + p] / root;
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < n; ++j) left[i * n + j] -= factor[i * n + step] * factor[j * n + step];
    ++found;
  }
  if (rank != nullptr) *rank = found;
  return factor;
}

double quantile_of_sorted(const std::vector<double>& sorted, double p) {
  if (sorted.empty() || !(p >= 0 && p <= 1)) return nan;
  const double at = p * static_cast<double>(sorted.size() - 1);
  const auto i = static_cast<std::size_t>(at);
  if (i + 1 >= sorted.size()) return sorted.back();
  return sorted[i] + (at - static_cast<double>(i)) * (sorted[i + 1] - sorted[i]);
}

}  // namespace fettle::maths
