#include "compose/compose.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "calc/timing/operation_time.h"
#include "calc/timing/order.h"
#include "compose/breaks.h"
#include "compose/probing.h"
#include "compose/track.h"
#include "plan/read.h"
#include "study/internal.h"
#include "study/plan_times.h"

namespace fettle::compose {

using frame::Vec3;

namespace {

Step words_step(Do what, std::string words) {
  Step s;
  s.what = what;
  s.words = std::move(words);
  return s;
}
Step plain(Do what) {
  Step s;
  s.what = what;
  return s;
}

/// The number in a tool's id ("T11" gives 11); 0 when there is none or it is too large for a control.
int number_in(const std::string& id) {
  std::string digits;
  for (const char c : id)
    if (c >= '0' && c <= '9') digits += c;
  return digits.empty() || digits.size() > 4 ? 0 : static_cast<int>(*base::to_double(digits));
}

/// Numbers of the program and of its first subprogram: a control keeps both in one memory for all programs, so that no
/// two operations of a plan may share them. OP30: 300, 3001 and on; OP10b: 102, 1026 and on.
struct Numbers {
  int program = 0, first_sub = 0;
};
Numbers numbers_of(const plan::Plan& plan, const plan::Operation& o) {
  int n = number_in(o.id.value);
  if (n == 0 || n > 89) {
    const auto place = std::find_if(plan.operations.begin(), plan.operations.end(),
                                    [&](const plan::Operation& x) { return &x == &o; });
    n = 1 + static_cast<int>(place - plan.operations.begin()) % 89;
  }
  const char last = o.id.value.empty() ? '0' : o.id.value.back();
  const bool letter = (last >= 'a' && last <= 'z') || (last >= 'A' && last <= 'Z');
  const int k = letter ? (last | 32) - 'a' : 0;
  const int base = n < 10 ? 8000 + 100 * n : 100 * n;
  return {10 * n + (letter ? 1 + k % 9 : 0), base + 1 + 25 * (k % 4)};
}

bool shares(const plan::Cut& a, const plan::Cut& b) {
  for (const std::string& x : a.features.value)
    for (const std::string& y : b.features.value)
      if (plan::parse_reference(x).id == plan::parse_reference(y).id) return true;
  return false;
}

bool machine_work(const plan::Operation& o) {
  const std::string& k = o.kind.value;
  return !o.cuts.empty() &&
         (k == "vise" || k == "vise gang" || k == "jaw carrier" || k == "pallet" || k == "chuck" || k == "fixture");
}

class Composer {
 public:
  Composer(const plan::Plan& plan, const plan::Operation& o, const Options& options, const Blocks* given)
      : plan_(plan), o_(o), options_(options), given_(given) {}

  Outcome<Composition> make() {
    Outcome<SetUp> s = set_up(plan_, o_);
    if (!s.ok()) return s.problems();
    c_.set_up = s.value();
    c_.plan = plan_.header.name.value;
    c_.revision = plan_.header.revision.value;
    c_.date = plan_.header.date.value;
    c_.hash = plan_.hash;
    c_.operation = o_.id.value;
    c_.words = o_.name.value;
    c_.machine = o_.machine.value;
    c_.notes = c_.set_up.notes;
    c_.zeros = static_cast<int>(c_.set_up.nests.size());
    c_.number = numbers_of(plan_, o_).program;
    sub_number_ = first_sub_ = numbers_of(plan_, o_).first_sub;
    machine_ = study::find_machine(plan_, o_.machine.value);
    if (given_ == nullptr) find_next();
    number_tools();
    if (given_ == nullptr) visits_of(o_, c_.set_up, "");
    else visits_of_given();
    if (next_ != nullptr) {
      Outcome<SetUp> n = set_up(plan_, *next_);
      if (!n.ok()) return n.problems();
      next_up_ = n.value();
    }
    parameters();
    if (next_ != nullptr) visits_of(*next_, next_up_, next_->id.value);
    const bool any = std::any_of(work_.begin(), work_.end(), [](const Work& w) { return !w.empty; });
    if (!any) {
      Problems all;
      for (const std::string& m : c_.missing) all.push_back(bad(m));
      if (all.empty()) all.push_back(bad(fmt::format("{}: no cut that a program can be made of", o_.id.value)));
      return all;
    }
    edges();
    main();
    return std::move(c_);
  }

 private:
  /// One visit with what it needs besides what is reported.
  struct Work {
    bool empty = true;          // nothing to move
    bool next = false;          // belongs to the operation after the stop
    bool speeds = false;        // more than one
    std::vector<double> turns;  // of nests, distinct
    std::vector<int> subs;      // one a turn
    Vec3 first;                 // place of the first move, turn 0
    std::size_t visit = 0;      // in c_.visits
  };

