#include "calc/locating/pose.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/locating/determinacy.h"

namespace fettle::locating {

namespace {

using frame::cross;
using frame::dot;
using frame::norm;
using frame::unit;
using maths::Matrix;

bool finite(Vec3 v) { return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z); }

Vec3 column(const Matrix& P, std::size_t first, std::size_t j) {
  return {P(first, j), P(first + 1, j), P(first + 2, j)};
}
Vec3 shift_at(const Matrix& P, std::size_t contact, Vec3 p) {
  return column(P, 0, contact) + cross(column(P, 3, contact), p);
}

/// Largest |sum of +-most_i v_i|: the farthest corner of a zonotope. With six contacts 32 sign patterns tell it
/// exactly.
double farthest(const std::vector<Vec3>& v) {
  double most = 0;
  const std::size_t patterns = v.empty() ? 0 : std::size_t{1} << (v.size() - 1);
  for (std::size_t bits = 0; bits < patterns; ++bits) {
    Vec3 sum = v.back();
    for (std::size_t i = 0; i + 1 < v.size(); ++i) sum = (bits >> i) & 1 ? sum + v[i] : sum - v[i];
    most = std::max(most, norm(sum));
  }
  return most;
}

FeatureError effect(const Matrix& P, const PoseInputs& in, const Feature& f) {
  FeatureError e;
  e.name = f.name;
  const Vec3 n = unit(f.n);
  const bool directed = norm(n) > 0;
  std::vector<Vec3> steps;
  double variance = 0;
  for (std::size_t i = 0; i < in.contacts.size(); ++i) {
    const Deviation& d = in.deviations[i];
    const Vec3 v = shift_at(P, i, f.p);
    e.mean = e.mean + d.mean * v;
    e.worst = e.worst + d.most * Vec3{std::fabs(v.x), std::fabs(v.y), std::fabs(v.z)};
    e.s = e.s + d.s * d.s * Vec3{v.x * v.x, v.y * v.y, v.z * v.z};
    const double along = dot(n, v);
    e.along_mean += d.mean * along;
    e.along_worst += d.most * std::fabs(along);
    e.along_s += d.s * d.s * along * along;
    steps.push_back(d.most * v);
    const double part = d.s * d.s * (directed ? along * along : dot(v, v));
    variance += part;
    e.contributors.push_back({i, v, d.most * (directed ? std::fabs(along) : norm(v)), part});
  }
  e.s = {std::sqrt(e.s.x), std::sqrt(e.s.y), std::sqrt(e.s.z)};
  e.along_s = std::sqrt(e.along_s);
  e.worst_distance = farthest(steps);
  for (Contributor& c : e.contributors) c.share = variance > 0 ? c.share / variance : 0;
  std::stable_sort(e.contributors.begin(), e.contributors.end(), [](const Contributor& a, const Contributor& b) {
    return a.share != b.share ? a.share > b.share : a.most > b.most;
  });
  return e;
}

}  // namespace

Outcome<Matrix> pose_per_deviation(const std::vector<Contact>& contacts) {
  const Outcome<Determinacy> d = determinacy(contacts);
  if (!d.ok()) return d.problems();
  if (!d->determinate) {
    Problems problems;
    for (const std::string& words : d->words) problems.push_back(bad("the contacts do not give one pose: " + words));
    return problems;
  }
  const std::optional<Matrix> P = maths::inverse(contact_jacobian(contacts));
  if (!P) return bad("the contacts give no pose to working accuracy");
  return *P;
}

Outcome<Matrix> shift_per_deviation(const std::vector<Contact>& contacts, Vec3 p) {
  const Outcome<Matrix> P = pose_per_deviation(contacts);
  if (!P.ok()) return P.problems();
  if (!finite(p)) return bad("the point is not a number");
  Matrix S(3, contacts.size());
  for (std::size_t i = 0; i < contacts.size(); ++i) {
    const Vec3 v = shift_at(*P, i, p);
    S(0, i) = v.x;
    S(1, i) = v.y;
    S(2, i) = v.z;
  }
  return S;
}

Outcome<PoseResult> pose(const PoseInputs& in) {
  const Outcome<Matrix> P = pose_per_deviation(in.contacts);
  Problems problems = P.ok() ? Problems{} : P.problems();
  if (in.deviations.size() != in.contacts.size())
    problems.push_back(bad("every contact needs one deviation", std::to_string(in.deviations.size()),
                           std::to_string(in.contacts.size())));
  for (const Deviation& d : in.deviations)
    if (!std::isfinite(d.mean) || !(d.most >= 0) || !(d.s >= 0) || !std::isfinite(d.most) || !std::isfinite(d.s))
      problems.push_back(bad("a deviation is impossible", base::shortest(d.mean), "finite, with spreads of 0 or more"));
  for (const Feature& f : in.features)
    if (!finite(f.p) || !finite(f.n)) problems.push_back(bad(f.name + ": a coordinate is not a number"));
  if (!problems.empty()) return problems;
  PoseResult r;
  for (std::size_t i = 0; i < in.contacts.size(); ++i) {
    r.t = r.t + in.deviations[i].mean * column(*P, 0, i);
    r.w = r.w + in.deviations[i].mean * column(*P, 3, i);
  }
  for (const Feature& f : in.features) r.features.push_back(effect(*P, in, f));
  return r;
}

}  // namespace fettle::locating
