#include "output/drawings/field.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace fettle::drawings {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

double node(const Field& f, int column, int row) {
  if (column < 0 || row < 0 || column >= f.columns || row >= f.rows) return none;
  return f
      .value[static_cast<std::size_t>(row) * static_cast<std::size_t>(f.columns) + static_cast<std::size_t>(column)];
}
Point place(const Field& f, double column, double row) {
  return {f.left + column * f.step_x, f.bottom + row * f.step_y};
}

/// A node or, one beyond the rim, the straight continuation of the two before it.
double beyond(const Field& f, int column, int row) {
  if (column < 0) return 2 * beyond(f, 0, row) - beyond(f, 1, row);
  if (column >= f.columns) return 2 * beyond(f, f.columns - 1, row) - beyond(f, f.columns - 2, row);
  if (row < 0) return 2 * node(f, column, 0) - node(f, column, 1);
  if (row >= f.rows) return 2 * node(f, column, f.rows - 1) - node(f, column, f.rows - 2);
  return node(f, column, row);
}

/// Curve through four values, between the middle two (Catmull and Rom).
double curve(const double* v, double t) {
  return v[1] +
         0.5 * t * (v[2] - v[0] + t * (2 * v[0] - 5 * v[1] + 4 * v[2] - v[3] + t * (3 * (v[1] - v[2]) + v[3] - v[0])));
}

/// Inside the cell whose low corner is (column, row), s and t from 0 to 1.
double straight(const Field& f, int column, int row, double s, double t) {
  const double a = node(f, column, row), b = node(f, column + 1, row), c = node(f, column, row + 1),
               d = node(f, column + 1, row + 1);
  return (1 - t) * ((1 - s) * a + s * b) + t * ((1 - s) * c + s * d);
}
double smooth(const Field& f, int column, int row, double s, double t) {
  double rows[4];
  for (int j = 0; j < 4; ++j) {
    double v[4];
    for (int i = 0; i < 4; ++i) v[i] = beyond(f, column - 1 + i, row - 1 + j);
    rows[j] = curve(v, s);
  }
  return curve(rows, t);
}

/// Where a cell's side crosses the level; sides are numbered over the whole grid.
struct Crossing {
  long side = 0;
  Point at;
};

/// The two or four crossings of one cell, in pairs that belong together.
std::vector<Crossing> crossings(const Field& f, int i, int j, double level) {
  const double v[4] = {node(f, i, j), node(f, i + 1, j), node(f, i + 1, j + 1), node(f, i, j + 1)};
  for (double x : v)
    if (!std::isfinite(x)) return {};
  const long c = f.columns;
  const long sides[4] = {2 * (j * c + i), 2 * (j * c + i + 1) + 1, 2 * ((j + 1) * c + i), 2 * (j * c + i) + 1};
  const Point corner[4] = {place(f, i, j), place(f, i + 1, j), place(f, i + 1, j + 1), place(f, i, j + 1)};
  std::vector<Crossing> out;
  for (int k = 0; k < 4; ++k) {
    const int n = (k + 1) % 4;
    if ((v[k] >= level) == (v[n] >= level)) continue;
    const double t = (level - v[k]) / (v[n] - v[k]);
    out.push_back(
        {sides[k], {corner[k].x + t * (corner[n].x - corner[k].x), corner[k].y + t * (corner[n].y - corner[k].y)}});
  }
  // A saddle: the middle says which two corners hang together.
  if (out.size() == 4 && ((v[0] + v[1] + v[2] + v[3]) / 4 >= level) != (v[0] >= level))
    std::rotate(out.begin(), out.begin() + 1, out.end());
  return out;
}

}  // namespace

bool whole(const Field& f) {
  return f.columns >= 2 && f.rows >= 2 && f.columns < 5000 && f.rows < 5000 && f.step_x > 0 && f.step_y > 0 &&
         std::isfinite(f.left) && std::isfinite(f.bottom) &&
         f.value.size() == static_cast<std::size_t>(f.columns) * static_cast<std::size_t>(f.rows);
}

Range range_of(const Field& f) {
  Range r;
  for (double v : f.value) {
    if (!std::isfinite(v)) continue;
    r.low = r.there ? std::min(r.low, v) : v;
    r.high = r.there ? std::max(r.high, v) : v;
    r.there = true;
  }
  return r;
}

double value_at(const Field& f, Point p) {
  const double u = (p.x - f.left) / f.step_x, w = (p.y - f.bottom) / f.step_y;
  if (!(u >= -1e-9) || !(w >= -1e-9) || !(u <= f.columns - 1 + 1e-9) || !(w <= f.rows - 1 + 1e-9)) return none;
  const int i = std::clamp(static_cast<int>(u), 0, f.columns - 2), j = std::clamp(static_cast<int>(w), 0, f.rows - 2);
  return straight(f, i, j, u - i, w - j);
}

double value_near(const Field& f, Point p) {
  const double v = value_at(f, p);
  if (std::isfinite(v) || !std::isfinite(p.x) || !std::isfinite(p.y)) return v;
  double best = none, least = std::numeric_limits<double>::infinity();
  for (int j = 0; j < f.rows; ++j)
    for (int i = 0; i < f.columns; ++i) {
      const Point at = place(f, i, j);
      const double away = std::hypot(at.x - p.x, at.y - p.y);
      if (std::isfinite(node(f, i, j)) && away < least) least = away, best = node(f, i, j);
    }
  return best;
}

