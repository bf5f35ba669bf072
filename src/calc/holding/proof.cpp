// The quick search: revised simplex on six rows of balance and one row per bound, started from a basis of the clamped
// part at rest that is made once. Answers are checked from the data as given; what fails goes to maths/simplex.
#include "calc/holding/proof.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/holding/cones.h"
#include "maths/simplex.h"

namespace fettle::holding {

namespace {

constexpr double enters = 1e-10, pivots_at = 1e-9, held_to = 1e-9;
constexpr double infinite = std::numeric_limits<double>::infinity();

bool finite(Vec3 v) { return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z); }

std::string wrong_with(const std::vector<Contact>& contacts, const Load& rest, int facets) {
  if (facets < 4 || facets > 512) return "a friction cone needs 4 to 512 sides";
  if (contacts.empty()) return "no contact";
  if (!finite(rest.at) || !finite(rest.force) || !finite(rest.moment)) return "a weight that is not a number";
  for (const Contact& c : contacts) {
    if (!finite(c.at) || !finite(c.normal) || !finite(c.across))
      return c.name + ": a place or direction is not a number";
    if (!(frame::norm(c.normal) > 0)) return c.name + ": its normal has no length";
    if (!(c.friction >= 0 && c.friction <= 5)) return c.name + ": friction must lie between 0 and 5";
    if (!(c.force >= 0 && c.force < 1e9)) return c.name + ": its force must be 0 N or more";
    if (!(c.patch >= 0 && c.patch < 10)) return c.name + ": its patch must be 0 m or more";
    if (!(c.capacity >= 0 && c.capacity < 1e12)) return c.name + ": its capacity must be 0 N or more";
  }
  return {};
}

}  // namespace

Fixture::Fixture(std::vector<Contact> contacts, const Load& rest, int facets, bool pins)
    : contacts_(std::move(contacts)), rest_(rest) {
  refused_ = wrong_with(contacts_, rest, facets);
  if (!refused_.empty()) return;
  for (Contact& c : contacts_) c.normal = frame::unit(c.normal);
  double spread = 0;
  for (const Contact& c : contacts_) about_ = about_ + (1.0 / static_cast<double>(contacts_.size())) * c.at;
  for (const Contact& c : contacts_) spread = std::max(spread, frame::norm(c.at - about_));
  length_ = spread > 1e-6 ? spread : 0.01;
  make_generators(facets, pins);
  make_base();
}

void Fixture::make_generators(int facets, bool pins) {
  steady_.at = about_;
  steady_.force = rest_.force;
  steady_.moment = rest_.moment + frame::cross(rest_.at - about_, rest_.force);
  double size = frame::norm(steady_.force);
  for (std::size_t i = 0; i < contacts_.size(); ++i) {
    const Contact& c = contacts_[i];
    if (c.kind == Contact::Kind::clamp) {
      steady_.force = steady_.force + c.force * c.normal;
      steady_.moment = steady_.moment + frame::cross(c.at - about_, c.force * c.normal);
      size += c.force;
    }
    if (c.kind == Contact::Kind::pin && !pins) continue;
    append_generators(c, i, about_, facets, generators_, bounds_);
  }
  force_ = size > 1e-9 ? size : 1;
  rows_ = 6 + bounds_.size();
  const std::size_t n = generators_.size();
  columns_.resize(6 * n);
  for (std::size_t j = 0; j < n; ++j) {
    const Vec3 f = generators_[j].force, m = (1 / length_) * generators_[j].moment;
    const double all[6] = {f.x, f.y, f.z, m.x, m.y, m.z};
    for (std::size_t r = 0; r < 6; ++r) columns_[r * n + j] = all[r];
  }
  const Vec3 f = (-1 / force_) * steady_.force, m = (-1 / (force_ * length_)) * steady_.moment;
  right_ = {f.x, f.y, f.z, m.x, m.y, m.z};
  for (const Bound& b : bounds_) right_.push_back(b.most / force_);
  score_.resize(n);
  d_.resize(rows_);
}

