#include "program/scan.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>

#include "base/text.h"
#include "program/cursor.h"

namespace fettle::program {
namespace {

constexpr std::size_t longest_line = 256;
constexpr std::string_view letters_known = "abcdfghijklmpqrstxyz";

struct Keyword {
  const char* word;
  Flow flow;
};
// Longer words before those they begin with.
constexpr Keyword keywords[] = {{"endsub", Flow::end_sub},    {"endif", Flow::end_when},
                                {"endwhile", Flow::end_loop}, {"endrepeat", Flow::end_repeat},
                                {"elseif", Flow::or_when},    {"else", Flow::otherwise},
                                {"sub", Flow::sub},           {"call", Flow::call},
                                {"if", Flow::when},           {"while", Flow::loop},
                                {"do", Flow::begin_do},       {"repeat", Flow::repeat},
                                {"break", Flow::break_off},   {"continue", Flow::go_on},
                                {"return", Flow::leave}};

/// Scans one line into the text.
class LineScanner {
 public:
  LineScanner(Text& text, Names& names, std::int32_t line, const char* begin, const char* end)
      : text_(text), c_(text, names, line, begin, end) {}

  void scan() {
    Line l;
    l.first = static_cast<std::uint32_t>(text_.words.size());
    if (c_.peek() == '/') {
      c_.step();
      l.skip = true;
    }
    if (c_.more()) start(l);
    l.count = static_cast<std::uint16_t>(text_.words.size() - l.first);
    text_.lines.push_back(l);
  }

 private:
  void start(Line& l) {
    if (c_.peek() == 'n') label(l);
    if (!c_.more()) return;
    const char c = c_.peek();
    if (c == 'o') return o_word(l);
    if (c == 'i' && c_.take("if")) return classic_if(l);
    if (c == 'w' && c_.take("while")) return classic_while(l);
    if (c == 'e' && c_.take("end")) return classic_end(l);
    if (c == 'g' && c_.take("goto")) {
      l.flow = Flow::jump;
      text_.jumps = true;
      way(l).values.push_back(c_.value("GOTO"));
      return nothing_more("GOTO");
    }
    words();
  }

  void label(Line& l) {
    const std::size_t where = c_.at();
    c_.step();
    int count = 0;
    const std::int64_t n = c_.digits(count);
    if (count == 0) return c_.error(where, "a line number is missing after N", c_.here(), "0 to 99999");
    if (count > 5) return c_.error(where, "a line number has at most five digits", fmt::format("N{}", n), "0 to 99999");
    l.label = static_cast<std::int32_t>(n);
  }

  Way& way(Line& l) {
    l.way = static_cast<std::int32_t>(text_.ways.size());
    text_.ways.emplace_back();
    text_.ways.back().at = c_.at();
    return text_.ways.back();
  }
  void nothing_more(std::string_view after) {
    if (c_.more()) c_.error(c_.at(), fmt::format("nothing may stand after {}", after), c_.here(), "end of line");
  }

  // ---- O words ----------------------------------------------------------------------------------------------------
  void o_word(Line& l) {
    const std::size_t where = c_.at();
    c_.step();
    Way w;
    w.at = static_cast<std::uint16_t>(where);
    if (c_.peek() == '<') {
      w.name = "<" + c_.name() + ">";
    } else {
      int count = 0;
      const std::int64_t n = c_.digits(count);
      if (n < 0) return c_.error(where, "O needs a number or a <name>", c_.here(), "O100 or O<name>");
      w.name = fmt::format("{}", n);
    }
    if (c_.failed) return;
    if (!c_.more()) {
      if (w.name[0] == '<' && !c_.failed)
        return c_.error(where, "an O word says nothing", "O" + w.name, "sub, call, if, while, do, repeat, ...");
      l.flow = Flow::program_number;
    } else {
      keyword(l, w);
    }
    l.way = static_cast<std::int32_t>(text_.ways.size());
    text_.ways.push_back(std::move(w));
  }

  void keyword(Line& l, Way& w) {
    const std::size_t where = c_.at();
    for (const Keyword& k : keywords) {
      if (!c_.take(k.word) || c_.in_word()) continue;
      l.flow = k.flow;
      if (k.flow == Flow::call)
        while (c_.peek() == '[' && !c_.failed) w.values.push_back(c_.bracket("call"));
      if (k.flow == Flow::call && w.values.size() > 30) c_.error(where, "a call takes at most 30 values");
      if (k.flow == Flow::when || k.flow == Flow::or_when || k.flow == Flow::loop || k.flow == Flow::repeat)
        w.values.push_back(c_.bracket(k.word));
      if ((k.flow == Flow::leave || k.flow == Flow::end_sub) && c_.peek() == '[')
        w.values.push_back(c_.bracket(k.word));
      return nothing_more(k.word);
    }
    std::vector<std::string> all;
    for (const Keyword& k : keywords) all.emplace_back(k.word);
    const std::string found = c_.here();
    c_.error(where, "unknown word after O" + w.name, found, base::join(all, ", "),
             base::nearest(base::lower(found), all));
  }

