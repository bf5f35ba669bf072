// Findings on one scale: 0 at the limit, to the right what is left, to the left what is over.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double lowest = -0.75, highest = 1.12;  // what the scale shows; bars beyond it end in a break and a number

struct Columns {
  double operation = 13, title, value, chart, limit, lever;  // widths
  double x_title, x_value, x_chart, x_limit, x_lever;
  /// `levers`: with a column for what moves each; else that stands below its row.
  Columns(double width, bool levers) {
    const double rest = width - operation;
    title = (levers ? 0.24 : 0.37) * rest;
    value = 0.165 * rest;
    limit = (levers ? 0.11 : 0.12) * rest;
    lever = levers ? 0.165 * rest : 0;
    chart = rest - title - value - limit - lever - 6;
    x_title = operation;
    x_value = x_title + title;
    x_chart = x_value + value + 2;
    x_limit = x_chart + chart + 2;
    x_lever = x_limit + limit + 2;
  }
  double at(double margin) const {
    return x_chart + chart * (std::clamp(margin, lowest, highest) - lowest) / (highest - lowest);
  }
};

TextStyle operation_style(const Columns& c) {
  return {.size = 2.4, .mono = true, .ink = Ink::grey, .wrap = c.operation - 1, .max_lines = 2};
}
TextStyle title_style(const Columns& c) { return {.size = 2.9, .wrap = c.title - 1.5, .max_lines = 12}; }
TextStyle value_style(const Columns& c) {
  return {.size = 2.6, .mono = true, .align = Align::right, .wrap = c.value, .max_lines = 12};
}
TextStyle limit_style(const Columns& c) {
  return {.size = 2.5, .mono = true, .ink = Ink::grey, .wrap = c.limit, .max_lines = 12};
}
TextStyle lever_style(const Columns& c, State state) {
  const bool hand = state == State::outside;
  return {.size = 2.7, .bold = hand, .ink = hand ? Ink::accent : Ink::grey, .wrap = c.lever, .max_lines = 12};
}

/// A lever of more than two lines in its column stands below title and value instead; that of a finding that is inside
/// then stands in the list of findings only.
bool in_column(const FindingRow& row, const Columns& c) {
  return c.lever > 0 && measure(row.lever, lever_style(c, row.state)).lines <= 2;
}
TextStyle below_style(const Columns& c, State state) {
  TextStyle style = lever_style(c, state);
  style.size = 2.55;
  style.wrap = c.title + c.value;
  return style;
}
std::string lever_below(const FindingRow& row, const Columns& c) {
  return row.state == State::inside || in_column(row, c) ? "" : row.lever;
}

/// No column for levers where most of those that matter would not fit it.
Columns columns_of(const MarginsView& view, double width) {
  const Columns with(width, true);
  int fit = 0, below = 0;
  for (const FindingRow& row : view.rows)
    if (!row.lever.empty() && row.state != State::inside) in_column(row, with) ? ++fit : ++below;
  return below > fit ? Columns(width, false) : with;
}

double row_air(const FindingRow& row) { return row.state == State::inside && std::isfinite(row.margin) ? 1.5 : 2.4; }
constexpr double axis_height = 9, title_height = 7, top_air = 5.5;

/// Of title, value, limit and a short lever; a long one comes below it.
double line_height(const FindingRow& row, const Columns& c, const unit::Style& style) {
  double h = 3.6;
  h = std::max(h, measure(row.operation, operation_style(c)).height);
  h = std::max(h, measure(row.title, title_style(c)).height);
  h = std::max(h, measure(say(row.value, style), value_style(c)).height);
  h = std::max(h, measure(row.limit, limit_style(c)).height);
  if (in_column(row, c)) h = std::max(h, measure(row.lever, lever_style(c, row.state)).height);
  return h + row_air(row);
}
double row_height(const FindingRow& row, const Columns& c, const unit::Style& style) {
  const std::string below = lever_below(row, c);
  const double h = line_height(row, c, style);
  return below.empty() ? h : h - 0.6 + measure(below, below_style(c, row.state)).height + 0.5;
}

