#pragma once
// Small tables of the bench: cutting speeds of grey iron, friction classes of screws, shoulder screws, damping.
#include <optional>
#include <span>
#include <string>

namespace fettle::ref {

/// A range of cutting speeds that catalogues and handbooks print for grey iron. Ranges only: no recommendation.
struct CuttingSpeed {
  std::string work;           ///< "drilling, high-speed steel", "end milling, solid carbide"
  double soft = 0, hard = 0;  ///< HB it is printed for
  double low = 0, high = 0;   ///< m/s
  std::string source;
};
std::span<const CuttingSpeed> cutting_speeds();
/// The row for this work whose hardness range is nearest; none for work without rows.
std::optional<CuttingSpeed> cutting_speed(const std::string& work, double hardness);

/// Friction in thread and under head by class.
struct FrictionClass {
  char name = ' ';
  double low = 0;
  std::optional<double> high;  ///< none: open upwards
  std::string source;
};
std::span<const FrictionClass> friction_classes();

/// Shoulder screws: diameter of the shoulder and thread that goes with it.
struct ShoulderScrew {
  double shoulder = 0;  ///< m, nominal, f9
  std::string thread;
  std::string source;
};
std::span<const ShoulderScrew> shoulder_screws();

/// Modal damping ratio by what a structure is made of and how it is joined.
struct DampingRow {
  std::string what;
  double low = 0, high = 0;
  std::string source;
};
std::span<const DampingRow> damping_rows();

}  // namespace fettle::ref
