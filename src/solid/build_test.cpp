// Our own models and re-exports.
#include "solid/build.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "published.h"
#include "solid/solid.h"

namespace fettle::solid {
namespace {

Model model_of(const std::string& text, const ReadOptions& options = {}) {
  auto m = read_step_text(text, "model", options);
  EXPECT_TRUE(m.ok()) << (m ? "" : say(m.problem()));
  return m ? *m : Model{};
}

const std::string& part_text() {
  static const Outcome<std::string> text = demo_part();
  EXPECT_TRUE(text.ok()) << (text ? "" : say(text.problem()));
  static const std::string none;
  return text ? *text : none;
}

const Model& part() {
  static const Model m = [] {
    ReadOptions o;
    o.density = 7200;
    o.mesh_chord = 5e-5;
    o.cuts = {{{0, 0, 0.030}, {0, 0, 1}}, {{0, 0, 0.010}, {0, 0, 1}}};
    return model_of(part_text(), o);
  }();
  return m;
}

const Model& casting() {
  static const Model m = [] {
    const auto text = demo_casting();
    EXPECT_TRUE(text.ok()) << (text ? "" : say(text.problem()));
    ReadOptions o;
    o.density = 7200;
    o.cuts = {{{0, 0, 0.030}, {0, 0, 1}}};
    return model_of(text ? *text : "", o);
  }();
  return m;
}

const Way* way(const Model& m, const std::string& name) {
  for (const Way& w : m.ways)
    if (w.name == name) return &w;
  return nullptr;
}

TEST(DemoPart, weighs_what_the_drawing_says) {
  test::published("solid", "demo part: net volume, cm3", "demo scenario: net 360.4 cm3", test::How::read, 360.4,
                  part().volume * 1e6, 0.2);
  test::published("solid", "demo part: mass, kg", "demo scenario: 2.595 kg at 7.20 kg/dm3", test::How::read, 2.595,
                  part().mass, 0.0015);
  // The same volume by hand: block less corners, bores, groove, pockets, holes and drill points.
  const double pi = 3.14159265358979323846, tip = std::tan(59 * pi / 180);
  const auto bore = [&](double d, double l) { return pi / 4 * d * d * l; };
  const auto point = [&](double d) { return pi / 24 * d * d * d / tip; };
  const double hand = (132 * 92 - (4 - pi) * 144) * 36 - bore(50, 18) - bore(22, 18) - (bore(54, 3.7) - bore(50, 3.7)) -
                      2 * (30 * 22 - (4 - pi) * 36) * 12 - 2 * bore(8, 15) - 2 * bore(10.5, 36) -
                      6 * (bore(6.8, 22) + point(6.8)) - 4 * (bore(5, 16) + point(5));
  test::published("solid", "demo part: volume against a sum by hand, mm3", "plain geometry", test::How::exact, hand,
                  part().volume * 1e9, 0.01);
  EXPECT_EQ(part().unit, "mm");
  const double box[] = {-66, -46, 0, 66, 46, 36};
  const double got[] = {part().box.lo.x, part().box.lo.y, part().box.lo.z,
                        part().box.hi.x, part().box.hi.y, part().box.hi.z};
  for (int i = 0; i < 6; ++i) EXPECT_NEAR(got[i] * 1e3, box[i], 1e-6) << i;
}

TEST(DemoPart, has_the_features_of_its_drawing) {
  const Model& m = part();
  ASSERT_EQ(m.holes.size(), 15u);
  const Hole& bore = m.holes[0];
  EXPECT_EQ(bore.id, "hole1");
  EXPECT_TRUE(bore.through && bore.stepped && bore.counterbored && !bore.countersunk);
  EXPECT_NEAR(bore.diameter, 0.022, 1e-9);
  ASSERT_EQ(bore.profile.size(), 7u);
  EXPECT_NEAR(bore.profile[0].d0, 0.050, 1e-9);
  EXPECT_EQ(bore.profile[5].kind, Step::annulus);
  EXPECT_NEAR(bore.profile[5].d0, 0.050, 1e-9);
  EXPECT_NEAR(bore.profile[5].d1, 0.022, 1e-9);
  const auto count = [&](double d, double depth, End end, bool through) {
    return std::count_if(m.holes.begin(), m.holes.end(), [&](const Hole& h) {
      return std::fabs(h.diameter - d) < 1e-9 && std::fabs(h.depth - depth) < 1e-9 && h.end1 == end &&
             h.through == through;
    });
  };
  EXPECT_EQ(count(0.0105, 0.036, End::open, true), 2);
  EXPECT_EQ(count(0.008, 0.015, End::flat, false), 2);
  EXPECT_EQ(count(0.0068, 0.022, End::cone, false), 6);
  EXPECT_EQ(count(0.005, 0.016, End::cone, false), 4);
  for (const Hole& h : m.holes)
    if (h.end1 == End::cone) {
      EXPECT_NEAR(h.tip_angle, 118 * 3.14159265358979 / 180, 1e-9) << h.id;
    }

  ASSERT_EQ(m.grooves.size(), 1u);
  EXPECT_EQ(m.grooves[0].hole, "hole1");
  EXPECT_NEAR(m.grooves[0].diameter, 0.054, 1e-9);
  EXPECT_NEAR(m.grooves[0].bore, 0.050, 1e-9);
  EXPECT_NEAR(m.grooves[0].width, 0.0037, 1e-9);
  EXPECT_NEAR(std::min(m.grooves[0].p0.z, m.grooves[0].p1.z), 0.02715, 1e-9);
  EXPECT_TRUE(m.grooves[0].inside);

  ASSERT_EQ(m.pockets.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    const Pocket& p = m.pockets[i];
    const double s = i == 0 ? -1 : 1;
    EXPECT_LT(norm(p.centre - Vec3{s * 0.042, -s * 0.027, 0.024}), 1e-9) << p.id;
    EXPECT_NEAR(p.length, 0.030, 1e-9);
    EXPECT_NEAR(p.width, 0.022, 1e-9);
    EXPECT_NEAR(p.depth, 0.012, 1e-9);
    EXPECT_NEAR(p.corner_radius, 0.006, 1e-9);
    EXPECT_EQ(p.open_sides, 0);
    EXPECT_FALSE(p.slot || p.through);
  }
  EXPECT_EQ(m.rounds.size(), 12u);  // 8 in the pockets, 4 outside
  EXPECT_TRUE(m.bosses.empty());
  EXPECT_EQ(std::count_if(m.planes.begin(), m.planes.end(), [](const PlaneFeature& p) { return p.floor; }), 5);
  EXPECT_NEAR(m.planes[0].normal.z, -1, 1e-12);
  EXPECT_NEAR(m.planes[0].offset, 0, 1e-12);
}

TEST(DemoPart, goes_both_ways_round_about_z_only) {
  for (const Way& w : part().ways) EXPECT_EQ(w.same, w.name == "half turn about Z") << w.name;
  const Way* x = way(part(), "half turn about X");
  ASSERT_TRUE(x);
  EXPECT_TRUE(x->box_fits);
  EXPECT_NE(std::find(x->breakers.begin(), x->breakers.end(), "pocket1"), x->breakers.end());
  EXPECT_EQ(std::find(x->breakers.begin(), x->breakers.end(), "hole2"), x->breakers.end())
      << "a bolt hole goes into the other";
  EXPECT_FALSE(way(part(), "quarter turn about Z")->box_fits);
  // A part made lopsided by one hole names that hole.
  Model m = casting();
  EXPECT_TRUE(way(m, "mirror in X")->same);
  const Way* z = way(m, "half turn about Z");
  EXPECT_FALSE(z->same);
  EXPECT_FALSE(z->breakers.empty());
  for (const std::string& id : z->breakers) {  // the gate stubs alone
    const auto at = std::find_if(m.planes.begin(), m.planes.end(), [&](const PlaneFeature& p) { return p.id == id; });
    ASSERT_NE(at, m.planes.end()) << id;
    EXPECT_LT(at->centroid.y, -0.047) << id;
  }
}

TEST(DemoPart, sections_and_mesh) {
  const Model& m = part();
  ASSERT_EQ(m.sections.size(), 2u);
  const double pi = 3.14159265358979323846, outside = 132 * 92 - (4 - pi) * 144;
  // At 30: outside, groove, 2 pockets, 2 bolt holes, 4 threads of the top.
  const Section& s = m.sections[0];
  ASSERT_EQ(s.wires.size(), 10u);
  // Chords run inside an arc, at most 0.02 from it: the area is short by less than 0.02 times the arcs' length.
  const auto flattened = [](double got, double exact, double arcs) {
    return got <= exact + 1e-3 && got >= exact - 0.02 * arcs;
  };
  EXPECT_TRUE(flattened(s.wires[0].area * 1e6, outside, 2 * pi * 12)) << s.wires[0].area * 1e6;
  EXPECT_TRUE(flattened(s.wires[1].area * 1e6, pi / 4 * 54 * 54, pi * 54)) << s.wires[1].area * 1e6;
  EXPECT_TRUE(flattened(s.wires[2].area * 1e6, 30 * 22 - (4 - pi) * 36, 2 * pi * 6)) << s.wires[2].area * 1e6;
  // At 10: outside, bore, 2 datum holes, 2 bolt holes, 6 threads.
  EXPECT_EQ(m.sections[1].wires.size(), 12u);
  for (const Wire& w : s.wires)
    for (const Vec3& p : w.points) EXPECT_NEAR(p.z, 0.030, 1e-9);
  EXPECT_TRUE(mesh_closed(m.mesh));
  EXPECT_NEAR(mesh_volume(m.mesh), m.volume, 1e-3 * m.volume);
  EXPECT_NEAR(mesh_area(m.mesh), m.area, 1e-3 * m.area);
  ASSERT_EQ(m.mesh.face_ids.size(), m.mesh.triangles.size());
  for (const int id : m.mesh.face_ids) ASSERT_TRUE(m.face(id));
}

TEST(DemoPart, inertia_is_about_the_centroid) {
  // Thin check with the mesh: second moments of the same solid by signed tetrahedra.
  const Model& m = part();
  double xx = 0, yy = 0, zz = 0;
  for (const auto& t : m.mesh.triangles) {
    const Vec3 a = m.mesh.points[static_cast<std::size_t>(t[0])] - m.centroid,
               b = m.mesh.points[static_cast<std::size_t>(t[1])] - m.centroid,
               c = m.mesh.points[static_cast<std::size_t>(t[2])] - m.centroid;
    const double v = dot(a, cross(b, c)) / 60;
    const auto sum = [&](double p, double q, double r) { return v * (p * p + q * q + r * r + p * q + q * r + r * p); };
    xx += sum(a.x, b.x, c.x), yy += sum(a.y, b.y, c.y), zz += sum(a.z, b.z, c.z);
  }
  EXPECT_NEAR(m.inertia[0], yy + zz, 2e-3 * m.inertia[0]);
  EXPECT_NEAR(m.inertia[4], xx + zz, 2e-3 * m.inertia[4]);
  EXPECT_NEAR(m.inertia[8], xx + yy, 2e-3 * m.inertia[8]);
}

TEST(DemoCasting, has_the_raw_sizes_at_mid_thickness) {
  const Model& m = casting();
  test::published("solid", "demo casting: mass, kg", "demo scenario: raw 3.51 kg", test::How::read, 3.51, m.mass, 0.01);
  EXPECT_NEAR((m.box.hi.z - m.box.lo.z) * 1e3, 39.9, 1e-6);
  EXPECT_NEAR(m.box.lo.z * 1e3, -1.9, 1e-6);
  EXPECT_NEAR((m.box.hi.x - m.box.lo.x) * 1e3, 136.25, 1e-6);
  EXPECT_NEAR((m.box.hi.y - m.box.lo.y) * 1e3, 97.1 + 1.0, 1e-6);  // with the gate stubs
  ASSERT_EQ(m.holes.size(), 1u);
  const Hole& core = m.holes[0];
  EXPECT_EQ(core.end1, End::flat);
  EXPECT_NEAR(core.p1.z * 1e3, 20.35, 1e-6);
  ASSERT_EQ(core.profile.size(), 2u);
  EXPECT_EQ(core.profile[0].kind, Step::cylinder);
  EXPECT_NEAR(core.diameter * 1e3, 46.0, 1e-6);
  EXPECT_FALSE(core.countersunk);
  EXPECT_TRUE(m.pockets.empty());
}

TEST(Sample, a_shaft_has_bosses_and_a_ring_groove) {
  const auto text = sample_solid("shaft");
  ASSERT_TRUE(text.ok()) << say(text.problem());
  const Model m = model_of(*text);
  EXPECT_TRUE(m.holes.empty());
  EXPECT_TRUE(m.pockets.empty());
  ASSERT_EQ(m.bosses.size(), 4u);  // 40 twice, 34, 30
  EXPECT_NEAR(m.bosses[0].diameter, 0.040, 1e-9);
  ASSERT_EQ(m.grooves.size(), 1u);
  const Groove& v = m.grooves[0];
  EXPECT_FALSE(v.inside);
  EXPECT_TRUE(v.hole.empty());
  EXPECT_NEAR(v.diameter, 0.034, 1e-9);
  EXPECT_NEAR(v.bore, 0.040, 1e-9);
  EXPECT_NEAR(v.width, 0.003, 1e-9);
  EXPECT_NEAR(v.p0.z, 0.020, 1e-9);
  EXPECT_TRUE(way(m, "quarter turn about Z")->same);
  EXPECT_FALSE(way(m, "half turn about X")->same);
  EXPECT_FALSE(sample_solid("spoon").ok());
}

TEST(Sample, a_block_has_its_slots_pockets_holes_and_boss) {
  const auto text = sample_solid("slots");
  ASSERT_TRUE(text.ok()) << say(text.problem());
  const Model m = model_of(*text);
  ASSERT_EQ(m.bosses.size(), 1u);
  EXPECT_NEAR(m.bosses[0].diameter, 0.016, 1e-9);
  ASSERT_EQ(m.pockets.size(), 4u);
  struct Want {
    Vec3 centre;
    double length, width, depth, corner, floor;
    int open;
    bool slot;
  };
  const std::vector<Want> want = {{{-40, 0, 15}, 80, 10, 5, 0, 0, 2, true},
                                  {{0, -10, 10}, 30, 24, 10, 5, 2, 0, false},
                                  {{0, 25, 14}, 30, 8, 6, 4, 0, 0, true},
                                  {{47.5, 20, 12}, 25, 20, 8, 0, 0, 1, true}};
  for (std::size_t i = 0; i < want.size(); ++i) {
    const auto at = std::find_if(m.pockets.begin(), m.pockets.end(),
                                 [&](const Pocket& p) { return norm(p.centre - 1e-3 * want[i].centre) < 1e-8; });
    ASSERT_NE(at, m.pockets.end()) << i;
    EXPECT_NEAR(at->length * 1e3, want[i].length, 1e-6) << i;
    EXPECT_NEAR(at->width * 1e3, want[i].width, 1e-6) << i;
    EXPECT_NEAR(at->depth * 1e3, want[i].depth, 1e-6) << i;
    EXPECT_NEAR(at->corner_radius * 1e3, want[i].corner, 1e-6) << i;
    EXPECT_NEAR(at->floor_radius * 1e3, want[i].floor, 1e-6) << i;
    EXPECT_EQ(at->open_sides, want[i].open) << i;
    EXPECT_EQ(at->slot, want[i].slot) << i;
    EXPECT_FALSE(at->through) << i;
  }
  ASSERT_EQ(m.holes.size(), 2u);
  const Hole& ball = m.holes[0];
  EXPECT_NEAR(ball.diameter, 0.006, 1e-9);
  EXPECT_EQ(ball.end1, End::sphere);
  EXPECT_NEAR(norm(ball.p1 - Vec3{-0.020, 0.030, 0.007}), 0, 1e-8);
  const Hole& screw = m.holes[1];
  EXPECT_TRUE(screw.countersunk && screw.through && !screw.counterbored && !screw.stepped);
  EXPECT_NEAR(screw.diameter, 0.005, 1e-9);
  ASSERT_EQ(screw.profile.size(), 2u);
  EXPECT_NEAR(screw.profile[0].d0, 0.010, 1e-8) << "the wide end comes first";
  EXPECT_NEAR(screw.profile[0].semi_angle, 3.14159265358979 / 4, 1e-9);
}

TEST(Models, are_the_same_bytes_every_time) {
  const auto again = demo_part();
  ASSERT_TRUE(again.ok());
  EXPECT_EQ(base::hash_hex(*again), base::hash_hex(part_text()));
  EXPECT_NE(part_text().find("'Fettle demo'"), std::string::npos);
  EXPECT_NE(part_text().find("AP242"), std::string::npos);
}

template <class T>
void same_ids(const std::vector<T>& a, const std::vector<T>& b, const std::string& what, Vec3 (*place)(const T&)) {
  ASSERT_EQ(a.size(), b.size()) << what;
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].id, b[i].id) << what;
    EXPECT_LT(norm(place(a[i]) - place(b[i])), 1e-8) << what << " " << a[i].id;
  }
}

