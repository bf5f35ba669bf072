#include "prove/walk.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/read.h"
#include "prove/ends.h"
#include "prove/surface.h"
#include "ref/materials.h"
#include "ref/threads.h"

namespace fettle::prove {

using frame::Vec3;
using program::Motion;
using program::Move;

namespace {

constexpr double mm = 1e-3, pi = 3.14159265358979323846;
constexpr double floor_slack = 0.02 * mm;  ///< a program is nominal: floors are hit to a print's last digit
constexpr double clear = 1 * mm;           ///< rapid ways between nests stay this far above what stands there
constexpr double rub_least = 5 * mm;       ///< from memory: on less an edge crosses the skin, it does not run in it
constexpr double groove_slack = 0.1 * mm;  ///< a groove's limits and its finest cut
constexpr double roll_most = 0.342;        ///< sine of 20 degrees between way and wall; common practice
constexpr double metal_least = 2e-11;      ///< m3: less is a film of a cell's edge

bool is_arc(const Move& m) { return m.kind == Motion::clockwise || m.kind == Motion::counter; }
bool at_feed(const Move& m) { return m.kind == Motion::feed || is_arc(m); }
bool moves_tool(const Move& m) { return at_feed(m) || m.kind == Motion::rapid || m.kind == Motion::probe; }

Move shifted(Move m, Vec3 by) {
  m.start = m.start + by;
  m.end = m.end + by;
  m.centre = m.centre + by;
  return m;
}
Move lifted(Move m, double dz) { return shifted(m, {0, 0, dz}); }
double lowest(const Move& m) {
  double z = std::min(m.start.z, m.end.z);
  if (is_arc(m) && m.plane != program::Plane::xy) z -= frame::norm(m.start - m.centre);
  return z;
}
/// What a move takes. A long straight one in pieces of half a radius: how much of a mill stands in metal is asked where
/// each ends, and most ways end in the open.
removal::Bite bite(removal::Field& f, const ToolShape& t, const Move& m) {
  const double step = 0.25 * t.cutter.diameter, way = std::hypot(m.end.x - m.start.x, m.end.y - m.start.y);
  if (is_arc(m) || t.axial || !(way > 1.5 * step)) return removal::cut(f, t.cutter, m);
  const int n = static_cast<int>(std::min(1e4, std::ceil(way / step)));
  removal::Bite all;
  Vec3 from = m.start;
  for (int i = 1; i <= n; ++i) {
    const Vec3 to = i == n ? m.end : m.start + (static_cast<double>(i) / n) * (m.end - m.start);
    const removal::Bite b = removal::cut(f, t.cutter, from, to);
    all.volume += b.volume, all.area += b.area;
    all.deepest = std::max(all.deepest, b.deepest);
    all.beyond = all.beyond || b.beyond;
    if (b.arc > all.arc) all.arc = b.arc, all.entry = b.entry, all.exit = b.exit;
    from = to;
  }
  return all;
}
double across(const Move& m) { return std::hypot(m.end.x - m.start.x, m.end.y - m.start.y); }

class Walker {
 public:
  Walker(const plan::Plan& plan, const plan::Operation& o, Scene& s, const program::Run& run, const Options& options)
      : plan_(plan), o_(o), s_(s), run_(run), options_(options) {
    const plan::Text& grade = plan.casting.grade.known() ? plan.casting.grade : plan.part.material;
    const auto m = ref::material(grade.value);
    skins_.brittle = grade.known() && m.ok() && m->group == "grey iron";
    skins_.skin = plan.casting.skin.known() ? plan.casting.skin.si : 0;
  }

  Walked go() {
    for (const Move& m : run_.moves)
      if (at_feed(m) && !m.held.machine_frame) w_.zeros.insert(m.zero);
    for (const Move& m : run_.moves) {
      index_ = static_cast<int>(&m - run_.moves.data());
      w_.last_line = m.line;
      if (m.kind == Motion::tool_change) now_length_checked_ = false;
      if (m.held.flood) w_.flooded = true;
      if (m.kind == Motion::rapid) rub_ends();
      if (moves_tool(m)) one(m);
    }
    rub_ends();
    return std::move(w_);
  }

