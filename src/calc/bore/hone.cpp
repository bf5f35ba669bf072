#include "calc/bore/hone.h"

#include <cmath>

namespace fettle::bore {

std::string_view word(Verdict v) {
  switch (v) {
    case Verdict::pass:
      return "pass";
    case Verdict::hone:
      return "hone";
    case Verdict::gauge_again:
      return "gauge again";
    case Verdict::too_large:
      return "too large";
  }
  return "gauge again";
}

Outcome<HoneList> hone_list(const HoneInputs& in) {
  Problems problems;
  const std::size_t n = in.readings.size();
  if (n == 0) problems.push_back(bad("no reading"));
  if (!in.names.empty() && in.names.size() != n) problems.push_back(bad("as many names as readings are needed"));
  if (!in.part_temperatures.empty() && in.part_temperatures.size() != n)
    problems.push_back(bad("as many temperatures as readings are needed"));
  if (!(in.upper > in.lower)) problems.push_back(bad("the upper limit is not above the lower one"));
  if (!(in.guard >= 0) || !std::isfinite(in.guard)) problems.push_back(bad("the guard band is negative or no number"));
  if (!(in.step >= 0) || !std::isfinite(in.step)) problems.push_back(bad("the step is negative or no number"));
  if (!problems.empty()) return problems;
  HoneList out;
  out.accept_low = in.lower + in.guard;
  out.accept_high = in.upper - in.guard;
  if (!(out.accept_high > out.accept_low))
    return bad("the guard bands leave nothing to accept: the gauge is too coarse for these limits");
  out.hone_aim = in.hone_aim != 0 ? in.hone_aim : 0.5 * (out.accept_low + out.accept_high);
  if (!(out.hone_aim > out.accept_low && out.hone_aim < out.accept_high))
    return bad("the hone is set outside the accept limits");
  for (std::size_t i = 0; i < n; ++i) {
    HonePart p;
    p.name = in.names.empty() ? std::to_string(i + 1) : in.names[i];
    p.size = in.readings[i];
    if (!std::isfinite(p.size)) return bad("a reading is no number", p.name);
    if (!in.part_temperatures.empty()) {
      const auto at = at_20({in.readings[i], in.part_temperatures[i], in.part_expansion, in.gauge_temperature,
                             in.gauge_expansion, 0, 0, 0});
      if (!at.ok()) {
        for (const Problem& q : at.problems()) problems.push_back(bad("part " + p.name + ": " + q.what));
        continue;
      }
      p.size = at->size;
    }
    if (p.size > in.upper + in.guard) p.verdict = Verdict::too_large;
    else if (p.size > out.accept_high) p.verdict = Verdict::gauge_again;
    else if (p.size < out.accept_low || (in.hone_all && p.size < out.hone_aim)) p.verdict = Verdict::hone;
    else p.verdict = Verdict::pass;
    if (p.verdict == Verdict::hone) {
      p.take = out.hone_aim - p.size;
      if (in.step > 0) p.take = std::max(1.0, std::round(p.take / in.step)) * in.step;
    }
    (p.verdict == Verdict::pass        ? out.pass
     : p.verdict == Verdict::hone      ? out.hone
     : p.verdict == Verdict::too_large ? out.too_large
                                       : out.again)++;
    out.parts.push_back(std::move(p));
  }
  if (!problems.empty()) return problems;
  return out;
}

}  // namespace fettle::bore
