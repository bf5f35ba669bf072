// Chatter in the demo plan, and what was tapped.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <map>

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

struct Told1 {
  Study study;
  finding::Finding f;
  std::string inputs;
};
/// The demo with readings and changes, its chatter studied; the finding of `tool`, and all its inputs in one string.
Told1 told(const std::string& readings, const std::map<std::string, std::string>& files, const std::string& tool,
           const std::function<void(plan::Plan&)>& change = {}, bool full = false) {
  Told1 out;
  auto plan = demo::read(demo::text_of("plan-0.toml") + readings);
  EXPECT_TRUE(plan.ok()) << say(plan.problem());
  if (!plan.ok()) return out;
  if (change) change(plan.value());
  Data data = load_data(*plan);
  for (const auto& [name, bytes] : files) data.files[name] = bytes;
  Options o = chatter_only();
  o.monte_carlo = full;
  Memo memo;
  auto s = run(*plan, data, o, memo);
  EXPECT_TRUE(s.ok());
  if (!s.ok()) return out;
  out.study = std::move(s.value());
  for (const auto& f : out.study.findings)
    if (f.question == "chatter" && f.tool == tool) out.f = f;
  for (const auto& i : out.f.inputs) out.inputs += i.name + ": " + i.text + "\n";
  return out;
}
std::string reading(const char* id, const char* kind, const char* file, const char* more) {
  return std::string("\n[[reading]]\nid = \"") + id + "\"\nkind = \"" + kind + "\"\nfile = \"" + file + "\"\n" + more +
         "\n";
}
std::string ring(double hertz, double damping) {
  std::vector<double> x(48000);
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double t = std::fmod(static_cast<double>(i) / 48000, 0.3) - 0.05;
    const double w = 2 * 3.14159265358979 * hertz;
    if (t > 0) x[i] = 0.5 * std::exp(-damping * w * t) * std::sin(w * t);
  }
  return chatter::write_wav(x, 48000);
}

TEST(ChatterReadings, DirectionsOfATappedTool) {
  const std::string soft = tap_table("frequency [Hz];real [µm/N];imaginary [µm/N]", false);
  std::string stiff = soft;
  {
    std::string t = "frequency [Hz];real [µm/N];imaginary [µm/N]\n";
    for (double f = 300; f < 2000; f += 5) {
      const double r = f / 900, re = 1 - r * r, im = 0.06 * r, d = (re * re + im * im) * 250;
      t += base::shortest(f) + ";" + base::shortest(re / d) + ";" + base::shortest(-im / d) + "\n";
    }
    stiff = t;
  }
  const std::map<std::string, std::string> files{{"soft.csv", soft}, {"stiff.csv", stiff}};
  const char* in_x = "tool = \"T11\"\ndirection = \"x\"";
  const char* in_y = "tool = \"T11\"\ndirection = \"y\"";
  const Told1 x = told(reading("a", "tap test", "soft.csv", in_x), files, "T11");
  EXPECT_NE(x.inputs.find("x as tapped (soft.csv"), std::string::npos) << x.inputs;
  EXPECT_NE(x.inputs.find("y taken the same"), std::string::npos) << x.inputs;
  const Told1 both =
      told(reading("a", "tap test", "soft.csv", in_x) + reading("b", "tap test", "stiff.csv", in_y), files, "T11");
  EXPECT_NE(both.inputs.find("y as tapped (stiff.csv"), std::string::npos) << both.inputs;
  EXPECT_GT(both.f.value, x.f.value * 1.01) << "stiff one way is better than soft both ways";
  const Told1 any = told(reading("a", "tap test", "soft.csv", "tool = \"T11\"\nnest = 2"), files, "T11");
  EXPECT_NEAR(any.f.value, x.f.value, 1e-9 * x.f.value);
  EXPECT_NE(any.inputs.find("its nest is not used"), std::string::npos) << any.inputs;
  const Told1 twice =
      told(reading("a", "tap test", "soft.csv", in_x) + reading("b", "tap test", "stiff.csv", in_x), files, "T11");
  EXPECT_NE(twice.inputs.find("another reading speaks"), std::string::npos) << twice.inputs;
}

TEST(ChatterReadings, ModesOfThePlanByDirection) {
  const auto with = [](const char* first, const char* second) {
    return [=](plan::Plan& p) {
      for (plan::Tool& t : p.shop.tools)
        if (t.id.value == "T11")
          for (const char* d : {first, second}) {
            if (d == nullptr) continue;
            plan::ToolMode m;
            m.frequency.si = 900, m.damping.si = 0.03, m.stiffness.si = d == first ? 25e6 : 250e6;
            m.direction = t.id;
            m.direction.value = d;
            t.modes.push_back(m);
          }
    };
  };
  const Told1 x = told("", {}, "T11", with("x", nullptr)), both = told("", {}, "T11", with("x", "y"));
  EXPECT_NE(x.inputs.find("x by the plan's modes, y taken the same"), std::string::npos) << x.inputs;
  EXPECT_GT(both.f.value, 1.01 * x.f.value);
  const Told1 up = told("", {}, "T11", with("z", nullptr));
  EXPECT_NE(up.inputs.find("swaying that way makes no chip"), std::string::npos) << up.inputs;
  EXPECT_NE(up.inputs.find("estimated from its stick-out"), std::string::npos) << up.inputs;
}

