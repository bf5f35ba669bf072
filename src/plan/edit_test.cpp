#include "plan/edit.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <random>

#include "base/text.h"
#include "plan/read.h"

namespace fettle::plan {
namespace {

using What = Change::What;
const std::string demo = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/";

std::string text_of(const std::string& name) {
  const auto t = base::read_file(demo + name);
  EXPECT_TRUE(t.ok());
  return t.ok() ? *t : std::string();
}
std::string edited(const std::string& text, const std::vector<Change>& changes) {
  const auto out = edit_text(text, changes);
  EXPECT_TRUE(out.ok()) << (out.ok() ? "" : say(out.problem()));
  return out.ok() ? *out : std::string("(refused)");
}
std::string refusal(const std::string& text, const Change& change) {
  const auto out = edit_text(text, {change});
  return out.ok() ? "accepted: " + *out : say(out.problem());
}
std::vector<Leaf> leaves_of(const std::string& text) {
  const auto p = read_plan(text, demo + "edited.toml", [](const std::string& path) { return base::read_file(path); });
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  return p.ok() ? leaves(*p) : std::vector<Leaf>();
}

const std::string small = R"(# head
fettle = 1
[plan]          # of one part
name = "x"  # said
# ---- nests
[[pallet.nest]]
at = "0, 0 mm"   # middle

# the second one
[[pallet.nest]]
at = "10, 0 mm"
# ---- lift
[[operation]]
id = "OP30"
[[operation.cut]]
tool = "T11"
speed = "80 m/min"
[[operation.cut]]
tool = "T11"
speed = "90 m/min"
[[operation]]
id = "OP40"
[[lift]]
from = { reach = "32.5 cm", height = "90 cm" } # to the table
)";

TEST(Edit, SetsOneValueAndLeavesTheRestByteForByte) {
  std::string want = small;
  want.replace(want.find("90 m/min"), 8, "95 m/min");
  EXPECT_EQ(edited(small, {{What::set, "operation.OP30.cut.T11#2.speed", "\"95 m/min\"", {}}}), want);
  want = small;
  want.replace(want.find("\"x\""), 3, "\"a # b\"");
  EXPECT_EQ(edited(small, {{What::set, "plan.name", "\"a # b\"", {}}}), want);
  want = small;
  want.replace(want.find("90 cm"), 5, "95 cm");
  EXPECT_EQ(edited(small, {{What::set, "lift.1.from.height", "\"95 cm\"", {}}}), want);
}

TEST(Edit, ANewKeyStandsBehindTheLastOfItsTable) {
  std::string want = small;
  want.insert(want.find("# ---- nests"), "seed = 3\n");
  EXPECT_EQ(edited(small, {{What::set, "plan.seed", "3", {}}}), want);
  want = small;
  want.insert(want.find(" } # to"), ", twist = \"30 deg\"");
  EXPECT_EQ(edited(small, {{What::set, "lift.1.from.twist", "\"30 deg\"", {}}}), want);
}

TEST(Edit, ANewTableStandsBehindItsParent) {
  const std::string got = edited(small, {{What::set, "pallet.plate.size", "\"330 x 300 x 40 mm\"", {}}});
  EXPECT_NE(got.find("\n[pallet.plate]\nsize = \"330 x 300 x 40 mm\"\n"), std::string::npos) << got;
  std::string back = got;
  back.erase(back.find("\n[pallet.plate]"), std::string("\n[pallet.plate]\nsize = \"330 x 300 x 40 mm\"\n").size());
  EXPECT_EQ(back, small);
}

TEST(Edit, RowsComeAndGo) {
  std::string want = small;
  want.insert(want.find("# ---- lift"), "\n[[pallet.nest]]\nat = \"20, 0 mm\"\nturn = \"90 deg\"\n");
  EXPECT_EQ(edited(small, {{What::add, "pallet.nest", "", {{"at", "\"20, 0 mm\""}, {"turn", "\"90 deg\""}}}}), want);
  want = small;
  want.erase(want.find("# the second"), want.find("# ---- lift") - want.find("# the second"));
  EXPECT_EQ(edited(small, {{What::remove, "pallet.nest.2", "", {}}}), want) << "with the comment right above it";
  want = small;
  want.erase(want.find("[[operation]]\nid = \"OP30\""),
             want.find("[[operation]]\nid = \"OP40\"") - want.find("[[operation]]\nid = \"OP30\""));
  want.erase(want.find("# ---- lift\n"), 12);
  EXPECT_EQ(edited(small, {{What::remove, "operation.OP30", "", {}}}), want) << "with its cuts";
  const std::string nested = edited(small, {{What::add, "operation.OP30.cut", "", {{"tool", "\"T12\""}}}});
  EXPECT_LT(nested.find("T12"), nested.find("OP40"));
}

TEST(Edit, KeysGo) {
  std::string want = small;
  want.erase(want.find("at = \"0, 0 mm\""), std::string("at = \"0, 0 mm\"   # middle\n").size());
  EXPECT_EQ(edited(small, {{What::remove, "pallet.nest.1.at", "", {}}}), want);
  want = small;
  want.erase(want.find("reach = \"32.5 cm\", "), std::string("reach = \"32.5 cm\", ").size());
  EXPECT_EQ(edited(small, {{What::remove, "lift.1.from.reach", "", {}}}), want);
  want = small;
  want.erase(want.find(", height = \"90 cm\""), std::string(", height = \"90 cm\"").size());
  EXPECT_EQ(edited(small, {{What::remove, "lift.1.from.height", "", {}}}), want);
}

TEST(Edit, RefusesWhatIsNotThere) {
  EXPECT_NE(refusal(small, {What::set, "plan.sed", "3", {}}).find("did you mean \"seed\""), std::string::npos);
  EXPECT_NE(refusal(small, {What::set, "operation.OP31.note", "\"x\"", {}}).find("did you mean \"OP3"),
            std::string::npos);
  EXPECT_NE(refusal(small, {What::set, "plan.seed", "3\n[evil]", {}}).find("no value of a plan"), std::string::npos);
  EXPECT_NE(refusal(small, {What::set, "plan.seed", "3 # x", {}}).find("accepted"), std::string::npos)
      << "a comment is no harm";
  EXPECT_NE(refusal(small, {What::set, "plan.name", "oak", {}}).find("no value of a plan"), std::string::npos);
  EXPECT_NE(refusal(small, {What::set, "plan", "3", {}}).find("one of its keys"), std::string::npos);
  EXPECT_NE(refusal(small, {What::remove, "plan.seed", "", {}}).find("does not stand"), std::string::npos);
  EXPECT_NE(refusal(small, {What::add, "plan", "", {}}).find("cannot be added"), std::string::npos);
  EXPECT_NE(refusal(small, {What::add, "pallet.nest", "", {{"aat", "3"}}}).find("did you mean \"at\""),
            std::string::npos);
  EXPECT_NE(refusal("a = ", {What::set, "plan.seed", "3", {}}).find("no value"), std::string::npos);
  EXPECT_FALSE(edit_text(small, {{What::set, "", "3", {}}}).ok());
}

TEST(Edit, EveryValueOfTheDemoGoesAndComesBackByteForByte) {
  for (const char* name : {"plan-0.toml", "plan-1.toml", "plan-0-inch.toml"}) {
    const std::string text = text_of(name);
    int n = 0;
    for (const Leaf& l : leaves_of(text)) {
      if (l.place.file != 0 || ++n % 7 != 0) continue;  // every seventh: they are more than a thousand
      const std::string changed = edited(text, {{What::set, l.key, "\"something else\"", {}}});
      ASSERT_NE(changed, text) << name << " " << l.key;
      const std::size_t from =
          std::mismatch(text.begin(), text.end(), changed.begin(), changed.end()).first - text.begin();
      const std::string line = text.substr(text.rfind('\n', from) + 1);
      ASSERT_NE(line.find(l.key.substr(l.key.rfind('.') + 1)), std::string::npos) << l.key;
    }
    EXPECT_GT(n, 500) << name;
  }
}

TEST(Edit, HundredsOfChangesAtRandomAndBackAgain) {
  const std::string text = text_of("plan-1.toml");
  const std::vector<Leaf> all = leaves_of(text);
  std::vector<const Leaf*> own;
  for (const Leaf& l : all)
    if (l.place.file == 0 && l.key.rfind("id") != l.key.size() - 2 && l.key.rfind("tool") != l.key.size() - 4)
      own.push_back(&l);
  std::mt19937 draw(11);
  std::string now = text;
  std::vector<std::pair<std::string, std::string>> back;
  for (int i = 0; i < 200; ++i) {
    const Leaf& l = *own[draw() % own.size()];
    const std::string at = edited(now, {{What::set, l.key, "\"@\"", {}}});
    const std::size_t mark = at.find("\"@\"");
    ASSERT_NE(mark, std::string::npos) << l.key;
    const std::size_t tail = at.size() - mark - 3;
    back.emplace_back(l.key, now.substr(mark, now.size() - tail - mark));
    now = edited(now, {{What::set, l.key, toml_quoted("v" + std::to_string(i) + " \"[#\\"), {}}});
  }
  EXPECT_NE(now, text);
  while (!back.empty()) {
    const std::string value = back.back().second;
    if (value.find('\n') != std::string::npos) now = text;  // a list over several lines cannot be typed back
    else now = edited(now, {{What::set, back.back().first, value, {}}});
    back.pop_back();
  }
  EXPECT_EQ(now, text);
}

TEST(Edit, SpoiltTextsNeverCrash) {
  const std::string text = small;
  std::mt19937 draw(5);
  int good = 0;
  for (int i = 0; i < 600; ++i) {
    std::string s = text;
    for (int k = 0; k < 3; ++k) {
      if (s.empty()) break;
      const std::size_t at = draw() % s.size();
      switch (draw() % 3) {
        case 0:
          s.erase(at, 1 + draw() % 5);
          break;
        case 1:
          s.insert(at, 1, "\"'[]{}=#\n.\\,"[draw() % 12]);
          break;
        default:
          s.resize(std::max<std::size_t>(at, 1));
          break;
      }
    }
    for (const Change& c : {Change{What::set, "plan.name", "\"n\"", {}}, Change{What::remove, "pallet.nest.2", "", {}},
                            Change{What::add, "pallet.nest", "", {{"at", "\"7, 0 mm\""}}}})
      good += edit_text(s, {c}).ok() ? 1 : 0;
  }
  EXPECT_GT(good, 50);
}

}  // namespace
}  // namespace fettle::plan
