#include "calc/lifting/lifting.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "base/text.h"

namespace fettle::lifting {

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();
constexpr double pi = 3.14159265358979323846;
constexpr double minute = 60;
// A length typed as 63 cm must not fall beyond 63 cm by its last bit.
constexpr double last_bit = 1e-9;

/// The numbers of the equation in one of its two forms, SI.
struct Form {
  double load_constant;                           // LC, kg
  double near, far;                               // H, m
  double best, top, per_height;                   // V, m, m, 1/m
  double short_travel, long_travel, travel_rise;  // D, m
  double low;                                     // V that parts the two columns of FM and CM, m
  double estimate_high, estimate_low;             // reach estimate, m
};
constexpr double inch = 0.0254;
constexpr Form metric_form{23, 0.25, 0.63, 0.75, 1.75, 0.3, 0.25, 1.75, 0.045, 0.75, 0.20, 0.25};
constexpr Form inch_form{51 * 0.45359237, 10 * inch, 25 * inch,  30 * inch, 70 * inch, 0.0075 / inch,
                         10 * inch,       70 * inch, 1.8 * inch, 30 * inch, 8 * inch,  10 * inch};
const Form& form(Constants c) { return c == Constants::metric ? metric_form : inch_form; }

double reach_multiplier(const Form& f, double reach) {
  if (reach > f.far + last_bit) return 0;
  return f.near / std::max(reach, f.near);
}
double height_multiplier(const Form& f, double height) {
  if (height > f.top + last_bit) return 0;
  return 1 - f.per_height * std::fabs(height - f.best);
}
double travel_multiplier(const Form& f, double travel) {
  if (travel > f.long_travel + last_bit) return 0;
  return 0.82 + f.travel_rise / std::max(travel, f.short_travel);
}
double twist_multiplier(double twist) {
  const double degrees = twist * 180 / pi;
  return degrees > 135 + last_bit ? 0 : 1 - 0.0032 * degrees;
}
bool is_low(const Form& f, double height) { return height < f.low - last_bit; }
double coupling_multiplier(Coupling coupling, bool low) {
  if (coupling == Coupling::good) return 1;
  if (coupling == Coupling::fair) return low ? 0.95 : 1;
  return 0.90;
}

/// One end; `travel` is passed on its own so that a lever can move it alone.
End solve_end(const Inputs& in, const Hands& hands, double travel) {
  const Form& f = form(in.constants);
  End e;
  e.counts = true;
  e.m.reach = reach_multiplier(f, hands.reach);
  e.m.height = height_multiplier(f, hands.height);
  e.m.travel = travel_multiplier(f, travel);
  e.m.twist = twist_multiplier(hands.twist);
  e.m.frequency = frequency_multiplier(in.frequency, in.duration, is_low(f, in.from.height));
  e.m.coupling = coupling_multiplier(in.coupling, is_low(f, hands.height));
  e.unhurried_limit = f.load_constant * e.m.reach * e.m.height * e.m.travel * e.m.twist * e.m.coupling;
  e.limit = e.unhurried_limit * e.m.frequency;
  e.index = e.limit > 0 ? in.load / e.limit : in.load > 0 ? inf : 0;
  return e;
}
double travel_of(const Inputs& in) { return std::fabs(in.to.height - in.from.height); }

/// The index over the ends that count.
double index_at(const Inputs& in, double travel) {
  const double from = solve_end(in, in.from, travel).index;
  return in.set_down_with_care ? std::max(from, solve_end(in, in.to, travel).index) : from;
}
double index_of(const Inputs& in) { return index_at(in, travel_of(in)); }

/// Largest x in [low, high] with index(x) <= 1, for an index that rises with x.
template <class Index>
std::optional<double> largest_within(double low, double high, const Index& index) {
  if (!(index(low) <= 1)) return std::nullopt;
  if (index(high) <= 1) return high;
  for (int i = 0; i < 200 && high - low > 1e-12; ++i) {
    const double middle = 0.5 * (low + high);
    (index(middle) <= 1 ? low : high) = middle;
  }
  return low;
}

Lever lever(Lever::What what, std::string name, double now, std::optional<double> needed) {
  return {what, std::move(name), now, needed.has_value(), needed.value_or(0)};
}

/// The height nearest to the present one that brings the index to 1: travel and the two table columns move with it, so
/// the index is not monotone and every millimetre is tried.
std::optional<double> height_within(const Inputs& in, bool destination) {
  Inputs at = in;
  double& height = destination ? at.to.height : at.from.height;
  const double now = height;
  const int steps = static_cast<int>(std::ceil(form(in.constants).top / 1e-3));
  for (int i = 0; i <= steps; ++i)
    for (const double side : {-1.0, 1.0}) {
      height = now + side * i * 1e-3;
      if (height >= 0 && height <= form(in.constants).top && index_of(at) <= 1) return height;
    }
  return std::nullopt;
}

std::vector<Lever> levers(const Inputs& in, const Result& r) {
  const Form& f = form(in.constants);
  std::vector<Lever> out;
  const Hands& hands = r.destination_governs ? in.to : in.from;
  const std::string end = r.destination_governs ? " at the end" : " at the start";
  const auto set = [&](double Hands::*member, double x) {
    Inputs at = in;
    Hands& here = r.destination_governs ? at.to : at.from;
    Hands& other = r.destination_governs ? at.from : at.to;
    here.*member = x;
    other.*member = std::min(other.*member, x);  // else the other end would soon govern
    return index_of(at);
  };
  out.push_back(lever(Lever::What::load, "load", in.load, r.limit > 0 ? std::optional(r.limit) : std::nullopt));
  out.push_back(lever(Lever::What::reach, "reach" + end, hands.reach,
                      largest_within(f.near, f.far, [&](double x) { return set(&Hands::reach, x); })));
  out.push_back(
      lever(Lever::What::height, "height of the hands" + end, hands.height, height_within(in, r.destination_governs)));
  out.push_back(lever(Lever::What::travel, "height travelled", travel_of(in),
                      largest_within(f.short_travel, f.long_travel, [&](double x) { return index_at(in, x); })));
  out.push_back(lever(Lever::What::twist, "twist" + end, hands.twist,
                      largest_within(0, 135 * pi / 180, [&](double x) { return set(&Hands::twist, x); })));
  out.push_back(
      lever(Lever::What::frequency, "lifts", in.frequency, largest_within(0.2 / minute, 15 / minute, [&](double x) {
              Inputs at = in;
              at.frequency = x;
              return index_of(at);
            })));
  return out;
}

void add_reason(std::string& beyond, const std::string& reason) { beyond += (beyond.empty() ? "" : "; ") + reason; }

/// What the equation gives no load for, or does not cover at all.
std::string reasons_beyond(const Inputs& in) {
  const Form& f = form(in.constants);
  const bool cm = in.constants == Constants::metric;
  const auto length = [&](double m) { return cm ? base::fixed(m * 100, 1) + " cm" : base::fixed(m / inch, 1) + " in"; };
  std::string beyond;
  const auto end = [&](const Hands& h, const char* where) {
    if (h.reach > f.far + last_bit)
      add_reason(beyond, fmt::format("reach {} {} is over {}", where, length(h.reach), length(f.far)));
    if (h.height > f.top + last_bit)
      add_reason(beyond, fmt::format("height {} {} is over {}", where, length(h.height), length(f.top)));
    if (twist_multiplier(h.twist) == 0)
      add_reason(beyond, fmt::format("twist {} {} deg is over 135 deg", where, base::fixed(h.twist * 180 / pi, 1)));
  };
  end(in.from, "at the start");
  if (in.set_down_with_care) end(in.to, "at the end");
  if (travel_of(in) > f.long_travel + last_bit)
    add_reason(beyond, fmt::format("height travelled {} is over {}", length(travel_of(in)), length(f.long_travel)));
  if (frequency_multiplier(in.frequency, in.duration, is_low(f, in.from.height)) == 0)
    add_reason(beyond, fmt::format("{} lifts a minute for {} is more than the table allows",
                                   base::fixed(in.frequency * minute, 1), word(in.duration)));
  const Circumstances& c = in.around;
  if (c.one_hand.value_or(false)) add_reason(beyond, "lifted with one hand");
  if (c.seated_or_kneeling.value_or(false)) add_reason(beyond, "lifted sitting or kneeling");
  if (c.cramped.value_or(false)) add_reason(beyond, "no room to stand freely");
  if (c.unstable_load.value_or(false)) add_reason(beyond, "the load moves or spills while it is lifted");
  if (c.pushed_or_carried.value_or(false))
    add_reason(beyond, "the load is pushed, pulled or carried more than a step or two");
  if (c.jerked.value_or(false)) add_reason(beyond, "the load is jerked, thrown or stuck");
  if (c.people.value_or(1) > 1)
    add_reason(beyond, fmt::format("{} people lift together (not {} times one)", *c.people, *c.people));
  if (c.hours && !(*c.hours <= 8 * 3600.0)) add_reason(beyond, "more than 8 hours of it in a shift");
  if (c.floor_grip && !(*c.floor_grip >= 0.4)) add_reason(beyond, "the floor is slippery (friction under 0.4)");
  if (c.air && !(*c.air >= 292.15 - last_bit && *c.air <= 299.15 + last_bit))
    add_reason(beyond, "the air is outside 19..26 °C");
  if (c.humidity && !(*c.humidity >= 0.35 && *c.humidity <= 0.50)) add_reason(beyond, "humidity is outside 35..50 %");
  if (c.highest_speed && !(*c.highest_speed <= 0.762))
    add_reason(beyond, "the hands move faster than 0.76 m/s (30 in/s)");
  return beyond;
}

std::vector<std::string> not_said(const Circumstances& c) {
  std::vector<std::string> out;
  if (!c.one_hand) out.push_back("lifted with both hands");
  if (!c.seated_or_kneeling) out.push_back("standing");
  if (!c.cramped) out.push_back("room to stand and step freely");
  if (!c.unstable_load) out.push_back("the load lies still");
  if (!c.pushed_or_carried) out.push_back("hardly any carrying or pushing besides");
  if (!c.jerked) out.push_back("lifted smoothly, nothing stuck");
  if (!c.people) out.push_back("one person");
  if (!c.hours) out.push_back("at most 8 h in the shift");
  if (!c.floor_grip) out.push_back("dry floor (friction at least 0.4)");
  if (!c.air) out.push_back("air at 19..26 °C");
  if (!c.humidity) out.push_back("humidity 35..50 %");
  if (!c.highest_speed) out.push_back("hands not faster than 0.76 m/s (30 in/s)");
  return out;
}

/// Collects impossible inputs; `in_range` is written so that a NaN is refused.
struct Refusals {
  Problems problems;
  std::string task;
  void check(double x, double low, double high, const char* name, const char* range, double factor = 1) {
    if (x >= low && x <= high) return;
    problems.push_back(
        bad((task.empty() ? "" : task + ": ") + name + " is impossible", base::shortest(x * factor), range));
  }
};
constexpr double heaviest_load = 1e4, highest = 10;  // kg, m: beyond these a unit has been mistaken

Problems refusals(const Inputs& in, const std::string& task = {}) {
  Refusals r{{}, task};
  r.check(in.load, 0, heaviest_load, "load", "0..10000 kg");
  if (in.heaviest) r.check(*in.heaviest, in.load, heaviest_load, "heaviest load", "from the mean load up to 10000 kg");
  r.check(in.from.reach, 0, highest, "reach at the start", "0..10 m");
  r.check(in.from.height, 0, highest, "height at the start", "0..10 m");
  r.check(in.from.twist, 0, pi + last_bit, "twist at the start", "0..180 deg", 180 / pi);
  r.check(in.to.reach, 0, highest, "reach at the end", "0..10 m");
  r.check(in.to.height, 0, highest, "height at the end", "0..10 m");
  r.check(in.to.twist, 0, pi + last_bit, "twist at the end", "0..180 deg", 180 / pi);
  r.check(in.frequency, 0, 100 / minute, "lifts a minute", "0..100 per minute", minute);
  if (in.around.people) r.check(*in.around.people, 1, 100, "people", "1 or more");
  if (in.around.hours) r.check(*in.around.hours, 0, 86400, "hours in the shift", "0..24 h", 1 / 3600.0);
  return r.problems;
}

}  // namespace