 private:
  const ToolShape& tool(int number) {
    const auto it = tools_.find(number);
    if (it != tools_.end()) return it->second;
    return tools_.emplace(number, tool_shape(plan_, o_, number)).first->second;
  }
  void slip(const char* question, const Move& m, int nest, double amount, std::string words) {
    w_.slips.push_back(
        {question, m.tool > 0 ? tool(m.tool).id : "", nest_words(s_, nest), m.line, amount, std::move(words)});
  }
  static std::string at(const Move& m, Vec3 p) {
    static_cast<void>(m);
    return fmt::format("X{} Y{} Z{}", millimetres(p.x), millimetres(p.y), millimetres(p.z));
  }

  void one(const Move& m) {
    machine(m);
    if (m.held.machine_frame) return;
    follow(m);
    const int nest = nest_of(m.zero, w_.zeros, s_.set_up.nests.size());
    if (m.kind == Motion::probe) {
      w_.probed = true;
      return;
    }
    if (nest < 0) {
      ++w_.checked["zero"];
      if (at_feed(m)) slip("zero", m, -1, 0, fmt::format("zero {} stands for no nest of the plan", m.zero));
      return;
    }
    const ToolShape& t = tool(m.tool);
    if (w_.first_line.count(m.tool) == 0) first_of(m, t);
    Table& table = s_.tables[static_cast<std::size_t>(s_.table_of[static_cast<std::size_t>(nest)])];
    const Move here = shifted(m, s_.set_up.nests[static_cast<std::size_t>(nest)].at);
    const double low = lowest(here);
    leaving(m, t, nest);
    last_nest_zero_ = m.zero;
    if (at_feed(m) && low < s_.set_up.top) visit(m, nest);
    length(m, t, nest, low);
    if (low > table.high + clear && !(t.holder > 0 && low + t.stick_out < table.high)) return;
    if (m.kind == Motion::rapid) rapid(here, m, t, nest, table);
    else feed(here, m, t, nest, table);
    holder(here, m, t, nest, table);
  }
  /// On the way from one pallet to the next a move also passes over the one that it leaves.
  void leaving(const Move& m, const ToolShape& t, int nest) {
    const int from = last_nest_;
    last_nest_ = nest;
    if (from < 0 || m.kind != Motion::rapid) return;
    const auto a = static_cast<std::size_t>(from), b = static_cast<std::size_t>(nest);
    if (s_.table_of[a] == s_.table_of[b] || !run_.zero_known[m.zero] || !run_.zero_known[last_nest_zero_]) return;
    Table& table = s_.tables[static_cast<std::size_t>(s_.table_of[a])];
    const auto now = static_cast<std::size_t>(index_);
    const Vec3 way = run_.origin_at(now, m.zero) - run_.origin_at(now, static_cast<int>(last_nest_zero_));
    const Move here = shifted(m, s_.set_up.nests[a].at + way);
    if (lowest(here) > table.high + clear) return;
    rapid(here, m, t, nest, table);
    holder(here, m, t, nest, table);
  }

  void machine(const Move& m) {
    // Of the nose: the tip and the length above it. Rapid moves of one axis at home count as well.
    const bool known = m.held.machine_frame || (m.zero < run_.zero_known.size() && run_.zero_known[m.zero]);
    if (!known) {
      w_.all_zeros_known = false;
      return;
    }
    const Vec3 base = m.held.machine_frame ? Vec3{} : run_.origin_at(static_cast<std::size_t>(index_), m.zero);
    std::vector<Vec3> places = farthest(m);
    places.push_back(m.start);
    for (const Vec3& p : places) {
      const Vec3 q = base + p + Vec3{0, 0, m.held.machine_frame ? 0 : m.length_offset};
      const std::array<double, 3> v = {q.x, q.y, q.z};
      for (std::size_t k = 0; k < 3; ++k) {
        if (v[k] < w_.low[k]) w_.low[k] = v[k], w_.low_line[k] = m.line;
        if (v[k] > w_.high[k]) w_.high[k] = v[k], w_.high_line[k] = m.line;
      }
    }
  }

