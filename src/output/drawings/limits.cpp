// The pallet tool by tool, each nest with the depth that stays quiet there.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/chart.h"
#include "output/drawings/kit.h"
#include "output/drawings/pallet_signs.h"
#include "output/drawings/plate.h"

namespace fettle::drawings {
namespace {

constexpr double cell_gap = 8, row_gap = 6, most_tall = 74, most_share = 1.5, bar_tall = 2.6, inset = 1.6;

/// Everything that the drawings of one view share.
struct Sheet {
  LimitsView view;
  double width = 0, words = 0, cell = 0, heads = 0, list = 0, row = 0, plan_height = 0, plan_x = 0;
  std::size_t columns = 1;
  Box world;
  double mm_per_m = 0;
  bool roomy = false;  ///< the words fit into the nests
};

TextStyle head_style(double width) { return {.size = 3.2, .bold = true, .wrap = width, .max_lines = 2}; }
TextStyle asked_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 2}; }
TextStyle state_style(State s, double width) {
  const bool hand = s == State::outside;
  return {.size = 2.6, .bold = true, .ink = hand ? Ink::accent : Ink::graphite, .wrap = width, .max_lines = 1};
}
TextStyle line_style(double width) { return {.size = 2.5, .wrap = width, .max_lines = 2}; }
TextStyle caption_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 6}; }

LimitMark mark_of(const LimitPlan& plan, int nest) {
  for (const LimitMark& m : plan.marks)
    if (m.nest == nest) return m;
  LimitMark none;
  none.nest = nest;
  none.limit = "not looked at";
  return none;
}

/// The nest on paper, its scale given; nothing when it cannot be drawn.
Box box_of(const Sheet& s, const Nest& nest, const Scale& scale) {
  const NestPattern* pattern = pattern_of(s.view.pallet, nest);
  if (pattern == nullptr || !drawable(pattern->outline) || !std::isfinite(nest.at.x) || !std::isfinite(nest.at.y))
    return {};
  const Box b = bounds(std::vector<Shape>{in_plate(nest, pattern->outline)});
  const Point top = scale.at({b.x, b.y + b.height});
  return {top.x, top.y, scale.length(b.width), scale.length(b.height)};
}
Scale scale_of(const Sheet& s, double top) {
  return {s.mm_per_m, {s.plan_x - s.world.x * s.mm_per_m, top + (s.world.y + s.world.height) * s.mm_per_m}};
}

/// Height that a nest's words need at that width.
double words_height(const LimitMark& m, double width) {
  double h = 4.2 + bar_tall + 1.4;
  for (const std::string& text : {m.limit, m.place, m.soft})
    if (!text.empty()) h += measure(text, line_style(width)).height;
  return h;
}

/// A bar from nothing to the limit, filled by the state, against a heavy upright at what is asked.
void bar(Pen& pen, const LimitMark& m, const Box& track) {
  const double asked = track.x + track.width / most_share;
  if (std::isfinite(m.share) && m.share > 0)
    state_fill(pen, {track.x, track.y, track.width * std::min(m.share, most_share) / most_share, track.height},
               m.state);
  pen.stroke(Path::segment({track.x, track.bottom()}, {track.right(), track.bottom()}), {0.15, Ink::grey});
  pen.stroke(Path::segment({asked, track.y - 0.8}, {asked, track.bottom() + 0.8}), {0.7});
}

Stroke outline_of(State state) {
  switch (state) {
    case State::outside:
      return {0.7, Ink::accent};
    case State::tight:
      return {0.5};
    case State::inside:
      return {0.3};
    case State::open:
      return {0.25, Ink::graphite, Dash::fine};
    case State::beyond:
      break;
  }
  return {0.4, Ink::graphite, Dash::dotted};
}

