#include "calc/casting/scan.h"

#include <algorithm>
#include <cmath>
#include <nanoflann.hpp>
#include <numeric>

#include "maths/least_squares.h"

namespace fettle::casting {
namespace {

using frame::cross;
using frame::dot;
using frame::norm;
using frame::Pose;
using std::size_t;

/// The one door to the neighbour search.
class Near {
 public:
  explicit Near(const std::vector<Vec3>& points)
      : cloud_{points}, tree_(3, cloud_, nanoflann::KDTreeSingleIndexAdaptorParams(12)) {
    tree_.buildIndex();
  }
  /// Indices of the k nearest points, nearest first.
  std::vector<size_t> nearest(Vec3 p, size_t k) const {
    k = std::min(k, cloud_.points.size());
    std::vector<size_t> index(k);
    std::vector<double> square(k);
    const double q[3] = {p.x, p.y, p.z};
    tree_.knnSearch(q, k, index.data(), square.data());
    return index;
  }
  /// Indices of all points within r, in rising order.
  std::vector<size_t> within(Vec3 p, double r) const {
    std::vector<std::pair<size_t, double>> found;
    const double q[3] = {p.x, p.y, p.z};
    tree_.radiusSearch(q, r * r, found, nanoflann::SearchParams());
    std::vector<size_t> out;
    out.reserve(found.size());
    for (const auto& f : found) out.push_back(f.first);
    std::sort(out.begin(), out.end());
    return out;
  }

 private:
  struct Cloud {
    const std::vector<Vec3>& points;
    size_t kdtree_get_point_count() const { return points.size(); }
    double kdtree_get_pt(size_t i, size_t axis) const {
      return axis == 0 ? points[i].x : (axis == 1 ? points[i].y : points[i].z);
    }
    template <class Box>
    bool kdtree_get_bbox(Box&) const {
      return false;
    }
  };
  Cloud cloud_;
  nanoflann::KDTreeSingleIndexAdaptor<nanoflann::L2_Simple_Adaptor<double, Cloud>, Cloud, 3, size_t> tree_;
};

/// Closest point of a triangle (regions of the plane by barycentric signs; Ericson 2004, chapter 5).
Vec3 closest_on(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& p) {
  const Vec3 ab = b - a, ac = c - a, ap = p - a;
  const double d1 = dot(ab, ap), d2 = dot(ac, ap);
  if (d1 <= 0 && d2 <= 0) return a;
  const Vec3 bp = p - b;
  const double d3 = dot(ab, bp), d4 = dot(ac, bp);
  if (d3 >= 0 && d4 <= d3) return b;
  const double vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return a + (d1 / (d1 - d3)) * ab;
  const Vec3 cp = p - c;
  const double d5 = dot(ab, cp), d6 = dot(ac, cp);
  if (d6 >= 0 && d5 <= d6) return c;
  const double vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return a + (d2 / (d2 - d6)) * ac;
  const double va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) return b + ((d4 - d3) / ((d4 - d3) + (d5 - d6))) * (c - b);
  const double whole = va + vb + vc;
  return a + (vb / whole) * ab + (vc / whole) * ac;
}

/// The nominal surface, asked for its closest point.
class Surface {
 public:
  explicit Surface(const TriangleMesh& mesh) : mesh_(mesh), tree_((sample(), samples_)) {}
  struct Foot {
    Vec3 point, normal;
    double distance = 0;
  };
  Foot closest(Vec3 p) const {
    Foot best;
    best.distance = HUGE_VAL;
    for (size_t i : tree_.nearest(p, 8)) {
      const auto& t = mesh_.triangles[owner_[i]];
      const Vec3 &a = vertex(t[0]), &b = vertex(t[1]), &c = vertex(t[2]);
      const Vec3 q = closest_on(a, b, c, p);
      const double d = norm(p - q);
      if (d < best.distance) best = {q, frame::unit(cross(b - a, c - a)), d};
    }
    return best;
  }
  const std::vector<Vec3>& samples() const { return samples_; }

