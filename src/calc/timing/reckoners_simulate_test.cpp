#include <gtest/gtest.h>

#include "base/text.h"
#include "calc/timing/reckoners.h"
#include "reckoner_examples.h"

namespace {

using namespace fettle;
using namespace fettle::timing;
using test::Given;

finding::ReckonerAnswer ask(const std::string& name, const Given& given) {
  const auto a = test::ask(test::reckoner_named(simulation_reckoners(), name), given);
  if (a.ok()) return *a;
  ADD_FAILURE() << say(a.problem());
  return {};
}

TEST(SimulateReckoners, WorkedExamplesAgree) { test::worked_examples(simulation_reckoners()); }

TEST(SimulateReckoners, ScatterCostsAndIsSaid) {
  const Given given{{"spindle", "7 min"}, {"load", "7 min"}, {"swap", "0.5 min"}, {"parts", "1"}, {"scatter", "30 %"}};
  const finding::ReckonerAnswer a = ask("cell", given);
  // 60/8.3169 an hour: mean of the later of a constant and a lognormal time, and the swap.
  EXPECT_NEAR(a.number.at("rate") * 3600, 60 / 8.31686, 0.1);
  EXPECT_LT(a.number.at("rate_low"), a.number.at("rate"));
  EXPECT_GT(a.number.at("rate_high"), a.number.at("rate"));
  EXPECT_NEAR(a.number.at("lost_to_scatter"), 1 - 7.5 / 8.31686, 0.01);
  EXPECT_EQ(a.notes.size(), 3u);
  EXPECT_EQ(ask("cell", given).number, a.number) << "the same seed";
}

TEST(SimulateReckoners, MachinesThatShareAnOperatorWait) {
  Given given{{"spindle", "12 min"}, {"load", "7 min"}, {"swap", "0.5 min"},
              {"parts", "4"},        {"machines", "3"}, {"scatter", "0 %"}};
  const finding::ReckonerAnswer a = ask("cell", given);
  EXPECT_NEAR(a.number.at("rate") * 3600, 4 * 60 / 7.0, 1e-6) << "the operator is the limit";
  EXPECT_NEAR(a.number.at("operator_use"), 1, 1e-9);
  EXPECT_GT(a.number.at("idle_waiting"), 0.05);
  given.emplace_back("operators", "3");
  const finding::ReckonerAnswer each = ask("cell", given);
  EXPECT_NEAR(each.number.at("rate") * 3600, 3 * 19.2, 1e-6);
  EXPECT_EQ(each.number.at("idle_waiting"), 0);
}

TEST(SimulateReckoners, UnattendedCarriesItsCaution) {
  const finding::ReckonerAnswer a = ask("unattended", {{"life", "60"},
                                                       {"planned", "33"},
                                                       {"used", "20"},
                                                       {"loaded", "16"},
                                                       {"per_pallet", "4"},
                                                       {"tools", "3"},
                                                       {"part_time", "7 min"}});
  ASSERT_EQ(a.cautions.size(), 1u);
  EXPECT_LT(a.number.at("may_run"), 16);
  EXPECT_NE(a.notes[0].find("new edges"), std::string::npos);
}

}  // namespace
