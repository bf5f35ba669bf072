#pragma once
// What gives way, as the lobes and the multipliers need it: modes in the axes of the cut, each with its owner.
#include <array>
#include <complex>
#include <string>
#include <vector>

#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::chatter {

/// What cannot be a response, in words (a mode without frequency or damping, something that is no number); empty when
/// all is well.
std::string wrong(const std::vector<maths::PointResponse>& responses);

struct SwingMode {
  double omega = 0, damping = 0;
  std::array<double, 3> shape{};  ///< 1/sqrt(kg), in the axes of the cut
  int owner = 0;                  ///< index of the response it came from
};
/// All responses added up: tool and part move against one another.
struct Structure {
  std::vector<SwingMode> modes;
  std::array<double, 9> residual{};  ///< m/N
  std::vector<std::array<double, 9>> residual_of;
  int owners = 0;

  Structure() = default;
  /// `axes`: unit vectors of the cut (feed, spindle x feed, spindle) in the axes of the responses.
  Structure(const std::vector<maths::PointResponse>& responses, const std::array<frame::Vec3, 3>& axes);
  /// Displacement per force at `omega`, m/N; of one owner only when `owner` >= 0.
  maths::Response3 at(double omega, int owner = -1) const;
  double lowest() const;   ///< rad/s; infinity without modes
  double highest() const;  ///< rad/s; 0 without modes
};

}  // namespace fettle::chatter
