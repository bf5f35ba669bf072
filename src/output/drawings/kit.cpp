#include "output/drawings/kit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "output/drawings/figures.h"
#include "unit/quantity.h"

namespace fettle::drawings {
namespace {

constexpr double pi = std::numbers::pi;

Point turned(Point p, double angle) {
  return {p.x * std::cos(angle) - p.y * std::sin(angle), p.x * std::sin(angle) + p.y * std::cos(angle)};
}

/// Corner points of a shape in view coordinates, round forms by their boxes' corners.
std::vector<Point> corners(const Shape& shape) {
  std::vector<Point> points;
  if (shape.form == Shape::Form::polygon) points = shape.points;
  else
    for (double sx : {-0.5, 0.5})
      for (double sy : {-0.5, 0.5})
        points.push_back({sx * shape.width, sy * (shape.form == Shape::Form::circle ? shape.width : shape.height)});
  const double turn = shape.form == Shape::Form::circle ? 0 : shape.turn;
  for (Point& p : points) {
    p = turned(p, turn);
    p.x += shape.at.x;
    p.y += shape.at.y;
  }
  return points;
}

}  // namespace

double nice_scale(double width, double height, const Box& given, bool fine) {
  const Box room{0, 0, std::max(given.width, 30.0), std::max(given.height, 30.0)};
  constexpr std::array<double, 18> ratios = {10,       5,        2,        1,         1 / 2.0,   1 / 2.5,
                                             1 / 3.0,  1 / 4.0,  1 / 5.0,  1 / 7.5,   1 / 10.0,  1 / 15.0,
                                             1 / 20.0, 1 / 25.0, 1 / 50.0, 1 / 100.0, 1 / 200.0, 1 / 500.0};
  const double w = width > 0 && std::isfinite(width) ? width : 0, h = height > 0 && std::isfinite(height) ? height : 0;
  if (fine)
    for (double ratio : {5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.25, 1.0, 1 / 1.25, 1 / 1.5})
      if (w * 1000 * ratio <= room.width + 1e-9 && h * 1000 * ratio <= room.height + 1e-9) return 1000 * ratio;
  for (double ratio : ratios)
    if (w * 1000 * ratio <= room.width + 1e-9 && h * 1000 * ratio <= room.height + 1e-9) return 1000 * ratio;
  // Larger than any usual scale: fit it exactly.
  return std::min(w > 0 ? room.width / w : 1.0, h > 0 ? room.height / h : 1.0);
}

std::string say_scale(double mm_per_m) {
  if (!(mm_per_m > 0)) return "not to scale";
  const double ratio = mm_per_m / 1000;
  const auto round = [](double x) { return base::shortest(std::round(x * 100) / 100); };
  return ratio >= 1 ? round(ratio) + ":1" : "1:" + round(1 / ratio);
}

double nice_factor(double most) {
  double best = 1;
  for (double power : {1.0, 10.0, 100.0, 1000.0, 10000.0})
    for (double digit : {1.0, 2.0, 3.0, 4.0, 5.0})
      if (digit * power <= most) best = std::max(best, digit * power);
  return best;
}

Path to_path(const Shape& shape, const Scale& scale) {
  switch (shape.form) {
    case Shape::Form::circle:
      return Path::circle(scale.at(shape.at), scale.length(shape.width));
    case Shape::Form::polygon: {
      std::vector<Point> points = corners(shape);
      for (Point& p : points) p = scale.at(p);
      return points.size() == 2 ? Path::polyline(points) : Path::polygon(points);
    }
    case Shape::Form::box:
      break;
  }
  const double w = shape.width / 2, h = shape.height / 2, r = std::max(0.0, std::min({shape.corner, w, h}));
  Path path;
  // Corners from bottom left, against the clock in the view; arcs run against the clock there, too: on paper backwards.
  const Point middles[] = {{w - r, -h + r}, {w - r, h - r}, {-w + r, h - r}, {-w + r, -h + r}};
  const auto place = [&](Point p) {
    p = turned(p, shape.turn);
    return scale.at({p.x + shape.at.x, p.y + shape.at.y});
  };
  path.move(place({-w + r, -h}));
  for (int i = 0; i < 4; ++i) {
    const double from = -pi / 2 + i * pi / 2;
    const Point start{middles[i].x + r * std::cos(from), middles[i].y + r * std::sin(from)};
    path.line(place(start));
    if (r > 0) path.arc(place(middles[i]), scale.length(r), -(from + shape.turn), -(from + pi / 2 + shape.turn));
  }
  return path.close();
}

Box bounds(const std::vector<Point>& points) {
  double left = INFINITY, low = INFINITY, right = -INFINITY, high = -INFINITY;
  for (const Point& p : points) {
    if (!std::isfinite(p.x) || !std::isfinite(p.y)) continue;
    left = std::min(left, p.x);
    right = std::max(right, p.x);
    low = std::min(low, p.y);
    high = std::max(high, p.y);
  }
  if (!(right >= left)) return {};
  return {left, low, right - left, high - low};
}

Box bounds(const std::vector<Shape>& shapes) {
  std::vector<Point> all;
  for (const Shape& shape : shapes)
    for (const Point& p : corners(shape)) all.push_back(p);
  return bounds(all);
}

void arrow_head(Pen& pen, Point tip, Point from, double size, Ink ink) {
  const double dx = tip.x - from.x, dy = tip.y - from.y, length = std::hypot(dx, dy);
  if (!(length > 0)) return;
  const double ux = dx / length, uy = dy / length, half = size * 0.3;
  pen.fill(Path::polygon({tip,
                          {tip.x - ux * size - uy * half, tip.y - uy * size + ux * half},
                          {tip.x - ux * size + uy * half, tip.y - uy * size - ux * half}}),
           ink);
}

void arrow(Pen& pen, Point from, Point to, double size, const Stroke& stroke) {
  const double length = std::hypot(to.x - from.x, to.y - from.y);
  if (!(length > 0)) return;
  const double back = std::min(size * 0.8, length) / length;
  pen.stroke(Path::segment(from, {to.x - (to.x - from.x) * back, to.y - (to.y - from.y) * back}), stroke);
  arrow_head(pen, to, from, size, stroke.ink);
}

namespace {

constexpr Stroke thin{0.15, Ink::grey, Dash::solid};

/// Along a dimension line: arrows inside when there is room for them, else from outside.
void dimension_line(Pen& pen, Point a, Point b) {
  const double length = std::hypot(b.x - a.x, b.y - a.y);
  if (!(length > 0)) return;
  const double size = 1.9;
  if (length >= 3 * size) {
    pen.stroke(Path::segment(a, b), thin);
    arrow_head(pen, a, b, size, Ink::graphite);
    arrow_head(pen, b, a, size, Ink::graphite);
    return;
  }
  const double ux = (b.x - a.x) / length, uy = (b.y - a.y) / length, tail = 4;
  const Point before{a.x - ux * tail, a.y - uy * tail}, after{b.x + ux * tail, b.y + uy * tail};
  pen.stroke(Path::segment(before, after), thin);
  arrow_head(pen, a, before, size, Ink::graphite);
  arrow_head(pen, b, after, size, Ink::graphite);
}

}  // namespace

void dimension_x(Pen& pen, double x1, double x2, double from_y, double line_y, const std::string& text) {
  const double over = line_y > from_y ? 1 : -1;
  for (double x : {x1, x2}) pen.stroke(Path::segment({x, from_y + over}, {x, line_y + over * 1.2}), thin);
  dimension_line(pen, {x1, line_y}, {x2, line_y});
  TextStyle style = figure_text(2.7);
  style.align = Align::centre;
  style.halo = true;
  const double width = measure(text, style).width;
  const bool fits = std::fabs(x2 - x1) > width + 5;
  pen.label({(x1 + x2) / 2, fits ? line_y : line_y + over * 2.6}, text, style);
}

void dimension_y(Pen& pen, double y1, double y2, double from_x, double line_x, const std::string& text) {
  const double over = line_x > from_x ? 1 : -1;
  for (double y : {y1, y2}) pen.stroke(Path::segment({from_x + over, y}, {line_x + over * 1.2, y}), thin);
  dimension_line(pen, {line_x, y1}, {line_x, y2});
  TextStyle style = figure_text(2.7);
  style.halo = true;
  const double width = measure(text, style).width;
  const bool fits = std::fabs(y2 - y1) > width + 5;
  if (fits) pen.turned({line_x, (y1 + y2) / 2}, -pi / 2, text, style);
  else
    pen.label({line_x + over * 2, (y1 + y2) / 2}, text,
              {.size = style.size, .mono = true, .align = over > 0 ? Align::left : Align::right});
}

double scale_bar_height() { return 6; }

double scale_bar(Pen& pen, Point at, double mm_per_m, const unit::Style& style) {
  if (!(mm_per_m > 0)) return 0;
  const bool inch = style.system == unit::Style::System::inch;
  const double unit_m = inch ? 0.0254 : 0.001;
  double length = unit_m;
  for (double power : {0.01, 0.1, 1.0, 10.0, 100.0, 1000.0, 10000.0})
    for (double digit : {1.0, 2.0, 5.0})
      if (digit * power * unit_m * mm_per_m <= 42) length = std::max(length, digit * power * unit_m);
  const double paper = length * mm_per_m, tall = 1.1;
  for (int i = 0; i < 4; ++i) {
    const Path field = Path::box({at.x + i * paper / 4, at.y + 1.2, paper / 4, tall});
    if (i % 2 == 0) pen.fill(field, Ink::graphite);
  }
  pen.stroke(Path::box({at.x, at.y + 1.2, paper, tall}), {0.2});
  pen.label({at.x + paper + 2, at.y + 1.2 + tall / 2}, say_size(length, style) + "   scale " + say_scale(mm_per_m),
            {.size = Type::small});
  return scale_bar_height();
}

void state_fill_path(Pen& pen, const Path& path, State state) {
  switch (state) {
    case State::inside:
      pen.fill(path, Ink::graphite);
      break;
    case State::tight:
      pen.hatch(path, Hatch::tight);
      pen.stroke(path, {0.3});
      break;
    case State::outside:
      pen.hatch(path, Hatch::outside);
      pen.stroke(path, {0.45, Ink::accent});
      break;
    case State::open:
      pen.stroke(path, {0.25, Ink::graphite, Dash::fine});
      break;
    case State::beyond:
      pen.stroke(path, {0.35, Ink::graphite, Dash::dotted});
      break;
  }
}

void state_fill(Pen& pen, const Box& box, State state) {
  state_fill_path(pen, Path::box(box), state);
  if (state != State::beyond) return;
  pen.stroke(Path::segment({box.x, box.y}, {box.right(), box.bottom()}), {0.25});
  pen.stroke(Path::segment({box.x, box.bottom()}, {box.right(), box.y}), {0.25});
}

double leaders(Pen* pen, std::vector<Leader> notes, const Box& column) {
  for (Leader& n : notes)
    if (!std::isfinite(n.at.x) || !std::isfinite(n.at.y)) n.at = {INFINITY, column.y};  // no place known: no line
  std::stable_sort(notes.begin(), notes.end(), [](const Leader& a, const Leader& b) { return a.at.y < b.at.y; });
  struct Laid {
    double y = 0, height = 0, head = 0;
  };
  const auto head_style = [&](const Leader& n) {
    TextStyle style = bold_text(2.9);
    style.wrap = column.width;
    style.max_lines = 4;
    style.ink = n.hand ? Ink::accent : Ink::graphite;
    return style;
  };
  TextStyle text_style = small_text();
  text_style.wrap = column.width;
  text_style.max_lines = 8;
  constexpr double gap = 2.4;
  std::vector<Laid> laid;
  for (const Leader& n : notes) {
    Laid l;
    l.head = n.head.empty() ? 0 : measure(n.head, head_style(n)).height;
    l.height = l.head + (n.text.empty() ? 0 : measure(n.text, text_style).height);
    l.y = std::isfinite(n.at.y) ? n.at.y - 1.9 : column.y;
    laid.push_back(l);
  }
  // Down from the top, then back up from the bottom when the column is too short at its end.
  double next = column.y;
  for (Laid& l : laid) next = (l.y = std::max(l.y, next)) + l.height + gap;
  double floor = std::max(column.bottom(), next - gap);
  double total = -gap;
  for (const Laid& l : laid) total += l.height + gap;
  floor = std::max(column.bottom(), column.y + total);
  for (std::size_t i = laid.size(); i-- > 0;) {
    laid[i].y = std::max(column.y, std::min(laid[i].y, floor - laid[i].height));
    floor = laid[i].y - gap;
  }
  double below = column.y;
  for (std::size_t i = 0; i < notes.size(); ++i) {
    const Leader& n = notes[i];
    below = std::max(below, laid[i].y + laid[i].height);
    if (!pen) continue;
    const double y = laid[i].y + 1.9;
    const Stroke line{n.hand ? 0.3 : 0.18, n.hand ? Ink::accent : Ink::grey};
    if (std::isfinite(n.at.x) && std::isfinite(n.at.y)) {
      const Path way = Path::polyline({n.at, {column.x - 4.5, y}, {column.x - 1, y}});
      pen->stroke(way, {line.width + 0.7, Ink::ground});  // lets the line stand clear of what it crosses
      pen->stroke(way, line);
      if (n.dot) pen->fill(Path::circle(n.at, 1.0), line.ink);
    }
    double top = laid[i].y;
    if (!n.head.empty()) top += pen->text({column.x, top}, n.head, head_style(n)).height;
    if (!n.text.empty()) pen->text({column.x, top}, n.text, text_style);
  }
  return below;
}

double fact_strip(Pen* pen, const std::vector<Fact>& list, Point at, double width, const unit::Style& style) {
  if (list.empty()) return 0;
  const int columns = std::max(1, std::min(static_cast<int>(list.size()), static_cast<int>(width / 34)));
  const double step = width / columns;
  double y = at.y + 1, row = 0;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const int column = static_cast<int>(i) % columns;
    if (column == 0 && i > 0) y += row + 2, row = 0;
    TextStyle name = small_text();
    name.wrap = step - 3;
    name.max_lines = 3;
    TextStyle value = figure_text(2.9);
    value.wrap = step - 3;
    value.max_lines = 3;
    if (list[i].hand) value.bold = true, value.ink = Ink::accent;
    const std::string text = say(list[i].value, style);
    const double name_height = measure(list[i].name, name).height;
    row = std::max(row, name_height + measure(text, value).height);
    if (!pen) continue;
    pen->text({at.x + column * step, y}, list[i].name, name);
    pen->text({at.x + column * step, y + name_height - 0.2}, text, value);
  }
  return y + row + 2 - at.y;
}

}  // namespace fettle::drawings
