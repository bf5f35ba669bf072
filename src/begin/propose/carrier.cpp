#include "begin/propose/carrier.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "begin/axis.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/route.h"
#include "calc/holding/jaw.h"
#include "plan/read.h"
#include "ref/defaults.h"
#include "ref/materials.h"

namespace fettle::begin {

namespace {

// Common practice, from memory.
constexpr double between_parts = 20e-3;  ///< m: a finger, or the probe that finds raw ends
constexpr double between_vises = 20e-3;  ///< m
constexpr int most_parts = 6;
constexpr int strips = 7;  ///< a face as springs side by side, as the study takes it

const plan::Thing* bar_of(const plan::Shop& shop) {
  for (const plan::Thing& t : shop.things)
    if (t.kind.value == "carrier jaw") return &t;
  return nullptr;
}
int how_many(const plan::Thing& t) { return t.count.known() ? t.count.value : 1; }
bool equal(const plan::Thing& a, const plan::Thing& b) {
  const auto& p = a.size.value;
  const auto& q = b.size.value;
  return a.machine.value == b.machine.value && p.size() == q.size() &&
         std::equal(p.begin(), p.end(), q.begin(), [](double x, double y) { return std::fabs(x - y) < 1e-6; });
}

/// Why this bar is none; empty: it is one.
std::string no_bar(const plan::Thing* bar) {
  if (bar == nullptr)
    return "the shop file names no carrier jaw: a [[thing]] of kind \"carrier jaw\" with its size and material";
  if (bar->size.value.size() != 3) return fmt::format("nobody said the size of the carrier jaw {}", bar->id.value);
  if (!bar->material.known() || !ref::material(bar->material.value).ok())
    return fmt::format("nobody said what the carrier jaw {} is made of, or its material is not known", bar->id.value);
  return "";
}

/// Why no two vises push a bar together; empty when `out` has them.
std::string no_vises(const plan::Shop& shop, CarrierSet& out) {
  std::string one;
  for (const plan::Thing& t : shop.things) {
    if (t.kind.value != "vise") continue;
    if (t.size.value.size() != 3 || !t.machine.known()) {
      one = fmt::format("of the vise {} nobody said the machine, or the size", t.id.value);
      continue;
    }
    int n = 0;
    for (const plan::Thing& k : shop.things)
      if (k.kind.value == "vise" && equal(t, k)) n += how_many(k);
    if (n < 2) {
      one = fmt::format("two equal vises on one machine push a carrier jaw, and of {} machine {} has one only",
                        t.id.value, t.machine.value);
      continue;
    }
    out.vises = t.id.value, out.machine = t.machine.value;
    out.jaw = t.size.value[0], out.opening = t.size.value[2];
    return "";
  }
  return one.empty() ? "two equal vises push a carrier jaw, and the shop file names none: a [[thing]] of kind \"vise\" "
                       "with its machine, size and count"
                     : one;
}

holding::JawInputs jaw_inputs(const CarrierSet& set, const CarrierPart& part, const CarrierRow& row, int parts,
                              const CarrierFace& face, const CarrierAsked& asked) {
  holding::JawInputs in;
  const auto m = ref::material(set.material);
  in.bar = {set.size[0], set.size[1], set.size[2], m.ok() ? m->modulus.value : 0, m.ok() ? m->poisson.value : 0.3};
  for (int i = 0; i < parts; ++i) in.at.push_back((i - 0.5 * (parts - 1)) * row.pitch);
  const double body = holding::block_stiffness(asked.modulus, part.finished * part.high, part.across);
  in.stiffness.assign(in.at.size(), holding::in_series({face.stiffness, body}));
  in.force = asked.force, in.need = asked.need, in.spread = asked.spread, in.seed = asked.seed;
  in.face = std::min(part.finished, row.pitch);
  in.strips = std::clamp(3 * strips / parts, 1, strips);
  return in;
}

}  // namespace

CarrierSet carrier_set(const plan::Shop& shop) {
  CarrierSet out;
  const plan::Thing* bar = bar_of(shop);
  out.named = bar != nullptr;
  out.why_not = no_bar(bar);
  if (!out.why_not.empty()) return out;
  out.bar = bar->id.value, out.size = bar->size.value, out.material = bar->material.value;
  out.why_not = no_vises(shop, out);
  return out;
}

CarrierPart carrier_part(const Scene& scene, const plan::Plan& plan, int jaws, int along) {
  const frame::Vec3 box = scene.part->box.hi - scene.part->box.lo;
  CarrierPart out{coordinate(box, along), coordinate(box, along), coordinate(box, jaws) + 2 * edge_stock,
                  coordinate(box, 3 - jaws - along)};
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (s.kind.value != "outside" || s.between.value.empty() || !s.raw.known()) continue;
    const plan::Reference r = plan::parse_reference(s.between.value[0]);
    const plan::Feature* f = plan::find_feature(plan, r.id);
    const std::string way = !r.side.empty() ? r.side : f != nullptr ? f->normal.value : "";
    if (way.size() == 2 && way[1] - 'x' == along) out.raw = std::max(out.raw, s.raw.si);
  }
  return out;
}