  void first_of(const Move& m, const ToolShape& t) {
    w_.first_line[m.tool] = m.line;
    ++w_.checked["tool"];
    if (t.tool == nullptr) {
      if (m.tool == 0) slip("tool", m, -1, 0, "moves before any tool is called");
      else slip("tool", m, -1, 0, fmt::format("T{} is no tool of the plan", m.tool));
      return;
    }
    const bool planned =
        std::any_of(o_.cuts.begin(), o_.cuts.end(), [&](const plan::Cut& c) { return c.tool.value == t.id; });
    if (!planned && !t.probe)
      slip("tool", m, -1, 0, fmt::format("{} has no work in {} of the plan", t.id, o_.id.value));
    if (!t.probe && !(t.cutter.diameter > 0))
      w_.slips.push_back({"unknown", t.id, "", m.line, 0, fmt::format("tool.diameter of {}", t.id)});
  }

  void visit(const Move& m, int nest) {
    auto& v = w_.visits[m.tool];
    if (v.empty() || v.back().first != nest || seen_call_ != call_) v.push_back({nest, call_line_});
    seen_call_ = call_;
  }
  /// Where the program last went to other work: another zero, or back from a subprogram.
  void follow(const Move& m) {
    if (m.zero != last_zero_ || m.line < last_line_) ++call_, call_line_ = m.line;
    last_zero_ = m.zero, last_line_ = m.line;
  }

  /// A tool that comes near the parts without its length, or with another's.
  void length(const Move& m, const ToolShape& t, int nest, double low) {
    if (t.tool == nullptr || low > s_.set_up.safe + 0.1) return;
    ++w_.checked["length"];
    if (!m.held.length_on) {
      if (!no_length_.insert(m.tool).second) return;
      return slip("length", m, nest, 0, "moves to the parts without a tool length offset (G43)");
    }
    if (now_length_checked_ && length_ == m.length_offset && length_tool_ == m.tool) return;
    now_length_checked_ = true, length_ = m.length_offset, length_tool_ = m.tool;
    if (options_.lengths.empty()) return;
    const auto own = options_.lengths.find(m.tool);
    if (own != options_.lengths.end() && std::fabs(own->second - m.length_offset) < 1e-9) return;
    int other = 0;
    for (const auto& [h, l] : options_.lengths)
      if (std::fabs(l - m.length_offset) < 1e-9) other = h;
    slip("length", m, nest, 0,
         other > 0 ? fmt::format("runs with H{}, the length of another tool", other)
                   : std::string("runs with a length that is not its own"));
  }

  void rapid(const Move& here, const Move& m, const ToolShape& t, int nest, Table& table) {
    ++w_.checked["rapid"];
    if (!(t.cutter.diameter > 0)) return;
    const removal::Touch hit = removal::touch(table.metal, t.cutter, here, 0.05 * mm);
    if (hit.cells > 3) {
      slip("rapid", m, nest, hit.deepest,
           fmt::format("at rapid {} mm deep in metal at {}", millimetres(hit.deepest), at(m, hit.at)));
      removal::cut(table.metal, t.cutter, here);
    }
    fixture(here, m, t, nest, table);
    if (across(m) < 5 * mm) return;
    ++w_.checked["low"];
    const removal::Touch near = removal::touch(table.fixture, t.cutter, lifted(here, -clear), 0);
    if (near.cells > 3 && removal::touch(table.fixture, t.cutter, here, 0).cells <= 3)
      slip("low", m, nest, clear - near.deepest,
           fmt::format("crosses a screw head or jaw only {} mm above it",
                       millimetres(std::max(0.0, clear - near.deepest))));
    const removal::Touch over = removal::touch(table.metal, t.cutter, lifted(here, -0.9 * clear), 0);
    if (over.cells > 3 && hit.cells <= 3 && across(m) > t.cutter.diameter * 2 && low_enough(here, table))
      slip("low", m, nest, 0, fmt::format("crosses metal with less than {} mm of room", millimetres(0.9 * clear, 1)));
  }
  /// Only ways above the parts: inside a bore or along a wall a tool may stand close.
  bool low_enough(const Move& here, const Table&) const { return lowest(here) >= s_.set_up.top - 1e-6; }

