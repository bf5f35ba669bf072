// What only shows when the program is over: left, forgotten, in the wrong order.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "compose/compose.h"
#include "plan/read.h"
#include "prove/walk.h"
#include "ref/threads.h"
#include "study/internal.h"

namespace fettle::prove {

using frame::Vec3;

namespace {

constexpr double mm = 1e-3;

class Back {
 public:
  Back(const plan::Plan& plan, const plan::Operation& o, const Scene& s, const program::Run& run, Walked& w)
      : plan_(plan), o_(o), s_(s), run_(run), w_(w) {}

  void all() {
    for (std::size_t i = 0; i < o_.cuts.size(); ++i) forgotten(static_cast<int>(i));
    order();
    for (std::size_t n = 0; n < s_.set_up.nests.size(); ++n) left(static_cast<int>(n)), cleans(static_cast<int>(n));
  }

 private:
  bool probe(const plan::Cut& c) const {
    const plan::Tool* t = plan::find_tool(plan_, c.tool.value);
    return c.kind.value == "probe" || (t != nullptr && t->kind.value == "probe");
  }
  int number(const std::string& tool) const { return number_in(tool); }
  int line_of(int move) const { return move < 0 ? 0 : run_.moves[static_cast<std::size_t>(move)].line; }
  /// Line to look at for a tool at a nest where it did nothing: where it went to a nest twice, else its first move,
  /// else the end of the program.
  int line_for(int tool, int nest, std::string& words) const {
    const auto v = w_.visits.find(tool);
    if (v != w_.visits.end()) {
      std::set<int> seen;
      for (const auto& [n, line] : v->second) {
        if (n != nest && !seen.insert(n).second) {
          words = fmt::format("; {} gets it twice, the second time from line {} on", nest_words(s_, n), line);
          return line;
        }
      }
    }
    const auto f = w_.first_line.find(tool);
    return f != w_.first_line.end() ? f->second : w_.last_line;
  }

