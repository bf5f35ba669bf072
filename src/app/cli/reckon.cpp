#include "app/cli/reckon.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/cli/all_reckoners.h"
#include "base/text.h"

namespace fettle::cli {

namespace {
using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using nlohmann::json;
using Given = std::vector<std::pair<std::string, std::string>>;

constexpr std::size_t kWidth = 100;
enum Exit { answered = 0, bad_input = 2, our_fault = 3, beyond = 4 };

/// Bold for what is asked for, only where a person reads it in colour.
struct Ink {
  bool on = false;
  std::string bold(const std::string& s) const { return on ? "\033[1m" + s + "\033[0m" : s; }
  std::string warm(const std::string& s) const { return on ? "\033[33m" + s + "\033[0m" : s; }
};

Ink ink_for(const std::ostream& out) {
  const char* no_colour = std::getenv("NO_COLOR");
  return {&out == &std::cout && ::isatty(STDOUT_FILENO) == 1 && (no_colour == nullptr || *no_colour == '\0')};
}

/// Words wrapped to the width, every line after the first indented to `indent`; `at` is where the first line starts.
std::string wrapped(const std::string& text, std::size_t indent, std::size_t at) {
  std::string out;
  std::size_t column = at;
  bool first = true;
  for (const std::string& paragraph : base::split(text, '\n')) {
    if (!first) {
      out += "\n" + std::string(indent, ' ');
      column = indent;
    }
    bool start = true;
    for (const std::string& word : base::split(paragraph, ' ')) {
      if (word.empty()) continue;
      const std::size_t n = base::code_points(word);
      if (!start && column + 1 + n > kWidth) {
        out += "\n" + std::string(indent, ' ');
        column = indent;
        start = true;
      }
      if (!start) {
        out += ' ';
        ++column;
      }
      out += word;
      column += n;
      start = false;
    }
    first = false;
  }
  return out;
}

std::string padded(const std::string& s, std::size_t width) {
  const std::size_t n = base::code_points(s);
  return n < width ? s + std::string(width - n, ' ') : s;
}

/// Rows of short cells and one last long one, in columns. A cell too wide for its column goes on a line of its own.
void print_rows(std::ostream& out, const std::vector<std::vector<std::string>>& rows, std::size_t widest_cell) {
  if (rows.empty()) return;
  std::vector<std::size_t> widths(rows.front().size(), 0);
  for (const auto& row : rows)
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
      const std::size_t n = base::code_points(row[i]);
      if (n <= widest_cell) widths[i] = std::max(widths[i], n);
    }
  for (const auto& row : rows) {
    std::string line = "  ";
    std::size_t column = 2;
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
      line += padded(row[i], widths[i]) + "  ";
      column += widths[i] + 2;
      if (base::code_points(row[i]) > widths[i]) line += "\n" + std::string(column, ' ');
    }
    line += wrapped(row.back(), column, column);
    while (!line.empty() && line.back() == ' ') line.pop_back();
    out << line << "\n";
  }
}

void print_labelled(std::ostream& out, const std::string& label, const std::string& text) {
  if (text.empty()) return;
  out << "  " << padded(label, 9) << wrapped(text, 11, 11) << "\n";
}

// ---- listing and describing --------------------------------------------------------------------------------------

std::vector<std::string> names_of(const std::vector<Reckoner>& all) {
  std::vector<std::string> names;
  for (const Reckoner& r : all) names.push_back(r.name);
  return names;
}

void list_all(const std::vector<Reckoner>& all, std::ostream& out) {
  const Ink ink = ink_for(out);
  std::size_t widest = 0;
  for (const Reckoner& r : all) widest = std::max(widest, r.name.size());
  std::string science;
  for (const Reckoner& r : all) {
    if (r.science != science)
      out << (science.empty() ? "" : "\n") << ink.bold(r.science == "ref" ? "tables" : r.science) << "\n";
    science = r.science;
    out << "  " << padded(r.name, widest + 2) << wrapped(r.question, widest + 4, widest + 4) << "\n";
  }
  out << "\nfettle reckon NAME             its inputs and a worked example\n"
         "fettle reckon NAME key=value   an answer, with formula and source\n"
         "fettle reckon NAME --json      the same for programs: inputs from standard input\n"
         "Asked in inches it answers in inches; --inch and --metric choose.\n";
}

