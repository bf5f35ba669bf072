#include "calc/structure/reduced.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "calc/structure/plate_system.h"
#include "calc/structure/reduced_space.h"
#include "calc/structure/reduced_waves.h"

namespace fettle::structure {

struct BasisData {
  BasisInputs in;
  FreeModes free;
  int kept = 0;
  std::unique_ptr<Waves> still;
};

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
  std::vector<Box> shapes;                      ///< of an anchor: weights of shapes over it that do not mix, mean
                                                ///< square 1: flat, two slopes, three bends
};
Patch patch_of(const BasisData& d, const Places& all, bool want_shapes = false) {
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
  if (!want_shapes) return p;
  // powers 1, x, y, xx, xy, yy over the places, made square to each other in turn
  constexpr Index powers = 6;
  const Index count = static_cast<Index>(on.size());
  const double size = std::sqrt(p.xx + p.yy);
  MatrixXd values(count, powers);
  for (Index k = 0; k < count; ++k) {
    const double u = (on[static_cast<std::size_t>(k)].x - p.x) / size,
                 v = (on[static_cast<std::size_t>(k)].y - p.y) / size;
    values.row(k) << 1, u, v, u * u, u * v, v * v;
  }
  for (Index c = 0; c < powers; ++c) {
    for (int pass = 0; pass < 2; ++pass)
      for (Index b = 0; b < c; ++b) values.col(c) -= share * values.col(b).dot(values.col(c)) * values.col(b);
    const double square = share * values.col(c).squaredNorm();
    values.col(c) *= square > 1e-12 ? 1 / std::sqrt(square) : 0;
    Box box{p.column, p.row, MatrixXd::Zero(p.mean.rows(), p.mean.cols())};
    for (Index k = 0; k < count; ++k) {
      const Spot& q = on[static_cast<std::size_t>(k)];
      for (int corner = 0; corner < 4; ++corner)
        box.weight(q.i - p.column + corner % 2, q.j - p.row + corner / 2) +=
            share * values(k, c) * (corner % 2 ? q.s : 1 - q.s) * (corner / 2 ? q.t : 1 - q.t);
    }
    p.shapes.push_back(std::move(box));
  }
  return p;
}

/// A patch's mean, slopes and turn in the plane, as weights on nodes.
struct Foot {
  Box mean, slope_x, slope_y, spin_x, spin_y;
  explicit Foot(const Patch& p) {
    const double det = p.xx * p.yy - p.xy * p.xy, polar = p.xx + p.yy;
    mean = {p.column, p.row, p.mean};
    slope_x = {p.column, p.row, (p.yy * p.along_x - p.xy * p.along_y) / det};
    slope_y = {p.column, p.row, (p.xx * p.along_y - p.xy * p.along_x) / det};
    spin_x = {p.column, p.row, p.along_x / polar};
    spin_y = {p.column, p.row, p.along_y / polar};
  }
};

