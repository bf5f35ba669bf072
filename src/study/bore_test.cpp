// Findings on the demo's spool bore, against sums done here; and what they say when something is not known.
#include <cmath>

#include "maths/statistics.h"
#include "published.h"
#include "study/bore_model.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::Finding;
using finding::State;
using test::How;
using test::published;

const demo::Run& plan_0() {
  static const demo::Run r = demo::demo();
  return r;
}
/// The demo with another text for one of its files of readings.
Outcome<Study> with_file(const std::string& file, const std::string& text, const std::vector<demo::Edit>& edits = {}) {
  const auto p = demo::read(demo::edited(demo::text_of("plan-0.toml"), edits));
  EXPECT_TRUE(p.ok());
  Data data = load_data(*p);
  if (text.empty()) {
    data.files.erase(file);
    data.not_read[file] = "no such file";
  } else {
    data.files[file] = text;
  }
  Memo memo;
  return run(*p, data, demo::quick(), memo);
}
std::string problem_with(const std::string& file, const std::string& text) {
  const auto s = with_file(file, text);
  return s.ok() ? "read" : say(s.problem());
}
bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }
const Finding* find(const Study& s, const std::string& id) {
  for (const Finding& f : s.findings)
    if (f.id == id) return &f;
  return nullptr;
}

/// The demo with a text of its shop file changed.
Study with_shop(const std::string& from, const std::string& to) {
  const auto p = plan::read_plan(demo::text_of("plan-0.toml"), demo::folder() + "plan-0.toml",
                                 [&](const std::string& path) -> Outcome<std::string> {
                                   auto text = base::read_file(path);
                                   if (text.ok() && has(path, "shop.toml")) return demo::edited(*text, {{from, to}});
                                   return text;
                                 });
  EXPECT_TRUE(p.ok());
  Memo memo;
  auto s = run(*p, load_data(*p), demo::quick(), memo);
  EXPECT_TRUE(s.ok());
  return s.ok() ? std::move(s.value()) : Study{};
}

TEST(Bores, OnlyACloseBoreIsAskedAbout) {
  // F2 (IT8), F7 (IT7) and F8 are no bores to a few micrometres; nothing new is asked of them.
  for (const Finding& f : plan_0().study.findings)
    for (const char* q : {"aim", "lost", "gauge", "gauge_study", "trend", "warm", "hone_list", "finish"})
      if (f.question == q) {
        EXPECT_EQ(f.feature, "F4") << f.id;
      }
  for (const char* name : {"../01-bracket-inch.toml", "../02-cover.toml"})
    for (const Finding& f : demo::run(demo::text_of(name), demo::quick(), nullptr, "", name).study.findings)
      EXPECT_NE(f.question, "gauge") << name;
}

TEST(Bores, WhatNothingCanMend) {
  // Mean 3.033 µm above 22, s 2.0 and gauge 0.6: above 22.009 - 1.65 x 0.6; and honed ones at 4.5 that end too large.
  const double spread = std::hypot(2.0, 0.6), mean = 72.8 / 24;
  const double large = maths::normal_cdf(-(9 - 0.99 - mean) / spread),
               small = maths::normal_cdf((0.99 - mean) / spread);
  const double honed = std::hypot(1.0, 0.6), over = maths::normal_cdf(-(8.01 - 4.5) / honed);
  const Finding f = plan_0().at("op20.F4.lost");
  published("study", "share of the demo's spool bores that no hone can mend", "normal tails, multiplied out by hand",
            How::computed, large + small * over / (1 - over), f.value, 1e-9);
  EXPECT_EQ(f.state, State::outside);
  // The lever: the aim at which a share of 0.1 % is too large, and the way it goes in words.
  ASSERT_FALSE(f.levers.empty());
  EXPECT_NEAR(f.levers[0].flip * 1e6, 22000 + 8.01 + maths::normal_quantile(0.001) * spread, 1e-3);
  EXPECT_TRUE(has(f.levers[0].text, "SMALLER")) << f.levers[0].text;
}

