#include "calc/removal/removal.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace fettle::removal {

using frame::Vec3;

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr int samples = 90;         // of the front half of the rim
constexpr std::int32_t skin = 100;  // grains: metal thinner than that over the tip is not "in metal"

/// Sums of a sweep, in grains.
struct Taken {
  std::int64_t sum = 0;
  std::int32_t deepest = 0;
  std::int64_t cells = 0;
  bool beyond = false;
};

/// The middle loop: whole numbers only, so that any order of the sum gives the same. A block of fixed length becomes
/// one run of vector instructions; most blocks lie under the cutter already and are only looked at.
template <int count>
void lower_block(std::int32_t* top, std::int32_t z, Taken& t) {
  std::int32_t signs = 0;
  for (int i = 0; i < count; ++i) signs |= z - top[i];
  if (signs >= 0) return;
  std::int32_t sum = 0, deepest = 0, cells = 0;
  for (int i = 0; i < count; ++i) {
    const std::int32_t over = top[i] - z;
    const std::int32_t d = over > 0 ? over : 0;
    sum += d;
    deepest = d > deepest ? d : deepest;
    cells += over > 0 ? 1 : 0;
    top[i] -= d;
  }
  t.sum += sum;
  t.deepest = std::max(t.deepest, deepest);
  t.cells += cells;
}
void lower(std::int32_t* top, int n, std::int32_t z, Taken& t) {
  for (; n >= 16; top += 16, n -= 16) lower_block<16>(top, z, t);
  for (; n > 0; ++top, --n) lower_block<1>(top, z, t);
}

std::int32_t highest(const std::int32_t* top, int n) {
  std::int32_t most = INT32_MIN;
  for (int i = 0; i < n; ++i) most = top[i] > most ? top[i] : most;
  return most;
}

/// One straight way of the tip, and what it covers.
struct Way {
  Vec3 start, end;
  double length = 0, ux = 1, uy = 0;  // across the ground
  double low = 0;                     // z of the lower end
  bool level = true;
  explicit Way(Vec3 a, Vec3 b) : start(a), end(b) {
    const double dx = b.x - a.x, dy = b.y - a.y;
    length = std::sqrt(dx * dx + dy * dy);
    low = std::min(a.z, b.z);
    if (length > 1e-9) ux = dx / length, uy = dy / length;
    else length = 0;
    level = a.z == b.z || length == 0;
  }
};

/// Columns [first, last] of one row whose middles lie within `radius` of the way.
struct Span {
  int first = 0, last = -1;
};
Span span_of(const Field& f, const Way& w, double radius, double y) {
  double low = INFINITY, high = -INFINITY;
  const auto disc = [&](Vec3 c) {
    const double dy = y - c.y, q = radius * radius - dy * dy;
    if (!(q >= 0)) return;
    const double half = std::sqrt(q);
    low = std::min(low, c.x - half);
    high = std::max(high, c.x + half);
  };
  disc(w.start);
  if (w.length > 0) {
    disc(w.end);
    // The two straight sides of the covered ground.
    if (w.uy != 0)
      for (const double s : {-radius, radius}) {
        const double along = (y - (w.start.y + s * w.ux)) / w.uy;
        if (along >= 0 && along <= w.length) {
          const double x = w.start.x - s * w.uy + along * w.ux;
          low = std::min(low, x);
          high = std::max(high, x);
        }
      }
  }
  if (!(low <= high)) return {};
  const double first = std::ceil((low - f.left) / f.cell - 0.5), last = std::floor((high - f.left) / f.cell - 0.5);
  if (last < 0 || first > f.columns - 1) return {};
  return {std::max(0, static_cast<int>(std::max(first, 0.0))),
          static_cast<int>(std::min(last, static_cast<double>(f.columns - 1)))};
}

