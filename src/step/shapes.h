#pragma once
// The plain faces and edges of a file as it states them: planes, cylinders, cones, spheres, tori, and circles and
// vertices of edges. Enough to check a size in the drawing against the model without the geometry kernel.
#include <cstdint>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "frame/frame.h"
#include "step/entities.h"
#include "step/pmi.h"

namespace fettle::step {

enum class Surface { plane, cylinder, cone, sphere, torus, other };

struct FaceShape {
  Surface surface = Surface::other;
  frame::Vec3 point_P, axis_P;  ///< m; plane: normal of the surface (not turned to the outside)
  double radius = 0;            ///< m; cylinder, sphere; cone at its point; torus: the small radius
  double ring_radius = 0;       ///< m; torus
  bool in_solid = false;        ///< part of a solid's shell, not a loose surface
  bool inward = false;          ///< its outside points against the surface's own normal: cylinders of bores
};

struct EdgeShape {
  std::vector<frame::Vec3> ends_P;      ///< its vertices, m
  std::optional<frame::Vec3> centre_P;  ///< circles: centre and axis
  frame::Vec3 axis_P;
};

struct Shapes {
  std::unordered_map<std::uint64_t, FaceShape> faces;  ///< by entity number; every ADVANCED_FACE and FACE_SURFACE
  std::unordered_map<std::uint64_t, EdgeShape> edges;  ///< every EDGE_CURVE
  std::size_t solids = 0;
};

/// Reads them; `length` is metres per file unit (Units::length). Faces on other surfaces come as Surface::other.
Shapes read_shapes(const File& file, double length);

/// A measured size, or in words why it was not measured.
struct Measured {
  std::optional<double> value;  ///< m or rad
  std::string why;
};

/// Measures on the model what a dimension speaks of: diameter or radius of its cylinders, spheres, fillets; distance
/// or angle between planes, axes and circle centres. All bound faces must agree within a micrometre.
Measured measure(const Dimension& dimension, const Shapes& shapes);

/// Bore faces that a circle of a curve set speaks of as their thread: inward cylinders of the solid, coaxial with it
/// (10 µrad, 2 µm), smaller than it by 1.5 % to a third (a bore at minor or tapping size: common practice). The set
/// must be named a thread or carry a size or tolerance: bend lines and sketches hold coaxial circles too. Entity
/// numbers ascending; empty when the circle is no thread. Where along the axis is not checked.
std::vector<std::uint64_t> threaded_faces(const SetCircle& circle, const Shapes& shapes);

}  // namespace fettle::step
