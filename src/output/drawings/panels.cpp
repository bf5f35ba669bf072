#include "output/drawings/panels.h"

#include <algorithm>
#include <cmath>

#include "output/drawings/chart.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double left = 17, right = 26, head_height = 6, panel_gap = 6, foot = 11, top_air = 6;

struct Axes {
  double x0 = 0, x1 = 1, y0 = 0, y1 = 1;
  Box box;
  double x(double v) const { return box.x + box.width * (v - x0) / (x1 - x0); }
  double y(double v) const { return box.bottom() - box.height * (v - y0) / (y1 - y0); }
};

Axes axes_of(const PanelsView& v, const Panel& p, const Box& box) {
  Axes a;
  a.box = box;
  double low = INFINITY, high = -INFINITY;
  const auto take = [&](double y) {
    if (!std::isfinite(y)) return;
    low = std::min(low, y);
    high = std::max(high, p.most > 0 ? std::min(y, p.most) : y);
  };
  for (const PanelLine& l : p.lines)
    for (double y : l.y) take(y);
  for (double y : p.low) take(y);
  for (double y : p.high) take(y);
  take(p.point);
  if (!(high >= low)) low = 0, high = 1;
  if (p.from_zero) low = std::min(low, 0.0), high = std::max(high, 0.0);
  const double tall = std::max(high - low, std::max(std::fabs(high) * 0.02, 1e-9));
  a.y0 = p.from_zero && low >= 0 ? low : low - 0.1 * tall;
  a.y1 = high + 0.12 * tall;
  a.x0 = v.x.empty() ? 0 : v.x.front();
  a.x1 = v.x.empty() ? 1 : v.x.back();
  if (!(a.x1 > a.x0)) a.x0 -= 1, a.x1 += 1;
  return a;
}

/// The stretches of `x` where all of `ys` are numbers.
std::vector<std::pair<std::size_t, std::size_t>> stretches(const std::vector<double>& x,
                                                           const std::vector<const std::vector<double>*>& ys) {
  std::vector<std::pair<std::size_t, std::size_t>> out;
  std::size_t from = 0;
  bool in = false;
  for (std::size_t i = 0; i <= x.size(); ++i) {
    const bool good = i < x.size() && std::all_of(ys.begin(), ys.end(), [&](const std::vector<double>* y) {
                        return i < y->size() && std::isfinite((*y)[i]);
                      });
    if (good && !in) from = i;
    if (!good && in) out.push_back({from, i});
    in = good;
  }
  return out;
}

