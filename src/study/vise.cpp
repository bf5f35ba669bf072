// Parts side by side under one jaw, and parts squeezed through each other in one vise: does each get what it needs?
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "base/text.h"
#include "calc/holding/distortion.h"
#include "calc/holding/jaw.h"
#include "calc/holding/vise.h"
#include "ref/friction.h"
#include "ref/materials.h"
#include "study/cut_model.h"
#include "study/internal.h"
#include "study/pallet_holding.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr int kStrips =
    7;  // a face as springs side by side; fewer for many parts. Eleven change a share by a hundredth
constexpr int jaw_draws = 600;  // loads drawn for what each part gets
constexpr const char* jaw_source =
    "unilateral springs under a shear-flexible (Timoshenko) bar, solved exactly and verified: calc/holding/README.md";
constexpr const char* caution =
    "A part that the jaw does not hold is thrown by the cutter: guard closed, tug at every part before the first cut. "
    "Local rules and licensed practice decide.";

double nan() { return std::numeric_limits<double>::quiet_NaN(); }
std::string newtons(const Context& c, double x) { return unit::print(x, Kind::force, c.style); }
std::string stiff(const Context& c, double x) {
  if (c.style.system == unit::Style::System::inch) return unit::print(x, Kind::stiffness, c.style);
  return base::fixed(x * 1e-6, x < 100e6 ? 1 : 0) + " kN/mm";
}

double along(const std::vector<double>& size, Vec3 d) {
  return std::fabs(d.x) * size[0] + std::fabs(d.y) * size[1] + std::fabs(d.z) * size[2];
}

/// Elasticity of the part: as the plan says, else of its material.
std::optional<plan::Number> elasticity(const plan::Plan& plan) {
  if (plan.part.elasticity.known()) return plan.part.elasticity;
  const auto m = ref::material(plan.part.material.value);
  if (!plan.part.material.known() || !m.ok()) return std::nullopt;
  return assumed(Kind::pressure, m->modulus.value, m->modulus.low, m->modulus.high, m->source, "");
}

/// One standard deviation of the size between the faces that the jaws touch: the root of the squares of all that move
/// one of them.
std::optional<double> width_spread(const plan::Plan& plan, const plan::Operation& o,
                                   const std::vector<std::string>& faces, Vec3 dir, std::string& name) {
  const char axis = std::fabs(dir.x) > 0.5 ? 'x' : std::fabs(dir.y) > 0.5 ? 'y' : 'z';
  std::vector<std::string> before;
  for (const plan::Operation& p : plan.operations) {
    if (&p == &o) break;
    before.push_back(p.id.value);
  }
  double squares = 0;
  bool any = false;
  for (const plan::SpreadOf& s : plan.spreads) {
    const auto moves = [&](const std::string& face) {
      return std::find(s.moves.value.begin(), s.moves.value.end(), face) != s.moves.value.end();
    };
    if (std::none_of(faces.begin(), faces.end(), moves) || !s.value.known()) continue;
    if (s.axis.known() && s.axis.value.find(axis) == std::string::npos) continue;
    if (s.operation.known() && std::find(before.begin(), before.end(), s.operation.value) == before.end()) continue;
    name += (any ? ", " : "") + s.id.value;
    any = true;
    const double one = s.value.value.family == unit::Spread::Family::uniform ? s.value.value.half_width / std::sqrt(3.0)
                                                                             : s.value.value.s;
    squares += one * one;
  }
  return any ? std::optional(std::sqrt(squares)) : std::nullopt;
}

// ---- side by side under one jaw ----

struct JawCase {
  const plan::Operation* operation = nullptr;
  const plan::Clamp* clamp = nullptr;
  holding::JawInputs in;  ///< without stiffness
  double body = 0;        ///< N/m, of one part through its width
  double bar_yield = 0;   ///< Pa
  std::string spread_name, need_words;
  std::vector<std::string> missing;
};

const plan::Clamp* jaw_of(const plan::Operation& o) {
  const bool several = o.kind.value == "jaw carrier" ||
                       (o.kind.value != "vise gang" && o.parts.known() && o.parts.value > 1);  // a gang: in series
  for (const plan::Clamp& k : o.clamps)
    if (k.kind.value == "jaw" || (several && k.kind.value == "vise")) return &k;
  return nullptr;
}

void add_bar(const plan::Operation& o, JawCase& j) {
  const plan::Carrier& b = o.carrier;
  if (b.size.value.size() != 3) return;
  const auto m = ref::material(b.material.value);
  if (!b.material.known() || !m.ok()) {
    j.missing.push_back("operation.carrier.material: what the jaw is made of");
    return;
  }
  j.in.bar = {b.size.value[0], b.size.value[1], b.size.value[2], m->modulus.value, m->poisson.value};
  j.bar_yield = m->yield;
  for (Vec3 at : b.pushed_at.value) j.in.pushes.push_back({at.x, b.pushed_width.si, 1});
  j.in.yaw_free = !b.yaw_free.known() || b.yaw_free.value;
}

