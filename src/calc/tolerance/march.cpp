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

constexpr double rank_cut = 1e-7;  // relative, lengths measured by the contacts' spread

double part(Vec3 v, std::size_t i) { return i == 0 ? v.x : i == 1 ? v.y : v.z; }

/// Shift and turn that a field of unit size gives a surface at its own point.
struct Moved {
  Vec3 t, w;
};
Moved field_at(const Effect& effect, const Element& element, int nest) {
  if (!effect.by_nest.empty()) return {effect.by_nest[static_cast<std::size_t>(nest)], {}};
  const Vec3 r = element.p - effect.c, a = effect.a;
  switch (effect.field) {
    case Effect::Field::shift:
      return {a, {}};
    case Effect::Field::turn:
      return {cross(a, r), a};
    case Effect::Field::stretch: {
      // A stretch leans what stands oblique to it: a normal away from a, an axis towards it.
      const double lean = (element.shape == Element::Shape::plane ? -1 : 1) * dot(a, element.n);
      return {dot(r, a) * a, lean * cross(element.n, a)};
    }
    case Effect::Field::grow:
      return {r, {}};
  }
  return {};
}

void put(State& state, const Moved& m, std::size_t column, double factor) {
  for (std::size_t i = 0; i < 3; ++i) {
    state[i][column] += factor * part(m.t, i);
    state[3 + i][column] += factor * part(m.w, i);
  }
}

/// Adds factor x the movement of the surface along `n` at x.
void add_along(Dense& to, double factor, const State& s, const Element& e, Vec3 n, Vec3 x) {
  const Vec3 m = cross(x - e.p, n);
  for (std::size_t i = 0; i < 3; ++i) {
    add(to, factor * part(n, i), s[i]);
    add(to, factor * part(m, i), s[3 + i]);
  }
}

State still(std::size_t columns) {
  State s;
  for (Dense& d : s) d.assign(columns, 0.0);
  return s;
}

void jacobian_row(std::vector<double>& to, Vec3 n, Vec3 p, Vec3 about, double length) {
  const Vec3 m = (1 / length) * cross(p - about, n);
  for (const double v : {n.x, n.y, n.z, m.x, m.y, m.z}) to.push_back(v);
}

std::string freedom_words(const std::vector<double>& d) {
  const Vec3 t{d[0], d[1], d[2]}, w{d[3], d[4], d[5]};
  const bool turns = norm(w) > 1e-3;
  const Vec3 a = turns ? unit(w) : unit(t);
  const double x = std::fabs(a.x), y = std::fabs(a.y), z = std::fabs(a.z);
  const std::string axis = x >= y && x >= z ? "X" : y >= z ? "Y" : "Z";
  return (turns ? "turning about " : "sliding along ") + axis;
}

/// Everything before the first operation, and the sizes and forms, which no clamping moves.
std::vector<State> raw_surfaces(const Route& route, std::size_t columns, int nest) {
  std::vector<State> out(route.elements.size(), still(columns));
  for (std::size_t c = 0; c < route.contributors.size(); ++c)
    for (const Effect& e : route.contributors[c].effects) {
      const auto at = static_cast<std::size_t>(e.index);
      if (e.on == Effect::On::surface) put(out[at], field_at(e, route.elements[at], nest), c, e.factor);
      if (e.on == Effect::On::size) out[at][size_at][c] += e.factor;
      if (e.on == Effect::On::form) out[at][form_at][c] += e.factor;
    }
  return out;
}

