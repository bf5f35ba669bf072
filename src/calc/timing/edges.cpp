#include "calc/timing/edges.h"

#include <cmath>

#include "calc/timing/check.h"

namespace fettle::timing {

Outcome<EdgeResult> edges(const EdgeInputs& in) {
  Check check;
  if (!in.life && !in.whole_parts) check.problems.push_back(bad("neither the life of an edge nor its parts are known"));
  if (in.life) check.more_than("life of an edge", *in.life, 0);
  check.at_least("cutting time", in.cut_per_part, 0);
  if (in.life && !in.whole_parts) check.more_than("cutting time", in.cut_per_part, 0);
  if (in.whole_parts) check.at_least("parts of one edge", *in.whole_parts, 1);
  check.at_least("edge change", in.change, 0);
  if (in.price) check.at_least("price of an edge", *in.price, 0);
  check.at_least("parts in a set", in.parts_per_set, 1);
  check.at_least("parts a shift", in.parts_per_shift, 0);
  if (!check.problems.empty()) return check.problems;
  EdgeResult r;
  if (in.life && in.cut_per_part > 0) {
    const double parts = std::floor(*in.life / in.cut_per_part * (1 + 1e-12));
    if (!in.whole_parts && !(parts >= 1))
      return bad("one edge does not last through one part", base::shortest(*in.life / in.cut_per_part) + " parts",
                 "a second edge for the same part, or less to cut with it");
    if (parts <= 1e9) r.by_life = static_cast<int>(parts);
    else if (!in.whole_parts) return bad("more parts than anybody makes", base::shortest(parts), "at most 1e9");
  }
  r.whole_parts = in.whole_parts ? *in.whole_parts : *r.by_life;
  r.in_mid_set = r.whole_parts < in.parts_per_set;
  r.between_changes = r.in_mid_set ? r.whole_parts : r.whole_parts / in.parts_per_set * in.parts_per_set;
  r.unused = 1 - static_cast<double>(r.between_changes) / r.whole_parts;
  r.change_per_part = in.change / r.between_changes;
  if (in.price) r.cost_per_part = *in.price / r.between_changes;
  r.changes_per_shift = in.parts_per_shift / r.between_changes;
  r.tied_per_shift = r.changes_per_shift * in.change;
  return r;
}

}  // namespace fettle::timing
