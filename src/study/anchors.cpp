// The pallet itself: does it stay down on its anchors, and what does a chip under one seat do?
#include "calc/holding/anchors.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "base/text.h"
#include "study/cut_model.h"
#include "study/internal.h"
#include "study/plate_model.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr double gravity = 9.80665;
constexpr double air_sees = 20e-6;  // m, gap at which an air check of a seat trips (from memory: 0.01 to 0.03 mm)

std::string newtons(const Context& c, double x) { return unit::print(x, Kind::force, c.style); }

struct Seats {
  holding::AnchorInputs in;
  const plan::Anchor* first = nullptr;
  std::vector<std::string> missing;
};

Seats seats_of(const Context& c) {
  const plan::Pallet& p = c.plan.pallet;
  Seats s;
  for (const plan::Anchor& a : p.anchors) {
    if (s.first == nullptr) s.first = &a;
    if (!a.pull_down.known()) s.missing.emplace_back("pallet.anchor.pull_down: pull-down force of each");
    for (Vec3 at : a.at.value) s.in.seats.push_back({at.x, at.y, a.pull_down.si, a.stiffness_up.si, 0});
  }
  if (s.in.seats.size() < 3) s.missing.emplace_back("pallet.anchor: at least three anchors, where they stand");
  if (p.plate.size.value.size() != 3) s.missing.emplace_back("pallet.plate.size");
  if (nest_count(c.plan) == 0) s.missing.emplace_back("pallet.nest: where the parts sit");
  if (p.empty_mass.known())
    s.in.weight =
        gravity * (p.empty_mass.si + (p.loaded_part_mass.known() ? nest_count(c.plan) * p.loaded_part_mass.si : 0));
  return s;
}

double pads_height(const plan::Pallet& p) {
  double h = 0;
  for (const plan::Pad& pad : p.pads)
    if (pad.height.known()) h = std::max(h, pad.height.si);
  return h;
}

/// A cut at one place in one nest, as the seats feel it.
struct Case {
  holding::PalletLoad load;
  int nest = 0;
  const CutModel* cut = nullptr;
  const std::string* words = nullptr;
};