  void fixture(const Move& here, const Move& m, const ToolShape& t, int nest, Table& table) {
    ++w_.checked["clash"];
    const removal::Touch hit = removal::touch(table.fixture, t.cutter, here, 0.01 * mm);
    if (hit.cells > 3)
      slip("clash", m, nest, hit.deepest,
           fmt::format("{} mm deep in the fixture (plate, screw head or jaw) at {}", millimetres(hit.deepest),
                       at(m, hit.at)));
  }

  void holder(const Move& here, const Move& m, const ToolShape& t, int nest, Table& table) {
    if (t.tool == nullptr || t.probe) return;
    ++w_.checked["holder"];
    if (!(t.holder > 0) || !(t.stick_out > 0)) return;
    if (lowest(here) + t.stick_out > table.high) return;
    const removal::Cutter body{t.holder, 0, 0, 0, 0};
    for (const removal::Field* f : {&table.metal, &table.fixture}) {
      const removal::Touch hit = removal::touch(*f, body, lifted(here, t.stick_out), 0.02 * mm);
      if (hit.cells > 3)
        slip("holder", m, nest, hit.deepest,
             fmt::format("its holder of {} mm stands {} mm deep in {} at {}", millimetres(t.holder, 0),
                         millimetres(hit.deepest), f == &table.metal ? "metal" : "the fixture", at(m, hit.at)));
    }
  }

