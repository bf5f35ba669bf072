#include "calc/casting/tape.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "base/text.h"
#include "unit/quantity.h"

namespace fettle::casting {
namespace {

using std::size_t;

struct Cell {
  std::string text;
  int column = 1;  // code points, from 1
  bool quoted = false;
};
struct Line {
  int number = 0;
  std::vector<Cell> cells;
};

struct Reader {
  std::string_view text;
  const TapeOptions& options;
  Problems problems;
  TapeTable table;
  std::vector<Line> lines;  // header first

  void problem(const Line& line, const Cell& cell, std::string what, std::string found = {}, std::string expected = {},
               std::string nearest = {}) {
    Problem p = bad(std::move(what), std::move(found), std::move(expected), std::move(nearest));
    p.where = {options.file, line.number, cell.column};
    problems.push_back(std::move(p));
  }
};

std::vector<Cell> cut(std::string_view line, char separator) {
  std::vector<Cell> cells;
  size_t i = 0;
  for (bool more = true; more;) {
    Cell cell;
    size_t start = i;
    std::string raw;
    bool in_quotes = false;
    for (; i < line.size() && (in_quotes || line[i] != separator); ++i) {
      if (line[i] == '"' && (in_quotes || base::trim(raw).empty())) {
        in_quotes = !in_quotes;
        cell.quoted = true;
      } else {
        raw += line[i];
      }
    }
    while (start < i && (line[start] == ' ' || line[start] == '\t')) ++start;
    cell.text = base::trim(raw);
    cell.column = static_cast<int>(base::code_points(line.substr(0, start))) + 1;
    cells.push_back(cell);
    more = i < line.size();
    ++i;
  }
  return cells;
}

void split_lines(Reader& r) {
  std::string_view text = r.text;
  if (base::starts_with(text, "\xEF\xBB\xBF")) text.remove_prefix(3);
  int number = 0;
  bool header = true;
  while (!text.empty()) {
    const size_t end = text.find('\n');
    std::string_view line = text.substr(0, end);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    ++number;
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    const std::string_view bare = base::trim(line);
    if (bare.empty() || bare.front() == '#') continue;
    if (header) {
      for (char s : {'\t', ';', ','})
        if (line.find(s) != std::string_view::npos) {
          r.table.separator = s;
          break;
        }
      header = false;
    }
    r.lines.push_back({number, cut(line, r.table.separator)});
  }
}

/// Lower case without blanks, dots, hyphens and underscores; German letters to their two-letter forms, diameter sign to
/// "d".
std::string plain(std::string_view s) {
  static const std::pair<const char*, const char*> letters[] = {{"ä", "ae"}, {"Ä", "ae"}, {"ö", "oe"}, {"Ö", "oe"},
                                                                {"ü", "ue"}, {"Ü", "ue"}, {"ß", "ss"}, {"Ø", "d"},
                                                                {"ø", "d"},  {"⌀", "d"}};
  std::string t(s);
  for (const auto& [from, to] : letters)
    for (size_t at = t.find(from); at != std::string::npos; at = t.find(from))
      t.replace(at, std::string_view(from).size(), to);
  std::string out;
  for (char c : base::lower(t))
    if (c != ' ' && c != '.' && c != '-' && c != '_' && c != '#' && c != ',' && c != '/') out += c;
  return out;
}

const std::vector<std::string>& label_words() {
  static const std::vector<std::string> words = {"no",   "nr",     "num",   "number", "casting", "gussteil",
                                                 "teil", "stueck", "lfdnr", "id",     "piece",   ""};
  return words;
}
const std::vector<std::string>& note_words() {
  static const std::vector<std::string> words = {"note",      "notes", "remark", "remarks", "comment",
                                                 "bemerkung", "notiz", "date",   "datum"};
  return words;
}
bool among(const std::vector<std::string>& words, const std::string& w) {
  return std::find(words.begin(), words.end(), w) != words.end();
}

/// Unit symbol for a header's tail, or empty.
std::string length_unit(std::string_view tail) {
  const std::string t = base::lower(base::trim(tail));
  if (t.empty()) return {};
  for (const char* u : {"mm", "cm", "in", "inch", "thou", "µm", "um", "μm", "m", "\""}) {
    if (t != u) continue;
    if (t == "inch" || t == "\"") return "in";
    return t == "um" || t == "μm" ? "µm" : t;
  }
  return {};
}

/// Parts a header into name and unit: "thick [mm]", "thick (mm)", "thick mm", "thick_mm", "thick, mm".
void part_header(const std::string& header, std::string& name, std::string& unit, std::string& strange) {
  name = header;
  unit.clear();
  const size_t open = header.find_first_of("[(");
  if (open != std::string::npos) {
    const size_t close = header.find_first_of("])", open);
    const std::string inner =
        header.substr(open + 1, close == std::string::npos ? std::string::npos : close - open - 1);
    name = header.substr(0, open);
    unit = length_unit(inner);
    if (unit.empty()) strange = inner;
    return;
  }
  const size_t at = header.find_last_of(" _,/");
  if (at == std::string::npos) return;
  const std::string tail = length_unit(header.substr(at + 1));
  if (tail.empty()) return;
  unit = tail;
  name = header.substr(0, at);
}

double metres_per(const std::string& unit) { return unit::in_unit(1, unit) > 0 ? 1 / unit::in_unit(1, unit) : NAN; }

struct Plan {  // what each cell of a row is
  enum class Use { label, value, text, skip } use = Use::skip;
  size_t column = 0;  // of options
};

struct Style {
  bool comma = false;     // a comma that can only be a decimal one
  bool point = false;     // a number with a decimal point
  bool doubtful = false;  // only commas that could part thousands
  const Line* line = nullptr;
  const Cell* cell = nullptr;
};

Style style_of(const Reader& r, const std::vector<Plan>& plan) {
  Style s;
  for (size_t k = 1; k < r.lines.size(); ++k)
    for (size_t i = 0; i < std::min(plan.size(), r.lines[k].cells.size()); ++i) {
      if (plan[i].use != Plan::Use::value) continue;
      const Cell& c = r.lines[k].cells[i];
      const size_t comma = c.text.find(',');
      if (c.text.find('.') != std::string::npos) s.point = true;
      if (comma == std::string::npos) continue;
      const size_t after = c.text.size() - comma - 1;
      const std::string_view before = std::string_view(c.text).substr(0, comma);
      const bool zero = before == "0" || before == "-0" || before == "+0" || before.empty();
      if (after != 3 || zero) {
        s.comma = true;
      } else {
        s.doubtful = true;
        if (s.line == nullptr) {
          s.line = &r.lines[k];
          s.cell = &c;
        }
      }
    }
  return s;
}

std::optional<double> number(const std::string& cell, bool decimal_comma) {
  std::string t = cell;
  if (decimal_comma) {
    if (t.find('.') != std::string::npos || std::count(t.begin(), t.end(), ',') > 1) return std::nullopt;
    std::replace(t.begin(), t.end(), ',', '.');
  }
  if (t.find('/') != std::string::npos) {  // as a tape in inches is read: 6-5/16, -1/32
    const auto q = unit::parse(t + " m", unit::Kind::length);
    return q.ok() ? std::optional<double>(q->si) : std::nullopt;
  }
  return base::to_double(t);
}

/// A length as the table's reader thinks: inches beside inches.
std::string as_in_table(double si, const std::string& unit) {
  unit::Style style;
  if (unit == "in" || unit == "thou") style.system = unit::Style::System::inch;
  return unit::print(si, unit::Kind::length, style);
}

/// "no unit; 97.5 where 97.1 mm is expected looks like mm", or nothing when no size is known.
std::string guess(const Reader& r, const std::vector<Plan>& plan, const Style& style) {
  for (size_t i = 0; i < plan.size(); ++i) {
    if (plan[i].use != Plan::Use::value) continue;
    const double expected = r.options.columns[plan[i].column].expected;
    if (!(expected > 0)) continue;
    for (size_t k = 1; k < r.lines.size(); ++k) {
      if (i >= r.lines[k].cells.size()) continue;
      const auto x = number(r.lines[k].cells[i].text, style.comma);
      if (!x || !(*x > 0)) continue;
      for (const char* u : {"mm", "in", "cm"})
        if (std::fabs(*x * metres_per(u) / expected - 1) < 0.15)
          return r.lines[k].cells[i].text + " next to a size of " + as_in_table(expected, u) + " looks like " + u;
    }
  }
  return {};
}

std::vector<Plan> read_header(Reader& r, std::vector<bool>& unitless) {
  std::vector<Plan> plan;
  std::vector<std::string> known;
  for (const TapeColumn& c : r.options.columns) known.push_back(c.name);
  const Line& header = r.lines.front();
  for (size_t i = 0; i < header.cells.size(); ++i) {
    const Cell& cell = header.cells[i];
    std::string name, unit, strange;
    part_header(cell.text, name, unit, strange);
    const std::string word = plain(name);
    Plan p;
    size_t found = r.options.columns.size();
    for (size_t k = 0; k < r.options.columns.size(); ++k)
      if (plain(r.options.columns[k].name) == word || among(r.options.columns[k].spellings, word)) found = k;
    if (found < r.options.columns.size()) {
      const std::string& column = r.options.columns[found].name;
      if (r.table.column(column) >= 0) r.problem(header, cell, "this column stands twice", cell.text);
      if (r.options.columns[found].text) {
        r.table.text_columns.push_back(column);
        plan.push_back({Plan::Use::text, found});
        continue;
      }
      if (!strange.empty())
        r.problem(header, cell, "unknown unit of length in the header", strange, "mm, in, cm, m, thou or µm");
      if (unit.empty()) unit = r.options.unit;
      p = {Plan::Use::value, found};
      unitless.push_back(unit.empty() && strange.empty());
      r.table.columns.push_back(column);
      r.table.units.push_back(unit);
    } else if (i == 0 && among(label_words(), word)) {
      p.use = Plan::Use::label;
    } else if (!among(note_words(), word)) {
      r.problem(header, cell, "unknown column", cell.text, base::join(known, ", "), base::nearest(name, known));
    }
    plan.push_back(p);
  }
  for (const TapeColumn& c : r.options.columns)
    if (c.required && r.table.column(c.name) < 0 && !among(r.table.text_columns, c.name))
      r.problem(header, header.cells.front(), "a column is missing", "", c.name);
  if (r.table.columns.empty() && r.problems.empty())
    r.problem(header, header.cells.front(), "the header names no column that is known", "", base::join(known, ", "));
  return plan;
}

void read_rows(Reader& r, const std::vector<Plan>& plan, bool units_known) {
  std::vector<std::string> labels;
  for (size_t k = 1; k < r.lines.size(); ++k) {
    const Line& line = r.lines[k];
    if (line.cells.size() != plan.size()) {
      const bool commas = r.table.separator == ',' && line.cells.size() > plan.size();
      r.problem(line, line.cells.front(), "the row has another number of cells than the header",
                std::to_string(line.cells.size()),
                std::to_string(plan.size()) + (commas ? " (with decimal commas, part the cells by semicolons)" : ""));
      continue;
    }
    TapeRow row;
    row.line = line.number;
    row.casting = std::to_string(r.table.rows.size() + 1);
    size_t value = 0;
    for (size_t i = 0; i < plan.size(); ++i) {
      const Cell& cell = line.cells[i];
      if (plan[i].use == Plan::Use::label) {
        row.casting = cell.text;
        if (cell.text.empty()) r.problem(line, cell, "the casting has no number");
        else if (!r.options.several_rows_per_casting && among(labels, cell.text))
          r.problem(line, cell, "the same casting stands twice", cell.text);
        labels.push_back(cell.text);
      }
      if (plan[i].use == Plan::Use::text) {
        if (cell.text.empty())
          r.problem(line, cell, "empty cell in column \"" + r.options.columns[plan[i].column].name + "\"");
        row.texts.push_back(cell.text);
      }
      if (plan[i].use != Plan::Use::value) continue;
      const TapeColumn& column = r.options.columns[plan[i].column];
      const std::string& unit = r.table.units[value++];
      row.values.push_back(0);
      if (cell.text.empty()) {
        r.problem(line, cell, "empty cell in column \"" + column.name + "\"", "",
                  "the measured value, or leave the casting out");
        continue;
      }
      const auto x = number(cell.text, r.table.decimal_comma);
      if (!x) {
        r.problem(line, cell, "no number in column \"" + column.name + "\"", cell.text,
                  r.table.decimal_comma ? "a number with a decimal comma, as elsewhere in this table"
                                        : "a number, such as 6.31 or 6-5/16");
        continue;
      }
      if (!units_known) continue;
      const double si = *x * metres_per(unit);
      row.values.back() = si;
      if (!(si >= 0) && !column.may_be_negative)
        r.problem(line, cell, "\"" + column.name + "\" cannot be negative", cell.text);
      else if (!(std::fabs(si) <= 10))
        r.problem(line, cell, "\"" + column.name + "\" is larger than 10 m", cell.text + " " + unit);
      else if (column.expected > 0 && !(si > 0.5 * column.expected && si < 2 * column.expected))
        r.problem(line, cell, "\"" + column.name + "\" is far off: a slip, or another unit?", cell.text + " " + unit,
                  "about " + as_in_table(column.expected, unit));
    }
    r.table.rows.push_back(std::move(row));
  }
  if (r.lines.size() < 2)
    r.problem(r.lines.front(), r.lines.front().cells.front(), "the table has a header and no castings");
}

}  // namespace

std::vector<TapeColumn> usual_columns() {
  return {{"thick", {"thickness", "t", "height", "dicke", "staerke", "hoehe"}, 0, false, false},
          {"width", {"w", "breite", "b"}, 0, false, false},
          {"length", {"l", "long", "laenge"}, 0, false, false},
          {"coreD", {"cored", "corediameter", "coredia", "kernd", "kerndurchmesser", "bored", "bore"}, 0, false, false},
          {"coreX", {"coreshiftx", "kernx", "kernversatzx"}, 0, true, false},
          {"coreY", {"coreshifty", "kerny", "kernversatzy"}, 0, true, false},
          {"floorZ", {"floor", "floorheight", "boden", "bodenz", "bodenhoehe"}, 0, true, false},
          {"warp", {"bow", "verzug", "durchbiegung", "ebenheit"}, 0, false, false}};
}

int TapeTable::column(std::string_view name) const {
  for (size_t i = 0; i < columns.size(); ++i)
    if (columns[i] == name) return static_cast<int>(i);
  return -1;
}

Outcome<TapeTable> read_tape(std::string_view text, const TapeOptions& options) {
  Reader r{text, options, {}, {}, {}};
  const auto whole = [&](std::string what) {
    Problem p = bad(std::move(what));
    p.where = {options.file, 1, 1};
    return p;
  };
  if (!base::valid_utf8(text)) return whole("the table is not UTF-8 text; save it as UTF-8");
  split_lines(r);
  if (r.lines.empty()) return whole("the table is empty");
  if (!options.unit.empty() && length_unit(options.unit).empty())
    return bad("unknown unit of length for the table", options.unit, "mm, in, cm, m, thou or µm");
  std::vector<bool> unitless;
  const std::vector<Plan> plan = read_header(r, unitless);
  const Style style = style_of(r, plan);
  r.table.decimal_comma = style.comma;
  if (style.comma && style.point) {
    r.problem(r.lines.front(), r.lines.front().cells.front(), "the table mixes decimal points and decimal commas", "",
              "one of them");
  } else if (style.doubtful && !style.comma) {
    r.problem(*style.line, *style.cell, "the comma could part thousands or decimals", style.cell->text,
              style.point ? "decimal points and no other commas" : "a decimal point");
  }
  const bool no_unit = std::find(unitless.begin(), unitless.end(), true) != unitless.end();
  if (no_unit) {
    const std::string hint = guess(r, plan, style);
    size_t value = 0;
    for (size_t i = 0; i < plan.size(); ++i) {
      if (plan[i].use != Plan::Use::value) continue;
      if (!unitless[value++]) continue;
      const Cell& cell = r.lines.front().cells[i];
      r.problem(r.lines.front(), cell, "no unit" + (hint.empty() ? "" : "; " + hint), cell.text,
                "\"" + cell.text + (hint.size() > 3 && hint.compare(hint.size() - 3, 3, " in") == 0 ? " in" : " mm") +
                    "\" in the header, or the table's unit in the plan");
      break;
    }
  }
  read_rows(r, plan, !no_unit);
  std::stable_sort(r.problems.begin(), r.problems.end(), [](const Problem& a, const Problem& b) {
    return a.where.line != b.where.line ? a.where.line < b.where.line : a.where.column < b.where.column;
  });
  if (!r.problems.empty()) return std::move(r.problems);
  return std::move(r.table);
}

}  // namespace fettle::casting
