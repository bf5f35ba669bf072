#include "calc/casting/scan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <functional>

#include "calc/casting/valve_body_for_tests.h"
#include "maths/random.h"

namespace fettle::casting {
namespace {

using testing::HasSubstr;
using valve_body::mm;

/// Raw surfaces of the valve body as patches: points with surface id, dense or coarse.
struct Patch {
  std::string surface;
  std::vector<FacePoint> points;
  int rows, columns;
  bool round;
};
std::vector<Patch> patches(int n) {
  using namespace valve_body;
  std::vector<Patch> out;
  const auto wall = [&](const std::string& id, Vec3 at, Vec3 normal, Vec3 along, double half) {
    PlaneSpec s;
    s.centre = {at.x, at.y, parting};
    s.normal = normal;
    s.u = along;
    s.half_u = half;
    s.half_v = 18.5 * mm;  // ends short of top and bottom, whose own errors would tear the corner open
    s.draft = draft;
    s.parting_height = parting;
    s.count_u = 4 * n + 1;
    s.count_v = 2 * n + 1;
    out.push_back({id, plane_points(s), s.count_u, s.count_v, false});
  };
  wall("raw +X", {68.125 * mm, 0, 0}, x, y, 48 * mm);
  wall("raw -X", {-68.125 * mm, 0, 0}, -x, y, 48 * mm);
  wall("raw +Y", {0, 48.55 * mm, 0}, y, x, 68 * mm);
  wall("raw -Y", {0, -48.55 * mm, 0}, -y, x, 68 * mm);
  const auto flat = [&](const std::string& id, double height, Vec3 normal, double hx, double hy, int k) {
    PlaneSpec s;
    s.centre = {0, 0, height};
    s.normal = normal;
    s.u = x;
    s.half_u = hx;
    s.half_v = hy;
    s.count_u = s.count_v = k;
    out.push_back({id, plane_points(s), k, k, false});
  };
  flat("raw bottom", -1.9 * mm, -z, 68 * mm, 48 * mm, 6 * n + 1);
  flat("raw top", 38 * mm, z, 68 * mm, 48 * mm, 6 * n + 1);
  flat("core floor", 20.35 * mm, z, 16 * mm, 16 * mm, 3 * n + 1);
  RoundSpec bore;
  bore.low = 18 * mm;
  bore.high = 36.5 * mm;
  bore.finished_radius = bore.raw_radius = 23 * mm;
  bore.round = 16 * n;
  bore.rings = 2 * n + 1;
  out.push_back({"core wall", round_points(bore), bore.rings, bore.round, true});
  // A lug on one end tells the ways round apart.
  PlaneSpec lug;
  lug.centre = {80 * mm, 20 * mm, 10 * mm};
  lug.normal = z;
  lug.u = x;
  lug.half_u = 12 * mm;
  lug.half_v = 15 * mm;
  lug.count_u = lug.count_v = 2 * n + 1;
  out.push_back({"lug", plane_points(lug), 2 * n + 1, 2 * n + 1, false});
  return out;
}

RegisterInputs scan_of(const std::vector<double>& errors, const frame::Pose& X_SC, double noise) {
  const Casting c = valve_body::casting();
  RegisterInputs in;
  for (const Patch& p : patches(2)) add_grid(in.nominal, p.points, p.rows, p.columns, p.round);
  std::uint64_t k = 0;
  for (const Patch& patch : patches(12)) {
    int body = drag;
    bool across = false;
    for (const RawSurface& s : c.surfaces)
      if (s.id == patch.surface) {
        body = s.body;
        across = s.across_parting;
      }
    for (const FacePoint& f : patch.points) {
      double d = noise * maths::normal(3, k++, 0);
      for (std::size_t j = 0; j < errors.size(); ++j)
        d += errors[j] *
             mode_field(c.modes[j], patch.surface, across && f.p.z > valve_body::parting ? cope : body, f.p, f.n);
      in.points.push_back(X_SC * (f.p + d * f.n));
    }
  }
  return in;
}

TEST(Scan, ComesBackFromAnyPlace) {
  std::vector<double> errors(8, 0.0);
  errors[valve_body::core_x] = 0.8 * mm;
  errors[valve_body::core_y] = -0.4 * mm;
  errors[valve_body::core_z] = -0.6 * mm;
  errors[valve_body::thickness] = 0.3 * mm;
  errors[valve_body::length] = -0.3 * mm;
  const frame::Pose away = frame::from_small({0.3, -0.2, 0.1}, {0.5, -1.9, 0.8});
  const RegisterInputs in = scan_of(errors, away, 0.02 * mm);
  const Registration r = register_scan(in);
  ASSERT_TRUE(r.usable) << r.why;
  EXPECT_FALSE(r.either_way);
  EXPECT_LT(r.rms, 0.3 * mm);
  std::vector<Vec3> back;
  for (const Vec3& p : in.points) back.push_back(r.X_CS * p);
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const Deviations d = deviations_of_scan(m, back);
  EXPECT_TRUE(d.complete()) << d.missing.front();
  // What the rests make of it must be the stock of the errors themselves, wherever the scan was laid.
  const auto expected = by_face(m, stock(m, errors)), got = by_face(m, stock_of_measured(m, d.touch, d.point));
  for (std::size_t f = 0; f < got.size(); ++f)
    EXPECT_NEAR(got[f].least / mm, expected[f].least / mm, 0.06) << got[f].face;
}

TEST(Scan, PerfectCastingLiesExactly) {
  RegisterInputs in = scan_of({}, frame::from_small({0.001, -0.002, 0.003}, {0.02, -0.01, 0.03}), 0);
  in.near_already = true;
  const Registration r = register_scan(in);
  ASSERT_TRUE(r.usable) << r.why;
  // The nominal bore has 32 facets, 0.11 mm deep in the middle: that is what is left.
  EXPECT_LT(r.rms, 23 * mm * (1 - std::cos(std::acos(-1.0) / 32)) / 4);
  const frame::Pose whole = r.X_CS * frame::from_small({0.001, -0.002, 0.003}, {0.02, -0.01, 0.03});
  EXPECT_NEAR(frame::norm(whole.t), 0, 5e-6);
}

TEST(Scan, AShapeThatLooksTheSameBothWaysIsSaid) {
  RegisterInputs in = scan_of({}, frame::from_small({0.1, 0, 0}, {0, 0, 2.0}), 0.02 * mm);
  // Without the lug: the last patch's triangles and points go.
  const std::size_t lug_points = 25 * 25;
  in.points.resize(in.points.size() - lug_points);
  in.nominal.triangles.resize(in.nominal.triangles.size() - 2 * 4 * 4);
  const Registration r = register_scan(in);
  ASSERT_TRUE(r.usable) << r.why;
  EXPECT_TRUE(r.either_way);
}

TEST(Scan, HolesInTheScanAreNeverGood) {
  RegisterInputs in = scan_of({}, {}, 0);
  std::vector<Vec3> some;
  for (const Vec3& p : in.points)
    if (std::hypot(p.x, p.y) > 24 * mm) some.push_back(p);  // nobody looked into the bore
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const Deviations d = deviations_of_scan(m, some);
  EXPECT_FALSE(d.complete());
  EXPECT_THAT(d.missing, testing::Contains("core wall"));
  EXPECT_TRUE(std::isnan(judge_casting(m, "scan", d).reserve));
  EXPECT_FALSE(deviations_of_scan(m, {}).complete());
}

TEST(Scan, RefusesBadInput) {
  const RegisterInputs good = scan_of({}, {}, 0);
  const auto why = [&](const std::function<void(RegisterInputs&)>& spoil) {
    RegisterInputs in = good;
    in.most_rounds = 1;
    spoil(in);
    const Registration r = register_scan(in);
    EXPECT_FALSE(r.usable);
    return r.why;
  };
  EXPECT_THAT(why([](RegisterInputs& in) { in.nominal.triangles.clear(); }), HasSubstr("no triangles"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.nominal.triangles[0][1] = 1 << 30; }), HasSubstr("vertex"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.nominal.vertices[0].x = NAN; }), HasSubstr("not finite"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.points.resize(49); }), HasSubstr("50"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.points[7].y = HUGE_VAL; }), HasSubstr("not finite"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.keep = 0.3; }), HasSubstr("0.3"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.keep = 1.1; }), HasSubstr("0.3"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.most_points = 10; }), HasSubstr("few"));
  EXPECT_THAT(why([](RegisterInputs& in) { in.most_rounds = 0; }), HasSubstr("few"));
}

