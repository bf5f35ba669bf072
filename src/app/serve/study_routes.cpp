// The study: quick at once, whole as a job; what explains it, moves it and draws it.
#include <algorithm>
#include <functional>
#include <set>

#include "app/cli/commands.h"
#include "app/cli/sheet.h"
#include "app/cli/study_text.h"
#include "app/serve/routes.h"
#include "app/serve/study_job.h"
#include "base/text.h"
#include "output/papers/study_sheet.h"
#include "plan/read.h"
#include "study/levers.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

/// The study's JSON with more keys behind.
std::string study_with(const study::Study& s, const plan::Plan& p, const json& more) {
  std::string text = cli::study_json(s, p);
  while (!text.empty() && (text.back() == '\n' || text.back() == '}')) {
    const bool brace = text.back() == '}';
    text.pop_back();
    if (brace) break;
  }
  return text + "," + dump(more).substr(1);
}

struct Quick {
  std::shared_ptr<Open> open;
  std::shared_ptr<const Studied> studied;
};
/// The plan of the request as it is on disk, studied quickly; with `units` as the request asks.
Outcome<Quick> quick_of(const Call& c, const std::string& path) {
  const auto o = c.desk.open(path);
  if (!o.ok()) return o.problems();
  const auto s = c.desk.quick(**o, Desk::now(**o).first);
  if (!s.ok()) return s.problems();
  return Quick{*o, *s};
}

plan::Plan in_units(const plan::Plan& p, const std::string& units) {
  plan::Plan out = p;
  if (units == "metric" || units == "inch") out.header.units.value = units;
  return out;
}

/// What a job's work asks at each step: it stands back for quick answers, and hears whether it is to end.
std::function<bool()> stop_of(const Jobs& jobs, const Job& job) {
  return [&jobs, &job] {
    jobs.give_way();
    return job.stop_asked();
  };
}

/// For the papers, which are asked for later.
std::shared_ptr<const Studied> keep_whole(Open& o, const std::shared_ptr<const Studied>& quick, const study::Study& s) {
  auto whole = std::make_shared<const Studied>(Studied{quick->hash, quick->stamp, quick->plan, quick->data, s});
  const std::lock_guard<std::mutex> hold(o.lock);
  o.whole_of = quick, o.whole = whole;
  return whole;
}

Reply whole(Desk& desk, Open& o, const std::shared_ptr<const Studied>& quick, const std::string& units, Job& job) {
  study::Options options;
  options.threads = desk.threads();
  options.progress = [&](const std::string& what, double share) { job.tell(what, share); };
  options.stop = stop_of(desk.jobs(), job);
  const auto s = study::run(quick->plan, quick->data, options, *o.memo);
  if (!s.ok() && job.stop_asked()) return refused("stopped", 409);
  if (!s.ok()) return refused(s.problems(), desk.folder().root());
  keep_whole(o, quick, *s);
  return {200, "application/json; charset=utf-8",
          study_with(*s, in_units(quick->plan, units), {{"hash", quick->hash}, {"done", true}})};
}

Reply busy() { return refused("too much work waits already; ask again in a while", 503); }

papers::StudySheet sheet_for(const Studied& s, const std::string& units) {
  return cli::sheet_of(s.study, in_units(s.plan, units), &s.data);
}

/// The key that changes use, beside the one in words; none where a lever is more than one value.
void add_plan_keys(json& rows, const plan::Plan& p) {
  std::set<std::string> keys;
  for (const plan::Leaf& l : plan::leaves(p)) keys.insert(l.key);
  for (json& row : rows) {
    std::string key = row.value("key", std::string());
    std::replace(key.begin(), key.end(), ' ', '.');
    row["plan_key"] = keys.count(key) > 0 ? json(key) : json(nullptr);
  }
}

}  // namespace

std::shared_ptr<Job> whole_study(Desk& desk, const std::shared_ptr<Open>& open,
                                 const std::shared_ptr<const Studied>& quick, const std::string& units, bool of_trial) {
  return desk.jobs().start(
      "whole " + units + " " + open->path + " " + quick->hash + quick->stamp,
      [&desk, open, quick, units](Job& j) { return whole(desk, *open, quick, units, j); }, of_trial);
}

