#include "compose/probing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/read.h"
#include "study/internal.h"

namespace fettle::compose {

using frame::Vec3;

namespace {

constexpr double mm = 1e-3;
constexpr double probe_feed = 100 * mm / 60;  // common practice
constexpr double reach = 8 * mm;              // before and behind the place where the ball should touch
constexpr double most_off = 0.3 * mm;         // of a pallet against its measured place, turn included
constexpr double usual_skin = 0.8 * mm;

std::string len(double si) { return fmt::format("{{{}}}", base::shortest(si)); }

class Block {
 public:
  Block(const SetUp& s, const Probing& p) : s_(s), p_(p) {}

  void begin() {
    add(Do::safe_start);
    Step& t = add(Do::tool_change);
    t.tool = p_.tool;
    t.words = p_.name;
    add(Do::coolant);
  }
  void end() { add(Do::retract); }
  void remark(std::string words) { add(Do::remark).words = std::move(words); }
  void zero(std::size_t nest) {
    Step& z = add(Do::zero);
    z.nest = static_cast<int>(nest) + 1;
    z.words = s_.nests[nest].words;
  }
  void write_zero(std::size_t nest, std::string x, std::string y, std::string z) {
    Step& w = add(Do::write_zero);
    w.nest = static_cast<int>(nest) + 1;
    w.words = s_.nests[nest].words;
    w.x_text = std::move(x);
    w.y_text = std::move(y);
    w.z_text = std::move(z);
  }
  void set(std::string name, std::string text) {
    Step& s = add(Do::set);
    s.name = std::move(name);
    s.left = std::move(text);
  }
  void when(std::string left, Compare c, std::string right) {
    Step& s = add(Do::when);
    s.left = std::move(left);
    s.compare = c;
    s.right = std::move(right);
  }
  void end_when() { add(Do::end_when); }
  void stop(std::string words) { add(Do::stop).words = std::move(words); }
  void over(const std::string& x, const std::string& y) {
    Step& s = add(Do::rapid);
    s.x_text = x;
    s.y_text = y;
  }
  void high() {
    Step& s = add(Do::length_on);
    s.tool = p_.tool;
    s.z = s_.safe;
  }
  void down(const std::string& z) {
    // Not in rapid: nothing is known for sure where a probe goes down.
    Step& s = add(Do::line);
    s.z_text = z;
    s.feed = 1000 * mm / 60;
  }
  void up() { add(Do::rapid).z = s_.safe; }
  /// Along one axis until it touches; the reading goes into `name`. Stops for good when nothing was touched.
  void touch(char axis, const std::string& to, const std::string& name, const std::string& expected) {
    Step& s = add(Do::probe);
    (axis == 'x' ? s.x_text : axis == 'y' ? s.y_text : s.z_text) = to;
    s.feed = probe_feed;
    s.left = expected;
    set(name, fmt::format("<probe_{}>", axis));
    Step& a = add(Do::again);
    a.left = fmt::format("ABS[<{}> - [{}]]", name, to);
    a.compare = Compare::less;
    a.right = len(0.05 * mm);
    stop("the probe touched nothing: look, then begin again");
    add(Do::end_again);
  }
  /// One side: over it, down beside, in until it touches, up again. `sign`: from which side.
  void side(char axis, int sign, const std::string& at, const std::string& other, const std::string& z,
            const std::string& name, double run) {
    const std::string away = fmt::format("{} {} {}", at, sign > 0 ? "+" : "-", len(run)),
                      behind = fmt::format("{} {} {}", at, sign > 0 ? "-" : "+", len(reach));
    over(axis == 'x' ? away : other, axis == 'x' ? other : away);
    down(z);
    touch(axis, behind, name, fmt::format("{} {} {}", at, sign > 0 ? "+" : "-", len(0.5 * p_.ball)));
    Step& back = add(Do::line);
    (axis == 'x' ? back.x_text : back.y_text) = away;
    back.feed = 1000 * mm / 60;
    up();
  }
  /// Inside a hole: from its middle outwards.
  void inside(char axis, int sign, const std::string& name, double middle, double to, double expected) {
    touch(axis, len(middle + sign * to), name, len(middle + sign * expected));
    Step& back = add(Do::line);
    (axis == 'x' ? back.x : back.y) = middle;
    back.feed = 1000 * mm / 60;
  }
  Step& add(Do what) {
    Step s;
    s.what = what;
    steps_.push_back(std::move(s));
    return steps_.back();
  }
  Steps take() { return std::move(steps_); }