/// "1" and the word, over the bar and the words.
void nest_words(Pen& pen, const std::string& number, const LimitMark& m, Box box) {
  box = {box.x + inset, box.y + inset, box.width - 2 * inset, box.height - 2 * inset};
  const Box n = pen.text({box.x, box.y - 0.6}, number, bold_text(3.4));
  const double x = n.right() + 2;
  state_fill(pen, {x, box.y + 0.5, 4, 2.4}, m.state);
  pen.label({x + 5.4, box.y + 1.7}, std::string(finding::word(m.state)), state_style(m.state, box.right() - x - 5.4));
  double y = box.y + 4.4;
  bar(pen, m, {box.x, y, box.width, bar_tall});
  y += bar_tall + 1.2;
  for (const std::string& text : {m.limit, m.place, m.soft})
    if (!text.empty()) y += pen.text({box.x, y}, text, line_style(box.width)).height;
}

/// The same as a line below the plan, where the nests are too small for it.
double nest_line(Pen* pen, const std::string& number, const LimitMark& m, double y, double width) {
  const double x = 51;
  std::string text;
  for (const std::string& part : {m.limit, m.place, m.soft})
    if (!part.empty()) text += (text.empty() ? "" : "; ") + part;
  const TextStyle style = line_style(width - x);
  if (pen) {
    pen->label({0, y + 1.7}, number, {.size = 2.6, .bold = true, .wrap = 7});
    state_fill(*pen, {8, y + 0.5, 4, 2.4}, m.state);
    pen->label({13.5, y + 1.7}, std::string(finding::word(m.state)), state_style(m.state, 15));
    bar(*pen, m, {29, y + 0.4, 19, bar_tall});
    pen->text({x, y}, text, style);
  }
  return y + std::max(4.4, measure(text, style).height + 0.8);
}

double list_height(const Sheet& s, const LimitPlan& plan) {
  double y = 2;
  for (std::size_t n = 0; n < s.view.pallet.nests.size(); ++n)
    y = nest_line(nullptr, "", mark_of(plan, static_cast<int>(n)), y, s.cell);
  return y;
}

Sheet lay_out(const LimitsView& view, double width) {
  Sheet s;
  s.view = view;
  s.width = width;
  s.words = heading(nullptr, view.title, view.sentence, width);
  s.columns = view.plans.size() > 1 && width >= 140 ? 2 : 1;
  s.cell = (width - cell_gap * static_cast<double>(s.columns - 1)) / static_cast<double>(s.columns);
  s.world = bounds(std::vector<Shape>{view.pallet.plate});
  if (!(s.world.width > 0) || !(s.world.height > 0) || view.plans.empty()) return s;
  s.mm_per_m = std::min((s.cell - 1) / s.world.width, most_tall / s.world.height);
  s.plan_height = s.world.height * s.mm_per_m;
  s.plan_x = 0.5;
  s.roomy = true;
  for (const LimitPlan& plan : view.plans) {
    s.heads = std::max(s.heads, measure(plan.title, head_style(s.cell)).height +
                                    measure(plan.asked, asked_style(s.cell)).height + 1.5);
    for (std::size_t n = 0; n < view.pallet.nests.size(); ++n) {
      const Box box = box_of(s, view.pallet.nests[n], scale_of(s, 0));
      if (!(box.width > 0)) continue;
      s.roomy = s.roomy && box.width >= 26 &&
                words_height(mark_of(plan, static_cast<int>(n)), box.width - 2 * inset) <= box.height - 2 * inset;
    }
  }
  // Nests that cannot be drawn are said in the list.
  for (const Nest& n : view.pallet.nests) s.roomy = s.roomy && box_of(s, n, scale_of(s, 0)).width > 0;
  if (!s.roomy)
    for (const LimitPlan& plan : view.plans) s.list = std::max(s.list, list_height(s, plan));
  s.row = s.heads + s.plan_height + s.list + row_gap;
  return s;
}

