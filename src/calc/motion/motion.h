#pragma once
// How long a control program runs: every move with jerk, acceleration, corners and arcs. See README.md. SI: m, s, rad.
#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "program/moves.h"

namespace fettle::motion {

// ---- one move, speed to speed -----------------------------------------------------------------------------------

/// Acceleration along the path, and how fast it comes. Jerk 0: at once.
struct Ramp {
  double acceleration = 0;  ///< m/s2
  double jerk = 0;          ///< m/s3
};
/// Time from speed a to speed b with no acceleration at either end; the way it takes is (a + b)/2 times that.
/// dv/A + A/J when dv reaches A^2/J, else 2 sqrt(dv/J).
double ramp_time(double a, double b, const Ramp& ramp);

/// A double-S profile over a straight length: up to a peak, along, and down; acceleration is nothing at both ends and
/// at the peak.
struct Profile {
  double length = 0, start = 0, end = 0;  ///< m, m/s
  double peak = 0;                        ///< m/s, reached
  double up = 0, along = 0, down = 0;     ///< s
  double total() const { return up + along + down; }
};
/// The quickest such profile from speed `start` to `end` over `length`, never above `top`. Problems: numbers below
/// their bounds, start or end above top, a length too short to get from start to end. Source: Biagiotti and Melchiorri,
/// Trajectory Planning for Automatic Machines and Robots, Springer 2008, section 3.4; the peak is found exactly here.
Outcome<Profile> profile(double length, double start, double end, double top, const Ramp& ramp);
/// When the profile has come so far, s from its start; `way` is held between 0 and the length.
double time_at(const Profile& profile, double way, const Ramp& ramp);
/// The largest speed b at which ramp_time brings a to b within `length`.
double reach(double a, double length, const Ramp& ramp);

// ---- corners and arcs -------------------------------------------------------------------------------------------

/// Speed through a corner where the path turns by `turn` rad: that of the circle that touches both sides and passes the
/// corner at `tolerance` m, R = tolerance cos(turn/2)/(1 - cos(turn/2)), at most the circle that uses up `side` m of
/// each side, R tan(turn/2) = side; v = sqrt(acceleration R). Infinite for no turn. Plane geometry, README.md.
double corner_speed(double turn, double tolerance, double side, double acceleration);
/// Speed along an arc whose centripetal acceleration is the limit: sqrt(acceleration radius).
double arc_speed(double radius, double acceleration);

// ---- whole programs ---------------------------------------------------------------------------------------------

/// What a machine can. All of them are needed; a jerk of 0 means that acceleration comes at once.
struct Limits {
  std::array<double, 3> rapid = {};  ///< m/s, of X, Y, Z
  Ramp ramp;                         ///< along the path, whichever way it goes
  double path_tolerance = 0;         ///< m, how far a corner may be cut
  double tool_change = 0;            ///< s, chip to chip
  double spindle_start = 0;          ///< s, from rest to the top speed; other changes of speed in proportion
  double top_speed = 0;              ///< rad/s
  double block_time = 0;             ///< s, least time of one move
};

/// Seconds, by what the machine does.
struct Times {
  double cutting = 0;  ///< in the feed
  double by_feed = 0;  ///< of it: length over feed, what would be left with endless acceleration
  double rapid = 0;    ///< in rapid
  double change = 0;   ///< tool changes
  double spindle = 0;  ///< starting, stopping, changing speed
  double dwell = 0;    ///< dwells
  double probing = 0;  ///< towards the touch
  double other = 0;    ///< lines without motion
  double total() const { return cutting + rapid + change + spindle + dwell + probing + other; }
  Times& operator+=(const Times& t);
};
/// One tool under one zero.
struct Row {
  int tool = 0, zero = 0;
  Times times;
  int moves = 0;
  int changes = 0;         ///< tool changes that brought this tool here
  double length_feed = 0;  ///< m
  double length_rapid = 0;
};
struct Inputs {
  std::span<const program::Move> moves;
  Limits limits;
};
struct Result {
  std::vector<double> seconds;  ///< one for each move
  Times sum;
  std::vector<Row> rows;  ///< in the order of first use
  int changes = 0;        ///< tool changes
  int stops = 0;          ///< where the operator is asked; their time is the operator's and not in here
  int corners = 0;        ///< corners where the path tolerance or the room keeps the speed below the feed
  int slow_arcs = 0;      ///< arcs taken below the feed because of their centripetal acceleration
};
/// Times of all moves. The machine looks ahead without end; rapids, probing, synchronous feed, tool changes, dwells and
/// switches begin and end at rest; between feed moves corner_speed holds. Problems: limits out of bounds, a feed move
/// without a feed, a place or number that is not finite, each with its line.
Outcome<Result> solve(const Inputs& in);

/// Rows added up, by tool and by zero, in the order of first use.
std::vector<Row> by_tool(const Result& result);
std::vector<Row> by_zero(const Result& result);

// ---- limits from a stopwatch ------------------------------------------------------------------------------------

/// Moves that were timed together, from rest to rest.
struct Timed {
  std::span<const program::Move> moves;
  double seconds = 0;
  double scatter = 0.2;  ///< s, one standard deviation of the stopwatch
};
enum class Which { acceleration, jerk, path_tolerance, block_time };
struct FitInputs {
  std::vector<Timed> groups;
  Limits known;  ///< rapid, and start values; numbers that are not asked for stay as they are here
  std::vector<Which> wanted = {Which::acceleration, Which::jerk, Which::path_tolerance, Which::block_time};
};
struct Fitted {
  Which which = Which::acceleration;
  double value = 0, low = 0, high = 0;  ///< SI; the band holds with 95 %
  bool fixed = false;  ///< the data hold it: the band ends inside the bounds, high below four times low
};
struct FitResult {
  Limits limits;                ///< `known` with what was found
  std::vector<Fitted> numbers;  ///< in the order asked for
  std::vector<double> seconds;  ///< of each group with these limits
  double misfit = 0;            ///< sum of squares of (computed - measured)/scatter
  int free = 0;                 ///< groups less numbers
  bool fits = false;            ///< misfit within the 99 % point of chi squared with `free` degrees
  int tries = 0;                ///< times the groups were computed
};
/// Bounds of what is looked for, SI: low and high.
std::array<double, 2> bounds(Which which);
std::string word(Which which);
/// Least squares within the bounds, by damped steps in the logarithms from several starts; bands by how far each number
/// can go, the others following, before the misfit rises by 3.84. Problems: fewer groups than numbers, a time or
/// scatter that is not positive, what solve() says.
Outcome<FitResult> fit(const FitInputs& in);

/// A program whose groups, each after a stop (M0), are timed with a stopwatch for fit(): long, short and very short
/// rapids, squares in the feed, dense lines. Millimetres, G54, within 200 mm of X and 20 mm of Y, no motion in Z.
std::string test_program();
/// The moves between one stop (M0, M1) and the next, from the first stop to the end; what comes before is left out.
std::vector<std::span<const program::Move>> groups_between_stops(std::span<const program::Move> moves);

}  // namespace fettle::motion
