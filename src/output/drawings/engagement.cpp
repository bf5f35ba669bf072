// What the tools take over the time of a program.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/chart.h"
#include "output/drawings/kit.h"
#include "output/drawings/program.h"

namespace fettle::drawings {
namespace {

constexpr double axis_left = 15, panel_tall = 30, panel_head = 6, panel_air = 4, strip_tall = 6, column_wide = 0.3;

struct EngagementSheet {
  EngagementView view;
  double width = 0, words = 0, worst = 0, names = 0, strip_y = 0, panels_y = 0, axis_y = 0, table_y = 0, height = 0;
  std::vector<double> columns;  ///< widths of the table
  Box plot;                     ///< x and width alone count
  double x(double t) const { return plot.x + plot.width * t / view.total; }
};

TextStyle cell_style(bool first) { return {.size = 2.7, .bold = first, .max_lines = 1}; }
TextStyle table_head() { return {.size = 2.4, .ink = Ink::grey, .max_lines = 1}; }
TextStyle worst_style(double width, bool hand) {
  return {.size = 2.9, .bold = true, .ink = hand ? Ink::accent : Ink::graphite, .wrap = width, .max_lines = 4};
}
TextStyle note_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 8}; }
constexpr double row_tall = 4.4;

/// As wide as their longest word needs; the second column, what it is, takes what is left.
std::vector<double> widths_of(const EngagementView& v, double width) {
  std::vector<double> out;
  double sum = 0;
  for (std::size_t k = 0; k < v.heads.size(); ++k) {
    double w = measure(v.heads[k], table_head()).width;
    for (const EngagementRow& r : v.rows)
      if (k < r.cells.size() && k != 1) w = std::max(w, measure(r.cells[k], cell_style(k == 0)).width);
    out.push_back(w + 4);
    sum += k == 1 ? 0 : w + 4;
  }
  if (out.size() > 1) out[1] = std::max(12.0, width - sum);
  return out;
}

EngagementSheet lay_out(const EngagementView& view, double width) {
  EngagementSheet s;
  s.view = view;
  s.width = width;
  s.plot = {axis_left, 0, width - axis_left - 2, 0};
  s.words = heading(nullptr, view.title, view.sentence, width);
  s.worst = view.worst.empty() ? 0 : measure(view.worst, worst_style(width - 6, view.worst_hand)).height + 2;
  s.names = view.bands.empty() ? 0 : 8.4;
  s.strip_y = s.words + s.worst + s.names + 1;
  s.panels_y = s.strip_y + strip_tall + 2.5;
  s.axis_y = s.panels_y + static_cast<double>(view.panels.size()) * (panel_head + panel_tall + panel_air);
  s.table_y = s.axis_y + 11;
  s.columns = widths_of(view, width);
  const double table = view.rows.empty() ? 0 : row_tall * static_cast<double>(view.rows.size() + 1) + 2;
  s.height = s.table_y + table + (view.caption.empty() ? 0 : measure(view.caption, note_style(width)).height + 1);
  return s;
}

/// Tools as a strip, every other one hatched; names stand above, moved apart in two rows with a line to their band.
void strip(Pen& pen, const EngagementSheet& s) {
  const double y = s.strip_y;
  double next[2] = {-1e9, -1e9};
  std::size_t k = 0;
  for (const ToolBand& b : s.view.bands) {
    if (!(b.to > b.from)) continue;
    const double x0 = s.x(b.from), x1 = std::max(s.x(b.to), x0 + 0.2);
    const Path box = Path::box({x0, y, x1 - x0, strip_tall});
    if (k % 2 == 1) pen.hatch(box, Hatch::recess);
    pen.stroke(box, {0.25});
    const TextStyle style = bold_text(2.6);
    const double w = measure(b.tool, style).width, middle = 0.5 * (x0 + x1);
    const std::size_t row = middle - 0.5 * w >= next[0] ? 0 : 1;
    const double left = std::clamp(std::max(middle - 0.5 * w, next[row]), 0.0, std::max(0.0, s.width - w));
    const double top = y - 4.2 - 3.8 * static_cast<double>(row);
    if (left + 0.1 >= next[row]) {
      pen.text({left, top}, b.tool, style);
      const double from = top + 3.5;
      if (row == 1 || std::fabs(left + 0.5 * w - middle) > 0.6)
        pen.stroke(Path::segment({std::clamp(middle, left, left + w), from}, {middle, y}), {0.12, Ink::grey});
      next[row] = left + w + 1.6;
    }
    ++k;
  }
}

