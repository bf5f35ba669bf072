#include "study/plate_pictures.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "maths/least_squares.h"

namespace fettle::study {

using frame::Vec3;

namespace {

constexpr std::size_t most_modes = 6;
constexpr double arm = 0.02;  // m, between the places of a part that are asked for

PlateField field_of(const structure::Result& r, const std::vector<double>& value, double factor) {
  PlateField f;
  f.columns = r.node_columns, f.rows = r.node_rows;
  f.left = r.left, f.bottom = r.bottom, f.step_x = r.step_x, f.step_y = r.step_y;
  f.value = value;
  for (double& x : f.value) x *= factor;
  return f;
}

Vec3 node(const PlateField& f, std::size_t k) {
  const auto columns = static_cast<std::size_t>(f.columns);
  return {f.left + f.step_x * static_cast<double>(k % columns), f.bottom + f.step_y * static_cast<double>(k / columns),
          0};
}

/// Three places of each part say how it moves as a whole: half way up its middle, and beside it along X and Y.
std::vector<PlatePoint> points_of(const std::vector<structure::Part>& parts) {
  std::vector<PlatePoint> out;
  for (std::size_t n = 0; n < parts.size(); ++n) {
    const Vec3 at{parts[n].x, parts[n].y, parts[n].height};
    for (const Vec3& d : {Vec3{}, Vec3{arm, 0, 0}, Vec3{0, arm, 0}}) out.push_back({static_cast<int>(n), at + d});
  }
  return out;
}

ModePart part_of(const structure::Part& part, std::size_t n, const std::vector<maths::PointResponse>& at,
                 std::size_t mode) {
  const Vec3 o = at[3 * n].modes[mode].shape, x = at[3 * n + 1].modes[mode].shape, y = at[3 * n + 2].modes[mode].shape;
  ModePart p;
  p.nest = fmt::format("{}", n + 1);
  p.at = {part.x, part.y, part.height};
  p.shift = o;
  p.turn = {(y.z - o.z) / arm, -(x.z - o.z) / arm, 0.5 * ((x.y - o.y) / arm - (y.x - o.x) / arm)};
  return p;
}

/// Motion of the plate in its plane, as what the feet of the parts do together.
void slide_of(ModePicture& m) {
  std::vector<double> a, b;
  for (const ModePart& p : m.parts) {
    const Vec3 foot = p.shift + frame::cross(p.turn, {0, 0, -p.at.z});
    a.insert(a.end(), {1, 0, -p.at.y, 0, 1, p.at.x});
    b.insert(b.end(), {foot.x, foot.y});
  }
  if (b.empty()) return;
  const auto fit = maths::least_squares(a, b.size(), 3, b);
  m.slide_x = fit.x[0], m.slide_y = fit.x[1], m.spin = fit.x[2];
}

Vec3 top_of(const ModePart& p) { return p.shift + frame::cross(p.turn, {0, 0, p.at.z}); }

/// Largest motion of the plate, upright and in its plane.
double most_of_plate(const ModePicture& m) {
  double most = 0;
  for (std::size_t k = 0; k < m.field.value.size(); ++k) {
    if (!std::isfinite(m.field.value[k])) continue;
    const Vec3 p = node(m.field, k);
    most = std::max(most, frame::norm({m.slide_x - m.spin * p.y, m.slide_y + m.spin * p.x, m.field.value[k]}));
  }
  return most;
}

void scale(ModePicture& m) {
  double most = most_of_plate(m);
  for (const ModePart& p : m.parts) most = std::max(most, frame::norm(top_of(p)));
  if (!(most > 0)) return;
  const double k = 1 / most;
  for (double& x : m.field.value) x *= k;
  m.slide_x *= k, m.slide_y *= k, m.spin *= k;
  for (ModePart& p : m.parts) p.shift = k * p.shift, p.turn = k * p.turn;
}

/// How alike two modes move the asked places: 1 for the same shape, 0 for unlike ones.
double alike(const std::vector<maths::PointResponse>& a, std::size_t ma, const std::vector<maths::PointResponse>& b,
             std::size_t mb) {
  double ab = 0, aa = 0, bb = 0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    const Vec3 x = a[k].modes[ma].shape, y = b[k].modes[mb].shape;
    ab += frame::dot(x, y), aa += frame::dot(x, x), bb += frame::dot(y, y);
  }
  return aa > 0 && bb > 0 ? ab * ab / (aa * bb) : 0;
}

/// Frequencies of the modes of `other` that move like the first ones of `stated`, each taken once.
std::vector<double> matched(const PlateAnswer& stated, const PlateAnswer& other, std::size_t modes) {
  std::vector<double> out;
  std::vector<bool> taken(other.frequencies.size(), false);
  for (std::size_t m = 0; m < modes; ++m) {
    std::size_t best = taken.size();
    double most = -1;
    for (std::size_t k = 0; k < taken.size(); ++k)
      if (const double a = taken[k] ? -1 : alike(stated.at, m, other.at, k); a > most) most = a, best = k;
    if (best == taken.size()) break;
    taken[best] = true;
    out.push_back(other.frequencies[best]);
  }
  return out;
}

/// A sort of motion and how much of the mode it is, as a mean square.
struct Share {
  double amount = 0;
  std::string words;
};

/// Where the line that stays still lies: "over the anchors at -X", "near the +Y rim"; empty in the middle.
std::string still_line(double at, double half, const std::vector<double>& anchors, char axis) {
  if (std::fabs(at) < 0.15 * half) return "";
  const char sign = at < 0 ? '-' : '+';
  for (double a : anchors)
    if (std::fabs(a - at) < 0.2 * half) return fmt::format(" over the anchors at {}{}", sign, axis);
  return fmt::format(" near the {}{} rim", sign, axis);
}

}  // namespace

