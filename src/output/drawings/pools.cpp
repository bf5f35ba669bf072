// What coolant stays, and where it runs.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/chart.h"
#include "output/drawings/field.h"
#include "output/drawings/kit.h"
#include "output/drawings/pallet_signs.h"
#include "output/drawings/program.h"

namespace fettle::drawings {
namespace {

constexpr double notes_wide = 52, notes_gap = 12, most_plan = 92, plan_air = 7;

struct PoolCell {
  Scale scale;
  Box plan, column;
  double top = 0, bottom = 0;
};
struct PoolSheet {
  PoolsView view;
  double width = 0, words = 0, legend_y = 0, caption_y = 0, height = 0;
  std::vector<PoolCell> cells;
};

/// Deeper: all strokes of the shallower and as many between them.
Strokes strokes_at(std::size_t level) {
  constexpr Strokes all[] = {{0.62, 4, 0, false}, {0.62, 2, 4, false}, {0.62, 1, 2, false}};
  return all[std::min<std::size_t>(level, 2)];
}
constexpr Stroke wet{0.17, Ink::graphite};

TextStyle plan_title(double width) { return {.size = 3.2, .bold = true, .wrap = width, .max_lines = 2}; }
TextStyle plan_words(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 4}; }

std::vector<Leader> leaders_of(const PoolPlan& p, const Scale& scale) {
  std::vector<Leader> out;
  for (const Note& n : p.notes) out.push_back({scale.at(n.at), n.head, n.text, n.hand});
  return out;
}

double legend(Pen* pen, const PoolsView& v, double y, double width) {
  double x = 0;
  const TextStyle style{.size = Type::small};
  const auto item = [&](double sign, const std::string& text, const auto& draw) {
    const double w = sign + 2 + measure(text, style).width + 6;
    if (x > 0 && x + w > width) x = 0, y += 7;
    if (pen) {
      draw(x, y);
      pen->label({x + sign + 2, y + 3}, text, style);
    }
    x += w;
  };
  for (std::size_t k = 0; k < v.bands.size() && k < v.levels.size(); ++k)
    item(11, v.bands[k], [&](double left, double top) {
      const Field flat{2, 2, 0, 0, 11, 5.6, {1, 1, 1, 1}};
      for (std::size_t j = 0; j <= k; ++j)
        pen->stroke(strokes_above(flat, 0, {1, {left, top + 5.8}}, strokes_at(j)), wet);
      pen->stroke(Path::box({left, top + 0.2, 11, 5.6}), {0.25});
    });
  bool flows = false, below = false;
  for (const PoolPlan& p : v.plans) flows = flows || !p.flows.empty(), below = below || !p.below.empty();
  if (below)
    item(9, "trough", [&](double left, double top) {
      pen->stroke(Path::box({left, top + 1.2, 9, 3.6}), {0.2, Ink::grey, Dash::dashed});
    });
  if (flows)
    item(9, "runs this way", [&](double left, double top) {
      arrow(*pen, {left, top + 3}, {left + 9, top + 3}, 1.8, {0.35});
    });
  return y + 9;
}

PoolSheet lay_out(const PoolsView& view, const Room& room) {
  PoolSheet s;
  s.view = view;
  s.width = room.width;
  s.words = heading(nullptr, view.title, view.sentence, room.width);
  double y = s.words + 2;
  for (const PoolPlan& p : view.plans) {
    PoolCell c;
    c.top = y;
    y += measure(p.title, plan_title(room.width)).height;
    if (!p.words.empty()) y += measure(p.words, plan_words(room.width)).height;
    y += 2;
    const Box world = bounds(std::vector<Shape>{p.outline});
    if (world.width > 0 && world.height > 0) {
      const double wide = room.width - notes_wide - notes_gap - 2;
      c.scale.mm_per_m = nice_scale(world.width, world.height, {0, 0, wide, most_plan}, true);
      c.plan = {1, y, c.scale.length(world.width), c.scale.length(world.height)};
      c.scale.origin = {1 - c.scale.length(world.x), y + c.scale.length(world.y + world.height)};
      c.column = {c.plan.right() + notes_gap, y, 0, c.plan.height};
      c.column.width = std::min(notes_wide + 20, room.width - c.column.x);
      y = std::max(c.plan.bottom(), leaders(nullptr, leaders_of(p, c.scale), c.column));
      y += 2 + scale_bar_height();
    } else {
      y += 5;
    }
    c.bottom = y;
    y += plan_air;
    s.cells.push_back(c);
  }
  s.legend_y = y - 2;
  s.caption_y = legend(nullptr, view, s.legend_y, room.width);
  s.height = s.caption_y + (view.caption.empty() ? 0 : measure(view.caption, plan_words(room.width)).height + 1);
  return s;
}

void draw_plan(Pen& pen, const PoolsView& v, const PoolPlan& p, const PoolCell& c, double width) {
  const double y = pen.text({0, c.top}, p.title, plan_title(width)).bottom();
  if (!p.words.empty()) pen.text({0, y}, p.words, plan_words(width));
  if (!(c.plan.width > 0)) {
    pen.text({0, c.bottom - 4.6}, "open", small_text());
    return;
  }
  const Path outline = to_path(p.outline, c.scale);
  pen.clipped(outline, [&] {
    for (const Shape& t : p.below)
      if (drawable(t)) pen.stroke(to_path(t, c.scale), {0.2, Ink::grey, Dash::dashed});
    for (const Shape& d : p.details)
      if (drawable(d)) pen.stroke(to_path(d, c.scale), {0.2, Ink::grey});
    if (whole(p.depth))
      for (std::size_t k = 0; k < v.levels.size() && k < 3; ++k)
        pen.stroke(strokes_above(p.depth, v.levels[k], c.scale, strokes_at(k)), wet);
  });
  for (const Shape& h : p.holes)
    if (drawable(h)) {
      pen.fill(to_path(h, c.scale), Ink::ground);
      pen.stroke(to_path(h, c.scale), {0.3});
    }
  for (const auto& [from, to] : p.flows) arrow(pen, c.scale.at(from), c.scale.at(to), 2, {0.4});
  for (const auto& [place, text] : p.names)
    if (const Point at = c.scale.at(place);
        at.x > c.plan.x + 2 && at.x < c.plan.right() - 2 && at.y > c.plan.y + 2 && at.y < c.plan.bottom() - 2)
      pen.label(at, text, {.size = 3.2, .bold = true, .align = Align::centre, .halo = true});
  pen.stroke(outline, {0.5});
  leaders(&pen, leaders_of(p, c.scale), c.column);
  scale_bar(pen, {0.5, c.bottom - scale_bar_height()}, c.scale.mm_per_m, v.style);
}

}  // namespace

Drawing pools(const PoolsView& view, const Room& room) {
  const auto s = std::make_shared<const PoolSheet>(lay_out(view, room));
  if (view.plans.empty())
    return {room.width, s->words + 6, view.title, [s](Pen& pen) {
              heading(&pen, s->view.title, s->view.sentence, s->width);
              pen.text({0, s->words}, "open", small_text());
            }};
  return {room.width, s->height, view.title, [s](Pen& pen) {
            heading(&pen, s->view.title, s->view.sentence, s->width);
            for (std::size_t k = 0; k < s->cells.size(); ++k)
              draw_plan(pen, s->view, s->view.plans[k], s->cells[k], s->width);
            legend(&pen, s->view, s->legend_y, s->width);
            pen.text({0, s->caption_y}, s->view.caption, plan_words(s->width));
          }};
}

}  // namespace fettle::drawings
