// Where the tools go, tool by tool, seen from above.
#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <set>

#include "output/drawings/chart.h"
#include "output/drawings/kit.h"
#include "output/drawings/pallet_signs.h"
#include "output/drawings/program.h"

namespace fettle::drawings {
namespace {

constexpr double across = 7, down = 4.5, most_plan = 53.4, sample_wide = 15, inset = 3.2, smallest_hole = 1.5;
constexpr Stroke rapid_stroke{0.16, Ink::grey, Dash::fine};

/// Told apart by their lines alone: four patterns, thick and then thin.
Stroke stroke_of(std::size_t tool) {
  constexpr std::array<Dash, 4> dashes = {Dash::solid, Dash::chain, Dash::dashed, Dash::dotted};
  return {(tool / dashes.size()) % 2 == 0 ? 0.42 : 0.26, Ink::graphite, dashes[tool % dashes.size()]};
}

struct PathSheet {
  PathsView view;
  double width = 0, words = 0, cell = 0, heads = 0, row = 0, plan_height = 0, legend = 0, foot = 0;
  std::size_t columns = 1;
  Box world;
  double mm_per_m = 0;
  Point number{0, 0};  ///< m from a nest's middle: where its number covers least
};

TextStyle tool_style(double width) { return {.size = 3.2, .bold = true, .wrap = width, .max_lines = 2}; }
TextStyle fact_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 3}; }
TextStyle foot_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 8}; }

std::string head_of(const ToolPath& t) { return t.tool + (t.words.empty() ? "" : "  " + t.words); }

/// All that is drawn, with a hair of room, so that nothing leaves the cell.
Box world_of(const PathsView& v) {
  std::vector<Shape> all;
  if (drawable(v.pallet.plate)) all.push_back(v.pallet.plate);
  for (const Nest& n : v.pallet.nests)
    if (const NestPattern* p = pattern_of(v.pallet, n)) all.push_back(in_plate(n, p->outline));
  std::vector<Point> corners;
  for (const Shape& s : all) {
    const Box b = bounds(std::vector<Shape>{s});
    corners.push_back({b.x, b.y});
    corners.push_back({b.x + b.width, b.y + b.height});
  }
  for (const ToolPath& t : v.tools)
    for (const PathStroke& s : t.strokes)
      if (!s.rapid)
        for (const Point& p : s.points) corners.push_back(p);
  return bounds(corners);
}

double legend_items(Pen* pen, const PathsView& v, double y, double width) {
  bool round = false, relieved = false, head = false;
  for (const NestPattern& p : v.pallet.patterns) {
    for (const Pin& pin : p.pins) (pin.relieved ? relieved : round) = true;
    head = head || !p.screws.empty();
  }
  double x = 0.5;
  const TextStyle style{.size = Type::small};
  const auto item = [&](double sign, const std::string& text, const auto& draw) {
    const double w = sign + 2 + measure(text, style).width + 6;
    if (x > 0.5 && x + w > width) x = 0.5, y += 5;
    if (pen) {
      draw(Point{x + 0.5 * sign, y + 2});
      pen->label({x + sign + 2, y + 2}, text, style);
    }
    x += w;
  };
  item(12, "cutting feed, each tool by its own line", [&](Point p) {
    pen->stroke(Path::segment({p.x - 6, p.y}, {p.x + 6, p.y}), {0.42});
  });
  item(12, "quick move", [&](Point p) { pen->stroke(Path::segment({p.x - 6, p.y}, {p.x + 6, p.y}), rapid_stroke); });
  const bool straight =
      std::any_of(v.tools.begin(), v.tools.end(), [](const ToolPath& t) { return !t.plunges.empty(); });
  if (straight)
    item(3, "straight down", [&](Point p) {
      pen->stroke(Path::circle(p, 2.6), {0.3});
      pen->fill(Path::circle(p, 0.5), Ink::graphite);
    });
  item(3, "first cut", [&](Point p) {
    pen->fill(Path::polygon({{p.x - 1.3, p.y - 1.2}, {p.x + 1.3, p.y - 1.2}, {p.x, p.y + 1.2}}), Ink::graphite);
  });
  if (round) item(4, "round pin", [&](Point p) { round_pin(*pen, p, 3); });
  if (relieved) item(4, "relieved pin", [&](Point p) { relieved_pin(*pen, p, 3.2, 0.9, 0); });
  if (head) item(4, "screw head", [&](Point p) { screw(*pen, p, 3.2); });
  return y + 6;
}

