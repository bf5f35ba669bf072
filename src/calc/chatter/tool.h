#pragma once
// How a tool gives way at its tip: a stepped round beam with shear and rotary inertia on a springy spindle.
#include <string>
#include <vector>

#include "maths/modal.h"

namespace fettle::chatter {

/// One stretch of tool or holder.
struct Stretch {
  double length = 0, diameter = 0;  ///< m; the diameter that counts (flutes: 0.8 of the cutting diameter)
  double modulus = 0, poisson = 0.3, density = 0;  ///< Pa, -, kg/m3
};
struct ToolInputs {
  std::vector<Stretch> stretches;  ///< tip first; the last ends at the spindle's nose
  double spindle = 0;              ///< N/m sideways at the nose; infinity: rigid
  double tilt = 0;                 ///< N·m/rad at the nose; infinity: rigid, 0: hinged
  double nose_mass = 0;            ///< kg of spindle that moves with the nose
  double tip_spring = 0;           ///< N/m that holds the tip sideways; infinity: pinned
  double damping = 0.03;           ///< ratio of every mode
  int modes = 4;
  int elements = 8;  ///< per stretch
};
struct ToolResult {
  bool ok = false;
  std::string why;
  std::vector<double> frequencies;  ///< Hz, rising
  maths::PointResponse tip;         ///< x and y sideways alike, nothing along z
  double give = 0;                  ///< m/N at rest, sideways
  double mass = 0;                  ///< kg, tool and holder
};
/// Timoshenko elements that are exact at rest (stiffness by Przemieniecki 1968, mass by Friedman and Kosmatka 1993;
/// both from memory), form factor of a circle 6 (1 + nu)/(7 + 6 nu). Error: with eight elements a stretch the
/// first modes of a tool lie within 0.05 % (they settle with the square of the element's length). Not ok: no stretch, a
/// size or modulus that is not above zero, nothing that holds it.
ToolResult tool_response(const ToolInputs& in);

/// A response measured at the tip by tapping: displacement per force.
struct TapTest {
  std::vector<double> frequency;        ///< Hz, rising
  std::vector<double> real, imaginary;  ///< m/N
};
/// A mode fitted to it.
struct FittedMode {
  double frequency = 0, damping = 0, stiffness = 0;  ///< Hz, ratio, N/m
};
struct FitResult {
  bool ok = false;
  std::string why;
  std::vector<FittedMode> modes;  ///< rising
  double residual = 0;            ///< m/N, what the modes above the range leave behind
  double left = 0;                ///< root of the share of squares that the fit does not explain
};
/// Modes of a measured response: the deepest dip of the imaginary part starts each, then least squares over all
/// (frequencies and damping by Gauss-Newton, stiffnesses and residual solved for in every step), until another mode
/// explains less than 1 % of the squares. Not ok: fewer than 8 lines, lines that do not rise, no dip, a fit that leaves
/// more than a third.
FitResult fit_tap_test(const TapTest& in, int most = 5);

}  // namespace fettle::chatter
