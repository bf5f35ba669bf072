#include "compose/cuts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/timing/order.h"
#include "compose/track.h"
#include "plan/read.h"
#include "ref/threads.h"
#include "study/internal.h"

namespace fettle::compose {

using frame::Vec3;

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double mm = 1e-3;
// Common practice, each said in the notes of the program where it is used.
constexpr double above = 2 * mm;             // feed begins this far above the metal
constexpr double through = 1 * mm;           // a drill's corners beyond the far side
constexpr double leave_side = 0.25 * mm;     // stock for a finish pass
constexpr double leave_floor = 0.2 * mm;     // stock on a floor for its last pass
constexpr double air_feed = 3000 * mm / 60;  // going down in the open
constexpr double ramp = 3 * pi / 180;        // of a helix into solid metal
constexpr double chamfer_leg = 0.5 * mm;     // of a broken edge
constexpr double peck_from = 4;              // diameters deep: from here on chips are cleared
constexpr double lead_room = 2 * mm;         // clear of raw stock before a cutter goes in

std::optional<double> middle(const plan::Limits& l) {
  const unit::Limits& v = l.value;
  if (!l.known()) return {};
  if (v.lower && v.upper) return 0.5 * (*v.lower + *v.upper);
  return v.nominal;
}

/// A hole or round feature as it stands in the program's frame.
struct Round {
  Vec3 top, bottom;  // on the axis
  bool reachable = false;
  double diameter = 0;
};

class Maker {
 public:
  Maker(const plan::Plan& plan, const plan::Operation& o, std::size_t index, const SetUp& s)
      : plan_(plan), o_(o), cut_(o.cuts[index]), index_(index), s_(s), t_(0) {}

  CutSteps make() {
    tool_ = plan::find_tool(plan_, cut_.tool.value);
    if (tool_ == nullptr) return lack(fmt::format("no tool {} in the shop or the plan", cut_.tool.value));
    way_ = way_of(plan_, cut_);
    if (way_ == Way::probe) return std::move(out_);
    if (!cut_.speed.known() || !(cut_.speed.si > 0))
      lack(fmt::format("operation.cut.speed of {} in {}", cut_.tool.value, o_.id.value));
    diameter_ = tool_->diameter.known() ? tool_->diameter.si : 0;
    if (!(diameter_ > 0)) lack(fmt::format("tool.diameter of {}", cut_.tool.value));
    feed();
    if (cut_.features.value.empty())
      lack(fmt::format("operation.cut.features of {} in {}: what it cuts", cut_.tool.value, o_.id.value));
    if (!out_.missing.empty()) return std::move(out_);
    t_.set_feed(out_.feed);
    out_.lowest = s_.safe;
    switch (way_) {
      case Way::drill:
      case Way::ream:
      case Way::tap:
      case Way::bore:
        holes();
        break;
      default:
        each_feature();
        break;
    }
    out_.steps = t_.take();
    compare_length();
    for (const Step& st : out_.steps)
      if (st.z) out_.lowest = std::min(out_.lowest, *st.z);
    if (out_.lowest < s_.floor - 1e-9)
      note(fmt::format("goes {} below Z0: is there room under the edge of the part?", in_mm(s_.floor - out_.lowest)));
    return std::move(out_);
  }

 private:
  CutSteps lack(std::string words) {
    out_.missing.push_back(std::move(words));
    return out_;
  }
  void note(std::string words) {
    if (std::find(out_.notes.begin(), out_.notes.end(), words) == out_.notes.end())
      out_.notes.push_back(std::move(words));
  }
  static std::string in_mm(double si) { return base::fixed(si / mm, 2) + " mm"; }
  bool rough_only() const { return cut_.kind.value == "rough"; }

  /// A plan that counts on a much longer way than its features give means more than it names.
  void compare_length() {
    if (!cut_.length.known() || way_ == Way::drill || way_ == Way::ream || way_ == Way::tap || way_ == Way::bore)
      return;
    double made = 0;
    frame::Vec3 at;
    for (const Step& s : out_.steps) {
      const Vec3 to{s.x.value_or(at.x), s.y.value_or(at.y), s.z.value_or(at.z)};
      if (s.what == Do::line && s.feed < 0.99 * air_feed) made += frame::norm(to - at);
      if (s.what == Do::arc) {
        const double r = std::hypot(at.x - s.centre.x, at.y - s.centre.y), chord = std::hypot(to.x - at.x, to.y - at.y);
        made += 2 * r * std::asin(std::clamp(0.5 * chord / r, 0.0, 1.0));
      }
      at = to;
    }
    const double planned = cut_.length.si * std::max(1, cut_.passes.known() ? cut_.passes.value : 1);
    if (planned > 1.25 * made)
      note(fmt::format("the plan counts on a way of {}, its features give {}: does it mean more edges than it names?",
                       in_mm(planned), in_mm(made)));
  }

  void feed() {
    out_.speed = cut_.speed.known() ? cut_.speed.si : 0;
    if (way_ == Way::tap) return;
    if (cut_.feed.known()) out_.feed = cut_.feed.si;
    else if (cut_.feed_per_tooth.known() && tool_->teeth.known())
      out_.feed = cut_.feed_per_tooth.si * tool_->teeth.value * out_.speed / (2 * pi);
    if (!(out_.feed > 0)) lack(fmt::format("operation.cut.feed of {} in {}", cut_.tool.value, o_.id.value));
  }

  // ---- where things are -------------------------------------------------------------------------------------------
  Vec3 in_program(Vec3 p) const { return s_.X_NP * p; }

  Round round_of(const plan::Feature& f, std::size_t i) const {
    Round r;
    const study::Surface q =
        study::surface_of(plan_, f.at.value.size() > 1 ? fmt::format("{}@{}", f.id.value, i + 1) : f.id.value);
    if (!q.there || !q.round) return r;
    const double half = 0.5 * std::fabs(q.to - q.from);
    Vec3 a = in_program(q.point + half * q.normal), b = in_program(q.point - half * q.normal);
    if (a.z < b.z) std::swap(a, b);
    r.reachable = std::hypot(a.x - b.x, a.y - b.y) < 1e-7;
    // It opens towards the spindle when its outward normal does, or when the plan does not say.
    if (f.normal.known() && f.kind.value != "hole" && f.kind.value != "bore") {
      const Vec3 n = frame::rotate(s_.X_NP, study::direction(f.normal.value));
      r.reachable = r.reachable && n.z > 0.5;
    }
    r.top = a;
    r.bottom = b;
    r.diameter = 2 * q.radius;
    return r;
  }