  void feed(const Move& here, const Move& m, const ToolShape& t, int nest, Table& table) {
    way_ += program::length(m);
    if (!(t.cutter.diameter > 0)) return;
    const double low = lowest(here);
    if (low < w_.below) w_.below = low, w_.below_line = m.line;
    const double under = s_.finished[static_cast<std::size_t>(nest)].bottom - low;
    const double tip = t.cutter.angle > 0 ? removal::rise(t.cutter, 0.5 * t.cutter.diameter) : 0;
    if (under > 2 * mm + tip)
      slip("room", m, nest, under,
           fmt::format("{} mm below the part, where 1 mm and a drill's point are enough", millimetres(under)));
    ++w_.checked["gouge"];
    const removal::Touch deep = removal::touch(table.finished, t.gouge, here, floor_slack + t.slack);
    if (deep.cells > 3)
      slip("gouge", m, nest, deep.deepest,
           fmt::format("{} mm deep in the finished part at {}", millimetres(deep.deepest, 3), at(m, deep.at)));
    fixture(here, m, t, nest, table);
    rolls(m, t, nest);
    const bool place = places(m, t, nest);
    const Surfaced looked = surface(s_, nest, skins_, t, here, table.metal);
    removal::Bite b;
    if (t.tap) b.volume = place && m.end.z < m.start.z ? 1e-9 : 0;
    else b = bite(table.metal, t, here);
    // A reamer or a bar takes less than the field can see.
    if (t.axial && !t.tap && place && m.end.z < m.start.z) b.volume = std::max(b.volume, 1e-9);
    if (b.beyond)
      w_.slips.push_back({"beyond", t.id, nest_words(s_, nest), m.line, 0, "a second undercut above or below another"});
    const bool cuts = b.volume > metal_least;
    if (cuts) cutting(m, t, nest, b);
    if (cuts && looked.broken > 0) edge(m, t, nest, looked);
    skin(m, nest, cuts ? looked : Surfaced{});
    if (cuts && skins_.skin > 0) ++w_.checked["skin"];
    if (cuts && skins_.brittle) ++w_.checked["edge"];
  }
  /// A keyseat cutter that meets or leaves the full diameter of a ring groove does so along the wall: straight at it
  /// the cutter is loaded at once over half a turn, and where it stands a mark stays.
  void rolls(const Move& m, const ToolShape& t, int nest) {
    if (t.tool == nullptr || t.tool->kind.value != "keyseat cutter") return;
    const auto n = static_cast<std::size_t>(nest);
    const double turn = s_.set_up.nests[n].turn, c = std::cos(turn), s = std::sin(turn),
                 z = std::min(m.start.z, m.end.z);
    for (const Hollow& h : s_.finished[n].hollows) {
      const double high = std::max(m.start.z, m.end.z) + t.cutter.thickness;
      if (!h.ring || high < h.lower + groove_slack || z > h.upper - groove_slack) continue;
      const Vec3 middle{c * h.outline.middle.x - s * h.outline.middle.y,
                        s * h.outline.middle.x + c * h.outline.middle.y, 0};
      const double full = h.outline.half_x - 0.5 * t.cutter.diameter - groove_slack;
      const auto out = [&](Vec3 p) { return std::hypot(p.x - middle.x, p.y - middle.y); };
      const bool from = out(m.start) >= full, to = out(m.end) >= full;
      if (from == to || !(full > 0)) continue;
      ++w_.checked["roll"];
      const Vec3 p = to ? m.end : m.start, way = to ? program::heading_at_end(m) : program::heading_at_start(m);
      const double across = std::fabs((p.x - middle.x) * way.x + (p.y - middle.y) * way.y) / out(p);
      if (across <= roll_most) continue;
      slip("roll", m, nest, 0,
           fmt::format("{} the full diameter of {} at {} degrees to its wall: roll {} on an arc",
                       to ? "meets" : "leaves", h.feature, base::fixed(std::asin(std::min(1.0, across)) * 180 / pi, 0),
                       to ? "in" : "out"));
      w_.slips.back().look = true;
    }
  }
  /// Ways in the skin, one after the other; a way in or out of the metal crosses it on less than `rub_least`.
  void skin(const Move& m, int nest, const Surfaced& looked) {
    if (!(looked.rub > 0) || m.tool != rub_.move.tool || nest != rub_.nest) rub_ends();
    if (!(looked.rub > 0)) return;
    if (looked.depth < rub_.worst.depth) rub_.worst = looked, rub_.move = m, rub_.nest = nest;
    rub_.way += looked.rub;
  }
  void rub_ends() {
    const Rubbing r = rub_;
    rub_ = {};
    if (!(r.way >= rub_least)) return;
    slip(
        "skin", r.move, r.nest, skins_.skin - r.worst.depth,
        fmt::format("runs {} mm in the cast skin, at {}: its {} lies {} mm under the raw surface, the skin asks for {}",
                    millimetres(r.way, 0), at(r.move, r.worst.at), r.worst.floor ? "floor" : "wall",
                    millimetres(std::max(0.0, r.worst.depth)), millimetres(skins_.skin)));
  }
  /// A way that leaves over a sharp edge. Where the plan says how its tool leaves, it must.
  void edge(const Move& m, const ToolShape& t, int nest, const Surfaced& looked) {
    const bool said = std::any_of(o_.cuts.begin(), o_.cuts.end(), [&](const plan::Cut& c) {
      return c.tool.value == t.id && c.exit.known() && c.exit.value != "sharp edge";
    });
    slip("edge", m, nest, looked.broken,
         fmt::format("leaves over a sharp edge at {} with {} mm of metal before it: grey iron breaks out there{}",
                     at(m, looked.out), millimetres(looked.broken),
                     said ? "; the plan says that it does not (operation.cut.exit)" : ""));
    w_.slips.back().look = !said;
  }