std::string with_floats(std::string head, const std::vector<float>& values, bool big) {
  for (float f : values) {
    char b[4];
    std::memcpy(b, &f, 4);
    if (big) {
      std::swap(b[0], b[3]);
      std::swap(b[1], b[2]);
    }
    head.append(b, 4);
  }
  return head;
}

TEST(ScanFiles, PlyInThreeKinds) {
  const auto head = [](const std::string& kind) {
    return "ply\nformat " + kind +
           " 1.0\ncomment scanner\nelement vertex 2\nproperty float x\nproperty float y\nproperty float "
           "z\nend_header\n";
  };
  for (const std::string& bytes : {head("ascii") + "1 2 3\n-4.5 5 6e1\n",
                                   with_floats(head("binary_little_endian"), {1, 2, 3, -4.5F, 5, 60}, false),
                                   with_floats(head("binary_big_endian"), {1, 2, 3, -4.5F, 5, 60}, true)}) {
    const auto p = read_scan(bytes, "a.ply", mm);
    ASSERT_TRUE(p.ok()) << say(p.problem());
    ASSERT_EQ(p->size(), 2U);
    EXPECT_NEAR((*p)[1].x, -0.0045, 1e-15);
    EXPECT_NEAR((*p)[1].z, 0.060, 1e-15);
  }
}

