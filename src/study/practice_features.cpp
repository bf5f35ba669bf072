// Features of a plan as the rules of the trade see them: stock, edges, what drains where, what is asked of them.
#include <algorithm>
#include <cmath>
#include <map>

#include "ref/casting_grades.h"
#include "study/practice_model.h"

namespace fettle::study::rules {

using frame::Vec3;
using practice::Facts;
using practice::Feature;
using practice::Shape;
using practice::Start;

namespace {

Vec3 axis_of(const Surface& s) { return s.normal; }

double along(Vec3 n, Vec3 p) { return std::fabs(n.x) > 0.5 ? p.x : std::fabs(n.y) > 0.5 ? p.y : p.z; }

Shape shape_of(const std::string& kind) {
  if (kind == "face" || kind == "profile" || kind == "datum" || kind == "surface" || kind == "boss") return Shape::face;
  if (kind == "bore" || kind == "counterbore") return Shape::bore;
  if (kind == "hole") return Shape::hole;
  if (kind == "thread") return Shape::thread;
  if (kind == "pocket" || kind == "slot") return Shape::pocket;
  if (kind == "groove") return Shape::groove;
  return Shape::other;
}

Start start_of(const plan::Text& cast) {
  if (cast.value == "skin") return Start::skin;
  if (cast.value == "cored") return Start::cored;
  if (cast.value == "solid") return Start::solid;
  return Start::unknown;
}

double nominal_size(const plan::Feature& f, const Surface& s) {
  return f.diameter.value.nominal ? *f.diameter.value.nominal : 2 * s.radius;
}

/// Least stock on final surfaces, at the bad end of each raw size's tolerance, shared evenly unless the plan shares it.
std::map<std::string, double> least_stocks(const plan::Plan& plan) {
  std::map<std::string, double> out;
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (!s.raw.known()) continue;
    const int grade = s.grade.known() ? s.grade.value : plan.casting.tolerance_grade.value;
    const bool graded = s.grade.known() || plan.casting.tolerance_grade.known();
    if (!s.tolerance.known() && !graded) continue;
    const auto dct = s.tolerance.known() ? Outcome<double>(s.tolerance.si) : ref::dct(grade, s.raw.si);
    if (!dct.ok()) continue;
    const auto put = [&](const std::string& id, double stock) {
      const auto [it, fresh] = out.emplace(id, stock);
      if (!fresh) it->second = std::min(it->second, stock);
    };
    if (s.kind.value == "inside") {
      const Surface f = surface_of(plan, s.feature.value);
      if (f.there && f.round) put(id_of(s.feature.value), (nominal_size(*f.feature, f) - s.raw.si - 0.5 * *dct) / 2);
      continue;
    }
    std::vector<std::string> ends = s.between.value;
    if (s.kind.value == "height") ends.push_back(s.feature.value);
    if (ends.size() != 2) continue;
    const Surface a = surface_of(plan, ends[0]), b = surface_of(plan, ends[1]);
    if (!a.there || !b.there || a.round || b.round) continue;
    const double total = s.raw.si - std::fabs(frame::dot(b.normal, a.point - b.point));
    if (s.kind.value == "height") {
      put(id_of(ends[1]), total - 0.5 * *dct);
      continue;
    }
    const double last = s.stock.known() ? s.stock.si : 0.5 * total;
    put(id_of(ends[0]), total - last - 0.25 * *dct);
    put(id_of(ends[1]), last - 0.25 * *dct);
  }
  return out;
}

/// The last surface on the same metal.
std::string metal_of(const plan::Plan& plan, const std::string& id) {
  std::string at = id;
  for (std::size_t hops = 0; hops <= plan.features.size(); ++hops) {
    const plan::Feature* f = plan::find_feature(plan, plan::parse_reference(at).id);
    if (f == nullptr || !f->over.given()) break;
    at = id_of(f->over.value);
  }
  return at == id ? std::string() : at;
}

Extent extent_of(const plan::Feature& f, const Surface& s) {
  Extent e;
  if (!s.there) return e;
  e.axis = axis_of(s);
  if (f.from.known() && f.to.known()) e = {true, e.axis, f.from.si, f.to.si};
  else if (!s.round) e = {true, e.axis, along(e.axis, s.point), along(e.axis, s.point)};
  return e;
}

/// Surfaces on which a feature has an edge: those it opens on, or the outside faces round an outside face.
void fill_edges(std::vector<Known>& all) {
  for (Known& k : all) {
    for (const Known& g : all) {
      if (&g == &k || !g.s.there || g.s.round || g.f.shape != Shape::face) continue;
      const Vec3 n = g.s.normal;
      if (outside_face(k.f) && outside_face(g.f) && std::fabs(frame::dot(k.s.normal, n)) < 0.5) {
        k.f.edges_on.push_back(g.f.id);
        continue;
      }
      if (k.f.shape == Shape::face || !k.e.there || std::fabs(frame::dot(k.e.axis, n)) < 0.5) continue;
      const double z = along(n, g.s.point);
      if (std::fabs(z - k.e.from) < near || std::fabs(z - k.e.to) < near) k.f.edges_on.push_back(g.f.id);
    }
  }
}

/// The last operation whose cuts name the feature.
const plan::Operation* last_cut_in(const plan::Plan& plan, const Known& k) {
  const plan::Operation* last = nullptr;
  for (const plan::Operation& o : plan.operations)
    for (const plan::Cut& c : o.cuts)
      for (const std::string& r : c.features.value)
        if (id_of(r) == k.f.id) last = &o;
  return last;
}

bool placed(const Known& k) { return k.e.there && !k.source->at.value.empty(); }

/// Which bores lie below a feature on the same axis, as the part stands when the feature is last cut. Patterns lie
/// beside each other. Left unsaid where the place of either or the way up is not known.
void fill_drains(const plan::Plan& plan, std::vector<Known>& all) {
  std::vector<const Known*> bores;
  bool known = true;
  for (const Known& k : all)
    if (k.f.shape == Shape::bore || k.f.shape == Shape::hole) {
      bores.push_back(&k);
      known = known && placed(k);
    }
  for (Known& high : all) {
    if (outside_face(high.f) || (placed(high) && high.source->at.value.size() > 1)) {
      high.f.drains_into.emplace();
      continue;
    }
    const plan::Operation* o = last_cut_in(plan, high);
    if (!known || !placed(high) || (o != nullptr && !o->up.known())) continue;
    high.f.drains_into.emplace();
    if (o == nullptr) continue;
    const Vec3 up = direction(o->up.value);
    if (std::fabs(frame::dot(up, high.e.axis)) < 0.5) continue;
    const double sign = up.x + up.y + up.z, bottom = sign > 0 ? high.e.from : -high.e.to;
    for (const Known* low : bores) {
      if (&high == low || low->source->at.value.size() != 1 || std::fabs(frame::dot(up, low->e.axis)) < 0.5) continue;
      const Vec3 d = high.s.point - low->s.point, aside = d - frame::dot(d, up) * up;
      const double top = sign > 0 ? low->e.to : -low->e.from;
      if (frame::norm(aside) <= near && bottom >= top - near) high.f.drains_into->push_back(low->f.id);
    }
  }
}

/// Metal between a hole's wall and the nearest raw side of the casting, the least stock on it included.
void fill_edge_walls(std::vector<Known>& all) {
  for (Known& k : all) {
    if (k.f.shape != Shape::thread || k.s.normal == Vec3{}) continue;
    const double radius = k.source->thread.known() ? 0.5 * k.source->thread.value.major : k.s.radius;
    for (const Known& g : all) {
      if (!outside_face(g.f) || !g.f.metal.empty() || !g.s.there || std::fabs(frame::dot(g.s.normal, k.s.normal)) > 0.5)
        continue;
      for (const Vec3 p : k.source->at.value) {
        const double wall = frame::dot(g.s.normal, g.s.point - p) + g.f.least_stock.value_or(0) - radius;
        if (!k.f.edge_wall || wall < *k.f.edge_wall) k.f.edge_wall = wall;
      }
    }
  }
}

void fill_requirements(const plan::Plan& plan, Facts& facts, std::vector<Known>& all) {
  for (const plan::Requirement& q : plan.requirements) {
    facts.critical_said = facts.critical_said || q.critical.known();
    for (Known& k : all) {
      const plan::Reference r = plan::parse_reference(q.feature.value);
      if (k.source->id.value != r.id || (!r.side.empty() && k.f.id != id_of(q.feature.value))) continue;
      const unit::Limits& l = q.limits.value;
      if (q.critical.known() && q.critical.value) k.f.critical = true;
      if (q.kind.value == "size" && (k.s.round || k.f.shape != Shape::face)) {
        k.f.gauged = true;
        // The feature's own limits stand in for a requirement that gives none.
        const unit::Limits& of = q.limits.known() ? l : k.source->diameter.value;
        if (of.lower && of.upper && !(k.f.tolerance && *k.f.tolerance <= *of.upper - *of.lower)) {
          k.f.tolerance = *of.upper - *of.lower;
          k.f.size = of.nominal ? *of.nominal : 0.5 * (*of.upper + *of.lower);
        }
      }
      if (q.kind.value == "flatness" && l.upper) k.f.flatness = *l.upper;
    }
  }
}

}  // namespace

