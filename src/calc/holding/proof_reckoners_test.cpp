#include <gtest/gtest.h>

#include "calc/holding/reckoners.h"
#include "reckoner_examples.h"

namespace fettle::holding {
namespace {

using test::ask;
using test::Given;
using test::reckoner_named;

TEST(ProofReckoners, WorkedExamples) { EXPECT_GE(test::worked_examples(proof_reckoners()), 6); }

TEST(ProofReckoners, SlideOrTipAgreesWithTheProof) {
  // The same block as pads on a square: the proof of screws_hold tips where the hand formula tips.
  const auto hand = ask(reckoner_named(proof_reckoners(), "slide_or_tip"),
                        {{"pressed", "4000 N"}, {"width", "80 mm"}, {"height", "100 mm"}, {"friction", "0.8"}});
  const auto proof = ask(reckoner_named(proof_reckoners(), "screws_hold"), {{"preload", "2000 N"},
                                                                            {"friction", "0.8"},
                                                                            {"sideways", "1000 N"},
                                                                            {"height", "100 mm"},
                                                                            {"pads_along", "90 mm"},
                                                                            {"pads_across", "80 mm"},
                                                                            {"screws", "60 mm"}});
  ASSERT_TRUE(hand.ok() && proof.ok());
  test::published("holding", "reckoner slide_or_tip against the proof, N", "two ways in this repository",
                  test::How::computed, hand->number.at("force"), 1000 * proof->number.at("factor"), 1e-6);
}

TEST(ProofReckoners, RefuseOneBadValueEach) {
  const auto r = reckoner_named(proof_reckoners(), "screws_hold");
  const Given good = {{"preload", "2000 N"},   {"friction", "0.8"},      {"sideways", "1000 N"},
                      {"pads_along", "90 mm"}, {"pads_across", "80 mm"}, {"screws", "60 mm"}};
  EXPECT_TRUE(ask(r, good).ok());
  for (const auto& [name, value] : Given{{"preload", "0 N"},
                                         {"friction", "0"},
                                         {"friction", "2.1"},
                                         {"sideways", "0 N"},
                                         {"pads_along", "0 mm"},
                                         {"pads_across", "0 mm"},
                                         {"screws", "11 m"}}) {
    Given one = good;
    for (auto& [key, text] : one)
      if (key == name) text = value;
    EXPECT_FALSE(ask(r, one).ok()) << name << " " << value;
  }
}

}  // namespace
}  // namespace fettle::holding
