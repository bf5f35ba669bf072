#pragma once
// The loaded plate as the parts on it feel it: six motions of each part in every mode and at rest. A handful of numbers
// stands for the whole plate, so that it is solved once, however many places on the parts are asked.
#include <array>
#include <string>
#include <vector>

#include "calc/structure/factored.h"
#include "calc/structure/structure.h"

namespace fettle::structure {

/// Shift along X, Y, Z and turn about them, of a place at the height of the plate's top.
using Six = std::array<double, 6>;
/// What six forces on a part do to its six motions, row by row.
using Give6 = std::array<double, 36>;

/// A part's place on the plate, and how the plate gives there.
struct FeltPart {
  double x = 0, y = 0;     ///< m, middle of what it stands on
  Give6 give{};            ///< at rest
  std::vector<Six> swing;  ///< of each mode, mass-normalised
};
struct Felt {
  bool ok = false;
  std::string why;              ///< when not ok
  std::vector<double> lambda;   ///< rising, (rad/s)^2
  double plate_mass = 0;        ///< kg
  double residual = 0;          ///< largest relative residual of the solved systems, checked
  std::vector<FeltPart> parts;  ///< one per part
};

/// Solves the full model (plate.h) for `in.modes` modes and for the plate at rest; its points are not looked at.
Felt felt(const Inputs& in);
/// The same of a plate that is factored already.
Felt felt(const Factored& plate, int modes);

/// A point that stands on part `point.part`: the first `modes` modes (as many as there are, if fewer), and in the
/// residual all that they leave out.
maths::PointResponse response_at(const Felt& felt, const Point& point, int modes, double damping);

/// Compliance at rest, 3 x 3, of a point on a part that gives so.
std::array<double, 9> give_at(const Give6& give, double x, double y, frame::Vec3 at);

/// What solve(in) says of the points and of the first `in.modes` frequencies, from what is felt; every point stands on
/// a part.
Result result_of(const Felt& felt, const Inputs& in);

}  // namespace fettle::structure
