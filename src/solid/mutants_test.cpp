// A thousand and more spoilt STEP texts through the door: each is read as a sound solid or refused with one problem;
// the program itself never crashes or hangs.
#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <mutex>
#include <thread>

#include "base/text.h"
#include "fuzz/step_mutants.h"
#include "solid/build.h"
#include "solid/solid.h"
#include "step/part21.h"

namespace fettle::solid {
namespace {

struct Count {
  std::atomic<int> read{0}, other_volume{0}, early{0}, late{0}, broke{0}, endless{0};
};

void run(const std::string& seed, std::uint64_t first, std::uint64_t last, Count& count) {
  const auto whole = read_step_text(seed, "seed.step");
  ASSERT_TRUE(whole.ok()) << say(whole.problem());
  std::atomic<std::uint64_t> next{first};
  std::mutex said;
  const auto work = [&] {
    for (std::uint64_t i = next++; i < last; i = next++) {
      const std::string text = fuzz::mutate(seed, i);
      if (!step::parse(text, "mutant")) ++count.early;
      ReadOptions o;
      o.cpu_seconds = 5;
      o.wall_seconds = 20;
      const auto start = std::chrono::steady_clock::now();
      const auto m = read_step_text(text, "mutant", o);
      const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
      const std::lock_guard lock(said);
      EXPECT_LT(seconds, 25) << i << " " << fuzz::kind_of_mutant(i);
      if (m) {
        ++count.read;
        if (std::fabs(m->volume - whole->volume) > 1e-6 * whole->volume) ++count.other_volume;
        EXPECT_TRUE(m->volume > 0 && m->area > 0 && !m->faces.empty()) << i << " " << fuzz::kind_of_mutant(i);
        continue;
      }
      ASSERT_EQ(m.problems().size(), 1u);
      const Problem& p = m.problem();
      EXPECT_EQ(p.fault, Fault::bad_input) << i << " " << fuzz::kind_of_mutant(i) << ": " << say(p);
      EXPECT_EQ(p.where.file, "mutant");
      EXPECT_FALSE(p.what.empty());
      ++count.late;
      if (p.what.find("broke down") != std::string::npos) {
        ++count.broke;
        std::printf("kernel broke down on %d (%s): %s\n", static_cast<int>(i),
                    std::string(fuzz::kind_of_mutant(i)).c_str(), p.found.c_str());
      }
      if (p.what.find("processor time") != std::string::npos || p.what.find("come to an end") != std::string::npos) {
        ++count.endless;
        std::printf("endless on %d (%s)\n", static_cast<int>(i), std::string(fuzz::kind_of_mutant(i)).c_str());
      }
    }
  };
  std::thread second(work);
  work();
  second.join();
}

TEST(Mutants, over_a_thousand_are_read_or_refused) {
  const auto start = std::chrono::steady_clock::now();
  const auto block = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/fuzz/seeds/block.stp");
  ASSERT_TRUE(block.ok()) << say(block.problem());
  const auto part = demo_part();
  ASSERT_TRUE(part.ok());
  Count count;
  run(*block, 0, 1000, count);
  run(*part, 0, 150, count);
  const int refused = count.late;
  std::printf(
      "%d read (%d with another volume), %d refused: %d by the text reader, %d by the kernel's guards, %d crashes and "
      "%d endless runs held in the child; %.0f s\n",
      count.read.load(), count.other_volume.load(), refused, count.early.load(),
      refused - count.early - count.broke - count.endless, count.broke.load(), count.endless.load(),
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
  EXPECT_EQ(count.read + refused, 1150);
  EXPECT_GT(refused, 300);
}

}  // namespace
}  // namespace fettle::solid
