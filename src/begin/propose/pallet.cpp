// How many parts stand on a pallet and how: nests, plate, anchors, how many pallets.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <set>
#include <utility>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/lugs.h"
#include "begin/propose/nest_fit.h"
#include "begin/propose/route.h"
#include "plan/read.h"
#include "ref/materials.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

// Common practice, from memory.
constexpr double clearance = 3e-3;  ///< between the cutter and the raw neighbour
constexpr double rim = 8e-3;        ///< of plate beyond the cutter's way
constexpr double heaviest = 60;     ///< kg, loaded: what a small hoist or a cart of a shop takes
constexpr double slender = 14;      ///< length of a plate over its thickness
constexpr double swap = 110, probe = 30, tool_change = 4.5;  ///< s
constexpr int tools = 10;
constexpr double usual_mill = 16e-3;                        ///< m, of an end mill round outsides
constexpr double weeks = 48, rate = 65;                     ///< a year; per hour, where the shop file says none
constexpr double pallet_price = 300, price_of_area = 1500;  ///< per pallet; per m2 of plate

struct Layout {
  int nx = 1, ny = 1, pallets = 1;
  int turn = 0;  ///< degrees
  bool staggered = false, paired = false;
  double pitch_x = 0, pitch_y = 0, plate_x = 0, plate_y = 0, mass = 0, cost = 0;
  std::vector<Vec3> at;
  std::vector<int> turns;  ///< of each nest, degrees
  int parts() const { return static_cast<int>(at.size()) * pallets; }
  std::string words() const {
    return fmt::format("{} on a pallet ({} x {}{}{}), {} pallet{} on the table", at.size(), nx, ny,
                       turn == 0    ? ""
                       : turn == 90 ? ", turned a quarter"
                                    : fmt::format(", turned {} degrees", turn),
                       paired      ? ", every second one turned half round into the hollow of the first"
                       : staggered ? ", staggered"
                                   : "",
                       pallets, pallets == 1 ? "" : "s");
  }
};

}  // namespace

maths::Polygon outline_from_above(const solid::Model& part) {
  std::vector<maths::Point2> all;
  for (const solid::Face& f : part.faces) {
    for (const Vec3& p : f.outline) all.push_back({p.x, p.y});
    const bool upright = std::fabs(f.axis.z) > 1 - 1e-9;
    if (f.kind == solid::Kind::plane || f.concave) continue;
    if (upright && (f.kind == solid::Kind::cylinder || f.kind == solid::Kind::cone)) continue;  // its edges say all
    const bool ring = upright && f.kind == solid::Kind::torus;
    if (ring || f.kind == solid::Kind::sphere) {
      const double r = f.radius + (ring ? f.minor_radius : 0);
      for (int k = 0; k < 360; ++k) {
        const double x = f.point.x + r * std::cos(k * std::numbers::pi / 180),
                     y = f.point.y + r * std::sin(k * std::numbers::pi / 180);
        if (x > f.box.lo.x - 1e-6 && x < f.box.hi.x + 1e-6 && y > f.box.lo.y - 1e-6 && y < f.box.hi.y + 1e-6)
          all.push_back({x, y});
      }
    } else {
      for (const double x : {f.box.lo.x, f.box.hi.x})
        for (const double y : {f.box.lo.y, f.box.hi.y}) all.push_back({x, y});
    }
  }
  maths::Polygon out = maths::convex_hull(std::move(all));
  if (out.size() >= 3) return out;
  const Vec3 lo = part.box.lo, hi = part.box.hi;
  return {{lo.x, lo.y}, {hi.x, lo.y}, {hi.x, hi.y}, {lo.x, hi.y}};
}

