#include "output/drawings/drawings.h"

#include <gtest/gtest.h>

#include <clocale>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <limits>
#include <set>
#include <thread>

#include "base/text.h"
#include "output/drawings/figures.h"
#include "output/drawings/fonts.h"
#include "output/drawings/kit.h"
#include "output/drawings/samples.h"
#include "output/drawings/sheet_checks.h"
#include "output/drawings/skins.h"
#include "places.h"

namespace fettle::drawings {
namespace {

const Stamp stamp{"test", "Fettle 0.1.0", "2026-03-02"};
const Room a4{186, 258};
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

std::vector<Drawing> every_sample() {
  std::vector<Drawing> all{pallet(samples::pallet(), a4), casting(samples::casting(), a4),
                           locating(samples::locating(), a4)};
  for (const Drawing& d : margins(samples::margins(), a4)) all.push_back(d);
  for (const Drawing& d : route(samples::route(), a4)) all.push_back(d);
  return all;
}

int unknown_in(const std::string& text, bool mono, bool bold) {
  const Drawing d{400, 40, "signs", [&](Pen& pen) {
                    pen.text({1, 1}, text, {.bold = bold, .mono = mono, .wrap = 390});
                  }};
  const auto out = to_svg(d, stamp);
  return out.ok() ? out->pages[0].unknown_glyphs : -1;
}

// ---- fonts ----------------------------------------------------------------------------------------------------------

TEST(Fonts, EverySignWePrint) {
  std::string signs =
      "± Ø ø µ μ ° · → ← ↑ ↓ ▸ ▲ ▼ × ÷ ≤ ≥ ≈ ≠ ∞ √ Σ Δ α β γ θ λ ν ρ σ τ φ ω Ω − – — … ‖ ′ ″ ² ³ ⁴ ⁻ ¹ ₀ ₁ ₂ ₃ ½ ¼ ¾ "
      "⌀ ⌒ ⌓ ⌖ ⌭ ⌯ ⌰ ↗ ⏤ ⏥ ◎ ⊥ ∥ ∠ Ⓜ Ⓛ Ⓟ □ ■ ○ ● ✓ ✗ ☐ äöüÄÖÜß éèêçñåæœ ŁłŠšŽžČčĞğİıŐőŰű „“”‘’«» €£¥ �";
  for (const unit::Unit& unit : unit::units()) signs += " " + std::string(unit.symbol);
  for (State state : {State::inside, State::tight, State::outside, State::open, State::beyond})
    signs += " " + std::string(finding::word(state));
  for (bool mono : {false, true})
    for (bool bold : {false, true})
      EXPECT_EQ(unknown_in(signs, mono, bold), 0) << (mono ? "mono" : "text") << (bold ? " bold" : "");
}

TEST(Fonts, TheCheckSeesASignWeLack) { EXPECT_GT(unknown_in("弁体 kiểm tra 부품", false, false), 0); }

TEST(Fonts, AreSmallAndWhole) {
  std::size_t total = 0;
  for (const FontFile& font : font_files()) {
    EXPECT_EQ(font.bytes.substr(0, 4), std::string_view("\0\1\0\0", 4)) << font.name;
    total += font.bytes.size();
  }
  EXPECT_EQ(font_files().size(), 5u);
  EXPECT_LT(total, 400u * 1024);
  std::string problem;
  EXPECT_NE(font_config(&problem), nullptr) << problem;
}

// ---- the pen --------------------------------------------------------------------------------------------------------

TEST(Pen, SameBytesEveryTimeAndInEveryThread) {
  const std::vector<Drawing> all = every_sample();
  std::vector<std::string> first;
  for (const Drawing& d : all) first.push_back(to_svg(d, stamp)->bytes + to_png(d, 100)->bytes);
  first.push_back(to_pdf(all, stamp)->bytes);
  std::vector<std::string> second;
  std::thread other([&] {
    const std::vector<Drawing> again = every_sample();
    for (const Drawing& d : again) second.push_back(to_svg(d, stamp)->bytes + to_png(d, 100)->bytes);
    second.push_back(to_pdf(again, stamp)->bytes);
  });
  other.join();
  EXPECT_TRUE(first == second);
}

TEST(Pen, DateComesFromTheStampOnly) {
  const Drawing d{50, 20, "t", [](Pen& pen) { pen.text({1, 1}, "x"); }};
  EXPECT_NE(to_pdf({d}, {"t", "v", "2026-03-02"})->bytes.find("(20260302000000Z)"), std::string::npos);
  for (const char* bad : {"", "yesterday", "2026-13-01", "2026-00-10", "2026-01-32", "2026-1-1", "2026-01-00"})
    EXPECT_NE(to_pdf({d}, {"t", "v", bad})->bytes.find("(20000101000000Z)"), std::string::npos) << bad;
}

TEST(Pen, SvgIsWellFormedAndHoldsTheWords) {
  const Drawing d{80, 20, "a < b & \"c\"", [](Pen& pen) { pen.text({1, 1}, "1 < 2 & ä \x01 \xff"); }};
  const auto out = to_svg(d, stamp);
  ASSERT_TRUE(out.ok());
  const std::string& svg = out->bytes;
  EXPECT_NE(svg.find("<title>a &lt; b &amp; &quot;c&quot;</title>"), std::string::npos);
  EXPECT_NE(svg.find("1 &lt; 2 &amp; ä   \xEF\xBF\xBD"), std::string::npos);
  EXPECT_NE(svg.find("width=\"80.000mm\""), std::string::npos) << svg.substr(0, 300);
  EXPECT_TRUE(base::valid_utf8(svg));
  // Every tag that opens closes.
  std::vector<std::string> open;
  for (std::size_t at = svg.find('<'); at != std::string::npos; at = svg.find('<', at + 1)) {
    if (svg[at + 1] == '?' || svg[at + 1] == '!') continue;
    const std::size_t end = svg.find('>', at);
    ASSERT_NE(end, std::string::npos);
    const bool closing = svg[at + 1] == '/';
    const std::size_t from = at + (closing ? 2 : 1);
    const std::string name = svg.substr(from, svg.find_first_of(" >/", from) - from);
    if (closing) {
      ASSERT_FALSE(open.empty());
      EXPECT_EQ(open.back(), name);
      open.pop_back();
    } else if (svg[end - 1] != '/') {
      open.push_back(name);
    }
  }
  EXPECT_TRUE(open.empty());
}

TEST(Pen, TwoDrawingsInOnePageShareNoIds) {
  const auto ids = [](const std::string& svg) {
    std::set<std::string> out;
    for (std::size_t at = svg.find(" id=\""); at != std::string::npos; at = svg.find(" id=\"", at + 1))
      out.insert(svg.substr(at + 5, svg.find('"', at + 5) - at - 5));
    return out;
  };
  const auto a = ids(to_svg(every_sample()[0], stamp)->bytes), b = ids(to_svg(every_sample()[1], stamp)->bytes);
  ASSERT_FALSE(a.empty());
  for (const std::string& id : a) EXPECT_EQ(b.count(id), 0u) << id;
}

TEST(Pen, RefusesSheetsOfNoUsableSize) {
  for (double w : {0.0, -1.0, nan, 1e6, std::numeric_limits<double>::infinity()}) {
    const Drawing d{w, 10, "t", [](Pen&) {}};
    EXPECT_FALSE(to_svg(d, stamp).ok()) << w;
    EXPECT_FALSE(to_pdf({d}, stamp).ok()) << w;
    EXPECT_FALSE(to_png(d).ok()) << w;
  }
  const Drawing good{10, 10, "t", [](Pen&) {}};
  for (double dpi : {0.0, 19.0, 1201.0, nan}) EXPECT_FALSE(to_png(good, dpi).ok()) << dpi;
  EXPECT_FALSE(to_pdf({}, stamp).ok());
  EXPECT_FALSE(to_svg({10, 10, "t", nullptr}, stamp).ok());
}

TEST(Pen, TheRecordSeesWhatLeavesTheSheet) {
  const Drawing d{50, 20, "t", [](Pen& pen) { pen.text({48, 1}, "too wide for what is left"); }};
  EXPECT_FALSE(inside_sheet(to_svg(d, stamp)->pages[0], d.width, d.height));
  const Drawing two{50, 20, "t", [](Pen& pen) {
                      pen.text({1, 1}, "one");
                      pen.text({2, 1.5}, "two");
                    }};
  EXPECT_EQ(overlaps(to_svg(two, stamp)->pages[0]).size(), 1u);
}

TEST(Pen, SkipsWhatIsNoNumber) {
  const Drawing d{50, 20, "t", [](Pen& pen) {
                    pen.stroke(Path::segment({nan, 1}, {2, 2}));
                    pen.fill(Path::circle({1, nan}, 3), Ink::graphite);
                    pen.hatch(Path::box({0, 0, std::numeric_limits<double>::infinity(), 4}), Hatch::metal);
                    pen.moved({nan, 0}, [&] { pen.text({0, 0}, "never"); });
                    pen.text({1, 1}, "kept");
                  }};
  const auto out = to_svg(d, stamp);
  ASSERT_TRUE(out.ok());
  EXPECT_EQ(all_text(out->pages[0]), "kept\n");
}

TEST(Pen, CommaLocaleChangesNothing) {
  const Drawing d = pallet(samples::pallet(), a4);
  const std::string before = to_svg(d, stamp)->bytes, pdf = to_pdf({d}, stamp)->bytes;
  const std::string folder = std::string(fettle::test::binary_dir) + "/locales";
  std::filesystem::create_directories(folder);
  if (!std::filesystem::exists(folder + "/de_DE.UTF-8")) {
    const std::string command = "localedef -i de_DE -f UTF-8 '" + folder + "/de_DE.UTF-8' >/dev/null 2>&1";
    if (std::system(command.c_str()) != 0)
      GTEST_SKIP() << "no sources of a decimal comma locale on this machine (package locales)";
  }
  setenv("LOCPATH", folder.c_str(), 1);
  if (!std::setlocale(LC_ALL, "de_DE.UTF-8")) GTEST_SKIP() << "the decimal comma locale could not be set";
  ASSERT_STREQ(std::localeconv()->decimal_point, ",");
  const Drawing again = pallet(samples::pallet(), a4);
  EXPECT_TRUE(to_svg(again, stamp)->bytes == before);
  EXPECT_TRUE(to_pdf({again}, stamp)->bytes == pdf);
  std::setlocale(LC_ALL, "C");
}

TEST(Pen, RichMarksAreTakenOutAndLoneOnesKept) {
  EXPECT_EQ(printable("take `1.9 mm` off *A*", true), "take 1.9 mm off A");
  EXPECT_EQ(printable("5 * 3 mm and a ` alone", true), "5 * 3 mm and a ` alone");
  EXPECT_EQ(printable("`` **", true), "`` **");
  EXPECT_EQ(printable("a\nb\tc", false), "a b c");
  EXPECT_EQ(printable("x\xE2\x80\xAEy", false), "x y");  // a mark that would turn the line round
}

// ---- kit ------------------------------------------------------------------------------------------------------------

TEST(Kit, ScaleFitsAndIsTheLargestUsual) {
  EXPECT_DOUBLE_EQ(nice_scale(0.330, 0.250, {0, 0, 132, 200}), 400);
  EXPECT_DOUBLE_EQ(nice_scale(0.330, 0.250, {0, 0, 131, 200}), 1000 / 3.0);
  EXPECT_DOUBLE_EQ(nice_scale(0.132, 0.092, {0, 0, 132, 92}), 1000);
  EXPECT_LE(nice_scale(900, 1, {0, 0, 132, 92}) * 900, 132 + 1e-9);
  EXPECT_GT(nice_scale(0, 0, {0, 0, 132, 92}), 0);
  EXPECT_GT(nice_scale(nan, -1, {0, 0, 132, 92}), 0);
  EXPECT_EQ(say_scale(400), "1:2.5");
  EXPECT_EQ(say_scale(1000), "1:1");
  EXPECT_EQ(say_scale(2000), "2:1");
  EXPECT_EQ(say_scale(0), "not to scale");
  EXPECT_DOUBLE_EQ(nice_factor(49), 40);
  EXPECT_DOUBLE_EQ(nice_factor(0.2), 1);
  EXPECT_DOUBLE_EQ(nice_factor(nan), 1);
}

TEST(Kit, LeadersKeepApart) {
  const Drawing d{100, 150, "leaders", [](Pen& pen) {
                    std::vector<Leader> notes;
                    for (int i = 0; i < 12; ++i)
                      notes.push_back({{10.0 + i, 20.0 + 0.1 * i},
                                       "head " + std::to_string(i),
                                       "some words that wrap in the column",
                                       i % 2 == 0});
                    leaders(&pen, notes, {60, 2, 38, 60});
                  }};
  expect_well_kept(d);
}

TEST(Kit, ShapesTurnWithTheirNest) {
  const Box b = bounds(std::vector<Shape>{box({1, 2}, 0.4, 0.2, 0, 1.5707963267948966)});
  EXPECT_NEAR(b.width, 0.2, 1e-12);
  EXPECT_NEAR(b.height, 0.4, 1e-12);
  EXPECT_NEAR(b.x, 0.9, 1e-12);
  EXPECT_EQ(bounds(std::vector<Point>{{nan, 1}}).width, 0);
}

// ---- figures --------------------------------------------------------------------------------------------------------

TEST(Figures, NothingOpenLooksGood) {
  EXPECT_EQ(say(Figure{}, {}), "open");
  EXPECT_EQ(say(Figure{std::numeric_limits<double>::infinity()}, {}), "open");
  EXPECT_EQ(say(Figure{nan, unit::Kind::length, false, "tap first"}, {}), "tap first");
  finding::Finding f;
  f.title = "chatter";
  f.state = State::open;
  f.value = 0.5;  // must not be shown
  f.margin = 0.9;
  f.missing = {"tool.T13.modes: a tap recording"};
  const FindingRow row = row_of(f, {});
  EXPECT_EQ(say(row.value, {}), "open");
  EXPECT_FALSE(std::isfinite(row.margin));
  EXPECT_EQ(row.lever, "give: tool.T13.modes: a tap recording");
}

TEST(Figures, AMarginBelowZeroNeverPrintsAsGood) {
  EXPECT_EQ(say_margin(-0.0001), "−0.01");
  EXPECT_EQ(say_margin(-0.2), "−0.20");
  EXPECT_EQ(say_margin(0), "0.00");
  EXPECT_EQ(say_margin(0.0001), "0.00");
  EXPECT_EQ(say_margin(0.333), "+0.33");
  EXPECT_EQ(say_margin(1e9), ">+99.99");
  EXPECT_EQ(say_margin(nan), "—");
}

TEST(Figures, SizesLoseOnlyTheZerosThatSayNothing) {
  for (double m : {0.330, 0.0055, 1.0, 0.1, 100.0, 0.02345}) {
    const std::string full = unit::print(m, unit::Kind::length), size = say_size(m, {});
    EXPECT_EQ(size.find(".0 "), std::string::npos) << size;
    EXPECT_LE(size.size(), full.size());
    EXPECT_EQ(size.substr(size.find(' ')), full.substr(full.find(' ')));
    EXPECT_EQ(base::to_double(size.substr(0, size.find(' '))), base::to_double(full.substr(0, full.find(' '))))
        << size << " " << full;
  }
  EXPECT_EQ(say_size(0.330, {}), "330 mm");
  EXPECT_EQ(say_size(0.100, {}), "100 mm");
  EXPECT_EQ(say_size(nan, {}), "open");
}

TEST(Figures, LimitsReadAsTheTradeSaysThem) {
  EXPECT_EQ(say_limit(finding::upper(1), unit::Kind::number, false, {}), "≤ " + unit::print(1, unit::Kind::number));
  EXPECT_EQ(say_limit(finding::lower(0.0008), unit::Kind::length, false, {}),
            "≥ " + unit::print(0.0008, unit::Kind::length));
  EXPECT_NE(say_limit(finding::between(0.008, 0.008015), unit::Kind::length, true, {}).find(" to "), std::string::npos);
  EXPECT_EQ(say_limit(finding::share(0.001), unit::Kind::length, false, {}),
            "≤ " + unit::print(0.001, unit::Kind::fraction));
  EXPECT_EQ(say_limit({}, unit::Kind::length, false, {}), "");
}

TEST(Figures, AssumptionsByEffectFlippersFirst) {
  finding::Finding a, b;
  a.title = "holding";
  a.margin = 0.2;
  a.assumptions = {{"friction", "pallet.friction", 0.12, 0.08, 0.2, unit::Kind::number, "", "", -0.1, 0.6, true},
                   {"mass", "part.mass", 2, 1, 3, unit::Kind::mass, "", "weigh it", 0.15, 0.25, false}};
  b.title = "lifting";
  b.margin = 0.5;
  b.assumptions = {{"mass", "part.mass", 2, 1, 3, unit::Kind::mass, "", "weigh it", -1.5, 1.4, false}};
  const auto rows = assumptions_by_effect({a, b}, {});
  ASSERT_EQ(rows.size(), 2u);
  EXPECT_EQ(rows[0].name, "friction");
  EXPECT_EQ(rows[0].flips, std::vector<std::string>{"holding"});
  EXPECT_NEAR(rows[0].effect, 0.7, 1e-12);
  EXPECT_EQ(rows[1].on, "lifting");
  EXPECT_NEAR(rows[1].effect, 2.9, 1e-12);
  EXPECT_EQ(rows[1].replaced_by, "weigh it");
}

// ---- drawings -------------------------------------------------------------------------------------------------------

TEST(Drawings, SamplesAreWellKept) {
  for (const Drawing& d : every_sample()) {
    expect_well_kept(d);
    EXPECT_LE(d.height, a4.height + 1e-9) << d.title;
    EXPECT_EQ(to_svg(d, stamp)->pages[0].unknown_glyphs, 0) << d.title;
    expect_well_kept(with_title_block(d, {"", "plan-0.toml", "7f3a", "Fettle 0.1.0", "1", "2026-03-02", ""}));
  }
}

TEST(Drawings, InchSheetsAreWellKept) {
  PalletView p = samples::pallet();
  CastingView c = samples::casting();
  LocatingView l = samples::locating();
  p.style.system = c.style.system = l.style.system = unit::Style::System::inch;
  for (const Drawing& d : {pallet(p, a4), casting(c, a4), locating(l, a4), pallet(p, {191.9, 240.4})})
    expect_well_kept(d);
  EXPECT_NE(all_text(to_svg(pallet(p, a4), stamp)->pages[0]).find(say_size(0.330, p.style)), std::string::npos);
}

TEST(Drawings, ThePalletSaysItsSizesAndItsScale) {
  const std::string words = all_text(to_svg(pallet(samples::pallet(), a4), stamp)->pages[0]);
  for (double m : {0.330, 0.250, 0.025, 0.156, 0.114}) EXPECT_NE(words.find(say_size(m, {})), std::string::npos) << m;
  for (const char* w : {"scale 1:2.5", "slips here first", "zero, plate top", "round pin in B", "relieved pin in C",
                        "EN AW-5083", "open"})
    EXPECT_NE(words.find(w), std::string::npos) << w;
}

TEST(Drawings, NestsTurnAndMix) {
  PalletView p = samples::pallet();
  NestPattern other = samples::pattern();
  other.outline = box({0, 0}, 0.160, 0.092, 0.012);
  other.raw.reset();
  p.patterns.push_back(other);
  p.nests = {{"1", {-0.078, 0}, 1.5707963267948966, 0}, {"2", {0.078, 0}, 3.141592653589793, 1}, {"?", {0, 0}, 0, 7}};
  expect_well_kept(pallet(p, a4));
}

TEST(Drawings, MarginsKeepEveryRowOnceOverPages) {
  MarginsView view = samples::margins();
  view.rows.clear();
  for (int i = 0; i < 90; ++i)
    view.rows.push_back(samples::row("OP30", "finding number " + std::to_string(1000 + i), "0.8 mm", "≥ 0.5 mm",
                                     State::inside, 0.01 * i));
  const std::vector<Drawing> pages = margins(view, a4, 120);
  EXPECT_GT(pages.size(), 2u);
  std::string words;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    EXPECT_LE(pages[i].height, i == 0 ? 120 : a4.height);
    expect_well_kept(pages[i]);
    words += all_text(to_svg(pages[i], stamp)->pages[0]);
  }
  for (int i = 0; i < 90; ++i) {
    const std::string title = "finding number " + std::to_string(1000 + i);
    const std::size_t first = words.find(title);
    ASSERT_NE(first, std::string::npos) << title;
    EXPECT_EQ(words.find(title, first + 1), std::string::npos) << title;
  }
}

TEST(Drawings, AnOpenFindingGetsNoBarOfAGoodOne) {
  const auto inked = [](State state, double margin) {
    MarginsView view;
    view.rows = {samples::row("OP30", "t", "v", "", state, margin)};
    return to_svg(margins(view, a4)[0], stamp)->bytes;
  };
  EXPECT_NE(inked(State::open, 0.5), inked(State::inside, 0.5));
  EXPECT_NE(inked(State::tight, 0.5), inked(State::inside, 0.5));
  EXPECT_NE(inked(State::beyond, 0.5), inked(State::inside, 0.5));
  // A margin that is no number must not look inside, whatever the state says.
  EXPECT_EQ(inked(State::inside, nan), inked(State::open, nan));
}

TEST(Drawings, TheCastingSaysItsFactorAndWhatIsMissing) {
  const auto out = to_svg(casting(samples::casting(), a4), stamp);
  const std::string words = all_text(out->pages[0]);
  EXPECT_NE(words.find("stock drawn 3 times"), std::string::npos) << words;
  CastingView v = samples::casting();
  v.factor = 2;
  EXPECT_NE(all_text(to_svg(casting(v, a4), stamp)->pages[0]).find("stock drawn 2 times"), std::string::npos);
  // The accent strokes appear only where metal is missing.
  CastingView good = samples::casting();
  good.sentence.clear();
  for (CastingFace& face : good.faces) {
    face.marks.clear();
    face.shift.reset();
    for (Skin& skin : face.skins) skin.raw = skin.finished;
  }
  const std::string accent = "rgb(72.156863%,28.235294%,10.196078%)";
  EXPECT_EQ(to_svg(casting(good, a4), stamp)->bytes.find(accent), std::string::npos);
  good.faces[1].skins[0].raw[3].x -= 0.002;  // the skin inside the finished part
  EXPECT_NE(to_svg(casting(good, a4), stamp)->bytes.find(accent), std::string::npos);
}

TEST(Skins, StockStandsOnTheSideAwayFromTheMetal) {
  const std::vector<Point> square{{0, 0}, {1, 0}, {1, 1}, {0, 1}};  // against the clock
  const Skin out = edge_skin(square, {0.1, 0.2, 0.3, 0.4});
  ASSERT_EQ(out.raw.size(), 4u);
  const double expected[4][2] = {{-0.4, -0.1}, {1.2, -0.1}, {1.2, 1.3}, {-0.4, 1.3}};
  for (int i = 0; i < 4; ++i) {
    EXPECT_NEAR(out.raw[i].x, expected[i][0], 1e-12);
    EXPECT_NEAR(out.raw[i].y, expected[i][1], 1e-12);
  }
  const Skin hole = edge_skin(square, {0.1, 0.1, 0.1, 0.1}, true);
  EXPECT_NEAR(hole.raw[0].x, 0.1, 1e-12);
  EXPECT_NEAR(hole.raw[2].y, 0.9, 1e-12);
  const std::vector<Point> clockwise{{0, 0}, {0, 1}, {1, 1}, {1, 0}};
  EXPECT_NEAR(edge_skin(clockwise, {0.1, 0.1, 0.1, 0.1}).raw[0].x, -0.1, 1e-12);
  // Two edges in one line: the corner moves straight out, it does not run away.
  const Skin line = edge_skin({{0, 0}, {1, 0}, {2, 0}, {2, 1}, {0, 1}}, {0.1, 0.2, 0, 0, 0});
  EXPECT_NEAR(line.raw[1].x, 1, 1e-12);
  EXPECT_NEAR(line.raw[1].y, -0.2, 1e-12);
  EXPECT_TRUE(edge_skin(square, {0.1}).raw.empty());
  EXPECT_TRUE(edge_skin({{0, 0}, {1, 0}}, {0.1, 0.1}).raw.empty());
}

TEST(Skins, BoxAndRing) {
  const Skin b = box_skin({1, 2}, 4, 2, 0.5, 0.1, 0.2, 0.3, 0.4);
  const Box finished = bounds(b.finished), raw = bounds(b.raw);
  EXPECT_NEAR(finished.width, 4, 1e-9);
  EXPECT_NEAR(raw.x, -1.1, 1e-9);
  EXPECT_NEAR(raw.right(), 3.2, 1e-9);
  EXPECT_NEAR(raw.y, 0.7, 1e-9);
  EXPECT_NEAR(raw.bottom(), 3.4, 1e-9);
  EXPECT_EQ(box_skin({0, 0}, 4, 2, 0, 0, 0, 0, 0).finished.size(), 4u);
  const Skin r = round_skin({0, 0}, 0.05, 0.046, {0.001, 0});
  EXPECT_NEAR(bounds(r.raw).right(), 0.024, 1e-9);
  EXPECT_EQ(r.raw.size(), r.finished.size());
}

TEST(Figures, AStepCountsItsOwnFindings) {
  RouteStep step;
  step.id = "op30";
  count_findings(step, samples::margins().rows, {});
  EXPECT_EQ(step.outside, 3);
  EXPECT_EQ(step.tight, 1);
  EXPECT_EQ(step.open, 1);
  EXPECT_EQ(step.beyond, 1);
  EXPECT_EQ(step.inside, 2);
  EXPECT_EQ(step.worst_state, State::outside);
  EXPECT_EQ(step.worst, "holding, T11 on hard iron: 0.8 of the load, asked ≥ 1; torque ▸ 28 N·m");
  step.id = "OP99";
  count_findings(step, samples::margins().rows, {});
  EXPECT_EQ(step.outside + step.inside + step.open, 0);
  EXPECT_EQ(step.worst, "");
}

// ---- hostile --------------------------------------------------------------------------------------------------------

std::string long_text() {
  std::string out;
  for (int i = 0; i < 60; ++i) out += "überlange Bezeichnung ";
  return out + std::string(400, 'W') + " 弁体の名前 \xff\xfe \x1b[31m * ` < > & \"";
}

void expect_drawn(const Drawing& d) {
  const auto out = to_svg(d, stamp);
  EXPECT_TRUE(out.ok()) << d.title << " " << d.width << " by " << d.height << ": " << say(out.problem());
}

TEST(Hostile, EmptyViewsAreDrawnAsOpen) {
  EXPECT_NE(all_text(to_svg(pallet({}, a4), stamp)->pages[0]).find("open"), std::string::npos);
  EXPECT_NE(all_text(to_svg(casting({}, a4), stamp)->pages[0]).find("open"), std::string::npos);
  EXPECT_NE(all_text(to_svg(locating({}, a4), stamp)->pages[0]).find("open"), std::string::npos);
  EXPECT_NE(all_text(to_svg(route({}, a4).at(0), stamp)->pages[0]).find("open"), std::string::npos);
  EXPECT_NE(all_text(to_svg(margins({}, a4).at(0), stamp)->pages[0]).find("no findings"), std::string::npos);
  for (const Drawing& d :
       {pallet({}, a4), casting({}, a4), locating({}, a4), route({}, a4).at(0), margins({}, a4).at(0)})
    expect_well_kept(d);
}

TEST(Hostile, LongNamesWrapAndStayOnTheSheet) {
  const std::string name = long_text();
  MarginsView m = samples::margins();
  for (FindingRow& r : m.rows) r.title = r.lever = r.limit = r.operation = name, r.value.text = name;
  for (const Drawing& d : margins(m, a4)) expect_well_kept(d);
  RouteView r = samples::route();
  for (RouteStep& s : r.steps) s.id = s.title = s.sentence = s.remark = s.worst = s.place = name;
  r.title = r.from = r.to = name;
  r.steps[0].sketch->caption = name;
  r.steps[0].sketch->items[1].text = name;
  for (const Drawing& d : route(r, a4)) expect_well_kept(d);
  PalletView p = samples::pallet();
  p.title = p.caption = p.thickness_text = p.material = p.zero_text = name;
  for (Note& n : p.notes) n.head = n.text = name;
  for (Fact& f : p.facts) f.name = f.value.text = name;
  expect_well_kept(pallet(p, a4));
  CastingView c = samples::casting();
  c.title = c.sentence = c.caption = name;
  for (CastingFace& f : c.faces) {
    f.title = f.shift_text = name;
    for (StockMark& s : f.marks) s.text = s.stock.text = name;
  }
  expect_well_kept(casting(c, a4));
  LocatingView l = samples::locating();
  l.title = l.sentence = l.region_worst_text = l.region_x_text = name;
  for (PinInHole& pin : l.pins) pin.name = pin.text = name;
  expect_well_kept(locating(l, a4));
}

TEST(Hostile, NumbersThatAreNoneAreOpenNotDrawn) {
  const double inf = std::numeric_limits<double>::infinity();
  for (double bad : {nan, inf, -inf, -1.0, 0.0, 1e300}) {
    SCOPED_TRACE(bad);
    PalletView p = samples::pallet();
    p.thickness = bad;
    p.nests[1].at.x = bad;
    p.anchors[0].diameter = bad;
    p.patterns[0].pins[1].diameter = bad;
    p.patterns[0].details[0].width = bad;
    p.notes[0].at.y = bad;
    p.trough_depth = bad;
    p.facts[0].value.si = bad;
    expect_drawn(pallet(p, a4));
    p.plate.width = bad;
    expect_drawn(pallet(p, a4));
    CastingView c = samples::casting();
    c.faces[0].skins[0].raw[2].x = bad;
    c.faces[1].marks[0].stock.si = bad;
    c.faces[1].shift = Point{bad, bad};
    c.need = bad;
    expect_drawn(casting(c, a4));
    LocatingView l = samples::locating();
    l.pins[0].hole = bad;
    l.pins[1].land_width = bad;
    l.region[0].x = bad;
    expect_drawn(locating(l, a4));
    MarginsView m = samples::margins();
    for (FindingRow& r : m.rows) r.margin = bad, r.margin_worst = bad;
    for (const Drawing& d : margins(m, a4)) expect_well_kept(d);
    RouteView r = samples::route();
    r.steps[0].sketch->items[0].shape.points[3].y = bad;
    expect_drawn(route(r, a4).at(0));
  }
}

TEST(Hostile, ManyNestsAndNotes) {
  PalletView p = samples::pallet();
  p.nests.clear();
  for (int i = 0; i < 40; ++i)
    p.nests.push_back({std::to_string(i + 1), {-0.15 + 0.04 * (i % 8), -0.1 + 0.05 * (i / 8)}, 0, 0});
  p.notes.assign(20, {{0.1, 0.05}, "slips here first", "T11 on hard iron, turning about pin B", true, {}});
  const auto out = to_svg(pallet(p, a4), stamp);
  ASSERT_TRUE(out.ok());
  EXPECT_TRUE(inside_sheet(out->pages[0], a4.width, pallet(p, a4).height));
}

}  // namespace
}  // namespace fettle::drawings
