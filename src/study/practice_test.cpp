// The rules of the trade on whole plans: the demo as it stands, a mended one that keeps them all, and that one spoilt
// rule by rule in the words of a plan.
#include "study/practice.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "study/demo_for_tests.h"
#include "study/internal.h"

namespace fettle::study {
namespace {

using demo::Edit;
using finding::State;
using practice::Answer;
using practice::Changed;
using practice::Verdict;

/// A plan text and its shop, both edited.
struct Texts {
  std::string plan, shop;
};
plan::Plan read(const Texts& t) {
  auto p =
      plan::read_plan(t.plan, demo::folder() + "plan-1.toml", [&](const std::string& path) -> Outcome<std::string> {
        if (path.size() > 9 && path.substr(path.size() - 9) == "shop.toml") return t.shop;
        return base::read_file(path);
      });
  EXPECT_TRUE(p.ok());
  if (!p.ok()) {
    for (const Problem& x : p.problems()) ADD_FAILURE() << say(x);
    return {};
  }
  return *p;
}
std::string all_edited(std::string text, const std::string& from, const std::string& to) {
  std::size_t n = 0;
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()), ++n)
    text.replace(at, from.size(), to);
  EXPECT_GT(n, 0U) << "not in the plan: " << from;
  return text;
}

/// Plan 1 with everything said that the rules ask for, and what they object to mended.
Texts mended() {
  Texts t{demo::text_of("plan-1.toml"), demo::text_of("shop.toml")};
  t.plan = demo::edited(
      t.plan,
      {{"makes = \"F11\"\n", "makes = \"F11\"\ndoes = [\"shim\", \"blow off\", \"deburr\", \"oil\"]\n"},
       {"makes = \"A\"\n", "makes = \"A\"\ndoes = [\"blow off\", \"deburr\", \"demagnetise\", \"gauge\", \"oil\"]\n"},
       {"makes = \"E1\"\n", "makes = \"E1\"\ndoes = [\"blow off\", \"deburr\", \"oil\", \"single block\"]\n"},
       {"makes = \"E2\"\n", "makes = \"E2\"\ndoes = [\"blow off\", \"deburr\", \"oil\", \"single block\"]\n"},
       {"makes = [\"F4r\"",
        "does = [\"blow off\", \"deburr\", \"oil\", \"single block\", \"look for pores\"]\nmakes = [\"F4r\""},
       {"makes = [\"F1\"", "does = [\"blow off\", \"single block\"]\nmakes = [\"F1\""},
       {"kind = \"hone\"\nmachine", "does = \"nothing\"\nlot = 16\nkind = \"hone\"\nmachine"},
       {"kind = \"deburr\"\n", "does = [\"wash\", \"oil\", \"soak\", \"gauge\"]\nkind = \"deburr\"\n"},
       {"features = \"E1\"\n", "features = \"E1\"\nexit = \"broken edge\"\n"},
       {"features = \"E2\"\n", "features = \"E2\"\nexit = \"broken edge\"\n"},
       {"features = [\"E3\", \"E4\"]\n", "features = [\"E3\", \"E4\"]\nexit = \"rolls out\"\n"},
       {"\"-50, -48.5, 18 mm\", \"50, -48.5, 18 mm\"", "\"-50, -48.5, 8 mm\", \"50, -48.5, 8 mm\""},
       {"at = [\"66, 0, 18 mm\"]", "at = [\"66, 0, 8 mm\"]"},
       {"slope = \"0 deg\"", "slope = \"2 deg\""}});
  t.plan = all_edited(t.plan, "at = \"-68.125, 0, 18 mm\"", "at = \"-68.125, 0, 8 mm\"");
  t.plan = all_edited(t.plan, "height = \"3.0 mm\"", "height = \"0.7 mm\"");
  // The pockets come before the bore is finished.
  const std::string head = "[[operation.cut]]\ntool = \"T16\"", next = "[[operation.cut]]\ntool = \"T17\"",
                    bore = "[[operation.cut]]\ntool = \"T20\"";
  const std::size_t a = t.plan.find(head), b = t.plan.find(next, a);
  const std::string pockets = t.plan.substr(a, b - a);
  t.plan.erase(a, b - a);
  t.plan.insert(t.plan.find(bore), pockets);
  return t;
}