std::string range_of(const json& input) { return input.value("range", std::string()); }

/// "may be left out", "unless said: 0.15 (handbook)", or nothing for what must be given.
std::string need_of(const ReckonerInput& i) {
  if (!i.fallback.empty())
    return "unless said " + i.fallback + (i.fallback_source.empty() ? "" : " (" + i.fallback_source + ")");
  return i.optional ? "may be left out" : "";
}

/// `key=value`, quoted for a shell where blanks or signs ask for it.
std::string as_argument(const std::string& key, const std::string& value) {
  const bool safe = std::all_of(value.begin(), value.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '.' || c == '-' ||
           c == '_' || c == ',' || c == '%';
  });
  if (safe && !value.empty()) return key + "=" + value;
  std::string quoted;
  for (char c : value) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return key + "='" + quoted + "'";
}

std::string command_line(const Reckoner& r, const Given& given) {
  std::string line = "fettle reckon " + r.name;
  for (const auto& [key, value] : given) line += " " + as_argument(key, value);
  return line;
}

void show(const Reckoner& r, std::ostream& out) {
  const Ink ink = ink_for(out);
  out << ink.bold(r.name) << "  " << wrapped(r.question, r.name.size() + 2, r.name.size() + 2) << "\n\ninputs\n";
  const json described = finding::describe(r);
  std::vector<std::vector<std::string>> rows;
  for (std::size_t n = 0; n < r.inputs.size(); ++n) {
    const ReckonerInput& i = r.inputs[n];
    std::string what =
        i.form == ReckonerInput::Form::choice ? base::join(i.choices, " | ") : range_of(described["inputs"][n]);
    const std::string need = need_of(i);
    std::string help = need.empty() ? i.help : i.help + "; " + need;
    if (what.size() > 60) {  // a long list of words wraps in the last column only
      help += ": " + base::join(i.choices, ", ");
      what = "one of the words";
    }
    rows.push_back({i.name, what, help});
  }
  print_rows(out, rows, 34);
  out << "\ngives\n";
  rows.clear();
  for (const finding::ReckonerOutput& o : r.outputs) rows.push_back({o.name, o.help});
  print_rows(out, rows, 34);
  out << "\n";
  print_labelled(out, "formula", r.formula);
  print_labelled(out, "holds", r.range);
  print_labelled(out, "source", r.source);
  if (r.examples.empty()) return;
  const finding::WorkedExample& e = r.examples.front();
  out << "\nworked example (" << wrapped(e.source + ")", 2, 16) << "\n  " << wrapped(command_line(r, e.given), 6, 2)
      << "\n";
  for (const auto& [name, value] : e.expected) out << "  " << name << " = " << value << "\n";
}

// ---- answering ---------------------------------------------------------------------------------------------------

int code_of(const Problems& problems) {
  const bool typed =
      std::all_of(problems.begin(), problems.end(), [](const Problem& p) { return p.fault == Fault::bad_input; });
  return typed ? bad_input : our_fault;
}

int tell(const Problems& problems, std::ostream& err) {
  for (const Problem& p : problems) err << "fettle: " << say(p) << "\n";
  return code_of(problems);
}

/// An input as it entered the sum: as typed, or the default with where it comes from.
struct Echo {
  std::string name, value;
  bool assumed = false;
  std::string source;
};
std::vector<Echo> echo(const Reckoner& r, const Given& given) {
  std::vector<Echo> list;
  for (const ReckonerInput& i : r.inputs) {
    const auto typed = std::find_if(given.begin(), given.end(), [&](const auto& g) { return g.first == i.name; });
    if (typed != given.end()) list.push_back({i.name, std::string(base::trim(typed->second)), false, ""});
    else if (!i.fallback.empty()) list.push_back({i.name, i.fallback, true, i.fallback_source});
  }
  return list;
}

