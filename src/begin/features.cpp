#include "begin/features.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

double nano(double x) { return std::round(x * 1e9) / 1e9; }
bool near(double a, double b, double tolerance = 2e-6) { return std::fabs(a - b) <= tolerance; }
double along(Vec3 axis, Vec3 p) { return std::fabs(axis.x) > 0.5 ? p.x : std::fabs(axis.y) > 0.5 ? p.y : p.z; }

void give(plan::Points& v, const std::vector<Vec3>& points, bool inch) {
  v.origin = plan::Origin::given;
  for (Vec3 p : points) v.value.push_back({nano(p.x), nano(p.y), nano(p.z)});
  v.typed = points.size() == 1 ? point_text(points[0], inch) : "";
}
void give(plan::Sizes& v, const std::vector<double>& sizes, bool inch) {
  v.origin = plan::Origin::given;
  for (double s : sizes) {
    v.value.push_back(nano(s));
    v.typed += (v.typed.empty() ? "" : " x ") + base::shortest(nano(s) / (inch ? 0.0254 : 1e-3));
  }
  v.typed += inch ? " in" : " mm";
}
void length(plan::Number& v, double si, bool inch) {
  begin::give(v, nano(si), unit::Kind::length, length_text(si, inch));
}

plan::Feature base_feature(const std::string& id, const std::string& kind, const std::string& name) {
  plan::Feature f;
  begin::give(f.id, id);
  begin::give(f.kind, kind);
  if (!name.empty()) begin::give(f.name, name);
  return f;
}

/// The outside: four sides that reach the box make a profile; top and bottom are faces.
void outside(const solid::Model& m, Features& out, bool inch) {
  const auto at_box = [&](Vec3 n) -> const solid::PlaneFeature* {
    const solid::PlaneFeature* best = nullptr;
    for (const auto& p : m.planes) {
      if (frame::dot(p.normal, n) < 1 - 1e-9) continue;
      const double edge = frame::dot(n, n.x + n.y + n.z > 0 ? m.box.hi : m.box.lo);
      if (near(frame::dot(n, p.centroid), edge) && (best == nullptr || p.area > best->area)) best = &p;
    }
    return best;
  };
  const Vec3 middle = 0.5 * (m.box.lo + m.box.hi), size = m.box.hi - m.box.lo;
  const struct {
    const char* word;
    Vec3 n;
  } sides[] = {{"+x", {1, 0, 0}}, {"-x", {-1, 0, 0}}, {"+y", {0, 1, 0}}, {"-y", {0, -1, 0}}};
  const solid::PlaneFeature* found[4];
  bool all = true;
  for (int i = 0; i < 4; ++i) all = ((found[i] = at_box(sides[i].n)) != nullptr) && all;
  const auto bind = [&](const std::string& reference, const solid::PlaneFeature& p) {
    Bound b;
    b.reference = reference;
    b.faces.insert(p.faces.begin(), p.faces.end());
    b.point = p.centroid;
    b.axis = p.normal;
    out.bound.push_back(b);
  };
  if (all) {
    plan::Feature f = base_feature("outside", "profile", "outside profile");
    give(f.at, {middle}, inch);
    give(f.size, {size.x, size.y}, inch);
    length(f.from, m.box.lo.z, inch);
    length(f.to, m.box.hi.z, inch);
    double corner = 0;
    for (const auto& r : m.rounds)
      if (!r.concave && std::fabs(r.dir.z) > 0.999 && near(r.turn, 1.5707963, 0.02))
        corner = std::max(corner, r.radius);
    if (corner == 0)  // corners as convex cylinder faces along Z that reach two sides of the box
      for (const auto& c : m.faces)
        if (c.kind == solid::Kind::cylinder && !c.concave && std::fabs(c.axis.z) > 0.999 &&
            (near(c.box.hi.x, m.box.hi.x) || near(c.box.lo.x, m.box.lo.x)) &&
            (near(c.box.hi.y, m.box.hi.y) || near(c.box.lo.y, m.box.lo.y)))
          corner = std::max(corner, c.radius);
    if (corner > 0) length(f.radius, corner, inch);
    out.list.push_back(f);
    for (int i = 0; i < 4; ++i) bind(std::string("outside.") + sides[i].word, *found[i]);
  }
  const struct {
    const char* id;
    const char* word;
    Vec3 n;
  } ends[] = {{"bottom", "-z", {0, 0, -1}}, {"top", "+z", {0, 0, 1}}};
  for (const auto& e : ends) {
    const auto* p = at_box(e.n);
    if (p == nullptr) continue;
    plan::Feature f = base_feature(e.id, "face", std::string(e.id) + " face");
    give(f.at, {{middle.x, middle.y, e.n.z > 0 ? m.box.hi.z : m.box.lo.z}}, inch);
    begin::give(f.normal, e.word);
    give(f.size, {p->box.hi.x - p->box.lo.x, p->box.hi.y - p->box.lo.y}, inch);
    out.list.push_back(f);
    bind(e.id, *p);
  }
  std::set<const solid::PlaneFeature*> used(found, found + 4);
  used.insert(at_box({0, 0, 1}));
  used.insert(at_box({0, 0, -1}));
  int n = 0, oblique = 0;
  for (const auto& p : m.planes) {
    if ((all && used.count(&p) > 0) || (!all && (&p == at_box({0, 0, 1}) || &p == at_box({0, 0, -1}))) || p.floor)
      continue;
    const std::string word = axis_word(p.normal);
    if (word.empty()) {
      ++oblique;
      continue;
    }
    if (p.area < 1e-5) continue;  // lands of a square centimetre or less are no faces to plan by
    const std::string id = fmt::format("P{}", ++n);
    plan::Feature f = base_feature(id, "face", "");
    give(f.at, {p.centroid}, inch);
    begin::give(f.normal, word);
    const Vec3 d = p.box.hi - p.box.lo;
    give(f.size,
         std::fabs(p.normal.x) > 0.5   ? std::vector<double>{d.y, d.z}
         : std::fabs(p.normal.y) > 0.5 ? std::vector<double>{d.x, d.z}
                                       : std::vector<double>{d.x, d.y},
         inch);
    out.list.push_back(f);
    bind(id, p);
  }
  if (oblique > 0)
    out.left_out.push_back(fmt::format("{} plane{} that lie oblique to the axes", oblique, oblique == 1 ? "" : "s"));
}

