// Operations of a route as the plan writes them: what locates, what holds, what is made.
#include "begin/propose/route.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/features.h"
#include "begin/propose/carrier.h"
#include "begin/propose/facts.h"
#include "begin/propose/lugs.h"
#include "begin/propose/nest_fit.h"
#include "plan/read.h"
#include "ref/materials.h"

namespace fettle::begin {

using frame::Vec3;
using Kind = Clamping::Kind;

namespace {

constexpr const char* as_cast = "stays as cast and locates";
/// m, one standard deviation of the size between two edges milled one after the other. From memory.
constexpr double spread_of_width = 12e-6;
/// m, of jaws: below the lowest cut, and how much of a part they hold at least; the share of its height that is enough;
/// parallels as they usually lie in a vise. Common practice, from memory.
constexpr double below_cut = 3e-3, least_held = 5e-3, grips = 2.0 / 3, usual_parallel = 12e-3;
/// A bore whose limits are closer than this is finished by honing. Common practice: boring holds about this.
constexpr double hone_below = 12e-6;

std::string kind_word(Kind k) {
  switch (k) {
    case Kind::grind:
      return "grind";
    case Kind::gang:
      return "vise gang";
    case Kind::pallet:
      return "pallet";
    case Kind::chuck:
      return "chuck";
    case Kind::fixture:
    case Kind::angle:
      return "fixture";
    case Kind::carrier:
      return "jaw carrier";
    default:
      return "vise";
  }
}

/// Writes one route into a draft, operation by operation.
class Writer {
 public:
  Writer(const Scene& scene, const Route& route, Draft draft)
      : scene_(scene), route_(route), d_(std::move(draft)), sides_(stop_sides(scene, d_.plan)) {}

  /// What keeps the part off every machine; empty: it goes on one.
  std::vector<Clash> off_machines() {
    machines();
    return d_.clashes;
  }

  Draft write() {
    d_.name = name();
    machines();
    if (!d_.clashes.empty()) return std::move(d_);
    for (const Clamping& c : route_.clampings) operation(c);
    hone();
    last_by_hand();
    reasons();
    return std::move(d_);
  }

  std::string name() const {
    std::vector<std::string> words;
    bool gang = false;
    for (const Clamping& c : route_.clampings) {
      if (c.kind == Kind::gang) {
        if (!gang) words.emplace_back("edges squared in a gang");
        gang = true;
      } else if (c.kind == Kind::grind) {
        words.push_back(std::string(c.up == 4 ? "top" : "bottom") + " ground");
      } else if (c.kind == Kind::pallet) {
        words.emplace_back("pallet");
      } else if (c.kind == Kind::fixture) {
        words.push_back(std::string("strapped ") + direction_words[static_cast<std::size_t>(c.up)] + " up" +
                        (c.pins.empty() ? "" : " on pins"));
      } else if (c.kind == Kind::angle) {
        words.push_back(std::string("on an angle plate ") + direction_words[static_cast<std::size_t>(c.up)] + " up" +
                        (c.pins.empty() ? "" : " on pins"));
      } else if (c.kind == Kind::carrier) {
        words.push_back(std::string("a row under a carrier jaw ") + direction_words[static_cast<std::size_t>(c.up)] +
                        " up");
      } else {
        words.push_back(std::string("vise ") + direction_words[static_cast<std::size_t>(c.up)] + " up");
      }
    }
    return base::join(words, ", then ");
  }

 private:
  // ---- machines ----------------------------------------------------------------------------------------------------

  std::string why_not(const plan::Machine& m) const {
    const Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    const auto& t = m.travel.value;
    if (t.size() < 3) return m.id.value + " has no travels";
    const double wide = std::max(box.x, box.y), narrow = std::min(box.x, box.y);
    const double a = std::max(t[0], t[1]), b = std::min(t[0], t[1]);
    const auto say = [&](const char* axis, double part, double travel) {
      return fmt::format("{} {} of the part is more than the {} that machine {} travels", axis,
                         shown_length(part, scene_.inch), shown_length(travel, scene_.inch), m.id.value);
    };
    if (wide > a) return say("the long side", wide, a);
    if (narrow > b) return say("the short side", narrow, b);
    if (box.z > 0.6 * t[2]) return say("the height, with vise and tool above it,", box.z, 0.6 * t[2]);
    return "";
  }

  void machines() {
    const std::string wish = answer(scene_, "machine");
    std::vector<std::string> no;
    for (const plan::Machine& m : scene_.shop.machines) {
      if (!m.travel.known()) continue;
      const std::string why = why_not(m);
      if (!why.empty()) {
        no.push_back(why);
        continue;
      }
      if (!wish.empty() && m.id.value == wish) pallet_machine_ = wish;
      others_.push_back(m.id.value);
    }
    if (others_.empty()) {
      d_.clashes.push_back({{"a machine of the shop carries the part"},
                            no.empty() ? "the shop file names no machining centre with travels (machine.travel)"
                                       : base::join(no, "; ")});
      return;
    }
    if (!wish.empty() && pallet_machine_.empty()) {
      d_.clashes.push_back({{"machine " + wish, "the part fits its travels"}, base::join(no, "; ")});
      return;
    }
    if (pallet_machine_.empty()) pallet_machine_ = others_.back();
    vise_machine_ = others_.front();
  }

  // ---- places ------------------------------------------------------------------------------------------------------

  const OuterSide& side(int d) const { return sides_[static_cast<std::size_t>(d)]; }

  /// The surface as the route has left it: an edge that was prepared stands for its side, a spot for a leaning one.
  std::string now(int d) {
    if (side(d).lean > 1e-6) return spot(d);
    const auto it = prepared_.find(side(d).reference);
    if (it != prepared_.end()) return it->second;
    locates(side(d).reference, d);
    return side(d).reference;
  }
  /// Flat spots square to the axis on a rough side with draft: the foundry casts them on, or they are filed.
  std::string spot(int d) {
    std::string& id = spots_[static_cast<std::size_t>(d)];
    if (!id.empty()) return id;
    const OuterSide& s = side(d);
    plan::Feature f;
    int n = 0;
    for (const std::string& x : spots_) n += x.empty() ? 0 : 1;
    id = fmt::format("Q{}", n + 1);
    give(f.id, id);
    give(f.name,
         fmt::format("spots on the rough {}, square to {}", s.reference, direction_words[static_cast<std::size_t>(d)]));
    give(f.kind, "face");
    give(f.at, {s.at}, scene_.inch);
    give(f.normal, direction_words[static_cast<std::size_t>(d)]);
    give(f.size, {s.extent_u, s.extent_v}, scene_.inch);
    give(f.note, as_cast);
    d_.plan.features.push_back(std::move(f));
    d_.disagree.push_back(
        fmt::format("{}: {} leans {:.1f} degrees and locates as cast: agree on three flat spots with the foundry, off "
                    "gates and the parting ridge",
                    id, s.reference, s.lean * 180 / M_PI));
    locates(id, d);
    return id;
  }
  /// A side that locates and is never cut: it stays as cast, and its distance from the opposite side is ordered.
  void locates(const std::string& ref, int d) {
    plan::Feature* f = nullptr;
    for (plan::Feature& x : d_.plan.features)
      if (x.id.value == plan::parse_reference(ref).id) f = &x;
    if (f == nullptr || f->kind.value == "boss") return;
    const bool cut = f->cast.known() && f->note.value.find(as_cast) == std::string::npos;
    if (cut) return;  // its raw size, with stock, is the casting's
    if (!f->cast.known()) {
      give(f->cast, "skin");
      if (!f->note.known()) give(f->note, as_cast);
      else if (f->note.value.find(as_cast) == std::string::npos) give(f->note, f->note.value + "; " + as_cast);
    }
    const OuterSide& other = side(opposite(d));
    if (other.reference.empty() || other.round) return;
    const std::string from = other.lean > 1e-6 ? spot(opposite(d)) : other.reference;
    for (const plan::CastSize& s : d_.plan.casting.sizes)
      if (s.feature.value == ref ||
          (s.kind.value == "outside" &&
           std::find(s.between.value.begin(), s.between.value.end(), ref) != s.between.value.end()))
        return;
    plan::CastSize s;
    give(s.id, "as cast " + ref);
    give(s.kind, "height");
    give(s.between, from);
    give(s.feature, ref);
    give_length(s.raw, std::fabs(coordinate(side(d).at, axis_of(d)) - coordinate(other.at, axis_of(d))), scene_.inch);
    d_.plan.casting.sizes.push_back(std::move(s));
  }
  /// Where that surface lies along its axis.
  double place(int d) const {
    const std::string& ref = side(d).reference;
    const double edge = coordinate(side(d).at, axis_of(d)), out = d % 2 == 0 ? 1 : -1;
    if (prepared_.contains(ref)) return edge + out * edge_stock;
    if (made_.contains(ref) || made_.contains(side(d).feature) || !side(d).cut) return edge;
    return edge + out * raw_stock(ref);
  }
  double raw_stock(const std::string& ref) const {
    for (const plan::CastSize& s : d_.plan.casting.sizes) {
      const bool height = s.kind.value == "height" && s.feature.value == ref;
      const bool outside = s.kind.value == "outside" && s.between.value.size() == 2;
      const bool first = outside && s.between.value[0] == ref, second = outside && s.between.value[1] == ref;
      if (!height && !first && !second) continue;
      const double both = s.raw.si - finished_of(scene_, d_.plan, s);
      if (height) return both;
      if (s.stock.known()) return second ? s.stock.si : both - s.stock.si;
      return 0.5 * both;
    }
    return 0;
  }