namespace {

/// The widest end mill that goes round outsides, m; one that is usual where the shop file has none.
double outside_mill(const plan::Shop& shop) {
  double widest = 0;
  for (const plan::Tool& t : shop.tools)
    if (t.kind.value == "end mill" && t.diameter.known() && t.diameter.si <= 20.1e-3)
      widest = std::max(widest, t.diameter.si);
  return widest > 0 ? widest : usual_mill;
}

class Layer {
 public:
  Layer(const Scene& scene, const Draft& draft) : scene_(scene), d_(draft) {
    const Vec3 box = scene.part->box.hi - scene.part->box.lo;
    finished_ = {box.x, box.y};
    raw_ = finished_;
    for (const plan::CastSize& s : draft.plan.casting.sizes) {
      const double most = s.raw.si + 0.5 * (s.tolerance.known() ? s.tolerance.si : 2e-3);
      if (s.id.value == "length") raw_[0] = std::max(raw_[0], most);
      if (s.id.value == "width") raw_[1] = std::max(raw_[1], most);
    }
    outline_ = outline_from_above(*scene.part);
    const plan::Feature* outside = plan::find_feature(draft.plan, "outside");
    const double full = box.x * box.y;
    boxy_ = !(full > 0) || maths::area(outline_) > 0.98 * full;
    const plan::Operation* op = plan::find_operation(draft.plan, draft.pallet_operation);
    const bool all_round =
        outside != nullptr && op != nullptr &&
        std::find(op->makes.value.begin(), op->makes.value.end(), "outside") != op->makes.value.end();
    const bool cut_outside = cut_all_round(scene, draft);
    cutter_ = cut_outside ? outside_mill(scene.shop) : 0;
    for (const plan::Machine& m : scene.shop.machines)
      if (op != nullptr && m.id.value == op->machine.value) machine_ = &m;
    // A cutter that goes round the whole outside passes through its hollows; else a neighbour may stand in them.
    pieces_ = cut_outside ? Pieces{outline_} : pieces_from_above(*scene.part);
    if (all_round && !boxy_) {
      const Vec3 lo = scene.part->box.lo, hi = scene.part->box.hi;
      pieces_ = {{{lo.x, lo.y}, {hi.x, lo.y}, {hi.x, hi.y}, {lo.x, hi.y}}};
    }
    for (const Lug& l : draft.lugs) pieces_.push_back(outline_of(l));  // a neighbour meets them first
    if (pieces_.size() > 1) cut_bosses(op);
    part_mass_ = draft.plan.casting.mass.known() ? draft.plan.casting.mass.si
                 : draft.plan.part.mass.known()  ? draft.plan.part.mass.si
                                                 : 0;
  }

  std::vector<Layout> all() const {
    std::vector<Layout> out;
    if (machine_ == nullptr || machine_->travel.value.size() < 3) return out;
    const double tx = std::max(machine_->travel.value[0], machine_->travel.value[1]),
                 ty = std::min(machine_->travel.value[0], machine_->travel.value[1]);
    for (const int turn : turns()) {
      const Stand straight = stand_of(turn, false);
      for (const auto& [staggered, paired] : {std::pair{false, false}, {true, false}, {false, true}}) {
        const Stand stand = paired ? paired_stand(turn) : staggered ? stand_of(turn, true) : straight;
        // Only where it brings the rows, or the parts, together.
        if (staggered && stand.rows.across > straight.rows.across - 1e-6) continue;
        if (paired && !(stand.area() < (1 - 1e-6) * straight.area())) continue;
        for (int nx = 1; nx <= 6; ++nx)
          for (int ny = 1; ny <= 6; ++ny)
            for (int pallets = 1; pallets <= 3; ++pallets) {
              if (staggered && (ny < 2 || nx < 2)) continue;
              Layout l = lay(nx, ny, turn, stand);
              l.staggered = staggered;
              l.pallets = pallets;
              // The spindle must get round the outermost part; pallets stand side by side along X.
              const double way_x = pallets * l.plate_x - 2 * rim, way_y = l.plate_y - 2 * rim;
              if (way_x > tx || way_y > ty || l.mass > heaviest) continue;
              l.cost = cost(l);
              out.push_back(std::move(l));
            }
      }
    }
    std::stable_sort(out.begin(), out.end(), [](const Layout& a, const Layout& b) { return a.cost < b.cost; });
    return out;
  }