/// The force that the cuts ask for, when the plan does not say it: what pulls a part out between two faces.
std::optional<double> need_of_cuts(Context& c, const plan::Operation& o, double friction) {
  double most = -1;
  for (const CutModel& cut : cut_models(c)) {
    if (cut.operation != &o || !cut.missing.empty() || cut.places.empty()) continue;
    const CutForces f = cut_forces(c, cut, cut.hard);
    most = std::max(most, std::hypot(norm(f.peak), 0.0) / (2 * friction));
  }
  return most >= 0 ? std::optional(most) : std::nullopt;
}

JawCase jaw_case(Context& c, const plan::Operation& o) {
  JawCase j;
  j.operation = &o;
  j.clamp = jaw_of(o);
  const int parts = o.parts.known() ? o.parts.value : 0;
  const auto need = [&](bool there, const char* what) {
    if (!there) j.missing.emplace_back(what);
    return there;
  };
  if (!need(j.clamp != nullptr, "operation.clamp: the jaw, its force and where it presses")) return j;
  need(parts > 0, "operation.parts: how many parts lie under the jaw");
  need(o.pitch.known(), "operation.pitch: from part to part");
  need(j.clamp->force.known(), "operation.clamp.force: of the jaw, all together");
  need(j.clamp->stiffness.known(), "operation.clamp.stiffness: contact of one part, or a named thing such as hard jaw");
  const bool sized = need(c.plan.part.size.value.size() == 3, "part.size");
  const Vec3 up = direction(o.up.value);
  Vec3 dir = direction(j.clamp->direction.value);
  const Surface face = surface_of(c.plan, j.clamp->on.value);
  if (!j.clamp->direction.known() && face.there) dir = -face.normal;
  if (!need(norm(dir) > 0.5 && norm(up) > 0.5, "operation.clamp.direction and operation.up")) return j;
  const Vec3 row = cross(up, dir);
  std::vector<std::string> faces = {j.clamp->on.value};
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "jaw") faces.push_back(l.on.value);
  const auto spread = width_spread(c.plan, o, faces, dir, j.spread_name);
  need(spread.has_value(), "spread: of the width between the faces that the jaws touch (moves one of them)");
  const auto e = elasticity(c.plan);
  need(e.has_value(), "part.material or part.elasticity");
  add_bar(o, j);
  if (o.need.known()) {
    j.in.need = o.need.si;
    j.need_words = "as the plan says";
  } else if (j.missing.empty()) {
    const auto pair = ref::friction("iron on hardened jaw, ground");
    const double mu = j.clamp->friction.known() ? j.clamp->friction.low : pair.ok() ? pair->low : 0.1;
    const auto asked = need_of_cuts(c, o, mu);
    need(asked.has_value(), "operation.need: least clamp force that each part needs");
    j.in.need = asked.value_or(0);
    j.need_words = fmt::format("by the largest cutting force between two faces of friction {}", base::fixed(mu, 2));
  }
  if (!j.missing.empty() || !sized) return j;
  j.in.force = j.clamp->force.si;
  j.in.spread = *spread;
  for (int i = 0; i < parts; ++i) j.in.at.push_back((i - 0.5 * (parts - 1)) * o.pitch.si);
  j.in.face = face.there && face.extent_u > 0 && std::fabs(dot(row, {1, 0, 0})) > 0.5
                  ? face.extent_u
                  : along(c.plan.part.size.value, row);
  j.in.face = std::min(j.in.face, o.pitch.si);
  j.in.strips = std::clamp(3 * kStrips / std::max(parts, 1), 1, kStrips);
  j.in.seed = c.plan.header.seed.known() ? c.plan.header.seed.value : 1;
  const double area = along(c.plan.part.size.value, row) * along(c.plan.part.size.value, up);
  j.body = holding::block_stiffness(e->si, area, along(c.plan.part.size.value, dir));
  return j;
}

holding::JawInputs with_contact(const JawCase& j, double contact) {
  holding::JawInputs in = j.in;
  in.stiffness.assign(in.at.size(), holding::in_series({contact, j.body}));
  return in;
}

double share_of(Context& c, const holding::JawInputs& in) {
  const auto r = c.memo.call("holding jaw", holding::jaw_loads, in);
  return r->ok() ? r->value().share : nan();
}

std::vector<JawPart> parts_of(const holding::JawResult& r) {
  std::vector<JawPart> out;
  for (std::size_t i = 0; i < r.planned.size(); ++i) {
    JawPart p;
    p.name = fmt::format("part {}", i + 1);
    p.force = r.planned[i];
    p.low = i < r.low.size() ? r.low[i] : p.force;
    p.high = i < r.high.size() ? r.high[i] : p.force;
    p.loose = i < r.loose.size() ? r.loose[i] : 0;
    out.push_back(p);
  }
  return out;
}

/// The first value from `now` towards `end` at which the share is within the limit; NaN when none.
double first_that_holds(const std::function<double(double)>& share, double limit, double now, double end, int steps) {
  double before = now;
  for (int k = 1; k <= steps; ++k) {
    const double x = now + (end - now) * k / steps;
    if (share(x) <= limit) {
      double bad = before, good = x;
      for (int i = 0; i < 7; ++i) {  // to less than a hundredth of the step
        const double m = 0.5 * (bad + good);
        (share(m) <= limit ? good : bad) = m;
      }
      return good;
    }
    before = x;
  }
  return nan();
}

