// Bad STEP texts: one clear problem each, and no crash, hang or silent empty solid.
#include <gtest/gtest.h>

#include <unistd.h>

#include <chrono>
#include <regex>

#include "base/text.h"
#include "solid/build.h"
#include "solid/door.h"
#include "solid/solid.h"

namespace fettle::solid {
namespace {

const std::string& good() {
  static const Outcome<std::string> text = demo_part();
  EXPECT_TRUE(text.ok());
  static const std::string none;
  return text ? *text : none;
}

/// The text with the first match of `pattern` replaced; it must match.
std::string with(const std::string& pattern, const std::string& to, const std::string& text = good()) {
  const std::string out = std::regex_replace(text, std::regex(pattern), to, std::regex_constants::format_first_only);
  EXPECT_TRUE(out != text) << pattern << " is not in the text";
  return out;
}

/// The text with these lines before the end of its data.
std::string plus(const std::string& lines) { return with("ENDSEC;\\s*END-ISO", lines + "ENDSEC;\nEND-ISO"); }

std::string bore_radius(const std::string& r) {
  return with("(CYLINDRICAL_SURFACE\\('',#[0-9]+,)11\\.\\)", "$01" + r + ")");
}

/// Says the one problem of a text that must be refused.
std::string refused(const std::string& text, const ReadOptions& options = {}) {
  const auto m = read_step_text(text, "bad.step", options);
  if (m) return "READ: volume " + base::shortest(m->volume * 1e6) + " cm3";
  EXPECT_EQ(m.problems().size(), 1u);
  EXPECT_EQ(m.problem().where.file, "bad.step");
  EXPECT_EQ(m.problem().fault, Fault::bad_input) << say(m.problem());
  return say(m.problem());
}

#define EXPECT_SAYS(said, words)                                       \
  do {                                                                 \
    const std::string s_ = said;                                       \
    EXPECT_NE(s_.find(words), std::string::npos) << "it says: " << s_; \
  } while (false)

TEST(Guards, the_good_text_is_read) {
  EXPECT_SAYS(refused(good()), "READ: volume 360.2");
  EXPECT_SAYS(refused(bore_radius("11.0")), "READ: volume 360.2");
}

TEST(Guards, not_step_or_cut_short) {
  for (const char* text : {"", "solid ascii\nfacet", "ISO-10303-21;",
                           "\xFF\xFE"
                           "I\0S\0O\0"})
    EXPECT_SAYS(refused(text), "bad.step");
  for (const double share : {0.01, 0.1, 0.5, 0.9, 0.99})
    EXPECT_SAYS(refused(good().substr(0, static_cast<std::size_t>(share * static_cast<double>(good().size())))),
                "bad.step:");
  EXPECT_FALSE(read_step("no/such/file.step").ok());
  EXPECT_FALSE(read_step("/").ok());
}

TEST(Guards, radii_and_references_that_the_kernel_takes_in_silence) {
  EXPECT_SAYS(refused(bore_radius("0.")), "radius");
  EXPECT_SAYS(refused(bore_radius("-11.")), "radius");
  EXPECT_SAYS(refused(bore_radius("1.E300")), "bad.step");
  EXPECT_SAYS(refused(bore_radius("NAN")), "bad.step");
  EXPECT_SAYS(refused(with("(CYLINDRICAL_SURFACE\\('',)#[0-9]+", "$01$$")), "damaged");
  EXPECT_SAYS(refused(with("(CYLINDRICAL_SURFACE\\('',)#[0-9]+", "$01#999999")), "bad.step");
  EXPECT_SAYS(refused(with("(CYLINDRICAL_SURFACE\\('',)#[0-9]+", "$01#5")), "damaged");
  EXPECT_SAYS(refused(with("(CARTESIAN_POINT\\('',\\()66\\.", "$01NAN")), "bad.step");
}

TEST(Guards, shells_that_do_not_close_and_surfaces_only) {
  const std::string open = with("(CLOSED_SHELL\\('',\\(#[0-9]+,)#[0-9]+,", "$01");
  EXPECT_SAYS(refused(open), "bad.step");
  const std::string surfaces = with("MANIFOLD_SOLID_BREP\\(''", "SHELL_BASED_SURFACE_MODEL(''");
  EXPECT_SAYS(refused(surfaces), "bad.step");
  EXPECT_SAYS(refused(with("=\\s*MANIFOLD_SOLID_BREP\\('',(#[0-9]+)\\)", "= SHELL_BASED_SURFACE_MODEL('',($01))")),
              "no solid");
}

TEST(Guards, more_than_one_solid) {
  std::smatch m;
  ASSERT_TRUE(std::regex_search(good(), m, std::regex("#(\\d+) = MANIFOLD_SOLID_BREP\\('',(#\\d+)\\)")));
  std::string two = plus("#999001 = MANIFOLD_SOLID_BREP(''," + m[2].str() + ");\n");
  two = with("(ADVANCED_BREP_SHAPE_REPRESENTATION\\('',\\(#[0-9]+,)", "$01#999001,", two);
  EXPECT_SAYS(refused(two), "more than one solid");
}

TEST(Guards, a_file_without_units_is_asked_about) {
  const std::string none = with("\\( LENGTH_UNIT\\(\\) NAMED_UNIT\\(\\*\\) SI_UNIT\\(\\.MILLI\\.,\\.METRE\\.\\) \\)",
                                "( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($$,.RADIAN.) )");
  EXPECT_SAYS(refused(none), "no length unit");
  ReadOptions o;
  o.unit_if_none = "in";
  const auto inch = read_step_text(none, "none.step", o);
  ASSERT_TRUE(inch.ok()) << say(inch.problem());
  EXPECT_EQ(inch->unit, "in");
  EXPECT_NEAR(inch->box.hi.x, 66 * 0.0254, 1e-9);
  o.unit_if_none = "mm";
  const auto mm = read_step_text(none, "none.step", o);
  ASSERT_TRUE(mm.ok()) << say(mm.problem());
  EXPECT_NEAR(mm->box.hi.x, 0.066, 1e-9);
}

TEST(Guards, the_volume_must_be_what_the_file_states) {
  std::smatch m;
  ASSERT_TRUE(std::regex_search(good(), m, std::regex("#(\\d+) = \\( LENGTH_UNIT\\(\\)")));
  const auto stating = [&](const std::string& value) {
    return plus("#999001=DERIVED_UNIT_ELEMENT(#" + m[1].str() + ",3.);\n#999002=DERIVED_UNIT((#999001));\n" +
                "#999003=MEASURE_REPRESENTATION_ITEM('volume measure',VOLUME_MEASURE(" + value + "),#999002);\n");
  };
  const auto right = read_step_text(stating("360261."), "right.step");
  ASSERT_TRUE(right.ok()) << say(right.problem());
  EXPECT_NEAR(right->stated_volume, 360261e-9, 1e-12);
  EXPECT_SAYS(refused(stating("361000.")), "not what the file itself states");
  EXPECT_SAYS(refused(stating("0.")), "READ");  // says nothing
}

TEST(Guards, options_are_bounded) {
  const auto option = [](auto change) {
    ReadOptions o;
    change(o);
    const auto m = read_step_text(good(), "good.step", o);
    return m ? std::string("READ") : say(m.problem());
  };
  EXPECT_SAYS(option([](ReadOptions& o) { o.density = -1; }), "density");
  EXPECT_SAYS(option([](ReadOptions& o) { o.density = 1e6; }), "density");
  EXPECT_SAYS(option([](ReadOptions& o) { o.density = std::nan(""); }), "density");
  EXPECT_SAYS(option([](ReadOptions& o) { o.unit_if_none = "furlong"; }), "unit");
  EXPECT_SAYS(option([](ReadOptions& o) { o.samples_per_face = 0; }), "samples");
  EXPECT_SAYS(option([](ReadOptions& o) { o.samples_per_face = 1000000; }), "samples");
  EXPECT_SAYS(option([](ReadOptions& o) { o.chord = 0; }), "chord");
  EXPECT_SAYS(option([](ReadOptions& o) { o.chord = 2; }), "chord");
  EXPECT_SAYS(option([](ReadOptions& o) { o.mesh_chord = 1e-9; }), "mesh chord");
  EXPECT_SAYS(option([](ReadOptions& o) { o.mesh_chord = 2; }), "mesh chord");
  EXPECT_SAYS(option([](ReadOptions& o) { o.mesh_angle = 0; }), "mesh angle");
  EXPECT_SAYS(option([](ReadOptions& o) { o.mesh_angle = 3; }), "mesh angle");
  EXPECT_SAYS(option([](ReadOptions& o) { o.cpu_seconds = 0; }), "processor time");
  EXPECT_SAYS(option([](ReadOptions& o) { o.cpu_seconds = 1e9; }), "processor time");
  EXPECT_SAYS(option([](ReadOptions& o) { o.wall_seconds = 0; }), "time limit");
  EXPECT_SAYS(option([](ReadOptions& o) { o.wall_seconds = 1e9; }), "time limit");
  EXPECT_SAYS(option([](ReadOptions& o) { o.memory_bytes = 1; }), "memory");
  EXPECT_SAYS(option([](ReadOptions& o) { o.memory_bytes = 1e15; }), "memory");
  EXPECT_SAYS(option([](ReadOptions& o) { o.cuts = {{{}, {0, 0, 2}}}; }), "normal");
}

TEST(Guards, a_cut_along_a_face_is_refused_or_closed) {
  ReadOptions o;
  o.cuts = {{{0, 0, 0.036}, {0, 0, 1}}};
  const auto m = read_step_text(good(), "good.step", o);
  if (m) {
    for (const Wire& w : m->sections[0].wires) EXPECT_GE(w.points.size(), 3u);
  }
}

TEST(Door, a_hang_is_ended_by_the_clock) {
  ReadOptions o;
  o.wall_seconds = 0.05;
  o.mesh_chord = 1e-6;  // far more work than fits
  o.mesh_angle = 0.01;
  const auto start = std::chrono::steady_clock::now();
  EXPECT_SAYS(refused(good(), o), "did not come to an end");
  EXPECT_LT(std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(), 10);
}

TEST(Door, endless_work_is_ended_by_the_processor_limit) {
  const auto r = run_in_child("test: spin", "", "bad.step", {1, 20, 1073741824.0});
  ASSERT_FALSE(r.ok());
  EXPECT_SAYS(say(r.problem()), "processor time");
}

TEST(Door, a_crash_and_a_flood_of_memory_stay_in_the_child) {
  const auto crash = run_in_child("test: crash", "", "bad.step", {});
  ASSERT_FALSE(crash.ok());
  EXPECT_SAYS(say(crash.problem()), "signal");
  const auto deep = run_in_child("test: deep", "", "bad.step", {});
  ASSERT_FALSE(deep.ok());
  EXPECT_SAYS(say(deep.problem()), "signal");
  const auto flood = run_in_child("test: flood", "", "bad.step", {});
  ASSERT_FALSE(flood.ok());
  EXPECT_SAYS(say(flood.problem()), "memory");
}

TEST(Door, works_without_standard_input_and_output) {
  const int in = ::dup(0), out = ::dup(1);
  ::close(0);
  ::close(1);
  const auto r = demo_casting();
  ::dup2(in, 0);
  ::dup2(out, 1);
  ::close(in);
  ::close(out);
  EXPECT_TRUE(r.ok()) << say(r.problem());
}

TEST(Door, an_unknown_job_is_our_fault) {
  const auto r = run_in_child("no such job", "", "x", {});
  ASSERT_FALSE(r.ok());
  EXPECT_EQ(r.problem().fault, Fault::our_fault);
}

}  // namespace
}  // namespace fettle::solid
