#include "calc/tolerance/mend.h"

#include <algorithm>
#include <map>

namespace fettle::tolerance::inner {

namespace {

bool holds(const std::vector<int>& v, int x) { return std::find(v.begin(), v.end(), x) != v.end(); }

void add_to(std::vector<long long>& to, const std::vector<long long>& from) {
  for (std::size_t i = 0; i < to.size(); ++i) to[i] += from[i];
}

}  // namespace

void MendTally::join(const MendTally& other) {
  add_to(gone, other.gone);
  add_to(halved, other.halved);
  add_to(any_gone, other.any_gone);
  add_to(any_halved, other.any_halved);
}

Mending::Mending(const Ledger& ledger, const Drawing& drawing, const std::vector<RequirementPlan>& plans) {
  const Route& route = ledger.route;
  requirements_ = plans.size();
  play_column_ = ledger.play_column;
  std::map<std::string, std::size_t> named;
  for (std::size_t c = 0; c < route.contributors.size(); ++c) {
    const Contributor& who = route.contributors[c];
    const auto at = who.group.empty() ? named.end() : named.find(who.group);
    if (at != named.end()) {
      groups_[at->second].columns.push_back(static_cast<int>(c));
      continue;
    }
    if (!who.group.empty()) named[who.group] = groups_.size();
    groups_.emplace_back();
    Group& g = groups_.back();
    g.name = who.group.empty() ? who.name : who.group;
    g.key = who.key;
    g.operation = who.operation;
    g.columns = {static_cast<int>(c)};
  }
  const std::size_t by_contributor = groups_.size();
  for (std::size_t k = 0; k < route.operations.size(); ++k) {
    if (!drawing.draws_play(k)) continue;
    groups_.emplace_back();
    Group& g = groups_.back();
    g.name = route.operations[k].pins.name;
    g.key = route.operations[k].pins.key;
    g.operation = route.operations[k].id;
    for (int i = 0; i < 3; ++i) g.columns.push_back(play_column_[k] + i);
  }
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    Group& g = groups_[i];
    // Sizes that decide a later play: that play is drawn again, and with it what depends on it.
    for (std::size_t k = 0; k < route.operations.size(); ++k) {
      if (!drawing.draws_play(k)) continue;
      if (i >= by_contributor && holds(g.columns, play_column_[k])) continue;
      bool touched = false;
      for (const RowPlan& row : drawing.sizes(k))
        for (const int c : row.column) touched = touched || holds(g.columns, c) || holds(g.play_columns, c);
      if (!touched) continue;
      g.redraws.push_back(k);
      for (int j = 0; j < 3; ++j) g.play_columns.push_back(play_column_[k] + j);
    }
    for (const RequirementPlan& plan : plans) {
      g.does.emplace_back();
      for (std::size_t r = 0; r < plan.rows.size(); ++r)
        for (std::size_t p = 0; p < places(plan.rows[r]); ++p) {
          const int c = column_at(plan.rows[r], p);
          const auto redrawn = std::find(g.play_columns.begin(), g.play_columns.end(), c);
          if (redrawn != g.play_columns.end())
            g.does.back().push_back({r, p, c, static_cast<int>(redrawn - g.play_columns.begin())});
          else if (holds(g.columns, c)) g.does.back().push_back({r, p, c, -1});
        }
    }
  }
}

MendTally Mending::tally() const {
  MendTally t;
  t.gone.assign(groups_.size() * requirements_, 0);
  t.halved = t.gone;
  t.any_gone.assign(groups_.size(), 0);
  t.any_halved = t.any_gone;
  return t;
}

MendRoom Mending::room() const {
  MendRoom room;
  room.any.resize(groups_.size());
  room.any_halved.resize(groups_.size());
  for (const Group& g : groups_) {
    room.play_gone.emplace_back(g.play_columns.size());
    room.play_halved.emplace_back(g.play_columns.size());
  }
  return room;
}

void Mending::begin(const Drawing& drawing, const Block& block, MendRoom& room) const {
  std::array<std::uint8_t, lanes> ignored{};
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    room.any[i].fill(0);
    room.any_halved[i].fill(0);
    const Group& g = groups_[i];
    if (g.redraws.empty()) continue;
    for (const double left : {0.0, 0.5}) {
      room.x = block.x;
      for (const int c : g.columns)
        for (double& v : room.x[static_cast<std::size_t>(c)].v) v *= left;
      std::vector<Lanes>& change = left == 0 ? room.play_gone[i] : room.play_halved[i];
      for (std::size_t k = 0; k < g.redraws.size(); ++k) {
        const auto first = static_cast<std::size_t>(play_column_[g.redraws[k]]);
        drawing.draw_play(g.redraws[k], room.x, block, &room.x[first], ignored.data());
        for (std::size_t j = 0; j < 3; ++j)
          for (int l = 0; l < lanes; ++l) change[3 * k + j].v[l] = block.x[first + j].v[l] - room.x[first + j].v[l];
      }
    }
  }
}

