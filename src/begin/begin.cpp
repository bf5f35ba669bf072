#include "begin/begin.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "begin/castings.h"
#include "begin/features.h"
#include "begin/pose_model.h"
#include "begin/requirements.h"
#include "plan/read.h"

namespace fettle::begin {

namespace {

void header(plan::Plan& plan, const Options& o) {
  plan.version.value = 1;
  plan.version.origin = plan::Origin::given;
  give(plan.header.name, o.name);
  give(plan.header.units, o.inch ? "inch" : "metric");
}

/// The letter of the part's axis along which the model's axis lies.
char turned(const frame::Pose& X, char axis) {
  const frame::Vec3 a = rotate(X, {axis == 'X' ? 1.0 : 0.0, axis == 'Y' ? 1.0 : 0.0, axis == 'Z' ? 1.0 : 0.0});
  return std::fabs(a.x) > 0.5 ? 'x' : std::fabs(a.y) > 0.5 ? 'y' : 'z';
}

/// Turns that leave the part the same; and those that fit its box and do not: they can be loaded wrong.
void symmetry(plan::Plan& plan, const solid::Model& m, const frame::Pose& X, Begun& out) {
  std::vector<std::string> same, wrong;
  for (const solid::Way& w : m.ways) {
    if (base::starts_with(w.name, "mirror") || !w.box_fits) continue;
    const std::string words = w.name.substr(0, w.name.find(" about ")) + " " + turned(X, w.name.back());
    if (!w.same) wrong.push_back(words);
    else if (words != "quarter turn x" && words != "quarter turn y") same.push_back(words);
  }
  std::sort(same.begin(), same.end());
  std::sort(wrong.begin(), wrong.end());
  for (const std::string& s : same) give(plan.part.symmetry, s);
  if (!wrong.empty())
    out.said.push_back(
        fmt::format("its box fits again after a {}, but the part is not the same there: it can be loaded wrong",
                    base::join(wrong, ", a ")));
}

void part_of(plan::Plan& plan, const solid::Model& m, const Options& o) {
  give(plan.part.name, o.name);
  give(plan.part.model, o.model);
  const frame::Vec3 d = m.box.hi - m.box.lo;
  give(plan.part.size, {d.x, d.y, d.z}, o.inch);
  std::string note;
  if (!o.up.empty() && o.up != "+z") note = "the model's " + o.up + " points up here";
  if (!o.origin.empty()) note += (note.empty() ? "" : "; ") + std::string("origin in the model: ") + o.origin;
  if (!note.empty()) give(plan.part.note, note);
}

std::string volume_text(double si, bool inch) {
  return inch ? base::fixed(si / (0.0254 * 0.0254 * 0.0254), 2) + " in³" : base::fixed(si * 1e6, 1) + " cm³";
}

std::string count(int n, const char* word) { return fmt::format("{} {}{}", n, word, n == 1 ? "" : "s"); }

void say_drawing(const Drawn& d, std::vector<std::string>& said) {
  if (d.dimensions + d.tolerances + d.datums + d.unread == 0) {
    said.emplace_back("the model carries no drawing: no requirements");
    return;
  }
  said.push_back(fmt::format("drawing read: {}, {}, {}", count(d.dimensions, "dimension"),
                             count(d.tolerances, "tolerance"), count(d.datums, "datum")));
  said.push_back(fmt::format("{} of {} became requirements; {} basic, {} for reference, {} open", d.requirements,
                             d.dimensions + d.tolerances, d.basic, d.reference, d.left_open));
  if (d.unread > 0) said.push_back(fmt::format("{} could not be read", count(d.unread, "drawing item")));
}

std::string comment(const Begun& b) {
  std::string out =
      "# A first plan, read from the model. What is not here could not be read and stays open in the study.\n";
  for (const std::string& s : b.said) out += "# " + s + "\n";
  if (!b.drawn.open.empty()) {
    out += "#\n# Drawing items that did not become requirements:\n";
    for (std::size_t i = 0, n = 1; i < b.drawn.open.size(); i += n) {
      for (n = 1; i + n < b.drawn.open.size() && b.drawn.open[i + n] == b.drawn.open[i];) ++n;
      out += "#   " + b.drawn.open[i] + (n > 1 ? fmt::format(", {} times", n) : "") + "\n";
    }
  }
  for (char& c : out)
    if (static_cast<unsigned char>(c) < 0x20 && c != '\n') c = ' ';
  return out;
}

/// A plan that its own reader refuses is our fault, and is never written.
Problems read_back(const std::string& text) {
  const auto nothing = [](const std::string& path) -> Outcome<std::string> { return bad("not here", path); };
  const auto plan = plan::read_plan(text, "the first plan", nothing);
  if (plan.ok()) return {};
  Problems out = plan.problems();
  for (Problem& p : out) p.fault = Fault::our_fault;
  return out;
}

}  // namespace

Outcome<Begun> begin(const solid::Model& model, const Drawing& drawing, const solid::Model* cast_model,
                     const std::string& table, const Options& options) {
  const Outcome<frame::Pose> X = pose_of(model, options);
  if (!X.ok()) return X.problems();
  const solid::Model part = posed(model, *X);
  Begun out;
  plan::Plan& plan = out.plan;
  header(plan, options);
  part_of(plan, part, options);
  Features features = features_of(part, drawing.threads, options.inch);
  plan.features = features.list;
  requirements_of(plan, features, part, drawing, options.inch, out);
  out.said.push_back(fmt::format("{}, volume {}, in a box of {}",
                                 count(static_cast<int>(plan.features.size()), "feature"),
                                 volume_text(part.volume, options.inch), plan.part.size.typed));
  say_drawing(out.drawn, out.said);
  symmetry(plan, part, *X, out);
  for (const std::string& s : features.left_out) out.said.push_back("left out: " + s);
  if (cast_model != nullptr) {
    const solid::Model cast = posed(*cast_model, *X);
    give(plan.casting.model, options.cast);
    casting_from_model(plan, features, part, cast, options.inch, out);
  }
  if (!options.measured.empty()) {
    Problems problems = casting_from_table(plan, features, part, table, options, out);
    if (!problems.empty()) return problems;
  }
  if (!plan.casting.sizes.empty()) first_look(plan, part, options.inch, out);
  std::string next = "part.material";
  if (plan.casting.sizes.empty())
    next += ", the raw casting ([[casting.size]], or begin again with --cast or --measured)";
  else if (options.measured.empty()) next += ", casting.tolerance_grade";
  out.said.push_back("to give next: " + next + ", the route ([[operation]]) and what is lifted ([[lift]])");
  out.text = comment(out) + "\n" + plan::write_plan(plan);
  if (Problems problems = read_back(out.text); !problems.empty()) return problems;
  return out;
}

}  // namespace fettle::begin