CarrierRow carrier_row(const CarrierSet& set, const plan::Shop& shop, const CarrierPart& part, bool inch) {
  CarrierRow out;
  const double length = set.size[0], step = inch ? 0.05 * 0.0254 : 1e-3;
  const auto show = [&](double x) { return shown_length(x, inch); };
  const plan::Machine* machine = nullptr;
  for (const plan::Machine& m : shop.machines)
    if (m.id.value == set.machine) machine = &m;
  if (machine == nullptr || machine->travel.value.size() < 3)
    out.why_not = fmt::format("the vises {} stand on machine {}, whose travels nobody said", set.vises, set.machine);
  else if (length < 2 * set.jaw + between_vises)
    out.why_not = fmt::format("the carrier jaw, {} long, is shorter than the two vises that push it", show(length));
  else if (part.across + set.size[2] > set.opening)
    out.why_not = fmt::format("the part is {} across and the carrier jaw {} thick: more than the {} that vises {} open",
                              show(part.across), show(set.size[2]), show(set.opening), set.vises);
  if (!out.why_not.empty()) return out;
  out.pitch = step * std::ceil((part.raw + between_parts) / step - 1e-6);
  const auto fits = [&](int n) {
    const double row = (n - 1) * out.pitch;
    return row + part.finished <= length &&
           row + part.raw <= std::max(machine->travel.value[0], machine->travel.value[1]);
  };
  out.parts = 1;
  while (out.parts < most_parts && fits(out.parts + 1)) ++out.parts;
  if (out.parts < 2)
    out.why_not = fmt::format("no two parts, {} from one to the next, fit under a carrier jaw {} long on machine {}",
                              show(out.pitch), show(length), set.machine);
  return out;
}

std::vector<CarrierFace> carrier_faces(const plan::Shop& shop) {
  std::vector<CarrierFace> out;
  constexpr std::array<std::array<const char*, 3>, 2> all{
      {{"hard", "jaw", "hard jaw"}, {"pads", "pad", "urethane pad 6 mm"}}};
  for (const auto& [word, kind, known] : all) {
    CarrierFace f{word, "", "", 0};
    for (const plan::Thing& t : shop.things)  // soft jaws are jaws too: the stiffest is the hard one
      if (t.kind.value == kind && t.stiffness.known() &&
          (f.thing.empty() || (std::string(word) == "hard" && t.stiffness.si > f.stiffness)))
        f.thing = t.id.value, f.typed = t.stiffness.typed, f.stiffness = t.stiffness.si;
    if (const auto d = ref::default_of(known, unit::Kind::stiffness); f.thing.empty() && d.ok())
      f.thing = d->thing, f.stiffness = d->value;
    if (!f.thing.empty()) out.push_back(std::move(f));
  }
  return out;
}

CarrierLoad carrier_load(const CarrierSet& set, const CarrierPart& part, const CarrierRow& row, int parts,
                         const CarrierFace& face, const CarrierAsked& asked) {
  CarrierLoad out{parts, face, 0, 1, 0, 0};
  holding::JawInputs in = jaw_inputs(set, part, row, parts, face, asked);
  const auto at = [&](double x, int springs) {
    in.pushes = {{-x, set.jaw, 1}, {x, set.jaw, 1}};
    in.strips = std::min(in.strips, springs);
    const auto r = holding::jaw_loads(in);
    return r.ok() ? std::optional(*r) : std::nullopt;
  };
  // The middle of the outer parts lies between the outer ends of the vises.
  const double least = std::max(0.5 * (set.jaw + between_vises), 0.5 * (parts - 1) * row.pitch - 0.5 * set.jaw);
  const double most = 0.5 * (set.size[0] - set.jaw);
  double best = 2, even = 0;
  for (double x = std::min(asked.step * std::ceil(least / asked.step - 1e-6), most); x <= most + 1e-9;
       x += asked.step) {
    const int full = in.strips;
    const auto r = at(x, 3);  // looked for with few springs to a face, said with all of them
    in.strips = full;
    if (!r || !(r->share < best - 1e-12 || (r->share < best + 1e-12 && r->mean_least > even + 1e-6))) continue;
    best = r->share, even = r->mean_least, out.pushed_at = x;
  }
  if (!(out.pushed_at > 0)) return out;
  const auto r = at(out.pushed_at, strips);
  if (!r) return out;
  out.share = r->share, out.least = r->mean_least;
  for (const double f : r->planned) out.most = std::max(out.most, f);
  return out;
}

std::vector<CarrierLoad> carrier_loads(const CarrierSet& set, const CarrierPart& part, const CarrierRow& row,
                                       const plan::Shop& shop, const CarrierAsked& asked, const std::string& only) {
  std::vector<CarrierLoad> all;
  for (int n = row.parts; n >= std::max(2, row.parts - 1); --n)
    for (const CarrierFace& f : carrier_faces(shop)) all.push_back(carrier_load(set, part, row, n, f, asked));
  const auto may = [&](const CarrierLoad& l) { return only.empty() || l.face.word == only; };
  auto taken = std::find_if(all.begin(), all.end(),
                            [&](const CarrierLoad& l) { return may(l) && l.share <= asked.limit && l.pushed_at > 0; });
  if (taken == all.end())
    taken = std::min_element(all.begin(), all.end(), [&](const CarrierLoad& a, const CarrierLoad& b) {
      return may(a) != may(b) ? may(a) : a.share < b.share;
    });
  if (taken != all.end()) std::rotate(all.begin(), taken, taken + 1);
  return all;
}

}  // namespace fettle::begin
