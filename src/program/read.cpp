#include "program/read.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "base/text.h"
#include "program/block.h"
#include "program/machine.h"

namespace fettle::program {
namespace {

constexpr std::size_t deepest_call = 64;

/// A subprogram that was called, or the program itself.
struct Call {
  bool o_word = false;
  std::size_t text = 0;       // where it stands
  std::int32_t begin = 0;     // its first line
  std::size_t from_text = 0;  // where to go back to
  std::int32_t from_line = 0;
  long left = 1;
  std::vector<std::pair<std::int32_t, long>> repeats;  // line of a repeat, times that are left
};

class Reader {
 public:
  explicit Reader(const Setting& setting) : setting_(setting) {}
  Outcome<Run> run(std::string_view text, const std::string& file);

 private:
  void add(std::string_view body, const std::string& name) {
    texts_.push_back(std::make_unique<Text>(scan(body, name, names_)));
    run_.files.push_back(name);
  }
  bool set_parameters();
  bool walk();
  bool one();
  bool words(const Line& line);
  bool waits();
  bool follow(const Line& line);
  bool branch(const Way& way, std::int32_t line);
  bool repeat(const Line& line, const Way& way);
  bool leave_loop(const Line& line, const Way& way);
  bool go_to(const Way& way, const Word& target);
  bool call_sub(const Way& way);
  bool end_sub(const Way& way);
  bool call_program(const After& after);
  bool give_back(const After& after);
  bool enter(Call call, std::size_t text, std::int32_t line, std::size_t at);
  bool program_ends();
  std::string programs_there() const;
  std::size_t file_of(const std::string& number) const;
  void read_unset();
  void notes_of_line();
  bool value(const Word& word, double& out) {
    out = values_.of(text(), word);
    return !values_.slip.any() || fail(values_.slip);
  }
  bool holds(const Word& word, bool& out) {
    double v = 0;
    if (!value(word, v)) return false;
    out = v != 0;
    return true;
  }
  bool fail(const Slip& s) {
    problems_.push_back(text().at(std::min(line_, last_line()), s.at, s.what, s.found, s.expected, s.nearest));
    return false;
  }
  const Text& text() const { return *texts_[text_]; }
  std::int32_t last_line() const {
    return std::max<std::int32_t>(0, static_cast<std::int32_t>(text().lines.size()) - 1);
  }
  const Way& way_of(std::int32_t line) const {
    return text().ways[static_cast<std::size_t>(text().lines[static_cast<std::size_t>(line)].way)];
  }

