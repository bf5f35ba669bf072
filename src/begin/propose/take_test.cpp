// Runners-up that are taken by an answer: straps for vises.
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "begin/propose/facts.h"
#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/route.h"

namespace fettle::begin {
namespace {

const Kind& flange() {
  static const Kind* const k = [] {
    auto* out = new Kind;
    const auto step = solid::sample_solid("flange");
    EXPECT_TRUE(step.ok());
    EXPECT_TRUE(kind_from(*step, "flange", *out, true).ok());
    return out;
  }();
  return *k;
}
Scene scene_with(const Kind& k, const Answers& more) {
  Scene s = k.scene;
  for (const auto& [id, value] : more) s.answers[id] = value;
  return s;
}
std::size_t clamped_by(const Draft& d, const std::string& kind) {
  std::size_t n = 0;
  for (const plan::Operation& o : d.plan.operations)
    n += static_cast<std::size_t>(
        std::count_if(o.clamps.begin(), o.clamps.end(), [&](const plan::Clamp& c) { return c.kind.value == kind; }));
  return n;
}
bool offers(const Draft& d, const std::string& take) {
  return std::any_of(d.choices.begin(), d.choices.end(), [&](const Choice& c) {
    return std::any_of(c.others.begin(), c.others.end(), [&](const Alternative& a) { return a.take == take; });
  });
}

TEST(TakeStraps, StandWhereAViseWouldAndSayTheWayBack) {
  const Draft d = ordered(flange());
  const auto vises = routes(flange().scene, d, 1);
  ASSERT_EQ(vises.size(), 1U);
  ASSERT_TRUE(vises.front().clashes.empty());
  const std::size_t before = clamped_by(vises.front(), "vise");
  EXPECT_GT(before, 0U);
  EXPECT_TRUE(offers(vises.front(), "take.route.clamps=straps"));
  const auto straps = routes(scene_with(flange(), {{"take.route.clamps", "straps"}}), d, 1);
  ASSERT_EQ(straps.size(), 1U);
  ASSERT_TRUE(straps.front().clashes.empty()) << straps.front().clashes.front().words;
  EXPECT_LT(clamped_by(straps.front(), "vise"), before);  // the flange's rim has room for them with the hub up
  EXPECT_GT(clamped_by(straps.front(), "strap"), 0U);
  EXPECT_TRUE(offers(straps.front(), "take.route.clamps=as reckoned"));
}

TEST(TakeStraps, AViseStaysWhereNothingElseHolds) {
  Kind k = flange();
  k.scene.part = &k.model, k.scene.sight = nullptr;  // nobody looked what is reached from where: no strap has a place
  const auto all = routes(scene_with(k, {{"take.route.clamps", "straps"}}), ordered(k), 1);
  ASSERT_EQ(all.size(), 1U);
  ASSERT_TRUE(all.front().clashes.empty());
  EXPECT_GT(clamped_by(all.front(), "vise"), 0U);
  EXPECT_EQ(clamped_by(all.front(), "strap"), 0U);
}

}  // namespace
}  // namespace fettle::begin
