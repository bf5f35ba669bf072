#include "step/part21.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <unordered_map>

#include "base/text.h"

namespace fettle::step {

struct Span {
  std::uint32_t begin = 0, end = 0;
};

struct File::Tables {
  std::string name, text;
  std::vector<std::string> schemas;
  std::vector<Value> values;
  std::vector<Record> records, header;
  std::vector<Instance> instances;
  std::vector<std::string_view> keywords;  // views into text
  std::unordered_map<std::string_view, std::uint32_t> keyword_ids;
  std::vector<std::pair<std::uint64_t, std::uint32_t>> by_id;     // sorted: number, index
  std::vector<std::uint32_t> all_begin, all, users_begin, users;  // by keyword; by instance
  std::vector<Dangling> dangling;
  std::vector<Span> mesh_lists;
};

namespace {

constexpr std::array<std::string_view, 7> mesh_keywords = {
    "COORDINATES_LIST",      "COMPLEX_TRIANGULATED_FACE", "COMPLEX_TRIANGULATED_SURFACE_SET",
    "TRIANGULATED_FACE",     "TRIANGULATED_SURFACE_SET",  "TESSELLATED_CURVE_SET",
    "TESSELLATED_POINT_SET",
};

bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }
bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_word(char c) { return is_upper(c) || is_digit(c) || c == '_' || is_lower(c) || c == '-'; }

Where place(const std::string& name, std::string_view text, std::size_t at) {
  at = std::min(at, text.size());
  Where w{name, 1, 1};
  std::size_t line_start = 0;
  for (std::size_t i = 0; i < at; ++i) {
    const bool lone_cr = text[i] == '\r' && !(i + 1 < text.size() && text[i + 1] == '\n');
    if (text[i] == '\n' || lone_cr) {
      ++w.line;
      line_start = i + 1;
    }
  }
  for (std::size_t i = line_start; i < at; ++i)
    if ((static_cast<unsigned char>(text[i]) & 0xC0) != 0x80) ++w.column;
  return w;
}

// One pass over the text. Every function returns false after it has set problem_.
class Parser {
 public:
  Parser(File::Tables& t, const Limits& limits) : t_(t), s_(t.text), limits_(limits) {}

  bool run() {
    if (!opening()) return false;
    if (!section("HEADER") || !header()) return false;
    if (!data_sections()) return false;
    if (t_.instances.empty()) return fail(at_, "the file holds no entities");
    return index();
  }
  Problem problem() const { return problem_; }

 private:
  bool fail(std::size_t at, std::string what, std::string found = {}, std::string expected = {},
            std::string nearest = {}) {
    problem_ = bad(std::move(what), std::move(found), std::move(expected), std::move(nearest));
    problem_.where = place(t_.name, s_, at);
    return false;
  }
  bool unexpected(std::string expected) {
    if (at_ >= s_.size())
      return fail(s_.size(), "the file ends too early; was it copied whole?", {}, std::move(expected));
    return fail(at_, "this cannot stand here", shown(), std::move(expected));
  }
  // The word or character at the present place, fit for a message.
  std::string shown() const {
    if (at_ >= s_.size()) return "end of file";
    std::size_t end = at_;
    while (end < s_.size() && end - at_ < 24 && (is_word(s_[end]) || s_[end] == '.')) ++end;
    if (end > at_) return std::string(s_.substr(at_, end - at_));
    const auto c = static_cast<unsigned char>(s_[at_]);
    return c > 32 && c < 127 ? std::string(1, s_[at_]) : fmt::format("byte {:02X}", c);
  }

  // Blanks and comments. False only for a comment without end.
  bool skip() {
    while (at_ < s_.size()) {
      const char c = s_[at_];
      if (c == ' ' || c == '\n' || c == '\r' || c == '\t' || c == '\f' || c == '\v') {
        ++at_;
      } else if (c == '/' && at_ + 1 < s_.size() && s_[at_ + 1] == '*') {
        const auto end = s_.find("*/", at_ + 2);
        if (end == std::string_view::npos) return fail(at_, "a comment without end", "/*", "*/");
        at_ = end + 2;
      } else {
        return true;
      }
    }
    return true;
  }
  bool peek(char c) const { return at_ < s_.size() && s_[at_] == c; }
  bool take(char c) {
    if (!skip()) return false;
    if (!peek(c)) return unexpected(fmt::format("\"{}\"", c));
    ++at_;
    return true;
  }
  std::string_view word() {
    const std::size_t begin = at_;
    if (peek('!')) ++at_;
    while (at_ < s_.size() && is_word(s_[at_])) ++at_;
    return s_.substr(begin, at_ - begin);
  }

