#include "study/vise_jaws.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "base/text.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;

namespace {

constexpr double typed_to = 1e-6;  // m; places are typed to a micron

bool vise_clamp(const plan::Clamp& k) { return k.kind.value == "vise"; }
/// Jaws of vises that press one part, or several in series; not a jaw over several side by side.
bool in_vise(const plan::Operation& o) {
  if (o.kind.value != "vise" && o.kind.value != "vise gang") return false;
  if (o.carrier.size.known() || (o.kind.value == "vise" && o.parts.known() && o.parts.value > 1)) return false;
  return std::any_of(o.clamps.begin(), o.clamps.end(), vise_clamp);
}
/// m; 0: nobody says it.
double jaw_width(const plan::Plan& plan, const plan::Operation& o) {
  if (o.jaw_width.known()) return o.jaw_width.si;
  const plan::Thing* vise = vise_of(plan, o);
  return vise != nullptr ? vise->size.value[0] : 0;
}
Vec3 way_of(const plan::Plan& plan, const plan::Clamp& k) {
  if (k.direction.known()) return direction(k.direction.value);
  const Surface s = surface_of(plan, k.on.value);
  return s.there && !s.round ? -s.normal : Vec3{};
}

// ---- how wide the jaws are ----

/// The jaws of an operation along their width: `row` with its middles and half widths.
struct Jaws {
  Vec3 row;
  double half = 0;              ///< m; 0: nobody knows
  std::vector<double> middles;  ///< m, along row, one a vise
};

void reach_over(const std::vector<Vec3>& points, Vec3 row, double& low, double& high) {
  for (const Vec3& p : points) {
    low = std::min(low, frame::dot(p, row));
    high = std::max(high, frame::dot(p, row));
  }
}

Jaws jaws_of(const plan::Plan& plan, const plan::Operation& o) {
  Jaws j;
  const double width = in_vise(o) ? jaw_width(plan, o) : 0;
  const Vec3 up = direction(o.up.value);
  if (!(width > 0) || frame::norm(up) < 0.5) return j;
  const auto vises = std::count_if(o.clamps.begin(), o.clamps.end(), vise_clamp);
  for (const plan::Clamp& k : o.clamps) {
    if (!vise_clamp(k)) continue;
    const Vec3 row = frame::cross(up, way_of(plan, k));
    if (frame::norm(row) < 0.5) return {};
    if (j.middles.empty()) j.row = row;
    double low = std::numeric_limits<double>::infinity(), high = -std::numeric_limits<double>::infinity();
    reach_over(k.at.value, j.row, low, high);
    if (vises == 1)
      for (const plan::Locator& l : o.locators)
        if (l.kind.value == "jaw") reach_over(l.at.value, j.row, low, high);
    const Surface face = surface_of(plan, k.on.value);
    const bool said = high >= low;
    if (said && high - low <= width + typed_to) j.middles.push_back(0.5 * (low + high));
    else if (face.there) j.middles.push_back(frame::dot(face.point, j.row));
    else return {};
  }
  j.half = 0.5 * width;
  return j;
}

/// How far a point stands beyond the nearest jaw, m, along row and with its sign; 0: under a jaw.
double beyond(const Jaws& j, Vec3 p) {
  if (!(j.half > 0)) return 0;
  double least = std::numeric_limits<double>::infinity();
  for (const double middle : j.middles) {
    const double d = frame::dot(p, j.row) - middle, over = std::fabs(d) - j.half;
    if (over <= typed_to) return 0;
    if (over < std::fabs(least)) least = std::copysign(over, d);
  }
  return std::isfinite(least) ? least : 0;
}

std::vector<Vec3> under_jaws(const plan::Plan& plan, const plan::Operation& o, std::vector<Vec3> points) {
  const Jaws j = jaws_of(plan, o);
  for (Vec3& p : points) p = p - beyond(j, p) * j.row;
  return points;
}

void say_beyond(Context& c, const plan::Operation& o) {
  const Jaws j = jaws_of(c.plan, o);
  double most = 0;
  const auto look = [&](const std::vector<Vec3>& points) {
    for (const Vec3& p : points) most = std::max(most, std::fabs(beyond(j, p)));
  };
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "jaw") look(l.at.value);
  for (const plan::Clamp& k : o.clamps)
    if (vise_clamp(k)) look(k.at.value);
  if (most > 0)
    c.study.notices.push_back(
        fmt::format("operation {}: points of its jaws stand up to {} beyond jaws {} wide, where nothing presses; they "
                    "are counted at the jaws' ends",
                    o.id.value, mm(c, most), mm(c, 2 * j.half)));
}

