// What a study looks like in a terminal and as JSON, and what it leaves in a folder.
#include "app/cli/study_text.h"

#include <gtest/gtest.h>

#include <clocale>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>

#include "app/cli/results.h"
#include "base/text.h"
#include "places.h"
#include "plan/read.h"

namespace fettle::cli {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

struct Made {
  plan::Plan plan;
  study::Data data;
  study::Study study;
};
std::string folder() { return std::string(FETTLE_SOURCE_DIR) + "/plans/demo/"; }
Made made(const std::string& name, const std::vector<std::pair<std::string, std::string>>& edits = {},
          const study::Options& options = {}) {
  Made m;
  auto text = base::read_file(folder() + name);
  EXPECT_TRUE(text.ok());
  std::string t = text.ok() ? *text : "";
  for (const auto& [from, to] : edits) {
    const std::size_t at = t.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    if (at != std::string::npos) t.replace(at, from.size(), to);
  }
  auto p = plan::read_plan(t, folder() + name, [](const std::string& path) { return base::read_file(path); });
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  if (!p.ok()) return m;
  m.plan = std::move(p.value());
  m.data = study::load_data(m.plan);
  study::Memo memo;
  auto s = study::run(m.plan, m.data, options, memo);
  EXPECT_TRUE(s.ok());
  if (s.ok()) m.study = std::move(s.value());
  return m;
}
const std::pair<std::string, std::string> few = {"castings = 20000", "castings = 2000"};
const Made& demo(int n) {
  static const Made plans[] = {made("plan-0.toml", {few}), made("plan-1.toml", {few})};
  return plans[n];
}

std::string without_colour(const std::string& s) {
  std::string out;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (s[i] == '\x1b') {
      while (i < s.size() && s[i] != 'm') ++i;
      continue;
    }
    out += s[i];
  }
  return out;
}

TEST(StudyText, NoLineIsLongerThanTheWindow) {
  for (int n : {0, 1})
    for (int width : {80, 100, 130})
      for (bool all : {false, true}) {
        const std::string text = study_text(demo(n).study, demo(n).plan, {false, width, all});
        for (const std::string& line : base::split(text, '\n')) {
          EXPECT_LE(base::code_points(line), static_cast<std::size_t>(width)) << line;
          EXPECT_TRUE(line.empty() || line.back() != ' ') << "ends with a blank: " << line;
        }
        EXPECT_EQ(text.find("…\n"), std::string::npos);
        for (const auto& f : demo(n).study.findings) {
          EXPECT_TRUE(!all || text.find(f.title.substr(0, f.title.find(' '))) != std::string::npos) << f.title;
          const std::string open = explain_text(f, style_of(demo(n).plan), {false, width, true});
          for (const std::string& line : base::split(open, '\n'))
            EXPECT_LE(base::code_points(line), static_cast<std::size_t>(width)) << line;
        }
      }
}

TEST(StudyText, ColourOnlyWhenAskedForAndNothingElseChanges) {
  const std::string plain = study_text(demo(0).study, demo(0).plan, {false, 100, true});
  const std::string coloured = study_text(demo(0).study, demo(0).plan, {true, 100, true});
  EXPECT_EQ(plain.find('\x1b'), std::string::npos);
  EXPECT_NE(coloured.find('\x1b'), std::string::npos);
  EXPECT_EQ(without_colour(coloured), plain);
}

TEST(StudyText, SaysWhatNeedsAHandFirstAndHidesNothingThatDoes) {
  const std::string text = study_text(demo(0).study, demo(0).plan, {false, 130, false});
  EXPECT_LT(text.find("Casting 13 does not clean up: 0.6"), text.find("outside  OP30"));
  EXPECT_NE(text.find("of metal is missing on the counterbore at +X"), std::string::npos);
  std::size_t outside = 0;
  for (std::size_t at = text.find("▨ outside"); at != std::string::npos; at = text.find("▨ outside", at + 1)) ++outside;
  EXPECT_EQ(outside, static_cast<std::size_t>(demo(0).study.counts.outside));
  EXPECT_EQ(text.find(" 0 % "), std::string::npos);  // nobody knows that
  EXPECT_NE(text.find("Not looked at by this version"), std::string::npos);
}

