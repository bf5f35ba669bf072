#include "study/ledger_model.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <set>

#include "base/text.h"
#include "calc/locating/swap.h"
#include "calc/tolerance/process.h"
#include "maths/linear.h"
#include "maths/statistics.h"
#include "ref/defaults.h"
#include "ref/materials.h"
#include "study/fixture_pins.h"
#include "study/readings.h"
#include "study/vise_jaws.h"

namespace fettle::study {

using frame::Vec3;
using tolerance::Contributor;
using tolerance::Effect;
using tolerance::Element;
using Family = Contributor::Family;
using On = Effect::On;

namespace {

constexpr double room_temperature = 293.15;  // K, where sizes are said (ISO 1)

plan::Number assumed_number(double value, double low, double high, unit::Kind kind, std::string source,
                            std::string replaced_by) {
  plan::Number n;
  n.origin = plan::Origin::assumed;
  n.kind = kind;
  n.si = value;
  n.low = low;
  n.high = high;
  n.source = std::move(source);
  n.replaced_by = std::move(replaced_by);
  return n;
}

/// Start values of the ledger: one standard deviation or half width, m.
struct Start {
  const char* name;
  double value, low, high;
  const char* source;
  const char* replaced_by;
};
constexpr Start zero_start{"zero setting",
                           2e-6,
                           0.5e-6,
                           6e-6,
                           "common practice: a probe or an edge finder repeats within a few micrometres",
                           "set the same zero ten times and write the numbers down"};
constexpr Start tool_start{"tool setting",
                           3e-6,
                           1e-6,
                           8e-6,
                           "common practice: presetting and seating of a holder",
                           "touch one tool off ten times"};
constexpr Start wear_start{"tool wear",
                           4e-6,
                           1e-6,
                           12e-6,
                           "common practice: what an edge gives away before it is changed, half of it either way",
                           "measure the same face on the first and the last part of an edge"};
constexpr Start growth_start{"spindle growth",
                             5e-6,
                             2e-6,
                             15e-6,
                             "from memory: spindles without compensation",
                             "touch a tool off cold and after an hour"};
constexpr Start push_start{"push-off",
                           2e-6,
                           0.5e-6,
                           8e-6,
                           "from memory: finishing cuts whose force or give the plan says too little about",
                           "cut a face twice at the same setting"};
constexpr Start warming_start{"warming after probing",
                              2,
                              0.5,
                              5,
                              "from memory: evenly either way, in kelvin, over one cycle under coolant",
                              "probe the pins again after the last cut of a warm run"};
constexpr Start raw_start{"raw surfaces",
                          0.3e-3,
                          0.1e-3,
                          0.8e-3,
                          "from memory: iron in green sand, a size of about 100 mm",
                          "measure a dozen castings with a tape"};
constexpr Start wander_start{"wander of the drill",
                             15e-6,
                             5e-6,
                             40e-6,
                             "common practice: a short drill in a spotted or milled face",
                             "measure where ten drilled holes lie"};
constexpr Start depth_start{"depth of drilled holes", 50e-6, 20e-6, 120e-6, "common practice", "gauge ten depths"};
constexpr Start grind_start{
    "ground thickness",        25e-6 / 3, 4e-6, 20e-6, "from memory: rotary surface grinding holds about ±0.025 mm",
    "measure ten ground parts"};
constexpr Start fixture_pin{"pins of a fixture",
                            10e-6,
                            4e-6,
                            25e-6,
                            "common practice: a pin a hundredth of a millimetre below the least hole goes on by hand",
                            "measure the pins, and the holes with plug gauges"};
constexpr Start pin_pitch{"distance of a fixture's pins",
                          10e-6 / 3,
                          2e-6,
                          10e-6,
                          "from memory: a jig borer holds about ±0.01 mm between two pins",
                          "measure the distance of the pins"};
constexpr Start land_below{"land of a relieved pin",
                           20e-6,
                           8e-6,
                           40e-6,
                           "common practice: a land lies about two hundredths of a millimetre below a round pin, for "
                           "the distance of the holes",
                           "measure the relieved pin over its lands"};
constexpr Start land_share{
    "width of a land over its hole",       0.2, 0.1, 0.35, "common practice: a land is about a fifth of the hole wide",
    "measure the land of the relieved pin"};
constexpr Start ground_pin{
    "ground pins", 4e-6 / 3, 2e-6 / 3, 10e-6 / 3, "common practice: ground pins hold about ± 4 µm", "measure the pins"};
/// Form of a machined face per length of its longest extent; the value is one standard deviation of a half normal.
constexpr double ground_form_per_length = 0.025 / 300 / 3;  // from memory: 0.025 mm over 300 mm flat
constexpr double milled_form_per_length = 0.040 / 300 / 3;  // from memory: 0.04 mm over 300 mm flat, let go
constexpr double milled_form_least = 1.5e-6;                // m; from memory: marks of the edges

std::string process_of(const plan::Plan& plan, const plan::Operation& o, const plan::Feature& f) {
  if (o.kind.value == "grind") return "surface grinding";
  std::string process;
  for (const plan::Cut& cut : o.cuts) {
    const bool on = std::any_of(cut.features.value.begin(), cut.features.value.end(),
                                [&](const std::string& r) { return plan::parse_reference(r).id == f.id.value; });
    if (!on || cut.kind.value == "chamfer" || cut.kind.value == "probe") continue;
    const plan::Tool* tool = plan::find_tool(plan, cut.tool.value);
    const std::string kind = tool != nullptr ? tool->kind.value : "";
    process = kind == "drill"             ? "drilling"
              : kind == "reamer"          ? "reaming"
              : kind == "boring tool"     ? "boring"
              : kind == "tap"             ? "tapping"
              : cut.kind.value == "rough" ? "milling"
                                          : "finish milling";
  }
  if (process.empty())
    process = f.kind.value == "hole" ? "drilling" : f.kind.value == "bore" ? "boring" : "finish milling";
  return process;
}

/// Form that a process leaves: one standard deviation of a half normal and its band, m.
struct FormOf {
  std::string process;
  double s = 0, low = 0, high = 0;
  std::string source, measure;
};
/// How round a process leaves a hole: nearly all within `most` (band low to high), m, as three standard deviations.
struct RoundForm {
  const char *process, *word;
  double most, low, high;
  const char *source, *measure;
};
constexpr RoundForm round_forms[] = {
    {"boring", "bored", 3e-6, 1.5e-6, 8e-6,
     "from memory: a finishing boring tool leaves a bore cylindrical within about 3 µm (1.5 to 8)",
     "five bores with an air gauge at three heights and two ways round"},
    {"reaming", "reamed", 5e-6, 3e-6, 12e-6,
     "from memory: a reamer leaves a hole cylindrical within about 5 µm (3 to 12)",
     "five holes with an air gauge at three heights and two ways round"},
    {"finish milling", "milled", 12e-6, 6e-6, 30e-6,
     "from memory: a bore milled in circles is round within about 12 µm (6 to 30), where the axes turn round",
     "five bores on a roundness plate"},
};
/// None: nobody says how such a form comes out (a drilled hole's cylindricity, straightness of anything).
std::optional<FormOf> form_of(const plan::Plan& plan, const plan::Operation& o, const plan::Feature* f,
                              const Element& el, const std::string& kind) {
  if (kind == "flatness") {
    const double length = 2 * std::hypot(el.half_u, el.half_v);
    if (!(length > 0)) return std::nullopt;
    if (o.kind.value == "grind") {
      const double s = ground_form_per_length * length;
      return FormOf{
          "ground",
          s,
          0.5 * s,
          2.5 * s,
          "from memory: rotary surface grinding is flat within about 0.025 mm over 300 mm; what springs back off "
          "the chuck is not in it",
          "blue three ground faces on a plate, off the chuck"};
    }
    const double s = std::max(milled_form_least, milled_form_per_length * length);
    return FormOf{
        "milled",
        s,
        0.4 * s,
        3 * s,
        "from memory: a face milled in one clamping is flat within about 0.04 mm over 300 mm once it is let go; "
        "what the jaws bend comes on top",
        "blue three milled faces on a plate, let go"};
  }
  if ((kind != "cylindricity" && kind != "roundness") || f == nullptr) return std::nullopt;
  const std::string process = process_of(plan, o, *f);
  for (const RoundForm& r : round_forms)
    if (process == r.process) return FormOf{r.word, r.most / 3, r.low / 3, r.high / 3, r.source, r.measure};
  return std::nullopt;
}

class Builder {
 public:
  Builder(const plan::Plan& plan, const Data& data, const PushOf& push, const LedgerVariant& variant)
      : plan_(plan), data_(data), push_(push), variant_(variant) {}

  LedgerModel build() {
    nests();
    for (const plan::Operation& o : plan_.operations) operation(o);
    raw_surfaces();
    for (std::size_t i = 0; i < plan_.operations.size(); ++i)
      if (operation_of_[i] >= 0) errors(plan_.operations[i], operation_of_[i]);
    for (std::size_t i = 0; i < plan_.requirements.size(); ++i) requirement(static_cast<int>(i));
    for (const plan::SpreadOf& s : plan_.spreads)
      if (used_.count(&s) == 0)
        m_.notices.push_back(fmt::format("spread \"{}\" moves nothing that this route makes", s.id.value));
    return std::move(m_);
  }

 private:
  const plan::Plan& plan_;
  const Data& data_;
  const PushOf& push_;
  const LedgerVariant& variant_;
  LedgerModel m_;
  std::vector<Vec3> nest_at_;
  std::vector<double> nest_turn_;    // rad, of the part on the pallet
  std::vector<int> operation_of_;    // plan operation -> route operation, -1 when it makes nothing
  std::set<int> made_ever_;          // elements made so far
  std::map<int, int> maker_;         // element -> last route operation
  std::map<int, int> made_in_plan_;  // element -> plan operation
  std::set<int> raw_used_;           // elements touched before they were made
  std::set<int> not_held_;           // route operations that leave a freedom
  std::set<const plan::SpreadOf*> used_;
  /// An error of a clamping that the plan says too little about: what to give, and which requirements it reaches.
  struct Lack {
    bool sideways = false, upright = false;
    std::string what;
  };
  std::map<int, std::vector<Lack>> lacks_;  // per route operation
  /// A pin among the locators that stands by itself, and how far the part may move on it.
  struct LonePin {
    const plan::Locator* pin = nullptr;
    double clearance = 0, most = 0;  // m, of diameters: at the middle of the limits, at their ends
    std::vector<int> contacts;
  };
  std::map<int, LonePin> lone_;    // per route operation
  std::set<int> on_fixture_pins_;  // route operations with a pair of pins among their locators