struct Cure {
  std::string name;
  double stiffness = 0;
};

/// What would bring the share within its limit: each alone, in the person's units.
std::optional<Cure> jaw_levers(Context& c, const JawCase& j, Finding& f, double limit) {
  const double contact = j.clamp->stiffness.si;
  const holding::JawInputs now = with_contact(j, contact);
  holding::JawInputs coarse = now;
  coarse.strips = std::min(coarse.strips, 3);
  std::optional<Cure> cure;
  for (const plan::Thing& t : c.plan.shop.things) {
    if (t.kind.value != "pad" || !t.stiffness.known()) continue;
    const double share = share_of(c, with_contact(j, t.stiffness.si));
    const bool holds = share <= limit;
    f.levers.push_back(
        {t.id.value, "operation.clamp.stiffness", contact, holds ? t.stiffness.si : nan(), Kind::stiffness,
         fmt::format("{} of the shop file ({} instead of {}) under the jaw: {} of loads with a loose part, {}",
                     t.id.value, stiff(c, t.stiffness.si), stiff(c, contact), share_words(share),
                     holds ? "which mends it alone" : "not enough alone")});
    if (holds && !cure) cure = Cure{t.id.value, t.stiffness.si};
  }
  const double k = std::exp(first_that_holds([&](double log) { return share_of(c, with_contact(j, std::exp(log))); },
                                             limit, std::log(contact), std::log(contact / 200), 10));
  if (std::isfinite(k)) {
    f.levers.push_back({"softness of the contact", "operation.clamp.stiffness", contact, k, Kind::stiffness,
                        fmt::format("contact of a part {} → {} or softer holds every part often enough",
                                    stiff(c, contact), stiff(c, k))});
    if (!cure) cure = Cure{"a contact of " + stiff(c, k), k};
  }
  const double force = first_that_holds(
      [&](double x) {
        holding::JawInputs in = now;
        in.force = x;
        return share_of(c, in);
      },
      limit, now.force, 3 * now.force, 10);
  if (std::isfinite(force))
    f.levers.push_back({"clamp force", "operation.clamp.force", now.force, force, Kind::force,
                        fmt::format("clamp force {} → {}, if vises, parts and tolerances take it",
                                    newtons(c, now.force), newtons(c, force))});
  if (now.pushes.size() == 2 && now.bar.length > 0 && std::fabs(now.pushes[0].at + now.pushes[1].at) < 1e-6) {
    const double place = std::fabs(now.pushes[0].at);
    const auto with_place = [&](double x) {
      holding::JawInputs in = now;
      in.pushes[0].at = std::copysign(x, now.pushes[0].at);
      in.pushes[1].at = std::copysign(x, now.pushes[1].at);
      return share_of(c, in);
    };
    // Looked for with few springs to a face, said with all of them.
    const auto roughly = [&](double x) {
      holding::JawInputs in = coarse;
      in.pushes[0].at = std::copysign(x, now.pushes[0].at);
      in.pushes[1].at = std::copysign(x, now.pushes[1].at);
      return share_of(c, in);
    };
    double best = place, best_share = roughly(place);
    const double widest = now.bar.length / 2 - now.pushes[0].width / 2;
    for (double x = now.pushes[0].width / 2; x <= widest + 1e-9; x += 10e-3)
      if (const double s = roughly(x); s < best_share) best = x, best_share = s;
    best_share = with_place(best);
    if (best != place)
      f.levers.push_back(
          {"where the vises push", "operation.carrier.pushed_at", place, best, Kind::length,
           fmt::format("vises push at ±{} → ±{}: {} of loads with a loose part{}", mm(c, place), mm(c, best),
                       share_words(best_share), best_share <= limit ? ", which mends it" : ", the best place")});
  }
  if (now.bar.length > 0) {
    std::optional<double> found;
    double best = now.bar.thickness, best_share = share_of(c, coarse);
    for (double t = 10e-3; t <= 80e-3 + 1e-9; t += 10e-3) {
      holding::JawInputs in = coarse;
      in.bar.thickness = t;
      double s = share_of(c, in);
      in.strips = now.strips;
      if (s < 3 * limit) s = share_of(c, in);  // near the limit all of them
      const auto line = holding::jaw_state(in, std::vector<double>(in.at.size(), 0.0), true);
      if (!line.ok() || !(line->stress <= 0.5 * j.bar_yield)) continue;  // half its yield, for what a vise adds
      if (s < best_share) best = t, best_share = s;
      if (s <= limit && (!found || std::fabs(t - now.bar.thickness) < std::fabs(*found - now.bar.thickness))) found = t;
    }
    if (best != now.bar.thickness || found)
      f.levers.push_back({"thickness of the jaw", "operation.carrier.size", now.bar.thickness, found.value_or(nan()),
                          Kind::length,
                          found ? fmt::format("jaw {} → {} thick mends it", mm(c, now.bar.thickness), mm(c, *found))
                                : fmt::format("no thickness of the jaw mends it alone; {} is best, with {}",
                                              mm(c, best), share_words(best_share))});
  }
  return cure;
}

