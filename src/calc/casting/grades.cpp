#include "calc/casting/grades.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "ref/casting_grades.h"

namespace fettle::casting {
namespace {

constexpr double hair = 1e-9;

std::string mm(double metres) { return base::shortest(std::round(metres * 1e9) / 1e6) + " mm"; }

Problems size_problems(double finished, int sides, double largest) {
  Problems out;
  if (!(finished > 0)) out.push_back(bad("the finished size must be above 0", mm(finished)));
  if (sides < 0 || sides > 2) out.push_back(bad("a dimension has 0, 1 or 2 machined ends", std::to_string(sides)));
  if (!(largest > 0)) out.push_back(bad("the largest finished dimension of the part must be above 0", mm(largest)));
  return out;
}

/// Raw size for a given tolerance.
double raw_for(const RawSizeInputs& in, double rma, double tolerance) {
  if (in.kind == SizeKind::step || in.machined_sides == 0) return in.finished;
  const double more = in.machined_sides * rma + tolerance / 2;
  return in.kind == SizeKind::external ? in.finished + more : in.finished - more;
}

bool holds(const ref::GradeRow& row, double size) { return size > row.over + hair && size <= row.up_to + hair; }

}  // namespace

Outcome<RawSize> raw_size(const RawSizeInputs& in) {
  Problems problems = size_problems(in.finished, in.machined_sides, in.largest_finished);
  const auto rows = ref::dct_rows(in.dctg);
  if (rows.empty())
    problems.push_back(bad("no such tolerance grade for castings", "DCTG " + std::to_string(in.dctg), "DCTG 1 to 16"));
  double allowance = 0;
  if (problems.empty()) {
    const auto found = ref::rma(in.rmag, in.largest_finished);
    if (!found) return found.problems();
    allowance = *found;
  }
  if (!problems.empty()) return problems;

  const bool stock = in.kind != SizeKind::step && in.machined_sides > 0;
  RawSize out;
  out.allowance = allowance;
  int answers = 0;
  for (const ref::GradeRow& row : rows) {
    const double raw = raw_for(in, allowance, row.value);
    if (!holds(row, raw)) continue;
    // Rows rise, so a later answer of an external size is the larger casting.
    if (answers++ > 0) out.other_raw = out.raw;
    out.raw = raw;
    out.tolerance = row.value;
  }
  if (answers == 0) {
    // A cored size can fall between two rows: the finer row gives a raw size above its end, the coarser one a raw size
    // below its start. The coarser tolerance then leaves more stock.
    for (std::size_t i = 1; in.kind == SizeKind::internal && i < rows.size(); ++i) {
      const double finer = raw_for(in, allowance, rows[i - 1].value), raw = raw_for(in, allowance, rows[i].value);
      if (!(finer > rows[i - 1].up_to + hair) || raw > rows[i].over + hair || !(raw > 0)) continue;
      out.raw = raw;
      out.tolerance = rows[i].value;
      out.between_rows = true;
      break;
    }
    if (!out.between_rows)
      return bad("the tolerance grade has no value for this size, or the core would vanish",
                 "DCTG " + std::to_string(in.dctg) + " at " + mm(in.finished));
  }
  out.two_answers = answers > 1;
  out.low = out.raw - out.tolerance / 2;
  out.high = out.raw + out.tolerance / 2;
  if (stock) {
    const double a =
        (in.kind == SizeKind::external ? out.low - in.finished : in.finished - out.high) / in.machined_sides;
    const double b =
        (in.kind == SizeKind::external ? out.high - in.finished : in.finished - out.low) / in.machined_sides;
    out.least_stock = a;
    out.most_stock = b;
  }
  return out;
}

Outcome<AllowanceLeft> allowance_left(const AllowanceInputs& in) {
  Problems problems = size_problems(in.finished, in.machined_sides, in.largest_finished);
  if (in.machined_sides == 0 || in.kind == SizeKind::step)
    problems.push_back(bad("an allowance is left only on a dimension with one or two machined ends"));
  if (!(in.raw > 0)) problems.push_back(bad("the raw size must be above 0", mm(in.raw)));
  if (!(in.tolerance >= 0)) problems.push_back(bad("a tolerance cannot be negative", mm(in.tolerance)));
  if (!problems.empty()) return problems;

  AllowanceLeft out;
  const double sign = in.kind == SizeKind::external ? 1 : -1;
  const double room = sign * (in.raw - in.finished);
  out.least_stock = (room - in.tolerance / 2) / in.machined_sides;
  out.most_stock = (room + in.tolerance / 2) / in.machined_sides;
  for (int grade = 1; grade <= 16; ++grade)
    for (const ref::GradeRow& row : ref::dct_rows(grade))
      if (holds(row, in.raw) && row.value <= in.tolerance + hair) {
        out.dctg = grade;
        out.dct = row.value;
      }
  for (const std::string& letter : ref::rma_grades()) {
    const auto rma = ref::rma(letter, in.largest_finished);
    if (!rma) return rma.problems();
    if (*rma <= out.least_stock + hair) {
      out.rmag = letter;
      out.rma = *rma;
    }
  }
  return out;
}

double draft_offset(double height, double angle) { return height * std::tan(angle); }

RadialStock radial_stock(double finished_diameter, double cored_diameter, double dx, double dy) {
  RadialStock out;
  out.shift = std::sqrt(dx * dx + dy * dy);
  const double mean = (finished_diameter - cored_diameter) / 2;
  out.least = mean - out.shift;
  out.most = mean + out.shift;
  return out;
}

}  // namespace fettle::casting
