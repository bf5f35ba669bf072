// The plate's pictures: words for a mode by its motion, the softest place, parts that move with the plate.
#include "study/plate_pictures.h"

#include <gtest/gtest.h>

#include <cmath>

#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

constexpr double length = 0.33, width = 0.25;
const std::vector<structure::Anchor> four = {
    {-0.105, -0.075, 0.04}, {0.105, -0.075, 0.04}, {-0.105, 0.075, 0.04}, {0.105, 0.075, 0.04}};

template <class F>
ModePicture mode(const F& up) {
  ModePicture m;
  m.field.columns = 21, m.field.rows = 17;
  m.field.left = -0.5 * length, m.field.bottom = -0.5 * width;
  m.field.step_x = length / 20, m.field.step_y = width / 16;
  for (int j = 0; j < 17; ++j)
    for (int i = 0; i < 21; ++i) m.field.value.push_back(up(i / 10.0 - 1, j / 8.0 - 1));
  return m;
}
std::string words(const ModePicture& m) { return mode_words(m, length, width, four); }

TEST(PlatePictures, WordsFollowTheMotion) {
  EXPECT_EQ(words(mode([](double, double) { return 1.0; })), "goes up and down");
  EXPECT_EQ(words(mode([](double x, double) { return x; })), "rocks about Y");
  EXPECT_EQ(words(mode([](double, double y) { return y; })), "rocks about X");
  EXPECT_EQ(words(mode([](double x, double) { return 0.6 * (x + 0.64); })), "rocks about Y over the anchors at -X");
  EXPECT_EQ(words(mode([](double, double y) { return 0.5 * (y - 0.95); })), "rocks about X near the +Y rim");
  EXPECT_EQ(words(mode([](double x, double y) { return x * y; })), "twists, corner against corner");
  EXPECT_EQ(words(mode([](double x, double) { return x * x - 0.3; })), "bows along X");
  EXPECT_EQ(words(mode([](double, double y) { return 0.4 - y * y; })), "bows along Y");
  EXPECT_EQ(words(mode([](double x, double) { return std::sin(9 * x); })), "bends in several waves");
  EXPECT_EQ(words(mode([](double x, double y) { return 0.7 * x + 0.5 * y; })), "rocks about Y and X");
  EXPECT_EQ(words(mode([](double x, double y) { return x * x + 0.8 * y * y - 0.6; })), "bows along X and Y");
}

TEST(PlatePictures, MotionInThePlateAndOfThePartsIsSaid) {
  ModePicture m = mode([](double, double) { return 0.0; });
  m.slide_x = 1;
  EXPECT_EQ(words(m), "slides along X");
  m.slide_x = 0, m.spin = 5;
  EXPECT_EQ(words(m), "turns in its own plane");
  m.spin = 3, m.parts.resize(1);
  EXPECT_EQ(words(m), "turns in its own plane; the tops of the parts go farthest")
      << "its corners go 0.6 of the largest";
  m = mode([](double x, double) { return 0.4 * x; });
  m.parts.resize(1);
  EXPECT_EQ(words(m), "rocks about Y; the tops of the parts go farthest");
  m.field.value.assign(m.field.value.size(), std::nan(""));
  EXPECT_EQ(words(m), "");
}

TEST(PlatePictures, OfTheDemo) {
  Options o = demo::quick();
  o.only = {"stiffness"};
  o.monte_carlo = true;
  const auto r = demo::demo({}, o);
  const CompliancePicture& p = r.study.compliance;
  ASSERT_TRUE(p.there);
  double most = 0;
  for (double x : p.field.value)
    if (std::isfinite(x)) most = std::max(most, x);
  EXPECT_NEAR(p.softest, most, 2e-6 * most);
  EXPECT_EQ(p.softest_words, "at the -X -Y corner, by nest 1") << "of four corners alike the first";
  ASSERT_GE(r.study.modes.size(), 4U);
  double last = 0;
  for (const ModePicture& m : r.study.modes) {
    EXPECT_GE(m.frequency, last);
    last = m.frequency;
    EXPECT_TRUE(m.low <= m.frequency && m.frequency <= m.high);
    EXPECT_GT(m.low, 0);
    EXPECT_FALSE(m.words.empty());
    ASSERT_EQ(m.parts.size(), 4U);
    // Nothing goes farther than 1, and something goes as far.
    double far = 0;
    for (int j = 0; j < m.field.rows; ++j)
      for (int i = 0; i < m.field.columns; ++i) {
        const double x = m.field.left + i * m.field.step_x, y = m.field.bottom + j * m.field.step_y,
                     up = m.field.value[static_cast<std::size_t>(j * m.field.columns + i)];
        if (std::isfinite(up)) far = std::max(far, frame::norm({m.slide_x - m.spin * y, m.slide_y + m.spin * x, up}));
      }
    for (const ModePart& q : m.parts) far = std::max(far, frame::norm(q.shift + frame::cross(q.turn, {0, 0, q.at.z})));
    EXPECT_NEAR(far, 1, 1e-9);
    // A part stands on the plate: what its foot does upright is near to what the plate does below it.
    for (const ModePart& q : m.parts) {
      const auto column = static_cast<std::size_t>(std::lround((q.at.x - m.field.left) / m.field.step_x)),
                 row = static_cast<std::size_t>(std::lround((q.at.y - m.field.bottom) / m.field.step_y));
      const double plate = m.field.value[row * static_cast<std::size_t>(m.field.columns) + column];
      EXPECT_NEAR(q.shift.z, plate, 0.35) << m.words;
    }
  }
}

}  // namespace
}  // namespace fettle::study
