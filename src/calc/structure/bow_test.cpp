#include "calc/structure/bow.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"
#include "published.h"

namespace fettle::structure {
namespace {

using fettle::test::How;
using fettle::test::published;

Inputs rectangle(double length, double width, double thickness, int columns, int rows, Edge edge) {
  Inputs in;
  in.plate.length = length, in.plate.width = width, in.plate.thickness = thickness;
  in.plate.metal = {200e9, 0.3, 8000, 12e-6};
  in.columns = columns, in.rows = rows;
  in.edges = {edge, edge, edge, edge};
  in.in_plane = false;
  in.modes = 0;
  in.want_error = false;
  return in;
}
double stiffness(const Plate& p) { return p.metal.modulus * std::pow(p.thickness, 3) / 12 / (1 - 0.09); }
double middle(const BowResult& r, const Inputs& in) {
  return r.up[static_cast<std::size_t>(in.rows / 2 * (in.columns + 1) + in.columns / 2)];
}

// c1 = w D / (q a^4), uniform pressure, a the shorter side
void under_pressure(const char* what, const char* source, How how, bool thin, double thickness, double aspect,
                    Edge edge, double expected, double share) {
  BowInputs in;
  in.plate = rectangle(aspect, 1, thickness, static_cast<int>(48 * aspect), 48, edge);
  in.plate.shear_flexible = !thin;
  in.pressure = 1e4;
  const BowResult r = bow(in);
  ASSERT_TRUE(r.ok) << r.why;
  published("structure", std::string(what) + ", w D/(q a4)", source, how, expected,
            -middle(r, in.plate) * stiffness(in.plate.plate) / in.pressure, share * expected);
}

TEST(Rest, ThinPlatesUnderPressure) {
  const char* book = "Timoshenko & Woinowsky-Krieger 1959, tables 8 and 35, as recomputed (Navier, Ritz)";
  under_pressure("supported square", book, How::computed, true, 0.01, 1, Edge::supported, 0.0040624, 0.002);
  under_pressure("supported 1.5 : 1", book, How::computed, true, 0.01, 1.5, Edge::supported, 0.0077240, 0.002);
  under_pressure("supported 2 : 1", book, How::computed, true, 0.01, 2, Edge::supported, 0.0101287, 0.002);
  under_pressure("clamped square", book, How::computed, true, 0.01, 1, Edge::clamped, 0.0012653, 0.002);
  under_pressure("clamped 1.5 : 1", book, How::computed, true, 0.01, 1.5, Edge::clamped, 0.0021965, 0.002);
  under_pressure("clamped 2 : 1", book, How::computed, true, 0.01, 2, Edge::clamped, 0.0025330, 0.002);
  under_pressure("supported square, printed", "Timoshenko & Woinowsky-Krieger 1959, table 8, from memory",
                 How::from_memory, true, 0.01, 1, Edge::supported, 0.00406, 0.003);
  under_pressure("clamped square, printed", "Timoshenko & Woinowsky-Krieger 1959, table 35, from memory",
                 How::from_memory, true, 0.01, 1, Edge::clamped, 0.00126, 0.006);
}

TEST(Rest, ThickPlatesUnderPressure) {
  const char* source =
      "Mindlin plate, shear factor 5/6, nu 0.3: usual benchmark values, recomputed in closed form and by Ritz";
  under_pressure("supported square, h/a 0.1", source, How::computed, false, 0.1, 1, Edge::supported, 0.0042728, 0.003);
  under_pressure("supported square, h/a 0.2", source, How::computed, false, 0.2, 1, Edge::supported, 0.0049043, 0.003);
  under_pressure("clamped square, h/a 0.1", source, How::computed, false, 0.1, 1, Edge::clamped, 0.0015046, 0.003);
  under_pressure("clamped square, h/a 0.2", source, How::computed, false, 0.2, 1, Edge::clamped, 0.0021722, 0.003);
}

// c2 = w D / (P a^2): give of the middle node of a thin plate
TEST(Rest, ThinPlatesUnderAForceInTheMiddle) {
  for (const auto& [edge, expected, share] :
       {std::tuple{Edge::supported, 0.0116008, 0.003}, {Edge::clamped, 0.005605, 0.006}}) {
    Inputs in = rectangle(1, 1, 0.01, 48, 48, edge);
    in.shear_flexible = false;
    in.want_give = true;
    const Result r = solve(in);
    ASSERT_TRUE(r.ok) << r.why;
    published("structure",
              edge == Edge::clamped ? "clamped square, middle, w D/(P a2)" : "supported square, middle, w D/(P a2)",
              "Timoshenko & Woinowsky-Krieger 1959, tables 23 and 37, as recomputed (Navier, Ritz)", How::computed,
              expected, r.give[24 * 49 + 24] * stiffness(in.plate), share * expected);
  }
}

// A top warmer than the bottom bends a free plate to a ball cap: alpha dT L^2 / (8 t) over each span.
TEST(Rest, AFreePlateBowsAsTheBallCap) {
  BowInputs in;
  in.plate = test::pallet();
  in.plate.parts.clear();
  for (Anchor& a : in.plate.anchors) a.up = a.side = 1e3;  // holds, and hinders nothing
  in.top_warmer = 3;
  const BowResult r = bow(in);
  ASSERT_TRUE(r.ok) << r.why;
  const double alpha = in.plate.plate.metal.expansion, t = in.plate.plate.thickness;
  const auto at = [&](int i, int j) { return r.up[static_cast<std::size_t>(j * 29 + i)]; };
  published("structure", "bow along 330 mm of a free plate, 3 K, m", "constant curvature, alpha dT/t: closed form",
            How::exact, free_bow(alpha, 3, 0.33, t), at(14, 12) - (at(0, 12) + at(28, 12)) / 2, 1e-9);
  published("structure", "bow along 250 mm of a free plate, 3 K, m", "constant curvature, alpha dT/t: closed form",
            How::exact, free_bow(alpha, 3, 0.25, t), at(14, 12) - (at(14, 0) + at(14, 24)) / 2, 1e-9);
  EXPECT_LT(r.residual, 1e-5);
}

TEST(Rest, AnchorsHoldABowBack) {
  BowInputs in;
  in.plate = test::pallet();
  in.plate.anchors.push_back({0, 0, 0.04, 150e6, 100e6});
  in.top_warmer = 3;
  const BowResult stiff = bow(in);
  for (Anchor& a : in.plate.anchors) a.up = a.side = 1e3;
  const BowResult loose = bow(in);
  ASSERT_TRUE(stiff.ok && loose.ok);
  EXPECT_LT(stiff.highest - stiff.lowest, 0.9 * (loose.highest - loose.lowest));
}

TEST(Rest, AWarmPlateGrowsByItsExpansion) {
  BowInputs in;
  in.plate = test::pallet();
  in.plate.parts.clear();
  for (Anchor& a : in.plate.anchors) a.up = a.side = 1e3;
  in.plate.points = {{{-0.1, 0, 0}, -1}, {{0.1, 0, 0}, -1}};
  in.warmer = 10;
  const BowResult r = bow(in);
  ASSERT_TRUE(r.ok) << r.why;
  published("structure", "growth of 200 mm of 5083 by 10 K, m", "alpha dT L: closed form", How::exact,
            23.8e-6 * 10 * 0.2, r.points[1].x - r.points[0].x, 1e-9);
}

// Iron bonded to aluminium: with each layer a strip of a two-metal beam, bent by a warmer day.
TEST(Rest, TwoMetalsBendAsAThermostat) {
  BowInputs in;
  in.plate = rectangle(0.3, 0.02, 0.004, 60, 4, Edge::free);
  in.plate.in_plane = true;
  in.plate.bonded = true;
  in.plate.plate.metal = {70e9, 0, 2700, 23e-6};
  in.plate.anchors = {{-0.1, 0, 0.01, 10, 10}, {0.1, 0, 0.01, 10, 10}, {0, 0.005, 0.01, 10, 10}};
  Part iron;
  // its idle rim hangs over: the closed form knows no ends
  iron.size_x = 0.304, iron.size_y = 0.024, iron.thickness = 0.004;
  iron.metal = {140e9, 0, 7200, 11e-6};
  in.plate.parts = {iron};
  in.warmer = 10;
  const BowResult r = bow(in);
  ASSERT_TRUE(r.ok) << r.why;
  // curvature 6 da dT (1 + m)^2 / (h (3 (1 + m)^2 + (1 + m n)(m^2 + 1/(m n)))), m = 1, n = 2 or its inverse: the same
  const double m = 1, n = 0.5, h = 0.008;
  const double k = 6 * 12e-6 * 10 * 4 / (h * (3 * 4 + (1 + m * n) * (m * m + 1 / (m * n))));
  const double sag = std::fabs(r.up[2 * 61 + 30] - (r.up[2 * 61] + r.up[2 * 61 + 60]) / 2);
  published("structure", "bow of aluminium and iron bonded, 300 mm, 10 K, m",
            "Timoshenko 1925, bi-metal thermostats (closed form, from memory)", How::exact, k * 0.09 / 8, sag,
            0.002 * k * 0.09 / 8);
}

TEST(Rest, WeightGoesIntoTheAnchors) {
  BowInputs in;
  in.plate = test::pallet();
  in.plate.plate.metal.modulus *= 1e4;
  in.gravity = 9.80665;
  in.plate.points = {{{0, 0, 0}, -1}};
  const BowResult r = bow(in);
  ASSERT_TRUE(r.ok) << r.why;
  const double mass = 0.33 * 0.25 * 0.025 * 2660 + 8;
  published("structure", "sink of a rigid loaded plate on four anchors, m", "weight / (4 k): closed form", How::exact,
            -mass * 9.80665 / 600e6, r.points[0].z, 1e-3 * mass * 9.80665 / 600e6);
}

// A narrow strip on two knife edges: 5 q L^4/(384 EI) of its own weight, P (8 L^3 - 4 L c^2 + c^3)/(384 EI) of a part
// that lies over the length c in its middle, and q L^2/8, P (2 L - c)/8 over the shear stiffness.
TEST(Rest, AStripSagsUnderItsWeightAndAPartAsABeam) {
  constexpr double L = 0.4, b = 0.02, h = 0.01, c = 0.1, g = 9.80665;
  BowInputs in;
  in.plate = rectangle(L, b, h, 80, 4, Edge::free);
  in.plate.edges = {Edge::supported, Edge::supported, Edge::free, Edge::free};
  in.plate.plate.metal.poisson = 0;
  in.gravity = g;
  const Metal& m = in.plate.plate.metal;
  const double EI = m.modulus * b * h * h * h / 12, GA = 5.0 / 6 * m.modulus / 2 * b * h, q = m.density * b * h * g;
  const BowResult alone = bow(in);
  ASSERT_TRUE(alone.ok) << alone.why;
  const double own = 5 * q * L * L * L * L / (384 * EI) + q * L * L / (8 * GA);
  published("structure", "sag of a strip 400 mm long under its weight, m", "beam on two edges with shear: closed form",
            How::exact, own, -middle(alone, in.plate), 1e-3 * own);
  Part part;
  part.size_x = c, part.size_y = b, part.mass = 3;
  in.plate.parts = {part};
  const BowResult loaded = bow(in);
  ASSERT_TRUE(loaded.ok) << loaded.why;
  const double P = part.mass * g;
  const double more = P * (8 * L * L * L - 4 * L * c * c + c * c * c) / (384 * EI) + P * (2 * L - c) / (8 * GA);
  published("structure", "sag of that strip under a part of 3 kg over 100 mm besides, m",
            "beam on two edges, load over a length: closed form", How::exact, own + more, -middle(loaded, in.plate),
            3e-3 * (own + more));
}

TEST(Rest, BadInputsAreRefused) {
  const auto refused = [](auto change) {
    BowInputs in;
    in.plate = test::pallet();
    change(in);
    const BowResult r = bow(in);
    EXPECT_FALSE(r.ok);
    EXPECT_FALSE(r.why.empty());
  };
  refused([](BowInputs& in) { in.top_warmer = std::nan(""); });
  refused([](BowInputs& in) { in.warmer = INFINITY; });
  refused([](BowInputs& in) { in.gravity = std::nan(""); });
  refused([](BowInputs& in) { in.pressure = std::nan(""); });
  refused([](BowInputs& in) { in.plate.anchors.clear(); });
  refused([](BowInputs& in) { in.plate.plate.thickness = -1; });
  refused([](BowInputs& in) { in.plate.points = {{{9, 9, 0}, -1}}; });
}

}  // namespace
}  // namespace fettle::structure
