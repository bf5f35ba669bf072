// Numbers drawn in bulk are the numbers drawn one by one, to the bit.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "maths/random.h"
#include "maths/statistics.h"

namespace {

using namespace fettle::maths;

TEST(RandomInBulk, SameBitsAsOneByOne) {
  for (const std::uint32_t first : {0u, 1u, 2u, 63u, 4711u})
    for (const std::size_t count : {std::size_t{0}, std::size_t{1}, std::size_t{63}, std::size_t{64}, std::size_t{65},
                                    std::size_t{256}, std::size_t{1000}}) {
      std::vector<double> even(count), normal_numbers(count);
      uniforms(99, 5, first, count, even.data());
      normals(99, 5, first, count, normal_numbers.data());
      for (std::size_t i = 0; i < count; ++i) {
        const auto d = first + static_cast<std::uint32_t>(i);
        ASSERT_EQ(even[i], uniform(99, 5, d));
        ASSERT_EQ(normal_numbers[i], normal(99, 5, d));
      }
    }
}

TEST(RandomInBulk, Pairs) {
  for (std::uint32_t k = 0; k < 9; ++k) {
    EXPECT_EQ(uniform_pair(3, 7, k)[0], uniform(3, 7, 2 * k));
    EXPECT_EQ(uniform_pair(3, 7, k)[1], uniform(3, 7, 2 * k + 1));
  }
}

TEST(RandomInBulk, QuantilesOfMany) {
  std::vector<double> p, z(203);
  for (int i = 0; i < 200; ++i) p.push_back((i + 0.5) / 200);
  p.insert(p.end(), {0.0, 1.0, 1e-300});
  normal_quantiles(p.data(), p.size(), z.data());
  for (std::size_t i = 0; i < p.size(); ++i) EXPECT_EQ(z[i], normal_quantile(p[i]));
  std::vector<double> bad(64, 0.5), out(64);
  bad[3] = std::numeric_limits<double>::quiet_NaN();
  bad[4] = 2;
  normal_quantiles(bad.data(), 64, out.data());
  EXPECT_TRUE(std::isnan(out[3]) && std::isnan(out[4]));
  EXPECT_EQ(out[5], 0);
}

}  // namespace