/// Inch when every length and weight was typed in units of that kind: who asks in inches wants the answer in inches.
bool asked_in_inches(const Reckoner& r, const Given& given) {
  bool any = false;
  for (const auto& [key, text] : given) {
    const auto i = std::find_if(r.inputs.begin(), r.inputs.end(), [&](const auto& x) { return x.name == key; });
    if (i == r.inputs.end() || (i->kind != unit::Kind::length && i->kind != unit::Kind::mass)) continue;
    std::string symbol;
    if (i->form == ReckonerInput::Form::quantity) {
      if (const auto q = unit::parse(text, i->kind)) symbol = q->unit;
    } else if (i->form == ReckonerInput::Form::limits) {
      if (const auto l = unit::parse_limits(text, i->kind)) symbol = l->unit;
    } else {
      continue;
    }
    for (const std::string_view u : {"in", "thou", "µin", "ft", "lb", "oz"})
      if (symbol == u) any = true, symbol.clear();
    if (!symbol.empty()) return false;
  }
  return any;
}

/// Words that a calculator says in mm and kg, for a reader in inches: "Order it 87.150 mm" becomes "Order it 3.4311
/// in".
std::string in_words_of(const std::string& words, const unit::Style& style) {
  if (style.system != unit::Style::System::inch) return words;
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  const auto part = [&](char c) { return digit(c) || c == '.'; };
  std::string out;
  for (std::size_t i = 0; i < words.size();) {
    const char before = i == 0 ? ' ' : words[i - 1];
    std::size_t end = i;
    if (digit(words[i]) && (before == ' ' || before == '-' || before == '+' || before == '('))
      while (end < words.size() && part(words[end])) ++end;
    bool done = false;
    for (const auto& [symbol, kind] : {std::pair<std::string, unit::Kind>{" mm", unit::Kind::length},
                                       {" µm", unit::Kind::length},
                                       {" kg", unit::Kind::mass}}) {
      const std::size_t after = end + symbol.size();
      if (end == i || done || words.compare(end, symbol.size(), symbol) != 0) continue;
      if (after < words.size() && std::string_view(" .,;:)").find(words[after]) == std::string_view::npos) continue;
      const auto q = unit::parse(words.substr(i, after - i), kind);
      if (!q) continue;
      // Micrometres, and millimetres with four decimals, are gauge readings: tenths of a thou are too coarse for them.
      unit::Style fine = style;
      const std::size_t dot = words.find('.', i);
      fine.gauge = symbol != " mm" || (dot < end && end - dot > 4);
      // A weight said to four digits in kg is good for three in lb: 46 lb typed must not come back as 46.01 lb.
      out += kind == unit::Kind::mass ? fmt::format("{:.3g} lb", unit::in_unit(q->si, "lb", kind))
                                      : unit::print(q->si, kind, fine);
      i = after;
      done = true;
    }
    if (done) continue;
    if (end == i) ++end;
    out += words.substr(i, end - i);
    i = end;
  }
  return out;
}

void print_answer(const Reckoner& r, const ReckonerAnswer& a, const std::vector<Echo>& inputs, const unit::Style& style,
                  std::ostream& out) {
  const Ink ink = ink_for(out);
  const std::string sentence = in_words_of(a.sentence.empty() ? r.question : a.sentence, style);
  out << ink.bold(wrapped(sentence, 0, 0)) << "\n";
  if (!a.beyond.empty())
    out << ink.warm(wrapped("beyond the range where the formula holds: " + a.beyond, 0, 0)) << "\n";
  for (const std::string& c : a.cautions) out << ink.warm("caution  ") << wrapped(c, 9, 9) << "\n";
  out << "\n";
  std::vector<std::vector<std::string>> rows;
  const json answer = finding::to_json(r, a, style);
  for (const finding::ReckonerOutput& o : r.outputs)
    rows.push_back({o.name, answer["outputs"][o.name]["text"], o.help});
  print_rows(out, rows, 30);
  out << "\nfrom\n";
  rows.clear();
  for (const Echo& e : inputs)
    rows.push_back({e.name, e.value, !e.assumed ? "" : e.source.empty() ? "assumed" : "assumed: " + e.source});
  print_rows(out, rows, 40);
  out << "\n";
  print_labelled(out, "formula", r.formula);
  print_labelled(out, "holds", r.range);
  print_labelled(out, "source", r.source);
  for (const std::string& n : a.notes) print_labelled(out, "note", in_words_of(n, style));
}

