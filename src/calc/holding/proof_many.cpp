// The worst of many load cases.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "calc/holding/elastic.h"
#include "calc/holding/proof.h"

namespace fettle::holding {

namespace {

void springs_of(const HoldingInputs& in, Vec3 about, HoldingResult& out) {
  const Springs springs(in.contacts, in.rest, about);
  out.creeps = std::numeric_limits<double>::quiet_NaN();
  out.first_slip.assign(in.contacts.size(), out.creeps);
  if (!springs.there()) return;
  springs.first_slip(in.loads[out.worst], out.first_slip);
  for (std::size_t i = 0; i < out.first_slip.size(); ++i)
    if (out.first_slip[i] < out.creeps || (std::isnan(out.creeps) && !std::isnan(out.first_slip[i]))) {
      out.creeps = out.first_slip[i];
      out.creeps_at = i;
    }
}

}  // namespace

HoldingResult holding(const HoldingInputs& in) {
  HoldingResult out;
  Fixture coarse(in.contacts, in.rest, in.facets, in.pins);
  out.refused = coarse.refused();
  if (out.refused.empty() && in.loads.empty()) out.refused = "no load";
  if (!out.refused.empty()) return out;
  out.at_rest = coarse.at_rest();
  out.least = out.least_coarse = std::numeric_limits<double>::infinity();
  for (const Load& load : in.loads) {
    const Carried& a = coarse.carry(load);
    if (a.status == Carried::Status::failed) ++out.failed;
    if (a.status == Carried::Status::unlimited) ++out.unlimited;
    out.factor.push_back(a.factor);
  }
  if (!out.at_rest || out.failed > 0) {
    out.least = out.least_coarse = 0;
    return out;
  }
  std::vector<std::size_t> order(in.loads.size());
  std::iota(order.begin(), order.end(), 0U);
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return out.factor[a] < out.factor[b] || (out.factor[a] == out.factor[b] && a < b);
  });
  out.worst = order.front();
  Fixture fine(in.contacts, in.rest, std::max(in.facets, in.fine_facets), in.pins);
  for (std::size_t k : order) {
    if (!(out.factor[k] < out.least) || std::isinf(out.factor[k])) break;  // the others carry at least this much
    const Carried& a = fine.carry(in.loads[k]);
    if (a.status == Carried::Status::failed || a.status == Carried::Status::not_at_rest) {
      ++out.failed;
      continue;
    }
    if (a.factor < out.least) {
      out.least = a.factor;
      out.worst = k;
      out.answer = a;
    }
  }
  out.least_coarse = out.factor[out.worst];
  if (std::isinf(out.least)) out.answer = fine.carry(in.loads[out.worst]);
  out.mechanism = mechanism(fine, out.answer);
  if (out.answer.status == Carried::Status::limited) out.forces = fine.contact_forces(out.answer);
  springs_of(in, fine.about(), out);
  return out;
}

}  // namespace fettle::holding
