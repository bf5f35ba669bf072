#include "calc/structure/reduced.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "calc/structure/plate_system.h"
#include "calc/structure/reduced_space.h"

namespace fettle::structure {

namespace {

using Eigen::Index;
using Eigen::Matrix3d;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double pi = 3.14159265358979323846;
using Mat6 = Eigen::Matrix<double, 6, 6>;
using To6 = Eigen::Matrix<double, 3, 6>;

/// Places of equal weight, as the full model takes them: a round patch, a footprint, seats.
using Places = std::vector<std::array<double, 2>>;
Places disc(double x, double y, double diameter) {
  constexpr int n = 12;
  Places out;
  if (!(diameter > 0)) return {{x, y}};
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) {
      const double u = (i + 0.5) / n - 0.5, v = (j + 0.5) / n - 0.5;
      if (u * u + v * v <= 0.25) out.push_back({x + u * diameter, y + v * diameter});
    }
  return out;
}
Places footprint(const Part& p) {
  constexpr int n = 16;
  Places out;
  for (const std::array<double, 2>& seat : p.seats)
    for (const std::array<double, 2>& place : disc(seat[0], seat[1], p.seat_diameter)) out.push_back(place);
  if (!p.seats.empty()) return out;
  const double c = std::cos(p.turn), s = std::sin(p.turn);
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) {
      const double u = ((i + 0.5) / n - 0.5) * p.size_x, v = ((j + 0.5) / n - 0.5) * p.size_y;
      out.push_back({p.x + c * u - s * v, p.y + s * u + c * v});
    }
  return out;
}

/// Places brought to the nodes as the mesh's elements do: node weights of the mean, and of the distance along X and Y.
struct Patch {
  bool there = false;
  double x = 0, y = 0, xx = 0, xy = 0, yy = 0;  ///< middle; mean squares about it
  MatrixXd mean, along_x, along_y;              ///< column by row of nodes, of the box below
  int column = 0, row = 0;                      ///< first node of the box
};
Patch patch_of(const BasisData& d, const Places& all) {
  Patch p;
  const int n = d.in.columns, m = d.in.rows;
  struct Spot {
    int i, j;
    double s, t, x, y;
  };
  std::vector<Spot> on;
  int last_i = 0, last_j = 0;
  p.column = n, p.row = m;
  for (const std::array<double, 2>& q : all) {
    const double a = (q[0] / d.in.plate.length + 0.5) * n, b = (q[1] / d.in.plate.width + 0.5) * m;
    if (!(a >= -1e-9 && b >= -1e-9 && a <= n + 1e-9 && b <= m + 1e-9)) continue;
    const int i = std::clamp(static_cast<int>(std::floor(a)), 0, n - 1),
              j = std::clamp(static_cast<int>(std::floor(b)), 0, m - 1);
    on.push_back({i, j, std::clamp(a - i, 0.0, 1.0), std::clamp(b - j, 0.0, 1.0), q[0], q[1]});
    p.x += q[0], p.y += q[1];
    p.column = std::min(p.column, i), p.row = std::min(p.row, j);
    last_i = std::max(last_i, i + 1), last_j = std::max(last_j, j + 1);
  }
  if (on.empty()) return p;
  p.there = true;
  const double share = 1.0 / static_cast<double>(on.size());
  p.x *= share, p.y *= share;
  p.mean = p.along_x = p.along_y = MatrixXd::Zero(last_i - p.column + 1, last_j - p.row + 1);
  for (const Spot& q : on) {
    const double dx = q.x - p.x, dy = q.y - p.y;
    p.xx += share * dx * dx, p.xy += share * dx * dy, p.yy += share * dy * dy;
    for (int k = 0; k < 4; ++k) {
      const int i = q.i - p.column + k % 2, j = q.j - p.row + k / 2;
      const double w = share * (k % 2 ? q.s : 1 - q.s) * (k / 2 ? q.t : 1 - q.t);
      p.mean(i, j) += w, p.along_x(i, j) += w * dx, p.along_y(i, j) += w * dy;
    }
  }
  return p;
}
/// Values of functions along X and Y (node by function), weighted over the patch's nodes.
MatrixXd weighted(const Patch& p, const MatrixXd& weight, const MatrixXd& x, const MatrixXd& y) {
  return x.middleRows(p.column, weight.rows()).transpose() * (weight * y.middleRows(p.row, weight.cols()));
}

