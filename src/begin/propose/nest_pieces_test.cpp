// Outlines with hollows: no-fit regions, rows and pairs against overlap seen point by point, and a part of two legs.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/nest_fit.h"

namespace fettle::begin {
namespace {

using maths::Point2;
using maths::Polygon;

Polygon block(double x, double y, double w, double h) { return {{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}; }
/// Legs of an angle, and a channel open to +X; the origin lies in the metal of neither's middle.
Pieces angle_of(double wide, double high, double leg) {
  return {block(-0.02, -0.03, wide, leg), block(-0.02, -0.03, leg, high)};
}
Pieces channel_of(double wide, double high, double leg) {
  return {block(0.01, -0.04, wide, leg), block(0.01, -0.04, leg, high), block(0.01, -0.04 + high - leg, wide, leg)};
}

/// By the crossings of a ray with every piece's rim: not what inside() does.
bool on_metal(const Pieces& p, Point2 at) {
  return std::any_of(p.begin(), p.end(), [&](const Polygon& q) {
    bool in = false;
    for (std::size_t i = 0, j = q.size() - 1; i < q.size(); j = i++)
      if ((q[i].y > at.y) != (q[j].y > at.y) && at.x < (q[j].x - q[i].x) * (at.y - q[i].y) / (q[j].y - q[i].y) + q[i].x)
        in = !in;
    return in;
  });
}
/// Some point of a grid lies on both, the second one moved.
bool overlap(const Pieces& a, const Pieces& b, Point2 move, double step = 7e-4) {
  Point2 lo = a[0][0], hi = lo;
  for (const Polygon& p : a)
    for (const Point2 q : p)
      lo = {std::min(lo.x, q.x), std::min(lo.y, q.y)}, hi = {std::max(hi.x, q.x), std::max(hi.y, q.y)};
  for (double x = lo.x + 0.37 * step; x < hi.x; x += step)
    for (double y = lo.y + 0.61 * step; y < hi.y; y += step)
      if (on_metal(a, {x, y}) && on_metal(b, {x - move.x, y - move.y})) return true;
  return false;
}
TEST(NestPieces, NoFitRegionSaysWhatAGridOfPointsSays) {
  std::mt19937_64 draw(5);
  const auto one = [&] { return static_cast<double>(draw() >> 11) * 0x1p-53; };
  int in = 0, out = 0, near = 0;
  for (int round = 0; round < 12; ++round) {
    const Pieces a = round % 2 == 0 ? angle_of(0.05 + 0.05 * one(), 0.06, 0.012) : channel_of(0.05, 0.08, 0.012),
                 b = turned(round % 3 == 0 ? channel_of(0.04, 0.07, 0.01) : angle_of(0.06, 0.05, 0.01), one() * 6.3);
    const Pieces no = no_fit(a, b);
    for (int i = 0; i < 12; ++i) {
      const Point2 at{0.2 * one() - 0.1, 0.2 * one() - 0.1};
      // Within half a millimetre of touching a grid may see either.
      const bool deep = inside(no, at, 5e-4), shallow = inside(no_fit(grown(a, 5e-4), b), at, 0);
      if (deep != shallow) {
        ++near;
        continue;
      }
      EXPECT_EQ(overlap(a, b, at, 2.1e-4), deep) << round << ": " << at.x << " " << at.y;
      ++(deep ? in : out);
    }
  }
  EXPECT_GT(in, 25);
  EXPECT_GT(out, 25);
  EXPECT_LT(near, 20);
}

TEST(NestPieces, RowsOfConcavePartsKeepEveryPairApart) {
  for (const bool staggered : {false, true})
    for (const Pieces& raw : {angle_of(0.1, 0.08, 0.02), channel_of(0.06, 0.09, 0.015)}) {
      const Pieces way = grown(raw, 0.003);
      const Rows r = closest_rows(no_fit(way, raw), 1e-3, staggered);
      const auto clash = [&](double across) {
        for (int j = 0; j <= 4; ++j)
          for (int i = -5; i <= 5; ++i) {
            const double x = i * r.along + (j % 2 != 0 ? r.shift : 0);
            if ((i != 0 || j != 0) && overlap(way, raw, {x, j * across})) return true;
          }
        return false;
      };
      EXPECT_FALSE(clash(r.across)) << staggered;
      EXPECT_TRUE(clash(r.across - 2e-3)) << staggered;
    }
}

TEST(NestPieces, APartTurnedHalfRoundReachesIntoTheHollowOfTheFirst) {
  struct Case {
    Pieces raw;
    double best;  ///< m2, of the box round both, by hand: legs and gaps added up
  };
  // Two angles 100 x 80 of 20 lie at one height, the second one off by a leg and a gap along X. Two channels 60 x 90 of
  // 15: a leg of the second one lies in the hollow of the first, a back and a gap off along X, a leg and a gap across.
  const double gap = 0.003;
  for (const auto& [raw, best] : {Case{angle_of(0.1, 0.08, 0.02), (0.12 + gap) * 0.08},
                                  Case{channel_of(0.06, 0.09, 0.015), (0.075 + gap) * (0.105 + gap)}}) {
    const Pieces way = grown(raw, gap);
    const auto found = interlocked(way, raw, 1e-3, 3);
    ASSERT_FALSE(found.empty());
    const Point2 d = found.front();
    const Pieces second = moved(turned(raw, std::numbers::pi), d);
    EXPECT_FALSE(overlap(way, second, {}));
    EXPECT_FALSE(overlap(grown(second, gap), raw, {}));
    Point2 lo = raw[0][0], hi = lo;
    for (const Pieces& p : {raw, second})
      for (const Polygon& q : p)
        for (const Point2 x : q)
          lo = {std::min(lo.x, x.x), std::min(lo.y, x.y)}, hi = {std::max(hi.x, x.x), std::max(hi.y, x.y)};
    const double area = (hi.x - lo.x) * (hi.y - lo.y);
    EXPECT_GE(area, best - 1e-9);        // cannot be closer
    EXPECT_LE(area, best + 2 * 1.2e-4);  // whole millimetres either way, and the corners that the gap rounds
    // Whole rows of such pairs: nobody in anybody's way.
    const Rows r = closest_rows(no_fit_of_pairs(way, raw, d), 1e-3, false);
    for (int j = -2; j <= 2; ++j)
      for (int i = -2; i <= 2; ++i) {
        if (i == 0 && j == 0) continue;
        const Point2 at{i * r.along, j * r.across};
        for (const Pieces& p : {raw, second})
          for (const Pieces& q : {raw, second}) EXPECT_FALSE(overlap(grown(p, gap), q, at)) << i << " " << j;
      }
    EXPECT_LT(0.5 * r.along * r.across,
              closest_rows(no_fit(way, raw), 1e-3, false).along * closest_rows(no_fit(way, raw), 1e-3, false).across);
    EXPECT_TRUE(overlap(raw, moved(second, {-6e-3, 0}), {}) || overlap(raw, moved(second, {6e-3, 0}), {}))
        << "six millimetres nearer they would touch";
  }
}

TEST(NestPieces, ADiscLiesOnARegionAcrossItsSeams) {
  const Pieces p = angle_of(0.1, 0.08, 0.02);
  EXPECT_TRUE(carries(p, {-0.01, -0.02}, 0.009));   // in the corner, where both pieces lie
  EXPECT_TRUE(carries(p, {-0.01, -0.009}, 0.009));  // over the seam
  EXPECT_FALSE(carries(p, {0.01, 0.01}, 0.006));    // in the hollow
  EXPECT_FALSE(carries(p, {-0.01, -0.025}, 0.009));
}

/// Sees what the reader sees: the share of the box that lies under metal, by upright rays through the mesh.
double share_of_box(const solid::Model& m, const Pieces* pieces) {
  const frame::Vec3 lo = m.box.lo, hi = m.box.hi;
  int on = 0, all = 0;
  for (double x = lo.x + 0.7e-3; x < hi.x; x += 2e-3)
    for (double y = lo.y + 0.7e-3; y < hi.y; y += 2e-3) {
      ++all;
      bool metal = pieces != nullptr && on_metal(*pieces, {x, y});
      if (pieces == nullptr)
        for (const auto& t : m.mesh.triangles) {
          Polygon flat;
          for (const int k : t)
            flat.push_back(
                {m.mesh.points[static_cast<std::size_t>(k)].x, m.mesh.points[static_cast<std::size_t>(k)].y});
          metal = metal || on_metal({flat}, {x, y});
        }
      on += metal ? 1 : 0;
    }
  return static_cast<double>(on) / all;
}

TEST(NestPieces, APartOfTwoLegsIsSeenAsTwoPiecesAndAFlangeAsOne) {
  for (const char* name : {"ell", "flange"}) {
    solid::ReadOptions read;
    read.mesh_chord = 1e-4;
    const auto step = solid::sample_solid(name);
    ASSERT_TRUE(step.ok()) << say(step.problem());
    const auto m = solid::read_step_text(*step, name, read);
    ASSERT_TRUE(m.ok()) << say(m.problem());
    const Pieces p = pieces_from_above(*m);
    ASSERT_EQ(p.size(), std::string(name) == "ell" ? 2U : 1U);
    const double seen = share_of_box(*m, &p);
    if (std::string(name) == "ell") {
      EXPECT_NEAR(seen, (160 * 44 + 44 * 76.0) / (160 * 120), 0.01);  // holes are not left open
      EXPECT_GE(seen, share_of_box(*m, nullptr));
    } else {
      EXPECT_NEAR(seen, std::numbers::pi / 4, 0.01);
    }
  }
}

TEST(NestPieces, AnAngleWhoseOutsideStaysAsCastStandsInPairs) {
  Kind k;
  const auto step = solid::sample_solid("ell");
  ASSERT_TRUE(step.ok()) << say(step.problem());
  const auto there = kind_from(*step, "ell", k, true);
  ASSERT_TRUE(there.ok()) << say(there.problem());
  k.scene.answers["cast_faces"] = "top, bottom, P1, B1";
  bool paired = false, pallet = false;
  for (const Draft& route : routes(k.scene, ordered(k), 3)) {
    if (!route.clashes.empty() || route.pallet_operation.empty()) continue;
    for (const Draft& seat : seats(k.scene, route, 1)) {
      if (!seat.clashes.empty()) continue;
      for (const Draft& d : pallets(k.scene, seat, 2)) {
        const auto& nests = d.plan.pallet.nests;
        pallet = true;
        const Pieces part = pieces_from_above(k.model);
        for (std::size_t i = 0; i < nests.size(); ++i)
          for (std::size_t j = 0; j < i; ++j) {
            const auto stands = [&](std::size_t n) {
              const frame::Vec3 at = nests[n].at.value[0];
              return moved(turned(part, nests[n].turn.known() ? nests[n].turn.si : 0), {at.x, at.y});
            };
            EXPECT_FALSE(overlap(stands(i), stands(j), {}, 1e-3)) << i << " " << j;
            paired = paired || (nests[i].turn.known() && std::fabs(nests[i].turn.si - std::numbers::pi) < 1e-9);
          }
      }
    }
  }
  EXPECT_TRUE(pallet);
  EXPECT_TRUE(paired);
}

}  // namespace
}  // namespace fettle::begin
