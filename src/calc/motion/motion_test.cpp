#include "calc/motion/motion.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>

#include "published.h"

namespace fettle::motion {
namespace {

using frame::Vec3;
using program::Motion;
using program::Move;
using test::How;
using test::published;

constexpr double mm = 1e-3, minute = 60, pi = std::numbers::pi;

Limits machine() {
  Limits l;
  l.rapid = {0.5, 0.5, 0.4};
  l.ramp = {2.5, 20};
  l.path_tolerance = 0.01 * mm;
  l.tool_change = 4.5;
  l.spindle_start = 1.5;
  l.top_speed = 8000 * 2 * pi / minute;
  l.block_time = 0;
  return l;
}
/// A program made by hand, from place to place.
struct Path {
  std::vector<Move> moves;
  Vec3 at;
  int tool = 1, zero = 1;
  Move& add(Motion kind) {
    Move m;
    m.kind = kind;
    m.start = m.end = at;
    m.tool = tool;
    m.zero = static_cast<std::uint8_t>(zero);
    m.line = static_cast<std::int32_t>(moves.size()) + 1;
    moves.push_back(m);
    return moves.back();
  }
  Path& line(Vec3 to, double feed) {
    Move& m = add(Motion::feed);
    m.feed = feed;
    at = m.end = to;
    return *this;
  }
  Path& rapid(Vec3 to) {
    Move& m = add(Motion::rapid);
    at = m.end = to;
    return *this;
  }
  Path& arc(Vec3 to, Vec3 centre, bool counter, double feed) {
    Move& m = add(counter ? Motion::counter : Motion::clockwise);
    m.feed = feed;
    m.centre = centre;
    at = m.end = to;
    return *this;
  }
};
Result run(const std::vector<Move>& moves, const Limits& l) {
  auto r = solve({moves, l});
  EXPECT_TRUE(r.ok()) << (r.ok() ? "" : say(r.problem()));
  return r.ok() ? r.value() : Result{};
}
double total(const std::vector<Move>& moves, const Limits& l) { return run(moves, l).sum.total(); }

// ---- published and exact ----------------------------------------------------------------------------------------

TEST(Motion, RestToRestWithoutJerk) {
  for (const auto& [length, expected] :
       {std::pair{5.0, 0.063246}, {10.0, 0.089443}, {100.0, 0.286667}, {500.0, 0.953333}})
    published("motion", "rest to rest, trapezoid, 36 m/min, 5 m/s2, s", "T = L/v + v/a, else 2 sqrt(L/a)", How::exact,
              expected, profile(length * mm, 0, 0, 0.6, {5, 0}).value().total(), 6e-7);
}

TEST(Motion, RestToRestWithJerk) {
  for (const auto& [length, expected] :
       {std::pair{5.0, 0.147361}, {10.0, 0.185664}, {100.0, 0.400000}, {500.0, 1.053333}})
    published("motion", "rest to rest, jerk 50 m/s3, 36 m/min, 5 m/s2, s",
              "closed form of the symmetric double-S, three regimes", How::computed, expected,
              profile(length * mm, 0, 0, 0.6, {5, 50}).value().total(), 6e-7);
}

TEST(Motion, DoubleSFromASpeed) {
  const std::string source = "Biagiotti and Melchiorri, Springer 2008, Examples 3.9 and 3.10";
  const Ramp r{10, 30};
  const Profile a = profile(10, 1, 0, 5, r).value();
  published("motion", "double-S, v 5: up, s", source, How::from_memory, 0.7333, a.up, 1e-4);
  published("motion", "double-S, v 5: along, s", source, How::from_memory, 1.1433, a.along, 1e-4);
  published("motion", "double-S, v 5: down, s", source, How::from_memory, 0.8333, a.down, 1e-4);
  published("motion", "double-S, v 5: total, s", source, How::from_memory, 2.7100, a.total(), 1e-4);
  const Profile b = profile(10, 1, 0, 10, r).value();
  published("motion", "double-S, v 10: up, s", source, How::from_memory, 1.0747, b.up, 1e-4);
  published("motion", "double-S, v 10: down, s", source, How::from_memory, 1.1747, b.down, 1e-4);
  published("motion", "double-S, v 10: along, s", source, How::from_memory, 0, b.along, 1e-4);
  published("motion", "double-S, v 10: reached, m/s", source, How::from_memory, 8.4136, b.peak, 1e-4);
}

TEST(Motion, CornerCircleTouchesBothSidesAtTheTolerance) {
  // Exact: at 90 deg R = d (1 + sqrt 2); at 60 deg of turn cos(30 deg) = sqrt(3)/2.
  const double d = 0.01 * mm, a = 2.5;
  published("motion", "corner of 90 deg, radius over tolerance", "plane geometry", How::exact, 1 + std::sqrt(2.0),
            std::pow(corner_speed(pi / 2, d, 1, a), 2) / a / d, 1e-9);
  published("motion", "corner of 60 deg, radius over tolerance", "plane geometry", How::exact, 3 + 2 * std::sqrt(3.0),
            std::pow(corner_speed(pi / 3, d, 1, a), 2) / a / d, 1e-9);
  EXPECT_EQ(corner_speed(pi, d, 1, a), 0);
  EXPECT_TRUE(std::isinf(corner_speed(0, d, 1, a)));
  // The room on the sides: R = s/tan(turn/2).
  EXPECT_NEAR(corner_speed(pi / 2, 1, 1e-4, a), std::sqrt(a * 1e-4), 1e-12);
  EXPECT_NEAR(arc_speed(1 * mm, 2.5), 0.05, 1e-15);
  // Found by search, not by formula: a circle that touches both sides of the corner and passes it at d.
  for (double turn : {0.05, 0.4, 1.1, 2.0, 3.0}) {
    double low = 0, high = 1e4 * d;
    for (int k = 0; k < 200; ++k) {
      const double radius = 0.5 * (low + high);
      const double middle = radius / std::sin(0.5 * (pi - turn));  // from the corner along the bisector
      (middle - radius > d ? high : low) = radius;
    }
    EXPECT_NEAR(corner_speed(turn, d, 1e3, a), std::sqrt(a * low), 1e-6 * std::sqrt(a * low)) << turn;
  }
}

// ---- an independent computation: small steps in time -------------------------------------------------------------

struct Stepped {
  double time = 0, way = 0;
};
/// A ramp by steps: jerk up, hold, jerk down so that speed b is met with no acceleration.
Stepped stepped_ramp(double a, double b, const Ramp& r) {
  if (a > b) std::swap(a, b);
  const double dt = 2e-6;
  double v = a, acc = 0;
  Stepped s;
  while (b - v > 0 && s.time < 100) {
    const double to_go = b - v;
    // What still eases out in time: a^2/(2 J) of speed is gained while the acceleration a goes.
    const double ease = std::sqrt(2 * r.jerk * std::max(0.0, to_go - 0.5 * acc * dt));
    const double next = std::min({acc + r.jerk * dt, r.acceleration, std::max(ease, 0.5 * r.jerk * dt)});
    const double mean = 0.5 * (acc + next), step = std::min(dt, to_go / mean);
    s.way += v * step + 0.5 * mean * step * step;
    v += mean * step;
    s.time += step;
    acc = next;
  }
  return s;
}
/// Time of one stretch, its peak found by halving over stepped ramps.
double stepped_stretch(double length, double from, double to, double top, const Ramp& r) {
  double low = std::max(from, to), high = top;
  const auto ways = [&](double p) { return stepped_ramp(from, p, r).way + stepped_ramp(p, to, r).way; };
  if (ways(top) <= length) low = top;
  else
    for (int k = 0; k < 30; ++k) (ways(0.5 * (low + high)) <= length ? low : high) = 0.5 * (low + high);
  const Stepped up = stepped_ramp(from, low, r), down = stepped_ramp(low, to, r);
  return up.time + down.time + std::max(0.0, length - up.way - down.way) / low;
}

TEST(Motion, ChainAgreesWithSmallSteps) {
  // Corners far apart, so that every joint runs at its own corner speed; those are found here by search.
  const Limits l = machine();
  Path p;
  const std::vector<Vec3> places = {{0.03, 0, 0}, {0.03, 0.012, 0}, {0.06, 0.03, 0.004}, {0.05, 0.05, 0}, {0, 0.05, 0}};
  const std::vector<double> feeds = {0.1, 0.05, 0.08, 0.06, 0.02};
  for (std::size_t i = 0; i < places.size(); ++i) p.line(places[i], feeds[i]);
  std::vector<double> joints = {0};
  for (std::size_t i = 1; i < p.moves.size(); ++i) {
    const Vec3 a = frame::unit(p.moves[i - 1].end - p.moves[i - 1].start),
               b = frame::unit(p.moves[i].end - p.moves[i].start);
    const double turn = std::acos(frame::dot(a, b));
    double low = 0, high = 1;
    for (int k = 0; k < 100; ++k) {
      const double radius = 0.5 * (low + high);
      (radius / std::cos(turn / 2) - radius > l.path_tolerance ? high : low) = radius;
    }
    joints.push_back(std::min({std::sqrt(l.ramp.acceleration * low), feeds[i - 1], feeds[i]}));
  }
  joints.push_back(0);
  const Result r = run(p.moves, l);
  double sum = 0;
  for (std::size_t i = 0; i < p.moves.size(); ++i) {
    const double t =
        stepped_stretch(frame::norm(p.moves[i].end - p.moves[i].start), joints[i], joints[i + 1], feeds[i], l.ramp);
    EXPECT_NEAR(r.seconds[i], t, 1e-4 * t) << i;
    sum += t;
  }
  published("motion", "five moves with corners, s", "integration in steps of 2 microseconds", How::computed, sum,
            r.sum.total(), 1e-4 * sum);
}

TEST(Motion, EveryProfileAgreesWithSmallSteps) {
  std::mt19937 random(7);
  const auto u = [&](double a, double b) { return a + (b - a) * std::generate_canonical<double, 53>(random); };
  int n = 0;
  for (int k = 0; k < 40; ++k) {
    const Ramp r{u(1, 10), std::exp(u(std::log(5.0), std::log(500.0)))};
    const double top = u(0.02, 0.6), from = top * u(0, 1), to = top * u(0, 1), length = std::exp(u(-8, -1));
    const auto p = profile(length, from, to, top, r);
    if (!p.ok()) continue;
    ++n;
    const double t = stepped_stretch(length, from, to, top, r);
    EXPECT_NEAR(p->total(), t, 2e-4 * t + 2e-5) << from << " " << to << " " << length;
    EXPECT_LE(p->peak, top * (1 + 1e-15));
  }
  EXPECT_GT(n, 10);
}

TEST(Motion, TimeAtAWayIsTheIntegralOfOneOverSpeed) {
  for (const Ramp r : {Ramp{2.5, 20}, Ramp{2.5, 0}, Ramp{1, 500}}) {
    const Profile p = profile(0.2, 0.01, 0.03, 0.3, r).value();
    EXPECT_EQ(time_at(p, -1, r), 0);
    EXPECT_EQ(time_at(p, 1, r), p.total());
    double before = 0;
    for (int k = 1; k <= 400; ++k) {
      const double t = time_at(p, 0.2 * k / 400, r);
      ASSERT_GT(t, before);
      // No faster than the peak, and no faster than the neighbours allow by acceleration.
      ASSERT_LE(0.2 / 400 / (t - before), p.peak * (1 + 1e-9));
      before = t;
    }
    // The way back is the same profile turned round.
    const Profile q = profile(0.2, 0.03, 0.01, 0.3, r).value();
    EXPECT_NEAR(q.total(), p.total(), 1e-12);
    EXPECT_NEAR(time_at(p, 0.05, r) + time_at(q, 0.15, r), p.total(), 1e-9);
  }
}

// ---- what must hold for any program -----------------------------------------------------------------------------

Path wild(unsigned seed, int n) {
  std::mt19937 random(seed);
  const auto u = [&](double a, double b) { return a + (b - a) * std::generate_canonical<double, 53>(random); };
  Path p;
  for (int k = 0; k < n; ++k) {
    const double step = std::exp(u(std::log(0.05 * mm), std::log(20 * mm)));
    const double way = u(0, 2 * pi), feed = std::exp(u(std::log(0.002), std::log(0.2)));
    p.line(p.at + Vec3{step * std::cos(way), step * std::sin(way), u(-0.3, 0.3) * step}, feed);
  }
  return p;
}

TEST(Motion, TimeNeverFallsWhenAFeedFalls) {
  Limits l = machine();
  int tried = 0;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    l.ramp.jerk = seed % 3 == 0 ? 0 : seed % 3 == 1 ? 20 : 300;
    // Exact without jerk. With it, ramps over several moves rest where the least limit is, and that place can jump.
    const double allowed = l.ramp.jerk > 0 ? 2e-3 : 1e-12;
    Path p = wild(seed, 25);
    const double before = total(p.moves, l);
    for (std::size_t k = 0; k < p.moves.size(); ++k) {
      const double feed = p.moves[k].feed;
      p.moves[k].feed = 0.7 * feed;
      EXPECT_GE(total(p.moves, l), before * (1 - allowed)) << seed << " " << k;
      p.moves[k].feed = feed;
      ++tried;
    }
  }
  EXPECT_EQ(tried, 1500);
}

TEST(Motion, SplittingALineChangesNothing) {
  const Limits l = machine();
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Path p = wild(seed, 12);
    for (std::size_t k = 0; k < p.moves.size(); k += 3)
      for (double share : {0.5, 0.013}) {
        std::vector<Move> split = p.moves;
        Move second = split[k];
        split[k].end = second.start = split[k].start + share * (second.end - second.start);
        split.insert(split.begin() + static_cast<std::ptrdiff_t>(k) + 1, second);
        EXPECT_NEAR(total(split, l), total(p.moves, l), 1e-9 * total(p.moves, l)) << seed << " " << k;
      }
  }
}

