#include "calc/tolerance/process.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "ref/fits.h"

namespace fettle::tolerance {

namespace {

using Words = std::array<std::string_view, 4>;
constexpr Words kRoughMilling = {"rough mill", "rough", "roughing", ""};
constexpr Words kMilling = {"mill", "rough and finish", "groove", "grooving"};
constexpr Words kFinishMilling = {"finish mill", "", "", ""};
constexpr Words kDrilling = {"drill", "", "", ""};
constexpr Words kReaming = {"ream", "", "", ""};
constexpr Words kBoring = {"bore", "finish bore", "finish boring", ""};
constexpr Words kRoughBoring = {"rough bore", "", "", ""};
constexpr Words kFineBoring = {"fine bore", "diamond boring", "diamond bore", ""};
constexpr Words kTurning = {"turn", "", "", ""};
constexpr Words kBroaching = {"broach", "", "", ""};
constexpr Words kSurfaceGrinding = {"surface grind", "grind", "grinding", ""};
constexpr Words kRoundGrinding = {"cylindrical grind", "round grinding", "", ""};
constexpr Words kHoning = {"hone", "", "", ""};
constexpr Words kLapping = {"lap", "", "", ""};
constexpr Words kPlaning = {"plane", "shaping", "", ""};
constexpr Words kTapping = {"tap", "thread milling", "", ""};

constexpr const char* kChart =
    "grades by process: trade chart after Engineering Toolbox (number of grades read, their place from memory) and the "
    "expected degree of accuracy by process in Narayana, Kannaiah, Reddy: Machine Drawing, fig. 15.2 (read); guidance, "
    "not a limit";
constexpr const char* kReamer =
    "common practice: a reamer for H7 is bought to make H7; grades about it as in the trade chart; guidance, not a "
    "limit";
constexpr const char* kMemory = "from memory: size of what is cut by shop practice; guidance, not a limit";

// The start value is the one grade that the drawing textbook prints for the process; the chart gives the range, widened
// where a trade text says that ordinary machining centres hold IT8 in milling.
constexpr std::array<ProcessGrades, 16> kGrades = {{
    {"milling", kMilling, 8, 10, 13, kChart},
    {"finish milling", kFinishMilling, 7, 8, 10, kMemory},
    {"rough milling", kRoughMilling, 10, 11, 13, kMemory},
    {"drilling", kDrilling, 10, 11, 13, kChart},
    {"reaming", kReaming, 6, 7, 10, kReamer},
    {"boring", kBoring, 7, 8, 10, kChart},
    {"rough boring", kRoughBoring, 9, 11, 13, kChart},
    {"fine boring", kFineBoring, 5, 6, 7, kChart},
    {"turning", kTurning, 7, 8, 13, kChart},
    {"broaching", kBroaching, 5, 7, 8, kChart},
    {"surface grinding", kSurfaceGrinding, 5, 6, 8, kChart},
    {"cylindrical grinding", kRoundGrinding, 5, 6, 7, kChart},
    {"honing", kHoning, 4, 6, 7, kChart},
    {"lapping", kLapping, 4, 5, 6, kChart},
    {"planing", kPlaning, 10, 10, 13, kChart},
    {"tapping", kTapping, 9, 10, 12, kMemory},
}};

const ProcessGrades* find(std::string_view word) {
  const std::string w = base::lower(base::trim(word));
  if (w.empty()) return nullptr;
  for (const ProcessGrades& g : kGrades) {
    if (w == g.process) return &g;
    for (const std::string_view a : g.aliases)
      if (w == a) return &g;
  }
  return nullptr;
}

}  // namespace

std::span<const ProcessGrades> process_grades() { return kGrades; }

Outcome<ProcessScatter> process_scatter(std::string_view process, double nominal_m) {
  const ProcessGrades* g = find(process);
  if (g == nullptr) {
    std::vector<std::string> words;
    for (const ProcessGrades& k : kGrades) words.emplace_back(k.process);
    return bad("no grade is known for this process", std::string(process), base::join(words, ", "),
               base::nearest(process, words));
  }
  const auto fine = ref::tolerance_of_grade(nominal_m, g->finest), start = ref::tolerance_of_grade(nominal_m, g->start),
             coarse = ref::tolerance_of_grade(nominal_m, g->coarsest);
  for (const auto* o : {&fine, &start, &coarse})
    if (!o->ok()) return o->problems();
  // To hold a grade is taken as Cpk 1.33: the width is eight standard deviations (common practice).
  return ProcessScatter{*start / 8, *fine / 8, *coarse / 8,
                        fmt::format("{}: IT{} over eight, band IT{} to IT{} ({})", g->process, g->start, g->finest,
                                    g->coarsest, g->source)};
}

Outcome<LocatorVerdict> locator_hole(const LocatorHole& hole) {
  constexpr double usual_thread = 0.08e-3;
  if (!(hole.asked > 0) || !std::isfinite(hole.asked))
    return bad("the closest requirement must leave some play", base::shortest(hole.asked), "a length over 0");
  if (hole.stands_within && !(*hole.stands_within >= 0 && std::isfinite(*hole.stands_within)))
    return bad("the play of a locator is a length", base::shortest(*hole.stands_within), "0 or more");
  if (!hole.threaded && !hole.stands_within)
    return bad("nobody said how close a pin stands in this hole", {}, "half the clearance of pin and hole");
  LocatorVerdict v;
  v.stands_within = hole.stands_within.value_or(usual_thread);
  v.may_use = hole.asked / 3;
  v.refused = !(v.stands_within <= v.may_use);
  v.source = "common practice";
  const auto um = [](double x) { return base::fixed(1e3 * x, 3); };
  v.why = fmt::format("{} stands within ± {} mm{}; a locator may use a third of the ± {} mm asked, ± {} mm: {}",
                      hole.threaded ? "a screw in a tapped hole" : "a pin in this hole", um(v.stands_within),
                      hole.stands_within ? "" : " (usual)", um(hole.asked), um(v.may_use),
                      v.refused ? "it may hold the part, not locate it" : "it may locate");
  return v;
}

}  // namespace fettle::tolerance
