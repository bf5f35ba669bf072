#include "calc/timing/cost.h"

#include <cmath>
#include <utility>

#include "calc/timing/check.h"

namespace fettle::timing {

Outcome<CostResult> cost_per_good_part(const CostInputs& in) {
  Check check;
  check.at_least("price of a casting", in.casting, 0);
  for (const CostStep& s : in.steps) {
    check.at_least(s.operation + ": money", s.money, 0);
    check.between(s.operation + ": share lost", s.lost, 0, 1);
  }
  if (!check.problems.empty()) return check.problems;
  CostResult r;
  double come = 1, value = in.casting, spent = in.casting, lost_money = 0, lost_parts = 0;
  for (const CostStep& s : in.steps) {
    value += s.money;
    spent += come * s.money;
    const double lost = come * s.lost;
    r.at.push_back({s.operation, come, value, lost * value});
    lost_money += lost * value;
    lost_parts += lost;
    come -= lost;
  }
  if (!(come > 0)) return bad("no part is left at the end", base::shortest(come), "some good parts");
  r.good_share = come;
  r.castings_per_good = 1 / come;
  r.per_good = spent / come;
  r.put_in = value;
  r.lost_value = lost_money / come;
  r.lost_at_casting_price = lost_parts * in.casting / come;
  for (CostAt& a : r.at) a.lost_value /= come;
  return r;
}

Outcome<double> payback_parts(const PaybackInputs& in) {
  Check check;
  check.at_least("cost", in.cost, 0);
  for (const auto& [what, x] : {std::pair{"interest", in.interest},
                                {"taxes", in.taxes},
                                {"depreciation", in.depreciation},
                                {"upkeep", in.upkeep},
                                {"overhead", in.overhead}})
    check.between(what, x, 0, 10);
  check.at_least("setting up", in.setting_up, 0);
  check.more_than("saved a part", in.saved_per_part, 0);
  if (!check.problems.empty()) return check.problems;
  return (in.cost * (in.interest + in.taxes + in.depreciation + in.upkeep) + in.setting_up) /
         (in.saved_per_part * (1 + in.overhead));
}

namespace {
bool leap(int year) { return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0; }
int days_in(int month, int year) {
  constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return days[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}
}  // namespace

Outcome<std::string> day_after(const std::string& date, double days) {
  const auto digits = [&](std::size_t from, std::size_t n) {
    int x = 0;
    for (std::size_t i = from; i < from + n; ++i) {
      if (date[i] < '0' || date[i] > '9') return -1;
      x = 10 * x + (date[i] - '0');
    }
    return x;
  };
  const Problem wrong = bad("no date", date, "year-month-day such as 2026-11-02");
  if (date.size() != 10 || date[4] != '-' || date[7] != '-') return wrong;
  int y = digits(0, 4), m = digits(5, 2), d = digits(8, 2);
  if (y < 1 || m < 1 || m > 12 || d < 1 || d > days_in(m, y)) return wrong;
  if (!(days >= 0 && days <= 366000)) return bad("days out of range", base::shortest(days), "0 to 366000");
  d += static_cast<int>(std::ceil(days - 1e-9));
  while (d > days_in(m, y)) {
    d -= days_in(m, y);
    if (++m > 12) m = 1, ++y;
  }
  return fmt::format("{:04}-{:02}-{:02}", y, m, d);
}

Outcome<double> promise(const PromiseInputs& in) {
  Check check;
  check.more_than("parts", in.parts, 0);
  check.at_least("castings in", in.castings_in, 0);
  check.more_than("good parts a week", in.good_per_week, 0);
  check.at_least("time through the route", in.through, 0);
  if (!check.problems.empty()) return check.problems;
  return in.castings_in + in.parts / in.good_per_week * 7 * 86400 + in.through;
}

}  // namespace fettle::timing
