#pragma once
// The tolerance ledger: how every small error of the route ends up in what the drawing asks.
//
// A stream of variation in state-space form (Jin & Shi 1999; Zhou, Huang & Shi 2003): the state is the small
// deviation of every surface from its nominal place in the part, (t, w) about the surface's own point, its size and its
// form. Operation by operation: the part is located by surfaces as they were made, so it lies in the fixture moved by
// a small pose g (contact Jacobian, Asada & By 1985; Cai, Hu & Yuan 1997); what is cut there lands in the part at
// cutter error minus g. Features cut in one clamping share that g: it cancels between them.
// Everything is linear in the contributors except the play of pins, a bounded region of seats (maths/pin_pair.h) that
// depends on the sizes drawn, and the shapes of the requirements (zones, corners, bonus of the material modifiers).
// Frame: the part's, SI, rad. Nothing here knows a plan.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/halt.h"
#include "base/outcome.h"
#include "frame/frame.h"
#include "maths/pin_pair.h"

namespace fettle::tolerance {

using frame::Vec3;

/// A surface that is found (raw) or made: a plane, or the axis of something round.
struct Element {
  std::string id;  ///< "F2", "F1.+x", "F7@1"
  enum class Shape { plane, axis } shape = Shape::plane;
  Vec3 p;             ///< plane: its middle; axis: middle of its length
  Vec3 n{0, 0, 1};    ///< plane: outward normal (unit); axis: its direction (unit)
  Vec3 u{1, 0, 0};    ///< plane: direction of half_u in the plane (unit); half_v lies along n x u
  double half_u = 0;  ///< m, half extent; axis: half length
  double half_v = 0;  ///< m, plane only
  double size = 0;    ///< m, diameter (axis) or width that `size` requirements are about, as aimed at
};

/// One freedom held in an operation: the part's surface `element` touches a locator at p. `n` is the part's outward
/// normal there. A locator standing off by +1 m pushes the part by 1 m along -n.
struct Contact {
  std::string name;
  int element = -1;  ///< -1: a surface without error
  Vec3 p, n;
};

/// A round and a relieved pin in two holes of the part: three freedoms, with play.
struct Pins {
  bool there = false;
  int round_hole = -1, relieved_hole = -1;  ///< elements of shape axis
  maths::PinPair pair;                      ///< at mean sizes and temperatures
  enum class Seat {
    anywhere,  ///< every seat the contacts allow is as likely as any other
    pushed     ///< pushed at push_at along push_along until the pins stop it
  } seat = Seat::anywhere;
  Vec3 push_at, push_along;
  std::string name = "play of the pins";
  std::string key;  ///< plan key that would mend it
};

struct Operation {
  std::string id;
  std::vector<Contact> contacts;  ///< with pins the rest (three or more pads); without, all six. More: least squares
  Pins pins;
  std::vector<int> makes;  ///< elements, in this clamping
};

/// What one unit (1 m, 1 rad, 1 K) of a contributor moves.
struct Effect {
  enum class On {
    zero,       ///< all that `operation` makes, together, against its fixture
    made,       ///< element `index` as cut in `operation`
    surface,    ///< element `index` itself, before any operation (a raw surface)
    contact,    ///< contact `index` of `operation` stands off by `factor`
    size,       ///< size of element `index` grows by `factor`
    form,       ///< form error of element `index` grows by `factor`
    round_pin,  ///< diameter of the round pin of `operation`
    land,       ///< diameter of the relieved pin's land
    pin_span,   ///< distance of the two pins
    measured    ///< what is read of requirement `index` (not what it is)
  } on = On::zero;
  int operation = -1, index = -1;
  /// Field of zero, made and surface: x moves by a; by a x (x - c); or by a ((x - c).a) (a unit: stretch along a), or
  /// by x - c in all directions for grow.
  enum class Field { shift, turn, stretch, grow } field = Field::shift;
  Vec3 a, c;
  double factor = 1;
  std::vector<Vec3> by_nest;  ///< shift instead of `a`, one per nest: growth of a plate, one nest's own error
};

/// How often a contributor falls anew.
enum class Drawn { part, set_up, pallet, nest };

/// One independent error.
struct Contributor {
  std::string name;       ///< trade words: "growth of the pallet"
  std::string key;        ///< where the plan says it
  std::string operation;  ///< id, for people; may be empty
  enum class Family { normal, uniform, half_normal } family = Family::normal;
  double mean = 0;
  double s = 0;           ///< normal, half_normal
  double half_width = 0;  ///< uniform
  double worst = 0;       ///< either way about the mean in the worst case; 0: three s, the half width
  Drawn drawn = Drawn::part;
  std::string group;  ///< those of one group are mended together; empty: by itself
  std::vector<Effect> effects;
};

struct Requirement {
  std::string id;
  enum class Kind {
    size,              ///< size of `elements`
    distance,          ///< from element `to` to each of `elements` along `along`; planes at their corners
    span,              ///< distance of the axes elements[0] and elements[1] along `along`
    position,          ///< axes in a round zone about their true place in the datum frame; value 2 x largest offset
    coaxiality,        ///< axes of `elements` against the axis `to` extended; value 2 x largest offset
    perpendicularity,  ///< axis (round zone) or plane against plane `to`
    parallelism,       ///< plane against plane `to`: difference over its extent; axis against plane or axis
    form               ///< form error of `elements` (flatness, roundness, cylindricity)
  } kind = Kind::size;
  std::vector<int> elements;  ///< a pattern is good when every one is
  int to = -1;
  std::vector<int> datums;  ///< position: planes and axes in order; the frame they hold (plane z and tilt, first axis
                            ///< x and y, second axis the turn); freedoms no datum holds follow the pattern itself
  Vec3 along;               ///< distance, span: unit
  double nominal = 0;       ///< what the value would be without errors
  std::optional<double> lower, upper;
  enum class Modifier { none, maximum, least } modifier = Modifier::none;
  double modifier_size = 0;        ///< size at which there is no bonus
  bool inside = true;              ///< the feature is a hole (bonus grows with size at maximum material)
  bool datum_maximum = false;      ///< the round datums may shift by their departure from maximum material
  std::vector<double> datum_size;  ///< per datum, size without shift; 0: none
};

struct Route {
  std::vector<Element> elements;
  std::vector<Operation> operations;
  std::vector<Contributor> contributors;
  std::vector<Requirement> requirements;
  int nests = 1;               ///< parts are made in turn in nest 0, 1, ...
  std::vector<int> pallet_of;  ///< pallet of each nest; empty: all on one
};

/// A scalar of the state as a row over the contributors and, at the end, the play of each operation with pins
/// (x, y, turn in its pair frame): value = constant + coefficient . drawn.
struct Row {
  double constant = 0;
  std::vector<int> column;
  std::vector<double> coefficient;
};
/// One requirement as rows, for one nest. What the rows mean stands at Requirement::Kind: `scalar` rows are held
/// against the limits each; of `pair` rows (two and two) the length counts, doubled; `bonus` widens the upper limit.
struct Shape {
  std::vector<Row> scalar;
  std::vector<Row> pair;
  std::vector<Row> bonus;        ///< one per element with a modifier, else empty
  std::vector<Row> datum_bonus;  ///< datum_maximum: per datum, its departure from the size without shift
  Row reading;                   ///< what measuring adds to what is read; no columns when nothing does
  std::vector<int> element_of;   ///< of each scalar row, or each pair
};
/// Everything linear, worked out once. shapes[nest * requirements + requirement].
struct Ledger {
  Route route;
  int columns = 0;               ///< contributors + 3 per operation with pins
  std::vector<int> play_column;  ///< per operation: first of its three columns, -1 without pins
  /// Per operation with pins: clearance of the round pin, size of the relieved hole, size of the land, span of the
  /// holes minus the pins'. At the contributors' means they are what Pins::pair says.
  std::vector<Row> round_size, relieved_size, land_size, span;
  std::vector<Shape> shapes;
};
/// Problems name the operation or requirement: an element used before it is made, a freedom that nothing holds, a
/// requirement between surfaces of the wrong kind, numbers that are not finite, nests that do not fit by_nest.
Outcome<Ledger> build(const Route& route);

/// What linear theory says of one requirement: every contributor by its first two moments, zones by their pair of rows.
struct ContributorShare {
  int column = -1;  ///< contributor, or contributors + operation for play
  std::string name, key, operation;
  double s = 0;      ///< what it alone gives the requirement, one standard deviation, m
  double share = 0;  ///< of the variance
};
struct Linear {
  double mean = 0, s = 0;  ///< of the value (zones: mean and s of the worst element's offset along its worse axis)
  double worst_low = 0, worst_high = 0;  ///< exact over the play polygons, everything else at its worst
  double share_outside = 0;  ///< bounded contributors in full, the rest normal; corners and patterns: the worst row
                             ///< alone; material modifiers by their mean bonus
  double share_at_most = 0;  ///< what corners and patterns could make of it: the worst row's share times the rows
  double cp = 0, cpk = 0;
  std::vector<ContributorShare> contributors;  ///< largest first
};
std::vector<Linear> linear(const Ledger& ledger);
Linear linear_of(const Ledger& ledger, int requirement);
/// linear_of(...).share_outside of each of these requirements and no more, with `contributors` in place of the
/// ledger's: the same ones with other means and scatters. For bands, levers and comparing.
std::vector<double> shares_by_theory(const Ledger& ledger, const std::vector<Contributor>& contributors,
                                     const std::vector<int>& requirements);

struct SampleInputs {
  int parts = 20000;
  std::uint64_t seed = 1;
  int threads = 1;  ///< same bytes for any number
  double confidence = 0.95;
  int parts_per_build = 1000;  ///< after so many parts another set of pallets is drawn
  int parts_per_set_up = 250;  ///< after so many another set-up
  bool mending = true;         ///< also what each contributor's absence would change
  int bins = 60;
};
struct Share {
  long long hits = 0, of = 0;
  double share = 0, low = 0, high = 0;
};
struct Mended {
  std::string group, key, operation;  ///< words
  Share without;                      ///< share outside with this group gone (mean and all)
  Share halved;                       ///< with its errors halved
  double yield_gained = 0;            ///< over all requirements: share of parts that become good
};
struct Outcomes {
  Share outside, below, above;
  double mean = 0, s = 0, least = 0, most = 0;  ///< of the value (worst element, farthest from the limits' middle)
  double cp = 0, cpk = 0;
  double build_low = 0, build_high = 0;  ///< share outside of the luckiest and unluckiest of 20 sets of pallets
  double first = 0, step = 0;
  std::vector<double> bins;    ///< share of parts
  std::vector<Mended> mended;  ///< by what it buys this requirement, largest first
  int worst_part = 0;          ///< number for one_part()
  Share read_outside;          ///< share that reads outside when measuring adds its error; of = 0: nothing does
};
struct SampleResult {
  std::vector<Outcomes> requirements;
  Share any_outside;           ///< parts with at least one requirement outside: 1 - rolled yield
  std::vector<Mended> mended;  ///< over all requirements
  long long not_on = 0;        ///< times a part did not go on its pins (reckoned without play there)
};
/// Problems: fewer than 1 part, confidence outside 0..1, threads below 1.
/// `halt`: asked between blocks of parts; a problem then.
Outcome<SampleResult> sample(const Ledger& ledger, const SampleInputs& in, base::Halt* halt = nullptr);
/// Only the share outside of one requirement: what moves with bands and levers. The same parts as sample().
/// `halt`: asked between blocks; what is given then is no result.
Share share_outside(const Ledger& ledger, int requirement, const SampleInputs& in, base::Halt* halt = nullptr);

/// One sampled part again, with its whole history.
struct PartHistory {
  int nest = 0, pallet = 0;
  struct Error {
    std::string name, operation;
    double value = 0;  ///< in its own unit
    double in_s = 0;   ///< over its own standard deviation, about its mean
  };
  std::vector<Error> errors;
  struct Step {
    std::string operation;
    maths::Seat seat;  ///< play, pins only
    Vec3 t, w;         ///< pose of the part in the fixture, about the part's origin
  };
  std::vector<Step> steps;
  struct State {
    std::string element;
    Vec3 t, w;
    double size = 0, form = 0;
  };
  std::vector<State> surfaces;  ///< as they are in the end
  struct Verdict {
    std::string requirement;
    double value = 0, low = 0, high = 0;  ///< the limits with bonus; -+infinity: none
    double reading = 0;                   ///< value with the error of measuring
    bool inside = false;
    std::string most_from;  ///< contributor that moved it most
    double most = 0;        ///< by so much of the value, m
  };
  std::vector<Verdict> requirements;
};
PartHistory one_part(const Ledger& ledger, const SampleInputs& in, int number);

}  // namespace fettle::tolerance