/// Linear functionals of the plate's motion, as columns: in the free modes, and in the waves.
class Functionals {
 public:
  /// `count` of them, of which `in_plane` move the plate in its plane.
  Functionals(const BasisData& d, Index count, Index in_plane)
      : d_(d),
        bending_(MatrixXd::Zero(d.still->bending_rows(), count)),
        plane_(MatrixXd::Zero(d.still->plane_rows(), in_plane)),
        plane_of_(static_cast<std::size_t>(count), -1) {
    for (const Block& b : d.free.blocks)
      degrees_.push_back(MatrixXd::Zero(static_cast<Index>(b.functions.size()), count));
  }
  /// Adds `factor` times the weights on one motion to functional `k`.
  void add(Index k, Field field, const Box& box, double factor) {
    if (field != Field::u && field != Field::v) d_.still->add(field, box, factor, bending_.col(k));
    else {
      Index& place = plane_of_[static_cast<std::size_t>(k)];
      if (place < 0) place = planes_++;
      d_.still->add(field, box, factor, plane_.col(place));
    }
    const MatrixXd degrees = d_.free.x.value.middleRows(box.column, box.weight.rows()).transpose() *
                             (factor * box.weight * d_.free.y.value.middleRows(box.row, box.weight.cols()));
    for (std::size_t b = 0; b < d_.free.blocks.size(); ++b) {
      const std::vector<Function>& all = d_.free.blocks[b].functions;
      for (std::size_t f = 0; f < all.size(); ++f)
        if (all[f].field == field) degrees_[b](static_cast<Index>(f), k) += degrees(all[f].i, all[f].j);
    }
  }
  void shift(Index k, bool along_x, const Foot& foot, double z) {
    add(k, along_x ? Field::u : Field::v, foot.mean, 1);
    add(k, along_x ? Field::bx : Field::by, foot.mean, z);
  }
  void tilt(Index k, bool about_x, const Foot& foot, double factor) {
    add(k, Field::w, about_x ? foot.slope_y : foot.slope_x, about_x ? factor : -factor);
  }
  /// What an anchor's springs feel at the height `z`: deflection, then motion along X and along Y.
  void sprung(Index k, const Patch& p, double z) {
    for (const Box& shape : p.shapes) add(k++, Field::w, shape, 1);
    const Foot foot(p);
    shift(k, true, foot, z);
    shift(k + 1, false, foot, z);
    spin(k + 2, foot, z, 1);
  }
  /// All six motions of a foot at the height `z` above the mid-plane, in order.
  void six(Index k, const Foot& foot, double z) {
    shift(k, true, foot, z);
    shift(k + 1, false, foot, z);
    add(k + 2, Field::w, foot.mean, 1);
    tilt(k + 3, true, foot, 1);
    tilt(k + 4, false, foot, 1);
    spin(k + 5, foot, z, 1);
  }
  void spin(Index k, const Foot& foot, double z, double factor) {
    add(k, Field::v, foot.spin_x, factor);
    add(k, Field::by, foot.spin_x, factor * z);
    add(k, Field::u, foot.spin_y, -factor);
    add(k, Field::bx, foot.spin_y, -factor * z);
  }
  /// Three motions of a point that stands at `from` off the foot's middle, rigidly on it.
  void three(Index k, const Foot& foot, double z, frame::Vec3 from) {
    shift(k, true, foot, z);
    tilt(k, false, foot, from.z);
    shift(k + 1, false, foot, z);
    tilt(k + 1, true, foot, -from.z);
    add(k + 2, Field::w, foot.mean, 1);
    if (std::hypot(from.x, from.y) < 1e-12) return;
    // the patch hangs over a rim: its middle is not below the point
    spin(k, foot, z, -from.y);
    spin(k + 1, foot, z, from.x);
    tilt(k + 2, true, foot, from.y);
    tilt(k + 2, false, foot, -from.x);
  }
  void finish() {
    d_.still->forward(bending_, plane_);
    kept_.resize(d_.kept, bending_.cols());
    for (std::size_t b = 0; b < degrees_.size(); ++b) {
      const Block& block = d_.free.blocks[b];
      Index n = 0;  // the block's modes rise: those that are kept come first
      while (n < static_cast<Index>(block.place.size()) && block.place[static_cast<std::size_t>(n)] < d_.kept) ++n;
      const MatrixXd m = block.modes.leftCols(n).transpose() * degrees_[b];
      for (Index k = 0; k < n; ++k) kept_.row(block.place[static_cast<std::size_t>(k)]) = m.row(k);
    }
    const Eigen::ArrayXd squared = d_.free.squared.head(d_.kept).array();
    soft_ = (squared + d_.still->shift()).sqrt().inverse().matrix().asDiagonal() * kept_;
  }
  /// Kept mode by functional.
  const MatrixXd& kept() const { return kept_; }
  /// At rest, what the kept modes leave out, between the functionals from `a` (`na` of them) and from `b`.
  MatrixXd rest(Index a, Index na, Index b, Index nb) const {
    MatrixXd r = bending_.middleCols(a, na).transpose() * bending_.middleCols(b, nb);
    r.noalias() -= soft_.middleCols(a, na).transpose() * soft_.middleCols(b, nb);
    const auto [pa, pna] = planes(a, na);
    const auto [pb, pnb] = planes(b, nb);
    add_plane(r, a, na, b, nb, plane_.middleCols(pa, pna).transpose() * plane_.middleCols(pb, pnb));
    return r;
  }
  /// ... among the first `n`.
  MatrixXd rest_among(Index n) const {
    MatrixXd r = MatrixXd::Zero(n, n);
    r.selfadjointView<Eigen::Lower>().rankUpdate(bending_.leftCols(n).transpose());
    r.selfadjointView<Eigen::Lower>().rankUpdate(soft_.leftCols(n).transpose(), -1);
    r.triangularView<Eigen::StrictlyUpper>() = r.transpose();
    const Index np = planes(0, n).second;
    add_plane(r, 0, n, 0, n, plane_.leftCols(np).transpose() * plane_.leftCols(np));
    return r;
  }

