// A tool of the shop for everything that an operation makes, its data, and the order.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "base/text.h"
#include "begin/castings.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "plan/read.h"
#include "ref/materials.h"

namespace fettle::begin {

namespace {

constexpr double pi = 3.14159265358979323846;

/// Cutting data of carbide in grey iron of 180 to 220 HB, wet; from memory, on the careful side of common practice.
struct Data {
  double vc = 0;  ///< m/s
  double fz = 0;  ///< m per tooth
};
constexpr double m_min = 1.0 / 60;
Data data(const std::string& kind, double d, bool finish) {
  const double k = std::clamp(d / 16e-3, 0.3, 1.4);
  if (kind == "face mill") return {170 * m_min, 0.15e-3};
  if (kind == "end mill") return {(finish ? 140 : 110) * m_min, (finish ? 0.06e-3 : 0.07e-3) * k};
  if (kind == "drill") return {95 * m_min, std::clamp(0.01 * d, 0.03e-3, 0.1e-3)};
  if (kind == "reamer") return {40 * m_min, 0.025e-3};
  if (kind == "tap") return {12 * m_min, 0};
  if (kind == "boring tool") return {140 * m_min, (finish ? 0.08e-3 : 0.12e-3)};
  if (kind == "keyseat cutter") return {90 * m_min, 0.05e-3};
  if (kind == "chamfer") return {90 * m_min, 0.08e-3};
  return {80 * m_min, 0.05e-3};
}
/// Harder and tougher irons are cut slower: ductile and malleable iron at seven tenths.
double slower(const plan::Plan& p) {
  const auto m = ref::material(p.part.material.value);
  return m.ok() && m->group != "grey iron" ? 0.7 : 1;
}

struct Step {
  int order = 0;
  plan::Cut cut;
  Choice why;
};

class Cutter {
 public:
  Cutter(const Scene& scene, Draft& d) : scene_(scene), d_(d), slower_(slower(d.plan)) {}

  void operation(plan::Operation& op) {
    op_ = &op;
    steps_.clear();
    for (const plan::Machine& m : scene_.shop.machines)
      if (m.id.value == op.machine.value) machine_ = &m;
    for (const std::string& ref : op.makes.value) {
      const plan::Feature* f = plan::find_feature(d_.plan, plan::parse_reference(ref).id);
      if (f != nullptr) feature(*f);
    }
    chamfers();
    std::stable_sort(steps_.begin(), steps_.end(), [](const Step& a, const Step& b) { return a.order < b.order; });
    for (Step& s : steps_) {
      op.cuts.push_back(std::move(s.cut));
      d_.choices.push_back(std::move(s.why));
    }
  }

 private:
  // ---- tools -------------------------------------------------------------------------------------------------------

  using Fits = std::function<double(const plan::Tool&)>;  ///< how well, the larger the better; below 0: not at all
  const plan::Tool* best(const char* kind, const Fits& fits) const {
    const plan::Tool* out = nullptr;
    double most = -1e-12;
    for (const plan::Tool& t : scene_.shop.tools) {
      if (t.kind.value != kind || !t.diameter.known()) continue;
      const double x = fits(t);
      if (x > most) most = x, out = &t;
    }
    return out;
  }
  static bool reaches(const plan::Tool& t, double depth) {
    return !t.stick_out.known() || t.stick_out.si >= depth + 1e-3;
  }

  void missing(const plan::Feature& f, const std::string& what) {
    d_.disagree.push_back(fmt::format("{} in {}: the shop file has no {}; nothing cuts it until one is there",
                                      f.id.value, op_->id.value, what));
  }

  double rotation(const plan::Tool& t, bool finish) const {
    double n = slower_ * data(t.kind.value, t.diameter.si, finish).vc / (pi * t.diameter.si);
    if (machine_ != nullptr && machine_->top_speed.known()) n = std::min(n, machine_->top_speed.si / (2 * pi));
    return std::max(10.0, std::floor(n * 6)) / 6;  // whole tens of turns a minute
  }

