// The bench: reckoners as the command line has them, a plot over one input, and the box that finds the right one.
#include <algorithm>
#include <cmath>
#include <set>
#include <sstream>

#include "app/cli/all_reckoners.h"
#include "app/cli/reckon.h"
#include "app/serve/routes.h"
#include "base/text.h"
#include "finding/reckoner.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

const finding::Reckoner* find(const std::string& name) {
  for (const finding::Reckoner& r : cli::all_reckoners())
    if (r.name == name) return &r;
  return nullptr;
}
Reply no_such(const std::string& name) {
  std::vector<std::string> names;
  for (const finding::Reckoner& r : cli::all_reckoners()) names.push_back(r.name);
  return refused({bad("no such reckoner", name, "one of /api/reckoners", base::nearest(name, names))}, "", 404);
}

/// "near" beside "nearest": problems read the same on every route.
void same_names(json& j) {
  if (!j.contains("problems")) return;
  for (json& p : j["problems"]) {
    p["near"] = p.value("nearest", std::string());
    p["message"] = p.value("said", std::string());
    p["where"] = "";
  }
}

std::set<std::string> words_of(const std::string& text) {
  std::set<std::string> out;
  std::string word;
  for (const char c : base::lower(text) + " ") {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (static_cast<unsigned char>(c) & 0x80U) != 0) {
      word += c;
      continue;
    }
    if (word.size() > 4 && word.back() == 's') word.pop_back();
    if (word.size() > 2) out.insert(word);
    word.clear();
  }
  for (const char* little :
       {"the", "and", "for", "how", "what", "doe", "does", "with", "will", "can", "are", "that", "this", "from"})
    out.erase(little);
  return out;
}

/// How well the asked words are met by a text: whole words count most, a common beginning of four letters less.
double meets(const std::set<std::string>& asked, const std::string& text) {
  const std::set<std::string> words = words_of(text);
  double sum = 0;
  for (const std::string& a : asked) {
    if (words.count(a) > 0) {
      sum += 1;
      continue;
    }
    for (const std::string& w : words)
      if (a.size() >= 4 && w.size() >= 4 && a.compare(0, 4, w, 0, 4) == 0) {
        sum += 0.5;
        break;
      }
  }
  return sum;
}

}  // namespace

Reply reckoners(const Call&) {
  static const std::string all = [] {
    json list = json::array();
    for (const finding::Reckoner& r : cli::all_reckoners()) list.push_back(finding::describe(r));
    return dump({{"reckoners", list}});
  }();
  return {200, "application/json; charset=utf-8", all};
}

Reply reckon(const Call& c) {
  const std::string name = text_in(c.body, "name");
  if (find(name) == nullptr) return no_such(name);
  const json inputs = c.body.value("inputs", json::object());
  if (!inputs.is_object() || inputs.size() > 60) return refused("inputs are no object of at most 60 texts", 400);
  std::istringstream in(dump(inputs));
  std::ostringstream out, err;
  const int code =
      cli::reckon_command({name, "--json", text_in(c.body, "units") == "inch" ? "--inch" : "--metric"}, in, out, err);
  json j = json::parse(out.str(), nullptr, false);
  if (j.is_discarded()) return refused("the inputs cannot be read: " + err.str(), 400);
  same_names(j);
  return json_reply(j, code == 2 ? 400 : code == 3 ? 500 : 200);
}