void one_jaw(Context& c, const plan::Operation& o) {
  Finding f = start(o.id.value, "jaw", "loose_part", "every part held under one jaw", Kind::fraction);
  const double limit = c.plan.header.goal.known() ? c.plan.header.goal.si : 1e-3;
  f.limit = finding::share(limit);
  f.formula =
      "least over the parts of F_i = k_i max(0, w_i - advance - yaw y_i - bending) against the need; widths normal";
  f.source = jaw_source;
  f.cautions = {caution};
  const JawCase j = jaw_case(c, o);
  if (!j.missing.empty()) return leave_open(c, std::move(f), j.missing);
  const int contact = assume(f, j.clamp->stiffness, "contact stiffness of one part", "operation.clamp.stiffness");
  const double stated = j.clamp->stiffness.si;
  const bool pushed = j.in.bar.length > 0 && j.in.pushes.size() > 1;
  const int even =
      !pushed || !(j.in.pushes[0].width > 0)
          ? -1
          : assume(f,
                   assumed(Kind::fraction, 1.0, 0.5, 1.0, "from memory: vise jaws bow under load",
                           "blue or film between jaw and bar"),
                   "share of its length over which a vise presses evenly", "operation.carrier.pushed_width");
  const int other = !pushed ? -1
                            : assume(f,
                                     assumed(Kind::number, 1.0, 0.8, 1.2, "from memory: vises tightened one by one",
                                             "one pressure line for both, or a load cell"),
                                     "force of the first vise against the others", "operation.clamp.force");
  // Clean milled faces against a straight bar touch over their whole length until the bar bends: that is what is
  // judged. Worn jaws and crowned faces touch in the middle; a vise's own jaw behind the bar makes it stiffer than it
  // is alone.
  const int touch = !pushed ? -1
                            : assume(f,
                                     assumed(Kind::fraction, 1.0, 0.25, 1.0, "from memory: worn jaws and crowned faces",
                                             "blue or film between jaw and part"),
                                     "share of a part's face that the jaw touches", "part.size");
  const int backed =
      !pushed ? -1
              : assume(f,
                       assumed(Kind::number, 1.0, 1.0, 3.0, "from memory: the vises' own jaws stand behind the bar",
                               "a dial on the bar between the vises while they close"),
                       "thickness with which the jaw bends, over its own", "operation.carrier.size");
  holding::JawInputs in = with_contact(j, stated);
  in.draws = c.options.bands ? jaw_draws : 0;
  const auto r = c.memo.call("holding jaw", holding::jaw_loads, in);
  if (!r->ok()) {
    std::vector<std::string> why;
    for (const Problem& p : r->problems()) why.push_back("operation.carrier: " + say(p));
    return leave_open(c, std::move(f), why);
  }
  const holding::JawResult& x = r->value();
  f.low = x.share_low, f.high = x.share_high;
  f.confidence = x.exact ? "in closed form" : "what the share is known to, over directions of unequal widths";
  const auto worst = static_cast<std::size_t>(std::max_element(x.loose.begin(), x.loose.end()) - x.loose.begin());
  f.inputs = {
      {"clamp force, all together", in.force, Kind::force, {}},
      {"parts under the jaw", static_cast<double>(in.at.size()), Kind::number, {}},
      {"each part needs", in.need, Kind::force, j.need_words.empty() ? "" : newtons(c, in.need) + ", " + j.need_words},
      {"spread of width", in.spread, Kind::length, mm(c, in.spread) + ", one standard deviation: " + j.spread_name},
      {"contact of one part, both faces", stated, Kind::stiffness, stiff(c, stated)},
      {"with the body in series", in.stiffness[0], Kind::stiffness, stiff(c, in.stiffness[0])},
      {"face of one part along the jaw", in.face, Kind::length, {}},
      {"least force at equal widths", x.mean_least, Kind::force, {}}};
  if (in.bar.length > 0)
    f.inputs.push_back({"jaw", 0, Kind::number,
                        fmt::format("{} x {} x {}, bends; each vise presses evenly over its length",
                                    mm(c, in.bar.length), mm(c, in.bar.height), mm(c, in.bar.thickness))});
  for (std::size_t i = 0; i < x.planned.size(); ++i)
    f.inputs.push_back({fmt::format("part {}", i + 1), x.planned[i], Kind::force,
                        fmt::format("{} as planned, loose in {}", newtons(c, x.planned[i]), share_words(x.loose[i]))});
  std::optional<Cure> cure;
  double middles = nan(), rigid = nan();
  if (pushed) {
    holding::JawInputs other_way = with_contact(j, stated);
    other_way.face = 0;
    middles = share_of(c, other_way);
    other_way = with_contact(j, stated);
    other_way.bar.length = 0;
    rigid = share_of(c, other_way);
    f.inputs.push_back({"if the faces touched in their middles only", middles, Kind::fraction, share_words(middles)});
    f.inputs.push_back({"if the jaw did not bend", rigid, Kind::fraction, share_words(rigid)});
  }
  if (c.options.bands) cure = jaw_levers(c, j, f, limit);
  f.sentence = fmt::format(
      "{} parts under one jaw at {}: in {} of loads a part gets less than {} ({}), mostly part {}. Whether "
      "that holds a part against each tool is proved tool by tool.",
      in.at.size(), newtons(c, in.force), share_words(x.share), newtons(c, in.need),
      o.need.known() ? "what the plan asks for each" : j.need_words, worst + 1);
  if (std::isfinite(middles) && std::isfinite(rigid))
    f.sentence +=
        fmt::format(" How they touch decides: {} if in their middles only, {} under a jaw that does not bend.",
                    share_words(middles), share_words(rigid));
  if (!(x.share <= limit) && cure) f.sentence += fmt::format(" Mended by {} under the jaw.", cure->name);
  JawPicture pic;
  pic.there = true;
  pic.operation = o.id.value;
  pic.finding = f.id;
  pic.words = f.sentence;
  pic.need = in.need;
  pic.length = in.bar.length;
  pic.at = in.at;
  pic.parts = parts_of(x);
  if (cure) {
    holding::JawInputs better = with_contact(j, cure->stiffness);
    better.draws = in.draws;
    if (const auto b = c.memo.call("holding jaw", holding::jaw_loads, better); b->ok()) {
      pic.parts_cure = parts_of(b->value());
      pic.cure = cure->name;
    }
  }
  if (const auto s = holding::jaw_state(in, std::vector<double>(in.at.size(), 0.0), true); s.ok()) {
    pic.bend_at = s->bend_at;
    pic.bend = s->bend;
  }
  c.study.jaws.push_back(std::move(pic));
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    holding::JawInputs x = with_contact(j, at(v, contact, stated));
    for (holding::JawPush& q : x.pushes) q.width *= at(v, even, 1);
    if (!x.pushes.empty()) x.pushes[0].share = at(v, other, 1);
    x.face *= at(v, touch, 1);
    x.bar.thickness *= at(v, backed, 1);
    return share_of(c, x);
  });
}

