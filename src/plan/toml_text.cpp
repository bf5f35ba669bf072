#include "plan/toml_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <set>

#include "base/text.h"

namespace fettle::plan {

namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
constexpr int deepest = 32;             // dotted names; a plan needs three
constexpr std::size_t most_lines = 50;  // syntax problems told in one go

std::string_view line_at(std::string_view text, int line) {
  const std::size_t from = byte_at(text, line, 1);
  std::string_view rest = text.substr(from);
  rest = rest.substr(0, rest.find('\n'));
  if (!rest.empty() && rest.back() == '\r') rest.remove_suffix(1);
  return rest;
}

Problem at(int line, int column, Problem p) {
  p.where.line = line;
  p.where.column = column;
  return p;
}

/// The first byte that is no text, as a problem.
bool text_problem(const std::string& text, Problems& problems) {
  int line = 1;
  std::size_t from = 0;
  while (from < text.size()) {
    std::size_t end = text.find('\n', from);
    if (end == std::string::npos) end = text.size();
    const std::string_view l = std::string_view(text).substr(from, end - from);
    const std::size_t zero = l.find('\0');
    if (zero != std::string_view::npos && base::valid_utf8(l.substr(0, zero))) {
      problems.push_back(at(line, static_cast<int>(base::code_points(l.substr(0, zero))) + 1,
                            bad("a zero byte: this is no text file", {}, "a plan in TOML, a text in UTF-8")));
      return true;
    }
    if (!base::valid_utf8(l)) {
      std::size_t good = 0;  // longest good head, by whole code points
      for (std::size_t k = 1; k <= l.size(); ++k)
        if (base::valid_utf8(l.substr(good, k - good))) good = k;
        else if (k - good >= 4) break;
      problems.push_back(at(line, static_cast<int>(base::code_points(l.substr(0, good))) + 1,
                            bad("a character that is not UTF-8",
                                fmt::format("byte {:02x}", static_cast<unsigned>(static_cast<unsigned char>(l[good]))),
                                "the file saved as UTF-8")));
      return true;
    }
    from = end + 1;
    ++line;
  }
  return false;
}

std::string first_words(std::string_view s) {
  const std::size_t end = base::byte_of_code_point(s, 40);
  return std::string(s.substr(0, end)) + (end < s.size() ? "..." : "");
}

/// Walks over a TOML text without reading it: what is a string, a comment, a value, the start of a table's name. It
/// looks for the two things the parser must not see: names with dozens of dots (it recurses into them) and a table's
/// name that starts with no character of a name (it takes for granted that this cannot be).
class Walk {
 public:
  explicit Walk(std::string_view text) : text_(text) {}

  /// The first such place, if any.
  std::optional<Problem> look() {
    for (i_ = 0; i_ < text_.size(); ++i_) {
      const char c = text_[i_];
      if (c == '\n') ++line_;
      if (in_ != In::plain) inside(c);
      else if (auto p = plain(c)) return p;
    }
    return {};
  }

 private:
  enum class In { plain, basic, literal, long_basic, long_literal, comment };

