#pragma once
// A draft is studied, and what comes out outside is mended where a proposal may choose: speeds, feeds, depths, torques,
// sizes aimed at, raw sizes, pins. Each mend is kept only when the study says that it helps, and says which finding
// asked for it.
#include "begin/propose/propose.h"
#include "begin/propose/written.h"

namespace fettle::begin {

/// How a studied draft stands; less is better.
struct Standing {
  int outside = 0, open = 0, beyond = 0;
  double deep = 0;  ///< how far outside, summed over what is outside, each at most 5
};
/// `with_time`: hours, parts a week and yield count too.
Standing standing(const study::Study& study, bool with_time = true);
/// Never with more open: what can no longer be judged is no mend. Fewer outside; then fewer open; then fewer beyond;
/// then less far outside.
bool better(const Standing& a, const Standing& b);

/// A draft after mending, with its last study (without virtual castings).
struct Mended {
  Draft draft;
  Look last;
  int studied = 0;  ///< how often it was studied
};
/// Studies of one draft at most: with many features each may ask for a change, and each change is tried by a study.
/// Three times what the parts tried so far took.
inline constexpr int most_studies = 60;
/// Mends cutting data, clamping and bores in at most `rounds` rounds, then times in at most three, then, where the week
/// leaves time, depths that may sing. In a round every finding that is outside (or a chatter finding that is beyond)
/// asks for one change; all are tried together, then, when that is not better, alone. `most`: studies; reaching it is
/// said. Problems: those of the study.
Outcome<Mended> mend(const Scene& scene, Draft draft, const study::Data& data, study::Memo& memo, int rounds = 5,
                     int most = most_studies);

/// A thinner stock plate, one step after the other, where every finding keeps its state over all bands, what gives,
/// bows and sings keeps a fifth of margin, and the loaded pallet gets lighter by a twenty-fifth. Nothing where an
/// answer took a thickness, or where a step would lead past `most` studies. True when the plate changed.
Outcome<bool> thinner_plate(const Scene& scene, Mended& mended, const study::Data& data, study::Memo& memo,
                            int most = most_studies);

/// Text and plan of a draft of which only words have changed since it was studied; the findings stay.
Outcome<bool> read_again(const Scene& scene, Mended& mended, const study::Data& data, study::Memo& memo);

/// The time of a cut whose feed (m/s before) or passes have changed: its way at the new feed of the tool's middle, and
/// between passes the moves that it had. `length_before`: the way of a pass (m) that the time was for; 0: as it is.
/// Nothing changes where the plan does not say its way.
void retime(const plan::Plan& plan, plan::Cut& cut, double feed_before, int passes_before, double length_before = 0);
/// Another feed (m/s) as a person types it; the time follows.
void set_feed(const plan::Plan& plan, plan::Cut& cut, double feed, bool inch, double length_before = 0);

/// Raises the raw sizes until virtual castings held as the route holds them clean up: only where nobody gave a casting
/// (no model, no table). `draft` has its clampings; cuts come later, since they follow the stock. Says what it changed.
Outcome<bool> raise_raw_sizes(const Scene& scene, Draft& draft, const study::Data& data, study::Memo& memo,
                              int threads = 1);

/// What clashes in a studied proposal that still has findings outside: the wishes behind each, in words.
std::vector<Clash> clashes_of(const plan::Plan& plan, const study::Study& study);

}  // namespace fettle::begin
