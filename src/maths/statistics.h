#pragma once
// Distributions, small samples, intervals. Every function answers NaN for arguments outside its domain, never a guess.
#include <cstddef>
#include <vector>

namespace fettle::maths {

/// Standard normal: P(Z <= z), and the z below which the share p lies (Wichura, Algorithm AS 241, 1988; about 1e-16).
double normal_cdf(double z);
double normal_quantile(double p);
/// normal_quantile() of each, the same bits, faster for many.
void normal_quantiles(const double* p, std::size_t count, double* out);

/// Student's t with `dof` > 0 degrees of freedom.
double student_t_cdf(double t, double dof);
double student_t_quantile(double p, double dof);

/// Non-central t: P(T <= t) with `dof` degrees of freedom and non-centrality `delta`.
double noncentral_t_cdf(double t, double dof, double delta);

/// Beta distribution: the x below which the share p lies (a, b > 0).
double beta_quantile(double p, double a, double b);
/// The share of a beta distribution below x in [0, 1]; the tail of Fisher's F is made of it.
double beta_cdf(double x, double a, double b);
/// Fisher's F: P(F > f) with d1 and d2 degrees of freedom; f >= 0.
double fisher_tail(double f, double d1, double d2);

/// One-sided tolerance factor k: with the stated confidence at least `share` of a normal population lies above
/// mean - k s, where mean and s come from n >= 2 measured items. k = t'(confidence; n - 1, z_share sqrt n) / sqrt n
/// (exact, non-central t). `share` and `confidence` in (0, 1).
double tolerance_factor(int n, double share, double confidence);

/// The other way round: the share of a normal population that lies on the good side of a limit, with confidence, when
/// the limit is `distance` sample standard deviations away from the sample mean (positive: the mean is good).
/// tolerance_factor(n, guaranteed_share(n, k, c), c) = k. n >= 2.
double guaranteed_share(int n, double distance, double confidence);

/// An interval with its confidence.
struct Interval {
  double low = 0, high = 0;
};

/// Two-sided interval of a share, `hits` of `n` seen. Clopper and Pearson 1934: never covers less than stated.
Interval clopper_pearson(long long hits, long long n, double confidence);
/// Wilson's score interval: covers the stated confidence on average; narrower.
Interval wilson(long long hits, long long n, double confidence);

/// Two-pass mean and sample standard deviation (n - 1) with the correction term; s is NaN for fewer than two values.
struct Moments {
  std::size_t n = 0;
  double mean = 0;
  double s = 0;
};
Moments moments(const std::vector<double>& values);

/// Lag-1 autocorrelation: sum (x_i - m)(x_(i+1) - m) / sum (x_i - m)^2.
double lag1(const std::vector<double>& values);

/// Sample means and covariance (n - 1) of rows of equal length, row-major n x columns in, columns x columns out.
struct Covariance {
  std::size_t n = 0, columns = 0;
  std::vector<double> mean;
  std::vector<double> matrix;
};
Covariance covariance(const std::vector<double>& rows, std::size_t columns);

/// A factor F (columns x columns, row-major, lower triangular up to the pivot order) with F F' = matrix for a positive
/// semidefinite matrix; directions without spread give zero columns. `rank` is filled with the number of others.
std::vector<double> semidefinite_factor(const std::vector<double>& matrix, std::size_t columns,
                                        std::size_t* rank = nullptr);

/// The value below which the share p of the sorted values lies: linear between order statistics (1 + (n - 1) p).
double quantile_of_sorted(const std::vector<double>& sorted, double p);

}  // namespace fettle::maths