std::map<std::string, Answer> answers(const plan::Plan& p) {
  std::map<std::string, Answer> out;
  for (Answer& a : practice::judge(practice_facts(p)).answers) out[a.rule] = a;
  return out;
}

struct Found {
  Study study;
  const finding::Finding* find(const std::string& id) const {
    for (const auto& f : study.findings)
      if (f.id == id) return &f;
    return nullptr;
  }
};
Found findings(const plan::Plan& p) {
  Found out;
  const Data data;
  const Options options;
  Memo memo;
  Problems problems;
  Context c{p, data, options, memo, out.study, problems, unit::Style{}};
  practice_findings(c);
  EXPECT_TRUE(problems.empty());
  return out;
}

std::set<std::string> with(const std::map<std::string, Answer>& all, Verdict v) {
  std::set<std::string> out;
  for (const auto& [rule, a] : all)
    if (a.verdict == v) out.insert(rule);
  return out;
}

TEST(PracticeOnPlans, TheMendedPlanKeepsEveryRule) {
  const auto all = answers(read(mended()));
  for (const auto& [rule, a] : all) {
    if (rule == "shoulder_short") EXPECT_EQ(a.verdict, Verdict::not_applicable);  // it has cap screws
    else EXPECT_EQ(a.verdict, Verdict::kept) << rule << ": " << a.sentence;
  }
  const Found f = findings(read(mended()));
  ASSERT_EQ(f.study.findings.size(), 1U);
  EXPECT_EQ(f.study.findings[0].id, "-.-.practice_kept");
  EXPECT_EQ(f.study.findings[0].state, State::inside);
  EXPECT_EQ(f.study.findings[0].inputs.size(), practice::rules().size() - 1);
}

/// A plan spoilt in its own words, and the rule that must say so.
struct Spoil {
  std::string rule, id;  ///< of the finding
  State state;
  std::vector<Edit> plan, shop;
};
/// Two keys of OP30; they have to stand before a locator that is put in.
constexpr const char* both_before =
    "does = [\"blow off\", \"single block\"]\nmakes = [\"F1\", \"F2\", \"F3\", \"F4\", \"F5\", \"F6\", \"F10\"]\n";

/// The last line of OP30 itself, so that a table can stand behind it.
constexpr const char* last_of_op30 = "zero_at = [\"-556, -203, -548 mm\", \"-206, -203, -548 mm\"]\n";

