// Plans: list, text, schema, changes tried and accepted.
#include <algorithm>
#include <chrono>
#include <filesystem>
#include <optional>
#include <set>
#include <thread>

#include "app/cli/study_text.h"
#include "app/serve/routes.h"
#include "app/serve/study_job.h"
#include "base/text.h"
#include "plan/read.h"
#include "plan/schema.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

/// "[plan]" anywhere at a line's start, and no syntax problem that hides it.
bool looks_like_plan(const std::string& text) { return ("\n" + text).find("\n[plan]") != std::string::npos; }

std::string kind_of(const std::string& path, const std::string& text) {
  const std::string end = base::lower(std::filesystem::path(path).extension().string());
  if (end == ".step" || end == ".stp") return "model";
  if (end == ".csv") return "table";
  return ("\n" + text).find("\n[[machine]]") != std::string::npos ? "shop" : "pallet";
}

std::string value_after(const std::string& text, const std::string& key) {
  const std::size_t at = text.find("\n" + key + " = \"");
  if (at == std::string::npos) return {};
  const std::size_t from = at + key.size() + 5, to = text.find_first_of("\"\n", from);
  return text.substr(from, to == std::string::npos ? 0 : to - from);
}

json table_json(const plan::Table& t) {
  json keys = json::array();
  for (const plan::Key& k : t.keys) {
    json j = {{"name", k.name}, {"type", plan::word(k.type)}, {"help", k.help}, {"required", k.required}};
    if (k.type == plan::Type::table || k.type == plan::Type::tables) {
      j["table"] = table_json(*k.table);
    } else {
      j["kind"] = unit::word(k.kind);
      j["example"] = plan::example_of(k), j["expected"] = plan::expected_text(k), j["range"] = plan::range_text(k);
      j["choices"] = k.choices, j["refers"] = k.refers, j["fallback"] = k.fallback, j["source"] = k.source;
    }
    keys.push_back(std::move(j));
  }
  return {{"name", t.name}, {"help", t.help}, {"id_kind", t.id_kind}, {"keys", std::move(keys)}};
}

/// A person's value as TOML; none: it is none that a plan can hold.
std::optional<std::string> toml_of(const json& v) {
  if (v.is_string()) return plan::toml_quoted(v.get<std::string>());
  if (v.is_boolean()) return v.get<bool>() ? "true" : "false";
  if (v.is_number_integer()) return v.dump();
  if (v.is_number()) return base::shortest(v.get<double>());
  if (!v.is_array()) return {};
  std::string out;
  for (const json& x : v) {
    const auto one = x.is_array() || x.is_object() ? std::nullopt : toml_of(x);
    if (!one) return {};
    out += (out.empty() ? "" : ", ") + *one;
  }
  return "[" + out + "]";
}

/// The table of the schema in which the rows of this list stand; none where the key leads nowhere.
const plan::Table* rows_of(const std::string& key) {
  const plan::Table* table = &plan::plan_schema();
  for (const std::string& part : base::split(key, '.'))
    if (const plan::Key* k = plan::find_key(*table, part); k != nullptr && k->table != nullptr) table = k->table;
  return table;
}

/// The names of a new row as a person would write them: in the order of the schema, unknown ones behind.
std::vector<std::string> in_schema_order(const std::string& key, const json& row) {
  std::vector<std::string> out;
  for (const plan::Key& k : rows_of(key)->keys)
    if (row.contains(k.name)) out.push_back(k.name);
  for (const auto& [name, value] : row.items())
    if (std::find(out.begin(), out.end(), name) == out.end()) out.push_back(name);
  return out;
}

