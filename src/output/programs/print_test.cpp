#include "output/programs/print.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <set>

#include "base/text.h"
#include "compose/demo_for_tests.h"
#include "compose/on_paper.h"
#include "output/programs/dialect.h"
#include "places.h"
#include "program/on_paper.h"
#include "program/read.h"

namespace fettle::programs {
namespace {

using compose::Composition;
namespace demo = compose::demo;
namespace paper = compose::paper;

constexpr double mm = 1e-3;

Dialect dialect_of(const std::string& name) {
  const Outcome<std::string> text = dialect_text(name);
  EXPECT_TRUE(text.ok());
  const Outcome<Dialect> d = read_dialect(text.ok() ? *text : "", name);
  EXPECT_TRUE(d.ok()) << (d.ok() ? "" : say(d.problem()));
  return d.ok() ? *d : Dialect{};
}

/// Touches of the demo's castings: each of three, both raw ends, somewhat off.
std::deque<frame::Vec3> touches_of(const std::string& operation, const std::map<std::string, double>& values) {
  std::deque<frame::Vec3> out;
  if (operation == "OP20")
    for (int k = 0; k < 3; ++k) {
      out.push_back({-71.3 * mm, 0, 17 * mm});
      out.push_back({71.0 * mm + k * 0.1 * mm, 0, 17 * mm});
    }
  const auto pin = values.find("pin_1_x");
  if (pin != values.end())
    for (int k = 0; k < 4; ++k) {
      const double x = k % 2 == 0 ? -0.15 : 0.15, y = 0.01 * (k % 2), r = 8 * mm, off = 0.02 * mm * k;
      out.push_back({x - r + off, y, 16 * mm});
      out.push_back({x + r + off, y, 16 * mm});
      out.push_back({x, y - r - off, 16 * mm});
      out.push_back({x, y + r - off, 16 * mm});
    }
  return out;
}

/// Ends of all moves in machine coordinates, mm, as the second reader (tests/interpreter.py) finds them in the text.
struct Read {
  std::vector<std::array<double, 3>> ends;
  std::string words;  // what it said when it could not
};
Read read_by_other(const std::string& text, const std::string& name, const std::deque<frame::Vec3>& touches,
                   const Composition& c, double unit) {
  const std::string folder = std::string(fettle::test::binary_dir), file = folder + "/made-" + name + ".nc",
                    out = folder + "/made-" + name + ".txt";
  EXPECT_TRUE(base::write_file(file, text).ok());
  std::string lengths, given;
  for (int t = 1; t < 100; ++t) lengths += (t > 1 ? ", " : "") + ("\"" + std::to_string(t) + "\": 150.0");
  for (const frame::Vec3& p : touches)
    given += (given.empty() ? "[" : ", [") + base::shortest(p.x / unit) + ", " + base::shortest(p.y / unit) + ", " +
             base::shortest(p.z / unit) + "]";
  static_cast<void>(c);
  // Prints one line a move with nothing but numbers.
  const std::string command =
      "/usr/bin/python3 \"" FETTLE_SOURCE_DIR "/tests/interpreter.py\" \"" + file + "\" --lengths '{" + lengths +
      "}' --touches '[" + given + "]' 2>\"" + out +
      ".said\" | /usr/bin/python3 -c \"import json,sys\nfor m in json.load(sys.stdin)['moves']:\n  if m['kind'] != "
      "'tool': print(*map(repr, m['end']))\" >\"" +
      out + "\" 2>/dev/null";
  const int code = std::system(command.c_str());
  Read r;
  const Outcome<std::string> said = base::read_file(out + ".said"), lines = base::read_file(out);
  if (said.ok()) r.words = *said;
  EXPECT_EQ(code, 0) << r.words;
  if (!lines.ok()) return r;
  for (const std::string& l : base::split(*lines, '\n')) {
    const auto w = base::split(l, ' ');
    if (w.size() == 3)
      r.ends.push_back(
          {std::strtod(w[0].c_str(), nullptr), std::strtod(w[1].c_str(), nullptr), std::strtod(w[2].c_str(), nullptr)});
  }
  return r;
}

/// The program with what a person types in at its top, behind the units.
std::string with_values(const Printed& p, const Composition& c, const std::map<std::string, double>& values,
                        double unit) {
  std::string lines;
  for (const auto& numbered : p.parameters) {
    const std::string& name = numbered.first;
    const int number = numbered.second;
    const auto v = values.find(name);
    const auto it =
        std::find_if(c.parameters.begin(), c.parameters.end(), [&](const auto& q) { return q.name == name; });
    if (v == values.end() || it == c.parameters.end() || !it->kept) continue;
    lines += "#" + std::to_string(number) + " = " + base::shortest(it->is_length ? v->second / unit : v->second) + "\n";
  }
  std::string text = p.program;
  const std::string units = unit == mm ? "\nG21\n" : "\nG20\n";
  const std::size_t at = text.find(units);
  EXPECT_NE(at, std::string::npos);
  return text.insert(at + units.size(), lines);
}

std::map<std::string, double> values_of(const Composition& c) {
  auto v = paper::typed_in(c);
  if (v.count("pin_1_x") > 0) {
    v["pin_1_x"] = -0.15;
    v["pin_1_y"] = 0;
    v["pin_2_x"] = 0.15;
    v["pin_2_y"] = 0.01;
    v["pin_d"] = 10 * mm;
    v["pin_top"] = 20 * mm;
  }
  if (v.count("core_1_x") > 0) v["core_1_x"] = 0.4 * mm;
  if (v.count("core_2_y") > 0) v["core_2_y"] = -0.9 * mm;
  return v;
}

// Every program of the demo in both dialects and both units: an interpreter written in another language from the public
// description alone finds the ends of the same moves as the steps say, to the last printed decimal.
TEST(Print, AnotherReaderFindsTheSameMoves) {
  int programs = 0;
  for (const std::string plan_name : {"plan-0.toml", "plan-1.toml"}) {
    const plan::Plan plan = demo::plan_of(plan_name);
    for (const std::string& operation : compose::programmable(plan)) {
      const Outcome<Composition> c = compose::compose(plan, operation);
      ASSERT_TRUE(c.ok());
      const auto values = values_of(*c);
      paper::Machine machine(*c, values, touches_of(operation, values), 0.15);
      const std::vector<paper::Place> expected = machine.run();
      for (const std::string& name : dialect_names())
        for (const bool inches : {false, true}) {
          if (inches && operation != "OP30") continue;
          const double unit = inches ? 0.0254 : mm;
          const Outcome<Printed> p = print(*c, dialect_of(name), {inches, 0});
          ASSERT_TRUE(p.ok()) << say(p.problem());
          const std::string what =
              plan_name.substr(5, 1) + "-" + operation + "-" + name.substr(0, 1) + (inches ? "-inch" : "");
          const Read r =
              read_by_other(with_values(*p, *c, values, unit), what, touches_of(operation, values), *c, unit);
          ASSERT_EQ(r.ends.size(), expected.size()) << what << ": " << r.words;
          double worst = 0;
          for (std::size_t i = 0; i < expected.size(); ++i) {
            const frame::Vec3 e = expected[i].machine;
            worst = std::max({worst, std::fabs(r.ends[i][0] - e.x / mm), std::fabs(r.ends[i][1] - e.y / mm),
                              std::fabs(r.ends[i][2] - e.z / mm)});
          }
          EXPECT_LT(worst, 0.0003) << what;
          ++programs;
        }
    }
  }
  EXPECT_EQ(programs, 20);
}

/// Ends of the tip in machine coordinates, of moves that go somewhere or could.
std::vector<frame::Vec3> tips(const program::Run& run) {
  std::vector<frame::Vec3> out;
  for (std::size_t i = 0; i < run.moves.size(); ++i) {
    const program::Move& m = run.moves[i];
    const bool moves = m.kind == program::Motion::rapid || m.kind == program::Motion::feed ||
                       m.kind == program::Motion::clockwise || m.kind == program::Motion::counter ||
                       m.kind == program::Motion::probe;
    if (!moves) continue;
    frame::Vec3 nose = program::nose_at_end(run, i);
    nose.z -= m.length_offset;
    out.push_back(nose);
  }
  return out;
}
/// Places one after the other that are the same count once: readers differ in what they call a move of no length.
std::vector<frame::Vec3> without_repeats(const std::vector<frame::Vec3>& all) {
  std::vector<frame::Vec3> out;
  for (const frame::Vec3& p : all)
    if (out.empty() || frame::norm(p - out.back()) > 1e-6) out.push_back(p);
  return out;
}

// The values that the text carries in its remarks are enough for our own reader: it comes to the end, and finds the
// same moves as the steps say.
TEST(Print, OurReaderFindsTheSameMoves) {
  for (const std::string plan_name : {"plan-0.toml", "plan-1.toml"}) {
    const plan::Plan plan = demo::plan_of(plan_name);
    for (const std::string& operation : compose::programmable(plan)) {
      const Outcome<Composition> c = compose::compose(plan, operation);
      ASSERT_TRUE(c.ok());
      paper::Machine machine(*c, paper::typed_in(*c), {}, 0.15);
      std::vector<frame::Vec3> expected;
      for (const paper::Place& p : machine.run()) expected.push_back(p.machine);
      EXPECT_FALSE(machine.wrong());
      expected = without_repeats(expected);
      for (const std::string& name : dialect_names())
        for (const bool inches : {false, true}) {
          const std::string what = plan_name + " " + operation + " " + name + (inches ? " inch" : "");
          const Outcome<Printed> p = print(*c, dialect_of(name), {inches, 0});
          ASSERT_TRUE(p.ok());
          program::Setting setting;
          const Outcome<program::Run> run = program::read(p->program, what, program::on_paper(p->program, setting));
          ASSERT_TRUE(run.ok()) << say(run.problem());
          EXPECT_TRUE(run->ended);
          const std::vector<frame::Vec3> found = without_repeats(tips(*run));
          ASSERT_EQ(found.size(), expected.size()) << what;
          double worst = 0;
          for (std::size_t i = 0; i < found.size(); ++i) worst = std::max(worst, frame::norm(found[i] - expected[i]));
          EXPECT_LT(worst, 0.5e-6) << what;
        }
    }
  }
}

TEST(Print, EveryProgramCarriesWhereItComesFromAndTheCaution) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  const Composition c = compose::compose(plan, "OP30").value();
  for (const std::string& name : dialect_names()) {
    const Printed p = print(c, dialect_of(name), {}).value();
    for (const std::string* t : {&p.program, &p.offsets, &p.restarts}) {
      EXPECT_NE(t->find(plan.hash), std::string::npos);
      EXPECT_NE(t->find("revision 0"), std::string::npos);
    }
    EXPECT_NE(p.program.find("prove out single block"), std::string::npos);
    EXPECT_NE(p.offsets.find("Safety"), std::string::npos);
    EXPECT_NE(p.restarts.find("Safety"), std::string::npos);
    for (const std::string& line : base::split(p.program, '\n')) {
      EXPECT_LE(line.size(), 128U) << line;
      for (const char ch : line) EXPECT_TRUE(ch >= 32 && ch < 127) << line;
    }
  }
}

TEST(Print, NoLabelTwiceAndNoParameterTwice) {
  for (const std::string plan_name : {"plan-0.toml", "plan-1.toml"}) {
    const plan::Plan plan = demo::plan_of(plan_name);
    for (const std::string& operation : compose::programmable(plan)) {
      const Composition c = compose::compose(plan, operation).value();
      const Printed p = print(c, dialect_of("classic"), {}).value();
      std::set<std::string> labels;
      for (const std::string& line : base::split(p.program, '\n'))
        EXPECT_TRUE(line.empty() || line[0] != 'N' || labels.insert(line).second) << line;
      std::set<int> numbers;
      for (const auto& [name, n] : p.parameters) EXPECT_TRUE(numbers.insert(n).second) << name;
    }
  }
}

// A control keeps programs and subprograms of all operations in one memory.
TEST(Print, NoTwoOperationsShareANumber) {
  const plan::Plan plan = demo::plan_of("plan-1.toml");
  std::set<int> numbers;
  for (const std::string& operation : compose::programmable(plan)) {
    const Composition c = compose::compose(plan, operation).value();
    EXPECT_TRUE(numbers.insert(c.number).second) << operation;
    for (const compose::Subprogram& s : c.subs)
      EXPECT_TRUE(numbers.insert(s.number).second) << operation << " " << s.number;
    EXPECT_LE(*numbers.rbegin(), 9999);
  }
}

TEST(Print, TheSameBytesEachTime) {
  const plan::Plan plan = demo::plan_of("plan-1.toml");
  const auto text = [&] {
    return print(compose::compose(plan, "OP30").value(), dialect_of("classic"), {}).value().program;
  };
  EXPECT_EQ(text(), text());
}

TEST(Print, MoreNestsThanZerosIsSaid) {
  const plan::Plan plan = demo::plan_of("plan-0.toml", {{"on_table = 2", "on_table = 3"}});
  const Composition c = compose::compose(plan, "OP30").value();
  EXPECT_TRUE(print(c, dialect_of("classic"), {}).ok());
  const Outcome<Printed> p = print(c, dialect_of("o words"), {});
  ASSERT_FALSE(p.ok());
  EXPECT_NE(p.problem().what.find("12 nests"), std::string::npos);
}

// ---- dialects
// ---------------------------------------------------------------------------------------------------------

TEST(Dialect, AnotherOneIsATextAndNoCode) {
  std::string text = dialect_text("classic").value();
  const auto swap = [&](const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    text.replace(at, from.size(), to);
  };
  swap("name = \"classic\"", "name = \"shop two\"");
  swap("G54.1 P{n} ({words})", "G15 H{n} ({words})");
  swap("\"({words})\"]", "\"; {words}\"]");
  swap("first_kept = 500", "first_kept = 700");
  const Outcome<Dialect> d = read_dialect(text, "two.toml");
  ASSERT_TRUE(d.ok()) << say(d.problem());
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  const Printed p = print(compose::compose(plan, "OP30").value(), *d, {}).value();
  EXPECT_NE(p.program.find("G15 H3 (pallet 1 nest 3)"), std::string::npos);
  EXPECT_NE(p.program.find("; plan WVB-3 plan 0"), std::string::npos);
  EXPECT_NE(p.program.find("#700"), std::string::npos);
  EXPECT_EQ(p.program.find("#500"), std::string::npos);
}

TEST(Dialect, MistakesAreNamedWithTheirPlace) {
  const std::string good = dialect_text("classic").value();
  const auto problem_of = [&](const std::string& from, const std::string& to) {
    std::string t = good;
    t.replace(t.find(from), from.size(), to);
    const Outcome<Dialect> d = read_dialect(t, "mine.toml");
    EXPECT_FALSE(d.ok()) << to;
    return d.ok() ? std::string() : say(d.problem());
  };
  EXPECT_NE(problem_of("M98 P{number}", "M98 P{nummer}").find("number"), std::string::npos);
  EXPECT_NE(problem_of("sub_end = ", "sub_ende = ").find("sub_end"), std::string::npos);
  EXPECT_NE(problem_of("jumps = true", "jumps = \"yes\"").find("true or false"), std::string::npos);
  EXPECT_NE(problem_of("decimals_mm = 4", "decimals_mm = 1").find("mine.toml:7"), std::string::npos);
  EXPECT_NE(problem_of("jumps = true", "jumps = false").find("missing"), std::string::npos);
  EXPECT_NE(problem_of("[lines]", "[lines").find("mine.toml:"), std::string::npos);
  EXPECT_FALSE(dialect_text("clasic").ok());
  EXPECT_EQ(dialect_text("clasic").problem().nearest, "classic");
}

TEST(Words, AreWhatEveryControlCanShow) {
  EXPECT_EQ(plain_words("Ø50 ± 0.1 µm (x) [y]; z"), "dia 50 +- 0.1 um - x - - y -, z");
}

}  // namespace
}  // namespace fettle::programs
