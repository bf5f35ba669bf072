#include "calc/holding/screws.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace fettle::holding {

namespace {

constexpr double pi = std::numbers::pi;
constexpr double um = 1e-6, mm = 1e-3;

/// ISO 965-1, from memory: pitch, mm; tolerance of the major diameter 6g and its allowance, µm.
struct MajorRow {
  double pitch, tolerance, allowance;
};
constexpr MajorRow kMajor[] = {{0.35, 85, 19}, {0.4, 95, 19},   {0.45, 100, 20}, {0.5, 106, 20}, {0.6, 125, 21},
                               {0.7, 140, 22}, {0.75, 140, 22}, {0.8, 150, 24},  {1, 180, 26},   {1.25, 212, 28},
                               {1.5, 236, 32}, {1.75, 265, 34}, {2, 280, 38},    {2.5, 335, 42}, {3, 375, 48},
                               {3.5, 425, 53}, {4, 475, 60}};
/// Tolerance of the nut's pitch diameter 6H, µm, by size and pitch.
struct PitchRow {
  double over, up_to, pitch, tolerance;
};
constexpr PitchRow kPitch[] = {
    {2.8, 5.6, 0.5, 100},   {2.8, 5.6, 0.6, 112},    {2.8, 5.6, 0.7, 118},   {2.8, 5.6, 0.8, 125},
    {5.6, 11.2, 0.75, 132}, {5.6, 11.2, 1, 150},     {5.6, 11.2, 1.25, 160}, {5.6, 11.2, 1.5, 180},
    {11.2, 22.4, 1, 160},   {11.2, 22.4, 1.25, 180}, {11.2, 22.4, 1.5, 190}, {11.2, 22.4, 1.75, 200},
    {11.2, 22.4, 2, 212},   {11.2, 22.4, 2.5, 224},  {22.4, 45, 1, 170},     {22.4, 45, 1.5, 200},
    {22.4, 45, 2, 224},     {22.4, 45, 3, 265},      {22.4, 45, 3.5, 280},   {22.4, 45, 4, 300}};

double head_torque(double friction, double head_mean) { return friction * head_mean / 2; }

}  // namespace

double preload(double torque, double nut_factor, double major) { return torque / (nut_factor * major); }
double torque_for(double preload, double nut_factor, double major) { return preload * nut_factor * major; }

double torque_long(double f, const ScrewThread& t, double friction_thread, double friction_head, double head_mean) {
  return f * (0.16 * t.pitch + 0.58 * t.pitch_diameter * friction_thread + head_torque(friction_head, head_mean));
}

double nut_factor_long(const ScrewThread& t, double friction_thread, double friction_head, double head_mean) {
  const double lead = t.pitch / (pi * t.pitch_diameter), f = friction_thread / std::cos(pi / 6);
  return t.pitch_diameter / (2 * t.major) * (lead + f) / (1 - f * lead) + friction_head * head_mean / (2 * t.major);
}

double friction_of(double nut_factor, const ScrewThread& t, double head_mean) {
  return std::max(0.0, (nut_factor * t.major - 0.16 * t.pitch) / (0.58 * t.pitch_diameter + head_mean / 2));
}

double shear_ratio(const ScrewThread& t, double friction) {
  const double d0 = (t.pitch_diameter + t.root_diameter) / 2;
  return 1.5 * (t.pitch_diameter / d0) * (t.pitch / (pi * t.pitch_diameter) + 1.155 * friction);
}

double assembly_preload(const ScrewThread& t, double yield, double friction, double share) {
  const double r = shear_ratio(t, friction);
  return t.stress_area * share * yield / std::sqrt(1 + 3 * r * r);
}

std::vector<TighteningScatter> tightening_scatter() {
  return {{"to yield or by angle", 0.05, 0.12},
          {"hydraulic stretching", 0.09, 0.23},
          {"torque wrench, torque found on the joint itself", 0.17, 0.23},
          {"torque wrench, friction estimated", 0.23, 0.28},
          {"power driver set on the joint", 0.26, 0.43}};
}
double tightening_factor(double scatter) { return (1 + scatter) / (1 - scatter); }

Outcome<ScrewResult> screw(const ScrewInputs& in) {
  Problems wrong;
  const auto refuse = [&](bool good, const char* what) {
    if (!good) wrong.push_back(bad(what));
  };
  const ScrewThread& t = in.thread;
  refuse(t.major > 0 && t.pitch > 0 && t.pitch_diameter > 0 && t.root_diameter > 0 && t.stress_area > 0,
         "the thread needs all its sizes");
  refuse(in.torque > 0 && std::isfinite(in.torque), "the torque must be above 0");
  refuse(in.wrench_scatter >= 0 && in.wrench_scatter < 1, "the wrench's scatter lies from 0 to below 1");
  refuse(in.nut_factor_low > 0 && in.nut_factor_low <= in.nut_factor && in.nut_factor <= in.nut_factor_high,
         "the nut factor must be above 0 and lie within its band");
  refuse(in.head_mean > 0, "the mean diameter under the head must be above 0");
  refuse(in.proof > 0 && in.yield > 0, "proof stress and yield of the screw must be above 0");
  if (!wrong.empty()) return wrong;
  ScrewResult r;
  r.stated = preload(in.torque, in.nut_factor, t.major);
  r.low = preload(in.torque * (1 - in.wrench_scatter), in.nut_factor_high, t.major);
  r.high = preload(in.torque * (1 + in.wrench_scatter), in.nut_factor_low, t.major);
  r.proof_load = in.proof * t.stress_area;
  r.tension_share = r.high / r.proof_load;
  const double shear = shear_ratio(t, friction_of(in.nut_factor_low, t, in.head_mean));
  r.combined = r.high / t.stress_area * std::sqrt(1 + 3 * shear * shear);
  r.combined_share = r.combined / in.yield;
  r.share = std::max(r.tension_share, r.combined_share);
  return r;
}

