#pragma once
// What the plan, its shop and its readings say of one close bore, as plain values for the science of bores.
#include <optional>
#include <string>
#include <vector>

#include "calc/bore/gauge.h"
#include "study/internal.h"

namespace fettle::study {

/// The last readings of a bore.
struct BoreRun {
  bool there = false;
  std::string id;                   ///< of the plan's reading
  std::vector<double> sizes;        ///< m, as shown
  std::vector<std::string> names;   ///< number or mark of each part
  std::vector<int> stretch;         ///< between resets of the tool; empty: nobody said when it was reset
  std::vector<double> temperature;  ///< K of each part; empty: not said
};

struct BoreStudy {
  bool there = false;
  std::string id;
  bore::StudyInputs inputs;
  std::vector<std::string> people, parts;
};

struct Bore {
  const plan::Feature* feature = nullptr;
  const plan::Requirement* requirement = nullptr;  ///< its size; null: the feature's own diameter stands for it
  unit::Limits limits;                             ///< both there
  const plan::Operation* operation = nullptr;      ///< that makes it last before a hone; may be null
  const plan::Cut* cut = nullptr;                  ///< its last cut; may be null
  const plan::Operation* hone = nullptr;           ///< may be null
  const plan::Gauge* gauge = nullptr;              ///< with the smallest uncertainty that names it; may be null
  const plan::SpreadOf* scatter = nullptr;         ///< of the size as bored, as the plan says it; may be null
  BoreRun run;
  BoreStudy study;
  std::string operation_id() const { return operation != nullptr ? operation->id.value : std::string(); }
};

/// Bores that ask for this science: a size of IT6 or finer on something bored, reamed or honed, or any bore that a
/// gauge or a reading of the plan names. Bad tables go to c.problems.
std::vector<Bore> close_bores(Context& c);

/// What is lost with a part set aside after an operation.
struct Worth {
  double value = 0;
  bool whole = false;  ///< machine, people and tools are all in it; else it is at least this
};
/// From the cost of a part up to there; where the plan does not say enough for that, casting, work bought in and
/// cutting time. Nothing when not even the casting has a price.
std::optional<Worth> worth_after(const plan::Plan& plan, const plan::Operation* operation);
/// What one hone costs: price, and time at the machine's or the people's rate. Nothing when neither is known.
std::optional<double> cost_of_hone(const plan::Plan& plan, const plan::Operation& hone);
/// Share of the parts that go to the hone as the bores lie now, of all bores that one hone operation mends; nothing
/// when that cannot be said. For whoever plans times and costs.
std::optional<double> share_honed(Context& c);
/// "EUR", as the plan types its money; empty when it names none.
std::string currency_word(const plan::Plan& plan);

}  // namespace fettle::study
