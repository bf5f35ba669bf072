#include "begin/lists/cells.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>

#include "base/text.h"
#include "begin/features.h"

namespace fettle::begin {

namespace {

/// The text with these lines emptied, so that all others keep their numbers.
std::string without_lines(std::string_view text, const std::vector<int>& lines) {
  std::string out;
  int number = 0;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    ++number;
    if (std::find(lines.begin(), lines.end(), number) == lines.end()) out += text.substr(0, end);
    out += '\n';
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
  }
  return out;
}

/// Cells of a line that are not empty; quotes are not looked into, which is enough to tell a title from a header.
std::size_t filled(std::string_view line, char separator) {
  std::size_t out = 0;
  for (const std::string& cell : base::split(std::string(line), separator)) out += base::trim(cell).empty() ? 0 : 1;
  return out;
}
/// What spreadsheets put round a list, taken away, so that every other line and column keeps its number: a first line
/// that only names the separator, a title over the header, empty columns at the end, empty lines of separators.
std::string plain(std::string_view text) {
  std::vector<std::string> lines = base::split(std::string(text), '\n');
  const std::string mark = "\xef\xbb\xbf";
  const auto body = [&](std::size_t i) {
    std::string_view s = lines[i];
    if (i == 0 && base::starts_with(s, mark)) s.remove_prefix(mark.size());
    return base::trim(s);
  };
  std::size_t head = 0;
  const auto next = [&](std::size_t i) {
    while (i < lines.size() && body(i).empty()) ++i;
    return i;
  };
  head = next(0);
  if (head < lines.size() && base::lower(body(head)).starts_with("sep=")) lines[head].clear(), head = next(head);
  const std::size_t below = head < lines.size() ? next(head + 1) : lines.size();
  if (below >= lines.size()) return base::join(lines, "\n");
  char separator = ',';
  for (const char c : {';', '\t'})
    if (body(below).find(c) != std::string_view::npos) separator = c;
  if (filled(body(head), separator) == 1 && filled(body(below), separator) > 1) lines[head].clear(), head = below;
  const auto ends = [&](std::string_view s) {
    const std::size_t last = s.find_last_not_of(std::string("\r ") + separator);
    const std::string_view tail = s.substr(last == std::string_view::npos ? 0 : last + 1);
    return static_cast<std::size_t>(std::count(tail.begin(), tail.end(), separator));
  };
  const std::size_t spare = ends(lines[head]);
  for (std::size_t i = head; i < lines.size(); ++i) {
    const std::size_t mine = ends(lines[i]);
    if (mine > 0 && filled(body(i), separator) == 0) lines[i].clear();
    else
      for (std::size_t k = 0; k < std::min(spare, mine); ++k) lines[i].resize(lines[i].rfind(separator));
  }
  return base::join(lines, "\n");
}

/// What a cell's number is without the sign of a diameter before it.
std::string bare(std::string cell) {
  for (const std::string_view sign : {"Ø", "ø", "⌀"})
    if (base::starts_with(cell, sign)) cell.erase(0, sign.size());
  return std::string(base::trim(cell));
}

bool only_digits(std::string_view s) {
  return !s.empty() && s.find_first_not_of("+-.,0123456789/ ") == std::string_view::npos;
}

/// A comma that can only be a decimal one: not three digits behind it, or a zero before it.
bool decimal_comma(const std::string& s) {
  const std::size_t comma = s.find(',');
  if (comma == std::string::npos) return false;
  std::size_t behind = 0;
  while (comma + 1 + behind < s.size() && std::isdigit(static_cast<unsigned char>(s[comma + 1 + behind])) != 0)
    ++behind;
  return behind != 3 || comma == 0 || (s[comma - 1] == '0' && comma == 1);
}

/// The text with the unit that it probably has; said, never taken.
std::string guess_of(const std::string& number, unit::Kind kind) {
  std::string point = number;
  std::replace(point.begin(), point.end(), ',', '.');
  if (kind == unit::Kind::length) {
    const auto x = base::to_double(point);
    const bool inch = point.find('/') != std::string::npos || (x && *x < 1.5 && point.size() >= 5);
    return number + (inch ? " in" : " mm");
  }
  if (kind == unit::Kind::time) return number + " min";
  if (kind == unit::Kind::money) return number + " EUR";
  return {};
}

}  // namespace

std::string folded(std::string_view word) {
  static const std::vector<std::pair<std::string_view, std::string_view>> letters = {
      {"ä", "ae"}, {"ö", "oe"}, {"ü", "ue"},  {"Ä", "ae"},  {"Ö", "oe"},
      {"Ü", "ue"}, {"ß", "ss"}, {"Ø", "dia"}, {"ø", "dia"}, {"⌀", "dia"}};
  std::string out;
  while (!word.empty()) {
    const auto it =
        std::find_if(letters.begin(), letters.end(), [&](const auto& l) { return base::starts_with(word, l.first); });
    if (it != letters.end()) {
      out += it->second;
      word.remove_prefix(it->first.size());
      continue;
    }
    if (std::string_view(" .-_#:/").find(word.front()) == std::string_view::npos) out += base::lower(word.substr(0, 1));
    word.remove_prefix(1);
  }
  return out;
}

