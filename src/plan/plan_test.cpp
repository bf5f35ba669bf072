// Plans in and out: values with their places, defaults, files, versions, edits, and texts that are no plan.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <clocale>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <locale>
#include <map>
#include <string>

#include "base/text.h"
#include "places.h"
#include "plan/read.h"
#include "plan/schema.h"
#include "plan/toml_text.h"

using namespace fettle;
using plan::Origin;

namespace {

const std::string source = FETTLE_SOURCE_DIR;

std::string said(const Problems& problems) {
  std::string out;
  for (const Problem& p : problems) out += say(p) + "\n";
  return out;
}

plan::Plan good(const Outcome<plan::Plan>& p) {
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : said(p.problems()));
  return p.ok() ? *p : plan::Plan{};
}

/// A plan text with files beside it.
Outcome<plan::Plan> read(const std::string& text, std::map<std::string, std::string> files = {}) {
  return plan::read_plan(text, "plan.toml", [files](const std::string& path) -> Outcome<std::string> {
    const auto it = files.find(path);
    if (it != files.end()) return it->second;
    return bad("cannot read the file: no such file", path);
  });
}

const std::string head = "fettle = 1\n[plan]\nname = \"p\"\n";

std::string text_of(const std::string& path) { return base::read_file(path).value(); }

std::string slice(const std::string& text, const plan::Place& p) {
  const std::size_t from = plan::byte_at(text, p.line, p.column);
  return text.substr(from, plan::byte_at(text, p.end_line, p.end_column) - from);
}

void expect_problem(const Outcome<plan::Plan>& p, int line, int column, const std::string& part) {
  ASSERT_FALSE(p.ok()) << "no problem, expected " << part;
  EXPECT_EQ(p.problems().size(), 1U) << said(p.problems());
  EXPECT_EQ(p.problem().where.line, line) << said(p.problems());
  EXPECT_EQ(p.problem().where.column, column) << said(p.problems());
  EXPECT_NE(say(p.problem()).find(part), std::string::npos) << said(p.problems());
}

}  // namespace

// ---- the demo's files
// --------------------------------------------------------------------------------------------------------

TEST(Plan, TheDemoPlansAreRead) {
  for (const char* name : {"plan-0", "plan-1"}) {
    const plan::Plan p = good(plan::read_plan(source + "/plans/demo/" + name + ".toml"));
    EXPECT_EQ(p.files.size(), 2U);
    EXPECT_EQ(p.part.size.value, (std::vector<double>{0.132, 0.092, 0.036}));
    EXPECT_EQ(p.casting.sizes.size(), 5U);
    ASSERT_NE(plan::find_operation(p, "OP30"), nullptr);
    EXPECT_EQ(plan::find_operation(p, "OP30")->kind.value, "pallet");
    ASSERT_NE(plan::find_tool(p, "T11"), nullptr);
    EXPECT_EQ(plan::find_tool(p, "T11")->teeth.value, 5);
    EXPECT_EQ(plan::find_feature(p, "F8")->at.value.size(), 2U) << "±54 means both";
    EXPECT_EQ(p.pallet.nests[0].at.value.size(), 4U);
    EXPECT_TRUE(p.pallet.defined.value);
    EXPECT_DOUBLE_EQ(*plan::find_feature(p, "F4")->diameter.value.upper, 0.022009) << "22 H5 by the fit table";
    EXPECT_EQ(p.shop.machines.size(), 4U);
    EXPECT_EQ(p.version.value, 1);
    EXPECT_EQ(p.version.place.file, 0) << "the shop's own version does not overwrite the plan's";
    EXPECT_TRUE(p.notices.empty());
    EXPECT_EQ(p.hash.size(), 32U);
  }
}

TEST(Plan, EveryGivenValueCarriesTheExactPlaceOfWhatWasTyped) {
  const plan::Plan p = good(plan::read_plan(source + "/plans/demo/plan-0.toml"));
  const auto leaves = plan::leaves(p);
  ASSERT_GT(leaves.size(), 900U);
  for (const plan::Leaf& l : leaves) {
    ASSERT_GE(l.place.file, 0) << l.key;
    const std::string there = slice(p.files[static_cast<std::size_t>(l.place.file)].text, l.place);
    if (there.front() == '[') continue;  // a list: its places are looked at below
    const std::string bare = there.front() == '"' ? there.substr(1, there.size() - 2) : there;
    EXPECT_EQ(bare, l.typed) << l.key;
  }
  const plan::Texts& makes = plan::find_operation(p, "OP20")->makes;
  ASSERT_EQ(makes.places.size(), 4U);
  for (std::size_t i = 0; i < makes.value.size(); ++i)
    EXPECT_EQ(slice(p.files[0].text, makes.places[i]), "\"" + makes.value[i] + "\"");
  EXPECT_EQ(slice(p.files[0].text, makes.place), R"(["F4", "F7", "F8", "F9"])");
  EXPECT_EQ(slice(p.files[0].text, plan::find_operation(p, "OP20")->place), "[[operation]]");
}

TEST(Plan, OneValueIsReplacedAndEveryOtherByteStays) {
  const std::string path = source + "/plans/demo/plan-0.toml", text = text_of(path);
  const plan::Plan p = good(plan::read_plan(path));
  const plan::Number& torque = p.pallet.screws[0].torque;
  EXPECT_EQ(torque.typed, "22 N·m");
  const std::string changed = plan::replace_value(text, torque.place, "\"28 N·m\"");
  EXPECT_EQ(changed.size(), text.size());
  std::size_t differ = 0;
  for (std::size_t i = 0; i < text.size(); ++i) differ += text[i] != changed[i] ? 1 : 0;
  EXPECT_EQ(differ, 1U) << "22 became 28: one digit, nothing else";
  const plan::Plan q = good(plan::read_plan(changed, path, [](const std::string& f) { return base::read_file(f); }));
  EXPECT_DOUBLE_EQ(q.pallet.screws[0].torque.si, 28);
  // Every value can be replaced by itself.
  for (const plan::Leaf& l : plan::leaves(p))
    EXPECT_TRUE(l.place.file != 0 || plan::replace_value(text, l.place, slice(text, l.place)) == text) << l.key;
}

