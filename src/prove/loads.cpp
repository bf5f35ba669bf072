#include "prove/loads.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

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

/// Of one tool, over all parts.
const Work* worst_of(const Proof& p, const std::string& tool) {
  const Work* worst = nullptr;
  for (const Work& w : p.work)
    if (w.tool == tool && (worst == nullptr || w.worst_depth * w.width > worst->worst_depth * worst->width)) worst = &w;
  return worst;
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
      if (t == nullptr || w == nullptr || !(w->width > 0) || !(w->worst_depth > 0)) continue;
      if (t->kind.value != "end mill" && t->kind.value != "keyseat cutter") continue;
      c.width = length(w->width);
      c.depth = length(w->worst_depth);
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
    f.inputs.push_back({"worst move", 0, unit::Kind::number,
                        fmt::format("line {}: {} mm deep, {} mm wide, {}", w.worst_line, millimetres(w.worst_depth),
                                    millimetres(w.width), w.nest)});
    f.sentence += fmt::format(" The program's worst move is line {}: {} mm deep, {} mm wide.", w.worst_line,
                              millimetres(w.worst_depth), millimetres(w.width));
    proof.line_of[f.id] = w.worst_line;
    proof.findings.push_back(std::move(f));
  }
}

}  // namespace fettle::prove
