#include "output/drawings/pallet_signs.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fettle::drawings {
namespace {

constexpr double pi = std::numbers::pi;

Point turned(Point p, double angle) {
  return {p.x * std::cos(angle) - p.y * std::sin(angle), p.x * std::sin(angle) + p.y * std::cos(angle)};
}

}  // namespace

Point in_plate(const Nest& nest, Point p) {
  const Point q = turned(p, nest.turn);
  return {q.x + nest.at.x, q.y + nest.at.y};
}
Shape in_plate(const Nest& nest, Shape shape) {
  shape.at = in_plate(nest, shape.at);
  shape.turn += nest.turn;
  return shape;
}
const NestPattern* pattern_of(const PalletView& view, const Nest& nest) {
  const bool known = nest.pattern >= 0 && nest.pattern < static_cast<int>(view.patterns.size());
  return known ? &view.patterns[static_cast<std::size_t>(nest.pattern)] : nullptr;
}
bool drawable(const Shape& shape) {
  const Box b = bounds(std::vector<Shape>{shape});
  return b.width > 0 && b.height > 0;
}

void round_pin(Pen& pen, Point at, double diameter) {
  pen.fill(Path::circle(at, diameter), Ink::ground);
  pen.stroke(Path::circle(at, diameter), {0.45});
}

void relieved_pin(Pen& pen, Point at, double diameter, double land, double free_on_paper) {
  const double r = diameter / 2, half = std::clamp(std::asin(std::clamp(land / diameter, 0.0, 1.0)), 0.12, 1.2);
  const double across = free_on_paper + pi / 2;
  Path path;
  for (int side = 0; side < 2; ++side) {
    const double middle = across + side * pi;
    const Point start{at.x + r * std::cos(middle - half), at.y + r * std::sin(middle - half)};
    side ? path.line(start) : path.move(start);
    path.arc(at, r, middle - half, middle + half);
    const double relief = middle + pi / 2;
    path.line({at.x + 0.78 * r * std::cos(relief - 0.5), at.y + 0.78 * r * std::sin(relief - 0.5)});
    path.line({at.x + 0.78 * r * std::cos(relief + 0.5), at.y + 0.78 * r * std::sin(relief + 0.5)});
  }
  path.close();
  pen.fill(path, Ink::ground);
  pen.stroke(path, {0.45});
}

void screw(Pen& pen, Point at, double diameter) {
  pen.fill(Path::circle(at, diameter), Ink::graphite);
  std::vector<Point> socket;
  for (int i = 0; i < 6; ++i)
    socket.push_back({at.x + 0.27 * diameter * std::cos(i * pi / 3), at.y + 0.27 * diameter * std::sin(i * pi / 3)});
  pen.stroke(Path::polygon(socket), {0.22, Ink::ground});
}

void pins(Pen& pen, const Nest& n, const NestPattern& p, const Scale& scale) {
  for (const Pin& pin : p.pins) {
    const Point at = scale.at(in_plate(n, pin.at));
    const double d = std::max(scale.length(pin.diameter), smallest_pin);
    if (pin.relieved)
      relieved_pin(pen, at, d, std::max(scale.length(pin.land_width), 0.25 * d), -(pin.free_along + n.turn));
    else round_pin(pen, at, d);
  }
}
void screws(Pen& pen, const Nest& n, const NestPattern& p, const Scale& scale) {
  for (const Screw& s : p.screws) screw(pen, scale.at(in_plate(n, s.at)), std::max(scale.length(s.head), 2.0));
}

}  // namespace fettle::drawings
