// Pins among the locators of a fixture: what a relieved one leaves free, whichever way the pair lies, and what their
// play does.
#include "study/fixture_pins.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "study/demo_for_tests.h"
#include "study/ledger_model.h"

namespace fettle::study {
namespace {

using frame::Vec3;

const char* const on_skin = R"([[operation.locator]]
kind = "stop"
on = "S"
at = ["-40, -30, 15 mm", "40, -30, 15 mm"]
[[operation.locator]]
kind = "stop"
on = "E"
at = "-50, 0, 15 mm"
)";

/// The two sides across from those.
const char* const on_other_skin = R"([[operation.locator]]
kind = "stop"
on = "N"
at = ["-40, 30, 15 mm", "40, 30, 15 mm"]
[[operation.locator]]
kind = "stop"
on = "W"
at = "50, 0, 15 mm"
)";

/// A block 100 x 60 x 30 with two holes for pins at `holes`, and a bore made in a second clamping that `locators` hold.
std::string plan_of(const std::string& holes, const std::string& locators) {
  return R"(fettle = 1
[plan]
name = "block"
[part]
material = "EN-GJL-250"
size = "100 x 60 x 30 mm"
[casting]
tolerance_grade = 10
skin = "0.8 mm"
[[casting.size]]
id = "thickness"
kind = "outside"
between = ["A", "T"]
raw = "36 mm"
[[feature]]
id = "A"
kind = "face"
at = "0, 0, 0 mm"
normal = "-z"
size = "100 x 60 mm"
cast = "skin"
datum = "A"
[[feature]]
id = "T"
kind = "face"
at = "0, 0, 30 mm"
normal = "+z"
size = "100 x 60 mm"
cast = "skin"
[[feature]]
id = "E"
kind = "face"
at = "-50, 0, 15 mm"
normal = "-x"
size = "60 x 30 mm"
cast = "skin"
[[feature]]
id = "S"
kind = "face"
at = "0, -30, 15 mm"
normal = "-y"
size = "100 x 30 mm"
cast = "skin"
[[feature]]
id = "H"
kind = "hole"
at = [)" +
         holes + R"(]
normal = "-z"
diameter = "8 H7"
from = "0 mm"
to = "12 mm"
cast = "solid"
datum = "B C"
[[feature]]
id = "BORE"
kind = "bore"
at = "20, 10, 30 mm"
normal = "+z"
diameter = "20 H7"
from = "10 mm"
to = "30 mm"
cast = "solid"
[[feature]]
id = "W"
kind = "face"
at = "50, 0, 15 mm"
normal = "+x"
size = "60 x 30 mm"
cast = "skin"
[[feature]]
id = "N"
kind = "face"
at = "0, 30, 15 mm"
normal = "+y"
size = "100 x 30 mm"
cast = "skin"
[[requirement]]
id = "BORE.position"
feature = "BORE"
kind = "position"
limits = "<= 0.12 mm"
datums = ["A", "B", "C"]
[[operation]]
id = "OP10"
kind = "vise"
up = "-z"
makes = ["A", "H"]
[[operation.locator]]
kind = "rest"
on = "T"
at = ["-40, -20, 33 mm", "40, -20, 33 mm", "0, 20, 33 mm"]
)" + std::string(on_skin) +
         R"([[operation]]
id = "OP20"
kind = "fixture"
up = "+z"
makes = ["T", "BORE"]
[[operation.locator]]
kind = "rest"
on = "A"
at = ["-40, -20, 0 mm", "40, -20, 0 mm", "0, 20, 0 mm"]
)" + locators;
}
const char* const on_pins = R"([[operation.locator]]
kind = "round pin"
on = "H@1"
[[operation.locator]]
kind = "relieved pin"
on = "H@2"
)";
const char* const along_x = R"("-40, -20, 0 mm", "40, -20, 0 mm")";
const char* const along_y = R"("-40, -20, 0 mm", "-40, 20, 0 mm")";
const char* const leaning = R"("-40, -20, 0 mm", "40, 20, 0 mm")";

demo::Run studied(const std::string& holes, const std::string& locators) {
  Options only = demo::quick();
  return demo::run(plan_of(holes, locators), only);
}

TEST(FixturePins, ARelievedPinStopsAcrossTheLineOfPinsWhicheverWayThatLies) {
  for (const char* holes : {along_x, along_y, leaning}) {
    const auto p = demo::read(plan_of(holes, on_pins));
    ASSERT_TRUE(p.ok()) << say(p.problem());
    const plan::Operation& o = p->operations[1];
    const Vec3 line = frame::unit(p->features[4].at.value[1] - p->features[4].at.value[0]);
    const auto stopped = stopped_by(*p, o, o.locators[2]);
    ASSERT_EQ(stopped.size(), 1U);
    EXPECT_NEAR(frame::dot(stopped[0], line), 0, 1e-12) << holes;
    EXPECT_NEAR(stopped[0].z, 0, 1e-12);
    EXPECT_EQ(stopped_by(*p, o, o.locators[1]).size(), 2U);
    const finding::Finding held = studied(holes, on_pins).at("op20.-.held_in_one_place");
    EXPECT_EQ(held.state, finding::State::inside) << holes << ": " << held.sentence;
    EXPECT_EQ(held.value, 6) << holes;
  }
}

