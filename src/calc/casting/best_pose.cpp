#include "calc/casting/best_pose.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/text.h"
#include "maths/simplex.h"

namespace fettle::casting {
namespace {

using frame::cross;
using frame::dot;
using maths::LinearAnswer;
using maths::LinearProgram;
using maths::LinearRow;
using std::size_t;

/// Largest s with base_i + rows_i.u >= s, low <= u <= high.
struct Maximin {
  std::vector<double> base;
  std::vector<double> rows;  // points x columns
  std::vector<double> low, high;
  std::vector<double> arm;  // how far a unit of the column moves things: weighs shifts against turns
};
struct MaximinAnswer {
  bool ok = false;
  std::string why;
  std::vector<double> u;
  double s = 0;
  std::vector<double> price;  // per point, >= 0, sum 1
  std::vector<double> box;    // per column: gain per unit of its active limit
};

double gain(const Maximin& in, size_t i, const std::vector<double>& u) {
  double sum = 0;
  for (size_t j = 0; j < u.size(); ++j) sum += in.rows[i * u.size() + j] * u[j];
  return sum;
}

/// Points that may matter, grown from the lowest ones: few of hundreds ever touch. What is left out is checked each
/// time, so the answer is that of all points.
class Watched {
 public:
  explicit Watched(const Maximin& in) : in_(in), watched_(in.base.size(), 0) {
    grow(std::vector<double>(in.low.size(), 0.0), HUGE_VAL);
  }
  const std::vector<size_t>& points() const { return list_; }
  /// Adds the points that lie lowest at u below `s`; false when there is none.
  bool grow(const std::vector<double>& u, double s) {
    std::vector<std::pair<double, size_t>> low;
    for (size_t i = 0; i < in_.base.size(); ++i) {
      const double r = in_.base[i] + gain(in_, i, u);
      if (watched_[i] == 0 && r < s) low.emplace_back(r, i);
    }
    const size_t take = std::min<size_t>(low.size(), 12);
    std::partial_sort(low.begin(), low.begin() + static_cast<std::ptrdiff_t>(take), low.end());
    for (size_t k = 0; k < take; ++k) {
      watched_[low[k].second] = 1;
      list_.push_back(low[k].second);
    }
    return take > 0;
  }

