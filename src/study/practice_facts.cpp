// The plan flattened into what the rules of the trade look at.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/text.h"
#include "ref/casting_grades.h"
#include "ref/materials.h"
#include "study/internal.h"
#include "study/plan_times.h"
#include "study/practice.h"

namespace fettle::study {

using frame::Vec3;
using practice::Facts;
using practice::Feature;
using practice::Pass;
using practice::Shape;
using practice::Start;
using practice::ToolKind;
using practice::Touch;

namespace {

constexpr double near = 1e-6;    // m, two places that are one
constexpr double button = 3e-3;  // m, radius of a rest or stop (common practice: buttons of 6 mm)

/// "F7@2" -> "F7": the rules know patterns as one feature.
std::string id_of(std::string_view reference) {
  const plan::Reference r = plan::parse_reference(reference);
  return r.id + (r.side.empty() ? "" : "." + r.side);
}

/// The features that a reference stands for: all four sides for a bare profile.
std::vector<std::string> ids_of(const plan::Plan& plan, std::string_view reference) {
  const plan::Reference r = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, r.id);
  if (f == nullptr) return {};
  if (!r.side.empty()) return {id_of(reference)};
  return sides_of(*f);
}

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

practice::Iron iron_of(const plan::Plan& plan) {
  const plan::Text& grade = plan.casting.grade.known() ? plan.casting.grade : plan.part.material;
  const auto m = ref::material(grade.value);
  if (!grade.known() || !m.ok()) return practice::Iron::unknown;
  if (m->group == "grey iron") return practice::Iron::grey;
  return m->group == "ductile iron" || m->group == "malleable iron" ? practice::Iron::ductile : practice::Iron::other;
}

/// The largest number of a hardness in words, when it speaks of corners: "180 to 220 HB, up to 260 HB at corners".
std::optional<double> hardest_of(const plan::Text& words) {
  const std::string text = base::lower(words.value);
  if (text.find("corner") == std::string::npos && text.find("edge") == std::string::npos &&
      text.find("thin") == std::string::npos)
    return {};
  std::optional<double> most;
  std::string digits;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && ((text[i] >= '0' && text[i] <= '9') || (text[i] == '.' && !digits.empty()))) {
      digits += text[i];
      continue;
    }
    while (!digits.empty() && digits.back() == '.') digits.pop_back();
    if (const auto x = base::to_double(digits); x && *x >= 50 && *x <= 1000 && !(most && *most >= *x)) most = x;
    digits.clear();
  }
  return most;
}

// ---- stock ----------------------------------------------------------------------------------------------------------

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

// ---- features -------------------------------------------------------------------------------------------------------

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

struct Extent {
  bool there = false;
  Vec3 axis;
  double from = 0, to = 0;
};
Extent extent_of(const plan::Feature& f, const Surface& s) {
  Extent e;
  if (!s.there) return e;
  e.axis = axis_of(s);
  if (f.from.known() && f.to.known()) e = {true, e.axis, f.from.si, f.to.si};
  else if (!s.round) e = {true, e.axis, along(e.axis, s.point), along(e.axis, s.point)};
  return e;
}

bool outside_face(const Feature& f) { return f.shape == Shape::face && f.start == Start::skin; }

struct Known {
  Feature f;
  const plan::Feature* source = nullptr;
  Surface s;
  Extent e;
};

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

// ---- cuts -----------------------------------------------------------------------------------------------------------

ToolKind tool_kind(const plan::Tool* t) {
  if (t == nullptr) return ToolKind::unknown;
  static const std::map<std::string, ToolKind> kinds = {{"end mill", ToolKind::end_mill},
                                                        {"face mill", ToolKind::face_mill},
                                                        {"drill", ToolKind::drill},
                                                        {"reamer", ToolKind::reamer},
                                                        {"tap", ToolKind::tap},
                                                        {"thread mill", ToolKind::thread_mill},
                                                        {"boring tool", ToolKind::boring},
                                                        {"keyseat cutter", ToolKind::keyseat},
                                                        {"chamfer", ToolKind::chamfer},
                                                        {"probe", ToolKind::probe}};
  const auto it = kinds.find(t->kind.value);
  return it == kinds.end() ? ToolKind::unknown : it->second;
}

