// Where the part sits on the pallet: two pins, which of them is relieved, pads, screws, the trough.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/lugs.h"
#include "begin/propose/nest_fit.h"
#include "begin/propose/route.h"
#include "begin/propose/written.h"
#include "calc/locating/pin_fit.h"
#include "calc/run_off/run_off.h"
#include "plan/read.h"
#include "ref/fits.h"
#include "ref/materials.h"
#include "ref/threads.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

// Common practice, from memory.
constexpr double pitch_of_pins = 10e-6;  ///< m, what a jig borer holds between two pins, either way
constexpr double land_spread = 8e-6;     ///< m, between the limits of a ground land
constexpr double spare_kept = 2e-6;      ///< m, of play left when everything is at its worst
constexpr double land_share = 0.2;       ///< width of a land over the hole's diameter
constexpr double warm_low = 293.15, warm_high = 303.15;
constexpr double preload_share = 0.65;  ///< of the proof load that a screw of a pallet is tightened to
constexpr double pad_diameter = 12e-3;

struct HoleAt {
  std::string reference;
  const plan::Feature* feature = nullptr;
  Vec3 at;
  locating::Size size;
};

HoleAt hole(const plan::Plan& p, const std::string& reference) {
  HoleAt out;
  const plan::Reference r = plan::parse_reference(reference);
  out.reference = reference;
  out.feature = plan::find_feature(p, r.id);
  if (out.feature == nullptr || out.feature->at.value.empty()) return out;
  const auto n = out.feature->at.value.size();
  out.at = out.feature->at.value[std::min<std::size_t>(r.index > 0 ? static_cast<std::size_t>(r.index - 1) : 0, n - 1)];
  unit::Limits l = out.feature->diameter.value;
  for (const plan::Requirement* q : requirements_on(p, r.id))
    if (q->kind.value == "size" && q->limits.value.lower && q->limits.value.upper) l = q->limits.value;
  const double d = diameter_of(*out.feature);
  // A hole without limits is reamed H7: the drawing does not say, a pin needs it.
  if (!l.lower || !l.upper) {
    const auto dev = ref::deviations(d, {"H", 7});
    l.lower = d + (dev.ok() ? dev->lower : 0), l.upper = d + (dev.ok() ? dev->upper : 15e-6);
  }
  out.size = {*l.lower, *l.upper, {}, {}};
  return out;
}

double expansion_of(const plan::Plan& p, const std::string& material, double otherwise) {
  if (&material == &p.part.material.value && p.part.expansion.known()) return p.part.expansion.si;
  const auto m = ref::material(material);
  return m.ok() ? m->expansion.value : otherwise;
}

/// The half width of what the drawing leaves between two holes; none: what one clamping gives.
double span_half(const plan::Plan& p, const HoleAt& a, const HoleAt& b) {
  for (const plan::Requirement& r : p.requirements) {
    if (r.kind.value != "distance" || !r.limits.value.lower || !r.limits.value.upper) continue;
    const std::string x = plan::parse_reference(r.feature.value).id,
                      y = r.to.known() ? plan::parse_reference(r.to.value).id : "";
    const std::string i = a.feature->id.value, j = b.feature->id.value;
    if ((x == i && y == j) || (x == j && y == i)) return 0.5 * (*r.limits.value.upper - *r.limits.value.lower);
  }
  return 15e-6;
}

