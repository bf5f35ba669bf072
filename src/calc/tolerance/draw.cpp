#include "calc/tolerance/draw.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "maths/random.h"

namespace fettle::tolerance::inner {

using frame::dot;

namespace {

/// FNV-1a over the texts, then mixed so that near names give far streams.
std::uint64_t stream_of(std::uint64_t seed, std::string_view name, std::string_view operation, int again) {
  std::uint64_t h = 0xcbf29ce484222325ull;
  const auto eat = [&h](std::string_view s) {
    for (const char c : s) h = (h ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
    h = (h ^ 0xff) * 0x100000001b3ull;
  };
  eat(name);
  eat(operation);
  for (int i = 0; i < again; ++i) eat("again");
  h ^= h >> 30, h *= 0xbf58476d1ce4e5b9ull;
  h ^= h >> 27, h *= 0x94d049bb133111ebull;
  h ^= h >> 31;
  return h ^ seed;
}

/// One stream after another of uniform numbers, two per block of bits.
struct Uniforms {
  std::uint64_t stream, item;
  std::uint32_t next = 0;
  std::array<double, 2> pair{};
  double operator()() {
    if (next % 2 == 0) pair = maths::uniform_pair(stream, item, next / 2);
    return pair[next++ % 2];
  }
};

}  // namespace

RowPlan row_plan(const std::vector<const Row*>& rows) {
  RowPlan out;
  out.constant = rows.front()->constant;
  std::map<int, std::vector<double>> by_column;
  for (std::size_t n = 0; n < rows.size(); ++n)
    for (std::size_t i = 0; i < rows[n]->column.size(); ++i) {
      std::vector<double>& c = by_column[rows[n]->column[i]];
      c.resize(rows.size(), 0.0);
      c[n] += rows[n]->coefficient[i];
    }
  for (const auto& [column, c] : by_column) {
    if (std::all_of(c.begin(), c.end(), [&c = c](double v) { return v == c.front(); })) {
      out.column.push_back(column);
      out.coefficient.push_back(c.front());
      continue;
    }
    out.nest_column.push_back(column);
    out.nest_coefficient.emplace_back();
    for (std::size_t i = 0; i < lanes; ++i) out.nest_coefficient.back().v[i] = c[i % c.size()];
  }
  return out;
}

void evaluate(const RowPlan& row, const std::vector<Lanes>& x, Lanes& y) {
  for (double& v : y.v) v = row.constant;
  const std::size_t n = row.column.size();
  std::size_t i = 0;
  // Four at a time: y is read and written once for all.
  for (; i + 3 < n; i += 4) {
    const double a = row.coefficient[i], b = row.coefficient[i + 1], c = row.coefficient[i + 2],
                 d = row.coefficient[i + 3];
    const double* __restrict p = x[static_cast<std::size_t>(row.column[i])].v;
    const double* __restrict q = x[static_cast<std::size_t>(row.column[i + 1])].v;
    const double* __restrict r = x[static_cast<std::size_t>(row.column[i + 2])].v;
    const double* __restrict s = x[static_cast<std::size_t>(row.column[i + 3])].v;
    double* __restrict to = y.v;
    for (int l = 0; l < lanes; ++l) to[l] = (((to[l] + a * p[l]) + b * q[l]) + c * r[l]) + d * s[l];
  }
  for (; i < places(row); ++i) accumulate(row, i, 1, x[static_cast<std::size_t>(column_at(row, i))], y);
}

void accumulate(const RowPlan& row, std::size_t place, double factor, const Lanes& what, Lanes& y) {
  double* __restrict to = y.v;
  const double* __restrict p = what.v;
  if (place < row.column.size()) {
    const double a = factor * row.coefficient[place];
    for (int l = 0; l < lanes; ++l) to[l] += a * p[l];
    return;
  }
  const double* __restrict c = row.nest_coefficient[place - row.column.size()].v;
  for (int l = 0; l < lanes; ++l) to[l] += factor * c[l] * p[l];
}

Drawing::Drawing(const Ledger& ledger, const SampleInputs& in, const std::vector<char>& wanted)
    : ledger_(ledger), in_(in), nests_(ledger.route.nests), wanted_(wanted) {
  const Route& route = ledger.route;
  for (const int p : route.pallet_of) pallets_ = std::max(pallets_, p + 1);
  per_block_ = lanes / nests_ * nests_;
  std::map<std::pair<std::string, std::string>, int> seen;
  for (const Contributor& c : route.contributors)
    stream_.push_back(stream_of(in.seed, c.name, c.operation, seen[{c.name, c.operation}]++));
  plays_.resize(route.operations.size());
  for (std::size_t k = route.operations.size(); k-- > 0;) {
    const Operation& op = route.operations[k];
    Play& play = plays_[k];
    if (!op.pins.there) continue;
    const auto first = static_cast<std::size_t>(ledger.play_column[k]);
    play.wanted = wanted_[first] || wanted_[first + 1] || wanted_[first + 2];
    if (!play.wanted) continue;
    for (std::size_t i = 0; i < 3; ++i) wanted_[first + i] = 1;
    const Row* rows[4] = {&ledger.round_size[k], &ledger.relieved_size[k], &ledger.land_size[k], &ledger.span[k]};
    for (std::size_t i = 0; i < 4; ++i) {
      play.sizes[i] = row_plan({rows[i]});
      for (const int c : rows[i]->column) wanted_[static_cast<std::size_t>(c)] = 1;
    }
    const Element& round = route.elements[static_cast<std::size_t>(op.pins.round_hole)];
    const PairFrame f = pair_frame(round, route.elements[static_cast<std::size_t>(op.pins.relieved_hole)]);
    const Vec3 at = op.pins.push_at - round.p;
    play.push_at = {dot(at, f.x), dot(at, f.y)};
    play.push_along = {dot(op.pins.push_along, f.x), dot(op.pins.push_along, f.y)};
    play.stream = stream_of(in.seed, "play", op.id, 0);
  }
}

int Drawing::pallet_of(int part) const {
  const std::vector<int>& of = ledger_.route.pallet_of;
  return of.empty() ? 0 : of[static_cast<std::size_t>(nest_of(part))];
}

Block Drawing::room() const {
  Block b;
  b.x.resize(static_cast<std::size_t>(ledger_.columns));
  return b;
}

long long Drawing::item(std::size_t c, int part) const {
  switch (ledger_.route.contributors[c].drawn) {
    case Drawn::part:
      return part;
    case Drawn::set_up:
      return part / in_.parts_per_set_up;
    case Drawn::pallet:
      return static_cast<long long>(build_of(part)) * pallets_ + pallet_of(part);
    case Drawn::nest:
      return static_cast<long long>(build_of(part)) * nests_ + nest_of(part);
  }
  return part;
}

void Drawing::draw_contributor(std::size_t c, const Block& block, Lanes& out) const {
  const Contributor& who = ledger_.route.contributors[c];
  const std::uint64_t s = stream_[c];
  const bool even = who.family == Contributor::Family::uniform;
  const auto first = static_cast<std::uint32_t>(block.first);
  if (who.drawn == Drawn::part) {
    if (even) maths::uniforms(s, 0, first, lanes, out.v);
    else maths::normals(s, 0, first, lanes, out.v);
  } else {
    // The same item again: a nest's own error comes back a round later.
    std::array<long long, lanes> items;
    for (int l = 0; l < lanes; ++l) {
      const auto i = static_cast<std::size_t>(l);
      items[i] = item(c, block.first + l);
      const int back = who.drawn == Drawn::set_up ? 1 : nests_;
      if (l >= back && items[i - static_cast<std::size_t>(back)] == items[i]) {
        out.v[l] = out.v[l - back];
        continue;
      }
      const auto at = static_cast<std::uint32_t>(items[i]);
      out.v[l] = even ? maths::uniform(s, 0, at) : maths::normal(s, 0, at);
    }
  }
  const double m = who.mean, k = even ? who.half_width : who.s;
  if (even)
    for (double& v : out.v) v = m + k * (2 * v - 1);
  else if (who.family == Contributor::Family::half_normal)
    for (double& v : out.v) v = m + k * std::fabs(v);
  else
    for (double& v : out.v) v = m + k * v;
}

void Drawing::draw_play(std::size_t k, const std::vector<Lanes>& x, const Block& block, Lanes* play,
                        std::uint8_t* not_on) const {
  const Pins& pins = ledger_.route.operations[k].pins;
  const Play& p = plays_[k];
  std::array<Lanes, 4> size;
  for (std::size_t i = 0; i < 4; ++i) evaluate(p.sizes[i], x, size[i]);
  maths::PinPair pair = pins.pair;
  for (int l = 0; l < lanes; ++l) {
    pair.round_hole = pair.round_pin + size[0].v[l];
    pair.relieved_hole = size[1].v[l];
    pair.land = size[2].v[l];
    pair.part_span = pair.pallet_span + size[3].v[l];
    const maths::Seats seats(pair);
    maths::Seat seat;
    if (seats.none()) {
      ++not_on[l];
    } else if (pins.seat == Pins::Seat::pushed) {
      seat = seats.pushed(p.push_at, p.push_along).value_or(maths::Seat{});
    } else {
      Uniforms u{p.stream, static_cast<std::uint64_t>(block.first + l)};
      seat = seats.anywhere(u);
    }
    play[0].v[l] = seat.x;
    play[1].v[l] = seat.y;
    play[2].v[l] = seat.turn;
  }
}

void Drawing::draw(int b, Block& out) const {
  out.first = b * per_block_;
  out.count = std::min(per_block_, in_.parts - out.first);
  for (int l = 0; l < lanes; ++l) out.build[static_cast<std::size_t>(l)] = build_of(out.first + l);
  out.not_on.fill(0);
  for (std::size_t c = 0; c < ledger_.route.contributors.size(); ++c)
    if (wanted_[c]) draw_contributor(c, out, out.x[c]);
  for (std::size_t k = 0; k < plays_.size(); ++k)
    if (plays_[k].wanted)
      draw_play(k, out.x, out, &out.x[static_cast<std::size_t>(ledger_.play_column[k])], out.not_on.data());
}

}  // namespace fettle::tolerance::inner
