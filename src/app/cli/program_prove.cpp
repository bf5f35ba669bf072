#include "app/cli/program_prove.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iostream>
#include <nlohmann/json.hpp>

#include "app/cli/report.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "compose/compose.h"
#include "plan/read.h"
#include "program/on_paper.h"
#include "program/read.h"

namespace fettle::cli {

namespace {

using finding::State;
using nlohmann::json;

/// Every H gets a length of its own, so that a wrong one shows: the gauge length, by hundredths of a micrometre another
/// for each number; where it is not said the tool's stick-out and a usual holder over it.
std::map<int, double> lengths(const plan::Plan& plan) {
  constexpr double over_stick_out = 0.1, unsaid = 0.05;  // m, from memory: gauge line to the holder's nose
  std::map<int, double> out;
  for (int h = 1; h <= 999; ++h) {
    const plan::Tool* t = plan::find_tool(plan, "T" + std::to_string(h));
    const double stick_out = t != nullptr && t->stick_out.known() ? t->stick_out.si : unsaid;
    const bool gauged = t != nullptr && t->gauge_length.known();
    out[h] = gauged ? t->gauge_length.si + h * 1e-8 : over_stick_out + stick_out + h * 1e-5;
  }
  return out;
}

Outcome<bool> set_parameters(const std::vector<std::string>& sets, program::Setting& s) {
  for (const std::string& t : sets) {
    const std::vector<std::string> parts = base::split(t, '=');
    const auto n = parts.size() == 2 ? base::to_double(parts[0]) : std::nullopt;
    const auto v = parts.size() == 2 ? base::to_double(parts[1]) : std::nullopt;
    if (!n || !v || !(*n >= 1 && *n <= 5399) || *n != std::floor(*n))
      return bad("no setting of a parameter", t, "such as 503=1");
    s.parameters[static_cast<int>(*n)] = *v;
  }
  return true;
}

int line_of(const prove::Proof& p, const finding::Finding& f) {
  const auto it = p.line_of.find(f.id);
  return it == p.line_of.end() ? 0 : it->second;
}
json number(double v) { return std::isfinite(v) ? json(v) : json(nullptr); }

}  // namespace

std::string operation_of(const plan::Plan& plan, const std::string& text, const std::string& file) {
  const std::string name = std::filesystem::path(file).filename().string();
  for (const plan::Operation& o : plan.operations)
    if (o.program.known() && std::filesystem::path(o.program.value).filename().string() == name) return o.id.value;
  std::size_t first = std::string::npos;
  std::string found;
  for (const plan::Operation& o : plan.operations) {
    const std::size_t at = text.find("(" + o.id.value + " ");
    if (at < first) first = at, found = o.id.value;
  }
  if (!found.empty()) return found;
  const std::vector<std::string> all = compose::programmable(plan);
  return all.size() == 1 ? all.front() : "";
}

Outcome<program::Run> run_for_proof(const plan::Plan& plan, const std::string& text, const std::string& file,
                                    prove::Options& options, const std::vector<std::string>& sets) {
  program::Setting s;
  options.lengths = lengths(plan);
  s.lengths = options.lengths;
  const Outcome<bool> set = set_parameters(sets, s);
  if (!set.ok()) return set.problems();
  return program::read(text, file, program::on_paper(text, s));
}

Outcome<prove::Proof> prove_text(const plan::Plan& plan, const std::string& operation, const std::string& text,
                                 const std::string& file, prove::Options options,
                                 const std::vector<std::string>& sets) {
  const Outcome<program::Run> run = run_for_proof(plan, text, file, options, sets);
  if (!run.ok()) return run.problems();
  Outcome<prove::Proof> p = prove::prove(plan, operation, *run, options);
  if (p.ok())
    p.value().notes.push_back(
        "tool lengths: tool.gauge_length, else stick-out and 100 mm of holder, from memory; the machine's own decide "
        "travel in Z");
  if (p.ok())
    for (const Problem& n : run->notes) p.value().notes.push_back(say(n));
  return p;
}

std::string proof_text(const prove::Proof& p, const std::string& file, bool all) {
  std::string t;
  int inside = 0;
  for (const finding::Finding& f : p.findings) {
    if (f.state == State::inside) ++inside;
    if (f.state == State::inside && !all) continue;
    const int line = line_of(p, f);
    std::string sentence = f.sentence;
    const std::string told = fmt::format("Line {}: ", line);
    if (line > 0 && sentence.rfind(told, 0) == 0) sentence = sentence.substr(told.size());
    t += fmt::format("{}{}: {}: {}\n  {}\n", file, line > 0 ? fmt::format(":{}", line) : "", finding::word(f.state),
                     sentence, f.id);
  }
  t += fmt::format("{} moves; {} questions without a fault{}.\n", p.moves, inside, all ? "" : " (--all lists them)");
  for (const std::string& n : p.notes) t += "note: " + n + "\n";
  t += "Not looked at: " + base::join(p.not_looked_at, "; ") + ".\n";
  t += "A proof on paper is no leave to run: prove out above the parts, single block, with a hand on the feed. The "
       "shop's "
       "and the machine's own rules decide.\n";
  return t;
}

std::string proof_json(const prove::Proof& p, const std::string& file) {
  json findings = json::array(), work = json::array();
  for (const finding::Finding& f : p.findings)
    findings.push_back({{"id", f.id},
                        {"state", finding::word(f.state)},
                        {"title", f.title},
                        {"sentence", f.sentence},
                        {"tool", f.tool},
                        {"nest", f.nest},
                        {"file", file},
                        {"line", line_of(p, f)},
                        {"value", number(f.value)},
                        {"margin", number(f.margin)},
                        {"formula", f.formula},
                        {"source", f.source},
                        {"missing", f.missing},
                        {"cautions", f.cautions}});
  for (const prove::Work& w : p.work)
    work.push_back({{"tool", w.tool},
                    {"nest", w.nest},
                    {"first_line", w.first_line},
                    {"worst_line", w.worst_line},
                    {"volume_m3", w.volume},
                    {"depth_m", w.worst_depth},
                    {"width_m", w.width},
                    {"arc_rad", w.arc},
                    {"seconds", w.seconds}});
  return json{{"findings", findings},
              {"work", work},
              {"notes", p.notes},
              {"not_looked_at", p.not_looked_at},
              {"moves", p.moves}}
      .dump(1);
}

int program_prove_command(const ProgramProveArguments& a) {
  const Outcome<plan::Plan> plan = plan::read_plan(a.plan);
  if (!plan.ok()) return report(plan.problems());
  const Outcome<std::string> text = base::read_file(a.program, std::size_t{256} << 20);
  if (!text.ok()) return report(text.problems());
  const std::string operation = a.operation.empty() ? operation_of(*plan, *text, a.program) : a.operation;
  if (operation.empty())
    return report({bad("which operation is this the program of? say --operation", a.program,
                       base::join(compose::programmable(*plan), ", "))});
  prove::Options options;
  options.loads = !a.quick;
  options.castings = a.measured ? std::max(1, a.castings) : a.castings;
  options.measured = a.measured;
  const Outcome<prove::Proof> p = prove_text(*plan, operation, *text, a.program, options, a.sets);
  if (!p.ok()) return report(p.problems());
  std::cout << (a.json ? proof_json(*p, a.program) + "\n" : proof_text(*p, a.program, a.all));
  return prove::exit_code(*p);
}

}  // namespace fettle::cli
