#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/cutting/cutting.h"

namespace fettle::cutting {

using frame::Vec3;

namespace {

constexpr double pi = 3.14159265358979323846, mm = 1e-3;

bool in_gap(const Milling& in, double phi) {
  return std::any_of(in.gaps.begin(), in.gaps.end(), [&](const auto& g) { return phi > g[0] && phi < g[1]; });
}

/// What one tooth slice does at one angle, per axial depth, for the mean feed: X, Y, Z, tangential; N/m. And Z times
/// sine and cosine of the angle, for its moment about the tool's axis.
struct Slice {
  double x = 0, y = 0, z = 0, t = 0, zs = 0, zc = 0;
};
Slice operator+(Slice a, Slice b) { return {a.x + b.x, a.y + b.y, a.z + b.z, a.t + b.t, a.zs + b.zs, a.zc + b.zc}; }
Slice operator-(Slice a, Slice b) { return {a.x - b.x, a.y - b.y, a.z - b.z, a.t - b.t, a.zs - b.zs, a.zc - b.zc}; }
Slice operator*(double s, Slice a) { return {s * a.x, s * a.y, s * a.z, s * a.t, s * a.zs, s * a.zc}; }

class Edge {
 public:
  explicit Edge(const Milling& in) : in_(in) {
    sin_kappa_ = std::sin(in.approach);
    cos_kappa_ = std::cos(in.approach);
    axial_ = axial_ratio(in.chip.radial, in.rake, in.helix);
    // kc b h with b = depth / sin kappa and h = feed sin kappa sin phi.
    const double h1 = in.feed_per_tooth * sin_kappa_;
    scale_ = h1 > 0 ? in.chip.kc11 * in.chip.wear * std::pow(h1 / mm, -in.chip.mc) * h1 / sin_kappa_ : 0;
  }
  double axial() const { return axial_ - in_.chip.radial * cos_kappa_; }
  Slice at(double phi) const {
    const double s = std::sin(phi), c = std::cos(phi);
    if (!(s > 0) || in_gap(in_, phi)) return {};
    const double t = scale_ * std::pow(s, 1 - in_.chip.mc), r = in_.chip.radial * sin_kappa_ * t;
    const double z = axial() * t;
    return {t * c + r * s, -t * s + r * c, z, t, z * s, z * c};
  }

 private:
  const Milling& in_;
  double sin_kappa_ = 1, cos_kappa_ = 0, axial_ = 0, scale_ = 0;
};

/// Running integrals over the arc of the slice force and of its product with the angle, so that a whole helix is the
/// difference of two values.
class Running {
 public:
  Running(const Milling& in, const Edge& edge) : entry_(in.arc.entry), exit_(in.arc.exit) {
    const double step = (exit_ - entry_) / cells;
    // Gauss points of each cell: the force rises like a root at the free end of the arc.
    constexpr double x[3] = {-0.7745966692414834, 0, 0.7745966692414834}, w[3] = {5.0 / 18, 8.0 / 18, 5.0 / 18};
    for (int i = 0; i < cells; ++i) {
      Slice s, m;
      for (int k = 0; k < 3; ++k) {
        const double phi = entry_ + step * (i + 0.5 + 0.5 * x[k]);
        const Slice f = w[k] * step * edge.at(phi);
        s = s + f;
        m = m + phi * f;
      }
      sum_[static_cast<std::size_t>(i) + 1] = sum_[static_cast<std::size_t>(i)] + s;
      moment_[static_cast<std::size_t>(i) + 1] = moment_[static_cast<std::size_t>(i)] + m;
    }
  }
  Slice total() const { return sum_[cells]; }
  Slice sum(double phi) const { return read(sum_, phi); }
  Slice moment(double phi) const { return read(moment_, phi); }

