#include "calc/cutting/reckoners.h"

#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::cutting {
namespace {

TEST(CuttingReckoners, WorkedExamples) { EXPECT_GE(test::worked_examples(reckoners()), 13); }

TEST(CuttingReckoners, RefuseWhatCannotBe) {
  const auto list = reckoners();
  const auto finish = test::reckoner_named(list, "feed_finish");
  EXPECT_FALSE(test::ask(finish, {{"feed", "1 mm"}, {"corner_radius", "0.4 mm"}}).ok());
  const auto chip = test::reckoner_named(list, "chip_thickness");
  EXPECT_FALSE(test::ask(chip, {{"diameter", "10 mm"}, {"width", "11 mm"}, {"feed", "0.1 mm/tooth"}}).ok());
}

}  // namespace
}  // namespace fettle::cutting
