#include "ref/cutting.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "base/text.h"

namespace fettle::ref {

namespace {

constexpr double N_mm2 = 1e6;
const char* const kGroups = "tool maker's table by material groups of VDI 3323, read";
const char* const kGrade = "from memory: German handbook tables by grade (after König and Essel, Tschätsch)";

std::vector<ChipForce> make_forces() {
  const auto group = [](const char* name, const char* of, double hb, double kc, double mc) {
    return ChipForce{name, of, {}, hb, kc * N_mm2, mc, true, kGroups, "carbide, sharp edge, rake near 6 deg"};
  };
  const auto grade = [](const char* name, double kc, double mc) {
    return ChipForce{name, "grey iron", name, 0, kc * N_mm2, mc, false, kGrade, "turning; 0.05 to 2.5 mm of chip"};
  };
  return {
      group("grey iron, ferritic and pearlitic (group 15)", "grey iron", 180, 1150, 0.20),
      group("grey iron, pearlitic (group 16)", "grey iron", 260, 1350, 0.28),
      group("ductile iron, ferritic (group 17)", "ductile iron", 160, 1225, 0.25),
      group("ductile iron, pearlitic (group 18)", "ductile iron", 250, 1350, 0.28),
      group("malleable iron, ferritic (group 19)", "malleable iron", 130, 1225, 0.25),
      group("malleable iron, pearlitic (group 20)", "malleable iron", 230, 1420, 0.30),
      group("wrought aluminium, not age hardened (group 21)", "aluminium", 60, 700, 0.25),
      group("wrought aluminium, age hardened (group 22)", "aluminium", 100, 800, 0.25),
      grade("EN-GJL-150", 950, 0.21),
      grade("EN-GJL-200", 1020, 0.25),
      grade("EN-GJL-250", 1160, 0.26),
  };
}

double between(double a, double b, double t) { return a + (b - a) * t; }

/// A number in the text with the words right before it.
struct Found {
  double value = 0;
  std::string before;
  std::string after;
};

bool digit(char c) { return c >= '0' && c <= '9'; }

/// Numbers that can be a hardness. Loads of the test ("HBW 10/3000") stand at a slash and are no hardness.
std::vector<Found> numbers(const std::string& s) {
  std::vector<Found> out;
  std::size_t last = 0;
  for (std::size_t i = 0; i < s.size();) {
    if (!digit(s[i])) {
      ++i;
      continue;
    }
    std::size_t j = i;
    while (j < s.size() && (digit(s[j]) || (s[j] == '.' && j + 1 < s.size() && digit(s[j + 1])))) ++j;
    double v = 0;
    std::from_chars(s.data() + i, s.data() + j, v);
    const bool load = (i > 0 && s[i - 1] == '/') || (j < s.size() && s[j] == '/');
    if (!load) out.push_back({v, s.substr(last, i - last), {}});
    if (out.size() > 1) out[out.size() - 2].after = out.back().before;
    if (!load) last = j;
    i = j;
  }
  if (!out.empty()) out.back().after = s.substr(last);
  return out;
}

/// Dashes of all lengths, "..", "to" and "±" as plain signs, so that one form is read.
std::string plain(std::string_view text) {
  std::string s = base::lower(text);
  const auto swap = [&](std::string_view from, std::string_view to) {
    for (std::size_t at = 0; (at = s.find(from, at)) != std::string::npos; at += to.size())
      s.replace(at, from.size(), to);
  };
  for (const char* dash : {"\u2010", "\u2011", "\u2012", "\u2013", "\u2014", "\u2212", "..."}) swap(dash, "-");
  swap("\u2026", "-");
  swap("..", "-");
  swap("±", "+-");
  swap("+/-", "+-");
  swap("\u2264", " up to ");
  swap("<", " up to ");
  swap("\u2265", " at least ");
  swap(">", " at least ");
  return s;
}

bool has(const std::string& s, std::string_view word) { return s.find(word) != std::string::npos; }
bool says_upper(const std::string& s) {
  return has(s, "up to") || has(s, "max") || has(s, "below") || has(s, "at most");
}
bool says_lower(const std::string& s) {
  return has(s, "at least") || has(s, "min") || has(s, "above") || has(s, "from");
}

}  // namespace

std::span<const ChipForce> chip_forces() {
  static const std::vector<ChipForce> table = make_forces();
  return table;
}

Outcome<std::vector<ChipForceAt>> chip_force_sets(const Material& m, double hb) {
  const ChipForce *soft = nullptr, *hard = nullptr, *grade = nullptr;
  for (const ChipForce& f : chip_forces()) {
    if (!f.grade.empty()) {
      if (f.grade == m.name) grade = &f;
    } else if (f.group == m.group) {
      (soft == nullptr ? soft : hard) = &f;
    }
  }
  if (soft == nullptr || hard == nullptr)
    return bad(
        "no specific cutting force is printed here for this material", m.name,
        "grey, ductile or malleable iron, or wrought aluminium; else part.cutting_force and part.chip_exponent as "
        "measured");
  constexpr double beyond = 60;
  if (!(hb >= soft->hardness - beyond && hb <= hard->hardness + beyond))
    return bad("hardness outside what the table carries", base::fixed(hb, 0) + " HB",
               fmt::format("{:.0f} to {:.0f} HB for {}", soft->hardness - beyond, hard->hardness + beyond, m.group));
  const double t = (hb - soft->hardness) / (hard->hardness - soft->hardness);
  std::vector<ChipForceAt> out;
  out.push_back({between(soft->kc11, hard->kc11, t), between(soft->mc, hard->mc, t), t < 0 || t > 1,
                 fmt::format("{} at {} HB, between {:.0f} and {:.0f} HB as printed", m.group, base::fixed(hb, 0),
                             soft->hardness, hard->hardness),
                 soft->source});
  if (grade != nullptr && hb >= m.hardness_low && hb <= m.hardness_high)
    out.push_back({grade->kc11, grade->mc, false, grade->name, grade->source});
  return out;
}

Outcome<HardnessWords> read_hardness(std::string_view text, const Material& otherwise) {
  const std::string s = plain(text);
  const auto no = [&] {
    return bad("no Brinell hardness in these words", std::string(text),
               "such as 180 to 220 HB, up to 260 HB at corners");
  };
  if (has(s, "hrc") || has(s, "hrb") || has(s, "hv")) return no();
  std::optional<double> low, high, single, spread, most;
  const auto all = numbers(s);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Found& f = all[i];
    if (has(f.before, "+-") && single) {
      spread = f.value;
      continue;
    }
    if (!(f.value >= 40 && f.value <= 700)) continue;
    const bool joined = (has(f.before, "-") || has(f.before, "to") || has(f.before, "and")) && !has(f.before, ",") &&
                        !has(f.before, ";") && !has(f.before, "up to");
    if (says_upper(f.before)) most = std::max(most.value_or(0), f.value);
    else if (says_lower(f.before) && !low) low = f.value;
    else if (joined && (single || low) && !high) {
      if (single) low = single;
      single.reset();
      high = f.value;
    } else if (!single && !low) single = f.value;
    else most = std::max(most.value_or(0), f.value);
  }
  if (!low && !high && !single && !most) return no();
  HardnessWords h;
  if (single) {
    const double s2 = spread.value_or(0);
    h = {*single - s2, *single, *single + s2, 0};
  } else {
    const double a = low ? *low : (otherwise.hardness_low > 0 ? otherwise.hardness_low : *most);
    double b = high ? *high : most ? *most : otherwise.hardness_high;
    if (!low && most && a > *most) return HardnessWords{*most, *most, *most, *most};
    b = std::max(a, b);
    h = {a, 0.5 * (a + b), b, 0};
  }
  if (h.soft > h.hard) std::swap(h.soft, h.hard);
  h.body = h.hard;
  if (most) h.hard = std::max(h.hard, *most);
  return h;
}

