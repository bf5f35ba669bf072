#include "app/cli/program_make.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <iostream>
#include <nlohmann/json.hpp>

#include "app/cli/report.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "compose/compose.h"
#include "output/programs/print.h"
#include "plan/read.h"
#include "program/on_paper.h"
#include "program/read.h"
#include "study/plan_times.h"

namespace fettle::cli {

namespace {

/// Times of the made cuts beside those of the plan, for the person at the terminal.
std::string times_text(const compose::Composition& c) {
  std::string t = fmt::format("{} - {}\n  {:<5} {:<26} {:>9} {:>9} {:>10}\n", c.operation, c.words, "tool", "",
                              "made min", "plan min", "way mm");
  double made = 0, stated = 0;
  for (const compose::Visit& v : c.visits) {
    made += v.cutting / 60;
    stated += v.stated.value_or(0) / 60;
    t += fmt::format("  T{:<4} {:<26} {:>9} {:>9} {:>10}\n", v.number, v.name.substr(0, 26),
                     base::fixed(v.cutting / 60, 3), v.stated ? base::fixed(*v.stated / 60, 3) : "-",
                     base::fixed(v.feed_way * 1000, 1));
  }
  t += fmt::format("  {:<32} {:>9} {:>9}\n", "sum per part", base::fixed(made, 3), base::fixed(stated, 3));
  for (const std::string& m : c.missing) t += "  not made: " + m + "\n";
  return t;
}

constexpr double much = 0.1;  ///< of the plan's time: less is said by the table alone

/// s a week that a machine is taken by the plan's own times, change-overs left out.
double week_on(const plan::Plan& plan, const std::string& machine) {
  const timing::PlanLoad load = study::plan_load(plan, study::plan_times(plan), study::share_without_losses(plan), 0);
  double s = 0;
  for (const timing::OperationLoad& o : load.operations)
    if (o.machine == machine) s += o.machine_per_part * o.parts_per_week;
  return s;
}

/// Where program and plan differ much: by which tools, and what that does to the week. Empty else.
std::string unlike_plan(const compose::Composition& c, const plan::Plan& plan) {
  double made = 0, stated = 0;
  std::vector<std::pair<double, std::string>> tools;
  for (const compose::Visit& v : c.visits) {
    if (!v.stated) continue;
    made += v.cutting, stated += *v.stated;
    const double more = v.cutting - *v.stated;
    tools.emplace_back(more, fmt::format("{} {}{} min", v.tool, more < 0 ? "" : "+", base::fixed(more / 60, 3)));
  }
  if (!(stated > 0) || std::fabs(made / stated - 1) <= much) return {};
  const double more = made - stated;
  std::stable_sort(tools.begin(), tools.end(),
                   [](const auto& a, const auto& b) { return std::fabs(a.first) > std::fabs(b.first); });
  std::string most;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, tools.size()); ++i)
    most += (i == 0 ? "" : ", ") + tools[i].second;
  std::string out =
      fmt::format("{} cuts {} min a part, {} min {} than the plan says (most: {}).", c.operation,
                  base::fixed(made / 60, 3), base::fixed(std::fabs(more) / 60, 3), more > 0 ? "more" : "less", most);
  const plan::Operation* o = plan::find_operation(plan, c.operation);
  if (o != nullptr && o->machine.known() && plan.demand.per_week.known()) {
    const double week = more * plan.demand.per_week.si, by_plan = week_on(plan, o->machine.value);
    out += fmt::format(" With {} good parts a week machine {} is taken about {} h instead of {} h",
                       base::fixed(plan.demand.per_week.si, 0), o->machine.value,
                       base::fixed((by_plan + week) / 3600, 1), base::fixed(by_plan / 3600, 1));
    if (const auto there = study::week_there(plan))
      out += fmt::format("; {} h are there{}", base::fixed(*there / 3600, 1),
                         by_plan + week > *there ? ": that is more than the week has" : "");
    out += ".";
  }
  return out + " The study counts the program's time once operation.program names it.";
}

/// The same for other programs. `names`: program, sheet of offsets, restart table.
nlohmann::json made_json(const compose::Composition& c, const std::string& unlike,
                         const std::array<std::string, 3>& names) {
  nlohmann::json tools = nlohmann::json::array();
  double made = 0;
  for (const compose::Visit& v : c.visits) {
    made += v.cutting;
    tools.push_back({{"tool", v.tool},
                     {"name", v.name},
                     {"features", v.features},
                     {"notes", v.notes},
                     {"seconds_a_part", v.cutting},
                     {"plan_seconds_a_part", v.stated ? nlohmann::json(*v.stated) : nlohmann::json(nullptr)},
                     {"feed_way_m", v.feed_way}});
  }
  return {{"operation", c.operation},
          {"words", c.words},
          {"tools", tools},
          {"seconds_a_part", made},
          {"unlike_plan", unlike.empty() ? nlohmann::json(nullptr) : nlohmann::json(unlike)},
          {"not_made", c.missing},
          {"files", {{"program", names[0]}, {"offsets", names[1]}, {"restart", names[2]}}}};
}