  void find_next() {
    for (std::size_t i = 0; i + 1 < plan_.operations.size(); ++i) {
      const plan::Operation &a = plan_.operations[i], &b = plan_.operations[i + 1];
      // Turned over in the same clamping: same kind, same machine, nothing loaded anew.
      if (&a == &o_ && b.machine.value == a.machine.value && b.kind.value == a.kind.value && b.load_time.given() &&
          b.load_time.si == 0 && machine_work(b) && !(a.kind.value == "pallet")) {
        next_ = &b;
        c_.next = b.id.value;
      }
    }
  }

  void number_tools() {
    std::set<int> taken;
    std::vector<const plan::Operation*> both = {&o_};
    if (next_ != nullptr) both.push_back(next_);
    std::vector<std::string> ids;
    for (const plan::Operation* o : both)
      for (const plan::Cut& cut : o->cuts)
        if (std::find(ids.begin(), ids.end(), cut.tool.value) == ids.end()) ids.push_back(cut.tool.value);
    if (const std::string p = probe_id(); !p.empty() && std::find(ids.begin(), ids.end(), p) == ids.end())
      ids.push_back(p);
    for (const std::string& id : ids) {
      int n = number_in(id);
      while (n == 0 || taken.count(n) > 0) {
        n = n == 0 ? 1 : n + 1;
        c_.numbered.push_back(id);
      }
      taken.insert(n);
      numbers_[id] = n;
    }
    for (const std::string& id : c_.numbered)
      c_.notes.push_back(
          fmt::format("{} has no number of its own in its id: it is T{} in this program", id, numbers_[id]));
  }
  std::string probe_id() const {
    for (const plan::Cut& cut : o_.cuts)
      if (way_of(plan_, cut) == Way::probe) return cut.tool.value;
    for (const plan::Tool& t : plan_.tools)
      if (t.kind.value == "probe") return t.id.value;
    for (const plan::Tool& t : plan_.shop.tools)
      if (t.kind.value == "probe") return t.id.value;
    return {};
  }

  /// Places of nests for the tour: pallets one beside the other along X, as nobody says how they stand.
  std::vector<Vec3> tour_places(const SetUp& s) const {
    const auto& size = plan_.pallet.plate.size.value;
    const double pitch = size.empty() ? 1.0 : size[0] + 20e-3;
    std::vector<Vec3> out;
    for (const NestPlace& n : s.nests) out.push_back(n.at + Vec3{n.pallet * pitch, 0, 0});
    return out;
  }
  std::vector<int> tour(const SetUp& s) const {
    // Pallet by pallet: the way over a gap is never gained by going there twice.
    const std::vector<Vec3> all = tour_places(s);
    std::vector<int> out;
    for (int p = 0; p < std::max(1, s.pallets); ++p) {
      std::vector<int> mine;
      std::vector<Vec3> at;
      for (std::size_t i = 0; i < all.size(); ++i)
        if (s.nests[i].pallet == p) {
          mine.push_back(static_cast<int>(i));
          at.push_back(all[i]);
        }
      if (at.empty()) continue;
      std::vector<int> order = timing::nest_tour(at).order;
      const auto from = [&](int k) {
        return out.empty() ? 0.0
                           : frame::norm(at[static_cast<std::size_t>(k)] - all[static_cast<std::size_t>(out.back())]);
      };
      const bool turn = out.empty() ? order.back() < order.front() : from(order.back()) < from(order.front());
      if (turn) std::reverse(order.begin(), order.end());
      for (const int k : order) out.push_back(mine[static_cast<std::size_t>(k)]);
    }
    return out;
  }

  std::vector<int> cut_order(const plan::Operation& o) const {
    std::vector<int> order;
    for (std::size_t i = 0; i < o.cuts.size(); ++i) order.push_back(static_cast<int>(i));
    if (!options_.fewest_changes) return order;
    timing::OrderInputs in;
    const auto after = needs(o);
    for (std::size_t i = 0; i < o.cuts.size(); ++i) in.cuts.push_back({o.cuts[i].tool.value, after[i]});
    const Outcome<timing::OrderResult> r = timing::order(in);
    if (r.ok() && r->least < r->tool_by_tool) return r->least_order;
    return order;
  }

