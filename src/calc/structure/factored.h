#pragma once
// A plate with all that holds it, factored once: what asks for its modes, for what it gives and for its bow shares it.
#include <memory>
#include <string>

#include "calc/structure/modes.h"

namespace fettle::structure {

/// Largest relative residual of a load at rest that is believed, and what is said where it is larger.
constexpr double sure_enough = 1e-5;
constexpr const char* not_sure = "the plate is held so loosely that the answer is not sure";
constexpr const char* nothing_holds = "nothing holds the plate: a force at rest moves it without end";

class Factored {
 public:
  /// Points, damping and modes of `in` are not looked at.
  explicit Factored(const Inputs& in);
  Factored(const Factored&) = delete;
  Factored& operator=(const Factored&) = delete;
  const System& system() const { return system_; }
  /// Only when why() is empty.
  const Held& held() const { return *held_; }
  /// Not empty: the inputs are no plate, or nothing holds it.
  const std::string& why() const { return why_; }

 private:
  System system_;
  std::unique_ptr<const Held> held_;
  std::string why_;
};

}  // namespace fettle::structure
