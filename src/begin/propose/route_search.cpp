// All sequences of clampings that make every feature, by cost.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <unordered_map>
#include <utility>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/features.h"
#include "begin/propose/carrier.h"
#include "begin/propose/facts.h"
#include "begin/propose/lugs.h"
#include "begin/propose/route.h"
#include "plan/read.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

// What weighs how much, in clampings by hand. Common practice in numbers from memory: a clamping in a vise is one.
constexpr double weight_vise = 1.0;
constexpr double weight_gang = 0.6;         ///< many at once
constexpr double weight_grind = 0.8;        ///< bought in, and a lot that waits
constexpr double weight_pallet = 0.7;       ///< loaded beside the machine
constexpr double weight_carrier = 0.6;      ///< several at once, one load of tools for all
constexpr double weight_fixture = 1.3;      ///< straps set one by one
constexpr double weight_angle = 1.5;        ///< and the part stood up against a plate
constexpr double weight_inner = 0.2;        ///< jaws, or a seat, on a ledge or a rough side that leans
constexpr double weight_raw_jaws = 0.5;     ///< jaws on skin with draft and a parting ridge
constexpr double weight_late = 0.15;        ///< a close size that heavy cuts follow
constexpr double weight_skin_after = 0.5;   ///< and skin that comes off after it
constexpr double weight_short_sides = 0.1;  ///< jaws on the short sides of the part
constexpr double weight_flat = 0.6;         ///< a close flatness that a vise shall give
constexpr double close_flatness = 0.03e-3;
constexpr double weight_many_ups = 0.1;   ///< every other way up
constexpr double weight_unwanted = 3;     ///< a vise where somebody asked for straps
constexpr double weight_raw_again = 1.5;  ///< a rough side that locates once more, cut later or never
constexpr double weight_raw_only = 1.5;   ///< a later clamping that nothing cut locates
constexpr double weight_no_stop = 3;      ///< a vise along whose jaws nothing says where the part lies
constexpr double weight_no_vise = 3;      ///< no vise of the shop file opens so far
/// What one clamping leaves between features of two clampings, m. From memory: dirt, repeat, zero.
constexpr double between_clampings = 0.03;
constexpr std::size_t deepest = 6;
constexpr std::size_t most_nodes = 40000;

/// Along the two other axes, in the order x, y, z.
std::array<double, 2> across(const Vec3& p, int axis) {
  return {coordinate(p, axis == 0 ? 1 : 0), coordinate(p, axis == 2 ? 1 : 2)};
}
double apart_across(const Vec3& p, const Vec3& q, int axis) {
  const auto a = across(p, axis), b = across(q, axis);
  return std::hypot(a[0] - b[0], a[1] - b[1]);
}

bool has(const std::vector<std::string>& v, const std::string& s) {
  return std::find(v.begin(), v.end(), s) != v.end();
}

/// Two features that the drawing ties together, and how closely.
struct Tie {
  std::string a, b;
  double zone = 0;
  std::string requirement;
  int ix_a = -1, ix_b = -1;
};

std::string feature_of_datum(const plan::Plan& p, const std::string& letter) {
  for (const plan::Feature& f : p.features)
    for (const std::string& w : base::split(f.datum.value, ' '))
      if (w == letter) return f.id.value;
  return "";
}

std::vector<Tie> ties_of(const plan::Plan& p) {
  std::vector<Tie> out;
  for (const plan::Requirement& r : p.requirements) {
    const unit::Limits& l = r.limits.value;
    if (!l.upper) continue;
    const double zone = l.lower ? *l.upper - *l.lower : *l.upper;
    const std::string a = plan::parse_reference(r.feature.value).id;
    const auto tie = [&](const std::string& b) {
      if (!b.empty() && b != a && zone > 0) out.push_back({a, b, zone, r.id.value, -1, -1});
    };
    if (r.to.known()) tie(plan::parse_reference(r.to.value).id);
    for (const std::string& d : r.datums.value) tie(feature_of_datum(p, d));
  }
  return out;
}

struct Target {
  std::string id;
  int ix = -1;  ///< its number among all names that a clamping may make
  std::vector<int> access;
  bool profile = false, places = false;  ///< places: where it lies across its axis matters
  bool critical = false;                 ///< a requirement on it was called so
  bool skin = false;                     ///< cast skin comes off where it is cut
  double zone = 0;                       ///< the closest that the drawing asks
};

/// What has been made, by number of its name.
using Made = std::vector<char>;

/// A clamping while it is searched for: what it makes by number. Tens of thousands are tried.
struct Step {
  Clamping::Kind kind = Clamping::Kind::vise;
  int up = 4, jaws = -1, back = -1;
  std::vector<int> makes;
  bool raw_seat = false;
  std::array<bool, 3> raw{};
  int pins = -1;  ///< which of the search's pairs of pins locates a fixture; -1: stops do
  /// Along each axis the side that says where the part lies, `both` for the middle of two, `nothing` where pins do or
  /// where nothing made there minds; and whether no earlier clamping has cut it.
  std::array<int, 3> by{nothing, nothing, nothing};
  std::array<bool, 3> rough{};
  static constexpr int nothing = -1, both = 6;
};

bool has(const std::vector<int>& v, int x) { return std::find(v.begin(), v.end(), x) != v.end(); }

class Search {
 public:
  Search(const Scene& scene, const plan::Plan& p)
      : scene_(scene), plan_(p), sides_(outer_sides(scene, p)), stops_(stop_sides(scene, p)), ties_(ties_of(p)) {
    for (const plan::Feature& f : p.features) {
      if (!machined(f)) continue;
      Target t;
      t.id = f.id.value, t.ix = number(f.id.value), t.access = access(scene, p, f);
      t.profile = f.kind.value == "profile" || f.kind.value == "boss", t.zone = closest(p, f.id.value);
      t.places = f.kind.value != "face", t.skin = f.cast.value == "skin";
      for (const plan::Requirement* r : requirements_on(p, f.id.value))
        if (r->critical.known() && r->critical.value) t.critical = true;
      targets_.push_back(std::move(t));
    }
    grinding_ = answer(scene, "grinding") == "yes";
    for (const plan::Thing& t : scene.shop.things)
      if (t.kind.value == "vise" && t.size.value.size() == 3) opens_ = std::max(opens_, t.size.value[2]);
    straps_ = answer(scene, "take.route.clamps") == "straps";
    carried_ = answer(scene, "take.route.clamps") == "carrier";
    if (carried_) carrier_set_ = carrier_set(scene.shop);
    lugs_ = lugs_asked(scene);
    for (int d = 0; d < 6; ++d) pin_holes_[static_cast<std::size_t>(d)] = pin_holes(scene, p, d);
    for (std::size_t d = 0; d < 6; ++d) {
      side_reference_[d] = number(stops_[d].reference), side_feature_[d] = number(stops_[d].feature);
      if (scene.sight != nullptr)
        for (const InnerSide& f : scene.sight->flats[d]) flat_[d].push_back(number(f.feature));
    }
    for (Tie& t : ties_) t.ix_a = number(t.a), t.ix_b = number(t.b);
    for (const plan::Feature& f : p.features)
      if (hole_like(f)) holes_.emplace_back(&f, number(f.id.value));
    flat_closely_.resize(names_.size());
    for (std::size_t i = 0; i < names_.size(); ++i)
      flat_closely_[i] = static_cast<char>(grinding_ && has_close_flatness(names_[i]));
  }

