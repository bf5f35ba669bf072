#include "calc/tolerance/position.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "maths/simplex.h"
#include "maths/statistics.h"

namespace fettle::tolerance {

namespace {

using std::size_t;
const double pi = std::acos(-1.0);

void refuse(Problems& p, bool good, const std::string& what, double found, const char* expected) {
  if (!good) p.push_back(bad(what, base::shortest(found), expected));
}

}  // namespace

Outcome<PositionResult> position(const PositionInputs& in) {
  Problems problems;
  refuse(problems, std::isfinite(in.least_size) && in.least_size > 0, "least size", in.least_size, "above 0");
  refuse(problems, std::isfinite(in.most_size) && in.most_size >= in.least_size, "largest size", in.most_size,
         "not below the least size");
  refuse(problems, std::isfinite(in.actual_size) && in.actual_size > 0, "measured size", in.actual_size, "above 0");
  refuse(problems, std::isfinite(in.zone) && in.zone >= 0, "zone", in.zone, "0 or more");
  refuse(problems, std::isfinite(in.dx), "dx", in.dx, "a length");
  refuse(problems, std::isfinite(in.dy), "dy", in.dy, "a length");
  if (!problems.empty()) return problems;
  PositionResult r;
  // Maximum material of a hole and least material of a pin are its least size; the other way round for the others.
  const bool from_least = in.hole == (in.material == Material::maximum);
  const double grown = from_least ? in.actual_size - in.least_size : in.most_size - in.actual_size;
  r.found = 2 * std::hypot(in.dx, in.dy);
  r.size_inside = in.actual_size >= in.least_size && in.actual_size <= in.most_size;
  // A size beyond its far limit is a bad size, not a larger bonus.
  r.bonus = in.material == Material::regardless ? 0 : std::clamp(grown, 0.0, in.most_size - in.least_size);
  r.allowed = in.zone + r.bonus;
  r.margin = r.allowed - r.found;
  const bool least = in.material == Material::least;
  r.virtual_size = in.hole ? (least ? in.most_size + in.zone : in.least_size - in.zone)
                           : (least ? in.least_size - in.zone : in.most_size + in.zone);
  r.inside = r.size_inside && r.margin >= 0;
  return r;
}

namespace {

struct Move {
  double x = 0, y = 0, turn = 0;
};
struct Left {
  double margin = std::numeric_limits<double>::infinity();
  size_t worst = 0;
};
std::array<double, 2> off(const PatternInputs& in, const PatternHole& h, const Move& m) {
  const double rx = h.x - in.datum_x, ry = h.y - in.datum_y;
  return {h.dx - m.x + m.turn * ry, h.dy - m.y - m.turn * rx};
}
Left left_with(const PatternInputs& in, const Move& m) {
  Left out;
  for (size_t i = 0; i < in.holes.size(); ++i) {
    const auto d = off(in, in.holes[i], m);
    const double margin = in.holes[i].allowed - 2 * std::hypot(d[0], d[1]);
    if (margin < out.margin) out = {margin, i};
  }
  return out;
}

}  // namespace

Outcome<PatternResult> pattern(const PatternInputs& in) {
  Problems problems;
  if (in.holes.empty()) problems.push_back(bad("a pattern needs at least one hole"));
  for (const PatternHole& h : in.holes) {
    refuse(problems, std::isfinite(h.x) && std::isfinite(h.y), h.name + ": place", h.x, "two lengths");
    refuse(problems, std::isfinite(h.dx) && std::isfinite(h.dy), h.name + ": measured", h.dx, "two lengths");
    refuse(problems, std::isfinite(h.allowed) && h.allowed >= 0, h.name + ": allowed", h.allowed, "0 or more");
  }
  refuse(problems, std::isfinite(in.shift) && in.shift >= 0, "shift of the datum", in.shift, "0 or more");
  refuse(problems, std::isfinite(in.turn) && in.turn >= 0 && in.turn < 0.1, "turn of the datum", in.turn,
         "0 to 0.1 rad");
  refuse(problems, std::isfinite(in.datum_x) && std::isfinite(in.datum_y), "datum", in.datum_x, "two lengths");
  if (!problems.empty()) return problems;

  double unit = in.shift, arm = 0;
  for (const PatternHole& h : in.holes) {
    unit = std::max({unit, std::fabs(h.dx), std::fabs(h.dy), h.allowed});
    arm = std::max(arm, std::hypot(h.x - in.datum_x, h.y - in.datum_y));
  }
  if (!(unit > 0)) unit = 1e-6;
  if (!(arm > 0)) arm = 1;

  // Columns in units: shift x, shift y, turn times arm, margin.
  maths::LinearProgram p;
  p.maximise = true;
  p.cost = {0, 0, 0, 1};
  const double most_shift = in.shift / 2 / unit, most_turn = in.turn * arm / unit;
  p.lower = {-most_shift, -most_shift, -most_turn, -maths::LinearProgram::infinity};
  p.upper = {most_shift, most_shift, most_turn, maths::LinearProgram::infinity};
  const auto hole_row = [&](const PatternHole& h, double ux, double uy) {
    // margin + 2 u . (d - shift - turn x r) <= allowed
    const double rx = (h.x - in.datum_x) / arm, ry = (h.y - in.datum_y) / arm;
    p.rows.push_back({{-2 * ux, -2 * uy, 2 * (ux * ry - uy * rx), 1},
                      maths::LinearRow::Sense::at_most,
                      (h.allowed - 2 * (ux * h.dx + uy * h.dy)) / unit});
  };
  const auto disc_row = [&](double ux, double uy) {
    p.rows.push_back({{ux, uy, 0, 0}, maths::LinearRow::Sense::at_most, most_shift});
  };
  for (int k = 0; k < 12; ++k) {
    const double a = 2 * pi * k / 12;
    for (const PatternHole& h : in.holes) hole_row(h, std::cos(a), std::sin(a));
    disc_row(std::cos(a), std::sin(a));
  }
  PatternResult r;
  r.margin_unmoved = left_with(in, {}).margin;
  Move best;
  double reached = r.margin_unmoved, bound = maths::LinearProgram::infinity;
  for (int pass = 0; pass < 200; ++pass) {
    const maths::LinearAnswer x = maths::solve(p);
    if (!x.ok()) return ours("the best shift of a pattern was not found: " + x.why);
    bound = std::min(bound, x.objective * unit);
    Move m{x.x[0] * unit, x.x[1] * unit, x.x[2] * unit / arm};
    const double length = std::hypot(m.x, m.y);
    if (length > in.shift / 2) {  // back onto the disc
      disc_row(m.x / length, m.y / length);
      m.x *= in.shift / 2 / length;
      m.y *= in.shift / 2 / length;
    }
    const Left now = left_with(in, m);
    if (now.margin > reached) {
      reached = now.margin;
      best = m;
    }
    if (bound - reached < 1e-7 * unit) break;
    for (const PatternHole& h : in.holes) {
      const auto d = off(in, h, m);
      const double n = std::hypot(d[0], d[1]);
      if (n > 0 && h.allowed - 2 * n < bound) hole_row(h, d[0] / n, d[1] / n);
    }
  }
  r.gap = std::max(0.0, bound - reached);
  if (!(r.gap < 1e-5 * unit)) return ours("the best shift of a pattern was not proved");
  const Left l = left_with(in, best);
  r.margin = l.margin;
  r.worst = in.holes[l.worst].name;
  r.x = best.x;
  r.y = best.y;
  r.turn = best.turn;
  r.inside = r.margin >= 0;
  return r;
}

double round_zone_around_square(double half_side) { return 2 * std::sqrt(2.0) * half_side; }
double square_in_round_zone(double zone) { return zone / (2 * std::sqrt(2.0)); }
double round_over_square() { return pi / 2; }

namespace {

/// Nodes and weights of Gauss and Legendre on -1..1, sixteen points, by Newton's iteration.
struct Gauss {
  std::array<double, 16> x{}, w{};
  Gauss() {
    constexpr int n = 16;
    for (int i = 0; i < n; ++i) {
      double z = std::cos(pi * (i + 0.75) / (n + 0.5)), slope = 1;
      for (int k = 0; k < 100; ++k) {
        double p = 1, before = 0;
        for (int j = 0; j < n; ++j) {
          const double older = before;
          before = p;
          p = ((2 * j + 1) * z * before - j * older) / (j + 1);
        }
        slope = n * (z * p - before) / (z * z - 1);
        const double step = p / slope;
        z -= step;
        if (std::fabs(step) < 1e-16) break;
      }
      x[static_cast<size_t>(i)] = z;
      w[static_cast<size_t>(i)] = 2 / ((1 - z * z) * slope * slope);
    }
  }
};

/// Along the principal axes: shares inside and outside a disc of radius R; s1 <= s2.
struct Disc {
  double radius, s1, s2, b1, b2;
  double in_strip(double h) const {  // second coordinate within +-h
    if (s2 == 0) return std::fabs(b2) <= h ? 1 : 0;
    return maths::normal_cdf((h - b2) / s2) - maths::normal_cdf((-h - b2) / s2);
  }
  double out_of_strip(double h) const {
    if (s2 == 0) return std::fabs(b2) <= h ? 0 : 1;
    return maths::normal_cdf((b2 - h) / s2) + maths::normal_cdf((-h - b2) / s2);
  }
};

std::array<double, 2> integrate(const Disc& d, int panels) {
  static const Gauss gauss;
  // x = R sin a takes the corner out of the circle's ends.
  const double low = std::asin(std::clamp((d.b1 - 12 * d.s1) / d.radius, -1.0, 1.0));
  const double high = std::asin(std::clamp((d.b1 + 12 * d.s1) / d.radius, -1.0, 1.0));
  double inside = 0, outside = 0;
  for (int k = 0; k < panels; ++k) {
    const double a = low + (high - low) * k / panels, half = (high - low) / panels / 2;
    for (size_t i = 0; i < gauss.x.size(); ++i) {
      const double angle = a + half * (1 + gauss.x[i]), x = d.radius * std::sin(angle), h = d.radius * std::cos(angle);
      const double z = (x - d.b1) / d.s1;
      const double weight = gauss.w[i] * half * h * std::exp(-0.5 * z * z) / (d.s1 * std::sqrt(2 * pi));
      inside += weight * d.in_strip(h);
      outside += weight * d.out_of_strip(h);
    }
  }
  outside += maths::normal_cdf((d.b1 - d.radius) / d.s1) + maths::normal_cdf((-d.radius - d.b1) / d.s1);
  return {inside, outside};
}

}  // namespace

Outcome<ZoneShare> round_zone(const RoundZone& in) {
  Problems problems;
  refuse(problems, std::isfinite(in.zone) && in.zone > 0, "zone", in.zone, "above 0");
  refuse(problems, std::isfinite(in.s_x) && in.s_x >= 0, "spread in x", in.s_x, "0 or more");
  refuse(problems, std::isfinite(in.s_y) && in.s_y >= 0, "spread in y", in.s_y, "0 or more");
  refuse(problems, std::isfinite(in.bias_x), "mean in x", in.bias_x, "a length");
  refuse(problems, std::isfinite(in.bias_y), "mean in y", in.bias_y, "a length");
  refuse(problems, in.correlation >= -1 && in.correlation <= 1, "correlation", in.correlation, "-1 to 1");
  if (!problems.empty()) return problems;
  const double radius = in.zone / 2;
  if (in.s_x == in.s_y && in.correlation == 0 && in.bias_x == 0 && in.bias_y == 0 && in.s_x > 0) {
    const double e = -radius * radius / (2 * in.s_x * in.s_x);
    return ZoneShare{-std::expm1(e), std::exp(e), 0};
  }
  // Principal axes of the spread, the narrow one first.
  const double xx = in.s_x * in.s_x, yy = in.s_y * in.s_y, xy = in.correlation * in.s_x * in.s_y;
  const double angle = 0.5 * std::atan2(2 * xy, xx - yy);  // of the wide axis
  const double root = std::hypot((xx - yy) / 2, xy);
  const double wide = std::sqrt((xx + yy) / 2 + root);
  const double product = std::max(0.0, xx * yy * (1 - in.correlation * in.correlation));
  const double narrow = wide > 0 ? std::sqrt(product) / wide : 0;  // from the determinant: no digits lost
  const double along = in.bias_x * std::cos(angle) + in.bias_y * std::sin(angle);
  const double across = -in.bias_x * std::sin(angle) + in.bias_y * std::cos(angle);
  const Disc d{radius, narrow, wide, across, along};
  if (!(narrow > 1e-9 * radius)) {  // all on one line
    const double h2 = radius * radius - across * across;
    if (!(h2 >= 0)) return ZoneShare{0, 1, 0};
    const double h = std::sqrt(h2);
    return ZoneShare{d.in_strip(h), d.out_of_strip(h), narrow > 0 ? 1e-8 : 0};
  }
  std::array<double, 2> coarse = integrate(d, 4), fine = coarse;
  double error = 1;
  for (int panels = 8; panels <= 4096; panels *= 2) {
    fine = integrate(d, panels);
    error = std::max(std::fabs(fine[0] - coarse[0]), std::fabs(fine[1] - coarse[1]));
    if (error < 1e-15) break;
    coarse = fine;
    if (error < 1e-13 && panels >= 64) break;
  }
  if (!(error < 1e-9)) return ours("the share in a round zone did not settle");
  return ZoneShare{std::clamp(fine[0], 0.0, 1.0), std::clamp(fine[1], 0.0, 1.0), error};
}

}  // namespace fettle::tolerance
