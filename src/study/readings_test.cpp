#include "study/readings.h"

#include <gtest/gtest.h>

#include "base/text.h"

namespace fettle::study {
namespace {

using unit::Kind;

std::string first(const Outcome<ReadingTable>& t) { return t.ok() ? "read" : say(t.problem()); }
template <class T>
std::string first(const Outcome<std::vector<T>>& t) {
  return t.ok() ? "read" : say(t.problem());
}
bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

TEST(Readings, CommaSemicolonTabDecimalCommaAndQuotes) {
  for (const char* text : {"no,F4 [mm]\n1,22.0054\n2,22.0021\n", "no;F4 [mm]\r\n1;22,0054\r\n2;22,0021\r\n",
                           "\xEF\xBB\xBFno\tF4 (mm)\n\n# a remark\n1\t22.0054\n2\t22.0021",
                           "no,\"F4 [mm]\"\n1,\"22,0054\"\n2,\"22,0021\"\n", "no,F4 mm\n1,22.0054\n2,22.0021\n"}) {
    const auto t = cut_table(text, "x.csv");
    ASSERT_TRUE(t.ok()) << text << say(t.problem());
    const auto x = numbers_of(*t, t->find({"f4"}), Kind::length);
    ASSERT_TRUE(x.ok()) << text << say(x.problem());
    EXPECT_NEAR((*x)[0], 22.0054e-3, 1e-12);
    EXPECT_NEAR((*x)[1], 22.0021e-3, 1e-12);
    EXPECT_EQ(words_of_column(*t, 0)->at(1), "2");
  }
}

TEST(Readings, DifferencesAndUnits) {
  const auto t = cut_table("part,F4 above 22 [mm],t [°F]\na,.0054,68\nb,-0.0021,78.8\n", "x.csv");
  ASSERT_TRUE(t.ok());
  EXPECT_EQ(t->columns[1].name, "F4");
  EXPECT_EQ(t->columns[1].above, "22");
  EXPECT_NEAR(numbers_of(*t, 1, Kind::length)->at(0), 22.0054e-3, 1e-12);
  EXPECT_NEAR(numbers_of(*t, 1, Kind::length)->at(1), 21.9979e-3, 1e-12);
  EXPECT_NEAR(numbers_of(*t, 2, Kind::temperature)->at(1), 299.15, 1e-9);
  const auto plain = cut_table("F4\n22.0054\n", "x.csv");
  EXPECT_NEAR(numbers_of(*plain, 0, Kind::length, "mm")->at(0), 22.0054e-3, 1e-12);
  EXPECT_NEAR(numbers_of(*plain, 0, Kind::length, "in")->at(0), 22.0054 * 0.0254, 1e-12);
  EXPECT_EQ(numbers_of(*plain, 0, Kind::number)->at(0), 22.0054);
}

TEST(Readings, EverySlipHasItsPlace) {
  EXPECT_TRUE(has(first(cut_table("", "x.csv")), "x.csv:1:1: the table is empty"));
  EXPECT_TRUE(has(first(cut_table("F4 [mm]\n", "x.csv")), "no readings"));
  EXPECT_TRUE(has(first(cut_table("\xFF", "x.csv")), "UTF-8"));
  EXPECT_TRUE(has(first(cut_table("no,F4,F4 [mm]\n1,2,3\n", "x.csv")), "x.csv:1:7: this column stands twice"));
  EXPECT_TRUE(has(first(cut_table("no,F4 [mm]\n1,22,0054\n", "x.csv")), "x.csv:2:1: the row has another number"));
  EXPECT_TRUE(has(first(cut_table("no,F4 [mm]\n1,22,0054\n", "x.csv")), "part the cells by semicolons"));
  const auto numbers = [&](const char* text, const char* fallback = "") {
    const auto t = cut_table(text, "x.csv");
    EXPECT_TRUE(t.ok()) << text;
    return t.ok() ? first(numbers_of(*t, t->find({"f4"}), Kind::length, fallback)) : "";
  };
  EXPECT_TRUE(has(numbers("no,F4\n1,22\n"), "x.csv:1:4: no unit"));
  EXPECT_TRUE(has(numbers("no,F4 [mmm]\n1,22\n"), "x.csv:1:4: unknown unit of a length"));
  EXPECT_TRUE(has(numbers("no,F4 [N]\n1,22\n"), "x.csv:1:4"));
  EXPECT_TRUE(has(numbers("no,F4 [mm]\n1,\n2,22\n"), "x.csv:2:3: empty cell"));
  EXPECT_TRUE(has(numbers("no,F4 [mm]\n1,22\n2,2x\n"), "x.csv:3:3: no number"));
  EXPECT_TRUE(has(numbers("no,F4 [mm]\n1,nan\n"), "x.csv:2:3: no number"));
  EXPECT_TRUE(has(numbers("no,F4 [mm]\n1,22 in\n"), "x.csv:2:3: no number"));
  EXPECT_TRUE(has(numbers("no,F4 above x [mm]\n1,22\n"), "x.csv:1:4: no number after"));
  EXPECT_TRUE(has(numbers("no;F4 [mm]\n1;22,004\n"), "x.csv:2:3: the comma could part thousands"));
  EXPECT_TRUE(has(numbers("no;F4 [mm]\n1;22,0041\n2;22.0043\n"), "mixes decimal points and decimal commas"));
  EXPECT_EQ(numbers("no;F4 above 22 [mm]\n1;0,004\n2;0,005\n"), "read") << "nobody parts thousands after a zero";
  const auto t = cut_table("no,F4 [mm]\n,22\n", "x.csv");
  EXPECT_TRUE(has(first(words_of_column(*t, 0)), "x.csv:2:1: empty cell"));
}

}  // namespace
}  // namespace fettle::study
