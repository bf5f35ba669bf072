#include "ref/threads.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "base/text.h"
#include "case_fields.h"
#include "published.h"

using namespace fettle;
using test::How;
using test::published;

namespace {
ref::ThreadData look(std::string_view text) {
  auto t = unit::parse_thread(text);
  EXPECT_TRUE(t.ok()) << text;
  auto d = ref::thread_data(*t);
  EXPECT_TRUE(d.ok()) << text << ": " << (d.ok() ? "" : say(d.problem()));
  return d.ok() ? *d : ref::ThreadData{};
}
}  // namespace

TEST(Threads, PrintedStressAreas) {
  std::ifstream in(std::string(FETTLE_SOURCE_DIR) + "/cases/threads.csv");
  int rows = 0;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || base::starts_with(line, "thread,")) continue;
    const std::vector<std::string> f = test::fields(line, 6);
    ASSERT_EQ(f.size(), 6U) << line;
    const How how = f[4] == "read" ? How::read : f[4] == "computed" ? How::computed : How::from_memory;
    const std::string& source = f[5];
    published("ref", f[0] + " stress area, " + f[2], source, how, *base::to_double(f[1]),
              unit::in_unit(look(f[0]).stress_area, f[2]), *base::to_double(f[3]));
    ++rows;
  }
  EXPECT_GT(rows, 60);
}

TEST(Threads, DiametersAgainstAPublishedTapTable) {
  struct Row {
    const char* thread;
    double d2, d3, d1;
  };
  // ISO metric coarse, mm: pitch, root of the screw, minor of the nut.
  for (const Row& r : {Row{"M1.6", 1.373, 1.171, 1.221},
                       {"M3", 2.675, 2.387, 2.459},
                       {"M4", 3.545, 3.141, 3.242},
                       {"M5", 4.480, 4.019, 4.134},
                       {"M6", 5.350, 4.773, 4.917},
                       {"M8", 7.188, 6.466, 6.647},
                       {"M10", 9.026, 8.160, 8.376},
                       {"M12", 10.863, 9.853, 10.106},
                       {"M16", 14.701, 13.546, 13.835},
                       {"M18", 16.376, 14.933, 15.294}}) {
    const ref::ThreadData t = look(r.thread);
    const std::string source = "ISO 965 dimensions in a tap maker's table";
    published("ref", std::string(r.thread) + " pitch diameter, mm", source, How::read, r.d2, t.pitch_diameter * 1000,
              0.00051);
    published("ref", std::string(r.thread) + " root diameter, mm", source, How::read, r.d3, t.root_diameter * 1000,
              0.00051);
    published("ref", std::string(r.thread) + " minor diameter, mm", source, How::read, r.d1, t.minor_diameter * 1000,
              0.00051);
  }
  // Unified, in: pitch diameter and minor diameter of the nut.
  for (const Row& r : {Row{"1/4-28 UNF", 0.2268, 0, 0.2113},
                       {"3/8-24 UNF", 0.3479, 0, 0.3299},
                       {"#10-32 UNF", 0.1697, 0, 0.1562},
                       {"1-12 UNF", 0.9459, 0, 0.9098}}) {
    const ref::ThreadData t = look(r.thread);
    const std::string source = "UNF thread dimensions (public table)";
    published("ref", std::string(r.thread) + " pitch diameter, in", source, How::read, r.d2, t.pitch_diameter / 0.0254,
              0.000051);
    published("ref", std::string(r.thread) + " minor diameter, in", source, How::read, r.d1, t.minor_diameter / 0.0254,
              0.000051);
  }
}

TEST(Threads, TextsResolve) {
  EXPECT_EQ(look("M8").designation, "M8x1.25");
  EXPECT_EQ(look("M8x1").designation, "M8x1");
  EXPECT_EQ(look("M8x1.25-6H").tapping_name, "6.8");
  EXPECT_EQ(look("3/8-16 UNC").tapping_name, "5/16");
  EXPECT_EQ(look("3/8-16").designation, "3/8-16 UNC");
  EXPECT_EQ(look("3/8 UNF").designation, "3/8-24 UNF");
  EXPECT_EQ(look("#10-32 UNF").designation, "#10-32 UNF");
  EXPECT_EQ(look("0.375-16 UNC").designation, "3/8-16 UNC");
  EXPECT_EQ(*look("M8").clear_medium, 0.009);
  EXPECT_FALSE(look("#5-40 UNC").clear_close.has_value());
  for (const ref::ThreadData& t : ref::thread_table()) EXPECT_EQ(look(t.designation).designation, t.designation);
}

TEST(Threads, EveryRowIsPlausible) {
  for (const ref::ThreadData& t : ref::thread_table()) {
    EXPECT_FALSE(t.source.empty());
    EXPECT_FALSE(t.note.empty());
    EXPECT_GT(t.thread_share, 0.60) << t.designation;
    EXPECT_LT(t.thread_share, 0.84) << t.designation;
    EXPECT_GT(t.tapping_drill, t.minor_diameter) << t.designation;
    if (t.system == unit::Thread::System::metric) {
      EXPECT_NEAR(t.tapping_drill, t.major - t.pitch, 0.051e-3) << t.designation;
    }
    if (t.clear_close) {
      EXPECT_GT(*t.clear_close, t.major) << t.designation;
      EXPECT_GT(*t.clear_medium, *t.clear_close) << t.designation;
      EXPECT_GT(*t.clear_loose, *t.clear_medium) << t.designation;
    }
    EXPECT_GT(t.stress_area, 3.14159 / 4 * t.root_diameter * t.root_diameter) << t.designation;
    EXPECT_LT(t.stress_area, 3.14159 / 4 * t.pitch_diameter * t.pitch_diameter) << t.designation;
  }
}

