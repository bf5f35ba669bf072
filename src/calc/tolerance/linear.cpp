#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/tolerance/scalar_share.h"

namespace fettle::tolerance {

using namespace inner;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Mean and covariance of one row, or of a pair.
struct Moment {
  double a = 0, b = 0, aa = 0, ab = 0, bb = 0;
};

struct Job {
  const Ledger& ledger;
  const std::vector<Contributor>& contributors;
  const std::vector<Play>& play;
  const Requirement& requirement;
  std::vector<NestGroup> groups;

  const std::vector<Contributor>& who() const { return contributors; }

  Moment moment(const Flat& a, const Flat& b) const {
    Moment m{a.constant, b.constant, 0, 0, 0};
    for (std::size_t i = 0; i < who().size(); ++i) {
      if (a.c[i] == 0 && b.c[i] == 0) continue;
      const double mean = mean_of(who()[i]), s = s_of(who()[i]), v = s * s;
      m.a += a.c[i] * mean;
      m.b += b.c[i] * mean;
      m.aa += a.c[i] * a.c[i] * v;
      m.ab += a.c[i] * b.c[i] * v;
      m.bb += b.c[i] * b.c[i] * v;
    }
    for (std::size_t k = 0; k < play.size(); ++k) {
      if (!play[k].there || play[k].pushed) continue;
      const SeatMoments s = moments(play[k], a.seat[k], b.seat[k]);
      m.a += s.mean_a;
      m.b += s.mean_b;
      m.aa += s.aa;
      m.ab += s.ab;
      m.bb += s.bb;
    }
    return m;
  }