 private:
  const Vec3& vertex(int i) const { return mesh_.vertices[static_cast<size_t>(i)]; }
  /// Points on every triangle, dense enough that the nearest ones name the right triangle.
  void sample() {
    Vec3 low{HUGE_VAL, HUGE_VAL, HUGE_VAL}, high{-HUGE_VAL, -HUGE_VAL, -HUGE_VAL};
    for (const Vec3& v : mesh_.vertices) {
      low = {std::min(low.x, v.x), std::min(low.y, v.y), std::min(low.z, v.z)};
      high = {std::max(high.x, v.x), std::max(high.y, v.y), std::max(high.z, v.z)};
    }
    const double step = norm(high - low) / 60;
    for (size_t t = 0; t < mesh_.triangles.size(); ++t) {
      const Vec3 &a = vertex(mesh_.triangles[t][0]), &b = vertex(mesh_.triangles[t][1]),
                 &c = vertex(mesh_.triangles[t][2]);
      const double longest = std::max({norm(b - a), norm(c - b), norm(a - c)});
      const int n = std::clamp(static_cast<int>(std::ceil(longest / step)), 1, 200);
      for (int i = 0; i < n; ++i)
        for (int j = 0; i + j < n; ++j) {
          const double u = (i + 1.0 / 3) / n, v = (j + 1.0 / 3) / n;
          samples_.push_back(a + u * (b - a) + v * (c - a));
          owner_.push_back(t);
        }
    }
  }
  const TriangleMesh& mesh_;
  std::vector<Vec3> samples_;
  std::vector<size_t> owner_;
  Near tree_;
};

Vec3 middle(const std::vector<Vec3>& points) {
  Vec3 sum;
  for (const Vec3& p : points) sum = sum + p;
  return (1.0 / static_cast<double>(points.size())) * sum;
}

/// Principal axes as columns of a proper rotation, largest spread first (cyclic Jacobi on the 3 x 3 covariance).
std::array<double, 9> axes_of(const std::vector<Vec3>& points, Vec3 m) {
  double a[3][3] = {};
  for (const Vec3& p : points) {
    const double d[3] = {p.x - m.x, p.y - m.y, p.z - m.z};
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j) a[i][j] += d[i] * d[j];
  }
  double v[3][3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
  for (int sweep = 0; sweep < 30; ++sweep)
    for (int p = 0; p < 2; ++p)
      for (int q = p + 1; q < 3; ++q) {
        if (std::fabs(a[p][q]) < 1e-300) continue;
        const double theta = (a[q][q] - a[p][p]) / (2 * a[p][q]);
        const double t = (theta >= 0 ? 1 : -1) / (std::fabs(theta) + std::sqrt(theta * theta + 1));
        const double c = 1 / std::sqrt(t * t + 1), s = t * c;
        for (int k = 0; k < 3; ++k) {
          const double x = a[k][p], y = a[k][q];
          a[k][p] = c * x - s * y;
          a[k][q] = s * x + c * y;
        }
        for (int k = 0; k < 3; ++k) {
          const double x = a[p][k], y = a[q][k];
          a[p][k] = c * x - s * y;
          a[q][k] = s * x + c * y;
        }
        for (auto& row : v) {
          const double x = row[p], y = row[q];
          row[p] = c * x - s * y;
          row[q] = s * x + c * y;
        }
      }
  int order[3] = {0, 1, 2};
  std::sort(order, order + 3, [&](int i, int j) { return a[i][i] > a[j][j]; });
  const auto column = [&](int k) { return Vec3{v[0][order[k]], v[1][order[k]], v[2][order[k]]}; };
  const Vec3 x = column(0), y = column(1), z = cross(x, y);
  return {x.x, y.x, z.x, x.y, y.y, z.y, x.z, y.z, z.z};
}

std::vector<Vec3> thinned(const std::vector<Vec3>& points, int most) {
  const size_t n = points.size(), take = std::min(n, static_cast<size_t>(most));
  std::vector<Vec3> out;
  for (size_t i = 0; i < take; ++i) out.push_back(points[i * n / take]);
  return out;
}

struct Fit {
  Pose pose;
  double rms = HUGE_VAL;      // of the kept points
  double rms_all = HUGE_VAL;  // of all: a lug that does not fit must not be left out when the ways round are compared
  int rounds = 0;
  bool converged = false;
};

/// Rounds of closest points from a starting pose. The largest distances are left out in each round.
Fit iterate(const Surface& surface, const std::vector<Vec3>& points, Pose pose, double keep, int most_rounds) {
  Fit fit;
  const size_t n = points.size(), kept = std::max<size_t>(6, static_cast<size_t>(keep * static_cast<double>(n)));
  std::vector<Vec3> moved(n);
  std::vector<Surface::Foot> feet(n);
  std::vector<size_t> order(n);
  for (fit.rounds = 0; fit.rounds < most_rounds; ++fit.rounds) {
    for (size_t i = 0; i < n; ++i) {
      moved[i] = pose * points[i];
      feet[i] = surface.closest(moved[i]);
    }
    std::iota(order.begin(), order.end(), size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](size_t a, size_t b) { return feet[a].distance < feet[b].distance; });
    const size_t count = std::min(n, kept);
    const Vec3 m = middle(moved);
    double arm = 1e-6, sum = 0;
    for (const Vec3& p : moved) arm = std::max(arm, norm(p - m));
    std::vector<double> a(36, 0.0), b(6, 0.0);
    for (size_t k = 0; k < count; ++k) {
      const Surface::Foot& f = feet[order[k]];
      const Vec3 p = moved[order[k]], c = cross(p - m, f.normal);
      const double j[6] = {f.normal.x, f.normal.y, f.normal.z, c.x / arm, c.y / arm, c.z / arm};
      const double r = dot(f.normal, p - f.point);
      sum += f.distance * f.distance;
      for (size_t x = 0; x < 6; ++x) {
        b[x] -= j[x] * r;
        for (size_t y = 0; y < 6; ++y) a[6 * x + y] += j[x] * j[y];
      }
    }
    fit.rms = std::sqrt(sum / static_cast<double>(count));
    double all = 0;
    for (const Surface::Foot& f : feet) all += f.distance * f.distance;
    fit.rms_all = std::sqrt(all / static_cast<double>(n));
    const auto step = maths::least_squares(a, 6, 6, b, 1e-12).x;
    const Vec3 t{step[0], step[1], step[2]}, w = (1 / arm) * Vec3{step[3], step[4], step[5]};
    Pose about = frame::from_small({}, w);
    about.t = m + t - frame::rotate(about, m);
    pose = about * pose;
    if (norm(t) < 1e-8 && arm * norm(w) < 1e-8) {
      fit.converged = true;
      break;
    }
  }
  fit.pose = pose;
  return fit;
}