/// What the closest features of the pallet operation feel, for round pin in `a` and relieved pin in `b`.
struct Fitted {
  bool ok = false;
  std::string why;
  double land_high = 0, worst = 0, spare = 0;
  std::string worst_feature;
  double worst_share = 0;                             ///< of the closest zone of a feature that play alone takes
  std::vector<std::pair<std::string, double>> moves;  ///< by feature, m, the largest share of its zone first
  locating::PinFitInputs in;
};
Fitted fitted(const plan::Plan& p, const HoleAt& a, const HoleAt& b, const plan::Operation& op,
              const std::string& plate) {
  Fitted out;
  locating::PinFitInputs& in = out.in;
  in.round_hole = a.size, in.relieved_hole = b.size;
  const auto g6 = ref::deviations(std::round(a.size.low * 1e4) / 1e4, {"g", 6});
  if (!g6.ok()) {
    out.why = say(g6.problem());
    return out;
  }
  const double nominal = std::round(a.size.low * 1e4) / 1e4;
  in.round_pin = {nominal + g6->lower, nominal + g6->upper, {}, {}};
  const double w = std::round(land_share * b.size.low * 1e4) / 1e4;
  in.land_width = {w, w, {}, {}};
  in.land = {b.size.low - 30e-6 - land_spread, b.size.low - 30e-6, {}, {}};
  const double span = std::hypot(a.at.x - b.at.x, a.at.y - b.at.y), half = span_half(p, a, b);
  in.part_span = {span - half, span + half, {}, {}};
  in.pallet_span = {span - pitch_of_pins, span + pitch_of_pins, {}, {}};
  in.round_at = a.at, in.relieved_at = b.at;
  in.warmth = {warm_low,
               warm_high,
               293.15,
               293.15,
               expansion_of(p, plate, 23e-6),
               expansion_of(p, p.part.material.value, 10.5e-6),
               11.5e-6};
  for (const std::string& id : op.makes.value)
    if (const plan::Feature* f = plan::find_feature(p, plan::parse_reference(id).id);
        f != nullptr && closest(p, f->id.value) < 0.3e-3)
      for (const Vec3& at : f->at.value) in.features.push_back({f->id.value, at, {}});
  auto first = locating::pin_fit(in);
  if (!first.ok()) {
    out.why = say(first.problem());
    return out;
  }
  if (!first->largest_land) {
    out.why = "no land goes on at every temperature: the spans scatter more than the round pin's play";
    return out;
  }
  out.land_high = std::floor((std::min(*first->largest_land, b.size.low - 4e-6) - spare_kept) * 1e6) / 1e6;
  in.land = {out.land_high - land_spread, out.land_high, {}, {}};
  const auto x = locating::pin_fit(in);
  if (!x.ok()) {
    out.why = say(x.problem());
    return out;
  }
  out.spare = x->spare;
  std::vector<std::pair<double, std::pair<std::string, double>>> shares;
  for (const auto& f : x->features) {
    if (f.worst_distance > out.worst) out.worst = f.worst_distance, out.worst_feature = f.name;
    const double share = f.worst_distance / closest(p, f.name);
    out.worst_share = std::max(out.worst_share, share);
    const auto same =
        std::find_if(shares.begin(), shares.end(), [&](const auto& s) { return s.second.first == f.name; });
    if (same == shares.end()) shares.push_back({share, {f.name, f.worst_distance}});
    else if (share > same->first) *same = {share, {f.name, f.worst_distance}};
  }
  std::stable_sort(shares.begin(), shares.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  for (auto& s : shares) out.moves.push_back(std::move(s.second));
  out.ok = true;
  return out;
}

/// "H5 0.0257 mm, H1b 0.0141 mm": what play alone does to the closest features, the worst first.
std::string map_words(const Fitted& f, bool inch) {
  std::vector<std::string> words;
  for (std::size_t i = 0; i < f.moves.size() && i < 4; ++i)
    words.push_back(f.moves[i].first + " " + shown_length(f.moves[i].second, inch));
  return words.empty() ? "no close feature" : base::join(words, ", ");
}

class SeatWriter {
 public:
  SeatWriter(const Scene& scene, Draft draft) : scene_(scene), d_(std::move(draft)) {}

  bool pins() {
    plan::Plan& p = d_.plan;
    const plan::Operation* op = plan::find_operation(p, d_.pallet_operation);
    if (op == nullptr || d_.pins.size() != 2) return false;
    HoleAt a = hole(p, d_.pins[0]), b = hole(p, d_.pins[1]);
    const Fitted one = fitted(p, a, b, *op, plate_), two = fitted(p, b, a, *op, plate_);
    const bool reckoned = one.ok && (!two.ok || one.worst_share <= two.worst_share + 1e-9);
    const bool swapped = answer(scene_, "take.seat.pins") == "swapped", straight = reckoned != swapped;
    if (!straight) std::swap(a, b);
    const Fitted &now = straight ? one : two, &other = straight ? two : one;
    if (!now.ok) {
      std::vector<std::string> wishes{"pins in " + d_.pins[0] + " and " + d_.pins[1]};
      if (swapped) wishes.emplace_back("take.seat.pins = swapped");
      d_.clashes.push_back({std::move(wishes), now.why});
      return false;
    }
    give(p.pallet.plate.material, plate_);
    pin("round", "round", a.reference, fmt::format("{} g6", size_text(std::round(a.size.low * 1e4) / 1e4)), now);
    pin("relieved", "relieved", b.reference, "", now);
    const double span = std::hypot(a.at.x - b.at.x, a.at.y - b.at.y);
    give(p.pallet.pin_span, fmt::format("{} ± {}", bare(span), length_text(pitch_of_pins, scene_.inch)));
    const double turn = std::atan2(b.at.y - a.at.y, b.at.x - a.at.x) * 180 / 3.14159265358979323846;
    Choice c{"seat",
             "pallet.pin",
             fmt::format("round pin in {}, relieved pin in {}", a.reference, b.reference),
             fmt::format(
                 "relieved along the line from {} to {}, {} long at {:.1f}° from X, its land stands across; play "
                 "alone moves {}; {} of play is left with everything at its worst{}",
                 a.reference, b.reference, length_text(std::round(span * 1e5) / 1e5, scene_.inch), turn,
                 map_words(now, scene_.inch), shown_length(now.spare, scene_.inch), swapped ? "; taken as asked" : ""),
             swapped ? "answer" : "pin fit",
             {}};
    if (other.ok)
      c.others.push_back({"the other way round", fmt::format("play then moves {}", map_words(other, scene_.inch)),
                          swapped ? "take.seat.pins=as reckoned" : "take.seat.pins=swapped"});
    else c.others.push_back({"the other way round", other.why, "", "it does not go on"});
    other_holes(*op, now, c);
    d_.choices.push_back(std::move(c));
    d_.assumed.push_back(
        fmt::format("pallet.pin_span ± {}, land ground to {}: from memory; the plate 20 to 30 °C in the run",
                    shown_length(pitch_of_pins, scene_.inch), shown_length(land_spread, scene_.inch)));
    give(p.pallet.temperature_low, unit::Kind::temperature, "20 °C");
    give(p.pallet.temperature_high, unit::Kind::temperature, "30 °C");
    return true;
  }

  /// The next best pair of holes, and holes that looked fit and are not.
  void other_holes(const plan::Operation& op, const Fitted& now, Choice& c) const {
    const plan::Plan& p = d_.plan;
    std::vector<PinHole> may;
    std::vector<std::string> no;
    for (PinHole& h : pin_holes(scene_, p, opposite(direction_index(op.up.value)))) {
      if (h.reference == d_.pins[0] || h.reference == d_.pins[1]) continue;
      if (!h.no.empty()) no.push_back(h.reference + ": " + h.no);
      else if (made_before(plan::parse_reference(h.reference).id)) may.push_back(std::move(h));
    }
    for (const std::string& id : d_.pins)  // one of ours with another, too
      for (PinHole& h : pin_holes(scene_, p, opposite(direction_index(op.up.value))))
        if (h.reference == id) may.push_back(std::move(h));
    std::string best;
    Fitted least;
    for (std::size_t i = 0; i < may.size(); ++i)
      for (std::size_t j = i + 1; j < may.size(); ++j) {
        const bool ours = j + 2 >= may.size() && i + 2 >= may.size();
        if (ours || std::hypot(may[i].at.x - may[j].at.x, may[i].at.y - may[j].at.y) < 0.02) continue;
        const bool screws = std::any_of(d_.screws.begin(), d_.screws.end(), [&](const std::string& s) {
          return s == plan::parse_reference(may[i].reference).id || s == plan::parse_reference(may[j].reference).id;
        });
        if (screws || may.size() > 14) continue;  // the screws need theirs; too many pairs say nothing
        const Fitted f = fitted(p, hole(p, may[i].reference), hole(p, may[j].reference), op, plate_);
        if (f.ok && (best.empty() || f.worst_share < least.worst_share - 1e-9))
          best = may[i].reference + ", " + may[j].reference, least = f;
      }
    if (!best.empty())
      c.others.push_back({"pins in " + best,
                          fmt::format("play then moves {}{}", map_words(least, scene_.inch),
                                      least.worst_share < now.worst_share ? ", less; the drawing holds these holes no "
                                                                            "closer, or they lie nearer together"
                                                                          : ""),
                          "take.seat.holes=" + best});
    if (!no.empty()) {
      if (no.size() > 3) no.resize(3);
      c.others.push_back({"holes that carry no pin", base::join(no, "; "), "", "none of these carries one"});
    }
  }
  bool made_before(const std::string& id) const {
    for (const plan::Operation& o : d_.plan.operations) {
      if (o.id.value == d_.pallet_operation) return false;
      if (std::find(o.makes.value.begin(), o.makes.value.end(), id) != o.makes.value.end()) return true;
    }
    return false;
  }

  /// Where the outside or a boss is cut with the screws in place, their heads (with washers twice the thread wide)
  /// leave the tool room at the part's edge and between them and the boss.
  bool heads_clear(const plan::Feature& through, double major) const {
    constexpr double room = 1.5e-3, least_mill = 6e-3;  // m; the study asks 1 mm; a mill stiff enough, common practice
    const plan::Operation* op = plan::find_operation(d_.plan, d_.pallet_operation);
    if (op == nullptr || scene_.part == nullptr) return true;
    const auto clear = [&](const plan::Feature& cut, const Vec3& at) {
      if (cut.kind.value == "profile") return inside(outline_from_above(*scene_.part), {at.x, at.y}, major + room);
      if (cut.kind.value != "boss" || cut.at.value.empty() || cut.normal.value.find('z') == std::string::npos)
        return true;
      const double far = std::hypot(at.x - cut.at.value[0].x, at.y - cut.at.value[0].y), r = 0.5 * diameter_of(cut);
      return far < r ? r - far >= major + room : far - r >= major + room + least_mill;
    };
    return std::all_of(op->makes.value.begin(), op->makes.value.end(), [&](const std::string& m) {
      const plan::Feature* f = plan::find_feature(d_.plan, plan::parse_reference(m).id);
      return f == nullptr || std::all_of(through.at.value.begin(), through.at.value.end(),
                                         [&](const Vec3& at) { return clear(*f, at); });
    });
  }
  void screws() {
    plan::Plan& p = d_.plan;
    for (const std::string& id : d_.screws) {
      const plan::Feature* f = plan::find_feature(p, id);
      if (f == nullptr) continue;
      const ref::ThreadData *best = nullptr, *next = nullptr;  // the largest, and the one below
      const double d = diameter_of(*f);
      for (const bool edge : {true, false}) {
        if (best != nullptr) break;
        for (const ref::ThreadData& t : ref::thread_table()) {
          const bool mine =
              scene_.inch ? t.series == "UNC" : t.system == unit::Thread::System::metric && t.series == "coarse";
          const double clear = t.clear_medium ? *t.clear_medium : 1.1 * t.major;
          if (!mine || clear > d + 1e-6 || t.major > 12.8e-3 || t.major < 4.9e-3) continue;
          if (edge && !heads_clear(*f, t.major)) continue;
          if (edge && 1.5 * t.major < d + 0.9e-3) {  // its head may fall through: a runner-up at best, with a washer
            if (next == nullptr || t.major > next->major) next = &t;
            continue;
          }
          if (best == nullptr) best = &t;
          else if (t.major > best->major) next = best, best = &t;
          else if (next == nullptr || t.major > next->major) next = &t;
        }
      }
      if (best == nullptr) continue;
      const bool smaller = answer(scene_, "take.seat.screws") == "smaller" && next != nullptr;
      if (smaller) std::swap(best, next);
      plan::NestScrew s;
      const auto thread = unit::parse_thread(base::split(best->designation, 'x').front());
      const std::string name = scene_.inch ? best->designation : base::split(best->designation, 'x').front();
      s.thread.typed = name, s.thread.origin = plan::Origin::given;
      if (thread.ok()) s.thread.value = *thread;
      give(s.strength, "12.9");
      give(s.through, id);
      give(s.lubrication, "oiled");
      give(s.wrench_scatter, unit::Kind::fraction, "6 %");
      const double grip = length_of(*f), washer = 0.2 * best->major, engaged = 1.5 * best->major;
      const double step = scene_.inch ? 0.25 * 0.0254 : 5e-3;
      const double length = step * std::ceil((grip + washer + engaged) / step - 1e-9);
      give_length(s.length, length, scene_.inch);
      give_length(s.engaged, std::round(engaged * 1e4) / 1e4, scene_.inch);
      give(s.insert, "steel insert");
      const auto strength = ref::strength("12.9", best->major);
      // T = K d F with K 0.15 for oiled steel; from memory, the study takes its own scatter.
      const double torque =
          strength.ok() ? 0.15 * best->major * preload_share * strength->proof * best->stress_area : 0;
      if (torque > 0) give(s.torque, unit::Kind::torque, base::shortest(std::round(torque)) + " N·m");
      Choice c{"seat",
               "pallet.screw",
               fmt::format("{} x {} 12.9 through {}, {}", name, length_text(length, scene_.inch), id, s.torque.typed),
               fmt::format("{} that {} lets pass, to {:.0f} % of its proof load",
                           smaller ? "as asked, one below the largest screw" : "the largest screw",
                           length_text(d, scene_.inch), 100 * preload_share),
               smaller ? "answer" : "common practice",
               {}};
      if (!d_.lugs.empty() && lugs_asked(scene_))
        c.others.push_back({own_screws, "lugs were asked for", "take.seat.screws=as reckoned"});
      else if (d_.lugs.empty()) c.others.push_back({lug_words, "the foundry's pattern and one more cut", {}, {}, true});
      if (next != nullptr && d_.lugs.empty())
        c.others.push_back({base::split(next->designation, 'x').front(),
                            fmt::format("it holds {:.0f} % of the force", 100 * next->stress_area / best->stress_area),
                            smaller ? "take.seat.screws=largest" : "take.seat.screws=smaller"});
      if (cut_all_round(scene_, d_))
        c.others.push_back(
            {"straps over the rim", "they stand where the outside is cut", "", "the cutter goes round there"});
      d_.choices.push_back(std::move(c));
      p.pallet.screws.push_back(std::move(s));
    }
  }

  void pads() {
    plan::Plan& p = d_.plan;
    const plan::Operation* op = plan::find_operation(p, d_.pallet_operation);
    if (op == nullptr) return;
    const int down = opposite(direction_index(op->up.value));
    const Vec3 lo = scene_.part->box.lo, hi = scene_.part->box.hi;
    std::vector<std::array<double, 3>> mouths;  // x, y, radius
    for (const plan::Feature& f : p.features) {
      const std::string& k = f.kind.value;
      if (k == "profile" || k == "face" || k == "boss") continue;  // metal, not a hollow
      const auto from = access(scene_, p, f);
      if (std::find(from.begin(), from.end(), down) == from.end()) continue;
      for (const Vec3& at : f.at.value)
        mouths.push_back(
            {at.x, at.y, std::max(0.5 * diameter_of(f), 0.5 * std::hypot(nominal_of(f.width), nominal_of(f.length)))});
    }
    const double corner = plan::find_feature(p, "outside") != nullptr ? plan::find_feature(p, "outside")->radius.si : 0;
    const double margin = 0.5 * pad_diameter + 2e-3 + 0.3 * corner;
    const Pieces outline = pieces_from_above(*scene_.part);
    const auto free = [&](double x, double y) {
      if (!carries(outline, {x, y}, 0.5 * pad_diameter)) return false;  // the box's corners and hollows are empty
      if (x < lo.x + margin || x > hi.x - margin || y < lo.y + margin || y > hi.y - margin) return false;
      return std::all_of(mouths.begin(), mouths.end(), [&](const auto& m) {
        return std::hypot(x - m[0], y - m[1]) >= m[2] + 0.5 * pad_diameter + 1e-3;
      });
    };
    const double step = 1e-3 * std::max(1.0, std::round(1e3 * std::max(hi.x - lo.x, hi.y - lo.y) / 140));
    std::vector<Vec3> spots;
    for (double x = std::ceil(lo.x / step) * step; x <= hi.x; x += step)
      for (double y = std::ceil(lo.y / step) * step; y <= hi.y; y += step)
        if (free(x, y)) spots.push_back({x, y, 0});
    std::vector<Vec3> chosen;
    const auto take_near = [&](double x, double y, double apart) {
      const Vec3* best = nullptr;
      double least = INFINITY;
      for (const Vec3& s : spots) {
        const bool far = std::all_of(chosen.begin(), chosen.end(),
                                     [&](const Vec3& c) { return std::hypot(c.x - s.x, c.y - s.y) >= apart; });
        const double d = std::hypot(s.x - x, s.y - y);
        if (far && d < least - 1e-9) least = d, best = &s;
      }
      if (best != nullptr) chosen.push_back(*best);
    };
    // Two beside every screw, so that none bends the part over a gap; then the corners.
    for (const Lug& l : d_.lugs)
      for (const Vec3& at : pads_under(l, lug_hole(), pad_diameter)) chosen.push_back(at);
    for (const std::string& id : d_.screws)
      if (const plan::Feature* f = plan::find_feature(p, id); f != nullptr && d_.lugs.empty())
        for (const Vec3& at : f->at.value)
          for (const double s : {-1.0, 1.0})
            take_near(at.x, at.y + s * (0.5 * diameter_of(*f) + pad_diameter), pad_diameter);
    for (const double sx : {-1.0, 1.0})
      for (const double sy : {-1.0, 1.0}) take_near(sx > 0 ? hi.x : lo.x, sy > 0 ? hi.y : lo.y, 2 * pad_diameter);
    plan::Pad pad;
    give(pad.at, chosen, scene_.inch);
    give_length(pad.diameter, scene_.inch ? 0.5 * 0.0254 : pad_diameter, scene_.inch);
    d_.choices.push_back(
        {"seat",
         "pallet.pad",
         fmt::format("{} pads", chosen.size()),
         "two beside every screw, so that none bends the part over a gap, and the corners; clear of every hole",
         "common practice",
         {{"the whole face",
           "one chip anywhere lifts it, and nothing drains",
           {},
           "where a whole face touches, no study can say"}}});
    p.pallet.pads.push_back(std::move(pad));
  }

  void run_off() {
    plan::Plan& p = d_.plan;
    const plan::Operation* op = plan::find_operation(p, d_.pallet_operation);
    const plan::Feature* widest = nullptr;
    const int down = op == nullptr ? 5 : opposite(direction_index(op->up.value));
    for (const plan::Feature& f : p.features) {
      if (!hole_like(f) || f.at.value.size() != 1) continue;
      const auto from = access(scene_, p, f);
      if (std::find(from.begin(), from.end(), down) == from.end()) continue;
      if (widest == nullptr || diameter_of(f) > diameter_of(*widest)) widest = &f;
    }
    if (widest == nullptr || diameter_of(*widest) < 12e-3) return;
    plan::RunOff r;
    const double wide = std::ceil((diameter_of(*widest) + 2e-3) * 500) / 500;
    give_length(r.width, wide, scene_.inch);
    // Behind the place where it falls in, coolant stands sqrt(3) times as deep as where it falls out; a tenth more.
    const double stands = std::sqrt(3.0) * run_off::critical_depth(3e-3 / 60, wide),
                 step = scene_.inch ? 1.27e-3 : 1e-3;
    give_length(r.depth, step * std::ceil(std::max(10e-3, 1.1 * stands) / step), scene_.inch);
    give(r.along, "y");
    give(r.slope, unit::Kind::angle, "2 deg");
    give_length(r.closed_end, scene_.inch ? 0.5 * 0.0254 : 12e-3, scene_.inch);
    give_length(r.exit_diameter, wide, scene_.inch);
    give(r.flow, unit::Kind::flow, "3 L/min");
    give(r.jet, unit::Kind::flow, "3 L/min");
    d_.assumed.push_back(
        "pallet.run_off flow 3 L/min (2 to 6) and jet 3 L/min (2.3 to 6) from a nozzle of 6 mm: from memory; bucket "
        "and "
        "stopwatch, and is there a nozzle?");
    d_.choices.push_back(
        {"seat",
         "pallet.run_off",
         fmt::format("a trough {} wide and {} deep below {}, falling 2 degrees, with a rinsing jet along it",
                     length_text(wide, scene_.inch), length_text(r.depth.si, scene_.inch), widest->id.value),
         "chips and coolant of the through bore must leave, away from finished bores; 3 L/min alone leave coarse "
         "grains",
         "common practice",
         {{"a flat trough", "fine iron settles in it and cements", {}, "it breaks the rule fines_cement"}}});
    p.pallet.run_offs.push_back(std::move(r));
  }

  Draft take() { return std::move(d_); }

 private:
  double lug_hole() const {
    const plan::Feature* f = plan::find_feature(d_.plan, lug_holes);
    return f != nullptr ? diameter_of(*f) : 0;
  }
  std::string bare(double si) const { return base::fixed(si / (scene_.inch ? 0.0254 : 1e-3), scene_.inch ? 4 : 2); }
  std::string size_text(double si) const {
    return scene_.inch ? base::fixed(si / 0.0254, 4) + " in" : base::shortest(std::round(si * 1e6) / 1e3);
  }
  void pin(const char* id, const char* kind, const std::string& in, const std::string& diameter, const Fitted& f) {
    plan::Pin pin;
    give(pin.id, id);
    give(pin.kind, kind);
    give(pin.in, in);
    if (!diameter.empty() && !scene_.inch) give(pin.diameter, diameter);
    else if (!diameter.empty()) give(pin.diameter, limits(f.in.round_pin));
    else {
      give(pin.land, limits(f.in.land));
      give_length(pin.land_width, f.in.land_width.low, scene_.inch);
    }
    const double height = std::round(0.4 * f.in.round_hole.low * 1e4) / 1e4;
    give_length(pin.height, std::min(height, 4e-3), scene_.inch);
    d_.plan.pallet.pins.push_back(std::move(pin));
  }
  std::string limits(const locating::Size& s) const {
    return scene_.inch ? fmt::format("{}..{} in", base::fixed(s.low / 0.0254, 5), base::fixed(s.high / 0.0254, 5))
                       : fmt::format("{}..{} mm", base::fixed(s.low * 1e3, 3), base::fixed(s.high * 1e3, 3));
  }

  const Scene& scene_;
  Draft d_;
  std::string plate_ = "EN AW-5083";
};

}  // namespace

