#include "calc/chatter/tool.h"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <limits>

#include "published.h"

namespace {

using namespace fettle::chatter;
using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846, rigid = std::numeric_limits<double>::infinity();

Stretch rod(double length, double diameter) { return {length, diameter, 600e9, 0.22, 14500}; }

ToolInputs cantilever(double length, double diameter) {
  ToolInputs in;
  in.stretches = {rod(length, diameter)};
  in.spindle = in.tilt = rigid;
  return in;
}

TEST(ToolBeam, ThinCantileverIsEuler) {
  const ToolInputs in = cantilever(0.5, 0.002);
  const ToolResult r = tool_response(in);
  ASSERT_TRUE(r.ok) << r.why;
  const double i = pi * std::pow(0.002, 4) / 64, a = pi * 1e-6;
  published("chatter", "3 E I/L^3 times give of a thin cantilever", "beam theory", How::exact, 1,
            r.give * 3 * 600e9 * i / 0.125, 1e-4);
  const double parameter = 2 * pi * r.frequencies[0] * 0.25 * std::sqrt(14500 * a / (600e9 * i));
  published("chatter", "first frequency parameter of a thin cantilever", "beam theory, root of cos x cosh x = -1",
            How::exact, 3.51602, parameter, 2e-4);
  const double second = 2 * pi * r.frequencies[1] * 0.25 * std::sqrt(14500 * a / (600e9 * i));
  published("chatter", "second frequency parameter of a thin cantilever", "beam theory, root of cos x cosh x = -1",
            How::exact, 22.0345, second, 2e-2);
}

TEST(ToolBeam, ThickCantileverGivesByShearToo) {
  const ToolResult r = tool_response(cantilever(0.04, 0.02));
  const double i = pi * std::pow(0.02, 4) / 64, a = pi * 1e-4, g = 600e9 / 2.44, k = 6 * 1.22 / (7 + 6 * 0.22);
  published("chatter", "give of a thick cantilever, nm/N", "L^3/(3 E I) + L/(k G A)", How::exact,
            1e9 * (std::pow(0.04, 3) / (3 * 600e9 * i) + 0.04 / (k * g * a)), 1e9 * r.give, 1e-8);
}

TEST(ToolBeam, HingedTimoshenkoBeamHasItsClosedForm) {
  ToolInputs in = cantilever(0.1, 0.02);
  in.tip_spring = rigid, in.tilt = 0;
  in.elements = 40, in.modes = 3;
  const ToolResult coarse = tool_response(in);
  in.elements = 80;
  const ToolResult fine = tool_response(in);
  ASSERT_TRUE(coarse.ok && fine.ok) << fine.why;
  const double i = pi * std::pow(0.02, 4) / 64, a = pi * 1e-4, g = 600e9 / 2.44, k = 6 * 1.22 / (7 + 6 * 0.22),
               rho = 14500, e = 600e9;
  for (int n = 1; n <= 3; ++n) {
    const double w = n * pi / 0.1;
    // rho^2 I/(k G) x^2 - (rho A + rho I (1 + E/(k G)) w^2) x + E I w^4 = 0 in x = omega^2
    const double aa = rho * rho * i / (k * g), bb = rho * a + rho * i * (1 + e / (k * g)) * w * w,
                 cc = e * i * std::pow(w, 4);
    const double x = 2 * cc / (bb + std::sqrt(bb * bb - 4 * aa * cc));
    // The elements settle with the square of their length: both meshes together leave far less.
    const auto at = static_cast<std::size_t>(n - 1);
    const double settled = (4 * fine.frequencies[at] - coarse.frequencies[at]) / 3, exact = std::sqrt(x) / (2 * pi);
    published("chatter", "mode " + std::to_string(n) + " of a hinged Timoshenko beam, Hz",
              "closed form: sine shapes in Timoshenko's equations", How::exact, exact, settled, 2e-6 * exact);
    EXPECT_NEAR(fine.frequencies[at], exact, 2e-4 * exact * n);
  }
}

TEST(ToolBeam, SteppedToolSettlesAndSpringsAddUp) {
  ToolInputs in;
  in.stretches = {rod(0.03, 0.0128), rod(0.02, 0.016), {0.06, 0.044, 205e9, 0.3, 7850}};
  in.spindle = 80e6, in.tilt = 1e6, in.nose_mass = 8;
  const ToolResult coarse = tool_response(in);
  in.elements = 64;
  const ToolResult fine = tool_response(in);
  ASSERT_TRUE(coarse.ok && fine.ok);
  for (std::size_t k = 0; k < 3; ++k) EXPECT_NEAR(coarse.frequencies[k] / fine.frequencies[k], 1, 3e-4) << k;
  EXPECT_NEAR(coarse.give / fine.give, 1, 1e-9);
  in.spindle = in.tilt = rigid;
  const double held = tool_response(in).give;
  published("chatter", "give on springs less give on a rigid spindle, nm/N", "1/k + L^2/k_tilt", How::exact,
            1e9 * (1 / 80e6 + 0.11 * 0.11 / 1e6), 1e9 * (fine.give - held), 1e-6);
  const auto c = fettle::maths::static_compliance(coarse.tip);
  EXPECT_NEAR(c[0], coarse.give, 1e-12 * 1e-3);
  EXPECT_EQ(c[8], 0);
}

TEST(ToolBeam, MassOnASpring) {
  ToolInputs in = cantilever(0.001, 0.02);
  in.spindle = 1e6, in.nose_mass = 4;
  const ToolResult r = tool_response(in);
  published("chatter", "stub on a spring, Hz", "sqrt(k/m)", How::exact, std::sqrt(1e6 / (4 + r.mass)) / (2 * pi),
            r.frequencies[0], 1e-3);
}

TEST(ToolBeam, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    ToolInputs in = cantilever(0.1, 0.02);
    change(in);
    const ToolResult r = tool_response(in);
    EXPECT_FALSE(r.ok);
    EXPECT_FALSE(r.why.empty());
  };
  no([](ToolInputs& in) { in.stretches.clear(); });
  no([](ToolInputs& in) { in.stretches[0].length = 0; });
  no([](ToolInputs& in) { in.stretches[0].diameter = -1; });
  no([](ToolInputs& in) { in.stretches[0].modulus = NAN; });
  no([](ToolInputs& in) { in.stretches[0].density = 0; });
  no([](ToolInputs& in) { in.stretches[0].poisson = 0.5; });
  no([](ToolInputs& in) { in.spindle = 0; });
  no([](ToolInputs& in) { in.tilt = 0; });
  no([](ToolInputs& in) { in.damping = 0; });
  no([](ToolInputs& in) { in.damping = 1; });
  no([](ToolInputs& in) { in.elements = 0; });
  no([](ToolInputs& in) { in.modes = 0; });
}