std::string_view word(Coupling c) { return c == Coupling::good ? "good" : c == Coupling::fair ? "fair" : "poor"; }
std::string_view word(Duration d) {
  return d == Duration::up_to_1h ? "up to 1 h" : d == Duration::up_to_2h ? "up to 2 h" : "up to 8 h";
}

std::vector<std::string> cautions() {
  return {
      "A limit for most healthy adults, not for everybody: pregnancy, injury, age and training are not in it.",
      "Local law, the works doctor and licensed practice decide; where they are stricter, they count.",
      "An index above 1 asks for a change of the job (lighter, nearer, a rail, a cart, a hoist), not for a stronger "
      "person."};
}

double frequency_multiplier(double frequency, Duration duration, bool low) {
  struct Row {
    double per_minute;
    std::array<double, 6> fm;  // 1 h low, high; 2 h low, high; 8 h low, high
  };
  static constexpr Row table[] = {{0.2, {1.00, 1.00, .95, .95, .85, .85}},
                                  {0.5, {.97, .97, .92, .92, .81, .81}},
                                  {1, {.94, .94, .88, .88, .75, .75}},
                                  {2, {.91, .91, .84, .84, .65, .65}},
                                  {3, {.88, .88, .79, .79, .55, .55}},
                                  {4, {.84, .84, .72, .72, .45, .45}},
                                  {5, {.80, .80, .60, .60, .35, .35}},
                                  {6, {.75, .75, .50, .50, .27, .27}},
                                  {7, {.70, .70, .42, .42, .22, .22}},
                                  {8, {.60, .60, .35, .35, .18, .18}},
                                  {9, {.52, .52, .30, .30, 0, .15}},
                                  {10, {.45, .45, .26, .26, 0, .13}},
                                  {11, {.41, .41, 0, .23, 0, 0}},
                                  {12, {.37, .37, 0, .21, 0, 0}},
                                  {13, {0, .34, 0, 0, 0, 0}},
                                  {14, {0, .31, 0, 0, 0, 0}},
                                  {15, {0, .28, 0, 0, 0, 0}}};
  const std::size_t column = 2 * static_cast<std::size_t>(duration) + (low ? 0 : 1);
  const double f = frequency * minute;
  if (!(f <= 15 + last_bit)) return 0;
  if (f <= table[0].per_minute) return table[0].fm[column];
  for (std::size_t i = 1; i < std::size(table); ++i) {
    const Row &a = table[i - 1], &b = table[i];
    if (f > b.per_minute) continue;
    return a.fm[column] + (b.fm[column] - a.fm[column]) * (f - a.per_minute) / (b.per_minute - a.per_minute);
  }
  return table[std::size(table) - 1].fm[column];
}