ListTable::ListTable(std::string_view typed, const std::string& file, const std::vector<ListColumn>& known) {
  const std::string text = plain(typed);
  auto cut = study::cut_table(text, file);
  if (!cut.ok()) {
    problems = cut.problems();
    std::vector<int> wrong;
    for (const Problem& p : problems)
      if (base::starts_with(p.what, "the row has")) wrong.push_back(p.where.line);
    if (wrong.empty() || wrong.size() != problems.size()) return;
    cut = study::cut_table(without_lines(text, wrong), file);
    if (!cut.ok()) return;  // only those rows: their problems are all there is
  }
  table_ = std::move(cut.value());
  find_columns(known);
  readable_ = true;
}

void ListTable::find_columns(const std::vector<ListColumn>& known) {
  std::vector<std::string> words;
  for (const ListColumn& k : known) words.insert(words.end(), k.words.begin(), k.words.end());
  for (std::size_t i = 0; i < table_.columns.size(); ++i) {
    const study::ReadingColumn& c = table_.columns[i];
    const std::string name = folded(c.name);
    const auto it = std::find_if(known.begin(), known.end(), [&](const ListColumn& k) {
      return std::find(k.words.begin(), k.words.end(), name) != k.words.end();
    });
    const Where place{table_.file, table_.header_line, c.column};
    if (it == known.end()) {
      const std::string near = base::nearest(name, words);
      notes.push_back(say({Fault::bad_input, place, "column not known here, not used", c.header, {}, near}));
    } else if (const auto [at, fresh] = at_.emplace(it->key, i); !fresh) {
      problem(place, bad("two columns say the same", c.header, "one of it and " + table_.columns[at->second].header));
    } else {
      kind_[it->key] = it->kind;
    }
  }
}

std::string ListTable::text(const study::ReadingRow& row, const std::string& key) const {
  const auto it = at_.find(key);
  const std::string cell = it == at_.end() ? "" : std::string(base::trim(row.cells[it->second].text));
  return cell == "-" || cell == "–" ? "" : cell;
}

Where ListTable::where(const study::ReadingRow& row, const std::string& key) const {
  const auto it = at_.find(key);
  return {table_.file, row.line, it == at_.end() ? 1 : row.cells[it->second].column};
}

const study::ReadingColumn* ListTable::column(const std::string& key) const {
  const auto it = at_.find(key);
  return it == at_.end() ? nullptr : &table_.columns[it->second];
}

/// With a decimal point where the column shows that commas part decimals.
std::string ListTable::point(const std::string& cell, std::size_t column) const {
  const bool commas = std::any_of(table_.rows.begin(), table_.rows.end(), [&](const study::ReadingRow& r) {
    return decimal_comma(bare(r.cells[column].text));
  });
  std::string out = cell;
  if (commas && out.find('.') == std::string::npos) std::replace(out.begin(), out.end(), ',', '.');
  return out;
}

std::optional<plan::Number> ListTable::number(const study::ReadingRow& row, const std::string& key, bool zero_too,
                                              const std::string& unit) {
  const std::string typed = text(row, key);
  if (typed.empty()) return {};
  const unit::Kind kind = kind_.at(key);
  const study::ReadingColumn& c = *column(key);
  std::string value = point(bare(typed), at_.at(key));
  if (only_digits(value)) {
    const std::string with = c.unit.empty() ? unit : c.unit;
    if (with.empty()) {
      problem(where(row, key), bad(fmt::format("no unit in column \"{}\"", c.header), typed,
                                   "the unit in the cell, or in the header in brackets", guess_of(typed, kind)));
      return {};
    }
    value += " " + with;
  }
  const auto q = unit::parse(value, kind);
  if (!q.ok()) {
    Problem p = q.problem();
    p.found = typed;
    problem(where(row, key), p);
    return {};
  }
  if (q->si < 0 || (q->si == 0 && !zero_too)) {
    problem(where(row, key),
            bad(fmt::format("out of range in column \"{}\"", c.header), typed, zero_too ? "0 or more" : "more than 0"));
    return {};
  }
  plan::Number n;
  give(n, kind, value);
  return n;
}

std::optional<int> ListTable::whole(const study::ReadingRow& row, const std::string& key, int low, int high) {
  const std::string typed = text(row, key);
  if (typed.empty()) return {};
  int x = 0;
  const auto [end, error] = std::from_chars(typed.data(), typed.data() + typed.size(), x);
  if (error == std::errc() && end == typed.data() + typed.size() && x >= low && x <= high) return x;
  problem(where(row, key), bad(fmt::format("no whole number in column \"{}\"", column(key)->header), typed,
                               fmt::format("{} to {}", low, high)));
  return {};
}

void ListTable::problem(const Where& where, Problem p) {
  p.where = where;
  problems.push_back(std::move(p));
}

Problems by_place(Problems problems) {
  std::stable_sort(problems.begin(), problems.end(), [](const Problem& a, const Problem& b) {
    return a.where.line != b.where.line ? a.where.line < b.where.line : a.where.column < b.where.column;
  });
  return problems;
}

}  // namespace fettle::begin
