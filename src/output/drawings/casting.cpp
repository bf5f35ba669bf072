// A casting's skin over the part as it is held; what lies between is drawn larger than the part by a stated factor.
#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include "base/text.h"
#include "maths/ring.h"
#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double column_gap = 11, rest_room = 6, face_title = 6, face_gap = 7, title_height = 8, axis_room = 9;

double signed_area(const std::vector<Point>& p) {
  double a = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point &u = p[i], &v = p[(i + 1) % p.size()];
    a += u.x * v.y - v.x * u.y;
  }
  return a / 2;
}

bool holds(const std::vector<Point>& polygon, Point q) {
  const auto at = [&](std::size_t i) { return maths::Point2{polygon[i].x, polygon[i].y}; };
  return maths::in_ring(polygon.size(), at, {q.x, q.y});
}

bool usable(const Skin& skin) {
  if (skin.finished.size() < 3 || skin.raw.size() != skin.finished.size()) return false;
  const auto good = [](const Point& p) { return std::isfinite(p.x) && std::isfinite(p.y); };
  return std::all_of(skin.finished.begin(), skin.finished.end(), good) &&
         std::all_of(skin.raw.begin(), skin.raw.end(), good);
}

/// The raw outline with its distance from the finished one drawn `factor` times.
std::vector<Point> drawn_raw(const Skin& skin, double factor) {
  std::vector<Point> out;
  for (std::size_t i = 0; i < skin.finished.size(); ++i)
    out.push_back({skin.finished[i].x + factor * (skin.raw[i].x - skin.finished[i].x),
                   skin.finished[i].y + factor * (skin.raw[i].y - skin.finished[i].y)});
  return out;
}

/// +1 where the metal lies to the left of the outline as its points run, -1 where it lies to the right.
double metal_side(const CastingFace& face, std::size_t which) {
  int depth = 0;
  for (std::size_t i = 0; i < face.skins.size(); ++i)
    if (i != which && usable(face.skins[i]) && holds(face.skins[i].finished, face.skins[which].finished[0])) ++depth;
  const bool hole = depth % 2 == 1;
  return (signed_area(face.skins[which].finished) > 0) != hole ? 1 : -1;
}

Box face_bounds(const CastingFace& face, double factor) {
  std::vector<Point> all;
  for (const Skin& skin : face.skins) {
    if (!usable(skin)) continue;
    all.insert(all.end(), skin.finished.begin(), skin.finished.end());
    const std::vector<Point> raw = drawn_raw(skin, factor);
    all.insert(all.end(), raw.begin(), raw.end());
  }
  return bounds(all);
}

double most_stock(const CastingView& view) {
  double most = 0;
  for (const CastingFace& face : view.faces)
    for (const Skin& skin : face.skins) {
      if (!usable(skin)) continue;
      for (std::size_t i = 0; i < skin.raw.size(); ++i)
        most = std::max(most, std::hypot(skin.raw[i].x - skin.finished[i].x, skin.raw[i].y - skin.finished[i].y));
    }
  return most;
}

struct Sheet {
  double factor = 1;
  double mm_per_m = 1000;
  double left = 0, drawing_width = 0, column_x = 0, column_width = 0;
  double world_left = 0;
  std::vector<double> tops, heights;  ///< of each face's drawing on paper
  double bottom = 0, height = 0;
};

std::vector<Leader> notes_of(const CastingView& view, const CastingFace& face, const Scale& scale) {
  std::vector<Leader> notes;
  for (const StockMark& m : face.marks) notes.push_back({scale.at(m.at), say(m.stock, view.style), m.text, m.hand});
  return notes;
}

TextStyle caption_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 6}; }
TextStyle sentence_style(double width) { return {.size = 3.4, .wrap = width, .max_lines = 8, .rich = true}; }

Scale scale_of(const Sheet& s, const CastingFace& face, std::size_t i) {
  const Box b = face_bounds(face, s.factor);
  Scale scale;
  scale.mm_per_m = s.mm_per_m;
  scale.origin = {s.left - s.mm_per_m * s.world_left, s.tops[i] + s.mm_per_m * (b.y + b.height)};
  return scale;
}

TextStyle shift_style(const Sheet& s) {
  return {.size = 2.9, .bold = true, .ink = Ink::accent, .wrap = std::max(30.0, s.drawing_width - 20), .max_lines = 4};
}
double shift_height(const CastingFace& face, const Sheet& s) {
  if (!face.shift) return 0;
  const double length = std::hypot(face.shift->x, face.shift->y);
  if (!(length > 0) || !std::isfinite(length)) return 0;
  return std::max(5 + 10 * std::fabs(face.shift->y) / length, measure(face.shift_text, shift_style(s)).height + 1);
}