TEST(Plan, PlacesHoldWithCommentsCarriageReturnsByteOrderMarkAndWideCharacters) {
  const std::string text =
      "\xEF\xBB\xBF"
      "fettle = 1\r\n[plan]\r\nname = \"p µ ± 木\" # note\r\n[part]\r\n  corner_radius   =   \"12 mm\"  # \"R12\"\r\n";
  const plan::Plan p = good(read(text));
  EXPECT_EQ(p.header.name.value, "p µ ± 木");
  EXPECT_EQ(slice(text, p.header.name.place), "\"p µ ± 木\"");
  EXPECT_EQ(slice(text, p.version.place), "1");
  EXPECT_EQ(plan::replace_value(text, p.part.corner_radius.place, "\"0.5 in\""),
            "\xEF\xBB\xBF"
            "fettle = 1\r\n[plan]\r\nname = \"p µ ± 木\" # note\r\n[part]\r\n  corner_radius   =   \"0.5 in\"  # "
            "\"R12\"\r\n");
  EXPECT_EQ(plan::replace_value(text, {}, "9"), text) << "a default stands nowhere";
}

TEST(Plan, AProblemInsideATextPointsAtItsCharacter) {
  expect_problem(read(head + "[part]\nmass = \"2.6 kgg\"\n"), 5, 13, "unknown unit");
  expect_problem(read(head + "[part]\nmass = '2.6 kgg'\n"), 5, 13, "unknown unit");
  expect_problem(read(head + "[part]\nmass = \"\"\"\n2.6 kgg\"\"\"\n"), 6, 5, "unknown unit");
  expect_problem(read(head + "[part]\nmass = \"\"\"2.6 kgg\"\"\"\n"), 5, 15, "unknown unit");
  expect_problem(read(head + "[part]\nmass = \"\\u0032.6 kgg\"\n"), 5, 18, "unknown unit");
  expect_problem(read(head + "[[pallet.pad]]\nat = [\"1, 2 mm\",\n  \"±5, 3 mmm\"]\n"), 6, 10, "unknown unit");
}

// ---- out and in again
// --------------------------------------------------------------------------------------------------------

TEST(Plan, WhatIsWrittenReadsBackTheSame) {
  const std::string shop = text_of(source + "/plans/demo/shop.toml");
  for (const char* name : {"plan-0", "plan-1"}) {
    const plan::Plan p = good(plan::read_plan(source + "/plans/demo/" + name + ".toml"));
    const std::string text = plan::write_plan(p);
    const plan::Plan q = good(read(text, {{"shop.toml", shop}}));
    const auto a = plan::leaves(p), b = plan::leaves(q);
    ASSERT_EQ(a.size(), b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
      EXPECT_EQ(a[i].key, b[i].key);
      EXPECT_EQ(a[i].typed, b[i].typed) << a[i].key;
      EXPECT_EQ(a[i].si, b[i].si) << a[i].key;
    }
    EXPECT_EQ(plan::write_plan(q), text) << "writing is settled after one round";
    EXPECT_EQ(p.features[5].at.value, q.features[5].at.value);
    EXPECT_EQ(p.pallet.pads[0].at.value, q.pallet.pads[0].at.value);
    EXPECT_EQ(p.casting.measured.columns.value, q.casting.measured.columns.value);
    EXPECT_EQ(p.casting.skin.low, q.casting.skin.low);
  }
}

TEST(Plan, ValuesThatAProgramSetAreWrittenWithAllTheirBits) {
  plan::Plan p = good(read(head + "[part]\nsize = \"1 x 2 x 3 mm\"\n"));
  const auto give = [](plan::Value& v) { v.origin = Origin::given, v.place = {}, v.typed.clear(); };
  p.part.mass.si = 1.0 / 3;
  p.part.mass.kind = unit::Kind::mass;
  p.part.mass.low = 0.25;
  p.part.mass.high = 0.4;
  give(p.part.mass);
  p.part.size.value = {0.1 / 3, 0.2 / 3, 0.7};
  give(p.part.size);
  plan::Feature f;
  f.id.value = "F1", give(f.id);
  f.kind.value = "bore", give(f.kind);
  f.at.value = {{0.1 / 3, -0.2 / 3, 0}, {0.0254, 0.001, 0.1}};
  give(f.at);
  f.diameter.value.lower = 0.05 / 3, f.diameter.value.upper = 0.06 / 3, f.diameter.value.diameter = true;
  give(f.diameter);
  f.thread.value = unit::parse_thread("3/8-16 UNC-2B").value();
  give(f.thread);
  p.features.push_back(f);
  plan::SpreadOf s;
  s.id.value = s.of.value = "seat", give(s.id), give(s.of);
  s.value.value = unit::parse_spread("uniform ± 0.005 mm", unit::Kind::length).value();
  give(s.value);
  p.spreads.push_back(s);
  const std::string text = plan::write_plan(p);
  const plan::Plan q = good(read(text));
  EXPECT_EQ(q.part.mass.si, 1.0 / 3) << text;
  EXPECT_EQ(q.part.mass.low, 0.25);
  EXPECT_EQ(q.part.mass.high, 0.4);
  EXPECT_EQ(q.part.size.value, p.part.size.value) << text;
  ASSERT_EQ(q.features.size(), 1U);
  EXPECT_EQ(q.features[0].at.value, f.at.value) << text;
  EXPECT_EQ(*q.features[0].diameter.value.lower, *f.diameter.value.lower);
  EXPECT_TRUE(q.features[0].diameter.value.diameter) << text;
  EXPECT_EQ(q.features[0].thread.value.major, f.thread.value.major);
  EXPECT_EQ(q.features[0].thread.value.tolerance_class, "2B");
  EXPECT_EQ(q.spreads[0].value.value.half_width, s.value.value.half_width);
}

TEST(Plan, LeavesHaveKeysOfTheirOwn) {
  for (const char* name : {"plan-0", "plan-1"}) {
    std::map<std::string, int> seen;
    for (const plan::Leaf& l : plan::leaves(good(plan::read_plan(source + "/plans/demo/" + name + ".toml"))))
      EXPECT_EQ(++seen[l.key], 1) << l.key;
    EXPECT_EQ(seen.count("operation.OP30.cut.T11.speed"), 1U);
    EXPECT_EQ(seen.count("machine.B.top_speed"), 1U);
    EXPECT_EQ(seen.count("fettle"), 1U);
  }
}

