#include "calc/practice/hearing.h"

#include <fmt/format.h>

#include <algorithm>

#include "unit/quantity.h"

namespace fettle::practice {

bool names(const Cut& cut, std::string_view feature) {
  return std::find(cut.features.begin(), cut.features.end(), feature) != cut.features.end();
}
bool locates(Touch t) { return t != Touch::clamp; }
bool roughs(Pass p) { return p == Pass::rough || p == Pass::rough_and_finish; }

bool clamps_and_cuts(const Operation& o) {
  return !o.cuts.empty() && o.how != How::hone && o.how != How::deburr && o.how != How::wash && o.how != How::gauge;
}
void ask_for_seats(const Route& r, Hearing& h) {
  for (const Operation& o : r.facts().operations)
    if (clamps_and_cuts(o) && o.contacts.empty() && o.pins.empty()) h.open("contacts", {o.id, "", ""});
}
bool ask_whether_raw(const Route& r, int operation, const Contact& k, Hearing& h) {
  const Feature* f = r.feature(k.on);
  if (f == nullptr || f->start != Start::unknown || r.cut_before(operation, k.on)) return false;
  h.open("start", {r.facts().operations[static_cast<std::size_t>(operation)].id, k.on, ""});
  return true;
}
bool ask_who_makes(const Route& r, const std::string& id, Hearing& h) {
  if (!r.on_metal(r.metal(id)).empty()) return false;
  h.open("made_in", {"", id, ""});
  return true;
}
void ask_for_features(const Route& r, Hearing& h) {
  for (const At& a : r.cuts())
    if (roughs(a.c->pass) && a.c->features.empty()) h.open("features", {a.o->id, "", a.c->tool});
}

Route::Route(const Facts& facts) : f_(facts) {
  for (const Feature& x : f_.features) features_.emplace(x.id, &x);
  for (std::size_t i = 0; i < f_.operations.size(); ++i)
    for (std::size_t k = 0; k < f_.operations[i].cuts.size(); ++k) {
      const Operation& o = f_.operations[i];
      if (o.cuts[k].pass == Pass::probe) continue;
      cuts_.push_back({static_cast<int>(i), static_cast<int>(k), &o, &o.cuts[k]});
    }
  const auto add = [](std::vector<At>& to, const At& a) {
    if (to.empty() || to.back().c != a.c) to.push_back(a);
  };
  for (const At& a : cuts_) {
    if (a.c->pass == Pass::chamfer) continue;
    for (const std::string& id : a.c->features) {
      add(by_feature_[id], a);
      add(by_metal_[metal(id)], a);
    }
  }
}

const Feature* Route::feature(std::string_view id) const {
  const auto it = features_.find(id);
  return it == features_.end() ? nullptr : it->second;
}

const std::string& Route::metal(const std::string& id) const {
  const Feature* f = feature(id);
  return f == nullptr || f->metal.empty() ? id : f->metal;
}

std::string Route::words(std::string_view id) const {
  const Feature* f = feature(id);
  return f == nullptr || f->words.empty() ? std::string(id) : f->words;
}

const std::vector<At>& Route::on_metal(const std::string& metal_id) const {
  static const std::vector<At> none;
  const auto it = by_metal_.find(metal_id);
  return it == by_metal_.end() ? none : it->second;
}

const std::vector<At>& Route::on_feature(const std::string& id) const {
  static const std::vector<At> none;
  const auto it = by_feature_.find(id);
  return it == by_feature_.end() ? none : it->second;
}

bool Route::cut_before(int operation, const std::string& id) const {
  const auto& all = on_metal(metal(id));
  return !all.empty() && all.front().operation < operation;
}

bool Route::raw_at(int operation, const std::string& id) const {
  const Feature* f = feature(id);
  if (f == nullptr || cut_before(operation, id)) return false;
  return f->start == Start::skin || f->start == Start::cored;
}

std::string Route::mm(double si) const {
  unit::Style s;
  if (f_.inch) s.system = unit::Style::System::inch;
  return unit::print(si, unit::Kind::length, s);
}

void Hearing::broken(Where where, std::string sentence) {
  ++a_.looked_at;
  for (const Breach& b : a_.breaches)
    if (b.sentence == sentence) return;  // three rests in a row are one thing to mend
  a_.breaches.push_back({std::move(where), std::move(sentence)});
}

void Hearing::open(std::string_view fact, Where where) {
  const auto same = [&](const Missing& m) {
    return m.fact == fact && m.where.operation == where.operation && m.where.feature == where.feature &&
           m.where.tool == where.tool;
  };
  if (std::none_of(a_.missing.begin(), a_.missing.end(), same))
    a_.missing.push_back({std::string(fact), std::move(where)});
}

Answer Hearing::close(const Rule& rule) {
  Answer a = std::move(a_);
  a.rule = std::string(rule.id);
  if (!a.breaches.empty()) {
    a.verdict = Verdict::broken;
    a.where = a.breaches.front().where;
    a.sentence = a.breaches.front().sentence;
    if (a.breaches.size() > 1)
      a.sentence += fmt::format(" {} more place{} like it.", a.breaches.size() - 1, a.breaches.size() > 2 ? "s" : "");
    a.mend = std::string(rule.mend);
  } else if (!a.missing.empty()) {
    a.verdict = Verdict::open;
    a.where = a.missing.front().where;
    const auto facts = facts_asked();
    const auto it =
        std::find_if(facts.begin(), facts.end(), [&](const FactWord& w) { return w.fact == a.missing.front().fact; });
    a.sentence = fmt::format("Nobody said {}{}.", it == facts.end() ? "it" : it->words,
                             a.missing.size() > 1 ? fmt::format(", and {} more", a.missing.size() - 1) : "");
    a.mend = "say it in the plan";
  } else if (a.looked_at > 0) {
    a.verdict = Verdict::kept;
    a.sentence = well_.empty() ? fmt::format("Kept at {} place{}.", a.looked_at, a.looked_at == 1 ? "" : "s") : well_;
  } else {
    a.verdict = Verdict::not_applicable;
    a.sentence = why_.empty() ? "Nothing here for this rule to look at." : why_;
  }
  return a;
}

}  // namespace fettle::practice
