#include "app/cli/program_draw.h"

#include <fmt/format.h>

#include <filesystem>
#include <iostream>

#include "app/cli/program_prove.h"
#include "app/cli/program_views.h"
#include "app/cli/report.h"
#include "base/text.h"
#include "base/version.h"
#include "compose/compose.h"
#include "output/drawings/program.h"
#include "plan/read.h"

namespace fettle::cli {

namespace {

/// A file that a person names, else the one that the plan names, else one made from the plan's cuts.
Outcome<ProgramText> program_text(const plan::Plan& plan, const ProgramDrawArguments& a, const plan::Operation& o) {
  std::string path = a.program;
  if (path.empty() && o.program.given())
    path = (std::filesystem::path(a.plan).parent_path() / o.program.value).string();
  if (path.empty()) return made_program(plan, o.id.value);
  const Outcome<std::string> text = base::read_file(path, std::size_t{64} << 20U);
  if (!text.ok()) return text.problems();
  return ProgramText{*text, std::filesystem::path(path).filename().string(), false, {}};
}

/// Everything is rendered before anything is written.
Outcome<std::vector<std::pair<std::string, std::string>>> rendered(
    const plan::Plan& plan, const std::string& plan_name, const std::string& name,
    const std::vector<std::pair<std::string, drawings::Drawing>>& all) {
  const std::string version = std::string("Fettle ") + base::version();
  const std::string date = plan.header.date.known() ? plan.header.date.value : "";
  std::vector<drawings::Drawing> pages;
  std::vector<std::pair<std::string, std::string>> files;
  for (const auto& [file, d] : all) {
    const drawings::Drawing sheet =
        drawings::with_title_block(d, {d.title, plan_name, plan.hash.substr(0, 8), version, "", date, ""});
    const auto svg = drawings::to_svg(sheet, {d.title, version, date});
    if (!svg.ok()) return svg.problems();
    files.emplace_back(file + ".svg", svg->bytes);
    pages.push_back(sheet);
  }
  const auto pdf = drawings::to_pdf(pages, {plan_name + ", " + name, version, date});
  if (!pdf.ok()) return pdf.problems();
  files.emplace_back(name + ".pdf", pdf->bytes);
  return files;
}

Problems no_operation(const plan::Plan& plan, const std::string& asked) {
  const std::vector<std::string> ids = compose::programmable(plan);
  return {bad(asked.empty() ? "which operation? say --op" : "no operation of this plan has that id", asked,
              base::join(ids, ", "), base::nearest(asked, ids))};
}

}  // namespace

int program_draw_command(const ProgramDrawArguments& a) {
  if (a.inches && a.metric) return report({bad("either inches or metric", "--inch --metric", "one of them")});
  Outcome<plan::Plan> plan = plan::read_plan(a.plan);
  if (!plan.ok()) return report(plan.problems());
  if (a.inches || a.metric) plan.value().header.units.value = a.inches ? "inch" : "metric";
  std::string id = a.operation;
  if (id.empty() && !a.program.empty())
    if (const auto text = base::read_file(a.program); text.ok()) id = operation_of(*plan, *text, a.program);
  const plan::Operation* o = plan::find_operation(*plan, id);
  if (o == nullptr) return report(no_operation(*plan, id));
  const Outcome<ProgramText> text = program_text(*plan, a, *o);
  if (!text.ok()) return report(text.problems());
  const Outcome<Followed> f =
      follow(*plan, id, text->text, text->file, a.quick ? Closely::walk : Closely::loads, 5e-5, a.sets);
  if (!f.ok()) return report(f.problems());
  const std::string name = base::lower(id);
  std::vector<std::pair<std::string, drawings::Drawing>> all;
  const std::vector<drawings::Drawing> ways = drawings::paths(paths_view(*plan, *f), {186, 262});
  for (std::size_t i = 0; i < ways.size(); ++i)
    all.emplace_back(ways.size() == 1 ? name + "-paths" : fmt::format("{}-paths-{}", name, i + 1), ways[i]);
  all.emplace_back(name + "-engagement", drawings::engagement(engagement_view(*plan, *f), {186, 262}));
  if (o->kind.value == "pallet")
    if (const auto pools = pools_view(*plan)) all.emplace_back(name + "-coolant", drawings::pools(*pools, {186, 262}));
  const auto files = rendered(*plan, std::filesystem::path(a.plan).filename().string(), name + "-program", all);
  if (!files.ok()) return report(files.problems());
  std::error_code error;
  std::filesystem::create_directories(a.out, error);
  if (!std::filesystem::is_directory(a.out))
    return report({bad("cannot make the folder", a.out, "a folder that can be written")});
  for (const auto& [file, bytes] : *files) {
    const std::string path = (std::filesystem::path(a.out) / file).string();
    const Outcome<bool> done = base::write_file(path, bytes);
    if (!done.ok()) return report(done.problems());
    std::cout << "wrote " << path << "\n";
  }
  std::cout << fmt::format("{}: {}\n", id, text->made ? "made from the plan's cuts" : text->file);
  for (const std::string& m : text->missing) std::cout << "  not made: " << m << "\n";
  if (f->other_lines > 0)
    std::cout << fmt::format("  drawn up to line {}: then the parts are turned over for another operation\n",
                             f->other_lines);
  if (f->unplaced > 0) std::cout << fmt::format("  {} moves have no known place and are not drawn\n", f->unplaced);
  for (const std::string& n : f->notes) std::cout << "  note: " << n << "\n";
  return 0;
}

}  // namespace fettle::cli