  // ---- the classic IF, WHILE, END -----------------------------------------------------------------------------------
  void classic_if(Line& l) {
    Way w;
    w.at = c_.at();
    w.values.push_back(c_.bracket("IF"));
    if (c_.failed) return;
    if (c_.take("goto")) {
      l.flow = Flow::jump_when;
      text_.jumps = true;
      w.values.push_back(c_.value("GOTO"));
      nothing_more("GOTO");
    } else if (c_.take("then")) {
      l.flow = Flow::then;
      words();
    } else {
      return c_.error(c_.at_next(), "IF needs GOTO or THEN", c_.here(), "GOTO or THEN");
    }
    l.way = static_cast<std::int32_t>(text_.ways.size());
    text_.ways.push_back(std::move(w));
  }
  void loop_number(Way& w) {
    const std::size_t where = c_.at();
    int count = 0;
    const std::int64_t n = c_.digits(count);
    if (n < 0) return c_.error(where, "the number of the loop is missing", c_.here(), "1, 2 or 3");
    w.name = fmt::format("{}", n);
  }
  void classic_while(Line& l) {
    Way w;
    w.at = c_.at();
    w.values.push_back(c_.bracket("WHILE"));
    if (c_.failed) return;
    if (!c_.take("do")) return c_.error(c_.at_next(), "WHILE needs DO", c_.here(), "DO1, DO2 or DO3");
    loop_number(w);
    if (c_.failed) return;
    nothing_more("DO");
    l.flow = Flow::classic_loop;
    l.way = static_cast<std::int32_t>(text_.ways.size());
    text_.ways.push_back(std::move(w));
  }
  void classic_end(Line& l) {
    Way& w = way(l);
    loop_number(w);
    nothing_more("END");
    l.flow = Flow::classic_end;
  }

  // ---- words --------------------------------------------------------------------------------------------------------
  void words() {
    std::uint32_t seen = 0, g_groups = 0;
    int ms = 0;
    while (c_.more()) {
      const char c = c_.peek();
      const std::uint16_t where = c_.at();
      if (c == '#') {
        setting();
        continue;
      }
      if (!is_letter(c) || letters_known.find(c) == std::string_view::npos) return strange(c, where);
      c_.step();
      const char name[2] = {static_cast<char>(c - 32), 0};
      Word w = c_.value(name);
      if (c_.failed) return;
      w.letter = c;
      w.at = where;
      if (c == 'g') {
        if (w.formula < 0 && !g_word(w, g_groups)) return;
      } else if (c == 'm') {
        if (++ms > 4) return c_.error(where, "more than four M words on a line", {}, "four at most");
        if (w.formula < 0 && !m_word(w)) return;
      } else {
        const std::uint32_t bit = 1U << static_cast<unsigned>(c - 'a');
        if ((seen & bit) != 0) return c_.error(where, fmt::format("{} stands twice on the line", name), name, "once");
        seen |= bit;
        if (c <= 'c')
          return c_.error(where, fmt::format("the axis {} is not followed: this reader knows X, Y, Z", name), name,
                          "X, Y, Z");
      }
      text_.words.push_back(w);
    }
  }
  void strange(char c, std::size_t where) {
    if (c == 'n') return c_.error(where, "N stands only at the beginning of a line", "N");
    if (c == 'o') return c_.error(where, "O stands only at the beginning of a line", "O");
    if (c == '/') return c_.error(where, "a block skip stands only at the beginning of a line", "/");
    if (c == '%') return c_.error(where, "% stands alone on its line", "%");
    if (is_letter(c))
      return c_.error(where, "no word begins with this letter", std::string(1, static_cast<char>(c - 32)),
                      "D F G H I J K L M P Q R S T X Y Z");
    c_.error(where, "this character begins no word", c_.here(), "a letter, # or (");
  }
  bool g_word(Word& w, std::uint32_t& groups) {
    const double tenths = w.value * 10;
    const double whole = std::round(tenths);
    const int group =
        std::fabs(tenths - whole) > 1e-3 || !(std::fabs(whole) < 1e6) ? -1 : group_of_g(static_cast<int>(whole));
    if (group < 0)
      return c_.error(w.at, "there is no such G code here", "G" + base::shortest(w.value), {}, nearest_g(w.value)),
             false;
    if (group >= 0 && ((groups >> group) & 1U) != 0)
      return c_.error(w.at, "two G words of one modal group on a line", "G" + g_text(static_cast<int>(whole)),
                      group_text(group)),
             false;
    if (group == 11 || (group == 1 && whole >= 730)) {
      if (cycle_word_)
        return c_.error(w.at, "two G words of one modal group on a line", "G" + g_text(static_cast<int>(whole)),
                        "G80 or a cycle"),
               false;
      cycle_word_ = true;
    }
    groups |= 1U << group;
    w.value = whole;
    return true;
  }
  static std::string group_text(int group) {
    std::string s;
    for (int t = 0; t < 1000; ++t)
      if (group_of_g(t) == group) s += (s.empty() ? "one of G" : ", G") + g_text(t);
    return s;
  }
  bool m_word(Word& w) {
    const double whole = std::round(w.value);
    const int group =
        std::fabs(w.value - whole) > 1e-4 || !(std::fabs(whole) < 1e6) ? -1 : group_of_m(static_cast<int>(whole));
    if (group < 0)
      return c_.error(w.at, "there is no such M code here", "M" + base::shortest(w.value), {}, nearest_m(w.value)),
             false;
    for (std::size_t i = text_.words.size(); i-- > 0 && text_.words[i].letter != 0;) {
      const Word& other = text_.words[i];
      if (i < first_word()) break;
      if (other.letter != 'm' || other.formula >= 0 || group_of_m(static_cast<int>(other.value)) != group) continue;
      const double sum = other.value + whole;
      if (group == 8 && other.value != whole && sum == 15) continue;  // M7 and M8 together
      return c_.error(w.at, "two M words of one modal group on a line", fmt::format("M{}", whole),
                      other.value == whole ? std::string("each on a line of its own")
                                           : fmt::format("M{} or M{}", other.value, whole)),
             false;
    }
    w.value = whole;
    return true;
  }
  std::size_t first_word() const {
    return text_.lines.empty() ? 0 : text_.lines.back().first + std::size_t{text_.lines.back().count};
  }

