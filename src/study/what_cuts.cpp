// An operation says what it makes and what its cuts cut: what it makes and none of them cuts is not made.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "study/internal.h"

namespace fettle::study {

namespace {

using frame::Vec3;

constexpr double place_typed = 1e-5;  // m; places are typed to a hundredth of a millimetre

bool cuts_metal(const plan::Cut& c) { return c.kind.value != "probe"; }

/// Whether a cut that names `named` cuts the surface `asked`: itself, its whole feature, all of its pattern.
bool covers(const plan::Reference& named, const plan::Reference& asked) {
  return named.id == asked.id && (named.side.empty() || asked.side.empty() || named.side == asked.side) &&
         (named.index == 0 || asked.index == 0 || named.index == asked.index);
}

/// Every place of a feature that a reference stands for.
std::vector<Surface> places_of(const plan::Plan& plan, const plan::Reference& r) {
  std::vector<Surface> out;
  const plan::Feature* f = plan::find_feature(plan, r.id);
  const int n = f != nullptr ? static_cast<int>(f->at.value.size()) : 0;
  for (int k = 1; k <= n; ++k) {
    if (r.index > 0 && r.index != k) continue;
    plan::Reference one = r;
    one.index = k;
    out.push_back(surface_of(plan, one));
  }
  return out;
}

/// Whether the floor of a hole, or the cone at its mouth, comes with the cut of its wall.
bool comes_with(const Surface& wall, const Surface& s) {
  if (!wall.there || !wall.round || !s.there || std::fabs(frame::dot(wall.normal, s.normal)) < 0.9) return false;
  const Vec3 d = s.point - wall.point;
  const double up = frame::dot(d, wall.normal), beside = frame::norm(d - up * wall.normal);
  if (s.round) return beside < place_typed;
  const double height = frame::dot(s.point, wall.normal);
  return beside < wall.radius + place_typed &&
         std::min(std::fabs(height - wall.from), std::fabs(height - wall.to)) < place_typed;
}

bool makes(const plan::Operation& o, const std::string& feature) {
  return std::any_of(o.makes.value.begin(), o.makes.value.end(),
                     [&](const std::string& m) { return plan::parse_reference(m).id == feature; });
}

/// Whether this cut, which names `named`, leaves the surface as it is asked for.
bool cut_by(const plan::Plan& plan, const plan::Operation& o, const plan::Cut& cut, const plan::Reference& named,
            const plan::Feature& f, const plan::Reference& asked) {
  const bool edge = cut.kind.value == "chamfer", cone = f.kind.value == "chamfer";
  if (covers(named, asked)) return !edge || cone;  // a broken edge makes no hole
  if (edge != cone) return false;
  if (!edge && f.over.known() && plan::parse_reference(f.over.value).id == named.id)
    return true;  // before its last cut
  const plan::Feature* n = plan::find_feature(plan, named.id);
  if (n == nullptr) return false;
  if (n->over.known() && plan::parse_reference(n->over.value).id == asked.id && !makes(o, named.id)) return true;
  if (f.kind.value != "face" && !cone) return false;
  const std::vector<Surface> walls = places_of(plan, named), mine = places_of(plan, asked);
  return !mine.empty() && std::all_of(mine.begin(), mine.end(), [&](const Surface& s) {
    return std::any_of(walls.begin(), walls.end(), [&](const Surface& w) { return comes_with(w, s); });
  });
}

}  // namespace

std::string what_cuts(const plan::Plan& plan, const plan::Operation& o, const std::string& reference) {
  for (const char* by_itself : {"grind", "hone", "deburr", "wash", "gauge"})
    if (o.kind.value == by_itself) return {};
  if (std::none_of(o.cuts.begin(), o.cuts.end(), cuts_metal)) return {};
  const plan::Reference asked = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, asked.id);
  if (f == nullptr) return {};
  for (const plan::Cut& cut : o.cuts)
    for (const std::string& named : cut.features.value)
      if (cuts_metal(cut) && cut_by(plan, o, cut, plan::parse_reference(named), *f, asked)) return {};
  return fmt::format("operation.{}.cut: what cuts {}", o.id.value, asked.id);
}

}  // namespace fettle::study
