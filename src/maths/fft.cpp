#include "maths/fft.h"

#include <cmath>

namespace fettle::maths {

bool fft(std::vector<std::complex<double>>& x) {
  const std::size_t n = x.size();
  if (n == 0 || (n & (n - 1)) != 0) return false;
  for (std::size_t i = 1, j = 0; i < n; ++i) {
    std::size_t bit = n >> 1;
    for (; (j & bit) != 0; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) std::swap(x[i], x[j]);
  }
  // One table of exact turns: a running product would gather rounding.
  std::vector<std::complex<double>> turn(n / 2);
  for (std::size_t k = 0; k < n / 2; ++k) {
    const double a = -2 * M_PI * static_cast<double>(k) / static_cast<double>(n);
    turn[k] = {std::cos(a), std::sin(a)};
  }
  for (std::size_t length = 2; length <= n; length <<= 1) {
    const std::size_t half = length / 2, step = n / length;
    for (std::size_t start = 0; start < n; start += length) {
      for (std::size_t k = 0; k < half; ++k) {
        const std::complex<double> w = turn[k * step], b = x[start + k + half], a = x[start + k];
        const std::complex<double> t{w.real() * b.real() - w.imag() * b.imag(),
                                     w.real() * b.imag() + w.imag() * b.real()};
        x[start + k] = a + t;
        x[start + k + half] = a - t;
      }
    }
  }
  return true;
}

bool inverse_fft(std::vector<std::complex<double>>& x) {
  for (auto& v : x) v = std::conj(v);
  if (!fft(x)) {
    for (auto& v : x) v = std::conj(v);
    return false;
  }
  for (auto& v : x) v = std::conj(v) / static_cast<double>(x.size());
  return true;
}

std::size_t power_of_two_from(std::size_t n) {
  std::size_t p = 1;
  while (p < n) p <<= 1;
  return p;
}

}  // namespace fettle::maths