/// A patch's mean and slopes of any one motion, at every pair of degrees; and the same of the mesh's waves.
struct Moments {
  MatrixXd mean, slope_x, slope_y, waves_mean, waves_x, waves_y;
};
Moments moments(const BasisData& d, const Patch& p) {
  Moments m;
  const double det = p.xx * p.yy - p.xy * p.xy;
  const MatrixXd slope_x = (p.yy * p.along_x - p.xy * p.along_y) / det,
                 slope_y = (p.xx * p.along_y - p.xy * p.along_x) / det;
  m.mean = weighted(p, p.mean, d.x.value, d.y.value);
  m.slope_x = weighted(p, slope_x, d.x.value, d.y.value);
  m.slope_y = weighted(p, slope_y, d.x.value, d.y.value);
  m.waves_mean = weighted(p, p.mean, d.rest.cos_x, d.rest.cos_y);
  m.waves_x = weighted(p, slope_x, d.rest.cos_x, d.rest.cos_y);
  m.waves_y = weighted(p, slope_y, d.rest.cos_x, d.rest.cos_y);
  return m;
}

/// What a unit wave of one motion gives to a unit load. Deflection: by shear and bending. In the plane and turning,
/// short waves in every direction alike: half of them stretch along themselves (bending: and the deflection follows),
/// half slide across (bending: and shear holds them).
double wave_gives(const Section& s, Field field, double mu) {
  if (field == Field::w) return 1 / (s.shear * mu) + 1 / (s.bending[0] * mu * mu);
  if (field == Field::u || field == Field::v) return 0.5 / mu * (1 / s.stretch[0] + 1 / s.stretch[2]);
  return 0.5 / (s.bending[0] * mu) + 0.5 / (s.bending[2] * mu + s.shear);
}

/// What the polynomials of one motion miss under short loads: between two functionals, the product of their columns of
/// waves less that of their columns of polynomials.
struct Missed {
  std::vector<int> which;  ///< functional of each column, rising
  MatrixXd waves, poly;
  void add_to(MatrixXd& rest, Index a, Index na, Index b, Index nb) const {
    const auto part = [&](Index from, Index n) {
      const auto first = std::lower_bound(which.begin(), which.end(), static_cast<int>(from)),
                 last = std::lower_bound(which.begin(), which.end(), static_cast<int>(from + n));
      return std::pair<Index, Index>(first - which.begin(), last - first);
    };
    const auto [i, ni] = part(a, na);
    const auto [j, nj] = part(b, nb);
    if (ni == 0 || nj == 0) return;
    const MatrixXd m = waves.middleCols(i, ni).transpose() * waves.middleCols(j, nj) -
                       poly.middleCols(i, ni).transpose() * poly.middleCols(j, nj);
    for (Index p = 0; p < ni; ++p)
      for (Index q = 0; q < nj; ++q)
        rest(which[static_cast<std::size_t>(i + p)] - a, which[static_cast<std::size_t>(j + q)] - b) += m(p, q);
  }
};