Outcome<std::vector<plan::Change>> changes_in(const json& body) {
  const auto list = body.find("changes");
  if (list == body.end() || !list->is_array() || list->empty() || list->size() > 200)
    return bad("no list of changes", "", "1 to 200 of {\"key\": ..., \"value\": ...}");
  std::vector<plan::Change> out;
  Problems problems;
  for (const json& c : *list) {
    const std::string key = c.is_object() ? text_in(c, "key") : std::string();
    if (key.empty()) {
      problems.push_back(bad("a change without key", c.dump().substr(0, 60), "{\"key\": \"plan.seed\", \"value\": 3}"));
      continue;
    }
    plan::Change change{plan::Change::What::set, key, "", {}};
    if (c.contains("add") && c["add"].is_object()) {
      change.what = plan::Change::What::add;
      for (const std::string& name : in_schema_order(key, c["add"])) {
        const json& value = c["add"][name];
        const auto toml = toml_of(value);
        if (!toml)
          problems.push_back(bad("no value of a plan", value.dump(), "a text, a number, true, false or a list"));
        else change.row.emplace_back(name, *toml);
      }
    } else if (c.value("remove", json(false)) == true || (c.contains("value") && c["value"].is_null())) {
      change.what = plan::Change::What::remove;
    } else {
      const auto toml = c.contains("value") ? toml_of(c["value"]) : std::nullopt;
      if (!toml) problems.push_back(bad("no value of a plan", key, "a text, a number, true, false or a list"));
      else change.value = *toml;
    }
    out.push_back(std::move(change));
  }
  if (!problems.empty()) return problems;
  return out;
}

json diff_lines(const std::string& a, const std::string& b) {
  const auto x = base::split(a, '\n'), y = base::split(b, '\n');
  std::size_t head = 0, tail = 0;
  while (head < x.size() && head < y.size() && x[head] == y[head]) ++head;
  while (tail < x.size() - head && tail < y.size() - head && x[x.size() - 1 - tail] == y[y.size() - 1 - tail]) ++tail;
  json out = json::array();
  const std::size_t ex = x.size() - tail, ey = y.size() - tail;
  if (ex - head == ey - head) {  // line by line, only those that differ
    for (std::size_t i = head; i < ex; ++i)
      if (x[i] != y[i]) out.push_back({{"line", i + 1}, {"old", x[i]}, {"new", y[i]}});
    return out;
  }
  for (std::size_t i = head; i < std::max(ex, ey) && out.size() < 400; ++i) {
    json row = {{"line", i + 1}, {"old", nullptr}, {"new", nullptr}};
    if (i < ex) row["old"] = x[i];
    if (i < ey) row["new"] = y[i];
    out.push_back(std::move(row));
  }
  return out;
}

json state_of(Open& o) {
  const std::lock_guard<std::mutex> hold(o.lock);
  return {{"hash", o.hash}, {"undo", o.undo.size()}, {"redo", o.redo.size()}, {"by", o.by}};
}

Reply conflict(Open& o) {
  json j = state_of(o);
  {
    const std::lock_guard<std::mutex> hold(o.lock);
    j["theirs"] = o.text;
  }
  j["problems"] = problems_json({bad("the plan is another by now: somebody changed it")}, "")["problems"];
  return json_reply(j, 409);
}

/// Somebody's text that could not be merged, kept beside the plan under the first free name.
Outcome<std::string> keep_aside(const Call& c, const Open& o, const std::string& text) {
  const std::filesystem::path p(o.path);
  for (int n = 1; n < 1000; ++n) {
    const std::string name =
        (p.parent_path() / (p.stem().string() + ".kept-" + std::to_string(n) + ".toml")).generic_string();
    const auto full = c.desk.folder().file(name, false);
    if (!full.ok()) return full.problems();
    if (std::filesystem::exists(*full)) continue;
    const auto done = base::write_file(*full, text);
    if (!done.ok()) return done.problems();
    return name;
  }
  return bad("too many texts are kept beside this plan", o.path, "some of them removed");
}

std::string who_of(const json& body) {
  const std::string who = text_in(body, "who");
  return who.empty() ? "somebody" : who.substr(0, 80);
}

}  // namespace

json moved_json(const std::vector<study::Moved>& moved) {
  json out = json::array();
  for (const study::Moved& m : moved)
    out.push_back({{"id", m.id},
                   {"title", m.title},
                   {"before", m.came ? json(nullptr) : json(finding::word(m.before))},
                   {"after", m.went ? json(nullptr) : json(finding::word(m.after))},
                   {"margin_before", m.came ? json(nullptr) : number(m.margin_before)},
                   {"margin_after", m.went ? json(nullptr) : number(m.margin_after)},
                   {"came", m.came},
                   {"went", m.went}});
  return out;
}

