#pragma once
// Inside of the reduced plate: its answer at rest, exactly as the full model's mesh gives it. Waves that are even about
// every edge (deflection: cosine by cosine; a turn: sine along its own way, cosine across; motion in the plane alike)
// do not mix with each other on a mesh of equal elements; what they leave out is the turn and the stretch square to
// the free edges, one row of unknowns along each. Nobody else includes this.
#include <array>
#include <vector>

#include "calc/structure/reduced_space.h"

namespace fettle::structure {

/// Weights over a box of nodes, column by row of nodes from (column, row).
struct Box {
  int column = 0, row = 0;
  Eigen::MatrixXd weight;
};

/// (K + shift M) of the free plate, factored as L L^T over waves and edges.
class Waves {
 public:
  Waves(const BasisInputs& in, const Section& section, double shift);
  bool ok() const { return ok_; }
  double shift() const { return shift_; }

  /// Rows of a load's column: bending (deflection, turns, edges) and in the plane (two motions, edges).
  Eigen::Index bending_rows() const { return 3 * size_ + edges_; }
  Eigen::Index plane_rows() const { return 2 * size_ + edges_; }
  /// Adds `factor` times the weights on one motion to a column of the kind it belongs to.
  void add(Field field, const Box& box, double factor, Eigen::Ref<Eigen::VectorXd> column) const;
  /// Columns := L^-1 columns: products of two columns are then what one load gives at the other.
  void forward(Eigen::Ref<Eigen::MatrixXd> bending, Eigen::Ref<Eigen::MatrixXd> plane) const;

 private:
  using Table = Eigen::MatrixXd;  ///< wave along X by wave along Y
  /// Bending or motion in the plane: waves block by block, then the edges.
  struct Family {
    std::vector<Field> field;
    std::array<std::array<Table, 3>, 3> low;         ///< factor of each wave's block; the diagonal inverted
    std::array<std::array<Table, 3>, 2> by_x, by_y;  ///< how an edge across X (Y) pulls on each wave, L^-1 of it
    Eigen::LLT<Eigen::MatrixXd> edge;
  };
  Function wave(Field f, int m, int n) const;
  Function rim(Field f, int end, int wave) const;  ///< along_x: at an end of X, with a wave along Y; else the other way
  bool factor(const Energy& energy, Family& family) const;
  void forward(const Family& family, Eigen::Ref<Eigen::MatrixXd> columns) const;

  Line x_, y_;
  double shift_ = 0;
  Eigen::Index size_ = 0, edges_ = 0;
  Family bending_, plane_;
  bool ok_ = false;
};

}  // namespace fettle::structure