TEST(ScanFiles, StlInTwoKinds) {
  const auto p = read_scan(
      "solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 3 0 0\nvertex 0 3 0\nendloop\nendfacet\nendsolid "
      "a\n",
      "a.stl", mm);
  ASSERT_TRUE(p.ok()) << say(p.problem());
  ASSERT_EQ(p->size(), 4U);
  EXPECT_NEAR((*p)[3].x, 1 * mm, 1e-15);
  std::string bytes(80, ' ');
  bytes += std::string("\x01\0\0\0", 4);
  bytes = with_floats(bytes, {0, 0, 1, 0, 0, 0, 3, 0, 0, 0, 3, 0}, false) + std::string(2, '\0');
  const auto b = read_scan(bytes, "b.stl", mm);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  EXPECT_EQ(b->size(), 4U);
  EXPECT_NEAR((*b)[3].y, 1 * mm, 1e-9);
}

TEST(ScanFiles, RefusesBadFiles) {
  const auto what = [](const std::string& bytes) {
    const auto p = read_scan(bytes, "f", mm);
    return p.ok() ? std::string("read") : say(p.problem());
  };
  const std::string head =
      "ply\nformat ascii 1.0\nelement vertex 2\nproperty float x\nproperty float y\nproperty float z\nend_header\n";
  EXPECT_THAT(what(""), HasSubstr("neither"));
  EXPECT_THAT(what("hello"), HasSubstr("neither"));
  EXPECT_THAT(what(head + "1 2 3\n"), HasSubstr("ends before"));
  EXPECT_THAT(what(head + "1 2 3\n1 2\n"), HasSubstr("f:9"));
  EXPECT_THAT(what(head + "1 2 3\n1 2 nan\n"), HasSubstr("no finite number"));
  EXPECT_THAT(what("ply\nformat ascii 1.0\nelement vertex 2\n"), HasSubstr("no end"));
  EXPECT_THAT(what("ply\nformat ascii 1.0\nelement vertex -2\nend_header\n"), HasSubstr("no count"));
  EXPECT_THAT(what("ply\nformat ascii 1.0\nelement vertex 99999999999\nend_header\n"), HasSubstr("no count"));
  EXPECT_THAT(what("ply\nformat ascii 1.0\nelement face 0\nend_header\n"), HasSubstr("no points"));
  EXPECT_THAT(what("ply\nformat ascii 1.0\nelement vertex 0\nproperty float x\nend_header\n"), HasSubstr("x, y, z"));
  EXPECT_THAT(what("ply\nformat ascii 1.0\nelement vertex 1\nproperty half x\nend_header\n"),
              HasSubstr("unknown type"));
  EXPECT_THAT(what("ply\nformat morse 1.0\nelement vertex 0\nproperty float x\nproperty float y\nproperty float "
                   "z\nend_header\n"),
              HasSubstr("morse"));
  EXPECT_THAT(what("ply\nwhat\nend_header\n"), HasSubstr("means nothing"));
  EXPECT_THAT(what("ply\nformat binary_little_endian 1.0\nelement face 1\nproperty list int int v\nelement vertex "
                   "1\nproperty float x\nproperty float y\n"
                   "property float z\nend_header\n\xff\xff\xff\x7f"),
              HasSubstr("cut off"));
  EXPECT_THAT(what("solid a\nvertex 0 0 0\n"), HasSubstr("cut off"));
  EXPECT_THAT(what("solid a\nvertex 0 0\n"), HasSubstr("f:2"));
  EXPECT_THAT(what("solid a\nendsolid\n"), HasSubstr("no points"));
  EXPECT_FALSE(read_scan(head + "1 2 3\n4 5 6\n", "f", 0).ok());
  EXPECT_FALSE(read_scan(head + "1 2 3\n4 5 6\n", "f", NAN).ok());
  EXPECT_THAT(say(read_scan(head + "1 2 3\n4 5 6e9\n", "f", mm).problem()), HasSubstr("kilometre"));
}

}  // namespace
}  // namespace fettle::casting
