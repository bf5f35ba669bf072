// docs/plan.md, written from the schema: what a person reads who writes a plan.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "plan/schema.h"
#include "ref/defaults.h"
#include "ref/friction.h"
#include "ref/materials.h"
#include "ref/threads.h"

namespace fettle::plan {

namespace {

constexpr const char* head = R"md(# The plan

This page is the program's own description of its files: `build/fettle schema > docs/plan.md` writes it, a test compares
it. Every key, bound, default and example below is the one the reader uses.

A **plan** is one text file (TOML, UTF-8) that says how a casting becomes a part: what the drawing asks, what the casting is
like, in which steps it is cut, how it sits and is held in each, on which pallet. A plan names a **shop file** with the
machines, tools, gauges and people that many plans share, and may name a **pallet file** when one pallet serves several
parts. A tool that one plan alone needs, or that is still to be bought, stands in the plan as `[[tool]]`. `build/fettle study
PLAN` turns the plan into findings.

Nothing has to be complete. What is missing makes its findings *open*, and each open finding says what to give. So start with the
part and the casting, study, and add what the findings ask for. To begin from a STEP model instead of an empty file, see
`build/fettle begin`.

## A small complete plan

A cover of grey iron: both faces are ground, a bore is made in a vise, the rim is milled on a plug in that bore.

```toml
)md";

constexpr const char* example = R"md(fettle = 1                          # version of this format

[plan]
name = "cover, first draft"

[part]
name = "cover"
material = "EN-GJL-200"
size = "160 x 100 x 20 mm"          # finished, along X, Y, Z
# The origin is where the drawing needs it: here the middle of the bottom, Z up.

[[feature]]                         # double brackets: there may be several
id = "A"
kind = "face"
at = "0, 0, 0 mm"
normal = "-z"                       # outward, away from the metal
size = "160 x 100 mm"
datum = "A"
cast = "skin"                       # what is there before it is cut

[[feature]]
id = "T"
name = "top"
kind = "face"
at = "0, 0, 20 mm"
normal = "+z"
size = "160 x 100 mm"
cast = "skin"

[[feature]]
id = "RIM"
kind = "profile"                    # four sides: RIM.+x RIM.-x RIM.+y RIM.-y
at = "0, 0, 10 mm"
size = "160 x 100 mm"
from = "0 mm"
to = "20 mm"
cast = "skin"

[[feature]]
id = "BORE"
kind = "bore"
at = "0, 0 mm"
normal = "+z"
diameter = "Ø40 H7"
from = "0 mm"
to = "20 mm"
cast = "cored"

[[requirement]]
id = "thickness"
feature = "T"
to = "A"
kind = "distance"
limits = "20.0 ± 0.1 mm"

[casting]
tolerance_grade = 9
allowance_grade = "F"
draft = "1.5 deg"
parting = "10 mm"

[[casting.size]]
id = "thick"
between = ["T", "A"]
raw = "24 mm"                       # in half: 2 mm to remove on each face

[[casting.size]]
id = "long"
between = ["RIM.+x", "RIM.-x"]
raw = "164.5 mm"

[[casting.size]]
id = "wide"
between = ["RIM.+y", "RIM.-y"]
raw = "104.3 mm"

[[casting.size]]
id = "hole"
kind = "inside"
feature = "BORE"
raw = "36 mm"

[[casting.core]]
id = "core"
features = "BORE"

[[operation]]                       # the route, in the order it is done
id = "OP10"
kind = "grind"
up = "+z"
makes = "T"
[[operation.locator]]
kind = "chuck"
on = "A"                            # still raw here: nothing has cut it yet
at = ["-60, -35, -2 mm", "60, -35, -2 mm", "0, 35, -2 mm"]

[[operation]]
id = "OP20"
kind = "grind"
up = "-z"
makes = "A"
[[operation.locator]]
kind = "chuck"
on = "T"                            # cut in OP10, so this is the ground face
at = ["-60, -35, 20 mm", "60, -35, 20 mm", "0, 35, 20 mm"]

[[operation]]
id = "OP30"
kind = "vise"
up = "+z"
makes = "BORE"
[[operation.locator]]
kind = "rest"
on = "A"
at = ["-60, -35, 0 mm", "60, -35, 0 mm", "0, 35, 0 mm"]
[[operation.locator]]
kind = "jaw"
on = "RIM.-y"                       # still raw: half of 104.3 mm from the middle
at = ["-60, -52.15, 10 mm", "60, -52.15, 10 mm"]
[[operation.locator]]
kind = "centre"                     # zero in X is probed in the middle between two surfaces
on = "RIM.+x RIM.-x"
[[operation.clamp]]
kind = "vise"
on = "RIM.+y"
force = "15 kN"
direction = "-y"

[[operation]]
id = "OP40"
name = "rim, on a plug in the bore"
kind = "other"
up = "+z"
makes = "RIM"
[[operation.locator]]
kind = "rest"
on = "A"
at = ["-60, -35, 0 mm", "60, -35, 0 mm", "0, 35, 0 mm"]
[[operation.locator]]
kind = "round pin"
on = "BORE"
[[operation.locator]]
kind = "stop"                       # sets the turn, then swings away
on = "RIM.-y"
at = "60, -52.15, 10 mm"
)md";

constexpr const char* values = R"md(```

## How values are written

`key = "value"`, one a line; a `#` starts a comment. Whatever has a unit or words stands in quotation marks. Whole numbers, plain
numbers and `true`/`false` stand without. Lists are `["one", "two"]`. A table `[part]` stands once; a table `[[feature]]` may stand as often
as needed, and `[[operation.cut]]` belongs to the `[[operation]]` above it.

| what | written | meaning |
|---|---|---|
| quantity | `"25.4 mm"`, `"2-1/4 in"`, `"28 N·m"`, `"35 lbf·ft"` | a number with its unit; a bare number is refused where a unit is meant |
| quantity with its band | `"150 N/µm (50..300)"`, `"0.12 (0.08..0.20)"` | the value to count with, and the least and most it may really be |
| limits | `"132.00 ± 0.10 mm"`, `"54.00 +0.08/0 mm"`, `"8.000..8.015 mm"` | of size or distance; the upper deviation first |
| one-sided limits | `"max 0.03 mm"`, `"max Ø0.25 mm"`, `"min 0.8 mm"` | the width of a zone, a roughness |
| fits | `"Ø22 H5"`, `"8 g6"` | ISO 286, IT1 to IT16, shafts d to s, holes D to S, up to 500 mm; mm unless a unit is said |
| sizes | `"132 x 92 x 36 mm"` | along X, Y, Z |
| point | `"-44, -34 mm"`, `"0, 0, 18 mm"` | X, Y, Z in one unit; a missing Z is 0 |
| several points | `"±78, ±57 mm"`, `["0, 38 mm", "22, 38 mm"]` | ± means both signs: four points in the order (-,-), (+,-), (-,+), (+,+) |
| spread | `"s 0.012 mm"`, `"± 0.010 mm"`, `"uniform ± 2 K"`, `"0.01..0.03 mm"` | one standard deviation; plus and minus three of them; evenly spread |
| thread | `"M8"`, `"M8x1-6H"`, `"3/8-16 UNC"`, `"1/4-28 UNF-2B"` | M1.6 to M36 coarse and fine, UNC and UNF #4 to 1 in |
| money | `"9.80 EUR"`, `"65 EUR/h"` | one currency in a plan and its shop; it is never converted |

Inch and metric may be mixed line by line: what was typed is kept, and conversion is exact. [notation.md](notation.md) has all
units and spellings. A decimal comma is read where it can mean nothing else (`"1,5 mm"`) and refused where it could (`"1,234 mm"`).

## How things are named

Things refer to each other by `id`. An id of a feature has no blank, comma or @ in it.

| written | means |
|---|---|
| `"F2"` | the feature with that id |
| `"F1.+x"` | one side of a profile: `+x`, `-x`, `+y` or `-y` |
| `"F7@2"` | the second point in `at` of F7 |
| `"F1.+x F1.-x"` | two surfaces, for a locator of kind `centre` |
| `"chuck"`, `"table"` | in `on` of a locator: no surface of the part, the chuck or table itself |

A surface is raw until an operation that `makes` it has been done; a locator that stands on it later sits on the cut. Each surface is
made once. Where the same metal is cut twice (a prepared edge, a bore left small), the first cut is a feature of its own with
`over = "F1.-y"`, the surface it prepares.

Datum letters are given by `datum` of a feature; `datum = "B C"` gives one letter to each of its two points. Requirements list them in
order: `datums = ["A", "B", "C"]`.

)md";

constexpr const char* things = R"md(## Named things

Numbers that only measuring tells can be said by name: `stiffness = "hard jaw"`, or `thing = "hard jaw"` for all numbers a thing has. A
`[[thing]]` of the shop file with that id brings its own measured numbers. Otherwise the start value below is taken with its band and
listed as assumed, with the cheap measurement that replaces it.

)md";

