// Tools and cuts.
#include <fmt/format.h>

#include <algorithm>

#include "calc/practice/hearing.h"

namespace fettle::practice {

namespace {
std::string tool_of(const At& a) { return a.c->tool.empty() ? "the tool" : a.c->tool; }
}  // namespace

void hole_before_tap(const Route& r, Hearing& h) {
  for (const At& a : r.cuts()) {
    const bool needs = a.c->pass == Pass::tap || a.c->pass == Pass::ream ||
                       (a.c->kind == ToolKind::boring && a.c->pass == Pass::finish);
    if (!needs) continue;
    const Where where{a.o->id, a.c->features.empty() ? "" : a.c->features.front(), a.c->tool};
    if (a.c->features.empty()) {
      h.open("features", where);
      continue;
    }
    for (const std::string& id : a.c->features) {
      const Feature* f = r.feature(id);
      if (f == nullptr) continue;
      const auto& all = r.on_metal(r.metal(id));
      const bool opened = std::any_of(all.begin(), all.end(), [&](const At& b) { return before(b, a); });
      if (opened || f->start == Start::cored) h.kept();
      else if (f->start == Start::unknown) h.open("start", {a.o->id, id, a.c->tool});
      else
        h.broken({a.o->id, id, a.c->tool}, fmt::format("{} goes into {} in {}, where nothing has made a hole.",
                                                       tool_of(a), r.words(id), a.o->id));
    }
  }
  h.nothing("Nothing is tapped, reamed or finish-bored.");
}

void exit_edge(const Route& r, Hearing& h) {
  const Iron iron = r.facts().casting.iron;
  if (iron == Iron::ductile || iron == Iron::other) return h.nothing("Only grey iron breaks out at an edge.");
  for (const At& a : r.cuts()) {
    const Where where{a.o->id, a.c->features.empty() ? "" : a.c->features.front(), a.c->tool};
    if (a.c->kind != ToolKind::face_mill && a.c->kind != ToolKind::end_mill) continue;
    if (a.c->exit == Exit::unknown && a.c->features.empty() && a.c->pass != Pass::chamfer) {
      h.open("features", where);
      continue;
    }
    if (a.c->exit == Exit::unknown && a.c->leaves_over.empty()) continue;  // it goes round, or into a pocket
    if (iron == Iron::unknown) {
      h.open("iron");
      continue;
    }
    if (a.c->exit == Exit::sharp) {
      h.broken(where, fmt::format("{} leaves over a sharp edge in {}, as the plan says.", tool_of(a), a.o->id));
      continue;
    }
    if (a.c->exit != Exit::unknown) {
      h.kept();
      continue;
    }
    const std::string* edge = nullptr;
    for (const std::string& over : a.c->leaves_over) {
      const auto& all = r.on_metal(r.metal(over));
      const bool finished = !all.empty() && !before(a, all.back());
      const bool broken = std::any_of(r.cuts().begin(), r.cuts().end(), [&](const At& b) {
        return b.c->pass == Pass::chamfer && before(b, a) &&
               (names(*b.c, over) || (!a.c->features.empty() && names(*b.c, a.c->features.front())));
      });
      if (finished && !broken) {
        edge = &over;
        break;
      }
    }
    if (edge == nullptr) h.kept();
    else
      h.broken(where,
               fmt::format("{} mills {} in {} and leaves over the finished edge of {}, which nothing has broken.",
                           tool_of(a), a.c->features.empty() ? "there" : r.words(a.c->features.front()), a.o->id,
                           r.words(*edge)));
  }
  h.nothing("No mill leaves over an edge.");
}

void no_form_tap(const Route& r, Hearing& h) {
  const Iron iron = r.facts().casting.iron;
  if (iron == Iron::other) return h.nothing("The part is no iron.");
  if (iron == Iron::ductile) return h.nothing("Soft ductile iron flows; only grey iron cracks under a form tap.");
  for (const At& a : r.cuts()) {
    if (a.c->pass != Pass::tap || a.c->kind == ToolKind::thread_mill) continue;
    const Where where{a.o->id, a.c->features.empty() ? "" : a.c->features.front(), a.c->tool};
    if (!a.c->forms) h.open("forms", {"", "", a.c->tool});
    else if (!*a.c->forms) h.kept();
    else if (iron == Iron::unknown) h.open("iron");
    else
      h.broken(where, fmt::format("{} forms the thread {} in {} instead of cutting it.", tool_of(a),
                                  a.c->features.empty() ? "there" : r.words(a.c->features.front()), a.o->id));
  }
  h.nothing("Nothing is tapped.");
}

void swarf_from_bore(const Route& r, Hearing& h) {
  if (!r.facts().critical_said) return h.open("critical");
  for (const Feature& f : r.facts().features) {
    if (!f.critical || f.shape != Shape::bore || ask_who_makes(r, f.id, h)) continue;
    const auto& own = r.on_metal(r.metal(f.id));
    if (own.empty()) continue;
    const At* slip = nullptr;
    std::string what;
    bool unsaid = false;
    for (const At& a : r.cuts()) {
      if (!before(own.back(), a) || a.c->pass == Pass::chamfer) continue;
      if (a.c->features.empty()) {
        h.open("features", {a.o->id, "", a.c->tool});
        unsaid = true;
      }
      for (const std::string& id : a.c->features) {
        const Feature* g = r.feature(id);
        if (g == nullptr || slip != nullptr) continue;
        if (!g->drains_into) {
          h.open("drains", {a.o->id, id, ""});
          unsaid = true;
        } else if (std::find(g->drains_into->begin(), g->drains_into->end(), f.id) != g->drains_into->end()) {
          slip = &a;
          what = id;
        }
      }
    }
    if (slip == nullptr && unsaid) continue;
    if (slip == nullptr) h.kept();
    else
      h.broken({slip->o->id, f.id, slip->c->tool},
               fmt::format("{} is finished when {} cuts {} above it in {}: its swarf falls through.", r.words(f.id),
                           tool_of(*slip), r.words(what), slip->o->id));
  }
  h.nothing("No critical bore is cut.");
}

}  // namespace fettle::practice
