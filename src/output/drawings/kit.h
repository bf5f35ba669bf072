#pragma once
// What the drawings share: scales, shapes on paper, dimension lines, arrows, state marks, notes with leaders.
#include <string>
#include <vector>

#include "output/drawings/pen.h"
#include "output/drawings/views.h"

namespace fettle::drawings {

/// Type sizes in mm.
struct Type {
  static constexpr double small = 2.55, text = 3.0, head = 4.2, verdict = 7.2;
};
inline TextStyle small_text() { return {.size = Type::small, .ink = Ink::grey}; }
inline TextStyle body_text() { return {.size = Type::text}; }
inline TextStyle bold_text(double size = Type::text) { return {.size = size, .bold = true}; }
inline TextStyle figure_text(double size = 2.8) { return {.size = size, .mono = true}; }

/// From metres in a view to millimetres on paper.
struct Scale {
  double mm_per_m = 1000;  ///< 1000: full size
  Point origin;            ///< where (0, 0) of the view lies on paper
  Point at(Point p) const { return {origin.x + p.x * mm_per_m, origin.y - p.y * mm_per_m}; }
  double length(double m) const { return m * mm_per_m; }
};
/// The largest drawing scale (5:1, 2:1, 1:1, 1:2, 1:2.5, 1:5, 1:10 ...) at which `width` by `height` (m) fit the room
/// (mm). mm of paper per m. Sizes that are not positive count as nothing.
/// `fine`: also steps like 1.25:1 between, for drawings whose place on the sheet counts more than a round scale.
double nice_scale(double width, double height, const Box& room, bool fine = false);
/// "1:2.5".
std::string say_scale(double mm_per_m);
/// The largest of 1, 2, 3, 4, 5, 10, 20, ... that is not above `most` (at least 1).
double nice_factor(double most);

Path to_path(const Shape& shape, const Scale& scale);
/// Smallest box around the shapes in view coordinates (y up: Box::y is the low edge). Skips what is not finite.
Box bounds(const std::vector<Shape>& shapes);
Box bounds(const std::vector<Point>& points);

void arrow_head(Pen& pen, Point tip, Point from, double size, Ink ink);
void arrow(Pen& pen, Point from, Point to, double size, const Stroke& stroke);
/// A dimension between two places, the line at `offset` mm from them (positive: below / to the right), text on the
/// line.
void dimension_x(Pen& pen, double x1, double x2, double from_y, double line_y, const std::string& text);
void dimension_y(Pen& pen, double y1, double y2, double from_x, double line_x, const std::string& text);
/// A bar of round length with its length and the scale's ratio; returns its height.
double scale_bar(Pen& pen, Point at, double mm_per_m, const unit::Style& style);
double scale_bar_height();

/// The mark of a state in a box: solid inside, fine hatch tight, coarse accent hatch outside, dashed open, dotted and
/// crossed beyond.
void state_fill(Pen& pen, const Box& box, State state);
void state_fill_path(Pen& pen, const Path& path, State state);

/// Remarks set one above the other in a column, each with a line to its place, moved apart so that none overlap.
struct Leader {
  Point at;  ///< on paper
  std::string head, text;
  bool hand = false;
  bool dot = true;  ///< ends in a dot on the place
};
/// Lays the notes into `column`; returns the y below the last one. `draw` false: only measures.
double leaders(Pen* pen, std::vector<Leader> notes, const Box& column);

/// Names and figures side by side in as many columns as fit; returns the height. `pen` null: only measures.
double fact_strip(Pen* pen, const std::vector<Fact>& list, Point at, double width, const unit::Style& style);

}  // namespace fettle::drawings