Field filled(const Field& given, int rings) {
  Field f = given;
  for (int ring = 0; ring < rings; ++ring) {
    const Field before = f;
    for (int j = 0; j < f.rows; ++j)
      for (int i = 0; i < f.columns; ++i) {
        if (std::isfinite(node(before, i, j))) continue;
        double sum = 0;
        int n = 0;
        for (int b = -1; b <= 1; ++b)
          for (int a = -1; a <= 1; ++a)
            if (const double v = node(before, i + a, j + b); std::isfinite(v)) sum += v, ++n;
        if (n > 0)
          f.value[static_cast<std::size_t>(j) * static_cast<std::size_t>(f.columns) + static_cast<std::size_t>(i)] =
              sum / n;
      }
  }
  return f;
}

Field refined(const Field& f, int times) {
  Field r = f;
  r.columns = (f.columns - 1) * times + 1, r.rows = (f.rows - 1) * times + 1;
  r.step_x /= times, r.step_y /= times;
  r.value.clear();
  for (int row = 0; row < r.rows; ++row)
    for (int column = 0; column < r.columns; ++column) {
      const int i = std::min(column / times, f.columns - 2), j = std::min(row / times, f.rows - 2);
      const double s = static_cast<double>(column - i * times) / times,
                   t = static_cast<double>(row - j * times) / times;
      const double fine = smooth(f, i, j, s, t);
      r.value.push_back(std::isfinite(fine) ? fine : straight(f, i, j, s, t));
    }
  return r;
}

std::vector<std::vector<Point>> contours(const Field& f, double level) {
  struct End {
    Point at;
    long next[2] = {-1, -1};
  };
  std::map<long, End> ends;
  for (int j = 0; j + 1 < f.rows; ++j)
    for (int i = 0; i + 1 < f.columns; ++i) {
      const std::vector<Crossing> c = crossings(f, i, j, level);
      for (std::size_t k = 0; k + 1 < c.size(); k += 2)
        for (const auto& [a, b] : {std::pair{c[k], c[k + 1]}, std::pair{c[k + 1], c[k]}}) {
          End& e = ends[a.side];
          e.at = a.at;
          (e.next[0] < 0 ? e.next[0] : e.next[1]) = b.side;
        }
    }
  std::vector<std::vector<Point>> out;
  std::map<long, bool> seen;
  const auto walk = [&](long from) {
    std::vector<Point> line;
    long at = from;
    while (at >= 0 && !seen[at]) {
      seen[at] = true;
      const End& e = ends[at];
      line.push_back(e.at);
      const long a = e.next[0], b = e.next[1];
      at = a >= 0 && !seen[a] ? a : b >= 0 && !seen[b] ? b : -1;
      if (at < 0 && line.size() > 2 && (a == from || b == from)) line.push_back(ends[from].at);
    }
    if (line.size() > 1) out.push_back(line);
  };
  for (const auto& [side, e] : ends)  // open lines from their ends, then what is closed
    if (e.next[1] < 0 && !seen[side]) walk(side);
  for (const auto& [side, e] : ends)
    if (!seen[side]) walk(side);
  return out;
}

Path strokes_above(const Field& f, double level, const Scale& scale, const Strokes& strokes) {
  Path path;
  const Point low = scale.at(place(f, 0, 0)), high = scale.at(place(f, f.columns - 1, f.rows - 1));
  const double left = low.x, right = high.x, top = high.y, bottom = low.y;
  const double way = strokes.falling ? 1 : -1;  // rising strokes go up to the right: y falls on paper
  const double step = strokes.gap * std::sqrt(2.0), fine = 0.35;
  const auto at = [&](double x, double y) {
    return value_at(f, {(x - scale.origin.x) / scale.mm_per_m, (scale.origin.y - y) / scale.mm_per_m});
  };
  // The line number k: x - way * y = k * step. Its phase hangs on the sheet's origin.
  const double a = std::min({left - way * top, left - way * bottom}),
               b = std::max(right - way * top, right - way * bottom);
  if (!std::isfinite(a) || !std::isfinite(b) || !(step > 0) || (b - a) / step > 4000) return path;
  for (long k = static_cast<long>(std::ceil(a / step)); static_cast<double>(k) * step <= b; ++k) {
    if (k % strokes.every != 0 || (strokes.but > 0 && k % strokes.but == 0)) continue;
    const double c = static_cast<double>(k) * step;
    const auto y_of = [&](double x) { return (x - c) / way; };
    bool in = false;
    Point before, start;
    double last = none;
    const auto end = [&](Point p) {
      if (in && std::hypot(p.x - start.x, p.y - start.y) > 0.2) path.move(start).line(p);
      in = false;
    };
    const int n = static_cast<int>((right - left) / (fine / std::sqrt(2.0))) + 1;
    for (int m = 0; m <= n; ++m) {
      const double x = left + (right - left) * m / n;
      const Point p{x, y_of(x)};
      const double v = p.y < top - 1e-9 || p.y > bottom + 1e-9 ? none : at(p.x, p.y);
      const bool now = v >= level;  // false for NaN
      if (now != in) {
        const double t = std::isfinite(last) && std::isfinite(v) && v != last ? (level - last) / (v - last)
                         : now                                                ? 1
                                                                              : 0;
        const Point cross = m == 0 ? p : Point{before.x + t * (p.x - before.x), before.y + t * (p.y - before.y)};
        if (now) start = cross, in = true;
        else end(cross);
      }
      before = p;
      last = v;
    }
    end(before);
  }
  return path;
}

}  // namespace fettle::drawings
