#pragma once
// The words of one line with their values, ready to be run.
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "program/parameters.h"
#include "program/scan.h"

namespace fettle::program {

/// Modal groups of G words (NISTIR 6556, table 4).
enum Group : std::int8_t {
  once = 0,
  motion = 1,
  plane = 2,
  distance = 3,
  feed_mode = 5,
  units = 6,
  radius_side = 7,
  length_offset = 8,
  return_level = 10,
  cycle_off = 11,
  work_zero = 12,
  path_mode = 13,
};

/// What is wrong on a line, and at which byte of it.
struct Slip {
  std::string what, found, expected, nearest;
  std::size_t at = 0;
  bool any() const { return !what.empty(); }
};

struct Block {
  std::array<double, 26> value;      // by letter; only those in `has` mean something
  std::array<std::uint16_t, 26> at;  // byte of the letter
  std::uint32_t has = 0;             // a bit a letter
  std::array<std::int16_t, 14> g;    // ten times the code, -1 none; by Group
  std::array<std::uint16_t, 14> g_at;
  std::uint32_t g_groups = 0;     // a bit a group
  std::array<std::int16_t, 4> m;  // in the order they stand
  std::array<std::uint16_t, 4> m_at;
  int m_count = 0;
  struct Set {
    int index = 0;
    bool named = false;
    double value = 0;
  };
  std::vector<Set> settings;  // they take effect together, after all values of the line

  bool with(char letter) const { return (has >> static_cast<unsigned>(letter - 'a') & 1U) != 0; }
  double of(char letter) const { return value[static_cast<std::size_t>(letter - 'a')]; }
  std::size_t where(char letter) const { return at[static_cast<std::size_t>(letter - 'a')]; }
  int code(Group group) const {
    return (g_groups >> static_cast<unsigned>(group) & 1U) != 0 ? g[static_cast<std::size_t>(group)] : -1;
  }
  std::size_t where(Group group) const { return code(group) < 0 ? 0 : g_at[static_cast<std::size_t>(group)]; }
};

/// Works words off against the parameters.
class Values {
 public:
  Values(Parameters& parameters, const Names& names) : parameters_(parameters), names_(names) {}
  /// The word's value; 0 with `slip` when there is none.
  double of(const Text& text, const Word& word) {
    return word.formula < 0 ? word.value : formula(text, text.formulas[static_cast<std::size_t>(word.formula)]);
  }
  /// The line's words into the block; false with `slip`.
  bool gather(const Text& text, const Line& line, Block& block);
  /// Parameter numbers read though nobody set them, once each, with their byte.
  std::vector<std::pair<int, std::size_t>> unset;
  Slip slip;

 private:
  double formula(const Text& text, const Formula& f);
  double parameter(double number, std::size_t at);
  double one(const Step& s, double a);
  double two(const Step& s, double a, double b);
  double fail(std::size_t at, std::string what, std::string found = {}, std::string expected = {},
              std::string nearest = {});
  bool code(const Word& w, double value, Block& block);
  bool setting(const Text& text, const Word& w, double value, Block& block);
  bool everywhere(int name) const { return names_[static_cast<std::size_t>(name)][0] == '_'; }

  Parameters& parameters_;
  const Names& names_;
  std::array<double, 320> stack_{};
};

/// x as a whole number when it is within 0.0001 of one (the report's tolerance).
bool whole(double x, long& out);

}  // namespace fettle::program