/// Linear functionals of the plate's motion: sums of terms, each of one motion.
class Functionals {
 public:
  explicit Functionals(const BasisData& d) : d_(d) {}
  int count() const { return static_cast<int>(terms_.size()); }
  int start() {
    terms_.emplace_back();
    for (auto& w : waves_) w.emplace_back();
    return count() - 1;
  }
  void add(int which, Field f, const MatrixXd& degrees, double factor) {
    terms_[static_cast<std::size_t>(which)].push_back({f, degrees, factor});
  }
  /// A term with what the mesh's waves say of it: short loads reach further than the polynomials do.
  void add(int which, Field f, const MatrixXd& degrees, const MatrixXd& waves, double factor) {
    add(which, f, degrees, factor);
    MatrixXd& all = waves_[static_cast<std::size_t>(f)][static_cast<std::size_t>(which)];
    if (all.size() == 0) all = factor * waves;
    else all += factor * waves;
  }
  /// Mode (rising) by functional.
  MatrixXd in_modes() const {
    MatrixXd all(d_.modes, count());
    for (const Block& b : d_.blocks) {
      MatrixXd c = MatrixXd::Zero(static_cast<Index>(b.functions.size()), count());
      for (int k = 0; k < count(); ++k)
        for (const Term& t : terms_[static_cast<std::size_t>(k)])
          for (std::size_t f = 0; f < b.functions.size(); ++f)
            if (b.functions[f].field == t.field)
              c(static_cast<Index>(f), k) += t.factor * t.degrees(b.functions[f].i, b.functions[f].j);
      const MatrixXd m = b.modes.transpose() * c;
      for (std::size_t k = 0; k < b.place.size(); ++k) all.row(b.place[k]) = m.row(static_cast<Index>(k));
    }
    return all;
  }
  /// What the polynomials of one motion miss.
  Missed missed(Field field) const {
    const Section& section = d_.plain;
    const auto soft = [&](double mu) { return mu > 0 ? std::sqrt(wave_gives(section, field, mu)) : 0.0; };
    const MatrixXd weight = d_.rest.mu.unaryExpr(soft);
    const FieldRest& rest = d_.rest.field[static_cast<std::size_t>(field)];
    const std::vector<MatrixXd>& all = waves_[static_cast<std::size_t>(field)];
    Missed m;
    Index rows = 0;
    for (const auto& f : rest.functions) rows += static_cast<Index>(f.size());
    for (int k = 0; k < count(); ++k)
      if (all[static_cast<std::size_t>(k)].size() > 0) m.which.push_back(k);
    m.waves.resize(weight.size(), static_cast<Index>(m.which.size()));
    m.poly = MatrixXd::Zero(rows, static_cast<Index>(m.which.size()));
    for (Index c = 0; c < m.waves.cols(); ++c) {
      const std::size_t k = static_cast<std::size_t>(m.which[static_cast<std::size_t>(c)]);
      m.waves.col(c) = all[k].cwiseProduct(weight).reshaped();
      Index at = 0;
      for (const auto& fs : rest.functions)
        for (const Function& f : fs) {
          for (const Term& t : terms_[k])
            if (t.field == field) m.poly(at, c) += t.factor * t.degrees(f.i, f.j);
          ++at;
        }
    }
    Index at = 0;
    for (std::size_t c = 0; c < rest.functions.size(); ++c) {
      const Index n = static_cast<Index>(rest.functions[c].size());
      if (n > 0)
        m.poly.middleRows(at, n) =
            (rest.values[c].unaryExpr(soft).asDiagonal() * (rest.vectors[c].transpose() * m.poly.middleRows(at, n)))
                .eval();
      at += n;
    }
    return m;
  }

 private:
  struct Term {
    Field field;
    MatrixXd degrees;
    double factor;
  };
  const BasisData& d_;
  std::vector<std::vector<Term>> terms_;
  std::array<std::vector<MatrixXd>, 5> waves_;  ///< by field and functional
};

/// Mass of a part about the middle of its footprint at the plate's top: three motions, three turns.
Mat6 mass_of(const Part& p) {
  Eigen::Matrix<double, 3, 6> T = Eigen::Matrix<double, 3, 6>::Zero();
  T.leftCols<3>().setIdentity();
  T(0, 4) = p.height;  // turning about Y moves what stands high along X
  T(1, 3) = -p.height;
  Mat6 m = p.mass * T.transpose() * T;
  const double c = std::cos(p.turn), s = std::sin(p.turn);
  Matrix3d turn;
  turn << c, -s, 0, s, c, 0, 0, 0, 1;
  m.bottomRightCorner<3, 3>() +=
      turn * Eigen::Vector3d(p.inertia[0], p.inertia[1], p.inertia[2]).asDiagonal() * turn.transpose();
  return m;
}

/// Motion of a point that goes with six motions of a place.
To6 carried(frame::Vec3 from) {
  To6 T = To6::Zero();
  T.leftCols<3>().setIdentity();
  T(0, 4) = from.z, T(0, 5) = -from.y;
  T(1, 3) = -from.z, T(1, 5) = from.x;
  T(2, 3) = from.y, T(2, 4) = -from.x;
  return T;
}

