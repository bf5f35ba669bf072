// The loaded pallet swinging, seen at a slant.
#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numbers>
#include <optional>

#include "output/drawings/chart.h"
#include "output/drawings/field.h"
#include "output/drawings/kit.h"
#include "output/drawings/pallet_signs.h"
#include "output/drawings/plate.h"

namespace fettle::drawings {
namespace {

using Place = std::array<double, 3>;

constexpr double pi = std::numbers::pi;
constexpr double around = 27 * pi / 180, above = 33 * pi / 180;  // seen from -X -Y and from above
constexpr double cell_gap = 8, cell_air = 2.5, most_tall = 68;
constexpr double largest = 0.085;  // motion drawn, of the plate's longer side

Place cross(Place a, Place b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}
bool number(Place p) { return std::isfinite(p[0]) && std::isfinite(p[1]) && std::isfinite(p[2]); }

struct Slant {
  double mm_per_m = 100;
  Point origin;
  /// Away from the reader, m.
  static double depth(Place p) { return p[0] * std::sin(around) + p[1] * std::cos(around); }
  Point at(Place p) const {
    const double x = p[0] * std::cos(around) - p[1] * std::sin(around),
                 y = depth(p) * std::sin(above) + p[2] * std::cos(above);
    return {origin.x + x * mm_per_m, origin.y - y * mm_per_m};
  }
};

struct Sheet {
  double words = 0, cell = 0, picture = 0, row = 0, caption_y = 0, height = 0;
  std::size_t columns = 1;
  Box plate;        ///< m
  double foot = 0;  ///< m, drawn of what stands still below an anchor
  double most = 0;  ///< m, drawn for a motion of 1
  Slant slant;      ///< origin from the cell's top left corner
};

TextStyle band_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 2}; }
TextStyle words_style(double width) { return {.size = Type::text, .wrap = width, .max_lines = 4}; }
TextStyle title_style(double width) { return {.size = 3.3, .bold = true, .wrap = width, .max_lines = 1}; }

double text_height(const ModeView& m, double width) {
  return measure(m.title, title_style(width)).height + measure(m.band, band_style(width)).height +
         measure(m.words, words_style(width)).height;
}

/// The plate's own points moved by a mode.
class Moved {
 public:
  Moved(const ModeView& mode, double most) : mode_(mode), most_(most) {}
  /// A place on the plate's top, `z` above or below it.
  Place plate(double x, double y, double z) const {
    const double w = value_near(mode_.up, {x, y});
    const double up = std::isfinite(w) ? w : 0;
    return {x + most_ * (mode_.slide_x - mode_.spin * y), y + most_ * (mode_.slide_y + mode_.spin * x), z + most_ * up};
  }
  Place part(const ModePart& p, Place at) const {
    const Place arm{at[0] - p.at[0], at[1] - p.at[1], at[2] - p.at[2]};
    const Place turned = cross(p.turn, arm);
    return {at[0] + most_ * (p.shift[0] + turned[0]), at[1] + most_ * (p.shift[1] + turned[1]),
            at[2] + most_ * (p.shift[2] + turned[2])};
  }

 private:
  const ModeView& mode_;
  double most_;
};

/// The corners of the plate's outline as it is, one after another.
std::vector<Point> outline_of(const PalletView& p, const Box& plate) {
  if (p.plate.form == Shape::Form::polygon && p.plate.points.size() > 2 && p.plate.turn == 0) {
    std::vector<Point> out = p.plate.points;
    for (Point& q : out) q.x += p.plate.at.x, q.y += p.plate.at.y;
    return out;
  }
  return {{plate.x, plate.y}, {plate.right(), plate.y}, {plate.right(), plate.bottom()}, {plate.x, plate.bottom()}};
}