Reply study_of(const Call& c) {
  const auto q = quick_of(c, c.asked["path"]);
  if (!q.ok()) return refused(q.problems(), c.root());
  json more = {{"hash", q->studied->hash}, {"job", ""}, {"done", true}};
  if (c.asked["whole"] == "1") {
    const auto job = whole_study(c.desk, q->open, q->studied, c.asked["units"], false);
    if (job == nullptr) return busy();
    more["job"] = job->id(), more["done"] = false;
  }
  return {200, "application/json; charset=utf-8",
          study_with(q->studied->study, in_units(q->studied->plan, c.asked["units"]), more)};
}

Reply study_next(const Call& c) {
  const auto job = c.desk.jobs().find(c.asked["job"]);
  if (job == nullptr) return refused("there is no such job any more", 404);
  const double after = base::to_double(c.asked["after"]).value_or(-1);
  const json at = job->wait(after >= 0 && after < 1e9 ? static_cast<int>(after) : -1, c.longest);
  if (!at["done"]) return json_reply(at);
  const Reply r = job->result();
  std::string head = dump(at);
  head.pop_back();
  if (r.status == 200) return {200, r.type, head + ",\"study\":" + r.body + "}"};
  json out = at;
  out["problems"] = json::parse(r.body)["problems"];
  return json_reply(out);
}

Reply explain(const Call& c) {
  const auto q = quick_of(c, c.asked["path"]);
  if (!q.ok()) return refused(q.problems(), c.root());
  const std::string id = c.asked["finding"];
  std::vector<std::string> ids;
  for (const finding::Finding& f : q->studied->study.findings) {
    ids.push_back(f.id);
    if (f.id != id) continue;
    const plan::Plan p = in_units(q->studied->plan, c.asked["units"]);
    study::Study lean;
    lean.findings = {f};
    return json_reply({{"finding", json::parse(cli::study_json(lean, p))["findings"][0]},
                       {"text", cli::explain_text(f, cli::style_of(p), {false, 100, true})},
                       {"hash", q->studied->hash}});
  }
  return refused({bad("no finding of this plan has that id", id, "an id of /api/study", base::nearest(id, ids))}, "",
                 404);
}

Reply levers(const Call& c) {
  std::shared_ptr<Job> job;
  if (!c.asked["job"].empty()) {
    job = c.desk.jobs().find(c.asked["job"]);
    if (job == nullptr) return refused("there is no such job any more", 404);
  } else {
    const auto q = quick_of(c, c.asked["path"]);
    if (!q.ok()) return refused(q.problems(), c.root());
    study::LeverOptions options;
    options.finding = c.asked["finding"];
    options.threads = c.desk.threads();
    job = c.desk.jobs().start(
        "levers " + options.finding + "\n" + q->open->path + " " + q->studied->hash + q->studied->stamp,
        [&jobs = c.desk.jobs(), o = q->open, s = q->studied, options, root = c.root()](Job& j) mutable {
          j.tell("pulls every lever", 0);
          options.stop = stop_of(jobs, j);
          const auto l = study::levers(s->plan, s->data, options, *o->memo);
          if (!l.ok() && j.stop_asked()) return refused("stopped", 409);
          if (!l.ok()) return refused(l.problems(), root);
          json out = json::parse(cli::levers_json(*l));
          add_plan_keys(out["levers"], s->plan);
          out["done"] = true, out["hash"] = s->hash;
          return json_reply(out);
        });
    if (job == nullptr) return busy();
  }
  const auto end = std::chrono::steady_clock::now() + c.longest;
  json at = job->wait(-1, c.longest);
  while (!at["done"].get<bool>() && std::chrono::steady_clock::now() < end)
    at = job->wait(at["step"],
                   std::chrono::duration_cast<std::chrono::milliseconds>(end - std::chrono::steady_clock::now()));
  return at["done"].get<bool>() ? job->result() : json_reply(at);
}

Reply stop(const Call& c) {
  const auto d = c.desk.drops().find(text_in(c.body, "job"));
  std::shared_ptr<Job> run;
  if (d != nullptr) {
    const std::lock_guard<std::mutex> hold(d->lock);
    run = d->run;
  }
  const auto job = c.desk.jobs().stop(run != nullptr ? run->id() : text_in(c.body, "job"));
  if (job == nullptr) return refused("there is no such job any more", 404);
  return json_reply({{"job", job->id()}, {"done", job->done()}});
}

Reply leave(const Call& c) {
  const auto job = c.desk.jobs().leave(text_in(c.body, "job"));
  if (job == nullptr) return refused("there is no such job any more", 404);
  return json_reply({{"job", job->id()}, {"done", job->done()}});
}