constexpr int part_ways = 6, point_ways = 3;

/// All that touches the plate, as functionals: anchors, then parts, then points on the bare plate.
struct Touch {
  MatrixXd modes;                      ///< mode by functional
  std::array<Missed, 5> missed;        ///< by field
  VectorXd springs;                    ///< of the anchors' functionals, N/m or N m
  std::vector<int> point_start;        ///< first functional of each point on the bare plate; -1: on a part
  std::vector<double> foot_x, foot_y;  ///< middle of each part's tie
  Index anchors = 0, parts = 0;        ///< functionals
  std::string why;
};

/// Motions of a patch at the height `z` above the mid-plane, as a rigid foot that follows the plate best.
struct Foot {
  const BasisData& d;
  double z;
  Moments m;
  MatrixXd spin_x, spin_y;  ///< weights of the turn about Z
  Foot(const BasisData& data, const Patch& p, double height) : d(data), z(height), m(moments(data, p)) {
    const double polar = p.xx + p.yy;
    spin_x = weighted(p, p.along_x, d.x.value, d.y.value) / polar;
    spin_y = weighted(p, p.along_y, d.x.value, d.y.value) / polar;
  }
  void shift(Functionals& f, int k, bool along_x) const {
    f.add(k, along_x ? Field::u : Field::v, m.mean, m.waves_mean, 1);
    f.add(k, along_x ? Field::bx : Field::by, m.mean, m.waves_mean, z);
  }
  void tilt(Functionals& f, int k, bool about_x, double factor) const {
    if (about_x) f.add(k, Field::w, m.slope_y, m.waves_y, factor);
    else f.add(k, Field::w, m.slope_x, m.waves_x, -factor);
  }
  void spin(Functionals& f, int k) const {
    f.add(k, Field::v, spin_x, 1);
    f.add(k, Field::by, spin_x, z);
    f.add(k, Field::u, spin_y, -1);
    f.add(k, Field::bx, spin_y, -z);
  }
};

/// All six motions of a foot, in order.
void add_foot(const Foot& foot, Functionals& f) {
  foot.shift(f, f.start(), true);
  foot.shift(f, f.start(), false);
  f.add(f.start(), Field::w, foot.m.mean, foot.m.waves_mean, 1);
  foot.tilt(f, f.start(), true, 1);
  foot.tilt(f, f.start(), false, 1);
  foot.spin(f, f.start());
}

void add_anchor(const BasisData& d, Functionals& f, const Anchor& a, const Patch& p, std::vector<double>& springs) {
  const Foot foot(d, p, -d.in.plate.thickness / 2);
  add_foot(foot, f);
  for (const double k : {a.side, a.side, a.up, a.up * p.yy, a.up * p.xx, a.side * (p.xx + p.yy)}) springs.push_back(k);
}

void add_point(const Foot& foot, Functionals& f, double high) {
  const int x = f.start();
  foot.shift(f, x, true);
  foot.tilt(f, x, false, high);
  const int y = f.start();
  foot.shift(f, y, false);
  foot.tilt(f, y, true, -high);
  f.add(f.start(), Field::w, foot.m.mean, foot.m.waves_mean, 1);
}

