#include "calc/locating/rock.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace fettle::locating {

namespace {

using Three = std::array<std::size_t, 3>;

/// z = a + b x + c y through three rests; `flat` when they stand on a line.
struct Plane {
  double a = 0, b = 0, c = 0;
  bool flat = false;
  double at(double x, double y) const { return a + b * x + c * y; }
};
Plane plane_through(const std::vector<RestPoint>& r, const Three& t) {
  const RestPoint &p = r[t[0]], &q = r[t[1]], &s = r[t[2]];
  const double x1 = q.x - p.x, y1 = q.y - p.y, z1 = q.deviation - p.deviation;
  const double x2 = s.x - p.x, y2 = s.y - p.y, z2 = s.deviation - p.deviation;
  const double d = x1 * y2 - x2 * y1;
  Plane out;
  const double size = std::max(std::hypot(x1, y1), std::hypot(x2, y2));
  if (!(std::fabs(d) > 1e-9 * size * size)) {
    out.flat = true;
    return out;
  }
  out.b = (z1 * y2 - z2 * y1) / d;
  out.c = (x1 * z2 - x2 * z1) / d;
  out.a = p.deviation - out.b * p.x - out.c * p.y;
  return out;
}
bool inside(const std::vector<RestPoint>& r, const Three& t, double x, double y) {
  const auto side = [&](std::size_t i, std::size_t j) {
    const double dx = r[t[j]].x - r[t[i]].x, dy = r[t[j]].y - r[t[i]].y;
    return (dx * (y - r[t[i]].y) - dy * (x - r[t[i]].x)) / std::hypot(dx, dy);
  };
  const double a = side(0, 1), b = side(1, 2), c = side(2, 0);
  const double slack = 1e-12;
  return (a >= -slack && b >= -slack && c >= -slack) || (a <= slack && b <= slack && c <= slack);
}

/// A stance: three rests carry, no other reaches above the part's plane.
struct Stance {
  Three carry{};
  Plane plane;
};
std::vector<Stance> stances(const std::vector<RestPoint>& r) {
  std::vector<Stance> out;
  double spread = 0;
  for (const RestPoint& p : r) spread = std::max(spread, std::fabs(p.deviation));
  const double slack = 1e-12 + 1e-9 * spread;
  for (std::size_t i = 0; i < r.size(); ++i)
    for (std::size_t j = i + 1; j < r.size(); ++j)
      for (std::size_t k = j + 1; k < r.size(); ++k) {
        const Stance s{{i, j, k}, plane_through(r, {i, j, k})};
        if (s.plane.flat) continue;
        const bool stands = std::all_of(
            r.begin(), r.end(), [&](const RestPoint& p) { return p.deviation <= s.plane.at(p.x, p.y) + slack; });
        if (stands) out.push_back(s);
      }
  return out;
}

Problems refusals(const std::vector<RestPoint>& rests) {
  Problems out;
  if (rests.size() < 3)
    out.push_back(bad("a part needs three rests at least", std::to_string(rests.size()), "3 or more"));
  if (rests.size() > 64) out.push_back(bad("too many rests", std::to_string(rests.size()), "at most 64"));
  for (const RestPoint& r : rests)
    if (!std::isfinite(r.x) || !std::isfinite(r.y) || !std::isfinite(r.deviation))
      out.push_back(bad("rest " + r.name + ": a coordinate is not a number"));
  return out;
}
std::string name_of(const std::vector<RestPoint>& rests, std::size_t i) {
  return rests[i].name.empty() ? fmt::format("rest {}", i + 1) : rests[i].name;
}

}  // namespace

Outcome<RockResult> rock(const RockInputs& in) {
  Problems problems = refusals(in.rests);
  if (!std::isfinite(in.load_x) || !std::isfinite(in.load_y))
    problems.push_back(bad("the place of the load is not a number"));
  if (!problems.empty()) return problems;
  const std::vector<Stance> all = stances(in.rests);
  if (all.empty()) return bad("the rests stand on one line: the part cannot stand on them");
  RockResult r;
  const auto own = std::find_if(all.begin(), all.end(),
                                [&](const Stance& s) { return inside(in.rests, s.carry, in.load_x, in.load_y); });
  r.tips = own == all.end();
  if (r.tips) {
    r.gap.assign(in.rests.size(), 0);
    r.words = "the load lies outside the rests: the part tips";
    return r;
  }
  r.carry = own->carry;
  r.tilt_x = own->plane.b;
  r.tilt_y = own->plane.c;
  r.height = own->plane.at(in.load_x, in.load_y);
  for (const RestPoint& p : in.rests) r.gap.push_back(std::max(0.0, own->plane.at(p.x, p.y) - p.deviation));
  for (const std::size_t i : r.carry) r.gap[i] = 0;
  r.widest = static_cast<std::size_t>(std::max_element(r.gap.begin(), r.gap.end()) - r.gap.begin());
  r.largest_gap = r.gap[r.widest];
  for (const Stance& s : all)
    r.rock_angle = std::max(r.rock_angle, std::atan(std::hypot(s.plane.b - r.tilt_x, s.plane.c - r.tilt_y)));
  r.words = fmt::format("stands on {}, {} and {}", name_of(in.rests, r.carry[0]), name_of(in.rests, r.carry[1]),
                        name_of(in.rests, r.carry[2]));
  if (r.largest_gap > 0)
    r.words +=
        fmt::format("; {} is open by {} mm, the part rocks by {} deg", name_of(in.rests, r.widest),
                    base::fixed(r.largest_gap * 1e3, 3), base::fixed(r.rock_angle * 180 / 3.14159265358979323846, 3));
  return r;
}

Outcome<double> gap_spread(const std::vector<RestPoint>& four, double s) {
  if (Problems problems = refusals(four); !problems.empty()) return problems;
  if (four.size() != 4) return bad("needs exactly four rests", std::to_string(four.size()), "4");
  if (!(s >= 0) || !std::isfinite(s)) return bad("the spread is impossible", base::shortest(s), "0 or more");
  // The fourth height is a weighted sum of the other three: z4 - (w1 z1 + w2 z2 + w3 z3) is the gap, sum w = 1.
  double sum = 0;
  std::vector<RestPoint> r = four;
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t k = 0; k < 4; ++k) r[k].deviation = k == i ? 1 : 0;
    const Plane p = plane_through(r, {0, 1, 2});
    if (p.flat) return bad("the first three rests stand on one line");
    const double w = p.at(r[3].x, r[3].y);
    sum += w * w;
  }
  return s * std::sqrt(1 + sum);
}

}  // namespace fettle::locating
