// How many parts stand on a pallet and how: nests, plate, anchors, how many pallets.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
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
constexpr double weeks = 48, rate = 65;                     ///< a year; per hour, where the shop file says none
constexpr double pallet_price = 300, price_of_area = 1500;  ///< per pallet; per m2 of plate

struct Layout {
  int nx = 1, ny = 1, pallets = 1;
  bool turned = false, staggered = false;
  double pitch_x = 0, pitch_y = 0, plate_x = 0, plate_y = 0, mass = 0, cost = 0;
  std::vector<Vec3> at;
  int parts() const { return static_cast<int>(at.size()) * pallets; }
  std::string words() const {
    return fmt::format("{} on a pallet ({} x {}{}{}), {} pallet{} on the table", at.size(), nx, ny,
                       turned ? ", turned a quarter" : "", staggered ? ", staggered" : "", pallets,
                       pallets == 1 ? "" : "s");
  }
};

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
    middle_ = 0.5 * (scene.part->box.lo + scene.part->box.hi);
    const plan::Feature* outside = plan::find_feature(draft.plan, "outside");
    round_ = outside == nullptr && std::fabs(box.x - box.y) < 1e-4;
    cutter_ = 0;
    const bool cut_outside = outside != nullptr && outside->cast.known();
    for (const plan::Tool& t : scene.shop.tools)
      if (cut_outside && t.kind.value == "end mill" && t.diameter.known() && t.diameter.si <= 20.1e-3)
        cutter_ = std::max(cutter_, t.diameter.si);
    if (cut_outside && cutter_ == 0) cutter_ = 16e-3;
    const plan::Operation* op = plan::find_operation(draft.plan, draft.pallet_operation);
    for (const plan::Machine& m : scene.shop.machines)
      if (op != nullptr && m.id.value == op->machine.value) machine_ = &m;
    part_mass_ = draft.plan.casting.mass.known() ? draft.plan.casting.mass.si
                 : draft.plan.part.mass.known()  ? draft.plan.part.mass.si
                                                 : 0;
  }

  std::vector<Layout> all() const {
    std::vector<Layout> out;
    if (machine_ == nullptr || machine_->travel.value.size() < 3) return out;
    const double tx = std::max(machine_->travel.value[0], machine_->travel.value[1]),
                 ty = std::min(machine_->travel.value[0], machine_->travel.value[1]);
    for (const bool turned : {false, true})
      for (const bool staggered : {false, true})
        for (int nx = 1; nx <= 6; ++nx)
          for (int ny = 1; ny <= 6; ++ny)
            for (int pallets = 1; pallets <= 3; ++pallets) {
              if ((staggered && (!round_ || ny < 2 || nx < 2)) || (turned && round_)) continue;
              Layout l = lay(nx, ny, turned, staggered);
              l.pallets = pallets;
              // The spindle must get round the outermost part; pallets stand side by side along X.
              const double way_x = pallets * l.plate_x - 2 * rim, way_y = l.plate_y - 2 * rim;
              if (way_x > tx || way_y > ty || l.mass > heaviest) continue;
              l.cost = cost(l);
              out.push_back(std::move(l));
            }
    std::stable_sort(out.begin(), out.end(), [](const Layout& a, const Layout& b) { return a.cost < b.cost; });
    return out;
  }

  Draft write(const Layout& l, const std::vector<Layout>& all) const {
    Draft d = d_;
    plan::Pallet& p = d.plan.pallet;
    const bool inch = scene_.inch;
    const double t = thickness(l, d);
    p.defined.value = true, p.defined.origin = plan::Origin::given;
    give(p.name, fmt::format("{}-up", l.at.size()));
    give(p.plate.size, {l.plate_x, l.plate_y, t}, inch);
    if (!p.plate.material.known()) give(p.plate.material, "EN AW-5083");
    for (const Vec3& at : l.at) {
      plan::Nest n;
      give(n.at, {at}, inch);
      if (l.turned) give(n.turn, unit::Kind::angle, "90 deg");
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
    const auto plate = ref::material(p.plate.material.value);
    const double empty = (plate.ok() ? plate->density.value : 2660) * l.plate_x * l.plate_y * t;
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
    int named = 0;
    for (const Layout& k : all)
      if (k.at.size() != l.at.size() && named < 2) {
        c.others.push_back({k.words(), fmt::format("{:.2f} a part", k.cost)});
        ++named;
      }
    d.choices.push_back(std::move(c));
    d.choices.push_back(
        {"pallet",
         "pallet.plate",
         fmt::format("{} thick", length_text(t, inch)),
         fmt::format("about a {:.0f}th of its length; the study says what thinner and thicker plates give", slender),
         "common practice",
         {}});
    d.assumed.push_back(
        "pallet.anchor: four places, each 10 kN down (5 to 15, from memory), repeat ± 0.005 mm: give the machine's "
        "own");
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
         {{"by hand", "give lift.from and lift.to by tape and the study says whether a person may"}}});
    d.assumed.push_back("lift: a hoist of " + lift.capacity.typed + " stands at the machine: say what is there");
    d.plan.lifts.push_back(std::move(lift));
  }

  std::string why_none() const {
    if (machine_ == nullptr) return "no machine with travels is named for the pallets";
    const Layout one = lay(1, 1, false, false);
    return fmt::format("a pallet for one part is {} by {}, machine {} travels {}",
                       length_text(one.plate_x, scene_.inch), length_text(one.plate_y, scene_.inch), machine_->id.value,
                       machine_->travel.typed);
  }

 private:
  static void count(plan::Integer& v, int n) {
    v.value = n, v.origin = plan::Origin::given, v.typed = std::to_string(n);
  }

  Layout lay(int nx, int ny, bool turned, bool staggered) const {
    Layout l;
    l.nx = nx, l.ny = ny, l.turned = turned, l.staggered = staggered;
    const std::size_t x = turned ? 1 : 0, y = turned ? 0 : 1;
    const auto pitch = [&](std::size_t i) {
      return 1e-3 * std::ceil(1e3 * (0.5 * finished_[i] + cutter_ + clearance + 0.5 * raw_[i]) - 1e-9);
    };
    l.pitch_x = pitch(x), l.pitch_y = pitch(y);
    if (staggered) l.pitch_y = 1e-3 * std::ceil(1e3 * l.pitch_x * std::sqrt(0.75));
    const double more = staggered ? 0.5 * l.pitch_x : 0;
    const auto plate = [&](int n, double p, std::size_t i, double extra) {
      return 5e-3 * std::ceil(200 * ((n - 1) * p + extra + raw_[i] + 2 * cutter_ + 2 * rim) - 1e-9);
    };
    l.plate_x = plate(nx, l.pitch_x, x, more), l.plate_y = plate(ny, l.pitch_y, y, 0);
    // The part's origin stands in the nest; its outline's middle may lie beside it.
    const Vec3 off = turned ? Vec3{-middle_.y, middle_.x, 0} : Vec3{middle_.x, middle_.y, 0};
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const double shift = staggered ? (j % 2 == 0 ? -0.25 : 0.25) * l.pitch_x : 0;
        l.at.push_back({(i - 0.5 * (nx - 1)) * l.pitch_x + shift - off.x, (j - 0.5 * (ny - 1)) * l.pitch_y - off.y, 0});
      }
    l.mass = 1.1 * 2660 * l.plate_x * l.plate_y * std::max(0.02, l.plate_x / slender) +
             static_cast<double>(l.at.size()) * part_mass_;
    return l;
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

  double thickness(const Layout& l, Draft& d) const {
    const double wish = std::max(0.02, std::max(l.plate_x, l.plate_y) / slender);
    double best = 0, most = 0;
    for (const plan::StockPlate& s : scene_.shop.plates) {
      if (s.material.value != "EN AW-5083" && s.material.value != d.plan.pallet.plate.material.value) continue;
      most = std::max(most, s.thickness.si);
      if (s.thickness.si >= wish - 1e-6 && (best == 0 || s.thickness.si < best)) best = s.thickness.si;
    }
    if (best > 0) return best;
    if (most > 0) return most;
    d.assumed.push_back("pallet.plate thickness: no stock plates in the shop file ([[plate]])");
    return 5e-3 * std::ceil(wish * 200);
  }

  const Scene& scene_;
  const Draft& d_;
  std::array<double, 2> finished_{}, raw_{};
  Vec3 middle_;
  bool round_ = false;
  double cutter_ = 0, part_mass_ = 0;
  const plan::Machine* machine_ = nullptr;
};

}  // namespace

std::vector<Draft> pallets(const Scene& scene, const Draft& draft, int most) {
  if (draft.pallet_operation.empty() || scene.part == nullptr) return {draft};
  const Layer layer(scene, draft);
  const std::vector<Layout> all = layer.all();
  if (all.empty()) {
    Draft d = draft;
    d.clashes.push_back({{"a pallet carries the part", "the pallet fits the machine"}, layer.why_none()});
    return {std::move(d)};
  }
  std::vector<Draft> out;
  std::vector<std::size_t> counts;
  for (const Layout& l : all) {
    if (static_cast<int>(out.size()) >= most) break;
    if (std::find(counts.begin(), counts.end(), l.at.size()) != counts.end()) continue;
    counts.push_back(l.at.size());
    out.push_back(layer.write(l, all));
  }
  return out;
}

}  // namespace fettle::begin
