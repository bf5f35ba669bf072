#include "begin/holes.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace fettle::begin {

using frame::Vec3;

plan::Feature named_feature(const std::string& id, const std::string& kind, const std::string& name) {
  plan::Feature f;
  give(f.id, id);
  give(f.kind, kind);
  if (!name.empty()) give(f.name, name);
  return f;
}

double along(Vec3 axis, Vec3 p) { return std::fabs(axis.x) > 0.5 ? p.x : std::fabs(axis.y) > 0.5 ? p.y : p.z; }
void drop_axis(Vec3& p, Vec3 axis) { (std::fabs(axis.x) > 0.5 ? p.x : std::fabs(axis.y) > 0.5 ? p.y : p.z) = 0; }

namespace {

bool near(double a, double b, double tolerance = 2e-6) { return std::fabs(a - b) <= tolerance; }

/// One diameter, countersink or floor of a hole, grooves left out.
struct Level {
  solid::Step kind = solid::Step::cylinder;
  double diameter = 0, semi_angle = 0;
  double from = 0, to = 0;  ///< along the axis coordinate
  std::vector<int> faces;
  bool widens = false;  ///< along the hole's direction
};
struct Hole {
  solid::Hole hole;
  std::vector<Level> levels;
  std::string thread;
};

void turn_round(solid::Hole& h) {
  std::swap(h.p0, h.p1);
  std::swap(h.end0, h.end1);
  h.dir = -h.dir;
  std::reverse(h.profile.begin(), h.profile.end());
  for (auto& s : h.profile) std::swap(s.d0, s.d1);
}

/// A through hole starts at its wider mouth; with two alike it runs down its axis.
void set_way(solid::Hole& h) {
  if (!h.through || h.profile.empty()) return;
  const double first = h.profile.front().d0, last = h.profile.back().d1;
  const double up = std::fabs(h.dir.z) > 1e-6 ? h.dir.z : std::fabs(h.dir.y) > 1e-6 ? h.dir.y : h.dir.x;
  if (near(first, last) ? up > 0 : first < last) turn_round(h);
}

std::set<int> groove_faces(const solid::Model& m, const std::string& hole) {
  std::set<int> out;
  for (const auto& g : m.grooves)
    if (g.hole == hole) out.insert(g.faces.begin(), g.faces.end());
  return out;
}

std::vector<Level> levels_of(const solid::Hole& h, const std::set<int>& grooves) {
  std::vector<Level> out;
  const double start = along(h.dir, h.p0), sign = along(h.dir, h.dir) > 0 ? 1 : -1;
  double s = 0;
  for (std::size_t i = 0; i < h.profile.size(); ++i) {
    const solid::Segment& seg = h.profile[i];
    const double a = start + sign * s, b = start + sign * (s + seg.length);
    s += seg.length;
    if (!seg.faces.empty() && grooves.count(seg.faces[0]) > 0) continue;
    Level l{seg.kind,  std::max(seg.d0, seg.d1), seg.semi_angle, std::min(a, b), std::max(a, b),
            seg.faces, seg.d1 > seg.d0};
    const bool tip = seg.kind == solid::Step::cone && std::min(seg.d0, seg.d1) < 1e-6;
    const bool bottom = seg.kind == solid::Step::annulus && std::min(seg.d0, seg.d1) < 1e-6 && l.diameter < 0.012;
    const bool round_end = seg.kind == solid::Step::sphere || seg.kind == solid::Step::torus;
    if (tip || bottom || round_end) {  // the bottom belongs to the bore it ends
      if (!out.empty()) out.back().faces.insert(out.back().faces.end(), seg.faces.begin(), seg.faces.end());
      continue;
    }
    const auto same =
        std::find_if(out.rbegin(), out.rend(), [](const Level& x) { return x.kind == solid::Step::cylinder; });
    if (seg.kind == solid::Step::cylinder && same != out.rend() && near(same->diameter, l.diameter)) {
      same->from = std::min(same->from, l.from);  // the wall goes on behind a groove
      same->to = std::max(same->to, l.to);
      same->faces.insert(same->faces.end(), l.faces.begin(), l.faces.end());
    } else {
      out.push_back(l);
    }
  }
  return out;
}

std::string thread_of(const std::vector<Level>& levels, const std::map<int, std::string>& threads) {
  for (const Level& l : levels)
    for (int f : l.faces)
      if (const auto it = threads.find(f); it != threads.end()) return it->second;
  return {};
}

/// Holes with one signature are alike and lie at one height.
std::string signature(const Hole& h) {
  std::string s = axis_word(h.hole.dir);
  for (const Level& l : h.levels)
    s += fmt::format(" {} {} {} {}", static_cast<int>(l.kind), place_key(l.diameter), place_key(l.from),
                     place_key(l.to));
  return s + fmt::format(" {} {} {}", static_cast<int>(h.hole.end0), static_cast<int>(h.hole.end1),
                         place_key(h.hole.tip_angle * 1e-2));
}

std::array<long long, 3> place(const Hole& h) {
  return {place_key(h.hole.p0.x), place_key(h.hole.p0.y), place_key(h.hole.p0.z)};
}
double widest(const Hole& h) {
  double d = 0;
  for (const Level& l : h.levels) d = std::max(d, l.diameter);
  return d;
}

using Group = std::vector<Hole>;

/// One level of equal holes as a feature.
void add(Features& out, const Group& g, std::size_t level, plan::Feature f, bool inch) {
  const solid::Hole& h = g[0].hole;
  std::vector<Vec3> points;
  for (const Hole& x : g) {
    Vec3 p = x.hole.p0;
    drop_axis(p, x.hole.dir);
    points.push_back(p);
  }
  give(f.at, points, inch);
  give(f.normal, axis_word(-h.dir));
  out.list.push_back(f);
  for (std::size_t i = 0; i < g.size(); ++i) {
    const Level& l = g[i].levels[level];
    Bound b;
    b.feature = f.id.value;
    b.reference = g.size() == 1 ? b.feature : fmt::format("{}@{}", b.feature, i + 1);
    b.faces.insert(l.faces.begin(), l.faces.end());
    b.diameter = l.kind == solid::Step::cylinder ? l.diameter : 0;
    b.point = g[i].hole.p0;
    b.axis = g[i].hole.dir;
    b.from = l.from;
    b.to = l.to;
    out.bound.push_back(b);
  }
}

void bore(Features& out, const Group& g, std::size_t k, const std::string& id, bool only, bool last, bool inch) {
  const Hole& first = g[0];
  const Level& l = first.levels[k];
  const solid::Hole& h = first.hole;
  const bool wide = near(l.diameter, widest(first)) && first.hole.counterbored;
  const std::string kind = !first.thread.empty() && last ? "thread"
                           : wide                        ? "counterbore"
                           : l.diameter >= 0.012         ? "bore"
                                                         : "hole";
  plan::Feature f = named_feature(
      id, kind,
      kind == "thread" ? first.thread + " thread" : fmt::format("{} Ø{}", kind, length_text(l.diameter, inch)));
  give(f.diameter, "Ø" + length_text(l.diameter, inch));
  give_length(f.from, l.from, inch);
  give_length(f.to, l.to, inch);
  if (kind == "thread") {
    const auto parsed = unit::parse_thread(first.thread);
    if (parsed.ok()) {
      f.thread.value = *parsed;
      f.thread.typed = first.thread;
      f.thread.origin = plan::Origin::given;
    }
    give_length(f.drill, l.diameter, inch);
  }
  if (!h.through && only) give_length(f.depth, h.depth, inch);
  if (h.tip_angle > 0 && last) give(f.angle, unit::Kind::angle, angle_text(h.tip_angle));
  std::vector<std::string> notes;
  if (h.through && only) notes.emplace_back("through");
  if (last && !h.through && h.end1 == solid::End::flat) notes.emplace_back("flat bottom");
  if (last && !h.through && h.end1 == solid::End::sphere) notes.emplace_back("round bottom");
  if (h.side_openings > h.spline_rims && only) notes.emplace_back("something breaks into its wall");
  std::string note;
  for (const std::string& n : notes) note += (note.empty() ? "" : "; ") + n;
  if (!note.empty()) give(f.note, note);
  add(out, g, k, f, inch);
}

void features_of(Features& out, const Group& g, const std::string& stem, bool inch) {
  const Hole& first = g[0];
  std::vector<std::size_t> bores;
  for (std::size_t k = 0; k < first.levels.size(); ++k)
    if (first.levels[k].kind == solid::Step::cylinder) bores.push_back(k);
  for (std::size_t i = 0; i < bores.size(); ++i)
    bore(out, g, bores[i],
         bores.size() == 1 ? stem : stem + static_cast<char>('a' + static_cast<int>(std::min<std::size_t>(i, 25))),
         bores.size() == 1, i + 1 == bores.size(), inch);
  int floors = 0, sinks = 0;
  for (std::size_t k = 0; k < first.levels.size(); ++k) {
    const Level& l = first.levels[k];
    const std::string d = "Ø" + length_text(l.diameter, inch);
    if (l.kind == solid::Step::annulus) {
      ++floors;
      plan::Feature f = named_feature(stem + "floor" + (floors == 1 ? "" : fmt::format("{}", floors)), "face",
                                      fmt::format("floor of the {} {}",
                                                  first.hole.counterbored ? "counterbore"
                                                  : first.hole.stepped    ? "step"
                                                                          : "bore",
                                                  d));
      give(f.diameter, d);
      add(out, g, k, f, inch);
      // A floor lies at a height: its points keep it, and its normal is the floor's own.
      plan::Feature& kept = out.list.back();
      std::vector<Vec3> points;
      for (const Hole& x : g) {
        const Vec3 dir = frame::unit(x.hole.dir);
        Vec3 p = x.hole.p0;
        const double up = l.from - along(dir, p);
        p = p + (up / along(dir, dir)) * dir;
        points.push_back(p);
      }
      kept.at = {};
      give(kept.at, points, inch);
      if (l.widens) give(kept.normal, axis_word(first.hole.dir));
      for (std::size_t i = 0; i < g.size(); ++i) out.bound[out.bound.size() - g.size() + i].point = points[i];
    } else if (l.kind == solid::Step::cone) {
      ++sinks;
      plan::Feature f =
          named_feature(stem + "sink" + (sinks == 1 ? "" : fmt::format("{}", sinks)), "chamfer",
                        fmt::format("{} {} {}", k == 0 || k + 1 == first.levels.size() ? "countersink" : "cone", d,
                                    angle_text(2 * l.semi_angle)));
      give(f.diameter, d);
      give(f.angle, unit::Kind::angle, angle_text(2 * l.semi_angle));
      give_length(f.from, l.from, inch);
      give_length(f.to, l.to, inch);
      add(out, g, k, f, inch);
    }
  }
}

}  // namespace

