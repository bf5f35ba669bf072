#include "plan/schema.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"

namespace fettle::plan {

namespace {

using unit::Kind;

Type type_of(const Number*) { return Type::number; }
Type type_of(const Integer*) { return Type::integer; }
Type type_of(const Flag*) { return Type::flag; }
Type type_of(const Text*) { return Type::text; }
Type type_of(const Texts*) { return Type::texts; }
Type type_of(const Points*) { return Type::points; }
Type type_of(const Sizes*) { return Type::sizes; }
Type type_of(const Limits*) { return Type::limits; }
Type type_of(const Spread*) { return Type::spread; }
Type type_of(const Thread*) { return Type::thread; }

/// Builds one key; each step returns the key itself.
struct K : Key {
  template <class S, class V>
  K(std::string key, V S::*member, std::string words) {
    name = std::move(key);
    help = std::move(words);
    type = type_of(static_cast<const V*>(nullptr));
    at = [member](void* s) -> void* { return &(static_cast<S*>(s)->*member); };
    if (type == Type::limits || type == Type::spread || type == Type::points || type == Type::sizes)
      kind = Kind::length, high = 100;
    if (type == Type::limits || type == Type::points) low = -100;
    if (type == Type::sizes) low = 0, low_open = true;
  }
  K& of(Kind k) { return kind = k, *this; }
  K& from(double x) { return low = x, *this; }
  K& above(double x) { return low = x, low_open = true, *this; }
  K& to(double x) { return high = x, *this; }
  K& def(std::string text, std::string where, std::string cheap = {}) {
    return fallback = std::move(text), source = std::move(where), replaced_by = std::move(cheap), *this;
  }
  K& eg(std::string text) { return example = std::move(text), *this; }
  K& must() { return required = true, *this; }
  K& one_of(std::vector<std::string> words) { return choices = std::move(words), *this; }
  K& ref(std::string k) { return refers = std::move(k), *this; }
  K& ref_side() { return refers = "feature", side = true, *this; }
  K& or_bare() { return bare = true, *this; }
  K& named() { return thing = true, *this; }
  K& count(int n) { return numbers = n, *this; }
  K& or_angle() { return angle_too = true, *this; }
  K& length(double lo = 0) { return of(Kind::length).from(lo).to(100); }
  K& coordinate() { return of(Kind::length).from(-100).to(100); }
};

template <class S, class V>
Key sub(std::string name, V S::*member, const Table& table) {
  Key k;
  k.name = std::move(name);
  k.type = Type::table;
  k.table = &table;
  k.help = table.help;
  k.at = [member](void* s) -> void* { return &(static_cast<S*>(s)->*member); };
  return k;
}
template <class S, class V>
Key list(std::string name, std::vector<V> S::*member, const Table& table) {
  Key k;
  k.name = std::move(name);
  k.type = Type::tables;
  k.table = &table;
  k.help = table.help;
  k.append = [member](void* s) -> void* { return &(static_cast<S*>(s)->*member).emplace_back(); };
  k.count = [member](const void* s) { return (static_cast<const S*>(s)->*member).size(); };
  k.item = [member](const void* s, std::size_t i) -> const void* { return &(static_cast<const S*>(s)->*member)[i]; };
  return k;
}
Key needed(Key k) {
  k.required = true;
  return k;
}
template <class S>
std::function<Place*(void*)> place_of() {
  return [](void* s) -> Place* { return &static_cast<S*>(s)->place; };
}

const std::vector<std::string> directions = {"+x", "-x", "+y", "-y", "+z", "-z"};
constexpr double deg = 3.14159265358979323846 / 180, big = 1e12;

const Table& header_table() {
  static const Table t{
      "plan",
      "What this plan is, how results are printed, and which files it stands on.",
      "",
      {K("name", &Header::name, "name of the plan, on every paper").must().eg("WVB-3 plan 0"),
       K("revision", &Header::revision, "your own revision mark").eg("B"),
       K("date", &Header::date, "date printed on papers; no clock is ever read").eg("2026-11-02"),
       K("units", &Header::units, "how results are printed for the reader of this plan")
           .one_of({"metric", "inch"})
           .def("metric", "common practice"),
       K("shop", &Header::shop, "path of the shop file (machines, tools, gauges, people), from this file's folder")
           .eg("shop.toml"),
       K("pallet", &Header::pallet, "path of a pallet file, when the pallet serves several parts")
           .eg("pallet-4up.toml"),
       K("goal", &Header::goal, "share of parts that may fall outside one requirement")
           .eg("0.1 %")
           .of(Kind::fraction)
           .above(0)
           .to(0.5)
           .def("0.1 %", "common practice"),
       K("castings", &Header::castings, "how many virtual castings are tried")
           .eg("20000")
           .from(100)
           .to(10000000)
           .def("20000", "enough to tell 0.1 % from 0.2 %"),
       K("seed", &Header::seed, "seed of every random stream: same seed, same bytes")
           .eg("1")
           .from(0)
           .to(2147483647)
           .def("1", "any number will do"),
       K("note", &Header::note, "free words")},
      {}};
  return t;
}

const Table& part_table() {
  static const Table t{
      "part",
      "The finished part. Its frame: the origin and axes in which every point of the plan is given.",
      "",
      {K("name", &Part::name, "drawing name").eg("wing-valve body WVB-3"),
       K("material", &Part::material, "grade; sets density, E, expansion unless given").eg("EN-GJL-250"),
       K("model", &Part::model, "STEP file of the finished part").eg("models/wvb3.step"),
       K("size", &Part::size, "finished size along X, Y, Z").count(3).eg("132.00 x 92.00 x 36.00 mm"),
       K("corner_radius", &Part::corner_radius, "radius of the outside corners in plan view").eg("12 mm").length(),
       K("mass", &Part::mass, "finished mass").of(Kind::mass).above(0).to(1e5).eg("2.595 kg"),
       K("density", &Part::density, "density; from the material when not given")
           .eg("7.20 kg/dm³")
           .of(Kind::density)
           .above(0)
           .to(3e4),
       K("elasticity", &Part::elasticity, "Young's modulus; from the material when not given")
           .eg("110 GPa")
           .of(Kind::pressure)
           .above(0)
           .to(1e13),
       K("poisson", &Part::poisson, "Poisson's ratio; from the material when not given").eg("0.26").from(0).to(0.5),
       K("expansion", &Part::expansion, "thermal expansion; from the material when not given")
           .of(Kind::expansion)
           .from(0)
           .to(1e-3)
           .eg("10.5e-6 1/K"),
       K("cutting_force", &Part::cutting_force,
         "specific cutting force kc1.1 of its iron (1 mm wide, 1 mm thick chip), when measured; by grade and hardness "
         "when not said")
           .eg("1160 N/mm²")
           .of(Kind::pressure)
           .above(0)
           .to(2e10),
       K("chip_exponent", &Part::chip_exponent, "exponent mc of kc = kc1.1 h^-mc, h in mm; belongs to cutting_force")
           .eg("0.26")
           .from(0)
           .to(0.9),
       K("symmetry", &Part::symmetry, "turns after which the part looks the same")
           .one_of({"half turn x", "half turn y", "half turn z", "quarter turn z"}),
       K("note", &Part::note, "free words")},
      {}};
  return t;
}

const Table& feature_table() {
  static const Table t{
      "feature",
      "One thing that is machined or used: a face, a profile, a bore. Operations, locators and requirements name it by "
      "id.",
      "feature",
      {K("id", &Feature::id, "short name, used everywhere").must().eg("F2"),
       K("name", &Feature::name, "words for people").eg("counterbore"),
       K("kind", &Feature::kind,
         "what it is (a surface is any other face that a requirement is about); a profile has the sides +x -x +y -y "
         "(\"F1.+x\")")
           .must()
           .one_of({"face", "profile", "bore", "counterbore", "hole", "thread", "pocket", "slot", "groove", "boss",
                    "chamfer", "datum", "surface"}),
       K("at", &Feature::at, "where: centre of a face, axis point of a bore; several points make a pattern, all alike")
           .eg("-44, -34 mm"),
       K("normal", &Feature::normal, "outward normal of a face, or direction in which a bore opens").one_of(directions),
       K("diameter", &Feature::diameter, "diameter, with limits as far as they are known")
           .above(0)
           .or_bare()
           .eg("Ø50 H8"),
       K("width", &Feature::width, "width (along X for pockets), with limits as far as they are known")
           .above(0)
           .or_bare()
           .eg("30.00 ± 0.10 mm"),
       K("length", &Feature::length, "length (along Y for pockets), with limits as far as they are known")
           .above(0)
           .or_bare()
           .eg("22.00 ± 0.10 mm"),
       K("from", &Feature::from, "lower end along its axis (a bore's or groove's extent)").eg("18 mm").coordinate(),
       K("to", &Feature::to, "upper end along its axis").eg("36 mm").coordinate(),
       K("radius", &Feature::radius, "corner radius").eg("6 mm").length(),
       K("angle", &Feature::angle, "cone or chamfer angle").eg("90 deg").of(Kind::angle).from(0).to(180 * deg),
       K("size", &Feature::size, "extent of a face, or of a profile along X and Y").count(2).eg("132.00 x 92.00 mm"),
       K("thread", &Feature::thread, "thread").eg("M8-6H"),
       K("drill", &Feature::drill, "tapping drill diameter; from the thread when not given").eg("6.8 mm").length(),
       K("depth", &Feature::depth, "depth of hole").eg("22 mm").length(),
       K("thread_depth", &Feature::thread_depth, "depth of full thread").eg("16 mm").length(),
       K("faces", &Feature::faces, "face ids of the model, written by `fettle begin`").eg("#120"),
       K("datum", &Feature::datum,
         "datum letter on the drawing; for a pattern one letter a point, - for a point that is none: \"B - C\"")
           .eg("A"),
       K("cast", &Feature::cast, "what is there before it is cut: cast skin, a cored hole, or solid metal")
           .one_of({"skin", "cored", "solid"}),
       K("over", &Feature::over,
         "the later surface that this one prepares on the same metal, when a surface is cut twice")
           .ref_side()
           .eg("F1.-y"),
       K("ring", &Feature::ring, "O-ring that a groove takes, by its dash size").eg("AS568-135"),
       K("mate", &Feature::mate,
         "diameter of what the ring seals against: the plug of a groove in a bore, the bore of a groove on a plug")
           .above(0)
           .or_bare()
           .eg("Ø50 f7"),
       K("note", &Feature::note, "free words")},
      place_of<Feature>()};
  return t;
}

const Table& requirement_table() {
  static const Table t{
      "requirement",
      "What the drawing asks of a feature.",
      "requirement",
      {K("id", &Requirement::id, "short name").must().eg("F2-F4.coaxial"),
       K("feature", &Requirement::feature, "the feature it is about").eg("F2").must().ref_side(),
       K("kind", &Requirement::kind, "what is asked")
           .must()
           .one_of({"size", "distance", "position", "coaxiality", "perpendicularity", "parallelism", "angularity",
                    "flatness", "straightness", "roundness", "cylindricity", "symmetry", "profile", "runout",
                    "total runout", "roughness", "depth", "angle", "other"}),
       K("limits", &Requirement::limits, "limits, or the width of the zone as `max`; an angle only for the kind angle")
           .or_angle()
           .eg("132.00 ± 0.10 mm"),
       K("to", &Requirement::to, "the other end of a distance or coaxiality").eg("F4").ref_side(),
       K("datums", &Requirement::datums, "datum letters in order").eg("A"),
       K("modifiers", &Requirement::modifiers, "material and zone modifiers, in words").eg("maximum material"),
       K("operation", &Requirement::operation, "the operation after which it is looked at").eg("OP30").ref("operation"),
       K("gauge", &Requirement::gauge,
         "the gauge of the shop file that measures it; else the one whose `features` name it")
           .eg("air")
           .ref("gauge"),
       K("goal", &Requirement::goal, "share that may fall outside; the plan's goal unless said")
           .eg("0.1 %")
           .of(Kind::fraction)
           .above(0)
           .to(0.5),
       K("escape_cost", &Requirement::escape_cost, "what one bad part that reaches the customer costs")
           .eg("90 EUR")
           .of(Kind::money)
           .from(0)
           .to(big),
       K("critical", &Requirement::critical, "the part lives or dies by it"),
       K("origin", &Requirement::origin, "where it was read, written by `fettle begin`"),
       K("note", &Requirement::note, "free words")},
      place_of<Requirement>()};
  return t;
}

const Table& cast_size_table() {
  static const Table t{
      "casting.size",
      "A raw dimension of the casting.",
      "size",
      {K("id", &CastSize::id, "short name").must().eg("thickness"),
       K("kind", &CastSize::kind, "outside dimension, cored or inside dimension, or a height from another surface")
           .one_of({"outside", "inside", "height"})
           .def("outside", "the usual case"),
       K("between", &CastSize::between, "the two finished surfaces it lies over").ref_side().eg("F11"),
       K("feature", &CastSize::feature, "the bore a cored diameter becomes, or the floor a cored height becomes")
           .eg("F2")
           .ref_side(),
       K("raw", &CastSize::raw, "nominal raw dimension, at the parting line").length().eg("39.9 mm"),
       K("stock", &CastSize::stock,
         "metal to remove on the last surface in `between`, when it is not half of the difference")
           .eg("1.90 mm")
           .length(),
       K("tolerance", &CastSize::tolerance, "whole tolerance (not plus-minus); from the grade when not given")
           .eg("2.2 mm")
           .length(),
       K("grade", &CastSize::grade, "DCTG for this dimension, when it differs").eg("9").from(1).to(16),
       K("spread", &CastSize::spread, "one standard deviation; tolerance/6 when not given").eg("0.30 mm").length(),
       K("measured_as", &CastSize::measured_as, "column of the measured table").eg("thick")},
      place_of<CastSize>()};
  return t;
}
const Table& core_table() {
  static const Table t{
      "casting.core",
      "A core and how far it may sit off its place.",
      "core",
      {K("id", &Core::id, "short name").must().eg("core"),
       K("features", &Core::features, "the features it makes, before they are cut").eg("F2").ref("feature"),
       K("shift_x", &Core::shift_x, "core shift along X, one standard deviation")
           .eg("0.35 mm")
           .length()
           .def("0.3 mm (0.15..0.6 mm)", "from memory: job practice for green sand", "measure 12 castings with a tape"),
       K("shift_y", &Core::shift_y, "core shift along Y, one standard deviation")
           .eg("0.30 mm")
           .length()
           .def("0.3 mm (0.15..0.6 mm)", "from memory: job practice for green sand", "measure 12 castings with a tape"),
       K("shift_z", &Core::shift_z, "core height error, one standard deviation")
           .eg("0.2 mm")
           .length()
           .def("0.2 mm (0.1..0.4 mm)", "from memory", "measure 12 cored floors with a depth gauge"),
       K("turn", &Core::turn, "turn of the core about its axis, one standard deviation")
           .eg("0.5 deg")
           .of(Kind::angle)
           .from(0)
           .to(45 * deg)
           .def("0 deg", "a round core may turn freely"),
       K("draft", &Core::draft, "draft on the cored wall")
           .eg("1 deg")
           .of(Kind::angle)
           .from(0)
           .to(20 * deg)
           .def("0 deg", "none unless said"),
       K("size", &Core::size, "core diameter, one standard deviation; tolerance/6 of its raw size when not given")
           .eg("0.3 mm")
           .length(),
       K("note", &Core::note, "free words")},
      place_of<Core>()};
  return t;
}
const Table& gate_table() {
  static const Table t{"casting.gate",
                       "Where metal came in: a stub that stands proud after grinding off.",
                       "gate",
                       {K("id", &Gate::id, "short name").eg("gate 1").must(),
                        K("face", &Gate::face, "the surface it stands on").eg("F1.-y").must().ref_side(),
                        K("at", &Gate::at, "where").must().eg("-30, -46, 18 mm"),
                        K("width", &Gate::width, "width of the stub")
                            .eg("18 mm")
                            .length()
                            .def("20 mm (10..40 mm)", "common practice", "measure one"),
                        K("height", &Gate::height, "most it stands proud")
                            .eg("1.0 mm")
                            .length()
                            .def("1 mm (0..2 mm)", "common practice", "measure one")},
                       place_of<Gate>()};
  return t;
}
const Table& measured_table() {
  static const Table t{"casting.measured",
                       "Castings that were measured.",
                       "",
                       {K("table", &Measured::table, "CSV file, one casting a row").eg("castings.csv"),
                        K("faces", &Measured::faces,
                          "CSV file of readings face by face: casting, surface, x, y, z, offset (how far the skin "
                          "stands outside its nominal place there)")
                            .eg("faces.csv"),
                        K("scan", &Measured::scan, "PLY or STL scan of one casting").eg("casting-7.ply"),
                        K("unit", &Measured::unit, "unit of the numbers, when the header does not say").eg("mm"),
                        K("columns", &Measured::columns,
                          "what each column is, as \"column = size id\" or one of: core x, core y, core z, warp, "
                          "number, ignore; a column "
                          "named like one of these needs no word here")
                            .eg("thick = thickness"),
                        K("note", &Measured::note, "free words")},
                       {}};
  return t;
}
const Table& casting_table() {
  static const Table t{
      "casting",
      "The raw casting: what was ordered, and what came.",
      "",
      {K("process", &Casting::process, "the foundry's words").eg("machine-moulded green sand"),
       K("model", &Casting::model, "STEP file of the raw casting").eg("models/wvb3-casting.step"),
       K("points", &Casting::points,
         "where stock is looked at: on plain features, or on the faces of both models (sees corners and gates; needs "
         "part.model and casting.model in one frame)")
           .one_of({"features", "models"})
           .def("features", "no model is needed"),
       K("grade", &Casting::grade, "grade of iron, when it differs from the part's").eg("EN-GJL-200"),
       K("tolerance_grade", &Casting::tolerance_grade, "DCTG of ISO 8062-3").from(1).to(16).eg("9"),
       K("allowance_grade", &Casting::allowance_grade, "RMAG of ISO 8062-3")
           .one_of({"A", "B", "C", "D", "E", "F", "G", "H", "J", "K"})
           .eg("F"),
       K("draft", &Casting::draft, "draft on the walls, away from the parting line")
           .of(Kind::angle)
           .from(0)
           .to(20 * deg)

           .def("1.5 deg (0..3 deg)", "from memory: sand castings 1 to 3 degrees", "hold a square against the wall")
           .eg("1.5 deg"),
       K("parting", &Casting::parting, "height of the parting line in the part frame").eg("18.05 mm").coordinate(),
       K("skin", &Casting::skin, "least depth of the first cut on cast skin")
           .eg("0.8 mm")
           .length()
           .def("0.8 mm (0.5..1.0 mm)", "from memory: skin 0.5 to 1 and its roughness",
                "cut one casting across and look"),
       K("hardness", &Casting::hardness, "hardness as ordered or measured, HB").eg("180..220 HB, corners to 260 HB"),
       K("density", &Casting::density, "density, when it differs").eg("7.15 kg/dm³").of(Kind::density).above(0).to(3e4),
       K("mass", &Casting::mass, "raw mass").eg("3.51 kg").of(Kind::mass).above(0).to(1e5),
       K("mismatch", &Casting::mismatch, "mould mismatch across the parting line, one standard deviation each way")
           .eg("0.15 mm")
           .length()
           .def("0.15 mm (0.05..0.4 mm)", "from memory", "feel the parting line of 12 castings with a feeler"),
       K("scale", &Casting::scale, "shrinkage error of the whole, one standard deviation")
           .of(Kind::fraction)
           .from(0)
           .to(0.1)
           .def("0.1 % (0..0.3 %)", "from memory", "measure the longest dimension of 12 castings"),
       K("warp", &Casting::warp, "bow over the longest length, one standard deviation")
           .eg("0.18 mm")
           .length()
           .def("0.15 mm (0.05..0.4 mm)", "from memory", "feeler gauge on a plate, 12 castings"),
       K("texture", &Casting::texture, "local roughness of the skin, one standard deviation")
           .eg("0.05 mm")
           .length()
           .def("0.05 mm (0.02..0.1 mm)", "from memory", "depth gauge at ten spots"),
       K("price", &Casting::price, "price of one casting").eg("9.80 EUR").of(Kind::money).from(0).to(big),
       K("min_lot", &Casting::min_lot, "least order").eg("300").from(1).to(100000000),
       K("lead_time", &Casting::lead_time, "from order to door").eg("8 week").of(Kind::time).from(0).to(3650 * 86400.0),
       K("pattern_cost", &Casting::pattern_cost, "price of the pattern").eg("4200 EUR").of(Kind::money).from(0).to(big),
       K("note", &Casting::note, "free words"),
       list("size", &Casting::sizes, cast_size_table()),
       list("core", &Casting::cores, core_table()),
       list("gate", &Casting::gates, gate_table()),
       sub("measured", &Casting::measured, measured_table())},
      place_of<Casting>()};
  return t;
}

const Table& locator_table() {
  static const Table t{
      "operation.locator",
      "One point that says where the part sits. Rests, stops and jaws touch a surface at a point; probing a pair sets "
      "the middle.",
      "locator",
      {K("id", &Locator::id, "short name").eg("rest 1"),
       K("kind", &Locator::kind,
         "rest, stop or jaw: one point on one surface; centre: the middle between the two surfaces in `on`, by probe "
         "or by a self-centring vise; round pin, relieved pin: in the hole in `on`")
           .must()
           .one_of({"rest", "stop", "jaw", "centre", "round pin", "relieved pin", "chuck"}),
       K("on", &Locator::on,
         "the surface it touches, raw or cut as the route has left it; a centre says both: \"F1.+x F1.-x\"")
           .must()
           .ref_side()
           .eg("F1.-y"),
       K("at", &Locator::at, "where it touches, in the part frame; several points make several locators")
           .eg("30, -46, 18 mm"),
       K("normal", &Locator::normal, "outward normal of the surface it touches; from the feature when not given")
           .one_of(directions),
       K("diameter", &Locator::diameter, "diameter, round pin").above(0).eg("8 g6"),
       K("land", &Locator::land, "diameter over the lands, relieved pin").above(0).eg("7.970..7.978 mm"),
       K("land_width", &Locator::land_width, "width of a land, relieved pin").eg("1.6 mm").length().above(0),
       K("repeat", &Locator::repeat, "how well it repeats, one standard deviation").eg("0.01 mm").length().named(),
       K("stiffness", &Locator::stiffness, "contact stiffness")
           .eg("800 kN/mm")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12)
           .named(),
       K("friction", &Locator::friction, "friction at the contact").eg("0.15").from(0).to(2).named(),
       K("thing", &Locator::thing, "a named thing that brings its own numbers").eg("hard jaw"),
       K("note", &Locator::note, "free words")},
      place_of<Locator>()};
  return t;
}
const Table& clamp_table() {
  static const Table t{
      "operation.clamp",
      "What holds the part.",
      "clamp",
      {K("id", &Clamp::id, "short name").eg("jaw"),
       K("kind", &Clamp::kind, "how it holds").must().one_of({"screw", "strap", "vise", "jaw", "magnet", "vacuum"}),
       K("on", &Clamp::on, "the surface it presses on").eg("F11").ref_side(),
       K("at", &Clamp::at, "where").eg("0, 46, 18 mm"),
       K("direction", &Clamp::direction, "way the force pushes").one_of(directions),
       K("force", &Clamp::force, "clamp force, all together").of(Kind::force).from(0).to(1e8).eg("20 kN"),
       K("torque", &Clamp::torque, "tightening torque").eg("28 N·m").of(Kind::torque).from(0).to(1e6),
       K("screw", &Clamp::screw, "thread of the screw").eg("M8"),
       K("strength", &Clamp::strength, "property class").eg("12.9"),
       K("lubrication", &Clamp::lubrication, "how the screw is tightened").one_of({"dry", "oiled", "paste"}),
       K("wrench_scatter", &Clamp::wrench_scatter, "scatter of the wrench, plus and minus")
           .eg("6 %")
           .of(Kind::fraction)
           .from(0)
           .to(1),
       K("friction", &Clamp::friction, "friction under the clamp").eg("0.15").from(0).to(2).named(),
       K("stiffness", &Clamp::stiffness, "contact stiffness of one part")
           .eg("hard jaw")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12)
           .named(),
       K("pull", &Clamp::pull, "holding pull of a magnet or vacuum on what touches it")
           .eg("0.8 MPa")
           .of(Kind::pressure)
           .from(0)
           .to(1e8)
           .named(),
       K("thing", &Clamp::thing, "a named thing that brings its own numbers").eg("urethane pad 6 mm")},
      place_of<Clamp>()};
  return t;
}
const Table& cut_table() {
  static const Table t{
      "operation.cut",
      "One tool at work, in order.",
      "",
      {K("tool", &Cut::tool, "the tool, from the shop file or a [[tool]] of the plan").eg("T11").must().ref("tool"),
       K("features", &Cut::features, "what it cuts").eg("F1").ref_side(),
       K("kind", &Cut::kind, "which pass")
           .one_of(
               {"rough", "finish", "rough and finish", "drill", "ream", "tap", "chamfer", "bore", "groove", "probe"}),
       K("speed", &Cut::speed, "spindle speed").of(Kind::rotation).above(0).to(1e5).eg("2190 rpm"),
       K("feed", &Cut::feed, "feed of the tool's edge").of(Kind::speed).above(0).to(10).eg("770 mm/min"),
       K("feed_per_tooth", &Cut::feed_per_tooth, "feed per tooth, instead")
           .eg("0.08 mm/tooth")
           .of(Kind::feed_per_tooth)
           .above(0)
           .to(0.1),
       K("depth", &Cut::depth, "axial depth of one level").eg("18.5 mm").length(),
       K("width", &Cut::width, "radial width of cut, with band (least and most stock)")
           .eg("2 mm (0.25..3.9 mm)")
           .length(),
       K("direction", &Cut::direction, "which way the teeth meet the metal when milling beside it")
           .one_of({"down", "up"})
           .def("down", "common practice: the chip thins out at the exit"),
       K("exit", &Cut::exit, "how a mill leaves the metal; from the route when not said")
           .one_of({"into stock", "broken edge", "rolls out", "sharp edge"}),
       K("length", &Cut::length, "path of one pass").eg("517.7 mm").length(),
       K("passes", &Cut::passes, "passes or levels").eg("2").from(1).to(10000),
       K("stock", &Cut::stock, "stock left for a later cut").eg("0.25 mm").length(-1),
       K("aim", &Cut::aim, "size that this cut is set to; the middle of the limits when not said")
           .eg("22.003 mm")
           .length(),
       K("stick_out", &Cut::stick_out, "how far the tool stands out of its holder here; the tool's own when not said")
           .eg("75 mm (65..90 mm)")
           .length(),
       K("time", &Cut::time, "time per part, until a program is read").eg("1.345 min").of(Kind::time).from(0).to(1e6),
       K("program", &Cut::program, "control program of this cut").eg("programs/op30.nc"),
       K("note", &Cut::note, "free words")},
      place_of<Cut>()};
  return t;
}
const Table& carrier_table() {
  static const Table t{
      "operation.carrier",
      "A carrier jaw: one bar over several parts side by side, pushed by vises, that overhangs them.",
      "",
      {K("size", &Carrier::size, "length along the row of parts, height, thickness in the way of the force")
           .count(3)
           .eg("470 x 50 x 40 mm"),
       K("material", &Carrier::material, "grade").eg("S235JR"),
       K("pushed_at", &Carrier::pushed_at, "middle of each push, from the middle of the row").eg("±120, 0 mm"),
       K("pushed_width", &Carrier::pushed_width, "over which length each pushes").eg("160 mm").length(),
       K("height", &Carrier::height, "force above the middle of the parts").eg("0 mm").length(-1),
       K("yaw_free", &Carrier::yaw_free, "the bar may turn until the forces balance; false: guided straight")},
      place_of<Carrier>()};
  return t;
}
const Table& operation_table() {
  static const Table t{
      "operation",
      "One step of the route, in order. What an earlier one cuts, a later one may sit on.",
      "operation",
      {K("id", &Operation::id, "short name").must().eg("OP30"),
       K("name", &Operation::name, "words for people").eg("edges, in two vises"),
       K("kind", &Operation::kind, "how it is held or done")
           .must()
           .one_of({"grind", "vise", "vise gang", "jaw carrier", "pallet", "chuck", "fixture", "hone", "deburr", "wash",
                    "gauge", "other"}),
       K("machine", &Operation::machine, "machine, from the shop file").eg("B").ref("machine"),
       K("up", &Operation::up, "which way of the part points to the spindle").one_of(directions),
       K("parts", &Operation::parts, "parts held at once").eg("5").from(1).to(1000),
       K("zero", &Operation::zero, "where zero is")
           .one_of({"plate top", "part top", "part bottom", "middle of the outside", "pin", "corner", "probed pins"}),
       K("makes", &Operation::makes, "features finished or cut here; sides of a profile are allowed")
           .eg("F1")
           .ref_side(),
       K("after", &Operation::after, "operations that must come before, when order is not enough")
           .eg("OP20")
           .ref("operation"),
       K("zero_at", &Operation::zero_at,
         "where the machine's display stands with the empty spindle's gauge line in the zero of the operation: middle "
         "of the pallet or jaws, at the height that `zero` names; with several pallets on the table a list, one place "
         "each")
           .eg("-381, -203, -560 mm"),
       K("does", &Operation::does,
         "what is done here besides cutting, all of it: what is not on the list is not done; without a list nobody "
         "knows")
           .one_of({"shim", "demagnetise", "deburr", "wash", "oil", "blow off", "look for pores", "gauge", "soak",
                    "single block", "lift evenly", "nothing"})
           .eg("deburr"),
       K("shift", &Operation::shift,
         "most that the program may shift one casting here along X, Y, Z, either way; not at all when it is not said")
           .eg("1.1, 0.2, 0 mm"),
       K("price", &Operation::price, "price per part, for work bought in")
           .eg("2.40 EUR")
           .of(Kind::money)
           .from(0)
           .to(big),
       K("program", &Operation::program, "control program of the whole operation, a file beside the plan")
           .eg("programs/op30.nc"),
       K("program_parts", &Operation::program_parts,
         "parts that one run of the program makes; as many as it has zeros with cuts when not said")
           .eg("8")
           .from(1)
           .to(1000),
       K("lot", &Operation::lot, "lot size").eg("60").from(1).to(100000000),
       K("load_time", &Operation::load_time, "loading per part").eg("0.8 min").of(Kind::time).from(0).to(1e6),
       K("time", &Operation::time, "time per part, all together, when cuts do not say")
           .eg("1.5 min")
           .of(Kind::time)
           .from(0)
           .to(1e6),
       K("size_scatter", &Operation::size_scatter, "one standard deviation of the sizes that a hone brings")
           .eg("1.0 µm")
           .length()
           .def("1.0 µm (0.6..2.0 µm)", "from memory: shop honing of small bores", "20 honed bores on the air gauge"),
       K("wait", &Operation::wait, "unattended time after it").eg("15 min").of(Kind::time).from(0).to(1e7),
       K("pitch", &Operation::pitch, "from part to part, where several are held at once").eg("158 mm").length(),
       K("need", &Operation::need, "least clamp force that each part needs; by the cutting forces when not said")
           .eg("3 kN")
           .of(Kind::force)
           .from(0)
           .to(1e8),
       K("jaw_height", &Operation::jaw_height, "height of the vise jaws").eg("50 mm").length(),
       K("parallel", &Operation::parallel,
         "height of the parallels that parts rest on in a vise, from the foot of its jaws")
           .eg("12 mm")
           .length(),
       K("jaw_width", &Operation::jaw_width, "width of the vise jaws").eg("160 mm").length(),
       K("pin_span", &Operation::pin_span, "tolerance of the distance between its two pins, where locators are pins")
           .above(0)
           .eg("80.000 ± 0.010 mm"),
       sub("carrier", &Operation::carrier, carrier_table()),
       K("note", &Operation::note, "free words"),
       list("locator", &Operation::locators, locator_table()),
       list("clamp", &Operation::clamps, clamp_table()),
       list("cut", &Operation::cuts, cut_table())},
      place_of<Operation>()};
  return t;
}

