#pragma once
// Inside of the reduced plate: functions on the mesh's two lines, their energies, and the free modes that polynomials
// make of them. Nobody else includes this.
#include <Eigen/Dense>
#include <array>
#include <vector>

#include "calc/structure/plate_section.h"
#include "calc/structure/reduced.h"

namespace fettle::structure {

/// Functions at the nodes of a line of unit length that is cut into equal elements, and integrals of their products
/// (stretches that are straight in each element): f g; f' g'; products of the elements' means; f' g.
struct Line {
  int elements = 0;
  Eigen::MatrixXd value;  ///< node by function
  Eigen::MatrixXd M, S, A, G;
};
/// Polynomials of degree 0..order, orthonormal in the mass of linear elements.
Line polynomials(int elements, int order);
/// Cosines 0..elements, then sines 0..elements (the first and last are nothing), then the two ends.
Line waves(int elements);

enum class Field { w, bx, by, u, v };
struct Function {
  Field field = Field::w;
  int i = 0, j = 0;  ///< function of the line along X and along Y
};

/// Energies of a plain plate in the full model's elements, between products of functions of two lines.
class Energy {
 public:
  Energy(const Line& x, const Line& y, double length, double width, const Section& section)
      : x_(x), y_(y), a_(length), b_(width), s_(section) {}
  double stiffness(const Function& p, const Function& q) const;
  double mass(const Function& p, const Function& q) const;

 private:
  double stretch(const std::array<double, 3>& c, bool own_twist, const Function& p, const Function& q) const;
  double shear(const Function& p, const Function& q) const;
  const Line &x_, &y_;
  double a_, b_;
  const Section& s_;
};

/// Functions that do not mix with those of other blocks, and the free modes they make.
struct Block {
  std::vector<Function> functions;
  Eigen::MatrixXd modes;    ///< function by mode, mass-normalised
  Eigen::VectorXd squared;  ///< omega^2, rising
  std::vector<int> place;   ///< of each mode in the order of all modes
};
struct FreeModes {
  Line x, y;
  std::vector<Block> blocks;
  Eigen::VectorXd squared;  ///< of all, rising
  int functions = 0, rigid = 0;
};
/// Of the whole plate; false when they do not solve.
bool free_modes(const BasisInputs& in, const Section& section, FreeModes& out);

}  // namespace fettle::structure
