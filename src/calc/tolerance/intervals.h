#pragma once
// Inside the ledger: how sure a sampled share is when parts of one set of pallets share their nests' errors.
#include "calc/tolerance/draw.h"

namespace fettle::tolerance::inner {

/// Shares of a requirement's variance by how often their errors fall anew.
struct Levels {
  double part = 0, set_up = 0, pallet = 0, nest = 0;
  bool shared() const { return set_up > 0 || pallet > 0 || nest > 0; }
};
Levels levels_of(const Ledger& ledger, int requirement);

/// How many times more the share scatters than that of as many independent parts (>= 1).
/// By theory: for a normal value with shares of variance in common, the correlation of two parts' verdicts at this
/// share. By count: from the builds' own shares when there are at least ten and hits enough. The larger counts.
double design_effect(const Ledger& ledger, const SampleInputs& in, const Levels& levels,
                     const std::vector<int>& build_hits);

/// Clopper and Pearson 1934, with hits and number divided by the design effect (Korn & Graubard 1998).
Share share_of(long long hits, long long of, double effect, double confidence);

/// Parts in each build.
std::vector<int> build_sizes(const SampleInputs& in);

}  // namespace fettle::tolerance::inner