  /// Metal that stands over the surface at height z with normal up, m.
  double over_face(double z) const {
    double most = 0;
    for (const plan::Feature& f : plan_.features)
      for (const std::string& side : study::sides_of(f)) {
        const study::Surface q = study::surface_of(plan_, side);
        if (!q.there || q.round || f.over.known()) continue;
        const Vec3 n = frame::rotate(s_.X_NP, q.normal);
        if (n.z > 0.9 && std::fabs(in_program(q.point).z - z) < 1e-5)
          most = std::max(most, stock_before(plan_, o_, index_, side).value_or(0));
      }
    return most;
  }
  /// Metal beyond the far end of a hole, on a surface that faces away from the spindle at height z; nothing where no
  /// surface is there: a blind hole.
  std::optional<double> beyond_end(Vec3 end) const {
    std::optional<double> most;
    for (const plan::Feature& f : plan_.features)
      for (const std::string& side : study::sides_of(f)) {
        const study::Surface q = study::surface_of(plan_, side);
        if (!q.there || q.round || f.over.known()) continue;
        const Vec3 n = frame::rotate(s_.X_NP, q.normal), at = in_program(q.point);
        if (!(n.z < -0.9) || std::fabs(at.z - end.z) > 1e-5) continue;
        const bool covers = std::hypot(at.x - end.x, at.y - end.y) <= 0.5 * std::hypot(q.extent_u, q.extent_v) + 1e-6;
        if (covers) most = std::max(most.value_or(0), stock_before(plan_, o_, index_, side).value_or(0));
      }
    // A profile that reaches down to there ends in the open as well.
    if (!most && std::fabs(end.z - part_bottom()) < 1e-5) most = 0.0;
    return most;
  }
  double part_bottom() const {
    const auto& size = plan_.part.size.value;
    const Vec3 up = study::direction(o_.up.value);
    const double h = std::fabs(up.x) > 0.5 ? size[0] : std::fabs(up.y) > 0.5 ? size[1] : size[2];
    double top = -1e9;
    for (const plan::Feature& f : plan_.features)
      for (const std::string& side : study::sides_of(f)) {
        const study::Surface q = study::surface_of(plan_, side);
        if (q.there && !q.round && !f.over.known() && frame::rotate(s_.X_NP, q.normal).z > 0.9)
          top = std::max(top, in_program(q.point).z);
      }
    return top > -1e8 ? top - h : 0;
  }
  bool later_finish(const std::string& id) const {
    bool after = false;
    for (const plan::Operation& x : plan_.operations)
      for (std::size_t i = 0; i < x.cuts.size(); ++i) {
        if (&x == &o_ && i == index_) {
          after = true;
          continue;
        }
        const std::string& k = x.cuts[i].kind.value;
        const bool names = std::any_of(x.cuts[i].features.value.begin(), x.cuts[i].features.value.end(),
                                       [&](const std::string& r) { return plan::parse_reference(r).id == id; });
        if (after && names && (k == "finish" || k == "ream" || k == "bore" || k == "rough and finish")) return true;
      }
    return false;
  }
  double left_on(const std::string& id) const {
    if (cut_.stock.known()) return cut_.stock.si;
    return later_finish(id) ? leave_side : 0;
  }
  /// How far down an axis stands free for this tool before the cut, with some room: cored or made holes round it.
  double free_down(Vec3 axis, double top) const {
    double free = top;
    for (const plan::Feature& f : plan_.features) {
      for (std::size_t i = 0; i < f.at.value.size(); ++i) {
        const Round r = round_of(f, i);
        if (!(r.diameter > 0) || std::hypot(r.top.x - axis.x, r.top.y - axis.y) > 1e-5) continue;
        if (r.top.z < free - 3 * mm) continue;  // there is metal between
        double d = r.diameter, bottom = r.bottom.z;
        bool open = made_before(plan_, o_, index_, f.id.value);
        for (const plan::CastSize& c : plan_.casting.sizes)
          if (!open && c.feature.value == f.id.value && c.raw.known() && c.kind.value != "height") {
            d = c.raw.si;
            open = true;
            bottom += over_face(r.bottom.z);
          }
        if (open && d > diameter_ + 1 * mm) free = std::min(free, bottom);
      }
    }
    return free;
  }

  // ---- going there ------------------------------------------------------------------------------------------------
  void above_place(double x, double y, double top) {
    t_.rapid(x, y);
    t_.rapid_z(top + above);
  }
  void leave() { t_.rapid_z(s_.safe); }

  // ---- holes ------------------------------------------------------------------------------------------------------
  void holes() {
    struct Place {
      Round r;
      const plan::Feature* f;
    };
    std::vector<Place> all;
    for (const std::string& text : cut_.features.value) {
      const plan::Reference ref = plan::parse_reference(text);
      const plan::Feature* f = plan::find_feature(plan_, ref.id);
      if (f == nullptr) continue;
      bool some = false;
      for (std::size_t i = 0; i < f->at.value.size(); ++i) {
        if (ref.index > 0 && static_cast<std::size_t>(ref.index) != i + 1) continue;
        const Round r = round_of(*f, i);
        if (r.reachable && r.diameter > 0) all.push_back({r, f});
        some = some || (r.reachable && r.diameter > 0);
      }
      if (some) out_.features.push_back(text);
      else if (f->kind.value != "face")
        lack(fmt::format("{}: no hole that opens towards the spindle in {}", text, o_.id.value));
    }
    if (all.empty()) return;
    std::vector<Vec3> places;
    for (const Place& p : all) places.push_back({p.r.top.x, p.r.top.y, 0});
    const timing::Tour tour = timing::nest_tour(places);
    bool first = true;
    for (const int k : tour.order) {
      const Place& p = all[static_cast<std::size_t>(k)];
      hole(p.r, *p.f, first);
      first = false;
    }
    leave();
  }

  double depth_to(const Round& r, const plan::Feature& f, double full, std::optional<double>& beyond) {
    const double bottom = r.top.z - full;
    beyond = std::fabs(bottom - r.bottom.z) < 1e-5 ? beyond_end(r.bottom) : std::optional<double>{};
    static_cast<void>(f);
    return bottom;
  }
  /// A later ream or tap wants a hole of full size below it.
  double drilled_to(const Round& r, const plan::Feature& f) const {
    if (f.depth.known()) return r.top.z - f.depth.si;
    return r.bottom.z;
  }

