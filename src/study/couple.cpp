#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "base/text.h"
#include "maths/root.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;

Finding start(std::string_view operation, std::string_view feature, std::string_view question, std::string title,
              unit::Kind kind) {
  Finding f;
  f.operation = std::string(operation);
  f.feature = std::string(feature);
  f.question = std::string(question);
  f.id = finding::make_id(base::lower(operation), feature, question);
  f.title = std::move(title);
  f.kind = kind;
  f.value = f.margin = std::numeric_limits<double>::quiet_NaN();
  return f;
}

void settle(Context& c, Finding f, const std::function<double(const std::vector<double>&)>& value_at) {
  if (c.options.bands) {
    finding::judge(f, [&](const std::vector<double>& v) {
      look_for_stop(c);
      return value_at(v);
    });
  } else {
    std::vector<double> stated;
    for (const auto& a : f.assumptions) stated.push_back(a.value);
    auto kept = std::move(f.assumptions);
    f.assumptions.clear();
    finding::judge(f, [&](const std::vector<double>&) { return value_at(stated); });
    f.assumptions = std::move(kept);
  }
  if (f.text.empty() && f.limit.type == finding::Limit::Type::share && f.value < 1e-9) f.text = share_words(f.value);
  if (f.yes_no && std::isfinite(f.margin)) f.margin = finding::within(f.value, f.limit) ? 1 : -1;
  if (f.state == finding::State::beyond && f.range.empty()) f.range = "the formula gives no number here";
  c.study.findings.push_back(std::move(f));
}

void leave_open(Context& c, Finding f, std::vector<std::string> missing) {
  f.state = finding::State::open;
  f.value = f.margin = std::numeric_limits<double>::quiet_NaN();
  f.missing = std::move(missing);
  if (f.sentence.empty()) f.sentence = fmt::format("{}: not computed. Give {}.", f.title, base::join(f.missing, "; "));
  c.study.findings.push_back(std::move(f));
}

plan::Number assumed(unit::Kind kind, double value, double low, double high, std::string source,
                     std::string replaced_by) {
  plan::Number n;
  n.origin = plan::Origin::assumed;
  n.kind = kind;
  n.si = value, n.low = low, n.high = high;
  n.source = std::move(source), n.replaced_by = std::move(replaced_by);
  return n;
}

int assume(Finding& f, const plan::Number& n, std::string name, std::string key) {
  if (!n.known() || (n.given() && !n.banded()) || (!n.banded() && n.source.empty())) return -1;
  if (!n.banded()) return -1;
  finding::Assumption a;
  a.name = std::move(name);
  a.key = std::move(key);
  a.value = n.si;
  a.low = n.low;
  a.high = n.high;
  a.kind = n.kind;
  a.source = n.given() ? "the plan gives this band" : n.source;
  a.replaced_by = n.replaced_by;
  f.assumptions.push_back(std::move(a));
  return static_cast<int>(f.assumptions.size()) - 1;
}

frame::Vec3 direction(std::string_view w) {
  if (w.size() != 2) return {};
  const double s = w[0] == '-' ? -1 : 1;
  return {w[1] == 'x' ? s : 0.0, w[1] == 'y' ? s : 0.0, w[1] == 'z' ? s : 0.0};
}

Surface surface_of(const plan::Plan& plan, std::string_view reference) {
  return surface_of(plan, plan::parse_reference(reference));
}

