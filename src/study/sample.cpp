#include "study/sample.h"

#include <fmt/format.h>

#include <algorithm>

#include "study/ledger_model.h"

namespace fettle::study {

Outcome<SampledPart> sample_part(const plan::Plan& plan, const Data& data, int number) {
  LedgerModel model = ledger_model(plan, data);
  auto ledger = tolerance::build(model.route);
  while (!ledger.ok() && drop_refused(model, ledger.problems())) ledger = tolerance::build(model.route);
  SampledPart out;
  out.number = number;
  out.parts = std::max(1, plan.header.castings.value);
  std::string missing;
  for (const LedgerRequirement& q : model.requirements) {
    const std::string& id = plan.requirements[static_cast<std::size_t>(q.of_plan)].id.value;
    if (q.route >= 0) continue;
    out.not_judged.push_back(q.missing.empty() ? id + ": no science looks at it yet" : id + ": " + q.missing.front());
    if (missing.empty() && !q.missing.empty()) missing = q.missing.front();
  }
  if (model.route.requirements.empty())
    return bad("no requirement of this plan can be judged, so no part can be drawn", plan.header.name.value,
               missing.empty() ? "a requirement with limits" : missing);
  if (number < 0 || number >= out.parts)
    return bad("no such part", fmt::format("{}", number),
               fmt::format("0 to {}: plan.castings says how many are drawn", out.parts - 1));
  if (!ledger.ok()) return ledger.problems();
  tolerance::SampleInputs in;
  in.parts = out.parts;
  in.seed = static_cast<std::uint64_t>(plan.header.seed.value);
  out.history = tolerance::one_part(*ledger, in, number);
  return out;
}

}  // namespace fettle::study
