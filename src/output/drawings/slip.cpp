// The worst case of one clamping from above: where the tool pushes, which contacts carry it, how the part would go.
#include <algorithm>
#include <cmath>
#include <memory>

#include "output/drawings/chart.h"
#include "output/drawings/figures.h"
#include "output/drawings/kit.h"
#include "output/drawings/mechanics.h"

namespace fettle::drawings {
namespace {

constexpr double air = 15, list_width = 74, list_gap = 6, row = 5.2, list_head = 6, mark = 4.4, longest = 13,
                 ghost = 4.5, most_tall = 78;

/// Contacts that lie on one another from above share a mark.
struct Spot {
  Point at;
  std::vector<std::size_t> numbers;
  double x = 0, y = 0;  ///< N
  bool slips = false;
};

struct Sheet {
  Scale scale;
  Box plan;  ///< mm, around the part
  std::vector<Spot> spots;
  double words = 0, list_x = 0, caption_y = 0, height = 0;
  double mm_per_newton = 0;
  std::string caption;
};

TextStyle spot_style() { return {.size = 2.3, .bold = true, .align = Align::centre}; }

/// "3", "3·8"; of many the first and how many more.
std::string numbers_of(const Spot& s) {
  if (s.numbers.size() > 3) return std::to_string(s.numbers[0]) + " +" + std::to_string(s.numbers.size() - 1);
  std::string text;
  for (std::size_t n : s.numbers) text += (text.empty() ? "" : "·") + std::to_string(n);
  return text;
}
double width_of(const Spot& s) { return std::max(mark, measure(numbers_of(s), spot_style()).width + 2); }

/// Puts marks together until none lies on another.
void join(std::vector<Spot>& spots) {
  for (bool again = true; again;) {
    again = false;
    for (std::size_t i = 0; i < spots.size() && !again; ++i)
      for (std::size_t j = i + 1; j < spots.size() && !again; ++j) {
        Spot &a = spots[i], &b = spots[j];
        if (std::fabs(a.at.y - b.at.y) >= 0.8 * mark) continue;
        if (std::fabs(a.at.x - b.at.x) >= 0.5 * (width_of(a) + width_of(b)) - 0.2 * mark) continue;
        a.numbers.insert(a.numbers.end(), b.numbers.begin(), b.numbers.end());
        a.x += b.x, a.y += b.y, a.slips = a.slips || b.slips;
        spots.erase(spots.begin() + static_cast<std::ptrdiff_t>(j));
        again = true;
      }
  }
}

bool number(Point p) { return std::isfinite(p.x) && std::isfinite(p.y); }

double sideways(double x, double y) {
  const double size = std::hypot(x, y);
  return std::isfinite(size) ? size : 0;
}

std::string share_of(double used) { return std::isfinite(used) ? say_share(used) : "open"; }

std::string caption_of(const SlipView& v, double mm_per_newton) {
  std::string text = v.caption;
  if (!(mm_per_newton > 0)) return text;
  const bool inch = v.style.system == unit::Style::System::inch;
  const double per = inch ? 4.4482216152605 : 1;
  const double round = nice_factor(10 / mm_per_newton / per), paper = round * per * mm_per_newton;
  text += (text.empty() ? "" : " ") + std::string("Arrows: ") +
          say({round * per, unit::Kind::force, false, ""}, v.style) + " is " +
          (inch ? say_tick(paper / 25.4, 0.01) + " in" : say_tick(paper, 0.1) + " mm") + " long on this sheet.";
  return text;
}

Sheet lay_out(const SlipView& v, const Room& room) {
  Sheet s;
  s.words = heading(nullptr, v.title, v.sentence, room.width);
  std::vector<Point> points;
  if (!v.outline.empty()) {
    const Box b = bounds(std::vector<Shape>{v.outline[0]});
    points = {{b.x, b.y}, {b.right(), b.bottom()}};
  }
  for (const SlipMark& c : v.contacts)
    if (number(c.at)) points.push_back(c.at);
  if (number(v.tool)) points.push_back(v.tool);
  const Box world = bounds(points);
  const double wide = room.width - list_width - list_gap - 2 * air;
  s.scale.mm_per_m = nice_scale(world.width, world.height, {0, 0, std::max(wide, 20.0), most_tall}, true);
  s.plan = {air, s.words + air, s.scale.length(world.width), s.scale.length(world.height)};
  s.scale.origin = {s.plan.x - s.scale.length(world.x), s.plan.y + s.scale.length(world.y + world.height)};
  s.list_x = room.width - list_width;
  double largest = sideways(v.tool_x, v.tool_y);
  for (std::size_t i = 0; i < v.contacts.size(); ++i) {
    const SlipMark& c = v.contacts[i];
    if (!number(c.at)) continue;
    const Point at = s.scale.at(c.at);
    const bool known = std::isfinite(c.push_x) && std::isfinite(c.push_y);
    s.spots.push_back({at, {i + 1}, known ? c.push_x : 0, known ? c.push_y : 0, c.slips});
  }
  join(s.spots);
  for (const Spot& spot : s.spots) largest = std::max(largest, sideways(spot.x, spot.y));
  s.mm_per_newton = largest > 0 ? longest / largest : 0;
  s.caption = caption_of(v, s.mm_per_newton);
  const double list = list_head + row * static_cast<double>(v.contacts.size()) + 14;
  s.caption_y = std::max(s.plan.bottom() + air, s.words + list);
  const TextStyle style{.size = Type::small, .ink = Ink::grey, .wrap = room.width, .max_lines = 4};
  s.height = s.caption_y + measure(s.caption, style).height + 1;
  return s;
}

/// The part a little further on its way: dashed, the same motion for every point, the farthest corner by a fixed
/// length.
void way(Pen& pen, const SlipView& v, const Sheet& s) {
  if (v.outline.empty() || !v.outline[0].points.empty()) return;
  const Box b = bounds(std::vector<Shape>{v.outline[0]});
  std::vector<Point> corners{{b.x, b.y}, {b.right(), b.y}, {b.right(), b.bottom()}, {b.x, b.bottom()}};
  const auto by = [&](Point p) {
    return Point{v.slide.x - v.turn * (p.y - v.about.y), v.slide.y + v.turn * (p.x - v.about.x)};
  };
  double most = 0;
  for (Point p : corners) most = std::max(most, sideways(by(p).x, by(p).y));
  if (!(most > 0)) return;
  const double k = ghost / most;
  std::vector<Point> moved;
  for (Point p : corners) {
    const Point at = s.scale.at(p), d = by(p);
    moved.push_back({at.x + k * d.x, at.y - k * d.y});
  }
  pen.stroke(Path::polygon(moved), {0.3, Ink::grey, Dash::dashed});
}

void push(Pen& pen, Point at, double x, double y, double mm_per_newton, const Stroke& stroke) {
  const double size = sideways(x, y) * mm_per_newton;
  if (!(size > 1.5)) return;
  arrow(pen, at, {at.x + x * mm_per_newton, at.y - y * mm_per_newton}, std::min(2.2, 0.6 * size), stroke);
}

void tool(Pen& pen, const SlipView& v, const Sheet& s) {
  if (!number(v.tool)) return;
  const Point at = s.scale.at(v.tool);
  const Ink ink = v.hand ? Ink::accent : Ink::graphite;
  const double size = sideways(v.tool_x, v.tool_y);
  if (size * s.mm_per_newton > 1.5) {
    // The arrow ends where the tool touches.
    const double f = s.mm_per_newton;
    arrow(pen, {at.x - v.tool_x * f, at.y + v.tool_y * f}, at, 3.2, {0.9, ink});
  }
  if (std::isfinite(v.tool_z) && std::fabs(v.tool_z) > 0.05 * size) {
    // As on every drawing: a dot comes towards the reader, a cross goes away.
    const double r = 1.7;
    pen.fill(Path::circle(at, 2 * r), Ink::ground);
    pen.stroke(Path::circle(at, 2 * r), {0.45, ink});
    if (v.tool_z > 0) pen.fill(Path::circle(at, 1.1), ink);
    else
      for (double d : {-1.0, 1.0})
        pen.stroke(Path::segment({at.x - 0.7 * r, at.y - d * 0.7 * r}, {at.x + 0.7 * r, at.y + d * 0.7 * r}),
                   {0.35, ink});
  }
}

void spots(Pen& pen, const Sheet& s, bool hand) {
  for (const Spot& spot : s.spots) push(pen, spot.at, spot.x, spot.y, s.mm_per_newton, {0.4, Ink::grey});
  for (const Spot& spot : s.spots) {
    const double w = width_of(spot);
    const Path body = Path::box({spot.at.x - 0.5 * w, spot.at.y - 0.5 * mark, w, mark}, 0.5 * mark);
    pen.fill(body, Ink::ground);
    pen.stroke(body, {spot.slips ? 0.6 : 0.3, spot.slips && hand ? Ink::accent : Ink::graphite,
                      spot.slips ? Dash::fine : Dash::solid});
    pen.label(spot.at, numbers_of(spot), spot_style());
  }
}

void share_bar(Pen& pen, const SlipMark& c, bool hand, const Box& track) {
  if (!c.carries) {
    pen.label({track.x, track.y + 0.5 * track.height}, "carries nothing", {.size = 2.4, .ink = Ink::grey});
    return;
  }
  const Ink ink = c.slips && hand ? Ink::accent : Ink::graphite;
  if (std::isfinite(c.used) && c.used > 0) {
    const Path body = Path::box({track.x, track.y, track.width * std::min(c.used, 1.0), track.height});
    if (c.slips) pen.hatch(body, hand ? Hatch::outside : Hatch::tight);
    else pen.fill(body, Ink::graphite);
  }
  pen.stroke(Path::box(track), {0.2, ink, std::isfinite(c.used) ? Dash::solid : Dash::dashed});
  pen.label({track.right() + 1.5, track.y + 0.5 * track.height}, share_of(c.used),
            {.size = 2.4, .bold = c.slips, .mono = true, .ink = ink});
}

/// With a minus that no line breaks after.
std::string unbroken(std::string text) {
  for (std::size_t at = text.find(" -"); at != std::string::npos; at = text.find(" -", at + 1))
    text.replace(at, 2, " −");
  return text;
}

void list(Pen& pen, const SlipView& v, const Sheet& s) {
  const double x = s.list_x, bar_x = x + 46, bar_width = 16;
  double y = s.words;
  const TextStyle head{.size = 2.4, .ink = Ink::grey};
  TextStyle right = head;
  right.align = Align::right;
  pen.text({x, y}, "contact", head);
  pen.text({x + 43, y}, "clamped by", right);
  pen.text({bar_x, y}, "friction used", head);
  y += list_head - 1;
  for (std::size_t i = 0; i < v.contacts.size(); ++i) {
    const SlipMark& c = v.contacts[i];
    const double middle = y + 0.5 * row;
    pen.label({x, middle}, std::to_string(i + 1), {.size = 2.5, .bold = true});
    pen.label({x + 5.5, middle}, c.name, {.size = 2.6, .wrap = 20});
    TextStyle figure = figure_text(2.4);
    figure.align = Align::right;
    pen.label({x + 43, middle}, c.preload > 0 ? say({c.preload, unit::Kind::force, false, ""}, v.style) : "—", figure);
    share_bar(pen, c, v.hand, {bar_x, middle - 1.4, bar_width, 2.8});
    y += row;
  }
  y += 2;
  const TextStyle words{
      .size = 3, .bold = v.hand, .ink = v.hand ? Ink::accent : Ink::graphite, .wrap = list_width, .max_lines = 3};
  if (!v.mechanism.empty()) pen.text({x, y}, "It would go so: " + unbroken(v.mechanism) + ".", words);
}

void axes(Pen& pen, const SlipView& v, const Sheet& s) {
  if (v.right.empty() || v.up.empty()) return;
  const Point o{3.5, s.caption_y - 4};
  arrow(pen, o, {o.x + 8, o.y}, 1.6, {0.25});
  arrow(pen, o, {o.x, o.y - 8}, 1.6, {0.25});
  pen.label({o.x + 9, o.y}, v.right, {.size = 2.5});
  pen.label({o.x, o.y - 10}, v.up, {.size = 2.5, .align = Align::centre});
}

void draw(Pen& pen, const SlipView& v, const Sheet& s, const Room& room) {
  heading(&pen, v.title, v.sentence, room.width);
  if (v.contacts.empty()) {
    pen.text({0, s.words}, "open", small_text());
    return;
  }
  way(pen, v, s);
  for (std::size_t i = 0; i < v.outline.size(); ++i)
    pen.stroke(to_path(v.outline[i], s.scale), {i == 0 ? 0.5 : 0.18, i == 0 ? Ink::graphite : Ink::grey});
  spots(pen, s, v.hand);
  tool(pen, v, s);
  axes(pen, v, s);
  list(pen, v, s);
  pen.text({0, s.caption_y}, s.caption, {.size = Type::small, .ink = Ink::grey, .wrap = room.width, .max_lines = 4});
}

}  // namespace

Drawing slip(const SlipView& view, const Room& room) {
  const auto v = std::make_shared<const SlipView>(view);
  Sheet s = lay_out(*v, room);
  if (v->contacts.empty()) s.height = s.words + 6;
  return {room.width, s.height, v->title, [v, s, room](Pen& pen) { draw(pen, *v, s, room); }};
}

}  // namespace fettle::drawings
