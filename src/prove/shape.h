#pragma once
// The part as plain shapes seen from the spindle, before and after an operation, in the frame of a nest's zero.
#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "calc/removal/removal.h"
#include "compose/set_up.h"
#include "plan/plan.h"

namespace fettle::prove {

/// A rounded box or a disc (half sizes both its radius, corner the same), upright.
struct Outline {
  frame::Vec3 middle;
  double half_x = 0, half_y = 0, corner = 0;
  /// Distance of a place from the outline, m, negative inside.
  double outside(double x, double y) const;
};
/// A hollow of the part that opens to the spindle.
struct Hollow {
  std::string feature;
  int place = 0;  ///< of the feature's `at`, from 0
  Outline outline;
  double upper = 0, lower = 0;  ///< m; lower: removal::nothing where it goes through
  bool ring = false;            ///< a gap in the wall between lower and upper, out to the outline
  bool opens = false;           ///< at its lower end, into a wider hollow that goes on to the lower side
  double tip = 0;               ///< m that a drill's point may go deeper
  bool skin = false;            ///< wall and floor are as cast
};
/// A hollow of a part that stands on its side, along X or Y of the program: a bore, or a pocket in a side.
struct Tunnel {
  std::string feature;
  bool along_x = true, round = true;
  double across = 0, height = 0;            ///< m, of its middle: the other level coordinate, and Z
  double from = 0, to = 0;                  ///< m, along it
  double half_across = 0, half_height = 0;  ///< m; both its radius where it is round
};
/// The part at one moment.
struct Shape {
  Outline body;
  double top = 0, bottom = 0;
  double end_radius = 0, end_top = 0;  ///< m, of the upper corners of a part that stands on its side; where they begin
  bool ends_along_x = true;            ///< where they are: at its ends in X, else in Y
  std::vector<Hollow> hollows;         ///< by their upper ends, highest first
  std::vector<Tunnel> tunnels;         ///< widest first
  std::array<bool, 4> skin_side = {false, false, false, false};  ///< to +x, -x, +y, -y: as cast
  bool skin_top = false;
};

/// How one casting differs from the drawing's nominal casting. From the study's model of castings.
struct CastingDraw {
  struct Side {
    std::string reference;
    double more = 0;                  ///< m of stock beyond the nominal
    double shift_x = 0, shift_y = 0;  ///< m, part frame, of a cored bore's middle
    bool round = false;
  };
  std::vector<Side> sides;
  std::string number;  ///< of the casting; empty: nominal
};

/// As the part comes to the operation. Notes say what was taken for want of a word.
Shape raw_shape(const plan::Plan& plan, const plan::Operation& o, const compose::SetUp& s, const CastingDraw& draw,
                std::vector<std::string>& notes);
/// As it should leave. `slack` m: walls stand that much further back into the metal, so that a cutter that runs on the
/// wall does not touch it.
Shape finished_shape(const plan::Plan& plan, const plan::Operation& o, const compose::SetUp& s, double slack);
/// Features that this operation makes: `makes` and all that its cuts name.
std::vector<std::string> made_here(const plan::Operation& o);

/// Writes the shape into a field where it stands; `at` and `turn` place the nest's zero in the field's frame.
void stand(removal::Field& field, const Shape& shape, frame::Vec3 at, double turn);
/// Depth of a place under the top or floor there, m; large where that is not as cast, or where nothing stands.
double under_top(const Shape& raw, double x, double y, double z);
/// The cells of a field within `reach` of a place, row by row.
template <class Call>
void cells_near(const removal::Field& f, double x, double y, double reach, Call&& call) {
  const int c0 = std::max(0, static_cast<int>((x - reach - f.left) / f.cell)),
            c1 = std::min(f.columns - 1, static_cast<int>((x + reach - f.left) / f.cell)),
            r0 = std::max(0, static_cast<int>((y - reach - f.bottom) / f.cell)),
            r1 = std::min(f.rows - 1, static_cast<int>((y + reach - f.bottom) / f.cell));
  for (int r = r0; r <= r1; ++r)
    for (int c = c0; c <= c1; ++c) call(c, r);
}

}  // namespace fettle::prove