TEST(StudyText, SaysOnceWhoDecidesAndKeepsEachCaution) {
  const std::string text = study_text(demo(0).study, demo(0).plan, {false, 400, false});
  const std::size_t caution = text.find("Caution: local codes and licensed practice decide");
  ASSERT_NE(caution, std::string::npos);
  for (const char* said :
       {"A part that comes loose under the cutter is thrown", "Fingers stay out from under the part",
        "A casting that rocks can be thrown by the wheel", "does not replace the machine maker's rules"})
    EXPECT_NE(text.find(said, caution), std::string::npos) << said;
  EXPECT_EQ(text.find("Local rules and licensed practice decide."), std::string::npos);
}

TEST(StudyText, ExplainNamesWhatFlipsIt) {
  for (const auto& f : demo(0).study.findings) {
    const std::string text = explain_text(f, style_of(demo(0).plan), {false, 100, true});
    EXPECT_NE(text.find(f.id), std::string::npos);
    EXPECT_NE(text.find("\nformula"), std::string::npos) << f.id;
    EXPECT_NE(text.find("\nsource"), std::string::npos) << f.id;
    EXPECT_EQ(f.state == finding::State::tight, text.find("\nturned by") != std::string::npos) << f.id;
  }
}

TEST(StudyText, AUnitStaysWithItsNumber) {
  for (int width = 12; width < 60; ++width) {
    const std::string text = wrap("only 0.425 mm is left, 0.800 mm is asked, 22 N·m, 3 parts", width, 0);
    for (const char* pair : {"0.425 mm", "0.800 mm", "22 N·m"}) EXPECT_NE(text.find(pair), std::string::npos) << text;
  }
}

/// A study with what the ledger and the clock say, invented, so that it hangs on no plan.
study::Study invented() {
  study::Study s = demo(0).study;
  finding::Finding f;
  f.id = "op30.F2.coaxial";
  f.state = finding::State::outside;
  s.findings.push_back(f);
  f.id = "op30.F1.depth";
  f.state = finding::State::inside;
  s.findings.push_back(f);
  study::RequirementRow r;
  r.id = "coax";
  r.title = "F2 to F4, coaxial";
  r.finding = "op30.F2.coaxial";
  r.upper = 5e-5;
  r.mean = 2.6e-5;
  r.s = 1.3e-5;
  r.worst_high = 1e-4;
  r.share = 0.034;
  r.share_low = 0.032;
  r.share_high = 0.036;
  r.theory_share = 0.033;
  r.goal = 0.001;
  r.cpk = 0.62;
  r.step = 1e-5;
  r.bins = {0.1, 0.3, 0.3, 0.2, 0.066, 0.034};
  r.contributors = {{"turning over", "pallet.move", "OP30", 0.61, 0.005, 0.029, "cut F4 in the clamping of F2"}};
  study::RequirementRow good = r;
  good.id = "depth";
  good.title = "F1 depth";
  good.finding = "op30.F1.depth";
  good.lower = 0;
  good.share = good.share_low = 0;
  good.share_high = 3e-6;
  good.cp = 2;
  good.bins.clear();
  s.requirements = {good, r};
  s.cycle = {
      true, 3660, 8, {"machine B", "person"}, {{"machine B", "swap", 0, 20, false}, {"person", "free", 0, 900, true}}};
  s.counts_curve = {true, 8, "EUR", {{4, 7.9, 4.7, 24.1}, {8, 7.3, 4.5, 23.1}, {12, 7.0, 4.5, 0}}};
  s.forces = {{"T11",
               "OP30",
               "T11 roughs",
               "op30.-.force.T11",
               {0, 1},
               {1, 2},
               {3, 4},
               {5, NAN},
               {1, 1},
               {2, 2},
               {3, 3},
               900,
               500}};
  s.slips.resize(1);
  s.slips[0].operation = "OP30";
  s.slips[0].contacts = {{"pad 1", {0, 0, 0}, {0, 0, 1}, 4000, 0.4, {1, 2, 3}, true}};
  s.jaws.resize(2);  // the second is not there
  s.jaws[0] = {true,
               "OP20",
               "op20.jaw.loose_part",
               "loose",
               2000,
               0.3,
               {-0.1, 0.1},
               {{"part 1", 5000, 1000, 9000, 0.02}},
               {{"part 1", 5000, 4000, 6000, 0}},
               "pads",
               {0},
               {1e-5}};
  s.lobes = {{"T13",
              "2",
              "T13 in the wall",
              "op30.-.sings.T13.2",
              {50, 60},
              {0.002, INFINITY},
              {0.001, 0.002},
              {0.003, 0.004},
              {},
              55,
              0.002,
              {}}};
  return s;
}

