// One cycle over time: a row for each machine and person, what they do, where they wait.
#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/drawings.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double name_width = 26, lane = 10, lane_gap = 5.4, axis_height = 10, bar_text = 2.5;

/// A stretch that did not get its words: they stand below under its number.
struct Named {
  std::string who, what;
  double time = 0;  ///< s, all stretches of this kind in the cycle
  int times = 0;
  bool waiting = false;
};

struct Bar {
  double from = 0, to = 0;
  bool waiting = false;
  std::string inside;  ///< words set in the bar; empty: see number
  int number = 0;      ///< 1-based into the list below; 0: none
};
struct Lane {
  std::string who;
  std::vector<Bar> bars;
};
struct Plan {
  double extent = 0;  ///< s, end of the axis
  double cycle = 0;
  double x0 = 0, width = 0;
  std::vector<Lane> lanes;
  std::vector<Named> named;
  double x(double t) const { return x0 + width * t / extent; }
};

TextStyle inside_style(double width) {
  return {.size = bar_text, .align = Align::centre, .wrap = width, .max_lines = 3, .halo = true};
}

/// Words fit a bar when none of them is broken and they need no more lines than the bar is high.
bool fits(const std::string& text, double width) {
  if (text.empty() || !(width > 2)) return false;
  const std::string printed = printable(text);
  for (const std::string& word : base::split(printed, ' '))
    if (measure(word, {.size = bar_text}).width > width) return false;
  TextStyle style = inside_style(width);
  style.max_lines = 0;
  return measure(printed, style).height <= lane - 1.2;
}

Plan plan_of(const CycleView& view, const Room& room) {
  const double width = room.width;
  Plan p;
  p.x0 = name_width;
  p.width = width - name_width - 1;
  const bool known = view.cycle > 0 && view.cycle < 1e9;
  double last = 0;
  for (const CycleRow& row : view.rows)
    for (const CycleBar& bar : row.bars)
      if (bar.to > bar.from && std::isfinite(bar.from) && bar.to < 1e9) last = std::max(last, bar.to);
  p.cycle = known ? view.cycle : 0;
  p.extent = known ? std::clamp(last, view.cycle, 2 * view.cycle) : last;
  if (!(p.extent > 0)) return p;
  std::map<std::pair<std::string, std::string>, std::size_t> seen;
  const auto most = static_cast<std::size_t>(std::clamp(0.5 * room.height / (lane + lane_gap), 1.0, 1000.0));
  for (const CycleRow& row : view.rows) {
    if (p.lanes.size() == most) break;
    Lane lane_of{row.who, {}};
    for (const CycleBar& bar : row.bars) {
      if (!(bar.to > bar.from) || !std::isfinite(bar.from) || !(bar.to < 1e9)) continue;
      Bar b{std::clamp(bar.from, 0.0, p.extent), std::clamp(bar.to, 0.0, p.extent), bar.waiting, {}, 0};
      if (!(b.to > b.from)) continue;
      if (fits(bar.what, p.width * (b.to - b.from) / p.extent - 1.6)) b.inside = bar.what;
      else if (!bar.what.empty()) {
        const auto [at, fresh] = seen.try_emplace({row.who, bar.what}, p.named.size());
        if (fresh) p.named.push_back({row.who, bar.what, 0, 0, bar.waiting});
        b.number = static_cast<int>(at->second) + 1;
      }
      lane_of.bars.push_back(b);
    }
    // Of one kind all stretches count, also those that had room for their words.
    for (const CycleBar& bar : row.bars)
      if (const auto at = seen.find({row.who, bar.what}); at != seen.end() && bar.to > bar.from && bar.to < 1e9) {
        p.named[at->second].time += bar.to - bar.from;
        ++p.named[at->second].times;
      }
    p.lanes.push_back(lane_of);
  }
  return p;
}

void draw_bar(Pen& pen, const Plan& p, const Bar& bar, double y) {
  const Box box{p.x(bar.from), y, std::max(p.x(bar.to) - p.x(bar.from), 0.25), lane};
  const Path path = Path::box(box);
  pen.fill(path, Ink::ground);
  if (bar.waiting) pen.hatch(path, Hatch::tight);
  pen.stroke(path, {0.3});
  if (bar.inside.empty()) return;
  const TextStyle style = inside_style(box.width - 1.6);
  pen.text({box.x + box.width / 2, y + (lane - measure(bar.inside, style).height) / 2}, bar.inside, style);
}

