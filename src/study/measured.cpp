#include "study/measured.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "base/text.h"
#include "calc/casting/tape.h"
#include "maths/statistics.h"

namespace fettle::study {

namespace {

std::string spelled(const std::string& s) {
  std::string out;
  for (char c : base::lower(s))
    if (c != ' ' && c != '.' && c != '-' && c != '_') out += c;
  return out;
}

struct Binding {
  std::string column, key;
  double nominal = 0, expected = 0;
  bool negative = false;
  plan::Place place;
  bool required = true;  // false: not in the plan, taken when the table has a column of this name
};

/// What each column of the plan's table is: sizes by `measured_as`, the others by the list of columns; a column that is
/// named like a size, or "core x", "core y", "core z", "warp", speaks for itself.
std::vector<Binding> bindings_of(const plan::Plan& plan, const CastingModel& m, Problems& problems) {
  std::vector<Binding> out;
  const plan::Measured& k = plan.casting.measured;
  for (const plan::CastSize& s : plan.casting.sizes)
    if (s.measured_as.known())
      out.push_back({s.measured_as.value, "size " + s.id.value, s.raw.si, s.raw.si, false, s.measured_as.place});
  for (std::size_t i = 0; i < k.columns.value.size(); ++i) {
    const auto parts = base::split(k.columns.value[i], '=');
    const plan::Place place = i < k.columns.places.size() ? k.columns.places[i] : k.columns.place;
    const auto problem = [&](const std::string& what, const std::string& expected, const std::string& nearest) {
      Problem p = bad(what, k.columns.value[i], expected, nearest);
      if (place.file >= 0) p.where = {plan.files[static_cast<std::size_t>(place.file)].path, place.line, place.column};
      problems.push_back(p);
    };
    if (parts.size() != 2) {
      problem("a column is said as \"column = what it is\"", "such as \"coreX = core x\"", "");
      continue;
    }
    const std::string column(base::trim(parts[0])), what(base::trim(parts[1]));
    std::vector<std::string> words = {"number", "core x", "core y", "core z", "warp", "ignore"};
    for (const plan::CastSize& s : plan.casting.sizes) words.push_back(s.id.value);
    if (what == "number") continue;
    const auto size = std::find_if(plan.casting.sizes.begin(), plan.casting.sizes.end(),
                                   [&](const auto& s) { return s.id.value == what; });
    if (size != plan.casting.sizes.end())
      out.push_back({column, "size " + what, size->raw.si, size->raw.si, false, place});
    else if (what == "core x" || what == "core y" || what == "core z")
      out.push_back({column, "core 0 " + what.substr(5), 0, 0, true, place});
    else if (what == "warp") out.push_back({column, "warp x", 0, 0, false, place});
    else if (what == "ignore") out.push_back({column, "", 0, 0, true, place});
    else problem("no such meaning of a column", "one of: " + base::join(words, ", "), base::nearest(what, words));
  }
  const auto by_itself = [&](const std::string& column, const std::string& key, double raw, bool negative) {
    const auto said = [&](const Binding& b) { return b.key == key || spelled(b.column) == spelled(column); };
    if (m.mode.count(key) == 0 || std::any_of(out.begin(), out.end(), said)) return;
    out.push_back({column, key, raw, raw, negative, {}, false});
  };
  for (const plan::CastSize& s : plan.casting.sizes) by_itself(s.id.value, "size " + s.id.value, s.raw.si, false);
  for (const std::string axis : {"x", "y", "z"}) by_itself("core " + axis, "core 0 " + axis, 0, true);
  by_itself("warp", "warp x", 0, false);
  out.erase(std::remove_if(out.begin(), out.end(),
                           [&](const Binding& b) { return !b.key.empty() && m.mode.count(b.key) == 0; }),
            out.end());
  return out;
}

}  // namespace

Outcome<Sample> read_sample(const plan::Plan& plan, const Data& data, const CastingModel& m) {
  Sample out;
  const plan::Measured& k = plan.casting.measured;
  if (!k.table.known()) return out;
  const auto text = data.files.find(k.table.value);
  if (text == data.files.end()) {
    const auto why = data.not_read.find(k.table.value);
    Problem p = bad("the table of measured castings cannot be read" +
                        (why == data.not_read.end() ? std::string() : ": " + why->second),
                    k.table.value, "a CSV file beside the plan");
    if (k.table.place.file >= 0)
      p.where = {plan.files[static_cast<std::size_t>(k.table.place.file)].path, k.table.place.line,
                 k.table.place.column};
    return p;
  }
  Problems problems;
  const std::vector<Binding> bindings = bindings_of(plan, m, problems);
  if (!problems.empty()) return problems;
  casting::TapeOptions o;
  const std::string folder = plan.files.empty() ? "" : std::filesystem::path(plan.files[0].path).parent_path().string();
  o.file = folder.empty() ? k.table.value : (std::filesystem::path(folder) / k.table.value).lexically_normal().string();
  if (k.unit.known()) o.unit = k.unit.value;
  o.columns.clear();
  const auto usual = casting::usual_columns();
  for (const Binding& b : bindings) {
    casting::TapeColumn c;
    c.name = b.column;
    c.spellings = {spelled(b.column)};
    for (const auto& u : usual)
      if (spelled(u.name) == spelled(b.column))
        c.spellings.insert(c.spellings.end(), u.spellings.begin(), u.spellings.end());
    c.expected = b.expected;
    c.may_be_negative = b.negative;
    c.required = b.required;
    o.columns.push_back(c);
  }
  const Outcome<casting::TapeTable> table = casting::read_tape(text->second, o);
  if (!table.ok()) return table.problems();
  std::vector<int> column;
  for (const Binding& b : bindings) {
    if (b.key.empty() || (!b.required && table->column(b.column) < 0)) continue;
    out.keys.push_back(b.key);
    out.nominal.push_back(b.nominal);
    column.push_back(table->column(b.column));
  }
  for (const casting::TapeRow& r : table->rows) {
    SampleRow row;
    row.number = r.casting;
    for (std::size_t i = 0; i < column.size(); ++i)
      row.deviation.push_back(column[i] < 0 ? 0.0 : r.values[static_cast<std::size_t>(column[i])] - out.nominal[i]);
    out.rows.push_back(row);
  }
  return out;
}

std::vector<double> row_parameters(const CastingModel& m, const Sample& sample, const SampleRow& row,
                                   std::size_t count) {
  std::vector<double> p(count, 0.0);
  for (const auto& [key, mode] : m.mode)
    p[static_cast<std::size_t>(mode)] = m.casting.modes[static_cast<std::size_t>(mode)].mean;
  for (std::size_t i = 0; i < sample.keys.size(); ++i)
    p[static_cast<std::size_t>(m.mode.at(sample.keys[i]))] = row.deviation[i];
  return p;
}

std::vector<double> worse_bow(const CastingModel& m, const casting::Model& model, const Sample& sample,
                              const SampleRow& row) {
  const std::vector<double> up = row_parameters(m, sample, row, static_cast<std::size_t>(model.mode_count));
  const std::vector<double> stock_up = casting::stock(model, up);
  const auto bow = m.mode.find("warp x");
  if (bow == m.mode.end() || up[static_cast<std::size_t>(bow->second)] == 0) return stock_up;
  std::vector<double> down = up;
  down[static_cast<std::size_t>(bow->second)] = -up[static_cast<std::size_t>(bow->second)];
  const std::vector<double> stock_down = casting::stock(model, down);
  const auto least = [&](const std::vector<double>& s) {
    const auto faces = casting::by_face(model, s);
    return faces[static_cast<std::size_t>(casting::tightest(model, faces))].reserve;
  };
  return least(stock_down) < least(stock_up) ? stock_down : stock_up;
}

bool learned_a_size(const Sample& sample) {
  return sample.rows.size() >= 5 && std::any_of(sample.keys.begin(), sample.keys.end(),
                                                [](const std::string& k) { return base::starts_with(k, "size "); });
}

void learn(CastingModel& m, const Sample& sample) {
  if (sample.rows.size() < 5) return;
  std::vector<std::size_t> use;
  for (std::size_t i = 0; i < sample.keys.size(); ++i) {
    if (sample.keys[i] != "warp x") {
      use.push_back(i);
      continue;
    }
    // A bow is measured without its direction: its size is a spread about zero.
    double sum = 0;
    for (const SampleRow& r : sample.rows) sum += r.deviation[i] * r.deviation[i];
    const double before = m.casting.modes[static_cast<std::size_t>(m.mode.at("warp x"))].s;
    const double now = std::sqrt(sum / static_cast<double>(sample.rows.size()));
    for (const char* key : {"warp x", "warp y", "twist"})  // the other bows keep their proportion to it
      if (const auto it = m.mode.find(key); it != m.mode.end() && before > 0)
        m.casting.modes[static_cast<std::size_t>(it->second)].s *= now / before;
  }
  if (use.empty()) return;
  std::vector<double> rows;
  for (const SampleRow& r : sample.rows)
    for (std::size_t i : use) rows.push_back(r.deviation[i]);
  const maths::Covariance c = maths::covariance(rows, use.size());
  casting::Joint joint;
  for (std::size_t k = 0; k < use.size(); ++k) {
    const int mode = m.mode.at(sample.keys[use[k]]);
    joint.modes.push_back(mode);
    m.casting.modes[static_cast<std::size_t>(mode)].mean = c.mean[k];
  }
  joint.covariance = c.matrix;
  m.casting.joints.push_back(joint);
  if (const auto it = m.mode.find("scale"); it != m.mode.end() && learned_a_size(sample))
    m.casting.modes[static_cast<std::size_t>(it->second)].s = 0;  // the measured sizes hold it
}

bool learned(const Sample& sample, const std::string& key) {
  return sample.rows.size() >= 5 && std::find(sample.keys.begin(), sample.keys.end(), key) != sample.keys.end();
}

void fill_picture(Context& c, const CastingModel& m, const casting::Model& model, const Sample& sample) {
  const CastingRow* worst = nullptr;
  for (const CastingRow& r : c.study.castings)
    if (worst == nullptr || r.least < worst->least) worst = &r;
  if (worst == nullptr) return;
  const auto row = std::find_if(sample.rows.begin(), sample.rows.end(),
                                [&](const SampleRow& r) { return r.number == worst->number; });
  if (row == sample.rows.end()) return;
  CastingPicture& p = c.study.picture;
  p.there = true;
  p.number = worst->number;
  p.shift_x = worst->shift_x;
  p.shift_y = worst->shift_y;
  p.draft = c.plan.casting.draft.known() ? c.plan.casting.draft.si : 0;
  p.parting = m.casting.parting_height;
  const auto stock = worse_bow(m, model, sample, *row);
  const auto faces = casting::by_face(model, stock);
  p.least = std::numeric_limits<double>::infinity();
  p.most = -p.least;
  for (std::size_t i = 0; i < faces.size(); ++i) {
    if (!m.faces[i].judged) continue;
    if (faces[i].reserve < p.least) {
      p.least = faces[i].reserve;
      p.least_stock = faces[i].least;
      p.least_at = faces[i].least_at;
      p.least_where = words_of(c.plan, faces[i].face);
    }
    if (faces[i].most > p.most) {
      p.most = faces[i].most;
      p.most_at = faces[i].most_at;
      p.most_where = words_of(c.plan, faces[i].face);
    }
  }
  const auto value = [&](const std::string& key) {
    for (std::size_t i = 0; i < sample.keys.size(); ++i)
      if (sample.keys[i] == key) return row->deviation[i];
    return 0.0;
  };
  for (const plan::CastSize& s : c.plan.casting.sizes) {
    const double raw = s.raw.si + value("size " + s.id.value);
    if (s.kind.value == "inside") p.core_diameter = raw;
    else if (s.kind.value == "height") p.core_floor = raw;
    else if (s.between.value.size() == 2) {
      const Surface b = surface_of(c.plan, s.between.value[1]);
      if (std::fabs(b.normal.x) > 0.5) p.length_raw = raw;
      if (std::fabs(b.normal.y) > 0.5) p.width_raw = raw;
      if (std::fabs(b.normal.z) > 0.5) {
        p.thickness_raw = raw;
        const Surface a = surface_of(c.plan, s.between.value[0]);
        const double total = s.raw.si - std::fabs(a.point.z - b.point.z);
        p.bottom_raw = std::min(a.point.z, b.point.z) - (s.stock.known() ? s.stock.si : 0.5 * total);
      }
    }
  }
  p.core_x = value("core 0 x");
  p.core_y = value("core 0 y");
}

}  // namespace fettle::study