const Table& plate_table() {
  static const Table t{
      "pallet.plate",
      "The plate.",
      "",
      {K("size", &Plate::size, "length along X, width along Y, thickness").count(3).eg("330 x 250 x 25 mm"),
       K("material", &Plate::material, "grade").eg("EN AW-5083"),
       K("outline", &Plate::outline, "corners in order, when it is no rectangle").eg("0, 0, 0 mm"),
       K("flatness", &Plate::flatness, "flatness of the seat").eg("0.010 mm").length()},
      {}};
  return t;
}
std::vector<Key> relief_keys() {
  return {K("at", &Relief::at, "where, on the pallet").must().eg("0, 0 mm"),
          K("size", &Relief::size, "length along X and width along Y").count(2).eg("80 x 40 mm"),
          K("diameter", &Relief::diameter, "diameter, when it is round").eg("24 mm").length().above(0),
          K("turn", &Relief::turn, "turn about Z").eg("45 deg").of(Kind::angle).from(-360 * deg).to(360 * deg),
          K("depth", &Relief::depth, "depth of a pocket from the top, height of a rib below; a hole goes through")
              .eg("10 mm")
              .length()
              .above(0)};
}
const Table& pocket_table() {
  static const Table t{"pallet.pocket", "Where the plate is thinner, cut from the top.", "", relief_keys(),
                       place_of<Relief>()};
  return t;
}
const Table& rib_table() {
  static const Table t{"pallet.rib", "Where the plate is thicker, below.", "", relief_keys(), place_of<Relief>()};
  return t;
}
const Table& hole_table() {
  static const Table t{"pallet.hole", "A hole through the plate.", "", relief_keys(), place_of<Relief>()};
  return t;
}
const Table& anchor_table() {
  static const Table t{
      "pallet.anchor",
      "A place where the pallet is located and drawn down in the machine.",
      "",
      {K("at", &Anchor::at, "where, on the pallet").must().eg("±105, ±75 mm"),
       K("pull_down", &Anchor::pull_down, "pull-down force of each").eg("10 kN").of(Kind::force).from(0).to(1e7),
       K("stiffness_up", &Anchor::stiffness_up, "stiffness upright")
           .eg("150 N/µm (50..300 N/µm)")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12)
           .def("150 N/µm (50..300 N/µm)", "from memory", "10 kg on each corner and a 1 µm dial"),
       K("stiffness_side", &Anchor::stiffness_side, "stiffness sideways")
           .eg("100 N/µm")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12)
           .def("100 N/µm (30..200 N/µm)", "from memory", "pull sideways with a spring balance and a 1 µm dial"),
       K("repeat", &Anchor::repeat, "how well a swap repeats").eg("± 0.005 mm"),
       K("patch", &Anchor::patch, "diameter of its seat")
           .eg("40 mm")
           .length()
           .def("40 mm (25..60 mm)", "common practice", "measure it"),
       K("chip", &Anchor::chip, "a chip that may lie under one seat")
           .eg("0.02 mm")
           .length()
           .def("0 mm (0..0.05 mm)", "common practice: seats blown off, a chip now and then", "air check of the seats"),
       K("thing", &Anchor::thing, "a named thing that brings its own numbers").eg("air-checked anchor")},
      place_of<Anchor>()};
  return t;
}
const Table& nest_table() {
  static const Table t{
      "pallet.nest",
      "One part's place on the pallet; the part frame's origin stands here.",
      "",
      {K("at", &Nest::at, "where, on the pallet; several points make nests 1, 2, 3, ... in that order")
           .must()
           .eg("±78, ±57 mm"),
       K("turn", &Nest::turn, "turn of the part about Z").eg("90 deg").of(Kind::angle).from(-360 * deg).to(360 * deg)},
      place_of<Nest>()};
  return t;
}
const Table& pin_table() {
  static const Table t{
      "pallet.pin",
      "A pin of every nest.",
      "pin",
      {K("id", &Pin::id, "short name").eg("round"),
       K("kind", &Pin::kind, "round, or relieved (cut away so that only two lands touch)")
           .must()
           .one_of({"round", "relieved"}),
       K("in", &Pin::in, "the hole it goes into; with several holes of one feature, say which: \"F7@2\" is the second")
           .must()
           .ref_side()
           .eg("F7@1"),
       K("diameter", &Pin::diameter, "diameter, round pin").above(0).eg("8 g6"),
       K("land", &Pin::land, "diameter over the lands, relieved pin").above(0).eg("7.970..7.978 mm"),
       K("land_width", &Pin::land_width, "width of a land").eg("1.6 mm").length().above(0),
       K("height", &Pin::height, "height of the cylindrical land").eg("3.0 mm").length(),
       K("lead", &Pin::lead, "height of the lead-in above it").eg("1 mm").length(),
       K("direction", &Pin::direction,
         "direction in which it is relieved, from X; towards the round pin when not given")
           .eg("38 deg")
           .of(Kind::angle)
           .from(-360 * deg)
           .to(360 * deg),
       K("note", &Pin::note, "free words")},
      place_of<Pin>()};
  return t;
}
const Table& nest_screw_table() {
  static const Table t{
      "pallet.screw",
      "Screws of every nest.",
      "",
      {K("thread", &NestScrew::thread, "thread").must().eg("M8"),
       K("length", &NestScrew::length, "length under the head").eg("50 mm").length(),
       K("strength", &NestScrew::strength, "property class").eg("12.9"),
       K("through", &NestScrew::through, "the part's holes they go through").eg("F8").ref("feature"),
       K("at", &NestScrew::at, "where, when not through holes of the part").eg("±54, 0 mm"),
       K("torque", &NestScrew::torque, "tightening torque").of(Kind::torque).from(0).to(1e6).eg("22 N·m"),
       K("wrench_scatter", &NestScrew::wrench_scatter, "scatter of the wrench, plus and minus")
           .eg("6 %")
           .of(Kind::fraction)
           .from(0)
           .to(1),
       K("lubrication", &NestScrew::lubrication, "dry, oiled or paste").one_of({"dry", "oiled", "paste"}),
       K("engaged", &NestScrew::engaged, "thread really engaged").eg("12 mm").length(),
       K("insert", &NestScrew::insert, "what the thread stands in")
           .one_of({"steel insert", "wire insert", "tapped plate"}),
       K("head", &NestScrew::head, "head or washer diameter").eg("16 mm").length(),
       K("shoulder", &NestScrew::shoulder, "length of its shoulder, for a shoulder screw").eg("30 mm").length(),
       K("shoulder_diameter", &NestScrew::shoulder_diameter, "diameter of its shoulder").eg("10 mm").length(),
       K("insert_diameter", &NestScrew::insert_diameter, "outside diameter of the insert's thread in the plate")
           .eg("12 mm")
           .length()},
      place_of<NestScrew>()};
  return t;
}
const Table& pad_table() {
  static const Table t{
      "pallet.pad",
      "Pads of every nest that the part rests on, in the part frame.",
      "",
      {K("at", &Pad::at, "where").must().eg("±56, ±20 mm"),
       K("diameter", &Pad::diameter, "diameter").eg("12 mm").length().above(0),
       K("height", &Pad::height, "height above the plate").eg("5 mm").length(),
       K("friction", &Pad::friction, "friction between pad and part")
           .eg("0.12 (0.08..0.20)")
           .from(0)
           .to(2)
           .named()
           .def("0.12 (0.08..0.20)",
                "iron on aluminium, machined and wet, within the clamped-joint ranges of reference tables",
                "spring-balance pull of one part on the pallet"),
       K("stiffness", &Pad::stiffness, "contact stiffness of one pad")
           .eg("200 N/µm (60..600 N/µm)")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12)
           .def("200 N/µm (60..600 N/µm)", "from memory: small machined pad under a clamped casting",
                "press one part with the screws and read a 1 µm dial"),
       K("thing", &Pad::thing, "a named thing that brings its own numbers").eg("urethane pad 6 mm")},
      place_of<Pad>()};
  return t;
}
const Table& run_off_table() {
  static const Table t{
      "pallet.run_off",
      "The trough that lets coolant and swarf go.",
      "",
      {K("width", &RunOff::width, "width").eg("24 mm").length().above(0),
       K("depth", &RunOff::depth, "depth").eg("10 mm").length().above(0),
       K("slope", &RunOff::slope, "fall along its length").eg("2 deg").of(Kind::angle).from(0).to(90 * deg),
       K("along", &RunOff::along, "direction").one_of({"x", "y"}),
       K("exit_diameter", &RunOff::exit_diameter, "hole it leaves through").eg("24 mm").length(),
       K("closed_end", &RunOff::closed_end, "how far it goes on behind the bore").eg("14 mm").length(),
       K("flow", &RunOff::flow, "coolant into it").eg("3 L/min").of(Kind::flow).from(0).to(1),
       K("jet", &RunOff::jet, "rinsing jet along it, while the machine cuts or before parts are taken off")
           .eg("3 L/min")
           .of(Kind::flow)
           .from(0)
           .to(1)},
      place_of<RunOff>()};
  return t;
}
std::vector<Key> pallet_keys() {
  return {K("name", &Pallet::name, "name of the pallet").eg("4-up"),
          sub("plate", &Pallet::plate, plate_table()),
          list("anchor", &Pallet::anchors, anchor_table()),
          list("nest", &Pallet::nests, nest_table()),
          list("pin", &Pallet::pins, pin_table()),
          list("screw", &Pallet::screws, nest_screw_table()),
          list("pad", &Pallet::pads, pad_table()),
          list("run_off", &Pallet::run_offs, run_off_table()),
          list("pocket", &Pallet::pockets, pocket_table()),
          list("rib", &Pallet::ribs, rib_table()),
          list("hole", &Pallet::holes, hole_table()),
          K("damping", &Pallet::damping, "damping ratio of the pallet's modes as it is clamped and loaded")
              .eg("0.02 (0.01..0.05)")
              .from(1e-5)
              .to(0.5)
              .def("0.02 (0.01..0.05)", "from memory: bolted metal structures", "tap recording of the loaded pallet"),
          K("top_warmer", &Pallet::top_warmer, "how much warmer the top of the plate is than its bottom in the run")
              .eg("3 K")
              .of(Kind::temperature_difference)
              .from(-100)
              .to(100)
              .def("0 K (-3..3 K)", "common practice: coolant on top, machine table below",
                   "contact thermometer on top and below"),
          K("pin_span", &Pallet::pin_span, "tolerance of the distance between the two pins")
              .above(0)
              .eg("111.21 ± 0.010 mm"),
          K("empty_mass", &Pallet::empty_mass, "pallet with screws, without parts")
              .eg("6.15 kg")
              .of(Kind::mass)
              .from(0)
              .to(1e5),
          K("loaded_part_mass", &Pallet::loaded_part_mass, "one part as it is loaded")
              .eg("2.90 kg")
              .of(Kind::mass)
              .from(0)
              .to(1e5),
          K("temperature_low", &Pallet::temperature_low, "coldest the pallet gets in the run")
              .eg("20 °C")
              .of(Kind::temperature)
              .from(223.15)
              .to(423.15)
              .def("20 °C (10..20 °C)", "reference temperature, ISO 1; a cold morning",
                   "a thermometer on the pallet in the morning"),
          K("temperature_high", &Pallet::temperature_high, "warmest the pallet gets in the run")
              .eg("30 °C")
              .of(Kind::temperature)
              .from(223.15)
              .to(423.15)
              .def("26 °C (20..32 °C)", "from memory: +6 K, 0 to 12", "infrared thermometer on a running pallet"),
          K("part_temperature", &Pallet::part_temperature, "temperature of the part when it is put on")
              .eg("20 °C")
              .of(Kind::temperature)
              .from(223.15)
              .to(423.15)
              .def("20 °C (15..26 °C)", "common practice", "leave a thermometer on the rack"),
          K("swap_time", &Pallet::swap_time, "all pallets of a set off and the next set on, spindle to spindle")
              .eg("110 s")
              .of(Kind::time)
              .from(0)
              .to(1e5),
          K("probe_time", &Pallet::probe_time, "probing a cycle").eg("0.5 min").of(Kind::time).from(0).to(1e5),
          K("move_time", &Pallet::move_time, "the operator's time to move pallets, a cycle")
              .eg("1.1 min")
              .of(Kind::time)
              .from(0)
              .to(1e5),
          K("nest_move", &Pallet::nest_move, "from nest to nest, worked out from the machine when not given")
              .eg("1.0 s")
              .of(Kind::time)
              .from(0)
              .to(1e4),
          K("on_table", &Pallet::on_table, "pallets on the machine table at once").eg("2").from(1).to(1000),
          K("sets", &Pallet::sets, "sets of pallets that swap").eg("2").from(1).to(1000),
          K("cost", &Pallet::cost, "what one pallet costs to make").eg("420 EUR").of(Kind::money).from(0).to(big),
          K("note", &Pallet::note, "free words")};
}
const Table& pallet_table() {
  static const Table t{"pallet", "The pallet. Its frame: origin at the middle of the plate's top, Z up.", "",
                       pallet_keys(), place_of<Pallet>()};
  return t;
}