/// Height of the lowest underside over a place, on a way that climbs or with a tip that is not flat.
double underside(const Cutter& c, const Way& w, double x, double y) {
  const double dx = x - w.start.x, dy = y - w.start.y;
  if (w.length == 0) return w.low + rise(c, std::sqrt(dx * dx + dy * dy));
  const double along = dx * w.ux + dy * w.uy, off = std::fabs(dx * w.uy - dy * w.ux);
  const double slope = (w.end.z - w.start.z) / w.length;
  const double nearest = std::clamp(along, 0.0, w.length);
  if (slope == 0) {
    const double d = along - nearest;
    return w.low + rise(c, std::sqrt(d * d + off * off));
  }
  const double r = 0.5 * c.diameter, half = std::sqrt(std::max(0.0, r * r - off * off));
  double a = std::max(0.0, along - half), b = std::min(w.length, along + half);
  const bool flat = c.corner == 0 && c.angle == 0;
  if (flat) return w.start.z + slope * (slope < 0 ? b : a);
  // z + rise is convex along the way: close in on its lowest place.
  const auto at = [&](double s) {
    const double d = along - s;
    return w.start.z + slope * s + rise(c, std::min(r, std::sqrt(d * d + off * off)));
  };
  for (int i = 0; i < 60 && b - a > 1e-8; ++i) {
    const double p = a + (b - a) / 3, q = b - (b - a) / 3;
    if (at(p) <= at(q)) b = q;
    else a = p;
  }
  return at(0.5 * (a + b));
}

/// Calls span(row, first, last, z) for all that the cutter covers; z the underside in grains, the same over the span.
template <class Call>
void sweep(const Field& f, const Cutter& c, const Way& w, Call&& call) {
  const double r = 0.5 * c.diameter;
  if (!(r > 0)) return;
  const double low = std::min(w.start.y, w.end.y) - r, high = std::max(w.start.y, w.end.y) + r;
  const double first = std::max(0.0, std::ceil((low - f.bottom) / f.cell - 0.5));
  const double last = std::min(static_cast<double>(f.rows - 1), std::floor((high - f.bottom) / f.cell - 0.5));
  const bool even = c.corner == 0 && c.angle == 0 && w.level;
  const std::int32_t z = grains(w.low);
  for (int row = static_cast<int>(first); row <= last; ++row) {
    const double y = f.y(row);
    const Span s = span_of(f, w, r, y);
    if (s.first > s.last) continue;
    if (even) {
      call(row, s.first, s.last, z);
      continue;
    }
    for (int k = s.first; k <= s.last; ++k) call(row, k, k, grains(underside(c, w, f.x(k), y)));
  }
}

void take(std::int32_t amount, Taken& t) {
  if (amount <= 0) return;
  t.sum += amount;
  t.deepest = std::max(t.deepest, amount);
  ++t.cells;
}

/// One column of a field with gaps, cut from above down to z.
void lower_column(Field& f, std::size_t i, std::int32_t z, Taken& t) {
  std::int32_t &top = f.top[i], &low = f.gap_low[i], &high = f.gap_high[i];
  if (top <= z) return;
  if (low >= high || z >= high) {
    take(top - z, t);
    top = z;
    return;
  }
  const std::int32_t after = std::min(z, low);
  take((top - high) + (z < low ? low - z : 0), t);
  top = after;
  low = high = 0;
}

/// One column cut from the side by a disc from z to z + thickness.
void hollow_column(Field& f, std::size_t i, std::int32_t z, std::int32_t thickness, Taken& t) {
  std::int32_t &top = f.top[i], &low = f.gap_low[i], &high = f.gap_high[i];
  const std::int32_t upper = z + thickness;
  if (top <= z) return;
  if (upper >= top) return lower_column(f, i, z, t);
  if (low >= high) {
    low = z, high = upper;
    return take(thickness, t);
  }
  if (z > high || upper < low) {
    t.beyond = true;
    return;
  }
  const std::int32_t a = std::min(low, z), b = std::max(high, upper);
  take((b - a) - (high - low), t);
  low = a, high = b;
}

