#include <gtest/gtest.h>

#include "base/text.h"
#include "calc/timing/reckoners.h"
#include "published.h"

namespace {

using namespace fettle;
using namespace fettle::timing;
using Given = std::vector<std::pair<std::string, std::string>>;

finding::ReckonerAnswer ask(const std::string& name, const Given& given) {
  for (const finding::Reckoner& r : simulation_reckoners()) {
    if (r.name != name) continue;
    const auto v = finding::read_values(r, given);
    if (!v.ok()) {
      ADD_FAILURE() << say(v.problem());
      return {};
    }
    auto a = finding::run(r, *v);
    if (!a.ok()) {
      ADD_FAILURE() << say(a.problem());
      return {};
    }
    return *a;
  }
  ADD_FAILURE() << name;
  return {};
}

TEST(SimulateReckoners, WorkedExamplesAgree) {
  for (const finding::Reckoner& r : simulation_reckoners())
    for (const finding::WorkedExample& e : r.examples) {
      const finding::ReckonerAnswer a = ask(r.name, e.given);
      for (const auto& [name, text] : e.expected) {
        if (a.text.count(name) > 0) {
          EXPECT_EQ(a.text.at(name), text);
          continue;
        }
        unit::Kind kind{};
        for (const finding::ReckonerOutput& o : r.outputs)
          if (o.name == name) kind = o.kind;
        const double want = unit::parse(text, kind)->si;
        test::published("timing", "reckoner " + r.name + ": " + name, e.source, test::How::exact, want,
                        a.number.at(name), e.relative_tolerance * std::fabs(want));
      }
    }
}

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
