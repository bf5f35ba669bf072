// Small files, each for one way in which sizes and tolerances are told in real files or get lost on the way.
#include <gtest/gtest.h>

#include <chrono>
#include <cmath>

#include "base/text.h"
#include "step/judge.h"
#include "step/pmi.h"

namespace fettle::step {
namespace {

const std::string mm = "#1=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));\n";
// inch (#5), degree (#9), context with `units`, a shape (#20), a bore of two faces (#30, #31) and an end face (#32)
std::string part(const std::string& pmi, const std::string& units = "#1,#9") {
  return "ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('X'));\nENDSEC;\nDATA;\n" + mm +
         "#4=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#1);\n#5=(CONVERSION_BASED_UNIT('INCH',#4)LENGTH_UNIT()"
         "NAMED_UNIT($));\n"
         "#6=(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.));\n"
         "#7=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.017453292519943295),#6);\n"
         "#9=(CONVERSION_BASED_UNIT('DEGREE',#7)NAMED_UNIT($)PLANE_ANGLE_UNIT());\n"
         "#10=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNIT_ASSIGNED_CONTEXT((" +
         units +
         "))REPRESENTATION_CONTEXT('',''));\n#20=PRODUCT_DEFINITION_SHAPE('','',$);\n#21=SHAPE_REPRESENTATION('',(),#"
         "10);\n"
         "#30=ADVANCED_FACE('',(),#40,.F.);\n#31=ADVANCED_FACE('',(),#40,.F.);\n#32=ADVANCED_FACE('',(),#44,.T.);\n"
         "#40=CYLINDRICAL_SURFACE('',#41,5.);\n#41=AXIS2_PLACEMENT_3D('',#42,$,$);\n#42=CARTESIAN_POINT('',(1.,2.,3.));"
         "\n"
         "#44=PLANE('',#41);\n#45=CLOSED_SHELL('',(#30,#31,#32));\n#46=MANIFOLD_SOLID_BREP('',#45);\n"
         "#50=SHAPE_ASPECT('','',#20,.T.);\n#51=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#50,#21,#30);\n"
         "#52=SHAPE_ASPECT('','',#20,.T.);\n#53=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#52,#21,#32);\n" +
         pmi + "ENDSEC;\nEND-ISO-10303-21;\n";
}
struct Read {
  File file;
  Pmi pmi;
};
Read read(const std::string& pmi, const std::string& units = "#1,#9", std::optional<double> length = {}) {
  auto file = parse(part(pmi, units), "t.stp");
  EXPECT_TRUE(file.ok()) << say(file.problem());
  auto got = read_pmi(*file, length);
  EXPECT_TRUE(got.ok());
  return {*file, *got};
}

// A diameter with an item list and, when given, a range.
std::string diameter(const std::string& items, const std::string& range = "", const std::string& more = "") {
  return "#100=DIMENSIONAL_SIZE(#50,'diameter');\n#101=SHAPE_DIMENSION_REPRESENTATION('',(" + items +
         "),#10);\n#102=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#100,#101);\n" +
         (range.empty() ? "" : "#103=" + range + ";\n#104=PLUS_MINUS_TOLERANCE(#103,#100);\n") + more;
}
std::string value(int id, double v, const std::string& name, const std::string& unit = "#1",
                  const std::string& more = "") {
  return "#" + std::to_string(id) +
         "=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE(" +
         base::fixed(v, 6) + ")," + unit + ")" + more + "REPRESENTATION_ITEM('" + name + "'));\n";
}
std::string bound(int id, double v, const std::string& unit = "#1") {
  return "#" + std::to_string(id) + "=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(" + base::fixed(v, 6) + ")," + unit +
         ");\n";
}
const Dimension& only(const Read& r) {
  EXPECT_EQ(r.pmi.dimensions.size(), 1u);
  return r.pmi.dimensions.at(0);
}
Judged judged(const Read& r, std::size_t i = 0) {
  const Shapes shapes = read_shapes(r.file, r.pmi.units.length.value_or(1e-3));
  return judge(r.pmi, stated(shapes)).at(i);
}

TEST(PmiTraps, both_deviations_keep_their_sign) {
  for (const auto& [low, high] : {std::pair{0.1, 0.2}, {-0.1, 0.2}, {-0.2, -0.1}, {0.025, 0.039}, {0.0, 0.2}}) {
    const auto r = read(diameter("#110", "TOLERANCE_VALUE(#111,#112)",
                                 value(110, 10, "nominal value") + bound(111, low) + bound(112, high)));
    const Dimension& d = only(r);
    EXPECT_NEAR(*d.lower, 1e-3 * low, 1e-15);
    EXPECT_NEAR(*d.upper, 1e-3 * high, 1e-15);
    EXPECT_NEAR(*d.least, 0.010 + 1e-3 * low, 1e-15);
    EXPECT_NEAR(*d.most, 0.010 + 1e-3 * high, 1e-15);
    EXPECT_EQ(judged(r).standing, Standing::requirement);
  }
}

TEST(PmiTraps, swapped_limits_are_not_used) {
  const auto r = read(diameter("#110", "TOLERANCE_VALUE(#111,#112)",
                               value(110, 10, "nominal value") + bound(111, 0.2) + bound(112, 0.1)));
  EXPECT_EQ(judged(r).standing, Standing::open);
  EXPECT_NE(judged(r).why.find("lower limit lies above"), std::string::npos);
}

TEST(PmiTraps, nominal_and_tolerance_each_in_its_own_unit) {
  const auto r = read(diameter("#110", "TOLERANCE_VALUE(#111,#112)",
                               value(110, 10 / 25.4, "nominal value", "#5", "QUALIFIED_REPRESENTATION_ITEM((#120))") +
                                   bound(111, -0.003, "#5") + bound(112, 0.05) +
                                   "#120=VALUE_FORMAT_TYPE_QUALIFIER('NR2 1.3');\n"));
  const Dimension& d = only(r);
  EXPECT_NEAR(*d.nominal, 0.010, 1e-8);
  EXPECT_NEAR(*d.lower, -0.003 * 0.0254, 1e-15);
  EXPECT_NEAR(*d.upper, 0.05e-3, 1e-15);
  EXPECT_EQ(d.decimals, 3);
}

TEST(PmiTraps, limits_in_any_order) {
  const std::string values =
      value(110, 9.9, "lower limit") + value(111, 10, "nominal value") + value(112, 10.2, "upper limit");
  for (const char* order : {"#110,#111,#112", "#112,#111,#110", "#111,#110,#112", "#110,#112", "#112,#110"}) {
    const auto r = read(diameter(order, "", values));
    const Dimension& d = only(r);
    EXPECT_NEAR(*d.least, 0.0099, 1e-15) << order;
    EXPECT_NEAR(*d.most, 0.0102, 1e-15) << order;
    EXPECT_FALSE(d.lower || d.upper);
    EXPECT_EQ(judged(r).standing, Standing::requirement) << judged(r).why;
  }
}

TEST(PmiTraps, fits_in_one_text_or_two) {
  for (const char* range : {"LIMITS_AND_FITS('G6','hole','','')", "LIMITS_AND_FITS('G','hole','6','')",
                            "LIMITS_AND_FITS('G','hole','IT6','')"}) {
    const auto r = read(diameter("#110", range, value(110, 10, "nominal value")));
    const Dimension& d = only(r);
    ASSERT_TRUE(d.fit) << range;
    EXPECT_EQ(d.fit->letter, "G");
    EXPECT_EQ(d.fit->grade, 6);
    EXPECT_EQ(d.fit->zone, "hole");
    EXPECT_EQ(judged(r).standing, Standing::requirement) << judged(r).why;
  }
  for (const char* range : {"LIMITS_AND_FITS('','hole','','')", "LIMITS_AND_FITS('G','hole','','')",
                            "LIMITS_AND_FITS('G99','hole','','')"}) {
    const auto r = read(diameter("#110", range, value(110, 10, "nominal value")));
    EXPECT_EQ(judged(r).standing, Standing::open);
    EXPECT_EQ(r.pmi.unread.size(), 1u);
  }
}

TEST(PmiTraps, basic_reference_statistical) {
  const auto note = [&](const std::string& word) {
    return read(diameter("#110,#111", "TOLERANCE_VALUE(#113,#114)",
                         value(110, 10, "nominal value") +
                             "#111=COMPOUND_REPRESENTATION_ITEM('',SET_REPRESENTATION_ITEM((#112)));\n" +
                             "#112=DESCRIPTIVE_REPRESENTATION_ITEM('dimensional note','" + word + "');\n" +
                             bound(113, -1) + bound(114, 1)));
  };
  EXPECT_EQ(judged(note("theoretical")).standing, Standing::basic);
  EXPECT_EQ(judged(note("auxiliary")).standing, Standing::reference);
  EXPECT_EQ(judged(note("statistical")).why, "kind without a rule yet: statistical");
  EXPECT_EQ(judged(note("controlled")).standing, Standing::requirement);
}

TEST(PmiTraps, model_must_agree) {
  const auto r = read(diameter("#110", "TOLERANCE_VALUE(#111,#112)",
                               value(110, 10.5, "nominal value") + bound(111, -0.1) + bound(112, 0.1)));
  EXPECT_EQ(judged(r).standing, Standing::open);
  EXPECT_EQ(judged(r).why, "the model measures 10 mm, the file says 10.5 mm");
  const auto middle = read(diameter("#110", "TOLERANCE_VALUE(#111,#112)",
                                    value(110, 9.97, "nominal value") + bound(111, 0.025) + bound(112, 0.039)));
  EXPECT_EQ(judged(middle).standing, Standing::requirement);
}

TEST(PmiTraps, values_that_cannot_be_read_are_listed_not_guessed) {
  for (const std::string& bad :
       {std::string("#110=(LENGTH_MEASURE_WITH_UNIT()MEASURE_WITH_UNIT(LENGTH_MEASURE(10.),$)REPRESENTATION_ITEM('"
                    "nominal value'));\n"),
        std::string("#110=(LENGTH_MEASURE_WITH_UNIT()MEASURE_WITH_UNIT(LENGTH_MEASURE(10.),#6)REPRESENTATION_ITEM('"
                    "nominal value'));\n"),
        std::string(
            "#110=(LENGTH_MEASURE_WITH_UNIT()MEASURE_WITH_UNIT('10',#1)REPRESENTATION_ITEM('nominal value'));\n"),
        std::string("#110=(LENGTH_MEASURE_WITH_UNIT()MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E308),#5)REPRESENTATION_ITEM('"
                    "nominal value'));\n")}) {
    const auto r = read(diameter("#110", "", bad));
    if (only(r).values.empty()) {
      EXPECT_EQ(r.pmi.unread.size(), 1u) << bad;
      EXPECT_EQ(judged(r).why, "the file gives no value");
    } else {
      // 1E308 inches is a number, if a silly one; it must not pass as agreeing with anything
      EXPECT_NE(judged(r).standing, Standing::requirement) << bad;
    }
  }
}

TEST(PmiTraps, file_without_units_has_none_until_told) {
  const std::string placed = "#130=CIRCLE('',#41,3.);\n#131=GEOMETRIC_CURVE_SET('',(#130));\n";
  const auto r = read(
      diameter("#110", "", "#110=VALUE_REPRESENTATION_ITEM('nominal value',LENGTH_MEASURE(10.));\n" + placed), "#9");
  EXPECT_FALSE(r.pmi.units.length);
  EXPECT_EQ(r.pmi.units.length_name, "none");
  EXPECT_TRUE(only(r).values.empty());
  EXPECT_TRUE(r.pmi.circles.empty());
  const auto told =
      read(diameter("#110", "", "#110=VALUE_REPRESENTATION_ITEM('nominal value',LENGTH_MEASURE(10.));\n" + placed),
           "#9", 0.0254);
  EXPECT_EQ(told.pmi.units.length_name, "in");
  EXPECT_NEAR(*only(told).nominal, 0.254, 1e-15);
  ASSERT_EQ(told.pmi.circles.size(), 1u);
  EXPECT_NEAR(told.pmi.circles[0].radius, 3 * 0.0254, 1e-15);
  EXPECT_NEAR(told.pmi.circles[0].centre_P.y, 2 * 0.0254, 1e-15);
  // against what the file says, or no length at all
  auto file = parse(part(""));
  EXPECT_FALSE(read_pmi(*file, 0.0254).ok());
  EXPECT_TRUE(read_pmi(*file, 1e-3).ok());
  auto none = parse(part("", "#9"));
  EXPECT_FALSE(read_pmi(*none, 0.0).ok());
  EXPECT_FALSE(read_pmi(*none, std::nan("")).ok());
}

TEST(PmiTraps, units_of_the_solid_win_and_cycles_end) {
  // the context that stands first in the file is in inches; the solid's own is in millimetres
  auto file =
      parse(part("#15=(GLOBAL_UNIT_ASSIGNED_CONTEXT((#1))REPRESENTATION_CONTEXT('',''));\n"
                 "#60=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#46),#15);\n",
                 "#5,#9"));
  EXPECT_EQ(read_units(*file).length_name, "mm");
  auto cycle =
      parse(part("#70=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),#71);\n"
                 "#71=(CONVERSION_BASED_UNIT('X',#70)LENGTH_UNIT()NAMED_UNIT($));\n",
                 "#71"));
  EXPECT_EQ(read_units(*cycle).length_name, "none");
}

std::vector<std::uint64_t> faces(const std::string& more, const std::string& on) {
  const auto r = read("#100=DIMENSIONAL_SIZE(" + on + ",'diameter');\n" + more);
  return only(r).ends.at(0).faces;
}
using Ids = std::vector<std::uint64_t>;

TEST(PmiTraps, every_way_from_an_aspect_to_its_faces) {
  EXPECT_EQ(faces("", "#50"), (Ids{30}));
  EXPECT_EQ(faces("#60=SHAPE_ASPECT('','',#20,.T.);\n#61=ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',#60,#21,SET_"
                  "REPRESENTATION_ITEM((#31,#30)));\n",
                  "#60"),
            (Ids{30, 31}));
  EXPECT_EQ(
      faces("#60=SHAPE_ASPECT('','',#20,.T.);\n#61=ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',#60,#21,(#31,#30));\n",
            "#60"),
      (Ids{30, 31}));
  EXPECT_EQ(faces("#60=COMPOSITE_SHAPE_ASPECT('','',#20,.F.);\n#61=SHAPE_ASPECT_RELATIONSHIP('','',#60,#50);\n#62="
                  "SHAPE_ASPECT_RELATIONSHIP('','',#60,#52);\n",
                  "#60"),
            (Ids{30, 32}));
  EXPECT_EQ(
      faces("#60=(COMPOSITE_GROUP_SHAPE_ASPECT()COMPOSITE_SHAPE_ASPECT()DATUM_FEATURE()SHAPE_ASPECT('','',#20,.T.));\n"
            "#61=(SHAPE_ASPECT_RELATIONSHIP('','',#60,#52)SHAPE_ASPECT_ASSOCIATIVITY());\n",
            "#60"),
      (Ids{32}));
  EXPECT_EQ(
      faces("#60=CENTRE_OF_SYMMETRY('','',#20,.F.);\n#61=SHAPE_ASPECT_DERIVING_RELATIONSHIP('','',#60,#50);\n", "#60"),
      (Ids{30}));
  // a cycle ends; a datum and a datum target below are not part of it
  EXPECT_EQ(faces("#60=COMPOSITE_SHAPE_ASPECT('','',#20,.F.);\n#61=SHAPE_ASPECT_RELATIONSHIP('','',#60,#50);\n#62="
                  "SHAPE_ASPECT_RELATIONSHIP('','',#50,#60);\n"
                  "#63=DATUM('','',#20,.F.,'A');\n#64=SHAPE_ASPECT_RELATIONSHIP('','',#60,#63);\n#65=GEOMETRIC_ITEM_"
                  "SPECIFIC_USAGE('','',#63,#21,#32);\n"
                  "#66=DATUM_TARGET('','area',#20,.T.,'1');\n#67=SHAPE_ASPECT_RELATIONSHIP('','',#60,#66);\n"
                  "#68=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#66,#21,#32);\n",
                  "#60"),
            (Ids{30}));
  // a distance between two aspects does not make one the part of the other
  const auto r = read("#60=DIMENSIONAL_LOCATION('linear distance','',#50,#52);\n");
  EXPECT_EQ(only(r).ends.at(0).faces, (Ids{30}));
  EXPECT_EQ(only(r).ends.at(1).faces, (Ids{32}));
}

std::string flat(int id, const std::string& on, const std::string& more, const std::string& magnitude = "#140") {
  return "#140=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.1),#1);\n#" + std::to_string(id) + "=(" + more +
         "GEOMETRIC_TOLERANCE('','note'," + magnitude + "," + on + ")POSITION_TOLERANCE());\n";
}

TEST(PmiTraps, datums_with_faces_by_every_way) {
  const auto r = read(
      "#60=DATUM('','',#20,.F.,'A');\n#61=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#60,#21,#32);\n"
      "#62=DATUM('','',#20,.F.,'B');\n#63=DATUM_FEATURE('','',#20,.T.);\n#64=SHAPE_ASPECT_RELATIONSHIP('','',#63,#62);"
      "\n"
      "#65=ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',#63,#21,SET_REPRESENTATION_ITEM((#30,#31)));\n"
      "#66=DATUM('','',#20,.F.,'C');\n#67=PLACED_DATUM_TARGET_FEATURE('','circle',#20,.T.,'2');\n"
      "#68=SHAPE_ASPECT_RELATIONSHIP('','',#67,#66);\n#69=PROPERTY_DEFINITION('','',#67);\n#70=SHAPE_DEFINITION_"
      "REPRESENTATION(#69,#71);\n"
      "#71=SHAPE_REPRESENTATION_WITH_PARAMETERS('',(#41,#72),#10);\n"
      "#72=(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(POSITIVE_LENGTH_MEASURE(4.),#1)"
      "REPRESENTATION_ITEM('target diameter'));\n"
      "#73=DATUM('','',#20,.F.,'D');\n");
  ASSERT_EQ(r.pmi.datums.size(), 4u);
  EXPECT_EQ(r.pmi.datums[0].on.faces, (Ids{32}));
  EXPECT_EQ(r.pmi.datums[1].on.faces, (Ids{30, 31}));
  EXPECT_EQ(r.pmi.datums[2].targets, (Ids{67}));
  EXPECT_TRUE(r.pmi.datums[3].on.empty());
  ASSERT_EQ(r.pmi.targets.size(), 1u);
  const DatumTarget& t = r.pmi.targets[0];
  EXPECT_EQ(t.letter + t.number, "C2");
  EXPECT_EQ(t.form, "circle");
  ASSERT_TRUE(t.p_P);
  EXPECT_NEAR(t.p_P->z, 0.003, 1e-15);
  ASSERT_EQ(t.sizes.size(), 1u);
  EXPECT_NEAR(t.sizes[0].value, 0.004, 1e-15);
}

TEST(PmiTraps, tolerance_value_in_a_complex_instance_is_not_zero) {
  const auto r =
      read(flat(150, "#50", "", "#141") + value(141, 0.25, "", "#1", "QUALIFIED_REPRESENTATION_ITEM((#142))") +
           "#142=VALUE_FORMAT_TYPE_QUALIFIER('NR2 1.2');\n");
  ASSERT_EQ(r.pmi.tolerances.size(), 1u);
  EXPECT_NEAR(*r.pmi.tolerances[0].value, 0.25e-3, 1e-18);
  EXPECT_EQ(r.pmi.tolerances[0].decimals, 2);
  EXPECT_EQ(judged(r).standing, Standing::requirement) << judged(r).why;
}

TEST(PmiTraps, everything_special_about_a_tolerance_is_said) {
  const std::string datum = "#60=DATUM('','',#20,.F.,'A');\n#61=GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#60,#21,#32);\n";
  const auto why = [&](const std::string& s) {
    const auto r = read(datum + s);
    EXPECT_TRUE(r.pmi.unread.empty());
    return judged(r).why;
  };
  const std::string framed = "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#160))";
  EXPECT_EQ(why(flat(150, "#50", framed) +
                "#160=DATUM_SYSTEM('','',#20,.F.,(#161));\n#161=DATUM_REFERENCE_COMPARTMENT('','',#20,.F.,#60,$);\n"),
            "");
  EXPECT_EQ(why(flat(150, "#50", framed) +
                "#160=DATUM_SYSTEM('','',#20,.F.,(#161));\n#161=DATUM_REFERENCE_COMPARTMENT('','',#20,.F.,#60,"
                "(SIMPLE_DATUM_REFERENCE_MODIFIER(.MAXIMUM_MATERIAL_REQUIREMENT.)));\n"),
            "kind without a rule yet: datum at maximum material");
  EXPECT_EQ(why(flat(150, "#50", "GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.LEAST_MATERIAL_REQUIREMENT.))")),
            "kind without a rule yet: least material");
  EXPECT_EQ(why(flat(150, "#50", "GEOMETRIC_TOLERANCE_WITH_MODIFIERS((.FREE_STATE.))")),
            "kind without a rule yet: free state");
  EXPECT_EQ(why(flat(150, "#20", "")), "kind without a rule yet: on the whole part");
  EXPECT_EQ(why(flat(150, "#50", "UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE(#140)")),
            "kind without a rule yet: unequally disposed");
  EXPECT_EQ(why(flat(150, "#50", "GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT(#140)")),
            "kind without a rule yet: per unit length");
  EXPECT_EQ(
      why(flat(150, "#50",
               "GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT(.SQUARE.,$)GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT(#140)")),
      "kind without a rule yet: per unit area");
  EXPECT_EQ(why(flat(150, "#50", "") + "#151=FLATNESS_TOLERANCE('','',#140,#50);\n#152=GEOMETRIC_TOLERANCE_"
                                       "RELATIONSHIP('composite','',#150,#151);\n"),
            "kind without a rule yet: composite");
  EXPECT_EQ(
      why(flat(150, "#50", "") +
          "#151=TOLERANCE_ZONE('','',#20,.F.,(#150),#152);\n#152=TOLERANCE_ZONE_FORM('cylindrical or circular');\n"
          "#153=PROJECTED_ZONE_DEFINITION(#151,(),#50,#140);\n"),
      "kind without a rule yet: projected zone");
  EXPECT_EQ(why("#140=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.1),#1);\n#150=PERPENDICULARITY_TOLERANCE('','',#140,#"
                "50,());\n"),
            "it names no datum");
  EXPECT_EQ(why("#140=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(0.),#1);\n#150=FLATNESS_TOLERANCE('','',#140,#50);\n"),
            "zero or less, without a material condition");
}

TEST(PmiTraps, frames_of_all_ages_and_common_datums) {
  const std::string datums = "#60=DATUM('','',#20,.F.,'A');\n#61=DATUM('','',#20,.F.,'B');\n";
  const std::string m = "(SIMPLE_DATUM_REFERENCE_MODIFIER(.MAXIMUM_MATERIAL_REQUIREMENT.))";
  const auto common = read(datums + flat(150, "#50", "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#160))") +
                           "#160=DATUM_SYSTEM('','',#20,.F.,(#161));\n#161=DATUM_REFERENCE_COMPARTMENT('','',#20,.F.,"
                           "COMMON_DATUM_LIST((#162,#163)),$);\n"
                           "#162=DATUM_REFERENCE_ELEMENT('','',#20,.F.,#60," +
                           m + ");\n#163=DATUM_REFERENCE_ELEMENT('','',#20,.F.,#61," + m + ");\n");
  ASSERT_EQ(common.pmi.tolerances.at(0).frame.size(), 1u);
  const Compartment& c = common.pmi.tolerances[0].frame[0];
  EXPECT_EQ(c.text(), "A-B");
  for (const DatumUse& d : c.datums) EXPECT_EQ(d.modifiers.size(), 1u);  // one each, not one more for each sibling
  // older files: ranked references, in any order
  const auto old =
      read(datums + flat(150, "#50", "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#170,#171))") +
           "#170=REFERENCED_MODIFIED_DATUM(2,#61,.MAXIMUM_MATERIAL_CONDITION.);\n#171=DATUM_REFERENCE(1,#60);\n");
  ASSERT_EQ(old.pmi.tolerances.at(0).frame.size(), 2u);
  EXPECT_EQ(old.pmi.tolerances[0].frame[0].text(), "A");
  EXPECT_EQ(old.pmi.tolerances[0].frame[1].text(), "B");
  EXPECT_EQ(in_words(old.pmi.tolerances[0].frame[1].datums[0].modifiers.at(0).name), "maximum material");
}

TEST(PmiTraps, tolerance_hung_on_a_size_binds_its_faces) {
  const auto r = read(diameter("") + flat(150, "#100", ""));
  ASSERT_EQ(r.pmi.tolerances.size(), 1u);
  EXPECT_EQ(r.pmi.tolerances[0].on.faces, (Ids{30}));
  EXPECT_EQ(r.pmi.tolerances[0].on_dimension, 100u);
}

TEST(PmiTraps, shared_lists_cost_once_too_often_and_are_refused) {
  // every one of 20 000 sizes on the same set of 40 000 faces would be 800 million links
  std::string set =
      "#200=SHAPE_ASPECT('','',#20,.T.);\n#201=ITEM_IDENTIFIED_REPRESENTATION_USAGE('','',#200,#21,SET_REPRESENTATION_"
      "ITEM((#30";
  for (int i = 0; i < 39'999; ++i) set += ",#31";
  set += ")));\n";
  std::string chain = "#300=SHAPE_ASPECT('','',#20,.T.);\n";
  for (int i = 300; i < 20'000; ++i)
    chain += "#" + std::to_string(100'000 + i) + "=SHAPE_ASPECT_RELATIONSHIP('','',#" + std::to_string(i) + ",#" +
             std::to_string(i + 1) + ");\n#" + std::to_string(i + 1) + "=SHAPE_ASPECT('','',#20,.T.);\n";
  for (const auto& [many, on] : {std::pair{set, "#200"}, {chain, "#300"}}) {
    std::string sizes;
    for (int i = 0; i < 20'000; ++i)
      sizes += "#" + std::to_string(500'000 + i) + "=DIMENSIONAL_SIZE(" + on + ",'diameter');\n";
    auto file = parse(part(many + sizes));
    ASSERT_TRUE(file.ok()) << say(file.problem());
    const auto start = std::chrono::steady_clock::now();
    auto pmi = read_pmi(*file);
    EXPECT_LT(std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(), 2.0);
    ASSERT_FALSE(pmi.ok());
    EXPECT_NE(pmi.problem().what.find("too many to follow"), std::string::npos);
  }
}

TEST(PmiTraps, angles_in_degrees) {
  const auto r = read(
      "#100=ANGULAR_LOCATION('angle','',#50,#52,.EQUAL.);\n#101=SHAPE_DIMENSION_REPRESENTATION('',(#110),#10);\n"
      "#102=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#100,#101);\n"
      "#110=(MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(60.),#9)PLANE_ANGLE_MEASURE_WITH_UNIT()"
      "REPRESENTATION_ITEM('nominal value'));\n");
  const Dimension& d = only(r);
  EXPECT_TRUE(d.angular);
  EXPECT_EQ(d.kind, DimensionKind::angle);
  EXPECT_NEAR(*d.nominal, std::acos(-1.0) / 3, 1e-15);
  EXPECT_EQ(r.pmi.units.angle_name, "deg");
}

TEST(Shapes, sizes_of_the_block_are_measured) {
  auto text = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/fuzz/seeds/block.stp");
  ASSERT_TRUE(text.ok());
  auto file = parse(*text);
  ASSERT_TRUE(file.ok());
  auto pmi = read_pmi(*file);
  ASSERT_TRUE(pmi.ok());
  const Shapes shapes = read_shapes(*file, 1e-3);
  EXPECT_EQ(shapes.faces.size(), 10u);
  EXPECT_EQ(shapes.edges.size(), 24u);
  std::vector<double> measured;
  for (const Dimension& d : pmi->dimensions)
    if (const Measured m = measure(d, shapes); m.value) measured.push_back(*m.value);
  // three diameters of the bore, bore axis to side, height; the thread's curve set has no face
  ASSERT_EQ(measured.size(), 5u);
  for (std::size_t i : {0, 1, 2}) EXPECT_NEAR(measured[i], 0.010, 1e-12);
  EXPECT_NEAR(measured[3], 0.020, 1e-12);
  EXPECT_NEAR(measured[4], 0.020, 1e-12);
  // the same file read as inches: nothing agrees any more
  for (const Judged& j : judge(*pmi, stated(read_shapes(*file, 0.0254))))
    EXPECT_TRUE(!j.dimension || j.standing != Standing::requirement) << "#" << j.entity;
}

TEST(Shapes, a_circle_about_a_bore_tells_of_a_thread) {
  auto text = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/fuzz/seeds/block.stp");
  auto file = parse(*text);
  ASSERT_TRUE(file.ok());
  const Shapes shapes = read_shapes(*file, 1e-3);
  auto pmi = read_pmi(*file);
  ASSERT_EQ(pmi->circles.size(), 1u);
  SetCircle c = pmi->circles[0];
  EXPECT_EQ(c.bound_by.size(), 2u);  // its diameter and its position
  const auto faces = threaded_faces(c, shapes);
  ASSERT_EQ(faces.size(), 2u);
  for (auto id : faces) EXPECT_NEAR(shapes.faces.at(id).radius, 0.0025, 1e-15);
  // each bound refuses: beside the axis, tilted, smaller than the bore, much larger, only drawn
  c.centre_P.x += 3e-6;
  EXPECT_TRUE(threaded_faces(c, shapes).empty());
  c = pmi->circles[0];
  c.axis_P = frame::unit({2e-5, 0, 1});
  EXPECT_TRUE(threaded_faces(c, shapes).empty());
  c = pmi->circles[0];
  for (double r : {0.0024, 0.0025, 0.0038}) {
    c.radius = r;
    EXPECT_TRUE(threaded_faces(c, shapes).empty()) << r;
  }
  c = pmi->circles[0];
  c.annotation = true;
  EXPECT_TRUE(threaded_faces(c, shapes).empty());
  c = pmi->circles[0];
  c.bound_by.clear();
  EXPECT_EQ(threaded_faces(c, shapes).size(), 2u);  // its set is named a thread
  c.set_name = "wire";
  EXPECT_TRUE(threaded_faces(c, shapes).empty());
}

TEST(Shapes, what_does_not_fix_a_distance_is_said) {
  auto file = parse(part(
      "#130=AXIS2_PLACEMENT_3D('',#131,#132,$);\n#131=CARTESIAN_POINT('',(0.,0.,9.));\n#132=DIRECTION('',(0.,1.,1.));\n"
      "#133=PLANE('',#130);\n#134=ADVANCED_FACE('',(),#133,.T.);\n#135=B_SPLINE_SURFACE('');\n#136=ADVANCED_FACE('',(),"
      "#135,.T.);\n"
      "#137=TOROIDAL_SURFACE('',#41,8.,2.);\n#138=ADVANCED_FACE('',(),#137,.T.);\n"
      "#139=CYLINDRICAL_SURFACE('',#41,-5.);\n#140=ADVANCED_FACE('',(),#139,.T.);\n"));
  ASSERT_TRUE(file.ok()) << say(file.problem());
  const Shapes shapes = read_shapes(*file, 1e-3);
  EXPECT_TRUE(shapes.faces.at(30).in_solid);
  EXPECT_FALSE(shapes.faces.at(134).in_solid);
  EXPECT_EQ(shapes.faces.at(140).surface, Surface::other);  // a negative radius is no cylinder
  const auto of = [&](DimensionKind kind, std::vector<std::vector<std::uint64_t>> ends) {
    Dimension d;
    d.kind = kind;
    for (auto& faces : ends) d.ends.push_back({std::move(faces), {}, {}, {}, {}, false});
    return measure(d, shapes);
  };
  using K = DimensionKind;
  EXPECT_NEAR(*of(K::radius, {{138}}).value, 0.002, 1e-15);  // a fillet
  EXPECT_FALSE(of(K::diameter, {{138}}).value);
  EXPECT_EQ(of(K::diameter, {{32}}).why, "no face with a radius to compare it with");
  EXPECT_EQ(of(K::radius, {{30, 138}}).why, "its faces have different radii");
  EXPECT_EQ(of(K::distance, {{32}, {134}}).why, "its two planes are not parallel");
  EXPECT_EQ(of(K::distance, {{32}, {30}}).why, "its axis is not parallel to its plane");
  EXPECT_FALSE(of(K::distance, {{32}, {136}}).value);
  EXPECT_FALSE(of(K::distance, {{32}, {999}}).value);
  EXPECT_FALSE(of(K::distance, {{32}}).value);
  EXPECT_FALSE(of(K::distance, {{32}, {}}).value);
  EXPECT_NEAR(*of(K::angle, {{32}, {134}}).value, std::acos(-1.0) / 4, 1e-12);
  EXPECT_FALSE(of(K::curve_length, {{32}}).value);
}

TEST(Callouts, counts) {
  EXPECT_EQ(count_in("4X"), 4);
  EXPECT_EQ(count_in("DIM\\w2X ⌀.250"), 2);
  EXPECT_EQ(count_in("12 x ⌀6"), 12);
  EXPECT_EQ(count_in("3× R2"), 3);
  EXPECT_EQ(count_in("⌀6 4X"), 4);
  for (const char* none : {"", "X", "2x45°", "M8x1.25", "⌀.25X", "1X", "10", "0.2", "AX4", "part 3XL"})
    EXPECT_EQ(count_in(none), 0) << none;
}

TEST(Callouts, threads) {
  EXPECT_EQ(thread_in("M8"), "M8");
  EXPECT_EQ(thread_in("4X M8x1.25-6H ↧12"), "M8x1.25-6H");
  EXPECT_EQ(thread_in("DIM\\wM10 x 1 - 6g"), "M10 x 1 - 6g");
  EXPECT_EQ(thread_in("M3×0,5"), "M3×0,5");
  EXPECT_EQ(thread_in("1/4-20 UNC"), "1/4-20 UNC");
  EXPECT_EQ(thread_in("tap 3/8-24 UNF-2B deep"), "3/8-24 UNF-2B");
  EXPECT_EQ(thread_in("#10-32UNF"), "#10-32UNF");
  EXPECT_EQ(thread_in(".250-20 UNC"), ".250-20 UNC");
  for (const char* none : {"", "M", "MM8", "M8A", "SM8", "1/4-20", "10-32", "A1/4-20 UNCLE", "M0.2", "20 UNC"})
    EXPECT_EQ(thread_in(none), "") << none;
}

}  // namespace
}  // namespace fettle::step