const Table& lift_end_table() {
  static const Table t{
      "lift.end",
      "Hands at one end of a lift.",
      "",
      {K("reach", &LiftEnd::reach, "horizontal distance from the ankles to the hands").length().to(3).eg("32.5 cm"),
       K("height", &LiftEnd::height, "height of the hands above the floor").length().to(3).eg("90 cm"),
       K("twist", &LiftEnd::twist, "turn of the trunk")
           .eg("30 deg")
           .of(Kind::angle)
           .from(0)
           .to(180 * deg)
           .def("0 deg", "straight ahead unless said")},
      {}};
  return t;
}
const Table& lift_table() {
  static const Table t{
      "lift",
      "Something a person lifts.",
      "lift",
      {K("id", &Lift::id, "short name").must().eg("pallet"),
       K("what", &Lift::what, "what is lifted: the loaded pallet, one part, one casting, or a given mass")
           .must()
           .one_of({"loaded pallet", "part", "casting", "given mass"}),
       K("by", &Lift::by, "who carries it: a person's hands, a hoist, or a cart at the height of the table")
           .one_of({"person", "hoist", "cart"})
           .def("person", "nobody said that anything helps"),
       K("capacity", &Lift::capacity, "what the hoist or the cart is rated for")
           .eg("125 kg")
           .of(Kind::mass)
           .above(0)
           .to(1e5),
       sub("from", &Lift::from, lift_end_table()), sub("to", &Lift::to, lift_end_table()),
       K("mass", &Lift::mass, "mass, when `what` is a given mass").eg("18 kg").of(Kind::mass).above(0).to(1e4),
       K("frequency", &Lift::frequency, "lifts per minute, averaged")
           .eg("0.2 1/min")
           .of(Kind::frequency)
           .from(0)
           .to(1)
           .def("0.2 1/min (0.2..1 1/min)", "the least the equation counts, up to one a minute",
                "count lifts in one hour"),
       K("hours", &Lift::hours, "how long it goes on in a day")
           .eg("8 h")
           .of(Kind::time)
           .from(0)
           .to(24 * 3600.0)
           .def("8 h", "a whole shift unless said"),
       K("coupling", &Lift::coupling, "grip").one_of({"good", "fair", "poor"}),
       K("control", &Lift::control, "the load must be placed with care at the far end"),
       K("wet", &Lift::wet, "coolant stands on it"), K("note", &Lift::note, "free words")},
      place_of<Lift>()};
  return t;
}
const Table& demand_table() {
  static const Table t{"demand",
                       "How many good parts, and when.",
                       "",
                       {K("per_week", &Demand::per_week, "good parts a week").from(0).to(1e9).eg("240"),
                        K("price", &Demand::price, "what the customer pays for a good part")
                            .eg("48 EUR")
                            .of(Kind::money)
                            .above(0)
                            .to(big),
                        K("weeks", &Demand::weeks, "weeks a year").eg("48").from(1).to(53),
                        K("available", &Demand::available, "share of the shift a machine really has")
                            .eg("88 %")
                            .of(Kind::fraction)
                            .from(0)
                            .to(1),
                        K("shift", &Demand::shift, "hours a week").eg("37.5 h").of(Kind::time).from(0).to(168 * 3600.0),
                        K("operators", &Demand::operators, "operators a shift").eg("1").from(0).to(1000)},
                       {}};
  return t;
}
const Table& reading_table() {
  static const Table t{
      "reading",
      "A file of measured parts.",
      "reading",
      {K("id", &Reading::id, "short name").eg("F4 last 24").must(),
       K("kind", &Reading::kind, "what the file holds")
           .must()
           .one_of({"run", "gauge study", "first article", "load times", "tap test", "tap recording", "squeal"}),
       K("file", &Reading::file, "CSV file").eg("f4-run.csv").must(),
       K("feature", &Reading::feature, "the feature measured").eg("F4").ref_side(),
       K("tool", &Reading::tool, "the tool that was tapped or that squealed").eg("T11").ref("tool"),
       K("operation", &Reading::operation, "the operation in which it was recorded").eg("OP30").ref("operation"),
       K("nest", &Reading::nest, "the nest").eg("2").from(1).to(10000),
       K("at", &Reading::at, "where the pallet was tapped, on the pallet").eg("150, 110 mm"),
       K("direction", &Reading::direction, "direction of the tap").one_of({"x", "y", "z"}),
       K("unit", &Reading::unit, "unit of the numbers, when the header does not say").eg("mm"),
       K("note", &Reading::note, "free words")},
      place_of<Reading>()};
  return t;
}
const Table& spread_table() {
  static const Table t{
      "spread",
      "A scatter that only measuring tells, by thing.",
      "spread",
      {K("id", &SpreadOf::id, "short name").eg("seat").must(),
       K("of", &SpreadOf::of, "what scatters, in words").must().eg("tool setting"),
       K("axis", &SpreadOf::axis, "along which axis").one_of({"x", "y", "z", "xy", "all"}),
       K("operation", &SpreadOf::operation, "in which operation").eg("OP30").ref("operation"),
       K("value", &SpreadOf::value, "scatter").eg("s 0.008 mm"),
       K("moves", &SpreadOf::moves, "features that it moves, together; everything the operation makes when not said")
           .eg("F7")
           .ref_side(),
       K("replaces", &SpreadOf::replaces,
         "the contributor worked out from the rest of the plan that this one stands for")
           .one_of({"machine positioning", "zero setting", "tool setting", "tool wear", "spindle growth",
                    "growth of the pallet", "seat dirt", "swap", "pallet pins", "push-off", "size", "form",
                    "measuring"}),
       K("drawn", &SpreadOf::drawn, "how often it falls anew: with every part, nest, pallet or set-up")
           .one_of({"part", "nest", "pallet", "set-up"}),
       K("note", &SpreadOf::note, "free words")},
      place_of<SpreadOf>()};
  return t;
}
const Table& loss_table() {
  static const Table t{
      "loss",
      "Parts lost for a reason that no requirement covers: pores, broken taps.",
      "loss",
      {K("id", &Loss::id, "short name").eg("pores").must(),
       K("share", &Loss::share, "share of the parts").must().eg("2.5 %").of(Kind::fraction).from(0).to(1),
       K("operation", &Loss::operation, "the operation after which it shows").must().eg("OP30").ref("operation"),
       K("feature", &Loss::feature, "the feature on which it shows").eg("F5").ref_side(),
       K("note", &Loss::note, "free words")},
      place_of<Loss>()};
  return t;
}