TEST(Bores, AimedSmallIsRightAndAimedAtTheMiddleIsNot) {
  // common practice: a bore to a few micrometres is aimed small and honed, never aimed large.
  EXPECT_NE(plan_0().at("op20.F4.aim").state, State::outside);
  const auto set_to = [](const char* aim) {
    return demo::demo({{"length = \"21 mm\"\ntime = \"0.175 min\"",
                        std::string("length = \"21 mm\"\ntime = \"0.175 min\"\naim = \"") + aim + "\""}});
  };
  const Finding middle = set_to("22.0045 mm").at("op20.F4.aim");
  EXPECT_EQ(middle.state, State::outside);
  ASSERT_FALSE(middle.levers.empty());
  EXPECT_TRUE(has(middle.levers[0].text, "SMALLER")) << middle.levers[0].text;
  EXPECT_LT(middle.levers[0].flip, 22.0045e-3);
  const Finding large = set_to("22.007 mm").at("op20.F4.aim");
  EXPECT_EQ(large.state, State::outside);
  EXPECT_LT(large.margin, middle.margin);
  const Finding tiny = set_to("21.998 mm").at("op20.F4.aim");
  EXPECT_EQ(tiny.state, State::outside);
  EXPECT_TRUE(has(tiny.levers[0].text, "BIGGER")) << tiny.levers[0].text;
  // With an aim said, the readings are held against it.
  const Finding on = set_to("22.003 mm").at("op20.F4.on_aim");
  EXPECT_EQ(on.state, State::inside);
  EXPECT_TRUE(has(on.sentence, "leave the offset alone")) << on.sentence;
  const Finding off = set_to("22.0055 mm").at("op20.F4.on_aim");
  EXPECT_EQ(off.state, State::outside);
  EXPECT_TRUE(has(off.sentence, "BIGGER")) << off.sentence;
}

TEST(Bores, WhatIsLostWithAPartIsWhatWasPutIntoItByThen) {
  const auto p = demo::read(demo::text_of("plan-0.toml"));
  ASSERT_TRUE(p.ok());
  const auto worth = worth_after(*p, plan::find_operation(*p, "OP20"));
  ASSERT_TRUE(worth.has_value());
  EXPECT_TRUE(worth->whole);
  EXPECT_GT(worth->value, 9.80 + 2.40);  // casting and grinding
  EXPECT_LT(worth->value, 30);
  EXPECT_GT(worth_after(*p, plan::find_operation(*p, "OP30"))->value, worth->value);
  const auto hone = cost_of_hone(*p, *plan::find_operation(*p, "OP40"));
  ASSERT_TRUE(hone.has_value());
  EXPECT_NEAR(*hone, 1.10 + 1.5 / 60 * 38, 1e-9);
  EXPECT_EQ(currency_word(*p), "EUR");
}

TEST(Bores, TheAimIsSaidNoFinerThanTheGaugeCanTell) {
  for (const auto& i : plan_0().at("op20.F4.aim").inputs)
    if (i.name == "cheapest aim") {
      const double steps = (i.si - 22e-3) / 0.5e-6;
      EXPECT_NEAR(steps, std::round(steps), 1e-6) << i.text;
      EXPECT_TRUE(has(i.text, "no finer than 0.50 µm")) << i.text;
    }
}

TEST(Bores, NoTrendInTheDemosReadings) {
  const Finding f = plan_0().at("op20.F4.trend");
  EXPECT_EQ(f.state, State::inside);
  EXPECT_TRUE(has(f.sentence, "No trend in 24 readings over 2 settings")) << f.sentence;
  published("study", "drift of the demo's last 24 bores over one stretch of 12, µm",
            "least squares of two levels and one slope, 12 x 0.10979", How::computed, 12 * 0.10979020979, f.value * 1e6,
            1e-8);
}

/// The demo's readings with something added to each.
std::string run_file(double drift, double step = 0) {
  const auto lines = base::split(demo::text_of("f4-run.csv"), '\n');
  std::string out = lines[0] + "\n";
  for (std::size_t i = 1; i < lines.size(); ++i) {
    const auto cells = base::split(lines[i], ',');
    if (cells.size() != 3) continue;
    const double n = static_cast<double>((i - 1) % 12);
    const double x = *base::to_double(cells[2]) + drift * n + (cells[1] == "2" ? step : 0);
    out += cells[0] + "," + cells[1] + "," + base::fixed(x, 5) + "\n";
  }
  return out;
}

TEST(Bores, ARealDriftIsSaid) {
  const auto s = with_file("f4-run.csv", run_file(-0.0004));
  ASSERT_TRUE(s.ok());
  const Finding* f = find(*s, "op20.F4.trend");
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->state, State::outside);
  EXPECT_TRUE(has(f->sentence, "the bores get smaller")) << f->sentence;
  ASSERT_FALSE(f->levers.empty());
  EXPECT_TRUE(has(f->levers[0].text, "set the tool anew every")) << f->levers[0].text;
  const auto step = with_file("f4-run.csv", run_file(0, 0.004));
  EXPECT_EQ(find(*step, "op20.F4.trend")->state, State::outside);
  EXPECT_TRUE(has(find(*step, "op20.F4.trend")->sentence, "level changes at a reset"));
}

