#include "study/casting_model.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "ref/casting_grades.h"
#include "study/fixture_pins.h"
#include "study/mesh_points.h"
#include "study/vise_jaws.h"

namespace fettle::study {

using casting::Contact;
using frame::Vec3;

namespace {

/// Raw metal above a finished surface at the parting line, by reference.
using Stock = std::map<std::string, double>;

/// A surface as cast and the face cut there are two things with one name on the drawing.
std::string raw_id(const std::string& reference) { return "raw " + reference; }

Stock stock_of(const plan::Plan& plan) {
  Stock out;
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (!s.raw.known()) continue;
    if (s.kind.value == "inside") {
      const Surface f = surface_of(plan, s.feature.value);
      if (f.there && f.round) out[s.feature.value] = f.radius - 0.5 * s.raw.si;
    } else if (s.kind.value == "height" && !s.between.value.empty()) {
      const Surface f = surface_of(plan, s.feature.value), base = surface_of(plan, s.between.value[0]);
      if (f.there && base.there)
        out[s.feature.value] = s.raw.si - std::fabs(frame::dot(f.normal, f.point - base.point));
    } else if (s.between.value.size() == 2) {
      const Surface a = surface_of(plan, s.between.value[0]), b = surface_of(plan, s.between.value[1]);
      if (!a.there || !b.there) continue;
      const double total = s.raw.si - std::fabs(frame::dot(b.normal, a.point - b.point));
      const double last = s.stock.known() ? s.stock.si : 0.5 * total;
      out[s.between.value[1]] = last;
      out[s.between.value[0]] = total - last;
    }
  }
  return out;
}

int core_of(const plan::Plan& plan, const std::string& feature) {
  for (std::size_t k = 0; k < plan.casting.cores.size(); ++k)
    for (const std::string& f : plan.casting.cores[k].features.value)
      if (f == feature) return static_cast<int>(k);
  return -1;
}

std::vector<casting::FacePoint> points_of(const plan::Plan& plan, const Surface& s, double raw_stock, double draft,
                                          double parting) {
  if (s.round) {
    casting::RoundSpec r;
    r.axis_point = s.point;
    r.axis = s.normal;
    const double half = 0.5 * (s.to - s.from);
    r.low = -half;
    r.high = half;
    r.finished_radius = s.radius;
    r.raw_radius = s.radius - raw_stock;
    r.zero = axis_across(s.normal);
    const int k = core_of(plan, s.feature->id.value);
    // Sizes hold at the parting line; the core widens from there towards where the bore opens.
    const bool opens_down = s.feature->normal.known() && s.feature->normal.value[0] == '-';
    if (k >= 0) r.draft = (opens_down ? -1 : 1) * plan.casting.cores[static_cast<std::size_t>(k)].draft.si;
    if (plan.casting.parting.known() && s.normal.z != 0) r.draft_from = parting - s.point.z;
    return casting::round_points(r);
  }
  if (s.extent_u > 0 && s.extent_u == s.extent_v &&
      s.feature->diameter.known()) {  // a round face: rings from its rim inwards
    std::vector<casting::FacePoint> out;
    const Vec3 u = axis_across(s.normal), v = frame::cross(s.normal, u);
    for (double r : {0.5 * s.extent_u, 0.25 * s.extent_u})
      for (int i = 0; i < 12; ++i) {
        const double a = 2 * 3.14159265358979323846 * i / 12;
        const Vec3 q = s.point + (r * std::cos(a)) * u + (r * std::sin(a)) * v;
        out.push_back({q, s.normal, q + raw_stock * s.normal});
      }
    return out;
  }
  casting::PlaneSpec p;
  p.centre = s.point;
  p.normal = s.normal;
  p.u = axis_across(s.normal);
  const bool side = s.normal.z == 0;
  const double corner = side ? (plan.part.corner_radius.known() ? plan.part.corner_radius.si
                                : s.feature->radius.known()     ? s.feature->radius.si
                                                                : 0)
                             : 0;
  p.half_u = std::max(0.5 * s.extent_u - corner, 0.0);
  p.half_v = 0.5 * s.extent_v;
  p.raw_stock = raw_stock;
  p.draft = side ? draft : 0;
  p.parting_height = parting;
  return casting::plane_points(p);
}

Contact rest(const std::string& id, const std::string& surface, Vec3 p, Vec3 n, double s) {
  return casting::rest(id, surface, p, n, s);
}

/// The contacts of a locator: one per point.
void contacts_of(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& l,
                 const std::set<std::string>& known, std::vector<Contact>& out, std::vector<std::string>& missing) {
  const std::string& operation = o.id.value;
  const double s = l.repeat.known() ? l.repeat.si : 0;
  const std::string name = l.id.known() ? l.id.value : l.kind.value;
  if (l.kind.value == "centre") {
    const auto pair = base::split(l.on.value, ' ');
    if (pair.size() != 2) {
      missing.push_back(operation + ": a centre needs two surfaces in `on`, such as \"F1.+x F1.-x\"");
      return;
    }
    const Surface a = surface_of(plan, pair[0]), b = surface_of(plan, pair[1]);
    if (!a.there || !b.there || known.count(pair[0]) == 0 || known.count(pair[1]) == 0) {
      missing.push_back(fmt::format("{}: where the surfaces {} are", operation, l.on.value));
      return;
    }
    // Where it takes the middle: at the points given, moved along the normals onto the two surfaces.
    std::vector<Vec3> places = l.at.value;
    if (places.empty()) places.push_back(0.5 * (a.point + b.point));
    for (std::size_t i = 0; i < places.size(); ++i) {
      const auto onto = [&](const Surface& f) {
        return places[i] + frame::dot(f.normal, f.point - places[i]) * f.normal;
      };
      out.push_back(casting::centred(fmt::format("{} {}", name, i + 1), pair[0], onto(a), a.normal, pair[1], onto(b),
                                     b.normal, s));
    }
    return;
  }
  const Surface f = surface_of(plan, l.on.value);
  const Vec3 n = l.normal.known() ? direction(l.normal.value) : f.normal;
  const bool pin = l.kind.value == "round pin" || l.kind.value == "relieved pin";
  const std::string surface = pin && f.there ? f.feature->id.value : f.reference;  // of a pattern all holes at once
  if (!f.there || known.count(surface) == 0) {
    missing.push_back(fmt::format("{}: where the surface {} is", operation, l.on.value));
    return;
  }
  if (pin) {
    const std::vector<Vec3> stopped = stopped_by(plan, o, l);
    for (std::size_t i = 0; i < stopped.size(); ++i)
      out.push_back(rest(stopped.size() == 1 ? name : name + (i == 0 ? " x" : " y"), surface, f.point, stopped[i], s));
    return;
  }
  std::vector<Vec3> points = touches(plan, o, l);
  if (points.empty()) points.push_back(f.point);
  for (std::size_t i = 0; i < points.size(); ++i)
    out.push_back(rest(fmt::format("{} {}", name, i + 1), f.reference, points[i], n, s));
}

/// Pins and pads of the pallet are the locators of an operation on pallets.
void pallet_contacts(const plan::Plan& plan, const std::set<std::string>& known, std::vector<Contact>& out,
                     std::vector<std::string>& missing, const std::string& operation) {
  const plan::Pallet& p = plan.pallet;
  std::string seat;
  for (const plan::Feature& f : plan.features)
    if (f.kind.value == "face" && f.normal.value == "-z" && known.count(f.id.value) > 0) seat = f.id.value;
  int n = 0;
  for (const plan::Pad& pad : p.pads)
    for (const Vec3& at : pad.at.value)
      if (!seat.empty())
        out.push_back(
            rest(fmt::format("pad {}", ++n), seat, {at.x, at.y, surface_of(plan, seat).point.z}, {0, 0, -1}, 0));
  if (n == 0) missing.push_back(operation + ": pallet.pad, the places it rests on, and the face that lies on them");
  Vec3 first;
  for (const plan::Pin& pin : p.pins) {
    const Surface h = surface_of(plan, pin.in.value);
    if (!h.there || known.count(h.feature->id.value) == 0) {
      missing.push_back(fmt::format("{}: the hole {} of the {} pin, made by an earlier operation", operation,
                                    pin.in.value, pin.kind.value));
      continue;
    }
    const std::string& id = h.feature->id.value;
    if (pin.kind.value == "round") {
      out.push_back(rest("round pin x", id, h.point, {1, 0, 0}, 0));
      out.push_back(rest("round pin y", id, h.point, {0, 1, 0}, 0));
      first = h.point;
    } else {
      for (const plan::Pin& other : p.pins)
        if (other.kind.value == "round") first = surface_of(plan, other.in.value).point;
      const Vec3 line = frame::unit({h.point.x - first.x, h.point.y - first.y, 0});
      const Vec3 stopped = pin.direction.known() ? Vec3{-std::sin(pin.direction.si), std::cos(pin.direction.si), 0}
                                                 : Vec3{-line.y, line.x, 0};
      out.push_back(rest("relieved pin", id, h.point, stopped, 0));
    }
  }
  if (p.pins.empty()) missing.push_back(operation + ": pallet.pin, the pins the part sits on");
}

}  // namespace

