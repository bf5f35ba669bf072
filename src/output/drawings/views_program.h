#pragma once
// What the drawings of a control program and of coolant are given: plain values. Places in m in the frame of the plate.
#include <cmath>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "output/drawings/views.h"
#include "output/drawings/views_plate.h"

namespace fettle::drawings {

/// A stretch of a tool's way seen from above.
struct PathStroke {
  std::vector<Point> points;
  bool rapid = false;
};
struct ToolPath {
  std::string tool, words, facts;  ///< "T11", "end mill 20", "1 min 23 s; nests 1, 2, 4, 3"
  std::vector<PathStroke> strokes;
  Point start{NAN, NAN};       ///< where it first cuts
  std::vector<Point> plunges;  ///< where it goes straight down at feed
  double diameter = 0;         ///< m, of the tool, drawn there
};
/// The ways of the tools over what stands there. Of the pallet its plate (a shape without size: none), nests, pins,
/// screws and holes are drawn.
struct PathsView {
  std::string title, sentence, caption;
  PalletView pallet;
  std::vector<ToolPath> tools;
};

/// A stretch of the program that takes metal, s.
struct EngagedPiece {
  double from = 0, to = 0;
  std::vector<double> values;  ///< one for each panel
};
struct ToolBand {
  std::string tool;
  double from = 0, to = 0;  ///< s
};
struct EngagementRow {
  std::vector<std::string> cells;  ///< as the view's heads
};
struct EngagementView {
  std::string title, sentence, caption;
  double total = 0;                 ///< s
  std::vector<std::string> panels;  ///< "metal taken, cm³/min"
  std::vector<EngagedPiece> pieces;
  std::vector<ToolBand> bands;
  double worst_at = std::numeric_limits<double>::quiet_NaN();  ///< s
  std::string worst;                                           ///< "line 1212, T11: ..."; empty: none
  bool worst_hand = false;
  std::vector<std::string> heads;
  std::vector<EngagementRow> rows;  ///< of each tool
};

/// Something seen from above with the depth of what stands in it.
struct PoolPlan {
  std::string title, words;
  Shape outline;
  std::vector<Shape> below, details, holes;    ///< dashed, thin, open
  std::vector<std::pair<Point, Point>> flows;  ///< where it runs
  std::vector<std::pair<Point, std::string>> names;
  Field depth;              ///< in the view's unit; 0 or NaN: dry
  std::vector<Note> notes;  ///< the pools with their volumes
};
struct PoolsView {
  std::string title, sentence, caption;
  std::vector<PoolPlan> plans;
  std::vector<double> levels;  ///< up to three depths above which the strokes grow denser; the first is where it is wet
  std::vector<std::string> bands;  ///< their words: "under 2 mm", ...
  unit::Style style;
};

}  // namespace fettle::drawings
