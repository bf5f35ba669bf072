#pragma once
// Small dense least squares and rank, for contacts and fits (tens of rows). A thin door over Eigen.
#include <cstddef>
#include <vector>

namespace fettle::maths {

struct LeastSquares {
  std::vector<double> x;  ///< shortest x among those with the least residual
  std::size_t rank = 0;
  double residual = 0;  ///< norm of A x - b
};
/// Least |A x - b| for A rows x columns, row-major. Singular values below `relative` of the largest count as zero.
LeastSquares least_squares(const std::vector<double>& a, std::size_t rows, std::size_t columns,
                           const std::vector<double>& b, double relative = 1e-10);

struct PseudoInverse {
  std::vector<double> inverse;  ///< columns x rows, row-major: x = inverse b
  std::size_t rank = 0;
  /// Directions x with A x = 0, one after another, each of length 1 in `columns` numbers.
  std::vector<std::vector<double>> free_directions;
  double weakest = 0;  ///< smallest counted singular value over the largest
};
/// Pseudo-inverse by singular values; the same cut as least_squares().
PseudoInverse pseudo_inverse(const std::vector<double>& a, std::size_t rows, std::size_t columns,
                             double relative = 1e-10);

}  // namespace fettle::maths