  void hole(const Round& r, const plan::Feature& f, bool first) {
    const double over = over_face(r.top.z), top = r.top.z + over;
    Step c;
    c.what = Do::cycle;
    c.x = r.top.x;
    c.y = r.top.y;
    c.clear = top + above;
    c.feed = out_.feed;
    c.speed = out_.speed;
    c.count = 1;
    std::optional<double> beyond;
    double bottom = r.bottom.z;
    if (way_ == Way::drill) {
      bottom = depth_to(r, f, f.depth.known() ? f.depth.si : r.top.z - r.bottom.z, beyond);
      const double angle = tool_->point_angle.known() ? tool_->point_angle.si : 140 * pi / 180;
      const double tip = 0.5 * diameter_ / std::tan(0.5 * angle);
      bottom -= tip + (beyond ? *beyond + through : 0);
      c.cycle = (top - bottom) / diameter_ > peck_from ? Cycle::peck : Cycle::drill;
      c.peck = diameter_;
      note(fmt::format("drill: full diameter to the depth asked, point {} deeper{}", in_mm(tip),
                       beyond ? ", 1 mm and any raw metal beyond the far side" : ""));
      if (c.cycle == Cycle::peck)
        note(fmt::format("deeper than {} diameters: in steps of one diameter", base::fixed(peck_from, 0)));
    } else if (way_ == Way::ream) {
      beyond = beyond_end(r.bottom);
      c.cycle = Cycle::bore_out_at_feed;
      if (beyond) bottom -= *beyond + through;
      else note("reamed to the depth asked: the drill's point gives its chamfer room");
    } else if (way_ == Way::tap) {
      if (!f.thread.known()) {
        lack(fmt::format("feature.thread of {}", f.id.value));
        return;
      }
      const Outcome<ref::ThreadData> t = ref::thread_data(f.thread.value);
      if (!t.ok()) {
        lack(fmt::format("thread of {}: {}", f.id.value, t.problem().what));
        return;
      }
      const double lead = (tool_->chamfer_threads.known() ? tool_->chamfer_threads.si : 3.0) * t->pitch;
      const double threaded = f.thread_depth.known() ? f.thread_depth.si : r.top.z - r.bottom.z;
      beyond = std::fabs(r.top.z - threaded - r.bottom.z) < 1e-5 ? beyond_end(r.bottom) : std::optional<double>{};
      bottom = r.top.z - threaded - lead;
      if (!beyond) {
        const double last = drilled_to(r, f) + 0.5 * t->pitch;
        if (bottom < last) {
          note(fmt::format("{}: the lead of the tap ends {} short of full thread depth, or it would meet the bottom",
                           f.id.value, in_mm(last - bottom)));
          bottom = last;
        }
      }
      c.cycle = Cycle::tap;
      c.feed = t->pitch * out_.speed / (2 * pi);
      c.peck = t->pitch;
      out_.feed = c.feed;
    } else {  // a boring tool
      const bool finish = !rough_only();
      const double floor = over_face(r.bottom.z);
      const std::optional<double> far = beyond_end(r.bottom);
      const bool on_floor = !far && face_at(r.bottom);
      c.cycle = Cycle::bore_stop_out;
      if (far) bottom -= *far + through;
      else if (on_floor) bottom += floor + 0.05 * mm;
      if (on_floor) note("bore: stops 0.05 mm above the floor");
      if (finish) note("bore: spindle stopped at the bottom, out in rapid; turn the edge where a line may be");
    }
    c.z = bottom;
    // The whole way over screw heads to the first hole; between holes of one part the cycle returns to its start.
    if (first) {
      t_.rapid(r.top.x, r.top.y);
    }
    t_.add(c);
  }
  /// A flat floor at the end of a round feature that faces the spindle.
  bool face_at(Vec3 end) const {
    for (const plan::Feature& f : plan_.features) {
      const study::Surface q = study::surface_of(plan_, f.id.value);
      if (!q.there || q.round || f.kind.value == "profile") continue;
      const Vec3 at = in_program(q.point);
      if (frame::rotate(s_.X_NP, q.normal).z > 0.9 && std::fabs(at.z - end.z) < 1e-5 &&
          std::hypot(at.x - end.x, at.y - end.y) < 0.5 * q.extent_u + 1e-6)
        return true;
    }
    return false;
  }

  // ---- milling ----------------------------------------------------------------------------------------------------
  void each_feature() {
    for (const std::string& text : cut_.features.value) {
      const plan::Reference ref = plan::parse_reference(text);
      const plan::Feature* f = plan::find_feature(plan_, ref.id);
      if (f == nullptr) {
        lack(fmt::format("no feature {}", ref.id));
        continue;
      }
      const std::string& kind = f->kind.value;
      bool done = false;
      if (kind == "profile") done = profile(*f, ref);
      else if (kind == "pocket" || kind == "slot") done = pocket(*f, ref);
      else if (kind == "face" || kind == "boss" || kind == "datum" || kind == "surface") done = flat(*f, text);
      else done = rounds(*f, ref);
      if (done) out_.features.push_back(text);
    }
  }

  /// Tops of the levels of a wall from `top` down to `bottom`: bottoms of the passes.
  std::vector<double> levels(double top, double bottom) const {
    const double height = top - bottom;
    const double step = cut_.depth.known() && cut_.depth.si > 0 ? cut_.depth.si : std::max(diameter_, 1 * mm);
    const int n = std::max(1, static_cast<int>(std::ceil(height / step - 0.05)));
    std::vector<double> out;
    for (int k = 1; k <= n; ++k) out.push_back(top - height * k / n);
    return out;
  }

  bool profile(const plan::Feature& f, const plan::Reference& ref) {
    if (!ref.side.empty()) {
      const std::string side = ref.id + "." + ref.side;
      return side_pass(side, 0);
    }
    const Vec3 up = study::direction(o_.up.value);
    if (std::fabs(up.z) < 0.5 || f.size.value.size() < 2 || f.at.value.empty() || !f.from.known() || !f.to.known()) {
      lack(fmt::format("{}: an outside profile is milled round its own axis, with size, from and to", f.id.value));
      return false;
    }
    const double radius = f.radius.known() ? f.radius.si : 0;
    const Vec3 m = in_program(f.at.value[0]);
    const double za = in_program({0, 0, f.from.si}).z, zb = in_program({0, 0, f.to.si}).z;
    const double top = std::max(za, zb), bottom = std::min(za, zb);
    RoundedBox wall{{m.x, m.y, 0}, 0.5 * f.size.value[0], 0.5 * f.size.value[1], radius};
    if (way_ == Way::chamfer) {
      chamfer_round(wall, top, true);
      return true;
    }
    const double left = left_on(f.id.value);
    const Raw raw = raw_of(f, left);
    const RoundedBox way = grown(wall, 0.5 * diameter_ + left);
    const double top_raw = top + over_face(top);
    // Down-milling with a right-hand cutter goes round an outside clockwise.
    const bool clockwise = cut_.direction.value != "up";
    // A little below the part's edge, as far as the plan's depth goes.
    double last = bottom;
    if (cut_.depth.known()) {
      const double whole = cut_.depth.si * std::max(1.0, std::round((top - bottom) / cut_.depth.si));
      if (whole > top - bottom) last = std::max(top - whole, bottom - 1 * mm);
    }
    const int side = best_corner(wall, way, raw, clockwise);
    for (const double z : levels(top, last)) profile_level(wall, way, z, top_raw, raw, side, clockwise);
    leave();
    note(fmt::format("outside: in along the side past a corner, {} round, out in an arc over metal already cut",
                     clockwise ? "clockwise" : "the other way"));
    return true;
  }
  /// Most metal beyond the finished wall, along X and along Y of the program.
  struct Raw {
    double x = 0, y = 0;
  };
  Raw raw_of(const plan::Feature& f, double left) const {
    Raw raw{left, left};
    for (const std::string& side : study::sides_of(f)) {
      const Vec3 n = frame::rotate(s_.X_NP, study::surface_of(plan_, side).normal);
      const double stock = stock_before(plan_, o_, index_, side).value_or(0);
      double& axis = std::fabs(n.x) > 0.5 ? raw.x : raw.y;
      axis = std::max(axis, stock);
    }
    // The plan's widest cut is meant where most metal stands; elsewhere half a millimetre more than nominal.
    double& more = raw.x >= raw.y ? raw.x : raw.y;
    double& less = raw.x >= raw.y ? raw.y : raw.x;
    less += 0.5 * mm;
    if (cut_.width.known()) more = std::max({more, cut_.width.si, cut_.width.high});
    return raw;
  }
  /// Where the cutter goes down: beyond the corner, in line with the side, clear of raw metal.
  Vec3 start_of(const RoundedBox& wall, const RoundedBox& way, const Raw& raw, bool clockwise, int side) const {
    const Vec3 a = side_start(way, clockwise, side), b = side_end(way, clockwise, side), along = frame::unit(b - a);
    const double stock = std::fabs(along.x) > 0.5 ? raw.x : raw.y;
    return a - (wall.radius + 0.5 * diameter_ + stock + lead_room) * along;
  }
  double run_up(double most) const { return 0.5 * diameter_ + most + lead_room; }
  /// The side along which the cutter comes in with the most room to the neighbours on the table.
  int best_corner(const RoundedBox& wall, const RoundedBox& way, const Raw& raw, bool clockwise) {
    int best = 0;
    double room = -1e9;
    for (int side = 0; side < 4; ++side) {
      const double r = room_at(start_of(wall, way, raw, clockwise, side), wall, raw);
      if (r > room + 1e-9) {
        room = r;
        best = side;
      }
    }
    if (room < 1 * mm)
      note(fmt::format("where the cutter goes down {} are left to a raw neighbour: look there first",
                       in_mm(std::max(0.0, room))));
    return best;
  }
  /// Least distance of the cutter standing at `p` of any nest to any other raw part, m.
  double room_at(Vec3 p, const RoundedBox& wall, const Raw& raw) const {
    double room = 1e3;
    for (std::size_t i = 0; i < s_.nests.size(); ++i)
      for (std::size_t j = 0; j < s_.nests.size(); ++j) {
        if (i == j || s_.nests[i].pallet != s_.nests[j].pallet) continue;
        const NestPlace &a = s_.nests[i], &b = s_.nests[j];
        const double ca = std::cos(a.turn), sa = std::sin(a.turn), cb = std::cos(-b.turn), sb = std::sin(-b.turn);
        const Vec3 q = Vec3{ca * p.x - sa * p.y, sa * p.x + ca * p.y, 0} + a.at - b.at;
        const Vec3 l{cb * q.x - sb * q.y - wall.middle.x, sb * q.x + cb * q.y - wall.middle.y, 0};
        const double dx = std::fabs(l.x) - (wall.half_x + raw.x - wall.radius),
                     dy = std::fabs(l.y) - (wall.half_y + raw.y - wall.radius);
        const double out =
            std::hypot(std::max(dx, 0.0), std::max(dy, 0.0)) + std::min(std::max(dx, dy), 0.0) - wall.radius;
        room = std::min(room, out - 0.5 * diameter_);
      }
    return room;
  }
  void profile_level(const RoundedBox& wall, const RoundedBox& way, double z, double top, const Raw& raw, int side,
                     bool clockwise) {
    const Vec3 start = start_of(wall, way, raw, clockwise, side), a = side_start(way, clockwise, side),
               along = frame::unit(side_end(way, clockwise, side) - a), out = outward(along, clockwise);
    above_place(start.x, start.y, top);
    t_.set_feed(air_feed);
    t_.line_z(z);
    t_.set_feed(out_.feed);
    t_.line({a.x, a.y, z});
    t_.round(way, clockwise, side);
    // On over what is cut, then out in an arc that leaves the wall tangentially.
    const double overlap = 3 * mm, r = 0.5 * diameter_, off = 1.5 * mm, turn = std::acos(1 - off / r);
    Vec3 p = a + overlap * along;
    p.z = z;
    t_.line(p);
    const Vec3 centre = p + r * out;
    Vec3 end = centre + (r * std::sin(turn)) * along - (r * std::cos(turn)) * out;
    end.z = z;
    t_.arc(end, centre, !clockwise);
    t_.rapid_z(s_.safe);
  }
  static Vec3 outward(Vec3 along, bool clockwise) {
    return clockwise ? Vec3{-along.y, along.x, 0} : Vec3{along.y, -along.x, 0};
  }