/// The place in a nest that is farthest from pins, screws and everything that any tool does there.
Point number_place(const PathsView& v) {
  if (v.pallet.nests.empty()) return {};
  const NestPattern* pattern = pattern_of(v.pallet, v.pallet.nests[0]);
  if (pattern == nullptr || !drawable(pattern->outline)) return {};
  const Box room = bounds(std::vector<Shape>{in_plate(v.pallet.nests[0], pattern->outline)});
  const Point middle = v.pallet.nests[0].at;
  const auto near = [&](Point p, Point candidate) { return std::hypot(p.x - candidate.x, p.y - candidate.y); };
  Point best;
  double most = -1;
  for (int i = 1; i < 12; ++i)
    for (int j = 1; j < 8; ++j) {
      const Point at{room.x + room.width * i / 12 - middle.x, room.y + room.height * j / 8 - middle.y};
      double least =
          std::min({room.width * i / 12, room.width * (12 - i) / 12, room.height * j / 8, room.height * (8 - j) / 8});
      const auto take = [&](Point p) {
        if (std::isfinite(p.x) && std::isfinite(p.y)) least = std::min(least, near(p, at));
      };
      for (const Pin& p : pattern->pins) take(p.at);
      for (const Screw& p : pattern->screws) take(p.at);
      for (const Nest& n : v.pallet.nests)
        for (const ToolPath& t : v.tools) {
          for (const Point& p : t.plunges) take({p.x - n.at.x, p.y - n.at.y});
          for (const PathStroke& s : t.strokes)
            if (!s.rapid)
              for (const Point& p : s.points) take({p.x - n.at.x, p.y - n.at.y});
        }
      if (least > most + 1e-9) most = least, best = at;
    }
  return best;
}

PathSheet lay_out(const PathsView& view, double width) {
  PathSheet s;
  s.view = view;
  s.width = width;
  s.words = heading(nullptr, view.title, view.sentence, width);
  s.columns = view.tools.size() > 1 && width >= 130 ? 2 : 1;
  s.cell = (width - across * static_cast<double>(s.columns - 1)) / static_cast<double>(s.columns);
  s.world = world_of(view);
  if (!(s.world.width > 0) || !(s.world.height > 0) || view.tools.empty()) return s;
  s.mm_per_m = std::min((s.cell - 2 * inset) / s.world.width, most_plan / s.world.height);
  s.plan_height = s.world.height * s.mm_per_m + 2 * inset;
  s.number = number_place(view);
  for (const ToolPath& t : view.tools)
    s.heads = std::max(s.heads, measure(head_of(t), tool_style(s.cell - sample_wide - 2)).height +
                                    measure(t.facts, fact_style(s.cell)).height + 2);
  s.row = s.heads + s.plan_height + down;
  s.legend = legend_items(nullptr, view, 0, width);
  s.foot = s.legend + scale_bar_height() + 2 +
           (view.caption.empty() ? 0 : measure(view.caption, foot_style(width)).height + 1);
  return s;
}

/// What stands there, thin, so that the ways stay the strongest lines.
void furniture(Pen& pen, const PalletView& p, const Scale& scale) {
  if (drawable(p.plate)) pen.stroke(to_path(p.plate, scale), {0.45});
  for (const Shape& hole : p.holes)
    if (drawable(hole)) pen.stroke(to_path(hole, scale), {0.15, Ink::grey});
  for (const Nest& n : p.nests)
    if (const NestPattern* pattern = pattern_of(p, n)) {
      if (drawable(pattern->outline)) pen.stroke(to_path(in_plate(n, pattern->outline), scale), {0.22, Ink::grey});
      for (const Shape& d : pattern->details)
        if (drawable(d)) pen.stroke(to_path(in_plate(n, d), scale), {0.1, Ink::light});
      pins(pen, n, *pattern, scale);
      screws(pen, n, *pattern, scale);
    }
}

/// The strokes as one path; stretches that lie on one another (levels of a cut) are drawn once.
void ways(Pen& pen, const ToolPath& t, const Scale& scale, bool rapid, const Stroke& stroke) {
  using Cell = std::array<long, 4>;
  std::set<Cell> drawn;
  Path path;
  bool any = false;
  for (const PathStroke& s : t.strokes) {
    if (s.rapid != rapid) continue;
    bool open = false;
    for (std::size_t i = 1; i < s.points.size(); ++i) {
      const Point a = scale.at(s.points[i - 1]), b = scale.at(s.points[i]);
      if (!std::isfinite(a.x + a.y + b.x + b.y)) {
        open = false;
        continue;
      }
      const auto grain = [](double v) { return std::lround(v * 20); };  // 0.05 mm on paper
      Cell there{grain(a.x), grain(a.y), grain(b.x), grain(b.y)}, back{there[2], there[3], there[0], there[1]};
      if (there == back) continue;
      if (!drawn.insert(std::min(there, back)).second) {
        open = false;
        continue;
      }
      if (!open) path.move(a);
      path.line(b);
      open = any = true;
    }
  }
  if (any) pen.stroke(path, stroke);
}