/// A disc that goes up or down covers what is between.
std::int32_t thickness_on(const Cutter& c, const Way& w) {
  if (!(c.thickness > 0)) return 0;
  return grains(c.thickness + (w.length == 0 ? std::fabs(w.end.z - w.start.z) : 0));
}

/// Is there metal in column i anywhere between two heights?
bool metal_between(const Field& f, std::size_t i, std::int32_t a, std::int32_t b) {
  if (f.top[i] <= a) return false;
  if (f.gap_low.empty() || f.gap_low[i] >= f.gap_high[i]) return true;
  return !(f.gap_low[i] <= a && b <= f.gap_high[i]);
}

/// How far a shape whose underside is z (and, of a disc, whose upper side is z + thickness) stands in column i.
std::int32_t inside(const Field& f, std::size_t i, std::int32_t z, std::int32_t thickness) {
  const std::int32_t over = f.top[i] - z;
  if (over <= 0) return over;
  if (thickness == 0) return over;
  if (f.gap_low.empty() || f.gap_low[i] >= f.gap_high[i]) return std::min(over, thickness);
  const std::int32_t below = std::min(f.gap_low[i], z + thickness) - z;
  const std::int32_t above = std::min(f.top[i], z + thickness) - std::max(f.gap_high[i], z);
  return std::max(below, above);
}

/// Sine and cosine of the rim's samples, from the left of the feed over its front.
std::array<std::array<double, 2>, samples> rim_rays() {
  std::array<std::array<double, 2>, samples> out{};
  for (int k = 0; k < samples; ++k) {
    const double phi = (k + 0.5) * pi / samples;
    out[static_cast<std::size_t>(k)] = {std::sin(phi), std::cos(phi)};
  }
  return out;
}
/// The front half of the rim, a little outside of it: inside, the move itself has just cut everything away.
void rim(const Field& f, const Cutter& c, const Way& w, Bite& b) {
  double r = 0.5 * c.diameter;
  double up = 0;
  if (c.angle > 0) {
    r = std::min(r, 0.5 * c.flat + b.deepest * std::tan(0.5 * c.angle));
    up = rise(c, r);
  } else if (c.corner > 0 && b.deepest < c.corner) {
    const double d = c.corner - b.deepest;
    r = r - c.corner + std::sqrt(std::max(0.0, c.corner * c.corner - d * d));
    up = rise(c, r);
  }
  const double out = r + 0.7 * f.cell;
  const std::int32_t low = grains(w.end.z + (c.angle > 0 || c.corner > 0 ? up : 0)) + skin;
  const std::int32_t thick = c.thickness > 0 ? grains(c.thickness) - 2 * skin : 0;
  int hits = 0, first = samples, last = -1;
  static const std::array<std::array<double, 2>, samples> rays = rim_rays();
  for (int k = 0; k < samples; ++k) {
    const double s = rays[static_cast<std::size_t>(k)][0], q = rays[static_cast<std::size_t>(k)][1];
    const double x = w.end.x + out * (s * w.ux - q * w.uy), y = w.end.y + out * (s * w.uy + q * w.ux);
    const double column = std::floor((x - f.left) / f.cell), row = std::floor((y - f.bottom) / f.cell);
    if (!(column >= 0 && column < f.columns && row >= 0 && row < f.rows)) continue;
    const std::size_t i = f.index(static_cast<int>(column), static_cast<int>(row));
    const bool in = thick > 0 ? metal_between(f, i, low, low + thick) : f.top[i] > low;
    if (!in) continue;
    ++hits;
    first = std::min(first, k);
    last = k;
  }
  if (hits == 0) return;
  b.arc = hits * pi / samples;
  b.entry = first * pi / samples;
  b.exit = (last + 1) * pi / samples;
}