// ---- defaults and named things
// -----------------------------------------------------------------------------------------------

TEST(Plan, DefaultsAreMarkedAsAssumedWithBandSourceAndWhatReplacesThem) {
  const plan::Plan p = good(read(head + "[[pallet.pad]]\nat = \"1, 2 mm\"\n"));
  const plan::Number& f = p.pallet.pads[0].friction;
  EXPECT_EQ(f.origin, Origin::assumed);
  EXPECT_TRUE(f.known());
  EXPECT_FALSE(f.given());
  EXPECT_DOUBLE_EQ(f.si, 0.12);
  EXPECT_DOUBLE_EQ(f.low, 0.08);
  EXPECT_DOUBLE_EQ(f.high, 0.20);
  EXPECT_FALSE(f.source.empty());
  EXPECT_FALSE(f.replaced_by.empty());
  EXPECT_EQ(p.header.goal.origin, Origin::assumed);
  EXPECT_DOUBLE_EQ(p.header.goal.si, 0.001);
  EXPECT_EQ(p.header.castings.value, 20000);
  EXPECT_EQ(p.part.mass.origin, Origin::missing) << "no default of a mass";
  EXPECT_EQ(p.shop.room.temperature_low.origin, Origin::assumed) << "also without a shop file";
  const plan::Plan q = good(read(head + "[[pallet.pad]]\nat = \"1, 2 mm\"\nfriction = 0.15\n"));
  EXPECT_EQ(q.pallet.pads[0].friction.origin, Origin::given);
  EXPECT_DOUBLE_EQ(q.pallet.pads[0].friction.low, 0.15);
  EXPECT_TRUE(q.pallet.pads[0].friction.source.empty());
}

TEST(Plan, EveryDefaultAndEveryExampleOfTheSchemaCanBeRead) {
  const auto readable = [](const plan::Key& k, const std::string& text) {
    switch (k.type) {
      case plan::Type::number: {
        if (k.thing && std::isalpha(static_cast<unsigned char>(text[0]))) return true;
        const auto b = unit::parse_banded(text, k.kind);
        return b.ok() && b->low >= k.low && b->high <= k.high && b->low <= b->value.si && b->value.si <= b->high &&
               !(k.low_open && b->low == k.low);
      }
      case plan::Type::integer:
        return base::to_double(text) && *base::to_double(text) >= k.low && *base::to_double(text) <= k.high;
      case plan::Type::points:
        return unit::parse_points(text).ok();
      case plan::Type::sizes:
        return unit::parse_sizes(text).ok() &&
               (k.numbers == 0 || unit::parse_sizes(text)->size() == static_cast<std::size_t>(k.numbers));
      case plan::Type::limits:
        return unit::parse_limits(text).ok();
      case plan::Type::spread:
        return unit::parse_spread(text, k.kind).ok();
      case plan::Type::thread:
        return unit::parse_thread(text).ok();
      case plan::Type::text:
      case plan::Type::texts:
        return k.choices.empty() || std::find(k.choices.begin(), k.choices.end(), text) != k.choices.end();
      default:
        return false;
    }
  };
  int keys = 0, defaults = 0;
  const std::function<void(const plan::Table&)> look = [&](const plan::Table& t) {
    for (const plan::Key& k : t.keys) {
      if (k.table != nullptr) {
        look(*k.table);
        continue;
      }
      ++keys;
      EXPECT_FALSE(k.help.empty()) << t.name << "." << k.name;
      const std::string example = plan::example_of(k);
      EXPECT_TRUE(example.empty() || readable(k, example)) << t.name << "." << k.name << " example " << example;
      if (k.type == plan::Type::number || k.type == plan::Type::integer) {
        EXPECT_FALSE(example.empty()) << t.name << "." << k.name;
        EXPECT_TRUE(std::isfinite(k.low) || std::isfinite(k.high)) << t.name << "." << k.name << " has no bound";
      }
      if (k.fallback.empty()) continue;
      ++defaults;
      EXPECT_TRUE(readable(k, k.fallback)) << t.name << "." << k.name << " default " << k.fallback;
      EXPECT_FALSE(k.source.empty()) << t.name << "." << k.name << ": a default without a source";
    }
  };
  look(plan::plan_schema());
  look(plan::shop_schema());
  EXPECT_GT(keys, 250);
  EXPECT_GT(defaults, 20);
}

/// For every bound of every number and whole number: the bound itself is as the schema says, a value just beyond is
/// refused.
TEST(Plan, OneBadValuePerBoundIsRefused) {
  int refused = 0;
  const std::function<void(const plan::Table&, const std::string&, const std::string&, bool)> look =
      [&](const plan::Table& t, const std::string& name, const std::string& shop, bool many) {
        for (const plan::Key& k : t.keys) {
          if (k.table != nullptr) {
            look(*k.table, name.empty() ? k.name : name + "." + k.name, shop, k.type == plan::Type::tables);
            continue;
          }
          if (name.empty() || (k.type != plan::Type::number && k.type != plan::Type::integer)) continue;
          std::string body;
          // Tables inside lists need their parents.
          const std::size_t dot = name.find('.');
          if (dot != std::string::npos && name.substr(0, dot) == "operation")
            body += "[[operation]]\nid = \"O\"\nkind = \"vise\"\n";
          if (dot != std::string::npos && name.substr(0, dot) == "tool")
            body += "[[tool]]\nid = \"O\"\nkind = \"end mill\"\n";
          if (dot != std::string::npos && name.substr(0, dot) == "lift")
            body += "[[lift]]\nid = \"O\"\nwhat = \"part\"\n";
          if (name != "plan") body += many ? "[[" + name + "]]\n" : "[" + name + "]\n";
          for (const plan::Key& need : t.keys)
            if (need.required && need.name != k.name && name != "plan") {
              const std::string example = plan::example_of(need);
              body += need.name + " = \"" + (need.refers.empty() || need.name == "tool" ? example : "F1") + "\"\n";
            }
          for (const bool low : {true, false}) {
            const double bound = low ? k.low : k.high;
            if (!std::isfinite(bound)) continue;
            const double step = std::max(std::fabs(bound) * 1e-6, 1e-9);
            const double x =
                low && k.low_open ? bound : bound + (low ? -1 : 1) * (k.type == plan::Type::integer ? 1 : step);
            if (k.kind == unit::Kind::temperature && x < 0) continue;
            std::string value = fmt::format("\"{}\"", unit::write(x, k.kind,
                                                                  k.kind == unit::Kind::money            ? "EUR"
                                                                  : k.kind == unit::Kind::money_per_hour ? "EUR/h"
                                                                                                         : ""));
            if (k.type == plan::Type::integer) value = base::shortest(x);
            const std::string line = k.name + " = " + value + "\n";
            const bool in_shop = !shop.empty();
            std::string text = name == "plan"
                                   ? head + line
                                   : head + (in_shop ? "shop = \"s.toml\"\n" : "") + (in_shop ? "" : body + line);
            const auto p = read(text, {{"s.toml", "fettle = 1\n" + body + line}});
            ASSERT_FALSE(p.ok()) << name << "." << k.name << " accepts " << value;
            bool range = false;
            for (const Problem& q : p.problems()) range = range || q.what == k.name + " is out of range";
            EXPECT_TRUE(range) << name << "." << k.name << " = " << value << "\n" << said(p.problems());
            refused += range ? 1 : 0;
          }
        }
      };
  look(plan::plan_schema(), "", "", false);
  look(plan::shop_schema(), "", "s.toml", false);
  EXPECT_GT(refused, 250);
}

