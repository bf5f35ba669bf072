// What the parts will measure against what the drawing allows: a distribution between two lines, or from 0 to one.
#include <algorithm>
#include <cmath>
#include <memory>

#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

constexpr double column_gap = 9, row_gap = 6.5, mark_width = 5;
constexpr double widest = 20;        // the chart shows at most this many times the width between the limits
constexpr double most_times = 200;   // what would have to be drawn higher than this is too small to see
constexpr double least_seen = 0.35;  // mm of height below which nobody sees the share outside

std::optional<double> known(const std::optional<double>& x) {
  return x && std::isfinite(*x) ? x : std::optional<double>();
}

/// The row as it can be drawn: limits that are numbers, bins of a usable width, ends of what holds any parts.
struct Shown {
  std::optional<double> lower, upper;
  bool zone = false;  ///< from 0 to the upper limit
  bool bins = false;
  double data_low = 0, data_high = 0, total = 0;
  double from = 0, to = 1;           ///< what the chart shows
  double cut_low = 0, cut_high = 0;  ///< share of parts beyond it
};

void find_data(const Spread& row, Shown& s) {
  if (!(row.step > 0) || !std::isfinite(row.step) || !std::isfinite(row.first)) return;
  for (std::size_t i = 0; i < row.bins.size(); ++i) {
    if (!(row.bins[i] > 0) || !std::isfinite(row.bins[i])) continue;
    const double a = row.first + static_cast<double>(i) * row.step;
    if (!s.bins) s.data_low = a;
    s.data_high = a + row.step;
    s.total += row.bins[i];
    s.bins = true;
  }
  if (!(s.data_high > s.data_low) || !std::isfinite(s.total)) s.bins = false;
}

Shown shown_of(const Spread& row) {
  Shown s;
  s.lower = known(row.lower);
  s.upper = known(row.upper);
  find_data(row, s);
  // A size limited on one side only is no zone: its parts lie far from 0.
  const bool from_zero =
      s.lower ? *s.lower == 0 : s.upper && (s.bins ? s.data_low < 0.5 * *s.upper : row.mean < *s.upper);
  s.zone = s.upper && *s.upper > 0 && from_zero && (!s.bins || s.data_low >= -0.5 * row.step);
  if (s.zone) s.lower.reset();
  double low = INFINITY, high = -INFINITY;
  const auto take = [&](double x) {
    if (!std::isfinite(x)) return;
    low = std::min(low, x);
    high = std::max(high, x);
  };
  const double left = s.zone ? 0 : s.lower.value_or(NAN), right = s.upper.value_or(NAN);
  take(left);
  take(right);
  const double allowed = right - left;
  double room_low = -INFINITY, room_high = INFINITY;
  if (allowed > 0) {
    // Never so wide that the limits run together; what is drawn reaches to where the parts are.
    const bool below = std::isfinite(row.mean) && row.mean < left, above = std::isfinite(row.mean) && row.mean > right;
    room_low = left - allowed * (below ? widest - 2 : above ? 1 : widest / 2 - 1);
    room_high = right + allowed * (above ? widest - 2 : below ? 1 : widest / 2 - 1);
  }
  if (s.bins) take(std::clamp(s.data_low, room_low, room_high)), take(std::clamp(s.data_high, room_low, room_high));
  if (std::isfinite(row.mean)) take(std::clamp(row.mean, room_low, room_high));
  if (!(low <= high)) low = 0, high = 1;
  if (!(high > low)) {
    const double some = std::max(std::fabs(low) * 1e-3, 1e-9);
    low -= some;
    high += some;
  }
  const double wide = high - low;
  for (double end : {row.worst_low, row.worst_high})
    if (std::isfinite(end) && end > low - 0.4 * wide && end < high + 0.4 * wide) take(end);
  s.from = s.zone && low >= 0 ? -0.015 * (high - low) : low - 0.05 * (high - low);
  s.to = high + 0.05 * (high - low);
  if (s.bins)
    for (std::size_t i = 0; i < row.bins.size(); ++i) {
      const double middle = row.first + (static_cast<double>(i) + 0.5) * row.step;
      if (!(row.bins[i] > 0) || !std::isfinite(row.bins[i])) continue;
      if (middle < s.from) s.cut_low += row.bins[i];
      if (middle > s.to) s.cut_high += row.bins[i];
    }
  return s;
}