// ---- a bored body squeezed while it is bored ----

void squeezed_bores(Context& c, const plan::Operation& o) {
  const plan::Clamp* clamp = nullptr;
  for (const plan::Clamp& k : o.clamps)
    if ((k.kind.value == "jaw" || k.kind.value == "vise") && k.force.known()) clamp = &k;
  if (clamp == nullptr || c.plan.part.size.value.size() != 3) return;
  const Vec3 dir = direction(clamp->direction.value), up = direction(o.up.value);
  if (norm(dir) < 0.5 || norm(up) < 0.5) return;
  std::vector<std::string> done;  // one finding a bore, by its first requirement of form
  for (const plan::Requirement& q : c.plan.requirements) {
    if (std::find(done.begin(), done.end(), q.feature.value) != done.end()) continue;
    const bool round = q.kind.value == "cylindricity" || q.kind.value == "roundness";
    const bool here = std::find(o.makes.value.begin(), o.makes.value.end(), q.feature.value) != o.makes.value.end();
    const Surface bore = surface_of(c.plan, q.feature.value);
    if (!round || !here || !bore.there || !bore.round || !q.limits.value.upper) continue;
    if (std::fabs(dot(bore.normal, dir)) > 0.5) continue;  // squeezed along its axis: it stays round
    done.push_back(q.feature.value);
    Finding f =
        start(o.id.value, q.feature.value, "springs_back",
              fmt::format("{} stays round when the clamp lets go", words_of(c.plan, q.feature.value)), Kind::length);
    f.gauge = true;
    f.limit = finding::upper(*q.limits.value.upper);
    f.formula =
        "bored round while squeezed by p, oval by 4 p r/E of radius when let go; p = force of one part over its "
        "section";
    f.source = "hole in a plate under even pressure (Kirsch 1898)";
    const auto e = elasticity(c.plan);
    const std::string what = what_cuts(c.plan, o, q.feature.value);
    if (!e || !what.empty()) {
      leave_open(c, std::move(f), {what.empty() ? "part.material or part.elasticity" : what});
      continue;
    }
    const int elastic = assume(f, *e, "elasticity of the part", "part.elasticity");
    const plan::Number rise =
        assumed(Kind::number, 1.3, 1.0, 2.0, "from memory: pockets and a larger bore beside it weaken the wall",
                "a dial in the bore while the vise is closed");
    const int weak = assume(f, rise, "stress beside the bore against an even one", "operation.clamp.force");
    const int parts = shares_jaw(o) && o.parts.known() ? o.parts.value : 1;
    const Vec3 row = cross(up, dir);
    const double area = along(c.plan.part.size.value, row) * along(c.plan.part.size.value, up);
    const double pressure = clamp->force.si / parts / area;
    const auto value = [=, d = 2 * bore.radius](const std::vector<double>& v) {
      return holding::squeezed_bore(pressure * at(v, weak, 1.3), d, at(v, elastic, e->si)).out_of_round;
    };
    f.inputs = {{"force on one part", clamp->force.si / parts, Kind::force, {}},
                {"section that carries it", area, Kind::area, {}},
                {"bore", 2 * bore.radius, Kind::length, {}}};
    std::vector<double> stated;
    for (const auto& a : f.assumptions) stated.push_back(a.value);
    const double now = value(stated);
    const double most = clamp->force.si * *q.limits.value.upper / now;
    f.levers.push_back({"clamp force", "operation.clamp.force", clamp->force.si, most, Kind::force,
                        fmt::format("clamp force {} → {} uses the whole tolerance up", newtons(c, clamp->force.si),
                                    newtons(c, most))});
    unit::Style fine = c.style;
    fine.gauge = true;
    f.sentence = fmt::format("Bored under {}, the bore springs {} out of round when the clamp lets go; {} is allowed.",
                             newtons(c, clamp->force.si), unit::print(now, Kind::length, fine),
                             unit::print(*q.limits.value.upper, Kind::length, fine));
    settle(c, std::move(f), value);
  }
}

