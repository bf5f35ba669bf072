#include "calc/holding/jaw.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>

#include "calc/holding/jaw_contact.h"
#include "maths/random.h"
#include "maths/statistics.h"

namespace fettle::holding {

namespace {

struct Bar {
  double length = 0, bending = 0, shear = 0;
  bool rigid = true;
};
Bar bar_of(const JawBar& b) {
  if (!(b.length > 0)) return {};
  const double area = b.height * b.thickness;
  const double g = b.modulus / (2 * (1 + b.poisson));
  return {b.length, b.modulus * b.height * std::pow(b.thickness, 3) / 12, shear_coefficient(b.poisson) * g * area,
          false};
}
double flexibility(const Bar& bar, double a, double b) {
  if (bar.rigid) return 0;
  return beam_flexibility(a + bar.length / 2, b + bar.length / 2, bar.length, bar.bending, bar.shear);
}

/// Deflection at `at` under a unit force spread evenly from `from` to `to`: exact, since the integrand is a cubic on
/// each side of `at`.
double under_push(const Bar& bar, double at, double from, double to) {
  if (bar.rigid) return 0;
  if (!(to > from)) return flexibility(bar, at, from);
  constexpr std::array<double, 2> node = {-0.57735026918962576451, 0.57735026918962576451};
  const double cut = std::clamp(at, from, to);
  double sum = 0;
  for (const auto& [a, b] : {std::pair{from, cut}, std::pair{cut, to}})
    for (double n : node) sum += (b - a) / 2 * flexibility(bar, at, (a + b) / 2 + n * (b - a) / 2);
  return sum / (to - from);
}

std::vector<JawPush> pushes_of(const JawInputs& in) {
  std::vector<JawPush> p = in.pushes;
  if (p.empty()) p.push_back({0, 0, 1});
  double sum = 0;
  for (const JawPush& x : p) sum += x.share;
  for (JawPush& x : p) x.share /= sum;
  return p;
}

Problems refusals(const JawInputs& in) {
  Problems out;
  const auto refuse = [&](bool good, const char* what) {
    if (!good) out.push_back(bad(what));
  };
  refuse(!in.at.empty() && in.at.size() <= 64, "1 to 64 parts under a jaw");
  refuse(in.stiffness.size() == in.at.size(), "one stiffness for each part");
  for (double k : in.stiffness) refuse(k > 0 && std::isfinite(k), "a stiffness must be above 0");
  for (double y : in.at) refuse(std::isfinite(y), "where a part lies must be a number");
  refuse(in.force > 0 && std::isfinite(in.force), "the force of the jaw must be above 0");
  refuse(in.need >= 0 && std::isfinite(in.need), "the force that a part needs may not be negative");
  refuse(in.spread >= 0 && std::isfinite(in.spread), "the spread of widths may not be negative");
  refuse(in.draws >= 0 && in.draws <= 10'000'000, "0 to 10 million loads");
  refuse(in.face >= 0 && std::isfinite(in.face), "the face that touches may not be negative");
  refuse(in.strips >= 1 && in.strips <= 32, "1 to 32 springs to a face");
  for (const JawPush& p : in.pushes) refuse(p.width >= 0 && p.share > 0 && std::isfinite(p.at), "a push needs a share");
  if (in.bar.length > 0) {
    refuse(in.bar.height > 0 && in.bar.thickness > 0 && in.bar.modulus > 0, "a bar needs a section and a modulus");
    refuse(in.bar.poisson >= 0 && in.bar.poisson < 0.5, "Poisson's ratio from 0 to below 0.5");
    const double half = in.bar.length / 2 * (1 + 1e-9);
    for (double y : in.at) refuse(std::fabs(y) + in.face / 2 <= half, "a part lies outside the bar");
    for (const JawPush& p : in.pushes) refuse(std::fabs(p.at) + p.width / 2 <= half, "a push lies outside the bar");
  }
  return out;
}

/// The springs of all parts, part by part.
struct Springs {
  std::vector<double> at, stiffness;
  std::size_t each = 1;
};
Springs springs_of(const JawInputs& in) {
  Springs s;
  s.each = in.face > 0 ? static_cast<std::size_t>(in.strips) : 1;
  for (std::size_t i = 0; i < in.at.size(); ++i)
    for (std::size_t k = 0; k < s.each; ++k) {
      s.at.push_back(in.at[i] + in.face * ((static_cast<double>(k) + 0.5) / static_cast<double>(s.each) - 0.5));
      s.stiffness.push_back(in.stiffness[i] / static_cast<double>(s.each));
    }
  return s;
}

/// The bar under its pushes, on the springs at equal widths; `forward`: how far the pushes bend it there.
struct Row {
  mutable ContactProblem problem;  // its overlaps change with the widths
  std::vector<double> forward;
  std::size_t parts = 0, each = 1;
  mutable std::vector<char> closed;  // where the last solve ended
  mutable double residual = 0;
  mutable int solves = 0;