  const Setting& setting_;
  Run run_;
  Problems problems_;
  Names names_;
  std::vector<std::unique_ptr<Text>> texts_;
  Parameters parameters_;
  Values values_{parameters_, names_};
  std::unique_ptr<Machine> machine_;
  Block block_;
  After after_;
  std::vector<Call> calls_;
  std::size_t text_ = 0;
  std::int32_t line_ = 0, next_ = 0;
  std::size_t lines_run_ = 0, notes_seen_ = 0, moves_seen_ = 0;
  std::int32_t wait_line_ = 0;
  int waited_ = 0;
  bool ended_ = false;
};

bool Reader::set_parameters() {
  for (const auto& [index, value] : setting_.parameters) {
    if (!Parameters::there_is(index)) {
      problems_.push_back(bad("there is no such parameter", fmt::format("#{}", index), "#1 to #5399"));
      return false;
    }
    parameters_.put(index, value);
  }
  return true;
}

Outcome<Run> Reader::run(std::string_view body, const std::string& file) {
  add(body, file);
  for (const auto& [name, sub] : setting_.subprograms) add(sub, name);
  for (const auto& t : texts_) {
    problems_.insert(problems_.end(), t->problems.begin(), t->problems.end());
    run_.notes.insert(run_.notes.end(), t->notes.begin(), t->notes.end());
  }
  if (problems_.size() > most_problems) problems_.resize(most_problems);
  if (!problems_.empty() || !set_parameters()) {
    std::stable_sort(problems_.begin(), problems_.end(), [](const Problem& a, const Problem& b) {
      return a.where.file == b.where.file && a.where.line < b.where.line;
    });
    return problems_;
  }
  run_.remarks = texts_[0]->remarks;
  run_.moves.reserve(texts_[0]->lines.size() + 16);
  notes_seen_ = run_.notes.size();
  machine_ = std::make_unique<Machine>(setting_, parameters_, run_);
  calls_.emplace_back();
  if (!walk()) return problems_;
  machine_->finish();
  return std::move(run_);
}

bool Reader::walk() {
  while (!ended_) {
    const auto& lines = text().lines;
    if (line_ >= static_cast<std::int32_t>(lines.size())) {
      if (!program_ends()) return false;
      continue;
    }
    if (++lines_run_ > setting_.most_moves || run_.moves.size() > setting_.most_moves)
      return fail(
          {"no end: so many lines or moves no program has", {}, fmt::format("{} at most", setting_.most_moves), {}, 0});
    if (!one()) return false;
    line_ = next_;
  }
  return true;
}

bool Reader::one() {
  const Line& l = text().lines[static_cast<std::size_t>(line_)];
  next_ = line_ + 1;
  if (l.count == 0 && l.way < 0) return true;
  if (l.skip && setting_.block_skip) return true;
  if (l.flow == Flow::words) return words(l);
  if (!follow(l)) return false;
  if (!values_.unset.empty()) read_unset();
  return true;
}

bool Reader::words(const Line& l) {
  if (!values_.gather(text(), l, block_)) return fail(values_.slip);
  for (const Block::Set& s : block_.settings)
    if (s.named) parameters_.put_named(s.index, names_[static_cast<std::size_t>(s.index)][0] == '_', s.value);
  machine_->behind_slash(l.skip);
  after_.kind = After::Kind::next;
  after_.times = 1;
  Slip slip;
  if (!machine_->execute(block_, line_ + 1, slip, after_)) return fail(slip);
  if (run_.notes.size() != notes_seen_) notes_of_line();
  if (!values_.unset.empty()) read_unset();
  if (run_.moves.size() != moves_seen_ && !waits()) return false;
  if (after_.kind == After::Kind::next) return true;
  if (after_.kind == After::Kind::call) return call_program(after_);
  if (after_.kind == After::Kind::give_back) return give_back(after_);
  ended_ = true;
  return true;
}

/// A stop that comes again and again with nothing between waits for what an operator types in; nobody does here.
bool Reader::waits() {
  constexpr int patience = 100;
  const Move& last = run_.moves.back();
  const bool again = last.kind == Motion::stop && run_.moves.size() == moves_seen_ + 1 && last.line == wait_line_;
  moves_seen_ = run_.moves.size();
  wait_line_ = last.kind == Motion::stop ? last.line : 0;
  waited_ = again ? waited_ + 1 : 0;
  if (waited_ < patience) return true;
  return fail({"the program waits at this stop until somebody sets a parameter",
               {},
               "the parameters that it asks for, given beforehand",
               {},
               0});
}

/// The machine's notes have bytes for columns and no file.
void Reader::notes_of_line() {
  for (; notes_seen_ < run_.notes.size(); ++notes_seen_) {
    Problem& n = run_.notes[notes_seen_];
    n = text().at(line_, static_cast<std::size_t>(n.where.column), n.what, n.found, n.expected);
  }
}

void Reader::read_unset() {
  constexpr std::size_t most = 60;
  for (const auto& [index, at] : values_.unset) {
    if (!parameters_.was_set(index)) parameters_.put(index, 0);
    if (run_.notes.size() < most)
      run_.notes.push_back(text().at(line_, at, fmt::format("#{} was never set and counts as 0", index)));
  }
  values_.unset.clear();
  notes_seen_ = run_.notes.size();
}

/// The text is at its end without M2 or M30.
bool Reader::program_ends() {
  if (calls_.size() > 1) {
    const Call& c = calls_.back();
    return fail({fmt::format("a called subprogram has no end: it was called on line {}", c.from_line),
                 {},
                 c.o_word ? "endsub" : "M99",
                 {},
                 0});
  }
  if (text().opened && text().closed) {
    run_.ended = ended_ = true;
    return true;
  }
  return fail({"the program has no end", "end of text", "M2, M30, or % before and after the program", {}, 0});
}

// ---------------------------------------------------------------- jumps

bool Reader::follow(const Line& l) {
  const Way& way = text().ways[static_cast<std::size_t>(l.way)];
  bool yes = false;
  switch (l.flow) {
    case Flow::program_number:
      for (const auto& [number, line] : text().programs)
        if (line < line_ && line >= calls_.back().begin)
          return fail({"the program before runs into this one", "O" + way.name, "M30 or M99 before it", {}, way.at});
      return true;
    case Flow::sub:
      next_ = way.next + 1;
      return true;
    case Flow::end_sub:
    case Flow::leave:
      return end_sub(way);
    case Flow::call:
      return call_sub(way);
    case Flow::when:
      return branch(way, line_);
    case Flow::or_when:
    case Flow::otherwise:
      next_ = way.end + 1;
      return true;
    case Flow::end_when:
    case Flow::begin_do:
      return true;
    case Flow::loop:
    case Flow::classic_loop:
      if (!holds(way.values[0], yes)) return false;
      if (!yes) next_ = way.next + 1;
      return true;
    case Flow::end_loop:
    case Flow::classic_end:
      next_ = way.next;
      return true;
    case Flow::end_do:
      if (!holds(way.values[0], yes)) return false;
      if (yes) next_ = way.next + 1;
      return true;
    case Flow::repeat:
    case Flow::end_repeat:
      return repeat(l, way);
    case Flow::break_off:
    case Flow::go_on:
      return leave_loop(l, way);
    case Flow::jump:
      return go_to(way, way.values[0]);
    case Flow::jump_when:
      return holds(way.values[0], yes) && (!yes || go_to(way, way.values[1]));
    case Flow::then:
      return holds(way.values[0], yes) && (!yes || words(l));
    default:
      return fail({"a jump this reader does not know", {}, {}, {}, way.at});
  }
}

/// From an `if` or `elseif` to the branch that holds.
bool Reader::branch(const Way& first, std::int32_t) {
  const Way* way = &first;
  for (;;) {
    bool yes = false;
    if (!holds(way->values[0], yes)) return false;
    if (yes) return true;
    line_ = way->next;
    next_ = line_ + 1;
    const Line& l = text().lines[static_cast<std::size_t>(line_)];
    if (l.flow != Flow::or_when) return true;
    way = &text().ways[static_cast<std::size_t>(l.way)];
  }
}

bool Reader::repeat(const Line& l, const Way& way) {
  auto& repeats = calls_.back().repeats;
  const std::int32_t key = l.flow == Flow::repeat ? line_ : way.next;
  const auto it = std::find_if(repeats.begin(), repeats.end(), [key](const auto& r) { return r.first == key; });
  if (l.flow == Flow::end_repeat) {
    if (it == repeats.end())
      return fail({"the end of a repeat that was not begun", {}, "o" + way.name + " repeat first", {}, way.at});
    if (--it->second > 0) next_ = way.next + 1;
    else repeats.erase(it);
    return true;
  }
  double times = 0;
  long n = 0;
  if (!value(way.values[0], times)) return false;
  if (!whole(times, n) || n < 0)
    return fail(
        {"a repeat counts in whole numbers from 0", base::shortest(times), "0, 1, 2 ...", {}, way.values[0].at});
  if (it != repeats.end()) repeats.erase(it);
  if (n == 0) next_ = way.next + 1;
  else repeats.emplace_back(line_, n);
  return true;
}

/// break and continue. `way.next` is the line that begins the loop.
bool Reader::leave_loop(const Line& l, const Way& way) {
  const std::int32_t begin = way.next, end = way.end;
  const Flow kind = text().lines[static_cast<std::size_t>(begin)].flow;
  if (l.flow == Flow::go_on) {
    next_ = kind == Flow::loop ? begin : end;
    return true;
  }
  auto& repeats = calls_.back().repeats;
  std::erase_if(repeats, [begin](const auto& r) { return r.first == begin; });
  next_ = end + 1;
  return true;
}

bool Reader::go_to(const Way& way, const Word& target) {
  double v = 0;
  long n = 0;
  if (!value(target, v)) return false;
  if (!whole(v, n) || n < 0 || n > 99999)
    return fail({"no line number", base::shortest(v), "0 to 99999", {}, target.at});
  const std::int32_t owner = text().owner[static_cast<std::size_t>(line_)];
  const auto it = text().labels.find((static_cast<std::uint64_t>(owner + 1) << 32U) | static_cast<std::uint32_t>(n));
  if (it == text().labels.end())
    return fail({"GOTO a line that is not in this program", fmt::format("N{}", n), {}, {}, target.at});
  if (it->second < 0)
    return fail({"GOTO a line number that stands twice", fmt::format("N{}", n), "one line with it", {}, target.at});
  static_cast<void>(way);
  next_ = it->second;
  return true;
}

// ---------------------------------------------------------------- subprograms

bool Reader::enter(Call call, std::size_t text, std::int32_t line, std::size_t at) {
  if (calls_.size() > deepest_call)
    return fail({"subprograms call one another too deep", {}, fmt::format("{} at most", deepest_call), {}, at});
  call.from_text = text_;
  call.from_line = line_ + 1;
  call.text = text;
  call.begin = line;
  calls_.push_back(std::move(call));
  text_ = text;
  next_ = line + 1;
  machine_->at_text(static_cast<std::int16_t>(text_));
  return true;
}

bool Reader::call_sub(const Way& way) {
  std::vector<double> given;
  for (const Word& w : way.values) {
    given.emplace_back();
    if (!value(w, given.back())) return false;
  }
  std::size_t where = text_;
  auto it = text().subs.find(way.name);
  for (std::size_t t = 0; it == texts_[where]->subs.end() && t < texts_.size(); ++t) {
    where = t;
    it = texts_[t]->subs.find(way.name);
  }
  if (it == texts_[where]->subs.end()) {
    std::vector<std::string> all;
    for (const auto& t : texts_)
      for (const auto& [name, line] : t->subs) all.push_back("o" + name);
    return fail({"call of a sub that is not there", "o" + way.name, base::join(all, ", "),
                 base::nearest("o" + way.name, all), way.at});
  }
  if (!enter({true}, where, it->second, way.at)) return false;
  parameters_.enter(given);
  return true;
}

bool Reader::end_sub(const Way& way) {
  if (!calls_.back().o_word) return fail({"the end of a sub that nobody called", {}, "a call before it", {}, way.at});
  double back = 0;
  const bool gives = !way.values.empty();
  if (gives && !value(way.values[0], back)) return false;
  parameters_.leave();
  if (gives) {
    const int name = names_.number("_value");
    parameters_.put_named(name, true, back);
  }
  text_ = calls_.back().from_text;
  next_ = calls_.back().from_line;
  calls_.pop_back();
  machine_->at_text(static_cast<std::int16_t>(text_));
  return true;
}

std::string Reader::programs_there() const {
  std::string s;
  for (const auto& t : texts_)
    for (const auto& [number, line] : t->programs) s += fmt::format("{}O{}", s.empty() ? "" : ", ", number);
  return s;
}

/// A further file that bears the number as its name and has none inside; 0: there is none.
std::size_t Reader::file_of(const std::string& number) const {
  for (std::size_t t = 1; t < texts_.size(); ++t) {
    std::string name = base::lower(texts_[t]->name);
    if (!name.empty() && name[0] == 'o') name = name.substr(1);
    name = name.substr(0, name.find('.'));
    while (name.size() > 1 && name[0] == '0') name = name.substr(1);
    if (name == number && texts_[t]->programs.empty()) return t;
  }
  return 0;
}

bool Reader::call_program(const After& after) {
  std::size_t where = text_;
  auto it = text().programs.find(after.program);
  for (std::size_t t = 0; it == texts_[where]->programs.end() && t < texts_.size(); ++t) {
    where = t;
    it = texts_[t]->programs.find(after.program);
  }
  std::int32_t line = -1;  // before the first line
  if (it != texts_[where]->programs.end()) {
    line = it->second;
  } else {
    const std::string number = fmt::format("{}", after.program);
    where = file_of(number);
    if (where == 0) return fail({"call of a program that is not there", "P" + number, programs_there(), {}, after.at});
  }
  if (after.times == 0) return true;
  Call call;
  call.left = after.times;
  return enter(std::move(call), where, line, after.at);
}

bool Reader::give_back(const After& after) {
  Call& c = calls_.back();
  if (calls_.size() == 1)
    return fail({"M99, and nobody called", "M99", "M2 or M30 at the end of a program", {}, after.at});
  if (c.o_word) return fail({"M99 inside a sub", "M99", "endsub", {}, after.at});
  if (--c.left > 0) {
    next_ = c.begin + 1;
    text_ = c.text;
    c.repeats.clear();
    return true;
  }
  text_ = c.from_text;
  next_ = c.from_line;
  calls_.pop_back();
  machine_->at_text(static_cast<std::int16_t>(text_));
  return true;
}

}  // namespace

Outcome<Run> read(std::string_view text, const std::string& file, const Setting& setting) {
  return Reader(setting).run(text, file);
}

}  // namespace fettle::program