TEST(Plan, ThingsBringTheirOwnNumbers) {
  const std::string jaw =
      "[[feature]]\nid = \"F1\"\nkind = \"face\"\n[[operation]]\nid = \"O\"\nkind = "
      "\"vise\"\n[[operation.locator]]\nkind = \"jaw\"\non = \"F1\"\n";
  const std::string with_shop = "fettle = 1\n[plan]\nname = \"p\"\nshop = \"s.toml\"\n";
  const std::string shop =
      "fettle = 1\n[[thing]]\nid = \"hard jaw\"\nstiffness = \"800 kN/mm (700..900)\"\n[[thing]]\nid = \"my "
      "pad\"\nfriction = 0.3\n";
  // The trade's default, by number and by thing.
  plan::Plan p = good(read(head + jaw + "stiffness = \"hard jaw\"\n"));
  EXPECT_EQ(p.operations[0].locators[0].stiffness.origin, Origin::assumed);
  EXPECT_TRUE(p.operations[0].locators[0].stiffness.banded());
  EXPECT_FALSE(p.operations[0].locators[0].stiffness.replaced_by.empty());
  p = good(read(head + jaw + "thing = \"hard jaw\"\n"));
  EXPECT_EQ(p.operations[0].locators[0].stiffness.origin, Origin::assumed);
  EXPECT_EQ(p.operations[0].locators[0].friction.origin, Origin::missing);
  // The shop's own thing comes first.
  p = good(read(with_shop + jaw + "stiffness = \"hard jaw\"\n", {{"s.toml", shop}}));
  EXPECT_EQ(p.operations[0].locators[0].stiffness.origin, Origin::given);
  EXPECT_DOUBLE_EQ(p.operations[0].locators[0].stiffness.si, 8e8);
  EXPECT_DOUBLE_EQ(p.operations[0].locators[0].stiffness.low, 7e8);
  p = good(read(with_shop + jaw + "thing = \"my pad\"\n", {{"s.toml", shop}}));
  EXPECT_DOUBLE_EQ(p.operations[0].locators[0].friction.si, 0.3);
  // A typed number beats the thing.
  p = good(read(with_shop + jaw + "thing = \"my pad\"\nfriction = 0.1\n", {{"s.toml", shop}}));
  EXPECT_DOUBLE_EQ(p.operations[0].locators[0].friction.si, 0.1);
  // A number said by name is written as it was said; what a thing brought is not written.
  p = good(read(head + jaw + "stiffness = \"hard jaw\"\n"));
  EXPECT_NE(plan::write_plan(p).find("stiffness = \"hard jaw\""), std::string::npos);
  p = good(read(head + jaw + "thing = \"hard jaw\"\n"));
  EXPECT_EQ(plan::write_plan(p).find("stiffness"), std::string::npos) << plan::write_plan(p);
  // Many locators: the numbers land where they belong although the lists grow while they are read.
  std::string many = head + "[[feature]]\nid = \"F1\"\nkind = \"face\"\n";
  for (int i = 0; i < 40; ++i)
    many += fmt::format(
        "[[operation]]\nid = \"O{}\"\nkind = \"vise\"\n[[operation.locator]]\nkind = \"jaw\"\non = \"F1\"\nstiffness = "
        "\"hard jaw\"\n",
        i);
  p = good(read(many));
  for (const plan::Operation& o : p.operations) EXPECT_GT(o.locators[0].stiffness.si, 1e6);
  expect_problem(read(head + jaw + "thing = \"hard yaw\"\n"), 13, 9, "did you mean \"hard jaw\"");
  expect_problem(read(with_shop + jaw + "stiffness = \"my pat\"\n", {{"s.toml", shop}}), 14, 13,
                 "did you mean \"my pad\"");
}

// ---- files and versions
// ------------------------------------------------------------------------------------------------------

TEST(Plan, ShopAndPalletFilesAreFollowed) {
  const std::string plan =
      "fettle = 1\n[plan]\nname = \"p\"\nshop = \"a/shop.toml\"\npallet = \"../pallet.toml\"\n[[feature]]\nid = "
      "\"F7\"\nkind = \"hole\"\n";
  const std::string shop = "fettle = 1\n[shop]\nname = \"s\"\n[[tool]]\nid = \"T1\"\nkind = \"drill\"\n";
  const std::string pallet =
      "fettle = 1\n[pallet]\nname = \"4-up\"\nsets = 2\n[[pallet.pin]]\nkind = \"round\"\nin = \"F7\"\n";
  std::vector<std::string> asked;
  const auto p = plan::read_plan(plan, "here/plan.toml", [&](const std::string& path) -> Outcome<std::string> {
    asked.push_back(path);
    return path == "pallet.toml" ? pallet : shop;
  });
  const plan::Plan got = good(p);
  EXPECT_EQ(asked, (std::vector<std::string>{"pallet.toml", "here/a/shop.toml"}));
  EXPECT_EQ(got.files.size(), 3U);
  EXPECT_EQ(got.shop.tools.size(), 1U);
  EXPECT_EQ(got.pallet.sets.value, 2);
  EXPECT_TRUE(got.pallet.defined.value);
  EXPECT_EQ(got.files[static_cast<std::size_t>(got.pallet.sets.place.file)].path, "pallet.toml");
  EXPECT_EQ(got.files[static_cast<std::size_t>(got.shop.tools[0].id.place.file)].path, "here/a/shop.toml");
  // The pallet's own file is not copied into a rewritten plan.
  EXPECT_EQ(plan::write_plan(got).find("4-up"), std::string::npos);
  EXPECT_NE(plan::write_plan(got).find("pallet = \"../pallet.toml\""), std::string::npos);
}