std::string mode_words(const ModePicture& m, double length, double width,
                       const std::vector<structure::Anchor>& anchors) {
  // Upright motion as a plane, a twist and two bows; what they leave is waves.
  std::vector<double> a, b;
  const double hx = 0.5 * length, hy = 0.5 * width;
  for (std::size_t k = 0; k < m.field.value.size(); ++k) {
    const double w = m.field.value[k];
    if (!std::isfinite(w)) continue;
    const Vec3 p = node(m.field, k);
    const double x = p.x / hx, y = p.y / hy;
    a.insert(a.end(), {1, x, y, x * y, x * x - 1.0 / 3, y * y - 1.0 / 3});
    b.push_back(w);
  }
  if (b.size() < 6) return "";
  const auto fit = maths::least_squares(a, b.size(), 6, b);
  const double n = static_cast<double>(b.size());
  const auto mean_square = [&](std::size_t column) {
    double sum = 0;
    for (std::size_t k = 0; k < b.size(); ++k) sum += std::pow(fit.x[column] * a[6 * k + column], 2);
    return sum / n;
  };
  std::vector<double> xs, ys;
  for (const structure::Anchor& s : anchors) xs.push_back(s.x), ys.push_back(s.y);
  const double c0 = fit.x[0], cx = fit.x[1], cy = fit.x[2];
  const double still_x = cx != 0 ? -c0 / cx : INFINITY, still_y = cy != 0 ? -c0 / cy : INFINITY;
  const bool by_x = std::fabs(still_x) < 1, by_y = std::fabs(still_y) < 1;
  std::vector<Share> shares;
  // A plane whose still line crosses the plate rocks; else it goes up and down.
  shares.push_back({mean_square(0) * (by_x || by_y ? 0 : 1), "goes up and down"});
  shares.push_back(
      {mean_square(1), "rocks about Y" + (by_x && cx * cx > cy * cy ? still_line(still_x * hx, hx, xs, 'X') : "")});
  shares.push_back(
      {mean_square(2), "rocks about X" + (by_y && cy * cy >= cx * cx ? still_line(still_y * hy, hy, ys, 'Y') : "")});
  shares.push_back({mean_square(3), "twists, corner against corner"});
  shares.push_back({mean_square(4), "bows along X"});
  shares.push_back({mean_square(5), "bows along Y"});
  shares.push_back({fit.residual * fit.residual / n, "bends in several waves"});
  shares.push_back({m.slide_x * m.slide_x, "slides along X"});
  shares.push_back({m.slide_y * m.slide_y, "slides along Y"});
  shares.push_back({m.spin * m.spin * (hx * hx + hy * hy) / 3, "turns in its own plane"});
  std::stable_sort(shares.begin(), shares.end(), [](const Share& l, const Share& r) { return l.amount > r.amount; });
  std::string out = shares[0].words;
  const bool bow = out.compare(0, 4, "bows") == 0, lifted = shares[1].words == "goes up and down";  // a bow has a mean
  if (shares[1].amount > 0.25 * shares[0].amount && !(bow && lifted)) {
    const std::string& more = shares[1].words;
    const std::size_t at = more.find(' ', more.find(' ') + 1) + 1;  // after "rocks about ", "bows along "
    out += " and " + (at > 0 && out.compare(0, at, more, 0, at) == 0 ? more.substr(at) : more);
  }
  if (most_of_plate(m) < 0.85 && !m.parts.empty()) out += "; the tops of the parts go farthest";
  return out;
}

