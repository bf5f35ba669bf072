#include "begin/propose/lugs.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <utility>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/raw_mass.h"
#include "begin/propose/route.h"
#include "calc/casting/grades.h"
#include "plan/read.h"
#include "ref/threads.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

// Common practice, from memory.
constexpr double fillet = 3e-3;                ///< m, from a washer to the wall
constexpr double rim = 2e-3;                   ///< m, of metal beyond washer and pad
constexpr double pad = 12.7e-3;                ///< m, the widest pad that stands under it
constexpr double beside_hole = 1e-3;           ///< m, from a pad to the hole
constexpr double thick = 1.6;                  ///< height of a lug over the thread
constexpr double below = 1e-3;                 ///< m, its top lies below what is cut beside it
constexpr double contact_room = 6e-3;          ///< m, half a button
constexpr double room = 1.5e-3, mill = 12e-3;  ///< m, beside a head: what the study asks, and an end mill
constexpr double jaw_cone = 40 * std::numbers::pi / 180;

Vec3 outwards(double angle) { return {std::cos(angle), std::sin(angle), 0}; }
Vec3 along(double angle) { return {-std::sin(angle), std::cos(angle), 0}; }
/// How far the middle of a round wall stands before the corners of a lug on it.
double sagitta(const Lug& l) {
  return l.round > 0.5 * l.wide ? l.round - std::sqrt(l.round * l.round - 0.25 * l.wide * l.wide) : 0;
}
bool makes(const plan::Operation& o, const std::string& reference) {
  const std::string id = plan::parse_reference(reference).id;
  return std::any_of(o.makes.value.begin(), o.makes.value.end(),
                     [&](const std::string& m) { return plan::parse_reference(m).id == id; });
}

/// One place on the part's outside: the middle of the lug's foot.
struct Foot {
  Vec3 wall;
  double out = 0, round = 0;
  int side = -1;  ///< of a flat
};

class Placer {
 public:
  Placer(const Scene& scene, const Draft& d)
      : scene_(scene), d_(d), sides_(outer_sides(scene, d.plan)), lo_(scene.part->box.lo), hi_(scene.part->box.hi) {}

  LugPlaces find() {
    LugPlaces out;
    const plan::Operation* op = plan::find_operation(d_.plan, d_.pallet_operation);
    if (op == nullptr) return refused("no operation of this route holds the part on a pallet");
    seat_ = opposite(direction_index(op->up.value));
    if (axis_of(seat_) != 2) return refused("the part stands on its side on the pallet");
    hangs_ = seat_ == 4;
    for (const plan::Operation& o : d_.plan.operations) {
      if (&o == op) break;
      before_.push_back(&o);
      const OuterSide& s = side(seat_);
      if (makes(o, s.reference)) out.seat_in = o.id.value;
      const int up = direction_index(o.up.value);
      const bool vise = o.kind.value == "vise";
      if (vise && up == seat_) out.drilled_in = o.id.value;
      else if (vise && up == opposite(seat_) && drilled_up_.empty()) drilled_up_ = o.id.value;
    }
    if (out.drilled_in.empty()) out.drilled_in = drilled_up_;
    if (out.seat_in.empty()) return refused("the side that the part sits on is not cut before");
    if (out.drilled_in.empty()) return refused("no clamping before the pallet drills along Z");
    const std::vector<std::pair<Foot, std::vector<Foot>>> pairs = feet(*op);
    if (pairs.empty()) return refused(why_.empty() ? "no two sides stand opposite each other upright" : why_);
    for (const ref::ThreadData* t : threads()) {
      const double hole = t->clear_medium ? *t->clear_medium : 1.1 * t->major;
      for (const auto& [one, others] : pairs)
        for (const Foot& two : others) {
          const auto a = lug_on(one, *t, hole), b = lug_on(two, *t, hole);
          if (!a || !b || !free(*a, *op, t->major) || !free(*b, *op, t->major)) continue;
          out.lugs = {*a, *b}, out.hole = hole, out.screw = t->major;
          const double high = std::min(a->high, b->high);
          for (Lug& l : out.lugs) l.high = high;
          give_stock(out);
          return out;
        }
    }
    return refused(why_.empty() ? "no side has room for them" : why_);
  }

