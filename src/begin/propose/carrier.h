#pragma once
// Parts side by side under one carrier jaw that two vises push: what the shop has for it, how many go under it, where
// the vises push, and what lies between jaw and part.
#include <string>
#include <vector>

#include "begin/propose/propose.h"

namespace fettle::begin {

/// Two equal vises on one machine, and the bar that they push.
struct CarrierSet {
  std::string machine, vises, bar;  ///< ids of the shop file
  double jaw = 0, opening = 0;      ///< m, width of one vise's jaws; how far it opens
  std::vector<double> size;         ///< m: length, height, thickness of the bar
  std::string material;             ///< of the bar
  std::string why_not;              ///< one reason why there is none; empty: there is one
  bool named = false;               ///< the shop file speaks of a carrier jaw
};
CarrierSet carrier_set(const plan::Shop& shop);

/// How the part lies under the jaw, m.
struct CarrierPart {
  double finished = 0, raw = 0;  ///< along the row
  double across = 0, high = 0;   ///< between the jaws; upright
};
/// With the jaws closing along one axis and the row along another.
CarrierPart carrier_part(const Scene& scene, const plan::Plan& plan, int jaws, int along);

/// A row under the jaw.
struct CarrierRow {
  int parts = 0;        ///< the most that fit
  double pitch = 0;     ///< m
  std::string why_not;  ///< empty: two or more fit
};
/// The parts reach as far as the bar at most, the vises open wide enough for part and bar, the machine reaches all.
CarrierRow carrier_row(const CarrierSet& set, const plan::Shop& shop, const CarrierPart& part, bool inch);

/// What lies between jaw and part.
struct CarrierFace {
  std::string word;          ///< of the answer: "hard", "pads"
  std::string thing, typed;  ///< of the shop file, with its stiffness; typed empty: one that the trade knows
  double stiffness = 0;      ///< N/m, of one part's contact
};
/// Hard jaw first, then pads.
std::vector<CarrierFace> carrier_faces(const plan::Shop& shop);

/// What each part gets.
struct CarrierLoad {
  int parts = 0;
  CarrierFace face;
  double pushed_at = 0;        ///< m, either side of the middle
  double share = 1;            ///< of loads in which a part gets less than it needs
  double least = 0, most = 0;  ///< N on a part, at equal widths
};
struct CarrierAsked {
  double force = 0, need = 0, spread = 0;  ///< N, all together and for each part; m, one standard deviation of width
  double modulus = 0;                      ///< Pa, of the part
  double limit = 0;                        ///< of the share
  int seed = 1;
  double step = 10e-3;  ///< m, of the places tried
};
/// The place of the vises, in steps, at which the least share of loads leaves a part loose.
CarrierLoad carrier_load(const CarrierSet& set, const CarrierPart& part, const CarrierRow& row, int parts,
                         const CarrierFace& face, const CarrierAsked& asked);
/// Most parts first, then hard before padded: the first within the limit; else the least share. The rest follow, with
/// what was looked at and not taken. `only`: the word of a face that somebody asked for.
std::vector<CarrierLoad> carrier_loads(const CarrierSet& set, const CarrierPart& part, const CarrierRow& row,
                                       const plan::Shop& shop, const CarrierAsked& asked, const std::string& only);

}  // namespace fettle::begin
