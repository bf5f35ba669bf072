#include "calc/holding/anchors.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/holding/jaw_contact.h"

namespace fettle::holding {

namespace {

Problems refusals(const AnchorInputs& in) {
  Problems out;
  const auto refuse = [&](bool good, const char* what) {
    if (!good) out.push_back(bad(what));
  };
  refuse(in.seats.size() >= 3 && in.seats.size() <= 64, "3 to 64 anchors");
  for (const Seat& s : in.seats) {
    refuse(std::isfinite(s.x) && std::isfinite(s.y), "where an anchor stands must be a number");
    refuse(s.pull_down >= 0 && std::isfinite(s.pull_down), "the pull-down may not be negative");
    refuse(s.stiffness > 0 && std::isfinite(s.stiffness), "a seat's stiffness must be above 0");
    refuse(s.chip >= 0 && std::isfinite(s.chip), "a chip cannot be thinner than nothing");
  }
  refuse(in.weight >= 0 && std::isfinite(in.weight), "the weight may not be negative");
  return out;
}

/// Push down, and moments about x and y, at the origin.
struct Resultant {
  double down = 0, about_x = 0, about_y = 0;
};
Resultant of_load(const PalletLoad& l) {
  const frame::Vec3 m = cross(l.at, l.force);
  return {-l.force.z, m.x, m.y};
}
Resultant of_pulls(const AnchorInputs& in) {
  Resultant r{in.weight, -in.weight_y * in.weight, in.weight_x * in.weight};
  for (const Seat& s : in.seats) {
    r.down += s.pull_down;
    r.about_x -= s.y * s.pull_down;
    r.about_y += s.x * s.pull_down;
  }
  return r;
}

/// Seats push up with N: sum N = down, sum y N = -about_x, sum x N = about_y.
ContactProblem problem_of(const AnchorInputs& in, const Resultant& r) {
  ContactProblem p;
  p.n = in.seats.size();
  p.rows = 3;
  p.flexibility.assign(p.n * p.n, 0.0);
  p.arms.assign(3 * p.n, 1.0);
  for (std::size_t i = 0; i < p.n; ++i) {
    p.flexibility[i * p.n + i] = 1 / in.seats[i].stiffness;
    p.overlap.push_back(in.seats[i].chip);
    p.arms[p.n + i] = in.seats[i].y;
    p.arms[2 * p.n + i] = in.seats[i].x;
  }
  p.load = {r.down, -r.about_x, r.about_y};
  return p;
}

}  // namespace

Outcome<AnchorResult> on_anchors(const AnchorInputs& in, const PalletLoad& load) {
  if (Problems p = refusals(in); !p.empty()) return p;
  Resultant r = of_pulls(in);
  const Resultant l = of_load(load);
  r.down += l.down, r.about_x += l.about_x, r.about_y += l.about_y;
  const auto x = solve_contacts(problem_of(in, r));
  if (!x) return bad("the load tips the pallet off its anchors, or the anchors stand in a line");
  AnchorResult out;
  out.seat = x->force;
  const auto least = std::min_element(out.seat.begin(), out.seat.end());
  out.least = *least;
  out.least_at = static_cast<int>(least - out.seat.begin());
  // motion: how far the plate comes down at (x, y) is m0 + m1 y + m2 x
  out.sink = x->motion[0];
  out.about_x = -x->motion[1];
  out.about_y = x->motion[2];
  out.sideways = std::hypot(load.force.x, load.force.y);
  double sum = 0;
  for (double n : out.seat) sum += n;
  out.friction = out.sideways / sum;
  out.residual = x->residual;
  return out;
}

double rises(const AnchorResult& r, double x, double y) { return -r.sink + r.about_x * y - r.about_y * x; }

Outcome<std::vector<std::array<double, 3>>> seat_influence(const AnchorInputs& in) {
  if (Problems p = refusals(in); !p.empty()) return p;
  AnchorInputs bare = in;
  for (Seat& s : bare.seats) s.chip = 0;
  std::vector<std::array<double, 3>> out(in.seats.size());
  const Resultant units[] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
  for (std::size_t k = 0; k < 3; ++k) {
    const auto x = all_closed(problem_of(bare, units[k]));
    if (!x) return bad("the anchors stand in a line");
    for (std::size_t i = 0; i < out.size(); ++i) out[i][k] = x->force[i];
  }
  return out;
}

Outcome<double> lift_off_factor(const AnchorInputs& in, const PalletLoad& load) {
  const auto at_rest = on_anchors(in, {});
  if (!at_rest.ok()) return at_rest.problems();
  const auto per = seat_influence(in);
  if (!per.ok()) return per.problems();
  const Resultant l = of_load(load);
  double factor = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < in.seats.size(); ++i) {
    const double change = (*per)[i][0] * l.down + (*per)[i][1] * l.about_x + (*per)[i][2] * l.about_y;
    if (change < 0) factor = std::min(factor, at_rest->seat[i] / -change);
  }
  return factor;
}

}  // namespace fettle::holding