  Step& add(int order, const plan::Tool& t, const std::vector<std::string>& features, const char* kind, bool finish) {
    Step s;
    s.order = order;
    give(s.cut.tool, t.id.value);
    for (const std::string& f : features) give(s.cut.features, f);
    give(s.cut.kind, kind);
    const double n = rotation(t, finish);
    give(s.cut.speed, unit::Kind::rotation, base::shortest(std::round(60 * n)) + " rpm");
    double feed = n * (t.teeth.known() ? t.teeth.value : 1) * data(t.kind.value, t.diameter.si, finish).fz;
    if (t.kind.value == "tap") feed = 0;  // by its pitch, below
    if (feed > 0) give_feed(s.cut, feed);
    if (!t.stick_out.known()) stands_out(s.cut, t, features);
    s.why = {"cuts",
             fmt::format("operation.{}.cut.{}", op_->id.value, t.id.value),
             fmt::format("{} ({}) on {}, {}", t.id.value, t.name.known() ? t.name.value : t.kind.value,
                         base::join(features, ", "), s.cut.speed.typed),
             "",
             "from memory: carbide in iron",
             {}};
    steps_.push_back(std::move(s));
    return steps_.back();
  }
  /// How deep below the part's top a feature reaches in this operation, m.
  double below_top(const plan::Feature& f) const {
    const std::string& up = op_->up.value;
    const int axis = up.size() == 2 ? up[1] - 'x' : 2;
    const frame::Vec3 lo = scene_.part->box.lo, hi = scene_.part->box.hi;
    const auto part = [&](frame::Vec3 p) { return axis == 0 ? p.x : axis == 1 ? p.y : p.z; };
    const bool along = f.normal.value.size() == 2 && f.normal.value[1] == "xyz"[axis];
    if (!along || !f.from.known() || !f.to.known()) return std::min(length_of(f), part(hi) - part(lo));
    return up[0] == '-' ? std::max(f.from.si, f.to.si) - part(lo) : part(hi) - std::min(f.from.si, f.to.si);
  }
  /// Nobody said how far the tool stands out: as far as it must, and a little more. From memory.
  void stands_out(plan::Cut& c, const plan::Tool& t, const std::vector<std::string>& features) {
    double deep = 0;
    for (const std::string& id : features)
      if (const plan::Feature* f = plan::find_feature(d_.plan, id); f != nullptr) deep = std::max(deep, below_top(*f));
    const double d = t.diameter.si;
    const double least = t.kind.value == "face mill" ? std::max(0.6 * d, 0.035) : std::max(deep + 6e-3, 1.5 * d);
    const auto round_up = [](double x) { return 1e-3 * std::ceil(1e3 * x - 1e-6); };
    const double stated = round_up(1.15 * least), high = round_up(1.7 * least);
    give(c.stick_out, unit::Kind::length, band(stated, round_up(least), high));
    d_.assumed.push_back(
        fmt::format("operation.{}.cut.{}.stick_out {}: as far as it must reach and a little more, from "
                    "memory; measure it at the holder",
                    op_->id.value, t.id.value, c.stick_out.typed));
  }
  void give_feed(plan::Cut& c, double feed) const {
    if (scene_.inch) give(c.feed, unit::Kind::speed, base::fixed(feed / 0.0254 * 60, 2) + " in/min");
    else give(c.feed, unit::Kind::speed, base::shortest(std::round(feed * 60e3)) + " mm/min");
  }
  static void passes(plan::Cut& c, int n) {
    if (n <= 1) return;
    c.passes.value = n, c.passes.origin = plan::Origin::given, c.passes.typed = std::to_string(n);
  }
  /// Path of one pass, how many, and moves between them at a second each.
  void path(plan::Cut& c, double length, int n, int moves = 0) const {
    give_length(c.length, 1e-4 * std::round(1e4 * length), scene_.inch);
    passes(c, n);
    if (!(c.feed.si > 0)) return;
    const double minutes = (length * n / c.feed.si + moves) / 60;
    give(c.time, unit::Kind::time, base::fixed(std::max(minutes, 0.01), 3) + " min");
  }

