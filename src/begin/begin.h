#pragma once
// A first plan from a model: what can be read is written down, what cannot be known stays open. Nothing is invented
// silently.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"
#include "solid/solid.h"
#include "step/judge.h"
#include "step/pmi.h"

namespace fettle::begin {

struct Options {
  std::string name;        ///< plan name
  std::string model;       ///< path as it shall stand in the plan
  std::string cast;        ///< path of the casting model as it shall stand in the plan; empty: none
  std::string measured;    ///< path of the table as it shall stand in the plan; empty: none
  std::string table_unit;  ///< unit of a table whose header names none
  std::string up;          ///< "+z" when empty
  std::string origin;      ///< "0, 0, 0 mm" in the model's frame, "bottom middle", or empty: the model's own origin
  bool inch = false;       ///< lengths are written in inches and results printed so
};

/// How a drawing item ended.
struct Drawn {
  int dimensions = 0, tolerances = 0, datums = 0;  ///< read
  int requirements = 0;                            ///< became requirements of the plan
  std::vector<std::string> open;                   ///< the others, each with its reason
};

struct Begun {
  plan::Plan plan;
  std::string text;               ///< the plan file
  std::vector<std::string> said;  ///< what the person should know: counts, what was left out, what to give next
  Drawn drawn;
};

/// What the model's drawing items say, and which of them can be requirements. Both empty for a model without any.
struct Drawing {
  step::Pmi pmi;
  std::vector<step::Judged> judged;  ///< dimensions first, then tolerances
};

/// Writes the plan. `drawing` may be empty, `cast` null, `table` empty (no table). Problems: a table that cannot be
/// bound to the part (with the guess offered), a direction or origin that cannot be read.
Outcome<Begun> begin(const solid::Model& part, const Drawing& drawing, const solid::Model* cast,
                     const std::string& table, const Options& options);

}  // namespace fettle::begin
