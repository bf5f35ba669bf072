// The load sheet says where a face is seen, not only what the plan calls it.
#include "app/serve/floor_words.h"

#include <gtest/gtest.h>

#include "begin/features.h"
#include "plan/read.h"

namespace fettle::serve {
namespace {

plan::Plan plan_of(const std::string& operations) {
  const std::string text = R"(fettle = 1
[plan]
name = "words"
[part]
size = "132 x 92 x 36 mm"
[[feature]]
id = "A"
kind = "face"
at = "0, 0, 0 mm"
normal = "-z"
size = "132 x 92 mm"
cast = "skin"
[[feature]]
id = "T"
kind = "face"
at = "0, 0, 36 mm"
normal = "+z"
size = "132 x 92 mm"
cast = "skin"
[[feature]]
id = "STEP"
kind = "face"
at = "40, 0, 30 mm"
normal = "+z"
size = "20 x 20 mm"
[[feature]]
id = "R"
kind = "profile"
at = "0, 0, 18 mm"
size = "132 x 92 mm"
from = "0 mm"
to = "36 mm"
cast = "skin"
[[feature]]
id = "H"
kind = "hole"
at = ["-44, -34 mm", "44, 34 mm", "0, 0 mm"]
normal = "-z"
diameter = "Ø8 H7"
from = "0 mm"
to = "15 mm"
datum = "- B -"
)" + operations;
  const auto none = [](const std::string& path) -> Outcome<std::string> { return bad("not here", path); };
  const auto plan = plan::read_plan(text, "plan.toml", none);
  EXPECT_TRUE(plan.ok()) << (plan.ok() ? "" : say(plan.problems().front()));
  return plan.ok() ? *plan : plan::Plan{};
}

TEST(FloorWords, a_face_is_said_as_it_is_seen_where_it_lies) {
  const plan::Plan p = plan_of(R"(
[[operation]]
id = "OP10"
kind = "vise"
up = "+z"
makes = ["T", "R.+x"]
[[operation]]
id = "OP20"
kind = "vise"
up = "-z"
[[operation]]
id = "OP30"
kind = "fixture"
up = "+y"
)");
  const auto& [first, second, third] = std::tie(p.operations[0], p.operations[1], p.operations[2]);
  EXPECT_EQ(seen_at(p, first, "A"), "the underside, as cast");
  EXPECT_EQ(seen_at(p, first, "T"), "the top, as cast");  // it is made here: still raw when it is loaded
  EXPECT_EQ(seen_at(p, second, "T"), "the underside, cut in OP10");
  EXPECT_EQ(seen_at(p, first, "STEP"), "a face 6 mm below the top");
  EXPECT_EQ(seen_at(p, second, "STEP"), "a face 6 mm above the underside");
  EXPECT_EQ(seen_at(p, first, "R.-y"), "the long side at the front, as cast");
  EXPECT_EQ(seen_at(p, second, "R.-y"), "the long side at the back, as cast");  // turned over about its long side
  EXPECT_EQ(seen_at(p, second, "R.+x"), "the short side at the right, cut in OP10");
  EXPECT_EQ(seen_at(p, second, "R.-x"), "the short side at the left, as cast");  // only its other end is cut
  EXPECT_EQ(seen_at(p, third, "A"), "the long side at the back, as cast");
  EXPECT_EQ(seen_at(p, first, "R.+x R.-x"), "the short sides at the right and at the left, as cast");
  EXPECT_EQ(seen_at(p, second, "R.+x R.-x"),
            "the short side at the right, cut in OP10, and the short side at the left, as cast");
  EXPECT_EQ(seen_at(p, first, "table"), "");
}

TEST(FloorWords, a_hole_is_said_by_size_letter_and_place) {
  const plan::Plan p = plan_of(
      "[[operation]]\nid = \"OP10\"\nkind = \"vise\"\nup = \"+z\"\n"
      "[[operation]]\nid = \"OP20\"\nkind = \"fixture\"\nup = \"+y\"\n");
  EXPECT_EQ(seen_at(p, p.operations[0], "H@1"), "hole, Ø8 H7, at the front left");
  EXPECT_EQ(seen_at(p, p.operations[0], "H@2"), "hole B, Ø8 H7, at the back right");
  EXPECT_EQ(seen_at(p, p.operations[0], "H@3"), "hole, Ø8 H7, in the middle");
  EXPECT_EQ(seen_at(p, p.operations[1], "H@2"), "hole B, Ø8 H7, at the upper right");  // it lies on its side
}

TEST(FloorWords, steps_say_what_is_done_and_like_clamps_are_one) {
  const plan::Plan p = plan_of(R"(
[[operation]]
id = "OP10"
kind = "fixture"
up = "+z"
[[operation.locator]]
kind = "rest"
on = "A"
at = ["-40, -30, 0 mm", "40, -30, 0 mm", "0, 30, 0 mm"]
[[operation.locator]]
kind = "stop"
on = "R.-x"
at = "-66, 0, 18 mm"
note = "clear of the gate"
[[operation.locator]]
kind = "rest"
on = "table"
[[operation.clamp]]
kind = "strap"
on = "T"
at = "-40, 0, 36 mm"
force = "8 kN"
[[operation.clamp]]
kind = "strap"
on = "T"
at = "40, 0, 36 mm"
force = "8 kN"
[[operation.clamp]]
kind = "strap"
on = "T"
at = "0, 40, 36 mm"
force = "5 kN"
)");
  nlohmann::json rows = nlohmann::json::array();
  load_rows(p, p.operations[0], rows);
  clamp_rows(p, p.operations[0], rows);
  std::vector<std::string> said;
  for (const auto& r : rows)
    said.push_back(r["what"].get<std::string>() + "|" + r["where"].get<std::string>() + "|" +
                   r["value"].get<std::string>() + "|" + r["on"].get<std::string>());
  EXPECT_EQ(said, (std::vector<std::string>{
                      "set it down on the rests|the underside, as cast||A",
                      "push it against the stop|the short side at the left, as cast|clear of the gate|R.-x",
                      "set it against the rest||table|table", "tighten 2 straps on|the top, as cast|8 kN each|T",
                      "tighten the strap on|the top, as cast|5 kN|T"}));
  EXPECT_EQ(rows[0]["mark"]["at"].size(), 3U);
  EXPECT_EQ(rows[0]["mark"]["looks"], (nlohmann::json{0.0, 0.0, -1.0}));
  EXPECT_FALSE(rows[2].contains("mark"));
  EXPECT_EQ(rows[3]["mark"]["at"], (nlohmann::json{{-0.04, 0.0, 0.036}, {0.04, 0.0, 0.036}}));
}

TEST(FloorWords, what_is_done_besides_cutting_stands_where_it_is_done) {
  const plan::Plan p = plan_of(R"(
[[operation]]
id = "OP10"
kind = "chuck"
up = "+z"
does = ["oil", "demagnetise", "shim", "blow off", "single block"]
[[operation.locator]]
kind = "chuck"
on = "A"
[[operation]]
id = "OP30"
kind = "pallet"
up = "+z"
does = ["gauge", "soak", "lift evenly"]
[[operation]]
id = "OP40"
kind = "hone"
does = "nothing"
[pallet]
name = "one"
[[pallet.pad]]
at = ["-40, -30 mm", "40, -30 mm", "0, 30 mm"]
)");
  const auto said = [&](std::size_t k) {
    nlohmann::json rows = nlohmann::json::array();
    load_rows(p, p.operations[k], rows);
    after_rows(p.operations[k], rows);
    std::vector<std::string> out;
    for (const auto& r : rows) {
      const auto what = r["what"].get<std::string>();
      out.push_back(r["tab"].get<std::string>() + "|" + what.substr(0, what.find_first_of(",:")));
    }
    return out;
  };
  using Said = std::vector<std::string>;
  EXPECT_EQ(said(0), (Said{"load|blow off and wipe where the part will sit", "load|lay it on the chuck",
                           "load|shim it where it does not touch", "start|the first nest in single block",
                           "after|demagnetise the part", "after|oil the bare metal"}));
  // the pads are to be cleaned though the list does not say so
  EXPECT_EQ(said(1),
            (Said{"load|blow off and wipe the 3 pads", "after|lift the part off evenly",
                  "after|let the part lie beside the gauge until it is as cold as the gauge", "after|gauge the part"}));
  EXPECT_EQ(said(2), (Said{"after|nothing more is done here besides the operation itself"}));
}

}  // namespace
}  // namespace fettle::serve
