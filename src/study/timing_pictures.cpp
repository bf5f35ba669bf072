// The picture of one cycle, the curve over parts on a pallet set, the stopwatch's table.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "maths/statistics.h"
#include "study/cost.h"
#include "study/timing.h"

namespace fettle::study {

namespace {

/// Bars of one row, one after the other.
struct Row {
  std::vector<CycleBar>& bars;
  std::string who;
  double at = 0;
  void add(const std::string& what, double length, bool waiting = false) {
    if (!(length > 0)) return;
    bars.push_back({who, what, at, at + length, waiting});
    at += length;
  }
};

/// The person's work of a cycle that lies elsewhere: what the parts of one set need in the other operations.
void other_work(Row& person, const PlanTimes& times, const OperationTime& pallet) {
  for (const OperationTime& t : times.operations) {
    if (t.bought || !t.missing.empty()) continue;
    if (&t != &pallet) person.add(t.id, t.person_per_part * pallet.parts);
    person.add(fmt::format("gauge after {}", t.id), t.gauging_per_part * pallet.parts);
  }
}

void cycle_picture(Context& c, const PlanTimes& times) {
  const auto found = std::find_if(times.operations.begin(), times.operations.end(),
                                  [](const OperationTime& t) { return t.pallet && t.missing.empty(); });
  if (found == times.operations.end()) return;
  const OperationTime& t = *found;
  const plan::People& people = c.plan.shop.people;
  CyclePicture& p = c.study.cycle;
  const double hands = t.sets > 1 ? std::max(t.set.total, t.load) : t.set.total + t.load;
  p.there = true;
  p.cycle = hands + t.swap;
  p.parts = t.parts;
  const std::string machine = fmt::format("machine {}", t.machine), person = "person";
  p.who = {machine, person};
  Row m{p.bars, machine}, h{p.bars, person};
  m.add("swap", t.swap);
  if (t.sets == 1) m.add("loaded", t.load, true);
  m.add("probe", t.probe);
  const double change = t.order.tool_by_tool > 0 ? t.set.changing / t.order.tool_by_tool : 0;
  const double moves = t.order.tool_by_tool > 0 ? t.set.moving / t.order.tool_by_tool : t.set.moving;
  std::string before;
  if (!t.cuts.empty()) before = t.cuts.back().tool;
  for (std::size_t i = 0; i < t.cuts.size(); ++i) {
    const CutRow& r = t.cuts[i];
    const bool changed = r.tool != before || (t.cuts.size() == 1 && t.order.tool_by_tool == 0);
    before = r.tool;
    m.add(r.tool, t.parts * r.time.used.value_or(0) + (changed && t.order.tool_by_tool > 0 ? change + moves : 0));
  }
  if (t.cuts.empty()) m.add(t.id, t.set.total - t.probe);
  else if (t.order.tool_by_tool == 0) m.add("moves", t.set.moving);
  m.add("waits", p.cycle - m.at, true);
  h.add("moves pallets", t.swap_by_hand);
  const plan::Operation* o = plan::find_operation(c.plan, t.id);
  const double load = o != nullptr && o->load_time.known() ? o->load_time.si : people.load_time.si;
  h.add("unload", t.parts * people.unload_time.si);
  h.add("clean", t.parts * people.clean_time.si);
  h.add("load", t.parts * load);
  other_work(h, times, t);
  h.add("free", p.cycle - h.at, true);
}

void counts_curve(Context& c, double good, double hone_share, const std::vector<OperationProgram>& programs) {
  TimesOptions options;
  options.programs = programs;
  options.hone_share = hone_share;
  const PlanTimes now = plan_times(c.plan, options);
  const auto found = std::find_if(now.operations.begin(), now.operations.end(),
                                  [](const OperationTime& t) { return t.pallet && t.missing.empty(); });
  if (found == now.operations.end()) return;
  CountCurve& curve = c.study.counts_curve;
  curve.now = found->parts;
  curve.currency = currency_of(c.plan);
  const double edge = c.plan.shop.people.edge_time.known() ? c.plan.shop.people.edge_time.si : 0;
  for (int n = 1; n <= std::max(16, 2 * curve.now); ++n) {
    options.parts_on_set = n;
    const PlanTimes times = plan_times(c.plan, options);
    const OperationTime* t = times.find(found->id);
    const PlanCost cost = plan_cost(c.plan, times, good, options.hone_share, edge);
    curve.points.push_back({n, t->machine_per_part / 60, t->person_per_part / 60, cost.there ? cost.per_good : 0});
  }
  curve.there = true;
}

std::vector<std::string> cells(const std::string& line, char separator) {
  std::vector<std::string> out;
  for (const std::string& cell : base::split(line, separator)) out.emplace_back(base::trim(cell));
  return out;
}

}  // namespace

std::optional<LoadTimes> read_load_times(std::string_view text, const std::string& unit) {
  std::vector<std::string> lines;
  for (const std::string& line : base::split(text, '\n'))
    if (!base::trim(line).empty()) lines.emplace_back(base::trim(line));
  if (lines.size() < 2) return {};
  const char separator = lines[0].find(';') != std::string::npos    ? ';'
                         : lines[0].find('\t') != std::string::npos ? '\t'
                                                                    : ',';
  const std::vector<std::string> header = cells(lines[0], separator);
  std::size_t column = header.size() - 1;
  for (std::size_t i = header.size(); i-- > 0;)
    if (base::lower(header[i]).find("load") != std::string::npos) column = i;
  std::string symbol = unit;
  const std::size_t open = header[column].find('['), close = header[column].find(']');
  if (open != std::string::npos && close != std::string::npos && close > open)
    symbol = std::string(base::trim(header[column].substr(open + 1, close - open - 1)));
  if (symbol.empty()) symbol = std::string(1, 's');
  std::vector<double> values;
  for (std::size_t i = 1; i < lines.size(); ++i) {
    const std::vector<std::string> row = cells(lines[i], separator);
    if (column >= row.size()) continue;
    std::string number = row[column];
    if (separator == ';') std::replace(number.begin(), number.end(), ',', '.');
    const auto q = unit::parse(fmt::format("{} {}", number, symbol), unit::Kind::time);
    if (q.ok() && q->si >= 0) values.push_back(q->si);
  }
  if (values.empty()) return {};
  const maths::Moments m = maths::moments(values);
  return LoadTimes{static_cast<int>(m.n), m.mean, values.size() > 1 ? m.s : 0};
}

void timing_pictures(Context& c, const PlanTimes& times, double good_share, double hone_share,
                     const std::vector<OperationProgram>& programs) {
  cycle_picture(c, times);
  counts_curve(c, good_share, hone_share, programs);
}

}  // namespace fettle::study
