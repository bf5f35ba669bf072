#include "calc/chatter/floquet_rule.h"

#include <cmath>

namespace fettle::chatter {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

struct Gauss {
  VectorXd x, w;
  explicit Gauss(int n) : x(n), w(n) {
    for (int i = 0; i < n; ++i) {
      double t = -std::cos(M_PI * (i + 0.75) / (n + 0.5)), slope = 1;
      for (int round = 0; round < 100; ++round) {
        double p = 1, before = 0;
        for (int k = 1; k <= n; ++k) {
          const double next = ((2 * k - 1) * t * p - (k - 1) * before) / k;
          before = p, p = next;
        }
        slope = n * (t * p - before) / (t * t - 1);
        const double change = p / slope;
        t -= change;
        if (!(std::fabs(change) > 1e-15)) break;
      }
      x(i) = t, w(i) = 2 / ((1 - t * t) * slope * slope);
    }
  }
};

}  // namespace

NodeRule::NodeRule(int n) {
  const Gauss own(n), fine(n + 4);
  x = own.x, inner = fine.x;
  barycentric.resize(n);
  for (int i = 0; i < n; ++i) barycentric(i) = (i % 2 == 0 ? 1 : -1) * std::sqrt((1 - own.x(i) * own.x(i)) * own.w(i));
  whole.resize(n + 4, n);
  for (int q = 0; q < n + 4; ++q) whole.row(q) = fine.w(q) * basis(fine.x(q));
  for (int i = 0; i < n; ++i) {
    MatrixXd t(n + 4, n);
    const double half = (own.x(i) + 1) / 2;
    for (int q = 0; q < n + 4; ++q) t.row(q) = half * fine.w(q) * basis(-1 + half * (fine.x(q) + 1));
    partial.push_back(std::move(t));
  }
}

Eigen::RowVectorXd NodeRule::basis(double t) const {
  Eigen::RowVectorXd b(x.size());
  for (Index j = 0; j < x.size(); ++j)
    if (std::fabs(t - x(j)) < 1e-14) {
      b.setZero();
      b(j) = 1;
      return b;
    }
  for (Index j = 0; j < x.size(); ++j) b(j) = barycentric(j) / (t - x(j));
  return b / b.sum();
}

const NodeRule& NodeRules::of(int n) { return rules_.try_emplace(n, n).first->second; }

}  // namespace fettle::chatter
