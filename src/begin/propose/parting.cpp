#include "begin/propose/parting.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "begin/axis.h"

namespace fettle::begin {

namespace {

/// A wall that leans in by less is upright: draft makes it free.
const double lean = std::sin(0.5 * std::numbers::pi / 180);
/// A wall nearer than this to upright is drafted; others slope already.
const double steep = std::sin(3 * std::numbers::pi / 180);
constexpr double same = 1e-5;         // m
constexpr double worth = 1e-6;        // m2: less undercut is none
constexpr double least_gap = 0.2e-3;  // m, between heights that differ

Parting parting_at(const solid::Model& part, const std::set<int>& not_moulded, double draft, const std::string& id,
                   double height) {
  Parting p{id, height, 0, 0, {}};
  p.undercut = undercut(part, not_moulded, 2, height, &p.holds_back);
  for (const solid::Face& f : part.faces) {
    if (not_moulded.contains(f.id)) continue;
    for (const solid::Sample& s : f.samples)
      if (std::fabs(s.normal.z) < steep) p.draft_metal += s.area * std::fabs(s.point.z - height) * std::tan(draft);
  }
  return p;
}

bool better(const Parting& a, const Parting& b) {
  if (std::fabs(a.undercut - b.undercut) > worth) return a.undercut < b.undercut;
  return a.draft_metal < b.draft_metal - 1e-12;
}

}  // namespace

double undercut(const solid::Model& part, const std::set<int>& not_moulded, int axis, double height,
                std::set<int>* faces) {
  double sum = 0;
  for (const solid::Face& f : part.faces) {
    if (not_moulded.contains(f.id)) continue;
    double held = 0;
    for (const solid::Sample& s : f.samples) {
      const double z = coordinate(s.point, axis) - height, n = coordinate(s.normal, axis);
      if ((z > same && n < -lean) || (z < -same && n > lean)) held += s.area;
    }
    sum += held;
    if (held > worth && faces != nullptr) faces->insert(f.id);
  }
  return sum;
}

std::vector<Parting> partings(const solid::Model& part, const std::set<int>& not_moulded, double draft) {
  const double lo = part.box.lo.z, hi = part.box.hi.z;
  std::vector<Parting> out;
  out.push_back(parting_at(part, not_moulded, draft, "middle", 0.5 * (lo + hi)));
  out.push_back(parting_at(part, not_moulded, draft, "bottom", lo));
  out.push_back(parting_at(part, not_moulded, draft, "top", hi));
  std::stable_sort(out.begin(), out.end(), better);
  std::set<double> levels;
  for (const solid::PlaneFeature& p : part.planes)
    if (std::fabs(p.normal.z) > 1 - 1e-9) levels.insert(p.normal.z * p.offset);
  Parting best = out.front();
  for (const double z : levels) {
    if (z < lo + least_gap || z > hi - least_gap) continue;
    Parting p = parting_at(part, not_moulded, draft, "level", z);
    // Half way up stays unless a level holds less back: a parting line on a corner leaves its flash there.
    if (best.undercut - p.undercut > worth || (best.id == "level" && better(p, best))) best = std::move(p);
  }
  if (best.id == "level") out.insert(out.begin(), std::move(best));
  return out;
}

}  // namespace fettle::begin