json problems_as_json(const Reckoner& r, const Problems& problems) {
  json list = json::array();
  for (const Problem& p : problems)
    list.push_back(
        {{"what", p.what}, {"found", p.found}, {"expected", p.expected}, {"nearest", p.nearest}, {"said", say(p)}});
  return {{"reckoner", r.name}, {"state", "refused"}, {"problems", list}};
}

json answer_as_json(const Reckoner& r, const ReckonerAnswer& a, const std::vector<Echo>& inputs,
                    const unit::Style& style) {
  json j = finding::to_json(r, a, style);
  j["inputs"] = json::object();
  for (const Echo& e : inputs) {
    j["inputs"][e.name] = {{"value", e.value}, {"assumed", e.assumed}};
    if (!e.source.empty()) j["inputs"][e.name]["source"] = e.source;
  }
  return j;
}

/// The members of an object as they were given, under the names of the inputs they belong to.
Given as_given(const Reckoner& r, const json& object) {
  Given given;
  for (const auto& [key, value] : object.items()) {
    std::string name;
    for (const ReckonerInput& i : r.inputs)
      if (key == i.name || (base::starts_with(key, i.name + "_") && name != key && i.name.size() > name.size()))
        name = i.name;
    if (name.empty()) name = key;
    std::string text = value.is_string() ? value.get<std::string>() : value.dump();
    if (name != key) text += " " + key.substr(name.size() + 1);
    given.emplace_back(name, text);
  }
  return given;
}

int answer_object(const Reckoner& r, const json& object, const unit::Style& style, json& out) {
  auto values = finding::read_values(r, object);
  auto answer = values ? finding::run(r, *values) : Outcome<ReckonerAnswer>(values.problems());
  if (!answer) {
    out = problems_as_json(r, answer.problems());
    return code_of(answer.problems());
  }
  out = answer_as_json(r, *answer, echo(r, as_given(r, object)), style);
  return answer->beyond.empty() ? answered : beyond;
}

std::string dump(const json& j) { return j.dump(2, ' ', false, json::error_handler_t::replace); }

/// The worse of two codes: a fault of ours, then bad input, then beyond.
int worse(int a, int b) {
  const auto rank = [](int code) { return code == our_fault ? 3 : code == bad_input ? 2 : code == beyond ? 1 : 0; };
  return rank(a) >= rank(b) ? a : b;
}

int answer_stream(const Reckoner& r, const unit::Style& style, std::istream& in, std::ostream& out, std::ostream& err) {
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  json given;
  try {
    given = json::parse(text);
  } catch (const json::parse_error& e) {
    const std::size_t at = std::min(text.size(), e.byte > 0 ? e.byte - 1 : 0);
    const auto line = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
    const std::size_t start = at == 0 ? 0 : text.rfind('\n', at - 1);
    const std::size_t from = start == std::string::npos || at == 0 ? 0 : start + 1;
    Problem p = bad("this is no JSON", {},
                    fmt::format("an object such as {{\"{}\": \"...\"}}, or an array of them",
                                r.inputs.empty() ? "name" : r.inputs.front().name));
    p.where = {"standard input", static_cast<int>(line),
               static_cast<int>(base::code_points(std::string_view(text).substr(from, at - from))) + 1};
    return tell({p}, err);
  }
  if (!given.is_array()) {
    json one;
    const int code = answer_object(r, given, style, one);
    out << dump(one) << "\n";
    return code;
  }
  int code = answered;
  json batch = json::array();
  for (const json& object : given) {
    json one;
    code = worse(code, answer_object(r, object, style, one));
    batch.push_back(std::move(one));
  }
  out << dump(batch) << "\n";
  return code;
}

