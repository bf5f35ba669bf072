// What a question can be answered with by pointing: the features and requirements that were read, and drawings of them.
#include <algorithm>

#include "app/serve/drops.h"
#include "app/serve/flat.h"
#include "begin/propose/facts.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

std::string size_of(const plan::Feature& f) {
  if (f.thread.known()) return f.thread.value.typed;
  if (f.diameter.known()) return f.diameter.typed;
  if (f.width.known() && f.length.known()) return f.width.typed + " x " + f.length.typed;
  if (f.width.known()) return f.width.typed;
  return f.size.typed;
}

json feature_json(const plan::Plan& plan, const plan::Feature& f) {
  const bool face = f.kind.value == "face" || f.kind.value == "profile";
  return {{"id", f.id.value},
          {"name", f.name.value},
          {"kind", f.kind.value},
          {"size", size_of(f)},
          {"at", f.at.texts},
          {"places", f.at.value.size()},
          {"from", begin::reached_from(plan, f)},
          {"hole", begin::hole_like(f)},
          {"face", face && !begin::is_floor(f)}};
}

}  // namespace

json picks_json(const ReadDrop& d) {
  const plan::Plan& plan = d.begun.plan;
  json questions = json::array(), features = json::array(), requirements = json::array(), views = json::array();
  for (const begin::Question& q : d.questions)
    questions.push_back({{"id", q.id},
                         {"words", q.words},
                         {"example", q.example},
                         {"start", q.start},
                         {"why", q.why},
                         {"choices", q.choices},
                         {"pick", q.pick}});
  for (const plan::Feature& f : plan.features) features.push_back(feature_json(plan, f));
  for (const plan::Requirement& r : plan.requirements)
    requirements.push_back({{"id", r.id.value},
                            {"feature", r.feature.value},
                            {"kind", r.kind.value},
                            {"limits", r.limits.typed},
                            {"to", r.to.value}});
  const Matched part{&d.part, {}, features_of_faces(plan, d.part, {})};
  for (const std::string& up : flat_ways()) {
    const Flat flat = flat_of(plan, part, standing(up));
    // a side on which nothing of the plan can be pointed at is not drawn
    const bool any = !flat.marks.empty() || std::any_of(flat.faces.begin(), flat.faces.end(),
                                                        [](const FlatFace& f) { return f.feature >= 0; });
    if (any) views.push_back(flat_json(flat, plan, up));
  }
  return {{"questions", std::move(questions)},
          {"features", std::move(features)},
          {"requirements", std::move(requirements)},
          {"views", std::move(views)},
          {"units", d.scene.inch ? "inch" : "metric"}};
}

}  // namespace fettle::serve
