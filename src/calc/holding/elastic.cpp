#include "calc/holding/elastic.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

namespace fettle::holding {

namespace {

using Six = std::array<double, 6>;

Six row_of(Vec3 direction, Vec3 arm) {
  const Vec3 m = frame::cross(arm, direction);
  return {direction.x, direction.y, direction.z, m.x, m.y, m.z};
}
double along(const Six& row, const Six& motion) {
  double sum = 0;
  for (std::size_t i = 0; i < 6; ++i) sum += row[i] * motion[i];
  return sum;
}
Six times(const std::vector<double>& a, const Six& x) {
  Six y{};
  for (std::size_t i = 0; i < 6; ++i)
    for (std::size_t j = 0; j < 6; ++j) y[i] += a[6 * i + j] * x[j];
  return y;
}

}  // namespace

/// Inverse of the stiffness of the contacts that are on, by elimination with row exchange.
bool Springs::invert(const std::vector<bool>& on) {
  std::vector<double> k(36, 0);
  double length = 1e-9;
  for (std::size_t i = 0; i < contacts_.size(); ++i) {
    if (!on[i]) continue;
    const Contact& c = contacts_[i];
    const Vec3 n = c.normal, arm = c.at - about_;
    length = std::max(length, frame::norm(arm));
    const Vec3 axes[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    for (std::size_t a = 0; a < 3; ++a) {  // k_side on every axis, and what is missing along the normal
      const Six r = row_of(axes[a], arm);
      for (std::size_t p = 0; p < 36; ++p) k[p] += c.stiffness * c.side_share * r[p / 6] * r[p % 6];
    }
    const Six r = row_of(n, arm);
    for (std::size_t p = 0; p < 36; ++p) k[p] += c.stiffness * (1 - c.side_share) * r[p / 6] * r[p % 6];
  }
  for (std::size_t p = 0; p < 36; ++p) k[p] /= (p / 6 > 2 ? length : 1) * (p % 6 > 2 ? length : 1);
  double size = 0;
  for (std::size_t i = 0; i < 6; ++i) size = std::max(size, k[7 * i]);
  flex_.assign(36, 0);
  for (std::size_t i = 0; i < 6; ++i) flex_[7 * i] = 1;
  for (std::size_t c = 0; c < 6; ++c) {
    std::size_t best = c;
    for (std::size_t r = c + 1; r < 6; ++r)
      if (std::fabs(k[6 * r + c]) > std::fabs(k[6 * best + c])) best = r;
    if (!(std::fabs(k[6 * best + c]) > 1e-9 * size)) return false;
    for (std::size_t j = 0; j < 6; ++j) {
      std::swap(k[6 * c + j], k[6 * best + j]);
      std::swap(flex_[6 * c + j], flex_[6 * best + j]);
    }
    const double by = 1 / k[7 * c];
    for (std::size_t j = 0; j < 6; ++j) {
      k[6 * c + j] *= by;
      flex_[6 * c + j] *= by;
    }
    for (std::size_t r = 0; r < 6; ++r) {
      const double f = k[6 * r + c];
      if (r == c || f == 0) continue;
      for (std::size_t j = 0; j < 6; ++j) {
        k[6 * r + j] -= f * k[6 * c + j];
        flex_[6 * r + j] -= f * flex_[6 * c + j];
      }
    }
  }
  for (std::size_t p = 0; p < 36; ++p) flex_[p] /= (p / 6 > 2 ? length : 1) * (p % 6 > 2 ? length : 1);
  return true;
}

Springs::Springs(const std::vector<Contact>& contacts, const Load& rest, Vec3 about)
    : contacts_(contacts), about_(about) {
  const std::size_t n = contacts_.size();
  on_.assign(n, false);
  pressed_.assign(n, 0);
  Vec3 f = rest.force, m = rest.moment + frame::cross(rest.at - about, rest.force);
  for (std::size_t i = 0; i < n; ++i) {
    Contact& c = contacts_[i];
    c.normal = frame::unit(c.normal);
    on_[i] = c.kind == Contact::Kind::rest && c.stiffness > 0;
    if (c.kind != Contact::Kind::clamp) continue;
    f = f + c.force * c.normal;
    m = m + frame::cross(c.at - about, c.force * c.normal);
  }
  const Six load = {f.x, f.y, f.z, m.x, m.y, m.z};
  for (std::size_t round = 0; round <= n; ++round) {
    if (!invert(on_)) return;
    const Six motion = times(flex_, load);
    std::size_t pulls = n;
    double most = 0;
    for (std::size_t i = 0; i < n; ++i) {
      pressed_[i] =
          on_[i] ? -contacts_[i].stiffness * along(row_of(contacts_[i].normal, contacts_[i].at - about_), motion) : 0;
      if (pressed_[i] < -most - 1e-9) {
        most = -pressed_[i];
        pulls = i;
      }
    }
    if (pulls == n) {
      there_ = true;
      return;
    }
    on_[pulls] = false;
  }
}

void Springs::first_slip(const Load& load, std::vector<double>& factor) const {
  factor.assign(contacts_.size(), std::numeric_limits<double>::quiet_NaN());
  if (!there_) return;
  const Vec3 f = load.force, m = load.moment + frame::cross(load.at - about_, load.force);
  const Six motion = times(flex_, {f.x, f.y, f.z, m.x, m.y, m.z});
  const Vec3 shift{motion[0], motion[1], motion[2]}, turn{motion[3], motion[4], motion[5]};
  for (std::size_t i = 0; i < contacts_.size(); ++i) {
    if (!on_[i]) continue;
    const Contact& c = contacts_[i];
    const Vec3 v = shift + frame::cross(turn, c.at - about_);
    const double into = frame::dot(v, c.normal), side = frame::norm(v - into * c.normal);
    // |side force| grows by a per factor, the push falls by b: mu (N - b x) = a x.
    const double a = c.stiffness * c.side_share * side, b = c.stiffness * into;
    const double falls = a + c.friction * b;
    factor[i] = falls > 0 ? c.friction * pressed_[i] / falls : std::numeric_limits<double>::infinity();
  }
}

}  // namespace fettle::holding
