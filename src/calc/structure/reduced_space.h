#pragma once
// Inside of the reduced plate: polynomials on the mesh, their energies, free modes. Nobody else includes this.
#include <Eigen/Dense>
#include <array>
#include <vector>

#include "calc/structure/plate_section.h"
#include "calc/structure/reduced.h"

namespace fettle::structure {

/// Polynomials of degree 0..order at the nodes of a line of unit length cut into elements; orthonormal in the mass of
/// linear elements.
struct Line {
  int elements = 0, order = 0;
  Eigen::MatrixXd value;  ///< node by degree
  Eigen::MatrixXd mean;   ///< element by degree: mean of its two nodes
  Eigen::MatrixXd step;   ///< element by degree: difference of its two nodes
};
Line make_line(int elements, int order);

enum class Field { w, bx, by, u, v };
struct Function {
  Field field = Field::w;
  int i = 0, j = 0;  ///< degrees along X and Y
};

/// Functions that do not mix with those of other blocks, and the free modes they make.
struct Block {
  std::vector<Function> functions;
  Eigen::MatrixXd modes;    ///< function by mode, mass-normalised
  Eigen::VectorXd squared;  ///< omega^2, rising
  std::vector<int> place;   ///< of each mode in the order of all modes
};

/// The polynomials of one motion as a Laplacian of unit stiffness sees them, by parity, without the constant.
struct FieldRest {
  std::vector<std::vector<Function>> functions;
  std::vector<Eigen::MatrixXd> vectors;  ///< of their Laplacian
  std::vector<Eigen::VectorXd> values;
};
/// What the polynomials miss under a small patch: the mesh's own Laplacian in cosines against theirs.
struct Rest {
  Eigen::MatrixXd cos_x, cos_y;  ///< node by wave
  Eigen::MatrixXd mu;            ///< wave x by wave y: of the Laplacian; 0 for the constant
  std::array<FieldRest, 5> field;
};

struct BasisData {
  BasisInputs in;
  Line x, y;
  std::vector<Block> blocks;
  Eigen::VectorXd squared;  ///< all modes, rising
  int modes = 0, kept = 0;
  Section plain;  ///< where the plate has its full thickness
  Rest rest;
};

}  // namespace fettle::structure
