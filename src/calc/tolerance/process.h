#pragma once
// What a process holds when nobody has measured: a start value and a band, never a limit.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::tolerance {

/// One process word with the grades (IT) that it usually holds. `start` is what a good finish pass of a machine in
/// order holds; finest..coarsest is where shops are found.
struct ProcessGrades {
  std::string_view process;  ///< "boring"
  std::span<const std::string_view> aliases;
  int finest = 0, start = 0, coarsest = 0;
  std::string_view source;
};
std::span<const ProcessGrades> process_grades();

/// Standard deviation of a size that nobody has measured, m: the width of the process's grade at this nominal over
/// eight (to hold a grade is taken as Cpk 1.33, common practice), with the band of its grades. Thirty measured parts
/// replace it.
struct ProcessScatter {
  double s = 0, low = 0, high = 0;  ///< m
  std::string source;
};
/// `process` is a word of process_grades() or one of its aliases, any case ("milling", "drill", "ream"); `nominal_m`
/// the size, over 0 up to 500 mm. Refuses unknown words with the nearest one, and sizes outside the table.
Outcome<ProcessScatter> process_scatter(std::string_view process, double nominal_m);

/// May a hole locate the part? A locator may use up at most a third of the play that the closest requirement leaves.
struct LocatorHole {
  bool threaded = false;
  std::optional<double> stands_within;  ///< m, +- where a pin or screw in it comes to stand; left out: what is usual
  double asked = 0;                     ///< m, +- of the closest requirement that is located from it, > 0
};
struct LocatorVerdict {
  bool refused = true;
  double stands_within = 0;  ///< m, +- that was used
  double may_use = 0;        ///< m, +- a third of what is asked
  std::string why;           ///< one sentence
  std::string source;
};
/// A screw in a tapped hole stands within about +-0.08 mm: refused as a locator wherever anything close is asked.
/// Problems: asked not positive, play negative, a plain hole whose play nobody said.
Outcome<LocatorVerdict> locator_hole(const LocatorHole& hole);

}  // namespace fettle::tolerance
