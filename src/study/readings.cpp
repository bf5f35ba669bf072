#include "study/readings.h"

#include <algorithm>
#include <cctype>

#include "base/text.h"

namespace fettle::study {

namespace {

/// Lower case without blanks, dots, hyphens and underscores: how headers are compared.
std::string plain(std::string_view s) {
  std::string out;
  for (char c : base::lower(s))
    if (std::string_view(" .-_#").find(c) == std::string_view::npos) out += c;
  return out;
}

std::vector<ReadingCell> cells_of(std::string_view line, char separator) {
  std::vector<ReadingCell> cells;
  std::size_t i = 0;
  while (true) {
    const std::size_t start = i;
    std::string cell;
    std::size_t blanks = start;
    while (blanks < line.size() && line[blanks] == ' ') ++blanks;
    if (blanks < line.size() && line[blanks] == '"') {
      for (i = blanks + 1; i < line.size() && !(line[i] == '"' && (i + 1 >= line.size() || line[i + 1] != '"')); ++i) {
        if (line[i] == '"') ++i;  // two quotes stand for one
        cell += line[i];
      }
      while (i < line.size() && line[i] != separator) ++i;
    } else {
      while (i < line.size() && line[i] != separator) ++i;
      cell = std::string(base::trim(line.substr(start, i - start)));
    }
    cells.push_back({cell, static_cast<int>(base::code_points(line.substr(0, std::min(blanks, line.size())))) + 1});
    if (i >= line.size()) return cells;
    ++i;
  }
}

bool is_unit(std::string_view word) {
  for (const unit::Unit& u : unit::units()) {
    if (word == u.symbol) return true;
    if (std::find(u.spellings.begin(), u.spellings.end(), word) != u.spellings.end()) return true;
  }
  return false;
}

ReadingColumn column_of(const ReadingCell& cell) {
  ReadingColumn c{cell.text, cell.text, {}, {}, cell.column};
  const std::size_t open = c.name.find_first_of("[(");
  if (open != std::string::npos) {
    const std::size_t close = c.name.find_first_of("])", open);
    const std::size_t n = close == std::string::npos ? close : close - open - 1;
    c.unit = std::string(base::trim(std::string_view(c.name).substr(open + 1, n)));
    c.name = std::string(base::trim(std::string_view(c.name).substr(0, open)));
  } else if (const std::size_t blank = c.name.find_last_of(" _"); blank != std::string::npos) {
    const std::string tail = c.name.substr(blank + 1);
    if (is_unit(tail)) {
      c.unit = tail;
      c.name = std::string(base::trim(std::string_view(c.name).substr(0, blank)));
    }
  }
  const std::size_t above = base::lower(c.name).find(" above ");
  if (above != std::string::npos) {
    c.above = std::string(base::trim(std::string_view(c.name).substr(above + 7)));
    c.name = std::string(base::trim(std::string_view(c.name).substr(0, above)));
    if (const std::size_t blank = c.above.find(' '); blank != std::string::npos && c.unit.empty()) {
      c.unit = std::string(base::trim(std::string_view(c.above).substr(blank + 1)));
      c.above = c.above.substr(0, blank);
    }
  }
  return c;
}

Problem at(const ReadingTable& t, int line, int column, Problem p) {
  p.where = {t.file, line, column};
  return p;
}

/// "F4 [mm]": how a header says its unit.
std::string example_header(const std::string& header, unit::Kind kind) {
  std::string_view symbol;
  for (const unit::Unit& u : unit::units())
    if (u.kind == kind && symbol.empty()) symbol = u.symbol;
  return "\"" + header + " [" + std::string(symbol) + "]\"";
}

/// How commas are meant in a column.
struct Commas {
  bool decimal = false, point = false;
  const ReadingRow* doubtful = nullptr;
};
Commas commas_of(const ReadingTable& t, std::size_t column) {
  Commas k;
  for (const ReadingRow& row : t.rows) {
    const std::string& s = row.cells[column].text;
    if (s.find('.') != std::string::npos) k.point = true;
    const std::size_t comma = s.find(',');
    if (comma == std::string::npos) continue;
    const std::string whole(base::trim(std::string_view(s).substr(0, comma)));
    const bool zero = whole.empty() || whole == "0" || whole == "-0" || whole == "+0" || whole == "-" || whole == "+";
    if (s.size() - comma - 1 != 3 || zero) k.decimal = true;
    else if (k.doubtful == nullptr) k.doubtful = &row;
  }
  return k;
}

}  // namespace

int ReadingTable::find(const std::vector<std::string>& words) const {
  for (std::size_t i = 0; i < columns.size(); ++i)
    if (std::find(words.begin(), words.end(), plain(columns[i].name)) != words.end()) return static_cast<int>(i);
  return -1;
}

Outcome<ReadingTable> cut_table(std::string_view text, const std::string& file) {
  ReadingTable t;
  t.file = file;
  if (!base::valid_utf8(text)) return at(t, 1, 1, bad("the table is not UTF-8 text; save it as UTF-8"));
  if (base::starts_with(text, "\xEF\xBB\xBF")) text.remove_prefix(3);
  Problems problems;
  int number = 0;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    std::string_view line = text.substr(0, end);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    ++number;
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    const std::string_view bare = base::trim(line);
    if (bare.empty() || bare.front() == '#') continue;
    if (t.columns.empty()) {
      t.header_line = number;
      for (char s : {'\t', ';', ','})
        if (line.find(s) != std::string_view::npos) {
          t.separator = s;
          break;
        }
      for (const ReadingCell& cell : cells_of(line, t.separator)) {
        t.columns.push_back(column_of(cell));
        const auto same = [&](const ReadingColumn& c) { return plain(c.name) == plain(t.columns.back().name); };
        if (std::count_if(t.columns.begin(), t.columns.end(), same) > 1)
          problems.push_back(at(t, number, cell.column, bad("this column stands twice", cell.text)));
      }
      continue;
    }
    ReadingRow row{number, cells_of(line, t.separator)};
    if (row.cells.size() != t.columns.size()) {
      const bool commas = t.separator == ',' && row.cells.size() > t.columns.size();
      problems.push_back(at(t, number, 1,
                            bad("the row has another number of cells than the header", std::to_string(row.cells.size()),
                                std::to_string(t.columns.size()) +
                                    (commas ? " (with decimal commas, part the cells by semicolons)" : ""))));
      continue;
    }
    t.rows.push_back(std::move(row));
  }
  if (t.columns.empty()) return at(t, 1, 1, bad("the table is empty"));
  if (problems.empty() && t.rows.empty())
    problems.push_back(at(t, 1, 1, bad("the table has a header and no readings")));
  if (!problems.empty()) return problems;
  return t;
}