  // ---- surfaces -------------------------------------------------------------------------------------------------
  int element(const std::string& reference) {
    if (const auto it = m_.element.find(reference); it != m_.element.end()) return it->second;
    const Surface s = surface_of(plan_, reference);
    if (!s.there) return -1;
    Element e;
    e.id = reference;
    e.p = s.point;
    if (s.round) {
      e.shape = Element::Shape::axis;
      e.n = s.normal;
      e.half_u = 0.5 * std::fabs(s.to - s.from);
      e.size = 2 * s.radius;
    } else {
      e.n = s.normal;
      e.u = axis_across(s.normal);
      const bool disc = s.feature->diameter.known();
      const double inner = disc ? std::sqrt(0.5) : 1;  // the corners of a disc lie on its edge
      e.half_u = 0.5 * inner * s.extent_u;
      e.half_v = 0.5 * inner * s.extent_v;
    }
    return keep(reference, e);
  }
  int keep(const std::string& reference, const Element& e) {
    m_.route.elements.push_back(e);
    const int index = static_cast<int>(m_.route.elements.size()) - 1;
    m_.element[reference] = index;
    return index;
  }
  /// Every surface a reference stands for: instances of a pattern, sides of a profile.
  std::vector<int> elements(const std::string& reference) {
    const plan::Reference r = plan::parse_reference(reference);
    const plan::Feature* f = plan::find_feature(plan_, r.id);
    std::vector<int> out;
    if (f == nullptr) return out;
    const auto take = [&](const std::string& one) {
      const int e = element(one);
      if (e >= 0) out.push_back(e);
    };
    if (f->kind.value == "profile" && r.side.empty())
      for (const std::string& side : sides_of(*f)) take(side);
    else if (r.index == 0 && f->at.value.size() > 1)
      for (std::size_t k = 1; k <= f->at.value.size(); ++k)
        take(fmt::format("{}{}@{}", r.id, r.side.empty() ? "" : "." + r.side, k));
    else if (r.index > 0 && f->at.value.size() == 1) take(r.id + (r.side.empty() ? "" : "." + r.side));
    else take(reference);
    return out;
  }
  /// The element behind a datum letter.
  int datum(const std::string& letter) {
    for (const plan::Feature& f : plan_.features) {
      const auto letters = base::split(f.datum.value, ' ');
      const auto it = std::find(letters.begin(), letters.end(), letter);
      if (it == letters.end()) continue;
      const auto all = elements(f.id.value);
      const auto k = static_cast<std::size_t>(it - letters.begin());
      if (all.empty()) return -1;
      return all[std::min(k, all.size() - 1)];
    }
    return -1;
  }