Pass pass_of(const plan::Text& kind, ToolKind tool) {
  static const std::map<std::string, Pass> passes = {
      {"rough", Pass::rough},     {"finish", Pass::finish}, {"rough and finish", Pass::rough_and_finish},
      {"drill", Pass::drill},     {"ream", Pass::ream},     {"tap", Pass::tap},
      {"chamfer", Pass::chamfer}, {"bore", Pass::bore},     {"groove", Pass::groove},
      {"probe", Pass::probe}};
  if (const auto it = passes.find(kind.value); kind.known() && it != passes.end()) return it->second;
  switch (tool) {
    case ToolKind::drill:
      return Pass::drill;
    case ToolKind::reamer:
      return Pass::ream;
    case ToolKind::tap:
    case ToolKind::thread_mill:
      return Pass::tap;
    case ToolKind::chamfer:
      return Pass::chamfer;
    case ToolKind::probe:
      return Pass::probe;
    case ToolKind::keyseat:
      return Pass::groove;
    default:
      return Pass::unknown;
  }
}

practice::Exit exit_of(const plan::Text& words) {
  using practice::Exit;
  if (words.value == "into stock") return Exit::into_stock;
  if (words.value == "broken edge") return Exit::edge_broken;
  if (words.value == "rolls out") return Exit::rolls_out;
  return words.value == "sharp edge" ? Exit::sharp : Exit::unknown;
}

const Known* find(const std::vector<Known>& all, const std::string& id) {
  const auto it = std::find_if(all.begin(), all.end(), [&](const Known& k) { return k.f.id == id; });
  return it == all.end() ? nullptr : &*it;
}

/// The plan's number that says how deep the cut goes into this surface: the width beside it, the depth on it.
const plan::Number* into_surface(const plan::Cut& c, const Known& k, Vec3 up) {
  if (k.s.round || k.f.shape == Shape::groove || k.f.shape == Shape::pocket || k.f.shape == Shape::thread)
    return k.f.shape == Shape::bore && c.width.known() ? &c.width : nullptr;
  if (!k.s.there || up == Vec3{}) return nullptr;
  return std::fabs(frame::dot(k.s.normal, up)) > 0.5 ? &c.depth : &c.width;
}

/// What a rough cut leaves: as said, or what the next cut on the same feature in this operation takes.
std::optional<double> leaves_of(const plan::Operation& o, std::size_t at, const Known& k, Vec3 up) {
  if (o.cuts[at].stock.known()) return o.cuts[at].stock.si;
  for (std::size_t i = at + 1; i < o.cuts.size(); ++i)
    for (const std::string& r : o.cuts[i].features.value) {
      const std::string id = id_of(r);
      if (id != k.f.id && id != k.source->id.value) continue;
      const plan::Number* n = into_surface(o.cuts[i], k, up);
      if (n != nullptr && n->known()) return n->si;
      return {};
    }
  return {};
}

/// Surfaces over whose edge a mill leaves for certain: round a plane that it crosses. A profile is run round, a pocket
/// is left upwards.
std::vector<std::string> leaves_over(const std::vector<Known>& all, const Known& k, ToolKind tool, Vec3 up) {
  std::vector<std::string> out;
  if ((tool != ToolKind::face_mill && tool != ToolKind::end_mill) || k.source->kind.value != "face" ||
      !outside_face(k.f))
    return out;
  const bool on_top = std::fabs(frame::dot(k.s.normal, up)) > 0.5;
  for (const std::string& id : k.f.edges_on) {
    const Known* g = find(all, id);
    if (g != nullptr && (on_top || std::fabs(frame::dot(g->s.normal, up)) < 0.5)) out.push_back(id);
  }
  return out;
}

