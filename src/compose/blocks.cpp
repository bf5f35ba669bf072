#include "compose/blocks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fettle::compose {

using frame::Vec3;
using program::Motion;
using program::Move;

namespace {

Problem at_line(const std::string& file, int line, std::string what, std::string found = {},
                std::string expected = {}) {
  Problem p = bad(std::move(what), std::move(found), std::move(expected));
  p.where = {file, line, 0};
  return p;
}

bool moves(const Move& m) {
  return m.kind == Motion::rapid || m.kind == Motion::feed || m.kind == Motion::clockwise || m.kind == Motion::counter;
}

class Splitter {
 public:
  Splitter(const program::Run& run, std::string file, double safe) : run_(run), file_(std::move(file)), safe_(safe) {}

  Outcome<Blocks> split() {
    for (std::size_t i = 0; i < run_.moves.size() && problems_.size() < 20;) i = take(i);
    close();
    if (out_.blocks.empty() && problems_.empty()) problems_.push_back(at_line(file_, 0, "the program cuts nothing"));
    if (!problems_.empty()) return problems_;
    return std::move(out_);
  }

 private:
  void wrong(const Move& m, std::string what, std::string found = {}, std::string expected = {}) {
    problems_.push_back(at_line(file_, m.line, std::move(what), std::move(found), std::move(expected)));
  }
  Step step(Do what, const Move& m) const {
    Step s;
    s.what = what;
    s.feed = m.feed;
    return s;
  }

  std::size_t take(std::size_t i) {
    const Move& m = run_.moves[i];
    if (m.kind == Motion::tool_change) {
      close();
      open_ = true;
      now_ = {};
      now_.tool = m.tool;
      now_.first_line = m.line;
      return i + 1;
    }
    if (m.kind == Motion::spindle) spindle(m);
    else if (m.kind == Motion::coolant && begun_) add_coolant(m);
    else if (m.kind == Motion::dwell && begun_) {
      Step s = step(Do::dwell, m);
      s.seconds = m.seconds;
      now_.steps.push_back(s);
    } else if (m.kind == Motion::stop && begun_) {
      Step s = step(m.held.optional ? Do::optional_stop : Do::stop, m);
      s.words = fmt::format("stop of the given program, line {}", m.line);
      now_.steps.push_back(s);
    } else if (m.kind == Motion::probe) {
      wrong(m, "probing in a program for one part cannot be moved to other nests");
    } else if (moves(m)) {
      now_.last_line = m.line;
      return motion(i);
    }
    return i + 1;
  }

  void spindle(const Move& m) {
    if (m.spindle < 0) wrong(m, "the spindle turns counter-clockwise", "M4", "M3");
    if (m.spindle > 0 && speed_ > 0 && begun_ && m.spindle != speed_) {
      Step s = step(Do::spindle, m);
      s.speed = m.spindle;
      now_.steps.push_back(s);
    }
    speed_ = std::max(0.0, m.spindle);
  }
  void add_coolant(const Move& m) {
    Step s = step(Do::coolant, m);
    s.count = m.held.flood ? 1 : 0;
    now_.steps.push_back(s);
  }

  /// True when the move may be made over other nests; else it is a problem with its line.
  bool may(const Move& m) {
    const std::size_t before = problems_.size();
    const bool arc = m.kind == Motion::clockwise || m.kind == Motion::counter;
    if (!m.held.length_on) wrong(m, "a cut without a length offset", "", "G43 H");
    else if (!down_) wrong(m, "a cut at a height that no line before it says", "", "a Z after G43 H");
    else if (!(m.spindle > 0) && !(speed_ > 0)) wrong(m, "a cut with the spindle stopped");
    else if (m.seconds > 0) wrong(m, "feed by inverse time", "G93", "G94");
    else if (zero_ >= 0 && zero_ != m.zero) wrong(m, "cuts under more than one zero: this is no program for one part");
    else if (arc && m.plane != program::Plane::xy) wrong(m, "an arc outside the XY plane");
    zero_ = m.zero;
    if (now_.speed == 0) now_.speed = m.spindle > 0 ? m.spindle : speed_;
    now_.feed = std::max(now_.feed, m.feed);
    return problems_.size() == before;
  }

  std::size_t motion(std::size_t i) {
    const Move& m = run_.moves[i];
    if (m.held.machine_frame) {
      // Up and away: where to is the machine's matter; here the tool goes over everything.
      if (begun_) up();
      lost_ = true;
      down_ = false;
      return i + 1;
    }
    const bool was_down = down_;
    // Before its length is on, and until a line says Z, the tool's height in this frame means nothing.
    if (m.held.length_on && m.end.z != m.start.z) down_ = true;
    if (!begun_ && m.kind == Motion::rapid && m.start.x == m.end.x && m.start.y == m.end.y)
      return i + 1;  // still coming down
    if (!open_) return wrong(m, "a move before any tool was put in"), i + 1;
    if (m.held.radius_left || m.held.radius_right)
      return wrong(m, "radius compensation: what stands here is the outline, not the way of the tool",
                   m.held.radius_left ? "G41" : "G42", "a program for the tool's centre"),
             i + 1;
    if (m.cycle != 0) return cycle(i);
    if (m.kind != Motion::rapid && !may(m)) return i + 1;
    begin(m, was_down);
    if (down_) note_height(m.end.z);
    if (m.kind == Motion::rapid) rapid(m);
    else if (m.kind == Motion::feed) line(m);
    else arc(m);
    return i + 1;
  }

