// The proof read as a motion.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/holding/proof.h"

namespace fettle::holding {

namespace {

/// "to +X", "between +X and -Y".
std::string towards(Vec3 v) {
  const double a[3] = {v.x, v.y, v.z};
  std::size_t first = 0;
  for (std::size_t i = 1; i < 3; ++i)
    if (std::fabs(a[i]) > std::fabs(a[first]) + 1e-12) first = i;
  std::size_t second = first == 0 ? 1 : 0;
  for (std::size_t i = 0; i < 3; ++i)
    if (i != first && std::fabs(a[i]) > std::fabs(a[second]) + 1e-12) second = i;
  const auto word = [&](std::size_t i) { return std::string(a[i] < 0 ? "-" : "+") + "XYZ"[i]; };
  if (!(std::fabs(a[first]) > 0)) return "aside";
  if (std::fabs(a[second]) > 0.5 * std::fabs(a[first]))
    return fmt::format("between {} and {}", word(first), word(second));
  return "to " + word(first);
}

/// The normal that all contacts that hold by friction share, or zero.
Vec3 common_normal(const std::vector<Contact>& contacts) {
  Vec3 n;
  for (const Contact& c : contacts) {
    if (c.kind != Contact::Kind::rest) continue;
    if (frame::norm(n) == 0) n = c.normal;
    else if (!(frame::dot(n, c.normal) > 0.999)) return {};
  }
  return n;
}

struct Seen {
  std::vector<std::string> slip, open;
  Vec3 held;  // middle of what stays in touch
  int stay = 0, rests = 0;
};

Seen look(const std::vector<Contact>& contacts, Vec3 about, const Carried& a, Mechanism& m) {
  Seen s;
  // What slides anywhere lifts in the proof by the friction angle of the fastest place; only more than that is lifting.
  double fastest = 0, rubs = 0;
  for (const Contact& c : contacts) {
    const Vec3 v = a.slide + frame::cross(a.turn, c.at - about);
    fastest = std::max(fastest, frame::norm(v));
    if (c.kind == Contact::Kind::rest)
      rubs = std::max(rubs, c.friction * frame::norm(v - frame::dot(v, c.normal) * c.normal));
  }
  for (std::size_t i = 0; i < contacts.size(); ++i) {
    const Contact& c = contacts[i];
    if (c.kind != Contact::Kind::rest) continue;
    ++s.rests;
    const Vec3 v = a.slide + frame::cross(a.turn, c.at - about);
    const double lifts = frame::dot(v, c.normal), side = frame::norm(v - lifts * c.normal);
    if (lifts > 1.5 * rubs + 1e-6 * fastest) {
      m.opens[i] = true;
      s.open.push_back(c.name);
      continue;
    }
    ++s.stay;
    s.held = s.held + c.at;
    if (side > 1e-6 * fastest) {
      m.slips[i] = true;
      s.slip.push_back(c.name);
    }
  }
  if (s.stay > 0) s.held = (1.0 / s.stay) * s.held;
  return s;
}

std::string few(const std::vector<std::string>& names) {
  if (names.size() <= 4) return base::join(names, ", ");
  return fmt::format("{} and {} more", base::join({names.begin(), names.begin() + 3}, ", "), names.size() - 3);
}

/// "Z", or "an axis between X and Z" when it leans.
std::string axis_words(Vec3 v) {
  const double a[3] = {std::fabs(v.x), std::fabs(v.y), std::fabs(v.z)};
  std::size_t first = 0;
  for (std::size_t i = 1; i < 3; ++i)
    if (a[i] > a[first] + 1e-12) first = i;
  std::size_t second = first == 0 ? 1 : 0;
  for (std::size_t i = 0; i < 3; ++i)
    if (i != first && a[i] > a[second] + 1e-12) second = i;
  if (a[second] < 0.4 * a[first]) return std::string(1, "XYZ"[first]);
  return fmt::format("an axis between {} and {}", "XYZ"[std::min(first, second)], "XYZ"[std::max(first, second)]);
}

/// What moves most at the contacts: a slide, a turn about the upright, or tipping over an edge.
void dominant(const Fixture& fixture, const Seen& seen, Vec3 n, Mechanism& m) {
  double reach = 0;
  for (const Contact& c : fixture.contacts()) reach = std::max(reach, frame::norm(c.at - fixture.about()));
  const double slides = frame::norm(m.slide), w = frame::norm(m.turn), turns = reach * w;
  if (!seen.open.empty()) m.lifts = few(seen.open) + (seen.open.size() > 1 ? " lift" : " lifts");
  if (seen.stay == 0 && seen.rests > 0) {
    m.lifts.clear();
    m.motion = turns > slides ? "lifts off, turning about " + axis_words(m.turn) : "lifts off " + towards(m.slide);
    return;
  }
  const auto centre = [&] {  // a turn with a slide square to it is a turn about another centre
    m.axis = (1 / w) * m.turn;
    m.centre = fixture.about() + (1 / (w * w)) * frame::cross(m.turn, m.slide);
  };
  if (!seen.open.empty()) {
    if (turns <= 0.3 * slides) {
      m.motion = "slides " + towards(m.slide);
      return;
    }
    const Vec3 down = fixture.weight(), out = frame::norm(down) > 0 ? -frame::unit(down)
                                              : frame::norm(n) > 0  ? frame::unit(n)
                                                                    : Vec3{0, 0, 1};
    const double upright = frame::dot(m.turn, out);
    if (upright * upright > 0.5 * w * w) {
      m.motion = "turns about " + axis_words(m.turn);
      centre();
      return;
    }
    const Vec3 edge = seen.held - fixture.about(), flat = edge - frame::dot(edge, out) * out;
    m.motion = "tips over the edge " + towards(flat);
    return;
  }
  if (turns < 0.25 * slides) {
    m.motion = "slides " + towards(m.slide);
    return;
  }
  centre();
  m.motion = turns > 1.5 * slides || frame::norm(n) == 0
                 ? "turns about " + axis_words(m.turn)
                 : fmt::format("slides {} and turns about {}", towards(m.slide), axis_words(m.turn));
}

}  // namespace

Mechanism mechanism(const Fixture& fixture, const Carried& a) {
  Mechanism m;
  const auto& contacts = fixture.contacts();
  m.slips.assign(contacts.size(), false);
  m.opens.assign(contacts.size(), false);
  if (a.status != Carried::Status::limited) {
    m.motion = a.status == Carried::Status::unlimited ? "does not move whatever the force" : "not held at rest";
    m.words = m.motion;
    return m;
  }
  const Seen seen = look(contacts, fixture.about(), a, m);
  m.slide = a.slide;
  m.turn = a.turn;
  const Vec3 n = common_normal(contacts);
  if (seen.open.empty() && frame::norm(n) > 0) {  // what slides lifts by the friction angle in the proof only
    m.slide = m.slide - frame::dot(m.slide, n) * n;
    m.turn = frame::dot(m.turn, n) * n;
  }
  double fastest = 0;
  for (const Contact& c : contacts)
    fastest = std::max(fastest, frame::norm(m.slide + frame::cross(m.turn, c.at - fixture.about())));
  if (fastest > 0) {
    m.slide = (1 / fastest) * m.slide;
    m.turn = (1 / fastest) * m.turn;
  }
  dominant(fixture, seen, n, m);
  m.words = in_words(m, 1e-3, "mm", 0);
  return m;
}

std::string in_words(const Mechanism& m, double unit, const char* name, int digits) {
  std::string out = m.motion;
  if (m.centre) {
    // The two coordinates square to the axis; of a leaning one all three.
    const double a[3] = {std::fabs(m.axis.x), std::fabs(m.axis.y), std::fabs(m.axis.z)},
                 at[3] = {m.centre->x, m.centre->y, m.centre->z};
    std::string places;
    for (std::size_t i = 0; i < 3; ++i)
      if (a[i] < 0.92)
        places += fmt::format("{}{} {}", places.empty() ? "" : ", ", "XYZ"[i], base::fixed(at[i] / unit, digits));
    out += fmt::format(" at {} {}", places, name);
  }
  if (!m.lifts.empty()) out += ": " + m.lifts;
  return out;
}

}  // namespace fettle::holding
