// The picture of a stretch of one replication.
#include <algorithm>
#include <utility>

#include "calc/timing/simulate_shop.h"

namespace fettle::timing {

namespace shop {

void Shop::trace_start_of(std::size_t m) {
  if (!traces || traced || in.trace.cycles == 0 || static_cast<int>(m) != in.trace.machine) return;
  if (now < in.warm_up + in.trace.after) return;
  if (trace_starts++ == 0) trace_from = now;
  else if (trace_starts > in.trace.cycles) close_trace();
}

void Shop::start_trace() {
  tracing = true;
  trace_from = now;
  rows.clear();
  for (std::size_t r = 0; r < people.size() + mills.size() + in.benches.size(); ++r) rows.push_back({code(r), now});
}

int Shop::code(std::size_t row) const {
  if (row < people.size()) {
    const Who& p = people[row];
    return !p.here ? -2 : p.busy ? p.work.kind : -1;
  }
  row -= people.size();
  if (row < mills.size())
    return static_cast<int>(mills[row].shows) + static_cast<int>(spindle_states) * (mills[row].shows_kind + 1);
  row -= mills.size();
  return bench_code(static_cast<int>(row));
}

int Shop::bench_code(int bench) const {
  if (in.benches[static_cast<std::size_t>(bench)].count != 1) return -1;
  for (std::size_t s = 0; s < hands.size(); ++s)
    if (!hands[s].soaking.empty() && in.stages[s].bench == bench) return static_cast<int>(s);
  const auto at = [&](const Work& w) {
    const int stage = kinds[static_cast<std::size_t>(w.kind)].stage;
    return stage >= 0 && in.stages[static_cast<std::size_t>(stage)].bench == bench ? stage : -1;
  };
  for (const Who& p : people)
    if (p.busy && at(p.work) >= 0) return at(p.work);
  for (const Work& w : pending)
    if (at(w) >= 0) return at(w);
  return -1;
}

void Shop::trace_rows() {
  if (in.trace.cycles == 0 && now - trace_from >= in.trace.length) return close_trace();
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const int c = code(r);
    if (c == rows[r].code) continue;
    add_bar(r, now);
    rows[r] = {c, now};
  }
}

void Shop::close_trace() {
  double end = now;
  if (in.trace.cycles == 0) end = std::min(now, trace_from + in.trace.length);
  for (std::size_t r = 0; r < rows.size(); ++r) add_bar(r, end);
  tally.trace_length = end - trace_from;
  tracing = false;
  traced = true;
}

void Shop::add_bar(std::size_t row, double to) {
  if (!(to > rows[row].since)) return;
  TraceBar bar;
  bar.from = rows[row].since - trace_from;
  bar.to = to - trace_from;
  const int c = rows[row].code;
  if (row < people.size()) {
    bar.who = in.people[row].name;
    bar.what = c == -2 ? "away" : c == -1 ? "free" : kinds[static_cast<std::size_t>(c)].name;
    bar.waiting = c < 0;
    const int machine = c < 0 ? -1 : kinds[static_cast<std::size_t>(c)].machine;
    if (machine >= 0) bar.where = in.machines[static_cast<std::size_t>(machine)].name;
  } else if (row < people.size() + mills.size()) {
    bar.who = in.machines[row - people.size()].name;
    const auto state = static_cast<SpindleState>(c % static_cast<int>(spindle_states));
    const int kind = c / static_cast<int>(spindle_states) - 1;
    bar.what = word(state);
    if (kind >= 0 && (state == SpindleState::handled || state == SpindleState::waits_person))
      bar.what += ": " + kinds[static_cast<std::size_t>(kind)].name;
    bar.waiting = state == SpindleState::waits_person || state == SpindleState::waits_parts ||
                  state == SpindleState::waits_room || state == SpindleState::nobody;
  } else {
    bar.who = in.benches[row - people.size() - mills.size()].name;
    if (in.benches[row - people.size() - mills.size()].count != 1) return;
    bar.what = c < 0 ? "free" : in.stages[static_cast<std::size_t>(c)].name;
    bar.waiting = c < 0;
  }
  tally.trace.push_back(std::move(bar));
}

}  // namespace shop

}  // namespace fettle::timing