  /// A straight pass along a wall that stands upright, with its far edge broken first: a short cut inwards from there.
  bool side_pass(const std::string& reference, double extra) {
    const study::Surface q = study::surface_of(plan_, reference);
    if (!q.there || q.round) return lack(fmt::format("{}: not a flat side", reference)), false;
    const Vec3 n = frame::rotate(s_.X_NP, q.normal), at = in_program(q.point);
    if (std::fabs(n.z) > 0.1) return lack(fmt::format("{}: not a wall of {}", reference, o_.id.value)), false;
    // Extents of a plane: along the part's X or Y first, then the other. One of them runs up and down here.
    const Vec3 u = std::fabs(q.normal.x) > 0.5 ? Vec3{0, 1, 0} : Vec3{1, 0, 0};
    const Vec3 v = std::fabs(q.normal.z) > 0.5 ? Vec3{0, 1, 0} : Vec3{0, 0, 1};
    const bool u_up = std::fabs(frame::rotate(s_.X_NP, u).z) > 0.9, v_up = std::fabs(frame::rotate(s_.X_NP, v).z) > 0.9;
    if (u_up == v_up) return lack(fmt::format("{}: stands askew", reference)), false;
    const double height = u_up ? q.extent_u : q.extent_v, length = u_up ? q.extent_v : q.extent_u;
    const Vec3 run = frame::rotate(s_.X_NP, u_up ? v : u);
    const double most = std::max({stock_before(plan_, o_, index_, reference).value_or(0),
                                  cut_.width.known() ? std::max(cut_.width.si, cut_.width.high) : 0.0, extra});
    const double left = cut_.stock.known()                                  ? cut_.stock.si
                        : later_finish(plan::parse_reference(reference).id) ? leave_side
                                                                            : 0.0;
    const bool down = cut_.direction.value != "up";
    // Climbing with a right-hand cutter: the metal lies to the right of the travel.
    Vec3 along = frame::cross(n, {0, 0, 1});
    if (!down) along = -along;
    if (std::fabs(frame::dot(along, run)) < 0.9) return lack(fmt::format("{}: stands askew", reference)), false;
    const double off = 0.5 * diameter_ + left, half = 0.5 * length, beyond = run_up(most);
    const double top = at.z + 0.5 * height + over_face(at.z + 0.5 * height), bottom = at.z - 0.5 * height;
    for (const double z : levels(at.z + 0.5 * height, bottom)) {
      const auto place = [&](double s, double d) {
        Vec3 p = at + s * along + d * n;
        p.z = z;
        return p;
      };
      // The far edge: straight in from outside, a few millimetres deep on the wall itself, and away again.
      const double bite = 3 * mm;
      const Vec3 a = place(half + beyond, off), b = place(half - bite, off),
                 c = place(half - bite, off + most + lead_room);
      above_place(a.x, a.y, top);
      t_.set_feed(air_feed);
      t_.line_z(z);
      t_.set_feed(0.5 * out_.feed);
      t_.line(b);
      t_.set_feed(out_.feed);
      t_.line(c);
      t_.rapid_z(s_.safe);
      // The whole side, out where the edge is broken.
      const Vec3 d = place(-half - beyond, off), e = place(half + beyond, off);
      above_place(d.x, d.y, top);
      t_.set_feed(air_feed);
      t_.line_z(z);
      t_.set_feed(out_.feed);
      t_.line(e);
      t_.rapid_z(s_.safe);
    }
    note("side: the edge where the cutter leaves is broken first, at half the feed");
    return true;
  }