  /// Drops what no seat lets be reached; says what, direction by direction. Empty: nothing, or nothing would be left.
  std::vector<Clash> leave_out() {
    std::vector<Clash> out;
    const auto no_seat = [&](const Target& t) {
      return std::all_of(t.access.begin(), t.access.end(), [&](int d) { return side(opposite(d)).reference.empty(); });
    };
    if (std::all_of(targets_.begin(), targets_.end(), no_seat)) return out;
    std::map<std::string, std::vector<std::string>> from;
    for (const Target& t : targets_) {
      if (!no_seat(t)) continue;
      std::vector<std::string> words;
      for (const int d : t.access) words.emplace_back(direction_words[static_cast<std::size_t>(d)]);
      from[base::join(words, " or ")].push_back(t.id);
    }
    std::erase_if(targets_, no_seat);
    for (const auto& [words, ids] : from)
      out.push_back({{base::join(ids, ", ") + " made here", "the part sits on a flat of its own"},
                     words.empty()
                         ? base::join(ids, ", ") + " lie along none of the part's axes: made in no operation here"
                         : fmt::format("{} reached only with {} up, and the part has no flat to sit on there: made in "
                                       "no operation here; an angle plate or a fixture of its own holds it",
                                       base::join(ids, ", "), words)});
    return out;
  }

  RouteSearch run(int most) {
    RouteSearch out;
    for (const Target& t : targets_)
      if (t.access.empty())
        out.clashes.push_back({{t.id + " is cut", "three axes along the part's own"},
                               fmt::format("{} lies along none of the part's axes: no clamping of a three-axis machine "
                                           "with the part square to it reaches it",
                                           t.id)});
    if (!out.clashes.empty()) return out;
    // Short routes first; one clamping more than the shortest is looked at too, since it may hold what must agree.
    std::size_t found = 0;
    // Under a carrier jaw come a seat, two edges and the row at least.
    for (std::size_t deep = carried_ ? 4 : 1; deep <= deepest && (found == 0 || deep <= found + 2); ++deep) {
      std::vector<Step> so_far;
      deep_ = deep;
      visits_.clear();
      go(so_far, Made(names_.size()), {}, out);
      if (found == 0 && !out.best.empty()) found = deep;
    }
    std::stable_sort(out.best.begin(), out.best.end(), [](const Route& a, const Route& b) { return a.cost < b.cost; });
    std::vector<Route> distinct;
    std::set<std::array<int, kinds>> seen;
    for (Route& r : out.best)
      if (static_cast<int>(distinct.size()) < most && seen.insert(shape_of(r.clampings)).second)
        distinct.push_back(std::move(r));
    out.best = std::move(distinct);
    if (out.best.empty()) out.clashes = carried_ ? why_no_carrier() : why_none();
    return out;
  }

 private:
  static constexpr std::size_t kinds = 8;
  /// Routes of one shape differ in order only: how many clampings of each kind.
  template <class Clampings>
  static std::array<int, kinds> shape_of(const Clampings& all) {
    std::array<int, kinds> n{};
    for (const auto& c : all) ++n[static_cast<std::size_t>(c.kind)];
    return n;
  }

  /// The number of a name, a new one for a new name; -1: no name.
  int number(const std::string& name) {
    if (name.empty()) return -1;
    const auto [it, fresh] = numbers_.emplace(name, static_cast<int>(names_.size()));
    if (fresh) names_.push_back(name);
    return it->second;
  }
  static bool in(const Made& made, int ix) { return ix >= 0 && made[static_cast<std::size_t>(ix)] != 0; }
  bool is_made(const Made& made, int d) const {
    return in(made, side_reference_[static_cast<std::size_t>(d)]) ||
           in(made, side_feature_[static_cast<std::size_t>(d)]);
  }
  const OuterSide& side(int d) const { return sides_[static_cast<std::size_t>(d)]; }
  const OuterSide& stop(int d) const { return stops_[static_cast<std::size_t>(d)]; }

  /// Unmade features that this clamping can reach.
  std::vector<int> reachable(const Made& made, int up, bool profiles, const std::vector<int>& blocked) const {
    std::vector<int> out;
    for (const Target& t : targets_)
      if (!in(made, t.ix) && has(t.access, up) && (!t.profile || profiles) && !has(blocked, t.ix)) out.push_back(t.ix);
    return out;
  }

  /// Pins and screws with what is made, worked out once for the same holes.
  struct Held {
    std::vector<std::string> pins, screws;
  };
  /// `flush`: only holes whose mouths lie in the side they open on, where a pin of a few millimetres reaches them.
  const Held& held(const Made& made, int down, bool flush = false) {
    std::string key(1, static_cast<char>(down + (flush ? 8 : 0)));
    for (const auto& [f, ix] : holes_) key += in(made, ix) ? '1' : '0';
    const auto it = held_.find(key);
    if (it != held_.end()) return it->second;
    Held h;
    h.pins = pins(made, down, flush);
    h.screws = screws(made, h.pins);
    return held_.emplace(std::move(key), std::move(h)).first->second;
  }
  bool made_named(const Made& made, const std::string& name) const {
    const auto it = numbers_.find(name);
    return it != numbers_.end() && in(made, it->second);
  }