  /// A place on an inner side as it is when the part is located there: what is still to come off stands before it.
  Vec3 standing(int d, Vec3 p) const {
    if (side(d).lean < 1e-6) coordinate(p, axis_of(d)) = place(d);
    for (const int a : {0, 1, 2})
      if (a != axis_of(d)) coordinate(p, a) = std::round(coordinate(p, a) * 1e4) / 1e4;
    return p;
  }

  /// Holes and pockets that open on a side, as discs in its two other axes.
  struct Disc {
    double u, v, r;
  };
  std::vector<Disc> mouths(int d) const {
    std::vector<Disc> out;
    const int a = axis_of(d) == 0 ? 1 : 0, b = axis_of(d) == 2 ? 1 : 2;
    for (const plan::Feature& f : d_.plan.features) {
      if (is_floor(f) || f.kind.value == "profile" || f.kind.value == "face") continue;
      const auto from = access(scene_, d_.plan, f);
      if (std::find(from.begin(), from.end(), d) == from.end()) continue;
      const double r = std::max(0.5 * diameter_of(f), 0.5 * std::hypot(nominal_of(f.width), nominal_of(f.length)));
      for (const Vec3& p : f.at.value) out.push_back({coordinate(p, a), coordinate(p, b), r});
    }
    return out;
  }
  bool clear(const std::vector<Disc>& discs, double u, double v, double r) const {
    return std::all_of(discs.begin(), discs.end(),
                       [&](const Disc& m) { return std::hypot(u - m.u, v - m.v) >= m.r + r; });
  }

  /// Three rests on a side, as far apart as holes allow. Gates lie on sides that rests avoid where they are known.
  std::vector<Vec3> rests(int d) const {
    if (!side(d).points.empty()) {
      std::vector<Vec3> out = three_rests(side(d).points, scene_.part->centroid, axis_of(d));
      for (Vec3& p : out) p = standing(d, p);
      constexpr double least = 1e-6;  // m2: of a strip all that was seen may lie in one line
      if (wide(out, d) > least) return out;
    }
    const int a = axis_of(d) == 0 ? 1 : 0, b = axis_of(d) == 2 ? 1 : 2;
    const Vec3 middle = 0.5 * (scene_.part->box.lo + scene_.part->box.hi);
    const double U = 0.5 * side(d).extent_u, V = 0.5 * side(d).extent_v;
    const std::vector<Disc> discs = mouths(d);
    const double pad = std::min(6e-3, 0.2 * std::min(U, V));
    const double cu = coordinate(side(d).reference.find("outside") == 0 ? middle : side(d).at, a),
                 cv = coordinate(side(d).reference.find("outside") == 0 ? middle : side(d).at, b);
    const auto near = [&](double u, double v) {
      double best = std::numeric_limits<double>::infinity(), bu = u, bv = v;
      for (int i = -6; i <= 6; ++i)
        for (int j = -6; j <= 6; ++j) {
          const double x = std::clamp(u + 0.08 * i * U, cu - U + pad, cu + U - pad),
                       y = std::clamp(v + 0.08 * j * V, cv - V + pad, cv + V - pad);
          const double far = std::hypot(x - u, y - v);
          if (far < best - 1e-9 && clear(discs, x, y, pad)) best = far, bu = x, bv = y;
        }
      Vec3 p;
      coordinate(p, a) = std::round(bu * 2e3) / 2e3;
      coordinate(p, b) = std::round(bv * 2e3) / 2e3;
      coordinate(p, axis_of(d)) = place(d);
      return p;
    };
    return {near(cu - 0.76 * U, cv - 0.7 * V), near(cu + 0.76 * U, cv - 0.7 * V), near(cu, cv + 0.7 * V)};
  }
  /// Height at which jaws press: half way up, and clear of the parting ridge on the side that the part sits on.
  double grip(int up) const {
    constexpr double clear = 6e-3;  // m, ridge and half a jaw's button; common practice
    const int axis = axis_of(up);
    const double lo = coordinate(scene_.part->box.lo, axis), hi = coordinate(scene_.part->box.hi, axis);
    const double middle = 0.5 * (lo + hi), parting = d_.plan.casting.parting.si;
    if (axis != 2 || !d_.plan.casting.parting.known() || std::fabs(middle - parting) >= clear) return middle;
    const double below = parting + (opposite(up) % 2 == 0 ? clear : -clear);
    return below > lo + 3e-3 && below < hi - 3e-3 ? below : middle;
  }
  /// The same point off the parting ridge and off the gates of a side that is still raw.
  Vec3 off_ridge_and_gates(int d, Vec3 p) const {
    constexpr double clear = 6e-3, beside = 8e-3;  // m, ridge or stub and half a button; common practice
    const std::string& ref = side(d).reference;
    if (axis_of(d) == 2 || prepared_.contains(ref) || made_.contains(ref) || made_.contains(side(d).feature)) return p;
    const Vec3 lo = scene_.part->box.lo, hi = scene_.part->box.hi;
    const plan::Casting& c = d_.plan.casting;
    if (c.parting.known() && std::fabs(p.z - c.parting.si) < clear - 1e-9)
      p.z = c.parting.si - clear > lo.z + 3e-3 ? c.parting.si - clear : c.parting.si + clear;
    const int u = 1 - axis_of(d);
    for (const plan::Gate& g : c.gates) {
      if (g.face.value != ref) continue;
      for (const Vec3& at : g.at.value) {
        const double half = 0.5 * g.width.si + beside, middle = coordinate(at, u);
        if (std::fabs(p.z - at.z) > 0.5 * g.width.si + beside || std::fabs(coordinate(p, u) - middle) >= half) continue;
        const double low = middle - half, high = middle + half;
        const bool down =
            coordinate(p, u) < middle ? low > coordinate(lo, u) + clear : high > coordinate(hi, u) - clear;
        coordinate(p, u) = 1e-3 * (down ? std::floor(low * 1e3) : std::ceil(high * 1e3));
      }
    }
    return p;
  }
  /// Two places of an inner side, far apart along it and at one height; one when it is narrow.
  std::vector<Vec3> two_of(int d, int up, double within) const {
    const int along = 3 - axis_of(d) - axis_of(up), high = axis_of(up);
    const double middle = 0.5 * coordinate(scene_.part->box.lo + scene_.part->box.hi, along);
    std::vector<Vec3> all;
    for (const Vec3& p : side(d).points)
      if (std::fabs(coordinate(p, along) - middle) <= 0.5 * within) all.push_back(p);
    if (all.empty()) all = side(d).points;
    double most = -std::numeric_limits<double>::infinity();
    std::vector<Vec3> best{all.front()};
    for (std::size_t i = 0; i < all.size(); ++i)
      for (std::size_t j = i + 1; j < all.size(); ++j) {
        const double wide = std::fabs(coordinate(all[i], along) - coordinate(all[j], along)),
                     tilt = std::fabs(coordinate(all[i], high) - coordinate(all[j], high)),
                     off = std::fabs(0.5 * (coordinate(all[i], high) + coordinate(all[j], high)) - grip(up));
        const double score = wide - 2 * tilt - 0.3 * off;
        if (score > most + 1e-9) most = score, best = {all[i], all[j]};
      }
    if (best.size() == 2 && std::fabs(coordinate(best[0], along) - coordinate(best[1], along)) < 5e-3) best.resize(1);
    for (Vec3& p : best) p = standing(d, p);
    return best;
  }
  /// One place of a side for a stop, near the middle of the part and the height of the jaws.
  Vec3 stop_on(int d, int up) const {
    Vec3 p = 0.5 * (scene_.part->box.lo + scene_.part->box.hi);
    coordinate(p, axis_of(up)) = grip(up);
    if (!side(d).points.empty()) {
      const Vec3 wish = p;
      double least = std::numeric_limits<double>::infinity();
      for (const Vec3& q : side(d).points) {
        Vec3 x = q - wish;
        coordinate(x, axis_of(d)) = 0;
        if (norm(x) < least - 1e-9) least = norm(x), p = q;
      }
      return standing(d, p);
    }
    coordinate(p, axis_of(d)) = place(d);
    return off_ridge_and_gates(d, p);
  }
  double jaw_wide() const { return scene_.inch ? 0.1524 : 0.16; }
  /// Two points on a side, for a jaw; one on a round side. `within`: so wide about the part's middle.
  std::vector<Vec3> jaw_points(int d, int up, double within = std::numeric_limits<double>::infinity()) const {
    if (side(d).round) {
      Vec3 p = side(d).at;
      coordinate(p, axis_of(d)) = place(d);
      return {p};
    }
    if (!side(d).points.empty()) return two_of(d, up, within);
    const int along = 3 - axis_of(d) - axis_of(up);
    const Vec3 middle = 0.5 * (scene_.part->box.lo + scene_.part->box.hi),
               box = scene_.part->box.hi - scene_.part->box.lo;
    std::vector<Vec3> out;
    for (const double s : {-1.0, 1.0}) {
      Vec3 p = middle;
      coordinate(p, along) += s * std::min(0.36 * coordinate(box, along), 0.45 * within);
      coordinate(p, along) = std::round(coordinate(p, along) * 1e3) / 1e3;
      coordinate(p, axis_of(d)) = place(d);
      coordinate(p, axis_of(up)) = grip(up);
      out.push_back(off_ridge_and_gates(d, p));
    }
    return out;
  }