void draw_panel(Pen& pen, const PanelsView& v, const Panel& p, const Box& box, bool last) {
  const Axes a = axes_of(v, p, box);
  TextStyle head = bold_text(2.8);
  head.wrap = box.right() - box.x + right;
  head.max_lines = 1;
  pen.text({0, box.y - head_height}, p.name, head);
  const std::vector<double> ys = ticks(a.y0, a.y1, 5), xs = ticks(a.x0, a.x1, 8);
  const double step = ys.size() > 1 ? ys[1] - ys[0] : std::fabs(a.y1 - a.y0);
  for (double y : ys) {
    pen.stroke(Path::segment({box.x, a.y(y)}, {box.right(), a.y(y)}), {0.12, Ink::light});
    TextStyle t = figure_text(2.4);
    t.align = Align::right;
    pen.label({box.x - 1.5, a.y(y)}, say_tick(y, step), t);
  }
  pen.clipped(Path::box(box), [&] {
    const auto inside = [&](double y) { return a.y(std::clamp(y, a.y0 - (a.y1 - a.y0), a.y1 + (a.y1 - a.y0))); };
    for (const auto& [from, to] : stretches(v.x, {&p.low, &p.high})) {
      std::vector<Point> way;
      for (std::size_t i = from; i < to; ++i) way.push_back({a.x(v.x[i]), inside(p.low[i])});
      for (std::size_t i = to; i-- > from;) way.push_back({a.x(v.x[i]), inside(p.high[i])});
      pen.hatch(Path::polygon(way), Hatch::tight);
      pen.stroke(Path::polygon(way), {0.12, Ink::grey});
    }
    for (const PanelLine& l : p.lines)
      for (const auto& [from, to] : stretches(v.x, {&l.y})) {
        std::vector<Point> way;
        for (std::size_t i = from; i < to; ++i) way.push_back({a.x(v.x[i]), inside(l.y[i])});
        if (way.size() > 1) pen.stroke(Path::polyline(way), {0.5, Ink::graphite, l.dash});
      }
    if (v.now >= a.x0 && v.now <= a.x1)
      pen.stroke(Path::segment({a.x(v.now), box.y}, {a.x(v.now), box.bottom()}), {0.3, Ink::graphite, Dash::chain});
    if (v.better >= a.x0 && v.better <= a.x1)
      pen.stroke(Path::segment({a.x(v.better), box.y}, {a.x(v.better), box.bottom()}), {0.25, Ink::grey, Dash::fine});
  });
  if (std::isfinite(p.point) && v.now >= a.x0 && v.now <= a.x1) {
    const double y = std::clamp(a.y(p.point), box.y, box.bottom());
    pen.fill(Path::circle({a.x(v.now), y}, 2.4), Ink::accent);
    pen.label({std::min(a.x(v.now) + 2.2, box.right() - 30), y}, p.point_text, {.size = 2.6, .halo = true});
  }
  // Names at the right ends, pushed apart.
  double next = -INFINITY;
  std::vector<std::pair<double, std::string>> names;
  for (const PanelLine& l : p.lines)
    for (std::size_t i = l.y.size(); i-- > 0;)
      if (std::isfinite(l.y[i]) && !l.name.empty()) {
        names.push_back({std::clamp(a.y(l.y[i]), box.y, box.bottom()), l.name});
        break;
      }
  std::stable_sort(names.begin(), names.end(), [](const auto& l, const auto& r) { return l.first < r.first; });
  for (const auto& [y, text] : names) {
    const double at = std::max(y, next);
    pen.label({box.right() + 1.5, at}, text, {.size = 2.5, .wrap = right - 2});
    next = at + 3.8;
  }
  pen.stroke(Path::segment({box.x, box.bottom()}, {box.right(), box.bottom()}), {0.3});
  for (double x : xs) {
    pen.stroke(Path::segment({a.x(x), box.bottom()}, {a.x(x), box.bottom() + 1}), {0.2});
    TextStyle t = figure_text(2.4);
    t.align = Align::centre;
    if (last) pen.text({a.x(x), box.bottom() + 1.4}, say_tick(x, xs.size() > 1 ? xs[1] - xs[0] : 1), t);
  }
  for (std::size_t i = 0; i < v.x.size() && i < v.marked.size(); ++i)
    if (v.marked[i]) {
      pen.fill(Path::circle({a.x(v.x[i]), box.bottom()}, 1.8), Ink::ground);
      pen.stroke(Path::circle({a.x(v.x[i]), box.bottom()}, 1.8), {0.3});
    }
}

}  // namespace

Drawing panels(const PanelsView& view, const Room& room) {
  const double words = heading(nullptr, view.title, view.sentence, room.width);
  const double each = view.panel_height + head_height + panel_gap;
  const double n = static_cast<double>(view.panels.size());
  const double height = words + (view.panels.empty() ? 6 : top_air + n * each + foot);
  return {room.width, height, view.title.empty() ? "curves" : view.title, [view, room, words, each](Pen& pen) {
            heading(&pen, view.title, view.sentence, room.width);
            if (view.panels.empty()) {
              pen.text({0, words}, "open", small_text());
              return;
            }
            double y = words + top_air;
            for (std::size_t i = 0; i < view.panels.size(); ++i) {
              const Box box{left, y + head_height, room.width - left - right, view.panel_height};
              const bool last = i + 1 == view.panels.size();
              draw_panel(pen, view, view.panels[i], box, last);
              if (i == 0 && !view.x.empty()) {
                const double span = std::max(view.x.back() - view.x.front(), 1e-12);
                const auto upright = [&](double at, const std::string& text, double dy) {
                  if (!(at >= view.x.front()) || !(at <= view.x.back()) || text.empty()) return;
                  const TextStyle style = bold_text(2.5);
                  const double w = measure(text, style).width + 0.2;
                  const double x = box.x + box.width * (at - view.x.front()) / span;
                  pen.text({centred_within(x, w, box.x, room.width), dy}, text, style);
                };
                upright(view.now, view.now_text, y - 3.4);
                const bool close = std::fabs(view.better - view.now) < 0.35 * span;
                if (!close) upright(view.better, view.better_text, y - 3.4);
              }
              if (last) {
                std::string foot_text = view.x_name;
                if (!view.marked_name.empty()) foot_text += "   ○ " + view.marked_name;
                pen.text({box.x, box.bottom() + 5.4}, foot_text,
                         {.size = Type::small, .ink = Ink::grey, .wrap = room.width - box.x});
              }
              y += each;
            }
          }};
}

}  // namespace fettle::drawings
