#pragma once
// One program for all parts on the table, tool by tool, from the plan's cuts.
#include <map>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "compose/blocks.h"
#include "compose/cuts.h"
#include "compose/set_up.h"
#include "compose/steps.h"
#include "plan/plan.h"

namespace fettle::compose {

struct Options {
  /// Tools may be visited in another order than the plan's when that saves a change and keeps what must come before.
  bool fewest_changes = false;
  /// Groups of tools that come one after the other on each nest before the next nest, for heat or because an edge is
  /// wanted at once: part by part, with as many changes. Only tools that follow one another in the order are grouped.
  std::vector<std::vector<std::string>> together;
};

/// Where a program can be taken up again.
struct RestartRow {
  int block = 0;
  std::string tool, nest;
  std::string suspects;  // parts to look at when the tool is found broken here
};
/// One tool's visit to all nests.
struct Visit {
  std::string tool, name;
  int number = 0;         // T and H in the program
  std::vector<int> cuts;  // in the operation
  std::vector<std::string> features;
  std::vector<std::string> notes;
  double cutting = 0;            // s per part: the way at feed, and rapid moves of the cut itself, from rest to rest
  double feed_way = 0;           // m per part at feed
  std::optional<double> stated;  // s per part, the plan's
  double speed = 0, feed = 0, centre_feed = 0, ring = 0, lowest = 0;
  std::vector<int> order;                        // nests in the order of the visit
  int edge = 0;                                  // whole parts of one edge, 0 when nobody says
  bool check_each = false, check_after = false;  // broken?
};

struct Composition {
  std::string plan, revision, date, hash, operation, words, machine;
  SetUp set_up;
  std::vector<Parameter> parameters;  // in the order in which a dialect numbers them
  Steps main;
  std::vector<Subprogram> subs;
  std::vector<Visit> visits;
  std::vector<RestartRow> restarts;
  std::vector<std::string> notes;     // what was taken for want of a word
  std::vector<std::string> missing;   // what the program does not make, and why
  int number = 0;                     // of the program in a control that numbers them
  int key = 0;                        // number that a person types in once the places of this program are measured
  int zeros = 0;                      // nests with a zero of their own
  std::vector<std::string> numbered;  // tools whose number was given here
  std::string next;                   // operation whose work follows in the same clamping after a stop; may be empty
};

/// What must come before what, by index of the operation's cuts: cuts on one feature as listed, a finish after every
/// rough cut listed before it, everything after a probe listed before it, an edge after what makes it.
std::vector<std::vector<int>> needs(const plan::Operation& operation);

/// Problems: no such operation, no machine work in it, nothing that can be made.
Outcome<Composition> compose(const plan::Plan& plan, const std::string& operation, const Options& options = {});

/// The same from somebody's program for one part, split into blocks per tool: they take the place of the plan's cuts.
/// Its zero is taken as the zero of each nest.
Outcome<Composition> compose(const plan::Plan& plan, const std::string& operation, const Blocks& given,
                             const Options& options = {});

/// Operations of the plan that a program can be made for.
std::vector<std::string> programmable(const plan::Plan& plan);

/// s of one part's steps: lengths over feeds, rapid moves from rest to rest with what the machine can do.
double time_of(const Steps& steps, const plan::Machine* machine, double* feed_way = nullptr);

}  // namespace fettle::compose