  void visits_of(const plan::Operation& o, const SetUp& s, const std::string& next) {
    const std::vector<int> round = tour(s);
    bool forth = true;
    std::string last;
    for (const int index : cut_order(o)) {
      const plan::Cut& cut = o.cuts[static_cast<std::size_t>(index)];
      if (way_of(plan_, cut) == Way::probe) {
        probes_.push_back({&o, index});
        continue;
      }
      CutSteps steps = cut_steps(plan_, o, static_cast<std::size_t>(index), s);
      for (const std::string& m : steps.missing)
        c_.missing.push_back(fmt::format("{} {}: {}", o.id.value, cut.tool.value, m));
      const bool again = last == cut.tool.value && !work_.empty() && work_.back().next == !next.empty();
      if (!again) {
        Work w;
        w.next = !next.empty();
        w.visit = c_.visits.size();
        Visit v;
        v.tool = cut.tool.value;
        v.number = numbers_[v.tool];
        const plan::Tool* t = plan::find_tool(plan_, v.tool);
        v.name = t != nullptr && t->name.known() ? t->name.value : v.tool;
        v.order = round;
        if (!forth) std::reverse(v.order.begin(), v.order.end());
        c_.visits.push_back(v);
        work_.push_back(w);
        forth = !forth;
      }
      last = cut.tool.value;
      add_cut(o, cut, index, s, std::move(steps));
    }
  }

  /// Somebody's blocks in their order.
  void visits_of_given() {
    c_.notes.insert(c_.notes.end(), given_->notes.begin(), given_->notes.end());
    c_.notes.push_back("made from a given program for one part: its zero is taken as the zero of each nest");
    for (const plan::Cut& cut : o_.cuts)
      if (way_of(plan_, cut) == Way::probe) probes_.push_back({&o_, 0});
    const std::vector<int> round = tour(c_.set_up);
    bool forth = true;
    for (const ToolBlock& b : given_->blocks) {
      Work w;
      w.visit = c_.visits.size();
      Visit v;
      v.number = b.tool;
      v.tool = fmt::format("T{}", b.tool);
      for (const auto& [id, n] : numbers_)
        if (n == b.tool) v.tool = id;
      const plan::Tool* t = plan::find_tool(plan_, v.tool);
      if (t == nullptr) c_.notes.push_back(fmt::format("T{} stands neither in the plan nor in the shop", b.tool));
      v.name = t != nullptr && t->name.known() ? t->name.value : v.tool;
      v.features = {fmt::format("lines {} to {}", b.first_line, b.last_line)};
      v.order = round;
      if (!forth) std::reverse(v.order.begin(), v.order.end());
      forth = !forth;
      c_.visits.push_back(v);
      work_.push_back(w);
      CutSteps steps;
      steps.steps = b.steps;
      steps.speed = b.speed;
      steps.feed = b.feed;
      steps.lowest = b.lowest;
      add_cut(o_, plan::Cut{}, 0, c_.set_up, std::move(steps));
    }
  }

  void add_cut(const plan::Operation& o, const plan::Cut& cut, int index, const SetUp& s, CutSteps steps) {
    Work& w = work_.back();
    Visit& v = c_.visits[w.visit];
    v.cuts.push_back(index);
    v.features.insert(v.features.end(), steps.features.begin(), steps.features.end());
    for (const std::string& n : steps.notes)
      if (std::find(v.notes.begin(), v.notes.end(), n) == v.notes.end()) v.notes.push_back(n);
    if (cut.time.known()) v.stated = v.stated.value_or(0) + cut.time.si;
    if (steps.steps.empty()) return;
    double way = 0;
    v.cutting += time_of(steps.steps, machine_, &way) / std::max(1, s.in_series);
    v.feed_way += way / std::max(1, s.in_series);
    if (w.empty) v.speed = steps.speed;  // it starts with that
    v.feed = steps.feed;
    v.centre_feed = steps.centre_feed;
    v.ring = steps.ring;
    v.lowest = w.empty ? steps.lowest : std::min(v.lowest, steps.lowest);
    if (w.empty) w.first = {steps.steps[0].x.value_or(0), steps.steps[0].y.value_or(0), 0};
    std::vector<double> turns;
    for (const NestPlace& n : s.nests)
      if (std::find(turns.begin(), turns.end(), n.turn) == turns.end()) turns.push_back(n.turn);
    if (w.empty) w.turns = turns;
    const bool same_speed = w.empty || v.cuts.size() < 2 || last_speed_ == steps.speed;
    Step spin;
    spin.what = Do::spindle;
    // With a second speed each part has to begin at the first one: the part before ended at the other.
    if (!same_speed && !w.speeds) {
      w.speeds = true;
      spin.speed = v.speed;
      for (const int id : w.subs) {
        Steps& begun = c_.subs[static_cast<std::size_t>(id - first_sub_)].steps;
        begun.insert(begun.begin(), spin);
      }
    }
    spin.speed = steps.speed;
    for (std::size_t k = 0; k < turns.size(); ++k) {
      Steps t = turned(steps.steps, turns[k]);
      if (!same_speed) t.insert(t.begin(), spin);
      if (w.empty) {
        w.subs.push_back(sub_number_);
        std::string words = fmt::format("{} {} {}", o.id.value, v.tool, base::join(v.features, " "));
        if (turns[k] != 0)
          words += fmt::format(", turned {} degrees", base::fixed(turns[k] * 180 / 3.14159265358979323846, 3));
        c_.subs.push_back({sub_number_++, words, std::move(t)});
      } else {
        Subprogram& sub = c_.subs[static_cast<std::size_t>(w.subs[k] - first_sub_)];
        sub.steps.insert(sub.steps.end(), t.begin(), t.end());
      }
    }
    last_speed_ = steps.speed;
    w.empty = false;
  }

