#pragma once
// Nodes of Gauss and Legendre, with the tables that integrate an interpolated function against a kernel. Private to the
// multipliers.
#include <Eigen/Core>
#include <map>
#include <vector>

namespace fettle::chatter {

struct NodeRule {
  Eigen::VectorXd x;                     ///< nodes on (-1, 1)
  Eigen::VectorXd inner;                 ///< points of the finer rule on (-1, 1)
  Eigen::MatrixXd whole;                 ///< (finer, nodes): weight x basis function there
  std::vector<Eigen::MatrixXd> partial;  ///< the same up to node i, on points squeezed into (-1, x_i)
  Eigen::VectorXd barycentric;
  explicit NodeRule(int n);
  /// Values of the basis functions at t.
  Eigen::RowVectorXd basis(double t) const;
};
/// Rules by number of nodes, made once per worker.
class NodeRules {
 public:
  const NodeRule& of(int n);

 private:
  std::map<int, NodeRule> rules_;
};

}  // namespace fettle::chatter
