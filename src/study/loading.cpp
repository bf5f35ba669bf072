// Which ways round the part goes on, and how well a swap of pallets repeats.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/locating/loading.h"
#include "calc/locating/swap.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;

namespace {

double diameter_of(const plan::Feature& f, bool most) {
  if (f.diameter.known()) {
    const auto& l = f.diameter.value;
    if (most && l.upper) return *l.upper;
    if (!most && l.lower) return *l.lower;
    if (l.nominal) return *l.nominal;
  }
  return f.drill.known() ? f.drill.si : f.thread.known() ? f.thread.value.major : 0;
}

bool round_feature(const plan::Feature& f) {
  const std::string& k = f.kind.value;
  return k == "bore" || k == "counterbore" || k == "hole" || k == "thread" || k == "groove";
}

struct Extents {
  double low = 0, high = 0;
  bool there = false;
};
Extents height_of(const plan::Plan& plan) {
  Extents e;
  for (const plan::Feature& f : plan.features) {
    if (f.kind.value != "face" || f.at.value.empty()) continue;
    const double z = f.at.value[0].z;
    e.low = e.there ? std::min(e.low, z) : z;
    e.high = e.there ? std::max(e.high, z) : z;
    e.there = true;
  }
  if (!e.there && plan.part.size.value.size() == 3) e = {0, plan.part.size.value[2], true};
  return e;
}

locating::LoadingInputs inputs_of(const plan::Plan& plan, std::vector<std::string>& missing) {
  locating::LoadingInputs in;
  const Extents e = height_of(plan);
  in.part_height = e.high - e.low;
  std::vector<const plan::Pin*> pins;
  for (const plan::Pin& p : plan.pallet.pins)
    if (p.kind.value == "round") pins.insert(pins.begin(), &p);
    else pins.push_back(&p);
  if (pins.size() != 2) missing.emplace_back("pallet.pin: a round and a relieved one");
  std::string on[2];
  int index[2] = {0, 0};
  for (std::size_t i = 0; i < pins.size() && i < 2; ++i) {
    const Surface h = surface_of(plan, pins[i]->in.value);
    const plan::Limits& l = pins[i]->land.known() ? pins[i]->land : pins[i]->diameter;
    if (!l.known() || !l.value.lower) {
      missing.push_back("pallet.pin " + pins[i]->kind.value + ": its diameter");
      return in;
    }
    in.pins.push_back({pins[i]->kind.value + " pin", h.point.x, h.point.y, *l.value.lower,
                       pins[i]->kind.value == "round" ? 0.0 : pins[i]->land_width.si});
    const plan::Reference r = plan::parse_reference(pins[i]->in.value);
    on[i] = r.id;
    index[i] = std::max(r.index, 1);
  }
  for (const plan::Feature& f : plan.features) {
    if (f.over.known()) continue;
    const Vec3 axis = direction(f.normal.value);
    const bool upright = std::fabs(axis.z) > 0.5;
    const bool round = round_feature(f) && f.kind.value != "groove";
    const bool through =
        round && e.there && f.from.known() && f.to.known() && f.from.si <= e.low + 1e-6 && f.to.si >= e.high - 1e-6;
    int number = 0;
    for (Vec3 p : f.at.value) {
      ++number;
      if (round && upright) {
        locating::PartHole h{f.id.value, p.x, p.y, diameter_of(f, true), through || axis.z < 0, through || axis.z > 0};
        for (int i = 0; i < 2; ++i)
          if (on[i] == f.id.value && index[i] == number)
            (i == 0 ? in.planned_round : in.planned_relieved) = in.holes.size();
        in.holes.push_back(h);
      }
      if (f.kind.value == "profile" || f.kind.value == "datum") continue;
      locating::PartFeature x;
      x.name = f.id.value;
      x.like = f.kind.value;
      x.p = {p.x, p.y, round_feature(f) && f.from.known() && f.to.known() ? 0.5 * (f.from.si + f.to.si) : p.z};
      x.axis = axis;
      x.size = diameter_of(f, false);
      if (x.size == 0 && f.width.known() && f.width.value.lower) x.size = *f.width.value.lower;
      x.both_ways = through;
      in.features.push_back(x);
    }
  }
  if (plan.part.size.value.size() >= 2) {
    const double a = 0.5 * plan.part.size.value[0], b = 0.5 * plan.part.size.value[1];
    in.outline = {{-a, -b}, {a, -b}, {a, b}, {-a, b}};
  }
  return in;
}

}  // namespace

