#include "begin/propose/raw_mass.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <set>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/castings.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/lugs.h"
#include "begin/propose/route.h"
#include "plan/read.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

constexpr double level = 2e-5;  ///< m: heights nearer than this are one
constexpr double quarter_pi = std::numbers::pi / 4;
constexpr double most_unsure = 0.02;  ///< of the sum; above it the mass carries a band
constexpr double whole_side = 0.9;    ///< of a side of the box: what stands on it is one frame

double points_of(const plan::Feature& f) { return static_cast<double>(std::max<std::size_t>(f.at.value.size(), 1)); }
double disc(double diameter) { return quarter_pi * diameter * diameter; }
/// A rectangle with rounded corners.
double rounded(double a, double b, double r) {
  if (!(a > 0 && b > 0)) return 0;
  r = std::clamp(r, 0.0, 0.5 * std::min(a, b));
  return a * b - (4 - std::numbers::pi) * r * r;
}
bool hollow(const plan::Feature& f) { return f.kind.value == "pocket" || f.kind.value == "slot"; }
bool from_solid(const plan::Feature& f) { return f.cast.value == "solid" || f.cast.value == "cored"; }

/// Area of all flats that look along `n` in the plane through `point`, m2: all of them grow when one of them does.
double flats_in(const solid::Model& part, Vec3 point, Vec3 n) {
  double sum = 0;
  for (const solid::Face& f : part.faces)
    if (f.kind == solid::Kind::plane && frame::dot(f.axis, n) > 1 - 1e-9 &&
        std::fabs(frame::dot(n, f.point - point)) < level)
      sum += f.area;
  return sum;
}

class Weigher {
 public:
  Weigher(const Scene& scene, const plan::Plan& plan)
      : scene_(scene), part_(*scene.part), plan_(plan), stock_(raw_stock(scene, plan)) {
    features_ = features_of(part_, {}, scene.inch);
  }

  RawMetal sum() {
    for (const plan::Feature& f : plan_.features) fill(f);
    outside();
    faces();
    for (const plan::CastSize& s : plan_.casting.sizes) core(s);
    RawMetal out;
    double unsure = 0;
    out.volume = part_.volume;
    for (const MetalPiece& p : pieces_) out.volume += p.volume, unsure += p.unsure;
    out.volume = std::max(out.volume, 0.0);
    out.low = std::max(0.0, out.volume - unsure), out.high = out.volume + unsure;
    out.pieces = std::move(pieces_);
    return out;
  }

 private:
  void add(const std::string& what, double volume, double unsure = 0) {
    if (volume != 0) pieces_.push_back({what, volume, unsure});
  }
  double stock(const std::string& reference) const {
    const auto it = stock_.find(reference);
    return it == stock_.end() ? 0 : it->second;
  }
  const Bound* bound(const std::string& reference) const {
    for (const Bound& b : features_.bound)
      if (b.reference == reference) return &b;
    return nullptr;
  }

  // ---- what is made from the solid ------------------------------------------------------------------------------

  void fill(const plan::Feature& f) {
    if (!from_solid(f) || !in_model(f)) return;
    const double l = length_of(f);
    if (hole_like(f)) {
      const double d = diameter_of(f), half = f.angle.known() ? 0.5 * f.angle.si : 0;
      const double tip = half > 0.1 && half < 1.5 ? disc(d) * 0.5 * d / std::tan(half) / 3 : 0;
      add(f.id.value + " filled", points_of(f) * (disc(d) * l + tip));
    } else if (hollow(f)) {
      hollow_filled(f, l);
    } else if (f.kind.value == "groove") {
      groove(f, l);
    }
  }
  /// A cut hollow: its floor, with the mouths of the holes in it, times its depth. Without a floor, by its rectangle.
  void hollow_filled(const plan::Feature& f, double depth) {
    const double rectangle =
        rounded(nominal_of(f.width), nominal_of(f.length), f.radius.known() ? f.radius.si : 0) * depth;
    const Bound* b = bound(f.id.value);
    double floor = 0;
    const int n = direction_index(f.normal.value);
    if (b != nullptr && n >= 0) {
      const Vec3 up = frame::unit(b->axis);
      for (const int id : b->faces)
        if (const solid::Face* face = part_.face(id);
            face != nullptr && face->kind == solid::Kind::plane && frame::dot(face->axis, up) > 1 - 1e-6)
          floor += face->area;
      if (floor > 0) floor += mouths(n, coordinate(b->point, axis_of(n)));
    }
    const double volume = floor > 0 ? floor * depth : rectangle;
    // Its walls may end at several heights, and nothing says so: the depth is that of the highest.
    add(f.id.value + " filled", points_of(f) * volume, points_of(f) * (floor > 0 ? 0.1 : 0.3) * volume);
  }
  void groove(const plan::Feature& f, double width) {
    const std::size_t k =
        static_cast<std::size_t>(std::max(1.0, base::to_double(f.id.value.substr(1)).value_or(0))) - 1;
    if (k >= part_.grooves.size()) return;
    const solid::Groove& g = part_.grooves[k];
    add(f.id.value + " filled", std::fabs(disc(g.diameter) - disc(g.bore)) * width);
  }

