#include "begin/begin.h"

#include <fmt/format.h>

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

void part_of(plan::Plan& plan, const solid::Model& m, const Options& o) {
  give(plan.part.name, o.name);
  give(plan.part.model, o.model);
  const frame::Vec3 d = m.box.hi - m.box.lo;
  const double u = o.inch ? 0.0254 : 1e-3;
  const auto t = [&](double x) { return base::shortest(std::round(x / u * 1e6) / 1e6); };
  plan.part.size.origin = plan::Origin::given;
  plan.part.size.value = {d.x, d.y, d.z};
  plan.part.size.typed = fmt::format("{} x {} x {} {}", t(d.x), t(d.y), t(d.z), o.inch ? "in" : "mm");
  const struct {
    const char* way;
    const char* word;
  } ways[] = {{"half turn about X", "half turn x"},
              {"half turn about Y", "half turn y"},
              {"half turn about Z", "half turn z"},
              {"quarter turn about Z", "quarter turn z"}};
  for (const solid::Way& w : m.ways)
    for (const auto& x : ways)
      if (w.name == x.way && w.same) give(plan.part.symmetry, x.word);
}

std::string comment(const std::vector<std::string>& said, const Begun& b) {
  std::string out =
      "# A first plan, read from the model. What is not here could not be read and stays open in the study.\n";
  for (const std::string& s : said) out += "# " + s + "\n";
  if (!b.drawn.open.empty()) {
    out += "# Drawing items of the model that did not become requirements:\n";
    for (const std::string& s : b.drawn.open) out += "#   " + s + "\n";
  }
  return out;
}

}  // namespace

Outcome<Begun> begin(const solid::Model& model, const Drawing& drawing, const solid::Model* cast_model,
                     const std::string& table, const Options& options) {
  const Outcome<frame::Pose> X = pose_of(model, options);
  if (!X.ok()) return X.problems();
  const solid::Model part = posed(model, *X);
  Drawing turned = drawing;
  for (auto& c : turned.pmi.circles) {
    c.centre_P = *X * c.centre_P;
    c.axis_P = rotate(*X, c.axis_P);
  }
  Begun out;
  plan::Plan& plan = out.plan;
  header(plan, options);
  part_of(plan, part, options);
  Features features = features_of(part, turned.pmi, options.inch);
  plan.features = features.list;
  requirements_of(plan, features, part, turned, options.inch, out);
  if (cast_model != nullptr) {
    const solid::Model cast = posed(*cast_model, *X);
    give(plan.casting.model, options.cast);
    casting_from_model(plan, features, part, cast, options.inch, out);
  }
  if (!options.measured.empty()) {
    Problems problems = casting_from_table(plan, features, part, table, options, out);
    if (!problems.empty()) return problems;
  }
  if (!plan.casting.sizes.empty()) first_look(plan, features, part, options.inch, out);
  std::vector<std::string> said;
  said.push_back(fmt::format("{} features: {} cm3", plan.features.size(), base::fixed(part.volume * 1e6, 1)));
  if (out.drawn.dimensions + out.drawn.tolerances > 0)
    said.push_back(fmt::format("{} of {} dimensions and tolerances became requirements; {} datums",
                               out.drawn.requirements, out.drawn.dimensions + out.drawn.tolerances, out.drawn.datums));
  for (const std::string& s : features.left_out) said.push_back("left out: " + s);
  said.insert(said.end(), out.said.begin(), out.said.end());
  if (!plan.part.material.known())
    said.emplace_back("to give next: part.material, then the route ([[operation]]) and what is lifted ([[lift]])");
  out.said = said;
  out.text = comment(said, out) + "\n" + plan::write_plan(plan);
  return out;
}

}  // namespace fettle::begin