  // ---- one operation
  // -------------------------------------------------------------------------------------------------

  void locate(plan::Operation& op, const std::string& kind, const std::string& on, const std::vector<Vec3>& at,
              int normal = -1) const {
    plan::Locator l;
    give(l.kind, kind);
    give(l.on, on);
    if (!at.empty()) give(l.at, at, scene_.inch);
    if (normal >= 0) give(l.normal, direction_words[static_cast<std::size_t>(normal)]);
    op.locators.push_back(std::move(l));
  }
  /// kN: stated, least, most; typed in the plan's own unit.
  void hold(plan::Operation& op, const std::string& on, int push, std::array<int, 3> kilonewtons) {
    const auto typed = [&](int x) {  // to a hundred pounds of force
      return scene_.inch ? std::to_string(100 * static_cast<int>(std::lround(x * 1e3 / 4.4482216 / 100)))
                         : std::to_string(x);
    };
    const char* unit = scene_.inch ? "lbf" : "kN";
    const std::string force = fmt::format("{} {} ({}..{} {})", typed(kilonewtons[0]), unit, typed(kilonewtons[1]),
                                          typed(kilonewtons[2]), unit);
    plan::Clamp c;
    give(c.kind, "vise");
    give(c.on, on);
    give(c.direction, direction_words[static_cast<std::size_t>(push)]);
    give(c.force, unit::Kind::force, force);
    op.clamps.push_back(std::move(c));
    d_.assumed.push_back(
        fmt::format("operation.{}.clamp force {}: a vise tightened by hand, from memory; the study says what holds",
                    op.id.value, force));
  }
  static void count(plan::Integer& v, int n) {
    v.value = n, v.origin = plan::Origin::given, v.typed = std::to_string(n);
  }

  void operation(const Clamping& c) {
    plan::Operation op;
    const bool grind = c.kind == Kind::grind;
    give(op.id, fmt::format("{}{}", grind ? "G" : "OP", 10 * (++number_)));
    give(op.kind, kind_word(c.kind));
    give(op.up, direction_words[static_cast<std::size_t>(c.up)]);
    if (!grind)
      give(op.machine, c.kind == Kind::pallet    ? pallet_machine_
                       : c.kind == Kind::carrier ? carrier_set(scene_.shop).machine
                                                 : vise_machine_);
    give(op.name, words(c));
    const int down = opposite(c.up);
    if (grind) {
      locate(op, "chuck", now(down), rests(down));
      count(op.lot, 60);
      bought(op);
    } else if (c.kind == Kind::gang) {
      gang(op, c);
    } else if (c.kind == Kind::pallet) {
      give(op.zero, "probed pins");
      d_.pins = route_.pins, d_.screws = route_.screws, d_.pallet_operation = op.id.value;
    } else if (c.kind == Kind::fixture || c.kind == Kind::angle) {
      strapped(op, c);
    } else if (c.kind == Kind::carrier) {
      carrier(op, c);
    } else {
      vise(op, c);
    }
    makes(op, c);
    d_.plan.operations.push_back(std::move(op));
    for (const std::string& m : c.makes) made_.insert(m);
  }

  /// Grinding is bought by the side here; its price in the money of the casting's.
  void bought(plan::Operation& op) {
    const std::string& casting = d_.plan.casting.price.typed;
    const std::size_t at = casting.find_last_of(' ');
    if (at == std::string::npos || !d_.plan.casting.price.known()) {
      d_.assumed.push_back(fmt::format("operation.{}: lots of 60, price not said", op.id.value));
      return;
    }
    give(op.price, unit::Kind::money, "2.50 " + casting.substr(at + 1));
    d_.assumed.push_back(fmt::format("operation.{}: lots of 60; price {} a part, from memory: ask the grinder",
                                     op.id.value, op.price.typed));
  }

  /// Whether a vise of the shop opens so far.
  void opens(const plan::Operation& op, double across) {
    double widest = 0;
    for (const plan::Thing& t : scene_.shop.things)
      if (t.kind.value == "vise" && t.size.value.size() == 3 &&
          (!t.machine.known() || t.machine.value == op.machine.value))
        widest = std::max(widest, t.size.value[2]);
    if (widest > 0 && across > widest + 1e-6)
      d_.disagree.push_back(fmt::format(
          "{}: no vise of the shop file opens {}, as the part asks; the widest opens {}: a wider vise, or straps",
          op.id.value, shown_length(across, scene_.inch), shown_length(widest, scene_.inch)));
  }

  void vise(plan::Operation& op, const Clamping& c) {
    const int moving = 2 * c.jaws;
    between_jaws(op, c);
    hold(op, now(moving), 2 * c.jaws + 1, thin(c) ? std::array{8, 5, 11} : std::array{25, 18, 32});
    if (thin(c))
      d_.choices.push_back(
          {"route",
           "operation." + op.id.value + ".clamp",
           fmt::format("low force, {}, three rests, shimmed where it rocks", op.clamps.back().force.typed),
           "a thin part bows under the jaws, is cut bent and springs back",
           "common practice",
           {{"the force of a block",
             "the bow that comes off the jaws is the flatness that is lost",
             {},
             "a force that bows the part is none to take"}}});
    if (side(moving).round)
      d_.assumed.push_back(fmt::format("operation.{}: soft jaws bored to the round {}; which way it is turned is free",
                                       op.id.value, side(moving).feature));
    give(op.clamps.back().at, jaw_points(moving, c.up, jaw_wide()), scene_.inch);
    const double height = coordinate(scene_.part->box.hi - scene_.part->box.lo, axis_of(c.up));
    give_length(op.jaw_height, scene_.inch ? 0.0508 : 0.05, scene_.inch);
    give_length(op.jaw_width, jaw_wide(), scene_.inch);
    opens(op, std::fabs(place(2 * c.jaws + 1) - place(2 * c.jaws)));
    const double held = on_parallels(op, c, height);
    count(op.parts, 1);
    count(op.lot, 60);
    give(op.load_time, unit::Kind::time, "0.8 min (0.5..1.2 min)");
    d_.assumed.push_back(fmt::format(
        "operation.{}: one vise, jaws {} high, the part on parallels {} high, loaded in 0.8 min a part (0.5 "
        "to 1.2), lots of 60: from memory",
        op.id.value, length_text(op.jaw_height.si, scene_.inch), op.parallel.typed));
    if (held < least_held)
      d_.disagree.push_back(
          fmt::format("{}: jaws hold {} of a part {} high and stay below what is cut: low jaws, or a "
                      "plate to screw it on",
                      op.id.value, shown_length(std::max(held, 0.0), scene_.inch), length_text(height, scene_.inch)));
  }

  /// Parallels so high that the jaws stay below what is cut there; how much of the part they hold then, m.
  double on_parallels(plan::Operation& op, const Clamping& c, double height) const {
    const int down = opposite(c.up);
    const double out = c.up % 2 == 0 ? 1 : -1;
    double stands = height;
    for (const std::string& m : c.makes) {
      const plan::Feature* f = plan::find_feature(d_.plan, plan::parse_reference(m).id);
      if (f == nullptr || f->kind.value != "face" || is_floor(*f) || f->at.value.empty()) continue;
      if (direction_index(f->normal.value) != c.up) continue;
      stands = std::min(stands, out * (coordinate(f->at.value[0], axis_of(c.up)) - place(down)));
    }
    const double held = std::min({stands - below_cut, grips * height, op.jaw_height.si - usual_parallel});
    const double step = scene_.inch ? 0.0254 / 8 : 1e-3;
    give_length(op.parallel, step * std::ceil((op.jaw_height.si - held) / step - 1e-6), scene_.inch);
    return op.jaw_height.si - op.parallel.si;
  }

