#include "begin/features.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "begin/holes.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

constexpr double least_face = 1e-5;  // m2: smaller flats are no faces to plan by

bool near(double a, double b, double tolerance = 2e-6) { return std::fabs(a - b) <= tolerance; }

Bound& bind_to(Features& out, const std::string& feature, const std::string& reference, const std::vector<int>& faces) {
  Bound b;
  b.feature = feature;
  b.reference = reference;
  b.faces.insert(faces.begin(), faces.end());
  out.bound.push_back(b);
  return out.bound.back();
}

/// The largest plane that reaches the box on the side `n`.
const solid::PlaneFeature* at_box(const solid::Model& m, Vec3 n) {
  const solid::PlaneFeature* best = nullptr;
  const double edge = frame::dot(n, n.x + n.y + n.z > 0 ? m.box.hi : m.box.lo);
  for (const auto& p : m.planes)
    if (frame::dot(p.normal, n) > 1 - 1e-9 && near(frame::dot(n, p.centroid), edge) &&
        (best == nullptr || p.area > best->area))
      best = &p;
  return best;
}

double corner_of(const solid::Model& m) {
  double corner = 0;
  const auto on_edge = [](double a, double b, const solid::Box& box, double Vec3::*axis) {
    return near(a, box.hi.*axis) || near(b, box.lo.*axis);
  };
  for (const auto& f : m.faces)
    if (f.kind == solid::Kind::cylinder && !f.concave && std::fabs(f.axis.z) > 0.999 &&
        on_edge(f.box.hi.x, f.box.lo.x, m.box, &Vec3::x) && on_edge(f.box.hi.y, f.box.lo.y, m.box, &Vec3::y))
      corner = std::max(corner, f.radius);
  return corner;
}

std::vector<double> extent(const solid::PlaneFeature& p) {
  const Vec3 d = p.box.hi - p.box.lo;
  if (std::fabs(p.normal.x) > 0.5) return {d.y, d.z};
  if (std::fabs(p.normal.y) > 0.5) return {d.x, d.z};
  return {d.x, d.y};
}

using Used = std::set<const solid::PlaneFeature*>;

/// The outside: four sides that reach the box make a profile; top and bottom are faces.
void outside(const solid::Model& m, Features& out, Used& used, bool inch) {
  const Vec3 middle = 0.5 * (m.box.lo + m.box.hi), size = m.box.hi - m.box.lo;
  const std::array<std::pair<const char*, Vec3>, 4> sides = {
      {{"+x", {1, 0, 0}}, {"-x", {-1, 0, 0}}, {"+y", {0, 1, 0}}, {"-y", {0, -1, 0}}}};
  if (std::all_of(sides.begin(), sides.end(), [&](const auto& s) { return at_box(m, s.second) != nullptr; })) {
    plan::Feature f = named_feature("outside", "profile", "outside profile");
    give(f.at, {middle}, inch);
    give(f.size, {size.x, size.y}, inch);
    give_length(f.from, m.box.lo.z, inch);
    give_length(f.to, m.box.hi.z, inch);
    if (const double corner = corner_of(m); corner > 0) give_length(f.radius, corner, inch);
    out.list.push_back(f);
    for (const auto& [word, n] : sides) {
      const auto* p = at_box(m, n);
      used.insert(p);
      Bound& b = bind_to(out, "outside", std::string("outside.") + word, p->faces);
      b.point = p->centroid;
      b.axis = n;
    }
  }
  for (const auto& [id, n] : {std::pair<std::string, Vec3>{"bottom", {0, 0, -1}}, {"top", {0, 0, 1}}}) {
    const auto* p = at_box(m, n);
    if (p == nullptr) continue;
    used.insert(p);
    plan::Feature f = named_feature(id, "face", id + " face");
    give(f.at,
         {{0.5 * (p->box.lo.x + p->box.hi.x), 0.5 * (p->box.lo.y + p->box.hi.y), n.z > 0 ? m.box.hi.z : m.box.lo.z}},
         inch);
    give(f.normal, axis_word(n));
    give(f.size, extent(*p), inch);
    out.list.push_back(f);
    Bound& b = bind_to(out, id, id, p->faces);
    b.point = p->centroid;
    b.axis = n;
  }
}

