// Clamp force of each part under one jaw against what it needs.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/chart.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"
#include "output/drawings/mechanics.h"

namespace fettle::drawings {
namespace {

constexpr double name_width = 24, words_width = 52, lane = 7.5, bar_height = 4, group_head = 6, group_gap = 4,
                 foot = 15;

struct Layout {
  double from = name_width, width = 0, most = 1;
  double x(double force) const { return from + width * std::clamp(force / most, 0.0, 1.0); }
};

Layout layout_of(const JawView& v, const Room& room) {
  Layout l;
  l.width = std::max(room.width - name_width - words_width, 20.0);
  double most = 0;
  const auto take = [&](double x) {
    if (std::isfinite(x)) most = std::max(most, x);
  };
  take(v.need);
  for (const auto* group : {&v.planned, &v.cured})
    for (const JawBar& b : *group) take(b.force), take(b.high);
  if (most > 0) l.most = 1.05 * most;
  return l;
}

std::string words_of(const JawBar& b, const unit::Style& style) {
  const std::string force = say({b.force, unit::Kind::force, false, ""}, style);
  if (!std::isfinite(b.force)) return force;
  return force + (b.loose > 0              ? ", loose in " + say_share(b.loose)
                  : std::isfinite(b.loose) ? ", loose in none tried"
                                           : "");
}

void bar(Pen& pen, const JawBar& b, const JawView& v, const Layout& l, double y) {
  const double middle = y + 0.5 * lane;
  const bool hand = std::isfinite(v.need) && !(b.force >= v.need), loose = b.loose > 0;
  pen.label({0, middle}, b.name, {.size = Type::text, .wrap = name_width - 2});
  const Ink ink = loose || hand ? Ink::accent : Ink::graphite;
  if (std::isfinite(b.force) && b.force > 0) {
    const Path body = Path::box({l.from, middle - 0.5 * bar_height, l.x(b.force) - l.from, bar_height});
    // Loose in some loads: the same hatch as outside, so that it reads without colour.
    pen.hatch(body, loose || hand ? Hatch::outside : Hatch::tight);
    pen.stroke(body, {0.3, ink});
  }
  if (std::isfinite(b.low) && std::isfinite(b.high) && b.high > b.low) {
    const double x0 = l.x(b.low), x1 = l.x(b.high);
    pen.stroke(Path::segment({x0, middle}, {x1, middle}), {0.45});
    for (double x : {x0, x1}) pen.stroke(Path::segment({x, middle - 1.3}, {x, middle + 1.3}), {0.45});
  }
  TextStyle words = figure_text(2.6);
  words.bold = loose || hand;
  words.ink = ink;
  words.wrap = words_width - 3;
  pen.label({l.from + l.width + 3, middle}, words_of(b, v.style), words);
}

void group(Pen& pen, const std::string& title, const std::vector<JawBar>& bars, const JawView& v, const Layout& l,
           double y) {
  TextStyle head = bold_text(2.9);
  head.wrap = l.from + l.width + words_width;
  head.max_lines = 1;
  pen.text({0, y}, title, head);
  y += group_head;
  const double bottom = y + lane * static_cast<double>(bars.size());
  for (std::size_t i = 0; i < bars.size(); ++i) bar(pen, bars[i], v, l, y + lane * static_cast<double>(i));
  pen.stroke(Path::segment({l.from, y}, {l.from, bottom}), {0.25});
  if (std::isfinite(v.need) && v.need > 0)
    pen.stroke(Path::segment({l.x(v.need), y - 0.5}, {l.x(v.need), bottom + 0.5}), {0.7});
}

void axis(Pen& pen, const JawView& v, const Layout& l, double y) {
  pen.stroke(Path::segment({l.from, y}, {l.from + l.width, y}), {0.25});
  const bool inch = v.style.system == unit::Style::System::inch;
  // In steps that are round in the person's unit.
  const double per = inch ? 4.4482216152605 : 1000;
  const std::vector<double> ts = ticks(0, l.most / per, 7);
  const double step = ts.size() > 1 ? ts[1] - ts[0] : 1;
  for (double t : ts) {
    const double x = l.x(t * per);
    pen.stroke(Path::segment({x, y}, {x, y + 1}), {0.2});
    TextStyle figure = figure_text(2.4);
    figure.align = Align::centre;
    pen.text({x, y + 1.4}, say_tick(t, step), figure);
  }
  std::string words = std::string("clamp force of one part, ") + (inch ? "lbf" : "kN");
  if (std::isfinite(v.need) && v.need > 0)
    words += ". Thick upright: what each needs, " + say({v.need, unit::Kind::force, false, ""}, v.style) + ".";
  words += " Whisker: 5 % to 95 % of loads.";
  pen.text({l.from, y + 5.4}, words,
           {.size = Type::small, .ink = Ink::grey, .wrap = l.width + words_width, .max_lines = 2});
}

}  // namespace

Drawing jaw(const JawView& view, const Room& room) {
  const auto v = std::make_shared<const JawView>(view);
  const double words = heading(nullptr, v->title, v->sentence, room.width);
  if (v->planned.empty())
    return {room.width, words + 6, v->title, [v, room, words](Pen& pen) {
              heading(&pen, v->title, v->sentence, room.width);
              pen.text({0, words}, "open", small_text());
            }};
  const auto tall = [](const std::vector<JawBar>& bars) {
    return bars.empty() ? 0 : group_head + lane * static_cast<double>(bars.size()) + group_gap;
  };
  const double first = words + 1, second = first + tall(v->planned), end = second + tall(v->cured);
  return {room.width, end + foot, v->title, [v, room, first, second, end](Pen& pen) {
            const Layout l = layout_of(*v, room);
            heading(&pen, v->title, v->sentence, room.width);
            group(pen, "as planned", v->planned, *v, l, first);
            if (!v->cured.empty()) group(pen, "with " + v->cure, v->cured, *v, l, second);
            axis(pen, *v, l, end - 1);
          }};
}

}  // namespace fettle::drawings