TEST(Motion, TheWayBackTakesAsLong) {
  const Limits l = machine();
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Path p = wild(seed, 40);
    std::vector<Move> back(p.moves.rbegin(), p.moves.rend());
    for (Move& m : back) std::swap(m.start, m.end);
    EXPECT_NEAR(total(back, l), total(p.moves, l), 1e-9 * total(p.moves, l)) << seed;
  }
}

TEST(Motion, LargerInAllLengthsTakesAsLong) {
  const Path p = wild(3, 40);
  Limits l = machine();
  const double before = total(p.moves, l);
  std::vector<Move> moves = p.moves;
  for (Move& m : moves) m.start = 2.5 * m.start, m.end = 2.5 * m.end, m.feed *= 2.5;
  l.ramp = {2.5 * l.ramp.acceleration, 2.5 * l.ramp.jerk};
  l.path_tolerance *= 2.5;
  EXPECT_NEAR(total(moves, l), before, 1e-9 * before);
}

TEST(Motion, NoProgramIsQuickerThanItsFeedAndMoreAccelerationIsNeverSlower) {
  Limits l = machine();
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Path p = wild(seed, 40);
    const Result r = run(p.moves, l);
    EXPECT_GE(r.sum.cutting, r.sum.by_feed);
    Limits more = l;
    more.ramp = {1e6, 0};
    more.path_tolerance = 1;
    EXPECT_LE(total(p.moves, more), r.sum.total());
    double sum = 0;
    for (double t : r.seconds) sum += t;
    EXPECT_NEAR(sum, r.sum.total(), 1e-9 * sum);
  }
}

