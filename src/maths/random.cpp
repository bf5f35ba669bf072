#include "maths/random.h"

#include "maths/statistics.h"

namespace fettle::maths {
namespace {

/// Dimensions 2k and 2k + 1 share block k.
std::array<std::uint32_t, 4> block(std::uint64_t seed, std::uint64_t item, std::uint32_t k) {
  return philox4x32({static_cast<std::uint32_t>(item), static_cast<std::uint32_t>(item >> 32), k, 0},
                    {static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32)});
}

/// 52 bits and a half step: the largest value is 1 - 2^-53, which a double holds exactly.
double open_unit(std::uint32_t high, std::uint32_t low) {
  const std::uint64_t bits = ((static_cast<std::uint64_t>(high) << 32) | low) >> 12;
  return (static_cast<double>(bits) + 0.5) * 0x1p-52;
}

double half_of(const std::array<std::uint32_t, 4>& b, std::uint32_t dimension) {
  return dimension % 2 == 0 ? open_unit(b[0], b[1]) : open_unit(b[2], b[3]);
}

}  // namespace

std::array<std::uint32_t, 4> philox4x32(std::array<std::uint32_t, 4> c, std::array<std::uint32_t, 2> key) {
  for (int round = 0; round < 10; ++round) {
    const std::uint64_t a = std::uint64_t{0xD2511F53} * c[0];
    const std::uint64_t b = std::uint64_t{0xCD9E8D57} * c[2];
    c = {static_cast<std::uint32_t>(b >> 32) ^ c[1] ^ key[0], static_cast<std::uint32_t>(b),
         static_cast<std::uint32_t>(a >> 32) ^ c[3] ^ key[1], static_cast<std::uint32_t>(a)};
    key[0] += 0x9E3779B9;
    key[1] += 0xBB67AE85;
  }
  return c;
}

double uniform(std::uint64_t seed, std::uint64_t item, std::uint32_t dimension) {
  return half_of(block(seed, item, dimension / 2), dimension);
}

double normal(std::uint64_t seed, std::uint64_t item, std::uint32_t dimension) {
  return normal_quantile(uniform(seed, item, dimension));
}

void normals(std::uint64_t seed, std::uint64_t item, std::uint32_t first, std::size_t count, double* out) {
  std::size_t i = 0;
  if (count > 0 && first % 2 == 1) out[i++] = normal(seed, item, first);
  for (; i + 1 < count; i += 2) {
    const auto b = block(seed, item, (first + static_cast<std::uint32_t>(i)) / 2);
    out[i] = normal_quantile(open_unit(b[0], b[1]));
    out[i + 1] = normal_quantile(open_unit(b[2], b[3]));
  }
  if (i < count) out[i] = normal(seed, item, first + static_cast<std::uint32_t>(i));
}

void uniforms(std::uint64_t seed, std::uint64_t item, std::uint32_t first, std::size_t count, double* out) {
  std::size_t i = 0;
  if (count > 0 && first % 2 == 1) out[i++] = uniform(seed, item, first);
  for (; i + 1 < count; i += 2) {
    const auto b = block(seed, item, (first + static_cast<std::uint32_t>(i)) / 2);
    out[i] = open_unit(b[0], b[1]);
    out[i + 1] = open_unit(b[2], b[3]);
  }
  if (i < count) out[i] = uniform(seed, item, first + static_cast<std::uint32_t>(i));
}

}  // namespace fettle::maths
