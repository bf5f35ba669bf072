// Does the pallet give under the cut? First in micrometres at the cut and yes or no per tool; hertz second.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <future>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "base/text.h"
#include "calc/structure/bow.h"
#include "ref/materials.h"
#include "study/cut_model.h"
#include "study/internal.h"
#include "study/of_one_study.h"
#include "study/plate_model.h"
#include "study/plate_pictures.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;
using Way = CutModel::Way;

namespace {

constexpr const char* source =
    "shear-flexible plate on springs (Mindlin 1951; four-node element after Bathe and Dvorkin 1985), Kienzle forces";
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

struct Spot {
  int nest = 0;
  Vec3 at, feed, out, up;  ///< pallet frame
  std::string words;
};

bool judged(const CutModel& cut) {
  return cut.operation->kind.value == "pallet" && !along_axis(cut.way) && cut.way != Way::chamfer &&
         cut.way != Way::thread_mill;
}

std::vector<Spot> spots_of(const Context& c, const CutModel& cut) {
  std::vector<Spot> out;
  const Vec3 up = direction(cut.operation->up.known() ? cut.operation->up.value : "+z");
  for (int n = 0; n < nest_count(c.plan); ++n)
    for (const CutPlace& p : cut.places)
      out.push_back({n, on_pallet(c.plan, n, p.at), turned_on_pallet(c.plan, n, p.feed),
                     turned_on_pallet(c.plan, n, p.out), turned_on_pallet(c.plan, n, up), p.words});
  return out;
}

/// How far a force at a place moves that place along its own outward direction, m.
double moved_out(const maths::PointResponse& point, const Spot& s, Vec3 force) {
  const auto c = maths::static_compliance(point);
  const Vec3 f = force.x * s.feed + force.y * s.out + force.z * s.up;
  const Vec3 u = {c[0] * f.x + c[1] * f.y + c[2] * f.z, c[3] * f.x + c[4] * f.y + c[5] * f.z,
                  c[6] * f.x + c[7] * f.y + c[8] * f.z};
  return frame::dot(u, s.out);
}

std::vector<PlatePoint> points_of(const std::vector<Spot>& spots) {
  std::vector<PlatePoint> out;
  out.reserve(spots.size());
  for (const Spot& s : spots) out.push_back({s.nest, s.at});
  return out;
}

/// What one tool asks: change of the wall's place (finishing) or its place at all (roughing).
struct Asked {
  bool finish = false;
  double limit = 0;
  std::string of;  ///< in words
};
Asked asked_of(const Context& c, const std::vector<CutModel>& cuts, const CutModel& cut) {
  const std::string& kind = cut.cut->kind.value;
  Asked a;
  a.finish = kind == "finish" || kind == "groove" || kind == "rough and finish" || kind == "bore";
  // What a later cut takes off again is no error of the part; that cut must still find metal.
  for (const CutModel& later : cuts)
    if (later.operation == cut.operation && later.index > cut.index && later.feature == cut.feature &&
        later.stated.width > 0 && later.way != Way::chamfer) {
      a.finish = false;
      a.limit = later.stated.width;
      a.of = fmt::format("what {} has left to take", later.cut->tool.value);
      return a;
    }
  if (a.finish) {
    a.limit = tolerance_on(c.plan, cut.feature) / 3;
    a.of = "a third of the tolerance of what it cuts";
  }
  return a;
}

double value_of(const maths::PointResponse& p, const Spot& s, const Asked& a, const CutForces& hard,
                const CutForces& soft) {
  const double h = moved_out(p, s, hard.mean);
  return a.finish ? 2 * std::fabs(h - moved_out(p, s, soft.mean)) : std::fabs(h);
}

struct Bands {
  int up = -1, side = -1, bonded = -1;
};
Bands assume_plate(Finding& f, const Context& c) {
  Bands b;
  const plan::Anchor& a = c.plan.pallet.anchors.front();
  b.up = assume(f, a.stiffness_up, "stiffness of an anchor upright", "pallet.anchor.stiffness_up");
  b.side = assume(f, a.stiffness_side, "stiffness of an anchor sideways", "pallet.anchor.stiffness_side");
  b.bonded = static_cast<int>(f.assumptions.size());
  finding::Assumption joined;
  joined.name = "parts stiffen the plate: 0 by mass alone, 1 as bonded iron";
  joined.key = "pallet.pad";
  joined.value = joined.low = 0;
  joined.high = 1;
  joined.source = "two bounds; the truth lies between";
  joined.replaced_by = "a tap recording of the loaded pallet";
  f.assumptions.push_back(joined);
  return b;
}
/// At rest few modes are enough: the residual carries the others. Some tell how sure the mesh is where it is cut.
PlateKnobs at_rest(const Context& c) {
  PlateKnobs k = stated_knobs(c);
  k.modes = 8;
  return k;
}
PlateKnobs knobs_at(const Context& c, const Bands& b, const std::vector<double>& v) {
  PlateKnobs k = at_rest(c);
  k.anchor_up = at(v, b.up, k.anchor_up);
  k.anchor_side = at(v, b.side, k.anchor_side);
  k.parts_bonded = at(v, b.bonded, 0) > 0.5;
  return k;
}

std::string hertz(double f) { return fmt::format("{:.0f} Hz", f); }

/// The next thicker plate that can be bought in the same material, m; 0: none.
double next_plate(const plan::Plan& plan) {
  double best = 0;
  const double now = plan.pallet.plate.size.value[2];
  for (const plan::StockPlate& s : plan.shop.plates)
    if (ref::plain_name(s.material.value) == ref::plain_name(plan.pallet.plate.material.value) &&
        s.thickness.si > now + 1e-6 && (best == 0 || s.thickness.si < best))
      best = s.thickness.si;
  return best;
}

/// Small motions in the person's fine unit: micrometres, or millionths of an inch.
std::string fine(const Context& c, double si) {
  if (c.style.system == unit::Style::System::metric && std::fabs(si) < 1e-3) return fmt::format("{:.1f} µm", si * 1e6);
  return unit::print(si, Kind::length, {c.style.system, true});
}

/// A place on the pallet that is tried: no finer than it is meant.
std::string place(const Context& c, Vec3 at) {
  if (c.style.system == unit::Style::System::metric)
    return fmt::format("{:.0f}, {:.0f} mm", at.x * 1e3 + 0.0, at.y * 1e3 + 0.0);
  return fmt::format("{:.1f}, {:.1f} in", at.x / 0.0254 + 0.0, at.y / 0.0254 + 0.0);
}

/// Something that may be added to the pallet, in words.
struct Addition {
  PlateKnobs knobs;
  std::string words;
};

/// Anchors tried over the plate, clear of those that are there; in the middle only when `few`.
std::vector<Addition> anchors_to_try(const Context& c, const PlateKnobs& now, bool few) {
  std::vector<Addition> out;
  const plan::Pallet& p = c.plan.pallet;
  const double length = p.plate.size.value[0], width = p.plate.size.value[1], patch = p.anchors.front().patch.si;
  for (const double u : {0.0, -0.2, 0.2, -0.4, 0.4})
    for (const double v : {0.0, -0.36, 0.36}) {
      if (few && (u != 0 || v != 0)) continue;
      const Vec3 at = {u * length, v * width, 0};
      bool clear = std::fabs(at.x) + patch / 2 <= length / 2 && std::fabs(at.y) + patch / 2 <= width / 2;
      for (const plan::Anchor& a : p.anchors)
        for (const Vec3& old : a.at.value) clear = clear && std::hypot(at.x - old.x, at.y - old.y) > 1.5 * patch;
      if (!clear) continue;
      Addition x{now, fmt::format("an anchor at {}", place(c, at))};
      x.knobs.more_anchors = {at};
      out.push_back(std::move(x));
    }
  return out;
}

/// Ribs below, as wide and as high as the plate is thick: across the middle, and along both rims.
std::vector<Addition> ribs_to_try(const Context& c, const PlateKnobs& now) {
  std::vector<Addition> out;
  const double length = c.plan.pallet.plate.size.value[0], width = c.plan.pallet.plate.size.value[1], t = now.thickness;
  for (const bool along_x : {true, false})
    for (const bool rims : {false, true}) {
      Addition x{now, fmt::format("{} of {} x {} below the plate along {}",
                                  rims ? "a rib at both rims" : "a rib in the middle", mm(c, t), mm(c, t),
                                  along_x ? "X" : "Y")};
      const double off = 0.5 * ((along_x ? width : length) - t);
      for (const double side : rims ? std::vector<double>{-off, off} : std::vector<double>{0}) {
        structure::Relief r;
        r.x = along_x ? 0 : side, r.y = along_x ? side : 0;
        r.size_x = along_x ? length : t, r.size_y = along_x ? t : width;
        r.depth = -t;
        x.knobs.more_ribs.push_back(r);
      }
      out.push_back(std::move(x));
    }
  return out;
}

/// The one of them that helps most, as a lever; none when nothing helps by 3 % or more.
template <class Value>
void best_of(const Context& c, Finding& f, const std::vector<Addition>& all, double most, const Value& value,
             const char* name, const char* key) {
  const Addition* best = nullptr;
  double least = 0.97 * most;
  for (const Addition& x : all)
    if (const double v = value(x.knobs); v < least) least = v, best = &x;
  if (best != nullptr)
    f.levers.push_back({name, key, 0, 1, Kind::number,
                        fmt::format("{} takes it from {} to {}", best->words, fine(c, most), fine(c, least))});
}

/// All places where a tool pushes, asked together, so that one plate answers for all tools.
struct Places {
  std::vector<PlatePoint> points;
  std::map<const CutModel*, std::size_t> first;  ///< of each cut's places
  std::optional<PlateAnswer> answer;             ///< at the stated values
  std::string why;                               ///< when there is none
};
/// The softest places of all tools, the same.
using Softest = std::map<const CutModel*, PlatePoint>;

Places ask_all(Context& c, const std::vector<const CutModel*>& cuts) {
  Places p;
  if (!plate_missing(c).empty()) return p;
  for (const CutModel* cut : cuts) {
    if (!cut->missing.empty() || cut->places.empty()) continue;
    p.first[cut] = p.points.size();
    for (const PlatePoint& q : points_of(spots_of(c, *cut))) p.points.push_back(q);
  }
  if (p.points.empty()) return p;
  const auto r = plate_answer(c, at_rest(c), p.points);
  if (r.ok()) p.answer = *r;
  else p.why = r.problem().what;
  return p;
}

void one_tool(Context& c, const std::vector<CutModel>& cuts, const CutModel& cut, const Places& places, Softest* look,
              const Softest& all) {
  const Asked a = asked_of(c, cuts, cut);
  if (!(a.limit > 0)) return;  // nothing the drawing or a later cut asks of this surface
  Finding f = start(lower_id(*cut.operation), cut.feature, "give",
                    fmt::format("pallet gives under {}", cut.cut->tool.value), Kind::length);
  f.tool = cut.cut->tool.value;
  f.operation = cut.operation->id.value;
  f.id = finding::make_id(lower_id(*cut.operation), cut.feature, "give", f.tool);
  f.limit = finding::upper(a.limit);
  f.formula =
      a.finish
          ? "twice the change of the surface's place between soft iron with least stock and hard iron with most "
            "stock: compliance of the loaded plate at cutter height × mean force; against " +
                a.of
          : "compliance of the loaded plate at cutter height × mean force in hard iron at most stock; against " + a.of;
  f.source = source;
  std::vector<std::string> missing = plate_missing(c);
  for (const std::string& m : cut.missing) missing.push_back(m);
  if (cut.missing.empty() && cut.places.empty()) missing.emplace_back("feature: where it lies on the part");
  if (!missing.empty()) {
    if (look == nullptr) leave_open(c, std::move(f), missing);
    return;
  }
  const std::vector<Spot> spots = spots_of(c, cut);
  if (!places.answer) {
    if (look == nullptr) leave_open(c, std::move(f), {"pallet.plate: " + places.why});
    return;
  }
  const PlateAnswer& answer = *places.answer;
  const maths::PointResponse* const mine = answer.at.data() + places.first.at(&cut);
  const CutForces hard = cut_forces(c, cut, cut.hard), soft = cut_forces(c, cut, cut.soft);
  std::vector<double> nest_worst(static_cast<std::size_t>(nest_count(c.plan)), 0);
  std::size_t worst = 0;
  double most = -1;
  for (std::size_t i = 0; i < spots.size(); ++i) {
    const double x = value_of(mine[i], spots[i], a, hard, soft);
    double& mine = nest_worst[static_cast<std::size_t>(spots[i].nest)];
    mine = std::max(mine, x);
    if (x > most) most = x, worst = i;
  }
  const Spot& spot = spots[worst];
  if (look != nullptr) {
    look->insert({&cut, {spot.nest, spot.at}});
    return;
  }
  f.nest = fmt::format("{}", spot.nest + 1);
  const Bands b = assume_plate(f, c);
  const PlateKnobs now = at_rest(c);
  const std::vector<Addition> anchors = anchors_to_try(c, now, !c.options.monte_carlo);
  std::vector<PlatePoint> points;
  std::size_t my_place = 0;
  for (const auto& [of, point] : all) {
    if (of == &cut) my_place = points.size();
    points.push_back(point);
  }
  std::vector<Vec3> tried;
  tried.reserve(anchors.size());
  for (const Addition& x : anchors) tried.push_back(x.knobs.more_anchors.front());
  const auto value = [&](const PlateKnobs& k) {
    const bool stated = k.thickness == now.thickness && k.anchor_up == now.anchor_up &&
                        k.anchor_side == now.anchor_side && !k.parts_bonded && k.more_anchors.empty() &&
                        k.more_ribs.empty();
    if (stated) return most;
    const auto r = plate_gives(c, k, points, tried);
    if (!r.ok()) return nan;
    maths::PointResponse only;
    only.residual = (*r)[my_place];
    return value_of(only, spot, a, hard, soft);
  };
  f.inputs.push_back({"force in hard iron, mean", frame::norm(hard.mean), Kind::force, {}});
  f.inputs.push_back({"force in soft iron, mean", frame::norm(soft.mean), Kind::force, {}});
  f.inputs.push_back({"softest place", 0, Kind::number, fmt::format("nest {}, {}", spot.nest + 1, spot.words)});
  const double load = c.style.system == unit::Style::System::inch ? 444.82216152605 : 100;  // 100 lbf, 100 N
  f.inputs.push_back({fmt::format("gives to {} across the wall there", unit::print(load, Kind::force, c.style)),
                      load * maths::compliance_along(mine[worst], spot.out), Kind::length, std::string()});
  std::string nests;
  for (std::size_t n = 0; n < nest_worst.size(); ++n)
    nests += fmt::format("{}{}: {}", n == 0 ? "" : ", ", n + 1, fine(c, nest_worst[n]));
  f.inputs.push_back({"by nest", 0, Kind::number, nests});
  f.inputs.push_back({"first mode of the loaded pallet", answer.frequencies.front(), Kind::frequency,
                      hertz(answer.frequencies.front())});
  f.inputs.push_back({"mesh", 0, Kind::number, plate_words(c, now, places.points)});
  f.sentence = fmt::format("{}: at nest {}, {}, pallet and part give way and the surface {} by {}; {} is {}.",
                           cut.words, spot.nest + 1, spot.words, a.finish ? "comes out different" : "stands off",
                           fine(c, most), a.of, fine(c, a.limit));
  if (c.options.bands) {
    if (const double t = next_plate(c.plan); t > 0) {
      PlateKnobs k = now;
      k.thickness = t;
      f.levers.push_back({"thickness of the plate", "pallet.plate.size", now.thickness, t, Kind::length,
                          fmt::format("a plate of {} instead of {}: {} → {}", mm(c, t), mm(c, now.thickness),
                                      fine(c, most), fine(c, value(k)))});
    }
    best_of(c, f, anchors, most, value, "one more anchor", "pallet.anchor");
    if (c.options.monte_carlo) best_of(c, f, ribs_to_try(c, now), most, value, "a rib", "pallet.rib");
  }
  settle(c, std::move(f), [&](const std::vector<double>& v) { return value(knobs_at(c, b, v)); });
  const Finding& done = c.study.findings.back();
  if (done.state != finding::State::inside)
    for (std::size_t n = 0; n < nest_worst.size(); ++n) {
      const Vec3 here = on_pallet(c.plan, static_cast<int>(n), {});
      c.study.compliance.nests.push_back(
          {fmt::format("{}", n + 1), fmt::format("{} gives {}", cut.cut->tool.value, fine(c, nest_worst[n])), done.id,
           nest_worst[n] > a.limit ? finding::State::outside : done.state, here.x, here.y});
    }
}

// ---- bow ----------------------------------------------------------------------------------------------------------
void bow(Context& c) {
  const plan::Operation* o = nullptr;
  for (const plan::Operation& x : c.plan.operations)
    if (x.kind.value == "pallet") o = &x;
  const plan::Requirement* tight = nullptr;
  for (const plan::Requirement& r : c.plan.requirements) {
    if (o == nullptr || r.kind.value != "distance" || !r.limits.known() || !r.limits.value.lower ||
        !r.limits.value.upper)
      continue;
    const std::string id = plan::parse_reference(r.feature.value).id;
    const Surface s = surface_of(c.plan, r.feature.value);
    if (!s.there || std::fabs(s.normal.z) < 0.9 || s.round) continue;
    const bool here = std::any_of(o->makes.value.begin(), o->makes.value.end(),
                                  [&](const std::string& m) { return plan::parse_reference(m).id == id; });
    const auto width = [](const plan::Requirement& q) { return *q.limits.value.upper - *q.limits.value.lower; };
    if (here && (tight == nullptr || width(r) < width(*tight))) tight = &r;
  }
  if (tight == nullptr) return;
  Finding f =
      start(lower_id(*o), tight->feature.value, "plate_bow", "plate bows by temperature and weight", Kind::length);
  f.operation = o->id.value;
  const double limit = (*tight->limits.value.upper - *tight->limits.value.lower) / 3;
  f.limit = finding::upper(limit);
  f.formula =
      "expansion × temperature difference × span² / (8 × thickness), span between the anchors, free to bow; and how "
      "far "
      "the weight of plate and parts bends it on its anchors (highest less lowest place)";
  f.source =
      "plate with a straight temperature profile (any text on plates); weight: shear-flexible plate at rest (Mindlin "
      "1951); a third of the tolerance: common practice";
  const std::vector<std::string> missing = plate_missing(c);
  if (!missing.empty() || !c.plan.pallet.top_warmer.known()) {
    leave_open(c, std::move(f), missing.empty() ? std::vector<std::string>{"pallet.top_warmer"} : missing);
    return;
  }
  double span = 0;
  std::vector<Vec3> anchors;
  for (const plan::Anchor& a : c.plan.pallet.anchors)
    anchors.insert(anchors.end(), a.at.value.begin(), a.at.value.end());
  for (const Vec3& a : anchors)
    for (const Vec3& b : anchors) span = std::max(span, std::max(std::fabs(a.x - b.x), std::fabs(a.y - b.y)));
  const double alpha = ref::material(c.plan.pallet.plate.material.value)->expansion.value;
  const double t = c.plan.pallet.plate.size.value[2];
  structure::BowInputs heavy;
  heavy.plate = plate_inputs(c, stated_knobs(c), {});
  heavy.gravity = 9.80665;
  const auto weight = c.memo.call(
      "plate under its weight",
      [&c](const structure::BowInputs& i) { return structure::bow(*factored(c, i.plate), i); }, heavy);
  if (!weight->ok) {
    leave_open(c, std::move(f), {"pallet.plate: " + weight->why});
    return;
  }
  const double sag = weight->highest - weight->lowest, each = alpha * span * span / (8 * t);
  const auto value = [&](double warmer) { return each * std::fabs(warmer) + sag; };
  const int warmer =
      assume(f, c.plan.pallet.top_warmer, "top of the plate warmer than its bottom", "pallet.top_warmer");
  const double stated = c.plan.pallet.top_warmer.si;
  f.inputs.push_back({"span between anchors", span, Kind::length, {}});
  f.inputs.push_back({"thickness", t, Kind::length, {}});
  f.inputs.push_back({"bends by weight of plate and parts", sag, Kind::length, fine(c, sag)});
  const double kelvin = std::max(0.0, limit - sag) / each;
  f.sentence = fmt::format(
      "Each kelvin that the top is warmer lifts the middle of the plate by {} between its anchors; weight of plate and "
      "parts bends it by {}; {:.1f} K use up a third of the tolerance of {}.",
      mm(c, each), fine(c, sag), kelvin, tight->id.value);
  f.levers.push_back({"top warmer", "pallet.top_warmer", stated, kelvin, Kind::temperature_difference,
                      fmt::format("{:.1f} K between top and bottom use the margin up", kelvin)});
  settle(c, std::move(f), [&](const std::vector<double>& v) { return value(at(v, warmer, stated)); });
}

// ---- pictures -----------------------------------------------------------------------------------------------------
struct Ends {
  PlateKnobs stated, low, high;
};
Ends ends_of(const Context& c) {
  const plan::Anchor& a = c.plan.pallet.anchors.front();
  Ends e{stated_knobs(c), stated_knobs(c), stated_knobs(c)};
  e.low.anchor_up = a.stiffness_up.banded() ? a.stiffness_up.low : a.stiffness_up.si;
  e.low.anchor_side = a.stiffness_side.banded() ? a.stiffness_side.low : a.stiffness_side.si;
  e.high.anchor_up = a.stiffness_up.banded() ? a.stiffness_up.high : a.stiffness_up.si;
  e.high.anchor_side = a.stiffness_side.banded() ? a.stiffness_side.high : a.stiffness_side.si;
  e.high.parts_bonded = true;
  return e;
}

void pictures(Context& c, const std::vector<CutModel>& cuts) {
  const Ends e = ends_of(c);
  plate_pictures(c, e.stated, e.low, e.high);
  if (!c.study.compliance.there) return;
  // Stiffness, first mode and weight over thickness, at the softest place of the first milling cut.
  std::vector<Spot> spots;
  for (const CutModel& cut : cuts)
    if (judged(cut) && cut.missing.empty() && !cut.places.empty()) {
      spots = spots_of(c, cut);
      break;
    }
  if (spots.empty()) return;
  const auto all = plate_answer(c, e.stated, points_of(spots));
  if (!all.ok()) return;
  std::size_t softest = 0;
  for (std::size_t i = 0; i < spots.size(); ++i)
    if (maths::compliance_along(all->at[i], spots[i].out) >
        maths::compliance_along(all->at[softest], spots[softest].out))
      softest = i;
  const Spot& s = spots[softest];
  ThicknessCurve& curve = c.study.thickness;
  curve.now = e.stated.thickness;
  curve.material = c.plan.pallet.plate.material.value;
  std::set<double> stocked, tried;
  for (const plan::StockPlate& x : c.plan.shop.plates)
    if (ref::plain_name(x.material.value) == ref::plain_name(curve.material)) stocked.insert(x.thickness.si);
  for (double factor : {0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.4, 1.6}) tried.insert(factor * curve.now);
  for (double x : stocked) tried.insert(x);
  double deepest = 0;
  for (const structure::Relief& x : plate_inputs(c, e.stated, {}).plate.reliefs)
    if (!x.through) deepest = std::max(deepest, x.depth);
  double last = 0;
  for (double t : tried) {
    const bool have = std::any_of(stocked.begin(), stocked.end(), [&](double x) { return std::fabs(x - t) < 1e-6; });
    if (t - last < 1e-6 || t < deepest + 2e-3 || (t - last < 5e-4 && !have && std::fabs(t - curve.now) > 1e-9))
      continue;
    last = t;
    const auto with = [&](PlateKnobs k) {
      k.thickness = t;
      return plate_answer(c, k, {{s.nest, s.at}});
    };
    const auto now = with(e.stated), soft = with(e.low), stiff = with(e.high);
    if (!now.ok() || !soft.ok() || !stiff.ok()) continue;
    const auto give = [&](const PlateAnswer& x) { return 100 * maths::compliance_along(x.at[0], s.out); };
    ThicknessPoint q;
    q.thickness = t;
    q.mass = now->mass;
    q.loaded_mass =
        now->mass + nest_count(c.plan) * (c.plan.pallet.loaded_part_mass.known() ? c.plan.pallet.loaded_part_mass.si
                                                                                 : c.plan.casting.mass.si);
    q.first = now->frequencies.front(), q.first_low = soft->frequencies.front(),
    q.first_high = stiff->frequencies.front();
    q.give = give(*now), q.give_low = give(*stiff), q.give_high = give(*soft);
    q.stocked = have;
    curve.points.push_back(q);
  }
  curve.there = curve.points.size() > 1;
  curve.sentence = fmt::format("At nest {}, {}: what 100 N across the wall do there.", s.nest + 1, s.words);
}

}  // namespace