void add_cuts(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
              practice::Operation& out) {
  const Vec3 up = o.up.known() ? direction(o.up.value) : Vec3{};
  std::set<std::string> done;
  for (std::size_t i = 0; i < o.cuts.size(); ++i) {
    const plan::Cut& c = o.cuts[i];
    const plan::Tool* tool = plan::find_tool(plan, c.tool.value);
    practice::Cut cut;
    cut.tool = c.tool.value;
    cut.kind = tool_kind(tool);
    cut.pass = pass_of(c.kind, cut.kind);
    cut.exit = exit_of(c.exit);
    if (cut.kind == ToolKind::tap && tool->forms.known()) cut.forms = tool->forms.value;
    std::vector<practice::Cut> groups;
    for (const std::string& r : c.features.value)
      for (const std::string& id : ids_of(plan, r)) {
        const Known* k = find(all, id);
        if (k == nullptr) continue;
        if (cut.pass != Pass::chamfer && cut.pass != Pass::probe) done.insert(id);
        practice::Cut one = cut;
        if (const plan::Number* n = into_surface(c, *k, up); n != nullptr && n->known()) {
          if (n->banded()) one.least_depth = n->low;
          one.pass_depth = n->banded() ? n->high : n->si;
        }
        if (cut.pass == Pass::rough) one.leaves = leaves_of(o, i, *k, up);
        one.leaves_over = leaves_over(all, *k, cut.kind, up);
        // Features that the cut treats alike stay together, so that it is one cut for the rules as well.
        const auto same = std::find_if(groups.begin(), groups.end(), [&](const practice::Cut& g) {
          return g.least_depth == one.least_depth && g.pass_depth == one.pass_depth && g.leaves == one.leaves &&
                 g.leaves_over == one.leaves_over;
        });
        if (same == groups.end()) groups.push_back(std::move(one)), groups.back().features = {id};
        else same->features.push_back(id);
      }
    if (groups.empty()) groups.push_back(cut);
    for (practice::Cut& g : groups) out.cuts.push_back(std::move(g));
  }
  practice::Cut rest;  // what the operation makes and no cut names
  const bool grind = o.kind.value == "grind", hone = o.kind.value == "hone";
  rest.kind = grind ? ToolKind::wheel : hone ? ToolKind::hone : ToolKind::unknown;
  rest.pass = grind ? Pass::grind : hone ? Pass::hone : Pass::unknown;
  for (const std::string& r : o.makes.value)
    for (const std::string& id : ids_of(plan, r))
      if (done.insert(id).second) rest.features.push_back(id);
  if (!rest.features.empty()) out.cuts.push_back(std::move(rest));
}

// ---- contacts -------------------------------------------------------------------------------------------------------

/// Something made here has its place along that direction: a face across it, or a hole beside it.
bool steers(const std::vector<Known>& all, const practice::Operation& o, Vec3 n) {
  for (const practice::Cut& c : o.cuts) {
    if (c.pass == Pass::chamfer || c.pass == Pass::probe) continue;
    for (const std::string& id : c.features) {
      const Known* k = find(all, id);
      if (k == nullptr) continue;
      if (!k->s.there && k->s.normal == Vec3{}) return true;
      const double with = std::fabs(frame::dot(k->s.normal, n));
      const bool plane = k->f.shape == Shape::face;
      if (plane ? with > 0.5 : with < 0.5 || k->source->depth.known() || k->source->from.known()) return true;
    }
  }
  return false;
}

Touch touch_of(const std::string& kind) {
  if (kind == "stop") return Touch::stop;
  if (kind == "jaw") return Touch::jaw;
  if (kind == "centre") return Touch::centre;
  if (kind == "round pin") return Touch::round_pin;
  if (kind == "relieved pin") return Touch::relieved_pin;
  return kind == "chuck" ? Touch::chuck : Touch::rest;
}

void add_locators(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
                  practice::Operation& out) {
  for (const plan::Locator& l : o.locators) {
    std::optional<Vec3> first;
    for (const std::string& on : base::split(l.on.value, ' ')) {
      const Surface s = surface_of(plan, on);
      practice::Contact k;
      k.name = l.id.known() ? l.id.value : l.kind.value;
      k.touch = touch_of(l.kind.value);
      k.on = id_of(on);
      k.reach = button;
      const bool pin = k.touch == Touch::round_pin || k.touch == Touch::relieved_pin;
      k.steers = pin || (s.there && steers(all, out, l.normal.known() ? direction(l.normal.value) : s.normal));
      std::vector<Vec3> points = l.at.value;
      if (first && s.there) {  // the other side of a centre is touched across from the first
        for (Vec3& p : points) p = p + frame::dot(s.normal, s.point - p) * s.normal;
      }
      if (!first && s.there) first = s.point;
      if (points.empty()) out.contacts.push_back(k);
      for (const Vec3 p : points) {
        k.at = p;
        out.contacts.push_back(k);
      }
    }
  }
}

