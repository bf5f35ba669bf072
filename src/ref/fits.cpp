#include "ref/fits.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <limits>

#include "base/text.h"

namespace fettle::ref {

namespace {

// Steps: over the one before, up to and including. r and s have finer steps above 50 mm.
constexpr std::array<double, 13> kSteps = {3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500};
constexpr std::array<double, 22> kFineSteps = {3,   6,   10,  18,  30,  50,  65,  80,  100, 120, 140,
                                               160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500};
using Row = std::array<double, 13>;
using FineRow = std::array<double, 22>;

// ISO 286-1, table of standard tolerance grades, µm. IT3..IT16 and d..s compared cell by cell with a public
// transcription; its one slip (IT9 over 3 to 6 mm) is 30. IT1, IT2 from memory.
constexpr std::array<Row, 16> kGrades = {{
    {0.8, 1, 1, 1.2, 1.5, 1.5, 2, 2.5, 3.5, 4.5, 6, 7, 8},
    {1.2, 1.5, 1.5, 2, 2.5, 2.5, 3, 4, 5, 7, 8, 9, 10},
    {2, 2.5, 2.5, 3, 4, 4, 5, 6, 8, 10, 12, 13, 15},
    {3, 4, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20},
    {4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27},
    {6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40},
    {10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63},
    {14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97},
    {25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155},
    {40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250},
    {60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400},
    {100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630},
    {140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970},
    {250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300, 1400, 1550},
    {400, 480, 580, 700, 840, 1000, 1200, 1400, 1600, 1850, 2100, 2300, 2500},
    {600, 750, 900, 1100, 1300, 1600, 1900, 2200, 2500, 2900, 3200, 3600, 4000},
}};

// Fundamental deviations of shafts, µm without sign: es = -value for d..h, ei = +value for k..s.
struct Letter {
  char name;
  Row value;
};
constexpr std::array<Letter, 9> kShafts = {{
    {'d', {20, 30, 40, 50, 65, 80, 100, 120, 145, 170, 190, 210, 230}},
    {'e', {14, 20, 25, 32, 40, 50, 60, 72, 85, 100, 110, 125, 135}},
    {'f', {6, 10, 13, 16, 20, 25, 30, 36, 43, 50, 56, 62, 68}},
    {'g', {2, 4, 5, 6, 7, 9, 10, 12, 14, 15, 17, 18, 20}},
    {'h', {}},
    {'k', {0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5}},  // IT4..IT7, else 0
    {'m', {2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23}},
    {'n', {4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40}},
    {'p', {6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68}},
}};
constexpr FineRow kR = {10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132};
constexpr FineRow kS = {14,  19,  23,  28,  35,  43,  53,  59,  71,  79,  92,
                        100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252};
// From memory: ei of j5 and j6, of j7, of j8 (3 mm and below only); ES of J6, J7, J8.
constexpr Row kJ6 = {2, 2, 2, 3, 4, 5, 7, 9, 11, 13, 16, 18, 20};
constexpr Row kJ7 = {4, 4, 5, 6, 8, 10, 12, 15, 18, 21, 26, 28, 32};
constexpr std::array<Row, 3> kHoleJ = {{{2, 5, 5, 6, 8, 10, 13, 16, 18, 22, 25, 29, 33},
                                        {4, 6, 8, 10, 12, 14, 18, 22, 26, 30, 36, 39, 43},
                                        {6, 10, 12, 15, 20, 24, 28, 34, 41, 47, 55, 60, 66}}};

constexpr std::string_view kSource =
    "ISO 286-1:2010 tables of grades and fundamental deviations (public transcriptions; IT1, IT2, j, J from memory)";

double in_mm(double size) { return unit::in_unit(size, "mm"); }

template <std::size_t N>
int step_of(const std::array<double, N>& steps, double mm) {
  if (!(mm > 0)) return -1;
  for (std::size_t i = 0; i < N; ++i)
    if (mm <= steps[i]) return static_cast<int>(i);
  return -1;
}

Problem outside(double size) {
  return bad("the fit tables reach from above 0 to 500 mm", unit::write(size, unit::Kind::length),
             "a size up to 500 mm");
}

double grade_um(int grade, int step) {
  return kGrades[static_cast<std::size_t>(grade - 1)][static_cast<std::size_t>(step)];
}

struct Microns {
  double lower = 0, upper = 0;
};

/// Fundamental deviation of a shaft letter k..s without sign, µm; negative when the letter is not k..s.
double shaft_value(char letter, int grade, double mm) {
  if (letter == 'r') return kR[static_cast<std::size_t>(step_of(kFineSteps, mm))];
  if (letter == 's') return kS[static_cast<std::size_t>(step_of(kFineSteps, mm))];
  if (letter == 'k' && (grade < 4 || grade > 7)) return 0;
  for (const Letter& l : kShafts)
    if (l.name == letter) return l.value[static_cast<std::size_t>(step_of(kSteps, mm))];
  return -1;
}

Problem no_class(const std::string& code, std::string why) {
  return bad("the fit tables have no such class: " + std::move(why), code, "a class such as H7, js6, K7 or g6");
}

Outcome<Microns> shaft(double mm, const unit::Fit& fit, const std::string& code) {
  const int step = step_of(kSteps, mm);
  const double width = grade_um(fit.grade, step);
  const auto s = static_cast<std::size_t>(step);
  if (fit.letter == "js") return Microns{-width / 2, width / 2};
  const char c = fit.letter[0];
  if (c == 'j') {
    if (fit.grade == 5 || fit.grade == 6) return Microns{-kJ6[s], width - kJ6[s]};
    if (fit.grade == 7) return Microns{-kJ7[s], width - kJ7[s]};
    if (fit.grade == 8 && step == 0) return Microns{-6, width - 6};
    return no_class(code, "j goes with grades 5 to 7, and 8 up to 3 mm");
  }
  const double value = shaft_value(c, fit.grade, mm);
  if (c <= 'h') return Microns{-value - width, -value};
  return Microns{value, value + width};
}

/// The step between a grade and the next finer one; nothing up to 3 mm.
double delta(int grade, int step) { return step == 0 ? 0 : grade_um(grade, step) - grade_um(grade - 1, step); }

Outcome<Microns> hole(double mm, const unit::Fit& fit, const std::string& code) {
  const int step = step_of(kSteps, mm), grade = fit.grade;
  const double width = grade_um(grade, step);
  if (fit.letter == "JS") return Microns{-width / 2, width / 2};
  const char c = fit.letter[0];
  const char small = static_cast<char>(c - 'A' + 'a');
  if (c <= 'H') {
    const double value = shaft_value(small, grade, mm);
    return Microns{value, value + width};
  }
  if (c == 'J') {
    if (grade < 6 || grade > 8) return no_class(code, "J goes with grades 6 to 8");
    const double top = kHoleJ[static_cast<std::size_t>(grade - 6)][static_cast<std::size_t>(step)];
    return Microns{top - width, top};
  }
  // K, M, N to IT8 and P, R, S to IT7 take the delta of their grade; coarser ones do not.
  if (step > 0 && grade < 3) return no_class(code, "over 3 mm holes K to S begin at grade 3");
  const int last = c <= 'N' ? 8 : 7;
  const double basic = small == 'k' ? shaft_value('k', 5, mm) : shaft_value(small, grade, mm);
  double top = -basic + (grade <= last ? delta(grade, step) : 0);
  if (c == 'K' && grade > 8 && step > 0) return no_class(code, "K over 3 mm ends at grade 8");
  if (c == 'N' && grade > 8 && step > 0) top = 0;
  if (c == 'M' && grade == 6 && step == 10) top = -9;  // the one exception that the standard prints
  return Microns{top - width, top};
}

/// The decimal number that is meant, so that a limit is the same double as if it had been typed.
double typed_length(double mm) {
  const auto q = unit::parse(base::fixed(mm, 7) + " mm", unit::Kind::length);
  return q.ok() ? q->si : mm / 1000;
}

Outcome<Microns> microns(double size, const unit::Fit& fit) {
  const std::string code = fmt::format("{}{}", fit.letter, fit.grade);
  const double mm = in_mm(size);
  if (step_of(kSteps, mm) < 0) return outside(size);
  if (fit.grade < 1 || fit.grade > 16) return bad("a grade outside IT1 to IT16", code, "a grade from 1 to 16");
  static const std::vector<std::string> letters = {"d", "e", "f", "g", "h", "js", "j", "k", "m", "n", "p", "r", "s",
                                                   "D", "E", "F", "G", "H", "JS", "J", "K", "M", "N", "P", "R", "S"};
  bool known = false;
  for (const std::string& l : letters) known = known || l == fit.letter;
  if (!known) return bad("the fit tables hold shafts d to s and holes D to S", code, "a class such as H7, js6 or g6");
  return fit.letter[0] >= 'a' ? shaft(mm, fit, code) : hole(mm, fit, code);
}

}  // namespace

std::string_view fits_source() { return kSource; }

Outcome<double> tolerance_of_grade(double size, int grade) {
  const int step = step_of(kSteps, in_mm(size));
  if (step < 0) return outside(size);
  if (grade < 1 || grade > 16)
    return bad("a grade outside IT1 to IT16", fmt::format("IT{}", grade), "a grade from 1 to 16");
  return grade_um(grade, step) * 1e-6;
}

Outcome<Deviations> deviations(double size, const unit::Fit& fit) {
  auto m = microns(size, fit);
  if (!m) return m.problems();
  return Deviations{typed_length(m->lower / 1000), typed_length(m->upper / 1000)};
}

Outcome<unit::Limits> limits_of(const unit::Limits& limits) {
  if (!limits.fit) return limits;
  if (!limits.nominal) return bad("a fit without a size", limits.typed, "a size and a fit, such as 12 H7");
  auto m = microns(*limits.nominal, *limits.fit);
  if (!m) {
    Problems p = m.problems();
    for (Problem& each : p) each.where.column = 1;
    return p;
  }
  const double mm = in_mm(*limits.nominal);
  unit::Limits out = limits;
  out.lower = typed_length(mm + m->lower / 1000);
  out.upper = typed_length(mm + m->upper / 1000);
  return out;
}

std::string_view word(FitPair::Type type) {
  switch (type) {
    case FitPair::Type::clearance:
      return "clearance";
    case FitPair::Type::transition:
      return "transition";
    case FitPair::Type::interference:
      return "interference";
  }
  return "";
}

Outcome<FitPair> fit_pair(const unit::Limits& hole_limits, const unit::Limits& shaft_limits) {
  const auto h = limits_of(hole_limits), s = limits_of(shaft_limits);
  Problems problems;
  if (!h) problems.insert(problems.end(), h.problems().begin(), h.problems().end());
  if (!s) problems.insert(problems.end(), s.problems().begin(), s.problems().end());
  if (!problems.empty()) return problems;
  if (!h->lower || !h->upper)
    return bad("the hole needs both limits", hole_limits.typed, "limits such as Ø12 H7 or 8.000..8.015 mm");
  if (!s->lower || !s->upper)
    return bad("the shaft needs both limits", shaft_limits.typed, "limits such as Ø12 g6 or 7.986..7.995 mm");
  FitPair out;
  out.least_clearance = *h->lower - *s->upper;
  out.most_clearance = *h->upper - *s->lower;
  if (out.least_clearance >= 0) out.type = FitPair::Type::clearance;
  else if (out.most_clearance <= 0) out.type = FitPair::Type::interference;
  else out.type = FitPair::Type::transition;
  return out;
}

std::vector<FitTableRow> fit_table() {
  std::vector<FitTableRow> out;
  const auto add = [&](const std::string& name, const auto& steps, const auto& values, std::string_view source) {
    for (std::size_t i = 0; i < steps.size(); ++i)
      out.push_back({name, i == 0 ? 0 : steps[i - 1], steps[i], values[i], std::string(source)});
  };
  const std::string memory = "ISO 286-1:2010, from memory";
  const std::string read = "ISO 286-1:2010, public transcription";
  for (std::size_t g = 0; g < kGrades.size(); ++g)
    add(fmt::format("IT{}", g + 1), kSteps, kGrades[g], g < 2 ? memory : read);
  for (const Letter& l : kShafts) add(std::string(1, l.name), kSteps, l.value, read);
  add("r", kFineSteps, kR, read + "; above 65 mm every second step from memory");
  add("s", kFineSteps, kS, read + "; above 65 mm every second step from memory");
  add("j5, j6", kSteps, kJ6, memory);
  add("j7", kSteps, kJ7, memory);
  for (std::size_t g = 0; g < 3; ++g) add(fmt::format("J{}", g + 6), kSteps, kHoleJ[g], memory);
  return out;
}

}  // namespace fettle::ref
