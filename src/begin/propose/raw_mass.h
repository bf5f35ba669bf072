#pragma once
// How much metal a raw casting has, from the finished part and the ordered sizes, without the geometry kernel.
#include <map>
#include <string>
#include <vector>

#include "begin/propose/propose.h"

namespace fettle::begin {

/// Raw metal over a finished face by its reference ("top", "outside.+x", "P3"), m: what the raw sizes leave at the
/// parting line.
std::map<std::string, double> raw_stock(const Scene& scene, const plan::Plan& plan);

/// True where one frame round the box is the outside's stock: its four sides fill the sides of the box. A part of
/// ribs and walls carries stock on its own flats only.
bool fills_its_box(const solid::Model& part, const plan::Plan& plan);

/// One thing that is added to the finished part, or taken from it by a core.
struct MetalPiece {
  std::string what;   ///< "stock on top", "H3 filled", "core H1"
  double volume = 0;  ///< m3, below zero where a core takes it
  double unsure = 0;  ///< m3, by how much the sum may be off either way
};
struct RawMetal {
  double volume = 0, low = 0, high = 0;  ///< m3
  std::vector<MetalPiece> pieces;
};
/// Finished volume, what is drilled and milled from the solid, what the raw sizes leave on cut faces (with the mouths
/// of filled holes in them), less the cores. Fillets count as sharp corners.
RawMetal raw_metal(const Scene& scene, const plan::Plan& plan);

/// Writes casting.mass and what it rests on, where nobody weighed one; again after sizes have changed. With a band
/// where the sum is unsure by more than a fiftieth.
void weigh_casting(const Scene& scene, Draft& draft);

}  // namespace fettle::begin
