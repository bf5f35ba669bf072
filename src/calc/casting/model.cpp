#include "calc/casting/model.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "maths/least_squares.h"
#include "maths/statistics.h"

namespace fettle::casting {
namespace {

using frame::cross;
using frame::dot;
using std::size_t;

bool finite(Vec3 v) { return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z); }
bool is_unit(Vec3 v) { return finite(v) && std::fabs(frame::norm(v) - 1) < 1e-6; }

/// An affine quantity: constant, then raw touches, locator errors, cut scatters, program shifts.
using Row = std::vector<double>;

void add(Row& to, double factor, const Row& row) {
  for (size_t i = 0; i < to.size(); ++i) to[i] += factor * row[i];
}

/// n.(t + w x p) of six affine rows.
Row along(const std::array<Row, 6>& pose, Vec3 p, Vec3 n) {
  const Vec3 m = cross(p, n);  // n.(w x p) = w.(p x n)
  const double c[6] = {n.x, n.y, n.z, m.x, m.y, m.z};
  Row out(pose[0].size(), 0.0);
  for (size_t k = 0; k < 6; ++k)
    if (c[k] != 0) add(out, c[k], pose[k]);
  return out;
}

struct Layout {
  size_t touches = 0, contacts = 0, cuts = 0, shifts = 0;
  size_t size() const { return 1 + touches + contacts + cuts + shifts; }
  size_t touch(size_t i) const { return 1 + i; }
  size_t contact(size_t i) const { return 1 + touches + i; }
  size_t cut(size_t i) const { return 1 + touches + contacts + i; }
  size_t shift(size_t operation, size_t k) const { return 1 + touches + contacts + cuts + 6 * operation + k; }
};

struct Builder {
  const Casting& casting;
  const Route& route;
  Problems problems;
  Model model;
  Layout layout;
  std::vector<std::string> names;
  std::vector<std::array<Row, 6>> poses;
  size_t next_touch = 0, next_contact = 0;

  int raw_index(const std::string& id) const {
    for (size_t i = 0; i < casting.surfaces.size(); ++i)
      if (casting.surfaces[i].id == id) return static_cast<int>(i);
    return -1;
  }
  int face_index(const std::string& id) const {
    for (size_t i = 0; i < route.faces.size(); ++i)
      if (route.faces[i].id == id) return static_cast<int>(i);
    return -1;
  }
  int body_at(int raw, Vec3 p) const {
    const RawSurface& s = casting.surfaces[static_cast<size_t>(raw)];
    return s.across_parting ? (p.z > casting.parting_height ? cope : drag) : s.body;
  }
  void unknown(const std::string& who, const std::string& id) {
    problems.push_back(bad(who + " names a surface that neither the casting nor an earlier cut has", id, "",
                           base::nearest(id, names)));
  }

