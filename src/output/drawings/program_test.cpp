#include "output/drawings/program.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "output/drawings/samples.h"
#include "output/drawings/sheet_checks.h"

namespace fettle::drawings {
namespace {

const Stamp stamp{"t", "Fettle", ""};
std::string words(const Drawing& d) { return all_text(to_svg(d, stamp)->pages[0]); }
void expect_words(const std::string& all, const std::vector<std::string>& parts) {
  for (const std::string& part : parts) EXPECT_NE(all.find(part), std::string::npos) << part << " in\n" << all;
}

/// A profile round each part, a ring in each bore, quick moves from one to the next.
PathsView some_paths() {
  PathsView v;
  v.title = "Where the tools go, OP30";
  v.sentence = "From above; pallet 1 of 2, the other one alike.";
  v.caption = "A picture is no proof: read the program before it runs.";
  v.pallet = samples::pallet();
  for (int k = 0; k < 9; ++k) {
    ToolPath t;
    t.tool = "T" + std::to_string(11 + k);
    t.words =
        k == 1 ? "end mill 20, finish, of a maker whose name needs more room than there is in a head" : "end mill";
    t.facts = "5 min 32 s; nests 1, 2, 4, 3; down to Z −0.500 mm";
    Point last{};
    for (const Nest& n : v.pallet.nests) {
      PathStroke way;
      const double r = 0.008 + 0.004 * k;
      for (int i = 0; i <= 60; ++i)
        way.points.push_back(
            {n.at.x + r * std::cos(i * std::numbers::pi / 30), n.at.y + r * std::sin(i * std::numbers::pi / 30)});
      if (!t.strokes.empty()) t.strokes.push_back({{last, way.points.front()}, true});
      else t.start = way.points.front();
      last = way.points.back();
      t.strokes.push_back(way);
      t.strokes.push_back(way);  // a second level: drawn once
    }
    if (k == 6)
      for (const Nest& n : v.pallet.nests) t.plunges.push_back({n.at.x + 0.03, n.at.y}), t.diameter = 0.005;
    v.tools.push_back(t);
  }
  return v;
}

EngagementView some_engagement() {
  EngagementView v;
  v.title = "What the tools take, OP30";
  v.sentence = "67 min for 8 parts.";
  v.caption = "From the proof's height field.";
  v.total = 4000;
  v.panels = {"metal taken, cm³/min", "cross-section of the cut, mm²", "arc in the metal, °"};
  for (int i = 0; i < 400; ++i)
    v.pieces.push_back({i * 10.0, i * 10.0 + 6, {20 + 10 * std::sin(i * 0.3), 30.0 + i % 7, i % 90 + 10.0}});
  const double ends[] = {0, 900, 1300, 1310, 1330, 1350, 1360, 2600, 3900, 4000};
  for (int k = 0; k < 9; ++k) v.bands.push_back({"T" + std::to_string(11 + k), ends[k], ends[k + 1]});
  v.worst_at = 1340;
  v.worst = "Line 1212, T11: friction alone carries 0.67 times the force; the part slides to +Y";
  v.worst_hand = true;
  v.heads = {"tool", "", "minutes", "deepest", "most, cm³/min", "line"};
  for (int k = 0; k < 9; ++k)
    v.rows.push_back({{"T" + std::to_string(11 + k), "end mill 20 with a long name that does not end before the room",
                       "11.1", "18.500 mm", "37.7", "1212"}});
  return v;
}

PoolsView some_pools() {
  PoolsView v;
  v.title = "What coolant stays";
  v.sentence = "`17.12 cm³` in a part, none in the plate.";
  v.caption = "Flooded from edges and holes.";
  v.levels = {0.05, 2, 10};
  v.bands = {"under 2 mm", "2 to 10 mm", "over 10 mm"};
  PoolPlan plate;
  plate.title = "The plate";
  plate.words = "nothing stays";
  plate.outline = box({0, 0}, 0.330, 0.250, 0.004);
  plate.below = {box({0, 0}, 0.18, 0.024), box({-0.078, 0.03}, 0.024, 0.1)};
  plate.holes = {circle({0, 0}, 0.024)};
  plate.flows = {{{-0.078, 0.06}, {-0.078, 0.015}}, {{-0.07, 0}, {-0.02, 0}}};
  plate.names = {{{-0.078, 0.09}, "1"}};
  v.plans.push_back(plate);
  PoolPlan part = plate;
  part.title = "A part as it lies";
  part.outline = box({0, 0}, 0.132, 0.092, 0.012);
  part.depth = {67, 47, -0.066, -0.046, 0.002, 0.002, {}};
  for (int j = 0; j < 47; ++j)
    for (int i = 0; i < 67; ++i) part.depth.value.push_back(i > 10 && i < 20 && j > 20 && j < 30 ? 12 : i > 40 ? 1 : 0);
  part.notes = {{{-0.036, 0.004}, "5.2 cm³", "12.0 mm deep", false, {}}, {{0.04, 0}, "8 cm³", "1.0 mm deep", true, {}}};
  part.flows.clear(), part.names.clear();
  v.plans.push_back(part);
  return v;
}

TEST(Paths, EveryToolHasItsPlanAndNothingOverlaps) {
  for (const Room& room : {Room{186, 258}, Room{150, 258}, Room{186, 120}, Room{100, 200}}) {
    std::string all;
    for (const Drawing& d : paths(some_paths(), room)) {
      EXPECT_LE(d.width, room.width);
      expect_well_kept(d);
      all += words(d);
    }
    expect_words(all, {"Where the tools go", "T11  end mill", "T19  end mill", "5 min 32 s", "quick move", "first cut",
                       "straight down", "round pin", "screw head", "scale 1:", "A picture is no proof"});
  }
}

TEST(Paths, AWayOnceMoreAddsNoInk) {
  PathsView once = some_paths(), twice = some_paths();
  for (ToolPath& t : twice.tools)
    for (std::size_t i = t.strokes.size(); i-- > 0;) t.strokes.push_back(t.strokes[i]);
  EXPECT_EQ(to_svg(paths(once, {186, 258})[0], stamp)->bytes, to_svg(paths(twice, {186, 258})[0], stamp)->bytes);
  EXPECT_LT(to_svg(paths(once, {186, 258})[0], stamp)->bytes.size(), 900000U);
}

TEST(Paths, WithoutToolsOrPlacesOpen) {
  PathsView v = some_paths();
  v.tools.clear();
  expect_words(words(paths(v, {186, 258})[0]), {"open"});
  v = some_paths();
  v.pallet.plate = {};  // a vise: no plate
  v.tools[0].strokes[0].points[3] = {NAN, 0};
  expect_well_kept(paths(v, {186, 258})[0]);
}

TEST(Engagement, NamesTheWorstLineAndEveryTool) {
  for (const double width : {186.0, 150.0}) {
    const Drawing d = engagement(some_engagement(), {width, 258});
    expect_well_kept(d);
    expect_words(words(d), {"Line 1212, T11", "metal taken, cm³/min", "arc in the metal", "minutes since", "T19",
                            "18.500 mm", "From the proof's"});
  }
  EngagementView v = some_engagement();
  v.total = NAN;
  expect_words(words(engagement(v, {186, 258})), {"open"});
  v = some_engagement();
  v.pieces.clear(), v.rows.clear(), v.bands.clear(), v.worst.clear();
  v.pieces.push_back({5, 6, {NAN}});
  expect_well_kept(engagement(v, {186, 258}));
}

TEST(Engagement, AShortPeakIsNeverLost) {
  // One piece of a hundredth of a second among an hour: taller than all else, so the ink changes and so does the axis.
  EngagementView v = some_engagement();
  v.rows.clear();
  const std::string before = words(engagement(v, {186, 258}));
  v.pieces.push_back({2000, 2000.01, {990, 990, 300}});
  const std::string after = words(engagement(v, {186, 258}));
  EXPECT_NE(before, after);
  expect_words(after, {"1000"});
}

TEST(Pools, SaysWhatStaysAndWhereItRuns) {
  for (const Room& room : {Room{186, 258}, Room{150, 258}}) {
    const Drawing d = pools(some_pools(), room);
    expect_well_kept(d);
    expect_words(words(d), {"What coolant stays", "The plate", "A part as it lies", "5.2 cm³", "12.0 mm deep", "8 cm³",
                            "over 10 mm", "runs this way", "trough", "scale 1:", "Flooded from"});
  }
  // Deeper is denser: the same pool told as deep has more ink.
  PoolsView v = some_pools();
  const std::size_t shallow = to_svg(pools(v, {186, 258}), stamp)->bytes.size();
  for (double& z : v.plans[1].depth.value) z = z > 0 ? 12 : 0;
  EXPECT_GT(to_svg(pools(v, {186, 258}), stamp)->bytes.size(), shallow);
  v.plans[0].outline = {};
  expect_words(words(pools(v, {186, 258})), {"open"});
  v.plans.clear();
  expect_words(words(pools(v, {186, 258})), {"open"});
}

TEST(ProgramPictures, SameBytes) {
  const auto all = [] {
    std::string out = to_svg(engagement(some_engagement(), {186, 258}), stamp)->bytes;
    out += to_svg(pools(some_pools(), {186, 258}), stamp)->bytes;
    for (const Drawing& d : paths(some_paths(), {186, 258})) out += to_svg(d, stamp)->bytes;
    return out;
  };
  EXPECT_TRUE(all() == all());
}

}  // namespace
}  // namespace fettle::drawings
