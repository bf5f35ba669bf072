#include "begin/begin.h"

#include <filesystem>
#include <iostream>

#include "app/cli/commands.h"
#include "base/text.h"
#include "plan/read.h"
#include "solid/build.h"
#include "solid/solid.h"
#include "step/part21.h"
#include "step/shapes.h"

namespace fettle::cli {

namespace {

int report(const Problems& problems) {
  int code = 0;
  for (const Problem& p : problems) {
    std::cerr << say(p) << "\n";
    code = std::max(code, p.fault == Fault::bad_input ? 2 : 3);
  }
  return code;
}

/// A path as it should stand in a plan that is written to `into`.
std::string beside(const std::string& path, const std::string& into) {
  if (into.empty() || path.empty()) return path;
  std::error_code error;
  const auto relative = std::filesystem::relative(path, std::filesystem::absolute(into).parent_path(), error);
  return error || relative.empty() ? path : relative.string();
}

std::string stem(const std::string& path) { return std::filesystem::path(path).stem().string(); }

}  // namespace

int begin_command(const BeginArguments& a) {
  if (!a.into.empty() && std::filesystem::exists(a.into) && !a.over)
    return report({bad("the plan is there already", a.into, "another name, or --over")});
  const Outcome<std::string> text = base::read_file(a.model);
  if (!text.ok()) return report(text.problems());
  solid::ReadOptions read;
  read.unit_if_none = a.unit;
  const Outcome<solid::Model> model = solid::read_step_text(*text, a.model, read);
  if (!model.ok()) return report(model.problems());
  begin::Drawing drawing;
  const auto file = step::parse(*text, a.model);
  if (!file.ok()) return report(file.problems());
  const auto pmi = step::read_pmi(*file, a.unit.empty()   ? std::optional<double>{}
                                         : a.unit == "in" ? 0.0254
                                         : a.unit == "m"  ? 1.0
                                                          : 1e-3);
  if (!pmi.ok()) return report(pmi.problems());
  drawing.pmi = *pmi;
  const double length = drawing.pmi.units.length.value_or(1e-3);
  const step::Shapes shapes = step::read_shapes(*file, length);
  drawing.judged = step::judge(drawing.pmi, step::stated(shapes));
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
  if (!a.units.empty() && a.units != "inch" && a.units != "metric")
    return report({bad("no such units", a.units, "metric or inch")});
  const Outcome<begin::Begun> begun = begin::begin(*model, drawing, cast ? &*cast : nullptr, table, options);
  if (!begun.ok()) return report(begun.problems());
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