TEST(Bores, GaugeStudyAndGauge) {
  const Finding f = plan_0().at("op20.F4.gauge_study");
  EXPECT_EQ(f.state, State::outside);
  // By hand from the sums of squares: interaction and repeatability apart (p 0.15 is below 0.25).
  const double ms_i = 4.23625 / 9, ms_e = 5.515 / 20, ms_a = 1.05625;
  const double gauge = std::sqrt(ms_e + (ms_i - ms_e) / 2 + (ms_a - ms_i) / 20);
  published("study", "gauge study of the demo's spool bore: 6 gauge / tolerance", "sums of squares by hand",
            How::computed, 6 * gauge / 9, f.value, 1e-6);
  EXPECT_LT(*f.low, f.value);
  EXPECT_GT(*f.high, f.value);
  const Finding g = plan_0().at("op20.F4.gauge");
  EXPECT_EQ(g.state, State::tight);
}

TEST(Bores, WarmPartsOnAColdRing) {
  const Finding f = plan_0().at("op20.F4.warm");
  EXPECT_EQ(f.state, State::tight);
  EXPECT_EQ(f.worst, "temperature of the ring");
  published("study", "spool bore 6 K warm against a ring 3 K warm reads too large by, µm",
            "22.0045 x (10.5 x 6 - 11.5 x 3) / 1000, by hand", How::computed, 22.0045 * (10.5 * 6 - 11.5 * 3) / 1000,
            f.value * 1e6, 1e-6);
}

TEST(Bores, TheFinishOfBoresThatAreNotHoned) {
  const Finding open = plan_0().at("op20.F4.finish");
  EXPECT_EQ(open.state, State::open);
  EXPECT_TRUE(has(open.sentence, "tool.corner_radius of T20")) << open.sentence;
  const std::string from = "name = \"finish bore 22\"\n";
  const auto with_nose = [&](const char* radius) {
    const Study s = with_shop(from, from + "corner_radius = \"" + radius + "\"\n");
    const Finding* f = find(s, "op20.F4.finish");
    EXPECT_NE(f, nullptr);
    return f != nullptr ? *f : Finding{};
  };
  // 120 mm/min at 2000 rpm: 0.06 mm a turn.
  published("study", "Ra of the demo's spool bore, nose 0.8 mm, µm", "0.0321 f²/r x 1.5, by hand", How::computed,
            1.5 * 0.0320750 * 0.06 * 0.06 / 0.8 * 1000, with_nose("0.8 mm").value * 1e6, 1e-4);
  EXPECT_EQ(with_nose("0.8 mm").state, State::inside);
  EXPECT_EQ(with_nose("0.4 mm").state, State::outside);
  bool all = false;
  for (const auto& l : with_nose("0.4 mm").levers) all = all || has(l.text, "hone every bore");
  EXPECT_TRUE(all);
}

TEST(Bores, HoneList) {
  const Finding f = plan_0().at("op40.F4.hone_list");
  EXPECT_EQ(f.state, State::inside);
  EXPECT_TRUE(has(f.sentence, "22 pass, 2 go to the hone")) << f.sentence;
  EXPECT_TRUE(has(f.sentence, "no. 4 3.5 µm")) << f.sentence;  // 4.5 - 0.9 = 3.6, in steps of 0.5
  const auto s =
      with_file("f4-run.csv", "no,F4 above 22 [mm]\n1,0.004\n2,0.005\n3,0.003\n4,0.0062\n5,0.0011\n6,0.0105\n");
  ASSERT_TRUE(s.ok());
  EXPECT_EQ(find(*s, "op40.F4.hone_list")->state, State::outside);
  EXPECT_TRUE(has(find(*s, "op40.F4.hone_list")->sentence, "1 are too large"));
}

