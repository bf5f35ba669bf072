#include "calc/bore/temperature.h"

#include <cmath>
#include <limits>

namespace fettle::bore {

Outcome<At20> at_20(const ReadingAt& r) {
  constexpr double zero = 273.15, twenty = 293.15;
  Problems problems;
  if (!(r.shown > 0) || !std::isfinite(r.shown)) problems.push_back(bad("the size shown is not above zero"));
  const auto temperature = [&](double t, const char* whose) {
    if (!(t >= zero - 50 && t <= zero + 200))
      problems.push_back(bad(std::string("the temperature of the ") + whose + " is not from -50 °C to 200 °C"));
  };
  temperature(r.part, "part");
  temperature(r.gauge, "gauge");
  const auto expansion = [&](double a, const char* whose) {
    if (!(a >= 0 && a <= 1e-4))
      problems.push_back(bad(std::string("the expansion of the ") + whose + " is not from 0 to 100 µm/(m·K)"));
  };
  expansion(r.part_expansion, "part");
  expansion(r.gauge_expansion, "gauge");
  if (!(r.u_part >= 0) || !(r.u_gauge >= 0) || !(r.u_expansion >= 0) || !std::isfinite(r.u_part) ||
      !std::isfinite(r.u_gauge) || !std::isfinite(r.u_expansion))
    problems.push_back(bad("an uncertainty is negative or no number"));
  if (!problems.empty()) return problems;
  const double dp = r.part - twenty, dg = r.gauge - twenty;
  At20 out;
  // The difference is formed first: a bore of 22 mm keeps its tenths of a nanometre.
  out.correction = r.shown * (r.gauge_expansion * dg - r.part_expansion * dp) / (1 + r.part_expansion * dp);
  out.size = r.shown + out.correction;
  const double tp = r.part_expansion * r.u_part, tg = r.gauge_expansion * r.u_gauge;
  const double ap = r.part_expansion * r.u_expansion * dp, ag = r.gauge_expansion * r.u_expansion * dg;
  out.u = r.shown * std::sqrt(tp * tp + tg * tg + ap * ap + ag * ag);
  return out;
}

double correction(double size, double part, double part_expansion, double gauge, double gauge_expansion) {
  return size * (gauge_expansion * gauge - part_expansion * part);
}

double soak_time(double from, double to, double time_constant) {
  if (!(to > 0) || !(time_constant > 0) || !std::isfinite(from)) return std::numeric_limits<double>::quiet_NaN();
  const double size = std::fabs(from);
  return size <= to ? 0 : time_constant * std::log(size / to);
}

}  // namespace fettle::bore
