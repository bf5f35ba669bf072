#include "calc/reach/reach.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fettle::reach {

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double inf = std::numeric_limits<double>::infinity();
constexpr double last_bit = 1e-12;
constexpr double longest = 2, thickest = 2;

struct Refusals {
  Problems problems;
  void check(double x, double low, double high, const std::string& what, const char* bounds) {
    if (!(x >= low && x <= high)) problems.push_back(bad(what + " is out of bounds", {}, bounds));
  }
  void check(bool good, const char* what) {
    if (!good) problems.push_back(bad(what));
  }
};

void refuse(Refusals& r, const Tool& t) {
  r.check(t.diameter, 1e-5, thickest, "diameter of the tool", "0.01 mm to 2 m");
  r.check(t.cutting, 0, longest, "length of what cuts", "0 to 2 m");
  r.check(t.stick_out, 1e-5, longest, "stick-out", "0.01 mm to 2 m");
  r.check(t.holder, 1e-5, thickest, "diameter of the holder", "0.01 mm to 2 m");
  if (t.neck) r.check(*t.neck, 1e-5, t.diameter, "diameter of the neck", "more than 0, not thicker than what cuts");
  if (t.neck_length) r.check(*t.neck_length, 0, longest, "length of the neck", "0 to 2 m");
  r.check(!(t.cutting > t.stick_out), "what cuts is longer than the stick-out");
}

Room room_of(const Tool& tool, const Stretch& s, const Obstacle& o) {
  Room r{s.name, o.name, o.distance - s.radius, std::max(s.from - o.high, o.low - s.to), 0, false};
  r.by_height = r.above > r.sideways;
  r.room = std::max(r.above, r.sideways);
  // The wall that is cut: what is no thicker than the cutter follows the cutter's own surface.
  if (o.cut && s.radius <= 0.5 * tool.diameter + last_bit) r.room = inf;
  return r;
}

Result rooms_of(const Inputs& in) {
  Result out;
  for (const Stretch& s : stretches(in.tool))
    for (const Obstacle& o : in.around) {
      const Room r = room_of(in.tool, s, o);
      if (std::isfinite(r.room)) out.rooms.push_back(r);
    }
  std::stable_sort(out.rooms.begin(), out.rooms.end(), [](const Room& a, const Room& b) { return a.room < b.room; });
  out.least = out.rooms.empty() ? inf : out.rooms.front().room;
  return out;
}

Problems refusals(const Inputs& in) {
  Refusals r;
  refuse(r, in.tool);
  for (const Obstacle& o : in.around) {
    r.check(o.distance, 0, 10, "distance of " + o.name, "0 to 10 m");
    if (!(o.low <= o.high && std::fabs(o.low) <= 10 && std::fabs(o.high) <= 10))
      r.problems.push_back(bad("heights of " + o.name + " are reversed or out of bounds", {}, "-10 to 10 m"));
  }
  return r.problems;
}

Problems refusals(const Groove& g, const Tool& t) {
  Refusals r;
  refuse(r, t);
  r.check(t.neck.has_value(), "a cutter for grooves needs the diameter of its neck");
  r.check(t.cutting > 0, "a cutter for grooves needs its width");
  r.check(g.bore, 1e-5, thickest, "diameter of the bore", "0.01 mm to 2 m");
  r.check(g.groove > g.bore && g.groove <= 2 * thickest, "the groove is not larger than its bore");
  r.check(g.width, 1e-5, longest, "width of the groove", "0.01 mm to 2 m");
  r.check(g.depth, 1e-5, longest, "depth of the groove in its bore", "0.01 mm to 2 m");
  r.check(g.floor, 0, longest, "room above the floor", "0 to 2 m");
  r.check(g.below, 0, longest, "what stands out under the cutter", "0 to 2 m");
  r.check(g.edge_feed, 0, 10, "feed at the edge", "0 to 10 m/s");
  r.check(g.force, 0, 1e6, "force on the cutter", "0 to 1e6 N");
  r.check(g.modulus, 1e9, 1e12, "modulus of the neck", "1 to 1000 GPa");
  return r.problems;
}

}  // namespace

