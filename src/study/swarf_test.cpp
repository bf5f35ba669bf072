// How long bins and filters last, against sums by hand.
#include <cmath>

#include "published.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using fettle::test::How;
using fettle::test::published;
using finding::State;

std::string missing_words(const finding::Finding& f) { return base::join(f.missing, "\n"); }

Options run_off_only() {
  Options o = demo::quick();
  o.only = {"run-off"};
  return o;
}
/// The demo with its shop file changed.
demo::Run run_in_shop(const std::vector<demo::Edit>& shop, const std::vector<demo::Edit>& plan = {}) {
  demo::Run r;
  auto p = plan::read_plan(demo::edited(demo::text_of("plan-0.toml"), plan), demo::folder() + "plan-0.toml",
                           [&](const std::string& path) -> Outcome<std::string> {
                             auto text = base::read_file(path);
                             if (text.ok() && path.ends_with("shop.toml")) return demo::edited(*text, shop);
                             return text;
                           });
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  if (!p.ok()) return r;
  r.plan = std::move(p.value());
  Memo memo;
  auto s = study::run(r.plan, load_data(r.plan), run_off_only(), memo);
  EXPECT_TRUE(s.ok());
  if (s.ok()) r.study = std::move(s.value());
  return r;
}

TEST(StudySwarf, BinsAndFiltersOfTheDemo) {
  const demo::Run r = run_in_shop({});
  const std::string source = "masses of the demo by hand: 2.90 - 2.595 on B, 3.51 - 2.90 before it; 2 kg/L, 2 % fines";
  published("study", "bin of B, 200 L, working days", source, How::computed, 200 / (240 * 0.305 / 2) * 5,
            r.at("shop.B.bin_lasts").value, 1e-9);
  published("study", "filter of B, 6 kg, weeks", source, How::computed, 6 / (240 * 0.305 * 0.02),
            r.at("shop.B.filter_lasts").value, 1e-9);
  published("study", "bin of A, 200 L, working days at least", source, How::computed, 200 / (240 * 0.61 / 2) * 5,
            r.at("shop.A.bin_lasts").value, 1e-9);
  published("study", "filter of A, 10 kg, weeks at least", source, How::computed, 10 / (240 * 0.61 * 0.02),
            r.at("shop.A.filter_lasts").value, 1e-9);
  for (const char* id : {"shop.A.bin_lasts", "shop.A.filter_lasts", "shop.B.bin_lasts", "shop.B.filter_lasts"})
    EXPECT_EQ(r.at(id).state, State::inside) << id;
  // The grinder takes some of what is counted for A, and nobody said how much.
  EXPECT_NE(r.at("shop.A.bin_lasts").sentence.find("at most"), std::string::npos);
  EXPECT_EQ(r.at("shop.B.bin_lasts").sentence.find("at most"), std::string::npos);
  EXPECT_EQ(r.find("shop.hone.bin_lasts"), nullptr) << "nothing is cut there";
}

TEST(StudySwarf, SmallOnesAreOutsideAndTheLeverMendsThem) {
  const demo::Edit small{"bin = \"200 L\"\nfilter = \"6 kg\"", "bin = \"7 L\"\nfilter = \"1 kg\""};
  const demo::Run r = run_in_shop({small});
  const auto bin = r.at("shop.B.bin_lasts"), filter = r.at("shop.B.filter_lasts");
  EXPECT_EQ(bin.state, State::outside);  // 7.32 L come on a day
  EXPECT_EQ(filter.state, State::outside);
  ASSERT_FALSE(bin.levers.empty() || filter.levers.empty());
  EXPECT_NEAR(bin.levers[0].flip * 1e3, 240 * 0.305 / 2 / 5, 1e-9);
  EXPECT_NEAR(filter.levers[0].flip, 240 * 0.305 * 0.02, 1e-9);
  // A day's swarf fits, two days' of a lot made at once do not: tight, and it says what decides.
  const auto lots = run_in_shop({{small.first, "bin = \"10 L\"\nfilter = \"2 kg\""}});
  EXPECT_EQ(lots.at("shop.B.bin_lasts").state, State::tight);
  EXPECT_EQ(lots.at("shop.B.filter_lasts").state, State::tight);
  bool named = false;
  for (const auto& a : lots.at("shop.B.filter_lasts").assumptions)
    named = named || (a.key == "machine.fines" && a.flips);
  EXPECT_TRUE(named);
}

TEST(StudySwarf, OpenWhereNobodySays) {
  const demo::Run r = run_in_shop({{"bin = \"200 L\"\nfilter = \"6 kg\"\n", ""}});
  EXPECT_EQ(r.at("shop.B.bin_lasts").state, State::open);
  EXPECT_NE(missing_words(r.at("shop.B.bin_lasts")).find("machine.bin"), std::string::npos);
  EXPECT_NE(missing_words(r.at("shop.B.filter_lasts")).find("machine.filter"), std::string::npos);
  // Nobody weighed what comes onto the pallet: all of the way is counted for both machines, at most.
  const demo::Run guessed = run_in_shop({}, {{"loaded_part_mass = \"2.90 kg\"", "loaded_part_mass = \"3.51 kg\""}});
  for (const char* id : {"shop.A.bin_lasts", "shop.B.bin_lasts"}) {
    EXPECT_NEAR(guessed.at(id).value, 200 / (240 * 0.915 / 2) * 5, 1e-9) << id;
    EXPECT_NE(guessed.at(id).sentence.find("at most"), std::string::npos) << id;
  }
  const demo::Run light = run_in_shop({}, {{"loaded_part_mass = \"2.90 kg\"", "loaded_part_mass = \"2.5 kg\""}});
  EXPECT_EQ(light.at("shop.B.bin_lasts").state, State::open) << "a part grows heavier";
  const demo::Run dry = run_in_shop({{"coolant = \"60 L/min\"\nrate = \"65 EUR/h\"\nbin", "rate = \"65 EUR/h\"\nbin"}});
  EXPECT_EQ(dry.find("shop.B.filter_lasts"), nullptr) << "no coolant, no filter";
}

}  // namespace
}  // namespace fettle::study
