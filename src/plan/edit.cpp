#include "plan/edit.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <memory>
#include <optional>

#include "base/text.h"
#include "plan/schema.h"
#include "plan/toml_text.h"

namespace fettle::plan {

namespace {

bool blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

/// A table, a list of tables, one row of it, or a value, with where it stands in the text.
struct Node {
  enum class Type { table, list, value } type = Type::table;
  std::string name;
  std::vector<std::unique_ptr<Node>> children;  ///< of a list: its rows
  std::size_t head = std::string::npos;         ///< first byte of the line of its [header] or key
  std::size_t head_end = 0;                     ///< behind the end of that line
  std::size_t key_from = 0;                     ///< of a value inside braces: first byte of its key
  std::size_t from = 0, to = 0;                 ///< of a value: its bytes
  bool braces = false;                          ///< a table within { }: from and to are its bytes
  bool inside_braces = false;

  Node* child(std::string_view wanted) const {
    for (const auto& c : children)
      if (c->name == wanted) return c.get();
    return nullptr;
  }
  Node& add(Type t, std::string called) {
    children.push_back(std::make_unique<Node>());
    children.back()->type = t;
    children.back()->name = std::move(called);
    return *children.back();
  }
};

/// Walks over a text that is known to be good TOML.
class Scan {
 public:
  explicit Scan(const std::string& text) : text_(text) {}

  Node run() {
    Node root;
    root.head = root.head_end = base::starts_with(text_, "\xEF\xBB\xBF") ? 3 : 0;
    i_ = root.head_end;
    Node* current = &root;
    while (i_ < text_.size()) {
      const std::size_t line = i_;
      blanks();
      if (at('#') || at('\n') || i_ >= text_.size()) {
        line_end();
        continue;
      }
      if (at('[')) {
        current = header(root, line);
        continue;
      }
      pair(*current, line, false);
      line_end();
    }
    return root;
  }

 private:
  bool at(char c) const { return i_ < text_.size() && text_[i_] == c; }
  void blanks() {
    while (i_ < text_.size() && blank(text_[i_])) ++i_;
  }
  /// Behind the end of this line.
  void line_end() {
    const std::size_t end = text_.find('\n', i_);
    i_ = end == std::string::npos ? text_.size() : end + 1;
  }

  std::string name() {
    blanks();
    std::string out;
    if (at('"') || at('\'')) {
      const std::size_t from = i_;
      value();
      out = text_.substr(from + 1, i_ - from - 2);
    } else {
      while (i_ < text_.size() && !blank(text_[i_]) &&
             std::string_view(".=]\n").find(text_[i_]) == std::string_view::npos)
        out += text_[i_++];
    }
    blanks();
    return out;
  }
  std::vector<std::string> names() {
    std::vector<std::string> out{name()};
    while (at('.')) {
      ++i_;
      out.push_back(name());
    }
    return out;
  }

  static Node* into(Node* n, const std::string& name) {
    Node* c = n->child(name);
    if (c == nullptr) c = &n->add(Node::Type::table, name);
    if (c->type == Node::Type::list && !c->children.empty()) c = c->children.back().get();
    return c;
  }

  Node* header(Node& root, std::size_t line) {
    ++i_;
    const bool list = at('[');
    if (list) ++i_;
    const std::vector<std::string> path = names();
    line_end();
    Node* n = &root;
    for (std::size_t k = 0; k + 1 < path.size(); ++k) n = into(n, path[k]);
    Node* c = n->child(path.back());
    if (c == nullptr) c = &n->add(list ? Node::Type::list : Node::Type::table, path.back());
    if (list) c = &c->add(Node::Type::table, "");
    c->head = line;
    c->head_end = i_;
    return c;
  }

  void pair(Node& table, std::size_t line, bool braces) {
    const std::size_t key_from = i_;
    const std::vector<std::string> path = names();
    if (at('=')) ++i_;
    blanks();
    Node* n = &table;
    for (std::size_t k = 0; k + 1 < path.size(); ++k) n = into(n, path[k]);
    Node& v = n->add(at('{') ? Node::Type::table : Node::Type::value, path.back());
    v.head = line;
    v.key_from = key_from;
    v.from = i_;
    v.inside_braces = braces;
    if (v.type == Node::Type::table) {
      v.braces = true;
      in_braces(v, line);
    } else {
      value();
    }
    v.to = i_;
    const std::size_t end = text_.find('\n', i_);
    v.head_end = end == std::string::npos ? text_.size() : end + 1;
  }