 private:
  static LugPlaces refused(const std::string& why) {
    LugPlaces out;
    out.no = why;
    return out;
  }
  const OuterSide& side(int d) const { return sides_[static_cast<std::size_t>(d)]; }
  double seat_height() const { return hangs_ ? hi_.z : lo_.z; }
  void because(const std::string& why) {
    if (why_.empty()) why_ = why;
  }

  /// The largest first; heads of what is larger crush the plate's edges and the part.
  std::vector<const ref::ThreadData*> threads() const {
    std::vector<const ref::ThreadData*> out;
    for (const ref::ThreadData& t : ref::thread_table()) {
      const bool mine =
          scene_.inch ? t.series == "UNC" : t.system == unit::Thread::System::metric && t.series == "coarse";
      if (mine && t.major < 10.1e-3 && t.major > 5.9e-3) out.push_back(&t);
    }
    std::stable_sort(out.begin(), out.end(), [](const auto* a, const auto* b) { return a->major > b->major; });
    return out;
  }

  // ---- sides
  // ---------------------------------------------------------------------------------------------------------

  /// True when nothing cuts that side; else it says what does.
  bool stays(const OuterSide& s, const plan::Operation& pallet) {
    if (!s.cut) return true;
    if (makes(pallet, s.feature))
      because(
          fmt::format("{} is cut all round in {}: the cutter goes where they would stand", s.feature, pallet.id.value));
    else because(fmt::format("{} is cut, and they would stand on it", s.reference));
    return false;
  }
  /// Places on one side, each with those opposite it that may go with it, the preferred ones first.
  std::vector<std::pair<Foot, std::vector<Foot>>> feet(const plan::Operation& pallet) {
    std::vector<std::pair<Foot, std::vector<Foot>>> out;
    for (const int axis : {0, 1}) {
      const OuterSide &a = side(2 * axis), &b = side(2 * axis + 1);
      if (a.reference.empty() || b.reference.empty() || !stays(a, pallet) || !stays(b, pallet)) continue;
      if (a.round || b.round || a.inner || b.inner || a.lean > 1e-6 || b.lean > 1e-6) continue;
      const std::vector<Foot> high = on_flat(2 * axis), low = on_flat(2 * axis + 1);
      for (const Foot& f : high) out.emplace_back(f, low);
    }
    // The longer way first: two screws far apart hold against turning.
    const Vec3 box = hi_ - lo_;
    std::stable_sort(out.begin(), out.end(), [&](const auto& p, const auto& q) {
      return coordinate(box, axis_of(p.first.side)) > coordinate(box, axis_of(q.first.side)) + 1e-9;
    });
    const OuterSide& r = side(0);
    const bool round = r.round && std::all_of(sides_.begin(), sides_.begin() + 4,
                                              [&](const OuterSide& s) { return s.round && s.feature == r.feature; });
    const plan::Feature* f = round ? plan::find_feature(d_.plan, r.feature) : nullptr;
    if (f == nullptr || !stays(r, pallet)) return out;
    for (int t = 0; t < 180; t += 15) {
      const double angle = t * std::numbers::pi / 180, R = 0.5 * diameter_of(*f);
      const auto foot = [&](double out_at) {
        Vec3 wall = f->at.value[0] + R * outwards(out_at);
        wall.z = seat_height();
        return Foot{wall, out_at, R, -1};
      };
      out.push_back({foot(angle), {foot(angle + std::numbers::pi)}});
    }
    return out;
  }
  /// Middle, then near either end of the side.
  std::vector<Foot> on_flat(int d) const {
    const OuterSide& s = side(d);
    const int across = 1 - axis_of(d);
    std::vector<Foot> out;
    for (const double share : {0.0, 0.3, -0.3}) {
      Vec3 wall = s.at;
      coordinate(wall, axis_of(d)) = coordinate(d % 2 == 0 ? hi_ : lo_, axis_of(d));
      coordinate(wall, across) =
          1e-3 * std::round(1e3 * (coordinate(wall, across) + (d % 2 == 0 ? 1 : -1) * share * s.extent_u));
      wall.z = seat_height();
      const double turn = (axis_of(d) == 1 ? 0.5 : 0) + (d % 2 == 0 ? 0 : 1);
      out.push_back({wall, turn * std::numbers::pi, 0, d});
    }
    return out;
  }

