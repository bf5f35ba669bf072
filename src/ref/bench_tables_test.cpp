#include "ref/bench_tables.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"
#include "ref/friction.h"
#include "ref/threads.h"

namespace {

using namespace fettle;
using test::How;
using test::published;

TEST(BenchTables, SpeedsInMetresAreThePrintedFeetAMinute) {
  // class 20, 25, 30 to 40, 45 to 50: ft/min drilling and reaming with high-speed steel, reaming with carbide
  const struct {
    const char* work;
    double hardness, feet;
  } rows[] = {{"drilling, high-speed steel", 135, 100}, {"drilling, high-speed steel", 180, 90},
              {"drilling, high-speed steel", 210, 80},  {"drilling, high-speed steel", 240, 60},
              {"reaming, high-speed steel", 135, 65},   {"reaming, high-speed steel", 180, 60},
              {"reaming, high-speed steel", 210, 55},   {"reaming, high-speed steel", 240, 40},
              {"reaming, carbide", 135, 300},           {"reaming, carbide", 180, 225},
              {"reaming, carbide", 210, 180},           {"reaming, carbide", 240, 125}};
  for (const auto& r : rows) {
    const auto x = ref::cutting_speed(r.work, r.hardness);
    ASSERT_TRUE(x) << r.work;
    published("ref", std::string(r.work) + ", grey iron, m/min", x->source, How::read, r.feet * 0.3048, x->high * 60,
              0.6);
    EXPECT_LE(x->low, x->high);
  }
  EXPECT_EQ(ref::cutting_speed("end milling, solid carbide", 250)->high, 265.0 / 60);
  EXPECT_EQ(ref::cutting_speed("drilling, high-speed steel", 400)->hard, 260);  // the nearest row
  EXPECT_FALSE(ref::cutting_speed("broaching", 200));
}

TEST(BenchTables, FrictionClassesHoldTheNutFactorsThatWeStartFrom) {
  double before = 0;
  for (const auto& c : ref::friction_classes()) {
    EXPECT_GT(c.low, before) << c.name;
    before = c.low;
  }
  // Oiled and dry screws start in classes B and C: K = 0.159 P/d + 0.577 mu d2/d + mu dk/(2 d), M8, dk 1.3 d.
  const auto& rows = ref::friction_classes();
  const auto k = [](double mu) { return 0.159 * 1.25 / 8 + 0.577 * mu * 7.188 / 8 + 0.65 * mu; };
  const auto oiled = ref::nut_factor("oiled"), dry = ref::nut_factor("dry");
  ASSERT_TRUE(oiled.ok() && dry.ok());
  EXPECT_GE(oiled->value, k(rows[1].low) - 0.005);
  EXPECT_LE(oiled->value, k(*rows[1].high) + 0.005);
  EXPECT_GE(dry->value, k(rows[2].low) - 0.005);
  EXPECT_LE(dry->value, k(*rows[2].high) + 0.005);
}

TEST(BenchTables, ShoulderScrewsHaveAThreadOfTheTableThinnerThanTheShoulder) {
  for (const auto& s : ref::shoulder_screws()) {
    const auto t = unit::parse_thread(s.thread);
    ASSERT_TRUE(t.ok());
    const auto d = ref::thread_data(*t);
    ASSERT_TRUE(d.ok()) << s.thread;
    EXPECT_LT(d->major, s.shoulder);
    EXPECT_GT(d->major, 0.7 * s.shoulder);
  }
}

TEST(BenchTables, TheDampingThatPlansStartFromLiesInWhatWasMeasured) {
  double low = 1, high = 0;
  for (const auto& r : ref::damping_rows())
    if (r.what.find("structure") != std::string::npos) low = std::min(low, r.low), high = std::max(high, r.high);
  published("ref", "least damping of metal structures, %", "read, quoting Adams and Askenazi", How::read, 2, 100 * low,
            1e-9);
  published("ref", "most damping of jointed metal structures, %", "read, quoting Adams and Askenazi", How::read, 7,
            100 * high, 1e-9);
  EXPECT_GE(0.02, low);  // pallet.damping starts at 2 %
  EXPECT_LE(0.05, high);
}

}  // namespace
