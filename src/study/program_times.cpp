#include "study/program_times.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "program/on_paper.h"
#include "program/read.h"
#include "unit/quantity.h"

namespace fettle::study {

namespace {

/// Stands for every tool length: it moves the places under G53 by as much and changes no other time.
constexpr double any_length = 0.15;

program::Setting setting_of() {
  program::Setting s;
  s.zeros.fill(frame::Vec3{});
  for (int h = 1; h <= 999; ++h) s.lengths[h] = any_length;
  return s;
}

/// Time of a run without its tool changes.
double moving(const motion::Result& r) { return r.sum.total() - r.sum.change; }

/// How the time goes when each number with a band goes to its ends; the effects multiplied.
void bands(const plan::Machine& m, const std::vector<program::Move>& moves, const motion::Limits& stated,
           ProgramTiming& t) {
  const auto numbers = {&m.rapid, &m.acceleration, &m.jerk, &m.path_tolerance, &m.spindle_start, &m.block_time};
  const double now = moving(t.motion);
  if (!(now > 0)) return;
  for (const plan::Number* n : numbers) {
    if (!n->known() || !n->banded()) continue;
    double least = 1, most = 1;
    for (double end : {n->low, n->high}) {
      motion::Limits l = stated;
      if (n == &m.rapid) l.rapid.fill(end);
      if (n == &m.acceleration) l.ramp.acceleration = end;
      if (n == &m.jerk) l.ramp.jerk = end;
      if (n == &m.path_tolerance) l.path_tolerance = end;
      if (n == &m.spindle_start) l.spindle_start = end;
      if (n == &m.block_time) l.block_time = end;
      const auto r = motion::solve({moves, l});
      if (!r.ok()) continue;
      least = std::min(least, moving(*r) / now);
      most = std::max(most, moving(*r) / now);
    }
    t.low *= least;
    t.high *= most;
  }
}

void match_tools(const plan::Operation& o, ProgramTiming& t) {
  std::set<int> of_plan;
  for (const plan::Cut& c : o.cuts) {
    const int n = tool_number(c.tool.value);
    of_plan.insert(n);
    const bool there = n > 0 && std::any_of(t.tools.begin(), t.tools.end(), [n](const auto& r) { return r.tool == n; });
    if (!there && std::find(t.not_there.begin(), t.not_there.end(), c.tool.value) == t.not_there.end())
      t.not_there.push_back(c.tool.value);
  }
  for (const motion::Row& r : t.tools)
    if (r.tool != 0 && of_plan.count(r.tool) == 0) t.not_here.push_back(fmt::format("T{}", r.tool));
}

}  // namespace

/// "programs/op30.nc" stays in the plan's folder; "../op30.nc" and "/op30.nc" do not.
bool program_stays_inside(const std::string& path) {
  if (path.empty() || path[0] == '/' || path[0] == '\\' || path.find(':') != std::string::npos) return false;
  int depth = 0;
  std::size_t from = 0;
  while (from <= path.size()) {
    const std::size_t to = std::min(path.find_first_of("/\\", from), path.size());
    const std::string part = path.substr(from, to - from);
    if (part == "..") --depth;
    else if (!part.empty() && part != ".") ++depth;
    if (depth < 0) return false;
    from = to + 1;
  }
  return true;
}

int tool_number(const std::string& id) {
  std::size_t first = 0;
  while (first < id.size() && (id[first] < '0' || id[first] > '9')) ++first;
  int n = 0;
  for (std::size_t i = first; i < id.size(); ++i) {
    if (id[i] < '0' || id[i] > '9' || n > 1000000) return 0;
    n = 10 * n + (id[i] - '0');
  }
  return first > 1 ? 0 : n;  // "T11" and "11", not "drill 8"
}

motion::Limits motion_limits(const plan::Machine& m, std::vector<std::string>& missing) {
  motion::Limits l;
  const auto take = [&](const plan::Number& n, const char* key, const char* words) {
    if (!n.known() || !(n.si > 0)) missing.push_back(fmt::format("machine.{} of {}: {}", key, m.id.value, words));
    return n.si;
  };
  l.rapid.fill(take(m.rapid, "rapid", "rapid of its axes"));
  l.ramp.acceleration = take(m.acceleration, "acceleration", "of its axes, or from a timed test program");
  l.ramp.jerk = take(m.jerk, "jerk", "how fast acceleration comes, or from a timed test program");
  l.path_tolerance =
      take(m.path_tolerance, "path_tolerance", "how far a corner may be cut, or from a timed test program");
  l.top_speed = take(m.top_speed, "top_speed", "highest spindle speed");
  l.tool_change = m.tool_change.si;
  if (!m.tool_change.known()) missing.push_back(fmt::format("machine.tool_change of {}: chip to chip", m.id.value));
  l.spindle_start = m.spindle_start.si;
  l.block_time = m.block_time.si;
  return l;
}

ProgramTiming time_program(const plan::Plan& plan, const plan::Operation& o, const std::string& name,
                           const std::string& text) {
  ProgramTiming t;
  t.operation = o.id.value;
  t.program = name;
  t.machine = o.machine.value;
  const plan::Machine* m = find_machine(plan, t.machine);
  if (m == nullptr) {
    t.missing.push_back(fmt::format("operation.machine of {}: where it runs", t.operation));
    return t;
  }
  const motion::Limits limits = motion_limits(*m, t.missing);
  const auto run = program::read(text, name, program::on_paper(text, setting_of()));
  if (!run.ok()) t.missing.push_back(fmt::format("a program that can be read: {}", say(run.problem())));
  if (!t.missing.empty()) return t;
  auto r = motion::solve({run->moves, limits});
  if (!r.ok()) {
    t.missing.push_back(fmt::format("a program that can be timed: {}: {}", name, say(r.problem())));
    return t;
  }
  t.motion = std::move(*r);
  t.tools = motion::by_tool(t.motion);
  t.zeros = motion::by_zero(t.motion);
  t.parts_said = o.program_parts.known() && o.program_parts.value > 0;
  t.parts = t.parts_said ? o.program_parts.value
                         : static_cast<double>(std::count_if(t.zeros.begin(), t.zeros.end(),
                                                             [](const motion::Row& z) { return z.times.cutting > 0; }));
  if (!(t.parts > 0)) {
    t.missing.push_back(fmt::format("a program with cuts: {} has no move in the feed", name));
    return t;
  }
  bands(*m, run->moves, limits, t);
  match_tools(o, t);
  t.source = fmt::format("program {}, motion with jerk {}", name, unit::print(limits.ramp.jerk, unit::Kind::jerk));
  return t;
}

std::vector<ProgramTiming> time_programs(const plan::Plan& plan, const Data& data) {
  std::vector<ProgramTiming> out;
  for (const plan::Operation& o : plan.operations) {
    if (!o.program.given()) continue;
    const std::string& name = o.program.value;
    if (const auto text = data.files.find(name); text != data.files.end()) {
      out.push_back(time_program(plan, o, name, text->second));
      continue;
    }
    ProgramTiming t;
    t.operation = o.id.value;
    t.program = name;
    t.machine = o.machine.value;
    const auto why = data.not_read.find(name);
    t.missing.push_back(fmt::format("operation.program of {}: {}", t.operation,
                                    why != data.not_read.end() ? why->second : name + " was not read"));
    out.push_back(std::move(t));
  }
  return out;
}

std::vector<OperationProgram> operation_programs(const std::vector<ProgramTiming>& timings, const Options& options) {
  std::vector<OperationProgram> out;
  const auto of = [&](const std::string& id) -> OperationProgram& {
    for (OperationProgram& p : out)
      if (p.operation == id) return p;
    out.push_back({id});
    return out.back();
  };
  for (const ProgramTiming& t : timings) {
    if (!t.ok()) continue;
    OperationProgram& p = of(t.operation);
    p.whole = true;
    p.source = t.source;
    p.parts = t.parts;
    p.changes = t.motion.changes;
    p.probes = t.motion.sum.probing > 0;
    for (const motion::Row& r : t.tools) {
      const motion::Times& x = r.times;
      p.tools.push_back({r.tool, (x.cutting + x.dwell + x.probing) / t.parts, t.source});
      p.moving += x.rapid + x.other;
      p.spindle += x.spindle;
    }
  }
  for (const ProgramTime& g : options.program_times) {
    OperationProgram& p = of(g.operation);
    const int n = tool_number(g.tool);
    for (auto& tool : p.tools)
      if (tool.number == n) tool.number = -1;  // what the caller says wins
    p.tools.push_back({n, g.per_part, g.source, g.tool});
  }
  return out;
}

}  // namespace fettle::study
