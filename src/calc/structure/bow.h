#pragma once
// The plate at rest under what is always there: its weight and its parts', a top warmer than the bottom, a day warmer
// than the one it was cut on.
#include <string>
#include <vector>

#include "calc/structure/factored.h"
#include "calc/structure/structure.h"

namespace fettle::structure {

struct BowInputs {
  Inputs plate;           ///< modes are not looked at; points are moved
  double top_warmer = 0;  ///< K, top less bottom, straight through the thickness
  double warmer = 0;      ///< K, all of it (bonded iron too) above the temperature at which it was free of stress
  double gravity = 0;     ///< m/s2 downwards on plate and parts; 0 leaves weight out
  double pressure = 0;    ///< Pa downwards on the plate's top
};
struct BowResult {
  bool ok = false;
  std::string why;                  ///< when not ok
  std::vector<double> up;           ///< m, of each node, laid out as Result::shapes; NaN where there is no plate
  std::vector<frame::Vec3> points;  ///< m, motion of each point
  double highest = 0, lowest = 0;   ///< m, of `up`
  double residual = 0;              ///< relative residual of the solved system, checked
};

/// Static and linear: anchors pull as well as they push. The plate must be held by anchors or edges.
BowResult bow(const BowInputs& in);
/// The same with the plate of `in.plate` factored already.
BowResult bow(const Factored& plate, const BowInputs& in);

/// Sag of a free strip of `span` whose top is warmer by `top_warmer`: expansion x top_warmer x span^2 / (8 thickness),
/// m.
double free_bow(double expansion, double top_warmer, double span, double thickness);

}  // namespace fettle::structure
