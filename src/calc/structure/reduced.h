#pragma once
// The plate in few unknowns: its own free modes and its exact answer at rest, worked out in a millisecond per plate,
// with anchors and parts joined as small updates. For asking thousands of times: other anchors, other parts, other
// plates.
#include <memory>
#include <string>
#include <vector>

#include "calc/structure/structure.h"

namespace fettle::structure {

struct BasisInputs {
  Plate plate;
  int columns = 28, rows = 24;  ///< elements of the full model whose answer is wanted
  double shear_factor = 5.0 / 6;
  int order = 10;  ///< degree of the polynomials along the geometric mean of the sides
  int kept = 32;   ///< free modes that move, and most that can be asked for; what all others give at rest is exact
  Edge edge = Edge::free;  ///< all four alike; only for checks against published plates
};

struct BasisData;

/// Free modes of one plate, and how it gives at rest. Cheap to copy.
struct Basis {
  bool ok = false;
  std::string why;                          ///< when not ok
  int functions = 0;                        ///< polynomials in all
  double plate_mass = 0;                    ///< kg
  std::vector<double> free;                 ///< Hz, free (or held by its edges), rising, without rigid motion
  std::shared_ptr<const BasisData> data{};  ///< what solve_reduced needs
};

/// Free modes from polynomials on the rectangle, in the energies of the full model's mesh; what all higher modes give
/// at rest from that mesh's own waves, without error. A plain plate comes within 1 % of the full model
/// (bench/reduced_bench.cpp). Refuses what is no plain rectangle of one thickness, and what the full model refuses.
Basis make_basis(const BasisInputs& in);

/// The loaded plate on its anchors. `in.plate`, columns, rows and shear_factor are those of the basis; parts count by
/// their mass. `error` stays 0 (it is known against the full model only); `shapes` and `give` stay empty.
Result solve_reduced(const Basis& basis, const Inputs& in);
/// Both at once.
Result solve_reduced(const Inputs& in);

/// What solve_reduced(in) makes its basis from.
BasisInputs basis_inputs(const Inputs& in);

}  // namespace fettle::structure
