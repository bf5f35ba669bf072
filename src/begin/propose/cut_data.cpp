#include "begin/propose/cut_data.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "begin/propose/facts.h"
#include "calc/cutting/holes.h"
#include "plan/read.h"
#include "ref/bench_tables.h"
#include "ref/materials.h"

namespace fettle::begin {

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double m_min = 1.0 / 60;
constexpr double through_skin = 0.75;  ///< of the low end of what is printed; from memory

/// What the table of printed speeds calls this work; empty: no row.
std::string printed_work(const plan::Tool& t) {
  const bool carbide = t.material.value == "carbide", steel = t.material.value == "high-speed steel";
  const std::string& k = t.kind.value;
  if (k == "reamer") return carbide ? "reaming, carbide" : steel ? "reaming, high-speed steel" : "";
  if (k == "drill") return steel ? "drilling, high-speed steel" : "";
  if (!carbide) return "";
  if (k == "end mill") return "end milling, solid carbide";
  if (k == "face mill") return "milling, coated inserts";
  if (k == "boring tool") return "turning, coated carbide, heavy interrupted";
  return "";
}

struct Remembered {
  double speed = 0, low = 0, high = 0;           ///< m/min in grey iron near 200 HB, wet, carbide
  double feed = 0, feed_low = 0, feed_high = 0;  ///< mm a tooth
};
/// From memory, on the careful side of common practice.
Remembered remembered(const plan::Tool& t, bool finish) {
  const std::string& k = t.kind.value;
  const double d = t.diameter.si, s = std::clamp(d / 16e-3, 0.3, 1.4);
  if (k == "face mill") return {170, 120, 250, 0.15, 0.10, 0.25};
  if (k == "end mill") return {finish ? 140.0 : 110.0, 80, 200, (finish ? 0.06 : 0.07) * s, 0.04 * s, 0.10 * s};
  if (k == "drill") {
    const double f = std::clamp(10 * d, 0.03, 0.1);
    return {95, 70, 130, f, 0.6 * f, 1.6 * f};
  }
  if (k == "reamer") return {40, 15, 60, 0.025, 0.02, 0.05};
  if (k == "tap") return {12, 6, 20, 0, 0, 0};
  if (k == "thread mill") return {90, 60, 150, 0.03, 0.02, 0.06};
  if (k == "boring tool") return {140, 100, 250, finish ? 0.08 : 0.12, 0.05, 0.2};
  if (k == "keyseat cutter") return {90, 60, 140, 0.05, 0.03, 0.08};
  if (k == "chamfer") return {90, 60, 150, 0.08, 0.05, 0.15};
  return {80, 50, 120, 0.05, 0.03, 0.1};
}

std::string range_words(double low, double high, bool inch) {
  const double one = inch ? 0.3048 / 60 : m_min;
  const std::string unit = inch ? "ft/min" : "m/min";
  if (high - low < 1e-9) return fmt::format("{:.0f} {}", low / one, unit);
  return fmt::format("{:.0f} to {:.0f} {}", low / one, high / one, unit);
}

}  // namespace

Iron iron_of(const plan::Plan& p) {
  Iron out;
  const auto m = ref::material(p.part.material.value);
  if (!m.ok()) return out;
  out.group = m->group;
  out.soft = m->hardness_low, out.hard = m->hardness_high, out.stated = 0.5 * (out.soft + out.hard);
  if (p.casting.hardness.known())
    if (const auto h = ref::read_hardness(p.casting.hardness.value, *m); h.ok())
      out.soft = h->soft, out.stated = h->stated, out.hard = h->body > 0 ? h->body : h->hard;
  if (out.hard > 0)
    if (auto sets = ref::chip_force_sets(*m, out.hard); sets.ok()) out.chips = sets.value();
  if (const auto k = ref::drill_factor(*m, out.hard); k.ok()) out.drill = k->value;
  return out;
}

CutData cutting_data(const plan::Tool& t, bool finish, const Iron& iron, bool inch) {
  const Remembered r = remembered(t, finish);
  CutData out;
  out.feed = r.feed * 1e-3, out.feed_low = r.feed_low * 1e-3, out.feed_high = r.feed_high * 1e-3;
  const std::string work = printed_work(t);
  if (const auto row = work.empty() || iron.group != "grey iron" ? std::nullopt : ref::cutting_speed(work, iron.hard)) {
    const bool careful = !finish && row->high > row->low;
    out.printed = true;
    out.speed_low = row->low, out.speed_high = row->high;
    out.speed = (careful ? through_skin : finish || row->high > row->low ? 1 : through_skin) * row->low;
    if (t.kind.value == "reamer") out.speed = through_skin * row->low;
    out.source = fmt::format(
        "{}: {} printed for {:.0f} HB; {} [{}]; feed from memory", work, range_words(row->low, row->high, inch),
        0.5 * (row->soft + row->hard),
        out.speed < row->low ? "three quarters of the low end, on the careful side" : "its low end", row->source);
    return out;
  }
  // Ductile and malleable irons are tougher: seven tenths of grey iron. High-speed steel: a quarter of carbide; taps
  // are of it anyway. From memory.
  double k = iron.group.empty() || iron.group == "grey iron" ? 1 : 0.7;
  if (t.material.value == "high-speed steel" && t.kind.value != "tap") k *= 0.25;
  out.speed = k * r.speed * m_min, out.speed_low = k * r.low * m_min, out.speed_high = k * r.high * m_min;
  out.source = fmt::format("from memory: {} in {}, {}", t.kind.value, iron.group.empty() ? "iron" : iron.group,
                           range_words(out.speed_low, out.speed_high, inch));
  return out;
}