  // ---- parameters -------------------------------------------------------------------------------------------------
  void parameter(std::string name, std::string words, bool kept, std::optional<double> start, bool length) {
    c_.parameters.push_back({std::move(name), std::move(words), kept, start, length});
  }
  void parameters() {
    const SetUp& s = c_.set_up;
    parameter("restart", "block to go on from, 0 from the beginning (see the restart table)", true, 0, false);
    parameter("at", "block that was begun last; the program writes it", true, 0, false);
    parameter("first", "1 first-piece mode: nest 1 alone, a stop after each tool", true, 0, false);
    if (s.sets > 1) parameter("set", fmt::format("set of pallets on the table, 1 to {}", s.sets), true, 1, false);
    // Its value is of this program alone, so that places of another job are never taken for its own.
    const std::string of = base::hash_hex(c_.plan + "|" + c_.operation + "|" + std::to_string(s.nests.size()) + "|" +
                                          std::to_string(s.sets));
    c_.key = 1000;
    for (const char ch : of.substr(0, 8)) c_.key = 1000 + (c_.key * 31 + ch) % 8999;
    parameter("known", fmt::format("{} once the places below are measured and typed in", c_.key), true, 0, false);
    parameter("written", "set whose zeros are written; the program writes it", true, 0, false);
    for (std::size_t i = 0; i < s.nests.size(); ++i)
      parameter(fmt::format("skip_{}", i + 1), fmt::format("1 leaves out {}", s.nests[i].words), true, 0, false);
    for (int k = 1; k <= s.sets; ++k)
      for (int p = 0; p < std::max(1, s.pallets); ++p)
        for (const char* axis : {"x", "y", "z"}) {
          const std::string where = !s.pallet ? std::string("middle of the clamping, plane that the parts rest on")
                                              : fmt::format("set {} pallet {}: middle of the plate, {}", k, p + 1,
                                                            s.floor < 0 ? "its top" : "plane that the parts rest on");
          parameter(fmt::format("base_{}_{}_{}", k, p + 1, axis), fmt::format("{}, machine {}", where, axis), true,
                    std::nullopt, true);
        }
    add_probe_parameters(plan_, o_, s, c_.parameters);
    for (std::size_t i = 0; i < s.nests.size(); ++i)
      parameter(fmt::format("out_{}", i + 1),
                fmt::format("1: {} is not cut in this run; the program writes it", s.nests[i].words), true, 0, false);
    parameter("bx", "place worked out, x", false, std::nullopt, true);
    parameter("by", "place worked out, y", false, std::nullopt, true);
    parameter("bz", "place worked out, z", false, std::nullopt, true);
  }

  /// Whole parts of an edge are counted in the control, so that it is changed between parts and never in one.
  void edges() {
    for (const Work& w : work_) {
      Visit& v = c_.visits[w.visit];
      const plan::Tool* t = plan::find_tool(plan_, v.tool);
      if (w.empty || t == nullptr || !t->parts_per_edge.known() || t->parts_per_edge.value < 1) continue;
      const int each = std::max(1, c_.set_up.in_series), n = static_cast<int>(v.order.size()) * each;
      v.edge = t->parts_per_edge.value;
      if (v.edge < each) {
        v.notes.push_back(fmt::format("an edge lasts {} parts, fewer than are cut at once: not counted", v.edge));
        v.edge = 0;
        continue;
      }
      v.notes.push_back(v.edge >= n
                            ? fmt::format("an edge lasts {} parts: changed after {} sets of {}", v.edge, v.edge / n, n)
                            : fmt::format("an edge lasts {} parts: changed within a set of {}", v.edge, n));
      const std::string name = fmt::format("used_{}", v.number);
      const bool there =
          std::any_of(c_.parameters.begin(), c_.parameters.end(), [&](const Parameter& p) { return p.name == name; });
      if (!there)
        parameter(name, fmt::format("parts that the edge of T{} has cut, of {}; 0 with a new edge", v.number, v.edge),
                  true, 0, false);
    }
  }