std::vector<Spoil> spoils() {
  const State out = State::outside, tight = State::tight;
  return {
      {"first_cut_under_skin",
       "op10a.E1.practice_first_cut_under_skin.T1",
       out,
       {{"depth = \"3.2 mm\"", "depth = \"0.6 mm\""}},
       {}},
      {"no_finish_on_skin",
       "op10a.E1.practice_no_finish_on_skin.T1",
       out,
       {{"exit = \"broken edge\"\nkind = \"rough and finish\"", "exit = \"broken edge\"\nkind = \"finish\""}},
       {}},
      {"hard_corner", "op20.F9.practice_hard_corner", out, {{"\"22, ±38 mm\"", "\"22, ±41 mm\""}}, {}},
      {"clear_of_gates",
       "op10a.F1.-y.practice_clear_of_gates",
       out,
       {{"\"-50, -48.5, 8 mm\"", "\"-40, -48.5, 8 mm\""}},
       {}},
      {"clear_of_parting",
       "op10a.F1.-y.practice_clear_of_parting",
       tight,
       {{"\"-50, -48.5, 8 mm\", \"50, -48.5, 8 mm\"", "\"-50, -48.5, 15 mm\", \"50, -48.5, 15 mm\""}},
       {}},
      {"shim_warped", "g10t.A.practice_shim_warped", out, {{"does = [\"shim\", ", "does = ["}}, {}},
      {"raw_datum_once",
       "op20.F1.-x.practice_raw_datum_once",
       out,
       {{"[[operation]]\nid = \"OP20\"",
         "[[operation]]\nid = \"OP15\"\nkind = \"vise\"\nup = \"-z\"\nmachine = \"A\"\nlot = 60\nload_time = \"0.1 "
         "min\"\n"
         "does = [\"blow off\", \"deburr\", \"oil\"]\n[[operation.locator]]\nkind = \"rest\"\non = \"F11\"\nat = \"0, "
         "0, 36 mm\"\n"
         "[[operation.locator]]\nkind = \"stop\"\non = \"F1.-x\"\nat = \"-68, 0, 8 mm\"\n[[operation.cut]]\ntool = "
         "\"T8\"\nfeatures = \"F8\"\nkind = \"drill\"\ntime = \"0.1 min\"\n[[operation]]\nid = \"OP20\""}},
       {}},
      {"made_before_used",
       "op10b.F7.practice_made_before_used",
       out,
       {{"kind = \"rest\"\non = \"E1\"\nat = [\"-50, 46.5, 18 mm\", \"50, 46.5, 18 mm\"]",
         "kind = \"rest\"\non = \"E1\"\nat = [\"-50, 46.5, 18 mm\", \"50, 46.5, 18 mm\"]\n[[operation.locator]]\nkind "
         "= "
         "\"relieved pin\"\non = \"F7@1\""}},
       {}},
      {"next_datum_made",
       "op10b.-.practice_next_datum_made",
       out,
       {{"note = \"turning over stands in the time of the cut\"\n[[operation.locator]]\nkind = \"jaw\"\non = \"A\"\n"
         "at = [\"-40, -20, 0 mm\", \"40, -20, 0 mm\", \"0, 20, 0 mm\"]\n",
         "[[operation.locator]]\nkind = \"jaw\"\non = \"F1.+x\"\nat = \"68.125, 0, 8 mm\"\n"},
        {"kind = \"rest\"\non = \"E1\"\nat = [\"-50, 46.5, 18 mm\", \"50, 46.5, 18 mm\"]\n",
         "kind = \"jaw\"\non = \"F1.+x\"\nat = \"68.125, 10, 8 mm\"\n"}},
       {}},
      {"finish_after_skin",
       "g10a.A.practice_finish_after_skin",
       out,
       {{"feature = \"A\"\nkind = \"flatness\"\n", "feature = \"A\"\nkind = \"flatness\"\ncritical = true\n"}},
       {}},
      {"agree_in_one_clamping",
       "op30.F2.practice_agree_in_one_clamping",
       tight,
       {{"feature = \"F2\"\nto = \"F4\"\nkind = \"coaxiality\"",
         "feature = \"F2\"\nto = \"F9\"\nkind = \"coaxiality\""}},
       {}},
      {"critical_bore_last",
       "op30.F4.practice_critical_bore_last.T20",
       tight,
       {{"[[operation.cut]]\ntool = \"T17\"",
         "[[operation.cut]]\ntool = \"T16\"\nfeatures = \"F6\"\nkind = \"rough\"\ntime = \"0.1 "
         "min\"\n[[operation.cut]]\ntool = \"T17\""}},
       {}},
      {"threads_never_locate",
       "op30.F9.practice_threads_never_locate",
       out,
       {{last_of_op30, std::string(last_of_op30) + "[[operation.locator]]\nkind = \"relieved pin\"\non = \"F9@1\"\n"},
        {both_before, ""},
        {"zero = \"probed pins\"\n", std::string(both_before) + "zero = \"probed pins\"\n"}},
       {}},
      {"hole_before_tap",
       "op20.F9.practice_hole_before_tap.T7",
       out,
       {{"tool = \"T6\"\nfeatures = \"F9\"", "tool = \"T6\"\nfeatures = \"F8\""}},
       {}},
      {"exit_edge", "op10a.E1.practice_exit_edge.T1", tight, {{"exit = \"broken edge\"\n", ""}}, {}},
      {"no_form_tap", "op20.F9.practice_no_form_tap.T7", out, {}, {{"forms = false", "forms = true"}}},
      {"swarf_from_bore",
       "op30.F4.practice_swarf_from_bore.T14",
       tight,
       {{"[[operation.cut]]\ntool = \"T17\"",
         "[[operation.cut]]\ntool = \"T14\"\nfeatures = \"F2\"\nkind = \"finish\"\ntime = \"0.1 "
         "min\"\n[[operation.cut]]\ntool = \"T17\""}},
       {}},
      {"one_round_pin",
       "op30.F7.practice_one_round_pin",
       out,
       {{last_of_op30, std::string(last_of_op30) + "[[operation.locator]]\nkind = \"round pin\"\non = \"F7@2\"\n"},
        {both_before, ""},
        {"zero = \"probed pins\"\n", std::string(both_before) + "zero = \"probed pins\"\n"}},
       {}},
      {"pins_short", "op30.F7.practice_pins_short", tight, {{"height = \"0.7 mm\"", "height = \"0.8 mm\""}}, {}},
      {"shoulder_short",
       "op30.F8.practice_shoulder_short",
       out,
       {{"through = \"F8\"\n", "through = \"F8\"\nshoulder = \"35.94 mm\"\n"}},
       {}},
      {"clamp_over_support",
       "op30.F11.practice_clamp_over_support",
       tight,
       {{"[\"±56, ±20 mm\", \"±33, ±38 mm\"]", "[\"0, ±40 mm\"]"}},
       {}},
      {"clean_seats",
       "op30.-.practice_clean_seats",
       out,
       {{"[\"blow off\", \"single block\"]\nmakes = [\"F1\"", "[\"single block\"]\nmakes = [\"F1\""}},
       {}},
      {"burr_free_seat",
       "op30.A.practice_burr_free_seat",
       out,
       {{"[\"blow off\", \"deburr\", \"oil\", \"single block\", \"look for pores\"]",
         "[\"blow off\", \"oil\", \"single block\", \"look for pores\"]"},
        {"tool = \"T19\"\nkind = \"chamfer\"\ntime = \"0.350 min\"",
         "tool = \"T19\"\nfeatures = \"F8\"\nkind = \"chamfer\"\ntime = \"0.350 min\""}},
       {}},
      {"fines_cement", "op30.-.practice_fines_cement", tight, {{"slope = \"2 deg\"", "slope = \"1 deg\""}}, {}},
      {"burrs_removed", "op30.-.practice_burrs_removed", out, {{"kind = \"deburr\"\n", "kind = \"wash\"\n"}}, {}},
      {"pores_early",
       "op30.F5.practice_pores_early",
       tight,
       {{", \"look for pores\"]", "]"},
        {"[\"blow off\", \"single block\"]\nmakes = [\"F1\"",
         "[\"blow off\", \"single block\", \"look for pores\"]\nmakes = [\"F1\""}},
       {}},
      {"rust_clock", "op50.-.practice_rust_clock", out, {{"wait = \"15 min\"", "wait = \"5 h\""}}, {}},
      {"demagnetise", "g10a.-.practice_demagnetise", out, {{"\"demagnetise\", ", ""}}, {}},
      {"flat_off_chuck",
       "g10a.A.practice_flat_off_chuck",
       tight,
       {{"\"demagnetise\", \"gauge\", ", "\"demagnetise\", "}, {"\"soak\", \"gauge\"]", "\"soak\"]"}},
       {}},
      {"warm_gauging", "op30.F4.practice_warm_gauging", tight, {{", \"soak\", \"gauge\"]", ", \"gauge\"]"}}, {}},
      {"hone_last",
       "op40.-.practice_hone_last",
       tight,
       {{"[[operation]]\nid = \"OP50\"",
         "[[operation]]\nid = \"OP45\"\nkind = \"vise\"\ndoes = [\"blow off\", \"oil\", \"deburr\"]\nlot = 1\ntime = "
         "\"1 "
         "min\"\nmachine = \"A\"\n[[operation.locator]]\nkind = \"stop\"\non = "
         "\"A\"\nat = \"0, 0, 0 mm\"\n[[operation.cut]]\ntool = \"T6\"\nfeatures = \"F8\"\nkind = \"drill\"\ntime = "
         "\"0.1 min\"\n"
         "[[operation]]\nid = \"OP50\""}},
       {}},
      {"single_block",
       "op30.-.practice_single_block",
       out,
       {{"[\"blow off\", \"single block\"]\nmakes = [\"F1\"", "[\"blow off\"]\nmakes = [\"F1\""}},
       {}},
  };
}