// ---- squeezed through each other ----

struct Pull {
  double row = 0, jaw = 0, up = 0, arm = 0;
  std::string words;
};

void one_vise(Context& c, const plan::Operation& o, const std::vector<CutModel>& cuts) {
  const plan::Clamp* clamp = nullptr;
  for (const plan::Clamp& k : o.clamps)
    if (k.kind.value == "vise") clamp = &k;
  Finding f = start(o.id.value, "vise", "hold", "parts in the vise neither slide nor tip", Kind::number);
  f.limit = finding::lower(1);
  f.formula =
      "slide (and turn, without a rest): 2 mu F against the cut in the plane of the faces; tip: F h/2 against H z; the "
      "smaller factor";
  f.source = "balance of forces, friction of clamped joints; common practice";
  f.cautions = {caution};
  std::vector<std::string> missing;
  const auto need = [&](bool there, const char* what) {
    if (!there) missing.emplace_back(what);
  };
  need(clamp != nullptr && clamp->force.known(), "operation.clamp.force: of the vise");
  need(c.plan.part.size.value.size() == 3, "part.size");
  need(o.jaw_height.known(), "operation.jaw_height: height of the vise jaws");
  const Vec3 up = direction(o.up.value);
  const Vec3 dir = clamp != nullptr ? direction(clamp->direction.value) : Vec3{};
  need(norm(up) > 0.5, "operation.up");
  need(norm(dir) > 0.5, "operation.clamp.direction");
  std::vector<const CutModel*> mine;
  for (const CutModel& k : cuts) {
    if (k.operation != &o) continue;
    for (const std::string& m : k.missing) missing.push_back(m);
    if (k.missing.empty() && !k.places.empty()) mine.push_back(&k);
  }
  if (mine.empty() && missing.empty()) missing.emplace_back("operation.cut: tool, depth, width, speed and feed");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);

  const Vec3 row = cross(up, dir);
  const double tall = along(c.plan.part.size.value, up);
  bool on_rest = false;      // then turning in the plane of the faces is judged contact by contact
  double floor = -tall / 2;  // where the part rests, along up
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "rest" && !l.at.value.empty()) floor = dot(l.at.value[0], up), on_rest = true;
  plan::Number mu = clamp->friction;
  if (!mu.known()) {
    const auto pair = ref::friction("iron on hardened jaw, ground");
    if (!pair.ok()) return leave_open(c, std::move(f), {"operation.clamp.friction"});
    mu = assumed(Kind::number, pair->value, pair->low, pair->high, pair->source, pair->replaced_by);
  }
  mu.si = std::min(mu.si, mu.low);  // judged at the low end, as every proof of holding
  const int friction = assume(f, mu, "friction in the vise", "operation.clamp.friction");
  const plan::Number lift = parallel_of(o);
  const int parallel = assume(f, lift, "parallel under the part", "operation.parallel");
  const plan::Number skew =
      assumed(Kind::length, 0.01e-3, 0.0, 0.03e-3, "from memory: ground faces of one part out of parallel",
              "micrometer at the four corners");
  const int wedge = assume(f, skew, "faces of one part out of parallel", "spread");

  std::vector<Pull> pulls;
  for (const CutModel* k : mine) {
    const CutForces force = cut_forces(c, *k, k->hard);
    std::vector<Vec3> samples = {force.peak};  // and through the turn: another moment may tip or pull more
    for (std::size_t n = 0; n < force.turn.size(); n += std::max<std::size_t>(1, force.turn.size() / 24))
      samples.push_back(force.turn[n]);
    for (const CutPlace& p : k->places)
      for (Vec3 x : samples) {
        const Vec3 at_part = x.x * p.feed + x.y * p.out + x.z * up;
        pulls.push_back({std::fabs(dot(at_part, dir)), std::fabs(dot(at_part, row)), std::max(0.0, dot(at_part, up)),
                         dot(p.at, up) - floor, k->words});
      }
  }
  const int parts = o.parts.known() ? o.parts.value : 1;
  const double width = std::min(along(c.plan.part.size.value, row), o.jaw_width.known() ? o.jaw_width.si : 1e3);
  const double deep = along(c.plan.part.size.value, dir);
  const auto solve = [&, parts, width, deep](const std::vector<double>& v, const Pull& p, double clamp_force) {
    holding::ViseInputs in;
    in.parts = parts;
    in.force = clamp_force;
    in.friction = at(v, friction, mu.si);
    in.width = width;
    in.held = std::clamp(o.jaw_height.si - at(v, parallel, lift.si), 1e-3, tall);
    in.arm = std::max(0.0, p.arm - in.held / 2);
    in.along_row = p.row, in.along_jaw = p.jaw, in.up = p.up;
    in.on_rest = on_rest;
    in.face_angle = at(v, wedge, skew.si) / tall;
    in.depth = parts * deep;
    return holding::vise_series(in);
  };
  const auto factor = [&](const std::vector<double>& v, double clamp_force, const Pull** which, bool* tips) {
    double least = std::numeric_limits<double>::infinity();
    for (const Pull& p : pulls) {
      const auto r = solve(v, p, clamp_force);
      if (!r.ok()) return nan();
      const double x = std::min(r->slip_factor, r->tilt_factor);
      if (x < least) {
        least = x;
        if (which != nullptr) *which = &p;
        if (tips != nullptr) *tips = r->tilt_factor < r->slip_factor;
      }
    }
    return least;
  };
  std::vector<double> stated;
  for (const auto& a : f.assumptions) stated.push_back(a.value);
  const Pull* worst = nullptr;
  bool tips = false;
  const double force = clamp->force.si, sure = low_clamp_force(clamp->force);
  const double now = factor(stated, sure, &worst, &tips);
  if (worst == nullptr) return leave_open(c, std::move(f), {"operation.cut: a cut whose forces can be computed"});
  const auto r = solve(stated, *worst, sure);
  f.inputs = {{"force that every part sees", force, Kind::force, {}},
              {"of it for sure", sure, Kind::force, {}},
              {"friction, low end", mu.si, Kind::number, {}},
              {"parts in series", static_cast<double>(parts), Kind::number, {}},
              {"worst cut", 0, Kind::number, worst->words},
              {"cutting force along the row", worst->row, Kind::force, {}},
              {"along the jaw", worst->jaw, Kind::force, {}},
              {"out of the vise", worst->up, Kind::force, {}},
              {"cut above the rest", worst->arm, Kind::length, {}},
              {on_rest ? "slides at" : "slides or turns at", r->slip_factor, Kind::number,
               base::fixed(r->slip_factor, 2) + " times the cut"},
              {"tips at", r->tilt_factor, Kind::number, base::fixed(r->tilt_factor, 2) + " times the cut"},
              {"row curls up", r->rises, Kind::length,
               mm(c, r->rises) + " at its end, if the faces' errors add up: seat the parts while closing"}};
  if (c.options.bands) {
    const double least = force / std::max(now, 1e-9);
    f.levers.push_back({"clamp force", "operation.clamp.force", force, least, Kind::force,
                        now >= 1 ? fmt::format("clamp force {} → {} before a part {}", newtons(c, force),
                                               newtons(c, least), tips ? "tips" : "slides")
                                 : fmt::format("clamp force {} → {} holds it", newtons(c, force), newtons(c, least))});
  }
  f.sentence = fmt::format(
      "{} parts in series see {} each, {} for sure; with friction {} the worst cut may grow {} times "
      "before {}.",
      parts, newtons(c, force), newtons(c, sure), base::fixed(mu.si, 2), base::fixed(now, 2),
      tips      ? "the stack tips"
      : on_rest ? "a part slides"
                : "a part slides or turns");
  settle(c, std::move(f), [&](const std::vector<double>& v) { return factor(v, sure, nullptr, nullptr); });
}