TEST(ChatterReadings, ThePalletTappedAtANest) {
  const Told1 t = told(reading("tap", "tap recording", "tap.wav", "nest = 2\ndirection = \"x\""),
                       {{"tap.wav", ring(500, 0.02)}}, "T11");
  EXPECT_NE(t.inputs.find("tap.wav, in nest 2, along x: 500.0 Hz"), std::string::npos) << t.inputs;
  EXPECT_NE(t.inputs.find("computed loudest there"), std::string::npos) << t.inputs;
  bool measured = false;
  for (const auto& a : t.f.assumptions)
    if (a.key == "pallet.damping") measured = std::fabs(a.value - 0.02) < 1e-3 && a.source == "measured: tap.wav";
  EXPECT_TRUE(measured);
  const Told1 nowhere =
      told(reading("tap", "tap recording", "tap.wav", "nest = 99"), {{"tap.wav", ring(500, 0.02)}}, "T11");
  EXPECT_NE(nowhere.inputs.find("there is no nest 99"), std::string::npos) << nowhere.inputs;
}

TEST(ChatterReadings, ASquealIsHeldAgainstItsNest) {
  std::vector<double> x(96000);
  for (std::size_t i = 0; i < x.size(); ++i)
    x[i] = 0.3 * std::sin(2 * 3.14159265358979 * 634.2 * static_cast<double>(i) / 48000);
  const std::map<std::string, std::string> files{{"s.wav", chatter::write_wav(x, 48000)}};
  const Told1 t = told(reading("s", "squeal", "s.wav", "tool = \"T11\"\nnest = 4\ndirection = \"z\""), files, "T11");
  EXPECT_NE(t.inputs.find("chatters in nest 4 at 634."), std::string::npos) << t.inputs;
  EXPECT_NE(t.inputs.find("computed in nest 4: quiet to"), std::string::npos) << t.inputs;
  EXPECT_NE(t.inputs.find("its direction is not used"), std::string::npos) << t.inputs;
  const Told1 none = told(reading("s", "squeal", "s.wav", "nest = 4"), files, "T11");
  bool said = false;
  for (const auto& n : none.study.notices) said = said || n.find("say which tool squealed") != std::string::npos;
  EXPECT_TRUE(said);
}

TEST(Chatter, BoringBars) {
  const auto out = [](double length) {
    return [=](plan::Plan& p) {
      for (plan::Tool& t : p.shop.tools)
        if (t.id.value == "T14") t.stick_out.si = length;
    };
  };
  const Told1 stubby = told("", {}, "T14"), slender = told("", {}, "T14", out(0.35));
  EXPECT_FALSE(lever(stubby.f, "cut.width").empty());
  EXPECT_NE(stubby.inputs.find("0.7 of the bore"), std::string::npos) << stubby.inputs;
  bool corner = false;
  for (const auto& a : stubby.f.assumptions) corner = corner || a.key == "tool.corner_radius";
  EXPECT_TRUE(corner);
  EXPECT_LT(slender.f.value, stubby.f.value);
  EXPECT_NE(slender.f.state, State::inside) << slender.f.sentence;
  EXPECT_NE(slender.f.sentence.find("of stock a side"), std::string::npos);
  const Told1 silent = told("", {}, "T14", [](plan::Plan& p) {
    for (plan::Tool& t : p.shop.tools)
      if (t.id.value == "T14") t.stick_out = {};
  });
  EXPECT_EQ(silent.f.state, State::open);
}

TEST(Chatter, LightCutsToothByToothAndEveryNest) {
  const Told1 quick = told("", {}, "T15"), full = told("", {}, "T15", {}, true);
  EXPECT_NE(quick.inputs.find("only the full study goes tooth by tooth"), std::string::npos) << quick.inputs;
  EXPECT_NE(full.inputs.find("tooth by tooth (multipliers)"), std::string::npos) << full.inputs;
  // T12's flutes lean by more than a spacing over its depth: some are always in the metal, and averaging holds.
  EXPECT_EQ(told("", {}, "T12", {}, true).inputs.find("tooth by tooth"), std::string::npos);
  std::map<std::string, int> nests;
  for (const NestLimit& n : full.study.nest_limits) {
    ++nests[n.operation + n.tool];
    EXPECT_GT(n.limit, 0);
    EXPECT_GT(n.asked, 0);
    EXPECT_FALSE(n.soft.empty());
    EXPECT_NE(n.state, State::open);
  }
  EXPECT_GE(nests.size(), 5U);
  for (const auto& [tool, n] : nests) EXPECT_EQ(n, 4) << tool;
}

}  // namespace
}  // namespace fettle::study