/// What each row of the fixture is off by.
std::vector<Dense> contact_rows(const Route& route, const Fixture& f, std::size_t k, const std::vector<State>& surfaces,
                                int play, std::size_t columns) {
  const Operation& op = route.operations[k];
  std::vector<Dense> rows(f.rows, Dense(columns, 0.0));
  for (std::size_t i = 0; i < op.contacts.size(); ++i) {
    const Contact& c = op.contacts[i];
    const auto e = static_cast<std::size_t>(c.element);
    if (c.element >= 0) add_along(rows[i], -1, surfaces[e], route.elements[e], unit(c.n), c.p);
  }
  for (std::size_t c = 0; c < route.contributors.size(); ++c)
    for (const Effect& e : route.contributors[c].effects)
      if (e.on == Effect::On::contact && e.operation == static_cast<int>(k))
        rows[static_cast<std::size_t>(e.index)][c] -= e.factor;
  if (!op.pins.there) return rows;
  const auto r = static_cast<std::size_t>(op.pins.round_hole), s = static_cast<std::size_t>(op.pins.relieved_hole);
  const Element &round = route.elements[r], &relieved = route.elements[s];
  const std::size_t first = op.contacts.size(), x = static_cast<std::size_t>(play);
  add_along(rows[first], -1, surfaces[r], round, f.pair.x, round.p);
  add_along(rows[first + 1], -1, surfaces[r], round, f.pair.y, round.p);
  add_along(rows[first + 2], -1, surfaces[s], relieved, f.pair.y, relieved.p);
  rows[first][x] += 1;
  rows[first + 1][x + 1] += 1;
  rows[first + 2][x + 1] += 1;
  rows[first + 2][x + 2] += f.pair.span;
  return rows;
}

PinSizes pin_sizes(const Route& route, const Fixture& f, std::size_t k, const std::vector<State>& surfaces,
                   std::size_t columns) {
  const Pins& pins = route.operations[k].pins;
  const auto r = static_cast<std::size_t>(pins.round_hole), s = static_cast<std::size_t>(pins.relieved_hole);
  PinSizes out;
  for (Dense& d : out) d.assign(columns, 0.0);
  add(out[0], 1, surfaces[r][size_at]);
  add(out[1], 1, surfaces[s][size_at]);
  add_along(out[3], 1, surfaces[s], route.elements[s], f.pair.x, route.elements[s].p);
  add_along(out[3], -1, surfaces[r], route.elements[r], f.pair.x, route.elements[r].p);
  for (std::size_t c = 0; c < route.contributors.size(); ++c)
    for (const Effect& e : route.contributors[c].effects) {
      if (e.operation != static_cast<int>(k)) continue;
      if (e.on == Effect::On::round_pin) out[0][c] -= e.factor;
      if (e.on == Effect::On::land) out[2][c] += e.factor;
      if (e.on == Effect::On::pin_span) out[3][c] -= e.factor;
    }
  return out;
}

/// What is cut lands at cutter error minus the pose of the part.
State cut(const Route& route, std::size_t k, int element, const State& before, const Pose& pose, int nest) {
  const Element& e = route.elements[static_cast<std::size_t>(element)];
  State s = still(before[0].size());
  s[size_at] = before[size_at];
  s[form_at] = before[form_at];
  for (std::size_t c = 0; c < route.contributors.size(); ++c)
    for (const Effect& f : route.contributors[c].effects) {
      if (f.operation != static_cast<int>(k)) continue;
      if (f.on == Effect::On::zero || (f.on == Effect::On::made && f.index == element))
        put(s, field_at(f, e, nest), c, f.factor);
    }
  const Vec3 r = e.p - pose.about;
  const auto& g = pose.of;
  for (std::size_t i = 0; i < 3; ++i) {
    add(s[i], -1, g[i]);
    add(s[3 + i], -1, g[3 + i]);
  }
  // w x r by parts
  add(s[0], -r.z, g[4]), add(s[0], r.y, g[5]);
  add(s[1], -r.x, g[5]), add(s[1], r.z, g[3]);
  add(s[2], -r.y, g[3]), add(s[2], r.x, g[4]);
  return s;
}

}  // namespace

void add(Dense& to, double factor, const Dense& what) {
  if (factor == 0) return;
  for (std::size_t i = 0; i < to.size(); ++i) to[i] += factor * what[i];
}

PairFrame pair_frame(const Element& round_hole, const Element& relieved_hole) {
  PairFrame f;
  Vec3 z = unit(round_hole.n);
  const double x = std::fabs(z.x), y = std::fabs(z.y), up = std::fabs(z.z);
  const double lead = up >= x && up >= y ? z.z : y >= x ? z.y : z.x;
  if (lead < 0) z = -z;
  const Vec3 line = relieved_hole.p - round_hole.p, flat = line - dot(line, z) * z;
  f.span = norm(flat);
  f.x = unit(flat);
  f.y = cross(z, f.x);
  f.z = z;
  return f;
}