  /// Force on each part when part i is over[i] wider; empty when none balances.
  std::vector<double> forces(const std::vector<double>& over, double factor) const {
    ContactProblem& p = problem;
    for (std::size_t k = 0; k < p.n; ++k) p.overlap[k] = forward[k] + factor * over[k / each];
    const auto x = solve_contacts(p, &closed);
    ++solves;
    if (!x) return {};
    residual = std::max(residual, x->residual);
    std::vector<double> f(parts, 0.0);
    for (std::size_t k = 0; k < p.n; ++k) f[k / each] += x->force[k];
    return f;
  }
};

Row row_of(const JawInputs& in) {
  const Bar bar = bar_of(in.bar);
  const auto pushes = pushes_of(in);
  const Springs springs = springs_of(in);
  Row row;
  row.parts = in.at.size();
  row.each = springs.each;
  ContactProblem& p = row.problem;
  p.n = springs.at.size();
  p.rows = in.yaw_free && p.n > 1 ? 2 : 1;
  p.flexibility.assign(p.n * p.n, 0.0);
  for (std::size_t i = 0; i < p.n; ++i) {
    for (std::size_t j = 0; j < p.n; ++j) p.flexibility[i * p.n + j] = flexibility(bar, springs.at[i], springs.at[j]);
    p.flexibility[i * p.n + i] += 1 / springs.stiffness[i];
    double forward = 0;
    for (const JawPush& q : pushes)
      forward += q.share * in.force * under_push(bar, springs.at[i], q.at - q.width / 2, q.at + q.width / 2);
    row.forward.push_back(forward);
  }
  p.overlap = row.forward;
  p.arms.assign(p.n, 1.0);
  p.load = {in.force};
  if (p.rows == 2) {
    p.arms.insert(p.arms.end(), springs.at.begin(), springs.at.end());
    double moment = 0;
    for (const JawPush& q : pushes) moment += q.share * in.force * q.at;
    p.load.push_back(moment);
  }
  return row;
}

ContactProblem even_problem(const Row& row) {
  ContactProblem p = row.problem;
  p.overlap = row.forward;
  return p;
}

Problem tips() { return bad("the pushes lie outside the row of parts: the jaw tips, no pushing forces balance it"); }

/// Forces as a linear map of the widths while every part is in contact.
struct Linear {
  std::vector<double> base, per;  ///< N; N/m, n x n
};
std::optional<Linear> linear_of(const ContactProblem& p) {
  const auto base = all_closed(p);
  if (!base) return std::nullopt;
  Linear l{base->force, std::vector<double>(p.n * p.n, 0.0)};
  ContactProblem unit = p;
  std::fill(unit.load.begin(), unit.load.end(), 0.0);
  for (std::size_t j = 0; j < p.n; ++j) {
    std::fill(unit.overlap.begin(), unit.overlap.end(), 0.0);
    unit.overlap[j] = 1e-6;
    const auto x = all_closed(unit);
    if (!x) return std::nullopt;
    for (std::size_t i = 0; i < p.n; ++i) l.per[i * p.n + j] = x->force[i] * 1e6;
  }
  return l;
}

/// With one way of sharing out, every row of `per` is a multiple of one direction.
bool one_way(const Row& r) { return r.each == 1 && r.parts <= r.problem.rows + 1; }

double share_in_closed_form(const ContactProblem& p, const Linear& l, double need, double spread) {
  double reach = 0;  // the most that any part's force spreads
  std::size_t lead = 0;
  std::vector<double> s(p.n, 0.0);
  for (std::size_t i = 0; i < p.n; ++i) {
    for (std::size_t j = 0; j < p.n; ++j) s[i] += l.per[i * p.n + j] * l.per[i * p.n + j];
    s[i] = spread * std::sqrt(s[i]);
    if (s[i] > reach) reach = s[i], lead = i;
  }
  double from = -std::numeric_limits<double>::infinity(), to = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < p.n; ++i) {
    double dot = 0;
    for (std::size_t j = 0; j < p.n; ++j) dot += l.per[i * p.n + j] * l.per[lead * p.n + j];
    const double slope = dot < 0 ? -s[i] : s[i];
    const double room = l.base[i] - need;
    if (!(std::fabs(slope) > 1e-12 * (reach + 1e-300))) {
      if (!(room >= 0)) return 1;
    } else if (slope > 0) {
      from = std::max(from, -room / slope);
    } else {
      to = std::min(to, -room / slope);
    }
  }
  if (!(from < to)) return 1;
  return maths::normal_cdf(from) + maths::normal_cdf(-to);
}

/// Share of loads in which each part alone gets less than the need. Once a part has come off, balance alone fixes the
/// others: what did not lack by then never does.
std::vector<double> loose_in_closed_form(const Linear& l, double need, double spread) {
  const std::size_t n = l.base.size();
  const auto dot = [&](std::size_t i, std::size_t k) {
    double sum = 0;
    for (std::size_t j = 0; j < n; ++j) sum += l.per[i * n + j] * l.per[k * n + j];
    return sum;
  };
  std::vector<double> s(n), out(n, 0.0);
  for (std::size_t i = 0; i < n; ++i) s[i] = spread * std::sqrt(dot(i, i));
  for (std::size_t i = 0; i < n; ++i) {
    const double room = l.base[i] - need;
    if (!(s[i] > 1e-12 * std::fabs(l.base[i]))) {
      out[i] = room >= 0 ? 0 : 1;
      continue;
    }
    double off = std::numeric_limits<double>::infinity();
    for (std::size_t j = 0; j < n; ++j)
      if (s[j] > 0 && dot(i, j) > 0) off = std::min(off, l.base[j] / s[j]);
    if (room / s[i] <= off) out[i] = maths::normal_cdf(-room / s[i]);
  }
  return out;
}

/// Share of an m-dimensional normal deviate farther out than r.
double chi_tail(int m, double r) {
  if (!std::isfinite(r)) return 0;
  const double half = r * r / 2;
  double tail = m % 2 == 0 ? 0 : 2 * maths::normal_cdf(-r);
  // Q_m = Q_(m-2) + (r^2/2)^((m-2)/2) exp(-r^2/2) / Gamma(m/2)
  for (int k = m % 2 == 0 ? 2 : 3; k <= m; k += 2)
    tail += std::exp((k - 2) / 2.0 * std::log(std::max(half, 1e-300)) - half - std::lgamma(k / 2.0));
  return std::min(1.0, tail);
}

/// Directions in the space of widths, as widths of unit length. Where a width that all share means nothing it is left
/// out.
std::vector<std::vector<double>> directions_of(const JawInputs& in, int& dimension) {
  const std::size_t n = in.at.size();
  dimension = static_cast<int>(n) - 1;
  std::vector<std::vector<double>> out;
  if (n == 2) return {{std::sqrt(0.5), -std::sqrt(0.5)}, {-std::sqrt(0.5), std::sqrt(0.5)}};
  if (n == 3) {
    constexpr int count = 48;
    for (int k = 0; k < count; ++k) {
      const double t = 2 * 3.14159265358979323846 * (k + 0.5) / count, a = std::cos(t) / std::sqrt(2.0),
                   b = std::sin(t) / std::sqrt(6.0);
      out.push_back({-a + b, -2 * b, a + b});
    }
    return out;
  }
  constexpr int count = 256;
  for (int k = 0; k < count; ++k) {
    std::vector<double> w(n);
    maths::normals(static_cast<std::uint64_t>(in.seed), static_cast<std::uint64_t>(k), 1000, n, w.data());
    double mean = 0, length = 0;
    for (double x : w) mean += x / static_cast<double>(n);
    for (double& x : w) x -= mean, length += x * x;
    for (double& x : w) x /= std::sqrt(length);
    out.push_back(w);
  }
  return out;
}

constexpr double kFar = 6;  // standard deviations; beyond them lies less than one load in ten million

/// How many standard deviations along `w` until part i has less than `need`, between none (at_none) and kFar (at_far).
double reach_of(const Row& row, const std::vector<double>& w, double spread, double need, std::size_t i, double at_none,
                double at_far) {
  double a = 0, fa = at_none - need, b = kFar, fb = at_far - need;
  if (fb >= 0) return std::numeric_limits<double>::infinity();
  const auto value = [&](double r) {
    const auto f = row.forces(w, r * spread);
    return f.empty() ? -need : f[i] - need;
  };
  // false position with the kept end halved (Illinois): the force is piecewise linear in r
  int side = 0;
  for (int step = 0; step < 60 && b - a > 1e-6; ++step) {
    const double r = (fa * b - fb * a) / (fa - fb), f = value(r);
    if (std::fabs(f) < 1e-6 * (need + 1)) return r;
    if (f < 0) {
      b = r, fb = f;
      if (side == -1) fa /= 2;
      side = -1;
    } else {
      a = r, fa = f;
      if (side == 1) fb /= 2;
      side = 1;
    }
  }
  return (a + b) / 2;
}

/// Shares by directions: of each part and of any.
bool by_directions(const JawInputs& in, const Row& row, JawResult& r) {
  int m = 0;
  const auto directions = directions_of(in, m);
  const std::size_t n = in.at.size();
  r.loose.assign(n, 0.0);
  std::vector<double> tails;
  for (const auto& w : directions) {
    double nearest = std::numeric_limits<double>::infinity();
    const auto far = row.forces(w, kFar * in.spread);
    for (std::size_t i = 0; i < n; ++i) {
      const double reach = reach_of(row, w, in.spread, in.need, i, r.planned[i], far.empty() ? 0.0 : far[i]);
      nearest = std::min(nearest, reach);
      r.loose[i] += chi_tail(m, reach) / static_cast<double>(directions.size());
    }
    tails.push_back(chi_tail(m, nearest));
  }
  const maths::Moments mo = maths::moments(tails);
  r.share = mo.mean;
  // equally spaced directions are known to the difference of their halves, drawn ones to their scatter
  double off = 0;
  if (n <= 3) {
    double odd = 0;
    for (std::size_t k = 1; k < tails.size(); k += 2) odd += tails[k] / (static_cast<double>(tails.size()) / 2);
    off = std::fabs(odd - r.share);
  } else {
    off = 1.96 * mo.s / std::sqrt(static_cast<double>(tails.size()));
  }
  r.share_low = std::max(0.0, r.share - off);
  r.share_high = std::min(1.0, r.share + off);
  return true;
}

void add_line(const JawInputs& in, const std::vector<double>& springs_force, JawState& s) {
  const Bar bar = bar_of(in.bar);
  if (bar.rigid) return;
  constexpr int points = 41;
  const auto pushes = pushes_of(in);
  const Springs springs = springs_of(in);
  for (int k = 0; k < points; ++k) {
    const double y = -bar.length / 2 + bar.length * k / (points - 1);
    double u = 0;
    for (const JawPush& q : pushes)
      u += q.share * in.force * under_push(bar, y, q.at - q.width / 2, q.at + q.width / 2);
    for (std::size_t i = 0; i < springs.at.size(); ++i) u -= springs_force[i] * flexibility(bar, y, springs.at[i]);
    s.bend_at.push_back(y);
    s.bend.push_back(u);
  }
  // Bending moment from everything that stands to the left; largest under a spring or at the ends and middles of
  // pushes.
  std::vector<double> looked = springs.at;
  for (const JawPush& q : pushes)
    for (double part : {-0.5, -0.25, 0.0, 0.25, 0.5}) looked.push_back(q.at + part * q.width);
  double most = 0;
  for (double y : looked) {
    double moment = 0;
    for (std::size_t i = 0; i < springs.at.size(); ++i) moment += springs_force[i] * std::max(0.0, y - springs.at[i]);
    for (const JawPush& q : pushes) {
      const double from = q.at - q.width / 2, over = std::clamp(y - from, 0.0, q.width);
      const double arm = q.width > 0 ? y - from - over / 2 : std::max(0.0, y - q.at);
      moment -= q.share * in.force * (q.width > 0 ? over / q.width : 1.0) * arm;
    }
    most = std::max(most, std::fabs(moment));
  }
  s.stress = 6 * most / (in.bar.height * in.bar.thickness * in.bar.thickness);
}

}  // namespace