  /// The mouths of what is filled or cored, in the plane across direction `n` at this height, m2.
  double mouths(int n, double height) const {
    double sum = 0;
    for (const plan::Feature& f : plan_.features) {
      if (!from_solid(f) || !in_model(f) || !f.from.known() || !f.to.known()) continue;
      const int way = direction_index(f.normal.value);
      if (way < 0 || axis_of(way) != axis_of(n)) continue;
      const double end = n % 2 == 0 ? std::max(f.from.si, f.to.si) : std::min(f.from.si, f.to.si);
      if (std::fabs(end - height) > level) continue;
      if (hole_like(f) && (way == n || through(scene_, f))) sum += points_of(f) * disc(diameter_of(f));
      if (hollow(f) && way == n)
        sum += points_of(f) * rounded(nominal_of(f.width), nominal_of(f.length), f.radius.known() ? f.radius.si : 0);
    }
    return sum;
  }

  // ---- what stands on cut faces ------------------------------------------------------------------------------------

  /// A frame round the box with draft away from the parting line; of a part of ribs and walls what its flats carry.
  void outside() {
    const plan::Feature* f = plan::find_feature(plan_, "outside");
    if (f == nullptr || f->kind.value != "profile" || f->cast.value != "skin") return;
    const std::array<double, 4> s{stock("outside.-x"), stock("outside.+x"), stock("outside.-y"), stock("outside.+y")};
    if (!std::all_of(s.begin(), s.end(), [](double x) { return x > 0; })) return;
    if (!fills_its_box(part_, plan_)) {
      for (const char* side : {"outside.-x", "outside.+x", "outside.-y", "outside.+y"})
        on_flat(side, bound(side), stock(side));
      return;
    }
    const Vec3 lo = part_.box.lo, hi = part_.box.hi;
    const double a = hi.x - lo.x, b = hi.y - lo.y, r = f->radius.known() ? f->radius.si : 0;
    const double draft = plan_.casting.draft.known() ? std::tan(plan_.casting.draft.si) : 0;
    const double parting = plan_.casting.parting.known() ? plan_.casting.parting.si : 0.5 * (lo.z + hi.z);
    const auto ring = [&](double z) {
      const double gone = std::fabs(z - parting) * draft;
      const auto left = [&](double x) { return std::max(0.0, x - gone); };
      const double corner = r > 0 ? r + std::max(0.0, *std::min_element(s.begin(), s.end()) - gone) : 0;
      return rounded(a + left(s[0]) + left(s[1]), b + left(s[2]) + left(s[3]), corner) - rounded(a, b, r);
    };
    constexpr int slices = 200;
    double sum = 0;
    for (int i = 0; i < slices; ++i) sum += ring(lo.z + (hi.z - lo.z) * (i + 0.5) / slices) * (hi.z - lo.z) / slices;
    add("stock round the outside", sum);
    ring_low_ = ring(lo.z), ring_high_ = ring(hi.z);
  }
  void faces() {
    for (const plan::Feature& f : plan_.features) {
      if (f.cast.value != "skin" || f.kind.value == "profile") continue;
      if (f.kind.value != "face" && !hollow(f)) continue;
      on_flat(f.id.value, bound(f.id.value), stock(f.id.value));
    }
  }
  void on_flat(const std::string& name, const Bound* b, double t) {
    if (b == nullptr || !(t > 1e-7)) return;
    const Vec3 n = frame::unit(b->axis);
    const int d = direction_index(axis_word(n));
    double area = flats_in(part_, b->point, n);
    if (d >= 0) area += mouths(d, coordinate(b->point, axis_of(d)));
    if (d == 4 && std::fabs(b->point.z - part_.box.hi.z) < level) area += ring_high_;
    if (d == 5 && std::fabs(b->point.z - part_.box.lo.z) < level) area += ring_low_;
    add("stock on " + name, area * t);
  }

  // ---- cores -------------------------------------------------------------------------------------------------------

  double stock_at(int n, double height) const {
    for (const plan::Feature& f : plan_.features)
      if (f.cast.value == "skin" && f.normal.value == direction_words[static_cast<std::size_t>(n)] &&
          !f.at.value.empty() && std::fabs(coordinate(f.at.value[0], axis_of(n)) - height) < level)
        return stock(f.id.value);
    return 0;
  }
  void core(const plan::CastSize& s) {
    const plan::Feature* f = s.kind.value == "inside" ? plan::find_feature(plan_, s.feature.value) : nullptr;
    if (f == nullptr || !s.raw.known()) return;
    const int n = direction_index(f->normal.value);
    if (n < 0 || !f->from.known() || !f->to.known()) return;
    const double low = std::min(f->from.si, f->to.si), high = std::max(f->from.si, f->to.si);
    const bool blind = !through(scene_, *f);
    double l = high - low;
    if (!blind || n % 2 == 0) l += stock_at(2 * axis_of(n), high);
    if (!blind || n % 2 == 1) l += stock_at(2 * axis_of(n) + 1, low);
    if (blind) l -= stock(floor_of(f->id.value));
    add(s.id.value, -points_of(*f) * disc(s.raw.si) * std::max(l, 0.0));
  }