  // ---- clampings ------------------------------------------------------------------------------------------------
  void nests() {
    std::vector<Vec3> one;
    std::vector<double> turn;
    for (const plan::Nest& n : plan_.pallet.nests)
      for (const Vec3& p : n.at.value) {
        one.push_back(p);
        turn.push_back(n.turn.known() ? n.turn.si : 0);
      }
    const int pallets = std::max(1, plan_.pallet.on_table.known() ? plan_.pallet.on_table.value : 1) *
                        std::max(1, plan_.pallet.sets.known() ? plan_.pallet.sets.value : 1);
    if (one.empty()) {
      one.push_back({});
      turn.push_back(0);
    }
    for (int k = 0; k < pallets; ++k)
      for (std::size_t i = 0; i < one.size(); ++i) {
        nest_at_.push_back(one[i]);
        nest_turn_.push_back(turn[i]);
        m_.route.pallet_of.push_back(k);
      }
    m_.route.nests = static_cast<int>(nest_at_.size());
  }
  /// A direction of the pallet as the part in this nest sees it.
  Vec3 in_part(std::size_t nest, Vec3 v) const {
    const double c = std::cos(nest_turn_[nest]), s = std::sin(nest_turn_[nest]);
    return {c * v.x + s * v.y, c * v.y - s * v.x, v.z};
  }
  int face_below(const plan::Operation& o) {
    const Vec3 up = o.up.known() ? direction(o.up.value) : Vec3{0, 0, 1};
    int best = -1;
    double nearest = 0;
    for (const plan::Feature& f : plan_.features) {
      if (f.kind.value != "face") continue;
      const Surface s = surface_of(plan_, f.id.value);
      if (!s.there || frame::dot(s.normal, up) > -0.9) continue;
      const double height = frame::dot(s.point, up);
      if (best < 0 || height < nearest) {
        best = element(f.id.value);
        nearest = height;
      }
    }
    return best;
  }
  void touch(tolerance::Operation& op, const std::string& name, int e, Vec3 p, Vec3 n) {
    if (e >= 0 && made_ever_.count(e) == 0) raw_used_.insert(e);
    op.contacts.push_back({name, e, p, n});
  }
  /// Diameters of the pins of a fixture: this much below the least hole, land and round pin.
  static double pin_below(const Element& hole, const plan::Feature* f) {
    const auto low = f != nullptr ? f->diameter.value.lower : std::nullopt;
    return low ? std::min(*low, hole.size) : hole.size;
  }
  static bool has_land(const plan::Locator& l) { return l.kind.value == "relieved pin"; }
  /// Diameter of a pin of a fixture, of a relieved one over its lands: as the plan says; where it does not, so much
  /// below the least hole as such pins usually are.
  double pin_size(const plan::Locator& l, const Element& hole) const {
    if (const auto given = middle(size_of_pin(l))) return *given;
    const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(l.on.value).id);
    return pin_below(hole, f) - fixture_pin.value - (has_land(l) ? land_below.value : 0);
  }
  /// What pins among the locators lack, so that what they do cannot be worked out; true: something.
  bool pins_lack(const plan::Operation& o, const FixturePins& pins) {
    const int op = static_cast<int>(m_.route.operations.size());
    const std::size_t before = lacks_[op].size();
    const auto lack = [&](const Surface& hole, std::string what) {
      lacks_[op].push_back({true, !hole.there || std::fabs(hole.normal.z) < 0.5, std::move(what)});
    };
    for (const plan::Locator& l : o.locators) {
      if (!is_pin(l)) continue;
      const Surface hole = surface_of(plan_, l.on.value);
      if (!hole.there || !hole.round || !(hole.radius > 0))
        lack(hole, fmt::format("feature {}.diameter: limits of the hole that the {} of {} stands in",
                               plan::parse_reference(l.on.value).id, l.kind.value, o.id.value));
      if (size_of_pin(l).known() && !middle(size_of_pin(l)))
        lack(hole, fmt::format("{}: both limits of the {} in {}", pin_key(o, has_land(l) ? "land" : "diameter"),
                               l.kind.value, l.on.value));
    }
    for (const plan::Locator* l : pins.more)
      lack(surface_of(plan_, l->on.value),
           fmt::format("{}: one round pin and one relieved pin; what another {} in {} does is not worked out",
                       pin_key(o), l->kind.value, l->on.value));
    if (lacks_[op].size() == before && pins.round != nullptr && pins.relieved != nullptr && !pins.pair)
      lack(pins.round_hole, fmt::format("{}: two holes of one direction, apart from each other, for the round and the "
                                        "relieved pin",
                                        pin_key(o)));
    return lacks_[op].size() > before;
  }
  static std::string pin_key(const plan::Operation& o, const char* key = "") {
    return fmt::format("operation.{}.locator{}{}", o.id.value, *key != 0 ? "." : "", key);
  }
  void no_way_on(const plan::Operation& o, const Element& hole) {
    lacks_[static_cast<int>(m_.route.operations.size())].push_back(
        {true, std::fabs(hole.n.z) < 0.5,
         fmt::format("{}: pins that go into their holes, with the sizes and the distance that the plan says",
                     pin_key(o))});
  }
  /// Pins among the locators. A pair: three freedoms with their play, as on a pallet. What nobody says of their sizes
  /// is taken as usual.
  void fixture_pins(const plan::Operation& o, tolerance::Operation& op) {
    const FixturePins pins = pins_among(plan_, o);
    if (pins_lack(o, pins)) return;
    if (pins.pair) return pin_pair(o, pins, op);
    if (const plan::Locator* one = pins.round != nullptr ? pins.round : pins.relieved) lone_pin(o, *one);
  }
  void pin_pair(const plan::Operation& o, const FixturePins& among, tolerance::Operation& op) {
    const auto a = elements(among.round->on.value), b = elements(among.relieved->on.value);
    if (a.empty() || b.empty()) return;
    const Element round = m_.route.elements[static_cast<std::size_t>(a.front())],
                  relieved = m_.route.elements[static_cast<std::size_t>(b.front())];
    const Vec3 d = relieved.p - round.p;
    const double span = frame::norm(d - frame::dot(d, round.n) * round.n);
    const plan::Number& width = among.relieved->land_width;
    tolerance::Pins& pins = op.pins;
    pins.there = true;
    pins.round_hole = a.front(), pins.relieved_hole = b.front();
    for (int e : {pins.round_hole, pins.relieved_hole})
      if (made_ever_.count(e) == 0) raw_used_.insert(e);
    pins.pair = {round.size,
                 pin_size(*among.round, round),
                 relieved.size,
                 pin_size(*among.relieved, relieved),
                 width.known() ? width.si : land_share.value * relieved.size,
                 span,
                 middle(o.pin_span).value_or(span),
                 0,
                 0};
    pins.name = "play of the fixture's pins";
    pins.key = pin_key(o, "diameter");
    on_fixture_pins_.insert(static_cast<int>(m_.route.operations.size()));
    if (maths::spare(pins.pair) < 0) no_way_on(o, round);
  }
  /// One pin alone: its contacts have its play, each by itself.
  void lone_pin(const plan::Operation& o, const plan::Locator& l) {
    const auto on = elements(l.on.value);
    if (on.empty()) return;
    const Element hole = m_.route.elements[static_cast<std::size_t>(on.front())];
    const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(l.on.value).id);
    LonePin lone;
    lone.pin = &l;
    const double pin = pin_size(l, hole);
    lone.clearance = hole.size - pin;
    const auto high = f != nullptr ? f->diameter.value.upper : std::nullopt;
    lone.most = std::max(hole.size, high.value_or(hole.size)) - std::min(pin, size_of_pin(l).value.lower.value_or(pin));
    if (!(lone.clearance > 0)) no_way_on(o, hole);
    else lone_[static_cast<int>(m_.route.operations.size())] = lone;
  }
  /// How far below their holes pins are taken to be, where nobody says it: `which` have it in their mean (pairs) or in
  /// half their width (one pin alone).
  void assume_below(const Start& s, std::string name, std::string key, const std::vector<int>& which, int play_of) {
    if (which.empty()) return;
    AssumedScatter a{scatter(s), std::move(name), std::move(key), which, {}};
    a.apply = [which, stated = s.value, pair = play_of >= 0](std::vector<Contributor>& all, double value) {
      for (const int k : which) {
        Contributor& c = all[static_cast<std::size_t>(k)];
        if (pair) c.mean += stated - value;
        else c.half_width += 0.5 * (value - stated), c.worst += 0.5 * (value - stated);
      }
    };
    a.play_of = play_of;
    m_.assumed.push_back(std::move(a));
  }
  /// Sizes of the pins among an operation's locators: what their limits leave, or what is assumed of them.
  void fixture_pin_errors(const plan::Operation& o, int op) {
    if (lone_.count(op) > 0) return lone_pin_errors(o, op);
    if (on_fixture_pins_.count(op) == 0) return;
    const FixturePins pins = pins_among(plan_, o);
    const std::string group = "pins of the fixture " + o.id.value;
    std::vector<int> below, lands, ground;
    const auto add_size = [&](On on, const plan::Limits& l, const char* name, std::string key, double usual) {
      const bool limits = l.known() && l.value.lower && l.value.upper;
      const double width = limits ? *l.value.upper - *l.value.lower : 0;
      Contributor c =
          error(name, o.id.value, Family::normal, limits ? width / 6 : usual, group, {shift(on, op, -1, {})});
      c.worst = 0.5 * width;
      c.key = std::move(key), c.drawn = tolerance::Drawn::set_up;
      return std::pair{add(std::move(c)), limits};
    };
    for (const plan::Locator* l : {pins.round, pins.relieved}) {
      const bool land = has_land(*l);
      const plan::Limits& size = size_of_pin(*l);
      const auto [k, limits] =
          add_size(land ? On::land : On::round_pin, size, land ? "relieved pin's land" : "round pin's diameter",
                   pin_key(o, land ? "land" : "diameter"), ground_pin.value);
      if (!limits) ground.push_back(k);
      if (!size.known()) below.push_back(k);
      if (!size.known() && land) lands.push_back(k);
    }
    assume_below(fixture_pin, below_words(o), pin_key(o, "diameter"), below, op);
    assume_below(land_below, land_words(o), pin_key(o, "land"), lands, op);
    if (!ground.empty()) {
      assume_scale(scatter(ground_pin), "how closely the fixture's pins are ground, " + o.id.value,
                   pin_key(o, "diameter"), ground);
      m_.assumed.back().play_of = op;
    }
    const auto [k, limits] = add_size(On::pin_span, o.pin_span, "distance of the fixture's pins",
                                      "operation." + o.id.value + ".pin_span", pin_pitch.value);
    if (!limits)
      assume_scale(scatter(pin_pitch), "distance of the fixture's pins, " + o.id.value,
                   "operation." + o.id.value + ".pin_span", {k});
    land_width(o, *pins.relieved, op);
  }
  static std::string below_words(const plan::Operation& o) {
    return "how far the fixture's pins are below their holes, " + o.id.value;
  }
  static std::string land_words(const plan::Operation& o) {
    return "how far the land of the fixture's relieved pin is below a round pin, " + o.id.value;
  }
  void land_width(const plan::Operation& o, const plan::Locator& l, int op) {
    const double hole = m_.route.operations[static_cast<std::size_t>(op)].pins.pair.relieved_hole;
    const Start& s = land_share;
    AssumedScatter a{l.land_width.known() ? l.land_width
                                          : assumed_number(s.value * hole, s.low * hole, s.high * hole,
                                                           unit::Kind::length, s.source, s.replaced_by),
                     "width of the land of the fixture's relieved pin, " + o.id.value,
                     pin_key(o, "land_width"),
                     {},
                     {}};
    if (!a.number.banded()) return;
    a.play_of = a.land_width_of = op;
    m_.assumed.push_back(std::move(a));
  }
  /// The play of one pin alone: evenly over its clearance each way that it stops, the square about the round region.
  void lone_pin_errors(const plan::Operation& o, int op) {
    const LonePin& lone = lone_.at(op);
    const plan::Locator& l = *lone.pin;
    const char* const key = has_land(l) ? "land" : "diameter";
    std::vector<int> all;
    for (const int contact : lone.contacts) {
      const Vec3 n = m_.route.operations[static_cast<std::size_t>(op)].contacts[static_cast<std::size_t>(contact)].n;
      const char axis = std::fabs(n.x) > 0.5 ? 'X' : std::fabs(n.y) > 0.5 ? 'Y' : 'Z';
      Contributor c =
          error(fmt::format("play of the {} in {}, {}", l.kind.value, l.on.value, axis), o.id.value, Family::uniform,
                0.5 * lone.clearance, "play of the pin " + o.id.value, {shift(On::contact, op, contact, {})});
      c.worst = 0.5 * lone.most;
      c.key = pin_key(o, key);
      all.push_back(add(std::move(c)));
    }
    if (size_of_pin(l).known()) return;
    assume_below(fixture_pin, below_words(o), pin_key(o, key), all, -1);
    if (has_land(l)) assume_below(land_below, land_words(o), pin_key(o, key), all, -1);
  }
  void locators(const plan::Operation& o, tolerance::Operation& op) {
    fixture_pins(o, op);
    for (const plan::Locator& l : o.locators) {
      const std::string name = l.id.known() ? l.id.value : l.kind.value;
      if (l.kind.value == "centre") {
        for (const std::string& r : base::split(l.on.value, ' '))
          for (int e : elements(r))
            touch(op, name, e, m_.route.elements[static_cast<std::size_t>(e)].p,
                  m_.route.elements[static_cast<std::size_t>(e)].n);
        continue;
      }
      const auto on = elements(l.on.value);
      if (on.empty()) continue;
      const int e = on.front();
      const Element el = m_.route.elements[static_cast<std::size_t>(e)];
      if (is_pin(l)) {
        if (!op.pins.there) stop_by_pin(o, l, name, e, op);
        continue;
      }
      const Vec3 n = l.normal.known() ? -direction(l.normal.value) : el.n;
      std::vector<Vec3> at = touches(plan_, o, l);
      if (at.empty()) at.push_back(el.p);
      for (const Vec3& p : at) touch(op, name, e, p, n);
    }
  }
  void stop_by_pin(const plan::Operation& o, const plan::Locator& l, const std::string& name, int e,
                   tolerance::Operation& op) {
    const auto lone = lone_.find(static_cast<int>(m_.route.operations.size()));
    for (const Vec3& stopped : stopped_by(plan_, o, l)) {
      if (lone != lone_.end()) lone->second.contacts.push_back(static_cast<int>(op.contacts.size()));
      touch(op, name, e, m_.route.elements[static_cast<std::size_t>(e)].p, stopped);
    }
  }
  static std::optional<double> middle(const plan::Limits& l) {
    if (l.known() && l.value.lower && l.value.upper) return 0.5 * (*l.value.lower + *l.value.upper);
    return l.known() ? l.value.nominal : std::nullopt;
  }
  void pallet(const plan::Operation& o, tolerance::Operation& op) {
    const int below = face_below(o);
    const bool top = zero_of(o) == "part top";
    const int above = top ? face_above(o) : -1;
    int n = 0;
    for (const plan::Pad& pad : plan_.pallet.pads)
      for (Vec3 p : pad.at.value) {
        const int e = above >= 0 ? above : below;
        Vec3 normal{0, 0, -1}, place{p.x, p.y, 0};
        if (e >= 0) {
          const Element& el = m_.route.elements[static_cast<std::size_t>(e)];
          normal = el.n;
          place.z = el.p.z;
        }
        touch(op, above >= 0 ? "zero on the top" : fmt::format("pad {}", ++n), e, place, normal);
      }
    const plan::Pin *round = nullptr, *relieved = nullptr;
    for (const plan::Pin& pin : plan_.pallet.pins) {
      if (pin.kind.value == "round" && round == nullptr) round = &pin;
      if (pin.kind.value == "relieved" && relieved == nullptr) relieved = &pin;
    }
    if (round == nullptr || relieved == nullptr) return;
    const auto a = elements(round->in.value), b = elements(relieved->in.value);
    if (a.empty() || b.empty()) return;
    tolerance::Pins& pins = op.pins;
    const plan::Feature* hole = plan::find_feature(plan_, plan::parse_reference(round->in.value).id);
    const plan::Feature* hole2 = plan::find_feature(plan_, plan::parse_reference(relieved->in.value).id);
    const auto round_hole = middle(hole->diameter), relieved_hole = middle(hole2->diameter);
    const auto pin = middle(round->diameter),
               land = middle(relieved->land.known() ? relieved->land : relieved->diameter);
    if (!round_hole || !relieved_hole || !pin || !land || !relieved->land_width.known()) return;
    const Vec3 pa = m_.route.elements[static_cast<std::size_t>(a.front())].p,
               pb = m_.route.elements[static_cast<std::size_t>(b.front())].p;
    const double span = std::hypot(pb.x - pa.x, pb.y - pa.y);
    pins.there = true;
    pins.round_hole = a.front();
    pins.relieved_hole = b.front();
    for (int e : {pins.round_hole, pins.relieved_hole})
      if (made_ever_.count(e) == 0) raw_used_.insert(e);
    pins.pair = {*round_hole, *pin, *relieved_hole, *land, relieved->land_width.si, span, span, 0, 0};
    if (relieved->direction.known())
      pins.pair.relief_angle = relieved->direction.si - std::atan2(pb.y - pa.y, pb.x - pa.x);
    pins.name = "play of the pins";
    pins.key = "pallet.pin.round.diameter";
    on_fixture_pins_.erase(static_cast<int>(m_.route.operations.size()));
  }
  std::string zero_of(const plan::Operation& o) const {
    return variant_.zero_operation == o.id.value && !variant_.zero.empty() ? variant_.zero : o.zero.value;
  }
  int face_above(const plan::Operation& o) {
    const Vec3 up = o.up.known() ? direction(o.up.value) : Vec3{0, 0, 1};
    int best = -1;
    double most = 0;
    for (const plan::Feature& f : plan_.features) {
      if (f.kind.value != "face") continue;
      const Surface s = surface_of(plan_, f.id.value);
      if (!s.there || frame::dot(s.normal, up) < 0.9) continue;
      const int e = element(f.id.value);
      const double height = frame::dot(s.point, up);
      if (made_ever_.count(e) > 0 && (best < 0 || height > most)) {
        best = e;
        most = height;
      }
    }
    return best;
  }
  /// Holds what the contacts leave free by contacts without error; says whether any was free.
  static bool complete(tolerance::Operation& op, const std::vector<Element>& elements) {
    const auto rows = [&] {
      std::vector<std::array<double, 6>> out;
      const auto add = [&](Vec3 n, Vec3 p) {
        const Vec3 m = frame::cross(p, n);
        out.push_back({n.x, n.y, n.z, 10 * m.x, 10 * m.y, 10 * m.z});
      };
      for (const auto& c : op.contacts) add(c.n, c.p);
      if (op.pins.there) {
        const Vec3 a = elements[static_cast<std::size_t>(op.pins.round_hole)].p,
                   b = elements[static_cast<std::size_t>(op.pins.relieved_hole)].p;
        const Vec3 n = elements[static_cast<std::size_t>(op.pins.round_hole)].n, d = b - a;
        const Vec3 line = frame::unit(d - frame::dot(d, n) * n), across = frame::cross(n, line);
        add(line, a);
        add(across, a);
        add(across, b);
      }
      return out;
    };
    const auto rank = [&] {
      const auto r = rows();
      if (r.empty()) return std::size_t{0};
      maths::Matrix a(r.size(), 6);
      for (std::size_t i = 0; i < r.size(); ++i)
        for (std::size_t k = 0; k < 6; ++k) a(i, k) = r[i][k];
      return maths::svd(a, 1e-6).rank;
    };
    std::size_t held = rank();
    if (held == 6) return false;
    const std::array<std::pair<Vec3, Vec3>, 6> more = {{{{0, 0, -1}, {}},
                                                        {{-1, 0, 0}, {}},
                                                        {{0, -1, 0}, {}},
                                                        {{0, -1, 0}, {0.1, 0, 0}},
                                                        {{0, 0, -1}, {0.1, 0, 0}},
                                                        {{0, 0, -1}, {0, 0.1, 0}}}};
    for (const auto& [n, p] : more) {
      if (held == 6) break;
      op.contacts.push_back({"free", -1, p, n});
      const std::size_t now = rank();
      if (now == held) op.contacts.pop_back();
      held = now;
    }
    return true;
  }
  void operation(const plan::Operation& o) {
    operation_of_.push_back(-1);
    std::vector<int> made;
    for (const std::string& r : o.makes.value)
      for (int e : elements(r)) made.push_back(e);
    if (made.empty()) return;
    tolerance::Operation op;
    op.id = o.id.value;
    locators(o, op);
    if (o.kind.value == "pallet") pallet(o, op);
    const bool chuck =
        std::any_of(o.locators.begin(), o.locators.end(), [](const auto& l) { return l.kind.value == "chuck"; });
    const int index = static_cast<int>(m_.route.operations.size());
    if (complete(op, m_.route.elements) && !chuck) not_held_.insert(index);
    op.makes = made;
    for (int e : made) {
      made_ever_.insert(e);
      maker_[e] = index;
      made_in_plan_[e] = static_cast<int>(operation_of_.size()) - 1;
    }
    operation_of_.back() = index;
    m_.route.operations.push_back(std::move(op));
  }