TEST(Plan, APlanBringsToolsOfItsOwnBesideTheShops) {
  const std::string own = "[[tool]]\nid = \"N1\"\nkind = \"drill\"\ndiameter = \"6.8 mm\"\n";
  const std::string operation = "[[operation]]\nid = \"OP1\"\nkind = \"vise\"\n";
  const auto cut = [](const std::string& tool) {
    return "[[operation.cut]]\ntool = \"" + tool + "\"\nkind = \"drill\"\n";
  };
  const std::string head = "fettle = 1\n[plan]\nname = \"p\"\n", shop_line = "shop = \"shop.toml\"\n";
  const auto shop = [](const std::string&) -> Outcome<std::string> {
    return std::string("fettle = 1\n[[tool]]\nid = \"T1\"\nkind = \"drill\"\n");
  };
  const plan::Plan got =
      good(plan::read_plan(head + shop_line + operation + cut("N1") + cut("T1") + own, "p.toml", shop));
  ASSERT_NE(plan::find_tool(got, "N1"), nullptr);
  EXPECT_DOUBLE_EQ(plan::find_tool(got, "N1")->diameter.si, 6.8e-3);
  ASSERT_NE(plan::find_tool(got, "T1"), nullptr);
  EXPECT_EQ(got.tools.size(), 1U);
  EXPECT_EQ(got.shop.tools.size(), 1U);
  // It is written with the plan, the shop's stays in its own file.
  const std::string text = plan::write_plan(got);
  EXPECT_NE(text.find("id = \"N1\""), std::string::npos);
  EXPECT_EQ(text.find("id = \"T1\""), std::string::npos);
  // Without a shop as well.
  EXPECT_EQ(good(plan::read_plan(head + operation + cut("N1") + own, "p.toml", shop)).tools.size(), 1U);
  // One id means one tool: which of two was meant is never guessed.
  const std::string same = "[[tool]]\nid = \"T1\"\nkind = \"reamer\"\n";
  const auto twice = plan::read_plan(head + shop_line + operation + cut("T1") + same, "p.toml", shop);
  ASSERT_FALSE(twice.ok());
  ASSERT_EQ(twice.problems().size(), 1U);
  EXPECT_EQ(twice.problem().what, "this tool id is used twice; first on line 12 of p.toml");
  EXPECT_EQ(twice.problem().where.file, "shop.toml");
}

TEST(Plan, HashChangesWithEveryFile) {
  const std::string plan = "fettle = 1\n[plan]\nname = \"p\"\nshop = \"s.toml\"\n";
  const auto a = good(read(plan, {{"s.toml", "fettle = 1\n"}})),
             b = good(read(plan, {{"s.toml", "fettle = 1\n# dearer\n"}})),
             c = good(read(plan + "# c\n", {{"s.toml", "fettle = 1\n"}})),
             d = good(read(plan, {{"s.toml", "fettle = 1\n"}}));
  EXPECT_NE(a.hash, b.hash);
  EXPECT_NE(a.hash, c.hash);
  EXPECT_EQ(a.hash, d.hash);
}

TEST(Plan, AnOldVersionIsReadAndSaidSo) {
  const std::string old =
      "fettle = 0\n[plan]\nname = \"p\"\n[[op]]\nid = \"OP10\"\nkind = \"vise\"\nstep_time = \"2 "
      "min\"\n[[op.locator]]\nkind = \"rest\"\non = \"table\"\n[demand]\nweekly = 240\n"
      "[pallet]\nsets = 2\n[[pallet.trough]]\nwidth = \"24 mm\"\n";
  const plan::Plan p = good(read(old));
  ASSERT_EQ(p.operations.size(), 1U);
  EXPECT_DOUBLE_EQ(p.operations[0].time.si, 120);
  EXPECT_EQ(p.operations[0].locators.size(), 1U);
  EXPECT_DOUBLE_EQ(p.demand.per_week.si, 240);
  EXPECT_EQ(p.pallet.run_offs.size(), 1U);
  ASSERT_EQ(p.notices.size(), 1U);
  for (const char* part : {"version 0", "op is now operation", "step_time is now time", "weekly is now per_week",
                           "trough is now run_off", "fettle rewrite"})
    EXPECT_NE(p.notices[0].find(part), std::string::npos) << p.notices[0];
  const std::string fresh = plan::write_plan(p);
  EXPECT_NE(fresh.find("fettle = 1"), std::string::npos);
  const plan::Plan q = good(read(fresh));
  EXPECT_TRUE(q.notices.empty());
  EXPECT_DOUBLE_EQ(q.operations[0].time.si, 120);
  expect_problem(read("fettle = 0\n[plan]\nname = \"p\"\n[demand]\nweekly = 240\nper_week = 250\n"), 5, 1,
                 "by its old and by its new name");
  // An old plan with a shop file of today, and the other way round.
  EXPECT_EQ(
      good(read("fettle = 0\n[plan]\nname = \"p\"\nshop = \"s.toml\"\n", {{"s.toml", "fettle = 1\n"}})).version.value,
      0);
  EXPECT_EQ(
      good(read("fettle = 1\n[plan]\nname = \"p\"\nshop = \"s.toml\"\n", {{"s.toml", "fettle = 0\n"}})).notices.size(),
      1U);
  expect_problem(read("fettle = 2\n[plan]\nname = \"p\"\nfuture = 3\n"), 1, 10, "newer than this program");
}

