#include "output/papers/study_sheet.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <thread>

#include "base/text.h"
#include "output/drawings/sheet_checks.h"
#include "output/papers/samples.h"
#include "places.h"

namespace fettle::papers {
namespace {

using namespace drawings;
using samples::study;

std::filesystem::path own_folder(const std::string& name) {
  const std::filesystem::path folder =
      std::filesystem::path(fettle::test::binary_dir) / ("papers-" + name + "-" + std::to_string(getpid()));
  std::filesystem::remove_all(folder);
  return folder;
}

void expect_whole(const StudySheet& sheet, double width, double height) {
  const auto out = study_pdf(sheet);
  ASSERT_TRUE(out.ok()) << say(out.problem());
  for (std::size_t i = 0; i < out->pages.size(); ++i) {
    SCOPED_TRACE("page " + std::to_string(i + 1));
    const Record& r = out->pages[i];
    EXPECT_TRUE(inside_sheet(r, width, height)) << r.left << " " << r.top << " " << r.right << " " << r.bottom;
    EXPECT_EQ(overlaps(r), std::vector<std::string>{});
    // Nothing of the body runs into the foot, nothing is nearer to the edge than a printer can reach.
    EXPECT_GE(r.left, 8);
    EXPECT_LE(r.right, width - 8);
    EXPECT_LE(r.bottom, height - 3);
  }
}

TEST(Study, EveryPageSaysWhatItIs) {
  const StudySheet sheet = study();
  const auto out = study_pdf(sheet);
  ASSERT_TRUE(out.ok());
  ASSERT_GE(out->pages.size(), 4u);
  for (std::size_t i = 0; i < out->pages.size(); ++i) {
    const std::string words = all_text(out->pages[i]);
    const std::string number = "page " + std::to_string(i + 1) + " of " + std::to_string(out->pages.size());
    for (const std::string& w : {sheet.part, sheet.plan_name, sheet.plan_hash, sheet.version, std::string("seed 1"),
                                 sheet.date, sheet.tables, number})
      EXPECT_NE(words.find(w), std::string::npos) << w << " on page " << i + 1;
    EXPECT_NE(words.find("local codes and licensed practice decide"), std::string::npos);
    EXPECT_EQ(out->pages[i].unknown_glyphs, 0);
  }
}

TEST(Study, SaysEverything) {
  const StudySheet sheet = study();
  const auto out = study_pdf(sheet);
  std::string words;
  for (const Record& r : out->pages) words += all_text(r);
  for (const FindingRow& f : sheet.findings) {
    EXPECT_NE(words.find(f.operation + " · " + f.title), std::string::npos) << f.title;
    EXPECT_NE(words.find(f.sentence), std::string::npos) << f.sentence;
  }
  for (const AssumptionRow& a : sheet.assumptions) {
    EXPECT_NE(words.find(a.name), std::string::npos);
    EXPECT_NE(words.find(a.replaced_by), std::string::npos);
  }
  for (const std::string& c : sheet.cautions) EXPECT_NE(words.find(c), std::string::npos);
  for (const char* w : {"Not yet. Four findings are outside", "4 outside", "2 tight", "1 open", "1 beyond", "3 inside",
                        "What is open, and what to give", "a tap recording of T13", "The route", "Pallet of OP30",
                        "Casting 13", "On the pins of nest 4", "alone puts outside", "What will come out",
                        "What mending buys", "The clock and the money", "One cycle", "How many on a pallet set"})
    EXPECT_NE(words.find(w), std::string::npos) << w;
}

TEST(Study, FitsItsPages) {
  StudySheet sheet = study();
  expect_whole(sheet, 210, 297);
  sheet.paper = StudySheet::Paper::letter;
  sheet.style.system = unit::Style::System::inch;
  for (PalletView& p : sheet.pallets) p.style = sheet.style;
  for (CastingView& c : sheet.castings) c.style = sheet.style;
  sheet.spreads.style = sheet.mending.style = sheet.cycle->style = sheet.style;
  expect_whole(sheet, 215.9, 279.4);
}

TEST(Study, PagesOfWhatComesOutAndOfTheClockOnlyWithData) {
  StudySheet sheet = study();
  const auto has = [](const StudySheet& s, const char* word) {
    std::string words;
    const auto out = study_pdf(s);
    for (const Record& r : out->pages) words += all_text(r);
    return words.find(word) != std::string::npos;
  };
  const std::size_t drawings = study_drawings(sheet).size();
  sheet.spreads.rows.clear();
  sheet.mending.requirements.clear();
  EXPECT_FALSE(has(sheet, "What will come out"));
  EXPECT_FALSE(has(sheet, "What mending buys"));
  EXPECT_TRUE(has(sheet, "The clock and the money"));
  sheet.count_curve.reset();
  EXPECT_TRUE(has(sheet, "One cycle"));
  EXPECT_FALSE(has(sheet, "How many on a pallet set"));
  sheet.cycle.reset();
  EXPECT_FALSE(has(sheet, "The clock and the money"));
  EXPECT_EQ(study_drawings(sheet).size() + 4, drawings);
}

TEST(Study, PagesOfCuttingAndHoldingOnlyWithData) {
  StudySheet sheet = study();
  const std::size_t before = study_drawings(sheet).size();
  const auto words_of = [](const StudySheet& s) {
    std::string words;
    const auto out = study_pdf(s);
    for (const Record& r : out->pages) words += all_text(r);
    return words;
  };
  for (const char* title : {"What the cut asks", "Does it hold", "Does it bend", "Does it sing"})
    EXPECT_EQ(words_of(sheet).find(title), std::string::npos) << title;
  SlipView slip;
  slip.title = "OP30: worst case";
  slip.outline = {box({0, 0}, 0.15, 0.1)};
  slip.contacts = {{"pad 1", {0.06, 0.02}, 0, 0.5, 300, 200, false, true}};
  slip.tool = {-0.075, 0};
  slip.tool_x = 1000;
  sheet.slips = {slip};
  JawView jaw;
  jaw.title = "OP20: clamp force";
  jaw.need = 3000;
  jaw.planned = {{"part 1", 8000, 7000, 9000, 0.01}};
  sheet.jaws = {jaw};
  sheet.bend = {{"give.svg", {180, 40, "give", [](Pen& pen) { pen.text({0, 0}, "how far it gives"); }}}};
  PanelsView curve;
  curve.title = "one curve";
  curve.x = {1, 2};
  curve.panels = {{"depth, mm", {{"as stated", {1, 2}, Dash::solid}}, {}, {}}};
  sheet.forces = sheet.lobes = {curve};
  LimitsView limits;
  limits.title = "How deep each nest stays quiet";
  limits.pallet = sheet.pallets[0];
  limits.plans.resize(5);
  for (LimitPlan& p : limits.plans) {
    p.title = "T11 roughs the profile";
    p.marks = {{0, State::outside, 0.28, "quiet to 5.2 mm", "+X side", "softest: the tool", {0, 0}}};
  }
  sheet.limits = limits;
  expect_whole(sheet, 210, 297);
  const std::string words = words_of(sheet);
  for (const char* w : {"What the cut asks", "Does it hold", "Does it bend", "Does it sing", "OP30: worst case",
                        "OP20: clamp force", "how far it gives", "How deep each nest stays quiet", "quiet to 5.2 mm"})
    EXPECT_NE(words.find(w), std::string::npos) << w;
  std::vector<std::string> files;
  for (const NamedDrawing& d : study_drawings(sheet)) files.push_back(d.file);
  EXPECT_EQ(files.size(), before + 6);
  for (const char* name : {"slip-1.svg", "jaw-1.svg", "give.svg", "force-1.svg", "limits.svg", "lobes-1.svg"})
    EXPECT_EQ(std::count(files.begin(), files.end(), name), 1) << name;
}

TEST(Study, ManyRequirementsAndACrowdedCycleFit) {
  StudySheet sheet = study();
  while (sheet.spreads.rows.size() < 45)
    sheet.spreads.rows.push_back(sheet.spreads.rows[sheet.spreads.rows.size() % 8]);
  while (sheet.mending.requirements.size() < 20) sheet.mending.requirements.push_back(sheet.mending.requirements[0]);
  for (int i = 0; i < 300; ++i)
    sheet.cycle->rows[0].bars.push_back({"short stretch number " + std::to_string(i), 12.0 * i, 12.0 * i + 2, false});
  while (sheet.cycle->rows.size() < 30) sheet.cycle->rows.push_back(sheet.cycle->rows[1]);
  expect_whole(sheet, 210, 297);
}

TEST(Study, SameBytes) {
  const std::string first = study_pdf(study())->bytes;
  std::string second;
  std::thread other([&] { second = study_pdf(study())->bytes; });
  other.join();
  EXPECT_TRUE(first == second);
  StudySheet later = study();
  later.date = "2026-03-03";
  EXPECT_FALSE(study_pdf(later)->bytes == first);
}

TEST(Study, ManyFindingsRunOverPages) {
  StudySheet sheet = study();
  sheet.findings.clear();
  for (int i = 0; i < 130; ++i) {
    FindingRow row = drawings::samples::row("OP30", "finding number " + std::to_string(1000 + i), "0.8 mm", "≥ 0.5 mm",
                                            i % 3 ? State::inside : State::open, i % 3 ? 0.01 * i : NAN);
    if (i % 3 == 0) row.missing = {"key" + std::to_string(i) + ": give this"};
    sheet.findings.push_back(row);
  }
  expect_whole(sheet, 210, 297);
  const auto out = study_pdf(sheet);
  std::string words;
  for (const Record& r : out->pages) words += all_text(r);
  for (int i = 0; i < 130; ++i)
    EXPECT_NE(words.find("OP30 · finding number " + std::to_string(1000 + i)), std::string::npos) << i;
  // The head of the table is repeated on every page that has rows of it.
  int pages = 0;
  for (const Record& r : out->pages) {
    bool rows = false, head = false;
    for (const Placed& p : r.texts) {
      rows = rows || p.text.find("OP30 · finding number") != std::string::npos;
      head = head || p.text == "margin";
    }
    EXPECT_EQ(rows, head);
    pages += rows;
  }
  EXPECT_GT(pages, 5);
}

TEST(Study, AnEmptyOneIsOpenAndNotGood) {
  const auto out = study_pdf({});
  ASSERT_TRUE(out.ok());
  const std::string words = all_text(out->pages[0]);
  EXPECT_NE(words.find("No verdict: the study is open."), std::string::npos);
  EXPECT_NE(words.find("no findings: the study is open"), std::string::npos);
  EXPECT_EQ(words.find("inside"), std::string::npos);
  expect_whole({}, 210, 297);
}

TEST(Study, HostileTextsStayOnThePage) {
  std::string name;
  for (int i = 0; i < 60; ++i) name += "überlange Bezeichnung ";
  name += std::string(700, 'W') + " 弁体の名前 \xff\xfe \x1b[31m * ` < > & \"";
  StudySheet sheet = study();
  sheet.part = sheet.plan_name = sheet.plan_hash = sheet.version = sheet.seed = sheet.date = sheet.tables = name;
  sheet.verdict = sheet.sub = name + name + name;
  for (FindingRow& f : sheet.findings)
    f.id = f.title = f.sentence = f.operation = f.lever = f.worst = f.source = f.limit = f.value.text = f.confidence =
        name;
  for (AssumptionRow& a : sheet.assumptions)
    a.name = a.key = a.value = a.band = a.on = a.source = a.replaced_by = name, a.flips = {name, name};
  for (RouteStep& r : sheet.route.steps) r.title = r.sentence = r.worst = r.id = name;
  for (PalletView& p : sheet.pallets) p.title = p.caption = p.material = p.thickness_text = name;
  for (CastingView& c : sheet.castings) c.title = c.sentence = c.caption = name;
  for (LocatingView& l : sheet.locating) l.title = l.sentence = name;
  sheet.cautions = {name, name + name};
  sheet.spreads.title = sheet.spreads.sentence = sheet.mending.title = sheet.cycle->sentence = name;
  for (Spread& r : sheet.spreads.rows) r.title = name;
  for (CycleRow& r : sheet.cycle->rows) {
    r.who = name;
    for (CycleBar& b : r.bars) b.what = name;
  }
  expect_whole(sheet, 210, 297);
}

TEST(Study, NumbersThatAreNoneAreOpen) {
  StudySheet sheet = study();
  for (FindingRow& f : sheet.findings) {
    f.value = {};
    f.margin = f.margin_worst = NAN;
  }
  for (AssumptionRow& a : sheet.assumptions) a.effect = NAN;
  expect_whole(sheet, 210, 297);
  std::string words;
  const auto out = study_pdf(sheet);
  for (const Record& r : out->pages) words += all_text(r);
  EXPECT_EQ(words.find("nan"), std::string::npos);
}

TEST(Study, WritesWholeFilesOrNone) {
  const std::filesystem::path folder = own_folder("write");
  const auto written = write_study(study(), folder.string());
  ASSERT_TRUE(written.ok()) << say(written.problem());
  std::vector<std::string> names;
  for (const std::string& path : *written) {
    names.push_back(std::filesystem::path(path).filename().string());
    EXPECT_GT(std::filesystem::file_size(path), 1000u) << path;
  }
  EXPECT_EQ(names,
            (std::vector<std::string>{"study.pdf", "margins.svg", "route.svg", "pallet-1.svg", "locating-1.svg",
                                      "casting-1.svg", "spread.svg", "mending.svg", "cycle.svg", "count-curve.svg"}));
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder)) ++files;
  EXPECT_EQ(files, names.size()) << "something half-written was left";
  std::filesystem::remove_all(folder);
  // A file stands where the folder should be.
  const std::filesystem::path blocked = own_folder("blocked");
  ASSERT_TRUE(base::write_file(blocked.string(), "in the way").ok());
  const auto refused = write_study(study(), (blocked / "deeper").string());
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.problem().fault, Fault::environment);
  std::filesystem::remove_all(blocked);
}

