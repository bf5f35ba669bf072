#include "calc/practice/practice.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <map>
#include <set>

#include "base/bytes.h"
#include "base/text.h"
#include "calc/practice/good_route.h"
#include "published.h"

namespace fettle::practice {
namespace {

using good::by;
using good::of;
using good::op;

std::map<std::string, Verdict> verdicts(const Facts& f) {
  std::map<std::string, Verdict> out;
  for (const Answer& a : judge(f).answers) out[a.rule] = a.verdict;
  return out;
}

/// A change that makes the route break one rule, and where it must be found.
struct Slip {
  std::string rule, operation, feature, tool;
  std::function<void(Facts&)> spoil;
};
void move_to_end(Facts& f, const std::string& tool) {
  auto& cuts = op(f, "OP2").cuts;
  const auto it = std::find_if(cuts.begin(), cuts.end(), [&](const Cut& c) { return c.tool == tool; });
  std::rotate(it, it + 1, cuts.end());
}
std::vector<Slip> slips() {
  return {
      {"first_cut_under_skin", "OP1", "side +y", "T1", [](Facts& f) { by(f, "OP1", "T1").pass_depth = 0.5e-3; }},
      {"first_cut_under_skin", "OP1", "side +y", "T1", [](Facts& f) { by(f, "OP1", "T1").least_depth = 0.25e-3; }},
      {"first_cut_under_skin", "OP2", "end -x", "T11", [](Facts& f) { of(f, "end -x").least_stock = 0.79e-3; }},
      {"first_cut_under_skin", "OP1", "counterbore", "T3", [](Facts& f) { by(f, "OP1", "T3").leaves = 0.9e-3; }},
      {"no_finish_on_skin", "OP1", "side +y", "T1", [](Facts& f) { by(f, "OP1", "T1").pass = Pass::finish; }},
      {"hard_corner", "OP1", "threads", "", [](Facts& f) { of(f, "threads").edge_wall = 4e-3; }},
      {"clear_of_gates", "OP1", "side -y", "", [](Facts& f) { op(f, "OP1").contacts[3].at->x = -30e-3; }},
      {"clear_of_parting", "OP1", "side -y", "", [](Facts& f) { op(f, "OP1").contacts[3].at->z = 15e-3; }},
      {"shim_warped", "G1", "bottom", "", [](Facts& f) { op(f, "G1").steps.shims = false; }},
      {"raw_datum_once", "OP2", "end -x", "",
       [](Facts& f) {
         op(f, "OP2").contacts.push_back(good::contact("stop", Touch::stop, "end -x", {-66e-3, 0, 8e-3}, true));
       }},
      {"made_before_used", "OP1", "pin hole 1", "",
       [](Facts& f) { op(f, "OP1").contacts.push_back(good::contact("peg", Touch::stop, "pin hole 1", {})); }},
      {"next_datum_made", "OP1", "", "",
       [](Facts& f) {
         for (int i : {0, 1}) op(f, "OP1").contacts[static_cast<std::size_t>(i)].on = "side -y";
         for (int i : {0, 1})
           op(f, "OP1").contacts[static_cast<std::size_t>(i)].at->y = 40e-3;  // clear of gate and ridge
         for (int i : {0, 1}) op(f, "OP1").contacts[static_cast<std::size_t>(i)].at->z = 8e-3;
         op(f, "OP1").thickness = 50e-3;
       }},
      {"agree_in_one_clamping", "OP2", "counterbore", "",
       [](Facts& f) {
         f.relations = {{"coaxial", "counterbore", {"side +y"}, 0.07e-3}};
       }},
      {"finish_after_skin", "OP2", "bore", "T20",
       [](Facts& f) {
         auto& c = op(f, "OP2").cuts;
         std::rotate(c.begin(), c.begin() + 1, c.end());  // the outside comes after the bore
       }},
      {"critical_bore_last", "OP2", "bore", "T20", [](Facts& f) { move_to_end(f, "T16"); }},
      {"threads_never_locate", "OP2", "threads", "",
       [](Facts& f) { op(f, "OP2").contacts.push_back(good::contact("peg", Touch::stop, "threads", {})); }},
      {"hole_before_tap", "OP1", "threads", "T7",
       [](Facts& f) {
         auto& c = op(f, "OP1").cuts;
         c.erase(std::remove_if(c.begin(), c.end(), [](const Cut& x) { return x.tool == "T6"; }), c.end());
       }},
      {"exit_edge", "OP1", "side +y", "T1",
       [](Facts& f) {
         auto& c = op(f, "OP1").cuts;
         std::rotate(c.begin(), c.begin() + 1, c.end());  // the chamfer comes last
       }},
      {"exit_edge", "OP1", "side +y", "T1", [](Facts& f) { by(f, "OP1", "T1").exit = Exit::sharp; }},
      {"no_form_tap", "OP1", "threads", "T7", [](Facts& f) { by(f, "OP1", "T7").forms = true; }},
      {"swarf_from_bore", "OP2", "bore", "T15", [](Facts& f) { move_to_end(f, "T15"); }},
      {"one_round_pin", "OP2", "pin hole 2", "", [](Facts& f) { op(f, "OP2").pins[1].round = true; }},
      {"pins_short", "OP2", "pin hole 1", "", [](Facts& f) { op(f, "OP2").pins[0].height = 1.2e-3; }},
      {"shoulder_short", "OP2", "bolt holes", "", [](Facts& f) { op(f, "OP2").screws[0].shoulder = 40e-3; }},
      {"clamp_over_support", "OP1", "top", "", [](Facts& f) { op(f, "OP1").contacts[4].at->x = 65e-3; }},
      {"clean_seats", "OP2", "", "", [](Facts& f) { op(f, "OP2").steps.cleans_seats = false; }},
      {"burr_free_seat", "OP2", "bottom", "",
       [](Facts& f) {
         op(f, "OP1").steps.deburrs = false;
         by(f, "OP1", "T9").features = {"side +y"};
       }},
      {"fines_cement", "OP2", "", "", [](Facts& f) { op(f, "OP2").run_offs[0].slope = 0; }},
      {"burrs_removed", "OP2", "", "", [](Facts& f) { op(f, "OP4").steps.deburrs = false; }},
      {"pores_early", "OP2", "groove", "",
       [](Facts& f) {
         op(f, "OP1").steps.looks_for_pores = false;
         op(f, "OP2").steps.looks_for_pores = true;
       }},
      {"pores_early", "OP1", "groove", "", [](Facts& f) { op(f, "OP1").steps.looks_for_pores = false; }},
      {"rust_clock", "OP4", "", "", [](Facts& f) { op(f, "OP3").lot_time = 3.1 * 3600; }},
      {"rust_clock", "OP2", "", "", [](Facts& f) { op(f, "OP4").steps.oils = false; }},
      {"demagnetise", "G2", "", "", [](Facts& f) { op(f, "G2").steps.demagnetises = false; }},
      {"flat_off_chuck", "G2", "bottom", "",
       [](Facts& f) { op(f, "G2").steps.gauges = op(f, "OP4").steps.gauges = false; }},
      {"warm_gauging", "OP2", "bore", "", [](Facts& f) { op(f, "OP4").steps.soaks = false; }},
      {"hone_last", "OP3", "", "",
       [](Facts& f) {
         Operation last = good::operation("OP3b", How::vise, 10);
         last.contacts = {good::contact("stop", Touch::stop, "bottom", {})};
         last.cuts = {good::cut("T6", ToolKind::drill, Pass::drill, {"pocket"})};
         f.operations.insert(f.operations.end() - 1, last);
       }},
      {"single_block", "OP2", "", "", [](Facts& f) { op(f, "OP2").steps.single_block = false; }},
  };
}

TEST(Practice, AGoodRouteKeepsEveryRule) {
  for (const Answer& a : judge(good::route()).answers) {
    EXPECT_EQ(a.verdict, Verdict::kept) << a.rule << ": " << a.sentence;
    EXPECT_GT(a.looked_at, 0) << a.rule;
    EXPECT_TRUE(a.mend.empty()) << a.rule;
  }
}

TEST(Practice, EachSlipIsCaughtByNameAndNothingElseMoves) {
  const auto before = verdicts(good::route());
  std::set<std::string> caught;
  for (const Slip& s : slips()) {
    Facts f = good::route();
    s.spoil(f);
    for (const Answer& a : judge(f).answers) {
      if (a.rule != s.rule) {
        EXPECT_EQ(a.verdict, before.at(a.rule)) << s.rule << " spoilt, but " << a.rule << " says: " << a.sentence;
        continue;
      }
      EXPECT_EQ(a.verdict, Verdict::broken) << s.rule << ": " << a.sentence;
      EXPECT_EQ(a.where.operation, s.operation) << s.rule;
      EXPECT_EQ(a.where.feature, s.feature) << s.rule;
      EXPECT_EQ(a.where.tool, s.tool) << s.rule;
      EXPECT_FALSE(a.mend.empty()) << s.rule;
      EXPECT_NE(a.sentence.find(s.operation), std::string::npos) << s.rule << ": " << a.sentence;
      EXPECT_EQ(a.sentence.find("nobody said"), std::string::npos);
    }
    caught.insert(s.rule);
  }
  for (const Rule& r : rules()) EXPECT_TRUE(caught.count(std::string(r.id)) == 1) << "no slip breaks " << r.id;
}

/// A fact taken away, and a rule that must then stay open for it.
struct Gap {
  std::string rule, fact;
  std::function<void(Facts&)> forget;
};
/// No cut names it any more.
void unmade(Facts& f, const std::string& feature) {
  for (Operation& o : f.operations)
    for (Cut& c : o.cuts)
      c.features.erase(std::remove(c.features.begin(), c.features.end(), feature), c.features.end());
}
std::vector<Gap> gaps() {
  return {
      {"exit_edge", "iron", [](Facts& f) { f.casting.iron = Iron::unknown; }},
      {"no_form_tap", "iron", [](Facts& f) { f.casting.iron = Iron::unknown, by(f, "OP1", "T7").forms = true; }},
      {"first_cut_under_skin", "skin", [](Facts& f) { f.casting.skin.reset(); }},
      {"first_cut_under_skin", "start", [](Facts& f) { of(f, "top").start = Start::unknown; }},
      {"no_finish_on_skin", "start", [](Facts& f) { of(f, "top").start = Start::unknown; }},
      {"first_cut_under_skin", "least_stock", [](Facts& f) { of(f, "top").least_stock.reset(); }},
      {"first_cut_under_skin", "leaves", [](Facts& f) { by(f, "OP1", "T3").leaves.reset(); }},
      {"no_finish_on_skin", "pass", [](Facts& f) { by(f, "OP1", "T1").pass = Pass::unknown; }},
      {"hard_corner", "hardest", [](Facts& f) { f.casting.hardest.reset(), of(f, "threads").edge_wall = 1e-3; }},
      {"hard_corner", "edge_wall", [](Facts& f) { of(f, "threads").edge_wall.reset(); }},
      {"clear_of_gates", "gates", [](Facts& f) { f.casting.gates.clear(); }},
      {"clear_of_gates", "contact_at", [](Facts& f) { op(f, "OP1").contacts[3].at.reset(); }},
      {"clear_of_parting", "contact_at", [](Facts& f) { op(f, "OP1").contacts[2].at.reset(); }},
      {"clear_of_parting", "parting", [](Facts& f) { f.casting.parting.reset(); }},
      {"shim_warped", "warp", [](Facts& f) { f.casting.warp.reset(); }},
      {"shim_warped", "magnetic", [](Facts& f) { op(f, "G1").magnetic.reset(); }},
      {"shim_warped", "shims", [](Facts& f) { op(f, "G1").steps.shims.reset(); }},
      {"made_before_used", "start",
       [](Facts& f) {
         of(f, "pin hole 1").start = Start::unknown;
         by(f, "OP1", "T4").features = by(f, "OP1", "T5").features = {"pin hole 2"};
       }},
      {"next_datum_made", "contacts", [](Facts& f) { op(f, "OP2").contacts.clear(), op(f, "OP2").pins.clear(); }},
      {"finish_after_skin", "critical", [](Facts& f) { f.critical_said = false; }},
      {"critical_bore_last", "critical", [](Facts& f) { f.critical_said = false; }},
      {"swarf_from_bore", "critical", [](Facts& f) { f.critical_said = false; }},
      {"hole_before_tap", "features", [](Facts& f) { by(f, "OP1", "T7").features.clear(); }},
      {"hole_before_tap", "start",
       [](Facts& f) {
         of(f, "threads").start = Start::unknown;
         auto& c = op(f, "OP1").cuts;
         c.erase(std::remove_if(c.begin(), c.end(), [](const Cut& x) { return x.tool == "T6"; }), c.end());
       }},
      {"swarf_from_bore", "drains", [](Facts& f) { of(f, "pocket").drains_into.reset(), move_to_end(f, "T16"); }},
      {"critical_bore_last", "pass", [](Facts& f) { by(f, "OP2", "T16").pass = Pass::unknown, move_to_end(f, "T16"); }},
      {"critical_bore_last", "features", [](Facts& f) { by(f, "OP2", "T16").features.clear(); }},
      {"first_cut_under_skin", "features", [](Facts& f) { by(f, "OP2", "T16").features.clear(); }},
      {"warm_gauging", "tolerance", [](Facts& f) { of(f, "bore").tolerance.reset(); }},
      {"no_form_tap", "forms", [](Facts& f) { by(f, "OP1", "T7").forms.reset(); }},
      {"pins_short", "pin_height", [](Facts& f) { op(f, "OP2").pins[0].height.reset(); }},
      {"pins_short", "pin_clearance", [](Facts& f) { op(f, "OP2").pins[0].clearance.reset(); }},
      {"pins_short", "pin_span", [](Facts& f) { op(f, "OP2").pins[0].span.reset(); }},
      {"pins_short", "lifts_evenly",
       [](Facts& f) { op(f, "OP2").steps.lifts_evenly.reset(), op(f, "OP2").pins[0].height = 3e-3; }},
      {"shoulder_short", "grip", [](Facts& f) { op(f, "OP2").screws[0].grip.reset(); }},
      {"clamp_over_support", "contact_at", [](Facts& f) { op(f, "OP1").contacts[4].at.reset(); }},
      {"clamp_over_support", "thickness", [](Facts& f) { op(f, "OP1").thickness.reset(); }},
      {"clean_seats", "cleans_seats", [](Facts& f) { op(f, "OP2").steps.cleans_seats.reset(); }},
      {"burr_free_seat", "deburrs",
       [](Facts& f) { op(f, "OP1").steps.deburrs.reset(), by(f, "OP1", "T9").features = {"side +y"}; }},
      {"burr_free_seat", "features",
       [](Facts& f) {
         op(f, "OP1").steps.deburrs = false;
         op(f, "OP1").cuts.push_back(good::cut("T9", ToolKind::chamfer, Pass::chamfer, {}));
       }},
      {"fines_cement", "closed_end", [](Facts& f) { op(f, "OP2").run_offs[0].closed_end.reset(); }},
      {"fines_cement", "slope", [](Facts& f) { op(f, "OP2").run_offs[0].slope.reset(); }},
      {"burrs_removed", "deburrs", [](Facts& f) { op(f, "OP4").steps.deburrs.reset(); }},
      {"pores_early", "looks_for_pores", [](Facts& f) { op(f, "OP1").steps.looks_for_pores.reset(); }},
      {"pores_early", "part_time", [](Facts& f) { op(f, "OP3").part_time.reset(); }},
      {"rust_clock", "wet", [](Facts& f) { op(f, "OP3").wet.reset(); }},
      {"rust_clock", "oils", [](Facts& f) { op(f, "OP3").steps.oils.reset(); }},
      {"rust_clock", "lot_time", [](Facts& f) { op(f, "OP3").lot_time.reset(); }},
      {"demagnetise", "demagnetises", [](Facts& f) { op(f, "G2").steps.demagnetises.reset(); }},
      {"demagnetise", "magnetic", [](Facts& f) { op(f, "G1").magnetic.reset(); }},
      {"flat_off_chuck", "gauges",
       [](Facts& f) { op(f, "G2").steps.gauges.reset(), op(f, "OP4").steps.gauges = false; }},
      {"warm_gauging", "warm", [](Facts& f) { f.warm.reset(); }},
      {"warm_gauging", "gauge_at", [](Facts& f) { f.gauge_at.reset(); }},
      {"warm_gauging", "expansion", [](Facts& f) { f.expansion.reset(); }},
      {"warm_gauging", "soaks", [](Facts& f) { op(f, "OP4").steps.soaks.reset(); }},
      {"single_block", "single_block", [](Facts& f) { op(f, "OP2").steps.single_block.reset(); }},
      {"single_block", "at_once", [](Facts& f) { op(f, "OP2").at_once.reset(); }},
      // What a seat sits on may be raw, and what nobody makes may be made anywhere.
      {"clear_of_gates", "start", [](Facts& f) { of(f, "side -y").start = Start::unknown; }},
      {"clear_of_parting", "start", [](Facts& f) { of(f, "side -y").start = Start::unknown; }},
      {"raw_datum_once", "start", [](Facts& f) { of(f, "side -y").start = Start::unknown; }},
      {"shim_warped", "start", [](Facts& f) { of(f, "bottom").start = Start::unknown; }},
      {"flat_off_chuck", "magnetic", [](Facts& f) { op(f, "G2").magnetic.reset(); }},
      {"swarf_from_bore", "features", [](Facts& f) { by(f, "OP2", "T16").features.clear(), move_to_end(f, "T16"); }},
      {"exit_edge", "features", [](Facts& f) { by(f, "OP2", "T16").features.clear(); }},
      {"one_round_pin", "contacts", [](Facts& f) { op(f, "OP2").contacts.clear(), op(f, "OP2").pins.clear(); }},
      {"raw_datum_once", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"made_before_used", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"threads_never_locate", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"clear_of_gates", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"clear_of_parting", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"clean_seats", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"burr_free_seat", "contacts", [](Facts& f) { op(f, "OP1").contacts.clear(); }},
      {"finish_after_skin", "features", [](Facts& f) { by(f, "OP2", "T16").features.clear(); }},
      {"agree_in_one_clamping", "made_in", [](Facts& f) { unmade(f, "bore"); }},
      {"finish_after_skin", "made_in", [](Facts& f) { unmade(f, "bore"); }},
      {"critical_bore_last", "made_in", [](Facts& f) { unmade(f, "bore"); }},
      {"swarf_from_bore", "made_in", [](Facts& f) { unmade(f, "bore"); }},
      {"warm_gauging", "made_in", [](Facts& f) { unmade(f, "bore"); }},
      {"hard_corner", "made_in", [](Facts& f) { unmade(f, "threads"); }},
      {"pores_early", "made_in", [](Facts& f) { of(f, "groove").metal.clear(), unmade(f, "groove"); }},
  };
}

TEST(Practice, AFactThatNobodySaidIsOpenAndNeverKept) {
  std::set<std::string> reached;
  for (const Gap& g : gaps()) {
    Facts f = good::route();
    g.forget(f);
    const Answer a = judge(f, g.rule);
    EXPECT_EQ(a.verdict, Verdict::open) << g.rule << " without " << g.fact << ": " << a.sentence;
    const bool asks =
        std::any_of(a.missing.begin(), a.missing.end(), [&](const Missing& m) { return m.fact == g.fact; });
    EXPECT_TRUE(asks) << g.rule << " does not ask for " << g.fact;
    reached.insert(g.fact);
  }
  for (const FactWord& w : facts_asked()) EXPECT_EQ(reached.count(std::string(w.fact)), 1U) << w.fact;
}

TEST(Practice, EveryFactAskedForHasWords) {
  std::set<std::string> known;
  for (const FactWord& w : facts_asked()) EXPECT_TRUE(known.insert(std::string(w.fact)).second) << w.fact;
  for (const Gap& g : gaps()) {
    Facts f = good::route();
    g.forget(f);
    for (const Answer& a : judge(f).answers)
      for (const Missing& m : a.missing) EXPECT_EQ(known.count(m.fact), 1U) << a.rule << " asks for " << m.fact;
  }
}

TEST(Practice, WhatIsForgottenNeverMakesABrokenRuleKept) {
  for (const Slip& s : slips())
    for (const Gap& g : gaps()) {
      Facts f = good::route();
      s.spoil(f);
      g.forget(f);
      // A gap may hide the slip; it then stays open or has nothing to look at, but never turns good.
      const Answer a = judge(f, s.rule);
      const bool touched_again = s.rule == g.rule;
      if (touched_again) continue;  // the gap's own change may mend the slip, as when it moves the same cut
      EXPECT_NE(a.verdict, Verdict::kept) << s.rule << " without " << g.fact << " (" << g.rule << ")";
    }
}

TEST(Practice, NothingSaidIsNothingKept) {
  for (const Answer& a : judge(Facts{}).answers) EXPECT_NE(a.verdict, Verdict::kept) << a.rule;
}

TEST(Practice, RulesAreWholeSentencesAndHaveTheirReason) {
  std::set<std::string_view> ids;
  EXPECT_GE(rules().size(), 30U);
  for (const Rule& r : rules()) {
    EXPECT_TRUE(ids.insert(r.id).second) << r.id;
    EXPECT_EQ(r.question.back(), '?') << r.id;
    EXPECT_FALSE(r.title.empty() || r.reason.empty() || r.source.empty() || r.mend.empty()) << r.id;
    EXPECT_EQ(find_rule(r.id)->id, r.id);
  }
  EXPECT_EQ(find_rule("no_such_rule"), nullptr);
  EXPECT_EQ(judge(Facts{}, "no_such_rule").verdict, Verdict::not_applicable);
}

TEST(Practice, ThePageListsTheRulesAsTheyAre) {
  const auto page = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/docs/practice.md");
  ASSERT_TRUE(page.ok());
  std::size_t rows = 0, at = 0;
  for (const Rule& r : rules()) {
    std::string row = "| `" + std::string(r.id) + "` | " + std::string(r.title) + " | ";
    row += std::string(r.weight == Weight::must ? "must" : "should") + " | " + std::string(r.reason) + " | ";
    row += std::string(r.source) + " |";
    const std::size_t found = page->find(row);
    EXPECT_NE(found, std::string::npos) << "docs/practice.md lacks: " << row;
    EXPECT_GE(found, at) << r.id << " stands elsewhere in the list";
    at = found;
  }
  for (at = page->find("\n| `"); at != std::string::npos; at = page->find("\n| `", at + 1)) ++rows;
  EXPECT_EQ(rows, rules().size());
}

TEST(Practice, ThePageSaysWhatLeavesARuleOpen) {
  const auto page = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/docs/practice.md");
  ASSERT_TRUE(page.ok());
  std::map<std::string, std::set<std::string>> asked;
  for (const Gap& g : gaps()) {
    Facts f = good::route();
    g.forget(f);
    for (const Answer& a : judge(f).answers)
      for (const Missing& m : a.missing) asked[a.rule].insert(m.fact);
  }
  for (const Rule& r : rules()) {
    const std::size_t from = page->find("| `" + std::string(r.id) + "` |");
    ASSERT_NE(from, std::string::npos) << r.id;
    const std::string row = page->substr(from, page->find('\n', from) - from);
    for (const FactWord& w : facts_asked()) {
      const bool said = row.find(" " + std::string(w.words) + ";") != std::string::npos ||
                        row.find(" " + std::string(w.words) + " |") != std::string::npos;
      EXPECT_EQ(said, asked[std::string(r.id)].count(std::string(w.fact)) == 1) << r.id << ": " << w.words;
    }
  }
}

TEST(Practice, BoundsBelongToTheGoodSide) {
  const auto verdict = [](const std::string& rule, const std::function<void(Facts&)>& change) {
    Facts f = good::route();
    change(f);
    return judge(f, rule).verdict;
  };
  EXPECT_EQ(verdict("first_cut_under_skin", [](Facts& f) { of(f, "end -x").least_stock = 0.8e-3; }), Verdict::kept);
  EXPECT_EQ(verdict("hard_corner", [](Facts& f) { f.casting.hardest = 240, of(f, "threads").edge_wall = 1e-3; }),
            Verdict::kept);
  EXPECT_EQ(verdict("shim_warped", [](Facts& f) { f.casting.warp = 0.05e-3, op(f, "G1").steps.shims = false; }),
            Verdict::kept);
  EXPECT_EQ(verdict("shim_warped", [](Facts& f) { f.casting.warp = 0.051e-3, op(f, "G1").steps.shims = false; }),
            Verdict::broken);
  EXPECT_EQ(verdict("rust_clock", [](Facts& f) { op(f, "OP3").lot_time = 3 * 3600; }), Verdict::kept);
  EXPECT_EQ(verdict("shoulder_short", [](Facts& f) { op(f, "OP2").screws[0].shoulder = 35.9e-3; }), Verdict::broken);
  EXPECT_EQ(verdict("pins_short",
                    [](Facts& f) { op(f, "OP2").pins[0].height = 3e-3, op(f, "OP2").steps.lifts_evenly = true; }),
            Verdict::kept);
  EXPECT_EQ(verdict("fines_cement", [](Facts& f) { op(f, "OP2").run_offs[0].slope = 0.026; }), Verdict::kept);
  EXPECT_EQ(
      verdict("fines_cement", [](Facts& f) { op(f, "OP2").run_offs[0].slope = 0.0, op(f, "OP2").steps.washes = true; }),
      Verdict::kept);
  EXPECT_EQ(verdict("exit_edge", [](Facts& f) { f.casting.iron = Iron::ductile; }), Verdict::not_applicable);
  EXPECT_EQ(verdict("no_form_tap", [](Facts& f) { f.casting.iron = Iron::ductile, by(f, "OP1", "T7").forms = true; }),
            Verdict::not_applicable);
  EXPECT_EQ(verdict("no_form_tap", [](Facts& f) { f.casting.iron = Iron::other, by(f, "OP1", "T7").forms = true; }),
            Verdict::not_applicable);
}

TEST(Practice, NotANumberIsNeverKept) {
  const double nan = std::nan("");
  const auto verdict = [](const std::string& rule, const std::function<void(Facts&)>& change) {
    Facts f = good::route();
    change(f);
    return judge(f, rule).verdict;
  };
  EXPECT_EQ(verdict("first_cut_under_skin", [&](Facts& f) { f.casting.skin = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("hard_corner", [&](Facts& f) { f.casting.hardest = nan, of(f, "threads").edge_wall = nan; }),
            Verdict::broken);
  EXPECT_EQ(verdict("clear_of_gates", [&](Facts& f) { op(f, "OP1").contacts[3].at->x = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("clear_of_parting", [&](Facts& f) { f.casting.parting = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("shim_warped", [&](Facts& f) { f.casting.warp = nan, op(f, "G1").steps.shims = false; }),
            Verdict::broken);
  EXPECT_EQ(verdict("pins_short", [&](Facts& f) { op(f, "OP2").pins[0].clearance = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("shoulder_short", [&](Facts& f) { op(f, "OP2").screws[0].grip = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("clamp_over_support", [&](Facts& f) { op(f, "OP1").contacts[4].at->x = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("fines_cement", [&](Facts& f) { op(f, "OP2").run_offs[0].slope = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("rust_clock", [&](Facts& f) { op(f, "OP3").lot_time = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("pores_early", [&](Facts& f) { op(f, "OP3").part_time = nan; }), Verdict::broken);
  EXPECT_EQ(verdict("warm_gauging", [&](Facts& f) { f.warm = nan, op(f, "OP4").steps.soaks = false; }),
            Verdict::broken);
  EXPECT_EQ(verdict("agree_in_one_clamping",
                    [&](Facts& f) {
                      f.relations = {{"coaxial", "counterbore", {"side +y"}, nan}};
                    }),
            Verdict::broken);
}

TEST(Practice, PublishedAndExactValues) {
  // Warm iron: 22 mm, 6 K, 10.5e-6/K grows 1.386 µm; a tolerance of 13.86 µm is the one of which it takes a tenth.
  Facts f = good::route();
  op(f, "OP4").steps.soaks = false;
  const auto broken = [&](double tolerance) {
    of(f, "bore").tolerance = tolerance;
    return judge(f, "warm_gauging").verdict == Verdict::broken;
  };
  double low = 1e-6, high = 100e-6;
  for (int i = 0; i < 60; ++i) (broken(0.5 * (low + high)) ? low : high) = 0.5 * (low + high);
  test::published("practice", "tolerance of which warm iron takes a tenth, µm", "growth = 10.5e-6 x 22 mm x 6 K",
                  test::How::exact, 13.86, low * 1e6, 1e-6);
  // A tilted part binds above sqrt(L c): 111 mm and 11 µm give 1.105 mm.
  Facts g = good::route();
  const auto binds = [&](double height) {
    op(g, "OP2").pins[0].height = height;
    return judge(g, "pins_short").verdict == Verdict::broken;
  };
  low = 0.1e-3, high = 10e-3;
  for (int i = 0; i < 60; ++i) (binds(0.5 * (low + high)) ? high : low) = 0.5 * (low + high);
  test::published("practice", "longest land that one-end lifting frees, mm", "sqrt(111 mm x 0.011 mm)",
                  test::How::exact, 1.104989, low * 1e3, 1e-5);
}

TEST(Practice, SentencesFollowTheReadersUnits) {
  Facts f = good::route();
  f.inch = true;
  op(f, "OP1").contacts[3].at->x = -30e-3;
  EXPECT_NE(judge(f, "clear_of_gates").sentence.find(" in"), std::string::npos);
  EXPECT_EQ(judge(f, "clear_of_gates").sentence.find("mm"), std::string::npos);
}

TEST(Practice, FactsHaveBytes) {
  Facts a = good::route(), b = good::route();
  EXPECT_EQ(base::bytes_of(a), base::bytes_of(b));
  b.operations[2].steps.deburrs.reset();
  EXPECT_NE(base::bytes_of(a), base::bytes_of(b));
}

}  // namespace
}  // namespace fettle::practice
