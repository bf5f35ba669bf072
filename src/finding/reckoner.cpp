#include "finding/reckoner.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <nlohmann/json.hpp>
#include <set>

#include "base/text.h"

namespace fettle::finding {

namespace {
using Form = ReckonerInput::Form;
using nlohmann::json;

const ReckonerInput* find_input(const Reckoner& r, std::string_view name) {
  for (const ReckonerInput& i : r.inputs)
    if (i.name == name) return &i;
  return nullptr;
}

std::vector<std::string> input_names(const Reckoner& r) {
  std::vector<std::string> names;
  for (const ReckonerInput& i : r.inputs) names.push_back(i.name);
  return names;
}

bool has_range(const ReckonerInput& i) { return i.low < i.high; }

/// The first metric unit of a kind; empty for plain numbers.
std::string_view first_unit(unit::Kind kind) {
  for (const unit::Unit& u : unit::units())
    if (u.kind == kind) return u.symbol;
  return {};
}

/// Six significant digits without trailing zeros: enough for a bound in a message.
std::string plain(double x) { return fmt::format("{:.6g}", x); }

/// "0.5 to 400 N·m", in the unit the person used where that is known.
std::string range_text(const ReckonerInput& i, std::string_view unit_symbol) {
  const std::string_view u = unit_symbol.empty() ? first_unit(i.kind) : unit_symbol;
  if (u.empty()) return fmt::format("{} to {}", plain(i.low), plain(i.high));
  return fmt::format("{} to {} {}", plain(unit::in_unit(i.low, u, i.kind)), plain(unit::in_unit(i.high, u, i.kind)), u);
}

/// The value that the first worked example gives to an input; empty: none.
std::string worked_value(const Reckoner& r, const ReckonerInput& i) {
  for (const WorkedExample& e : r.examples)
    for (const auto& [name, text] : e.given)
      if (name == i.name) return text;
  return {};
}

/// What may stand at an input, for messages; `worked` (may be empty) is a value from a worked example.
std::string may_stand(const ReckonerInput& i, const std::string& worked = {}) {
  switch (i.form) {
    case Form::quantity:
      return fmt::format("a {} such as \"{}\"", unit::word(i.kind), worked.empty() ? unit::example(i.kind) : worked);
    case Form::integer:
      return has_range(i) ? fmt::format("a whole number from {} to {}", plain(i.low), plain(i.high)) : "a whole number";
    case Form::choice:
      return "one of: " + base::join(i.choices, ", ");
    case Form::limits:
      return i.kind == unit::Kind::length ? "limits such as \"8.000..8.015 mm\" or \"Ø8 H7\""
                                          : fmt::format("limits of a {}", unit::word(i.kind));
    case Form::text:
      return "a text";
  }
  return {};
}

Problem at_input(const ReckonerInput& i, Problem p) {
  p.what = fmt::format("{}: {}", i.name, p.what);
  p.where = {};
  if (p.expected.empty()) p.expected = may_stand(i);
  return p;
}

/// In range? Adds a problem when not. A bound typed in another unit may miss its SI value in the last digits: such a
/// value is moved onto the bound.
bool in_range(const ReckonerInput& i, double& si, std::string_view typed, std::string_view unit_symbol, Problems& out) {
  const double slack = 1e-12 * std::max(std::fabs(i.low), std::fabs(i.high));
  if (!has_range(i) && std::isfinite(si)) return true;
  if (has_range(i) && si >= i.low - slack && si <= i.high + slack) {
    si = std::clamp(si, i.low, i.high);
    return true;
  }
  out.push_back(bad(fmt::format("{}: out of the range the formula holds for", i.name), std::string(typed),
                    range_text(i, unit_symbol)));
  return false;
}

void read_quantity(const ReckonerInput& i, std::string_view text, ReckonerValues& values, Problems& out) {
  auto q = unit::parse(text, i.kind);
  if (!q) {
    for (const Problem& p : q.problems()) out.push_back(at_input(i, p));
    return;
  }
  if (in_range(i, q->si, text, q->unit, out)) values.number[i.name] = q->si;
}

void read_integer(const ReckonerInput& i, std::string_view text, ReckonerValues& values, Problems& out) {
  auto x = base::to_double(text);
  if (!x || std::floor(*x) != *x || std::fabs(*x) > 1e15) {
    out.push_back(bad(i.name + ": not a whole number", std::string(text), may_stand(i)));
    return;
  }
  if (in_range(i, *x, text, {}, out)) values.number[i.name] = *x;
}

void read_choice(const ReckonerInput& i, std::string_view text, ReckonerValues& values, Problems& out) {
  for (const std::string& c : i.choices)
    if (base::lower(c) == base::lower(text)) {
      values.text[i.name] = c;
      return;
    }
  out.push_back(bad(i.name + ": no such choice", std::string(text), may_stand(i), base::nearest(text, i.choices)));
}

void read_limits(const ReckonerInput& i, std::string_view text, ReckonerValues& values, Problems& out) {
  auto limits = unit::parse_limits(text, i.kind);
  if (!limits) {
    for (const Problem& p : limits.problems()) out.push_back(at_input(i, p));
    return;
  }
  for (std::optional<double>* x : {&limits->nominal, &limits->lower, &limits->upper})
    if (*x && !in_range(i, **x, text, limits->unit, out)) return;
  values.limits[i.name] = *limits;
}

void read_text(const ReckonerInput& i, std::string_view text, ReckonerValues& values, Problems& out) {
  constexpr std::size_t most = 1000;
  if (text.empty() || text.size() > most || !base::valid_utf8(text)) {
    out.push_back(bad(i.name + ": not a text of 1 to 1000 bytes in UTF-8",
                      base::valid_utf8(text.substr(0, 40)) ? std::string(text.substr(0, 40)) : "", may_stand(i)));
    return;
  }
  values.text[i.name] = std::string(text);
}

void read_one(const ReckonerInput& i, std::string_view typed, ReckonerValues& values, Problems& out) {
  const std::string_view text = base::trim(typed);
  if (i.form != Form::text && text.empty()) {
    out.push_back(bad(i.name + ": nothing is given", {}, may_stand(i)));
    return;
  }
  switch (i.form) {
    case Form::quantity:
      return read_quantity(i, text, values, out);
    case Form::integer:
      return read_integer(i, text, values, out);
    case Form::choice:
      return read_choice(i, text, values, out);
    case Form::limits:
      return read_limits(i, text, values, out);
    case Form::text:
      return read_text(i, text, values, out);
  }
}

/// A default of our own that does not read is our fault, not the person's.
void read_fallback(const Reckoner& r, const ReckonerInput& i, ReckonerValues& values, Problems& out) {
  Problems own;
  read_one(i, i.fallback, values, own);
  for (const Problem& p : own) out.push_back(ours(fmt::format("the default of {} in {}: {}", i.name, r.name, say(p))));
}

// ---- JSON keys that name their unit ------------------------------------------------------------------------------

/// "N·m" -> "Nm", "N/µm" -> "N_per_um", "°C" -> "degC", "m/s²" -> "m_per_s2": how a unit stands in a key.
std::string as_key(std::string_view symbol) {
  static const std::vector<std::pair<std::string_view, std::string_view>> replacements = {
      {"µ", "u"},   {"μ", "u"},       {"·", ""},      {"⋅", ""},    {"°", "deg"}, {"²", "2"},    {"³", "3"},
      {"Ω", "ohm"}, {"%", "percent"}, {"/", "_per_"}, {"€", "EUR"}, {"$", "USD"}, {"\"", "inch"}};
  std::string out;
  for (std::size_t at = 0; at < symbol.size();) {
    bool replaced = false;
    for (const auto& [from, to] : replacements)
      if (base::starts_with(symbol.substr(at), from)) {
        out += to;
        at += from.size();
        replaced = true;
        break;
      }
    if (replaced) continue;
    const char c = symbol[at++];
    if ((c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '_') out += c;
  }
  return out;
}

/// The symbol of the unit that a key's tail names, empty when it names none of that kind.
std::string_view unit_named(unit::Kind kind, std::string_view tail) {
  for (const unit::Unit& u : unit::units()) {
    if (u.kind != kind) continue;
    if (as_key(u.symbol) == tail) return u.symbol;
    for (std::string_view s : u.spellings)
      if (as_key(s) == tail) return u.symbol;
  }
  return {};
}

bool takes_bare_number(const ReckonerInput& i) {
  return i.form == Form::integer ||
         (i.form == Form::quantity && (i.kind == unit::Kind::number || i.kind == unit::Kind::fraction));
}

std::string key_with_unit(const ReckonerInput& i) {
  const std::string tail = as_key(first_unit(i.kind));
  return tail.empty() || takes_bare_number(i) ? i.name : i.name + "_" + tail;
}

/// The input a JSON key belongs to: the one of that name, else the longest whose name the key starts with.
const ReckonerInput* input_of_key(const Reckoner& r, std::string_view key) {
  if (const ReckonerInput* i = find_input(r, key)) return i;
  const ReckonerInput* longest = nullptr;
  for (const ReckonerInput& i : r.inputs)
    if (base::starts_with(key, i.name + "_") && (!longest || i.name.size() > longest->name.size())) longest = &i;
  return longest;
}

std::string typed_in_json(const json& value) {
  std::string s = value.dump(-1, ' ', false, json::error_handler_t::replace);
  if (s.size() > 60) s = s.substr(0, base::byte_of_code_point(s, 50)) + "...";
  return s;
}

/// A member of the object as name and text; a problem when it cannot be.
Outcome<std::pair<std::string, std::string>> member(const Reckoner& r, const std::string& key, const json& value) {
  if (const ReckonerInput* i = find_input(r, key)) {
    if (value.is_string()) return std::pair{i->name, value.get<std::string>()};
    if (value.is_number() && takes_bare_number(*i)) return std::pair{i->name, base::shortest(value.get<double>())};
    if (value.is_number() && i->form == Form::quantity)
      return bad(key + ": a bare number where a unit is needed", typed_in_json(value),
                 fmt::format("a text such as \"{}\": \"{}\", or a number under \"{}\"", key, unit::example(i->kind),
                             key_with_unit(*i)));
    return bad(key + ": wrong kind of JSON value", typed_in_json(value), may_stand(*i) + ", as a text");
  }
  const ReckonerInput* longest = input_of_key(r, key);
  if (!longest || longest->form != Form::quantity)
    return bad(fmt::format("{} has no input of that name", r.name), key, base::join(input_names(r), ", "),
               base::nearest(key, input_names(r)));
  const std::string tail = key.substr(longest->name.size() + 1);
  const std::string_view symbol = unit_named(longest->kind, tail);
  if (symbol.empty())
    return bad(fmt::format("the key names no unit of {}", unit::word(longest->kind)), key,
               fmt::format("\"{}\"", key_with_unit(*longest)));
  if (!value.is_number())
    return bad(key + ": a key that names its unit takes a number", typed_in_json(value),
               fmt::format("a number, or a text with its unit under \"{}\"", longest->name));
  return std::pair{longest->name, fmt::format("{} {}", base::shortest(value.get<double>()), symbol)};
}

// ---- descriptions ------------------------------------------------------------------------------------------------

std::string_view form_word(Form form) {
  switch (form) {
    case Form::quantity:
      return "quantity";
    case Form::integer:
      return "integer";
    case Form::choice:
      return "choice";
    case Form::limits:
      return "limits";
    case Form::text:
      return "text";
  }
  return "text";
}

/// A number in a unit, as JSON: null when it is none.
json number_or_null(double si, std::string_view unit_symbol, unit::Kind kind) {
  const double x = unit_symbol.empty() ? si : unit::in_unit(si, unit_symbol, kind);
  return std::isfinite(x) ? json(x) : json(nullptr);
}

/// The unit an input is described in: the kind's first, but for a frequency ("12 1/h", "3 1/min", "120 Hz") the one the
/// worked example uses.
std::string unit_of_input(const Reckoner& r, const ReckonerInput& i) {
  if (i.form == Form::integer) return {};
  if (i.kind == unit::Kind::frequency)
    for (const WorkedExample& e : r.examples)
      for (const auto& [name, text] : e.given)
        if (name == i.name)
          if (const auto q = unit::parse(text, i.kind)) return q->unit;
  return std::string(first_unit(i.kind));
}

json describe_input(const Reckoner& r, const ReckonerInput& i) {
  const bool number = i.form == Form::quantity || i.form == Form::integer || i.form == Form::limits;
  json j = {{"name", i.name}, {"form", form_word(i.form)}, {"help", i.help}};
  j["required"] = i.fallback.empty() && !i.optional;
  if (number) {
    const std::string u = unit_of_input(r, i);
    j["kind"] = unit::word(i.kind);
    j["unit"] = u;
    j["example"] = i.form == Form::integer ? plain(i.low) : std::string(unit::example(i.kind));
    if (i.form == Form::quantity) j["number_key"] = key_with_unit(i);
    if (has_range(i)) {
      j["least"] = number_or_null(i.low, u, i.kind);
      j["most"] = number_or_null(i.high, u, i.kind);
      j["range"] = i.form == Form::integer ? fmt::format("{} to {}", plain(i.low), plain(i.high)) : range_text(i, u);
    }
  }
  if (i.form == Form::choice) j["choices"] = i.choices;
  if (!i.fallback.empty()) {
    j["default"] = i.fallback;
    j["default_source"] = i.fallback_source;
  }
  return j;
}

json pairs_as_object(const std::vector<std::pair<std::string, std::string>>& pairs) {
  json j = json::object();
  for (const auto& [key, value] : pairs) j[key] = value;
  return j;
}
}  // namespace

Outcome<ReckonerValues> read_values(const Reckoner& r, const std::vector<std::pair<std::string, std::string>>& given) {
  ReckonerValues values;
  Problems problems;
  std::set<std::string> seen;
  for (const auto& [key, text] : given) {
    const ReckonerInput* i = find_input(r, key);
    if (!i) {
      problems.push_back(bad(fmt::format("{} has no input of that name", r.name), key, base::join(input_names(r), ", "),
                             base::nearest(key, input_names(r))));
    } else if (!seen.insert(key).second) {
      problems.push_back(bad(key + ": given twice", text, "one value"));
    } else {
      read_one(*i, text, values, problems);
    }
  }
  for (const ReckonerInput& i : r.inputs) {
    if (seen.count(i.name) > 0) continue;
    if (!i.fallback.empty()) read_fallback(r, i, values, problems);
    else if (!i.optional)
      problems.push_back(bad(fmt::format("{} is missing: {}", i.name, i.help), {}, may_stand(i, worked_value(r, i))));
  }
  if (!problems.empty()) return problems;
  return values;
}

Outcome<ReckonerValues> read_values(const Reckoner& r, const json& object) {
  if (!object.is_object())
    return bad("not an object of inputs", typed_in_json(object), "{\"name\": \"value with unit\"}");
  std::vector<std::pair<std::string, std::string>> given;
  Problems problems;
  std::set<std::string> tried;
  for (const auto& [key, value] : object.items()) {
    auto m = member(r, key, value);
    if (m) {
      given.push_back(*m);
      continue;
    }
    for (const Problem& p : m.problems()) problems.push_back(p);
    if (const ReckonerInput* i = input_of_key(r, key)) tried.insert(i->name);
  }
  auto values = read_values(r, given);
  if (!values)
    for (const Problem& p : values.problems()) {
      // An input whose member could not be read is not missing as well.
      bool told = false;
      for (const std::string& name : tried) told = told || base::starts_with(p.what, name + " is missing");
      if (!told) problems.push_back(p);
    }
  if (!problems.empty()) return problems;
  return values;
}

Outcome<ReckonerAnswer> run(const Reckoner& r, const ReckonerValues& values) {
  if (!r.answer) return ours(r.name + " has no function");
  try {
    auto answer = r.answer(values);
    if (!answer) return answer;
    Problems problems;
    const auto described = [&](const std::string& name) {
      for (const ReckonerOutput& o : r.outputs)
        if (o.name == name) return true;
      return false;
    };
    for (const auto& [name, x] : answer->number)
      if (!described(name))
        problems.push_back(ours(fmt::format("{} gave {}, which it does not describe", r.name, name)));
    for (const auto& [name, x] : answer->text)
      if (!described(name))
        problems.push_back(ours(fmt::format("{} gave {}, which it does not describe", r.name, name)));
    for (const ReckonerOutput& o : r.outputs) {
      if (!answer->beyond.empty() || answer->text.count(o.name) > 0) continue;
      const auto x = answer->number.find(o.name);
      if (x == answer->number.end()) problems.push_back(ours(fmt::format("{} gave no {}", r.name, o.name)));
      else if (!std::isfinite(x->second))
        problems.push_back(ours(fmt::format("{}: {} is not a number", r.name, o.name)));
    }
    if (answer->sentence.empty()) problems.push_back(ours(r.name + " gave no sentence"));
    if (!problems.empty()) return problems;
    return answer;
  } catch (const std::exception& e) {
    return ours(fmt::format("{} failed: {}", r.name, e.what()));
  }
}

json describe(const Reckoner& r) {
  json j = {{"name", r.name},          {"science", r.science},     {"question", r.question},
            {"formula", r.formula},    {"source", r.source},       {"range", r.range},
            {"inputs", json::array()}, {"outputs", json::array()}, {"examples", json::array()}};
  for (const ReckonerInput& i : r.inputs) j["inputs"].push_back(describe_input(r, i));
  for (const ReckonerOutput& o : r.outputs)
    j["outputs"].push_back(
        {{"name", o.name}, {"kind", unit::word(o.kind)}, {"unit", first_unit(o.kind)}, {"help", o.help}});
  for (const WorkedExample& e : r.examples)
    j["examples"].push_back({{"given", pairs_as_object(e.given)},
                             {"expected", pairs_as_object(e.expected)},
                             {"relative_tolerance", e.relative_tolerance},
                             {"source", e.source}});
  return j;
}

json to_json(const Reckoner& r, const ReckonerAnswer& answer, const unit::Style& style) {
  json j = {{"reckoner", r.name},          {"state", answer.beyond.empty() ? "answered" : "beyond"},
            {"sentence", answer.sentence}, {"outputs", json::object()},
            {"formula", r.formula},        {"source", r.source},
            {"notes", answer.notes},       {"cautions", answer.cautions}};
  if (!answer.beyond.empty()) j["beyond"] = answer.beyond;
  for (const ReckonerOutput& o : r.outputs) {
    json& out = j["outputs"][o.name];
    if (const auto text = answer.text.find(o.name); text != answer.text.end()) {
      out = {{"text", text->second}};
      continue;
    }
    const auto x = answer.number.find(o.name);
    if (x == answer.number.end() || !std::isfinite(x->second)) {
      out = {{"value", nullptr}, {"text", "not computed"}};
      continue;
    }
    unit::Style s = style;
    s.gauge = o.gauge;
    const std::string_view u = first_unit(o.kind);
    out = {{"value", number_or_null(x->second, u, o.kind)},
           {"unit", u},
           {"si", x->second},
           {"text", unit::print(x->second, o.kind, s)}};
  }
  return j;
}

}  // namespace fettle::finding
