#pragma once
// One period of a cut as a linear map, at one speed: what swings and what surface was left, to what swings and what
// surface is left one period later. Private to the multipliers.
#include <Eigen/Dense>
#include <complex>
#include <map>
#include <vector>

#include "calc/chatter/cutter.h"
#include "calc/chatter/lobes_structure.h"

namespace fettle::chatter {

/// Nodes of Gauss and Legendre on (-1, 1), with the tables that integrate an interpolated function against a kernel.
struct NodeRule {
  Eigen::VectorXd x;                     ///< nodes
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

struct CutAtSpeed {
  const Structure* structure = nullptr;
  const Cutter* cutter = nullptr;
  double turns = 0;
  double flank = 0, friction = 0;  ///< N/m of flank force per speed ratio and depth; friction
  double finer = 1;                ///< factor on the number of nodes
};

class FloquetMap {
 public:
  FloquetMap(const CutAtSpeed& cut, NodeRules& rules);
  double period() const { return period_; }
  int nodes() const { return static_cast<int>(events_.size()); }
  /// The multiplier of largest magnitude at an axial depth, m. `sure`: the residual of its vector is small, or all
  /// multipliers of the map were computed.
  struct Largest {
    std::complex<double> mu;
    bool sure = false;
  };
  Largest largest(double depth);

 private:
  struct Segment {
    int tooth = 0;
    double start = 0, stop = 0;  ///< rad of turning since the window began
    double arc = 0;              ///< rad from entry at its start
    int first = 0;               ///< index of its first node
  };
  struct Event {
    double time = 0;  ///< s since the window began
    double angle = 0;
    int segment = 0, local = 0;
    int before = 0;            ///< event that left this surface
    bool same_window = false;  ///< it happened in this window
  };
  void lay_out(const CutAtSpeed& cut, NodeRules& rules);
  void fill(const CutAtSpeed& cut);
  void step(const Eigen::VectorXd& in, Eigen::VectorXd& out) const;
  void add_inside(const CutAtSpeed& cut, const Segment& s, int event, double scale);

  std::vector<SwingMode> modes_;
  std::vector<Segment> segments_;
  std::vector<Event> events_;
  const NodeRule* rule_ = nullptr;
  double period_ = 0, window_ = 0, spin_ = 0;  ///< s, rad, rad/s
  int channels_ = 1;                           ///< chip; chip and flank
  bool simple_ = true;                         ///< every surface was left one window ago
  Eigen::MatrixXd V_, P_, Q_;                  ///< events by forces, events by state, state by forces
  std::vector<std::complex<double>> E_;
  // At the depth last asked for.
  Eigen::MatrixXd system_;
  Eigen::PartialPivLU<Eigen::MatrixXd> lu_;
  double depth_ = 0;
  mutable Eigen::VectorXd rhs_, w_, free_;
};

}  // namespace fettle::chatter
