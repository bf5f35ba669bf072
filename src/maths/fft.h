#pragma once
// Discrete Fourier transform of a power of two.
#include <complex>
#include <vector>

namespace fettle::maths {

/// In place, radix 2: X[k] = sum of x[n] exp(-2 pi i k n / N), not scaled. The size must be a power of two (1, 2, 4,
/// ...); returns false and leaves `x` alone otherwise. Error: a few units in the last place times log2 N.
bool fft(std::vector<std::complex<double>>& x);

/// The way back: x[n] = 1/N sum of X[k] exp(+2 pi i k n / N).
bool inverse_fft(std::vector<std::complex<double>>& x);

/// The least power of two that is not below n (1 for 0).
std::size_t power_of_two_from(std::size_t n);

}  // namespace fettle::maths