/// Somebody's program for one part, read and split. Tool lengths and zeros of theirs do not matter: any will do.
Outcome<compose::Composition> from_given(const plan::Plan& plan, const std::string& operation, const std::string& path,
                                         const compose::Options& options) {
  const plan::Operation* o = plan::find_operation(plan, operation);
  if (o == nullptr) return bad("no such operation in the plan", operation);
  const Outcome<compose::SetUp> up = compose::set_up(plan, *o);
  if (!up.ok()) return up.problems();
  const Outcome<std::string> text = base::read_file(path);
  if (!text.ok()) return text.problems();
  program::Setting setting;
  setting.zeros.fill(frame::Vec3{});
  for (int h = 1; h <= 999; ++h) setting.lengths[h] = 0.15;
  const Outcome<program::Run> run = program::read(*text, path, program::on_paper(*text, setting));
  if (!run.ok()) return run.problems();
  const Outcome<compose::Blocks> blocks = compose::blocks(*run, path, up->safe);
  if (!blocks.ok()) return blocks.problems();
  return compose::compose(plan, operation, *blocks, options);
}

}  // namespace

int program_make_command(const ProgramMakeArguments& a) {
  const Outcome<std::string> table = programs::dialect_text(a.dialect);
  if (!table.ok()) return report(table.problems());
  const Outcome<programs::Dialect> dialect = programs::read_dialect(*table, a.dialect);
  if (!dialect.ok()) return report(dialect.problems());
  const Outcome<plan::Plan> plan = plan::read_plan(a.plan);
  if (!plan.ok()) return report(plan.problems());
  std::vector<std::string> operations = compose::programmable(*plan);
  if (!a.operation.empty()) operations = {a.operation};
  if (!a.from.empty() && a.operation.empty())
    return report({bad("which operation is the given program of? Name it with --operation", a.from)});
  if (operations.empty()) return report({bad("no operation of this plan has cuts on a machine", a.plan)});
  if (a.out.empty() && operations.size() > 1)
    return report(
        {bad("several operations: say --operation, or --out with a folder", "", base::join(operations, ", "))});

  std::vector<std::pair<std::string, std::string>> files;
  bool left_out = false;
  std::string said;
  nlohmann::json all = nlohmann::json::array();
  for (const std::string& id : operations) {
    compose::Options options;
    options.fewest_changes = a.fewest_changes;
    for (const std::string& group : a.together) options.together.push_back(base::split(group, ','));
    const Outcome<compose::Composition> c =
        a.from.empty() ? compose::compose(*plan, id, options) : from_given(*plan, id, a.from, options);
    if (!c.ok()) return report(c.problems());
    const Outcome<programs::Printed> p =
        programs::print(*c, *dialect, {a.inches || plan->header.units.value == "inch", 0});
    if (!p.ok()) return report(p.problems());
    left_out = left_out || !c->missing.empty();
    const std::string unlike = unlike_plan(*c, *plan);
    said += times_text(*c);
    if (!unlike.empty()) said += wrap(unlike, 100, 2);
    const std::string name = base::lower(id);
    const std::array<std::string, 3> names = {name + "." + dialect->file_end, name + "-offsets.txt",
                                              name + "-restart.txt"};
    files.emplace_back(names[0], p->program);
    files.emplace_back(names[1], p->offsets);
    files.emplace_back(names[2], p->restarts);
    all.push_back(made_json(*c, unlike, names));
    if (a.out.empty())
      all.back()["texts"] = {{"program", p->program}, {"offsets", p->offsets}, {"restart", p->restarts}};
  }
  const std::string as_json =
      nlohmann::json{{"operations", all}}.dump(1, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
  if (a.out.empty()) {
    std::cout << (a.json ? as_json : files[0].second);
    if (!a.json) std::cerr << said;
    return !std::cout.flush() ? 3 : left_out ? 4 : 0;
  }
  std::error_code error;
  std::filesystem::create_directories(a.out, error);
  if (!std::filesystem::is_directory(a.out))
    return report({bad("cannot make the folder", a.out, "a folder that can be written")});
  for (const auto& [name, bytes] : files) {
    const std::string path = (std::filesystem::path(a.out) / name).string();
    const Outcome<bool> done = base::write_file(path, bytes);
    if (!done.ok()) return report(done.problems());
    std::cerr << "wrote " << path << "\n";
  }
  std::cout << (a.json ? as_json : said);
  return !std::cout.flush() ? 3 : left_out ? 4 : 0;
}

}  // namespace fettle::cli