  // ---- errors ---------------------------------------------------------------------------------------------------
  int add(Contributor c) {
    m_.route.contributors.push_back(std::move(c));
    return static_cast<int>(m_.route.contributors.size()) - 1;
  }
  static Effect shift(On on, int operation, int index, Vec3 a) {
    Effect e;
    e.on = on;
    e.operation = operation;
    e.index = index;
    e.a = a;
    return e;
  }
  static Contributor error(std::string name, std::string operation, Family family, double s, std::string group,
                           std::vector<Effect> effects) {
    Contributor c;
    c.name = std::move(name);
    c.operation = std::move(operation);
    c.family = family;
    if (family == Family::uniform) c.half_width = s;
    else c.s = s;
    c.group = std::move(group);
    c.effects = std::move(effects);
    return c;
  }
  void raw_surfaces() {
    std::vector<int> all;
    for (int e : raw_used_) {
      const Element& el = m_.route.elements[static_cast<std::size_t>(e)];
      Contributor c = error("raw " + words_of(plan_, el.id), "", Family::normal, raw_start.value, "raw surfaces",
                            {shift(On::surface, -1, e, el.n)});
      c.key = "casting";
      all.push_back(add(std::move(c)));
    }
    assume_scale(scatter(raw_start), "scatter of raw surfaces", "casting", all);
  }
  /// Scales the standard deviation or half width of contributors.
  void assume_scale(const plan::Number& n, std::string name, std::string key, const std::vector<int>& which) {
    if (!n.banded() || which.empty()) return;
    AssumedScatter a{n, std::move(name), std::move(key), which, {}};
    const double stated = n.si;
    std::vector<std::pair<double, double>> now;
    for (int k : which) {
      const Contributor& c = m_.route.contributors[static_cast<std::size_t>(k)];
      now.emplace_back(c.s, c.half_width);
    }
    a.apply = [which, now, stated](std::vector<Contributor>& all, double value) {
      const double factor = stated > 0 ? value / stated : 1;
      for (std::size_t i = 0; i < which.size(); ++i) {
        all[static_cast<std::size_t>(which[i])].s = now[i].first * factor;
        all[static_cast<std::size_t>(which[i])].half_width = now[i].second * factor;
      }
    };
    m_.assumed.push_back(std::move(a));
  }
  static std::string spread_key(const std::string& replaces, const plan::Operation& o) {
    return fmt::format("spread: replaces = \"{}\", operation = \"{}\"", replaces, o.id.value);
  }
  /// Spreads of the plan that stand for a contributor of this operation along this axis.
  bool replaced(const std::string& what, const plan::Operation& o, char axis, int e = -1) const {
    return std::any_of(plan_.spreads.begin(), plan_.spreads.end(), [&](const plan::SpreadOf& s) {
      if (s.replaces.value != what || s.operation.value != o.id.value) return false;
      if (axis != 0 && s.axis.known() && s.axis.value != "all" && s.axis.value.find(axis) == std::string::npos)
        return false;
      if (!s.moves.known()) return true;
      return e >= 0 && std::any_of(s.moves.value.begin(), s.moves.value.end(), [&](const std::string& r) {
               return same_feature(r, m_.route.elements[static_cast<std::size_t>(e)].id);
             });
    });
  }
  static bool same_feature(const std::string& wanted, const std::string& id) {
    const plan::Reference a = plan::parse_reference(wanted), b = plan::parse_reference(id);
    return a.id == b.id && (a.side.empty() || a.side == b.side) && (a.index == 0 || a.index == b.index);
  }
  static Vec3 axis_of(char axis) { return {axis == 'x' ? 1.0 : 0.0, axis == 'y' ? 1.0 : 0.0, axis == 'z' ? 1.0 : 0.0}; }
  static bool matters(const Element& e, Vec3 a) {
    const double along = std::fabs(frame::dot(e.n, a));
    return e.shape == Element::Shape::plane ? along > 0.5 : along < 0.5;
  }
  static tolerance::Drawn drawn_of(const std::string& word, tolerance::Drawn fallback) {
    if (word == "part") return tolerance::Drawn::part;
    if (word == "nest") return tolerance::Drawn::nest;
    if (word == "pallet") return tolerance::Drawn::pallet;
    if (word == "set-up") return tolerance::Drawn::set_up;
    return fallback;
  }