  bool flat(const plan::Feature& f, const std::string& reference) {
    const study::Surface q = study::surface_of(plan_, reference);
    if (!q.there) return lack(fmt::format("{}: place, normal and size", reference)), false;
    const Vec3 n = frame::rotate(s_.X_NP, q.normal), at = in_program(q.point);
    if (std::fabs(n.z) < 0.1) return side_pass(reference, 0);
    if (n.z < 0.9) return lack(fmt::format("{}: faces away from the spindle in {}", reference, o_.id.value)), false;
    if (f.diameter.known()) {
      // The floor of a bore is cut together with its wall where both are named; alone it is one ring.
      const bool with_wall =
          std::any_of(cut_.features.value.begin(), cut_.features.value.end(), [&](const std::string& r) {
            const plan::Feature* g = plan::find_feature(plan_, plan::parse_reference(r).id);
            if (g == nullptr || g == &f || g->at.value.empty()) return false;
            const Round w = round_of(*g, 0);
            return w.reachable && std::fabs(w.bottom.z - at.z) < 1e-5;
          });
      if (with_wall) return true;
      floor_rings({at.x, at.y, at.z}, *middle(f.diameter),
                  at.z + stock_before(plan_, o_, index_, reference).value_or(0));
      return true;
    }
    if (!(q.extent_u > 0 && q.extent_v > 0)) return lack(fmt::format("feature.size of {}", reference)), false;
    face_passes(q, at, reference);
    return true;
  }

  /// Strips side by side, to and fro; rough levels, then the finish.
  void face_passes(const study::Surface& q, Vec3 at, const std::string& reference) {
    const Vec3 u = frame::rotate(s_.X_NP, std::fabs(q.normal.x) > 0.5 ? Vec3{0, 1, 0} : Vec3{1, 0, 0});
    const Vec3 v = frame::rotate(s_.X_NP, std::fabs(q.normal.z) > 0.5 ? Vec3{0, 1, 0} : Vec3{0, 0, 1});
    double eu = q.extent_u, ev = q.extent_v;
    if (s_.in_series > 1) (std::fabs(v.y) > 0.5 ? ev : eu) += (s_.in_series - 1) * s_.series_pitch;
    const double strip = cut_.width.known() && cut_.width.si > 0 ? std::min(cut_.width.si, diameter_) : 0.7 * diameter_;
    const auto strips = [&](double e) { return std::max(1, static_cast<int>(std::ceil(e / strip - 1e-6))); };
    const auto way = [&](double across, double along) { return strips(across) * (along + diameter_); };
    bool over_u = way(eu, ev) <= way(ev, eu);  // strips lie side by side over u
    if (cut_.passes.known() && strips(eu) != strips(ev)) {
      if (strips(eu) == cut_.passes.value) over_u = true;
      else if (strips(ev) == cut_.passes.value) over_u = false;
    }
    const Vec3 across = over_u ? u : v, along = over_u ? v : u;
    const double wide = over_u ? eu : ev, length = over_u ? ev : eu;
    const int n = strips(wide);
    const double stock = stock_before(plan_, o_, index_, reference).value_or(cut_.depth.known() ? cut_.depth.si : 0);
    if (!stock_before(plan_, o_, index_, reference))
      note(fmt::format("{}: raw height not said, one level taken", reference));
    const std::string& kind = cut_.kind.value;
    const double leave_f = kind == "rough"              ? (cut_.stock.known() ? cut_.stock.si : 0)
                           : kind == "rough and finish" ? leave_side
                                                        : 0;
    std::vector<double> zs = kind == "finish" ? std::vector<double>{} : levels(at.z + stock, at.z + leave_f);
    if (kind != "rough") zs.push_back(at.z);
    if (kind == "rough and finish") note(fmt::format("face: {} left for the finish pass", in_mm(leave_f)));
    const double half = 0.5 * length + run_up(beside_face(at, along, 0.5 * length));
    bool forth = true;
    for (const double z : zs)
      for (int k = 0; k < n; ++k) {
        const double d = (k - 0.5 * (n - 1)) * wide / n;
        const Vec3 base = at + d * across;
        Vec3 a = base - (forth ? half : -half) * along, b = base + (forth ? half : -half) * along;
        a.z = b.z = z;
        if (k == 0) {
          above_place(a.x, a.y, at.z + stock);
          t_.set_feed(air_feed);
          t_.line_z(z);
        } else {
          t_.set_feed(air_feed);
          t_.line(a);
        }
        t_.set_feed(out_.feed);
        t_.line(b);
        if (k == n - 1) t_.rapid_z(s_.safe);
        forth = !forth;
      }
  }

  /// Raw metal that stands beyond the ends of a face, along the strips: sides that look that way where it ends.
  double beside_face(Vec3 at, Vec3 along, double half) const {
    double most = 0;
    for (const plan::Feature& f : plan_.features)
      for (const std::string& side : study::sides_of(f)) {
        const study::Surface q = study::surface_of(plan_, side);
        if (!q.there || q.round || f.over.known()) continue;
        if (std::fabs(frame::dot(frame::rotate(s_.X_NP, q.normal), along)) < 0.9) continue;
        if (std::fabs(std::fabs(frame::dot(in_program(q.point) - at, along)) - half) > 1 * mm) continue;
        most = std::max(most, stock_before(plan_, o_, index_, side).value_or(0));
      }
    return most;
  }

