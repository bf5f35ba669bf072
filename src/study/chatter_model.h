#pragma once
// What a cut's chatter is computed from: tool, pallet and flank at one place, and how deep it stays quiet there.
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "calc/chatter/at_speed.h"
#include "calc/chatter/tool.h"
#include "study/chatter_readings.h"
#include "study/cut_model.h"
#include "study/internal.h"

namespace fettle::study {

/// One place on one part where the tool cuts.
struct Spot {
  const CutPlace* place = nullptr;
  int nest = -1;                       ///< -1: no pallet below
  maths::PointResponse pallet;         ///< stated damping
  std::array<frame::Vec3, 3> axes;     ///< feed, spindle x feed, spindle, in the pallet's axes (no pallet: the part's)
  std::array<frame::Vec3, 3> machine;  ///< X, Y, Z of the machine in the same axes
};

/// Where a finding's assumptions stand; -1: firm.
struct SingIndices {
  int spindle = -1, tilt = -1, tool_damping = -1, pallet_damping = -1, flank = -1, hardness = -1, corner = -1,
      stick_out = -1;
};

/// One cut of one operation with all that its finding needs.
struct Sing {
  const CutModel* cut = nullptr;
  bool bar = false;  ///< a boring bar: the depth is the stock a side
  std::vector<Spot> spots;
  std::vector<double> frequencies;          ///< Hz, of the pallet
  std::vector<chatter::Stretch> stretches;  ///< of the estimate sideways; empty: measured
  /// By tapping or by the plan, along the machine's X, Y, Z.
  std::array<std::vector<chatter::FittedMode>, 3> measured;
  std::array<double, 3> residual{};  ///< m/N
  std::string tool_words;
  plan::Number spindle, tilt, tool_damping, pallet_damping, flank, corner;
  double land = 0, depth = 0;
  SingIndices at;
};

/// Departures from the plan for one answer.
struct Ask {
  bool tool = true, plate = true;
  std::optional<double> flank, turns, stick_out;
  const CutKnobs* knobs = nullptr;  ///< of the iron; nothing: as the assumptions say
};

/// True for the cuts whose chatter is judged.
bool chatter_judged(CutModel::Way way);

/// From the tip: flutes (0.8 of the cutting diameter), neck or shank up to the holder, holder. Of a boring tool: its
/// bar and the holder.
std::vector<chatter::Stretch> tool_stretches(const CutModel& cut);

/// The softest two places of each nest (the second only when it is within a fifth of the first), softest first; one
/// place when no pallet is below. Also the pallet's frequencies. `why`: what stood in the way.
void find_spots(Context& c, Sing& s, bool pallet, std::string& why);

/// How deep the cut stays quiet (of a bar: the stock a side), with the assumptions at `v`.
chatter::AtSpeedResult quiet_to(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                const Ask& ask = {});
/// The same of a mill where it is more than `than`; else some depth that is not.
chatter::AtSpeedResult deeper_than(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                   const Ask& ask, double than);
/// What the science of milling is given for that.
chatter::AtSpeedInputs milling_inputs(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                      const Ask& ask = {});

/// Frequencies of the estimated tool, Hz.
std::vector<double> tool_frequencies(Context& c, const Sing& s, const std::vector<double>& v);

}  // namespace fettle::study