double Fixture::column(int j, std::size_t row) const {
  const std::size_t n = generators_.size(), k = static_cast<std::size_t>(j);
  if (k < n) return row < 6 ? columns_[row * n + k] : generators_[k].bound == static_cast<int>(row - 6) ? 1.0 : 0.0;
  if (k == n) return row < 6 ? load_[row] : 0;
  const std::size_t s = k - n - 1;
  if (s < bounds_.size()) return row == 6 + s ? 1 : 0;
  return row == s - bounds_.size() ? sign_[row] : 0;
}

void Fixture::times_inverse(const State& s, int j, std::vector<double>& d) const {
  const std::size_t n = generators_.size(), k = static_cast<std::size_t>(j);
  double c[6];
  const bool wide = k <= n;
  for (std::size_t r = 0; wide && r < 6; ++r) c[r] = column(j, r);
  for (std::size_t i = 0; i < rows_; ++i) {
    const double* a = &s.inverse[i * rows_];
    double sum = 0;
    if (wide) {
      for (std::size_t r = 0; r < 6; ++r) sum += a[r] * c[r];
      if (k < n && generators_[k].bound >= 0) sum += a[6 + static_cast<std::size_t>(generators_[k].bound)];
    } else {
      for (std::size_t r = 0; r < rows_; ++r) sum += a[r] * column(j, r);
    }
    d[i] = sum;
  }
}

void Fixture::pivot(State& s, std::size_t row, int j, const std::vector<double>& d) const {
  double* p = &s.inverse[row * rows_];
  const double by = 1 / d[row];
  for (std::size_t c = 0; c < rows_; ++c) p[c] *= by;
  s.x[row] *= by;
  for (std::size_t i = 0; i < rows_; ++i) {
    if (i == row || d[i] == 0) continue;
    double* a = &s.inverse[i * rows_];
    for (std::size_t c = 0; c < rows_; ++c) a[c] -= d[i] * p[c];
    s.x[i] -= d[i] * s.x[row];
  }
  s.basis[row] = j;
}

/// Column whose entering raises the factor fastest (or the first that raises it), -1 when none does.
int Fixture::price(const double* y, bool first_only) const {
  const std::size_t n = generators_.size();
  const double *a = columns_.data(), *b = a + n, *c = b + n, *d = c + n, *e = d + n, *f = e + n;
  double* out = score_.data();
  for (std::size_t j = 0; j < n; ++j)
    out[j] = y[0] * a[j] + y[1] * b[j] + y[2] * c[j] + y[3] * d[j] + y[4] * e[j] + y[5] * f[j];
  double size = 0;
  for (std::size_t r = 0; r < rows_; ++r) size = std::max(size, std::fabs(y[r]));
  double best = -enters * size;
  int found = -1;
  for (std::size_t j = 0; j < n; ++j) {
    const double v = bounds_.empty() || generators_[j].bound < 0
                         ? out[j]
                         : out[j] + y[6 + static_cast<std::size_t>(generators_[j].bound)];
    if (v < best) {
      if (first_only) return static_cast<int>(j);
      best = v;
      found = static_cast<int>(j);
    }
  }
  for (std::size_t k = 0; k < bounds_.size(); ++k)
    if (y[6 + k] < best) {
      best = y[6 + k];
      found = static_cast<int>(n + 1 + k);
      if (first_only) return found;
    }
  return found;
}