Outcome<Duration> duration_of(double work, double rest) {
  if (!(work >= 0) || !(rest >= 0))
    return bad("work and rest must be times of 0 or more", base::shortest(work / 3600) + " h");
  if (!(work <= 8 * 3600.0))
    return bad("the equation covers at most 8 h of lifting", base::shortest(work / 3600) + " h", "0..8 h");
  if (work <= 3600 && rest >= work) return Duration::up_to_1h;
  if (work <= 7200 && rest >= 0.3 * work) return Duration::up_to_2h;
  return Duration::up_to_8h;
}

double frequency_in_bursts(double frequency, double burst) { return frequency * std::min(burst, 900.0) / 900; }

double reach_estimate(double width, double height, Constants constants) {
  const Form& f = form(constants);
  return (height < f.near - last_bit ? f.estimate_low : f.estimate_high) + width / 2;
}

Outcome<Result> solve(const Inputs& in) {
  if (Problems problems = refusals(in); !problems.empty()) return problems;
  Result r;
  r.from = solve_end(in, in.from, travel_of(in));
  r.to = solve_end(in, in.to, travel_of(in));
  r.to.counts = in.set_down_with_care;
  r.destination_governs = r.to.counts && r.to.limit < r.from.limit;
  const End& worse = r.destination_governs ? r.to : r.from;
  r.limit = worse.limit;
  r.index = worse.index;
  const Multipliers& m = worse.m;
  const std::pair<const char*, double> by_name[] = {
      {"reach", m.reach}, {"height of the hands", m.height},       {"height travelled", m.travel},
      {"twist", m.twist}, {"how often and how long", m.frequency}, {"grip", m.coupling}};
  for (const auto& [name, value] : by_name)
    if (value < r.hurts_factor) {
      r.hurts = name;
      r.hurts_factor = value;
    }
  r.levers = levers(in, r);
  r.beyond = reasons_beyond(in);
  r.assumed = not_said(in.around);
  r.cautions = cautions();
  return r;
}

