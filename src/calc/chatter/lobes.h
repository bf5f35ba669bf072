#pragma once
// Stability lobes by the zero-order method: depth over speed, quick enough to follow a slider.
#include <array>
#include <string>
#include <vector>

#include "calc/chatter/cutter.h"
#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::chatter {

/// A measured response: displacement per force (m/N), 3 x 3 row by row, over rising frequencies (Hz), in the axes of
/// the cut.
struct ResponseTable {
  std::vector<double> frequency;
  std::vector<maths::Response3> response;
};

struct LobesInputs {
  std::vector<maths::PointResponse> responses;                         ///< tool and part, each in its own axes
  std::array<frame::Vec3, 3> axes{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};  ///< feed, spindle x feed, spindle, in those axes
  ResponseTable table;              ///< used instead of the responses when it has rows
  Cutter cutter;                    ///< even teeth; for uneven ones ask speed by speed (at_speed.h)
  double slowest = 0, fastest = 0;  ///< turns per second
  int speeds = 400;
  int frequencies = 4000;  ///< half of them spread from 0.25 of the lowest mode to 3 of the highest, half at the modes
  int lobes = 0;           ///< 0: all that reach the slowest speed, at most 2000
};
struct LobesResult {
  bool ok = false;
  std::string why;
  std::vector<double> turns, limit, frequency;  ///< per second; m (infinity: quiet at any depth); Hz
  double least = 0, least_frequency = 0;        ///< m, Hz: of all speeds; infinity when nothing can be loud
  std::vector<double> share;                    ///< what each response adds to 1/least; sums to 1. Empty with a table
  double covered_from = 0;  ///< turns per second: slower speeds would need more lobes than were asked for
};
/// At each frequency the eigenvalues l of G A give depth b = pi/(N kt Re l) and waves between teeth from their phase,
/// eps = pi + 2 arg(l), speed w/(N (eps + 2 pi j)) with lobe j = 0, 1, ... (Altintas and Budak 1995; three directions
/// and full cross responses: Altintas 2001). The lower envelope over `speeds` even steps. Without the flank: its effect
/// depends on the speed, see at_speed.h. Depths over a million times the least count as infinite. Error: straight lines
/// between frequencies, under 0.1 % of the depth at 4000 frequencies.
LobesResult lobes(const LobesInputs& in);

/// Lobe speeds from a chatter frequency: f/(teeth j), j = 1 .. count, turns per second.
std::vector<double> lobe_speeds(double frequency, int teeth, int count);

}  // namespace fettle::chatter
