#include "step/pmi.h"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "base/text.h"
#include "step/judge.h"

namespace fettle::step {
namespace {

using nlohmann::json;
const std::string parts_dir = FETTLE_PARTS_DIR;

std::vector<std::uint64_t> ids(const json& list) { return list.get<std::vector<std::uint64_t>>(); }

std::vector<std::uint64_t> joined(std::vector<std::uint64_t> a, const std::vector<std::uint64_t>& b) {
  a.insert(a.end(), b.begin(), b.end());
  std::sort(a.begin(), a.end());
  return a;
}

// The truth file gives lengths in millimetres and angles in radians.
double shown(double si, bool angular) { return angular ? si : 1000 * si; }

void expect_number(const json& want, const std::optional<double>& got, bool angular, const std::string& what) {
  ASSERT_EQ(want.is_null(), !got.has_value()) << what;
  if (!got) return;
  const double w = want.get<double>();
  EXPECT_NEAR(shown(*got, angular), w, 1e-6 * std::max(1.0, std::fabs(w))) << what;
}

std::string frame_text(const Compartment& c) {
  std::string out = c.text();
  for (const DatumUse& d : c.datums)
    for (const Modifier& m : d.modifiers) out += "(" + (c.datums.size() > 1 ? d.letter + ":" : "") + m.name + ")";
  for (const Modifier& m : c.modifiers)
    if (c.datums.size() > 1) out += "(" + m.name + ")";
  return out;
}

void compare(const json& want, const Dimension& got) {
  const std::string what = "dimension #" + std::to_string(got.entity);
  EXPECT_EQ(want["entity"], got.entity_name) << what;
  EXPECT_EQ(want["name"], got.name) << what;
  ASSERT_EQ(want["values"].size(), got.values.size()) << what;
  for (std::size_t i = 0; i < got.values.size(); ++i) {
    EXPECT_EQ(want["values"][i][0], got.values[i].name) << what;
    expect_number(want["values"][i][1], got.values[i].value, got.angular, what);
  }
  expect_number(want["lower"], got.lower, got.angular, what + " lower");
  expect_number(want["upper"], got.upper, got.angular, what + " upper");
  ASSERT_EQ(want["fit"].is_null(), !got.fit) << what;
  if (got.fit) {
    EXPECT_EQ(want["fit"].get<std::vector<std::string>>(), got.fit->written) << what;
  }
  EXPECT_EQ(want["qualifier"].get<std::vector<std::string>>(), got.qualifiers) << what;
  EXPECT_EQ(want["notes"].get<std::vector<std::string>>(), got.notes) << what;
  ASSERT_EQ(want["faces"].size(), got.ends.size()) << what;
  std::size_t curves = 0, sets = 0;
  for (std::size_t i = 0; i < got.ends.size(); ++i) {
    EXPECT_EQ(ids(want["faces"][i]), got.ends[i].faces) << what;
    EXPECT_EQ(ids(want["edges"][i]), joined(got.ends[i].edges, got.ends[i].curves)) << what;
    curves += got.ends[i].curves.size();
    sets += got.ends[i].sets.size();
    EXPECT_TRUE(got.ends[i].others.empty()) << what;
    EXPECT_FALSE(got.ends[i].whole_part) << what;
  }
  EXPECT_EQ(want["other"].value("TRIMMED_CURVE", std::size_t{0}), curves) << what;
  EXPECT_EQ(want["other"].value("GEOMETRIC_CURVE_SET", std::size_t{0}), sets) << what;
}

void compare(const json& want, const Tolerance& got) {
  const std::string what = "tolerance #" + std::to_string(got.entity);
  EXPECT_EQ(want["type"].get<std::string>() + "_TOLERANCE", got.entity_name) << what;
  expect_number(want["value_mm"], got.value, got.angular, what + " value");
  EXPECT_EQ(want["zone"].is_null() ? "" : want["zone"].get<std::string>(), got.zone) << what;
  expect_number(want["projected_mm"], got.projected, false, what + " projected");
  expect_number(want["per_unit_mm"], got.per_unit, false, what + " per unit");
  expect_number(want["unequal_mm"], got.unequal, false, what + " unequal");
  std::vector<std::string> modifiers, frame;
  for (const Modifier& m : got.modifiers) modifiers.push_back(m.name);
  EXPECT_EQ(want["modifiers"].get<std::vector<std::string>>(), modifiers) << what;
  for (const Compartment& c : got.frame) frame.push_back(frame_text(c));
  EXPECT_EQ(want["frame"].get<std::vector<std::string>>(), frame) << what;
  ASSERT_EQ(want["composite"].size(), got.links.size()) << what;
  for (std::size_t i = 0; i < got.links.size(); ++i) {
    EXPECT_EQ(want["composite"][i][0], got.links[i].name) << what;
    EXPECT_EQ(want["composite"][i][1], got.links[i].upper) << what;
  }
  EXPECT_EQ(want["all_around"], got.all_around) << what;
  EXPECT_EQ(want["whole_part"], got.on.whole_part) << what;
  EXPECT_EQ(ids(want["faces"]), got.on.faces) << what;
  EXPECT_EQ(ids(want["edges"]), joined(got.on.edges, got.on.curves)) << what;
}

struct Total {
  std::size_t dimensions = 0, tolerances = 0, datums = 0, targets = 0;
  std::size_t threads = 0, limited = 0, required_dimensions = 0, required_tolerances = 0, radii = 0;
};

// What can become a requirement; and every radius in the drawing against the radius of the faces it is bound to.
void judge_part(const File& file, const Pmi& pmi, Total& total) {
  ASSERT_TRUE(pmi.units.length);
  const Shapes shapes = read_shapes(file, *pmi.units.length);
  EXPECT_EQ(shapes.solids, 1u);
  const auto judged = judge(pmi, stated(shapes));
  ASSERT_EQ(judged.size(), pmi.dimensions.size() + pmi.tolerances.size());
  for (const Judged& j : judged) {
    EXPECT_EQ(j.standing == Standing::requirement, j.why.empty()) << "#" << j.entity;
    EXPECT_EQ(j.why.find("the model measures"), std::string::npos) << "#" << j.entity << " " << j.why;
    EXPECT_EQ(j.why.find("not compared"), std::string::npos) << "#" << j.entity << " " << j.why;
    if (j.standing == Standing::requirement) ++(j.dimension ? total.required_dimensions : total.required_tolerances);
  }
  for (const SetCircle& c : pmi.circles) {
    const auto faces = threaded_faces(c, shapes);
    if (c.bound_by.empty() && faces.empty()) continue;
    ASSERT_EQ(faces.size(), 2u) << "circle #" << c.circle;  // two halves of one bore; nothing in the other parts
    EXPECT_NEAR(2 * c.radius, 0.0030, 1e-12);
    EXPECT_NEAR(2 * shapes.faces.at(faces[0]).radius, 0.002459, 1e-6);
    total.threads += c.bound_by.empty() ? 0 : 1;
  }
  for (const Dimension& d : pmi.dimensions) {
    if (d.least || d.most || d.fit) ++total.limited;
    if (d.kind != DimensionKind::diameter && d.kind != DimensionKind::radius) continue;
    if (const Measured m = measure(d, shapes); d.nominal && m.value) {
      EXPECT_NEAR(*m.value, *d.nominal, 1e-6) << "#" << d.entity;
      ++total.radii;
    }
  }
}

void compare_part(const std::string& name, const json& want, Total& total) {
  SCOPED_TRACE(name);
  auto text = base::read_file(parts_dir + "/" + name + ".stp");
  ASSERT_TRUE(text.ok());
  const auto start = std::chrono::steady_clock::now();
  auto file = parse(std::move(text).value(), name);
  ASSERT_TRUE(file.ok()) << say(file.problem());
  auto pmi = read_pmi(*file);
  const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  ASSERT_TRUE(pmi.ok()) << say(pmi.problem());
  EXPECT_LT(seconds, 0.5);
  for (const Unread& u : pmi->unread) ADD_FAILURE() << "unread #" << u.entity << " " << u.entity_name << ": " << u.why;
  EXPECT_TRUE(file->dangling().empty());

  ASSERT_EQ(want["dimensions"].size(), pmi->dimensions.size());
  for (const Dimension& d : pmi->dimensions) {
    const auto it = std::find_if(want["dimensions"].begin(), want["dimensions"].end(),
                                 [&](const json& w) { return w["step"] == d.entity; });
    ASSERT_NE(it, want["dimensions"].end()) << "invented dimension #" << d.entity;
    compare(*it, d);
  }
  ASSERT_EQ(want["tolerances"].size(), pmi->tolerances.size());
  for (const Tolerance& t : pmi->tolerances) {
    const auto it = std::find_if(want["tolerances"].begin(), want["tolerances"].end(),
                                 [&](const json& w) { return w["step"] == t.entity; });
    ASSERT_NE(it, want["tolerances"].end()) << "invented tolerance #" << t.entity;
    compare(*it, t);
  }
  ASSERT_EQ(want["datums"].size(), pmi->datums.size());
  for (const Datum& d : pmi->datums) {
    const auto it = std::find_if(want["datums"].begin(), want["datums"].end(),
                                 [&](const json& w) { return w["name"] == d.letter; });
    ASSERT_NE(it, want["datums"].end()) << "invented datum " << d.letter;
    EXPECT_EQ(ids((*it)["faces"]), d.on.faces) << "datum " << d.letter;
    EXPECT_EQ((*it)["targets"], d.targets.size()) << "datum " << d.letter;
  }
  ASSERT_EQ(want["targets"].size(), pmi->targets.size());
  for (const DatumTarget& t : pmi->targets) {
    const auto it = std::find_if(want["targets"].begin(), want["targets"].end(),
                                 [&](const json& w) { return w["step"] == t.entity; });
    ASSERT_NE(it, want["targets"].end()) << "invented target #" << t.entity;
    EXPECT_EQ((*it)["kind"], t.entity_name);
    EXPECT_EQ((*it)["form"], t.form);
    EXPECT_EQ(ids((*it)["faces"]), t.on.faces);
    EXPECT_FALSE(t.letter.empty());
  }
  judge_part(*file, *pmi, total);
  total.dimensions += pmi->dimensions.size();
  total.tolerances += pmi->tolerances.size();
  total.datums += pmi->datums.size();
  total.targets += pmi->targets.size();
  std::printf("%s: %zu dimensions, %zu tolerances, %zu datums, %zu targets, %zu circles, %zu thread texts, %.0f ms\n",
              name.c_str(), pmi->dimensions.size(), pmi->tolerances.size(), pmi->datums.size(), pmi->targets.size(),
              pmi->circles.size(), pmi->threads.size(), 1000 * seconds);
}

TEST(PmiOfParts, everything_as_found_by_independent_code) {
  if (!std::filesystem::exists(parts_dir + "/truth.json"))
    GTEST_SKIP() << "skipped: " << parts_dir << "/truth.json is not here, so real parts are not compared";
  std::ifstream in(parts_dir + "/truth.json");
  const json truth = json::parse(in);
  Total total;
  for (const auto& [name, want] : truth.items()) compare_part(name, want, total);
  EXPECT_EQ(total.dimensions, 71u);
  EXPECT_EQ(total.tolerances, 96u);
  EXPECT_EQ(total.datums, 29u);
  EXPECT_EQ(total.threads, 6u);  // M3 of ftc_10
  EXPECT_EQ(total.limited, 58u);
  EXPECT_EQ(total.radii, 43u);                // two of them on surfaces beside the solid
  EXPECT_EQ(total.required_dimensions, 54u);  // 55 on faces of the solid, one of them statistical
  EXPECT_EQ(total.required_tolerances, 56u);
}

}  // namespace
}  // namespace fettle::step
