#include "finding/finding.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fettle::finding {

std::string_view word(State state) {
  switch (state) {
    case State::outside:
      return "outside";
    case State::tight:
      return "tight";
    case State::beyond:
      return "beyond";
    case State::open:
      return "open";
    case State::inside:
      return "inside";
  }
  return "open";
}

Limit upper(double limit) { return {Limit::Type::upper, 0, limit, 0}; }
Limit lower(double limit, double asked_if_zero) { return {Limit::Type::lower, limit, 0, asked_if_zero}; }
Limit between(double low, double high) { return {Limit::Type::between, low, high, 0}; }
Limit share(double largest) { return {Limit::Type::share, 0, largest, 0}; }

namespace {
double relative(double distance, double limit, double asked) {
  const double scale = limit != 0 ? std::fabs(limit) : asked;
  return scale > 0 ? distance / scale : distance;
}
}  // namespace

double margin(double x, const Limit& l) {
  switch (l.type) {
    case Limit::Type::none:
      return std::numeric_limits<double>::quiet_NaN();
    case Limit::Type::upper:
      return relative(l.high - x, l.high, l.asked);
    case Limit::Type::lower:
      return relative(x - l.low, l.low, l.asked);
    case Limit::Type::between:
      return std::min(x - l.low, l.high - x) / (0.5 * (l.high - l.low));
    case Limit::Type::share:
      if (std::isnan(x)) return x;
      return x > 0 ? std::min(1.0, std::log10(l.high / x) / 3) : 1.0;
  }
  return std::numeric_limits<double>::quiet_NaN();
}

bool within(double x, const Limit& l) {
  switch (l.type) {
    case Limit::Type::none:
      return false;
    case Limit::Type::upper:
    case Limit::Type::share:
      return x <= l.high;
    case Limit::Type::lower:
      return x >= l.low;
    case Limit::Type::between:
      return x >= l.low && x <= l.high;
  }
  return false;
}

std::string make_id(std::string_view operation, std::string_view feature, std::string_view question,
                    std::string_view tool, std::string_view nest) {
  std::vector<std::string> parts;
  for (std::string_view p : {operation, feature, question, tool, nest}) parts.emplace_back(p.empty() ? "-" : p);
  while (parts.size() > 3 && parts.back() == "-") parts.pop_back();
  std::string id;
  for (const std::string& p : parts) id += (id.empty() ? "" : ".") + p;
  return id;
}

void judge(Finding& f, const std::function<double(const std::vector<double>&)>& value_at) {
  std::vector<double> stated;
  for (const Assumption& a : f.assumptions) stated.push_back(a.value);
  f.value = value_at(stated);
  f.margin = margin(f.value, f.limit);
  if (!std::isfinite(f.value)) {
    f.state = State::beyond;
    return;
  }
  const bool in = within(f.value, f.limit);
  std::vector<double> worst = stated;
  double least = f.margin;
  bool in_all = in;
  for (std::size_t i = 0; i < f.assumptions.size(); ++i) {
    Assumption& a = f.assumptions[i];
    double at[2] = {a.low, a.high};
    double m[2];
    bool inside_here[2];
    for (int end = 0; end < 2; ++end) {
      std::vector<double> v = stated;
      v[i] = at[end];
      const double x = value_at(v);
      m[end] = margin(x, f.limit);
      inside_here[end] = within(x, f.limit);
    }
    a.margin_at_low = m[0];
    a.margin_at_high = m[1];
    a.flips = in && (!inside_here[0] || !inside_here[1]);
    in_all = in_all && inside_here[0] && inside_here[1];
    const int bad_end = !(m[0] >= m[1]) ? 0 : 1;
    if (!(m[bad_end] >= f.margin)) worst[i] = at[bad_end];
    if (!(m[bad_end] >= least)) {
      least = m[bad_end];
      if (a.flips) f.worst = a.name;
    }
  }
  if (in && !f.assumptions.empty()) in_all = in_all && within(value_at(worst), f.limit);
  f.state = !in ? State::outside : in_all ? State::inside : State::tight;
}

void sort_by_need(std::vector<Finding>& findings) {
  const auto key = [](double m) { return std::isnan(m) ? 0.0 : m; };
  std::stable_sort(findings.begin(), findings.end(), [&](const Finding& a, const Finding& b) {
    if (a.state != b.state) return a.state < b.state;
    if (key(a.margin) != key(b.margin)) return key(a.margin) < key(b.margin);
    return a.id < b.id;
  });
}

}  // namespace fettle::finding
