#include "ref/threads.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "base/text.h"

namespace fettle::ref {

namespace {

struct MetricRow {
  double d, p;
  bool coarse;
  double drill;
};
// Sizes: ISO 261. Drills: ISO 2306 (from memory; each checked against d - P in the test).
constexpr MetricRow kMetric[] = {
    {1.6, 0.35, true, 1.25}, {2, 0.4, true, 1.6},    {2.5, 0.45, true, 2.05}, {3, 0.5, true, 2.5},
    {3.5, 0.6, true, 2.9},   {4, 0.7, true, 3.3},    {5, 0.8, true, 4.2},     {6, 1, true, 5},
    {8, 1.25, true, 6.8},    {10, 1.5, true, 8.5},   {12, 1.75, true, 10.2},  {14, 2, true, 12},
    {16, 2, true, 14},       {18, 2.5, true, 15.5},  {20, 2.5, true, 17.5},   {22, 2.5, true, 19.5},
    {24, 3, true, 21},       {27, 3, true, 24},      {30, 3.5, true, 26.5},   {33, 3.5, true, 29.5},
    {36, 4, true, 32},       {3, 0.35, false, 2.65}, {4, 0.5, false, 3.5},    {5, 0.5, false, 4.5},
    {6, 0.75, false, 5.2},   {8, 0.75, false, 7.2},  {8, 1, false, 7},        {10, 0.75, false, 9.2},
    {10, 1, false, 9},       {10, 1.25, false, 8.8}, {12, 1, false, 11},      {12, 1.25, false, 10.8},
    {12, 1.5, false, 10.5},  {14, 1, false, 13},     {14, 1.25, false, 12.8}, {14, 1.5, false, 12.5},
    {16, 1, false, 15},      {16, 1.5, false, 14.5}, {18, 1, false, 17},      {18, 1.5, false, 16.5},
    {18, 2, false, 16},      {20, 1, false, 19},     {20, 1.5, false, 18.5},  {20, 2, false, 18},
    {22, 1, false, 21},      {22, 1.5, false, 20.5}, {22, 2, false, 20},      {24, 1, false, 23},
    {24, 1.5, false, 22.5},  {24, 2, false, 22},     {27, 1.5, false, 25.5},  {27, 2, false, 25},
    {30, 1.5, false, 28.5},  {30, 2, false, 28},     {33, 1.5, false, 31.5},  {33, 2, false, 31},
    {36, 1.5, false, 34.5},  {36, 2, false, 34},     {36, 3, false, 33}};

struct Clearance {
  double d, close, medium, loose;
};
// ISO 273, from memory; mm.
constexpr Clearance kMetricClearance[] = {
    {1.6, 1.7, 1.8, 2},   {2, 2.2, 2.4, 2.6},   {2.5, 2.7, 2.9, 3.1}, {3, 3.2, 3.4, 3.6}, {3.5, 3.7, 3.9, 4.2},
    {4, 4.3, 4.5, 4.8},   {5, 5.3, 5.5, 5.8},   {6, 6.4, 6.6, 7},     {8, 8.4, 9, 10},    {10, 10.5, 11, 12},
    {12, 13, 13.5, 14.5}, {14, 15, 15.5, 16.5}, {16, 17, 17.5, 18.5}, {18, 19, 20, 21},   {20, 21, 22, 24},
    {22, 23, 24, 26},     {24, 25, 26, 28},     {27, 28, 30, 32},     {30, 31, 33, 35},   {33, 34, 36, 38},
    {36, 37, 39, 42}};

struct UnifiedRow {
  const char* size;
  double d;             ///< in
  double coarse, fine;  ///< threads per inch
  const char* coarse_drill;
  double coarse_drill_in;
  const char* fine_drill;
  double fine_drill_in;
  double close, medium, loose;  ///< in; 0: not in the table
};
// Sizes: ASME B1.1. Drills: the usual shop list (about 75 % of thread), clearance holes: ASME B18.2.8; from memory.
constexpr UnifiedRow kUnified[] = {{"#4", 0.112, 40, 48, "#43", 0.0890, "#42", 0.0935, 0, 0, 0},
                                   {"#5", 0.125, 40, 44, "#38", 0.1015, "#37", 0.1040, 0, 0, 0},
                                   {"#6", 0.138, 32, 40, "#36", 0.1065, "#33", 0.1130, 0.154, 0.170, 0.185},
                                   {"#8", 0.164, 32, 36, "#29", 0.1360, "#29", 0.1360, 0.180, 0.196, 0.213},
                                   {"#10", 0.190, 24, 32, "#25", 0.1495, "#21", 0.1590, 0.206, 0.221, 0.238},
                                   {"#12", 0.216, 24, 28, "#16", 0.1770, "#14", 0.1820, 0, 0, 0},
                                   {"1/4", 0.25, 20, 28, "#7", 0.2010, "#3", 0.2130, 0.266, 0.281, 0.297},
                                   {"5/16", 0.3125, 18, 24, "F", 0.2570, "I", 0.2720, 0.328, 0.344, 0.359},
                                   {"3/8", 0.375, 16, 24, "5/16", 0.3125, "Q", 0.3320, 0.391, 0.406, 0.422},
                                   {"7/16", 0.4375, 14, 20, "U", 0.3680, "25/64", 0.390625, 0.453, 0.469, 0.484},
                                   {"1/2", 0.5, 13, 20, "27/64", 0.421875, "29/64", 0.453125, 0.531, 0.562, 0.609},
                                   {"9/16", 0.5625, 12, 18, "31/64", 0.484375, "33/64", 0.515625, 0, 0, 0},
                                   {"5/8", 0.625, 11, 18, "17/32", 0.53125, "37/64", 0.578125, 0.656, 0.688, 0.734},
                                   {"3/4", 0.75, 10, 16, "21/32", 0.65625, "11/16", 0.6875, 0.781, 0.812, 0.906},
                                   {"7/8", 0.875, 9, 14, "49/64", 0.765625, "13/16", 0.8125, 0.906, 0.938, 1.031},
                                   {"1", 1, 8, 12, "7/8", 0.875, "59/64", 0.921875, 1.031, 1.094, 1.156}};

double exactly(double x, std::string_view symbol) {
  const auto q = unit::parse(base::shortest(x) + " " + std::string(symbol), unit::Kind::length);
  return q.ok() ? q->si : std::nan("");
}

void fill_geometry(ThreadData& t) {
  t.pitch_diameter = t.major - 0.649519 * t.pitch;
  t.minor_diameter = t.major - 1.082532 * t.pitch;
  t.root_diameter = t.major - 1.226869 * t.pitch;
  const double d =
      t.system == unit::Thread::System::metric ? (t.pitch_diameter + t.root_diameter) / 2 : t.major - 0.9743 * t.pitch;
  t.stress_area = std::numbers::pi / 4 * d * d;
  t.thread_share = (t.major - t.tapping_drill) / (1.299038 * t.pitch);
}

ThreadData metric(const MetricRow& r) {
  ThreadData t;
  t.designation = fmt::format("M{}x{}", base::shortest(r.d), base::shortest(r.p));
  t.series = r.coarse ? "coarse" : "fine";
  t.major = exactly(r.d, "mm");
  t.pitch = exactly(r.p, "mm");
  t.tapping_drill = exactly(r.drill, "mm");
  t.tapping_name = base::shortest(r.drill);
  for (const Clearance& c : kMetricClearance)
    if (c.d == r.d) {
      t.clear_close = exactly(c.close, "mm");
      t.clear_medium = exactly(c.medium, "mm");
      t.clear_loose = exactly(c.loose, "mm");
    }
  t.source = "sizes ISO 261; diameters ISO 724; area ISO 898-1; drill ISO 2306 and clearance ISO 273 from memory";
  t.note = "tapping drill for a cut thread; a formed thread needs a larger hole";
  fill_geometry(t);
  return t;
}

ThreadData unified(const UnifiedRow& r, bool coarse) {
  ThreadData t;
  t.system = unit::Thread::System::unified;
  const double n = coarse ? r.coarse : r.fine;
  t.series = coarse ? "UNC" : "UNF";
  t.designation = fmt::format("{}-{} {}", r.size, base::shortest(n), t.series);
  const auto read = unit::parse_thread(t.designation);
  t.major = read.ok() ? read->major : std::nan("");
  t.pitch = read.ok() ? read->pitch : std::nan("");
  t.tapping_drill = exactly(coarse ? r.coarse_drill_in : r.fine_drill_in, "in");
  t.tapping_name = coarse ? r.coarse_drill : r.fine_drill;
  if (r.close > 0) {
    t.clear_close = exactly(r.close, "in");
    t.clear_medium = exactly(r.medium, "in");
    t.clear_loose = exactly(r.loose, "in");
  }
  t.source = "sizes and area ASME B1.1; drill common practice; clearance ASME B18.2.8 from memory";
  t.note = "tapping drill for a cut thread of about three quarters height";
  fill_geometry(t);
  return t;
}

std::vector<ThreadData> make_table() {
  std::vector<ThreadData> out;
  for (const MetricRow& r : kMetric) out.push_back(metric(r));
  for (const UnifiedRow& r : kUnified) out.push_back(unified(r, true));
  for (const UnifiedRow& r : kUnified) out.push_back(unified(r, false));
  return out;
}

bool near(double a, double b) { return std::fabs(a - b) <= 1e-9; }

std::string nearest_thread(const unit::Thread& t) {
  std::string best;
  double least = INFINITY;
  for (const ThreadData& row : thread_table()) {
    if (row.system != t.system) continue;
    const double wrong_series = !t.series.empty() && row.series != t.series ? 0.1 : 0;
    const double wrong_pitch = t.pitch > 0 ? std::fabs(std::log(row.pitch / t.pitch))
                               : row.series == "coarse" || row.series == "UNC" ? 0
                                                                               : 0.1;
    const double d = 20 * std::fabs(std::log(row.major / t.major)) + wrong_pitch + wrong_series;
    if (d < least) {
      least = d;
      best = row.designation;
    }
  }
  return best;
}

constexpr double MPa = 1e6;
constexpr double ksi = 6894757.293168361;
constexpr double mm = 1e-3;
constexpr double inch = 0.0254;

std::vector<StrengthClass> make_strength() {
  const std::string iso = "ISO 898-1:1999, table of mechanical properties";
  const std::string memory = "ISO 898-1, from memory";
  const std::string sae = "SAE J429, from memory";
  const std::string a574 = "ASTM A574, from memory";
  const std::string steel = "carbon or alloy steel";
  return {
      {"4.6", 0, 39 * mm, 400 * MPa, 240 * MPa, 225 * MPa, memory, steel},
      {"5.8", 0, 39 * mm, 520 * MPa, 420 * MPa, 380 * MPa, memory, steel},
      {"8.8", 0, 16 * mm, 800 * MPa, 640 * MPa, 580 * MPa, iso + "; 800 and 640 from memory", "up to 16 mm"},
      {"8.8", 16 * mm, 39 * mm, 830 * MPa, 660 * MPa, 600 * MPa, iso, "over 16 mm"},
      {"10.9", 0, 39 * mm, 1040 * MPa, 940 * MPa, 830 * MPa, iso, steel},
      {"12.9", 0, 39 * mm, 1220 * MPa, 1100 * MPa, 970 * MPa, iso,
       "brittle when plated or corroded: keep dry or oiled"},
      {"A2-70", 0, 24 * mm, 700 * MPa, 450 * MPa, 450 * MPa, "ISO 3506-1, from memory",
       "stainless; proof taken as Rp0.2"},
      {"grade 2", 0, 0.75 * inch, 74 * ksi, 57 * ksi, 55 * ksi, sae, "1/4 to 3/4 in"},
      {"grade 5", 0, 1 * inch, 120 * ksi, 92 * ksi, 85 * ksi, sae, "1/4 to 1 in"},
      {"grade 8", 0, 1.5 * inch, 150 * ksi, 130 * ksi, 120 * ksi, sae, "1/4 to 1-1/2 in"},
      {"A574", 0, 0.5 * inch, 180 * ksi, 162 * ksi, 140 * ksi, a574, "socket head cap screws up to 1/2 in"},
      {"A574", 0.5 * inch, 1.5 * inch, 170 * ksi, 153 * ksi, 135 * ksi, a574, "socket head cap screws over 1/2 in"},
  };
}

std::string plain_name(std::string_view s) {
  std::string out;
  for (char c : base::lower(s))
    if (c != ' ' && c != '-') out += c;
  if (base::starts_with(out, "class")) out.erase(0, 5);
  if (base::starts_with(out, "sae")) out.erase(0, 3);
  if (base::starts_with(out, "astm")) out.erase(0, 4);
  return out;
}

}  // namespace

std::span<const ThreadData> thread_table() {
  static const std::vector<ThreadData> table = make_table();
  return table;
}

Outcome<ThreadData> thread_data(const unit::Thread& t) {
  for (const ThreadData& row : thread_table()) {
    if (row.system != t.system || !near(row.major, t.major)) continue;
    const bool pitch =
        t.pitch > 0 ? near(row.pitch, t.pitch) : t.system == unit::Thread::System::unified || row.series == "coarse";
    const bool series = t.series.empty() || row.series == t.series;
    if (pitch && series) return row;
  }
  Problem p = bad("this thread is not in the table", t.typed, "metric M1.6 to M36 or UNC and UNF #4 to 1 in",
                  nearest_thread(t));
  p.where.column = 1;
  return p;
}

std::span<const StrengthClass> strength_table() {
  static const std::vector<StrengthClass> table = make_strength();
  return table;
}

Outcome<StrengthClass> strength(std::string_view name, double major) {
  std::vector<std::string> names;
  bool known = false;
  double largest = 0;
  for (const StrengthClass& c : strength_table()) {
    if (names.empty() || names.back() != c.name) names.push_back(c.name);
    if (plain_name(c.name) != plain_name(name)) continue;
    known = true;
    largest = std::max(largest, c.up_to);
    if (major > c.over && major <= c.up_to * (1 + 1e-12)) return c;
  }
  if (!known)
    return bad("no such strength class of screws", std::string(name), base::join(names, ", "),
               base::nearest(name, names));
  return bad(fmt::format("class {} is printed up to {}", name, unit::write(largest, unit::Kind::length)),
             unit::write(major, unit::Kind::length), "a size inside the printed range");
}

}  // namespace fettle::ref