  // ---- features ----------------------------------------------------------------------------------------------------

  void feature(const plan::Feature& f) {
    const std::string& k = f.kind.value;
    if (is_floor(f)) return;  // with its bore
    if (k == "face") face(f);
    else if (k == "profile") outside(f);
    else if (k == "pocket" || k == "slot") pocket(f);
    else if (k == "groove") groove(f);
    else if (k == "thread" || f.thread.known()) thread(f);
    else if (hole_like(f)) round_hole(f);
    else if (k == "boss") boss(f);
    else if (k == "chamfer") {
      if (const plan::Tool* t = best("chamfer", [](const plan::Tool&) { return 1.0; }))
        path(add(80, *t, {f.id.value}, "chamfer", false).cut, 0.1, 1);
      else missing(f, "chamfer tool");
    } else {
      d_.disagree.push_back(fmt::format("{} ({}): no way to cut it is known here", f.id.value, k));
    }
  }

  double stock_of(const std::string& reference, double otherwise) const {
    for (const plan::CastSize& s : d_.plan.casting.sizes) {
      if (s.kind.value != "outside" || s.between.value.size() != 2) continue;
      const bool named = s.between.value[0] == reference || s.between.value[1] == reference;
      if (!named) continue;
      const frame::Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
      const double finished = s.id.value == "length" ? box.x : s.id.value == "width" ? box.y : box.z;
      const double tolerance = s.tolerance.known() ? s.tolerance.si : 2e-3;
      return 0.5 * (s.raw.si - finished) + 0.5 * tolerance;
    }
    return otherwise;
  }

  void face(const plan::Feature& f) {
    double u = 0, v = 0;
    if (f.size.value.size() >= 2) u = f.size.value[0], v = f.size.value[1];
    else u = v = nominal_of(f.diameter);
    const double wide = std::min(u, v), length = std::max(u, v);
    const plan::Tool* t = best("face mill", [&](const plan::Tool& x) {
      return x.diameter.si >= 1.2 * wide ? 1 / x.diameter.si : 1e-3 * x.diameter.si;
    });
    if (t == nullptr) t = best("end mill", [](const plan::Tool& x) { return x.diameter.si; });
    if (t == nullptr) return missing(f, "face mill");
    const double over = f.over.known() ? stock_of(f.over.value, 3e-3) : stock_of(f.id.value, 3e-3);
    const double d = t->diameter.si, step = 0.75 * d;
    const int rows = std::max(1, static_cast<int>(std::ceil(wide / step - 1e-9)));
    const double most = 3.5e-3;
    const int levels = std::max(1, static_cast<int>(std::ceil(over / most - 1e-9)));
    Step& s = add(10, *t, {f.id.value}, "rough and finish", false);
    give_length(s.cut.depth, 1e-4 * std::ceil(1e4 * over / levels), scene_.inch);
    give_length(s.cut.width, 1e-4 * std::round(1e4 * std::min(wide, step)), scene_.inch);
    path(s.cut, length + d, rows * (levels + 1), rows);
    s.why.why = fmt::format("the first cut goes under the skin: {} at most stock in {} level{}, and one to finish",
                            length_text(1e-4 * std::round(1e4 * over), scene_.inch), levels, levels == 1 ? "" : "s");
  }

