#include "begin/propose/raw_model.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <set>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/castings.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/lugs.h"
#include "begin/propose/raw_mass.h"
#include "plan/read.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

bool not_cast(const plan::Feature& f) {
  const std::string& k = f.kind.value;
  const bool hollow = hole_like(f) || k == "pocket" || k == "slot" || k == "groove" || k == "chamfer" || is_floor(f);
  return hollow && (f.cast.value == "solid" || f.cast.value == "cored");
}

/// A pocket or slot of a group: its floors, and the box of all its faces.
struct Hollow {
  solid::RawRaise raise;
  solid::Box box;
  double floor = 0;  ///< m, along its `up`
};
std::optional<Hollow> hollow_of(const solid::Model& part, const plan::Feature& f, const Bound& b) {
  if (f.kind.value != "pocket" && f.kind.value != "slot") return std::nullopt;
  Hollow out;
  out.raise.up = frame::unit(b.axis), out.raise.depth = length_of(f);
  out.floor = frame::dot(b.point, out.raise.up);
  bool any = false;
  for (const int id : b.faces) {
    const solid::Face* face = part.face(id);
    if (face == nullptr) continue;
    if (face->kind == solid::Kind::plane && frame::dot(face->axis, out.raise.up) > 1 - 1e-6)
      out.raise.floors.push_back(id);
    for (const int axis : {0, 1, 2}) {
      double &lo = coordinate(out.box.lo, axis), &hi = coordinate(out.box.hi, axis);
      const double a = coordinate(face->box.lo, axis), z = coordinate(face->box.hi, axis);
      lo = any ? std::min(lo, a) : a, hi = any ? std::max(hi, z) : z;
    }
    any = true;
  }
  return out;
}
/// `a` lies inside `b`, seen along `up`.
bool inside(const solid::Box& a, const solid::Box& b, const Vec3& up) {
  for (const int axis : {0, 1, 2})
    if (std::fabs(coordinate(up, axis)) < 0.5 && (coordinate(a.lo, axis) < coordinate(b.lo, axis) - 1e-6 ||
                                                  coordinate(a.hi, axis) > coordinate(b.hi, axis) + 1e-6))
      return false;
  return true;
}
/// Each floor rises to its own mouth; where that lies in the floor of a larger hollow round it, on to that one's. A
/// mouth beside such a floor ends in open air on one side: then none of the group rises, and the fill is named as not
/// made where its faces cannot be taken away.
std::vector<solid::RawRaise> raises_of(const std::vector<Hollow>& all) {
  std::vector<solid::RawRaise> out;
  for (const Hollow& h : all) {
    solid::RawRaise r = h.raise;
    for (std::size_t step = 0; step < all.size(); ++step) {
      const auto round = std::find_if(all.begin(), all.end(), [&](const Hollow& k) {
        return &k != &h && frame::dot(k.raise.up, r.up) > 1 - 1e-6 && std::fabs(k.floor - h.floor - r.depth) < 1e-5;
      });
      if (round == all.end()) break;
      if (!inside(h.box, round->box, r.up) || !(round->raise.depth > 0)) return {};
      r.depth += round->raise.depth;
    }
    if (r.depth > 0 && !r.floors.empty()) out.push_back(std::move(r));
  }
  return out;
}

/// What fills a hole where its faces cannot be taken away.
void plug(const plan::Plan& plan, const Bound& b, solid::RawFill& fill) {
  const plan::Feature& f = *plan::find_feature(plan, b.feature);
  if (f.kind.value == "pocket" || f.kind.value == "slot") return;
  const double d = diameter_of(f), half = f.angle.known() ? 0.5 * f.angle.si : 0;
  if (!(d > 0) || !f.from.known() || !f.to.known() || f.normal.value.size() != 2 || f.kind.value == "groove") return;
  const int axis = f.normal.value[1] - 'x';
  double low = std::min(f.from.si, f.to.si), high = std::max(f.from.si, f.to.si);
  if (hole_like(f) && half > 0.1 && half < 1.5)  // the point of the drill lies beyond
    (f.normal.value[0] == '+' ? low : high) += (f.normal.value[0] == '+' ? -1 : 1) * 0.5 * d / std::tan(half);
  Vec3 from = b.point, to = b.point;
  coordinate(from, axis) = low, coordinate(to, axis) = high;
  fill.plugs.push_back({from, to, d});
}

