// The route as a line that gets cleaner: a ragged edge at the raw casting, a fine straight line at the finished part.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double rail_x = 9, text_x = 21, title_height = 8, end_height = 10, step_air = 7, least_step = 22,
                 stamp_r = 6.4;

struct Columns {
  double text = 0, sketch_x = 0, sketch = 0;
};
Columns columns_of(const RouteView& view, double width) {
  const bool sketches =
      std::any_of(view.steps.begin(), view.steps.end(), [](const RouteStep& s) { return s.sketch.has_value(); });
  Columns c;
  c.sketch = sketches ? 0.34 * width : 0;
  c.text = width - text_x - (sketches ? c.sketch + 6 : 0);
  c.sketch_x = width - c.sketch;
  return c;
}

TextStyle title_style(const Columns& c) { return {.size = 3.8, .bold = true, .wrap = c.text, .max_lines = 4}; }
TextStyle place_style(const Columns& c) {
  return {.size = Type::small, .ink = Ink::grey, .wrap = c.text, .max_lines = 3};
}
TextStyle sentence_style(const Columns& c) { return {.size = 3.1, .wrap = c.text, .max_lines = 16, .rich = true}; }
TextStyle remark_style(const Columns& c) {
  return {.size = Type::small, .ink = Ink::grey, .wrap = c.text, .max_lines = 8, .rich = true};
}
TextStyle worst_style(const Columns& c, State state) {
  const bool hand = state == State::outside;
  return {.size = 2.9, .bold = hand, .ink = hand ? Ink::accent : Ink::graphite, .wrap = c.text - 7, .max_lines = 6};
}

std::string counts_of(const RouteStep& step) {
  std::string out;
  const auto add = [&](int n, State state) {
    if (n > 0) out += (out.empty() ? "" : " · ") + std::to_string(n) + " " + std::string(finding::word(state));
  };
  add(step.outside, State::outside);
  add(step.tight, State::tight);
  add(step.open, State::open);
  add(step.beyond, State::beyond);
  add(step.inside, State::inside);
  return out;
}

constexpr double sketch_high = 34;

struct Placed2 {
  Scale scale;
  double height = 0;  ///< without caption
};
Placed2 place_sketch(const Sketch& sketch, double width) {
  std::vector<Shape> shapes;
  double words = 0;
  for (const Sketch::Item& item : sketch.items) {
    shapes.push_back(item.shape);
    if (!item.text.empty()) words = std::max(words, measure(item.text, {.size = Type::small}).width + 2);
  }
  words = std::min(words, width / 2);
  const Box b = bounds(shapes);
  Placed2 out;
  if (!(b.width > 0) && !(b.height > 0)) return out;
  const double room_w = width - words - 2, room_h = sketch_high - 2;
  const double fit_w = b.width > 0 ? room_w / b.width : 1e9, fit_h = b.height > 0 ? room_h / b.height : 1e9;
  out.scale.mm_per_m = std::min(fit_w, fit_h);
  out.height = out.scale.length(b.height) + 2;
  out.scale.origin = {1 - out.scale.length(b.x), 1 + out.scale.length(b.y + b.height)};
  return out;
}
TextStyle caption_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 6}; }

double sketch_height(const Sketch& sketch, double width) {
  return place_sketch(sketch, width).height + 1.5 + measure(sketch.caption, caption_style(width)).height;
}

