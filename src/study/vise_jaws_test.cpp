// Jaws press where they are, and a vise opens as far as it opens.
#include "study/vise_jaws.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::Finding;
using finding::State;

constexpr double inch = 0.0254;

plan::Plan bracket(const std::vector<demo::Edit>& edits = {}) {
  auto p = demo::read(demo::edited(demo::text_of("../01-bracket-inch.toml"), edits), "../01-bracket-inch.toml");
  EXPECT_TRUE(p.ok());
  return p.ok() ? *p : plan::Plan{};
}
plan::Plan with_jaws(const std::string& width) {
  return bracket({{"up = \"-z\"\nparts = 1\n", "up = \"-z\"\nparts = 1\njaw_width = \"" + width + "\"\n"}});
}
Study holding(const plan::Plan& p) {
  Options o = demo::quick();
  o.only = {"holding"};
  Memo memo;
  auto s = run(p, load_data(p), o, memo);
  EXPECT_TRUE(s.ok());
  return s.ok() ? *s : Study{};
}
const Finding* find(const Study& s, const std::string& id) {
  const auto it = std::find_if(s.findings.begin(), s.findings.end(), [&](const Finding& f) { return f.id == id; });
  return it != s.findings.end() ? &*it : nullptr;
}
bool noticed(const Study& s, const std::string& words) {
  return std::any_of(s.notices.begin(), s.notices.end(),
                     [&](const std::string& n) { return n.find(words) != std::string::npos; });
}
const plan::Locator& jaw(const plan::Operation& o) {
  return *std::find_if(o.locators.begin(), o.locators.end(), [](const auto& l) { return l.kind.value == "jaw"; });
}
/// A vise of the shop, so wide and opening so far, m.
plan::Thing vise(double width, double opens) {
  plan::Thing t;
  t.id.value = "vise", t.id.origin = plan::Origin::given;
  t.kind.value = "vise", t.kind.origin = plan::Origin::given;
  if (opens > 0) t.size.value = {width, 50e-3, opens}, t.size.origin = plan::Origin::given;
  return t;
}

TEST(ViseJaws, NothingPressesBeyondTheJaw) {
  const plan::Plan wide = with_jaws("4.5 in"), narrow = with_jaws("3 in");
  const auto in = touches(wide, wide.operations[0], jaw(wide.operations[0]));
  ASSERT_EQ(in.size(), 2U);
  EXPECT_NEAR(in[1].x, 2.2 * inch, 1e-9);  // 4.4 in apart: a jaw of 4.5 in covers them
  const auto out = touches(narrow, narrow.operations[0], jaw(narrow.operations[0]));
  ASSERT_EQ(out.size(), 2U);
  EXPECT_NEAR(out[0].x, -1.5 * inch, 1e-9);
  EXPECT_NEAR(out[1].x, 1.5 * inch, 1e-9);
  EXPECT_NEAR(out[1].z, 0.75 * inch, 1e-9);
  const Study a = holding(wide), b = holding(narrow);
  EXPECT_FALSE(noticed(a, "beyond jaws"));
  EXPECT_TRUE(noticed(b, "operation OP10: points of its jaws stand up to 0.7000 in beyond jaws 3.0000 in wide"));
}

TEST(ViseJaws, APartHeldByANarrowJawTurnsSooner) {
  double factor[2] = {0, 0};
  for (int k = 0; k < 2; ++k) {
    plan::Plan p = with_jaws(k == 0 ? "4.5 in" : "1 in");
    for (plan::Clamp& c : p.operations[0].clamps) {  // what presses, said as points as well
      c.at.value = {{-2.2 * inch, 2.085 * inch, 0.75 * inch}, {2.2 * inch, 2.085 * inch, 0.75 * inch}};
      c.at.origin = plan::Origin::given;
    }
    double least = INFINITY;
    for (const Finding& f : holding(p).findings)
      if (f.operation == "OP10" && f.question == "holds") least = std::min(least, f.value);
    factor[k] = least;
  }
  EXPECT_TRUE(std::isfinite(factor[0]));
  EXPECT_LT(factor[1], 0.9 * factor[0]);
}