  // ---- pockets ----------------------------------------------------------------------------------------------------
  bool pocket(const plan::Feature& f, const plan::Reference& ref) {
    const std::optional<double> w = middle(f.width), l = middle(f.length);
    const double radius = f.radius.known() ? f.radius.si : 0.5 * diameter_;
    if (!w || !l || !f.from.known() || !f.to.known())
      return lack(fmt::format("{}: width, length, from and to", f.id.value)), false;
    if (f.normal.known() && frame::rotate(s_.X_NP, study::direction(f.normal.value)).z < 0.9)
      return lack(fmt::format("{}: opens away from the spindle in {}", f.id.value, o_.id.value)), false;
    if (radius < 0.5 * diameter_ - 1e-9)
      return lack(fmt::format("{}: its corners of {} are smaller than {} cuts", f.id.value, in_mm(radius),
                              cut_.tool.value)),
             false;
    for (std::size_t i = 0; i < f.at.value.size(); ++i) {
      if (ref.index > 0 && static_cast<std::size_t>(ref.index) != i + 1) continue;
      const Vec3 m = in_program(f.at.value[i]);
      const double za = in_program({0, 0, f.from.si}).z, zb = in_program({0, 0, f.to.si}).z;
      const double top = std::max(za, zb), bottom = std::min(za, zb);
      RoundedBox wall{{m.x, m.y, 0}, 0.5 * *w, 0.5 * *l, radius};
      if (way_ == Way::chamfer) chamfer_round(wall, top, false);
      else one_pocket(wall, top + over_face(top), bottom, f);
    }
    leave();
    return true;
  }
  void one_pocket(const RoundedBox& wall, double top, double bottom, const plan::Feature& f) {
    const double r = 0.5 * diameter_;
    const bool own_finish = cut_.kind.value == "rough and finish";
    const double left = own_finish ? leave_floor : left_on(f.id.value);
    const RoundedBox outer = grown(wall, -r - left);
    const double step = cut_.width.known() && cut_.width.si > 0 ? std::min(cut_.width.si, diameter_) : 0.6 * diameter_;
    if (!(outer.half_x >= 0 && outer.half_y >= 0) || wall.half_x < r || wall.half_y < r) {
      lack(fmt::format("{}: {} does not go in", f.id.value, cut_.tool.value));
      return;
    }
    const double least = std::min(outer.half_x, outer.half_y);
    const double rh = std::max(0.1 * mm, std::min(0.45 * diameter_, least));
    const int rings =
        std::max(0, static_cast<int>(std::ceil((std::max(outer.half_x, outer.half_y) - rh) / step - 1e-6)));
    const bool clockwise = cut_.direction.value == "up";  // inside, climbing goes counter-clockwise
    const Vec3 m = wall.middle;
    double from = top;
    for (const double z : levels(top, bottom)) {
      // Down in a helix, round once flat, then rings outwards.
      if (from == top) above_place(m.x + rh, m.y, top);
      t_.set_feed(air_feed);
      t_.line({m.x + rh, m.y, t_.at().z});
      t_.line_z(from + 0.3 * mm);
      t_.set_feed(out_.feed);
      const double pitch = 2 * pi * rh * std::tan(ramp), depth = t_.at().z - z;
      const int turns = std::max(1, static_cast<int>(std::ceil(depth / pitch)));
      const double begin = t_.at().z;
      for (int k = 1; k <= turns; ++k) t_.ring(m, clockwise, begin - depth * k / turns);
      t_.ring(m, clockwise, z);
      for (int k = rings; k >= 0; --k) {
        RoundedBox b = grown(outer, -k * step);
        if (k > 0 && b.half_x <= rh && b.half_y <= rh) continue;
        start_ring(b, clockwise, z);
        t_.round(b, clockwise, 3);
      }
      // Off the wall before going on, over what is cut.
      t_.set_feed(air_feed);
      t_.line({m.x, m.y, z});
      from = z;
    }
    if (own_finish) finish_wall(wall, bottom, clockwise);
    t_.rapid_z(s_.safe);
    note(fmt::format("pocket: in by a helix of {} degrees", base::fixed(ramp * 180 / pi, 0)));
  }
  /// To the beginning of side 3 of the ring, where round() starts.
  void start_ring(const RoundedBox& b, bool clockwise, double z) {
    Vec3 s = side_start(b, clockwise, 3);
    s.z = z;
    t_.line(s);
  }
  void finish_wall(const RoundedBox& wall, double z, bool clockwise) {
    const RoundedBox b = grown(wall, -0.5 * diameter_);
    const Vec3 a = side_start(b, clockwise, 0), e = side_end(b, clockwise, 0), mid = 0.5 * (a + e),
               along = frame::unit(e - a), in = -1.0 * outward_in(along, clockwise);
    const double r = std::min({2 * mm, b.half_x, b.half_y});
    if (!(r > 0.05 * mm) || frame::norm(e - a) < 1e-6) {
      t_.set_feed(out_.feed);
      start_ring(b, clockwise, z);
      t_.round(b, clockwise, 3);
      t_.line({wall.middle.x, wall.middle.y, z});
      return;
    }
    // In by a quarter arc at the middle of a side, round, out by another.
    Vec3 p = mid, c = mid + r * in, start = c - r * along, end = c + r * along;
    p.z = start.z = end.z = z;
    t_.set_feed(out_.feed);
    t_.line(start);
    t_.arc(p, c, clockwise);
    Vec3 e2 = e;
    e2.z = z;
    t_.line(e2);
    RoundedBox rest = b;
    run_from_end(rest, clockwise, z);
    t_.line(p);
    t_.arc(end, c, clockwise);
    t_.set_feed(air_feed);
    t_.line({wall.middle.x, wall.middle.y, z});
    note("pocket: 0.20 mm left on the walls for one pass at full depth");
  }
  static Vec3 outward_in(Vec3 along, bool clockwise) { return outward(along, clockwise); }
  /// From the end of side 0 round to its beginning.
  void run_from_end(const RoundedBox& b, bool clockwise, double z) {
    int now = 0;
    for (int k = 0; k < 4; ++k) {
      const int next = (now + (clockwise ? 1 : 3)) % 4;
      Vec3 end = side_end(b, clockwise, now), begin = side_start(b, clockwise, next);
      end.z = begin.z = z;
      if (k > 0) t_.line(end);
      if (b.radius > 1e-9) {
        const Vec3 centre = corner_centre(b, now, end);
        t_.arc(begin, centre, clockwise);
      }
      now = next;
    }
  }
  static Vec3 corner_centre(const RoundedBox& b, int side, Vec3 end) {
    const Vec3 out[4] = {{0, 1, 0}, {1, 0, 0}, {0, -1, 0}, {-1, 0, 0}};
    return end - b.radius * out[side];
  }

  // ---- bores, grooves, threads, round edges -----------------------------------------------------------------------
  bool rounds(const plan::Feature& f, const plan::Reference& ref) {
    bool some = false;
    for (std::size_t i = 0; i < f.at.value.size(); ++i) {
      if (ref.index > 0 && static_cast<std::size_t>(ref.index) != i + 1) continue;
      const Round r = round_of(f, i);
      if (!r.reachable || !(r.diameter > 0)) continue;
      some = true;
      switch (way_) {
        case Way::keyseat:
          groove(f, r);
          break;
        case Way::thread_mill:
          mill_thread(f, r);
          break;
        case Way::chamfer:
          chamfer_hole(r);
          break;
        default:
          wall(f, r);
          break;
      }
    }
    if (!some) lack(fmt::format("{}: no opening towards the spindle in {}", f.id.value, o_.id.value));
    return some;
  }

  double aimed(const plan::Feature& f, const Round& r) const {
    if (cut_.aim.known()) return cut_.aim.si;
    return middle(f.diameter).value_or(r.diameter);
  }
  double centre_feed(double d) {
    const double f = out_.feed * (d - diameter_) / d;
    out_.centre_feed = f;
    return f;
  }
  /// One flat ring at height z: rolled in, once round, rolled out; the tool begins and ends on the axis.
  void ring_at(Vec3 axis, double e, double z, double free_radius, double feed) {
    const bool clockwise = cut_.direction.value == "up";
    const double sense = clockwise ? -1 : 1;
    const RollIn in = roll_in(e, free_radius);
    const Vec3 c{axis.x + in.offset, axis.y, z}, touch{axis.x + e, axis.y, z};
    const Vec3 start{c.x + in.radius * std::cos(in.sweep), c.y - sense * in.radius * std::sin(in.sweep), z};
    const Vec3 end{c.x + in.radius * std::cos(in.sweep), c.y + sense * in.radius * std::sin(in.sweep), z};
    t_.set_feed(air_feed);
    t_.line(start);
    t_.set_feed(feed);
    t_.arc(touch, c, clockwise);
    t_.ring({axis.x, axis.y, z}, clockwise, z);
    t_.arc(end, c, clockwise);
    t_.set_feed(air_feed);
    t_.line({axis.x, axis.y, z});
    out_.ring = 2 * pi * e;
  }

