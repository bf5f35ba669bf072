// The pallet from above by how far it gives.
#include <algorithm>
#include <cmath>
#include <memory>

#include "maths/ring.h"
#include "output/drawings/chart.h"
#include "output/drawings/field.h"
#include "output/drawings/kit.h"
#include "output/drawings/pallet_signs.h"
#include "output/drawings/plate.h"

namespace fettle::drawings {
namespace {

constexpr double left_air = 3, column_width = 50, column_gap = 12, most_tall = 112, swatch_tall = 7, densest = 0.62;

struct Sheet {
  Scale scale;
  Box plan, column;  ///< mm
  std::vector<double> levels;
  double step = 1;  ///< between two levels
  double words = 0, legend_y = 0, bar_y = 0, caption_y = 0, height = 0;
};

/// The strokes of the band that starts at level number `k` (from 0) beside those of the bands below it: each band has
/// all strokes of the one before and as many between them; the sixth has the other way, too.
std::vector<Strokes> strokes_of(std::size_t k) {
  switch (k) {
    case 0:
      return {{densest, 8, 0, false}};
    case 1:
      return {{densest, 4, 8, false}};
    case 2:
      return {{densest, 2, 4, false}};
    case 3:
      return {{densest, 1, 2, false}};
    default:
      return {{densest, 2, 0, true}};
  }
}
constexpr Stroke stroke{0.15, Ink::graphite};

TextStyle label_style() { return {.size = 2.5, .bold = true, .align = Align::centre, .halo = true}; }
TextStyle number_style() { return {.size = 3.4, .bold = true, .align = Align::centre, .halo = true}; }
TextStyle caption_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 6}; }

std::vector<Leader> leaders_of(const GiveView& v, const Scale& scale) {
  std::vector<Leader> out;
  for (const Note& n : v.notes) out.push_back({scale.at(n.at), n.head, n.text, n.hand});
  return out;
}

/// "to 1", "1 to 2", ..., "over 5".
std::vector<std::string> bands_of(const Sheet& s) {
  std::vector<std::string> out;
  for (std::size_t k = 0; k <= s.levels.size(); ++k) {
    const std::string from = k > 0 ? say_tick(s.levels[k - 1], s.step) : "",
                      to = k < s.levels.size() ? say_tick(s.levels[k], s.step) : "";
    out.push_back(from.empty() ? "to " + to : to.empty() ? "over " + from : from + " to " + to);
  }
  return out;
}

/// A small field of one band.
void swatch(Pen& pen, const Box& box, std::size_t band) {
  const Field flat{2, 2, 0, 0, box.width, box.height, {1, 1, 1, 1}};
  const Scale scale{1, {box.x, box.bottom()}};
  for (std::size_t k = 0; k < band; ++k)
    for (const Strokes& strokes : strokes_of(k)) pen.stroke(strokes_above(flat, 0, scale, strokes), stroke);
  pen.stroke(Path::box(box), {0.25});
}

double legend(Pen* pen, const GiveView& v, const Sheet& s, double y, double width) {
  const TextStyle head{.size = Type::small, .bold = true, .wrap = width};
  if (pen) pen->text({0, y}, v.unit, head);
  y += measure(v.unit, head).height + 1;
  double x = 0, texts = 0;
  const std::vector<std::string> names = bands_of(s);
  for (const std::string& name : names) texts += measure(name, {.size = Type::small}).width + 2;
  constexpr double gap = 4;
  const double swatch_wide = std::clamp((width - texts) / static_cast<double>(names.size()) - gap - 0.1, 7.0, 14.0);
  for (std::size_t k = 0; k < names.size(); ++k) {
    const TextStyle text{.size = Type::small};
    const double w = swatch_wide + 2 + measure(names[k], text).width + gap;
    if (x > 0 && x + w > width) x = 0, y += swatch_tall + 2;
    if (pen) {
      swatch(*pen, {x + 0.2, y, swatch_wide, swatch_tall}, k);
      pen->label({x + swatch_wide + 2, y + 0.5 * swatch_tall}, names[k], text);
    }
    x += w;
  }
  return y + swatch_tall + 3;
}