void add_clamps(const plan::Plan& plan, const plan::Operation& o, practice::Operation& out) {
  for (const plan::Clamp& c : o.clamps) {
    practice::Contact k;
    k.name = c.id.known() ? c.id.value : c.kind.value;
    k.touch = Touch::clamp;
    if (c.on.known()) k.on = id_of(c.on.value);
    const bool one_place = c.kind.value == "screw" || c.kind.value == "strap";
    Vec3 d;
    if (c.direction.known()) d = direction(c.direction.value);
    else if (const Surface s = surface_of(plan, c.on.value); s.there && !s.round) d = -s.normal;
    if (one_place && !(d == Vec3{})) k.pushes = d;
    const auto& size = plan.part.size.value;
    if (one_place && size.size() == 3)
      out.thickness = std::fabs(d.x) * size[0] + std::fabs(d.y) * size[1] + std::fabs(d.z) * size[2];
    if (c.at.value.empty()) out.contacts.push_back(k);
    for (const Vec3 p : c.at.value) {
      k.at = p;
      out.contacts.push_back(k);
    }
  }
}

/// The cut or raw plane that looks away from the spindle, the farthest one: what lies on the pads.
const Known* seat_of(const std::vector<Known>& all, Vec3 up) {
  const Known* seat = nullptr;
  for (const Known& k : all) {
    if (k.f.shape != Shape::face || !k.s.there || frame::dot(k.s.normal, up) > -0.5) continue;
    if (seat == nullptr || frame::dot(up, k.s.point) < frame::dot(up, seat->s.point) - near) seat = &k;
  }
  return seat;
}

/// Least thickness that a screw through this hole clamps.
std::optional<double> grip_of(const plan::Plan& plan, const Known& hole) {
  if (!hole.e.there) return {};
  std::optional<double> grip = hole.e.to - hole.e.from;
  for (const plan::Requirement& q : plan.requirements) {
    if (q.kind.value != "distance" || !q.limits.value.lower) continue;
    const auto on = [&](const plan::Text& t) {
      return std::find(hole.f.edges_on.begin(), hole.f.edges_on.end(), id_of(t.value)) != hole.f.edges_on.end();
    };
    if (on(q.feature) && on(q.to) && q.feature.value != q.to.value) grip = std::min(*grip, *q.limits.value.lower);
  }
  return grip;
}

void add_pins(const plan::Plan& plan, practice::Operation& out) {
  std::vector<Surface> holes;
  for (const plan::Pin& p : plan.pallet.pins) {
    practice::Pin x;
    const Surface hole = surface_of(plan, p.in.value);
    x.id = p.id.known() ? p.id.value : p.kind.value;
    x.in = id_of(p.in.value);
    x.round = p.kind.value == "round";
    if (p.height.known()) x.height = p.height.si;
    const plan::Limits& land = !x.round && p.land.known() ? p.land : p.diameter;
    if (hole.there && hole.feature->diameter.value.lower && land.known() && land.value.upper)
      x.clearance = *hole.feature->diameter.value.lower - *land.value.upper;
    out.pins.push_back(std::move(x));
    holes.push_back(hole);
  }
  if (out.pins.size() != 2 || !holes[0].there || !holes[1].there) return;
  const Vec3 d = holes[1].point - holes[0].point;
  for (practice::Pin& x : out.pins) x.span = std::hypot(d.x, d.y);
}

void add_nest_screws(const plan::Plan& plan, const std::vector<Known>& all, Vec3 up, practice::Operation& out) {
  for (const plan::NestScrew& s : plan.pallet.screws) {
    const Known* hole = s.through.known() ? find(all, id_of(s.through.value)) : nullptr;
    practice::Screw x;
    x.id = s.through.known() ? id_of(s.through.value) : s.thread.typed;
    if (s.shoulder.known()) x.shoulder = s.shoulder.si;
    if (hole != nullptr) x.grip = grip_of(plan, *hole);
    if (x.grip) out.thickness = x.grip;
    out.screws.push_back(std::move(x));
    practice::Contact k;
    k.name = "screw";
    k.touch = Touch::clamp;
    k.pushes = -up;
    if (s.head.known()) k.reach = 0.5 * s.head.si;
    if (hole != nullptr)
      for (const std::string& face : hole->f.edges_on)
        if (const Known* g = find(all, face); g != nullptr && frame::dot(g->s.normal, up) > 0.5) k.on = face;
    const double top = hole != nullptr && hole->e.there ? std::max(hole->e.from, hole->e.to) : 1.0;
    const auto& places = hole != nullptr ? hole->source->at.value : s.at.value;
    for (const Vec3 p : places) {
      k.at = Vec3{p.x, p.y, top};
      out.contacts.push_back(k);
    }
    if (places.empty()) out.contacts.push_back(k);
  }
}