namespace {
/// The plates that bands and levers will ask for: parts bonded on, the next thicker one.
void other_plates(Context& c) {
  PlateKnobs bonded = at_rest(c), thicker = at_rest(c);
  bonded.parts_bonded = true;
  plate_ahead(c, bonded);
  thicker.thickness = next_plate(c.plan);
  if (thicker.thickness > 0) plate_ahead(c, thicker);
}
}  // namespace

void stiffness_findings(Context& c) {
  const std::vector<CutModel> cuts = cut_models(c);
  const bool pallet = std::any_of(c.plan.operations.begin(), c.plan.operations.end(),
                                  [](const plan::Operation& o) { return o.kind.value == "pallet"; });
  if (!pallet) return;
  std::vector<const CutModel*> asked;
  std::set<std::string> seen;
  for (const CutModel& cut : cuts)
    if (judged(cut) && seen.insert(cut.operation->id.value + "\n" + cut.cut->tool.value + "\n" + cut.feature).second)
      asked.push_back(&cut);
  const Places places = ask_all(c, asked);
  std::future<void> beside;
  if (places.answer && c.options.bands && c.options.threads > 1)
    beside = std::async(std::launch::async, [&c] { other_plates(c); });
  Softest all;
  for (const bool looking : {true, false})
    for (const CutModel* cut : asked) one_tool(c, cuts, *cut, places, looking ? &all : nullptr, all);
  bow(c);
  if (c.options.monte_carlo && c.options.pictures && plate_missing(c).empty()) pictures(c, cuts);
}

}  // namespace fettle::study
