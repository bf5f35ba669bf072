// Castings whose skin was measured, by a scan or face by face, judged as the route holds them.
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

/// Sentence, inputs and levers from a verdict; adds the finding.
void settle_verdict(Context& c, Finding f, const std::string& who, const casting::CastingVerdict& v) {
  const casting::BestShift& best = v.shift;
  double x = 0, y = 0;
  for (std::size_t i = 0; i + 5 < best.shifts.size(); i += 6) {
    x += best.shifts[i];
    y += best.shifts[i + 1];
  }
  const casting::FaceStock& tightest = v.faces[static_cast<std::size_t>(v.tightest_face)];
  const std::string where = spot_words(c, tightest);
  const std::string left = left_words(c, tightest.least, tightest.must_leave, where);
  const std::string shift = fmt::format("X {}{}, Y {}{}", x >= 0 ? "+" : "", mm(c, x), y >= 0 ? "+" : "", mm(c, y));
  const bool as_it_lies = v.reserve >= 0;
  const double value = as_it_lies ? v.reserve : best.least;
  f.inputs.push_back({"to spare as it lies", v.reserve, unit::Kind::length, {}});
  f.inputs.push_back({"where", 0, unit::Kind::number, where});
  f.inputs.push_back({"to spare with the best shift", best.least, unit::Kind::length, {}});
  f.inputs.push_back({"to spare in any pose at all", v.any_pose.least, unit::Kind::length, {}});
  if (as_it_lies) {
    f.sentence = fmt::format("{} cleans up as it lies, {} to spare (tightest: {}).", who, mm(c, v.reserve), where);
  } else if (best.clears) {
    f.sentence = fmt::format("{} does not clean up as it lies: {}. Shifted by {} it does, {} to spare.", who, left,
                             shift, mm(c, best.least));
    f.levers.push_back({"program shift", "operation.shift", 0, std::hypot(x, y), unit::Kind::length,
                        fmt::format("enter {} for this casting", shift)});
  } else {
    f.sentence = fmt::format("{} cannot be saved: {}; with the best shift, {}, {} still lack. {}.", who, left, shift,
                             mm(c, -best.least), capital(clash_words(c, best)));
  }
  settle(c, std::move(f), [value](const std::vector<double>&) { return value; });
}

Finding skin_finding(Context& c, const std::string& number, const std::string& title) {
  Finding f = start("casting", number, "measured", title, unit::Kind::length);
  f.limit = finding::lower(0, c.plan.casting.skin.si > 0 ? c.plan.casting.skin.si : 1e-3);
  f.formula = "least stock minus the depth asked for, over all faces, with the best shift the program may make";
  return f;
}

/// The text of a data file, or what to give.
const std::string* bytes_of_file(Context& c, const plan::Text& name, const char* key, std::string& missing) {
  const auto bytes = c.data.files.find(name.value);
  if (bytes != c.data.files.end()) return &bytes->second;
  const auto why = c.data.not_read.find(name.value);
  missing = fmt::format("{}: the file {} cannot be read{}", key, name.value,
                        why == c.data.not_read.end() ? "" : " (" + why->second + ")");
  return nullptr;
}

void problem_at(Context& c, Problem p, const plan::Text& name) {
  if (p.where.line == 0 && name.place.file >= 0)
    p.where = {c.plan.files[static_cast<std::size_t>(name.place.file)].path, name.place.line, name.place.column};
  c.problems.push_back(std::move(p));
}

void scan_finding(Context& c, const CastingModel& m) {
  const plan::Measured& k = c.plan.casting.measured;
  Finding f = skin_finding(c, "scan", "scanned casting cleans up");
  f.source =
      "closest points with point-to-plane distances (Chen and Medioni 1992); largest least stock by linear programming "
      "over the pose";
  std::string missing;
  const std::string* bytes = bytes_of_file(c, k.scan, "casting.measured.scan", missing);
  if (bytes == nullptr) return leave_open(c, std::move(f), {missing});
  if (!k.unit.known())
    return leave_open(c, std::move(f), {"casting.measured.unit: a scan file has no unit; say mm or in"});
  const Outcome<std::vector<frame::Vec3>> points = casting::read_scan(*bytes, k.scan.value, metres_per(k.unit.value));
  if (!points.ok()) return problem_at(c, points.problem(), k.scan);
  const auto laid = c.memo.call("lay scan", lay, LayInputs{m.casting, m.route, nominal_of(m), *points});
  if (!laid->why.empty() || !laid->missing.empty()) {
    std::vector<std::string> give = laid->missing;
    for (std::string& s : give) s = "casting.measured.scan: points on " + s;
    if (!laid->why.empty()) give.insert(give.begin(), laid->why);
    return leave_open(c, std::move(f), give);
  }
  f.inputs = {{"points of the scan", static_cast<double>(points->size()), unit::Kind::number, {}},
              {"root mean square distance, laid down", laid->registration.rms, unit::Kind::length, {}}};
  if (laid->registration.either_way)
    f.inputs.push_back({"remark", 0, unit::Kind::number,
                        "the scan fits nearly as well another way round: mark one end of the casting"});
  settle_verdict(c, std::move(f), "The scanned casting", laid->verdict);
}

/// People name a surface as the plan does ("F1.+x"); in the model its skin is "raw F1.+x".
casting::Model named_as_in_the_plan(casting::Model model) {
  const auto plain = [](std::string& s) {
    if (s.compare(0, 4, "raw ") == 0) s.erase(0, 4);
  };
  for (casting::RawTouch& t : model.touches) plain(t.surface);
  for (casting::Face& f : model.faces) plain(f.from);
  return model;
}

void face_findings(Context& c, const casting::Model& model) {
  const plan::Measured& k = c.plan.casting.measured;
  std::string missing;
  const std::string* text = bytes_of_file(c, k.faces, "casting.measured.faces", missing);
  Finding unread = skin_finding(c, "faces", "castings measured face by face clean up");
  if (text == nullptr) return leave_open(c, std::move(unread), {missing});
  const casting::Model named = named_as_in_the_plan(model);
  const auto readings = casting::read_face_table(*text, k.faces.value, k.unit.known() ? k.unit.value : "", named);
  if (!readings.ok()) {
    for (const Problem& p : readings.problems()) problem_at(c, p, k.faces);
    return;
  }
  for (const casting::CastingReadings& r : *readings) {
    Finding f = skin_finding(c, r.casting + " faces", fmt::format("casting {} (face by face) cleans up", r.casting));
    f.source =
        "rigid move and growth of each face through its readings; largest least stock by linear programming over the "
        "pose";
    const casting::Deviations d = casting::deviations_of(named, r.readings);
    if (!d.complete()) {
      std::vector<std::string> give = d.missing;
      for (std::string& s : give) s = "casting.measured.faces: readings on " + s;
      leave_open(c, std::move(f), give);
      continue;
    }
    f.inputs = {{"readings", static_cast<double>(r.readings.size()), unit::Kind::number, {}}};
    settle_verdict(c, std::move(f), "Casting " + r.casting, casting::judge_casting(named, r.casting, d));
  }
}

}  // namespace

void skin_findings(Context& c, const CastingModel& m, const casting::Model& model) {
  if (c.plan.casting.measured.scan.known()) scan_finding(c, m);
  if (c.plan.casting.measured.faces.known()) face_findings(c, model);
}

}  // namespace fettle::study
