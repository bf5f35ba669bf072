#pragma once
// One table per TOML table: name, type, unit, bounds, default with source and band, help. The reader, the writer, error
// texts, docs/plan.md and the page's forms are all made from it.
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include "plan/plan.h"

namespace fettle::plan {

enum class Type { number, integer, flag, text, texts, points, sizes, limits, spread, thread, table, tables };

struct Table;

struct Key {
  std::string name;
  Type type = Type::text;
  unit::Kind kind = unit::Kind::number;
  double low = -std::numeric_limits<double>::infinity(), high = std::numeric_limits<double>::infinity();  ///< SI
  bool low_open = false;    ///< the low bound itself is refused
  std::string fallback;     ///< default as text, with band: "0.12 (0.08..0.20)"
  std::string source;       ///< where the default comes from
  std::string replaced_by;  ///< the cheap measurement that replaces it
  std::string help;
  std::string example;
  bool required = false;  ///< without it the table means nothing
  std::vector<std::string> choices;
  std::string refers;              ///< the value names a thing of this kind ("feature", "tool", ...)
  bool side = false;               ///< a reference may carry a side: "F1.+x"
  bool bare = false;               ///< limits may be left out: "Ø50 mm"
  bool thing = false;              ///< the number may be said by a named thing: "hard jaw"
  int numbers = 0;                 ///< how many sizes there must be; 0: any
  bool angle_too = false;          ///< limits may be of an angle
  const Table* table = nullptr;    ///< type table or tables
  std::function<void*(void*)> at;  ///< the member in its struct
  std::function<void*(void*)> append;
  std::function<std::size_t(const void*)> count;
  std::function<const void*(const void*, std::size_t)> item;
};

struct Table {
  std::string name;  ///< "operation"
  std::string help;
  std::string id_kind;  ///< its ids are things of this kind; empty: no id
  std::vector<Key> keys;
  std::function<Place*(void*)> place;
};

/// The three roots: a plan file, a shop file, a pallet file.
const Table& plan_schema();
const Table& shop_schema();
const Table& pallet_schema();

std::string_view word(Type type);
/// "a length", "an angle".
std::string with_article(std::string_view word);
/// "at least 1 and at most 16", "more than 0 mm"; empty without bounds.
std::string range_text(const Key& key);
/// "a length with its unit, such as \"25.4 mm\"": what may stand there.
std::string expected_text(const Key& key);
/// The example of a key, or one made from its type, choices and kind.
std::string example_of(const Key& key);

/// Calls `visit(table, object)` for the table itself and everything below it.
void walk(const Table& table, void* object, const std::function<void(const Table&, void*)>& visit);
/// The key of that name, or nullptr.
const Key* find_key(const Table& table, std::string_view name);

/// docs/plan.md, written from the schema.
std::string describe_schema();
/// The small complete plan that stands in it.
std::string example_plan();

}  // namespace fettle::plan