/// Where a cut goes to beside a part, along `up`: the level of a face, the lower end of a profile. Nothing for what
/// lies inside the part's outline, where no jaw is: holes, pockets, floors.
std::optional<double> level_beside_jaws(const plan::Plan& p, const std::string& reference, Vec3 up) {
  const Surface s = surface_of(p, reference);
  if (!s.there || s.feature == nullptr) return std::nullopt;
  const plan::Feature& f = *s.feature;
  if (f.kind.value == "face" && !f.diameter.known() && dot(s.normal, up) > 0.9) return dot(s.point, up);
  if (f.kind.value != "profile" || !f.from.known() || !f.to.known() || std::fabs(up.z) < 0.9) return std::nullopt;
  return std::min(f.from.si * up.z, f.to.si * up.z);
}

/// Profiles that are cut there and do not say how far down.
std::vector<std::string> depths_not_said(const plan::Plan& p, const plan::Operation& o) {
  std::vector<std::string> out;
  for (const plan::Cut& k : o.cuts)
    for (const std::string& r : k.features.value) {
      const plan::Feature* f = plan::find_feature(p, plan::parse_reference(r).id);
      if (f == nullptr || f->kind.value != "profile" || (f->from.known() && f->to.known())) continue;
      out.push_back(fmt::format("feature.{}: from and to, how far down its cutter goes beside the jaws", f->id.value));
    }
  return out;
}