constexpr const char* tail = R"md(## Frames

Part: origin and axes of the drawing, given by the points of the plan, Z as drawn. Pallet: origin in the middle of the plate's top, Z up;
a nest is the place of the part's origin on it. `up` of an operation says which way of the part points to the spindle. Right-handed.

## Errors

All problems of all files come in one go, each with file, line and column, what was found, what was expected and the nearest right word.
An unknown key is an error, never ignored. A plan of an older version is read, said so, and `build/fettle rewrite PLAN` writes it anew. No
command writes over a file it did not make, unless told to.

)md";

std::string cell(const std::string& s) {
  std::string out;
  for (char c : s) {
    if (c == '|') out += '\\';
    if (c == '\n') out += ' ';
    else out += c;
  }
  return out;
}

std::string sentence(std::string s) {
  if (!s.empty() && s.back() != '.') s += '.';
  return s;
}

std::string type_text(const Key& k) {
  switch (k.type) {
    case Type::number:
      return k.kind == unit::Kind::number ? "number" : std::string(unit::word(k.kind));
    case Type::text:
      if (!k.choices.empty()) return "one word";
      return k.refers.empty() ? "text"
                              : fmt::format("id of {} {}{}", k.refers == "operation" ? "an" : "a", k.refers,
                                            k.side ? " or side" : "");
    case Type::texts:
      if (!k.choices.empty()) return "word or list";
      return k.refers.empty() ? "text or list" : fmt::format("ids of {}s{}", k.refers, k.side ? " or sides" : "");
    case Type::points:
      return "point or list";
    case Type::sizes:
      return k.numbers == 2 ? "two sizes" : k.numbers == 3 ? "three sizes" : "sizes";
    default:
      return std::string(word(k.type));
  }
}