const Table& machine_table() {
  static const Table t{
      "machine",
      "A machine.",
      "machine",
      {K("id", &Machine::id, "short name").must().eg("B"),
       K("name", &Machine::name, "words for people").eg("machining centre with pallets"),
       K("kind", &Machine::kind, "what it is")
           .one_of({"vertical machining centre", "grinder", "hone", "washer", "bench"}),
       K("travel", &Machine::travel, "travels along X, Y, Z").count(3).eg("762 x 406 x 508 mm"),
       K("travel_low", &Machine::travel_low,
         "machine coordinates of the low ends of its axes, as its display shows them with the spindle empty; the high "
         "ends lie one travel above")
           .eg("-762, -406, -508 mm"),
       K("top_speed", &Machine::top_speed, "highest spindle speed").eg("8000 rpm").of(Kind::rotation).above(0).to(1e6),
       K("power", &Machine::power, "spindle power, continuous").eg("11 kW").of(Kind::power).above(0).to(1e7),
       K("torque", &Machine::torque, "spindle torque").eg("70 N·m").of(Kind::torque).above(0).to(1e6),
       K("rapid", &Machine::rapid, "rapid").eg("30 m/min").of(Kind::speed).above(0).to(100),
       K("acceleration", &Machine::acceleration, "acceleration")
           .eg("2.5 m/s²")
           .of(Kind::acceleration)
           .above(0)
           .to(1000),
       K("jerk", &Machine::jerk, "jerk").eg("20 m/s³").of(Kind::jerk).above(0).to(1e6),
       K("path_tolerance", &Machine::path_tolerance, "path tolerance").eg("0.01 mm").length(),
       K("tool_change", &Machine::tool_change, "chip to chip").eg("4.5 s").of(Kind::time).from(0).to(1000),
       K("positioning", &Machine::positioning,
         "positioning accuracy as the maker states it (three standard deviations)")
           .eg("0.008 mm")
           .length(),
       K("spindle_start", &Machine::spindle_start, "time from rest to the highest spindle speed")
           .eg("1.5 s")
           .of(Kind::time)
           .from(0)
           .to(100)
           .def("1.5 s (0.5..3 s)", "from memory: machining centre, 40 taper",
                "stopwatch: start the spindle at its highest speed"),
       K("block_time", &Machine::block_time, "least time that one line of a program takes")
           .eg("1 ms")
           .of(Kind::time)
           .from(0)
           .to(1)
           .def("1 ms (0..4 ms)", "from memory: controls of machining centres",
                "time the test program of fettle program time"),
       K("coolant", &Machine::coolant, "coolant flow").eg("60 L/min").of(Kind::flow).from(0).to(1),
       K("bin", &Machine::bin, "what the swarf bin holds, loose").eg("200 L").of(Kind::volume).above(0).to(1000),
       K("filter", &Machine::filter, "fines that the coolant filter holds until it must be changed")
           .eg("6 kg")
           .of(Kind::mass)
           .above(0)
           .to(1e6),
       K("fines", &Machine::fines, "share of the swarf so fine that it leaves with the coolant")
           .eg("2 %")
           .of(Kind::fraction)
           .from(0)
           .to(1)
           .def("2 % (0.5..5 %)", "from memory: grey iron", "dry and weigh what a week leaves in the filter"),
       K("rate", &Machine::rate, "what an hour costs").eg("65 EUR/h").of(Kind::money_per_hour).from(0).to(1e6),
       K("change_over", &Machine::change_over, "time to change from one operation to another")
           .eg("25 min")
           .of(Kind::time)
           .from(0)
           .to(1e6),
       K("efficiency", &Machine::efficiency, "share of the motor's power that reaches the tool")
           .eg("85 %")
           .of(Kind::fraction)
           .above(0)
           .to(1)
           .def("85 % (75..95 %)", "common practice", "spindle load meter on a known cut"),
       K("spindle_stiffness", &Machine::spindle_stiffness, "stiffness of the spindle's nose sideways")
           .eg("80 N/µm (40..200 N/µm)")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12)
           .def("80 N/µm (40..200 N/µm)", "from memory: machining centre, 40 taper",
                "pull the holder's nose with a spring balance against a 1 µm dial"),
       K("spindle_tilt", &Machine::spindle_tilt, "stiffness of spindle and taper against tilting: moment per angle")
           .eg("2000 kN·m")
           .of(Kind::torque)
           .above(0)
           .to(1e12)
           .def("1000 kN·m (400..3000 kN·m)", "from memory: moment per radian, 40 taper",
                "tap recording at the end of a long bar in the taper"),
       K("spindle_damping", &Machine::spindle_damping, "damping ratio of tool and spindle")
           .eg("0.03 (0.01..0.06)")
           .from(1e-5)
           .to(0.5)
           .def("0.03 (0.01..0.06)", "from memory: end mills in holders as tapped", "tap recording of the tool"),
       K("growth", &Machine::growth, "spindle growth, one standard deviation").eg("0.004 mm").length(),
       K("note", &Machine::note, "free words")},
      place_of<Machine>()};
  return t;
}
const Table& tool_mode_table() {
  static const Table t{
      "tool.mode",
      "One mode of the tool in its holder and spindle, measured at the tip.",
      "",
      {K("frequency", &ToolMode::frequency, "natural frequency")
           .must()
           .eg("950 Hz")
           .of(Kind::frequency)
           .above(0)
           .to(1e6),
       K("damping", &ToolMode::damping, "damping ratio").must().eg("0.03").above(0).to(0.9),
       K("stiffness", &ToolMode::stiffness, "modal stiffness at the tip")
           .must()
           .eg("20 N/µm")
           .of(Kind::stiffness)
           .above(0)
           .to(1e12),
       K("direction", &ToolMode::direction, "along which axis of the machine; both sideways when not said")
           .one_of({"x", "y", "xy", "z"})},
      place_of<ToolMode>()};
  return t;
}
const Table& tool_table() {
  static const Table t{
      "tool",
      "A cutting tool in its holder.",
      "tool",
      {K("id", &Tool::id, "short name, as on the machine").must().eg("T11"),
       K("name", &Tool::name, "words for people").eg("end mill 16, finish"),
       K("kind", &Tool::kind, "what it is")
           .must()
           .one_of({"end mill", "face mill", "drill", "reamer", "tap", "thread mill", "boring tool", "keyseat cutter",
                    "chamfer", "probe"}),
       K("diameter", &Tool::diameter, "cutting diameter").eg("16 mm").length().above(0),
       K("teeth", &Tool::teeth, "teeth").eg("6").from(1).to(200),
       K("helix", &Tool::helix, "helix angle").eg("38 deg").of(Kind::angle).from(-85 * deg).to(85 * deg),
       K("lead", &Tool::lead, "lead angle of the edge").eg("45 deg").of(Kind::angle).from(0).to(90 * deg),
       K("corner_radius", &Tool::corner_radius, "corner radius").eg("0.8 mm").length(),
       K("width", &Tool::width, "width of a keyseat cutter").eg("2.5 mm").length(),
       K("spacing", &Tool::spacing, "tooth spacing").one_of({"even", "uneven"}),
       K("spacing_step", &Tool::spacing_step, "how uneven, plus and minus")
           .eg("3 deg")
           .of(Kind::angle)
           .from(0)
           .to(60 * deg),
       K("stick_out", &Tool::stick_out, "stick-out from the holder").eg("52 mm").length(),
       K("gauge_length", &Tool::gauge_length, "from the spindle's gauge line to the tip, as in the tool table")
           .eg("152 mm")
           .length(),
       K("holder", &Tool::holder, "holder diameter").eg("44 mm").length(),
       K("neck", &Tool::neck, "neck diameter").eg("18 mm").length(),
       K("neck_length", &Tool::neck_length, "neck length").eg("30 mm").length(),
       K("material", &Tool::material, "edge material")
           .one_of({"carbide", "high-speed steel", "boron nitride", "ceramic"}),
       K("insert", &Tool::insert, "insert, in words").eg("round 12"),
       K("edge_radius", &Tool::edge_radius, "rounding of the cutting edge")
           .eg("0.015 mm")
           .length()
           .def("0.020 mm (0.008..0.040 mm)", "from memory: honed carbide edges",
                "ask the maker, or a trace across the edge"),
       K("wear_land", &Tool::wear_land, "wear land on the flank, used edge")
           .eg("0.15 mm")
           .length()
           .def("0.10 mm (0.02..0.30 mm)", "common practice: 0.3 mm is the end of life, ISO 8688",
                "a magnifier with a scale"),
       K("wear_factor", &Tool::wear_factor, "how much more force a used edge needs than a new one")
           .eg("1.3")
           .from(1)
           .to(5)
           .def("1.3 (1.0..1.6)", "from memory", "spindle load of a new edge against a used one"),
       K("rake", &Tool::rake, "rake angle").eg("6 deg").of(Kind::angle).from(-45 * deg).to(45 * deg),
       K("point_angle", &Tool::point_angle, "point angle of a drill")
           .eg("140 deg")
           .of(Kind::angle)
           .from(60 * deg)
           .to(180 * deg)
           .def("140 deg (118..145 deg)", "common practice: carbide 140, high-speed steel 118",
                "read it in the tool card"),
       K("chamfer_threads", &Tool::chamfer_threads, "threads in the lead of a tap")
           .eg("3")
           .from(0.5)
           .to(20)
           .def("3 (2..5)", "common practice", "read it in the tool card"),
       K("forms", &Tool::forms, "true for a tap that forms the thread, false for one that cuts it"),
       K("flute_length", &Tool::flute_length, "length of the flutes").eg("40 mm").length(),
       K("elasticity", &Tool::elasticity, "modulus of the shank").eg("580 GPa").of(Kind::pressure).above(0).to(2e12),
       list("mode", &Tool::modes, tool_mode_table()),
       K("life", &Tool::life, "cutting time of one edge").eg("45 min").of(Kind::time).above(0).to(1e7),
       K("parts_per_edge", &Tool::parts_per_edge, "whole parts of one edge").eg("33").from(0).to(1000000),
       K("price", &Tool::price, "price of one edge").eg("68 EUR").of(Kind::money).from(0).to(big)},
      place_of<Tool>()};
  return t;
}
const Table& gauge_table() {
  static const Table t{
      "gauge",
      "A gauge.",
      "gauge",
      {K("id", &Gauge::id, "short name").eg("air").must(),
       K("name", &Gauge::name, "words for people").eg("air gauge 22"),
       K("kind", &Gauge::kind, "what it is").eg("air gauge"),
       K("features", &Gauge::features, "features it measures, by id, in the plans that have them").eg("F4"),
       K("uncertainty", &Gauge::uncertainty, "standard uncertainty").eg("0.6 µm").length(),
       K("resolution", &Gauge::resolution, "smallest step it shows").eg("0.1 µm").length(),
       K("smallest", &Gauge::smallest, "smallest size it measures").eg("21.95 mm").length(),
       K("largest", &Gauge::largest, "largest size it measures").eg("22.05 mm").length(),
       K("time", &Gauge::time, "time per part").eg("0.5 min").of(Kind::time).from(0).to(1e6)},
      place_of<Gauge>()};
  return t;
}
const Table& stock_plate_table() {
  static const Table t{"stock_plate",
                       "A plate that can be bought.",
                       "",
                       {K("material", &StockPlate::material, "grade").eg("EN AW-5083").must(),
                        K("thickness", &StockPlate::thickness, "thickness").eg("25 mm").must().length().above(0),
                        K("price", &StockPlate::price, "price").eg("95 EUR").of(Kind::money).from(0).to(big)},
                       place_of<StockPlate>()};
  return t;
}
const Table& thing_table() {
  static const Table t{
      "thing",
      "A named thing of this shop with its own measured numbers.",
      "thing",
      {K("id", &Thing::id, "name as the plan says it").must().eg("hard jaw"),
       K("kind", &Thing::kind, "what it is").one_of({"jaw", "pad", "rest", "anchor", "stop", "vise", "carrier jaw"}),
       K("stiffness", &Thing::stiffness, "contact stiffness").eg("800 kN/mm").of(Kind::stiffness).above(0).to(1e12),
       K("friction", &Thing::friction, "friction").eg("0.15").from(0).to(2),
       K("height", &Thing::height, "height").eg("50 mm").length(),
       K("machine", &Thing::machine, "of a vise: the machine it stands on").eg("A").ref("machine"),
       K("count", &Thing::count, "how many equal ones there are").eg("2").from(1).to(1000),
       K("size", &Thing::size,
         "of a vise: width and height of its jaws, how far it opens; of a carrier jaw: length, height, thickness in "
         "the way of the force")
           .count(3)
           .eg("160 x 50 x 180 mm"),
       K("material", &Thing::material, "of a carrier jaw: grade").eg("S235JR"), K("note", &Thing::note, "free words")},
      place_of<Thing>()};
  return t;
}
const Table& people_table() {
  static const Table t{
      "people",
      "Who works and how long things take by hand, per part.",
      "",
      {K("operators", &People::operators, "operators").eg("1").from(0).to(1000),
       K("hours", &People::hours, "hours a week").eg("37.5 h").of(Kind::time).from(0).to(168 * 3600.0),
       K("rate", &People::rate, "what an hour costs").eg("38 EUR/h").of(Kind::money_per_hour).from(0).to(1e6),
       K("load_time", &People::load_time, "loading").eg("1.1 min").of(Kind::time).from(0).to(1e6),
       K("unload_time", &People::unload_time, "unloading").eg("0.9 min").of(Kind::time).from(0).to(1e6),
       K("clean_time", &People::clean_time, "cleaning").eg("0.5 min").of(Kind::time).from(0).to(1e6),
       K("deburr_time", &People::deburr_time, "deburring").eg("0.9 min").of(Kind::time).from(0).to(1e6),
       K("pack_time", &People::pack_time, "packing").eg("0.4 min").of(Kind::time).from(0).to(1e6),
       K("gauge_time", &People::gauge_time, "gauging").eg("0.5 min").of(Kind::time).from(0).to(1e6),
       K("hone_time", &People::hone_time, "honing").eg("1.5 min").of(Kind::time).from(0).to(1e6),
       K("edge_time", &People::edge_time, "changing one worn edge and setting it, with the machine standing")
           .eg("3 min")
           .of(Kind::time)
           .from(0)
           .to(1e5)
           .def("3 min (1..6 min)", "common practice", "the stopwatch at five changes"),
       K("time_scatter", &People::time_scatter, "standard deviation of what is done by hand, over its mean")
           .eg("15 %")
           .of(Kind::fraction)
           .from(0)
           .to(2)
           .def("15 % (8..30 %)", "common practice", "15 stopwatch values"),
       K("learning", &People::learning, "what is left of the time whenever the number of parts made has doubled")
           .eg("85 %")
           .of(Kind::fraction)
           .from(0.5)
           .to(1)
           .def("85 % (80..95 %)", "common practice", "a new operator's first two days by the stopwatch"),
       K("first_part", &People::first_part, "how many times the standard time a new operator's first part takes")
           .eg("3")
           .from(1)
           .to(100)
           .def("3 (2..5)", "common practice", "a new operator's first part by the stopwatch")},
      {}};
  return t;
}
const Table& room_table() {
  static const Table t{"room",
                       "The room.",
                       "",
                       {K("temperature_low", &Room::temperature_low, "coldest")
                            .eg("20 °C")
                            .of(Kind::temperature)
                            .from(223.15)
                            .to(423.15)
                            .def("18 °C (10..20 °C)", "common practice", "a thermometer for a week"),
                        K("temperature_high", &Room::temperature_high, "warmest")
                            .eg("26 °C")
                            .of(Kind::temperature)
                            .from(223.15)
                            .to(423.15)
                            .def("26 °C (22..35 °C)", "common practice", "a thermometer for a week"),
                        K("part_off_machine", &Room::part_off_machine, "parts as they come off")
                            .eg("26 °C")
                            .of(Kind::temperature)
                            .from(223.15)
                            .to(423.15)},
                       {}};
  return t;
}
const Table& shop_name_table() {
  static const Table t{"shop", "The shop.", "", {K("name", &Shop::name, "name of the shop").eg("demo shop")}, {}};
  return t;
}

}  // namespace

