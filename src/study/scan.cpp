// A scanned casting, laid onto the nominal raw casting and judged as the route holds it.
#include "calc/casting/scan.h"

#include <fmt/format.h>

#include <cmath>
#include <filesystem>

#include "study/measured.h"

namespace fettle::study {

using finding::Finding;

namespace {

/// Inputs of the pure call that lays a scan onto the casting.
struct LayInputs {
  casting::Casting casting;
  casting::Route route;
  casting::TriangleMesh nominal;
  std::vector<frame::Vec3> points;
};
struct Laid {
  std::string why;  ///< not empty: not usable
  casting::Registration registration;
  std::vector<std::string> missing;
  casting::CastingVerdict verdict;
};
Laid lay(const LayInputs& in) {
  Laid out;
  const Outcome<casting::Model> model = casting::build(in.casting, in.route);
  if (!model.ok()) {
    out.why = say(model.problem());
    return out;
  }
  casting::RegisterInputs r;
  r.nominal = in.nominal;
  r.points = in.points;
  out.registration = casting::register_scan(r);
  if (!out.registration.usable) {
    out.why = "the scan does not lie down on the nominal casting: " + out.registration.why;
    return out;
  }
  std::vector<frame::Vec3> p_C;
  for (frame::Vec3 p : in.points) p_C.push_back(out.registration.X_CS * p);
  const casting::Deviations d = casting::deviations_of_scan(*model, p_C);
  out.missing = d.missing;
  if (d.complete()) out.verdict = casting::judge_casting(*model, "scan", d);
  return out;
}

/// The raw surfaces as triangles, from the sample points of the first cut on each.
casting::TriangleMesh nominal_of(const CastingModel& m) {
  casting::TriangleMesh mesh;
  for (std::size_t i = 0; i < m.faces.size(); ++i) {
    if (!m.faces[i].skin) continue;
    const auto& points = m.route.faces[i].points;
    if (points.size() == 25) casting::add_grid(mesh, points, 5, 5);
    else if (points.size() == 72) casting::add_grid(mesh, points, 3, 24, true);
    else if (points.size() == 24) casting::add_grid(mesh, points, 2, 12, true);
  }
  return mesh;
}

double metres_per(const std::string& unit) {
  const auto q = unit::parse("1 " + unit, unit::Kind::length);
  return q.ok() ? q->si : std::nan("");
}

}  // namespace

void scan_findings(Context& c, const CastingModel& m) {
  const plan::Measured& k = c.plan.casting.measured;
  if (!k.scan.known()) return;
  Finding f = start("casting", "scan", "measured", "scanned casting cleans up", unit::Kind::length);
  f.limit = finding::lower(0, c.plan.casting.skin.si > 0 ? c.plan.casting.skin.si : 1e-3);
  f.source =
      "closest points with point-to-plane distances (Chen and Medioni 1992); largest least stock by linear programming "
      "over the pose";
  f.formula = "least stock minus the depth asked for, over all faces, with the best shift the program may make";
  const auto bytes = c.data.files.find(k.scan.value);
  if (bytes == c.data.files.end()) {
    const auto why = c.data.not_read.find(k.scan.value);
    leave_open(c, std::move(f),
               {fmt::format("casting.measured.scan: the file {} cannot be read{}", k.scan.value,
                            why == c.data.not_read.end() ? "" : " (" + why->second + ")")});
    return;
  }
  if (!k.unit.known()) {
    leave_open(c, std::move(f), {"casting.measured.unit: a scan file has no unit; say mm or in"});
    return;
  }
  const double metres = metres_per(k.unit.value);
  const Outcome<std::vector<frame::Vec3>> points = casting::read_scan(bytes->second, k.scan.value, metres);
  if (!points.ok()) {
    Problem p = points.problem();
    if (k.scan.place.file >= 0)
      p.where = {c.plan.files[static_cast<std::size_t>(k.scan.place.file)].path, k.scan.place.line,
                 k.scan.place.column};
    c.problems.push_back(p);
    return;
  }
  const auto laid = c.memo.call("lay scan", lay, LayInputs{m.casting, m.route, nominal_of(m), *points});
  if (!laid->why.empty() || !laid->missing.empty()) {
    std::vector<std::string> missing = laid->missing;
    for (std::string& s : missing) s = "casting.measured.scan: points on " + s;
    if (!laid->why.empty()) missing.insert(missing.begin(), laid->why);
    leave_open(c, std::move(f), missing);
    return;
  }
  const casting::CastingVerdict& v = laid->verdict;
  const auto& best = v.shift;
  double x = 0, y = 0;
  for (std::size_t i = 0; i + 5 < best.shifts.size(); i += 6) {
    x += best.shifts[i];
    y += best.shifts[i + 1];
  }
  const std::string where = words_of(c.plan, v.faces[static_cast<std::size_t>(v.tightest_face)].face);
  const std::string shift = fmt::format("X {}{}, Y {}{}", x >= 0 ? "+" : "", mm(c, x), y >= 0 ? "+" : "", mm(c, y));
  const bool as_it_lies = v.reserve >= 0;
  const double value = as_it_lies ? v.reserve : best.least;
  f.inputs = {{"points of the scan", static_cast<double>(points->size()), unit::Kind::number, {}},
              {"root mean square distance, laid down", laid->registration.rms, unit::Kind::length, {}},
              {"to spare as it lies", v.reserve, unit::Kind::length, {}},
              {"where", 0, unit::Kind::number, where},
              {"to spare with the best shift", best.least, unit::Kind::length, {}},
              {"to spare in any pose at all", v.any_pose.least, unit::Kind::length, {}}};
  if (laid->registration.either_way)
    f.inputs.push_back({"remark", 0, unit::Kind::number,
                        "the scan fits nearly as well another way round: mark one end of the casting"});
  if (as_it_lies)
    f.sentence =
        fmt::format("The scanned casting cleans up as it lies, {} to spare (tightest: {}).", mm(c, v.reserve), where);
  else if (best.clears) {
    f.sentence = fmt::format("The scanned casting lacks {} on the {}; shifted by {} it cleans up, {} to spare.",
                             mm(c, -v.reserve), where, shift, mm(c, best.least));
    f.levers.push_back({"program shift", "operation.shift", 0, std::hypot(x, y), unit::Kind::length,
                        fmt::format("enter {} for this casting", shift)});
  } else {
    f.sentence = fmt::format("The scanned casting cannot be saved: the best shift ({}) still lacks {}. {}", shift,
                             mm(c, -best.least), casting::say_clash(best.clash, best.stops));
  }
  settle(c, std::move(f), [value](const std::vector<double>&) { return value; });
}

}  // namespace fettle::study
