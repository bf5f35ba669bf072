#pragma once
// The bytes of a plain struct, field by field, so that a pure call can be kept by its inputs. Nothing to declare at the
// struct: any aggregate of up to 24 fields works; a field that is no plain value does not compile.
#include <array>
#include <cstdint>
#include <cstring>
#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <type_traits>
#include <vector>

namespace fettle::base {

namespace bytes_detail {
struct Any {
  template <class T>
  operator T() const;  // NOLINT: only ever named in unevaluated code
};
template <class T, std::size_t... I>
constexpr bool brace_takes(std::index_sequence<I...>) {
  return requires { T{(static_cast<void>(I), Any{})...}; };
}
template <class T, std::size_t N = 25>
constexpr std::size_t field_count() {
  if constexpr (N == 0) return 0;
  else if constexpr (brace_takes<T>(std::make_index_sequence<N>{})) return N;
  else return field_count<T, N - 1>();
}
template <class T>
constexpr bool always_false = false;

// clang-format off
template <class T>
auto tie_fields(const T& v) {
  constexpr std::size_t n = field_count<T>();
  static_assert(n <= 24, "at most 24 fields: group some into a struct");
  if constexpr (n == 0) return std::tie();
#define FETTLE_TIE(N, ...) else if constexpr (n == N) { const auto& [__VA_ARGS__] = v; return std::tie(__VA_ARGS__); }
  FETTLE_TIE(1, a) FETTLE_TIE(2, a, b) FETTLE_TIE(3, a, b, c) FETTLE_TIE(4, a, b, c, d) FETTLE_TIE(5, a, b, c, d, e)
  FETTLE_TIE(6, a, b, c, d, e, f) FETTLE_TIE(7, a, b, c, d, e, f, g) FETTLE_TIE(8, a, b, c, d, e, f, g, h)
  FETTLE_TIE(9, a, b, c, d, e, f, g, h, i) FETTLE_TIE(10, a, b, c, d, e, f, g, h, i, j)
  FETTLE_TIE(11, a, b, c, d, e, f, g, h, i, j, k) FETTLE_TIE(12, a, b, c, d, e, f, g, h, i, j, k, l)
  FETTLE_TIE(13, a, b, c, d, e, f, g, h, i, j, k, l, m) FETTLE_TIE(14, a, b, c, d, e, f, g, h, i, j, k, l, m, o)
  FETTLE_TIE(15, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p) FETTLE_TIE(16, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q)
  FETTLE_TIE(17, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r)
  FETTLE_TIE(18, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s)
  FETTLE_TIE(19, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s, t)
  FETTLE_TIE(20, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s, t, u)
  FETTLE_TIE(21, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s, t, u, w)
  FETTLE_TIE(22, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s, t, u, w, x)
  FETTLE_TIE(23, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s, t, u, w, x, y)
  FETTLE_TIE(24, a, b, c, d, e, f, g, h, i, j, k, l, m, o, p, q, r, s, t, u, w, x, y, z)
#undef FETTLE_TIE
}
// clang-format on
}  // namespace bytes_detail

/// Appends the bytes of `v` to `out`: doubles by bits (-0.0 and 0.0 differ, NaNs by payload), texts and lists with
/// their length.
template <class T>
void append_bytes(std::string& out, const T& v);

namespace bytes_detail {
inline void raw(std::string& out, const void* p, std::size_t n) { out.append(static_cast<const char*>(p), n); }
inline void length(std::string& out, std::size_t n) {
  const auto k = static_cast<std::uint64_t>(n);
  raw(out, &k, sizeof k);
}
template <class T>
struct Append {
  static void to(std::string& out, const T& v) {
    if constexpr (std::is_arithmetic_v<T> || std::is_enum_v<T>) raw(out, &v, sizeof v);
    else if constexpr (std::is_aggregate_v<T>)
      std::apply([&](const auto&... f) { (append_bytes(out, f), ...); }, tie_fields(v));
    else static_assert(always_false<T>, "no plain value");
  }
};
template <>
struct Append<std::string> {
  static void to(std::string& out, const std::string& v) {
    length(out, v.size());
    out += v;
  }
};
template <class U>
struct Append<std::vector<U>> {
  static void to(std::string& out, const std::vector<U>& v) {
    length(out, v.size());
    if constexpr (std::is_same_v<U, double>) raw(out, v.data(), v.size() * sizeof(double));
    else
      for (const U& u : v) append_bytes(out, u);
  }
};
template <class U, std::size_t N>
struct Append<std::array<U, N>> {
  static void to(std::string& out, const std::array<U, N>& v) {
    for (const U& u : v) append_bytes(out, u);
  }
};
template <class U>
struct Append<std::optional<U>> {
  static void to(std::string& out, const std::optional<U>& v) {
    out += v ? '\1' : '\0';
    if (v) append_bytes(out, *v);
  }
};
template <class A, class B>
struct Append<std::pair<A, B>> {
  static void to(std::string& out, const std::pair<A, B>& v) {
    append_bytes(out, v.first);
    append_bytes(out, v.second);
  }
};
}  // namespace bytes_detail

template <class T>
void append_bytes(std::string& out, const T& v) {
  bytes_detail::Append<T>::to(out, v);
}
template <class T>
std::string bytes_of(const T& v) {
  std::string out;
  append_bytes(out, v);
  return out;
}

}  // namespace fettle::base