  void cutting(const Move& m, const ToolShape& t, int nest, const removal::Bite& b) {
    ++w_.checked["spindle"], ++w_.checked["coolant"], ++w_.checked["speed"], ++w_.checked["feed"];
    if (m.spindle == 0) slip("spindle", m, nest, 0, "cuts with the spindle stopped");
    else if (m.spindle < 0) slip("spindle", m, nest, 0, "cuts with the spindle turning backwards");
    if (!m.held.flood) dry_[m.tool].push_back(m.line);
    if (!m.held.flood && w_.flooded)
      slip("coolant", m, nest, 0, "cuts with the coolant off, which other cuts of the program have on");
    speed(m, t, nest);
    record(m, t, nest, b);
  }

  /// Speed and feed against the plan's cuts of this tool: the nearest of them counts.
  void speed(const Move& m, const ToolShape& t, int nest) {
    double off = 1e9, most = 0, plan_speed = 0;
    for (const plan::Cut& c : o_.cuts) {
      if (c.tool.value != t.id) continue;
      if (c.speed.known() && c.speed.si > 0 && std::fabs(std::fabs(m.spindle) / c.speed.si - 1) < off)
        off = std::fabs(std::fabs(m.spindle) / c.speed.si - 1), plan_speed = c.speed.si;
      if (c.feed.known()) most = std::max(most, c.feed.si);
    }
    if (m.spindle != 0 && off < 1e8 && off > 0.02)
      slip("speed", m, nest, 0,
           fmt::format("{} rpm, the plan says {}", base::fixed(std::fabs(m.spindle) * 30 / pi, 0),
                       base::fixed(plan_speed * 30 / pi, 0)));
    double allowed = most;
    if (is_arc(m) && m.plane == program::Plane::xy) {
      // Round an outside corner the centre runs faster than the edge of the part.
      const double e = std::hypot(m.start.x - m.centre.x, m.start.y - m.centre.y), r = 0.5 * t.cutter.diameter;
      if (e > r * 1.05) allowed *= e / (e - r);
    }
    if (most > 0 && !(m.feed <= 1.05 * allowed))
      slip("feed", m, nest, 0,
           fmt::format("{} mm/min in metal, the plan says {}", base::fixed(m.feed * 6e4, 0),
                       base::fixed(most * 6e4, 0)));
    if (most > 0) {
      auto& f = fastest_[{m.tool, nest}];
      f.first = std::max(f.first, m.feed / most);
      if (f.second == 0) f.second = m.line;
    }
    if (t.tap && m.spindle != 0)
      for (const plan::Cut& c : o_.cuts)
        for (const std::string& r : c.features.value)
          if (const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(r).id);
              c.tool.value == t.id && f != nullptr && f->thread.known())
            if (const auto d = ref::thread_data(f->thread.value); d.ok()) {
              const double pitch = m.feed * 2 * pi / std::fabs(m.spindle);
              if (!(std::fabs(pitch - d->pitch) < 0.01 * d->pitch))
                slip("feed", m, nest, 0,
                     fmt::format("{} mm a turn, the thread's pitch is {}", millimetres(pitch, 3),
                                 millimetres(d->pitch, 3)));
            }
  }

  void record(const Move& m, const ToolShape& t, int nest, const removal::Bite& b) {
    const std::string nest_name = nest_words(s_, nest);
    const double seconds = m.feed > 0 ? program::length(m) / m.feed : 0;
    auto it = rows_.find({m.tool, nest});
    if (it == rows_.end()) {
      it = rows_.emplace(std::array<int, 2>{m.tool, nest}, w_.work.size()).first;
      w_.work.push_back({t.id, nest_name, m.line});
    }
    Work& k = w_.work[it->second];
    k.volume += b.volume;
    k.seconds += seconds;
    k.depth = std::max(k.depth, b.deepest);
    worst(m, t, b, k);
    w_.track.push_back({m.line, m.tool, static_cast<float>(b.deepest), static_cast<float>(b.arc),
                        static_cast<float>(seconds > 0 ? b.volume / seconds : 0), static_cast<float>(way_), index_});
  }