  bool opening() {
    if (s_.size() >= 2) {
      const auto a = static_cast<unsigned char>(s_[0]), b = static_cast<unsigned char>(s_[1]);
      if ((a == 0xFF && b == 0xFE) || (a == 0xFE && b == 0xFF) || (b == 0 && a != 0))
        return fail(0, "the file is in UTF-16; a STEP file is plain text of single bytes", {}, "ISO-10303-21;");
    }
    if (s_.substr(0, 3) == "\xEF\xBB\xBF") at_ = 3;
    if (!skip()) return false;
    if (at_ >= s_.size()) return fail(at_, "the file is empty", {}, "ISO-10303-21;");
    if (s_.substr(at_, 12) != "ISO-10303-21") return fail(at_, "this is not a STEP file", shown(), "ISO-10303-21;");
    at_ += 12;
    return take(';');
  }
  bool section(std::string_view name) {
    if (!skip()) return false;
    const std::size_t at = at_;
    const auto found = word();
    if (found != name) {
      at_ = at;
      return unexpected(std::string(name) + ";");
    }
    return take(';');
  }

  bool header() {
    for (;;) {
      if (!skip()) return false;
      const std::size_t at = at_;
      const auto key = word();
      if (key.empty()) return unexpected("a header record or ENDSEC;");
      if (key == "ENDSEC") return take(';');
      Record r;
      if (!keyword(at, key, r.keyword) || !parameters(r) || !take(';')) return false;
      t_.header.push_back(r);
    }
  }

  // DATA sections, with the sections of later editions that may stand around them passed over.
  bool data_sections() {
    bool any = false;
    for (;;) {
      if (!skip()) return false;
      const std::size_t at = at_;
      const auto key = word();
      if (key == "END-ISO-10303-21") {
        if (!any) return fail(at, "the file has no DATA section", std::string(key), "DATA;");
        return take(';');
      }
      if (key == "ANCHOR" || key == "REFERENCE") {
        const auto end = s_.find("ENDSEC;", at_);
        if (end == std::string_view::npos) return fail(at, "a section without end", std::string(key), "ENDSEC;");
        at_ = end + 7;
        continue;
      }
      if (key != "DATA") {
        at_ = at;
        return unexpected(any ? "DATA; or END-ISO-10303-21;" : "DATA;");
      }
      any = true;
      if (!skip()) return false;
      if (peek('(')) {
        Record ignored;
        if (!parameters(ignored)) return false;
      }
      if (!take(';') || !entities()) return false;
    }
  }

  bool entities() {
    for (;;) {
      if (!skip()) return false;
      if (peek('#')) {
        if (!entity()) return false;
        continue;
      }
      const std::size_t at = at_;
      if (word() == "ENDSEC") return take(';');
      at_ = at;
      return unexpected("#number = ... or ENDSEC;");
    }
  }

  bool entity() {
    Instance e;
    e.at = static_cast<std::uint32_t>(at_);
    if (t_.instances.size() >= limits_.instances)
      return fail(at_, fmt::format("more than {} entities", limits_.instances));
    if (!number_after_hash(e.id) || !take('=') || !skip()) return false;
    e.first_record = static_cast<std::uint32_t>(t_.records.size());
    e.first_value = static_cast<std::uint32_t>(t_.values.size());
    if (peek('(')) {
      ++at_;
      for (;;) {
        if (!skip()) return false;
        if (peek(')')) break;
        if (!record()) return false;
      }
      if (t_.records.size() == e.first_record) return unexpected("a keyword");
      ++at_;
    } else if (!record()) {
      return false;
    }
    e.records = static_cast<std::uint32_t>(t_.records.size() - e.first_record);
    e.end_value = static_cast<std::uint32_t>(t_.values.size());
    t_.instances.push_back(e);
    return take(';');
  }