void same_ids(const Model& a, const Model& b, const std::string& what) {
  same_ids<Hole>(a.holes, b.holes, what, [](const Hole& h) { return h.p0; });
  same_ids<Round>(a.rounds, b.rounds, what, [](const Round& r) { return 0.5 * (r.p0 + r.p1); });
  same_ids<Boss>(a.bosses, b.bosses, what, [](const Boss& r) { return 0.5 * (r.p0 + r.p1); });
  same_ids<Pocket>(a.pockets, b.pockets, what, [](const Pocket& p) { return p.centre; });
  same_ids<Groove>(a.grooves, b.grooves, what, [](const Groove& v) { return 0.5 * (v.p0 + v.p1); });
  same_ids<PlaneFeature>(a.planes, b.planes, what, [](const PlaneFeature& p) { return p.centroid; });
}

TEST(Ids, survive_a_re_export) {
  for (const std::uint64_t seed : {1ULL, 2ULL, 3ULL}) {
    const auto text = rewrite_step(part_text(), "part", {.shuffle = seed});
    ASSERT_TRUE(text.ok()) << say(text.problem());
    EXPECT_NE(*text, part_text());
    const Model again = model_of(*text);
    std::vector<int> before, after;  // entity numbers of the main bore's faces
    for (const Segment& s : part().holes[0].profile) before.insert(before.end(), s.faces.begin(), s.faces.end());
    for (const Segment& s : again.holes[0].profile) after.insert(after.end(), s.faces.begin(), s.faces.end());
    EXPECT_NE(before, after) << "the re-export must have other numbers for this test to say anything";
    same_ids(part(), again, "shuffle " + std::to_string(seed));
  }
}

