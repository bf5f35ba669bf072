// The demo part's drawing: what is asked of which face.
#include <algorithm>
#include <cmath>

#include "solid/solid.h"
#include "solid/write_pmi.h"

namespace fettle::solid {
namespace {

/// Faces of the model by what they are, in mm.
struct Finder {
  const Model& m;
  bool lost = false;

  std::vector<int> found(std::vector<int> ids, std::size_t expected) {
    if (ids.size() != expected) lost = true;
    if (ids.empty()) ids.push_back(0);
    return ids;
  }
  std::vector<int> bores(double diameter, std::size_t count, double below = 1e9) {
    std::vector<int> ids;
    for (const Face& f : m.faces)
      if (f.kind == Kind::cylinder && f.concave && std::fabs(2e3 * f.radius - diameter) < 1e-6 &&
          1e3 * f.centroid.z < below)
        ids.push_back(f.id);
    return found(ids, count);
  }
  std::vector<int> bore_at(double diameter, double x) {
    std::vector<int> ids;
    for (const Face& f : m.faces)
      if (f.kind == Kind::cylinder && f.concave && std::fabs(2e3 * f.radius - diameter) < 1e-6 &&
          std::fabs(1e3 * f.point.x - x) < 1e-6)
        ids.push_back(f.id);
    return found(ids, 1);
  }
  std::vector<int> plane(Vec3 normal, double offset) {
    std::vector<int> ids;
    for (const PlaneFeature& p : m.planes)
      if (dot(p.normal, normal) > 0.999999 && std::fabs(1e3 * p.offset - offset) < 1e-6) ids = p.faces;
    return found(ids, 1);
  }
};

}  // namespace

Outcome<std::string> with_demo_drawing(const std::string& text, const Model& model) {
  auto drawing = DrawingWriter::on(text);
  if (!drawing) return drawing.problems();
  DrawingWriter& w = *drawing;
  Finder at{model};

  const auto bottom = at.plane({0, 0, -1}, 0), floor = at.plane({0, 0, 1}, 18), top = at.plane({0, 0, 1}, 36);
  const auto spool = at.bores(22, 1), counterbore = at.bores(50, 2), groove = at.bores(54, 1);
  const auto pins = at.bores(8, 2), bolts = at.bores(10.5, 2);
  const auto groove_low = at.plane({0, 0, 1}, 27.15), groove_high = at.plane({0, 0, -1}, -30.85);

  const int a = w.datum("A", "bottom", bottom);
  const int b = w.datum("B", "datum hole B", at.bore_at(8, -44));
  const int c = w.datum("C", "datum hole C", at.bore_at(8, 44));
  const int d = w.datum("D", "spool bore", spool);

  const int f_bottom = w.feature("A", bottom);
  w.tolerance("FLATNESS", "bottom flat", 0.03, f_bottom, {}, false);

  // F1 outside
  w.distance(w.feature("F1", at.plane({-1, 0, 0}, 66)), w.feature("F1", at.plane({1, 0, 0}, 66)), 132, -0.1, 0.1, 2);
  w.distance(w.feature("F1", at.plane({0, -1, 0}, 46)), w.feature("F1", at.plane({0, 1, 0}, 46)), 92, -0.1, 0.1, 2);
  // F2 counterbore, F3 its floor
  const int f2 = w.feature("F2", counterbore);
  w.size(f2, "diameter", 50, 0, 0.039, 3);
  w.tolerance("COAXIALITY", "counterbore to spool bore", 0.07, f2, {d}, true);
  const int f3 = w.feature("F3", floor);
  w.distance(f_bottom, f3, 18, -0.04, 0.04, 2);
  w.tolerance("FLATNESS", "floor flat", 0.03, f3, {}, false);
  // F4 spool bore
  const int f4 = w.feature("F4", spool);
  w.size(f4, "diameter", 22, 0, 0.009, 3);
  w.tolerance("CYLINDRICITY", "spool bore", 0.004, f4, {}, false);
  w.tolerance("PERPENDICULARITY", "spool bore", 0.01, f4, {a}, true);
  // F5 groove
  w.size(w.feature("F5", groove), "diameter", 54, 0, 0.08, 2);
  w.distance(w.feature("F5", groove_low), w.feature("F5", groove_high), 3.7, 0, 0.1, 2);
  // F7 datum holes
  w.size(w.feature("F7", pins), "diameter", 8, 0, 0.015, 3);
  w.distance(w.feature("F7 B", at.bore_at(8, -44)), w.feature("F7 C", at.bore_at(8, 44)), 111.21, -0.015, 0.015, 3);
  // F8 bolt holes, F9 and F10 threads at their tapping size
  const int f8 = w.feature("F8", bolts);
  w.size(f8, "diameter", 10.5, 0, 0.2, 1);
  w.tolerance("POSITION", "bolt holes", 0.25, f8, {a, b, c}, true);
  w.tolerance("POSITION", "6x M8-6H", 0.25, w.feature("F9", at.bores(6.8, 6)), {a, b, c}, true);
  w.tolerance("POSITION", "4x M6-6H", 0.25, w.feature("F10", at.bores(5, 4)), {a, b, c}, true);
  // F11 top
  w.distance(f_bottom, w.feature("F11", top), 36, -0.06, 0.06, 2);

  if (at.lost) return ours("the demo part does not show all the faces of its drawing");
  return w.text();
}

}  // namespace fettle::solid
