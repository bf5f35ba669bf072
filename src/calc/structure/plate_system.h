#pragma once
// The plate as matrices: which motions are free, stiffness and mass, the springs of the anchors, and how the places on
// it (patches, footprints) move. Used by the full model, by its statics, and by whoever reduces it.
#include <array>
#include <string>
#include <vector>

#include "calc/structure/band.h"
#include "calc/structure/plate_element.h"
#include "calc/structure/plate_section.h"

namespace fettle::structure {

/// Symmetric, row by row, both halves; columns rise.
struct Sparse {
  std::vector<int> start, column;
  std::vector<double> value;
  int rows() const { return static_cast<int>(start.size()) - 1; }
};
/// y := A x for `count` vectors side by side (row by row), a multiple of 4.
void multiply(const Sparse& A, const double* x, double* y, int count);

/// Rigid motion of a place, as a sum over free motions of the plate: q = (shift x, y, z, turn about x, y, z) at its
/// middle, at the height of the plate's top. `weight[k]` is what motion `freedom[k]` gives to each of the six.
struct Tie {
  std::vector<int> freedom;
  std::vector<std::array<double, 6>> weight;
  double x = 0, y = 0, area = 0;  ///< its middle and what of it lies on the plate
  bool empty() const { return freedom.empty(); }
};
/// How a point at height z above the plate's top (pallet frame) moves: three columns over the free motions.
struct Column3 {
  std::vector<int> freedom;
  std::vector<std::array<double, 3>> weight;
};

using Matrix6 = std::array<double, 36>;

struct System {
  std::string why;  ///< not empty: nothing else holds
  Grid grid;
  std::vector<Section> sections;
  std::vector<int> freedom;  ///< of node n, motion c at [5 n + c]: its number, or -1
  int count = 0;             ///< free motions
  Sparse K, M;               ///< K with the anchors' springs; M of the plate alone
  std::vector<Tie> parts;    ///< one per part
  std::vector<Matrix6> part_mass;
  double plate_mass = 0, total_mass = 0;
};

/// Everything but the solution. `with_anchors` false leaves their springs out of K.
System system_of(const Inputs& in, bool with_anchors = true);

/// Mean motion of a round patch of the plate's top (at z = thickness/2 above the mid-plane).
Tie patch_tie(const System& s, const Inputs& in, double x, double y, double diameter);
/// ... of a part's footprint, or of its seats when it names some.
Tie part_tie(const System& s, const Inputs& in, const Part& part);
/// A point's motion x, y, z by the six motions of the place it is tied to.
std::array<std::array<double, 6>, 3> rigid_rows(const Tie& tie, frame::Vec3 at);
/// The point's motion by the patch or part it is tied to; empty when that lies off the plate.
Column3 point_column(const System& s, const Inputs& in, const Point& point);

/// Springs of one anchor, as it pulls on the free motions: entries (i, j, value), both halves.
struct Entry {
  int row = 0, column = 0;
  double value = 0;
};
std::vector<Entry> anchor_springs(const System& s, const Inputs& in, const Anchor& anchor);

/// The same springs by what they mostly feel, nine motions of the patch: deflection as flat, two slopes, three bends
/// (each mean square 1 over the patch, not mixing), then shift along X and Y and turn in the plane at the underside.
/// Their stiffnesses: up six times, side twice, side x `polar`.
struct Sprung {
  static constexpr int ways = 9;
  std::vector<int> freedom;
  std::vector<std::array<double, ways>> weight;
  double polar = 0;  ///< m2, mean square distance from the middle of the patch
};
Sprung sprung(const System& s, const Inputs& in, const Anchor& anchor);

/// K with `shift` times M (of plate and parts is not included here) as a band, not yet factored.
Band band_of(const System& s, double shift);

/// What is wrong with the inputs; empty when nothing is.
std::string problem_of(const Inputs& in);

}  // namespace fettle::structure