// ---- how far they open ----

/// Whether an earlier operation has cut this surface.
bool cut_before(const plan::Plan& plan, const plan::Operation& o, const std::string& reference) {
  const plan::Reference asked = plan::parse_reference(reference);
  for (const plan::Operation& p : plan.operations) {
    if (&p == &o) return false;
    for (const std::string& m : p.makes.value) {
      const plan::Reference made = plan::parse_reference(m);
      if (made.id == asked.id && (made.side.empty() || made.side == asked.side)) return true;
    }
  }
  return false;
}

/// Metal that the casting has over a finished surface, m: 0 where the route never cuts it; nothing where no raw size
/// says it.
std::optional<double> raw_over(const plan::Plan& plan, const std::string& reference) {
  const plan::Reference r = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, r.id);
  const std::string key = f != nullptr && f->over.known() ? f->over.value : reference;
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (s.kind.value == "inside" || !s.raw.known()) continue;
    const bool height = s.kind.value == "height";
    std::vector<std::string> ends = s.between.value;
    if (height) ends.insert(ends.begin(), s.feature.value);
    if (ends.size() != 2 || (ends[0] != key && (height || ends[1] != key))) continue;
    const Surface a = surface_of(plan, ends[0]), b = surface_of(plan, ends[1]);
    if (!a.there || !b.there || a.round || b.round) continue;
    const double total = s.raw.si - std::fabs(frame::dot(a.normal, a.point - b.point));
    if (height) return total;
    const double last = s.stock.known() ? s.stock.si : 0.5 * total;
    return ends[1] == key ? last : total - last;
  }
  const bool ever = std::any_of(plan.operations.begin(), plan.operations.end(), [&](const plan::Operation& o) {
    return std::any_of(o.makes.value.begin(), o.makes.value.end(), [&](const std::string& m) {
      return plan::parse_reference(m).id == r.id || m == key || plan::parse_reference(key).id == m;
    });
  });
  return ever ? std::nullopt : std::optional(0.0);
}

/// How far apart the jaws stand when they touch.
struct Across {
  double size = 0;  ///< m; what of it is known
  std::vector<std::string> missing;
  std::string words;
};

Across across_of(Context& c, const plan::Operation& o, const plan::Clamp& k) {
  Across a;
  const Vec3 way = way_of(c.plan, k);
  std::string fixed;
  for (const plan::Locator& l : o.locators) {
    const Surface s = surface_of(c.plan, l.on.value);
    const Vec3 n = l.normal.known() ? direction(l.normal.value) : s.normal;
    if (s.there && (l.kind.value == "jaw" || fixed.empty()) && (s.round || frame::dot(n, way) > 0.9))
      fixed = l.on.value;
  }
  const Surface p = surface_of(c.plan, k.on.value), q = surface_of(c.plan, fixed);
  if (frame::norm(way) < 0.5 || !p.there || !q.there) {
    a.missing.emplace_back("operation.clamp.on and the locator jaw across from it: the two faces between the jaws");
    return a;
  }
  a.size = frame::dot(q.point - p.point, way) + (p.round ? p.radius : 0) + (q.round ? q.radius : 0);
  for (const std::string& face : {k.on.value, fixed}) {
    if (cut_before(c.plan, o, face)) continue;
    const std::optional<double> raw = raw_over(c.plan, face);
    if (raw) a.size += *raw;
    else a.missing.push_back(fmt::format("casting.size: one that says where {} is raw", face));
    if (raw && *raw > typed_to)
      a.words += fmt::format("{}{} with {} of stock on it", a.words.empty() ? "" : ", ", face, mm(c, *raw));
  }
  return a;
}