int answer_texts(const Reckoner& r, const Given& given, bool as_json, const unit::Style& style, std::ostream& out,
                 std::ostream& err) {
  auto values = finding::read_values(r, given);
  auto answer = values ? finding::run(r, *values) : Outcome<ReckonerAnswer>(values.problems());
  if (!answer) {
    if (as_json) out << dump(problems_as_json(r, answer.problems())) << "\n";
    const int code = tell(answer.problems(), err);
    if (code == bad_input) err << "fettle: `fettle reckon " << r.name << "` shows its inputs and an example\n";
    return code;
  }
  if (as_json) out << dump(answer_as_json(r, *answer, echo(r, given), style)) << "\n";
  else print_answer(r, *answer, echo(r, given), style, out);
  return answer->beyond.empty() ? answered : beyond;
}

struct Arguments {
  bool json = false, help = false, system_said = false;
  unit::Style style;
  std::string name;
  Given given;
};

Outcome<Arguments> read_arguments(const std::vector<std::string>& args) {
  Arguments a;
  Problems problems;
  const std::vector<std::string> flags = {"--json", "--inch", "--metric", "--help"};
  for (const std::string& arg : args) {
    if (arg == "--json") a.json = true;
    else if (arg == "--inch" || arg == "--metric") {
      a.system_said = true;
      a.style.system = arg == "--inch" ? unit::Style::System::inch : unit::Style::System::metric;
    } else if (arg == "--help" || arg == "-h") a.help = true;
    else if (base::starts_with(arg, "-"))
      problems.push_back(bad("reckon has no such option", arg, base::join(flags, ", "), base::nearest(arg, flags)));
    else if (const std::size_t at = arg.find('='); at != std::string::npos && !a.name.empty())
      a.given.emplace_back(std::string(base::trim(arg.substr(0, at))), arg.substr(at + 1));
    else if (a.name.empty()) a.name = arg;
    else problems.push_back(bad("neither key=value nor an option", arg, "key=value, quoted where blanks stand in it"));
  }
  if (!problems.empty()) return problems;
  return a;
}
}  // namespace

int reckon_with(const std::vector<Reckoner>& all, const std::vector<std::string>& args, std::istream& in,
                std::ostream& out, std::ostream& err) {
  auto a = read_arguments(args);
  if (!a) return tell(a.problems(), err);
  if (a->name.empty()) {
    if (!a->json) {
      list_all(all, out);
      return answered;
    }
    json list = json::array();
    for (const Reckoner& r : all) list.push_back(finding::describe(r));
    out << dump(list) << "\n";
    return answered;
  }
  const auto r = std::find_if(all.begin(), all.end(), [&](const Reckoner& x) { return x.name == a->name; });
  if (r == all.end()) {
    const auto names = names_of(all);
    return tell(
        {bad("no such reckoner", a->name, "one of those that `fettle reckon` lists", base::nearest(a->name, names))},
        err);
  }
  if (a->help) {
    show(*r, out);
    return answered;
  }
  // For programs the units stay the same whatever was typed.
  if (!a->json && !a->system_said && asked_in_inches(*r, a->given)) a->style.system = unit::Style::System::inch;
  if (!a->given.empty()) return answer_texts(*r, a->given, a->json, a->style, out, err);
  if (a->json) return answer_stream(*r, a->style, in, out, err);
  if (r->inputs.empty()) return answer_texts(*r, {}, false, a->style, out, err);
  show(*r, out);
  return answered;
}

int reckon_command(const std::vector<std::string>& args, std::istream& in, std::ostream& out, std::ostream& err) {
  return reckon_with(all_reckoners(), args, in, out, err);
}

}  // namespace fettle::cli