  void check_casting();
  void check_mode(size_t i);
  void check_route();
  void check_surface(const std::string& who, const std::string& id, int operation);
  void size_layout();
  Row deviation(const std::string& surface, Vec3 p, Vec3 n, bool touch);
  void pose(size_t operation);
  void faces();
  void parameters();
  Outcome<Model> run();
};

void Builder::check_mode(size_t i) {
  const Mode& m = casting.modes[i];
  const std::string who = "error \"" + m.name + "\"";
  const bool uses_direction = m.shape != Shape::scale && m.shape != Shape::swell && m.shape != Shape::bump;
  if (uses_direction && !is_unit(m.direction)) problems.push_back(bad(who + " needs a direction of length 1"));
  if (!finite(m.centre)) problems.push_back(bad(who + " has a centre that is not finite"));
  if ((m.shape == Shape::bend || m.shape == Shape::twist) && !is_unit(m.along))
    problems.push_back(bad(who + " needs an `along` of length 1"));
  if ((m.shape == Shape::stretch || m.shape == Shape::bend || m.shape == Shape::twist) && !(m.length > 0))
    problems.push_back(bad(who + " needs a length above 0", base::shortest(m.length)));
  if (m.shape == Shape::twist && !(m.across > 0))
    problems.push_back(bad(who + " needs an `across` above 0", base::shortest(m.across)));
  if (m.shape == Shape::bump && !(m.radius > 0))
    problems.push_back(bad(who + " needs a radius above 0", base::shortest(m.radius)));
  if (!std::isfinite(m.scale)) problems.push_back(bad(who + " has a factor that is not finite"));
  if (!std::isfinite(m.mean) || !(m.s >= 0) || !std::isfinite(m.s))
    problems.push_back(bad(who + " needs a finite mean and a spread of at least 0"));
  if (m.family == Mode::Family::uniform && !(m.low <= m.high))
    problems.push_back(bad(who + " has its limits the wrong way round"));
  for (const std::string& id : m.surfaces)
    if (raw_index(id) < 0) unknown(who, id);
}

void Builder::check_casting() {
  for (const RawSurface& s : casting.surfaces) {
    if (s.id.empty()) problems.push_back(bad("a raw surface has no name"));
    if (s.body < 0) problems.push_back(bad("raw surface \"" + s.id + "\" belongs to no body", std::to_string(s.body)));
    names.push_back(s.id);
  }
  if (!(casting.texture_s >= 0) || !std::isfinite(casting.texture_s))
    problems.push_back(bad("the roughness of the casting must be at least 0"));
  if (!std::isfinite(casting.parting_height)) problems.push_back(bad("the parting height is not finite"));
  for (size_t i = 0; i < casting.modes.size(); ++i) check_mode(i);
  for (const Joint& j : casting.joints) {
    bool good = j.covariance.size() == j.modes.size() * j.modes.size();
    for (int m : j.modes) good = good && m >= 0 && static_cast<size_t>(m) < casting.modes.size();
    for (double c : j.covariance) good = good && std::isfinite(c);
    if (!good)
      problems.push_back(bad(
          "a group of errors that go together has a covariance of the wrong size, an unknown error or a bad number"));
  }
}

void Builder::check_surface(const std::string& who, const std::string& id, int operation) {
  if (raw_index(id) >= 0) return;
  const int f = face_index(id);
  if (f < 0) unknown(who, id);
  else if (route.faces[static_cast<size_t>(f)].operation >= operation)
    problems.push_back(
        bad(who + " uses a face that is not cut before it", id, "a raw surface or a face of an earlier operation"));
}

void Builder::check_route() {
  const int count = static_cast<int>(route.operations.size());
  if (count == 0) problems.push_back(bad("the route has no operation"));
  for (const Face& f : route.faces) names.push_back(f.id);
  std::vector<std::string> sorted = names;
  std::sort(sorted.begin(), sorted.end());
  const auto twice = std::adjacent_find(sorted.begin(), sorted.end());
  if (twice != sorted.end()) problems.push_back(bad("two surfaces have the same name", *twice));
  for (int k = 0; k < count; ++k) {
    const Operation& op = route.operations[static_cast<size_t>(k)];
    for (size_t i = 0; i < 6; ++i)
      if (!(op.shift_low[i] <= op.shift_high[i]) || !std::isfinite(op.shift_low[i]) || !std::isfinite(op.shift_high[i]))
        problems.push_back(bad("operation \"" + op.id + "\" has program shift limits the wrong way round"));
    for (const Contact& c : op.contacts) {
      const std::string who = "operation \"" + op.id + "\", contact \"" + c.id + "\"";
      if (c.touches.empty()) problems.push_back(bad(who + " touches nothing"));
      if (!(c.s >= 0) || !std::isfinite(c.s) || !std::isfinite(c.offset))
        problems.push_back(bad(who + " needs a finite offset and a spread of at least 0"));
      for (const Touch& t : c.touches) {
        check_surface(who, t.surface, k);
        if (!finite(t.p) || !is_unit(t.n))
          problems.push_back(bad(who + " needs a finite place and a normal of length 1"));
        if (!std::isfinite(t.weight)) problems.push_back(bad(who + " has a weight that is not finite"));
      }
    }
  }
  for (const Face& f : route.faces) {
    const std::string who = "face \"" + f.id + "\"";
    if (f.operation < 0 || f.operation >= count) {
      problems.push_back(
          bad(who + " is cut in an operation that the route does not have", std::to_string(f.operation)));
      continue;
    }
    if (f.from.empty()) {
      if (!f.points.empty()) problems.push_back(bad(who + " has sample points and no surface that it is cut from"));
      if (!(f.size_s >= 0) || !std::isfinite(f.size_s)) problems.push_back(bad(who + " needs a scatter of at least 0"));
      continue;
    }
    check_surface(who, f.from, f.operation);
    if (f.points.empty()) problems.push_back(bad(who + " has no sample points"));
    if (!(f.must_leave >= 0) || !std::isfinite(f.must_leave))
      problems.push_back(bad(who + " needs a least depth of at least 0", base::shortest(f.must_leave)));
    if (!(f.weight > 0) || !std::isfinite(f.weight))
      problems.push_back(bad(who + " needs a weight above 0", base::shortest(f.weight)));
    if (!(f.size_s >= 0) || !std::isfinite(f.size_s))
      problems.push_back(bad(who + " needs a scatter of at least 0", base::shortest(f.size_s)));
    for (const FacePoint& p : f.points)
      if (!finite(p.q) || !finite(p.p) || !is_unit(p.n)) {
        problems.push_back(bad(who + " has a sample point that is not finite or a normal that is not of length 1"));
        break;
      }
  }
}

void Builder::size_layout() {
  for (const Operation& op : route.operations)
    for (const Contact& c : op.contacts) {
      ++layout.contacts;
      for (const Touch& t : c.touches)
        if (raw_index(t.surface) >= 0) ++layout.touches;
    }
  layout.cuts = route.faces.size();
  layout.shifts = 6 * route.operations.size();
}

/// Where a surface stands, along n, against its nominal place, in the casting's own frame. Raw surfaces: the deviation
/// under the touch (for sample points it is added later). Cut faces: where their operation left them.
Row Builder::deviation(const std::string& surface, Vec3 p, Vec3 n, bool touch) {
  Row row(layout.size(), 0.0);
  if (raw_index(surface) >= 0) {
    if (touch) row[layout.touch(next_touch++)] = 1;
    return row;
  }
  const int f = face_index(surface);
  const auto op = static_cast<size_t>(route.faces[static_cast<size_t>(f)].operation);
  add(row, -1, along(poses[op], p, n));
  const Vec3 m = cross(p, n);
  const double c[6] = {n.x, n.y, n.z, m.x, m.y, m.z};
  for (size_t k = 0; k < 6; ++k) row[layout.shift(op, k)] += c[k];
  row[layout.cut(static_cast<size_t>(f))] += 1;
  return row;
}

std::string freedom_words(const std::vector<double>& v) {
  static const char* const words[] = {"shift along X", "shift along Y", "shift along Z",
                                      "turn about X",  "turn about Y",  "turn about Z"};
  double largest = 0;
  for (double x : v) largest = std::max(largest, std::fabs(x));
  std::vector<std::string> parts;
  for (size_t i = 0; i < 6; ++i)
    if (std::fabs(v[i]) > 0.3 * largest) parts.emplace_back(words[i]);
  return base::join(parts, " with ");
}

void Builder::pose(size_t k) {
  const Operation& op = route.operations[k];
  const size_t rows = op.contacts.size();
  Vec3 middle;
  size_t count = 0;
  for (const Contact& c : op.contacts)
    for (const Touch& t : c.touches) {
      middle = middle + t.p;
      ++count;
    }
  if (count > 0) middle = (1.0 / static_cast<double>(count)) * middle;
  double arm = 1e-6;
  for (const Contact& c : op.contacts)
    for (const Touch& t : c.touches) arm = std::max(arm, frame::norm(t.p - middle));

  // Turns are taken about the middle of the contacts and measured by the way they move at `arm`, so that the six
  // columns compare.
  std::vector<double> jacobian(rows * 6, 0.0);
  std::vector<Row> rhs;
  for (size_t i = 0; i < rows; ++i) {
    const Contact& c = op.contacts[i];
    Row row(layout.size(), 0.0);
    row[0] = c.offset;
    row[layout.contact(next_contact++)] = 1;
    for (const Touch& t : c.touches) {
      const Vec3 m = cross(t.p - middle, t.n);
      const double j[6] = {t.n.x, t.n.y, t.n.z, m.x / arm, m.y / arm, m.z / arm};
      for (size_t a = 0; a < 6; ++a) jacobian[i * 6 + a] += t.weight * j[a];
      const bool raw = raw_index(t.surface) >= 0;
      if (raw) model.touches.push_back({static_cast<int>(k), static_cast<int>(i), t.surface, t.p, t.n});
      add(row, t.weight, deviation(t.surface, t.p, t.n, true));
    }
    rhs.push_back(row);
  }
  const maths::PseudoInverse inverse = maths::pseudo_inverse(jacobian, rows, 6, 1e-7);
  for (const auto& free : inverse.free_directions)
    problems.push_back(
        bad("operation \"" + op.id + "\": nothing holds the casting against " + freedom_words(free),
            std::to_string(rows) + " contacts holding " + std::to_string(inverse.rank) + " of 6 freedoms"));
  model.held.push_back(inverse.rank == 6 ? inverse.weakest : 0);
  std::array<Row, 6> scaled;
  for (size_t a = 0; a < 6; ++a) {
    scaled[a].assign(layout.size(), 0.0);
    for (size_t i = 0; i < rows; ++i) add(scaled[a], -inverse.inverse[a * rows + i], rhs[i]);
  }
  for (size_t a = 3; a < 6; ++a)
    for (double& x : scaled[a]) x /= arm;
  // t at the origin: t_middle = t + w x middle.
  const double m[3] = {middle.x, middle.y, middle.z};
  for (size_t a = 0; a < 3; ++a) {
    const size_t b = (a + 1) % 3, c = (a + 2) % 3;
    add(scaled[a], -m[c], scaled[3 + b]);
    add(scaled[a], m[b], scaled[3 + c]);
  }
  poses.push_back(scaled);
}

/// The modes' effect on a raw place, added to a row of parameters.
void add_modes(const Casting& casting, const std::string& surface, int body, Vec3 p, Vec3 n, double factor,
               double* out) {
  for (size_t m = 0; m < casting.modes.size(); ++m)
    out[m] += factor * mode_field(casting.modes[m], surface, body, p, n);
}

void Builder::parameters() {
  for (const Mode& m : casting.modes) model.parameters.push_back({m.name, m.family, m.mean, m.s, m.low, m.high});
  model.mode_count = static_cast<int>(casting.modes.size());
  model.texture_s = casting.texture_s;
  if (casting.texture_s > 0)
    for (const RawTouch& t : model.touches)
      model.parameters.push_back(
          {"roughness of " + t.surface + " under " + route.operations[static_cast<size_t>(t.operation)].id,
           Mode::Family::normal, 0, casting.texture_s, 0, 0});
  for (const Operation& op : route.operations)
    for (const Contact& c : op.contacts)
      if (c.s > 0) model.parameters.push_back({"locator " + c.id + " of " + op.id, Mode::Family::normal, 0, c.s, 0, 0});
  for (const Face& f : route.faces)
    if (f.size_s > 0) model.parameters.push_back({"cut of " + f.id, Mode::Family::normal, 0, f.size_s, 0, 0});
  if (casting.joints.empty()) return;
  const size_t n = casting.modes.size();
  model.factor.assign(n * n, 0.0);
  for (size_t i = 0; i < n; ++i) model.factor[i * n + i] = casting.modes[i].s;
  for (const Joint& j : casting.joints) {
    const size_t k = j.modes.size();
    const auto factor = maths::semidefinite_factor(j.covariance, k);
    for (size_t a = 0; a < k; ++a) {
      const auto row = static_cast<size_t>(j.modes[a]);
      model.factor[row * n + row] = 0;
      for (size_t b = 0; b < k; ++b) model.factor[row * n + static_cast<size_t>(j.modes[b])] = factor[a * k + b];
    }
  }
}

/// Turns an affine row into effects of the model's parameters.
void spread_row(const Builder& b, const Row& row, double* out) {
  const Layout& l = b.layout;
  size_t next = b.casting.modes.size();
  for (size_t t = 0; t < l.touches; ++t) {
    const RawTouch& touch = b.model.touches[t];
    const double factor = row[l.touch(t)];
    if (factor != 0)
      add_modes(b.casting, touch.surface, b.body_at(b.raw_index(touch.surface), touch.p), touch.p, touch.n, factor,
                out);
    if (b.casting.texture_s > 0) out[next++] += factor;
  }
  size_t c = 0;
  for (const Operation& op : b.route.operations)
    for (const Contact& contact : op.contacts) {
      if (contact.s > 0) out[next++] += row[l.contact(c)];
      ++c;
    }
  for (size_t f = 0; f < b.route.faces.size(); ++f)
    if (b.route.faces[f].size_s > 0) out[next++] += row[l.cut(f)];
}

void Builder::faces() {
  const size_t k = model.parameters.size(), touches = model.touches.size();
  for (size_t f = 0; f < route.faces.size(); ++f) {
    const Face& face = route.faces[f];
    if (face.from.empty()) continue;
    model.faces.push_back(face);
    model.first_point.push_back(model.point_count);
    const int raw = raw_index(face.from);
    const auto op = static_cast<size_t>(face.operation);
    for (const FacePoint& point : face.points) {
      Row row = deviation(face.from, point.p, point.n, false);
      add(row, 1, along(poses[op], point.p, point.n));
      const Vec3 m = cross(point.q, point.n);
      const double c[6] = {point.n.x, point.n.y, point.n.z, m.x, m.y, m.z};
      for (size_t a = 0; a < 6; ++a) row[layout.shift(op, a)] -= c[a];
      row[layout.cut(f)] -= 1;
      model.face_of.push_back(static_cast<int>(model.faces.size()) - 1);
      model.raw_point.push_back(raw >= 0 ? 1 : 0);
      model.nominal.push_back(dot(point.n, point.p - point.q) + row[0]);
      const size_t at = model.by_parameter.size();
      model.by_parameter.resize(at + k, 0.0);
      const size_t modes = casting.modes.size(), own = model.raw_by_mode.size();
      model.raw_by_mode.resize(own + modes, 0.0);
      if (raw >= 0)
        add_modes(casting, face.from, body_at(raw, point.p), point.p, point.n, 1, model.raw_by_mode.data() + own);
      for (size_t j = 0; j < modes; ++j) model.by_parameter[at + j] += model.raw_by_mode[own + j];
      spread_row(*this, row, model.by_parameter.data() + at);
      for (size_t t = 0; t < touches; ++t) model.by_touch.push_back(row[layout.touch(t)]);
      for (size_t o = 0; o < route.operations.size(); ++o)
        for (size_t a = 0; a < 6; ++a) model.by_shift.push_back(row[layout.shift(o, a)]);
      ++model.point_count;
    }
  }
  model.first_point.push_back(model.point_count);
}

Outcome<Model> Builder::run() {
  check_casting();
  check_route();
  if (!problems.empty()) return problems;
  size_layout();
  for (size_t k = 0; k < route.operations.size(); ++k) pose(k);
  if (!problems.empty()) return problems;
  parameters();
  for (const Operation& op : route.operations) {
    model.operation_ids.push_back(op.id);
    model.shift_low.push_back(op.shift_low);
    model.shift_high.push_back(op.shift_high);
  }
  faces();
  for (const auto& pose : poses)
    for (const Row& row : pose) {
      const size_t at = model.pose_by_parameter.size();
      model.pose_by_parameter.resize(at + model.parameters.size(), 0.0);
      spread_row(*this, row, model.pose_by_parameter.data() + at);
    }
  return std::move(model);
}

bool listed(const std::vector<std::string>& names, const std::string& name) {
  return names.empty() || std::find(names.begin(), names.end(), name) != names.end();
}

double unit_field(const Mode& m, Vec3 p, Vec3 n) {
  const Vec3 r = p - m.centre;
  switch (m.shape) {
    case Shape::shift:
      return dot(n, m.direction);
    case Shape::turn:
      return dot(n, cross(m.direction, r));
    case Shape::stretch:
      return dot(n, m.direction) * dot(r, m.direction) / m.length;
    case Shape::scale:
      return dot(n, r);
    case Shape::swell:
      return 1;
    case Shape::bend: {
      const double u = 2 * dot(r, m.along) / m.length;
      return dot(n, m.direction) * u * u;
    }
    case Shape::twist:
      return dot(n, m.direction) * (2 * dot(r, m.along) / m.length) *
             (2 * dot(r, cross(m.direction, m.along)) / m.across);
    case Shape::bump:
      return dot(r, r) <= m.radius * m.radius ? 1 : 0;
  }
  return 0;
}

}  // namespace