void holes(const solid::Model& m, const std::map<int, std::string>& threads, Features& out, bool inch) {
  std::map<std::string, Group> by_signature;
  std::vector<Hole> oblique;
  for (const solid::Hole& from : m.holes) {
    Hole h{from, {}, {}};
    set_way(h.hole);
    h.levels = levels_of(h.hole, groove_faces(m, from.id));
    h.thread = thread_of(h.levels, threads);
    const bool walled =
        std::any_of(h.levels.begin(), h.levels.end(), [](const Level& l) { return l.kind == solid::Step::cylinder; });
    if (axis_word(h.hole.dir).empty() || !walled) oblique.push_back(h);
    else by_signature[signature(h)].push_back(h);
  }
  std::vector<Group> groups;
  for (auto& [key, g] : by_signature) {
    std::sort(g.begin(), g.end(), [](const Hole& a, const Hole& b) { return place(a) < place(b); });
    groups.push_back(g);
  }
  const auto by_size = [](const Hole& a, const Hole& b) {
    return std::pair(-place_key(widest(a)), place(a)) < std::pair(-place_key(widest(b)), place(b));
  };
  std::sort(groups.begin(), groups.end(), [&](const Group& a, const Group& b) { return by_size(a[0], b[0]); });
  int number = 0;
  for (const Group& g : groups) {
    const std::string stem = fmt::format("H{}", ++number);
    // Threads do not change the number: a model without its drawing keeps the ids of all other holes.
    std::map<std::string, Group> by_thread;
    for (const Hole& h : g) by_thread[h.thread].push_back(h);
    int kinds = 0;
    for (const auto& [thread, part] : by_thread)
      features_of(out, part, thread.empty() || by_thread.size() == 1 ? stem : fmt::format("{}t{}", stem, ++kinds),
                  inch);
  }
  std::sort(oblique.begin(), oblique.end(), by_size);
  for (const Hole& h : oblique) {
    const std::string id = fmt::format("H{}", ++number);
    const bool tapered = !axis_word(h.hole.dir).empty();
    plan::Feature f = named_feature(
        id, "surface", fmt::format("{} hole Ø{}", tapered ? "tapered" : "oblique", length_text(h.hole.diameter, inch)));
    give(f.at, {h.hole.p0}, inch);
    give(f.note, fmt::format("Ø{}, {}, from here along {}", length_text(h.hole.diameter, inch),
                             h.hole.through ? "through" : length_text(h.hole.depth, inch) + " deep",
                             direction_text(h.hole.dir)));
    out.list.push_back(f);
    Bound b;
    b.feature = b.reference = id;
    for (const auto& s : h.hole.profile) b.faces.insert(s.faces.begin(), s.faces.end());
    b.diameter = tapered ? 0 : h.hole.diameter;
    b.point = h.hole.p0;
    b.axis = h.hole.dir;
    out.bound.push_back(b);
  }
}

}  // namespace fettle::begin
