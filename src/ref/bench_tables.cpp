#include "ref/bench_tables.h"

#include <array>
#include <cmath>
#include <limits>

namespace fettle::ref {

namespace {

constexpr double m_min = 1.0 / 60;
constexpr const char* handbook =
    "handbook table of high-speed steel and carbide in grey iron by class (read as an excerpt)";
constexpr const char* catalogue = "catalogue ranges for grey iron (read as an excerpt)";

}  // namespace

std::span<const CuttingSpeed> cutting_speeds() {
  static const std::array<CuttingSpeed, 18> rows{{
      {"drilling, high-speed steel", 120, 150, 30 * m_min, 30 * m_min, handbook},
      {"drilling, high-speed steel", 160, 200, 27 * m_min, 27 * m_min, handbook},
      {"drilling, high-speed steel", 190, 220, 24 * m_min, 24 * m_min, handbook},
      {"drilling, high-speed steel", 220, 260, 18 * m_min, 18 * m_min, handbook},
      {"reaming, high-speed steel", 120, 150, 20 * m_min, 20 * m_min, handbook},
      {"reaming, high-speed steel", 160, 200, 18 * m_min, 18 * m_min, handbook},
      {"reaming, high-speed steel", 190, 220, 17 * m_min, 17 * m_min, handbook},
      {"reaming, high-speed steel", 220, 260, 12 * m_min, 12 * m_min, handbook},
      {"reaming, carbide", 120, 150, 91 * m_min, 91 * m_min, handbook},
      {"reaming, carbide", 160, 200, 69 * m_min, 69 * m_min, handbook},
      {"reaming, carbide", 190, 220, 55 * m_min, 55 * m_min, handbook},
      {"reaming, carbide", 220, 260, 38 * m_min, 38 * m_min, handbook},
      {"end milling, solid carbide", 180, 180, 150 * m_min, 275 * m_min, catalogue},
      {"end milling, solid carbide", 260, 260, 150 * m_min, 265 * m_min, catalogue},
      {"milling, coated inserts", 180, 180, 220 * m_min, 320 * m_min, catalogue},
      {"milling, coated inserts", 260, 260, 200 * m_min, 300 * m_min, catalogue},
      {"turning, coated carbide, continuous", 180, 220, 200 * m_min, 700 * m_min, catalogue},
      {"turning, coated carbide, heavy interrupted", 180, 220, 150 * m_min, 300 * m_min, catalogue},
  }};
  return rows;
}

std::optional<CuttingSpeed> cutting_speed(const std::string& work, double hardness) {
  std::optional<CuttingSpeed> best;
  double least = std::numeric_limits<double>::infinity();
  for (const CuttingSpeed& r : cutting_speeds()) {
    if (r.work != work) continue;
    const double off = hardness < r.soft ? r.soft - hardness : hardness > r.hard ? hardness - r.hard : 0;
    if (off < least) least = off, best = r;
  }
  return best;
}

std::span<const FrictionClass> friction_classes() {
  static const char* source = "VDI 2230, classes A to E (read as an excerpt)";
  static const std::array<FrictionClass, 5> rows{{{'A', 0.04, 0.10, source},
                                                  {'B', 0.08, 0.16, source},
                                                  {'C', 0.14, 0.24, source},
                                                  {'D', 0.20, 0.35, source},
                                                  {'E', 0.30, std::nullopt, source}}};
  return rows;
}

std::span<const ShoulderScrew> shoulder_screws() {
  static const char* source = "ISO 7379, from memory";
  static const std::array<ShoulderScrew, 7> rows{{{6.5e-3, "M5", source},
                                                  {8e-3, "M6", source},
                                                  {10e-3, "M8", source},
                                                  {13e-3, "M10", source},
                                                  {16e-3, "M12", source},
                                                  {20e-3, "M16", source},
                                                  {25e-3, "M20", source}}};
  return rows;
}

std::span<const DampingRow> damping_rows() {
  static const char* quoted = "read, quoting Adams and Askenazi";
  static const std::array<DampingRow, 4> rows{{{"metal alone", 0, 0.01, quoted},
                                               {"continuous metal structure", 0.02, 0.04, quoted},
                                               {"metal structure with joints", 0.03, 0.07, quoted},
                                               {"iron, material only", 1e-4, 3e-4, "read, quoting Cremer and Heckl"}}};
  return rows;
}

}  // namespace fettle::ref
