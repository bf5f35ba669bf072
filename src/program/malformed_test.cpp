// cases/programs_malformed.txt: each program has one fault, and the reader names it with line and column. And programs
// spoilt at random, the same ones every time: each is read or refused, at once.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <random>

#include "base/text.h"
#include "program/read.h"

namespace fettle::program {
namespace {

struct Case {
  int row = 0;
  std::string says, text;
  int line = 1, column = 1;
};

std::vector<Case> cases() {
  const auto file = base::read_file(FETTLE_SOURCE_DIR "/cases/programs_malformed.txt");
  std::vector<Case> all;
  int row = 0;
  for (const std::string& l : base::split(*file, '\n')) {
    ++row;
    const std::size_t cut = l.find(" :: ");
    if (l.empty() || l[0] == '#' || cut == std::string::npos) continue;
    Case c;
    c.row = row;
    c.says = l.substr(0, cut);
    std::string program = l.substr(cut + 4);
    const bool bare = program[0] == '!';
    if (bare) program.erase(0, 1);
    if (!bare) program += "|M2";
    int line = 1, column = 1;
    for (const char ch : program) {
      if (ch == '^') {
        c.line = line;
        c.column = column;
        continue;
      }
      c.text += ch == '|' ? '\n' : ch;
      column = ch == '|' ? 1 : column + 1;
      line += ch == '|';
    }
    all.push_back(std::move(c));
  }
  return all;
}

Setting small() {
  Setting s;
  s.lengths = {{1, 0.1}, {2, 0.2}};
  s.most_moves = 20'000;
  return s;
}

TEST(Malformed, EachFaultIsNamedWithLineAndColumn) {
  const std::vector<Case> all = cases();
  EXPECT_GE(all.size(), 200U);
  for (const Case& c : all) {
    SCOPED_TRACE(fmt::format("row {}: {}", c.row, c.text));
    const auto run = read(c.text, "p.nc", small());
    EXPECT_FALSE(run.ok());
    if (run.ok()) continue;
    const Problem& p = run.problem();
    EXPECT_NE(p.what.find(c.says), std::string::npos) << say(p);
    EXPECT_EQ(p.where.file, "p.nc");
    EXPECT_EQ(p.where.line, c.line) << say(p);
    EXPECT_EQ(p.where.column, c.column) << say(p);
    EXPECT_EQ(run.problems().size(), 1U) << say(run.problems().back());
    EXPECT_EQ(p.fault, Fault::bad_input);
  }
}

TEST(Malformed, AllErrorsOfGrammarOfAFileAreSaid) {
  const auto run = read("G0 X1 X2\nG5\n(open\nG1 F100 X[1+\no7 endsub\nM2\n", "p.nc", small());
  ASSERT_FALSE(run.ok());
  ASSERT_EQ(run.problems().size(), 5U);
  for (std::size_t i = 0; i < 5; ++i) EXPECT_EQ(run.problems()[i].where.line, static_cast<int>(i) + 1);
}

TEST(Malformed, TheNearestRightWordIsSaid) {
  EXPECT_EQ(read("G82.9 X1\nM2", "p", small()).problem().nearest, "G83");
  EXPECT_EQ(read("M10\nM2", "p", small()).problem().nearest, "M9");
  EXPECT_EQ(read("o1 endsubb\nM2", "p", small()).problem().nearest, "endsub");
  EXPECT_EQ(read("o1 whlie [1]\nM2", "p", small()).problem().nearest, "while");
  EXPECT_EQ(read("G0 X[sqtr[4]]\nM2", "p", small()).problem().nearest, "sqrt");
  EXPECT_EQ(read("o12 sub\no12 endsub\no21 call\nM2", "p", small()).problem().nearest, "o12");
}

TEST(Malformed, AFaultInAFurtherFileNamesThatFile) {
  Setting s = small();
  s.subprograms["O77.nc"] = "G0 X1\nG0 X1 X2\nM99\n";
  const auto run = read("M98 P77\nM2", "main.nc", s);
  ASSERT_FALSE(run.ok());
  EXPECT_EQ(run.problem().where.file, "O77.nc");
  EXPECT_EQ(run.problem().where.line, 2);
}

TEST(Malformed, ALargeFileOfFaultsIsRefusedAtOnce) {
  std::string text, names;
  for (int i = 0; i < 200'000; ++i) {
    text += "G5 X\n";
    names += fmt::format("#<n{}>=1 G43 H0\n", i);
  }
  const auto faults = read(text, "p.nc", small());
  ASSERT_FALSE(faults.ok());
  EXPECT_EQ(faults.problems().size(), 400U);
  Setting s = small();
  s.most_moves = 1'000'000;
  const auto many = read(names + "M2\n", "p.nc", s);
  ASSERT_TRUE(many.ok()) << say(many.problem());
  EXPECT_LE(many->notes.size(), 60U);
}

/// A program that has something of everything.
const char* const seed_text = R"(%
O1000 (seed)
N5 G21 G17 G40 G90 G94 G98 T1 M6
#1=[2.0/3*1.5-5.5/11.0] #<depth>=-5.5 #<_all>=sqrt[16]
G10 L2 P1 X3.5 Y17.2 Z0
G10 L20 P3 X1
S500 M3 M8
G54 G43 H1 G0 X[#1+2] Y#<_all> Z50
G83 X5 Y6 R2 Z#<depth> Q1.1 F100
G91 X10 L3
G90 G80
G2 X20 Y16 R40
G18 G3 X[#1+20] Z55 R30
G17 G1 X[atan[2]/[1+3]] F200
o100 if [#1 EQ 0.5]
  G0 Z60
o100 elseif [#1 LT 0]
  M0
o100 else
  G4 P0.5
o100 endif
o101 repeat [3]
  G91 G1 X1
o101 endrepeat
o102 while [#2 LT 3]
  #2=[#2+1]
o102 endwhile
WHILE [#3 LT 2] DO1
IF [#3 EQ 1] GOTO 20
#3=[#3+1]
END1
N20 G90 M98 P2000 L2
o200 sub
  G0 X[#1*2]
  o200 return
o200 endsub
o200 call [5] [6]
G54.1 P3 G0 X0
G92 X5
G38.2 Z-10 F50
G53 G0 Z0
/G0 X99
M30
O2000
G0 X1 Y1
M99
%
)";

TEST(Malformed, ProgramsSpoiltAtRandomNeverBreakTheReader) {
  const std::string good = seed_text;
  const auto whole = read(good, "p.nc", small());
  ASSERT_TRUE(whole.ok()) << say(whole.problem());
  std::mt19937 draw(20261102);
  const std::string letters = "GMXYZIJKRPQLFSTHNO#[]()=+-*/.%<> 0123456789\n\r\t;abdefilnorstw\xC3\x00\xFF";
  int read_well = 0, refused = 0;
  for (int n = 0; n < 30'000; ++n) {
    std::string text = good;
    const std::size_t changes = 1 + draw() % 4;
    for (std::size_t k = 0; k < changes && !text.empty(); ++k) {
      const std::size_t at = draw() % text.size();
      switch (draw() % 5) {
        case 0:
          text[at] = letters[draw() % letters.size()];
          break;
        case 1:
          text.erase(at, 1 + draw() % 6);
          break;
        case 2:
          text.insert(at, 1, letters[draw() % letters.size()]);
          break;
        case 3:
          text.insert(at, text.substr(draw() % text.size(), draw() % 30));
          break;
        default:
          text.resize(std::max<std::size_t>(1, at));
          break;
      }
    }
    Setting s = small();
    s.most_moves = 2000;
    const auto run = read(text, "p.nc", s);
    if (run.ok()) {
      ++read_well;
      continue;
    }
    ++refused;
    for (const Problem& p : run.problems()) {
      ASSERT_GE(p.where.line, 1) << text;
      ASSERT_GE(p.where.column, 1) << text;
      ASSERT_FALSE(p.what.empty());
      ASSERT_EQ(p.fault, Fault::bad_input);
    }
  }
  EXPECT_GT(refused, 20'000);
  EXPECT_GT(read_well, 100);
}

}  // namespace
}  // namespace fettle::program
