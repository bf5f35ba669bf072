// Skin and casting: first cuts, chill, gates, the parting ridge, bowed castings.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/practice/hearing.h"
#include "unit/quantity.h"

namespace fettle::practice {

namespace {

bool was_cast(const Feature& f) { return f.start == Start::skin || f.start == Start::cored; }

/// First cut on each surface that was cast: the feature it opens and the cut. Of several features on one metal, the one
/// that the cut names.
struct First {
  const Feature* f = nullptr;
  At at;
};
std::vector<First> first_cuts(const Route& r) {
  std::vector<First> out;
  std::vector<std::string> seen;
  for (const At& a : r.cuts()) {
    if (a.c->pass == Pass::chamfer) continue;
    for (const std::string& id : a.c->features) {
      const Feature* f = r.feature(id);
      if (f == nullptr) continue;
      const std::string& metal = r.metal(id);
      if (std::find(seen.begin(), seen.end(), metal) != seen.end()) continue;
      seen.push_back(metal);
      out.push_back({f, a});
    }
  }
  return out;
}

/// What the first pass takes where there is least. Empty: something is missing, which has been said.
std::optional<double> least_taken(const Route& r, const First& first, Hearing& h) {
  const Cut& c = *first.at.c;
  const Where where{first.at.o->id, first.f->id, c.tool};
  if (c.least_depth) return c.least_depth;
  if (!first.f->least_stock) {
    h.open("least_stock", where);
    return {};
  }
  double left = 0;
  // What a later surface on the same metal takes is not in this one's stock; a later cut of this very one is.
  const auto& own = r.on_feature(first.f->id);
  const bool more = std::any_of(own.begin(), own.end(), [&](const At& a) { return before(first.at, a); });
  if (c.leaves) left = *c.leaves;
  else if (more && c.pass == Pass::rough) {
    h.open("leaves", where);
    return {};
  }
  const double stock = *first.f->least_stock - left;
  return c.pass_depth ? std::min(stock, *c.pass_depth) : stock;
}

}  // namespace

void first_cut_under_skin(const Route& r, Hearing& h) {
  const auto& skin = r.facts().casting.skin;
  ask_for_features(r, h);
  bool any = false;
  for (const First& first : first_cuts(r)) {
    const Where where{first.at.o->id, first.f->id, first.at.c->tool};
    if (first.f->start == Start::unknown) {
      h.open("start", where);
      continue;
    }
    if (!was_cast(*first.f) || first.at.c->pass == Pass::finish || first.at.c->pass == Pass::ream) continue;
    any = true;
    if (!skin) {
      h.open("skin");
      continue;
    }
    const auto taken = least_taken(r, first, h);
    if (!taken) continue;
    if (*taken >= *skin - 1e-9) h.kept();
    else
      h.broken(where,
               fmt::format("{} is first cut by {} in {}, which takes as little as {} there; the skin asks for {}.",
                           r.words(first.f->id), first.at.c->tool.empty() ? "a tool" : first.at.c->tool, first.at.o->id,
                           r.mm(*taken), r.mm(*skin)));
  }
  if (!any) h.nothing("No cast surface is cut rough.");
}

void no_finish_on_skin(const Route& r, Hearing& h) {
  for (const First& first : first_cuts(r)) {
    const Where where{first.at.o->id, first.f->id, first.at.c->tool};
    if (first.f->start == Start::unknown) {
      h.open("start", where);
      continue;
    }
    if (!was_cast(*first.f)) continue;
    const Pass p = first.at.c->pass;
    if (p == Pass::unknown) h.open("pass", where);
    else if (p == Pass::finish || p == Pass::ream || p == Pass::hone || p == Pass::tap)
      h.broken(where, fmt::format("{} has its skin on when {} comes in {} with a fine edge.", r.words(first.f->id),
                                  first.at.c->tool.empty() ? "the tool" : first.at.c->tool, first.at.o->id));
    else h.kept();
  }
  h.nothing("No cast surface is cut.");
}

void hard_corner(const Route& r, Hearing& h) {
  const Casting& c = r.facts().casting;
  const Numbers& n = r.facts().numbers;
  for (const Feature& f : r.facts().features) {
    if (f.shape != Shape::thread) continue;
    if (ask_who_makes(r, f.id, h)) continue;
    const auto& cuts = r.on_feature(f.id);
    if (cuts.empty()) continue;
    const Where where{cuts.front().o->id, f.id, ""};
    // What is known first decides: an order of questions. NOLINTBEGIN(bugprone-branch-clone)
    if (f.edge_wall && *f.edge_wall > n.chill_reach) h.kept();
    else if (!c.hardest) h.open("hardest", where);
    else if (*c.hardest <= n.hard) h.kept();
    else if (!f.edge_wall) h.open("edge_wall", where);
    else
      h.broken(where, fmt::format("{}, cut in {}, lies {} from a raw edge, where the iron may reach {:.0f} HB.",
                                  r.words(f.id), where.operation, r.mm(*f.edge_wall), *c.hardest));
    // NOLINTEND(bugprone-branch-clone)
  }
  h.nothing("No thread is cut.");
}

void clear_of_gates(const Route& r, Hearing& h) {
  const auto& gates = r.facts().casting.gates;
  const auto& operations = r.facts().operations;
  ask_for_seats(r, h);
  for (std::size_t i = 0; i < operations.size(); ++i)
    for (const Contact& k : operations[i].contacts) {
      if (ask_whether_raw(r, static_cast<int>(i), k, h) || !r.raw_at(static_cast<int>(i), k.on)) continue;
      const Where where{operations[i].id, k.on, ""};
      if (gates.empty()) {
        h.open("gates");
        continue;
      }
      const Feature& f = *r.feature(k.on);
      bool clear = true;
      for (const Gate& g : gates) {
        if (r.metal(g.on) != r.metal(k.on)) continue;
        if (!k.at) {
          h.open("contact_at", where);
          clear = false;
          break;
        }
        const frame::Vec3 d = *k.at - g.at, along = d - frame::dot(d, f.normal) * f.normal;
        const double away = frame::norm(along), need = 0.5 * g.width + k.reach;
        if (away >= need) continue;
        h.broken(where, fmt::format("{} of {} touches {} {} from the middle of {}, which is {} wide.", k.name,
                                    operations[i].id, r.words(k.on), r.mm(away), g.id, r.mm(g.width)));
        clear = false;
        break;
      }
      if (clear) h.kept();
    }
  h.nothing("Nothing touches a raw surface.");
}

void clear_of_parting(const Route& r, Hearing& h) {
  const auto& parting = r.facts().casting.parting;
  const auto& operations = r.facts().operations;
  ask_for_seats(r, h);
  for (std::size_t i = 0; i < operations.size(); ++i)
    for (const Contact& k : operations[i].contacts) {
      if (ask_whether_raw(r, static_cast<int>(i), k, h) || !r.raw_at(static_cast<int>(i), k.on)) continue;
      const Feature& f = *r.feature(k.on);
      if (f.shape != Shape::face && f.shape != Shape::other) continue;  // no ridge runs through a cored hole
      if (std::fabs(f.normal.z) > 0.5) continue;                        // nor over a face that looks along the draw
      const Where where{operations[i].id, k.on, ""};
      if (!parting) {
        h.open("parting");
      } else if (!k.at) {
        h.open("contact_at", where);
      } else if (const double away = std::fabs(k.at->z - *parting); !(away >= r.facts().numbers.ridge + k.reach)) {
        h.broken(where, fmt::format("{} of {} touches the raw {} {} from the parting line.", k.name, operations[i].id,
                                    r.words(k.on), r.mm(away)));
      } else {
        h.kept();
      }
    }
  h.nothing("Nothing touches a raw side.");
}

void shim_warped(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  for (std::size_t i = 0; i < operations.size(); ++i) {
    const Operation& o = operations[i];
    for (const Contact& k : o.contacts) {
      if (k.touch != Touch::chuck || ask_whether_raw(r, static_cast<int>(i), k, h)) continue;
      if (!r.raw_at(static_cast<int>(i), k.on)) continue;
      const Where where{o.id, k.on, ""};
      const auto& warp = r.facts().casting.warp;
      if (!o.magnetic) h.open("magnetic", where);
      else if (!*o.magnetic) continue;
      else if (!warp) h.open("warp");
      else if (*warp <= r.facts().numbers.feeler || (o.steps.shims && *o.steps.shims)) h.kept();
      else if (!o.steps.shims) h.open("shims", where);
      else
        h.broken(where, fmt::format("Castings that bow {} lie on the chuck of {} with their raw {}, unshimmed.",
                                    r.mm(*warp), o.id, r.words(k.on)));
      break;
    }
  }
  h.nothing("No raw face lies on a magnetic chuck.");
}

}  // namespace fettle::practice
