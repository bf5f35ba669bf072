// Minutes and cost of a part over the number of parts on a pallet set.
#include <algorithm>
#include <cmath>
#include <memory>

#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/drawings.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double plot_height = 58, gap = 12, axis_left = 15, top_air = 13, bottom_air = 11, label_room = 20;

struct Line {
  std::string name;
  std::vector<Point> points;  ///< x parts, y value
  Dash dash = Dash::solid;
  bool open_dots = false;
};

struct Plot {
  std::string name;
  std::vector<Line> lines;
  bool from_zero = true;
  double now = 0;
};

struct Axes {
  double x0 = 0, x1 = 1, y0 = 0, y1 = 1;
  Box box;
  Point at(Point p) const {
    return {box.x + box.width * (p.x - x0) / (x1 - x0), box.bottom() - box.height * (p.y - y0) / (y1 - y0)};
  }
};

Axes axes_of(const Plot& plot, const Box& box) {
  Axes a;
  a.box = box;
  double low = INFINITY, high = -INFINITY, left = INFINITY, right = -INFINITY;
  for (const Line& line : plot.lines)
    for (Point p : line.points) {
      low = std::min(low, p.y);
      high = std::max(high, p.y);
      left = std::min(left, p.x);
      right = std::max(right, p.x);
    }
  if (!(high >= low)) low = 0, high = 1, left = 0, right = 1;
  if (plot.from_zero) low = std::min(low, 0.0);
  const double tall = std::max(high - low, std::max(std::fabs(high) * 0.02, 0.05));
  a.y0 = plot.from_zero ? low : low - 0.12 * tall;
  a.y1 = high + 0.1 * tall;
  const double wide = std::max(right - left, 1.0);
  a.x0 = std::max(left - 0.06 * wide, plot.from_zero ? 0.0 : left - 0.06 * wide);
  a.x1 = right + 0.04 * wide;
  return a;
}

void frame(Pen& pen, const Plot& plot, const Axes& a) {
  const Box& b = a.box;
  const TextStyle number = figure_text(2.4);
  const std::vector<double> ys = ticks(a.y0, a.y1, 6);
  const double step = ys.size() > 1 ? ys[1] - ys[0] : std::fabs(a.y1 - a.y0);
  for (double v : ys) {
    const double y = a.at({a.x0, v}).y;
    pen.stroke(Path::segment({b.x, y}, {b.right(), y}), {0.12, Ink::light});
    TextStyle t = number;
    t.align = Align::right;
    pen.label({b.x - 1.5, y}, say_tick(v, step), t);
  }
  // At the counts that were computed, the plan's own first, then as many as there is room for.
  TextStyle centred = number;
  centred.align = Align::centre;
  const double each = measure("000", centred).width + 0.5;
  std::vector<double> xs;
  const auto take = [&](double v) {
    if (std::all_of(xs.begin(), xs.end(), [&](double o) { return std::fabs(a.at({o, 0}).x - a.at({v, 0}).x) >= each; }))
      xs.push_back(v);
  };
  const std::vector<Point> computed = plot.lines.empty() ? std::vector<Point>{} : plot.lines[0].points;
  for (Point p : computed)
    if (p.x == plot.now) take(p.x);
  for (Point p : computed) take(p.x);
  for (Point p : computed) {
    const double x = a.at({p.x, 0}).x;
    pen.stroke(Path::segment({x, b.bottom()}, {x, b.bottom() + 0.7}), {0.15});
  }
  for (double v : xs) {
    const double x = a.at({v, 0}).x;
    pen.stroke(Path::segment({x, b.bottom()}, {x, b.bottom() + 1.1}), {0.2});
    pen.text({x, b.bottom() + 1.4}, say_tick(v, 1), centred);
  }
  pen.stroke(Path::segment({b.x, b.bottom()}, {b.right(), b.bottom()}), {0.3});
  pen.text({b.x, b.bottom() + 5.2}, "parts on a pallet set", {.size = Type::small, .ink = Ink::grey, .wrap = b.width});
}

void curve(Pen& pen, const Line& line, const Axes& a) {
  std::vector<Point> way;
  for (Point p : line.points) way.push_back(a.at(p));
  pen.stroke(Path::polyline(way), {0.4, Ink::graphite, line.dash});
  for (Point p : way) {
    pen.fill(Path::circle(p, 1.5), line.open_dots ? Ink::ground : Ink::graphite);
    if (line.open_dots) pen.stroke(Path::circle(p, 1.5), {0.3});
  }
}

