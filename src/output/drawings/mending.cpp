// What mending would buy: for each requirement its contributors, by the share of parts that would come inside.
#include <algorithm>
#include <cmath>
#include <memory>

#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/drawings.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double mark_width = 5, row_air = 2.2, group_gap = 7, number_width = 15;
constexpr std::size_t most_rows = 8;  // of one requirement; the rest is said in a line

struct Columns {
  double name = 0, buys = 0, variance = 0, mend = 0;
  double x_buys = 0, x_variance = 0, x_mend = 0;
  explicit Columns(double width) {
    const double gap = 3, rest = width - 3 * gap;
    name = 0.25 * rest;
    buys = 0.27 * rest;
    variance = 0.17 * rest;
    mend = rest - name - buys - variance;
    x_buys = name + gap;
    x_variance = x_buys + buys + gap;
    x_mend = x_variance + variance + gap;
  }
};

TextStyle name_style(const Columns& c, bool first) {
  return {.size = 2.8, .bold = first, .wrap = c.name, .max_lines = 12};
}
TextStyle place_style(const Columns& c) {
  return {.size = 2.3, .mono = true, .ink = Ink::grey, .wrap = c.name, .max_lines = 3};
}
TextStyle mend_style(const Columns& c, bool first) {
  return {.size = 2.7, .ink = first ? Ink::accent : Ink::graphite, .wrap = c.mend, .max_lines = 12};
}
TextStyle title_style(double width) {
  return {.size = 3.2, .bold = true, .wrap = width - mark_width - 2, .max_lines = 6};
}

/// What is gained, never more than there is to gain and never less than nothing; NaN stays NaN.
double gained(const Mending& group, const Mend& row) {
  if (!std::isfinite(row.buys)) return NAN;
  const double most = std::isfinite(group.share) ? group.share : row.buys;
  return std::clamp(row.buys, 0.0, std::max(most, 0.0));
}
/// The share of parts that a bar over the whole column means.
double full_scale(const Mending& group) {
  double most = std::isfinite(group.share) && group.share > 0 ? group.share : 0;
  if (!(most > 0))
    for (const Mend& row : group.rows)
      if (std::isfinite(row.buys)) most = std::max(most, row.buys);
  return most;
}
bool says_first(const Mending& group, std::size_t i) {
  return i == 0 && group.state == State::outside && gained(group, group.rows[0]) > 0;
}

std::string title_of(const Mending& group) {
  std::string text = group.title;
  if (std::isfinite(group.share)) text += ": " + say_share_against(group.share, group.goal) + " outside";
  if (std::isfinite(group.goal)) text += ", goal " + say_share(group.goal);
  return text;
}
/// Those worth a line: what buys something, weighs something or is not known; at least three.
std::size_t rows_of(const Mending& group) {
  std::size_t n = 0;
  for (std::size_t i = 0; i < std::min(group.rows.size(), most_rows); ++i) {
    const Mend& row = group.rows[i];
    if (i < 3 || !(gained(group, row) <= 0.01 * full_scale(group)) || !(row.variance_share < 0.02)) n = i + 1;
  }
  return n;
}
std::string rest_of(const Mending& group) {
  if (group.rows.empty()) return "what contributes is open";
  const std::size_t shown = rows_of(group);
  if (group.rows.size() <= shown) return {};
  double variance = 0;
  for (std::size_t i = shown; i < group.rows.size(); ++i)
    if (std::isfinite(group.rows[i].variance_share)) variance += group.rows[i].variance_share;
  return "and " + std::to_string(group.rows.size() - shown) + " more, together " + say_share(variance) +
         " of the spread";
}

double row_height(const Mend& row, const Columns& c, bool first) {
  const double name = measure(row.name, name_style(c, first)).height + measure(row.operation, place_style(c)).height;
  return std::max({name, measure(row.mend, mend_style(c, first)).height, 4.2}) + row_air;
}

