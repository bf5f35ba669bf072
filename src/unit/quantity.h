#pragma once
// Quantities at the borders: parse, print, convert. Inside everything is SI doubles (m, N, s, Pa, kg, rad, K).
// The parser is our own because what was typed is kept; tests check it against a general units library.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::unit {

/// What a number measures. Kinds with the same dimension but another meaning stay apart (torque is no energy,
/// a temperature is no temperature difference, mm/rev is no mm/tooth).
enum class Kind {
  number,    ///< plain count or ratio without unit
  fraction,  ///< share; "%" or a bare number 0..1; "ppm"
  length,
  area,
  volume,
  angle,
  time,
  speed,  ///< speed: m/s, m/min, ft/min, in/min, mm/min
  acceleration,
  jerk,
  rotation,  ///< rpm, 1/min; inside rad/s
  feed_per_rev,
  feed_per_tooth,  ///< inside m (per turn, per tooth)
  mass,
  density,
  inertia,
  force,
  torque,
  pressure,
  power,
  flow,         ///< flow: L/min, gal/min; inside m3/s
  stiffness,    ///< N/µm, kN/mm, lbf/in; inside N/m
  frequency,    ///< Hz, 1/h, 1/min, 1/week; inside 1/s
  temperature,  ///< inside K; 20 °C = 293.15 K
  temperature_difference,
  expansion,  ///< expansion: 1/K
  money,
  money_per_hour,  ///< the currency word is kept as typed and never converted; inside per hour, not per second
  conductivity     ///< W/(m·K)
};
/// The word for a kind in messages ("length", "torque", ...), and an example text ("25.4 mm", "28 N·m").
std::string_view word(Kind kind);
std::string_view example(Kind kind);

/// One unit: symbol as printed, spellings accepted, kind and exact factor to SI (value_SI = factor*x + offset).
struct Unit {
  std::string_view symbol;
  std::vector<std::string_view> spellings;
  Kind kind;
  double factor;
  double offset = 0;
};
std::span<const Unit> units();

/// A parsed quantity. `typed` is the text as it was written, `unit` the symbol it was written with.
struct Quantity {
  double si = 0;
  Kind kind = Kind::number;
  std::string typed;
  std::string unit;
};

/// Reads one quantity, e.g. "25.4 mm", "2-1/4 in", "0.5in", "3 thou", "28 N·m", "35 lbf·ft", "1,5 mm" (decimal comma
/// where it can mean nothing else), "20 °C". Errors: no number, unknown unit (with nearest), wrong kind (names both),
/// bare number where a dimension is meant, ambiguous comma ("1,234 mm") with the reason. Column in Problem::where
/// counts from 1 inside `text`.
Outcome<Quantity> parse(std::string_view text, Kind expected);

/// How numbers are printed.
struct Style {
  enum class System { metric, inch } system = System::metric;
  bool gauge = false;  ///< bores and gauges: 0.1 µm and 0.000005 in instead of 1 µm and 0.0001 in
};
/// For reading by people: rounded to the style's resolution with the unit ("36.002 mm", "1.4174 in", "28 N·m", "0.12
/// %").
std::string print(double si, Kind kind, const Style& style = {});
/// For files: shortest text in the given unit (default: the kind's first metric unit) that parses back to exactly `si`.
std::string write(double si, Kind kind, std::string_view unit_symbol = {});
/// Value of `si` in the unit with this symbol (unit must be of that kind).
/// Not a number for an unknown unit. Some symbols serve two kinds (°C, °F, g, 1/min): the second form tells them apart,
/// the first takes temperature, mass and frequency.
double in_unit(double si, std::string_view unit_symbol);
double in_unit(double si, std::string_view unit_symbol, Kind kind);

/// A stated value with an optional band: "150 N/µm (50..300)", "0.12 (0.08..0.20)", "25 mm". Without band low = high =
/// value.
struct Banded {
  Quantity value;
  double low = 0, high = 0;  ///< SI
  bool has_band = false;
};
Outcome<Banded> parse_banded(std::string_view text, Kind expected);

/// A spread: "normal s 0.012 mm", "s 0.012 mm" (one standard deviation), "± 0.010 mm" (three sigma), "uniform ± 2 K",
/// "0.01..0.03 mm" (uniform). Result: family, mean (0 unless a centre was typed, "5 ± 1 K"), s or half width.
struct Spread {
  enum class Family { normal, uniform } family = Family::normal;
  double mean = 0;
  double s = 0;           ///< standard deviation, SI
  double half_width = 0;  ///< uniform only, SI
  std::string typed;
};
Outcome<Spread> parse_spread(std::string_view text, Kind expected);

/// Limits of size or of anything else: "132.00 ± 0.10 mm", "0.6250 in +0.0004/-0", "8.000..8.015 mm", "<= 0.4 µm", "max
/// 0.03 mm",
/// ">= 0.8 mm", "Ø22 H5", "8 g6 mm". A fit code without resolved limits leaves lower/upper empty: ref::limits_of
/// resolves it.
struct Fit {
  std::string letter;  ///< "H", "js", "za" ... capital for holes
  int grade = 0;       ///< IT grade 1..16
  bool operator==(const Fit&) const = default;
};
struct Limits {
  std::optional<double> nominal, lower, upper;  ///< SI, absolute (not deviations)
  std::optional<Fit> fit;
  bool diameter = false;  ///< a Ø stood in front
  Kind kind = Kind::length;
  std::string typed;
  std::string unit;
};
Outcome<Limits> parse_limits(std::string_view text, Kind expected = Kind::length);

/// Points: one text with one unit: "-44, -34 mm", "0, 0, 18 mm". A ± before a number means both signs, so one text may
/// give several points ("±78, ±57 mm" gives four, in the order --, +-, -+, ++: first coordinate changes fastest). 2 or
/// 3 numbers; a missing third is 0.
Outcome<std::vector<frame::Vec3>> parse_points(std::string_view text);
/// "132 x 92 x 36 mm" (x, ×, or *): each a length.
Outcome<std::vector<double>> parse_sizes(std::string_view text);

/// Threads: "M8", "M8x1.25", "M8×1-6H", "3/8-16 UNC", "1/4-28 UNF-2B", "#10-32 UNF". Only sizes in ref's table resolve.
struct Thread {
  enum class System { metric, unified } system = System::metric;
  double major = 0;             ///< m
  double pitch = 0;             ///< m; 0: metric coarse, to be looked up
  std::string series;           ///< "UNC", "UNF", "" for metric
  std::string tolerance_class;  ///< "6H", "2B", or empty
  std::string typed;
};
Outcome<Thread> parse_thread(std::string_view text);

}  // namespace fettle::unit