/// Corners of a part's footprint, against the clock, and its height.
struct Block {
  std::vector<Point> foot;
  Point middle;
  double tall = 0;
  std::string number;
};
std::optional<Block> block_of(const PalletView& view, const ModePart& p) {
  if (p.nest < 0 || p.nest >= static_cast<int>(view.nests.size())) return {};
  const Nest& nest = view.nests[static_cast<std::size_t>(p.nest)];
  const NestPattern* pattern = pattern_of(view, nest);
  if (pattern == nullptr || !drawable(pattern->outline) || !number(p.at) || !number(p.shift) || !number(p.turn))
    return {};
  const Box box = bounds(std::vector<Shape>{pattern->outline});
  Block b;
  for (const Point& q :
       {Point{box.x, box.y}, Point{box.right(), box.y}, Point{box.right(), box.bottom()}, Point{box.x, box.bottom()}})
    b.foot.push_back(in_plate(nest, q));
  b.middle = in_plate(nest, {box.x + 0.5 * box.width, box.y + 0.5 * box.height});
  b.tall = std::isfinite(pattern->height) ? std::max(pattern->height, 0.0) : 0.0;
  b.number = nest.number;
  return b;
}

/// Of all that is drawn of all modes, in m of paper.
Box extent(const ModesView& v, const Sheet& s) {
  const Slant unit{1, {}};
  std::vector<Point> all;
  const double under = -std::max(v.pallet.thickness, 0.0);
  const std::vector<Point> corners = outline_of(v.pallet, s.plate);
  for (const Point& p : corners)
    for (double z : {0.0, under}) all.push_back(unit.at({p.x, p.y, z}));
  for (const Anchor& a : v.pallet.anchors)
    for (double x : {-0.5, 0.5})
      for (double y : {-0.5, 0.5})
        all.push_back(unit.at({a.at.x + x * a.diameter, a.at.y + y * a.diameter, under - s.foot}));
  for (const ModeView& mode : v.modes) {
    const Moved m(mode, s.most);
    constexpr int parts = 8;
    for (std::size_t i = 0; i < corners.size(); ++i)
      for (int k = 0; k < parts; ++k) {
        const Point &a = corners[i], &b = corners[(i + 1) % corners.size()];
        const double t = static_cast<double>(k) / parts;
        for (double z : {0.0, under}) all.push_back(unit.at(m.plate(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y), z)));
      }
    for (const ModePart& p : mode.parts)
      if (const auto block = block_of(v.pallet, p))
        for (const Point& q : block->foot)
          for (double z : {0.0, block->tall}) all.push_back(unit.at(m.part(p, {q.x, q.y, z})));
  }
  return bounds(all);
}

Sheet lay_out(const ModesView& v, const Room& room) {
  Sheet s;
  s.words = heading(nullptr, v.title, v.sentence, room.width);
  s.columns = v.modes.size() > 1 && room.width >= 120 ? 2 : 1;
  s.cell = (room.width - cell_gap * static_cast<double>(s.columns - 1)) / static_cast<double>(s.columns);
  s.plate = bounds(std::vector<Shape>{v.pallet.plate});
  s.foot = 0.12 * s.plate.height;
  s.most = largest * std::max(s.plate.width, s.plate.height);
  const Box paper = extent(v, s);  // for 1 mm of paper for each m
  if (!(paper.width > 0) || !(paper.height > 0) || !std::isfinite(paper.width) || !std::isfinite(paper.height))
    return s;
  s.slant.mm_per_m = std::min((s.cell - 1) / paper.width, most_tall / paper.height);
  s.slant.origin = {0.5 * (s.cell - paper.width * s.slant.mm_per_m) - paper.x * s.slant.mm_per_m,
                    cell_air - paper.y * s.slant.mm_per_m};
  s.picture = cell_air + paper.height * s.slant.mm_per_m + 3;
  double texts = 0;
  for (const ModeView& m : v.modes) texts = std::max(texts, text_height(m, s.cell));
  s.row = s.picture + texts + 5;
  const double rows = std::ceil(static_cast<double>(v.modes.size()) / static_cast<double>(s.columns));
  s.caption_y = s.words + rows * s.row;
  const TextStyle caption{.size = Type::small, .ink = Ink::grey, .wrap = room.width, .max_lines = 6};
  s.height = s.caption_y + measure(v.caption, caption).height + 1;
  return s;
}