  /// The seat, the fixed jaw, and where the part lies along the jaws.
  void between_jaws(plan::Operation& op, const Clamping& c) {
    const int down = opposite(c.up), fixed = 2 * c.jaws + 1, along = 3 - c.jaws - axis_of(c.up);
    locate(op, "rest", now(down), rests(down));
    locate(op, "jaw", now(fixed), jaw_points(fixed, c.up, jaw_wide()), side(fixed).round ? fixed : -1);
    const OuterSide &a = side(2 * along), &b = side(2 * along + 1);
    if (b.round) {
      Vec3 p = b.at;
      coordinate(p, along) = place(2 * along + 1);
      locate(op, "stop", now(2 * along + 1), {p}, 2 * along + 1);
      give(op.zero, "middle of the outside");
    } else if (!a.points.empty() || !b.points.empty() || a.reference.empty() || b.reference.empty()) {
      const int d = stop_side(
          sides_, [&](int k) { return is_made(k); }, along);
      if (d >= 0) {
        const Vec3 p = stop_on(d, c.up);
        locate(op, "stop", now(d), {p}, side(d).round ? d : -1);
        give(op.zero, "corner");
      } else {
        d_.disagree.push_back(fmt::format(
            "{}: nothing flat faces along {}, so no stop stands there and the part can lie anywhere along the jaws: a "
            "pad cast on for a stop, or jaws cut to its shape",
            op.id.value,
            along == 0   ? "X"
            : along == 1 ? "Y"
                         : "Z"));
      }
    } else {
      Vec3 p = 0.5 * (scene_.part->box.lo + scene_.part->box.hi);
      coordinate(p, along) = place(2 * along);
      coordinate(p, axis_of(c.up)) = grip(c.up);
      p = off_ridge_and_gates(2 * along + 1, off_ridge_and_gates(2 * along, p));
      locate(op, "centre", now(2 * along) + " " + now(2 * along + 1), {p});
      give(op.zero, "middle of the outside");
    }
  }

  // ---- a row under one jaw ---------------------------------------------------------------------------------------

  /// Several parts in a row between two edges that are cut, under one jaw that two vises push.
  void carrier(plan::Operation& op, const Clamping& c) {
    const int moving = 2 * c.jaws, along = 3 - c.jaws - axis_of(c.up);
    between_jaws(op, c);
    // Two vises, each as one alone.
    hold(op, now(moving), 2 * c.jaws + 1, thin(c) ? std::array{16, 10, 22} : std::array{50, 36, 64});
    const CarrierSet set = carrier_set(scene_.shop);
    const CarrierPart part = carrier_part(scene_, d_.plan, c.jaws, along);
    const CarrierRow row = carrier_row(set, scene_.shop, part, scene_.inch);
    give(op.need, unit::Kind::force, scene_.inch ? "700 lbf" : "3 kN");
    const std::vector<CarrierLoad> loads = carrier_loads(set, part, row, scene_.shop, asked_of(op), asked_face());
    if (loads.empty() || !(loads.front().pushed_at > 0)) {
      d_.clashes.push_back({{"take.route.clamps = carrier"}, "no place of the vises balances the jaw over its parts"});
      return;
    }
    const CarrierLoad& l = loads.front();
    count(op.parts, l.parts);
    count(op.lot, 60);
    give_length(op.pitch, row.pitch, scene_.inch);
    give(op.load_time, unit::Kind::time, "0.8 min (0.5..1.2 min)");
    give(op.carrier.size, set.size, scene_.inch);
    give(op.carrier.material, set.material);
    give(op.carrier.pushed_at, {{-l.pushed_at, 0, 0}, {l.pushed_at, 0, 0}}, scene_.inch);
    give_length(op.carrier.pushed_width, set.jaw, scene_.inch);
    plan::Clamp& clamp = op.clamps.back();
    give(clamp.kind, "jaw");
    give(clamp.thing, l.face.thing);
    if (!l.face.typed.empty()) give(clamp.stiffness, unit::Kind::stiffness, l.face.typed);
    width_spread(op, c);
    d_.assumed.push_back(fmt::format(
        "operation.{}: loaded in 0.8 min a part (0.5 to 1.2), lots of 60, parts {} apart for a finger or the "
        "probe; each part needs {} (two thirds to twice) lest it is thrown: from memory; whether that holds it against "
        "each tool "
        "is proved tool by tool",
        op.id.value, shown_length(row.pitch - part.raw, scene_.inch), op.need.typed));
    d_.disagree.push_back(
        fmt::format("{}: under one jaw a part a little narrower than its neighbours lies loose, and a cutter throws "
                    "it: tug at every "
                    "part before the first cut, edges milled in one set-up, jaw and edges wiped",
                    op.id.value));
    row_choice(op, set, row, loads);
  }
  /// What the jaw has to do: the width's scatter of milled edges, the goal of the plan.
  CarrierAsked asked_of(const plan::Operation& op) {
    const auto m = ref::material(d_.plan.part.material.value);
    if (!m.ok())
      d_.assumed.push_back(
          fmt::format("operation.{}.carrier: how stiff the parts are under the jaw, by 110 GPa (90 to 175): grey "
                      "iron's from memory, "
                      "since nobody named an iron that the tables know",
                      op.id.value));
    CarrierAsked out;
    out.force = op.clamps.back().force.si, out.need = op.need.si, out.spread = spread_of_width;
    out.modulus = m.ok() ? m->modulus.value : 110e9;
    out.limit = d_.plan.header.goal.known() ? d_.plan.header.goal.si : 1e-3;
    out.seed = d_.plan.header.seed.known() ? d_.plan.header.seed.value : 1;
    if (scene_.inch) out.step = 0.5 * 0.0254;
    return out;
  }
  std::string asked_face() const {
    const std::string a = answer(scene_, "take.route.jaw");
    return a == "hard" || a == "pads" ? a : "";
  }
  /// One standard deviation of the size between the edges: milled in lots, one after the other.
  void width_spread(const plan::Operation& op, const Clamping& c) {
    const std::array<std::string, 2> edges{now(2 * c.jaws), now(2 * c.jaws + 1)};
    for (auto o = d_.plan.operations.rbegin(); o != d_.plan.operations.rend(); ++o)
      for (const std::string& made : o->makes.value) {
        if (made != edges[0] && made != edges[1]) continue;
        const std::string text = scene_.inch ? "s 0.0005 in" : "s 0.012 mm";
        const auto v = unit::parse_spread(text, unit::Kind::length);
        if (!v.ok()) return;
        plan::SpreadOf s;
        give(s.id, fmt::format("width after {}", o->id.value));
        for (const plan::SpreadOf& there : d_.plan.spreads)
          if (there.id.value == s.id.value) return;
        give(s.of, "width of parts after the edges");
        give(s.axis, c.jaws == 0 ? "x" : c.jaws == 1 ? "y" : "z");
        give(s.operation, o->id.value);
        give(s.moves, made);
        give(s.replaces, "machine positioning");
        s.value.value = *v, s.value.typed = text, s.value.origin = plan::Origin::given;
        d_.assumed.push_back(
            fmt::format("spread.{} {} ({}), one standard deviation: from memory; {} is only as sure as that: measure "
                        "thirty parts after {} with a micrometer",
                        s.id.value, text.substr(2), scene_.inch ? "0.0003 to 0.001 in" : "0.008 to 0.025 mm",
                        op.id.value, o->id.value));
        d_.plan.spreads.push_back(std::move(s));
        return;
      }
  }
  static std::string percent(double share) { return fmt::format("{:.2g} %", 100 * share); }
  std::string load_words(const CarrierLoad& l) const {
    const auto force = [&](double x) {
      return scene_.inch ? fmt::format("{:.0f} lbf", x / 4.4482216152605) : fmt::format("{:.1f} kN", x / 1e3);
    };
    return fmt::format("{} to {} on a part at equal widths, {} of loads leave one with less than it needs",
                       force(l.least), force(l.most), percent(l.share));
  }
  void row_choice(const plan::Operation& op, const CarrierSet& set, const CarrierRow& row,
                  const std::vector<CarrierLoad>& loads) {
    const CarrierLoad& l = loads.front();
    const std::string asked = asked_face();
    const auto said = [](const CarrierLoad& x) { return fmt::format("{} under {}", x.parts, x.face.thing); };
    Choice c{
        "route",
        "operation." + op.id.value + ".carrier",
        fmt::format("{} parts side by side {} apart under {}, {} long, with {} between, two vises pushing {} either "
                    "side of its middle",
                    l.parts, shown_length(row.pitch, scene_.inch), set.bar, shown_length(set.size[0], scene_.inch),
                    l.face.thing, shown_length(l.pushed_at, scene_.inch)),
        fmt::format("the most that the jaw and the machine take{}: {}",
                    l.parts < row.parts ? fmt::format(" is {}, which leaves parts loose", row.parts) : "",
                    load_words(l)),
        asked.empty() ? "jaw loads" : "answer",
        {}};
    for (std::size_t i = 1; i < loads.size(); ++i) {
      const CarrierLoad& o = loads[i];
      if (o.parts != l.parts && o.face.word != l.face.word) continue;
      const bool face = o.parts == l.parts;
      c.others.push_back({said(o), load_words(o), face ? "take.route.jaw=" + o.face.word : "",
                          face ? "" : "the count follows from the loads: operation.parts of the plan says another"});
    }
    if (!asked.empty())
      c.others.push_back({"hard jaw or pads by the loads", "this one was asked for", "take.route.jaw=as reckoned"});
    d_.choices.push_back(std::move(c));
  }