  void outside(const plan::Feature& f) {
    const frame::Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    const double height = length_of(f) > 0 ? length_of(f) : box.z, round = 2 * (box.x + box.y);
    const auto fits = [&](const plan::Tool& t) {
      return t.diameter.si <= 20.1e-3 && reaches(t, height) ? t.diameter.si : -1;
    };
    const plan::Tool* rough =
        best("end mill", [&](const plan::Tool& t) { return fits(t) < 0 ? -1 : fits(t) - 1e-4 * t.teeth.value; });
    if (rough == nullptr)
      return missing(f, fmt::format("end mill of at most 20 mm that reaches {}", length_text(height, scene_.inch)));
    const plan::Tool* finish =
        best("end mill", [&](const plan::Tool& t) { return fits(t) < 0 ? -1 : fits(t) + 1e-4 * t.teeth.value; });
    const bool edges = std::any_of(d_.plan.features.begin(), d_.plan.features.end(),
                                   [](const plan::Feature& e) { return e.over.known() && e.cast.known(); });
    const double most = edges ? 0.5e-3 : stock_of("outside.+y", 3e-3), left = 0.25e-3;
    const double more = stock_of("outside.+x", most);
    const int levels = std::max(1, static_cast<int>(std::ceil(height / 18.5e-3 - 1e-9)));
    Step& r = add(20, *rough, {f.id.value}, "rough", false);
    give_length(r.cut.depth, 1e-4 * std::ceil(1e4 * height / levels), scene_.inch);
    const double wide = std::max(most, more) - left, least = std::max(0.2e-3, 0.3 * std::min(most, more));
    give(r.cut.width, unit::Kind::length, band(0.5 * (least + wide), least, std::max(wide, least + 1e-4)));
    path(r.cut, round + pi * rough->diameter.si, levels, levels);
    r.why.why = fmt::format("reaches {}; {} level{} down, {} left to finish", length_text(height, scene_.inch), levels,
                            levels == 1 ? "" : "s", length_text(left, scene_.inch));
    Step& s = add(60, *finish, {f.id.value}, "finish", true);
    give_length(s.cut.depth, height, scene_.inch);
    give_length(s.cut.width, left, scene_.inch);
    path(s.cut, round + pi * finish->diameter.si, 1, 1);
    s.why.why = "once round at full depth, after the last heavy cut";
  }
  std::string band(double value, double low, double high) const {
    const auto text = [&](double x) {
      return base::shortest(std::round(x / (scene_.inch ? 0.0254 : 1e-3) * 1e4) / 1e4);
    };
    return fmt::format("{} {} ({}..{} {})", text(value), scene_.inch ? "in" : "mm", text(low), text(high),
                       scene_.inch ? "in" : "mm");
  }

  void pocket(const plan::Feature& f) {
    const double w = std::min(nominal_of(f.width), nominal_of(f.length)),
                 l = std::max(nominal_of(f.width), nominal_of(f.length)), depth = length_of(f);
    const double radius = f.radius.known() ? f.radius.si : 0.5 * w;
    const double widest = std::min(2 * radius, 0.8 * (w > 0 ? w : 2 * radius));
    const auto fits = [&](const plan::Tool& t) {
      return t.diameter.si <= widest + 1e-6 && reaches(t, depth) ? t.diameter.si : -1.0;
    };
    const plan::Tool* t = best("end mill", fits);
    if (t == nullptr)
      return missing(f, fmt::format("end mill of at most {} that reaches {}", length_text(widest, scene_.inch),
                                    length_text(depth, scene_.inch)));
    const double d = t->diameter.si, ap = 0.4 * d, ae = 0.6 * d;
    const int levels = std::max(1, static_cast<int>(std::ceil(depth / ap - 1e-9))),
              n = static_cast<int>(std::max<std::size_t>(1, f.at.value.size()));
    Step& s = add(30, *t, {f.id.value}, "rough and finish", false);
    give_length(s.cut.depth, 1e-4 * std::round(1e4 * depth / levels), scene_.inch);
    give_length(s.cut.width, 1e-4 * std::round(1e4 * ae), scene_.inch);
    const double each = std::max(w * l / ae, l) + 2 * (w + l) / levels;
    path(s.cut, each, levels * n, n);
    s.why.why = fmt::format("the largest that goes round a corner of {} and reaches {}",
                            length_text(radius, scene_.inch), length_text(depth, scene_.inch));
  }