  /// The worst move so far: of a mill the largest bite, of what feeds along its axis the largest feed a turn.
  static void worst(const Move& m, const ToolShape& t, const removal::Bite& b, Work& k) {
    const bool first = k.worst_line == 0;
    const double turn = std::fabs(m.spindle) > 0 ? m.feed / std::fabs(m.spindle) : 0,
                 before = k.speed > 0 ? k.feed / k.speed : 0, r = 0.5 * t.cutter.diameter;
    double width = 0;
    bool worse = first;
    if (t.axial) {
      // A ring of metal round the hole that was there; what the field cannot see is left to the plan.
      const double inner = r * r - b.area / pi;
      width = inner > 0 && t.tool->kind.value == "boring tool" ? r - std::sqrt(inner) : 0;
      worse = worse || turn > before * (1 + 1e-9) || (turn > before * (1 - 1e-9) && width > k.width);
    } else if (t.tool != nullptr && t.tool->kind.value == "face mill") {
      width = r * (std::cos(b.entry) - std::cos(b.exit));
      worse = worse || (b.arc < 6 && b.deepest * width * turn > k.worst_depth * k.width * before);
    } else {
      const double share = b.deepest * (1 - std::cos(std::min(b.arc, pi)));
      width = r * (1 - std::cos(b.arc));
      worse = worse || (b.arc < 6 && share * turn > k.worst_depth * (1 - std::cos(k.arc)) * before);
    }
    if (!worse) return;
    const bool plunge = !t.axial && b.arc >= 6;
    k.arc = plunge ? 0 : b.arc, k.width = plunge ? 0 : width, k.worst_depth = b.deepest, k.worst_line = m.line;
    k.feed = m.feed, k.speed = std::fabs(m.spindle);
  }

  /// Marks the cuts of the plan that this move belongs to. True when it is at one.
  bool places(const Move& m, const ToolShape& t, int nest) {
    bool any = false;
    const Shape& part = s_.finished[static_cast<std::size_t>(nest)];
    for (std::size_t i = 0; i < o_.cuts.size(); ++i) {
      const plan::Cut& c = o_.cuts[i];
      if (c.tool.value != t.id) continue;
      for (std::size_t k = 0; k < c.features.value.size(); ++k) {
        const plan::Reference r = plan::parse_reference(c.features.value[k]);
        const plan::Feature* f = plan::find_feature(plan_, r.id);
        if (f == nullptr) continue;
        own_ = own(m, static_cast<int>(i), r.id);
        if (mark(m, *f, part, t, {static_cast<int>(i), static_cast<int>(k), 0, nest})) any = true;
      }
    }
    return any;
  }
  /// The move can be of this cut and of no other of its tool at that feature.
  bool own(const Move& m, int cut, const std::string& feature) const {
    const plan::Cut& mine = o_.cuts[static_cast<std::size_t>(cut)];
    bool alone = true, others = false;
    for (std::size_t i = 0; i < o_.cuts.size(); ++i) {
      const plan::Cut& c = o_.cuts[i];
      if (static_cast<int>(i) == cut || c.tool.value != mine.tool.value) continue;
      for (const std::string& r : c.features.value)
        if (plan::parse_reference(r).id == feature) alone = false, others = others || runs_as(m, c);
    }
    return alone || (runs_as(m, mine) && !others);
  }
  /// At the speed of the cut, and at its feed where the path is straight (round a corner the centre runs faster).
  static bool runs_as(const Move& m, const plan::Cut& c) {
    const auto near = [](double is, const plan::Number& asked) {
      return asked.known() && asked.si > 0 && std::fabs(is / asked.si - 1) <= 0.02;
    };
    return near(std::fabs(m.spindle), c.speed) && (is_arc(m) || near(m.feed, c.feed));
  }
  bool mark(const Move& m, const plan::Feature& f, const Shape& part, const ToolShape& t, std::array<int, 4> key) {
    bool hollow = false, any = false;
    const double turn = s_.set_up.nests[static_cast<std::size_t>(key[3])].turn, c = std::cos(turn), n = std::sin(turn);
    const Vec3 p{c * m.end.x + n * m.end.y, -n * m.end.x + c * m.end.y, m.end.z};
    const double z = std::min(m.start.z, m.end.z);
    for (const Hollow& h : part.hollows) {
      if (h.feature != f.id.value) continue;
      hollow = true;
      if (h.outline.outside(p.x, p.y) > 0 || z > h.upper) continue;
      key[2] = h.place;
      note(key, z);
      any = true;
    }
    if (hollow) return any;
    // A face or an outside: near its wall, or over it.
    const double off = part.body.outside(p.x, p.y);
    const bool face = f.kind.value == "face" && z <= part.top + 2 * mm;
    const bool wall = std::fabs(off) <= 0.75 * t.cutter.diameter && z < part.top;
    if (!face && !wall) return false;
    note(key, z);
    return true;
  }
  void note(const std::array<int, 4>& key, double z) {
    Done& d = w_.done[key];
    if (d.first < 0) d.first = index_;
    d.last = index_;
    d.lowest = std::min(d.lowest, z);
    if (!own_) return;
    if (d.own_first < 0) d.own_first = index_;
    d.own_last = index_;
  }

