#pragma once
// What the machine does with the words of a line: modal state, frames, motion. Source: NISTIR 6556, order of execution,
// modal groups, coordinate systems, arcs and canned cycles.
#include <array>
#include <string>

#include "program/block.h"
#include "program/read.h"

namespace fettle::program {

/// Where the text goes on after a line.
struct After {
  enum class Kind { next, end, call, give_back } kind = Kind::next;
  long program = 0;  // of a call
  long times = 1;
  std::size_t at = 0;
};

/// First and second axis of a plane, and the one across it; with their letters.
struct PlaneAxes {
  double frame::Vec3::*u, frame::Vec3::*v, frame::Vec3::*w;
  char u_letter, v_letter, w_letter;
  char u_centre, v_centre, w_centre;
};
PlaneAxes axes_of(Plane plane);

class Machine {
 public:
  Machine(const Setting& setting, Parameters& parameters, Run& run);
  /// Runs one line (counted from 1); false with `slip` when it cannot be done.
  bool execute(const Block& block, std::int32_t line, Slip& slip, After& after);
  /// What holds for the lines to come: the text they are in, and whether they stand behind a slash.
  void at_text(std::int16_t file) { now_.file = file; }
  void behind_slash(bool is) { now_.held.optional = is; }
  /// After the last line.
  void finish();

 private:
  // One line, in the order of the report.
  bool settings(const Block&);
  bool words(const Block&);
  bool change_tool(const Block&);
  bool spindle_and_coolant(const Block&);
  bool dwell(const Block&);
  bool modes(const Block&);
  bool feed(const Block&);
  bool length(const Block&);
  bool zero(const Block&);
  bool frames(const Block&);
  bool motion_of(const Block&);
  bool move(const Block&);
  bool stop(const Block&, After&);
  bool all_used(const Block&);
  void end_state();
  // Frames.
  bool set_zero(const Block&);
  bool shift_axes(const Block&, int code);
  bool go_home(const Block&, int code);
  void put_origin(std::size_t zero, frame::Vec3 origin, bool by_program);
  void put_frame_parameters();
  bool known_frame(std::size_t at);
  frame::Vec3 nose() const { return place_ + run_.zeros[now_.zero] + frame::Vec3{0, 0, now_.length_offset}; }
  void keep_nose(frame::Vec3 nose) { place_ = nose - run_.zeros[now_.zero] - frame::Vec3{0, 0, now_.length_offset}; }
  // Motion.
  bool in_machine_frame(const Block&);
  bool arc(const Block&);
  bool by_radius(const Block&, const frame::Vec3& to, Motion kind, frame::Vec3& centre);
  bool by_centre(const Block&, frame::Vec3& to, frame::Vec3& centre);
  bool probe(const Block&);
  bool need_feed(const Block&, std::size_t at);
  frame::Vec3 target(const Block&);
  // Cycles.
  bool cycle(const Block&);
  bool cycle_words(const Block&);
  bool hole(const Block&, const frame::Vec3& place, double r, double bottom, double clear);
  bool peck(double r, double bottom, double clear);
  bool tap(double bottom, double clear);
  void bore_back(const frame::Vec3& place, double r, double bottom, double clear);
  void deep(Motion kind, double depth);
  void across(const frame::Vec3& place, double first, double second);
  void dwell_for(double p);
  void spin(int turning);
  std::size_t cycle_at(const Block& b) const { return b.where(Group::motion); }
  // Moves.
  Move& emit(Motion kind);
  void go(Motion kind, const frame::Vec3& to);
  void set_feed(Move& m) const;
  void spindle_now();
  double unit() const { return inches_ ? 0.0254 : 0.001; }
  double lengths(const Block& b, char letter) const { return b.of(letter) * unit(); }
  bool use(const Block& b, char letter) {
    used_ |= 1U << static_cast<unsigned>(letter - 'a');
    return b.with(letter);
  }
  bool whole_of(const Block& b, char letter, long low, long high, long& out, std::size_t owner);
  bool fail(std::size_t at, std::string what, std::string found = {}, std::string expected = {});
  /// The note's column is the byte; the reader, who has the line, makes a column of it.
  void note(std::size_t at, std::string what);

  const Setting& setting_;
  Parameters& parameters_;
  Run& run_;
  Slip* slip_ = nullptr;
  std::uint32_t used_ = 0;

  Move now_;           // what holds: zero, length, tool, plane, spindle, coolant, line
  frame::Vec3 place_;  // the tip, in the frame of the active zero
  int motion_ = 800;
  bool after_probe_ = false;
  bool absolute_ = true, inches_ = false, back_to_r_ = false;
  int feed_mode_ = 940, radius_ = 400;
  double feed_ = 0;   // m/s; m a turn under G95; moves a second under G93
  double speed_ = 0;  // rad/s, of S
  int turning_ = 0;
  bool flood_ = false, mist_ = false;
  std::int32_t pocket_ = -1;
  frame::Vec3 shift_, shift_kept_, local_;
  bool shift_was_set_ = false;
  std::array<bool, 80> noted_zero_{};
  bool noted_radius_ = false, noted_probe_ = false, noted_hand_ = false, noted_home_ = false,
       noted_cutter_path_ = false;
  struct Sticky {
    int code = 0;       // ten times; 0: no cycle is on
    frame::Vec3 level;  // the nose where the series began, on the machine
    double bottom = 0, r = 0, q = 0, p = 0, i = 0, j = 0, k = 0;
    std::uint32_t has = 0;
    bool with(char c) const { return (has >> static_cast<unsigned>(c - 'a') & 1U) != 0; }
  } sticky_;
};

}  // namespace fettle::program