Reply drawings_of(const Call& c) {
  const auto q = quick_of(c, c.asked["path"]);
  if (!q.ok()) return refused(q.problems(), c.root());
  json names = json::array();
  for (const auto& d : papers::study_drawings(sheet_for(*q->studied, c.asked["units"]))) names.push_back(d.file);
  return json_reply({{"drawings", names}, {"hash", q->studied->hash}});
}

Reply drawing(const Call& c) {
  const auto q = quick_of(c, c.asked["path"]);
  if (!q.ok()) return refused(q.problems(), c.root());
  const papers::StudySheet sheet = sheet_for(*q->studied, c.asked["units"]);
  std::vector<std::string> names;
  for (const auto& d : papers::study_drawings(sheet)) {
    names.push_back(d.file);
    if (d.file != c.asked["name"] && d.file != c.asked["name"] + ".svg") continue;
    const study::Study& s = q->studied->study;
    const auto svg = drawings::to_svg(d.drawing, {s.plan_name + ", " + d.file, "Fettle " + s.version, sheet.date});
    if (!svg.ok()) return refused(svg.problems(), c.root());
    return {200, "image/svg+xml", svg->bytes};
  }
  return refused(
      {bad("there is no such drawing", c.asked["name"], "one of /api/drawings", base::nearest(c.asked["name"], names))},
      "", 404);
}

/// The whole study of what was studied quickly, when it is known or done in time; else nothing.
std::shared_ptr<const Studied> whole_of(const Call& c, const Quick& q) {
  const auto kept = [&]() -> std::shared_ptr<const Studied> {
    const std::lock_guard<std::mutex> hold(q.open->lock);
    return q.open->whole_of == q.studied ? q.open->whole : nullptr;
  };
  if (auto w = kept()) return w;
  const auto job = whole_study(c.desk, q.open, q.studied, c.asked["units"], false);
  if (job == nullptr) return nullptr;
  const auto end = std::chrono::steady_clock::now() + c.longest;
  json at = job->wait(-1, c.longest);
  while (!at["done"].get<bool>() && std::chrono::steady_clock::now() < end)
    at = job->wait(at["step"],
                   std::chrono::duration_cast<std::chrono::milliseconds>(end - std::chrono::steady_clock::now()));
  if (auto w = kept()) return w;
  if (!at["done"].get<bool>()) return nullptr;
  // It was done before another text was studied: what it stands on is still in the memo.
  study::Options options;
  options.threads = c.desk.threads();
  const auto s = study::run(q.studied->plan, q.studied->data, options, *q.open->memo);
  return s.ok() ? keep_whole(*q.open, q.studied, *s) : nullptr;
}

Reply sheet(const Call& c) {
  const auto q = quick_of(c, c.asked["path"]);
  if (!q.ok()) return refused(q.problems(), c.root());
  const auto whole = whole_of(c, *q);
  papers::StudySheet paper = sheet_for(whole != nullptr ? *whole : *q->studied, c.asked["units"]);
  if (whole == nullptr) paper.verdict = "Virtual castings are not counted yet. " + paper.verdict;
  const auto pdf = papers::study_pdf(paper);
  if (!pdf.ok()) return refused(pdf.problems(), c.root());
  return {200, "application/pdf", pdf->bytes};
}

Reply diff(const Call& c) {
  const auto a = quick_of(c, c.asked["a"]), b = quick_of(c, c.asked["b"]);
  if (!a.ok()) return refused(a.problems(), c.root());
  if (!b.ok()) return refused(b.problems(), c.root());
  std::map<std::string, plan::Leaf> old;
  for (const plan::Leaf& l : plan::leaves(a->studied->plan)) old[l.key] = l;
  json changes = json::array();
  for (const plan::Leaf& l : plan::leaves(b->studied->plan)) {
    const auto it = old.find(l.key);
    if (it == old.end()) changes.push_back({{"key", l.key}, {"path", l.path}, {"from", nullptr}, {"to", l.typed}});
    else if (it->second.typed != l.typed)
      changes.push_back({{"key", l.key}, {"path", l.path}, {"from", it->second.typed}, {"to", l.typed}});
    if (it != old.end()) old.erase(it);
  }
  for (const auto& [key, l] : old)
    changes.push_back({{"key", key}, {"path", l.path}, {"from", l.typed}, {"to", nullptr}});
  return json_reply({{"changes", changes}, {"moved", moved_json(study::moved(a->studied->study, b->studied->study))}});
}

}  // namespace fettle::serve
