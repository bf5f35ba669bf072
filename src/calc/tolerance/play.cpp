#include "calc/tolerance/play.h"

#include <algorithm>
#include <cmath>

namespace fettle::tolerance::inner {

using frame::dot;

namespace {

constexpr double half_pi = 1.57079632679489661923;
constexpr int x_nodes = 32;

std::array<double, 4> sizes_of(const maths::PinPair& p) {
  return {p.round_hole - p.round_pin, p.relieved_hole, p.land, p.part_span - p.pallet_span};
}
maths::PinPair with_sizes(maths::PinPair p, const std::array<double, 4>& s) {
  p.round_hole = p.round_pin + s[0];
  p.relieved_hole = s[1];
  p.land = s[2];
  p.part_span = p.pallet_span + s[3];
  return p;
}

struct Push {
  maths::Point2 at, along;
};
Push push_of(const Route& route, const Pins& pins) {
  const Element& round = route.elements[static_cast<std::size_t>(pins.round_hole)];
  const PairFrame f = pair_frame(round, route.elements[static_cast<std::size_t>(pins.relieved_hole)]);
  const Vec3 at = pins.push_at - round.p;
  return {{dot(at, f.x), dot(at, f.y)}, {dot(pins.push_along, f.x), dot(pins.push_along, f.y)}};
}
maths::Seat pushed_seat(const maths::PinPair& pair, const Push& push) {
  return maths::Seats(pair).pushed(push.at, push.along).value_or(maths::Seat{});
}

Play anywhere(const maths::PinPair& pair) {
  Play p;
  p.there = true;
  p.span = pair.part_span;
  const maths::Seats seats(pair);
  if (seats.none()) {
    p.nodes.push_back({0, 0, 0, 0, 1, 1});
    return p;
  }
  const double middle = 0.5 * (seats.x_low() + seats.x_high()), half = 0.5 * (seats.x_high() - seats.x_low());
  double all = 0;
  for (int i = 0; i < x_nodes; ++i) {
    const double angle =
        half_pi * ((2 * i + 1.0) / x_nodes - 1);  // closer together at the ends, where the rooms vanish
    Play::Node n;
    n.x = middle + half * std::sin(angle);
    const maths::Seats::Room room = seats.relieved_room(seats.off_at(n.x, 0));
    n.round = seats.round_room(n.x);
    n.relieved = 0.5 * (room.high - room.low);
    n.middle = 0.5 * (room.high + room.low);
    n.weight = n.round * n.relieved * std::cos(angle);
    all += n.weight;
    p.nodes.push_back(n);
  }
  if (!(all > 0)) {
    p.nodes.assign(1, {middle, 0, 0, 0, 1, 1});
    return p;
  }
  double below = 0;
  for (Play::Node& n : p.nodes) {
    n.weight /= all;
    below += n.weight;
    n.below = below;
  }
  return p;
}

Play pushed(const maths::PinPair& pair, const Push& push) {
  Play p;
  p.there = p.pushed = true;
  p.span = pair.part_span;
  p.seat = pushed_seat(pair, push);
  constexpr double step = 0.2e-6;
  const std::array<double, 4> at = sizes_of(pair);
  for (std::size_t i = 0; i < 4; ++i) {
    std::array<double, 4> up = at, down = at;
    up[i] += step;
    down[i] -= step;
    const maths::Seat a = pushed_seat(with_sizes(pair, up), push), b = pushed_seat(with_sizes(pair, down), push);
    p.by_size[0][i] = (a.x - b.x) / (2 * step);
    p.by_size[1][i] = (a.y - b.y) / (2 * step);
    p.by_size[2][i] = (a.turn - b.turn) / (2 * step);
  }
  return p;
}

/// The pair at the contributors' means as they are now: what `Pins::pair` says, unless somebody moved a mean since.
maths::PinPair at_means(const Ledger& ledger, const std::vector<Contributor>& who, std::size_t k) {
  const Row* rows[4] = {&ledger.round_size[k], &ledger.relieved_size[k], &ledger.land_size[k], &ledger.span[k]};
  std::array<double, 4> size{};
  for (std::size_t j = 0; j < 4; ++j) {
    size[j] = rows[j]->constant;
    for (std::size_t i = 0; i < rows[j]->column.size(); ++i) {
      const auto c = static_cast<std::size_t>(rows[j]->column[i]);
      if (c < who.size()) size[j] += rows[j]->coefficient[i] * mean_of(who[c]);
    }
  }
  return with_sizes(ledger.route.operations[k].pins.pair, size);
}

/// Standard deviation of a clearance over its mean: first row minus second. At most a half, where the factor's normal
/// law would reach far below zero.
double relative_s(const std::vector<Contributor>& who, const std::vector<const Row*>& rows, double mean) {
  std::vector<double> sum(who.size(), 0.0);
  for (std::size_t r = 0; r < rows.size(); ++r)
    for (std::size_t i = 0; i < rows[r]->column.size(); ++i) {
      const auto c = static_cast<std::size_t>(rows[r]->column[i]);
      if (c < sum.size()) sum[c] += (r == 0 ? 1 : -1) * rows[r]->coefficient[i];
    }
  double v = 0;
  for (std::size_t c = 0; c < sum.size(); ++c) {
    const double s = sum[c] * s_of(who[c]);
    v += s * s;
  }
  return mean > 0 ? std::min(0.5, std::sqrt(v) / mean) : 0;
}

}  // namespace

std::vector<Play> plays(const Ledger& ledger) { return plays(ledger, ledger.route.contributors); }

std::vector<Play> plays(const Ledger& ledger, const std::vector<Contributor>& who) {
  std::vector<Play> out;
  for (std::size_t k = 0; k < ledger.route.operations.size(); ++k) {
    const Pins& pins = ledger.route.operations[k].pins;
    if (!pins.there) {
      out.emplace_back();
      continue;
    }
    const maths::PinPair pair = at_means(ledger, who, k);
    if (pins.seat == Pins::Seat::pushed) {
      out.push_back(pushed(pair, push_of(ledger.route, pins)));
    } else {
      out.push_back(anywhere(pair));
      out.back().round_s = relative_s(who, {&ledger.round_size[k]}, pair.round_hole - pair.round_pin);
      out.back().relieved_s =
          relative_s(who, {&ledger.relieved_size[k], &ledger.land_size[k]}, pair.relieved_hole - pair.land);
    }
  }
  return out;
}

SeatMoments moments(const Play& play, const SeatSum& a, const SeatSum& b) {
  const double ha = a.turn / play.span, ya = a.y - ha, hb = b.turn / play.span, yb = b.y - hb;
  const double round = 1 + play.round_s * play.round_s, relieved = 1 + play.relieved_s * play.relieved_s;
  SeatMoments m;
  for (const Play::Node& n : play.nodes) {
    const double xa = a.x * n.x, xb = b.x * n.x, ma = ha * n.middle, mb = hb * n.middle;
    const double yy = round * n.round * n.round / 3, vv = relieved * n.relieved * n.relieved / 3;
    m.mean_a += n.weight * (xa + ma);
    m.mean_b += n.weight * (xb + mb);
    m.aa += n.weight * (round * xa * xa + 2 * xa * ma + ma * ma + ya * ya * yy + ha * ha * vv);
    m.ab += n.weight * (round * xa * xb + xa * mb + xb * ma + ma * mb + ya * yb * yy + ha * hb * vv);
    m.bb += n.weight * (round * xb * xb + 2 * xb * mb + mb * mb + yb * yb * yy + hb * hb * vv);
  }
  m.aa = std::max(0.0, m.aa - m.mean_a * m.mean_a);
  m.ab -= m.mean_a * m.mean_b;
  m.bb = std::max(0.0, m.bb - m.mean_b * m.mean_b);
  return m;
}

Flat flat(const Ledger& ledger, const std::vector<Contributor>& who, const std::vector<Play>& plays, const Row& row) {
  const std::size_t contributors = who.size();
  Flat f;
  f.constant = row.constant;
  f.c.assign(contributors, 0.0);
  f.seat.resize(plays.size());
  for (std::size_t i = 0; i < row.column.size(); ++i) {
    const auto c = static_cast<std::size_t>(row.column[i]);
    if (c < contributors) {
      f.c[c] += row.coefficient[i];
      continue;
    }
    for (std::size_t k = 0; k < plays.size(); ++k) {
      const int first = ledger.play_column[k];
      if (first < 0 || row.column[i] < first || row.column[i] >= first + 3) continue;
      SeatSum& s = f.seat[k];
      (row.column[i] == first ? s.x : row.column[i] == first + 1 ? s.y : s.turn) += row.coefficient[i];
    }
  }
  for (std::size_t k = plays.size(); k-- > 0;) {
    if (!plays[k].pushed) continue;
    const SeatSum s = f.seat[k];
    f.seat[k] = {};
    f.constant += s.x * plays[k].seat.x + s.y * plays[k].seat.y + s.turn * plays[k].seat.turn;
    const Row* sizes[4] = {&ledger.round_size[k], &ledger.relieved_size[k], &ledger.land_size[k], &ledger.span[k]};
    for (std::size_t j = 0; j < 4; ++j) {
      const double per_size =
          s.x * plays[k].by_size[0][j] + s.y * plays[k].by_size[1][j] + s.turn * plays[k].by_size[2][j];
      for (std::size_t i = 0; i < sizes[j]->column.size(); ++i) {
        const auto c = static_cast<std::size_t>(sizes[j]->column[i]);
        if (c >= contributors) continue;  // earlier play: second order
        const double v = per_size * sizes[j]->coefficient[i];
        f.c[c] += v;
        f.constant -= v * mean_of(who[c]);
      }
    }
  }
  return f;
}

std::vector<NestGroup> nest_groups(const Ledger& ledger, int requirement) {
  const std::size_t n = ledger.route.requirements.size();
  const auto same_rows = [](const std::vector<Row>& a, const std::vector<Row>& b) {
    for (std::size_t i = 0; i < a.size(); ++i)
      if (a[i].column != b[i].column || a[i].coefficient != b[i].coefficient) return false;
    return true;
  };
  std::vector<NestGroup> out;
  for (int nest = 0; nest < ledger.route.nests; ++nest) {
    const Shape& s = ledger.shapes[static_cast<std::size_t>(nest) * n + static_cast<std::size_t>(requirement)];
    bool seen = false;
    for (NestGroup& g : out)
      if (!seen && same_rows(g.shape->scalar, s.scalar) && same_rows(g.shape->pair, s.pair)) {
        g.weight += 1;
        seen = true;
      }
    if (!seen) out.push_back({&s, 1});
  }
  for (NestGroup& g : out) g.weight /= ledger.route.nests;
  return out;
}

std::vector<WorstSeats> worst_seats(const Ledger& ledger) {
  std::vector<WorstSeats> out(ledger.route.operations.size());
  for (std::size_t k = 0; k < out.size(); ++k) {
    const Pins& pins = ledger.route.operations[k].pins;
    if (!pins.there) continue;
    out[k].there = true;
    const Row* rows[4] = {&ledger.round_size[k], &ledger.relieved_size[k], &ledger.land_size[k], &ledger.span[k]};
    std::array<Range, 4> size;
    for (std::size_t j = 0; j < 4; ++j) {
      size[j] = {rows[j]->constant, rows[j]->constant};
      for (std::size_t i = 0; i < rows[j]->column.size(); ++i) {
        const auto c = static_cast<std::size_t>(rows[j]->column[i]);
        if (c >= ledger.route.contributors.size()) continue;  // earlier play: second order
        const Range w = worst_of(ledger.route.contributors[c]);
        const double a = rows[j]->coefficient[i] * w.low, b = rows[j]->coefficient[i] * w.high;
        size[j].low += std::min(a, b);
        size[j].high += std::max(a, b);
      }
    }
    if (pins.seat == Pins::Seat::pushed) {
      const Push push = push_of(ledger.route, pins);
      for (unsigned bits = 0; bits < 16; ++bits) {
        std::array<double, 4> s{};
        for (std::size_t j = 0; j < 4; ++j) s[j] = (bits >> j & 1) != 0 ? size[j].high : size[j].low;
        const maths::Seats seats(with_sizes(pins.pair, s));
        const auto seat = seats.pushed(push.at, push.along);
        if (seat) out[k].seats.push_back({seat->x, seat->y, seat->turn});
      }
      continue;
    }
    maths::PinPair loose =
        with_sizes(pins.pair, {size[0].high, size[1].high, size[2].low, 0.5 * (size[3].low + size[3].high)});
    loose.span_band += 0.5 * (size[3].high - size[3].low);
    const maths::Seats seats(loose);
    if (seats.none()) continue;
    constexpr int steps = 64;
    const double middle = 0.5 * (seats.x_low() + seats.x_high()), half = 0.5 * (seats.x_high() - seats.x_low());
    for (int i = 0; i <= steps; ++i) {
      const double x = middle - half * std::cos(2 * half_pi * i / steps), y = seats.round_room(x);
      for (const double up : {-1.0, 1.0})
        for (const double share : {0.0, 1.0}) {
          const maths::Seat s = seats.seat(x, up * y, share);
          out[k].seats.push_back({s.x, s.y, s.turn});
        }
    }
  }
  return out;
}

}  // namespace fettle::tolerance::inner
