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

std::array<double, 2> uniform_pair(std::uint64_t seed, std::uint64_t item, std::uint32_t pair) {
  const auto b = block(seed, item, pair);
  return {open_unit(b[0], b[1]), open_unit(b[2], b[3])};
}

double normal(std::uint64_t seed, std::uint64_t item, std::uint32_t dimension) {
  return normal_quantile(uniform(seed, item, dimension));
}

namespace {

/// So many numbers at a time: short loops of one length over plain arrays, which compilers turn into vector code.
constexpr std::size_t chunk = 64, half_chunk = chunk / 2;

/// uniform(seed, item, first + i) for i below `chunk`; `first` even.
void uniform_chunk(std::uint64_t seed, std::uint64_t item, std::uint32_t first, double* out) {
  std::uint32_t c0[half_chunk], c1[half_chunk], c2[half_chunk], c3[half_chunk];
  const auto low = static_cast<std::uint32_t>(item), high = static_cast<std::uint32_t>(item >> 32);
  for (std::size_t i = 0; i < half_chunk; ++i) {
    c0[i] = low;
    c1[i] = high;
    c2[i] = first / 2 + static_cast<std::uint32_t>(i);
    c3[i] = 0;
  }
  std::uint32_t k0 = static_cast<std::uint32_t>(seed), k1 = static_cast<std::uint32_t>(seed >> 32);
  for (int round = 0; round < 10; ++round) {
    for (std::size_t i = 0; i < half_chunk; ++i) {
      const std::uint64_t a = std::uint64_t{0xD2511F53} * c0[i], b = std::uint64_t{0xCD9E8D57} * c2[i];
      c0[i] = static_cast<std::uint32_t>(b >> 32) ^ c1[i] ^ k0;
      c1[i] = static_cast<std::uint32_t>(b);
      c2[i] = static_cast<std::uint32_t>(a >> 32) ^ c3[i] ^ k1;
      c3[i] = static_cast<std::uint32_t>(a);
    }
    k0 += 0x9E3779B9;
    k1 += 0xBB67AE85;
  }
  for (std::size_t i = 0; i < half_chunk; ++i) {
    out[2 * i] = open_unit(c0[i], c1[i]);
    out[2 * i + 1] = open_unit(c2[i], c3[i]);
  }
}

/// Fills out[0 .. count-1] by whole chunks and single numbers at both ends.
template <class Chunk, class One>
void fill(std::uint32_t first, std::size_t count, double* out, const Chunk& whole, const One& one) {
  std::size_t i = 0;
  if (count > 0 && first % 2 == 1) out[i++] = one(first);
  for (; i + chunk <= count; i += chunk) whole(first + static_cast<std::uint32_t>(i), out + i);
  for (; i < count; ++i) out[i] = one(first + static_cast<std::uint32_t>(i));
}

}  // namespace

void normals(std::uint64_t seed, std::uint64_t item, std::uint32_t first, std::size_t count, double* out) {
  fill(
      first, count, out,
      [&](std::uint32_t from, double* to) {
        double p[chunk];
        uniform_chunk(seed, item, from, p);
        normal_quantiles(p, chunk, to);
      },
      [&](std::uint32_t d) { return normal(seed, item, d); });
}

void uniforms(std::uint64_t seed, std::uint64_t item, std::uint32_t first, std::size_t count, double* out) {
  fill(
      first, count, out, [&](std::uint32_t from, double* to) { uniform_chunk(seed, item, from, to); },
      [&](std::uint32_t d) { return uniform(seed, item, d); });
}

}  // namespace fettle::maths
