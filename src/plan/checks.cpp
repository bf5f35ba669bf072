#include "plan/checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "base/text.h"
#include "plan/read.h"
#include "ref/threads.h"

namespace fettle::plan {

namespace {

const std::vector<std::string> profile_sides = {"+x", "-x", "+y", "-y"};

/// Features by id; the first of two with one id.
using Features = std::map<std::string, const Feature*>;
Features index_of(const Plan& plan) {
  Features out;
  for (const Feature& f : plan.features) out.emplace(f.id.value, &f);
  return out;
}
const Feature* feature_of(const Features& features, const std::string& id) {
  const auto it = features.find(id);
  return it == features.end() ? nullptr : it->second;
}

bool contains(const std::vector<std::string>& list, std::string_view word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> out;
  for (const std::string& w : base::split(text, ' '))
    if (!w.empty()) out.push_back(w);
  return out;
}

bool is_hole(const Feature& f) {
  static const std::vector<std::string> kinds = {"bore", "counterbore", "hole", "thread"};
  return contains(kinds, f.kind.value);
}

std::string some(const std::vector<std::string>& list) {
  std::vector<std::string> head(list.begin(),
                                list.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(list.size(), 12)));
  return base::join(head, ", ") + (list.size() > head.size() ? ", ..." : "");
}

/// Side and number of a reference to a feature that is there.
void check_feature_part(const Feature& f, const Mention& m, const Reference& r, const Report& report) {
  if (!r.side.empty()) {
    if (!m.key->side)
      report(bad(fmt::format("`{}` names a whole feature, not a side", m.key->name), m.text, "the id alone", r.id),
             m.place);
    else if (f.kind.value != "profile" && !f.kind.value.empty())  // a kind that is no word was said already
      report(bad(fmt::format("{} is a {} and has no sides", r.id, f.kind.value), m.text,
                 "the id alone; only a profile has sides", r.id),
             m.place);
    else if (!contains(profile_sides, r.side))
      report(bad("no such side of a profile", m.text,
                 "one of: " + base::join(profile_sides, ", ") + ", as in \"" + r.id + ".+x\""),
             m.place);
  }
  if (m.text.find('@') == std::string::npos) return;
  const int count = static_cast<int>(f.at.value.size());
  if (r.index == 0)
    report(bad("no number after @", m.text,
               fmt::format("the number of a point of {}, from 1, as in \"{}@1\"", r.id, r.id)),
           m.place);
  else if (count > 0 && r.index > count)
    report(bad(fmt::format("{} has {} point{} in `at`; there is no number {}", r.id, count, count == 1 ? "" : "s",
                           r.index),
               m.text, fmt::format("@1{}", count > 1 ? fmt::format(" to @{}", count) : "")),
           m.place);
}

// ---- features
// ----------------------------------------------------------------------------------------------------------------

void check_feature_ids(const Plan& plan, const Report& report) {
  for (const Feature& f : plan.features) {
    const std::string& id = f.id.value;
    const Reference r = parse_reference(id);
    if (id.find_first_of(" \t@,") != std::string::npos || !r.side.empty())
      report(bad("a feature id has no blank, comma, @ or side in it, since other lines name it", id,
                 "an id such as F7 or bore-2"),
             f.id.place);
  }
}

void check_extent(const Feature& f, const Report& report) {
  if (f.from.given() && f.to.given() && !(f.from.si < f.to.si))
    report(bad(fmt::format("{} ends below where it starts", f.id.value),
               fmt::format("from {} to {}", f.from.typed, f.to.typed), "`from` below `to`"),
           f.to.place);
  if (f.depth.given() && f.thread_depth.given() && f.thread_depth.si > f.depth.si)
    report(bad(fmt::format("the thread of {} is deeper than its hole", f.id.value), f.thread_depth.typed,
               fmt::format("at most the depth, {}", f.depth.typed)),
           f.thread_depth.place);
  if (f.kind.value == "profile" && f.normal.given())
    report(bad("a profile has no normal: each of its sides has its own", f.normal.value, "no normal here"),
           f.normal.place);
}

std::vector<std::string> datum_letters(const Plan& plan, const Report& report) {
  std::vector<std::string> letters;
  for (const Feature& f : plan.features) {
    if (!f.datum.given()) continue;
    const auto here = words_of(f.datum.value);
    if (here.size() > 1 && !f.at.value.empty() && here.size() != f.at.value.size())
      report(bad(fmt::format("{} datum letters for {} points of {}", here.size(), f.at.value.size(), f.id.value),
                 f.datum.value, "one letter for the whole feature, or one for each point"),
             f.datum.place);
    for (const std::string& l : here) {
      if (l == "-" && here.size() > 1) continue;  // a point of the pattern that is no datum
      if (contains(letters, l))
        report(bad("this datum letter is given twice", l, "a letter of its own"), f.datum.place);
      letters.push_back(l);
    }
  }
  return letters;
}

void check_datums(const Plan& plan, const Report& report) {
  const std::vector<std::string> letters = datum_letters(plan, report);
  for (const Requirement& r : plan.requirements)
    for (std::size_t i = 0; i < r.datums.value.size(); ++i)
      for (const std::string& word : words_of(r.datums.value[i]))
        for (const std::string& letter : base::split(word, '-')) {  // "A-B" is one datum of two features
          if (contains(letters, letter)) continue;
          report(bad("no feature carries this datum letter", letter,
                     letters.empty() ? "a letter that a feature has as `datum`; none has one"
                                     : "one of: " + some(letters)),
                 r.datums.places[i]);
        }
}

void check_over(const Plan& plan, const Features& features, const Report& report) {
  std::set<const Feature*> settled;  // followed to its end before
  for (const Feature& f : plan.features) {
    std::vector<const Feature*> chain;
    std::set<const Feature*> on_chain;
    const Feature* next = &f;
    while (next != nullptr && next->over.given() && settled.count(next) == 0 && on_chain.insert(next).second) {
      chain.push_back(next);
      next = feature_of(features, parse_reference(next->over.value).id);
    }
    if (next != nullptr && on_chain.count(next) > 0) {
      const auto first = std::find(chain.begin(), chain.end(), next);
      for (auto it = first; it != chain.end(); ++it)
        report(bad(chain.end() - first == 1 ? "a feature cannot prepare itself"
                                            : "these features prepare one another in a circle",
                   (*it)->over.value, "the later surface that is cut on the same metal"),
               (*it)->over.place);
    }
    settled.insert(chain.begin(), chain.end());
  }
}

// ---- requirements, casting
// ----------------------------------------------------------------------------------------------------

void check_requirement(const Requirement& r, const Report& report) {
  if (!r.limits.given()) return;
  const bool angle = r.limits.value.kind == unit::Kind::angle;
  if (angle != (r.kind.value == "angle"))
    report(
        bad(fmt::format("limits of {} for the kind {}", angle ? "an angle" : "a length", r.kind.value), r.limits.typed,
            angle ? "limits of a length (the width of the zone), or the kind angle"
                  : "limits of an angle, such as \"45 ± 0.5 deg\""),
        r.limits.place);
}

void check_cast_size(const CastSize& s, const Report& report) {
  const std::string& kind = s.kind.value;
  const std::size_t surfaces = s.between.value.size();
  const Place& at = s.between.given() ? s.between.place : s.place;
  if (kind == "outside" && surfaces != 2)
    report(bad(fmt::format("the outside dimension {} lies between two surfaces", s.id.value),
               surfaces == 0 ? "" : base::join(s.between.value, ", "), "between = [\"F1.+x\", \"F1.-x\"]"),
           at);
  if (kind == "inside" && !s.feature.given())
    report(bad(fmt::format("the inside dimension {} needs the bore it becomes", s.id.value), {}, "feature = \"F2\""),
           s.place);
  if (kind == "height") {
    if (!s.feature.given())
      report(bad(fmt::format("the height {} needs the floor it becomes", s.id.value), {}, "feature = \"F3\""), s.place);
    if (surfaces != 1)
      report(bad(fmt::format("the height {} is measured from one surface", s.id.value),
                 surfaces == 0 ? "" : base::join(s.between.value, ", "), "between = \"A\""),
             at);
  }
}

void check_columns(const Plan& plan, const Report& report) {
  const Texts& c = plan.casting.measured.columns;
  std::vector<std::string> words = {"core x", "core y", "core z", "warp", "number", "ignore"};
  for (const CastSize& s : plan.casting.sizes) words.push_back(s.id.value);
  for (std::size_t i = 0; i < c.value.size(); ++i) {
    const std::size_t equals = c.value[i].find('=');
    const std::string right(equals == std::string::npos ? ""
                                                        : base::trim(std::string_view(c.value[i]).substr(equals + 1)));
    if (equals == std::string::npos || base::trim(std::string_view(c.value[i]).substr(0, equals)).empty())
      report(bad("a column is said as \"column = what it is\"", c.value[i], "such as \"thick = thickness\""),
             c.places[i]);
    else if (!contains(words, right))
      report(bad("a column that is neither a casting.size nor one of the words for columns", right,
                 "one of: " + some(words), base::nearest(right, words)),
             c.places[i]);
  }
}

// ---- the route
// ----------------------------------------------------------------------------------------------------------------

/// The single surfaces a reference stands for, as texts that can be compared.
std::vector<std::string> surfaces_of(const Features& features, const std::string& text) {
  const Reference r = parse_reference(text);
  const Feature* f = feature_of(features, r.id);
  std::vector<std::string> out;
  if (f == nullptr) return out;
  const std::size_t count = std::max<std::size_t>(f->at.value.size(), 1);
  for (std::size_t i = 1; i <= count; ++i) {
    if (r.index != 0 && static_cast<std::size_t>(r.index) != i) continue;
    const std::string one = fmt::format("{}@{}", r.id, i);
    if (f->kind.value != "profile") out.push_back(one);
    for (const std::string& side : profile_sides)
      if (f->kind.value == "profile" && (r.side.empty() || r.side == side)) out.push_back(one + side);
  }
  return out;
}

void check_made_once(const Plan& plan, const Features& features, const Report& report) {
  std::map<std::string, std::size_t> made;  // surface -> operation
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const Texts& makes = plan.operations[k].makes;
    for (std::size_t i = 0; i < makes.value.size(); ++i)
      for (const std::string& word : words_of(makes.value[i])) {
        bool told = false;
        for (const std::string& surface : surfaces_of(features, word)) {
          const auto [before, first] = made.emplace(surface, k);
          if (first || told) continue;
          told = true;
          report(bad(fmt::format("{} is already made in {}", word, plan.operations[before->second].id.value), word,
                     "each surface made once; for metal that is cut twice give the first cut a feature of its own with "
                     "over = \"" +
                         word + "\""),
                 makes.places[i]);
        }
      }
  }
  for (const Feature& f : plan.features) {
    if (!f.over.given()) continue;
    for (const std::string& surface : surfaces_of(features, f.id.value))
      for (const std::string& later : surfaces_of(features, f.over.value)) {
        const auto a = made.find(surface), b = made.find(later);
        if (a == made.end() || b == made.end() || a->second <= b->second) continue;
        report(bad(fmt::format("{} prepares {}, but the route makes it later", f.id.value, f.over.value),
                   fmt::format("{} in {}, {} in {}", f.id.value, plan.operations[a->second].id.value, f.over.value,
                               plan.operations[b->second].id.value),
                   "the prepared surface first"),
               f.over.place);
        return;
      }
  }
}

