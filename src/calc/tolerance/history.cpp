// One sampled part again: the same block is drawn and judged by the same functions, so the numbers are the same bits.
#include <algorithm>
#include <cmath>

#include "calc/tolerance/judge.h"

namespace fettle::tolerance {

using namespace inner;

namespace {

struct Part {
  const Ledger& ledger;
  const Drawing& drawing;
  const Block& block;
  int lane = 0, nest = 0;

  double x(std::size_t column) const { return block.x[column].v[lane]; }
  double sum(const Dense& row) const {
    double s = 0;
    for (std::size_t c = 0; c < row.size(); ++c)
      if (row[c] != 0) s += row[c] * x(c);
    return s;
  }
};

PartHistory::Step step_of(const Part& p, std::size_t k, const Pose& pose) {
  PartHistory::Step s;
  s.operation = p.ledger.route.operations[k].id;
  if (p.ledger.play_column[k] >= 0) {
    const auto c = static_cast<std::size_t>(p.ledger.play_column[k]);
    s.seat = {p.x(c), p.x(c + 1), p.x(c + 2)};
  }
  s.w = {p.sum(pose.of[3]), p.sum(pose.of[4]), p.sum(pose.of[5])};
  s.t = Vec3{p.sum(pose.of[0]), p.sum(pose.of[1]), p.sum(pose.of[2])} - frame::cross(s.w, pose.about);
  return s;
}

/// What every source adds to the value, along the way the worst row or pair went.
void most_of(const Part& p, const RequirementPlan& plan, const std::vector<Lanes>& y, PartHistory::Verdict& v) {
  const auto lane = static_cast<std::size_t>(p.lane);
  std::size_t worst = 0;
  double nearest = -1;
  const bool zone = plan.scalars == 0;
  for (std::size_t i = 0; i < (zone ? plan.pairs : plan.scalars); ++i) {
    const double a = y[zone ? 2 * i : i].v[lane], b = zone ? y[2 * i + 1].v[lane] : 0;
    const double off = std::fabs((zone ? 2 * std::sqrt(a * a + b * b) : a) - v.value);
    if (nearest < 0 || off < nearest) nearest = off, worst = i;
  }
  std::vector<double> by_source(p.ledger.route.contributors.size() + p.ledger.route.operations.size(), 0.0);
  const auto add = [&](const RowPlan& row, double factor) {
    for (std::size_t i = 0; i < places(row); ++i) {
      const int c = column_at(row, i);
      const double k = i < row.column.size() ? row.coefficient[i] : row.nest_coefficient[i - row.column.size()].v[lane];
      auto source = static_cast<std::size_t>(c);
      if (source >= p.ledger.route.contributors.size())
        for (std::size_t o = 0; o < p.ledger.play_column.size(); ++o)
          if (p.ledger.play_column[o] >= 0 && c >= p.ledger.play_column[o] && c < p.ledger.play_column[o] + 3)
            source = p.ledger.route.contributors.size() + o;
      by_source[source] += factor * k * p.x(static_cast<std::size_t>(c));
    }
  };
  if (!zone) {
    add(plan.rows[worst], 1);
  } else {
    const double a = y[2 * worst].v[lane], b = y[2 * worst + 1].v[lane], r = std::sqrt(a * a + b * b);
    if (!(r > 0)) return;
    add(plan.rows[2 * worst], 2 * a / r);
    add(plan.rows[2 * worst + 1], 2 * b / r);
  }
  std::size_t most = 0;
  for (std::size_t i = 1; i < by_source.size(); ++i)
    if (std::fabs(by_source[i]) > std::fabs(by_source[most])) most = i;
  if (by_source.empty() || by_source[most] == 0) return;
  const std::size_t contributors = p.ledger.route.contributors.size();
  v.most = by_source[most];
  v.most_from = most < contributors ? p.ledger.route.contributors[most].name
                                    : p.ledger.route.operations[most - contributors].pins.name;
}

PartHistory::Verdict verdict_of(const Part& p, std::size_t requirement) {
  const RequirementPlan plan = requirement_plan(p.ledger, requirement);
  std::vector<Lanes> y(plan.rows.size());
  std::vector<const Lanes*> at;
  for (std::size_t i = 0; i < plan.rows.size(); ++i) {
    evaluate(plan.rows[i], p.block.x, y[i]);
    at.push_back(&y[i]);
  }
  Verdicts all;
  judge(plan, at, all);
  PartHistory::Verdict v;
  v.requirement = p.ledger.route.requirements[requirement].id;
  v.value = all.value.v[p.lane];
  v.inside = all.outside[static_cast<std::size_t>(p.lane)] == 0;
  v.low = plan.low;
  v.high = limit_with_bonus(plan, at, p.lane);
  if (plan.has_reading) {
    Lanes error;
    evaluate(plan.reading, p.block.x, error);
    v.reading = v.value + error.v[p.lane];
  } else {
    v.reading = v.value;
  }
  most_of(p, plan, y, v);
  return v;
}

}  // namespace

PartHistory one_part(const Ledger& ledger, const SampleInputs& in, int number) {
  PartHistory out;
  const Route& route = ledger.route;
  if (number < 0) return out;
  const std::vector<char> all(static_cast<std::size_t>(ledger.columns), 1);
  SampleInputs enough = in;
  enough.parts = std::max(in.parts, number + 1);
  const Drawing drawing(ledger, enough, all);
  Block block = drawing.room();
  drawing.draw(number / drawing.parts_per_block(), block);
  const Part p{ledger, drawing, block, number - block.first, drawing.nest_of(number)};
  out.nest = p.nest;
  out.pallet = drawing.pallet_of(number);
  for (std::size_t c = 0; c < route.contributors.size(); ++c) {
    const Contributor& who = route.contributors[c];
    const double s = s_of(who), value = p.x(c);
    out.errors.push_back({who.name, who.operation, value, s > 0 ? (value - mean_of(who)) / s : 0});
  }
  std::vector<Fixture> fixtures;
  for (const Operation& op : route.operations) {
    Outcome<Fixture> f = fixture(route, op);
    if (!f) return out;  // build() refuses such a route
    fixtures.push_back(std::move(*f));
  }
  const March m = march(route, fixtures, p.nest);
  for (std::size_t k = 0; k < route.operations.size(); ++k) out.steps.push_back(step_of(p, k, m.poses[k]));
  for (std::size_t e = 0; e < route.elements.size(); ++e) {
    const State& s = m.surfaces[e];
    out.surfaces.push_back({route.elements[e].id,
                            {p.sum(s[0]), p.sum(s[1]), p.sum(s[2])},
                            {p.sum(s[3]), p.sum(s[4]), p.sum(s[5])},
                            route.elements[e].size + p.sum(s[size_at]),
                            p.sum(s[form_at])});
  }
  for (std::size_t r = 0; r < route.requirements.size(); ++r) out.requirements.push_back(verdict_of(p, r));
  return out;
}

}  // namespace fettle::tolerance
