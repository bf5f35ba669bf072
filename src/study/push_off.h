#pragma once
// What a finishing cut leaves because tool and pallet give way under it: the size error that the ledger draws.
#include <functional>
#include <string>
#include <vector>

#include "ref/cutting.h"
#include "study/internal.h"

namespace fettle::study {

/// One surface and the tool that cuts it last. Metal left is positive: along the outward normal of a face or wall, off
/// the diameter of a bore or groove.
struct Push {
  std::string tool;
  /// m, half of what changes from soft iron and a new edge to hard iron and a used one, at middling stock; and from
  /// least to most stock, in middling iron. Of the nest where it is most.
  double iron = 0, stock = 0;
  double constant = 0;          ///< m, at middling iron and stock, mean of the nests: an offset takes it out
  std::vector<double> by_nest;  ///< share of `iron` and `stock` that each nest sees, 0..1; empty: off the pallet
  std::vector<double> beside;   ///< m, what each nest's constant part differs from `constant`; empty: off the pallet
  /// Why part or all of it cannot be worked out: the assumed scatter stands besides.
  std::vector<std::string> missing;
  bool known() const { return iron > 0 || stock > 0; }
};

/// What printed forces and assumed stiffnesses leave open of all this, as a factor.
ref::Banded push_off_band();

/// Asked surface by surface, each worked out once: the operation that makes it last there, and its reference ("F3",
/// "F1.+x", "F2"). Sizes: of a bore or groove on its diameter.
using PushOf = std::function<Push(const plan::Operation&, const std::string& surface)>;
PushOf push_offs(Context& c);

}  // namespace fettle::study