  /// Holes of one feature (a pattern) or two features that open downwards and may carry pins.
  std::vector<std::string> pins(const Made& made, int down, bool flush = false) const {
    const std::vector<std::string> said = two_holes(answer(scene_, "take.seat.holes"));
    const std::string wish = answer(scene_, "pin_holes");
    std::vector<PinHole> holes;
    for (const PinHole& h : pin_holes_[static_cast<std::size_t>(down)]) {
      const std::string id = plan::parse_reference(h.reference).id;
      if (!h.no.empty() || !made_named(made, id) || (flush && !flush_with(id, down))) continue;
      if (said.empty() ? !wish.empty() && !named(wish, id) : !has(said, h.reference)) continue;
      holes.push_back(h);
    }
    const double reach = apart_across(scene_.part->box.hi, scene_.part->box.lo, axis_of(down));
    double best = 0;
    std::vector<std::string> out;
    for (std::size_t i = 0; i < holes.size(); ++i)
      for (std::size_t j = i + 1; j < holes.size(); ++j) {
        const double span = apart_across(holes[i].at, holes[j].at, axis_of(down));
        if (span < 0.3 * reach && said.empty()) continue;
        // Holes that the drawing holds close anyway first, then the longer span; pins that are bought before made ones.
        const double close = (holes[i].zone < 0.04e-3 ? 1 : 0) + (holes[j].zone < 0.04e-3 ? 1 : 0);
        const double stock = (holes[i].stock ? 0.1 : 0) + (holes[j].stock ? 0.1 : 0);
        // Screws need holes too: a pair that takes the last of them stands behind any other.
        const double left = screws(made, {holes[i].reference, holes[j].reference}).empty() ? 0 : 5;
        const double score = close + span / reach + stock + left;
        if (score > best + 1e-9) best = score, out = {holes[i].reference, holes[j].reference};
      }
    return out;
  }
  bool flush_with(const std::string& id, int d) const {
    constexpr double near = 2e-3;  // m
    const plan::Feature* f = plan::find_feature(plan_, id);
    if (f == nullptr || !f->from.known() || !f->to.known()) return false;
    const double mouth = d % 2 == 0 ? std::max(f->from.si, f->to.si) : std::min(f->from.si, f->to.si);
    return std::fabs(mouth - coordinate(side(d).at, axis_of(d))) < near;
  }
  static bool named(const std::string& list, const std::string& id) {
    for (const std::string& s : base::split(list, ','))
      if (plan::parse_reference(base::trim(s)).id == id) return true;
    return false;
  }
  /// Through holes for the pallet's screws, other than the pins'.
  std::vector<std::string> screws(const Made& made, const std::vector<std::string>& pins) const {
    std::vector<std::string> out;
    if (lugs_) return {lug_holes};
    for (const auto& [it, ix] : holes_) {
      const plan::Feature& f = *it;
      if (!in(made, ix) || f.kind.value == "thread" || f.kind.value == "counterbore") continue;
      const double d = diameter_of(f);
      if (!(d >= 5.4e-3 && d <= 27e-3) || !through(scene_, f) || f.at.value.size() < 2) continue;
      if (f.normal.value[1] != 'z') continue;
      const bool pin = std::any_of(pins.begin(), pins.end(),
                                   [&](const std::string& s) { return plan::parse_reference(s).id == f.id.value; });
      if (!pin) out.push_back(f.id.value);
    }
    return out;
  }

  struct Raw {
    std::array<bool, 3> used{};
  };

  /// At least so many clampings more: one for every direction that is the only one for something unmade.
  std::size_t least_more(const Made& made) const {
    std::array<bool, 6> ups{};
    for (const Target& t : targets_)
      if (t.access.size() == 1 && !in(made, t.ix)) ups[static_cast<std::size_t>(t.access[0])] = true;
    return std::max<std::size_t>(static_cast<std::size_t>(std::count(ups.begin(), ups.end(), true)), 1);
  }
  std::string state(const std::vector<Step>& so_far, const Made& made, const Raw& raw) const {
    std::string used(kinds * 6, '0');  // by kind and way up
    for (const Step& c : so_far) used[6 * static_cast<std::size_t>(c.kind) + static_cast<std::size_t>(c.up)] = '1';
    std::string key(1, static_cast<char>('0' + so_far.size()));
    for (const bool r : raw.used) key += r ? '1' : '0';
    std::array<int, 6> uses{};
    for (const Step& c : so_far) count_rough(c, uses);
    for (const int n : uses) key += static_cast<char>('0' + std::min(n, 2));
    key += used;
    for (const Target& t : targets_) key += in(made, t.ix) ? '1' : '0';
    for (int d = 0; d < 4; ++d) key += is_made(made, d) ? '1' : '0';
    return key;
  }

  void go(std::vector<Step>& so_far, const Made& made, const Raw& raw, RouteSearch& out) {
    const bool all = std::all_of(targets_.begin(), targets_.end(), [&](const Target& t) { return in(made, t.ix); });
    if (all) {
      finish(so_far, out);
      return;
    }
    if (so_far.size() + least_more(made) > deep_ || ++nodes_ > most_nodes) return;
    if (++visits_[state(so_far, made, raw)] > 2) return;
    for (const Step& c : next(so_far, made)) {
      Raw after = raw;
      bool twice = false;
      for (std::size_t a = 0; a < 3; ++a)
        if (c.raw[a]) {
          twice = twice || after.used[a];
          after.used[a] = true;
        }
      if (twice) continue;
      Made then = made;
      for (const int ix : c.makes) then[static_cast<std::size_t>(ix)] = 1;
      so_far.push_back(c);
      go(so_far, then, after, out);
      so_far.pop_back();
    }
  }

  /// Axes for jaws, the narrow ways of the part first: of equal states only the first few are followed.
  std::array<int, 3> narrow_first() const {
    const Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    std::array<int, 3> out{0, 1, 2};
    std::stable_sort(out.begin(), out.end(),
                     [&](int a, int b) { return coordinate(box, a) < coordinate(box, b) - 1e-9; });
    return out;
  }

  std::vector<Step> next(const std::vector<Step>& so_far, const Made& made) {
    std::vector<Step> out;
    using Kind = Clamping::Kind;
    const auto used = [&](Kind k, int up) {
      return std::any_of(so_far.begin(), so_far.end(), [&](const Step& c) { return c.kind == k && c.up == up; });
    };
    for (int up = 0; up < 6; ++up) {
      const int down = opposite(up);
      if (side(down).reference.empty()) continue;
      const bool seat_made = is_made(made, down);
      if (grinding_ && axis_of(up) == 2 && !used(Kind::grind, up)) grind(out, made, up);
      if (straps_ || !gripped_outside(up)) {
        if (!used(Kind::fixture, up)) strapped(out, made, up, -1);
        if (!used(Kind::angle, up) && !gripped_outside(up))
          if (const int back = back_of(made, up); back >= 0) strapped(out, made, up, back);
      }
      if (!used(Kind::fixture, up)) pinned(out, made, up, -1);
      if (!used(Kind::angle, up))
        if (const int back = back_of(made, up); back >= 0) pinned(out, made, up, back);
      if (!used(Kind::vise, up))
        for (const int jaws : narrow_first())
          for (const bool faces_only : {false, true})
            if (jaws != axis_of(up)) vise(out, made, up, jaws, seat_made, faces_only);
      if (carried_ && seat_made && !used(Kind::carrier, up))
        for (const int jaws : narrow_first())
          if (jaws != axis_of(up)) carrier(out, made, up, jaws);
      if (axis_of(up) != 2 && !used(Kind::gang, up)) gang(out, made, up, seat_made);
      if (axis_of(up) == 2 && seat_made && is_made(made, up) && !used(Kind::pallet, up)) {
        const Held& h = held(made, down);
        if (h.pins.size() == 2 && !h.screws.empty()) {
          Step c{Kind::pallet, up, -1, -1, reachable(made, up, true, {}), false, {}};
          if (!c.makes.empty()) out.push_back(std::move(c));
        }
      }
    }
    return out;
  }

