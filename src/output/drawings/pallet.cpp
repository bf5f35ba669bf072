// The pallet to scale: from above with notes beside it, from the side below it.
#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <numbers>

#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"
#include "output/drawings/pallet_signs.h"

namespace fettle::drawings {
namespace {

constexpr double pi = std::numbers::pi;

/// Where things stand on the sheet, worked out once.
struct Sheet {
  Box world;  ///< of the plate and what sticks out, view coordinates
  Scale scale;
  double plan_left = 0, plan_top = 0, plan_width = 0, plan_height = 0;  ///< of `world` on paper
  double column_x = 0, column_width = 0, column_bottom = 0;
  double side_top = 0, side_plate = 0;  ///< y of the plate's top in the side view
  double legend_y = 0, facts_y = 0, height = 0;
};

constexpr double column_gap = 15, left_air = 9, top_air = 9, title_height = 8, gap = 5;

double tallest(const PalletView& view) {
  double h = 0;
  for (const Nest& nest : view.nests)
    if (const NestPattern* p = pattern_of(view, nest)) {
      for (double x : {p->height, p->raw_height})
        if (std::isfinite(x)) h = std::max(h, x);
    }
  return h;
}

TextStyle words_style(double width, int lines) {
  return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = lines};
}

std::vector<Leader> notes_on_paper(const PalletView& view, const Scale& scale) {
  std::vector<Leader> notes;
  for (const Note& n : view.notes) notes.push_back({scale.at(n.at), n.head, n.text, n.hand});
  if (view.zero) notes.push_back({scale.at(*view.zero), "", view.zero_text.empty() ? "zero" : view.zero_text, false});
  if (view.nests.empty()) return notes;
  // Pins named once, at the nest nearest to the notes.
  const Nest* nearest = &view.nests[0];
  for (const Nest& nest : view.nests)
    if (nest.at.x > nearest->at.x + 1e-9 || (nest.at.x > nearest->at.x - 1e-9 && nest.at.y < nearest->at.y))
      nearest = &nest;
  if (const NestPattern* p = pattern_of(view, *nearest))
    for (const Pin& pin : p->pins) {
      Point edge = scale.at(in_plate(*nearest, pin.at));
      edge.x += std::max(scale.length(pin.diameter), smallest_pin) / 2;
      const std::string kind = pin.relieved ? "relieved pin" : "round pin";
      notes.push_back({edge, "", kind + (pin.name.empty() ? "" : " in " + pin.name), false, false});
    }
  return notes;
}

struct LegendItem {
  enum class Sign { round_pin, relieved_pin, screw, pad, anchor, trough, raw } sign;
  std::string text;
};
std::vector<LegendItem> legend_of(const PalletView& view) {
  bool round = false, relieved = false, screw = false, pad = false, raw = false, trough = !view.troughs.empty();
  for (const NestPattern& p : view.patterns) {
    for (const Pin& pin : p.pins) (pin.relieved ? relieved : round) = true;
    screw |= !p.screws.empty();
    pad |= !p.pads.empty();
    raw |= p.raw.has_value();
    trough |= !p.troughs.empty();
  }
  std::vector<LegendItem> items;
  using S = LegendItem::Sign;
  if (round) items.push_back({S::round_pin, "round pin"});
  if (relieved) items.push_back({S::relieved_pin, "relieved pin"});
  if (screw) items.push_back({S::screw, "screw"});
  if (pad) items.push_back({S::pad, "pad"});
  if (!view.anchors.empty()) items.push_back({S::anchor, "anchor below"});
  if (trough) items.push_back({S::trough, "run-off"});
  if (raw) items.push_back({S::raw, "stock to remove"});
  return items;
}

/// Moves through the legend's places, wrapping at `width`; calls put(item, x, y). Returns its height.
template <class Put>
double walk_legend(const std::vector<LegendItem>& items, double width, Put put) {
  double x = 0, y = 0;
  for (const LegendItem& item : items) {
    const double w = 7 + measure(item.text, {.size = Type::small}).width + 5;
    if (x > 0 && x + w > width) x = 0, y += 5;
    put(item, x, y);
    x += w;
  }
  return items.empty() ? 0 : y + 5;
}

void zero_mark(Pen& pen, Point at) {
  const double r = 2.1;
  pen.fill(Path::circle(at, 2 * r), Ink::ground);
  Path quarters;
  for (double from : {0.0, pi}) {
    quarters.move(at).line({at.x + r * std::cos(from), at.y + r * std::sin(from)});
    quarters.arc(at, r, from, from + pi / 2).line(at).close();
  }
  pen.fill(quarters, Ink::graphite);
  pen.stroke(Path::circle(at, 2 * r), {0.35});
  for (int i = 0; i < 4; ++i) {
    const double a = i * pi / 2;
    pen.stroke(Path::segment({at.x + r * std::cos(a), at.y + r * std::sin(a)},
                             {at.x + 1.75 * r * std::cos(a), at.y + 1.75 * r * std::sin(a)}),
               {0.35});
  }
}

void sign(Pen& pen, LegendItem::Sign which, Point at) {
  using S = LegendItem::Sign;
  switch (which) {
    case S::round_pin:
      round_pin(pen, at, 3);
      break;
    case S::relieved_pin:
      relieved_pin(pen, at, 3.2, 0.9, 0);
      break;
    case S::screw:
      screw(pen, at, 3.4);
      break;
    case S::pad:
      pen.stroke(Path::circle(at, 3.2), {0.18, Ink::grey, Dash::dotted});
      break;
    case S::anchor:
      pen.stroke(Path::circle(at, 3.6), {0.2, Ink::grey, Dash::dashed});
      break;
    case S::trough:
    case S::raw: {
      const Path field = Path::box({at.x - 2.2, at.y - 1.4, 4.4, 2.8});
      pen.hatch(field, which == S::raw ? Hatch::metal : Hatch::recess);
      pen.stroke(field, {0.15, Ink::grey});
      break;
    }
  }
}

Sheet lay_out(const PalletView& view, const Room& room) {
  Sheet s;
  std::vector<Shape> all{view.plate};
  for (const Nest& nest : view.nests)
    if (const NestPattern* p = pattern_of(view, nest)) {
      all.push_back(in_plate(nest, p->outline));
      if (p->raw) all.push_back(in_plate(nest, *p->raw));
    }
  s.world = bounds(all);
  const bool wordy = !view.notes.empty() || view.zero || !view.thickness_text.empty() || !view.nests.empty();
  s.column_width = wordy ? std::min(28.0, room.width * 0.2) : 0;
  const double right = wordy ? s.column_width : 4;
  const double side_height_m = view.thickness + tallest(view);
  double words_below = 0;
  walk_legend(legend_of(view), room.width, [&](const LegendItem&, double, double y) { words_below = y + 5; });
  const double caption = view.caption.empty() ? 0 : measure(view.caption, words_style(room.width, 8)).height + 1;
  const double facts_height = fact_strip(nullptr, view.facts, {0, 0}, room.width, view.style);
  const double fixed = title_height + top_air + 9 + gap + 6 + words_below + caption + scale_bar_height() + facts_height;
  const double wide = room.width - left_air - column_gap - right;
  const double safe_thick = std::isfinite(side_height_m) && side_height_m > 0 ? side_height_m : 0;
  s.scale.mm_per_m = nice_scale(s.world.width, s.world.height + safe_thick, {0, 0, wide, room.height - fixed});
  s.plan_width = s.scale.length(s.world.width);
  s.plan_height = s.scale.length(s.world.height);
  s.plan_left = left_air;
  s.plan_top = title_height + top_air;
  s.scale.origin = {s.plan_left - s.scale.length(s.world.x), s.plan_top + s.scale.length(s.world.y + s.world.height)};
  s.column_x = s.plan_left + s.plan_width + column_gap;
  if (wordy) s.column_width = std::max(s.column_width, std::min(52.0, room.width - s.column_x));
  const double plan_bottom = s.plan_top + s.plan_height;
  s.column_bottom = plan_bottom;
  const double words =
      leaders(nullptr, notes_on_paper(view, s.scale), {s.column_x, s.plan_top, s.column_width, s.plan_height});
  const double tall = s.scale.length(tallest(view));
  s.side_top = std::max(plan_bottom + 9 + gap, words + 4 - tall);
  s.side_plate = s.side_top + tall;
  double below = s.side_plate + s.scale.length(std::isfinite(view.thickness) ? std::max(view.thickness, 0.0) : 0) + 6;
  {
    const double wrap = room.width - (s.plan_left + s.plan_width + 7.5);
    const double h =
        measure(view.thickness_text, words_style(wrap, 8)).height + measure(view.material, words_style(wrap, 3)).height;
    below = std::max(below, s.side_plate + h + 5);
  }
  s.legend_y = below;
  s.facts_y = s.legend_y + words_below + scale_bar_height();
  s.height = s.facts_y + facts_height + caption;
  return s;
}

/// The union of the run-off without inner lines: all edges first, then everything covered, then hatched as one.
void troughs(Pen& pen, const PalletView& view, const Sheet& s, bool hidden) {
  Path all;
  const Path plate = to_path(view.plate, s.scale);
  std::vector<Shape> shapes = view.troughs;
  for (const Nest& nest : view.nests)
    if (const NestPattern* p = pattern_of(view, nest))
      for (const Shape& t : p->troughs) shapes.push_back(in_plate(nest, t));
  if (shapes.empty()) return;
  pen.clipped(plate, [&] {
    if (!hidden) {
      for (const Shape& t : shapes) pen.stroke(to_path(t, s.scale), {0.4, Ink::grey});
      for (const Shape& t : shapes) pen.fill(to_path(t, s.scale), Ink::ground);
      for (const Shape& t : shapes) all.add(to_path(t, s.scale));
      pen.hatch(all, Hatch::recess);
    } else {
      for (const Shape& t : shapes) pen.stroke(to_path(t, s.scale), {0.13, Ink::grey, Dash::dashed});
    }
  });
}

void nest(Pen& pen, const PalletView& view, const Nest& n, const Sheet& s) {
  const NestPattern* p = pattern_of(view, n);
  if (!p) return;
  const auto path = [&](const Shape& shape) { return to_path(in_plate(n, shape), s.scale); };
  if (p->raw && drawable(*p->raw)) {
    pen.fill(path(*p->raw), Ink::ground);
    pen.hatch(path(*p->raw), Hatch::metal);
    pen.stroke(path(*p->raw), {0.15, Ink::grey});
  }
  if (drawable(p->outline)) {
    pen.fill(path(p->outline), Ink::ground);
    // What lies under the part: hidden lines.
    pen.clipped(path(p->outline), [&] { troughs(pen, view, s, true); });
    for (const Shape& pad : p->pads)
      if (drawable(pad)) pen.stroke(path(pad), {0.18, Ink::grey, Dash::dotted});
    for (const Shape& detail : p->details)
      if (drawable(detail)) pen.stroke(path(detail), {0.2});
    pen.stroke(path(p->outline), {0.4});
  }
  pins(pen, n, *p, s.scale);
  screws(pen, n, *p, s.scale);
  if (!n.number.empty()) {
    TextStyle style = bold_text(3.8);
    style.align = Align::centre;
    style.halo = true;
    pen.label(s.scale.at(n.at), n.number, style);
  }
}

/// Distances between the columns and rows of nests, shown where there are a few of them.
std::vector<double> places(const std::vector<Nest>& nests, bool x) {
  std::vector<double> out;
  for (const Nest& n : nests) {
    const double v = x ? n.at.x : n.at.y;
    if (std::isfinite(v) && std::none_of(out.begin(), out.end(), [&](double o) { return std::fabs(o - v) < 1e-6; }))
      out.push_back(v);
  }
  std::sort(out.begin(), out.end());
  return out;
}

void dimensions(Pen& pen, const PalletView& view, const Sheet& s) {
  const auto print = [&](double m) { return say_size(m, view.style); };
  const Box plate = bounds(std::vector<Shape>{view.plate});
  if (plate.width > 0) {
    const Point low = s.scale.at({plate.x, plate.y}),
                high = s.scale.at({plate.x + plate.width, plate.y + plate.height});
    dimension_x(pen, low.x, high.x, low.y, low.y + 5.5, print(plate.width));
    dimension_y(pen, high.y, low.y, low.x, low.x - 5, print(plate.height));
  }
  const std::vector<double> columns = places(view.nests, true), rows = places(view.nests, false);
  const double top = s.plan_top, right = s.plan_left + s.plan_width;
  if (columns.size() >= 2 && columns.size() <= 5)
    for (std::size_t i = 1; i < columns.size(); ++i)
      dimension_x(pen, s.scale.at({columns[i - 1], 0}).x, s.scale.at({columns[i], 0}).x, top, top - 4.5,
                  print(columns[i] - columns[i - 1]));
  if (rows.size() >= 2 && rows.size() <= 5)
    for (std::size_t i = 1; i < rows.size(); ++i)
      dimension_y(pen, s.scale.at({0, rows[i]}).y, s.scale.at({0, rows[i - 1]}).y, right, right + 5,
                  print(rows[i] - rows[i - 1]));
}

void side_view(Pen& pen, const PalletView& view, const Sheet& s, double room_width) {
  const Box plate = bounds(std::vector<Shape>{view.plate});
  const double thick = s.scale.length(view.thickness);
  if (!(plate.width > 0) || !(thick > 0)) return;
  const double x = s.scale.at({plate.x, 0}).x, width = s.scale.length(plate.width), y = s.side_plate;
  for (const Nest& n : view.nests) {
    const NestPattern* p = pattern_of(view, n);
    if (!p) continue;
    const auto field = [&](const Shape& shape, double height) {
      const Box b = bounds(std::vector<Shape>{in_plate(n, shape)});
      return Box{s.scale.at({b.x, 0}).x, y - s.scale.length(height), s.scale.length(b.width), s.scale.length(height)};
    };
    if (p->raw && p->raw_height > 0)
      pen.stroke(Path::box(field(*p->raw, p->raw_height)), {0.15, Ink::grey, Dash::dashed});
    if (!(p->height > 0)) continue;
    const Path part = Path::box(field(p->outline, p->height));
    pen.fill(part, Ink::ground);
    pen.stroke(part, {0.3});
  }
  const Box body{x, y, width, thick};
  pen.fill(Path::box(body), Ink::ground);
  if (view.trough_depth > 0) {
    pen.clipped(Path::box(body), [&] {
      std::vector<Shape> shapes = view.troughs;
      for (const Nest& n : view.nests)
        if (const NestPattern* p = pattern_of(view, n))
          for (const Shape& t : p->troughs) shapes.push_back(in_plate(n, t));
      for (const Shape& t : shapes) {
        const Box b = bounds(std::vector<Shape>{t});
        pen.stroke(Path::box({s.scale.at({b.x, 0}).x, y, s.scale.length(b.width), s.scale.length(view.trough_depth)}),
                   {0.15, Ink::grey, Dash::dashed});
      }
    });
  }
  for (const Anchor& a : view.anchors) {
    const double w = s.scale.length(a.diameter), cx = s.scale.at(a.at).x;
    pen.stroke(Path::box({cx - w / 2, y + thick, w, 3}), {0.2, Ink::grey, Dash::dashed});
  }
  pen.stroke(Path::box(body), {0.5});
  const std::string text = say_size(view.thickness, view.style);
  dimension_y(pen, y, y + thick, x + width, x + width + 5, "");
  const double wrap = room_width - (x + width + 7.5);
  TextStyle figure = figure_text(2.9);
  figure.wrap = wrap;
  double at = y - 1;
  at += pen.text({x + width + 7.5, at}, text, figure).height;
  if (!view.material.empty()) at += pen.text({x + width + 7.5, at}, view.material, words_style(wrap, 3)).height;
  if (!view.thickness_text.empty()) pen.text({x + width + 7.5, at}, view.thickness_text, words_style(wrap, 8));
}

void draw(Pen& pen, const PalletView& view, const Sheet& s, const Room& room) {
  pen.text({0, 0}, view.title, {.size = Type::head, .bold = true, .wrap = room.width, .max_lines = 1});
  const Box plate = bounds(std::vector<Shape>{view.plate});
  if (!(plate.width > 0) || !(plate.height > 0)) {
    pen.text({0, title_height}, "The plate's outline is open: give its size.", body_text());
  } else {
    pen.fill(to_path(view.plate, s.scale), Ink::ground);
    troughs(pen, view, s, false);
    for (const Shape& hole : view.holes)
      if (drawable(hole)) {
        pen.fill(to_path(hole, s.scale), Ink::ground);
        pen.stroke(to_path(hole, s.scale), {0.25});
      }
    for (const Nest& n : view.nests) nest(pen, view, n, s);
    for (const Anchor& a : view.anchors) {
      const Point at = s.scale.at(a.at);
      pen.stroke(Path::circle(at, s.scale.length(a.diameter)), {0.22, Ink::grey, Dash::dashed});
      for (Point d : {Point{1.2, 0}, Point{0, 1.2}})
        pen.stroke(Path::segment({at.x - d.x, at.y - d.y}, {at.x + d.x, at.y + d.y}), {0.18, Ink::grey});
    }
    for (const Note& n : view.notes)
      if (n.patch && drawable(*n.patch)) state_fill_path(pen, to_path(*n.patch, s.scale), State::outside);
    pen.stroke(to_path(view.plate, s.scale), {0.6});
    if (view.zero) zero_mark(pen, s.scale.at(*view.zero));
    side_view(pen, view, s, room.width);
  }
  leaders(&pen, notes_on_paper(view, s.scale), {s.column_x, s.plan_top, s.column_width, s.plan_height});
  // After the leaders: their clear lines must not cut a figure.
  if (plate.width > 0 && plate.height > 0) dimensions(pen, view, s);
  double y = s.legend_y;
  y += walk_legend(legend_of(view), room.width, [&](const LegendItem& item, double x, double dy) {
    sign(pen, item.sign, {x + 3, y + dy + 2});
    pen.label({x + 7, y + dy + 2}, item.text, {.size = Type::small});
  });
  if (plate.width > 0) scale_bar(pen, {0.5, y}, s.scale.mm_per_m, view.style);
  const double strip = fact_strip(&pen, view.facts, {0, s.facts_y}, room.width, view.style);
  if (!view.caption.empty()) {
    pen.text({0, s.facts_y + strip + 1}, view.caption, words_style(room.width, 8));
  }
}

}  // namespace

Drawing pallet(const PalletView& view, const Room& room) {
  const auto shared = std::make_shared<const PalletView>(view);
  const Sheet sheet = lay_out(view, room);
  return {room.width, sheet.height, view.title, [shared, sheet, room](Pen& pen) { draw(pen, *shared, sheet, room); }};
}

}  // namespace fettle::drawings
