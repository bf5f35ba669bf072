#include "calc/motion/motion.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "base/text.h"
#include "calc/motion/profile.h"

namespace fettle::motion {

namespace {

using frame::Vec3;
using program::Motion;
using program::Move;

/// Two straight moves whose directions differ by less than 1e-5 rad count as one line: sin^2 of half of that.
constexpr double one_line = 2.5e-11;

Problems check(const Limits& l) {
  Problems out;
  const auto refuse = [&](const char* what, double x, const char* expected) {
    out.push_back(bad(fmt::format("{} out of range", what),
                      std::isfinite(x) ? base::shortest(x) : "not a finite number", expected));
  };
  const auto positive = [&](const char* what, double x) {
    if (!(x > 0) || !std::isfinite(x)) refuse(what, x, "more than 0");
  };
  const auto least = [&](const char* what, double x) {
    if (!(x >= 0) || !std::isfinite(x)) refuse(what, x, "at least 0");
  };
  positive("rapid of X", l.rapid[0]);
  positive("rapid of Y", l.rapid[1]);
  positive("rapid of Z", l.rapid[2]);
  positive("acceleration", l.ramp.acceleration);
  least("jerk", l.ramp.jerk);
  positive("path tolerance", l.path_tolerance);
  least("tool change", l.tool_change);
  least("spindle start", l.spindle_start);
  positive("top spindle speed", l.top_speed);
  least("block time", l.block_time);
  return out;
}

/// One feed move of a chain.
struct Block {
  std::size_t move = 0;
  double length = 0, top = 0;            // m, m/s: feed, held down on arcs
  Vec3 first, last;                      // directions
  bool straight = true, rest = false;    // rest: stands still at its end
  double run_before = 0, run_after = 0;  // m, of the straight line that ends with it, that starts with it
};
/// A chain as stretches between places where the acceleration rests: their lengths, the most speed within, and the
/// speed at each of the places (one more than stretches).
struct Stretches {
  std::vector<double> length, top, at;
  void clear(double first) {
    length.clear();
    top.clear();
    at.assign(1, first);
  }
  void add(double l, double most, double end) {
    length.push_back(l);
    top.push_back(most);
    at.push_back(end);
  }
  void turn_round() {
    std::reverse(length.begin(), length.end());
    std::reverse(top.begin(), top.end());
    std::reverse(at.begin(), at.end());
  }
};

/// Holds every place to what can be reached from the one before. Where one stretch is too short for that, it is run
/// together with the next ones in one ramp, under the least of their limits, so that acceleration is carried through.
class Rise {
 public:
  Rise(const Ramp& r, Stretches& out) : r_(r), out_(out) {}
  void run(const Stretches& in) {
    out_.clear(in.at[0]);
    v_ = in.at[0];
    for (std::size_t i = 0; i < in.length.size(); ++i) take(in.length[i], in.top[i], in.at[i + 1]);
  }

 private:
  bool reaches(double from, double to, double length) const {
    return from >= to || to * ramp_time(0, to, r_) <= length || reach_safely(from, length, r_) >= to;
  }
  void close(double length, double top, double end) {
    out_.add(length, top, end);
    v_ = end;
    open_ = 0;
  }
  void take(double length, double top, double limit) {
    if (open_ > 0) {
      const double need = std::max(open_, 0.5 * (v_ + cap_) * ramp_time(v_, cap_, r_)), all = open_ + length;
      if (need > all) {
        const double inside = cap_;
        open_ = all;
        cap_ = std::min(cap_, limit);
        if (reaches(v_, cap_, all)) close(all, inside, cap_);
        return;
      }
      const double rest = all - need;
      if (!(rest > 0) || !reaches(limit, cap_, rest)) return close(all, cap_, std::min(limit, cap_));
      close(need, cap_, cap_);  // the ramp ends within this stretch
      length = rest;
    }
    if (reaches(v_, limit, length)) return close(length, top, limit);
    open_ = length;
    cap_ = limit;
  }

