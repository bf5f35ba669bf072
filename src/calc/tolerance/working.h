#pragma once
// Working dimensions: what each operation must hold so that the drawing and the stock come out, though the surfaces it
// measures from change on the way (tolerance chart; Wade 1967). See README.md, "Working dimensions".
//
// One axis at a time. Every cut places a surface at a dimension from the surfaces it is located on, as they are at that
// moment. So the place of each surface is a signed sum of raw sizes and working dimensions, and so is everything the
// drawing asks (resultants) and everything a cut removes (stock). Lengths along the axis are signed: + towards +axis.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::tolerance {

/// A size of the raw part along the axis: place of `to` minus place of `from`.
struct RawSize {
  std::string name;
  std::string from, to;  ///< surfaces, raw
  double size = 0;       ///< m, signed
  double tolerance = 0;  ///< m, half width, >= 0
};
/// One cut. Listed in the order of the route; a surface cut again gets a new place and loses the old one.
struct WorkingCut {
  std::string operation;
  std::vector<std::string> from;  ///< surfaces it is located on, as they were when the clamping of `operation` began;
                                  ///< two: the middle between them
  std::string made;               ///< surface that it makes
  double about = 0;               ///< m, signed: where it is now; its mean when `means_given`, else any start will do
  double holds = 0;               ///< m, half width that the process usually holds, > 0
  int side = 0;                   ///< +1 or -1: where the metal's outside lies along the axis; 0: no stock is counted
  std::optional<double> least_stock, most_stock;  ///< m, what it may remove; needs `side` and an older surface
  bool within = false;  ///< measured from a surface that this same clamping has just cut: from what is there now
  std::string name;     ///< for sentences; empty: made from operation and surfaces
};
/// What the drawing asks: place of `to` minus place of `from`, both as they are at the end.
struct DrawingLimit {
  std::string name;
  std::string from, to;
  std::optional<double> lower, upper;  ///< m, signed; at least one
};
struct WorkingInputs {
  std::vector<RawSize> raw;
  std::vector<WorkingCut> cuts;
  std::vector<DrawingLimit> drawing;
  bool means_given = false;  ///< the means stand where `about` says; only tolerances are looked for
  bool statistical = false;  ///< tolerances add by root sum square instead of worst case
  double widest = 20;        ///< no tolerance is opened beyond this many times what its process holds
};

/// A term of a chain: raw size (index in raw) or cut (index in cuts) with its sign.
struct ChainTerm {
  bool is_raw = false;
  int index = 0;
  double sign = 0;
};
/// A resultant: something asked, with the dimensions that make it.
struct Resultant {
  std::string name;
  bool is_stock = false;
  int index = 0;  ///< of the drawing limit or of the cut
  std::vector<ChainTerm> chain;
  std::optional<double> lower, upper;  ///< m
  double mean = 0;                     ///< m, with the working dimensions found
  double reach = 0;                    ///< m, half width of what comes out, by the way of adding asked for
  double reserve = 0;                  ///< m, to the nearer limit beyond mean -+ reach; 0 where it binds
};
/// One working dimension to hold.
struct WorkingDimension {
  std::string operation, from, made, name;
  double mean = 0;                   ///< m, signed
  double tolerance = 0;              ///< m, half width
  double factor = 0;                 ///< tolerance over what its process holds
  bool free = false;                 ///< opened to `widest`: nothing asked stops it
  std::vector<std::string> held_by;  ///< what stops it from being wider
};
struct WorkingResult {
  bool exist = false;  ///< every process holds its dimension: factor >= 1 throughout
  bool any = false;    ///< some dimensions exist, if the processes were better than they are
  double factor = 0;   ///< widest common factor: all tolerances at least this times what their processes hold
  std::vector<WorkingDimension> dimensions;  ///< in the order of the cuts; empty when not `any`
  std::vector<Resultant> resultants;         ///< drawing limits, then stocks; without means when not `any`
  std::vector<int> clash;                    ///< when not `exist`: smallest set of resultants that cannot all hold
  bool clash_is_smallest = false;            ///< no smaller set clashes (else: none of these can be left out)
  std::string clash_sentence;
  double gap = 0;  ///< how far the proof of the widest factor is from the answer, relative (checked, < 1e-7)
};
/// Traces the chains, finds the widest working tolerances at equal cost (largest common factor of what the processes
/// hold, then, without giving any of that up, the next largest, and so on) and means that keep resultants as far from
/// their limits as they can. Problems: unknown surfaces, a raw size that closes a loop, a resultant whose two ends are
/// not tied together by any chain, bad numbers.
Outcome<WorkingResult> working_dimensions(const WorkingInputs& inputs);

}  // namespace fettle::tolerance