Outcome<std::vector<double>> numbers_of(const ReadingTable& t, int column, unit::Kind kind,
                                        const std::string& fallback) {
  const auto k = static_cast<std::size_t>(column);
  const ReadingColumn& c = t.columns[k];
  const std::string unit = c.unit.empty() ? fallback : c.unit;
  const bool bare = kind == unit::Kind::number;
  const auto header = [&](Problem p) {
    p.where = {t.file, t.header_line, c.column};
    return p;
  };
  if (!bare && unit.empty())
    return header(bad("no unit", c.header,
                      example_header(c.header, kind) + " in the header, or `unit` beside the file's name in the plan"));
  const auto parse = [&](const std::string& number) { return unit::parse(bare ? number : number + " " + unit, kind); };
  if (const auto one = parse("1"); !one.ok())
    return header(
        bad("unknown unit of a " + std::string(unit::word(kind)), unit, one.problem().expected, one.problem().nearest));
  double above = 0;
  if (!c.above.empty()) {
    const auto q = parse(c.above);
    if (!q.ok()) return header(bad("no number after \"above\"", c.above, "such as \"above 22\""));
    above = q->si;
  }
  Problems problems;
  const Commas commas = commas_of(t, k);
  if (commas.decimal && commas.point)
    return header(bad("the column mixes decimal points and decimal commas", c.header, "one of them"));
  if (commas.doubtful != nullptr && !commas.decimal) {
    const ReadingCell& cell = commas.doubtful->cells[k];
    return at(t, commas.doubtful->line, cell.column,
              bad("the comma could part thousands or decimals", cell.text, "a decimal point"));
  }
  std::vector<double> out;
  for (const ReadingRow& row : t.rows) {
    const ReadingCell& cell = row.cells[k];
    std::string number = cell.text;
    std::replace(number.begin(), number.end(), ',', '.');
    const auto q = parse(number);
    if (number.empty())
      problems.push_back(
          at(t, row.line, cell.column, bad("empty cell in column \"" + c.header + "\"", "", "a reading")));
    else if (!q.ok() || !(number.find_first_not_of("+-.0123456789eE /") == std::string::npos))
      problems.push_back(
          at(t, row.line, cell.column, bad("no number in column \"" + c.header + "\"", cell.text, "a reading")));
    else out.push_back(above + q->si);
  }
  if (!problems.empty()) return problems;
  return out;
}

Outcome<std::vector<std::string>> words_of_column(const ReadingTable& t, int column) {
  std::vector<std::string> out;
  Problems problems;
  for (const ReadingRow& row : t.rows) {
    const ReadingCell& cell = row.cells[static_cast<std::size_t>(column)];
    if (cell.text.empty())
      problems.push_back(
          at(t, row.line, cell.column,
             bad("empty cell in column \"" + t.columns[static_cast<std::size_t>(column)].header + "\"")));
    out.push_back(cell.text);
  }
  if (!problems.empty()) return problems;
  return out;
}

}  // namespace fettle::study