void bar(Pen& pen, const FindingRow& row, const Columns& c, double y, double height) {
  const double tall = 3.1, top = y + height / 2 - tall / 2, zero = c.at(0);
  const auto field = [&](double from, double to) {
    const double a = c.at(from), b = c.at(to);
    return Box{std::min(a, b), top, std::max(std::fabs(b - a), 0.5), tall};
  };
  if (row.state == State::open || !std::isfinite(row.margin)) {
    state_fill(pen, field(0, 0.5), row.state == State::beyond ? State::beyond : State::open);
    return;
  }
  // Inside: solid as far as it holds at the bad end of every band, outlined above that.
  if (row.state == State::inside && row.margin_worst >= 0 && row.margin_worst < row.margin) {
    pen.stroke(Path::box(field(0, row.margin)), {0.25});
    state_fill(pen, field(0, row.margin_worst), State::inside);
  } else {
    state_fill(pen, field(0, row.margin), row.state);
  }
  if (row.state == State::tight && row.margin_worst < row.margin) {
    const double x = c.at(row.margin_worst), mid = y + height / 2;
    pen.stroke(Path::segment({std::min(x, zero), mid}, {zero, mid}), {0.3});
    pen.stroke(Path::segment({x, mid - 1.1}, {x, mid + 1.1}), {0.3});
  }
  if (row.margin < lowest || row.margin > highest) {
    const bool low = row.margin < lowest;
    const double x = low ? c.at(lowest) + 1.6 : c.at(highest) - 1.6;
    for (double dx : {-0.5, 0.5})
      pen.stroke(Path::segment({x + dx - 0.5, top + tall + 0.6}, {x + dx + 0.5, top - 0.6}), {0.9, Ink::ground});
    for (double dx : {-0.95, 0.95})
      pen.stroke(Path::segment({x + dx - 0.5, top + tall + 0.6}, {x + dx + 0.5, top - 0.6}), {0.25});
    TextStyle style = figure_text(2.3);
    style.halo = true;
    style.align = low ? Align::left : Align::right;
    pen.label({low ? x + 2.5 : x - 2.5, y + height / 2}, say_margin(row.margin), style);
  }
}

Drawing page(std::shared_ptr<const MarginsView> view, std::size_t from, std::size_t to, double width, bool head) {
  const Columns c = columns_of(*view, width);
  double height = (head ? title_height : top_air) + axis_height + 1;
  for (std::size_t i = from; i < to; ++i) height += row_height(view->rows[i], c, view->style);
  Drawing drawing{width, height, view->title, {}};
  drawing.draw = [view, from, to, width, head, c](Pen& pen) {
    double y = top_air;
    if (head) {
      pen.text({0, 0}, view->title, {.size = Type::head, .bold = true, .wrap = width, .max_lines = 1});
      y = title_height;
    } else if (from > 0) {
      pen.text({0, 0.3}, "margins, continued", small_text());
    }
    const double top = y;
    std::vector<double> tops;
    for (std::size_t i = from; i < to; ++i) {
      tops.push_back(y);
      y += row_height(view->rows[i], c, view->style);
      pen.stroke(Path::segment({0, y}, {width, y}), {0.1, Ink::light});
    }
    const double bottom = y + 1;
    for (double m : {-0.5, 0.5, 1.0})
      pen.stroke(Path::segment({c.at(m), top}, {c.at(m), bottom}), {0.25, Ink::light, Dash::dotted});
    for (std::size_t i = from; i < to; ++i) {
      const FindingRow& row = view->rows[i];
      const double row_y = tops[i - from], h = line_height(row, c, view->style);
      const auto put = [&](double x, const std::string& text, const TextStyle& style) {
        pen.text({x, row_y + (h - measure(text, style).height) / 2}, text, style);
      };
      put(0, row.operation, operation_style(c));
      put(c.x_title, row.title, title_style(c));
      put(c.x_value + c.value, say(row.value, view->style), value_style(c));
      put(c.x_limit, row.limit, limit_style(c));
      if (in_column(row, c)) put(c.x_lever, row.lever, lever_style(c, row.state));
      pen.text({c.x_title, row_y + h - 0.6}, lever_below(row, c), below_style(c, row.state));
      bar(pen, row, c, row_y, h);
    }
    pen.stroke(Path::segment({c.at(0), top - 1}, {c.at(0), bottom}), {0.55});
    const struct {
      double at;
      const char* text;
      bool strong;
    } marks[] = {{-0.5, "half a limit over", false},
                 {0, "limit", true},
                 {0.5, "half unused", false},
                 {1, "all of it unused", false}};
    for (const auto& mark : marks) {
      TextStyle style{.size = 2.3,
                      .bold = mark.strong,
                      .ink = mark.strong ? Ink::graphite : Ink::grey,
                      .align = Align::centre,
                      .wrap = 12};
      pen.text({c.at(mark.at), bottom + 0.8}, mark.text, style);
    }
    if (from == to) pen.text({0, top}, "no findings", small_text());
  };
  return drawing;
}

}  // namespace

std::vector<Drawing> margins(const MarginsView& view, const Room& room, double first_height) {
  const auto shared = std::make_shared<const MarginsView>(view);
  const Columns c = columns_of(view, room.width);
  std::vector<Drawing> pages;
  std::size_t from = 0;
  do {
    const bool head = pages.empty() && !view.title.empty();
    const double most = pages.empty() && first_height > 0 ? first_height : room.height;
    double height = (head ? title_height : top_air) + axis_height + 1;
    std::size_t to = from;
    while (to < view.rows.size()) {
      const double row = row_height(view.rows[to], c, view.style);
      if (height + row > most && to > from) break;
      height += row;
      ++to;
    }
    pages.push_back(page(shared, from, to, room.width, head));
    from = to;
  } while (from < view.rows.size());
  return pages;
}

}  // namespace fettle::drawings
