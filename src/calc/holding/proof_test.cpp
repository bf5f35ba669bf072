// Exact cases, an independent check of every certificate, and maths/simplex as a second oracle.
#include "calc/holding/proof.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/holding/cones.h"
#include "calc/holding/elastic.h"
#include "maths/random.h"
#include "published.h"

namespace fettle::holding {
namespace {

using test::How;
using test::published;
constexpr double pi = 3.14159265358979323846;
const char* const exact = "closed form of statics";

Contact rest(const char* name, Vec3 at, double mu, Vec3 n = {0, 0, 1}) {
  Contact c;
  c.name = name;
  c.at = at;
  c.normal = n;
  c.friction = mu;
  return c;
}
Contact clamp(const char* name, Vec3 at, double force, Vec3 n = {0, 0, -1}) {
  Contact c = rest(name, at, 0, n);
  c.kind = Contact::Kind::clamp;
  c.force = force;
  return c;
}
struct Draw {
  std::uint32_t count = 0;
  double uniform(double low, double high) { return low + (high - low) * maths::uniform(20260, 1, count++); }
};
std::vector<Contact> block(double b, double mu) {
  return {rest("pad 1", {b, b, 0}, mu), rest("pad 2", {-b, b, 0}, mu), rest("pad 3", {-b, -b, 0}, mu),
          rest("pad 4", {b, -b, 0}, mu)};
}

/// The certificate worked out again from the contacts alone: no generators, no solver. Round cones: of a rest the power
/// of every force N(n + mu t) is at least N(v.n - mu |v side|); inside faces of the cone lose at most the share `lost`.
void certificate(const std::vector<Contact>& contacts, const Load& weight, const Load& load, const Carried& a,
                 bool pins, double lost) {
  ASSERT_EQ(a.status, Carried::Status::limited);
  const auto velocity = [&](Vec3 p) {
    const Vec3 r{p.x - a.about.x, p.y - a.about.y, p.z - a.about.z};
    return Vec3{a.slide.x + a.turn.y * r.z - a.turn.z * r.y, a.slide.y + a.turn.z * r.x - a.turn.x * r.z,
                a.slide.z + a.turn.x * r.y - a.turn.y * r.x};
  };
  const auto power = [&](const Load& l) {
    const Vec3 v = velocity(l.at);
    return l.force.x * v.x + l.force.y * v.y + l.force.z * v.z + l.moment.x * a.turn.x + l.moment.y * a.turn.y +
           l.moment.z * a.turn.z;
  };
  EXPECT_NEAR(power(load), 1, 1e-8);
  double speed = 0;
  for (const Contact& c : contacts) {
    const Vec3 v = velocity(c.at);
    speed = std::max(speed, std::sqrt(v.x * v.x + v.y * v.y + v.z * v.z));
  }
  double clamps = power(weight), size = std::fabs(clamps), bounded = 0;
  for (const Contact& c : contacts) {
    const Vec3 v = velocity(c.at);
    if (c.kind == Contact::Kind::pin) {
      if (!pins) continue;
      const double along = v.x * c.normal.x + v.y * c.normal.y + v.z * c.normal.z;
      const double stopped = std::sqrt(c.across.x * c.across.x + c.across.y * c.across.y + c.across.z * c.across.z);
      const double moves = stopped > 0 ? std::fabs(v.x * c.across.x + v.y * c.across.y + v.z * c.across.z) / stopped
                                       : std::sqrt((v.x - along * c.normal.x) * (v.x - along * c.normal.x) +
                                                   (v.y - along * c.normal.y) * (v.y - along * c.normal.y) +
                                                   (v.z - along * c.normal.z) * (v.z - along * c.normal.z));
      EXPECT_LE(moves, 1e-9 * speed + 1e-15) << c.name << ": moves against its pin";
      continue;
    }
    const double n = v.x * c.normal.x + v.y * c.normal.y + v.z * c.normal.z;
    const double side = std::sqrt(std::max(0.0, v.x * v.x + v.y * v.y + v.z * v.z - n * n));
    if (c.kind == Contact::Kind::rest && c.capacity == 0) {
      EXPECT_GE(n, (1 - lost) * c.friction * side - 1e-8 * speed) << c.name << ": a force in its cone would drive it";
      if (c.patch > 0) {
        const double spin = std::fabs(a.turn.x * c.normal.x + a.turn.y * c.normal.y + a.turn.z * c.normal.z);
        EXPECT_GE(n, c.friction * c.patch / 3 * spin - 1e-8 * speed) << c.name << ": turning on the spot";
      }
    }
    if (c.kind == Contact::Kind::clamp) {
      clamps += c.force * n;
      size += c.force * std::fabs(n);
      if (c.held_sideways) bounded += c.force * c.friction * side;
    }
  }
  EXPECT_LE(a.factor, -clamps + bounded + 1e-8 * (1 + size)) << "the motion proves no less";
  if (bounded == 0) {
    EXPECT_NEAR(a.factor, -clamps, 1e-8 * (1 + size + a.factor)) << "no gap";
  }
}

/// The forces of the answer, added up again here.
void balanced(const Fixture& f, const Load& weight, const Load& load, const Carried& a) {
  const auto forces = f.contact_forces(a);
  double x = weight.force.x + a.factor * load.force.x, y = weight.force.y + a.factor * load.force.y,
         z = weight.force.z + a.factor * load.force.z, size = 1;
  for (std::size_t i = 0; i < forces.size(); ++i) {
    x += forces[i].x;
    y += forces[i].y;
    z += forces[i].z;
    size += frame::norm(forces[i]);
    const Contact& c = f.contacts()[i];
    if (c.kind != Contact::Kind::rest) continue;
    const double n = frame::dot(forces[i], c.normal);
    EXPECT_GE(n, -1e-7);
    EXPECT_LE(frame::norm(forces[i] - n * c.normal), c.friction * n + 1e-6 * (1 + n)) << c.name;
  }
  EXPECT_LE(std::fabs(x) + std::fabs(y) + std::fabs(z), 1e-8 * size);
}

TEST(Proof, BlockSlidesAtFrictionTimesPush) {
  auto c = block(0.05, 0.2);
  c.push_back(clamp("clamp", {0, 0, 0.04}, 5000));
  Fixture f(c, {});
  const Load low{{0, 0, 0}, {1000, 0, 0}, {}};
  const Carried a = f.carry(low);
  published("holding", "block under 5000 N, friction 0.2: slides at, N", exact, How::exact, 1000, 1000 * a.factor,
            1e-6);
  certificate(c, {}, low, a, false, 0.08);
  balanced(f, {}, low, a);
  EXPECT_EQ(mechanism(f, a).words, "slides to +X");
}

TEST(Proof, BlockTipsAtItsEdge) {
  auto c = block(0.05, 0.9);
  const Load weight{{0, 0, 0.1}, {0, 0, -800}, {}};
  Fixture f(c, weight);
  const Load high{{0, 0, 0.2}, {0, -1000, 0}, {}};
  const Carried a = f.carry(high);
  published("holding", "block 100 wide, pushed 200 up, 800 N: tips at N b/h, N", exact, How::exact, 200,
            1000 * a.factor, 1e-6);
  certificate(c, weight, high, a, false, 0.08);
  EXPECT_EQ(mechanism(f, a).words.substr(0, 24), "tips over the edge to -Y");
}

TEST(Proof, ATurnAboutTheUprightIsNotCalledTipping) {
  // A block on three frictionless rests below, pushed round between two jaws' corners: it turns about Z and leaves two
  // of the four corners.
  std::vector<Contact> c;
  for (const Vec3 at : {Vec3{-0.04, -0.02, 0}, Vec3{0.04, -0.02, 0}, Vec3{0, 0.02, 0}})
    c.push_back(rest("rest", at, 0));
  c.push_back(rest("jaw left", {-0.05, -0.03, 0.01}, 0.1, {0, 1, 0}));
  c.push_back(rest("jaw right", {0.05, -0.03, 0.01}, 0.1, {0, 1, 0}));
  Contact vise = clamp("vise", {0, 0.03, 0.01}, 1000);
  vise.normal = {0, -1, 0};
  c.push_back(vise);
  const Load weight{{0, 0, 0.01}, {0, 0, -20}, {}};
  Fixture f(c, weight, 32);
  const Load aside{{0.05, 0, 0.01}, {0, 1000, 0}, {}};
  const Carried a = f.carry(aside);
  ASSERT_EQ(a.status, Carried::Status::limited);
  const Mechanism m = mechanism(f, a);
  EXPECT_EQ(m.motion, "turns about Z") << m.words;
  EXPECT_EQ(m.lifts, "jaw right lifts");
  ASSERT_TRUE(m.centre.has_value());
  // It turns about the corner that stays: left jaw, along the jaw's face within the friction angle.
  EXPECT_NEAR(m.centre->x, -0.05, 0.01);
  EXPECT_NE(m.words.find(" mm: jaw right lifts"), std::string::npos) << m.words;
  EXPECT_NE(in_words(m, 0.0254, "in", 2).find(" in: "), std::string::npos);
  EXPECT_EQ(in_words(m, 0.0254, "in", 2).find("mm"), std::string::npos);
}

TEST(Proof, DiscTurnsOnTheSpot) {
  auto c = rest("stud", {0, 0, 0}, 0.15);
  c.patch = 0.06;
  Fixture f({c, clamp("screw", {0, 0, 0.02}, 10000)}, {});
  const Load twist{{0, 0, 0.02}, {}, {0, 0, 10}};
  const Carried a = f.carry(twist);
  published("holding", "disc of radius 30 under 10 kN, friction 0.15: turns at 2/3 mu N R, N·m", exact, How::exact, 30,
            10 * a.factor, 1e-9);
  certificate({c, clamp("screw", {0, 0, 0.02}, 10000)}, {}, twist, a, false, 0.08);
}

TEST(Proof, WedgeHoldsByItsAngle) {
  // Two faces at 60 deg to the base, frictionless: the resultant of load and clamp must lie between their normals.
  const double s = std::sin(pi / 3), k = std::cos(pi / 3);
  const std::vector<Contact> c = {rest("left", {-0.02, 0, 0}, 0, {s, 0, k}), rest("right", {0.02, 0, 0}, 0, {-s, 0, k}),
                                  clamp("down", {0, 0, 0.02 * k / s}, 1000)};
  Fixture f(c, {});
  const Load side{{0, 0, 0.02 * k / s}, {100, 0, 0}, {}};
  // both normals pass through (0, 0, 0.02 tan 30): so does the load
  const Carried a = f.carry(side);
  published("holding", "frictionless vee of 60 deg flanks under 1000 N: leaves at N tan 60, N", exact, How::exact,
            1000 * std::tan(pi / 3), 100 * a.factor, 1e-6);
  certificate(c, {}, side, a, false, 0);
}

TEST(Proof, PublishedClampForceBySafety) {
  // E2: 1200 N sideways, 300 N up, 150 N weight, friction 0.2 at the rests, safety 2.
  auto c = block(0.05, 0.2);
  const double force = 2 * 1200 / 0.2 - 150 + 300;
  published("holding", "clamp force for 1200 N sideways, 300 N up, 150 N weight, friction 0.20, safety 2, N",
            "S F/mu - W + Fz, worked by hand", How::computed, 12150, force, 1e-9);
  c.push_back(clamp("clamp", {0, 0, 0}, force));
  const Load weight{{0, 0, 0}, {0, 0, -150 + 300}, {}};
  const Load cut{{0, 0, 0}, {1200, 0, 0}, {}};
  published("holding", "safety that 12150 N give in the proof", "S F/mu - W + Fz, worked by hand", How::computed, 2,
            Fixture(c, weight).carry(cut).factor, 1e-9);
  // Clamp tips that hold sideways too: half of 12000.
  auto both = block(0.05, 0.2);
  both.push_back(clamp("strap", {0, 0, 0}, 6000));
  both.back().friction = 0.2;
  both.back().held_sideways = true;
  Fixture f(both, {});
  const Carried a = f.carry(cut);
  published("holding", "safety of 6000 N when the clamp tips resist too", "S F/(2 mu), worked by hand", How::computed,
            2, a.factor, 1e-9);
  certificate(both, {}, cut, a, false, 0.08);
  both.back().held_sideways = false;  // a screw head holds nothing sideways
  EXPECT_NEAR(Fixture(both, {}).carry(cut).factor, 1, 1e-9);
}

TEST(Proof, FacetsLoseAtMostTheCosine) {
  auto c = block(0.05, 0.2);
  c.push_back(clamp("clamp", {0, 0, 0}, 5000));
  double before = 0;
  for (int facets : {8, 16, 32, 64}) {
    double least = 1e9;
    Fixture f(c, {}, facets);
    for (int k = 0; k < 360; ++k) {
      const double t = 2 * pi * (k + 0.5) / 360;
      least = std::min(least, f.carry({{0, 0, 0}, {std::cos(t), std::sin(t), 0}, {}}).factor);
    }
    EXPECT_GE(least, 1000 * kept_by_facets(facets) - 1e-6);
    EXPECT_LE(least, 1000);
    EXPECT_GT(least, before);
    before = least;
  }
  EXPECT_GT(before, 998);
}

TEST(Proof, PinsStopWhatFrictionDoesNot) {
  auto c = block(0.05, 0.1);
  c.push_back(clamp("screw", {0, 0, 0.03}, 1000));
  Contact pin = rest("round", {0.04, 0.03, 0}, 0), relieved = rest("relieved", {-0.04, -0.03, 0}, 0);
  pin.kind = relieved.kind = Contact::Kind::pin;
  relieved.across = {-0.6, 0.8, 0};
  c.push_back(pin);
  c.push_back(relieved);
  const Load low{{0, 0, 0}, {1000, 500, 0}, {}}, high{{0, 0, 0.03}, {1000, 0, 0}, {}}, up{{0, 0, 0}, {0, 0, 100}, {}};
  Fixture without(c, {}, 8, false), with(c, {}, 8, true);
  EXPECT_LT(without.carry(low).factor, 0.1);
  EXPECT_EQ(with.carry(low).status, Carried::Status::unlimited);
  const Carried tips = with.carry(high);
  EXPECT_GT(tips.factor, without.carry(high).factor);
  certificate(c, {}, high, tips, true, 0.08);
  const Carried lifted = with.carry(up);
  published("holding", "pins do not hold down: 1000 N of screws over 100 N up", exact, How::exact, 10, lifted.factor,
            1e-9);
  certificate(c, {}, up, lifted, true, 0.08);
}

TEST(Proof, SameByASecondSolverAndEveryCertificateHolds) {
  Draw s;
  int limited = 0, endless = 0;
  double apart = 0;
  for (int fixture = 0; fixture < 40; ++fixture) {
    std::vector<Contact> c;
    const int pads = 4 + fixture % 9;
    for (int i = 0; i < pads; ++i) {
      Contact p =
          rest("pad", {s.uniform(-0.06, 0.06), s.uniform(-0.04, 0.04), 0.002 * s.uniform(-1, 1)}, s.uniform(0.05, 0.3));
      p.name += std::to_string(i);
      if (fixture % 3 == 0) p.patch = 0.012;
      c.push_back(p);
    }
    Vec3 middle;
    for (const Contact& p : c) middle = middle + (1.0 / pads) * p.at;
    c.push_back(clamp("screw", middle + Vec3{0, 0, 0.03}, s.uniform(2000, 20000)));
    const bool pins = fixture % 4 == 1;
    if (pins) {
      Contact pin = rest("round", {0.04, 0.03, 0}, 0);
      pin.kind = Contact::Kind::pin;
      c.push_back(pin);
    }
    if (fixture % 5 == 2) {
      Contact strap = clamp("strap", middle + Vec3{0.002, 0.001, 0.03}, 1500);
      strap.friction = 0.1;
      strap.held_sideways = true;
      c.push_back(strap);
    }
    const Load weight{middle, {0, 0, -20}, {}};
    Fixture f(c, weight, 8, pins);
    ASSERT_TRUE(f.at_rest()) << fixture;
    for (int k = 0; k < 25; ++k) {
      const Load load{{s.uniform(-0.06, 0.06), s.uniform(-0.04, 0.04), s.uniform(0, 0.04)},
                      {s.uniform(-900, 900), s.uniform(-900, 900), s.uniform(-400, 400)},
                      {0, 0, s.uniform(-5, 5)}};
      const Carried a = f.carry(load), slow = f.carry_slow(load);
      ASSERT_EQ(a.status, slow.status) << fixture << " " << k;
      EXPECT_FALSE(a.slow_way);
      if (a.status == Carried::Status::unlimited) {
        ++endless;
        continue;
      }
      ++limited;
      apart = std::max(apart, std::fabs(a.factor - slow.factor) / (1 + slow.factor));
      const Carried cold = f.carry_cold(load);
      apart = std::max(apart, std::fabs(cold.factor - slow.factor) / (1 + slow.factor));
      certificate(c, weight, load, a, pins, 0.08);
      balanced(f, weight, load, a);
    }
  }
  EXPECT_GT(limited, 700);
  published("holding", "1000 random cases against the general linear program: largest difference", "second solver",
            How::computed, 0, apart, 1e-8);
}

TEST(Proof, CapacityOfARestLimits) {
  auto c = block(0.05, 0.1);
  for (Contact& p : c) p.capacity = 1000;
  c.push_back(clamp("clamp", {0, 0, 0.02}, 2000));
  const Load press{{0, 0, 0.02}, {0, 0, -500}, {}};
  const Carried a = Fixture(c, {}).carry(press);
  published("holding", "four pads that take 1000 N each, 2000 N clamped, pressed by 500 N", exact, How::exact, 4,
            a.factor, 1e-9);
}

TEST(Proof, NotAtRestIsNeverCarried) {
  const std::vector<Contact> c = {rest("pad", {0, 0, 0}, 0.1), clamp("off the pad", {0.05, 0, 0.02}, 1000)};
  Fixture f(c, {});
  EXPECT_FALSE(f.at_rest());
  EXPECT_EQ(f.carry({{0, 0, 0}, {1, 0, 0}, {}}).status, Carried::Status::not_at_rest);
  EXPECT_EQ(f.carry_slow({{0, 0, 0}, {1, 0, 0}, {}}).status, Carried::Status::not_at_rest);
  EXPECT_EQ(holding({c, {}, {{{0, 0, 0}, {1, 0, 0}, {}}}, 8, 32, false}).least, 0);
}

TEST(Proof, RefusesOneBadValueEach) {
  const auto good = [] {
    auto c = block(0.05, 0.1);
    c.push_back(clamp("clamp", {0, 0, 0.02}, 2000));
    return c;
  };
  EXPECT_EQ(Fixture(good(), {}).refused(), "");
  EXPECT_NE(Fixture({}, {}).refused(), "");
  EXPECT_NE(Fixture(good(), {}, 3).refused(), "");
  EXPECT_NE(Fixture(good(), {}, 513).refused(), "");
  for (int k = 0; k < 8; ++k) {
    auto c = good();
    Contact& p = c[0];
    if (k == 0) p.friction = -0.1;
    if (k == 1) p.friction = 6;
    if (k == 2) p.normal = {};
    if (k == 3) p.at.x = std::nan("");
    if (k == 4) c[4].force = -1;
    if (k == 5) p.patch = -1;
    if (k == 6) p.capacity = -1;
    if (k == 7) p.friction = std::nan("");
    EXPECT_NE(Fixture(c, {}).refused(), "") << k;
  }
  Fixture f(good(), {});
  EXPECT_EQ(f.carry({{0, 0, 0}, {std::nan(""), 0, 0}, {}}).status, Carried::Status::failed);
}

TEST(Elastic, SharesAndFirstSlip) {
  auto c = block(0.05, 0.2);
  for (Contact& p : c) p.stiffness = 2e8;
  c.push_back(clamp("clamp", {0, 0, 0}, 4000));
  const Springs s(c, {}, {0, 0, 0});
  ASSERT_TRUE(s.there());
  for (int i = 0; i < 4; ++i) EXPECT_NEAR(s.pressed()[static_cast<std::size_t>(i)], 1000, 1e-6);
  std::vector<double> slip;
  s.first_slip({{0, 0, 0}, {100, 0, 0}, {}}, slip);
  published("holding", "four equal springs pushed in their plane: all slip at mu N", exact, How::exact, 800,
            100 * slip[0], 1e-6);
  // Off the middle: the near pads get more of the push, so the far ones slip first and below the limit of the proof.
  auto d = block(0.05, 0.2);
  for (Contact& p : d) p.stiffness = 2e8;
  d.push_back(clamp("clamp", {0.03, 0, 0}, 4000));
  const HoldingResult r = holding({d, {}, {{{0, 0, 0}, {100, 0, 0}, {}}}, 8, 32, false});
  EXPECT_NEAR(r.least, 8, 1e-9);
  EXPECT_LT(r.creeps, r.least);
  published("holding", "clamp 30 of 50 off the middle: the far pads carry 400 N and slip at 4 x 80 N", exact,
            How::exact, 320, 100 * r.creeps, 1e-6);
}

}  // namespace
}  // namespace fettle::holding
