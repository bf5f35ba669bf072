// The drawing on the demo part, read back by the reader that knows nothing of the writer.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "solid/build.h"
#include "solid/solid.h"
#include "solid/write_pmi.h"
#include "step/judge.h"
#include "step/pmi.h"

namespace fettle::solid {
namespace {

struct Drawn {
  Model model;
  step::Pmi pmi;
};

const Drawn& drawn() {
  static const Drawn d = [] {
    Drawn out;
    const auto text = demo_part();
    EXPECT_TRUE(text.ok()) << (text ? "" : say(text.problem()));
    if (!text) return out;
    const auto model = read_step_text(*text, "part");
    EXPECT_TRUE(model.ok()) << (model ? "" : say(model.problem()));
    const auto file = step::parse(*text, "part");
    EXPECT_TRUE(file.ok()) << (file ? "" : say(file.problem()));
    if (!model || !file) return out;
    out.model = *model;
    const auto pmi = step::read_pmi(*file);
    EXPECT_TRUE(pmi.ok()) << (pmi ? "" : say(pmi.problem()));
    if (pmi) out.pmi = *pmi;
    return out;
  }();
  return d;
}

TEST(DemoDrawing, every_size_comes_back_with_its_limits_on_the_right_faces) {
  struct Want {
    double nominal, lower, upper;
    int decimals;
    std::size_t faces;
  };
  const std::vector<Want> want = {{3.7, 0, 0.1, 2, 2},           {8, 0, 0.015, 3, 2},   {10.5, 0, 0.2, 1, 2},
                                  {18, -0.04, 0.04, 2, 2},       {22, 0, 0.009, 3, 1},  {36, -0.06, 0.06, 2, 2},
                                  {50, 0, 0.039, 3, 2},          {54, 0, 0.08, 2, 1},   {92, -0.1, 0.1, 2, 2},
                                  {111.21, -0.015, 0.015, 3, 2}, {132, -0.1, 0.1, 2, 2}};
  std::vector<step::Dimension> got = drawn().pmi.dimensions;
  ASSERT_EQ(got.size(), want.size());
  std::sort(got.begin(), got.end(),
            [](const auto& a, const auto& b) { return a.nominal.value_or(0) < b.nominal.value_or(0); });
  for (std::size_t i = 0; i < want.size(); ++i) {
    const step::Dimension& d = got[i];
    ASSERT_TRUE(d.nominal && d.lower && d.upper && d.decimals) << want[i].nominal;
    EXPECT_NEAR(*d.nominal * 1e3, want[i].nominal, 1e-9);
    EXPECT_NEAR(*d.lower * 1e3, want[i].lower, 1e-9) << want[i].nominal;
    EXPECT_NEAR(*d.upper * 1e3, want[i].upper, 1e-9) << want[i].nominal;
    EXPECT_EQ(*d.decimals, want[i].decimals) << want[i].nominal;
    std::size_t faces = 0;
    for (const step::Binding& b : d.ends)
      for (const auto id : b.faces) {
        ++faces;
        const Face* f = drawn().model.face(static_cast<int>(id));
        ASSERT_TRUE(f) << "#" << id << " is no face of the solid";
        if (d.kind == step::DimensionKind::diameter) {
          EXPECT_EQ(f->kind, Kind::cylinder);
          EXPECT_NEAR(2 * f->radius, *d.nominal, 1e-9);
        }
      }
    EXPECT_EQ(faces, want[i].faces) << want[i].nominal;
  }
}

TEST(DemoDrawing, datums_and_tolerances_come_back) {
  const step::Pmi& p = drawn().pmi;
  std::map<std::string, Kind> datums;
  for (const step::Datum& d : p.datums) {
    ASSERT_EQ(d.on.faces.size(), 1u) << d.letter;
    const Face* f = drawn().model.face(static_cast<int>(d.on.faces.front()));
    ASSERT_TRUE(f);
    datums[d.letter] = f->kind;
  }
  const std::map<std::string, Kind> want = {
      {"A", Kind::plane}, {"B", Kind::cylinder}, {"C", Kind::cylinder}, {"D", Kind::cylinder}};
  EXPECT_EQ(datums, want);
  std::vector<std::string> got;
  for (const step::Tolerance& t : p.tolerances) {
    std::string s = t.entity_name + ' ' + std::to_string(std::lround(t.value.value_or(0) * 1e6)) + "um";
    for (const auto& c : t.frame) s += ' ' + c.text();
    if (!t.zone.empty()) s += " round";
    got.push_back(s + " on " + std::to_string(t.on.faces.size()));
  }
  std::sort(got.begin(), got.end());
  const std::vector<std::string> all = {"COAXIALITY_TOLERANCE 70um D round on 2",
                                        "CYLINDRICITY_TOLERANCE 4um on 1",
                                        "FLATNESS_TOLERANCE 30um on 1",
                                        "FLATNESS_TOLERANCE 30um on 1",
                                        "PERPENDICULARITY_TOLERANCE 10um A round on 1",
                                        "POSITION_TOLERANCE 250um A B C round on 2",
                                        "POSITION_TOLERANCE 250um A B C round on 4",
                                        "POSITION_TOLERANCE 250um A B C round on 6"};
  EXPECT_EQ(got, all);
  for (const auto& u : p.unread) ADD_FAILURE() << u.entity_name << ": " << u.why;
}

TEST(DemoDrawing, all_of_it_can_become_requirements) {
  const auto text = demo_part();
  ASSERT_TRUE(text.ok());
  const auto file = step::parse(*text, "part");
  ASSERT_TRUE(file.ok());
  const step::Shapes shapes = step::read_shapes(*file, 1e-3);
  const auto judged = step::judge(drawn().pmi, step::stated(shapes));
  EXPECT_EQ(judged.size(), 19u);
  for (const step::Judged& j : judged)
    EXPECT_EQ(j.standing, step::Standing::requirement) << '#' << j.entity << ": " << j.why;
}

TEST(DemoDrawing, needs_a_solid_to_stand_on) {
  EXPECT_FALSE(DrawingWriter::on("no step").ok());
  EXPECT_FALSE(
      DrawingWriter::on(
          "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n"
          "FILE_SCHEMA(('X'));\nENDSEC;\nDATA;\n#1=CARTESIAN_POINT('',(0.,0.,0.));\nENDSEC;\nEND-ISO-10303-21;\n")
          .ok());
}

}  // namespace
}  // namespace fettle::solid
