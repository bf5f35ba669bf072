#pragma once
// The solid as faces and edges in plain numbers: what the feature finder reads. The kernel fills it (graph_of), tests
// can too. `covers` asks whether a point that lies on a face's surface lies inside the face's boundary.
#include <array>
#include <functional>
#include <vector>

#include "solid/solid.h"

namespace fettle::solid {

enum class Turn { convex, concave, smooth };

/// An edge between two faces (indices into Graph::faces); a seam has the same face twice.
struct Edge {
  std::array<int, 2> face = {-1, -1};
  std::array<bool, 2> outer = {true, true};  ///< part of the outer wire of that face
  bool circle = false;
  Vec3 centre, axis;
  double radius = 0;
  bool spline = false;       ///< written as a spline, though a circle
  Turn turn = Turn::smooth;  ///< convex: material inside less than half round
  double length = 0;
  std::vector<Vec3> points;  ///< along the edge, first to last
};

struct Graph {
  std::vector<Face> faces;
  std::vector<Edge> edges;
  std::vector<std::vector<int>> face_edges;  ///< per face: indices into edges
  std::function<bool(int face, Vec3 point)> covers;
};

/// Fills planes, holes, rounds, bosses, pockets, grooves of the model, with ids that depend on geometry alone.
void find_features(const Graph& graph, Model& model);

/// Fills `ways`: which turns and mirrors carry the part into itself, and what breaks them.
void find_ways(const Graph& graph, Model& model);

}  // namespace fettle::solid