  void grind(std::vector<Step>& out, const Made& made, int up) const {
    const OuterSide& face = side(up);
    if (!face.cut || is_made(made, up) || face.extent_u < 0.05 || face.extent_v < 0.05) return;
    const int feature = side_feature_[static_cast<std::size_t>(up)];
    Step c{Clamping::Kind::grind, up, -1, -1, {feature}, !is_made(made, opposite(up)), {}};
    c.raw[2] = c.raw_seat;
    locate(c, made, 2, opposite(up));
    out.push_back(std::move(c));
  }

  void vise(std::vector<Step>& out, const Made& made, int up, int jaws, bool seat_made, bool faces_only) const {
    const OuterSide &a = side(2 * jaws), &b = side(2 * jaws + 1);
    if (a.reference.empty() || b.reference.empty() || !face_each_other(a, b, jaws, up)) return;
    const std::vector<int> blocked{side_feature_[2 * static_cast<std::size_t>(jaws)],
                                   side_feature_[2 * static_cast<std::size_t>(jaws) + 1]};
    Step c{Clamping::Kind::vise, up, jaws, -1, reachable(made, up, false, blocked), !seat_made, {}};
    if (faces_only) {
      const std::size_t before = c.makes.size();
      std::erase_if(c.makes, [&](int ix) { return places_matter(ix); });
      if (c.makes.size() == before) return;  // nothing else: the other way is the same
    }
    if (c.makes.empty()) return;
    c.raw[static_cast<std::size_t>(axis_of(up))] = !seat_made && side(opposite(up)).cut;
    locate_in_jaws(c, made);
    out.push_back(std::move(c));
  }
  /// By the seat, the fixed jaw, and along the jaws by the middle of both sides or a stop.
  void locate_in_jaws(Step& c, const Made& made) const {
    const int up = c.up, jaws = c.jaws;
    const bool places = std::any_of(c.makes.begin(), c.makes.end(), [&](int ix) { return places_matter(ix); });
    locate(c, made, axis_of(up), opposite(up));
    for (int axis = 0; axis < 3; ++axis) {
      if (axis == axis_of(up) || !places) continue;
      // Along the jaws the fixed one says where; along the other axis the middle of both sides does.
      const auto skin = [&](int d) { return stop(d).cut && !is_made(made, d); };
      const bool inner = !stop(2 * axis).points.empty() || !stop(2 * axis + 1).points.empty();
      const int at = inner && axis != jaws ? stop_side(made, axis) : -1;
      locate(c, made, axis, axis == jaws ? 2 * axis + 1 : at >= 0 ? at : Step::both);
      c.raw[static_cast<std::size_t>(axis)] = axis == jaws ? skin(2 * axis + 1)
                                              : at >= 0    ? skin(at)
                                                           : skin(2 * axis) || skin(2 * axis + 1);
    }
  }

  /// Several in a row under one jaw: on a seat that is cut, between two sides that are cut, so that all parts are of
  /// one height and one size across.
  void carrier(std::vector<Step>& out, const Made& made, int up, int jaws) {
    const int a = 2 * jaws, b = a + 1;
    const auto flat = [&](int d) { return is_made(made, d) && !side(d).inner && !side(d).round; };
    // An edge that was prepared and then cut away with the whole outside is no longer what jaws touched.
    const auto both = [&](int d) {
      return in(made, side_reference_[static_cast<std::size_t>(d)]) &&
             in(made, side_feature_[static_cast<std::size_t>(d)]) && side(d).reference != side(d).feature;
    };
    if (!flat(a) || !flat(b) || both(a) || both(b)) return;
    const std::vector<int> blocked{side_feature_[static_cast<std::size_t>(a)],
                                   side_feature_[static_cast<std::size_t>(b)]};
    Step c{Clamping::Kind::carrier, up, jaws, -1, reachable(made, up, false, blocked), false, {}};
    if (c.makes.empty()) return;
    edges_ready_ = true;
    const int along = 3 - jaws - axis_of(up);
    const CarrierRow row =
        carrier_row(carrier_set_, scene_.shop, carrier_part(scene_, plan_, jaws, along), scene_.inch);
    if (!row.why_not.empty()) {
      no_row_ = row.why_not;
      return;
    }
    row_fits_ = true;
    locate_in_jaws(c, made);
    out.push_back(std::move(c));
  }
  /// The first thing that stands against it.
  std::vector<Clash> why_no_carrier() const {
    std::string why =
        "no order of at most six clampings cuts two flat sides that face each other, and what the part sits on, before "
        "something is left to make between them: parts of unlike width do not share a jaw. A gang squares edges once "
        "top and bottom are cut, where the outside is cut";
    if (edges_ready_) why = "no order of at most six clampings with a row of parts under it makes every feature";
    if (edges_ready_ && !row_fits_) why = no_row_;
    return {{{"take.route.clamps = carrier"}, std::move(why)}};
  }

  /// Says which side locates along an axis, and whether it is still rough.
  void locate(Step& c, const Made& made, int axis, int d) const {
    const auto rough = [&](int x) { return !stop(x).reference.empty() && !is_made(made, x); };
    const auto a = static_cast<std::size_t>(axis);
    c.by[a] = d;
    c.rough[a] = d == Step::both ? rough(2 * axis) || rough(2 * axis + 1) : d >= 0 && rough(d);
  }

  /// Jaws close on two inner flats only where both have metal at one height and one place along the jaws, and as good
  /// as no draft: a leaning side lifts out.
  static bool face_each_other(const OuterSide& a, const OuterSide& b, int jaws, int up) {
    if (!a.inner && !b.inner) return true;
    if (a.lean > 0.035 || b.lean > 0.035) return false;
    for (const int axis : {axis_of(up), 3 - jaws - axis_of(up)}) {
      double lo = -std::numeric_limits<double>::infinity(), hi = std::numeric_limits<double>::infinity();
      for (const OuterSide* s : {&a, &b}) {
        if (s->points.empty()) continue;
        const auto [low, high] = std::minmax_element(
            s->points.begin(), s->points.end(),
            [&](const Vec3& p, const Vec3& q) { return coordinate(p, axis) < coordinate(q, axis); });
        lo = std::fmax(lo, coordinate(*low, axis)), hi = std::fmin(hi, coordinate(*high, axis));
      }
      if (!(hi - lo > 5e-3)) return false;
    }
    return true;
  }