Surface surface_of(const plan::Plan& plan, const plan::Reference& r) {
  Surface s;
  const plan::Feature* f = plan::find_feature(plan, r.id);
  if (f == nullptr) return s;
  s.feature = f;
  s.reference = r.id + (r.side.empty() ? "" : "." + r.side) + (r.index > 0 ? fmt::format("@{}", r.index) : "");
  const std::string& kind = f->kind.value;
  frame::Vec3 at;
  if (!f->at.value.empty())
    at = f->at.value[static_cast<std::size_t>(std::clamp(r.index - 1, 0, static_cast<int>(f->at.value.size()) - 1))];
  if (kind == "profile") {
    if (r.side.empty() || f->size.value.size() < 2) return s;
    s.normal = direction(r.side);
    const double sx = f->size.value[0], sy = f->size.value[1];
    s.point = at + frame::Vec3{0.5 * sx * s.normal.x, 0.5 * sy * s.normal.y, 0};
    s.extent_u = s.normal.x != 0 ? sy : sx;
    s.extent_v = f->from.known() && f->to.known() ? f->to.si - f->from.si : 0;
    s.there = s.normal.z == 0 && !f->at.value.empty();
    return s;
  }
  if (kind == "face" || kind == "datum" || kind == "pocket" || kind == "slot" || kind == "boss") {
    s.point = at;
    s.normal = direction(f->normal.value);
    if (f->diameter.known() && f->diameter.value.nominal) s.extent_u = s.extent_v = *f->diameter.value.nominal;
    else if (f->diameter.known() && f->diameter.value.lower && f->diameter.value.upper)
      s.extent_u = s.extent_v = 0.5 * (*f->diameter.value.lower + *f->diameter.value.upper);
    if (f->size.value.size() >= 2) {
      s.extent_u = f->size.value[0];
      s.extent_v = f->size.value[1];
    }
    s.there = f->normal.known() && !f->at.value.empty();
    return s;
  }
  if (!f->diameter.known() && !f->drill.known()) return s;
  s.round = true;
  s.normal = {0, 0, 1};
  if (f->normal.known()) {
    const frame::Vec3 n = direction(f->normal.value);
    s.normal = {std::fabs(n.x), std::fabs(n.y), std::fabs(n.z)};
  }
  const unit::Limits& d = f->diameter.value;
  const double dia = d.lower && d.upper ? 0.5 * (*d.lower + *d.upper) : d.nominal ? *d.nominal : f->drill.si;
  s.radius = 0.5 * dia;
  s.from = f->from.known() ? f->from.si : 0;
  s.to = f->to.known() ? f->to.si : s.from;
  const double mid = 0.5 * (s.from + s.to);
  s.point = at;
  if (s.normal.z != 0) s.point.z = mid;
  else if (s.normal.x != 0) s.point.x = mid;
  else s.point.y = mid;
  s.there = !f->at.value.empty();
  return s;
}

bool drawn_within(const unit::Limits& limits, double drawn) {
  constexpr double typed = 0.6e-5;  // m; places are typed to a hundredth of a millimetre
  return limits.lower.value_or(drawn) - typed <= drawn && drawn <= limits.upper.value_or(drawn) + typed;
}

std::vector<std::string> sides_of(const plan::Feature& f) {
  if (f.kind.value == "profile") {
    std::vector<std::string> out;
    for (const char* side : {"+x", "-x", "+y", "-y"}) out.push_back(f.id.value + "." + side);
    return out;
  }
  return {f.id.value};
}

std::string words_of(const plan::Plan& plan, std::string_view reference) {
  const plan::Reference r = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, r.id);
  if (f == nullptr) return std::string(reference);
  std::string s = f->name.known() ? f->name.value : f->kind.value;
  const auto alike = [&](const plan::Feature& g) {
    return &g != f && !g.name.known() && g.kind.value == f->kind.value;
  };
  if (!f->name.known() && std::any_of(plan.features.begin(), plan.features.end(), alike)) s += " " + r.id;
  if (!r.side.empty()) {
    std::string side = r.side;
    side[1] = static_cast<char>(side[1] - 'a' + 'A');
    s += " " + side;
  }
  return s;
}

std::string lower_id(const plan::Operation& o) { return base::lower(o.id.value); }

std::string mm(const Context& c, double si) { return unit::print(si, unit::Kind::length, c.style); }

std::string capital(std::string s) {
  if (!s.empty() && s[0] >= 'a' && s[0] <= 'z') s[0] = static_cast<char>(s[0] - 'a' + 'A');
  return s;
}

std::string share_words(double share) {
  if (std::isfinite(share) && share < 1e-9) return "< 0.001 ppm";
  return unit::print(share, unit::Kind::fraction);
}

std::string share_words(double share, long long hits, double high) {
  if (hits > 0) return share_words(share);
  if (!(high > 0 && high < 1)) return "not known";
  // One digit, rounded up: the bound holds as printed. The hair below keeps 0.02 from becoming 0.03.
  const double step = std::pow(10.0, std::floor(std::log10(high)));
  return "< " + unit::print(std::ceil(high / step - 1e-9) * step, unit::Kind::fraction);
}

double flip(const std::function<double(double)>& f, double a, double b) {
  const double fa = f(a), fb = f(b);
  if (!(fa * fb <= 0) || !std::isfinite(fa) || !std::isfinite(fb)) return std::numeric_limits<double>::quiet_NaN();
  if (fa == 0 || fb == 0) return fa == 0 ? a : b;
  return maths::root_between(f, a, fa, b, fb);
}

}  // namespace fettle::study