std::string id_of(std::string_view reference) {
  const plan::Reference r = plan::parse_reference(reference);
  return r.id + (r.side.empty() ? "" : "." + r.side);
}

std::vector<std::string> ids_of(const plan::Plan& plan, std::string_view reference) {
  const plan::Reference r = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, r.id);
  if (f == nullptr) return {};
  if (!r.side.empty()) return {id_of(reference)};
  return sides_of(*f);
}

const Known* find(const std::vector<Known>& all, const std::string& id) {
  const auto it = std::find_if(all.begin(), all.end(), [&](const Known& k) { return k.f.id == id; });
  return it == all.end() ? nullptr : &*it;
}

bool outside_face(const Feature& f) { return f.shape == Shape::face && f.start == Start::skin; }

std::vector<Known> features_of(const plan::Plan& plan, Facts& facts) {
  std::vector<Known> all;
  const auto stock = least_stocks(plan);
  for (const plan::Feature& f : plan.features)
    for (const std::string& id : sides_of(f)) {
      Known k;
      k.source = &f;
      k.s = surface_of(plan, id);
      k.e = extent_of(f, k.s);
      if (f.kind.value == "thread" && !k.s.there && f.normal.known() && !f.at.value.empty()) {
        k.s.normal = direction(f.normal.value);
        k.s.point = f.at.value.front();
        if (f.from.known() && f.to.known()) k.e = {true, k.s.normal, f.from.si, f.to.si};
      }
      k.f.id = id;
      k.f.words = words_of(plan, id);
      k.f.metal = metal_of(plan, id);
      k.f.shape = shape_of(f.kind.value);
      k.f.start = f.cast.known() ? start_of(f.cast) : Start::unknown;
      k.f.sealing = f.kind.value == "groove";
      if (k.f.shape == Shape::face && k.s.there) k.f.normal = k.s.normal;
      const std::string last = k.f.metal.empty() ? id : k.f.metal;
      if (const auto it = stock.find(last); it != stock.end()) {
        const Surface finished = surface_of(plan, last);
        double above = 0;
        if (k.s.there && finished.there && !k.s.round && !finished.round)
          above = frame::dot(finished.normal, k.s.point - finished.point);
        k.f.least_stock = it->second - above;
      }
      all.push_back(std::move(k));
    }
  fill_requirements(plan, facts, all);
  fill_edges(all);
  fill_drains(plan, all);
  fill_edge_walls(all);
  return all;
}

}  // namespace fettle::study::rules