  /// The first place of a block, or the first after a move in machine coordinates: over it, then down to it.
  void begin(const Move& m, bool start_known) {
    if (begun_ && !lost_) return;
    const Vec3 to = m.kind == Motion::rapid ? m.end : m.start;
    Step s;
    s.what = Do::rapid;
    s.x = to.x;
    s.y = to.y;
    now_.steps.push_back(s);
    if (m.kind != Motion::rapid && start_known) {
      Step z;
      z.what = Do::rapid;
      z.z = m.start.z;
      now_.steps.push_back(z);
    }
    begun_ = true;
    lost_ = false;
  }
  void note_height(double z) {
    now_.lowest = noted_ ? std::min(now_.lowest, z) : z;
    now_.highest = noted_ ? std::max(now_.highest, z) : z;
    noted_ = true;
  }
  void rapid(const Move& m) {
    Step s = step(Do::rapid, m);
    s.x = m.end.x;
    s.y = m.end.y;
    if (down_) s.z = m.end.z;
    now_.steps.push_back(s);
  }
  void line(const Move& m) {
    Step s = step(Do::line, m);
    s.x = m.end.x;
    s.y = m.end.y;
    s.z = m.end.z;
    now_.steps.push_back(s);
  }
  /// In pieces of at most half a turn, full turns included.
  void arc(const Move& m) {
    const double sweep = program::sweep(m);
    const int pieces = std::max(1, static_cast<int>(std::ceil(sweep / 3.14159265358979323846 - 1e-9)));
    for (int k = 1; k <= pieces; ++k) {
      const Vec3 p = k == pieces ? m.end : program::place(m, static_cast<double>(k) / pieces);
      Step s = step(Do::arc, m);
      s.x = p.x;
      s.y = p.y;
      if (m.end.z != m.start.z) s.z = p.z;
      s.centre = m.centre;
      s.clockwise = m.kind == Motion::clockwise;
      now_.steps.push_back(s);
    }
  }

  /// The moves of one cycle at one place, folded back: to the first feed and down to the deepest place.
  std::size_t cycle(std::size_t i) {
    const Move& m = run_.moves[i];
    std::size_t end = i;
    while (end < run_.moves.size() && run_.moves[end].cycle == m.cycle && run_.moves[end].line == m.line) ++end;
    std::size_t k = i;
    while (k < end) {
      std::size_t down = k;
      while (down < end && run_.moves[down].kind != Motion::feed) ++down;
      if (down == end) break;
      const Move& f = run_.moves[down];
      down_ = down_ || f.held.length_on;  // a cycle's own planes are heights that the program says
      if (!may(f)) return end;
      Step s = step(Do::cycle, f);
      s.x = f.end.x;
      s.y = f.end.y;
      s.clear = f.start.z;
      s.speed = f.spindle > 0 ? f.spindle : speed_;
      s.count = 1;
      double deepest = f.end.z;
      int feeds = 0;
      std::size_t q = down;
      for (; q < end; ++q) {
        const Move& g = run_.moves[q];
        if (g.end.x != f.end.x || g.end.y != f.end.y) break;
        if (g.kind == Motion::feed) {
          deepest = std::min(deepest, g.end.z);
          if (g.end.z < g.start.z) ++feeds;
        }
      }
      s.z = deepest;
      s.cycle = kind_of(m.cycle, feeds);
      if (s.cycle == Cycle::none) return wrong(m, fmt::format("the cycle G{} is not composed", m.cycle)), end;
      s.peck = s.cycle == Cycle::tap ? (s.speed > 0 ? f.feed * 2 * 3.14159265358979323846 / s.speed : 0)
                                     : f.start.z - f.end.z;
      Step over;
      over.what = Do::rapid;
      over.x = f.end.x;
      over.y = f.end.y;
      begun_ = true;
      lost_ = false;
      note_height(deepest);
      now_.steps.push_back(over);
      // Every hole begins and ends high: no nest has to be like the one that the program was written for.
      Step high;
      high.what = Do::rapid;
      high.z = safe_;
      now_.steps.push_back(high);
      now_.steps.push_back(s);
      k = q;
    }
    return end;
  }
  static Cycle kind_of(int code, int feeds) {
    switch (code) {
      case 81:
      case 82:
        return Cycle::drill;
      case 73:
      case 83:
        return feeds > 1 ? Cycle::peck : Cycle::drill;
      case 84:
        return Cycle::tap;
      case 85:
      case 89:
        return Cycle::bore_out_at_feed;
      case 86:
        return Cycle::bore_stop_out;
      default:
        return Cycle::none;
    }
  }

  void up() {
    Step s;
    s.what = Do::rapid;
    s.z = safe_;
    now_.steps.push_back(s);
  }
  void close() {
    if (open_ && begun_) {
      up();
      if (now_.highest > safe_ + 1e-9)
        out_.notes.push_back(fmt::format("T{}: the given program goes {:.3f} mm above the safe height", now_.tool,
                                         (now_.highest - safe_) * 1e3));
      if (now_.speed > 0) out_.blocks.push_back(std::move(now_));
      else if (problems_.empty())
        out_.notes.push_back(
            fmt::format("T{}: moves without a cut are left out (line {})", now_.tool, now_.first_line));
    }
    open_ = begun_ = lost_ = down_ = noted_ = false;
    speed_ = 0;
    now_ = {};
  }

  const program::Run& run_;
  std::string file_;
  double safe_;
  Blocks out_;
  Problems problems_;
  ToolBlock now_;
  bool open_ = false, begun_ = false, lost_ = false;
  bool down_ = false;   // the tool's height in the program's frame is known
  bool noted_ = false;  // some height of this block is
  int zero_ = -1;
  double speed_ = 0;
};

}  // namespace

Outcome<Blocks> blocks(const program::Run& run, const std::string& file, double safe) {
  return Splitter(run, file, safe).split();
}

}  // namespace fettle::compose
