#pragma once
// Draws the way of a tool as steps: lines, arcs, rings, helices. Metres. A helper for cuts.cpp and probing.cpp.
#include <vector>

#include "compose/steps.h"

namespace fettle::compose {

/// A closed path with straight sides and round corners, its middle at `middle`; corners of radius 0 are sharp.
struct RoundedBox {
  frame::Vec3 middle;
  double half_x = 0, half_y = 0, radius = 0;
};
/// The same moved outwards by d (inwards when negative); corners keep their centres where they can.
RoundedBox grown(RoundedBox box, double d);

/// Arc that rolls a cutter onto a circle of radius e from inside, tangentially. `sweep` is at least 90 degrees; more
/// where the start must lie nearer to the middle.
struct RollIn {
  double radius = 0;  // m, of the arc
  double offset = 0;  // m, of the arc's middle from the circle's
  double sweep = 0;   // rad
  double start = 0;   // m, radius where the arc begins, from the circle's middle
};
/// `free_radius`: as far out as the cutter's axis may stand without touching anything. Source: geometry of two circles
/// that touch from inside: start^2 = d^2 + r^2 + 2 d r cos(sweep), r = e - d.
RollIn roll_in(double e, double free_radius);

class Track {
 public:
  explicit Track(double feed) : feed_(feed) {}
  void set_feed(double feed) { feed_ = feed; }
  double feed() const { return feed_; }
  frame::Vec3 at() const { return at_; }
  void rapid(double x, double y);
  void rapid_z(double z);
  void line(frame::Vec3 to);
  void line_z(double z) { line({at_.x, at_.y, z}); }
  /// To `to` round `centre` (its z does not matter): in pieces of at most half a turn.
  void arc(frame::Vec3 to, frame::Vec3 centre, bool clockwise);
  /// A full turn round `centre` that ends at height z.
  void ring(frame::Vec3 centre, bool clockwise, double z);
  /// One round of the box from where the tool stands, which must be the beginning of side `side` (0 +Y side from -X to
  /// +X when clockwise; 1 +X side; 2 -Y side; 3 -X side).
  void round(const RoundedBox& box, bool clockwise, int side);
  void add(Step step);
  Steps take() { return std::move(steps_); }

 private:
  Steps steps_;
  frame::Vec3 at_;
  double feed_;
};

/// Where side `side` begins when the box is run through clockwise or not.
frame::Vec3 side_start(const RoundedBox& box, bool clockwise, int side);
frame::Vec3 side_end(const RoundedBox& box, bool clockwise, int side);

/// Steps turned about Z by `angle` (texts stay).
Steps turned(Steps steps, double angle);

}  // namespace fettle::compose
