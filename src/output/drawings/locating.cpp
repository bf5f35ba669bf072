// Pins in their holes with the play drawn larger, and the region of poses that the pins leave to the part.
#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include "base/text.h"
#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double pi = std::numbers::pi, title_height = 8, hole_mm = 26, panel = 62;

TextStyle sentence_style(double width) { return {.size = 3.4, .wrap = width, .max_lines = 8, .rich = true}; }

double play_factor(const LocatingView& view) {
  double most = 0, hole = 0;
  for (const PinInHole& p : view.pins)
    if (std::isfinite(p.hole) && std::isfinite(p.pin)) {
      most = std::max(most, p.hole - p.pin);
      hole = std::max(hole, p.hole);
    }
  if (!(most > 0) || !(hole > 0)) return 1;
  return nice_factor(0.24 * hole / most);
}

/// Height that the pins' panel takes.
double pins_height(const LocatingView& view, double width) {
  double words = 0;
  const double step = width / static_cast<double>(std::max<std::size_t>(view.pins.size(), 1));
  for (const PinInHole& p : view.pins)
    words = std::max(
        words,
        measure(p.name, {.size = Type::text, .bold = true, .align = Align::centre, .wrap = step - 3, .max_lines = 6})
                .height +
            measure(p.text, {.size = Type::small, .align = Align::centre, .wrap = step - 3, .max_lines = 6}).height);
  return hole_mm + 10 + words + 8;
}

void pins(Pen& pen, const LocatingView& view, double width) {
  const double factor = play_factor(view), step = width / static_cast<double>(view.pins.size()), y = hole_mm / 2 + 6;
  double largest = 0;
  for (const PinInHole& p : view.pins)
    if (std::isfinite(p.hole)) largest = std::max(largest, p.hole);
  if (view.pins.size() >= 2)
    pen.stroke(Path::segment({step * 0.5 - hole_mm * 0.75, y}, {width - step * 0.5 + hole_mm * 0.75, y}),
               {0.2, Ink::grey, Dash::chain});
  double below = 0;
  for (std::size_t i = 0; i < view.pins.size(); ++i) {
    const PinInHole& p = view.pins[i];
    const Point at{step * (static_cast<double>(i) + 0.5), y};
    const bool known = p.hole > 0 && p.pin > 0 && largest > 0 && std::isfinite(p.hole) && std::isfinite(p.pin);
    if (known) {
      const double hole = hole_mm * p.hole / largest, shown = p.hole - factor * (p.hole - p.pin);
      const double pin = std::max(hole_mm * shown / largest, 2.0);
      const Path around = Path::circle(at, hole + 8);
      pen.hatch(around, Hatch::metal);
      pen.fill(Path::circle(at, hole), Ink::ground);
      pen.stroke(Path::circle(at, hole), {0.5});
      Path body;
      if (p.relieved) {
        const double r = pin / 2, half = std::clamp(std::asin(std::clamp(p.land_width / p.pin, 0.02, 0.9)), 0.08, 1.1);
        for (int side = 0; side < 2; ++side) {
          const double middle = pi / 2 + side * pi;
          const Point start{at.x + r * std::cos(middle - half), at.y + r * std::sin(middle - half)};
          side ? body.line(start) : body.move(start);
          body.arc(at, r, middle - half, middle + half);
          for (double turn : {-0.45, 0.45})
            body.line({at.x + 0.74 * r * std::cos(middle + pi / 2 + turn),
                       at.y + 0.74 * r * std::sin(middle + pi / 2 + turn)});
        }
        body.close();
      } else {
        body = Path::circle(at, pin);
      }
      pen.stroke(body, {0.6});
      for (Point d : {Point{1.6, 0}, Point{0, 1.6}})
        pen.stroke(Path::segment({at.x - d.x, at.y - d.y}, {at.x + d.x, at.y + d.y}), {0.2});
    } else {
      pen.stroke(Path::circle(at, hole_mm), {0.3, Ink::graphite, Dash::dashed});
      pen.label(at, "open", {.size = Type::text, .align = Align::centre});
    }
    double words = y + hole_mm / 2 + 6;
    words += pen.text({at.x, words}, p.name,
                      {.size = Type::text, .bold = true, .align = Align::centre, .wrap = step - 3, .max_lines = 6})
                 .height;
    words += pen.text({at.x, words}, p.text,
                      {.size = Type::small, .ink = Ink::grey, .align = Align::centre, .wrap = step - 3, .max_lines = 6})
                 .height;
    below = std::max(below, words);
  }
  pen.text({width / 2, below + 1}, "play drawn " + base::shortest(factor) + " times",
           {.size = Type::small, .align = Align::centre, .wrap = width});
}