void check_order(const Plan& plan, const Report& report) {
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const Operation& o = plan.operations[k];
    for (std::size_t i = 0; i < o.after.value.size(); ++i)
      for (std::size_t later = k; later < plan.operations.size(); ++later)
        if (plan.operations[later].id.value == o.after.value[i]) {
          report(bad(later == k ? "an operation cannot come after itself"
                                : "this operation comes after one that stands further down",
                     o.after.value[i], "operations in the order they are done"),
                 o.after.places[i]);
          break;
        }
  }
}

void check_locators(const Plan& plan, const Features& features, const Report& report) {
  for (const Operation& o : plan.operations)
    for (const Locator& l : o.locators) {
      if (!l.on.given() || !l.kind.given()) continue;
      const auto on = words_of(l.on.value);
      const bool centre = l.kind.value == "centre";
      if (on.size() != (centre ? 2U : 1U))
        report(
            bad(centre ? "a centre lies between two surfaces" : fmt::format("a {} touches one surface", l.kind.value),
                l.on.value, centre ? "two surfaces, such as \"F1.+x F1.-x\"" : "one surface"),
            l.on.place);
      if (l.kind.value != "round pin" && l.kind.value != "relieved pin") continue;
      const Feature* f = feature_of(features, parse_reference(l.on.value).id);
      if (f != nullptr && !is_hole(*f))
        report(bad(fmt::format("a pin goes into a hole; {} is a {}", f->id.value, f->kind.value), l.on.value,
                   "a bore, counterbore or hole"),
               l.on.place);
    }
}

