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

const Bound* widest_bore(const Features& features) {
  const Bound* best = nullptr;
  for (const Bound& b : features.bound)
    if (b.diameter > 0 && b.reference[0] == 'H' && std::fabs(b.axis.z) > 0.999 &&
        (best == nullptr || b.diameter > best->diameter))
      best = &b;
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
  if (const Bound* b = widest_bore(features)) {
    const std::string id = b->reference.substr(0, b->reference.find('@'));
    out.push_back({"coreD", "core " + id, "inside", "", "", id, b->diameter});
    const std::string stem = id.substr(0, id.find_last_not_of("abcdefgh") + 1);
    for (const Bound& f : features.bound)
      if (f.reference == stem + "floor" && has("bottom"))
        out.push_back(
            {"floorZ", "floor " + id, "height", "bottom", "", f.reference, std::fabs(f.point.z - part.box.lo.z)});
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
  if (!read.ok()) return read.problems();
  give(plan.casting.measured.table, options.measured);
  if (!options.table_unit.empty()) give(plan.casting.measured.unit, options.table_unit);
  int bound = 0;
  std::string core_feature, floor_feature;
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
    auto it = std::find_if(plan.casting.sizes.begin(), plan.casting.sizes.end(), [&](const plan::CastSize& s) {
      return s.id.value == t.id || (!t.first.empty() && s.between.value.size() == 2 && s.between.value[0] == t.first) ||
             (!t.feature.empty() && s.feature.value == t.feature);
    });
    if (it == plan.casting.sizes.end()) {
      plan::CastSize s;
      give(s.id, t.id);
      if (t.kind == "outside") s.kind.value = t.kind;
      else give(s.kind, t.kind);
      const double raw = std::round(mean * 1e5) / 1e5;
      give(s.raw, raw, unit::Kind::length, length_text(raw, options.inch));
      if (!t.first.empty()) give(s.between, t.first);
      if (!t.last.empty()) give(s.between, t.last);
      if (!t.feature.empty()) give(s.feature, t.feature);
      const double spread = maths::moments(values).s;
      if (std::isfinite(spread) && spread > 0) {
        const double rounded = std::round(spread * 1e6) / 1e6;
        give(s.spread, rounded, unit::Kind::length, length_text(rounded, options.inch));
      }
      give(s.measured_as, t.column);
      plan.casting.sizes.push_back(s);
      out.said.push_back(fmt::format("raw {} {}: the mean of {} measured castings, since nobody gave the ordered size",
                                     t.id, length_text(raw, options.inch), values.size()));
      give_cast(plan, t.first.empty() ? t.feature : t.first, t.kind == "outside" ? "skin" : "cored");
      if (!t.last.empty()) give_cast(plan, t.last, "skin");
    } else {
      give(it->measured_as, t.column);
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
  const auto also = [&](const char* column, const char* meaning) {
    if (read->column(column) >= 0) give(plan.casting.measured.columns, fmt::format("{} = {}", column, meaning));
  };
  also("coreX", "core x");
  also("coreY", "core y");
  also("warp", "warp");
  out.said.push_back(fmt::format("{} measured castings, {} columns bound to the part", read->rows.size(),
                                 bound + static_cast<int>(plan.casting.measured.columns.value.size())));
  return {};
}

}  // namespace fettle::begin
