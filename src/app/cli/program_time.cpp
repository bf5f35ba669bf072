#include "app/cli/program_time.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/report.h"
#include "base/text.h"
#include "calc/motion/motion.h"
#include "plan/read.h"
#include "program/read.h"
#include "study/program_times.h"
#include "unit/quantity.h"

namespace fettle::cli {

namespace {

using nlohmann::json;
using unit::Kind;

std::string minutes(double s) { return base::fixed(s / 60, 2); }

/// "G54", "G59.3", "G54.1 P4": the zero as programs call it.
std::string zero_word(int zero) {
  if (zero <= 6) return fmt::format("G{}", 53 + zero);
  if (zero <= 9) return fmt::format("G59.{}", zero - 6);
  return fmt::format("G54.1 P{}", zero - 9);
}

double working(const motion::Times& t) { return t.cutting + t.rapid + t.dwell + t.probing; }

/// s that the plan states for a tool's cuts of one part; 0: it does not say.
double stated(const plan::Operation* o, int tool) {
  double said = 0;
  if (o != nullptr && tool > 0)
    for (const plan::Cut& c : o->cuts)
      if (c.time.known() && study::tool_number(c.tool.value) == tool) said += c.time.si;
  return said;
}

void table(const std::vector<motion::Row>& rows, bool tools, const plan::Operation* o, double parts) {
  std::cout << fmt::format("{:<12}{:>9}{:>9}{:>9}{:>9}{:>9}{:>9}{:>9}", tools ? "tool" : "zero", "min", "feed", "ramps",
                           "rapid", "changes", "spindle", "dwell");
  if (tools) std::cout << fmt::format("{:>12}{:>12}", "a part", "the plan");
  std::cout << "\n";
  for (const motion::Row& r : rows) {
    const motion::Times& t = r.times;
    const std::string name = tools ? (r.tool > 0 ? fmt::format("T{}", r.tool) : "none yet") : zero_word(r.zero);
    std::cout << fmt::format("{:<12}{:>9}{:>9}{:>9}{:>9}{:>9}{:>9}{:>9}", name, minutes(t.total()), minutes(t.by_feed),
                             minutes(t.cutting - t.by_feed), minutes(t.rapid), minutes(t.change), minutes(t.spindle),
                             minutes(t.dwell + t.probing));
    if (tools) {
      const double said = stated(o, r.tool);
      std::cout << fmt::format("{:>12}{:>12}", minutes(working(t) / parts), said > 0 ? minutes(said) : "-");
    }
    std::cout << "\n";
  }
}

int show(const study::ProgramTiming& t, const plan::Operation* o) {
  std::cout << fmt::format("{} on machine {}{}\n", t.program, t.machine,
                           t.operation.empty() ? "" : ", operation " + t.operation);
  if (!t.ok()) {
    for (const std::string& m : t.missing) std::cout << "  open: " << m << "\n";
    return 4;
  }
  const motion::Times& s = t.motion.sum;
  std::cout << fmt::format("{} min for {} {}{}: {} in the feed, {} rapid, {} tool changes ({}), {} spindle, {} dwell\n",
                           minutes(s.total()), base::fixed(t.parts, 0), t.parts == 1 ? "part" : "parts",
                           t.parts_said ? "" : " (zeros with cuts)", minutes(s.cutting), minutes(s.rapid),
                           minutes(s.change), t.motion.changes, minutes(s.spindle), minutes(s.dwell + s.probing));
  if (t.high > t.low)
    std::cout << fmt::format("over the bands of the machine's numbers: {} to {} min\n",
                             minutes((s.total() - s.change) * t.low + s.change),
                             minutes((s.total() - s.change) * t.high + s.change));
  std::cout << "\nminutes of one run; feed: at the feed alone; ramps: what speeding up and corners add\n";
  table(t.tools, true, o, t.parts);
  std::cout << "\n";
  table(t.zeros, false, nullptr, t.parts);
  if (t.motion.corners + t.motion.slow_arcs > 0)
    std::cout << fmt::format("\n{} corners and {} arcs are slower than the feed.\n", t.motion.corners,
                             t.motion.slow_arcs);
  if (t.motion.stops > 0)
    std::cout << fmt::format("{} stops for the operator; what they take is not in the times.\n", t.motion.stops);
  if (!t.not_here.empty())
    std::cout << "tools without a cut in this operation of the plan: " << base::join(t.not_here, ", ") << "\n";
  if (!t.not_there.empty())
    std::cout << "tools of the operation that the program never loads: " << base::join(t.not_there, ", ") << "\n";
  std::cout << "source: " << t.source << "\n";
  return 0;
}

json times_json(const motion::Times& t) {
  return {{"total", t.total()}, {"feed", t.by_feed},    {"ramps", t.cutting - t.by_feed},
          {"rapid", t.rapid},   {"changes", t.change},  {"spindle", t.spindle},
          {"dwell", t.dwell},   {"probing", t.probing}, {"other", t.other}};
}
json rows_json(const std::vector<motion::Row>& rows, bool tools, const plan::Operation* o, double parts) {
  json out = json::array();
  for (const motion::Row& r : rows) {
    json row = {{"seconds", times_json(r.times)},
                {"moves", r.moves},
                {"feed_way_m", r.length_feed},
                {"rapid_way_m", r.length_rapid}};
    if (tools) {
      const double said = stated(o, r.tool);
      row["tool"] = r.tool > 0 ? json(fmt::format("T{}", r.tool)) : json(nullptr);
      row["seconds_a_part"] = working(r.times) / parts;
      row["plan_seconds_a_part"] = said > 0 ? json(said) : json(nullptr);
    } else {
      row["zero"] = zero_word(r.zero);
    }
    out.push_back(row);
  }
  return out;
}
json timing_json(const study::ProgramTiming& t, const plan::Operation* o) {
  json j = {{"program", t.program}, {"machine", t.machine}, {"operation", t.operation}, {"missing", t.missing}};
  if (!t.ok()) return j;
  const motion::Times& s = t.motion.sum;
  j.update({{"parts", t.parts},
            {"parts_said", t.parts_said},
            {"seconds", times_json(s)},
            {"seconds_low", (s.total() - s.change) * t.low + s.change},
            {"seconds_high", (s.total() - s.change) * t.high + s.change},
            {"tool_changes", t.motion.changes},
            {"stops", t.motion.stops},
            {"slow_corners", t.motion.corners},
            {"slow_arcs", t.motion.slow_arcs},
            {"tools", rows_json(t.tools, true, o, t.parts)},
            {"zeros", rows_json(t.zeros, false, nullptr, t.parts)},
            {"tools_not_in_the_plan", t.not_here},
            {"tools_not_in_the_program", t.not_there},
            {"source", t.source}});
  return j;
}
/// Shows them in their order. Exit code: the worst.
int show_all(const plan::Plan& p, const std::vector<study::ProgramTiming>& timings, bool as_json) {
  int code = 0;
  json all = json::array();
  for (std::size_t i = 0; i < timings.size(); ++i) {
    const plan::Operation* o = plan::find_operation(p, timings[i].operation);
    if (as_json) {
      all.push_back(timing_json(timings[i], o));
      code = std::max(code, timings[i].ok() ? 0 : 4);
    } else {
      if (i > 0) std::cout << "\n";
      code = std::max(code, show(timings[i], o));
    }
  }
  if (as_json) std::cout << json{{"programs", all}}.dump(1, ' ', false, json::error_handler_t::replace) << "\n";
  return std::cout.flush() ? code : 3;
}

/// The operation a file belongs to: the one asked for, the one that names it, or the only one whose tools it loads.
Outcome<const plan::Operation*> operation_of(const plan::Plan& p, const ProgramTimeArguments& a,
                                             const std::string& text) {
  std::vector<std::string> ids;
  for (const plan::Operation& o : p.operations) {
    if (o.id.value == a.operation) return &o;
    if (o.machine.known()) ids.push_back(o.id.value);
  }
  if (!a.operation.empty()) return bad("no such operation in the plan", a.operation, "one of " + base::join(ids, ", "));
  for (const plan::Operation& o : p.operations)
    if (o.program.given() && a.program.ends_with(o.program.value)) return &o;
  const std::string head = text.substr(0, 4000);
  for (const plan::Operation& o : p.operations)  // our own programs say it in their head
    if (head.find("(" + o.id.value + " ") != std::string::npos) return &o;
  const plan::Operation* best = nullptr;
  int most = 0, same = 0;
  for (const plan::Operation& o : p.operations) {
    if (!o.machine.known()) continue;
    const study::ProgramTiming t = study::time_program(p, o, a.program, text);
    if (!t.ok()) continue;
    int hits = 0;
    for (const plan::Cut& c : o.cuts)
      for (const motion::Row& r : t.tools) hits += r.tool > 0 && study::tool_number(c.tool.value) == r.tool;
    if (hits > most) best = &o, most = hits, same = 0;
    else if (hits == most) ++same;
  }
  if (best != nullptr && same == 0) return best;
  if (ids.size() == 1) return plan::find_operation(p, ids[0]);
  return bad("which operation is this program for? Name it with --operation", a.program,
             "one of " + base::join(ids, ", "));
}

// ---- limits from a stopwatch ------------------------------------------------------------------------------------

/// Seconds of the groups: one line each, "group, seconds" or the seconds alone; a line without a number is a header.
Outcome<std::vector<double>> read_times(const std::string& path) {
  const auto text = base::read_file(path);
  if (!text.ok()) return text.problems();
  std::vector<double> out;
  int line = 0;
  for (const std::string& raw : base::split(*text, '\n')) {
    ++line;
    std::string last(base::trim(raw));
    const bool semicolon = last.find(';') != std::string::npos;
    const std::size_t cut = last.find_last_of(semicolon ? ";" : ",\t");
    if (cut != std::string::npos) last = std::string(base::trim(last.substr(cut + 1)));
    if (semicolon) std::replace(last.begin(), last.end(), ',', '.');
    if (last.empty()) continue;
    double x = 0;
    const auto [end, error] = std::from_chars(last.data(), last.data() + last.size(), x);
    if (error == std::errc() && end == last.data() + last.size()) {
      out.push_back(x);
      continue;
    }
    if (out.empty() && line == 1) continue;
    Problem p = bad("no time of a group", last, "seconds, such as 23.4");
    p.where = {path, line, 0};
    return p;
  }
  return out;
}

std::string key_of(motion::Which w) {
  constexpr const char* keys[] = {"acceleration", "jerk", "path_tolerance", "block_time"};
  return keys[static_cast<int>(w)];
}
std::string print(motion::Which w, double si) {
  constexpr Kind kinds[] = {Kind::acceleration, Kind::jerk, Kind::length, Kind::time};
  return unit::print(si, kinds[static_cast<int>(w)]);
}
/// "3.2 m/s² (3.0..3.4 m/s²)", the band never narrower than what was found.
std::string banded(const motion::Fitted& f) {
  const auto digits = [](double x, int n) {
    const int decimals = std::max(0, n - 1 - static_cast<int>(std::floor(std::log10(x))));
    return base::fixed(x, decimals);
  };
  const double scale = f.which == motion::Which::path_tolerance || f.which == motion::Which::block_time ? 1e3 : 1;
  constexpr const char* units[] = {"m/s²", "m/s³", "mm", "ms"};
  return fmt::format("{} {} ({}..{} {})", digits(scale * f.value, 3), units[static_cast<int>(f.which)],
                     digits(scale * f.low, 3), digits(scale * f.high, 3), units[static_cast<int>(f.which)]);
}

Outcome<const plan::Machine*> machine_of(const plan::Plan& p, const std::string& id) {
  std::vector<std::string> ids;
  for (const plan::Machine& m : p.shop.machines) {
    if (m.id.value == id) return &m;
    if (m.rapid.known()) ids.push_back(m.id.value);
  }
  if (id.empty() && ids.size() == 1) return study::find_machine(p, ids[0]);
  return bad(id.empty() ? "which machine was timed? Name it with --machine" : "no such machine", id,
             "one of " + base::join(ids, ", "));
}

void show_fit(const plan::Machine& machine, const std::vector<double>& times, double scatter,
              const motion::FitResult& fitted) {
  std::cout << fmt::format("machine {}, {} groups, stopwatch to {} s\n\n", machine.id.value, times.size(),
                           base::shortest(scatter));
  std::cout << fmt::format("{:<8}{:>12}{:>12}\n", "group", "measured s", "computed s");
  for (std::size_t i = 0; i < times.size(); ++i)
    std::cout << fmt::format("{:<8}{:>12}{:>12}\n", i + 1, base::fixed(times[i], 2), base::fixed(fitted.seconds[i], 2));
  std::cout << "\n";
  for (const motion::Fitted& f : fitted.numbers) {
    if (f.fixed) std::cout << fmt::format("{} = \"{}\"\n", key_of(f.which), banded(f));
    else
      std::cout << fmt::format("# {} is not fixed by these times: anything from {} to {}\n", key_of(f.which),
                               print(f.which, f.low), print(f.which, f.high));
  }
  if (fitted.free > 0 && !fitted.fits)
    std::cout << fmt::format(
        "\nNo machine of this kind gives these times within the stopwatch (misfit {} with {} groups to spare): look "
        "for "
        "a group timed wrongly, an override, a rapid that is not the plan's.\n",
        base::fixed(fitted.misfit, 1), fitted.free);
}
/// SI: m/s2, m/s3, m, s.
json fit_json(const plan::Machine& machine, const std::vector<double>& times, const motion::FitResult& fitted) {
  json groups = json::array(), numbers = json::array();
  for (std::size_t i = 0; i < times.size(); ++i)
    groups.push_back({{"measured_seconds", times[i]}, {"computed_seconds", fitted.seconds[i]}});
  for (const motion::Fitted& f : fitted.numbers)
    numbers.push_back({{"key", "machine." + key_of(f.which)},
                       {"fixed", f.fixed},
                       {"value", f.fixed ? json(f.value) : json(nullptr)},
                       {"low", f.low},
                       {"high", f.high},
                       {"text", f.fixed ? json(banded(f)) : json(nullptr)}});
  return {{"machine", machine.id.value}, {"groups", groups},        {"numbers", numbers},
          {"fits", fitted.fits},         {"misfit", fitted.misfit}, {"groups_to_spare", fitted.free}};
}

int fit_command(const ProgramTimeArguments& a, const plan::Plan& p) {
  const auto machine = machine_of(p, a.machine);
  if (!machine.ok()) return report(machine.problems());
  const auto times = read_times(a.fit);
  if (!times.ok()) return report(times.problems());
  std::string text = motion::test_program(), name = "the test program";
  if (!a.program.empty()) {
    const auto read = base::read_file(a.program);
    if (!read.ok()) return report(read.problems());
    text = *read;
    name = a.program;
  }
  program::Setting setting;
  setting.zeros.fill(frame::Vec3{});
  const auto run = program::read(text, name, setting);
  if (!run.ok()) return report(run.problems());
  const auto groups = motion::groups_between_stops(run->moves);
  if (groups.size() != times->size())
    return report({bad(fmt::format("{} times for {} groups", times->size(), groups.size()), a.fit,
                       "one time for each group between two stops")});
  motion::FitInputs in;
  std::vector<std::string> missing;
  in.known = study::motion_limits(**machine, missing);
  if (!(in.known.rapid[0] > 0))
    return report({bad(fmt::format("machine {} has no rapid", (*machine)->id.value), {}, "machine.rapid")});
  in.known.tool_change = std::max(0.0, in.known.tool_change);
  if (!(in.known.top_speed > 0)) in.known.top_speed = 1;  // the spindle stands
  for (std::size_t i = 0; i < groups.size(); ++i) in.groups.push_back({groups[i], (*times)[i], a.scatter});
  const auto fitted = motion::fit(in);
  if (!fitted.ok()) return report(fitted.problems());
  bool all = true;
  for (const motion::Fitted& f : fitted->numbers) all = all && f.fixed;
  if (a.json) std::cout << fit_json(**machine, *times, *fitted).dump(1) << "\n";
  else show_fit(**machine, *times, a.scatter, *fitted);
  if (!std::cout.flush()) return 3;
  return all && (fitted->fits || fitted->free <= 0) ? 0 : 4;
}

}  // namespace

int program_time_command(const ProgramTimeArguments& a) {
  if (a.test_program) {
    std::cout << motion::test_program();
    return std::cout.flush() ? 0 : 3;
  }
  if (a.plan.empty())
    return report({bad("which machine? The limits come from a plan", {}, "--plan PLAN, or --test-program")});
  if (!(a.scatter > 0)) return report({bad("scatter of the stopwatch out of range", {}, "more than 0 s")});
  const auto plan = plan::read_plan(a.plan);
  if (!plan.ok()) return report(plan.problems());
  if (!a.fit.empty()) return fit_command(a, *plan);
  if (a.program.empty()) {
    const auto timings = study::time_programs(*plan, study::load_data(*plan));
    if (timings.empty())
      return report({bad("no operation of the plan names a program", {}, "operation.program, or a program file here")});
    std::vector<study::ProgramTiming> asked;
    for (const study::ProgramTiming& t : timings)
      if (a.operation.empty() || t.operation == a.operation) asked.push_back(t);
    if (asked.empty()) return report({bad("this operation names no program", a.operation)});
    return show_all(*plan, asked, a.json);
  }
  const auto text = base::read_file(a.program);
  if (!text.ok()) return report(text.problems());
  const auto o = operation_of(*plan, a, *text);
  if (!o.ok()) return report(o.problems());
  return show_all(*plan, {study::time_program(*plan, **o, a.program, *text)}, a.json);
}

}  // namespace fettle::cli