  // ---- one lug
  // -------------------------------------------------------------------------------------------------------

  std::optional<Lug> lug_on(const Foot& f, const ref::ThreadData& t, double hole) {
    Lug l;
    l.out = f.out, l.round = f.round, l.hangs = hangs_;
    l.wall = t.major + fillet;
    l.deep = l.wall + std::max(t.major, 0.5 * pad) + rim;
    l.wide = 1e-3 * std::ceil(1e3 * (hole + 2 * (beside_hole + pad + rim)) - 1e-9);
    l.at = f.wall + l.wall * outwards(f.out);
    if (f.side >= 0 && !fits(f, l.wide)) {
      because(
          fmt::format("{} is narrower than the {} of a lug", side(f.side).reference, length_text(l.wide, scene_.inch)));
      return std::nullopt;
    }
    if (f.round > 0 && f.round < 0.75 * l.wide) {
      because("the round side is too narrow for a lug");
      return std::nullopt;
    }
    const double wall = wall_height(f, l);
    if (wall <= 0 && scene_.part->mesh.triangles.empty())
      because("the model has no mesh, and nobody looked how high its sides stand");
    l.high = 1e-3 * std::floor(1e3 * std::min(thick * t.major, wall - below) + 1e-9);
    if (l.high < t.major - 1e-6) {
      because(fmt::format("{} of wall stand there, too little for a lug under a screw of {}",
                          length_text(1e-4 * std::floor(1e4 * std::max(wall, 0.0)), scene_.inch),
                          length_text(t.major, scene_.inch)));
      return std::nullopt;
    }
    return l;
  }
  /// The foot lies whole on its flat side.
  bool fits(const Foot& f, double wide) const {
    const OuterSide& s = side(f.side);
    const int across = 1 - axis_of(f.side);
    return std::fabs(coordinate(f.wall, across) - coordinate(s.at, across)) + 0.5 * wide <= 0.5 * s.extent_u + 1e-6;
  }
  /// How high metal stands over the seat, just inside the wall, over the whole foot; 0: none, or nobody looked.
  double wall_height(const Foot& f, const Lug& l) const {
    const solid::Mesh& mesh = scene_.part->mesh;
    if (mesh.triangles.empty()) {
      if (f.round <= 0) return 0;  // the box's height is no wall
      const plan::Feature* b = plan::find_feature(d_.plan, side(0).feature);
      if (b == nullptr || !b->from.known() || !b->to.known()) return 0;
      const double end = hangs_ ? std::max(b->from.si, b->to.si) : std::min(b->from.si, b->to.si);
      return std::fabs(end - seat_height()) < 1e-4 ? length_of(*b) : 0;
    }
    double least = std::numeric_limits<double>::infinity();
    for (const double share : {-0.45, 0.0, 0.45}) {
      const double t = share * l.wide, in = f.round > 0 ? f.round - std::sqrt(f.round * f.round - t * t) : 0;
      const Vec3 p = f.wall + t * along(f.out) - (in + 1e-3) * outwards(f.out);
      const std::vector<double> z = metal_along_z(mesh, p.x, p.y);
      if (z.size() < 2) return 0;
      const double end = hangs_ ? z.back() : z.front(), next = hangs_ ? z[z.size() - 2] : z[1];
      if (std::fabs(end - seat_height()) > 1e-4) return 0;
      least = std::min(least, std::fabs(next - end));
    }
    return least;
  }

