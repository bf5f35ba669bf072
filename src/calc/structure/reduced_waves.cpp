#include "calc/structure/reduced_waves.h"

#include <cmath>

namespace fettle::structure {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

bool goes_along_x(Field f) { return f == Field::bx || f == Field::u; }
bool goes_along_y(Field f) { return f == Field::by || f == Field::v; }

}  // namespace

Function Waves::wave(Field f, int m, int n) const {
  return {f, m + (goes_along_x(f) ? x_.elements + 1 : 0), n + (goes_along_y(f) ? y_.elements + 1 : 0)};
}

Function Waves::rim(Field f, int end, int wave) const {
  if (goes_along_x(f)) return {f, 2 * x_.elements + 2 + end, wave};
  return {f, wave, 2 * y_.elements + 2 + end};
}

bool Waves::factor(const Energy& energy, Family& family) const {
  const int nx = x_.elements, ny = y_.elements, fields = static_cast<int>(family.field.size());
  const auto A = [&](const Function& p, const Function& q) {
    return energy.stiffness(p, q) + shift_ * energy.mass(p, q);
  };
  const Field along_x = family.field[family.field.size() - 2], along_y = family.field.back();
  for (int f = 0; f < fields; ++f) {
    for (int g = 0; g <= f; ++g) family.low[f][g].resize(nx + 1, ny + 1);
    for (int e = 0; e < 2; ++e) {
      family.by_x[e][f].resize(nx + 1, ny + 1);
      family.by_y[e][f].resize(nx + 1, ny + 1);
    }
  }
  MatrixXd S = MatrixXd::Zero(edges_, edges_);
  const auto at_x = [&](int e, int n) { return e * (ny + 1) + n; };
  const auto at_y = [&](int e, int m) { return 2 * (ny + 1) + e * (nx + 1) + m; };
  for (int n = 0; n <= ny; ++n)
    for (int m = 0; m <= nx; ++m) {
      Eigen::Matrix3d L = Eigen::Matrix3d::Identity();
      std::array<Function, 3> fn;
      for (int f = 0; f < fields; ++f) fn[f] = wave(family.field[f], m, n);
      for (int f = 0; f < fields; ++f)
        for (int g = 0; g <= f; ++g) {
          double v = A(fn[f], fn[g]);
          for (int k = 0; k < g; ++k) v -= L(f, k) * L(g, k);
          if (g < f) {
            L(f, g) = v / L(g, g);
            family.low[f][g](m, n) = L(f, g);
            continue;
          }
          const bool nothing =
              goes_along_x(family.field[f]) ? m == 0 || m == nx : goes_along_y(family.field[f]) && (n == 0 || n == ny);
          if (!nothing && !(v > 0)) return false;
          L(f, f) = nothing ? 1 : std::sqrt(v);
          family.low[f][f](m, n) = 1 / L(f, f);
        }
      for (int e = 0; e < 2; ++e)
        for (const bool x : {true, false}) {
          const Function r = x ? rim(along_x, e, n) : rim(along_y, e, m);
          Eigen::Vector3d y = Eigen::Vector3d::Zero();
          for (int f = 0; f < fields; ++f) {
            y[f] = A(fn[f], r);
            for (int k = 0; k < f; ++k) y[f] -= L(f, k) * y[k];
            y[f] /= L(f, f);
            (x ? family.by_x : family.by_y)[e][f](m, n) = y[f];
          }
        }
      // what the waves take off the edges' own stiffness
      std::array<std::array<double, 3>, 4> y{};
      for (int e = 0; e < 2; ++e)
        for (int f = 0; f < fields; ++f) y[e][f] = family.by_x[e][f](m, n), y[2 + e][f] = family.by_y[e][f](m, n);
      const std::array<Index, 4> row = {at_x(0, n), at_x(1, n), at_y(0, m), at_y(1, m)};
      for (int a = 0; a < 4; ++a)
        for (int b = 0; b < 4; ++b)
          for (int f = 0; f < fields; ++f) S(row[a], row[b]) -= y[a][f] * y[b][f];
      for (int a = 0; a < 2; ++a)
        for (int b = 0; b < 2; ++b) {
          const double v = A(rim(along_x, a, n), rim(along_y, b, m));
          S(at_x(a, n), at_y(b, m)) += v;
          S(at_y(b, m), at_x(a, n)) += v;
        }
    }
  for (int a = 0; a < 2; ++a)
    for (int b = 0; b < 2; ++b) {
      for (int n = 0; n <= ny; ++n) S(at_x(a, n), at_x(b, n)) += A(rim(along_x, a, n), rim(along_x, b, n));
      for (int m = 0; m <= nx; ++m) S(at_y(a, m), at_y(b, m)) += A(rim(along_y, a, m), rim(along_y, b, m));
    }
  family.edge.compute(S);
  return family.edge.info() == Eigen::Success;
}