void stays_down(Context& c, const plan::Operation& o) {
  Finding f = start(o.id.value, "pallet", "stays_down", "the pallet stays down on its anchors", Kind::force);
  f.formula =
      "least seat force: pull-down and weight less what the worst cut lifts there; rigid pallet on seats that push "
      "only";
  f.source = "balance of forces and moments, exact; verified";
  f.cautions = {
      "A pallet that comes loose is thrown: check the pull-down and the seats. Local rules and licensed practice "
      "decide."};
  Seats s = seats_of(c);
  const std::vector<CutModel> cuts = cut_models(c);
  std::vector<std::string> missing = s.missing;
  std::vector<Case> cases;
  const double up_to_part =
      c.plan.pallet.plate.size.value.size() == 3 ? c.plan.pallet.plate.size.value[2] + pads_height(c.plan.pallet) : 0;
  const Vec3 spindle = direction(o.up.known() ? o.up.value : "+z");
  if (!(spindle.z > 0.5))
    missing.emplace_back("operation.up: +z; a part the other way round on its nest is not judged");
  const int nests = nest_count(c.plan);
  for (const CutModel& k : cuts) {
    if (k.operation != &o) continue;
    // A cut that nobody can compute may be the one that lifts the pallet.
    for (const std::string& m : k.missing)
      missing.push_back(fmt::format("{} ({})", m, k.tool != nullptr ? k.tool->id.value : k.cut->tool.value));
    if (!k.missing.empty() || k.places.empty()) continue;
    const CutForces force = cut_forces(c, k, k.hard);
    std::vector<Vec3> samples = {force.peak};  // and through the turn: another moment may lift more
    for (std::size_t n = 0; n < force.turn.size(); n += std::max<std::size_t>(1, force.turn.size() / 12))
      samples.push_back(force.turn[n]);
    for (int nest = 0; nest < nests; ++nest)
      for (const CutPlace& p : k.places)
        for (Vec3 f : samples) {
          Case x;
          x.load.at = on_pallet(c.plan, nest, p.at);
          x.load.at.z = p.at.z + up_to_part;
          x.load.force = turned_on_pallet(c.plan, nest, f.x * p.feed + f.y * p.out + f.z * spindle);
          x.nest = nest;
          x.cut = &k;
          x.words = &p.words;
          cases.push_back(x);
        }
  }
  if (cases.empty() && missing.empty())
    missing.emplace_back("operation.cut: tool, depth, width, speed and feed of the cuts on the pallet");
  if (!missing.empty()) {
    f.limit = finding::lower(0, 1);
    return leave_open(c, std::move(f), missing);
  }
  const double pull = s.first->pull_down.si;
  f.limit = finding::lower(0, pull > 0 ? pull : 1);
  const int pull_at = assume(f, s.first->pull_down, "pull-down of an anchor", "pallet.anchor.pull_down");
  const auto influence = holding::seat_influence(s.in);
  const auto rest = holding::on_anchors(s.in, {});
  if (!influence.ok() || !rest.ok()) return leave_open(c, std::move(f), {"pallet.anchor: not all in one line"});
  const auto least_of = [&](const std::vector<double>& at_rest, const Case** which, int* seat) {
    double least = std::numeric_limits<double>::infinity();
    for (const Case& x : cases) {
      const Vec3 m = cross(x.load.at, x.load.force);
      for (std::size_t i = 0; i < at_rest.size(); ++i) {
        const auto& u = (*influence)[i];
        const double n = at_rest[i] - u[0] * x.load.force.z + u[1] * m.x + u[2] * m.y;
        if (n < least) {
          least = n;
          if (which != nullptr) *which = &x, *seat = static_cast<int>(i);
        }
      }
    }
    return least;
  };
  const Case* worst = nullptr;
  int seat = 0;
  const double now = least_of(rest->seat, &worst, &seat);
  const auto factor = holding::lift_off_factor(s.in, worst->load);
  const auto exact = holding::on_anchors(s.in, worst->load);
  const double relief = rest->seat[static_cast<std::size_t>(seat)] - now;
  f.inputs = {
      {"pull-down of each", pull, Kind::force, {}},
      {"weight of the loaded pallet", s.in.weight, Kind::force, {}},
      {"worst cut", 0, Kind::number,
       fmt::format("{} in nest {}, {}", worst->cut->words, worst->nest + 1, *worst->words)},
      {"seat that is relieved most", 0, Kind::number, fmt::format("seat {}, by {}", seat + 1, newtons(c, relief))}};
  if (factor.ok() && std::isfinite(*factor))
    f.inputs.push_back({"cut may grow before a seat lifts", *factor, Kind::number, base::fixed(*factor, 1) + " times"});
  if (exact.ok())
    f.inputs.push_back({"friction that would hold it sideways", exact->friction, Kind::number,
                        base::fixed(exact->friction, 3) + ", where no centring takes it"});
  if (relief > 0 && pull > 0)
    f.levers.push_back(
        {"pull-down", "pallet.anchor.pull_down", pull, std::max(0.0, pull - now), Kind::force,
         now >= 0 ? fmt::format("pull-down {} → {} before a seat lifts", newtons(c, pull),
                                newtons(c, std::max(0.0, pull - now)))
                  : fmt::format("pull-down {} → {} keeps every seat down", newtons(c, pull), newtons(c, pull - now))});
  f.sentence = fmt::format("The worst cut relieves seat {} by {}; {} still press it down.", seat + 1,
                           newtons(c, relief), newtons(c, now));
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    holding::AnchorInputs in = s.in;
    if (pull_at >= 0 && pull > 0)  // others that pull less or more keep their share of the first one's band
      for (holding::Seat& x : in.seats) x.pull_down *= at(v, pull_at, pull) / pull;
    const auto r = holding::on_anchors(in, {});
    return r.ok() ? least_of(r->seat, nullptr, nullptr) : std::numeric_limits<double>::quiet_NaN();
  });
}

/// The tightest height that this operation makes.
const plan::Requirement* height_made(const plan::Plan& plan, const plan::Operation& o) {
  const plan::Requirement* out = nullptr;
  for (const plan::Requirement& q : plan.requirements) {
    if (q.kind.value != "distance" || !q.limits.value.lower || !q.limits.value.upper) continue;
    const auto made = [&](const std::string& id) {
      return std::find(o.makes.value.begin(), o.makes.value.end(), id) != o.makes.value.end();
    };
    if (!made(q.feature.value) && !made(q.to.value)) continue;
    const Surface a = surface_of(plan, made(q.feature.value) ? q.feature.value : q.to.value);
    if (!a.there || a.round || std::fabs(dot(a.normal, direction(o.up.value))) < 0.5) continue;
    const auto width = [](const plan::Requirement& r) { return *r.limits.value.upper - *r.limits.value.lower; };
    if (out == nullptr || width(q) < width(*out)) out = &q;
  }
  return out;
}