TEST(Ids, of_a_public_part_survive_a_re_export) {
  for (const char* name : {"nist_ctc_01_asme1_ap242-e1", "nist_ctc_03_asme1_ap242-e2"}) {
    const auto text = base::read_file(std::string(FETTLE_PARTS_DIR) + "/" + name + ".stp");
    if (!text) GTEST_SKIP() << "the public parts are not here (" << FETTLE_PARTS_DIR << "): not checked";
    const auto again = rewrite_step(*text, name, {.shuffle = 7});
    ASSERT_TRUE(again.ok()) << say(again.problem());
    same_ids(model_of(*text), model_of(*again), name);
  }
}

TEST(Splines, a_part_exported_as_splines_shows_the_same_holes) {
  const auto text = rewrite_step(part_text(), "part", {.splines = true});
  ASSERT_TRUE(text.ok()) << say(text.problem());
  ASSERT_EQ(text->find("CYLINDRICAL_SURFACE"), std::string::npos);
  const Model m = model_of(*text);
  EXPECT_NEAR(m.volume, part().volume, 1e-6 * m.volume);
  ASSERT_EQ(m.holes.size(), part().holes.size());
  for (std::size_t i = 0; i < m.holes.size(); ++i) {
    const Hole &a = m.holes[i], &b = part().holes[i];
    EXPECT_LT(norm(a.p0 - b.p0), 3e-6) << a.id;
    EXPECT_NEAR(a.diameter, b.diameter, 2e-6) << a.id;
    EXPECT_EQ(a.end1, b.end1) << a.id;
    EXPECT_EQ(a.profile.size(), b.profile.size()) << a.id;
  }
  EXPECT_EQ(m.grooves.size(), 1u);
  EXPECT_EQ(m.pockets.size(), 2u);
}

}  // namespace
}  // namespace fettle::solid
