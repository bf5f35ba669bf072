#pragma once
// What the books print about cutting: specific cutting force by material and hardness, drill and tap factors, unit
// power, roughness that processes leave, least chip. Each row says where it comes from; a material without a row is
// refused, never guessed.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "ref/materials.h"

namespace fettle::ref {

/// One printed pair for kc = kc1.1 (h / 1 mm)^-mc.
struct ChipForce {
  std::string name;     ///< "grey iron, ferritic and pearlitic, 180 HB"
  std::string group;    ///< as Material::group
  std::string grade;    ///< "EN-GJL-250" when it is printed for a grade; else empty
  double hardness = 0;  ///< HB it is printed for; 0 with a grade
  double kc11 = 0;      ///< Pa
  double mc = 0;        ///< -
  bool read = false;    ///< false: from memory
  std::string source, note;
};
std::span<const ChipForce> chip_forces();

/// One pair to compute with, at one hardness.
struct ChipForceAt {
  double kc11 = 0, mc = 0;  ///< Pa, -
  bool stretched = false;   ///< the hardness lies outside what is printed; the line between the rows was carried on
  std::string name, source;
};
/// All printed pairs that speak about this material at this hardness (HB): the line through the two rows of its group,
/// and the row of its grade where the hardness lies in the grade's own range. Refuses a material without rows and a
/// hardness that is not above 0 or further than 60 HB outside the rows.
Outcome<std::vector<ChipForceAt>> chip_force_sets(const Material& material, double hardness);

/// Hardness of castings as people write it: "180 to 220 HB, up to 260 HB at corners", "HB 190", "210 HBW".
struct HardnessWords {
  double soft = 0, stated = 0, hard = 0;  ///< HB
  double body = 0;                        ///< HB, hard end away from corners and skin
};
/// Reads it; a text that only says "up to" or "at least" leaves the other end to `otherwise` (the grade's own range).
/// Refuses a text without a number of Brinell from 40 to 700, and one that speaks of another scale.
Outcome<HardnessWords> read_hardness(std::string_view text, const Material& otherwise);

/// Size of the radial force over the tangential one, and of what a chip's rubbing edge needs: start values.
struct Banded {
  double value = 0, low = 0, high = 0;
  std::string source, replaced_by;
};
/// Radial over tangential force of milling.
Banded radial_ratio();
/// Least chip thickness over the radius of the edge: below it the edge rubs instead of cutting.
Banded least_chip_ratio();
/// What a used edge of a tap needs more.
Banded worn_tap_factor();

/// Factor K of a drill maker's formulas for torque and thrust in cast iron, by hardness; on a line between its rows and
/// carried on beyond them (`stretched`). Refuses other materials.
struct DrillFactor {
  double value = 0;
  bool stretched = false;
  std::string source;
};
Outcome<DrillFactor> drill_factor(const Material& material, double hardness);

/// Specific force of the two tapping formulas, Pa, at their own hardness.
struct TapForce {
  double simple = 0;    ///< for M = kc P^2 d / 8
  double geometry = 0;  ///< for M = tan 30 deg kc K (D - Do)^2 (D + 2 Do) / 24
  double hardness = 0;  ///< HB the second is printed for
  std::string source;
};
Outcome<TapForce> tap_force(const Material& material);

/// Power per removal rate, J/m3, sharp edge, by hardness of grey iron. Refuses a hardness outside the rows.
struct UnitPower {
  double hardness_low = 0, hardness_high = 0, value = 0;
};
std::span<const UnitPower> unit_powers();
Outcome<double> unit_power(double hardness);

/// Roughness Ra that a process usually leaves, m.
struct ProcessRoughness {
  std::string process;  ///< "milling", "boring", "reaming", "grinding", "honing", "drilling"
  double low = 0, high = 0;
  std::string source;
};
std::span<const ProcessRoughness> process_roughness();
Outcome<ProcessRoughness> roughness_of(std::string_view process);

}  // namespace fettle::ref