  /// A bore or counterbore milled round: levels, and its floor when that is named too.
  void wall(const plan::Feature& f, const Round& r) {
    const double d = aimed(f, r), left = left_on(f.id.value), e = 0.5 * (d - diameter_) - left;
    if (!(e > 0)) return void(lack(fmt::format("{}: {} does not go in", f.id.value, cut_.tool.value)));
    const bool on_floor = face_at(r.bottom);
    const bool floor_too =
        on_floor && std::any_of(cut_.features.value.begin(), cut_.features.value.end(), [&](const std::string& x) {
          const plan::Feature* g = plan::find_feature(plan_, plan::parse_reference(x).id);
          const study::Surface q = study::surface_of(plan_, x);
          return g != nullptr && q.there && !q.round && g->kind.value != "profile" &&
                 std::fabs(in_program(q.point).z - r.bottom.z) < 1e-5;
        });
    const double over = over_face(r.top.z), top = r.top.z + over;
    double bottom = r.bottom.z;
    if (floor_too) bottom += leave_floor;
    else if (on_floor) bottom += 0.05 * mm;
    else if (const auto far = beyond_end(r.bottom)) bottom -= *far + through;
    const double free = free_down(r.top, top), feed = centre_feed(d);
    above_place(r.top.x, r.top.y, top);
    // A raw floor is cut on its own, after the wall above it: never the whole depth of a level in solid metal.
    const double raw_floor = r.bottom.z + over_face(r.bottom.z) + 0.15 * mm;
    const bool apart = floor_too && raw_floor > bottom + 0.3 * mm;
    for (const double z : levels(r.top.z, apart ? raw_floor : bottom))
      down_and_round(r.top, e, z, free, feed, raw_radius(f));
    if (apart)
      for (const double z : levels(raw_floor, bottom)) down_and_round(r.top, e, z, free, feed, raw_radius(f));
    if (floor_too) {
      down_and_round(r.top, e, r.bottom.z, std::min(free, r.bottom.z + leave_floor), feed, raw_radius(f));
      note(fmt::format("floor: {} left, then one flat ring at the finished height", in_mm(leave_floor)));
      inner_rings(r.top, e, r.bottom.z, feed);
    }
    t_.set_feed(air_feed);
    leave();
  }
  double raw_radius(const plan::Feature& f) const {
    for (const plan::CastSize& c : plan_.casting.sizes)
      if (c.feature.value == f.id.value && c.raw.known() && c.kind.value != "height") return 0.5 * c.raw.si;
    return 0;
  }
  void down_and_round(Vec3 axis, double e, double z, double free, double feed, double raw) {
    const bool clockwise = cut_.direction.value == "up";
    if (z < free - 1e-9) {
      // Metal below the axis: down in a helix to this level, then rings outwards.
      const double rh = std::min(e, 0.45 * diameter_), begin = std::min(t_.at().z, free + 0.3 * mm);
      t_.set_feed(air_feed);
      t_.line_z(begin);
      t_.line({axis.x + rh, axis.y, begin});
      t_.set_feed(feed);
      const double pitch = 2 * pi * rh * std::tan(ramp);
      const int turns = std::max(1, static_cast<int>(std::ceil((begin - z) / pitch)));
      for (int k = 1; k <= turns; ++k) t_.ring({axis.x, axis.y, 0}, clockwise, begin - (begin - z) * k / turns);
      t_.ring({axis.x, axis.y, 0}, clockwise, z);
      t_.line({axis.x, axis.y, z});
      note("bore: into solid metal by a helix of 3 degrees");
      raw = rh + 0.5 * diameter_;
    } else {
      t_.set_feed(air_feed);
      t_.line_z(z);
    }
    const double first = std::max(0.0, raw - 0.5 * diameter_),
                 step = cut_.width.known() && cut_.width.si > 0 ? std::min(cut_.width.si, diameter_) : 0.5 * diameter_;
    const int n = std::max(1, static_cast<int>(std::ceil((e - first) / step - 1e-6)));
    for (int k = 1; k <= n; ++k)
      ring_at(axis, first + (e - first) * k / n > 0 ? first + (e - first) * k / n : e, z, 0, feed);
  }
  /// What one ring at the wall leaves in the middle of a floor.
  void inner_rings(Vec3 axis, double e, double z, double feed) {
    double open = 0;  // radius of a hole in the floor
    for (const plan::Feature& f : plan_.features)
      for (std::size_t i = 0; i < f.at.value.size(); ++i) {
        const Round r = round_of(f, i);
        if (r.diameter > 0 && std::hypot(r.top.x - axis.x, r.top.y - axis.y) < 1e-5 &&
            std::fabs(r.top.z - z) < 3 * mm && made_before(plan_, o_, index_, f.id.value))
          open = std::max(open, 0.5 * r.diameter);
      }
    for (double q = e - 0.8 * diameter_; q + 0.8 * diameter_ - 0.5 * diameter_ > open; q -= 0.8 * diameter_) {
      if (q <= 0.05 * mm) break;
      ring_at(axis, q, z, 0, feed);
    }
  }
  void floor_rings(Vec3 axis, double d, double top) {
    const double e = 0.5 * (d - diameter_), feed = centre_feed(d);
    if (!(e > 0)) return void(lack(fmt::format("floor: {} does not go in", cut_.tool.value)));
    above_place(axis.x, axis.y, s_.safe - above);
    t_.set_feed(air_feed);
    t_.line_z(top + above);
    for (const double z : levels(top, axis.z)) {
      t_.set_feed(out_.feed);
      t_.line_z(z);
      ring_at(axis, e, z, 0, feed);
      inner_rings(axis, e, z, feed);
    }
    leave();
  }

  /// A ring groove with a keyseat cutter: rolled in, once round, rolled out, at two heights that give the width.
  void groove(const plan::Feature& f, const Round& r) {
    const double d = aimed(f, r), e = 0.5 * (d - diameter_);
    if (!tool_->width.known()) return void(lack(fmt::format("tool.width of {}", cut_.tool.value)));
    const double cutter = tool_->width.si;
    double low = r.bottom.z, high = r.top.z;
    if (const auto w = middle(f.width)) {
      const double more = 0.5 * (*w - (high - low));  // to the middle of the width's limits
      low -= more;
      high += more;
    }
    if (high - low < cutter - 1e-9) return void(lack(fmt::format("{}: narrower than {}", f.id.value, cut_.tool.value)));
    const plan::Feature* bore = wall_of(f, r);
    const double inner = bore != nullptr ? middle(bore->diameter).value_or(0) : 0;
    if (!(inner > diameter_ + 0.5 * mm) || !(e > 0))
      return void(lack(
          fmt::format("{}: the bore that {} goes down in is not known or too narrow", f.id.value, cut_.tool.value)));
    const double room = 0.5 * (inner - diameter_) - 0.3 * mm;  // the cutter stands free of the wall up to here
    const double feed = centre_feed(d), top = s_.top;
    above_place(r.top.x, r.top.y, top);
    t_.set_feed(air_feed);
    std::vector<double> tips = {low};
    const int n = std::max(1, static_cast<int>(std::ceil((high - low - cutter) / (0.8 * cutter) - 1e-9)));
    if (high - low > cutter + 1e-6)
      for (int k = 1; k <= n; ++k) tips.push_back(low + (high - low - cutter) * k / n);
    for (const double z : tips) {
      t_.set_feed(air_feed);
      t_.line_z(z);
      ring_at(r.top, e, z, room, feed);
    }
    leave();
    note(
        fmt::format("groove: the tool's tip is its lower face; {} heights {} apart make {} from a cutter of {}; centre "
                    "feed {} mm/min for {} at the edge",
                    tips.size(), in_mm(tips.back() - tips.front()), in_mm(high - low), in_mm(cutter),
                    base::fixed(feed * 60 / mm, 1), base::fixed(out_.feed * 60 / mm, 0)));
  }
  const plan::Feature* wall_of(const plan::Feature& f, const Round& r) const {
    const plan::Feature* best = nullptr;
    for (const plan::Feature& g : plan_.features) {
      const std::string& k = g.kind.value;
      if (&g == &f || (k != "bore" && k != "counterbore" && k != "hole") || g.at.value.empty()) continue;
      const Round w = round_of(g, 0);
      if (w.diameter > 0 && std::hypot(w.top.x - r.top.x, w.top.y - r.top.y) < 1e-4 &&
          w.bottom.z <= r.bottom.z + 1e-6 && w.top.z >= r.top.z - 1e-6)
        best = &g;
    }
    return best;
  }