TEST(Motion, ACircleInShortLinesTakesAsLongAsTheArc) {
  const Limits l = machine();
  for (const double radius : {1 * mm, 8 * mm}) {
    const double feed = 0.2;  // more than sqrt(a r) allows
    Path arc, lines;
    arc.at = lines.at = {radius, 0, 0};
    arc.arc({radius, 0, 0}, {0, 0, 0}, true, feed);
    const int n = 720;
    for (int k = 1; k <= n; ++k)
      lines.line({radius * std::cos(2 * pi * k / n), radius * std::sin(2 * pi * k / n), 0}, feed);
    const double t = total(arc.moves, l);
    EXPECT_EQ(run(arc.moves, l).slow_arcs, 1);
    EXPECT_GT(t, 2 * pi * std::sqrt(radius / l.ramp.acceleration));
    EXPECT_NEAR(total(lines.moves, l), t, 1e-2 * t) << (total(lines.moves, l) / t);
  }
}

/// The least time with acceleration alone, no jerk: swept forward and backward over a fine grid of the path.
double swept(const std::vector<Move>& moves, const Limits& l) {
  const double step = 2e-6;
  std::vector<double> square, limit;  // of the speed at grid places; the feed of each cell
  const auto joint = [&](std::size_t i) {
    if (i == 0 || i == moves.size()) return 0.0;
    const Vec3 a = moves[i - 1].end - moves[i - 1].start, b = moves[i].end - moves[i].start;
    const double turn = std::acos(std::clamp(frame::dot(frame::unit(a), frame::unit(b)), -1.0, 1.0));
    return corner_speed(turn, l.path_tolerance, 0.5 * std::min(frame::norm(a), frame::norm(b)), l.ramp.acceleration);
  };
  std::vector<double> cell;
  for (std::size_t i = 0; i < moves.size(); ++i) {
    const double length = frame::norm(moves[i].end - moves[i].start);
    const int n = std::max(1, static_cast<int>(std::ceil(length / step)));
    for (int k = 0; k < n; ++k) {
      square.push_back(std::pow(k == 0 ? std::min(joint(i), moves[i].feed) : moves[i].feed, 2));
      if (k == 0 && i > 0) square.back() = std::min(square.back(), std::pow(moves[i - 1].feed, 2));
      cell.push_back(length / n);
    }
  }
  square.push_back(0);
  for (std::size_t k = 0; k < cell.size(); ++k)
    square[k + 1] = std::min(square[k + 1], square[k] + 2 * l.ramp.acceleration * cell[k]);
  for (std::size_t k = cell.size(); k-- > 0;)
    square[k] = std::min(square[k], square[k + 1] + 2 * l.ramp.acceleration * cell[k]);
  double t = 0;
  for (std::size_t k = 0; k < cell.size(); ++k) t += 2 * cell[k] / (std::sqrt(square[k]) + std::sqrt(square[k + 1]));
  return t;
}