  void setting() {
    c_.step();
    const Word p = c_.parameter();
    if (c_.failed) return;
    if (c_.peek() != '=') return c_.error(c_.at(), "a setting needs =", c_.here(), "=");
    c_.step();
    Word v = c_.value("=");
    if (c_.failed) return;
    v.letter = '=';
    text_.words.push_back(p);
    text_.words.push_back(v);
  }

  Text& text_;
  Cursor c_;
  bool cycle_word_ = false;  // G80 or a cycle was on the line
};

}  // namespace

std::string_view Text::line_text(std::int32_t line) const {
  std::size_t from = 0;
  for (std::int32_t k = 0; k < line; ++k) {
    from = body.find('\n', from);
    if (from == std::string_view::npos) return {};
    ++from;
  }
  std::string_view l = body.substr(from, body.find('\n', from) - from);
  if (!l.empty() && l.back() == '\r') l.remove_suffix(1);
  return l;
}

Problem Text::at(std::int32_t line, std::size_t byte, std::string what, std::string found, std::string expected,
                 std::string nearest) const {
  Problem p = bad(std::move(what), std::move(found), std::move(expected), std::move(nearest));
  const std::string_view l = line_text(line);
  p.where = {name, line + 1, static_cast<int>(base::code_points(l.substr(0, std::min(byte, l.size())))) + 1};
  return p;
}

Text scan(std::string_view body, std::string name, Names& names) {
  Text t;
  t.name = std::move(name);
  t.body = body;
  const char* p = body.data();
  const char* const end = p + body.size();
  t.lines.reserve(body.size() / 24 + 8);
  t.words.reserve(body.size() / 7 + 8);
  bool empty = true;
  for (std::int32_t line = 0; p < end && t.problems.size() < most_problems; ++line) {
    const char* stop = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
    const char* next = stop == nullptr ? end : stop + 1;
    const char* last = stop == nullptr ? end : stop;
    if (last > p && last[-1] == '\r') --last;
    const char* first = p;
    p = next;
    if (line == 0 && last - first >= 3 && std::memcmp(first, "\xEF\xBB\xBF", 3) == 0) {
      // A byte order mark is no character of the text; blanks take its place.
      t.notes.push_back(t.at(0, 0, "a byte order mark at the beginning is passed over"));
      first += 3;
    }
    while (last > first && is_blank(last[-1])) --last;
    const char* c = first;
    while (c < last && is_blank(*c)) ++c;
    if (c + 1 == last && *c == '%') {
      t.lines.emplace_back();
      if (!empty || t.opened) {
        t.closed = true;
        if (std::string_view(p, static_cast<std::size_t>(end - p)).find_first_not_of(" \t\r\n") !=
            std::string_view::npos)
          t.notes.push_back(t.at(line, 0, "what stands behind the closing % is not read"));
        break;
      }
      t.opened = true;
      empty = false;
      continue;
    }
    if (c == last) {
      t.lines.emplace_back();
      continue;
    }
    empty = false;
    const auto length = static_cast<std::size_t>(last - first);
    if (length > longest_line && base::code_points({first, length}) > longest_line) {
      t.problems.push_back(t.at(line, longest_line, "a line is longer than 256 characters",
                                fmt::format("{}", base::code_points({first, length})), "256 at most"));
      t.lines.emplace_back();
      continue;
    }
    LineScanner(t, names, line, first, last).scan();
  }
  link(t);
  return t;
}

}  // namespace fettle::program