std::string place_words(const Context& c, double x, double y) {
  const auto& size = c.plan.pallet.plate.size.value;
  const double hx = 0.5 * size[0], hy = 0.5 * size[1];
  const std::string along_x = std::fabs(x) > 0.8 * hx ? (x < 0 ? "-X" : "+X") : "",
                    along_y = std::fabs(y) > 0.8 * hy ? (y < 0 ? "-Y" : "+Y") : "";
  std::string where;
  if (!along_x.empty() && !along_y.empty()) where = fmt::format("at the {} {} corner", along_x, along_y);
  else if (!along_x.empty() || !along_y.empty()) where = fmt::format("at the {}{} rim", along_x, along_y);
  else if (std::hypot(x / hx, y / hy) < 0.25) where = "in the middle";
  else where = "inside the rims";
  std::vector<std::pair<double, int>> nests;
  for (int n = 0; n < nest_count(c.plan); ++n) {
    const Vec3 at = on_pallet(c.plan, n, {});
    nests.push_back({std::hypot(at.x - x, at.y - y), n + 1});
  }
  std::sort(nests.begin(), nests.end());
  if (nests.size() < 2 || where == "in the middle") return where;
  if (nests[1].first < 1.1 * nests[0].first)
    return where + fmt::format(", between nests {} and {}", std::min(nests[0].second, nests[1].second),
                               std::max(nests[0].second, nests[1].second));
  return where + fmt::format(", by nest {}", nests[0].second);
}

void plate_pictures(Context& c, const PlateKnobs& stated, const PlateKnobs& low, const PlateKnobs& high) {
  structure::Inputs in = plate_inputs(c, stated, {});
  const std::vector<PlatePoint> points = points_of(in.parts);
  in = plate_inputs(c, stated, points);
  in.want_shapes = in.want_give = true;
  const auto r = c.memo.call("plate", structure::solve, in);
  const auto soft = plate_answer(c, low, points), stiff = plate_answer(c, high, points);
  if (!r->ok || !soft.ok() || !stiff.ok()) return;
  const PlateAnswer here{r->points, r->frequencies, r->plate_mass};
  const std::size_t modes = std::min({most_modes, r->shapes.size(), r->frequencies.size()});
  const std::vector<double> lows = matched(here, *soft, modes), highs = matched(here, *stiff, modes);
  CompliancePicture& p = c.study.compliance;
  p.there = true;
  p.title = "How far 100 N press the pallet down";
  p.first = r->frequencies.front();
  p.first_low = soft->frequencies.front();
  p.first_high = stiff->frequencies.front();
  p.sentence = fmt::format("First mode of the loaded pallet {:.0f} Hz ({:.0f} Hz to {:.0f} Hz).", p.first, p.first_low,
                           p.first_high);
  p.field = field_of(*r, r->give, 100);
  for (std::size_t k = 0; k < p.field.value.size(); ++k)
    if (p.field.value[k] > (1 + 1e-6) * p.softest) {  // of places alike the first, not the one rounding picks
      p.softest = p.field.value[k];
      p.softest_x = node(p.field, k).x, p.softest_y = node(p.field, k).y;
    }
  if (p.softest > 0) p.softest_words = place_words(c, p.softest_x, p.softest_y);
  for (std::size_t m = 0; m < modes && m < lows.size() && m < highs.size(); ++m) {
    ModePicture mode;
    mode.frequency = r->frequencies[m];
    mode.low = std::min(lows[m], mode.frequency);
    mode.high = std::max(highs[m], mode.frequency);
    mode.field = field_of(*r, r->shapes[m], 1);
    for (std::size_t n = 0; n < in.parts.size(); ++n) mode.parts.push_back(part_of(in.parts[n], n, r->points, m));
    slide_of(mode);
    scale(mode);
    mode.words = mode_words(mode, in.plate.length, in.plate.width, in.anchors);
    c.study.modes.push_back(std::move(mode));
  }
}

}  // namespace fettle::study