  bool record() {
    const std::size_t at = at_;
    const auto key = word();
    Record r;
    if (key.empty()) return unexpected("a keyword");
    if (!keyword(at, key, r.keyword) || !parameters(r)) return false;
    t_.records.push_back(r);
    return true;
  }

  bool keyword(std::size_t at, std::string_view key, std::uint32_t& id) {
    const bool user = key.front() == '!';
    const auto plain = user ? key.substr(1) : key;
    if (plain.empty() || is_digit(plain.front()) || plain.front() == '-') {
      at_ = at;
      return unexpected("a keyword");
    }
    for (char c : plain) {
      if (is_lower(c)) {
        std::string upper(key);
        for (char& u : upper)
          if (is_lower(u)) u = static_cast<char>(u - 'a' + 'A');
        return fail(at, "keywords are written in capitals", std::string(key), "a keyword in capitals", upper);
      }
      if (c == '-') return fail(at, "a keyword has letters, digits and _ only", std::string(key), "a keyword");
    }
    const auto [it, fresh] = t_.keyword_ids.try_emplace(key, static_cast<std::uint32_t>(t_.keywords.size()));
    if (fresh) {
      t_.keywords.push_back(key);
      mesh_.push_back(std::find(mesh_keywords.begin(), mesh_keywords.end(), key) != mesh_keywords.end());
    }
    id = it->second;
    return true;
  }

  bool number_after_hash(std::uint64_t& id) {
    const std::size_t at = at_++;
    const std::size_t begin = at_;
    while (at_ < s_.size() && is_digit(s_[at_])) ++at_;
    const auto r = std::from_chars(s_.data() + begin, s_.data() + at_, id);
    if (at_ == begin) return fail(at, "# without a number", {}, "#number");
    if (r.ec != std::errc() || id > 1'000'000'000'000'000) {
      at_ = begin;
      return fail(at, "this entity number is too large", shown(), "a number up to 1e15");
    }
    return true;
  }

  struct Frame {
    std::size_t base;  // where its children begin on the stack
    std::uint32_t at;  // its first character
    bool typed;
    std::uint32_t size;  // typed: bytes of the keyword
    std::size_t count;   // children so far, dropped ones included
  };

  // ( value , value ... ) into r. Lists nest on frames_, never on the call stack.
  bool parameters(Record& r) {
    if (!take('(')) return false;
    const bool mesh = !mesh_.empty() && r.keyword < mesh_.size() && mesh_[r.keyword];
    frames_.clear();
    stack_.clear();
    frames_.push_back({0, static_cast<std::uint32_t>(at_ - 1), false, 0, 0});
    bool want_value = true;
    for (;;) {
      if (!skip()) return false;
      if (at_ >= s_.size()) return unexpected("\")\"");
      Frame& f = frames_.back();
      if (want_value && !(peek(')') && f.count == 0)) {
        const std::size_t most = mesh && frames_.size() > 1 ? limits_.mesh_list_length : limits_.list_length;
        if (++f.count > most) return fail(f.at, fmt::format("a list of more than {} entries", most));
        if (peek('(')) {
          if (!open(false, static_cast<std::uint32_t>(at_), 0)) return false;
          ++at_;
          continue;
        }
        if (is_upper(s_[at_]) || is_lower(s_[at_]) || peek('_') || peek('!')) {
          if (!open_typed()) return false;
          continue;
        }
        Value v;
        if (!scalar(v)) return false;
        if (!(mesh && frames_.size() > 1)) stack_.push_back(v);
        want_value = false;
        continue;
      }
      if (peek(',') && !want_value) {
        ++at_;
        want_value = true;
        continue;
      }
      if (!peek(')')) return unexpected(want_value ? "a value" : "\",\" or \")\"");
      ++at_;
      if (close(r, mesh)) return true;
      want_value = false;
    }
  }

  bool open(bool typed, std::uint32_t at, std::uint32_t size) {
    if (frames_.size() >= limits_.nesting)
      return fail(at, fmt::format("lists are nested deeper than {}", limits_.nesting));
    frames_.push_back({stack_.size(), at, typed, size, 0});
    return true;
  }
  bool open_typed() {
    const std::size_t at = at_;
    const auto key = word();
    std::string low = base::lower(key);
    if (low == "nan" || low == "inf" || low == "infinity")
      return fail(at, "this is not a finite number", std::string(key), "a finite number");
    std::uint32_t id = 0;
    if (!keyword(at, key, id) || !take('(')) return false;
    return open(true, static_cast<std::uint32_t>(at), static_cast<std::uint32_t>(key.size()));
  }