Touch touch(const BasisData& d, const Inputs& in) {
  Touch t;
  Functionals f(d);
  std::vector<double> springs;
  const auto off = [&](const char* what, std::size_t k) {
    if (t.why.empty()) t.why = std::string(what) + " " + std::to_string(k + 1) + " lies off the plate or has no patch";
  };
  const auto wide = [](const Patch& p) {
    return p.there && p.xx * p.yy - p.xy * p.xy > 1e-12 * (p.xx + p.yy) * (p.xx + p.yy);
  };
  for (std::size_t k = 0; k < in.anchors.size(); ++k) {
    const Anchor& a = in.anchors[k];
    const Patch p = patch_of(d, disc(a.x, a.y, a.patch));
    if (wide(p)) add_anchor(d, f, a, p, springs);
    else off("anchor", k);
  }
  t.anchors = f.count();
  for (std::size_t k = 0; k < in.parts.size(); ++k) {
    const Patch p = patch_of(d, footprint(in.parts[k]));
    t.foot_x.push_back(p.x), t.foot_y.push_back(p.y);
    if (wide(p)) add_foot(Foot(d, p, d.in.plate.thickness / 2), f);
    else off("part", k);
  }
  t.parts = f.count() - t.anchors;
  for (std::size_t k = 0; k < in.points.size(); ++k) {
    const Point& q = in.points[k];
    t.point_start.push_back(q.part >= 0 ? -1 : f.count());
    if (q.part >= 0) continue;
    const Patch p = patch_of(d, disc(q.at.x, q.at.y, q.patch));
    if (!wide(p)) {
      off("point", k);
      continue;
    }
    const Foot foot(d, p, d.in.plate.thickness / 2);
    add_point(foot, f, q.at.z);
  }
  if (!t.why.empty()) return t;
  t.springs = Eigen::Map<const VectorXd>(springs.data(), static_cast<Index>(springs.size()));
  t.modes = f.in_modes();
  for (std::size_t k = 0; k < 5; ++k) t.missed[k] = f.missed(static_cast<Field>(k));
  return t;
}

std::string refuse(const Basis& basis, const Inputs& in) {
  if (!basis.ok || basis.data == nullptr) return basis.why.empty() ? "no basis" : basis.why;
  const BasisData& d = *basis.data;
  if (in.columns != d.in.columns || in.rows != d.in.rows || in.plate.length != d.in.plate.length ||
      in.plate.width != d.in.plate.width || in.plate.thickness != d.in.plate.thickness)
    return "the basis was made for another plate";
  const std::string why = problem_of(in);
  if (!why.empty()) return why;
  if (!in.shear_flexible || !in.in_plane ||
      std::any_of(in.edges.begin(), in.edges.end(), [](Edge e) { return e != Edge::free; }))
    return "held edges, thin plates and bending alone need the full model";
  if (in.anchors.empty()) return "no anchor holds the plate";
  for (const Anchor& a : in.anchors)
    if (!(a.up > 0) || !(a.side > 0) || !(a.patch > 0))
      return "an anchor needs stiffness upright and sideways, and a patch";
  return {};
}

/// The loaded plate in its kept modes.
struct Loaded {
  MatrixXd feel;       ///< kept mode by functional after the anchors: how the kept modes move parts and points
  MatrixXd cross, to;  ///< static residual of anchors against them; the anchors' forces it brings
  Eigen::LLT<MatrixXd> hold;
  MatrixXd L_feel;  ///< lower triangle of the stiffness, solved for `feel`
  Eigen::LLT<MatrixXd> stiffness;
  VectorXd omega;    ///< rising
  MatrixXd vectors;  ///< of the stiffness-normalised problem, mode by mode
  double residual = 0;
};

/// Static residual between the functionals from `a` (`na` of them) and from `b`.
MatrixXd rest_of(const BasisData& d, const Touch& t, Index a, Index na, Index b, Index nb) {
  const Index cut = d.modes - d.kept;
  const auto ma = t.modes.block(d.kept, a, cut, na), mb = t.modes.block(d.kept, b, cut, nb);
  MatrixXd rest = ma.transpose() * (d.squared.tail(cut).cwiseInverse().asDiagonal() * mb);
  for (const Missed& m : t.missed) m.add_to(rest, a, na, b, nb);
  return rest;
}

