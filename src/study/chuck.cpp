// Castings on a magnetic chuck: pulled flat and springing back, or rocking.
#include "calc/holding/chuck.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "base/text.h"
#include "ref/materials.h"
#include "study/internal.h"
#include "study/measured.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr double feeler = 0.05e-3;  // m, gap under a casting that a feeler finds and a grinder shims (common practice)

/// The largest bow that is known of: measured, else as the plan says it.
struct Bow {
  plan::Number size;
  std::string words;
};
std::optional<Bow> bow_of(Context& c) {
  const CastingModel m = casting_model(c.plan, numbers_of(c.plan), nullptr);
  if (m.missing.empty()) {
    if (const auto sample = read_sample(c.plan, c.data, m); sample.ok()) {
      const auto key = std::find(sample->keys.begin(), sample->keys.end(), "warp x");
      if (key != sample->keys.end()) {
        const auto k = static_cast<std::size_t>(key - sample->keys.begin());
        std::optional<Bow> out;
        for (const SampleRow& r : sample->rows) {
          const double w = std::fabs(r.deviation[k]);
          if (out && w <= out->size.si) continue;
          out = Bow{assumed(Kind::length, w, w, w, "measured", ""),
                    "casting " + r.number + ", the most of " + std::to_string(sample->rows.size()) + " measured"};
        }
        if (out) return out;
      }
    }
  }
  if (c.plan.casting.warp.known()) return Bow{c.plan.casting.warp, "as the plan assumes"};
  return std::nullopt;
}

/// True when an earlier operation has cut the face.
bool cut_before(const plan::Plan& plan, const plan::Operation& o, const std::string& face) {
  for (const plan::Operation& p : plan.operations) {
    if (&p == &o) return false;
    if (std::find(p.makes.value.begin(), p.makes.value.end(), face) != p.makes.value.end()) return true;
  }
  return false;
}

struct Lies {
  std::string face;
  const plan::Operation* before = nullptr;  ///< the chuck operation in which that face was ground, if any
};

std::optional<Lies> lies_on(const plan::Plan& plan, const plan::Operation& o) {
  for (const plan::Locator& l : o.locators) {
    if (l.kind.value != "chuck") continue;
    Lies x{l.on.value, nullptr};
    for (const plan::Operation& p : plan.operations) {
      if (&p == &o) break;
      if (std::find(p.makes.value.begin(), p.makes.value.end(), l.on.value) != p.makes.value.end()) x.before = &p;
    }
    return x;
  }
  return std::nullopt;
}