/// Numbers over the bars that got no words. The first of each kind always stands, moved aside with a line to its bar
/// where it is crowded; the others stand where there is room, the list says how many they are.
void numbers(Pen& pen, const Plan& p, const Lane& row, double y) {
  const TextStyle style = bold_text(2.3);
  struct Taken {
    double from, to;
  };
  std::vector<Taken> taken;
  std::vector<int> said;
  const auto width_of = [&](int number) { return measure(std::to_string(number), style).width; };
  const auto put = [&](int number, double left) {
    const double w = width_of(number);
    pen.text({left, y - 4.1}, std::to_string(number), style);
    taken.push_back({left - 0.7, left + w + 0.7});
  };
  double next = p.x0;
  for (const Bar& bar : row.bars) {
    if (bar.number == 0 || std::find(said.begin(), said.end(), bar.number) != said.end()) continue;
    said.push_back(bar.number);
    const double w = width_of(bar.number), x = 0.5 * (p.x(bar.from) + p.x(bar.to));
    const double left = std::max(next, std::min(x - w / 2, p.x0 + p.width - w));
    if (left + w > p.x0 + p.width + 0.5) continue;  // no room at all: it stands in the list
    put(bar.number, left);
    next = left + w + 1;
    pen.stroke(Path::segment({x, y}, {left + w / 2, y - 1.1}), {0.12, Ink::grey});
  }
  for (const Bar& bar : row.bars) {
    if (bar.number == 0) continue;
    const double w = width_of(bar.number), left = 0.5 * (p.x(bar.from) + p.x(bar.to)) - w / 2;
    if (left < p.x0 || left + w > p.x0 + p.width) continue;
    if (std::all_of(taken.begin(), taken.end(), [&](const Taken& t) { return left > t.to || left + w < t.from; }))
      put(bar.number, left);
  }
}

void axis(Pen& pen, const Plan& p, double y) {
  pen.stroke(Path::segment({p.x0, y}, {p.x0 + p.width, y}), {0.3});
  const std::vector<double> marks = ticks(0, p.extent / 60, 13);
  const double step = marks.size() > 1 ? marks[1] - marks[0] : p.extent / 60;
  TextStyle style = figure_text(2.4);
  for (double m : marks) {
    const double x = p.x(m * 60);
    pen.stroke(Path::segment({x, y}, {x, y + 1.2}), {0.2});
    const std::string text = say_tick(m, step);
    const double w = measure(text, style).width;
    pen.text({std::clamp(x - w / 2, 0.0, p.x0 + p.width - w), y + 1.5}, text, style);
  }
  TextStyle word{.size = Type::small, .ink = Ink::grey};
  pen.label({0, y + 3.2}, "minutes", word);
}

std::string say_named(const Named& n, int number) {
  std::string text =
      std::to_string(number) + "  " + (n.who.empty() ? "" : n.who + ": ") + n.what + ", " + say_minutes(n.time);
  if (n.times > 1) text += " in " + std::to_string(n.times) + " stretches";
  return text;
}

/// The numbered stretches in two columns as far as `room` goes; returns the height. `pen` null: only measures.
double list(Pen* pen, const std::vector<Named>& named, double y, double width, double room) {
  if (named.empty()) return 0;
  constexpr double column_gap = 6, line = 4;
  TextStyle style{.size = 2.6, .wrap = (width - column_gap) / 2, .max_lines = 12};
  const auto set = [&](Pen* to, std::size_t n) {
    const std::size_t half = (n + 1) / 2;
    double most = 0;
    for (std::size_t c = 0; c < 2; ++c) {
      double at = 0;
      for (std::size_t i = c * half; i < std::min(n, (c + 1) * half); ++i) {
        const std::string text = say_named(named[i], static_cast<int>(i) + 1);
        if (to) to->text({static_cast<double>(c) * (style.wrap + column_gap), y + at}, text, style);
        at += measure(text, style).height + 0.5;
      }
      most = std::max(most, at);
    }
    return most;
  };
  std::size_t shown = named.size();
  if (set(nullptr, shown) > room) {  // one line each, and as many as there is room for
    style.max_lines = 1;
    shown = std::min(shown, 2 * static_cast<std::size_t>(std::clamp(room / line - 2, 1.0, 1e6)));
  }
  const double most = set(pen, shown);
  if (shown == named.size()) return most + 1;
  if (pen) pen->text({0, y + most}, "and " + std::to_string(named.size() - shown) + " kinds of stretches more", style);
  return most + line + 1;
}

