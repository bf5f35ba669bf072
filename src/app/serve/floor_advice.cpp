// What the study has to say at the machine: why a value changed, what goes to the hone, which offset moves which way.
#include <algorithm>
#include <cmath>

#include "app/cli/study_text.h"
#include "app/serve/floor.h"
#include "base/text.h"
#include "plan/read.h"

namespace fettle::serve {

using finding::Finding;
using finding::State;
using nlohmann::json;

namespace {

constexpr std::size_t most_reasons = 3;

/// Is "pallet.screw.torque", as findings say it, the key "pallet.screw.1.torque" of a plan?
bool speaks_of(const std::string& said, const std::vector<std::string>& key) {
  const auto words = base::split(said, '.');
  if (words.empty() || words.front() != key.front() || words.back() != key.back()) return false;
  std::size_t k = 0;
  for (const std::string& w : words) {
    while (k < key.size() && key[k] != w) ++k;
    if (k++ == key.size()) return false;
  }
  return true;
}

/// Does this finding hang on that value of the plan, as far as its levers and assumptions say?
bool hangs_on(const Finding& f, const std::vector<std::string>& key) {
  for (std::size_t i = 0; i + 1 < key.size(); ++i) {
    if (key[i] == "operation" && f.operation != key[i + 1]) return false;
    if (key[i] == "cut" && !f.tool.empty() && f.tool != base::split(key[i + 1], '#').front()) return false;
  }
  const auto same = [&](const auto& x) { return speaks_of(x.key, key); };
  return std::any_of(f.levers.begin(), f.levers.end(), same) ||
         std::any_of(f.assumptions.begin(), f.assumptions.end(), same);
}

/// What a person at the machine wants to hear first: what was mended, what is worse by now.
int weight(const study::Moved& m) {
  if (m.before == State::outside && m.after != State::outside) return 0;
  if (m.before != State::outside && m.after == State::outside) return 1;
  return m.before != m.after ? 2 : 3;
}
/// Where no state changed: what is nearest to its limit.
double nearness(const study::Moved& m) {
  const double d = std::min(m.margin_before, m.margin_after);
  return std::isfinite(d) ? d : 1e9;
}

const Finding* with_id(const study::Study& s, const std::string& id) {
  for (const Finding& f : s.findings)
    if (f.id == id) return &f;
  return nullptr;
}

/// Findings as everywhere else, by their ids.
json said_of(const Studied& s, const std::vector<const Finding*>& which) {
  study::Study lean;
  for (const Finding* f : which) lean.findings.push_back(*f);
  return json::parse(cli::study_json(lean, s.plan))["findings"];
}

json reasons(const Studied& was, const Studied& now, const std::vector<study::Moved>& moved, const std::string& key,
             bool alone) {
  const auto words = base::split(key, '.');
  std::vector<study::Moved> mine;
  for (const study::Moved& m : moved) {
    const Finding *a = with_id(was.study, m.id), *b = with_id(now.study, m.id);
    if (m.came || m.went || a == nullptr || b == nullptr) continue;
    if (alone || hangs_on(*a, words) || hangs_on(*b, words)) mine.push_back(m);
  }
  std::stable_sort(mine.begin(), mine.end(), [](const auto& a, const auto& b) {
    return weight(a) != weight(b) ? weight(a) < weight(b) : nearness(a) < nearness(b);
  });
  if (mine.size() > most_reasons) mine.resize(most_reasons);
  json out = json::array();
  for (const study::Moved& m : mine) {
    const json a = said_of(was, {with_id(was.study, m.id)})[0], b = said_of(now, {with_id(now.study, m.id)})[0];
    out.push_back({{"id", m.id},
                   {"title", b["title"]},
                   {"operation", b["operation"]},
                   {"before", a["state"]},
                   {"after", b["state"]},
                   {"was", a["value_text"]},
                   {"is", b["value_text"]},
                   {"limit", b["limit"]["text"]},
                   {"better", !(m.margin_after < m.margin_before)}});
  }
  return out;
}

json why_of(const Call& c, Open& o, const Studied& now) {
  json out = json::object();
  const std::string before = text_before(c, o);
  if (before.empty()) return out;
  const auto was = c.desk.quick(o, before);
  if (!was.ok()) return out;  // a text that was no plan explains nothing
  bool readable = false;
  const auto keys = keys_between(c.desk.folder(), o.full, before, Desk::now(o).first, readable);
  const auto moved = study::moved((*was)->study, now.study);
  for (const std::string& key : keys) out[key] = reasons(**was, now, moved, key, keys.size() == 1);
  return out;
}

/// The parts that do not pass, out of the finding that computed them: "no. 17", "21.9981 mm: take 3.2 µm".
json parts_of(const Finding& f) {
  json out = json::array();
  for (const finding::Input& i : f.inputs) {
    if (i.name.rfind("no. ", 0) != 0) continue;
    const auto cut = i.text.find(": ");
    const std::string what = cut == std::string::npos ? std::string() : i.text.substr(cut + 2);
    out.push_back({{"part", i.name.substr(4)},
                   {"size", i.text.substr(0, cut)},
                   {"what", what},
                   {"hone", what.rfind("take ", 0) == 0}});
  }
  return out;
}

json advice_json(const Finding& f) {
  return {{"finding", f.id},
          {"operation", f.operation},
          {"feature", f.feature},
          {"title", f.title},
          {"state", finding::word(f.state)},
          {"sentence", f.state == State::open ? std::string() : f.sentence},
          {"missing", f.missing},
          {"source", f.source}};
}

/// One entry for each operation that hones: a list, or what it waits for.
json hone_of(const Studied& s) {
  json out = json::array();
  for (const plan::Operation& o : s.plan.operations) {
    if (o.kind.value != "hone") continue;
    bool any = false;
    std::vector<std::string> missing;
    for (const Finding& f : s.study.findings) {
      if (f.question == "hone_list" && f.operation == o.id.value) {
        any = true;
        json one = advice_json(f);
        one["list"] = parts_of(f);
        for (const finding::Input& i : f.inputs)
          if (i.name == "hone to") one["to"] = i.text;
        out.push_back(std::move(one));
      } else if (f.state == State::open && (f.question == "aim" || f.question == "gauge")) {
        missing.insert(missing.end(), f.missing.begin(), f.missing.end());
      }
    }
    if (any) continue;
    std::sort(missing.begin(), missing.end());
    missing.erase(std::unique(missing.begin(), missing.end()), missing.end());
    out.push_back({{"finding", ""},
                   {"operation", o.id.value},
                   {"feature", ""},
                   {"title", o.name.value},
                   {"state", "open"},
                   {"sentence", ""},
                   {"missing", missing},
                   {"source", ""},
                   {"list", json::array()}});
  }
  return out;
}

/// The tool whose offset moves that feature: the one of the cut that says where to aim.
std::string tool_of(const plan::Plan& p, const Finding& f) {
  const plan::Operation* o = plan::find_operation(p, f.operation);
  if (!f.tool.empty() || o == nullptr) return f.tool;
  for (const plan::Cut& cut : o->cuts)
    for (const std::string& x : cut.features.value)
      if (cut.aim.known() && plan::parse_reference(x).id == f.feature) return cut.tool.value;
  return "";
}

/// Tools whose last readings were held against their aim; `move` says the direction in words, empty: leave it alone.
json offsets_of(const Studied& s) {
  json out = json::array();
  for (const Finding& f : s.study.findings) {
    if (f.question != "on_aim") continue;
    json one = advice_json(f);
    one["tool"] = tool_of(s.plan, f);
    one["move"] = f.levers.empty() || f.state == State::open ? std::string() : f.levers.front().text;
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace

Reply floor_advice(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto s = c.desk.quick(**o, Desk::now(**o).first);
  if (!s.ok()) return refused(s.problems(), c.root());
  return json_reply(
      {{"hash", (*s)->hash}, {"why", why_of(c, **o, **s)}, {"hone", hone_of(**s)}, {"offsets", offsets_of(**s)}});
}

}  // namespace fettle::serve