/// One diameter of a hole, grooves left out.
struct Level {
  double diameter = 0, from = 0, to = 0;  ///< along the axis coordinate
  std::set<int> faces;
};

std::vector<Level> levels_of(const solid::Model& m, const solid::Hole& h) {
  std::vector<Level> out;
  double s = 0;
  const double sign = along(h.dir, h.dir) > 0 ? 1 : -1;
  const double start = along(h.dir, h.p0);
  std::map<int, bool> groove_face;
  for (const auto& g : m.grooves)
    if (g.hole == h.id)
      for (int f : g.faces) groove_face[f] = true;
  for (const auto& seg : h.profile) {
    const double a = start + sign * s, b = start + sign * (s + seg.length);
    s += seg.length;
    if (seg.kind != solid::Step::cylinder) continue;
    if (!seg.faces.empty() && groove_face.count(seg.faces[0]) > 0) continue;
    Level l{seg.d0, std::min(a, b), std::max(a, b), {seg.faces.begin(), seg.faces.end()}};
    if (!out.empty() && near(out.back().diameter, l.diameter)) {
      out.back().from = std::min(out.back().from, l.from);
      out.back().to = std::max(out.back().to, l.to);
      out.back().faces.insert(l.faces.begin(), l.faces.end());
    } else {
      out.push_back(l);
    }
  }
  return out;
}