  // ---- the main program -------------------------------------------------------------------------------------------
  void remark(std::string words) { c_.main.push_back(words_step(Do::remark, std::move(words))); }
  void when(std::string left, Compare compare, std::string right) {
    Step s = plain(Do::when);
    s.left = std::move(left);
    s.compare = compare;
    s.right = std::move(right);
    c_.main.push_back(s);
  }
  void end_when() { c_.main.push_back(plain(Do::end_when)); }
  void set(std::string name, std::string text) {
    Step s = plain(Do::set);
    s.name = std::move(name);
    s.left = std::move(text);
    c_.main.push_back(s);
  }
  /// Stops with words until the condition no longer holds.
  void hold(const std::string& left, Compare compare, const std::string& right, const std::string& words) {
    Step s = plain(Do::again);
    s.left = left;
    s.compare = compare;
    s.right = right;
    c_.main.push_back(s);
    c_.main.push_back(words_step(Do::stop, words));
    c_.main.push_back(plain(Do::end_again));
  }

  void main() {
    const SetUp& s = c_.set_up;
    c_.main.push_back(plain(Do::safe_start));
    remark("what must be known before anything moves");
    hold("<known>", Compare::unequal, fmt::format("{}", c_.key),
         fmt::format("measure the places, type them in, then {} into <known>", c_.key));
    if (s.sets > 1) {
      hold("<set>", Compare::less, "1", "which set of pallets is on the table");
      hold("<set>", Compare::greater, fmt::format("{}", s.sets), "which set of pallets is on the table");
    }
    const std::string on_table = s.sets > 1 ? "<set>" : "1";
    remark("after a stop only with the zeros of the same parts");
    when("<restart>", Compare::greater, "0");
    hold("<written>", Compare::unequal, on_table, "zeros are of another set: begin anew, type 0 into <restart>");
    end_when();
    when("<restart>", Compare::equal, "0");
    set("written", "0");
    remark("one zero for each nest");
    for (int k = 1; k <= s.sets; ++k) {
      if (s.sets > 1) when("<set>", Compare::equal, fmt::format("{}", k));
      for (std::size_t i = 0; i < s.nests.size(); ++i) write_zero(k, i);
      if (s.sets > 1) end_when();
    }
    remark("what is cut in this run");
    for (std::size_t i = 0; i < s.nests.size(); ++i) set(fmt::format("out_{}", i + 1), "0");
    if (s.nests.size() > 1) {
      when("<first>", Compare::equal, "1");
      for (std::size_t i = 1; i < s.nests.size(); ++i) set(fmt::format("out_{}", i + 1), "1");
      end_when();
    }
    leave_out();
    probe_part();
    set("written", on_table);
    end_when();
    leave_out();
    bool turned_over = false;
    int block = 0;
    for (std::size_t i = 0; i < work_.size();) {
      const std::size_t end = end_of_group(i);
      if (!work_[i].empty) {
        if (work_[i].next && !turned_over) {
          turned_over = true;
          turn_over();
        }
        if (end == i + 1) visit(work_[i], ++block);
        else part_by_part(i, end, ++block);
      }
      i = end;
    }
    remark("done");
    set("restart", "0");
    set("at", "0");
    c_.main.push_back(plain(Do::retract));
    c_.main.push_back(plain(Do::end));
  }

  void leave_out() {
    for (std::size_t i = 0; i < c_.set_up.nests.size(); ++i) {
      when(fmt::format("<skip_{}>", i + 1), Compare::unequal, "0");
      set(fmt::format("out_{}", i + 1), "1");
      end_when();
    }
  }

  void write_zero(int set, std::size_t i) {
    const NestPlace& n = c_.set_up.nests[i];
    Step z = plain(Do::write_zero);
    z.nest = static_cast<int>(i) + 1;
    const auto base = [&](const char* axis) { return fmt::format("<base_{}_{}_{}>", set, n.pallet + 1, axis); };
    const auto text = [&](const char* axis, double d) {
      return d == 0 ? base(axis) : fmt::format("{} + {{{}}}", base(axis), base::shortest(d));
    };
    z.x_text = text("x", n.at.x);
    z.y_text = text("y", n.at.y);
    z.z_text = base("z");
    z.words = n.words;
    c_.main.push_back(z);
  }

