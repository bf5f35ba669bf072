// Raw sizes that clean up as the route holds the castings, where the casting is still to be ordered.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/mend.h"
#include "begin/propose/raw_mass.h"
#include "plan/read.h"

namespace fettle::begin {

namespace {

using finding::Finding;
using finding::State;

constexpr int most_rounds = 6;
constexpr double reserve = 0.1e-3;  // m, beside what the study asks for: it draws, and sizes are rounded

/// The side of the outside that a prepared edge lies over, or the surface itself.
std::string raw_of(const plan::Plan& plan, const std::string& surface) {
  const plan::Feature* f = plan::find_feature(plan, plan::parse_reference(surface).id);
  return f != nullptr && f->over.known() ? f->over.value : surface;
}

const plan::CastSize* size_of(const plan::Plan& plan, const std::string& cut) {
  const std::string surface = raw_of(plan, cut), id = plan::parse_reference(surface).id;
  for (const plan::CastSize& s : plan.casting.sizes) {
    const auto& ends = s.between.value;
    const bool side = std::find(ends.begin(), ends.end(), surface) != ends.end();
    if (s.kind.value == "inside" || s.kind.value == "height") {
      if (s.feature.value == id) return &s;
    } else if (side) {
      return &s;
    }
  }
  return nullptr;
}

/// Every face within its share and yet too many castings that fail on one of them: a little more where most do.
void all_faces(const plan::Plan& plan, const study::Study& study, std::map<std::string, double>& more) {
  const auto is_all = [](const Finding& f) { return f.question == "clean_up" && f.operation == "casting"; };
  const bool all = std::any_of(study.findings.begin(), study.findings.end(),
                               [&](const Finding& f) { return is_all(f) && f.state == State::outside; });
  if (!all) return;
  double most = 0;
  for (const Finding& f : study.findings)
    if (f.question == "clean_up" && !is_all(f) && f.value > most) most = f.value;
  for (const Finding& f : study.findings) {
    if (f.question != "clean_up" || is_all(f) || !(f.value > 0.3 * most)) continue;
    const plan::CastSize* s = size_of(plan, f.feature);
    if (s == nullptr || !s->raw.known()) continue;
    more[s->id.value] = s->kind.value == "inside" ? -2 * reserve : s->kind.value == "height" ? reserve : 2 * reserve;
  }
}

/// Changes of raw sizes by id, from what the study says is missing.
std::map<std::string, double> asked_for(const plan::Plan& plan, const study::Study& study) {
  std::map<std::string, double> more;  // by which the raw size changes
  for (const Finding& f : study.findings) {
    if (f.state != State::outside) continue;
    for (const finding::Lever& l : f.levers) {
      if (!std::isfinite(l.flip)) continue;
      if (f.question == "clean_up" && l.key == "casting.size") {
        const plan::CastSize* s = size_of(plan, f.feature);
        if (s == nullptr || !s->raw.known()) continue;
        const double stock = l.flip + reserve;
        const double change = s->kind.value == "inside" ? -2 * stock : s->kind.value == "height" ? stock : 2 * stock;
        double& to = more[s->id.value];
        if (std::fabs(change) > std::fabs(to)) to = change;
      }
    }
  }
  if (more.empty()) all_faces(plan, study, more);
  return more;
}

}  // namespace

Outcome<bool> raise_raw_sizes(const Scene& scene, Draft& draft, const study::Data& data, study::Memo& memo,
                              int threads) {
  const plan::Casting& c = draft.plan.casting;
  if (scene.cast != nullptr || c.measured.table.given() || c.sizes.empty() || scene.part == nullptr) return false;
  study::Options options = quick_look();
  options.monte_carlo = true;
  options.threads = threads;
  options.only = {"raw sizes", "castings"};
  std::map<std::string, std::string> before;
  for (const plan::CastSize& s : c.sizes) before[s.id.value] = s.raw.typed;
  bool changed = false;
  std::string by;
  for (int round = 0; round < most_rounds; ++round) {
    const auto l = look(scene, draft, data, options, memo);
    if (!l.ok()) return l.problems();
    const auto more = asked_for(l->plan, l->study);
    if (more.empty()) break;
    const double step = scene.inch ? 0.005 * 0.0254 : 1e-4;
    for (plan::CastSize& s : draft.plan.casting.sizes) {
      const auto it = more.find(s.id.value);
      if (it == more.end()) continue;
      const double to = s.raw.si + it->second;
      if (s.kind.value == "inside" && !(to > 0.5 * s.raw.si)) continue;  // no core is left: a pattern to think over
      const double raw = step * (it->second > 0 ? std::ceil(to / step - 1e-6) : std::floor(to / step + 1e-6));
      give_length(s.raw, raw, scene.inch);
      changed = true;
    }
    weigh_casting(scene, draft);
    for (const Finding& f : l->study.findings)
      if (f.state == State::outside && f.question == "clean_up" && by.empty()) by = f.id;
  }
  if (!changed) return false;
  std::string words;
  Choice choice{"casting", "casting.size", "", "", by, {}};
  for (const plan::CastSize& s : draft.plan.casting.sizes) {
    if (before[s.id.value] == s.raw.typed) continue;
    words +=
        fmt::format("{}{} {} instead of {}", words.empty() ? "" : ", ", s.id.value, s.raw.typed, before[s.id.value]);
  }
  choice.taken = "raw sizes by virtual castings: " + words;
  choice.why = "at most one casting in a thousand fails to clean up as this route holds them";
  choice.others.push_back({"the sizes by the grades alone", "more castings then show skin where they are machined",
                           "take.casting.sizes=by the grades"});
  draft.choices.push_back(std::move(choice));
  return true;
}

}  // namespace fettle::begin
