#include "calc/chatter/lobes_eigen.h"

#include <cmath>

namespace fettle::chatter {

namespace {

using Complex = std::complex<double>;
using maths::Response3;

/// Plain product: the library's guards against infinities cost more than the sum itself.
Complex mul(Complex a, Complex b) {
  return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
}

/// Vector that all rows of m are square to, by the largest cross product of two of them.
Three null_of(const Response3& m) {
  Three best{};
  double size = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    const std::size_t a = 3 * i, b = 3 * ((i + 1) % 3);
    const Three c{m[a + 1] * m[b + 2] - m[a + 2] * m[b + 1], m[a + 2] * m[b] - m[a] * m[b + 2],
                  m[a] * m[b + 1] - m[a + 1] * m[b]};
    const double n = std::norm(c[0]) + std::norm(c[1]) + std::norm(c[2]);
    if (n > size) size = n, best = c;
  }
  return best;
}

Three cubic(const Response3& m) {
  const Complex c2 = m[0] + m[4] + m[8],
                c1 = mul(m[0], m[4]) - mul(m[1], m[3]) + mul(m[0], m[8]) - mul(m[2], m[6]) + mul(m[4], m[8]) -
                     mul(m[5], m[7]),
                c0 = mul(m[0], mul(m[4], m[8]) - mul(m[5], m[7])) - mul(m[1], mul(m[3], m[8]) - mul(m[5], m[6])) +
                     mul(m[2], mul(m[3], m[7]) - mul(m[4], m[6]));
  // x^3 - c2 x^2 + c1 x - c0: shift the mean of the roots to 0.
  const Complex mean = c2 / 3.0, p = c1 - c2 * mean, q = mul(mean, c1 - 2.0 / 3.0 * mul(c2, mean)) - c0;
  const Complex root = std::sqrt(q * q / 4.0 + p * p * p / 27.0);
  const Complex plus = -q / 2.0 + root, minus = -q / 2.0 - root;
  Complex u = std::pow(std::norm(plus) > std::norm(minus) ? plus : minus, 1.0 / 3);
  const Complex turn(-0.5, std::sqrt(0.75));
  Three x;
  for (Complex& r : x) {
    r = mean + (std::norm(u) > 0 ? u - p / (3.0 * u) : Complex(0));
    u = mul(u, turn);
  }
  for (Complex& r : x)  // polish: the closed form loses digits where roots differ in size
    for (int round = 0; round < 2; ++round) {
      const Complex f = mul(mul(r - c2, r) + c1, r) - c0, d = mul(3.0 * r - 2.0 * c2, r) + c1;
      if (std::norm(d) > 0) {
        const Complex change = f / d;
        if (std::norm(change) < 0.01 * std::norm(r)) r -= change;
      }
    }
  return x;
}

}  // namespace

Response3 times(const Response3& a, const Response3& b) {
  Response3 c{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      c[3 * i + j] = mul(a[3 * i], b[j]) + mul(a[3 * i + 1], b[3 + j]) + mul(a[3 * i + 2], b[6 + j]);
  return c;
}

Three eigenvalues(const Response3& m, bool flat) {
  if (!flat) return cubic(m);
  const Complex half = 0.5 * (m[0] + m[4]), rest = 0.5 * (m[0] - m[4]),
                root = std::sqrt(mul(rest, rest) + mul(m[1], m[3]));
  return {half + root, half - root, 0};
}

void follow(const Three& before, Three& now, int count) {
  for (std::size_t i = 0; i + 1 < static_cast<std::size_t>(count); ++i) {
    std::size_t best = i;
    for (std::size_t k = i + 1; k < static_cast<std::size_t>(count); ++k)
      if (std::norm(now[k] - before[i]) < std::norm(now[best] - before[i])) best = k;
    std::swap(now[i], now[best]);
  }
}

Complex added_by(const Response3& part, const Response3& whole, Complex value) {
  Response3 m = whole, t{};
  for (std::size_t i = 0; i < 3; ++i) m[4 * i] -= value;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) t[3 * j + i] = m[3 * i + j];
  const Three r = null_of(m), l = null_of(t);
  Complex sum = 0, scale = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    scale += l[i] * r[i];
    for (std::size_t j = 0; j < 3; ++j) sum += l[i] * part[3 * i + j] * r[j];
  }
  return std::norm(scale) > 0 ? sum / scale : Complex(0);
}

}  // namespace fettle::chatter