  void groove(const plan::Feature& f) {
    const double width = nominal_of(f.width), groove = diameter_of(f);
    double bore = 0;
    for (const plan::Feature& b : d_.plan.features)
      if (hole_like(b) && !b.at.value.empty() && !f.at.value.empty() &&
          std::hypot(b.at.value[0].x - f.at.value[0].x, b.at.value[0].y - f.at.value[0].y) < 1e-5 &&
          diameter_of(b) < groove)
        bore = std::max(bore, diameter_of(b));
    const double deep = 0.5 * (groove - bore);
    const plan::Tool* t = best("keyseat cutter", [&](const plan::Tool& x) {
      const double neck = x.neck.known() ? 0.5 * (x.diameter.si - x.neck.si) : 1;
      return x.diameter.si < bore - 1e-3 && x.width.known() && x.width.si <= width + 1e-6 && neck > deep ? x.width.si
                                                                                                         : -1.0;
    });
    if (t == nullptr)
      return missing(f, fmt::format("keyseat cutter at most {} wide that goes through {} with a neck that lets {} deep",
                                    length_text(width, scene_.inch), length_text(bore, scene_.inch),
                                    length_text(deep, scene_.inch)));
    Step& s = add(55, *t, {f.id.value}, "groove", false);
    const int n = std::max(1, static_cast<int>(std::ceil(width / t->width.si - 1e-9)));
    // Inside a bore the tool's middle runs slower than its edge by the ratio of the circles.
    path(s.cut, pi * groove, n, 2);
    s.why.why = fmt::format("goes through the bore, its neck lets {} deep, {} pass{} for the width",
                            length_text(deep, scene_.inch), n, n == 1 ? "" : "es");
  }

  void thread(const plan::Feature& f) {
    const double drill = f.drill.known() ? f.drill.si : diameter_of(f), depth = length_of(f);
    const double major = f.thread.known() ? f.thread.value.major : 0;
    const int n = static_cast<int>(std::max<std::size_t>(1, f.at.value.size()));
    drilled(f, drill, depth, n);
    const plan::Tool* t =
        best("tap", [&](const plan::Tool& x) { return std::fabs(x.diameter.si - major) < 0.3e-3 ? 1.0 : -1.0; });
    if (t == nullptr)
      t = best("thread mill", [&](const plan::Tool& x) { return x.diameter.si < 0.8 * major ? x.diameter.si : -1.0; });
    if (t == nullptr) return missing(f, "tap or thread mill for " + f.thread.typed);
    Step& s = add(70, *t, {f.id.value}, "tap", false);
    const double pitch = f.thread.value.pitch > 0 ? f.thread.value.pitch : coarse(major);
    give_feed(s.cut, s.cut.speed.si / (2 * pi) * pitch);
    path(s.cut, 2 * ((f.thread_depth.known() ? f.thread_depth.si : depth) + 3 * pitch), n, n);
    s.why.why = "a tap that cuts: iron crumbles under one that forms";
  }
  static double coarse(double major) {
    return major <= 5.1e-3    ? 0.8e-3
           : major <= 6.1e-3  ? 1e-3
           : major <= 8.1e-3  ? 1.25e-3
           : major <= 10.1e-3 ? 1.5e-3
                              : 1.75e-3;
  }

  /// A drill that leaves the hole between its limits; without limits one within half a per cent.
  void drilled(const plan::Feature& f, double d, double depth, int n) {
    const unit::Limits& l = f.diameter.value;
    const bool limits = l.lower && l.upper && f.kind.value != "thread";
    const double low = limits ? *l.lower : d - 0.005 * d - 2e-5, high = limits ? *l.upper : d + 0.005 * d + 2e-5;
    const plan::Tool* t = best("drill", [&](const plan::Tool& x) {
      const double size = x.diameter.si;
      return size >= low - 1e-7 && size <= high + 1e-7 ? 1 - std::fabs(size - d) / d : -1.0;
    });
    if (t == nullptr) return missing(f, fmt::format("drill of {}", length_text(d, scene_.inch)));
    Step& s = add(40, *t, {f.id.value}, "drill", false);
    path(s.cut, depth + 0.3 * d + 2e-3, n, n);
    s.why.why = "from the solid";
  }

