#pragma once
// One period of a cut as a linear map, at one speed: what swings and what surface was left, to what swings and what
// surface is left one period later. Private to the multipliers.
#include <Eigen/Dense>
#include <complex>
#include <vector>

#include "calc/chatter/cutter.h"
#include "calc/chatter/floquet_rule.h"
#include "calc/chatter/lobes_structure.h"

namespace fettle::chatter {

struct CutAtSpeed {
  const Structure* structure = nullptr;
  const Cutter* cutter = nullptr;
  double turns = 0;
  double flank = 0, friction = 0;  ///< N/m of flank force per speed ratio and depth; friction
  double finer = 1;                ///< factor on the number of nodes
};
/// All gaps alike within 1e-6 rad: then one tooth period is the window, else a whole turn.
bool nearly_even(const Cutter& cutter);

class FloquetMap {
 public:
  FloquetMap(const CutAtSpeed& cut, NodeRules& rules);
  int nodes() const { return static_cast<int>(events_.size()); }
  /// The most unknowns that must be solved for together.
  int largest_block() const;
  /// False: more than a second a look; then nothing but these three may be asked.
  bool usable() const { return largest_block() <= 700 && nodes() <= 6000; }
  /// The multiplier of largest magnitude at an axial depth, m. `sure`: the residual of its vector is small, or all
  /// multipliers of the map were computed.
  struct Largest {
    std::complex<double> mu;
    bool sure = false;
  };
  /// Starts from the vector of the depth asked before, if any, so that the last digits depend on what was asked.
  Largest largest(double depth);
  /// Hz, of the strongest part of the motion that goes with the multiplier found last; 0 when none was found.
  double frequency();

 private:
  using Complex = std::complex<double>;
  using Index = Eigen::Index;
  /// A tooth on a sub-arc; the same sub-arc has the same nodes for every tooth.
  struct Segment {
    int tooth = 0, interval = 0;
    int whole = 0;               ///< windows between the tooth's entry and this
    double start = 0, stop = 0;  ///< rad of turning since the window began
    double arc = 0;              ///< rad from entry at its start
    const NodeRule* rule = nullptr;
    int first = 0, count = 0;  ///< events
    int before = 0;            ///< segment that left this surface
    bool same_window = false;  ///< it did so in this window
  };
  struct Event {
    double time = 0;  ///< s since the window began
    double angle = 0;
    int before = 0;            ///< event that left this surface
    bool same_window = false;  ///< it happened in this window
  };
  /// Segments that overlap in time are solved together; blocks follow one another.
  struct Block {
    int from = 0, to = 0;       ///< segments
    int first = 0, count = 0;   ///< events
    double begin = 0, end = 0;  ///< s: where the state is taken, and where it is handed on
    Eigen::MatrixXd V, P, Q;    ///< events by forces, events by state, state by forces
    std::vector<Complex> E;     ///< what each mode keeps over the block
    bool own_surface = false;   ///< some surface met here was left here
    Eigen::PartialPivLU<Eigen::MatrixXd> lu;
  };
  /// Kernels of all modes together over a segment's own time: six of displacement, six of speed, each (nodes, finer).
  struct Kernels {
    const NodeRule* rule = nullptr;
    double length = 0;
    std::vector<Eigen::MatrixXd> of;
  };

  void lay_out(const CutAtSpeed& cut, NodeRules& rules);
  void segments_of(const std::vector<double>& enters, const std::vector<double>& cuts);
  bool straddled() const;
  void number(const CutAtSpeed& cut, NodeRules& rules);
  void fill(const CutAtSpeed& cut, Block& block);
  void add_own(const CutAtSpeed& cut, Block& block, const Segment& s, const Segment& source);
  void add_loose(const CutAtSpeed& cut, Block& block, int event, const Segment& source);
  const Kernels& kernels(const NodeRule& rule, double length);
  void factor(double depth);
  void step(const Eigen::VectorXd& in, Eigen::VectorXd& out);

  CutAtSpeed cut_;
  std::vector<SwingMode> modes_;
  std::vector<Complex> rate_;
  std::vector<double> size_;
  std::vector<Segment> segments_;
  std::vector<Event> events_;
  std::vector<Block> blocks_;
  std::vector<Kernels> kernels_;
  double period_ = 0, window_ = 0, spin_ = 0;  ///< s, rad, rad/s
  int channels_ = 1;                           ///< chip; chip and flank
  bool simple_ = true;                         ///< every surface was left one window ago
  double depth_ = 0;
  std::complex<double> mu_ = 0;
  Eigen::VectorXd warm_, warm_imaginary_, state_, rhs_, free_, forces_;
  Eigen::MatrixXd basis_;
};

}  // namespace fettle::chatter