void draw_plan(Pen& pen, const Sheet& s, const LimitPlan& plan) {
  double y = pen.text({0, 0}, plan.title, head_style(s.cell)).height;
  pen.text({0, y}, plan.asked, asked_style(s.cell));
  const PalletView& p = s.view.pallet;
  const Scale scale = scale_of(s, s.heads);
  pen.stroke(to_path(p.plate, scale), {0.5});
  for (std::size_t n = 0; n < p.nests.size(); ++n) {
    const Nest& nest = p.nests[n];
    const Box box = box_of(s, nest, scale);
    if (!(box.width > 0)) continue;
    const LimitMark m = mark_of(plan, static_cast<int>(n));
    const Path outline = to_path(in_plate(nest, pattern_of(p, nest)->outline), scale);
    pen.fill(outline, Ink::ground);
    pen.stroke(outline, outline_of(m.state));
    const Point at = scale.at(m.at);
    const double low = box.y + inset + words_height(m, box.width - 2 * inset) + 0.6;
    const Point middle{box.x + 0.5 * box.width, box.y + 0.5 * box.height};
    const bool on_number = !s.roomy && std::hypot(at.x - middle.x, at.y - middle.y) < 5.5;
    const bool on_words = s.roomy && at.x > box.x + 1 && at.x < box.right() - 1 && at.y > box.y + 1 && at.y < low + 1;
    if (std::isfinite(at.x) && std::isfinite(at.y) && !on_words && !on_number) {
      pen.fill(Path::circle(at, 2.2), Ink::ground);
      pen.fill(Path::circle(at, 1.7), m.state == State::outside ? Ink::accent : Ink::graphite);
    }
    if (s.roomy) {
      nest_words(pen, nest.number, m, box);
      continue;
    }
    state_fill(pen, {middle.x - 2, middle.y + 1.2, 4, 2.4}, m.state);
    pen.label({middle.x, middle.y - 1.4}, nest.number,
              {.size = 2.8, .bold = true, .align = Align::centre, .halo = true});
  }
  if (s.roomy) return;
  y = s.heads + s.plan_height + 2;
  for (std::size_t n = 0; n < p.nests.size(); ++n)
    y = nest_line(&pen, p.nests[n].number, mark_of(plan, static_cast<int>(n)), y, s.cell);
}

Drawing rows(const std::shared_ptr<const Sheet>& s, std::size_t from, std::size_t to, bool first, bool last) {
  const double top = first ? s->words : 0;
  const double body = static_cast<double>((to - from + s->columns - 1) / s->columns) * s->row;
  const double foot =
      last && !s->view.caption.empty() ? measure(s->view.caption, caption_style(s->width)).height + 1 : 0;
  return {s->width, top + body + foot, s->view.title, [=](Pen& pen) {
            if (first) heading(&pen, s->view.title, s->view.sentence, s->width);
            for (std::size_t i = from; i < to; ++i) {
              const std::size_t k = i - from;
              pen.moved({static_cast<double>(k % s->columns) * (s->cell + cell_gap),
                         top + static_cast<double>(k / s->columns) * s->row},
                        [&] { draw_plan(pen, *s, s->view.plans[i]); });
            }
            if (last) pen.text({0, top + body}, s->view.caption, caption_style(s->width));
          }};
}

}  // namespace

std::vector<Drawing> limits(const LimitsView& view, const Room& room) {
  const auto s = std::make_shared<const Sheet>(lay_out(view, room.width));
  if (!(s->row > 0))
    return {{room.width, s->words + 6, view.title, [s](Pen& pen) {
               heading(&pen, s->view.title, s->view.sentence, s->width);
               pen.text({0, s->words}, "open", small_text());
             }}};
  std::vector<Drawing> out;
  const std::size_t n = view.plans.size();
  for (std::size_t from = 0; from < n;) {
    const double free = room.height - (from == 0 ? s->words : 0) - 8;
    const auto fit = static_cast<std::size_t>(std::clamp(std::floor(free / s->row), 1.0, 1000.0));
    const std::size_t to = std::min(n, from + fit * s->columns);
    out.push_back(rows(s, from, to, from == 0, to == n));
    from = to;
  }
  return out;
}

}  // namespace fettle::drawings
