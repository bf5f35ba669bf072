#include "ref/casting_grades.h"

#include <array>
#include <cmath>

#include "base/text.h"

namespace fettle::ref {
namespace {

using std::size_t;
constexpr double m_per_mm = 1e-3;
constexpr double hair = 1e-9;  // 1 nm: 39.9 mm written in metres must not fall over a row's edge by its last bit
constexpr double none = 0;     // a cell the table leaves empty

struct DctRow {
  double up_to_mm;
  std::array<double, 16> mm;
};
constexpr DctRow dct_table[] = {
    {10, {.09, .13, .18, .26, .36, .52, .74, 1, 1.5, 2, 2.8, 4.2, none, none, none, none}},
    {16, {.1, .14, .2, .28, .38, .54, .78, 1.1, 1.6, 2.2, 3, 4.4, none, none, none, none}},
    {25, {.11, .15, .22, .3, .42, .58, .82, 1.2, 1.7, 2.4, 3.2, 4.6, 6, 8, 10, 12}},
    {40, {.12, .17, .24, .32, .46, .64, .9, 1.3, 1.8, 2.6, 3.6, 5, 7, 9, 11, 14}},
    {63, {.13, .18, .26, .36, .5, .7, 1, 1.4, 2, 2.8, 4, 5.6, 8, 10, 12, 16}},
    {100, {.14, .2, .28, .4, .56, .78, 1.1, 1.6, 2.2, 3.2, 4.4, 6, 9, 11, 14, 18}},
    {160, {.15, .22, .3, .44, .62, .88, 1.2, 1.8, 2.5, 3.6, 5, 7, 10, 12, 16, 20}},
    {250, {none, .24, .34, .5, .7, 1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 14, 18, 22}},
    {400, {none, none, .4, .56, .78, 1.1, 1.6, 2.2, 3.2, 4.4, 6.2, 9, 12, 16, 20, 25}},
    {630, {none, none, none, .64, .9, 1.2, 1.8, 2.6, 3.6, 5, 7, 10, 14, 18, 22, 28}},
    {1000, {none, none, none, none, 1, 1.4, 2, 2.8, 4, 6, 8, 11, 16, 20, 25, 32}},
    {1600, {none, none, none, none, none, 1.6, 2.2, 3.2, 4.6, 7, 9, 13, 18, 23, 29, 37}},
    {2500, {none, none, none, none, none, none, 2.6, 3.8, 5.4, 8, 10, 15, 21, 26, 33, 42}},
    {4000, {none, none, none, none, none, none, none, 4.4, 6.2, 9, 12, 17, 24, 30, 38, 49}},
    {6300, {none, none, none, none, none, none, none, none, 7, 10, 14, 20, 28, 35, 44, 56}},
    {10000, {none, none, none, none, none, none, none, none, none, 11, 16, 23, 32, 40, 50, 64}},
};

struct RmaRow {
  double up_to_mm;
  std::array<double, 10> mm;
};
constexpr RmaRow rma_table[] = {
    {40, {.1, .1, .2, .3, .4, .5, .5, .7, 1, 1.4}},     {63, {.1, .2, .3, .3, .4, .5, .7, 1, 1.4, 2}},
    {100, {.2, .3, .4, .5, .7, 1, 1.4, 2, 2.8, 4}},     {160, {.3, .4, .5, .8, 1.1, 1.5, 2.2, 3, 4, 6}},
    {250, {.3, .5, .7, 1, 1.4, 2, 2.8, 4, 5.5, 8}},     {400, {.4, .7, .9, 1.3, 1.8, 2.5, 3.5, 5, 7, 10}},
    {630, {.5, .8, 1.1, 1.5, 2.2, 3, 4, 6, 9, 12}},     {1000, {.6, .9, 1.2, 1.8, 2.5, 3.5, 5, 7, 10, 14}},
    {1600, {.7, 1, 1.4, 2, 2.8, 4, 5.5, 8, 11, 16}},    {2500, {.8, 1.1, 1.6, 2.2, 3.2, 4.5, 6, 9, 13, 18}},
    {4000, {.9, 1.3, 1.8, 2.5, 3.5, 5, 7, 10, 14, 20}}, {6300, {1, 1.4, 2, 2.8, 4, 5.5, 8, 11, 16, 22}},
    {10000, {1.1, 1.5, 2.2, 3, 4.5, 6, 9, 12, 17, 24}},
};

// Every row of the geometrical tables is seven neighbours on this ladder; the row moves one rung per step of length and
// one per kind of tolerance.
constexpr double gct_ladder_mm[] = {.08, .12, .18, .27, .4, .6, .9, 1.4, 2, 3, 4.5, 7, 10, 15};
constexpr double gct_up_to_mm[] = {10, 30, 100, 300, 1000};

Problem bad_size(double size, double largest_mm) {
  return bad("a casting dimension must be above 0 and at most " + base::shortest(largest_mm) + " mm",
             base::shortest(size / m_per_mm) + " mm");
}

bool in_table(double size, double largest_mm) { return size > 0 && size <= largest_mm * m_per_mm + hair; }

}  // namespace

const std::string_view dct_source = "ISO 8062-3:2007, Table 2 (rows up to 400 mm read, larger ones from memory)";
const std::string_view rma_source = "ISO 8062-3:2007, RMAG table = ISO 8062:1994, Table 2 (cells from memory)";
const std::string_view gct_source =
    "ISO 8062-3:2007, Tables 3 to 6 (from memory, 19 of 20 cells of two tables confirmed)";

std::vector<GradeRow> dct_rows(int grade) {
  std::vector<GradeRow> rows;
  if (grade < 1 || grade > 16) return rows;
  double over = 0;
  for (const DctRow& r : dct_table) {
    const double mm = r.mm[static_cast<size_t>(grade - 1)];
    if (mm != none) rows.push_back({over * m_per_mm, r.up_to_mm * m_per_mm, mm * m_per_mm});
    over = r.up_to_mm;
  }
  return rows;
}

Outcome<double> dct(int grade, double size) {
  if (grade < 1 || grade > 16)
    return bad("no such tolerance grade for castings", "DCTG " + std::to_string(grade), "DCTG 1 to 16");
  if (!in_table(size, 10000)) return bad_size(size, 10000);
  for (const GradeRow& r : dct_rows(grade))
    if (size > r.over + hair && size <= r.up_to + hair) return r.value;
  return bad("the tolerance table has no value for this grade and size",
             "DCTG " + std::to_string(grade) + " at " + base::shortest(size / m_per_mm) + " mm");
}

const std::vector<std::string>& rma_grades() {
  static const std::vector<std::string> letters = {"A", "B", "C", "D", "E", "F", "G", "H", "J", "K"};
  return letters;
}

Outcome<double> rma(std::string_view grade, double largest) {
  const auto& letters = rma_grades();
  size_t column = 0;
  while (column < letters.size() && letters[column] != grade) ++column;
  if (column == letters.size())
    return bad("no such allowance grade for castings", std::string(grade), "RMAG A to H, J or K");
  if (!in_table(largest, 10000)) return bad_size(largest, 10000);
  for (const RmaRow& r : rma_table)
    if (largest <= r.up_to_mm * m_per_mm + hair) return r.mm[column] * m_per_mm;
  return ours("the allowance table ended before its largest size");
}

Outcome<double> gct(CastForm form, int grade, double length) {
  if (grade < 2 || grade > 8)
    return bad("no such geometrical grade for castings", "GCTG " + std::to_string(grade), "GCTG 2 to 8");
  if (!in_table(length, 1000)) return bad_size(length, 1000);
  size_t row = 0;
  while (length > gct_up_to_mm[row] * m_per_mm + hair) ++row;
  return gct_ladder_mm[row + static_cast<size_t>(form) + static_cast<size_t>(grade - 2)] * m_per_mm;
}

const std::vector<ProcessGrades>& process_grades() {
  static const std::vector<ProcessGrades> rows = {
      {"green sand, machine moulded", 8, 12, "E", "G", 4, 6,
       "ISO 8062:1994, Tables A.1 and B.1; ISO/CD 8062-2, Table A.3 (grey iron, long series)"},
      {"shell mould", 8, 12, "E", "G", 4, 6,
       "ISO 8062:1994, Tables A.1 and B.1; ISO/CD 8062-2, Table A.3 (grey iron, long series)"},
      {"green sand, hand moulded", 11, 14, "F", "H", 5, 7,
       "ISO 8062:1994, Tables A.1 and B.1; ISO/CD 8062-2, Table A.3 (grey iron, long series)"},
      {"green sand, hand moulded, single pieces", 13, 15, "F", "H", 5, 7,
       "ISO/CD 8062-2, Tables A.2 and A.3 (above 25 mm)"},
      {"chemically bonded sand, single pieces", 11, 14, "F", "H", 5, 7,
       "ISO/CD 8062-2, Tables A.2 and A.3 (above 25 mm)"},
  };
  return rows;
}

}  // namespace fettle::ref