Texts spoilt(const Spoil& s) {
  Texts t = mended();
  t.plan = demo::edited(t.plan, s.plan);
  t.shop = demo::edited(t.shop, s.shop);
  return t;
}

TEST(PracticeOnPlans, APlanSpoiltOnPurposeIsCaughtByNameForEachRule) {
  const auto before = answers(read(mended()));
  std::set<std::string> caught;
  for (const Spoil& s : spoils()) {
    const plan::Plan p = read(spoilt(s));
    for (const auto& [rule, a] : answers(p)) {
      if (rule == s.rule) EXPECT_EQ(a.verdict, Verdict::broken) << s.rule << ": " << a.sentence;
      else EXPECT_EQ(a.verdict, before.at(rule).verdict) << s.rule << " spoilt, but " << rule << ": " << a.sentence;
    }
    const Found f = findings(p);
    const auto* x = f.find(s.id);
    ASSERT_NE(x, nullptr) << s.id << ", there is " << (f.study.findings.empty() ? "" : f.study.findings.back().id);
    EXPECT_EQ(x->state, s.state) << s.id;
    EXPECT_EQ(finding::within(x->value, x->limit), s.state == State::tight) << s.id;
    EXPECT_EQ(x->margin < 0, s.state == State::outside) << s.id;
    EXPECT_FALSE(x->levers.empty()) << s.id;
    EXPECT_EQ(f.study.findings.size(), 2U) << s.rule;  // this one, and those kept
    caught.insert(s.rule);
  }
  for (const practice::Rule& r : practice::rules()) EXPECT_EQ(caught.count(std::string(r.id)), 1U) << r.id;
}