/// Planes that no other feature holds.
void other_planes(const solid::Model& m, Features& out, const Used& used, bool inch) {
  std::set<int> held;
  for (const Bound& b : out.bound) held.insert(b.faces.begin(), b.faces.end());
  std::vector<const solid::PlaneFeature*> list;
  int small = 0;
  for (const auto& p : m.planes) {
    if (used.count(&p) > 0 || std::all_of(p.faces.begin(), p.faces.end(), [&](int f) { return held.count(f) > 0; }))
      continue;
    if (p.area < least_face) ++small;
    else list.push_back(&p);
  }
  const auto key = [](const solid::PlaneFeature& p) {
    return std::array{place_key(p.centroid.x), place_key(p.centroid.y), place_key(p.centroid.z)};
  };
  std::sort(list.begin(), list.end(), [&](const auto* a, const auto* b) {
    const bool oa = axis_word(a->normal).empty(), ob = axis_word(b->normal).empty();
    if (oa != ob) return ob;
    if (!near(a->area, b->area, 1e-9)) return a->area > b->area;
    return key(*a) < key(*b);
  });
  int straight = 0, oblique = 0;
  for (const auto* p : list) {
    const std::string word = axis_word(p->normal);
    const std::string id = word.empty() ? fmt::format("O{}", ++oblique) : fmt::format("P{}", ++straight);
    plan::Feature f = word.empty()
                          ? named_feature(id, "surface", "oblique plane")
                          : named_feature(id, "face",
                                          fmt::format("face {} at {}", word,
                                                      length_text(p->offset * (word[0] == '-' ? -1 : 1), inch)));
    // The middle of what `size` says; of an oblique one, which says none, of its metal.
    Vec3 at = word.empty() ? p->centroid : 0.5 * (p->box.lo + p->box.hi);
    if (!word.empty()) at = at + dot(p->centroid - at, p->normal) * p->normal;
    give(f.at, {at}, inch);
    if (word.empty()) {
      give(f.note, fmt::format("its normal is {}", direction_text(p->normal)));
    } else {
      give(f.normal, word);
      give(f.size, extent(*p), inch);
    }
    out.list.push_back(f);
    Bound& b = bind_to(out, id, id, p->faces);
    b.point = p->centroid;
    b.axis = p->normal;
  }
  if (small > 0)
    out.left_out.push_back(fmt::format("{} flat{} under 10 mm² in no feature", small, small == 1 ? "" : "s"));
}

/// A feature that lies oblique: what and where it is in words, for people.
void oblique(Features& out, const std::string& id, const std::string& name, Vec3 at, Vec3 dir,
             const std::vector<int>& faces, const std::string& words, bool inch) {
  plan::Feature f = named_feature(id, "surface", name);
  give(f.at, {at}, inch);
  give(f.note, fmt::format("{}; its axis runs along {}", words, direction_text(dir)));
  out.list.push_back(f);
  Bound& b = bind_to(out, id, id, faces);
  b.point = at;
  b.axis = dir;
}

void grooves(const solid::Model& m, Features& out, bool inch) {
  int n = 0;
  for (const auto& g : m.grooves) {
    const std::string id = fmt::format("G{}", ++n);
    const std::string name = g.inside ? "ring groove" : "groove round a shaft";
    if (axis_word(g.dir).empty()) {
      oblique(out, id, "oblique " + name, g.p0, g.dir, g.faces,
              fmt::format("Ø{}, {} wide", length_text(g.diameter, inch), length_text(g.width, inch)), inch);
      out.bound.back().diameter = g.diameter;
      out.bound.back().parts = true;
      continue;
    }
    plan::Feature f = named_feature(id, "groove", name);
    Vec3 p = g.p0;
    drop_axis(p, g.dir);
    give(f.at, {p}, inch);
    give(f.normal, "+" + axis_word(g.dir).substr(1));
    give(f.diameter, "Ø" + length_text(g.diameter, inch));
    give(f.width, length_text(g.width, inch));
    const double a = along(g.dir, g.p0), b = along(g.dir, g.p1);
    give_length(f.from, std::min(a, b), inch);
    give_length(f.to, std::max(a, b), inch);
    out.list.push_back(f);
    Bound& bound = bind_to(out, id, id, g.faces);
    bound.diameter = g.diameter;
    bound.point = g.p0;
    bound.axis = g.dir;
    bound.parts = true;
  }
}

