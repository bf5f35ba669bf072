#include "prove/ends.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "prove/walk.h"
#include "study/internal.h"
#include "study/plan_times.h"

namespace fettle::prove {

using finding::Finding;
using finding::State;
using frame::Vec3;
using program::Motion;
using program::Move;

namespace {

/// Gauge line to the holder's nose where no gauge length is said: 100 mm are taken (from memory), 60 to 160 may be.
constexpr double holder_shorter = 0.04, holder_longer = 0.06;
constexpr double still = 1e-9;  // m
constexpr char axis_name[] = {'X', 'Y', 'Z'};

double along(Vec3 p, std::size_t k) { return k == 0 ? p.x : k == 1 ? p.y : p.z; }
double& coordinate(Vec3& p, std::size_t k) { return k == 0 ? p.x : k == 1 ? p.y : p.z; }

/// The nose's farthest place to one side of one axis, of all moves at one pallet.
struct Far {
  bool there = false;
  double at = 0;  ///< m, machine place
  int line = 0, tool = 0, nest = -1;
  void take(double place, bool low, const Move& m, int n) {
    if (there && !(low ? place < at : place > at)) return;
    *this = {true, place, m.line, m.tool, n};
  }
};
/// Both ends of each axis; `bad` with the holders that nobody measured at their bad ends.
struct Reached {
  std::array<Far, 3> low, high, low_bad, high_bad;
};

class Ends {
 public:
  Ends(const plan::Plan& plan, const plan::Operation& o, const Scene& s, const program::Run& run,
       const std::set<int>& zeros, Proof& out)
      : plan_(plan), o_(o), s_(s), run_(run), zeros_(zeros), out_(out) {}

  bool all() {
    const plan::Machine* m = study::find_machine(plan_, o_.machine.value);
    const std::vector<std::string> missing = missing_of(m);
    if (!missing.empty()) {
      Finding f = begin("", "");
      f.state = State::open;
      f.value = f.margin = std::nan("");
      f.missing = missing;
      f.sentence = fmt::format("{}: not looked at; missing: {}.", study::capital(f.title), base::join(missing, "; "));
      out_.findings.push_back(std::move(f));
      return false;
    }
    const auto& travel = m->travel.value;
    low_ = m->travel_low.value[0];
    high_ = low_ + Vec3{travel[0], travel[1], travel[2]};
    reached_.resize(pallets() + 1);  // the last: places that the program itself names in the machine (G53)
    cutting_zeros();
    for (std::size_t i = 0; i < run_.moves.size(); ++i) one(i);
    judge();
    return true;
  }

 private:
  std::size_t pallets() const { return static_cast<std::size_t>(std::max(1, s_.set_up.pallets)); }
  std::vector<std::string> missing_of(const plan::Machine* m) const {
    std::vector<std::string> out;
    if (m == nullptr || m->travel.value.size() != 3) out.emplace_back("machine.travel: how far each axis goes");
    if (m == nullptr || m->travel_low.value.size() != 1)
      out.emplace_back("machine.travel_low: machine coordinates of the low ends of the axes, one place");
    if (o_.zero_at.value.size() != pallets())
      out.push_back(
          pallets() > 1
              ? fmt::format("operation.zero_at: machine coordinates of the zero of each pallet, {} places", pallets())
              : std::string("operation.zero_at: machine coordinates of the zero, one place"));
    return out;
  }
  Finding begin(const std::string& tool, const std::string& nest) const {
    Finding f = study::start(o_.id.value, "program", "ends", "each axis stays between its ends", unit::Kind::number);
    f.tool = tool;
    f.nest = nest;
    f.id = finding::make_id(f.operation, f.feature, f.question, tool, nest);
    f.formula = "place of the zero + nest + move + gauge length of the tool, against both ends of each axis";
    f.source = "geometry; gauge length not said: stick-out and 100 mm (60 to 160), from memory";
    f.yes_no = true;
    f.limit = finding::upper(0);
    return f;
  }