const Table& plan_schema() {
  static const Table t{
      "",
      "A plan: how a casting becomes a part.",
      "",
      {K("fettle", &Plan::version, "version of this format").must().from(0).to(1).eg("1"),
       needed(sub("plan", &Plan::header, header_table())), sub("part", &Plan::part, part_table()),
       list("feature", &Plan::features, feature_table()), list("requirement", &Plan::requirements, requirement_table()),
       sub("casting", &Plan::casting, casting_table()), list("operation", &Plan::operations, operation_table()),
       list("tool", &Plan::tools, tool_table()), sub("pallet", &Plan::pallet, pallet_table()),
       list("lift", &Plan::lifts, lift_table()), sub("demand", &Plan::demand, demand_table()),
       list("reading", &Plan::readings, reading_table()), list("spread", &Plan::spreads, spread_table()),
       list("loss", &Plan::losses, loss_table())},
      {}};
  return t;
}

const Table& shop_schema() {
  static const Table t = [] {
    Table s{"", "A shop file: machines, tools, gauges, people and plates that plans share.", "", {}, {}};
    s.keys = {K("fettle", &Plan::version, "version of this format").must().from(0).to(1).eg("1"),
              sub("shop", &Plan::shop, shop_name_table())};
    const auto down = [&](Key k) {  // the lists live in Plan::shop, the file's root is the Plan
      const auto append = k.append;
      const auto count = k.count;
      const auto item = k.item;
      const auto at = k.at;
      if (append) k.append = [append](void* p) { return append(&static_cast<Plan*>(p)->shop); };
      if (count) k.count = [count](const void* p) { return count(&static_cast<const Plan*>(p)->shop); };
      if (item) k.item = [item](const void* p, std::size_t i) { return item(&static_cast<const Plan*>(p)->shop, i); };
      if (at) k.at = [at](void* p) { return at(&static_cast<Plan*>(p)->shop); };
      s.keys.push_back(k);
    };
    down(list("machine", &Shop::machines, machine_table()));
    down(list("tool", &Shop::tools, tool_table()));
    down(list("gauge", &Shop::gauges, gauge_table()));
    down(list("stock_plate", &Shop::plates, stock_plate_table()));
    down(list("thing", &Shop::things, thing_table()));
    down(sub("people", &Shop::people, people_table()));
    down(sub("room", &Shop::room, room_table()));
    return s;
  }();
  return t;
}