TEST(StudyText, SaysWhatWillComeOutAndWhatToMendFirst) {
  const study::Study s = invented();
  for (int width : {80, 100, 130}) {
    const std::string text = study_text(s, demo(0).plan, {false, width, false});
    for (const std::string& line : base::split(text, '\n'))
      EXPECT_LE(base::code_points(line), static_cast<std::size_t>(width)) << line;
    const std::size_t at = text.find("\nWhat will come out\n");
    ASSERT_NE(at, std::string::npos);
    for (const char* w :
         {"3.4 %    0.1 %   0.62  F2 to F4, coaxial", "mend first: turning over in OP30", "… and 1 more inside"})
      EXPECT_NE(text.find(w, at), std::string::npos) << w << "\n" << text.substr(at, 600);
    EXPECT_EQ(text.find("F1 depth", at), std::string::npos);
  }
  const std::string all = study_text(s, demo(0).plan, {false, 100, true});
  const std::size_t at = all.find("\nWhat will come out\n");
  EXPECT_NE(all.find("< 3 ppm    0.1 %   0.62  F1 depth", at), std::string::npos) << all.substr(at, 600);
  study::Study none = s;
  none.requirements.clear();
  EXPECT_EQ(study_text(none, demo(0).plan, {false, 100, true}).find("What will come out"), std::string::npos);
  // What nobody judged is open, not inside.
  none = s;
  for (auto& r : none.requirements) r.finding = "nowhere";
  EXPECT_NE(study_text(none, demo(0).plan, {false, 100, false}).find("□          < 3 ppm"), std::string::npos);
}

TEST(Diff, SaysWhatDiffersInTheWordsOfTheTrade) {
  const std::string text = diff_text(demo(0).plan, demo(0).study, demo(1).plan, demo(1).study, {false, 130, true});
  EXPECT_NE(text.find("pallet / screw 1 / torque: 22 N·m → 28 N·m\n"), std::string::npos) << text;
  EXPECT_NE(text.find("operation OP30 / zero: plate top → probed pins\n"), std::string::npos);
  EXPECT_NE(text.find("feature F4r: new: name spool bore, 0.20 under size"), std::string::npos);
  EXPECT_NE(text.find("operation OP20 / cut T20: gone, was: tool T20"), std::string::npos);
  EXPECT_NE(text.find("op20.E3.clean_up roughed end +X cleans up: new"), std::string::npos);
  EXPECT_EQ(text.find("feature F5"), std::string::npos);                 // the same in both
  EXPECT_NE(text.find("\nWVB-3 plan 0: Not yet. "), std::string::npos);  // each verdict by its plan
  EXPECT_NE(text.find("\nWVB-3 plan 1: "), std::string::npos);
  EXPECT_NE(text.find("\nA good part costs "), std::string::npos);
  const std::string same = diff_text(demo(0).plan, demo(0).study, demo(0).plan, demo(0).study, {false, 100, true});
  EXPECT_NE(same.find("What differs\n  nothing\n"), std::string::npos);
  EXPECT_NE(same.find("Findings that moved\n  none\n"), std::string::npos);
}

