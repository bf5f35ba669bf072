#pragma once
// The drawings. Each takes plain values and the room it has, and gives a Drawing that fits it: never wider, and as high
// as it needs up to the room's height. Long lists come as several drawings, one for each page. Texts wrap; only one of
// a dozen lines or more ends in … (the whole of it stands in the study's JSON).
#include <vector>

#include "output/drawings/pen.h"
#include "output/drawings/views.h"

namespace fettle::drawings {

/// Room in mm.
struct Room {
  double width = 180, height = 250;
};

/// The pallet to scale from above and from the side: plate, anchors, nests with pins, screws, pads and run-off, zero,
/// dimensions, notes with leaders that do not cross, facts.
Drawing pallet(const PalletView& view, const Room& room);

/// The operations as a line that gets cleaner from raw to finished; each with its sentence and its worst finding.
std::vector<Drawing> route(const RouteView& view, const Room& room);

/// Findings as bars on one scale whose one strong line is the limit. `first_height` is the room on the first page (0:
/// like the others).
std::vector<Drawing> margins(const MarginsView& view, const Room& room, double first_height = 0);

/// A casting's skin over the finished part as it is held, stock drawn larger by a factor that is written beside it.
Drawing casting(const CastingView& view, const Room& room);

/// Pins in their holes with the play drawn larger, and the region of poses that is left.
Drawing locating(const LocatingView& view, const Room& room);

/// One requirement's parts against its limits, as wide as the room: outline of the distribution, share outside hatched,
/// mean, ends of the worst case, and the words. A distribution many times wider than its limits is cut, and what lies
/// farther out is said; a share that the eye cannot see is said to be one.
Drawing spread(const Spread& row, const Room& room, const unit::Style& style);
/// The same for many, in two columns. `first_height` as for margins.
std::vector<Drawing> spreads(const SpreadsView& view, const Room& room, double first_height = 0);

/// For each requirement its contributors by what mending them buys: full length of a bar is all that is outside now.
std::vector<Drawing> mending(const MendingView& view, const Room& room, double first_height = 0);

/// Minutes of machine and person, and cost of a good part, over the number of parts on a pallet set.
Drawing count_curve(const CountCurveView& view, const Room& room);

/// One cycle as bars over time, a row for each machine and person. Waiting is hatched; stretches too short for their
/// words are numbered and named below.
Drawing cycle(const CycleView& view, const Room& room);

/// A drawing by itself: a frame of air around it and a title block below with the words that every output carries.
struct TitleBlock {
  std::string title, plan, hash, version, seed, date, note;
};
Drawing with_title_block(const Drawing& drawing, const TitleBlock& block);

}  // namespace fettle::drawings