/// Row that stops column d first, rows_ when none does. What must stay 0 stops at once, whichever way it would go.
std::size_t Fixture::leaving(const State& s, const std::vector<double>& d, bool first_index) const {
  double size = 0;
  for (std::size_t i = 0; i < rows_; ++i) size = std::max(size, std::fabs(d[i]));
  const double least_pivot = pivots_at * std::max(size, 1e-3);
  std::size_t row = rows_;
  double best = infinite;
  for (std::size_t i = 0; i < rows_; ++i) {
    const bool zero = artificial(s.basis[i]);
    if (zero ? std::fabs(d[i]) <= least_pivot : d[i] <= least_pivot) continue;
    const double ratio = zero ? 0 : std::max(0.0, s.x[i]) / d[i];
    const bool tie = row < rows_ && std::fabs(ratio - best) <= 1e-13 * (1 + best);
    const bool better =
        tie ? (first_index ? s.basis[i] < s.basis[row] : std::fabs(d[i]) > std::fabs(d[row])) : ratio < best;
    if (!better) continue;
    best = tie ? std::min(best, ratio) : ratio;
    row = i;
  }
  return row;
}

void Fixture::make_base() {
  base_.inverse.assign(rows_ * rows_, 0);
  base_.basis.resize(rows_);
  base_.x.resize(rows_);
  sign_.assign(6, 1);
  const int slack = static_cast<int>(generators_.size()) + 1, first = slack + static_cast<int>(bounds_.size());
  for (std::size_t i = 0; i < rows_; ++i) {
    if (i < 6 && right_[i] < 0) sign_[i] = -1;
    base_.inverse[i * rows_ + i] = i < 6 ? sign_[i] : 1;
    base_.basis[i] = i < 6 ? first + static_cast<int>(i) : slack + static_cast<int>(i - 6);
    base_.x[i] = std::fabs(right_[i]);
  }
  std::vector<double> y(rows_);
  for (int step = 0; step < 2000; ++step) {  // bring what nothing carries down to 0
    std::fill(y.begin(), y.end(), 0.0);
    for (std::size_t i = 0; i < rows_; ++i)
      if (artificial(base_.basis[i]))
        for (std::size_t r = 0; r < rows_; ++r) y[r] -= base_.inverse[i * rows_ + r];
    const bool careful = step > 300;
    const int j = price(y.data(), careful);
    if (j < 0) break;
    times_inverse(base_, j, d_);
    std::size_t row = rows_;
    double best = infinite;
    for (std::size_t i = 0; i < rows_; ++i) {
      if (d_[i] <= pivots_at) continue;
      const double ratio = std::max(0.0, base_.x[i]) / d_[i];
      if (ratio < best || (ratio == best && (careful ? base_.basis[i] < base_.basis[row] : d_[i] > d_[row]))) {
        best = ratio;
        row = i;
      }
    }
    if (row == rows_) break;
    pivot(base_, row, j, d_);
  }
  double left = 0;
  for (std::size_t i = 0; i < rows_; ++i)
    if (artificial(base_.basis[i])) left += std::max(0.0, base_.x[i]);
  at_rest_ = left <= 1e-9;
  for (std::size_t i = 0; i < rows_ && at_rest_; ++i) {  // swap idle helpers for real columns where one reaches the row
    if (!artificial(base_.basis[i])) continue;
    base_.x[i] = 0;
    int take = -1;
    double largest = 1e-7;
    for (int j = 0; j < slack + static_cast<int>(bounds_.size()); ++j) {
      if (j == slack - 1 || std::find(base_.basis.begin(), base_.basis.end(), j) != base_.basis.end()) continue;
      double v = 0;
      for (std::size_t r = 0; r < rows_; ++r) v += base_.inverse[i * rows_ + r] * column(j, r);
      if (std::fabs(v) > largest) {
        largest = std::fabs(v);
        take = j;
      }
    }
    if (take < 0) continue;
    times_inverse(base_, take, d_);
    pivot(base_, i, take, d_);
  }
}

