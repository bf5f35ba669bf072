#pragma once
// What the drawings of held parts are given: plain values, forces in N, places in m.
#include <string>
#include <vector>

#include "output/drawings/views.h"

namespace fettle::drawings {

/// One contact of the part, seen from above in the part's frame.
struct SlipMark {
  std::string name;  ///< "pad 3"
  Point at;
  double preload = 0;             ///< N
  double used = 0;                ///< share of its friction; NaN: not known
  double push_x = 0, push_y = 0;  ///< N, what it carries sideways, on the part
  bool slips = false;
  bool carries = true;  ///< false: no force on it in this case, so that its friction says nothing
};
/// The worst case of one clamping from above: where the tool pushes, which contacts carry it, how the part would go.
struct SlipView {
  std::string title, sentence, caption;
  std::vector<Shape> outline;  ///< finished part first, then edges drawn thin
  std::vector<SlipMark> contacts;
  Point tool;                     ///< where the tool pushes
  double tool_x = 0, tool_y = 0;  ///< N, sideways
  double tool_z = 0;              ///< N, upright: positive lifts
  double factor = 0;              ///< times this load that is carried; NaN: open
  std::string mechanism;          ///< "slides to -Y and turns"
  Point slide;                    ///< velocity of `about`
  double turn = 0;                ///< about the upright, positive against the clock; slide and turn 0: none is drawn
  Point about;
  std::string right, up;  ///< names of the axes on paper
  bool hand = false;      ///< outside: the accent
  unit::Style style;
};

/// Clamp force of one part.
struct JawBar {
  std::string name;
  double force = 0, low = 0, high = 0;  ///< N
  double loose = 0;                     ///< share of loads below the need
};
/// Clamp forces under one jaw against what each part needs, as planned and with a cure.
struct JawView {
  std::string title, sentence, cure;
  double need = 0;                     ///< N
  std::vector<JawBar> planned, cured;  ///< `cured` may be empty
  unit::Style style;
};

}  // namespace fettle::drawings