std::vector<Point> run(const Sheet& s, const Moved& m, Point from, Point to, double z, int parts = 12) {
  std::vector<Point> out;
  for (int i = 0; i <= parts; ++i) {
    const double t = static_cast<double>(i) / parts;
    out.push_back(s.slant.at(m.plate(from.x + t * (to.x - from.x), from.y + t * (to.y - from.y), z)));
  }
  return out;
}
std::vector<Point> there_and_back(std::vector<Point> a, const std::vector<Point>& b) {
  a.insert(a.end(), b.rbegin(), b.rend());
  return a;
}

std::vector<Point> ring(const Sheet& s, const Moved& m, const std::vector<Point>& corners, double z) {
  std::vector<Point> out;
  for (std::size_t i = 0; i < corners.size(); ++i)
    for (const Point& p : run(s, m, corners[i], corners[(i + 1) % corners.size()], z)) out.push_back(p);
  return out;
}

/// A foot that stands still below the plate.
void anchor_foot(Pen& pen, const Sheet& s, const Moved& m, const Anchor& a, double thickness) {
  std::vector<Point> ground, under;
  for (int i = 0; i < 24; ++i) {
    const double t = 2 * pi * i / 24, x = a.at.x + 0.5 * a.diameter * std::cos(t),
                 y = a.at.y + 0.5 * a.diameter * std::sin(t);
    ground.push_back(s.slant.at({x, y, -thickness - s.foot}));
    under.push_back(s.slant.at(m.plate(x, y, -thickness)));
  }
  pen.fill(Path::polygon(ground), Ink::ground);
  pen.stroke(Path::polygon(ground), {0.25});
  for (std::size_t i : {0u, 12u}) pen.stroke(Path::segment(ground[i], under[i]), {0.2, Ink::grey});
}

void plate(Pen& pen, const ModesView& v, const ModeView& mode, const Sheet& s, const Moved& m) {
  const double t = std::max(v.pallet.thickness, 0.0);
  const std::vector<Point> corners = outline_of(v.pallet, s.plate);
  for (const Anchor& a : v.pallet.anchors) anchor_foot(pen, s, m, a, t);
  // Side by side from the farthest; those that look away are covered by the top.
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < corners.size(); ++i) order.push_back(i);
  const auto depth = [&](std::size_t i) {
    const Point &a = corners[i], &b = corners[(i + 1) % corners.size()];
    return Slant::depth({a.x + b.x, a.y + b.y, 0});
  };
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return depth(a) > depth(b); });
  for (std::size_t i : order) {
    const Point &a = corners[i], &b = corners[(i + 1) % corners.size()];
    const Path side = Path::polygon(there_and_back(run(s, m, a, b, 0), run(s, m, a, b, -t)));
    pen.fill(side, Ink::ground);
    pen.stroke(side, {0.3});
  }
  const std::vector<Point> top = ring(s, m, corners, 0);
  pen.fill(Path::polygon(top), Ink::ground);
  pen.clipped(Path::polygon(top), [&] {
    const auto grid = [&](Point from, Point to) {
      pen.stroke(Path::polyline(run(s, m, from, to, 0)), {0.12, Ink::grey});
    };
    constexpr int lines = 12;
    for (int i = 1; i < lines; ++i) {
      const double x = s.plate.x + s.plate.width * i / lines;
      grid({x, s.plate.y}, {x, s.plate.bottom()});
    }
    for (int i = 1; i < lines - 2; ++i) {
      const double y = s.plate.y + s.plate.height * i / (lines - 2);
      grid({s.plate.x, y}, {s.plate.right(), y});
    }
    const Range up = range_of(mode.up);
    const bool flat = !(std::max(-up.low, up.high) > 1e-3);  // slides in its plane: all of it is still upright
    for (const std::vector<Point>& still :
         flat ? std::vector<std::vector<Point>>{} : contours(refined(filled(mode.up, 2), 2), 0)) {
      std::vector<Point> on;
      for (const Point& p : still) on.push_back(s.slant.at(m.plate(p.x, p.y, 0)));
      pen.stroke(Path::polyline(on), {0.55, Ink::graphite, Dash::chain});
    }
  });
  pen.stroke(Path::polygon(top), {0.45});
}