TEST(Motion, AgainstTheSweptPath) {
  Limits jerk = machine(), none = machine();
  none.ramp.jerk = 0;
  for (unsigned seed = 1; seed <= 5; ++seed) {
    const Path p = wild(seed, 30);
    const double t = swept(p.moves, none), got = total(p.moves, none);
    published("motion", "30 moves with corners, no jerk, s", "speed swept over a grid of 2 micrometres", How::computed,
              t, got, 1e-3 * t);
    // Jerk costs, and never less than nothing: at most one A/J for each joint besides.
    EXPECT_GE(total(p.moves, jerk), t * (1 - 1e-3));
    EXPECT_LE(total(p.moves, jerk), t + 31 * jerk.ramp.acceleration / jerk.ramp.jerk);
  }
}

// ---- the other lines of a program -------------------------------------------------------------------------------

TEST(Motion, RapidsDwellsChangesAndStops) {
  const Limits l = machine();
  Path p;
  p.tool = 11;
  p.add(Motion::tool_change);
  p.add(Motion::spindle).spindle = l.top_speed / 2;
  p.rapid({0.1, 0.05, 0});  // X takes longest: 0.1 at 0.5 m/s, along the diagonal
  p.zero = 2;
  p.line({0.1, 0.05, -0.01}, 0.01);
  p.add(Motion::dwell).seconds = 2.5;
  p.add(Motion::spindle).spindle = -l.top_speed / 2;
  p.add(Motion::stop);
  p.add(Motion::coolant);
  const Result r = run(p.moves, l);
  EXPECT_EQ(r.seconds[0], 4.5);
  EXPECT_NEAR(r.seconds[1], 0.75, 1e-12);
  const double diagonal = std::hypot(0.1, 0.05);
  EXPECT_NEAR(r.seconds[2], profile(diagonal, 0, 0, 0.5 * diagonal / 0.1, l.ramp)->total(), 1e-12);
  EXPECT_NEAR(r.seconds[3], profile(0.01, 0, 0, 0.01, l.ramp)->total(), 1e-12);
  EXPECT_EQ(r.seconds[4], 2.5);
  EXPECT_NEAR(r.seconds[5], 1.5, 1e-12);
  EXPECT_EQ(r.changes, 1);
  EXPECT_EQ(r.stops, 1);
  EXPECT_EQ(r.sum.change, 4.5);
  EXPECT_NEAR(r.sum.spindle, 2.25, 1e-12);
  EXPECT_EQ(r.sum.dwell, 2.5);
  ASSERT_EQ(by_zero(r).size(), 2U);
  ASSERT_EQ(by_tool(r).size(), 1U);
  EXPECT_EQ(by_tool(r)[0].tool, 11);
  EXPECT_NEAR(by_tool(r)[0].times.total(), r.sum.total(), 1e-12);
  EXPECT_NEAR(by_zero(r)[1].times.cutting, r.seconds[3], 0);
}

