// The casting to order for a part: what is machined, where the mould parts, stock by grade, cores.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>
#include <utility>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/castings.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/parting.h"
#include "begin/propose/propose.h"
#include "begin/propose/raw_mass.h"
#include "begin/propose/route.h"
#include "calc/casting/grades.h"
#include "plan/read.h"
#include "ref/casting_grades.h"
#include "ref/materials.h"

namespace fettle::begin {

namespace {

using frame::Vec3;

/// A hole narrower than this is drilled from the solid: thin cores burn in and break. From memory: green sand 20 to 30
/// mm.
constexpr double least_core = 0.025;
/// A pocket at least this narrow that the drawing asks nothing of is left by the pattern. Common practice, from memory.
constexpr double least_hollow = 0.045;
/// A core longer than this many of its diameters needs support. From memory.
constexpr double longest_core = 4;

Choice choice(const std::string& about, const std::string& taken, const std::string& why, const std::string& asked_by) {
  return {"casting", about, taken, why, asked_by, {}};
}

// ---- the iron --------------------------------------------------------------------------------------------

void iron(const Scene& scene, Draft& d) {
  plan::Part& part = d.plan.part;
  if (!part.material.known())
    if (const std::string a = answer(scene, "material"); !a.empty()) give(part.material, a);
  if (part.mass.known() || scene.part == nullptr) return;
  double density = part.density.known() ? part.density.si : 0;
  if (density == 0 && part.material.known())
    if (const auto m = ref::material(part.material.value); m.ok()) density = m->density.value;
  if (density == 0) return;
  give(part.mass, unit::Kind::mass, base::fixed(density * scene.part->volume, 3) + " kg");
}

/// The words of a process however they are ordered and joined: "machine-moulded green sand".
std::set<std::string> words_of(const std::string& process) {
  std::set<std::string> out;
  std::string word;
  for (const char ch : base::lower(process) + " ") {
    if (ch >= 'a' && ch <= 'z') word += ch;
    else if (!word.empty()) out.insert(std::exchange(word, {}));
  }
  return out;
}

void grades(const Scene& scene, Draft& d) {
  plan::Casting& c = d.plan.casting;
  if (!c.process.known()) {
    const std::string a = answer(scene, "process");
    give(c.process, a.empty() ? "green sand, machine moulded" : a);
    if (a.empty())
      d.assumed.push_back("casting.process \"green sand, machine moulded\": the usual way for a few hundred a week");
  }
  const auto& all = ref::process_grades();
  const auto row = std::find_if(all.begin(), all.end(),
                                [&](const auto& p) { return words_of(p.process) == words_of(c.process.value); });
  if (row == all.end()) {
    d.disagree.push_back(fmt::format(
        "no grades are known for \"{}\": casting.tolerance_grade and allowance_grade stay open", c.process.value));
    return;
  }
  if (!c.tolerance_grade.known()) {
    const int usual = (row->dctg_low + row->dctg_high + 1) / 2;
    const bool finer = answer(scene, "take.casting.grade") == "finer" && usual > row->dctg_low;
    const int middle = usual - (finer ? 1 : 0);
    c.tolerance_grade.value = middle;
    c.tolerance_grade.origin = plan::Origin::given;
    c.tolerance_grade.typed = std::to_string(middle);
    Choice ch =
        choice("casting.tolerance_grade", fmt::format("DCTG {}", middle),
               fmt::format("{} usually holds {} to {}", c.process.value, row->dctg_low, row->dctg_high), row->source);
    if (finer)
      ch.others.push_back({fmt::format("DCTG {}", usual), "the finer grade was asked for: the foundry must sign for it",
                           "take.casting.grade=as reckoned"});
    else if (usual > row->dctg_low)
      ch.others.push_back({fmt::format("DCTG {}", usual - 1), "not every foundry signs for it; it would save stock",
                           "take.casting.grade=finer"});
    d.choices.push_back(std::move(ch));
  }
  if (!c.allowance_grade.known()) {
    give(c.allowance_grade, row->rmag_low);
    d.choices.push_back(choice(
        "casting.allowance_grade", "RMAG " + row->rmag_low,
        fmt::format("{} usually asks for {} to {}", c.process.value, row->rmag_low, row->rmag_high), row->source));
  }
  if (!c.price.known())
    if (const std::string a = answer(scene, "casting_price"); !a.empty()) give(c.price, unit::Kind::money, a);
}

// ---- what is machined ------------------------------------------------------------------------------------

/// Words for what is there before a feature is cut; empty: it stays as cast.
std::string before_cut(const Scene& scene, const plan::Plan& p, const plan::Feature& f) {
  const std::string a = answer(scene, "cast_faces");
  const bool all_outer = a.empty() || a == "all outer faces";
  bool named = false;
  if (!all_outer && a != "none")
    for (const std::string& s : base::split(a, ','))
      named = named || plan::parse_reference(base::trim(s)).id == f.id.value;
  const std::string& kind = f.kind.value;
  const bool asked = !requirements_on(p, f.id.value).empty() || f.datum.known();
  if (hole_like(f)) {
    const double dia = diameter_of(f), length = length_of(f);
    const bool core = kind != "thread" && dia >= least_core && (length == 0 || length <= longest_core * dia) &&
                      answer(scene, "take.casting.cores") != "solid";
    return core ? "cored" : "solid";
  }
  if (kind == "pocket" || kind == "slot") {
    const double narrow = std::min(nominal_of(f.width), nominal_of(f.length));
    if (named || !(narrow >= least_hollow)) return "solid";
    return asked ? "skin" : "";  // the pattern leaves the hollow, its floor is cut where the drawing asks
  }
  if (kind == "groove" || kind == "chamfer") return "solid";
  if (kind == "profile" || kind == "boss")
    return named || (all_outer && (f.id.value == "outside" || asked)) ? "skin" : "";
  if (kind == "face" || kind == "datum") {
    const bool end = f.id.value == "top" || f.id.value == "bottom";
    return named || (all_outer && (end || asked)) ? "skin" : "";
  }
  return named ? "skin" : "";  // an oblique or free surface: no axis of the part reaches it
}

void surfaces(const Scene& scene, Draft& d) {
  std::vector<std::string> skin, cored, stay;
  const bool model = std::any_of(d.plan.features.begin(), d.plan.features.end(),
                                 [](const plan::Feature& f) { return f.cast.known(); });
  for (plan::Feature& f : d.plan.features) {
    if (f.cast.known() || f.kind.value == "datum") continue;
    std::string word = before_cut(scene, d.plan, f);
    if (model && word == "cored") word = "solid";  // the casting's own model shows no core there
    if (is_floor(f)) continue;
    if (word.empty()) stay.push_back(f.id.value);
    else give(f.cast, word);
    if (word == "skin" && f.kind.value != "face" && f.kind.value != "profile" && !f.size.known() &&
        nominal_of(f.width) > 0 && nominal_of(f.length) > 0)
      give(f.size, {nominal_of(f.width), nominal_of(f.length)}, scene.inch);  // its floor is cut, as a face is
    if (word == "skin") skin.push_back(f.id.value);
    if (word == "cored") cored.push_back(f.id.value);
  }
  // The flat at the end of a hole was there before the cut as the hole was.
  for (plan::Feature& f : d.plan.features) {
    if (f.cast.known() || !is_floor(f)) continue;
    std::string word = "solid";
    for (const plan::Feature& h : d.plan.features)
      if (h.cast.known() && h.cast.value == "cored" && floor_of(h.id.value) == f.id.value) word = "cored";
    give(f.cast, word);
  }
  if (!skin.empty())
    d.choices.push_back(choice("feature.cast", "cut from cast skin: " + base::join(skin, ", "),
                               "outer faces that the drawing asks something of, and the ends", "common practice"));
  if (!cored.empty()) {
    Choice c = choice("feature.cast", "cored: " + base::join(cored, ", "),
                      fmt::format("bores of {} and wider, at most {:.0f} diameters long",
                                  shown_length(least_core, scene.inch), longest_core),
                      "common practice");
    c.others.push_back(
        {"drilled from the solid", "more metal to cut, a longer wait for the first bore", "take.casting.cores=solid"});
    d.choices.push_back(std::move(c));
  }
  std::vector<std::string> drilled;
  for (const plan::Feature& f : d.plan.features)
    if (hole_like(f) && f.cast.value == "solid") drilled.push_back(f.id.value);
  const bool no_cores = answer(scene, "take.casting.cores") == "solid";
  if (!drilled.empty() && !model) {
    Choice c = choice("feature.cast", "drilled from the solid: " + base::join(drilled, ", "),
                      no_cores ? "no cores, as asked"
                               : fmt::format("narrower than {}, threaded, or deeper than {:.0f} diameters: such cores "
                                             "burn in, break or shift",
                                             shown_length(least_core, scene.inch), longest_core),
                      no_cores ? "answer" : "common practice, from memory");
    if (no_cores)
      c.others.push_back({"the wide bores cored", "no cores were asked for", "take.casting.cores=as reckoned"});
    d.choices.push_back(std::move(c));
  }
  std::vector<std::string> oblique;
  for (const plan::Feature& f : d.plan.features)
    if (f.kind.value == "surface" && !f.cast.known() && !requirements_on(d.plan, f.id.value).empty())
      oblique.push_back(f.id.value);
  if (!oblique.empty())
    d.disagree.push_back(fmt::format(
        "{} {} along none of the part's axes, and the drawing asks something of {}: cut in no operation "
        "here; a set-up tilted to it or a machine with more axes does it",
        base::join(oblique, ", "), oblique.size() == 1 ? "lies" : "lie", oblique.size() == 1 ? "it" : "them"));
  if (!stay.empty())
    d.choices.push_back(choice("feature", "stay as cast: " + base::join(stay, ", "), "the drawing asks nothing of them",
                               "common practice"));
}

// ---- parting, sizes, cores -------------------------------------------------------------------------------

/// Faces that the mould does not make: cores make them, or they are cut from solid metal.
std::set<int> not_moulded(const Scene& scene, const plan::Plan& p) {
  std::set<int> out;
  for (const Bound& b : features_of(*scene.part, {}, scene.inch).bound) {
    const plan::Feature* f = plan::find_feature(p, b.feature);
    const bool cut = f != nullptr && (f->cast.value == "solid" || f->cast.value == "cored");
    if (cut || (b.diameter > 0 && !b.feature.empty() && b.feature.front() == 'H'))
      out.insert(b.faces.begin(), b.faces.end());
  }
  return out;
}

std::string square_mm(double area) { return fmt::format("{:.0f} mm²", area * 1e6); }

std::string parting_words(const Parting& p) {
  if (p.id == "level") return "at the level of a flat, across Z";
  return p.id == "middle" ? "half way up, across Z" : "at the " + p.id + " face, across Z";
}
std::string parting_why(const Parting& p, double draft) {
  const std::string held =
      p.undercut > 0 ? square_mm(p.undercut) + " of surface hold the pattern back" : "nothing holds the pattern back";
  return fmt::format("{}; {:.1f} deg of draft adds {:.1f} cm³ on upright walls", held, draft * 180 / std::numbers::pi,
                     p.draft_metal * 1e6);
}

void parting(const Scene& scene, Draft& d) {
  plan::Casting& c = d.plan.casting;
  if (c.parting.known() || scene.part == nullptr) return;
  const double draft = c.draft.known() ? c.draft.si : 1.5 * std::numbers::pi / 180;
  const std::set<int> other = not_moulded(scene, d.plan);
  std::vector<Parting> all = partings(*scene.part, other, draft);
  if (const std::string take = answer(scene, "take.casting.parting"); !take.empty()) {
    const auto it = std::find_if(all.begin(), all.end(), [&](const Parting& p) { return p.id == take; });
    if (it == all.end()) {
      d.clashes.push_back({{"the mould parts at the " + take},
                           "no flat level holds the pattern back less than middle, bottom and top"});
      return;
    }
    std::rotate(all.begin(), it, it + 1);
  }
  const Parting& taken = all.front();
  give_length(c.parting, taken.height, scene.inch);
  const double mid_x = 0.5 * (scene.part->box.lo.x + scene.part->box.hi.x),
               mid_y = 0.5 * (scene.part->box.lo.y + scene.part->box.hi.y);
  Choice ch = choice("casting.parting", parting_words(taken), parting_why(taken, draft), "common practice");
  for (std::size_t i = 1; i < all.size(); ++i)
    ch.others.push_back({parting_words(all[i]), parting_why(all[i], draft), "take.casting.parting=" + all[i].id});
  ch.others.push_back({"across X or Y, half way",
                       fmt::format("then {} and {} hold back; the study's draft runs along Z",
                                   square_mm(undercut(*scene.part, other, 0, mid_x)),
                                   square_mm(undercut(*scene.part, other, 1, mid_y))),
                       {},
                       "raw sizes and draft are reckoned along Z only"});
  d.choices.push_back(std::move(ch));
  if (taken.undercut > 0)
    d.disagree.push_back(fmt::format(
        "casting.parting: {} on {} face{} hold the pattern back: cores, loose pieces or a filled-in shape make them",
        square_mm(taken.undercut), taken.holds_back.size(), taken.holds_back.size() == 1 ? "" : "s"));
  if (!c.draft.known() || !c.draft.given())
    d.assumed.push_back(
        "casting.draft 1.5 deg (0 to 3) and casting.mismatch 0.15 mm (0.05 to 0.4), from memory: ask the foundry, then "
        "hold a square and a feeler to ten castings");
}

/// What no number says and yet belongs into the order.
void foundry_asked(Draft& d) {
  plan::Casting& c = d.plan.casting;
  if (c.note.known()) return;
  give(
      c.note,
      "Agree with the foundry: sound where machined, no hard edges or chill; hardness read on the casting and stated; "
      "gates and risers ground where agreed and on no surface that locates; parting flash off; cores set from the same "
      "surfaces that the first clamping uses; pattern changes told before they are poured");
  d.choices.push_back(choice("casting.note", "what to agree with the foundry stands in the plan's note",
                             "a hard edge breaks cutters, and a moved gate or core moves every first clamping",
                             "common practice"));
}

struct RawOf {
  double raw = 0, allowance = 0;
  bool ok = false;
  std::string why;
};
RawOf raw_of(const plan::Plan& p, double finished, int sides, casting::SizeKind kind, double largest, bool inch) {
  if (!p.casting.tolerance_grade.known() || !p.casting.allowance_grade.known()) return {0, 0, false, "no grades"};
  casting::RawSizeInputs in;
  in.finished = finished, in.machined_sides = sides, in.kind = kind;
  in.dctg = p.casting.tolerance_grade.value, in.rmag = p.casting.allowance_grade.value, in.largest_finished = largest;
  const auto r = casting::raw_size(in);
  if (!r.ok()) return {0, 0, false, say(r.problem())};
  // A pattern is made to a tenth of a millimetre; always away from the part.
  const double step = inch ? 0.01 * 0.0254 : 1e-4, n = r->raw / step;
  const double raw = step * (kind == casting::SizeKind::internal ? std::floor(n + 1e-6) : std::ceil(n - 1e-6));
  return {raw, r->allowance, true, ""};
}

void add_size(Draft& d, const std::string& id, const std::string& kind, const std::vector<std::string>& between,
              const std::string& feature, double raw, bool inch) {
  plan::CastSize s;
  give(s.id, id);
  s.kind.value = kind;
  if (kind != "outside") give(s.kind, kind);
  for (const std::string& b : between) give(s.between, b);
  if (!feature.empty()) give(s.feature, feature);
  give_length(s.raw, raw, inch);
  d.plan.casting.sizes.push_back(std::move(s));
}

const plan::Feature* find(const plan::Plan& p, const std::string& id) { return plan::find_feature(p, id); }
bool skin(const plan::Plan& p, const std::string& id) {
  const plan::Feature* f = find(p, id);
  return f != nullptr && f->cast.value == "skin";
}

/// Faces that are cut and that no size ends on: each from the side opposite it; the two outermost of an axis as one
/// size. What has no size yet comes back with the reason.
std::vector<std::pair<std::string, std::string>> faces_without_size(const Scene& scene, Draft& d, double largest) {
  std::vector<std::pair<std::string, std::string>> out;
  const std::array<OuterSide, 6> sides = outer_sides(scene, d.plan);
  const auto has_size = [&](const std::string& id) {
    return std::any_of(d.plan.casting.sizes.begin(), d.plan.casting.sizes.end(), [&](const plan::CastSize& s) {
      if (s.kind.value == "height" || s.kind.value == "inside") return s.feature.value == id;  // not what it is from
      return std::any_of(s.between.value.begin(), s.between.value.end(),
                         [&](const auto& b) { return plan::parse_reference(b).id == id; });
    });
  };
  const plan::Plan p = d.plan;
  for (const plan::Feature& f : p.features) {
    const int n = direction_index(f.normal.value);
    const bool hollow = f.kind.value == "pocket" || f.kind.value == "slot";
    if ((f.kind.value != "face" && !hollow) || f.cast.value != "skin" || n < 0 || f.at.value.empty() ||
        has_size(f.id.value))
      continue;
    const OuterSide& other = sides[static_cast<std::size_t>(opposite(n))];
    if (other.reference.empty() || other.lean > 1e-6 || other.round) {
      out.emplace_back(f.id.value, "no flat opposite it to measure from");
      continue;
    }
    const double finished = std::fabs(coordinate(f.at.value[0], axis_of(n)) - coordinate(other.at, axis_of(n)));
    const bool both = sides[static_cast<std::size_t>(n)].reference == f.id.value && skin(p, other.feature) &&
                      !has_size(other.feature);
    const RawOf r = raw_of(p, finished, both ? 2 : 1, casting::SizeKind::external, largest, scene.inch);
    if (!r.ok) out.emplace_back(f.id.value, r.why);
    else if (both)
      add_size(d, fmt::format("across {}", "xyz"[axis_of(n)]), "outside", {f.id.value, other.reference}, "", r.raw,
               scene.inch);
    else add_size(d, "face " + f.id.value, "height", {other.reference}, f.id.value, r.raw, scene.inch);
  }
  return out;
}

void sizes(const Scene& scene, Draft& d) {
  if (!d.plan.casting.sizes.empty() || scene.part == nullptr) return;
  const plan::Plan p = d.plan;
  const Vec3 box = scene.part->box.hi - scene.part->box.lo;
  const double largest = std::max({box.x, box.y, box.z});
  std::vector<std::string> refused;
  const auto outside = [&](const std::string& id, const std::vector<std::string>& ends, double finished, int sides) {
    const RawOf r = raw_of(p, finished, sides, casting::SizeKind::external, largest, scene.inch);
    if (r.ok) add_size(d, id, "outside", ends, "", r.raw, scene.inch);
    else refused.push_back(fmt::format("{}: {}", id, r.why));
  };
  const int ends = (skin(p, "top") ? 1 : 0) + (skin(p, "bottom") ? 1 : 0);
  if (find(p, "top") != nullptr && find(p, "bottom") != nullptr) outside("thickness", {"top", "bottom"}, box.z, ends);
  if (const plan::Feature* o = find(p, "outside"); o != nullptr && o->size.value.size() >= 2) {
    const int sides = o->cast.value == "skin" ? 2 : 0;
    outside("length", {"outside.+x", "outside.-x"}, o->size.value[0], sides);
    outside("width", {"outside.+y", "outside.-y"}, o->size.value[1], sides);
  }
  int number = 0;
  for (const plan::Feature& f : p.features) {
    if (f.cast.value != "cored" || !hole_like(f)) continue;
    const RawOf r = raw_of(p, diameter_of(f), 2, casting::SizeKind::internal, largest, scene.inch);
    if (!r.ok || !(r.raw > 0)) {
      refused.push_back(fmt::format("core {}: {}", f.id.value, r.why));
      continue;
    }
    add_size(d, "core " + f.id.value, "inside", {}, f.id.value, r.raw, scene.inch);
    plan::Core core;
    give(core.id, fmt::format("core {}", ++number));
    give(core.features, f.id.value);
    const std::string floor = floor_of(f.id.value);
    if (const plan::Feature* g = find(p, floor); g != nullptr && !g->at.value.empty() && find(p, "bottom") != nullptr) {
      const double height = g->at.value[0].z - scene.part->box.lo.z;
      const RawOf h =
          raw_of(p, height, 1, g->normal.value == "+z" ? casting::SizeKind::external : casting::SizeKind::internal,
                 largest, scene.inch);
      if (h.ok) {
        add_size(d, "floor " + f.id.value, "height", {"bottom"}, floor, h.raw, scene.inch);
        give(core.features, floor);
      }
    }
    d.plan.casting.cores.push_back(std::move(core));
  }
  for (const auto& [id, why] : faces_without_size(scene, d, largest))
    refused.push_back(fmt::format("face {}: {}", id, why));
  if (!d.plan.casting.sizes.empty())
    d.choices.push_back(choice("casting.size", fmt::format("{} raw sizes by the grades", d.plan.casting.sizes.size()),
                               "finished size, allowance on every machined side, half the tolerance", "ISO 8062-3"));
  if (!refused.empty()) d.disagree.push_back("raw sizes that no grade gives: " + base::join(refused, "; "));
}

/// What the drawing says of a size stands in the feature too: pins, bores and the ledger look there.
void limits_to_features(plan::Plan& p) {
  for (const plan::Requirement& r : p.requirements) {
    const unit::Limits& l = r.limits.value;
    if (r.kind.value != "size" || !l.lower || !l.upper || !r.limits.known()) continue;
    for (plan::Feature& f : p.features) {
      if (f.id.value != plan::parse_reference(r.feature.value).id) continue;
      const double middle = 0.5 * (*l.lower + *l.upper);
      for (plan::Limits* v : {&f.diameter, &f.width, &f.length}) {
        const double now = nominal_of(*v);
        if (now > 0 && std::fabs(now - middle) <= 0.02 * now + 0.2e-3 && !(v->value.lower && v->value.upper)) {
          *v = r.limits;
          break;
        }
      }
    }
  }
}

}  // namespace

void order_casting(const Scene& scene, Draft& d) {
  limits_to_features(d.plan);
  d.plan.operations.clear();  // the first look at the casting gives way to a route
  iron(scene, d);
  grades(scene, d);
  surfaces(scene, d);
  parting(scene, d);
  foundry_asked(d);
  sizes(scene, d);
  weigh_casting(scene, d);
}

}  // namespace fettle::begin