/// Where the anchors bear, dashed because plate and parts hide them.
void anchor_rings(Pen& pen, const ModesView& v, const Sheet& s, const Moved& m) {
  for (const Anchor& a : v.pallet.anchors) {
    std::vector<Point> round;
    for (int i = 0; i < 24; ++i)
      round.push_back(s.slant.at(m.plate(a.at.x + 0.5 * a.diameter * std::cos(2 * pi * i / 24),
                                         a.at.y + 0.5 * a.diameter * std::sin(2 * pi * i / 24), 0)));
    pen.stroke(Path::polygon(round), {0.25, Ink::grey, Dash::fine});
  }
}

/// A part's number, the corners of its top, and what else stands there.
struct Numbered {
  std::string text;
  std::vector<Point> top, clear_of;
};

/// A part as a block with its footprint, moved as a whole.
void part(Pen& pen, const ModesView& v, const ModePart& p, const Sheet& s, const Moved& m,
          std::vector<Numbered>& numbers) {
  const auto block = block_of(v.pallet, p);
  if (!block) return;
  const std::vector<Point>& foot = block->foot;
  const double tall = block->tall;
  const auto at = [&](Point q, double z) { return s.slant.at(m.part(p, {q.x, q.y, z})); };
  for (std::size_t i = 0; i < 4; ++i) {
    const Point &a = foot[i], &b = foot[(i + 1) % 4];
    // Corners run against the clock: the outward normal is (dy, -dx).
    if (Slant::depth({b.y - a.y, a.x - b.x, 0}) > 0) continue;
    const Path side = Path::polygon({at(a, 0), at(b, 0), at(b, tall), at(a, tall)});
    pen.fill(side, Ink::ground);
    pen.stroke(side, {0.3});
  }
  std::vector<Point> top;
  for (const Point& q : foot) top.push_back(at(q, tall));
  pen.fill(Path::polygon(top), Ink::ground);
  pen.stroke(Path::polygon(top), {0.35});
  // From where the middle of its top is at rest to where it goes.
  const Point c = block->middle;
  const Point rest = s.slant.at({c.x, c.y, tall}), moved = at(c, tall);
  pen.fill(Path::circle(rest, 0.9), Ink::graphite);
  const double way = std::hypot(moved.x - rest.x, moved.y - rest.y);
  if (way > 1) arrow(pen, rest, moved, std::min(2.0, 0.5 * way), {0.5});
  if (!block->number.empty()) numbers.push_back({block->number, std::move(top), {rest, moved}});
}

/// Each part's number in that corner of its top that is farthest from what is drawn there.
void write_numbers(Pen& pen, const std::vector<Numbered>& all, const std::vector<Point>& anchors) {
  const TextStyle style{.size = 2.8, .bold = true, .align = Align::centre, .halo = true};
  std::vector<Box> taken;
  for (const Numbered& n : all) {
    Point best;
    double most = -1;
    for (std::size_t k = 0; k < 4; ++k) {
      const Point &corner = n.top[k], &far = n.top[(k + 2) % 4];
      const Point at{0.8 * corner.x + 0.2 * far.x, 0.8 * corner.y + 0.2 * far.y};
      double near = INFINITY;
      for (const std::vector<Point>& list : {anchors, n.clear_of})
        for (const Point& p : list) near = std::min(near, std::hypot(p.x - at.x, p.y - at.y));
      if (near > most + 1e-6) most = near, best = at;
    }
    const TextSize size = measure(n.text, style);
    const Box box{best.x - 0.5 * size.width, best.y - 0.5 * size.height, size.width, size.height};
    if (std::any_of(taken.begin(), taken.end(), [&](const Box& t) {
          return box.x < t.right() && t.x < box.right() && box.y < t.bottom() && t.y < box.bottom();
        }))
      continue;
    taken.push_back(box);
    pen.label(best, n.text, style);
  }
}