  // Moves the children of the closed list into the table. True when it was the outermost one.
  bool close(Record& r, bool mesh) {
    const Frame f = frames_.back();
    frames_.pop_back();
    const auto first = static_cast<std::uint32_t>(t_.values.size());
    const auto count = static_cast<std::uint32_t>(stack_.size() - f.base);
    t_.values.insert(t_.values.end(), stack_.begin() + static_cast<std::ptrdiff_t>(f.base), stack_.end());
    stack_.resize(f.base);
    if (frames_.empty()) {
      r.first = first;
      r.count = count;
      return true;
    }
    if (mesh && frames_.size() == 1 && !f.typed) t_.mesh_lists.push_back({f.at, static_cast<std::uint32_t>(at_)});
    if (mesh && frames_.size() > 1) return false;
    Value v;
    v.kind = f.typed ? Kind::typed : Kind::list;
    v.at = f.at;
    v.size = f.typed ? f.size : static_cast<std::uint32_t>(at_ - f.at);
    v.first = first;
    v.count = count;
    stack_.push_back(v);
    return false;
  }

  bool scalar(Value& v) {
    v.at = static_cast<std::uint32_t>(at_);
    const char c = s_[at_];
    if (c == '$' || c == '*') {
      v.kind = c == '$' ? Kind::missing : Kind::derived;
      v.size = 1;
      ++at_;
      return true;
    }
    if (c == '#') {
      v.kind = Kind::reference;
      if (!number_after_hash(v.id)) return false;
      v.size = static_cast<std::uint32_t>(at_ - v.at);
      return true;
    }
    if (c == '\'') return quoted(v);
    if (c == '"') return binary(v);
    if (c == '.') return enumeration(v);
    if (is_digit(c) || c == '+' || c == '-') return number(v);
    return unexpected("a value");
  }

  bool quoted(Value& v) {
    const std::size_t begin = ++at_;
    for (;;) {
      const auto end = s_.find('\'', at_);
      const bool missing = end == std::string_view::npos;
      if ((missing ? s_.size() : end) - begin > limits_.text_bytes)
        return fail(v.at,
                    fmt::format("a text longer than {} bytes, or its closing quote is missing", limits_.text_bytes));
      if (missing) return fail(v.at, "a text without closing quote", {}, "'");
      at_ = end + 1;
      if (!peek('\'')) break;
      ++at_;
    }
    v.kind = Kind::text;
    v.at = static_cast<std::uint32_t>(begin);
    v.size = static_cast<std::uint32_t>(at_ - 1 - begin);
    return true;
  }
  bool binary(Value& v) {
    const std::size_t begin = ++at_;
    while (at_ < s_.size() && (is_digit(s_[at_]) || (s_[at_] >= 'A' && s_[at_] <= 'F'))) ++at_;
    if (!peek('"')) return unexpected("hexadecimal digits and a closing \"");
    v.kind = Kind::binary;
    v.at = static_cast<std::uint32_t>(begin);
    v.size = static_cast<std::uint32_t>(at_ - begin);
    ++at_;
    return true;
  }
  bool enumeration(Value& v) {
    const std::size_t begin = at_ + 1;
    if (begin < s_.size() && is_digit(s_[begin]))
      return fail(at_, "a number needs a digit before its point", shown(), "0.5");
    at_ = begin;
    while (at_ < s_.size() && is_word(s_[at_]) && s_[at_] != '-') ++at_;
    if (at_ == begin || !peek('.')) return unexpected("an enumeration such as .T.");
    v.kind = Kind::enumeration;
    v.at = static_cast<std::uint32_t>(begin);
    v.size = static_cast<std::uint32_t>(at_ - begin);
    ++at_;
    return true;
  }
  bool number(Value& v) {
    std::size_t p = at_;
    auto digits = [&] {
      const std::size_t b = p;
      while (p < s_.size() && is_digit(s_[p])) ++p;
      return p > b;
    };
    auto here = [&](char c) { return p < s_.size() && s_[p] == c; };
    bool fine = true, real = false;
    if (here('+') || here('-')) ++p;
    fine = digits();
    if (fine && here('.')) {
      real = true;
      ++p;
      digits();
    }
    bool tiny = false;
    if (fine && (here('E') || here('e'))) {
      real = true;
      ++p;
      tiny = here('-');
      if (here('+') || here('-')) ++p;
      fine = digits();
    }
    if (p < s_.size() && (is_word(s_[p]) || s_[p] == '#' || s_[p] == '.')) fine = false;
    if (!fine) {
      while (p < s_.size() && p - at_ < 24 && (is_word(s_[p]) || s_[p] == '.' || s_[p] == '#')) ++p;
      return fail(at_, "this is not a number", std::string(s_.substr(at_, p - at_)), "a finite number");
    }
    const std::size_t begin = at_ + (s_[at_] == '+' ? 1 : 0);
    const auto r = std::from_chars(s_.data() + begin, s_.data() + p, v.number);
    if (r.ec == std::errc::result_out_of_range && tiny) v.number = 0;
    else if (r.ec != std::errc() || r.ptr != s_.data() + p || !std::isfinite(v.number))
      return fail(at_, "this number is too large", std::string(s_.substr(at_, std::min<std::size_t>(p - at_, 24))),
                  "a finite number");
    v.kind = real ? Kind::real : Kind::integer;
    v.size = static_cast<std::uint32_t>(p - at_);
    at_ = p;
    return true;
  }

