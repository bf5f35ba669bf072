// Route and datums.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "calc/practice/hearing.h"

namespace fettle::practice {

namespace {

/// The last cut on a metal, or nothing.
std::optional<At> last_on(const Route& r, const std::string& feature) {
  const auto& cuts = r.on_metal(r.metal(feature));
  return cuts.empty() ? std::nullopt : std::optional(cuts.back());
}

/// True for the first cut of some cast metal other than `own`; `what` is the feature it opens.
bool opens_skin(const Route& r, const At& a, const std::string& own, std::string& what) {
  for (const std::string& id : a.c->features) {
    const Feature* f = r.feature(id);
    if (f == nullptr || r.metal(id) == own || (f->start != Start::skin && f->start != Start::cored)) continue;
    const auto& all = r.on_metal(r.metal(id));
    if (all.empty() || all.front().c != a.c) continue;
    what = id;
    return true;
  }
  return false;
}

}  // namespace

void raw_datum_once(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  std::map<std::string, std::vector<std::size_t>> used;
  ask_for_seats(r, h);
  for (std::size_t i = 0; i < operations.size(); ++i)
    for (const Contact& k : operations[i].contacts) {
      if (!locates(k.touch) || !k.steers || ask_whether_raw(r, static_cast<int>(i), k, h)) continue;
      if (!r.raw_at(static_cast<int>(i), k.on)) continue;
      auto& in = used[r.metal(k.on)];
      if (in.empty() || in.back() != i) in.push_back(i);
    }
  for (const auto& [metal, in] : used) {
    if (in.size() == 1) {
      h.kept();
      continue;
    }
    std::string all;
    for (std::size_t i : in) all += (all.empty() ? "" : ", ") + operations[i].id;
    h.broken({operations[in[1]].id, metal, ""},
             fmt::format("The raw {} locates in {}: what they make does not agree.", r.words(metal), all));
  }
  h.nothing("No raw surface places what is cut.");
}

void made_before_used(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  ask_for_seats(r, h);
  for (std::size_t i = 0; i < operations.size(); ++i) {
    std::set<std::string> seen;
    const auto look = [&](const std::string& on) {
      const Feature* f = r.feature(on);
      if (f == nullptr || !seen.insert(on).second) return;
      const Where where{operations[i].id, on, ""};
      const int op = static_cast<int>(i);
      if (r.cut_before(op, on)) h.kept();
      else if (f->start == Start::solid)
        h.broken(where,
                 fmt::format("{} locates in {}, which nothing has made by then.", operations[i].id, r.words(on)));
      else if (f->start == Start::unknown) h.open("start", where);
    };
    for (const Contact& k : operations[i].contacts)
      if (locates(k.touch)) look(k.on);
    for (const Pin& p : operations[i].pins) look(p.in);
  }
  h.nothing("Nothing locates on what was cut.");
}

void next_datum_made(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  ask_for_seats(r, h);
  bool first = true;
  for (std::size_t i = 0; i < operations.size(); ++i) {
    const Operation& o = operations[i];
    if (!clamps_and_cuts(o)) continue;
    if (first) {
      first = false;
      continue;
    }
    if (o.contacts.empty() && o.pins.empty()) continue;  // asked for above
    const int op = static_cast<int>(i);
    const bool on_cut = std::any_of(o.contacts.begin(), o.contacts.end(),
                                    [&](const Contact& k) { return locates(k.touch) && r.cut_before(op, k.on); }) ||
                        std::any_of(o.pins.begin(), o.pins.end(), [&](const Pin& p) { return r.cut_before(op, p.in); });
    if (on_cut) h.kept();
    else h.broken({o.id, "", ""}, fmt::format("{} locates on raw surfaces only, though others came before it.", o.id));
  }
  h.nothing("Only one operation clamps and cuts.");
}

void agree_in_one_clamping(const Route& r, Hearing& h) {
  const double most = r.facts().numbers.seat_again;
  const auto& operations = r.facts().operations;
  for (const Relation& q : r.facts().relations) {
    if (q.zone > most || ask_who_makes(r, q.feature, h)) continue;
    const auto a = last_on(r, q.feature);
    if (!a) continue;
    for (const std::string& to : q.to) {
      const auto b = last_on(r, to);
      ask_who_makes(r, to, h);
      if (!b || r.metal(to) == r.metal(q.feature)) continue;
      const bool a_later = a->operation > b->operation;
      const std::string& earlier = a_later ? to : q.feature;
      const Operation& o = operations[static_cast<std::size_t>(std::max(a->operation, b->operation))];
      const bool sits =
          std::any_of(o.contacts.begin(), o.contacts.end(),
                      [&](const Contact& k) { return locates(k.touch) && r.metal(k.on) == r.metal(earlier); }) ||
          std::any_of(o.pins.begin(), o.pins.end(), [&](const Pin& p) { return r.metal(p.in) == r.metal(earlier); });
      if (a->operation == b->operation || sits) h.kept();
      else
        h.broken({o.id, q.feature, ""},
                 fmt::format("{} asks for {} between {} (cut in {}) and {} (cut in {}), and {} does not sit on either.",
                             q.id, r.mm(q.zone), r.words(q.feature), a->o->id, r.words(to), b->o->id, o.id));
    }
  }
  h.nothing(fmt::format("No requirement between two features is closer than {}.", r.mm(most)));
}

void finish_after_skin(const Route& r, Hearing& h) {
  if (!r.facts().critical_said) return h.open("critical");
  ask_for_features(r, h);
  for (const Feature& f : r.facts().features) {
    if (!f.critical || ask_who_makes(r, f.id, h)) continue;
    const auto last = last_on(r, f.id);
    if (!last) continue;
    std::string what;
    const At* slip = nullptr;
    for (const At& a : r.cuts())
      if (before(*last, a) && a.c->pass != Pass::chamfer && opens_skin(r, a, r.metal(f.id), what)) {
        slip = &a;
        break;
      }
    if (slip == nullptr) h.kept();
    else
      h.broken({last->o->id, f.id, last->c->tool},
               fmt::format("{} is finished in {}; after that {} takes the skin off {} in {}.", r.words(f.id),
                           last->o->id, slip->c->tool.empty() ? "a tool" : slip->c->tool, r.words(what), slip->o->id));
  }
  h.nothing("Nothing critical is cut.");
}

void critical_bore_last(const Route& r, Hearing& h) {
  if (!r.facts().critical_said) return h.open("critical");
  ask_for_features(r, h);
  for (const Feature& f : r.facts().features) {
    if (!f.critical || f.shape != Shape::bore || ask_who_makes(r, f.id, h)) continue;
    const auto last = last_on(r, f.id);
    if (!last) continue;
    std::string what;
    bool unsaid = false;
    const At* slip = nullptr;
    for (const At& a : r.cuts()) {
      if (!before(*last, a) || opens_skin(r, a, r.metal(f.id), what)) continue;
      if (a.c->pass == Pass::unknown) {
        h.open("pass", {a.o->id, a.c->features.empty() ? "" : a.c->features.front(), a.c->tool});
        unsaid = true;
      }
      if (!roughs(a.c->pass)) continue;
      slip = &a;
      break;
    }
    if (slip == nullptr && unsaid) continue;
    if (slip == nullptr) h.kept();
    else
      h.broken(
          {last->o->id, f.id, last->c->tool},
          fmt::format("{} is finished in {} before {} roughs {} in {}.", r.words(f.id), last->o->id,
                      slip->c->tool.empty() ? "a tool" : slip->c->tool,
                      slip->c->features.empty() ? "something else" : r.words(slip->c->features.front()), slip->o->id));
  }
  h.nothing("No critical bore is cut.");
}

void threads_never_locate(const Route& r, Hearing& h) {
  ask_for_seats(r, h);
  for (const Operation& o : r.facts().operations) {
    const auto look = [&](const std::string& on) {
      const Feature* f = r.feature(on);
      if (f == nullptr) return;
      if (f->shape != Shape::thread) h.kept();
      else h.broken({o.id, on, ""}, fmt::format("{} locates in the thread {}.", o.id, r.words(on)));
    };
    for (const Contact& k : o.contacts)
      if (locates(k.touch)) look(k.on);
    for (const Pin& p : o.pins) look(p.in);
  }
  h.nothing("Nothing says what locates.");
}

}  // namespace fettle::practice