TEST(Plan, FilesThatAreNoPlan) {
  expect_problem(read(std::string("fettle = 1\n[plan]\nname = \"a\0b\"\n", 32)), 3, 10, "zero byte");
  expect_problem(read("fettle = 1\n[plan]\nname = \"\xE9t\xE9\"\n"), 3, 9, "not UTF-8");
  EXPECT_EQ(read("").problems().size(), 2U) << said(read("").problems());
  EXPECT_EQ(read("\n\n# only a comment\n").problems().size(), 2U);
  const auto folder = plan::read_plan(source + "/plans");
  ASSERT_FALSE(folder.ok());
  EXPECT_NE(folder.problem().what.find("folder"), std::string::npos);
  const auto nowhere = plan::read_plan(source + "/plans/nowhere.toml");
  ASSERT_FALSE(nowhere.ok());
  EXPECT_EQ(nowhere.problem().where.file, source + "/plans/nowhere.toml");
  const auto shop = plan::read_plan(source + "/plans/demo/shop.toml");
  ASSERT_FALSE(shop.ok());
  EXPECT_EQ(shop.problems().size(), 1U) << said(shop.problems());
  EXPECT_NE(shop.problem().what.find("shop file"), std::string::npos) << said(shop.problems());
}

TEST(Plan, HeadersThatAreNoNamesAreRefusedBeforeTheParserSeesThem) {
  for (const char* header : {"[", "[[", "[[ ", "[\t", "[\xC2\xB5]", "[[!x]]", "[[=", "[#]", "[.a]",
                             "[[\xE2\x80\x9C"
                             "a]]",
                             "[[,", "[{}]"})
    for (const char* rest : {"", "\n", "\nid = 1\n", "]]\n"}) {
      const auto p = read(head + header + rest);
      ASSERT_FALSE(p.ok()) << header;
      EXPECT_EQ(p.problems().back().where.line, 4) << header << "\n" << said(p.problems());
    }
  expect_problem(read(head + "[[ \nid = \"F1\"\n"), 4, 4, "no name of a table here");
  // What stands before it is told as well.
  const auto p = read(head + "[part]\nmass = 2 kg\n[[\n");
  ASSERT_FALSE(p.ok());
  ASSERT_EQ(p.problems().size(), 2U) << said(p.problems());
  EXPECT_EQ(p.problems()[0].where.line, 5);
  EXPECT_EQ(p.problems()[1].where.line, 6);
  // Brackets at the start of a line inside a list or a long text are no headers.
  good(read(head + "note = \"\"\"\n[[!\n[.....................................\n\"\"\"\n"));
  good(read(head + "[part]\nsymmetry = [\n  \"half turn z\",\n# [[!\n]\n"));
  expect_problem(read(head + "[part]\nsymmetry = [\n[\"half turn z\"]\n]\n"), 6, 1, "wrong kind of value");
}

TEST(Plan, DeepNestingAndLongTextsNeitherCrashNorHang) {
  std::string deep = head + "[a";
  for (int i = 0; i < 200000; ++i) deep += ".a";
  expect_problem(read(deep + "]\nx = 1\n"), 4, 1, "too many dots");
  std::string key = head;
  for (int i = 0; i < 200000; ++i) key += "a.";
  expect_problem(read(key + "a = 1\n"), 4, 1, "too many dots");
  std::string lists = head + "[part]\nsize = ";
  for (int i = 0; i < 200000; ++i) lists += "[";
  EXPECT_FALSE(read(lists + "\n").ok());
  std::string tables = head + "[part]\nsize = ";
  for (int i = 0; i < 200000; ++i) tables += "{a=";
  EXPECT_FALSE(read(tables + "\n").ok());
  good(read(head + "note = \"" + std::string(1000, '.') + "\"\n"));
  EXPECT_FALSE(read(head + "[part]\nmass = \"" + std::string(1 << 20, '9') + " kg\"\n").ok());
  EXPECT_FALSE(read(head + "[part]\nmass = \"" + std::string(1 << 20, 'x') + "\"\n").ok());
  EXPECT_FALSE(read(head + std::string(1 << 20, 'x') + " = 1\n").ok());
}

TEST(Plan, SixteenMegabytesAreReadAndMoreRefused) {
  std::string text = head;
  for (int i = 0; text.size() < (std::size_t{15} << 20U); ++i)
    text +=
        fmt::format("[[feature]]\nid = \"F{0}\"\nkind = \"bore\"\nat = \"{0}e-6, 1 mm\"\nover = \"F{1}\"\n", i, i + 1);
  const auto p = read(text);
  ASSERT_FALSE(p.ok()) << "the last one prepares what is not there";
  EXPECT_EQ(p.problems().size(), 1U) << said(p.problems());
  const std::string path = std::string(fettle::test::binary_dir) + "/too-large.toml";
  ASSERT_TRUE(base::write_file(path, head + "# " + std::string(std::size_t{16} << 20U, 'x') + "\n").ok());
  const auto large = plan::read_plan(path);
  std::filesystem::remove(path);
  ASSERT_FALSE(large.ok());
  EXPECT_NE(large.problem().what.find("larger than the limit"), std::string::npos);
  std::string wrong = head;
  for (int i = 0; i < 20000; ++i)
    wrong += fmt::format("[[feature]]\nid = \"F\"\nkindd = \"bore\"\nover = \"G{}\"\n", i);
  const auto q = read(wrong);
  ASSERT_FALSE(q.ok());
  EXPECT_LE(q.problems().size(), 201U);
  EXPECT_NE(q.problems().back().what.find("more problems"), std::string::npos);
}

// ---- references
// --------------------------------------------------------------------------------------------------------------

TEST(Plan, References) {
  plan::Reference r = plan::parse_reference("F1.+x");
  EXPECT_EQ(r.id, "F1");
  EXPECT_EQ(r.side, "+x");
  r = plan::parse_reference("F7@2");
  EXPECT_EQ(r.id, "F7");
  EXPECT_EQ(r.index, 2);
  r = plan::parse_reference("F2-F4.coaxial");
  EXPECT_EQ(r.id, "F2-F4.coaxial");
  EXPECT_EQ(r.side, "");
  EXPECT_EQ(plan::parse_reference("").id, "");
  EXPECT_EQ(plan::parse_reference("F7@").index, 0);
  const std::string f = head +
                        "[[feature]]\nid = \"F1\"\nkind = \"profile\"\nat = \"0, 0 mm\"\n[[operation]]\nid = "
                        "\"O\"\nkind = \"chuck\"\n[[operation.locator]]\nkind = \"chuck\"\n";
  good(read(f + "on = \"chuck\"\n"));
  good(read(f + "on = \"F1.-y\"\n"));
  expect_problem(read(f + "on = \"chuk\"\n"), 13, 6, "feature that is not there");
}

