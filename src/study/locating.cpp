// Where does the part sit, does it go on, and what does the play do?
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/locating/determinacy.h"
#include "calc/locating/lift_off.h"
#include "calc/locating/pin_fit.h"
#include "ref/materials.h"
#include "study/fixture_pins.h"
#include "study/internal.h"
#include "study/vise_jaws.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;

namespace {

constexpr const char* jacobian_source = "contact Jacobian: Asada & By 1985; Cai, Hu & Yuan 1997";
constexpr const char* pin_source =
    "exact geometry of a land in a hole, derived in calc/locating/README.md; growth about 20 °C (ISO 1)";

constexpr double steel_expansion = 11.5e-6;  // 1/K, the pins

std::string um(const Context& c, double si) {
  unit::Style s = c.style;
  s.gauge = true;
  return unit::print(si, unit::Kind::length, s);
}
std::string warmth(const Context& c, double si) { return unit::print(si, unit::Kind::temperature, c.style); }

void contacts_of_locator(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& l,
                         std::vector<locating::Contact>& out) {
  const std::string name = l.id.known() ? l.id.value : l.kind.value;
  const auto add = [&](const std::string& words, Vec3 p, Vec3 n, locating::Contact::Kind kind) {
    out.push_back({words, p, n, kind});
  };
  if (l.kind.value == "centre") {
    const auto pair = base::split(l.on.value, ' ');
    const Surface a = surface_of(plan, pair[0]);
    if (!a.there) return;
    std::vector<Vec3> places = l.at.value;
    if (places.empty()) places.push_back(a.point);
    for (Vec3 p : places) add(name, p, -a.normal, locating::Contact::Kind::two_sided);
    return;
  }
  const Surface f = surface_of(plan, l.on.value);
  if (!f.there) return;
  const Vec3 n = l.normal.known() ? direction(l.normal.value) : f.normal;
  if (l.kind.value == "round pin" || l.kind.value == "relieved pin") {
    const std::vector<Vec3> stopped = stopped_by(plan, o, l);
    if (stopped.size() == 2) {
      const auto both = locating::round_pin(name, f.point, stopped[0], stopped[1]);
      out.insert(out.end(), both.begin(), both.end());
    } else if (stopped.size() == 1) {
      out.push_back(locating::relieved_pin(name, f.point, stopped[0]));
    }
    return;
  }
  std::vector<Vec3> points = touches(plan, o, l);
  if (points.empty()) points.push_back(f.point);
  int i = 0;
  for (Vec3 p : points) add(fmt::format("{} {}", name, ++i), p, -n, locating::Contact::Kind::one_sided);
}

struct Pins {
  bool there = false;
  const plan::Pin* round = nullptr;
  const plan::Pin* relieved = nullptr;
  Surface round_hole, relieved_hole;
};
Pins pins_of(const plan::Plan& plan) {
  Pins p;
  for (const plan::Pin& pin : plan.pallet.pins) {
    if (pin.kind.value == "round" && p.round == nullptr) p.round = &pin;
    else if (pin.kind.value == "relieved" && p.relieved == nullptr) p.relieved = &pin;
  }
  if (p.round == nullptr || p.relieved == nullptr) return p;
  p.round_hole = surface_of(plan, p.round->in.value);
  p.relieved_hole = surface_of(plan, p.relieved->in.value);
  p.there = p.round_hole.there && p.relieved_hole.there;
  return p;
}

std::vector<locating::Contact> contacts_of(const plan::Plan& plan, const plan::Operation& o) {
  std::vector<locating::Contact> out;
  for (const plan::Locator& l : o.locators) contacts_of_locator(plan, o, l, out);
  if (o.kind.value != "pallet") return out;
  int n = 0;
  for (const plan::Pad& pad : plan.pallet.pads)
    for (Vec3 p : pad.at.value)
      out.push_back({fmt::format("pad {}", ++n), {p.x, p.y, 0}, {0, 0, 1}, locating::Contact::Kind::one_sided});
  const Pins pins = pins_of(plan);
  if (!pins.there) {
    // One round pin by itself still holds the part along X and Y; only the turn is free.
    const Surface hole = pins.round != nullptr ? surface_of(plan, pins.round->in.value) : Surface{};
    if (!hole.there) return out;
    const auto alone = locating::round_pin("round pin", {hole.point.x, hole.point.y, 0}, {1, 0, 0}, {0, 1, 0});
    out.insert(out.end(), alone.begin(), alone.end());
    return out;
  }
  const Vec3 a = pins.round_hole.point, b = pins.relieved_hole.point, line = frame::unit({b.x - a.x, b.y - a.y, 0});
  const auto both = locating::round_pin("round pin", {a.x, a.y, 0}, line, {-line.y, line.x, 0});
  out.insert(out.end(), both.begin(), both.end());
  Vec3 stopped{-line.y, line.x, 0};
  if (pins.relieved->direction.known())
    stopped = {-std::sin(pins.relieved->direction.si), std::cos(pins.relieved->direction.si), 0};
  out.push_back(locating::relieved_pin("relieved pin", {b.x, b.y, 0}, stopped));
  return out;
}

/// The same however it is turned about this axis: a face square to it, a hole or boss round it.
bool round_about(const plan::Feature& f, const locating::Freedom& turn) {
  constexpr double near = 1e-5;  // m
  const std::string& k = f.kind.value;
  const bool may = k == "face" || k == "bore" || k == "hole" || k == "counterbore" || k == "thread" || k == "groove" ||
                   k == "boss" || k == "chamfer";
  if (!may || !f.normal.known() || frame::norm(frame::cross(direction(f.normal.value), turn.axis)) > 1e-9) return false;
  return !f.at.value.empty() && std::all_of(f.at.value.begin(), f.at.value.end(), [&](Vec3 p) {
    return frame::norm(frame::cross(p - turn.point, turn.axis)) < near;
  });
}

/// What is made here cannot tell one turn about this axis from another: it is round about it, or nothing that is there
/// before (cut, cored, or with its skin) is not.
bool any_turn_will_do(const plan::Plan& plan, const plan::Operation& o, const locating::Freedom& turn) {
  if (turn.type != locating::Freedom::Type::turn || !plan.casting.gates.empty()) return false;
  const auto made_by = [](const plan::Operation& by, const plan::Feature& f) {
    return std::any_of(by.makes.value.begin(), by.makes.value.end(),
                       [&](const std::string& m) { return plan::parse_reference(m).id == f.id.value; });
  };
  bool here = true, before = true;  // all of it round
  for (const plan::Feature& f : plan.features) {
    if (round_about(f, turn)) continue;
    if (made_by(o, f)) here = false;
    bool there = f.cast.value != "solid";
    for (const plan::Operation& by : plan.operations) {
      if (&by == &o) break;
      there = there || made_by(by, f);
    }
    if (there) before = false;
  }
  return here || before;
}

/// Freedoms held against those that the faces made here need.
void held(Context& c, const plan::Operation& o) {
  const std::vector<locating::Contact> contacts = contacts_of(c.plan, o);
  Finding f = start(o.id.value, "", "held_in_one_place", "held in one place", unit::Kind::number);
  f.yes_no = true;
  const bool chuck =
      std::any_of(o.locators.begin(), o.locators.end(), [](const auto& l) { return l.kind.value == "chuck"; });
  f.limit = finding::lower(chuck ? 3 : 6);
  f.source = jacobian_source;
  f.formula = "rank of the rows n·(t + w × p) of all locators";
  if (contacts.empty()) {
    leave_open(c, std::move(f),
               {o.kind.value == "pallet" ? "pallet.pad and pallet.pin: where the part rests and is pinned"
                                         : fmt::format("operation {}: its locators", o.id.value)});
    return;
  }
  const auto answer = c.memo.call("determinacy", locating::determinacy, contacts);
  if (!answer->ok()) {
    leave_open(c, std::move(f), {say(answer->problem())});
    return;
  }
  const locating::Determinacy& d = answer->value();
  f.inputs.push_back({"locators", static_cast<double>(contacts.size()), unit::Kind::number, {}});
  f.inputs.push_back({"condition", d.condition, unit::Kind::number, {}});
  std::string left;
  for (const auto& x : d.left) left += (left.empty() ? "" : "; ") + x.words;
  const bool turns = !chuck && d.left.size() == 1 && any_turn_will_do(c.plan, o, d.left.front());
  if (turns) {
    f.limit = finding::lower(5);
    f.inputs.push_back({"not asked", 0, unit::Kind::number,
                        "the turn about that axis: what is made here, or all that is there before, is round about it"});
  }
  // Pads on a ground face are meant to fight: they are one plane. Only what a raw face rests on rocks.
  f.sentence = d.left.empty() ? fmt::format("{} locators hold all six freedoms.", contacts.size())
               : chuck        ? fmt::format("On the chuck, where only the height counts: {}.", left)
               : turns        ? fmt::format("Held but {}: round as it is, any turn will do.", left)
                              : fmt::format("Not held: {}.", left);
  if (!d.left.empty() && !chuck && !turns)
    f.levers.push_back({"locators", "operation." + o.id.value + ".locator", static_cast<double>(contacts.size()), 6,
                        unit::Kind::number, "add a locator: " + left});
  if (!d.caution.empty()) f.inputs.push_back({"remark", 0, unit::Kind::number, d.caution});
  settle(c, std::move(f), [&](const std::vector<double>&) { return static_cast<double>(d.rank); });
}

/// A raw face on more than three rests rocks.
void rocks(Context& c, const plan::Operation& o, const std::vector<std::string>& cut) {
  for (const plan::Locator& l : o.locators) {
    if (l.kind.value != "rest" && l.kind.value != "chuck") continue;
    const plan::Reference r = plan::parse_reference(l.on.value);
    const plan::Feature* feature = plan::find_feature(c.plan, r.id);
    if (feature == nullptr || feature->cast.value != "skin" ||
        std::find(cut.begin(), cut.end(), l.on.value) != cut.end() ||
        std::find(cut.begin(), cut.end(), r.id) != cut.end())
      continue;
    int rests = 0;
    for (const plan::Locator& x : o.locators)
      if (x.on.value == l.on.value && (x.kind.value == "rest" || x.kind.value == "chuck"))
        rests += static_cast<int>(std::max<std::size_t>(1, x.at.value.size()));
    Finding f = start(o.id.value, l.on.value, "rocks",
                      fmt::format("raw {} does not rock", words_of(c.plan, l.on.value)), unit::Kind::number);
    f.limit = finding::upper(3);
    f.yes_no = true;
    f.source = "three points carry a rigid body; common practice: never more than three rests under a raw face";
    f.formula = "rests under one raw face";
    f.sentence = rests <= 3
                     ? fmt::format("{} rests under the raw {}: it cannot rock.", rests, words_of(c.plan, l.on.value))
                     : fmt::format(
                           "{} rests under the raw {}: three carry, with a bow of {} the others stand off by as much "
                           "and the part rocks.",
                           rests, words_of(c.plan, l.on.value), mm(c, c.plan.casting.warp.si));
    if (rests > 3)
      f.levers.push_back({"rests", "operation." + o.id.value + ".locator", static_cast<double>(rests), 3,
                          unit::Kind::number, fmt::format("rests {} → 3, or make the others spring", rests)});
    settle(c, std::move(f), [rests](const std::vector<double>&) { return static_cast<double>(rests); });
    return;
  }
}

std::optional<locating::Size> size_of(const plan::Limits& l) {
  if (!l.known() || !l.value.lower || !l.value.upper) return {};
  locating::Size s;
  s.low = *l.value.lower;
  s.high = *l.value.upper;
  return s;
}

struct PinCase {
  locating::PinFitInputs in;
  std::vector<std::string> missing;
  std::string hole;
};

PinCase pin_case(const Context& c, const Pins& pins) {
  PinCase out;
  const plan::Plan& p = c.plan;
  const auto take = [&](const plan::Limits& l, const std::string& what) {
    const auto s = size_of(l);
    if (!s) out.missing.push_back(what + ": its limits");
    return s.value_or(locating::Size{});
  };
  out.hole = pins.round_hole.feature->id.value;
  out.in.round_hole = take(pins.round_hole.feature->diameter, "feature " + out.hole + ".diameter");
  out.in.relieved_hole =
      take(pins.relieved_hole.feature->diameter, "feature " + pins.relieved_hole.feature->id.value + ".diameter");
  out.in.round_pin = take(pins.round->diameter, "pallet.pin round: diameter");
  out.in.land =
      take(pins.relieved->land.known() ? pins.relieved->land : pins.relieved->diameter, "pallet.pin relieved: land");
  if (pins.relieved->land_width.known())
    out.in.land_width = {pins.relieved->land_width.si, pins.relieved->land_width.si, {}, {}};
  else out.missing.emplace_back("pallet.pin relieved: land_width");
  out.in.pallet_span = take(p.pallet.pin_span, "pallet.pin_span: distance of the pins");
  const plan::Requirement* span = nullptr;
  for (const plan::Requirement& r : p.requirements)
    if (r.kind.value == "distance" && plan::parse_reference(r.feature.value).id == out.hole &&
        plan::parse_reference(r.to.value).id == pins.relieved_hole.feature->id.value)
      span = &r;
  if (span != nullptr) out.in.part_span = take(span->limits, "requirement " + span->id.value);
  else out.missing.push_back(fmt::format("requirement: the distance of the two holes {} with its tolerance", out.hole));
  out.in.round_at = pins.round_hole.point;
  out.in.relieved_at = pins.relieved_hole.point;
  if (pins.relieved->direction.known()) {
    const Vec3 d = out.in.relieved_at - out.in.round_at;
    out.in.relief_angle = pins.relieved->direction.si - std::atan2(d.y, d.x);
  }
  out.in.warmth.plate_low = p.pallet.temperature_low.si;
  out.in.warmth.plate_high = p.pallet.temperature_high.si;
  out.in.warmth.part_low = out.in.warmth.part_high = p.pallet.part_temperature.si;
  const auto expansion = [&](const plan::Text& material, const plan::Number& given, const std::string& what) {
    if (given.known()) return given.si;
    if (material.known()) {
      const auto m = ref::material(material.value);
      if (m.ok()) return m->expansion.value;
      out.missing.push_back(what + ": " + say(m.problem()));
      return 0.0;
    }
    out.missing.push_back(what);
    return 0.0;
  };
  out.in.warmth.plate_expansion = expansion(p.pallet.plate.material, {}, "pallet.plate.material");
  out.in.warmth.part_expansion = expansion(p.part.material, p.part.expansion, "part.material");
  out.in.warmth.pin_expansion = steel_expansion;
  return out;
}

struct WarmBands {
  int high = -1, part = -1, pin = -1;
};
WarmBands warm_bands(Finding& f, const plan::Pallet& p) {
  WarmBands b;
  b.high = assume(f, p.temperature_high, "warmest pallet", "pallet.temperature_high");
  b.part = assume(f, p.part_temperature, "temperature of the part", "pallet.part_temperature");
  plan::Number pin;
  pin.origin = plan::Origin::assumed;
  pin.kind = unit::Kind::expansion;
  pin.si = steel_expansion;
  pin.low = 10e-6;
  pin.high = 12.5e-6;
  pin.source = "from memory: hardened steels 10 to 12.5 µm/(m·K)";
  pin.replaced_by = "read the pin's material from its order";
  b.pin = assume(f, pin, "growth of the pins", "pallet.pin");
  return b;
}
locating::PinFitInputs at_warmth(const locating::PinFitInputs& in, const WarmBands& b, const plan::Pallet& p,
                                 const std::vector<double>& v) {
  locating::PinFitInputs x = in;
  x.warmth.plate_high = std::max(at(v, b.high, p.temperature_high.si), x.warmth.plate_low);
  x.warmth.part_low = x.warmth.part_high = at(v, b.part, p.part_temperature.si);
  x.warmth.pin_expansion = at(v, b.pin, steel_expansion);
  return x;
}

Outcome<locating::ShareNotOn> share_not_on(const locating::PinFitInputs& in) { return locating::share_not_on(in); }

void goes_on(Context& c, const plan::Operation& o, const PinCase& pc) {
  Finding f = start(o.id.value, pc.hole, "goes_on", "part goes on its pins", unit::Kind::fraction);
  f.limit = finding::share(c.plan.header.goal.si);
  f.source = pin_source;
  f.formula = "float of the land (−w + √(w² + D² − d²))/2 + half the round pin's clearance ≥ span errors + growth";
  if (!pc.missing.empty()) {
    leave_open(c, std::move(f), pc.missing);
    return;
  }
  const auto answer = c.memo.call("pin fit", locating::pin_fit, pc.in);
  if (!answer->ok()) {
    leave_open(c, std::move(f), {say(answer->problem())});
    return;
  }
  const locating::PinFitResult& r = answer->value();
  f.gauge = true;
  const auto row = [&](const char* name, double si) { f.inputs.push_back({name, 0, unit::Kind::length, um(c, si)}); };
  row("worst case: play left", r.spare);
  row("worst case at 20 °C", r.spare_at_20);
  row("needed: spans and growth", r.needed);
  row("given: land and round pin", r.given);
  row("given by the textbook D·c/2w (too generous)", r.given_textbook);
  row("growth of the plate against the part, most", r.growth_high);
  row("round pin's clearance, least", r.round_least);
  row("round pin's clearance, most", r.round_most);
  row("land's clearance, least", r.land_least);
  if (r.plate_warmest)
    f.inputs.push_back({"every pair goes on up to a plate at", *r.plate_warmest, unit::Kind::temperature, {}});
  if (r.plate_coldest) f.inputs.push_back({"and down to", *r.plate_coldest, unit::Kind::temperature, {}});
  for (const std::string& w : r.warnings) f.inputs.push_back({"remark", 0, unit::Kind::number, w});
  if (r.plate_warmest)
    f.levers.push_back({"plate temperature", "pallet.temperature_high", c.plan.pallet.temperature_high.si,
                        *r.plate_warmest, unit::Kind::temperature,
                        fmt::format("plate {} → {} before the tightest pair no longer goes on",
                                    warmth(c, c.plan.pallet.temperature_high.si), warmth(c, *r.plate_warmest))});
  if (r.largest_land)
    f.levers.push_back(
        {"land", "pallet.pin.relieved.land", pc.in.land.high, *r.largest_land, unit::Kind::length,
         fmt::format("land {} → {} ({} if the textbook were right) is where the tightest pair just goes on",
                     um(c, pc.in.land.high), um(c, *r.largest_land),
                     um(c, r.largest_land_textbook.value_or(*r.largest_land)))});
  f.sentence = r.goes_on ? fmt::format(
                               "Every part goes on every pallet, {} to spare at the worst sizes and temperatures; up "
                               "to a plate at {}.",
                               um(c, r.spare), r.plate_warmest ? warmth(c, *r.plate_warmest) : "any temperature")
                         : fmt::format("{} of pairs do not go on; at the worst sizes and temperatures {} are lacking.",
                                       unit::print(r.share_not_on, unit::Kind::fraction), um(c, -r.spare));
  const WarmBands bands = warm_bands(f, c.plan.pallet);
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    const auto s = c.memo.call("share not on", share_not_on, at_warmth(pc.in, bands, c.plan.pallet, v));
    return s->ok() ? s->value().all : std::numeric_limits<double>::quiet_NaN();
  });
}

