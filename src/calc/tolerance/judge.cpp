#include "calc/tolerance/judge.h"

#include <algorithm>
#include <cmath>

namespace fettle::tolerance::inner {

using frame::dot;

namespace {

std::vector<const Shape*> shapes_of(const Ledger& ledger, std::size_t requirement) {
  std::vector<const Shape*> out;
  for (int n = 0; n < ledger.route.nests; ++n)
    out.push_back(&ledger.shapes[static_cast<std::size_t>(n) * ledger.route.requirements.size() + requirement]);
  return out;
}

/// Places of the pairs and datums in the plane across the pattern's axes.
void spots(const Route& route, const Requirement& r, RequirementPlan& plan) {
  using Hold = RequirementPlan::Hold;
  const Element& lead = route.elements[static_cast<std::size_t>(r.elements.front())];
  const Across c = across(lead.n);
  const auto spot = [&](Vec3 p) { return RequirementPlan::Spot{dot(p - lead.p, c.a), dot(p - lead.p, c.b)}; };
  for (const int e : r.elements)
    for (const Vec3 x : ends(route.elements[static_cast<std::size_t>(e)])) plan.spot.push_back(spot(x));
  const Hold* first_axis = nullptr;
  plan.hold.reserve(r.datums.size());
  for (std::size_t i = 0; i < r.datums.size(); ++i) {
    const Element& d = route.elements[static_cast<std::size_t>(r.datums[i])];
    const bool along = std::fabs(dot(d.n, lead.n)) > 0.99, plane = d.shape == Element::Shape::plane;
    const bool gives = i < r.datum_size.size() && r.datum_size[i] > 0;
    Hold h;
    h.spot = spot(d.p);
    if (plane && along) h.what = Hold::What::nothing;
    else if (plane || !along) h.what = Hold::What::all;
    else if (first_axis == nullptr || gives) h.what = Hold::What::place;
    else {
      h.what = Hold::What::turn;
      const double x = h.spot.x - first_axis->spot.x, y = h.spot.y - first_axis->spot.y, n = std::sqrt(x * x + y * y);
      if (n > 0) h.line_x = -y / n, h.line_y = x / n;
      else h.what = Hold::What::nothing;
    }
    plan.hold.push_back(h);
    if (h.what == Hold::What::place && first_axis == nullptr) first_axis = &plan.hold.back();
  }
}

void two_sided(const RequirementPlan& p, const std::vector<const Lanes*>& y, Verdicts& out) {
  Lanes most = *y[0], least = *y[0];
  for (std::size_t r = 1; r < p.scalars; ++r) {
    const double* __restrict v = y[r]->v;
    for (int l = 0; l < lanes; ++l) most.v[l] = most.v[l] < v[l] ? v[l] : most.v[l];
    for (int l = 0; l < lanes; ++l) least.v[l] = v[l] < least.v[l] ? v[l] : least.v[l];
  }
  const bool has_low = std::isfinite(p.low), has_high = std::isfinite(p.high);
  const double twice_middle = p.low + p.high;
  for (int l = 0; l < lanes; ++l) {
    const auto i = static_cast<std::size_t>(l);
    out.below[i] = !(least.v[l] >= p.low);
    out.above[i] = !(most.v[l] <= p.high);
    out.outside[i] = out.below[i] | out.above[i];
  }
  if (has_low && has_high)
    for (int l = 0; l < lanes; ++l) out.value.v[l] = most.v[l] + least.v[l] >= twice_middle ? most.v[l] : least.v[l];
  else out.value = has_high ? most : least;
}

void zone(const RequirementPlan& p, const std::vector<const Lanes*>& y, Verdicts& out) {
  const auto squares = [&](std::size_t i, Lanes& to) {
    const double* __restrict a = y[p.scalars + 2 * i]->v;
    const double* __restrict b = y[p.scalars + 2 * i + 1]->v;
    for (int l = 0; l < lanes; ++l) to.v[l] = a[l] * a[l] + b[l] * b[l];
  };
  Lanes most, now;
  squares(0, most);
  for (std::size_t i = 1; i < p.pairs; ++i) {
    squares(i, now);
    for (int l = 0; l < lanes; ++l) most.v[l] = most.v[l] < now.v[l] ? now.v[l] : most.v[l];
  }
  for (int l = 0; l < lanes; ++l) out.value.v[l] = 2 * std::sqrt(most.v[l]);
  out.below.fill(0);
  for (int l = 0; l < lanes; ++l) out.above[static_cast<std::size_t>(l)] = !(out.value.v[l] <= p.high);
  out.outside = out.above;
}

/// The limits of one lane's i-th scalar or pair, with its bonus.
double limit_of(const RequirementPlan& p, const std::vector<const Lanes*>& y, std::size_t i, std::size_t l) {
  return p.bonuses == 0 ? p.high : p.high + std::max(0.0, y[p.bonus_row(p.bonus_of[i])]->v[l]);
}
double value_of(const RequirementPlan& p, const std::vector<const Lanes*>& y, std::size_t i, std::size_t l) {
  if (i < p.scalars) return y[i]->v[l];
  const double a = y[p.scalars + 2 * (i - p.scalars)]->v[l], b = y[p.scalars + 2 * (i - p.scalars) + 1]->v[l];
  return 2 * std::sqrt(a * a + b * b);
}

bool inside_by_shift(const RequirementPlan& p, const std::vector<const Lanes*>& y, std::size_t l) {
  using Hold = RequirementPlan::Hold;
  ShiftQuestion q;
  for (std::size_t i = 0; i < p.pairs; ++i) {
    const double a = y[p.scalars + 2 * i]->v[l], b = y[p.scalars + 2 * i + 1]->v[l];
    q.conditions.push_back({p.spot[i].x, p.spot[i].y, a, b, limit_of(p, y, p.scalars + i, l) / 2});
  }
  bool any = false;
  for (std::size_t d = 0; d < p.datums; ++d) {
    const Hold& h = p.hold[d];
    if (h.what == Hold::What::all) return false;
    if (h.what == Hold::What::nothing) continue;
    const double room = h.what == Hold::What::place ? std::max(0.0, y[p.datum_row(d)]->v[l] / 2) : 0;
    any = any || room > 0;
    q.conditions.push_back({h.spot.x, h.spot.y, 0, 0, room, h.line_x, h.line_y});
  }
  return any && shift_exists(q);
}

/// Second look at the lanes that are outside: their bonus, then a shift of the datums.
void with_bonus(const RequirementPlan& p, const std::vector<const Lanes*>& y, Verdicts& out) {
  for (std::size_t l = 0; l < lanes; ++l) {
    if (!out.above[l]) continue;
    bool above = false;
    for (std::size_t i = 0; i < p.scalars + p.pairs; ++i) above |= !(value_of(p, y, i, l) <= limit_of(p, y, i, l));
    if (above && p.datums > 0 && p.pairs > 0) above = !inside_by_shift(p, y, l);
    out.above[l] = above;
    out.outside[l] = out.below[l] | out.above[l];
  }
}

}  // namespace

RequirementPlan requirement_plan(const Ledger& ledger, std::size_t requirement) {
  const Requirement& r = ledger.route.requirements[requirement];
  const std::vector<const Shape*> shapes = shapes_of(ledger, requirement);
  RequirementPlan out;
  const auto take = [&](std::vector<Row> Shape::*rows) {
    const std::size_t n = (shapes.front()->*rows).size();
    for (std::size_t i = 0; i < n; ++i) {
      std::vector<const Row*> by_nest;
      for (const Shape* s : shapes) by_nest.push_back(&(s->*rows)[i]);
      out.rows.push_back(row_plan(by_nest));
    }
    return n;
  };
  out.scalars = take(&Shape::scalar);
  out.pairs = take(&Shape::pair) / 2;
  out.bonuses = take(&Shape::bonus);
  out.datums = take(&Shape::datum_bonus);
  for (const int e : shapes.front()->element_of) {
    const auto at = std::find(r.elements.begin(), r.elements.end(), e);
    out.bonus_of.push_back(static_cast<std::size_t>(at - r.elements.begin()));
  }
  if (r.lower) out.low = *r.lower;
  if (r.upper) out.high = *r.upper;
  const Row& reading = shapes.front()->reading;
  out.has_reading = !reading.column.empty();
  if (out.has_reading) out.reading = row_plan({&reading});
  if (out.datums > 0) spots(ledger.route, r, out);
  return out;
}

void judge(const RequirementPlan& plan, const std::vector<const Lanes*>& y, Verdicts& out) {
  if (plan.scalars > 0) two_sided(plan, y, out);
  else zone(plan, y, out);
  if (plan.bonuses > 0 || plan.datums > 0) with_bonus(plan, y, out);
}

double limit_with_bonus(const RequirementPlan& p, const std::vector<const Lanes*>& y, int lane) {
  const auto l = static_cast<std::size_t>(lane);
  double worst = -std::numeric_limits<double>::infinity(), limit = p.high;
  for (std::size_t i = 0; i < p.scalars + p.pairs; ++i) {
    const double over = value_of(p, y, i, l) - limit_of(p, y, i, l);
    if (over > worst) {
      worst = over;
      limit = limit_of(p, y, i, l);
    }
  }
  return limit;
}

}  // namespace fettle::tolerance::inner
