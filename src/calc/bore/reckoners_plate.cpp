#include "calc/bore/reckoners.h"
#include "calc/bore/surface_plate.h"
#include "finding/reckoner_kit.h"

namespace fettle::bore {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
namespace kit = finding::kit;

}  // namespace

Reckoner plate_reckoner() {
  Reckoner r;
  r.name = "surface_plate";
  r.science = "bore";
  r.question = "How flat is a surface plate of this size and grade, so how far can a height read on it be off?";
  r.inputs = {kit::length("length", "of the plate", 0.01, 5), kit::length("width", "of the plate", 0.01, 5),
              kit::choice("grade", "laboratory AA, inspection A, workshop B", {"AA", "A", "B"}, "A", "the usual one")};
  r.outputs = {{"flatness", Kind::length, "over the whole plate, new or just lapped", true}};
  r.formula = "(40 + D²/25) millionths of an inch for AA, D the diagonal in inches; A twice, B four times";
  r.source = "US Federal Specification GGG-P-463c";
  r.range = "sides up to 5 m; a plate that is worn or not levelled on its three points is worse";
  r.examples = {{{{"length", "36 in"}, {"width", "24 in"}, {"grade", "AA"}},
                 {{"flatness", "0.00011488 in"}},
                 1e-9,
                 "the specification's formula for 24 x 36 in"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    using Grade = SurfacePlate::Grade;
    const std::string& word = v.text.at("grade");
    const Grade g = word == "AA" ? Grade::laboratory : word == "A" ? Grade::inspection : Grade::workshop;
    const auto flat = plate_flatness({v["length"], v["width"], g});
    if (!flat.ok()) return flat.problems();
    ReckonerAnswer a;
    a.number["flatness"] = *flat;
    unit::Style metric, inch;
    metric.gauge = inch.gauge = true;
    inch.system = unit::Style::System::inch;
    a.sentence = "Grade " + word + " of that size is flat within " + unit::print(*flat, Kind::length, metric) + " (" +
                 unit::print(*flat, Kind::length, inch) + ").";
    return a;
  };
  return r;
}

}  // namespace fettle::bore