/// What play alone does to features made on the pins and held to a place.
void play(Context& c, const plan::Operation& o, PinCase pc) {
  struct Asked {
    std::string feature;
    Vec3 point;
    double zone = 0;
    std::string requirement;
  };
  std::vector<Asked> asked;
  for (const plan::Requirement& r : c.plan.requirements) {
    if (r.kind.value != "position" && r.kind.value != "coaxiality") continue;
    const std::string id = plan::parse_reference(r.feature.value).id;
    if (std::find(o.makes.value.begin(), o.makes.value.end(), id) == o.makes.value.end() || !r.limits.value.upper)
      continue;
    // Against a feature cut in the same clamping the play cancels.
    if (r.to.known() && std::find(o.makes.value.begin(), o.makes.value.end(), plan::parse_reference(r.to.value).id) !=
                            o.makes.value.end())
      continue;
    const plan::Feature* feature = plan::find_feature(c.plan, id);
    if (feature == nullptr) continue;
    Vec3 far = feature->at.value.empty() ? Vec3{} : feature->at.value[0];
    for (Vec3 p : feature->at.value)
      if (frame::norm(p - pc.in.round_at) > frame::norm(far - pc.in.round_at)) far = p;
    asked.push_back({id, far, *r.limits.value.upper, r.id.value});
  }
  if (asked.empty()) return;
  if (!pc.missing.empty()) {
    for (const Asked& a : asked) {
      Finding f = start(o.id.value, a.feature, "play_of_pins",
                        fmt::format("play of the pins at the {}", words_of(c.plan, a.feature)), unit::Kind::length);
      f.limit = finding::upper(0.5 * a.zone);
      leave_open(c, std::move(f), pc.missing);
    }
    return;
  }
  for (const Asked& a : asked) pc.in.features.push_back({a.feature, a.point, {}});
  const auto answer = c.memo.call("pin fit", locating::pin_fit, pc.in);
  for (std::size_t i = 0; i < asked.size(); ++i) {
    Finding f =
        start(o.id.value, asked[i].feature, "play_of_pins",
              fmt::format("play of the pins at the {}", words_of(c.plan, asked[i].feature)), unit::Kind::length);
    f.limit = finding::upper(0.5 * asked[i].zone);
    f.gauge = true;
    f.source = pin_source;
    f.formula = "farthest vertex of the region of shift and turn that both contacts leave, loosest sizes";
    if (!answer->ok()) {
      leave_open(c, std::move(f), {say(answer->problem())});
      continue;
    }
    const locating::PinFeatureError& e = answer->value().features[i];
    f.inputs = {{"requirement", 0, unit::Kind::number, asked[i].requirement},
                {"largest shift along X", 0, unit::Kind::length, um(c, e.worst_x)},
                {"along Y", 0, unit::Kind::length, um(c, e.worst_y)},
                {"by half clearance plus turn (counts play twice)", 0, unit::Kind::length, um(c, e.naive)},
                {"standard deviation X, Y", 0, unit::Kind::length, um(c, e.s_x) + ", " + um(c, e.s_y)},
                {"largest turn", answer->value().largest_turn, unit::Kind::angle, {}}};
    f.sentence = fmt::format("Play alone can put the {} {} off, of the {} that its zone allows ({} by the usual sum).",
                             words_of(c.plan, asked[i].feature), um(c, e.worst_distance), um(c, 0.5 * asked[i].zone),
                             um(c, e.naive));
    PlayPicture& picture = c.study.play;
    const double allowed = 0.5 * asked[i].zone;
    if (!picture.there ||
        e.worst_distance / allowed > std::hypot(picture.worst[0], picture.worst[1]) / picture.allowed) {
      picture = {true, words_of(c.plan, asked[i].feature), {}, {}, allowed};
      for (const maths::Point2& p : e.region) {
        picture.region.push_back({p.x, p.y});
        if (std::hypot(p.x, p.y) > std::hypot(picture.worst[0], picture.worst[1])) picture.worst = {p.x, p.y};
      }
    }
    const double clearance = answer->value().round_most;
    f.levers.push_back({"round pin", "pallet.pin.round.diameter", clearance, 0, unit::Kind::length,
                        fmt::format("a round pin with less clearance than {} tightens it", um(c, clearance))});
    settle(c, std::move(f), [&](const std::vector<double>&) { return e.worst_distance; });
  }
}

