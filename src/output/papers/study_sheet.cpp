#include "output/papers/study_sheet.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <memory>

#include "base/text.h"
#include "output/drawings/kit.h"
#include "output/papers/flow.h"

namespace fettle::papers {

using namespace drawings;

namespace {

struct Format {
  double width = 210, height = 297;
  static constexpr double side = 12, head = 20, foot = 19;
  double body_width() const { return width - 2 * side; }
  double body_height() const { return height - head - foot; }
};
Format format_of(StudySheet::Paper paper) { return paper == StudySheet::Paper::a4 ? Format{} : Format{215.9, 279.4}; }

const char* const standing_caution =
    "Lifting, clamping and cutting can hurt: local codes and licensed practice decide.";

std::string joined(const std::vector<std::string>& parts, const char* between) {
  std::string out;
  for (const std::string& p : parts)
    if (!p.empty()) out += (out.empty() ? "" : between) + p;
  return out;
}

void frame(Pen& pen, const StudySheet& sheet, const Format& f, std::size_t page, std::size_t pages) {
  const double right = f.width - Format::side;
  const Box name = pen.text({Format::side, 10}, "Fettle", {.size = 4, .bold = true});
  const TextStyle part{.size = 3.2, .wrap = right - name.right() - 5, .max_lines = 1};
  pen.text({name.right() + 5, 10.8}, sheet.part, part);
  pen.stroke(Path::segment({Format::side, 16.5}, {right, 16.5}), {0.35});
  const double y = f.height - Format::foot + 4;
  pen.stroke(Path::segment({Format::side, y}, {right, y}), {0.15, Ink::grey});
  const std::string number = "page " + std::to_string(page + 1) + " of " + std::to_string(pages);
  const Box at = pen.text({right, y + 1.5}, number, {.size = 2.5, .align = Align::right});
  const std::string words =
      joined({sheet.plan_name, sheet.plan_hash.empty() ? "" : "plan " + sheet.plan_hash, sheet.version, sheet.tables,
              sheet.seed.empty() ? "" : "seed " + sheet.seed, sheet.date},
             " · ");
  const TextStyle small{.size = 2.3, .ink = Ink::grey, .wrap = at.x - Format::side - 6, .max_lines = 2};
  const Box said = pen.text({Format::side, y + 1.5}, words, small);
  const TextStyle caution{.size = 2.3, .ink = Ink::grey, .wrap = f.body_width(), .max_lines = 1};
  pen.text({Format::side, std::max(said.bottom(), y + 4.4)}, standing_caution, caution);
}

Block drawing_block(const Drawing& drawing, std::string bookmark) {
  return {drawing.height, drawing.draw, std::move(bookmark), 0};
}

/// A heading that stays with what follows.
void add_heading(Flow& flow, const std::string& text, const std::string& below, double width, double keep) {
  if (!flow.at_top()) flow.space(7);
  const TextStyle head{.size = Type::head, .bold = true, .wrap = width};
  const TextStyle small{.size = Type::small, .ink = Ink::grey, .wrap = width};
  const double h = measure(text, head).height, h2 = measure(below, small).height;
  flow.add({h + h2 + 2.5,
            [=](Pen& pen) {
              pen.text({0, 0}, text, head);
              pen.text({0, h}, below, small);
            },
            text, keep});
}

Block counts_block(const StudySheet& sheet, double width) {
  constexpr State states[] = {State::outside, State::tight, State::open, State::beyond, State::inside};
  const auto walk = [&sheet, width, states](Pen* pen) {
    double x = 0, y = 0;
    for (State state : states) {
      const auto n = std::count_if(sheet.findings.begin(), sheet.findings.end(),
                                   [&](const FindingRow& r) { return r.state == state; });
      if (n == 0) continue;
      const std::string text = std::to_string(n) + " " + std::string(finding::word(state));
      const TextStyle style{
          .size = 3.4, .bold = state == State::outside, .ink = state == State::outside ? Ink::accent : Ink::graphite};
      const double w = 7 + measure(text, style).width + 6;
      if (x > 0 && x + w > width) x = 0, y += 5.5;
      if (pen) {
        state_fill(*pen, {x + 0.3, y + 1, 5, 2.8}, state);
        pen->label({x + 7, y + 2.4}, text, style);
      }
      x += w;
    }
    if (sheet.findings.empty() && pen) pen->label({0, 2.4}, "no findings: the study is open", {.size = 3.4});
    return y + 5.5;
  };
  return {walk(nullptr) + 1.5, [walk](Pen& pen) { walk(&pen); }, {}, 0};
}

/// One that needs a hand, or cannot be said: everything about it, each in its column.
Row full_row(const FindingRow& f, const unit::Style& style) {
  const bool hand = f.state == State::outside;
  Row row;
  const TextStyle small{.size = 2.4, .ink = Ink::grey}, figure{.size = 2.5, .mono = true};
  const TextStyle word{.size = 2.5, .bold = hand, .ink = hand ? Ink::accent : Ink::graphite};
  row.columns.resize(6);
  row.columns[0] = {{std::string(finding::word(f.state)), word, 5.4}};
  row.columns[1] = {{joined({f.operation, f.title}, " · "), {.size = 2.8, .bold = true}}};
  if (!f.sentence.empty() && f.sentence != f.title) row.columns[1].push_back({f.sentence, {.size = 2.6}});
  row.columns[1].push_back({joined({f.confidence, f.id, f.source}, " · "), {.size = 2.2, .ink = Ink::grey}});
  row.columns[2] = {{say(f.value, style), figure}};
  row.columns[3] = {{f.limit.empty() ? "—" : f.limit, figure}};
  row.columns[4] = {{say_margin(f.margin), {.size = 2.5, .bold = hand, .mono = true}}};
  row.columns[5] = {{f.lever, {.size = 2.6}}};
  if (!f.worst.empty()) row.columns[5].push_back({"flips on: " + f.worst, small});
  return row;
}

/// One that is inside: the same words, run on over the width.
Row short_row(const FindingRow& f, const unit::Style& style) {
  const TextStyle figure{.size = 2.4, .mono = true};
  Row row;
  row.columns.resize(4);
  row.columns[0] = {{joined({f.operation, f.title}, " · "), {.size = 2.6, .bold = true}, 5.4}};
  const std::string said = f.sentence != f.title ? f.sentence : "";
  row.columns[0].push_back(
      {joined({said, f.lever, f.worst.empty() ? "" : "flips on: " + f.worst, f.confidence, f.id, f.source}, " · "),
       {.size = 2.25},
       5.4});
  row.columns[1] = {{say(f.value, style), figure}};
  row.columns[2] = {{f.limit.empty() ? "—" : f.limit, figure}};
  row.columns[3] = {{say_margin(f.margin), figure}};
  return row;
}

void add_findings(Flow& flow, const StudySheet& sheet, double width) {
  add_heading(
      flow, "All findings",
      "Margin: 0 at the limit, +1 the whole limit unused, negative outside. Formulas and inputs: fettle explain.",
      width, 36);
  Table full, inside;
  const double fixed = 18 + 27 + 25 + 13;
  full.widths = {18, (width - fixed) * 0.68, 27, 25, 13, (width - fixed) * 0.32};
  full.heads = {"state", "finding", "value", "limit", "margin", "what moves it"};
  full.right = {false, false, true, true, true, false};
  inside.widths = {width - 26 - 26 - 15, 26, 26, 15};
  inside.heads = {"inside", "value", "limit", "margin"};
  inside.right = {false, true, true, true};
  for (const FindingRow& f : sheet.findings) {
    const State state = f.state;
    Row row = state == State::inside ? short_row(f, sheet.style) : full_row(f, sheet.style);
    row.extra = [state](Pen& pen, double) { state_fill(pen, {0.3, 1.7, 3.8, 2.2}, state); };
    (state == State::inside ? inside : full).rows.push_back(std::move(row));
  }
  if (!full.rows.empty() || inside.rows.empty()) add_table(flow, full);
  if (inside.rows.empty()) return;
  if (!full.rows.empty()) flow.space(5);
  add_table(flow, inside);
}

void add_assumptions(Flow& flow, const StudySheet& sheet, double width) {
  if (sheet.assumptions.empty()) return;
  add_heading(flow, "What nobody measured, by effect",
              "Each stated value with its band, the margin it moves, and the cheap measurement that would replace it.",
              width, 20);
  Table table;
  table.widths = {width * 0.38, width * 0.16, width * 0.26, width * 0.20};
  table.heads = {"assumption", "value (band)", "moves", "replaced by"};
  for (const AssumptionRow& a : sheet.assumptions) {
    Row row;
    const TextStyle small{.size = 2.3, .ink = Ink::grey};
    row.columns.resize(4);
    row.columns[0] = {{a.name, {.size = 2.7, .bold = true}}, {joined({a.key, a.source}, " · "), small}};
    row.columns[1] = {{a.value, {.size = 2.5, .mono = true}}};
    if (!a.band.empty()) row.columns[1].push_back({a.band, {.size = 2.3, .mono = true, .ink = Ink::grey}});
    std::string moves = std::isfinite(a.effect) && a.effect > 0 ? "margin by " + base::fixed(a.effect, 2) : "no margin";
    if (!a.on.empty()) moves += " of " + a.on;
    row.columns[2] = {{moves, {.size = 2.6}}};
    if (!a.flips.empty())
      row.columns[2].push_back(
          {"alone puts outside: " + joined(a.flips, "; "), {.size = 2.6, .bold = true, .ink = Ink::accent}});
    row.columns[3] = {{a.replaced_by.empty() ? "no cheap measurement known" : a.replaced_by, {.size = 2.6}}};
    table.rows.push_back(std::move(row));
  }
  add_table(flow, table);
}

void add_open(Flow& flow, const StudySheet& sheet, double width) {
  std::vector<std::string> gives;
  std::map<std::string, std::vector<std::string>> waiting;
  for (const FindingRow& f : sheet.findings) {
    if (f.state != State::open) continue;
    std::vector<std::string> missing = f.missing;
    if (missing.empty()) missing.push_back(f.lever.empty() ? "not said what is missing" : f.lever);
    for (const std::string& m : missing) {
      if (!waiting.count(m)) gives.push_back(m);
      waiting[m].push_back(joined({f.operation, f.title}, " "));
    }
  }
  if (gives.empty()) return;
  add_heading(flow, "What is open, and what to give", "Open is not good: nothing was computed.", width, 14);
  Table table;
  table.widths = {width * 0.45, width * 0.55};
  table.heads = {"give", "then these can be said"};
  for (const std::string& give : gives) {
    Row row;
    row.columns = {{{give, {.size = 2.8, .bold = true}}}, {{joined(waiting[give], "; "), {.size = 2.7}}}};
    table.rows.push_back(std::move(row));
  }
  add_table(flow, table);
}

void add_cautions(Flow& flow, const StudySheet& sheet, double width) {
  std::vector<std::string> cautions;
  for (const std::string& c : sheet.cautions)
    if (!c.empty() && std::find(cautions.begin(), cautions.end(), c) == cautions.end()) cautions.push_back(c);
  cautions.push_back(standing_caution);
  add_heading(flow, "Before anybody lifts, clamps or cuts", "", width, 10);
  for (const std::string& c : cautions) {
    const TextStyle style{.size = 3, .wrap = width - 7, .max_lines = 60};
    const double height = measure(c, style).height + 1.2;
    flow.add({height,
              [c, style](Pen& pen) {
                pen.fill(Path::polygon({{0.5, 3.4}, {3.9, 3.4}, {2.2, 0.4}}), Ink::graphite);
                pen.text({7, 0}, c, style);
              },
              {},
              0});
  }
}

/// Drawings that run over pages: the first takes what is left of this page when that is worth it.
template <typename Make>
void add_pages(Flow& flow, const Room& room, double least, const std::string& bookmark, const Make& make) {
  if (!flow.at_top()) flow.space(9);
  if (flow.left() < least) flow.new_page();
  const std::vector<Drawing> pages = make(room, flow.left());
  for (std::size_t i = 0; i < pages.size(); ++i) flow.add(drawing_block(pages[i], i == 0 ? bookmark : ""));
}

void add_outcome(Flow& flow, const StudySheet& sheet, const Room& room) {
  if (!sheet.spreads.rows.empty())
    add_pages(flow, room, 140, sheet.spreads.title,
              [&](const Room& r, double first) { return spreads(sheet.spreads, r, first); });
  if (!sheet.mending.requirements.empty())
    add_pages(flow, room, 90, sheet.mending.title,
              [&](const Room& r, double first) { return mending(sheet.mending, r, first); });
}

void add_clock(Flow& flow, const StudySheet& sheet, const Room& room) {
  std::vector<Drawing> all;
  if (sheet.cycle) all.push_back(cycle(*sheet.cycle, room));
  if (sheet.count_curve) all.push_back(count_curve(*sheet.count_curve, room));
  if (all.empty()) return;
  add_heading(flow, "The clock and the money", "Who waits for whom, and what a good part costs.", room.width,
              std::min(all[0].height, room.height - 20));
  for (std::size_t i = 0; i < all.size(); ++i) {
    flow.space(i == 0 ? 2 : 9);
    flow.add(drawing_block(all[i], ""));
  }
}

/// Drawings that belong to one question, under its heading; nothing without drawings.
void add_group(Flow& flow, const char* title, const char* words, const std::vector<Drawing>& all, const Room& room) {
  if (all.empty()) return;
  add_heading(flow, title, words, room.width, std::min(all[0].height, room.height - 20));
  for (std::size_t i = 0; i < all.size(); ++i) {
    flow.space(i == 0 ? 2 : 8);
    flow.add(drawing_block(all[i], ""));
  }
}

void add_mechanics(Flow& flow, const StudySheet& sheet, const Room& room) {
  const auto curves = [&](const std::vector<PanelsView>& views) {
    std::vector<Drawing> out;
    for (const PanelsView& v : views) out.push_back(panels(v, room));
    return out;
  };
  add_group(flow, "What the cut asks", "Force of the tool on the part through one turn.", curves(sheet.forces), room);
  std::vector<Drawing> holds, bend;
  for (const SlipView& v : sheet.slips) holds.push_back(slip(v, room));
  for (const JawView& v : sheet.jaws) holds.push_back(jaw(v, room));
  add_group(flow, "Does it hold", "Where the tool pushes at its worst, and what is left of friction and clamp force.",
            holds, room);
  for (const NamedDrawing& d : sheet.bend) bend.push_back(d.drawing);
  if (sheet.thickness) bend.push_back(panels(*sheet.thickness, room));
  add_group(flow, "Does it bend", "How far the plate gives way, and what another plate would do.", bend, room);
  std::vector<Drawing> sing;
  if (sheet.limits) sing = limits(*sheet.limits, {room.width, 1});  // a drawing for each row, so that pages fill
  for (Drawing& d : curves(sheet.lobes)) sing.push_back(std::move(d));
  add_group(flow, "Does it sing", "How deep a cut stays quiet: nest by nest, and over the speed of the spindle.", sing,
            room);
}

void lay_out(Flow& flow, const StudySheet& sheet, double width, double height) {
  const Room room{width, height};
  const std::string verdict = sheet.verdict.empty() ? "No verdict: the study is open." : sheet.verdict;
  add_text(flow, verdict, {.size = Type::verdict, .bold = true, .wrap = width, .rich = true}, 2.5);
  flow.add(counts_block(sheet, width));
  if (!sheet.sub.empty()) add_text(flow, sheet.sub, {.size = 3, .ink = Ink::grey, .wrap = width}, 0);
  flow.space(4);
  if (!sheet.findings.empty()) {
    if (flow.left() < 60) flow.new_page();
    const MarginsView view{"What needs a hand first", sheet.findings, sheet.style};
    const std::vector<Drawing> pages = margins(view, room, flow.left());
    for (std::size_t i = 0; i < pages.size(); ++i) flow.add(drawing_block(pages[i], i == 0 ? "Margins" : ""));
  }
  const auto place = [&](const Drawing& d, const std::string& bookmark) {
    if (!flow.at_top()) flow.space(9);
    flow.add(drawing_block(d, bookmark));
  };
  if (!sheet.route.steps.empty()) {
    const std::vector<Drawing> pages = route(sheet.route, room);
    for (std::size_t i = 0; i < pages.size(); ++i) place(pages[i], i == 0 ? "Route" : "");
  }
  for (const PalletView& view : sheet.pallets) place(pallet(view, room), view.title);
  for (const NamedDrawing& d : sheet.coolant) place(d.drawing, d.drawing.title);
  for (const NamedDrawing& d : sheet.paths) place(d.drawing, &d == sheet.paths.data() ? d.drawing.title : "");
  for (const LocatingView& view : sheet.locating) place(locating(view, room), view.title);
  for (const CastingView& view : sheet.castings) place(casting(view, room), view.title);
  add_outcome(flow, sheet, room);
  add_mechanics(flow, sheet, room);
  add_clock(flow, sheet, room);
  add_findings(flow, sheet, width);
  add_open(flow, sheet, width);
  add_assumptions(flow, sheet, width);
  add_cautions(flow, sheet, width);
}

}  // namespace

Outcome<Rendered> study_pdf(const StudySheet& given) {
  const auto sheet = std::make_shared<const StudySheet>(given);
  const Format f = format_of(sheet->paper);
  Flow flow(f.body_height());
  lay_out(flow, *sheet, f.body_width(), f.body_height());
  const auto pages = std::make_shared<const std::vector<std::vector<Flow::Placed>>>(flow.pages());
  std::vector<Drawing> out;
  for (std::size_t i = 0; i < pages->size(); ++i)
    out.push_back({f.width, f.height, sheet->part, [=](Pen& pen) {
                     frame(pen, *sheet, f, i, pages->size());
                     for (const Flow::Placed& placed : (*pages)[i]) {
                       if (!placed.block.bookmark.empty()) pen.bookmark(placed.block.bookmark);
                       pen.moved({Format::side, Format::head + placed.y}, [&] { placed.block.draw(pen); });
                     }
                   }});
  return to_pdf(out, {joined({"Study", sheet->part, sheet->plan_name}, ", "), sheet->version, sheet->date});
}

std::vector<NamedDrawing> study_drawings(const StudySheet& sheet) {
  const Room room{190, 100000};
  const TitleBlock block{"", sheet.plan_name, sheet.plan_hash, sheet.version, sheet.seed, sheet.date, sheet.tables};
  std::vector<NamedDrawing> out;
  const auto add = [&](const std::string& name, const Drawing& d) {
    TitleBlock own = block;
    own.title = joined({sheet.part, d.title}, " · ");
    out.push_back({name + ".svg", with_title_block(d, own)});
  };
  const auto numbered = [](const std::string& name, std::size_t i) { return name + "-" + std::to_string(i + 1); };
  // One sheet each, as long as it needs; a very long list is cut so that no sheet passes what the pen allows.
  const Room tall{room.width, 4000};
  const std::vector<Drawing> bars = margins({"Margins", sheet.findings, sheet.style}, tall);
  for (std::size_t i = 0; i < bars.size(); ++i) add(bars.size() == 1 ? "margins" : numbered("margins", i), bars[i]);
  if (!sheet.route.steps.empty()) {
    const std::vector<Drawing> pages = route(sheet.route, tall);
    for (std::size_t i = 0; i < pages.size(); ++i) add(pages.size() == 1 ? "route" : numbered("route", i), pages[i]);
  }
  const Room page{room.width, 260};
  for (std::size_t i = 0; i < sheet.pallets.size(); ++i) add(numbered("pallet", i), pallet(sheet.pallets[i], page));
  for (std::size_t i = 0; i < sheet.locating.size(); ++i)
    add(numbered("locating", i), locating(sheet.locating[i], page));
  for (std::size_t i = 0; i < sheet.castings.size(); ++i) add(numbered("casting", i), casting(sheet.castings[i], page));
  const auto add_all = [&](const std::string& name, const std::vector<Drawing>& list) {
    for (std::size_t i = 0; i < list.size(); ++i) add(list.size() == 1 ? name : numbered(name, i), list[i]);
  };
  if (!sheet.spreads.rows.empty()) add_all("spread", spreads(sheet.spreads, tall));
  if (!sheet.mending.requirements.empty()) add_all("mending", mending(sheet.mending, tall));
  if (sheet.cycle) add("cycle", cycle(*sheet.cycle, page));
  if (sheet.count_curve) add("count-curve", count_curve(*sheet.count_curve, page));
  for (std::size_t i = 0; i < sheet.forces.size(); ++i) add(numbered("force", i), panels(sheet.forces[i], page));
  for (std::size_t i = 0; i < sheet.slips.size(); ++i) add(numbered("slip", i), slip(sheet.slips[i], page));
  for (std::size_t i = 0; i < sheet.jaws.size(); ++i) add(numbered("jaw", i), jaw(sheet.jaws[i], page));
  for (const auto* list : {&sheet.coolant, &sheet.paths, &sheet.bend})
    for (const NamedDrawing& d : *list) {
      const auto dot = d.file.rfind(".svg");
      add(dot == std::string::npos ? d.file : d.file.substr(0, dot), d.drawing);
    }
  if (sheet.thickness) add("thickness", panels(*sheet.thickness, page));
  if (sheet.limits) add_all("limits", limits(*sheet.limits, page));
  for (std::size_t i = 0; i < sheet.lobes.size(); ++i) add(numbered("lobes", i), panels(sheet.lobes[i], page));
  return out;
}

Outcome<std::vector<std::string>> write_study(const StudySheet& sheet, const std::string& folder) {
  std::vector<std::pair<std::string, std::string>> files;
  Outcome<Rendered> pdf = study_pdf(sheet);
  if (!pdf) return pdf.problems();
  files.emplace_back("study.pdf", std::move(pdf->bytes));
  for (const NamedDrawing& named : study_drawings(sheet)) {
    Outcome<Rendered> svg = to_svg(named.drawing, {named.drawing.title, sheet.version, sheet.date});
    if (!svg) return svg.problems();
    files.emplace_back(named.file, std::move(svg->bytes));
  }
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) return Problem{Fault::environment, {folder, 0, 0}, "the folder cannot be made", error.message(), {}, {}};
  std::vector<std::string> written;
  for (const auto& [name, bytes] : files) {
    const std::string path = (std::filesystem::path(folder) / name).string();
    if (auto done = base::write_file(path, bytes); !done) return done.problems();
    written.push_back(path);
  }
  return written;
}

}  // namespace fettle::papers