void region(Pen& pen, const LocatingView& view, double width) {
  const Box b = bounds(view.region);
  const Box frame{17, 4, width - 19, panel - 18};
  pen.stroke(Path::box(frame), {0.15, Ink::grey});
  if (!(b.width > 0) || !(b.height > 0)) {
    pen.label({frame.x + frame.width / 2, frame.y + frame.height / 2}, "no region: open",
              {.size = Type::text, .align = Align::centre});
    return;
  }
  const double air = 0.12, sx = frame.width * (1 - 2 * air) / b.width, sy = frame.height * (1 - 2 * air) / b.height;
  const auto at = [&](Point p) {
    return Point{frame.x + frame.width * air + (p.x - b.x) * sx,
                 frame.bottom() - frame.height * air - (p.y - b.y) * sy};
  };
  std::vector<Point> polygon;
  for (Point p : view.region)
    if (std::isfinite(p.x) && std::isfinite(p.y)) polygon.push_back(at(p));
  const Path path = Path::polygon(polygon);
  pen.hatch(path, Hatch::recess);
  pen.stroke(path, {0.5});
  const Point zero = at({0, 0});
  if (zero.x > frame.x && zero.x < frame.right())
    pen.stroke(Path::segment({zero.x, frame.y}, {zero.x, frame.bottom()}), {0.2, Ink::grey, Dash::chain});
  if (zero.y > frame.y && zero.y < frame.bottom())
    pen.stroke(Path::segment({frame.x, zero.y}, {frame.right(), zero.y}), {0.2, Ink::grey, Dash::chain});
  unit::Style style = view.style;
  style.gauge = true;
  const TextStyle tick = figure_text(2.3);
  const auto mark_x = [&](double v, Align align) {
    const Point p = at({v, b.y});
    pen.stroke(Path::segment({p.x, frame.bottom()}, {p.x, frame.bottom() + 1.2}), {0.2});
    TextStyle t = tick;
    t.align = align;
    pen.text({p.x, frame.bottom() + 1.6}, say({v, view.region_x, true, {}}, style), t);
  };
  mark_x(b.x, Align::left);
  mark_x(b.right(), Align::right);
  for (double v : {b.y, b.bottom()}) {
    const Point p = at({b.x, v});
    pen.stroke(Path::segment({frame.x - 1.2, p.y}, {frame.x, p.y}), {0.2});
    TextStyle t = tick;
    t.align = Align::right;
    pen.label({frame.x - 1.8, p.y}, say({v, view.region_y, true, {}}, style), t);
  }
  pen.text({frame.x + frame.width / 2, frame.bottom() + 5.2}, view.region_x_text,
           {.size = Type::small, .align = Align::centre, .wrap = frame.width, .max_lines = 1});
  pen.turned({1.6, frame.y + frame.height / 2}, -pi / 2, view.region_y_text,
             {.size = Type::small, .wrap = frame.height});
  if (view.region_worst) {
    const Point p = at(*view.region_worst);
    pen.fill(Path::circle(p, 2), Ink::accent);
    const bool right = p.x > frame.x + frame.width / 2, low = p.y > frame.y + frame.height / 2;
    TextStyle t{.size = 2.7,
                .bold = true,
                .ink = Ink::accent,
                .align = right ? Align::right : Align::left,
                .wrap = frame.width * 0.45,
                .max_lines = 2,
                .halo = true};
    const double h = measure(view.region_worst_text, t).height;
    pen.text({p.x + (right ? -2 : 2), low ? p.y - h - 1.6 : p.y + 1.6}, view.region_worst_text, t);
  }
}

}  // namespace

Drawing locating(const LocatingView& view, const Room& room) {
  const auto shared = std::make_shared<const LocatingView>(view);
  double words = title_height;
  if (!view.sentence.empty()) words += measure(view.sentence, sentence_style(room.width)).height + 3;
  const bool both = !view.pins.empty() && !view.region.empty();
  const double pins_width = both ? room.width * 0.54 : room.width,
               region_width = both ? room.width * 0.43 : std::min(room.width, 100.0);
  double body = 0;
  if (!view.pins.empty()) body = pins_height(view, pins_width);
  if (!view.region.empty()) body = std::max(body, panel);
  const double strip = fact_strip(nullptr, view.facts, {0, 0}, room.width, view.style);
  Drawing drawing{room.width, words + std::max(body, 8.0) + 2 + strip, view.title, {}};
  drawing.draw = [=](Pen& pen) {
    const LocatingView& v = *shared;
    pen.text({0, 0}, v.title, {.size = Type::head, .bold = true, .wrap = room.width, .max_lines = 1});
    pen.text({0, title_height - 0.5}, v.sentence, sentence_style(room.width));
    if (!v.pins.empty()) pen.moved({0, words}, [&] { pins(pen, v, pins_width); });
    if (!v.region.empty())
      pen.moved({both ? room.width - region_width : 0, words}, [&] { region(pen, v, region_width); });
    if (v.pins.empty() && v.region.empty()) pen.text({0, words}, "How the part is located is open.", body_text());
    fact_strip(&pen, v.facts, {0, words + std::max(body, 8.0) + 2}, room.width, v.style);
  };
  return drawing;
}

Drawing with_title_block(const Drawing& inner, const TitleBlock& block) {
  constexpr double air = 8, line = 4;
  const double width = std::max(inner.width, 90.0) + 2 * air;
  const double text_width = width - 2 * air - 4;
  std::string words = block.plan;
  const auto add = [&](const std::string& word, const std::string& text) {
    if (!text.empty()) words += (words.empty() ? "" : " · ") + word + text;
  };
  add("plan ", block.hash);
  add("", block.version);
  add("seed ", block.seed);
  add("", block.date);
  add("", block.note);
  const TextStyle title{.size = 3.2, .bold = true, .wrap = text_width, .max_lines = 2};
  const TextStyle small{.size = 2.4, .ink = Ink::grey, .wrap = text_width};
  const std::string name = block.title.empty() ? inner.title : block.title;
  const double block_height = measure(name, title).height + measure(words, small).height + line;
  const double height = inner.height + 2 * air + block_height + 4;
  return {width, height, name, [=](Pen& pen) {
            pen.moved({air, air}, [&] { inner.draw(pen); });
            const double y = air + inner.height + 4;
            pen.stroke(Path::box({air, y, width - 2 * air, block_height}), {0.35});
            double at = y + line / 2;
            at += pen.text({air + 2, at}, name, title).height;
            pen.text({air + 2, at}, words, small);
          }};
}

}  // namespace fettle::drawings
