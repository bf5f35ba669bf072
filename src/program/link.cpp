// Joins the ends of blocks (sub and endsub, if and endif, while and endwhile ...), and finds labels.
#include <fmt/format.h>

#include "base/text.h"
#include "program/scan.h"

namespace fettle::program {
namespace {

struct Open {
  Flow flow = Flow::words;
  std::int32_t line = 0;           // that opened the block
  std::int32_t branch = 0;         // last branch of an `if`
  std::vector<std::int32_t> ends;  // lines that need the end of the block
};

class Linker {
 public:
  explicit Linker(Text& t) : t_(t) {}

  void link() {
    for (std::int32_t line = 0; line < static_cast<std::int32_t>(t_.lines.size()); ++line)
      if (t_.lines[static_cast<std::size_t>(line)].way >= 0) one(line);
    for (const Open& o : open_) fail(o.line, fmt::format("{} has no end", said(o.line)), ending(o.flow));
    if (t_.jumps) labels();
  }

 private:
  Line& line(std::int32_t l) { return t_.lines[static_cast<std::size_t>(l)]; }
  Way& way(std::int32_t l) { return t_.ways[static_cast<std::size_t>(line(l).way)]; }
  void fail(std::int32_t l, std::string what, std::string expected = {}) {
    if (t_.problems.size() < most_problems)
      t_.problems.push_back(t_.at(l, way(l).at, std::move(what), {}, std::move(expected)));
  }
  static const char* word(Flow f) {
    switch (f) {
      case Flow::sub:
        return "sub";
      case Flow::end_sub:
        return "endsub";
      case Flow::when:
        return "if";
      case Flow::or_when:
        return "elseif";
      case Flow::otherwise:
        return "else";
      case Flow::end_when:
        return "endif";
      case Flow::loop:
        return "while";
      case Flow::end_loop:
        return "endwhile";
      case Flow::begin_do:
        return "do";
      case Flow::repeat:
        return "repeat";
      case Flow::end_repeat:
        return "endrepeat";
      case Flow::break_off:
        return "break";
      case Flow::go_on:
        return "continue";
      case Flow::leave:
        return "return";
      case Flow::classic_loop:
        return "WHILE";
      case Flow::classic_end:
        return "END";
      default:
        return "";
    }
  }
  std::string said(std::int32_t l) {
    const Flow f = line(l).flow;
    if (f == Flow::classic_loop) return fmt::format("WHILE ... DO{}", way(l).name);
    if (f == Flow::classic_end) return fmt::format("END{}", way(l).name);
    return fmt::format("o{} {}", way(l).name, word(f));
  }
  static std::string ending(Flow f) {
    if (f == Flow::sub) return "endsub";
    if (f == Flow::when) return "endif";
    if (f == Flow::begin_do) return "while [..]";
    if (f == Flow::repeat) return "endrepeat";
    if (f == Flow::classic_loop) return "END with the same number";
    return "endwhile";
  }
  bool is_top(Flow f, const std::string& name) {
    return !open_.empty() && open_.back().flow == f && way(open_.back().line).name == name;
  }

  void one(std::int32_t l) {
    const Flow f = line(l).flow;
    const std::string& name = way(l).name;
    switch (f) {
      case Flow::program_number: {
        const auto n = static_cast<std::int64_t>(*base::to_double(name));
        if (!t_.programs.emplace(n, l).second) fail(l, fmt::format("the program number O{} stands twice", name));
        return;
      }
      case Flow::sub:
        if (!open_.empty())
          fail(l, fmt::format("{} stands inside another block", said(l)), "endsub, endif ... before it");
        if (!t_.subs.emplace(name, l).second) fail(l, fmt::format("{} stands twice", said(l)));
        return begin(l, f);
      case Flow::when:
      case Flow::repeat:
      case Flow::begin_do:
      case Flow::classic_loop:
        return begin(l, f);
      case Flow::loop:
        if (!is_top(Flow::begin_do, name)) return begin(l, f);
        line(l).flow = Flow::end_do;
        return close(l, Flow::begin_do);
      case Flow::or_when:
      case Flow::otherwise:
        if (!is_top(Flow::when, name))
          return fail(l, fmt::format("{} without its if", said(l)), "o" + name + " if before it");
        if (line(open_.back().branch).flow == Flow::otherwise)
          return fail(l, fmt::format("{} after else", said(l)), "endif");
        way(open_.back().branch).next = l;
        open_.back().branch = l;
        open_.back().ends.push_back(l);
        return;
      case Flow::end_when:
        if (is_top(Flow::when, name)) way(open_.back().branch).next = l;
        return close(l, Flow::when);
      case Flow::end_sub:
        return close(l, Flow::sub);
      case Flow::end_loop:
        return close(l, Flow::loop);
      case Flow::end_repeat:
        return close(l, Flow::repeat);
      case Flow::classic_end:
        return close(l, Flow::classic_loop);
      case Flow::break_off:
      case Flow::go_on:
        return inside_loop(l);
      case Flow::leave:
        if (open_.empty() || open_.front().flow != Flow::sub || way(open_.front().line).name != name)
          fail(l, fmt::format("{} outside its sub", said(l)), "o" + name + " sub before it");
        return;
      default:
        return;
    }
  }
  void begin(std::int32_t l, Flow f) { open_.push_back({f, l, l, {}}); }
  void close(std::int32_t l, Flow f) {
    if (!is_top(f, way(l).name)) {
      const std::string inner =
          open_.empty() ? ""
                        : fmt::format("{} of line {} is still open", said(open_.back().line), open_.back().line + 1);
      return fail(l, fmt::format("{} ends nothing that was begun", said(l)), inner);
    }
    const Open o = open_.back();
    open_.pop_back();
    if (f != Flow::when) way(o.line).next = l;
    way(l).next = o.line;
    way(o.line).end = l;
    for (const std::int32_t e : o.ends) way(e).end = l;
  }
  void inside_loop(std::int32_t l) {
    for (std::size_t k = open_.size(); k-- > 0;) {
      Open& o = open_[k];
      if (way(o.line).name != way(l).name) continue;
      if (o.flow != Flow::loop && o.flow != Flow::begin_do && o.flow != Flow::repeat) continue;
      way(l).next = o.line;
      o.ends.push_back(l);
      return;
    }
    fail(l, fmt::format("{} outside its loop", said(l)), "o" + way(l).name + " while, do or repeat before it");
  }

  void labels() {
    t_.owner.resize(t_.lines.size());
    std::int32_t owner = -1;
    for (std::int32_t l = 0; l < static_cast<std::int32_t>(t_.lines.size()); ++l) {
      if (line(l).flow == Flow::program_number && line(l).way >= 0) owner = l;
      t_.owner[static_cast<std::size_t>(l)] = owner;
      if (line(l).label < 0) continue;
      const std::uint64_t key =
          (static_cast<std::uint64_t>(owner + 1) << 32U) | static_cast<std::uint32_t>(line(l).label);
      const auto [it, fresh] = t_.labels.emplace(key, l);
      if (!fresh) it->second = -2;
    }
  }

  Text& t_;
  std::vector<Open> open_;
};

}  // namespace

void link(Text& text) { Linker(text).link(); }

}  // namespace fettle::program