  // ---- straps ----------------------------------------------------------------------------------------------------

  bool is_made(int d) const { return made_.contains(side(d).reference) || made_.contains(side(d).feature); }

  /// Where straps press on to `seat`: flats that look away from it and are not cut here, each place over a rest.
  struct Strap {
    std::string on;
    Vec3 at;
  };
  std::vector<Strap> straps(const Clamping& c, int from, std::vector<Vec3>& rests_on, int seat) const {
    constexpr double beside = 15e-3;  // m, a nose stands over its rest or bends the part; common practice
    std::vector<Strap> room;
    for (const InnerSide& s : scene_.sight->flats[static_cast<std::size_t>(from)]) {
      if (s.lean > 1e-6 || std::find(c.makes.begin(), c.makes.end(), s.feature) != c.makes.end()) continue;
      for (const Vec3& p : s.points) room.push_back({s.feature, p});
    }
    const auto apart = [&](Vec3 a, Vec3 b) {
      Vec3 x = a - b;
      coordinate(x, axis_of(seat)) = 0;
      return norm(x);
    };
    // Rests below places where a strap finds room, when the seat gives a choice and the three still stand wide.
    if (side(seat).inner || !seat_points(seat).empty()) {
      std::vector<Vec3> under;
      for (const Vec3& p : seat_points(seat))
        if (std::any_of(room.begin(), room.end(), [&](const Strap& s) { return apart(s.at, p) < beside; }))
          under.push_back(p);
      std::vector<Vec3> three = three_rests(under, scene_.part->centroid, axis_of(seat));
      if (three.size() == 3 && wide(three, seat) > 0.3 * wide(rests_on, seat)) {
        for (Vec3& p : three) p = standing(seat, p);
        rests_on = three;
      }
    }
    std::vector<Strap> out;
    for (const Vec3& r : rests_on) {
      const Strap* best = nullptr;
      double least = std::numeric_limits<double>::infinity();
      for (const Strap& s : room) {
        const bool taken =
            std::any_of(out.begin(), out.end(), [&](const Strap& o) { return norm(o.at - s.at) < 8e-3; });
        if (!taken && apart(s.at, r) < least - 1e-9) least = apart(s.at, r), best = &s;
      }
      if (best != nullptr) out.push_back(*best);
    }
    return out;
  }
  /// Places of a flat that lie on metal and are reached straight; empty: nobody looked.
  std::vector<Vec3> seat_points(int d) const {
    if (side(d).inner) return side(d).points;
    for (const InnerSide& s : scene_.sight->flats[static_cast<std::size_t>(d)])
      if (s.feature == side(d).feature) return s.points;
    return {};
  }
  double wide(const std::vector<Vec3>& p, int d) const {
    return p.size() < 3 ? 0 : std::fabs(coordinate(frame::cross(p[1] - p[0], p[2] - p[0]), axis_of(d)));
  }

  /// Stops at the two axes along the seat.
  void stop_it(plan::Operation& op, const Clamping& c, int seat) {
    const int down = opposite(c.up);
    std::vector<int> others;
    for (int a = 0; a < 3; ++a)
      if (a != axis_of(seat))
        others.push_back(a == axis_of(down) ? down
                                            : stop_side(
                                                  sides_, [&](int d) { return is_made(d); }, a));
    // Two stops on the longer of the two sides that are left; on an angle plate below.
    const auto length = [&](int d) { return std::max(side(d).extent_u, side(d).extent_v); };
    if (c.back >= 0 ? others[1] == down : length(others[1]) > length(others[0])) std::swap(others[0], others[1]);
    const std::vector<Vec3> two = jaw_points(others[0], seat);
    locate(op, "stop", now(others[0]), two, side(others[0]).round ? others[0] : -1);
    if (side(others[1]).round) locate(op, "stop", now(others[1]), jaw_points(others[1], seat), others[1]);
    else locate(op, "stop", now(others[1]), {stop_on(others[1], seat)});
    give(op.zero, "corner");
  }
  /// Pins in two of the part's own holes, the round one in the first.
  void pin_it(plan::Operation& op, const Clamping& c) {
    locate(op, "round pin", c.pins[0], {});
    locate(op, "relieved pin", c.pins[1], {});
    give(op.zero, "pin");
    d_.assumed.push_back(
        fmt::format("operation.{}: a round pin in {} and a relieved one in {}, a hundredth of a millimetre below the "
                    "least hole and "
                    "as far apart as the holes within a hundredth: common practice; say them, or measure play",
                    op.id.value, c.pins[0], c.pins[1]));
    d_.choices.push_back(
        {"route",
         "operation." + op.id.value + ".locator",
         fmt::format("pins in {} and {}", c.pins[0], c.pins[1]),
         "an earlier operation has cut them, and what a stop would touch is rough: it would locate once "
         "more",
         "raw datum once",
         {{"stops on the rough sides", "every casting then lies elsewhere", "", "a rough side locates once"}}});
  }

  /// Three rests on the seat, stops at the two other axes, a strap over every rest. On an angle plate the seat is its
  /// upright face, and the part stands on two rests.
  void strapped(plan::Operation& op, const Clamping& c) {
    const int down = opposite(c.up), seat = c.back < 0 ? down : c.back;
    std::vector<Vec3> on = rests(seat);
    const std::vector<Strap> press = straps(c, opposite(seat), on, seat);
    locate(op, "rest", now(seat), on);
    if (c.pins.empty()) stop_it(op, c, seat);
    else pin_it(op, c);
    for (const Strap& s : press) {
      plan::Clamp k;
      give(k.kind, "strap");
      give(k.on, s.on);
      give(k.direction, direction_words[static_cast<std::size_t>(seat)]);
      give(k.at, {s.at}, scene_.inch);
      give(k.force, unit::Kind::force, scene_.inch ? "1800 lbf (1100..2500 lbf)" : "8 kN (5..11 kN)");
      op.clamps.push_back(std::move(k));
    }
    count(op.parts, 1);
    count(op.lot, 60);
    give(op.load_time, unit::Kind::time, "2.5 min (1.5..4 min)");
    d_.assumed.push_back(fmt::format(
        "operation.{}: {} straps of {} each, set one by one in 2.5 min a part (1.5 to 4), lots of 60: from memory",
        op.id.value, press.size(), scene_.inch ? "1800 lbf" : "8 kN"));
    if (press.size() < 3)
      d_.disagree.push_back(
          fmt::format("{}: {} strap{} find room on flats that are not cut here; more need a lug cast on", op.id.value,
                      press.size(), press.size() == 1 ? "" : "s"));
    d_.choices.push_back(
        {"route",
         "operation." + op.id.value + ".clamp",
         c.back < 0 ? fmt::format("straps from above on {}", strap_faces(press))
                    : fmt::format("{} against an angle plate, straps on {}", side(seat).reference, strap_faces(press)),
         c.back < 0 ? "no two outer flats face each other for jaws with this way up"
                    : "the part has no outer flat to stand on with this way up, or nothing that jaws "
                      "close on; a plate squares it",
         "common practice",
         {{"soft jaws cut to the part's shape",
           "a set of jaws for one clamping, worn with skin",
           {},
           "where such jaws touch, nobody has drawn"}}});
  }
  static std::string strap_faces(const std::vector<Strap>& all) {
    std::vector<std::string> out;
    for (const Strap& s : all)
      if (std::find(out.begin(), out.end(), s.on) == out.end()) out.push_back(s.on);
    return base::join(out, ", ");
  }

  /// Thin across the way that looks up: a plate, not a block. Common practice.
  bool thin(const Clamping& c) const {
    const Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    const double high = coordinate(box, axis_of(c.up));
    return high < 0.09 * std::max({box.x, box.y, box.z});
  }

  void gang(plan::Operation& op, const Clamping& c) {
    const int down = opposite(c.up), along = 3 - axis_of(c.up) - 2;
    const double thick = coordinate(scene_.part->box.hi - scene_.part->box.lo, 2);
    locate(op, "jaw", now(5), rests(5));
    Vec3 middle = 0.5 * (scene_.part->box.lo + scene_.part->box.hi), box = scene_.part->box.hi - scene_.part->box.lo;
    std::vector<Vec3> two;
    for (const double s : {-1.0, 1.0}) {
      Vec3 p = middle;
      coordinate(p, along) += s * std::round(0.38 * coordinate(box, along) * 1e3) / 1e3;
      coordinate(p, axis_of(c.up)) = place(down);
      two.push_back(off_ridge_and_gates(down, p));
    }
    locate(op, "rest", now(down), two);
    Vec3 stop = middle;
    coordinate(stop, along) = place(2 * along + 1);
    locate(op, "stop", now(2 * along + 1), {off_ridge_and_gates(2 * along + 1, stop)});
    hold(op, now(4), 5, {20, 14, 26});
    count(op.parts, std::clamp(static_cast<int>(0.18 / thick), 1, 6));
    give_length(op.jaw_height, scene_.inch ? 0.0508 : 0.05, scene_.inch);
    give_length(op.jaw_width, scene_.inch ? 0.1524 : 0.16, scene_.inch);
    count(op.lot, 60);
    give(op.load_time, unit::Kind::time, "0.8 min (0.5..1.2 min)");
    d_.assumed.push_back(fmt::format("operation.{}: {} parts in series in a vise that opens {}, lots of 60",
                                     op.id.value, op.parts.value, length_text(0.18, scene_.inch)));
  }

