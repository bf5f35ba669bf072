// Our own models and re-exports.
#include <gtest/gtest.h>

#include <cmath>

#include "published.h"
#include "solid/build.h"
#include "solid/solid.h"

namespace fettle::solid {
namespace {

Model model_of(const std::string& text, double density = 0) {
  ReadOptions o;
  o.density = density;
  auto m = read_step_text(text, "model", o);
  EXPECT_TRUE(m.ok()) << (m ? "" : say(m.problem()));
  return m ? *m : Model{};
}

std::string made(const Outcome<std::string>& text) {
  EXPECT_TRUE(text.ok()) << (text ? "" : say(text.problem()));
  return text ? *text : "";
}

TEST(DemoModels, the_finished_part_weighs_what_the_drawing_says) {
  const Model m = model_of(made(demo_part()), 7200);
  test::published("solid", "demo part: net volume, cm3", "demo scenario: 360.4 cm3", test::How::read, 360.4,
                  m.volume * 1e6, 0.2);
  test::published("solid", "demo part: mass, kg", "demo scenario: 2.595 kg at 7.20 kg/dm3", test::How::read, 2.595,
                  m.mass, 0.0015);
  EXPECT_NEAR(m.box.lo.x, -0.066, 1e-9);
  EXPECT_NEAR(m.box.hi.y, 0.046, 1e-9);
  EXPECT_NEAR(m.box.lo.z, 0, 1e-9);
  EXPECT_NEAR(m.box.hi.z, 0.036, 1e-9);
  EXPECT_EQ(m.unit, "mm");
  for (const Hole& h : m.holes) {
    std::printf("%s %.2f deep %.2f at %.2f %.2f %.2f through %d stepped %d cb %d cs %d:", h.id.c_str(),
                h.diameter * 1e3, h.depth * 1e3, h.p0.x * 1e3, h.p0.y * 1e3, h.p0.z * 1e3, h.through, h.stepped,
                h.counterbored, h.countersunk);
    for (auto& s : h.profile)
      std::printf(" %s %.2f-%.2f x%.2f", std::string(word(s.kind)).c_str(), s.d0 * 1e3, s.d1 * 1e3, s.length * 1e3);
    std::printf("\n");
  }
}

TEST(DemoModels, look) {
  for (const auto& text : {demo_part(), demo_casting()}) {
    const Model m = model_of(made(text), 7200);
    for (auto& p : m.planes)
      std::printf("%s n %.2f %.2f %.2f off %.3f area %.1f floor %d\n", p.id.c_str(), p.normal.x, p.normal.y, p.normal.z,
                  p.offset * 1e3, p.area * 1e6, p.floor);
    for (auto& p : m.pockets)
      std::printf("%s c %.2f %.2f %.2f l %.2f w %.2f d %.2f r %.2f open %d slot %d through %d\n", p.id.c_str(),
                  p.centre.x * 1e3, p.centre.y * 1e3, p.centre.z * 1e3, p.length * 1e3, p.width * 1e3, p.depth * 1e3,
                  p.corner_radius * 1e3, p.open_sides, p.slot, p.through);
    for (auto& p : m.rounds)
      std::printf("%s r %.2f turn %.2f concave %d\n", p.id.c_str(), p.radius * 1e3, p.turn, p.concave);
    for (auto& p : m.bosses) std::printf("%s d %.2f\n", p.id.c_str(), p.diameter * 1e3);
    for (auto& p : m.grooves)
      std::printf("%s in %s d %.2f w %.2f bore %.2f z %.2f..%.2f\n", p.id.c_str(), p.hole.c_str(), p.diameter * 1e3,
                  p.width * 1e3, p.bore * 1e3, p.p0.z * 1e3, p.p1.z * 1e3);
    for (auto& w : m.ways) {
      std::printf("%s fits %d same %d:", w.name.c_str(), w.box_fits, w.same);
      for (auto& b : w.breakers) std::printf(" %s", b.c_str());
      std::printf("\n");
    }
  }
}

TEST(DemoModels, the_casting) {
  const Model m = model_of(made(demo_casting()), 7200);
  std::printf("%.4f kg, faces %zu, box %.4f %.4f %.4f / %.4f %.4f %.4f\n", m.mass, m.faces.size(), m.box.lo.x * 1e3,
              m.box.lo.y * 1e3, m.box.lo.z * 1e3, m.box.hi.x * 1e3, m.box.hi.y * 1e3, m.box.hi.z * 1e3);
  for (const Face& f : m.faces)
    std::printf("#%d %s area %.2f r %.3f angle %.3f\n", f.id, std::string(word(f.kind)).c_str(), f.area * 1e6,
                f.radius * 1e3, f.semi_angle * 57.29578);
}

}  // namespace
}  // namespace fettle::solid