double mode_field(const Mode& m, const std::string& surface, int body, Vec3 p, Vec3 n) {
  if (!m.bodies.empty() && std::find(m.bodies.begin(), m.bodies.end(), body) == m.bodies.end()) return 0;
  if (!listed(m.surfaces, surface)) return 0;
  return m.scale * unit_field(m, p, n);
}

Outcome<Model> build(const Casting& casting, const Route& route) {
  Builder b{casting, route, {}, {}, {}, {}, {}, 0, 0};
  return b.run();
}

std::vector<double> stock(const Model& m, const std::vector<double>& parameters, const std::vector<double>& shifts) {
  std::vector<double> out = m.nominal;
  const size_t k = m.parameters.size(), h = 6 * m.operation_ids.size();
  for (size_t i = 0; i < out.size(); ++i) {
    double sum = 0;
    for (size_t j = 0; j < std::min(k, parameters.size()); ++j) sum += m.by_parameter[i * k + j] * parameters[j];
    for (size_t j = 0; j < std::min(h, shifts.size()); ++j) sum += m.by_shift[i * h + j] * shifts[j];
    out[i] += sum;
  }
  return out;
}

std::vector<double> stock_of_measured(const Model& m, const std::vector<double>& touch,
                                      const std::vector<double>& point, const std::vector<double>& shifts) {
  std::vector<double> out = stock(m, {}, shifts);
  const size_t t = m.touches.size();
  for (size_t i = 0; i < out.size(); ++i) {
    double sum = m.raw_point[i] != 0 && i < point.size() ? point[i] : 0;
    for (size_t j = 0; j < std::min(t, touch.size()); ++j) sum += m.by_touch[i * t + j] * touch[j];
    out[i] += sum;
  }
  return out;
}