struct Frame {
  Shown shown;
  double left = 0, width = 0, base = 0, height = 0;  ///< mm; base: y of the axis
  double x(double v) const { return left + width * (v - shown.from) / (shown.to - shown.from); }
  double inside(double v) const { return std::clamp(x(v), left, left + width); }
};

/// Bins put together until each is wide enough to draw.
std::vector<double> coarse(const Spread& row, const Frame& f, double& step) {
  const double mm = f.width * row.step / (f.shown.to - f.shown.from);
  const double most = static_cast<double>(row.bins.size());
  const auto n = static_cast<std::size_t>(std::clamp(std::ceil(0.6 / mm), 1.0, std::max(most, 1.0)));
  step = row.step * static_cast<double>(n);
  std::vector<double> out((row.bins.size() + n - 1) / n, 0.0);
  for (std::size_t i = 0; i < row.bins.size(); ++i)
    if (row.bins[i] > 0 && std::isfinite(row.bins[i])) out[i / n] += row.bins[i];
  return out;
}

bool outside(const Shown& s, double x) { return (s.lower && x < *s.lower) || (s.upper && x > *s.upper); }

/// The distribution's outline: shares as heights, the largest as high as the frame. Drawn higher by `times`, only the
/// bins outside the limits stand.
std::vector<Point> outline(const Spread& row, const Frame& f, double times) {
  double step = 0;
  std::vector<double> bins = coarse(row, f, step);
  double highest = 0;
  for (double b : bins) highest = std::max(highest, b);
  if (times > 1)
    for (std::size_t i = 0; i < bins.size(); ++i)
      if (!outside(f.shown, row.first + (static_cast<double>(i) + 0.5) * step)) bins[i] = 0;
  std::vector<Point> points;
  if (!(highest > 0)) return points;
  const auto x = [&](std::size_t i) {
    return std::clamp(f.x(row.first + static_cast<double>(i) * step), f.left - 1, f.left + f.width + 1);
  };
  double before = 0;
  for (std::size_t i = 0; i < bins.size(); ++i) {
    const double y = std::min(f.height, f.height * times * bins[i] / highest);
    if (y == before) continue;
    points.push_back({x(i), f.base - before});
    points.push_back({x(i), f.base - y});
    before = y;
  }
  points.push_back({x(bins.size()), f.base - before});
  points.push_back({x(bins.size()), f.base});
  return points;
}

/// How high the highest part outside stands at full scale, mm; 0 when no bin is outside.
double seen_outside(const Spread& row, const Frame& f) {
  double step = 0, highest = 0, most = 0;
  const std::vector<double> bins = coarse(row, f, step);
  for (std::size_t i = 0; i < bins.size(); ++i) {
    highest = std::max(highest, bins[i]);
    const double middle = row.first + (static_cast<double>(i) + 0.5) * step;
    if (outside(f.shown, middle) && middle > f.shown.from && middle < f.shown.to) most = std::max(most, bins[i]);
  }
  return highest > 0 ? f.height * most / highest : 0;
}

struct Words {
  std::string share, rest, remark;
};

std::string share_words(const Spread& row) {
  if (!std::isfinite(row.share)) return "share outside: open";
  std::string text;
  const bool band = std::isfinite(row.share_low) && std::isfinite(row.share_high) && row.share_high > row.share_low;
  if (row.share == 0) {
    text = "none of the parts tried is outside";
    if (std::isfinite(row.share_high) && row.share_high > 0) text += " (at most " + say_share(row.share_high) + ")";
  } else {
    text = say_share_against(row.share, row.goal) + " outside";
    if (band && row.share_high >= 1e-9)
      text += " (" + say_share(row.share_low) + " to " + say_share(row.share_high) + ")";
  }
  if (std::isfinite(row.goal)) text += ", goal " + say_share(row.goal);
  return text;
}

