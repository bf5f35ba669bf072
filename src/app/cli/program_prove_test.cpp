// Single deliberate faults in the demo's good program: each is found, in its line.
#include "app/cli/program_prove.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "compose/compose.h"
#include "output/programs/print.h"
#include "plan/read.h"
#include "prove/ends.h"

namespace fettle::cli {
namespace {

using finding::State;

/// The demo's plan 1 with one pallet on the table (four parts), so that a proof takes little time.
const plan::Plan& demo() {
  static const plan::Plan plan = [] {
    const std::string path = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/plan-1.toml";
    std::string text = base::read_file(path).value();
    const std::string from = "on_table = 2", to = "on_table = 1",
                      first = "[\"-556, -203, -548 mm\", \"-206, -203, -548 mm\"]";
    text.replace(text.find(from), from.size(), to);
    text.replace(text.find(first), first.size(), "\"-381, -203, -548 mm\"");
    return plan::read_plan(text, path, [](const std::string& p) { return base::read_file(p); }).value();
  }();
  return plan;
}
std::string made(bool inches, const std::string& operation = "OP30") {
  const programs::Dialect d = programs::read_dialect(programs::dialect_text("classic").value(), "classic").value();
  return programs::print(compose::compose(demo(), operation, compose::Options{}).value(), d, {inches, 0})
      .value()
      .program;
}
const std::string& good() {
  static const std::string text = made(false);
  return text;
}
prove::Options coarse() {
  prove::Options o;
  o.cell = 0.5e-3;
  o.loads = false;
  return o;
}
int line_at(const std::string& text, std::size_t at) {
  return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}
int line_of(const std::string& text, const std::string& after, const std::string& what) {
  const std::size_t a = text.find(after), b = a == std::string::npos ? a : text.find(what, a);
  EXPECT_NE(b, std::string::npos) << after << " ... " << what;
  return b == std::string::npos ? 0 : line_at(text, b);
}

/// `from` after `after` becomes `to`; `question` must be outside, with the line of `seen` after `seen_after`.
struct Fault {
  const char *name, *after, *from, *to, *question, *seen_after, *seen;
};
const Fault faults[] = {
    {"swapped zero", "(block 200 - T12", "G54.1 P3", "G54.1 P4", "never", "(block 200 - T12", "twice"},
    {"retract too low between parts", "(OP30 T13 F2 F3)", "G0 Z50.8\nM99", "G0 Z45.\nM99", "clash", "(block 300 - T13",
     "across"},
    {"tool change missing", "(block 200 - T12", "T12 M6", "(T12 M6)", "length", "(block 200 - T12", "G43 H12"},
    {"tool change missing: never in the spindle", "(block 200 - T12", "T12 M6", "(T12 M6)", "never", "", "M30"},
    {"a nest's zero shifted", "(block 100 - T11", "T11 M6", "G10 L20 P3 X-60. Y57. Z0.\nT11 M6", "zero", "",
     "zero set"},
    {"wrong sign", "(OP30 T17 F10)", "X33. Y20.", "X33. Y-20.", "gouge", "(OP30 T17 F10)", "X33. Y-20."},
    {"sign of a depth", "(OP30 T13 F2 F3)", "G1 Z18. F", "G1 Z-18. F", "gouge", "(OP30 T13 F2 F3)", "G1 Z-18. F+1"},
    {"G43 missing", "(block 100 - T11", "G43 H11 G0", "G0", "length", "(block 100 - T11", "G0 Z50.8"},
    {"H of another tool", "(block 300 - T13", "G43 H13", "G43 H12", "length", "(block 300 - T13", "G43 H12"},
    {"spindle not started", "(block 300 - T13", "S1910 M3", "S1910", "spindle", "(OP30 T13 F2 F3)", "G3 X14"},
    {"spindle backwards", "(block 300 - T13", "S1910 M3", "S1910 M4", "spindle", "(OP30 T13 F2 F3)", "G3 X14"},
    {"speed ten times", "(block 300 - T13", "S1910 M3", "S7910 M3", "speed", "(OP30 T13 F2 F3)", "G3 X14"},
    {"feed ten times", "(OP30 T11 F1)", "F770.", "F7700.", "feed", "(OP30 T11 F1)", "F7700."},
    {"rapid instead of feed", "(OP30 T11 F1)", "G1 X54.", "G0 X54.", "rapid", "(OP30 T11 F1)", "G0 X54."},
    {"a floor 1 mm too deep", "(OP30 T13 F2 F3)", "G1 Z18. F", "G1 Z17. F", "gouge", "(OP30 T13 F2 F3)", "G1 Z17. F+1"},
    {"a hole 1 mm too deep", "(OP30 T17 F10)", "Z19.0901", "Z18.0901", "gouge", "(OP30 T17 F10)", "Z18.0901"},
    {"a thread 1 mm too deep", "(OP30 T18 F10)", "Z21.", "Z20.", "gouge", "(OP30 T18 F10)", "Z20."},
    {"a thread 5 mm short", "(OP30 T18 F10)", "Z21.", "Z26.", "left", "(OP30 T18 F10)", "Z26."},
    {"a bore 1 mm too deep", "(OP30 T14 F2)", "Z18.05", "Z17.05", "gouge", "(OP30 T14 F2)", "Z17.05"},
    {"arc the other way", "(OP30 T11 F1)", "G2 X74.25 Y34.", "G3 X74.25 Y34.", "gouge", "(OP30 T11 F1)",
     "G3 X74.25 Y34."},
    {"tool that the plan does not have", "(block 400 - T15", "T15 M6", "T55 M6", "tool", "(block 400 - T15", "first"},
    {"decimal point lost", "(OP30 T12 F1)", "Z-0.5", "Z-5", "room", "(OP30 T12 F1)", "Z-5"},
    {"a part left out", "(block 300 - T13", "M98 P3003", "(left out)", "never", "(block 300 - T13", "any"},
    {"drill and tap swapped", "(block 800 - T17", "T17 M6", "T18 M6", "rapid", "(OP30 T17 F10)", "G98 G81"},
    {"coolant off", "(block 300 - T13", "M8\n", "(dry)\n", "coolant", "(OP30 T13 F2 F3)", "G3 X14"},
    {"a hole forgotten", "(OP30 T17 F10)", "G98 G81 X-33. Y6. Z19.0901 R38.\n", "\n", "never", "(block 800 - T17",
     "any"},
    {"a hole beside its place", "(OP30 T17 F10)", "X-33. Y6.", "X-33. Y16.", "gouge", "(OP30 T17 F10)", "X-33. Y16."},
    {"up in the groove", "(OP30 T15 F5)", "G3 X2.9344 Y6.5856 I-6.5856 J0.", "G0 Z50.8", "rapid", "(OP30 T15 F5)",
     "G0 Z50.8"},
    {"finish bore left out", "(block 500 - T14", "M98 P3005", "(left out)", "never", "(block 500 - T14", "any"},
    {"pitch of the tap", "(OP30 T18 F10)", "F500.", "F550.", "feed", "(OP30 T18 F10)", "F550."},
    {"a ring that ends in the core's skin", "(OP30 T13 F2 F3)",
     "G3 X14.7598 Y0. I7.3799 J0. F366.7\nG3 X-14.7598 Y0. I-14.7598 J0.\nG3 X14.7598 Y0. I14.7598 J0.\nG3 X0. Y0. "
     "I-7.3799 J0.\nG1 Z20.5",
     "G3 X13.5 Y0. I6.75 J0. F366.7\nG3 X-13.5 Y0. I-13.5 J0.\nG3 X13.5 Y0. I13.5 J0.\nG3 X0. Y0. I-6.75 J0.\nG1 Z20.5",
     "skin", "(OP30 T13 F2 F3)", "G3 X13.5 Y0."},
    {"a level that ends in the skin of the floor", "(OP30 T13 F2 F3)", "G1 Z20.5 F", "G1 Z20. F", "skin",
     "(OP30 T13 F2 F3)", "G1 Z20. F+1"},
    {"spindle speed of the tap", "(block 900 - T18", "S500 M3", "S550 M3", "feed", "(OP30 T18 F10)", "G84"},
};

/// Faults that the reader itself refuses: an arc that no longer meets its end, and so on.
struct Unreadable {
  const char *name, *after, *from, *to, *seen_after, *seen;
};
const Unreadable unreadable[] = {
    {"wrong sign of a place", "(OP30 T11 F1)", "G1 Y-34.", "G1 Y34.", "(OP30 T11 F1)", "G2 X54. Y-54.25"},
    {"wrong plane", "(block 100 - T11", "G17 G40 G80 G90 G94 G49\nG53 G0 Z0\nT11",
     "G18 G40 G80 G90 G94 G49\nG53 G0 Z0\nT11", "(OP30 T11 F1)", "G2 X74.25"},
    {"decimal point lost before an arc", "(OP30 T11 F1)", "G1 X54.", "G1 X540", "(OP30 T11 F1)", "G2 X74.25"},
    {"G91 left on", "(OP30 T11 F1)", "G1 Z17.5", "G91 G1 Z17.5", "(OP30 T11 F1)", "G2 X74.25"},
    {"start of a hole under its bottom", "(OP30 T17 F10)", "R38.", "R10.", "(OP30 T17 F10)", "R10."},
};

std::string changed(const char* name, const char* after, const char* from, const char* to) {
  std::string text = good();
  const std::size_t a = text.find(after), b = a == std::string::npos ? a : text.find(from, a);
  EXPECT_NE(b, std::string::npos) << name;
  if (b != std::string::npos) text.replace(b, std::string(from).size(), to);
  return text;
}

std::string outside_words(const prove::Proof& p) {
  std::string all;
  for (const finding::Finding& f : p.findings)
    if (f.state == State::outside || f.state == State::beyond) all += f.id + ": " + f.sentence + "\n";
  return all;
}

TEST(ProgramProve, TheGoodProgramGivesNothingOutside) {
  const auto p = prove_text(demo(), "OP30", good(), "op30.nc", coarse());
  ASSERT_TRUE(p.ok()) << say(p.problem());
  EXPECT_EQ(outside_words(*p), "");
  EXPECT_EQ(prove::exit_code(*p), 4);  // T20's holder and the pads' height are not said
  std::vector<std::string> open;
  for (const finding::Finding& f : p->findings)
    if (f.state == State::open) open.push_back(f.id);
  std::sort(open.begin(), open.end());
  EXPECT_EQ(open, (std::vector<std::string>{"OP30.program.holder.T20", "OP30.program.under"}));
  EXPECT_EQ(p->work.size(), 40U);  // ten tools at four parts
}

/// T11 roughs and finishes the outside; with `finish_first` the plan says so the wrong way round.
plan::Plan one_tool(bool finish_first) {
  const std::string path = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/plan-1.toml";
  std::string text = base::read_file(path).value();
  const auto put = [&](const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    text.replace(at, from.size(), to);
  };
  put("on_table = 2", "on_table = 1");
  put("[\"-556, -203, -548 mm\", \"-206, -203, -548 mm\"]", "\"-381, -203, -548 mm\"");
  const std::string head = "[[operation.cut]]\n", rough = head + "tool = \"T11\"\nfeatures = \"F1\"",
                    finish = head + "tool = \"T12\"\nfeatures = \"F1\"";
  const std::size_t a = text.find(rough), b = text.find(finish), end = text.find(head, b + 1);
  EXPECT_TRUE(a < b && b < end && end != std::string::npos);
  std::string first = text.substr(a, b - a), second = text.substr(b, end - b);
  second.replace(second.find("T12"), 3, "T11");
  text.replace(a, end - a, finish_first ? second + first : first + second);
  return plan::read_plan(text, path, [](const std::string& p) { return base::read_file(p); }).value();
}
std::string made_of(const plan::Plan& plan) {
  const programs::Dialect d = programs::read_dialect(programs::dialect_text("classic").value(), "classic").value();
  return programs::print(compose::compose(plan, "OP30", compose::Options{}).value(), d, {false, 0}).value().program;
}
TEST(ProgramProve, EveryPartBeginsAtTheSpeedOfTheFirstCut) {
  const std::string text = made_of(one_tool(false));
  const std::size_t change = text.find("T11 M6"), sub = text.find("(OP30 T11 F1)");
  ASSERT_TRUE(change != std::string::npos && sub != std::string::npos && change < sub);
  EXPECT_EQ(text.substr(text.find("\nS", change) + 1, 5), "S2190");
  EXPECT_EQ(text.substr(text.find("\nS", sub) + 1, 5), "S2190");
  EXPECT_LT(text.find("\nS2190", sub), text.find("\nG1", sub));  // before it cuts
  EXPECT_LT(text.find("\nS2190", sub), text.find("\nS2790", sub));
}
std::vector<std::string> out_of_order(const plan::Plan& plan) {
  const std::string text = made_of(plan);
  const auto p = prove_text(one_tool(false), "OP30", text, "op30.nc", coarse());
  EXPECT_TRUE(p.ok());
  std::vector<std::string> said;
  bool looked = false;
  if (p.ok())
    for (const finding::Finding& f : p->findings) {
      looked = looked || f.id.find(".program.order") != std::string::npos;
      if (f.state == State::outside && f.id.find(".program.order") != std::string::npos) said.push_back(f.sentence);
    }
  EXPECT_TRUE(looked);
  return said;
}
TEST(ProgramProve, OneToolThatRoughsAndFinishesIsJudgedCutByCut) {
  EXPECT_EQ(out_of_order(one_tool(false)), std::vector<std::string>());
  const std::vector<std::string> wrong = out_of_order(one_tool(true));
  ASSERT_EQ(wrong.size(), 4U);  // at each of the four parts
  EXPECT_NE(wrong[0].find("T11 comes with its finish cut of F1 before its rough cut of F1"), std::string::npos)
      << wrong[0];
}

TEST(ProgramProve, TheSameInInches) {
  const auto p = prove_text(demo(), "OP30", made(true), "op30.nc", coarse());
  ASSERT_TRUE(p.ok()) << say(p.problem());
  EXPECT_EQ(outside_words(*p), "");
}

TEST(ProgramProve, EverySingleFaultIsFoundInItsLine) {
  for (const Fault& f : faults) {
    const std::string text = changed(f.name, f.after, f.from, f.to);
    const auto p = prove_text(demo(), "OP30", text, "op30.nc", coarse());
    ASSERT_TRUE(p.ok()) << f.name << ": " << say(p.problem());
    EXPECT_EQ(prove::exit_code(*p), 1) << f.name;
    const std::string seen = f.seen;
    int low = 0, high = 1 << 30;
    if (seen == "twice") {  // the first move of the second visit to nest 4
      const std::size_t a = text.find("G54.1 P4", text.find(f.seen_after)), b = text.find("G54.1 P4", a + 1);
      const int one = line_at(text, a), two = line_at(text, b);
      low = std::min(one, two), high = std::max(one, two) + 3;
    } else if (seen == "across" || seen == "any" || seen == "first") {
      if (f.seen_after[0] != '\0') {
        low = line_of(text, f.seen_after, "(block");
        const std::size_t next = text.find("(block", text.find(f.seen_after) + 8);
        if (next != std::string::npos) high = line_at(text, next);
      }
    } else if (seen == "zero set") {
      low = line_of(text, "", "G10 L20 P3 X-60."), high = low + 6;
    } else if (seen.size() > 2 && seen.substr(seen.size() - 2) == "+1") {
      low = high = line_of(text, f.seen_after, seen.substr(0, seen.size() - 2)) + 1;
    } else {
      low = high = line_of(text, f.seen_after, seen);
    }
    bool found = false;
    for (const finding::Finding& g : p->findings) {
      const auto line = p->line_of.find(g.id);
      if (g.state == State::outside && g.question == f.question && line != p->line_of.end() && line->second >= low &&
          line->second <= high)
        found = true;
    }
    EXPECT_TRUE(found) << f.name << ": wanted " << f.question << " in lines " << low << " to " << high << ", got\n"
                       << outside_words(*p);
  }
}

TEST(ProgramProve, InchesForMillimetresAreFound) {
  const std::string text = changed("inch", "", "G21\n", "G20\n");
  const auto p = prove_text(demo(), "OP30", text, "op30.nc", coarse());
  if (!p.ok()) {  // the reader refused it, with its line
    EXPECT_GT(p.problem().where.line, 0);
    return;
  }
  EXPECT_EQ(prove::exit_code(*p), 1);
}

TEST(ProgramProve, WhatTheReaderRefusesHasItsLine) {
  for (const Unreadable& f : unreadable) {
    const std::string text = changed(f.name, f.after, f.from, f.to);
    const auto p = prove_text(demo(), "OP30", text, "op30.nc", coarse());
    ASSERT_FALSE(p.ok()) << f.name;
    EXPECT_EQ(p.problem().where.line, line_of(text, f.seen_after, f.seen)) << f.name << ": " << say(p.problem());
  }
}

TEST(ProgramProve, PaperSaysFileAndLine) {
  const std::string text = changed("deep", "(OP30 T13 F2 F3)", "G1 Z18. F", "G1 Z17. F");
  const auto p = prove_text(demo(), "OP30", text, "op30.nc", coarse());
  ASSERT_TRUE(p.ok());
  const int line = line_of(text, "(OP30 T13 F2 F3)", "G1 Z17. F") + 1;
  EXPECT_NE(proof_text(*p, "op30.nc", false).find("op30.nc:" + std::to_string(line) + ": outside: T13"),
            std::string::npos);
  const auto j = nlohmann::json::parse(proof_json(*p, "op30.nc"));
  EXPECT_EQ(j["findings"][0]["line"], line);
  EXPECT_EQ(operation_of(demo(), text, "op30.nc"), "OP30");
}

int outside(const prove::Proof& p, const std::string& question) {
  return static_cast<int>(std::count_if(p.findings.begin(), p.findings.end(), [&](const finding::Finding& f) {
    return f.state == State::outside && f.question == question;
  }));
}

TEST(ProgramProve, ABoreGoesOnIntoTheCoreBelowAndABlindHoleDoesNot) {
  const std::string text = made(false, "OP20");
  const auto p = prove_text(demo(), "OP20", text, "op20.nc", coarse());
  ASSERT_TRUE(p.ok()) << say(p.problem());
  EXPECT_EQ(outside(*p, "gouge"), 0);
  EXPECT_EQ(outside(*p, "left"), 0);
  EXPECT_EQ(outside(*p, "depth"), 0);
  const std::size_t block = text.find("(OP20 T6 F9)"), z = text.find(" Z", block), end = text.find(' ', z + 2);
  ASSERT_NE(end, std::string::npos);
  std::string deep = text;
  deep.replace(z, end - z, " Z" + base::fixed(*base::to_double(text.substr(z + 2, end - z - 2)) - 6, 3));
  const auto q = prove_text(demo(), "OP20", deep, "op20.nc", coarse());
  ASSERT_TRUE(q.ok()) << say(q.problem());
  EXPECT_GT(outside(*q, "gouge"), 0);
}

TEST(ProgramProve, PartsThatAreTurnedOverAreNotJudgedAsTheyLayBefore) {
  const std::string text = made(false, "OP10a");
  const auto p = prove_text(demo(), "OP10a", text, "op10a.nc", coarse());
  ASSERT_TRUE(p.ok()) << say(p.problem());
  EXPECT_EQ(outside(*p, "gouge"), 0);
  const auto turned = std::find_if(p->findings.begin(), p->findings.end(),
                                   [](const finding::Finding& f) { return f.question == "turned"; });
  ASSERT_NE(turned, p->findings.end());
  EXPECT_EQ(turned->state, State::open);
  EXPECT_EQ(p->line_of.at(turned->id), line_of(text, "", "turn the parts over"));
  EXPECT_EQ(prove::exit_code(*p), 4);
}

/// The demo with its zero at another place of the machine.
plan::Plan with_zero_at(std::vector<frame::Vec3> at) {
  plan::Plan p = demo();
  for (plan::Operation& o : p.operations)
    if (o.id.value == "OP30") o.zero_at.value = std::move(at);
  return p;
}
std::vector<finding::Finding> ends_of(const plan::Plan& plan, const std::string& text) {
  const auto p = prove_text(plan, "OP30", text, "op30.nc", coarse());
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  std::vector<finding::Finding> out;
  if (!p.ok()) return out;
  for (const finding::Finding& f : p->findings)
    if (f.question == "ends" || f.question == "travel") out.push_back(f);
  for (const finding::Finding& f : out) EXPECT_TRUE(f.state != State::outside || p->line_of.at(f.id) > 0) << f.id;
  return out;
}
std::string line_text(const std::string& text, const finding::Finding& f) {
  const std::size_t colon = f.sentence.find(':');
  const auto n = base::to_double(f.sentence.substr(5, colon - 5));
  return n ? base::split(text, '\n')[static_cast<std::size_t>(*n) - 1] : "";
}

TEST(ProgramEnds, AProgramThatFitsByItsSpanRunsOntoAnEnd) {
  const auto good_place = ends_of(demo(), good());
  ASSERT_EQ(good_place.size(), 1U) << "the span is not asked where the ends are";
  EXPECT_EQ(good_place[0].state, State::inside) << good_place[0].sentence;
  // T12 goes round nest 1 at X -78 - 66 - 8 - 0: from a zero 140 above the low end that is 12 mm beyond it; the rough
  // pass, which keeps off the raw end, is farther out. The span is the same, and there is room on the other side.
  const auto left = ends_of(with_zero_at({{-0.762 + 0.140, -0.203, -0.548}}), good());
  ASSERT_EQ(left.size(), 1U);
  EXPECT_EQ(left[0].state, State::outside);
  EXPECT_NE(left[0].sentence.find("X stands at"), std::string::npos) << left[0].sentence;
  EXPECT_NE(left[0].sentence.find("beyond its low end: move the pallet that much to +X"), std::string::npos)
      << left[0].sentence;
  EXPECT_NE(left[0].sentence.find("mm are free"), std::string::npos);
  const std::string at = line_text(good(), left[0]);
  EXPECT_NE(at.find('X'), std::string::npos) << at;
  const auto far = ends_of(with_zero_at({{-0.381, -0.406 + 0.300, -0.548}}), good());
  ASSERT_EQ(far.size(), 1U);
  EXPECT_NE(far[0].sentence.find("beyond its high end: move the pallet that much to -Y"), std::string::npos)
      << far[0].sentence;
}

TEST(ProgramEnds, AZeroThatStandsElsewhereToProbeCountsWhereItStands) {
  // Pins at 150 from the middle are probed from 164 under the zero of nest 1, which stands in the middle for that time
  // and 78 beside it when the part is cut.
  ASSERT_NE(good().find("G31"), std::string::npos);
  const auto near = ends_of(with_zero_at({{-0.762 + 0.170, -0.203, -0.548}}), good());
  ASSERT_EQ(near.size(), 1U);
  EXPECT_EQ(near[0].state, State::inside) << near[0].sentence;
  const auto beyond = ends_of(with_zero_at({{-0.762 + 0.160, -0.203, -0.548}}), good());
  ASSERT_EQ(beyond.size(), 1U);
  EXPECT_EQ(beyond[0].tool, "T9");
  EXPECT_NE(beyond[0].sentence.find(" 4.0 mm beyond its low end"), std::string::npos) << beyond[0].sentence;
}

TEST(ProgramEnds, AHomeThatIsTooFarIsFoundInItsLine) {
  const std::string text = changed("home", "(block 200 - T12", "G53 G0 Z0\n", "G53 G0 Z0\nG53 G0 X10.\n");
  const auto found = ends_of(demo(), text);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].state, State::outside);
  EXPECT_EQ(line_text(text, found[0]), "G53 G0 X10.") << found[0].sentence;
  EXPECT_NE(found[0].sentence.find("10.0 mm beyond its high end"), std::string::npos) << found[0].sentence;
}