/// Thread drawn on a bore as a circle of the major diameter, or named in a callout bound to its faces.
std::string thread_of(const step::Pmi& pmi, const solid::Hole& h, const std::vector<Level>& levels) {
  for (const auto& t : pmi.threads) {
    if (t.entity == 0 || t.thread.empty()) continue;
    const auto on_hole = [&](const step::Binding& b) {
      for (std::uint64_t f : b.faces)
        for (const Level& l : levels)
          if (l.faces.count(static_cast<int>(f)) > 0) return true;
      return false;
    };
    for (const auto& d : pmi.dimensions)
      if (d.entity == t.entity && std::any_of(d.ends.begin(), d.ends.end(), on_hole)) return t.thread;
    for (const auto& d : pmi.tolerances)
      if (d.entity == t.entity && on_hole(d.on)) return t.thread;
  }
  for (const auto& c : pmi.circles) {
    if (c.annotation || levels.size() != 1) continue;
    const Vec3 off = c.centre_P - h.p0;
    const Vec3 d = frame::unit(h.dir);
    if (std::fabs(frame::dot(frame::unit(c.axis_P), d)) < 1 - 1e-6 || frame::norm(off - frame::dot(off, d) * d) > 2e-6)
      continue;
    const double ratio = 2 * c.radius / levels[0].diameter;
    if (ratio > 1.02 && ratio < 1.35) {
      const double mm = std::round(2 * c.radius * 1e6) / 1e3;
      if (near(mm, std::round(mm * 2) / 2, 1e-3)) return fmt::format("M{}", base::shortest(std::round(mm * 2) / 2));
    }
  }
  return {};
}

std::string signature(const std::vector<Level>& levels, const solid::Hole& h, const std::string& thread) {
  std::string s = axis_word(h.dir) + thread;
  if (s[0] == '-') s[0] = '+';
  for (const Level& l : levels) s += fmt::format(" {:.6f} {:.6f} {:.6f}", l.diameter * 1e3, l.from * 1e3, l.to * 1e3);
  return s + fmt::format(" {} {}", static_cast<int>(h.end0), static_cast<int>(h.end1));
}

