#include "calc/locating/loading.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/locating/pins.h"

namespace fettle::locating {

namespace {

constexpr double pi = 3.14159265358979323846;

/// Part frame into nest frame: turned over about X first or not, then turned by `turn`, then shifted.
struct Placed {
  bool over = false;
  double height = 0, turn = 0, x = 0, y = 0;
  Vec3 direction(Vec3 d) const {
    if (over) d = {d.x, -d.y, -d.z};
    const double c = std::cos(turn), s = std::sin(turn);
    return {c * d.x - s * d.y, s * d.x + c * d.y, d.z};
  }
  Vec3 operator()(Vec3 p) const { return direction(p) + Vec3{x, y, over ? height : 0}; }
};
Placed place(const LoadingInputs& in, std::size_t on_round, std::size_t on_relieved, bool over) {
  const NestPin &p = in.pins[0], &q = in.pins[1];
  const PartHole &a = in.holes[on_round], &b = in.holes[on_relieved];
  const double mirror = over ? -1 : 1;
  Placed out{over, in.part_height};
  out.turn = std::remainder(std::atan2(q.y - p.y, q.x - p.x) - std::atan2(mirror * (b.y - a.y), b.x - a.x), 2 * pi);
  const Vec3 at = out({a.x, a.y, 0});
  out.x = p.x - at.x;
  out.y = p.y - at.y;
  return out;
}

double spare_of(const LoadingInputs& in, std::size_t on_round, std::size_t on_relieved) {
  const PartHole &a = in.holes[on_round], &b = in.holes[on_relieved];
  PinPair pair;
  pair.round_hole = a.diameter;
  pair.round_pin = in.pins[0].diameter;
  pair.relieved_hole = b.diameter;
  pair.land = in.pins[1].diameter;
  pair.land_width = in.pins[1].land_width > 0 ? in.pins[1].land_width : pair.land;
  pair.part_span = std::hypot(b.x - a.x, b.y - a.y);
  pair.pallet_span = std::hypot(in.pins[1].x - in.pins[0].x, in.pins[1].y - in.pins[0].y);
  return spare(pair);
}

/// Features of the part as placed that have no like where the plan has one.
std::vector<WrongFeature> wrong_features(const LoadingInputs& in, const Placed& planned, const Placed& way) {
  std::vector<WrongFeature> out;
  for (const PartFeature& f : in.features) {
    const Vec3 p = planned(f.p), axis = planned.direction(f.axis);
    double nearest = std::numeric_limits<double>::infinity();
    for (const PartFeature& g : in.features) {
      if (g.like != f.like || !(std::fabs(g.size - f.size) <= in.same_within)) continue;
      const double along = frame::dot(axis, way.direction(g.axis)), length = frame::norm(f.axis) * frame::norm(g.axis);
      const bool same_axis = f.both_ways && g.both_ways ? std::fabs(along) >= 0.999 * length : along >= 0.999 * length;
      if (!same_axis || (frame::norm(g.axis) > 0) != (frame::norm(f.axis) > 0)) continue;
      nearest = std::min(nearest, frame::norm(way(g.p) - p));
    }
    if (nearest <= in.same_within) continue;
    out.push_back({f.name, std::isfinite(nearest) ? nearest : -1});
  }
  return out;
}

std::vector<std::string> posts_in_the_way(const LoadingInputs& in, const Placed& way) {
  std::vector<std::string> out;
  if (in.outline.size() < 3) return out;
  maths::Polygon outline;
  for (const maths::Point2 p : in.outline) {
    const Vec3 q = way({p.x, p.y, 0});
    outline.push_back({q.x, q.y});
  }
  outline = maths::convex_hull(outline);  // turned over, the points run the other way round
  for (const Post& post : in.posts)
    if (maths::contains(outline, {post.x, post.y}, post.radius)) out.push_back(post.name);
  return out;
}

std::string words_of(const LoadingWay& w, const LoadingInputs& in) {
  const double degrees = std::fabs(w.turn) * 180 / pi;
  std::string s = std::fabs(degrees - 180) < 0.5 ? "half a turn"
                  : degrees < 0.5                ? "not turned"
                                                 : fmt::format("turned {} deg", base::fixed(w.turn * 180 / pi, 1));
  if (w.turned_over) s = "turned over, " + s;
  s += fmt::format(" ({} on {}, {} on {})", in.holes[w.on_round].name, in.pins[0].name, in.holes[w.on_relieved].name,
                   in.pins[1].name);
  if (w.harmless) return s + ": goes on, harmless: every feature meets its like";
  std::vector<std::string> names;
  for (const WrongFeature& f : w.wrong)
    names.push_back(f.off < 0 ? f.name + " (no like)"
                              : fmt::format("{} ({} mm off)", f.name, base::fixed(f.off * 1e3, 2)));
  return s + ": goes on and is wrong at " + base::join(names, ", ");
}

Problems refusals(const LoadingInputs& in) {
  Problems out;
  if (in.pins.size() != 2) out.push_back(bad("loading needs two pins", std::to_string(in.pins.size()), "2"));
  for (const NestPin& p : in.pins)
    if (!std::isfinite(p.x + p.y) || !(p.diameter > 0) || !std::isfinite(p.diameter) || !(p.land_width >= 0))
      out.push_back(bad(p.name + ": place or size of the pin is impossible"));
  for (const PartHole& h : in.holes)
    if (!std::isfinite(h.x + h.y) || !(h.diameter > 0) || !std::isfinite(h.diameter))
      out.push_back(bad(h.name + ": place or size of the hole is impossible"));
  for (const PartFeature& f : in.features)
    if (!std::isfinite(f.p.x + f.p.y + f.p.z + f.axis.x + f.axis.y + f.axis.z + f.size))
      out.push_back(bad(f.name + ": place, axis or size is not a number"));
  for (const Post& p : in.posts)
    if (!std::isfinite(p.x + p.y) || !(p.radius >= 0) || !std::isfinite(p.radius))
      out.push_back(bad(p.name + ": place or size of the post is impossible"));
  if (in.planned_round >= in.holes.size() || in.planned_relieved >= in.holes.size() ||
      in.planned_round == in.planned_relieved)
    out.push_back(bad("the planned way needs two holes of the part"));
  if (!(in.same_within > 0) || !std::isfinite(in.same_within)) out.push_back(bad("same_within must be above zero"));
  if (!std::isfinite(in.part_height)) out.push_back(bad("the height of the part is not a number"));
  if (out.empty() && !(spare_of(in, in.planned_round, in.planned_relieved) >= 0))
    out.push_back(bad("the planned holes do not go onto the pins",
                      in.holes[in.planned_round].name + ", " + in.holes[in.planned_relieved].name));
  return out;
}

}  // namespace

Outcome<LoadingResult> loading(const LoadingInputs& in) {
  if (Problems problems = refusals(in); !problems.empty()) return problems;
  const Placed planned = place(in, in.planned_round, in.planned_relieved, false);
  LoadingResult r;
  r.safe = true;
  for (const bool over : {false, true}) {
    if (over && !in.may_lie_turned_over) continue;
    for (std::size_t i = 0; i < in.holes.size(); ++i)
      for (std::size_t j = 0; j < in.holes.size(); ++j) {
        if (i == j || (!over && i == in.planned_round && j == in.planned_relieved)) continue;
        const PartHole &a = in.holes[i], &b = in.holes[j];
        if (!(over ? a.above && b.above : a.below && b.below)) continue;
        LoadingWay w;
        w.on_round = i;
        w.on_relieved = j;
        w.turned_over = over;
        w.spare = spare_of(in, i, j);
        const Placed way = place(in, i, j, over);
        w.turn = std::remainder(way.turn - planned.turn, 2 * pi);
        w.blocked_by = posts_in_the_way(in, way);
        w.goes_on = w.spare >= 0 && w.blocked_by.empty();
        if (!w.goes_on) continue;
        w.wrong = wrong_features(in, planned, way);
        w.harmless = w.wrong.empty();
        w.words = words_of(w, in);
        r.safe = r.safe && w.harmless;
        r.ways.push_back(std::move(w));
      }
  }
  std::stable_sort(r.ways.begin(), r.ways.end(),
                   [](const LoadingWay& a, const LoadingWay& b) { return a.harmless < b.harmless; });
  r.only_planned = r.ways.empty();
  r.words = r.only_planned ? "goes on one way only"
            : r.safe       ? fmt::format("goes on {} ways, all harmless", r.ways.size() + 1)
                           : r.ways.front().words;
  return r;
}

}  // namespace fettle::locating
