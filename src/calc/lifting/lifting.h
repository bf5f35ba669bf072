#pragma once
// Can a person lift this? The revised lifting equation of NIOSH (Waters, Putz-Anderson, Garg: Applications Manual,
// DHHS (NIOSH) 94-110, 1994, revised 9/2021), single and multi task. See README.md for the sketch and the limits.
//
// SI inside: m, kg, rad, 1/s. The equation itself is written once in centimetres and once in inches, and the two are
// not exact conversions of each other (23 kg is not 51 lb, 175 cm is not 70 in); Inputs::constants says which is used.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::lifting {

enum class Constants { metric, inch };
/// How well the hands hold: good handles, fair handles or wrapped fingers, poor.
enum class Coupling { good, fair, poor };
/// Length of the lifting work, with the rest that must follow it: see duration_of().
enum class Duration { up_to_1h, up_to_2h, up_to_8h };
std::string_view word(Coupling coupling);
std::string_view word(Duration duration);

/// Where the hands are at one end of the lift, measured when the load is picked up or set down.
struct Hands {
  double reach = 0;   ///< H, m: mid-point between the ankles to mid-point between the hands, along the floor
  double height = 0;  ///< V, m: hands above the floor
  double twist = 0;   ///< A, rad: turn of the load out of the body's front plane, 0..pi
};

/// What the equation does not cover. Left empty = not said: then it is listed in Result::assumed, never hidden.
struct Circumstances {
  std::optional<bool> one_hand, seated_or_kneeling, cramped, unstable_load, pushed_or_carried, jerked;
  std::optional<int> people;            ///< team lifts are not covered: two people are not twice one
  std::optional<double> hours;          ///< s of work in the shift; over 8 h is not covered
  std::optional<double> floor_grip;     ///< friction shoe on floor; under 0.4 is not covered
  std::optional<double> air;            ///< K; outside 19..26 °C is not covered
  std::optional<double> humidity;       ///< share; outside 35..50 % is not covered
  std::optional<double> highest_speed;  ///< m/s of the hands; over 30 in/s (0.762 m/s) is not covered
};

/// One kind of lift.
struct Inputs {
  std::string name;                 ///< for the answer only
  double load = 0;                  ///< kg, as really lifted: see lifted_mass()
  std::optional<double> heaviest;   ///< kg, multi-task jobs only: largest load where `load` is an average
  Hands from, to;                   ///< origin and destination
  bool set_down_with_care = false;  ///< the load is guided, aligned or held at the end: the end counts as well
  double frequency = 0;             ///< 1/s, lifts over the work time; below 0.2/min counts as 0.2/min
  Duration duration = Duration::up_to_8h;
  Coupling coupling = Coupling::poor;
  Constants constants = Constants::metric;
  Circumstances around;
};

/// The six multipliers, each 0..1 (1: nothing lost, 0: no load is acceptable there).
struct Multipliers {
  double reach = 0, height = 0, travel = 0, twist = 0, frequency = 0, coupling = 0;
};
/// One end of the lift.
struct End {
  bool counts = false;  ///< the origin always; the destination when the load is set down with care
  Multipliers m;
  double limit = 0;            ///< recommended weight limit RWL, kg
  double unhurried_limit = 0;  ///< the same without the frequency multiplier (FIRWL), kg
  double index = 0;            ///< load / limit; infinite when the limit is zero
};
/// One quantity moved alone until the index is 1.
struct Lever {
  enum class What { load, reach, height, travel, twist, frequency } what = What::load;
  std::string name;   ///< trade word with the end it belongs to
  double now = 0;     ///< SI
  bool can = false;   ///< false: no value of this alone brings the index to 1
  double needed = 0;  ///< SI, only when `can`
};
struct Result {
  End from, to;
  bool destination_governs = false;
  double limit = 0;           ///< kg, the smaller limit of the ends that count
  double index = 0;           ///< lifting index of the ends that count; > 1 means a risk for some people
  std::string hurts;          ///< which multiplier takes most, in words ("reach")
  double hurts_factor = 1;    ///< its value at the governing end
  std::vector<Lever> levers;  ///< always the six of Lever::What, in that order
  std::string beyond;  ///< not empty: the equation does not cover this; says every reason. Never an "inside" then
  std::vector<std::string> assumed;   ///< what was not said and is taken to be harmless
  std::vector<std::string> cautions;  ///< always carried
};