void add(Bite& all, const Bite& piece) {
  all.volume += piece.volume;
  all.area += piece.area;
  all.deepest = std::max(all.deepest, piece.deepest);
  all.beyond = all.beyond || piece.beyond;
  if (piece.arc > all.arc) all.arc = piece.arc, all.entry = piece.entry, all.exit = piece.exit;
}

}  // namespace

std::int32_t grains(double height) {
  if (!(height > -100)) return -1000000000;
  if (!(height < 100)) return 1000000000;
  return static_cast<std::int32_t>(std::lround(height / grain));
}

Outcome<Field> make_field(double left, double bottom, double right, double upper, double cell, double height) {
  Problems p;
  if (!(cell > 0)) p.push_back(bad("the cell of a height field must be longer than nothing"));
  if (!(right > left) || !(upper > bottom)) p.push_back(bad("a height field needs a length and a width"));
  if (!(std::fabs(height) <= 100)) p.push_back(bad("heights of a field must lie within 100 m"));
  if (!p.empty()) return p;
  const double columns = std::ceil((right - left) / cell - 1e-9), rows = std::ceil((upper - bottom) / cell - 1e-9);
  if (!(columns * rows <= 1e8)) return bad("a height field of more than 100 million cells: take larger cells");
  Field f;
  f.columns = static_cast<int>(columns);
  f.rows = static_cast<int>(rows);
  f.left = left;
  f.bottom = bottom;
  f.cell = cell;
  f.top.assign(static_cast<std::size_t>(f.columns) * static_cast<std::size_t>(f.rows), grains(height));
  return f;
}

double metal(const Field& f, double floor) {
  const std::int32_t z = grains(floor);
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < f.top.size(); ++i) {
    if (f.top[i] <= z) continue;
    sum += f.top[i] - z;
    if (!f.gap_low.empty() && f.gap_low[i] < f.gap_high[i])
      sum -= std::max(f.gap_high[i], z) - std::max(f.gap_low[i], z);
  }
  return static_cast<double>(sum) * grain * f.cell * f.cell;
}

double rise(const Cutter& c, double radius) {
  if (c.angle > 0) return std::max(0.0, radius - 0.5 * c.flat) / std::tan(0.5 * c.angle);
  if (c.corner > 0) {
    const double d = radius - (0.5 * c.diameter - c.corner);
    if (!(d > 0)) return 0;
    return c.corner - std::sqrt(std::max(0.0, c.corner * c.corner - d * d));
  }
  return 0;
}

Bite cut(Field& f, const Cutter& c, Vec3 start, Vec3 end) {
  const Way w(start, end);
  Taken t;
  if (c.thickness > 0 && f.gap_low.empty()) f.gap_low.assign(f.top.size(), 0), f.gap_high = f.gap_low;
  const std::int32_t thickness = thickness_on(c, w);
  sweep(f, c, w, [&](int row, int first, int last, std::int32_t z) {
    if (f.gap_low.empty()) return lower(f.top.data() + f.index(first, row), last - first + 1, z, t);
    for (std::size_t i = f.index(first, row), n = f.index(last, row); i <= n; ++i)
      if (thickness > 0) hollow_column(f, i, z, thickness, t);
      else lower_column(f, i, z, t);
  });
  Bite b;
  b.beyond = t.beyond;
  const double ground = f.cell * f.cell;
  b.volume = static_cast<double>(t.sum) * grain * ground;
  b.deepest = static_cast<double>(t.deepest) * grain;
  b.area = static_cast<double>(t.cells) * ground;
  if (t.cells == 0) return b;
  if (w.length == 0) b.arc = 2 * pi, b.exit = 2 * pi;
  else rim(f, c, w, b);
  return b;
}