 private:
  const SetUp& s_;
  const Probing& p_;
  Steps steps_;
};

struct Core {
  bool there = false, opens = false;
  Vec3 at;              // program frame, top of the core
  double diameter = 0;  // m, raw
  double finished = 0;  // m
};

Core core_of(const plan::Plan& plan, const SetUp& s) {
  Core c;
  for (const plan::Core& core : plan.casting.cores)
    for (const std::string& id : core.features.value) {
      const plan::Feature* f = plan::find_feature(plan, id);
      const study::Surface q = study::surface_of(plan, id);
      if (f == nullptr || !q.there || !q.round) continue;
      for (const plan::CastSize& size : plan.casting.sizes)
        if (size.feature.value == id && size.raw.known() && size.kind.value != "height") {
          c.there = true;
          c.diameter = size.raw.si;
          c.finished = 2 * q.radius;
          const double half = 0.5 * std::fabs(q.to - q.from);
          Vec3 a = s.X_NP * (q.point + half * q.normal), b = s.X_NP * (q.point - half * q.normal);
          const Vec3 n = f->normal.known() ? frame::rotate(s.X_NP, study::direction(f->normal.value)) : Vec3{0, 0, 1};
          c.at = a.z > b.z ? a : b;
          c.opens = n.z > 0.9 && std::fabs(c.at.z - s.top) < 5 * mm;
        }
    }
  return c;
}

/// The text of one component of the part's X, Y in the program's frame: "<core_1_x>", "-<core_1_y>".
std::string turned_text(const SetUp& s, int row, const std::string& x, const std::string& y) {
  const double a = s.X_NP.R[static_cast<std::size_t>(3 * row)], b = s.X_NP.R[static_cast<std::size_t>(3 * row + 1)];
  if (std::fabs(a) > 0.5) return a > 0 ? x : "0 - " + x;
  if (std::fabs(b) > 0.5) return b > 0 ? y : "0 - " + y;
  return "0";
}

std::vector<char> probed_axes(const plan::Plan& plan, const plan::Operation& o, const SetUp& s) {
  std::vector<char> axes;
  for (const plan::Locator& l : o.locators) {
    if (l.kind.value != "centre") continue;
    const study::Surface q = study::surface_of(plan, l.on.value.substr(0, l.on.value.find(' ')));
    const Vec3 n = frame::rotate(s.X_NP, q.normal);
    const char axis = std::fabs(n.x) > 0.9 ? 'x' : 'y';
    if (q.there && std::find(axes.begin(), axes.end(), axis) == axes.end()) axes.push_back(axis);
  }
  return axes;
}

double stock_on(const plan::Plan& plan, const plan::Operation& o, const SetUp& s, char axis) {
  double most = 0;
  for (const plan::Feature& f : plan.features)
    for (const std::string& side : study::sides_of(f)) {
      const study::Surface q = study::surface_of(plan, side);
      if (!q.there || q.round || f.over.known()) continue;
      const Vec3 n = frame::rotate(s.X_NP, q.normal);
      if (std::fabs(axis == 'x' ? n.x : n.y) > 0.9) most = std::max(most, stock_before(plan, o, 0, side).value_or(0));
    }
  return most;
}

/// The casting is named and left out of this run.
void reject(Block& b, const SetUp& s, std::size_t i, const std::string& n, const std::string& why) {
  b.stop(fmt::format("{}: {}. It is left out", s.nests[i].words, why));
  b.set("out_" + n, "1");
}

bool shifts(const plan::Operation& o) { return o.shift.known() && !o.shift.value.empty(); }

}  // namespace

void add_probe_parameters(const plan::Plan& plan, const plan::Operation& o, const SetUp& s,
                          std::vector<Parameter>& out) {
  const auto kept = [&](std::string name, std::string words) {
    out.push_back({std::move(name), std::move(words), true, std::nullopt, true});
  };
  const auto work = [&](std::string name) {
    out.push_back({std::move(name), "worked out by the probing block", false, std::nullopt, true});
  };
  if (s.pallet && o.zero.value == "probed pins") {
    for (int k = 1; k <= 2; ++k)
      for (const char* axis : {"x", "y"})
        kept(fmt::format("pin_{}_{}", k, axis),
             fmt::format("probing pin {} from the middle of the plate, {}", k, axis));
    kept("pin_d", "diameter of the probing pins");
    kept("pin_top", "top of the probing pins above Z0");
    for (const char* n : {"m1", "m2", "c1x", "c1y", "c2x", "c2y", "nx", "ny", "gx", "gy"}) work(n);
    for (const char* n : {"turn", "grow", "long"})
      out.push_back({n, "worked out by the probing block", false, std::nullopt, false});
    return;
  }
  if (s.pallet || (!shifts(o) && probed_axes(plan, o, s).empty())) return;
  const Core core = core_of(plan, s);
  if (shifts(o) && core.there && !core.opens)
    for (std::size_t i = 0; i < s.nests.size(); ++i)
      for (const char* axis : {"x", "y"})
        out.push_back(
            {fmt::format("core_{}_{}", i + 1, axis),
             fmt::format("{}: core from the middle of the outside along the part's {}, as measured on this casting",
                         s.nests[i].words, axis),
             true, 0, true});
  for (const char* n : {"m1", "m2", "mx", "my", "lx", "ly", "cx", "cy", "sx", "sy", "core_d", "spare"}) work(n);
}

Outcome<Steps> probe_pins(const plan::Plan& plan, const SetUp& s, const Probing& p) {
  static_cast<void>(plan);
  if (!(p.ball > 0)) return bad(fmt::format("tool.diameter of the probe {}: its ball", p.name));
  Block b(s, p);
  b.begin();
  for (int pallet = 0; pallet < s.pallets; ++pallet) {
    std::vector<std::size_t> mine;
    for (std::size_t i = 0; i < s.nests.size(); ++i)
      if (s.nests[i].pallet == pallet) mine.push_back(i);
    if (mine.empty()) continue;
    b.remark(fmt::format("pallet {}", pallet + 1));
    for (int k = 1; k <= s.sets; ++k) {
      if (s.sets > 1) b.when("<set>", Compare::equal, fmt::format("{}", k));
      for (const char* axis : {"x", "y", "z"})
        b.set(fmt::format("b{}", axis), fmt::format("<base_{}_{}_{}>", k, pallet + 1, axis));
      if (s.sets > 1) b.end_when();
    }
    // For the time of probing the first nest's zero stands in the middle of the plate.
    b.write_zero(mine[0], "<bx>", "<by>", "<bz>");
    b.zero(mine[0]);
    b.over("<pin_1_x>", "<pin_1_y>");
    b.high();
    for (int k = 1; k <= 2; ++k) {
      const std::string x = fmt::format("<pin_{}_x>", k), y = fmt::format("<pin_{}_y>", k),
                        z = "<pin_top> - " + len(4 * mm);
      const double ball = 0.5 * p.ball, run = ball + 6 * mm;
      for (const char axis : {'x', 'y'}) {
        const std::string at = axis == 'x' ? x : y, other = axis == 'x' ? y : x;
        b.side(axis, -1, fmt::format("{} - <pin_d> / 2", at), other, z, "m1", run);
        b.side(axis, 1, fmt::format("{} + <pin_d> / 2", at), other, z, "m2", run);
        b.set(fmt::format("c{}{}", k, axis), "[<m1> + <m2>] / 2");
      }
    }
    b.set("nx", "<pin_2_x> - <pin_1_x>");
    b.set("ny", "<pin_2_y> - <pin_1_y>");
    b.set("gx", "<c2x> - <c1x>");
    b.set("gy", "<c2y> - <c1y>");
    b.set("long", "<nx> * <nx> + <ny> * <ny>");
    b.set("turn", "[<nx> * <gy> - <ny> * <gx>] / <long>");
    b.set("grow", "[<nx> * <gx> + <ny> * <gy>] / <long> - 1");
    b.set("gx", "<c1x> - <pin_1_x> - <grow> * <pin_1_x> + <turn> * <pin_1_y>");
    b.set("gy", "<c1y> - <pin_1_y> - <grow> * <pin_1_y> - <turn> * <pin_1_x>");
    for (const char* what : {"<gx>", "<gy>", "<turn> * {0.3}"}) {
      Step& a = b.add(Do::again);
      a.left = fmt::format("ABS[{}]", what);
      a.compare = Compare::greater;
      a.right = len(most_off);
      b.stop("pallet stands off by more than 0.3 mm: dirt under it? seat it again");
      b.add(Do::end_again);
    }
    for (const std::size_t i : mine) {
      const Vec3 at = s.nests[i].at;
      b.write_zero(i, fmt::format("<bx> + <gx> + {} * [1 + <grow>] - {} * <turn>", len(at.x), len(at.y)),
                   fmt::format("<by> + <gy> + {} * [1 + <grow>] + {} * <turn>", len(at.y), len(at.x)), "<bz>");
    }
  }
  b.end();
  return b.take();
}

Outcome<Steps> probe_castings(const plan::Plan& plan, const plan::Operation& o, const SetUp& s, const Probing& p,
                              std::vector<std::string>& notes) {
  if (!(p.ball > 0)) return bad(fmt::format("tool.diameter of the probe {}: its ball", p.name));
  const Core core = core_of(plan, s);
  const std::vector<char> axes = probed_axes(plan, o, s);
  const Vec3 most = shifts(o) ? o.shift.value[0] : Vec3{};
  const double skin = plan.casting.skin.known() ? plan.casting.skin.si : usual_skin;
  if (shifts(o) && core.there && !core.opens)
    notes.push_back(
        "the core opens away from the spindle here: its place on each casting is measured beforehand and typed in");
  if (shifts(o) && !core.there) notes.push_back("no cored bore with a raw size in the plan: the zero is not shifted");
  double mid_z = 0.5 * s.top;
  if (plan.casting.parting.known() && std::fabs(s.X_NP.R[8]) > 0.9)
    mid_z = (s.X_NP * Vec3{0, 0, plan.casting.parting.si}).z;
  double gap = 1;
  for (std::size_t i = 1; i < s.nests.size(); ++i)
    gap = std::min(gap, std::fabs(s.nests[i].at.x - s.nests[i - 1].at.x));

  Block b(s, p);
  b.begin();
  for (std::size_t i = 0; i < s.nests.size(); ++i) {
    const std::string n = fmt::format("{}", i + 1);
    b.when("<out_" + n + ">", Compare::unequal, "1");
    b.remark(s.nests[i].words);
    b.zero(i);
    b.over("0", "0");
    b.high();
    for (const char* v : {"mx", "my", "sx", "sy"}) b.set(v, "0");
    for (const char axis : axes) {
      const double stock = stock_on(plan, o, s, axis),
                   half = 0.5 * (axis == 'x' ? s.high_x - s.low_x : s.high_y - s.low_y);
      const double room = axis == 'x' && s.nests.size() > 1 ? gap - 2 * half - 2 * stock - p.ball : 1.0;
      const double run = 0.5 * p.ball + std::clamp(0.5 * room, 2 * mm, 8 * mm);
      b.side(axis, -1, len(-half - stock), "0", len(mid_z), "m1", run);
      b.side(axis, 1, len(half + stock), "0", len(mid_z), "m2", run);
      b.set(fmt::format("m{}", axis), "[<m1> + <m2>] / 2");
      b.set(fmt::format("l{}", axis), fmt::format("<m2> - <m1> - {}", len(p.ball)));
    }
    if (shifts(o) && core.there) {
      if (core.opens) {
        b.over(len(core.at.x), len(core.at.y));
        b.down(len(core.at.z - 6 * mm));
        const double touch = 0.5 * (core.diameter - p.ball), to = touch + reach;
        b.inside('x', -1, "m1", core.at.x, to, touch);
        b.inside('x', 1, "m2", core.at.x, to, touch);
        b.set("cx", "[<m1> + <m2>] / 2 - <mx>");
        b.inside('y', -1, "m1", core.at.y, to, touch);
        b.inside('y', 1, "m2", core.at.y, to, touch);
        b.set("cy", "[<m1> + <m2>] / 2 - <my>");
        b.set("core_d", fmt::format("<m2> - <m1> + {}", len(p.ball)));
        b.up();
      } else {
        const std::string x = "<core_" + n + "_x>", y = "<core_" + n + "_y>";
        b.set("cx", turned_text(s, 0, x, y));
        b.set("cy", turned_text(s, 1, x, y));
        b.set("core_d", len(core.diameter));
      }
      const Vec3 box{std::fabs(s.X_NP.R[0] * most.x) + std::fabs(s.X_NP.R[1] * most.y),
                     std::fabs(s.X_NP.R[3] * most.x) + std::fabs(s.X_NP.R[4] * most.y), 0};
      for (const char axis : {'x', 'y'}) {
        const std::string shift = fmt::format("<s{}>", axis), name = fmt::format("s{}", axis);
        const double limit = axis == 'x' ? box.x : box.y;
        b.set(name, fmt::format("<c{}>", axis));
        b.when(shift, Compare::greater, len(limit));
        b.set(name, len(limit));
        b.end_when();
        b.when(shift, Compare::less, len(-limit));
        b.set(name, len(-limit));
        b.end_when();
      }
      // What the core stands off beyond the shift must still leave metal under the skin all round the bore.
      b.set("spare", fmt::format("[{} - <core_d>] / 2 - {}", len(core.finished), len(skin)));
      const std::string off = "[<cx> - <sx>] * [<cx> - <sx>] + [<cy> - <sy>] * [<cy> - <sy>]";
      b.when("<spare>", Compare::less, "0");
      reject(b, s, i, n, "core too large");
      b.end_when();
      b.when(off, Compare::greater, "<spare> * <spare>");
      reject(b, s, i, n, "core too far out for the shift allowed");
      b.end_when();
    }
    for (const char axis : axes) {
      const double full = axis == 'x' ? s.high_x - s.low_x : s.high_y - s.low_y;
      b.when(fmt::format("[<l{}> - {}] / 2 - ABS[<s{}>]", axis, len(full), axis), Compare::less, len(skin));
      reject(b, s, i, n, "too little metal at one end");
      b.end_when();
    }
    const auto text = [&](const char* axis, double at) {
      return fmt::format("<base_1_1_{}> + {} + <m{}> + <s{}>", axis, len(at), axis, axis);
    };
    b.write_zero(i, text("x", s.nests[i].at.x), text("y", s.nests[i].at.y), "<base_1_1_z>");
    b.end_when();
  }
  b.end();
  return b.take();
}

}  // namespace fettle::compose