Sheet lay_out(const GiveView& v, const Room& room) {
  Sheet s;
  s.words = heading(nullptr, v.title, v.sentence, room.width);
  const Box world = bounds(std::vector<Shape>{v.pallet.plate});
  const double wide = room.width - left_air - column_gap - column_width;
  s.scale.mm_per_m = nice_scale(world.width, world.height, {0, 0, wide, most_tall}, true);
  s.plan = {left_air, s.words + 3, s.scale.length(world.width), s.scale.length(world.height)};
  s.scale.origin = {s.plan.x - s.scale.length(world.x), s.plan.y + s.scale.length(world.y + world.height)};
  s.column = {s.plan.right() + column_gap, s.plan.y, 0, s.plan.height};
  s.column.width = room.width - s.column.x;
  if (whole(v.field)) {
    const Range r = range_of(v.field);
    for (double level : ticks(r.low, r.high, 5))
      if (level > r.low && level < r.high) s.levels.push_back(level);
  }
  if (s.levels.size() > 1) s.step = s.levels[1] - s.levels[0];
  else if (!s.levels.empty()) s.step = s.levels[0];
  s.legend_y = std::max(s.plan.bottom(), leaders(nullptr, leaders_of(v, s.scale), s.column)) + 4;
  s.bar_y = s.levels.empty() ? s.legend_y : legend(nullptr, v, s, s.legend_y, room.width);
  s.caption_y = s.bar_y + 9;
  s.height = s.caption_y + (v.caption.empty() ? 0 : measure(v.caption, caption_style(room.width)).height + 1);
  return s;
}

bool apart(const Box& a, const std::vector<Box>& all) {
  constexpr double air = 0.7;
  return std::none_of(all.begin(), all.end(), [&](const Box& b) {
    return a.x < b.right() + air && b.x < a.right() + air && a.y < b.bottom() + air && b.y < a.bottom() + air;
  });
}
Box box_about(Point at, std::string_view text, const TextStyle& style) {
  const TextSize size = measure(text, style);
  return {at.x - 0.5 * size.width, at.y - 0.5 * size.height, size.width, size.height};
}

/// True when the box lies on the plate, all its corners within an outline that is no rectangle.
bool on_plate(const Box& b, const Shape& plate, const Sheet& s) {
  if (!(b.x > s.plan.x + 0.5 && b.right() < s.plan.right() - 0.5 && b.y > s.plan.y + 0.5 &&
        b.bottom() < s.plan.bottom() - 0.5))
    return false;
  if (plate.form != Shape::Form::polygon || plate.turn != 0) return true;
  const auto corner = [&](std::size_t i) {
    const Point c = s.scale.at({plate.points[i].x + plate.at.x, plate.points[i].y + plate.at.y});
    return maths::Point2{c.x, c.y};
  };
  const auto within = [&](maths::Point2 p) { return maths::in_ring(plate.points.size(), corner, p); };
  return within({b.x, b.y}) && within({b.right(), b.y}) && within({b.x, b.bottom()}) && within({b.right(), b.bottom()});
}

/// A figure on each line: on its longest stretch the place that is farthest from what is written already.
void figures(Pen& pen, const GiveView& v, const std::vector<std::vector<std::vector<Point>>>& lines, const Sheet& s,
             std::vector<Box> taken) {
  for (std::size_t k = 0; k < lines.size(); ++k) {
    const std::string text = say_tick(s.levels[k], s.step) + v.short_unit;
    std::vector<const std::vector<Point>*> order;
    for (const auto& line : lines[k]) order.push_back(&line);
    const auto length = [](const std::vector<Point>& line) {
      double sum = 0;
      for (std::size_t i = 1; i < line.size(); ++i)
        sum += std::hypot(line[i].x - line[i - 1].x, line[i].y - line[i - 1].y);
      return sum;
    };
    std::stable_sort(order.begin(), order.end(), [&](const auto* a, const auto* b) { return length(*a) > length(*b); });
    int written = 0;
    for (const auto* line : order) {
      if (written == 4 || (written > 0 && length(*line) < 14)) break;
      double best = -1;
      Box where;
      for (std::size_t i = 0; i < line->size(); ++i) {
        const Box b = box_about((*line)[i], text, label_style());
        if (!on_plate(b, v.pallet.plate, s) || !apart(b, taken)) continue;
        double near = INFINITY;
        for (const Box& t : taken)
          near = std::min(
              near, std::hypot(b.x + 0.5 * b.width - t.x - 0.5 * t.width, b.y + 0.5 * b.height - t.y - 0.5 * t.height));
        if (std::min(near, 25.0) > best) best = std::min(near, 25.0), where = b;
      }
      if (best < 0) continue;
      pen.label({where.x + 0.5 * where.width, where.y + 0.5 * where.height}, text, label_style());
      taken.push_back(where);
      ++written;
    }
  }
}