void holes(const solid::Model& m, const step::Pmi& pmi, Features& out, bool inch) {
  struct Group {
    std::vector<const solid::Hole*> holes;
    std::vector<Level> levels;
    std::string thread;
  };
  std::vector<Group> groups;
  std::map<std::string, std::size_t> by_signature;
  int oblique = 0;
  for (const auto& h : m.holes) {
    if (axis_word(h.dir).empty()) {
      ++oblique;
      continue;
    }
    const auto levels = levels_of(m, h);
    if (levels.empty()) continue;
    const std::string thread = thread_of(pmi, h, levels);
    const auto [it, fresh] = by_signature.emplace(signature(levels, h, thread), groups.size());
    if (fresh) groups.push_back({{}, levels, thread});
    groups[it->second].holes.push_back(&h);
  }
  if (oblique > 0)
    out.left_out.push_back(fmt::format("{} hole{} oblique to the axes", oblique, oblique == 1 ? "" : "s"));
  std::sort(groups.begin(), groups.end(), [](const Group& a, const Group& b) {
    const auto widest = [](const Group& g) {
      double d = 0;
      for (const Level& l : g.levels) d = std::max(d, l.diameter);
      return d;
    };
    const double da = widest(a), db = widest(b);
    if (!near(da, db, 1e-7)) return da > db;
    const Vec3 p = a.holes[0]->p0, q = b.holes[0]->p0;
    return std::array{nano(p.x), nano(p.y), nano(p.z)} < std::array{nano(q.x), nano(q.y), nano(q.z)};
  });
  int number = 0;
  for (Group& g : groups) {
    std::sort(g.holes.begin(), g.holes.end(), [](const auto* a, const auto* b) {
      return std::array{nano(a->p0.x), nano(a->p0.y), nano(a->p0.z)} <
             std::array{nano(b->p0.x), nano(b->p0.y), nano(b->p0.z)};
    });
    const std::string stem = fmt::format("H{}", ++number);
    const solid::Hole& h = *g.holes[0];
    for (std::size_t k = 0; k < g.levels.size(); ++k) {
      const Level& l = g.levels[k];
      const std::string id =
          g.levels.size() == 1 ? stem : stem + std::string(1, static_cast<char>('a' + static_cast<int>(k)));
      const bool widest =
          std::all_of(g.levels.begin(), g.levels.end(), [&](const Level& x) { return x.diameter <= l.diameter; });
      const std::string kind = !g.thread.empty()               ? "thread"
                               : g.levels.size() > 1 && widest ? "counterbore"
                               : l.diameter >= 0.012           ? "bore"
                                                               : "hole";
      plan::Feature f = base_feature(id, kind, "");
      std::vector<Vec3> points;
      for (const auto* x : g.holes) {
        Vec3 p = x->p0;
        if (std::fabs(x->dir.z) > 0.5) p.z = 0;
        points.push_back(p);
      }
      give(f.at, points, inch);
      begin::give(f.normal, axis_word(-h.dir));
      if (!g.thread.empty()) {
        const auto parsed = unit::parse_thread(g.thread);
        if (parsed.ok()) {
          f.thread.value = *parsed;
          f.thread.typed = g.thread;
          f.thread.origin = plan::Origin::given;
        }
        length(f.drill, l.diameter, inch);
      }
      const std::string d = fmt::format("Ø{}", length_text(l.diameter, inch));
      begin::give(f.diameter, d);
      length(f.from, l.from, inch);
      length(f.to, l.to, inch);
      if (!h.through && g.levels.size() == 1) length(f.depth, h.depth, inch);
      out.list.push_back(f);
      for (std::size_t i = 0; i < g.holes.size(); ++i) {
        Bound b;
        b.reference = g.holes.size() == 1 ? id : fmt::format("{}@{}", id, i + 1);
        const auto own = levels_of(m, *g.holes[i]);
        if (k < own.size()) b.faces = own[k].faces;
        b.diameter = l.diameter;
        b.point = g.holes[i]->p0;
        b.axis = g.holes[i]->dir;
        b.from = l.from;
        b.to = l.to;
        out.bound.push_back(b);
      }
    }
    // Floors between two diameters: faces that heights are measured to.
    for (const auto& seg : h.profile) {
      if (seg.kind != solid::Step::annulus || seg.faces.empty() || g.holes.size() != 1 ||
          std::max(seg.d0, seg.d1) < 0.015)
        continue;
      const auto* face = m.face(seg.faces[0]);
      bool in_groove = false;
      for (const auto& gr : m.grooves)
        if (gr.hole == h.id)
          in_groove = in_groove || std::find(gr.faces.begin(), gr.faces.end(), seg.faces[0]) != gr.faces.end();
      if (face == nullptr || in_groove || axis_word(face->axis).empty()) continue;
      const std::string id = stem + "floor";
      if (std::any_of(out.list.begin(), out.list.end(), [&](const auto& x) { return x.id.value == id; })) continue;
      plan::Feature f = base_feature(id, "face", "counterbore floor");
      Vec3 p = h.p0 + frame::dot(face->centroid - h.p0, frame::unit(h.dir)) * frame::unit(h.dir);
      give(f.at, {p}, inch);
      begin::give(f.normal, axis_word(face->axis));
      begin::give(f.diameter, fmt::format("Ø{}", length_text(std::max(seg.d0, seg.d1), inch)));
      out.list.push_back(f);
      Bound b;
      b.reference = id;
      b.faces.insert(seg.faces.begin(), seg.faces.end());
      b.point = p;
      b.axis = face->axis;
      out.bound.push_back(b);
    }
  }
}

