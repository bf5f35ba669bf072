#include "prove/loads.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/read.h"
#include "prove/walk.h"
#include "study/internal.h"

namespace fettle::prove {

namespace {

plan::Number length(double si) {
  plan::Number n;
  n.origin = plan::Origin::given;
  n.kind = unit::Kind::length;
  n.si = n.low = n.high = si;
  return n;
}

plan::Number number(unit::Kind kind, double si) {
  plan::Number n = length(si);
  n.kind = kind;
  return n;
}

/// Of one tool, over all parts: most metal a turn.
const Work* worst_of(const Proof& p, const std::string& tool) {
  const auto bite = [](const Work& w) {
    const double turn = w.speed > 0 ? w.feed / w.speed : 0;
    return std::max(w.worst_depth * w.width, 1e-12) * turn;
  };
  const Work* worst = nullptr;
  for (const Work& w : p.work)
    if (w.tool == tool && (worst == nullptr || bite(w) > bite(*worst))) worst = &w;
  return worst;
}

bool mill(const plan::Tool& t) {
  return t.kind.value == "end mill" || t.kind.value == "keyseat cutter" || t.kind.value == "face mill";
}
/// A ring thinner than that says more about the field's cells than about the bore.
constexpr double least_ring = 0.5e-3;

/// The cut as the program makes it; what the program does not tell stays as the plan says it.
bool as_programmed(const plan::Tool& t, const Work& w, plan::Cut& c) {
  if (!(w.speed > 0) || !(w.feed > 0)) return false;
  if (mill(t)) {
    if (!(w.width > 0) || !(w.worst_depth > 0)) return false;
    c.width = length(w.width);
    c.depth = length(w.worst_depth);
  } else if (t.kind.value == "boring tool" && w.width > least_ring) {
    c.width = length(w.width);
  }
  c.speed = number(unit::Kind::rotation, w.speed);
  if (t.kind.value == "tap") return true;
  // The centre's own feed: it makes the chip. Of an outside corner that is a little more than at the edge.
  const int teeth = t.teeth.known() ? t.teeth.value : t.kind.value == "drill" ? 2 : 1;
  c.feed_per_tooth = length(w.feed / (w.speed / (2 * 3.14159265358979323846)) / std::max(1, teeth));
  return true;
}

std::string worst_words(const plan::Tool& t, const Work& w) {
  const double rpm = w.speed * 30 / 3.14159265358979323846, turn = 60 * w.feed / rpm;
  if (mill(t)) return fmt::format("{} mm deep, {} mm wide", millimetres(w.worst_depth), millimetres(w.width));
  const std::string ring =
      t.kind.value == "boring tool" && w.width > least_ring ? fmt::format(", {} mm a side", millimetres(w.width)) : "";
  return fmt::format("{} rpm, {} mm a turn{}", base::fixed(rpm, 0), millimetres(turn, 3), ring);
}

}  // namespace

void load_findings(const plan::Plan& plan, const plan::Operation& o, Proof& proof) {
  plan::Plan p = plan;
  std::map<std::string, const Work*> moved;
  for (plan::Operation& q : p.operations) {
    if (q.id.value != o.id.value) continue;
    for (plan::Cut& c : q.cuts) {
      const plan::Tool* t = plan::find_tool(plan, c.tool.value);
      const Work* w = worst_of(proof, c.tool.value);
      if (t == nullptr || w == nullptr || !as_programmed(*t, *w, c)) continue;
      moved[c.tool.value] = w;
    }
  }
  if (moved.empty()) return;
  study::Options options;
  options.monte_carlo = false;
  options.only = {"cutting", "holding", "chatter"};
  study::Memo memo;
  const Outcome<study::Study> s = study::run(p, study::load_data(plan), options, memo);
  if (!s.ok()) {
    proof.notes.push_back("forces of the worst moves: " + say(s.problem()));
    return;
  }
  for (finding::Finding f : s->findings) {
    if (f.operation != o.id.value || moved.count(f.tool) == 0) continue;
    const Work& w = *moved[f.tool];
    const std::string words = worst_words(*plan::find_tool(plan, f.tool), w);
    f.inputs.push_back(
        {"worst move", 0, unit::Kind::number, fmt::format("line {}: {}, {}", w.worst_line, words, w.nest)});
    f.sentence += fmt::format(" The program's worst move is line {}: {}.", w.worst_line, words);
    proof.line_of[f.id] = w.worst_line;
    proof.findings.push_back(std::move(f));
  }
}

}  // namespace fettle::prove
