#pragma once
// Where a mould may part: which surfaces then hold the pattern back, and what draft adds.
#include <set>
#include <string>
#include <vector>

#include "solid/solid.h"

namespace fettle::begin {

/// One height across Z at which the mould may part.
struct Parting {
  std::string id;            ///< "middle", "bottom", "top", "level"
  double height = 0;         ///< m
  double undercut = 0;       ///< m2 of surface that holds the pattern back in its half
  double draft_metal = 0;    ///< m3 that draft puts on upright walls
  std::set<int> holds_back;  ///< faces that undercut
};
/// Middle, bottom and top of the part and the flat level that holds least back when that beats all three; the best
/// first: least undercut, then least metal. `not_moulded`: faces that a core makes or that are cut from solid metal.
/// `draft`: rad.
std::vector<Parting> partings(const solid::Model& part, const std::set<int>& not_moulded, double draft);
/// Surface that holds back when the mould opens along an axis (0 x, 1 y, 2 z) and parts at this height, m2.
double undercut(const solid::Model& part, const std::set<int>& not_moulded, int axis, double height,
                std::set<int>* faces = nullptr);

}  // namespace fettle::begin