  void in_braces(Node& table, std::size_t line) {
    ++i_;
    blanks();
    while (i_ < text_.size() && !at('}')) {
      pair(table, line, true);
      blanks();
      if (at(',')) ++i_;
      blanks();
    }
    if (i_ < text_.size()) ++i_;
  }

  void string() {
    const char quote = text_[i_];
    const std::string three(3, quote);
    if (text_.compare(i_, 3, three) == 0) {
      i_ += 3;
      while (i_ < text_.size() && text_.compare(i_, 3, three) != 0) i_ += quote == '"' && at('\\') ? 2 : 1;
      i_ += 3;
      while (at(quote)) ++i_;  // quotes that belong to the text
    } else {
      ++i_;
      while (i_ < text_.size() && !at(quote)) i_ += quote == '"' && at('\\') ? 2 : 1;
      ++i_;
    }
    i_ = std::min(i_, text_.size());
  }

  void value() {
    if (at('"') || at('\'')) return string();
    int depth = 0;
    while (i_ < text_.size()) {
      if (at('"') || at('\'')) {
        string();
        continue;
      }
      if (at('#')) {
        if (depth == 0) break;
        line_end();
        continue;
      }
      if (at('[') || at('{')) ++depth;
      if ((at(']') || at('}')) && --depth < 0) break;
      if (depth == 0 && (at('\n') || at(','))) break;
      ++i_;
      if (depth == 0 && (text_[i_ - 1] == ']' || text_[i_ - 1] == '}')) return;
    }
    while (i_ > 0 && blank(text_[i_ - 1])) --i_;
  }

  const std::string& text_;
  std::size_t i_ = 0;
};

/// The value of a TOML string; the bytes as they are for anything else.
std::string plain(const std::string& toml) {
  if (toml.empty() || (toml[0] != '"' && toml[0] != '\'')) return toml;
  Problems problems;
  const Parsed p = parse_toml(
      "x = " + toml + "\n", [](std::string_view) { return false; }, problems);
  return p.table["x"].value_or(toml);
}

/// Names of a list's rows as Leaf::key has them.
std::vector<std::string> row_names(const std::string& text, const Node& list) {
  std::vector<std::string> out;
  std::map<std::string, int> before;
  for (std::size_t i = 0; i < list.children.size(); ++i) {
    std::string name = fmt::format("{}", i + 1);
    for (const char* key : {"id", "tool"})
      if (const Node* n = list.children[i]->child(key); n != nullptr && n->type == Node::Type::value) {
        name = plain(text.substr(n->from, n->to - n->from));
        break;
      }
    const int n = ++before[name];
    out.push_back(n > 1 ? fmt::format("{}#{}", name, n) : name);
  }
  return out;
}

const Key* root_key(std::string_view name) {
  const Key* k = find_key(plan_schema(), name);
  return k != nullptr ? k : find_key(shop_schema(), name);
}

std::vector<std::string> key_names(const Table& table) {
  std::vector<std::string> out;
  for (const Key& k : table.keys) out.push_back(k.name);
  return out;
}

/// Where a key path leads.
struct Target {
  Node* table = nullptr;        ///< deepest table of the text on the way
  Node* node = nullptr;         ///< the thing itself, when it is there
  Node* list = nullptr;         ///< the list, when the node is a row of it
  const Key* key = nullptr;     ///< of the schema; of a row: that of its list
  std::string prefix;           ///< dotted name of `table` in headers
  std::vector<std::string> to;  ///< tables still to be made below `table`
  std::string name;             ///< last word of the path
};

class Finder {
 public:
  Finder(const std::string& text, Node& root) : text_(text), root_(root) {}

  Outcome<Target> find(const std::string& path) {
    Target t;
    t.table = &root_;
    std::string_view rest = path;
    const Table* schema = nullptr;
    while (!rest.empty()) {
      const std::string word(rest.substr(0, rest.find('.')));
      rest.remove_prefix(std::min(rest.size(), word.size() + 1));
      const Key* key = schema == nullptr ? root_key(word) : find_key(*schema, word);
      if (key == nullptr)
        return bad("no such key in a plan", path, "a key as docs/plan.md lists it",
                   base::nearest(word, key_names(schema == nullptr ? plan_schema() : *schema)));
      t.key = key, t.name = word, t.list = nullptr;
      const bool here = t.to.empty();
      Node* n = here ? t.table->child(word) : nullptr;
      if (key->type == Type::tables && !rest.empty()) {
        const auto row = find_row(n, rest, path);
        if (!row.ok()) return row.problems();
        t.prefix += (t.prefix.empty() ? "" : ".") + word;
        t.list = n;
        n = n->children[*row].get();
        schema = key->table;
        t.table = n, t.node = n;
        continue;
      }
      t.node = n;
      if (rest.empty()) return t;
      if (key->type != Type::table) return bad("nothing stands below this key", path, "the key " + word + " itself");
      schema = key->table;
      if (n != nullptr) t.table = n, t.prefix += (t.prefix.empty() ? "" : ".") + word;
      else t.to.push_back(word);
    }
    if (t.node == nullptr) return bad("no key", path, "such as plan.seed");
    return t;
  }