TEST(FixturePins, OneRelievedPinAloneLeavesItsPlaceFree) {
  const std::string alone = "[[operation.locator]]\nkind = \"relieved pin\"\non = \"H@2\"\n";
  const finding::Finding held = studied(along_x, alone).at("op20.-.held_in_one_place");
  EXPECT_EQ(held.state, finding::State::outside);
  EXPECT_EQ(held.value, 4);
}

/// Worst that play alone does to a point, holes and pins at their means, by trying places of the round hole's centre
/// within its clearance and what crown and corners of the land leave the other one there.
double worst_of_play(const maths::PinPair& p, double along, double across) {
  double most = 0;
  const double c = 0.5 * (p.round_hole - p.round_pin), R = 0.5 * p.relieved_hole, r = 0.5 * p.land,
               w = 0.5 * p.land_width;
  for (int k = 0; k <= 20; ++k)
    for (int i = 0; i < 720; ++i) {
      const double x = 0.05 * k * c * std::cos(i * M_PI / 360), y = 0.05 * k * c * std::sin(i * M_PI / 360);
      const double crown = std::sqrt(R * R - x * x) - r,
                   corner = std::sqrt(R * R - (w + std::fabs(x)) * (w + std::fabs(x))) - std::sqrt(r * r - w * w);
      for (const double v : {-std::min(crown, corner), std::min(crown, corner)}) {
        const double turn = (v - y) / p.part_span;
        most = std::max(most, std::hypot(x - turn * across, y + turn * along));
      }
    }
  return most;
}

/// Share of the variance that raw surfaces have.
double raw_share(const tolerance::Linear& linear) {
  double all = 0;
  for (const tolerance::ContributorShare& c : linear.contributors)
    if (c.name.find("raw") != std::string::npos) all += c.share;
  return all;
}
LedgerModel model_of(const std::string& holes, const std::string& locators) {
  const auto p = demo::read(plan_of(holes, locators));
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  return p.ok() ? ledger_model(*p, {}) : LedgerModel{};
}

TEST(FixturePins, OnStopsARawSideHasAShareUnlessBothClampingsStopThere) {
  const auto share = [](const char* locators) {
    const auto ledger = tolerance::build(model_of(along_x, locators).route);
    EXPECT_TRUE(ledger.ok()) << (ledger.ok() ? "" : say(ledger.problem()));
    return ledger.ok() ? raw_share(tolerance::linear_of(*ledger, 0)) : -1;
  };
  EXPECT_GT(share(on_other_skin), 0.5);
  EXPECT_NEAR(share(on_skin), 0, 1e-12);
}

TEST(FixturePins, TheLedgerKnowsTheirPlayAndNoRawSide) {
  for (const char* holes : {along_x, along_y, leaning}) {
    const auto p = demo::read(plan_of(holes, on_pins));
    ASSERT_TRUE(p.ok()) << say(p.problem());
    const LedgerModel m = ledger_model(*p, {});
    ASSERT_EQ(m.route.operations.size(), 2U);
    const tolerance::Pins& pins = m.route.operations[1].pins;
    ASSERT_TRUE(pins.there);
    const Vec3 a = p->features[4].at.value[0], b = p->features[4].at.value[1];
    EXPECT_NEAR(pins.pair.part_span, frame::norm(b - a), 1e-12);
    // 8 H7 is 8.000 to 8.015: a hundredth below, three hundredths below, a fifth wide. Rests alone hold the rest.
    EXPECT_NEAR(pins.pair.round_pin, 7.990e-3, 1e-9);
    EXPECT_NEAR(pins.pair.land, 7.970e-3, 1e-9);
    EXPECT_NEAR(pins.pair.land_width, 0.2 * 8.0075e-3, 1e-9);
    EXPECT_EQ(m.route.operations[1].contacts.size(), 3U);
    const auto ledger = tolerance::build(m.route);
    ASSERT_TRUE(ledger.ok()) << say(ledger.problem());
    const tolerance::Linear with = tolerance::linear_of(*ledger, 0);
    EXPECT_LT(raw_share(with), 1e-12);
    // The holes lie as the first clamping cut them; what play adds at its worst, by hand.
    const Vec3 line = frame::unit(b - a), d = Vec3{0.02, 0.01, 0} - Vec3{a.x, a.y, 0};
    const double along = frame::dot(d, line), across = -line.y * d.x + line.x * d.y;
    const double play = worst_of_play(pins.pair, along, across);
    EXPECT_GE(with.worst_high, 2 * play * (1 - 1e-3)) << holes;  // a zone is twice the offset
    tolerance::Route still = m.route;
    for (tolerance::Contributor& c : still.contributors) c.mean = c.s = c.half_width = c.worst = 0;
    const auto alone = tolerance::build(still);
    ASSERT_TRUE(alone.ok());
    EXPECT_NEAR(tolerance::linear_of(*alone, 0).worst_high, 2 * play, 0.005 * 2 * play) << holes;
  }
}