 private:
  /// First column in the plane of the functionals from `a`, and how many.
  std::pair<Index, Index> planes(Index a, Index na) const {
    Index first = -1, count = 0;
    for (Index k = a; k < a + na; ++k)
      if (const Index p = plane_of_[static_cast<std::size_t>(k)]; p >= 0) {
        if (first < 0) first = p;
        ++count;
      }
    return {std::max<Index>(first, 0), count};
  }
  void add_plane(MatrixXd& r, Index a, Index na, Index b, Index nb, const MatrixXd& more) const {
    const Index pa = planes(a, na).first, pb = planes(b, nb).first;
    for (Index i = 0; i < na; ++i)
      for (Index j = 0; j < nb; ++j) {
        const Index p = plane_of_[static_cast<std::size_t>(a + i)], q = plane_of_[static_cast<std::size_t>(b + j)];
        if (p >= 0 && q >= 0) r(i, j) += more(p - pa, q - pb);
      }
  }
  const BasisData& d_;
  MatrixXd bending_, plane_, kept_, soft_;
  std::vector<Index> plane_of_;  ///< column of each functional in the plane; -1: none
  Index planes_ = 0;
  std::vector<MatrixXd> degrees_;  ///< of each block: polynomial by functional
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
/// R with R R^T = m; a mass or inertia may be nothing.
Mat6 root_of(const Mat6& m) {
  const Eigen::SelfAdjointEigenSolver<Mat6> eigen(m);
  return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
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

constexpr int anchor_ways = 9, part_ways = 6, point_ways = 3;

/// All that touches the plate, as functionals: anchors, then parts, then points on the bare plate.
struct Touch {
  std::unique_ptr<Functionals> all;
  VectorXd springs;                          ///< of the anchors' functionals, N/m or N m
  std::vector<Index> point_start;            ///< first functional of each point on the bare plate; -1: on a part
  std::vector<double> foot_x, foot_y;        ///< middle of each part's tie
  Index anchors = 0, parts = 0, points = 0;  ///< functionals
  std::string why;
};

bool wide(const Patch& p) { return p.there && p.xx * p.yy - p.xy * p.xy > 1e-12 * (p.xx + p.yy) * (p.xx + p.yy); }

Touch touch(const BasisData& d, const Inputs& in) {
  Touch t;
  t.anchors = anchor_ways * static_cast<Index>(in.anchors.size());
  t.parts = part_ways * static_cast<Index>(in.parts.size());
  for (const Point& q : in.points) {
    t.point_start.push_back(q.part >= 0 ? -1 : t.anchors + t.parts + t.points);
    if (q.part < 0) t.points += point_ways;
  }
  // three of an anchor's, three of a part's, and any of a point's move the plate in its plane
  t.all = std::make_unique<Functionals>(d, t.anchors + t.parts + t.points, t.anchors / 3 + t.parts / 2 + t.points);
  t.springs.resize(t.anchors);
  const double top = d.in.plate.thickness / 2;
  const auto off = [&](const char* what, std::size_t k) {
    if (t.why.empty()) t.why = std::string(what) + " " + std::to_string(k + 1) + " lies off the plate or has no patch";
  };
  for (std::size_t k = 0; k < in.anchors.size(); ++k) {
    const Anchor& a = in.anchors[k];
    const Patch p = patch_of(d, disc(a.x, a.y, a.patch), true);
    if (!wide(p)) {
      off("anchor", k);
      continue;
    }
    const Index at = anchor_ways * static_cast<Index>(k);
    t.all->sprung(at, p, -top);
    t.springs.segment<anchor_ways>(at) << VectorXd::Constant(6, a.up), a.side, a.side, a.side * (p.xx + p.yy);
  }
  for (std::size_t k = 0; k < in.parts.size(); ++k) {
    const Patch p = patch_of(d, footprint(in.parts[k]));
    t.foot_x.push_back(p.x), t.foot_y.push_back(p.y);
    if (!wide(p)) {
      off("part", k);
      continue;
    }
    const Index at = t.anchors + part_ways * static_cast<Index>(k);
    t.all->six(at, Foot(p), top);
  }
  for (std::size_t k = 0; k < in.points.size(); ++k) {
    const Point& q = in.points[k];
    if (q.part >= 0) continue;
    const Patch p = patch_of(d, disc(q.at.x, q.at.y, q.patch));
    if (!wide(p)) {
      off("point", k);
      continue;
    }
    t.all->three(t.point_start[k], Foot(p), top, {q.at.x - p.x, q.at.y - p.y, q.at.z});
  }
  if (t.why.empty()) t.all->finish();
  return t;
}

std::string refuse(const Basis& basis, const Inputs& in) {
  if (!basis.ok || basis.data == nullptr) return basis.why.empty() ? "no basis" : basis.why;
  const BasisData& d = *basis.data;
  if (d.in.edge != Edge::free) return "a plate held by its edges is there for its modes alone";
  if (in.columns != d.in.columns || in.rows != d.in.rows || in.plate.length != d.in.plate.length ||
      in.plate.width != d.in.plate.width || in.plate.thickness != d.in.plate.thickness)
    return "the basis was made for another plate";
  std::string why = problem_of(in);
  if (!why.empty()) return why;
  if (!in.plate.reliefs.empty() || in.bonded) return "pockets, ribs, holes and bonded parts need the full model";
  if (!in.shear_flexible || !in.in_plane ||
      std::any_of(in.edges.begin(), in.edges.end(), [](Edge e) { return e != Edge::free; }))
    return "held edges, thin plates and bending alone need the full model";
  if (in.anchors.empty()) return "no anchor holds the plate";
  for (const Anchor& a : in.anchors)
    if (!(a.up > 0) || !(a.side > 0) || !(a.patch > 0))
      return "an anchor needs stiffness upright and sideways, and a patch";
  return {};
}

/// The plate on its anchors, in its kept modes.
struct Loaded {
  MatrixXd cross, to;  ///< at rest beyond the kept modes, anchors against all else; the anchors' forces it brings
  MatrixXd feel;       ///< L^-1 of how the kept modes move all else, L L^T the kept modes' stiffness on the anchors
  MatrixXd parts;      ///< at rest beyond the kept modes, parts against parts, on the anchors
  VectorXd omega;      ///< rising
  MatrixXd shape;      ///< functional (parts, then points) by mode, mass-normalised
  double residual = 0;
};

bool load(const BasisData& d, const Touch& t, const Inputs& in, Loaded& l) {
  const Index kept = d.kept, na = t.anchors, np = t.parts, all = np + t.points;
  const MatrixXd& modes = t.all->kept();
  const MatrixXd rest = t.all->rest_among(na + np);
  MatrixXd soft = rest.topLeftCorner(na, na);
  soft.diagonal() += t.springs.cwiseInverse();
  const Eigen::LLT<MatrixXd> hold(soft);
  if (hold.info() != Eigen::Success) return false;
  l.cross.resize(na, all);
  l.cross.leftCols(np) = rest.topRightCorner(na, np);
  if (t.points > 0) l.cross.rightCols(t.points) = t.all->rest(0, na, na + np, t.points);
  l.to = hold.solve(l.cross);
  l.feel = modes.rightCols(all) - modes.leftCols(na) * l.to;
  const MatrixXd half = hold.matrixL().solve(modes.leftCols(na).transpose());
  MatrixXd K = half.transpose() * half;
  K.diagonal() += d.free.squared.head(kept);
  const Eigen::LLT<MatrixXd> stiffness(K);
  if (stiffness.info() != Eigen::Success) return false;
  stiffness.matrixL().solveInPlace(l.feel);
  l.parts = rest.bottomRightCorner(np, np) - l.cross.leftCols(np).transpose() * l.to.leftCols(np);
  // What gives, between the forces of inertia of the kept modes and of the parts.
  MatrixXd inverse = MatrixXd::Identity(kept, kept);
  stiffness.matrixL().solveInPlace(inverse);
  MatrixXd forces(kept, kept + np);  // L^-1 of unit forces
  forces << inverse, l.feel.leftCols(np);
  MatrixXd F = forces.transpose() * forces;
  F.bottomRightCorner(np, np) += l.parts;
  MatrixXd root = MatrixXd::Identity(kept + np, kept + np);
  for (std::size_t p = 0; p < in.parts.size(); ++p)
    root.block<6, 6>(kept + part_ways * static_cast<Index>(p), kept + part_ways * static_cast<Index>(p)) =
        root_of(mass_of(in.parts[p]));
  const MatrixXd C = root.transpose() * F * root;
  const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(C);
  if (eigen.info() != Eigen::Success) return false;
  const Index size = kept + np, count = std::min<Index>(in.modes, kept);
  l.omega.resize(count);
  MatrixXd vectors(size, count);
  for (Index k = 0; k < count; ++k) {
    const double theta = eigen.eigenvalues()[size - 1 - k];
    if (!(theta > 0)) return false;
    l.omega[k] = 1 / std::sqrt(theta);
    vectors.col(k) = eigen.eigenvectors().col(size - 1 - k);
    l.residual = std::max(l.residual, (C * vectors.col(k) - theta * vectors.col(k)).norm() / theta);
  }
  // Motion in a mode: what its forces of inertia do. A point on the bare plate takes the kept modes' share of it.
  const MatrixXd force = root * vectors * l.omega.cwiseAbs2().asDiagonal();
  l.shape = l.feel.transpose() * (forces * force);
  l.shape.topRows(np) += l.parts * force.bottomRows(np);
  return true;
}

/// Compliance between functionals that stand together, counted after the anchors.
MatrixXd give_of(const Touch& t, const Loaded& l, Index at, Index n) {
  const auto y = l.feel.middleCols(at, n);
  return y.transpose() * y + t.all->rest(t.anchors + at, n, t.anchors + at, n) -
         l.cross.middleCols(at, n).transpose() * l.to.middleCols(at, n);
}

frame::Vec3 vec(const Eigen::Vector3d& v) { return {v[0], v[1], v[2]}; }

void answer_points(const Inputs& in, const Touch& t, const Loaded& l, Result& r) {
  std::vector<Mat6> give(in.parts.size());
  for (std::size_t p = 0; p < in.parts.size(); ++p) {
    const Index at = static_cast<Index>(p) * part_ways;
    const auto y = l.feel.middleCols(at, part_ways);
    give[p] = y.transpose() * y + l.parts.block(at, at, part_ways, part_ways);
  }
  for (std::size_t k = 0; k < in.points.size(); ++k) {
    const Point& p = in.points[k];
    maths::PointResponse one;
    Matrix3d c;
    Eigen::Matrix<double, 3, Eigen::Dynamic> s;
    if (p.part >= 0) {
      const std::size_t part = static_cast<std::size_t>(p.part);
      const To6 T = carried({p.at.x - t.foot_x[part], p.at.y - t.foot_y[part], p.at.z});
      c = T * give[part] * T.transpose();
      s = T * l.shape.middleRows(static_cast<Index>(p.part) * part_ways, part_ways);
    } else {
      const Index at = t.point_start[k] - t.anchors;
      c = give_of(t, l, at, point_ways);
      s = l.shape.middleRows(at, point_ways);
    }
    for (Index m = 0; m < l.omega.size(); ++m) {
      one.modes.push_back({l.omega[m], in.damping, vec(s.col(m))});
      c -= s.col(m) * s.col(m).transpose() / (l.omega[m] * l.omega[m]);
    }
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j)
        one.residual[3 * static_cast<std::size_t>(i) + static_cast<std::size_t>(j)] = 0.5 * (c(i, j) + c(j, i));
    r.points.push_back(std::move(one));
  }
}

}  // namespace