  void given_spreads(const plan::Operation& o, int op) {
    for (const plan::SpreadOf& s : plan_.spreads) {
      if (s.operation.value != o.id.value || !s.value.known()) continue;
      const unit::Spread& v = s.value.value;
      Contributor c;
      c.name = s.of.value;
      c.key = fmt::format("spread.{}.value", s.id.value);
      c.operation = o.id.value;
      c.family = v.family == unit::Spread::Family::uniform ? Family::uniform : Family::normal;
      c.mean = v.mean;
      c.s = v.family == unit::Spread::Family::uniform ? 0 : v.s;
      c.half_width = v.family == unit::Spread::Family::uniform ? v.half_width : 0;
      c.group = s.of.value + " " + o.id.value;
      const std::string& what = s.replaces.value;
      c.drawn = drawn_of(s.drawn.value, what == "pallet pins" ? tolerance::Drawn::nest : tolerance::Drawn::part);
      std::vector<int> moved;
      for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes)
        for (const std::string& r : s.moves.value)
          if (same_feature(r, m_.route.elements[static_cast<std::size_t>(e)].id)) moved.push_back(e);
      if (s.moves.known() && moved.empty()) continue;
      used_.insert(&s);
      if (what == "size" || what == "form") {
        for (int e : s.moves.known() ? moved : m_.route.operations[static_cast<std::size_t>(op)].makes) {
          Effect effect = shift(what == "size" ? On::size : On::form, op, e, {});
          Contributor one = c;
          one.name =
              fmt::format("{} of the {}", what, words_of(plan_, m_.route.elements[static_cast<std::size_t>(e)].id));
          const auto aim = what == "size" ? aim_of(o, m_.route.elements[static_cast<std::size_t>(e)].id) : std::nullopt;
          if (aim) one.mean = *aim - m_.route.elements[static_cast<std::size_t>(e)].size;
          else if (what == "size" && c.mean == 0)
            if (const auto measured = measured_size(
                    plan_, data_, plan::parse_reference(m_.route.elements[static_cast<std::size_t>(e)].id).id))
              one.mean = measured->mean - m_.route.elements[static_cast<std::size_t>(e)].size;
          if (what == "form" && one.family == Family::normal) one.family = Family::half_normal;
          one.effects = {effect};
          add(std::move(one));
        }
        continue;
      }
      const std::string axes = s.axis.known() && s.axis.value != "all" ? s.axis.value : "xyz";
      for (char axis : axes) {
        Contributor one = c;
        if (axes.size() > 1) one.name += fmt::format(", {}", static_cast<char>(axis - 'a' + 'A'));
        if (s.moves.known()) {
          for (int e : moved) one.effects.push_back(shift(On::made, op, e, axis_of(axis)));
          add(std::move(one));
        } else if (what == "machine positioning") {
          for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
            const Element& el = m_.route.elements[static_cast<std::size_t>(e)];
            if (!matters(el, axis_of(axis)) || replaced_by_moves(what, o, axis, e)) continue;
            Contributor of_element = one;
            of_element.name = fmt::format("{}, {} of the {}", c.name, static_cast<char>(axis - 'a' + 'A'),
                                          words_of(plan_, el.id) + instance(el.id));
            of_element.effects = {shift(On::made, op, e, axis_of(axis))};
            add(std::move(of_element));
          }
        } else {
          one.effects = {shift(On::zero, op, -1, axis_of(axis))};
          add(std::move(one));
        }
      }
    }
  }
  bool replaced_by_moves(const std::string& what, const plan::Operation& o, char axis, int e) const {
    return std::any_of(plan_.spreads.begin(), plan_.spreads.end(), [&](const plan::SpreadOf& s) {
      return s.moves.known() && s.replaces.value == what && s.operation.value == o.id.value &&
             (!s.axis.known() || s.axis.value == "all" || s.axis.value.find(axis) != std::string::npos) &&
             std::any_of(s.moves.value.begin(), s.moves.value.end(), [&](const std::string& r) {
               return same_feature(r, m_.route.elements[static_cast<std::size_t>(e)].id);
             });
    });
  }
  static std::string instance(const std::string& id) {
    const plan::Reference r = plan::parse_reference(id);
    return r.index > 0 ? fmt::format(" {}", r.index) : "";
  }
  const plan::Machine* machine_of(const plan::Operation& o) const {
    for (const plan::Machine& x : plan_.shop.machines)
      if (x.id.value == o.machine.value) return &x;
    return nullptr;
  }
  static plan::Number scatter_of(const Start& s, unit::Kind kind) {
    return assumed_number(s.value, s.low, s.high, kind, s.source, s.replaced_by);
  }
  static plan::Number worked_out_factor() {
    const ref::Banded b = push_off_band();
    return assumed_number(b.value, b.low, b.high, unit::Kind::number, b.source, b.replaced_by);
  }
  static plan::Number scatter(const Start& s) { return scatter_of(s, unit::Kind::length); }
  char up_axis(const plan::Operation& o) const { return o.up.known() && o.up.value.size() == 2 ? o.up.value[1] : 'z'; }

  void positioning(const plan::Operation& o, int op) {
    const plan::Machine* machine = machine_of(o);
    plan::Number n;
    double s = 0;
    if (machine != nullptr && machine->positioning.known()) {
      n = machine->positioning;
      s = n.si / 3;
      n.low /= 3, n.high /= 3, n.si = s;
    } else {
      n = assumed_number(5e-6 / 3 * 2, 1e-6, 8e-6, unit::Kind::length, "common practice: an older machining centre",
                         "ball-bar, or measure 10 holes");
      s = n.si;
    }
    std::vector<int> all;
    for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
      const Element el = m_.route.elements[static_cast<std::size_t>(e)];
      for (char axis : {'x', 'y', 'z'}) {
        if (!matters(el, axis_of(axis)) || replaced("machine positioning", o, axis, e)) continue;
        Contributor c = error(fmt::format("machine positioning, {} of the {}", static_cast<char>(axis - 'a' + 'A'),
                                          words_of(plan_, el.id) + instance(el.id)),
                              o.id.value, Family::normal, s, "machine positioning " + o.id.value,
                              {shift(On::made, op, e, axis_of(axis))});
        c.key = machine != nullptr ? "machine." + machine->id.value + ".positioning" : "machine.positioning";
        all.push_back(add(std::move(c)));
      }
    }
    assume_scale(n, "machine positioning, " + o.id.value,
                 machine != nullptr ? "machine." + machine->id.value + ".positioning" : "machine.positioning", all);
  }
  void zero_setting(const plan::Operation& o, int op) {
    std::vector<int> all;
    const bool pallet = o.kind.value == "pallet";
    for (char axis : {'x', 'y', 'z'}) {
      if (replaced("zero setting", o, axis) || (axis == up_axis(o) && replaced("tool setting", o, axis))) continue;
      Contributor c =
          error(fmt::format("zero setting, {}", static_cast<char>(axis - 'a' + 'A')), o.id.value, Family::normal,
                zero_start.value, "zero setting " + o.id.value, {shift(On::zero, op, -1, axis_of(axis))});
      c.key = spread_key("zero setting", o);
      c.drawn = zero_of(o) == "probed pins" ? tolerance::Drawn::part
                : pallet                    ? tolerance::Drawn::pallet
                                            : tolerance::Drawn::set_up;
      all.push_back(add(std::move(c)));
    }
    assume_scale(scatter(zero_start), "zero setting, " + o.id.value, spread_key("zero setting", o), all);
  }
  /// Along the spindle, tool by tool.
  void tools(const plan::Operation& o, int op) {
    const char up = up_axis(o);
    std::map<std::string, std::vector<int>> by_tool;
    for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
      const Element& el = m_.route.elements[static_cast<std::size_t>(e)];
      const std::string id = plan::parse_reference(el.id).id;
      std::string tool;
      for (const plan::Cut& cut : o.cuts)
        for (const std::string& r : cut.features.value)
          if (plan::parse_reference(r).id == id && cut.kind.value != "chamfer") tool = cut.tool.value;
      if (matters(el, axis_of(up)) && el.shape == Element::Shape::plane) by_tool[tool].push_back(e);
    }
    if (!replaced("tool setting", o, up)) {
      std::vector<int> all;
      for (const auto& [tool, made] : by_tool) {
        Contributor c = error("length of " + (tool.empty() ? std::string("the tool") : tool), o.id.value,
                              Family::normal, tool_start.value, "tool setting " + o.id.value, {});
        for (int e : made) c.effects.push_back(shift(On::made, op, e, axis_of(up)));
        c.key = spread_key("tool setting", o);
        c.drawn = tolerance::Drawn::set_up;
        all.push_back(add(std::move(c)));
      }
      assume_scale(scatter(tool_start), "tool setting, " + o.id.value, spread_key("tool setting", o), all);
    }
    if (!replaced("spindle growth", o, up) && !by_tool.empty()) {
      const plan::Machine* machine = machine_of(o);
      plan::Number n = scatter(growth_start);
      if (machine != nullptr && machine->growth.known()) n = machine->growth;
      Contributor c = error("spindle growth", o.id.value, Family::normal, n.si, "spindle growth " + o.id.value,
                            {shift(On::zero, op, -1, axis_of(up))});
      c.key = machine != nullptr ? "machine." + machine->id.value + ".growth" : spread_key("spindle growth", o);
      const std::string key = c.key;
      assume_scale(n, "spindle growth, " + o.id.value, key, {add(std::move(c))});
    }
  }
  /// Of the faces cut: wear and push-off, along their own normal.
  /// The size that the last cut of a feature is set to, where the plan says it.
  static std::optional<double> aim_of(const plan::Operation& o, const std::string& id) {
    std::optional<double> aim;
    for (const plan::Cut& cut : o.cuts)
      for (const std::string& r : cut.features.value)
        if (cut.aim.known() && plan::parse_reference(r).id == plan::parse_reference(id).id) aim = cut.aim.si;
    return aim;
  }
  /// The tool that cuts a surface last; empty when no cut names it.
  static std::string last_tool(const plan::Operation& o, const std::string& id) {
    std::string tool;
    for (const plan::Cut& cut : o.cuts)
      for (const std::string& r : cut.features.value)
        if (plan::parse_reference(r).id == plan::parse_reference(id).id && cut.kind.value != "chamfer")
          tool = cut.tool.value;
    return tool;
  }
  /// A drill goes where the skin and its own chisel edge let it.
  void wander(const plan::Operation& o, int op) {
    std::vector<int> all;
    for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
      const Element el = m_.route.elements[static_cast<std::size_t>(e)];
      const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(el.id).id);
      if (el.shape != Element::Shape::axis || f == nullptr) continue;
      const std::string process = process_of(plan_, o, *f);
      if (process != "drilling" && process != "tapping") continue;
      for (char axis : {'x', 'y', 'z'}) {
        if (!matters(el, axis_of(axis)) || replaced_by_moves("machine positioning", o, axis, e)) continue;
        Contributor c = error(fmt::format("wander of the drill, {} of the {}", static_cast<char>(axis - 'a' + 'A'),
                                          words_of(plan_, el.id) + instance(el.id)),
                              o.id.value, Family::normal, wander_start.value, "wander of the drill " + o.id.value,
                              {shift(On::made, op, e, axis_of(axis))});
        c.key = spread_key("machine positioning", o);
        all.push_back(add(std::move(c)));
      }
    }
    assume_scale(scatter(wander_start), "wander of the drill, " + o.id.value, spread_key("machine positioning", o),
                 all);
  }
  /// What the push-off of one operation moves so far: one tool meets the same iron on all that it cuts in a part.
  struct Pushed {
    std::map<std::string, int> iron_of;  ///< tool -> contributor
    std::vector<int> worked_out, assumed;
    std::set<std::string> missing;
  };
  /// An effect of a given size over the nests; `share` of a nest as a factor of `a`.
  Effect nestwise(int op, int e, Vec3 a, const std::vector<double>& share) const {
    Effect x = shift(On::made, op, e, a);
    if (share.empty()) return x;
    for (std::size_t k = 0; k < nest_at_.size(); ++k) x.by_nest.push_back(share[k % share.size()] * a);
    return x;
  }
  void push_off(const plan::Operation& o, int op, int e, const std::string& words, Pushed& all) {
    const Element el = m_.route.elements[static_cast<std::size_t>(e)];
    const Push p = push_(o, el.id);
    const std::string group = "push-off " + o.id.value;
    const auto one = [&](std::string name, double half, const std::vector<double>& share) {
      Contributor c = error(std::move(name), o.id.value, Family::uniform, half, group, {nestwise(op, e, el.n, share)});
      c.key = spread_key("push-off", o);
      return add(std::move(c));
    };
    if (p.iron > 0) {
      const auto known = all.iron_of.find(p.tool);
      if (known == all.iron_of.end()) {
        all.iron_of[p.tool] = one("push-off of " + p.tool + ", soft to hard iron", p.iron, p.by_nest);
        all.worked_out.push_back(all.iron_of[p.tool]);
      } else {
        Contributor& c = m_.route.contributors[static_cast<std::size_t>(known->second)];
        c.effects.push_back(nestwise(op, e, p.iron / c.half_width * el.n, p.by_nest));
      }
    }
    if (p.stock > 0)
      all.worked_out.push_back(one("push-off of " + p.tool + " at the " + words + ", stock", p.stock, p.by_nest));
    // An offset takes out what all nests share; what one nest differs by stays.
    double most = 0;
    for (double x : p.beside) most = std::max(most, std::fabs(x));
    if (most > 0) {
      Contributor c =
          error("push-off at the " + words + ", nest against nest", o.id.value, Family::normal, 0, group, {});
      c.mean = most;
      std::vector<double> share;
      for (double x : p.beside) share.push_back(x / most);
      c.effects = {nestwise(op, e, el.n, share)};
      c.key = spread_key("push-off", o);
      add(std::move(c));
    }
    if (!p.missing.empty()) {
      all.missing.insert(p.missing.begin(), p.missing.end());
      all.assumed.push_back(one("push-off at the " + words, push_start.value, {}));
    }
  }
  /// Bores and grooves: on the size. Where a size was measured the push-off is in it. The grade of a process holds with
  /// a usual push-off in it: only what goes beyond one standard deviation of that comes on top; where nothing can be
  /// worked out the process stands for it.
  void bored_push_off(const plan::Operation& o, int op) {
    std::vector<int> worked_out;
    for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
      const Element el = m_.route.elements[static_cast<std::size_t>(e)];
      if (el.shape != Element::Shape::axis) continue;
      const std::string id = plan::parse_reference(el.id).id;
      if (replaced("size", o, 0, e) || replaced("push-off", o, std::fabs(el.n.z) > 0.5 ? 'x' : 'z', e) ||
          measured_size(plan_, data_, id))
        continue;
      const Push p = push_(o, el.id);
      double usual = 0;
      for (const Contributor& c : m_.route.contributors)
        for (const Effect& x : c.effects)
          if (x.on == On::size && x.index == e) usual = std::max(usual, c.s);
      const double beyond = p.iron + p.stock - usual;
      if (!(beyond > 0)) continue;
      Contributor c = error(
          "push-off of " + p.tool + " beyond what is usual, size of the " + words_of(plan_, el.id) + instance(el.id),
          o.id.value, Family::uniform, beyond, "push-off " + o.id.value, {shift(On::size, op, e, {})});
      c.key = spread_key("push-off", o);
      worked_out.push_back(add(std::move(c)));
    }
    assume_scale(worked_out_factor(), "push-off of bores over what is worked out, " + o.id.value,
                 spread_key("push-off", o), worked_out);
  }
  void faces(const plan::Operation& o, int op) {
    const bool grind = o.kind.value == "grind";
    std::vector<int> worn, ground;
    std::map<std::string, std::size_t> wear_of;  // one edge wears alike on every face it cuts
    Pushed pushed;
    for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
      const Element el = m_.route.elements[static_cast<std::size_t>(e)];
      if (el.shape != Element::Shape::plane) continue;
      const char axis = std::fabs(el.n.x) > 0.5 ? 'x' : std::fabs(el.n.y) > 0.5 ? 'y' : 'z';
      const std::string words = words_of(plan_, el.id) + instance(el.id);
      if (grind) {
        if (replaced("machine positioning", o, axis, e)) continue;
        Contributor c = error("ground thickness at the " + words, o.id.value, Family::normal, grind_start.value,
                              "ground thickness " + o.id.value, {shift(On::made, op, e, el.n)});
        c.key = spread_key("machine positioning", o);
        ground.push_back(add(std::move(c)));
        continue;
      }
      if (!replaced("tool wear", o, axis, e)) {
        const std::string tool = last_tool(o, el.id);
        const auto known = tool.empty() ? wear_of.end() : wear_of.find(tool);
        if (known != wear_of.end()) {
          m_.route.contributors[known->second].effects.push_back(shift(On::made, op, e, el.n));
        } else {
          Contributor c =
              error(tool.empty() ? "tool wear at the " + words : "wear of " + tool, o.id.value, Family::uniform,
                    wear_start.value, "tool wear " + o.id.value, {shift(On::made, op, e, el.n)});
          c.key = spread_key("tool wear", o);
          worn.push_back(add(std::move(c)));
          if (!tool.empty()) wear_of[tool] = static_cast<std::size_t>(worn.back());
        }
      }
      if (!replaced("push-off", o, axis, e)) push_off(o, op, e, words, pushed);
    }
    assume_scale(scatter(wear_start), "tool wear, " + o.id.value, spread_key("tool wear", o), worn);
    assume_scale(worked_out_factor(), "push-off over what is worked out, " + o.id.value, spread_key("push-off", o),
                 pushed.worked_out);
    plan::Number n = scatter(push_start);
    if (!pushed.missing.empty())
      n.replaced_by += "; it is worked out once the plan says " +
                       base::join(std::vector<std::string>(pushed.missing.begin(), pushed.missing.end()), "; ");
    assume_scale(n, "push-off, " + o.id.value, spread_key("push-off", o), pushed.assumed);
    assume_scale(scatter(grind_start), "ground thickness, " + o.id.value, spread_key("machine positioning", o), ground);
  }
  void growth(const plan::Operation& o, int op) {
    const plan::Pallet& p = plan_.pallet;
    const bool probed = zero_of(o) == "probed pins", on_top = zero_of(o) == "part top";
    // Zero on the part's own top goes up with it.
    const bool flat = !replaced("growth of the pallet", o, 'x') && !replaced("growth of the pallet", o, 'y');
    const bool upright = !probed && !on_top && !replaced("growth of the pallet", o, 'z');
    const auto lack = [&](bool sideways, bool up, const char* what) {
      if (sideways || up) lacks_[op].push_back({sideways, up, what});
    };
    const auto material =
        p.plate.material.known() ? ref::material(p.plate.material.value) : Outcome<ref::Material>(Problem{});
    if (!material.ok()) return lack(flat, upright, "pallet.plate.material: how much the pallet grows");
    if (!p.temperature_high.known()) return lack(flat, upright, "pallet.temperature_high: how warm the pallet gets");
    const bool nests = std::any_of(p.nests.begin(), p.nests.end(), [](const auto& n) { return !n.at.value.empty(); });
    if (!nests) lack(flat, false, "pallet.nest.at: where the parts sit, for the growth of the pallet");
    const bool thick = p.plate.size.value.size() == 3;
    if (!thick) lack(false, upright, "pallet.plate.size: the plate's thickness, for the growth of the pallet");
    const double alpha = material->expansion.value;
    const double zero_at = p.part_temperature.known() ? p.part_temperature.si : room_temperature;
    const double low = p.temperature_low.known() ? p.temperature_low.si : zero_at;
    // Probing the pins of every pallet leaves what it warms up while it is cut.
    const double left = warming_start.value;
    const auto set = [probed, low, zero_at, left](Contributor& c, double high) {
      c.mean = probed ? 0 : 0.5 * (low + high) - zero_at;
      c.half_width = probed ? left : 0.5 * std::max(0.0, high - low);
    };
    Contributor c;
    c.name = "growth of the pallet";
    c.operation = o.id.value;
    c.key = "pallet.temperature_high";
    c.group = "growth of the pallet " + o.id.value;
    c.family = Family::uniform;
    // The part is screwed down cold, so it goes with the plate at the middle of its own nest.
    std::vector<Vec3> by_nest;
    const double height = upright && thick ? p.plate.size.value[2] : 0;
    for (std::size_t k = 0; k < nest_at_.size(); ++k) {
      const Vec3 to = in_part(k, nest_at_[k]);
      by_nest.push_back({flat ? -alpha * to.x : 0, flat ? -alpha * to.y : 0, -alpha * height});
    }
    if (!flat && !upright) return;
    Effect e = shift(On::zero, op, -1, {});
    e.by_nest = by_nest;
    c.effects = {e};
    set(c, p.temperature_high.si);
    const int index = add(std::move(c));
    if (probed)
      return assume_scale(scatter_of(warming_start, unit::Kind::temperature_difference),
                          "warming between probing and the last cut, " + o.id.value,
                          spread_key("growth of the pallet", o), {index});
    if (!p.temperature_high.banded()) return;
    AssumedScatter a{p.temperature_high, "warmest pallet", "pallet.temperature_high", {index}, {}};
    a.apply = [index, set](std::vector<Contributor>& all, double v) { set(all[static_cast<std::size_t>(index)], v); };
    m_.assumed.push_back(std::move(a));
  }
  void pins(const plan::Operation& o, int op) {
    const tolerance::Pins& pins = m_.route.operations[static_cast<std::size_t>(op)].pins;
    if (!pins.there) return;
    const auto limits = [&](On on, const plan::Limits& l, const std::string& name, const std::string& key) {
      if (!l.known() || !l.value.lower || !l.value.upper) return;
      Contributor c = error(name, o.id.value, Family::normal, (*l.value.upper - *l.value.lower) / 6,
                            "sizes of the pins " + o.id.value, {shift(on, op, -1, {})});
      c.worst = 0.5 * (*l.value.upper - *l.value.lower);
      c.key = key;
      c.drawn = tolerance::Drawn::nest;
      add(std::move(c));
    };
    for (const plan::Pin& pin : plan_.pallet.pins) {
      if (pin.kind.value == "round")
        limits(On::round_pin, pin.diameter, "round pin's diameter", "pallet.pin.round.diameter");
      if (pin.kind.value == "relieved")
        limits(On::land, pin.land.known() ? pin.land : pin.diameter, "relieved pin's land", "pallet.pin.relieved.land");
    }
    limits(On::pin_span, plan_.pallet.pin_span, "distance of the pins", "pallet.pin_span");
    const unit::Limits& span = plan_.pallet.pin_span.value;
    for (char axis : {'x', 'y'}) {
      if (replaced("pallet pins", o, axis)) continue;
      if (!plan_.pallet.pin_span.known() || !span.lower || !span.upper) {
        lacks_[op].push_back({true, false,
                              "pallet.pin_span: limits, for the place of the pins (or a spread that replaces \"pallet "
                              "pins\")"});
        continue;
      }
      Contributor c = error(fmt::format("place of the nest's pins, {}", static_cast<char>(axis - 'a' + 'A')),
                            o.id.value, Family::normal, (*span.upper - *span.lower) / 6,
                            "place of the pins " + o.id.value, {shift(On::zero, op, -1, axis_of(axis))});
      c.key = "pallet.pin_span";
      c.drawn = tolerance::Drawn::nest;
      add(std::move(c));
    }
  }
  void seat_dirt(const plan::Operation& o, int op) {
    const char up = up_axis(o);
    if (replaced("seat dirt", o, up)) return;
    const auto dirt = ref::default_of("seat dirt");
    if (!dirt.ok()) return;
    std::vector<int> all;
    const auto& contacts = m_.route.operations[static_cast<std::size_t>(op)].contacts;
    for (std::size_t k = 0; k < contacts.size(); ++k) {
      if (contacts[k].element < 0 || std::fabs(frame::dot(contacts[k].n, axis_of(up))) < 0.5) continue;
      Effect e = shift(On::contact, op, static_cast<int>(k), {});
      Contributor c = error("dirt under " + contacts[k].name, o.id.value, Family::half_normal, dirt->value,
                            "dirt under the seat " + o.id.value, {e});
      c.key = spread_key("seat dirt", o);
      all.push_back(add(std::move(c)));
    }
    assume_scale(
        assumed_number(dirt->value, dirt->low, dirt->high, unit::Kind::length, dirt->source, dirt->replaced_by),
        "dirt under the seat, " + o.id.value, spread_key("seat dirt", o), all);
  }
  void swap(const plan::Operation& o, int op) {
    const bool probed = zero_of(o) == "probed pins", on_top = zero_of(o) == "part top";
    const auto wanted = [&](char axis) {
      return !replaced("swap", o, axis) && !(probed && axis != 'z') && !(on_top && axis == 'z');
    };
    const bool all = std::all_of(plan_.pallet.anchors.begin(), plan_.pallet.anchors.end(),
                                 [](const auto& a) { return a.repeat.known() && !a.at.value.empty(); });
    if (plan_.pallet.anchors.empty() || !all) {
      if (wanted('x') || wanted('y') || wanted('z'))
        lacks_[op].push_back({wanted('x') || wanted('y'), wanted('z'),
                              "pallet.anchor: where they stand and how well they repeat (or a spread that replaces "
                              "\"swap\")"});
      return;
    }
    locating::SwapInputs in;
    for (const plan::Anchor& a : plan_.pallet.anchors)
      for (const Vec3& p : a.at.value) {
        locating::Anchor x;
        x.x = p.x;
        x.y = p.y;
        x.s = x.s_z = a.repeat.value.s;
        x.stiffness = a.stiffness_side.si;
        x.stiffness_z = a.stiffness_up.si;
        in.anchors.push_back(x);
      }
    in.points = nest_at_;
    const auto r = locating::swap_repeatability(in);
    if (!r.ok()) return;
    const auto give = [&](char axis, const char* name, double s, const std::vector<Vec3>& by_nest) {
      if (!(s > 0) || !wanted(axis)) return;
      Effect e = shift(On::zero, op, -1, axis_of(axis));
      e.by_nest = by_nest;
      Contributor c = error(name, o.id.value, Family::normal, s, "swap " + o.id.value, {e});
      c.key = "pallet.anchor.repeat";
      add(std::move(c));
    };
    std::vector<Vec3> along_x, along_y, turned;
    for (std::size_t k = 0; k < nest_at_.size(); ++k) {
      along_x.push_back(in_part(k, {1, 0, 0}));
      along_y.push_back(in_part(k, {0, 1, 0}));
      turned.push_back(in_part(k, {-nest_at_[k].y, nest_at_[k].x, 0}));
    }
    give('x', "swap of the pallet, X", r->s_x, along_x);
    give('y', "swap of the pallet, Y", r->s_y, along_y);
    give('z', "swap of the pallet, Z", r->s_z, {});
    give('x', "swap of the pallet, turn", r->s_turn, turned);
  }
  void sizes(const plan::Operation& o, int op) {
    std::map<std::string, std::vector<int>> by_source;
    std::map<std::string, plan::Number> number;
    for (int e : m_.route.operations[static_cast<std::size_t>(op)].makes) {
      const Element el = m_.route.elements[static_cast<std::size_t>(e)];
      if (el.shape != Element::Shape::axis) continue;
      const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(el.id).id);
      if (f == nullptr || f->kind.value == "thread") continue;
      size_of(o, op, e, *f, el.size, by_source, number);
    }
    for (const auto& [key, which] : by_source)
      assume_scale(number[key], key, "spread: replaces = \"size\", operation = \"" + o.id.value + "\"", which);
  }
  void size_of(const plan::Operation& o, int op, int e, const plan::Feature& f, double size,
               std::map<std::string, std::vector<int>>& by_source, std::map<std::string, plan::Number>& number) {
    if (replaced("size", o, 0, e)) return;
    const std::string id = m_.route.elements[static_cast<std::size_t>(e)].id;
    Effect effect = shift(On::size, op, e, {});
    Contributor c = error(fmt::format("size of the {}{}", words_of(plan_, id), instance(id)), o.id.value,
                          Family::normal, 0, fmt::format("size of the {}", words_of(plan_, f.id.value)), {effect});
    c.key = spread_key("size", o);
    if (const auto measured = measured_size(plan_, data_, f.id.value)) {
      c.mean = aim_of(o, id).value_or(measured->mean) - size;
      c.s = measured->s;
      c.key = "reading";
      add(std::move(c));
      return;
    }
    const std::string process = process_of(plan_, o, f);
    const auto s = tolerance::process_scatter(process, size);
    if (!s.ok()) return;
    c.s = s->s;
    if (const auto aim = aim_of(o, id)) c.mean = *aim - size;
    const std::string name = fmt::format("scatter of sizes by {}, {}, over its start value", process, o.id.value);
    if (number.count(name) == 0)
      number[name] = assumed_number(1, s->low / s->s, s->high / s->s, unit::Kind::number,
                                    s->source + "; over its start value", "measure ten parts");
    by_source[name].push_back(add(std::move(c)));
  }
  void errors(const plan::Operation& o, int op) {
    given_spreads(o, op);
    if (o.kind.value != "grind") {
      positioning(o, op);
      zero_setting(o, op);
      tools(o, op);
      wander(o, op);
    }
    faces(o, op);
    seat_dirt(o, op);
    sizes(o, op);
    bored_push_off(o, op);
    fixture_pin_errors(o, op);
    if (o.kind.value != "pallet") return;
    growth(o, op);
    pins(o, op);
    swap(o, op);
  }

  // ---- what the drawing asks ------------------------------------------------------------------------------------
  void form(int e, const plan::Operation& o, int op, const std::string& kind) {
    const bool has = std::any_of(m_.route.contributors.begin(), m_.route.contributors.end(), [&](const Contributor& c) {
      return std::any_of(c.effects.begin(), c.effects.end(),
                         [&](const Effect& x) { return x.on == On::form && x.index == e; });
    });
    if (has) return;
    const Element el = m_.route.elements[static_cast<std::size_t>(e)];
    const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(el.id).id);
    const std::optional<FormOf> as = form_of(plan_, o, f, el, kind);
    if (!as) return;
    const std::string name =
        fmt::format("{} as {}{}", kind, as->process, o.kind.value == "grind" ? ", off the chuck" : "");
    Contributor c = error(name, o.id.value, Family::half_normal, as->s,
                          fmt::format("{} as {} {}", kind, as->process, o.id.value), {shift(On::form, op, e, {})});
    c.key = spread_key("form", o);
    const int index = add(std::move(c));
    assume_scale(assumed_number(as->s, as->low, as->high, unit::Kind::length, as->source, as->measure),
                 fmt::format("{} as {}", kind, as->process), spread_key("form", o), {index});
  }
  int own_size(const plan::Requirement& r, const plan::Feature& f, double nominal) {
    const std::string name = r.id.value + " width";
    const auto all = elements(f.id.value);
    int op = -1, in_plan = -1;
    for (int e : all)
      if (maker_.count(e) > 0) {
        op = maker_[e];
        in_plan = made_in_plan_[e];
      }
    if (op < 0) return -1;
    Element e = m_.route.elements[static_cast<std::size_t>(all.front())];
    e.id = r.id.value;
    e.size = nominal;
    const int index = keep(name, e);
    m_.route.operations[static_cast<std::size_t>(op)].makes.push_back(index);
    maker_[index] = op;
    made_in_plan_[index] = in_plan;
    const plan::Operation& o = plan_.operations[static_cast<std::size_t>(in_plan)];
    Contributor c =
        error(fmt::format("width of the {}", words_of(plan_, f.id.value)), o.id.value, Family::normal, 0,
              fmt::format("width of the {}", words_of(plan_, f.id.value)), {shift(On::size, op, index, {})});
    c.key = spread_key("size", o);
    const bool depth = r.kind.value == "depth";
    const std::string process = process_of(plan_, o, f);
    const auto s = tolerance::process_scatter(process, nominal);
    plan::Number n = scatter(depth_start);
    if (!depth && s.ok()) n = assumed_number(s->s, s->low, s->high, unit::Kind::length, s->source, "measure ten parts");
    c.s = n.si;
    const std::string key = c.key;
    assume_scale(n, depth ? depth_start.name : fmt::format("scatter of widths by {}, {}", process, o.id.value), key,
                 {add(std::move(c))});
    return index;
  }
  bool hone_follows(int in_plan) const {
    for (std::size_t k = static_cast<std::size_t>(in_plan) + 1; k < plan_.operations.size(); ++k)
      if (plan_.operations[k].kind.value == "hone") return true;
    return false;
  }
  /// The operation after which all of these are there; empty when none is made.
  std::string last_maker(const std::vector<int>& elements) const {
    int last = -1;
    for (int e : elements)
      if (const auto it = maker_.find(e); it != maker_.end()) last = std::max(last, it->second);
    return last >= 0 ? m_.route.operations[static_cast<std::size_t>(last)].id : std::string();
  }
  void requirement(int i) {
    const plan::Requirement& r = plan_.requirements[static_cast<std::size_t>(i)];
    LedgerRequirement out;
    out.of_plan = i;
    tolerance::Requirement q;
    q.id = r.id.value;
    const std::string& kind = r.kind.value;
    const std::string where = "requirement " + r.id.value;
    q.elements = elements(r.feature.value);
    out.operation = last_maker(q.elements);
    if (!r.limits.known() || (!r.limits.value.lower && !r.limits.value.upper)) {
      out.missing.push_back(where + ".limits");
      m_.requirements.push_back(out);
      return;
    }
    q.lower = r.limits.value.lower;
    q.upper = r.limits.value.upper;
    const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(r.feature.value).id);
    if (f == nullptr || q.elements.empty()) {
      out.missing.push_back(where + ".feature: a surface with its place");
      m_.requirements.push_back(out);
      return;
    }
    using K = tolerance::Requirement::Kind;
    const auto middle_of = [&] {
      return q.lower && q.upper ? 0.5 * (*q.lower + *q.upper)
                                : r.limits.value.nominal.value_or(q.upper ? *q.upper : *q.lower);
    };
    bool known = true;
    const auto target = [&]() -> int {
      if (r.to.known()) {
        const auto all = elements(r.to.value);
        return all.empty() ? -1 : all.front();
      }
      return r.datums.value.empty() ? -1 : datum(r.datums.value.front());
    };
    const auto at = [&](int e) -> const Element& { return m_.route.elements[static_cast<std::size_t>(e)]; };
    if (kind == "size") {
      q.kind = K::size;
      q.nominal = at(q.elements.front()).size;
      // A groove has a diameter and a width: the limits say which of them is meant.
      const double wide = f->width.value.nominal.value_or(
          f->width.value.lower && f->width.value.upper ? 0.5 * (*f->width.value.lower + *f->width.value.upper) : 0);
      const bool width = wide > 0 && std::fabs(middle_of() - wide) < std::fabs(middle_of() - q.nominal);
      if (width || at(q.elements.front()).shape != Element::Shape::axis) {
        if (f->kind.value == "face" || f->kind.value == "profile")
          out.missing.push_back(where + ".to: what it is measured from; a face has no size of its own");
        q.elements = {own_size(r, *f, middle_of())};
        q.nominal = middle_of();
      }
      out.honed = maker_.count(q.elements.front()) > 0 && q.lower && q.upper &&
                  hone_follows(made_in_plan_[q.elements.front()]) && *q.upper - *q.lower <= 1.2e-5 &&
                  (f->kind.value == "bore" || f->kind.value == "hole");
      if (out.honed) q.lower.reset();
    } else if ((kind == "distance" || kind == "depth") && !r.to.known()) {
      q.kind = K::size;
      q.nominal = middle_of();
      if (kind == "distance" && (f->kind.value == "face" || f->kind.value == "profile"))
        out.missing.push_back(where + ".to: what it is measured from");
      q.elements = {own_size(r, *f, q.nominal)};
    } else if (kind == "distance" || kind == "depth") {
      q.to = target();
      q.nominal = middle_of();
      if (q.to < 0) out.missing.push_back(where + ".to: a surface with its place");
      const bool itself = plan::parse_reference(r.to.value).id == f->id.value &&
                          plan::parse_reference(r.to.value).side == plan::parse_reference(r.feature.value).side;
      if (itself && q.elements.size() >= 2) {
        q.kind = K::span;
        q.elements.resize(2);
        q.to = -1;
        q.along = frame::unit(at(q.elements[1]).p - at(q.elements[0]).p);
      } else if (q.to >= 0) {
        const Element &a = at(q.elements.front()), &b = at(q.to);
        const bool axes = a.shape == Element::Shape::axis && b.shape == Element::Shape::axis;
        if (axes) {
          q.kind = K::span;
          q.elements = {q.to, q.elements.front()};
          Vec3 d = a.p - b.p;
          d = d - frame::dot(d, a.n) * a.n;
          q.along = frame::norm(d) > 0 ? frame::unit(d) : Vec3{1, 0, 0};
          q.to = -1;
        } else {
          q.kind = K::distance;
          q.along = a.shape == Element::Shape::plane ? a.n : b.n;
          if (frame::dot(q.along, a.p - b.p) < 0) q.along = -q.along;
        }
      }
    } else if (kind == "position") {
      q.kind = K::position;
      for (const std::string& letter : r.datums.value) {
        const int e = datum(letter);
        if (e < 0) out.missing.push_back(fmt::format("feature: which one is datum {}", letter));
        else q.datums.push_back(e);
      }
      if (at(q.elements.front()).shape != Element::Shape::axis) known = false;
    } else if (kind == "coaxiality") {
      q.kind = K::coaxiality;
      q.to = target();
      if (q.to < 0) out.missing.push_back(where + ".to: the axis it is held against");
      else if (at(q.to).shape != Element::Shape::axis || at(q.elements.front()).shape != Element::Shape::axis)
        known = false;
    } else if (kind == "perpendicularity" || kind == "parallelism") {
      q.kind = kind == "parallelism" ? K::parallelism : K::perpendicularity;
      q.to = target();
      if (q.to < 0) out.missing.push_back(where + ".datums: what it is held against");
      else if (at(q.to).shape == Element::Shape::axis && at(q.elements.front()).shape == Element::Shape::plane)
        known = false;
    } else if (kind == "flatness" || kind == "roundness" || kind == "cylindricity" || kind == "straightness") {
      q.kind = K::form;
      for (int e : q.elements)
        if (maker_.count(e) > 0) form(e, plan_.operations[static_cast<std::size_t>(made_in_plan_[e])], maker_[e], kind);
    } else {
      known = false;
    }
    if (!known) {
      m_.requirements.push_back(out);
      return;
    }
    modifiers(r, *f, q, out);
    as_drawn(r, q, out);
    check(r, q, out);
    if (out.missing.empty()) {
      out.route = static_cast<int>(m_.route.requirements.size());
      m_.route.requirements.push_back(std::move(q));
    }
    m_.requirements.push_back(out);
  }
  /// A distance is aimed at the middle of its limits; where the plan puts the surfaces somewhere outside them, one of
  /// the two is wrong and nobody can say which.
  void as_drawn(const plan::Requirement& r, const tolerance::Requirement& q, LedgerRequirement& out) const {
    using K = tolerance::Requirement::Kind;
    if (q.kind == K::position && q.datums.empty() && q.elements.size() < 2)
      out.missing.push_back(fmt::format("requirement {}.datums: what its place is measured from", r.id.value));
    if (!out.missing.empty() || (q.kind != K::distance && q.kind != K::span)) return;
    const auto at = [&](int e) { return m_.route.elements[static_cast<std::size_t>(e)].p; };
    for (std::size_t k = q.kind == K::span ? 1 : 0; k < q.elements.size(); ++k) {
      const Vec3 from = q.kind == K::span ? at(q.elements[0]) : at(q.to);
      const double drawn = frame::dot(q.along, at(q.elements[k]) - from);
      if (drawn_within(r.limits.value, drawn)) continue;
      unit::Style style;
      style.system = plan_.header.units.value == "inch" ? unit::Style::System::inch : unit::Style::System::metric;
      out.missing.push_back(
          fmt::format("requirement {}.limits: the plan puts {} at {}, outside these limits; one of the two is wrong",
                      r.id.value, m_.route.elements[static_cast<std::size_t>(q.elements[k])].id,
                      unit::print(drawn, unit::Kind::length, style)));
      return;
    }
  }
  void modifiers(const plan::Requirement& r, const plan::Feature& f, tolerance::Requirement& q,
                 LedgerRequirement& out) {
    for (const std::string& word : r.modifiers.value) {
      const bool most = word.find("maximum") != std::string::npos, least = word.find("least") != std::string::npos;
      if (!most && !least) continue;
      if (word.find("datum") != std::string::npos) {
        q.datum_maximum = true;
        for (int e : q.datums) {
          const plan::Feature* d =
              plan::find_feature(plan_, plan::parse_reference(m_.route.elements[static_cast<std::size_t>(e)].id).id);
          q.datum_size.push_back(d != nullptr && d->diameter.value.lower ? *d->diameter.value.lower : 0);
        }
        continue;
      }
      if (!f.diameter.value.lower || !f.diameter.value.upper) {
        out.missing.push_back(fmt::format("feature {}.diameter: limits, for the bonus", f.id.value));
        continue;
      }
      q.modifier = most ? tolerance::Requirement::Modifier::maximum : tolerance::Requirement::Modifier::least;
      q.inside = f.kind.value != "boss" && f.kind.value != "profile";
      q.modifier_size = most == q.inside ? *f.diameter.value.lower : *f.diameter.value.upper;
    }
  }
  /// What the plan does not say of a clamping, where it reaches this requirement: in one clamping it cancels, and only
  /// distances and zones see where a clamping lies.
  void lacking(const tolerance::Requirement& q, const std::vector<int>& surfaces, LedgerRequirement& out) {
    using K = tolerance::Requirement::Kind;
    if (q.kind == K::size || q.kind == K::form) return;
    std::set<int> makers;
    for (int e : surfaces)
      if (maker_.count(e) > 0) makers.insert(maker_[e]);
    if (makers.size() < 2) return;
    const bool one_way = q.kind == K::distance || q.kind == K::span, up = std::fabs(q.along.z) > 0.5;
    const bool zone = q.kind == K::position || q.kind == K::coaxiality;
    for (int k : makers) {
      if (const auto it = lacks_.find(k); it != lacks_.end())
        for (const Lack& l : it->second)
          if ((one_way && (up ? l.upright : l.sideways)) || (zone && l.sideways)) out.missing.push_back(l.what);
      const tolerance::Pins& pins = m_.route.operations[static_cast<std::size_t>(k)].pins;
      if (!pins.there || (one_way && up)) continue;
      for (int hole : {pins.round_hole, pins.relieved_hole})
        if (maker_.count(hole) == 0 || (maker_[hole] >= k && raw_used_.count(hole) > 0))
          out.missing.push_back(fmt::format("operation: the one that makes {} before its pins go in",
                                            m_.route.elements[static_cast<std::size_t>(hole)].id));
    }
  }
  /// Every surface it is about is made by a clamping that holds the part, and something scatters.
  void check(const plan::Requirement& r, const tolerance::Requirement& q, LedgerRequirement& out) {
    std::vector<int> all = q.elements;
    if (q.to >= 0) all.push_back(q.to);
    all.insert(all.end(), q.datums.begin(), q.datums.end());
    for (int e : all) {
      if (e < 0) {
        out.missing.push_back(fmt::format("operation: the one that makes {}", r.feature.value));
        return;
      }
      const std::string& id = m_.route.elements[static_cast<std::size_t>(e)].id;
      if (maker_.count(e) == 0) {
        out.missing.push_back(fmt::format("operation: the one that makes {}", id));
      } else if (not_held_.count(maker_[e]) > 0) {
        const std::string& op = m_.route.operations[static_cast<std::size_t>(maker_[e])].id;
        out.missing.push_back(fmt::format("operation {}: locators that hold the part in one place", op));
      } else {
        const plan::Operation& o = plan_.operations[static_cast<std::size_t>(made_in_plan_[e])];
        const std::string what = what_cuts(plan_, o, id == r.id.value ? r.feature.value : id);
        if (!what.empty()) out.missing.push_back(what);
        if (o.kind.value == "pallet" && !m_.route.operations[static_cast<std::size_t>(maker_[e])].pins.there &&
            q.kind != tolerance::Requirement::Kind::size && q.kind != tolerance::Requirement::Kind::form)
          out.missing.push_back("pallet.pin: a round and a relieved pin with their sizes");
      }
    }
    lacking(q, all, out);
    std::vector<int> ends = q.elements;
    if (q.to >= 0) ends.push_back(q.to);
    out.operation = last_maker(ends);
    if (q.kind == tolerance::Requirement::Kind::form || q.kind == tolerance::Requirement::Kind::size) {
      const On on = q.kind == tolerance::Requirement::Kind::form ? On::form : On::size;
      for (int e : q.elements) {
        const bool has =
            std::any_of(m_.route.contributors.begin(), m_.route.contributors.end(), [&](const Contributor& c) {
              return std::any_of(c.effects.begin(), c.effects.end(),
                                 [&](const Effect& x) { return x.on == on && x.index == e; });
            });
        if (!has && maker_.count(e) > 0)
          out.missing.push_back(
              fmt::format("spread: replaces = \"{}\", moves = \"{}\", operation = \"{}\": what the cut gives",
                          on == On::form ? "form" : "size", r.feature.value, out.operation));
        if (!out.missing.empty()) break;
      }
    }
    std::sort(out.missing.begin(), out.missing.end());
    out.missing.erase(std::unique(out.missing.begin(), out.missing.end()), out.missing.end());
  }
};

}  // namespace