void add_pallet(const plan::Plan& plan, const std::vector<Known>& all, practice::Operation& out) {
  const plan::Pallet& p = plan.pallet;
  const Vec3 up{0, 0, 1};
  const Known* seat = seat_of(all, up);
  for (const plan::Pad& pad : p.pads)
    for (const Vec3 at : pad.at.value) {
      practice::Contact k;
      k.name = "pad";
      k.touch = Touch::rest;
      if (seat != nullptr) k.on = seat->f.id;
      k.at = seat != nullptr ? Vec3{at.x, at.y, seat->s.point.z} : at;
      k.reach = pad.diameter.known() ? 0.5 * pad.diameter.si : button;
      k.steers = true;
      out.contacts.push_back(std::move(k));
    }
  add_pins(plan, out);
  add_nest_screws(plan, all, up, out);
  for (const plan::RunOff& r : p.run_offs) {
    practice::RunOff t;
    if (r.closed_end.known()) t.closed_end = r.closed_end.si;
    if (r.slope.known()) t.slope = r.slope.si;
    out.run_offs.push_back(t);
  }
  std::size_t nests = 0;
  for (const plan::Nest& n : p.nests) nests += n.at.value.size();
  out.at_once = static_cast<int>(std::max<std::size_t>(1, nests));
}

// ---- what is done besides -------------------------------------------------------------------------------------------

practice::How how_of(const std::string& kind) {
  using practice::How;
  static const std::map<std::string, How> ways = {
      {"grind", How::grind},   {"vise", How::vise},   {"vise gang", How::vise_gang}, {"jaw carrier", How::jaw_carrier},
      {"pallet", How::pallet}, {"chuck", How::chuck}, {"hone", How::hone},           {"deburr", How::deburr},
      {"wash", How::wash},     {"gauge", How::gauge}};
  const auto it = ways.find(kind);
  return it == ways.end() ? How::other : it->second;
}

practice::Steps steps_of(const plan::Plan& plan, const plan::Operation& o) {
  practice::Steps s;
  const std::pair<const char*, std::optional<bool>*> words[] = {{"shim", &s.shims},
                                                                {"demagnetise", &s.demagnetises},
                                                                {"deburr", &s.deburrs},
                                                                {"wash", &s.washes},
                                                                {"oil", &s.oils},
                                                                {"blow off", &s.cleans_seats},
                                                                {"look for pores", &s.looks_for_pores},
                                                                {"gauge", &s.gauges},
                                                                {"soak", &s.soaks},
                                                                {"single block", &s.single_block}};
  if (o.does.given())
    for (const auto& [word, done] : words)
      *done = std::find(o.does.value.begin(), o.does.value.end(), word) != o.does.value.end();
  if (o.kind.value == "deburr") s.deburrs = true;
  if (o.kind.value == "wash") s.washes = true;
  if (o.kind.value == "gauge") s.gauges = true;
  // Time for cleaning at every loading is time in which it is done.
  if (!s.cleans_seats && o.kind.value == "pallet" && plan.shop.people.clean_time.known() &&
      plan.shop.people.clean_time.si > 0)
    s.cleans_seats = true;
  return s;
}

/// Coolant or wash water on bare iron. Grinding is wet, a hone works in oil, a bench is dry (common practice).
std::optional<bool> wet_of(const plan::Plan& plan, const plan::Operation& o, const practice::Steps& s) {
  if (s.washes && *s.washes) return true;
  if (o.kind.value == "grind" || o.kind.value == "wash") return true;
  if (o.kind.value == "hone" || o.kind.value == "deburr" || o.kind.value == "gauge") return false;
  const plan::Machine* m = o.machine.known() ? find_machine(plan, o.machine.value) : nullptr;
  if (m == nullptr || !m->coolant.known()) return {};
  return m->coolant.si > 0;
}

std::optional<bool> magnet_of(const plan::Operation& o) {
  const bool chuck =
      std::any_of(o.locators.begin(), o.locators.end(), [](const plan::Locator& l) { return l.kind.value == "chuck"; });
  for (const plan::Clamp& c : o.clamps) {
    if (c.kind.value == "magnet") return true;
    if (chuck) return false;  // held some other way
  }
  if (!chuck) return false;
  return o.kind.value == "grind" ? std::optional(true) : std::nullopt;
}

