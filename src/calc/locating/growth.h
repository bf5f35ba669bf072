#pragma once
// What temperature does between a plate and a part: growth over a span, bow through the thickness.
namespace fettle::locating {

constexpr double reference_temperature = 293.15;  ///< K, 20 °C (ISO 1)

/// How much more the plate's span grows than the part's: L [a_plate (T_plate - 20) - a_part (T_part - 20)], m. K, 1/K.
double span_growth(double span, double plate_expansion, double plate_temperature, double part_expansion,
                   double part_temperature);
/// Length at 20 °C of something measured as `length` at `temperature`: L / (1 + a (T - 20)).
double length_at_20(double length, double expansion, double temperature);
/// Bow of a plate that is warmer on one face by dT: a dT L^2 / (8 t), m, free over the length L (or between anchors L
/// apart when they hold it down without bending it).
double bow(double expansion, double difference, double length, double thickness);

}  // namespace fettle::locating
