#include "program/block.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"

namespace fettle::program {
namespace {

constexpr double degree = std::numbers::pi / 180;

}  // namespace

bool whole(double x, long& out) {
  const double r = std::round(x);
  if (!(std::fabs(x - r) <= 1e-4) || !(std::fabs(r) < 1e15)) return false;
  out = static_cast<long>(r);
  return true;
}

double Values::fail(std::size_t at, std::string what, std::string found, std::string expected, std::string nearest) {
  if (!slip.any()) slip = {std::move(what), std::move(found), std::move(expected), std::move(nearest), at};
  return 0;
}

double Values::parameter(double number, std::size_t at) {
  long n = 0;
  if (!whole(number, n) || !Parameters::there_is(n))
    return fail(at, "there is no such parameter", "#" + base::shortest(number), "#1 to #5399");
  const int index = static_cast<int>(n);
  if (!parameters_.was_set(index)) {
    if (index >= 1000)
      return fail(at, "a parameter that nobody set; from #1000 on controls keep values of their own there",
                  fmt::format("#{}", index), "a parameter set before");
    const auto same = [index](const auto& u) { return u.first == index; };
    if (std::none_of(unset.begin(), unset.end(), same)) unset.emplace_back(index, at);
  }
  return parameters_.get(index);
}

double Values::one(const Step& s, double a) {
  switch (s.op) {
    case Op::negative:
      return -a;
    case Op::abs:
      return std::fabs(a);
    case Op::acos:
    case Op::asin:
      if (!(std::fabs(a) <= 1)) return fail(s.at, "outside -1 to 1", base::shortest(a), "-1 to 1");
      return (s.op == Op::acos ? std::acos(a) : std::asin(a)) / degree;
    case Op::cos:
      return std::cos(a * degree);
    case Op::sin:
      return std::sin(a * degree);
    case Op::tan:
      return std::tan(a * degree);
    case Op::exp:
      return std::exp(a);
    case Op::fix:
      return std::floor(a);
    case Op::fup:
      return std::ceil(a);
    case Op::ln:
      return a > 0 ? std::log(a) : fail(s.at, "the logarithm of nothing or less", base::shortest(a), "above 0");
    case Op::round:
      return std::round(a);
    case Op::sqrt:
      return a >= 0 ? std::sqrt(a) : fail(s.at, "the root of a negative number", base::shortest(a), "0 or more");
    default:
      return fail(s.at, "an operation this reader does not know");
  }
}

double Values::two(const Step& s, double a, double b) {
  switch (s.op) {
    case Op::power:
      if (a < 0 && std::round(b) != b)
        return fail(s.at, "a broken power of a negative number", base::shortest(a), "0 or more");
      if (a == 0 && b < 0) return fail(s.at, "division by nothing", "0", "not 0");
      return std::pow(a, b);
    case Op::times:
      return a * b;
    case Op::over:
      return b != 0 ? a / b : fail(s.at, "division by nothing", "0", "not 0");
    case Op::mod:
      return b != 0 ? a - b * std::floor(a / b) : fail(s.at, "division by nothing", "0", "not 0");
    case Op::plus:
      return a + b;
    case Op::minus:
      return a - b;
    case Op::both:
      return a != 0 && b != 0 ? 1 : 0;
    case Op::either:
      return a != 0 || b != 0 ? 1 : 0;
    case Op::one_of:
      return (a != 0) != (b != 0) ? 1 : 0;
    case Op::equal:
      return std::fabs(a - b) < 1e-6 ? 1 : 0;
    case Op::unequal:
      return std::fabs(a - b) < 1e-6 ? 0 : 1;
    case Op::greater:
      return a > b ? 1 : 0;
    case Op::at_least:
      return a >= b ? 1 : 0;
    case Op::less:
      return a < b ? 1 : 0;
    case Op::at_most:
      return a <= b ? 1 : 0;
    case Op::atan: {
      const double t = std::atan2(a, b) / degree;
      return t;
    }
    default:
      return fail(s.at, "an operation this reader does not know");
  }
}

double Values::formula(const Text& text, const Formula& f) {
  std::size_t top = 0;
  for (std::uint32_t i = 0; i < f.count; ++i) {
    const Step& s = text.steps[f.first + i];
    if (s.op == Op::number) {
      stack_[top++] = s.value;
    } else if (s.op == Op::numbered) {
      stack_[top++] = parameter(s.value, s.at);
    } else if (s.op == Op::named) {
      const auto v = parameters_.named(static_cast<int>(s.value), everywhere(static_cast<int>(s.value)));
      if (!v)
        fail(s.at, "this name was never set", "#<" + names_[static_cast<std::size_t>(s.value)] + ">",
             "a name set before");
      stack_[top++] = v.value_or(0);
    } else if (s.op == Op::indexed) {
      stack_[top - 1] = parameter(stack_[top - 1], s.at);
    } else if ((s.op >= Op::power && s.op <= Op::at_most) || s.op == Op::atan) {
      --top;
      stack_[top - 1] = two(s, stack_[top - 1], stack_[top]);
    } else {
      stack_[top - 1] = one(s, stack_[top - 1]);
    }
    if (slip.any()) return 0;
    if (!std::isfinite(stack_[top - 1])) return fail(s.at, "a number too large to reckon with");
  }
  return stack_[0];
}

bool Values::gather(const Text& text, const Line& line, Block& b) {
  b.has = 0;
  b.g_groups = 0;
  b.m_count = 0;
  b.settings.clear();
  const Word* w = text.words.data() + line.first;
  for (const Word* const end = w + line.count; w != end; ++w) {
    const double v = w->formula < 0 ? w->value : of(text, *w);
    const char c = w->letter;
    if (c == 'g' && w->formula < 0) {
      const int code = static_cast<int>(v);
      const auto group = static_cast<std::size_t>(group_of_g(code));
      b.g[group] = static_cast<std::int16_t>(code);
      b.g_at[group] = w->at;
      b.g_groups |= 1U << group;
    } else if (c == 'm' && w->formula < 0) {
      b.m[static_cast<std::size_t>(b.m_count)] = static_cast<std::int16_t>(v);
      b.m_at[static_cast<std::size_t>(b.m_count++)] = w->at;
    } else if (c == '#' || c == '<') {
      const Word& value = *++w;
      const double set = of(text, value);
      if (slip.any() || !setting(text, w[-1], set, b)) return false;
    } else if (c == 'g' || c == 'm') {
      if (slip.any() || !code(*w, v, b)) return false;
    } else {
      const auto k = static_cast<std::size_t>(c - 'a');
      b.value[k] = v;
      b.at[k] = w->at;
      b.has |= 1U << k;
    }
    if (slip.any()) return false;
  }
  return true;
}

/// A G or M whose number was reckoned.
bool Values::code(const Word& w, double value, Block& b) {
  long n = 0;
  if (w.letter == 'g') {
    const double tenths = std::round(value * 10);
    const bool near = std::fabs(value * 10 - tenths) <= 1e-3 && std::fabs(tenths) < 1e6;
    const int group = near ? group_of_g(static_cast<int>(tenths)) : -1;
    if (group < 0)
      return fail(w.at, "there is no such G code here", "G" + base::shortest(value), {}, nearest_g(value)), false;
    const auto k = static_cast<std::size_t>(group);
    if ((b.g_groups >> k & 1U) != 0)
      return fail(w.at, "two G words of one modal group on a line", "G" + g_text(static_cast<int>(tenths))), false;
    b.g[k] = static_cast<std::int16_t>(tenths);
    b.g_at[k] = w.at;
    b.g_groups |= 1U << k;
    return true;
  }
  const int group = whole(value, n) && n >= 0 && n < 1000 ? group_of_m(static_cast<int>(n)) : -1;
  if (group < 0)
    return fail(w.at, "there is no such M code here", "M" + base::shortest(value), {}, nearest_m(value)), false;
  for (int i = 0; i < b.m_count; ++i) {
    const int other = b.m[static_cast<std::size_t>(i)];
    if (group_of_m(other) == group && !(group == 8 && other != n && other + n == 15))
      return fail(w.at, "two M words of one modal group on a line", fmt::format("M{}", n)), false;
  }
  b.m[static_cast<std::size_t>(b.m_count)] = static_cast<std::int16_t>(n);
  b.m_at[static_cast<std::size_t>(b.m_count++)] = w.at;
  return true;
}

bool Values::setting(const Text& text, const Word& w, double value, Block& b) {
  if (w.letter == '<') {
    b.settings.push_back({static_cast<int>(w.value), true, value});
    return true;
  }
  long n = 0;
  const double index = of(text, w);
  if (slip.any()) return false;
  if (!whole(index, n) || !Parameters::there_is(n))
    return fail(w.at, "there is no such parameter", "#" + base::shortest(index), "#1 to #5399"), false;
  b.settings.push_back({static_cast<int>(n), false, value});
  return true;
}

}  // namespace fettle::program
