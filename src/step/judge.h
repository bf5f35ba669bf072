#pragma once
// Which sizes and tolerances of a model can become requirements of a plan, and in words why the others cannot.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "step/pmi.h"
#include "step/shapes.h"

namespace fettle::step {

enum class Standing {
  requirement,  ///< value, limits and at least one face of the solid, and the model agrees
  basic,        ///< theoretically exact: the tolerances that use it judge it
  reference,    ///< for information only
  open          ///< kept, not used: `why` says what is missing
};

struct Judged {
  std::uint64_t entity = 0;
  bool dimension = false;  ///< else a geometric tolerance
  Standing standing = Standing::open;
  std::string why;                 ///< words for people; empty for requirements
  std::optional<double> measured;  ///< on the model, m or rad; dimensions only
};

/// What the judge asks of the model. Both must be given.
struct Measures {
  std::function<bool(std::uint64_t face)> in_solid;
  std::function<Measured(const Dimension&)> measure;
};

/// The measures as the file itself states its surfaces. `shapes` must outlive the result.
Measures stated(const Shapes& shapes);

/// One for each dimension, then one for each tolerance, in the order of the Pmi.
std::vector<Judged> judge(const Pmi& pmi, const Measures& measures);

/// A modifier in the trade's words: MAXIMUM_MATERIAL_REQUIREMENT is "maximum material".
std::string in_words(const std::string& modifier);

}  // namespace fettle::step