  bool index() {
    const auto n = static_cast<std::uint32_t>(t_.instances.size());
    t_.by_id.reserve(n);
    for (std::uint32_t i = 0; i < n; ++i) t_.by_id.emplace_back(t_.instances[i].id, i);
    std::sort(t_.by_id.begin(), t_.by_id.end());
    for (std::uint32_t i = 1; i < n; ++i)
      if (t_.by_id[i].first == t_.by_id[i - 1].first) {
        const auto& first = t_.instances[t_.by_id[i - 1].second];
        return fail(t_.instances[t_.by_id[i].second].at,
                    fmt::format("entity number used twice (first in line {})", place(t_.name, s_, first.at).line),
                    fmt::format("#{}", first.id));
      }
    by_keyword();
    by_user();
    return true;
  }
  void by_keyword() {
    t_.all_begin.assign(t_.keywords.size() + 1, 0);
    for (const Record& r : t_.records) ++t_.all_begin[r.keyword + 1];
    for (std::size_t k = 1; k < t_.all_begin.size(); ++k) t_.all_begin[k] += t_.all_begin[k - 1];
    auto next = t_.all_begin;
    t_.all.resize(t_.records.size());
    for (std::uint32_t i = 0; i < t_.instances.size(); ++i) {
      const Instance& e = t_.instances[i];
      for (std::uint32_t k = 0; k < e.records; ++k) t_.all[next[t_.records[e.first_record + k].keyword]++] = i;
    }
  }
  void by_user() {
    struct Link {
      std::uint32_t to, from;
    };
    std::vector<Link> links;
    for (std::uint32_t i = 0; i < t_.instances.size(); ++i) {
      const Instance& e = t_.instances[i];
      const std::size_t begin = links.size();
      for (std::uint32_t k = e.first_value; k < e.end_value; ++k) {
        if (t_.values[k].kind != Kind::reference) continue;
        const auto it =
            std::lower_bound(t_.by_id.begin(), t_.by_id.end(), std::pair{t_.values[k].id, std::uint32_t{0}});
        if (it == t_.by_id.end() || it->first != t_.values[k].id) t_.dangling.push_back({e.id, t_.values[k].id});
        else links.push_back({it->second, i});
      }
      // each user once
      auto at = links.begin() + static_cast<std::ptrdiff_t>(begin);
      std::sort(at, links.end(), [](Link a, Link b) { return a.to < b.to; });
      links.erase(std::unique(at, links.end(), [](Link a, Link b) { return a.to == b.to; }), links.end());
    }
    t_.users_begin.assign(t_.instances.size() + 1, 0);
    for (Link l : links) ++t_.users_begin[l.to + 1];
    for (std::size_t k = 1; k < t_.users_begin.size(); ++k) t_.users_begin[k] += t_.users_begin[k - 1];
    auto next = t_.users_begin;
    t_.users.resize(links.size());
    for (Link l : links) t_.users[next[l.to]++] = l.from;
  }