BasisInputs basis_inputs(const Inputs& in) {
  BasisInputs b;
  b.plate = in.plate;
  b.columns = in.columns;
  b.rows = in.rows;
  b.shear_factor = in.shear_factor;
  return b;
}

Basis make_basis(const BasisInputs& in) {
  Basis basis;
  const Plate& p = in.plate;
  const auto refuse = [&basis](const char* why) {
    basis.why = why;
    return basis;
  };
  if (!p.outline.empty()) return refuse("a plate with an outline of its own needs the full model");
  if (!p.reliefs.empty()) return refuse("a plate with pockets, ribs or holes needs the full model");
  Inputs full;
  full.plate = p;
  full.columns = in.columns;
  full.rows = in.rows;
  full.shear_factor = in.shear_factor;
  basis.why = problem_of(full);
  if (!basis.why.empty()) return basis;
  if (in.columns < 8 || in.rows < 8 || in.order < 4 || in.order > 24 || in.kept < 12)
    return refuse("mesh, order or kept modes out of range");
  const double aspect = std::sqrt(p.length / p.width);
  if (!(aspect > 0.2) || !(aspect < 5)) return refuse("a plate so long and narrow is a beam");
  auto data = std::make_shared<BasisData>();
  data->in = in;
  const Section section = sections(full, grid_of(p, 1, 1)).front();
  if (!free_modes(in, section, data->free)) return refuse("the free modes of the plate did not solve");
  data->kept = std::min<int>(in.kept, static_cast<int>(data->free.squared.size()));
  const double longer = std::max(p.length, p.width);
  // Far below what is not kept, and far above what rounding leaves of a free plate's rigid motion.
  if (in.edge == Edge::free) {
    data->still = std::make_unique<Waves>(in, section, 10 * section.bending[0] / (section.mass * std::pow(longer, 4)));
    if (!data->still->ok()) return refuse("the plate at rest did not solve");
  }
  basis.plate_mass = section.mass * p.length * p.width;
  basis.functions = data->free.functions;
  for (Index k = data->free.rigid; k < data->free.squared.size(); ++k)
    basis.free.push_back(std::sqrt(data->free.squared[k]) / (2 * pi));
  basis.data = std::move(data);
  basis.ok = true;
  return basis;
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
  answer_points(in, t, l, r);
  r.ok = r.residual < 1e-6;
  if (!r.ok) r.why = "the reduced system was not solved to working accuracy";
  return r;
}

Result solve_reduced(const Inputs& in) { return solve_reduced(make_basis(basis_inputs(in)), in); }

}  // namespace fettle::structure