Outcome<JobResult> solve_job_known(const std::vector<KnownTask>& tasks, Duration duration) {
  Refusals check;
  if (tasks.empty()) check.problems.push_back(bad("a job needs at least one task"));
  struct Entry {
    TaskRow row;
    double frequency;
    bool low;
  };
  std::vector<Entry> entries;
  for (const KnownTask& t : tasks) {
    check.task = t.name;
    check.check(t.unhurried_limit, 0, heaviest_load, "limit", "0..10000 kg");
    check.check(t.load, 0, heaviest_load, "load", "0..10000 kg");
    check.check(t.heaviest, t.load, heaviest_load, "heaviest load", "from the mean load up to 10000 kg");
    check.check(t.frequency, 0, 100 / minute, "lifts a minute", "0..100 per minute", minute);
    const double fm = frequency_multiplier(t.frequency, duration, t.low);
    TaskRow row{t.name, t.unhurried_limit, t.unhurried_limit * fm, 0, 0, 0};
    row.unhurried_index = row.unhurried_limit > 0 ? t.heaviest / row.unhurried_limit : t.heaviest > 0 ? inf : 0;
    row.index = row.limit > 0 ? t.load / row.limit : t.load > 0 ? inf : 0;
    entries.push_back({row, t.frequency, t.low});
  }
  if (!check.problems.empty()) return check.problems;
  std::stable_sort(entries.begin(), entries.end(),
                   [](const Entry& a, const Entry& b) { return a.row.index > b.row.index; });
  JobResult job;
  double frequency = 0;
  for (std::size_t i = 0; i < entries.size(); ++i) {
    Entry& e = entries[i];
    const double before = frequency_multiplier(frequency, duration, e.low);
    frequency += e.frequency;
    const double after = frequency_multiplier(frequency, duration, e.low);
    if (i == 0) e.row.adds = e.row.index;
    else if (e.row.unhurried_index > 0) e.row.adds = after > 0 ? e.row.unhurried_index * (1 / after - 1 / before) : inf;
    job.index += e.row.adds;
    job.rows.push_back(e.row);
  }
  if (!std::isfinite(job.index))
    job.beyond =
        fmt::format("{} lifts a minute together for {} is more than the table allows, or a task allows no load",
                    base::fixed(frequency * minute, 1), word(duration));
  job.cautions = cautions();
  return job;
}