  /// A vise takes the part with this way up by two sides at the box, sitting on a third: nothing else is needed.
  bool gripped_outside(int up) const {
    const auto at_box = [&](int d) { return !side(d).reference.empty() && !side(d).inner; };
    if (!at_box(opposite(up))) return false;
    for (int a = 0; a < 3; ++a)
      if (a != axis_of(up) && at_box(2 * a) && at_box(2 * a + 1) && !too_wide(a)) return true;
    return false;
  }
  /// Whether no vise of the shop file opens from one of these sides to the other, with the skin on what is cut.
  bool too_wide(int axis) const {
    constexpr double skin = 3e-3;  // m, from memory
    double wide = coordinate(side(2 * axis).at, axis) - coordinate(side(2 * axis + 1).at, axis);
    for (const int d : {2 * axis, 2 * axis + 1}) wide += side(d).cut ? skin : 0;
    return opens_ > 0 && wide > opens_;
  }
  /// The flat that goes against an angle plate: cut ones first, then the larger; -1: none is large enough.
  int back_of(const Made& made, int up) const {
    const Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    int best = -1;
    double most = 0;
    for (int d = 0; d < 6; ++d) {
      const OuterSide& s = side(d);
      if (axis_of(d) == axis_of(up) || s.reference.empty() || s.round || s.lean > 1e-6) continue;
      const double face = box.x * box.y * box.z / coordinate(box, axis_of(d)), area = s.extent_u * s.extent_v;
      const double score = area + (is_made(made, d) ? box.x * box.y + box.y * box.z + box.z * box.x : 0);
      if (area >= 0.3 * face && score > most * (1 + 1e-9)) most = score, best = d;
    }
    return best;
  }
  /// Straps press on flats that look `from` and are not cut in this clamping.
  bool straps_find_room(int from, const std::vector<int>& makes) const {
    if (scene_.sight == nullptr) return false;
    const auto& flats = scene_.sight->flats[static_cast<std::size_t>(from)];
    for (std::size_t i = 0; i < flats.size(); ++i)
      if (flats[i].lean < 1e-6 && !has(makes, flat_[static_cast<std::size_t>(from)][i])) return true;
    return false;
  }
  /// On a plate (back -1), or standing against an angle plate: stops at two sides, straps.
  void strapped(std::vector<Step>& out, const Made& made, int up, int back) const {
    const int down = opposite(up);
    if (side(down).round || side(down).reference.empty()) return;
    for (int a = 0; a < 3; ++a)
      if (a != axis_of(up) && (back < 0 || a != axis_of(back)) && stop_side(made, a) < 0) return;
    std::optional<Step> s = under_straps(made, up, back);
    if (!s) return;
    Step& c = *s;
    const auto raw = [&](int d) { return stop(d).cut && !is_made(made, d); };
    c.raw_seat = !is_made(made, back < 0 ? down : back);
    const bool places = std::any_of(c.makes.begin(), c.makes.end(), [&](int ix) { return places_matter(ix); });
    c.raw[static_cast<std::size_t>(axis_of(up))] = raw(down);
    locate(c, made, axis_of(up), down);
    for (int a = 0; a < 3; ++a) {
      if (a == axis_of(up) || !places) continue;
      const int d = back >= 0 && a == axis_of(back) ? back : stop_side(made, a);
      c.raw[static_cast<std::size_t>(a)] = raw(d);
      locate(c, made, a, d);
    }
    out.push_back(std::move(c));
  }
  /// On a flat that is cut, or standing with one against an angle plate, on pins in two holes that open there: offered
  /// where a stop would touch a side that is not cut.
  void pinned(std::vector<Step>& out, const Made& made, int up, int back) {
    const int seat = back < 0 ? opposite(up) : back;
    if (side(seat).round || side(seat).reference.empty() || !is_made(made, seat)) return;
    bool rough = false;
    for (int a = 0; a < 3; ++a) {
      if (a == axis_of(seat)) continue;
      const int d = a == axis_of(up) ? opposite(up) : stop_side(made, a);
      rough = rough || d < 0 || !is_made(made, d);
    }
    if (!rough) return;
    const Held& h = held(made, seat, true);
    if (h.pins.size() != 2) return;
    std::optional<Step> s = under_straps(made, up, back);
    if (!s) return;
    s->pins = pair_number(h.pins);
    locate(*s, made, axis_of(seat), seat);
    out.push_back(std::move(*s));
  }
  int pair_number(const std::vector<std::string>& pins) {
    const auto it = std::find(pairs_.begin(), pairs_.end(), pins);
    if (it != pairs_.end()) return static_cast<int>(it - pairs_.begin());
    pairs_.push_back(pins);
    return static_cast<int>(pairs_.size()) - 1;
  }
  /// What straps leave to be made there; none: nothing, or they find no room.
  std::optional<Step> under_straps(const Made& made, int up, int back) const {
    const int from = back < 0 ? up : opposite(back);
    Step c{back < 0 ? Clamping::Kind::fixture : Clamping::Kind::angle,
           up,
           back < 0 ? -1 : axis_of(back),
           back,
           reachable(made, up, false, {}),
           false,
           {}};
    if (!straps_find_room(from, c.makes)) {
      if (back >= 0 || scene_.sight == nullptr || scene_.sight->flats[static_cast<std::size_t>(from)].empty())
        return std::nullopt;
      c.makes = reachable(made, up, false, {flat_[static_cast<std::size_t>(from)].front()});
      if (!straps_find_room(from, c.makes)) return std::nullopt;
    }
    if (c.makes.empty()) return std::nullopt;
    return c;
  }

 public:
  /// The side that a stop touches along this axis: a cut one first, then one at the box, then the lower one; -1: none.
  static int stop_at(const std::array<OuterSide, 6>& sides, const std::function<bool(int)>& cut, int axis) {
    int best = -1, most = -1;
    for (const int d : {2 * axis + 1, 2 * axis}) {
      const OuterSide& s = sides[static_cast<std::size_t>(d)];
      if (s.reference.empty()) continue;
      const int score = (cut(d) ? 4 : 0) + (s.inner ? 0 : 2) + (s.lean > 1e-6 ? 0 : 1);
      if (score > most) most = score, best = d;
    }
    return best;
  }

 private:
  int stop_side(const Made& made, int axis) const {
    return stop_at(
        stops_, [&](int d) { return is_made(made, d); }, axis);
  }

