// `fettle levers`: what would move a finding, and what else would move with it.
#include "study/levers.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

#include "app/cli/commands.h"
#include "app/cli/report.h"
#include "app/cli/study_text.h"
#include "output/drawings/figures.h"
#include "plan/read.h"

namespace fettle::cli {

namespace {

std::string state_words(const study::Moved& m) {
  const auto margin = [](double x) { return std::isfinite(x) ? drawings::say_margin(x) : std::string("open"); };
  if (m.came) return fmt::format("comes, {}", finding::word(m.after));
  if (m.went) return "goes";
  if (m.before == m.after)
    return fmt::format("{}, {} → {}", finding::word(m.after), margin(m.margin_before), margin(m.margin_after));
  return fmt::format("{} → {}, {} → {}", finding::word(m.before), finding::word(m.after), margin(m.margin_before),
                     margin(m.margin_after));
}

std::string row_text(const study::LeverRow& r, const std::string& wanted, const std::string& currency, int number) {
  std::string out = wrap(fmt::format("{}. {}: {} → {}{}{}", number, r.name, r.from, r.to, r.mends ? "  mends it" : "",
                                     r.breaks ? "  but puts another outside or beyond its formula" : ""),
                         100, 1);
  out += wrap(
      fmt::format("{}; plan key {}{}{}", study::word(r.effort), r.key,
                  r.inside_from.empty() ? std::string() : "; inside from " + r.inside_from,
                  r.cost_change ? fmt::format("; {:+.2f} {} a good part", *r.cost_change, currency) : std::string()),
      100, 5);
  std::size_t n = 0, left = 0;
  for (const study::Moved& m : r.moved) {
    const bool first = m.id == wanted;
    if (!first && n >= 4 && !(m.after == finding::State::outside && m.before != m.after)) {
      ++left;
      continue;
    }
    ++n;
    out += wrap(fmt::format("{} {}: {}", m.id, m.title, state_words(m)), 100, 5);
  }
  if (left > 0) out += fmt::format("     and {} more move a little\n", left);
  return out;
}

nlohmann::json number(double x) { return std::isfinite(x) ? nlohmann::json(x) : nlohmann::json(nullptr); }

nlohmann::json json_of(const study::Levers& levers, const std::string& wanted) {
  nlohmann::json rows = nlohmann::json::array();
  for (const study::LeverRow& r : levers.rows) {
    nlohmann::json moved = nlohmann::json::array();
    for (const study::Moved& m : r.moved)
      moved.push_back({{"finding", m.id},
                       {"title", m.title},
                       {"before", m.came ? nlohmann::json(nullptr) : nlohmann::json(finding::word(m.before))},
                       {"after", m.went ? nlohmann::json(nullptr) : nlohmann::json(finding::word(m.after))},
                       {"margin_before", m.came ? nlohmann::json(nullptr) : number(m.margin_before)},
                       {"margin_after", m.went ? nlohmann::json(nullptr) : number(m.margin_after)}});
    rows.push_back({{"name", r.name},
                    {"key", r.key},
                    {"from", r.from},
                    {"to", r.to},
                    {"effort", study::word(r.effort)},
                    {"structural", r.structural},
                    {"gain", number(r.gain)},
                    {"mends", r.mends},
                    {"inside_from", r.inside_from.empty() ? nlohmann::json(nullptr) : nlohmann::json(r.inside_from)},
                    {"breaks", r.breaks},
                    {"cost_change_per_part", r.cost_change ? number(*r.cost_change) : nlohmann::json(nullptr)},
                    {"moved", std::move(moved)}});
  }
  return {{"schema", 1},
          {"plan", levers.base.plan_name},
          {"plan_hash", levers.base.plan_hash},
          {"version", levers.base.version},
          {"tables", levers.base.tables},
          {"finding", wanted.empty() ? nlohmann::json(nullptr) : nlohmann::json(wanted)},
          {"currency", levers.currency},
          {"tried", levers.tried},
          {"levers", std::move(rows)}};
}

}  // namespace

std::string levers_json(const study::Levers& levers) { return json_of(levers, levers.finding).dump(1); }

int levers_command(const LeversArguments& a) {
  const Outcome<plan::Plan> p = plan::read_plan(a.plan);
  if (!p.ok()) return report(p.problems());
  const study::Data data = study::load_data(*p);
  study::Memo memo;
  study::LeverOptions options;
  options.finding = a.finding;
  options.threads = a.threads;
  const Outcome<study::Levers> l = study::levers(*p, data, options, memo);
  if (!l.ok()) return report(l.problems());
  const std::string& wanted = l->finding;
  if (a.json) {
    std::cout << json_of(*l, wanted).dump(1) << "\n";
    return study::exit_code(l->base);
  }
  const finding::Finding* f = nullptr;
  for (const finding::Finding& x : l->base.findings)
    if (x.id == wanted) f = &x;
  if (f != nullptr)
    std::cout << wrap(fmt::format("{}  {}: {}. {}", f->id, f->title, finding::word(f->state), f->sentence), 100, 0);
  else std::cout << wrap(l->base.verdict, 100, 0);
  std::cout << fmt::format("\n{} of {} changes move {} the right way{}:\n\n", l->rows.size(), l->tried,
                           f != nullptr ? "it" : "what needs a hand",
                           static_cast<int>(l->rows.size()) > a.count ? fmt::format("; the first {}", a.count) : "");
  int n = 0;
  for (const study::LeverRow& r : l->rows) {
    if (++n > a.count) break;
    std::cout << row_text(r, wanted, l->currency, n);
  }
  if (l->rows.empty()) std::cout << "  none of the numbers or changes that this version knows\n";
  std::cout
      << "\n"
      << wrap(
             "Worked out without drawing parts (linear theory); `fettle study` of the changed plan settles it. "
             "Margins: 0 at the limit, 1 the whole limit unused. Where the work can hurt, local codes and licensed "
             "practice decide.",
             100, 0);
  return study::exit_code(l->base);
}

}  // namespace fettle::cli