  const Scene& scene_;
  const solid::Model& part_;
  const plan::Plan& plan_;
  std::map<std::string, double> stock_;
  Features features_;
  double ring_low_ = 0, ring_high_ = 0;
  std::vector<MetalPiece> pieces_;
};

}  // namespace

std::map<std::string, double> raw_stock(const Scene& scene, const plan::Plan& plan) {
  std::map<std::string, double> out;
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (!s.raw.known() || s.kind.value == "inside") continue;
    const double finished = finished_of(scene, plan, s), total = s.raw.si - finished;
    if (!(finished > 0)) continue;
    if (s.kind.value == "height") {
      out[s.feature.value] = total;
    } else if (s.between.value.size() == 2) {
      const double last = s.stock.known() ? s.stock.si : 0.5 * total;
      out[s.between.value[1]] = last, out[s.between.value[0]] = total - last;
    }
  }
  return out;
}

bool fills_its_box(const solid::Model& part, const plan::Plan& plan) {
  const plan::Feature* f = plan::find_feature(plan, "outside");
  const double r = f != nullptr && f->radius.known() ? f->radius.si : 0;
  const Vec3 box = part.box.hi - part.box.lo;
  for (int d = 0; d < 4; ++d) {
    const bool high = d % 2 == 0;
    const int axis = axis_of(d);
    const Vec3 n{axis == 0 ? (high ? 1.0 : -1.0) : 0, axis == 1 ? (high ? 1.0 : -1.0) : 0, 0};
    const double wide = (axis == 0 ? box.y : box.x) - 2 * r;
    // Of the side as its outline spans it: holes and windows in it are filled or stay, and the frame stands round them.
    double lo = 1e9, hi = -1e9, low = 1e9, top = -1e9;
    for (const solid::Face& face : part.faces) {
      if (face.kind != solid::Kind::plane || frame::dot(face.axis, n) < 1 - 1e-9 ||
          std::fabs(frame::dot(n, face.point) - frame::dot(n, high ? part.box.hi : part.box.lo)) > level)
        continue;
      lo = std::min(lo, axis == 0 ? face.box.lo.y : face.box.lo.x);
      hi = std::max(hi, axis == 0 ? face.box.hi.y : face.box.hi.x);
      low = std::min(low, face.box.lo.z), top = std::max(top, face.box.hi.z);
    }
    if (!(hi - lo > whole_side * wide && top - low > whole_side * box.z)) return false;
  }
  return true;
}

RawMetal raw_metal(const Scene& scene, const plan::Plan& plan) { return Weigher(scene, plan).sum(); }

void weigh_casting(const Scene& scene, Draft& d) {
  plan::Plan& p = d.plan;
  if (scene.part == nullptr || !p.part.mass.known() || !(scene.part->volume > 0)) return;
  const auto said = std::find_if(d.assumed.begin(), d.assumed.end(),
                                 [](const std::string& a) { return base::starts_with(a, "casting.mass "); });
  if (p.casting.mass.known() && said == d.assumed.end()) return;  // somebody weighed one
  const double density = p.part.mass.si / scene.part->volume;
  if (scene.cast != nullptr) {
    const double volume = scene.cast->volume + lugs_volume(d);
    give(p.casting.mass, unit::Kind::mass, base::fixed(density * volume, 2) + " kg");
    const std::string words = "casting.mass " + p.casting.mass.typed + ": from the volume of its model" +
                              (d.lugs.empty() ? "" : " and of the lugs cast on") + "; weigh ten castings";
    if (said != d.assumed.end()) *said = words;
    else d.assumed.push_back(words);
    return;
  }
  RawMetal m = raw_metal(scene, p);
  const double lugs = lugs_volume(d);
  m.volume += lugs, m.low += lugs, m.high += lugs;
  const auto kg = [&](double volume) { return base::fixed(density * volume, 2); };
  const bool band = m.high - m.volume > most_unsure * m.volume;
  give(p.casting.mass, unit::Kind::mass,
       band ? fmt::format("{} kg ({}..{} kg)", kg(m.volume), kg(m.low), kg(m.high)) : kg(m.volume) + " kg");
  const std::string words = "casting.mass " + p.casting.mass.typed + ": from the sizes" +
                            (d.lugs.empty() ? "" : ", with the lugs cast on") +
                            (band ? ", less sure where hollows have no plain floor" : "") + "; weigh ten castings";
  if (said != d.assumed.end()) *said = words;
  else d.assumed.push_back(words);
}

}  // namespace fettle::begin
