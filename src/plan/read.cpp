#include "plan/read.h"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <set>
#include <tuple>

#include "base/text.h"
#include "plan/checks.h"
#include "plan/schema.h"
#include "plan/toml_text.h"
#include "ref/defaults.h"
#include "ref/fits.h"
#include "ref/threads.h"

namespace fettle::plan {

namespace {

using base::nearest;

/// Keys of older versions and what they are called now: (version below which, table, old, new).
struct Renamed {
  int before;
  const char* table;
  const char* old;
  const char* now;
};
constexpr Renamed renamed[] = {{1, "", "op", "operation"},
                               {1, "operation", "step_time", "time"},
                               {1, "demand", "weekly", "per_week"},
                               {1, "pallet", "trough", "run_off"}};

constexpr std::size_t most_problems = 200;  // told in one go

struct Context {
  Plan& plan;
  Problems& problems;
  Ids ids;
  std::vector<Mention> mentions;
  int file = 0;
  int version = 1;
  bool damaged = false;  ///< lines were unreadable, so what is missing means nothing
  std::size_t untold = 0;
  std::set<std::string> old_names;

  const SourceFile& source(int number) const { return plan.files[static_cast<std::size_t>(std::max(number, 0))]; }
  void report(Problem p, const Place& place) {
    p.where = {source(place.file).path, place.line, place.column};
    if (problems.size() < most_problems) problems.push_back(std::move(p));
    else ++untold;
  }
  /// A problem of a text value whose column counts inside the text.
  void report_inside(Problem p, const Place& place) {
    if (problems.size() >= most_problems) {
      ++untold;
      return;
    }
    const Place at = p.where.column >= 1 ? place_inside(source(place.file).text, place, p.where.column) : place;
    report(std::move(p), at);
  }
};

Place place_of(const toml::source_region& r, int file) {
  return {file, static_cast<int>(r.begin.line), static_cast<int>(r.begin.column), static_cast<int>(r.end.line),
          static_cast<int>(r.end.column)};
}

std::string shown(const toml::node& n) {
  if (const auto* s = n.as_string()) return s->get();
  if (const auto* i = n.as_integer()) return fmt::format("{}", i->get());
  if (const auto* f = n.as_floating_point()) return base::shortest(f->get());
  if (const auto* b = n.as_boolean()) return b->get() ? "true" : "false";
  if (n.is_array()) return "[...]";
  if (n.is_table()) return "{...}";
  return "a date";
}

bool in_range(double x, const Key& k) { return (k.low_open ? x > k.low : x >= k.low) && x <= k.high; }

void set_common(Value& v, Origin origin, const Place& place, const std::string& typed) {
  v.origin = origin;
  v.place = place;
  v.typed = typed;
}

template <class T>
const T* parsed(Context& c, const Outcome<T>& outcome, const Place& place) {
  if (outcome.ok()) return &outcome.value();
  for (const Problem& p : outcome.problems()) c.report_inside(p, place);
  return nullptr;
}

bool starts_with_letter(const std::string& s) {
  return !s.empty() && ((s[0] >= 'a' && s[0] <= 'z') || (s[0] >= 'A' && s[0] <= 'Z'));
}

bool keep_in_range(Context& c, const Key& k, const std::string& text, const Place& place,
                   std::initializer_list<double> values) {
  for (double x : values)
    if (!in_range(x, k)) {
      c.report(bad(fmt::format("{} is out of range", k.name), text, range_text(k)), place);
      return false;
    }
  return true;
}

void read_number(Context& c, const Key& k, const std::string& text, const Place& place, Number& n, Origin origin) {
  n.kind = k.kind;
  if (k.thing &&
      starts_with_letter(text)) {  // a named thing brings its own number, once the shop is known: resolve_things
    set_common(n, Origin::assumed, place, text);
    return;
  }
  const Outcome<unit::Banded> outcome = unit::parse_banded(text, k.kind);
  const unit::Banded* b = parsed(c, outcome, place);
  if (b == nullptr || !keep_in_range(c, k, text, place, {b->low, b->value.si, b->high})) return;
  set_common(n, origin, place, text);
  n.si = b->value.si;
  n.low = b->low;
  n.high = b->high;
  if (origin == Origin::assumed) {
    n.source = k.source;
    n.replaced_by = k.replaced_by;
  }
}

void read_limits(Context& c, const Key& k, const std::string& text, const Place& place, Limits& v, Origin origin) {
  Outcome<unit::Limits> outcome = unit::parse_limits(text, unit::Kind::length);
  if (!outcome.ok() && k.angle_too) {
    Outcome<unit::Limits> angle = unit::parse_limits(text, unit::Kind::angle);
    if (angle.ok()) outcome = std::move(angle);
  }
  if (!outcome.ok() && k.bare) {  // a size whose limits nobody has said yet
    std::string_view rest = text;
    const bool round = base::starts_with(rest, "Ø");
    if (round) rest.remove_prefix(std::string_view("Ø").size());
    const Outcome<unit::Quantity> size = unit::parse(rest, unit::Kind::length);
    if (size.ok()) {
      unit::Limits bare;
      bare.nominal = size->si;
      bare.diameter = round;
      bare.typed = text;
      bare.unit = size->unit;
      outcome = bare;
    }
  }
  if (outcome.ok()) outcome = ref::limits_of(outcome.value());
  const unit::Limits* l = parsed(c, outcome, place);
  if (l == nullptr) return;
  for (const auto& x : {l->nominal, l->lower, l->upper})
    if (x && !keep_in_range(c, k, text, place, {*x})) return;
  v.value = *l;
  set_common(v, origin, place, text);
}

void read_thread(Context& c, const std::string& text, const Place& place, Thread& v, Origin origin) {
  const auto outcome = unit::parse_thread(text);
  const unit::Thread* t = parsed(c, outcome, place);
  if (t == nullptr) return;
  const auto data =
      ref::thread_data(*t);  // only threads of the table: pitch, stress area and drill are known for these
  if (!parsed(c, data, place)) return;
  v.value = *t;
  v.value.pitch = data->pitch;
  set_common(v, origin, place, text);
}

void read_points(Context& c, const Key& k, const std::string& text, const Place& place, Points& v, Origin origin) {
  const auto outcome = unit::parse_points(text);
  const auto* p = parsed(c, outcome, place);
  if (p == nullptr) return;
  for (const frame::Vec3& q : *p)
    if (!keep_in_range(c, k, text, place, {q.x, q.y, q.z})) return;
  v.value.insert(v.value.end(), p->begin(), p->end());
  v.texts.push_back(text);
  set_common(v, origin, place, base::join(v.texts, "; "));
}

void read_sizes(Context& c, const Key& k, const std::string& text, const Place& place, Sizes& v, Origin origin) {
  const auto outcome = unit::parse_sizes(text);
  const auto* p = parsed(c, outcome, place);
  if (p == nullptr) return;
  if (k.numbers > 0 && p->size() != static_cast<std::size_t>(k.numbers)) {
    c.report(
        bad(fmt::format("{} has {} length{}", k.name, p->size(), p->size() == 1 ? "" : "s"), text, expected_text(k)),
        place);
    return;
  }
  for (double x : *p)
    if (!keep_in_range(c, k, text, place, {x})) return;
  v.value = *p;
  set_common(v, origin, place, text);
}

bool good_choice(Context& c, const Key& k, const std::string& text, const Place& place) {
  if (k.choices.empty() || std::find(k.choices.begin(), k.choices.end(), text) != k.choices.end()) return true;
  c.report(bad(fmt::format("{} is none of the words it may be", k.name), text, "one of: " + base::join(k.choices, ", "),
               nearest(text, k.choices)),
           place);
  return false;
}

/// What is named by `on` and is no feature: the chuck itself, the table itself.
bool plain_word(const Key& k, const std::string& word) {
  return k.name == "on" && (word == "chuck" || word == "table");
}

void note_mentions(Context& c, const Key& k, const std::string& text, const Place& place) {
  if (k.refers.empty()) return;
  if (k.refers != "feature") {  // ids of tools, machines and operations may have blanks
    c.mentions.push_back({&k, text, place});
    return;
  }
  int n = 1;
  for (const std::string& part : base::split(text, ' ')) {
    if (!part.empty() && !plain_word(k, part))
      c.mentions.push_back({&k, part, n == 1 ? place : place_inside(c.source(place.file).text, place, n)});
    n += static_cast<int>(base::code_points(part)) + 1;
  }
}

void read_text_like(Context& c, const Key& k, const std::string& text, const Place& place, void* at, Origin origin) {
  if (base::trim(text).empty()) {
    c.report(bad(fmt::format("{} is empty", k.name), {}, expected_text(k)), place);
    return;
  }
  switch (k.type) {
    case Type::number:
      read_number(c, k, text, place, *static_cast<Number*>(at), origin);
      return;
    case Type::limits:
      read_limits(c, k, text, place, *static_cast<Limits*>(at), origin);
      return;
    case Type::points:
      read_points(c, k, text, place, *static_cast<Points*>(at), origin);
      return;
    case Type::sizes:
      read_sizes(c, k, text, place, *static_cast<Sizes*>(at), origin);
      return;
    case Type::thread:
      read_thread(c, text, place, *static_cast<Thread*>(at), origin);
      return;
    case Type::text: {
      if (!good_choice(c, k, text, place)) return;
      auto& v = *static_cast<Text*>(at);
      v.value = text;
      set_common(v, origin, place, text);
      if (origin == Origin::given) note_mentions(c, k, text, place);
      return;
    }
    case Type::texts: {
      if (!good_choice(c, k, text, place)) return;
      auto& v = *static_cast<Texts*>(at);
      v.value.push_back(text);
      v.places.push_back(place);
      set_common(v, origin, place, base::join(v.value, ", "));
      note_mentions(c, k, text, place);
      return;
    }
    case Type::spread: {
      const auto outcome = unit::parse_spread(text, k.kind);
      const auto* p = parsed(c, outcome, place);
      if (p == nullptr || !keep_in_range(c, k, text, place, {p->mean, p->s})) return;
      auto& v = *static_cast<Spread*>(at);
      v.value = *p;
      set_common(v, origin, place, text);
      return;
    }
    case Type::integer:  // only defaults come as text
      if (const auto x = base::to_double(text)) {
        auto& v = *static_cast<Integer*>(at);
        v.value = static_cast<int>(*x);
        set_common(v, origin, place, text);
      }
      return;
    default:
      return;
  }
}

void read_table(Context& c, const Table& t, const toml::table& node, void* object);

/// What stands at a place, as typed.
std::string typed_at(const Context& c, const Place& p) {
  const std::string& text = c.source(p.file).text;
  const std::size_t from = byte_at(text, p.line, p.column), to = byte_at(text, p.end_line, p.end_column);
  return to > from && to - from <= 80 ? text.substr(from, to - from) : std::string();
}

void wrong_type(Context& c, const Key& k, const toml::node& node, const Place& place) {
  const bool number = node.is_integer() || node.is_floating_point();
  const bool length_like =
      k.type == Type::points || k.type == Type::sizes || k.type == Type::limits || k.type == Type::spread;
  std::string what = fmt::format("wrong kind of value for {}", k.name), near;
  if (number && (k.type == Type::number || length_like)) {
    what = fmt::format("a bare number where {} {} meant: the unit is missing",
                       k.type == Type::number   ? with_article(unit::word(k.kind))
                       : k.type == Type::spread ? "a spread"
                                                : std::string(word(k.type)),
                       k.type == Type::points || k.type == Type::sizes || k.type == Type::limits ? "are" : "is");
  } else if (k.type == Type::tables && node.is_table()) {
    what = fmt::format("single brackets where there may be several: write [[{}]]", k.name);
  } else if (k.type == Type::table && node.is_array()) {
    what = fmt::format("double brackets where there is only one: write [{}]", k.name);
  } else if (k.type == Type::integer && node.is_floating_point()) {
    what = fmt::format("{} is a whole number", k.name);
  } else if ((k.type == Type::integer || k.type == Type::flag) && node.is_string()) {
    const std::string text = node.as_string()->get();
    what = fmt::format("{} is written without quotation marks", k.name);
    if (k.type == Type::flag ? text == "true" || text == "false" : base::to_double(text).has_value()) near = text;
  } else if (node.is_date() || node.is_time() || node.is_date_time()) {
    what = fmt::format("{} is written in quotation marks", k.name);
  } else if (node.is_array() && k.type != Type::texts && k.type != Type::points) {
    what = fmt::format("a list where {} is one value", k.name);
  }
  const std::string found = node.is_array() || node.is_table() ? ""
                            : near.empty()                     ? typed_at(c, place)
                                                               : "\"" + near + "\"";
  c.report(bad(what, found, expected_text(k), near), place);
}

void read_array(Context& c, const Key& k, const toml::array& array, void* at, const Place& whole) {
  for (const toml::node& element : array) {
    const Place p = place_of(element.source(), c.file);
    if (const auto* s = element.as_string()) read_text_like(c, k, s->get(), p, at, Origin::given);
    else wrong_type(c, k, element, p);
  }
  static_cast<Value*>(at)->place = whole;
  if (array.empty()) c.report(bad(fmt::format("{} is an empty list", k.name), {}, expected_text(k)), whole);
}

void read_integer(Context& c, const Key& k, const toml::node& node, const Place& place, Integer& v) {
  const std::int64_t x = node.as_integer()->get();
  if (x > std::numeric_limits<int>::max() || x < std::numeric_limits<int>::min()) {
    c.report(bad(fmt::format("{} is out of range", k.name), shown(node), range_text(k)), place);
    return;
  }
  if (!keep_in_range(c, k, shown(node), place, {static_cast<double>(x)})) return;
  v.value = static_cast<int>(x);
  set_common(v, Origin::given, place, shown(node));
}

void read_tables(Context& c, const Key& k, const toml::node& node, void* object) {
  const auto* list = node.as_array();
  if (list == nullptr) {
    wrong_type(c, k, node, place_of(node.source(), c.file));
    return;
  }
  if (list->empty())
    c.report(bad(fmt::format("{} is an empty list", k.name), {}, expected_text(k)), place_of(node.source(), c.file));
  for (const toml::node& element : *list) {
    if (const auto* t = element.as_table()) read_table(c, *k.table, *t, k.append(object));
    else wrong_type(c, k, element, place_of(element.source(), c.file));
  }
}

void read_value(Context& c, const Key& k, const toml::node& node, void* object) {
  const Place place = place_of(node.source(), c.file);
  if (k.type == Type::tables) return read_tables(c, k, node, object);
  if (k.type == Type::table) {
    if (const auto* t = node.as_table()) read_table(c, *k.table, *t, k.at(object));
    else wrong_type(c, k, node, place);
    return;
  }
  void* at = k.at(object);
  const bool bare_ok = k.type == Type::number && (k.kind == unit::Kind::number || k.kind == unit::Kind::fraction);
  if (node.is_string() && k.type != Type::flag && k.type != Type::integer) {
    read_text_like(c, k, node.as_string()->get(), place, at, Origin::given);
  } else if (node.is_array() && (k.type == Type::texts || k.type == Type::points)) {
    read_array(c, k, *node.as_array(), at, place);
  } else if (node.is_boolean() && k.type == Type::flag) {
    auto& v = *static_cast<Flag*>(at);
    v.value = node.as_boolean()->get();
    set_common(v, Origin::given, place, shown(node));
  } else if (node.is_integer() && k.type == Type::integer) {
    read_integer(c, k, node, place, *static_cast<Integer*>(at));
  } else if ((node.is_integer() || node.is_floating_point()) && bare_ok) {
    read_text_like(c, k, shown(node), place, at, Origin::given);
  } else {
    wrong_type(c, k, node, place);
  }
}

const Renamed* renamed_key(const std::string& table, const std::string& key) {
  for (const Renamed& r : renamed)
    if (table == r.table && key == r.old) return &r;
  return nullptr;
}

void apply_defaults(Context& c, const Table& t, void* object, const std::set<std::string>& seen) {
  for (const Key& k : t.keys) {
    if (seen.count(k.name) > 0) continue;
    if (k.type == Type::table) {
      apply_defaults(c, *k.table, k.at(object), {});
    } else if (!k.fallback.empty()) {
      Place nowhere;
      nowhere.file = 0;
      read_text_like(c, k, k.fallback, nowhere, k.at(object), Origin::assumed);
    }
  }
}

void note_id(Context& c, const Table& t, void* object) {
  const Key* k = t.id_kind.empty() ? nullptr : find_key(t, "id");
  if (k == nullptr) return;
  const auto& id = *static_cast<const Text*>(k->at(object));
  if (!id.given()) return;
  const auto [first, fresh] = c.ids[t.id_kind].emplace(id.value, id.place);
  if (!fresh && t.id_kind != "locator" && t.id_kind != "clamp") {  // these are told apart by their operation
    const Place& p = first->second;
    const std::string where = p.file == id.place.file ? "" : " of " + c.source(p.file).path;
    c.report(bad(fmt::format("this {} id is used twice; first on line {}{}", t.name, p.line, where), id.value,
                 "an id of its own"),
             id.place);
  }
}

void unknown_key(Context& c, const Table& t, const std::string& name, const Place& place) {
  std::vector<std::string> names;
  for (const Key& k : t.keys) names.push_back(k.name);
  const Renamed* old = renamed_key(t.name, name);
  std::string near = old != nullptr ? old->now : nearest(name, names);
  std::string expected;
  if (old != nullptr) expected = fmt::format("{}, as it is called since version {}", old->now, old->before);
  else if (near.empty()) expected = "one of: " + base::join(names, ", ");
  c.report(bad(t.name.empty() ? "no such key or table in this file" : fmt::format("no such key in {}", t.name), name,
               expected, near),
           place);
}

/// How a missing key is written.
std::string missing_text(const Key& k) {
  if (k.type == Type::table) return fmt::format("[{}]", k.name);
  if (!k.choices.empty()) return fmt::format("{} = {}", k.name, expected_text(k));
  return k.type == Type::integer ? fmt::format("{} = {}", k.name, example_of(k))
                                 : fmt::format("{} = \"{}\"", k.name, example_of(k));
}

void read_table(Context& c, const Table& t, const toml::table& node, void* object) {
  const Place here = place_of(node.source(), c.file);
  if (t.place) *t.place(object) = here;
  std::set<std::string> seen;
  for (const auto& [key, value] : node) {
    std::string name(key.str());
    const Place place = place_of(key.source(), c.file);
    if (const Renamed* r = renamed_key(t.name, name); r != nullptr && c.version < r->before) {
      c.old_names.insert(fmt::format("{} is now {}", name, r->now));
      name = r->now;
    }
    const Key* k = find_key(t, name);
    if (k == nullptr) {
      unknown_key(c, t, name, place);
    } else if (!seen.insert(name).second) {
      c.report(bad(fmt::format("{} stands here by its old and by its new name", name), std::string(key.str()),
                   "one of the two"),
               place);
    } else {
      read_value(c, *k, value, object);
    }
  }
  for (const Key& k : t.keys)
    if (k.required && seen.count(k.name) == 0 && !c.damaged)
      c.report(bad((t.name.empty() ? "the file" : "this " + t.name) + " has no " +
                       (k.type == Type::table ? "table [" + k.name + "]" : k.name),
                   {}, missing_text(k)),
               here);
  apply_defaults(c, t, object, seen);
  note_id(c, t, object);
}

/// The number a named thing brings: the shop's own thing first, then the trade's defaults. False when it brings none of
/// this kind.
bool number_of_thing(Context& c, const std::string& name, const Key& k, Number& n, Problem* why) {
  for (const Thing& t : c.plan.shop.things) {
    if (t.id.value != name) continue;
    const Number* from = k.name == "friction" ? &t.friction : k.name == "stiffness" ? &t.stiffness : nullptr;
    if (from == nullptr || !from->known()) continue;
    n.si = from->si;
    n.low = from->low;
    n.high = from->high;
    n.origin = Origin::given;
    n.source = "shop file, thing \"" + name + "\"";
    return true;
  }
  const Outcome<ref::Default> found = ref::default_of(name, k.kind);
  if (!found.ok()) {
    if (why != nullptr) *why = found.problem();
    return false;
  }
  n.si = found->value;
  n.low = found->low;
  n.high = found->high;
  n.origin = Origin::assumed;
  n.source = found->source;
  n.replaced_by = found->replaced_by;
  return true;
}

std::vector<std::string> own_things(const Context& c) {
  std::vector<std::string> out;
  for (const Thing& t : c.plan.shop.things) out.push_back(t.id.value);
  return out;
}

/// Numbers said by name, and numbers that a table leaves to its `thing`.
void resolve_things(Context& c) {
  const auto visit = [&](const Table& t, void* object) {
    const Key* key = find_key(t, "thing");
    const Text* thing = key != nullptr ? static_cast<const Text*>(key->at(object)) : nullptr;
    const bool told = thing != nullptr && thing->given();
    bool brought = false, asked = false;
    for (const Key& k : t.keys) {
      if (!k.thing) continue;
      auto& n = *static_cast<Number*>(k.at(object));
      if (n.place.line > 0 && starts_with_letter(n.typed)) {
        Problem p;
        if (!number_of_thing(c, n.typed, k, n, &p)) {
          n.origin = Origin::missing;
          if (const std::string own = nearest(n.typed, own_things(c)); !own.empty() && own != n.typed) p.nearest = own;
          c.report(std::move(p), n.place);
        }
      } else if (told && n.place.line == 0) {
        asked = true;
        n.kind = k.kind;
        const bool here = number_of_thing(c, thing->value, k, n, nullptr);
        if (here) n.typed.clear(), n.place.file = 0;
        brought = brought || here;
      }
    }
    if (!told || !asked || brought || ref::default_of(thing->value).ok()) return;
    std::vector<std::string> names = own_things(c);
    if (std::find(names.begin(), names.end(), thing->value) != names.end()) return;
    for (const ref::Default& d : ref::defaults())
      if (d.kind == unit::Kind::stiffness && std::find(names.begin(), names.end(), d.thing) == names.end())
        names.push_back(d.thing);
    c.report(bad("no thing of that name", thing->value,
                 "a [[thing]] of the shop file, or one that the trade knows: " + base::join(names, ", "),
                 nearest(thing->value, names)),
             thing->place);
  };
  walk(plan_schema(), &c.plan, visit);
}

bool parse_file(Context& c, const Table& root, const std::string& text, const std::string& path) {
  c.file = static_cast<int>(c.plan.files.size());
  c.version = 1;
  c.plan.files.push_back({path, text, base::hash_hex(text)});
  const auto is_list = [&root](std::string_view name) {
    const Table* t = &root;
    const Key* k = nullptr;
    for (const std::string& part : base::split(name, '.')) {
      k = t != nullptr ? find_key(*t, std::string(base::trim(part))) : nullptr;
      t = k != nullptr ? k->table : nullptr;
    }
    return k != nullptr && k->type == Type::tables;
  };
  Problems syntax;
  const Parsed p = parse_toml(text, is_list, syntax);
  for (const Problem& q : syntax) c.report(q, {c.file, q.where.line, q.where.column, q.where.line, q.where.column});
  c.damaged = c.damaged || p.damaged || !p.usable;
  if (!p.usable) return false;
  if (const auto* v = p.table.get("fettle"); v != nullptr && v->is_integer()) {
    c.version = static_cast<int>(std::clamp<std::int64_t>(v->as_integer()->get(), -1, 1000000));
    if (c.version > 1) {
      c.report(bad("this file is newer than this program", fmt::format("fettle = {}", c.version),
                   "fettle = 1, or a newer program"),
               place_of(v->source(), c.file));
      return false;
    }
  }
  if (&root == &plan_schema() && !p.table.contains("plan"))
    for (const char* key : {"shop", "machine", "tool", "people"})
      if (const auto* n = p.table.get(key)) {
        c.report(bad("this is a shop file, not a plan", {}, "a plan that names it: shop = \"...\" under [plan]"),
                 place_of(n->source(), c.file));
        return false;
      }
  c.old_names.clear();
  read_table(c, root, p.table, &c.plan);
  if (c.version == 0) {
    std::string said = fmt::format("{} is of version 0; read as version 1", path);
    for (const std::string& s : c.old_names) said += "; " + s;
    c.plan.notices.push_back(said + ". `fettle rewrite` writes it in the new form");
  }
  return true;
}

/// Reads the shop or pallet file that the plan names into the same Plan.
bool follow(Context& c, const Text& named, const Table& root, const std::string& folder, const Loader& load) {
  if (!named.given()) return true;
  const std::filesystem::path p(named.value);
  const std::string path =
      p.is_absolute() || folder.empty() ? named.value : (std::filesystem::path(folder) / p).lexically_normal().string();
  const Outcome<std::string> text = load(path);
  if (!text.ok()) {
    Problem q = text.problem();
    q.what = fmt::format(
        "the {} file {} cannot be read: {}", &root == &shop_schema() ? "shop" : "pallet", path,
        std::string_view(q.what).substr(q.what.find(": ") == std::string::npos ? 0 : q.what.find(": ") + 2));
    q.found = named.value;
    q.expected = "a file, named from the folder of the plan";
    c.report(std::move(q), named.place);
    return false;
  }
  const Integer version = c.plan.version;  // the root key of every file; the plan keeps its own
  const bool read = parse_file(c, root, text.value(), path);
  c.plan.version = version;
  return read;
}

void read_all(Context& c, const std::string& text, const std::string& path, const Loader& load) {
  Plan& plan = c.plan;
  const std::string folder = std::filesystem::path(path).parent_path().string();
  if (!parse_file(c, plan_schema(), text, path)) return;
  bool whole = true;
  plan.pallet.defined.value = plan.pallet.place.line > 0 || plan.header.pallet.given();
  if (plan.pallet.place.line > 0 && plan.header.pallet.given())
    c.report(bad("a pallet stands in the plan and in a pallet file", plan.header.pallet.value, "one of the two"),
             plan.header.pallet.place);
  else whole = follow(c, plan.header.pallet, pallet_schema(), folder, load);
  if (plan.header.shop.given()) whole = follow(c, plan.header.shop, shop_schema(), folder, load) && whole;
  else apply_defaults(c, shop_schema(), &plan, {"fettle"});
  c.file = 0;
  if (c.damaged || !whole) return;  // what hangs on lines that could not be read is not told
  const Report report = [&c](Problem p, const Place& place) { c.report(std::move(p), place); };
  check_mentions(plan, c.mentions, c.ids, report);
  check_whole(plan, report);
  resolve_things(c);
}

/// By file in the order they were read, then by place; each problem once.
void put_in_order(const Plan& plan, Problems& problems) {
  std::map<std::string, int> number;
  for (const SourceFile& f : plan.files) number.emplace(f.path, static_cast<int>(number.size()));
  const auto key = [&](const Problem& p) {
    return std::make_tuple(number.count(p.where.file) > 0 ? number.at(p.where.file) : -1, p.where.line, p.where.column);
  };
  std::stable_sort(problems.begin(), problems.end(),
                   [&](const Problem& a, const Problem& b) { return key(a) < key(b); });
  const auto same = [](const Problem& a, const Problem& b) {
    return a.where == b.where && a.what == b.what && a.found == b.found;
  };
  problems.erase(std::unique(problems.begin(), problems.end(), same), problems.end());
}

}  // namespace

Reference parse_reference(std::string_view text) {
  Reference r;
  std::string s(text);
  if (const auto at = s.find('@'); at != std::string::npos) {
    if (const auto x = base::to_double(s.substr(at + 1)); x && *x >= 1 && *x <= 1e6) r.index = static_cast<int>(*x);
    s = s.substr(0, at);
  }
  if (const auto dot = s.rfind('.');
      dot != std::string::npos && s.size() - dot == 3 && (s[dot + 1] == '+' || s[dot + 1] == '-')) {
    r.side = s.substr(dot + 1);
    s = s.substr(0, dot);
  }
  r.id = s;
  return r;
}

Outcome<Plan> read_plan(std::string_view text, const std::string& path, const Loader& load) {
  Plan plan;
  Problems problems;
  Context c{plan, problems};
  read_all(c, std::string(text), path, load);
  if (!problems.empty()) {
    put_in_order(plan, problems);
    if (c.untold > 0) {
      Problem more = bad(fmt::format("and {} more problems; mend these first", c.untold));
      more.where = problems.back().where;
      problems.push_back(std::move(more));
    }
    return problems;
  }
  std::string all;
  for (const SourceFile& f : plan.files) all += f.hash;
  plan.hash = base::hash_hex(all);
  return plan;
}

Outcome<Plan> read_plan(const std::string& path) {
  const Outcome<std::string> text = base::read_file(path, std::size_t{16} << 20U);
  if (!text.ok()) return text.problems();
  return read_plan(text.value(), path, [](const std::string& p) { return base::read_file(p, std::size_t{16} << 20U); });
}

const Feature* find_feature(const Plan& plan, std::string_view id) {
  for (const Feature& f : plan.features)
    if (f.id.value == id) return &f;
  return nullptr;
}
const Operation* find_operation(const Plan& plan, std::string_view id) {
  for (const Operation& o : plan.operations)
    if (o.id.value == id) return &o;
  return nullptr;
}
const Tool* find_tool(const Plan& plan, std::string_view id) {
  for (const std::vector<Tool>* tools : {&plan.tools, &plan.shop.tools})
    for (const Tool& t : *tools)
      if (t.id.value == id) return &t;
  return nullptr;
}

std::vector<std::string> plans_using(const std::string& path, const std::string& folder) {
  namespace fs = std::filesystem;
  std::vector<std::string> out;
  std::error_code error;
  const fs::path wanted = fs::weakly_canonical(path, error);
  for (fs::recursive_directory_iterator it(folder, fs::directory_options::skip_permission_denied, error), end;
       !error && it != end; it.increment(error)) {
    const std::string name = it->path().filename().string();
    if (it->is_directory(error) && (it.depth() > 4 || name[0] == '.' || name == "node_modules"))
      it.disable_recursion_pending();
    if (it->path().extension() != ".toml") continue;
    const Outcome<std::string> text = base::read_file(it->path().string(), std::size_t{16} << 20U);
    if (!text.ok()) continue;
    try {
      const toml::table t = toml::parse(std::string_view(text.value()));
      for (const char* key : {"shop", "pallet"})
        if (const auto named = t["plan"][key].value<std::string>())
          if (fs::weakly_canonical(it->path().parent_path() / *named, error) == wanted)
            out.push_back(it->path().string());
    } catch (const toml::parse_error&) {
      continue;  // not a plan that can be read: it names nothing
    }
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

}  // namespace fettle::plan