/// From a basis that holds the load's column (or can take it in) to the best one. False: it did not end.
bool Fixture::search(State& s, bool& without_end) {
  const int load_column = static_cast<int>(generators_.size());
  without_end = false;
  auto at = std::find(s.basis.begin(), s.basis.end(), load_column);
  if (at == s.basis.end()) {
    times_inverse(s, load_column, d_);
    const std::size_t row = leaving(s, d_, false);
    if (row == rows_) {
      without_end = true;
      answer_.push.assign(generators_.size(), 0);
      for (std::size_t i = 0; i < rows_; ++i)
        if (s.basis[i] < load_column) answer_.push[static_cast<std::size_t>(s.basis[i])] = -d_[i];
      return true;
    }
    pivot(s, row, load_column, d_);
    ++answer_.pivots;
    at = s.basis.begin() + static_cast<std::ptrdiff_t>(row);
  }
  const auto home = static_cast<std::size_t>(at - s.basis.begin());
  for (int step = 0; step < 400; ++step) {
    const bool careful = step > 60;
    const int j = price(&s.inverse[home * rows_], careful);
    if (j < 0) return true;
    times_inverse(s, j, d_);
    const std::size_t row = leaving(s, d_, careful);
    if (row == home) return false;
    if (row == rows_) {
      without_end = true;
      const double rate = -d_[home];
      if (!(rate > 0)) return false;
      answer_.push.assign(generators_.size(), 0);
      for (std::size_t i = 0; i < rows_; ++i)
        if (s.basis[i] < load_column) answer_.push[static_cast<std::size_t>(s.basis[i])] = -d_[i] / rate;
      if (j < load_column) answer_.push[static_cast<std::size_t>(j)] += 1 / rate;
      return true;
    }
    pivot(s, row, j, d_);
    ++answer_.pivots;
  }
  return false;
}

/// The last best basis with the new load in place of the old one; false when it pushes the wrong way somewhere.
bool Fixture::warm_start(State& s) {
  s = last_;
  const int load_column = static_cast<int>(generators_.size());
  const auto home = static_cast<std::size_t>(std::find(s.basis.begin(), s.basis.end(), load_column) - s.basis.begin());
  if (home == rows_) return false;
  std::vector<double>& d = d_;
  times_inverse(s, load_column, d);
  if (!(std::fabs(d[home]) > 1e-4)) return false;
  pivot(s, home, load_column, d);
  for (std::size_t i = 0; i < rows_; ++i) {
    double sum = 0;
    for (std::size_t r = 0; r < rows_; ++r) sum += s.inverse[i * rows_ + r] * right_[r];
    s.x[i] = sum;
    if (!(sum >= -1e-13) || (artificial(s.basis[i]) && !(sum <= 1e-13))) return false;
  }
  return true;
}

const Carried& Fixture::carry(const Load& load) {
  solve(load, false);
  return answer_;
}
const Carried& Fixture::carry_cold(const Load& load) {
  if (refused_.empty()) make_base();
  solve(load, true);
  return answer_;
}

void Fixture::solve(const Load& load, bool cold) {
  answer_.status = Carried::Status::failed;
  answer_.pivots = 0;
  answer_.slow_way = false;
  answer_.about = about_;
  now_ = load;
  now_.moment = load.moment + frame::cross(load.at - about_, load.force);
  now_.at = about_;
  if (!refused_.empty() || !finite(now_.force) || !finite(now_.moment)) return;
  if (!at_rest_) {
    answer_.status = Carried::Status::not_at_rest;
    answer_.factor = 0;
    return;
  }
  const Vec3 f = now_.force, m = (1 / length_) * now_.moment;
  load_size_ = std::sqrt(frame::dot(f, f) + frame::dot(m, m));
  if (!(load_size_ > 1e-12)) {  // no load at all
    answer_.status = Carried::Status::unlimited;
    answer_.factor = infinite;
    answer_.push.assign(generators_.size(), 0);
    answer_.price.assign(bounds_.size(), 0);
    answer_.primal_residual = answer_.dual_residual = answer_.gap = 0;
    return;
  }
  load_ = {f.x / load_size_, f.y / load_size_, f.z / load_size_, m.x / load_size_, m.y / load_size_, m.z / load_size_};
  bool without_end = false;
  if (cold || !last_there_ || !warm_start(work_)) work_ = base_;
  if (search(work_, without_end)) {
    answer_of(work_, without_end);
    check(answer_);
  }
  last_there_ = answer_.status == Carried::Status::limited;
  if (last_there_) std::swap(last_, work_);
  if (answer_.status == Carried::Status::failed) {
    answer_ = carry_slow(load);
    answer_.slow_way = true;
  }
}

