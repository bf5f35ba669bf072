#pragma once
// A scanned casting: points from PLY or STL, laid onto the nominal raw solid, read off where the route needs them.
// Registration: iterated closest points with point-to-plane distances (Chen and Medioni 1992), the farthest tenth left
// out.
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "calc/casting/measured.h"
#include "frame/frame.h"

namespace fettle::casting {

struct TriangleMesh {
  std::vector<Vec3> vertices;
  std::vector<std::array<int, 3>> triangles;
};

/// Triangles through the raw points of a grid of rows x columns (plane_points: count_u x count_v; round_points: rings x
/// round, closed round). Appends to `mesh`.
void add_grid(TriangleMesh& mesh, const std::vector<FacePoint>& points, int rows, int columns,
              bool closed_round = false);

/// Points of a PLY (ascii, binary little or big endian) or STL (ascii, binary) file given as bytes. Neither format has
/// a unit: the caller says how many metres one is (0.001 for mm). Refused: another format, a cut-off file, a coordinate
/// that is not a finite number, no points, more than 50 million.
Outcome<std::vector<Vec3>> read_scan(std::string_view bytes, const std::string& file, double metres_per_unit);

struct RegisterInputs {
  TriangleMesh nominal;       ///< raw solid or its plain surfaces, part frame, m
  std::vector<Vec3> points;   ///< scan, its own frame, m
  bool near_already = false;  ///< the scan lies within some millimetres and degrees: no search for the way round
  double keep = 0.9;          ///< share of the points that counts in each round (the nearest)
  int most_points = 4000;     ///< evenly taken from the scan
  int most_rounds = 100;
};
struct Registration {
  bool usable = false;  ///< converged
  std::string why;      ///< when not usable
  frame::Pose X_CS;     ///< p in the casting's nominal frame = X_CS * p in the scan
  double rms = 0;       ///< of the kept points' distances to the surface, m
  int rounds = 0, points = 0;
  bool either_way =
      false;  ///< another way round fits nearly as well (rms of all points within 1.3 times): the shape does not tell
  double other_rms = 0;  ///< of all points in the next best way round, m (0: none tried)
};
Registration register_scan(const RegisterInputs& in);

/// Deviations under the touches and at the sample points, from scan points in the casting's frame: a plane through the
/// points within `radius` across and `reach` along the normal. Fewer than 4 points there: the place is missing.
Deviations deviations_of_scan(const Model& model, const std::vector<Vec3>& points, double radius = 0.003,
                              double reach = 0.006);

}  // namespace fettle::casting