TEST(ViseJaws, TwoVisesSideBySideAreTwoClamps) {
  plan::Plan p = with_jaws("1.5 in");
  plan::Operation& o = p.operations[0];
  o.clamps.push_back(o.clamps[0]);
  for (int k = 0; k < 2; ++k) {
    o.clamps[static_cast<std::size_t>(k)].at.value = {{(k == 0 ? -2 : 2) * inch, 2.085 * inch, 0.75 * inch}};
    o.clamps[static_cast<std::size_t>(k)].at.origin = plan::Origin::given;
  }
  const auto at = touches(p, o, jaw(o));
  EXPECT_NEAR(at[0].x, -2.2 * inch, 1e-9);
  EXPECT_NEAR(at[1].x, 2.2 * inch, 1e-9);
}

TEST(ViseJaws, PointsThatOneJawCoversSayWhereItStands) {
  plan::Plan p = with_jaws("2 in");
  plan::Locator& l = const_cast<plan::Locator&>(jaw(p.operations[0]));
  for (frame::Vec3& at : l.at.value) at.x = at.x > 0 ? 2.5 * inch : 1 * inch;
  const auto at = touches(p, p.operations[0], l);
  EXPECT_NEAR(at[0].x, 1 * inch, 1e-9);
  EXPECT_NEAR(at[1].x, 2.5 * inch, 1e-9);
}

TEST(ViseJaws, ARawCastingThatTheViseDoesNotTakeIsOutside) {
  plan::Plan p = bracket();
  EXPECT_EQ(find(holding(p), "op10.vise.opens"), nullptr);  // the shop file names no vise
  p.shop.things.push_back(vise(6 * inch, 4.2 * inch));
  const Study wide = holding(p);
  const Finding* f = find(wide, "op10.vise.opens");
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->state, State::inside) << f->sentence;
  EXPECT_NEAR(f->value, 4.17 * inch, 1e-6);  // by hand: 4.00 in finished, ordered 4.17 in raw
  p.shop.things.back() = vise(6 * inch, 4.1 * inch);
  const Study narrow = holding(p);
  f = find(narrow, "op10.vise.opens");
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->state, State::outside) << f->sentence;
  p.casting.sizes.clear();  // nobody says how wide it is raw
  EXPECT_EQ(find(holding(p), "op10.vise.opens")->state, State::open);
}

TEST(ViseJaws, AViseThatIsNamedAndOfWhichNobodySaysTheOpeningIsOpen) {
  plan::Plan p = bracket();
  p.shop.things.push_back(vise(0, 0));
  EXPECT_EQ(find(holding(p), "op10.vise.opens"), nullptr);
  p.operations[0].clamps[0].thing.value = "vise", p.operations[0].clamps[0].thing.origin = plan::Origin::given;
  const Study s = holding(p);
  const Finding* f = find(s, "op10.vise.opens");
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->state, State::open);
  EXPECT_EQ(f->missing[0], "thing.vise.size: width and height of its jaws, how far it opens");
}

TEST(ViseJaws, PartsInSeriesFillTheVise) {
  auto p = demo::read(demo::text_of("plan-0.toml"));
  ASSERT_TRUE(p.ok());
  const Study five = holding(*p);
  const Finding* f = find(five, "op10a.vise.opens");
  ASSERT_NE(f, nullptr);
  EXPECT_NEAR(f->value, 5 * 36e-3, 1e-6);
  for (plan::Operation& o : p->operations)
    if (o.id.value == "OP10a") o.parts.value = 6;
  const Study six = holding(*p);
  EXPECT_EQ(find(six, "op10a.vise.opens")->state, State::outside);
}

}  // namespace
}  // namespace fettle::study
