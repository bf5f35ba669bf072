#pragma once
// Does an O-ring seal in this groove? Squeeze, fill, stretch and section at both ends of all tolerances together, and
// which ring of a list fits. See README.md for the sketch and the limits.
//
// SI inside: m. Diameters and depths are limits of size: low and high.
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::seal {

/// Where the groove is cut. In a bore the ring is squeezed against a plug, on a plug against a bore; in a face it is
/// pressed by a cover, and lies against the outer wall (pressure from inside) or the inner one (from outside).
enum class Gland { in_bore, on_plug, face_pressed_from_inside, face_pressed_from_outside };
std::string_view word(Gland gland);
bool is_face(Gland gland);

/// Limits of a size, m.
struct Limits {
  double low = 0, high = 0;
};

struct Inputs {
  Gland gland = Gland::in_bore;
  Limits inside;   ///< the ring's inside diameter, free
  Limits section;  ///< the ring's section, free
  /// Radial: the groove's bottom. Face: the wall the ring lies against, the outer one when pressed from inside.
  Limits groove;
  Limits mate;          ///< radial: the plug of a groove in a bore, the bore of a groove on a plug; not used in a face
  Limits land;          ///< radial: the diameter beside the groove, facing the mate; not used in a face
  Limits depth;         ///< face: depth of the groove below the face; not used in a radial gland
  Limits width;         ///< width of the groove along the axis (radial) or across (face)
  double offset = 0;    ///< m: the groove's axis off the land's, 0 or more; radial
  bool moving = false;  ///< the seal slides or turns in use
};

/// A number at the worst ends, and with every size in the middle of its limits.
struct Ends {
  double low = 0, middle = 0, high = 0;
};
/// What is held to be good; shares, 0..1. Printed guides mean the free section and a plug in the middle.
struct Guide {
  double squeeze_low = 0, squeeze_high = 0;
  double lies_low = 0;  ///< least squeeze as the ring really lies: stretched, the plug leaning
  double fill_high = 0;
  double stretch_high = 0;  ///< of the inside diameter, sizes in the middle; none where the ring goes round nothing
  double stretch_most = 0;  ///< the same at the bad ends
  double pinch_high = 0;    ///< of the outside diameter, at the bad ends
  std::string source;
};
struct Result {
  Ends stretch;          ///< of the inside diameter as it lies; less than 0: the ring is larger than what it goes round
  Ends pinch;            ///< of the outside diameter where a wall holds it from outside; less than 0: it does not touch
  Ends section;          ///< m, as stretched: low with the rule that takes most, high with the one that takes least
  Ends depth;            ///< m, room across the ring with the plug held in the middle
  double eccentric = 0;  ///< m, by which the room is less on one side and more on the other
  Ends squeeze;          ///< (section - depth) / section by the free section, the plug in the middle
  Ends lies;             ///< the same by the stretched section, at the worst places round the ring
  Ends fill;             ///< area of the free section over depth x width
  double gap = 0;        ///< m, largest gap beside the groove into which the ring may be pressed; 0 in a face
  Guide guide;
  std::string beyond;              ///< not empty: the formulas do not hold; says why
  std::vector<std::string> slips;  ///< each guide that is left, in words; empty: it seals by the guide
  std::vector<std::string> cautions;
};

/// Squeeze, fill, stretch at both ends. Problems: every impossible input at once (limits reversed, no ring, a groove in
/// a bore that is not larger than its land, ...).
Outcome<Result> solve(const Inputs& inputs);

/// The limits of squeeze, fill and stretch that the job goes by.
Guide guide_of(Gland gland, bool moving);

/// The section of a ring when its inside diameter is stretched: volume kept, m. `inside` is what it goes round.
double section_at_equal_volume(double ring_inside, double ring_section, double inside);
/// Share by which the section shrinks at a stretch (share): the rule of aircraft practice, 0 below no stretch.
double section_loss_by_rule(double stretch);

/// A ring of a list.
struct Candidate {
  std::string name;
  Limits inside, section;
};
struct Choice {
  std::string name;
  Result result;
  double margin = 0;  ///< least distance from a guide over half the guide's width; less than 0: it does not seal
};
/// Every ring tried in the gland of `inputs` (whose own ring is not looked at), best margin first; rings that cannot
/// be put in at all are left out.
std::vector<Choice> choose(const Inputs& inputs, const std::vector<Candidate>& rings);
/// Least margin of a result against its guide, as in Choice.
double margin_of(const Result& result);

/// The groove depth (radial: room across the ring; face: depth) for which squeeze stands in the middle of the guide
/// with the ring as stretched, m.
double middle_depth(const Result& result);

}  // namespace fettle::seal