 public:
  std::map<std::array<int, 2>, std::pair<double, int>> fastest_;  ///< share of the plan's feed, line

 private:
  const plan::Plan& plan_;
  const plan::Operation& o_;
  Scene& s_;
  const program::Run& run_;
  const Options& options_;
  Walked w_;
  Skins skins_;
  struct Rubbing {
    Surfaced worst;
    Move move;
    int nest = -1;
    double way = 0;
  } rub_;
  std::map<int, ToolShape> tools_;
  std::set<int> no_length_;
  std::map<int, std::vector<int>> dry_;
  std::map<std::array<int, 2>, std::size_t> rows_;
  bool now_length_checked_ = false, own_ = true;
  double length_ = 0, way_ = 0;
  int length_tool_ = 0, index_ = 0, call_ = 0, seen_call_ = -1, call_line_ = 0, last_zero_ = -1, last_line_ = 0;
  int last_nest_ = -1;
  std::size_t last_nest_zero_ = 0;
};

}  // namespace

std::string millimetres(double m, int digits) { return base::fixed(m * 1e3, digits); }

std::string nest_words(const Scene& s, int nest) {
  if (nest < 0 || static_cast<std::size_t>(nest) >= s.set_up.nests.size()) return {};
  return s.set_up.nests[static_cast<std::size_t>(nest)].words;
}

int nest_of(int zero, const std::set<int>& zeros, std::size_t nests) {
  // G54.1 P1 and on, or G54 and on: by the block of zeros that the program begins with.
  const bool extended = std::any_of(zeros.begin(), zeros.end(), [](int z) { return z >= 10; });
  const int k = zero - (extended ? 10 : 1);
  return k >= 0 && static_cast<std::size_t>(k) < nests ? k : -1;
}

Walked walk(const plan::Plan& plan, const plan::Operation& o, Scene& scene, const program::Run& run,
            const Options& options) {
  Walker walker(plan, o, scene, run, options);
  Walked w = walker.go();
  for (const auto& [key, f] : walker.fastest_)
    if (f.first < 0.3) {
      const ToolShape t = tool_shape(plan, o, key[0]);
      w.slips.push_back(
          {"feed", t.id, nest_words(scene, key[1]), f.second, 0,
           fmt::format("never faster than {} % of the plan's feed in metal", base::fixed(100 * f.first, 1))});
    }
  return w;
}

}  // namespace fettle::prove
