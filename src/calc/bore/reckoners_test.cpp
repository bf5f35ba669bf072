#include "calc/bore/reckoners.h"

#include <gtest/gtest.h>

#include <cmath>

#include "reckoner_examples.h"

namespace fettle::bore {
namespace {

using finding::Reckoner;
using test::Given;

Reckoner named(const std::string& name) { return test::reckoner_named(reckoners(), name); }
Outcome<finding::ReckonerAnswer> ask(const std::string& name, const test::Given& given) {
  return test::ask(named(name), given);
}

TEST(BoreReckoners, WorkedExamples) { test::worked_examples(reckoners()); }

TEST(BoreReckoners, TheAimFollowsTheGauge) {
  Given spool = {
      {"limits", "Ø22 H5"}, {"scatter", "2 µm"}, {"gauge", "0.6 µm"}, {"hone_cost", "2.05"}, {"scrap_cost", "20"}};
  const auto a = ask("bore_aim", spool);
  ASSERT_TRUE(a.ok()) << say(a.problem());
  const double steps = (a->number.at("aim") - 22e-3) / 0.5e-6;
  EXPECT_NEAR(steps, std::round(steps), 1e-6);
  EXPECT_LT(a->number.at("aim"), 22.0045e-3);
  spool.push_back({"resolution", "1 µm"});
  const double coarse = (ask("bore_aim", spool)->number.at("aim") - 22e-3) / 1e-6;
  EXPECT_NEAR(coarse, std::round(coarse), 1e-6);
}

TEST(BoreReckoners, VerdictsOfTheHone) {
  const auto verdict = [](const char* reading) {
    const auto a = ask("hone_off", {{"limits", "22.000..22.009 mm"}, {"reading", reading}, {"gauge", "0.6 µm"}});
    return a.ok() ? a->text.at("verdict") : say(a.problem());
  };
  EXPECT_EQ(verdict("22.0005 mm"), "hone");
  EXPECT_EQ(verdict("22.0030 mm"), "pass");
  EXPECT_EQ(verdict("22.0085 mm"), "gauge again");
  EXPECT_EQ(verdict("22.0100 mm"), "too large");
}

TEST(BoreReckoners, ListsWithoutUnitOrNumbersAreRefused) {
  for (const char* text : {"1 2 3 4 5 6 7", "1 2 3 x 5 6 µm", "µm", "1 2 3 4 5 6 N", "1,234 2 3 4 5 6 7 µm"})
    EXPECT_FALSE(ask("run_of_readings", {{"readings", text}}).ok()) << text;
  EXPECT_TRUE(ask("run_of_readings", {{"readings", "1 2 3 1 2 1 µm"}}).ok());
  EXPECT_FALSE(ask("run_of_readings", {{"readings", "1 2 3 1 2 1 µm"}, {"reset_after", "6"}}).ok());
  for (const char* text : {"ring", "ring 5", "ring -0.3 µm", "ring 0.3 µm dof", "ring 0.3 µm dof 0", ";"})
    EXPECT_FALSE(ask("gauge_budget", {{"contributions", text}}).ok()) << text;
}

}  // namespace
}  // namespace fettle::bore
