#pragma once
// A reckoner describes one question of a science once. From the description come the command line, JSON, the reference
// in docs, the bench page, the fuzz target and the rows of validation.md.
#include <functional>
#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "unit/quantity.h"

namespace fettle::finding {

/// One input. Numbers are SI inside. `fallback` is a text with its unit, or empty when the person must say it.
struct ReckonerInput {
  enum class Form { quantity, integer, choice, limits, text } form = Form::quantity;
  std::string name;  ///< short key, lower case: "torque"
  unit::Kind kind = unit::Kind::number;
  std::string help;             ///< one line
  std::string fallback;         ///< default text ("0.15"), or empty: required
  std::string fallback_source;  ///< where the default comes from; needed when fallback is a trade value
  double low = 0, high = 0;     ///< valid range in SI (inclusive), used for quantity and integer
  std::vector<std::string> choices;
  bool optional = false;  ///< may be left out with no default
};
struct ReckonerOutput {
  std::string name;
  unit::Kind kind = unit::Kind::number;
  std::string help;
  bool gauge = false;
};

/// What the function is given and gives back. Quantities and integers in `number` (SI), choices and texts in `text`.
struct ReckonerValues {
  std::map<std::string, double> number;
  std::map<std::string, std::string> text;
  std::map<std::string, unit::Limits> limits;
  double operator[](const std::string& name) const { return number.at(name); }
  bool has(const std::string& name) const { return number.count(name) + text.count(name) + limits.count(name) > 0; }
};
/// Results: number by output name (SI), or text by output name; `sentence` says the answer aloud; `beyond` says which
/// range of validity was left (then the numbers must not be trusted).
struct ReckonerAnswer {
  std::map<std::string, double> number;
  std::map<std::string, std::string> text;
  std::string sentence;
  std::vector<std::string> notes;
  std::vector<std::string> cautions;
  std::string beyond;
};
/// Worked example with published or independently computed answer: key=value texts in, expected outputs as texts with
/// unit.
struct WorkedExample {
  std::vector<std::pair<std::string, std::string>> given;
  std::vector<std::pair<std::string, std::string>> expected;  ///< "name" -> "18.2 lb"
  double relative_tolerance = 1e-3;
  std::string source;
};
struct Reckoner {
  std::string name;      ///< "preload", "rwl": what follows `fettle reckon`
  std::string science;   ///< folder under calc/
  std::string question;  ///< one line, ends with "?"
  std::vector<ReckonerInput> inputs;
  std::vector<ReckonerOutput> outputs;
  std::string formula;
  std::string source;
  std::string range;  ///< range of validity in words
  std::vector<WorkedExample> examples;
  std::function<Outcome<ReckonerAnswer>(const ReckonerValues&)> answer;
};

/// Reads key=value texts against the description: every problem at once (unknown key with nearest, missing input, wrong
/// kind, bare number, out of range with the range in the person's units).
Outcome<ReckonerValues> read_values(const Reckoner& reckoner,
                                    const std::vector<std::pair<std::string, std::string>>& given);
/// The same from a JSON object: values are texts with units, or numbers under a key that names the unit ("torque_Nm").
Outcome<ReckonerValues> read_values(const Reckoner& reckoner, const nlohmann::json& object);
/// Computes and checks that every output described is there and finite (or `beyond` says why not).
Outcome<ReckonerAnswer> run(const Reckoner& reckoner, const ReckonerValues& values);
/// Description as JSON (name, question, inputs with units and bounds, outputs, source) and the answer as JSON.
nlohmann::json describe(const Reckoner& reckoner);
nlohmann::json to_json(const Reckoner& reckoner, const ReckonerAnswer& answer, const unit::Style& style);

}  // namespace fettle::finding