Outcome<std::string> tried_text(const Call& c, Open& open) {
  const std::string base = Desk::text_of(open, text_in(c.body, "hash"));
  if (base.empty()) return std::string();
  const auto changes = changes_in(c.body);
  if (!changes.ok()) return changes.problems();
  return plan::edit_text(base, *changes);
}

Reply plans(const Call& c) {
  json list = json::array(), files = json::array();
  for (const std::string& name : c.desk.folder().files({".toml", ".step", ".stp", ".csv"})) {
    const auto full = c.desk.folder().file(name);
    if (!full.ok()) continue;
    const bool toml = std::filesystem::path(name).extension() == ".toml";
    const auto text = toml ? base::read_file(*full, std::size_t{2} << 20U) : Outcome<std::string>(std::string());
    if (!text.ok()) continue;
    if (toml && looks_like_plan(*text))
      list.push_back({{"path", name},
                      {"name", value_after(*text, "name")},
                      {"date", value_after(*text, "date")},
                      {"hash", base::hash_hex(*text)}});
    else files.push_back({{"path", name}, {"kind", kind_of(name, *text)}});
  }
  return json_reply({{"plans", list}, {"files", files}});
}

Reply schema(const Call&) {
  static const std::string all = dump({{"tables",
                                        {{"plan", table_json(plan::plan_schema())},
                                         {"shop", table_json(plan::shop_schema())},
                                         {"pallet", table_json(plan::pallet_schema())}}}});
  return {200, "application/json; charset=utf-8", all};
}

Reply plan_of(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto [text, hash] = Desk::now(**o);
  json j = state_of(**o);
  j["path"] = (*o)->path, j["hash"] = hash, j["text"] = text, j["values"] = json::array();
  const auto p = read_within(c.desk.folder(), (*o)->full, text);
  j["problems"] = p.ok() ? json::array() : problems_json(p.problems(), c.root())["problems"];
  if (!p.ok()) return json_reply(j);
  j["name"] = p->header.name.value;
  j["units"] = p->header.units.value;
  for (const plan::Leaf& l : plan::leaves(*p)) {
    json v = {{"key", l.key},
              {"path", l.path},
              {"typed", l.typed},
              {"origin", "given"},
              {"line", l.place.line},
              {"editable", l.place.file == 0},
              {"kind", unit::word(l.kind)}};
    if (l.place.file > 0)
      v["file"] = std::filesystem::path(p->files[static_cast<std::size_t>(l.place.file)].path)
                      .lexically_relative(c.root())
                      .generic_string();
    if (l.number) v["si"] = number(l.si);
    j["values"].push_back(std::move(v));
  }
  return json_reply(j);
}

Reply changes_of(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto end = std::chrono::steady_clock::now() + c.longest;
  const std::string after = c.asked["after"];
  while (Desk::now(**o).second == after && std::chrono::steady_clock::now() < end)
    std::this_thread::sleep_for(std::chrono::milliseconds(200));
  json j = state_of(**o);
  j["changed"] = j["hash"] != after;
  return json_reply(j);
}

namespace {
/// The rest of a trial, which takes longer than a lever may: a job as of the whole study.
Reply rest_of_trial(const Call& c, const std::shared_ptr<Open>& open, const std::shared_ptr<const Studied>& tried) {
  const auto job = whole_study(c.desk, open, tried, text_in(c.body, "units"), true);
  if (job == nullptr) return refused("too much work waits already; ask again in a while", 503);
  return json_reply({{"hash", text_in(c.body, "hash")}, {"after", tried->hash}, {"job", job->id()}});
}
}  // namespace