void check_cuts(const Plan& plan, const Report& report) {
  for (const Operation& o : plan.operations)
    for (const Cut& c : o.cuts)
      if (c.feed.given() && c.feed_per_tooth.given())
        report(bad("feed is said twice, per minute and per tooth", c.feed_per_tooth.typed,
                   fmt::format("one of the two (feed is {})", c.feed.typed)),
               c.feed_per_tooth.place);
}

// ---- the pallet, the rest
// -----------------------------------------------------------------------------------------------------

/// Two full pins hold one freedom twice: the distance of pins and holes is never the same.
void check_pin_kinds(const Plan& plan, const Report& report) {
  bool round = false;
  for (const Pin& p : plan.pallet.pins) {
    if (p.kind.value != "round") continue;
    if (p.land.given())
      report(bad("a round pin has no land", p.land.typed,
                 "`diameter` for a round pin; a land belongs to kind = \"relieved\""),
             p.land.place);
    if (round)
      report(bad("two round pins: both would set the distance between the holes", p.kind.value,
                 "one round pin and one relieved pin", "relieved"),
             p.kind.place);
    round = true;
  }
}

void check_pallet(const Plan& plan, const Features& features, const Report& report) {
  check_pin_kinds(plan, report);
  for (const Pin& p : plan.pallet.pins) {
    const Reference r = parse_reference(p.in.value);
    const Feature* f = feature_of(features, r.id);
    if (f == nullptr || !p.in.given()) continue;
    if (!is_hole(*f))
      report(bad(fmt::format("a pin goes into a hole; {} is a {}", f->id.value, f->kind.value), p.in.value,
                 "a bore, counterbore or hole"),
             p.in.place);
    else if (f->at.value.size() > 1 && p.in.value.find('@') == std::string::npos)
      report(bad(fmt::format("{} is {} holes; a pin goes into one", f->id.value, f->at.value.size()), p.in.value,
                 "which one, counted in the order of `at`", f->id.value + "@1"),
             p.in.place);
  }
  for (const NestScrew& s : plan.pallet.screws) {
    const Feature* f = feature_of(features, parse_reference(s.through.value).id);
    if (f != nullptr && s.through.given() && !is_hole(*f))
      report(bad(fmt::format("a screw goes through a hole; {} is a {}", f->id.value, f->kind.value), s.through.value,
                 "a hole of the part"),
             s.through.place);
  }
}

