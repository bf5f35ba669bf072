// Hours a week of a whole shop: every plan that stands on it, machine by machine.
#include "app/cli/shop.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <memory>
#include <vector>

#include "app/cli/commands.h"
#include "app/cli/report.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "plan/read.h"
#include "study/shop_load.h"
#include "unit/quantity.h"

namespace fettle::cli {

namespace {

std::string hours(double s) { return base::fixed(s / 3600, 1); }
std::string pad(const std::string& s, std::size_t width) {
  const std::size_t n = base::code_points(s);
  return n < width ? s + std::string(width - n, ' ') : s;
}
std::string left_pad(const std::string& s, std::size_t width) {
  const std::size_t n = base::code_points(s);
  return n < width ? std::string(width - n, ' ') + s : s;
}

/// Plan files below a folder: every .toml that has a [plan] table and asks for parts a week. Shop and pallet files, and
/// plans without a demand, are left out.
std::vector<std::string> plans_below(const std::string& folder) {
  namespace fs = std::filesystem;
  std::vector<std::string> out;
  std::error_code error;
  for (fs::recursive_directory_iterator it(folder, fs::directory_options::skip_permission_denied, error), end;
       it != end; it.increment(error)) {
    if (error) break;
    if (!it->is_regular_file(error) || it->path().extension() != ".toml") continue;
    const auto text = base::read_file(it->path().string());
    if (text.ok() && text->find("\n[plan]") != std::string::npos && text->find("\n[demand]") != std::string::npos)
      out.push_back(it->path().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace

std::string shop_text(const study::ShopLoad& s) {
  std::string out = wrap(fmt::format("{}{}", s.shop.empty() ? "" : s.shop + ": ", s.sentence), 100, 0) + "\n";
  std::size_t width = 18;
  for (const study::ShopPlan& p : s.plans) width = std::max(width, base::code_points(p.name));
  width = std::min<std::size_t>(width, 48);
  out += fmt::format("  {} {}\n", pad("plan", width), left_pad("good/week", 10));
  for (const study::ShopPlan& p : s.plans)
    out += fmt::format("  {} {}\n", pad(p.name, width), left_pad(base::fixed(p.per_week, 0), 10));
  out += fmt::format("\n  {} {} {} {} {}\n", pad("hours a week", width), left_pad("needed", 8), left_pad("there", 8),
                     left_pad("use", 6), left_pad("change", 7));
  for (const timing::MachineHours& m : s.machines) {
    if (m.plans.empty()) continue;
    const bool over = m.there > 0 && m.hours > m.there;
    out +=
        fmt::format("  {} {} {} {} {}{}\n", pad("machine " + m.machine, width), left_pad(hours(m.hours), 8),
                    left_pad(hours(m.there), 8), left_pad(m.there > 0 ? base::fixed(100 * m.use(), 0) + " %" : "—", 6),
                    left_pad(hours(m.changing), 7), over ? "  ▨ over" : "");
    for (const timing::PlanHours& p : m.plans)
      out += fmt::format("    {} {} {} {} {}\n", pad(p.plan, width - 2), left_pad(hours(p.total()), 8), pad("", 8),
                         pad("", 6), left_pad(hours(p.changing), 7));
  }
  const double people = s.people.by_hand + s.people.changing;
  out += fmt::format(
      "  {} {} {} {} {}{}\n", pad("people", width), left_pad(hours(people), 8), left_pad(hours(s.people_there), 8),
      left_pad(s.people_there > 0 ? base::fixed(100 * people / s.people_there, 0) + " %" : "—", 6),
      left_pad(hours(s.people.changing), 7), s.people_there > 0 && people > s.people_there ? "  ▨ over" : "");
  std::vector<std::string> missing = s.missing;
  for (const study::ShopPlan& p : s.plans)
    for (const std::string& m : p.missing) missing.push_back(p.name + ": " + m);
  for (const timing::MachineHours& m : s.machines)
    for (const std::string& x : m.missing)
      if (std::find(missing.begin(), missing.end(), x) == missing.end()) missing.push_back(x);
  if (!missing.empty()) out += "\n  Not counted until said\n";
  for (const std::string& m : missing) out += "    " + m + "\n";
  out += "\n  Counted as the study of each plan counts it; an edge change takes the shop's time.\n";
  for (const study::ShopPlan& p : s.plans)
    if (p.hone_share)
      out += wrap(fmt::format("{}: {} of the parts are honed ({}).", p.name,
                              unit::print(*p.hone_share, unit::Kind::fraction), p.hone_source),
                  100, 4);
  return out;
}

int shop_command(const std::vector<std::string>& paths) {
  std::vector<std::string> files;
  for (const std::string& p : paths) {
    if (!std::filesystem::is_directory(p)) {
      files.push_back(p);
      continue;
    }
    const std::vector<std::string> below = plans_below(p);
    if (below.empty())
      return report({bad("no plan with a [demand] below this folder", p, "a folder with plan files, or plan files")});
    files.insert(files.end(), below.begin(), below.end());
  }
  std::vector<plan::Plan> plans;
  std::vector<study::CountedWeek> weeks;
  int code = 0;
  for (const std::string& f : files) {
    Outcome<plan::Plan> p = plan::read_plan(f);
    if (!p.ok()) code = std::max(code, report(p.problems()));
    else plans.push_back(std::move(p.value()));
  }
  if (code != 0) return code;
  std::vector<const plan::Plan*> list;
  list.reserve(plans.size());
  for (const plan::Plan& p : plans) list.push_back(&p);
  study::Options options;
  options.threads = cores();
  study::Memo memo;
  for (const plan::Plan& p : plans) {
    const Outcome<study::CountedWeek> week = study::count_week(p, study::load_data(p), options, memo);
    if (!week.ok()) return report(week.problems());
    weeks.push_back(*week);
  }
  const Outcome<study::ShopLoad> load = study::shop_load(list, weeks);
  if (!load.ok()) return report(load.problems());
  std::cout << shop_text(*load);
  return load->over ? 1 : load->open ? 4 : 0;
}

}  // namespace fettle::cli