Banded radial_ratio() {
  return {0.4, 0.3, 0.6, "from memory: radial over tangential force of milling iron with carbide",
          "a cut on a force plate, or from power and push-off together"};
}
Banded least_chip_ratio() {
  return {0.3, 0.2, 0.4, "from memory: reviews of the least chip against the radius of the edge",
          "look for a burnished flank at falling feed"};
}
Banded worn_tap_factor() {
  return {2, 1, 2.5, "common practice: a worn tap needs about twice the torque of a sharp one",
          "spindle load of a new tap against a used one"};
}

namespace {
struct DrillRow {
  double hardness, k;
};
constexpr DrillRow kDrill[] = {{177, 1.00}, {198, 1.39}, {224, 1.88}};
}  // namespace

Outcome<DrillFactor> drill_factor(const Material& m, double hb) {
  if (m.group != "grey iron")
    return bad("the drill maker's factors are printed for grey iron only", m.name, "grey iron");
  if (!(hb >= 100 && hb <= 320))
    return bad("hardness outside what the factors carry", base::fixed(hb, 0) + " HB", "100 to 320 HB");
  const std::size_t i = hb < kDrill[1].hardness ? 0 : 1;
  const double t = (hb - kDrill[i].hardness) / (kDrill[i + 1].hardness - kDrill[i].hardness);
  return DrillFactor{std::max(0.3, between(kDrill[i].k, kDrill[i + 1].k, t)),
                     hb < kDrill[0].hardness || hb > kDrill[2].hardness,
                     "drill maker's formulas for cast iron (K at 177, 198 and 224 HB), read"};
}

