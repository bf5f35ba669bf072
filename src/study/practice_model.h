#pragma once
// Inside study only: the features of a plan with their facts, places and extents, and what fills an operation's facts.
#include <string>
#include <string_view>
#include <vector>

#include "calc/practice/practice.h"
#include "plan/plan.h"
#include "study/internal.h"
#include "study/plan_times.h"

namespace fettle::study::rules {

constexpr double near = 1e-6;    // m, two places that are one
constexpr double button = 3e-3;  // m, radius of a rest or stop (common practice: buttons of 6 mm)

/// Along one axis; a plane has from = to.
struct Extent {
  bool there = false;
  frame::Vec3 axis;
  double from = 0, to = 0;  ///< m
};
/// A feature with its facts and where it stands.
struct Known {
  practice::Feature f;
  const plan::Feature* source = nullptr;
  Surface s;
  Extent e;
};

/// "F7@2" -> "F7", "F1.+x" stays: the rules know a pattern as one feature and each side of a profile as one.
std::string id_of(std::string_view reference);
/// The features that a reference stands for: all four sides for a bare profile.
std::vector<std::string> ids_of(const plan::Plan& plan, std::string_view reference);
const Known* find(const std::vector<Known>& all, const std::string& id);
bool outside_face(const practice::Feature& f);

/// All features of the plan; says in `facts` whether anything is called critical.
std::vector<Known> features_of(const plan::Plan& plan, practice::Facts& facts);
/// Cuts in order; what an operation makes and no cut names comes last, with a pass that nobody said.
void add_cuts(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
              practice::Operation& out);
/// Locators, clamps, and of a pallet its pads, pins, screws and troughs. Needs the cuts.
void add_contacts(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
                  practice::Operation& out);

}  // namespace fettle::study::rules