void draw_sketch(Pen& pen, const Sketch& sketch, double width) {
  const Placed2 placed = place_sketch(sketch, width);
  for (const Sketch::Item& item : sketch.items) {
    using Part = Sketch::Part;
    const Box b = bounds(std::vector<Shape>{item.shape});
    const Point right = placed.scale.at({b.x + b.width, b.y + b.height / 2});
    if (item.part == Part::arrow) {
      if (item.shape.points.size() < 2) continue;
      const Point from = placed.scale.at(item.shape.points[0]), to = placed.scale.at(item.shape.points[1]);
      arrow(pen, from, to, 2.6, {0.5});
      const bool leftwards = to.x < from.x;
      TextStyle style = figure_text(2.6);
      if (!leftwards) style.align = Align::right;
      style.wrap = leftwards ? width - from.x - 1.5 : from.x - 1.5;
      if (!(style.wrap > 2)) continue;
      pen.label({from.x + (leftwards ? 1.5 : -1.5), from.y}, item.text, style);
      continue;
    }
    const Path path = to_path(item.shape, placed.scale);
    switch (item.part) {
      case Part::outline:
        pen.stroke(path, {0.4});
        break;
      case Part::metal:
        pen.fill(path, Ink::ground);
        pen.hatch(path, Hatch::metal);
        pen.stroke(path, {0.3});
        break;
      case Part::jaw:
        pen.fill(path, Ink::graphite);
        break;
      case Part::thin:
        pen.stroke(path, {0.15, Ink::grey});
        break;
      case Part::cut:
        pen.stroke(path, {0.4, Ink::graphite, Dash::chain});
        break;
      case Part::arrow:
        break;
    }
    if (!item.text.empty())
      pen.label({right.x + 1.8, right.y}, item.text,
                {.size = Type::small, .ink = Ink::grey, .wrap = std::max(2.0, width - right.x - 1.8)});
  }
  pen.text({0, placed.height + 1.5}, sketch.caption, caption_style(width));
}

double step_height(const RouteStep& step, const Columns& c) {
  double h = measure(step.title, title_style(c)).height + 0.6;
  h += measure(step.place, place_style(c)).height + measure(step.sentence, sentence_style(c)).height;
  h += measure(step.remark, remark_style(c)).height + 1.2;
  if (!step.worst.empty()) h += measure(step.worst, worst_style(c, step.worst_state)).height + 0.6;
  h += measure(counts_of(step), remark_style(c)).height;
  if (step.sketch) h = std::max(h, sketch_height(*step.sketch, c.sketch));
  return std::max(h + step_air, least_step);
}

/// The same ragged line every time: a small fixed generator instead of chance.
double ragged(int i) {
  unsigned x = static_cast<unsigned>(i) * 2654435761u + 12345u;
  x ^= x >> 13;
  x *= 2246822519u;
  x ^= x >> 16;
  return static_cast<double>(x % 2001u) / 1000.0 - 1;
}

/// How rough the line still is before step `k` of `n`: 1 raw, 0 finished.
double roughness(std::size_t k, std::size_t n) {
  return n == 0 ? 0 : std::pow(1 - static_cast<double>(k) / static_cast<double>(n), 1.4);
}

void rail(Pen& pen, double from, double to, double rough, int seed) {
  if (!(to > from)) return;
  const double step = 0.9;
  std::vector<Point> left, right;
  const double half = 0.17 + 0.75 * rough;
  int i = 0;
  for (double y = from; y < to + step; y += step, ++i) {
    const double at = std::min(y, to);
    left.push_back({rail_x - half - 0.85 * rough * std::fabs(ragged(seed + 2 * i)), at});
    right.push_back({rail_x + half + 0.85 * rough * std::fabs(ragged(seed + 2 * i + 1)), at});
  }
  std::vector<Point> outline = left;
  outline.insert(outline.end(), right.rbegin(), right.rend());
  if (rough > 0.02) {
    pen.hatch(Path::polygon(outline), Hatch::metal);
    pen.stroke(Path::polyline(left), {0.22});
    pen.stroke(Path::polyline(right), {0.22});
  } else {
    pen.stroke(Path::segment({rail_x, from}, {rail_x, to}), {0.6});
  }
}