/// Starting poses: centres laid together, axes as they are or principal axes in the four ways that keep the hand.
std::vector<Pose> starts(const std::vector<Vec3>& nominal, const std::vector<Vec3>& scan) {
  const Vec3 to = middle(nominal), from = middle(scan);
  std::vector<Pose> out(1);
  out[0].t = to - from;
  Pose target, source;
  target.R = axes_of(nominal, to);
  source.R = axes_of(scan, from);
  for (int way = 0; way < 4; ++way) {
    const double sx = way % 2 == 0 ? 1 : -1, sy = way < 2 ? 1 : -1;
    Pose flip;
    flip.R = {sx, 0, 0, 0, sy, 0, 0, 0, sx * sy};
    Pose p = target * flip * frame::inverse(source);
    p.t = to - frame::rotate(p, from);
    out.push_back(p);
  }
  return out;
}

/// Angle between two rotations.
double angle_between(const Pose& a, const Pose& b) {
  double trace = 0;
  for (size_t i = 0; i < 9; ++i) trace += a.R[i] * b.R[i];
  return std::acos(std::clamp((trace - 1) / 2, -1.0, 1.0));
}

std::string refusal(const RegisterInputs& in) {
  if (in.nominal.triangles.empty()) return "the nominal raw solid has no triangles";
  for (const auto& t : in.nominal.triangles)
    for (int i : t)
      if (i < 0 || static_cast<size_t>(i) >= in.nominal.vertices.size())
        return "a triangle names a vertex that is not there";
  for (const Vec3& v : in.nominal.vertices)
    if (!std::isfinite(norm(v))) return "a vertex of the nominal solid is not finite";
  if (in.points.size() < 50) return "a scan of fewer than 50 points is too thin to be laid on";
  for (const Vec3& p : in.points)
    if (!std::isfinite(norm(p))) return "a scan point is not finite";
  if (!(in.keep > 0.3 && in.keep <= 1)) return "the share of points kept lies above 0.3 and up to 1";
  if (in.most_points < 50 || in.most_rounds < 1) return "too few points or rounds are allowed";
  return {};
}