TEST(ProgramEnds, AGaugeLengthThatNobodySaidDecides) {
  // 20 mm of room for the shortest tool as taken, and a holder may be 40 mm shorter.
  const double low = -0.508 - 0.150 + 0.020;
  const auto taken = ends_of(with_zero_at({{-0.381, -0.203, low}}), good());
  ASSERT_EQ(taken.size(), 1U);
  EXPECT_EQ(taken[0].state, State::tight);
  EXPECT_NE(taken[0].sentence.find("say tool.gauge_length of T"), std::string::npos) << taken[0].sentence;
  plan::Plan said = with_zero_at({{-0.381, -0.203, low}});
  for (plan::Tool& t : said.shop.tools) {
    t.gauge_length.si = t.gauge_length.low = t.gauge_length.high = (t.stick_out.known() ? t.stick_out.si : 0.05) + 0.1;
    t.gauge_length.origin = plan::Origin::given;
  }
  const auto known = ends_of(said, good());
  ASSERT_EQ(known.size(), 1U);
  EXPECT_EQ(known[0].state, State::inside) << known[0].sentence;
  for (plan::Tool& t : said.shop.tools) t.gauge_length.si -= 0.040;
  EXPECT_EQ(ends_of(said, good())[0].state, State::outside);
}

TEST(ProgramEnds, OpenWhereNobodySays) {
  const auto none = ends_of(with_zero_at({}), good());
  ASSERT_EQ(none.size(), 2U) << "the span stays asked";
  for (const finding::Finding& f : none) {
    if (f.question == "travel") {
      EXPECT_EQ(f.state, State::inside);
    } else {
      EXPECT_EQ(f.state, State::open);
      ASSERT_EQ(f.missing.size(), 1U);
      EXPECT_EQ(f.missing[0].rfind("operation.zero_at", 0), 0U);
    }
  }
}