  void probe_part() {
    const bool pins = c_.set_up.pallet && o_.zero.value == "probed pins";
    const bool shift = !probes_.empty() || (o_.shift.known() && !c_.set_up.pallet);
    if (!pins && !shift) return;
    const std::string id = probe_id();
    if (id.empty()) {
      c_.missing.push_back(
          fmt::format("{}: a probe in the shop (tool of kind probe); zeros are not probed", o_.id.value));
      return;
    }
    const plan::Tool* t = plan::find_tool(plan_, id);
    Probing p;
    p.tool = numbers_[id];
    p.name = t->name.known() ? t->name.value : id;
    p.ball = t->diameter.known() ? t->diameter.si : 0;
    Outcome<Steps> steps = pins ? probe_pins(plan_, c_.set_up, p) : probe_castings(plan_, o_, c_.set_up, p, c_.notes);
    if (!steps.ok()) {
      for (const Problem& q : steps.problems()) c_.missing.push_back(fmt::format("{} {}: {}", o_.id.value, id, q.what));
      return;
    }
    remark(pins ? "zeros again from two pins of each pallet" : "each casting found by probe");
    c_.main.insert(c_.main.end(), steps->begin(), steps->end());
  }

  void turn_over() {
    c_.main.push_back(plain(Do::retract));
    c_.main.push_back(plain(Do::safe_start));
    c_.main.push_back(
        words_step(Do::stop, fmt::format("turn the parts over for {}: {}", next_->id.value, next_->name.value)));
  }

  /// Past the last of the visits from `i` on that belong together.
  std::size_t end_of_group(std::size_t i) const {
    const auto with = [&](const Work& w, const std::vector<std::string>& group) {
      return !w.empty && std::find(group.begin(), group.end(), c_.visits[w.visit].tool) != group.end();
    };
    for (const auto& group : options_.together) {
      std::size_t end = i;
      while (end < work_.size() && work_[end].next == work_[i].next && with(work_[end], group)) ++end;
      if (end > i + 1) return end;
    }
    return i + 1;
  }

  void change_to(const Visit& v) {
    c_.main.push_back(plain(Do::safe_start));
    Step change = words_step(Do::tool_change, v.name);
    change.tool = v.number;
    c_.main.push_back(change);
    spin_at(v.speed);
  }
  void spin_at(double speed) {
    Step spin = plain(Do::spindle);
    spin.speed = speed;
    c_.main.push_back(spin);
  }
  /// Coolant and spindle off, tool at the top: nobody looks at a turning tool.
  void rest() {
    c_.main.push_back(plain(Do::coolant));
    spin_at(0);
    c_.main.push_back(plain(Do::retract));
  }
  void checks(Visit& v, bool next, int parts) {
    const BreakCheck check = break_check(plan_, next ? *next_ : o_, plan::find_tool(plan_, v.tool), parts);
    v.check_each = check.each;
    v.check_after = check.after;
  }

  /// All tools of a group on one nest, then the next nest.
  void part_by_part(std::size_t begin, std::size_t end, int block) {
    const SetUp& s = work_[begin].next ? next_up_ : c_.set_up;
    const std::vector<int> order = c_.visits[work_[begin].visit].order;
    const int g = static_cast<int>(end - begin), n = static_cast<int>(order.size()), base = 100 * block;
    std::string tools;
    for (std::size_t k = begin; k < end; ++k) {
      Visit& v = c_.visits[work_[k].visit];
      v.order = order;
      checks(v, work_[k].next, 1);
      v.check_each = v.check_each || v.check_after;  // after each part is after all that it has cut
      tools += (tools.empty() ? "T" : ", T") + std::to_string(v.number);
    }
    remark(fmt::format("block {} - {} one after the other on each part", base, tools));
    when("<restart>", Compare::at_most, fmt::format("{}", base + n * g));
    for (int k = 0; k < n; ++k)
      for (std::size_t w = begin; w < end; ++w)
        nest(work_[w], c_.visits[work_[w].visit], s, base + k * g + static_cast<int>(w - begin) + 1,
             static_cast<std::size_t>(order[static_cast<std::size_t>(k)]), false, true);
    end_when();
  }