TEST(FixturePins, OnSkinTheSameBoreIsLostAndOnPinsItIsKept) {
  const demo::Run pins = studied(along_x, on_pins), skin = studied(along_x, on_skin);
  EXPECT_NE(pins.at("op20.BORE.position").state, finding::State::outside) << pins.at("op20.BORE.position").sentence;
  EXPECT_GT(skin.at("op20.BORE.position").value, 10 * pins.at("op20.BORE.position").value);
  // What nobody said of the pins is an assumption, and flips with a band.
  bool assumed = false;
  for (const finding::Assumption& a : pins.at("op20.BORE.position").assumptions)
    assumed = assumed || a.name.find("fixture's pins are below their holes") != std::string::npos;
  EXPECT_TRUE(assumed);
}

/// The two pins of `on_pins`, with more said of each.
std::string pins_with(const std::string& round, const std::string& relieved) {
  return demo::edited(on_pins,
                      {{"on = \"H@1\"\n", "on = \"H@1\"\n" + round}, {"on = \"H@2\"\n", "on = \"H@2\"\n" + relieved}});
}
const char* const round_said = "diameter = \"8 g6\"\n";
const char* const relieved_said = "land = \"7.970..7.978 mm\"\nland_width = \"1.6 mm\"\n";
std::string with_span(const std::string& text) {
  return demo::edited(
      text, {{"makes = [\"T\", \"BORE\"]\n", "makes = [\"T\", \"BORE\"]\npin_span = \"80.002 ± 0.006 mm\"\n"}});
}
/// Keys of OP20's pins among what a finding or a model assumes, in order.
template <class Assumed>
std::string keys_of(const std::vector<Assumed>& assumed) {
  std::vector<std::string> keys;
  const std::string of = "operation.OP20.";
  for (const auto& a : assumed)
    if (a.key.rfind(of, 0) == 0) keys.push_back(a.key.substr(of.size()));
  std::sort(keys.begin(), keys.end());
  return base::join(keys, ", ");
}
const char* const bore = "op20.BORE.position";

TEST(FixturePins, WhatIsNotSaidIsAssumedAndStandsInTheFindingWithTheKeyThatReplacesIt) {
  const std::string all = "locator.diameter, locator.diameter, locator.land, locator.land_width, pin_span";
  EXPECT_EQ(keys_of(model_of(along_x, on_pins).assumed), all);
  // A hundredth of the variance is what it takes to stand there; the distance of the pins has less.
  // The limit is close, so that the share outside is not nothing.
  const finding::Finding f =
      demo::run(demo::edited(plan_of(along_x, on_pins), {{"<= 0.12 mm", "<= 0.05 mm"}}), demo::quick()).at(bore);
  EXPECT_EQ(keys_of(f.assumptions), "locator.diameter, locator.diameter, locator.land, locator.land_width");
  for (const finding::Assumption& a : f.assumptions)
    if (a.key.rfind("operation.OP20.locator", 0) == 0) {
      EXPECT_NE(a.margin_at_low, a.margin_at_high) << a.name << ": it moves the finding";
      EXPECT_FALSE(a.source.empty() || a.replaced_by.empty()) << a.name;
    }
  EXPECT_EQ(keys_of(model_of(along_x, pins_with(round_said, "")).assumed),
            "locator.diameter, locator.diameter, locator.land, locator.land_width, pin_span");
  EXPECT_EQ(keys_of(model_of(along_x, pins_with(round_said, relieved_said)).assumed), "pin_span");
}