  bool three() const { return text_.substr(i_, 3) == R"(""")" || text_.substr(i_, 3) == "'''"; }

  std::optional<Problem> plain(char c) {
    if (c == '[' && !value_ && line_starts_here()) return table_name();
    if (c == '=') value_ = true;
    if (value_ && (c == '[' || c == '{')) ++depth_;
    if (depth_ > 0 && (c == ']' || c == '}')) --depth_;
    if (c == '\n' && depth_ == 0) value_ = false;
    if (c == '.') ++dots_;
    else if (std::string_view("=,{}[]\n").find(c) != std::string_view::npos) dots_ = 0;
    if (dots_ > deepest) return at(line_, 1, bad("a name with too many dots", {}, "names such as [casting.measured]"));
    if (c == '#') in_ = In::comment;
    if (c != '"' && c != '\'') return {};
    const bool is_long = three();
    in_ = c == '"' ? (is_long ? In::long_basic : In::basic) : is_long ? In::long_literal : In::literal;
    if (is_long) i_ += 2;
    return {};
  }

  void inside(char c) {
    const bool basic = in_ == In::basic || in_ == In::long_basic;
    const bool is_long = in_ == In::long_basic || in_ == In::long_literal;
    const char quote = basic ? '"' : '\'';
    if (in_ == In::comment) {
      if (c == '\n') leave_line();
    } else if (basic && c == '\\' && i_ + 1 < text_.size() && text_[i_ + 1] != '\n') {
      ++i_;
    } else if (c == quote && (!is_long || three())) {
      in_ = In::plain;
      if (is_long) i_ += 2;
    } else if (!is_long && c == '\n') {
      leave_line();
    }
  }

  void leave_line() {
    in_ = In::plain;
    dots_ = 0;
    if (depth_ == 0) value_ = false;
  }

  bool line_starts_here() const {
    std::size_t k = i_;
    while (k > 0 && (text_[k - 1] == ' ' || text_[k - 1] == '\t')) --k;
    return k == 0 || text_[k - 1] == '\n' || text_.substr(0, k) == byte_order_mark;
  }

  std::optional<Problem> table_name() {
    const auto blanks = [&](std::size_t k) {
      while (k < text_.size() && (text_[k] == ' ' || text_[k] == '\t')) ++k;
      return k;
    };
    std::size_t k = blanks(i_ + 1);
    if (k < text_.size() && text_[k] == '[') k = blanks(k + 1);
    const char c = k < text_.size() ? text_[k] : '\n';
    const bool name = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                      std::string_view("_-\"']").find(c) != std::string_view::npos;
    i_ = k - 1;  // goes on at the name; its dots count
    if (name) return {};
    const std::string_view line = line_at(text_, line_), before = line.substr(0, k - byte_at(text_, line_, 1));
    return at(line_, static_cast<int>(base::code_points(before)) + 1,
              bad("no name of a table here", first_words(base::trim(line)), "[name] or [[name]] alone on its line"));
  }

  std::string_view text_;
  std::size_t i_ = 0;
  In in_ = In::plain;
  bool value_ = false;  ///< behind a =, up to the end of the value
  int depth_ = 0, dots_ = 0, line_ = 1;
};

bool has(std::string_view s, std::string_view part) { return s.find(part) != std::string_view::npos; }

/// The value as typed, without a comment behind it.
std::string_view bare_value(std::string_view s) { return base::trim(s.substr(0, s.find('#'))); }

struct Syntax {
  Problem problem;
  bool line_only = false;  ///< the rest of the file can be read without this line
};

Syntax header_problem(std::string_view line, const std::string& said, int number, int column,
                      const ListTable& is_list) {
  std::string_view inner = base::trim(line);
  while (!inner.empty() && inner.front() == '[') inner.remove_prefix(1);
  const std::string name(base::trim(inner.substr(0, inner.find(']'))));
  if (has(said, "cannot redefine existing table") || has(said, "as table")) {
    if (is_list(name))
      return {at(number, column,
                 bad(fmt::format("[{}] where [[{}]] is meant: there may be several", name, name),
                     fmt::format("[{}]", name), "double brackets", fmt::format("[[{}]]", name))),
              false};
    return {at(number, column,
               bad(fmt::format("[{}] stands twice", name), {}, fmt::format("one [{}] with all its keys", name))),
            false};
  }
  if (has(said, "as array-of-tables"))
    return {at(number, column,
               bad(fmt::format("[[{0}]] after {0} was given in another form", name), {},
                   fmt::format("only one form: {}", is_list(name) ? fmt::format("[[{}]] each time", name)
                                                                  : fmt::format("[{}] once", name)))),
            false};
  return {at(number, column,
             bad("the name of a table is not closed or not a name", first_words(base::trim(line)),
                 "[name] or [[name]] alone on its line")),
          false};
}

Syntax value_problem(std::string_view line, std::size_t equals, int number, int column, const std::string& said) {
  const std::string key(base::trim(line.substr(0, equals)));
  const std::string_view typed = base::trim(line.substr(equals + 1));
  const std::string value(bare_value(typed));
  const std::size_t from = static_cast<std::size_t>(typed.data() - line.data());
  const int start = static_cast<int>(base::code_points(line.substr(0, from))) + 1;
  const auto fault = [&](int c, Problem p) { return Syntax{at(number, c, std::move(p)), true}; };
  if (value.empty())
    return fault(column, bad(fmt::format("no value after {} =", key), {}, fmt::format("{} = \"...\"", key)));
  const char first = value.front();
  if (base::starts_with(value, "\xE2\x80\x9C") || base::starts_with(value, "\xE2\x80\x9E") ||
      base::starts_with(value, "\xE2\x80\x98"))
    return fault(start, bad("curly quotation marks, as a word processor makes them", first_words(value),
                            "straight quotation marks: \"...\""));
  const std::string small = base::lower(value);
  for (const std::string word : {"true", "false"})
    if (small == word) return fault(start, bad(fmt::format("{} is written small", word), value, word, word));
  if (small == "yes" || small == "no")
    return fault(start, bad("true or false is meant", value, "true or false", small == "yes" ? "true" : "false"));
  if (first == '"' || first == '\'')
    return fault(column, bad("something follows the closing quotation mark", first_words(value),
                             fmt::format("{} = \"...\" and nothing behind it but a # comment", key)));
  if (first == '[' || first == '{')
    return {at(number, column,
               bad("this list or inline table is not readable", first_words(value),
                   "[\"F1\", \"F2\"] or { reach = \"32 cm\" }")),
            false};
  if (value.find(',') != std::string::npos && value.find_first_not_of("0123456789,+-") == std::string::npos)
    return fault(start,
                 bad("a decimal comma outside quotation marks", value,
                     fmt::format("{} = \"{} mm\" when it has a unit; a plain number has a decimal point", key, value)));
  if (has(said, "not representable"))
    return fault(start, bad("a number too large to use", first_words(value), "a smaller number"));
  return fault(start, bad("words or units without quotation marks", first_words(value),
                          fmt::format("{} = \"{}\"", key, first_words(value))));
}

Syntax syntax_problem(std::string_view text, const toml::parse_error& e, const ListTable& is_list) {
  const int number = static_cast<int>(e.source().begin.line), column = static_cast<int>(e.source().begin.column);
  const std::string said(e.description());
  const std::string_view line = line_at(text, number);
  const std::string_view body = base::trim(line);
  if (has(said, "parsing table header") || (!body.empty() && body.front() == '[' && has(said, "redefine")))
    return header_problem(line, said, number, column, is_list);
  if (has(said, "nested value depth"))
    return {at(number, column, bad("lists nested too deep", {}, "no list inside a list")), false};
  const std::size_t equals = line.find('=');
  if (has(said, "control character")) {
    const std::size_t byte = byte_at(line, 1, column);
    if (byte >= line.size())
      return {
          at(number, column, bad("a text is not closed on its line", first_words(body), "a quotation mark at its end")),
          true};
    return {at(number, column, bad("a control character inside a text", {}, "plain characters")), true};
  }
  if (has(said, "escape"))
    return {at(number, column,
               bad("a backslash in a text means something special", first_words(body),
                   "a slash in paths (models/part.step), or two backslashes")),
            true};
  if (has(said, "parsing array") || has(said, "closing ']'"))
    return {at(number, column,
               bad("a list is not closed, or a comma is missing in it", first_words(body), "[\"F1\", \"F2\"]")),
            false};
  if (has(said, "inline table"))
    return {at(number, column,
               bad("an inline table is not closed, or a comma is missing in it", first_words(body),
                   "{ reach = \"32 cm\", height = \"90 cm\" } on one line")),
            false};
  if (has(said, "redefine")) {
    const std::string key(base::trim(line.substr(0, equals)));
    const int start =
        static_cast<int>(base::code_points(line.substr(0, static_cast<std::size_t>(body.data() - line.data())))) + 1;
    return {at(number, start, bad(fmt::format("{} stands twice in this table", key), key, "each key once")), true};
  }
  if (equals != std::string_view::npos && column > static_cast<int>(base::code_points(line.substr(0, equals))))
    return value_problem(line, equals, number, column, said);
  if (has(said, "expected '='")) {
    const std::string_view key = line.substr(0, equals);
    if (equals == std::string_view::npos || has(key, ":"))
      return {at(number, column, bad("no = between key and value", first_words(body), "key = \"value\"")), true};
    std::string joined(base::trim(key));
    std::replace(joined.begin(), joined.end(), ' ', '_');
    return {at(number, column, bad("a key has no blanks", std::string(base::trim(key)), "one word", joined)), true};
  }
  return {at(number, column,
             bad("not readable as TOML", first_words(body), "key = \"value\", [table] or [[table]], one a line")),
          false};
}

void blank_line(std::string& text, int line) {
  const std::size_t from = byte_at(text, line, 1);
  std::size_t end = text.find('\n', from);
  if (end == std::string::npos) end = text.size();
  std::fill(text.begin() + static_cast<std::ptrdiff_t>(from), text.begin() + static_cast<std::ptrdiff_t>(end), ' ');
}

}  // namespace

std::size_t byte_at(std::string_view text, int line, int column) {
  std::size_t at = base::starts_with(text, byte_order_mark) ? byte_order_mark.size() : 0;
  for (int l = 1; l < line; ++l) {
    const std::size_t end = text.find('\n', at);
    if (end == std::string_view::npos) return text.size();
    at = end + 1;
  }
  if (column <= 1) return at;
  const std::size_t end = text.find('\n', at);
  const std::string_view rest = text.substr(at, end == std::string_view::npos ? std::string_view::npos : end + 1 - at);
  return at + base::byte_of_code_point(rest, static_cast<std::size_t>(column - 1));
}

Place place_inside(std::string_view text, const Place& place, int n) {
  if (place.line < 1 || n < 1) return place;
  std::size_t i = byte_at(text, place.line, place.column);
  const std::string_view quotes = text.substr(i, 3);
  const bool basic = base::starts_with(quotes, "\""), literal = base::starts_with(quotes, "'");
  if (!basic && !literal) return place;
  const bool is_long = quotes == "\"\"\"" || quotes == "'''";
  Place p = place;
  const auto step = [&] {  // over one code point of the file
    if (text[i] == '\n') {
      ++p.line;
      p.column = 1;
      ++i;
      return;
    }
    ++p.column;
    ++i;
    while (i < text.size() && (static_cast<unsigned char>(text[i]) & 0xC0U) == 0x80U) ++i;
  };
  for (int k = 0; k < (is_long ? 3 : 1); ++k) step();
  if (is_long && text.substr(i, 2) == "\r\n") step();
  if (is_long && i < text.size() && text[i] == '\n') step();
  for (int k = 1; k < n && i < text.size(); ++k) {
    if (basic && text[i] == '\\' && i + 1 < text.size()) {
      const char c = text[i + 1];
      const int width = c == 'u' ? 6 : c == 'U' ? 10 : 2;
      for (int s = 0; s < width && i < text.size(); ++s) step();
    } else {
      step();
    }
  }
  p.end_line = p.line;
  p.end_column = p.column + 1;
  return p;
}

Parsed parse_toml(const std::string& given, const ListTable& is_list, Problems& problems) {
  Parsed out;
  out.usable = !text_problem(given, problems);
  if (!out.usable) return out;
  std::string text = given;
  std::optional<Problem> end;  // from its line on nothing is given to the parser
  std::set<int> blanked;
  const std::size_t most = text.size() > (std::size_t{1} << 20U) ? 3 : most_lines;
  while (true) {
    if (auto p = Walk(text).look()) {
      end = std::move(p);
      text.resize(byte_at(text, end->where.line, 1));
    }
    try {
      out.table = toml::parse(std::string_view(text));
      out.usable = true;
    } catch (const toml::parse_error& e) {
      const Syntax s = syntax_problem(text, e, is_list);
      problems.push_back(s.problem);
      out.damaged = true;
      const int line = static_cast<int>(e.source().begin.line);
      out.usable = s.line_only && blanked.size() < most && blanked.insert(line).second;
      if (out.usable) {
        blank_line(text, line);
        continue;
      }
    }
    if (end) problems.push_back(*end);
    out.usable = out.usable && !end;
    return out;
  }
}

}  // namespace fettle::plan