  Draft write(const Layout& l, const std::vector<Layout>& all) const {
    Draft d = d_;
    plan::Pallet& p = d.plan.pallet;
    const bool inch = scene_.inch;
    if (!p.plate.material.known()) give(p.plate.material, "EN AW-5083");
    const auto plate = ref::material(p.plate.material.value);
    const double density = plate.ok() ? plate->density.value : 2660;
    const double t = thickness(l, d, density);
    p.defined.value = true, p.defined.origin = plan::Origin::given;
    give(p.name, fmt::format("{}-up", l.at.size()));
    give(p.plate.size, {l.plate_x, l.plate_y, t}, inch);
    for (std::size_t i = 0; i < l.at.size(); ++i) {
      plan::Nest n;
      give(n.at, {l.at[i]}, inch);
      if (l.turns[i] != 0) give(n.turn, unit::Kind::angle, fmt::format("{} deg", l.turns[i]));
      p.nests.push_back(std::move(n));
    }
    plan::Anchor a;
    const double ax = std::round(0.32 * l.plate_x * 200) / 200, ay = std::round(0.3 * l.plate_y * 200) / 200;
    std::vector<Vec3> at;
    for (const double sy : {-1.0, 1.0})
      for (const double sx : {-1.0, 1.0}) at.push_back({sx * ax, sy * ay, 0});
    if (l.plate_x > 0.45) at.push_back({0, -ay, 0}), at.push_back({0, ay, 0});
    give(a.at, at, inch);
    give(a.pull_down, unit::Kind::force, "10 kN (5..15 kN)");
    a.repeat.typed = inch ? "± 0.0002 in" : "± 0.005 mm", a.repeat.origin = plan::Origin::given;
    if (const auto spread = unit::parse_spread(a.repeat.typed, unit::Kind::length); spread.ok())
      a.repeat.value = *spread;
    p.anchors.push_back(std::move(a));
    count(p.on_table, l.pallets);
    const std::string sets = answer(scene_, "pallet_sets");
    count(p.sets, sets.empty() ? 2 : static_cast<int>(base::to_double(sets).value_or(2)));
    const double empty = density * l.plate_x * l.plate_y * t;
    give(p.empty_mass, unit::Kind::mass, base::fixed(1.1 * empty, 2) + " kg");
    if (part_mass_ > 0) give(p.loaded_part_mass, unit::Kind::mass, base::fixed(part_mass_, 2) + " kg");
    give(p.swap_time, unit::Kind::time, "110 s (60..180 s)");
    give(p.probe_time, unit::Kind::time, "0.5 min (0.2..1 min)");
    give(p.move_time, unit::Kind::time, "1.1 min (0.5..2 min)");
    give(p.cost, unit::Kind::money, base::fixed(pallet_price + price_of_area * l.plate_x * l.plate_y, 0) + " EUR");
    Choice c{"pallet",
             "pallet.nest",
             l.words(),
             fmt::format("pitch {} by {}: half the finished part, a {} cutter, {} clear, half the largest raw "
                         "neighbour; {:.2f} a part for changes, swaps and pallets",
                         length_text(l.pitch_x, inch), length_text(l.pitch_y, inch), length_text(cutter_, inch),
                         length_text(clearance, inch), l.cost),
             "cost per part",
             {}};
    runners_up(l, all, c);
    d.choices.push_back(std::move(c));
    d.assumed.push_back(fmt::format(
        "pallet.anchor: {} places, each 10 kN down (5 to 15, from memory), repeat ± 0.005 mm: give the "
        "machine's own; how stiff they are and a chip under one seat stay as the study assumes them (150 N/µm "
        "upright, 50 to 300; 100 N/µm sideways, 30 to 200; chip 0 to 0.05 mm)",
        at.size()));
    d.assumed.push_back(
        "pallet.swap_time 110 s (60 to 180), probe_time 0.5 min (0.2 to 1), move_time 1.1 min (0.5 to 2): from memory, "
        "use a stopwatch");
    carry(d, p.empty_mass.si + static_cast<double>(l.at.size()) * part_mass_);
    return d;
  }

  /// Nobody said who lifts it: a hoist of the next usual rating, with a quarter in reserve.
  void carry(Draft& d, double mass) const {
    if (!d.plan.lifts.empty()) return;
    double rated = 63;  // kg; usual steps, from memory
    for (const double step : {63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0})
      if (rated = step; step >= 1.25 * mass) break;
    plan::Lift lift;
    give(lift.id, "loaded pallet");
    give(lift.what, "loaded pallet");
    give(lift.by, "hoist");
    give(lift.capacity, unit::Kind::mass,
         scene_.inch ? fmt::format("{:.0f} lb", std::floor(rated / 0.45359237)) : fmt::format("{:.0f} kg", rated));
    d.choices.push_back(
        {"pallet",
         "lift.loaded pallet",
         fmt::format("a hoist rated for {} carries it", lift.capacity.typed),
         fmt::format("it weighs about {:.0f} kg, as often as the sets are changed; local codes decide", mass),
         "common practice",
         {{"by hand",
           "a person may not lift everything",
           {},
           "heights and reaches are asked: give lift.from and lift.to by tape and the study says whether a person "
           "may"}}});
    d.assumed.push_back("lift: a hoist of " + lift.capacity.typed + " stands at the machine: say what is there");
    d.plan.lifts.push_back(std::move(lift));
  }