TEST(FixturePins, WhatIsSaidTakesTheAssumptionsPlace) {
  const std::string said = with_span(plan_of(along_x, pins_with(round_said, relieved_said)));
  const auto p = demo::read(said);
  ASSERT_TRUE(p.ok()) << say(p.problem());
  const LedgerModel m = ledger_model(*p, {});
  EXPECT_EQ(keys_of(m.assumed), "");
  const maths::PinPair& pair = m.route.operations[1].pins.pair;
  EXPECT_NEAR(pair.round_pin, 7.9905e-3, 1e-9);  // 8 g6 is 7.986 to 7.995
  EXPECT_NEAR(pair.land, 7.974e-3, 1e-9);
  EXPECT_NEAR(pair.land_width, 1.6e-3, 1e-12);
  EXPECT_NEAR(pair.pallet_span, 80.002e-3, 1e-12);
  EXPECT_NEAR(pair.part_span, 80e-3, 1e-12);
  std::map<std::string, double> sixths;
  for (const tolerance::Contributor& c : m.route.contributors)
    if (c.key.rfind("operation.OP20.", 0) == 0) {
      sixths[c.key] = 6 * c.s;
      EXPECT_NEAR(c.worst, 3 * c.s, 1e-12) << c.name;
    }
  ASSERT_EQ(sixths.size(), 3U);
  EXPECT_NEAR(sixths["operation.OP20.locator.diameter"], 9e-6, 1e-10);
  EXPECT_NEAR(sixths["operation.OP20.locator.land"], 8e-6, 1e-10);
  EXPECT_NEAR(sixths["operation.OP20.pin_span"], 12e-6, 1e-10);
  EXPECT_EQ(keys_of(demo::run(said).at(bore).assumptions), "");
  // A band of the plan's own is an assumption still.
  const std::string banded = "land = \"7.970..7.978 mm\"\nland_width = \"1.6 mm (1.2..2.0 mm)\"\n";
  EXPECT_EQ(keys_of(model_of(along_x, pins_with(round_said, banded)).assumed), "locator.land_width, pin_span");
}

void open_for(const std::string& text, const std::string& what) {
  const finding::Finding f = demo::run(text).at(bore);
  EXPECT_EQ(f.state, finding::State::open) << f.sentence;
  EXPECT_NE(base::join(f.missing, "; ").find(what), std::string::npos) << base::join(f.missing, "; ");
}
TEST(FixturePins, WhatCannotBeWorkedOutIsOpenAndNotPinsWithoutPlay) {
  open_for(demo::edited(plan_of(along_x, on_pins), {{"diameter = \"8 H7\"", "diameter = \"min 8 mm\""}}),
           "feature H.diameter");
  open_for(plan_of(along_x, pins_with("diameter = \"max 8 mm\"\n", "")),
           "operation.OP20.locator.diameter: both limits");
  open_for(plan_of(along_x, pins_with("diameter = \"8.09..8.11 mm\"\n", "")), "pins that go into their holes");
  open_for(demo::edited(with_span(plan_of(along_x, on_pins)), {{"80.002", "81"}}), "pins that go into their holes");
  const std::string three = R"("-40, -20, 0 mm", "40, -20, 0 mm", "40, 20, 0 mm")";
  for (const char* kind : {"round pin", "relieved pin"})
    open_for(demo::edited(plan_of(three, std::string(on_pins) + "[[operation.locator]]\nkind = \"" + kind +
                                             "\"\non = \"H@3\"\n"),
                          {{"datum = \"B C\"", "datum = \"B C D\""}}),
             "another " + std::string(kind) + " in H@3");
  open_for(plan_of(along_x, demo::edited(on_pins, {{"on = \"H@2\"", "on = \"H@1\""}})), "apart from each other");
}

TEST(FixturePins, OneRoundPinAloneHasItsPlayToo) {
  // In a hole of 8.0075 a pin of 7.990: 8.75 µm either way, along X and along Y.
  const std::string alone = "[[operation.locator]]\nkind = \"round pin\"\non = \"H@1\"\n",
                    stop = "[[operation.locator]]\nkind = \"stop\"\non = \"S\"\nat = \"40, -30, 15 mm\"\n";
  const auto play = [](const LedgerModel& m) {
    std::vector<double> out;
    for (const tolerance::Contributor& c : m.route.contributors)
      if (c.name.rfind("play of the round pin", 0) == 0) out.push_back(c.half_width);
    return out;
  };
  LedgerModel m = model_of(along_x, alone + stop);
  ASSERT_EQ(play(m).size(), 2U);
  for (const double half : play(m)) EXPECT_NEAR(half, 8.75e-6, 1e-10);
  EXPECT_EQ(keys_of(m.assumed), "locator.diameter");
  for (const AssumedScatter& a : m.assumed)
    if (a.key == "operation.OP20.locator.diameter") a.apply(m.route.contributors, 4e-6);
  for (const double half : play(m)) EXPECT_NEAR(half, 5.75e-6, 1e-10);
  const LedgerModel said = model_of(along_x, alone + "diameter = \"8 g6\"\n" + stop);
  for (const double half : play(said)) EXPECT_NEAR(half, 8.5e-6, 1e-10);
  EXPECT_EQ(keys_of(said.assumed), "");
}

}  // namespace
}  // namespace fettle::study
