// What a change of the demo's first plan voids, said for people.
#include "app/cli/voids.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "base/text.h"
#include "plan/read.h"

namespace fettle::cli {
namespace {

using practice::Changed;

const std::string folder = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/";

plan::Plan edited(const std::string& from, const std::string& to) {
  auto text = base::read_file(folder + "plan-0.toml");
  EXPECT_TRUE(text.ok());
  std::string t = text.ok() ? *text : "";
  const std::size_t at = t.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  if (at != std::string::npos) t.replace(at, from.size(), to);
  auto p = plan::read_plan(t, folder + "plan-0.toml", [](const std::string& path) { return base::read_file(path); });
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  return p.ok() ? *p : plan::Plan{};
}
std::string voids(const std::string& from, const std::string& to) {
  const plan::Plan a = edited("", ""), b = edited(from, to);
  return voids_text(study::changes_between(a, b), study::files_from_before(a, b), "plan B", {false, 400, true});
}
bool says(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

TEST(Voids, TheSamePlanVoidsNothing) {
  EXPECT_EQ(voids("", ""), "What this voids\n  nothing\n");
  EXPECT_EQ(voids("limits = \"max 0.03 mm\"", "limits = \"max 0.03 mm\"\nnote = \"told to the grinder\""),
            "What this voids\n  nothing\n");
}

TEST(Voids, AnotherGradeVoidsWhatWasMeasuredAndProvenInTheOldOne) {
  const std::string text = voids("material = \"EN-GJL-250\"", "material = \"EN-GJS-500-7\"");
  EXPECT_TRUE(says(text, "\n  changed: grade\n")) << text;
  for (const char* w :
       {"\n  first article: one part of every nest of every pallet, measured whole (grade)\n",
        "\n  proven cutting data: ", "\n  capability run: ", "\n  measured castings: ", "\n  customer's approval: ",
        "plan B still reads first-article.csv (reading first article), measured before the change; void: "
        "first article (grade)",
        "plan B still reads f4-run.csv (reading F4 last 24), measured before the change; void: capability run",
        "plan B still reads castings.csv (casting.measured.table), measured before the change; void: "
        "measured castings"})
    EXPECT_TRUE(says(text, w)) << w << "\n" << text;
  const std::size_t stays = text.find("\n  stays: ");
  ASSERT_NE(stays, std::string::npos) << text;
  for (const char* w : {"zeros and offsets", "gauge study", "load times", "prove-out"})
    EXPECT_NE(text.find(w, stays), std::string::npos) << w << "\n" << text;
  EXPECT_FALSE(says(text, "f4-gauge-study.csv")) << text;
  EXPECT_FALSE(says(text, "load-times.csv")) << text;
}

TEST(Voids, AnEngineeringChangeVoidsFirstArticleProgramAndApproval) {
  const std::string text = voids("limits = \"max 0.03 mm\"", "limits = \"max 0.02 mm\"");
  EXPECT_TRUE(says(text, "\n  changed: requirement\n")) << text;
  EXPECT_TRUE(says(text, "\n  first article: ")) << text;
  EXPECT_TRUE(says(text, "\n  customer's approval: ")) << text;
  EXPECT_TRUE(says(text, "plan B still reads f4-gauge-study.csv")) << text;
  EXPECT_FALSE(says(text, "\n  prove-out: ")) << text;  // the program stays as it was
  const std::string size = voids("from = \"18 mm\"", "from = \"19 mm\"");
  for (const char* w : {"\n  prove-out: ", "\n  first article: ", "\n  load sheet and torque: "})
    EXPECT_TRUE(says(size, w)) << w << "\n" << size;
}

TEST(Voids, AnotherPlaceOfSeatsVoidsZerosAndNests) {
  const std::string text = voids("zero = \"plate top\"", "zero = \"probed pins\"");
  EXPECT_TRUE(says(text, "\n  changed: locating\n")) << text;
  EXPECT_TRUE(says(text, "\n  zeros and offsets: set again, none carried over (locating)\n")) << text;
  EXPECT_TRUE(says(text, "\n  nests as measured: ")) << text;
  EXPECT_FALSE(says(text, "\n  proven cutting data: ")) << text;
}

TEST(Voids, ANewFileIsMeasuredAfterTheChange) {
  const plan::Plan a = edited("", "");
  plan::Plan b = edited("material = \"EN-GJL-250\"", "material = \"EN-GJS-500-7\"");
  const std::size_t before = study::files_from_before(a, b).size();
  for (plan::Reading& r : b.readings)
    if (r.kind.value == "first article") r.file.value = "first-article-2.csv";
  EXPECT_EQ(study::files_from_before(a, b).size() + 1, before);
  for (const study::OldFile& f : study::files_from_before(a, b)) EXPECT_NE(f.what, "first article");
}

TEST(Voids, TheSameNumberInAnotherUnitIsNoChange) {
  EXPECT_EQ(voids("torque = \"22 N·m\"", "torque = \"22.0 N·m\""), "What this voids\n  nothing\n");
  EXPECT_EQ(voids("height = \"3.0 mm\"", "height = \"0.3 cm\""), "What this voids\n  nothing\n");
  EXPECT_TRUE(says(voids("torque = \"22 N·m\"", "torque = \"22 N·m (± 10 %)\""), "changed: clamping"));
}

/// A shop or pallet file against itself with one place changed, as `fettle diff` reads the two.
std::string voids_shared(const std::string& text, const std::string& from, const std::string& to) {
  const std::string path = ::testing::TempDir() + "voids_shared.toml";
  std::vector<std::vector<plan::Leaf>> both;
  for (const bool changed : {false, true}) {
    std::string t = text;
    const std::size_t at = t.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    if (changed && at != std::string::npos) t.replace(at, from.size(), to);
    EXPECT_TRUE(base::write_file(path, t).ok());
    auto leaves = plan::shared_leaves(path);
    EXPECT_TRUE(leaves.ok()) << (leaves.ok() ? "" : say(leaves.problem()));
    both.push_back(leaves.ok() ? *leaves : std::vector<plan::Leaf>{});
  }
  std::filesystem::remove(path);
  return voids_text(study::changes_between(both[0], both[1]), {}, "B", {false, 400, true});
}

TEST(Voids, AChangeOfTheShopFileVoidsWhatHangsOnThatToolOrMachine) {
  const auto shop = base::read_file(folder + "shop.toml");
  ASSERT_TRUE(shop.ok());
  EXPECT_EQ(voids_shared(*shop, "id = \"A\"", "id = \"A\""), "What this voids\n  nothing\n");
  const std::string tool = voids_shared(*shop, "diameter = \"20.5 mm\"", "diameter = \"20.4 mm\"");
  EXPECT_TRUE(says(tool, "\n  changed: tool\n")) << tool;
  EXPECT_TRUE(says(tool, "\n  proven cutting data: ")) << tool;
  EXPECT_FALSE(says(tool, "\n  measured castings: ")) << tool;
  const std::string machine = voids_shared(*shop, "positioning = \"0.008 mm\"", "positioning = \"0.012 mm\"");
  EXPECT_TRUE(says(machine, "\n  changed: machine\n")) << machine;
  EXPECT_FALSE(says(machine, "still reads")) << machine;  // a shop file names no measurements
}

TEST(Voids, AChangeOfThePalletFileVoidsNestsAndZeros) {
  const auto whole = base::read_file(folder + "plan-0.toml");
  ASSERT_TRUE(whole.ok());
  const std::size_t at = whole->find("\n[pallet]\n");
  ASSERT_NE(at, std::string::npos);
  const std::string pallet = "fettle = 1\n" + whole->substr(at, whole->find("\n[[pallet.pin]]", at) - at) + "\n";
  const std::string text = voids_shared(pallet, "330 x 250 x 25 mm", "330 x 250 x 30 mm");
  EXPECT_TRUE(says(text, "\n  changed: pallet\n")) << text;
  EXPECT_TRUE(says(text, "\n  zeros and offsets: ")) << text;
  EXPECT_TRUE(says(text, "\n  nests as measured: ")) << text;
  const std::size_t stays = text.find("\n  stays: ");
  ASSERT_NE(stays, std::string::npos) << text;
  EXPECT_NE(text.find("gauge study", stays), std::string::npos) << text;
}

}  // namespace
}  // namespace fettle::cli