  std::string why_none() const {
    if (machine_ == nullptr) return "no machine with travels is named for the pallets";
    const Layout one = lay(1, 1, 0, stand_of(0, false));
    return fmt::format("a pallet for one part is {} by {}, machine {} travels {}",
                       shown_length(one.plate_x, scene_.inch), shown_length(one.plate_y, scene_.inch),
                       machine_->id.value, machine_->travel.typed);
  }

 private:
  static void count(plan::Integer& v, int n) {
    v.value = n, v.origin = plan::Origin::given, v.typed = std::to_string(n);
  }

  /// How parts stand in rows at one turn.
  struct Stand {
    Rows rows;
    double wide = 0, deep = 0;  ///< of a raw part, or a pair, as it stands
    double off_x = 0, off_y = 0;
    std::optional<maths::Point2> second;  ///< of a pair: where the part turned half round stands from the first
    double area() const {                 ///< that a part takes
      return rows.along * rows.across / (second ? 2 : 1);
    }
  };

  std::vector<int> turns() const {
    if (boxy_ && pieces_.size() == 1) return {0, 90};
    std::vector<int> out;
    for (int t = 0; t < 180; t += 15) out.push_back(t);
    return out;
  }

  /// Upright bosses that are cut on the pallet: the cutter goes round each of them, beyond the part where they stand
  /// near its edge.
  void cut_bosses(const plan::Operation* op) {
    const double mill = outside_mill(scene_.shop);
    for (const plan::Feature& f : d_.plan.features) {
      const auto& made = op != nullptr ? op->makes.value : std::vector<std::string>{};
      if (f.kind.value != "boss" || std::find(made.begin(), made.end(), f.id.value) == made.end()) continue;
      for (const Vec3& at : f.at.value) {
        maths::Polygon ring;
        const double r = 0.5 * diameter_of(f) + mill;
        for (int k = 0; k < 72; ++k)
          ring.push_back(
              {at.x + r * std::cos(k * std::numbers::pi / 36), at.y + r * std::sin(k * std::numbers::pi / 36)});
        rings_.push_back(std::move(ring));
      }
    }
  }

  /// Where the cutter goes round a finished part turned so, and what a raw neighbour fills.
  std::pair<Pieces, Pieces> way_and_raw(int turn) const {
    const double angle = turn * std::numbers::pi / 180;
    const double gx = 0.5 * (raw_[0] - finished_[0]), gy = 0.5 * (raw_[1] - finished_[1]);
    Pieces raw;
    for (const maths::Polygon& p : pieces_) {
      std::vector<maths::Point2> all;
      for (const maths::Point2 q : p)
        for (const double sx : {-gx, gx})
          for (const double sy : {-gy, gy}) all.push_back({q.x + sx, q.y + sy});
      raw.push_back(maths::convex_hull(std::move(all)));
    }
    Pieces way = grown(turned(pieces_, angle), cutter_ + clearance);
    for (const maths::Polygon& p : rings_) way.push_back(grown(turned(p, angle), clearance));
    return {std::move(way), turned(raw, angle)};
  }
  static void measure(Stand& s, const Pieces& all) {
    maths::Point2 lo = all.front().front(), hi = lo;
    for (const maths::Polygon& p : all)
      for (const maths::Point2 q : p) {
        lo = {std::min(lo.x, q.x), std::min(lo.y, q.y)};
        hi = {std::max(hi.x, q.x), std::max(hi.y, q.y)};
      }
    s.wide = hi.x - lo.x, s.deep = hi.y - lo.y;
    s.off_x = 0.5 * (lo.x + hi.x), s.off_y = 0.5 * (lo.y + hi.y);
  }
  Stand stand_of(int turn, bool staggered) const {
    const auto [way, raw] = way_and_raw(turn);
    Stand s;
    s.rows = closest_rows(no_fit(way, raw), 1e-3, staggered);
    measure(s, raw);
    return s;
  }
  /// Two parts, one turned half round into the hollow of the other, that take the least room; none for convex ones.
  Stand paired_stand(int turn) const {
    Stand best;
    best.rows.along = best.rows.across = std::numeric_limits<double>::infinity();
    if (pieces_.size() < 2) return best;
    const auto [way, raw] = way_and_raw(turn);
    for (const maths::Point2 second : interlocked(way, raw, 1e-3, 3)) {
      Stand s;
      s.rows = closest_rows(no_fit_of_pairs(way, raw, second), 1e-3, false);
      s.second = second;
      if (!(s.area() < best.area() - 1e-12)) continue;
      Pieces both = moved(turned(raw, std::numbers::pi), second);
      both.insert(both.end(), raw.begin(), raw.end());
      measure(s, both);
      best = s;
    }
    return best;
  }

