#pragma once
// What the 3-D scene needs of solids: which feature a face belongs to, an outline where there is no model, metal left
// on a casting, edges. Part frame, m.
#include <array>
#include <string>
#include <vector>

#include "plan/plan.h"
#include "solid/solid.h"

namespace fettle::serve {

/// How the part lies when its direction `up` ("+z", "-x" ...) looks to the spindle; as drawn for any other word.
frame::Pose lying(const std::string& up);

/// Triangles with, for each, the place of its feature in the plan (-1: none).
struct Mantle {
  std::vector<frame::Vec3> points;
  std::vector<std::array<int, 3>> faces;
  std::vector<int> feature;
  std::vector<std::array<frame::Vec3, 2>> edges;
  std::vector<double> stock;  ///< of a casting: metal above the finished part at each point, m; may be empty
};

/// The model's mesh with its features. Points are those of the mesh, one more for every face that shares one.
Mantle mantle_of(const solid::Model& model, const std::vector<int>& features);
/// The block of the part's sizes, where its plan says: round its profile; along an axis that none says, between its
/// outer faces or on one of them; else round the origin and on Z0.
struct Block {
  frame::Vec3 middle, size;  ///< size zero where the plan has none
  double corner = 0;
  int side = -1;  ///< place of the profile in the plan; -1: none
};
Block block_of(const plan::Plan& plan);
/// The part as a plain block with rounded corners, mouths of holes and pockets as thin sheets on it; empty without
/// sizes.
Mantle outline_of(const plan::Plan& plan);
/// Fills casting.stock: along the skin's own normal down to the part (at most 12 mm; below zero, at most 3 mm, where
/// metal lacks); where no line meets it, the least distance.
void weigh_stock(Mantle& casting, const Mantle& part);
/// How far the model must be moved so that its box stands where the plan's block does; zero when it does.
frame::Vec3 shift_to_plan(const plan::Plan& plan, const solid::Box& box);

}  // namespace fettle::serve