/// A face mill that meets a hardened jaw breaks, and throws what it breaks.
void cut_above_jaws(Context& c, const plan::Operation& o) {
  const bool jaws = std::any_of(o.clamps.begin(), o.clamps.end(), [](const auto& k) { return k.kind.value == "vise"; });
  if (!jaws || o.cuts.empty()) return;
  const Vec3 up = direction(o.up.value);
  double lowest = std::numeric_limits<double>::infinity();
  const plan::Cut* which = nullptr;
  std::string what;
  for (const plan::Cut& k : o.cuts)
    for (const std::string& r : k.features.value)
      if (const auto level = level_beside_jaws(c.plan, r, up); level && *level < lowest)
        lowest = *level, which = &k, what = r;
  const std::vector<std::string> deep = depths_not_said(c.plan, o);
  if (which == nullptr && deep.empty()) return;
  Finding f = start(o.id.value, "jaws", "jaws_clear", "cutters pass above the jaws", Kind::length);
  f.limit = finding::lower(1e-3);
  f.formula = "height of the lowest cut that leaves the part, over what it rests on, less jaw height, plus parallel";
  f.source = "geometry; a millimetre over the jaws is common practice";
  f.cautions = {caution};
  std::vector<std::string> missing = deep;
  const plan::Locator* rest = nullptr;
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "rest" && !l.at.value.empty()) rest = &l;
  if (!o.jaw_height.known()) missing.emplace_back("operation.jaw_height: height of the vise jaws");
  if (rest == nullptr) missing.emplace_back("operation.locator: a rest with its places, for where the part stands");
  if (norm(up) < 0.5) missing.emplace_back("operation.up");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const double stands = lowest - dot(rest->at.value[0], up);
  const plan::Number lift = parallel_of(o);
  const int parallel = assume(f, lift, "parallel under the part", "operation.parallel");
  const auto clear = [&, stands, parallel](const std::vector<double>& v) {
    return stands - (o.jaw_height.si - at(v, parallel, lift.si));
  };
  const double now = stands - (o.jaw_height.si - lift.si), top = o.jaw_height.si - lift.si;
  f.inputs = {{"lowest cut above the rests", stands, Kind::length, what + " with " + which->tool.value},
              {"jaws", o.jaw_height.si, Kind::length, {}},
              {"parallel", lift.si, Kind::length, {}}};
  if (c.options.bands)
    f.levers.push_back({"parallel", "operation.parallel", lift.si, lift.si + 1e-3 - now, Kind::length,
                        fmt::format("parallels {} → {}: the jaws end a millimetre below the cut", mm(c, lift.si),
                                    mm(c, lift.si + 1e-3 - now))});
  f.sentence = now >= 0
                   ? fmt::format("{} is cut with {} {} above the jaws, which reach {} over what the part rests on.",
                                 what, which->tool.value, mm(c, now), mm(c, top))
                   : fmt::format(
                         "{} is cut with {} {} below the top of the jaws, which reach {} over what the part "
                         "rests on: the cutter runs into them.",
                         what, which->tool.value, mm(c, -now), mm(c, top));
  settle(c, std::move(f), clear);
}

}  // namespace

plan::Number parallel_of(const plan::Operation& o) {
  if (o.parallel.known()) return o.parallel;
  return assumed(Kind::length, 12e-3, 5e-3, 20e-3, "from memory: usual parallels under a part", "measure the parallel");
}
std::optional<double> jaws_above_rest(const plan::Operation& o) {
  if (!o.jaw_height.known()) return std::nullopt;
  const plan::Number lift = parallel_of(o);
  return o.jaw_height.si - (lift.banded() ? std::min(lift.si, lift.low) : lift.si);
}

bool shares_jaw(const plan::Operation& o) {
  return o.kind.value == "jaw carrier" ||
         (jaw_of(o) != nullptr && o.parts.known() && o.parts.value > 1 && o.kind.value != "vise gang");
}

JawShare least_jaw_share(Context& c, const plan::Operation& o) {
  const JawCase j = jaw_case(c, o);
  if (j.missing.empty()) {
    holding::JawInputs in = with_contact(j, j.clamp->stiffness.si);
    in.draws = jaw_draws;
    const auto r = c.memo.call("holding jaw", holding::jaw_loads, in);
    if (r->ok() && !r->value().low.empty()) {
      const auto& low = r->value().low;
      const auto least = std::min_element(low.begin(), low.end());
      return {*least,
              true,
              fmt::format("part {} of {}: it gets no less in 19 of 20 loads, widths differing by {}",
                          least - low.begin() + 1, low.size(), j.spread_name),
              {}};
    }
  }
  if (o.need.known())
    return {o.need.low > 0 ? o.need.low : o.need.si,
            false,
            "which the plan says that each needs (operation.need); what the jaw really leaves it is not known",
            {}};
  JawShare open;
  open.missing = j.missing;
  if (open.missing.empty()) open.missing.emplace_back("operation.need: clamp force that each part can count on");
  return open;
}

void vise_findings(Context& c) {
  std::optional<std::vector<CutModel>> cuts;
  for (const plan::Operation& o : c.plan.operations) {
    if (shares_jaw(o)) one_jaw(c, o);
    if (o.kind.value == "vise gang") {  // a vise with one part is proved contact by contact
      if (!cuts) cuts = cut_models(c);
      one_vise(c, o, *cuts);
    }
    cut_above_jaws(c, o);
    squeezed_bores(c, o);
  }
}

}  // namespace fettle::study