Outcome<TapForce> tap_force(const Material& m) {
  if (m.group != "grey iron")
    return bad("the tapping formulas are printed with a specific force for grey iron only", m.name, "grey iron");
  return TapForce{1250 * N_mm2, 2900 * N_mm2, 193,
                  "two tap makers' formulas, read: kc 1250 N/mm² for grey iron; kc 2900 N/mm² for GG-25 at 193 HB"};
}

namespace {
constexpr double kJ_cm3 = 1e9;  // kW per cm3/s
constexpr UnitPower kUnit[] = {{100, 120, 0.76 * kJ_cm3}, {120, 140, 0.96 * kJ_cm3}, {140, 160, 1.04 * kJ_cm3},
                               {160, 180, 1.42 * kJ_cm3}, {180, 200, 1.64 * kJ_cm3}, {200, 220, 1.94 * kJ_cm3},
                               {220, 240, 2.48 * kJ_cm3}};
}  // namespace

std::span<const UnitPower> unit_powers() { return kUnit; }
Outcome<double> unit_power(double hb) {
  for (const UnitPower& u : kUnit)
    if (hb >= u.hardness_low && hb <= u.hardness_high) return u.value;
  return bad("hardness outside the table of unit power", base::fixed(hb, 0) + " HB", "100 to 240 HB");
}

std::span<const ProcessRoughness> process_roughness() {
  constexpr double um = 1e-6;
  const char* const read =
      "table of usual roughness by process, read (engineering reference page); better and worse occur";
  static const std::vector<ProcessRoughness> table = {
      {"milling", 0.8 * um, 6.3 * um, read},  {"boring", 0.4 * um, 6.3 * um, read},
      {"turning", 0.4 * um, 6.3 * um, read},  {"reaming", 0.8 * um, 3.1 * um, read},
      {"drilling", 1.6 * um, 6.3 * um, read}, {"grinding", 0.1 * um, 1.6 * um, read},
      {"honing", 0.1 * um, 0.8 * um, read},
  };
  return table;
}
Outcome<ProcessRoughness> roughness_of(std::string_view process) {
  std::vector<std::string> names;
  for (const ProcessRoughness& p : process_roughness()) {
    if (p.process == process) return p;
    names.push_back(p.process);
  }
  return bad("no usual roughness is known for this process", std::string(process), base::join(names, ", "),
             base::nearest(std::string(process), names));
}

}  // namespace fettle::ref
