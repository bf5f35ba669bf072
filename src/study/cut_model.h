#pragma once
// The cuts of a plan as forces, holding, stiffness and chatter see them. Everything in the part frame; "spindle" is the
// direction from the part to the spindle in that frame (operation.up).
#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "study/internal.h"

namespace fettle::study {

/// One place along a cut.
struct CutPlace {
  frame::Vec3 at;  ///< part frame: on the surface, at the middle of the axial engagement
  /// Unit: the tool moves this way over the part. Tools that feed along their axis (drill, reamer, tap, boring tool):
  /// any direction across, so that feed, out and spindle always stand square to one another.
  frame::Vec3 feed;
  frame::Vec3 out;    ///< unit: out of the metal, across the feed, towards the tool's axis; facing: spindle x feed
  std::string words;  ///< "+X side, at the corner"
};

/// What may be moved about a cut; the stated values come from the plan and its tables.
struct CutKnobs {
  double hardness = 0;      ///< HB of the iron; picks and blends the constants
  double width = 0;         ///< m, radial width of cut (stock)
  double depth = 0;         ///< m, axial depth
  double wear_factor = 1;   ///< of a used edge on the force
  double radial_ratio = 0;  ///< radial over tangential force
  double published = 1;     ///< where printed sets disagree: 1 the highest, -1 the lowest, between by share
};

/// Force of the tool on the part at one place: components along feed, out, spindle, N.
struct CutForces {
  frame::Vec3 mean, peak;         ///< over the turn; peak: where the resultant is largest
  std::vector<frame::Vec3> turn;  ///< through one turn, equally spaced (a drill or tap: one)
  /// On the part about the tool's axis, N·m, along feed, out, spindle: at the peak and at each sample of the turn.
  frame::Vec3 peak_moment;
  std::vector<frame::Vec3> turn_moment;
  double torque_mean = 0, torque_peak = 0;  ///< N·m about the spindle
  double power = 0;                         ///< W at the cutter
  double up_pull = 0;                       ///< N, largest pull towards the spindle, 0 when it only pushes down
  double chip_most = 0, chip_mean = 0;      ///< m
  /// What a small change of chip thickness does, per axial depth, at the mean chip: N/m2 tangential; the others as
  /// ratios to it. For chatter.
  double kt = 0, kr = 0, ka = 0;
};

/// One cut of one operation.
struct CutModel {
  enum class Way { side, face, slot, drill, ream, tap, thread_mill, bore, keyseat, chamfer } way = Way::side;
  const plan::Operation* operation = nullptr;
  const plan::Cut* cut = nullptr;
  const plan::Tool* tool = nullptr;
  std::shared_ptr<const plan::Tool> as_set;  ///< the tool with the stick-out of this cut, where the cut says one
  const plan::Machine* machine = nullptr;
  int index = 0;               ///< in the operation, from 0
  std::string feature, words;  ///< "T11 roughs the outside profile"
  bool finish = false;
  bool sprung = false;               ///< a pass over what is finished: it takes what the pass before left by bending
  bool square = true;                ///< square shoulder: motion along the axis makes no chip
  double diameter = 0, turns = 0;    ///< m; spindle turns per second
  double feed_per_tooth = 0;         ///< m
  int teeth = 0;                     ///< as built
  std::vector<double> tooth_angles;  ///< rad, where each tooth stands
  double helix = 0, lead = 0;        ///< rad; lead: angle that the edge leans back (0 for a square shoulder)
  double entry = 0, exit = 0;        ///< rad, engaged arc at the stated width, from the normal, in the sense of turning
  bool down = true;                  ///< down milling
  double wear_land = 0;              ///< m
  CutKnobs stated, soft, hard;       ///< mean; soft iron, least stock, new edge; hard iron, most stock, used edge
  /// What is assumed of the knobs; the index of each below, -1 when the plan says it without a band.
  std::vector<finding::Assumption> assumptions;
  int wear_at = -1, radial_at = -1, hardness_at = -1, width_at = -1, depth_at = -1;
  std::vector<CutPlace> places;
  /// Where a gate's stub stands on the raw surface that this cut meets first, and how much stock that is beyond the
  /// stated, m; nothing where the stated stock covers it.
  std::vector<CutPlace> gate_places;
  double gate_stock = 0;
  std::string gate_words;  ///< "gate 1, gate 2": met, covered or not
  /// Openings in a face that is milled over: angles without metal when the cutter stands over the widest, rad.
  std::vector<std::array<double, 2>> gaps;
  std::string gap_words;             ///< "the counterbore, 46.000 mm, and 2 more"
  std::vector<std::string> missing;  ///< what must be said before anything is computed; then the rest is empty
  std::vector<std::string> taken;    ///< what was derived and how, in words: "stock from the cored diameter, ..."

  // What the forces need beyond the above.
  double approach = 0;               ///< kappa, rad: 90 deg less the lead; of a drill: half the point angle
  double inside_radius = 0;          ///< m, wall that an orbiting cutter leaves inside a bore; 0: a straight path
  double offset = 0;                 ///< m, of a face mill's axis beside the strip
  double corner_radius = 0;          ///< m
  double rake = 0;                   ///< rad
  double pitch = 0, drilled = 0;     ///< m, of a tap
  double wear_stated = 1;            ///< of a used edge
  double body_hardness = 0;          ///< HB, hard end away from corners: what a whole cut meets
  std::vector<std::string> sources;  ///< of the specific force
};
/// The knobs with the assumed ones replaced by `values`, which stand in the order of cut.assumptions.
CutKnobs knobs_with(const CutModel& cut, CutKnobs knobs, const std::vector<double>& values);

/// All cuts of the plan that turn a tool in metal (no probe), in order; those that cannot be computed carry `missing`.
std::vector<CutModel> cut_models(Context& c);

/// Forces of a cut at the knobs given. Through the memo: calling it again costs nothing.
CutForces cut_forces(Context& c, const CutModel& cut, const CutKnobs& knobs);

/// The knobs where a gate's stub stands: its stock besides, in depth of a face and in width of anything else.
CutKnobs at_gate(const CutModel& cut, CutKnobs knobs);
/// The forces with the cutter over the widest opening of the face; as cut_forces where nothing interrupts it.
CutForces forces_over_opening(Context& c, const CutModel& cut, const CutKnobs& knobs);

/// True for tools that feed along their axis.
bool along_axis(CutModel::Way way);

/// Up and down error that the tool's own bending leaves on the surface, m, metal left is positive: {stock low, stock
/// high}, without the part and its pallet giving way. Nothing where it cannot be said.
struct PushOff {
  double least = 0, most = 0;
};
std::optional<PushOff> tool_push_off(Context& c, const CutModel& cut);

/// True where a tooth leaves the wall along all of its edge at once.
bool straight_teeth(const CutModel& cut, double depth);

/// What the tool's own bending leaves on the surface at the knobs given, by height, m, metal left positive; empty where
/// it cannot be said. Of a boring tool: its one edge. Of straight teeth: least, and most if the edge does not spring
/// back before it leaves the wall.
std::vector<double> tool_errors(Context& c, const CutModel& cut, const CutKnobs& knobs);

/// Force of a one-edged boring tool across its axis, square to the wall, N; 0 for others.
double radial_force(Context& c, const CutModel& cut, const CutKnobs& knobs);

/// The narrowest tolerance of size or distance that a feature carries, m; 0: none.
double tolerance_on(const plan::Plan& plan, const std::string& feature);

}  // namespace fettle::study