double spread_of(const plan::Plan& plan, const plan::CastSize& s) {
  if (s.spread.known()) return s.spread.si;
  if (s.tolerance.known()) return s.tolerance.si / 6;
  const int grade = s.grade.known()                        ? s.grade.value
                    : plan.casting.tolerance_grade.known() ? plan.casting.tolerance_grade.value
                                                           : 0;
  if (grade == 0 || !s.raw.known()) return std::nan("");
  const Outcome<double> x = casting::s_of_grade(grade, s.raw.si);
  return x.ok() ? *x : std::nan("");
}

namespace {

void add(CastingModel& m, const std::string& key, casting::Mode mode) {
  m.mode[key] = static_cast<int>(m.casting.modes.size());
  m.casting.modes.push_back(std::move(mode));
}

void add_modes(CastingModel& m, const plan::Plan& plan, const CastingNumbers& n) {
  const Vec3 centre{0, 0, m.casting.parting_height};
  double length_x = 0, length_y = 0;
  for (const plan::CastSize& s : plan.casting.sizes) {
    const double spread = spread_of(plan, s);
    if (!s.raw.known()) continue;
    if (std::isnan(spread)) {
      m.missing.push_back(fmt::format("casting.tolerance_grade, or a spread for casting.size {}", s.id.value));
      continue;
    }
    const double rest = std::sqrt(
        std::max(spread * spread - n.scale * s.raw.si * n.scale * s.raw.si, 0.0));  // shrinkage has its own mode
    if (s.kind.value == "outside" && s.between.value.size() == 2) {
      const Surface b = surface_of(plan, s.between.value[1]);
      if (!b.there) continue;
      const Vec3 axis{std::fabs(b.normal.x), std::fabs(b.normal.y), std::fabs(b.normal.z)};
      if (axis.x > 0.5) length_x = s.raw.si;
      if (axis.y > 0.5) length_y = s.raw.si;
      if (axis.z > 0.5) add(m, "size " + s.id.value, casting::closure({0, 0, 1}, rest));
      else add(m, "size " + s.id.value, casting::size_along(s.id.value, axis, centre, s.raw.si, rest));
    } else if (s.kind.value == "inside") {
      const int k = core_of(plan, s.feature.value);
      add(m, "size " + s.id.value,
          casting::core_diameter(s.id.value, std::max(k, 0), {raw_id(s.feature.value)}, spread));
    } else if (s.kind.value == "height") {
      casting::Mode mode = casting::surface_offset(raw_id(s.feature.value), spread);
      mode.name = s.id.value + " height";
      add(m, "size " + s.id.value, mode);
    }
  }
  add(m, "scale", casting::isotropic_scale(centre, n.scale));
  add(m, "mould x", casting::mould_shift("mould mismatch X", {1, 0, 0}, n.mismatch));
  add(m, "mould y", casting::mould_shift("mould mismatch Y", {0, 1, 0}, n.mismatch));
  const double arm = 0.5 * std::max(length_x, length_y);
  if (arm > 0) add(m, "mould turn", casting::mould_turn({0, 0, 1}, centre, n.mismatch / arm));
  for (std::size_t k = 0; k < plan.casting.cores.size(); ++k) {
    const plan::Core& core = plan.casting.cores[k];
    const int body = static_cast<int>(k);
    add(m, fmt::format("core {} x", k), casting::core_shift(core.id.value + " shift X", body, {1, 0, 0}, n.core_x[k]));
    add(m, fmt::format("core {} y", k), casting::core_shift(core.id.value + " shift Y", body, {0, 1, 0}, n.core_y[k]));
    const bool height_said = std::any_of(
        plan.casting.sizes.begin(), plan.casting.sizes.end(),
        [&](const plan::CastSize& s) { return s.kind.value == "height" && core_of(plan, s.feature.value) == body; });
    if (!height_said)
      add(m, fmt::format("core {} z", k), casting::core_shift(core.id.value + " height", body, {0, 0, 1}, n.core_z[k]));
    if (core.turn.si > 0)
      add(m, fmt::format("core {} turn", k),
          casting::core_turn(core.id.value + " turn", body, {0, 0, 1}, centre, core.turn.si));
  }
  if (length_x > 0)
    add(m, "warp x", casting::warp_bend("warp along X", {0, 0, 1}, {1, 0, 0}, centre, length_x, n.warp));
  if (length_x > 0 && length_y > 0) {
    const double share = (length_y / length_x) * (length_y / length_x);
    add(m, "warp y", casting::warp_bend("warp along Y", {0, 0, 1}, {0, 1, 0}, centre, length_y, n.warp * share));
    add(m, "twist", casting::warp_twist("twist", {0, 0, 1}, {1, 0, 0}, centre, length_x, length_y, 0.5 * n.warp));
  }
  for (const plan::Gate& g : plan.casting.gates)
    for (const Vec3& at : g.at.value)
      add(m, "gate " + g.id.value, casting::stub(g.id.value, raw_id(g.face.value), at, 0.5 * g.width.si, g.height.si));
  m.casting.texture_s = n.texture;
}

}  // namespace

