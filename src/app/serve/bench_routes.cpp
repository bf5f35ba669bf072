// The bench: reckoners as the command line has them, and a plot over one input.
#include <algorithm>
#include <cmath>
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

}  // namespace fettle::serve
