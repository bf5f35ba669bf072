#pragma once
// Which ways round a part goes onto its two pins, and whether a wrong way matters.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "maths/polygon.h"

namespace fettle::locating {

using frame::Vec3;

/// A pin of the nest, nest frame. Loosest sizes: what could ever go on counts.
struct NestPin {
  std::string name;
  double x = 0, y = 0;    ///< m
  double diameter = 0;    ///< m, least
  double land_width = 0;  ///< m; 0: a full round pin
};
/// A hole of the part that could go over a pin, part frame.
struct PartHole {
  std::string name;
  double x = 0, y = 0;  ///< m
  double diameter = 0;  ///< m, most
  bool below = true;    ///< open on the face that lies down as planned
  bool above = false;   ///< open on the opposite face (through), so that it serves a part turned over
};
/// Something that is or will be cut, part frame as it lies in the nest.
struct PartFeature {
  std::string name;
  std::string like;        ///< features with the same word, size and axis are each other's like ("M8 thread")
  Vec3 p;                  ///< m
  Vec3 axis;               ///< unit; zero length: none (sphere, height)
  double size = 0;         ///< m, diameter or width
  bool both_ways = false;  ///< looks the same along and against its axis (through hole)
};
/// A post in the nest that a part lying the wrong way would stand on.
struct Post {
  std::string name;
  double x = 0, y = 0, radius = 0;  ///< m, nest frame
};
struct LoadingInputs {
  std::vector<NestPin> pins;  ///< two: the round one, then the relieved one
  std::vector<PartHole> holes;
  std::size_t planned_round = 0, planned_relieved = 1;  ///< holes that belong on the two pins
  std::vector<PartFeature> features;
  std::vector<Post> posts;
  maths::Polygon outline;           ///< convex outline of the part, part frame; empty: posts cannot be judged
  double part_height = 0;           ///< m, for a part turned over
  bool may_lie_turned_over = true;  ///< false: it cannot lie on its other face
  double same_within = 0.1e-3;      ///< m, places nearer than this are the same
};
struct WrongFeature {
  std::string name;
  double off = 0;  ///< m, to the nearest like feature; negative: no like feature at all
};
struct LoadingWay {
  std::size_t on_round = 0, on_relieved = 0;  ///< holes on the two pins
  bool turned_over = false;
  double turn = 0;  ///< rad, about the upright axis against the planned way
  bool goes_on = false;
  double spare = 0;                     ///< m, play left (negative: does not go on)
  std::vector<std::string> blocked_by;  ///< posts
  bool harmless = false;                ///< every feature meets its like
  std::vector<WrongFeature> wrong;
  std::string words;
};
struct LoadingResult {
  std::vector<LoadingWay> ways;  ///< all others than the planned one that go on, harmful first
  bool only_planned = false;     ///< no other way goes on
  bool safe = false;             ///< no harmful way goes on
  std::string words;
};
/// Tries every pair of holes on the pins, face down and turned over. Problems: not two pins, planned holes that are
/// none or do not go on, sizes not above zero, a number that is not finite.
Outcome<LoadingResult> loading(const LoadingInputs& inputs);

}  // namespace fettle::locating