/// The marks of the picture: what a hatched bar means.
double legend(Pen* pen, double y, bool waits) {
  if (!waits) return 0;
  if (pen) {
    const Path box = Path::box({0.2, y + 0.4, 6, 2.8});
    pen->hatch(box, Hatch::tight);
    pen->stroke(box, {0.3});
    pen->label({8, y + 1.8}, "without work", {.size = Type::small});
  }
  return 5;
}

TextStyle who_style() { return {.size = 2.9, .bold = true, .wrap = name_width - 2.5, .max_lines = 3}; }

}  // namespace

Drawing cycle(const CycleView& view, const Room& room) {
  const auto shared = std::make_shared<const CycleView>(view);
  const auto p = std::make_shared<const Plan>(plan_of(view, room));
  const double words = heading(nullptr, view.title, view.sentence, room.width);
  const bool open = !(p->extent > 0) || p->lanes.empty();
  const bool waits = std::any_of(p->lanes.begin(), p->lanes.end(), [](const Lane& l) {
    return std::any_of(l.bars.begin(), l.bars.end(), [](const Bar& b) { return b.waiting; });
  });
  const double lanes = static_cast<double>(p->lanes.size()) * (lane + lane_gap);
  const double strip = fact_strip(nullptr, view.facts, {0, 0}, room.width, view.style);
  const double top = words + lane_gap;  // of the first lane
  const std::size_t left_out = view.rows.size() - p->lanes.size();
  const double missing = left_out > 0 && !open ? 4.5 : 0;
  double height = words + 8;
  const double above = words + lanes + axis_height + 2 + legend(nullptr, 0, waits) + missing;
  const double list_room = room.height - above - strip;
  if (!open) height = above + list(nullptr, p->named, 0, room.width, list_room);
  return {room.width, height + strip, view.title.empty() ? "cycle" : view.title, [=](Pen& pen) {
            heading(&pen, shared->title, shared->sentence, room.width);
            fact_strip(&pen, shared->facts, {0, height}, room.width, shared->style);
            if (open) {
              pen.text({0, words}, "the cycle is open", small_text());
              return;
            }
            const double bottom = words + lanes + 1.5;
            for (double m : ticks(0, p->extent / 60, 13))
              pen.stroke(Path::segment({p->x(m * 60), words + 1}, {p->x(m * 60), bottom}), {0.12, Ink::light});
            for (std::size_t i = 0; i < p->lanes.size(); ++i) {
              const double y = top + static_cast<double>(i) * (lane + lane_gap);
              const Lane& row = p->lanes[i];
              pen.text({0, y + (lane - measure(row.who, who_style()).height) / 2}, row.who, who_style());
              pen.stroke(Path::segment({p->x0, y + lane}, {p->x0 + p->width, y + lane}), {0.12, Ink::grey});
              for (const Bar& bar : row.bars) draw_bar(pen, *p, bar, y);
              numbers(pen, *p, row, y);
            }
            if (p->cycle > 0 && p->cycle < p->extent)
              pen.stroke(Path::segment({p->x(p->cycle), words + 1}, {p->x(p->cycle), bottom}), {0.55});
            axis(pen, *p, bottom);
            double y = bottom + axis_height;
            y += legend(&pen, y, waits);
            if (missing > 0) pen.text({0, y}, "and " + std::to_string(left_out) + " rows more", small_text());
            list(&pen, p->named, y + missing, room.width, list_room);
          }};
}

}  // namespace fettle::drawings
