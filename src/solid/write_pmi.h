#pragma once
// Adds drawing sizes and tolerances (semantic PMI of AP242) to a STEP text, as entities of their own after the
// geometry.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::solid {

/// Writes millimetres. Entity numbers go on after the largest of the text.
class DrawingWriter {
 public:
  /// Finds in the text what the new entities refer to: the product's shape, the solid's representation, the length
  /// unit. Refused: a text that is not STEP, or without one of these.
  static Outcome<DrawingWriter> on(const std::string& text);

  /// A feature of the drawing, bound to ADVANCED_FACE numbers.
  int feature(const std::string& name, const std::vector<int>& faces);

  /// Size of a feature: kind "diameter", "radius", "thickness", ...; deviations signed; decimals shown on the drawing.
  int size(int feature, const std::string& kind, double nominal, double lower, double upper, int decimals);
  /// A linear distance between two features.
  int distance(int from, int to, double nominal, double lower, double upper, int decimals);

  /// Makes the feature the datum of this letter.
  int datum(const std::string& letter, const std::string& name, const std::vector<int>& faces);

  /// A geometric tolerance; `type` as its entity begins ("POSITION", "FLATNESS", ...); datum numbers in order of the
  /// frame; `round_zone`: the value is a diameter.
  int tolerance(const std::string& type, const std::string& name, double value, int feature,
                const std::vector<int>& datums, bool round_zone);

  /// The whole text with all of it.
  std::string text() const;

 private:
  int add(const std::string& entity);
  int length(double value, const std::string& name, int decimals);
  void measure(int dimension, double nominal, double lower, double upper, int decimals);
  std::string base_;
  std::string lines_;
  int next_ = 1, shape_ = 0, solid_ = 0, context_ = 0, unit_ = 0;
};

struct Model;
/// The demo part's drawing written onto its STEP text: sizes, distances, datums A to D, tolerances of form and
/// position.
Outcome<std::string> with_demo_drawing(const std::string& text, const Model& model);

}  // namespace fettle::solid
