#include "program/machine.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <string_view>
#include <utility>

#include "base/text.h"

namespace fettle::program {
namespace {

constexpr std::string_view axes = "xyz";
constexpr double rpm = 2 * std::numbers::pi / 60;
constexpr std::uint32_t bit(char c) { return 1U << static_cast<unsigned>(c - 'a'); }
constexpr std::uint32_t axis_words = bit('x') | bit('y') | bit('z');
double& axis(frame::Vec3& v, std::size_t i) { return i == 0 ? v.x : i == 1 ? v.y : v.z; }
bool any_axis(const Block& b) { return (b.has & axis_words) != 0; }
std::size_t first_axis(const Block& b) {
  std::size_t at = 65535;
  for (const char c : axes)
    if (b.with(c) && b.where(c) < at) at = b.where(c);
  return at;
}
std::string typed(const Block& b, char letter) { return static_cast<char>(letter - 32) + base::shortest(b.of(letter)); }
std::string g_said(int code) { return "G" + g_text(code); }

}  // namespace

PlaneAxes axes_of(Plane plane) {
  using frame::Vec3;
  if (plane == Plane::xy) return {&Vec3::x, &Vec3::y, &Vec3::z, 'x', 'y', 'z', 'i', 'j', 'k'};
  if (plane == Plane::zx) return {&Vec3::z, &Vec3::x, &Vec3::y, 'z', 'x', 'y', 'k', 'i', 'j'};
  return {&Vec3::y, &Vec3::z, &Vec3::x, 'y', 'z', 'x', 'j', 'k', 'i'};
}

Machine::Machine(const Setting& setting, Parameters& parameters, Run& run)
    : setting_(setting), parameters_(parameters), run_(run), inches_(setting.inches) {
  // A machine that nobody told where it is homed has its reference points at nothing, as in the report's file of
  // parameters; a note says so where it matters.
  for (std::size_t z = 1; z < run_.zeros.size(); ++z)
    if (setting.zeros[z]) put_origin(z, *setting.zeros[z], false);
  for (int z = 1; z <= 9; ++z) {
    frame::Vec3 origin = run_.zeros[static_cast<std::size_t>(z)];
    bool given = false;
    for (int i = 0; i < 3; ++i)
      if (const auto p = setting.parameters.find(5201 + 20 * z + i); p != setting.parameters.end()) {
        axis(origin, static_cast<std::size_t>(i)) = p->second * unit();
        given = true;
      }
    if (given) put_origin(static_cast<std::size_t>(z), origin, false);
  }
  keep_nose(setting.home);
}

bool Machine::fail(std::size_t at, std::string what, std::string found, std::string expected) {
  if (!slip_->any()) *slip_ = {std::move(what), std::move(found), std::move(expected), {}, at};
  return false;
}

void Machine::note(std::size_t at, std::string what) {
  constexpr std::size_t most = 60;  // more say nothing new
  if (run_.notes.size() >= most) return;
  Problem p = bad(std::move(what));
  p.where.line = now_.line;
  p.where.column = static_cast<int>(at);
  run_.notes.push_back(std::move(p));
}

bool Machine::whole_of(const Block& b, char letter, long low, long high, long& out, std::size_t owner) {
  const char name = static_cast<char>(letter - 32);
  if (!use(b, letter))
    return fail(owner, fmt::format("{} is missing", name), {}, fmt::format("{}{} to {}{}", name, low, name, high));
  if (!whole(b.of(letter), out) || out < low || out > high)
    return fail(b.where(letter), "out of range, or not whole", typed(b, letter),
                fmt::format("{}{} to {}{}", name, low, name, high));
  return true;
}

// ---------------------------------------------------------------- frames

void Machine::put_origin(std::size_t zero, frame::Vec3 origin, bool by_program) {
  const frame::Vec3 at = nose();
  if (by_program) run_.zero_sets.push_back({run_.moves.size(), static_cast<int>(zero), run_.zeros[zero], origin});
  run_.zeros[zero] = origin;
  run_.zero_known[zero] = true;
  keep_nose(at);
  put_frame_parameters();
}

/// 5211 to 5213 and the origins from 5221 on, in the units that hold now.
void Machine::put_frame_parameters() {
  if (shift_was_set_)
    for (int i = 0; i < 3; ++i) parameters_.put(5211 + i, axis(shift_kept_, static_cast<std::size_t>(i)) / unit());
  for (std::size_t z = 1; z <= 9; ++z)
    if (run_.zero_known[z])
      for (int i = 0; i < 3; ++i)
        parameters_.put(5201 + 20 * static_cast<int>(z) + i, axis(run_.zeros[z], static_cast<std::size_t>(i)) / unit());
}

bool Machine::known_frame(std::size_t at) {
  if (run_.zero_known[now_.zero] || std::exchange(noted_zero_[now_.zero], true)) return true;
  note(at, fmt::format("nobody said where zero {} is on the machine: its places are right among themselves only",
                       now_.zero <= 9 ? g_said(now_.zero <= 6 ? 530 + 10 * now_.zero : 584 + now_.zero)
                                      : fmt::format("G54.1 P{}", now_.zero - 9)));
  return true;
}

bool Machine::set_zero(const Block& b) {
  const std::size_t owner = b.where(once);
  long kind = 0, which = 0;
  if (!whole_of(b, 'l', 2, 20, kind, owner)) return false;
  if (kind != 2 && kind != 20) return fail(b.where('l'), "G10 sets zeros only", typed(b, 'l'), "L2, or L20 for G54.1");
  if (!whole_of(b, 'p', 1, kind == 2 ? 9 : 70, which, owner)) return false;
  if (!absolute_)
    return fail(owner, "G10 under G91: some controls add to the zero, others set it", {}, "G90 before it");
  const auto zero = static_cast<std::size_t>(kind == 2 ? which : 9 + which);
  frame::Vec3 to = run_.zeros[zero];
  bool any = false;
  for (std::size_t i = 0; i < 3; ++i)
    if (use(b, axes[i])) {
      axis(to, i) = lengths(b, axes[i]);
      any = true;
    }
  if (any) put_origin(zero, to, true);
  return true;
}

bool Machine::shift_axes(const Block& b, int code) {
  const frame::Vec3 here = place_ - shift_ - local_;
  if (code == 920 || code == 520) {
    if (!any_axis(b)) return fail(b.where(once), g_said(code) + " without an axis", {}, "X, Y or Z");
    frame::Vec3& shift = code == 920 ? shift_ : local_;
    frame::Vec3 at = here;
    for (std::size_t i = 0; i < 3; ++i) {
      if (!use(b, axes[i])) continue;
      const double wanted = lengths(b, axes[i]);
      axis(shift, i) = code == 520 ? wanted : axis(shift, i) + axis(at, i) - wanted;
    }
  } else {
    shift_ = code == 923 ? shift_kept_ : frame::Vec3{};
  }
  if (code == 520) return true;
  if (code == 920) shift_kept_ = shift_;
  if (code == 921) shift_kept_ = {};
  shift_was_set_ = true;
  put_frame_parameters();
  return true;
}

bool Machine::go_home(const Block& b, int code) {
  const bool some = any_axis(b);
  if (some) {
    known_frame(b.where(once));
    go(Motion::rapid, target(b));
  }
  const frame::Vec3 from = nose();
  frame::Vec3 to = from;
  const int first = code == 280 ? 5161 : 5181;
  for (std::size_t i = 0; i < 3; ++i) {
    if (some && !b.with(axes[i])) continue;
    const int p = first + static_cast<int>(i);
    if (!parameters_.was_set(p) && !std::exchange(noted_home_, true))
      note(b.where(once), fmt::format("{} goes to machine zero: #{} was not given", g_said(code), p));
    axis(to, i) = parameters_.get(p) * unit();
  }
  Move& m = emit(Motion::rapid);
  m.held.machine_frame = true;
  m.start = from;
  m.end = to;
  keep_nose(to);
  return true;
}

// ---------------------------------------------------------------- one line

bool Machine::execute(const Block& b, std::int32_t line, Slip& slip, After& after) {
  slip_ = &slip;
  now_.line = line;
  used_ = 0;
  if (!b.settings.empty() && !settings(b)) return false;
  if ((b.has | b.g_groups) == 0 && b.m_count == 0) return true;
  return words(b) && modes(b) && frames(b) && motion_of(b) && stop(b, after) && all_used(b);
}

bool Machine::settings(const Block& b) {
  for (const Block::Set& s : b.settings) {
    if (s.named) continue;  // the reader has put it
    parameters_.put(s.index, s.value);
    if (s.index >= 5211 && s.index <= 5213)
      axis(shift_kept_, static_cast<std::size_t>(s.index - 5211)) = s.value * unit();
    if (s.index == 5220)
      fail(0, "the active zero is chosen by G54 and its like, not by #5220", "#5220", "G54 to G59.3");
    if (s.index < 5221 || s.index > 5389 || (s.index - 5221) % 20 > 2) continue;
    const int number = 1 + (s.index - 5221) / 20, which = (s.index - 5221) % 20;
    const auto zero = static_cast<std::size_t>(number);
    frame::Vec3 to = run_.zeros[zero];
    axis(to, static_cast<std::size_t>(which)) = s.value * unit();
    put_origin(zero, to, true);
  }
  return !slip_->any();
}

/// Feed mode, speed, tool, change, spindle, coolant, dwell: what comes before any frame.
bool Machine::words(const Block& b) {
  if (const int mode = b.code(feed_mode); mode >= 0 && mode != feed_mode_) {
    feed_mode_ = mode;
    feed_ = 0;  // an F of another kind means nothing now
  }
  if (use(b, 't')) {
    long t = 0;
    if (!whole_of(b, 't', 0, 99'999'999, t, 0)) return false;
    pocket_ = static_cast<std::int32_t>(t);
  }
  if ((b.has & bit('s')) == 0 && b.m_count == 0) return dwell(b);
  return spindle_and_coolant(b) && dwell(b);
}

bool Machine::spindle_and_coolant(const Block& b) {
  const double speed_before = speed_;
  if (use(b, 's')) {
    if (!(b.of('s') >= 0)) return fail(b.where('s'), "a speed below nothing", typed(b, 's'), "S0 or more");
    speed_ = b.of('s') * rpm;
  }
  int turn = turning_, change = -1;
  bool turned = false, flood = flood_, mist = mist_;
  for (int i = 0; i < b.m_count; ++i) {
    const int code = b.m[static_cast<std::size_t>(i)];
    if (code == 6) change = i;
    if (code >= 3 && (code <= 5 || code == 19)) {
      turn = code == 3 ? 1 : code == 4 ? -1 : 0;
      turned = true;
    }
    if (code == 7) mist = true;
    if (code == 8) flood = true;
    if (code == 9) flood = mist = false;
  }
  if (change >= 0) {
    if (pocket_ < 0)
      return fail(b.m_at[static_cast<std::size_t>(change)], "M6, and no tool was called", {},
                  "T and a number before M6");
    now_.tool = pocket_;
    if (!turned) turn = 0;
    turning_ = 0;
    spindle_now();
    emit(Motion::tool_change);
  }
  if (turned || (turning_ != 0 && speed_ != speed_before)) {
    turning_ = turn;
    spindle_now();
    emit(Motion::spindle);
  }
  if (flood != flood_ || mist != mist_) {
    flood_ = flood;
    mist_ = mist;
    now_.held.flood = flood || mist;
    emit(Motion::coolant);
  }
  return true;
}

void Machine::spindle_now() { now_.spindle = turning_ * speed_; }

bool Machine::dwell(const Block& b) {
  if (b.code(once) != 40) return true;
  const char letter = b.with('p') ? 'p' : 'x';
  if (!use(b, letter)) return fail(b.where(once), "a dwell without a time", "G4", "P and seconds");
  if (!(b.of(letter) >= 0)) return fail(b.where(letter), "a time below nothing", typed(b, letter), "0 or more");
  emit(Motion::dwell).seconds = letter == 'p' && setting_.dwell_in_milliseconds ? b.of('p') / 1000 : b.of(letter);
  return true;
}

/// Plane, units, feed, compensation, zero, path, distance, return level.
bool Machine::modes(const Block& b) {
  if (b.g_groups == 0 && !b.with('f')) return true;
  if (const int c = b.code(plane); c >= 0) {
    const Plane wanted = c == 170 ? Plane::xy : c == 180 ? Plane::zx : Plane::yz;
    if (wanted != now_.plane) sticky_ = {};  // levels of another axis
    now_.plane = wanted;
  }
  if (const int c = b.code(units); c >= 0 && (c == 200) != inches_) {
    inches_ = c == 200;
    put_frame_parameters();
    if (sticky_.code != 0) sticky_ = {sticky_.code, sticky_.level};  // its lengths were of the other units
  }
  if (b.with('f') && !feed(b)) return false;
  if (const int c = b.code(radius_side); c >= 0) {
    if (c != 400 && now_.plane == Plane::yz)
      return fail(b.where(radius_side), "no radius compensation in the YZ plane", g_said(c), "G17 or G18");
    radius_ = c;
    now_.held.radius_left = c == 410;
    now_.held.radius_right = c == 420;
    if (c != 400) use(b, 'd');
    if (c != 400 && !std::exchange(noted_radius_, true))
      note(b.where(radius_side), g_said(c) + ": radius compensation is noted; the places stay those of the program");
  }
  if (!length(b) || !zero(b)) return false;
  if (const int c = b.code(path_mode); c >= 0) {
    now_.held.exact_stop = c != 640;
    if (c == 640) use(b, 'p');
  }
  if (const int c = b.code(distance); c >= 0) absolute_ = c == 900;
  if (const int c = b.code(return_level); c >= 0) back_to_r_ = c == 990;
  return true;
}

bool Machine::feed(const Block& b) {
  use(b, 'f');
  if (!(b.of('f') >= 0)) return fail(b.where('f'), "a feed below nothing", typed(b, 'f'), "F above 0");
  feed_ = feed_mode_ == 930 ? b.of('f') / 60 : feed_mode_ == 950 ? b.of('f') * unit() : b.of('f') * unit() / 60;
  return true;
}

bool Machine::length(const Block& b) {
  const int code = b.code(length_offset);
  if (code < 0) return true;
  const std::size_t owner = b.where(length_offset);
  double length = 0;
  if (code == 431) {
    if (!use(b, 'z')) return fail(owner, "G43.1 without a length", {}, "Z and the length");
    if (b.with('x') || b.with('y')) return fail(first_axis(b), "G43.1 takes a length along Z only", {}, "Z");
    length = lengths(b, 'z');
  } else if (code == 430) {
    long h = 0;
    if (!whole_of(b, 'h', 0, 99'999'999, h, owner)) return false;
    const auto known = setting_.lengths.find(static_cast<int>(h));
    if (h != 0 && known == setting_.lengths.end())
      return fail(b.where('h'), "nobody said how long the tool of this H is", typed(b, 'h'),
                  "an H of the list of tools");
    length = h == 0 ? 0 : known->second;
    if (h == 0) note(b.where('h'), "H0 is no length: the tool counts as having none");
    now_.held.length_on = h != 0;
  }
  if (code != 430) now_.held.length_on = code == 431;
  const frame::Vec3 at = nose();
  now_.length_offset = length;
  keep_nose(at);
  return true;
}

bool Machine::zero(const Block& b) {
  const int code = b.code(work_zero);
  if (code < 0) return true;
  long zero = code > 590 ? code - 584 : code / 10 - 53;
  if (code == 541) {
    if (!whole_of(b, 'p', 1, 70, zero, b.where(work_zero))) return false;
    zero += 9;
  }
  const frame::Vec3 at = nose();
  now_.zero = static_cast<std::uint8_t>(zero);
  keep_nose(at);
  return true;
}

bool Machine::frames(const Block& b) {
  const int code = b.code(once);
  if (code < 0 || code == 40 || code == 530) return true;
  const int asked = b.code(Group::motion);
  if (asked >= 0 && any_axis(b) && code < 921)
    return fail(b.where(once), "two codes want the axes of this line", g_said(code),
                fmt::format("only one of {} and {}", g_said(code), g_said(asked)));
  if (b.code(length_offset) == 431)
    return fail(b.where(once), "two codes want the axes of this line", g_said(code), "G43.1 alone");
  if (code == 100) return set_zero(b);
  if (code == 280 || code == 300) return go_home(b, code);
  return shift_axes(b, code);
}

bool Machine::motion_of(const Block& b) {
  const int other = b.code(once);
  int asked = b.code(Group::motion);
  if (b.code(cycle_off) >= 0) {
    if (asked >= 730)
      return fail(b.where(cycle_off), "two G words of one modal group on a line", "G80", "G80 or a cycle");
    sticky_ = {};
    if (asked < 0) asked = 800;
  }
  if (asked >= 0) {
    if (asked == 800 || asked < 700) {
      sticky_ = {};
    } else if (asked != sticky_.code && sticky_.code != 0) {
      sticky_ = {asked, sticky_.level};  // the series goes on, its words do not
    }
    motion_ = asked;
    after_probe_ = false;
  }
  if (other >= 0 && other != 530 && other != 40) return true;  // the axes were theirs
  if (b.code(length_offset) == 431) {
    if (asked > 0)
      return fail(b.where(Group::motion), "two codes want the axes of this line", g_said(asked), "G43.1 alone");
    return true;
  }
  // X of a dwell is its time.
  const std::uint32_t has = other == 40 && !b.with('p') ? b.has & ~bit('x') : b.has;
  const bool round = (motion_ == 20 || motion_ == 30) && (has & (bit('i') | bit('j') | bit('k') | bit('r'))) != 0;
  if ((has & axis_words) != 0 || round) {
    if (has != b.has)
      return fail(b.where('x'), "X is the dwell's time and cannot be a place too", typed(b, 'x'), "P and seconds");
    return move(b);
  }
  if (other == 530) return fail(b.where(once), "G53 without a place", {}, "X, Y or Z");
  if (asked > 10 && asked != 800)
    return fail(b.where(Group::motion), "a motion without a place", g_said(asked), "X, Y or Z");
  return true;
}

bool Machine::move(const Block& b) {
  if (b.code(once) == 530) return in_machine_frame(b);
  if (motion_ == 800)
    return fail(first_axis(b),
                after_probe_ ? "a place after a probing move, and no motion said" : "a place, and no motion is on", {},
                "G0, G1, G2, G3 or a cycle on the line");
  known_frame(first_axis(b) == 65535 ? 0 : first_axis(b));
  if (motion_ == 0) return go(Motion::rapid, target(b)), true;
  if (motion_ == 10) {
    if (!need_feed(b, b.code(Group::motion) < 0 ? first_axis(b) : b.where(Group::motion))) return false;
    return go(Motion::feed, target(b)), true;
  }
  if (motion_ == 20 || motion_ == 30) return arc(b);
  if (motion_ == 310 || motion_ == 382) return probe(b);
  return cycle(b);
}

bool Machine::stop(const Block& b, After& after) {
  for (int i = 0; i < b.m_count; ++i) {
    const int code = b.m[static_cast<std::size_t>(i)];
    const std::size_t at = b.m_at[static_cast<std::size_t>(i)];
    if (code == 0 || code == 60 || (code == 1 && setting_.optional_stop)) {
      Move& m = emit(Motion::stop);
      if (code == 1) m.held.optional = true;
    } else if (code == 2 || code == 30) {
      end_state();
      emit(Motion::end);
      run_.ended = true;
      after.kind = After::Kind::end;
    } else if (code == 98) {
      if (!whole_of(b, 'p', 1, 99'999'999, after.program, at)) return false;
      if (b.with('l') && !whole_of(b, 'l', 0, 99'999, after.times, at)) return false;
      after.kind = After::Kind::call;
      after.at = b.where('p');
    } else if (code == 99) {
      if (b.with('p'))
        return fail(b.where('p'), "M99 back to a line of one's choice is not followed", typed(b, 'p'), "M99 alone");
      after.kind = After::Kind::give_back;
      after.at = at;
    }
  }
  return true;
}

bool Machine::all_used(const Block& b) {
  const std::uint32_t left = b.has & ~used_;
  if (left == 0) return true;
  char first = 'a';
  for (char c = 'a'; c <= 'z'; ++c)
    if ((left & bit(c)) != 0 && ((left & bit(first)) == 0 || b.where(c) < b.where(first))) first = c;
  const char* owners = "a code that uses it";
  switch (first) {
    case 'd':
      owners = "G41 or G42";
      break;
    case 'h':
      owners = "G43";
      break;
    case 'i':
    case 'j':
    case 'k':
      owners = "G2 or G3 in its plane";
      break;
    case 'l':
      owners = "G10, M98 or a cycle";
      break;
    case 'p':
      owners = "G2 or G3, G4, G10, G54.1, M98 or a cycle that dwells";
      break;
    case 'q':
      owners = "G73 or G83";
      break;
    case 'r':
      owners = "G2, G3 or a cycle";
      break;
    default:
      break;
  }
  return fail(b.where(first), "this word belongs to nothing on its line", typed(b, first), owners);
}

/// What the end of a program leaves: no shift of G92, G54, G17, G90, G94, G40, G1, spindle and coolant off.
void Machine::end_state() {
  const frame::Vec3 at = nose();
  const bool optional = now_.held.optional;
  shift_ = {};
  now_.zero = 1;
  now_.plane = Plane::xy;
  now_.held.flood = flood_ = mist_ = false;
  now_.held.radius_left = now_.held.radius_right = false;
  now_.held.optional = optional;
  absolute_ = true;
  feed_mode_ = 940;
  radius_ = 400;
  motion_ = 10;
  sticky_ = {};
  turning_ = 0;
  spindle_now();
  keep_nose(at);
}

void Machine::finish() { run_.parameters = parameters_.all(); }

// ---------------------------------------------------------------- moves

Move& Machine::emit(Motion kind) {
  run_.moves.push_back(now_);
  Move& m = run_.moves.back();
  m.kind = kind;
  m.start = m.end = place_;
  return m;
}

void Machine::set_feed(Move& m) const {
  if (feed_mode_ == 940) {
    m.feed = feed_;
  } else if (feed_mode_ == 950) {
    m.feed = feed_ * std::fabs(now_.spindle) / (2 * std::numbers::pi);
  } else {
    m.feed = program::length(m) * feed_;
    m.seconds = 1 / feed_;
  }
}

void Machine::go(Motion kind, const frame::Vec3& to) {
  Move& m = emit(kind);
  m.end = place_ = to;
  if (kind != Motion::rapid) set_feed(m);
}

frame::Vec3 Machine::target(const Block& b) {
  frame::Vec3 to = place_;
  used_ |= axis_words;
  if (absolute_) {
    if (b.with('x')) to.x = lengths(b, 'x') + shift_.x + local_.x;
    if (b.with('y')) to.y = lengths(b, 'y') + shift_.y + local_.y;
    if (b.with('z')) to.z = lengths(b, 'z') + shift_.z + local_.z;
  } else {
    if (b.with('x')) to.x += lengths(b, 'x');
    if (b.with('y')) to.y += lengths(b, 'y');
    if (b.with('z')) to.z += lengths(b, 'z');
  }
  return to;
}

bool Machine::need_feed(const Block& b, std::size_t at) {
  if (feed_mode_ == 930 && !b.with('f'))
    return fail(at, "inverse time (G93) wants F on every line that moves", {}, "F");
  if (!(feed_ > 0)) return fail(at, "a move at feed, and no feed is set", {}, "F above 0");
  if (feed_mode_ == 950 && now_.spindle == 0)
    return fail(at, "feed by the turn (G95), and the spindle stands", {}, "M3 or M4 and a speed first");
  return true;
}

bool Machine::in_machine_frame(const Block& b) {
  const std::size_t at = b.where(once);
  if (motion_ != 0 && motion_ != 10)
    return fail(at, "G53 goes with G0 or G1 only", motion_ == 800 ? "no motion" : g_said(motion_), "G0 or G1");
  if (radius_ != 400) return fail(at, "G53 under radius compensation", {}, "G40 first");
  if (motion_ == 10 && !need_feed(b, at)) return false;
  Move& m = emit(motion_ == 0 ? Motion::rapid : Motion::feed);
  m.held.machine_frame = true;
  m.start = nose();
  m.end = m.start;
  for (std::size_t i = 0; i < 3; ++i)
    if (use(b, axes[i])) axis(m.end, i) = lengths(b, axes[i]);
  keep_nose(m.end);
  if (motion_ == 10) set_feed(m);
  return true;
}

bool Machine::probe(const Block& b) {
  const std::size_t at = b.code(Group::motion) >= 0 ? b.where(Group::motion) : first_axis(b);
  if (feed_mode_ == 930) return fail(at, "no probing under inverse time", {}, "G94 first");
  if (!need_feed(b, at)) return false;
  const frame::Vec3 to = target(b);
  if (to == place_) return fail(at, "a probing move that goes nowhere", {}, "a place away from here");
  go(Motion::probe, to);
  Move& m = run_.moves.back();
  if (setting_.probe_hits) {
    const auto hit = setting_.probe_hits(m);
    if (!hit && motion_ == 382)
      return fail(at, "the probe touches nothing on its way", "G38.2", "something in its way");
    if (hit) m.end = place_ = *hit;
  } else if (!std::exchange(noted_probe_, true)) {
    note(at, "nobody said where the probe touches: each one is taken to touch at the end of its move");
  }
  frame::Vec3 shown = place_ - shift_ - local_;
  for (std::size_t i = 0; i < 3; ++i) parameters_.put(5061 + static_cast<int>(i), axis(shown, i) / unit());
  // The classic G31 holds for its line only, the report's G38.2 goes on: the next place must say its motion.
  motion_ = 800;
  after_probe_ = true;
  return true;
}

}  // namespace fettle::program