  /// One turn up the pitch, rolled in and out, from the bottom: right-hand thread, climbing. The tool cuts with all its
  /// teeth at once, so one turn makes as much thread as the tool is long.
  void mill_thread(const plan::Feature& f, const Round& r) {
    if (!f.thread.known()) return void(lack(fmt::format("feature.thread of {}", f.id.value)));
    const Outcome<ref::ThreadData> t = ref::thread_data(f.thread.value);
    if (!t.ok()) return void(lack(fmt::format("thread of {}: {}", f.id.value, t.problem().what)));
    const double e = 0.5 * (t->major - diameter_),
                 depth = f.thread_depth.known() ? f.thread_depth.si : r.top.z - r.bottom.z;
    if (!(e > 0)) return void(lack(fmt::format("{}: {} does not go in", f.id.value, cut_.tool.value)));
    const double feed = out_.feed * (t->major - diameter_) / t->major;
    out_.centre_feed = feed;
    const double top = r.top.z + over_face(r.top.z), z0 = r.top.z - depth;
    const double half = 0.5 * t->pitch;
    above_place(r.top.x, r.top.y, top);
    const double flutes = tool_->flute_length.known() ? tool_->flute_length.si : 0;
    const int turns = flutes > 0 ? std::max(1, static_cast<int>(std::ceil(depth / flutes - 1e-9)))
                                 : static_cast<int>(std::ceil(depth / t->pitch)) + 1;
    const double lift = flutes > 0 ? std::floor(flutes / t->pitch) * t->pitch : t->pitch;
    double z = z0;
    for (int k = 0; k < (flutes > 0 ? turns : 1); ++k) {
      t_.set_feed(air_feed);
      t_.line({r.top.x, r.top.y, t_.at().z});
      t_.line_z(z);
      t_.set_feed(feed);
      const Vec3 c{r.top.x + 0.5 * e, r.top.y, 0};
      t_.arc({r.top.x + e, r.top.y, z + 0.5 * half}, c, false);
      const int rounds = flutes > 0 ? 1 : turns;
      for (int m = 1; m <= rounds; ++m) t_.ring({r.top.x, r.top.y, 0}, false, z + 0.5 * half + m * t->pitch);
      t_.arc({r.top.x, r.top.y, t_.at().z + 0.5 * half}, c, false);
      z += lift;
    }
    t_.set_feed(air_feed);
    t_.line_z(top + above);
    leave();
    out_.ring = 2 * pi * e;
    note("thread: climbing upwards, right-hand; rolled in and out over half a turn");
    if (!(flutes > 0)) note("thread: length of the teeth not said (tool.flute_length), cut as with one row of teeth");
  }

  /// The tool's cone is set so that the edge meets it 2 mm above the tip.
  static constexpr double up_cone = 2 * mm;
  double cone() const { return std::tan(tool_->lead.known() && tool_->lead.si > 0 ? tool_->lead.si : pi / 4); }
  bool cone_fits() {
    if (0.5 * diameter_ < (up_cone + chamfer_leg) * cone())
      return lack(fmt::format("{}: too thin for a chamfer set 2 mm up its cone", cut_.tool.value)), false;
    note(fmt::format(
        "chamfer: {} x 45 degrees, edge 2 mm above the tip of a pointed tool; set length and radius of this tool there",
        in_mm(chamfer_leg)));
    return true;
  }
  void chamfer_round(const RoundedBox& wall, double top, bool outside) {
    if (!cone_fits()) return;
    const double off = up_cone * cone(), z = top - chamfer_leg - up_cone;
    const bool clockwise = (cut_.direction.value != "up") == outside;
    if (outside) {
      const RoundedBox way = grown(wall, off);
      const int side = 0;
      const Vec3 a = side_start(way, clockwise, side), e = side_end(way, clockwise, side), mid = 0.5 * (a + e),
                 along = frame::unit(e - a), out = outward(along, clockwise);
      edge_round(way, clockwise, mid, along, out, z, top, 3 * mm);
    } else {
      const RoundedBox way = grown(wall, -off);
      const Vec3 a = side_start(way, clockwise, 0), e = side_end(way, clockwise, 0), mid = 0.5 * (a + e),
                 along = frame::unit(e - a);
      edge_round(way, clockwise, mid, along, -1.0 * outward(along, clockwise), z, top,
                 std::min(2 * mm, 0.5 * std::min(way.half_x, way.half_y)));
    }
  }
  /// In by a quarter arc at the middle of side 0, round the box, out by another. `away`: where there is no metal.
  void edge_round(const RoundedBox& way, bool clockwise, Vec3 mid, Vec3 along, Vec3 away, double z, double top,
                  double r) {
    Vec3 p = mid, c = mid + r * away, start = c - r * along, end = c + r * along;
    p.z = start.z = end.z = z;
    const bool turn = frame::cross(p - c, along).z < 0;  // sense of the small arcs
    above_place(start.x, start.y, top);
    t_.set_feed(air_feed);
    t_.line_z(z);
    t_.set_feed(out_.feed);
    t_.arc(p, c, turn);
    Vec3 e = side_end(way, clockwise, 0);
    e.z = z;
    t_.line(e);
    run_from_end(way, clockwise, z);
    t_.line(p);
    t_.arc(end, c, turn);
    t_.rapid_z(s_.safe);
  }
  void chamfer_hole(const Round& r) {
    if (!cone_fits()) return;
    const double off = up_cone * cone(), z = r.top.z - chamfer_leg - up_cone, e = 0.5 * r.diameter - off;
    above_place(r.top.x, r.top.y, r.top.z);
    if (e > 0.2 * mm) {
      const double feed = out_.feed * e / (0.5 * r.diameter);
      t_.set_feed(air_feed);
      t_.line_z(z);
      ring_at(r.top, e, z, 0, feed);
    } else {
      // A small hole: straight down until the cone has made the chamfer.
      t_.set_feed(out_.feed);
      t_.line_z(r.top.z - chamfer_leg - 0.5 * r.diameter / cone());
    }
    leave();
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  const plan::Cut& cut_;
  std::size_t index_;
  const SetUp& s_;
  const plan::Tool* tool_ = nullptr;
  Way way_ = Way::side;
  double diameter_ = 0;
  Track t_;
  CutSteps out_;
};

}  // namespace

Way way_of(const plan::Plan& plan, const plan::Cut& cut) {
  const plan::Tool* t = plan::find_tool(plan, cut.tool.value);
  const std::string kind = t != nullptr ? t->kind.value : "";
  if (kind == "probe" || cut.kind.value == "probe") return Way::probe;
  if (kind == "chamfer" || cut.kind.value == "chamfer") return Way::chamfer;
  if (kind == "drill") return Way::drill;
  if (kind == "reamer") return Way::ream;
  if (kind == "tap") return Way::tap;
  if (kind == "thread mill") return Way::thread_mill;
  if (kind == "boring tool") return Way::bore;
  if (kind == "keyseat cutter") return Way::keyseat;
  if (kind == "face mill") return Way::face;
  return Way::side;
}

CutSteps cut_steps(const plan::Plan& plan, const plan::Operation& o, std::size_t index, const SetUp& s) {
  return Maker(plan, o, index, s).make();
}

}  // namespace fettle::compose
