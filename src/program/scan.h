#pragma once
// A text of RS-274 as words, expressions and jumps, each with its place. Nothing is run here; every error of grammar
// that can be seen without running is found. Source of the rules: NISTIR 6556, chapter 3.3; the O words and the classic
// IF, GOTO, WHILE, M98 and M99 are common practice.
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "base/outcome.h"
#include "program/moves.h"

namespace fettle::program {

/// Steps of an expression in the order they are worked off, on a stack of numbers.
enum class Op : std::uint8_t {
  number,    // push `value`
  numbered,  // push parameter number `value`
  indexed,   // parameter whose number is on the stack
  named,     // push the named parameter number `value`
  negative,
  power,
  times,
  over,
  mod,
  plus,
  minus,
  both,    // and
  either,  // or
  one_of,  // xor
  equal,
  unequal,
  greater,
  at_least,
  less,
  at_most,
  abs,
  acos,
  asin,
  atan,
  cos,
  exp,
  fix,
  fup,
  ln,
  round,
  sin,
  sqrt,
  tan,
};
struct Step {
  double value = 0;
  Op op = Op::number;
  std::uint16_t at = 0;  // byte of the line
};
struct Formula {
  std::uint32_t first = 0;
  std::uint32_t count = 0;
};

/// One word. `letter` is small; '#' is a setting of the parameter `value` (or of the formula's number), '<' one of the
/// named parameter `value`, and the next word, '=', is what it is set to.
struct Word {
  double value = 0;  // of a G word: ten times its number
  std::int32_t formula = -1;
  std::uint16_t at = 0;  // byte of the line
  char letter = 0;
};

enum class Flow : std::uint8_t {
  words,  // no jump
  program_number,
  sub,
  end_sub,
  call,
  leave,  // return
  when,   // if
  or_when,
  otherwise,
  end_when,
  loop,  // while … endwhile
  end_loop,
  begin_do,  // do … while
  end_do,
  repeat,
  end_repeat,
  break_off,
  go_on,  // continue
  jump,
  jump_when,     // IF [..] GOTO
  then,          // IF [..] THEN words
  classic_loop,  // WHILE [..] DO
  classic_end,
};
/// What a line with a jump needs. Lines count from 0 here.
struct Way {
  std::string name;          // of an O word
  std::vector<Word> values;  // condition, count, target, arguments
  std::int32_t next = -1;    // next branch of an `if`; else the other end of the block
  std::int32_t end = -1;     // endif
  std::uint16_t at = 0;
};

struct Line {
  std::uint32_t first = 0;  // of its words
  std::int32_t way = -1;
  std::int32_t label = -1;  // N
  std::uint16_t count = 0;
  Flow flow = Flow::words;
  bool skip = false;  // behind a slash
};

/// Names of parameters, each with a number.
struct Names {
  std::vector<std::string> list;
  std::unordered_map<std::string, int> index;
  int number(const std::string& name) {
    const auto [it, fresh] = index.emplace(name, static_cast<int>(list.size()));
    if (fresh) list.push_back(name);
    return it->second;
  }
  const std::string& operator[](std::size_t i) const { return list[i]; }
};

/// So many errors are said of one text; what comes behind is not looked at.
constexpr std::size_t most_problems = 400;

/// A whole text, scanned.
struct Text {
  std::string name;
  std::string_view body;
  std::vector<Line> lines;
  std::vector<Word> words;
  std::vector<Step> steps;
  std::vector<Formula> formulas;
  std::vector<Way> ways;
  std::vector<Remark> remarks;
  std::map<std::string, std::int32_t> subs;                // O word -> its line
  std::map<std::int64_t, std::int32_t> programs;           // program number -> its line
  std::vector<std::int32_t> owner;                         // of each line: line of its program number; only with jumps
  std::unordered_map<std::uint64_t, std::int32_t> labels;  // owner and N -> line; -2 when it stands twice
  bool jumps = false, opened = false, closed = false;
  Problems problems;
  Problems notes;

  /// The problem at a line (from 0) and a byte of it.
  Problem at(std::int32_t line, std::size_t byte, std::string what, std::string found = {}, std::string expected = {},
             std::string nearest = {}) const;
  std::string_view line_text(std::int32_t line) const;
};

/// `names` are shared by all texts of a run: a named parameter is the same one in all of them.
Text scan(std::string_view body, std::string name, Names& names);

/// Modal group of ten times a G number, of an M number; -1: there is no such code here.
int group_of_g(int tenths);
int group_of_m(int number);
/// "38.2" of 382
std::string g_text(int tenths);
/// The problem's nearest code: "G83" for a G of 82.9.
std::string nearest_g(double number);
std::string nearest_m(double number);

/// Joins the ends of blocks; part of scan().
void link(Text& text);

}  // namespace fettle::program
