#include "ref/friction.h"

#include "base/text.h"
#include "ref/materials.h"

namespace fettle::ref {

namespace {

const char* const kPull = "spring-balance pull of one part on the place that holds it";
const char* const kJoints = "published ranges for clamped machined joints; the publication was not at hand";
const char* const kCleanNote = "tables of laboratory-clean metals give far more; they are of no use for holding";

std::vector<FrictionPair> make_pairs() {
  return {
      {"iron on aluminium, wet",
       {"cast iron on aluminium, wet", "iron on aluminum, wet", "iron on aluminium", "part on pallet, wet"},
       0.12,
       0.08,
       0.20,
       "common practice; no measured value for grey iron on aluminium with coolant was found",
       "coolant in the joint; a burr or swarf makes it neither better nor safer",
       kPull},
      {"iron on aluminium, dry",
       {"cast iron on aluminium, dry", "iron on aluminum, dry"},
       0.16,
       0.08,
       0.22,
       "published ranges for clamped machined joints, the publication was not at hand; the low end: degreased faces",
       kCleanNote,
       kPull},
      {"iron on hardened jaw, ground",
       {"iron on hard jaw", "iron on ground steel", "iron on steel jaw", "part on jaw"},
       0.15,
       0.12,
       0.25,
       "common practice: trade values for smooth jaws",
       "ground steel, damp",
       "pull test or tilt board"},
      {"iron on steel, wet",
       {"cast iron on steel, wet", "steel on iron, wet"},
       0.12,
       0.09,
       0.18,
       kJoints,
       "0.10 is printed for lubricated",
       kPull},
      {"iron on steel, dry",
       {"cast iron on steel, dry", "steel on iron, dry"},
       0.18,
       0.15,
       0.25,
       kJoints,
       kCleanNote,
       kPull},
      {"iron on iron, dry", {"cast iron on cast iron, dry"}, 0.20, 0.18, 0.28, kJoints, kCleanNote, kPull},
      {"iron on iron, wet",
       {"cast iron on cast iron, wet"},
       0.12,
       0.08,
       0.18,
       "from memory",
       "lower end is a greasy joint",
       kPull},
      {"steel on steel, degreased", {"steel on steel, dry"}, 0.15, 0.12, 0.18, kJoints, kCleanNote, kPull},
      {"steel on steel, as it comes", {"steel on steel, untreated"}, 0.18, 0.15, 0.25, kJoints, "untreated", kPull},
      {"steel on steel, wet",
       {"steel on steel, oiled"},
       0.12,
       0.08,
       0.16,
       "from memory",
       "oil or coolant in the joint",
       kPull},
      {"aluminium on aluminium", {"aluminum on aluminum"}, 0.11, 0.08, 0.20, kJoints, kCleanNote, kPull},
      {"aluminium on steel, wet", {"steel on aluminium, wet"}, 0.12, 0.08, 0.18, "from memory", kCleanNote, kPull},
      {"iron on serrated jaw",
       {"iron on toothed jaw"},
       0.35,
       0.25,
       0.50,
       "from memory",
       "teeth bite into a raw skin; marks the part",
       "pull test"},
      {"iron on urethane, wet",
       {"part on urethane pad", "iron on rubber, wet"},
       0.30,
       0.15,
       0.60,
       "from memory",
       "falls with oil; creeps",
       kPull},
  };
}

std::vector<NutFactor> make_nut_factors() {
  const std::string measure = "wrench and load washer, or stretch of the screw";
  const std::string textbook = "Shigley's Mechanical Engineering Design, table of torque factors, from memory";
  return {
      {"dry",
       {"as it comes", "unlubricated"},
       0.20,
       0.144,
       0.256,
       "common practice; band of 28 % for a torque wrench with estimated friction (VDI 2230)",
       "clean, no oil",
       measure},
      {"oiled",
       {"oil", "lightly oiled"},
       0.15,
       0.108,
       0.192,
       "common practice; band of 28 % for a torque wrench with estimated friction (VDI 2230)",
       "thread and head face oiled",
       measure},
      {"plain black", {"black finish"}, 0.30, 0.22, 0.38, textbook, "as delivered, no oil", measure},
      {"zinc plated", {"zinc"}, 0.20, 0.15, 0.26, textbook, "no oil", measure},
      {"lubricated", {"greased"}, 0.18, 0.13, 0.23, textbook, "any oil or grease", measure},
      {"cadmium plated", {"cadmium"}, 0.16, 0.12, 0.21, textbook, "no oil", measure},
      {"anti-seize", {"antiseize", "copper paste"}, 0.12, 0.09, 0.16, textbook, "two products: 0.12 and 0.09", measure},
  };
}

template <class Row>
Outcome<Row> find(std::span<const Row> table, std::string_view name, const char* what, const char* expected) {
  const std::string key = plain_name(name);
  std::vector<std::string> names;
  std::vector<const Row*> owner;
  for (const Row& r : table) {
    std::vector<std::string> all = r.aliases;
    all.insert(all.begin(), r.name);
    for (const std::string& n : all) {
      if (plain_name(n) == key) return r;
      names.push_back(plain_name(n));
      owner.push_back(&r);
    }
  }
  const std::string near = base::nearest(key, names);
  std::string nearest;
  for (std::size_t i = 0; i < names.size() && nearest.empty() && !near.empty(); ++i)
    if (names[i] == near) nearest = owner[i]->name;
  return bad(what, std::string(name), expected, nearest);
}

}  // namespace

std::span<const FrictionPair> friction_table() {
  static const std::vector<FrictionPair> table = make_pairs();
  return table;
}

Outcome<FrictionPair> friction(std::string_view name) {
  return find<FrictionPair>(friction_table(), name, "no such pair of surfaces in the friction table",
                            "a pair such as iron on aluminium, wet");
}

std::span<const NutFactor> nut_factors() {
  static const std::vector<NutFactor> table = make_nut_factors();
  return table;
}

Outcome<NutFactor> nut_factor(std::string_view name) {
  return find<NutFactor>(nut_factors(), name, "no such condition of a screw", "a condition such as dry or oiled");
}

}  // namespace fettle::ref