void others(const solid::Model& m, Features& out, bool inch) {
  int n = 0, oblique = 0;
  for (const auto& g : m.grooves) {
    if (axis_word(g.dir).empty()) {
      ++oblique;
      continue;
    }
    const std::string id = fmt::format("G{}", ++n);
    plan::Feature f = base_feature(id, "groove", g.inside ? "ring groove" : "groove round a shaft");
    Vec3 p = g.p0;
    if (std::fabs(g.dir.z) > 0.5) p.z = 0;
    give(f.at, {p}, inch);
    begin::give(f.normal, axis_word(g.dir));
    begin::give(f.diameter, "Ø" + length_text(g.diameter, inch));
    begin::give(f.width, length_text(g.width, inch));
    const double a = along(g.dir, g.p0), b = along(g.dir, g.p1);
    length(f.from, std::min(a, b), inch);
    length(f.to, std::max(a, b), inch);
    out.list.push_back(f);
    Bound bound;
    bound.reference = id;
    bound.faces.insert(g.faces.begin(), g.faces.end());
    bound.diameter = g.diameter;
    bound.point = g.p0;
    bound.axis = g.dir;
    out.bound.push_back(bound);
  }
  n = 0;
  for (const auto& k : m.pockets) {
    const std::string word = axis_word(k.up);
    if (word.empty()) {
      ++oblique;
      continue;
    }
    const std::string id = fmt::format("{}{}", k.slot ? "S" : "K", ++n);
    plan::Feature f = base_feature(id, k.slot ? "slot" : "pocket", "");
    give(f.at, {k.centre}, inch);
    begin::give(f.normal, word);
    const bool along_x = std::fabs(k.along.x) >= std::fabs(k.along.y);
    begin::give(f.width, length_text(along_x ? k.length : k.width, inch));
    begin::give(f.length, length_text(along_x ? k.width : k.length, inch));
    const double z = along(k.up, k.centre), top = z + (word[0] == '+' ? k.depth : -k.depth);
    length(f.from, std::min(z, top), inch);
    length(f.to, std::max(z, top), inch);
    if (k.corner_radius > 0) length(f.radius, k.corner_radius, inch);
    out.list.push_back(f);
    Bound b;
    b.reference = id;
    b.faces.insert(k.floor.begin(), k.floor.end());
    b.faces.insert(k.walls.begin(), k.walls.end());
    b.point = k.centre;
    b.axis = k.up;
    out.bound.push_back(b);
  }
  n = 0;
  for (const auto& b : m.bosses) {
    const std::string word = axis_word(b.dir);
    if (word.empty()) {
      ++oblique;
      continue;
    }
    const std::string id = fmt::format("B{}", ++n);
    plan::Feature f = base_feature(id, "boss", "");
    give(f.at, {b.p1}, inch);
    begin::give(f.normal, word);
    begin::give(f.diameter, "Ø" + length_text(b.diameter, inch));
    const double p = along(b.dir, b.p0), q = along(b.dir, b.p1);
    length(f.from, std::min(p, q), inch);
    length(f.to, std::max(p, q), inch);
    out.list.push_back(f);
    Bound bound;
    bound.reference = id;
    bound.faces.insert(b.faces.begin(), b.faces.end());
    bound.diameter = b.diameter;
    bound.point = b.p0;
    bound.axis = b.dir;
    out.bound.push_back(bound);
  }
  if (oblique > 0)
    out.left_out.push_back(
        fmt::format("{} pocket{}, groove or boss oblique to the axes", oblique, oblique == 1 ? "" : "s"));
}

}  // namespace

std::string length_text(double si, bool inch) {
  const double x = nano(si) / (inch ? 0.0254 : 1e-3);
  return base::shortest(std::round(x * 1e6) / 1e6) + (inch ? " in" : " mm");
}
std::string point_text(Vec3 p, bool inch) {
  const double u = inch ? 0.0254 : 1e-3;
  const auto t = [&](double v) {
    const double x = std::round(nano(v) / u * 1e6) / 1e6;
    return base::shortest(x == 0 ? 0.0 : x);
  };
  return fmt::format("{}, {}, {} {}", t(p.x), t(p.y), t(p.z), inch ? "in" : "mm");
}

void give(plan::Text& v, const std::string& text) {
  v.value = v.typed = text;
  v.origin = plan::Origin::given;
}
void give(plan::Texts& v, const std::string& text) {
  v.value.push_back(text);
  v.origin = plan::Origin::given;
}
void give(plan::Number& v, double si, unit::Kind kind, const std::string& text) {
  v.si = v.low = v.high = si;
  v.kind = kind;
  v.typed = text;
  v.origin = plan::Origin::given;
}
void give(plan::Limits& v, const std::string& text) {
  const auto parsed = unit::parse_limits(text);
  if (parsed.ok()) v.value = *parsed;
  v.typed = text;
  v.origin = plan::Origin::given;
}

std::string axis_word(Vec3 n) {
  const double a[3] = {n.x, n.y, n.z};
  for (int i = 0; i < 3; ++i)
    if (std::fabs(a[i]) > 1 - 1e-9) return std::string(a[i] > 0 ? "+" : "-") + static_cast<char>('x' + i);
  return {};
}

Features features_of(const solid::Model& part, const step::Pmi& pmi, bool inch) {
  Features out;
  outside(part, out, inch);
  holes(part, pmi, out, inch);
  others(part, out, inch);
  return out;
}

}  // namespace fettle::begin
