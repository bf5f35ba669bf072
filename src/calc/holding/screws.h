#pragma once
// Screws that clamp: preload and torque, stress, pull-out, pressure, engagement, shoulder, order of tightening.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::holding {

/// Thread of a screw, basic sizes, m and m2.
struct ScrewThread {
  double major = 0, pitch = 0, pitch_diameter = 0, root_diameter = 0, stress_area = 0;
};

/// F = T / (K d).
double preload(double torque, double nut_factor, double major);
double torque_for(double preload, double nut_factor, double major);

/// T = F (P/(2 pi) + mu_thread d2/(2 cos 30) + mu_head D_head/2), as VDI 2230 writes it with 0.16 and 0.58.
/// `head_mean`: mean diameter of the rubbing ring under the head, m.
double torque_long(double preload, const ScrewThread& t, double friction_thread, double friction_head,
                   double head_mean);
/// Nut factor of the exact screw formula: K = dm/(2d) (tan l + f sec a)/(1 - f tan l sec a) + fc dc/(2d), a = 30 deg of
/// flank (Shigley, Mechanical Engineering Design, eq. 8-26).
double nut_factor_long(const ScrewThread& t, double friction_thread, double friction_head, double head_mean);
/// Friction, the same in thread and under the head, that a nut factor stands for; not below 0.
double friction_of(double nut_factor, const ScrewThread& t, double head_mean);

/// Shear over tension in the thread while the wrench still turns: 1.5 (d2/d0)(P/(pi d2) + 1.155 mu), d0 = (d2+d3)/2.
double shear_ratio(const ScrewThread& t, double friction_thread);
/// Preload at which tension and twist together reach `share` of yield (VDI 2230: 0.9).
double assembly_preload(const ScrewThread& t, double yield, double friction_thread, double share = 0.9);

/// How well a way of tightening hits the preload, plus and minus (VDI 2230, 1986).
struct TighteningScatter {
  std::string way;
  double least = 0, most = 0;
};
std::vector<TighteningScatter> tightening_scatter();
/// Factor between most and least preload, (1 + t)/(1 - t).
double tightening_factor(double scatter);

struct ScrewInputs {
  ScrewThread thread;
  double torque = 0, wrench_scatter = 0;                           ///< N·m; share, plus and minus
  double nut_factor = 0, nut_factor_low = 0, nut_factor_high = 0;  ///< -
  double head_mean = 0;                                            ///< m
  double proof = 0, yield = 0;                                     ///< Pa, of the property class
};
struct ScrewResult {
  double stated = 0, low = 0, high = 0;     ///< N
  double proof_load = 0;                    ///< N
  double tension_share = 0;                 ///< high preload over proof load
  double combined = 0, combined_share = 0;  ///< Pa, tension with twist at the high end; over yield
  double share = 0;                         ///< the larger of the two
};
/// Low preload holds: low end of the wrench, high nut factor. High preload stresses: the other ends.
Outcome<ScrewResult> screw(const ScrewInputs& in);

/// Smallest major diameter of a 6g screw and largest pitch diameter of a 6H nut thread, m (ISO 965-1, from memory;
/// sizes between the rows by the standard's formulas).
struct ThreadLimits {
  double screw_major = 0, nut_pitch = 0;
};
ThreadLimits thread_limits(const ScrewThread& t);
/// Area of the internal thread that shears, per length engaged, m2/m: pi/P d_min (P/2 + (d_min - D2_max)/sqrt 3)
/// (FED-STD-H28/2).
double stripping_area_per_length(const ScrewThread& t);
/// Force at which the thread in the plate is torn out, N.
double pull_out(const ScrewThread& t, double engaged, double shear_strength);

/// Thread that is really there, m: what the screw reaches past the part, washer and pad, and what the hole is deep for.
struct Engagement {
  double reach = 0;    ///< length - grip - washer - stand-off
  double engaged = 0;  ///< of what the thread offers
  double spare = 0;    ///< reach beyond the thread asked for; negative: so much of it is missing
  double bottom = 0;   ///< room left under the tip; negative: the screw bottoms and does not clamp
};
Engagement engagement(double length, double grip, double washer, double stand_off, double asked, double depth);

/// Room between the shoulder's end and the least part: it clamps only when this is above 0.
double shoulder_room(double least_grip, double shoulder);

/// Mean pressure of a ring, Pa.
double ring_pressure(double force, double outside, double inside);
/// Pressure that clamped faces carry without giving in, Pa: grey iron 3.4 times its tensile strength (its strength in
/// compression), others 0.9 times (VDI 2230 table of limiting pressures, from memory). Iron with round graphite is no
/// stronger in compression than steel: it belongs to the others.
double pressure_limit(bool grey_iron, double tensile);

/// Loss of preload as rough faces settle, N: f / (1/k_screw + 1/k_joint). Amounts by roughness in `embedding_amount`.
double embedding_loss(double settles, double screw_stiffness, double joint_stiffness);
/// Settling of a joint, m, from the roughness Rz of its faces: thread, head, and each inner face (VDI 2230, from
/// memory).
double embedding_amount(double rz, int inner_faces);
/// Stiffness of a screw: the clamped length in the stress area, plus 0.5 d of head and 0.5 d of thread; N/m.
double screw_stiffness(const ScrewThread& t, double clamped, double modulus);

/// Order of tightening from the places alone: opposite pairs in turn, from the middle out; at least two rounds.
struct TighteningOrder {
  std::vector<int> order;      ///< screw numbers from 0
  std::vector<double> rounds;  ///< shares of the torque: half, all, all once more
};
TighteningOrder tightening_order(const std::vector<frame::Vec3>& at);
/// What is left of each screw's preload when they are tightened one after another once, in `order`: `given` N each,
/// `interaction(i, j)` the preload that screw i loses per newton when j is tightened (row by row; 0 on the diagonal).
std::vector<double> after_one_round(const std::vector<int>& order, double given,
                                    const std::vector<double>& interaction);

std::vector<std::string> screw_cautions();

}  // namespace fettle::holding
