#pragma once
// The plate of a pallet as a shear-flexible plate with in-plane motion, on anchors, carrying parts. Pallet frame:
// origin at the middle of the plate's top, X along, Y across, Z up. Shared by the full model (plate.h) and the reduced
// one (reduced.h).
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::structure {

struct Metal {
  double modulus = 0, poisson = 0, density = 0, expansion = 0;  ///< Pa, -, kg/m3, 1/K
};

/// A place that is cut from the top (depth > 0), a rib below (depth < 0: its height, negative), or a hole (through).
struct Relief {
  bool round = false, through = false;
  double x = 0, y = 0, size_x = 0, size_y = 0, diameter = 0, turn = 0, depth = 0;
};

struct Plate {
  double length = 0, width = 0, thickness = 0;  ///< m, along X, Y, Z
  std::vector<std::array<double, 2>> outline;   ///< corners when it is no rectangle; else empty
  Metal metal;
  std::vector<Relief> reliefs;
};

/// Springs spread over a round patch at the underside.
struct Anchor {
  double x = 0, y = 0, patch = 0;  ///< m
  double up = 0, side = 0;         ///< N/m
};

/// A part on top: its mass with height, and (bonded) its own stiffness over its footprint.
struct Part {
  double x = 0, y = 0, turn = 0;    ///< middle of the footprint, m, rad
  double size_x = 0, size_y = 0;    ///< footprint, m
  double mass = 0, height = 0;      ///< kg; m, of the centre of mass above the plate's top
  std::array<double, 3> inertia{};  ///< kg m2 about its centre of mass, axes of the part
  double thickness = 0;             ///< m of solid iron bonded over all its footprint, when `bonded`: the stiff bound
  Metal metal;
  std::vector<std::array<double, 2>> seats;  ///< pads whose mean motion its mass follows, pallet frame; empty: all its
                                             ///< footprint
  double seat_diameter = 0;                  ///< m
};

/// A place where a force acts and motion is asked for, rigidly tied to the plate below it (or to the part it stands
/// on).
struct Point {
  frame::Vec3 at;       ///< pallet frame
  int part = -1;        ///< index of the part it belongs to; -1: on the plate
  double patch = 0.02;  ///< m, diameter of the patch of plate below it that moves with it (part = -1); a point of a
                        ///< shear-flexible plate gives without bound, so it is never nothing
};

/// How an edge is held, for plates that stand alone.
enum class Edge { free, supported, clamped };

struct Inputs {
  Plate plate;
  std::vector<Anchor> anchors;
  std::vector<Part> parts;
  bool bonded = false;  ///< parts add their own stiffness; false: mass only
  std::vector<Point> points;
  int columns = 28, rows = 24;  ///< elements along X and Y
  int modes = 16;
  double damping = 0.02;
  bool shear_flexible = true;   ///< false: thin plate limit (for checks)
  std::array<Edge, 4> edges{};  ///< left (-x), right, bottom (-y), top; only of a plate without `outline`
  bool in_plane = true;         ///< false: bending alone (w and the two rotations), for checks
  double shear_factor = 5.0 / 6;
  bool want_error = true;   ///< solve a mesh half as fine beside it and say `error`
  bool want_shapes = true;  ///< give `shapes`
  bool want_give = false;   ///< give `give`: as dear as two plates
};

struct Result {
  bool ok = false;
  std::string why;                           ///< when not ok
  std::vector<double> frequencies;           ///< Hz, rising, `modes` of them
  std::vector<maths::PointResponse> points;  ///< one per point: modes and static residual
  double plate_mass = 0, total_mass = 0;     ///< kg
  double error = 0;                          ///< estimated share of the first frequency due to the mesh
  // fields for pictures, node by node, row by row from -y (NaN where there is no plate)
  int node_columns = 0, node_rows = 0;
  double left = 0, bottom = 0, step_x = 0, step_y = 0;
  std::vector<std::vector<double>> shapes;  ///< upright displacement of each mode, mass-normalised
  std::vector<double> give;                 ///< m/N upright under an upright unit load at each node; may be empty
  double residual = 0;                      ///< largest relative residual of the solved systems, checked
};

/// The full model: 5 degrees of freedom a node.
Result solve(const Inputs& in);

}  // namespace fettle::structure