double shear_coefficient(double poisson) { return 10 * (1 + poisson) / (12 + 11 * poisson); }

double beam_flexibility(double x, double s, double length, double bending_stiffness, double shear_stiffness) {
  if (x > s) std::swap(x, s);
  const double b = length - s;
  return b * x * (length * length - b * b - x * x) / (6 * length * bending_stiffness) +
         x * b / (length * shear_stiffness);
}

double in_series(const std::vector<double>& stiffness) {
  double give = 0;
  for (double k : stiffness) give += 1 / k;
  return 1 / give;
}
double block_stiffness(double modulus, double area, double length) { return modulus * area / length; }

double pad_rule(double force, int parts, double need, double difference) { return (force / parts - need) / difference; }

Outcome<JawState> jaw_state(const JawInputs& in, const std::vector<double>& over, bool with_line) {
  if (Problems p = refusals(in); !p.empty()) return p;
  if (over.size() != in.at.size()) return bad("one width for each part");
  Row row = row_of(in);
  for (std::size_t k = 0; k < row.problem.n; ++k) row.problem.overlap[k] = row.forward[k] + over[k / row.each];
  const auto x = solve_contacts(row.problem);
  if (!x) return tips();
  JawState s;
  s.force.assign(row.parts, 0.0);
  s.gap.assign(row.parts, std::numeric_limits<double>::infinity());
  for (std::size_t k = 0; k < row.problem.n; ++k) {
    s.force[k / row.each] += x->force[k];
    s.gap[k / row.each] = std::min(s.gap[k / row.each], x->force[k] > 0 ? 0 : x->gap[k]);
  }
  s.advance = x->motion[0];
  s.yaw = x->motion.size() > 1 ? x->motion[1] : 0;
  s.residual = x->residual;
  if (with_line) add_line(in, x->force, s);
  return s;
}

