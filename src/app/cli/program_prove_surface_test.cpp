// Skin, edges, castings that differ, and the forces of the worst moves.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "app/cli/program_prove.h"
#include "base/text.h"
#include "compose/compose.h"
#include "output/programs/print.h"
#include "plan/read.h"
#include "prove/surface.h"

namespace fettle::cli {
namespace {

using finding::State;

using Swaps = std::vector<std::pair<std::string, std::string>>;
plan::Plan surface_plan(Swaps swaps) {
  const std::string path = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/plan-1.toml";
  std::string text = base::read_file(path).value();
  swaps.emplace_back("on_table = 2", "on_table = 1");
  for (const auto& [from, to] : swaps) {
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    text.replace(at, from.size(), to);
  }
  return plan::read_plan(text, path, [](const std::string& p) { return base::read_file(p); }).value();
}
std::string surface_program(const plan::Plan& plan, const std::string& operation) {
  const programs::Dialect d = programs::read_dialect(programs::dialect_text("classic").value(), "classic").value();
  return programs::print(compose::compose(plan, operation, compose::Options{}).value(), d, {false, 0}).value().program;
}
prove::Proof surface_proof(const plan::Plan& plan, const std::string& operation, const std::string& text,
                           prove::Options o = {}) {
  o.cell = 0.5e-3;
  return prove_text(plan, operation, text, "p.nc", o).value();
}
prove::Options no_loads() {
  prove::Options o;
  o.loads = false;
  return o;
}
std::vector<const finding::Finding*> asked(const prove::Proof& p, const std::string& question) {
  std::vector<const finding::Finding*> out;
  for (const finding::Finding& f : p.findings)
    if (f.question == question) out.push_back(&f);
  return out;
}
std::string at_line(const std::string& text, int line) {
  const std::vector<std::string> lines = base::split(text, '\n');
  return line > 0 && static_cast<std::size_t>(line) <= lines.size() ? lines[static_cast<std::size_t>(line) - 1] : "";
}

/// The ends roughed in OP20, as the plan wants it, with what the demo leaves unsaid; corners square, where edges break.
const Swaps ends = {{"size = \"132.00 x 92.00 mm\"\nradius = \"12 mm\"\n", "size = \"132.00 x 92.00 mm\"\n"},
                    {"features = [\"E3\", \"E4\"]\nkind = \"rough\"\n",
                     "features = [\"E3\", \"E4\"]\nkind = \"rough\"\nspeed = \"2190 rpm\"\nfeed = \"770 mm/min\"\n"
                     "depth = \"40 mm\"\nwidth = \"1.9 mm\"\n"}};

TEST(ProgramSurface, AnEdgeThatIsCutInwardsFirstIsNotBrokenOut) {
  const plan::Plan plan = surface_plan(ends);
  const std::string text = surface_program(plan, "OP20");
  const prove::Proof p = surface_proof(plan, "OP20", text, no_loads());
  ASSERT_EQ(asked(p, "edge").size(), 1U);
  EXPECT_EQ(asked(p, "edge")[0]->state, State::inside) << asked(p, "edge")[0]->sentence;
  EXPECT_EQ(asked(p, "skin")[0]->state, State::inside) << asked(p, "skin")[0]->sentence;
}

TEST(ProgramSurface, AnEdgeThatIsNotIsFoundInItsLine) {
  const plan::Plan plan = surface_plan(ends);
  std::string text = surface_program(plan, "OP20");
  const std::string inwards = "G1 Z0. F3000.\nG1 Y-43. F385.\nG1 X78.15 F770.\n";
  const std::size_t at = text.find(inwards);
  ASSERT_NE(at, std::string::npos);
  text.replace(at, inwards.size(), "(not cut)\n");
  const prove::Proof p = surface_proof(plan, "OP20", text, no_loads());
  const auto found = asked(p, "edge");
  ASSERT_EQ(found.size(), 3U);  // three parts
  for (const finding::Finding* f : found) {
    EXPECT_EQ(f->state, State::tight);
    EXPECT_EQ(f->tool, "T11");
    EXPECT_EQ(at_line(text, p.line_of.at(f->id)), "G1 Y-57.9 F770.") << f->sentence;
  }
  // Where the plan says that the edge is broken, the program must do it.
  Swaps said = ends;
  said[1].second += "exit = \"broken edge\"\n";
  const prove::Proof q = surface_proof(surface_plan(said), "OP20", text, no_loads());
  ASSERT_EQ(asked(q, "edge").size(), 3U);
  EXPECT_EQ(asked(q, "edge")[0]->state, State::outside);
  // Ductile iron stretches: nobody asks.
  Swaps ductile = ends;
  ductile.emplace_back("material = \"EN-GJL-250\"", "material = \"EN-GJS-500-7\"");
  EXPECT_TRUE(asked(surface_proof(surface_plan(ductile), "OP20", text, no_loads()), "edge").empty());
}

TEST(ProgramSurface, AFaceMillLeavesOverTheEdgeOfTheLastPart) {
  const plan::Plan plan = surface_plan({});
  const std::string text = surface_program(plan, "OP10b");
  const prove::Proof p = surface_proof(plan, "OP10b", text, no_loads());
  const auto found = asked(p, "edge");
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0]->state, State::tight);
  EXPECT_EQ(found[0]->value, 6);  // three strips at two levels
  // A first level half a millimetre deep: the skin.
  std::string shallow = text;
  const std::size_t block = shallow.find("(OP10b T1 E2)"), z = shallow.find("G1 Z93.25", block);
  ASSERT_NE(z, std::string::npos);
  shallow.replace(z, 9, "G1 Z94.55");
  const prove::Proof q = surface_proof(plan, "OP10b", shallow, no_loads());
  ASSERT_EQ(asked(q, "skin").size(), 1U);
  EXPECT_EQ(asked(q, "skin")[0]->state, State::outside);
  EXPECT_EQ(
      q.line_of.at(asked(q, "skin")[0]->id),
      1 + std::count(shallow.begin(), shallow.begin() + static_cast<std::ptrdiff_t>(shallow.find("G1 Y", z)), '\n'));
}

