#pragma once
// The plate in few unknowns: its own free modes, worked out once per plate, with anchors and parts joined as small
// updates. For asking thousands of times: other anchors, other parts, other stiffnesses.
#include <memory>
#include <string>
#include <vector>

#include "calc/structure/structure.h"

namespace fettle::structure {

struct BasisInputs {
  Plate plate;
  std::vector<Part> stiff_parts;  ///< parts whose own stiffness counts over their footprint; their mass is not taken
  int columns = 28, rows = 24;    ///< elements of the full model whose answer is wanted
  double shear_factor = 5.0 / 6;
  int order = 14;          ///< degree of the polynomials along the geometric mean of the sides
  int kept = 72;           ///< free modes that move; what the others would give stays as a static residual
  Edge edge = Edge::free;  ///< all four alike; only for checks against published plates
};

struct BasisData;  // reduced_space.h

/// Free modes of one plate. Cheap to copy.
struct Basis {
  bool ok = false;
  std::string why;                          ///< when not ok
  int functions = 0;                        ///< polynomials in all
  double plate_mass = 0;                    ///< kg
  std::vector<double> free;                 ///< Hz, free (or held by its edges), rising, without rigid motion
  std::shared_ptr<const BasisData> data{};  ///< what solve_reduced needs
};

/// Polynomials on the rectangle for deflection, the two turns and the two motions in the plane, in the energies of the
/// full model's mesh; what they miss under a small patch (shear, bending, stretch) is added from the mesh's own
/// cosines. A plain plate comes within 1 % of the full model (bench/reduced_bench.cpp); one with pockets or bonded
/// parts comes out up to several percent too stiff, since polynomials do not follow a step. Refuses a plate with an
/// outline of its own, thin plates without shear, and what the full model refuses.
Basis make_basis(const BasisInputs& in);

/// The loaded plate on its anchors. `in.plate`, columns, rows and shear_factor are those of the basis; bonded parts
/// count as stiff only if the basis was made with them. `error` stays 0: it is known against the full model only.
Result solve_reduced(const Basis& basis, const Inputs& in);
/// Both at once.
Result solve_reduced(const Inputs& in);

/// What solve_reduced(in) makes its basis from.
BasisInputs basis_inputs(const Inputs& in);

}  // namespace fettle::structure