// ---- JSON -----------------------------------------------------------------------------------------------------------
void keys_of(const json& x, const std::string& path, std::set<std::string>& out) {
  if (x.is_array())
    for (const json& e : x) keys_of(e, path + "[]", out);
  if (!x.is_object()) return;
  for (const auto& [key, value] : x.items()) {
    std::string p = path;
    if (!p.empty()) p += '.';
    p += path == "castings[].stock" ? "*" : key;
    out.insert(p);
    keys_of(value, p, out);
  }
}
std::set<std::string> documented() {
  const auto text = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/docs/findings.md");
  EXPECT_TRUE(text.ok());
  std::set<std::string> out;
  for (const std::string& line : base::split(text.ok() ? *text : "", '\n')) {
    if (line.rfind("| `", 0) != 0) continue;
    const std::string cell = line.substr(2, line.find(" |", 2) - 2);
    for (const std::string& key : base::split(cell, ','))
      out.insert(std::string(base::trim(key)).substr(1, base::trim(key).size() - 2));
  }
  return out;
}
const char* const far_reach =
    "fettle = 1\n[plan]\nname = \"far\"\n[[lift]]\nid = \"box\"\nwhat = \"given mass\"\nmass = \"5 kg\"\n"
    "from = { reach = \"80 cm\", height = \"80 cm\" }\nto = { reach = \"30 cm\", height = \"90 cm\" }\n"
    "frequency = \"0.2 1/min\"\nhours = \"1 h\"\ncoupling = \"good\"\n";

TEST(Json, EveryKeyIsDocumentedAndEveryDocumentedKeyIsThere) {
  std::set<std::string> found;
  for (int n : {0, 1}) keys_of(json::parse(study_json(demo(n).study, demo(n).plan)), "", found);
  const Made open = made("plan-0.toml", {few, {"land_width = \"1.6 mm\"\n", ""}});
  keys_of(json::parse(study_json(open.study, open.plan)), "", found);
  auto far = plan::read_plan(far_reach, "far.toml", [](const std::string& path) { return base::read_file(path); });
  ASSERT_TRUE(far.ok());
  study::Memo memo;
  const auto s = study::run(*far, {}, {}, memo);
  ASSERT_TRUE(s.ok());
  keys_of(json::parse(study_json(*s, *far)), "", found);
  keys_of(json::parse(study_json(invented(), demo(0).plan)), "", found);
  const std::set<std::string> said = documented();
  for (const std::string& key : found) EXPECT_EQ(said.count(key), 1u) << key << " is not in docs/findings.md";
  for (const std::string& key : said) {
    if (key == "findings[].tool" || key == "findings[].nest") continue;  // no question of this version has them
    EXPECT_EQ(found.count(key), 1u) << key << " is documented and never written";
  }
}

TEST(Json, MechanicsKeepTheirNumbersAndSayNullForNone) {
  const json j = json::parse(study_json(invented(), demo(0).plan));
  ASSERT_EQ(j["forces"].size(), 1U);
  EXPECT_EQ(j["forces"][0]["hard"]["out"], json({3.0, 4.0}));
  EXPECT_TRUE(j["forces"][0]["hard"]["up"][1].is_null());
  EXPECT_EQ(j["forces"][0]["soft"]["up"], json({3.0, 3.0}));
  EXPECT_EQ(j["slips"][0]["contacts"][0]["force"], json({1.0, 2.0, 3.0}));
  EXPECT_EQ(j["slips"][0]["contacts"][0]["used"], 0.4);
  ASSERT_EQ(j["jaws"].size(), 1U) << "a jaw that is not there is not written";
  EXPECT_EQ(j["jaws"][0]["parts"][0]["loose"], 0.02);
  EXPECT_EQ(j["jaws"][0]["cured"][0]["low"], 4000.0);
  EXPECT_TRUE(j["lobes"][0]["limit"][1].is_null());
  EXPECT_TRUE(j["lobes"][0]["better_speed"].is_null());
  EXPECT_EQ(j["lobes"][0]["limit_low"], json({0.001, 0.002}));
}