void stamp(Pen& pen, double y, const RouteStep& step) {
  TextStyle style = bold_text(3.0);
  style.align = Align::centre;
  double width = measure(step.id, style).width;
  while (width > 2 * rail_x - 2.4 && style.size > 1.6) style.size *= 0.9, width = measure(step.id, style).width;
  const double half = std::max(stamp_r, std::min(width / 2 + 1.6, rail_x - 0.4));
  const Box box{rail_x - half, y - stamp_r, 2 * half, 2 * stamp_r};
  const bool hand = step.worst_state == State::outside && !step.worst.empty();
  pen.fill(Path::box(box, stamp_r), Ink::ground);
  pen.stroke(Path::box(box, stamp_r), hand ? Stroke{0.7, Ink::accent} : Stroke{0.4});
  if (width <= 2 * rail_x - 2.4) pen.label({rail_x, y}, step.id, style);
  else {
    TextStyle small{.size = 1.6, .bold = true, .align = Align::centre, .wrap = 2 * rail_x - 3, .max_lines = 2};
    pen.text({rail_x, y - measure(step.id, small).height / 2}, step.id, small);
  }
}

Drawing page(std::shared_ptr<const RouteView> view, std::size_t from, std::size_t to, double width) {
  const Columns c = columns_of(*view, width);
  const bool first = from == 0, last = to == view->steps.size();
  double height = (first && !view->title.empty() ? title_height : 0) + end_height;
  for (std::size_t i = from; i < to; ++i) height += step_height(view->steps[i], c);
  height += end_height;
  Drawing drawing{width, height, view->title, {}};
  drawing.draw = [view, from, to, width, first, last, c](Pen& pen) {
    const std::size_t n = view->steps.size();
    double y = 0;
    if (first && !view->title.empty()) {
      pen.text({0, 0}, view->title, {.size = Type::head, .bold = true, .wrap = width, .max_lines = 1});
      y = title_height;
    }
    const TextStyle end{.size = Type::small, .ink = Ink::grey, .wrap = width - text_x, .max_lines = 2};
    if (first) pen.text({text_x, y + 0.5}, view->from.empty() ? "raw casting" : view->from, end);
    if (n == 0) {
      pen.text({text_x, y + end_height}, "The route is open: no operations.", body_text());
      return;
    }
    double line = y;
    y += end_height;
    for (std::size_t i = from; i < to; ++i) {
      const RouteStep& step = view->steps[i];
      rail(pen, line, y + stamp_r, roughness(i, n), static_cast<int>(i) * 977);
      line = y + stamp_r;
      double at = y + 0.8;
      const auto put = [&](const std::string& text, const TextStyle& style) {
        at += pen.text({text_x, at}, text, style).height;
      };
      put(step.title, title_style(c));
      put(step.place, place_style(c));
      at += 0.6;
      put(step.sentence, sentence_style(c));
      put(step.remark, remark_style(c));
      at += 1.2;
      if (!step.worst.empty()) {
        state_fill(pen, {text_x + 0.3, at + 0.6, 4, 2.5}, step.worst_state);
        at += pen.text({text_x + 7, at}, step.worst, worst_style(c, step.worst_state)).height + 0.6;
      }
      put(counts_of(step), remark_style(c));
      if (step.sketch) pen.moved({c.sketch_x, y}, [&] { draw_sketch(pen, *step.sketch, c.sketch); });
      const double next = y + step_height(step, c);
      rail(pen, line, next, roughness(i + 1, n), static_cast<int>(i + 1) * 977);
      line = next;
      stamp(pen, y + stamp_r, step);
      y = next;
    }
    rail(pen, line, y + 4, roughness(to, n), static_cast<int>(to) * 977);
    if (last) {
      arrow_head(pen, {rail_x, y + 6.5}, {rail_x, y}, 3, Ink::graphite);
      pen.text({text_x, y + 2.6}, view->to.empty() ? "finished part" : view->to, end);
    }
  };
  return drawing;
}

}  // namespace

std::vector<Drawing> route(const RouteView& view, const Room& room) {
  const auto shared = std::make_shared<const RouteView>(view);
  const Columns c = columns_of(view, room.width);
  std::vector<Drawing> pages;
  std::size_t from = 0;
  do {
    double height = title_height + 2 * end_height;
    std::size_t to = from;
    while (to < view.steps.size()) {
      const double step = step_height(view.steps[to], c);
      if (height + step > room.height && to > from) break;
      height += step;
      ++to;
    }
    pages.push_back(page(shared, from, to, room.width));
    from = to;
  } while (from < view.steps.size());
  return pages;
}

}  // namespace fettle::drawings