Sheet lay_out(const CastingView& view, const Room& room) {
  Sheet s;
  const double most = most_stock(view);
  double words = title_height;
  if (!view.sentence.empty()) words += measure(view.sentence, sentence_style(room.width)).height + 3;
  const double caption = measure(view.caption, caption_style(room.width)).height + 5;
  double arrows = 0;
  for (const CastingFace& face : view.faces) arrows += face.shift ? 9 : 0;
  s.left = axis_room;
  s.column_width = std::min(32.0, room.width * 0.19);
  // The scale depends on the factor (the skin takes room) and the factor on the scale: settle both from large to small.
  for (int round = 0; round < 4; ++round) {
    double width = 0, height = 0, left = 0, right = 0;
    bool any = false;
    for (const CastingFace& face : view.faces) {
      const Box b = face_bounds(face, s.factor);
      left = any ? std::min(left, b.x) : b.x;
      right = any ? std::max(right, b.right()) : b.right();
      any = true;
      height += b.height;
    }
    width = right - left;
    s.world_left = left;
    const double faces = static_cast<double>(view.faces.size());
    const double fixed =
        words + caption + scale_bar_height() + faces * (face_title + face_gap + 2 * rest_room) + arrows;
    s.mm_per_m =
        nice_scale(width, height, {0, 0, room.width - s.left - column_gap - s.column_width, room.height - fixed}, true);
    s.drawing_width = s.mm_per_m * width;
    const double wanted = most > 0 ? 13.0 / (most * s.mm_per_m) : 1;
    s.factor = view.factor > 0 && std::isfinite(view.factor) ? view.factor : nice_factor(wanted);
  }
  s.column_x = s.left + s.drawing_width + column_gap;
  s.column_width = room.width - s.column_x;
  double y = words;
  for (std::size_t i = 0; i < view.faces.size(); ++i) {
    const CastingFace& face = view.faces[i];
    y += face_title + rest_room;
    s.tops.push_back(y);
    const double h = s.mm_per_m * face_bounds(face, s.factor).height;
    s.heights.push_back(h);
    const double notes = leaders(nullptr, notes_of(view, face, scale_of(s, face, i)),
                                 {s.column_x, y - rest_room, s.column_width, h + 2 * rest_room});
    y = std::max(y + h + rest_room + shift_height(face, s), notes) + face_gap;
  }
  s.bottom = y;
  s.height = y + scale_bar_height() + caption;
  return s;
}

void rest(Pen& pen, Point at, Point out, const std::string& name) {
  const double length = std::hypot(out.x, out.y);
  if (!(length > 0)) {  // seen along its direction
    pen.fill(Path::circle(at, 4), Ink::ground);
    pen.stroke(Path::circle(at, 4), {0.4});
    pen.label(at, name, {.size = 2.1, .bold = true, .align = Align::centre});
    return;
  }
  const double ux = out.x / length, uy = -out.y / length, size = 3.2;
  const Point base{at.x + ux * size, at.y + uy * size};
  const Point a{base.x - uy * size * 0.55, base.y + ux * size * 0.55},
      b{base.x + uy * size * 0.55, base.y - ux * size * 0.55};
  pen.fill(Path::polygon({at, a, b}), Ink::ground);
  pen.stroke(Path::polygon({at, a, b}), {0.4});
  if (!name.empty()) {
    const Point tip{base.x + ux * 1.9, base.y + uy * 1.9};
    pen.label(tip, name, {.size = 2.3, .align = Align::centre});
  }
}

void skins(Pen& pen, const CastingView& view, const CastingFace& face, const Scale& scale, double factor) {
  Path metal, missing, need;
  for (std::size_t k = 0; k < face.skins.size(); ++k) {
    const Skin& skin = face.skins[k];
    if (!usable(skin)) continue;
    const double side = metal_side(face, k);
    const std::vector<Point> raw = drawn_raw(skin, factor);
    const std::size_t n = skin.finished.size();
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t j = (i + 1) % n;
      const Point &p = skin.finished[i], &q = skin.finished[j];
      const double dx = q.x - p.x, dy = q.y - p.y, length = std::hypot(dx, dy);
      if (!(length > 0)) continue;
      const Point normal{side * dy / length, -side * dx / length};  // out of the metal
      const auto out = [&](std::size_t v) {
        return (skin.raw[v].x - skin.finished[v].x) * normal.x + (skin.raw[v].y - skin.finished[v].y) * normal.y;
      };
      const double at_p = out(i), at_q = out(j);
      std::vector<Point> quad{scale.at(p), scale.at(q), scale.at(raw[j]), scale.at(raw[i])};
      if (!(at_p > -1e-9) || !(at_q > -1e-9)) missing.add(Path::polygon(quad));
      else if (at_p > 1e-9 || at_q > 1e-9) {
        // All quads run the same way round, so that their union has no gaps where they meet.
        if (signed_area(quad) < 0) std::reverse(quad.begin(), quad.end());
        metal.add(Path::polygon(quad));
      }
      if (view.need > 0 && (std::fabs(at_p) > 1e-9 || std::fabs(at_q) > 1e-9)) {
        const double f = factor * view.need;
        need.add(Path::segment(scale.at({p.x + f * normal.x, p.y + f * normal.y}),
                               scale.at({q.x + f * normal.x, q.y + f * normal.y})));
      }
    }
  }
  pen.hatch(metal, Hatch::metal);
  pen.hatch(missing, Hatch::outside);
  for (const Shape& detail : face.details) pen.stroke(to_path(detail, scale), {0.18, Ink::grey});
  pen.stroke(need, {0.3, Ink::graphite, Dash::dotted});
  for (const Skin& skin : face.skins) {
    if (!usable(skin)) continue;
    const auto paper = [&](std::vector<Point> points) {
      for (Point& p : points) p = scale.at(p);
      return Path::polygon(points);
    };
    pen.stroke(paper(drawn_raw(skin, factor)), {0.28});
    pen.stroke(paper(skin.finished), {0.55});
  }
}

