#include "maths/linear.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace fettle::maths {

namespace {

using Rows = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

Eigen::Map<const Rows> view(const Matrix& A) {
  return {A.a.data(), static_cast<Eigen::Index>(A.rows), static_cast<Eigen::Index>(A.cols)};
}
template <class Dense>
Matrix back(const Dense& D) {
  Matrix A(static_cast<std::size_t>(D.rows()), static_cast<std::size_t>(D.cols()));
  Eigen::Map<Rows>(A.a.data(), D.rows(), D.cols()) = D;
  return A;
}
bool finite(const std::vector<double>& v) {
  return std::all_of(v.begin(), v.end(), [](double x) { return std::isfinite(x); });
}

}  // namespace

Matrix transposed(const Matrix& A) {
  Matrix T(A.cols, A.rows);
  for (std::size_t i = 0; i < A.rows; ++i)
    for (std::size_t j = 0; j < A.cols; ++j) T(j, i) = A(i, j);
  return T;
}

Matrix product(const Matrix& A, const Matrix& B) {
  if (A.cols != B.rows) return {};
  Matrix C(A.rows, B.cols);
  for (std::size_t i = 0; i < A.rows; ++i)
    for (std::size_t k = 0; k < A.cols; ++k)
      for (std::size_t j = 0; j < B.cols; ++j) C(i, j) += A(i, k) * B(k, j);
  return C;
}

std::vector<double> product(const Matrix& A, const std::vector<double>& x) {
  if (A.cols != x.size()) return {};
  std::vector<double> y(A.rows, 0.0);
  for (std::size_t i = 0; i < A.rows; ++i)
    for (std::size_t j = 0; j < A.cols; ++j) y[i] += A(i, j) * x[j];
  return y;
}

Svd svd(const Matrix& A, double tolerance) {
  Svd out;
  if (A.rows == 0 || A.cols == 0 || !finite(A.a)) return out;
  const Eigen::JacobiSVD<Eigen::MatrixXd> s(view(A), Eigen::ComputeFullU | Eigen::ComputeFullV);
  const auto& values = s.singularValues();
  out.s.assign(values.data(), values.data() + values.size());
  out.U = back(s.matrixU());
  out.V = back(s.matrixV());
  for (const double x : out.s)
    if (x > 0 && x > tolerance * out.s[0]) ++out.rank;
  return out;
}

Matrix null_space(const Matrix& A, double tolerance) {
  const Svd s = svd(A, tolerance);
  if (s.V.rows != A.cols) return {};
  Matrix N(A.cols, A.cols - s.rank);
  for (std::size_t i = 0; i < A.cols; ++i)
    for (std::size_t j = s.rank; j < A.cols; ++j) N(i, j - s.rank) = s.V(i, j);
  return N;
}

std::vector<double> least_squares(const Matrix& A, const std::vector<double>& b, double tolerance) {
  if (A.rows != b.size() || !finite(b)) return {};
  const Svd s = svd(A, tolerance);
  if (s.V.rows != A.cols) return {};
  std::vector<double> x(A.cols, 0.0);
  for (std::size_t k = 0; k < s.rank; ++k) {
    double along = 0;
    for (std::size_t i = 0; i < A.rows; ++i) along += s.U(i, k) * b[i];
    for (std::size_t j = 0; j < A.cols; ++j) x[j] += s.V(j, k) * along / s.s[k];
  }
  return x;
}

std::optional<std::vector<double>> solve(const Matrix& A, const std::vector<double>& b) {
  if (A.rows != A.cols || A.rows != b.size() || A.rows == 0 || !finite(A.a) || !finite(b)) return std::nullopt;
  const Eigen::Map<const Eigen::VectorXd> right(b.data(), static_cast<Eigen::Index>(b.size()));
  const Eigen::FullPivLU<Eigen::MatrixXd> lu(view(A));
  if (!lu.isInvertible()) return std::nullopt;
  const Eigen::VectorXd x = lu.solve(right);
  const double scale = view(A).cwiseAbs().maxCoeff() * x.cwiseAbs().maxCoeff() + right.cwiseAbs().maxCoeff();
  if (!((view(A) * x - right).cwiseAbs().maxCoeff() <= 1e-8 * scale)) return std::nullopt;
  return std::vector<double>(x.data(), x.data() + x.size());
}

std::optional<Matrix> inverse(const Matrix& A) {
  if (A.rows != A.cols || A.rows == 0 || !finite(A.a)) return std::nullopt;
  const Eigen::FullPivLU<Eigen::MatrixXd> lu(view(A));
  if (!lu.isInvertible()) return std::nullopt;
  return back(lu.inverse());
}

EigenPairs eigen_symmetric(const Matrix& A) {
  EigenPairs out;
  if (A.rows != A.cols || A.rows == 0 || !finite(A.a)) return out;
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> s{Eigen::MatrixXd(view(A))};
  out.value.assign(s.eigenvalues().data(), s.eigenvalues().data() + s.eigenvalues().size());
  out.vector = back(s.eigenvectors());
  return out;
}

}  // namespace fettle::maths