void bars(Pen& pen, const Mending& group, const Mend& row, const Columns& c, double y, double height) {
  const double middle = y + height / 2, tall = 3, room = c.buys - number_width, full = full_scale(group);
  const double gain = gained(group, row);
  pen.stroke(Path::box({c.x_buys, middle - tall / 2, room, tall}), {0.15, Ink::grey, Dash::fine});
  TextStyle number = figure_text(2.5);
  if (full > 0 && gain > 0) {
    const double w = room * std::min(1.0, gain / full);
    pen.fill(Path::box({c.x_buys, middle - tall / 2, std::max(w, 0.3), tall}), Ink::graphite);
  }
  number.wrap = number_width - 1.5;
  const std::string said = !std::isfinite(gain) ? "open" : gain > 0 ? say_share(gain) : "nothing";
  pen.label({c.x_buys + room + 1.5, middle}, said, number);
  // Share of the spread: a thin line with a foot and a head.
  const double thin_room = c.variance - 12, x = c.x_variance;
  const bool known = std::isfinite(row.variance_share);
  const double to = x + thin_room * (known ? std::clamp(row.variance_share, 0.0, 1.0) : 0);
  pen.stroke(Path::segment({x, middle - 1.3}, {x, middle + 1.3}), {0.2, Ink::grey});
  if (known) {
    pen.stroke(Path::segment({x, middle}, {to, middle}), {0.3});
    pen.stroke(Path::circle({to, middle}, 1.1), {0.3});
  }
  TextStyle grey = number;
  grey.ink = Ink::grey;
  grey.wrap = 10.5;
  pen.label({x + thin_room + 2, middle},
            known ? base::fixed(std::clamp(row.variance_share, 0.0, 1.0) * 100, 0) + " %" : "open", grey);
}

/// One requirement with its contributors; returns the height. `pen` null: only measures.
double group_of(Pen* pen, const Mending& group, double width) {
  const Columns c(width);
  const std::string title = title_of(group);
  if (pen) {
    state_fill(*pen, {0.3, 0.8, mark_width - 0.6, 2.7}, group.state);
    pen->text({mark_width + 2, 0}, title, title_style(width));
  }
  double y = std::max(measure(title, title_style(width)).height, 4.2) + 1.2;
  if (!group.rows.empty()) {
    TextStyle head{.size = 2.4, .ink = Ink::grey};
    double high = 0;
    const auto put = [&](double x, double w, const std::string& text) {
      head.wrap = w;
      head.max_lines = 2;
      high = std::max(high, measure(text, head).height);
      if (pen) pen->text({x, y}, text, head);
    };
    const double full = full_scale(group);
    put(0, c.name, "if this were gone");
    put(c.x_buys, c.buys, full > 0 ? "parts gained; whole length " + say_share(full) : "parts gained");
    put(c.x_variance, c.variance, "share of the spread");
    put(c.x_mend, c.mend, "what would mend it");
    y += high + 0.8;
    if (pen) pen->stroke(Path::segment({0, y}, {width, y}), {0.3});
  }
  for (std::size_t i = 0, shown = rows_of(group); i < shown; ++i) {
    const Mend& row = group.rows[i];
    const bool first = says_first(group, i);
    const double h = row_height(row, c, first);
    if (pen) {
      const double name = measure(row.name, name_style(c, first)).height,
                   place = measure(row.operation, place_style(c)).height;
      const double top = y + (h - name - place) / 2;
      pen->text({0, top}, row.name, name_style(c, first));
      pen->text({0, top + name}, row.operation, place_style(c));
      bars(*pen, group, row, c, y, h);
      pen->text({c.x_mend, y + (h - measure(row.mend, mend_style(c, first)).height) / 2}, row.mend,
                mend_style(c, first));
      pen->stroke(Path::segment({0, y + h}, {width, y + h}), {0.1, Ink::light});
    }
    y += h;
  }
  const std::string rest = rest_of(group);
  TextStyle small = small_text();
  small.wrap = width;
  if (pen && !rest.empty()) pen->text({0, y + 0.8}, rest, small);
  return y + (rest.empty() ? 0.5 : measure(rest, small).height + 1);
}

}  // namespace

std::vector<Drawing> mending(const MendingView& view, const Room& room, double first_height) {
  const auto shared = std::make_shared<const MendingView>(view);
  const std::size_t n = view.requirements.size();
  std::vector<Drawing> pages;
  std::size_t from = 0;
  do {
    const bool first = pages.empty();
    const double most = first && first_height > 0 ? first_height : room.height;
    const std::string title = first ? view.title : view.title.empty() ? "" : view.title + ", continued";
    const std::string sentence = first ? view.sentence : "";
    double y = heading(nullptr, title, sentence, room.width);
    std::vector<double> tops;
    std::size_t to = from;
    for (; to < n; ++to) {
      const double h = group_of(nullptr, view.requirements[to], room.width);
      if (y + h > most && to > from) break;
      tops.push_back(y);
      y += h + group_gap;
    }
    Drawing page{room.width, n == 0 ? y + 6 : y - group_gap + 1, view.title.empty() ? "mending" : view.title, {}};
    page.draw = [=](Pen& pen) {
      heading(&pen, title, sentence, room.width);
      if (n == 0) pen.text({0, y}, "no requirement needs mending, or none was judged", small_text());
      for (std::size_t i = from; i < to; ++i)
        pen.moved({0, tops[i - from]}, [&] { group_of(&pen, shared->requirements[i], room.width); });
    };
    pages.push_back(page);
    from = to;
  } while (from < n);
  return pages;
}

}  // namespace fettle::drawings
