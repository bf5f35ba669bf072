#pragma once
// A contact between part and fixture, as the locating questions see it.
#include <string>
#include <vector>

#include "frame/frame.h"

namespace fettle::locating {

using frame::Vec3;

/// One contact that stops one motion: the point p of the part cannot move against n.
struct Contact {
  /// one_sided: a rest or jaw that only pushes. two_sided: a pin in a hole, a key, a stuck face: stops both ways.
  enum class Kind { one_sided, two_sided };
  std::string name;  ///< as the person knows it ("rest 2", "round pin in X")
  Vec3 p;            ///< m, in any one frame of the part
  Vec3 n;            ///< from the fixture into the part; any length but zero
  Kind kind = Kind::one_sided;
};

/// A round pin stops two directions across its axis, a relieved pin the one across the line of pins (`stopped`).
/// Both as two-sided contacts named "<name> in x/y" along the directions given.
std::vector<Contact> round_pin(const std::string& name, Vec3 p, Vec3 first, Vec3 second);
Contact relieved_pin(const std::string& name, Vec3 p, Vec3 stopped);

}  // namespace fettle::locating
