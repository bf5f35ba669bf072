#include "calc/cutting/cutting.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/cutting/finish.h"
#include "calc/cutting/holes.h"
#include "calc/cutting/tool_beam.h"
#include "published.h"

namespace fettle::cutting {
namespace {

using test::How;
using test::published;

constexpr double pi = 3.14159265358979323846, mm = 1e-3, deg = pi / 180, N_mm2 = 1e6;

Milling side(double diameter, int teeth, double feed, double width, double depth, double helix, bool down = true) {
  Milling m;
  m.chip = {1160 * N_mm2, 0.26, 1, 0.4};
  m.diameter = diameter;
  m.tooth_angles = even_teeth(teeth);
  m.helix = helix;
  m.rake = 6 * deg;
  m.feed_per_tooth = feed;
  m.depth = depth;
  m.arc = side_arc(diameter, width, down);
  m.turns = 30;
  m.steps = 360;
  return m;
}

TEST(Cutting, SpecificForceAsPrinted) {
  const struct {
    const char* name;
    double kc, mc;
    double at[5];
  } rows[] = {{"EN-GJL-200", 1020, 0.25, {2157.0, 1813.8, 1525.3, 1378.2, 1282.6}},
              {"EN-GJL-250", 1160, 0.26, {2527.7, 2110.9, 1762.7, 1586.4, 1472.0}},
              {"group 15", 1150, 0.20, {2093.6, 1822.6, 1586.7, 1463.1, 1381.3}},
              {"group 16", 1350, 0.28, {3123.4, 2572.4, 2118.6, 1891.2, 1744.8}}};
  const double h[] = {0.05, 0.1, 0.2, 0.3, 0.4};
  for (const auto& r : rows)
    for (int i = 0; i < 5; ++i)
      published("cutting", std::string("kc of ") + r.name + ", N/mm2", "kc1.1 h^-mc, arithmetic", How::computed,
                r.at[i], specific_force({r.kc * N_mm2, r.mc, 1, 0.4}, h[i] * mm) / N_mm2, 0.001 * r.at[i]);
}

TEST(Cutting, TurningFitOfAMakersTableIsTheGradesRow) {
  // Least squares of log kc over log f on the maker's own values, by hand here.
  const double f[] = {0.1, 0.2, 0.3, 0.4, 0.6}, kc[] = {2110, 1800, 1600, 1400, 1330};
  double sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (int i = 0; i < 5; ++i) {
    const double x = std::log(f[i]), y = std::log(kc[i]);
    sx += x, sy += y, sxx += x * x, sxy += x * y;
  }
  const double slope = (5 * sxy - sx * sy) / (5 * sxx - sx * sx), at1 = std::exp((sy - slope * sx) / 5);
  published("cutting", "fit of a maker's turning table, kc1",
            "carbide maker's table, grey iron 200 HB, read; fit computed", How::computed, 1139, at1, 2);
  published("cutting", "fit of a maker's turning table, exponent", "carbide maker's table, read; fit computed",
            How::computed, 0.272, -slope, 0.001);
  for (double x : f)
    EXPECT_NEAR(specific_force({1160 * N_mm2, 0.26, 1, 0}, x * mm) / (at1 * N_mm2 * std::pow(x, slope)), 1, 0.021);
}

TEST(Cutting, MillingFitOfAMakersTable) {
  // The same maker's milling values by feed per tooth, not by chip: fitted the same way.
  const double f[] = {0.1, 0.2, 0.3, 0.4, 0.6}, kc[] = {1750, 1400, 1240, 1050, 970};
  double sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (int i = 0; i < 5; ++i) {
    const double x = std::log(f[i]), y = std::log(kc[i]);
    sx += x, sy += y, sxx += x * x, sxy += x * y;
  }
  const double slope = (5 * sxy - sx * sy) / (5 * sxx - sx * sx), at1 = std::exp((sy - slope * sx) / 5);
  published("cutting", "fit of a maker's milling table by feed, kc1",
            "carbide maker's table, grey iron 200 HB, read; fit computed", How::computed, 803, at1, 1);
  published("cutting", "fit of a maker's milling table by feed, exponent", "carbide maker's table, read; fit computed",
            How::computed, 0.341, -slope, 0.001);
  // By the chip that such a feed makes in a half-immersed cutter (2/pi of it) the grade's row asks for more than the
  // maker prints at every feed: the side that the forces here err to.
  for (int i = 0; i < 5; ++i)
    EXPECT_GT(specific_force({1160 * N_mm2, 0.26, 1, 0.4}, 2 / pi * f[i] * mm) / N_mm2, kc[i]) << f[i];
}

TEST(Cutting, FacePowerOfATextbook) {
  // 80 m/min, D 250, z 12, ap 2, ae 80, vf 280, kc 1800 constant, efficiency 0.8: 1.68 kW at the motor.
  Milling m;
  m.chip = {1800 * N_mm2, 0, 1, 0.4};
  m.diameter = 250 * mm;
  m.tooth_angles = even_teeth(12);
  m.depth = 2 * mm;
  m.arc = face_arc(250 * mm, 80 * mm, 0);
  m.turns = 80.0 / 60 / (pi * 0.25);
  m.feed_per_tooth = 0.280 / 60 / (12 * m.turns);
  const MillingResult r = solve(m).value();
  published("cutting", "face milling, feed per tooth, mm", "textbook example, read", How::computed, 0.229,
            m.feed_per_tooth / mm, 0.0005);
  published("cutting", "face milling, power, kW", "textbook example, read", How::read, 1.68, r.power / 0.8 / 1000,
            0.005);
}

TEST(Cutting, ChipThicknessBesideAWall) {
  const double ae[] = {1, 2, 4, 10, 20}, angle[] = {25.842, 36.870, 53.130, 90, 180},
               most[] = {0.04359, 0.06, 0.08, 0.1, 0.1}, mean[] = {0.02217, 0.03108, 0.04314, 0.06366, 0.06366};
  for (int i = 0; i < 5; ++i) {
    const Milling m = side(20 * mm, 4, 0.1 * mm, ae[i] * mm, 5 * mm, 0);
    const MillingResult r = solve(m).value();
    const std::string source = "kinematics of side milling, closed form";
    published("cutting", "engaged arc, deg", source, How::exact, angle[i], (m.arc.exit - m.arc.entry) / deg, 0.001);
    published("cutting", "largest chip, mm", source, How::exact, most[i], r.chip_most / mm, 1e-5);
    published("cutting", "mean chip, mm", source, How::exact, mean[i], r.chip_mean / mm, 1e-5);
  }
}

TEST(Cutting, FaceMillingOfIronWithLead) {
  Milling m;
  m.chip = {1160 * N_mm2, 0.26, 1, 0.4};
  m.diameter = 125 * mm;
  m.tooth_angles = even_teeth(8);
  m.approach = 45 * deg;
  m.depth = 2.5 * mm;
  m.feed_per_tooth = 0.2 * mm;
  m.arc = face_arc(125 * mm, 90 * mm, 0);
  m.turns = 180.0 / 60 / (pi * 0.125);
  const MillingResult r = solve(m).value();
  const std::string s = "Kienzle calculation in full, computed by an independent script";
  published("cutting", "lead 45, speed, rpm", s, How::computed, 458.37, m.turns * 60, 0.01);
  published("cutting", "lead 45, arc, deg", s, How::computed, 92.109, (m.arc.exit - m.arc.entry) / deg, 0.01);
  published("cutting", "lead 45, mean chip, mm", s, How::computed, 0.12668, r.chip_mean / mm, 2e-4);
  published("cutting", "lead 45, kc, N/mm2", s, How::computed, 1985.0, r.specific / N_mm2, 4);
  published("cutting", "lead 45, teeth engaged", s, How::computed, 2.0469, r.teeth_engaged, 0.004);
  published("cutting", "lead 45, removal, cm3/min", s, How::computed, 165.01, r.removal * 60e6, 0.3);
  published("cutting", "lead 45, feed, mm/min", s, How::computed, 733.39, m.feed_per_tooth * 8 * m.turns * 60 / mm,
            1.4);
  published("cutting", "lead 45, width of the chip, mm", s, How::computed, 3.5355, m.depth / std::sin(m.approach) / mm,
            0.007);
  published("cutting", "lead 45, power by the mean chip, kW", s, How::computed, 5.459, r.specific * r.removal / 1000,
            0.0109);
  published("cutting", "lead 45, power with the force integrated, kW", s, How::computed, 5.453, r.power / 1000, 0.011);
  published("cutting", "lead 45, force a tooth by the mean chip, N", s, How::computed, 889.0,
            r.specific * 2.5 * mm / std::sin(m.approach) * r.chip_mean, 1.8);
  published("cutting", "lead 45, mean force a tooth, N", s, How::computed, 888.1,
            r.torque_mean / (0.5 * m.diameter) / r.teeth_engaged, 1.8);
  published("cutting", "lead 45, peak force of one tooth, N", s, How::computed, 964.5,
            specific_force(m.chip, r.chip_most) * 2.5 * mm / std::sin(m.approach) * r.chip_most, 1.9);
  EXPECT_LT(r.mean.z, 0) << "a lead presses the part down";
}

/// The same sum written another way: straight slices, midpoints, nothing kept.
frame::Vec3 slices(const Milling& m, double turn) {
  frame::Vec3 f;
  const int n = 4000;
  const double ka = axial_ratio(m.chip.radial, m.rake, m.helix);
  for (std::size_t j = 0; j < m.tooth_angles.size(); ++j) {
    const double next = j + 1 < m.tooth_angles.size() ? m.tooth_angles[j + 1] : m.tooth_angles[0] + 2 * pi;
    const double feed = m.feed_per_tooth * (next - m.tooth_angles[j]) * m.tooth_angles.size() / (2 * pi);
    for (int i = 0; i < n; ++i) {
      const double z = m.depth * (i + 0.5) / n;
      double phi = std::fmod(turn + m.tooth_angles[j] - 2 * z * std::tan(m.helix) / m.diameter, 2 * pi);
      if (phi < 0) phi += 2 * pi;
      if (phi < m.arc.entry || phi > m.arc.exit) continue;
      const double h = feed * std::sin(phi);
      const double t = m.chip.kc11 * std::pow(h / mm, -m.chip.mc) * h * m.depth / n, r = m.chip.radial * t;
      f = f + frame::Vec3{t * std::cos(phi) + r * std::sin(phi), -t * std::sin(phi) + r * std::cos(phi), ka * t};
    }
  }
  return f;
}

TEST(Cutting, TurnAgainstSlicesWrittenOut) {
  for (const double step : {0.0, 3 * deg}) {
    Milling m = side(16 * mm, 6, 0.07 * mm, 3.9 * mm, 18.5 * mm, 38 * deg);
    if (step > 0) m.tooth_angles = uneven_teeth(6, step);
    const MillingResult r = solve(m).value();
    const int n = static_cast<int>(r.turn.size());
    for (int i = 0; i < n; i += 37) {
      const frame::Vec3 f = slices(m, 2 * pi * i / n);
      EXPECT_NEAR(frame::norm(f - r.turn[static_cast<std::size_t>(i)]), 0, 2e-3 * r.peak_size) << i;
    }
  }
}

TEST(Cutting, MomentAboutTheAxisIsTorqueAndWhatTheRimLifts) {
  // A thin slice: all of it at one angle, so that the moment is the place of the tooth times its force.
  Milling m = side(16 * mm, 1, 0.07 * mm, 3.9 * mm, 0.05 * mm, 38 * deg);
  const MillingResult r = solve(m).value();
  ASSERT_EQ(r.moment_turn.size(), r.turn.size());
  const auto n = static_cast<double>(r.turn.size());
  int met = 0;
  for (std::size_t i = 0; i < r.turn.size(); ++i) {
    if (!(frame::norm(r.turn[i]) > 0.5 * r.peak_size)) continue;
    ++met;
    const double phi = 2 * pi * static_cast<double>(i) / n;
    const frame::Vec3 at{8 * mm * std::sin(phi), 8 * mm * std::cos(phi), 0};
    const frame::Vec3 by_hand = frame::cross(at, r.turn[i]);
    EXPECT_NEAR(frame::norm(by_hand - r.moment_turn[i]), 0, 0.02 * frame::norm(by_hand)) << i;
    EXPECT_NEAR(r.moment_turn[i].z, -r.torque_turn[i], 1e-12);
  }
  EXPECT_GT(met, 5);
}

TEST(Cutting, Properties) {
  Milling m = side(16 * mm, 5, 0.07 * mm, 3.9 * mm, 18.5 * mm, 38 * deg);
  const MillingResult r = solve(m).value();
  // Nothing deep, nothing wide, nothing fed: no force.
  for (const Milling& none : {side(16 * mm, 5, 0.07 * mm, 3.9 * mm, 0, 0.6), side(16 * mm, 5, 0.07 * mm, 0, 0.01, 0.6),
                              side(16 * mm, 5, 0, 3.9 * mm, 0.01, 0.6)})
    EXPECT_EQ(solve(none).value().peak_size, 0);
  // An even cutter repeats every tooth.
  const std::size_t n = r.turn.size(), tooth = n / 5;
  for (std::size_t i = 0; i < n; ++i)
    EXPECT_NEAR(frame::norm(r.turn[i] - r.turn[(i + tooth) % n]), 0, 1e-6 * r.peak_size);
  EXPECT_NEAR(r.power, r.torque_mean * 2 * pi * m.turns, 1e-9 * r.power);
  // The samples' mean is the closed mean; the start angle does not matter.
  double torque = 0;
  for (double t : r.torque_turn) torque += t / static_cast<double>(n);
  EXPECT_NEAR(torque, r.torque_mean, 1e-3 * r.torque_mean);
  Milling turned = m;
  for (double& a : turned.tooth_angles) a += 0.3;
  EXPECT_NEAR(solve(turned).value().torque_mean, r.torque_mean, 1e-9 * r.torque_mean);
  // Up and down are mirror images: the same torque, the part pushed the other way along the feed.
  const MillingResult up = solve(side(16 * mm, 5, 0.07 * mm, 3.9 * mm, 18.5 * mm, 38 * deg, false)).value();
  EXPECT_NEAR(up.torque_mean, r.torque_mean, 1e-9 * r.torque_mean);
  EXPECT_LT(r.mean.x, 0);
  EXPECT_GT(up.mean.x, 0);
  // A right-hand helix lifts the part, a left-hand one presses it down, a straight edge does neither.
  EXPECT_GT(r.up_pull, 0);
  EXPECT_EQ(solve(side(16 * mm, 5, 0.07 * mm, 3.9 * mm, 18.5 * mm, -38 * deg)).value().up_pull, 0);
  EXPECT_EQ(solve(side(16 * mm, 5, 0.07 * mm, 3.9 * mm, 18.5 * mm, 0)).value().up_pull, 0);
  // A gap takes its share of the mean and leaves the peak of a straight cutter.
  Milling gap = side(16 * mm, 1, 0.07 * mm, 16 * mm, 5 * mm, 0);
  const MillingResult whole = solve(gap).value();
  gap.gaps = {{0.2, 0.6}};
  const MillingResult cut = solve(gap).value();
  EXPECT_LT(cut.torque_mean, whole.torque_mean);
  EXPECT_NEAR(cut.torque_peak, whole.torque_peak, 1e-9);
  EXPECT_TRUE(cut.shock);
  EXPECT_FALSE(whole.shock);
}

TEST(Cutting, InsideABoreTheChipIsTheRing) {
  // Feed of the centre times the swept sagitta is the ring's area per angle, exactly.
  const double r = 10 * mm, before = 23 * mm, after = 25 * mm, e = after - r;
  const Arc a = inside_arc(2 * r, before, after, true);
  EXPECT_NEAR(r * (std::cos(a.entry) - std::cos(a.exit)), (after * after - before * before) / (2 * e), 1e-12);
}

TEST(Cutting, RefusesOneBadValuePerBound) {
  const Milling good = side(16 * mm, 5, 0.07 * mm, 3.9 * mm, 18.5 * mm, 38 * deg);
  ASSERT_TRUE(solve(good).ok());
  const auto refused = [&](auto&& spoil) {
    Milling m = good;
    spoil(m);
    EXPECT_FALSE(solve(m).ok());
  };
  refused([](Milling& m) { m.chip.kc11 = 0; });
  refused([](Milling& m) { m.chip.kc11 = std::nan(""); });
  refused([](Milling& m) { m.chip.mc = 1; });
  refused([](Milling& m) { m.chip.wear = 0.9; });
  refused([](Milling& m) { m.chip.radial = -0.1; });
  refused([](Milling& m) { m.diameter = 0; });
  refused([](Milling& m) { m.tooth_angles.clear(); });
  refused([](Milling& m) { m.tooth_angles[1] = m.tooth_angles[0]; });
  refused([](Milling& m) { m.helix = 1.55; });
  refused([](Milling& m) { m.rake = std::nan(""); });
  refused([](Milling& m) { m.rake = -1.3; });
  refused([](Milling& m) { m.approach = 0; });
  refused([](Milling& m) { m.feed_per_tooth = -1e-6; });
  refused([](Milling& m) { m.depth = -1e-6; });
  refused([](Milling& m) { m.arc.exit = 4; });
  refused([](Milling& m) { m.turns = -1; });
  refused([](Milling& m) { m.steps = 3; });
}

TEST(Holes, DrillMakersFormulas) {
  const std::string s = "drill maker's formulas for cast iron, read";
  const struct {
    double d, f, n, k, m, t, p;
  } rows[] = {{10, 0.2, 800, 1.00, 3.998, 1451, 0.328},
              {10, 0.2, 800, 1.39, 5.557, 2017, 0.4565},
              {10, 0.2, 800, 1.88, 7.516, 2728, 0.617},
              {20, 0.3, 400, 1.39, 31.59, 5695, 1.297}};
  for (const auto& r : rows) {
    // A metal so soft that the maker's formula is the larger of the two.
    const Drill d{{1e6, 0, 1, 0.4}, r.k, r.d * mm, 0, r.f * mm, 118 * deg, 2, r.n / 60};
    const AxialLoad a = drill_load(d).value();
    published("cutting", "drill torque, N·m", s, How::read, r.m, a.torque_high, 1e-3 * r.m);
    published("cutting", "drill thrust, N", s, How::read, r.t, a.thrust_high, 1e-3 * r.t);
    published("cutting", "drill power, kW (its own formula lies within 2.5 %)", s, How::read, r.p, a.power / 1000,
              0.025 * r.p);
  }
}

TEST(Holes, DrillMakersPowerFormula) {
  // P = K D^2 n (0.647 + 17.29 f) 1e-6 kW is another fit of the same maker: his torque times the speed lies within 2.5
  // %.
  const struct {
    double d, f, n, k, p;
  } rows[] = {{10, 0.2, 800, 1.00, 0.328},
              {10, 0.2, 800, 1.39, 0.4565},
              {10, 0.2, 800, 1.88, 0.617},
              {20, 0.3, 400, 1.39, 1.297}};
  for (const auto& r : rows) {
    const double own = r.k * r.d * r.d * r.n * (0.647 + 17.29 * r.f) * 1e-6;
    EXPECT_NEAR(own, r.p, 1.5e-3 * r.p);
    const AxialLoad a = drill_load({{1e6, 0, 1, 0.4}, r.k, r.d * mm, 0, r.f * mm, 118 * deg, 2, r.n / 60}).value();
    EXPECT_NEAR(a.power / 1000, own, 0.025 * own);
  }
}

TEST(Holes, TappingTorque) {
  const struct {
    double d, p, drill, straight, spiral;
  } rows[] = {{8, 1.25, 6.8, 2.712, 2.278}, {10, 1.5, 8.5, 5.298, 4.450}, {12, 1.75, 10.2, 9.154, 7.690}};
  for (const auto& r : rows) {
    Tap t{0, 2900 * N_mm2, 1.25, 1, r.d * mm, r.p * mm, r.drill * mm, 8};
    published("cutting", "tapping torque, straight flutes, N·m", "tap maker's formula, GG-25 193 HB, read", How::read,
              r.straight, tap_load(t).value().torque_high, 1e-3 * r.straight);
    t.shape = 1.05;
    published("cutting", "tapping torque, spiral flutes, N·m", "tap maker's formula, GG-25 193 HB, read", How::read,
              r.spiral, tap_load(t).value().torque_high, 1e-3 * r.spiral);
  }
  const Tap simple{1250 * N_mm2, 0, 1.25, 1, 8 * mm, 1.25 * mm, 6.8 * mm, 8};
  published("cutting", "tapping torque by pitch squared, M8, N·m", "another maker's formula, kc 1250, read", How::read,
            1.95, tap_load(simple).value().torque_high, 0.005);
}

TEST(Holes, RefuseBadValues) {
  const Drill d{{1e9, 0.2, 1, 0.4}, 1, 0.01, 0, 2e-4, 2, 2, 10};
  ASSERT_TRUE(drill_load(d).ok());
  for (const Drill& x :
       {Drill{{0, 0.2, 1, 0.4}, 1, 0.01, 0, 2e-4, 2, 2, 10}, Drill{{1e9, 0.2, 1, 0.4}, 1, 0, 0, 2e-4, 2, 2, 10},
        Drill{{1e9, 0.2, 1, 0.4}, 1, 0.01, 0.01, 2e-4, 2, 2, 10}, Drill{{1e9, 0.2, 1, 0.4}, 1, 0.01, 0, -1, 2, 2, 10},
        Drill{{1e9, 0.2, 1, 0.4}, 1, 0.01, 0, 2e-4, 0, 2, 10}, Drill{{1e9, 0.2, 1, 0.4}, 1, 0.01, 0, 2e-4, 2, 0, 10},
        Drill{{1e9, 0.2, 1, 0.4}, -1, 0.01, 0, 2e-4, 2, 2, 10}})
    EXPECT_FALSE(drill_load(x).ok());
  EXPECT_FALSE(tap_load({0, 0, 1.25, 1, 0.008, 0.00125, 0.0068, 8}).ok());
  EXPECT_FALSE(tap_load({1e9, 0, 1.25, 1, 0.008, 0.00125, 0.008, 8}).ok());
  EXPECT_FALSE(tap_load({1e9, 0, 1.25, 1, 0.008, 0.00125, 0.0068, -8}).ok());
  EXPECT_FALSE(drill_load({{1e9, 0.2, 1, 0.4}, 1, 0.01, 0, 2e-4, 2, 2, std::nan("")}).ok());
  EXPECT_FALSE(opening_load({{1e9, 0.2, 1, 0.4}, 0.05, 0.049, 1e-4, 1, 1.5, 0, -1}).ok());
  EXPECT_FALSE(opening_load({{1e9, 0.2, 1, 0.4}, 0.05, 0.049, 1e-4, 1, 1.5, -1e-4, 10}).ok());
  EXPECT_FALSE(opening_load({{1e9, 0.2, 1, 0.4}, 0.05, 0.051, 1e-4, 1}).ok());
  EXPECT_EQ(opening_load({{1e9, 0.2, 1, 0.4}, 0.05, 0.05, 1e-4, 1}).value().torque_high, 0);
}

TEST(ToolBeam, CantileverInClosedForm) {
  const double L = 0.05, d = 0.016, E = 580e9, nu = 0.22, I = pi / 64 * std::pow(d, 4), A = pi / 4 * d * d;
  const double G = E / (2 * (1 + nu)), k = 6 * (1 + nu) / (7 + 6 * nu);
  ToolBeam b;
  b.stretches = {{0.02, d, E, nu}, {0.03, d, E, nu}};
  published("cutting", "tip of a round cantilever with shear, µm/N", "L^3/(3 E I) + L/(k G A)", How::exact,
            1e6 * (L * L * L / (3 * E * I) + L / (k * G * A)), 1e6 * compliance(b, 0, 0), 1e-9);
  EXPECT_NEAR(compliance(b, 0.01, 0.03), compliance(b, 0.03, 0.01), 1e-18);
  b.spindle = 80e6;
  b.tilt = 1e6;
  published("cutting", "what spindle and tilt add, µm/N", "1/k + L^2/c", How::exact, 1e6 * (1 / 80e6 + L * L / 1e6),
            1e6 * (compliance(b, 0, 0) - (L * L * L / (3 * E * I) + L / (k * G * A))), 1e-9);
}

TEST(ToolBeam, WallErrorGrowsWithStockAndVanishesWithStiffness) {
  const Milling thin = side(16 * mm, 6, 0.06 * mm, 0.15 * mm, 36 * mm, 38 * deg),
                thick = side(16 * mm, 6, 0.06 * mm, 0.35 * mm, 36 * mm, 38 * deg);
  const auto give = [](double, double) { return 1e-8; };
  const Wall a = wall_error(thin, true, give), b = wall_error(thick, true, give);
  EXPECT_GT(a.most, 0) << "down milling pushes the tool off and leaves metal";
  EXPECT_GT(b.most, a.most);
  EXPECT_EQ(wall_error(thin, true, [](double, double) { return 0.0; }).most, 0);
}

TEST(Finish, ByGeometry) {
  published("cutting", "Ra of feed 0.1 on radius 0.4, µm", "f^2/(32 r)", How::exact, 0.78125,
            1e6 * feed_roughness(0.1 * mm, 0.4 * mm), 1e-9);
  EXPECT_TRUE(std::isnan(feed_roughness(0.9 * mm, 0.4 * mm)));
  EXPECT_TRUE(std::isnan(flank_roughness(0.1, 0)));
  EXPECT_LT(flank_roughness(0.06 * mm, 16 * mm), 0.05e-6);
}

}  // namespace
}  // namespace fettle::cutting