void add_times(const OperationTime& t, const plan::Operation& o, practice::Operation& out) {
  if (!t.missing.empty()) return;
  const double each = std::max(t.machine_per_part, t.person_per_part) + t.gauging_per_part;
  if (each > 0) out.part_time = each;
  if (!(each > 0) && t.bought) out.part_time = 0;  // the time of others is not ours; its money is spent in small change
  // Parts wait for their lot, in a basket or on a pallet for their fellows there; how long a queue is nobody knows.
  const double lot = o.lot.known() ? o.lot.value : o.parts.known() ? o.parts.value : t.pallet ? t.parts : 0;
  if (each > 0 && lot > 0) out.lot_time = lot * each + (o.wait.known() ? o.wait.si : 0);
}

practice::Operation operation_of(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
                                 const OperationTime* time) {
  practice::Operation out;
  out.id = o.id.value;
  out.words = o.name.known() ? o.name.value : o.id.value;
  out.how = how_of(o.kind.value);
  out.at_once = o.parts.known() ? std::max(1, o.parts.value) : 1;
  out.steps = steps_of(plan, o);
  out.wet = wet_of(plan, o, out.steps);
  out.magnetic = magnet_of(o);
  add_cuts(plan, all, o, out);
  add_locators(plan, all, o, out);
  add_clamps(plan, o, out);
  if (o.kind.value == "pallet") add_pallet(plan, all, out);
  if (time != nullptr) add_times(*time, o, out);
  return out;
}

// ---- requirements between features ----------------------------------------------------------------------------------

/// Features that carry a datum letter.
std::vector<std::string> datum_features(const plan::Plan& plan, const std::string& letter) {
  std::vector<std::string> out;
  for (const plan::Feature& f : plan.features) {
    if (!f.datum.known()) continue;
    const auto letters = base::split(f.datum.value, ' ');
    if (std::find(letters.begin(), letters.end(), letter) == letters.end()) continue;
    for (const std::string& id : sides_of(f)) out.push_back(id);
  }
  return out;
}

void add_relations(const plan::Plan& plan, Facts& facts) {
  static const std::set<std::string> kinds = {"position", "coaxiality", "perpendicularity", "parallelism", "angularity",
                                              "symmetry", "runout",     "total runout",     "distance",    "depth"};
  for (const plan::Requirement& q : plan.requirements) {
    const unit::Limits& l = q.limits.value;
    if (kinds.count(q.kind.value) == 0 || !q.limits.known() || !l.upper) continue;
    practice::Relation r;
    r.id = q.id.value;
    r.feature = id_of(q.feature.value);
    r.zone = l.lower ? *l.upper - *l.lower : *l.upper;
    if (q.to.known()) r.to.push_back(id_of(q.to.value));
    for (const std::string& letter : q.datums.value)
      for (const std::string& id : datum_features(plan, letter)) r.to.push_back(id);
    if (!r.to.empty()) facts.relations.push_back(std::move(r));
  }
}

std::optional<double> expansion_of(const plan::Plan& plan) {
  if (plan.part.expansion.known()) return plan.part.expansion.si;
  const auto m = ref::material(plan.part.material.value);
  if (plan.part.material.known() && m.ok()) return m->expansion.value;
  return {};
}

}  // namespace

Facts practice_facts(const plan::Plan& plan) {
  Facts f;
  const plan::Casting& c = plan.casting;
  f.inch = plan.header.units.value == "inch";
  f.casting.iron = iron_of(plan);
  if (c.skin.known()) f.casting.skin = c.skin.si;
  if (c.parting.known()) f.casting.parting = c.parting.si;
  if (c.warp.known()) f.casting.warp = c.warp.si;
  if (c.hardness.known()) f.casting.hardest = hardest_of(c.hardness);
  for (const plan::Gate& g : c.gates)
    for (const Vec3 p : g.at.value) f.casting.gates.push_back({g.id.value, id_of(g.face.value), p, g.width.si});
  const std::vector<Known> all = features_of(plan, f);
  for (const Known& k : all) f.features.push_back(k.f);
  const PlanTimes times = plan_times(plan);
  for (const plan::Operation& o : plan.operations)
    f.operations.push_back(operation_of(plan, all, o, times.find(o.id.value)));
  add_relations(plan, f);
  const plan::Room& room = plan.shop.room;
  if (room.part_off_machine.known()) f.warm = room.part_off_machine.si;
  if (room.temperature_low.known()) f.gauge_at = room.temperature_low.si;
  f.expansion = expansion_of(plan);
  return f;
}

}  // namespace fettle::study