Outcome<JawResult> jaw_loads(const JawInputs& in) {
  if (Problems p = refusals(in); !p.empty()) return p;
  const std::size_t n = in.at.size();
  const Row row = row_of(in);
  JawResult r;
  r.planned = row.forces(std::vector<double>(n, 0.0), 0);
  if (r.planned.empty()) return tips();
  r.mean_least = *std::min_element(r.planned.begin(), r.planned.end());
  const bool short_already = !(r.mean_least >= in.need);
  const int draws = short_already ? std::max(in.draws, 2000) : in.draws;
  std::vector<std::vector<double>> drawn(n);
  std::vector<double> w(n), counted(n, 0.0);
  int hits = 0;
  for (int k = 0; k < draws; ++k) {
    maths::normals(static_cast<std::uint64_t>(in.seed), static_cast<std::uint64_t>(k), 0, n, w.data());
    const auto f = row.forces(w, in.spread);
    if (f.empty())
      return bad("bar, contact and forces are too far apart for the forces to be found to nine digits",
                 "a bar or contact many times softer or stiffer than the rest", "sizes of a real jaw", "");
    bool any = false;
    for (std::size_t i = 0; i < n; ++i) {
      const bool lacks = !(f[i] >= in.need);
      any = any || lacks;
      counted[i] += lacks ? 1.0 / draws : 0.0;
      drawn[i].push_back(f[i]);
    }
    hits += any ? 1 : 0;
  }
  for (std::size_t i = 0; i < n && draws > 0; ++i) {
    std::sort(drawn[i].begin(), drawn[i].end());
    r.low.push_back(drawn[i][static_cast<std::size_t>(0.05 * (draws - 1))]);
    r.high.push_back(drawn[i][static_cast<std::size_t>(0.95 * (draws - 1))]);
  }
  if (const auto linear = one_way(row) ? linear_of(even_problem(row)) : std::nullopt; linear) {
    r.exact = true;
    r.share = r.share_low = r.share_high = share_in_closed_form(row.problem, *linear, in.need, in.spread);
    r.loose = loose_in_closed_form(*linear, in.need, in.spread);
  } else if (short_already) {
    r.share = static_cast<double>(hits) / draws;
    const maths::Interval i = maths::clopper_pearson(hits, draws, 0.95);
    r.share_low = i.low;
    r.share_high = i.high;
    r.loose = counted;
  } else if (n > 1 && in.spread > 0) {
    by_directions(in, row, r);
  } else {
    r.loose.assign(n, 0.0);
    r.exact = true;
  }
  r.worst_residual = row.residual;
  r.solves = row.solves;
  return r;
}

Outcome<double> softest_pad_needed(const JawInputs& in, double rest, double limit, double softest) {
  if (!(rest > 0) || !(softest > 0) || !(limit > 0 && limit < 1))
    return bad("a stiffness above 0 and a share between 0 and 1");
  Problems wrong;
  const auto over = [&](double pad) {
    JawInputs x = in;
    std::fill(x.stiffness.begin(), x.stiffness.end(), pad > 0 ? in_series({rest, pad}) : rest);
    const auto r = jaw_loads(x);
    if (!r.ok()) {
      wrong = r.problems();
      return true;
    }
    return !(r->share <= limit);
  };
  if (!over(0)) return rest;
  if (!wrong.empty()) return wrong;
  double soft = softest, hard = 100 * rest;
  if (over(soft)) return wrong.empty() ? Problems{bad("no pad of this range holds every part often enough")} : wrong;
  if (!over(hard)) return hard;
  for (int i = 0; i < 50 && hard / soft > 1 + 1e-6; ++i) {
    const double middle = std::sqrt(soft * hard);
    (over(middle) ? hard : soft) = middle;
  }
  return soft;
}

}  // namespace fettle::holding