  static bool at_feed(const Move& m) {
    return m.kind == Motion::feed || m.kind == Motion::clockwise || m.kind == Motion::counter;
  }
  bool zero_known(const Move& m) const { return m.zero < run_.zero_known.size() && run_.zero_known[m.zero]; }
  /// Where each zero stands when its part is cut: before that a program may have put it elsewhere, to probe.
  void cutting_zeros() {
    for (std::size_t i = 0; i < run_.moves.size(); ++i) {
      const Move& m = run_.moves[i];
      if (at_feed(m) && !m.held.machine_frame && zero_known(m)) cut_zero_[m.zero] = run_.origin_at(i, m.zero);
    }
  }
  void one(std::size_t index) {
    const Move& m = run_.moves[index];
    if (!at_feed(m) && m.kind != Motion::rapid && m.kind != Motion::probe) return;
    const int nest = m.held.machine_frame ? -1 : nest_of(m.zero, zeros_, s_.set_up.nests.size());
    if (!m.held.machine_frame && nest < 0) return;  // a zero of no nest is found by itself
    Vec3 base;
    std::size_t pallet = pallets();
    if (nest >= 0) {
      const compose::NestPlace& n = s_.set_up.nests[static_cast<std::size_t>(nest)];
      pallet = s_.set_up.pallets > 0 ? static_cast<std::size_t>(n.pallet) : 0;
      base = o_.zero_at.value[pallet] + n.at + Vec3{0, 0, m.length_offset};
      if (const auto it = cut_zero_.find(m.zero); it != cut_zero_.end())
        base = base + run_.origin_at(index, m.zero) - it->second;
    }
    const bool measured = nest < 0 || !m.held.length_on || gauge_said(m.tool);
    for (std::size_t k = 0; k < 3; ++k) {
      const bool turns = m.kind == Motion::clockwise || m.kind == Motion::counter;
      // What an axis does not do is not asked: where it stood before came from another zero, or from home.
      if (!turns && std::fabs(along(m.end, k) - along(m.start, k)) < still) continue;
      for (const Vec3& p : farthest(m)) {
        const double at = along(base + p, k);
        const bool unsure = k == 2 && !measured;
        Reached& r = reached_[pallet];
        r.low[k].take(at, true, m, nest);
        r.high[k].take(at, false, m, nest);
        r.low_bad[k].take(at - (unsure ? holder_shorter : 0), true, m, nest);
        r.high_bad[k].take(at + (unsure ? holder_longer : 0), false, m, nest);
      }
    }
  }
  bool gauge_said(int tool) {
    const auto it = said_.find(tool);
    if (it != said_.end()) return it->second;
    const plan::Tool* t = tool_shape(plan_, o_, tool).tool;
    return said_[tool] = t != nullptr && t->gauge_length.known();
  }

  /// One end of one axis at one pallet.
  struct End {
    std::size_t pallet = 0, axis = 0;
    bool low = false;
  };
  const Far& far(const End& e, bool bad) const {
    const Reached& r = reached_[e.pallet];
    return bad ? (e.low ? r.low_bad : r.high_bad)[e.axis] : (e.low ? r.low : r.high)[e.axis];
  }
  /// m, by how much a place lies beyond that end.
  double beyond(const End& e, double place) const {
    return e.low ? along(low_, e.axis) - place : place - along(high_, e.axis);
  }
  std::string mend(const End& e, double over) const {
    if (e.pallet == pallets()) return "the program itself names that place";
    if (e.axis == 2)
      return e.low ? "a tool that much longer, or the parts that much higher"
                   : "a shorter tool, or the parts that much lower";
    const End opposite{e.pallet, e.axis, !e.low};
    const Far& other = far(opposite, true);
    const double room = other.there ? std::max(0.0, -beyond(opposite, other.at)) : 0;
    if (!(room >= over))
      return fmt::format("only {} mm are free at the other end, so no place on the table will do",
                         millimetres(room, 1));
    return fmt::format("move {} that much to {}{}, where {} mm are free",
                       s_.set_up.pallet ? "the pallet" : "what holds the parts", e.low ? '+' : '-', axis_name[e.axis],
                       millimetres(room, 1));
  }
  std::string words(const End& e, const Far& here) const {
    const double over = beyond(e, here.at);
    return fmt::format("{} stands at {} in the machine, {} mm beyond its {} end: {}", axis_name[e.axis],
                       millimetres(here.at, 1), millimetres(over, 1), e.low ? "low" : "high", mend(e, over));
  }
  std::string name_of(const Far& f) const { return f.tool > 0 ? tool_shape(plan_, o_, f.tool).id : ""; }
  std::vector<End> every() const {
    std::vector<End> out;
    for (std::size_t pallet = 0; pallet < reached_.size(); ++pallet)
      for (std::size_t axis = 0; axis < 3; ++axis)
        for (const bool low : {true, false})
          if (far({pallet, axis, low}, false).there) out.push_back({pallet, axis, low});
    return out;
  }