 private:
  static constexpr int cells = 128;
  using Table = std::array<Slice, cells + 1>;
  Slice read(const Table& t, double phi) const {
    const double u = (phi - entry_) / (exit_ - entry_) * cells;
    if (!(u > 0)) return t[0];
    if (u >= cells) return t[cells];
    const auto i = static_cast<std::size_t>(u);
    const double f = u - static_cast<double>(i);
    return (1 - f) * t[i] + f * t[i + 1];
  }
  double entry_, exit_;
  Table sum_{}, moment_{};
};

/// The share of the mean feed that each tooth takes: the angle before it.
std::vector<double> shares(const std::vector<double>& angles) {
  const std::size_t n = angles.size();
  std::vector<double> out(n, 1);
  for (std::size_t j = 0; j < n; ++j) {
    const double next = j + 1 < n ? angles[j + 1] : angles[0] + 2 * pi;
    // Seen from the metal the tooth with the larger angle passes first; the tooth at angles[j] follows that at next.
    out[j] = (next - angles[j]) * static_cast<double>(n) / (2 * pi);
  }
  return out;
}

class Cutter {
 public:
  explicit Cutter(const Milling& in) : in_(in), edge_(in), run_(in, edge_) {
    lag_ = 2 * in.depth * std::tan(in.helix) / in.diameter;
    per_lag_ = std::fabs(lag_) > 1e-9 ? in.depth / lag_ : 0;
    for (double s : shares(in.tooth_angles)) factor_.push_back(std::pow(s, 1 - in.chip.mc));
  }
  const Edge& edge() const { return edge_; }
  const Running& run() const { return run_; }
  /// One tooth whose tip stands at phi: force, and force times height over the tip.
  Slice tooth(double phi) const {
    if (per_lag_ == 0) return inside(phi) ? in_.depth * edge_.at(phi) : Slice{};
    return per_lag_ * (run_.sum(phi) - run_.sum(phi - lag_));
  }
  Slice tooth_moment(double phi) const {
    if (per_lag_ == 0) return 0.5 * in_.depth * tooth(phi);
    // Height z = (phi - phi') depth / lag.
    const Slice s = run_.sum(phi) - run_.sum(phi - lag_), m = run_.moment(phi) - run_.moment(phi - lag_);
    return per_lag_ * per_lag_ * (phi * s - m);
  }
  /// All teeth, the first one's tip at angle `turn` after the spindle's zero.
  template <class F>
  Slice teeth(double turn, const F& f) const {
    Slice sum;
    const double low = std::min(in_.arc.entry, in_.arc.entry + lag_),
                 high = std::max(in_.arc.exit, in_.arc.exit + lag_);
    for (std::size_t j = 0; j < in_.tooth_angles.size(); ++j) {
      double phi = std::fmod(turn + in_.tooth_angles[j] - low, 2 * pi);
      if (phi < 0) phi += 2 * pi;
      // A long helix reaches over more than a turn: count it each time it passes.
      for (phi += low; phi <= high + 1e-12; phi += 2 * pi) sum = sum + factor_[j] * f(phi);
    }
    return sum;
  }
  double mean_factor() const {
    double s = 0;
    for (double f : factor_) s += f;
    return s;
  }
  double lag() const { return lag_; }

