#pragma once
// The loaded pallet as the places on its parts feel it. Pallet frame: origin at the middle of the plate's top, Z up.
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "calc/structure/structure.h"
#include "maths/modal.h"
#include "study/internal.h"

namespace fettle::study {

/// What may be moved about a pallet; factors are 1 at the stated values.
struct PlateKnobs {
  double thickness = 0;                        ///< m
  double anchor_up = 0, anchor_side = 0;       ///< N/m of each anchor
  double damping = 0;                          ///< ratio
  bool parts_bonded = false;                   ///< parts add their own stiffness; false: only their mass
  std::vector<frame::Vec3> more_anchors{};     ///< tried in addition
  std::vector<structure::Relief> more_ribs{};  ///< the same
  int modes = 16;                              ///< few are enough at rest: the residual carries what they leave out
};

/// A place on a part in a nest, where a cut pushes.
struct PlatePoint {
  int nest = 0;    ///< from 0
  frame::Vec3 at;  ///< pallet frame, at cutter height
};

/// Why nothing can be computed; empty when it can.
std::vector<std::string> plate_missing(const Context& c);

/// The knobs as the plan states them.
PlateKnobs stated_knobs(const Context& c);

struct PlateAnswer {
  std::vector<maths::PointResponse> at;  ///< one per point, pallet axes
  std::vector<double> frequencies;       ///< Hz, rising
  double mass = 0;                       ///< kg, plate alone
};
/// Response of the loaded pallet at the points. Through the memo. Only when plate_missing() is empty.
Outcome<PlateAnswer> plate_answer(Context& c, const PlateKnobs& knobs, const std::vector<PlatePoint>& points);

/// The science's own inputs for them. Only when plate_missing() is empty.
structure::Inputs plate_inputs(const Context& c, const PlateKnobs& knobs, const std::vector<PlatePoint>& points);

/// What the points give at rest, 3 x 3, pallet axes, m/N, in their order. Other stiffnesses of the anchors, and one
/// more at any of the places `tried`, come from one factored plate (structure/at_rest.h): bands and levers are cheap.
Outcome<std::vector<std::array<double, 9>>> plate_gives(Context& c, const PlateKnobs& knobs,
                                                        const std::vector<PlatePoint>& points,
                                                        const std::vector<frame::Vec3>& tried);

/// Works the plate out for plate_gives() with these knobs, anchors as stated, so that it is kept when it is asked for.
void plate_ahead(Context& c, const PlateKnobs& knobs);

/// Which model answered, its mesh, and how sure that is for what the points feel, in words. The same knobs and points
/// as plate_answer() was asked with cost a coarse plate only.
std::string plate_words(Context& c, const PlateKnobs& knobs, const std::vector<PlatePoint>& points);

/// Where nest `n` (from 0) puts a point of the part frame of the pallet operation, in the pallet frame.
frame::Vec3 on_pallet(const plan::Plan& plan, int nest, frame::Vec3 in_part);
frame::Vec3 turned_on_pallet(const plan::Plan& plan, int nest, frame::Vec3 direction_in_part);
int nest_count(const plan::Plan& plan);
/// Pockets, ribs, holes and run-offs of the plate, in the pallet frame.
std::vector<structure::Relief> plate_reliefs(const plan::Plan& plan);

}  // namespace fettle::study