  /// Raw metal under them by the grades, as under every face that is cut from one side.
  void give_stock(LugPlaces& p) const {
    const plan::Casting& c = d_.plan.casting;
    double stock = 0;
    const auto by = raw_stock(scene_, d_.plan);
    if (const auto it = by.find(side(seat_).reference); it != by.end()) stock = it->second;
    if (c.tolerance_grade.known() && c.allowance_grade.known()) {
      const Vec3 box = hi_ - lo_;
      casting::RawSizeInputs in;
      in.finished = p.lugs.front().high, in.machined_sides = 1, in.kind = casting::SizeKind::external;
      in.dctg = c.tolerance_grade.value, in.rmag = c.allowance_grade.value;
      in.largest_finished = std::max({box.x, box.y, box.z});
      const double step = scene_.inch ? 0.01 * 0.0254 : 1e-4;
      if (const auto r = casting::raw_size(in); r.ok())
        stock = std::max(stock, step * std::ceil(r->raw / step - 1e-6) - in.finished);
    }
    for (Lug& l : p.lugs) l.stock = stock;
  }

  // ---- what stands in the way
  // ------------------------------------------------------------------------------------------

  bool free(const Lug& l, const plan::Operation& pallet, double major) {
    return off_contacts(l) && off_jaws(l) && off_cuts(l, pallet, major);
  }
  bool touches(const Lug& l, const Vec3& p) const {
    const Vec3 from = p - (l.at - l.wall * outwards(l.out));
    const double t = frame::dot(from, along(l.out)), n = frame::dot(from, outwards(l.out));
    const double up = (l.hangs ? -1 : 1) * (p.z - seat_height());
    return std::fabs(t) < 0.5 * l.wide + contact_room && n > -sagitta(l) - 1e-3 && n < l.deep + contact_room &&
           up > -0.01 && up < l.high + contact_room;
  }
  bool off_contacts(const Lug& l) {
    for (const plan::Operation* o : before_) {
      const auto hit = [&](const std::string& kind, const std::vector<Vec3>& at) {
        return std::any_of(at.begin(), at.end(), [&](const Vec3& p) {
          const Vec3 other{lo_.x + hi_.x - p.x, lo_.y + hi_.y - p.y, p.z};  // a vise centres between two sides
          if (!touches(l, p) && !(kind == "centre" && touches(l, other))) return false;
          because(fmt::format("a {} of {} touches the part where one would stand", kind, o->id.value));
          return true;
        });
      };
      for (const plan::Locator& k : o->locators)
        if (hit(k.kind.value, k.at.value)) return false;
      for (const plan::Clamp& k : o->clamps)
        if (hit(k.kind.value, k.at.value)) return false;
    }
    return true;
  }
  /// Jaws cover a flat side whole, and a round one as far as soft jaws are bored to it.
  bool off_jaws(const Lug& l) {
    for (const plan::Operation* o : before_)
      for (const plan::Clamp& k : o->clamps) {
        const int d = direction_index(k.direction.value);
        if (k.kind.value != "vise" || d < 0 || axis_of(d) == 2) continue;
        const double across = std::fabs(coordinate(outwards(l.out), axis_of(d)));
        if (l.round > 0 ? across < std::cos(jaw_cone) : across < 0.5) continue;
        because(fmt::format("the jaws of {} close where one would stand", o->id.value));
        return false;
      }
    return true;
  }
  /// Bosses that are cut on the pallet leave an end mill room beside the heads.
  bool off_cuts(const Lug& l, const plan::Operation& pallet, double major) {
    for (const plan::Feature& f : d_.plan.features) {
      if (!makes(pallet, f.id.value) || (f.kind.value != "boss" && f.kind.value != "profile")) continue;
      if (f.kind.value == "boss" && !f.at.value.empty() &&
          std::hypot(f.at.value[0].x - l.at.x, f.at.value[0].y - l.at.y) > 0.5 * diameter_of(f) + major + room + mill)
        continue;
      because(fmt::format("{} is cut all round in {}: the cutter goes where they would stand", f.id.value,
                          pallet.id.value));
      return false;
    }
    return true;
  }