  bool places_matter(int ix) const {
    return std::any_of(targets_.begin(), targets_.end(), [&](const Target& t) { return t.ix == ix && t.places; });
  }

  /// Several parts side by side across their finished faces: prepares an edge of the outside.
  void gang(std::vector<Step>& out, const Made& made, int up, bool seat_made) const {
    const OuterSide& face = side(up);
    if (face.feature != "outside" || !face.cut || is_made(made, up) || !is_made(made, 4) || !is_made(made, 5)) return;
    const int edge = side_reference_[static_cast<std::size_t>(up)];
    Step c{Clamping::Kind::gang, up, 2, -1, {edge}, !seat_made, {}};
    c.raw[static_cast<std::size_t>(axis_of(up))] = !seat_made;
    locate(c, made, axis_of(up), opposite(up));
    out.push_back(std::move(c));
  }

  // ---- a whole sequence ------------------------------------------------------------------------------------------

  /// The last clamping that makes each name; -1: none does.
  std::vector<int> where_of(const std::vector<Step>& all) const {
    std::vector<int> out(names_.size(), -1);
    for (std::size_t i = 0; i < all.size(); ++i)
      for (const int ix : all[i].makes) out[static_cast<std::size_t>(ix)] = static_cast<int>(i);
    return out;
  }

  /// A route while it is weighed: where everything is made, which names carry pins, what must stay where it is.
  struct Laid {
    std::vector<Step> all;
    std::vector<int> where;
    Made pin, needed;
  };
  static int at(const std::vector<int>& where, int ix) { return ix < 0 ? -1 : where[static_cast<std::size_t>(ix)]; }

  /// What the tie costs with its ends in clampings i and j: nothing in one clamping, little when the later one sits on
  /// the earlier feature.
  double tie_cost(const Laid& l, const Tie& t) const {
    const int i = at(l.where, t.ix_a), j = at(l.where, t.ix_b);
    if (i < 0 || j < 0 || i == j) return 0;
    const Step& later = l.all[static_cast<std::size_t>(std::max(i, j))];
    const int earlier = i < j ? t.ix_a : t.ix_b;
    const bool seat = side_feature_[static_cast<std::size_t>(opposite(later.up))] == earlier;
    const bool pin = (later.kind == Clamping::Kind::pallet || later.pins >= 0) && in(l.pin, earlier);
    return (seat || pin ? 0.25 : 1) * std::min(3.0, between_clampings / t.zone);
  }

  double cost_of(const Laid& l) const {
    double cost = 0;
    std::array<bool, 6> ups{};
    for (std::size_t i = 0; i < l.all.size(); ++i) {
      const Step& c = l.all[i];
      using Kind = Clamping::Kind;
      cost += c.kind == Kind::grind     ? weight_grind
              : c.kind == Kind::gang    ? weight_gang
              : c.kind == Kind::pallet  ? weight_pallet
              : c.kind == Kind::fixture ? weight_fixture
              : c.kind == Kind::angle   ? weight_angle
              : c.kind == Kind::carrier ? weight_carrier
                                        : weight_vise;
      if (c.kind == Kind::vise && c.jaws >= 0)
        for (const int d : {2 * c.jaws, 2 * c.jaws + 1, opposite(c.up)}) cost += side(d).inner ? weight_inner : 0;
      if (c.kind == Kind::vise && c.jaws >= 0 && jaws_on_skin(l, i)) cost += weight_raw_jaws;
      if ((c.kind == Kind::vise && c.jaws >= 0) || c.kind == Kind::carrier)
        cost += weight_short_sides * on_short_sides(c);
      if ((c.kind == Kind::vise || c.kind == Kind::carrier) && c.jaws >= 0 && no_stop(3 - c.jaws - axis_of(c.up)))
        cost += weight_no_stop;
      if (c.kind == Kind::vise && c.jaws >= 0 && too_wide(c.jaws)) cost += weight_no_vise;
      if (c.kind == Kind::vise && straps_) cost += weight_unwanted;
      if (c.kind == Kind::vise && grinding_)
        for (const int ix : c.makes) cost += flat_closely_[static_cast<std::size_t>(ix)] != 0 ? weight_flat : 0;
      ups[static_cast<std::size_t>(c.up)] = true;
    }
    cost += weight_many_ups * static_cast<double>(std::count(ups.begin(), ups.end(), true));
    cost += raw_cost(l.all);
    for (const Tie& t : ties_) cost += tie_cost(l, t);
    int last_skin = -1;
    for (const Target& t : targets_)
      if (t.skin) last_skin = std::max(last_skin, at(l.where, t.ix));
    for (const Target& t : targets_) {
      if (!t.critical && !(t.zone < 0.02e-3)) continue;
      if (at(l.where, t.ix) + 1 < static_cast<int>(l.all.size())) cost += weight_late;
      if (at(l.where, t.ix) < last_skin) cost += weight_skin_after;
    }
    return cost;
  }
  bool no_stop(int axis) const { return stop(2 * axis).reference.empty() && stop(2 * axis + 1).reference.empty(); }
  /// How often rough sides locate, by side.
  static void count_rough(const Step& c, std::array<int, 6>& uses) {
    for (std::size_t a = 0; a < 3; ++a) {
      if (!c.rough[a]) continue;
      if (c.by[a] != Step::both) ++uses[static_cast<std::size_t>(c.by[a])];
      else ++uses[2 * a], ++uses[2 * a + 1];
    }
  }
  /// What breaks the rule that a raw surface locates once and the next clamping sits on what was cut.
  static double raw_cost(const std::vector<Step>& all) {
    double cost = 0;
    std::array<int, 6> uses{};
    for (std::size_t i = 0; i < all.size(); ++i) {
      const Step& c = all[i];
      count_rough(c, uses);
      bool on_cut = c.pins >= 0 || c.kind == Clamping::Kind::pallet;
      for (std::size_t a = 0; a < 3; ++a) on_cut = on_cut || (c.by[a] != Step::nothing && !c.rough[a]);
      if (i > 0 && !on_cut) cost += weight_raw_only;
    }
    for (const int n : uses) cost += weight_raw_again * std::max(0, n - 1);
    return cost;
  }
  /// Above 0 when the jaws close along the longer of the two axes they could; a bar taken by its ends bows.
  double on_short_sides(const Step& c) const {
    const Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    const int other = 3 - c.jaws - axis_of(c.up);
    const double ratio = coordinate(box, c.jaws) / coordinate(box, other);
    return ratio > 3 ? 10 : ratio > 1 ? 1 : 0;
  }
  bool has_close_flatness(const std::string& id) const {
    const auto on = requirements_on(plan_, id);
    return std::any_of(on.begin(), on.end(), [](const plan::Requirement* r) {
      return r->kind.value == "flatness" && r->limits.value.upper && *r->limits.value.upper <= close_flatness + 1e-9;
    });
  }
  bool jaws_on_skin(const Laid& l, std::size_t i) const {
    const int jaws = l.all[i].jaws;
    const auto before = [&](int ix) {  // some earlier clamping makes it
      const int w = at(l.where, ix);
      return w >= 0 && w < static_cast<int>(i);
    };
    const auto made = [&](int d) {
      return before(side_reference_[static_cast<std::size_t>(d)]) || before(side_feature_[static_cast<std::size_t>(d)]);
    };
    return side(2 * jaws).cut && !(made(2 * jaws) && made(2 * jaws + 1));
  }

