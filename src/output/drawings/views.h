#pragma once
// What the drawings are given: plain values, no plan and no science. Lengths in metres, angles in rad, coordinates
// right-handed with y away from the reader; the frame is named at each struct. Numbers are printed here and made
// elsewhere.
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "finding/finding.h"
#include "output/drawings/pen.h"
#include "unit/quantity.h"

namespace fettle::drawings {

using finding::State;

/// A number to print: `text` when not empty, else `si` through unit::print, else (not finite) "open".
struct Figure {
  double si = std::numeric_limits<double>::quiet_NaN();
  unit::Kind kind = unit::Kind::length;
  bool gauge = false;
  std::string text;
};

/// An outline. circle: `width` is the diameter. box: width by height, corners rounded by `corner`, turned by
/// `turn` about its centre. polygon: `points`, moved
/// by `at` and turned, closed unless there are only two.
struct Shape {
  enum class Form { circle, box, polygon } form = Form::circle;
  Point at;
  double width = 0, height = 0, corner = 0, turn = 0;
  std::vector<Point> points;
};
Shape circle(Point at, double diameter);
Shape box(Point at, double width, double height, double corner = 0, double turn = 0);
Shape polygon(std::vector<Point> points);

/// A remark that points at a place. `hand` true: the warm accent, something needs a hand there.
struct Note {
  Point at;
  std::string head;  ///< bold; may be empty
  std::string text;
  bool hand = false;
  std::optional<Shape> patch;  ///< hatched in the accent: the area that hurts
};
/// A fact beside a drawing: "first mode", 510 Hz.
struct Fact {
  std::string name;
  Figure value;
  bool hand = false;
};

// ---- pallet: frame of the plate, origin at its middle or wherever the plan has it; z up -----------------------------
struct Anchor {
  Point at;
  double diameter = 0;  ///< of the patch it bears on
  std::string name;
};
struct Pin {
  Point at;
  double diameter = 0;
  bool relieved = false;
  double land_width = 0;  ///< relieved: chord of each land, along the line of pins
  double free_along = 0;  ///< relieved: direction in which the pin gives way, i.e. of the line of pins
  std::string name;       ///< "B"
};
struct Screw {
  Point at;
  double head = 0;  ///< diameter of head or washer
  std::string name;
};
/// One kind of place for a part; coordinates from the nest's origin, as the part lies in it.
struct NestPattern {
  std::string part;            ///< "WVB-3"
  Shape outline;               ///< finished, as seen from above
  std::optional<Shape> raw;    ///< what comes onto the pallet
  std::vector<Shape> details;  ///< edges seen from above: bores, pockets
  std::vector<Pin> pins;
  std::vector<Screw> screws;
  std::vector<Shape> pads;     ///< where it rests
  std::vector<Shape> troughs;  ///< run-off under this nest
  double height = 0;           ///< of the finished part above the plate
  double raw_height = 0;       ///< 0: not drawn
};
struct Nest {
  std::string number;
  Point at;
  double turn = 0;
  int pattern = 0;  ///< index in PalletView::patterns
};
struct PalletView {
  std::string title;
  Shape plate;
  double thickness = 0;
  std::string material;
  std::vector<Anchor> anchors;
  std::vector<NestPattern> patterns;
  std::vector<Nest> nests;
  std::vector<Shape> troughs;  ///< run-off that belongs to the plate: cross channels, wells
  std::vector<Shape> holes;    ///< through holes
  double trough_depth = 0;     ///< for the side view; 0: not drawn there
  std::optional<Point> zero;
  std::string zero_text;    ///< "zero, plate top"
  std::vector<Note> notes;  ///< places in the plate's frame
  std::vector<Fact> facts;
  std::string thickness_text;  ///< beside the thickness: what thicker would bring
  std::string caption;
  unit::Style style;
};

// ---- route ----------------------------------------------------------------------------------------------------------
/// A small drawing to scale beside an operation's sentence; x right, y up, m.
struct Sketch {
  enum class Part { outline, metal, jaw, thin, cut, arrow };
  struct Item {
    Part part = Part::outline;
    Shape shape;       ///< arrow: a polygon of two points, from and to
    std::string text;  ///< written at the shape's right side, or at an arrow's tail
  };
  std::vector<Item> items;
  std::string caption;  ///< says the exaggeration, if any
};
struct RouteStep {
  std::string id;        ///< "OP30"
  std::string title;     ///< "Everything on top, on pallets"
  std::string sentence;  ///< rich: `values` in backticks, *needs a hand* in asterisks
  std::string remark;    ///< smaller, grey
  std::string place;     ///< machine or subcontractor
  State worst_state = State::inside;
  std::string worst;  ///< the worst finding said in a line; empty: nothing computed here
  int inside = 0, tight = 0, outside = 0, open = 0, beyond = 0;
  std::optional<Sketch> sketch;
};
struct RouteView {
  std::string title;
  std::string from, to;  ///< "raw casting, 3.51 kg", "WVB-3, 2.595 kg"
  std::vector<RouteStep> steps;
};

// ---- margins --------------------------------------------------------------------------------------------------------
/// One finding as a line of print. figures.h makes it from a finding::Finding.
struct FindingRow {
  std::string id;         ///< "op30.F1.clean_up"
  std::string operation;  ///< "OP30"
  std::string title;      ///< short
  std::string sentence;   ///< the whole thing said aloud
  Figure value;
  std::string limit;  ///< "≥ 1", "≤ 0.1 %"
  State state = State::open;
  double margin = std::numeric_limits<double>::quiet_NaN();
  double margin_worst = std::numeric_limits<double>::quiet_NaN();  ///< at the worst end of one assumed band
  std::string lever;                                               ///< "torque ▸ 28 N·m"; for open: "give: tap.wav"
  std::string worst;                                               ///< the assumption that flips it
  std::string confidence;
  std::string formula, source;
  std::vector<std::string> missing;
};
struct MarginsView {
  std::string title;
  std::vector<FindingRow> rows;  ///< in the order to print
  unit::Style style;
};

// ---- the casting over the part as it is held ------------------------------------------------------------------------
/// One closed outline of the finished part and the same one of the raw casting, point for point: raw[i] is where the
/// skin lies that will become finished[i]. A corner that moves in both directions moves its one point.
struct Skin {
  std::vector<Point> finished, raw;
};
struct StockMark {
  Point at;   ///< on the finished outline
  Point out;  ///< direction towards the skin
  Figure stock;
  std::string text;   ///< "top edge, +X"
  bool hand = false;  ///< too little here
};
struct Rest {
  Point at;
  Point out;  ///< direction from the part towards the rest
  std::string name;
};
/// One view (a section or a plan) of the casting.
struct CastingFace {
  std::string title;                  ///< "section y = 0", "from above"
  std::string right = "X", up = "Z";  ///< names of the axes
  std::vector<Skin> skins;            ///< outer outline first; holes inside run the other way round or not, both work
  std::vector<Shape> details;         ///< thin lines of the finished part
  std::vector<Rest> rests;
  std::vector<StockMark> marks;
  std::optional<Point> shift;  ///< the offset that helps, in this view's axes
  std::string shift_text;      ///< "X +0.60 mm, then least 0.9 mm"
};
struct CastingView {
  std::string title;     ///< "casting 7 in OP30"
  std::string sentence;  ///< rich
  std::vector<CastingFace> faces;
  double factor = 0;  ///< how many times the stock is drawn; 0: chosen
  double need = 0;    ///< stock that the first cut needs (m): drawn as a dotted line; 0: not drawn
  std::string caption;
  unit::Style style;
};

// ---- pins in holes --------------------------------------------------------------------------------------------------
struct PinInHole {
  std::string name;          ///< "round pin in B"
  Point at;                  ///< in the part's frame
  double hole = 0, pin = 0;  ///< diameters as drawn (middle or least clearance; say which in `text`)
  bool relieved = false;
  double land_width = 0;  ///< chord of a land
  std::string text;       ///< "play 0.012 mm"
};
struct LocatingView {
  std::string title;
  std::string sentence;         ///< rich
  std::vector<PinInHole> pins;  ///< one or two; the line joins them
  std::vector<Point> region;    ///< closed polygon of the poses left; x and y by the kinds below, SI
  unit::Kind region_x = unit::Kind::length, region_y = unit::Kind::angle;
  std::string region_x_text, region_y_text;  ///< "shift along the pins", "turn"
  std::optional<Point> region_worst;         ///< the vertex that hurts most
  std::string region_worst_text;
  std::vector<Fact> facts;
  unit::Style style;
};

// ---- how a requirement will come out --------------------------------------------------------------------------------
/// One requirement: what the parts will measure, against its limits. SI of `kind`.
struct Spread {
  std::string id, title;
  State state = State::open;
  unit::Kind kind = unit::Kind::length;
  bool gauge = false;
  std::optional<double> lower, upper;  ///< one of them alone: a limit on one side, or a zone from 0
  double mean = std::numeric_limits<double>::quiet_NaN(), s = std::numeric_limits<double>::quiet_NaN();
  double worst_low = std::numeric_limits<double>::quiet_NaN(), worst_high = std::numeric_limits<double>::quiet_NaN();
  double share = std::numeric_limits<double>::quiet_NaN();  ///< of parts outside; with its confidence interval
  double share_low = std::numeric_limits<double>::quiet_NaN(), share_high = std::numeric_limits<double>::quiet_NaN();
  double theory_share = std::numeric_limits<double>::quiet_NaN();  ///< the same by linear theory
  double goal = std::numeric_limits<double>::quiet_NaN();
  double cp = std::numeric_limits<double>::quiet_NaN(), cpk = std::numeric_limits<double>::quiet_NaN();
  double first = 0, step = 0;  ///< left edge of the first bin, width of each
  std::vector<double> bins;    ///< share of parts in each
};
struct SpreadsView {
  std::string title;
  std::string sentence;      ///< rich
  std::vector<Spread> rows;  ///< in the order to draw: the worst first
  unit::Style style;
};

/// What one contributor does to a requirement and what mending it would buy.
struct Mend {
  std::string name, operation;
  double buys = 0;            ///< share of parts gained if it were gone
  double variance_share = 0;  ///< of the requirement's variance
  std::string mend;           ///< what would mend it, in words
};
struct Mending {
  std::string id, title;
  State state = State::open;
  double share = std::numeric_limits<double>::quiet_NaN(), goal = std::numeric_limits<double>::quiet_NaN();
  std::vector<Mend> rows;  ///< by what mending buys
};
struct MendingView {
  std::string title;
  std::string sentence;  ///< rich
  std::vector<Mending> requirements;
  unit::Style style;
};

// ---- the clock and the money ----------------------------------------------------------------------------------------
/// One number of parts on a pallet set; times in s a part, `cost` a good part in the currency.
struct CountPoint {
  int parts = 0;
  double machine = 0, person = 0, cost = 0;
};
struct CountCurveView {
  std::string title;
  std::string sentence;  ///< rich
  std::vector<CountPoint> points;
  int now = 0;  ///< the plan's number; 0: not marked
  std::string currency;
};

/// A stretch of somebody's time, s.
struct CycleBar {
  std::string what;
  double from = 0, to = 0;
  bool waiting = false;
};
struct CycleRow {
  std::string who;
  std::vector<CycleBar> bars;
};
struct CycleView {
  std::string title;
  std::string sentence;        ///< rich: who waits for whom
  double cycle = 0;            ///< s
  std::vector<CycleRow> rows;  ///< from the top
  std::vector<Fact> facts;
  unit::Style style;
};

}  // namespace fettle::drawings
