#pragma once
// The same contacts as springs: how clamping presses them, and the load factor at which the first one slips. Up to that
// slip nothing is chosen: the forces are those of the springs.
#include <vector>

#include "calc/holding/proof.h"

namespace fettle::holding {

/// Contacts with a stiffness as springs along and across their normal; clamps push with their constant force.
class Springs {
 public:
  Springs(const std::vector<Contact>& contacts, const Load& rest, Vec3 about);
  /// The springs hold the part in all six freedoms.
  bool there() const { return there_; }
  /// Normal force of each contact while nothing cuts, N: contacts that would have to pull are let go. Sideways forces
  /// of clamping are taken as settled to nothing.
  const std::vector<double>& pressed() const { return pressed_; }
  /// Per contact: factor at which it slips under the load, all others still holding (infinite: never; NaN: no spring).
  void first_slip(const Load& load, std::vector<double>& factor) const;

 private:
  bool invert(const std::vector<bool>& on);
  std::vector<Contact> contacts_;
  Vec3 about_;
  bool there_ = false;
  std::vector<bool> on_;
  std::vector<double> pressed_;
  std::vector<double> flex_;  // 6 x 6, motion of `about` per force and moment
};

}  // namespace fettle::holding
