// Scans: both formats in all their ways, and one bad file per guard.
#include "solid/mesh.h"

#include <gtest/gtest.h>

#include <algorithm>

#include <cmath>
#include <cstring>

namespace fettle::solid {
namespace {

const ScanOptions mm{.unit = "mm"};

/// A block of 10 x 20 x 30 mm with triangles facing outward.
Mesh block() {
  Mesh m;
  for (int i = 0; i < 8; ++i) m.points.push_back({(i & 1) * 0.01, (i >> 1 & 1) * 0.02, (i >> 2 & 1) * 0.03});
  m.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                 {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return m;
}

std::string stl_text(const Mesh& m) {
  std::string out = "solid block\n";
  for (const auto& t : m.triangles) {
    out += "facet normal 0 0 0\n outer loop\n";
    for (const int c : t) {
      const Vec3 p = m.points[static_cast<std::size_t>(c)];
      out += "  vertex " + std::to_string(1e3 * p.x) + " " + std::to_string(1e3 * p.y) + " " +
             std::to_string(1e3 * p.z) + "\n";
    }
    out += " endloop\nendfacet\n";
  }
  return out + "endsolid block\n";
}

std::string stl_binary(const Mesh& m) {
  std::string out = "solid, though binary: the header may say so";
  out.resize(80, ' ');
  const auto put = [&](const auto& v) { out.append(reinterpret_cast<const char*>(&v), sizeof v); };
  put(static_cast<std::uint32_t>(m.triangles.size()));
  for (const auto& t : m.triangles) {
    for (int i = 0; i < 3; ++i) put(0.0f);
    for (const int c : t) {
      const Vec3 p = m.points[static_cast<std::size_t>(c)];
      for (const double x : {p.x, p.y, p.z}) put(static_cast<float>(1e3 * x));
    }
    put(static_cast<std::uint16_t>(0));
  }
  return out;
}

std::string ply_text(const std::string& vertices, const std::string& faces, int points = 3, int triangles = 1) {
  return "ply\nformat ascii 1.0\ncomment a scan\nelement vertex " + std::to_string(points) +
         "\nproperty float x\nproperty float y\nproperty float z\nproperty uchar red\nelement face " +
         std::to_string(triangles) + "\nproperty list uchar int vertex_indices\nend_header\n" + vertices + faces;
}
const std::string three = "0 0 0 9\n10 0 0 9\n0 10 0 9\n";

void is_block(const Outcome<Mesh>& m, double scale = 1) {
  ASSERT_TRUE(m.ok()) << say(m.problem());
  EXPECT_EQ(m->points.size(), 8u);
  EXPECT_EQ(m->triangles.size(), 12u);
  EXPECT_TRUE(mesh_closed(*m));
  EXPECT_NEAR(mesh_volume(*m), scale * scale * scale * 6e-6, 1e-12);
  EXPECT_NEAR(mesh_area(*m), scale * scale * 2.2e-3, 1e-9);
}

TEST(Scan, every_form_gives_the_same_block) {
  is_block(parse_scan(stl_text(block()), "a.stl", mm));
  is_block(parse_scan(stl_binary(block()), "a.stl", mm));
  is_block(parse_scan(write_ply(block()), "a.ply", mm));
  is_block(parse_scan(stl_binary(block()), "a.stl", {.unit = "in"}), 25.4);
  std::string big = write_ply(block());  // the same with the bytes the other way round
  const std::size_t body = big.find("end_header\n") + 11;
  for (std::size_t at = body, i = 0; i < 24; ++i, at += 8)
    std::reverse(big.begin() + static_cast<long>(at), big.begin() + static_cast<long>(at + 8));
  for (std::size_t at = body + 24 * 8, i = 0; i < 12; ++i, at += 13)
    for (std::size_t k = 0; k < 3; ++k)
      std::reverse(big.begin() + static_cast<long>(at + 1 + 4 * k), big.begin() + static_cast<long>(at + 5 + 4 * k));
  big.replace(big.find("little"), 6, "big");
  is_block(parse_scan(big, "a.ply", mm));
}

TEST(Scan, text_ply_with_more_properties_and_polygons) {
  const auto m = parse_scan(ply_text("0 0 0 1\n10 0 0 1\n10 10 0 1\n0 10 0 1\n", "4 0 1 2 3\n", 4), "a.ply", mm);
  ASSERT_TRUE(m.ok()) << say(m.problem());
  EXPECT_EQ(m->triangles.size(), 2u);
  EXPECT_NEAR(mesh_area(*m), 1e-4, 1e-12);
  EXPECT_FALSE(mesh_closed(*m));
  const auto cloud = parse_scan(ply_text(three, "", 3, 0), "a.ply", mm);
  ASSERT_TRUE(cloud.ok()) << say(cloud.problem());
  EXPECT_EQ(cloud->points.size(), 3u);
}

void refused(const std::string& bytes, const std::string& words, const ScanOptions& options = mm) {
  const auto m = parse_scan(bytes, "bad.scan", options);
  ASSERT_FALSE(m.ok()) << words;
  ASSERT_EQ(m.problems().size(), 1u);
  EXPECT_EQ(m.problem().where.file, "bad.scan");
  EXPECT_NE(say(m.problem()).find(words), std::string::npos) << say(m.problem());
}

TEST(Scan, one_bad_file_per_guard) {
  refused(stl_text(block()), "does not say its unit", {});
  refused(stl_text(block()), "unknown length unit", {.unit = "ell"});
  refused("", "empty");
  refused("hello", "neither PLY nor STL");
  refused(std::string(500, 'x'), "neither PLY nor STL");
  refused(stl_binary(block()).substr(0, 400), "does not fit its count");  // says solid, but is binary
  refused(stl_text(block()).substr(0, 300), "cut short");
  refused("solid\nendsolid\n", "no points");
  refused("solid\nfacade\n", "no place in an STL text");
  refused("solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 nan\n", "not a finite number");
  refused("solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 inf\n", "not a finite number");
  refused("solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\n", "three corners");
  std::string bad = stl_binary(block());
  const float nan = std::nanf("");
  std::memcpy(bad.data() + 84 + 12, &nan, 4);
  refused(bad, "not a finite number");
  refused(stl_binary(block()), "too large", {.unit = "mm", .most_points = 30});
  refused(stl_text(block()), "too large", {.unit = "mm", .most_points = 30});
  refused(stl_binary(block()), "too large", {.unit = "mm", .most_bytes = 100});
  refused(write_ply(block()), "too large", {.unit = "mm", .most_points = 7});
  refused(
      "solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 0 0 0\nvertex 0 0 0\nendloop\nendfacet\nendsolid\n",
      "no triangles");
  refused("ply\nformat ascii 1.0\n", "cut short");
  refused("ply\nformat ebcdic 1.0\nend_header\n", "header");
  refused("ply\nelement vertex 1\nproperty float x\nend_header\n0\n", "names no format");
  refused("ply\nformat ascii 1.0\nproperty float x\nend_header\n", "element before");
  refused("ply\nformat ascii 1.0\nelement vertex many\nend_header\n", "header");
  refused("ply\nformat ascii 1.0\nelement vertex -1\nend_header\n", "header");
  refused("ply\nformat ascii 1.0\nelement vertex 1\nproperty quad x\nend_header\n", "header");
  refused("ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nend_header\n0 0\n",
          "no x, y and z");
  refused("ply\nformat ascii 1.0\nelement vertex 0\nproperty float x\nproperty float y\nproperty float z\nend_header\n",
          "no points");
  refused(ply_text("0 0 0 9\n10 0 0 9\n0 ten 0 9\n", "3 0 1 2\n"), "not a number");
  refused(ply_text("0 0 0 9\n10 0 0 9\n0 nan 0 9\n", "3 0 1 2\n"), "not a finite number");
  refused(ply_text(three, "3 0 1 3\n"), "does not exist");
  refused(ply_text(three, "3 0 1 -1\n"), "does not exist");
  refused(ply_text(three, "3 0 1 0.5\n"), "does not exist");
  refused(ply_text(three, "2000 0 1 2\n"), "unlikely length");
  refused(ply_text(three, ""), "cut short");
  refused(write_ply(block()).substr(0, 250), "cut short");
  EXPECT_FALSE(read_scan("no/such/scan.ply", mm).ok());
}

}  // namespace
}  // namespace fettle::solid