void loading_findings(Context& c, const plan::Operation& o) {
  Finding f = start(o.id.value, "", "loads_one_way", "no harmful way round to load it", unit::Kind::number);
  f.limit = finding::upper(0);
  f.limit.asked = 1;
  f.yes_no = true;
  f.source =
      "every pair of holes tried on the two pins, as planned and turned over; derived in calc/locating/README.md";
  f.formula = "ways other than the planned one that go on and put a feature where it does not belong";
  std::vector<std::string> missing;
  const locating::LoadingInputs in = inputs_of(c.plan, missing);
  for (const plan::NestScrew& s : c.plan.pallet.screws)
    if (s.at.value.empty() && plan::find_feature(c.plan, s.through.value) == nullptr)
      missing.emplace_back("pallet.screw.through: the holes the screws go through (or `at`)");
  if (!missing.empty()) {
    leave_open(c, std::move(f), missing);
    return;
  }
  const auto answer = c.memo.call("loading", locating::loading, in);
  if (!answer->ok()) {
    leave_open(c, std::move(f), {say(answer->problem())});
    return;
  }
  const locating::LoadingResult& r = answer->value();
  // A way in which the nest's screws do not meet their holes is noticed at once: it cannot be clamped.
  const auto screws_fit = [&](const locating::LoadingWay& w) {
    const locating::PartHole& on = in.holes[w.on_round];
    const double co = std::cos(w.turn), si = std::sin(w.turn), mirror = w.turned_over ? -1 : 1;
    for (const plan::NestScrew& s : c.plan.pallet.screws) {
      const plan::Feature* through = plan::find_feature(c.plan, s.through.value);
      const auto& points = through != nullptr ? through->at.value : s.at.value;
      for (Vec3 screw : points) {
        const bool met = std::any_of(in.holes.begin(), in.holes.end(), [&](const locating::PartHole& h) {
          const double dx = mirror * (h.x - on.x), dy = h.y - on.y;
          const double x = in.pins[0].x + co * dx - si * dy, y = in.pins[0].y + si * dx + co * dy;
          const bool open = (h.above && h.below) || h.name == s.through.value;  // a rim may be lower than the part
          return open && h.diameter > s.thread.value.major &&
                 std::hypot(x - screw.x, y - screw.y) < 0.5 * (h.diameter - s.thread.value.major) + 1e-3;
        });
        if (!met) return false;
      }
    }
    return true;
  };
  int harmful = 0, noticed = 0, harmless = 0;
  std::string worst;
  for (const auto& w : r.ways) {
    const std::string how =
        fmt::format("turned {}{} with {} on the round pin and {} on the relieved one",
                    unit::print(w.turn, unit::Kind::angle, c.style), w.turned_over ? " and over" : "",
                    in.holes[w.on_round].name, in.holes[w.on_relieved].name);
    if (w.harmless) {
      ++harmless;
      f.inputs.push_back({"harmless way", 0, unit::Kind::number, how});
      continue;
    }
    const locating::WrongFeature* most = nullptr;
    for (const auto& x : w.wrong)
      if (most == nullptr || x.off > most->off) most = &x;
    const std::string off = most == nullptr ? "" : fmt::format("; {} would be {} off", most->name, mm(c, most->off));
    if (!screws_fit(w)) {
      ++noticed;
      f.inputs.push_back({"cannot be clamped", 0, unit::Kind::number, how});
      continue;
    }
    ++harmful;
    f.inputs.push_back({"harmful way", 0, unit::Kind::number, how + off});
    if (worst.empty()) worst = how + off;
  }
  if (harmful > 0)
    f.levers.push_back({"loading", "pallet.pin", static_cast<double>(harmful), 0, unit::Kind::number,
                        "keep it from going on " + worst + ": a post beside it, or other holes for the pins"});
  f.sentence =
      harmful > 0
          ? fmt::format("It also goes on {}.", worst)
          : fmt::format(
                "{} other way{} round go{} on, none of them harmful{}.", harmless + noticed,
                harmless + noticed == 1 ? "" : "s", harmless + noticed == 1 ? "es" : "",
                noticed > 0 ? fmt::format(" ({} cannot be clamped, since the screws miss their holes)", noticed) : "");
  settle(c, std::move(f), [harmful](const std::vector<double>&) { return static_cast<double>(harmful); });
}