TEST(ProgramSurface, MeasuredCastingsAreNamedByTheirNumber) {
  const plan::Plan plan = surface_plan({});
  const std::string text = surface_program(plan, "OP30");
  prove::Options o = no_loads();
  o.castings = 10, o.measured = true;  // 10 to 13 of the table; the core of 13 stands 2.6 mm beside
  const prove::Proof p = surface_proof(plan, "OP30", text, o);
  const finding::Finding* found = nullptr;
  for (const finding::Finding* f : asked(p, "skin"))
    if (f->state == State::outside && f->nest == "nest 4") found = f;
  ASSERT_NE(found, nullptr);
  EXPECT_TRUE(std::none_of(p.findings.begin(), p.findings.end(), [](const finding::Finding& f) {
    return f.question == "left" && f.state == State::outside;
  }));
  EXPECT_NE(found->sentence.find("casting 13"), std::string::npos) << found->sentence;
  EXPECT_GT(p.line_of.at(found->id), 0);
  EXPECT_EQ(prove::exit_code(p), 1);
  // The same bytes again, and another number gives another casting.
  EXPECT_EQ(proof_json(surface_proof(plan, "OP30", text, o), "p.nc"), proof_json(p, "p.nc"));
  o.castings = 1;
  EXPECT_NE(proof_json(surface_proof(plan, "OP30", text, o), "p.nc"), proof_json(p, "p.nc"));
}

TEST(ProgramSurface, EveryKindOfToolHasItsWorstMove) {
  for (const char* operation : {"OP10b", "OP20"}) {
    const plan::Plan plan = surface_plan(ends);
    const prove::Proof p = surface_proof(plan, operation, surface_program(plan, operation));
    std::set<std::string> told;
    for (const finding::Finding& f : p.findings)
      if (f.sentence.find("worst move is line") != std::string::npos && p.line_of.at(f.id) > 0)
        told.insert(f.tool + " " +
                    (f.question.rfind("power", 0) == 0         ? "cutting"
                     : f.id.find("holds") != std::string::npos ? "holding"
                                                               : f.question));
    for (const plan::Cut& c : plan::find_operation(plan, operation)->cuts) {
      if (!c.speed.known()) continue;
      const bool some = std::any_of(told.begin(), told.end(),
                                    [&](const std::string& t) { return t.rfind(c.tool.value + " ", 0) == 0; });
      EXPECT_TRUE(some) << operation << " " << c.tool.value;
    }
  }
}

TEST(ProgramSurface, ADrillThatIsFedHarderThrustsHarder) {
  const plan::Plan plan = surface_plan({});
  const std::string text = surface_program(plan, "OP20");
  std::string hard = text;
  const std::size_t at = hard.find("F600.", hard.find("(OP20 T8 F8)"));
  ASSERT_NE(at, std::string::npos);
  hard.replace(at, 5, "F900.");
  const auto hold = [&](const std::string& t) {
    const prove::Proof p = surface_proof(plan, "OP20", t);
    for (const finding::Finding& f : p.findings)
      if (f.tool == "T8" && f.question.rfind("holds", 0) == 0)
        return std::pair<double, std::string>(f.margin, f.sentence);
    return std::pair<double, std::string>(std::nan(""), "");
  };
  const auto soft = hold(text), fed = hold(hard);
  EXPECT_LT(fed.first, soft.first) << soft.second << "\n" << fed.second;
  EXPECT_NE(fed.second.find("0.300 mm a turn"), std::string::npos) << fed.second;
}

