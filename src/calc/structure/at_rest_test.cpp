#include "calc/structure/at_rest.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"

namespace fettle::structure {
namespace {

AtRestInputs tried() {
  AtRestInputs in;
  in.plate = test::pallet();
  in.plate.columns = 20, in.plate.rows = 16;
  in.plate.plate.reliefs.push_back({false, false, 0, 0, 0.03, 0.2, 0, 0, 0.01});
  test::add_points_on_parts(in.plate, 8);
  in.tried = {{0, 0, 0.04, 0, 0}, {0.13, 0, 0.04, 0, 0}};
  return in;
}
std::vector<std::array<double, 9>> by_full_model(Inputs in) {
  in.modes = 0;
  in.want_error = false;
  const Result r = solve(in);
  EXPECT_TRUE(r.ok) << r.why;
  std::vector<std::array<double, 9>> out;
  for (const auto& p : r.points) out.push_back(maths::static_compliance(p));
  return out;
}
void near(const std::vector<std::array<double, 9>>& got, const std::vector<std::array<double, 9>>& want, double share) {
  ASSERT_EQ(got.size(), want.size());
  for (std::size_t p = 0; p < got.size(); ++p)
    for (std::size_t k = 0; k < 9; ++k)
      EXPECT_NEAR(got[p][k], want[p][k], share * (want[p][0] + want[p][4] + want[p][8])) << p << " " << k;
}

// The full model, factored anew for each, is the other method.
TEST(AtRest, OtherAnchorsAreASmallUpdate) {
  const AtRestInputs in = tried();
  const AtRest r = at_rest(in);
  ASSERT_TRUE(r.ok) << r.why;
  EXPECT_LT(r.residual, 1e-8);
  std::vector<double> up = r.up, side = r.side;
  near(give_with(r, up, side), by_full_model(in.plate), 1e-9);
  Inputs other = in.plate;
  for (std::size_t a = 0; a < 4; ++a) other.anchors[a].up = up[a] = 50e6, other.anchors[a].side = side[a] = 250e6;
  near(give_with(r, up, side), by_full_model(other), 2e-3);
  for (std::size_t a = 0; a < 4; ++a) other.anchors[a].up = up[a] = 600e6;
  near(give_with(r, up, side), by_full_model(other), 2e-3);
}

TEST(AtRest, OneMoreAnchorIsASmallUpdate) {
  const AtRestInputs in = tried();
  const AtRest r = at_rest(in);
  ASSERT_TRUE(r.ok) << r.why;
  for (std::size_t t = 0; t < 2; ++t) {
    std::vector<double> up = r.up, side = r.side;
    up[4 + t] = 150e6, side[4 + t] = 100e6;
    Inputs other = in.plate;
    other.anchors.push_back(in.tried[t]);
    other.anchors.back().up = 150e6, other.anchors.back().side = 100e6;
    near(give_with(r, up, side), by_full_model(other), 2e-3);
  }
}

TEST(AtRest, BadInputsAreRefused) {
  AtRestInputs in = tried();
  in.plate.plate.thickness = -1;
  EXPECT_FALSE(at_rest(in).ok);
  in = tried();
  in.plate.anchors.clear();
  EXPECT_FALSE(at_rest(in).ok) << "nothing holds it";
  in = tried();
  in.tried[0].x = 1;
  EXPECT_FALSE(at_rest(in).ok) << "off the plate";
  in = tried();
  in.plate.points.push_back({{2, 0, 0}, -1});
  EXPECT_FALSE(at_rest(in).ok) << "a point off the plate";
  const AtRest r = at_rest(tried());
  EXPECT_TRUE(give_with(r, {1e8}, r.side).empty()) << "not as many anchors";
  EXPECT_TRUE(give_with(r, r.up, {1e8}).empty());
  std::vector<double> none(6, 0.0), odd = r.up;
  EXPECT_TRUE(give_with(r, none, none).empty()) << "nothing would hold it";
  odd[0] = std::nan("");
  EXPECT_TRUE(give_with(r, odd, r.side).empty());
  EXPECT_TRUE(give_with(AtRest{}, {}, {}).empty());
}

}  // namespace
}  // namespace fettle::structure