Outcome<JobResult> solve_job(const std::vector<Inputs>& tasks) {
  Problems problems;
  std::vector<KnownTask> known;
  std::string beyond;
  std::vector<std::string> assumed;
  for (std::size_t i = 0; i < tasks.size(); ++i) {
    const Inputs& t = tasks[i];
    const std::string name = t.name.empty() ? fmt::format("task {}", i + 1) : t.name;
    const Problems here = refusals(t, name);
    problems.insert(problems.end(), here.begin(), here.end());
    if (t.duration != tasks[0].duration) problems.push_back(bad(name + ": a job has one duration for all its tasks"));
    if (t.constants != tasks[0].constants) problems.push_back(bad(name + ": a job uses one form of the equation"));
    if (!here.empty()) continue;
    const Result r = solve(t).value();
    const double limit = r.to.counts ? std::min(r.from.unhurried_limit, r.to.unhurried_limit) : r.from.unhurried_limit;
    known.push_back(
        {name, limit, t.load, t.heaviest.value_or(t.load), t.frequency, is_low(form(t.constants), t.from.height)});
    if (!r.beyond.empty()) add_reason(beyond, name + ": " + r.beyond);
    for (const std::string& a : r.assumed)
      if (std::find(assumed.begin(), assumed.end(), a) == assumed.end()) assumed.push_back(a);
  }
  if (!problems.empty()) return problems;
  Outcome<JobResult> job = solve_job_known(known, tasks.empty() ? Duration::up_to_8h : tasks[0].duration);
  if (!job.ok()) return job;
  if (!beyond.empty()) add_reason(job->beyond, beyond);
  job->assumed = assumed;
  return job;
}