  File::Tables& t_;
  std::string_view s_;
  const Limits& limits_;
  std::size_t at_ = 0;
  std::vector<Value> stack_;
  std::vector<Frame> frames_;
  std::vector<bool> mesh_;  // by keyword: an annotation mesh
  Problem problem_;
};

void put_utf8(std::string& out, std::uint32_t c) {
  if (c > 0x10FFFF || (c >= 0xD800 && c < 0xE000)) c = 0xFFFD;
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xC0 | (c >> 6));
    out += static_cast<char>(0x80 | (c & 63));
  } else if (c < 0x10000) {
    out += static_cast<char>(0xE0 | (c >> 12));
    out += static_cast<char>(0x80 | ((c >> 6) & 63));
    out += static_cast<char>(0x80 | (c & 63));
  } else {
    out += static_cast<char>(0xF0 | (c >> 18));
    out += static_cast<char>(0x80 | ((c >> 12) & 63));
    out += static_cast<char>(0x80 | ((c >> 6) & 63));
    out += static_cast<char>(0x80 | (c & 63));
  }
}

// n hexadecimal digits; false when they are not there.
bool hex(std::string_view s, std::size_t at, std::size_t n, std::uint32_t& c) {
  if (at + n > s.size()) return false;
  for (std::size_t i = at; i < at + n; ++i)
    if (!is_digit(s[i]) && !(s[i] >= 'A' && s[i] <= 'F') && !(s[i] >= 'a' && s[i] <= 'f')) return false;
  return std::from_chars(s.data() + at, s.data() + at + n, c, 16).ec == std::errc();
}

// \X2\....\X0\ (width 4, UTF-16) or \X4\........\X0\ (width 8). Returns the length eaten, 0 when broken.
std::size_t wide(std::string_view s, std::size_t at, std::size_t width, std::string& out) {
  const auto end = s.find("\\X0\\", at + 4);
  if (end == std::string_view::npos) return 0;
  std::string read;
  std::uint32_t high = 0;
  for (std::size_t i = at + 4; i < end; i += width) {
    std::uint32_t c = 0;
    if (i + width > end || !hex(s, i, width, c)) return 0;
    if (high && c >= 0xDC00 && c < 0xE000) {
      put_utf8(read, 0x10000 + ((high - 0xD800) << 10) + (c - 0xDC00));
      high = 0;
      continue;
    }
    if (high) put_utf8(read, 0xFFFD);
    high = width == 4 && c >= 0xD800 && c < 0xDC00 ? c : 0;
    if (!high) put_utf8(read, c);
  }
  if (high) put_utf8(read, 0xFFFD);
  out += read;
  return end + 4 - at;
}

}  // namespace

std::string decode(std::string_view s) {
  std::string out;
  out.reserve(s.size());
  const bool utf8 = base::valid_utf8(s);
  bool page_a = true;  // \S\ speaks of ISO 8859-1 unless another part was chosen
  for (std::size_t i = 0; i < s.size();) {
    const auto rest = s.substr(i);
    std::uint32_t c = 0;
    std::size_t n = 0;
    if (rest[0] == '\r' || rest[0] == '\n') {  // long lines may be broken within a text
      ++i;
    } else if (rest[0] == '\'') {
      out += '\'';
      i += rest.substr(0, 2) == "''" ? 2 : 1;
    } else if (rest[0] != '\\') {
      if (utf8 || static_cast<unsigned char>(rest[0]) < 0x80) out += rest[0];
      else put_utf8(out, static_cast<unsigned char>(rest[0]));
      ++i;
    } else if (rest.substr(0, 2) == "\\\\") {
      out += '\\';
      i += 2;
    } else if (rest.substr(0, 3) == "\\S\\" && rest.size() > 3 && static_cast<unsigned char>(rest[3]) < 0x80) {
      put_utf8(out, page_a ? static_cast<unsigned char>(rest[3]) + 128u : 0xFFFDu);
      i += 4;
    } else if (rest.size() > 3 && rest[1] == 'P' && is_upper(rest[2]) && rest[3] == '\\') {
      page_a = rest[2] == 'A';
      i += 4;
    } else if (rest.substr(0, 3) == "\\X\\" && hex(rest, 3, 2, c)) {
      put_utf8(out, c);
      i += 5;
    } else if (rest.substr(0, 4) == "\\X2\\" && (n = wide(s, i, 4, out)) > 0) {
      i += n;
    } else if (rest.substr(0, 4) == "\\X4\\" && (n = wide(s, i, 8, out)) > 0) {
      i += n;
    } else {
      out += '\\';
      ++i;
    }
  }
  return out;
}