/// Faces that the casting does not have, one group for all that hang together.
std::vector<solid::RawFill> fills_of(const solid::Model& part, const plan::Plan& plan, const Features& features) {
  std::map<int, std::string> of;  // face -> feature
  for (const Bound& b : features.bound)
    if (const plan::Feature* f = plan::find_feature(plan, b.feature); f != nullptr && not_cast(*f))
      for (const int id : b.faces) of[id] = b.feature;
  std::vector<solid::RawFill> out;
  std::set<int> seen;
  for (const auto& [first, name] : of) {
    if (!seen.insert(first).second) continue;
    solid::RawFill fill;
    std::set<std::string> names;
    std::vector<int> open{first};
    while (!open.empty()) {
      const int id = open.back();
      open.pop_back();
      fill.faces.push_back(id), names.insert(of.at(id));
      if (const solid::Face* f = part.face(id); f != nullptr)
        for (const int n : f->neighbours)
          if (of.contains(n) && seen.insert(n).second) open.push_back(n);
    }
    std::sort(fill.faces.begin(), fill.faces.end());
    const std::set<int> faces(fill.faces.begin(), fill.faces.end());
    std::vector<Hollow> hollows;
    for (const Bound& b : features.bound)
      if (names.contains(b.feature) && !b.faces.empty() && faces.contains(*b.faces.begin())) {
        plug(plan, b, fill);
        if (auto h = hollow_of(part, *plan::find_feature(plan, b.feature), b)) hollows.push_back(std::move(*h));
      }
    fill.raises = raises_of(hollows);
    if (!hollows.empty() && fill.raises.empty()) fill.plugs.clear();
    fill.name = base::join(std::vector<std::string>(names.begin(), names.end()), ", ");
    out.push_back(std::move(fill));
  }
  return out;
}

class RawWriter {
 public:
  RawWriter(const solid::Model& part, const plan::Plan& plan) : part_(part), plan_(plan) {
    scene_.part = &part;
    stock_ = raw_stock(scene_, plan);
  }

  solid::RawOutside outside() const {
    solid::RawOutside o;
    const plan::Feature* f = plan::find_feature(plan_, "outside");
    if (f == nullptr || f->kind.value != "profile" || f->cast.value != "skin") return o;
    if (!fills_its_box(part_, plan_))
      return o;  // its sides are flats of ribs and walls, each with its own
                 // stock
    o.radius = f->radius.known() ? f->radius.si : 0;
    o.low_x = stock("outside.-x"), o.high_x = stock("outside.+x");
    o.low_y = stock("outside.-y"), o.high_y = stock("outside.+y");
    o.there = o.low_x > 0 && o.high_x > 0 && o.low_y > 0 && o.high_y > 0;
    o.draft = plan_.casting.draft.known() ? plan_.casting.draft.si : 0;
    o.parting = plan_.casting.parting.known() ? plan_.casting.parting.si : 0.5 * (part_.box.lo.z + part_.box.hi.z);
    return o;
  }

  /// Faces and floors of hollows that are cut; those without a raw size are named.
  std::vector<solid::RawFace> faces(const Features& features, std::vector<std::string>& left_out) const {
    std::vector<solid::RawFace> out;
    const plan::Feature* outside = plan::find_feature(plan_, "outside");
    const bool sides = outside != nullptr && outside->kind.value == "profile" && outside->cast.value == "skin";
    if (sides && !fills_its_box(part_, plan_))
      for (const Bound& b : features.bound)
        if (const double t = stock(b.reference); b.feature == "outside" && t > 1e-7)
          out.push_back({b.reference, b.point, frame::unit(b.axis), t});
    for (const plan::Feature& f : plan_.features) {
      const std::string& k = f.kind.value;
      const bool flat = k == "face" || k == "pocket" || k == "slot";
      if (f.cast.value != "skin" || k == "profile") continue;
      const double t = stock(f.id.value);
      const Bound* b = nullptr;
      for (const Bound& x : features.bound)
        if (x.feature == f.id.value) b = &x;
      if (t > 1e-7 && flat && b != nullptr) out.push_back({f.id.value, b->point, frame::unit(b->axis), t});
      else if (b != nullptr && !(t > 1e-7) && !stock_.contains(f.id.value))
        left_out.push_back(fmt::format("{}: no raw size says how much stands on it", f.id.value));
    }
    if (std::any_of(plan_.features.begin(), plan_.features.end(), is_lug))
      left_out.emplace_back("lugs cast on for the pallet's screws: not drawn here, their sizes stand in casting.note");
    return out;
  }

