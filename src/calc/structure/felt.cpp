#include "calc/structure/felt.h"

#include <algorithm>
#include <cmath>

#include "calc/structure/modes.h"

namespace fettle::structure {

namespace {

constexpr double felt_turn = 6.283185307179586;
constexpr std::size_t six_wide = 8;  ///< right sides of a part: six, filled up to a multiple of four

std::size_t at_row(int i) { return static_cast<std::size_t>(i) * six_wide; }

/// Relative residual of six six_wide `f` solved as `x`.
double miss_of(const System& s, const std::vector<double>& x, const std::vector<double>& f) {
  std::vector<double> kx(x.size(), 0.0);
  multiply(s.K, x.data(), kx.data(), static_cast<int>(six_wide));
  double worst = 0;
  for (std::size_t c = 0; c < 6; ++c) {
    double rest = 0, norm = 0;
    for (int r = 0; r < s.count; ++r) {
      rest += std::pow(kx[at_row(r) + c] - f[at_row(r) + c], 2);
      norm += f[at_row(r) + c] * f[at_row(r) + c];
    }
    if (norm > 0) worst = std::max(worst, std::sqrt(rest / norm));
  }
  return worst;
}

/// Six motions of a part by six forces on it: with K = L L^T half a solution is enough. `residual`: when asked, of the
/// whole solution.
Give6 give_of_part(const System& s, const Band& band, const Tie& tie, double* residual) {
  std::vector<double> x(at_row(band.padded()), 0.0), f;
  int from = band.padded();
  for (std::size_t k = 0; k < tie.freedom.size(); ++k) {
    from = std::min(from, tie.freedom[k]);
    for (std::size_t i = 0; i < 6; ++i) x[at_row(tie.freedom[k]) + i] += tie.weight[k][i];
  }
  if (residual != nullptr) f = x;
  band.forward(x.data(), static_cast<int>(six_wide), from);
  Give6 c{};
  for (int r = from; r < band.size(); ++r) {
    const double* y = x.data() + at_row(r);
    for (std::size_t i = 0; i < 6; ++i)
      for (std::size_t j = i; j < 6; ++j) c[6 * i + j] += y[i] * y[j];
  }
  for (std::size_t i = 0; i < 6; ++i)
    for (std::size_t j = 0; j < i; ++j) c[6 * i + j] = c[6 * j + i];
  if (residual != nullptr) {
    band.backward(x.data(), static_cast<int>(six_wide));
    *residual = std::max(*residual, miss_of(s, x, f));
  }
  return c;
}

Six swing_of(const Tie& tie, const std::vector<double>& mode) {
  Six q{};
  for (std::size_t k = 0; k < tie.freedom.size(); ++k)
    for (std::size_t i = 0; i < 6; ++i) q[i] += tie.weight[k][i] * mode[static_cast<std::size_t>(tie.freedom[k])];
  return q;
}

/// Motion of a point by the six motions of the place that it stands on.
std::array<Six, 3> moved_by(double x, double y, frame::Vec3 at) {
  const double dx = at.x - x, dy = at.y - y, z = at.z;
  return {{{1, 0, 0, 0, z, -dy}, {0, 1, 0, -z, 0, dx}, {0, 0, 1, dy, -dx, 0}}};
}

}  // namespace

Felt felt(const Inputs& in) {
  Felt out;
  out.why = in.modes < 0 || in.modes > 200 ? problem_of(in) : std::string();
  return out.why.empty() ? felt(Factored(in), in.modes) : out;
}

Felt felt(const Factored& plate, int count) {
  Felt out;
  const System& s = plate.system();
  out.plate_mass = s.plate_mass;
  out.why = plate.why();
  if (!out.why.empty()) return out;
  const Held& held = plate.held();
  const Modes modes = lowest_modes(s, held, count);
  if (!modes.ok) {
    out.why = nothing_holds;
    return out;
  }
  out.residual = modes.residual;
  out.lambda = modes.lambda;
  for (std::size_t p = 0; p < s.parts.size(); ++p) {
    const Tie& tie = s.parts[p];
    FeltPart part{tie.x, tie.y, {}, {}};
    part.give = give_of_part(s, held.band(), tie, p + 1 == s.parts.size() ? &out.residual : nullptr);
    for (const std::vector<double>& mode : modes.vector) part.swing.push_back(swing_of(tie, mode));
    out.parts.push_back(std::move(part));
  }
  out.ok = true;
  return out;
}

std::array<double, 9> give_at(const Give6& give, double x, double y, frame::Vec3 at) {
  const std::array<Six, 3> by = moved_by(x, y, at);
  std::array<double, 9> c{};
  for (std::size_t i = 0; i < 3; ++i) {
    Six half{};
    for (std::size_t a = 0; a < 6; ++a)
      for (std::size_t b = 0; b < 6; ++b) half[b] += by[i][a] * give[6 * a + b];
    for (std::size_t j = 0; j < 3; ++j)
      for (std::size_t b = 0; b < 6; ++b) c[3 * i + j] += half[b] * by[j][b];
  }
  return c;
}

maths::PointResponse response_at(const Felt& felt, const Point& point, int modes, double damping) {
  const FeltPart& part = felt.parts[static_cast<std::size_t>(point.part)];
  const std::array<Six, 3> by = moved_by(part.x, part.y, point.at);
  maths::PointResponse r;
  r.residual = give_at(part.give, part.x, part.y, point.at);
  const std::size_t count = std::min(felt.lambda.size(), static_cast<std::size_t>(std::max(0, modes)));
  for (std::size_t m = 0; m < count; ++m) {
    std::array<double, 3> u{};
    for (std::size_t d = 0; d < 3; ++d)
      for (std::size_t i = 0; i < 6; ++i) u[d] += by[d][i] * part.swing[m][i];
    r.modes.push_back({std::sqrt(felt.lambda[m]), damping, {u[0], u[1], u[2]}});
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) r.residual[3 * i + j] -= u[i] * u[j] / felt.lambda[m];
  }
  return r;
}

Result result_of(const Felt& felt, const Inputs& in) {
  Result r;
  r.ok = felt.ok, r.why = felt.why;
  r.plate_mass = felt.plate_mass;
  r.total_mass = felt.plate_mass;
  for (const Part& p : in.parts) r.total_mass += p.mass;
  r.residual = felt.residual;
  for (std::size_t m = 0; m < felt.lambda.size() && m < static_cast<std::size_t>(std::max(0, in.modes)); ++m)
    r.frequencies.push_back(std::sqrt(std::max(0.0, felt.lambda[m])) / felt_turn);
  if (!r.ok) return r;
  for (std::size_t p = 0; p < in.points.size(); ++p) {
    const int part = in.points[p].part;
    if (part < 0 || static_cast<std::size_t>(part) >= felt.parts.size()) {
      r.ok = false, r.why = "point " + std::to_string(p + 1) + " stands on no part";
      return r;
    }
    r.points.push_back(response_at(felt, in.points[p], in.modes, in.damping));
  }
  return r;
}

}  // namespace fettle::structure
