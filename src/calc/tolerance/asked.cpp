// What a requirement asks of the surfaces, to first order.
#include <algorithm>
#include <cmath>

#include "calc/tolerance/rows.h"
#include "maths/least_squares.h"

namespace fettle::tolerance::inner {

using frame::cross;
using frame::dot;
using frame::norm;
using frame::unit;

namespace {

using Kind = Requirement::Kind;
using Shape3 = Element::Shape;
constexpr double square_enough = 0.1;     // |cosine| of two directions that should be square to each other
constexpr double straight_enough = 0.99;  // |cosine| of two directions that should be one
constexpr double line_slack = 1e-6;       // m; how far nominally coaxial axes may be apart

double part(Vec3 v, std::size_t i) { return i == 0 ? v.x : i == 1 ? v.y : v.z; }
bool is_plane(const Element& e) { return e.shape == Shape3::plane; }

/// The requirement's surfaces and the sums that are made of them.
struct Sheet {
  const Route& route;
  const Requirement& requirement;

  const Element& at(int i) const { return route.elements[static_cast<std::size_t>(i)]; }
  Problem wrong(const std::string& what) const { return bad(requirement.id + ": " + what); }

  /// Adds factor x movement of element e along `n` at x.
  void along(Asked& to, double factor, int e, Vec3 n, Vec3 x) const {
    const Vec3 m = cross(x - at(e).p, n);
    for (std::size_t i = 0; i < 3; ++i) {
      to.add(e, i, factor * part(n, i));
      to.add(e, 3 + i, factor * part(m, i));
    }
  }
  void turn(Asked& to, double factor, int e, Vec3 axis) const {
    for (std::size_t i = 0; i < 3; ++i) to.add(e, 3 + i, factor * part(axis, i));
  }
  /// The same along a fixed direction for a plane, which moves along its normal only.
  void plane_along(Asked& to, double factor, int e, Vec3 direction, Vec3 x) const {
    const Vec3 n = at(e).n;
    along(to, factor / dot(n, direction), e, n, x);
  }
};

std::vector<Vec3> corners(const Element& e) {
  const Vec3 v = cross(e.n, e.u);
  if (!(e.half_u > 0) && !(e.half_v > 0)) return {e.p};
  std::vector<Vec3> out;
  for (const double i : {-1.0, 1.0})
    for (const double j : {-1.0, 1.0}) out.push_back(e.p + (i * e.half_u) * e.u + (j * e.half_v) * v);
  return out;
}

std::optional<Problem> distance_of(const Sheet& s, int e, int to, AskedShape& out) {
  const Vec3 a = unit(s.requirement.along);
  const Element &one = s.at(e), &other = s.at(to);
  const auto keep = [&](Asked row) {
    row.constant = s.requirement.nominal;
    out.scalar.push_back(std::move(row));
    out.element_of.push_back(e);
  };
  for (const Element* x : {&one, &other}) {
    const double c = std::fabs(dot(x->n, a));
    if (is_plane(*x) ? !(c >= straight_enough) : !(c <= square_enough))
      return s.wrong(x->id + " does not lie across the direction that is measured");
  }
  if (is_plane(other)) {
    for (const Vec3 x : is_plane(one) ? corners(one) : ends(one)) {
      Asked row;
      if (is_plane(one)) s.plane_along(row, 1, e, a, x);
      else s.along(row, 1, e, a, x);
      s.plane_along(row, -1, to, a, x);
      keep(std::move(row));
    }
    return std::nullopt;
  }
  if (is_plane(one)) {
    for (const Vec3 x : ends(other)) {
      Asked row;
      s.plane_along(row, 1, e, a, x);
      s.along(row, -1, to, a, x);
      keep(std::move(row));
    }
    return std::nullopt;
  }
  if (!(std::fabs(dot(one.n, other.n)) >= straight_enough)) return s.wrong("the two axes are not parallel");
  for (const Vec3 x : ends(one)) {
    const Vec3 foot = other.p + dot(x - other.p, other.n) * other.n, line = x - foot;
    if (!(norm(cross(line, a)) <= 1e-3 * norm(line)))
      return s.wrong("the direction measured is not the line between the two axes; ask for a position instead");
    Asked row;
    s.along(row, 1, e, a, x);
    s.along(row, -1, to, a, foot);
    keep(std::move(row));
  }
  return std::nullopt;
}

/// The datum frame's small motion as sums over the states: shift of `about` and turn x length.
struct DatumFrame {
  Vec3 about;
  double length = 1;
  std::array<Asked, 6> f;
  std::vector<std::vector<double>> free;  ///< orthonormal directions not held yet