  void round_hole(const plan::Feature& f) {
    const double d = diameter_of(f), depth = length_of(f), zone = size_zone(f);
    const int n = static_cast<int>(std::max<std::size_t>(1, f.at.value.size()));
    std::vector<std::string> both{f.id.value};
    if (const std::string floor = floor_of(f.id.value); has_floor(floor)) both.push_back(floor);
    const bool milled = f.cast.value == "cored" || d > 26e-3;
    if (milled) {
      const plan::Tool* t = best("end mill", [&](const plan::Tool& x) {
        return x.diameter.si <= 0.6 * d && reaches(x, depth) ? x.diameter.si : -1.0;
      });
      if (t == nullptr)
        return missing(f, fmt::format("end mill of at most {} that reaches {}", length_text(0.6 * d, scene_.inch),
                                      length_text(depth, scene_.inch)));
      const int levels = std::max(1, static_cast<int>(std::ceil(depth / 9e-3 - 1e-9)));
      Step& s = add(25, *t, both, "rough and finish", false);
      give_length(s.cut.depth, 1e-4 * std::round(1e4 * depth / levels), scene_.inch);
      path(s.cut, pi * (d - t->diameter.si) * 1.5, n * (levels + 1), n);
      s.why.why = "opens the cored hole level by level, and its floor";
      if (zone < 0.06e-3) finish_bore(f, d, depth, n);
      return;
    }
    if (zone < 0.022e-3 && d <= 16e-3) {  // reamed
      const plan::Tool* ream =
          best("reamer", [&](const plan::Tool& x) { return std::fabs(x.diameter.si - d) < 0.05e-3 ? 1.0 : -1.0; });
      const plan::Tool* drill = best("drill", [&](const plan::Tool& x) {
        return x.diameter.si < d - 0.08e-3 && x.diameter.si > 0.94 * d ? x.diameter.si : -1.0;
      });
      if (ream == nullptr || drill == nullptr)
        return missing(f, fmt::format("{} for {}", ream == nullptr ? "reamer" : "drill a little smaller",
                                      length_text(d, scene_.inch)));
      Step& a = add(40, *drill, {f.id.value}, "drill", false);
      path(a.cut, depth + 0.3 * d + 2e-3, n, n);
      a.why.why = "leaves a little for the reamer";
      Step& b = add(50, *ream, {f.id.value}, "ream", true);
      path(b.cut, depth + 2e-3, n, n);
      b.why.why = fmt::format("limits {} wide", length_text(zone, scene_.inch));
      return;
    }
    if (zone < 0.06e-3) {  // drilled, bored
      const plan::Tool* drill = best("drill", [&](const plan::Tool& x) {
        return x.diameter.si <= d - 0.5e-3 && x.diameter.si >= 0.85 * d ? x.diameter.si : -1.0;
      });
      if (drill == nullptr) missing(f, fmt::format("drill of 85 to 98 % of {}", length_text(d, scene_.inch)));
      else {
        Step& a = add(40, *drill, {f.id.value}, "drill", false);
        path(a.cut, depth + 0.3 * d + 2e-3, n, n);
        a.why.why = "from the solid";
      }
      const plan::Tool* rough = best("boring tool", [&](const plan::Tool& x) {
        return x.diameter.si < d - 0.05e-3 && x.diameter.si > d - 0.6e-3 ? x.diameter.si : -1.0;
      });
      if (rough != nullptr) {
        Step& b = add(45, *rough, {f.id.value}, "rough", false);
        path(b.cut, depth + 2e-3, n, n);
        b.why.why = "straightens what the drill left";
      }
      finish_bore(f, d, depth, n);
      return;
    }
    drilled(f, d, depth, n);
  }
  double size_zone(const plan::Feature& f) const {
    double least = INFINITY;
    for (const plan::Requirement* r : requirements_on(d_.plan, f.id.value)) {
      const unit::Limits& l = r->limits.value;
      if (r->kind.value == "size" && l.lower && l.upper) least = std::min(least, *l.upper - *l.lower);
      if (r->kind.value == "cylindricity" && l.upper) least = std::min(least, 2 * *l.upper);
    }
    const unit::Limits& l = f.diameter.value;
    if (l.lower && l.upper) least = std::min(least, *l.upper - *l.lower);
    return least;
  }
  bool has_floor(const std::string& id) const {
    return std::any_of(op_->makes.value.begin(), op_->makes.value.end(), [&](const std::string& m) { return m == id; });
  }
  void finish_bore(const plan::Feature& f, double d, double depth, int n) {
    const plan::Tool* t =
        best("boring tool", [&](const plan::Tool& x) { return std::fabs(x.diameter.si - d) < 0.06e-3 ? 1.0 : -1.0; });
    if (t == nullptr) return missing(f, fmt::format("boring tool set to {}", length_text(d, scene_.inch)));
    Step& s = add(65, *t, {f.id.value}, "finish", true);
    path(s.cut, depth + 3e-3, n, n);
    s.why.why = "a close bore is finished after the last heavy cut";
    s.why.asked_by = "common practice";
  }