Reply try_changes(const Call& c) {
  const auto start = std::chrono::steady_clock::now();
  c.desk.jobs().leave(text_in(c.body, "leave"));  // what an earlier trial still computes
  const Jobs::Ahead ahead(c.desk.jobs());         // until the answer is written
  const auto o = c.desk.open(text_in(c.body, "path"));
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const std::string base = Desk::text_of(**o, text_in(c.body, "hash"));
  if (base.empty()) return conflict(**o);
  const auto changes = changes_in(c.body);
  if (!changes.ok()) return refused(changes.problems(), c.root());
  const auto text = plan::edit_text(base, *changes);
  if (!text.ok()) return refused(text.problems(), c.root());
  const auto before = c.desk.quick(**o, base);
  if (!before.ok()) return refused(before.problems(), c.root());
  const auto after = c.desk.quick(**o, *text);
  if (!after.ok()) return refused(after.problems(), c.root());
  if (c.body.value("rest", json(false)) == true) return rest_of_trial(c, *o, *after);
  json j = {{"hash", text_in(c.body, "hash")}, {"after", (*after)->hash}, {"verdict", (*after)->study.verdict}};
  const study::Counts& n = (*after)->study.counts;
  j["counts"] = {
      {"inside", n.inside}, {"tight", n.tight}, {"outside", n.outside}, {"open", n.open}, {"beyond", n.beyond}};
  j["moved"] = moved_json(study::moved((*before)->study, (*after)->study));
  j["old"] = json::object();
  for (const finding::Finding& f : (*before)->study.findings)
    j["old"][f.id] = {{"state", finding::word(f.state)}, {"margin", number(f.margin)}, {"value", number(f.value)}};
  j["diff"] = diff_lines(base, *text);
  Reply r = json_reply(j);
  r.body.pop_back();
  r.body += ",\"findings\":" + cli::findings_json((*after)->study, (*after)->plan, c.desk.threads());
  const double ms = std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
  r.body += ",\"ms\":" + base::fixed(ms, 1) + "}";
  return r;
}

Reply accept(const Call& c) {
  const auto o = c.desk.open(text_in(c.body, "path"));
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto changes = changes_in(c.body);
  if (!changes.ok()) return refused(changes.problems(), c.root());
  const std::string hash = text_in(c.body, "hash"), mine_of = Desk::text_of(**o, hash);
  if (mine_of.empty()) return conflict(**o);
  for (int attempt = 0; attempt < 5; ++attempt) {
    const auto [theirs, now] = Desk::now(**o);
    const auto text = plan::edit_text(mine_of, *changes);
    if (!text.ok()) return refused(text.problems(), c.root());
    std::string whole = *text;
    if (now != hash) {
      bool a = false, b = false;
      const auto theirs_keys = keys_between(c.desk.folder(), (*o)->full, mine_of, theirs, a);
      const auto mine_keys = keys_between(c.desk.folder(), (*o)->full, mine_of, *text, b);
      const std::set<std::string> other(theirs_keys.begin(), theirs_keys.end());
      json overlap = json::array();
      for (const std::string& k : mine_keys)
        if (other.count(k) > 0) overlap.push_back(k);
      const bool rows = std::any_of(changes->begin(), changes->end(),
                                    [](const plan::Change& x) { return x.what != plan::Change::What::set; });
      const auto merged = plan::edit_text(theirs, *changes);
      if (!a || !b || rows || !overlap.empty() || !merged.ok()) {
        const auto kept = keep_aside(c, **o, *text);
        if (!kept.ok()) return refused(kept.problems(), c.root());
        json j = {{"hash", now}, {"mine", *text}, {"theirs", theirs}, {"overlap", overlap}, {"kept", *kept}};
        j["problems"] = problems_json({bad("the plan is another by now: both texts are kept", *kept)}, "")["problems"];
        return json_reply(j, 409);
      }
      whole = *merged;
    }
    const auto reads = read_within(c.desk.folder(), (*o)->full, whole);
    if (!reads.ok()) return refused(reads.problems(), c.root());
    const auto done = c.desk.write(**o, whole, now, who_of(c.body));
    if (!done.ok()) return refused(done.problems(), c.root());
    if (!*done) continue;  // somebody was quicker
    json j = state_of(**o);
    j["merged"] = now != hash;
    return json_reply(j);
  }
  return conflict(**o);
}

namespace {
Reply step(const Call& c, bool back) {
  const auto o = c.desk.open(text_in(c.body, "path"));
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto done = c.desk.step(**o, back, text_in(c.body, "hash"), who_of(c.body));
  if (!done.ok()) return refused(done.problems(), c.root());
  return *done ? json_reply(state_of(**o)) : conflict(**o);
}
}  // namespace

Reply undo(const Call& c) { return step(c, true); }
Reply redo(const Call& c) { return step(c, false); }

}  // namespace fettle::serve