std::vector<double> raw_deviation(const Model& m, const std::vector<double>& parameters) {
  const auto modes = static_cast<size_t>(m.mode_count);
  std::vector<double> out(static_cast<size_t>(m.point_count), 0.0);
  for (size_t i = 0; i < out.size(); ++i)
    for (size_t j = 0; j < std::min(modes, parameters.size()); ++j)
      out[i] += m.raw_by_mode[i * modes + j] * parameters[j];
  return out;
}

std::vector<FaceStock> by_face(const Model& m, const std::vector<double>& stock) {
  std::vector<FaceStock> out;
  for (size_t f = 0; f < m.faces.size(); ++f) {
    const auto first = static_cast<size_t>(m.first_point[f]), end = static_cast<size_t>(m.first_point[f + 1]);
    FaceStock s;
    s.face = m.faces[f].id;
    s.must_leave = m.faces[f].must_leave;
    size_t least = first, most = first;
    for (size_t i = first; i < end; ++i) {
      if (stock[i] < stock[least]) least = i;
      if (stock[i] > stock[most]) most = i;
    }
    for (size_t i = first; i < end; ++i)
      if (std::isnan(stock[i])) least = most = i;  // a bad number never hides
    s.least = stock[least];
    s.most = stock[most];
    s.least_point = static_cast<int>(least - first);
    s.most_point = static_cast<int>(most - first);
    s.least_at = m.faces[f].points[static_cast<size_t>(s.least_point)].q;
    s.most_at = m.faces[f].points[static_cast<size_t>(s.most_point)].q;
    s.reserve = s.least - s.must_leave;
    out.push_back(s);
  }
  return out;
}

int tightest(const Model& m, const std::vector<FaceStock>& faces) {
  int best = -1;
  double least = 0;
  for (size_t f = 0; f < faces.size(); ++f) {
    const double r = faces[f].reserve / m.faces[f].weight;
    if (std::isnan(r)) return static_cast<int>(f);
    if (best < 0 || r < least) {
      best = static_cast<int>(f);
      least = r;
    }
  }
  return best;
}

}  // namespace fettle::casting
