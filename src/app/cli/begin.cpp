#include "begin/begin.h"

#include <filesystem>
#include <iostream>

#include "app/cli/commands.h"
#include "app/cli/propose.h"
#include "app/cli/report.h"
#include "base/text.h"
#include "plan/read.h"
#include "solid/build.h"
#include "solid/solid.h"

namespace fettle::cli {

namespace {

/// A path as it should stand in a plan that is written to `into`.
std::string beside(const std::string& path, const std::string& into) {
  if (into.empty() || path.empty()) return path;
  std::error_code error;
  const auto relative = std::filesystem::relative(path, std::filesystem::absolute(into).parent_path(), error);
  return error || relative.empty() ? path : relative.string();
}

bool same_file(const std::string& a, const std::string& b) {
  std::error_code error;
  return !a.empty() && !b.empty() && std::filesystem::equivalent(a, b, error) && !error;
}

std::string stem(const std::string& path) { return std::filesystem::path(path).stem().string(); }

}  // namespace

int begin_command(const BeginArguments& a) {
  if (!a.into.empty() && std::filesystem::exists(a.into) && !a.over)
    return report({bad("the plan is there already", a.into, "another name, or --over")});
  for (const std::string* input :
       {&a.model, &a.cast, &a.measured, &a.shop, &a.answers, &a.tools, &a.holders, &a.times}) {
    if (same_file(*input, a.into))
      return report({bad("the plan would be written over what it is read from", a.into, "another name")});
    if (same_file(*input, a.raw))
      return report({bad("the raw casting would be written over what the plan is read from", a.raw, "another name")});
  }
  if (!a.raw.empty()) {
    if (a.shop.empty())
      return report({bad("a raw casting is made for whole plans", a.raw, "--shop with the shop file")});
    if (!a.cast.empty()) return report({bad("the casting has a model already", a.cast, "--raw or --cast, not both")});
    if (a.raw == a.into) return report({bad("plan and raw casting would be one file", a.raw, "two names")});
    if (std::filesystem::exists(a.raw) && !a.over)
      return report({bad("the raw casting is there already", a.raw, "another name, or --over")});
  }
  if (!a.units.empty() && a.units != "inch" && a.units != "metric")
    return report({bad("no such units", a.units, "metric or inch")});
  if (!a.unit.empty() && a.unit != "mm" && a.unit != "in" && a.unit != "m")
    return report({bad("no such unit of length here", a.unit, "mm, in or m")});
  const Outcome<std::string> text = base::read_file(a.model);
  if (!text.ok()) return report(text.problems());
  solid::ReadOptions read;
  read.unit_if_none = a.unit;
  if (!a.shop.empty()) read.mesh_chord = 1e-4;  // for what is reached from where
  const Outcome<solid::Model> model = solid::read_step_text(*text, a.model, read);
  if (!model.ok()) return report(model.problems());
  const Outcome<begin::Drawing> drawing = begin::read_drawing(*text, a.model, a.unit);
  if (!drawing.ok()) return report(drawing.problems());
  std::optional<solid::Model> cast;
  if (!a.cast.empty()) {
    Outcome<solid::Model> c = solid::read_step(a.cast, read);
    if (!c.ok()) return report(c.problems());
    cast = std::move(c.value());
  }
  std::string table;
  if (!a.measured.empty()) {
    const Outcome<std::string> t = base::read_file(a.measured, std::size_t{64} << 20U);
    if (!t.ok()) return report(t.problems());
    table = *t;
  }
  begin::Options options;
  options.name = stem(a.model);
  options.model = beside(a.model, a.into);
  options.cast = beside(a.cast, a.into);
  options.measured = beside(a.measured, a.into);
  options.table_unit = a.unit;
  options.up = a.up;
  options.origin = a.origin;
  options.inch = a.units.empty() ? model->unit == "in" : a.units == "inch";
  const Outcome<begin::Begun> begun = begin::begin(*model, *drawing, cast ? &*cast : nullptr, table, options);
  if (!begun.ok()) return report(begun.problems());
  if (!a.shop.empty())
    return propose_plans(a, *begun, *model, cast ? &*cast : nullptr, {*text, *drawing, table}, options,
                         beside(a.shop, a.into));
  if (a.json) return report({bad("only whole plans are told as JSON", "--json", "--shop with the shop file")});
  for (const std::string* list : {&a.tools, &a.holders, &a.times})
    if (!list->empty()) return report({bad("lists are for whole plans", *list, "--shop with the shop file")});
  if (!a.answers.empty() || a.questions)
    return report({bad("answers are for whole plans", a.answers, "--shop with the shop file")});
  if (a.into.empty()) {
    std::cout << begun->text;
  } else {
    const Outcome<bool> done = base::write_file(a.into, begun->text);
    if (!done.ok()) return report(done.problems());
    std::cerr << "wrote " << a.into << "\n";
  }
  for (const std::string& s : begun->said) std::cerr << s << "\n";
  return 0;
}

int demo_models_command(const std::string& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  const Outcome<bool> written = solid::write_demo_models(folder);
  if (!written.ok()) return report(written.problems());
  std::cout << "wrote " << folder << "/wvb3.step and " << folder << "/wvb3-casting.step\n";
  return 0;
}

}  // namespace fettle::cli