/// Single task: limit, index, what hurts, what would mend it. Problems: every impossible input at once (not a number,
/// negative mass, height below the floor, twist outside 0..180 deg, ...).
Outcome<Result> solve(const Inputs& inputs);

/// Frequency multiplier (table 5 of the manual, linear between rows). `low`: hands below 75 cm (30 in) at the origin.
double frequency_multiplier(double frequency, Duration duration, bool low);

/// Duration class of a stretch of lifting with the light work or rest after it, both in s: up to 1 h needs rest as long
/// as the work, up to 2 h needs 0.3 of it, else up to 8 h. Problem: over 8 h, negative, not a number.
Outcome<Duration> duration_of(double work, double rest);

/// Lifts in bursts: averages over 15 minutes (burst in s, at most 900 s), 1/s. 10/min during 8 of 15 min is 5.33/min.
double frequency_in_bursts(double frequency, double burst);

/// Reach from the load's width towards the body when it cannot be measured: 20 cm + W/2 for hands at 25 cm or higher,
/// 25 cm + W/2 below (8 in and 10 in in the inch form).
double reach_estimate(double width, double height, Constants constants);

/// Several kinds of lift in one job. Durations, frequencies and heights are each task's own.
struct TaskRow {
  std::string name;
  double unhurried_limit = 0;  ///< FIRWL, kg
  double limit = 0;            ///< STRWL, kg
  double unhurried_index = 0;  ///< FILI, with the heaviest load
  double index = 0;            ///< STLI, with the mean load
  double adds = 0;             ///< its share of the job's index
};
struct JobResult {
  double index = 0;           ///< composite lifting index CLI; infinite when the summed frequency allows no load
  std::vector<TaskRow> rows;  ///< most stressful first
  std::string beyond;
  std::vector<std::string> assumed, cautions;
};
/// Composite index of tasks done in one job: the worst task alone, plus what each further one adds through the summed
/// frequency. Problems: those of solve(), named by task; no task at all.
Outcome<JobResult> solve_job(const std::vector<Inputs>& tasks);
/// The same from limits already known (rows as unhurried limit, loads, frequency and height class).
struct KnownTask {
  std::string name;
  double unhurried_limit = 0, load = 0, heaviest = 0;  ///< kg
  double frequency = 0;                                ///< 1/s
  bool low = false;                                    ///< hands below 75 cm (30 in) at the origin
};
Outcome<JobResult> solve_job_known(const std::vector<KnownTask>& tasks, Duration duration);

/// What is really lifted: the pallet with everything that is on it when it is heaviest.
struct Load {
  double pallet = 0;       ///< kg, plate with pins, pads and inserts
  int parts = 0;           ///< number of nests that carry a part
  double part_before = 0;  ///< kg, part as it arrives
  double part_after = 0;   ///< kg, part as it leaves
  int screws = 0;
  double screw = 0;              ///< kg each, with washer
  double coolant_per_part = 0;   ///< kg that clings to or stands in each part
  double coolant_on_pallet = 0;  ///< kg in troughs and wells
  double swarf = 0;              ///< kg left lying
};
struct LiftedMass {
  double going_in = 0;                     ///< kg, dry, parts as they arrive
  double coming_out = 0;                   ///< kg, wet, parts as they leave, swarf lying
  double heaviest = 0;                     ///< kg, the larger: this is lifted
  double empty_dry = 0, per_part_in = 0;   ///< kg: going_in = empty_dry + parts * per_part_in
  double empty_wet = 0, per_part_out = 0;  ///< kg: coming_out = empty_wet + parts * per_part_out
};
/// Adds up the two states. Problems: any negative or missing number.
Outcome<LiftedMass> lifted_mass(const Load& load);
/// Most parts on the pallet that keep both states within `limit` (kg); -1 when even the empty pallet is above it.
int parts_within(const LiftedMass& mass, double limit);

/// The words that go with every lifting number.
std::vector<std::string> cautions();

}  // namespace fettle::lifting