std::string output_of(const std::string& command) {
  std::string out;
  if (std::FILE* pipe = popen(command.c_str(), "r")) {
    char part[4096];
    for (std::size_t n; (n = fread(part, 1, sizeof part, pipe)) > 0;) out.append(part, n);
    if (pclose(pipe) != 0) out.clear();
  }
  return out;
}

TEST(Study, OtherProgramsReadIt) {
  if (output_of("command -v pdftotext").empty()) GTEST_SKIP() << "pdftotext (package poppler-utils) is not here";
  const std::filesystem::path folder = own_folder("read");
  ASSERT_TRUE(write_study(study(), folder.string()).ok());
  const std::string words = output_of("pdftotext -layout '" + (folder / "study.pdf").string() + "' - 2>&1");
  for (const char* w :
       {"Four findings are outside", "≥ 0.5 mm", "2 µm to spare", "torque ▸ 28 N·m", "−1.40", "330 × 250 × 25 mm"})
    EXPECT_NE(words.find(w), std::string::npos) << w;
  EXPECT_EQ(words.find("Error"), std::string::npos);
  const std::string fonts = output_of("pdffonts '" + (folder / "study.pdf").string() + "'");
  EXPECT_NE(fonts.find("AtkinsonHyperlegible"), std::string::npos);
  for (const char* other : {"DejaVu", "Noto", "Liberation", "Type 3"})
    EXPECT_EQ(fonts.find(other), std::string::npos) << other;
  if (!output_of("command -v xmllint").empty()) {
    for (const char* svg :
         {"margins", "route", "pallet-1", "locating-1", "casting-1", "spread", "mending", "cycle", "count-curve"}) {
      EXPECT_EQ(std::system(("xmllint --noout '" + (folder / svg).string() + ".svg'").c_str()), 0) << svg;
    }
  }
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace fettle::papers
