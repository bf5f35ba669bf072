#include "ref/reckoners.h"

#include <gtest/gtest.h>

#include "base/text.h"
#include "reckoner_examples.h"

using namespace fettle;
using finding::Reckoner;

namespace {
Reckoner named(const std::string& name) { return test::reckoner_named(ref::reckoners(), name); }
Outcome<finding::ReckonerAnswer> ask(const std::string& name, const test::Given& given) {
  return test::ask(named(name), given);
}
}  // namespace

TEST(RefReckoners, WorkedExamples) { EXPECT_GT(test::worked_examples(ref::reckoners()), 25); }

TEST(RefReckoners, SentencesReadWell) {
  EXPECT_EQ(ask("fit", {{"size", "22 H5"}})->sentence, "22 H5: 22.0000 mm to 22.0090 mm, 9.0 µm wide.");
  EXPECT_EQ(ask("fit", {{"size", "8 g6"}})->notes.front(), "deviations -5/-14 µm");
  EXPECT_EQ(ask("mate", {{"hole", "8 H7"}, {"shaft", "8 g6"}})->sentence,
            "Always loose: 5.0 µm to 0.0290 mm of clearance.");
  EXPECT_EQ(ask("mate", {{"hole", "12 H7"}, {"shaft", "12 p6"}})->text.at("type"), "interference");
  EXPECT_EQ(ask("thread", {{"thread", "M8"}})->sentence,
            "M8x1.25: drill 6.8 (6.800 mm), a thread of 73.9 %; stress area 36.61 mm².");
  EXPECT_EQ(ask("thread", {{"thread", "#5-40 UNC"}})->text.at("clearance"), "not in the table");
  EXPECT_FALSE(ask("screw", {{"thread", "M8"}, {"class", "12.9"}})->cautions.empty());
  EXPECT_EQ(ask("convert", {{"value", "20 °C"}, {"to", "°F"}})->notes.size(), 1U)
      << "a temperature and its difference differ";
  EXPECT_EQ(ask("convert", {{"value", "60 1/min"}, {"to", "Hz"}})->text.at("answer"), "1 Hz");
  EXPECT_EQ(ask("convert", {{"value", "35 ft-lb"}, {"to", "Nm"}})->sentence, "35 ft-lb = 47.45362819 N·m.");
  EXPECT_EQ(ask("convert", {{"value", "2000 rpm"}, {"to", "1/min"}})->text.at("answer"), "2000 rpm");
}

TEST(RefReckoners, RefuseBadInputs) {
  EXPECT_FALSE(ask("fit", {{"size", "600 H7"}}).ok());
  EXPECT_FALSE(ask("fit", {{"size", "12"}}).ok());
  EXPECT_FALSE(ask("fit", {{"size", "<= 12 mm"}}).ok());
  EXPECT_FALSE(ask("mate", {{"hole", "12 H7"}, {"shaft", "12 t6"}}).ok());
  EXPECT_FALSE(ask("mate", {{"hole", "12 H7"}}).ok());
  EXPECT_FALSE(ask("thread", {{"thread", "M9"}}).ok());
  EXPECT_EQ(ask("thread", {{"thread", "M8x1.2"}}).problem().nearest, "M8x1.25");
  EXPECT_FALSE(ask("screw", {{"thread", "M8"}, {"class", "13.9"}}).ok());
  EXPECT_FALSE(ask("screw", {{"thread", "1-8 UNC"}, {"class", "grade 2"}}).ok());
  EXPECT_FALSE(ask("convert", {{"value", "5 mm"}, {"to", "N"}}).ok());
  EXPECT_FALSE(ask("convert", {{"value", "5"}, {"to", "mm"}}).ok());
  EXPECT_FALSE(ask("convert", {{"value", "5 mm"}, {"to", "furlong"}}).ok());
  EXPECT_FALSE(ask("convert", {{"value", "5 EUR"}, {"to", "USD"}}).ok());
}