/// The scan, asked for the height of its surface over a place.
class Relief {
 public:
  explicit Relief(const std::vector<Vec3>& points)
      : points_(points), tree_(points), normals_(points.size()), known_(points.size(), 0) {}

  /// Distance along n of the surface at p: a quadric (a plane when there are few) through the points within `radius`
  /// across and `reach` along n whose own normal looks the same way, so that a neighbouring wall does not count. NaN:
  /// fewer than 4.
  double height(Vec3 p, Vec3 n, double radius, double reach) {
    const Vec3 helper = std::fabs(n.x) < 0.8 ? Vec3{1, 0, 0} : Vec3{0, 1, 0};
    const Vec3 u = frame::unit(cross(n, helper)), v = cross(n, u);
    std::vector<Place> found;
    for (size_t i : tree_.within(p, std::sqrt(radius * radius + reach * reach))) {
      const Vec3 d = points_[i] - p;
      const double x = dot(d, u) / radius, y = dot(d, v) / radius, h = dot(d, n);
      if (x * x + y * y > 1 || std::fabs(h) > reach || std::fabs(dot(normal(i), n)) < 0.95) continue;
      found.push_back({x, y, h});
    }
    if (found.size() < 4) return NAN;
    // The nearest ones are enough: a dense scan then tells the local surface and no rounded edge near by.
    std::stable_sort(found.begin(), found.end(), [](const Place& a, const Place& b) {
      return a[0] * a[0] + a[1] * a[1] < b[0] * b[0] + b[1] * b[1];
    });
    if (found.size() > most_places) found.resize(most_places);
    const double middle = fitted(found);
    double low = HUGE_VAL, high = -HUGE_VAL;
    for (const auto& f : found) {
      low = std::min(low, f[2]);
      high = std::max(high, f[2]);
    }
    // A fit that leaves what was seen by half its spread is no reading.
    const double slack = 0.5 * (high - low);
    return middle >= low - slack && middle <= high + slack ? middle : NAN;
  }

 private:
  using Place = std::array<double, 3>;  // across, across, along the normal
  static constexpr size_t most_places = 16;

  /// Height in the middle. Points far off the fit (specks, an edge that leans over) go, twice.
  static double fitted(std::vector<Place>& found) {
    for (int round = 0;; ++round) {
      std::vector<double> a, b;
      const size_t terms = rows_of(found, a, b);
      const auto x = maths::least_squares(a, b.size(), terms, b, 1e-3).x;
      if (round == 2) return x[0];
      std::vector<double> off(b.size());
      for (size_t i = 0; i < b.size(); ++i) {
        double r = -b[i];
        for (size_t k = 0; k < terms; ++k) r += a[i * terms + k] * x[k];
        off[i] = std::fabs(r);
      }
      std::vector<double> sorted = off;
      std::sort(sorted.begin(), sorted.end());
      const double most = 3 * sorted[sorted.size() / 2] + 1e-5;
      std::vector<Place> kept;
      for (size_t i = 0; i < off.size(); ++i)
        if (off[i] <= most) kept.push_back(found[i]);
      if (kept.size() == found.size() || kept.size() < 4) return x[0];
      found = kept;
    }
  }

  /// Curvature is asked only where there are points on both sides: at an edge it would be made of noise.
  static size_t rows_of(const std::vector<Place>& found, std::vector<double>& a, std::vector<double>& b) {
    double x_low = 0, x_high = 0, y_low = 0, y_high = 0;
    for (const Place& f : found) {
      x_low = std::min(x_low, f[0]);
      x_high = std::max(x_high, f[0]);
      y_low = std::min(y_low, f[1]);
      y_high = std::max(y_high, f[1]);
    }
    const double far = 0.6 * std::max({-x_low, x_high, -y_low, y_high});
    const bool many = found.size() >= 10;
    const bool bend_x = many && std::min(-x_low, x_high) > far, bend_y = many && std::min(-y_low, y_high) > far;
    size_t terms = 3;
    for (const auto& [x, y, h] : found) {
      std::vector<double> row = {1, x, y};
      if (bend_x) row.push_back(x * x);
      if (bend_y) row.push_back(y * y);
      if (bend_x && bend_y) row.push_back(x * y);
      terms = row.size();
      a.insert(a.end(), row.begin(), row.end());
      b.push_back(h);
    }
    return terms;
  }