  /// Cores, with the draft that the plan says, from the raw floor, or through, to where the stock of the face ends into
  /// which they open.
  std::vector<solid::RawCore> cores(const std::vector<solid::RawFace>& faces) const {
    std::vector<solid::RawCore> out;
    for (const plan::CastSize& s : plan_.casting.sizes) {
      const plan::Feature* f = s.kind.value == "inside" ? plan::find_feature(plan_, s.feature.value) : nullptr;
      if (f == nullptr || !s.raw.known() || !f->from.known() || !f->to.known() || f->normal.value.size() != 2) continue;
      const int axis = f->normal.value[1] - 'x';
      const bool opens_up = f->normal.value[0] == '+';
      double low = std::min(f->from.si, f->to.si), high = std::max(f->from.si, f->to.si);
      const bool blind = !through(scene_, *f);
      if (!blind || opens_up) high += stock_at(faces, axis, high, true);
      if (!blind || !opens_up) low -= stock_at(faces, axis, low, false);
      if (const double t = stock(floor_of(f->id.value)); blind && t > 0) (opens_up ? low : high) += opens_up ? t : -t;
      if (!(high > low)) continue;
      for (std::size_t i = 0; i < f->at.value.size(); ++i) {
        Vec3 a = f->at.value[i], b = a;
        coordinate(a, axis) = low, coordinate(b, axis) = high;
        const std::string name =
            f->at.value.size() == 1 ? "core " + f->id.value : fmt::format("core {}@{}", f->id.value, i + 1);
        // The raw size holds at the parting line; the core grows towards its mouth.
        const double grows = axis == 2 ? 2 * std::tan(core_draft(f->id.value)) * (opens_up ? 1 : -1) : 0;
        const double parting = plan_.casting.parting.known() ? plan_.casting.parting.si : low;
        out.push_back({name, a, b, s.raw.si + grows * (low - parting), s.raw.si + grows * (high - parting)});
      }
    }
    return out;
  }

 private:
  double core_draft(const std::string& feature) const {
    for (const plan::Core& c : plan_.casting.cores)
      if (std::find(c.features.value.begin(), c.features.value.end(), feature) != c.features.value.end())
        return c.draft.known() ? c.draft.si : 0;
    return 0;
  }
  double stock(const std::string& reference) const {
    const auto it = stock_.find(reference);
    return it == stock_.end() ? 0 : it->second;
  }
  /// What stands on the face at this height, where there is one.
  static double stock_at(const std::vector<solid::RawFace>& faces, int axis, double height, bool up) {
    for (const solid::RawFace& f : faces)
      if (coordinate(f.normal, axis) * (up ? 1 : -1) > 0.999 && std::fabs(coordinate(f.point, axis) - height) < 1e-5)
        return f.stock;
    return 0;
  }

  const solid::Model& part_;
  const plan::Plan& plan_;
  Scene scene_;
  std::map<std::string, double> stock_;
};

/// The box that the raw casting must have in the plan's frame, of what was made.
solid::Box box_of(const solid::RawWish& wish, const std::vector<std::string>& not_made) {
  const auto made = [&](const std::string& name) {
    return std::find(not_made.begin(), not_made.end(), name) == not_made.end();
  };
  solid::Box out = wish.box;
  if (wish.outside.there && made("outside")) {
    out.lo.x -= wish.outside.low_x, out.hi.x += wish.outside.high_x;
    out.lo.y -= wish.outside.low_y, out.hi.y += wish.outside.high_y;
  }
  for (const solid::RawFace& f : wish.faces) {
    if (!made(f.name)) continue;
    for (const int axis : {0, 1, 2}) {
      const double n = coordinate(f.normal, axis), at = coordinate(f.point, axis);
      if (n > 0.999) coordinate(out.hi, axis) = std::max(coordinate(out.hi, axis), at + f.stock);
      if (n < -0.999) coordinate(out.lo, axis) = std::min(coordinate(out.lo, axis), at - f.stock);
    }
  }
  return out;
}

}  // namespace