TEST(Motion, ExactStopAndDwellRestBetweenLines) {
  const Limits l = machine();
  Path straight, stop, dwell;
  straight.line({0.05, 0, 0}, 0.05).line({0.1, 0, 0}, 0.05);
  stop.line({0.05, 0, 0}, 0.05).line({0.1, 0, 0}, 0.05);
  stop.moves[0].held.exact_stop = true;
  dwell.line({0.05, 0, 0}, 0.05);
  dwell.add(Motion::dwell);
  dwell.line({0.1, 0, 0}, 0.05);
  EXPECT_NEAR(total(straight.moves, l), profile(0.1, 0, 0, 0.05, l.ramp)->total(), 1e-12);
  EXPECT_NEAR(total(stop.moves, l), 2 * profile(0.05, 0, 0, 0.05, l.ramp)->total(), 1e-12);
  EXPECT_NEAR(total(dwell.moves, l), total(stop.moves, l), 1e-12);
}

TEST(Motion, TappingFollowsTheSpindle) {
  Limits l = machine();
  l.spindle_start = 3;
  Path p;
  p.line({0, 0, -0.02}, 0.0125);
  p.moves[0].held.synchronous = true;
  p.moves[0].spindle = 10 * 2 * pi;  // 600 rpm, 1.25 mm a turn
  // 600 of 8000 rpm take 0.225 s, so the feed comes up at 0.0125/0.225 m/s2.
  EXPECT_NEAR(total(p.moves, l), profile(0.02, 0, 0, 0.0125, {0.0125 / 0.225, 20})->total(), 1e-12);
}