Outcome<File> parse(std::string text, std::string name, const Limits& limits) {
  auto t = std::make_shared<File::Tables>();
  t->name = std::move(name);
  if (text.size() > std::min<std::size_t>(limits.bytes, std::size_t{1} << 31)) {
    Problem p =
        bad(fmt::format("the file is larger than {} bytes", limits.bytes), fmt::format("{} bytes", text.size()));
    p.where.file = t->name;
    return p;
  }
  t->text = std::move(text);
  Parser parser(*t, limits);
  if (!parser.run()) return parser.problem();
  File file(t);
  for (const Record& r : t->header)
    if (file.keyword(r) == "FILE_SCHEMA")
      for (const Value& list : file.parameters(r))
        for (const Value& v : file.items(list)) t->schemas.push_back(file.string(v));
  return file;
}

std::string slim_copy(const File& file) {
  const auto& t = *file.t_;
  std::string out;
  std::size_t at = t.text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  out.reserve(t.text.size());
  for (const Span& s : t.mesh_lists) {
    out.append(t.text, at, s.begin - at).append("()");
    at = s.end;
  }
  return out.append(t.text, at);
}

File::File(std::shared_ptr<const Tables> tables) : t_(std::move(tables)) {}
const std::string& File::name() const { return t_->name; }
std::string_view File::text() const { return t_->text; }
const std::vector<std::string>& File::schemas() const { return t_->schemas; }
std::span<const Record> File::header() const { return t_->header; }
std::span<const Instance> File::instances() const { return t_->instances; }
const std::vector<Dangling>& File::dangling() const { return t_->dangling; }
Where File::where(std::uint32_t at) const { return place(t_->name, t_->text, at); }

const Instance* File::find(std::uint64_t id) const {
  const auto it = std::lower_bound(t_->by_id.begin(), t_->by_id.end(), std::pair{id, std::uint32_t{0}});
  return it != t_->by_id.end() && it->first == id ? &t_->instances[it->second] : nullptr;
}
std::span<const std::uint32_t> File::all(std::string_view keyword) const {
  const auto it = t_->keyword_ids.find(keyword);
  if (it == t_->keyword_ids.end()) return {};
  const auto b = t_->all_begin[it->second], e = t_->all_begin[it->second + 1];
  return std::span(t_->all).subspan(b, e - b);
}
std::span<const std::uint32_t> File::users(const Instance& instance) const {
  const auto i = static_cast<std::size_t>(&instance - t_->instances.data());
  const auto b = t_->users_begin[i], e = t_->users_begin[i + 1];
  return std::span(t_->users).subspan(b, e - b);
}
std::span<const Record> File::records(const Instance& e) const {
  return std::span(t_->records).subspan(e.first_record, e.records);
}
const Record* File::record(const Instance& e, std::string_view key) const {
  for (const Record& r : records(e))
    if (t_->keywords[r.keyword] == key) return &r;
  return nullptr;
}
std::string_view File::keyword(const Record& r) const { return t_->keywords[r.keyword]; }
std::span<const Value> File::parameters(const Record& r) const {
  return std::span(t_->values).subspan(r.first, r.count);
}
std::span<const Value> File::items(const Value& v) const {
  if (v.kind != Kind::list && v.kind != Kind::typed) return {};
  return std::span(t_->values).subspan(v.first, v.count);
}
std::string_view File::raw(const Value& v) const { return std::string_view(t_->text).substr(v.at, v.size); }
std::string File::string(const Value& v) const { return v.kind == Kind::text ? decode(raw(v)) : std::string(); }

}  // namespace fettle::step
