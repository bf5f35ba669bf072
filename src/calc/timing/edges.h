#pragma once
// Tools wear out after whole parts. See README.md.
#include <optional>
#include <string>

#include "base/outcome.h"

namespace fettle::timing {

struct EdgeInputs {
  std::optional<double> life;      ///< s in the cut, of one edge
  double cut_per_part = 0;         ///< s in the cut with it
  std::optional<int> whole_parts;  ///< as stated; wins over life
  double change = 0;               ///< s, changing and setting
  std::optional<double> price;     ///< of one edge
  int parts_per_set = 1;           ///< parts between two moments at which the edge can be changed
  double parts_per_shift = 0;
};
struct EdgeResult {
  std::optional<int> by_life;  ///< whole parts by life over cutting time
  int whole_parts = 0;         ///< used: stated, else by life
  int between_changes = 0;     ///< parts made when it is changed only between sets: a multiple of the set
  bool in_mid_set = false;     ///< it does not last through one set: it must be changed within
  double unused = 0;           ///< share of the edge's parts thrown away by changing only between sets
  double change_per_part = 0;  ///< s
  std::optional<double> cost_per_part;
  double changes_per_shift = 0;
  double tied_per_shift = 0;  ///< s of a person, machine standing
};
/// Whole parts: floor(life/cut), a hair above a whole number counts as whole. When it lasts less than one set it is
/// changed within the set after every `whole_parts`. Problems: neither life nor stated parts, life of zero, no whole
/// part in an edge, numbers below their bounds.
Outcome<EdgeResult> edges(const EdgeInputs& in);

}  // namespace fettle::timing
