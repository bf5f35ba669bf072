#include "maths/least_squares.h"

#include <Eigen/SVD>

namespace fettle::maths {
namespace {

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

Eigen::Map<const Matrix> view(const std::vector<double>& a, std::size_t rows, std::size_t columns) {
  return {a.data(), static_cast<Eigen::Index>(rows), static_cast<Eigen::Index>(columns)};
}

}  // namespace

PseudoInverse pseudo_inverse(const std::vector<double>& a, std::size_t rows, std::size_t columns, double relative) {
  PseudoInverse out;
  // Rows of zeros make the decomposition square or tall, so that V is full and holds the free directions.
  const auto tall = static_cast<Eigen::Index>(std::max(rows, columns));
  const auto n = static_cast<Eigen::Index>(columns);
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(tall, n);
  m.topRows(static_cast<Eigen::Index>(rows)) = view(a, rows, columns);
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(m, Eigen::ComputeThinU | Eigen::ComputeThinV);
  const auto& s = svd.singularValues();
  const double largest = n > 0 ? s(0) : 0;
  Eigen::MatrixXd inverse = Eigen::MatrixXd::Zero(n, tall);
  for (Eigen::Index k = 0; k < n; ++k) {
    if (s(k) > relative * largest) {
      ++out.rank;
      out.weakest = s(k) / largest;
      inverse += svd.matrixV().col(k) * (1 / s(k)) * svd.matrixU().col(k).transpose();
    } else {
      const Eigen::VectorXd v = svd.matrixV().col(k);
      out.free_directions.emplace_back(v.data(), v.data() + n);
    }
  }
  out.inverse.resize(columns * rows);
  for (std::size_t i = 0; i < columns; ++i)
    for (std::size_t j = 0; j < rows; ++j)
      out.inverse[i * rows + j] = inverse(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j));
  return out;
}

LeastSquares least_squares(const std::vector<double>& a, std::size_t rows, std::size_t columns,
                           const std::vector<double>& b, double relative) {
  const PseudoInverse p = pseudo_inverse(a, rows, columns, relative);
  LeastSquares out;
  out.rank = p.rank;
  out.x.assign(columns, 0.0);
  for (std::size_t i = 0; i < columns; ++i)
    for (std::size_t j = 0; j < rows; ++j) out.x[i] += p.inverse[i * rows + j] * b[j];
  double sum = 0;
  for (std::size_t i = 0; i < rows; ++i) {
    double r = -b[i];
    for (std::size_t j = 0; j < columns; ++j) r += a[i * columns + j] * out.x[j];
    sum += r * r;
  }
  out.residual = std::sqrt(sum);
  return out;
}

}  // namespace fettle::maths