  void forgotten(int i) {
    const plan::Cut& c = o_.cuts[static_cast<std::size_t>(i)];
    if (probe(c)) {
      ++w_.checked["probe"];
      if (!w_.probed)
        w_.slips.push_back({"probe", c.tool.value, "",
                            w_.first_line.empty()
                                ? 1
                                : std::min_element(w_.first_line.begin(), w_.first_line.end(),
                                                   [](const auto& a, const auto& b) { return a.second < b.second; })
                                      ->second,
                            0, "the plan probes here, the program never does"});
      return;
    }
    const int t = number(c.tool.value);
    if (w_.first_line.count(t) == 0) {
      w_.slips.push_back({"never", c.tool.value, "", w_.last_line, 0,
                          fmt::format("is never in the spindle ({} of the plan)", c.kind.value)});
      return;
    }
    for (std::size_t k = 0; k < c.features.value.size(); ++k) {
      const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(c.features.value[k]).id);
      if (f == nullptr || follows(c, k, *f)) continue;
      for (std::size_t n = 0; n < s_.set_up.nests.size(); ++n)
        for (const int place : places(*f, s_.finished[n]))
          one(i, static_cast<int>(k), place, static_cast<int>(n), *f, t);
    }
  }
  /// A floor that is named beside its bore is cut with it.
  bool follows(const plan::Cut& c, std::size_t k, const plan::Feature& f) const {
    return k > 0 && f.kind.value == "face" && f.diameter.known() && c.features.value.size() > 1;
  }
  std::vector<int> places(const plan::Feature& f, const Shape& part) const {
    std::vector<int> out;
    for (const Hollow& h : part.hollows)
      if (h.feature == f.id.value) out.push_back(h.place);
    if (out.empty()) out.push_back(0);
    return out;
  }
  const Hollow* hollow(const std::string& id, int place, const Shape& part) const {
    for (const Hollow& h : part.hollows)
      if (h.feature == id && h.place == place) return &h;
    return nullptr;
  }
  void one(int i, int k, int place, int nest, const plan::Feature& f, int tool) {
    ++w_.checked["never"];
    const plan::Cut& c = o_.cuts[static_cast<std::size_t>(i)];
    const auto it = w_.done.find({i, k, place, nest});
    const std::string where = f.at.value.size() > 1 ? fmt::format("{} place {}", f.id.value, place + 1) : f.id.value;
    if (it == w_.done.end()) {
      std::string twice;
      const int line = line_for(tool, nest, twice);
      w_.slips.push_back({"never", c.tool.value, nest_words(s_, nest), line, 0,
                          fmt::format("{} is never reached ({}){}", where, c.kind.value, twice)});
      return;
    }
    depth(c, f, place, nest, it->second, where);
  }
  /// How deep a tool must go that feeds along its axis, or finishes by a few hundredths that the field cannot see.
  void depth(const plan::Cut& c, const plan::Feature& f, int place, int nest, const Done& d, const std::string& where) {
    const Hollow* h = hollow(f.id.value, place, s_.finished[static_cast<std::size_t>(nest)]);
    if (h == nullptr || c.kind.value == "chamfer" || c.kind.value == "rough") return;
    double need = h->lower > removal::nothing ? h->lower : s_.finished[static_cast<std::size_t>(nest)].bottom;
    const ToolShape t = tool_shape(plan_, o_, number(c.tool.value));
    if (f.kind.value == "thread" && t.tap && f.thread_depth.known()) need = h->upper - f.thread_depth.si;
    else if (t.tool != nullptr && t.tool->kind.value == "reamer") return;  // to the depth asked, left to the drawing
    if (h->ring) need = h->lower;
    ++w_.checked["depth"];
    const double short_by = d.lowest - need;
    if (short_by > 0.25 * mm && t.axial)
      w_.slips.push_back({"left", c.tool.value, nest_words(s_, nest), line_of(d.last), short_by,
                          fmt::format("{} ends {} mm short of its depth", where, millimetres(short_by))});
    // The end of a tap stays a turn above the bottom that the drill left.
    const auto thread = f.thread.known() ? ref::thread_data(f.thread.value) : Outcome<ref::ThreadData>(bad("-"));
    if (t.tap && thread.ok() && h->lower > removal::nothing && d.lowest < h->lower + 0.9 * thread->pitch)
      w_.slips.push_back({"gouge", c.tool.value, nest_words(s_, nest), line_of(d.last),
                          h->lower + thread->pitch - d.lowest,
                          fmt::format("{}: the tap comes within {} mm of the bottom of the drilled hole", where,
                                      millimetres(d.lowest - h->lower))});
  }

  void order() {
    const auto before = compose::needs(o_);
    for (std::size_t i = 0; i < before.size(); ++i)
      for (const int j : before[i])
        for (std::size_t n = 0; n < s_.set_up.nests.size(); ++n) {
          const Done a = whole(j, static_cast<int>(n)), b = whole(static_cast<int>(i), static_cast<int>(n));
          const plan::Cut &first = o_.cuts[static_cast<std::size_t>(j)], &then = o_.cuts[i];
          const bool one_tool = first.tool.value == then.tool.value;
          if (a.own_last < 0 || b.own_first < 0) continue;
          ++w_.checked["order"];
          if (b.own_first >= a.own_last) continue;
          if (one_tool) {
            w_.slips.push_back(
                {"order", then.tool.value, nest_words(s_, static_cast<int>(n)), line_of(b.own_first), 0,
                 fmt::format("{} comes with its {} cut of {} before its {} cut of {}, which must be done",
                             then.tool.value, then.kind.value, base::join(then.features.value, ", "), first.kind.value,
                             base::join(first.features.value, ", "))});
            continue;
          }
          w_.slips.push_back({"order", then.tool.value, nest_words(s_, static_cast<int>(n)), line_of(b.own_first), 0,
                              fmt::format("{} comes before {}, which it needs ({} before {})", then.tool.value,
                                          first.tool.value, first.kind.value, then.kind.value)});
        }
  }
  Done whole(int cut, int nest) const {
    Done all;
    for (const auto& [key, d] : w_.done) {
      if (key[0] != cut || key[3] != nest) continue;
      if (all.first < 0 || d.first < all.first) all.first = d.first;
      all.last = std::max(all.last, d.last);
      if (d.own_first >= 0 && (all.own_first < 0 || d.own_first < all.own_first)) all.own_first = d.own_first;
      all.own_last = std::max(all.own_last, d.own_last);
    }
    return all;
  }