Outcome<Fixture> fixture(const Route& route, const Operation& op) {
  Fixture f;
  std::vector<std::pair<Vec3, Vec3>> held;  // point, direction
  for (const Contact& c : op.contacts) held.emplace_back(c.p, unit(c.n));
  if (op.pins.there) {
    const Element& round = route.elements[static_cast<std::size_t>(op.pins.round_hole)];
    const Element& relieved = route.elements[static_cast<std::size_t>(op.pins.relieved_hole)];
    f.pair = pair_frame(round, relieved);
    if (!(f.pair.span > 0)) return bad(op.id + ": both pins stand in the same place");
    held.emplace_back(round.p, f.pair.x);
    held.emplace_back(round.p, f.pair.y);
    held.emplace_back(relieved.p, f.pair.y);
  }
  f.rows = held.size();
  if (held.empty()) return bad(op.id + ": nothing locates the part");
  for (const auto& h : held) f.about = f.about + (1.0 / static_cast<double>(held.size())) * h.first;
  double length = 0;
  for (const auto& h : held) length = std::max(length, norm(h.first - f.about));
  if (!(length > 0)) length = 1;
  std::vector<double> jacobian;
  for (const auto& h : held) jacobian_row(jacobian, h.second, h.first, f.about, length);
  maths::PseudoInverse inverse = maths::pseudo_inverse(jacobian, f.rows, 6, rank_cut);
  if (inverse.rank < 6)
    return bad(op.id + ": nothing holds the part against " + freedom_words(inverse.free_directions.front()));
  f.pose_of = std::move(inverse.inverse);
  for (std::size_t i = 3 * f.rows; i < 6 * f.rows; ++i) f.pose_of[i] /= length;
  return f;
}

std::vector<int> play_columns(const Route& route) {
  std::vector<int> out;
  int next = static_cast<int>(route.contributors.size());
  for (const Operation& op : route.operations) {
    out.push_back(op.pins.there ? next : -1);
    if (op.pins.there) next += 3;
  }
  return out;
}
int count_columns(const Route& route) {
  int n = static_cast<int>(route.contributors.size());
  for (const Operation& op : route.operations) n += op.pins.there ? 3 : 0;
  return n;
}

March march(const Route& route, const std::vector<Fixture>& fixtures, int nest) {
  const auto columns = static_cast<std::size_t>(count_columns(route));
  const std::vector<int> play = play_columns(route);
  March out;
  out.surfaces = raw_surfaces(route, columns, nest);
  for (std::size_t k = 0; k < route.operations.size(); ++k) {
    const Fixture& f = fixtures[k];
    out.pins.push_back(route.operations[k].pins.there ? pin_sizes(route, f, k, out.surfaces, columns) : PinSizes{});
    const std::vector<Dense> rows = contact_rows(route, f, k, out.surfaces, play[k], columns);
    Pose pose;
    pose.about = f.about;
    for (std::size_t i = 0; i < 6; ++i) {
      pose.of[i].assign(columns, 0.0);
      for (std::size_t r = 0; r < f.rows; ++r) add(pose.of[i], f.pose_of[i * f.rows + r], rows[r]);
    }
    for (const int e : route.operations[k].makes) {
      State& s = out.surfaces[static_cast<std::size_t>(e)];
      s = cut(route, k, e, s, pose, nest);
    }
    out.poses.push_back(std::move(pose));
  }
  return out;
}

double mean_of(const Contributor& c) {
  return c.family == Contributor::Family::half_normal ? c.mean + 0.79788456080286535588 * c.s : c.mean;
}
double s_of(const Contributor& c) {
  switch (c.family) {
    case Contributor::Family::normal:
      return c.s;
    case Contributor::Family::uniform:
      return c.half_width * 0.57735026918962576451;
    case Contributor::Family::half_normal:
      return c.s * 0.60281027498908690;  // sqrt(1 - 2 / pi)
  }
  return 0;
}
Range worst_of(const Contributor& c) {
  const double most = c.worst > 0 ? c.worst : c.family == Contributor::Family::uniform ? c.half_width : 3 * c.s;
  return {c.family == Contributor::Family::half_normal ? c.mean : c.mean - most, c.mean + most};
}

}  // namespace fettle::tolerance::inner