  const Ramp& r_;
  Stretches& out_;
  double v_ = 0;
  double open_ = 0, cap_ = 0;  // length of the ramp that has not reached its speed yet, and that speed
};

class Planner {
 public:
  Planner(const Inputs& in, Result& out) : in_(in), l_(in.limits), r_(in.limits.ramp), out_(out) {}
  Problems run();

 private:
  void one(std::size_t i);
  void feed(std::size_t i);
  void chain();
  void sides();
  void join();
  void speeds();
  void give_times();
  double straight_rest(double length, double top, const Ramp& ramp) const {
    return length > 0 ? std::max(quickest(length, 0, 0, top, ramp).total(), l_.block_time) : l_.block_time;
  }
  double rapid_speed(const Move& m, double length) const;
  double spindle_time(double from, double to) const { return l_.spindle_start * std::fabs(to - from) / l_.top_speed; }
  Row& row(const Move& m);
  void refuse(const Move& m, std::string what, std::string found = {}) {
    if (problems_.size() < 20) {
      Problem p = bad(std::move(what), std::move(found));
      p.where.line = m.line;
      problems_.push_back(std::move(p));
    }
  }

  const Inputs& in_;
  const Limits& l_;
  const Ramp& r_;
  Result& out_;
  Problems problems_;
  std::vector<Block> blocks_;
  std::vector<double> joint_;  // speeds allowed between blocks
  Stretches plan_, turned_;
  std::map<std::pair<int, int>, std::size_t> index_;
  std::size_t row_ = 0;
  double spindle_ = 0;
};

Row& Planner::row(const Move& m) {
  if (!out_.rows.empty() && out_.rows[row_].tool == m.tool && out_.rows[row_].zero == m.zero) return out_.rows[row_];
  const auto [it, fresh] = index_.try_emplace({m.tool, m.zero}, out_.rows.size());
  if (fresh) out_.rows.push_back({m.tool, m.zero, {}});
  row_ = it->second;
  return out_.rows[row_];
}

double Planner::rapid_speed(const Move& m, double length) const {
  const Vec3 d = m.end - m.start;
  // All axes arrive together: the one that takes longest sets the pace.
  const double most =
      std::max({std::fabs(d.x) / l_.rapid[0], std::fabs(d.y) / l_.rapid[1], std::fabs(d.z) / l_.rapid[2]});
  return length / most;
}

bool is_arc(const Move& m) { return m.kind == Motion::clockwise || m.kind == Motion::counter; }

/// Radius in the arc's plane, and the share of the path that runs in it.
std::pair<double, double> radius_of(const Move& m, double length) {
  const Vec3 d = m.start - m.centre;
  const double r = m.plane == program::Plane::xy   ? std::sqrt(d.x * d.x + d.y * d.y)
                   : m.plane == program::Plane::zx ? std::sqrt(d.x * d.x + d.z * d.z)
                                                   : std::sqrt(d.y * d.y + d.z * d.z);
  return {r, length > 0 ? r * program::sweep(m) / length : 1};
}

/// A move in the feed: into the chain, or on its own when it is tied to the spindle.
void Planner::feed(std::size_t i) {
  const Move& m = in_.moves[i];
  const double length = program::length(m);
  if (!(length >= 0) || !std::isfinite(length)) return refuse(m, "a place that is not a finite number");
  const double feed = m.seconds > 0 ? length / m.seconds : m.feed;
  if (length > 0 && !(feed > 0)) return refuse(m, "a move in the feed without a feed");
  if (!std::isfinite(feed)) return refuse(m, "a feed that is not a finite number");
  Row& w = row(m);
  w.length_feed += length;
  w.times.by_feed += length > 0 ? length / feed : 0;
  if (!(length > 0)) {
    out_.seconds[i] = l_.block_time;
    w.times.cutting += l_.block_time;
    return;
  }
  if (m.held.synchronous) {
    chain();
    Ramp ramp = r_;
    // The spindle must come to speed along the way, and no faster than it can.
    if (l_.spindle_start > 0 && m.spindle != 0)
      ramp.acceleration = std::min(ramp.acceleration, feed * l_.top_speed / (l_.spindle_start * std::fabs(m.spindle)));
    out_.seconds[i] = straight_rest(length, feed, ramp);
    w.times.cutting += out_.seconds[i];
    return;
  }
  Block b{i, length, feed};
  b.rest = m.held.exact_stop;
  if (is_arc(m)) {
    b.straight = false;
    b.first = program::heading_at_start(m);
    b.last = program::heading_at_end(m);
    const auto [radius, share] = radius_of(m, length);
    const double most = arc_speed(radius, r_.acceleration) / std::max(share, 1e-12);
    if (most < b.top) b.top = most, ++out_.slow_arcs;
    if (!(b.top > 0)) return refuse(m, "an arc without a radius");
  } else {
    b.first = b.last = (1 / length) * (m.end - m.start);
  }
  blocks_.push_back(b);
}

/// How much straight line there is before and after each joint.
void Planner::sides() {
  const std::size_t n = blocks_.size();
  joint_.assign(n + 1, 0);
  for (std::size_t i = 0; i < n; ++i) {
    blocks_[i].run_before = blocks_[i].run_after = blocks_[i].length;
    if (i == 0) continue;
    const Vec3 d = blocks_[i].first - blocks_[i - 1].last;
    joint_[i] = 0.25 * frame::dot(d, d);  // sin^2 of half the turn, for now
    if (blocks_[i].straight && blocks_[i - 1].straight && joint_[i] < one_line) {
      joint_[i] = 0;
      blocks_[i].run_before += blocks_[i - 1].run_before;
    }
  }
  for (std::size_t i = n - 1; i-- > 0;)
    if (joint_[i + 1] == 0 && blocks_[i].straight && blocks_[i + 1].straight)
      blocks_[i].run_after += blocks_[i + 1].run_after;
  for (std::size_t i = 1; i < n; ++i) {
    const double side = 0.5 * std::min(blocks_[i - 1].run_before, blocks_[i].run_after);
    joint_[i] = blocks_[i - 1].rest ? 0 : corner_speed_by_square(joint_[i], l_.path_tolerance, side, r_.acceleration);
    if (!blocks_[i - 1].rest && joint_[i] < std::min(blocks_[i - 1].top, blocks_[i].top)) ++out_.corners;
  }
  joint_[0] = joint_[n] = 0;
}

/// Joins blocks of one speed between which nothing slows down.
void Planner::join() {
  plan_.clear(0);
  for (std::size_t i = 0; i < blocks_.size(); ++i) {
    const Block& b = blocks_[i];
    if (i > 0 && b.top == plan_.top.back() && joint_[i] >= b.top) {
      plan_.length.back() += b.length;
      continue;
    }
    if (i > 0) plan_.at.back() = std::min({joint_[i], b.top, plan_.top.back()});
    plan_.add(b.length, b.top, 0);
  }
}

/// Backward so that every joint can be braked for, forward so that it can be reached.
void Planner::speeds() {
  plan_.turn_round();
  Rise(r_, turned_).run(plan_);
  turned_.turn_round();
  Rise(r_, plan_).run(turned_);
}

void Planner::give_times() {
  double start = 0, clock = 0, before = 0, come = 0;  // of the stretch; of the block
  std::size_t i = 0;
  for (std::size_t k = 0; k < plan_.length.size(); ++k) {
    const Profile p = quickest(plan_.length[k], plan_.at[k], plan_.at[k + 1], plan_.top[k], r_);
    const double end = start + plan_.length[k];
    const bool last = k + 1 == plan_.length.size();
    for (; i < blocks_.size() && (last || come + blocks_[i].length <= end * (1 + 1e-12)); ++i) {
      come += blocks_[i].length;
      const double now = clock + (last && i + 1 == blocks_.size() ? p.total() : time_at(p, come - start, r_));
      const double t = std::max(now - before, l_.block_time);  // no line is read faster
      out_.seconds[blocks_[i].move] = t;
      row(in_.moves[blocks_[i].move]).times.cutting += t;
      before = now;
    }
    start = end;
    clock += p.total();
  }
}

void Planner::chain() {
  if (blocks_.empty()) return;
  sides();
  join();
  speeds();
  give_times();
  blocks_.clear();
}

/// What is no feed move: from rest to rest.
void Planner::one(std::size_t i) {
  const Move& m = in_.moves[i];
  double& t = out_.seconds[i];
  t = l_.block_time;
  if (m.kind == Motion::rapid || m.kind == Motion::probe) {
    const double length = program::length(m);
    if (!(length >= 0) || !std::isfinite(length)) return refuse(m, "a place that is not a finite number");
    const bool probe = m.kind == Motion::probe;
    if (probe && length > 0 && !(m.feed > 0 && std::isfinite(m.feed)))
      return refuse(m, "a move towards a touch without a feed");
    if (length > 0) t = straight_rest(length, probe ? m.feed : rapid_speed(m, length), r_);
    Row& w = row(m);
    (probe ? w.length_feed : w.length_rapid) += length;
    (probe ? w.times.probing : w.times.rapid) += t;
    return;
  }
  Times& w = row(m).times;
  switch (m.kind) {
    case Motion::dwell:
      if (!(m.seconds >= 0) || !std::isfinite(m.seconds)) return refuse(m, "a dwell that is not a finite time");
      t = std::max(t, m.seconds);
      w.dwell += t;
      break;
    case Motion::tool_change:
      t = std::max(t, l_.tool_change);
      w.change += t;
      spindle_ = 0;
      ++out_.changes;
      ++row(m).changes;
      break;
    case Motion::spindle:
      if (!std::isfinite(m.spindle)) return refuse(m, "a spindle speed that is not a finite number");
      t = std::max(t, spindle_time(spindle_, m.spindle));
      spindle_ = m.spindle;
      w.spindle += t;
      break;
    default:
      if (m.kind == Motion::stop) ++out_.stops;
      w.other += t;
  }
}

Problems Planner::run() {
  out_.seconds.assign(in_.moves.size(), 0);
  for (std::size_t i = 0; i < in_.moves.size(); ++i) {
    const Motion kind = in_.moves[i].kind;
    const bool in_feed = kind == Motion::feed || kind == Motion::clockwise || kind == Motion::counter;
    if (in_feed) {
      feed(i);
    } else {
      chain();
      one(i);
    }
    ++row(in_.moves[i]).moves;
  }
  chain();
  return std::move(problems_);
}

std::vector<Row> added(const Result& r, bool tool) {
  std::vector<Row> out;
  for (const Row& row : r.rows) {
    auto it = std::find_if(out.begin(), out.end(),
                           [&](const Row& o) { return tool ? o.tool == row.tool : o.zero == row.zero; });
    if (it == out.end()) {
      out.push_back(row);
      (tool ? out.back().zero : out.back().tool) = 0;
      continue;
    }
    it->times += row.times;
    it->moves += row.moves;
    it->changes += row.changes;
    it->length_feed += row.length_feed;
    it->length_rapid += row.length_rapid;
  }
  return out;
}

}  // namespace

Times& Times::operator+=(const Times& t) {
  cutting += t.cutting;
  by_feed += t.by_feed;
  rapid += t.rapid;
  change += t.change;
  spindle += t.spindle;
  dwell += t.dwell;
  probing += t.probing;
  other += t.other;
  return *this;
}

Outcome<Result> solve(const Inputs& in) {
  if (Problems p = check(in.limits); !p.empty()) return p;
  Result out;
  Planner planner(in, out);
  if (Problems p = planner.run(); !p.empty()) return p;
  for (const Row& r : out.rows) out.sum += r.times;
  return out;
}

std::vector<Row> by_tool(const Result& r) { return added(r, true); }
std::vector<Row> by_zero(const Result& r) { return added(r, false); }

}  // namespace fettle::motion