std::string signed_two(double x) {
  if (std::fabs(x) > 99.99) return x > 0 ? "above 99" : "below −99";
  std::string text = base::fixed(x, 2);
  if (!text.empty() && text[0] == '-') text.replace(0, 1, "−");
  return text;
}

/// `times`: how much higher the share outside is drawn than the rest; 1: alike.
Words words_of(const Spread& row, const Frame& f, double times) {
  Words w;
  w.share = share_words(row);
  const auto add = [](std::string& to, const std::string& text, const char* between) {
    to += (to.empty() ? "" : between) + text;
  };
  if (std::isfinite(row.cp)) add(w.rest, "Cp " + signed_two(row.cp), " · ");
  if (std::isfinite(row.cpk)) add(w.rest, "Cpk " + signed_two(row.cpk), " · ");
  if (std::isfinite(row.theory_share)) add(w.rest, "linear theory: " + say_share(row.theory_share) + " outside", " · ");
  if (times > 1) add(w.remark, "The share outside is drawn " + base::shortest(times) + " times as high.", " ");
  else if (f.shown.bins && row.share > 0 && seen_outside(row, f) < least_seen &&
           f.shown.cut_low + f.shown.cut_high == 0)
    add(w.remark, "The share outside is too small to see.", " ");
  const double least = 1e-12;
  if (f.shown.cut_low > least) add(w.remark, say_share(f.shown.cut_low) + " of the parts lie farther left.", " ");
  if (f.shown.cut_high > least) add(w.remark, say_share(f.shown.cut_high) + " of the parts lie farther right.", " ");
  return w;
}

TextStyle title_style(double width) {
  return {.size = 3.1, .bold = true, .wrap = width - mark_width - 2, .max_lines = 12};
}
TextStyle share_style(const Spread& row, double width) {
  const bool hand = row.state == State::outside;
  return {.size = 2.8, .bold = hand, .ink = hand ? Ink::accent : Ink::graphite, .wrap = width, .max_lines = 12};
}
TextStyle rest_style(double width) { return {.size = Type::small, .ink = Ink::grey, .wrap = width, .max_lines = 12}; }

/// Words on the limits over the chart: each centred on its line, or both outwards, or as one.
void limit_words(Pen& pen, const Frame& f, const Spread& row, const unit::Style& style, double y, double width) {
  TextStyle text = figure_text(2.5);
  const auto print = [&](double v) { return say({v, row.kind, row.gauge, {}}, style); };
  const auto put = [&](double x, const std::string& words) { pen.text({x, y}, words, text); };
  const auto& lower = f.shown.lower;
  const auto& upper = f.shown.upper;
  if (lower && upper) {
    const std::string low = print(*lower), high = print(*upper);
    const double wl = measure(low, text).width, wh = measure(high, text).width, gap = 2;
    const double xl = f.x(*lower), xh = f.x(*upper);
    const double a = centred_within(xl, wl, 0, width), b = centred_within(xh, wh, 0, width);
    if (a + wl + gap <= b) return put(a, low), put(b, high);
    if (xl + 1 - wl >= 0 && xh - 1 + wh <= width && xh - xl > 0.5 * gap)
      return put(xl + 0.5 - wl, low), put(xh - 0.5, high);
    const std::string both = low + " to " + high;
    return put(centred_within(0.5 * (xl + xh), measure(both, text).width, 0, width), both);
  }
  if (!lower && !upper) return;
  const std::string words = lower ? "≥ " + print(*lower) : "≤ " + print(*upper);
  const double w = measure(words, text).width;
  const double x = centred_within(f.x(lower ? *lower : *upper), w, 0, width);
  put(x, words);
  if (!f.shown.zone) return;
  const double w0 = measure("0", text).width, x0 = centred_within(f.x(0), w0, 0, width);
  if (x0 + w0 + 2 <= x) put(x0, "0");
}