  Layout lay(int nx, int ny, int turn, const Stand& s) const {
    Layout l;
    l.nx = nx, l.ny = ny, l.turn = turn, l.paired = s.second.has_value();
    l.pitch_x = s.rows.along, l.pitch_y = s.rows.across;
    const auto plate = [&](int n, double pitch, double size, double extra) {
      return 5e-3 * std::ceil(200 * ((n - 1) * pitch + extra + size + 2 * cutter_ + 2 * rim) - 1e-6);
    };
    l.plate_x = plate(nx, l.pitch_x, s.wide, s.rows.shift), l.plate_y = plate(ny, l.pitch_y, s.deep, 0);
    // The part's origin stands in the nest; its outline's middle may lie beside it.
    const auto fine = [](double x) { return 1e-7 * std::round(1e7 * x) + 0.0; };
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const double shift = (j % 2 == 0 ? -0.5 : 0.5) * s.rows.shift;
        const double x = (i - 0.5 * (nx - 1)) * l.pitch_x + shift - s.off_x,
                     y = (j - 0.5 * (ny - 1)) * l.pitch_y - s.off_y;
        l.at.push_back({fine(x), fine(y), 0}), l.turns.push_back(turn);
        if (s.second) l.at.push_back({fine(x + s.second->x), fine(y + s.second->y), 0}), l.turns.push_back(turn + 180);
      }
    l.mass = 1.1 * 2660 * l.plate_x * l.plate_y * std::max(0.02, l.plate_x / slender) +
             static_cast<double>(l.at.size()) * part_mass_;
    return l;
  }

  /// What the answers would give: the cheapest of other counts and of other turns, each with what else was answered.
  void runners_up(const Layout& l, const std::vector<Layout>& all, Choice& c) const {
    const std::string nests = answer(scene_, "take.pallet.nests"), rotation = answer(scene_, "take.pallet.rotation");
    std::set<std::size_t> counts{l.at.size()};
    for (const Layout& k : all)
      if (counts.size() < 3 && (rotation.empty() || k.turn == l.turn) && counts.insert(k.at.size()).second)
        c.others.push_back(
            {k.words(), fmt::format("{:.2f} a part", k.cost), fmt::format("take.pallet.nests={}", k.at.size())});
    std::set<int> seen{l.turn};
    for (const Layout& k : all)
      if (seen.size() < 3 && (nests.empty() || k.at.size() == l.at.size()) && seen.insert(k.turn).second)
        c.others.push_back({k.words(),
                            fmt::format("{:.2f} a part on a plate of {} by {}", k.cost,
                                        length_text(k.plate_x, scene_.inch), length_text(k.plate_y, scene_.inch)),
                            fmt::format("take.pallet.rotation={} deg", k.turn)});
  }

  /// Per part: what is not cutting over the parts of a cycle, and what pallets cost over a year's parts.
  double cost(const Layout& l) const {
    const std::string week = answer(scene_, "per_week");
    const double parts_a_year =
        weeks * std::max(1.0, d_.plan.demand.per_week.known() ? d_.plan.demand.per_week.si
                                                              : base::to_double(week).value_or(100));
    const double hour = machine_ != nullptr && machine_->rate.known() ? machine_->rate.si : rate;
    const double idle = (tools * tool_change + swap + probe) / l.parts() / 3600 * hour;
    return idle + 2.0 * l.pallets * (pallet_price + price_of_area * l.plate_x * l.plate_y) / parts_a_year;
  }

