// The five public parts against truth.json, which was found with independent code.
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "published.h"
#include "solid/solid.h"

namespace fettle::solid {
namespace {

using nlohmann::json;

json truth() {
  std::ifstream in(std::string(FETTLE_PARTS_DIR) + "/truth.json");
  return in ? json::parse(in) : json();
}

#define NEED_PARTS(name)     \
  const json name = truth(); \
  if (name.is_null()) GTEST_SKIP() << "the public parts are not here (" << FETTLE_PARTS_DIR << "): not checked"

Vec3 vec_mm(const json& j) { return {j[0].get<double>() * 1e-3, j[1].get<double>() * 1e-3, j[2].get<double>() * 1e-3}; }

const Model& read(const std::string& part) {
  static std::map<std::string, Model> known;
  if (const auto at = known.find(part); at != known.end()) return at->second;
  auto m = read_step(std::string(FETTLE_PARTS_DIR) + "/" + part + ".stp");
  EXPECT_TRUE(m.ok()) << part << ": " << (m ? "" : say(m.problem()));
  return known[part] = m ? *m : Model{};
}

std::vector<int> ids(const json& j) {
  auto v = j.get<std::vector<int>>();
  std::sort(v.begin(), v.end());
  return v;
}

std::string end_word(const json& j) { return j.get<std::string>(); }

/// Empty when the hole is as the truth says; else what differs first.
std::string differs(const Hole& h, const json& t) {
  const bool flip = norm(h.p0 - vec_mm(t["p0"])) > norm(h.p1 - vec_mm(t["p0"]));
  const Vec3 p0 = flip ? h.p1 : h.p0, p1 = flip ? h.p0 : h.p1;
  constexpr double near = 2e-6;
  if (norm(p0 - vec_mm(t["p0"])) > near || norm(p1 - vec_mm(t["p1"])) > near) return "ends lie elsewhere";
  const Vec3 dir = {t["dir"][0], t["dir"][1], t["dir"][2]};
  if (std::fabs(std::fabs(dot(dir, h.dir)) - 1) > 1e-9) return "direction";
  if (word(flip ? h.end1 : h.end0) != end_word(t["ends"][0]) || word(flip ? h.end0 : h.end1) != end_word(t["ends"][1]))
    return "kind of end";
  // The truth also counts rims that the file writes as splines, though they are full coaxial circles.
  if (h.side_openings + h.spline_rims != t["side_openings"].get<int>())
    return "side openings: " + std::to_string(h.side_openings);
  // The truth writes a flat bottom as a plane from 0, and a plane's diameters small to large.
  auto profile = h.profile;
  if (flip) std::reverse(profile.begin(), profile.end());
  if (profile.size() != t["profile"].size()) return "number of segments";
  for (std::size_t i = 0; i < profile.size(); ++i) {
    const Segment& s = profile[i];
    const json& e = t["profile"][i];
    const std::string kind = s.kind == Step::annulus ? "plane" : std::string(word(s.kind));
    if (kind != e["kind"]) return "kind of segment " + std::to_string(i);
    double d0 = flip ? s.d1 : s.d0, d1 = flip ? s.d0 : s.d1;
    if (s.kind == Step::annulus) std::tie(d0, d1) = std::pair(std::min(d0, d1), std::max(d0, d1));
    if (std::fabs(d0 - e["d0"].get<double>() * 1e-3) > near || std::fabs(d1 - e["d1"].get<double>() * 1e-3) > near)
      return "diameters of segment " + std::to_string(i);
    if (std::fabs(s.length - e["length"].get<double>() * 1e-3) > near) return "length of segment " + std::to_string(i);
    if (s.full_circle != e["full_circle"].get<bool>()) return "full circle";
    if (s.faces != ids(e["faces"])) return "faces of segment " + std::to_string(i);
  }
  return {};
}

TEST(PublicParts, volume_area_centroid_box_and_kinds) {
  NEED_PARTS(parts);
  for (const auto& [part, t] : parts.items()) {
    const Model& m = read(part);
    const std::string source = "truth.json of the public parts, found with independent code";
    test::published("solid", part + ": volume, mm3", source, test::How::computed, t["volume_mm3"], m.volume * 1e9,
                    1e-6 * t["volume_mm3"].get<double>());
    test::published("solid", part + ": area, mm2", source, test::How::computed, t["area_mm2"], m.area * 1e6,
                    1e-6 * t["area_mm2"].get<double>());
    EXPECT_LT(norm(m.centroid - vec_mm(t["centroid"])), 1e-6) << part;
    EXPECT_EQ(m.faces.size(), t["solid_faces"].get<std::size_t>()) << part;
    const auto& b = t["bbox"];
    const double got[] = {m.box.lo.x, m.box.lo.y, m.box.lo.z, m.box.hi.x, m.box.hi.y, m.box.hi.z};
    for (int i = 0; i < 6; ++i) EXPECT_NEAR(got[i], b[i].get<double>() * 1e-3, 1e-6) << part << " side " << i;
    std::map<std::string, int> kinds;
    for (const Face& f : m.faces) ++kinds[f.kind == Kind::spline ? "bspline" : std::string(word(f.kind))];
    for (const auto& [kind, count] : t["face_types"].items())
      EXPECT_EQ(kinds[kind], count.get<int>()) << part << " " << kind;
    int previous = 0;
    double area = 0;
    for (const Face& f : m.faces) {
      EXPECT_GT(f.id, previous) << part;
      previous = f.id;
      EXPECT_FALSE(f.samples.empty()) << part << " #" << f.id;
      EXPECT_FALSE(f.neighbours.empty()) << part << " #" << f.id;
      for (const Sample& s : f.samples) area += s.area;
    }
    EXPECT_NEAR(area, m.area, 1e-9 * m.area) << part;
  }
}

TEST(PublicParts, every_hole_with_its_ends_and_none_invented) {
  NEED_PARTS(parts);
  std::size_t right = 0;
  for (const auto& [part, t] : parts.items()) {
    const Model& m = read(part);
    EXPECT_EQ(m.holes.size(), t["holes"].size()) << part;
    for (const json& hole : t["holes"]) {
      std::string nearest = "no hole near";
      double best = 1;
      for (const Hole& h : m.holes) {
        const double d = norm(0.5 * (h.p0 + h.p1) - 0.5 * (vec_mm(hole["p0"]) + vec_mm(hole["p1"])));
        if (d < best) best = d, nearest = differs(h, hole);
      }
      EXPECT_EQ(nearest, "") << part << " " << hole.dump();
      if (nearest.empty()) ++right;
    }
  }
  test::published("solid", "holes of the five public parts found right", "truth.json of the public parts",
                  test::How::computed, 99, static_cast<double>(right), 0);
}

TEST(PublicParts, every_concave_cylinder_is_in_a_hole_or_a_round) {
  NEED_PARTS(parts);
  for (const auto& [part, t] : parts.items()) {
    const Model& m = read(part);
    std::map<int, int> told;
    for (const Hole& h : m.holes)
      for (const Segment& s : h.profile)
        for (const int f : s.faces) ++told[f];
    for (const Round& r : m.rounds)
      for (const int f : r.faces) ++told[f];
    for (const Face& f : m.faces)
      EXPECT_TRUE(f.kind != Kind::cylinder || !f.concave || told[f.id] == 1) << part << " #" << f.id;
  }
}

TEST(PublicParts, sheet_part_has_its_two_slots) {
  NEED_PARTS(parts);
  const Model& m = read("nist_ctc_03_asme1_ap242-e2");
  std::vector<const Pocket*> slots;
  for (const Pocket& p : m.pockets)
    if (p.slot && p.through) slots.push_back(&p);
  ASSERT_EQ(slots.size(), 2u);
  for (const Pocket* p : slots) {
    EXPECT_NEAR(p->width, 0.01905, 1e-8) << p->id;
    EXPECT_NEAR(p->depth, 0.00190754, 1e-8) << p->id;
    EXPECT_GT(p->length, p->width);
  }
}

TEST(PublicParts, units_and_time) {
  NEED_PARTS(parts);
  const std::map<std::string, std::string> unit = {{"nist_ctc_01_asme1_ap242-e1", "mm"},
                                                   {"nist_ctc_03_asme1_ap242-e2", "mm"},
                                                   {"nist_ctc_05_asme1_ap242-e1", "in"},
                                                   {"nist_ftc_07_asme1_ap242-e2", "in"},
                                                   {"nist_ftc_10_asme1_ap242-e2", "mm"}};
  // Processor time of ourselves and the child: wall time would also measure whatever else the machine does.
  const auto used = [] {
    double s = 0;
    for (const int who : {RUSAGE_SELF, RUSAGE_CHILDREN}) {
      rusage u{};
      getrusage(who, &u);
      s += static_cast<double>(u.ru_utime.tv_sec + u.ru_stime.tv_sec) +
           1e-6 * static_cast<double>(u.ru_utime.tv_usec + u.ru_stime.tv_usec);
    }
    return s;
  };
  for (const auto& [part, word] : unit) {
    const double before = used();
    const auto m = read_step(std::string(FETTLE_PARTS_DIR) + "/" + part + ".stp");
    ASSERT_TRUE(m.ok()) << say(m.problem());
    EXPECT_EQ(m->unit, word) << part;
    const double seconds = used() - before;
    std::printf("%s read with features in %.2f s of processor time\n", part.c_str(), seconds);
    EXPECT_LT(seconds, 3) << part;
  }
}

}  // namespace
}  // namespace fettle::solid