void Mending::requirement(std::size_t r, const RequirementPlan& plan, const Block& block, const std::vector<Lanes>& y,
                          const Verdicts& as_is, MendRoom& room, MendTally& tally) const {
  if (room.y.size() < plan.rows.size()) room.y.resize(plan.rows.size()), room.halved.resize(plan.rows.size());
  const auto hits = [&](const Verdicts& v) {
    long long n = 0;
    for (int l = 0; l < block.count; ++l) n += v.outside[static_cast<std::size_t>(l)];
    return n;
  };
  const auto merge = [](const Verdicts& v, std::array<std::uint8_t, lanes>& any) {
    for (std::size_t l = 0; l < lanes; ++l) any[l] |= v.outside[l];
  };
  const long long before = hits(as_is);
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    const Group& g = groups_[i];
    long long &gone = tally.gone[i * requirements_ + r], &halved = tally.halved[i * requirements_ + r];
    if (g.does[r].empty()) {
      gone += before;
      halved += before;
      merge(as_is, room.any[i]);
      merge(as_is, room.any_halved[i]);
      continue;
    }
    room.at.clear();
    for (std::size_t k = 0; k < plan.rows.size(); ++k) room.at.push_back(&y[k]);
    room.at_halved = room.at;
    for (const Place& p : g.does[r]) {
      if (room.at[p.row] == &y[p.row]) {
        room.y[p.row] = room.halved[p.row] = y[p.row];
        room.at[p.row] = &room.y[p.row];
        room.at_halved[p.row] = &room.halved[p.row];
      }
      const RowPlan& row = plan.rows[p.row];
      if (p.redrawn < 0) {
        const Lanes& x = block.x[static_cast<std::size_t>(p.column)];
        accumulate(row, p.place, -1, x, room.y[p.row]);
        accumulate(row, p.place, -0.5, x, room.halved[p.row]);
      } else {
        accumulate(row, p.place, -1, room.play_gone[i][static_cast<std::size_t>(p.redrawn)], room.y[p.row]);
        accumulate(row, p.place, -1, room.play_halved[i][static_cast<std::size_t>(p.redrawn)], room.halved[p.row]);
      }
    }
    judge(plan, room.at_halved, room.verdicts);
    halved += hits(room.verdicts);
    merge(room.verdicts, room.any_halved[i]);
    judge(plan, room.at, room.verdicts);
    gone += hits(room.verdicts);
    merge(room.verdicts, room.any[i]);
  }
}

void Mending::end(const Block& block, const MendRoom& room, MendTally& tally) const {
  for (std::size_t i = 0; i < groups_.size(); ++i)
    for (int l = 0; l < block.count; ++l) {
      tally.any_gone[i] += room.any[i][static_cast<std::size_t>(l)];
      tally.any_halved[i] += room.any_halved[i][static_cast<std::size_t>(l)];
    }
}

std::vector<Mended> Mending::of(std::size_t r, const MendTally& tally, long long any_outside, const SampleInputs& in,
                                double effect) const {
  std::vector<Mended> out;
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    const Group& g = groups_[i];
    if (g.does[r].empty()) continue;
    const long long gone = tally.gone[i * requirements_ + r];
    out.push_back({g.name, g.key, g.operation, share_of(gone, in.parts, effect, in.confidence),
                   share_of(tally.halved[i * requirements_ + r], in.parts, effect, in.confidence),
                   static_cast<double>(any_outside - tally.any_gone[i]) / in.parts});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Mended& a, const Mended& b) { return a.without.hits < b.without.hits; });
  return out;
}

std::vector<Mended> Mending::over_all(const MendTally& tally, long long any_outside, const SampleInputs& in,
                                      double effect) const {
  std::vector<Mended> out;
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    const Group& g = groups_[i];
    bool touches = false;
    for (const auto& d : g.does) touches = touches || !d.empty();
    if (!touches) continue;
    out.push_back({g.name, g.key, g.operation, share_of(tally.any_gone[i], in.parts, effect, in.confidence),
                   share_of(tally.any_halved[i], in.parts, effect, in.confidence),
                   static_cast<double>(any_outside - tally.any_gone[i]) / in.parts});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Mended& a, const Mended& b) { return a.without.hits < b.without.hits; });
  return out;
}

}  // namespace fettle::tolerance::inner