void Fixture::answer_of(const State& s, bool without_end) {
  const std::size_t n = generators_.size();
  answer_.price.assign(bounds_.size(), 0);
  answer_.slide = answer_.turn = {};
  if (without_end) {
    answer_.status = Carried::Status::unlimited;
    answer_.factor = infinite;
    for (double& x : answer_.push) x *= load_size_;
    return;
  }
  answer_.push.assign(n, 0);
  std::size_t home = 0;
  for (std::size_t i = 0; i < rows_; ++i) {
    const auto j = static_cast<std::size_t>(s.basis[i]);
    if (j < n) answer_.push[j] = s.x[i] * force_;
    if (j == n) home = i;
  }
  const double* y = &s.inverse[home * rows_];
  answer_.factor = s.x[home] * force_ / load_size_;
  answer_.slide = (1 / load_size_) * Vec3{y[0], y[1], y[2]};
  answer_.turn = (1 / (load_size_ * length_)) * Vec3{y[3], y[4], y[5]};
  for (std::size_t k = 0; k < bounds_.size(); ++k) answer_.price[k] = y[6 + k] / load_size_;
  answer_.status = Carried::Status::limited;
}

/// Balance, signs and gap from contacts and load as given; failed when any is off by more than 1e-9 of the numbers in
/// it.
void Fixture::check(Carried& a) const {
  const bool endless = a.status == Carried::Status::unlimited;
  const double factor = endless ? 1 : a.factor;
  Vec3 f = factor * now_.force, m = factor * now_.moment;
  double size = factor * load_size_;
  if (!endless) {
    f = f + steady_.force;
    m = m + steady_.moment;
    size += force_;
  }
  double used[64] = {};
  std::vector<double> many;
  double* use = used;
  if (bounds_.size() > 64) {
    many.assign(bounds_.size(), 0);
    use = many.data();
  }
  double wrong = 0;
  for (std::size_t j = 0; j < a.push.size(); ++j) {
    if (a.push[j] == 0) continue;
    const Generator& g = generators_[j];
    f = f + a.push[j] * g.force;
    m = m + a.push[j] * g.moment;
    wrong = std::max(wrong, -a.push[j]);
    if (g.bound >= 0) use[g.bound] += a.push[j];
  }
  for (std::size_t k = 0; k < bounds_.size(); ++k) wrong = std::max(wrong, use[k] - (endless ? 0 : bounds_[k].most));
  a.primal_residual = std::max({frame::norm(f), frame::norm(m) / length_, wrong}) / size;
  a.dual_residual = a.gap = 0;
  if (!endless) {
    const double speed = std::max(frame::norm(a.slide), length_ * frame::norm(a.turn));
    double least = 0;
    for (const Generator& g : generators_) {
      double power = frame::dot(a.slide, g.force) + frame::dot(a.turn, g.moment);
      if (g.bound >= 0) power += a.price[static_cast<std::size_t>(g.bound)];
      least = std::min(least, power);
    }
    double bounds = 0;
    for (std::size_t k = 0; k < bounds_.size(); ++k) {
      least = std::min(least, a.price[k]);
      bounds += a.price[k] * bounds_[k].most;
    }
    const double steady = frame::dot(a.slide, steady_.force) + frame::dot(a.turn, steady_.moment);
    const double one = frame::dot(a.slide, now_.force) + frame::dot(a.turn, now_.moment);
    a.dual_residual = std::max(-least / speed, std::fabs(one - 1));
    a.gap = std::fabs(a.factor + steady - bounds) / (1 + a.factor + speed * force_);
  }
  if (!(a.primal_residual <= held_to && a.dual_residual <= held_to && a.gap <= held_to))
    a.status = Carried::Status::failed;
}