const Table& pallet_schema() {
  static const Table t{"",
                       "A pallet file: one pallet that several parts share.",
                       "",
                       {K("fettle", &Plan::version, "version of this format").must().from(0).to(1).eg("1"),
                        sub("pallet", &Plan::pallet, pallet_table())},
                       {}};
  return t;
}

const Key* find_key(const Table& table, std::string_view name) {
  for (const Key& k : table.keys)
    if (k.name == name) return &k;
  return nullptr;
}

void walk(const Table& table, void* object, const std::function<void(const Table&, void*)>& visit) {
  visit(table, object);
  for (const Key& k : table.keys) {
    if (k.type == Type::table) walk(*k.table, k.at(object), visit);
    if (k.type == Type::tables)
      for (std::size_t i = 0; i < k.count(object); ++i) walk(*k.table, const_cast<void*>(k.item(object, i)), visit);
  }
}

namespace {

std::string bound_text(const Key& k, double x) {
  if (k.type == Type::integer) return base::fixed(x, 0);
  if (k.kind == Kind::number) return base::shortest(x);
  if (k.kind == Kind::money || k.kind == Kind::money_per_hour)
    return fmt::format("{}{}", base::shortest(x), k.kind == Kind::money ? "" : " an hour");
  const char* unit = "";
  switch (k.kind) {
    case Kind::length:
      unit = std::fabs(x) >= 1 ? "m" : "mm";
      break;
    case Kind::angle:
      unit = "°";
      break;
    case Kind::temperature:
      unit = "°C";
      break;
    case Kind::time:
      unit = x >= 86400 ? "day" : x >= 3600 ? "h" : "s";
      break;
    case Kind::speed:
      unit = "m/s";
      break;
    case Kind::rotation:
      unit = "rpm";
      break;
    case Kind::force:
      unit = "N";
      break;
    case Kind::pressure:
      unit = "GPa";
      break;
    case Kind::flow:
      unit = "L/min";
      break;
    case Kind::fraction:
      unit = "%";
      break;
    case Kind::stiffness:
      unit = "N/m";
      break;
    case Kind::frequency:
      unit = "Hz";
      break;
    default:
      return unit::print(x, k.kind);
  }
  const double in = unit::in_unit(x, unit, k.kind);
  const double round = std::fabs(in) >= 1000 ? std::round(in) : std::round(in * 1000) / 1000;
  return fmt::format("{}{}{}", base::shortest(round), k.kind == Kind::angle ? "" : " ", unit);
}

}  // namespace

