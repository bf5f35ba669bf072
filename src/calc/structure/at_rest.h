#pragma once
// One plate, factored once, answers for any stiffness of its anchors and for more of them: what they change is a small
// update. For bands and for trying where an anchor helps.
#include <array>
#include <string>
#include <vector>

#include "calc/structure/factored.h"
#include "calc/structure/structure.h"

namespace fettle::structure {

struct AtRestInputs {
  Inputs plate;                 ///< with its anchors as stated; modes are not looked at
  std::vector<Anchor> tried{};  ///< places where one more may stand; their stiffness is given later
  bool parts = false;           ///< asks the six motions of every part instead of the points: any point on it follows
};
struct AtRest {
  bool ok = false;
  std::string why;            ///< when not ok
  int anchors = 0;            ///< stated ones, then those tried
  std::vector<double> up;     ///< N/m, of the anchors as they are in (tried ones 0)
  std::vector<double> side;   ///< the same, sideways
  std::vector<double> polar;  ///< m2, of each patch
  std::vector<double> give;  ///< symmetric, row by row: nine motions of each anchor, then three of each point or six of
                             ///< each part, per unit force
  std::vector<std::array<double, 2>> middle;  ///< m, of what each part stands on, when parts were asked
  double residual = 0;                        ///< relative, of a load that was solved in full
};
/// Factors the plate. As sure as the full model; needs stated anchors that hold it.
AtRest at_rest(const AtRestInputs& in);
/// The same with the plate of `in.plate` factored already.
AtRest at_rest(const Factored& plate, const AtRestInputs& in);

/// Compliance of each point, 3 x 3, m/N, with every anchor's stiffness (N/m, anchors as AtRest counts them; 0: not
/// there). An anchor far softer or stiffer than stated comes within some 0.3 %: a patch is taken by nine motions.
/// Empty when the numbers of anchors do not agree or nothing would hold the plate.
std::vector<std::array<double, 9>> give_with(const AtRest& plate, const std::vector<double>& up,
                                             const std::vector<double>& side);
/// The same, 6 x 6, of each part at itself, where parts were asked (felt.h takes it to a point).
std::vector<std::array<double, 36>> parts_with(const AtRest& plate, const std::vector<double>& up,
                                               const std::vector<double>& side);

}  // namespace fettle::structure