  void makes(plan::Operation& op, const Clamping& c) {
    for (const std::string& m : c.makes) {
      if (c.kind != Kind::gang) {
        give(op.makes, m);
        continue;
      }
      plan::Feature e;
      const std::string id = fmt::format("E{}", prepared_.size() + 1);
      const std::string word = direction_words[static_cast<std::size_t>(c.up)];
      give(e.id, id);
      give(e.name, "prepared edge " + word);
      give(e.kind, "face");
      Vec3 at = side(c.up).at;
      coordinate(at, axis_of(c.up)) += (c.up % 2 == 0 ? 1 : -1) * edge_stock;
      give(e.at, {at}, scene_.inch);
      give(e.normal, word);
      give(e.size, {side(c.up).extent_u, side(c.up).extent_v}, scene_.inch);
      give(e.over, m);
      give(e.cast, "skin");
      d_.plan.features.push_back(std::move(e));
      prepared_[m] = id;
      give(op.makes, id);
    }
  }

  std::string words(const Clamping& c) const {
    const std::string up = direction_words[static_cast<std::size_t>(c.up)];
    switch (c.kind) {
      case Kind::grind:
        return fmt::format("grind the {}", c.up == 4 ? "top" : "bottom");
      case Kind::gang:
        return fmt::format("edge {}, several in series in a vise", up);
      case Kind::pallet:
        return fmt::format("everything with {} up, on pallets", up);
      case Kind::fixture:
        return fmt::format("{} up, on rests and {} under straps", up, c.pins.empty() ? "stops" : "pins");
      case Kind::carrier:
        return fmt::format("{} up, in a row under a carrier jaw", up);
      case Kind::angle:
        return fmt::format("{} up, strapped to an angle plate by {}{}", up, side(c.back).reference,
                           c.pins.empty() ? "" : ", on pins");
      default:
        return fmt::format("{} up in a vise", up);
    }
  }

  // ---- after machining
  // -----------------------------------------------------------------------------------------------

  void hone() {
    for (const plan::Feature& f : d_.plan.features) {
      if (!hole_like(f) || f.kind.value == "thread") continue;
      for (const plan::Requirement* r : requirements_on(d_.plan, f.id.value)) {
        const unit::Limits& l = r->limits.value;
        if (r->kind.value != "size" || !l.lower || !l.upper || *l.upper - *l.lower > hone_below) continue;
        if (answer(scene_, "take.route.hone") == "none") {
          d_.choices.push_back({"route",
                                "operation",
                                f.id.value + " bored to size alone",
                                "no hone was asked for; what comes out large or small is lost",
                                "answer",
                                {{"a hone takes what the boring tool leaves small", "no hone was asked for",
                                  "take.route.hone=as reckoned"}}});
          break;
        }
        plan::Operation op;
        give(op.id, fmt::format("OP{}", 10 * (++number_)));
        give(op.name, "hone the small ones of " + f.id.value);
        give(op.kind, "hone");
        for (const plan::Machine& m : scene_.shop.machines)
          if (m.kind.value == "hone") give(op.machine, m.id.value);
        give(op.time, unit::Kind::time, "1.5 min (1..2.5 min)");
        d_.assumed.push_back(fmt::format("operation.{}: 1.5 min a bore (1 to 2.5): from memory", op.id.value));
        d_.choices.push_back(
            {"route",
             "operation." + op.id.value,
             "a hone takes what the boring tool leaves small",
             fmt::format("limits {} wide are about what boring scatters over",
                         shown_length(*l.upper - *l.lower, scene_.inch)),
             r->id.value,
             {{"boring to size alone", "what comes out large cannot be mended", "take.route.hone=none"}}});
        d_.plan.operations.push_back(std::move(op));
        break;
      }
    }
  }

  void last_by_hand() {
    plan::Operation op;
    give(op.id, fmt::format("OP{}", 10 * (++number_)));
    give(op.name, "deburr, wash, oil, inspect, pack");
    give(op.kind, "deburr");
    give(op.time, unit::Kind::time, "1.3 min (0.8..2 min)");
    give(op.wait, unit::Kind::time, "15 min");
    count(op.parts, 24);
    d_.assumed.push_back(
        fmt::format("operation.{}: 1.3 min a part (0.8 to 2), baskets of 24: from memory", op.id.value));
    d_.choices.push_back({"route",
                          "operation." + op.id.value,
                          "deburr by hand, wash and oil at the end",
                          "bare machined iron rusts within hours, burrs stay on hidden edges",
                          "common practice",
                          {}});
    d_.plan.operations.push_back(std::move(op));
  }

  /// Why a vise stands where straps were asked for.
  std::string no_straps(const Clamping& c) const {
    const std::string up = direction_words[static_cast<std::size_t>(c.up)];
    if (scene_.sight == nullptr) return "; straps were asked for, and nobody looked where one may stand";
    std::vector<std::string> free;
    for (const InnerSide& f : scene_.sight->flats[static_cast<std::size_t>(c.up)])
      if (f.lean < 1e-6 && std::find(c.makes.begin(), c.makes.end(), f.feature) == c.makes.end() &&
          std::find(free.begin(), free.end(), f.feature) == free.end())
        free.push_back(f.feature);
    if (free.empty())
      return fmt::format("; straps were asked for, and find no room: every flat that looks {} is cut here", up);
    return fmt::format(
        "; straps were asked for and could press on {}: an order of clampings with a vise here weighs "
        "less all the same",
        base::join(free, ", "));
  }

  void reasons() {
    for (std::size_t i = 0; i < route_.clampings.size(); ++i) {
      const Clamping& c = route_.clampings[i];
      const std::string& id = d_.plan.operations[i].id.value;
      std::string why;
      const int down = opposite(c.up);
      if (c.kind == Kind::grind) why = "a face ground flat is the best first datum, and the outer skin is gone";
      else if (c.kind == Kind::gang)
        why = "raw edges have draft and a parting ridge: squared edges let jaws sit flat afterwards";
      else if (c.kind == Kind::pallet)
        why = fmt::format("pins in {} and screws through {} leave the outside free: the rest is cut in one clamping",
                          base::join(route_.pins, " and "), base::join(route_.screws, ", "));
      else if (c.kind == Kind::angle)
        why = fmt::format("{} lies against the plate{}", side(c.back).reference,
                          c.raw_seat ? ", raw, once" : ", cut by an earlier operation");
      else if (c.kind == Kind::carrier)
        why = fmt::format(
            "{} and {} are cut, so parts of one size across lie side by side: one load and one change of "
            "tools for all",
            side(2 * c.jaws).reference, side(2 * c.jaws + 1).reference);
      else if (c.raw_seat)
        why = fmt::format("sits on the raw {} once; the next clamping sits on what is cut here", side(down).reference);
      else why = fmt::format("sits on {}, which an earlier operation has cut", side(down).reference);
      if (c.kind == Kind::vise && answer(scene_, "take.route.clamps") == "straps") why += no_straps(c);
      d_.choices.push_back({"route",
                            "operation." + id,
                            words(c) + ": " + base::join(c.makes, ", "),
                            why,
                            c.raw_seat ? "raw datum once" : "common practice",
                            {}});
    }
  }

