#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "plan/read.h"
#include "plan/schema.h"
#include "plan/toml_text.h"

namespace fettle::plan {

namespace {

std::string quoted(const std::string& s) {
  std::string out = "\"";
  for (char c : s) {
    if (c == '"' || c == '\\') out += '\\';
    if (c == '\n') out += "\\n";
    else if (c == '\t') out += "\\t";
    else if (static_cast<unsigned char>(c) < 0x20) out += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
    else out += c;
  }
  return out + "\"";
}

/// Numbers that nobody typed, in metres unless mm read back to the same bits.
std::string length_text(double x) { return unit::write(x, unit::Kind::length); }

std::string limits_text(const unit::Limits& l) {
  const bool angle = l.kind == unit::Kind::angle;
  const auto say = [&](double x) { return unit::write(x, l.kind); };
  const std::string sign = l.diameter ? "Ø" : "";
  if (l.lower && l.upper) return fmt::format("{}{}..{}", angle ? "" : sign, say(*l.lower), say(*l.upper));
  if (l.upper) return fmt::format("max {}{}", sign, say(*l.upper));
  if (l.lower) return fmt::format("min {}{}", sign, say(*l.lower));
  return sign + (l.nominal ? say(*l.nominal) : std::string("0 mm"));
}

std::string spread_text(const unit::Spread& s) {
  const std::string mean = s.mean != 0 ? length_text(s.mean) + " " : "";
  if (s.family == unit::Spread::Family::uniform) return fmt::format("uniform {}± {}", mean, length_text(s.half_width));
  return fmt::format("{}s {}", mean.empty() ? "" : mean, length_text(s.s));
}

std::string thread_text(const unit::Thread& t) {
  const std::string tail = t.tolerance_class.empty() ? "" : "-" + t.tolerance_class;
  if (t.system == unit::Thread::System::metric) {
    const std::string pitch = t.pitch > 0 ? "x" + base::shortest(unit::in_unit(t.pitch, "mm")) : "";
    return fmt::format("M{}{}{}", base::shortest(unit::in_unit(t.major, "mm")), pitch, tail);
  }
  return fmt::format("{}-{} {}{}", base::shortest(unit::in_unit(t.major, "in")),
                     base::shortest(std::round(0.0254 / t.pitch)), t.series, tail);
}

std::string sizes_text(const std::vector<double>& sizes) {
  std::vector<std::string> parts;
  parts.reserve(sizes.size());
  for (double x : sizes) parts.push_back(length_text(x));
  return base::join(parts, " x ");
}

std::string point_text(frame::Vec3 p) {
  const auto mm = [](double x) { return base::shortest(x / 1e-3); };
  // Only a text whose numbers read back to the same bits may be written in mm; metres always do.
  std::string in_mm = fmt::format("{}, {}, {} mm", mm(p.x), mm(p.y), mm(p.z));
  const auto back = unit::parse_points(in_mm);
  if (back.ok() && back->size() == 1 && back->front() == p) return in_mm;
  return fmt::format("{}, {}, {} m", base::shortest(p.x), base::shortest(p.y), base::shortest(p.z));
}

/// The value as TOML, from what was typed, or from the number when nothing was typed.
std::string value_text(const Key& k, const void* at) {
  const auto& v = *static_cast<const Value*>(at);
  switch (k.type) {
    case Type::number: {
      const auto& n = *static_cast<const Number*>(at);
      if (!v.typed.empty()) return k.kind == unit::Kind::number && base::to_double(v.typed) ? v.typed : quoted(v.typed);
      std::string s = unit::write(n.si, k.kind);
      if (n.banded()) s += fmt::format(" ({}..{})", unit::write(n.low, k.kind), unit::write(n.high, k.kind));
      return quoted(s);
    }
    case Type::integer:
      return fmt::format("{}", static_cast<const Integer*>(at)->value);
    case Type::flag:
      return static_cast<const Flag*>(at)->value ? "true" : "false";
    case Type::text:
      return quoted(static_cast<const Text*>(at)->value);
    case Type::texts: {
      const auto& t = *static_cast<const Texts*>(at);
      if (t.value.size() == 1) return quoted(t.value[0]);
      std::vector<std::string> parts;
      for (const std::string& s : t.value) parts.push_back(quoted(s));
      return "[" + base::join(parts, ", ") + "]";
    }
    case Type::points: {
      const auto& p = *static_cast<const Points*>(at);
      std::vector<frame::Vec3> typed;
      std::vector<std::string> parts;
      for (const std::string& t : p.texts) {
        const auto some = unit::parse_points(t);
        if (some.ok()) typed.insert(typed.end(), some->begin(), some->end());
        parts.push_back(quoted(t));
      }
      if (typed != p.value) {  // a program moved them
        parts.clear();
        for (const frame::Vec3& q : p.value) parts.push_back(quoted(point_text(q)));
      }
      return parts.size() == 1 ? parts[0] : "[" + base::join(parts, ", ") + "]";
    }
    case Type::sizes:
      return quoted(v.typed.empty() ? sizes_text(static_cast<const Sizes*>(at)->value) : v.typed);
    case Type::limits:
      return quoted(v.typed.empty() ? limits_text(static_cast<const Limits*>(at)->value) : v.typed);
    case Type::spread:
      return quoted(v.typed.empty() ? spread_text(static_cast<const Spread*>(at)->value) : v.typed);
    case Type::thread:
      return quoted(v.typed.empty() ? thread_text(static_cast<const Thread*>(at)->value) : v.typed);
    case Type::table:
    case Type::tables:
      break;
  }
  return "\"\"";
}

bool any_given(const Table& t, const void* object) {
  for (const Key& k : t.keys) {
    if (k.type == Type::tables) {
      if (k.count(object) > 0) return true;
    } else if (k.type == Type::table) {
      if (any_given(*k.table, k.at(const_cast<void*>(object)))) return true;
    } else if (static_cast<const Value*>(k.at(const_cast<void*>(object)))->written()) {
      return true;
    }
  }
  return false;
}

void write_table(std::string& out, const Table& t, const void* object, const std::string& path) {
  for (const Key& k : t.keys) {
    if (k.type == Type::table || k.type == Type::tables) continue;
    const void* at = k.at(const_cast<void*>(object));
    if (static_cast<const Value*>(at)->written()) out += fmt::format("{} = {}\n", k.name, value_text(k, at));
  }
  for (const Key& k : t.keys) {
    const std::string name = path.empty() ? k.name : path + "." + k.name;
    if (k.type == Type::table) {
      const void* child = k.at(const_cast<void*>(object));
      if (!any_given(*k.table, child)) continue;
      out += fmt::format("\n[{}]\n", name);
      write_table(out, *k.table, child, name);
    } else if (k.type == Type::tables) {
      for (std::size_t i = 0; i < k.count(object); ++i) {
        out += fmt::format("\n[[{}]]\n", name);
        write_table(out, *k.table, k.item(object, i), name);
      }
    }
  }
}

/// The name of an item among its like: its id, else its tool, else its number; "#2" when that name was there before.
std::string item_name(const Table& t, const void* item, std::size_t i, std::map<std::string, int>& before) {
  std::string name = fmt::format("{}", i + 1);
  for (const char* key : {"id", "tool"}) {
    const Key* k = find_key(t, key);
    const auto* text = k != nullptr ? static_cast<const Text*>(k->at(const_cast<void*>(item))) : nullptr;
    if (text == nullptr || !text->written()) continue;
    name = text->value;
    break;
  }
  const int n = ++before[name];
  return n > 1 ? fmt::format("{}#{}", name, n) : name;
}

void collect(std::vector<Leaf>& out, const Table& t, const void* object, const std::string& path,
             const std::string& key) {
  for (const Key& k : t.keys) {
    const std::string p = path.empty() ? k.name : path + " / " + k.name;
    const std::string q = key.empty() ? k.name : key + "." + k.name;
    if (k.type == Type::table) {
      collect(out, *k.table, k.at(const_cast<void*>(object)), p, q);
    } else if (k.type == Type::tables) {
      std::map<std::string, int> before;
      for (std::size_t i = 0; i < k.count(object); ++i) {
        const std::string name = item_name(*k.table, k.item(object, i), i, before);
        collect(out, *k.table, k.item(object, i), fmt::format("{} {}", p, name), fmt::format("{}.{}", q, name));
      }
    } else {
      const auto* v = static_cast<const Value*>(k.at(const_cast<void*>(object)));
      if (!v->written()) continue;
      Leaf leaf{p, q, value_text(k, v), v->place, false, 0, k.kind};
      if (leaf.typed.size() >= 2 && leaf.typed.front() == '"') leaf.typed = leaf.typed.substr(1, leaf.typed.size() - 2);
      if (k.type == Type::number) {
        leaf.number = true;
        leaf.si = static_cast<const Number*>(v)->si;
      }
      out.push_back(std::move(leaf));
    }
  }
}

}  // namespace

std::string write_plan(const Plan& plan) {
  std::string out;
  Plan copy = plan;
  if (copy.header.pallet.given()) copy.pallet = {};  // it stands in its own file
  copy.version.value = 1;
  copy.version.origin = Origin::given;
  write_table(out, plan_schema(), &copy, "");
  return out;
}

std::string replace_value(std::string_view text, const Place& place, std::string_view value) {
  if (place.line < 1) return std::string(text);  // a default stands nowhere
  const std::size_t from = byte_at(text, place.line, place.column),
                    to = std::max(from, byte_at(text, place.end_line, place.end_column));
  return std::string(text.substr(0, from)) + std::string(value) + std::string(text.substr(to));
}

std::vector<Leaf> leaves(const Plan& plan) {
  std::vector<Leaf> out;
  collect(out, plan_schema(), &plan, "", "");
  std::vector<Leaf> shop;
  collect(shop, shop_schema(), &plan, "", "");
  for (Leaf& l : shop)
    if (l.key != "fettle") out.push_back(std::move(l));
  return out;
}

}  // namespace fettle::plan