  void boss(const plan::Feature& f) {
    const double height = length_of(f), d = diameter_of(f);
    const plan::Tool* t =
        best("end mill", [&](const plan::Tool& x) { return reaches(x, height) ? x.diameter.si : -1.0; });
    if (t == nullptr) return missing(f, "end mill that reaches " + length_text(height, scene_.inch));
    Step& s = add(20, *t, {f.id.value}, "rough and finish", false);
    give_length(s.cut.depth, height, scene_.inch);
    path(s.cut, pi * (d + t->diameter.si), 2, 2);
    s.why.why = "round the boss, once to rough and once to finish";
  }

  /// Edges are broken where the operation opens them, before a later one breaks out over them.
  void chamfers() {
    if (steps_.empty()) return;
    const plan::Tool* t = best("chamfer", [](const plan::Tool&) { return 1.0; });
    const std::vector<std::string>& makes = op_->makes.value;
    std::string on;
    for (const std::string& m : makes)
      if (const plan::Feature* f = plan::find_feature(d_.plan, plan::parse_reference(m).id);
          f != nullptr && (f->kind.value == "profile" || (on.empty() && hole_like(*f))))
        on = f->id.value;
    if (on.empty()) return;
    if (t == nullptr) {
      d_.disagree.push_back(op_->id.value + ": the shop file has no chamfer tool: edges are broken by hand");
      return;
    }
    const plan::Feature* f = plan::find_feature(d_.plan, on);
    const frame::Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    Step& s = add(75, *t, {on}, "chamfer", false);
    path(s.cut, f->kind.value == "profile" ? 2 * (box.x + box.y) : 0.15, 1, 4);
    s.why.why = "grey iron breaks out at sharp edges, and hands touch them";
    s.why.asked_by = "common practice";
  }

  const Scene& scene_;
  Draft& d_;
  double slower_;
  plan::Operation* op_ = nullptr;
  const plan::Machine* machine_ = nullptr;
  std::vector<Step> steps_;
};

}  // namespace

void cuts(const Scene& scene, Draft& d) {
  Cutter c(scene, d);
  for (plan::Operation& op : d.plan.operations) {
    const std::string& k = op.kind.value;
    if (k == "grind" || k == "hone" || k == "deburr" || k == "wash" || k == "gauge" || k == "other") continue;
    c.operation(op);
  }
}

}  // namespace fettle::begin
