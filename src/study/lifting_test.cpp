// A part that people lift into its clampings.
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::Finding;
using finding::State;

demo::Run bracket(const std::vector<demo::Edit>& edits) {
  Options o = demo::quick();
  o.only = {"lifting"};
  return demo::run(demo::edited(demo::text_of("../01-bracket-inch.toml"), edits), o, nullptr, "",
                   "../01-bracket-inch.toml");
}

const demo::Edit no_lift = {"what = \"casting\"", "what = \"loaded pallet\""};

TEST(PartByHand, AHeavyCastingThatNobodySaysHowItIsLiftedIsOpen) {
  const demo::Run r = bracket({no_lift, {"\nmass = \"9.8 lb\"", "\nmass = \"34 lb\""}});
  const Finding f = r.at("-.part.lift");
  EXPECT_EQ(f.state, State::open);
  EXPECT_FALSE(f.cautions.empty());
  EXPECT_NE(f.sentence.find("34"), std::string::npos) << f.sentence;
  EXPECT_NE(f.sentence.find("OP10"), std::string::npos) << f.sentence;
}

TEST(PartByHand, ALightOneOrOneThatIsSaidIsNotAskedAbout) {
  EXPECT_EQ(bracket({no_lift}).find("-.part.lift"), nullptr);
  EXPECT_EQ(bracket({{"\nmass = \"9.8 lb\"", "\nmass = \"34 lb\""}}).find("-.part.lift"), nullptr);
}

}  // namespace
}  // namespace fettle::study
