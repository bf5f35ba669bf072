// Spoilt STEP files: each must give a value or one clear problem, at once.
#include <gtest/gtest.h>

#include <ctime>
#include <filesystem>
#include <map>

#include "base/text.h"
#include "fuzz/step_mutants.h"
#include "step/judge.h"
#include "step/pmi.h"

namespace fettle::step {
namespace {

constexpr std::uint64_t synthetic_mutants = 4000, part_mutants = 460;

struct Tally {
  std::size_t parsed = 0, refused = 0;
  double slowest = 0;
};

void check(const std::string& text, const std::string& what, Tally& tally) {
  SCOPED_TRACE(what);
  const std::clock_t start = std::clock();  // of the processor: other work on the machine is none of the reader's
  auto file = parse(text, "mutant.stp");
  if (!file.ok()) {
    ++tally.refused;
    ASSERT_EQ(file.problems().size(), 1u);
    EXPECT_GT(file.problem().what.size(), 5u);
    EXPECT_GE(file.problem().where.line, 1);
    EXPECT_GE(file.problem().where.column, 1);
    EXPECT_EQ(file.problem().fault, Fault::bad_input);
  } else {
    ++tally.parsed;
    EXPECT_TRUE(parse(slim_copy(*file)).ok());
    auto pmi = read_pmi(*file);
    if (!pmi.ok()) {
      EXPECT_EQ(pmi.problems().size(), 1u);
      EXPECT_EQ(pmi.problem().fault, Fault::bad_input);
    } else {
      const Shapes shapes = read_shapes(*file, pmi->units.length.value_or(1e-3));
      for (const Judged& j : judge(*pmi, stated(shapes))) {
        if (j.standing == Standing::requirement) {
          EXPECT_TRUE(j.why.empty());
        } else {
          EXPECT_FALSE(j.why.empty());
        }
      }
    }
  }
  const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
  tally.slowest = std::max(tally.slowest, seconds);
  EXPECT_LT(seconds, 1.0);
}

void check_all(const std::string& path, std::uint64_t first, std::uint64_t count) {
  auto seed = base::read_file(path);
  ASSERT_TRUE(seed.ok()) << say(seed.problem());
  Tally tally;
  for (std::uint64_t n = first; n < first + count; ++n)
    check(fuzz::mutate(*seed, n),
          path + " mutant " + std::to_string(n) + " (" + std::string(fuzz::kind_of_mutant(n)) + ")", tally);
  // Both ends of the reader are exercised: neither all refused nor all swallowed.
  EXPECT_GT(tally.parsed, count / 10);
  EXPECT_GT(tally.refused, count / 10);
  std::printf("%s: %zu read, %zu refused, slowest %.0f ms\n", std::filesystem::path(path).filename().c_str(),
              tally.parsed, tally.refused, 1000 * tally.slowest);
}

TEST(SpoiltStep, the_seed_itself_reads_whole) {
  auto text = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/fuzz/seeds/block.stp");
  ASSERT_TRUE(text.ok());
  auto file = parse(*text);
  ASSERT_TRUE(file.ok()) << say(file.problem());
  auto pmi = read_pmi(*file);
  ASSERT_TRUE(pmi.ok());
  EXPECT_TRUE(pmi->unread.empty());
  EXPECT_EQ(pmi->dimensions.size(), 6u);
  EXPECT_EQ(pmi->tolerances.size(), 6u);
  EXPECT_EQ(pmi->datums.size(), 4u);
}

TEST(SpoiltStep, same_number_same_bytes) {
  auto seed = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/fuzz/seeds/block.stp");
  ASSERT_TRUE(seed.ok());
  std::map<std::string, int> seen;
  for (std::uint64_t n = 0; n < 230; ++n) {
    EXPECT_EQ(fuzz::mutate(*seed, n), fuzz::mutate(*seed, n));
    ++seen[fuzz::mutate(*seed, n)];
  }
  EXPECT_GT(seen.size(), 220u);
  EXPECT_EQ(fuzz::mutate("", 0), "");
  for (std::uint64_t n = 0; n < 46; ++n) {
    (void)fuzz::mutate("", n);
    (void)fuzz::mutate("DATA;", n);
  }
}

TEST(SpoiltStep, synthetic_block) {
  check_all(std::string(FETTLE_SOURCE_DIR) + "/fuzz/seeds/block.stp", 0, synthetic_mutants);
}

TEST(SpoiltStep, real_parts) {
  const std::string dir = FETTLE_PARTS_DIR;
  bool any = false;
  for (const char* name : {"nist_ctc_01_asme1_ap242-e1.stp", "nist_ctc_03_asme1_ap242-e2.stp"}) {
    if (!std::filesystem::exists(dir + "/" + name)) continue;
    any = true;
    check_all(dir + "/" + name, 100'000, part_mutants);
  }
  if (!any) GTEST_SKIP() << "skipped: no parts in " << dir << ", so only the synthetic block was spoilt";
}

}  // namespace
}  // namespace fettle::step