TEST(Motion, NoLineIsReadFasterThanTheBlockTime) {
  Limits l = machine();
  l.block_time = 0.004;
  Path p;
  for (int k = 1; k <= 1000; ++k) p.line({0.02 * mm * k, 0, 0}, 0.05);  // 0.4 ms each by the feed
  EXPECT_NEAR(total(p.moves, l), 4, 0.05);
  Path still;
  still.line({0, 0, 0}, 0.05);
  EXPECT_EQ(total(still.moves, l), 0.004);
  EXPECT_EQ(total({}, l), 0);
}

TEST(Motion, InverseTimeGivesTheFeed) {
  Path p;
  p.line({0.1, 0, 0}, 0);
  p.moves[0].seconds = 10;
  EXPECT_NEAR(total(p.moves, machine()), profile(0.1, 0, 0, 0.01, machine().ramp)->total(), 1e-12);
}

// ---- refusals ---------------------------------------------------------------------------------------------------

TEST(Motion, BadLimitsAreRefused) {
  const auto refuses = [](auto&& spoil, const std::string& words) {
    Limits l = machine();
    spoil(l);
    const auto r = solve({{}, l});
    ASSERT_FALSE(r.ok()) << words;
    EXPECT_NE(say(r.problem()).find(words), std::string::npos) << say(r.problem());
  };
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (double x : {0.0, -1.0, nan, std::numeric_limits<double>::infinity()}) {
    refuses([&](Limits& l) { l.rapid[0] = x; }, "rapid of X");
    refuses([&](Limits& l) { l.rapid[1] = x; }, "rapid of Y");
    refuses([&](Limits& l) { l.rapid[2] = x; }, "rapid of Z");
    refuses([&](Limits& l) { l.ramp.acceleration = x; }, "acceleration");
    refuses([&](Limits& l) { l.path_tolerance = x; }, "path tolerance");
    refuses([&](Limits& l) { l.top_speed = x; }, "top spindle speed");
  }
  for (double x : {-1.0, nan}) {
    refuses([&](Limits& l) { l.ramp.jerk = x; }, "jerk");
    refuses([&](Limits& l) { l.tool_change = x; }, "tool change");
    refuses([&](Limits& l) { l.spindle_start = x; }, "spindle start");
    refuses([&](Limits& l) { l.block_time = x; }, "block time");
  }
}