  const Scene& scene_;
  const Draft& d_;
  std::array<OuterSide, 6> sides_;
  Vec3 lo_, hi_;
  int seat_ = 5;
  bool hangs_ = false;
  std::vector<const plan::Operation*> before_;
  std::string drilled_up_, why_;
};

/// Length and width of a lug along X and Y.
std::vector<double> size_of(const Lug& l) {
  const maths::Polygon p = outline_of(l);
  maths::Point2 lo = p.front(), hi = lo;
  for (const maths::Point2 q : p)
    lo = {std::min(lo.x, q.x), std::min(lo.y, q.y)}, hi = {std::max(hi.x, q.x), std::max(hi.y, q.y)};
  const auto fine = [](double x) { return 1e-4 * std::round(1e4 * x); };
  return {fine(hi.x - lo.x), fine(hi.y - lo.y)};
}
Vec3 middle_of(const Lug& l) {
  const Vec3 m = l.at + (0.5 * l.deep - l.wall) * outwards(l.out);
  const auto fine = [](double x) { return 1e-5 * std::round(1e5 * x) + 0.0; };
  return {fine(m.x), fine(m.y), m.z};
}

/// Undersides that are cut with the seat, tops that stay as cast, holes.
void lug_features(const Scene& scene, Draft& d, const LugPlaces& p) {
  const bool hangs = p.lugs.front().hangs;
  std::vector<Vec3> tops, holes;
  int n = 0;
  for (const Lug& l : p.lugs) {
    plan::Feature f;
    give(f.id, fmt::format("L{}", ++n));
    give(f.name, fmt::format("seat of lug {}", n));
    give(f.kind, "face");
    give(f.at, {middle_of(l)}, scene.inch);
    give(f.normal, hangs ? "+z" : "-z");
    give(f.size, size_of(l), scene.inch);
    give(f.cast, "skin");
    give(f.note, "of a lug cast on; it goes when the lug is sawn off");
    d.plan.features.push_back(std::move(f));
    tops.push_back(middle_of(l));
    tops.back().z += (hangs ? -1 : 1) * l.high;
    holes.push_back(l.at);
  }
  plan::Feature top;
  give(top.id, "L3");
  give(top.name, lug_name);
  give(top.kind, "face");
  give(top.at, tops, scene.inch);
  give(top.normal, hangs ? "-z" : "+z");
  give(top.size, size_of(p.lugs.front()), scene.inch);
  give(top.note, "as cast, flat for a washer");
  d.plan.features.push_back(std::move(top));
  const plan::Operation* drills = plan::find_operation(d.plan, p.drilled_in);
  plan::Feature h;
  give(h.id, lug_holes);
  give(h.name, made_for_screws);
  give(h.kind, "hole");
  const double a = p.lugs.front().at.z, b = tops.front().z;
  const bool up = drills->up.value == "+z";
  for (Vec3& at : holes) {
    at.x = 1e-5 * std::round(1e5 * at.x) + 0.0, at.y = 1e-5 * std::round(1e5 * at.y) + 0.0;
    at.z = up ? std::max(a, b) : std::min(a, b);
  }
  give(h.at, holes, scene.inch);
  give(h.normal, drills->up.value);
  const double wide = scene.inch ? p.hole / 0.0254 : p.hole * 1e3;
  give(h.diameter, fmt::format("Ø{} {}", base::shortest(std::round(wide * 1e4) / 1e4), scene.inch ? "in" : "mm"));
  give_length(h.from, std::min(a, b), scene.inch);
  give_length(h.to, std::max(a, b), scene.inch);
  give(h.cast, "solid");
  d.plan.features.push_back(std::move(h));
}