namespace {

Draft seated(const Scene& scene, Draft draft) {
  SeatWriter w(scene, std::move(draft));
  if (w.pins()) {
    w.screws();
    w.pads();
    w.run_off();
  }
  Draft out = w.take();
  say_lugs(scene, out);
  return out;
}

/// It also goes on its pins another way round, can be clamped so, and harms: what the study says of it; empty: no.
std::string goes_on_wrong(const Scene& scene, const Draft& d) {
  study::Memo memo;
  study::Options only = quick_look();
  only.only = {"locating"};
  const auto at = look(scene, d, {}, only, memo);
  if (!at.ok()) return {};
  for (const finding::Finding& f : at->study.findings)
    if (f.question == "loads_one_way" && f.state == finding::State::outside) return f.sentence;
  return {};
}

bool makes(const plan::Operation& o, const std::string& id) {
  return std::any_of(o.makes.value.begin(), o.makes.value.end(),
                     [&](const std::string& m) { return plan::parse_reference(m).id == id; });
}

/// Two holes that were made for pins, of one diameter: the second one smaller, so that it takes no other pin.
std::optional<Draft> unequal(const Scene& scene, const Draft& d) {
  const plan::Reference one = plan::parse_reference(d.pins[0]), two = plan::parse_reference(d.pins[1]);
  if (one.id != two.id || !base::starts_with(one.id, "N")) return std::nullopt;
  Draft out = d;
  for (std::size_t i = 0; i < out.plan.features.size(); ++i) {
    plan::Feature& f = out.plan.features[i];
    if (f.id.value != one.id || f.at.value.size() != 2) continue;
    plan::Feature other = f;
    const std::vector<Vec3> at = f.at.value;
    f.at = {}, other.at = {}, other.diameter = {};
    give(f.at, {at[0]}, scene.inch);
    give(other.at, {at[1]}, scene.inch);
    give(other.id, "N3");
    give(other.diameter, scene.inch ? "Ø0.2500..0.2506 in" : "Ø6.0000..6.0120 mm");
    for (plan::Operation& o : out.plan.operations)
      if (makes(o, f.id.value)) give(o.makes, "N3");
    out.pins = {f.id.value, "N3"};
    out.plan.features.push_back(std::move(other));
    return out;
  }
  return std::nullopt;
}

/// The same draft pinned in other holes of the part that were cut before, those farthest apart first.
std::vector<Draft> pinned_elsewhere(const Scene& scene, const Draft& d) {
  constexpr std::size_t most = 6;
  const plan::Operation* op = plan::find_operation(d.plan, d.pallet_operation);
  if (op == nullptr || !answer(scene, "take.seat.holes").empty() || !answer(scene, "pin_holes").empty()) return {};
  std::vector<PinHole> may;
  for (PinHole& h : pin_holes(scene, d.plan, opposite(direction_index(op->up.value)))) {
    const std::string id = plan::parse_reference(h.reference).id;
    bool before = false;
    for (const plan::Operation& o : d.plan.operations) {
      if (&o == op) break;
      before = before || makes(o, id);
    }
    if (before && h.no.empty()) may.push_back(std::move(h));
  }
  if (may.size() > 14) may.resize(14);
  const Vec3 box = scene.part->box.hi - scene.part->box.lo;
  std::vector<std::pair<double, Draft>> all;
  for (std::size_t i = 0; i < may.size(); ++i)
    for (std::size_t j = i + 1; j < may.size(); ++j) {
      const double span = std::hypot(may[i].at.x - may[j].at.x, may[i].at.y - may[j].at.y);
      if (span < 0.3 * std::hypot(box.x, box.y)) continue;
      Draft other = d;
      other.pins = {may[i].reference, may[j].reference};
      std::erase_if(other.screws, [&](const std::string& s) {
        return s == plan::parse_reference(may[i].reference).id || s == plan::parse_reference(may[j].reference).id;
      });
      if (!other.screws.empty()) all.emplace_back(span, std::move(other));
    }
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<Draft> out;
  for (auto& [span, other] : all)
    if (out.size() < most) out.push_back(std::move(other));
  return out;
}

/// The first choice of holes as a runner-up: named by an answer where the drawing has them.
Alternative pins_elsewhere(const Draft& d, const std::string& wrong) {
  const bool made = std::any_of(d.pins.begin(), d.pins.end(), [](const std::string& p) { return p.front() == 'N'; });
  return {fmt::format("pins in {} and {}", d.pins[0], d.pins[1]), wrong,
          made ? "" : fmt::format("take.seat.holes={}, {}", d.pins[0], d.pins[1]),
          made ? "holes that were made for pins have no name in the drawing" : ""};
}

}  // namespace

std::vector<Draft> seats(const Scene& scene, const Draft& draft, int) {
  if (draft.pallet_operation.empty()) return {draft};
  Draft first = seated(scene, draft);
  if (!first.clashes.empty() || draft.pins.size() != 2) return {std::move(first)};
  const std::string wrong = goes_on_wrong(scene, first);
  if (wrong.empty()) return {std::move(first)};
  std::vector<Draft> others = pinned_elsewhere(scene, draft);
  if (auto smaller = unequal(scene, draft)) others.insert(others.begin(), std::move(*smaller));
  for (Draft& other : others) {
    Draft now = seated(scene, std::move(other));
    if (!now.clashes.empty() || !goes_on_wrong(scene, now).empty()) continue;
    for (Choice& c : now.choices)
      if (c.about == "pallet.pin") c.others.push_back(pins_elsewhere(draft, wrong));
    return {std::move(now)};
  }
  first.disagree.push_back(
      "pins of this part would be placed, or a post set beside them, so that it goes on one way: " + wrong);
  return {std::move(first)};
}

}  // namespace fettle::begin