  void visit(const Work& w, int block) {
    Visit& v = c_.visits[w.visit];
    const SetUp& s = w.next ? next_up_ : c_.set_up;
    const int n = static_cast<int>(v.order.size()), base = 100 * block;
    checks(v, w.next, n);
    remark(fmt::format("block {} - T{} {} - {}", base, v.number, v.name, base::join(v.features, " ")));
    when("<restart>", Compare::at_most, fmt::format("{}", base + n));
    c_.main.push_back(plain(Do::safe_start));
    const int each = std::max(1, s.in_series), whole = n * each;
    const std::string used = fmt::format("<used_{}>", v.number);
    const std::string worn = fmt::format("edge of T{0} is used up: put in a new one, type 0 into <used_{0}>", v.number);
    if (v.edge >= whole) hold(used, Compare::greater, fmt::format("{}", v.edge - whole), worn);
    change_to(v);
    for (int k = 0; k < n; ++k)
      nest(w, v, s, base + k + 1, static_cast<std::size_t>(v.order[static_cast<std::size_t>(k)]), k + 1 < n, false);
    rest();
    if (v.check_after || v.check_each)
      c_.main.push_back(words_step(Do::optional_stop,
                                   fmt::format("look at T{}: broken? then see the list of suspect parts", v.number)));
    when("<first>", Compare::equal, "1");
    c_.main.push_back(words_step(Do::stop, fmt::format("first piece: look at the part after T{}", v.number)));
    end_when();
    end_when();
  }