TEST(Plan, TheDemoHoldsUnderACommaLocale) {
  const std::string dir = std::string(fettle::test::binary_dir) + "/locales";
  std::filesystem::create_directories(dir);
  if (!std::filesystem::exists(dir + "/de_DE.UTF-8")) {
    const std::string command = "localedef -i de_DE -f UTF-8 '" + dir + "/de_DE.UTF-8' >/dev/null 2>&1";
    if (std::system(command.c_str()) != 0)
      GTEST_SKIP() << "no sources of a decimal comma locale on this machine (package locales)";
  }
  const plan::Plan before = good(plan::read_plan(source + "/plans/demo/plan-0.toml"));
  setenv("LOCPATH", dir.c_str(), 1);
  if (std::setlocale(LC_ALL, "de_DE.UTF-8") == nullptr) GTEST_SKIP() << "the locale cannot be set";
  std::locale::global(std::locale("de_DE.UTF-8"));
  const plan::Plan p = good(read(head + "[part]\npoisson = 0.26\n[demand]\nper_week = 1234.5\n"));
  const plan::Plan demo = good(plan::read_plan(source + "/plans/demo/plan-0.toml"));
  const std::string written = plan::write_plan(demo), schema = plan::describe_schema();
  std::locale::global(std::locale::classic());
  std::setlocale(LC_ALL, "C");
  EXPECT_EQ(p.part.poisson.si, 0.26);
  EXPECT_EQ(p.demand.per_week.si, 1234.5);
  EXPECT_EQ(written, plan::write_plan(before));
  EXPECT_EQ(schema, plan::describe_schema());
}

TEST(Plan, PlansThatUseASharedFileAreFound) {
  const auto plans = plan::plans_using(source + "/plans/demo/shop.toml", source + "/plans/demo");
  EXPECT_GE(plans.size(), 2U);
  for (const std::string& p : plans) EXPECT_NE(p.find("plan-"), std::string::npos);
  EXPECT_TRUE(plan::plans_using(source + "/plans/demo/shop.toml", source + "/plans/bad").empty());
}

/// A bare or otherwise wrong value for each type of key.
TEST(Plan, WrongKindsOfEveryType) {
  const std::vector<std::pair<plan::Type, std::string>> where = {
      {plan::Type::number, "[part]\nmass"},
      {plan::Type::integer, "[casting]\nmin_lot"},
      {plan::Type::flag, "[[lift]]\nid = \"L\"\nwhat = \"part\"\nwet"},
      {plan::Type::text, "[part]\nname"},
      {plan::Type::texts, "[part]\nsymmetry"},
      {plan::Type::points, "[[pallet.pad]]\nat"},
      {plan::Type::sizes, "[part]\nsize"},
      {plan::Type::limits, "[pallet]\npin_span"},
      {plan::Type::spread, "[[pallet.anchor]]\nat = \"1, 2 mm\"\nrepeat"},
      {plan::Type::thread, "[[pallet.screw]]\nthread"}};
  const std::map<std::string, std::string> values = {
      {"integer", "7"}, {"float", "7.5"},       {"flag", "true"},     {"table", "{ a = 1 }"},
      {"list", "[7]"},  {"date", "2026-11-02"}, {"time", "07:32:00"}, {"nan", "nan"},
      {"inf", "inf"},   {"empty", "\"\""},      {"blank", "\"  \""},  {"empty list", "[]"}};
  for (const auto& [type, key] : where)
    for (const auto& [name, value] : values) {
      if ((type == plan::Type::integer && name == "integer") || (type == plan::Type::flag && name == "flag")) continue;
      const std::string text = head + key + " = " + value + "\n";
      const auto p = read(text);
      ASSERT_FALSE(p.ok()) << text;
      const int line = static_cast<int>(std::count(text.begin(), text.end(), '\n'));
      for (const Problem& q : p.problems()) EXPECT_EQ(q.where.line, line) << text << said(p.problems());
    }
}

TEST(Plan, ExpectedTextsOfEveryType) {
  for (const plan::Table* t : {&plan::plan_schema(), &plan::shop_schema(), &plan::pallet_schema()})
    for (const plan::Key& k : t->keys) EXPECT_FALSE(plan::expected_text(k).empty()) << k.name;
}

TEST(PlanReference, TheCommittedPageIsTheOneTheSchemaWrites) {
  EXPECT_TRUE(text_of(source + "/docs/plan.md") == plan::describe_schema())
      << "refresh it: build/fettle schema > docs/plan.md";
}

TEST(PlanReference, TheExampleOnThePageIsAPlanWithoutProblems) {
  const plan::Plan p = good(read(plan::example_plan()));
  EXPECT_EQ(p.operations.size(), 4U);
  EXPECT_EQ(p.casting.sizes.size(), 4U);
  EXPECT_NE(plan::describe_schema().find("```toml\n" + plan::example_plan() + "```"), std::string::npos);
}

TEST(PlanReference, EveryKeyAndEveryTableIsOnThePage) {
  const std::string page = plan::describe_schema();
  const std::function<void(const plan::Table&, const std::string&)> look = [&](const plan::Table& t,
                                                                               const std::string& path) {
    for (const plan::Key& k : t.keys) {
      const std::string name = path.empty() ? k.name : path + "." + k.name;
      if (k.table == nullptr) {
        EXPECT_NE(page.find(path.empty() ? "`" + k.name + " = 1`" : "`" + k.name + "`"), std::string::npos) << name;
        EXPECT_TRUE(k.fallback.empty() || page.find("`" + k.fallback + "`") != std::string::npos)
            << name << ": its default is not on the page";
      } else {
        const std::string heading = k.table->name == "lift.end"    ? "### from and to of a lift"
                                    : k.type == plan::Type::tables ? "### [[" + name + "]]"
                                                                   : "### [" + name + "]";
        EXPECT_NE(page.find(heading + "\n"), std::string::npos) << name;
        look(*k.table, name);
      }
    }
  };
  look(plan::plan_schema(), "");
  look(plan::shop_schema(), "");
}

