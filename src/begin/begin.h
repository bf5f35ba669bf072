#pragma once
// A first plan from a model: what can be read is written down, what cannot be known stays open. Nothing is invented
// silently.
#include <cstdint>
#include <map>
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

/// How the drawing's items ended. requirements + basic + reference + left_open = dimensions + tolerances.
struct Drawn {
  int dimensions = 0, tolerances = 0, datums = 0;                 ///< read
  int requirements = 0, basic = 0, reference = 0, left_open = 0;  ///< how dimensions and tolerances ended
  int unread = 0;                                                 ///< looked like a drawing item and could not be read
  std::vector<std::string> open;  ///< all that are no requirements, each with its reason, sorted
};

struct Begun {
  plan::Plan plan;
  std::string text;               ///< the plan file
  std::vector<std::string> said;  ///< what the person should know: counts, what was left out, what to give next
  Drawn drawn;
  std::map<std::string, std::uint64_t> entity_of;  ///< requirement id -> number in the STEP text
};

/// What the model's drawing items say, and which of them can be requirements. All empty for a model without any.
struct Drawing {
  step::Pmi pmi;
  std::vector<step::Judged> judged;    ///< dimensions first, then tolerances
  std::map<int, std::string> threads;  ///< thread by face number, from curve sets and callouts
};

/// Reads the drawing items of a STEP text. `unit` ("mm", "in", "m") is used only where the file states none.
Outcome<Drawing> read_drawing(const std::string& text, const std::string& name, const std::string& unit);

/// Writes the plan. `drawing` may be empty, `cast` null, `table` empty (no table). Problems: a table that cannot be
/// bound to the part (with the guess offered), a direction or origin that cannot be read.
Outcome<Begun> begin(const solid::Model& part, const Drawing& drawing, const solid::Model* cast,
                     const std::string& table, const Options& options);

}  // namespace fettle::begin