bool load(const BasisData& d, const Touch& t, const Inputs& in, Loaded& l) {
  const Index kept = d.kept, na = t.anchors, nr = t.modes.cols() - na;
  MatrixXd soft = rest_of(d, t, 0, na, 0, na);
  soft.diagonal() += t.springs.cwiseInverse();
  l.hold.compute(soft);
  if (l.hold.info() != Eigen::Success) return false;
  l.cross = rest_of(d, t, 0, na, na, nr);
  l.to = l.hold.solve(l.cross);
  l.feel = t.modes.block(0, na, kept, nr) - t.modes.topLeftCorner(kept, na) * l.to;
  const MatrixXd half = l.hold.matrixL().solve(t.modes.topLeftCorner(kept, na).transpose());
  MatrixXd K = half.transpose() * half;
  K.diagonal() += d.squared.head(kept);
  l.stiffness.compute(K);
  if (l.stiffness.info() != Eigen::Success) return false;
  l.L_feel = l.stiffness.matrixL().solve(l.feel);
  const MatrixXd inverse = l.stiffness.matrixL().solve(MatrixXd::Identity(kept, kept));
  MatrixXd C = inverse * inverse.transpose();
  for (std::size_t p = 0; p < in.parts.size(); ++p) {
    const auto y = l.L_feel.middleCols(static_cast<Index>(p) * part_ways, part_ways);
    C.noalias() += (y * mass_of(in.parts[p])) * y.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(C);
  if (eigen.info() != Eigen::Success) return false;
  const Index modes = std::min<Index>(in.modes, kept);
  l.omega.resize(modes);
  l.vectors.resize(kept, modes);
  for (Index k = 0; k < modes; ++k) {
    const double theta = eigen.eigenvalues()[kept - 1 - k];
    if (!(theta > 0)) return false;
    l.omega[k] = 1 / std::sqrt(theta);
    l.vectors.col(k) = eigen.eigenvectors().col(kept - 1 - k);
    const double off = (C * l.vectors.col(k) - theta * l.vectors.col(k)).norm() / theta;
    l.residual = std::max(l.residual, off);
  }
  return true;
}

/// Compliance between functionals that stand together, counted after the anchors.
MatrixXd give_of(const BasisData& d, const Touch& t, const Loaded& l, Index at, Index n) {
  const auto y = l.L_feel.middleCols(at, n);
  return y.transpose() * y + rest_of(d, t, t.anchors + at, n, t.anchors + at, n) -
         l.cross.middleCols(at, n).transpose() * l.to.middleCols(at, n);
}

frame::Vec3 vec(const Eigen::Vector3d& v) { return {v[0], v[1], v[2]}; }

void answer_points(const BasisData& d, const Inputs& in, const Touch& t, const Loaded& l, Result& r) {
  // Displacement in a mode, mass-normalised: what the mode feels times omega.
  const MatrixXd shape = (l.L_feel.transpose() * l.vectors) * l.omega.asDiagonal();
  std::vector<Mat6> give(in.parts.size());
  for (std::size_t p = 0; p < in.parts.size(); ++p)
    give[p] = give_of(d, t, l, static_cast<Index>(p) * part_ways, part_ways);
  for (std::size_t k = 0; k < in.points.size(); ++k) {
    const Point& p = in.points[k];
    maths::PointResponse one;
    Matrix3d c;
    Eigen::Matrix<double, 3, Eigen::Dynamic> s;
    if (p.part >= 0) {
      const std::size_t part = static_cast<std::size_t>(p.part);
      const To6 T = carried({p.at.x - t.foot_x[part], p.at.y - t.foot_y[part], p.at.z});
      c = T * give[part] * T.transpose();
      s = T * shape.middleRows(p.part * part_ways, part_ways);
    } else {
      const Index at = t.point_start[k] - t.anchors;
      c = give_of(d, t, l, at, point_ways);
      s = shape.middleRows(at, point_ways);
    }
    for (Index m = 0; m < l.omega.size(); ++m) {
      one.modes.push_back({l.omega[m], in.damping, vec(s.col(m))});
      c -= s.col(m) * s.col(m).transpose() / (l.omega[m] * l.omega[m]);
    }
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j) one.residual[static_cast<std::size_t>(3 * i + j)] = 0.5 * (c(i, j) + c(j, i));
    r.points.push_back(std::move(one));
  }
}