Waves::Waves(const BasisInputs& in, const Section& section, double shift)
    : x_(waves(in.columns)), y_(waves(in.rows)), shift_(shift) {
  size_ = (in.columns + 1) * (in.rows + 1);
  edges_ = 2 * (in.columns + 1) + 2 * (in.rows + 1);
  bending_.field = {Field::w, Field::bx, Field::by};
  plane_.field = {Field::u, Field::v};
  const Energy energy(x_, y_, in.plate.length, in.plate.width, section);
  ok_ = factor(energy, bending_) && factor(energy, plane_);
}

void Waves::add(Field field, const Box& box, double factor, Eigen::Ref<VectorXd> all) const {
  const bool flat = field == Field::u || field == Field::v, on_x = goes_along_x(field), on_y = goes_along_y(field);
  const Index nx = x_.elements + 1, ny = y_.elements + 1;
  const Index place = field == Field::w || field == Field::u ? 0 : field == Field::by ? 2 : 1;
  double* column = all.data();
  const auto X = x_.value.block(box.column, on_x ? nx : 0, box.weight.rows(), nx);
  const auto Y = y_.value.block(box.row, on_y ? ny : 0, box.weight.cols(), ny);
  const MatrixXd half = factor * (box.weight * Y);
  Eigen::Map<MatrixXd>(column + place * size_, nx, ny).noalias() += X.transpose() * half;
  double* edge = column + (flat ? 2 : 3) * size_;
  const Index last_column = box.column + box.weight.rows() - 1, last_row = box.row + box.weight.cols() - 1;
  if (on_x) {
    if (box.column == 0) Eigen::Map<VectorXd>(edge, ny) += half.row(0).transpose();
    if (last_column == nx - 1) Eigen::Map<VectorXd>(edge + ny, ny) += half.row(half.rows() - 1).transpose();
  }
  if (on_y && (box.row == 0 || last_row == ny - 1)) {
    edge += 2 * ny;
    if (box.row == 0) Eigen::Map<VectorXd>(edge, nx) += factor * (X.transpose() * box.weight.col(0));
    if (last_row == ny - 1)
      Eigen::Map<VectorXd>(edge + nx, nx) += factor * (X.transpose() * box.weight.col(box.weight.cols() - 1));
  }
}

void Waves::forward(const Family& family, Eigen::Ref<MatrixXd> columns) const {
  const Index nx = x_.elements + 1, ny = y_.elements + 1;
  const std::size_t fields = family.field.size();
  for (Index c = 0; c < columns.cols(); ++c) {
    double* column = columns.col(c).data();
    const auto part = [&](std::size_t f) {
      return Eigen::Map<MatrixXd>(column + static_cast<Index>(f) * size_, nx, ny);
    };
    Eigen::Map<MatrixXd> across_x(column + static_cast<Index>(fields) * size_, ny, 2),
        across_y(column + static_cast<Index>(fields) * size_ + 2 * ny, nx, 2);
    for (std::size_t f = 0; f < fields; ++f) {
      auto mine = part(f);
      for (std::size_t k = 0; k < f; ++k) mine.array() -= family.low[f][k].array() * part(k).array();
      mine.array() *= family.low[f][f].array();
      for (std::size_t e = 0; e < 2; ++e) {
        across_x.col(static_cast<Index>(e)) -= family.by_x[e][f].cwiseProduct(mine).colwise().sum().transpose();
        across_y.col(static_cast<Index>(e)) -= family.by_y[e][f].cwiseProduct(mine).rowwise().sum();
      }
    }
  }
  auto edges = columns.bottomRows(edges_);
  family.edge.matrixL().solveInPlace(edges);
}

void Waves::forward(Eigen::Ref<MatrixXd> bending, Eigen::Ref<MatrixXd> plane) const {
  forward(bending_, bending);
  forward(plane_, plane);
}

}  // namespace fettle::structure