TapTest made(const std::vector<FittedMode>& modes, double residual) {
  TapTest t;
  for (double f = 200; f <= 2500; f += 4) {
    std::complex<double> h = residual;
    for (const FittedMode& m : modes) {
      const double r = f / m.frequency;
      h += 1 / m.stiffness / std::complex<double>(1 - r * r, 2 * m.damping * r);
    }
    t.frequency.push_back(f), t.real.push_back(h.real()), t.imaginary.push_back(h.imag());
  }
  return t;
}

TEST(TapTest, FindsTheModesThatMadeIt) {
  const std::vector<FittedMode> truth{{640, 0.035, 40e6}, {1010, 0.02, 25e6}, {1820, 0.03, 60e6}};
  const FitResult r = fit_tap_test(made(truth, 3e-9));
  ASSERT_TRUE(r.ok) << r.why;
  ASSERT_EQ(r.modes.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    published("chatter", "frequency of a made tap test, Hz", "constructed: the modes that made it", How::exact,
              truth[i].frequency, r.modes[i].frequency, 1e-3);
    published("chatter", "damping of a made tap test", "constructed: the modes that made it", How::exact,
              truth[i].damping, r.modes[i].damping, 1e-6);
    published("chatter", "stiffness of a made tap test, N/um", "constructed: the modes that made it", How::exact,
              truth[i].stiffness * 1e-6, r.modes[i].stiffness * 1e-6, 1e-3);
  }
  EXPECT_NEAR(r.residual, 3e-9, 1e-13);
  EXPECT_LT(r.left, 1e-4);
}

TEST(TapTest, RefusesWhatIsNoResponse) {
  TapTest t = made({{640, 0.035, 40e6}}, 0);
  EXPECT_TRUE(fit_tap_test(t).ok);
  TapTest up = t;
  for (double& x : up.imaginary) x = -x;
  EXPECT_FALSE(fit_tap_test(up).ok);
  TapTest back = t;
  std::swap(back.frequency[3], back.frequency[4]);
  EXPECT_FALSE(fit_tap_test(back).ok);
  TapTest few = t;
  few.frequency.resize(7), few.real.resize(7), few.imaginary.resize(7);
  EXPECT_FALSE(fit_tap_test(few).ok);
  TapTest odd = t;
  odd.real.pop_back();
  EXPECT_FALSE(fit_tap_test(odd).ok);
  TapTest nan = t;
  nan.real[5] = NAN;
  EXPECT_FALSE(fit_tap_test(nan).ok);
}

}  // namespace