  const Scene& scene_;
  const Route& route_;
  Draft d_;
  std::array<OuterSide, 6> sides_;
  std::array<std::string, 6> spots_;
  std::map<std::string, std::string> prepared_;  ///< side of the outside -> prepared edge
  std::set<std::string> made_;
  std::vector<std::string> others_;
  std::string pallet_machine_, vise_machine_;
  int number_ = 0;
};

// ---- what the whole route says --------------------------------------------------------------------------------

/// Features that lie along no axis and that nobody cuts here: said, with what would cut them.
void say_oblique(Draft& d) {
  std::map<std::string, std::vector<std::string>> ids;  // by what they are
  for (const plan::Feature& f : d.plan.features) {
    const bool word = f.name.value.find("oblique") != std::string::npos || f.id.value.rfind('O', 0) == 0;
    if (f.kind.value != "surface" || f.cast.known() || !word || !requirements_on(d.plan, f.id.value).empty()) continue;
    ids[f.name.known() ? f.name.value : "oblique"].push_back(f.id.value);
  }
  for (const auto& [name, which] : ids)
    d.disagree.push_back(fmt::format(
        "{} ({}) {} along none of the part's axes: this plan does not cut {}; on three axes it takes a "
        "clamping of its own, tilted, or stays as cast where that is possible: say which",
        base::join(which, ", "), name, which.size() == 1 ? "lies" : "lie", which.size() == 1 ? "it" : "them"));
}

/// Bores by the axis that they lie along, where that axis is the only way to them.
std::array<std::vector<std::string>, 3> bores_by_axis(const Scene& scene, const plan::Plan& p) {
  std::array<std::vector<std::string>, 3> out;
  for (const plan::Feature& f : p.features) {
    if (!hole_like(f) || !machined(f)) continue;
    const auto from = access(scene, p, f);
    if (!from.empty() && std::all_of(from.begin(), from.end(), [&](int d) { return axis_of(d) == axis_of(from[0]); }))
      out[static_cast<std::size_t>(axis_of(from[0]))].push_back(f.id.value);
  }
  return out;
}

void say_axes(const Scene& scene, Draft& d) {
  const auto by = bores_by_axis(scene, d.plan);
  std::vector<std::string> words;
  for (std::size_t a = 0; a < 3; ++a)
    if (!by[a].empty())
      words.push_back(fmt::format("{} along {}", base::join(by[a], ", "), a == 0 ? "X" : a == 1 ? "Y" : "Z"));
  if (words.size() < 2) return;
  d.choices.push_back({"route",
                       "operation",
                       fmt::format("a clamping for each axis that bores lie along: {}", base::join(words, "; ")),
                       "a three-axis machine bores along its spindle alone: no one clamping reaches them all",
                       "common practice",
                       {{"all of them in one clamping",
                         "it takes a fourth axis or a horizontal machine with a table "
                         "that turns",
                         "", "no machine of the shop file turns the part"}}});
  for (const plan::Requirement& r : d.plan.requirements) {
    const std::string a = plan::parse_reference(r.feature.value).id,
                      b = r.to.known() ? plan::parse_reference(r.to.value).id : "";
    const auto axis = [&](const std::string& id) {
      for (std::size_t k = 0; k < 3; ++k)
        if (std::find(by[k].begin(), by[k].end(), id) != by[k].end()) return static_cast<int>(k);
      return -1;
    };
    if (axis(a) >= 0 && axis(b) >= 0 && axis(a) != axis(b))
      d.disagree.push_back(
          fmt::format("{}: {} and {} lie along different axes and are cut in two clampings; what the "
                      "second one repeats adds to it",
                      r.id.value, a, b));
  }
}

/// Holes that the drawing has not, for pins and screws of a pallet, where no holes of the part suit.
class MadeHoles {
 public:
  MadeHoles(const Scene& scene, Draft d)
      : scene_(scene),
        d_(std::move(d)),
        sides_(outer_sides(scene, d_.plan)),
        outline_(outline_from_above(*scene.part)) {}

  /// Nothing when there is no room for them.
  std::optional<Draft> make(bool force_pins) {
    if (sides_[5].reference.empty() || answer(scene_, "pin_holes").find('@') != std::string::npos) return std::nullopt;
    const auto may = pin_holes(scene_, d_.plan, 5);
    const bool pins =
        force_pins || std::count_if(may.begin(), may.end(), [](const PinHole& h) { return h.no.empty(); }) < 2;
    if (pins && !two("N1", scene_.inch ? 0.3125 * 0.0254 : 8e-3, false)) return std::nullopt;
    if (!lugs_asked(scene_) && !screws_there() && !two("N2", scene_.inch ? 0.354 * 0.0254 : 9e-3, true))
      return std::nullopt;
    return std::move(d_);
  }

 private:
  bool screws_there() const {
    return std::any_of(d_.plan.features.begin(), d_.plan.features.end(), [&](const plan::Feature& f) {
      const double d = diameter_of(f);
      return hole_like(f) && f.kind.value != "thread" && d >= 5.4e-3 && d <= 27e-3 && through(scene_, f) &&
             f.at.value.size() >= 2 && f.normal.value[1] == 'z' && f.id.value != "N1";
    });
  }
  bool free(double x, double y, double r) const {
    const OuterSide& s = sides_[5];
    const double margin = r + 2e-3 + 0.5 * r;
    if (!inside(outline_, {x, y}, margin)) return false;
    const plan::Feature* face = plan::find_feature(d_.plan, s.feature);
    if (face != nullptr && nominal_of(face->diameter) > 0 &&
        std::hypot(x - s.at.x, y - s.at.y) > 0.5 * nominal_of(face->diameter) - margin)
      return false;
    return std::all_of(d_.plan.features.begin(), d_.plan.features.end(), [&](const plan::Feature& f) {
      const std::string& k = f.kind.value;
      if (k == "profile" || k == "face" || k == "boss" || k == "surface" || k == "datum") return true;
      const double R = std::max(0.5 * diameter_of(f), 0.5 * std::hypot(nominal_of(f.width), nominal_of(f.length)));
      return std::all_of(f.at.value.begin(), f.at.value.end(),
                         [&](const Vec3& at) { return std::hypot(x - at.x, y - at.y) >= R + margin; });
    });
  }
  /// Height of the metal that stands on the bottom at this place, the same all round within `r` and with nothing over
  /// it; -infinity where there is none such. Without a mesh the part is taken as a block.
  double metal(double x, double y, double r) const {
    const solid::Mesh& mesh = scene_.part->mesh;
    const Vec3 lo = scene_.part->box.lo, hi = scene_.part->box.hi;
    if (mesh.triangles.empty()) return hi.z;
    double least = std::numeric_limits<double>::infinity(), most = -std::numeric_limits<double>::infinity();
    for (const auto& [du, dv] : {std::pair{0.0, 0.0}, {r, 0.0}, {-r, 0.0}, {0.0, r}, {0.0, -r}}) {
      const std::vector<double> z = metal_along_z(mesh, x + du, y + dv);
      if (z.size() != 2 || z[0] > lo.z + 1e-4) return -std::numeric_limits<double>::infinity();
      least = std::min(least, z[1]), most = std::max(most, z[1]);
    }
    return most - least < 0.5e-3 ? least : -std::numeric_limits<double>::infinity();
  }
  bool two(const char* id, double diameter, bool through) {
    const Vec3 lo = scene_.part->box.lo, hi = scene_.part->box.hi;
    const double r = 0.5 * diameter, edge = 2.5 * r + 2e-3;
    std::vector<Vec3> spots;
    for (int i = 0; i <= 24; ++i)
      for (int j = 0; j <= 24; ++j) {
        const double x = 1e-3 * std::round(1e3 * (lo.x + edge + (hi.x - lo.x - 2 * edge) * i / 24)),
                     y = 1e-3 * std::round(1e3 * (lo.y + edge + (hi.y - lo.y - 2 * edge) * j / 24));
        if (!free(x, y, r)) continue;
        const double top = metal(x, y, through ? diameter : r);
        const double asked = through ? 6e-3 : std::min(12e-3, 0.5 * (hi.z - lo.z)) + 3e-3;
        if (top - lo.z >= std::min(asked, hi.z - lo.z)) spots.push_back({x, y, top});
      }
    double far = 0;
    std::array<Vec3, 2> best{};
    for (std::size_t i = 0; i < spots.size(); ++i)
      for (std::size_t j = i + 1; j < spots.size(); ++j)
        if (const double s = std::hypot(spots[i].x - spots[j].x, spots[i].y - spots[j].y); s > far + 1e-9)
          far = s, best = {spots[i], spots[j]};
    if (far < 0.3 * std::hypot(hi.x - lo.x, hi.y - lo.y)) return false;
    plan::Feature f;
    give(f.id, id);
    give(f.name, through ? made_for_screws : made_for_pins);
    give(f.kind, "hole");
    const double top = std::max(best[0].z, best[1].z);
    for (Vec3& p : best) p.z = lo.z;
    give(f.at, {best[0], best[1]}, scene_.inch);
    give(f.normal, "-z");
    const double wide = scene_.inch ? diameter / 0.0254 : diameter * 1e3;
    const char* unit = scene_.inch ? "in" : "mm";
    give(f.diameter, through ? fmt::format("Ø{} {}", base::shortest(std::round(wide * 1e4) / 1e4), unit)
                             : fmt::format("Ø{}..{} {}", base::fixed(wide, 4),
                                           base::fixed(wide + (scene_.inch ? 0.0006 : 0.015), 4), unit));
    give_length(f.from, lo.z, scene_.inch);
    const double depth = through ? top - lo.z : std::min(12e-3, 0.5 * (hi.z - lo.z));
    give_length(f.to, lo.z + depth, scene_.inch);
    give(f.cast, "solid");
    d_.choices.push_back(
        {"seat",
         fmt::format("feature.{}", id),
         fmt::format("two holes Ø{} made for {}, at {} and {}", length_text(diameter, scene_.inch),
                     through ? "screws" : "pins", point_text(best[0], scene_.inch), point_text(best[1], scene_.inch)),
         "no holes of the part suit, and these lie as far apart as the bottom has room",
         "common practice",
         {{lug_words, "the foundry's pattern and one more cut", "",
           "the pins stay in the part itself: what they stand in is not cut off", through},
          {"vises alone", "the outside is then not cut in one clamping with the rest", "",
           "no vise leaves the whole outside free"}}});
    d_.disagree.push_back(
        fmt::format("feature.{}: the drawing has no such holes: ask the customer before the first is "
                    "drilled, and the foundry when lugs shall carry them",
                    id));
    d_.plan.features.push_back(std::move(f));
    return true;
  }

