// Nothing a person or a file can hand over crashes or hangs the readers, and every place named lies in the text.
#include <gtest/gtest.h>

#include <random>
#include <string>

#include "base/text.h"
#include "unit/quantity.h"

using namespace fettle;
using unit::Kind;

namespace {
template <class T>
void check(const std::string& text, const Outcome<T>& o) {
  if (o.ok()) return;
  for (const Problem& p : o.problems()) {
    ASSERT_EQ(p.fault, Fault::bad_input) << text;
    ASSERT_FALSE(p.what.empty()) << text;
    ASSERT_GE(p.where.column, 1) << text << ": " << p.what;
    ASSERT_LE(p.where.column, static_cast<int>(base::code_points(text)) + 1) << text << ": " << p.what;
  }
}
void read_all(const std::string& text) {
  for (int k = 0; k <= static_cast<int>(Kind::conductivity); k += 3) {
    const Kind kind = static_cast<Kind>(k);
    check(text, unit::parse(text, kind));
    check(text, unit::parse_limits(text, kind));
    check(text, unit::parse_banded(text, kind));
    check(text, unit::parse_spread(text, kind));
  }
  check(text, unit::parse_limits(text));
  check(text, unit::parse_points(text));
  check(text, unit::parse_sizes(text));
  check(text, unit::parse_thread(text));
}
}  // namespace

TEST(Garbage, RandomPiecesNeverCrash) {
  const char* pieces[] = {"1",   "0",  "25.4", "1,5", "-",  "+",  "±", "/",   ".",      "..",      "...", ",",
                          ";",   " ",  "mm",   "in",  "N",  "m",  "·", "°",   "C",      "K",       "%",   "(",
                          ")",   "Ø",  "H7",   "g6",  "M8", "x",  "×", "1/4", "#10",    "-20",     "UNC", "max",
                          "min", "<=", ">=",   "e5",  "µ",  "\"", "'", "s",   "normal", "uniform", "to",  "EUR",
                          "/h",  "1/", "^",    "2",   "½",  "…",  "−", "e",   "\t",     "\x01",    "☃",   "9999999999"};
  std::mt19937_64 random(42);
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    for (auto n = random() % 9; n > 0; --n) text += pieces[random() % std::size(pieces)];
    read_all(text);
  }
}

TEST(Garbage, RandomBytesNeverCrash) {
  std::mt19937_64 random(43);
  for (int i = 0; i < 5000; ++i) {
    std::string text;
    for (auto n = random() % 20; n > 0; --n) text += static_cast<char>(random() % 256);
    read_all(text);
  }
}

TEST(Garbage, LongTextsAreRefusedAtOnce) {
  for (const std::string& text :
       {std::string(1 << 20, '9'), std::string(1 << 20, ' '), std::string(1 << 20, '('),
        std::string(500, '9') + "/" + std::string(490, '7') + " in", std::string("1e") + std::string(200, '9') + " mm",
        std::string("1e-") + std::string(200, '9') + " mm"})
    read_all(text);
  EXPECT_FALSE(unit::parse(std::string(2000, '9') + " mm", Kind::length).ok());
  EXPECT_FALSE(unit::parse("1e999999999999 mm", Kind::length).ok());
  EXPECT_EQ(unit::parse("1e-999999999999 mm", Kind::length)->si, 0);
}
