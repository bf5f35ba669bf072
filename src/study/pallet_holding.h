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
  /// N, of one pallet screw: what its torque gives at the low end, and what of it is lost as faces settle.
  double screw_force = 0, settles = 0;
  /// A jaw touches over a share of its face, as two points as far apart as even pressure asks; index of the two, -1:
  /// no such jaw.
  int jaw_at = -1;
  double jaw_share = 0;  ///< stated: the whole face where it was machined before, its middle where it is as cast
  frame::Vec3 jaw_middle, jaw_half;
};
/// The contacts with the jaw touching over another share of its face, 0 to 1.
std::vector<holding::Contact> touching(const Held& h, double share);
/// What the torque must grow by so that what it leaves after settling grows by `net`.
double torque_growth(const Held& h, double net);

/// Loss of preload as the faces under a head and between part and seat settle, N (VDI 2230 amounts).
double settling_loss(double major, double pitch, double pitch_diameter, double root_diameter, double stress_area,
                     double grip);

/// A clamp's force that can be counted on, N: the low end of its band; a tenth less where none is given.
double low_clamp_force(const plan::Number& force);

/// True where one jaw presses several parts side by side and its force is shared.
bool shares_jaw(const plan::Operation& o);
/// What the part that gets least can count on of a shared jaw's force, N: what the jaw's model gives it in 19 of 20
/// loads, or what the plan says that each needs; else what must be given.
struct JawShare {
  double force = 0;
  bool of_jaw = false;  ///< goes with the jaw's force
  std::string words;
  std::vector<std::string> missing;
};
JawShare least_jaw_share(Context& c, const plan::Operation& o);
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