  /// Metal that still stands where the finished part has none.
  void left(int nest) {
    const Shape& part = s_.finished[static_cast<std::size_t>(nest)];
    const std::vector<std::string> made = made_here(o_);
    const Table& t = s_.tables[static_cast<std::size_t>(s_.table_of[static_cast<std::size_t>(nest)])];
    for (const std::string& id : made) {
      const plan::Feature* f = plan::find_feature(plan_, id);
      if (f == nullptr) continue;
      bool any = false;
      for (const Hollow& h : part.hollows)
        if (h.feature == id) hollow_left(t.metal, part, h, *f, nest), any = true;
      if (!any && f->kind.value == "profile") outside_left(t.metal, part, *f, nest);
    }
  }
  template <class Call>
  void cells(const removal::Field& f, const Outline& o, double reach, int nest, Call&& call) const {
    const compose::NestPlace& q = s_.set_up.nests[static_cast<std::size_t>(nest)];
    const double c = std::cos(q.turn), n = std::sin(q.turn);
    const Vec3 m{q.at.x + c * o.middle.x - n * o.middle.y, q.at.y + n * o.middle.x + c * o.middle.y, 0};
    cells_near(f, m.x, m.y, std::hypot(o.half_x, o.half_y) + reach, [&](int k, int r) {
      const double dx = f.x(k) - q.at.x, dy = f.y(r) - q.at.y;
      call(f.index(k, r), c * dx + n * dy, -n * dx + c * dy);
    });
  }
  void hollow_left(const removal::Field& f, const Shape& part, const Hollow& h, const plan::Feature& feature,
                   int nest) {
    ++w_.checked["left"];
    const std::int32_t want = removal::grains(std::max(h.lower, part.bottom) + 0.05 * mm);
    std::int32_t most = 0;
    int count = 0;
    double inner = 0;
    if (h.ring)
      for (const Hollow& other : part.hollows)
        if (!other.ring && other.outline.outside(h.outline.middle.x, h.outline.middle.y) < 0 && other.upper >= h.upper)
          inner = std::max(inner, other.outline.half_x);
    cells(f, h.outline, 0, nest, [&](std::size_t i, double x, double y) {
      if (h.outline.outside(x, y) > -0.35 * mm) return;
      if (h.ring) {
        const double r = std::hypot(x - h.outline.middle.x, y - h.outline.middle.y);
        if (r < inner + 0.35 * mm) return;
        if (f.top[i] <= removal::grains(h.lower + 0.05 * mm)) return;  // a core beside its place left nothing there
        const bool hollowed = !f.gap_low.empty() && f.gap_low[i] <= removal::grains(h.lower + 0.05 * mm) &&
                              f.gap_high[i] >= removal::grains(h.upper - 0.05 * mm);
        if (!hollowed) ++count, most = std::max(most, removal::grains(h.upper - h.lower));
        return;
      }
      if (f.top[i] > want) ++count, most = std::max(most, f.top[i] - want);
    });
    if (count > 3) say_left(feature, h.place, nest, most * removal::grain + (h.ring ? 0 : 0.05 * mm));
  }
  void outside_left(const removal::Field& f, const Shape& part, const plan::Feature& feature, int nest) {
    ++w_.checked["left"];
    const std::int32_t want = removal::grains(part.bottom + 0.05 * mm);
    std::int32_t most = 0;
    int count = 0;
    cells(f, part.body, 4 * mm, nest, [&](std::size_t i, double x, double y) {
      const double off = part.body.outside(x, y);
      if (off < 0.35 * mm || off > 4 * mm || f.top[i] <= want) return;
      ++count, most = std::max(most, f.top[i] - want);
    });
    if (count > 3) say_left(feature, 0, nest, most * removal::grain);
  }
  /// The last cut of the plan that makes it is looked at, where it worked at this nest.
  int last_line(const plan::Feature& f, int place, int nest, std::string& tool) const {
    int line = w_.last_line;
    for (std::size_t i = 0; i < o_.cuts.size(); ++i)
      for (std::size_t k = 0; k < o_.cuts[i].features.value.size(); ++k) {
        if (plan::parse_reference(o_.cuts[i].features.value[k]).id != f.id.value || o_.cuts[i].kind.value == "chamfer")
          continue;
        tool = o_.cuts[i].tool.value;
        const auto d = w_.done.find({static_cast<int>(i), static_cast<int>(k), place, nest});
        const auto t = w_.first_line.find(number(tool));
        if (d != w_.done.end()) line = line_of(d->second.last);
        else if (t != w_.first_line.end()) line = t->second;
      }
    return line;
  }
  void say_left(const plan::Feature& f, int place, int nest, double amount) {
    std::string tool;
    const int line = last_line(f, place, nest, tool);
    w_.slips.push_back({"left", tool, nest_words(s_, nest), line, amount,
                        fmt::format("{} mm of metal are left where {} should be", millimetres(amount),
                                    study::words_of(plan_, f.id.value))});
  }