/// The distribution, its share outside hatched; that share `times` as high as the rest.
void body(Pen& pen, const Frame& f, const Spread& row, double times) {
  const Box whole{f.left, f.base - f.height, f.width, f.height};
  const double low = f.shown.lower ? f.inside(*f.shown.lower) : f.left;
  const double high = f.shown.upper ? f.inside(*f.shown.upper) : f.left + f.width;
  const auto within = [&](double from, double to, const std::function<void()>& draw) {
    if (to > from) pen.clipped(Path::box({from, whole.y - 0.3, to - from, whole.height + 0.3}), draw);
  };
  const std::vector<Point> points = outline(row, f, 1);
  within(low, high, [&] { pen.stroke(Path::polyline(points), {0.35}); });
  const std::vector<Point> tail = times > 1 ? outline(row, f, times) : points;
  const bool seen = times > 1 || seen_outside(row, f) >= least_seen;
  const auto out = [&] {
    if (!seen) return pen.stroke(Path::polyline(points), {0.35});
    pen.hatch(Path::polygon(tail), Hatch::outside);
    pen.stroke(Path::polyline(tail), {0.35, Ink::accent, times > 1 ? Dash::fine : Dash::solid});
  };
  if (f.shown.lower) within(f.left, low, out);
  if (f.shown.upper) within(high, f.left + f.width, out);
  // An edge of the chart that cuts parts off is a break, not an end.
  const auto broken = [&](double x, double side) {
    for (double dx : {0.0, 0.9})
      pen.stroke(Path::polyline({{x - side * (0.4 + dx), f.base + 1}, {x - side * (0.4 + dx) + 0.6, f.base - 1}}),
                 {0.25});
    arrow(pen, {x - side * 6, f.base - f.height * 0.55}, {x - side * 0.6, f.base - f.height * 0.55}, 2, {0.3});
  };
  if (f.shown.cut_low > 0) broken(f.left, -1);
  if (f.shown.cut_high > 0) broken(f.left + f.width, 1);
}

/// The ends of the worst case as a span below the axis; an end that the chart does not reach is an arrow.
void worst_case(Pen& pen, const Frame& f, const Spread& row, const unit::Style& style, double y, double width) {
  if (!std::isfinite(row.worst_low) || !std::isfinite(row.worst_high)) return;
  const double low = std::min(row.worst_low, row.worst_high), high = std::max(row.worst_low, row.worst_high);
  const double a = f.inside(low), b = f.inside(high), middle = y + 0.9;
  pen.stroke(Path::segment({a, middle}, {b, middle}), {0.2, Ink::graphite, Dash::fine});
  const auto end = [&](double v, double x, double side) {
    const bool beyond = v < f.shown.from || v > f.shown.to;
    if (beyond) arrow_head(pen, {x, middle}, {x - side, middle}, 1.8, Ink::graphite);
    else pen.stroke(Path::segment({x, middle - 0.9}, {x, middle + 0.9}), {0.3});
  };
  end(low, a, -1);
  end(high, b, 1);
  const auto print = [&](double v) { return say({v, row.kind, row.gauge, {}}, style); };
  TextStyle text{.size = 2.4, .ink = Ink::grey};
  const std::string words = "worst case " + print(low) + " to " + print(high);
  text.wrap = width;
  text.max_lines = 1;
  TextStyle one = text;
  one.wrap = 0;
  const double w = std::min(measure(words, one).width + 0.1, width);
  text.wrap = w;
  pen.text({centred_within(0.5 * (a + b), w, 0, width), y + 2.2}, words, text);
}

constexpr double label_row = 3.9, mean_row = 5.2, worst_row = 5.9;

