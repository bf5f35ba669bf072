// Canned cycles as the moves they are. Source: NISTIR 6556, G81 to G89; G73 and G74 are the classic form (common
// practice). The level of G98 is that at which the series of cycles began, as the report's text has it.
#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "program/machine.h"

namespace fettle::program {
namespace {

constexpr std::uint32_t bit(char c) { return 1U << static_cast<unsigned>(c - 'a'); }
bool is_peck(int code) { return code == 730 || code == 830; }
bool dwells(int code) { return code == 820 || code == 860 || code == 880 || code == 890; }
/// A last peck shorter than this is rounding.
constexpr double no_peck = 1e-9;

}  // namespace

/// The words that stay from hole to hole.
bool Machine::cycle_words(const Block& b) {
  const char bottom = axes_of(now_.plane).w_letter;
  const int code = motion_;
  const std::size_t at = cycle_at(b);
  if (sticky_.code == 0) sticky_ = {code, nose()};
  const auto keep = [&](char letter, double& to, bool length) {
    if (!use(b, letter)) return;
    to = length ? lengths(b, letter) : b.of(letter);
    sticky_.has |= bit(letter);
  };
  keep(bottom, sticky_.bottom, true);
  keep('r', sticky_.r, true);
  if (is_peck(code)) keep('q', sticky_.q, true);
  if (dwells(code)) keep('p', sticky_.p, false);
  if (code == 870) {
    keep('i', sticky_.i, true);
    keep('j', sticky_.j, true);
    keep('k', sticky_.k, true);
  }
  const std::string said = "G" + g_text(code);
  if (!sticky_.with('r')) return fail(at, "a cycle without R", said, "R, the level where the feed begins");
  if (!sticky_.with(bottom))
    return fail(at, "a cycle without a depth", said,
                std::string(1, static_cast<char>(bottom - 32)) + ", the bottom of the hole");
  if (is_peck(code) && !sticky_.with('q')) return fail(at, "a pecking cycle without Q", said, "Q, the depth of a peck");
  if (is_peck(code) && !(sticky_.q > 0))
    return fail(b.with('q') ? b.where('q') : at, "a peck that does not go down",
                "Q" + base::shortest(sticky_.q / unit()), "Q above 0");
  if ((code == 820 || code == 890) && !sticky_.with('p'))
    return fail(at, "a cycle that dwells, without P", said, "P and the time");
  if (!(sticky_.p >= 0))
    return fail(b.with('p') ? b.where('p') : at, "a time below nothing", "P" + base::shortest(sticky_.p), "P0 or more");
  if (code == 870 && !(sticky_.with('i') && sticky_.with('j') && sticky_.with('k')))
    return fail(at, "back boring as the report has it needs I, J and K", said, "I and J beside the hole, K above");
  return true;
}

bool Machine::cycle(const Block& b) {
  const std::size_t at = cycle_at(b);
  const int code = motion_;
  const std::string said = "G" + g_text(code);
  if (feed_mode_ == 930) return fail(at, "no cycle under inverse time", said, "G94 first");
  if (radius_ != 400) return fail(at, "no cycle under radius compensation", said, "G40 first");
  if (!need_feed(b, at) || !cycle_words(b)) return false;
  const bool spindle_matters = code == 860 || code == 870 || code == 880;
  if (spindle_matters && now_.spindle == 0)
    return fail(at, "this cycle stops and starts the spindle, and it stands", said, "M3 or M4 and a speed first");
  if (code == 840 || code == 740) {
    const bool right = code == 840 ? now_.spindle > 0 : now_.spindle < 0;
    if (!right)
      return fail(at, "tapping, and the spindle does not turn the right way", said,
                  code == 840 ? "M3 and a speed first" : "M4 and a speed first");
  }
  const PlaneAxes a = axes_of(now_.plane);
  long times = 1;
  if (b.with('l') && !whole_of(b, 'l', 0, 99'999, times, at)) return false;
  if (code != 870 && b.with('k')) {
    if (b.with('l')) return fail(b.where('k'), "repeats by L and by K", {}, "one of them");
    if (!whole_of(b, 'k', 0, 99'999, times, at)) return false;
  }
  const double here = place_.*a.w;
  const double deep_shift = shift_.*a.w + local_.*a.w;
  const double r = absolute_ ? sticky_.r + deep_shift : sticky_.r + here;
  const double bottom = absolute_ ? sticky_.bottom + deep_shift : sticky_.bottom + r;
  if (!(bottom <= r))
    return fail(b.with(a.w_letter) ? b.where(a.w_letter) : at, "the bottom of the hole lies above R", {},
                "a depth below R");
  now_.cycle = static_cast<std::int16_t>(code / 10);
  if (here < r) deep(Motion::rapid, r);
  const double level = here + sticky_.level.*a.w - nose().*a.w;  // of the series, in the frame of now
  const double clear = back_to_r_ ? r : std::fmax(level, r);
  bool fine = true;
  for (long n = 0; n < times && fine; ++n) {
    frame::Vec3 to = place_;
    frame::Vec3 aim = target(b);
    to.*a.u = aim.*a.u;
    to.*a.v = aim.*a.v;
    fine = hole(b, to, r, bottom, clear);
    if (fine && run_.moves.size() > setting_.most_moves)
      fine = fail(at, "more moves than a program has: is there an end to the repeats?", {},
                  fmt::format("{} at most", setting_.most_moves));
  }
  now_.cycle = 0;
  return fine;
}

bool Machine::hole(const Block& b, const frame::Vec3& to, double r, double bottom, double clear) {
  const int code = motion_;
  const PlaneAxes a = axes_of(now_.plane);
  if (code == 870) return bore_back(to, r, bottom, clear), true;
  across(to, to.*a.u, to.*a.v);
  if (place_.*a.w != r) deep(Motion::rapid, r);
  if (is_peck(code)) return peck(r, bottom, clear);
  if (code == 840 || code == 740) return tap(bottom, clear);
  deep(Motion::feed, bottom);
  if (dwells(code)) dwell_for(sticky_.p);
  const int turning = turning_;
  if (code == 860 || code == 880) spin(0);
  if (code == 880) {
    emit(Motion::stop);
    if (!noted_hand_) note(cycle_at(b), "G88: the operator draws the tool back by hand; here it goes straight up");
    noted_hand_ = true;
  }
  deep(code == 850 || code == 890 ? Motion::feed : Motion::rapid, clear);
  if (code == 860 || code == 880) spin(turning);
  return true;
}

bool Machine::peck(double r, double bottom, double clear) {
  for (int n = 1;; ++n) {
    const double depth = r - n * sticky_.q;
    if (!(depth > bottom + no_peck)) break;
    if (run_.moves.size() > setting_.most_moves)
      return fail(0, "more pecks than a program has moves", {}, "a larger Q");
    deep(Motion::feed, depth);
    if (motion_ == 830) deep(Motion::rapid, r);
    deep(Motion::rapid, std::fmin(depth + setting_.peck_clearance, r));
  }
  deep(Motion::feed, bottom);
  deep(Motion::rapid, clear);
  return true;
}

bool Machine::tap(double bottom, double clear) {
  const int turning = turning_;
  now_.held.synchronous = true;
  deep(Motion::feed, bottom);
  spin(-turning);
  deep(Motion::feed, clear);
  now_.held.synchronous = false;
  spin(turning);
  return true;
}

/// Back boring: in beside the axis, onto it, up at feed to K, down again, out the way it came.
void Machine::bore_back(const frame::Vec3& to, double r, double bottom, double clear) {
  const PlaneAxes a = axes_of(now_.plane);
  const int turning = turning_;
  const double up = absolute_ ? sticky_.k + shift_.*a.w + local_.*a.w : bottom + sticky_.k;
  across(to, to.*a.u + sticky_.i, to.*a.v + sticky_.j);
  if (place_.*a.w != r) deep(Motion::rapid, r);
  spin(0);
  deep(Motion::rapid, bottom);
  across(to, to.*a.u, to.*a.v);
  spin(turning);
  deep(Motion::feed, up);
  deep(Motion::feed, bottom);
  spin(0);
  across(to, to.*a.u + sticky_.i, to.*a.v + sticky_.j);
  deep(Motion::rapid, clear);
  across(to, to.*a.u, to.*a.v);
  spin(turning);
}

void Machine::deep(Motion kind, double depth) {
  frame::Vec3 to = place_;
  to.*axes_of(now_.plane).w = depth;
  go(kind, to);
}

void Machine::across(const frame::Vec3&, double first, double second) {
  const PlaneAxes a = axes_of(now_.plane);
  frame::Vec3 to = place_;
  to.*a.u = first;
  to.*a.v = second;
  go(Motion::rapid, to);
}

void Machine::dwell_for(double p) {
  if (p > 0) emit(Motion::dwell).seconds = setting_.dwell_in_milliseconds ? p / 1000 : p;
}

void Machine::spin(int turning) {
  turning_ = turning;
  spindle_now();
  emit(Motion::spindle);
}

}  // namespace fettle::program
