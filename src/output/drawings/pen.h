#pragma once
// The drawing kit's lowest layer: one pen that writes SVG, PDF or PNG from the same calls. Millimetres on paper,
// origin top left, y down. No cairo or pango type leaves pen.cpp.
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::drawings {

/// A place on paper (mm) or, in a view struct, a place on the part or pallet (m, y away from the reader).
struct Point {
  double x = 0, y = 0;
};
struct Box {
  double x = 0, y = 0, width = 0, height = 0;
  double right() const { return x + width; }
  double bottom() const { return y + height; }
};

/// The hand: graphite on chalk paper, one warm accent that means "needs a hand". Everything also reads in grey.
enum class Ink { graphite, grey, light, accent, ground };
enum class Dash { solid, dashed, fine, dotted, chain };
struct Stroke {
  double width = 0.25;  ///< mm
  Ink ink = Ink::graphite;
  Dash dash = Dash::solid;
};
/// Fillings that survive a black-and-white printer: coarse accent strokes are outside, fine graphite strokes tight,
/// light strokes the other way are cast metal, widely spaced ones a recess. All are lines, never grey tints.
enum class Hatch { outside, tight, metal, recess };

/// Lines and arcs; angles in rad, clockwise on paper because y points down.
class Path {
 public:
  struct Step {
    enum class Kind { move, line, arc, close } kind;
    Point p;
    double r = 0, from = 0, to = 0;
  };
  Path& move(Point p);
  Path& line(Point p);
  /// Joined to the current point by a straight line, as usual; a leading arc starts its own contour.
  Path& arc(Point centre, double radius, double from, double to);
  Path& close();
  Path& add(const Path& other);
  static Path polygon(const std::vector<Point>& points);
  static Path polyline(const std::vector<Point>& points);
  static Path circle(Point centre, double diameter);
  static Path box(const Box& box, double corner = 0);
  static Path segment(Point a, Point b);
  const std::vector<Step>& steps() const { return steps_; }

 private:
  std::vector<Step> steps_;
};

enum class Align { left, centre, right };
struct TextStyle {
  double size = 3.1;  ///< mm, the em
  bool bold = false;
  bool mono = false;
  Ink ink = Ink::graphite;
  Align align = Align::left;
  double wrap = 0;    ///< width in mm at which lines break (words first, then anywhere); 0: one line
  int max_lines = 0;  ///< 0: as many as needed; else the last line ends with …
  bool rich = false;  ///< `value` in backticks is set in mono, *words* in asterisks are underlined in the accent
  bool halo = false;  ///< ground colour behind the text, for words on lines
};
struct TextSize {
  double width = 0, height = 0, baseline = 0;  ///< mm; baseline of the first line below the top
  int lines = 0;
};
/// Size of a text as it would be set; needs no surface.
TextSize measure(std::string_view text, const TextStyle& style);
/// The text as it is printed: bytes that are no UTF-8 become U+FFFD, control characters blanks; marks of `rich`
/// removed.
std::string printable(std::string_view text, bool rich = false);

/// What was put on a sheet, for tests and for the description inside an SVG.
struct Placed {
  Box box;
  std::string text;
};
struct Record {
  double left = 1e9, top = 1e9, right = -1e9, bottom = -1e9;  ///< everything inked, mm
  std::vector<Placed> texts;
  int unknown_glyphs = 0;
};

class Pen {
 public:
  struct Impl;
  explicit Pen(Impl& impl) : impl_(impl) {}
  Pen(const Pen&) = delete;
  Pen& operator=(const Pen&) = delete;

  void stroke(const Path& path, const Stroke& stroke = {});
  void fill(const Path& path, Ink ink);
  void hatch(const Path& path, Hatch hatch);
  /// Sets text with its top at `at.y`; `at.x` is the left edge, middle or right edge by the style's align (also when
  /// wrapped). Returns the box it took, in the pen's current coordinates.
  Box text(Point at, std::string_view text, const TextStyle& style = {});
  /// One line with its middle (half the capitals' height) at `at.y`; a `wrap` is the width beyond which it ends in ….
  Box label(Point at, std::string_view text, const TextStyle& style = {});
  /// One line turned about `at` by `angle` rad (negative: reads upwards), centred on it.
  void turned(Point at, double angle, std::string_view text, const TextStyle& style = {});

  /// Moves the origin for the calls made inside `what`.
  void moved(Point by, const std::function<void()>& what);
  void clipped(const Path& to, const std::function<void()>& what);
  /// An entry in the PDF's outline that points at this page; nothing on other surfaces.
  void bookmark(std::string_view title);

 private:
  Impl& impl_;
};

/// A finished drawing: a size and what to do with a pen. Cheap to copy, may be drawn many times.
struct Drawing {
  double width = 0, height = 0;  ///< mm
  std::string title;
  std::function<void(Pen&)> draw;
};

enum class Ground { none, chalk };
/// What goes into the file's own fields. `date` is "YYYY-MM-DD" from the plan or the person (never the clock); a text
/// that is no date leaves the files' fixed day 2000-01-01.
struct Stamp {
  std::string title, version, date;
};
struct Rendered {
  std::string bytes;
  std::vector<Record> pages;
};
/// One drawing as SVG, its size in mm. The text is drawn as outlines so that it looks the same everywhere; the words
/// themselves stand in <title> and <desc>.
Outcome<Rendered> to_svg(const Drawing& drawing, const Stamp& stamp, Ground ground = Ground::chalk);
/// One drawing as PNG at `dots_per_inch` (20..1200, refused outside).
Outcome<Rendered> to_png(const Drawing& drawing, double dots_per_inch = 144, Ground ground = Ground::chalk);
/// One page for each drawing, each in its own size. Same input, same bytes.
Outcome<Rendered> to_pdf(const std::vector<Drawing>& pages, const Stamp& stamp, Ground ground = Ground::none);

}  // namespace fettle::drawings