/// The largest value in each column of the paper, as an upright: what lies between two columns is never lost.
void panel(Pen& pen, const EngagementSheet& s, std::size_t index) {
  const Box box{s.plot.x, s.panels_y + static_cast<double>(index) * (panel_head + panel_tall + panel_air) + panel_head,
                s.plot.width, panel_tall};
  pen.text({0, box.y - panel_head + 0.4}, s.view.panels[index], bold_text(2.8));
  const auto n = static_cast<std::size_t>(std::max(1.0, std::floor(box.width / column_wide)));
  std::vector<double> most(n, 0);
  double top = 0;
  for (const EngagedPiece& p : s.view.pieces) {
    if (index >= p.values.size() || !std::isfinite(p.values[index]) || !(p.to >= p.from)) continue;
    const double share = static_cast<double>(n) / s.view.total;
    const double last = static_cast<double>(n - 1);
    const auto a = static_cast<std::size_t>(std::clamp(std::floor(p.from * share), 0.0, last));
    const auto b = static_cast<std::size_t>(std::clamp(std::floor(p.to * share), 0.0, last));
    for (std::size_t i = a; i <= b; ++i) most[i] = std::max(most[i], p.values[index]);
    top = std::max(top, p.values[index]);
  }
  if (!(top > 0)) top = 1;
  top *= 1.08;
  const auto height = [&](double v) { return box.bottom() - box.height * std::min(v, top) / top; };
  const std::vector<double> marks = ticks(0, top, 5);
  const double step = marks.size() > 1 ? marks[1] - marks[0] : top;
  for (const double m : marks) {
    pen.stroke(Path::segment({box.x, height(m)}, {box.right(), height(m)}), {0.12, Ink::light});
    pen.label({box.x - 1.5, height(m)}, say_tick(m, step), {.size = 2.4, .mono = true, .align = Align::right});
  }
  Path uprights;
  bool any = false;
  for (std::size_t i = 0; i < n; ++i)
    if (most[i] > 0) {
      const double x = box.x + (static_cast<double>(i) + 0.5) * column_wide;
      uprights.move({x, box.bottom()}).line({x, height(most[i])});
      any = true;
    }
  if (any) pen.stroke(uprights, {0.2});
  for (const ToolBand& b : s.view.bands)
    if (b.from > 0)
      pen.stroke(Path::segment({s.x(b.from), box.y}, {s.x(b.from), box.bottom()}), {0.12, Ink::grey, Dash::fine});
  pen.stroke(Path::segment({box.x, box.bottom()}, {box.right(), box.bottom()}), {0.3});
}

void worst(Pen& pen, const EngagementSheet& s) {
  if (s.view.worst.empty()) return;
  const bool hand = s.view.worst_hand;
  const Ink ink = hand ? Ink::accent : Ink::graphite;
  const auto wedge = [&](Point p) {
    pen.fill(Path::polygon({{p.x - 1.5, p.y - 2.4}, {p.x + 1.5, p.y - 2.4}, {p.x, p.y}}), ink);
  };
  wedge({1.8, s.words + 3});
  pen.text({6, s.words}, s.view.worst, worst_style(s.width - 6, hand));
  if (!(s.view.worst_at >= 0) || !(s.view.worst_at <= s.view.total)) return;
  const double x = s.x(s.view.worst_at);
  for (std::size_t k = 0; k < s.view.panels.size(); ++k) {
    const double top = s.panels_y + static_cast<double>(k) * (panel_head + panel_tall + panel_air) + panel_head;
    pen.stroke(Path::segment({x, top}, {x, top + panel_tall}), {0.35, ink, Dash::chain});
  }
  wedge({x, s.strip_y + strip_tall + 2});
}

void table(Pen& pen, const EngagementSheet& s) {
  double y = s.table_y;
  const auto row = [&](const std::vector<std::string>& cells, bool head) {
    double x = 0;
    for (std::size_t k = 0; k < s.columns.size(); ++k) {
      const bool right = k > 1;
      TextStyle style = head ? table_head() : cell_style(k == 0);
      style.wrap = s.columns[k] - 1.5;
      if (right) style.align = Align::right;
      if (k < cells.size()) pen.label({right ? x + s.columns[k] : x, y + 0.5 * row_tall}, cells[k], style);
      x += s.columns[k];
    }
    y += row_tall;
    pen.stroke(Path::segment({0, y}, {s.width, y}), {head ? 0.25 : 0.1, head ? Ink::graphite : Ink::light});
  };
  if (s.view.rows.empty()) return;
  row(s.view.heads, true);
  for (const EngagementRow& r : s.view.rows) row(r.cells, false);
}

void draw(Pen& pen, const EngagementSheet& s) {
  heading(&pen, s.view.title, s.view.sentence, s.width);
  strip(pen, s);
  for (std::size_t k = 0; k < s.view.panels.size(); ++k) panel(pen, s, k);
  const std::vector<double> minutes = ticks(0, s.view.total / 60, 9);
  const double base = s.axis_y - panel_air;
  for (const double m : minutes) {
    pen.stroke(Path::segment({s.x(60 * m), base}, {s.x(60 * m), base + 1.2}), {0.25});
    pen.text({s.x(60 * m), base + 1.6}, say_tick(m, minutes.size() > 1 ? minutes[1] - minutes[0] : 1),
             {.size = 2.4, .mono = true, .align = Align::centre});
  }
  pen.text({s.plot.x, base + 6}, "minutes since the program began", small_text());
  worst(pen, s);
  table(pen, s);
  if (!s.view.caption.empty())
    pen.text({0, s.height - measure(s.view.caption, note_style(s.width)).height - 1}, s.view.caption,
             note_style(s.width));
}

}  // namespace

Drawing engagement(const EngagementView& view, const Room& room) {
  const auto s = std::make_shared<const EngagementSheet>(lay_out(view, room.width));
  if (!(view.total > 0) || !std::isfinite(view.total) || view.panels.empty())
    return {room.width, s->words + 6, view.title, [s](Pen& pen) {
              heading(&pen, s->view.title, s->view.sentence, s->width);
              pen.text({0, s->words}, "open", small_text());
            }};
  return {room.width, s->height, view.title, [s](Pen& pen) { draw(pen, *s); }};
}

}  // namespace fettle::drawings