void draw_face(Pen& pen, const CastingView& view, const CastingFace& face, const Sheet& s, std::size_t i) {
  const Scale scale = scale_of(s, face, i);
  pen.text({s.left, s.tops[i] - rest_room - face_title + 0.5}, face.title,
           {.size = Type::text, .bold = true, .wrap = s.drawing_width, .max_lines = 1});
  skins(pen, view, face, scale, s.factor);
  for (const Rest& r : face.rests) rest(pen, scale.at(r.at), r.out, r.name);
  for (const StockMark& m : face.marks) {
    const double length = std::hypot(m.out.x, m.out.y);
    if (!(length > 0) || !std::isfinite(m.stock.si)) continue;
    const double f = s.factor * m.stock.si / length;
    const Point a = scale.at(m.at), b = scale.at({m.at.x + f * m.out.x, m.at.y + f * m.out.y});
    pen.stroke(Path::segment(a, b), m.hand ? Stroke{0.9, Ink::accent} : Stroke{0.6});
  }
  if (face.shift) {
    const double length = std::hypot(face.shift->x, face.shift->y);
    if (length > 0 && std::isfinite(length)) {
      const double long_mm = 14, ux = face.shift->x / length, uy = -face.shift->y / length;
      const Point middle{s.left + long_mm / 2, s.tops[i] + s.heights[i] + rest_room + shift_height(face, s) / 2};
      arrow(pen, {middle.x - ux * long_mm / 2, middle.y - uy * long_mm / 2},
            {middle.x + ux * long_mm / 2, middle.y + uy * long_mm / 2}, 4.5, {1.1, Ink::accent});
      const TextStyle style = shift_style(s);
      pen.text({s.left + long_mm + 4, middle.y - measure(face.shift_text, style).height / 2}, face.shift_text, style);
    }
  }
  // Axes at the lower left.
  const Point o{1.2, s.tops[i] + s.heights[i] + 1};
  arrow(pen, o, {o.x + 5.5, o.y}, 1.4, {0.25});
  arrow(pen, o, {o.x, o.y - 5.5}, 1.4, {0.25});
  pen.label({o.x + 6.2, o.y}, face.right, {.size = 2.3});
  pen.label({o.x, o.y - 7}, face.up, {.size = 2.3, .align = Align::centre});
  leaders(&pen, notes_of(view, face, scale),
          {s.column_x, s.tops[i] - rest_room, s.column_width, s.heights[i] + 2 * rest_room});
}

}  // namespace

Drawing casting(const CastingView& view, const Room& room) {
  const auto shared = std::make_shared<const CastingView>(view);
  const Sheet sheet = lay_out(view, room);
  Drawing drawing{room.width, sheet.height, view.title, {}};
  drawing.draw = [shared, sheet, room](Pen& pen) {
    const CastingView& v = *shared;
    pen.text({0, 0}, v.title, {.size = Type::head, .bold = true, .wrap = room.width, .max_lines = 1});
    pen.text({0, title_height - 0.5}, v.sentence, sentence_style(room.width));
    for (std::size_t i = 0; i < v.faces.size(); ++i) draw_face(pen, v, v.faces[i], sheet, i);
    if (v.faces.empty()) pen.text({0, sheet.bottom}, "The casting's shape is open.", body_text());
    double y = sheet.bottom;
    if (!v.faces.empty()) {
      scale_bar(pen, {0.5, y}, sheet.mm_per_m, v.style);
      const double x = room.width;
      std::string words = "stock drawn " + base::shortest(sheet.factor) + " times";
      if (v.need > 0) words += " · dotted: what the first cut needs, " + say_size(v.need, v.style);
      pen.label({x, y + 1.7}, words, {.size = Type::small, .bold = true, .align = Align::right});
    }
    y += scale_bar_height();
    pen.text({0, y}, v.caption, caption_style(room.width));
  };
  return drawing;
}

}  // namespace fettle::drawings