std::string example_text(const Key& k) {
  const std::string eg = example_of(k);
  if (k.type == Type::flag) return "`true`";
  if (eg.empty()) return "";
  return k.type == Type::integer || (k.type == Type::number && base::to_double(eg)) ? "`" + eg + "`"
                                                                                    : "`\"" + eg + "\"`";
}

/// Bounds that only keep nonsense out are not worth a reader's time.
bool bounds_matter(const Key& k) {
  if (k.type == Type::integer) return true;
  if (k.kind == unit::Kind::length) return k.high < 100;
  return k.type == Type::number && (k.kind == unit::Kind::fraction || k.kind == unit::Kind::angle ||
                                    k.kind == unit::Kind::temperature || k.high <= 3 || k.low < 0 || k.low_open);
}

std::string capital(std::string s) {
  if (!s.empty() && s[0] >= 'a' && s[0] <= 'z') s[0] = static_cast<char>(s[0] - 'a' + 'A');
  return s;
}

std::string meaning(const Key& k) {
  std::string s = capital(sentence(k.help));
  if (k.thing) s += " May be said by a named thing.";
  if (k.bare) s += " Limits may be left out.";
  if (!k.choices.empty()) s += " One of: " + base::join(k.choices, ", ") + ".";
  const bool wide =
      k.low_open && k.low == 0 && k.high > 3 && k.kind != unit::Kind::fraction;  // only zero is worth a word
  if (wide && k.type == Type::number) {
    s += " Above zero.";
  } else if (const std::string range = range_text(k); !range.empty() && bounds_matter(k)) {
    s += " " + sentence(capital(range));
  }
  if (!k.fallback.empty()) {
    s += fmt::format(" *When not given:* `{}` ({})", k.fallback, k.source);
    s += k.replaced_by.empty() ? "." : fmt::format("; measured by: {}.", k.replaced_by);
  }
  return s;
}