  void judge() {
    std::vector<Slip> slips;
    for (const End& e : every()) {
      const bool stated = beyond(e, far(e, false).at) > still;
      const Far& f = far(e, !stated);
      if (!(beyond(e, f.at) > still)) continue;
      std::string w = words(e, f);
      if (!stated) w += fmt::format("; with 100 mm of holder it stays inside: say tool.gauge_length of {}", name_of(f));
      slips.push_back({"ends", name_of(f), nest_words(s_, f.nest), f.line, beyond(e, f.at), w, !stated});
    }
    if (slips.empty()) return inside();
    std::stable_sort(slips.begin(), slips.end(),
                     [](const Slip& x, const Slip& y) { return x.look != y.look ? y.look : x.amount > y.amount; });
    std::set<std::string> seen;
    for (const Slip& s : slips)
      if (seen.insert(s.tool + "\n" + s.nest).second) slipped(s, slips);
    out_.slips.insert(out_.slips.end(), slips.begin(), slips.end());
  }
  /// One finding for all ends that one tool passes at one nest; `first` is the worst of them.
  void slipped(const Slip& first, const std::vector<Slip>& all) {
    Finding f = begin(first.tool, first.nest);
    double n = 0;
    for (const Slip& s : all) {
      if (s.tool != first.tool || s.nest != first.nest) continue;
      ++n;
      f.sentence +=
          fmt::format("{}Line {}: {}{}{}.", f.sentence.empty() ? "" : " ", s.line, s.tool.empty() ? "" : s.tool + ": ",
                      s.words, s.nest.empty() ? "" : " (" + s.nest + ")");
    }
    f.state = first.look ? State::tight : State::outside;
    f.value = n;
    f.margin = first.look ? 0 : -1;
    if (first.look) f.limit = finding::upper(n), f.yes_no = false;
    else f.cautions = {"An axis that runs onto its end stops the program in the metal. Move the zero first."};
    out_.line_of[f.id] = first.line;
    out_.findings.push_back(std::move(f));
  }
  void inside() {
    double nearest = 1e9;
    std::string where = "nothing moves at a nest";
    for (const End& e : every()) {
      const double room = -beyond(e, far(e, false).at);
      if (e.pallet == pallets() || !(room < nearest)) continue;
      nearest = room;
      where = fmt::format("{} comes within {} mm of its {} end, line {}", axis_name[e.axis], millimetres(room, 1),
                          e.low ? "low" : "high", far(e, false).line);
    }
    Finding f = begin("", "");
    f.state = State::inside;
    f.value = 0;
    f.margin = 1;
    f.sentence = fmt::format("Each axis stays between its ends: {}.", where);
    out_.findings.push_back(std::move(f));
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  const Scene& s_;
  const program::Run& run_;
  const std::set<int>& zeros_;
  Proof& out_;
  Vec3 low_, high_;
  std::vector<Reached> reached_;
  std::map<int, bool> said_;
  std::map<int, Vec3> cut_zero_;  ///< by number, machine coordinates as the program knows them
};

}  // namespace

std::vector<Vec3> farthest(const Move& m) {
  std::vector<Vec3> out{m.end};
  if (m.kind != Motion::clockwise && m.kind != Motion::counter) return out;
  out.push_back(m.start);
  const std::size_t u = m.plane == program::Plane::yz   ? 1
                        : m.plane == program::Plane::zx ? 2
                                                        : 0,
                    v = m.plane == program::Plane::yz   ? 2
                        : m.plane == program::Plane::zx ? 0
                                                        : 1;
  const double by = m.kind == Motion::counter ? 1 : -1, sweep = program::sweep(m),
               begin = std::atan2(along(m.start, v) - along(m.centre, v), along(m.start, u) - along(m.centre, u)),
               r = std::hypot(along(m.start, v) - along(m.centre, v), along(m.start, u) - along(m.centre, u));
  constexpr double quarter = 1.57079632679489662;
  for (int q = 0; q < 4; ++q) {
    double way = std::fmod(by * (q * quarter - begin), 4 * quarter);
    if (way < 0) way += 4 * quarter;
    if (way > sweep) continue;
    Vec3 p = m.end;
    coordinate(p, u) = along(m.centre, u) + (q == 0 ? r : q == 2 ? -r : 0);
    coordinate(p, v) = along(m.centre, v) + (q == 1 ? r : q == 3 ? -r : 0);
    out.push_back(p);
  }
  return out;
}

bool ends_findings(const plan::Plan& plan, const plan::Operation& o, const Scene& scene, const program::Run& run,
                   const std::set<int>& zeros, Proof& out) {
  return Ends(plan, o, scene, run, zeros, out).all();
}

}  // namespace fettle::prove
