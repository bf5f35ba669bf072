#include "output/drawings/skins.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fettle::drawings {
namespace {

double signed_area(const std::vector<Point>& p) {
  double a = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point &u = p[i], &v = p[(i + 1) % p.size()];
    a += u.x * v.y - v.x * u.y;
  }
  return a / 2;
}

}  // namespace

Skin edge_skin(const std::vector<Point>& finished, const std::vector<double>& stock, bool hole) {
  const std::size_t n = finished.size();
  if (n < 3 || stock.size() != n) return {};
  const double side = (signed_area(finished) > 0) != hole ? 1 : -1;
  struct Line {
    Point on, along;
    bool real;
  };
  std::vector<Line> moved;
  for (std::size_t i = 0; i < n; ++i) {
    const Point &p = finished[i], &q = finished[(i + 1) % n];
    const double length = std::hypot(q.x - p.x, q.y - p.y);
    if (!(length > 0)) {
      moved.push_back({p, {}, false});
      continue;
    }
    const Point along{(q.x - p.x) / length, (q.y - p.y) / length};
    moved.push_back({{p.x + side * along.y * stock[i], p.y - side * along.x * stock[i]}, along, true});
  }
  Skin skin;
  skin.finished = finished;
  for (std::size_t i = 0; i < n; ++i) {
    const Line &before = moved[(i + n - 1) % n], &after = moved[i];
    const double cross = before.along.x * after.along.y - before.along.y * after.along.x;
    if (!before.real || !after.real || !(std::fabs(cross) > 1e-6)) {
      skin.raw.push_back(after.on);
      continue;
    }
    const Point d{after.on.x - before.on.x, after.on.y - before.on.y};
    const double t = (d.x * after.along.y - d.y * after.along.x) / cross;
    skin.raw.push_back({before.on.x + t * before.along.x, before.on.y + t * before.along.y});
  }
  return skin;
}

Skin box_skin(Point centre, double width, double height, double corner, double left, double right, double low,
              double high) {
  const double r = std::max(0.0, std::min({corner, width / 2, height / 2}));
  const int steps = r > 0 ? 8 : 0;
  Skin skin;
  for (int c = 0; c < 4; ++c) {  // against the clock from the upper right
    const double sx = c == 0 || c == 3 ? 1 : -1, sy = c < 2 ? 1 : -1;
    for (int i = 0; i <= steps; ++i) {
      const double a = (c + (steps ? static_cast<double>(i) / steps : 0.0)) * std::numbers::pi / 2;
      const Point p{centre.x + sx * (width / 2 - r) + r * std::cos(a),
                    centre.y + sy * (height / 2 - r) + r * std::sin(a)};
      skin.finished.push_back(r > 0 ? p : Point{centre.x + sx * width / 2, centre.y + sy * height / 2});
      const Point& q = skin.finished.back();
      skin.raw.push_back({q.x + (sx > 0 ? right : -left), q.y + (sy > 0 ? high : -low)});
    }
  }
  return skin;
}

Skin round_skin(Point centre, double finished_diameter, double raw_diameter, Point raw_centre) {
  constexpr int steps = 72;
  Skin skin;
  for (int i = 0; i < steps; ++i) {
    const double a = 2 * std::numbers::pi * i / steps, x = std::cos(a), y = std::sin(a);
    skin.finished.push_back({centre.x + finished_diameter / 2 * x, centre.y + finished_diameter / 2 * y});
    skin.raw.push_back({raw_centre.x + raw_diameter / 2 * x, raw_centre.y + raw_diameter / 2 * y});
  }
  return skin;
}

}  // namespace fettle::drawings