/// Straight down: a ring as wide as the tool with its middle, since such a way is a point from above.
void plunges(Pen& pen, const ToolPath& t, const Scale& scale) {
  const double d = std::max(scale.length(std::isfinite(t.diameter) ? t.diameter : 0), smallest_hole);
  std::set<std::pair<long, long>> drawn;
  for (const Point& p : t.plunges) {
    const Point at = scale.at(p);
    if (!std::isfinite(at.x) || !std::isfinite(at.y)) continue;
    if (!drawn.insert({std::lround(at.x * 20), std::lround(at.y * 20)}).second) continue;
    pen.stroke(Path::circle(at, d), {0.3});
    pen.fill(Path::circle(at, 0.5), Ink::graphite);
  }
}

void draw_tool(Pen& pen, const PathSheet& s, std::size_t index) {
  const ToolPath& t = s.view.tools[index];
  const Stroke own = stroke_of(index);
  pen.stroke(Path::segment({0.4, 2}, {sample_wide, 2}), own);
  const double y = pen.text({sample_wide + 2, 0}, head_of(t), tool_style(s.cell - sample_wide - 2)).height;
  pen.text({0, y}, t.facts, fact_style(s.cell));
  const Scale scale{s.mm_per_m,
                    {inset - s.world.x * s.mm_per_m, s.heads + inset + (s.world.y + s.world.height) * s.mm_per_m}};
  const Box room{0, s.heads, s.cell, s.plan_height};
  pen.clipped(Path::box(room), [&] {
    furniture(pen, s.view.pallet, scale);
    ways(pen, t, scale, true, rapid_stroke);
    ways(pen, t, scale, false, own);
    plunges(pen, t, scale);
    const Point at = scale.at(t.start);
    if (std::isfinite(at.x) && std::isfinite(at.y)) {
      pen.fill(Path::polygon({{at.x - 1.7, at.y - 3}, {at.x + 1.7, at.y - 3}, {at.x, at.y}}), Ink::ground);
      pen.fill(Path::polygon({{at.x - 1.3, at.y - 2.8}, {at.x + 1.3, at.y - 2.8}, {at.x, at.y - 0.4}}), Ink::graphite);
    }
  });
  for (const Nest& n : s.view.pallet.nests) {
    const NestPattern* p = pattern_of(s.view.pallet, n);
    if (p == nullptr || n.number.empty() || !std::isfinite(n.at.x) || !std::isfinite(n.at.y)) continue;
    pen.label(scale.at({n.at.x + s.number.x, n.at.y + s.number.y}), n.number,
              {.size = 3, .bold = true, .align = Align::centre, .halo = true});
  }
}

Drawing rows(const std::shared_ptr<const PathSheet>& s, std::size_t from, std::size_t to, bool first, bool last) {
  const double top = first ? s->words + 2 : 0;
  const std::size_t lines = (to - from + s->columns - 1) / s->columns;
  const double body = static_cast<double>(lines) * s->row;
  return {s->width, top + body + (last ? s->foot : 0), s->view.title, [=](Pen& pen) {
            if (first) heading(&pen, s->view.title, s->view.sentence, s->width);
            for (std::size_t i = from; i < to; ++i) {
              const std::size_t k = i - from, line = k / s->columns;
              pen.moved(
                  {static_cast<double>(k % s->columns) * (s->cell + across), top + static_cast<double>(line) * s->row},
                  [&] { draw_tool(pen, *s, i); });
            }
            if (!last) return;
            const double y = legend_items(&pen, s->view, top + body, s->width);
            scale_bar(pen, {0.5, y + 1}, s->mm_per_m, s->view.pallet.style);
            pen.text({0, y + scale_bar_height() + 2}, s->view.caption, foot_style(s->width));
          }};
}

}  // namespace

std::vector<Drawing> paths(const PathsView& view, const Room& room) {
  const auto s = std::make_shared<const PathSheet>(lay_out(view, room.width));
  if (!(s->row > 0))
    return {{room.width, s->words + 6, view.title, [s](Pen& pen) {
               heading(&pen, s->view.title, s->view.sentence, s->width);
               pen.text({0, s->words}, "open", small_text());
             }}};
  std::vector<Drawing> out;
  const std::size_t n = view.tools.size();
  for (std::size_t from = 0; from < n;) {
    const double free = room.height - (from == 0 ? s->words + 2 : 0);
    const auto fit = [&](double height) {
      return s->columns * static_cast<std::size_t>(std::clamp(std::floor(height / s->row), 1.0, 1000.0));
    };
    // The legend stands below the last row and takes its room there.
    const std::size_t with_foot = fit(free - s->foot), without = fit(free);
    const std::size_t to = n - from <= with_foot ? n : std::min(n - 1, from + without);
    out.push_back(rows(s, from, to, from == 0, to == n));
    from = to;
  }
  return out;
}

}  // namespace fettle::drawings