/// Deflection of each kept mode at every node, node by mode.
MatrixXd at_nodes(const BasisData& d) {
  const Index nodes = (d.in.columns + 1) * (d.in.rows + 1);
  MatrixXd all = MatrixXd::Zero(nodes, d.modes);
  for (const Block& b : d.blocks) {
    std::vector<Index> w;
    for (std::size_t f = 0; f < b.functions.size(); ++f)
      if (b.functions[f].field == Field::w) w.push_back(static_cast<Index>(f));
    MatrixXd value(nodes, static_cast<Index>(w.size())), rows(static_cast<Index>(w.size()), b.modes.cols());
    for (std::size_t k = 0; k < w.size(); ++k) {
      const Function& f = b.functions[static_cast<std::size_t>(w[k])];
      for (int r = 0; r <= d.in.rows; ++r)
        for (int c = 0; c <= d.in.columns; ++c)
          value(r * (d.in.columns + 1) + c, static_cast<Index>(k)) = d.x.value(c, f.i) * d.y.value(r, f.j);
      rows.row(static_cast<Index>(k)) = b.modes.row(w[k]);
    }
    const MatrixXd m = value * rows;
    for (std::size_t k = 0; k < b.place.size(); ++k) all.col(b.place[k]) = m.col(static_cast<Index>(k));
  }
  return all;
}

void fields(const BasisData& d, const Inputs& in, const Touch& t, const Loaded& l, Result& r) {
  const MatrixXd w = at_nodes(d);
  const Index kept = d.kept, na = t.anchors, nodes = w.rows(), cut = d.modes - kept;
  r.node_columns = d.in.columns + 1;
  r.node_rows = d.in.rows + 1;
  r.left = -in.plate.length / 2;
  r.bottom = -in.plate.width / 2;
  r.step_x = in.plate.length / d.in.columns;
  r.step_y = in.plate.width / d.in.rows;
  // The same steps as for points, for all nodes at once; shear under the node itself is left to the modes.
  const MatrixXd cross = t.modes.bottomLeftCorner(cut, na).transpose() *
                         d.squared.tail(cut).cwiseInverse().asDiagonal() * w.rightCols(cut).transpose();
  const MatrixXd to = l.hold.solve(cross);
  const MatrixXd feel = w.leftCols(kept).transpose() - t.modes.topLeftCorner(kept, na) * to;
  const MatrixXd y = l.stiffness.matrixL().solve(feel);
  const MatrixXd shapes = (y.transpose() * l.vectors) * l.omega.asDiagonal();
  for (Index m = 0; in.want_shapes && m < l.omega.size(); ++m) {
    r.shapes.emplace_back(static_cast<std::size_t>(nodes));
    for (Index n = 0; n < nodes; ++n) r.shapes.back()[static_cast<std::size_t>(n)] = shapes(n, m);
  }
  for (Index n = 0; in.want_give && n < nodes; ++n)
    r.give.push_back(y.col(n).squaredNorm() +
                     w.row(n).tail(cut).cwiseAbs2().dot(d.squared.tail(cut).cwiseInverse().transpose()) -
                     cross.col(n).dot(to.col(n)));
}

}  // namespace

BasisInputs basis_inputs(const Inputs& in) {
  BasisInputs b;
  b.plate = in.plate;
  if (in.bonded) b.stiff_parts = in.parts;
  b.columns = in.columns;
  b.rows = in.rows;
  b.shear_factor = in.shear_factor;
  return b;
}

Result solve_reduced(const Basis& basis, const Inputs& in) {
  Result r;
  r.why = refuse(basis, in);
  if (!r.why.empty()) return r;
  const BasisData& d = *basis.data;
  const Touch t = touch(d, in);
  r.why = t.why;
  if (!r.why.empty()) return r;
  Loaded l;
  if (!load(d, t, in, l)) {
    r.why = "the reduced system could not be solved";
    return r;
  }
  for (Index k = 0; k < l.omega.size(); ++k) r.frequencies.push_back(l.omega[k] / (2 * pi));
  r.plate_mass = r.total_mass = basis.plate_mass;
  for (const Part& p : in.parts) r.total_mass += p.mass;
  r.residual = l.residual;
  answer_points(d, in, t, l, r);
  if (in.want_shapes || in.want_give) fields(d, in, t, l, r);
  r.ok = r.residual < 1e-6;
  if (!r.ok) r.why = "the reduced system was not solved to working accuracy";
  return r;
}

Result solve_reduced(const Inputs& in) { return solve_reduced(make_basis(basis_inputs(in)), in); }

}  // namespace fettle::structure
