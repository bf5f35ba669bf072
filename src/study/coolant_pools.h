#pragma once
// What coolant stays on a pallet and in a part as they stand in the machine: for the findings and for the picture.
#include <vector>

#include "maths/height_field.h"
#include "plan/plan.h"

namespace fettle::study {

/// Level faces that stay wet and hollows that stay full.
struct CoolantStays {
  maths::HeightField field;   ///< m, tops of the metal; the plate's in its own frame, the part's as it lies
  std::vector<double> level;  ///< m, to which each cell fills before it runs off
  std::vector<char> outlet;   ///< cells that open downwards
  std::vector<maths::Pool> pools;
  double level_area = 0;  ///< m2
  double volume() const;  ///< m3, of all pools
};
/// The plate without parts. Wants its size.
CoolantStays plate_coolant(const plan::Plan& plan);
/// One part with what is made before the pallet is unloaded; `up` is +1 or -1 along the part's Z. Wants its size.
CoolantStays part_coolant(const plan::Plan& plan, double up);

}  // namespace fettle::study