void draw_mode(Pen& pen, const ModesView& v, const ModeView& mode, const Sheet& s) {
  const Moved moved(mode, s.most);
  ModeView still;
  const Moved rest(still, 0);
  const std::vector<Point> corners = outline_of(v.pallet, s.plate);
  if (whole(mode.up)) {
    plate(pen, v, mode, s, moved);
    std::vector<Point> at_rest;
    for (const Point& p : corners) at_rest.push_back(s.slant.at({p.x, p.y, 0}));
    pen.stroke(Path::polygon(at_rest), {0.22, Ink::grey, Dash::fine});
    std::vector<const ModePart*> order;
    for (const ModePart& p : mode.parts)
      if (number(p.at)) order.push_back(&p);
    std::stable_sort(order.begin(), order.end(),
                     [](const ModePart* a, const ModePart* b) { return Slant::depth(a->at) > Slant::depth(b->at); });
    std::vector<Numbered> numbers;
    for (const ModePart* p : order) part(pen, v, *p, s, moved, numbers);
    anchor_rings(pen, v, s, moved);
    std::vector<Point> anchors;
    for (const Anchor& a : v.pallet.anchors) anchors.push_back(s.slant.at(moved.plate(a.at.x, a.at.y, 0)));
    write_numbers(pen, numbers, anchors);
  } else {
    pen.text({0, cell_air}, "open", small_text());
  }
  double y = s.picture;
  y += pen.text({0, y}, mode.title, title_style(s.cell)).height;
  y += pen.text({0, y}, mode.band, band_style(s.cell)).height;
  pen.text({0, y}, mode.words, words_style(s.cell));
}

void axes(Pen& pen, const Sheet& s, Point o) {
  Slant a = s.slant;
  a.origin = o;
  const double long_m = 8 / a.mm_per_m;
  const auto way = [&](Place p, const char* name) {
    const Point to = a.at(p);
    arrow(pen, o, to, 1.5, {0.25});
    const double l = std::max(std::hypot(to.x - o.x, to.y - o.y), 1e-9);
    pen.label({to.x + 2.2 * (to.x - o.x) / l, to.y + 2.2 * (to.y - o.y) / l}, name,
              {.size = 2.5, .align = Align::centre});
  };
  way({long_m, 0, 0}, "X");
  way({0, long_m, 0}, "Y");
  way({0, 0, long_m}, "Z");
}

void draw(Pen& pen, const ModesView& v, const Sheet& s, const Room& room) {
  heading(&pen, v.title, v.sentence, room.width);
  for (std::size_t i = 0; i < v.modes.size(); ++i) {
    const double x = static_cast<double>(i % s.columns) * (s.cell + cell_gap),
                 y = s.words + static_cast<double>(i / s.columns) * s.row;
    pen.moved({x, y}, [&] {
      draw_mode(pen, v, v.modes[i], s);
      if (i == 0) axes(pen, s, {9, s.picture - 5});
    });
  }
  pen.text({0, s.caption_y}, v.caption, {.size = Type::small, .ink = Ink::grey, .wrap = room.width, .max_lines = 6});
}

}  // namespace

Drawing modes(const ModesView& view, const Room& room) {
  const auto v = std::make_shared<const ModesView>(view);
  const Sheet s = lay_out(*v, room);
  if (v->modes.empty() || !(s.row > 0))
    return {room.width, s.words + 6, v->title, [v, s, room](Pen& pen) {
              heading(&pen, v->title, v->sentence, room.width);
              pen.text({0, s.words}, "open", small_text());
            }};
  return {room.width, s.height, v->title, [v, s, room](Pen& pen) { draw(pen, *v, s, room); }};
}

}  // namespace fettle::drawings