void lug_sizes(const Scene& scene, Draft& d, const LugPlaces& p) {
  for (const char* id : {"L1", "L2"}) {
    plan::CastSize s;
    give(s.id, std::string("lug ") + id);
    give(s.kind, "height");
    give(s.between, "L3");
    give(s.feature, id);
    give_length(s.raw, p.lugs.front().high + p.lugs.front().stock, scene.inch);
    d.plan.casting.sizes.push_back(std::move(s));
  }
}

/// Sawn off as soon as the pallet lets go: they are in nobody's way afterwards. Its id lies between two tens.
std::string saw_off(Draft& d) {
  const auto pallet = std::find_if(d.plan.operations.begin(), d.plan.operations.end(),
                                   [&](const plan::Operation& o) { return o.id.value == d.pallet_operation; });
  plan::Operation op;
  std::string id = d.pallet_operation;
  if (id.ends_with('0')) id.back() = '5';
  else id += "L";
  give(op.id, id);
  give(op.name, "saw the lugs off and dress their stubs");
  give(op.kind, "other");
  give(op.time, unit::Kind::time, "1.5 min (1..3 min)");
  d.plan.operations.insert(std::next(pallet), std::move(op));
  return id;
}

std::string heavier(const Draft& d, const Scene& scene, const std::vector<Lug>& lugs) {
  double volume = 0;
  for (const Lug& l : lugs) volume += volume_of(l);
  if (!d.plan.part.mass.known() || !(scene.part->volume > 0)) return "";
  return fmt::format("{} kg of casting more", base::fixed(d.plan.part.mass.si / scene.part->volume * volume, 2));
}

std::string why_not_own(bool asked) {
  return asked ? "lugs were asked for" : "no hole of the part carries one, and there is no room to make two";
}

void lug_words_of(const Scene& scene, Draft& d, const LugPlaces& p, const std::string& saw) {
  const Lug& l = p.lugs.front();
  const bool inch = scene.inch, asked = lugs_asked(scene);
  const std::string size = fmt::format("{} wide, {} proud of the side, {} high", length_text(l.wide, inch),
                                       length_text(l.deep, inch), length_text(l.high, inch));
  const std::string more = heavier(d, scene, p.lugs);
  Alternative own{own_screws, why_not_own(asked), asked ? "take.seat.screws=as reckoned" : "",
                  asked ? "" : why_not_own(false)};
  d.choices.push_back(
      {"seat",
       fmt::format("feature.{}", lug_holes),
       fmt::format("two lugs cast on, {}, holes Ø{} at {} and {}", size, length_text(p.hole, inch),
                   point_text(p.lugs[0].at, inch), point_text(p.lugs[1].at, inch)),
       fmt::format("they stand on sides that nothing cuts, clear of jaws and stops; sized from the screw: its "
                   "washer, {} to the wall, a pad on either side of the hole, {} threads high; {}{}sawn off in {}",
                   length_text(fillet, inch), base::shortest(thick), more, more.empty() ? "" : ", ", saw),
       asked ? "answer" : "common practice",
       {std::move(own),
        {"lugs that stay on the part", "no saw, and nothing to dress", "",
         "the drawing shows none: ask the customer, and strike the operation that saws them off"}}});
  d.assumed.push_back(fmt::format(
      "operation.{}: lugs sawn off and stubs dressed by hand in 1.5 min a part (1 to 3): from memory; nobody has said "
      "whether they, or a stub of half a millimetre, may stay",
      saw));
  d.disagree.push_back(fmt::format(
      "feature.{}: open, and no finding judges it: whether the lugs bear their screws, and whether the part "
      "moves when they are sawn off; a pad stands under either side of each hole, so that none is bent "
      "like a bracket; tighten the first ones to half as much again and look for cracks at the fillet",
      lug_holes));
  plan::Text& note = d.plan.casting.note;
  const std::string foundry = fmt::format(
      "two lugs cast on, {} finished, raw as the sizes \"lug L1\" and \"lug L2\" say, at {} and {}: tops "
      "flat for a washer, fillets of {} at most, no gate and no riser on them",
      size, point_text(middle_of(p.lugs[0]), inch), point_text(middle_of(p.lugs[1]), inch), length_text(fillet, inch));
  give(note, note.known() ? note.value + "; " + foundry : "Agree with the foundry: " + foundry);
}

}  // namespace