void check_temperatures(const Number& low, const Number& high, const Report& report) {
  if (high.given() && low.known() && !(low.si <= high.si))
    report(bad("the warmest is colder than the coldest", high.typed, fmt::format("at least {}", low.typed)),
           high.place);
  else if (low.given() && high.known() && !(low.si <= high.si))
    report(bad("the coldest is warmer than the warmest", low.typed, fmt::format("at most {}", high.typed)), low.place);
}

void check_strengths(const Plan& plan, const Report& report) {
  std::vector<std::string> names;
  for (const auto& row : ref::strength_table())
    if (!contains(names, row.name)) names.push_back(row.name);
  const auto check = [&](const Text& strength) {
    if (!strength.given() || contains(names, strength.value)) return;
    report(bad("no strength class of screws", strength.value, "one of: " + some(names),
               base::nearest(strength.value, names)),
           strength.place);
  };
  for (const NestScrew& s : plan.pallet.screws) check(s.strength);
  for (const Operation& o : plan.operations)
    for (const Clamp& c : o.clamps) check(c.strength);
}

/// Currencies are never converted, so one plan and its shop speak one.
void check_currency(const Plan& plan, const Report& report) {
  std::string first, where;
  const auto visit = [&](const Table& t, void* object) {
    for (const Key& k : t.keys) {
      if (k.type != Type::number || (k.kind != unit::Kind::money && k.kind != unit::Kind::money_per_hour)) continue;
      const auto& n = *static_cast<const Number*>(k.at(object));
      if (!n.given() || n.typed.empty()) continue;
      const auto q = unit::parse(n.typed, k.kind);
      if (!q.ok() || q->unit.empty()) continue;
      const std::string currency = q->unit.substr(0, q->unit.find('/'));
      if (first.empty()) {
        first = currency;
        where = n.typed;
      } else if (currency != first) {
        report(bad("two currencies in one plan; they are never converted", n.typed,
                   fmt::format("{}, as in {}", first, where)),
               n.place);
      }
    }
  };
  Plan& p = const_cast<Plan&>(plan);  // the schema's accessors are for reading and writing; nothing is written here
  walk(plan_schema(), &p, visit);
  walk(shop_schema(), &p, visit);
}

}  // namespace