 private:
  /// The row that `rest` begins with, the longest name first; `rest` loses it.
  Outcome<std::size_t> find_row(const Node* list, std::string_view& rest, const std::string& path) const {
    std::vector<std::string> names;
    if (list != nullptr && list->type == Node::Type::list) names = row_names(text_, *list);
    std::optional<std::size_t> best;
    for (std::size_t i = 0; i < names.size(); ++i)
      if (base::starts_with(rest, names[i]) && (rest.size() == names[i].size() || rest[names[i].size()] == '.') &&
          (!best || names[i].size() > names[*best].size()))
        best = i;
    if (!best)
      return bad("no such row in this file", path,
                 names.empty() ? "a row that the plan's own text has" : base::join(names, ", "),
                 base::nearest(rest.substr(0, rest.find('.')), names));
    rest.remove_prefix(std::min(rest.size(), names[*best].size() + 1));
    return *best;
  }

  const std::string& text_;
  Node& root_;
};

/// Behind the last line that belongs to a node, with everything below it.
std::size_t extent(const Node& n) {
  std::size_t end = n.head == std::string::npos ? 0 : n.head_end;
  for (const auto& c : n.children) end = std::max(end, extent(*c));
  return end;
}

/// Behind the last key that stands directly in a table; behind its header when it has none.
std::size_t end_of_keys(const Node& table) {
  std::size_t end = table.head == std::string::npos ? 0 : table.head_end;
  for (const auto& c : table.children)
    if (c->type == Node::Type::value || c->braces) end = std::max(end, c->head_end);
  return end;
}

std::string inserted(const std::string& text, std::size_t at, std::string lines) {
  if (at > 0 && text[at - 1] != '\n' && at != (base::starts_with(text, "\xEF\xBB\xBF") ? 3U : 0U)) lines = "\n" + lines;
  return text.substr(0, at) + lines + text.substr(at);
}

bool bare(const std::string& s) {
  return !s.empty() && std::all_of(s.begin(), s.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
}

/// One value and nothing behind it?
bool is_value(const std::string& toml) {
  if (toml.find('\n') != std::string::npos) return false;
  Problems problems;
  const Parsed p = parse_toml(
      "x = " + toml + "\n", [](std::string_view) { return false; }, problems);
  return problems.empty() && p.table.size() == 1 && toml.find_first_not_of(" \t") != std::string::npos &&
         Scan("x = " + toml).run().child("x") != nullptr;
}

Outcome<std::string> set(const std::string& text, const Target& t, const Change& c) {
  if (!is_value(c.value))
    return bad("no value of a plan", c.value, "a text in quotation marks, a number, true, false or a list");
  if (t.key->type == Type::table || t.key->type == Type::tables)
    return bad("a table cannot be set as a whole", c.key, "one of its keys");
  if (t.node != nullptr) {
    if (t.node->type != Node::Type::value) return bad("no single value stands here", c.key, "one of its keys");
    return text.substr(0, t.node->from) + c.value + text.substr(t.node->to);
  }
  if (t.table->braces) {
    if (!t.to.empty()) return bad("no table can be made here", c.key, "a key of this table");
    const std::string lead = t.table->children.empty() ? " " : ", ";
    const std::size_t at = t.table->children.empty() ? t.table->from + 1 : t.table->children.back()->to;
    return text.substr(0, at) + lead + t.name + " = " + c.value + (t.table->children.empty() ? " " : "") +
           text.substr(at);
  }
  const std::string line = t.name + " = " + c.value + "\n";
  if (t.to.empty() && t.table->head != std::string::npos) return inserted(text, end_of_keys(*t.table), line);
  std::string header = t.prefix;
  for (const std::string& w : t.to) header += (header.empty() ? "" : ".") + w;
  const std::size_t at = t.table->head == std::string::npos || extent(*t.table) == 0 ? text.size() : extent(*t.table);
  return inserted(text, t.prefix.empty() ? text.size() : at, "\n[" + header + "]\n" + line);
}

/// The first byte of the comment lines right above a line.
std::size_t with_comments(const std::string& text, std::size_t line) {
  while (line > 0) {
    const std::size_t before = text.rfind('\n', line - 2 < line ? line - 2 : 0);
    const std::size_t from = line < 2 || before == std::string::npos ? 0 : before + 1;
    const std::string_view above = base::trim(std::string_view(text).substr(from, line - from));
    if (above.empty() || above.front() != '#' || from >= line) break;
    line = from;
  }
  return line;
}

Outcome<std::string> remove(const std::string& text, const Target& t, const Change& c) {
  if (t.node == nullptr || t.node->head == std::string::npos)
    return bad("it does not stand in this file", c.key, "a key that is there");
  if (t.node->inside_braces) {
    std::size_t from = t.node->key_from, to = t.node->to;
    const Node* first = t.table->children.front().get();
    if (first == t.node) {
      while (to < text.size() && (blank(text[to]) || text[to] == ',')) ++to;
      if (to < text.size() && text[to] == '}') to = t.node->to;
    } else {
      while (from > 0 && (blank(text[from - 1]) || text[from - 1] == ',')) --from;
    }
    return text.substr(0, from) + text.substr(to);
  }
  if (t.node->type == Node::Type::value || t.node->braces)
    return text.substr(0, t.node->head) + text.substr(t.node->head_end);
  if (t.node->type == Node::Type::list) return bad("a whole list does not go at once", c.key, "one of its rows");
  std::size_t from = with_comments(text, t.node->head), to = extent(*t.node);
  if (to < text.size() && text[to] == '\n' && from > 0) ++to;  // the blank line behind it
  return text.substr(0, from) + text.substr(to);
}

Outcome<std::string> add(const std::string& text, const Target& t, const Change& c) {
  if (t.key->type != Type::tables || !t.to.empty())
    return bad("rows cannot be added here", c.key, "a list such as pallet.nest");
  std::string lines = "\n[[" + (t.prefix.empty() ? "" : t.prefix + ".") + t.name + "]]\n";
  for (const auto& [name, value] : c.row) {
    const Key* k = find_key(*t.key->table, name);
    if (k == nullptr || !bare(name))
      return bad("a row of " + t.name + " has no such key", name, "a key as docs/plan.md lists it",
                 base::nearest(name, key_names(*t.key->table)));
    if (!is_value(value))
      return bad("no value of a plan", value, "a text in quotation marks, a number, true, false or a list");
    lines += name + " = " + value + "\n";
  }
  const bool some = t.node != nullptr && t.node->type == Node::Type::list && !t.node->children.empty();
  if (t.node != nullptr && !some) return bad("rows stand here in another form", c.key, "[[" + t.name + "]] tables");
  if (t.table->braces) return bad("no rows inside braces", c.key, "a table of its own");
  const std::size_t at = some ? extent(*t.node->children.back()) : t.prefix.empty() ? text.size() : extent(*t.table);
  return inserted(text, at, lines);
}

Outcome<std::string> one(const std::string& text, const Change& c) {
  Node root = Scan(text).run();
  const auto t = Finder(text, root).find(c.key);
  if (!t.ok()) return t.problems();
  switch (c.what) {
    case Change::What::set:
      return set(text, *t, c);
    case Change::What::remove:
      return remove(text, *t, c);
    case Change::What::add:
      return add(text, *t, c);
  }
  return ours("a change of no kind");
}

}  // namespace

std::string toml_quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (c == '\n') out += "\\n";
    else if (c == '\t') out += "\\t";
    else if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f)
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    else out += c;
  }
  return out + "\"";
}

Outcome<std::string> edit_text(const std::string& text, const std::vector<Change>& changes) {
  const auto is_list = [](std::string_view) { return false; };
  Problems problems;
  static_cast<void>(parse_toml(text, is_list, problems));
  if (!problems.empty()) return problems;
  std::string now = text;
  for (const Change& c : changes) {
    auto next = one(now, c);
    if (!next.ok()) problems.insert(problems.end(), next.problems().begin(), next.problems().end());
    else now = std::move(next.value());
  }
  if (!problems.empty()) return problems;
  static_cast<void>(parse_toml(now, is_list, problems));
  if (!problems.empty()) return problems;
  return now;
}

}  // namespace fettle::plan