Outcome<LiftedMass> lifted_mass(const Load& load) {
  Refusals r;
  r.check(load.pallet, 0, heaviest_load, "mass of the pallet", "0..10000 kg");
  r.check(load.parts, 0, 1000, "number of parts", "0..1000");
  r.check(load.part_before, 0, heaviest_load, "mass of a part as it arrives", "0..10000 kg");
  r.check(load.part_after, 0, load.part_before, "mass of a part as it leaves", "0 up to its mass as it arrives");
  r.check(load.screws, 0, 10000, "number of screws", "0..10000");
  r.check(load.screw, 0, 100, "mass of a screw", "0..100 kg");
  r.check(load.coolant_per_part, 0, 1000, "coolant on a part", "0..1000 kg");
  r.check(load.coolant_on_pallet, 0, 1000, "coolant on the pallet", "0..1000 kg");
  r.check(load.swarf, 0, 1000, "swarf left lying", "0..1000 kg");
  if (!r.problems.empty()) return r.problems;
  LiftedMass m;
  const double dry = load.pallet + load.screws * load.screw;
  const double wet = dry + load.coolant_on_pallet + load.swarf;
  m.going_in = dry + load.parts * load.part_before;
  m.coming_out = wet + load.parts * (load.part_after + load.coolant_per_part);
  m.heaviest = std::max(m.going_in, m.coming_out);
  m.empty_dry = dry;
  m.empty_wet = wet;
  m.per_part_in = load.part_before;
  m.per_part_out = load.part_after + load.coolant_per_part;
  return m;
}

int parts_within(const LiftedMass& mass, double limit) {
  const auto fit = [limit](double empty, double each) {
    if (!(empty <= limit)) return -1.0;
    return each > 0 ? std::floor((limit - empty) / each + last_bit) : 1e9;
  };
  const double n = std::min(fit(mass.empty_dry, mass.per_part_in), fit(mass.empty_wet, mass.per_part_out));
  return static_cast<int>(std::min(n, 1e9));
}

}  // namespace fettle::lifting