  DatumFrame() {
    for (std::size_t i = 0; i < 6; ++i) {
      free.emplace_back(6, 0.0);
      free.back()[i] = 1;
    }
  }
  /// `wanted` = n . (frame's movement at x), or = frame's turn about n (x length).
  struct Wish {
    std::array<double, 6> c{};
    Asked wanted;
  };
  Wish shift_wish(Vec3 n, Vec3 x) const {
    const Vec3 m = (1 / length) * cross(x - about, n);
    return {{n.x, n.y, n.z, m.x, m.y, m.z}, {}};
  }
  Wish turn_wish(Vec3 n) const { return {{0, 0, 0, n.x, n.y, n.z}, {}}; }

  /// Least squares over what is still free; what is met exactly stays met.
  void hold(const std::vector<Wish>& wishes) {
    const std::size_t n = free.size(), r = wishes.size();
    if (n == 0 || r == 0) return;
    std::vector<double> a(r * n, 0.0);
    for (std::size_t i = 0; i < r; ++i)
      for (std::size_t j = 0; j < n; ++j)
        for (std::size_t k = 0; k < 6; ++k) a[i * n + j] += wishes[i].c[k] * free[j][k];
    double largest = 0;
    for (const double v : a) largest = std::max(largest, std::fabs(v));
    if (!(largest > 1e-9)) return;
    const maths::PseudoInverse inverse = maths::pseudo_inverse(a, r, n, 1e-7);
    std::vector<Asked> missing;
    for (const Wish& w : wishes) {
      missing.push_back(w.wanted);
      for (std::size_t k = 0; k < 6; ++k) missing.back().add(-w.c[k], f[k]);
    }
    for (std::size_t j = 0; j < n; ++j)
      for (std::size_t i = 0; i < r; ++i)
        for (std::size_t k = 0; k < 6; ++k) f[k].add(free[j][k] * inverse.inverse[j * r + i], missing[i]);
    std::vector<std::vector<double>> left;
    for (const std::vector<double>& y : inverse.free_directions) {
      left.emplace_back(6, 0.0);
      for (std::size_t j = 0; j < n; ++j)
        for (std::size_t k = 0; k < 6; ++k) left.back()[k] += y[j] * free[j][k];
    }
    free = std::move(left);
  }
  /// Takes away the frame's own movement along n at x.
  void subtract(Asked& from, Vec3 n, Vec3 x) const {
    const Wish w = shift_wish(n, x);
    for (std::size_t k = 0; k < 6; ++k) from.add(-w.c[k], f[k]);
  }
};

DatumFrame datum_frame(const Sheet& s) {
  DatumFrame d;
  const std::vector<int>& pattern = s.requirement.elements;
  std::vector<int> all = pattern;
  all.insert(all.end(), s.requirement.datums.begin(), s.requirement.datums.end());
  for (const int e : all) d.about = d.about + (1.0 / static_cast<double>(all.size())) * s.at(e).p;
  double length = 0;
  for (const int e : all) length = std::max({length, norm(s.at(e).p - d.about), s.at(e).half_u, s.at(e).half_v});
  if (length > 0) d.length = length;
  for (const int datum : s.requirement.datums) {
    const Element& e = s.at(datum);
    const Across c = across(e.n);
    std::vector<DatumFrame::Wish> shifts, turns;
    for (const Vec3 n : is_plane(e) ? std::vector<Vec3>{e.n} : std::vector<Vec3>{c.a, c.b}) {
      shifts.push_back(d.shift_wish(n, e.p));
      s.along(shifts.back().wanted, 1, datum, n, e.p);
    }
    for (const Vec3 n : {c.a, c.b}) {
      turns.push_back(d.turn_wish(n));
      s.turn(turns.back().wanted, d.length, datum, n);
    }
    d.hold(shifts);
    d.hold(turns);
  }
  std::vector<DatumFrame::Wish> rest;  // what no datum holds follows the pattern
  for (const int e : pattern)
    for (const Vec3 x : ends(s.at(e))) {
      const Across c = across(s.at(e).n);
      for (const Vec3 n : {c.a, c.b}) {
        rest.push_back(d.shift_wish(n, x));
        s.along(rest.back().wanted, 1, e, n, x);
      }
    }
  d.hold(rest);
  return d;
}

std::optional<Problem> position_of(const Sheet& s, AskedShape& out) {
  for (const int e : s.requirement.elements)
    if (is_plane(s.at(e))) return s.wrong(s.at(e).id + " is a plane; a round zone needs an axis");
  const DatumFrame d = datum_frame(s);
  for (const int e : s.requirement.elements) {
    const Across c = across(s.at(e).n);
    for (const Vec3 x : ends(s.at(e))) {
      for (const Vec3 n : {c.a, c.b}) {
        Asked row;
        s.along(row, 1, e, n, x);
        d.subtract(row, n, x);
        out.pair.push_back(std::move(row));
      }
      out.element_of.push_back(e);
    }
  }
  return std::nullopt;
}

std::optional<Problem> coaxiality_of(const Sheet& s, AskedShape& out) {
  const int to = s.requirement.to;
  const Element& other = s.at(to);
  for (const int e : s.requirement.elements) {
    const Element& one = s.at(e);
    if (is_plane(one) || is_plane(other)) return s.wrong("coaxiality is between two axes");
    const Vec3 line = one.p - other.p;
    if (!(norm(cross(line, other.n)) <= line_slack) || !(std::fabs(dot(one.n, other.n)) >= straight_enough))
      return s.wrong(one.id + " and " + other.id + " are not meant to lie on one axis");
    const Across c = across(other.n);
    for (const Vec3 x : ends(one)) {
      for (const Vec3 n : {c.a, c.b}) {
        Asked row;
        s.along(row, 1, e, n, x);
        s.along(row, -1, to, n, x);
        out.pair.push_back(std::move(row));
      }
      out.element_of.push_back(e);
    }
  }
  return std::nullopt;
}

/// A signed lean that counts either way: one row up, one down.
void either_way(AskedShape& out, const Asked& row, int e) {
  for (const double sign : {1.0, -1.0}) {
    Asked signed_row;
    signed_row.add(sign, row);
    out.scalar.push_back(std::move(signed_row));
    out.element_of.push_back(e);
  }
}

/// Lean of axis e against `to` over its own length, in two directions.
void axis_lean(const Sheet& s, int e, int to, AskedShape& out) {
  const Across c = across(s.at(e).n);
  for (const Vec3 n : {c.a, c.b}) {
    const Vec3 m = s.at(e).half_u * cross(s.at(e).n, n);  // n . (w x axis)
    Asked row;
    s.turn(row, 1, e, m);
    s.turn(row, -1, to, m);
    out.pair.push_back(std::move(row));
  }
  out.element_of.push_back(e);
}

std::optional<Problem> perpendicularity_of(const Sheet& s, AskedShape& out) {
  const int to = s.requirement.to;
  const Element& other = s.at(to);
  if (!is_plane(other)) return s.wrong("perpendicularity is reckoned against a plane");
  for (const int e : s.requirement.elements) {
    const Element& one = s.at(e);
    const double c = std::fabs(dot(one.n, other.n));
    if (!is_plane(one)) {
      if (!(c >= straight_enough)) return s.wrong(one.id + " is not meant to stand square to " + other.id);
      axis_lean(s, e, to, out);
      continue;
    }
    if (!(c <= square_enough)) return s.wrong(one.id + " is not meant to stand square to " + other.id);
    const double half =
        one.half_u * std::fabs(dot(one.u, other.n)) + one.half_v * std::fabs(dot(cross(one.n, one.u), other.n));
    const Vec3 axis = unit(cross(one.n, other.n));
    Asked row;
    s.turn(row, 2 * half, e, axis);
    s.turn(row, -2 * half, to, axis);
    either_way(out, row, e);
  }
  return std::nullopt;
}

std::optional<Problem> parallelism_of(const Sheet& s, AskedShape& out) {
  const int to = s.requirement.to;
  const Element& other = s.at(to);
  for (const int e : s.requirement.elements) {
    const Element& one = s.at(e);
    const double c = std::fabs(dot(one.n, other.n));
    const bool both = is_plane(one) == is_plane(other);
    if (both ? !(c >= straight_enough) : !(c <= square_enough))
      return s.wrong(one.id + " is not meant to be parallel to " + other.id);
    if (!is_plane(one) && !is_plane(other)) {
      axis_lean(s, e, to, out);
    } else if (!is_plane(one)) {
      const Vec3 m = 2 * one.half_u * cross(one.n, other.n);  // other.n . (w x axis)
      Asked row;
      s.turn(row, 1, e, m);
      s.turn(row, -1, to, m);
      either_way(out, row, e);
    } else {
      // Height of a point r of the plane: n . (w x r) = w . (r x n); the difference of two opposite corners.
      const Vec3 v = cross(one.n, one.u);
      for (const double i : {1.0, -1.0}) {
        const Vec3 r = 2.0 * (one.half_u * one.u + i * one.half_v * v), m = cross(r, one.n);
        Asked row;
        s.turn(row, 1, e, m);
        s.turn(row, -1, to, m);
        either_way(out, row, e);
      }
    }
  }
  return std::nullopt;
}

/// Departure of a round feature from the size at which it gives nothing away; grows with the hole at maximum material.
Asked departure(int e, bool grows, double from, double size) {
  Asked row;
  row.constant = grows ? size - from : from - size;
  row.add(e, size_at, grows ? 1 : -1);
  return row;
}

void bonuses(const Sheet& s, AskedShape& out) {
  const Requirement& r = s.requirement;
  if (r.modifier != Requirement::Modifier::none) {
    const bool grows = r.inside == (r.modifier == Requirement::Modifier::maximum);
    for (const int e : r.elements) out.bonus.push_back(departure(e, grows, r.modifier_size, s.at(e).size));
  }
  if (!r.datum_maximum) return;
  for (std::size_t i = 0; i < r.datums.size(); ++i) {
    const int d = r.datums[i];
    const double from = i < r.datum_size.size() ? r.datum_size[i] : 0;
    if (!(from > 0) || is_plane(s.at(d))) out.datum_bonus.emplace_back();
    else out.datum_bonus.push_back(departure(d, s.at(d).size >= from, from, s.at(d).size));
  }
}

}  // namespace

void Asked::add(int element, std::size_t which, double factor) {
  for (Term& t : terms)
    if (t.element == element) {
      t.c[which] += factor;
      return;
    }
  terms.push_back({element, {}});
  terms.back().c[which] += factor;
}
void Asked::add(double factor, const Asked& other) {
  if (factor == 0) return;
  constant += factor * other.constant;
  for (const Term& t : other.terms)
    for (std::size_t i = 0; i < state_size; ++i) add(t.element, i, factor * t.c[i]);
}

Across across(Vec3 axis) {
  const Vec3 n = unit(axis);
  const double x = std::fabs(n.x), y = std::fabs(n.y), z = std::fabs(n.z);
  // The axis of the frame that is squarest to n, so that a bore along Z is judged in X and Y.
  const Vec3 start = x <= y && x <= z ? Vec3{1, 0, 0} : y <= z ? Vec3{0, 1, 0} : Vec3{0, 0, 1};
  const Vec3 a = unit(start - dot(start, n) * n);
  return {a, cross(n, a)};
}

std::vector<Vec3> ends(const Element& axis) {
  if (!(axis.half_u > 0)) return {axis.p};
  return {axis.p - axis.half_u * axis.n, axis.p + axis.half_u * axis.n};
}

Outcome<AskedShape> asked(const Route& route, const Requirement& requirement) {
  const Sheet s{route, requirement};
  AskedShape out;
  std::optional<Problem> wrong;
  switch (requirement.kind) {
    case Kind::size:
    case Kind::form:
      for (const int e : requirement.elements) {
        Asked row;
        const bool size = requirement.kind == Kind::size;
        if (size) row.constant = s.at(e).size;
        row.add(e, size ? size_at : form_at, 1);
        out.scalar.push_back(std::move(row));
        out.element_of.push_back(e);
      }
      break;
    case Kind::distance:
      for (const int e : requirement.elements)
        if (!wrong) wrong = distance_of(s, e, requirement.to, out);
      break;
    case Kind::span:
      wrong = distance_of(s, requirement.elements[1], requirement.elements[0], out);
      break;
    case Kind::position:
      wrong = position_of(s, out);
      break;
    case Kind::coaxiality:
      wrong = coaxiality_of(s, out);
      break;
    case Kind::perpendicularity:
      wrong = perpendicularity_of(s, out);
      break;
    case Kind::parallelism:
      wrong = parallelism_of(s, out);
      break;
  }
  if (wrong) return *wrong;
  bonuses(s, out);
  return out;
}

Row sparse(const Dense& dense, double constant) {
  Row row;
  row.constant = constant;
  for (std::size_t c = 0; c < dense.size(); ++c)
    if (dense[c] != 0) {
      row.column.push_back(static_cast<int>(c));
      row.coefficient.push_back(dense[c]);
    }
  return row;
}

Row row_of(const Asked& asked, const std::vector<State>& surfaces, int columns) {
  // Beside the sum, the sum of sizes: what cancels to rounding is zero.
  Dense sum(static_cast<std::size_t>(columns), 0.0), size = sum;
  for (const Asked::Term& t : asked.terms)
    for (std::size_t i = 0; i < state_size; ++i) {
      const double f = t.c[i];
      if (f == 0) continue;
      const Dense& s = surfaces[static_cast<std::size_t>(t.element)][i];
      for (std::size_t c = 0; c < sum.size(); ++c) {
        sum[c] += f * s[c];
        size[c] += std::fabs(f * s[c]);
      }
    }
  for (std::size_t c = 0; c < sum.size(); ++c)
    if (std::fabs(sum[c]) <= 1e-11 * size[c]) sum[c] = 0;
  return sparse(sum, asked.constant);
}

}  // namespace fettle::tolerance::inner