/// Draws a row in `width`; returns its height. `pen` null: only measures.
double panel(Pen* pen, const Spread& row, double width, double chart, const unit::Style& style) {
  double y = std::max(measure(row.title, title_style(width)).height, 3.9) + 1.4;
  Frame f;
  f.shown = shown_of(row);
  f.left = 1;
  f.width = width - 2;
  f.height = chart;
  f.base = y + label_row + chart + 1.5;
  double times = 1;
  const double seen = f.shown.bins ? seen_outside(row, f) : 0;
  if (seen > 0 && seen < 0.06 * chart) {
    times = std::max(2.0, nice_factor(0.25 * chart / seen));
    if (times > most_times) times = 1;
  }
  const bool worst = std::isfinite(row.worst_low) && std::isfinite(row.worst_high);
  if (pen) {
    state_fill(*pen, {0.3, 0.7, mark_width - 0.6, 2.7}, row.state);
    pen->text({mark_width + 2, 0}, row.title, title_style(width));
    limit_words(*pen, f, row, style, y, width);
    if (f.shown.bins) body(*pen, f, row, times);
    pen->stroke(Path::segment({0, f.base}, {width, f.base}), {0.25});
    for (const auto& limit : {f.shown.lower, f.shown.upper})
      if (limit)
        pen->stroke(Path::segment({f.inside(*limit), y + label_row}, {f.inside(*limit), f.base + 1.2}), {0.55});
    if (!f.shown.bins) {
      TextStyle open{.size = 2.8, .ink = Ink::grey, .align = Align::centre};
      open.halo = true;
      pen->label({width / 2, f.base - chart / 2},
                 std::isfinite(row.mean) ? "no parts were drawn: no picture" : "how it spreads is open", open);
    }
    if (f.shown.zone)
      pen->stroke(Path::segment({f.inside(0), y + label_row + 2}, {f.inside(0), f.base}), {0.25, Ink::grey});
    if (std::isfinite(row.mean)) {
      const double x = f.inside(row.mean);
      if (f.shown.bins) pen->stroke(Path::segment({x, f.base - chart}, {x, f.base}), {0.18, Ink::grey, Dash::chain});
      pen->fill(Path::polygon({{x, f.base + 0.3}, {x - 0.8, f.base + 1.8}, {x + 0.8, f.base + 1.8}}), Ink::graphite);
      TextStyle text = figure_text(2.4);
      const std::string words = "mean " + say({row.mean, row.kind, row.gauge, {}}, style);
      const double w = measure(words, text).width;
      pen->text({centred_within(x, w, 0, width), f.base + 1.8}, words, text);
    }
    if (worst) worst_case(*pen, f, row, style, f.base + mean_row, width);
  }
  y = f.base + mean_row + (worst ? worst_row : 0) + 0.6;
  const Words words = words_of(row, f, times);
  const auto line = [&](const std::string& text, const TextStyle& set) {
    if (text.empty()) return;
    if (pen) pen->text({0, y}, text, set);
    y += measure(text, set).height + 0.3;
  };
  line(words.share, share_style(row, width));
  line(words.rest, rest_style(width));
  line(words.remark, rest_style(width));
  return y;
}

double chart_height(double width) { return std::clamp(width * 0.245, 18.0, 46.0); }

}  // namespace

Drawing spread(const Spread& row, const Room& room, const unit::Style& style) {
  const auto shared = std::make_shared<const Spread>(row);
  const double width = room.width, chart = chart_height(width);
  return {width, panel(nullptr, row, width, chart, style), row.title,
          [=](Pen& pen) { panel(&pen, *shared, width, chart, style); }};
}

std::vector<Drawing> spreads(const SpreadsView& view, const Room& room, double first_height) {
  const auto shared = std::make_shared<const SpreadsView>(view);
  const std::size_t n = view.rows.size(), columns = n > 1 ? 2 : 1;
  const double width = columns == 2 ? (room.width - column_gap) / 2 : room.width, chart = chart_height(width);
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
    while (to < n) {
      double high = 0;
      for (std::size_t i = to; i < std::min(to + columns, n); ++i)
        high = std::max(high, panel(nullptr, view.rows[i], width, chart, view.style));
      if (y + high > most && to > from) break;
      tops.push_back(y);
      y += high + row_gap;
      to = std::min(to + columns, n);
    }
    const bool none = n == 0;
    Drawing page{room.width, none ? y + 6 : y - row_gap + 1, view.title.empty() ? "spread" : view.title, {}};
    page.draw = [=](Pen& pen) {
      heading(&pen, title, sentence, room.width);
      if (none) pen.text({0, y}, "no requirement was judged: open", small_text());
      for (std::size_t i = from; i < to; ++i)
        pen.moved({static_cast<double>((i - from) % columns) * (width + column_gap), tops[(i - from) / columns]},
                  [&] { panel(&pen, shared->rows[i], width, chart, shared->style); });
    };
    pages.push_back(page);
    from = to;
  } while (from < n);
  return pages;
}

}  // namespace fettle::drawings