TEST(Bores, WhatIsNotKnownStaysOpenAndSaysWhatToGive) {
  const auto open = [](const demo::Run& r, const char* id, const char* word) {
    const Finding f = r.at(id);
    EXPECT_EQ(f.state, State::open) << id;
    bool said = false;
    for (const std::string& m : f.missing) said = said || has(m, word);
    EXPECT_TRUE(said) << id << ": " << f.sentence;
  };
  const std::string run = "[[reading]]\nid = \"F4 last 24\"\nkind = \"run\"\nfile = \"f4-run.csv\"\nfeature = \"F4\"\n";
  const std::string study =
      "[[reading]]\nid = \"F4 gauge study\"\nkind = \"gauge study\"\nfile = \"f4-gauge-study.csv\"\nfeature = \"F4\"\n";
  const std::string scatter =
      "[[spread]]\nid = \"F4 as bored\"\nof = \"size of the spool bore before the hone\"\noperation = \"OP20\"\nvalue "
      "= "
      "\"s 2.0 µm\"\nmoves = \"F4\"\nreplaces = \"size\"\ndrawn = \"part\"\n";
  open(demo::demo({{run, ""}}), "op20.F4.trend", "run order");
  open(demo::demo({{study, ""}}), "op20.F4.gauge_study", "gauge study");
  const demo::Run neither = demo::demo({{run, ""}, {scatter, ""}});
  for (const char* id : {"op20.F4.aim", "op20.F4.lost", "op20.F4.gauge"}) open(neither, id, "run order");
  open(demo::demo({{"price = \"9.80 EUR\"\n", ""}}), "op20.F4.aim", "casting.price");
  const Study no_gauge = with_shop("features = [\"F4\"]\nuncertainty = \"0.6 µm\"\n", "");
  for (const char* id : {"op20.F4.aim", "op20.F4.lost", "op20.F4.gauge", "op20.F4.warm"}) {
    const Finding* f = find(no_gauge, id);
    ASSERT_NE(f, nullptr) << id;
    EXPECT_EQ(f->state, State::open) << id;
    EXPECT_TRUE(has(f->sentence, "gauge.uncertainty")) << f->sentence;
  }
  // A gauge twice as good, and one that cannot judge this bore at all.
  const Study better = with_shop("uncertainty = \"0.6 µm\"", "uncertainty = \"0.3 µm\"");
  EXPECT_LT(find(better, "op20.F4.gauge")->value, plan_0().at("op20.F4.gauge").value);
  const Study useless = with_shop("uncertainty = \"0.6 µm\"", "uncertainty = \"3 µm\"");
  for (const char* id : {"op20.F4.aim", "op20.F4.lost", "op20.F4.gauge"})
    EXPECT_EQ(find(useless, id)->state, State::open);
  // From the readings alone the scatter has a band, and the bore is judged with it.
  const Finding learned = demo::demo({{scatter, ""}}).at("op20.F4.lost");
  EXPECT_NE(learned.state, State::inside);
  EXPECT_EQ(learned.assumptions.at(0).name, "scatter of the bores");
  EXPECT_NEAR(learned.assumptions[0].value * 1e6, std::sqrt(57.593333 / 22 - 0.36), 1e-4);
  EXPECT_GT(learned.assumptions[0].margin_at_low, 0);
  EXPECT_LT(learned.assumptions[0].margin_at_high, 0);
  // Without a hone what is too small is lost as well.
  const demo::Run no_hone =
      demo::demo({{"kind = \"hone\"\nmachine = \"hone\"", "kind = \"other\"\nmachine = \"hone\""}});
  EXPECT_GT(no_hone.at("op20.F4.lost").value, 0.1);
  EXPECT_TRUE(has(no_hone.at("op20.F4.lost").sentence, "too small is lost as well"));
}

TEST(Bores, BadTablesHaveTheirPlace) {
  EXPECT_TRUE(has(problem_with("f4-run.csv", ""), "plan-0.toml:")) << problem_with("f4-run.csv", "");
  EXPECT_TRUE(has(problem_with("f4-run.csv", ""), "no such file"));
  EXPECT_TRUE(has(problem_with("f4-run.csv", "no,F4 above 22\n1,0.003\n"), "f4-run.csv:1:4: no unit"));
  EXPECT_TRUE(has(problem_with("f4-run.csv", "no,F4 [mm]\n1,22.003\n2,0.004\n"), "f4-run.csv:3:3: a reading is far"));
  EXPECT_TRUE(has(problem_with("f4-run.csv", "no,a [mm],b [mm]\n1,22.003,22\n"), "no column holds the sizes of F4"));
  EXPECT_TRUE(has(problem_with("f4-gauge-study.csv", "person,trial,reading [µm]\nP,1,2\n"), "a gauge study needs"));
  EXPECT_TRUE(has(problem_with("f4-gauge-study.csv", "person,trial,part,reading [µm]\nP,1,1,2\nP,1,1,3\n"),
                  "f4-gauge-study.csv:3:1: this person read this part in this trial twice"));
  EXPECT_TRUE(has(problem_with("f4-gauge-study.csv", "person,trial,part,reading [µm]\nP,1,1,2\nP,2,1,3\nP,1,2,3\n"),
                  "a reading of the gauge study is missing"));
  // Decimal commas and semicolons, and too few to say anything.
  const auto few = with_file("f4-run.csv", "Nr;F4 above 22 [mm]\n1;0,0031\n2;0,0042\n");
  ASSERT_TRUE(few.ok());
  EXPECT_EQ(find(*few, "op20.F4.trend")->state, State::open);
  EXPECT_TRUE(has(find(*few, "op20.F4.trend")->missing.at(0), "fewer than six"));
}

}  // namespace
}  // namespace fettle::study