  /// The limits of the row's element: the upper one with the mean bonus.
  double high_of(const Shape& s, std::size_t at) const {
    if (!requirement.upper) return infinity;
    if (s.bonus.empty()) return *requirement.upper;
    const auto e = std::find(requirement.elements.begin(), requirement.elements.end(), s.element_of[at]);
    const Row& row = s.bonus[static_cast<std::size_t>(e - requirement.elements.begin())];
    double bonus = row.constant;
    for (std::size_t i = 0; i < row.column.size(); ++i) {
      const auto c = static_cast<std::size_t>(row.column[i]);
      if (c < who().size()) bonus += row.coefficient[i] * mean_of(who()[c]);
    }
    return *requirement.upper + std::max(0.0, bonus);
  }
  double low() const { return requirement.lower.value_or(-infinity); }
};

bool is_zone(const Job& job) { return !job.groups.front().shape->pair.empty(); }

/// One row, or one pair, in every nest that differs.
struct Lot {
  std::vector<Flat> a, b;
  std::vector<Moment> moment;
  double high = infinity;
};
Lot lot_of(const Job& job, std::size_t at) {
  Lot lot;
  const bool zone = is_zone(job);
  for (const NestGroup& g : job.groups) {
    lot.a.push_back(flat(job.ledger, job.who(), job.play, zone ? g.shape->pair[2 * at] : g.shape->scalar[at]));
    lot.b.push_back(zone ? flat(job.ledger, job.who(), job.play, g.shape->pair[2 * at + 1]) : lot.a.back());
    lot.moment.push_back(job.moment(lot.a.back(), lot.b.back()));
  }
  lot.high = job.high_of(*job.groups.front().shape, at);
  return lot;
}

double longest(const Moment& m) {
  const double half = 0.5 * (m.aa - m.bb);
  return 0.5 * (m.aa + m.bb) + std::sqrt(half * half + m.ab * m.ab);
}

/// A quick look by normal tails, to find the worst row.
double quick_share(const Job& job, const Lot& lot) {
  double share = 0;
  for (std::size_t g = 0; g < lot.moment.size(); ++g) {
    const Moment& m = lot.moment[g];
    double bad = 0;
    if (is_zone(job)) {
      const double over = lot.high / 2 - std::sqrt(m.a * m.a + m.b * m.b), v = longest(m);
      bad = v > 0 ? std::exp(-0.5 * std::max(0.0, over) * std::max(0.0, over) / v) : over < 0 ? 1 : 0;
    } else {
      SumOf s;
      s.mean = m.a;
      s.normal_s = std::sqrt(m.aa);
      bad = share_beyond(s, job.low(), lot.high);
    }
    share += job.groups[g].weight * bad;
  }
  return share;
}

double scalar_share(const Job& job, const Lot& lot) {
  double share = 0;
  for (std::size_t g = 0; g < lot.a.size(); ++g) {
    const Flat& f = lot.a[g];
    SumOf s;
    s.mean = f.constant;
    double v = 0;
    for (std::size_t i = 0; i < job.who().size(); ++i) {
      if (f.c[i] == 0) continue;
      const Contributor& c = job.who()[i];
      s.mean += f.c[i] * c.mean;
      if (c.family == Contributor::Family::normal) v += f.c[i] * c.s * (f.c[i] * c.s);
      else if (c.family == Contributor::Family::uniform && c.half_width > 0)
        s.uniform.push_back(std::fabs(f.c[i]) * c.half_width);
      else if (c.family == Contributor::Family::half_normal && c.s > 0) s.half_normal.push_back(f.c[i] * c.s);
    }
    s.normal_s = std::sqrt(v);
    for (std::size_t k = 0; k < job.play.size(); ++k) {
      const SeatSum& p = f.seat[k];
      if (job.play[k].there && !job.play[k].pushed && (p.x != 0 || p.y != 0 || p.turn != 0))
        s.play.push_back({&job.play[k], p});
    }
    share += job.groups[g].weight * share_beyond(s, job.low(), lot.high);
  }
  return std::min(1.0, share);
}

double zone_share(const Job& job, const Lot& lot) {
  std::vector<PairOf> mixture;
  for (std::size_t g = 0; g < lot.a.size(); ++g) {
    const Flat &a = lot.a[g], &b = lot.b[g];
    PairOf p;
    p.weight = job.groups[g].weight;
    p.mean_a = a.constant;
    p.mean_b = b.constant;
    for (std::size_t i = 0; i < job.who().size(); ++i) {
      const double ca = a.c[i], cb = b.c[i];
      if (ca == 0 && cb == 0) continue;
      const Contributor& c = job.who()[i];
      p.mean_a += ca * c.mean;
      p.mean_b += cb * c.mean;
      if (c.family == Contributor::Family::normal) {
        p.aa += ca * ca * c.s * c.s;
        p.ab += ca * cb * c.s * c.s;
        p.bb += cb * cb * c.s * c.s;
      } else if (c.family == Contributor::Family::uniform) {
        if (c.half_width > 0) p.uniform.push_back({ca * c.half_width, cb * c.half_width});
      } else if (c.s > 0) {
        p.half_normal.push_back({ca * c.s, cb * c.s});
      }
    }
    for (std::size_t k = 0; k < job.play.size(); ++k) {
      const SeatSum &sa = a.seat[k], &sb = b.seat[k];
      const bool moves = sa.x != 0 || sa.y != 0 || sa.turn != 0 || sb.x != 0 || sb.y != 0 || sb.turn != 0;
      if (job.play[k].there && !job.play[k].pushed && moves) p.play.push_back({&job.play[k], sa, sb});
    }
    mixture.push_back(std::move(p));
  }
  return share_beyond(mixture, lot.high / 2);
}

/// Over the nests: mean of the covariances and covariance of the means.
Moment pooled(const Job& job, const std::vector<Moment>& by_group) {
  Moment m;
  for (std::size_t g = 0; g < by_group.size(); ++g) {
    m.a += job.groups[g].weight * by_group[g].a;
    m.b += job.groups[g].weight * by_group[g].b;
  }
  for (std::size_t g = 0; g < by_group.size(); ++g) {
    const double w = job.groups[g].weight, a = by_group[g].a - m.a, b = by_group[g].b - m.b;
    m.aa += w * (by_group[g].aa + a * a);
    m.ab += w * (by_group[g].ab + a * b);
    m.bb += w * (by_group[g].bb + b * b);
  }
  return m;
}

void contributors(const Job& job, const Lot& lot, Linear& out) {
  const bool zone = is_zone(job);
  double all = 0;
  const auto take = [&](const std::vector<Moment>& by_group, ContributorShare c) {
    const Moment m = pooled(job, by_group);
    const double v = zone ? 0.5 * (m.aa + m.bb) : m.aa;
    if (!(v > 0)) return;
    c.s = std::sqrt(v);
    c.share = v;
    all += v;
    out.contributors.push_back(std::move(c));
  };
  for (std::size_t i = 0; i < job.who().size(); ++i) {
    const Contributor& c = job.who()[i];
    const double mean = mean_of(c), s = s_of(c);
    std::vector<Moment> by_group;
    for (std::size_t g = 0; g < lot.a.size(); ++g) {
      const double a = lot.a[g].c[i], b = lot.b[g].c[i];
      by_group.push_back({a * mean, b * mean, a * a * s * s, a * b * s * s, b * b * s * s});
    }
    take(by_group, {static_cast<int>(i), c.name, c.key, c.operation, 0, 0});
  }
  for (std::size_t k = 0; k < job.play.size(); ++k) {
    if (!job.play[k].there || job.play[k].pushed) continue;
    std::vector<Moment> by_group;
    for (std::size_t g = 0; g < lot.a.size(); ++g) {
      const SeatMoments m = moments(job.play[k], lot.a[g].seat[k], lot.b[g].seat[k]);
      by_group.push_back({m.mean_a, m.mean_b, m.aa, m.ab, m.bb});
    }
    const Operation& op = job.ledger.route.operations[k];
    take(by_group, {static_cast<int>(job.who().size() + k), op.pins.name, op.pins.key, op.id, 0, 0});
  }
  for (ContributorShare& c : out.contributors) c.share = all > 0 ? c.share / all : 0;
  std::stable_sort(out.contributors.begin(), out.contributors.end(),
                   [](const ContributorShare& a, const ContributorShare& b) { return a.share > b.share; });
}

void indices(const Job& job, const Lot& lot, Linear& out) {
  const bool zone = is_zone(job);
  const double high = zone ? lot.high / 2 : lot.high, low = zone ? -high : job.low();
  const double up = (high - out.mean) / (3 * out.s), down = (out.mean - low) / (3 * out.s);
  out.cpk = std::min(up, down);
  out.cp = std::isfinite(low) && std::isfinite(high) ? (high - low) / (6 * out.s) : out.cpk;
}

Job job_of(const Ledger& ledger, const std::vector<Contributor>& who, const std::vector<Play>& play, int requirement) {
  return {ledger, who, play, ledger.route.requirements[static_cast<std::size_t>(requirement)],
          nest_groups(ledger, requirement)};
}

std::size_t rows_of(const Job& job) {
  const Shape& shape = *job.groups.front().shape;
  return is_zone(job) ? shape.pair.size() / 2 : shape.scalar.size();
}

Lot worst_lot(const Job& job) {
  Lot worst;
  double most = -1;
  for (std::size_t i = 0; i < rows_of(job); ++i) {
    Lot lot = lot_of(job, i);
    const double share = quick_share(job, lot);
    if (share > most) most = share, worst = std::move(lot);
  }
  return worst;
}

Linear linear_with(const Ledger& ledger, const std::vector<Play>& play, const std::vector<WorstSeats>& seats,
                   int requirement) {
  const Job job = job_of(ledger, ledger.route.contributors, play, requirement);
  const bool zone = is_zone(job);
  const Lot worst = worst_lot(job);
  Linear out;
  const Moment m = pooled(job, worst.moment);
  if (zone) {
    const double angle = 0.5 * std::atan2(m.ab, 0.5 * (m.aa - m.bb));
    out.mean = std::cos(angle) * m.a + std::sin(angle) * m.b;
    out.s = std::sqrt(longest(m));
    out.share_outside = zone_share(job, worst);
  } else {
    out.mean = m.a;
    out.s = std::sqrt(m.aa);
    out.share_outside = scalar_share(job, worst);
  }
  out.share_at_most = std::min(1.0, out.share_outside * static_cast<double>(rows_of(job)));
  indices(job, worst, out);
  contributors(job, worst, out);
  worst_case(ledger, seats, requirement, out);
  return out;
}

}  // namespace

std::vector<Linear> linear(const Ledger& ledger) {
  const std::vector<Play> play = plays(ledger);
  const std::vector<WorstSeats> seats = worst_seats(ledger);
  std::vector<Linear> out;
  for (std::size_t r = 0; r < ledger.route.requirements.size(); ++r)
    out.push_back(linear_with(ledger, play, seats, static_cast<int>(r)));
  return out;
}

std::vector<double> shares_by_theory(const Ledger& ledger, const std::vector<Contributor>& contributors,
                                     const std::vector<int>& requirements) {
  const std::vector<Play> play = plays(ledger, contributors);
  std::vector<double> out;
  out.reserve(requirements.size());
  for (const int r : requirements) {
    const Job job = job_of(ledger, contributors, play, r);
    const Lot worst = worst_lot(job);
    out.push_back(is_zone(job) ? zone_share(job, worst) : scalar_share(job, worst));
  }
  return out;
}

Linear linear_of(const Ledger& ledger, int requirement) {
  return linear_with(ledger, plays(ledger), worst_seats(ledger), requirement);
}

}  // namespace fettle::tolerance