  const Scene& scene_;
  Draft d_;
  std::array<OuterSide, 6> sides_;
  maths::Polygon outline_;
};

/// The runner-up with a row under a carrier jaw: what it weighs, or why there is none. Nothing where the shop has no
/// such jaw.
std::optional<Alternative> carrier_runner_up(const Scene& scene, const Draft& draft, double& weight) {
  const CarrierSet set = carrier_set(scene.shop);
  if (!set.named) return std::nullopt;
  Alternative out{"several side by side under a carrier jaw", set.why_not, "", "the jaw cannot be used so"};
  if (!set.why_not.empty()) return out;
  Scene with = scene;
  with.answers["take.route.clamps"] = "carrier";
  const RouteSearch found = search_routes(with, draft.plan, 1, !draft.unmet.empty());
  if (found.best.empty()) {
    out.why_not = found.clashes.empty() ? "no order of clampings has room for it" : found.clashes.front().words;
    return out;
  }
  out.words = Writer(with, found.best.front(), draft).name();
  weight = found.best.front().cost;
  out.take = "take.route.clamps=carrier", out.no_answer.clear();
  return out;
}

/// The route that somebody asked for by its number; 0: none.
std::size_t asked_route(const Scene& scene) {
  const std::string a = answer(scene, "take.route");
  return a.size() == 1 && a[0] >= '1' && a[0] <= '9' ? static_cast<std::size_t>(a[0] - '0') : 0;
}

std::vector<Draft> plain_routes(const Scene& scene, const Draft& ordered, int most) {
  const std::size_t asked = asked_route(scene);
  const bool strapped = answer(scene, "take.route.clamps") == "straps";
  const bool carried = answer(scene, "take.route.clamps") == "carrier";
  Draft draft = ordered;
  if (const CarrierSet set = carrier_set(scene.shop); carried && !set.why_not.empty())
    draft.clashes.push_back({{"take.route.clamps = carrier"}, set.why_not});
  if (!draft.clashes.empty()) return {std::move(draft)};
  const Route none;
  if (scene.part != nullptr) draft.clashes = Writer(scene, none, draft).off_machines();
  if (!draft.clashes.empty()) return {std::move(draft)};
  RouteSearch found = search_routes(scene, draft.plan, std::max(most, static_cast<int>(asked)));
  const bool profile = std::any_of(draft.plan.features.begin(), draft.plan.features.end(), [](const plan::Feature& f) {
    return machined(f) && (f.kind.value == "profile" || f.kind.value == "boss");
  });
  for (const bool force_pins : {false, true}) {
    if (!found.best.empty() || !profile) break;
    auto with = MadeHoles(scene, ordered).make(force_pins);
    if (!with) continue;
    RouteSearch again = search_routes(scene, with->plan, std::max(most, static_cast<int>(asked)));
    if (!again.best.empty()) found = std::move(again), draft = std::move(*with);
  }
  if (found.best.empty()) {
    RouteSearch part = search_routes(scene, ordered.plan, std::max(most, static_cast<int>(asked)), true);
    if (!part.best.empty()) found = std::move(part), draft = ordered;
    for (const bool force_pins : {false, true}) {
      if (!found.best.empty() || !profile) break;
      auto with = MadeHoles(scene, ordered).make(force_pins);
      if (!with) continue;
      part = search_routes(scene, with->plan, std::max(most, static_cast<int>(asked)), true);
      if (!part.best.empty()) found = std::move(part), draft = std::move(*with);
    }
    draft.unmet = found.left_out;
  }
  std::vector<Draft> out;
  say_oblique(draft);
  if (found.best.empty()) {
    out.push_back(std::move(draft));
    out.back().clashes = found.clashes;
    return out;
  }
  if (asked > found.best.size()) {
    draft.clashes.push_back({{fmt::format("take.route = {}", asked)},
                             fmt::format("only {} routes differ in their clampings", found.best.size())});
    return {std::move(draft)};
  }
  say_axes(scene, draft);
  std::optional<Alternative> row;
  double row_weight = 0;
  if (!strapped && !carried) row = carrier_runner_up(scene, draft, row_weight);
  for (const Route& r : found.best) out.push_back(Writer(scene, r, draft).write());
  for (std::size_t i = 0; i < out.size(); ++i) {
    Choice c{"route",
             "operation",
             out[i].name,
             fmt::format("the {} of {} orders of clampings that make everything{}", i == 0 ? "least weight" : "next",
                         found.looked_at, asked == i + 1 ? "; taken as asked" : ""),
             asked == i + 1 ? "answer" : "common practice",
             {}};
    for (std::size_t j = 0; j < out.size(); ++j)
      if (j != i)
        c.others.push_back(
            {out[j].name, fmt::format("weight {:.2f} against {:.2f} clampings", found.best[j].cost, found.best[i].cost),
             fmt::format("take.route={}", j + 1)});
    const bool vises = std::any_of(found.best[i].clampings.begin(), found.best[i].clampings.end(),
                                   [](const Clamping& k) { return k.kind == Kind::vise; });
    if (row && !row->take.empty())
      row->why_not = fmt::format("weight {:.2f} against {:.2f} clampings", row_weight, found.best[i].cost);
    if (row) c.others.push_back(*row);
    if (carried)
      c.others.push_back(
          {"one part a vise", "several at once under one jaw were asked for", "take.route.clamps=as reckoned"});
    else if (strapped)
      c.others.push_back({"vises where two sides face each other", "jaws close at once; straps were asked for",
                          "take.route.clamps=as reckoned"});
    else if (vises && scene.sight != nullptr)
      c.others.push_back({"straps instead of vises", "set one by one, and each stands where nothing can be cut",
                          "take.route.clamps=straps"});
    out[i].choices.insert(out[i].choices.begin() + static_cast<std::ptrdiff_t>(draft.choices.size()), std::move(c));
  }
  if (asked > 0) return {std::move(out[asked - 1])};
  return out;
}

/// These routes with the pallet's screws in lugs, those that take them; where none does, one with its reason.
std::vector<Draft> in_lugs(const Scene& scene, std::vector<Draft> all, std::size_t most) {
  std::vector<Draft> out, refused;
  for (Draft& d : all) {
    if (d.clashes.empty()) cast_lugs(scene, d);
    if (!d.clashes.empty()) refused.push_back(std::move(d));
    else if (out.size() < most) out.push_back(std::move(d));
  }
  if (!out.empty() || refused.empty()) return out;
  const auto on_pallet =
      std::find_if(refused.begin(), refused.end(), [](const Draft& d) { return !d.pallet_operation.empty(); });
  return {std::move(on_pallet != refused.end() ? *on_pallet : refused.front())};
}

}  // namespace

std::vector<double> metal_along_z(const solid::Mesh& mesh, double x, double y) {
  std::vector<double> out;
  for (const std::array<int, 3>& t : mesh.triangles) {
    const Vec3 a = mesh.points[static_cast<std::size_t>(t[0])], b = mesh.points[static_cast<std::size_t>(t[1])],
               c = mesh.points[static_cast<std::size_t>(t[2])];
    if (x < std::min({a.x, b.x, c.x}) || x > std::max({a.x, b.x, c.x}) || y < std::min({a.y, b.y, c.y}) ||
        y > std::max({a.y, b.y, c.y}))
      continue;
    const double det = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
    if (std::fabs(det) < 1e-16) continue;
    const double u = ((x - a.x) * (c.y - a.y) - (c.x - a.x) * (y - a.y)) / det,
                 v = ((b.x - a.x) * (y - a.y) - (x - a.x) * (b.y - a.y)) / det;
    if (u >= -1e-9 && v >= -1e-9 && u + v <= 1 + 1e-9) out.push_back(a.z + u * (b.z - a.z) + v * (c.z - a.z));
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end(), [](double p, double q) { return q - p < 1e-6; }), out.end());
  return out;
}

std::vector<Draft> routes(const Scene& scene, const Draft& ordered, int most) {
  constexpr int more = 3;  // routes without a pallet drop out
  const auto wanted = static_cast<std::size_t>(std::max(most, 1));
  if (lugs_asked(scene)) return in_lugs(scene, plain_routes(scene, ordered, most + more), wanted);
  std::vector<Draft> out = plain_routes(scene, ordered, most);
  const bool screws = std::any_of(out.begin(), out.end(), [](const Draft& d) {
    return std::any_of(d.clashes.begin(), d.clashes.end(), [](const Clash& c) { return c.no_screws; });
  });
  if (!screws) return out;
  // Nothing of the part carries a screw: lugs do, where they find room.
  Scene with = scene;
  with.answers["take.seat.screws"] = "lugs";
  std::vector<Draft> lugs = in_lugs(scene, plain_routes(with, ordered, most + more), wanted);
  if (lugs.empty()) return out;
  if (lugs.front().clashes.empty()) return lugs;
  out.front().clashes.insert(out.front().clashes.end(), lugs.front().clashes.begin(), lugs.front().clashes.end());
  return out;
}

}  // namespace fettle::begin