/// "1: 0.031 mm, 2: 0.031 mm": what a chip under any one seat does to each nest at most.
std::string nests_words(const Context& c, const holding::AnchorInputs& in, double chip) {
  std::vector<std::string> out;
  const auto before = holding::on_anchors(in, {});
  for (int n = 0; n < nest_count(c.plan); ++n) {
    const Vec3 p = on_pallet(c.plan, n, {});
    double most = 0;
    for (std::size_t i = 0; i < in.seats.size(); ++i) {
      holding::AnchorInputs with = in;
      with.seats[i].chip = chip;
      const auto after = holding::on_anchors(with, {});
      if (before.ok() && after.ok())
        most = std::max(most, std::fabs(holding::rises(*after, p.x, p.y) - holding::rises(*before, p.x, p.y)));
    }
    out.push_back(fmt::format("{}: {}", n + 1, mm(c, most)));
  }
  return base::join(out, ", ");
}

void chip_under(Context& c, const plan::Operation& o) {
  Seats s = seats_of(c);
  const plan::Requirement* q = height_made(c.plan, o);
  if (s.first == nullptr) return;
  Finding f = start(o.id.value, "pallet", "chip_under", "a chip under one seat of the pallet", Kind::length);
  f.formula = "rigid pallet on its seats with one raised: largest change of height at a nest";
  f.source = "springs under a rigid plate, exact";
  std::vector<std::string> missing = s.missing;
  if (q == nullptr) missing.emplace_back("requirement: a height that this operation makes, to hold it against");
  if (!s.first->chip.known()) missing.emplace_back("pallet.anchor.chip: thickness of a chip that may lie under a seat");
  if (!missing.empty()) {
    f.limit = finding::upper(1);
    return leave_open(c, std::move(f), missing);
  }
  const double half = 0.5 * (*q->limits.value.upper - *q->limits.value.lower);
  f.limit = finding::upper(half);
  const int chip = assume(f, s.first->chip, "chip under one seat", "pallet.anchor.chip");
  const int stiff = assume(f, s.first->stiffness_up, "stiffness of an anchor", "pallet.anchor.stiffness_up");
  const auto tilt = [&](double thick, double stiffness, int* nest, double* least) {
    double worst = 0;
    holding::AnchorInputs in = s.in;
    for (holding::Seat& x : in.seats) x.stiffness *= stiffness / s.first->stiffness_up.si;
    const auto before = holding::on_anchors(in, {});
    for (std::size_t i = 0; i < in.seats.size(); ++i) {
      holding::AnchorInputs with = in;
      with.seats[i].chip = thick;
      const auto after = holding::on_anchors(with, {});
      if (!before.ok() || !after.ok()) return std::numeric_limits<double>::quiet_NaN();
      for (int n = 0; n < nest_count(c.plan); ++n) {
        const Vec3 p = on_pallet(c.plan, n, {});
        const double z = std::fabs(holding::rises(*after, p.x, p.y) - holding::rises(*before, p.x, p.y));
        if (z > worst) {
          worst = z;
          if (nest != nullptr) *nest = n;
        }
      }
      if (least != nullptr) *least = std::min(*least, after->least);
    }
    return worst;
  };
  const double example = 0.05e-3;
  int nest = 0;
  double least = std::numeric_limits<double>::infinity();
  const double per = tilt(example, s.first->stiffness_up.si, &nest, &least) / example;
  f.inputs = {{"a chip counts at the worst nest", per, Kind::number,
               fmt::format("{} of its thickness, nest {}", base::fixed(per, 2), nest + 1)},
              {"height it is held against", half, Kind::length, q->id.value + ", half its tolerance"},
              {"least seat force with a chip of " + mm(c, example), least, Kind::force, {}},
              {"height at each nest with a chip of " + mm(c, example) + " under the seat nearest to it", 0,
               Kind::number, nests_words(c, s.in, example)},
              {"air check of the seats", air_sees, Kind::length,
               "sees a chip from about " + mm(c, air_sees) + " (from memory)"}};
  const double flips = half / per;
  f.levers.push_back(
      {"chip", "pallet.anchor.chip", s.first->chip.si, flips, Kind::length,
       fmt::format("a chip of {} uses the whole height tolerance up{}", mm(c, flips),
                   flips > air_sees ? "; the air check sees it before" : "; the air check may miss it")});
  f.sentence = fmt::format("A chip of {} under one seat changes the height of nest {} by {}; {} allows {} either way.",
                           mm(c, example), nest + 1, mm(c, per * example), q->id.value, mm(c, half));
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    return tilt(at(v, chip, s.first->chip.si), at(v, stiff, s.first->stiffness_up.si), nullptr, nullptr);
  });
}

}  // namespace

void anchor_findings(Context& c) {
  for (const plan::Operation& o : c.plan.operations) {
    if (o.kind.value != "pallet" || c.plan.pallet.anchors.empty()) continue;
    stays_down(c, o);
    chip_under(c, o);
    return;
  }
}

}  // namespace fettle::study
