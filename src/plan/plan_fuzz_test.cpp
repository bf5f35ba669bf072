// Thousands of spoilt demo plans, the same ones every time: each is read, or gives problems that name a line. What is
// read can be written and read again.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cstdint>
#include <string>
#include <vector>

#include "base/text.h"
#include "plan/read.h"
#include "plan/toml_text.h"

using namespace fettle;

namespace {

/// A small counter-based source of numbers (splitmix64): mutant n is the same on every machine.
struct Dice {
  std::uint64_t state;
  std::uint64_t next() {
    state += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }
  std::size_t below(std::size_t n) { return n == 0 ? 0 : static_cast<std::size_t>(next() % n); }
};

const std::vector<std::string> scraps = {"\"",
                                         "'",
                                         "\"\"\"",
                                         "[[",
                                         "]]",
                                         "[",
                                         "]",
                                         "{",
                                         "}",
                                         "=",
                                         "#",
                                         "\\",
                                         ".",
                                         ",",
                                         "±",
                                         "Ø",
                                         "µ",
                                         "°",
                                         "\xE9",
                                         "\xF0\x9F",
                                         "\xEF\xBB\xBF",
                                         "\r",
                                         "\n",
                                         "\t",
                                         "mm",
                                         "in",
                                         "kN",
                                         "N·m",
                                         "nan",
                                         "inf",
                                         "1e999",
                                         "-0",
                                         "1,234 mm",
                                         "9999999999999999999",
                                         "..",
                                         "+0.1/-0.2",
                                         "H7",
                                         "M8x1.25",
                                         "3/8-16 UNC",
                                         "hard jaw",
                                         "F1.+x",
                                         "F7@99",
                                         "fettle = 0",
                                         "fettle = 1",
                                         "[plan]",
                                         "[pallet]",
                                         "[[operation]]",
                                         "[[operation.cut]]",
                                         "[[feature]]",
                                         "over = \"F1\"",
                                         "makes = [\"F1\", \"F1\"]",
                                         "shop = \"plan.toml\"",
                                         "pallet = \"shop.toml\"",
                                         "id = \"F1\"",
                                         "{ a = { b = { c = 1 } } }",
                                         "[[[[[[[[",
                                         "true",
                                         "2026-11-02",
                                         "\"2 mm (0.25..3.9 mm)\"",
                                         "\"±1, ±2, ±3 mm\""};

std::vector<std::string> lines_of(const std::string& text) { return base::split(text, '\n'); }

std::string spoil_lines(const std::string& text, Dice& d) {
  std::vector<std::string> lines = lines_of(text);
  const std::size_t i = d.below(lines.size()), j = d.below(lines.size());
  switch (d.below(6)) {
    case 0:
      lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(i));
      break;
    case 1:
      lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(i), lines[j]);
      break;
    case 2:
      std::swap(lines[i], lines[j]);
      break;
    case 3: {  // the value of one line behind the key of another
      const std::size_t a = lines[i].find('='), b = lines[j].find('=');
      if (a != std::string::npos && b != std::string::npos) lines[i] = lines[i].substr(0, a) + lines[j].substr(b);
      break;
    }
    case 4:
      lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(i), scraps[d.below(scraps.size())]);
      break;
    default: {
      const std::size_t a = lines[i].find('=');
      if (a != std::string::npos) lines[i] = lines[i].substr(0, a) + "= " + scraps[d.below(scraps.size())];
    }
  }
  return base::join(lines, "\n");
}

std::string spoil_bytes(std::string text, Dice& d) {
  std::size_t at = d.below(text.size());
  if (d.below(3) == 0) {  // another digit: often still a plan
    at = text.find_first_of("0123456789", at);
    if (at != std::string::npos) text[at] = static_cast<char>('0' + d.below(10));
    return text;
  }
  switch (d.below(5)) {
    case 0:
      text[at] = static_cast<char>(d.below(256));
      break;
    case 1:
      text.erase(at, 1 + d.below(8));
      break;
    case 2:
      text.insert(at, scraps[d.below(scraps.size())]);
      break;
    case 3:
      text = text.substr(0, at);
      break;
    default:
      text.insert(at, text.substr(d.below(text.size()), 1 + d.below(60)));
  }
  return text;
}

std::string mutant(std::string text, std::uint64_t number) {
  Dice d{number * 0x2545F4914F6CDD1DULL + 1};
  const std::size_t times = 1 + d.below(2);
  for (std::size_t k = 0; k < times && !text.empty(); ++k)
    text = d.below(2) == 0 ? spoil_lines(text, d) : spoil_bytes(text, d);
  return text;
}

void look_at_problems(const Problems& problems, const std::string& text, const std::string& shop,
                      std::uint64_t number) {
  for (const Problem& p : problems) {
    ASSERT_EQ(p.fault, Fault::bad_input) << number << ": " << say(p);
    ASSERT_FALSE(p.what.empty());
    ASSERT_GE(p.where.line, 1) << number << ": " << say(p);
    ASSERT_GE(p.where.column, 1) << number << ": " << say(p);
    const std::string& file = p.where.file == "plan.toml" ? text : shop;
    ASSERT_LE(p.where.line, static_cast<int>(lines_of(file).size())) << number << ": " << say(p);
    ASSERT_LE(say(p).size(), 2000U) << number;
  }
}

}  // namespace

TEST(PlanFuzz, TwoThousandFourHundredSpoiltPlansEachReadOrNameALine) {
  const std::string folder = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/";
  const std::string plans[2] = {base::read_file(folder + "plan-0.toml").value(),
                                base::read_file(folder + "plan-1.toml").value()};
  const std::string shop = base::read_file(folder + "shop.toml").value();
  int read = 0, refused = 0;
  for (std::uint64_t n = 0; n < 2400; ++n) {
    const bool spoil_shop = n % 7 == 0;
    const std::string text = spoil_shop ? plans[0] : mutant(plans[n % 2], n),
                      stock = spoil_shop ? mutant(shop, n) : shop;
    const plan::Loader load = [&](const std::string& path) -> Outcome<std::string> {
      if (path == "shop.toml") return stock;
      if (path == "plan.toml") return text;
      return bad("cannot read the file: there is none", path);
    };
    const auto p = plan::read_plan(text, "plan.toml", load);
    if (!p.ok()) {
      ++refused;
      look_at_problems(p.problems(), text, stock, n);
      if (testing::Test::HasFatalFailure()) return;
      continue;
    }
    ++read;
    const std::string written = plan::write_plan(*p);
    const auto again = plan::read_plan(written, "plan.toml", load);
    ASSERT_TRUE(again.ok()) << n << ": " << say(again.problem());
    const auto a = plan::leaves(*p), b = plan::leaves(*again);
    ASSERT_EQ(a.size(), b.size()) << n;
    for (std::size_t i = 0; i < a.size(); ++i) {
      if (a[i].key == "fettle") continue;  // an old version is written in the new form
      ASSERT_EQ(a[i].key, b[i].key) << n;
      ASSERT_EQ(a[i].typed, b[i].typed) << n << " " << a[i].key;
      ASSERT_EQ(a[i].si, b[i].si) << n << " " << a[i].key;
    }
    for (const plan::Leaf& l : a)  // the place of every value is inside its file
      ASSERT_LT(plan::byte_at(p->files[static_cast<std::size_t>(l.place.file)].text, l.place.line, l.place.column),
                p->files[static_cast<std::size_t>(l.place.file)].text.size())
          << n << " " << l.key;
  }
  EXPECT_GT(read, 300) << "mutants that are all refused prove little";
  EXPECT_GT(refused, 1000);
}