RawAsked raw_asked(const solid::Model& part, const frame::Pose& pose, const plan::Plan& plan,
                   const std::map<int, std::string>& threads, bool inch) {
  RawAsked out;
  const Features features = features_of(part, threads, inch);
  const RawWriter write(part, plan);
  out.wish.pose = pose, out.wish.box = part.box;
  if (plan.part.mass.known() && part.volume > 0) out.density = plan.part.mass.si / part.volume;
  out.wish.product = plan.part.name.known() ? plan.part.name.value + " raw" : "raw casting";
  out.wish.fills = fills_of(part, plan, features);
  out.wish.outside = write.outside();
  out.wish.faces = write.faces(features, out.left_out);
  out.wish.cores = write.cores(out.wish.faces);
  const plan::Feature* outside = plan::find_feature(plan, "outside");
  if (outside != nullptr && outside->cast.value == "skin" && fills_its_box(part, plan) && !out.wish.outside.there)
    out.left_out.emplace_back("outside: no raw length and width say how much stands on it");
  if (!out.wish.outside.there)
    out.left_out.emplace_back(
        "draft of the outside: only the upright sides of "
        "a profile that fills its box get it here");
  return out;
}

Outcome<RawCasting> raw_casting(const std::string& step, const std::string& name, const std::string& unit_if_none,
                                const RawAsked& asked, const plan::Plan& plan) {
  const auto made = solid::raw_model(step, name, unit_if_none, asked.wish);
  if (!made.ok()) return made.problems();
  const auto back = solid::read_step_text(made->step, "the raw casting of " + name);
  if (!back.ok()) return back.problems();
  RawCasting out;
  out.step = made->step, out.volume = back->volume, out.box = back->box;
  if (!(std::fabs(back->volume - made->volume) <= 5e-6 * made->volume))  // each is summed to a millionth
    return ours(
        fmt::format("the raw casting reads back with {:.3f} cm³ and "
                    "was made with {:.3f} cm³",
                    back->volume * 1e6, made->volume * 1e6));
  const solid::Box want = box_of(asked.wish, made->not_made);
  const Vec3 a = asked.wish.pose * back->box.lo, b = asked.wish.pose * back->box.hi;
  const auto off = [](double x, double y, double lo, double hi) {
    return std::max(std::fabs(std::min(x, y) - lo), std::fabs(std::max(x, y) - hi));
  };
  const double most = std::max(
      {off(a.x, b.x, want.lo.x, want.hi.x), off(a.y, b.y, want.lo.y, want.hi.y), off(a.z, b.z, want.lo.z, want.hi.z)});
  if (!(most <= 2e-6))
    return ours(fmt::format("the box of the raw casting is {:.4f} mm off what its sizes ask for", most * 1e3));
  for (const std::string& s : asked.left_out) out.said.push_back("not in the raw model: " + s);
  std::map<std::string, int> failed;
  for (const std::string& s : made->not_made) ++failed[s];
  for (const auto& [what, times] : failed)
    out.said.push_back(fmt::format("not in the raw model: {}{} (the geometry kernel could not make it)", what,
                                   times > 1 ? fmt::format(", {} of them", times) : ""));
  if (const solid::RawOutside& o = asked.wish.outside; o.there && o.draft > 0) {
    const double tall = std::max(asked.wish.box.hi.z - o.parting, o.parting - asked.wish.box.lo.z);
    const double least = std::min({o.low_x, o.high_x, o.low_y, o.high_y}) - tall * std::tan(o.draft);
    if (least < 0)
      out.said.push_back(
          fmt::format("draft of {:.1f} deg leaves no stock at the far end of "
                      "the outside ({:.2f} mm are "
                      "missing): the sides stand as finished there",
                      o.draft * 180 / std::numbers::pi, -least * 1e3));
  }
  if (asked.density > 0 && plan.casting.mass.known())
    out.said.push_back(fmt::format("the raw model weighs {:.2f} kg; the plan reckons {} from the sizes",
                                   asked.density * out.volume, plan.casting.mass.typed));
  return out;
}

}  // namespace fettle::begin