/// What stands on the plate and below it, thin enough that the strokes are seen through it.
void furniture(Pen& pen, const PalletView& p, const Scale& scale) {
  pen.clipped(to_path(p.plate, scale), [&] {
    for (const Shape& t : p.troughs) pen.stroke(to_path(t, scale), {0.2, Ink::grey, Dash::dashed});
  });
  for (const Shape& hole : p.holes)
    if (drawable(hole)) {
      pen.fill(to_path(hole, scale), Ink::ground);
      pen.stroke(to_path(hole, scale), {0.25});
    }
  for (const Anchor& a : p.anchors) {
    const Point at = scale.at(a.at);
    pen.stroke(Path::circle(at, scale.length(a.diameter)), {0.35, Ink::graphite, Dash::dashed});
    for (Point d : {Point{1.4, 0}, Point{0, 1.4}})
      pen.stroke(Path::segment({at.x - d.x, at.y - d.y}, {at.x + d.x, at.y + d.y}), {0.25});
  }
  for (const Nest& n : p.nests)
    if (const NestPattern* pattern = pattern_of(p, n)) {
      if (drawable(pattern->outline)) pen.stroke(to_path(in_plate(n, pattern->outline), scale), {0.25, Ink::grey});
      pins(pen, n, *pattern, scale);
      screws(pen, n, *pattern, scale);
    }
}

void axes(Pen& pen, Point o) {
  arrow(pen, o, {o.x + 7, o.y}, 1.6, {0.25});
  arrow(pen, o, {o.x, o.y - 7}, 1.6, {0.25});
  pen.label({o.x + 8, o.y}, "X", {.size = 2.5});
  pen.label({o.x + 1.2, o.y - 6}, "Y", {.size = 2.5});
}

void plan(Pen& pen, const GiveView& v, const Sheet& s) {
  const Field fine = refined(filled(v.field, 2), 4);
  pen.clipped(to_path(v.pallet.plate, s.scale), [&] {
    for (std::size_t k = 0; k < s.levels.size(); ++k)
      for (const Strokes& strokes : strokes_of(k))
        pen.stroke(strokes_above(fine, s.levels[k], s.scale, strokes), stroke);
  });
  std::vector<std::vector<std::vector<Point>>> lines;
  for (double level : s.levels) {
    lines.emplace_back();
    for (std::vector<Point> line : contours(fine, level)) {
      for (Point& p : line) p = s.scale.at(p);
      pen.clipped(to_path(v.pallet.plate, s.scale), [&] { pen.stroke(Path::polyline(line), {0.45}); });
      lines.back().push_back(std::move(line));
    }
  }
  furniture(pen, v.pallet, s.scale);
  pen.stroke(to_path(v.pallet.plate, s.scale), {0.6});
  std::vector<Box> taken;
  for (const Nest& n : v.pallet.nests) {
    if (n.number.empty()) continue;
    pen.label(s.scale.at(n.at), n.number, number_style());
    taken.push_back(box_about(s.scale.at(n.at), n.number, number_style()));
  }
  for (const Note& n : v.notes)
    if (std::isfinite(n.at.x) && std::isfinite(n.at.y)) {
      const Point at = s.scale.at(n.at);
      taken.push_back({at.x - 1.5, at.y - 1.5, 3, 3});
    }
  figures(pen, v, lines, s, taken);
}

void draw(Pen& pen, const GiveView& v, const Sheet& s, const Room& room) {
  heading(&pen, v.title, v.sentence, room.width);
  plan(pen, v, s);
  leaders(&pen, leaders_of(v, s.scale), s.column);
  legend(&pen, v, s, s.legend_y, room.width);
  scale_bar(pen, {0.5, s.bar_y + 1}, s.scale.mm_per_m, v.pallet.style);
  axes(pen, {room.width - 14, s.bar_y + 6.5});
  pen.text({0, s.caption_y}, v.caption, caption_style(room.width));
}

}  // namespace

Drawing give(const GiveView& view, const Room& room) {
  const auto v = std::make_shared<const GiveView>(view);
  Sheet s = lay_out(*v, room);
  const Box plate = bounds(std::vector<Shape>{v->pallet.plate});
  if (!whole(v->field) || s.levels.empty() || !(plate.width > 0) || !(plate.height > 0))
    return {room.width, s.words + 6, v->title, [v, s, room](Pen& pen) {
              heading(&pen, v->title, v->sentence, room.width);
              pen.text({0, s.words}, "open", small_text());
            }};
  return {room.width, s.height, v->title, [v, s, room](Pen& pen) { draw(pen, *v, s, room); }};
}

}  // namespace fettle::drawings