TEST(Json, NumbersAreNumbersOrNothing) {
  const Made open = made("plan-0.toml", {few, {"land_width = \"1.6 mm\"\n", ""}});
  const json j = json::parse(study_json(open.study, open.plan));
  EXPECT_EQ(j["fettle_findings"], 1);
  int opened = 0, sum = 0;
  std::set<std::string> ids;
  for (const json& f : j["findings"]) {
    EXPECT_TRUE(ids.insert(f["id"]).second);
    if (f["state"] == "open") {
      ++opened;
      EXPECT_TRUE(f["value"].is_null());
      EXPECT_TRUE(f["margin"].is_null());
      EXPECT_FALSE(f["missing"].empty());
    } else if (f["state"] != "beyond") {
      EXPECT_TRUE(f["value"].is_number()) << f["id"];
      EXPECT_TRUE(f["margin"].is_number()) << f["id"];
    }
  }
  EXPECT_GT(opened, 0);
  for (const auto& [state, n] : j["counts"].items()) sum += n.get<int>();
  EXPECT_EQ(static_cast<std::size_t>(sum), j["findings"].size());
}

TEST(Json, RequirementsCycleAndCurve) {
  const json j = json::parse(study_json(invented(), demo(0).plan));
  ASSERT_EQ(j["requirements"].size(), 2u);
  const json &depth = j["requirements"][0], &coax = j["requirements"][1];
  EXPECT_EQ(coax["upper"], 5e-5);
  EXPECT_FALSE(coax.contains("lower"));
  EXPECT_FALSE(coax.contains("cp"));
  EXPECT_EQ(coax["unit"], "m");
  EXPECT_EQ(coax["histogram"]["shares"].size(), 6u);
  EXPECT_EQ(coax["contributors"][0]["buys"], 0.029);
  EXPECT_EQ(depth["cp"], 2);
  EXPECT_FALSE(depth.contains("histogram"));
  EXPECT_EQ(j["cycle"]["bars"][1]["waiting"], true);
  EXPECT_DOUBLE_EQ(j["count_curve"]["points"][0]["machine_time"].get<double>(), 474);
  EXPECT_TRUE(j["count_curve"]["points"][2]["cost"].is_null());
  study::Study none = invented();
  none.cycle.there = none.counts_curve.there = false;
  const json k = json::parse(study_json(none, demo(0).plan));
  EXPECT_FALSE(k.contains("cycle"));
  EXPECT_FALSE(k.contains("count_curve"));
}

TEST(Json, SameBytesWhateverTheThreadsAndTheLocale) {
  const std::string one = study_json(demo(0).study, demo(0).plan);
  for (int threads : {2, 4}) {
    study::Options o;
    o.threads = threads;
    const Made m = made("plan-0.toml", {few}, o);
    EXPECT_TRUE(study_json(m.study, m.plan) == one) << threads << " threads";
  }
  study::Options o;
  o.threads = 2, o.pictures = false;
  const Made m = made("plan-0.toml", {few}, o);
  const json bare = json::parse(study_json(m.study, m.plan)), whole = json::parse(one);
  EXPECT_TRUE(bare["findings"] == whole["findings"]) << "pictures change no finding";
  EXPECT_TRUE(m.study.lobes.empty() && !m.study.compliance.there) << "and are left out";
  ::setenv("LOCPATH", (std::string(fettle::test::binary_dir) + "/locales").c_str(), 1);
  const char* set = std::setlocale(LC_ALL, "de_DE.UTF-8");
  const std::string comma =
      set == nullptr ? "" : study_json(demo(0).study, demo(0).plan) + study_text(demo(0).study, demo(0).plan, {});
  std::setlocale(LC_ALL, "C");
  ::unsetenv("LOCPATH");
  if (set == nullptr) GTEST_SKIP() << "no locale with a decimal comma here (./check makes one)";
  EXPECT_TRUE(comma == one + study_text(demo(0).study, demo(0).plan, {}));
}

