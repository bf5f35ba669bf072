#include "calc/structure/reckoners.h"

#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::structure {
namespace {

using finding::Reckoner;

Reckoner named(const std::string& name) { return test::reckoner_named(reckoners(), name); }

TEST(StructureReckoners, WorkedExamples) { test::worked_examples(reckoners()); }

test::Given with(test::Given given, const std::string& name, const std::string& text) {
  for (auto& [key, value] : given)
    if (key == name) {
      value = text;
      return given;
    }
  given.push_back({name, text});
  return given;
}

TEST(StructureReckoners, BeyondSaysWhy) {
  const auto beyond = [](const Reckoner& r, const char* name, const char* text) {
    const auto a = test::ask(r, with(r.examples[0].given, name, text));
    ASSERT_TRUE(a.ok()) << say(a.problem());
    EXPECT_FALSE(a->beyond.empty()) << r.name << " " << name << " " << text;
  };
  Reckoner small = named("plate_modes");
  small.examples[0].given = with(small.examples[0].given, "width", "190 mm");
  beyond(small, "thickness", "50 mm");
  beyond(named("plate_sag"), "load", "100000 kg");
  beyond(named("plate_bow"), "span", "400 mm");
}

TEST(StructureReckoners, OneBadValuePerBoundIsRefused) {
  for (const Reckoner& r : reckoners())
    for (const finding::ReckonerInput& i : r.inputs) {
      if (i.kind != unit::Kind::length) continue;
      EXPECT_FALSE(test::ask(r, with(r.examples[0].given, i.name, "-1 mm")).ok()) << r.name << " " << i.name;
      EXPECT_FALSE(test::ask(r, with(r.examples[0].given, i.name, "11 m")).ok()) << r.name << " " << i.name;
    }
  for (const char* name : {"plate_modes", "plate_sag"}) {
    const Reckoner r = named(name);
    for (const auto& [key, text] : {std::pair{"modulus", "0 GPa"},
                                    {"modulus", "2000 GPa"},
                                    {"poisson", "0.5"},
                                    {"poisson", "-0.1"},
                                    {"density", "1 kg/m3"},
                                    {"density", "30000 kg/m3"},
                                    {"edges", "glued"}})
      EXPECT_FALSE(test::ask(r, with(r.examples[0].given, key, text)).ok()) << name << " " << key << " " << text;
  }
  const Reckoner bow = named("plate_bow");
  for (const auto& [key, text] : {std::pair{"top_warmer", "101 K"},
                                  {"top_warmer", "-101 K"},
                                  {"warmer", "101 K"},
                                  {"warmer", "-101 K"},
                                  {"expansion", "1e-3 1/K"},
                                  {"expansion", "-1e-6 1/K"}})
    EXPECT_FALSE(test::ask(bow, with(bow.examples[0].given, key, text)).ok()) << key << " " << text;
  const Reckoner sag = named("plate_sag");
  EXPECT_FALSE(test::ask(sag, with(sag.examples[0].given, "load", "-1 kg")).ok());
  EXPECT_FALSE(test::ask(sag, with(sag.examples[0].given, "load", "2000000 kg")).ok());
}

}  // namespace
}  // namespace fettle::structure
