#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "begin/castings.h"
#include "calc/casting/tape.h"
#include "maths/statistics.h"

namespace fettle::begin {

namespace {

/// What a usual column can be bound to in this part, with the finished size (m).
struct Target {
  std::string column, id, kind;
  std::string first, last, feature;
  double finished = 0;
};

/// The bore that the core's columns speak of: the one a casting model showed as cored, else the widest upright one.
const Bound* cored_bore(const plan::Plan& plan, const Features& features) {
  const Bound* best = nullptr;
  for (const Bound& b : features.bound) {
    if (!(b.diameter > 0) || b.reference[0] != 'H' || std::fabs(b.axis.z) < 0.999) continue;
    if (!plan.casting.cores.empty()) {
      if (b.feature == plan.casting.cores[0].features.value[0]) return &b;
    } else if (best == nullptr || b.diameter > best->diameter) {
      best = &b;
    }
  }
  return best;
}

std::vector<Target> targets_of(const plan::Plan& plan, const Features& features, const solid::Model& part) {
  std::vector<Target> out;
  const frame::Vec3 d = part.box.hi - part.box.lo;
  const auto has = [&](const char* id) {
    return std::any_of(plan.features.begin(), plan.features.end(), [&](const auto& f) { return f.id.value == id; });
  };
  if (has("top") && has("bottom")) out.push_back({"thick", "thickness", "outside", "top", "bottom", "", d.z});
  if (has("outside")) {
    out.push_back({"width", "width", "outside", "outside.+y", "outside.-y", "", d.y});
    out.push_back({"length", "length", "outside", "outside.+x", "outside.-x", "", d.x});
  }
  if (const Bound* b = cored_bore(plan, features)) {
    out.push_back({"coreD", "core " + b->feature, "inside", "", "", b->feature, b->diameter});
    for (const Bound& f : features.bound)
      if (f.reference == floor_of(b->feature) && has("bottom"))
        out.push_back({"floorZ", "floor " + b->feature, "height", "bottom", "", f.reference,
                       std::fabs(f.point.z - part.box.lo.z)});
  }
  return out;
}

void give_cast(plan::Plan& plan, const std::string& reference, const char* word) {
  const std::string id = reference.substr(0, reference.find('.'));
  for (plan::Feature& f : plan.features)
    if (f.id.value == id && !f.cast.known()) give(f.cast, word);
}

}  // namespace

Problems casting_from_table(plan::Plan& plan, const Features& features, const solid::Model& part,
                            const std::string& table, const Options& options, Begun& out) {
  const std::vector<Target> targets = targets_of(plan, features, part);
  casting::TapeOptions o;
  o.file = options.measured;
  o.unit = options.table_unit;
  for (casting::TapeColumn& c : o.columns)
    for (const Target& t : targets)
      if (t.column == c.name) c.expected = t.finished;
  const Outcome<casting::TapeTable> read = casting::read_tape(table, o);
  if (!read.ok()) {
    Problems problems = read.problems();
    for (Problem& p : problems)  // here no plan is there yet that could say it
      if (base::starts_with(p.what, "no unit")) p.expected = "\"thick mm\" in the header, or --unit mm, in or m";
    return problems;
  }
  give(plan.casting.measured.table, options.measured);
  if (!options.table_unit.empty()) give(plan.casting.measured.unit, options.table_unit);
  int bound = 0;
  std::string core_feature, floor_feature;
  std::vector<std::string> means;
  for (const Target& t : targets) {
    const int column = read->column(t.column);
    if (column < 0) continue;
    std::vector<double> values;
    for (const casting::TapeRow& r : read->rows) values.push_back(r.values[static_cast<std::size_t>(column)]);
    const double mean = maths::moments(values).mean;
    const bool plausible = t.kind == "inside" ? mean < t.finished : mean > t.finished;
    if (!plausible) {
      Problem p = bad(fmt::format("column {} does not fit the part: its mean is {}, the finished size is {}", t.column,
                                  length_text(mean, options.inch), length_text(t.finished, options.inch)),
                      t.column,
                      t.kind == "inside" ? "a cored size smaller than the finished one"
                                         : "a raw size larger than the finished one");
      p.where.file = options.measured;
      return {p};
    }
    ++bound;
    if (t.kind == "inside") core_feature = t.feature;
    if (t.kind == "height") floor_feature = t.feature;
    const auto it = std::find_if(plan.casting.sizes.begin(), plan.casting.sizes.end(), [&](const plan::CastSize& s) {
      if (s.kind.value != t.kind) return false;
      return t.kind == "outside" ? s.between.value.size() == 2 && s.between.value[0] == t.first
                                 : s.feature.value == t.feature;
    });
    const double spread = values.size() > 1 ? std::round(maths::moments(values).s * 1e6) / 1e6 : 0;
    if (it != plan.casting.sizes.end()) {
      give(it->measured_as, t.column);
      if (spread > 0) give_length(it->spread, spread, options.inch);
      continue;
    }
    plan::CastSize s;
    give(s.id, t.id);
    if (t.kind == "outside") s.kind.value = t.kind;
    else give(s.kind, t.kind);
    const double raw = std::round(mean * 1e5) / 1e5;
    give_length(s.raw, raw, options.inch);
    if (!t.first.empty()) give(s.between, t.first);
    if (!t.last.empty()) give(s.between, t.last);
    if (!t.feature.empty()) give(s.feature, t.feature);
    if (spread > 0) give_length(s.spread, spread, options.inch);
    give(s.measured_as, t.column);
    plan.casting.sizes.push_back(s);
    means.push_back(fmt::format("{} {}", t.id, length_text(raw, options.inch)));
    if (t.kind == "outside") {
      give_cast(plan, t.first, "skin");
      give_cast(plan, t.last, "skin");
    } else {
      give_cast(plan, t.feature, "cored");
    }
  }
  if (bound == 0) {
    Problem p = bad("no column of the table fits the part", base::join(read->columns, ", "),
                    "columns such as thick, width, length, coreD, coreX, coreY, floorZ, warp");
    p.where.file = options.measured;
    return {p};
  }
  if (plan.casting.cores.empty() && !core_feature.empty()) {
    plan::Core core;
    give(core.id, "core 1");
    give(core.features, core_feature);
    if (!floor_feature.empty()) give(core.features, floor_feature);
    plan.casting.cores.push_back(core);
  }
  const auto also = [&](const char* column, const char* meaning, bool can) {
    if (read->column(column) < 0) return;
    if (can) give(plan.casting.measured.columns, fmt::format("{} = {}", column, meaning));
    else out.said.push_back(fmt::format("column {} is not used: {}", column, "no size of what it speaks of is known"));
  };
  const bool core = !plan.casting.cores.empty();
  const bool long_way = std::any_of(plan.casting.sizes.begin(), plan.casting.sizes.end(), [](const plan::CastSize& s) {
    return s.between.value.size() == 2 && s.between.value[0] == "outside.+x";
  });
  also("coreX", "core x", core);
  also("coreY", "core y", core);
  also("warp", "warp", long_way);
  if (core && (read->column("coreX") >= 0 || read->column("coreY") >= 0) && !options.up.empty() && options.up != "+z")
    out.said.emplace_back("core x and y of the table are taken along X and Y of this plan, not of the model");
  for (const std::string& name : read->columns) {
    const bool used = name == "coreX" || name == "coreY" || name == "warp" ||
                      std::any_of(targets.begin(), targets.end(), [&](const Target& t) { return t.column == name; });
    if (!used) out.said.push_back(fmt::format("column {} is not used: the part shows nothing it could be", name));
  }
  if (!means.empty())
    out.said.push_back(
        fmt::format("raw sizes are the means of {} measured castings, since nobody gave the ordered ones: {}",
                    read->rows.size(), base::join(means, ", ")));
  out.said.push_back(fmt::format("{} measured castings, {} columns bound to the part", read->rows.size(),
                                 bound + static_cast<int>(plan.casting.measured.columns.value.size())));
  return {};
}

}  // namespace fettle::begin
