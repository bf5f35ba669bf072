#pragma once
// Parts of other kinds than the demo's, and a scene round each: for tests.
#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <string>

#include "base/text.h"
#include "begin/begin.h"
#include "begin/pose_model.h"
#include "begin/propose/demo_for_tests.h"
#include "begin/propose/propose.h"
#include "begin/propose/questions.h"
#include "begin/propose/route.h"
#include "plan/read.h"
#include "solid/build.h"

namespace fettle::begin {

/// A part, what `begin` reads of it, and the demo's shop round it.
struct Kind {
  solid::Model model;
  plan::Plan plan;
  Scene scene;
};
/// From STEP text; the model's drawing counts where it has one. `out.scene` points at `out.model`.
/// `look`: with a mesh, so that it is known what is reached from where.
inline Outcome<bool> kind_from(const std::string& step, const std::string& name, Kind& out, bool look = false,
                               const std::string& up = "+z") {
  solid::ReadOptions read;
  if (look) read.mesh_chord = 1e-4;
  auto m = solid::read_step_text(step, name, read);
  if (!m.ok()) return m.problems();
  out.model = std::move(m.value());
  auto drawing = read_drawing(step, name, "");
  if (!drawing.ok()) return drawing.problems();
  Options o;
  o.name = name, o.model = name + ".step", o.up = up;
  const auto b = begin(out.model, drawing.value(), nullptr, "", o);
  if (!b.ok()) return b.problems();
  const std::string shop = demo::shop();
  const auto nothing = [](const std::string& path) -> Outcome<std::string> { return bad("not here", path); };
  auto p = plan::read_plan(plan::write_plan(b->plan), "first", nothing);
  if (!p.ok()) return p.problems();
  const auto X = pose_of(out.model, o);
  if (!X.ok()) return X.problems();
  out.model = posed(out.model, *X);
  out.plan = std::move(p.value());
  auto s = plan::read_plan("fettle = 1\n[plan]\nname = \"x\"\nshop = \"shop.toml\"\n", "x",
                           [&](const std::string&) -> Outcome<std::string> { return shop; });
  if (!s.ok()) return s.problems();
  out.scene.part = &out.model;
  out.scene.sight = look_around(out.model, out.plan, false);
  out.scene.shop = s->shop, out.scene.shop_path = "shop.toml", out.scene.shop_text = shop;
  out.scene.answers = {{"material", "EN-GJL-250"},
                       {"per_week", "120"},
                       {"machine", "B"},
                       {"casting_price", "9.80 EUR"},
                       {"operators", "1"}};
  return true;
}
/// A sample solid by its name, with its mesh; made once.
inline const Kind& sample_kind(const std::string& name) {
  static std::map<std::string, std::unique_ptr<Kind>> all;
  std::unique_ptr<Kind>& k = all[name];
  if (k != nullptr) return *k;
  k = std::make_unique<Kind>();
  const auto step = solid::sample_solid(name);
  EXPECT_TRUE(step.ok()) << name;
  if (step.ok()) {
    EXPECT_TRUE(kind_from(*step, name, *k, true).ok()) << name;
  }
  return *k;
}
inline Draft ordered(const Kind& k) {
  Draft d;
  d.plan = k.plan;
  d.plan.shop = k.scene.shop;
  plan::Text& shop = d.plan.header.shop;
  shop.value = shop.typed = k.scene.shop_path, shop.origin = plan::Origin::given;
  apply_answers(k.scene.answers, d.plan);
  order_casting(k.scene, d);
  return d;
}

}  // namespace fettle::begin