  /// A feature that several clampings reach goes where it costs least; what later clampings stand on stays early.
  void assign(Laid& l) const {
    for (int round = 0; round < 3; ++round)
      for (const Target& t : targets_) {
        if (in(l.needed, t.ix)) continue;
        const int now = at(l.where, t.ix);
        if (now < 0) continue;
        int best = now;
        double least = cost_of(l);
        for (std::size_t k = 0; k < l.all.size(); ++k) {
          if (static_cast<int>(k) == now || !reaches(l.all[k], t)) continue;
          move(l, t.ix, now, static_cast<int>(k));
          const double x = cost_of(l);
          if (x < least - 1e-9) least = x, best = static_cast<int>(k);
          move(l, t.ix, static_cast<int>(k), now);
        }
        if (best != now) move(l, t.ix, now, best);
      }
  }
  static bool reaches(const Step& c, const Target& t) {
    using Kind = Clamping::Kind;
    if (c.kind == Kind::grind || c.kind == Kind::gang) return false;
    if (c.kind == Kind::fixture || c.kind == Kind::angle) return false;  // its straps may stand there
    if (t.profile && c.kind != Clamping::Kind::pallet) return false;
    return has(t.access, c.up);
  }
  static void move(Laid& l, int ix, int from, int to) {
    std::erase(l.all[static_cast<std::size_t>(from)].makes, ix);
    l.all[static_cast<std::size_t>(to)].makes.push_back(ix);
    l.where[static_cast<std::size_t>(ix)] = to;
  }

  void finish(const std::vector<Step>& all, RouteSearch& out) {
    const auto under_one_jaw = [](const Step& c) { return c.kind == Clamping::Kind::carrier; };
    if (carried_ && std::none_of(all.begin(), all.end(), under_one_jaw)) return;
    ++out.looked_at;
    Laid l;
    l.all = all, l.where = where_of(all);
    l.pin.resize(names_.size()), l.needed.resize(names_.size());
    Made made(names_.size());
    Held held_by;
    const auto mark = [&](Made& in, const std::string& reference) {
      if (const auto it = numbers_.find(plan::parse_reference(reference).id); it != numbers_.end())
        in[static_cast<std::size_t>(it->second)] = 1;
    };
    for (const Step& c : all) {
      if (c.kind == Clamping::Kind::pallet) held_by = held(made, opposite(c.up));
      for (const int ix : c.makes) made[static_cast<std::size_t>(ix)] = 1;
      if (c.pins >= 0)
        for (const std::string& p : pairs_[static_cast<std::size_t>(c.pins)]) mark(l.pin, p), mark(l.needed, p);
    }
    for (const std::string& p : held_by.pins) mark(l.pin, p), mark(l.needed, p);
    for (const std::string& s : held_by.screws) mark(l.needed, s);
    for (const OuterSide& s : stops_)
      if (!s.feature.empty() && s.feature != "outside") mark(l.needed, s.feature);
    assign(l);
    if (std::any_of(l.all.begin(), l.all.end(), [](const Step& c) { return c.makes.empty(); })) return;
    const double cost = cost_of(l);
    // Keep the cheapest of each shape only: there may be tens of thousands.
    const auto mine = shape_of(l.all);
    const auto same =
        std::find_if(out.best.begin(), out.best.end(), [&](const Route& k) { return shape_of(k.clampings) == mine; });
    if (same != out.best.end() && !(cost < same->cost - 1e-12)) return;
    Route r;
    r.pins = std::move(held_by.pins), r.screws = std::move(held_by.screws), r.cost = cost;
    for (const Step& c : l.all) {
      Clamping named{c.kind, c.up, c.jaws, c.back, {}, c.raw_seat, c.raw};
      for (const int ix : c.makes) named.makes.push_back(names_[static_cast<std::size_t>(ix)]);
      if (c.pins >= 0) named.pins = pairs_[static_cast<std::size_t>(c.pins)];
      r.clampings.push_back(std::move(named));
    }
    if (same != out.best.end()) *same = std::move(r);
    else out.best.push_back(std::move(r));
  }

  std::vector<Clash> why_none() const {
    std::vector<Clash> out;
    for (int d = 0; d < 6; ++d) {
      std::vector<std::string> from;
      for (const Target& t : targets_)
        if (t.access.size() == 1 && t.access[0] == d) from.push_back(t.id);
      if (!from.empty() && side(opposite(d)).reference.empty())
        out.push_back({{from.front() + " is cut from " + direction_words[static_cast<std::size_t>(d)],
                        "the part sits on a flat of its own"},
                       fmt::format("{} is reached only with {} up, and the part has no flat to sit on there",
                                   base::join(from, ", "), direction_words[static_cast<std::size_t>(d)])});
    }
    for (const Target& t : targets_)
      if (t.profile) {
        Made made(names_.size());
        for (const Target& k : targets_) made[static_cast<std::size_t>(k.ix)] = 1;
        const auto p = pins(made, 5);
        if (p.size() < 2)
          out.push_back({{"the outside is cut all round", "pins in holes of the part"},
                         "no two holes of the part can carry pins: name two (pin_holes), or let two be made for it"});
        else if (screws(made, p).empty())
          out.push_back({{"the outside is cut all round", own_screws},
                         "no through holes of the part can carry screws while the outside is cut",
                         true});
      }
    for (int d = 0; d < 4; ++d) {
      std::vector<std::string> from;
      for (const Target& t : targets_)
        if (!t.access.empty() &&
            std::all_of(t.access.begin(), t.access.end(), [&](int k) { return axis_of(k) == d / 2; }))
          from.push_back(t.id);
      if (out.empty() && !from.empty() && d % 2 == 0)
        out.push_back(
            {{base::join(from, ", ") + " in this plan", "at most six clampings, a raw datum once"},
             fmt::format("{} lie along {}: a three-axis machine reaches them only with the part stood on that "
                         "side, and no order of clampings that also makes the rest does so without locating "
                         "on cast skin twice",
                         base::join(from, ", "), d / 2 == 0 ? "X" : "Y")});
    }
    if (out.empty())
      out.push_back(
          {{"raw datum once", "at most six clampings"}, "no order of at most six clampings makes every feature"});
    return out;
  }