 private:
  bool inside(double phi) const { return phi >= in_.arc.entry && phi <= in_.arc.exit; }
  const Milling& in_;
  Edge edge_;
  Running run_;
  double lag_ = 0, per_lag_ = 0;
  std::vector<double> factor_;
};

Problems problems_of(const Milling& in) {
  Problems p;
  const auto need = [&](bool good, const char* what, double found, const char* expected) {
    if (!good) p.push_back(bad(what, std::to_string(found), expected));
  };
  need(in.chip.kc11 > 0 && std::isfinite(in.chip.kc11), "specific cutting force", in.chip.kc11, "above 0");
  need(in.chip.mc >= 0 && in.chip.mc < 1, "chip exponent", in.chip.mc, "0 up to below 1");
  need(in.chip.wear >= 1 && in.chip.wear <= 10, "wear factor", in.chip.wear, "1 to 10");
  need(in.chip.radial >= 0 && in.chip.radial <= 3, "radial over tangential force", in.chip.radial, "0 to 3");
  need(in.diameter > 0 && in.diameter < 10, "cutter diameter", in.diameter, "above 0, in m");
  need(!in.tooth_angles.empty(), "teeth", 0, "at least one");
  need(in.depth >= 0 && in.depth < 10, "axial depth", in.depth, "0 or more, in m");
  need(in.feed_per_tooth >= 0 && in.feed_per_tooth < 0.1, "feed per tooth", in.feed_per_tooth, "0 or more, in m");
  need(std::fabs(in.helix) < 1.5, "helix", in.helix, "below 85 deg");
  need(std::fabs(in.rake) < 1.2, "rake", in.rake, "below 69 deg either way");
  need(in.approach > 0.05 && in.approach <= pi / 2 + 1e-12, "approach angle", in.approach, "3 to 90 deg");
  need(in.arc.exit >= in.arc.entry && in.arc.entry >= -1e-9 && in.arc.exit <= pi + 1e-9, "arc of engagement",
       in.arc.exit, "inside 0 to 180 deg, exit after entry");
  need(in.turns >= 0, "spindle turns", in.turns, "0 or more");
  need(in.steps >= 8 && in.steps <= 100000, "samples", in.steps, "8 to 100000");
  for (std::size_t j = 0; j < in.tooth_angles.size(); ++j)
    need(in.tooth_angles[j] >= 0 && in.tooth_angles[j] < 2 * pi + 1e-9 &&
             (j == 0 || in.tooth_angles[j] > in.tooth_angles[j - 1]),
         "tooth angle", in.tooth_angles[j], "rising from 0 to below 360 deg");
  return p;
}

}  // namespace

double specific_force(const Chip& c, double h) {
  if (!(h > 0)) return std::numeric_limits<double>::infinity();
  return c.kc11 * c.wear * std::pow(h / mm, -c.mc);
}
double chip_stiffness(const Chip& c, double h) { return (1 - c.mc) * specific_force(c, h); }

double axial_ratio(double radial, double rake, double inclination) {
  const double t = std::tan(inclination);
  // Normal to the edge: friction angle from the ratio of the two forces at zero inclination.
  const double friction = rake + std::atan(radial);
  const double n = std::cos(friction - rake), s = std::sin(friction);
  return t * (n - s) / (n + t * t * s);
}

Arc side_arc(double diameter, double width, bool down) {
  const double a = std::acos(std::clamp(1 - 2 * width / diameter, -1.0, 1.0));
  return down ? Arc{pi - a, pi} : Arc{0, a};
}
Arc face_arc(double diameter, double width, double offset) {
  // The strip lies between y = -offset - width/2 and y = -offset + width/2 of the cutter's axis; cos phi = y / R.
  const double r = 0.5 * diameter;
  return {std::acos(std::clamp((0.5 * width - offset) / r, -1.0, 1.0)),
          std::acos(std::clamp((-0.5 * width - offset) / r, -1.0, 1.0))};
}
Arc inside_arc(double diameter, double before, double after, bool down) {
  const double r = 0.5 * diameter, e = after - r;
  double p = pi;
  if (e > 1e-12) p = std::acos(std::clamp((before * before - r * r - e * e) / (2 * e * r), -1.0, 1.0));
  return down ? Arc{pi - p, pi} : Arc{0, p};
}

std::vector<double> even_teeth(int n) {
  std::vector<double> out;
  out.reserve(static_cast<std::size_t>(std::max(n, 0)));
  for (int i = 0; i < n; ++i) out.push_back(2 * pi * i / n);
  return out;
}
std::vector<double> uneven_teeth(int n, double step) {
  // Alternately early and late, the first at zero; an odd last one stands in its even place.
  std::vector<double> out;
  out.reserve(static_cast<std::size_t>(std::max(n, 0)));
  for (int i = 0; i < n; ++i) out.push_back(2 * pi * i / n + (i % 2 == 1 ? step : 0));
  return out;
}

Outcome<MillingResult> solve(const Milling& in) {
  if (Problems p = problems_of(in); !p.empty()) return p;
  MillingResult r;
  const int teeth = static_cast<int>(in.tooth_angles.size());
  const int n = (in.steps + teeth - 1) / teeth * teeth;
  r.turn.assign(static_cast<std::size_t>(n), {});
  r.torque_turn.assign(static_cast<std::size_t>(n), 0);
  r.moment_turn.assign(static_cast<std::size_t>(n), {});
  const double arc = in.arc.exit - in.arc.entry;
  const Cutter cutter(in);
  r.axial = cutter.edge().axial();
  if (!(in.depth > 0 && in.feed_per_tooth > 0 && arc > 1e-12)) return r;  // no metal, no force
  double size = 0;
  for (int i = 0; i < n; ++i) {
    const Slice f = cutter.teeth(2 * pi * i / n, [&](double phi) { return cutter.tooth(phi); });
    const Vec3 v{f.x, f.y, f.z};
    const double s = frame::norm(v), torque = f.t * 0.5 * in.diameter;
    r.turn[static_cast<std::size_t>(i)] = v;
    // A tooth at (sin, cos) R turns clockwise and drags the part with it; its axial pull stands at the rim.
    const Vec3 moment{0.5 * in.diameter * f.zc, -0.5 * in.diameter * f.zs, -torque};
    r.torque_turn[static_cast<std::size_t>(i)] = torque;
    r.moment_turn[static_cast<std::size_t>(i)] = moment;
    size += s / n;
    if (s > r.peak_size) {
      r.peak_size = s;
      r.peak = v;
      r.peak_moment = moment;
    }
    r.torque_peak = std::max(r.torque_peak, torque);
    r.up_pull = std::max(r.up_pull, f.z);
  }
  r.mean_size = size;
  // The mean over a turn needs no samples: each tooth passes its arc once, whatever the helix.
  const Slice mean = cutter.mean_factor() * in.depth / (2 * pi) * cutter.run().total();
  r.mean = {mean.x, mean.y, mean.z};
  r.torque_mean = mean.t * 0.5 * in.diameter;
  r.power = r.torque_mean * 2 * pi * in.turns;
  const double kappa = std::sin(in.approach);
  const std::vector<double> share = shares(in.tooth_angles);
  const double most_share = *std::max_element(share.begin(), share.end());
  const double top =
      in.arc.entry <= pi / 2 && in.arc.exit >= pi / 2 ? 1 : std::max(std::sin(in.arc.entry), std::sin(in.arc.exit));
  r.chip_most = in.feed_per_tooth * most_share * kappa * top;
  r.chip_mean = in.feed_per_tooth * kappa * (std::cos(in.arc.entry) - std::cos(in.arc.exit)) / arc;
  r.teeth_engaged = teeth * arc / (2 * pi);
  r.specific = specific_force(in.chip, r.chip_mean);
  const double width = 0.5 * in.diameter * (std::cos(in.arc.entry) - std::cos(in.arc.exit));
  r.removal = width * in.depth * in.feed_per_tooth * teeth * in.turns;
  r.shock = std::any_of(in.gaps.begin(), in.gaps.end(),
                        [&](const auto& g) { return g[1] > in.arc.entry && g[0] < in.arc.exit; });
  return r;
}

Wall wall_error(const Milling& in, bool down, const std::function<double(double, double)>& compliance, int heights) {
  Wall w;
  if (!problems_of(in).empty() || !(in.depth > 0 && in.feed_per_tooth > 0 && in.arc.exit > in.arc.entry)) return w;
  const Cutter cutter(in);
  const double wall = down ? pi : 0;
  for (int k = 0; k < heights; ++k) {
    const double z = in.depth * k / (heights - 1);
    const double turn = wall + cutter.lag() * z / in.depth;  // the first tooth generates at height z now
    double least = 0;
    for (std::size_t j = 0; j < in.tooth_angles.size(); ++j) {
      const double at = turn - in.tooth_angles[j];
      const Slice f = cutter.teeth(at, [&](double phi) { return cutter.tooth(phi); });
      const Slice m = cutter.teeth(at, [&](double phi) { return cutter.tooth_moment(phi); });
      const double centre = std::fabs(f.y) > 1e-12 ? std::clamp(m.y / f.y, 0.0, in.depth) : 0.5 * in.depth;
      // On the tool the force is the other way round; away from the wall (+Y when down) leaves metal.
      const double push = (down ? -f.y : f.y) * compliance(centre, z);
      least = j == 0 ? push : std::min(least, push);
    }
    // The tooth that reaches furthest into the metal leaves the wall.
    w.height.push_back(z);
    w.error.push_back(least);
  }
  w.least = *std::min_element(w.error.begin(), w.error.end());
  w.most = *std::max_element(w.error.begin(), w.error.end());
  return w;
}

double feed_for_chip(const Milling& in, double chip) {
  const double arc = in.arc.exit - in.arc.entry;
  const double per_feed = std::sin(in.approach) * (std::cos(in.arc.entry) - std::cos(in.arc.exit)) / arc;
  return per_feed > 0 ? chip / per_feed : std::numeric_limits<double>::quiet_NaN();
}

}  // namespace fettle::cutting