void one_opening(Context& c, const plan::Operation& o, const plan::Clamp& k) {
  const plan::Thing* vise = vise_of(c.plan, o);
  const auto named = std::find_if(c.plan.shop.things.begin(), c.plan.shop.things.end(), [&](const plan::Thing& t) {
    return t.kind.value == "vise" && k.thing.given() && t.id.value == k.thing.value;
  });
  if (vise == nullptr && named == c.plan.shop.things.end()) return;  // nobody says which vise
  Finding f = start(o.id.value, "vise", "opens", "vise opens as far as the part asks", unit::Kind::length);
  f.formula = "distance of the clamped faces, with stock where they are raw, times parts in series; limit: the opening";
  f.source = "geometry; the opening as the shop file says it";
  if (vise == nullptr) {
    f.limit = finding::upper(1);
    leave_open(c, std::move(f),
               {fmt::format("thing.{}.size: width and height of its jaws, how far it opens", named->id.value)});
    return;
  }
  const double opens = vise->size.value[2];
  f.limit = finding::upper(opens);
  const Across a = across_of(c, o, k);
  const int parts = o.kind.value == "vise gang" && o.parts.known() ? std::max(1, o.parts.value) : 1;
  // Rounded as typed: five times 36 mm fill 180 mm.
  const double asked = std::round(parts * a.size / typed_to) * typed_to;
  if (!a.missing.empty() && !(asked > opens)) return leave_open(c, std::move(f), a.missing);
  f.inputs = {{"between the faces", a.size, unit::Kind::length, a.words},
              {"parts in series", static_cast<double>(parts), unit::Kind::number, {}},
              {"opens", opens, unit::Kind::length, vise->id.value}};
  f.levers.push_back({"opening of the vise", fmt::format("thing.{}.size", vise->id.value), opens, asked,
                      unit::Kind::length,
                      fmt::format("a vise that opens {} → {}, or other faces", mm(c, opens), mm(c, asked))});
  f.sentence = fmt::format(
      "{} across{}; {} opens {}{}.", mm(c, asked),
      parts > 1 ? fmt::format(", {} parts in series", parts) : std::string(), vise->id.value, mm(c, opens),
      asked > opens ? ": the part does not go in" : fmt::format(", {} to spare to put it in", mm(c, opens - asked)));
  settle(c, std::move(f), [asked](const std::vector<double>&) { return asked; });
}

}  // namespace

const plan::Thing* vise_of(const plan::Plan& plan, const plan::Operation& o) {
  const plan::Thing* best = nullptr;
  for (const plan::Clamp& k : o.clamps)
    for (const plan::Thing& t : plan.shop.things)
      if (vise_clamp(k) && t.kind.value == "vise" && k.thing.given() && k.thing.value == t.id.value)
        return t.size.value.size() == 3 ? &t : nullptr;
  for (const plan::Thing& t : plan.shop.things) {
    if (t.kind.value != "vise" || t.size.value.size() != 3) continue;
    if (t.machine.known() && t.machine.value != o.machine.value) continue;
    if (best == nullptr || t.size.value[2] > best->size.value[2]) best = &t;
  }
  return best;
}

std::vector<Vec3> touches(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& l) {
  return l.kind.value == "jaw" ? under_jaws(plan, o, l.at.value) : l.at.value;
}
std::vector<Vec3> touches(const plan::Plan& plan, const plan::Operation& o, const plan::Clamp& k) {
  return vise_clamp(k) ? under_jaws(plan, o, k.at.value) : k.at.value;
}

void vise_jaw_findings(Context& c) {
  for (const plan::Operation& o : c.plan.operations) {
    if (!in_vise(o)) continue;
    say_beyond(c, o);
    const auto k = std::find_if(o.clamps.begin(), o.clamps.end(), vise_clamp);
    one_opening(c, o, *k);
  }
}

}  // namespace fettle::study