std::optional<MeasuredSize> measured_size(const plan::Plan& plan, const Data& data, const std::string& feature) {
  for (const plan::Reading& r : plan.readings) {
    if (r.kind.value != "run" || plan::parse_reference(r.feature.value).id != feature) continue;
    const auto file = data.files.find(r.file.value);
    if (file == data.files.end()) continue;
    const auto table = cut_table(file->second, r.file.value);
    if (!table.ok()) continue;
    int column = -1;
    for (std::size_t k = 0; k < table->columns.size(); ++k)
      if (base::lower(table->columns[k].header).find(base::lower(feature)) != std::string::npos)
        column = static_cast<int>(k);
    if (column < 0) column = static_cast<int>(table->columns.size()) - 1;
    const auto sizes = numbers_of(*table, column, unit::Kind::length, r.unit.value);
    if (!sizes.ok() || sizes->size() < 5) continue;
    const maths::Moments m = maths::moments(*sizes);
    return MeasuredSize{m.mean, m.s, static_cast<int>(m.n)};
  }
  return {};
}

bool drop_refused(LedgerModel& m, const Problems& problems) {
  bool dropped = false;
  for (const Problem& p : problems) {
    const std::string words = say(p);
    for (LedgerRequirement& q : m.requirements) {
      if (q.route < 0) continue;
      auto& list = m.route.requirements;
      const std::string& id = list[static_cast<std::size_t>(q.route)].id;
      if (words.find(id) == std::string::npos) continue;
      list.erase(list.begin() + q.route);
      for (LedgerRequirement& other : m.requirements)
        if (other.route > q.route) --other.route;
      q.route = -1;
      q.missing = {words};
      dropped = true;
      break;
    }
  }
  return dropped;
}

LedgerModel ledger_model(const plan::Plan& plan, const Data& data, const PushOf& push, const LedgerVariant& variant) {
  return Builder(plan, data, push, variant).build();
}

LedgerModel ledger_model(const plan::Plan& plan, const Data& data) {
  Memo memo;
  Study study;
  Problems problems;
  const Options options;
  Context c{plan, data, options, memo, study, problems, {}};
  return ledger_model(plan, data, push_offs(c));
}

}  // namespace fettle::study