  /// The thinnest stock plate that is not too slender, else the thickest; the next ones each way are runners-up.
  double thickness(const Layout& l, Draft& d, double density) const {
    const double longest = std::max(l.plate_x, l.plate_y), wish = std::max(0.02, longest / slender);
    std::set<double> stock;
    for (const plan::StockPlate& s : scene_.shop.plates)
      if (s.thickness.known() && s.material.value == d.plan.pallet.plate.material.value) stock.insert(s.thickness.si);
    const bool none = stock.empty();
    if (none) {
      d.assumed.push_back("pallet.plate thickness: no stock plates of " + d.plan.pallet.plate.material.value +
                          " in the shop file ([[stock_plate]])");
      const double step = 5e-3, middle = step * std::ceil(wish / step - 1e-6);
      stock = {middle - step, middle, middle + step};
    }
    auto at = stock.lower_bound(wish - 1e-6);
    if (at == stock.end()) --at;
    const auto reckoned = at;
    const std::string take = answer(scene_, "take.pallet.thickness");
    if (take == "thinner" || take == "thicker") {
      const bool there = take == "thinner" ? at != stock.begin() : std::next(at) != stock.end();
      if (there) at = take == "thinner" ? std::prev(at) : std::next(at);
      else
        d.clashes.push_back({{"the plate is " + take, "it is bought as stock"},
                             fmt::format("no stock plate of {} is {} than {}", d.plan.pallet.plate.material.value, take,
                                         length_text(*at, scene_.inch))});
    }
    const auto loaded = [&](double t) {
      return 1.1 * density * l.plate_x * l.plate_y * t + static_cast<double>(l.at.size()) * part_mass_;
    };
    const auto beside = [&](double t) {
      const double gives = std::pow(*at / t, 3);
      return fmt::format("bends {:.2f} times as much, and weighs {:.0f} kg loaded instead of {:.0f} kg", gives,
                         loaded(t), loaded(*at));
    };
    const bool thin = *at < wish - 1e-6;
    Choice c{
        "pallet",
        "pallet.plate",
        fmt::format("{} thick", length_text(*at, scene_.inch)),
        fmt::format("its length is {:.0f} times that, {} at most {:.0f}{}; it weighs {:.0f} kg loaded; bending goes "
                    "with the third power of the thickness, weight with the first",
                    longest / *at, thin ? "and should be" : "wished", slender,
                    at != reckoned ? "; taken by the answer take.pallet.thickness"
                    : thin         ? "; nothing thicker is in stock"
                                   : "",
                    loaded(*at)),
        "common practice",
        {}};
    const auto other = [&](const std::set<double>::const_iterator& k, const char* word) {
      const bool back = k == reckoned;
      c.others.push_back({length_text(*k, scene_.inch), beside(*k),
                          fmt::format("take.pallet.thickness={}", back ? "as reckoned" : word)});
    };
    if (at != stock.begin()) other(std::prev(at), "thinner");
    if (std::next(at) != stock.end()) other(std::next(at), "thicker");
    // From a plate that an answer took, only the way back can be had.
    if (at != reckoned)
      for (Alternative& o : c.others)
        if (o.take != "take.pallet.thickness=as reckoned")
          o.take.clear(), o.no_answer = "an answer asks for the thickness already; first the way back";
    d.choices.push_back(std::move(c));
    return *at;
  }

  const Scene& scene_;
  const Draft& d_;
  std::array<double, 2> finished_{}, raw_{};
  maths::Polygon outline_;
  Pieces pieces_, rings_;
  bool boxy_ = false;
  double cutter_ = 0, part_mass_ = 0;
  const plan::Machine* machine_ = nullptr;
};

}  // namespace

std::vector<Draft> pallets(const Scene& scene, const Draft& draft, int most) {
  if (draft.pallet_operation.empty() || scene.part == nullptr) return {draft};
  const Layer layer(scene, draft);
  const std::vector<Layout> every = layer.all();
  if (every.empty()) {
    Draft d = draft;
    d.clashes.push_back({{"a pallet carries the part", "the pallet fits the machine"}, layer.why_none()});
    return {std::move(d)};
  }
  const std::string nests = answer(scene, "take.pallet.nests"), rotation = answer(scene, "take.pallet.rotation");
  std::vector<Layout> all;
  for (const Layout& l : every) {
    const bool count = nests.empty() || nests == std::to_string(l.at.size());
    const bool turn = rotation.empty() || rotation == fmt::format("{} deg", l.turn);
    if (count && turn) all.push_back(l);
  }
  if (all.empty()) {
    Draft d = draft;
    Clash clash{{"the pallet fits the machine"},
                "no pallet that the machine reaches all round and a hoist lifts is so"};
    if (!nests.empty()) clash.wishes.push_back(nests + " parts stand on a pallet");
    if (!rotation.empty()) clash.wishes.push_back("parts are turned by " + rotation);
    d.clashes.push_back(std::move(clash));
    return {std::move(d)};
  }
  std::vector<Draft> out;
  std::vector<std::size_t> counts;
  for (const Layout& l : all) {
    if (static_cast<int>(out.size()) >= most) break;
    if (std::find(counts.begin(), counts.end(), l.at.size()) != counts.end()) continue;
    counts.push_back(l.at.size());
    out.push_back(layer.write(l, every));
  }
  return out;
}

}  // namespace fettle::begin