Reply plot(const Call& c) {
  const finding::Reckoner* r = find(text_in(c.body, "name"));
  if (r == nullptr) return no_such(text_in(c.body, "name"));
  const std::string over = text_in(c.body, "over");
  const auto input = std::find_if(r->inputs.begin(), r->inputs.end(), [&](const auto& i) { return i.name == over; });
  using Form = finding::ReckonerInput::Form;
  if (input == r->inputs.end() || (input->form != Form::quantity && input->form != Form::integer))
    return refused({bad("no number of this reckoner", over, "one of its inputs that is a number")}, "");
  json inputs = c.body.value("inputs", json::object());
  if (!inputs.is_object() || inputs.size() > 60) return refused("inputs are no object of at most 60 texts", 400);
  const int points =
      c.body.contains("points") && c.body["points"].is_number_integer() ? c.body["points"].get<int>() : 40;
  if (points < 2 || points > 200) return refused("points: from 2 to 200", 400);
  double end[2] = {0, 0};
  for (int k = 0; k < 2; ++k) {
    inputs[over] = text_in(c.body, k == 0 ? "from" : "to");
    const auto v = finding::read_values(*r, inputs);
    if (!v.ok()) return refused(v.problems(), "");
    end[k] = v->number.at(over);
  }
  auto values = finding::read_values(*r, inputs);
  json x = json::array(), y = json::object(), said = json::object(), beyond = json::array(), texts = json::array();
  unit::Style style;
  if (text_in(c.body, "units") == "inch") style.system = unit::Style::System::inch;
  for (const finding::ReckonerOutput& o : r->outputs) y[o.name] = said[o.name] = json::array();
  for (int i = 0; i < points; ++i) {
    const double at = end[0] + (end[1] - end[0]) * i / (points - 1);
    values->number[over] = input->form == Form::integer ? std::round(at) : at;
    const auto a = finding::run(*r, *values);
    x.push_back(values->number[over]);
    texts.push_back(unit::print(values->number[over], input->kind, style));
    beyond.push_back(!a.ok() || !a->beyond.empty());
    for (const finding::ReckonerOutput& o : r->outputs) {
      const bool there = a.ok() && a->number.count(o.name) > 0;
      y[o.name].push_back(there ? number(a->number.at(o.name)) : json(nullptr));
      unit::Style fine = style;
      fine.gauge = o.gauge;
      said[o.name].push_back(there ? unit::print(a->number.at(o.name), o.kind, fine) : std::string());
    }
  }
  const std::string first = texts[0];  // "12.5 N·m": what follows the number
  const auto space = first.find(' ');
  return json_reply({{"over", over},
                     {"kind", unit::word(input->kind)},
                     {"unit", space == std::string::npos ? std::string() : first.substr(space + 1)},
                     {"x", x},
                     {"y", y},
                     {"said", said},
                     {"beyond", beyond},
                     {"texts", texts}});
}

Reply ask(const Call& c) {
  const std::set<std::string> asked = words_of(c.asked["words"].substr(0, 300));
  struct Hit {
    double score;
    json said;
  };
  std::vector<Hit> hits;
  for (const finding::Reckoner& r : cli::all_reckoners()) {
    std::string inputs, outputs;
    for (const auto& i : r.inputs) inputs += " " + i.name + " " + i.help;
    for (const auto& o : r.outputs) outputs += " " + o.name + " " + o.help;
    const double score =
        3 * meets(asked, r.name + " " + r.question) + meets(asked, outputs) + 0.5 * meets(asked, inputs);
    if (score > 1)
      hits.push_back({score, {{"kind", "reckoner"}, {"name", r.name}, {"title", r.question}, {"why", r.formula}}});
  }
  if (!c.asked["path"].empty()) {
    const auto o = c.desk.open(c.asked["path"]);
    const auto s =
        o.ok() ? c.desk.quick(**o, Desk::now(**o).first) : Outcome<std::shared_ptr<const Studied>>(o.problems());
    if (!s.ok()) return refused(s.problems(), c.root());
    for (const finding::Finding& f : (*s)->study.findings) {
      const double score = 3 * meets(asked, f.title + " " + f.operation + " " + f.tool + " " + f.feature) +
                           meets(asked, f.sentence + " " + f.question);
      if (score > 1)
        hits.push_back({score,
                        {{"kind", "finding"},
                         {"id", f.id},
                         {"title", f.title},
                         {"why", f.sentence},
                         {"state", finding::word(f.state)}}});
    }
  }
  std::stable_sort(hits.begin(), hits.end(), [](const Hit& a, const Hit& b) { return a.score > b.score; });
  json out = json::array();
  for (std::size_t i = 0; i < std::min<std::size_t>(hits.size(), 12); ++i) out.push_back(hits[i].said);
  return json_reply({{"hits", out}});
}

}  // namespace fettle::serve
