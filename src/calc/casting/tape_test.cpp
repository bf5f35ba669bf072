#include "calc/casting/tape.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace fettle::casting {
namespace {

using testing::HasSubstr;

TapeOptions with_unit(const std::string& unit) {
  TapeOptions o;
  o.file = "castings.csv";
  o.unit = unit;
  return o;
}

std::string first_problem(std::string_view text, const TapeOptions& options) {
  const auto t = read_tape(text, options);
  return t.ok() ? "no problem" : say(t.problem());
}

TEST(Tape, ReadsFractionsOfAnInch) {
  TapeOptions o;
  o.columns = {{"long", {}, 0.160, false, true}, {"core x", {}, 0, true, true}};
  const auto t = read_tape("no,long [in],core x [in]\n1,6-5/16,-1/32\n2,6 1/4,0\n", o);
  ASSERT_TRUE(t.ok()) << say(t.problem());
  EXPECT_DOUBLE_EQ(t->rows[0].values[0], 6.3125 * 0.0254);
  EXPECT_DOUBLE_EQ(t->rows[0].values[1], -0.0254 / 32);
  EXPECT_DOUBLE_EQ(t->rows[1].values[0], 6.25 * 0.0254);
  for (const char* bad : {"6-5/0", "6/", "/16", "5/16/2", "1/2 in"})
    EXPECT_FALSE(read_tape(std::string("no,long [in],core x [in]\n1,") + bad + ",0\n", o).ok()) << bad;
  const auto slip = read_tape("no,long [in],core x [in]\n1,63-5/16,0\n", o);
  ASSERT_FALSE(slip.ok());
  EXPECT_EQ(slip.problem().expected, "about 6.2992 in");  // as the table's reader thinks
}

TEST(Tape, PlainTable) {
  const auto t = read_tape("no,thick,width,warp\n1,40.3,97.5,0.18\n\n# a remark\n2,39.9,97.4,0.20\n", with_unit("mm"));
  ASSERT_TRUE(t.ok()) << say(t.problem());
  ASSERT_EQ(t->rows.size(), 2U);
  EXPECT_EQ(t->rows[1].casting, "2");
  EXPECT_EQ(t->rows[1].line, 5);
  EXPECT_DOUBLE_EQ(t->rows[0].values[1], 0.0975);
  EXPECT_EQ(t->column("warp"), 2);
  EXPECT_EQ(t->column("length"), -1);
}

TEST(Tape, GermanTable) {
  const auto t = read_tape(
      "Nr;Dicke [mm];Breite [mm];Länge [mm];Kern-Ø [mm];Kernversatz X [mm];Verzug [mm];Bemerkung\r\n"
      "1;40,3;97,5;136,1;45,9;-0,4;0,180;Kante hart\r\n",
      with_unit(""));
  ASSERT_TRUE(t.ok()) << say(t.problem());
  EXPECT_TRUE(t->decimal_comma);
  EXPECT_EQ(t->separator, ';');
  EXPECT_THAT(t->columns, testing::ElementsAre("thick", "width", "length", "coreD", "coreX", "warp"));
  EXPECT_DOUBLE_EQ(t->rows[0].values[0], 0.0403);
  EXPECT_DOUBLE_EQ(t->rows[0].values[4], -0.0004);
}

TEST(Tape, UnitsInTheHeader) {
  for (const char* head : {"thick mm", "thick [mm]", "thick (mm)", "thick_mm", "Thick, mm"}) {
    const auto t = read_tape(std::string("no\t") + head + "\n1\t40.3\n", with_unit(""));
    ASSERT_TRUE(t.ok()) << head << ": " << say(t.problem());
    EXPECT_DOUBLE_EQ(t->rows[0].values[0], 0.0403) << head;
  }
  const auto inches = read_tape("no;thick in;warp thou\n7;1.5;8\n", with_unit("mm"));
  ASSERT_TRUE(inches.ok()) << say(inches.problem());
  EXPECT_NEAR(inches->rows[0].values[0], 0.0381, 1e-15);
  EXPECT_NEAR(inches->rows[0].values[1], 8 * 25.4e-6, 1e-15);
}

TEST(Tape, NoUnitIsRefusedWithTheGuess) {
  TapeOptions o = with_unit("");
  for (TapeColumn& c : o.columns)
    if (c.name == "width") c.expected = 0.0971;
  EXPECT_THAT(first_problem("no,thick,width\n1,40.3,97.5\n", o), HasSubstr("97.5 next to a size of 97.1"));
  EXPECT_THAT(first_problem("no,thick,width\n1,40.3,97.5\n", o), HasSubstr("looks like mm"));
  EXPECT_THAT(first_problem("no,thick,width\n1,1.59,3.84\n", o), HasSubstr("looks like in"));
  EXPECT_THAT(first_problem("no,thick,width\n1,40.3,97.5\n", with_unit("")), HasSubstr("castings.csv:1:4: no unit"));
  EXPECT_THAT(first_problem("no,thick mm,width\n1,40.3,97.5\n", o), HasSubstr("castings.csv:1:13: no unit"));
}

TEST(Tape, EveryErrorWithItsPlace) {
  const auto where = [](std::string_view text, int line, int column, const char* word) {
    const auto t = read_tape(text, with_unit("mm"));
    ASSERT_FALSE(t.ok()) << text;
    EXPECT_EQ(t.problem().where.line, line) << say(t.problem());
    EXPECT_EQ(t.problem().where.column, column) << say(t.problem());
    EXPECT_THAT(say(t.problem()), HasSubstr(word));
  };
  where("no,thick\n1,x\n", 2, 3, "no number");
  where("no,thick\n1,\n", 2, 3, "empty cell");
  where("no,thick\n1,40.3,5\n", 2, 1, "another number of cells");
  where("no,thick\n1,40,3\n", 2, 1, "semicolons");
  where("no,thik\n1,40\n", 1, 4, "thick");
  where("no,thick,Thickness\n1,40,40\n", 1, 10, "twice");
  where("no,thick\n1,40\n1,41\n", 3, 1, "same casting");
  where("no,thick\n1,-40\n", 2, 3, "negative");
  where("no,thick\n1,40000\n", 2, 3, "10 m");
  where("no,thick [ft]\n1,40\n", 1, 4, "unknown unit");
  where("no;thick\n1;1,234\n", 2, 3, "thousands");
  where("no;thick;width\n1;40,3;97.5\n", 1, 1, "mixes");
  where("no,thick\n", 1, 1, "no castings");
  where("no,notes\n1,x\n", 1, 1, "no column");
  where("", 1, 1, "empty");
  where("no,thick\n1,\xff\n", 1, 1, "UTF-8");
  where("no,thick\n1,nan\n", 2, 3, "no number");
  where("no,thick\n1,inf\n", 2, 3, "no number");
  where("no,thick\n1,40 mm\n", 2, 3, "no number");
  where("Ø-Nr;ä\n", 1, 1, "unknown column");
  EXPECT_FALSE(read_tape("no,thick\n1,40\n", with_unit("kg")).ok());
}

TEST(Tape, ASlipIsSeen) {
  TapeOptions o = with_unit("mm");
  for (TapeColumn& c : o.columns)
    if (c.name == "width") c.expected = 0.0971;
  EXPECT_THAT(first_problem("no,width\n1,97.5\n2,9.75\n", o), HasSubstr("castings.csv:3:3"));
  o.columns[2].required = true;
  EXPECT_THAT(first_problem("no,width\n1,97.5\n", o), HasSubstr("a column is missing"));
}

TEST(Tape, CollectsAll) {
  const auto t = read_tape("no,thick,widht\n1,x,2\n2,,3\n", with_unit("mm"));
  ASSERT_FALSE(t.ok());
  EXPECT_EQ(t.problems().size(), 3U);
}

}  // namespace
}  // namespace fettle::casting