TEST(PracticeOnPlans, TheDemosFirstPlanBreaksWhatItIsKnownFor) {
  auto p = demo::read(demo::text_of("plan-0.toml"));
  ASSERT_TRUE(p.ok());
  const auto all = answers(*p);
  const std::set<std::string> broken = {"first_cut_under_skin", "clear_of_parting",   "agree_in_one_clamping",
                                        "finish_after_skin",    "critical_bore_last", "exit_edge",
                                        "swarf_from_bore",      "fines_cement"};
  EXPECT_EQ(with(all, Verdict::broken), broken);
  // Spool bore finished in OP20; the ends keep their skin until OP30.
  EXPECT_EQ(all.at("finish_after_skin").where.feature, "F4");
  EXPECT_EQ(all.at("first_cut_under_skin").where.feature, "F1.+x");
}

TEST(PracticeOnPlans, TheDemosSecondPlanMendsSome) {
  auto p = demo::read(demo::text_of("plan-1.toml"), "plan-1.toml");
  ASSERT_TRUE(p.ok());
  const auto all = answers(*p);
  const std::set<std::string> broken = {"clear_of_parting", "critical_bore_last", "exit_edge", "fines_cement"};
  EXPECT_EQ(with(all, Verdict::broken), broken);
  for (const char* rule : {"first_cut_under_skin", "agree_in_one_clamping", "finish_after_skin", "swarf_from_bore"})
    EXPECT_EQ(all.at(rule).verdict, Verdict::kept) << rule;
}