 private:
  const Maximin& in_;
  std::vector<char> watched_;
  std::vector<size_t> list_;
};
constexpr double below = 1e-13;  // m; a point this far under the answer counts as on it

MaximinAnswer largest_least(const Maximin& in, Watched& watched) {
  const size_t v = in.low.size();
  LinearProgram p;
  p.maximise = true;
  p.cost.assign(v + 1, 0.0);
  p.cost[v] = 1;
  p.lower = in.low;
  p.upper = in.high;
  p.lower.push_back(-LinearProgram::infinity);
  p.upper.push_back(LinearProgram::infinity);
  MaximinAnswer out;
  do {
    for (size_t k = p.rows.size(); k < watched.points().size(); ++k) {
      const size_t i = watched.points()[k];
      LinearRow r;
      for (size_t j = 0; j < v; ++j) r.a.push_back(-in.rows[i * v + j]);
      r.a.push_back(1);
      r.b = in.base[i];
      p.rows.push_back(std::move(r));
    }
    const LinearAnswer a = maths::solve(p);
    out.ok = a.ok();
    if (!out.ok) {
      out.why = a.why.empty() ? "the linear program has no end or no answer" : a.why;
      return out;
    }
    out.s = a.x[v];
    out.u.assign(a.x.begin(), a.x.begin() + static_cast<std::ptrdiff_t>(v));
    out.price.assign(in.base.size(), 0.0);
    for (size_t k = 0; k < a.row_price.size(); ++k) out.price[watched.points()[k]] = a.row_price[k];
    out.box.assign(a.reduced_cost.begin(), a.reduced_cost.begin() + static_cast<std::ptrdiff_t>(v));
  } while (watched.grow(out.u, out.s - below));
  return out;
}

/// Among all poses that reach s, the one that moves least (sum of ways): nobody turns a casting for nothing.
std::vector<double> smallest_move(const Maximin& in, const MaximinAnswer& best, Watched& watched) {
  constexpr double give = 1e-12;  // m; keeps the rows from being met by rounding alone
  const size_t v = in.low.size();
  LinearProgram p;
  for (size_t j = 0; j < v; ++j)
    for (int side : {1, -1}) {
      p.cost.push_back(in.arm[j]);
      p.lower.push_back(std::max(0.0, side > 0 ? in.low[j] : -in.high[j]));
      p.upper.push_back(std::max(0.0, side > 0 ? in.high[j] : -in.low[j]));
    }
  std::vector<double> u(v);
  do {
    for (size_t k = p.rows.size(); k < watched.points().size(); ++k) {
      const size_t i = watched.points()[k];
      LinearRow r;
      r.sense = LinearRow::Sense::at_least;
      r.b = best.s - give - in.base[i];
      for (size_t j = 0; j < v; ++j) {
        r.a.push_back(in.rows[i * v + j]);
        r.a.push_back(-in.rows[i * v + j]);
      }
      p.rows.push_back(std::move(r));
    }
    const LinearAnswer a = maths::solve(p);
    if (!a.ok()) return best.u;
    for (size_t j = 0; j < v; ++j) u[j] = a.x[2 * j] - a.x[2 * j + 1];
  } while (watched.grow(u, best.s - give - below));
  return u;
}

size_t least_index(const std::vector<double>& r) {
  size_t at = 0;
  for (size_t i = 0; i < r.size(); ++i) {
    if (std::isnan(r[i])) return i;
    if (r[i] < r[at]) at = i;
  }
  return at;
}

/// Joins the prices of points by face, largest first; shares below a thousandth are rounding or ties of no weight.
struct PricedPoint {
  size_t face;
  int point;
  double price;
  Vec3 at, n;
};
std::vector<Clash> clashes(const std::vector<PricedPoint>& points, const std::vector<std::string>& names) {
  // A round face can be pressed from two sides: what looks the other way is kept apart.
  std::vector<Clash> out;
  std::vector<double> top;
  for (const PricedPoint& p : points) {
    if (!(p.price > 1e-3)) continue;
    size_t k = 0;
    while (k < out.size() && !(out[k].face == names[p.face] && dot(out[k].n, p.n) > 0.3)) ++k;
    if (k == out.size()) {
      out.push_back({names[p.face], p.point, 0, p.at, p.n});
      top.push_back(0);
    }
    out[k].share += p.price;
    if (p.price > top[k]) {
      top[k] = p.price;
      out[k].point = p.point;
      out[k].at = p.at;
      out[k].n = p.n;
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const Clash& a, const Clash& b) { return a.share > b.share; });
  return out;
}

Vec3 part(const std::array<double, 6>& u, size_t from) { return {u[from], u[from + 1], u[from + 2]}; }

std::string refusal(const PoseInputs& in) {
  if (in.points.empty()) return "there are no points";
  for (size_t k = 0; k < 6; ++k)
    if (!(in.low[k] <= in.high[k]) || !std::isfinite(in.low[k]) || !std::isfinite(in.high[k]))
      return "the box has its limits the wrong way round or open";
  for (size_t k = 3; k < 6; ++k)
    if (in.low[k] < -0.5 || in.high[k] > 0.5) return "turns beyond half a radian are not small";
  for (const PosePoint& p : in.points) {
    if (!(p.weight > 0)) return "a weight is not above 0";
    if (!(std::fabs(frame::norm(p.n) - 1) < 1e-6)) return "a normal is not of length 1";
    if (!std::isfinite(dot(p.n, p.p - p.q)) || !std::isfinite(p.must_leave)) return "a point is not finite";
    if (p.face < 0 || static_cast<size_t>(p.face) >= in.faces.size()) return "a point belongs to no face";
  }
  return {};
}

/// Reserve over weight of every point at a pose, and its slopes there (exact to the third order in the turn).
void reserves(const PoseInputs& in, const std::array<double, 6>& u, std::vector<double>& r,
              std::vector<double>* slopes) {
  const Vec3 t = part(u, 0), w = part(u, 3);
  const frame::Pose pose = frame::from_small({}, w);
  r.resize(in.points.size());
  if (slopes != nullptr) slopes->resize(6 * in.points.size());
  for (size_t i = 0; i < in.points.size(); ++i) {
    const PosePoint& p = in.points[i];
    const Vec3 turned = frame::rotate(pose, p.p);
    r[i] = (dot(p.n, turned + t - p.q) - p.must_leave) / p.weight;
    if (slopes == nullptr) continue;
    // d(turned) = (J dw) x turned with J = I + [w]/2 + [w][w]/6, so the slope is J' (turned x n).
    const Vec3 m = cross(turned, p.n);
    const Vec3 a = cross(m, w), b = cross(a, w);
    const Vec3 g = m + 0.5 * a + (1.0 / 6) * b;
    const double s[6] = {p.n.x, p.n.y, p.n.z, g.x, g.y, g.z};
    for (size_t k = 0; k < 6; ++k) (*slopes)[6 * i + k] = s[k] / p.weight;
  }
}

std::vector<BoxStop> box_stops(const MaximinAnswer& a, const std::vector<int>& column_of, const Maximin& in) {
  std::vector<BoxStop> out;
  for (size_t j = 0; j < a.box.size(); ++j) {
    if (!(std::fabs(a.box[j]) * in.arm[j] > 1e-6)) continue;
    const bool upper = a.box[j] > 0;
    out.push_back({column_of[j] / 6, column_of[j] % 6, upper, upper ? in.high[j] : in.low[j], a.box[j]});
  }
  return out;
}

}  // namespace

BestPose best_pose(const PoseInputs& in) {
  BestPose out;
  out.why = refusal(in);
  if (!out.why.empty()) {
    out.status = PoseStatus::refused;
    return out;
  }
  double arm = 1e-6;
  for (const PosePoint& p : in.points) arm = std::max(arm, frame::norm(p.p));
  std::array<double, 6> u{};
  for (size_t k = 0; k < 6; ++k) u[k] = std::clamp(0.0, in.low[k], in.high[k]);
  std::vector<double> r;
  reserves(in, {}, r, nullptr);
  out.before_point = static_cast<int>(least_index(r));
  out.least_before = r[static_cast<size_t>(out.before_point)];

  // Only freedoms with room are columns.
  std::vector<int> columns;
  for (int k = 0; k < 6; ++k)
    if (in.low[static_cast<size_t>(k)] < in.high[static_cast<size_t>(k)]) columns.push_back(k);
  double best = -HUGE_VAL;
  for (int step = 0; step <= std::max(0, in.linearise_again); ++step) {
    std::vector<double> slopes;
    reserves(in, u, r, &slopes);
    Maximin m;
    m.base = r;
    for (int k : columns) {
      const auto c = static_cast<size_t>(k);
      m.low.push_back(in.low[c] - u[c]);
      m.high.push_back(in.high[c] - u[c]);
      m.arm.push_back(k < 3 ? 1 : arm);
    }
    for (size_t i = 0; i < r.size(); ++i)
      for (int k : columns) m.rows.push_back(slopes[6 * i + static_cast<size_t>(k)]);
    Watched watched(m);
    const MaximinAnswer a = largest_least(m, watched);
    ++out.steps;
    if (!a.ok) {
      out.status = step == 0 ? PoseStatus::failed : PoseStatus::found;
      out.why = step == 0 ? a.why : "";
      break;
    }
    const std::vector<double> move = step == 0 ? smallest_move(m, a, watched) : a.u;
    std::array<double, 6> next = u;
    for (size_t j = 0; j < columns.size(); ++j) next[static_cast<size_t>(columns[j])] += move[j];
    if (step == 0) out.linear_least = a.s;
    reserves(in, next, r, nullptr);
    const double least = r[least_index(r)];
    if (!(least > best + 1e-9) && step > 0) break;
    best = least;
    u = next;
    out.status = PoseStatus::found;
    std::vector<PricedPoint> priced;
    for (size_t i = 0; i < a.price.size(); ++i) {
      const PosePoint& p = in.points[i];
      if (a.price[i] > 0) priced.push_back({static_cast<size_t>(p.face), static_cast<int>(i), a.price[i], p.q, p.n});
    }
    out.clash = clashes(priced, in.faces);
    out.stops = box_stops(a, columns, m);
    for (BoxStop& s : out.stops)
      s.limit = s.upper ? in.high[static_cast<size_t>(s.freedom)] : in.low[static_cast<size_t>(s.freedom)];
  }
  out.t = part(u, 0);
  out.w = part(u, 3);
  reserves(in, u, r, nullptr);
  out.least_point = static_cast<int>(least_index(r));
  out.least = r[static_cast<size_t>(out.least_point)];
  out.clears = out.status == PoseStatus::found && out.least >= 0;
  return out;
}

BestShift best_shift(const Model& model, const std::vector<double>& stock) {
  std::vector<double> low, high;
  for (const auto& l : model.shift_low) low.insert(low.end(), l.begin(), l.end());
  for (const auto& h : model.shift_high) high.insert(high.end(), h.begin(), h.end());
  return best_shift(model, stock, low, high);
}

BestShift best_shift(const Model& model, const std::vector<double>& stock, const std::vector<double>& low,
                     const std::vector<double>& high) {
  BestShift out;
  const size_t h = 6 * model.operation_ids.size(), points = static_cast<size_t>(model.point_count);
  out.status = PoseStatus::refused;
  if (low.size() != h || high.size() != h || stock.size() != points || points == 0) {
    out.why = "sizes of stock and limits do not fit the model";
    return out;
  }
  for (size_t k = 0; k < h; ++k)
    if (!(low[k] <= high[k]) || !std::isfinite(low[k]) || !std::isfinite(high[k])) {
      out.why = "the box has its limits the wrong way round or open";
      return out;
    }
  Maximin m;
  std::vector<int> columns;
  for (size_t k = 0; k < h; ++k)
    if (low[k] < high[k]) {
      columns.push_back(static_cast<int>(k));
      m.low.push_back(low[k]);
      m.high.push_back(high[k]);
      m.arm.push_back(k % 6 < 3 ? 1 : 0.1);
    }
  std::vector<double> fixed(stock);
  for (size_t i = 0; i < points; ++i)
    for (size_t k = 0; k < h; ++k)
      if (low[k] == high[k] && low[k] != 0) fixed[i] += model.by_shift[i * h + k] * low[k];
  double before = HUGE_VAL;
  for (size_t i = 0; i < points; ++i) {
    const Face& face = model.faces[static_cast<size_t>(model.face_of[i])];
    if (!std::isfinite(stock[i])) {
      out.why = "the stock of face \"" + face.id + "\" is not known everywhere";
      return out;
    }
    before = std::min(before, (stock[i] - face.must_leave) / face.weight);
    m.base.push_back((fixed[i] - face.must_leave) / face.weight);
    for (int k : columns) m.rows.push_back(model.by_shift[i * h + static_cast<size_t>(k)] / face.weight);
  }
  out.least_before = before;
  Watched watched(m);
  const MaximinAnswer a = largest_least(m, watched);
  if (!a.ok) {
    out.status = PoseStatus::failed;
    out.why = a.why;
    return out;
  }
  const std::vector<double> u = smallest_move(m, a, watched);
  out.shifts.assign(h, 0.0);
  for (size_t k = 0; k < h; ++k)
    if (low[k] == high[k]) out.shifts[k] = low[k];
  for (size_t j = 0; j < columns.size(); ++j) out.shifts[static_cast<size_t>(columns[j])] = u[j];
  std::vector<double> after(stock);
  for (size_t i = 0; i < points; ++i)
    for (size_t k = 0; k < h; ++k) after[i] += model.by_shift[i * h + k] * out.shifts[k];
  out.faces = by_face(model, after);
  out.tightest_face = tightest(model, out.faces);
  const auto tight = static_cast<size_t>(out.tightest_face);
  out.least = out.faces[tight].reserve / model.faces[tight].weight;
  out.clears = out.least >= 0;
  out.status = PoseStatus::found;
  std::vector<std::string> names;
  for (const Face& f : model.faces) names.push_back(f.id);
  std::vector<PricedPoint> priced;
  for (size_t i = 0; i < points; ++i) {
    const auto f = static_cast<size_t>(model.face_of[i]);
    const int local = static_cast<int>(i) - model.first_point[f];
    const FacePoint& p = model.faces[f].points[static_cast<size_t>(local)];
    if (a.price[i] > 0) priced.push_back({f, local, a.price[i], p.q, p.n});
  }
  out.clash = clashes(priced, names);
  out.stops = box_stops(a, columns, m);
  return out;
}

namespace {

/// "-X" for a direction near an axis, empty otherwise.
std::string axis_word(Vec3 n) {
  const double c[3] = {n.x, n.y, n.z};
  for (size_t k = 0; k < 3; ++k)
    if (std::fabs(c[k]) > 0.9) return std::string(c[k] > 0 ? "+" : "-") + "XYZ"[k];
  return {};
}

}  // namespace

std::string say_clash(const std::vector<Clash>& clash, const std::vector<BoxStop>& stops) {
  static const char* const freedom[] = {"X", "Y", "Z", "turn about X", "turn about Y", "turn about Z"};
  std::vector<std::string> names;
  for (const Clash& c : clash) {
    bool twice = false;
    for (const Clash& d : clash) twice = twice || (&c != &d && c.face == d.face);
    const std::string looks = axis_word(c.n);
    names.push_back(twice && !looks.empty() ? c.face + " (where it looks towards " + looks + ")" : c.face);
  }
  std::string out;
  if (names.size() == 1) out = names[0] + " cannot clear";
  if (names.size() == 2) out = names[0] + " and " + names[1] + " cannot both clear";
  if (names.size() > 2) {
    const std::vector<std::string> head(names.begin(), names.end() - 1);
    out = base::join(head, ", ") + " and " + names.back() + " cannot all clear";
  }
  for (const BoxStop& s : stops) out += std::string("; the limit of ") + freedom[s.freedom] + " is reached";
  return out;
}

}  // namespace fettle::casting
