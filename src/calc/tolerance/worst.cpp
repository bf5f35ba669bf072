// The worst case: every contributor at its worst at once, play at the worst seat. Shown, never decides.
#include <algorithm>
#include <cmath>

#include "calc/tolerance/play.h"

namespace fettle::tolerance::inner {

namespace {

using maths::Point2;
using maths::Polygon;

void sums(const Ledger& ledger, const Row& row, std::vector<SeatSum>& seat) {
  seat.assign(ledger.route.operations.size(), {});
  for (std::size_t i = 0; i < row.column.size(); ++i)
    for (std::size_t k = 0; k < seat.size(); ++k) {
      const int first = ledger.play_column[k], c = row.column[i];
      if (first < 0 || c < first || c >= first + 3) continue;
      (c == first ? seat[k].x : c == first + 1 ? seat[k].y : seat[k].turn) += row.coefficient[i];
    }
}
double value(const SeatSum& row, const SeatSum& s) { return row.x * s.x + row.y * s.y + row.turn * s.turn; }

Range of_scalar(const Ledger& ledger, const std::vector<WorstSeats>& worst, const Row& row) {
  Range r{row.constant, row.constant};
  for (std::size_t i = 0; i < row.column.size(); ++i) {
    const auto c = static_cast<std::size_t>(row.column[i]);
    if (c >= ledger.route.contributors.size()) continue;
    const Range w = worst_of(ledger.route.contributors[c]);
    const double a = row.coefficient[i] * w.low, b = row.coefficient[i] * w.high;
    r.low += std::min(a, b);
    r.high += std::max(a, b);
  }
  std::vector<SeatSum> seat;
  sums(ledger, row, seat);
  for (std::size_t k = 0; k < worst.size(); ++k) {
    if (worst[k].seats.empty()) continue;
    double low = value(seat[k], worst[k].seats.front()), high = low;
    for (const SeatSum& s : worst[k].seats) {
      const double v = value(seat[k], s);
      low = std::min(low, v);
      high = std::max(high, v);
    }
    r.low += low;
    r.high += high;
  }
  return r;
}

/// Edges of a convex polygon one after another, from its lowest point.
void edges_of(const Polygon& p, std::vector<Point2>& edges, Point2& lowest) {
  std::size_t start = 0;
  for (std::size_t i = 1; i < p.size(); ++i)
    if (p[i].y < p[start].y || (p[i].y == p[start].y && p[i].x < p[start].x)) start = i;
  lowest = {lowest.x + p[start].x, lowest.y + p[start].y};
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point2 a = p[(start + i) % p.size()], b = p[(start + i + 1) % p.size()];
    edges.push_back({b.x - a.x, b.y - a.y});
  }
}

/// Farthest point from the origin of the sum of the segments and the plays' polygons: walk round its outline.
double farthest(Point2 lowest, std::vector<Point2> edges) {
  const auto upper = [](Point2 e) { return e.y > 0 || (e.y == 0 && e.x > 0); };
  std::sort(edges.begin(), edges.end(), [&](Point2 a, Point2 b) {
    if (upper(a) != upper(b)) return upper(a);
    return a.x * b.y - a.y * b.x > 0;
  });
  double most = std::sqrt(lowest.x * lowest.x + lowest.y * lowest.y);
  for (const Point2 e : edges) {
    lowest = {lowest.x + e.x, lowest.y + e.y};
    most = std::max(most, std::sqrt(lowest.x * lowest.x + lowest.y * lowest.y));
  }
  return most;
}

double of_pair(const Ledger& ledger, const std::vector<WorstSeats>& worst, const Row& a, const Row& b) {
  const std::size_t contributors = ledger.route.contributors.size();
  std::vector<Point2> c(contributors);
  for (std::size_t i = 0; i < a.column.size(); ++i)
    if (static_cast<std::size_t>(a.column[i]) < contributors)
      c[static_cast<std::size_t>(a.column[i])].x += a.coefficient[i];
  for (std::size_t i = 0; i < b.column.size(); ++i)
    if (static_cast<std::size_t>(b.column[i]) < contributors)
      c[static_cast<std::size_t>(b.column[i])].y += b.coefficient[i];
  Point2 lowest{a.constant, b.constant};
  std::vector<Point2> edges;
  for (std::size_t i = 0; i < contributors; ++i) {
    if (c[i].x == 0 && c[i].y == 0) continue;
    const Range w = worst_of(ledger.route.contributors[i]);
    Point2 from{c[i].x * w.low, c[i].y * w.low}, to{c[i].x * w.high, c[i].y * w.high};
    if (to.y < from.y || (to.y == from.y && to.x < from.x)) std::swap(from, to);
    lowest = {lowest.x + from.x, lowest.y + from.y};
    edges.push_back({to.x - from.x, to.y - from.y});
    edges.push_back({from.x - to.x, from.y - to.y});
  }
  std::vector<SeatSum> sa, sb;
  sums(ledger, a, sa);
  sums(ledger, b, sb);
  for (std::size_t k = 0; k < worst.size(); ++k) {
    Polygon points;
    for (const SeatSum& s : worst[k].seats) points.push_back({value(sa[k], s), value(sb[k], s)});
    if (!points.empty()) edges_of(maths::convex_hull(std::move(points)), edges, lowest);
  }
  edges.erase(std::remove_if(edges.begin(), edges.end(), [](Point2 e) { return e.x == 0 && e.y == 0; }), edges.end());
  return farthest(lowest, std::move(edges));
}

}  // namespace

void worst_case(const Ledger& ledger, const std::vector<WorstSeats>& seats, int requirement, Linear& out) {
  bool first = true;
  const auto take = [&](double low, double high) {
    out.worst_low = first ? low : std::min(out.worst_low, low);
    out.worst_high = first ? high : std::max(out.worst_high, high);
    first = false;
  };
  for (const NestGroup& g : nest_groups(ledger, requirement)) {
    for (const Row& r : g.shape->scalar) {
      const Range w = of_scalar(ledger, seats, r);
      take(w.low, w.high);
    }
    for (std::size_t i = 0; i + 1 < g.shape->pair.size(); i += 2)
      take(0, 2 * of_pair(ledger, seats, g.shape->pair[i], g.shape->pair[i + 1]));
  }
}

}  // namespace fettle::tolerance::inner