TEST(ProgramSurface, ACoreAlongTheRowIsHollow) {
  const plan::Plan plan = surface_plan({});
  const plan::Operation* o = plan::find_operation(plan, "OP10b");
  const compose::SetUp up = compose::set_up(plan, *o).value();
  std::vector<std::string> notes;
  prove::Shape s = prove::raw_shape(plan, *o, up, {}, notes);
  ASSERT_EQ(s.tunnels.size(), 1U) << "the bore is not cut yet, the core is there";
  EXPECT_EQ(s.tunnels[0].feature, "F2");
  EXPECT_NEAR(s.tunnels[0].height, 46.5e-3, 1e-9);                              // the part stands on its edge E1
  EXPECT_NEAR(s.tunnels[0].half_height, 23e-3, 1e-9);                           // cored 46.0
  EXPECT_NEAR(s.tunnels[0].to - s.tunnels[0].from, (36 - 20.35) * 1e-3, 1e-9);  // from the cored floor to the top
  const prove::Tunnel core_way = s.tunnels[0];
  ASSERT_FALSE(core_way.along_x);
  removal::Field with = removal::make_field(-0.1, -0.1, 0.1, 0.1, 0.25e-3, removal::nothing).value(), without = with;
  prove::stand(with, s, {}, 0);
  s.tunnels.clear();
  prove::stand(without, s, {}, 0);
  const double core = 3.14159265358979 * 23e-3 * 23e-3 * 15.65e-3;
  EXPECT_NEAR(removal::metal(without, 0) - removal::metal(with, 0), core, 0.02 * core);
  // A hole from above that ends in it goes through air there: less metal to take, and nothing left standing.
  const removal::Cutter drill{6e-3, 0, 0, 0, 0};
  const double x = core_way.across, y = 0.5 * (core_way.from + core_way.to);
  const removal::Bite solid = removal::cut(without, drill, {x, y, 0.1}, {x, y, 10e-3}),
                      hollow = removal::cut(with, drill, {x, y, 0.1}, {x, y, 10e-3});
  EXPECT_LT(hollow.volume, solid.volume);
}

TEST(ProgramSurface, DepthUnderWallsAndFloors) {
  prove::Shape s;
  s.body = {{}, 0.060, 0.040, 0.010};
  s.top = 0.030;
  s.skin_side = {true, false, true, false};
  EXPECT_NEAR(prove::under_wall(s, 0.059, 0, 0, 0.03), 0.001, 1e-12);
  EXPECT_NEAR(prove::under_wall(s, -0.059, 0, 0, 0.03), 0.04, 1e-12);  // that side was cut before
  EXPECT_NEAR(prove::under_wall(s, 0, 0.039, 0, 0.03), 0.001, 1e-12);
  // In the corner of +x and +y the arc counts: its middle stands at (50, 30).
  EXPECT_NEAR(prove::under_wall(s, 0.050 + 0.009 / std::sqrt(2.0), 0.030 + 0.009 / std::sqrt(2.0), 0, 0.03), 0.001,
              1e-12);
  s.skin_side[2] = false;
  EXPECT_NEAR(prove::under_wall(s, 0.0555, 0.0355, 0, 0.03), 0.0045, 1e-12);  // the +y side was cut: +x alone
  EXPECT_GT(prove::under_top(s, 0, 0, 0.029), 1);
  s.skin_top = true;
  EXPECT_NEAR(prove::under_top(s, 0, 0, 0.029), 0.001, 1e-12);
  prove::Hollow h;
  h.outline = {{}, 0.020, 0.020, 0.020};
  h.upper = 0.030, h.lower = 0.010, h.skin = true;
  s.hollows = {h};
  EXPECT_NEAR(prove::under_top(s, 0, 0, 0.008), 0.002, 1e-12);
  EXPECT_NEAR(prove::under_wall(s, 0.0205, 0, 0.02, 0.03), 0.0005, 1e-12);
  EXPECT_NEAR(prove::under_wall(s, 0.0205, 0, 0.0, 0.0105), 0.0395, 1e-12);  // below the core's floor: the +x side
  s.hollows[0].skin = false;
  EXPECT_GT(prove::under_top(s, 0, 0, 0.008), 1);
}

}  // namespace
}  // namespace fettle::cli