TEST(PracticeOnPlans, WhatNobodySaidIsAskedForByItsKey) {
  const plan::Plan p =
      read({demo::text_of("plan-0.toml"), all_edited(demo::text_of("shop.toml"), "forms = false\n", "")});
  const Found f = findings(p);
  const auto* open = f.find("-.-.practice_open");
  ASSERT_NE(open, nullptr);
  EXPECT_EQ(open->state, State::open);
  const auto asks = [&](const std::string& head) {
    return std::any_of(open->missing.begin(), open->missing.end(),
                       [&](const std::string& m) { return m.rfind(head + ": ", 0) == 0; });
  };
  EXPECT_TRUE(asks("operation.G10A.does"));
  EXPECT_TRUE(asks("tool.T7.forms"));
  EXPECT_TRUE(asks("operation.OP30.does"));
  EXPECT_TRUE(asks("operation.OP20.cut.T19.features"));
  // Each key once.
  std::set<std::string> keys;
  for (const std::string& m : open->missing) EXPECT_TRUE(keys.insert(m.substr(0, m.find(": "))).second) << m;
}

TEST(PracticeOnPlans, EveryFactHasAPlaceInThePlan) {
  for (const practice::FactWord& w : practice::facts_asked()) {
    const std::string asks = practice_asks({std::string(w.fact), {"OP1", "F1", "T1"}});
    EXPECT_NE(asks.substr(0, asks.find(": ")), std::string(w.fact)) << "no key for " << w.fact;
    EXPECT_EQ(asks.find("FEATURE"), std::string::npos) << asks;
  }
}

// What a plan does not say may hide a slip (no clamp, no slip of the clamp), but it never turns one into a kept rule:
// each such case is looked at here.
TEST(PracticeOnPlans, NoValueLeftOutMakesABrokenRuleKept) {
  const std::string text = demo::text_of("plan-0.toml");
  const auto plan = demo::read(text);
  ASSERT_TRUE(plan.ok());
  const auto before = answers(*plan);
  const std::vector<std::string> lines = base::split(text, '\n');
  int tried = 0, refused = 0;
  for (const plan::Leaf& leaf : plan::leaves(*plan)) {
    if (leaf.place.file != 0 || leaf.place.line == 0) continue;
    std::vector<std::string> rest = lines;
    if (rest[static_cast<std::size_t>(leaf.place.line - 1)].find('{') != std::string::npos) continue;
    rest.erase(rest.begin() + leaf.place.line - 1, rest.begin() + leaf.place.end_line);
    const auto p = demo::read(base::join(rest, "\n"));
    ++tried;
    if (!p.ok()) {
      ++refused;
      continue;
    }
    // Not said to be critical while others are: then it is not. No width said: the stock as ordered decides.
    const bool meant =
        leaf.path.find("/ critical") != std::string::npos || leaf.path.find("/ width") != std::string::npos;
    if (meant) continue;
    for (const auto& [rule, a] : answers(*p))
      if (before.at(rule).verdict == Verdict::broken || before.at(rule).verdict == Verdict::open) {
        EXPECT_NE(a.verdict, Verdict::kept) << rule << " without " << leaf.path << ": " << before.at(rule).sentence;
      }
  }
  EXPECT_GT(tried, 300);
  EXPECT_LT(refused, tried / 2);
}

TEST(PracticeOnPlans, StepsThatTheRulesAskForAreWrittenIntoThePlan) {
  const std::set<std::string> steps = {"shims",           "demagnetises", "deburrs", "oils",         "cleans_seats",
                                       "looks_for_pores", "gauges",       "soaks",   "single_block", "lifts_evenly"};
  for (const char* name : {"demo/plan-0.toml", "demo/plan-1.toml", "01-bracket-inch.toml", "02-cover.toml"}) {
    auto p = plan::read_plan(std::string(FETTLE_SOURCE_DIR) + "/plans/" + name);
    ASSERT_TRUE(p.ok()) << name;
    const auto before = answers(*p);
    const auto said = say_steps(*p);
    EXPECT_FALSE(said.empty()) << name;
    for (const auto& s : said) EXPECT_NE(practice::find_rule(s.rule), nullptr) << s.rule;
    const auto after = answers(*p);
    for (const auto& [rule, a] : after) {
      for (const practice::Missing& m : a.missing)
        EXPECT_EQ(steps.count(m.fact), 0U)
            << name << ": " << rule << " asks for " << m.fact << " in " << m.where.operation;
      if (before.at(rule).verdict == Verdict::kept) {
        EXPECT_EQ(a.verdict, Verdict::kept) << name << ": " << rule;
      }
    }
    EXPECT_TRUE(say_steps(*p).empty()) << name;
    // Written and read back it says the same.
    const auto back = plan::read_plan(plan::write_plan(*p), std::string(FETTLE_SOURCE_DIR) + "/plans/" + name,
                                      [](const std::string& path) { return base::read_file(path); });
    ASSERT_TRUE(back.ok()) << name;
    for (const auto& [rule, a] : answers(*back)) EXPECT_EQ(a.verdict, after.at(rule).verdict) << name << ": " << rule;
  }
}