void comes_off(Context& c, const plan::Operation& o, const Pins& pins, const PinCase& pc) {
  Finding f = start(o.id.value, pc.hole, "comes_off", "part comes off its pins by hand", unit::Kind::length);
  f.source = "binding of a short land in a hole: h·θ + D·θ²/2 > c, derived in calc/locating/README.md";
  f.formula = "how far one end may go ahead of the other before the land binds, at mean sizes";
  f.cautions = {
      "Fingers stay out from under the part while it is pried or jacked; local codes and licensed practice decide."};
  std::vector<std::string> missing = pc.missing;
  const plan::Number& height = pins.round->height;  // it stays on while the other end goes ahead
  if (!height.known()) missing.emplace_back("pallet.pin round: height of its straight land");
  if (!missing.empty()) {
    f.limit = finding::lower(5e-4);
    leave_open(c, std::move(f), missing);
    return;
  }
  locating::LiftOffInputs in;
  in.span = frame::norm(pc.in.relieved_at - pc.in.round_at);
  in.hole = locating::mean_of(pc.in.round_hole);
  in.clearance = locating::mean_of(pc.in.round_hole) - locating::mean_of(pc.in.round_pin);
  in.land_height = height.si;
  in.friction = 0.15;
  const auto mean = c.memo.call("lift off", locating::lift_off, in);
  locating::LiftOffInputs tight = in;
  tight.hole = pc.in.round_hole.low;
  tight.clearance = std::max(pc.in.round_hole.low - pc.in.round_pin.high, 0.0);
  const auto least = c.memo.call("lift off", locating::lift_off, tight);
  if (!mean->ok() || !least->ok()) {
    f.limit = finding::lower(5e-4);
    leave_open(c, std::move(f), {say(mean->ok() ? least->problem() : mean->problem())});
    return;
  }
  plan::Number level;
  level.origin = plan::Origin::assumed;
  level.kind = unit::Kind::length;
  level.si = 0.5e-3;
  level.low = 0.2e-3;
  level.high = 1e-3;
  level.source = "from memory: how level two hands lift";
  level.replaced_by = "a dial under one end while three people lift a part";
  f.limit = finding::lower(0, level.si);
  const int i = assume(f, level, "how unevenly two hands lift", "-");
  const double lead = mean->value().lead_of_one_end;
  f.inputs = {
      {"straight land", in.land_height, unit::Kind::length, {}},
      {"mean clearance", 0, unit::Kind::length, um(c, in.clearance)},
      {"one end may go ahead by", lead, unit::Kind::length, {}},
      {"with the tightest pair", least->value().lead_of_one_end, unit::Kind::length, {}},
      {"land up to which one end may be lifted clear", mean->value().tallest_one_ended, unit::Kind::length, {}}};
  f.sentence = mean->value().free_one_ended ? "One end may be lifted clear while the other stays on."
                                            : fmt::format(
                                                  "Lift it level: one end may go only {} ahead of the other before the "
                                                  "pin binds ({} with the tightest pair).",
                                                  mm(c, lead), mm(c, least->value().lead_of_one_end));
  f.levers.push_back({"land height", "pallet.pin.height", in.land_height, mean->value().tallest_one_ended,
                      unit::Kind::length,
                      fmt::format("straight land {} → {} lets one end come off first; or a jack screw lifts it level",
                                  mm(c, in.land_height), mm(c, mean->value().tallest_one_ended))});
  settle(c, std::move(f), [&](const std::vector<double>& v) { return lead - at(v, i, level.si); });
}

}  // namespace

void locating_findings(Context& c) {
  std::vector<std::string> cut;
  for (const plan::Operation& o : c.plan.operations) {
    if (!o.makes.value.empty()) {
      held(c, o);
      rocks(c, o, cut);
    }
    if (o.kind.value == "pallet") {
      const Pins pins = pins_of(c.plan);
      if (!pins.there) {
        Finding f = start(o.id.value, "", "goes_on", "part goes on its pins", unit::Kind::fraction);
        f.limit = finding::share(c.plan.header.goal.si);
        leave_open(c, std::move(f), {"pallet.pin: a round and a relieved pin, each in a hole of the part"});
      } else {
        const PinCase pc = pin_case(c, pins);
        goes_on(c, o, pc);
        play(c, o, pc);
        comes_off(c, o, pins, pc);
        loading_findings(c, o);
        swap_findings(c, o);
      }
    }
    for (const std::string& m : o.makes.value) {
      cut.push_back(m);
      const plan::Feature* f = plan::find_feature(c.plan, plan::parse_reference(m).id);
      if (f != nullptr && f->over.known()) cut.push_back(f->over.value);
    }
  }
}

}  // namespace fettle::study
