#pragma once
// The demo's part, what `begin` reads of it, and a scene round it: for tests.
#include <gtest/gtest.h>

#include <string>

#include "base/text.h"
#include "begin/begin.h"
#include "begin/propose/propose.h"
#include "plan/read.h"
#include "solid/build.h"

namespace fettle::begin::demo {

template <class T>
T must(const Outcome<T>& o) {
  if (o.ok()) return o.value();
  ADD_FAILURE() << say(o.problem());
  return T{};
}
inline const solid::Model& part() {
  static const solid::Model m = must(solid::read_step_text(must(solid::demo_part()), "part"));
  return m;
}
inline const plan::Plan& read() {
  static const plan::Plan p = [] {
    Options o;
    o.name = "wvb3", o.model = "wvb3.step";
    const auto b = begin(part(), must(read_drawing(must(solid::demo_part()), "part", "")), nullptr, "", o);
    const auto nothing = [](const std::string& path) -> Outcome<std::string> { return bad("not here", path); };
    return must(plan::read_plan(plan::write_plan(must(b).plan), "first", nothing));
  }();
  return p;
}
inline const std::string& shop() {
  static const std::string t = must(base::read_file(std::string(FETTLE_SOURCE_DIR) + "/plans/demo/shop.toml"));
  return t;
}
/// That shop file with the demo's answers.
inline Scene scene_of(const std::string& text = shop()) {
  Scene s;
  s.part = &part();
  s.shop = must(plan::read_plan("fettle = 1\n[plan]\nname = \"x\"\nshop = \"shop.toml\"\n", "x",
                                [&](const std::string&) -> Outcome<std::string> { return text; }))
               .shop;
  s.shop_path = "shop.toml", s.shop_text = text;
  s.answers = {{"material", "EN-GJL-250"}, {"per_week", "240"},           {"machine", "B"},
               {"grinding", "yes"},        {"casting_price", "9.80 EUR"}, {"operators", "1"}};
  return s;
}

}  // namespace fettle::begin::demo