std::vector<Stretch> stretches(const Tool& t) {
  std::vector<Stretch> out;
  double at = 0;
  const auto add = [&](const char* name, double to, double diameter) {
    if (to > at + last_bit) out.push_back({name, at, to, 0.5 * diameter});
    at = std::max(at, to);
  };
  add("cutter", t.cutting, t.diameter);
  if (t.neck) add("neck", t.neck_length ? std::min(t.cutting + *t.neck_length, t.stick_out) : t.stick_out, *t.neck);
  // Nobody says how thick the shank is behind a neck: no thicker than what holds it.
  add("shank", t.stick_out, t.neck ? std::max(t.holder, *t.neck) : t.diameter);
  out.push_back({"holder", t.stick_out, inf, 0.5 * t.holder});
  return out;
}

Outcome<Result> solve(const Inputs& in) {
  const Problems problems = refusals(in);
  if (!problems.empty()) return problems;
  return rooms_of(in);
}

std::optional<double> stick_out_needed(const Inputs& in, double clearance) {
  Inputs at = in;
  const auto fits = [&](double out) {
    at.tool.stick_out = out;
    return rooms_of(at).least >= clearance - last_bit;
  };
  double low = std::max(in.tool.cutting, 1e-5), high = longest;
  if (fits(low)) return low;
  if (!fits(high)) return std::nullopt;
  for (int i = 0; i < 60; ++i) {
    const double x = 0.5 * (low + high);
    (fits(x) ? high : low) = x;
  }
  return high;
}

std::optional<double> holder_allowed(const Inputs& in, double clearance) {
  Inputs at = in;
  const auto fits = [&](double thick) {
    at.tool.holder = thick;
    return rooms_of(at).least >= clearance - last_bit;
  };
  double low = in.tool.diameter, high = thickest;
  if (!fits(low)) return std::nullopt;
  if (fits(high)) return high;
  for (int i = 0; i < 60; ++i) {
    const double x = 0.5 * (low + high);
    (fits(x) ? low : high) = x;
  }
  return low;
}

Outcome<GrooveResult> solve_groove(const Groove& g, const Tool& t) {
  const Problems problems = refusals(g, t);
  if (!problems.empty()) return problems;
  GrooveResult r;
  const double neck = *t.neck, step = 0.5 * (g.groove - g.bore);
  r.path_radius = 0.5 * (g.groove - t.diameter);
  r.enters = 0.5 * (g.bore - t.diameter);
  r.neck_room = 0.5 * (t.diameter - neck) - step;
  r.under = g.open_below ? inf : g.floor - g.below;
  const double neck_ends = t.cutting + (t.neck_length ? *t.neck_length : t.stick_out - t.cutting);
  r.neck_spare = std::min(neck_ends, t.stick_out) - g.depth;
  // The holder moves with the tool's middle: it stays above the bore, or it goes round in it.
  r.holder_room = std::max(t.stick_out - g.depth, 0.5 * (g.bore - t.holder) - r.path_radius);
  r.width_room = g.width - t.cutting;
  const std::pair<double, const char*> all[] = {{r.enters, "cutter in the bore as it goes down"},
                                                {r.neck_room, "neck against the bore's edge"},
                                                {r.under, "cutter above the floor"},
                                                {r.neck_spare, "neck longer than the groove is deep"},
                                                {r.holder_room, "holder against the face"}};
  r.least = inf;
  for (const auto& [room, words] : all)
    if (room < r.least) r.least = room, r.tightest = words;
  r.passes = r.width_room >= 0 ? static_cast<int>(std::ceil(g.width / t.cutting - 1e-9)) : 0;
  r.middle_feed = g.edge_feed * 2 * r.path_radius / g.groove;
  const double rb = 0.5 * g.bore, rc = 0.5 * t.diameter, e = r.path_radius;
  const double c = e > 0 ? (rb * rb - rc * rc - e * e) / (2 * e * rc) : -1;
  r.engaged = 2 * std::acos(std::clamp(c, -1.0, 1.0));
  const double length = std::min(t.stick_out, neck_ends) - 0.5 * t.cutting;
  r.bend = g.force * length * length * length / (3 * g.modulus * pi * neck * neck * neck * neck / 64);
  return r;
}

}  // namespace fettle::reach
