#pragma once
// The door to dense linear algebra: rank, null space, least squares. The heavy headers stay behind linear.cpp.
#include <cstddef>
#include <optional>
#include <vector>

namespace fettle::maths {

/// Dense matrix, row by row. Rows and columns count from 0.
struct Matrix {
  std::size_t rows = 0, cols = 0;
  std::vector<double> a;
  Matrix() = default;
  Matrix(std::size_t r, std::size_t c) : rows(r), cols(c), a(r * c, 0.0) {}
  double& operator()(std::size_t i, std::size_t j) { return a[i * cols + j]; }
  double operator()(std::size_t i, std::size_t j) const { return a[i * cols + j]; }
  bool operator==(const Matrix&) const = default;
};
Matrix transposed(const Matrix& A);
/// A B; shapes must fit, else an empty matrix.
Matrix product(const Matrix& A, const Matrix& B);
/// A x; an empty vector when the shapes do not fit.
std::vector<double> product(const Matrix& A, const std::vector<double>& x);

/// A = U diag(s) V', s falling. `rank` counts s > tolerance * s[0]. A matrix with a number that is not finite has rank
/// 0 and empty parts.
struct Svd {
  std::vector<double> s;  ///< min(rows, cols) singular values
  Matrix U;               ///< rows x rows
  Matrix V;               ///< cols x cols
  std::size_t rank = 0;
};
Svd svd(const Matrix& A, double tolerance = 1e-9);

/// Orthonormal columns that span {x : A x = 0}, cols x (cols - rank).
Matrix null_space(const Matrix& A, double tolerance = 1e-9);

/// The x of least norm among those that make |A x - b| least. Empty when shapes do not fit or a number is not finite.
std::vector<double> least_squares(const Matrix& A, const std::vector<double>& b, double tolerance = 1e-9);

/// Solves A x = b for square A; nothing when A is singular to working accuracy (checked again by the residual).
std::optional<std::vector<double>> solve(const Matrix& A, const std::vector<double>& b);

/// Inverse of square A; nothing when singular.
std::optional<Matrix> inverse(const Matrix& A);

/// Eigenvalues (rising) and vectors (columns) of a symmetric matrix; only the lower half is read.
struct EigenPairs {
  std::vector<double> value;
  Matrix vector;
};
EigenPairs eigen_symmetric(const Matrix& A);

}  // namespace fettle::maths
