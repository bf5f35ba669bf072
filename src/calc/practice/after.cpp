// After machining, and the first run.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/practice/hearing.h"
#include "unit/quantity.h"

namespace fettle::practice {

namespace {
bool yes(const std::optional<bool>& x) { return x && *x; }
}  // namespace

void burrs_removed(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  int last = -1;
  for (const At& a : r.cuts())
    if (a.c->pass != Pass::hone && a.c->pass != Pass::chamfer) last = a.operation;
  if (last < 0) return h.nothing("Nothing is cut.");
  bool unsaid = false;
  for (std::size_t i = static_cast<std::size_t>(last); i < operations.size(); ++i) {
    if (yes(operations[i].steps.deburrs)) return h.kept();
    unsaid = unsaid || !operations[i].steps.deburrs;
  }
  const std::string& id = operations[static_cast<std::size_t>(last)].id;
  if (unsaid) return h.open("deburrs", {id, "", ""});
  h.broken({id, "", ""}, fmt::format("{} is the last that cuts, and nobody deburrs after it.", id));
}

void pores_early(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  const Feature* sealing = nullptr;
  int opened = 1 << 30;
  for (const Feature& f : r.facts().features) {
    if (!f.sealing) continue;
    if (ask_who_makes(r, f.id, h)) continue;
    const auto& cuts = r.on_metal(r.metal(f.id));
    sealing = &f;
    opened = std::min(opened, cuts.front().operation);
  }
  if (sealing == nullptr) return h.nothing("Nothing that is cut has to seal.");
  const auto look = std::find_if(operations.begin(), operations.end(),
                                 [](const Operation& o) { return yes(o.steps.looks_for_pores); });
  if (look == operations.end()) {
    const bool unsaid =
        std::any_of(operations.begin(), operations.end(), [](const Operation& o) { return !o.steps.looks_for_pores; });
    const std::string& where = operations[static_cast<std::size_t>(opened)].id;
    if (unsaid) h.open("looks_for_pores", {where, sealing->id, ""});
    else
      h.broken({where, sealing->id, ""},
               fmt::format("Nobody looks for pores at {}, which {} opens.", r.words(sealing->id), where));
    return;
  }
  double spent = 0, whole = 0;
  bool all_known = true;
  for (const Operation& o : operations) {
    if (!o.part_time) {
      h.open("part_time", {o.id, "", ""});
      all_known = false;
      continue;
    }
    whole += *o.part_time;
    if (&o <= &*look) spent += *o.part_time;
  }
  if (!all_known || whole == 0) return;
  if (spent <= r.facts().numbers.pore_share * whole * (1 + 1e-12)) h.kept();
  else
    h.broken({look->id, sealing->id, ""},
             fmt::format("Pores at {} are looked for in {}, when {:.0f} % of the work on the part is spent.",
                         r.words(sealing->id), look->id, 100 * spent / whole));
}

void rust_clock(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  bool running = false;
  double bare = 0;  // s since the first wet operation that did not oil
  std::string since;
  bool ran = false;
  for (const Operation& o : operations) {
    const Where where{o.id, "", ""};
    if (running) {
      if (!o.lot_time) h.open("lot_time", where);
      else bare += *o.lot_time;
      if (!(bare <= r.facts().numbers.bare_hours * 3600 * (1 + 1e-12))) {
        h.broken(where, fmt::format("Wet out of {}, the parts are still bare {:.1f} h later in {}.", since, bare / 3600,
                                    o.id));
        return;
      }
    }
    if (!o.wet && !yes(o.steps.oils)) h.open("wet", where);
    if (yes(o.wet) || yes(o.steps.washes) || running) {
      if (!o.steps.oils) {
        h.open("oils", where);
        running = false;
        ran = true;
        continue;
      }
      if (*o.steps.oils) {
        running = false;
        ran = true;
        h.kept();
      } else if (!running) {
        running = true;
        bare = 0;
        since = o.id;
      }
    }
  }
  if (running) h.broken({since, "", ""}, fmt::format("Wet out of {}, the parts are never oiled.", since));
  else if (!ran) h.nothing("Nothing wets the part.");
}

void demagnetise(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  for (std::size_t i = 0; i < operations.size(); ++i) {
    const Operation& o = operations[i];
    const bool chuck =
        std::any_of(o.contacts.begin(), o.contacts.end(), [](const Contact& k) { return k.touch == Touch::chuck; });
    if (!chuck && !yes(o.magnetic)) continue;
    const Where where{o.id, "", ""};
    if (!o.magnetic) {
      h.open("magnetic", where);
      continue;
    }
    if (!*o.magnetic) continue;
    // From one magnetic chuck to the next one the magnet does no harm.
    std::size_t last = i;
    while (last + 1 < operations.size() && yes(operations[last + 1].magnetic)) ++last;
    const auto& here = operations[last].steps.demagnetises;
    const std::optional<bool> next =
        last + 1 < operations.size() ? operations[last + 1].steps.demagnetises : std::optional<bool>(false);
    if (yes(here) || yes(next)) h.kept();
    else if (!here) h.open("demagnetises", {operations[last].id, "", ""});
    else
      h.broken({operations[last].id, "", ""},
               fmt::format("{} lets parts go that are still magnetic.", operations[last].id));
    i = last;
  }
  h.nothing("No magnet holds the part.");
}

void flat_off_chuck(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  for (std::size_t i = 0; i < operations.size(); ++i) {
    const Operation& o = operations[i];
    if (o.magnetic && !*o.magnetic) continue;
    const bool chuck =
        std::any_of(o.contacts.begin(), o.contacts.end(), [](const Contact& k) { return k.touch == Touch::chuck; });
    if (!o.magnetic && !chuck) continue;
    for (const Cut& c : o.cuts)
      for (const std::string& id : c.features) {
        const Feature* f = r.feature(id);
        if (f == nullptr || !f->flatness) continue;
        if (!o.magnetic) {
          h.open("magnetic", {o.id, id, ""});
          continue;
        }
        bool gauged = false, unsaid = false;
        for (std::size_t k = i; k < operations.size(); ++k) {
          gauged = gauged || yes(operations[k].steps.gauges);
          unsaid = unsaid || !operations[k].steps.gauges;
        }
        if (gauged) h.kept();
        else if (unsaid) h.open("gauges", {o.id, id, ""});
        else
          h.broken({o.id, id, c.tool}, fmt::format("{} is asked flat to {} and ground on the magnet in {}; nobody "
                                                   "measures it lying free.",
                                                   r.words(id), r.mm(*f->flatness), o.id));
      }
  }
  h.nothing("No face with a flatness is ground on a magnet.");
}

void warm_gauging(const Route& r, Hearing& h) {
  const Facts& f = r.facts();
  for (const Feature& x : f.features) {
    if (!x.gauged) continue;
    const bool may_stay_as_cast = x.start == Start::skin || x.start == Start::cored;
    if (!may_stay_as_cast && ask_who_makes(r, x.id, h)) continue;
    const auto& cuts = r.on_metal(r.metal(x.id));
    if (cuts.empty()) continue;
    if (!x.size || !x.tolerance) {
      h.open("tolerance", {"", x.id, ""});
      continue;
    }
    if (!f.expansion) h.open("expansion");
    if (!f.warm) h.open("warm");
    if (!f.gauge_at) h.open("gauge_at");
    if (!f.expansion || !f.warm || !f.gauge_at) continue;
    const double growth = *f.expansion * *x.size * std::fabs(*f.warm - *f.gauge_at);
    const double most = f.numbers.warm_share * *x.tolerance;
    if (growth <= most * (1 + 1e-9)) {
      h.kept();
      continue;
    }
    const At& last = cuts.back();
    bool soaked = false, unsaid = false;
    for (std::size_t k = static_cast<std::size_t>(last.operation); k < f.operations.size(); ++k) {
      soaked = soaked || yes(f.operations[k].steps.soaks);
      unsaid = unsaid || !f.operations[k].steps.soaks;
    }
    const Where where{last.o->id, x.id, ""};
    if (soaked) h.kept();
    else if (unsaid) h.open("soaks", where);
    else
      h.broken(where, fmt::format("{} reads {:.1f} µm off when it comes warm from {}: {:.0f} % of its tolerance.",
                                  r.words(x.id), growth * 1e6, last.o->id, 100 * growth / *x.tolerance));
  }
  h.nothing("No fine size is gauged.");
}

void hone_last(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  for (std::size_t i = 0; i < operations.size(); ++i) {
    if (operations[i].how != How::hone) continue;
    const auto later =
        std::find_if(operations.begin() + static_cast<std::ptrdiff_t>(i), operations.end(), clamps_and_cuts);
    if (later == operations.end()) h.kept();
    else
      h.broken({operations[i].id, "", ""},
               fmt::format("{} hones, and {} clamps and cuts the part after it.", operations[i].id, later->id));
  }
  h.nothing("Nothing is honed.");
}

void single_block(const Route& r, Hearing& h) {
  for (const Operation& o : r.facts().operations) {
    if (!clamps_and_cuts(o) || o.how == How::grind || (o.at_once && *o.at_once < 2)) continue;
    const Where where{o.id, "", ""};
    if (!o.at_once) h.open("at_once", where);
    else if (!o.steps.single_block) h.open("single_block", where);
    else if (*o.steps.single_block) h.kept();
    else
      h.broken(where,
               fmt::format("{} holds {} parts and its first run is not said to go nest by nest.", o.id, *o.at_once));
  }
  h.nothing("No operation holds several parts under one program.");
}

}  // namespace fettle::practice