std::string with_article(std::string_view word) {
  return fmt::format(
      "{} {}", std::string_view("aeiou").find(word.empty() ? 'x' : word[0]) == std::string_view::npos ? "a" : "an",
      word);
}

std::string range_text(const Key& k) {
  const bool lo = std::isfinite(k.low), hi = std::isfinite(k.high);
  if (!lo && !hi) return {};
  const std::string least = lo ? fmt::format("{} {}", k.low_open ? "more than" : "at least", bound_text(k, k.low)) : "";
  const std::string most = hi ? "at most " + bound_text(k, k.high) : "";
  return least + (lo && hi ? " and " : "") + most;
}

std::string example_of(const Key& k) {
  if (!k.example.empty()) return k.example;
  if (!k.choices.empty()) return k.choices.front();
  if (k.refers == "feature") return k.side ? "F1.+x" : "F1";
  if (k.type == Type::number) return std::string(unit::example(k.kind));
  if (k.type == Type::thread) return "M8";
  if (k.type == Type::limits) return "12.00 ± 0.10 mm";
  if (k.type == Type::points) return "30, -46, 18 mm";
  return {};
}

std::string expected_text(const Key& k) {
  const std::string eg = example_of(k);
  const std::string such = eg.empty() ? "" : fmt::format(", such as \"{}\"", eg);
  switch (k.type) {
    case Type::number:
      if (k.kind == Kind::number) return "a number";
      return with_article(unit::word(k.kind)) + (k.kind == Kind::fraction ? "" : " with its unit") + such;
    case Type::table:
      return fmt::format("one table [{}]", k.name);
    case Type::tables:
      return fmt::format("tables with double brackets, [[{}]]", k.name);
    case Type::flag:
      return "true or false, without quotation marks";
    case Type::integer:
      return "a whole number, without quotation marks";
    case Type::texts:
      return k.choices.empty() ? "a text or a list of texts" + such
                               : "one or several of: " + base::join(k.choices, ", ");
    case Type::text:
      return k.choices.empty() ? "a text" + such : "one of: " + base::join(k.choices, ", ");
    case Type::points:
      return "a point or a list of points, each a text" + such;
    case Type::sizes:
      return fmt::format("{} in one text{}",
                         k.numbers == 2   ? "two lengths"
                         : k.numbers == 3 ? "three lengths"
                                          : "lengths",
                         such);
    case Type::limits:
      return "limits" + such;
    case Type::spread:
      return "a spread" + such;
    case Type::thread:
      return "a thread" + such;
  }
  return {};
}

std::string_view word(Type type) {
  switch (type) {
    case Type::number:
      return "quantity";
    case Type::integer:
      return "whole number";
    case Type::flag:
      return "true or false";
    case Type::text:
      return "text";
    case Type::texts:
      return "list of texts";
    case Type::points:
      return "points";
    case Type::sizes:
      return "sizes";
    case Type::limits:
      return "limits";
    case Type::spread:
      return "spread";
    case Type::thread:
      return "thread";
    case Type::table:
      return "table";
    case Type::tables:
      return "list of tables";
  }
  return "";
}

}  // namespace fettle::plan