ThreadLimits thread_limits(const ScrewThread& t) {
  const double p = t.pitch / mm, d = t.major / mm;
  double tolerance = 180 * std::cbrt(p * p) - 3.15 / std::sqrt(p), allowance = 15 + 11 * p;
  for (const MajorRow& r : kMajor)
    if (std::fabs(r.pitch - p) < 1e-6) tolerance = r.tolerance, allowance = r.allowance;
  constexpr std::array<double, 7> ends = {1.4, 2.8, 5.6, 11.2, 22.4, 45, 90};
  double from = ends[0], to = ends[1];
  for (std::size_t i = 0; i + 1 < ends.size(); ++i)
    if (d > ends[i]) from = ends[i], to = ends[i + 1];
  double pitch_tolerance = 1.32 * 90 * std::pow(p, 0.4) * std::pow(std::sqrt(from * to), 0.1);
  for (const PitchRow& r : kPitch)
    if (d > r.over && d <= r.up_to && std::fabs(r.pitch - p) < 1e-6) pitch_tolerance = r.tolerance;
  return {t.major - (tolerance + allowance) * um, t.pitch_diameter + pitch_tolerance * um};
}

double stripping_area_per_length(const ScrewThread& t) {
  const ThreadLimits l = thread_limits(t);
  return pi / t.pitch * l.screw_major * (t.pitch / 2 + (l.screw_major - l.nut_pitch) / std::sqrt(3.0));
}

double pull_out(const ScrewThread& t, double engaged, double shear_strength) {
  return std::max(0.0, engaged) * stripping_area_per_length(t) * shear_strength;
}

Engagement engagement(double length, double grip, double washer, double stand_off, double asked, double depth) {
  Engagement e;
  e.reach = length - grip - washer - stand_off;
  e.engaged = std::clamp(e.reach, 0.0, std::max(0.0, asked));
  e.spare = e.reach - asked;
  e.bottom = depth - e.reach;
  return e;
}

double shoulder_room(double least_grip, double shoulder) { return least_grip - shoulder; }

double ring_pressure(double force, double outside, double inside) {
  return force / (pi / 4 * (outside * outside - inside * inside));
}
double pressure_limit(bool grey_iron, double tensile) { return (grey_iron ? 3.4 : 0.9) * tensile; }

double embedding_loss(double settles, double screw_stiffness, double joint_stiffness) {
  return settles / (1 / screw_stiffness + 1 / joint_stiffness);
}
double embedding_amount(double rz, int inner_faces) {
  if (rz < 10 * um) return (3 + 2.5 + 1.5 * inner_faces) * um;
  if (rz < 40 * um) return (3 + 3 + 2.0 * inner_faces) * um;
  return (3 + 4 + 3.0 * inner_faces) * um;
}
double screw_stiffness(const ScrewThread& t, double clamped, double modulus) {
  const double shank = pi / 4 * t.major * t.major;
  return modulus / (clamped / t.stress_area + 0.5 * t.major / shank + 0.5 * t.major / t.stress_area);
}

TighteningOrder tightening_order(const std::vector<frame::Vec3>& at) {
  TighteningOrder out;
  out.rounds = {0.5, 1, 1};
  if (at.empty()) return out;
  frame::Vec3 middle;
  for (const frame::Vec3& p : at) middle = middle + (1.0 / static_cast<double>(at.size())) * p;
  std::vector<char> done(at.size(), 0);
  while (out.order.size() < at.size()) {
    std::size_t next = at.size();
    double nearest = 0;
    for (std::size_t i = 0; i < at.size(); ++i) {
      const double r = norm(at[i] - middle);
      if (done[i] == 0 && (next == at.size() || r < nearest - 1e-9)) next = i, nearest = r;
    }
    out.order.push_back(static_cast<int>(next));
    done[next] = 1;
    // then the one that lies most opposite
    const frame::Vec3 mirror = 2.0 * middle - at[next];
    std::size_t other = at.size();
    for (std::size_t i = 0; i < at.size(); ++i)
      if (done[i] == 0 && (other == at.size() || norm(at[i] - mirror) < norm(at[other] - mirror) - 1e-9)) other = i;
    if (other == at.size() || norm(at[other] - mirror) > nearest + 1e-9) continue;
    out.order.push_back(static_cast<int>(other));
    done[other] = 1;
  }
  return out;
}

std::vector<double> after_one_round(const std::vector<int>& order, double given,
                                    const std::vector<double>& interaction) {
  const std::size_t n = order.size();
  std::vector<double> force(n, 0.0);
  for (int o : order) {
    const auto j = static_cast<std::size_t>(o);
    const double gained = given - force[j];
    for (std::size_t i = 0; i < n; ++i)
      if (i != j) force[i] -= interaction[i * n + j] * gained;
    force[j] = given;
  }
  return force;
}

std::vector<std::string> screw_cautions() {
  return {
      "A screw that fails or a part that comes loose is thrown by the cutter: guard closed, torque by wrench, damaged "
      "screws and inserts out. Local rules and licensed practice decide."};
}

}  // namespace fettle::holding