void check_mentions(const Plan& plan, const std::vector<Mention>& mentions, const Ids& ids, const Report& report) {
  const Features features = index_of(plan);
  std::map<std::string, std::vector<std::string>> names;
  for (const auto& [kind, list] : ids)
    for (const auto& [id, place] : list)
      if (names[kind].size() < 2000) names[kind].push_back(id);
  for (const Mention& m : mentions) {
    const std::string& kind = m.key->refers;
    const bool feature = kind == "feature";
    const Reference r = feature ? parse_reference(m.text) : Reference{m.text, {}, 0};
    const auto known = ids.find(kind);
    if (known == ids.end() || known->second.count(r.id) == 0) {
      const bool shop = kind == "tool" || kind == "machine";
      std::string expected = fmt::format("the id of {} {}", kind == "operation" ? "an" : "a", kind);
      if (names[kind].empty())
        expected += shop && !plan.header.shop.given() ? "; no shop file is named: shop = \"shop.toml\" under [plan]"
                                                      : "; none is defined";
      else if (names[kind].size() <= 12) expected += ": " + base::join(names[kind], ", ");
      report(bad(fmt::format("`{}` names {} {} that is not there", m.key->name, kind == "operation" ? "an" : "a", kind),
                 m.text, expected, base::nearest(r.id, names[kind])),
             m.place);
    } else if (feature) {
      check_feature_part(*features.at(r.id), m, r, report);
    }
  }
}

void check_whole(const Plan& plan, const Report& report) {
  const Features features = index_of(plan);
  check_feature_ids(plan, report);
  for (const Feature& f : plan.features) check_extent(f, report);
  check_datums(plan, report);
  check_over(plan, features, report);
  for (const Requirement& r : plan.requirements) check_requirement(r, report);
  for (const CastSize& s : plan.casting.sizes) check_cast_size(s, report);
  check_columns(plan, report);
  check_made_once(plan, features, report);
  check_order(plan, report);
  check_locators(plan, features, report);
  check_cuts(plan, report);
  check_pallet(plan, features, report);
  check_temperatures(plan.pallet.temperature_low, plan.pallet.temperature_high, report);
  check_temperatures(plan.shop.room.temperature_low, plan.shop.room.temperature_high, report);
  check_strengths(plan, report);
  check_currency(plan, report);
}

}  // namespace fettle::plan