  /// Direction of least spread of the ten nearest points.
  Vec3 normal(size_t i) {
    if (known_[i] == 0) {
      std::vector<Vec3> around;
      for (size_t k : tree_.nearest(points_[i], 10)) around.push_back(points_[k]);
      const auto R = axes_of(around, middle(around));
      normals_[i] = {R[2], R[5], R[8]};
      known_[i] = 1;
    }
    return normals_[i];
  }
  const std::vector<Vec3>& points_;
  Near tree_;
  std::vector<Vec3> normals_;
  std::vector<char> known_;
};

}  // namespace

void add_grid(TriangleMesh& mesh, const std::vector<FacePoint>& points, int rows, int columns, bool closed_round) {
  const int base = static_cast<int>(mesh.vertices.size());
  for (const FacePoint& p : points) mesh.vertices.push_back(p.p);
  for (int i = 0; i + 1 < rows; ++i)
    for (int j = 0; j + (closed_round ? 0 : 1) < columns; ++j) {
      const int k = (j + 1) % columns;
      const int a = base + i * columns + j, b = base + i * columns + k, c = base + (i + 1) * columns + j,
                d = base + (i + 1) * columns + k;
      mesh.triangles.push_back({a, b, c});
      mesh.triangles.push_back({b, d, c});
    }
}

Registration register_scan(const RegisterInputs& in) {
  Registration out;
  out.why = refusal(in);
  if (!out.why.empty()) return out;
  const Surface surface(in.nominal);
  const std::vector<Vec3> points = thinned(in.points, in.most_points);
  Pose start;
  if (!in.near_already) {
    const std::vector<Vec3> few = thinned(in.points, 600);
    std::vector<Fit> tried;
    for (const Pose& p : starts(surface.samples(), few)) tried.push_back(iterate(surface, few, p, in.keep, 25));
    std::stable_sort(tried.begin(), tried.end(), [](const Fit& a, const Fit& b) { return a.rms_all < b.rms_all; });
    start = tried.front().pose;
    for (const Fit& f : tried)
      if (angle_between(f.pose, start) > 0.2) {
        out.other_rms = f.rms_all;
        out.either_way = f.rms_all < 1.3 * tried.front().rms_all;
        break;
      }
  }
  const Fit fit = iterate(surface, points, start, in.keep, in.most_rounds);
  out.X_CS = fit.pose;
  out.rms = fit.rms;
  out.rounds = fit.rounds;
  out.points = static_cast<int>(points.size());
  out.usable = fit.converged;
  if (!fit.converged) out.why = "the scan did not come to rest on the nominal solid";
  return out;
}

Deviations deviations_of_scan(const Model& model, const std::vector<Vec3>& points, double radius, double reach) {
  Deviations out;
  if (points.empty()) {
    out.missing.emplace_back("the whole casting");
    out.touch.assign(model.touches.size(), NAN);
    out.point.assign(static_cast<size_t>(model.point_count), NAN);
    return out;
  }
  Relief relief(points);
  const auto note = [&](double h, const std::string& surface) {
    if (std::isnan(h) && std::find(out.missing.begin(), out.missing.end(), surface) == out.missing.end())
      out.missing.push_back(surface);
    return h;
  };
  for (const RawTouch& t : model.touches) out.touch.push_back(note(relief.height(t.p, t.n, radius, reach), t.surface));
  for (size_t f = 0; f < model.faces.size(); ++f) {
    const bool raw = model.raw_point[static_cast<size_t>(model.first_point[f])] != 0;
    for (const FacePoint& p : model.faces[f].points)
      out.point.push_back(raw ? note(relief.height(p.p, p.n, radius, reach), model.faces[f].from) : 0);
  }
  return out;
}

}  // namespace fettle::casting
