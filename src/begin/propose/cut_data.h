#pragma once
// Start values of cutting data for the iron at hand, and what a cut with them asks of the spindle.
#include <string>
#include <vector>

#include "plan/plan.h"
#include "ref/cutting.h"

namespace fettle::begin {

/// The iron as the tables need it.
struct Iron {
  std::string group;                      ///< as ref::Material::group; empty: a material that the tables do not know
  double soft = 0, stated = 0, hard = 0;  ///< HB of the body
  double drill = 0;                       ///< factor of drills at its hard end; 0: none printed
  std::vector<ref::ChipForceAt> chips;    ///< at its hard end; empty: no printed force
};
/// From part.material and casting.hardness, else the range of the grade.
Iron iron_of(const plan::Plan& plan);

/// Speed and feed to start with, between what is printed or remembered.
struct CutData {
  double speed = 0, speed_low = 0, speed_high = 0;  ///< m/s at the edge
  double feed = 0, feed_low = 0, feed_high = 0;     ///< m per tooth; 0: by the pitch of the thread
  bool printed = false;                             ///< the speeds are; feeds are from memory
  std::string source;                               ///< in words, with the range
};
/// Where a range is printed for the tool and this hardness: its low end to finish, three quarters of it where skin and
/// changing stock are met. `inch`: how the words say it.
CutData cutting_data(const plan::Tool& tool, bool finish, const Iron& iron, bool inch);

/// What a cut asks at most: most stock, the hard end of the body, a used edge.
struct CutLoad {
  double power = 0;  ///< W at the cutter; 0: no printed force for this metal
  double chip = 0;   ///< m, mean thickness at the least stock
};
/// `width`: radial width at most and at least (m), for tools that cut with their side. A boring tool, reamer: half of
/// what the hole grows by. `inside`: radius of the wall that a tool leaves which goes round inside a hole; its feed is
/// that of the edge at the wall, its middle is slower.
CutLoad load_of(const plan::Cut& cut, const plan::Tool& tool, const Iron& iron, double width, double least_width,
                double inside = 0);
/// Speed of the tool's middle over the feed at its edge: below 1 where it goes round inside a groove, whose length is
/// that of its middle.
double middle_share(const plan::Plan& plan, const plan::Cut& cut);
/// What the machine gives at this speed (rad/s), W: power through its efficiency or torque times speed; 0: not said.
double machine_gives(const plan::Machine& machine, double speed);
/// Mean chip under which an edge rubs, m.
double least_chip(const plan::Tool& tool);

/// At most this share of what the machine gives is asked by a proposal.
inline constexpr double power_share = 0.8;
/// So much over the chip at which the edge rubs a proposal stays.
inline constexpr double chip_over = 1.5;

}  // namespace fettle::begin
