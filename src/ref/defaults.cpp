#include "ref/defaults.h"

#include <fmt/format.h>

#include "base/text.h"
#include "ref/friction.h"
#include "ref/materials.h"

namespace fettle::ref {

namespace {

using unit::Kind;

struct Row {
  const char* thing;
  std::vector<std::string> aliases;
  const char* what;
  Kind kind;
  const char* text;
  const char* source;
  const char* replaced_by;
};

const char* const kPress = "press one part with a known force and read a 1 µm dial";
const char* const kMemory = "from memory; bands wide because it depends on the surfaces and the force";

std::vector<Default> make_defaults() {
  const std::vector<Row> rows = {
      {"hard jaw",
       {"ground jaw", "steel jaw"},
       "contact stiffness under one part",
       Kind::stiffness,
       "400 N/µm (100..1500)",
       kMemory,
       kPress},
      {"soft jaw",
       {"aluminium jaw", "machined soft jaw"},
       "contact stiffness under one part",
       Kind::stiffness,
       "250 N/µm (60..900)",
       kMemory,
       kPress},
      {"urethane pad 6 mm",
       {"urethane pad", "pad", "pads", "urethane pad 6 mm, 95 Shore A"},
       "contact stiffness under one part",
       Kind::stiffness,
       "40 N/µm (10..120)",
       kMemory,
       kPress},
      {"rest pad",
       {"flat rest", "pad dia 12", "hardened rest pad"},
       "contact stiffness of one flat rest of 12 mm",
       Kind::stiffness,
       "120 N/µm (40..400)",
       kMemory,
       kPress},
      {"domed rest",
       {"round rest", "radius rest"},
       "contact stiffness of one domed rest",
       Kind::stiffness,
       "40 N/µm (15..120)",
       kMemory,
       kPress},
      {"anchor stiffness",
       {"anchor", "anchor stiffness upright"},
       "stiffness of one anchor, upright",
       Kind::stiffness,
       "150 N/µm (50..300)",
       "from memory",
       "10 kg on each corner and a 1 µm dial"},
      {"anchor stiffness sideways",
       {"anchor sideways"},
       "stiffness of one anchor, sideways",
       Kind::stiffness,
       "100 N/µm (30..250)",
       "from memory",
       "pull sideways with a spring balance and a 1 µm dial"},
      {"anchor repeatability",
       {"swap repeatability", "anchor repeats"},
       "position after a swap, plus or minus, three sigma",
       Kind::length,
       "0.005 mm (0.002..0.015)",
       "from memory: makers state a few µm when clean",
       "swap ten times against a dial"},
      {"tool tip stiffness, 16 mm, 3 D out",
       {"tool tip stiffness", "tool-tip stiffness", "tool-tip stiffness 16 mm, 3 D out"},
       "static stiffness at the tip",
       Kind::stiffness,
       "20 N/µm (10..35)",
       "from memory",
       "tap recording, or spindle load"},
      {"modal damping, bolted pallet",
       {"modal damping", "damping"},
       "damping ratio of the first modes",
       Kind::number,
       "0.02 (0.01..0.05)",
       "published ranges for metal structures with joints 0.03 to 0.07, continuous 0.02 to 0.04; lower end from memory",
       "phone recording of a tap"},
      {"wear factor",
       {"wear factor on force"},
       "cutting force of a worn over a new edge",
       Kind::number,
       "1.3 (1.0..1.6)",
       "from memory",
       "spindle load new against at the change"},
      {"radial force ratio",
       {"kr", "radial over tangential"},
       "radial over tangential force",
       Kind::number,
       "0.4 (0.3..0.6)",
       "from memory",
       "no cheap measurement"},
      {"casting spread",
       {"casting size spread"},
       "standard deviation as a share of the width DCT",
       Kind::number,
       "0.16666666666666666 (0.12..0.25)",
       "common practice: DCT taken as six standard deviations; band from memory",
       "12 pieces with a tape"},
      {"core shift",
       {},
       "standard deviation of a core's place",
       Kind::length,
       "0.3 mm (0.15..0.6)",
       "from memory",
       "12 pieces with a caliper"},
      {"mould mismatch",
       {"mismatch"},
       "standard deviation of the shift between mould halves",
       Kind::length,
       "0.25 mm (0.1..0.5)",
       "from memory",
       "step at the parting line of 12 pieces"},
      {"casting skin",
       {"skin", "skin depth"},
       "depth that the first cut must get under",
       Kind::length,
       "0.8 mm (0.5..1.5)",
       "from memory",
       "hardness or edge wear on first cuts of 0.5 and 1 mm"},
      {"machine position",
       {"machine positioning"},
       "standard deviation as a share of the stated accuracy",
       Kind::number,
       "0.3333333333333333 (0.25..0.5)",
       "common practice: stated accuracy taken as three standard deviations; band from memory",
       "ball bar, or ten holes measured"},
      {"seat dirt",
       {"dirt under the part", "chip under the part"},
       "height under a seat that was wiped",
       Kind::length,
       "0.004 mm (0..0.02)",
       "common practice; band from memory",
       "blue or air test, or the history of a floor height"},
      {"pallet temperature",
       {"pallet temperature in run", "pallet warming"},
       "pallet above the room in the run",
       Kind::temperature_difference,
       "6 K (0..12)",
       "common practice",
       "infrared thermometer, or the slope of measured spans"},
      {"load time scatter",
       {"loading time scatter"},
       "standard deviation over mean",
       Kind::number,
       "0.15 (0.08..0.25)",
       "common practice; band from memory",
       "15 stopwatch values"},
      {"edge break probability",
       {"break probability per edge", "break probability"},
       "share of edges that break in the last third of life",
       Kind::fraction,
       "0.5 % (0.1..2)",
       "from memory",
       "own log"},
      {"hone size",
       {"hone size spread"},
       "standard deviation of a honed bore",
       Kind::length,
       "1 µm (0.6..2)",
       "common practice",
       "20 honed bores"},
      {"torque wrench",
       {"wrench", "wrench scatter"},
       "torque, plus or minus, three sigma",
       Kind::fraction,
       "6 % (4..10)",
       "common practice: makers state 4 to 6 %",
       "test on a torque tester"},
      {"preload scatter",
       {"preload from torque"},
       "preload at a known torque, plus or minus",
       Kind::fraction,
       "28 % (17..35)",
       "VDI 2230: torque wrench with estimated friction 23 to 28 %, tested on the joint 17 to 23 %; US space practice "
       "25 to 35 %",
       "load washer on five screws"},
  };
  std::vector<Default> out;
  for (const Row& r : rows) {
    const auto b = unit::parse_banded(r.text, r.kind);
    if (!b.ok()) continue;  // the test counts the rows
    out.push_back({r.thing, r.aliases, r.what, r.kind, b->value.si, b->low, b->high, r.source, r.replaced_by});
  }
  for (const FrictionPair& f : friction_table()) {
    std::vector<std::string> aliases = {"friction, " + f.name, "friction " + f.name};
    aliases.insert(aliases.end(), f.aliases.begin(), f.aliases.end());
    out.push_back(
        {f.name, aliases, "friction for holding", Kind::number, f.value, f.low, f.high, f.source, f.replaced_by});
  }
  for (const NutFactor& n : nut_factors())
    out.push_back({"screw, " + n.name,
                   {"screw " + n.name, "nut factor, " + n.name, n.name + " screw"},
                   "nut factor K of T = K d F",
                   Kind::number,
                   n.value,
                   n.low,
                   n.high,
                   n.source,
                   n.replaced_by});
  return out;
}

}  // namespace

std::string Default::text() const {
  return fmt::format("{} ({}..{})", unit::write(value, kind), unit::write(low, kind), unit::write(high, kind));
}

std::span<const Default> defaults() {
  static const std::vector<Default> table = make_defaults();
  return table;
}

Outcome<Default> default_of(std::string_view thing, std::optional<unit::Kind> kind) {
  const std::string key = plain_name(thing);
  std::vector<std::string> names;
  std::vector<const Default*> owner;
  const Default* other_kind = nullptr;
  for (const Default& d : defaults()) {
    std::vector<std::string> all = d.aliases;
    all.insert(all.begin(), d.thing);
    for (const std::string& n : all) {
      if (plain_name(n) == key) {
        if (!kind || *kind == d.kind) return d;
        other_kind = &d;
      }
      if (!kind || *kind == d.kind) {
        names.push_back(plain_name(n));
        owner.push_back(&d);
      }
    }
  }
  const std::string wanted =
      kind ? fmt::format("a {}, such as {}, or a thing that has one", unit::word(*kind), unit::example(*kind))
           : "a thing of the table, such as hard jaw or seat dirt";
  if (other_kind != nullptr)
    return bad(fmt::format("{} names a {} where a {} is meant", other_kind->thing, unit::word(other_kind->kind),
                           unit::word(*kind)),
               std::string(thing), wanted);
  const std::string near = key.size() > 2 ? base::nearest(key, names) : "";
  std::string nearest;
  for (std::size_t i = 0; i < names.size() && nearest.empty() && !near.empty(); ++i)
    if (names[i] == near) nearest = owner[i]->thing;
  return bad("no such thing in the table of start values", std::string(thing), wanted, nearest);
}

}  // namespace fettle::ref