// ---- the example plans
// -------------------------------------------------------------------------------------------------------

TEST(PlanExamples, EveryPlanInTheFolderIsReadAndSaysWhatTheStudyMustGive) {
  int plans = 0;
  for (const auto& e : std::filesystem::directory_iterator(source + "/plans")) {
    const std::string name = e.path().filename().string();
    if (e.path().extension() != ".toml" || name[0] < '0' || name[0] > '9') continue;
    ++plans;
    good(plan::read_plan(e.path().string()));
    EXPECT_NE(text_of(e.path().string()).find("\n# study: "), std::string::npos) << name;
  }
  EXPECT_GE(plans, 2);
}

namespace {

/// Compares every value of two tables of the same form; numbers to a share of 1e-9.
struct Twin {
  int numbers = 0, words = 0;

  void same(double a, double b, const std::string& where) {
    ++numbers;
    EXPECT_LE(std::fabs(a - b), 1e-9 * std::max(std::fabs(a), std::fabs(b))) << where << ": " << a << " and " << b;
  }
  void same(const std::optional<double>& a, const std::optional<double>& b, const std::string& where) {
    EXPECT_EQ(a.has_value(), b.has_value()) << where;
    if (a && b) same(*a, *b, where);
  }
  void value(const plan::Key& k, const void* x, const void* y, const std::string& where) {
    const auto as = [](const auto* type, const void* v) { return *static_cast<decltype(type)>(v); };
    switch (k.type) {
      case plan::Type::number: {
        const auto a = as(static_cast<const plan::Number*>(nullptr), x),
                   b = as(static_cast<const plan::Number*>(nullptr), y);
        EXPECT_EQ(a.origin, b.origin) << where;
        same(a.si, b.si, where);
        same(a.low, b.low, where + " low");
        same(a.high, b.high, where + " high");
        return;
      }
      case plan::Type::integer:
        return same(as(static_cast<const plan::Integer*>(nullptr), x).value,
                    as(static_cast<const plan::Integer*>(nullptr), y).value, where);
      case plan::Type::flag:
        EXPECT_EQ(as(static_cast<const plan::Flag*>(nullptr), x).value,
                  as(static_cast<const plan::Flag*>(nullptr), y).value)
            << where;
        return;
      case plan::Type::text:
        ++words;
        EXPECT_EQ(as(static_cast<const plan::Text*>(nullptr), x).value,
                  as(static_cast<const plan::Text*>(nullptr), y).value)
            << where;
        return;
      case plan::Type::texts:
        EXPECT_EQ(as(static_cast<const plan::Texts*>(nullptr), x).value,
                  as(static_cast<const plan::Texts*>(nullptr), y).value)
            << where;
        return;
      case plan::Type::points: {
        const auto a = as(static_cast<const plan::Points*>(nullptr), x).value,
                   b = as(static_cast<const plan::Points*>(nullptr), y).value;
        ASSERT_EQ(a.size(), b.size()) << where;
        for (std::size_t i = 0; i < a.size(); ++i) {
          same(a[i].x, b[i].x, where + " x");
          same(a[i].y, b[i].y, where + " y");
          same(a[i].z, b[i].z, where + " z");
        }
        return;
      }
      case plan::Type::sizes: {
        const auto a = as(static_cast<const plan::Sizes*>(nullptr), x).value,
                   b = as(static_cast<const plan::Sizes*>(nullptr), y).value;
        ASSERT_EQ(a.size(), b.size()) << where;
        for (std::size_t i = 0; i < a.size(); ++i) same(a[i], b[i], where);
        return;
      }
      case plan::Type::limits: {
        const auto a = as(static_cast<const plan::Limits*>(nullptr), x).value,
                   b = as(static_cast<const plan::Limits*>(nullptr), y).value;
        same(a.nominal, b.nominal, where);
        same(a.lower, b.lower, where + " lower");
        same(a.upper, b.upper, where + " upper");
        EXPECT_EQ(a.diameter, b.diameter) << where;
        return;
      }
      case plan::Type::spread: {
        const auto a = as(static_cast<const plan::Spread*>(nullptr), x).value,
                   b = as(static_cast<const plan::Spread*>(nullptr), y).value;
        EXPECT_EQ(a.family, b.family) << where;
        same(a.s, b.s, where);
        same(a.half_width, b.half_width, where);
        same(a.mean, b.mean, where);
        return;
      }
      case plan::Type::thread:
        return same(as(static_cast<const plan::Thread*>(nullptr), x).value.major,
                    as(static_cast<const plan::Thread*>(nullptr), y).value.major, where);
      default:
        return;
    }
  }
  void table(const plan::Table& t, void* x, void* y, const std::string& path) {
    for (const plan::Key& k : t.keys) {
      const std::string where = path + "." + k.name;
      if (where == ".plan.name" || where == ".plan.units") continue;
      if (k.type == plan::Type::table) {
        table(*k.table, k.at(x), k.at(y), where);
      } else if (k.type == plan::Type::tables) {
        ASSERT_EQ(k.count(x), k.count(y)) << where;
        for (std::size_t i = 0; i < k.count(x); ++i)
          table(*k.table, const_cast<void*>(k.item(x, i)), const_cast<void*>(k.item(y, i)),
                fmt::format("{}[{}]", where, i + 1));
      } else {
        value(k, k.at(x), k.at(y), where);
      }
    }
  }
};

}  // namespace

TEST(PlanExamples, TheDemoPlanTypedInInchesHoldsTheSameNumbers) {
  plan::Plan metric = good(plan::read_plan(source + "/plans/demo/plan-0.toml")),
             inch = good(plan::read_plan(source + "/plans/demo/plan-0-inch.toml"));
  EXPECT_EQ(inch.header.units.value, "inch");
  EXPECT_NE(inch.part.size.typed.find(" in"), std::string::npos);
  Twin twin;
  twin.table(plan::plan_schema(), &metric, &inch, "");
  EXPECT_GT(twin.numbers, 1500);
  EXPECT_GT(twin.words, 500);
}
