#pragma once
// Solids of our own: the demo's part and casting, and re-exports of models. All work runs in the kernel child.
#include <cstdint>
#include <string>

#include "base/outcome.h"

namespace fettle::solid {

/// STEP text (AP242) of the finished demo part: 132 x 92 x 36 with its bores, groove, pockets and holes, origin in the
/// middle of the bottom face (datum A), Z up, millimetres. Sizes, datums and position tolerances are attached.
Outcome<std::string> demo_part();

/// STEP text of its raw casting in the same frame: draft 1.5 deg both ways from the parting line at mid thickness,
/// where the sizes hold; straight cored counterbore; two gate stubs on the -Y edge.
Outcome<std::string> demo_casting();

/// Writes DIR/wvb3.step and DIR/wvb3-casting.step. The same bytes every time.
Outcome<bool> write_demo_models(const std::string& directory);

/// STEP text of a small sample solid that shows features the demo part has not: "shaft" (shoulder and ring groove) or
/// "slots" (a block with an open slot, a blind slot with round ends, a pocket open at one side, a pocket with a floor
/// fillet, a countersunk hole, a round-bottomed hole, a boss); or of a small part of another kind: "flange" (round, six
/// holes on a circle), "bar" (long, a bore at either end), "cover" (thin), "box" (bores along X and along Y), "ell"
/// (two legs at a right angle, a boss where they meet), "leaning" (that box with a hole that lies along no axis),
/// "stepped" (a pocket with a deeper one in its floor),
/// "plate 6", "plate 12", "plate 24" (so many holes, no two alike).
Outcome<std::string> sample_solid(const std::string& which);

struct Rewrite {
  std::uint64_t shuffle = 0;  ///< 0: faces in their order; else another order for each number
  bool splines = false;       ///< every surface and curve as a spline
};

/// The solid of a STEP text written anew by the kernel: other entity numbers, other face order, drawing tolerances
/// lost.
Outcome<std::string> rewrite_step(const std::string& text, const std::string& name, const Rewrite& how);

}  // namespace fettle::solid
