#pragma once
// Counter-based random numbers: a number is a pure function of (seed, item, dimension), so that item 4711 is the same
// whichever thread draws it and however many items are drawn.
// Philox4x32-10 (Salmon, Moraes, Dror, Shaw: Parallel random numbers, as easy as 1, 2, 3; SC11, 2011).
#include <array>
#include <cstddef>
#include <cstdint>

namespace fettle::maths {

/// One block of Philox4x32 with ten rounds: 128 random bits from a counter and a key.
std::array<std::uint32_t, 4> philox4x32(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key);

/// Uniform number in the open interval (0, 1), 52 bits, never 0 and never 1.
double uniform(std::uint64_t seed, std::uint64_t item, std::uint32_t dimension);

/// uniform() of the dimensions 2 pair and 2 pair + 1, for the price of one.
std::array<double, 2> uniform_pair(std::uint64_t seed, std::uint64_t item, std::uint32_t pair);

/// Standard normal number (mean 0, s 1) by inversion of uniform(), so that it rises with the uniform number.
double normal(std::uint64_t seed, std::uint64_t item, std::uint32_t dimension);

/// normal(seed, item, first), normal(seed, item, first + 1), ... into out[0 .. count-1]; same numbers as one by one,
/// faster.
void normals(std::uint64_t seed, std::uint64_t item, std::uint32_t first, std::size_t count, double* out);
/// The same for uniform().
void uniforms(std::uint64_t seed, std::uint64_t item, std::uint32_t first, std::size_t count, double* out);

}  // namespace fettle::maths