TEST(PracticeOnPlans, StepsThatAListLeavesOutStayLeftOut) {
  plan::Plan p = read(mended());
  EXPECT_TRUE(say_steps(p).empty());
  Texts t = mended();
  t.plan = demo::edited(t.plan, {{"\"demagnetise\", ", ""}});
  plan::Plan q = read(t);
  EXPECT_TRUE(say_steps(q).empty());
  EXPECT_EQ(answers(q).at("demagnetise").verdict, Verdict::broken);
}

TEST(PracticeOnPlans, AnEmptyPlanAsksNothing) {
  const plan::Plan p;
  EXPECT_TRUE(findings(p).study.findings.empty());
}

TEST(PracticeOnPlans, StepsThatAChangeVoidsAreStepsOfTheStudy) {
  const auto known = steps();
  for (Changed c : practice::all_changes())
    for (const practice::Void& v : practice::voided(std::vector{c}).voided) {
      if (v.approval || v.what == "practice") continue;
      EXPECT_NE(std::find(known.begin(), known.end(), v.what), known.end()) << v.what;
    }
}

TEST(PracticeOnPlans, WhatDiffersBetweenTwoPlans) {
  const Texts base = mended();
  const plan::Plan before = read(base);
  const auto changed = [&](const std::vector<Edit>& plan, const std::vector<Edit>& shop = {}) {
    return changes_between(before, read({demo::edited(base.plan, plan), demo::edited(base.shop, shop)}));
  };
  using List = std::vector<Changed>;
  EXPECT_EQ(changed({}), List{});
  EXPECT_EQ(changed({{"torque = \"28 N·m\"", "torque = \"30 N·m\""}}), List{Changed::clamping});
  EXPECT_EQ(changed({{"per_week = 240", "per_week = 300"}}), List{Changed::demand});
  EXPECT_EQ(changed({{"material = \"EN-GJL-250\"", "material = \"EN-GJS-500-7\""}}), List{Changed::grade});
  EXPECT_EQ(changed({{"speed = \"860 rpm\"", "speed = \"800 rpm\""}}), List{Changed::cutting_data});
  EXPECT_EQ(changed({{"size = \"330 x 250 x 25 mm\"", "size = \"330 x 250 x 30 mm\""}}), List{Changed::pallet});
  EXPECT_EQ(changed({{"height = \"0.7 mm\"", "height = \"0.6 mm\""}}), List{Changed::locating});
  EXPECT_EQ(changed({{"raw = \"39.9 mm\"", "raw = \"40.3 mm\""}}), List{Changed::pattern});
  EXPECT_EQ(changed({{"limits = \"max 0.03 mm\"", "limits = \"max 0.02 mm\""}}), List{Changed::requirement});
  EXPECT_EQ(changed({{"name = \"WVB-3 plan 1\"", "name = \"another\""}}), List{});
  EXPECT_EQ(changed({{"does = \"nothing\"", "does = \"gauge\""}}), List{Changed::route});
  EXPECT_EQ(changed({}, {{"uncertainty = \"0.6 µm\"", "uncertainty = \"0.5 µm\""}}), List{Changed::gauge});
  EXPECT_EQ(changed({}, {{"stick_out = \"52 mm\"", "stick_out = \"60 mm\""}}), List{Changed::tool});
  EXPECT_EQ(changed({{"torque = \"28 N·m\"", "torque = \"30 N·m\""}, {"per_week = 240", "per_week = 300"}}),
            (List{Changed::clamping, Changed::demand}));
}

}  // namespace
}  // namespace fettle::study