std::vector<Vec3> chords(const program::Move& m, double chord) {
  std::vector<Vec3> out{m.start};
  if (m.kind == program::Motion::clockwise || m.kind == program::Motion::counter) {
    const Vec3 d = m.start - m.centre;
    const double r = m.plane == program::Plane::xy   ? std::sqrt(d.x * d.x + d.y * d.y)
                     : m.plane == program::Plane::zx ? std::sqrt(d.x * d.x + d.z * d.z)
                                                     : std::sqrt(d.y * d.y + d.z * d.z);
    // Height of a chord's arc: r (1 - cos(step / 2)).
    const double step = r > chord ? 2 * std::acos(1 - chord / r) : pi / 2;
    const int n = std::clamp(static_cast<int>(std::ceil(program::sweep(m) / step)), 1, 100000);
    for (int i = 1; i < n; ++i) out.push_back(program::place(m, static_cast<double>(i) / n));
  }
  out.push_back(m.end);
  return out;
}

Bite cut(Field& f, const Cutter& c, const program::Move& m, double chord) {
  Bite all;
  const std::vector<Vec3> way = chords(m, chord);
  for (std::size_t i = 1; i < way.size(); ++i) add(all, cut(f, c, way[i - 1], way[i]));
  return all;
}

Touch touch(const Field& f, const Cutter& c, Vec3 start, Vec3 end, double tolerance) {
  const Way w(start, end);
  Touch t;
  std::int32_t deepest = 0;
  const std::int32_t allowed = grains(tolerance), thickness = thickness_on(c, w);
  sweep(f, c, w, [&](int row, int first, int last, std::int32_t z) {
    const std::size_t a = f.index(first, row), n = static_cast<std::size_t>(last - first) + 1;
    if (thickness == 0 && highest(f.top.data() + a, static_cast<int>(n)) - z <= allowed) return;
    for (std::size_t i = a; i < a + n; ++i) {
      const std::int32_t in = inside(f, i, z, thickness);
      if (in <= allowed) continue;
      ++t.cells;
      if (in <= deepest) continue;
      deepest = in;
      t.at = {f.x(first + static_cast<int>(i - a)), f.y(row), static_cast<double>(f.top[i]) * grain};
    }
  });
  t.deepest = static_cast<double>(deepest) * grain;
  return t;
}

Touch touch(const Field& f, const Cutter& c, const program::Move& m, double tolerance, double chord) {
  Touch all;
  const std::vector<Vec3> way = chords(m, chord);
  for (std::size_t i = 1; i < way.size(); ++i) {
    const Touch t = touch(f, c, way[i - 1], way[i], tolerance);
    all.cells += t.cells;
    if (t.deepest > all.deepest) all.deepest = t.deepest, all.at = t.at;
  }
  return all;
}

double straight_arc(double diameter, double width) {
  return std::acos(std::clamp(1 - 2 * width / diameter, -1.0, 1.0));
}

Outcome<WallArc> wall_arc(double diameter, double width, const Wall& wall) {
  Problems p;
  const double r = 0.5 * diameter, a = wall.radius;
  if (!(diameter > 0)) p.push_back(bad("the cutter needs a diameter"));
  if (!(width >= 0)) p.push_back(bad("the width of cut must not be less than nothing"));
  if (!(width <= diameter)) p.push_back(bad("the cutter cannot take more than its diameter"));
  if (!(a >= 0)) p.push_back(bad("the radius of a wall must not be less than nothing"));
  if (a > 0 && wall.hollow && !(a > r)) p.push_back(bad("the hollow wall must be wider than the cutter"));
  if (!p.empty()) return p;
  if (a == 0) return WallArc{straight_arc(diameter, width), width};
  const double e = wall.hollow ? a - r : a + r, b = wall.hollow ? std::max(0.0, a - width) : a + width;
  const double c = (wall.hollow ? 1 : -1) * (b * b - e * e - r * r) / (2 * e * r);
  const double arc = std::acos(std::clamp(c, -1.0, 1.0));
  return WallArc{arc, r * (1 - std::cos(arc))};
}

}  // namespace fettle::removal