TEST(ProgramEnds, ArcsCountWhereTheyTurnBack) {
  program::Move m;
  m.kind = program::Motion::counter;
  m.start = {0.010, 0, 0.005}, m.end = {0, 0.010, 0.005};
  m.centre = {0, 0, 0};
  for (const frame::Vec3& p : prove::farthest(m)) EXPECT_GT(std::min(p.x, p.y), -1e-12);  // a quarter
  m.kind = program::Motion::clockwise;                                                    // the long way round
  double low_x = 1, low_y = 1;
  for (const frame::Vec3& p : prove::farthest(m)) low_x = std::min(low_x, p.x), low_y = std::min(low_y, p.y);
  EXPECT_NEAR(low_x, -0.010, 1e-12);
  EXPECT_NEAR(low_y, -0.010, 1e-12);
}

TEST(ProgramProve, AGrooveThatIsMetStraightIsFound) {
  std::string text = good();
  const std::size_t block = text.find("(OP30 T15 F5)"), arc = text.find("\nG3 X", block) + 1,
                    turn = text.find(" I", arc), rest = text.find_first_of("F\n", turn);
  ASSERT_LT(arc, turn);
  text.replace(turn, rest - turn, text[rest] == 'F' ? " " : "");
  text.replace(arc, 2, "G1");
  const auto p = prove_text(demo(), "OP30", text, "op30.nc", coarse());
  ASSERT_TRUE(p.ok()) << say(p.problem());
  bool found = false;
  for (const finding::Finding& f : p->findings)
    if (f.question == "roll") {
      EXPECT_EQ(f.state, State::tight);
      EXPECT_EQ(f.tool, "T15");
      EXPECT_NE(f.sentence.find("meets the full diameter of F5 at 45 degrees"), std::string::npos) << f.sentence;
      EXPECT_EQ(p->line_of.at(f.id), line_at(text, arc));
      found = true;
    }
  EXPECT_TRUE(found);
  const auto q = prove_text(demo(), "OP30", good(), "op30.nc", coarse());
  ASSERT_TRUE(q.ok());
  for (const finding::Finding& f : q->findings)
    if (f.question == "roll") {
      EXPECT_EQ(f.state, State::inside) << f.sentence;
    }
}

TEST(ProgramProve, RefusesWhatIsNoQuestion) {
  EXPECT_FALSE(prove_text(demo(), "OP99", good(), "op30.nc", coarse()).ok());
  EXPECT_FALSE(prove_text(demo(), "OP30", "G1 X\n", "op30.nc", coarse()).ok());
  EXPECT_FALSE(prove_text(demo(), "OP30", good(), "op30.nc", coarse(), {"0=1"}).ok());
  prove::Options o = coarse();
  o.cell = 0;
  EXPECT_FALSE(prove_text(demo(), "OP30", good(), "op30.nc", o).ok());
}

}  // namespace
}  // namespace fettle::cli