bool is_lug(const plan::Feature& f) { return f.name.value == lug_name; }

bool lugs_asked(const Scene& scene) { return answer(scene, "take.seat.screws") == "lugs"; }

double lugs_volume(const Draft& d) {
  double sum = 0;
  for (std::size_t i = 0; i < d.lugs.size(); ++i) {
    Lug l = d.lugs[i];
    for (const plan::CastSize& c : d.plan.casting.sizes)  // as it is ordered by now
      if (c.feature.value == fmt::format("L{}", i + 1) && c.raw.known()) l.stock = c.raw.si - l.high;
    sum += volume_of(l);
  }
  return sum;
}

double volume_of(const Lug& l) {
  double area = l.wide * l.deep;
  const double R = l.round, h = 0.5 * l.wide;
  if (R > h) area += l.wide * R - (h * std::sqrt(R * R - h * h) + R * R * std::asin(h / R));  // beside the round wall
  return area * (l.high + l.stock);
}

maths::Polygon outline_of(const Lug& l) {
  const Vec3 wall = l.at - l.wall * outwards(l.out);
  std::vector<maths::Point2> out;
  for (const double t : {-0.5 * l.wide, 0.5 * l.wide})
    for (const double n : {-sagitta(l), l.deep}) {
      const Vec3 p = wall + t * along(l.out) + n * outwards(l.out);
      out.push_back({p.x, p.y});
    }
  return maths::convex_hull(std::move(out));
}

std::vector<Vec3> pads_under(const Lug& l, double hole, double wide) {
  std::vector<Vec3> out;
  for (const double s : {-1.0, 1.0}) {
    const Vec3 p = l.at + s * (0.5 * hole + beside_hole + 0.5 * wide) * along(l.out);
    out.push_back({1e-4 * std::round(1e4 * p.x) + 0.0, 1e-4 * std::round(1e4 * p.y) + 0.0, 0});
  }
  return out;
}

LugPlaces lug_places(const Scene& scene, const Draft& route) {
  if (scene.part == nullptr) return {{}, 0, 0, "", "", "there is no model of the part"};
  return Placer(scene, route).find();
}

void cast_lugs(const Scene& scene, Draft& d) {
  const LugPlaces p = lug_places(scene, d);
  if (!p.no.empty()) {
    d.clashes.push_back({{"the pallet's screws in lugs cast on (take.seat.screws = lugs)"}, "no lugs: " + p.no});
    return;
  }
  d.lugs = p.lugs;
  lug_features(scene, d, p);
  lug_sizes(scene, d, p);
  for (plan::Operation& o : d.plan.operations) {
    if (o.id.value == p.seat_in) give(o.makes, "L1"), give(o.makes, "L2");
    if (o.id.value == p.drilled_in) give(o.makes, lug_holes);
  }
  d.screws = {lug_holes};
  const std::string saw = saw_off(d);
  const std::string before = d.plan.casting.mass.typed;
  weigh_casting(scene, d);
  if (d.plan.casting.mass.known() && d.plan.casting.mass.typed == before)
    d.disagree.push_back("casting.mass " + before + " was weighed without lugs: " + heavier(d, scene, p.lugs));
  lug_words_of(scene, d, p, saw);
}

void say_lugs(const Scene& scene, Draft& d) {
  std::optional<LugPlaces> p;
  for (Choice& c : d.choices)
    for (Alternative& a : c.others) {
      if (!a.lugs) continue;
      if (!p) p = lug_places(scene, d);
      a.take = p->no.empty() ? "take.seat.screws=lugs" : "";
      a.no_answer = p->no;
      const std::string more = p->no.empty() ? heavier(d, scene, p->lugs) : "";
      if (!more.empty()) a.why_not = more + ", the foundry's pattern and one more cut";
    }
}

}  // namespace fettle::begin
