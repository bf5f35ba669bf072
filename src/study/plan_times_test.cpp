// Which gauge looks at which feature, and what its time comes to, in whatever order the requirements stand.
#include "study/plan_times.h"

#include <algorithm>

#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

constexpr double minute = 60;

/// Time by hand after the demo's operations: the air gauge names F4 and takes half a minute, the other gauge names
/// nothing and takes two.
struct Gauging : testing::Test {
  plan::Plan plan;
  void SetUp() override {
    auto p = demo::read(demo::text_of("plan-0.toml"));
    ASSERT_TRUE(p.ok());
    plan = std::move(p.value());
    plan::Gauge& cmm = plan.shop.gauges[1];
    ASSERT_EQ(plan.shop.gauges[0].id.value, "air");
    ASSERT_EQ(cmm.id.value, "cmm");
    cmm.time.origin = plan::Origin::given;
    cmm.time.si = 2 * minute;
  }
  void send(const std::string& requirement, const std::string& gauge) {
    for (plan::Requirement& r : plan.requirements)
      if (r.id.value == requirement) {
        r.gauge.origin = plan::Origin::given;
        r.gauge.value = gauge;
        return;
      }
    FAIL() << requirement;
  }
  void send_all_of_f4(const std::string& gauge) {
    for (const plan::Requirement& r : plan.requirements)
      if (r.feature.value == "F4") send(r.id.value, gauge);
  }
  /// Of all operations together, minutes a part; the same with the requirements the other way round.
  double by_hand() {
    const double ahead = sum();
    std::reverse(plan.requirements.begin(), plan.requirements.end());
    EXPECT_EQ(sum(), ahead) << "the order of the requirements";
    std::reverse(plan.requirements.begin(), plan.requirements.end());
    return ahead / minute;
  }

 private:
  double sum() const {
    double all = 0;
    for (const OperationTime& t : plan_times(plan).operations) all += t.gauging_per_part;
    return all;
  }
};

TEST_F(Gauging, AGaugeTakesItsTimeForWhatItNames) { EXPECT_NEAR(by_hand(), 0.5, 1e-12); }
TEST_F(Gauging, TwoRequirementsOfOneFeatureGoToTwoGauges) {
  send("F4.size", "air");
  send("F4.cylindrical", "cmm");
  EXPECT_NEAR(by_hand(), 2.5, 1e-12);
  send_all_of_f4("cmm");
  send("F4.square", "air");  // sent there by name, once
  EXPECT_NEAR(by_hand(), 2.5, 1e-12);
}
TEST_F(Gauging, WhatGoesToAnotherLeavesTheGaugeThatNamesTheFeatureWithTheRest) {
  send("F4.size", "cmm");  // finish and form are asked of the air gauge still
  EXPECT_NEAR(by_hand(), 2.5, 1e-12);
}
TEST_F(Gauging, WhereAllGoesToAnotherTheGaugeThatNamesTheFeatureTakesNoTime) {
  send_all_of_f4("cmm");
  EXPECT_NEAR(by_hand(), 2, 1e-12);
}

}  // namespace
}  // namespace fettle::study