void swap_findings(Context& c, const plan::Operation& o) {
  double zone = 0;
  std::string requirement;
  for (const plan::Requirement& r : c.plan.requirements) {
    if ((r.kind.value != "position" && r.kind.value != "coaxiality") || !r.limits.value.upper) continue;
    const auto made_here = [&](const std::string& ref) {
      return std::find(o.makes.value.begin(), o.makes.value.end(), plan::parse_reference(ref).id) !=
             o.makes.value.end();
    };
    if (!made_here(r.feature.value) || (r.to.known() && made_here(r.to.value))) continue;
    if (zone == 0 || *r.limits.value.upper < zone) {
      zone = *r.limits.value.upper;
      requirement = r.id.value;
    }
  }
  if (zone == 0) return;
  Finding f = start(o.id.value, "pallet", "swap", "swap of the pallet repeats", unit::Kind::length);
  f.gauge = true;
  f.limit = finding::upper(0.5 * zone);
  f.source = "rigid pallet on elastic anchors, covariance of pose; derived in calc/locating/README.md";
  f.formula = "three standard deviations of the shift at the farthest nest, worst direction";
  locating::SwapInputs in;
  std::vector<std::string> missing;
  int n = 0;
  if (c.plan.pallet.anchors.empty()) missing.emplace_back("pallet.anchor: where the pallet is located and drawn down");
  for (const plan::Anchor& a : c.plan.pallet.anchors)
    for (Vec3 p : a.at.value) {
      locating::Anchor x;
      x.name = fmt::format("anchor {}", ++n);
      x.x = p.x;
      x.y = p.y;
      if (!a.repeat.known()) {
        missing.emplace_back("pallet.anchor.repeat: how well a swap repeats");
        continue;
      }
      x.s = x.s_z = a.repeat.value.s;
      x.stiffness = a.stiffness_side.si;
      x.stiffness_z = a.stiffness_up.si;
      in.anchors.push_back(x);
    }
  for (const plan::Nest& nest : c.plan.pallet.nests)
    for (Vec3 p : nest.at.value) in.points.push_back(p);
  if (in.points.empty()) missing.emplace_back("pallet.nest: where the parts sit");
  if (!missing.empty()) {
    leave_open(c, std::move(f), {missing.front()});
    return;
  }
  const auto answer = c.memo.call("swap", locating::swap_repeatability, in);
  if (!answer->ok()) {
    leave_open(c, std::move(f), {say(answer->problem())});
    return;
  }
  double worst = 0;
  for (const auto& p : answer->value().points) worst = std::max(worst, p.s_most);
  unit::Style s = c.style;
  s.gauge = true;
  const bool probed = o.zero.value == "probed pins";
  double left = 3 * worst;
  if (probed) {  // what the probe leaves: the machine's own positioning
    const auto machine = std::find_if(c.plan.shop.machines.begin(), c.plan.shop.machines.end(),
                                      [&](const plan::Machine& x) { return x.id.value == o.machine.value; });
    if (machine == c.plan.shop.machines.end() || !machine->positioning.known()) {
      leave_open(c, std::move(f), {"machine.positioning: what probing the pins leaves"});
      return;
    }
    left = machine->positioning.si;
    f.title = "place of the pallet after probing";
    f.formula = "positioning of the machine (three standard deviations): the probe takes the swap itself out";
    f.inputs.push_back({"positioning of the machine", 0, unit::Kind::length, unit::print(left, unit::Kind::length, s)});
  }
  f.inputs.insert(f.inputs.end(), {{"one standard deviation at the farthest nest", 0, unit::Kind::length,
                                    unit::print(worst, unit::Kind::length, s)},
                                   {"turn", answer->value().s_turn, unit::Kind::angle, {}},
                                   {"tightest requirement it reaches", 0, unit::Kind::number, requirement}});
  f.sentence = fmt::format(
      "A swap moves the farthest nest by up to {} (three standard deviations){}.",
      unit::print(3 * worst, unit::Kind::length, s),
      probed ? fmt::format("; the probe takes it out and leaves {}", unit::print(left, unit::Kind::length, s)) : "");
  if (!probed)
    f.levers.push_back({"zero", "operation." + o.id.value + ".zero", 3 * worst, 0, unit::Kind::length,
                        "setting zero by probe on two pins of each pallet takes it out"});
  settle(c, std::move(f), [&](const std::vector<double>&) { return left; });
}

}  // namespace fettle::study
