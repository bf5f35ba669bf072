#pragma once
// Raw size, tolerance and allowance of one dimension by grade, both ways. ISO 8062-3:2007 (formulas ISO 8062:1994).
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::casting {

/// How a size grows with metal: an outside dimension shrinks when it is machined, a cored one grows, and the distance
/// between two machined faces that look the same way stays.
enum class SizeKind { external, internal, step };

struct RawSizeInputs {
  double finished = 0;     ///< F, m
  int machined_sides = 2;  ///< 1 or 2 ends of the dimension that are machined; 0: stays as cast
  SizeKind kind = SizeKind::external;
  int dctg = 0;                 ///< tolerance grade 1..16
  std::string rmag;             ///< allowance grade "A".."K"
  double largest_finished = 0;  ///< largest overall dimension of the finished part, m (one allowance for all its faces)
};

struct RawSize {
  double raw = 0;        ///< R, m
  double tolerance = 0;  ///< DCT, total width, m: limits are raw -+ tolerance/2
  double allowance = 0;  ///< RMA per machined side, m
  double low = 0, high = 0;
  double least_stock = 0, most_stock = 0;  ///< per machined side at the limits, m (0 when nothing is machined)
  bool two_answers = false;   ///< two rows of the table each agree with their own answer: the larger casting was taken
  double other_raw = 0;       ///< the other answer, m (0: none)
  bool between_rows = false;  ///< no row agrees with its own answer (cored sizes): the wider tolerance was taken
};

/// R = F + n RMA + DCT/2 (external), F - n RMA - DCT/2 (internal), F (step, or nothing machined), where DCT is looked
/// up with R itself: every row of the table is tried and the answer with more stock wins where two agree.
Outcome<RawSize> raw_size(const RawSizeInputs& in);

struct AllowanceInputs {
  double raw = 0;        ///< m
  double tolerance = 0;  ///< total width the foundry offers, m
  double finished = 0;   ///< m
  int machined_sides = 2;
  SizeKind kind = SizeKind::external;  ///< external or internal
  double largest_finished = 0;         ///< m
};

struct AllowanceLeft {
  int dctg = 0;    ///< coarsest grade whose DCT is within the offered tolerance; 0: finer than all grades of the row
  double dct = 0;  ///< its DCT, m
  double least_stock = 0;  ///< per machined side at the bad limit, m; negative: the casting can be too small
  double most_stock = 0;   ///< per machined side at the other limit, m
  std::string rmag;        ///< coarsest grade letter whose RMA is covered by least_stock; empty: not even the finest
  double rma = 0;          ///< its RMA, m
};

/// What grade a raw size and tolerance amount to, and what is left for machining at the bad limit.
Outcome<AllowanceLeft> allowance_left(const AllowanceInputs& in);

/// Metal that draft adds or takes: h tan(a) for a height h (m) above or below the parting line and an angle a (rad).
double draft_offset(double height, double angle);

/// Core shifted by (dx, dy) in a bore to be cut: radial stock ranges between these ends.
struct RadialStock {
  double shift = 0, least = 0, most = 0;  ///< m
};
RadialStock radial_stock(double finished_diameter, double cored_diameter, double dx, double dy);

}  // namespace fettle::casting