TEST(Motion, BadMovesAreRefusedWithTheirLine) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto refuses = [](const Path& p, const std::string& words, int line) {
    const auto r = solve({p.moves, machine()});
    ASSERT_FALSE(r.ok()) << words;
    EXPECT_NE(r.problem().what.find(words), std::string::npos) << r.problem().what;
    EXPECT_EQ(r.problem().where.line, line);
  };
  Path p;
  p.rapid({0.1, 0, 0}).line({0.2, 0, 0}, 0);
  refuses(p, "without a feed", 2);
  p.moves[1].feed = nan;
  refuses(p, "without a feed", 2);
  p.moves[1].feed = std::numeric_limits<double>::infinity();
  refuses(p, "not a finite number", 2);
  p.moves[1].feed = 0.1;
  p.moves[1].end.y = nan;
  refuses(p, "not a finite number", 2);
  p.moves[0].end.y = nan;
  refuses(p, "not a finite number", 1);
  Path q;
  q.add(Motion::dwell).seconds = -1;
  refuses(q, "dwell", 1);
  q.moves[0].kind = Motion::spindle;
  q.moves[0].spindle = nan;
  refuses(q, "spindle", 1);
  Path t;
  t.line({0.1, 0, 0}, 0);
  t.moves[0].kind = Motion::probe;
  refuses(t, "touch", 1);
}

TEST(Motion, BadProfilesAreRefused) {
  const Ramp r{2.5, 20};
  EXPECT_FALSE(profile(-1, 0, 0, 1, r).ok());
  EXPECT_FALSE(profile(1, -1, 0, 1, r).ok());
  EXPECT_FALSE(profile(1, 0, -1, 1, r).ok());
  EXPECT_FALSE(profile(1, 0, 0, 0, r).ok());
  EXPECT_FALSE(profile(1, 2, 0, 1, r).ok());
  EXPECT_FALSE(profile(1, 0, 2, 1, r).ok());
  EXPECT_FALSE(profile(1, 0, 0, 1, {0, 20}).ok());
  EXPECT_FALSE(profile(1, 0, 0, 1, {2.5, -1}).ok());
  EXPECT_FALSE(profile(1e-4, 0, 1, 1, r).ok());
  EXPECT_EQ(profile(0, 0, 0, 1, r)->total(), 0);
}

}  // namespace
}  // namespace fettle::motion