CastingNumbers numbers_of(const plan::Plan& plan) {
  CastingNumbers n;
  const plan::Casting& c = plan.casting;
  n.skin = c.skin.si;
  n.scale = c.scale.si;
  n.mismatch = c.mismatch.si;
  n.warp = c.warp.si;
  n.texture = c.texture.si;
  n.draft = c.draft.si;
  for (const plan::Core& k : c.cores) {
    n.core_x.push_back(k.shift_x.si);
    n.core_y.push_back(k.shift_y.si);
    n.core_z.push_back(k.shift_z.si);
  }
  return n;
}

double parting_of(const plan::Plan& plan) {
  if (plan.casting.parting.known()) return plan.casting.parting.si;
  double low = 0, high = 0;
  bool any = false;
  for (const plan::Feature& f : plan.features) {
    if (f.kind.value != "face" || f.at.value.empty() || f.normal.value.size() != 2 || f.normal.value[1] != 'z')
      continue;
    const double z = f.at.value[0].z;
    low = any ? std::min(low, z) : z;
    high = any ? std::max(high, z) : z;
    any = true;
  }
  return 0.5 * (low + high);
}

CastingModel casting_model(const plan::Plan& plan, const CastingNumbers& numbers, const Models* models) {
  CastingModel m;
  const Stock stock = stock_of(plan);
  m.casting.parting_height = parting_of(plan);
  if (plan.casting.sizes.empty()) m.missing.emplace_back("casting.size: raw length, width, thickness, cored diameters");
  if (plan.operations.empty()) m.missing.emplace_back("operation: the route");

  // Raw surfaces: every final surface that was cast and whose raw place is known.
  std::set<std::string> known;
  for (const plan::Feature& f : plan.features) {
    if (f.over.known() || (f.cast.value != "skin" && f.cast.value != "cored")) continue;
    for (const std::string& ref : sides_of(f)) {
      const Surface s = surface_of(plan, ref);
      const bool sized = s.round ? s.to > s.from : s.extent_u > 0 && s.extent_v > 0;
      if (stock.count(ref) == 0 || !s.there || !sized) {
        m.open_faces[ref] = s.there && sized ? fmt::format("casting.size: a raw dimension that ends on {}", ref)
                                             : fmt::format("feature {}: where it is and how large", f.id.value);
        continue;
      }
      casting::RawSurface r;
      r.id = raw_id(ref);
      const int k = core_of(plan, f.id.value);
      if (k >= 0) r.body = casting::core(k);
      else if (s.normal.z > 0.5) r.body = casting::cope;
      else if (s.normal.z < -0.5) r.body = casting::drag;
      else r.across_parting = true;
      m.casting.surfaces.push_back(r);
      known.insert(ref);
    }
  }
  add_modes(m, plan, numbers);

  std::string friction;  // the surface that stands for it, once needed
  std::set<std::string> cut_ids;
  std::map<std::string, std::string> last_cut;  // final surface -> face cut last on it
  std::map<std::string, double> last_above;     // how far that face stands above the final surface
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const plan::Operation& o = plan.operations[k];
    casting::Operation op;
    op.id = o.id.value;
    std::vector<std::string> missing;
    // After a first cut, a locator on the final surface's name sits on that cut.
    if (o.kind.value == "pallet") pallet_contacts(plan, known, op.contacts, missing, o.id.value);
    for (const plan::Locator& l : o.locators) contacts_of(plan, o, l, known, op.contacts, missing);
    for (Contact& contact : op.contacts)
      for (casting::Touch& t : contact.touches)
        if (const auto it = last_cut.find(t.surface); it != last_cut.end()) t.surface = it->second;
        else if (cut_ids.count(t.surface) == 0) t.surface = raw_id(t.surface);
    // Ground on a chuck, a part may lie anywhere on it: friction holds what no face cares about.
    if (std::any_of(o.locators.begin(), o.locators.end(),
                    [](const plan::Locator& l) { return l.kind.value == "chuck"; }) &&
        op.contacts.size() == 3) {
      const Vec3 n = op.contacts[0].touches[0].n, u = axis_across(n), v = frame::cross(n, u);
      if (friction.empty()) {
        friction = "friction on the chuck";
        casting::RawSurface r;
        r.id = friction;
        m.casting.surfaces.push_back(r);
      }
      op.contacts.push_back(rest("friction 1", friction, {}, u, 0));
      op.contacts.push_back(rest("friction 2", friction, -0.05 * u, v, 0));
      op.contacts.push_back(rest("friction 3", friction, 0.05 * u, v, 0));
    }
    if (!o.shift.value.empty()) {
      const Vec3 s = o.shift.value[0];
      const double most[3] = {std::fabs(s.x), std::fabs(s.y), std::fabs(s.z)};
      for (std::size_t i = 0; i < 3; ++i) {
        op.shift_high[i] = most[i];
        op.shift_low[i] = -most[i];
      }
    }
    const bool makes_something = !o.makes.value.empty();
    if (!makes_something) continue;
    if (op.contacts.empty() && missing.empty())
      missing.push_back(fmt::format("operation {}: its locators", o.id.value));
    m.missing.insert(m.missing.end(), missing.begin(), missing.end());
    const int index = static_cast<int>(m.route.operations.size());
    m.route.operations.push_back(op);
    for (const std::string& made : o.makes.value) {
      const plan::Reference r = plan::parse_reference(made);
      const plan::Feature* f = plan::find_feature(plan, r.id);
      if (f == nullptr) continue;
      const std::vector<std::string> refs = r.side.empty() ? sides_of(*f) : std::vector<std::string>{made};
      for (const std::string& ref : refs) {
        const Surface s = surface_of(plan, ref);
        const std::string final = f->over.known() ? f->over.value : ref;
        if (!s.there) continue;
        casting::Face face;
        CutFace cut;
        face.id = cut.id = ref;
        cut.final = final;
        cut.operation = face.operation = index;
        const auto before = last_cut.find(final);
        const bool was_cast =
            stock.count(final) > 0 && std::any_of(m.casting.surfaces.begin(), m.casting.surfaces.end(),
                                                  [&](const auto& x) { return x.id == raw_id(final); });
        if (before != last_cut.end()) {
          face.from = before->second;
          const double above =
              last_above[final] - (s.round ? 0 : frame::dot(s.normal, s.point - surface_of(plan, final).point));
          const double radial = s.round ? s.radius - last_above[final] : above;
          face.points = points_of(plan, s, radial, numbers.draft, m.casting.parting_height);
          if (!s.round)
            for (casting::FacePoint& p : face.points) p.p = p.q + above * s.normal;  // the earlier cut has no draft
          face.weight = 0.05;  // it must leave something, but the best shift is not sought for it
          cut.judged = true;
        } else if (was_cast && !s.round && !(s.extent_u > 0 && s.extent_v > 0)) {
          // Judged in its middle alone, a face of unknown size would look better than it is.
          m.open_faces[ref] = fmt::format("feature {}: its size", f->id.value);
          face.from = raw_id(final);
          face.points = points_of(plan, s, stock.at(final), 0, m.casting.parting_height);
        } else if (was_cast) {
          face.from = raw_id(final);
          const Surface last = surface_of(plan, final);
          const double above =
              stock.at(final) - (s.round ? last.radius - s.radius : frame::dot(s.normal, s.point - last.point));
          if (models != nullptr) {
            face.points = mesh_points(models->part, models->cast, last, stock.at(final) - above);
            cut.from_models = !face.points.empty();
          }
          if (face.points.empty()) face.points = points_of(plan, s, above, numbers.draft, m.casting.parting_height);
          face.must_leave = numbers.skin;
          cut.skin = cut.judged = true;
        } else if (m.open_faces.count(final) > 0) {
          continue;
        } else {  // cut from the solid: there for later locators, never in doubt
          casting::RawSurface solid;
          solid.id = "solid under " + ref;
          m.casting.surfaces.push_back(solid);
          face.from = solid.id;
          face.points = points_of(plan, s, 5e-3, numbers.draft, m.casting.parting_height);  // metal enough
        }
        last_cut[final] = ref;
        last_above[final] = s.round ? s.radius : frame::dot(s.normal, s.point - surface_of(plan, final).point);
        known.insert(ref);
        known.insert(final);
        cut_ids.insert(ref);
        m.route.faces.push_back(face);
        m.faces.push_back(cut);
      }
    }
  }
  if (m.route.operations.empty()) return m;
  // A surface that was cast and that nothing cuts, or of which nobody says that it was cast, may not just be left out.
  for (const plan::Feature& f : plan.features) {
    if (f.over.known()) continue;
    for (const std::string& ref : sides_of(f)) {
      const bool cast = f.cast.value == "skin" || f.cast.value == "cored";
      if (cast && cut_ids.count(ref) == 0 && m.open_faces.count(ref) == 0)
        m.open_faces[ref] = fmt::format("operation.makes: which operation cuts {}", ref);
      if (f.cast.value == "cored" && core_of(plan, f.id.value) < 0)
        m.open_faces[ref] = fmt::format("casting.core.features: the core that makes {}", f.id.value);
      if (!f.cast.known() && stock.count(ref) > 0)
        m.open_faces[ref] = fmt::format("feature {}: cast = \"skin\", \"cored\" or \"solid\"", f.id.value);
    }
  }
  for (CutFace& cut : m.faces)
    if (m.open_faces.count(cut.id) > 0) cut.judged = false;
  return m;
}

}  // namespace fettle::study