// ---- a folder of results --------------------------------------------------------------------------------------------
class Folder : public testing::Test {
 protected:
  void SetUp() override {
    const auto* info = testing::UnitTest::GetInstance()->current_test_info();
    dir = (fs::temp_directory_path() / ("fettle-results-" + std::string(info->name()))).string();
    fs::remove_all(dir);
  }
  void TearDown() override { fs::remove_all(dir); }
  Outcome<std::vector<std::string>> write(int n) {
    return write_results(demo(n).study, demo(n).plan, demo(n).data, dir);
  }
  std::string read(const std::string& name) {
    const auto t = base::read_file(dir + "/" + name);
    return t.ok() ? *t : "";
  }
  std::string dir;
};

TEST_F(Folder, HoldsTheWholeSetAndASecondRunChangesNoByte) {
  const auto first = write(0);
  ASSERT_TRUE(first.ok()) << say(first.problem());
  for (const char* name : {"findings.json", "findings.txt", "study.pdf", "margins.svg", "route.svg", "pallet-1.svg",
                           "locating-1.svg", "casting-1.svg"})
    EXPECT_TRUE(fs::exists(dir + "/" + name)) << name;
  EXPECT_EQ(read("findings.json"), study_json(demo(0).study, demo(0).plan));
  EXPECT_EQ(read("study.pdf").substr(0, 5), "%PDF-");
  std::map<std::string, std::string> before;
  for (const auto& e : fs::directory_iterator(dir)) before[e.path().filename().string()] = read(e.path().filename());
  ASSERT_TRUE(write(0).ok());
  std::map<std::string, std::string> after;
  for (const auto& e : fs::directory_iterator(dir)) after[e.path().filename().string()] = read(e.path().filename());
  EXPECT_TRUE(before == after);
}

TEST_F(Folder, HoldsThePicturesOfWhatComesOut) {
  const auto written = write_results(invented(), demo(0).plan, demo(0).data, dir);
  ASSERT_TRUE(written.ok()) << say(written.problem());
  for (const char* name : {"spread.svg", "mending.svg", "cycle.svg", "count-curve.svg"})
    EXPECT_TRUE(fs::exists(dir + "/" + name)) << name;
  const std::string curve = read("count-curve.svg"), spread = read("spread.svg"), cycle = read("cycle.svg");
  EXPECT_NE(spread.find("1 of 2 requirements"), std::string::npos);
  EXPECT_NE(cycle.find("Of 61 min without work: person 15 min."), std::string::npos);
  EXPECT_NE(curve.find("With 8 parts: 7.3 min of machine and 4.5 min of a person a part, 23.10 EUR a good part."),
            std::string::npos);
}

TEST_F(Folder, AForeignFileIsNeverOverwritten) {
  fs::create_directories(dir);
  ASSERT_TRUE(base::write_file(dir + "/study.pdf", "mine").ok());
  const auto refused = write(0);
  ASSERT_FALSE(refused.ok());
  EXPECT_NE(say(refused.problem()).find("study.pdf"), std::string::npos);
  EXPECT_EQ(read("study.pdf"), "mine");
  EXPECT_FALSE(fs::exists(dir + "/findings.json"));  // nothing else either
}

TEST_F(Folder, DrawingsThatAreNoLongerMadeGo) {
  ASSERT_TRUE(write(0).ok());
  ASSERT_TRUE(base::write_file(dir + "/mine.txt", "mine").ok());
  const Made bare =
      made("plan-0.toml", {few, {"[casting.measured]\ntable = \"castings.csv\"\n", "[casting.measured]\n"}});
  ASSERT_TRUE(write_results(bare.study, bare.plan, bare.data, dir).ok());
  EXPECT_FALSE(fs::exists(dir + "/casting-1.svg"));
  EXPECT_EQ(read("mine.txt"), "mine");
}

}  // namespace
}  // namespace fettle::cli