void pockets(const solid::Model& m, Features& out, bool inch) {
  int slots = 0, pockets = 0;
  for (const auto& k : m.pockets) {
    const std::string word = axis_word(k.up), name = k.slot ? "slot" : "pocket";
    const std::string id = k.slot ? fmt::format("S{}", ++slots) : fmt::format("K{}", ++pockets);
    std::vector<int> faces = k.floor;
    faces.insert(faces.end(), k.walls.begin(), k.walls.end());
    if (word.empty()) {
      oblique(out, id, "oblique " + name, k.centre, k.up, faces,
              fmt::format("{} by {}, {} deep", length_text(k.length, inch), length_text(k.width, inch),
                          length_text(k.depth, inch)),
              inch);
      out.bound.back().parts = true;
      continue;
    }
    plan::Feature f = named_feature(id, name, "");
    give(f.at, {k.centre}, inch);
    give(f.normal, word);
    const bool upright = word[1] == 'z', along_x = std::fabs(k.along.x) >= std::fabs(k.along.y);
    give(f.width, length_text(upright && !along_x ? k.width : k.length, inch));
    give(f.length, length_text(upright && !along_x ? k.length : k.width, inch));
    if (!upright || axis_word(k.along).empty())
      give(f.note, fmt::format("{} long along {}", length_text(k.length, inch), direction_text(k.along)));
    const double z = along(k.up, k.centre), top = z + (word[0] == '+' ? k.depth : -k.depth);
    // The centre of a through slot is the middle of its mouth.
    const double other = k.through ? z - (top - z) : top;
    give_length(f.from, std::min(z, other), inch);
    give_length(f.to, std::max(z, other), inch);
    if (k.corner_radius > 0) give_length(f.radius, k.corner_radius, inch);
    out.list.push_back(f);
    Bound& b = bind_to(out, id, id, faces);
    b.point = k.centre;
    b.axis = k.up;
    b.parts = true;
  }
}

void bosses(const solid::Model& m, Features& out, bool inch) {
  int n = 0;
  for (const auto& b : m.bosses) {
    const std::string id = fmt::format("B{}", ++n), word = axis_word(b.dir);
    if (word.empty()) {
      oblique(out, id, "oblique boss", b.p1, b.dir, b.faces,
              fmt::format("Ø{}, {} long", length_text(b.diameter, inch), length_text(frame::norm(b.p1 - b.p0), inch)),
              inch);
      out.bound.back().diameter = b.diameter;
      continue;
    }
    plan::Feature f = named_feature(id, "boss", "boss Ø" + length_text(b.diameter, inch));
    give(f.at, {b.p1}, inch);
    give(f.normal, word);
    give(f.diameter, "Ø" + length_text(b.diameter, inch));
    const double p = along(b.dir, b.p0), q = along(b.dir, b.p1);
    give_length(f.from, std::min(p, q), inch);
    give_length(f.to, std::max(p, q), inch);
    out.list.push_back(f);
    Bound& bound = bind_to(out, id, id, b.faces);
    bound.diameter = b.diameter;
    bound.point = b.p0;
    bound.axis = b.dir;
  }
}

}  // namespace

Features features_of(const solid::Model& part, const std::map<int, std::string>& threads, bool inch) {
  Features out;
  Used used;
  outside(part, out, used, inch);
  holes(part, threads, out, inch);
  grooves(part, out, inch);
  pockets(part, out, inch);
  bosses(part, out, inch);
  other_planes(part, out, used, inch);
  return out;
}

}  // namespace fettle::begin
