// Clamping and seats.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/practice/hearing.h"

namespace fettle::practice {

namespace {

bool sits(Touch t) { return t == Touch::rest || t == Touch::chuck; }

/// Deburring of a face between a cut in operation `from` and its use in operation `to`.
enum class Clean { yes, no, unsaid };
Clean deburred_between(const Route& r, int from, int to) {
  Clean out = Clean::no;
  for (int i = from; i < to; ++i) {
    const auto& said = r.facts().operations[static_cast<std::size_t>(i)].steps.deburrs;
    if (said && *said) return Clean::yes;
    if (!said) out = Clean::unsaid;
  }
  return out;
}

/// A chamfering cut after `a` and before operation `to` that names the feature or the face. One that names nothing
/// leaves it open; `where` is then that cut.
Clean chamfered_after(const Route& r, const At& a, int to, const std::string& feature, const std::string& face,
                      Where& where) {
  Clean out = Clean::no;
  for (const At& b : r.cuts()) {
    if (b.c->pass != Pass::chamfer || !before(a, b) || b.operation >= to) continue;
    if (names(*b.c, feature) || names(*b.c, face)) return Clean::yes;
    if (b.c->features.empty()) out = Clean::unsaid, where = {b.o->id, "", b.c->tool};
  }
  return out;
}

}  // namespace

void one_round_pin(const Route& r, Hearing& h) {
  ask_for_seats(r, h);
  for (const Operation& o : r.facts().operations) {
    std::vector<std::string> round;
    int pins = 0;
    for (const Pin& p : o.pins) {
      ++pins;
      if (p.round) round.push_back(p.in);
    }
    for (const Contact& k : o.contacts) {
      if (k.touch != Touch::round_pin && k.touch != Touch::relieved_pin) continue;
      ++pins;
      if (k.touch == Touch::round_pin) round.push_back(k.on);
    }
    if (pins == 0) continue;
    if (round.size() < 2) h.kept();
    else
      h.broken({o.id, round[1], ""},
               fmt::format("{} has full round pins in {} and in {}.", o.id, r.words(round[0]), r.words(round[1])));
  }
  h.nothing("No pins locate.");
}

void pins_short(const Route& r, Hearing& h) {
  for (const Operation& o : r.facts().operations) {
    if (o.pins.size() < 2) continue;
    for (const Pin& p : o.pins) {
      const Where where{o.id, p.in, ""};
      if (!p.height) h.open("pin_height", where);
      if (!p.clearance) h.open("pin_clearance", where);
      if (!p.span) h.open("pin_span", where);
      if (!p.height || !p.clearance || !p.span) continue;
      const double free = std::sqrt(*p.span * std::max(0.0, *p.clearance));
      if (*p.height <= free * (1 + 1e-9) || (o.steps.lifts_evenly && *o.steps.lifts_evenly)) h.kept();
      else if (!o.steps.lifts_evenly && *p.height > free) h.open("lifts_evenly", {o.id, "", ""});
      else
        h.broken(where,
                 fmt::format("The land of pin {} in {} of {} is {} high; above {} it binds when one end is lifted.",
                             p.id, r.words(p.in), o.id, r.mm(*p.height), r.mm(free)));
    }
  }
  h.nothing("No pair of pins locates.");
}

void shoulder_short(const Route& r, Hearing& h) {
  for (const Operation& o : r.facts().operations)
    for (const Screw& s : o.screws) {
      if (!s.shoulder) continue;
      const Where where{o.id, s.id, ""};
      if (!s.grip) h.open("grip", where);
      else if (*s.shoulder < *s.grip) h.kept();
      else
        h.broken(where, fmt::format("The shoulder of the screw in {} of {} is {} long and what it should clamp {}: it "
                                    "clamps nothing.",
                                    s.id, o.id, r.mm(*s.shoulder), r.mm(*s.grip)));
    }
  h.nothing("No shoulder screw clamps.");
}

void clamp_over_support(const Route& r, Hearing& h) {
  for (const Operation& o : r.facts().operations)
    for (const Contact& k : o.contacts) {
      if (k.touch != Touch::clamp || !k.pushes) continue;
      const Where where{o.id, k.on, ""};
      if (!k.at) {
        h.open("contact_at", where);
        continue;
      }
      double nearest = INFINITY;
      bool placed = true;
      for (const Contact& s : o.contacts) {
        if (s.touch != Touch::rest) continue;
        if (!s.at) {
          placed = false;
          continue;
        }
        const frame::Vec3 d = *s.at - *k.at;
        if (frame::dot(d, *k.pushes) < -1e-9) continue;  // behind the clamp
        nearest = std::min(nearest, frame::norm(d - frame::dot(d, *k.pushes) * *k.pushes) - s.reach - k.reach);
      }
      if (!o.thickness) h.open("thickness", where);
      else if (nearest <= *o.thickness) h.kept();
      else if (!placed) h.open("contact_at", where);
      else
        h.broken(where, std::isfinite(nearest)
                            ? fmt::format("{} of {} presses {} beside the nearest rest, on a part {} thick there.",
                                          k.name, o.id, r.mm(nearest), r.mm(*o.thickness))
                            : fmt::format("{} of {} presses where no rest stands against it.", k.name, o.id));
    }
  h.nothing("No screw or strap presses on one place.");
}

void clean_seats(const Route& r, Hearing& h) {
  ask_for_seats(r, h);
  for (const Operation& o : r.facts().operations) {
    const bool seat = std::any_of(o.contacts.begin(), o.contacts.end(), [](const Contact& k) { return sits(k.touch); });
    if (!seat) continue;
    const Where where{o.id, "", ""};
    if (!o.steps.cleans_seats) h.open("cleans_seats", where);
    else if (*o.steps.cleans_seats) h.kept();
    else h.broken(where, fmt::format("{} does not say that its seats are cleaned before a part goes on.", o.id));
  }
  h.nothing("Nothing sits on rests or pads.");
}

void burr_free_seat(const Route& r, Hearing& h) {
  const auto& operations = r.facts().operations;
  ask_for_seats(r, h);
  for (std::size_t i = 0; i < operations.size(); ++i) {
    const int to = static_cast<int>(i);
    std::vector<std::string> faces;
    for (const Contact& k : operations[i].contacts)
      if (sits(k.touch) && r.cut_before(to, k.on) && std::find(faces.begin(), faces.end(), k.on) == faces.end())
        faces.push_back(k.on);
    for (const std::string& face : faces) {
      const Where where{operations[i].id, face, ""};
      bool open_here = false;
      const At* slip = nullptr;
      std::string what;
      for (const At& a : r.cuts()) {
        if (a.operation >= to || a.c->pass == Pass::chamfer || slip != nullptr) continue;
        for (const std::string& id : a.c->features) {
          const Feature* f = r.feature(id);
          if (f == nullptr) continue;
          const bool edge = r.metal(id) == r.metal(face) ||
                            std::any_of(f->edges_on.begin(), f->edges_on.end(),
                                        [&](const std::string& e) { return r.metal(e) == r.metal(face); });
          if (!edge) continue;
          Where unnamed;
          const Clean by_hand = deburred_between(r, a.operation, to);
          const Clean by_tool = chamfered_after(r, a, to, id, face, unnamed);
          if (by_hand == Clean::yes || by_tool == Clean::yes) continue;
          if (by_hand == Clean::unsaid || by_tool == Clean::unsaid) {
            open_here = true;
            if (by_tool == Clean::unsaid) h.open("features", unnamed);
            else h.open("deburrs", {a.o->id, "", ""});
            continue;
          }
          slip = &a;
          what = id;
          break;
        }
      }
      if (slip != nullptr)
        h.broken(where, fmt::format("{} sits on {} with the burrs that {} left in {} when it cut {}.", operations[i].id,
                                    r.words(face), slip->c->tool.empty() ? "the tool" : slip->c->tool, slip->o->id,
                                    r.words(what)));
      else if (!open_here) h.kept();
    }
  }
  h.nothing("Nothing sits on a cut face.");
}

void fines_cement(const Route& r, Hearing& h) {
  for (const Operation& o : r.facts().operations)
    for (const RunOff& t : o.run_offs) {
      const Where where{o.id, "", ""};
      const bool washed = o.steps.washes && *o.steps.washes;
      // What is known first decides: an order of questions. NOLINTBEGIN(bugprone-branch-clone)
      if (!t.closed_end) h.open("closed_end", where);
      else if (*t.closed_end <= 0 || washed) h.kept();
      else if (!t.slope) h.open("slope", where);
      else if (std::fabs(*t.slope) >= r.facts().numbers.washing_slope * (1 - 1e-9)) h.kept();
      else
        h.broken(where, fmt::format("The trough under the parts of {} goes on {} behind the bore, closed, with a fall "
                                    "of {:.1f} %: fines stay there and cement.",
                                    o.id, r.mm(*t.closed_end), 100 * std::tan(std::fabs(*t.slope))));
      // NOLINTEND(bugprone-branch-clone)
    }
  h.nothing("No trough carries swarf off.");
}

}  // namespace fettle::practice