  void nest(const Work& w, const Visit& v, const SetUp& s, int block, std::size_t i, bool more, bool alone) {
    when("<restart>", Compare::at_most, fmt::format("{}", block));
    when(fmt::format("<out_{}>", i + 1), Compare::unequal, "1");
    set("at", fmt::format("{}", block));
    const int each = std::max(1, s.in_series);
    const std::string used = fmt::format("used_{}", v.number);
    if (alone) change_to(v);
    // Fewer parts to an edge than stand on the table: it is changed before the part that it would not finish.
    if (v.edge > 0 && (alone || v.edge < static_cast<int>(v.order.size()) * each)) {
      when("<" + used + ">", Compare::greater, fmt::format("{}", v.edge - each));
      c_.main.push_back(plain(Do::safe_start));
      hold("<" + used + ">", Compare::greater, fmt::format("{}", v.edge - each),
           fmt::format("edge of T{} is used up: put in a new one, type 0 into <{}>", v.number, used));
      spin_at(v.speed);
      end_when();
    }
    Step z = plain(Do::zero);
    z.nest = static_cast<int>(i) + 1;
    z.words = s.nests[i].words;
    c_.main.push_back(z);
    const std::size_t turn =
        static_cast<std::size_t>(std::find(w.turns.begin(), w.turns.end(), s.nests[i].turn) - w.turns.begin());
    const double a = s.nests[i].turn;
    Step go = plain(Do::rapid);
    go.x = std::cos(a) * w.first.x - std::sin(a) * w.first.y;
    go.y = std::sin(a) * w.first.x + std::cos(a) * w.first.y;
    c_.main.push_back(go);
    Step down = plain(Do::length_on);
    down.tool = v.number;
    down.z = s.safe;
    c_.main.push_back(down);
    Step wet = plain(Do::coolant);
    wet.count = 1;
    c_.main.push_back(wet);
    Step call = plain(Do::call);
    call.sub = w.subs[turn];
    c_.main.push_back(call);
    if (v.edge > 0) set(used, fmt::format("<{}> + {}", used, each));
    if (alone || (v.check_each && more)) rest();
    if (v.check_each && (more || alone)) {
      c_.main.push_back(words_step(Do::optional_stop, fmt::format("look at T{} before the next nest", v.number)));
      if (!alone) spin_at(v.speed);
    }
    if (alone) {
      when("<first>", Compare::equal, "1");
      c_.main.push_back(words_step(Do::stop, fmt::format("first piece: look at the part after T{}", v.number)));
      end_when();
    }
    end_when();
    end_when();
    RestartRow row;
    row.block = block;
    row.tool = fmt::format("T{} {}", v.number, v.name);
    row.nest = s.nests[i].words;
    std::string before;
    for (const int k : v.order) {
      before += (before.empty() ? "" : ", ") + s.nests[static_cast<std::size_t>(k)].words;
      if (static_cast<std::size_t>(k) == i) break;
    }
    row.suspects = v.check_each ? s.nests[i].words : before;
    c_.restarts.push_back(row);
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  const plan::Operation* next_ = nullptr;
  const Options& options_;
  const Blocks* given_ = nullptr;
  const plan::Machine* machine_ = nullptr;
  SetUp next_up_;
  Composition c_;
  std::vector<Work> work_;
  std::vector<std::pair<const plan::Operation*, int>> probes_;
  std::map<std::string, int> numbers_;
  int first_sub_ = 0, sub_number_ = 0;
  double last_speed_ = 0;
};

}  // namespace

std::vector<std::vector<int>> needs(const plan::Operation& o) {
  std::vector<std::vector<int>> out(o.cuts.size());
  for (std::size_t i = 0; i < o.cuts.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const std::string &a = o.cuts[i].kind.value, &b = o.cuts[j].kind.value;
      if (shares(o.cuts[i], o.cuts[j]) || (a == "finish" && b == "rough") || b == "probe")
        out[i].push_back(static_cast<int>(j));
    }
  return out;
}

std::vector<std::string> programmable(const plan::Plan& plan) {
  std::vector<std::string> out;
  for (const plan::Operation& o : plan.operations)
    if (machine_work(o)) out.push_back(o.id.value);
  return out;
}

double time_of(const Steps& steps, const plan::Machine* machine, double* feed_way) {
  timing::Motion motion;
  if (machine != nullptr && machine->rapid.known())
    motion = {machine->rapid.si, machine->acceleration.known() ? machine->acceleration.si : 0,
              machine->jerk.known() ? machine->jerk.si : 0};
  const auto fast = [&](double d) {
    if (!(motion.speed > 0) || !(d > 0)) return 0.0;
    const Outcome<double> t = timing::move_time(d, motion);
    return t.ok() ? *t : 0.0;
  };
  Vec3 at;
  bool placed = false;
  double time = 0, way = 0;
  for (const Step& s : steps) {
    Vec3 to{s.x.value_or(at.x), s.y.value_or(at.y), s.z.value_or(at.z)};
    if (s.what == Do::rapid) {
      if (placed) time += fast(frame::norm(to - at));
      at = to;
      placed = true;
    } else if (s.what == Do::line || s.what == Do::probe) {
      const double d = frame::norm(to - at);
      time += s.feed > 0 ? d / s.feed : 0;
      way += d;
      at = to;
    } else if (s.what == Do::arc) {
      const double r = std::hypot(at.x - s.centre.x, at.y - s.centre.y);
      double sweep =
          std::atan2(at.y - s.centre.y, at.x - s.centre.x) - std::atan2(to.y - s.centre.y, to.x - s.centre.x);
      if (!s.clockwise) sweep = -sweep;
      while (sweep < 1e-9) sweep += 2 * 3.14159265358979323846;
      const double d = std::hypot(r * sweep, to.z - at.z);
      time += s.feed > 0 ? d / s.feed : 0;
      way += d;
      at = to;
    } else if (s.what == Do::cycle) {
      to.z = at.z;
      time += fast(frame::norm(to - at)) + fast(at.z - s.clear);
      const double deep = s.clear - *s.z, feed = s.feed > 0 ? deep / s.feed : 0;
      const bool both = s.cycle == Cycle::tap || s.cycle == Cycle::bore_out_at_feed;
      time += both ? 2 * feed + fast(at.z - s.clear) : feed + fast(at.z - *s.z);
      way += both ? 2 * deep : deep;
      if (s.cycle == Cycle::peck && s.peck > 0)
        for (double d = s.peck; d < deep; d += s.peck) time += 2 * fast(d);
      at = to;
    } else if (s.what == Do::dwell) {
      time += s.seconds;
    }
  }
  if (feed_way != nullptr) *feed_way = way;
  return time;
}

namespace {
Outcome<Composition> composed(const plan::Plan& plan, const std::string& operation, const Options& options,
                              const Blocks* given) {
  const plan::Operation* o = plan::find_operation(plan, operation);
  const std::vector<std::string> all = programmable(plan);
  const bool work = o != nullptr && (machine_work(*o) || (given != nullptr && o->up.known()));
  if (!work)
    return bad(o == nullptr ? "no such operation in the plan" : "no machine work with cuts in this operation",
               operation, all.empty() ? "an operation with cuts" : base::join(all, ", "),
               base::nearest(operation, all));
  return Composer(plan, *o, options, given).make();
}
}  // namespace

Outcome<Composition> compose(const plan::Plan& plan, const std::string& operation, const Options& options) {
  return composed(plan, operation, options, nullptr);
}

Outcome<Composition> compose(const plan::Plan& plan, const std::string& operation, const Blocks& given,
                             const Options& options) {
  return composed(plan, operation, options, &given);
}

}  // namespace fettle::compose
