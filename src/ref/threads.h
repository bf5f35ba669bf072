#pragma once
// Threads: metric coarse and fine M1.6..M36, unified UNC and UNF #4..1 in; strength by property class.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "unit/quantity.h"

namespace fettle::ref {

/// One thread of the table, SI. Basic sizes, without tolerance.
struct ThreadData {
  std::string designation;  ///< "M8x1.25", "3/8-16 UNC"
  unit::Thread::System system = unit::Thread::System::metric;
  std::string series;  ///< "coarse", "fine", "UNC", "UNF"
  double major = 0, pitch = 0;
  double pitch_diameter = 0;  ///< d2 = d - 0.649519 P
  double minor_diameter = 0;  ///< D1 of the nut = d - 1.082532 P
  double root_diameter = 0;   ///< d3 of the screw = d - 1.226869 P
  double stress_area = 0;     ///< m2; metric pi/4 ((d2+d3)/2)^2, unified pi/4 (d - 0.9743 P)^2
  double tapping_drill = 0;   ///< usual drill for a cut thread
  std::string tapping_name;   ///< drill as it is called for: "6.8", "F", "27/64"
  double thread_share = 0;    ///< per cent of thread as shops count it: (d - drill) / 1.299038 P
  std::optional<double> clear_close, clear_medium, clear_loose;  ///< clearance holes where the table has them
  std::string source, note;
};

/// All threads of the table.
std::span<const ThreadData> thread_table();

/// The thread meant by a parsed text: metric without pitch is coarse, unified by pitch or series. Unknown sizes are
/// refused with the nearest one. Sources: ISO 261, ISO 965, ISO 2306, ISO 273, ISO 898-1, ASME B1.1, B18.2.8.
Outcome<ThreadData> thread_data(const unit::Thread& thread);

/// Strength of screws by class, Pa. Range of sizes as printed in the standard.
struct StrengthClass {
  std::string name;            ///< "8.8", "12.9", "grade 5"
  double over = 0, up_to = 0;  ///< major diameter, m: over .. up to and including
  double tensile = 0;          ///< Rm, least
  double yield = 0;            ///< Rp0.2 (or ReL), least
  double proof = 0;            ///< stress under proof load
  std::string source, note;
};
std::span<const StrengthClass> strength_table();
/// The row for a class and a major diameter; refuses unknown classes (with the nearest) and sizes outside the rows.
Outcome<StrengthClass> strength(std::string_view name, double major);

}  // namespace fettle::ref