/// Names at the right ends of the lines, pushed apart.
void names(Pen& pen, const Plot& plot, const Axes& a, double room) {
  struct Name {
    double y;
    std::string text;
  };
  std::vector<Name> all;
  for (const Line& line : plot.lines)
    if (!line.points.empty() && !line.name.empty()) all.push_back({a.at(line.points.back()).y, line.name});
  std::stable_sort(all.begin(), all.end(), [](const Name& l, const Name& r) { return l.y < r.y; });
  double next = -INFINITY;
  for (const Name& n : all) {
    const double y = std::max(n.y, next);
    pen.label({a.box.right() + 1.5, y}, n.text, {.size = 2.6, .wrap = room - 1.5});
    next = y + 3.8;
  }
}

void now_line(Pen& pen, const Plot& plot, const Axes& a, const std::string& text) {
  if (!(plot.now >= a.x0) || !(plot.now <= a.x1)) return;
  const double x = a.at({plot.now, 0}).x;
  pen.stroke(Path::segment({x, a.box.y - 1.5}, {x, a.box.bottom()}), {0.3, Ink::graphite, Dash::chain});
  for (const Line& line : plot.lines)
    for (Point p : line.points)
      if (p.x == plot.now) pen.stroke(Path::circle(a.at(p), 3.1), {0.35});
  TextStyle style = bold_text(2.6);
  style.wrap = a.box.width;
  style.max_lines = 1;
  TextStyle one = style;
  one.wrap = 0;
  const double w = std::min(measure(text, one).width + 0.2, a.box.width);
  style.wrap = w;
  pen.text({centred_within(x, w, a.box.x, a.box.right()), a.box.y - 5.6}, text, style);
}

void draw_plot(Pen& pen, const Plot& plot, double width, double names_room, const std::string& now) {
  TextStyle head = bold_text(2.9);
  head.wrap = width;
  head.max_lines = 1;
  pen.text({0, 0}, plot.name, head);
  const Axes a = axes_of(plot, {axis_left, top_air, width - axis_left - names_room, plot_height});
  frame(pen, plot, a);
  now_line(pen, plot, a, now);
  for (const Line& line : plot.lines) curve(pen, line, a);
  names(pen, plot, a, names_room);
}

/// The points that can be drawn, by the number of parts; of two for the same number the first.
std::vector<CountPoint> usable(const CountCurveView& view) {
  std::vector<CountPoint> out;
  for (const CountPoint& p : view.points)
    if (p.parts > 0 && p.parts <= 100000) out.push_back(p);
  std::stable_sort(out.begin(), out.end(), [](const CountPoint& l, const CountPoint& r) { return l.parts < r.parts; });
  out.erase(
      std::unique(out.begin(), out.end(), [](const CountPoint& l, const CountPoint& r) { return l.parts == r.parts; }),
      out.end());
  return out;
}

}  // namespace

Drawing count_curve(const CountCurveView& view, const Room& room) {
  const auto points = usable(view);
  Plot minutes{"minutes a part", {{"machine", {}, Dash::solid, false}, {"person", {}, Dash::dashed, true}}, true, 0};
  Plot money{"cost of a good part" + (view.currency.empty() ? "" : ", " + view.currency) + " (axis not from 0)",
             {{"", {}, Dash::solid, false}},
             false,
             0};
  minutes.now = money.now = view.now;
  const auto put = [](Line& line, int parts, double y) {
    if (y >= 0 && y < 1e8) line.points.push_back({static_cast<double>(parts), y});
  };
  for (const CountPoint& p : points) {
    put(minutes.lines[0], p.parts, p.machine / 60);
    put(minutes.lines[1], p.parts, p.person / 60);
    put(money.lines[0], p.parts, p.cost);
  }
  const auto drawable = [](const Plot& plot) {
    return std::any_of(plot.lines.begin(), plot.lines.end(), [](const Line& l) { return !l.points.empty(); });
  };
  std::vector<Plot> plots;
  if (drawable(minutes)) plots.push_back(minutes);
  if (drawable(money)) plots.push_back(money);
  const double words = heading(nullptr, view.title, view.sentence, room.width);
  const double height = words + (plots.empty() ? 6 : top_air + plot_height + bottom_air);
  const std::string title = view.title, sentence = view.sentence;
  const std::string now = view.now > 0 ? "now " + std::to_string(view.now) : "";
  return {room.width, height, title.empty() ? "count curve" : title, [=](Pen& pen) {
            heading(&pen, title, sentence, room.width);
            if (plots.empty()) pen.text({0, words}, "time and cost over the number of parts: open", small_text());
            const double free = room.width - gap, left = plots.size() > 1 ? free * 0.55 : room.width;
            double x = 0;
            for (const Plot& plot : plots) {
              const bool named = plot.lines.size() > 1;
              const double width = plots.size() == 1 ? std::min(room.width, 120.0) : named ? left : free - left;
              pen.moved({x, words}, [&] { draw_plot(pen, plot, width, named ? label_room : 2, now); });
              x += width + gap;
            }
          }};
}

}  // namespace fettle::drawings
