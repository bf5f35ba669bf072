#pragma once
// The part as a clamping holds it, for the wrench-space proof: contacts, weight, and what of them a lever may move.
#include <functional>
#include <string>
#include <vector>

#include "calc/holding/proof.h"
#include "study/cut_model.h"
#include "study/internal.h"

namespace fettle::study {

/// One clamping. Friction and preload stand at their low ends: that is what the proof is defined with.
struct Held {
  bool there = false;  ///< clamps or pads were given: the question makes sense
  bool pallet = false;
  std::vector<holding::Contact> contacts;
  holding::Load weight;
  std::vector<std::string> missing;
  std::vector<finding::Input> inputs;  ///< what was taken, for the finding
  frame::Vec3 up;
  double torque = 0, friction = 0,
         friction_stated = 0;  ///< stated torque, N·m; least low-end friction, and what it belongs to
  double clamp_force = 0;      ///< N, stated, where the clamp is a force
};
Held held_in(Context& c, const plan::Operation& o);

/// Contacts with all clamp forces and all friction times a factor.
std::vector<holding::Contact> scaled(std::vector<holding::Contact> contacts, double force, double friction);

/// Stock that an operation before this one left at a place of a side cut, m; infinite where none prepared that side.
double stock_left(const plan::Plan& plan, const CutModel& cut, const CutPlace& place);

/// The loads of one cut on the part: the peak at every place, then samples of the turn there.
struct CutLoads {
  std::vector<holding::Load> loads;
  std::vector<std::size_t> place;  ///< of each load: of the cut's places, then of its gate_places
};
const CutPlace& place_of(const CutModel& cut, std::size_t index);
/// `forces` gives those at a largest radial width (infinite: as the cut says): where a side was prepared before, only
/// what that left stands; and those over a gate's stub.
using ForcesAt = std::function<CutForces(double most_width, bool gate)>;
CutLoads loads_of(const plan::Plan& plan, const CutModel& cut, frame::Vec3 up, const ForcesAt& forces,
                  std::size_t samples = 16);

}  // namespace fettle::study
