#pragma once
// The raw casting of a proposal as a solid: what the pattern maker and the foundry can look at.
#include <map>
#include <string>
#include <vector>

#include "begin/propose/propose.h"
#include "solid/raw.h"

namespace fettle::begin {

/// What is asked of the kernel for this plan's casting, in the plan's frame, and what no ordered size speaks of.
struct RawAsked {
  solid::RawWish wish;
  double density = 0;                 ///< kg/m3; 0: not known
  std::vector<std::string> left_out;  ///< in words
};
/// `part`: in the plan's frame; `pose`: of the model in it; `threads`: thread by face number, as the drawing says.
RawAsked raw_asked(const solid::Model& part, const frame::Pose& pose, const plan::Plan& plan,
                   const std::map<int, std::string>& threads, bool inch);

/// The raw casting as a STEP text that was read back.
struct RawCasting {
  std::string step;
  double volume = 0;              ///< m3, as read back
  solid::Box box;                 ///< as read back, in the model's frame
  std::vector<std::string> said;  ///< what is not in it, and why; how its mass compares
};
/// Makes it through the kernel and reads it back. Problems: those of the kernel; a solid that reads back otherwise than
/// it was made, or whose box is not what the sizes ask for.
Outcome<RawCasting> raw_casting(const std::string& step, const std::string& name, const std::string& unit_if_none,
                                const RawAsked& asked, const plan::Plan& plan);

}  // namespace fettle::begin