void describe(std::string& out, const Table& t, const std::string& path, bool list, std::set<const Table*>& seen) {
  if (!seen.insert(&t).second) return;
  std::string heading = list ? fmt::format("[[{}]]", path) : fmt::format("[{}]", path);
  if (t.name == "lift.end") heading = "from and to of a lift";
  out += fmt::format("### {}\n\n{}\n\n| key | value | example | meaning |\n|---|---|---|---|\n", heading, cell(t.help));
  for (const Key& k : t.keys)
    if (k.table == nullptr)
      out += fmt::format("| {0}`{1}`{0} | {2} | {3} | {4} |\n", k.required ? "**" : "", k.name, type_text(k),
                         cell(example_text(k)), cell(meaning(k)));
  std::vector<std::string> below;
  for (const Key& k : t.keys)
    if (k.table != nullptr)
      below.push_back(
          fmt::format(k.type == Type::tables ? fmt::runtime("`[[{}.{}]]`") : fmt::runtime("`[{}.{}]`"), path, k.name));
  if (!below.empty()) out += fmt::format("\nTables inside: {}.\n", base::join(below, ", "));
  out += "\n";
  for (const Key& k : t.keys)
    if (k.table != nullptr) describe(out, *k.table, path + "." + k.name, k.type == Type::tables, seen);
}

void describe_file(std::string& out, const Table& root, const std::string& title, const std::string& words,
                   std::set<const Table*>& seen) {
  out += fmt::format("## {}\n\n{}\n\n", title, words);
  for (const Key& k : root.keys)
    if (k.table != nullptr) describe(out, *k.table, k.name, k.type == Type::tables, seen);
}

void describe_things(std::string& out) {
  out += things;
  out += "| thing | what of it | start value | from | measured by |\n|---|---|---|---|---|\n";
  for (const ref::Default& d : ref::defaults()) {
    const bool contact = d.kind == unit::Kind::stiffness || d.what == "friction for holding";
    if (contact)
      out +=
          fmt::format("| `{}` | {} | {} | {} | {} |\n", d.thing, d.what, d.text(), cell(d.source), cell(d.replaced_by));
  }
  std::vector<std::string> names;
  for (const ref::Material& m : ref::materials()) names.push_back(m.name);
  out += fmt::format(
      "\n## Materials and screws\n\nMaterials with known density, stiffness and expansion: {}. Any other name may "
      "stand in a plan; then give these numbers "
      "where a finding asks for them. There is no default material.\n\n",
      base::join(names, ", "));
  std::vector<std::string> classes;
  for (const ref::StrengthClass& c : ref::strength_table())
    if (std::find(classes.begin(), classes.end(), c.name) == classes.end()) classes.push_back(c.name);
  out += fmt::format("Strength classes of screws: {}.\n\n", base::join(classes, ", "));
}

}  // namespace

std::string example_plan() { return example; }

std::string describe_schema() {
  std::string out = head;
  out += example;
  out += values;
  std::set<const Table*> seen;
  describe_file(out, plan_schema(), "The plan file, table by table",
                "In the order in which a plan is usually written. The first line of every file is `fettle = 1`. "
                "**Bold** keys must be there; everything else may be left out.",
                seen);
  describe_file(out, shop_schema(), "The shop file",
                "Named by `shop` under `[plan]`. A change here touches every plan that names it: `build/fettle uses "
                "SHOP` lists them.",
                seen);
  out +=
      "## The pallet file\n\nNamed by `pallet` under `[plan]`. It holds `fettle = 1` and the tables `[pallet]`, "
      "`[pallet.plate]`, `[[pallet.nest]]` and so on, as they stand above; "
      "the plan itself then has no `[pallet]`. `in` and `through` name features of the plan that uses it.\n\n";
  describe_things(out);
  out += tail;
  while (out.size() > 1 && out[out.size() - 2] == '\n') out.pop_back();
  return out;
}

}  // namespace fettle::plan