void one_chuck(Context& c, const plan::Operation& o, const Lies& lies, const std::optional<Bow>& bow) {
  const plan::Requirement* flat = nullptr;
  for (const plan::Requirement& q : c.plan.requirements)
    if (q.kind.value == "flatness" && q.limits.value.upper &&
        std::find(o.makes.value.begin(), o.makes.value.end(), q.feature.value) != o.makes.value.end())
      flat = &q;
  const bool raw = !cut_before(c.plan, o, lies.face);
  if (flat == nullptr && !raw) return;
  std::vector<std::string> missing;
  if (!bow)
    missing.emplace_back("casting.warp: bow of the castings, or a column warp in the table of measured castings");
  const auto m = ref::material(c.plan.part.material.value);
  if (!c.plan.part.material.known() || !m.ok()) missing.emplace_back("part.material");
  const auto& size = c.plan.part.size.value;
  if (size.size() != 3) missing.emplace_back("part.size");
  plan::Number pull =
      assumed(Kind::pressure, 0.6e6, 0.3e6, 1.0e6, "from memory: permanent and electro-magnetic chucks on thick iron",
              "pull one part off with a spring balance on a hook, over its face");
  for (const plan::Clamp& k : o.clamps)
    if (k.pull.known()) pull = k.pull;
  const Vec3 up = direction(o.up.value);
  double thick = 0, span = 0;
  if (size.size() == 3) {
    thick = std::fabs(up.x) * size[0] + std::fabs(up.y) * size[1] + std::fabs(up.z) * size[2];
    std::vector<double> sides;
    for (int i = 0; i < 3; ++i)
      if (std::fabs(i == 0 ? up.x : i == 1 ? up.y : up.z) < 0.5) sides.push_back(size[static_cast<std::size_t>(i)]);
    for (double x : sides) span = std::max(span, x);
    if (sides.size() != 2) missing.emplace_back("operation.up");
  }
  const auto solve = [&](double w, double p, double e) {
    holding::ChuckInputs in;
    in.warp = w, in.span = span, in.thickness = thick, in.modulus = e, in.poisson = m->poisson.value, in.pull = p;
    return holding::on_chuck(in);
  };
  const plan::Number elastic =
      c.plan.part.elasticity.known() ? c.plan.part.elasticity
      : m.ok() ? assumed(Kind::pressure, m->modulus.value, m->modulus.low, m->modulus.high, m->source, "")
               : plan::Number{};
  const auto stated_of = [](const Finding& f) {
    std::vector<double> v;
    for (const auto& a : f.assumptions) v.push_back(a.value);
    return v;
  };
  const auto assume_all = [&](Finding& f, int& p, int& e, int& w) {
    p = assume(f, pull, "pull of the chuck", "operation.clamp.pull");
    e = assume(f, elastic, "elasticity of the part", "part.elasticity");
    w = assume(f, bow->size, "bow of the casting", "casting.warp");
  };
  if (flat != nullptr) {
    Finding f = start(o.id.value, flat->feature.value, "flat_off_chuck",
                      fmt::format("{} is flat off the chuck", words_of(c.plan, flat->feature.value)), Kind::length);
    f.gauge = true;
    f.limit = finding::upper(*flat->limits.value.upper);
    f.formula = "what the pull takes out of the bow springs back: min(bow, 0.00406 p a^4/D), D = E t^3/(12 (1 - nu^2))";
    f.source = "square plate on its edges (Timoshenko, Plates and Shells), from memory";
    if (!missing.empty()) {
      leave_open(c, std::move(f), missing);
    } else {
      int p = -1, e = -1, w = -1;
      assume_all(f, p, e, w);
      // A face that was ground on the chuck before has kept what was pulled out of it then; unshimmed, nothing takes it
      // away.
      const auto value = [=](const std::vector<double>& v) {
        const auto r = solve(at(v, w, bow->size.si), at(v, p, pull.si), at(v, e, elastic.si));
        return r.ok() ? r->pulled_out : std::numeric_limits<double>::quiet_NaN();
      };
      const std::vector<double> stated = stated_of(f);
      const auto r = solve(bow->size.si, pull.si, elastic.si);
      unit::Style fine = c.style;
      fine.gauge = true;
      f.inputs = {{"bow of the raw casting", bow->size.si, Kind::length, mm(c, bow->size.si) + ": " + bow->words},
                  {"lies on", 0, Kind::number,
                   words_of(c.plan, lies.face) + (lies.before != nullptr ? ", ground before" : ", raw")},
                  {"span", span, Kind::length, {}},
                  {"thickness", thick, Kind::length, {}},
                  {"pull that would lay it flat", r->flat_needs, Kind::pressure, {}},
                  {"not in it", 0, Kind::number, "what moves when the skin comes off"}};
      const double thin = std::cbrt(std::pow(thick, 3) * r->can_pull / *flat->limits.value.upper);
      if (bow->size.si > *flat->limits.value.upper)
        f.levers.push_back(
            {"thickness", "part.size", thick, thin, Kind::length,
             fmt::format("a casting of {} instead of {} would be pulled so far flat; shim the bow before grinding then",
                         mm(c, thin), mm(c, thick))});
      f.sentence = fmt::format("The chuck takes {} out of a bow of {}, which springs back; {} is allowed.",
                               unit::print(r->pulled_out, Kind::length, fine), mm(c, bow->size.si),
                               unit::print(*flat->limits.value.upper, Kind::length, fine));
      settle(c, std::move(f), value);
    }
  }
  if (raw) {
    Finding f = start(o.id.value, lies.face, "rocks_on_chuck",
                      fmt::format("castings lie still on the chuck, {}", words_of(c.plan, lies.face)), Kind::length);
    f.limit = finding::upper(feeler);
    f.formula = "bow - what the pull takes out of it, against the gap that a feeler finds";
    f.source = "plate under the chuck's pull; limit common practice: shim what a 0.05 mm feeler goes under";
    f.cautions = {
        "A casting that rocks can be thrown by the wheel: shim and block it. Local rules and licensed practice "
        "decide."};
    if (!missing.empty()) return leave_open(c, std::move(f), missing);
    int p = -1, e = -1, w = -1;
    assume_all(f, p, e, w);
    const auto value = [=](const std::vector<double>& v) {
      const auto r = solve(at(v, w, bow->size.si), at(v, p, pull.si), at(v, e, elastic.si));
      return r.ok() ? r->stands_off : std::numeric_limits<double>::quiet_NaN();
    };
    const double now = value(stated_of(f));
    f.inputs = {
        {"bow", bow->size.si, Kind::length, mm(c, bow->size.si) + ": " + bow->words},
        {"measured without its direction", 0, Kind::number, "hollow side down it stands, round side down it rocks"}};
    f.levers.push_back(
        {"shims", "casting.warp", bow->size.si, feeler, Kind::length,
         fmt::format("shim the first side: {} under the bow takes the rocking away", mm(c, std::max(0.0, now)))});
    f.sentence = fmt::format("A bow of {} ({}) stays {} off the chuck: {}.", mm(c, bow->size.si), bow->words,
                             mm(c, now), now > feeler ? "the casting rocks unless it is shimmed" : "it lies still");
    settle(c, std::move(f), value);
  }
}

bool has_word(const plan::Texts& list, const char* word) {
  return std::find(list.value.begin(), list.value.end(), word) != list.value.end();
}
/// Shimmed on its first side, a casting stands on what a feeler no longer finds; its other side then lies on that face.
Bow shim(Bow bow) {
  plan::Number& n = bow.size;
  if (!(n.si > feeler)) return bow;
  n.si = feeler;
  n.low = std::min(n.low, feeler), n.high = std::min(n.high, feeler);
  bow.words += ", shimmed to what a feeler no longer finds";
  return bow;
}

}  // namespace

void chuck_findings(Context& c) {
  std::optional<Bow> bow;
  bool looked = false, shimmed = false;
  for (const plan::Operation& o : c.plan.operations) {
    const auto lies = lies_on(c.plan, o);
    if (!lies) continue;
    if (!looked) bow = bow_of(c), looked = true;
    shimmed = shimmed || has_word(o.does, "shim");
    one_chuck(c, o, *lies, shimmed && bow ? std::optional(shim(*bow)) : bow);
  }
}

}  // namespace fettle::study
