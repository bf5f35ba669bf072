// Chatter in the demo plan, and what was tapped.
#include <gtest/gtest.h>

#include <cmath>

#include "calc/chatter/wav.h"
#include "study/chatter_readings.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::State;

Options chatter_only(bool bands = true) {
  Options o = demo::quick();
  o.only = {"chatter"};
  o.bands = bands;
  return o;
}
/// The pallet's operation in a vise: tools alone, so that nothing here stands on the pallet's model.
demo::Run in_a_vise(const std::vector<demo::Edit>& more = {}, bool bands = true) {
  std::vector<demo::Edit> edits{{"kind = \"pallet\"", "kind = \"vise\""}};
  edits.insert(edits.end(), more.begin(), more.end());
  return demo::demo(edits, chatter_only(bands));
}
std::string lever(const finding::Finding& f, const std::string& key) {
  for (const auto& l : f.levers)
    if (l.key == key) return l.text;
  return {};
}

TEST(Chatter, OneFindingPerToolWithItsBands) {
  const demo::Run r = in_a_vise();
  std::map<std::string, int> count;
  for (const auto& f : r.study.findings) {
    if (f.question != "chatter") continue;
    ++count[f.operation + f.tool];
    if (f.state == State::open) continue;
    EXPECT_NE(f.title.find("tool alone"), std::string::npos);
    EXPECT_NE(f.sentence.find("vise"), std::string::npos) << "what is left out is said";
    EXPECT_NE(f.sentence.find("Without the flank's rubbing"), std::string::npos);
    EXPECT_NE(lever(f, "cut.depth").empty(), lever(f, "cut.width").empty()) << "one of the two, by the kind of cut";
    EXPECT_GE(f.assumptions.size(), 4U);
    if (f.state == State::beyond) {
      EXPECT_NE(f.range.find("Cheapest test"), std::string::npos);
    }
  }
  EXPECT_GE(count.size(), 5U);
  for (const auto& [key, n] : count) EXPECT_EQ(n, 1) << key;
}

TEST(Chatter, NeverInsideWithoutTheStickOut) {
  const demo::Run r = in_a_vise();
  const auto f = r.at("op10a.E1.chatter.T1");
  EXPECT_EQ(f.operation, "OP10a");
  if (f.state == State::open) {
    ASSERT_FALSE(f.missing.empty());
    EXPECT_NE(f.missing.front().find("stick_out"), std::string::npos);
  }
  for (const auto& x : r.study.findings)
    if (x.question == "chatter" && x.tool == "T1") {
      EXPECT_NE(x.state, State::inside);
    }
}

TEST(Chatter, SameStatedValueWithoutBands) {
  const demo::Run with = in_a_vise(), without = in_a_vise({}, false);
  for (const auto& f : with.study.findings) {
    if (f.question != "chatter" || f.state == State::open) continue;
    EXPECT_EQ(without.at(f.id).value, f.value) << f.id;
  }
}

std::string tap_table(const char* header, bool comma) {
  std::string t = std::string(header) + "\n";
  for (double f = 300; f < 2000; f += 5) {
    const double r = f / 900, re = 1 - r * r, im = 0.06 * r, d = (re * re + im * im) * 25;
    std::string line = base::shortest(f) + ";" + base::shortest(re / d) + ";" + base::shortest(-im / d);
    if (comma)
      for (char& c : line)
        if (c == '.') c = ',';
    t += line + "\n";
  }
  return t;
}

TEST(ChatterReadings, TapTestTables) {
  const auto t = read_tap_test(tap_table("frequency [Hz];real [µm/N];imaginary [µm/N]", false), "t11.csv");
  ASSERT_TRUE(t.ok()) << say(t.problem());
  const auto fit = chatter::fit_tap_test(*t);
  ASSERT_TRUE(fit.ok) << fit.why;
  ASSERT_EQ(fit.modes.size(), 1U);
  EXPECT_NEAR(fit.modes[0].frequency, 900, 0.01);
  EXPECT_NEAR(fit.modes[0].damping, 0.03, 1e-5);
  EXPECT_NEAR(fit.modes[0].stiffness, 25e6, 1e3);
  const auto magnitude =
      read_tap_test("frequency [Hz];magnitude [nm/N];phase [deg]\n100;40;0\n200;50;-90\n", "t11.csv");
  ASSERT_TRUE(magnitude.ok()) << say(magnitude.problem());
  EXPECT_NEAR(magnitude->real[0], 40e-9, 1e-20);
  EXPECT_NEAR(magnitude->imaginary[1], -50e-9, 1e-20);
  for (const char* wrong :
       {"frequency [Hz];real;imaginary\n1;2;3\n", "frequency [Hz];real [mm];imaginary [mm]\n1;2;3\n",
        "frequency;real [m/N];imaginary [m/N]\n1;2;3\n", "real [m/N];imaginary [m/N]\n2;3\n",
        "frequency [Hz];other [m/N]\n1;2\n", "frequency [Hz];real [m/N];imaginary [m/N]\n1;x;3\n"}) {
    const auto no = read_tap_test(wrong, "t11.csv");
    ASSERT_FALSE(no.ok()) << wrong;
    EXPECT_EQ(no.problem().where.file, "t11.csv");
  }
}

TEST(ChatterReadings, ASquealSpeaksInTheFinding) {
  const std::string text = demo::edited(demo::text_of("plan-0.toml"), {{"kind = \"pallet\"", "kind = \"vise\""}}) +
                           "\n[[reading]]\nid = \"sings\"\nkind = \"squeal\"\nfile = \"sings.wav\"\ntool = \"T11\"\n";
  const auto plan = demo::read(text);
  ASSERT_TRUE(plan.ok()) << say(plan.problem());
  const auto study_with = [&](double tone, const char* bytes) {
    std::vector<double> x(96000);
    for (std::size_t i = 0; i < x.size(); ++i)
      x[i] = 0.3 * std::sin(2 * 3.14159265358979 * tone * static_cast<double>(i) / 48000);
    Data data = load_data(*plan);
    data.files["sings.wav"] = bytes != nullptr ? std::string(bytes) : chatter::write_wav(x, 48000);
    Memo memo;
    const auto s = run(*plan, data, chatter_only(false), memo);
    EXPECT_TRUE(s.ok());
    for (const auto& f : s->findings)
      if (f.question == "chatter" && f.tool == "T11") return f;
    ADD_FAILURE() << "no finding of T11";
    return finding::Finding{};
  };
  const auto sings = study_with(634.2, nullptr);
  EXPECT_NE(sings.sentence.find("chatters at 634."), std::string::npos) << sings.sentence;
  EXPECT_NE(sings.state, State::inside);
  const auto broken = study_with(0, "RIFF");
  bool said = false;
  for (const auto& i : broken.inputs) said = said || i.text.find("says nothing") != std::string::npos;
  EXPECT_TRUE(said);
}

}  // namespace
}  // namespace fettle::study