TEST(Threads, PerCentOfThread) {
  const std::string source = "shop lists of tapping drills, per cent of thread";
  published("ref", "3/8-16 UNC with 5/16, per cent of thread", source, How::from_memory, 77,
            look("3/8-16 UNC").thread_share * 100, 0.5);
  published("ref", "1/4-20 UNC with #7, per cent of thread", source, How::from_memory, 75,
            look("1/4-20 UNC").thread_share * 100, 0.5);
  published("ref", "1/2-13 UNC with 27/64, per cent of thread", source, How::from_memory, 78,
            look("1/2-13 UNC").thread_share * 100, 0.5);
}

TEST(Threads, UnknownSizesNameTheNearest) {
  for (const auto& [text, nearest] : {std::pair{"M9", "M10x1.5"},
                                      {"M8x1.2", "M8x1.25"},
                                      {"M40", "M36x4"},
                                      {"1/4-18 UNC", "1/4-20 UNC"},
                                      {"3/8-20 UNF", "3/8-24 UNF"},
                                      {"2-8 UNC", "1-8 UNC"},
                                      {"1/4-32 UNEF", "1/4-28 UNF"}}) {
    auto d = ref::thread_data(*unit::parse_thread(text));
    ASSERT_FALSE(d.ok()) << text;
    EXPECT_EQ(d.problem().nearest, nearest) << text;
    EXPECT_EQ(d.problem().found, text);
  }
}

TEST(Strength, ByClassAndSize) {
  const std::string iso = "ISO 898-1:1999, mechanical properties of screws";
  published("ref", "8.8 Rm at M16, MPa", iso, How::from_memory, 800, ref::strength("8.8", 0.016)->tensile / 1e6, 1e-9);
  published("ref", "8.8 Rp0.2 at M16, MPa", iso, How::from_memory, 640, ref::strength("8.8", 0.016)->yield / 1e6, 1e-9);
  published("ref", "8.8 Sp at M12, MPa", iso, How::read, 580, ref::strength("8.8", 0.012)->proof / 1e6, 1e-9);
  published("ref", "8.8 Rm at M18, MPa", iso, How::read, 830, ref::strength("8.8", 0.018)->tensile / 1e6, 1e-9);
  published("ref", "8.8 Sp at M18, MPa", iso, How::read, 600, ref::strength("8.8", 0.018)->proof / 1e6, 1e-9);
  published("ref", "10.9 Rm, MPa", iso, How::read, 1040, ref::strength("10.9", 0.010)->tensile / 1e6, 1e-9);
  published("ref", "12.9 Rm, MPa", iso, How::read, 1220, ref::strength("12.9", 0.008)->tensile / 1e6, 1e-9);
  published("ref", "M12 8.8 proof load, N", "ISO 898-1:1999 (printed area 84.3)", How::read, 48894,
            ref::strength("8.8", 0.012)->proof * 84.3e-6, 1);
  published("ref", "M8 12.9 least tensile load, N", "EN ISO 898-1 (public transcription)", How::read, 44600,
            ref::strength("12.9", 0.008)->tensile * look("M8").stress_area, 100);
  published("ref", "M16 8.8 least tensile load, N", "EN ISO 898-1 (public transcription)", How::read, 125000,
            ref::strength("8.8", 0.016)->tensile * look("M16").stress_area, 500);
  published("ref", "M20 8.8 least tensile load, N", "EN ISO 898-1 (public transcription)", How::read, 203000,
            ref::strength("8.8", 0.020)->tensile * look("M20").stress_area, 500);
  published("ref", "grade 5 tensile, psi", "SAE J429", How::from_memory, 120000,
            unit::in_unit(ref::strength("SAE grade 5", 0.00635)->tensile, "psi"), 1);
  published("ref", "grade 8 tensile, psi", "SAE J429", How::from_memory, 150000,
            unit::in_unit(ref::strength("grade 8", 0.00635)->tensile, "psi"), 1);
  EXPECT_EQ(ref::strength("class 12.9", 0.008)->name, "12.9");
  auto unknown = ref::strength("8.9", 0.008);
  ASSERT_FALSE(unknown.ok());
  EXPECT_EQ(unknown.problem().nearest, "8.8");
  EXPECT_FALSE(ref::strength("8.8", 0.040).ok());
  EXPECT_FALSE(ref::strength("8.8", 0).ok());
  EXPECT_FALSE(ref::strength("8.8", std::nan("")).ok());
  EXPECT_FALSE(ref::strength("grade 5", 0.030).ok());
  for (const ref::StrengthClass& c : ref::strength_table()) {
    EXPECT_GE(c.yield, c.proof) << c.name;
    EXPECT_GT(c.tensile, c.yield) << c.name;
    EXPECT_FALSE(c.source.empty());
  }
}