  const Scene& scene_;
  const plan::Plan& plan_;
  std::array<OuterSide, 6> sides_, stops_;  ///< what carries and what jaws close on; what a stop touches
  std::array<std::vector<PinHole>, 6> pin_holes_;
  std::vector<Tie> ties_;
  std::vector<Target> targets_;
  bool grinding_ = false, straps_ = false;  ///< straps: asked for instead of vises
  double opens_ = 0;                        ///< m, the widest vise of the shop file; 0: it names none
  bool carried_ = false;                    ///< only routes with a row under a carrier jaw were asked for
  bool edges_ready_ = false, row_fits_ = false;
  std::string no_row_;  ///< why parts do not lie in a row
  CarrierSet carrier_set_;
  bool lugs_ = false;  ///< the pallet's screws go through lugs cast on
  std::size_t deep_ = deepest, nodes_ = 0;
  std::unordered_map<std::string, int> visits_;
  std::vector<std::string> names_;
  std::map<std::string, int> numbers_;
  std::array<int, 6> side_reference_{}, side_feature_{};
  std::array<std::vector<int>, 6> flat_;  ///< numbers of the flats that are seen from each direction
  std::vector<std::pair<const plan::Feature*, int>> holes_;
  Made flat_closely_;
  std::unordered_map<std::string, Held> held_;
  std::vector<std::vector<std::string>> pairs_;  ///< of holes that carry pins of a fixture
};

}  // namespace

namespace {

// ---- holes that carry pins -------------------------------------------------------------------------------------

/// Dowel pins that are bought, mm (ISO 8734) and in (ASME B18.8.2).
constexpr std::array<double, 8> bought_mm = {5, 6, 8, 10, 12, 16, 20, 25};
constexpr std::array<double, 8> bought_in = {0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75, 0.875};
/// Least metal beside a hole that a pin pulls at: this and a quarter of its width. Common practice, from memory.
constexpr double least_wall = 2e-3;

void walls(const Scene& scene, const plan::Plan& plan, PinHole& h, const std::string& own, int axis) {
  const auto lo = across(scene.part->box.lo, axis), hi = across(scene.part->box.hi, axis), at = across(h.at, axis);
  const double r = 0.5 * h.diameter;
  h.wall = std::min({at[0] - lo[0], hi[0] - at[0], at[1] - lo[1], hi[1] - at[1]}) - r;
  h.beside = "the outside";
  for (const plan::Feature& f : plan.features) {
    const std::string& k = f.kind.value;
    if (!hole_like(f) && k != "pocket" && k != "slot") continue;
    if (axis_of(std::max(direction_index(f.normal.value), 0)) != axis) continue;
    for (const Vec3& q : f.at.value) {
      const double far = apart_across(q, h.at, axis);
      if (far < 1e-6 && (f.id.value == own || hole_like(f))) continue;  // itself, or another step of it
      double wall = far - r - 0.5 * diameter_of(f);
      if (!hole_like(f)) {
        const double a = 0.5 * nominal_of(f.width), b = 0.5 * nominal_of(f.length);  // along X and Y of an upright one
        const auto to = across(q, axis);
        const double u = std::fabs(to[0] - at[0]) - a, v = std::fabs(to[1] - at[1]) - b;
        wall = (u > 0 && v > 0 ? std::hypot(u, v) : std::max(u, v)) - r;
        if (axis != 2) wall = far - r - std::hypot(a, b);  // sideways ones do not say which way is which
        // Below or above it: the pin's few millimetres end before it.
        if (f.from.known() && f.to.known() &&
            std::min(std::fabs(f.from.si - coordinate(h.at, axis)), std::fabs(f.to.si - coordinate(h.at, axis))) > 6e-3)
          continue;
      }
      if (wall < h.wall) h.wall = wall, h.beside = f.id.value;
    }
  }
}

}  // namespace

std::vector<std::string> two_holes(const std::string& said) {
  std::vector<std::string> out;
  for (const std::string& s : base::split(said, ',')) out.emplace_back(base::trim(s));
  return out.size() == 2 && !out[0].empty() && !out[1].empty() ? out : std::vector<std::string>{};
}

std::vector<PinHole> pin_holes(const Scene& scene, const plan::Plan& plan, int down) {
  std::vector<PinHole> out;
  if (scene.part == nullptr) return out;
  for (const plan::Feature& f : plan.features) {
    if (!hole_like(f) || !machined(f)) continue;
    const double d = diameter_of(f);
    if (!(d >= 5e-3 && d <= 25e-3)) continue;
    const std::vector<int> from = access(scene, plan, f);
    if (std::find(from.begin(), from.end(), down) == from.end()) continue;
    for (std::size_t i = 0; i < f.at.value.size(); ++i) {
      PinHole h;
      h.reference = f.at.value.size() > 1 ? fmt::format("{}@{}", f.id.value, i + 1) : f.id.value;
      h.at = f.at.value[i], h.diameter = d, h.zone = closest(plan, f.id.value);
      const auto& bought = scene.inch ? bought_in : bought_mm;
      h.stock = std::any_of(bought.begin(), bought.end(),
                            [&](double b) { return std::fabs(d - b * (scene.inch ? 0.0254 : 1e-3)) < 0.03e-3; });
      walls(scene, plan, h, f.id.value, axis_of(down));
      if (f.kind.value == "thread" || f.thread.known()) h.no = "a thread never locates";
      else if (h.wall < least_wall + 0.25 * d)
        h.no = fmt::format("{} of metal between it and {}", length_text(std::max(h.wall, 0.0), scene.inch), h.beside);
      out.push_back(std::move(h));
    }
  }
  return out;
}

int direction_index(const std::string& word) {
  for (std::size_t i = 0; i < direction_words.size(); ++i)
    if (word == direction_words[i]) return static_cast<int>(i);
  return -1;
}

int stop_side(const std::array<OuterSide, 6>& sides, const std::function<bool(int)>& cut, int axis) {
  return Search::stop_at(sides, cut, axis);
}

RouteSearch search_routes(const Scene& scene, const plan::Plan& plan, int most, bool leave_out) {
  if (scene.part == nullptr)
    return {{}, {{{"a model of the part"}, "without a model there is nothing to search"}}, {}, 0};
  Search search(scene, plan);
  if (!leave_out) return search.run(most);
  std::vector<Clash> left = search.leave_out();
  if (left.empty()) return {};
  RouteSearch out = search.run(most);
  out.left_out = std::move(left);
  return out;
}

}  // namespace fettle::begin
