#pragma once
// What a STEP model says about sizes and tolerances (PMI of AP242, AP203 e2, AP214), as plain values bound to the
// entity numbers of faces and edges. Lengths in metres, angles in radians, whatever the file's units. Nothing is
// guessed: what the file does not say stays empty, and what could not be read is listed in Pmi::unread.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "step/entities.h"
#include "step/part21.h"

namespace fettle::step {

/// The model items that something is bound to, entity numbers ascending, each once.
struct Binding {
  std::vector<std::uint64_t> faces;   ///< ADVANCED_FACE, FACE_SURFACE (may lie outside the solid)
  std::vector<std::uint64_t> edges;   ///< EDGE_CURVE
  std::vector<std::uint64_t> curves;  ///< TRIMMED_CURVE and other curves: centre lines, drawn by the designer
  std::vector<std::uint64_t> sets;    ///< GEOMETRIC_CURVE_SET, GEOMETRIC_SET: cosmetic threads
  std::vector<std::uint64_t> others;  ///< vertices, points, bodies and all else
  bool whole_part = false;
  bool empty() const {
    return faces.empty() && edges.empty() && curves.empty() && sets.empty() && others.empty() && !whole_part;
  }
};

/// One stated number of a dimension, in file order.
struct StatedValue {
  std::string name;  ///< "nominal value", "upper limit", "lower limit", as written
  double value = 0;  ///< m or rad
  std::optional<int> decimals;
};

/// A tolerance class such as G6.
struct Fit {
  std::string letter;                ///< "G", "js"
  int grade = 0;                     ///< 6 for IT6; 0 when the file gives none
  std::string zone;                  ///< "hole", "shaft" or as written
  std::vector<std::string> written;  ///< the four texts of the file
};

enum class DimensionKind {
  diameter,
  radius,
  spherical_diameter,
  spherical_radius,
  thickness,
  length,
  distance,
  curve_length,
  angle,
  other
};

struct Dimension {
  std::uint64_t entity = 0;
  std::string entity_name;  ///< DIMENSIONAL_SIZE, DIMENSIONAL_LOCATION, ANGULAR_LOCATION, ...
  DimensionKind kind = DimensionKind::other;
  std::string name;                    ///< as written ("diameter", "linear distance")
  bool angular = false;                ///< values are radians, else metres
  std::vector<StatedValue> values;     ///< as stated, in file order
  std::optional<double> nominal;       ///< the value named nominal (or the only unnamed one)
  std::optional<double> lower, upper;  ///< deviations as stated (±), signed; lower below upper is not assured
  std::optional<double> least, most;   ///< absolute limits, from deviations or from stated limits; none for a bare fit
  std::optional<Fit> fit;
  std::vector<std::string> qualifiers;  ///< "minimum", "maximum", "average", as written
  std::vector<std::string> notes;       ///< "theoretical", "auxiliary", "statistical", as written
  bool basic = false, reference = false, statistical = false;
  std::optional<int> decimals;     ///< places after the point in the drawing's unit
  std::vector<std::string> texts;  ///< callout texts linked to it
  int count = 0;                   ///< n of "nX" in a text; 0: no count given
  std::vector<Binding> ends;       ///< one for a size, two for a location (from, to)
};

enum class ToleranceKind {
  angularity,
  circular_runout,
  coaxiality,
  concentricity,
  cylindricity,
  flatness,
  line_profile,
  parallelism,
  perpendicularity,
  position,
  roundness,
  straightness,
  surface_profile,
  symmetry,
  total_runout,
  other
};

/// A modifier, with its value where it has one ("MAXIMUM_MATERIAL_REQUIREMENT"; "PROJECTED" 0.003).
struct Modifier {
  std::string name;
  std::optional<double> value;
};

/// One datum letter in a frame.
struct DatumUse {
  std::string letter;
  std::uint64_t datum = 0;
  std::vector<Modifier> modifiers;
};

/// One compartment of a frame: a single datum, or a common one (A-B) with several.
struct Compartment {
  std::vector<DatumUse> datums;
  std::vector<Modifier> modifiers;  ///< of a common datum as a whole; a single datum's are its own
  std::string text() const;         ///< "A", "A-B"
};

/// Link to the other tier of a composite tolerance.
struct Link {
  std::string name;  ///< "composite", as written
  std::uint64_t other = 0;
  bool upper = false;  ///< this one is the upper tier
};

struct Tolerance {
  std::uint64_t entity = 0;
  std::string entity_name;  ///< POSITION_TOLERANCE, ...
  ToleranceKind kind = ToleranceKind::other;
  std::string name;             ///< as written
  std::optional<double> value;  ///< m (rad when angular); none: not readable, see unread
  bool angular = false;
  std::optional<int> decimals;
  std::string zone;                 ///< "cylindrical or circular", ...; empty: between planes or as the kind says
  std::optional<double> projected;  ///< length of the projected zone, m
  std::vector<Modifier> modifiers;
  std::optional<double> per_unit;         ///< holds over any piece of this length, m
  std::string per_unit_area;              ///< "RECTANGULAR", "CIRCULAR", "SQUARE"; empty: per length
  std::optional<double> per_unit_second;  ///< second side of the rectangle, m
  std::optional<double> unequal;          ///< share outside the material of an unequally disposed profile, m
  std::optional<double> maximum;          ///< stated maximum of the tolerance with its modifier, m
  std::vector<Compartment> frame;
  std::vector<Link> links;
  bool all_around = false;
  bool between = false;
  Binding on;
  std::uint64_t on_dimension = 0;  ///< hung on this size (the axis or the middle of what it binds)
  std::vector<std::string> texts;
  int count = 0;
};

struct Datum {
  std::uint64_t entity = 0;
  std::string letter;
  Binding on;  ///< targets aside
  std::vector<std::uint64_t> targets;
};

struct DatumTarget {
  std::uint64_t entity = 0;
  std::string entity_name;
  std::string letter;  ///< of its datum; empty when not linked
  std::string number;  ///< "1" of A1
  std::string form;    ///< "point", "line", "rectangle", "circle", "area", as written
  Binding on;
  std::optional<frame::Vec3> p_P, axis_P, along_P;  ///< placed targets: point (m), normal, direction of the length
  std::vector<StatedValue> sizes;                   ///< "target length", "target diameter", ..., m
};

/// A circle found in a curve set: a bore coaxial with it carries a thread of this diameter, or a drawn aid.
struct SetCircle {
  std::uint64_t set = 0, circle = 0;
  frame::Vec3 centre_P, axis_P;         ///< m; unit vector
  double radius = 0;                    ///< m
  std::string set_name;                 ///< as written
  bool annotation = false;              ///< the set is only drawn text or leader lines
  std::vector<std::uint64_t> bound_by;  ///< dimensions and tolerances bound to the set
};

/// A text of the file that speaks of a thread ("M3x0.5", "1/4-20 UNC").
struct ThreadText {
  std::uint64_t entity = 0;  ///< the dimension or tolerance whose callout it is; 0: a loose text
  std::uint64_t item = 0;    ///< entity that holds the text
  std::string text;          ///< whole text
  std::string thread;        ///< the thread alone
};

/// Something that looked like PMI and could not be read; nothing of it was used.
struct Unread {
  std::uint64_t entity = 0;
  std::string entity_name;
  std::string why;
};

struct Pmi {
  Units units;
  std::vector<Dimension> dimensions;
  std::vector<Tolerance> tolerances;
  std::vector<Datum> datums;
  std::vector<DatumTarget> targets;
  std::vector<SetCircle> circles;
  std::vector<ThreadText> threads;
  std::vector<Unread> unread;
};

/// Reads all PMI of a parsed file. `length` (metres per file unit) is what the person said for a file without units;
/// it is refused where the file states its own. Fails only for that, or for amounts no drawing has.
Outcome<Pmi> read_pmi(const File& file, std::optional<double> length = {});

/// Units of the geometry alone (no PMI is read).
Units read_units(const File& file);

/// The thread in a text, empty when there is none: "M8x1.25-6H", "1/4-20 UNC", "3/8-24 UNF-2B".
std::string thread_in(const std::string& text);

/// n of a leading or separate "nX" / "n×" in a callout, 0 when there is none.
int count_in(const std::string& text);

}  // namespace fettle::step
