#pragma once
// Light cuts: whether they sing, tooth by tooth instead of averaged over the turn.
#include <optional>
#include <string>
#include <vector>

#include "study/chatter_model.h"

namespace fettle::study {

/// What the multipliers say beside the averaged limit of a cut.
struct Loss {
  bool used = false;     ///< the multipliers decide
  bool more = false;     ///< none was found up to the depth looked at: the limit is more than that
  double ratio = 1;      ///< their limit over the averaged one, both at most ten times what is asked
  double frequency = 0;  ///< Hz, of what starts
  std::string words;     ///< which method decided, for the inputs
  std::string sentence;  ///< what to say aloud; may be empty
};

/// True where averaging may mislead: the teeth are engaged for less than their spacing, the time counted that leaning
/// flutes take to pass. Uneven teeth with overlap are averaged with their own distances.
bool knocks(const CutModel& cut);

/// The first loss of stability at one place. Only in a full study, only where the cut knocks; else the averaged limit
/// stands, and the words say so.
Loss loss_of(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
             const chatter::AtSpeedResult& averaged);

/// The limit with the assumptions elsewhere in their bands, m, at most ten times what is asked: the averaged one times
/// loss.ratio. Where that is near what is asked and the cut knocks, one multiplier at the depth asked says yes or no,
/// and the limit is moved to that side of it. NaN where nothing can be said.
double limit_in_bands(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v, const Loss& loss,
                      const Ask& ask = {});

}  // namespace fettle::study