Carried Fixture::carry_slow(const Load& load) const {
  Carried a;
  a.about = about_;
  a.slow_way = true;
  if (!refused_.empty()) return a;
  const Vec3 moment = load.moment + frame::cross(load.at - about_, load.force), m = (1 / length_) * moment;
  const double size = std::sqrt(frame::dot(load.force, load.force) + frame::dot(m, m));
  if (!(size > 1e-12)) return a;
  const double w[6] = {load.force.x / size, load.force.y / size, load.force.z / size,
                       m.x / size,          m.y / size,          m.z / size};
  const std::size_t n = generators_.size();
  maths::LinearProgram p;
  p.maximise = true;
  p.cost.assign(n + 1, 0);
  p.cost[n] = 1;
  p.rows.resize(rows_);
  for (std::size_t r = 0; r < rows_; ++r) {
    p.rows[r].a.assign(n + 1, 0);
    for (std::size_t j = 0; j < n; ++j) p.rows[r].a[j] = column(static_cast<int>(j), r);
    if (r < 6) p.rows[r].a[n] = w[r];
    p.rows[r].sense = r < 6 ? maths::LinearRow::Sense::equal : maths::LinearRow::Sense::at_most;
    p.rows[r].b = right_[r];
  }
  const maths::LinearAnswer s = maths::solve(p);
  a.push.assign(n, 0);
  a.price.assign(bounds_.size(), 0);
  a.pivots = s.pivots;
  if (s.status == maths::LinearAnswer::Status::infeasible) a.status = Carried::Status::not_at_rest;
  if (s.status == maths::LinearAnswer::Status::unbounded && s.ray.size() == n + 1 && s.ray[n] > 0) {
    a.status = Carried::Status::unlimited;
    a.factor = infinite;
    for (std::size_t j = 0; j < n; ++j) a.push[j] = s.ray[j] / s.ray[n] * size;
    a.primal_residual = s.primal_residual;
  }
  if (!s.ok()) return a;
  a.status = Carried::Status::limited;
  a.factor = s.objective * force_ / size;
  for (std::size_t j = 0; j < n; ++j) a.push[j] = s.x[j] * force_;
  a.slide = (1 / size) * Vec3{s.row_price[0], s.row_price[1], s.row_price[2]};
  a.turn = (1 / (size * length_)) * Vec3{s.row_price[3], s.row_price[4], s.row_price[5]};
  for (std::size_t k = 0; k < bounds_.size(); ++k) a.price[k] = s.row_price[6 + k] / size;
  a.primal_residual = s.primal_residual;
  a.dual_residual = s.dual_residual;
  a.gap = s.gap;
  return a;
}

std::vector<Vec3> Fixture::contact_forces(const Carried& answer) const {
  std::vector<Vec3> out(contacts_.size());
  for (std::size_t i = 0; i < contacts_.size(); ++i)
    if (contacts_[i].kind == Contact::Kind::clamp) out[i] = contacts_[i].force * contacts_[i].normal;
  for (std::size_t j = 0; j < answer.push.size(); ++j) {
    const Generator& g = generators_[j];
    out[g.contact] = out[g.contact] + answer.push[j] * g.force;
  }
  return out;
}

std::vector<std::string> holding_cautions() {
  return {
      "A part that comes loose under the cutter is thrown: doors shut, nobody in line with the cutter.",
      "The proof stands on clamps at least as tight and faces at least as dry as it says: wrench checked, seats clean.",
      "This proof does not replace the machine maker's rules for clamping; local codes and licensed practice decide."};
}

}  // namespace fettle::holding