  /// Finished surfaces that were cast: less than the skin was taken off them somewhere, or there is no metal at all.
  void cleans(int nest) {
    const double skin = plan_.casting.skin.known() ? plan_.casting.skin.si : 0;
    const Shape &raw = s_.raw[static_cast<std::size_t>(nest)], &part = s_.finished[static_cast<std::size_t>(nest)];
    if (!(skin > 0)) return;
    for (const std::string& id : made_here(o_)) {
      const plan::Feature* f = plan::find_feature(plan_, id);
      if (f == nullptr) continue;
      double least = 1e9;
      int place = 0;
      for (const Hollow& h : part.hollows)
        for (const Hollow& c : raw.hollows) {
          if (h.feature != id || !c.skin || c.feature != id || h.place != c.place) continue;
          place = h.place;
          if (c.lower > removal::nothing && h.lower > removal::nothing) least = std::min(least, c.lower - h.lower);
          round(h.outline, [&](double x, double y) { least = std::min(least, c.outline.outside(x, y)); });
        }
      if (f->kind.value == "profile") least = std::min(least, sides(raw, part));
      if (f->kind.value == "face" && !f->diameter.known() && raw.skin_top && made_up(*f))
        least = std::min(least, raw.top - part.top);
      if (least > 1e8) continue;
      ++w_.checked["skin"];
      if (least >= skin - 0.05 * mm) continue;
      std::string tool;
      const int line = last_line(*f, place, nest, tool);
      w_.slips.push_back({"skin", tool, nest_words(s_, nest), line, skin - least,
                          least > 0
                              ? fmt::format("{} does not clean up: only {} mm come off where the skin asks for {}",
                                            study::words_of(plan_, id), millimetres(least), millimetres(skin))
                              : fmt::format("{} does not clean up: {} mm of metal are missing",
                                            study::words_of(plan_, id), millimetres(-least))});
    }
  }
  template <class Call>
  static void round(const Outline& o, Call&& call) {
    for (int k = 0; k < 72; ++k) {
      const double phi = 2 * 3.14159265358979323846 * k / 72;
      call(o.middle.x + o.half_x * std::cos(phi), o.middle.y + o.half_y * std::sin(phi));
    }
  }
  /// Least stock on those sides of the outside that were cast.
  static double sides(const Shape& raw, const Shape& part) {
    const Outline &a = raw.body, &b = part.body;
    const std::array<double, 4> off = {
        a.middle.x + a.half_x - b.middle.x - b.half_x, b.middle.x - b.half_x - a.middle.x + a.half_x,
        a.middle.y + a.half_y - b.middle.y - b.half_y, b.middle.y - b.half_y - a.middle.y + a.half_y};
    double least = 1e9;
    for (std::size_t k = 0; k < 4; ++k)
      if (raw.skin_side[k]) least = std::min(least, off[k]);
    return least;
  }
  bool made_up(const plan::Feature& f) const {
    const study::Surface q = study::surface_of(plan_, f.id.value);
    return q.there && frame::rotate(s_.set_up.X_NP, q.normal).z > 0.9;
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  const Scene& s_;
  const program::Run& run_;
  Walked& w_;
};

}  // namespace

void look_back(const plan::Plan& plan, const plan::Operation& o, const Scene& scene, const program::Run& run,
               Walked& w) {
  Back(plan, o, scene, run, w).all();
}

}  // namespace fettle::prove
