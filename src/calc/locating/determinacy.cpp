#include "calc/locating/determinacy.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"

namespace fettle::locating {

namespace {

using frame::cross;
using frame::dot;
using frame::norm;
using frame::unit;
using maths::Matrix;

constexpr double rank_cut = 1e-7;  // relative; a micrometre over ten metres
constexpr double small = 1e-6;     // what counts as zero in a unit direction

bool finite(Vec3 v) { return std::isfinite(v.x) && std::isfinite(v.y) && std::isfinite(v.z); }

Problems refusals(const std::vector<Contact>& contacts) {
  Problems out;
  if (contacts.empty()) out.push_back(bad("no contact given", {}, "at least one contact"));
  for (std::size_t i = 0; i < contacts.size(); ++i) {
    const Contact& c = contacts[i];
    const std::string name = c.name.empty() ? fmt::format("contact {}", i + 1) : c.name;
    if (!finite(c.p) || !finite(c.n)) out.push_back(bad(name + ": a coordinate is not a number"));
    else if (!(norm(c.n) > 0)) out.push_back(bad(name + ": its direction has no length", "0, 0, 0"));
  }
  return out;
}

/// Moves the origin to the middle of the contacts and measures lengths by their spread, so that the rank does not
/// depend on where the frame stands or on the unit.
struct Scale {
  Vec3 middle;
  double length = 1;
};
Scale scale_of(const std::vector<Contact>& contacts) {
  Scale s;
  for (const Contact& c : contacts) s.middle = s.middle + c.p;
  s.middle = (1.0 / static_cast<double>(contacts.size())) * s.middle;
  double sum = 0;
  for (const Contact& c : contacts) sum += dot(c.p - s.middle, c.p - s.middle);
  const double rms = std::sqrt(sum / static_cast<double>(contacts.size()));
  if (rms > 0) s.length = rms;
  return s;
}
Matrix scaled_jacobian(const std::vector<Contact>& contacts, const Scale& scale) {
  Matrix J(contacts.size(), 6);
  for (std::size_t i = 0; i < contacts.size(); ++i) {
    const Vec3 n = unit(contacts[i].n), m = (1 / scale.length) * cross(contacts[i].p - scale.middle, n);
    const double row[6] = {n.x, n.y, n.z, m.x, m.y, m.z};
    for (std::size_t j = 0; j < 6; ++j) J(i, j) = row[j];
  }
  return J;
}

using Twist = std::array<double, 6>;  // t, then w, scaled

/// Reduced row echelon form with full choice of pivots among columns first..last: gives the plainest directions (X
/// before a mixture of X and Y) that span the same motions.
void reduce(std::vector<Twist>& rows, std::size_t first, std::size_t last) {
  std::size_t done = 0;
  std::array<bool, 6> used{};
  while (done < rows.size()) {
    std::size_t row = 0, column = 6;
    double most = small;
    for (std::size_t r = done; r < rows.size(); ++r)
      for (std::size_t c = first; c < last; ++c)
        if (!used[c] && std::fabs(rows[r][c]) > most * (1 + 1e-9)) {
          most = std::fabs(rows[r][c]);
          row = r;
          column = c;
        }
    if (column == 6) return;
    used[column] = true;
    std::swap(rows[done], rows[row]);
    const double pivot = rows[done][column];
    for (double& x : rows[done]) x /= pivot;
    for (std::size_t r = 0; r < rows.size(); ++r) {
      if (r == done) continue;
      const double f = rows[r][column];
      for (std::size_t c = 0; c < 6; ++c) rows[r][c] -= f * rows[done][c];
    }
    ++done;
  }
}

double length_of(const Twist& t, std::size_t first) {
  return std::sqrt(t[first] * t[first] + t[first + 1] * t[first + 1] + t[first + 2] * t[first + 2]);
}

/// Splits the motions of a null space into pure slides and the rest, each as plain as possible.
struct Motions {
  std::vector<Twist> slides, turns;
};
Motions plain_motions(const Matrix& null_space) {
  std::vector<Twist> all;
  for (std::size_t k = 0; k < null_space.cols; ++k) {
    Twist t{};
    for (std::size_t j = 0; j < 6; ++j) t[j] = null_space(j, k);
    all.push_back(t);
  }
  Motions out;
  reduce(all, 3, 6);  // turning parts first: what is left without them only slides
  for (const Twist& t : all) (length_of(t, 3) > small ? out.turns : out.slides).push_back(t);
  reduce(out.slides, 0, 3);
  for (Twist& s : out.slides) {
    const double l = length_of(s, 0);
    for (double& x : s) x /= l;
  }
  // A turn may have any slide added: take away what it shares with them (they are few; two passes settle it).
  for (int pass = 0; pass < 2; ++pass)
    for (Twist& t : out.turns)
      for (const Twist& s : out.slides) {
        const double shared = t[0] * s[0] + t[1] * s[1] + t[2] * s[2];
        for (std::size_t c = 0; c < 3; ++c) t[c] -= shared * s[c];
      }
  return out;
}

std::string direction_words(Vec3 a) {
  const std::pair<Vec3, const char*> axes[] = {{{1, 0, 0}, "X"}, {{0, 1, 0}, "Y"}, {{0, 0, 1}, "Z"}};
  for (const auto& [axis, name] : axes)
    if (norm(cross(a, axis)) < 1e-5) return name;
  return fmt::format("({}, {}, {})", base::fixed(a.x, 3), base::fixed(a.y, 3), base::fixed(a.z, 3));
}
std::string point_words(Vec3 p) {
  return fmt::format("({}, {}, {}) mm", base::fixed(p.x * 1e3, 2), base::fixed(p.y * 1e3, 2),
                     base::fixed(p.z * 1e3, 2));
}
/// Largest part positive, so that the same freedom always reads the same.
Vec3 upright(Vec3 a) {
  const double x = std::fabs(a.x), y = std::fabs(a.y), z = std::fabs(a.z);
  const double lead = x >= y - small && x >= z - small ? a.x : y >= z - small ? a.y : a.z;
  return lead < 0 ? -a : a;
}

Freedom slide(const Twist& s) {
  Freedom f;
  f.axis = upright(unit(Vec3{s[0], s[1], s[2]}));
  f.words = "free to slide along " + direction_words(f.axis);
  return f;
}
Freedom turning(const Twist& m, const Scale& scale) {
  Freedom f;
  // Back to metres: t is a length per scaled turn.
  const Vec3 t{m[0], m[1], m[2]};
  const Vec3 w = (1 / scale.length) * Vec3{m[3], m[4], m[5]};
  const double ww = dot(w, w);
  f.axis = upright(unit(w));
  f.point = scale.middle + (1 / ww) * cross(w, t);
  f.pitch = dot(w, t) / ww;
  f.type = std::fabs(f.pitch) > small * scale.length ? Freedom::Type::screw : Freedom::Type::turn;
  f.words =
      fmt::format("free to turn about an axis along {} through {}", direction_words(f.axis), point_words(f.point));
  if (f.type == Freedom::Type::screw)
    f.words += fmt::format(" while sliding along it by {} mm a degree",
                           base::fixed(f.pitch * 1e3 * 3.14159265358979323846 / 180, 3));
  return f;
}

/// Self-stresses as few contacts at a time as possible: row-reduce the left null space.
std::vector<Fight> fights_of(const maths::Svd& s, const std::vector<Contact>& contacts) {
  const std::size_t m = contacts.size(), n = m - s.rank;
  std::vector<std::vector<double>> rows(n, std::vector<double>(m));
  for (std::size_t k = 0; k < n; ++k)
    for (std::size_t i = 0; i < m; ++i) rows[k][i] = s.U(i, s.rank + k);
  for (std::size_t done = 0; done < n; ++done) {
    std::size_t row = done, column = 0;
    double most = 0;
    for (std::size_t r = done; r < n; ++r)
      for (std::size_t c = 0; c < m; ++c)
        if (std::fabs(rows[r][c]) > most * (1 + 1e-9)) {
          most = std::fabs(rows[r][c]);
          row = r;
          column = c;
        }
    std::swap(rows[done], rows[row]);
    for (std::size_t r = 0; r < n; ++r) {
      if (r == done) continue;
      const double f = rows[r][column] / rows[done][column];
      for (std::size_t c = 0; c < m; ++c) rows[r][c] -= f * rows[done][c];
    }
  }
  std::vector<Fight> out;
  for (const std::vector<double>& row : rows) {
    Fight f;
    double most = 0;
    for (const double x : row)
      if (std::fabs(x) > std::fabs(most) * (1 + 1e-9)) most = x;
    f.rocks = true;
    std::vector<std::string> names;
    for (std::size_t i = 0; i < m; ++i) {
      if (!(std::fabs(row[i]) > small * std::fabs(most))) continue;
      f.contacts.push_back(i);
      f.share.push_back(row[i] / most);
      f.rocks = f.rocks && contacts[i].kind == Contact::Kind::one_sided;
      names.push_back(contacts[i].name.empty() ? fmt::format("contact {}", i + 1) : contacts[i].name);
    }
    // One-sided contacts that push against each other from both sides squeeze instead of rocking.
    bool squeezes = false;
    for (std::size_t i = 0; i < f.contacts.size(); ++i)
      for (std::size_t j = 0; j < i; ++j)
        squeezes = squeezes || dot(unit(contacts[f.contacts[i]].n), unit(contacts[f.contacts[j]].n)) < -0.5;
    f.rocks = f.rocks && !squeezes;
    f.words =
        base::join(names, ", ") + (f.rocks ? ": one too many, the part rocks on them"
                                           : ": one too many, they fight (a tight part is forced or does not go on)");
    out.push_back(f);
  }
  return out;
}

}  // namespace

std::vector<Contact> round_pin(const std::string& name, Vec3 p, Vec3 first, Vec3 second) {
  return {{name + " in x", p, first, Contact::Kind::two_sided}, {name + " in y", p, second, Contact::Kind::two_sided}};
}
Contact relieved_pin(const std::string& name, Vec3 p, Vec3 stopped) {
  return {name, p, stopped, Contact::Kind::two_sided};
}

Matrix contact_jacobian(const std::vector<Contact>& contacts) { return scaled_jacobian(contacts, {}); }

Outcome<Determinacy> determinacy(const std::vector<Contact>& contacts) {
  if (Problems problems = refusals(contacts); !problems.empty()) return problems;
  const Scale scale = scale_of(contacts);
  const Matrix J = scaled_jacobian(contacts, scale);
  const maths::Svd s = maths::svd(J, rank_cut);
  Determinacy out;
  out.rank = s.rank;
  out.singular = s.s;
  out.condition = s.rank > 0 ? s.s[0] / s.s[s.rank - 1] : 0;
  const Motions motions = plain_motions(maths::null_space(J, rank_cut));
  for (const Twist& t : motions.slides) out.left.push_back(slide(t));
  for (const Twist& t : motions.turns) out.left.push_back(turning(t, scale));
  out.fights = fights_of(s, contacts);
  // Slides before turns, X before Y before Z, whatever order the decomposition gave.
  const auto order = [](const Freedom& f) {
    const double x = std::fabs(f.axis.x), y = std::fabs(f.axis.y), z = std::fabs(f.axis.z);
    return (f.type == Freedom::Type::slide ? 0 : 3) + (x >= y && x >= z ? 0 : y >= z ? 1 : 2);
  };
  std::stable_sort(out.left.begin(), out.left.end(),
                   [&](const Freedom& a, const Freedom& b) { return order(a) < order(b); });
  out.determinate = out.left.empty() && out.fights.empty();
  for (const Freedom& f : out.left) out.words.push_back(f.words);
  for (const Fight& f : out.fights) out.words.push_back(f.words);
  if (out.words.empty()) out.words.push_back("held in one place, nothing fought over");
  if (out.condition > 100)
    out.caution =
        fmt::format("the contacts stand so that small errors grow (condition {})", base::fixed(out.condition, 0));
  return out;
}

Outcome<Seating> seating(const std::vector<Contact>& contacts, Vec3 force, Vec3 at) {
  if (Problems problems = refusals(contacts); !problems.empty()) return problems;
  if (!finite(force) || !finite(at)) return bad("the force or its place is not a number");
  if (contacts.size() != 6) return bad("seating needs exactly six contacts", std::to_string(contacts.size()), "6");
  const Scale scale = scale_of(contacts);
  const Vec3 moment = (1 / scale.length) * cross(at - scale.middle, force);
  const auto forces = maths::solve(maths::transposed(scaled_jacobian(contacts, scale)),
                                   {-force.x, -force.y, -force.z, -moment.x, -moment.y, -moment.z});
  if (!forces) return bad("these six contacts leave a freedom: nothing can balance the force");
  Seating out;
  out.force = *forces;
  double most = norm(force);
  for (std::size_t i = 0; i < 6; ++i)
    if (contacts[i].kind == Contact::Kind::one_sided && !(out.force[i] >= -1e-9 * most)) out.opens.push_back(i);
  out.pressed = out.opens.empty();
  return out;
}

}  // namespace fettle::locating