double least_chip(const plan::Tool& t) {
  return ref::least_chip_ratio().value * (t.edge_radius.known() ? t.edge_radius.si : 20e-6);
}

double middle_share(const plan::Plan& p, const plan::Cut& c) {
  const plan::Tool* t = plan::find_tool(p, c.tool.value);
  if (t == nullptr || t->kind.value != "keyseat cutter" || !t->diameter.known()) return 1;
  for (const std::string& id : c.features.value) {
    const plan::Feature* f = plan::find_feature(p, plan::parse_reference(id).id);
    if (f == nullptr || f->kind.value != "groove") continue;
    if (const double groove = diameter_of(*f); groove > t->diameter.si) return (groove - t->diameter.si) / groove;
  }
  return 1;
}

double machine_gives(const plan::Machine& m, double speed) {
  if (!m.power.known()) return 0;
  const double share = m.efficiency.known() ? m.efficiency.si : 1, p = share * m.power.si;
  return m.torque.known() ? std::min(p, m.torque.si * speed) : p;
}

namespace {

/// Angle over which a tooth is in the metal, rad, and the metal that the cutter takes per depth, m2/s.
struct Swept {
  double angle = 0, rate = 0;
};
Swept swept(double d, double width, double feed, double inside) {
  const double ae = std::min(width, d);
  const double middle = inside - 0.5 * d;  // radius of the circle that the tool's middle runs on
  if (inside > 0 && middle > 1e-6) {
    const cutting::Arc arc = cutting::inside_arc(d, inside - ae, inside, true);
    // The middle is slower than the edge at the wall by the ratio of the circles; a ring is taken.
    const double turn = feed / inside;
    return {arc.exit - arc.entry, 0.5 * (inside * inside - (inside - ae) * (inside - ae)) * turn};
  }
  return {std::acos(std::clamp(1 - 2 * ae / d, -1.0, 1.0)), ae * feed};
}

}  // namespace

CutLoad load_of(const plan::Cut& c, const plan::Tool& t, const Iron& iron, double width, double least_width,
                double inside) {
  CutLoad out;
  const double d = t.diameter.si, turns = c.speed.si / (2 * pi);
  if (!(turns > 0) || !c.feed.known() || !(d > 0)) return out;
  const double z = t.teeth.known() ? static_cast<double>(t.teeth.value) : 1,
               wear = t.wear_factor.known() ? t.wear_factor.si : 1.3;
  const double fz = c.feed.si / (turns * z), lead = t.lead.known() ? t.lead.si : 0;
  const std::string& k = t.kind.value;
  if (k == "tap" || k == "thread mill" || k == "probe") return out;
  // Mean over the arc: what a tooth takes in a turn, over the way that it is in the metal.
  const auto mean_chip = [&](const Swept& s) {
    return s.angle > 0 ? std::cos(lead) * s.rate / (turns * z * 0.5 * d * s.angle) : 0;
  };
  for (const ref::ChipForceAt& set : iron.chips) {
    const cutting::Chip chip{set.kc11, set.mc, wear, 0.4};
    double power = 0;
    if (k == "drill") {
      cutting::Drill in;
      in.chip = chip, in.factor = iron.drill, in.diameter = d, in.feed = fz * z, in.edges = static_cast<int>(z);
      in.turns = turns, in.point = t.point_angle.known() ? t.point_angle.si : 140 * pi / 180;
      if (const auto l = cutting::drill_load(in); l.ok()) power = l->power;
    } else if (k == "boring tool" || k == "reamer") {
      power = cutting::specific_force(chip, fz) * fz * width * z * pi * d * turns;
    } else {
      const Swept s = swept(d, width, c.feed.si, inside);
      if (const double mean = mean_chip(s); mean > 0) power = cutting::specific_force(chip, mean) * c.depth.si * s.rate;
    }
    out.power = std::max(out.power, power);
  }
  if (k == "drill" || k == "boring tool" || k == "reamer") out.chip = fz;
  else out.chip = mean_chip(swept(d, least_width > 0 ? least_width : width, c.feed.si, inside));
  return out;
}

}  // namespace fettle::begin
