#include "calc/removal/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/removal/removal.h"
#include "finding/reckoner_kit.h"

namespace fettle::removal {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

Outcome<ReckonerAnswer> answer_arc(const ReckonerValues& v) {
  const double d = v["diameter"], width = v["width"], wall = value(v, "wall", 0);
  const bool hollow = v.text.at("side") == "hollow";
  const Outcome<WallArc> arc = wall_arc(d, width, {wall, hollow});
  if (!arc.ok()) return arc.problems();
  ReckonerAnswer a;
  a.number = {{"arc", arc->arc}, {"straight", straight_arc(d, width)}, {"equal_width", arc->equal_width}};
  a.sentence = fmt::format("{} of the rim are in metal, as beside a straight wall with {}.",
                           unit::print(arc->arc, Kind::angle), unit::print(arc->equal_width, Kind::length));
  return a;
}

Reckoner engaged_arc() {
  Reckoner r;
  r.name = "engaged_arc";
  r.science = "removal";
  r.question = "How much of the cutter stands in metal beside this wall?";
  r.inputs = {
      quantity("diameter", Kind::length, "of the cutter", 1e-4, 1),
      quantity("width", Kind::length, "stock that it takes, square to the wall", 0, 1),
      left_out(quantity("wall", Kind::length, "radius of the finished wall; straight when left out", 1e-4, 10)),
      choice("side", "the wall is seen from inside a bore or corner, or bulges out", {"hollow", "bulging"}, "hollow")};
  r.outputs = {{"arc", Kind::angle, "of the rim in metal"},
               {"straight", Kind::angle, "the same beside a straight wall"},
               {"equal_width", Kind::length, "width beside a straight wall that engages as much"}};
  r.formula =
      "straight: cos p = 1 - 2 w/D; round: triangle of the cutter's path e, its radius r and the wall before b: "
      "cos p = +-(b^2 - e^2 - r^2)/(2 e r), plus where hollow";
  r.source = "geometry of two circles";
  r.range = "sharp cutter on its path; hollow walls wider than the cutter; width up to the diameter";
  r.examples = {{{{"diameter", "16 mm"}, {"width", "4 mm"}},
                 {{"arc", "60 deg"}, {"equal_width", "4 mm"}},
                 1e-9,
                 "exact: acos(1/2)"},
                {{{"diameter", "20 mm"}, {"width", "2 mm"}, {"wall", "25 mm"}},
                 {{"arc", "47.15636 deg"}, {"straight", "36.86990 deg"}, {"equal_width", "3.2 mm"}},
                 1e-6,
                 "exact: e 15, r 10, b 23: cos p = (529 - 225 - 100)/300 = 0.68; 10 mm x (1 - 0.68)"},
                {{{"diameter", "16 mm"}, {"width", "0.5 mm"}, {"wall", "12 mm"}, {"side", "bulging"}},
                 {{"arc", "15.90472 deg"}, {"equal_width", "0.30625 mm"}},
                 1e-6,
                 "exact: e 20, r 8, b 12.5: cos p = (400 + 64 - 156.25)/320 = 0.9617"}};
  r.answer = answer_arc;
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() { return {engaged_arc()}; }

}  // namespace fettle::removal
