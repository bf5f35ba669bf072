#pragma once
// Triangle meshes: of a solid (Model::mesh), and of scans read from PLY and STL files. Metres.
#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::solid {

using frame::Vec3;

struct Mesh {
  std::vector<Vec3> points;
  std::vector<std::array<int, 3>> triangles;  ///< counter-clockwise seen from outside; empty for a bare point cloud
  std::vector<int> face_ids;                  ///< per triangle of a solid: its STEP face number; empty for scans
};

struct ScanOptions {
  std::string unit;                               ///< "mm", "in" or "m": scan files do not say, so it must be typed
  std::size_t most_bytes = std::size_t{1} << 30;  ///< of the file
  std::size_t most_points = 20'000'000;           ///< also bounds triangles times three
};

/// Reads a PLY (text or binary, either byte order; extra properties are passed over; polygons become fans) or an STL
/// (text or binary; corners with the same coordinates become one point). Refused with one clear problem: no unit,
/// neither format, too large, cut short, not a number or infinite coordinates, corners that do not exist, nothing in
/// it.
Outcome<Mesh> read_scan(const std::string& path, const ScanOptions& options);

/// The same from bytes; `name` is the file's name in problems.
Outcome<Mesh> parse_scan(const std::string& bytes, const std::string& name, const ScanOptions& options);

/// A mesh as text-headed binary PLY, little end first, in millimetres.
std::string write_ply(const Mesh& mesh);

/// Volume enclosed by a closed mesh, m3 (signed: positive when triangles face outward), and its surface, m2.
double mesh_volume(const Mesh& mesh);
double mesh_area(const Mesh& mesh);

/// True when every edge is shared by exactly two triangles that run along it in opposite directions.
bool mesh_closed(const Mesh& mesh);

}  // namespace fettle::solid
