#include "study/plate_model.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>

#include "calc/structure/at_rest.h"
#include "calc/structure/felt.h"
#include "calc/structure/plate.h"
#include "calc/structure/reduced.h"
#include "calc/structure/structure.h"
#include "ref/materials.h"
#include "study/of_one_study.h"

namespace fettle::study {

using frame::Vec3;

namespace {

const plan::Operation* pallet_operation(const plan::Plan& plan) {
  for (const plan::Operation& o : plan.operations)
    if (o.kind.value == "pallet") return &o;
  return nullptr;
}

/// Which way of the part is up on the pallet, as a sign and an axis: asked for thousands of points.
struct PartUp {
  char sign = '+', axis = 'z';
};
PartUp part_up_of(const plan::Plan& plan) {
  const plan::Operation* o = pallet_operation(plan);
  return o != nullptr && o->up.known() && o->up.value.size() == 2 ? PartUp{o->up.value[0], o->up.value[1]} : PartUp{};
}
/// A direction of the part as it lies: `up` points to the spindle.
Vec3 lying(PartUp up, Vec3 v) {
  const bool down = up.sign == '-';
  if (up.axis == 'x') return down ? Vec3{v.z, v.y, -v.x} : Vec3{-v.z, v.y, v.x};
  if (up.axis == 'y') return down ? Vec3{v.x, v.z, -v.y} : Vec3{v.x, -v.z, v.y};
  return down ? Vec3{v.x, -v.y, -v.z} : v;
}
Vec3 lying(const plan::Plan& plan, Vec3 v) { return lying(part_up_of(plan), v); }

struct NestAt {
  double x = 0, y = 0, turn = 0;
};
std::vector<NestAt> nests_of(const plan::Plan& plan) {
  std::vector<NestAt> out;
  for (const plan::Nest& n : plan.pallet.nests)
    for (const Vec3& at : n.at.value) out.push_back({at.x, at.y, n.turn.known() ? n.turn.si : 0});
  return out;
}
/// One of them, from 0.
NestAt nest_at(const plan::Plan& plan, int nest) {
  auto left = static_cast<std::size_t>(nest);
  for (const plan::Nest& n : plan.pallet.nests) {
    const auto& at = n.at.value;
    if (left < at.size()) return {at[left].x, at[left].y, n.turn.known() ? n.turn.si : 0};
    left -= at.size();
  }
  return {};
}
Vec3 turned(Vec3 v, double angle) {
  const double c = std::cos(angle), s = std::sin(angle);
  return {c * v.x - s * v.y, s * v.x + c * v.y, v.z};
}

/// Height of what the part stands on above the plate's top, and where that is in the part as it lies.
double seat_height(const plan::Plan& plan) {
  for (const plan::Pad& p : plan.pallet.pads)
    if (p.height.known()) return p.height.si;
  return 0;
}
double seat_level(const plan::Plan& plan) {
  double z = 0;
  bool any = false;
  const PartUp up = part_up_of(plan);
  for (const plan::Pad& p : plan.pallet.pads)
    for (const Vec3& at : p.at.value) {
      const double here = lying(up, at).z;
      z = any ? std::min(z, here) : here;
      any = true;
    }
  return z;
}

structure::Metal metal_of(const ref::Material& m) {
  return {m.modulus.value, m.poisson.value, m.density.value, m.expansion.value};
}

/// Size of the part along the pallet's axes before its nest turns it.
Vec3 lying_size(const plan::Plan& plan) {
  const auto& s = plan.part.size.value;
  const Vec3 v = lying(plan, {s[0], s[1], s[2]});
  return {std::fabs(v.x), std::fabs(v.y), std::fabs(v.z)};
}

double part_mass(const plan::Plan& plan) {
  if (plan.pallet.loaded_part_mass.known()) return plan.pallet.loaded_part_mass.si;
  if (plan.casting.mass.known()) return plan.casting.mass.si;
  return plan.part.mass.known() ? plan.part.mass.si : 0;
}

void reliefs(const plan::Plan& plan, std::vector<structure::Relief>& out) {
  const auto add = [&](const std::vector<plan::Relief>& list, double sign, bool through) {
    for (const plan::Relief& r : list)
      for (const Vec3& at : r.at.value) {
        structure::Relief x;
        x.round = r.diameter.known();
        x.through = through;
        x.x = at.x, x.y = at.y;
        if (r.size.value.size() >= 2) x.size_x = r.size.value[0], x.size_y = r.size.value[1];
        x.diameter = r.diameter.si;
        x.turn = r.turn.si;
        x.depth = sign * r.depth.si;
        out.push_back(x);
      }
  };
  add(plan.pallet.pockets, 1, false);
  add(plan.pallet.ribs, -1, false);
  add(plan.pallet.holes, 1, true);
  // Run-offs: from behind each nest's middle to a channel across the pallet, as the drawing of the pallet shows them.
  for (const plan::RunOff& r : plan.pallet.run_offs) {
    if (!r.width.known() || !r.depth.known()) continue;
    const bool along_y = r.along.value != "x";
    const double behind = r.closed_end.known() ? r.closed_end.si : 0;
    double reach = 0;
    for (const NestAt& n : nests_of(plan)) {
      const double run = along_y ? n.y : n.x, off = along_y ? n.x : n.y;
      const double far = run + (run > 0 ? behind : -behind);
      structure::Relief x;
      x.depth = r.depth.si;
      x.x = along_y ? off : 0.5 * far;
      x.y = along_y ? 0.5 * far : off;
      x.size_x = along_y ? r.width.si : std::fabs(far);
      x.size_y = along_y ? std::fabs(far) : r.width.si;
      out.push_back(x);
      reach = std::max(reach, std::fabs(off));
    }
    structure::Relief cross;
    cross.depth = r.depth.si;
    cross.size_x = along_y ? 2 * reach + r.width.si : r.width.si;
    cross.size_y = along_y ? r.width.si : 2 * reach + r.width.si;
    if (reach > 0) out.push_back(cross);
    if (r.exit_diameter.known()) {
      structure::Relief hole;
      hole.round = hole.through = true;
      hole.diameter = r.exit_diameter.si;
      out.push_back(hole);
    }
  }
}

}  // namespace

std::vector<structure::Relief> plate_reliefs(const plan::Plan& plan) {
  std::vector<structure::Relief> out;
  reliefs(plan, out);
  return out;
}

int nest_count(const plan::Plan& plan) {
  std::size_t n = 0;
  for (const plan::Nest& x : plan.pallet.nests) n += x.at.value.size();
  return static_cast<int>(n);
}

Vec3 turned_on_pallet(const plan::Plan& plan, int nest, Vec3 direction_in_part) {
  return turned(lying(plan, direction_in_part), nest_at(plan, nest).turn);
}

Vec3 on_pallet(const plan::Plan& plan, int nest, Vec3 in_part) {
  const NestAt n = nest_at(plan, nest);
  const Vec3 v = turned(lying(plan, in_part), n.turn);
  return {n.x + v.x, n.y + v.y, v.z - seat_level(plan) + seat_height(plan)};
}

std::vector<std::string> plate_missing(const Context& c) {
  std::vector<std::string> out;
  const plan::Pallet& p = c.plan.pallet;
  if (p.plate.size.value.size() != 3) out.emplace_back("pallet.plate.size: length, width and thickness");
  if (!p.plate.material.known()) out.emplace_back("pallet.plate.material: grade of the plate");
  else if (!ref::material(p.plate.material.value).ok())
    out.push_back(fmt::format("pallet.plate.material: {} is not in the table of materials", p.plate.material.value));
  std::size_t anchors = 0;
  for (const plan::Anchor& a : p.anchors) {
    anchors += a.at.value.size();
    if (!a.stiffness_up.known() || !a.stiffness_side.known() || !a.patch.known())
      out.emplace_back("pallet.anchor.stiffness_up, stiffness_side and patch");
  }
  if (anchors < 3) out.emplace_back("pallet.anchor: where the pallet is drawn down, three places at least");
  if (nest_count(c.plan) == 0) out.emplace_back("pallet.nest: where the parts sit");
  if (c.plan.part.size.value.size() != 3) out.emplace_back("part.size: length, width and height of the part");
  if (!(part_mass(c.plan) > 0)) out.emplace_back("pallet.loaded_part_mass: one part as it is loaded");
  if (!p.damping.known()) out.emplace_back("pallet.damping: damping ratio of the loaded pallet");
  return out;
}

PlateKnobs stated_knobs(const Context& c) {
  PlateKnobs k;
  const plan::Pallet& p = c.plan.pallet;
  if (p.plate.size.value.size() == 3) k.thickness = p.plate.size.value[2];
  if (!p.anchors.empty()) {
    k.anchor_up = p.anchors.front().stiffness_up.si;
    k.anchor_side = p.anchors.front().stiffness_side.si;
  }
  k.damping = p.damping.si;
  return k;
}

structure::Inputs plate_inputs(const Context& c, const PlateKnobs& knobs, const std::vector<PlatePoint>& points) {
  const plan::Pallet& p = c.plan.pallet;
  structure::Inputs in;
  in.plate.length = p.plate.size.value[0];
  in.plate.width = p.plate.size.value[1];
  in.plate.thickness = knobs.thickness;
  for (const Vec3& v : p.plate.outline.value) in.plate.outline.push_back({v.x, v.y});
  in.plate.metal = metal_of(*ref::material(p.plate.material.value));
  reliefs(c.plan, in.plate.reliefs);
  in.plate.reliefs.insert(in.plate.reliefs.end(), knobs.more_ribs.begin(), knobs.more_ribs.end());
  const double up = knobs.anchor_up / p.anchors.front().stiffness_up.si,
               side = knobs.anchor_side / p.anchors.front().stiffness_side.si;
  for (const plan::Anchor& a : p.anchors)
    for (const Vec3& at : a.at.value)
      in.anchors.push_back({at.x, at.y, a.patch.si, a.stiffness_up.si * up, a.stiffness_side.si * side});
  for (const Vec3& at : knobs.more_anchors)
    in.anchors.push_back({at.x, at.y, p.anchors.front().patch.si, knobs.anchor_up, knobs.anchor_side});
  const Vec3 size = lying_size(c.plan);
  const double mass = part_mass(c.plan);
  const auto iron = ref::material(c.plan.part.material.value);
  for (const NestAt& n : nests_of(c.plan)) {
    structure::Part part;
    part.x = n.x, part.y = n.y, part.turn = n.turn;
    part.size_x = size.x, part.size_y = size.y;
    part.mass = mass;
    part.height = seat_height(c.plan) + 0.5 * size.z;
    part.inertia = {mass * (size.y * size.y + size.z * size.z) / 12, mass * (size.x * size.x + size.z * size.z) / 12,
                    mass * (size.x * size.x + size.y * size.y) / 12};
    if (knobs.parts_bonded && iron.ok()) {
      part.thickness = size.z;
      part.metal = metal_of(*iron);
      for (const plan::Pad& pad : p.pads)
        for (const Vec3& at : pad.at.value) {
          const Vec3 v = turned(lying(c.plan, at), n.turn);
          part.seats.push_back({n.x + v.x, n.y + v.y});
          if (pad.diameter.known()) part.seat_diameter = pad.diameter.si;
        }
    }
    in.parts.push_back(part);
  }
  in.bonded = knobs.parts_bonded && iron.ok();
  for (const PlatePoint& q : points) in.points.push_back({q.at, q.nest});
  in.damping = knobs.damping;
  in.modes = knobs.modes;
  in.columns = 20, in.rows = 16;
  in.want_shapes = false;
  in.want_error = false;
  return in;
}

namespace {

/// A plain rectangle with parts as mass alone: its free modes say the same as the full model, sooner.
bool plain(const structure::Inputs& in) { return in.plate.outline.empty() && in.plate.reliefs.empty() && !in.bonded; }

/// Modes that the full model is solved for, whoever asks: all of them share the one plate.
constexpr int felt_modes = 16;

/// The plate as its parts feel it: neither the points nor the damping change it.
std::shared_ptr<const structure::Felt> felt_with(Context& c, structure::Inputs in) {
  in.points.clear();
  in.damping = 0;
  const auto felt = [&c](const structure::Inputs& i) { return structure::felt(*factored(c, i), i.modes); };
  return c.memo.call("plate felt by its parts", felt, in);
}

std::shared_ptr<const structure::Felt> felt_by(Context& c, structure::Inputs in) {
  in.modes = std::max(in.modes, felt_modes);
  return felt_with(c, std::move(in));
}

std::shared_ptr<const structure::Result> solved(Context& c, const structure::Inputs& in) {
  if (plain(in)) {
    const auto basis = c.memo.call("plate basis", structure::make_basis, structure::basis_inputs(in));
    const auto few = [&basis](const structure::Inputs& i) { return structure::solve_reduced(*basis, i); };
    auto r = c.memo.call("plate by free modes", few, in);
    if (r->ok) return r;
  }
  const auto on_plate = [](const structure::Point& p) { return p.part < 0; };
  if (std::any_of(in.points.begin(), in.points.end(), on_plate)) return c.memo.call("plate", structure::solve, in);
  return std::make_shared<const structure::Result>(structure::result_of(*felt_by(c, in), in));
}

Problem no_plate(const std::string& why) {
  return {Fault::bad_input, {}, "the plate cannot be computed: " + why, {}, {}, {}};
}

/// What the parts give with the knobs, from the plate factored at the stated anchors; a why when it cannot be said.
std::vector<structure::FeltPart> parts_give(Context& c, const PlateKnobs& knobs, const PlateKnobs& stated,
                                            const std::vector<Vec3>& tried, structure::AtRestInputs in,
                                            std::string& why) {
  const double patch = c.plan.pallet.anchors.front().patch.si;
  const std::vector<Vec3>& more = knobs.more_anchors;
  const bool as_stated = !knobs.parts_bonded && knobs.more_ribs.empty() && knobs.thickness == stated.thickness;
  for (const Vec3& at : as_stated ? tried : more) in.tried.push_back({at.x, at.y, patch, 0, 0});
  in.parts = true;
  in.plate.points.clear();
  in.plate.damping = 0;
  if (more.empty() && knobs.anchor_up == stated.anchor_up && knobs.anchor_side == stated.anchor_side) {
    in.plate.modes = 0;  // no anchor moves: the parts' own give is all that is asked
    const auto felt = felt_with(c, in.plate);
    why = felt->why;
    if (felt->ok && !(felt->residual <= structure::sure_enough)) why = structure::not_sure;
    return why.empty() ? felt->parts : std::vector<structure::FeltPart>{};
  }
  const auto at_rest = [&c](const structure::AtRestInputs& i) { return structure::at_rest(*factored(c, i.plate), i); };
  const auto plate = c.memo.call("plate at rest", at_rest, in);
  std::vector<double> up = plate->up, side = plate->side;
  for (double& k : up) k *= knobs.anchor_up / stated.anchor_up;
  for (double& k : side) k *= knobs.anchor_side / stated.anchor_side;
  for (std::size_t k = 0; plate->ok && k < in.tried.size(); ++k)
    for (const Vec3& at : more)
      if (at.x == in.tried[k].x && at.y == in.tried[k].y) {
        up[in.plate.anchors.size() + k] = knobs.anchor_up;
        side[in.plate.anchors.size() + k] = knobs.anchor_side;
      }
  why = plate->why;
  std::vector<structure::FeltPart> out;
  for (const structure::Give6& give : structure::parts_with(*plate, up, side)) {
    const std::array<double, 2>& at = plate->middle[out.size()];
    out.push_back({at[0], at[1], give, {}});
  }
  return out;
}

std::vector<std::array<double, 9>> points_give(const std::vector<structure::FeltPart>& parts,
                                               const std::vector<PlatePoint>& points) {
  std::vector<std::array<double, 9>> out;
  for (const PlatePoint& p : points) {
    const structure::FeltPart& part = parts[static_cast<std::size_t>(p.nest)];
    out.push_back(structure::give_at(part.give, part.x, part.y, p.at));
  }
  return out;
}

}  // namespace

Outcome<PlateAnswer> plate_answer(Context& c, const PlateKnobs& knobs, const std::vector<PlatePoint>& points) {
  const structure::Inputs in = plate_inputs(c, knobs, points);
  const auto r = solved(c, in);
  if (!r->ok) return no_plate(r->why);
  PlateAnswer a;
  a.at = r->points;
  a.frequencies = r->frequencies;
  a.mass = r->plate_mass;
  return a;
}

Outcome<std::vector<std::array<double, 9>>> plate_gives(Context& c, const PlateKnobs& knobs,
                                                        const std::vector<PlatePoint>& points,
                                                        const std::vector<Vec3>& tried) {
  PlateKnobs still = knobs;
  still.modes = 0;
  if (plain(plate_inputs(c, still, points))) {
    auto r = plate_answer(c, still, points);
    if (!r.ok()) return r.problem();
    std::vector<std::array<double, 9>> out;
    for (const maths::PointResponse& p : r->at) out.push_back(maths::static_compliance(p));
    return out;
  }
  const PlateKnobs stated = stated_knobs(c);
  still.anchor_up = stated.anchor_up, still.anchor_side = stated.anchor_side;
  still.more_anchors.clear();
  structure::AtRestInputs in;
  in.plate = plate_inputs(c, still, {});
  const bool nothing_moved = knobs.anchor_up == stated.anchor_up && knobs.anchor_side == stated.anchor_side &&
                             knobs.thickness == stated.thickness && !knobs.parts_bonded && knobs.more_ribs.empty() &&
                             knobs.more_anchors.empty();
  if (nothing_moved) {
    const auto felt = felt_by(c, in.plate);
    if (!felt->ok) return no_plate(felt->why);
    return points_give(felt->parts, points);
  }
  std::string why;
  const std::vector<structure::FeltPart> parts = parts_give(c, knobs, stated, tried, in, why);
  if (parts.empty()) return no_plate(why);
  return points_give(parts, points);
}

void plate_ahead(Context& c, const PlateKnobs& knobs) {
  PlateKnobs still = knobs;
  still.modes = 0;
  const structure::Inputs in = plate_inputs(c, still, {});
  if (!plain(in)) felt_with(c, in);
}

std::string plate_words(Context& c, const PlateKnobs& knobs, const std::vector<PlatePoint>& points) {
  const structure::Inputs in = plate_inputs(c, knobs, points);
  const auto fine = solved(c, in);
  const auto half = [&fine](const structure::Inputs& i) { return structure::mesh_error(i, *fine); };
  const auto e = c.memo.call("plate, half as fine", half, in);
  return fmt::format(
      "{} × {} elements{}; give at the cuts sure to {:.1f} %, first mode to {:.1f} %, modes that matter "
      "at the cuts to {:.1f} %",
      in.columns, in.rows, plain(in) ? ", by the plate's own free modes within 1 %" : "", 100 * e->give, 100 * e->first,
      100 * e->modes);
}

}  // namespace fettle::study
