#include "calc/casting/measured.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "maths/least_squares.h"
#include "maths/statistics.h"

namespace fettle::casting {
namespace {

using frame::cross;
using std::size_t;

std::vector<std::string> distinct(std::vector<std::string> v) {
  std::sort(v.begin(), v.end());
  v.erase(std::unique(v.begin(), v.end()), v.end());
  return v;
}

/// A rigid move of one surface about `centre` (turns by their way at `arm`) and a growth along its normals.
struct SurfaceFit {
  std::string surface;
  Vec3 centre;
  double arm = 1;
  std::vector<double> coefficients;

  std::vector<double> basis(Vec3 p, Vec3 n) const {
    const Vec3 m = cross(p - centre, n);
    return {n.x, n.y, n.z, m.x / arm, m.y / arm, m.z / arm, 1};
  }
  double at(Vec3 p, Vec3 n) const {
    const auto b = basis(p, n);
    double sum = 0;
    for (size_t i = 0; i < b.size(); ++i) sum += b[i] * coefficients[i];
    return sum;
  }
};

SurfaceFit fit(const std::string& surface, const std::vector<Reading>& readings) {
  SurfaceFit f;
  f.surface = surface;
  std::vector<const Reading*> own;
  for (const Reading& r : readings)
    if (r.surface == surface) own.push_back(&r);
  for (const Reading* r : own) f.centre = f.centre + (1.0 / static_cast<double>(own.size())) * r->p;
  f.arm = 1e-3;
  for (const Reading* r : own) f.arm = std::max(f.arm, frame::norm(r->p - f.centre));
  std::vector<double> a, b;
  for (const Reading* r : own) {
    const auto row = f.basis(r->p, r->n);
    a.insert(a.end(), row.begin(), row.end());
    b.push_back(r->offset);
  }
  // The smallest move that fits: one reading is an offset, two add a tilt along their line, three make a plane.
  f.coefficients = maths::least_squares(a, own.size(), 7, b, 1e-6).x;
  return f;
}

CastingVerdict verdict(const Model& model, const std::string& casting, const std::vector<double>& low,
                       const std::vector<double>& high, const std::vector<double>& raw, double shift, double turn) {
  CastingVerdict v;
  v.casting = casting;
  v.faces = by_face(model, low);
  const auto upper = by_face(model, high);
  for (size_t f = 0; f < v.faces.size(); ++f) {
    v.faces[f].most = upper[f].most;
    v.faces[f].most_point = upper[f].most_point;
    v.faces[f].most_at = upper[f].most_at;
  }
  v.tightest_face = tightest(model, v.faces);
  const auto t = static_cast<size_t>(v.tightest_face);
  v.reserve = v.faces[t].reserve / model.faces[t].weight;
  v.shift = best_shift(model, low);
  PoseInputs in;
  for (const Face& f : model.faces) in.faces.push_back(f.id);
  for (size_t i = 0; i < raw.size(); ++i) {
    if (model.raw_point[i] == 0) continue;
    const auto f = static_cast<size_t>(model.face_of[i]);
    const FacePoint& p = model.faces[f].points[i - static_cast<size_t>(model.first_point[f])];
    in.points.push_back(
        {p.p + raw[i] * p.n, p.q, p.n, model.faces[f].must_leave, model.faces[f].weight, static_cast<int>(f)});
  }
  in.low = {-shift, -shift, -shift, -turn, -turn, -turn};
  in.high = {shift, shift, shift, turn, turn, turn};
  v.any_pose = best_pose(in);
  return v;
}

/// Every combination of signs of the either-way modes.
template <class Do>
void each_way(const MeasuredRow& row, const Do& work) {
  const size_t ways = std::min<size_t>(row.either_way.size(), 8);
  for (size_t mask = 0; mask < (size_t{1} << ways); ++mask) {
    std::vector<double> p = row.parameters;
    for (size_t k = 0; k < ways; ++k)
      if ((mask >> k) % 2 == 1) p[static_cast<size_t>(row.either_way[k])] *= -1;
    work(p);
  }
}

}  // namespace

Outcome<MeasuredSample> measured_sample(const TapeTable& table, const std::vector<TapeMeaning>& meanings,
                                        const Casting& casting) {
  Problems problems;
  MeasuredSample out;
  std::vector<bool> told(casting.modes.size(), false);
  for (const TapeMeaning& m : meanings) {
    if (m.mode < 0 || static_cast<size_t>(m.mode) >= casting.modes.size()) {
      problems.push_back(
          bad("the meaning of column \"" + m.column + "\" names no error of the casting", std::to_string(m.mode)));
      continue;
    }
    if (!std::isfinite(m.nominal) || !std::isfinite(m.factor))
      problems.push_back(bad("the meaning of column \"" + m.column + "\" is not finite"));
    if (table.column(m.column) < 0)
      problems.push_back(
          bad("the table has no column for this error", m.column, "", base::nearest(m.column, table.columns)));
    if (told[static_cast<size_t>(m.mode)]) problems.push_back(bad("two columns stand for the same error", m.column));
    told[static_cast<size_t>(m.mode)] = true;
  }
  if (!problems.empty()) return problems;
  for (size_t i = 0; i < told.size(); ++i)
    if (!told[i]) out.not_measured.push_back(casting.modes[i].name);
  for (const TapeRow& r : table.rows) {
    MeasuredRow row{r.casting, std::vector<double>(casting.modes.size(), 0.0), {}};
    for (const TapeMeaning& m : meanings) {
      row.parameters[static_cast<size_t>(m.mode)] =
          m.factor * (r.values[static_cast<size_t>(table.column(m.column))] - m.nominal);
      if (m.either_way) row.either_way.push_back(m.mode);
    }
    out.rows.push_back(std::move(row));
  }
  return out;
}

Outcome<Casting> learned(const Casting& casting, const MeasuredSample& sample,
                         const std::vector<TapeMeaning>& meanings) {
  if (sample.rows.size() < 3)
    return bad("too few measured castings to learn a spread from", std::to_string(sample.rows.size()), "3 or more");
  Casting out = casting;
  std::vector<int> modes;
  for (const TapeMeaning& m : meanings) {
    Mode& mode = out.modes[static_cast<size_t>(m.mode)];
    mode.family = Mode::Family::normal;
    if (!m.either_way) {
      modes.push_back(m.mode);
      continue;
    }
    double squares = 0;
    for (const MeasuredRow& r : sample.rows)
      squares += r.parameters[static_cast<size_t>(m.mode)] * r.parameters[static_cast<size_t>(m.mode)];
    mode.mean = 0;
    mode.s = std::sqrt(squares / static_cast<double>(sample.rows.size()));
  }
  std::vector<double> rows;
  for (const MeasuredRow& r : sample.rows)
    for (int m : modes) rows.push_back(r.parameters[static_cast<size_t>(m)]);
  const maths::Covariance c = maths::covariance(rows, modes.size());
  for (size_t j = 0; j < modes.size(); ++j) {
    Mode& mode = out.modes[static_cast<size_t>(modes[j])];
    mode.mean = c.mean[j];
    mode.s = std::sqrt(std::max(0.0, c.matrix[j * modes.size() + j]));
  }
  out.joints.clear();
  if (!modes.empty()) out.joints.push_back({modes, c.matrix});
  return out;
}

StockBand stock_band(const Model& model, const MeasuredRow& row) {
  StockBand band;
  each_way(row, [&](const std::vector<double>& p) {
    const auto s = stock(model, p);
    if (band.low.empty()) band.low = band.high = s;
    for (size_t i = 0; i < s.size(); ++i) {
      band.low[i] = std::min(band.low[i], s[i]);
      band.high[i] = std::max(band.high[i], s[i]);
    }
  });
  return band;
}

Deviations deviations_of(const Model& model, const std::vector<Reading>& readings) {
  Deviations out;
  std::vector<std::string> surfaces;
  surfaces.reserve(readings.size());
  for (const Reading& r : readings) surfaces.push_back(r.surface);
  std::vector<SurfaceFit> fits;
  for (const std::string& s : distinct(surfaces)) fits.push_back(fit(s, readings));
  const auto value = [&](const std::string& surface, Vec3 p, Vec3 n) {
    for (const SurfaceFit& f : fits)
      if (f.surface == surface) return f.at(p, n);
    out.missing.push_back(surface);
    return static_cast<double>(NAN);
  };
  for (const RawTouch& t : model.touches) out.touch.push_back(value(t.surface, t.p, t.n));
  for (size_t f = 0; f < model.faces.size(); ++f) {
    const bool raw = model.raw_point[static_cast<size_t>(model.first_point[f])] != 0;
    for (const FacePoint& p : model.faces[f].points)
      out.point.push_back(raw ? value(model.faces[f].from, p.p, p.n) : 0);
  }
  out.missing = distinct(out.missing);
  return out;
}

Outcome<std::vector<CastingReadings>> read_face_table(std::string_view text, const std::string& file,
                                                      const std::string& unit, const Model& model) {
  TapeOptions options;
  options.file = file;
  options.unit = unit;
  options.several_rows_per_casting = true;
  options.columns = {{"surface", {"face", "flaeche"}, 0, false, true, true},
                     {"offset", {"deviation", "abweichung", "aufmass"}, 0, true, true, false},
                     {"x", {}, 0, true, true, false},
                     {"y", {}, 0, true, true, false},
                     {"z", {}, 0, true, true, false}};
  auto table = read_tape(text, options);
  if (!table) return table.problems();
  // Where each raw surface is sampled: its touches and the points of the faces cut from it.
  std::vector<Reading> known;
  for (const RawTouch& t : model.touches) known.push_back({t.surface, t.p, t.n, 0});
  for (size_t f = 0; f < model.faces.size(); ++f)
    if (model.raw_point[static_cast<size_t>(model.first_point[f])] != 0)
      for (const FacePoint& p : model.faces[f].points) known.push_back({model.faces[f].from, p.p, p.n, 0});
  std::vector<std::string> names;
  names.reserve(known.size());
  for (const Reading& k : known) names.push_back(k.surface);
  names = distinct(names);

  Problems problems;
  std::vector<CastingReadings> out;
  const auto value = [&](const TapeRow& r, const char* column) {
    return r.values[static_cast<size_t>(table->column(column))];
  };
  for (const TapeRow& r : table->rows) {
    Reading reading{r.texts[0], {value(r, "x"), value(r, "y"), value(r, "z")}, {}, value(r, "offset")};
    double nearest = HUGE_VAL;
    for (const Reading& k : known) {
      const double d = frame::norm(k.p - reading.p);
      if (k.surface != reading.surface || !(d < nearest)) continue;
      nearest = d;
      reading.n = k.n;
    }
    if (!(nearest < HUGE_VAL)) {
      Problem p =
          bad("no such raw surface", reading.surface, base::join(names, ", "), base::nearest(reading.surface, names));
      p.where = {file, r.line, 1};
      problems.push_back(std::move(p));
      continue;
    }
    size_t k = 0;
    while (k < out.size() && out[k].casting != r.casting) ++k;
    if (k == out.size()) out.push_back({r.casting, {}});
    out[k].readings.push_back(std::move(reading));
  }
  if (!problems.empty()) return problems;
  return out;
}

CastingVerdict judge_casting(const Model& model, const MeasuredRow& row, double shift, double turn) {
  const StockBand band = stock_band(model, row);
  std::vector<double> raw;
  each_way(row, [&](const std::vector<double>& p) {
    const auto d = raw_deviation(model, p);
    if (raw.empty()) raw = d;
    for (size_t i = 0; i < d.size(); ++i) raw[i] = std::min(raw[i], d[i]);
  });
  return verdict(model, row.casting, band.low, band.high, raw, shift, turn);
}

CastingVerdict judge_casting(const Model& model, const std::string& casting, const Deviations& d, double shift,
                             double turn) {
  const auto s = stock_of_measured(model, d.touch, d.point);
  return verdict(model, casting, s, s, d.point, shift, turn);
}

}  // namespace fettle::casting
