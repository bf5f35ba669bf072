#include "prove/shape.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "plan/read.h"
#include "ref/threads.h"
#include "study/internal.h"

namespace fettle::prove {

using frame::Vec3;

namespace {

constexpr double mm = 1e-3, degree = 3.14159265358979323846 / 180;

std::optional<double> middle(const plan::Limits& l) {
  if (!l.known()) return {};
  const unit::Limits& v = l.value;
  if (v.lower && v.upper) return 0.5 * (*v.lower + *v.upper);
  return v.nominal;
}
bool listed(const std::vector<std::string>& names, const std::string& id) {
  return std::find(names.begin(), names.end(), id) != names.end();
}
Outline disc(Vec3 at, double diameter) { return {at, 0.5 * diameter, 0.5 * diameter, 0.5 * diameter}; }

/// The word of a direction of the part ("+x") that points along a direction of the program.
std::string word_of(const compose::SetUp& s, Vec3 along) {
  const Vec3 p = frame::rotate(frame::inverse(s.X_NP), along);
  if (std::fabs(p.x) > 0.5) return p.x > 0 ? "+x" : "-x";
  if (std::fabs(p.y) > 0.5) return p.y > 0 ? "+y" : "-y";
  return p.z > 0 ? "+z" : "-z";
}

/// Reference of the surface that bounds the finished part towards a direction of the part; empty: none is named.
std::string bounding(const plan::Plan& plan, const std::string& word) {
  std::string best;
  double far = -1e9;
  for (const plan::Feature& f : plan.features)
    for (const std::string& r : study::sides_of(f)) {
      if (f.over.known() || f.diameter.known()) continue;
      const study::Surface q = study::surface_of(plan, r);
      if (!q.there || q.round || !(frame::dot(q.normal, study::direction(word)) > 0.9)) continue;
      const double at = frame::dot(q.point, q.normal);
      if (at > far + 1e-9) far = at, best = r;
    }
  return best;
}

const CastingDraw::Side* drawn(const CastingDraw& draw, const std::string& reference) {
  for (const CastingDraw::Side& s : draw.sides)
    if (s.reference == reference) return &s;
  return nullptr;
}

class Builder {
 public:
  Builder(const plan::Plan& plan, const plan::Operation& o, const compose::SetUp& s)
      : plan_(plan), o_(o), s_(s), along_z_(std::fabs(s.X_NP.R[8]) > 0.5) {}

  Shape shape(bool finished, const CastingDraw& draw, double slack, std::vector<std::string>* notes) const {
    Shape out;
    const std::array<Vec3, 4> to = {Vec3{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}};
    std::array<double, 4> more{};
    for (std::size_t k = 0; k < 4; ++k) {
      const std::string side = bounding(plan_, word_of(s_, to[k]));
      more[k] = stock(side, finished, draw, notes) - slack;
      out.skin_side[k] = !finished && as_cast(side);
    }
    const double ax = s_.low_x - more[1], bx = s_.high_x + more[0], ay = s_.low_y - more[3], by = s_.high_y + more[2];
    out.body = {{0.5 * (ax + bx), 0.5 * (ay + by), 0}, 0.5 * (bx - ax), 0.5 * (by - ay), 0};
    if (along_z_)
      for (const plan::Feature& f : plan_.features)
        if (f.kind.value == "profile" && f.radius.known())
          out.body.corner = std::max(0.0, f.radius.si + *std::min_element(more.begin(), more.end()));
    const std::string above = bounding(plan_, word_of(s_, {0, 0, 1})), below = bounding(plan_, word_of(s_, {0, 0, -1}));
    out.top = level(above) + stock(above, finished, draw, notes);
    out.bottom = level(below) - stock(below, finished, draw, nullptr);
    out.skin_top = !finished && as_cast(above);
    if (!(out.top > out.bottom)) out.top = s_.top;
    if (!along_z_) stands(draw, out);
    for (const plan::Feature& f : plan_.features)
      if (along_z_ || opens_up(f)) hollow(f, finished, slack, draw, out);
      else tunnel(f, finished, slack, draw, out);
    std::stable_sort(out.tunnels.begin(), out.tunnels.end(),
                     [](const Tunnel& a, const Tunnel& b) { return a.half_height > b.half_height; });
    std::stable_sort(out.hollows.begin(), out.hollows.end(),
                     [](const Hollow& a, const Hollow& b) { return a.upper > b.upper; });
    return out;
  }

 private:
  /// Does it open to the spindle though the part stands on its side?
  bool opens_up(const plan::Feature& f) const {
    return f.normal.known() && frame::rotate(s_.X_NP, study::direction(f.normal.value)).z > 0.9;
  }
  /// The round corners of the outside, seen from the side, as the part comes: a face across cuts them off above.
  void stands(const CastingDraw& draw, Shape& out) const {
    const std::string above = bounding(plan_, word_of(s_, {0, 0, 1}));
    const double more = std::max(0.0, stock(above, false, draw, nullptr));
    for (const plan::Feature& f : plan_.features)
      if (f.kind.value == "profile" && f.radius.known()) out.end_radius = f.radius.si + more;
    out.end_top = level(above) + more;
    // The part's Z, which the profile runs round, lies along X or Y of the program.
    out.ends_along_x = std::fabs(frame::rotate(s_.X_NP, {0, 0, 1}).x) < 0.5;
  }
  double level(const std::string& reference) const {
    const study::Surface q = study::surface_of(plan_, reference);
    return q.there ? (s_.X_NP * q.point).z : 0;
  }
  double stock(const std::string& reference, bool finished, const CastingDraw& draw,
               std::vector<std::string>* notes) const {
    if (reference.empty()) return 0;
    if (finished && listed(made_here(o_), plan::parse_reference(reference).id)) return 0;
    const auto there = compose::stock_before(plan_, o_, finished ? o_.cuts.size() : 0, reference);
    if (!there && notes != nullptr) notes->push_back("stock on " + reference + " is not known: none taken");
    const bool done = there && *there == 0;
    const CastingDraw::Side* d = done ? nullptr : drawn(draw, reference);
    // A casting may be too small: then less than nothing stands there.
    return d != nullptr ? there.value_or(0) + d->more : std::max(0.0, there.value_or(0));
  }
  /// Is the cast skin still on a surface when the part comes to the operation?
  bool as_cast(const std::string& reference) const {
    const plan::Feature* f = plan::find_feature(plan_, plan::parse_reference(reference).id);
    if (f == nullptr || f->cast.value == "solid" || !f->cast.known()) return false;
    if (compose::made_before(plan_, o_, 0, reference) || compose::made_before(plan_, o_, 0, f->id.value)) return false;
    return std::none_of(plan_.features.begin(), plan_.features.end(), [&](const plan::Feature& g) {
      return g.over.value == reference && compose::made_before(plan_, o_, 0, g.id.value);
    });
  }
  bool made(const std::string& id, bool finished) const {
    if (finished && listed(made_here(o_), id)) return true;
    return compose::made_before(plan_, o_, 0, id);
  }
  bool ends(const plan::Feature& f, double& lower, double& upper) const {
    if (!f.from.known() || !f.to.known()) return false;
    // Along the feature's own axis.
    Vec3 axis = f.normal.known() ? study::direction(f.normal.value) : Vec3{0, 0, 1};
    axis = {std::fabs(axis.x), std::fabs(axis.y), std::fabs(axis.z)};
    if (!(std::fabs(frame::rotate(s_.X_NP, axis).z) > 0.9)) return false;
    const double a = (s_.X_NP * (f.from.si * axis)).z, b = (s_.X_NP * (f.to.si * axis)).z;
    lower = std::min(a, b), upper = std::max(a, b);
    return true;
  }

  void hollow(const plan::Feature& f, bool finished, double slack, const CastingDraw& draw, Shape& out) const {
    const std::string& k = f.kind.value;
    Hollow h;
    h.feature = f.id.value;
    double lower = 0, upper = 0;
    if (k == "face") return floor(f, finished, slack, out);
    if (!ends(f, lower, upper)) return;
    h.upper = upper;
    h.lower = lower < out.bottom + 0.05 * mm ? removal::nothing : lower;
    if (!made(f.id.value, finished)) return cored(f, draw, h, out);
    const double back = slack;
    if (k == "pocket" || k == "slot") {
      const auto w = middle(f.width), l = middle(f.length);
      if (!w || !l) return;
      const double r = f.radius.known() ? f.radius.si : 0;
      return place(f, h, {{}, 0.5 * *w + back, 0.5 * *l + back, r + back}, out);
    }
    std::optional<double> d = middle(f.diameter);
    h.opens = d && opens_below(f, lower, *d, out);
    if (k == "thread") {
      if (const auto t = f.thread.known() ? ref::thread_data(f.thread.value) : Outcome<ref::ThreadData>(bad("-"));
          t.ok())
        d = f.drill.known() ? f.drill.si : t->tapping_drill;
      h.tip = point(f.id.value, d.value_or(0));
    } else if (k == "hole") {
      h.tip = point(f.id.value, d.value_or(0));
    }
    if (slack > 0 && h.lower > removal::nothing) h.lower -= h.tip;
    if (!d) return;
    h.ring = k == "groove";
    if (h.ring) h.lower = lower - slack, h.upper = upper + slack;
    place(f, h, disc({}, *d + 2 * back), out);
  }
  /// What opens to a side of a part that stands on another: cut before, cut here, or left by its core.
  void tunnel(const plan::Feature& f, bool finished, double slack, const CastingDraw& draw, Shape& out) const {
    const std::string& k = f.kind.value;
    const bool box = k == "pocket" || k == "slot";
    if (!box && k != "bore" && k != "counterbore" && k != "hole" && k != "thread" && k != "groove") return;
    if (!f.from.known() || !f.to.known() || (box && f.normal.known() && f.normal.value[1] != 'z')) return;
    Vec3 axis = f.normal.known() ? study::direction(f.normal.value) : Vec3{0, 0, 1};
    axis = {std::fabs(axis.x), std::fabs(axis.y), std::fabs(axis.z)};
    const Vec3 way = frame::rotate(s_.X_NP, axis);
    if (std::fabs(way.z) > 0.1) return;
    double from = f.from.si, half = 0.5 * middle(f.diameter).value_or(0), wide = 0.5 * middle(f.width).value_or(0),
           tall = 0.5 * middle(f.length).value_or(0);
    if (k == "thread" && f.thread.known())
      if (const auto t = ref::thread_data(f.thread.value); t.ok())
        half = 0.5 * (f.drill.known() ? f.drill.si : t->tapping_drill);
    Vec3 shift;
    double back = slack;
    if (!made(f.id.value, finished)) {
      if (!core_of(f, draw, half, from, shift)) return;
      back = 0;
    }
    for (const Vec3& at : f.at.value) {
      const Vec3 across = at - frame::dot(at, axis) * axis;
      const Vec3 a = s_.X_NP * (across + from * axis + shift), b = s_.X_NP * (across + f.to.si * axis + shift);
      Tunnel t;
      t.feature = f.id.value;
      t.along_x = std::fabs(way.x) > 0.5;
      t.round = !box;
      t.across = t.along_x ? a.y : a.x;
      t.height = a.z;
      t.from = t.along_x ? std::min(a.x, b.x) : std::min(a.y, b.y);
      t.to = t.along_x ? std::max(a.x, b.x) : std::max(a.y, b.y);
      // A pocket's width lies along the part's X, its length along Y.
      const bool x_up = std::fabs(frame::rotate(s_.X_NP, {1, 0, 0}).z) > 0.5;
      t.half_across = (box ? (x_up ? tall : wide) : half) + back;
      t.half_height = (box ? (x_up ? wide : tall) : half) + back;
      if (t.half_across > back && t.half_height > back) out.tunnels.push_back(t);
    }
  }
  /// Radius, lower end and shift of the hollow that a core left; false: none did.
  bool core_of(const plan::Feature& f, const CastingDraw& draw, double& half, double& from, Vec3& shift) const {
    if (f.cast.value != "cored" || (f.normal.known() && f.normal.value[1] != 'z')) return false;
    const CastingDraw::Side* d = drawn(draw, f.id.value);
    for (const plan::CastSize& c : plan_.casting.sizes) {
      if (c.kind.value != "inside" || c.feature.value != f.id.value || !c.raw.known()) continue;
      for (const plan::CastSize& z : plan_.casting.sizes) {
        if (z.kind.value != "height" || !z.raw.known() || z.between.value.size() != 1 || !under(f, z.feature.value))
          continue;
        const study::Surface floor = study::surface_of(plan_, z.between.value[0]);
        if (floor.there) from = floor.point.z + z.raw.si;
      }
      half = 0.5 * c.raw.si - (d != nullptr ? d->more : 0);
      if (d != nullptr) shift = {d->shift_x, d->shift_y, 0};
      return true;
    }
    return false;
  }
  /// Does the bore end in a wider hollow that goes on to the part's lower side, cored or cut before?
  bool opens_below(const plan::Feature& f, double lower, double diameter, const Shape& out) const {
    constexpr double core = 5 * mm;  // a core may end this far from the finished floor
    for (const plan::Feature& g : plan_.features) {
      double low = 0, high = 0;
      const auto wide = middle(g.diameter);
      if (&g == &f || g.kind.value == "face" || !wide || !(*wide > diameter) || !ends(g, low, high)) continue;
      const bool there = g.cast.value == "cored" || made(g.id.value, false);
      if (there && low < out.bottom + 0.05 * mm && high > lower - core && under(f, g.id.value)) return true;
    }
    return false;
  }
  /// How much deeper the point of the drill goes that makes this hole, m; 0: none does.
  double point(const std::string& feature, double diameter) const {
    for (const plan::Operation& o : plan_.operations)
      for (const plan::Cut& c : o.cuts) {
        const plan::Tool* t = plan::find_tool(plan_, c.tool.value);
        const bool here = std::any_of(c.features.value.begin(), c.features.value.end(),
                                      [&](const std::string& r) { return plan::parse_reference(r).id == feature; });
        if (t != nullptr && here && t->kind.value == "drill")
          return 0.5 * diameter / std::tan(0.5 * (t->point_angle.known() ? t->point_angle.si : 140 * degree)) +
                 0.1 * mm;
      }
    return 0;
  }
  void place(const plan::Feature& f, Hollow h, const Outline& o, Shape& out) const {
    for (std::size_t i = 0; i < f.at.value.size(); ++i) {
      h.outline = o;
      const Vec3 at = s_.X_NP * f.at.value[i];
      h.outline.middle = {at.x, at.y, 0};
      h.place = static_cast<int>(i);
      out.hollows.push_back(h);
    }
  }
  /// A round floor inside the part.
  void floor(const plan::Feature& f, bool finished, double slack, Shape& out) const {
    const auto d = middle(f.diameter);
    if (!d || f.at.value.empty() || !made(f.id.value, finished)) return;
    const study::Surface q = study::surface_of(plan_, f.id.value);
    if (!q.there || !(frame::rotate(s_.X_NP, q.normal).z > 0.9)) return;
    Hollow h;
    h.feature = f.id.value;
    h.lower = level(f.id.value);
    h.upper = out.top;
    place(f, h, disc({}, *d + 2 * slack), out);
  }
  /// What the core left, where the bore is not cut yet.
  void cored(const plan::Feature& f, const CastingDraw& draw, Hollow h, Shape& out) const {
    if (f.cast.value != "cored") return;
    for (const plan::CastSize& c : plan_.casting.sizes) {
      if (c.kind.value != "inside" || c.feature.value != f.id.value || !c.raw.known()) continue;
      for (const plan::CastSize& z : plan_.casting.sizes)
        if (z.kind.value == "height" && z.raw.known() && z.between.value.size() == 1 && under(f, z.feature.value))
          h.lower = level(z.between.value[0]) + s_.X_NP.R[8] * z.raw.si;
      const CastingDraw::Side* d = drawn(draw, f.id.value);
      Vec3 shift;
      if (d != nullptr) shift = frame::rotate(s_.X_NP, {d->shift_x, d->shift_y, 0});
      if (s_.X_NP.R[8] < 0) return;  // opens away
      const std::size_t before = out.hollows.size();
      h.skin = true;
      place(f, h, disc({}, c.raw.si - 2 * (d != nullptr ? d->more : 0)), out);
      for (std::size_t i = before; i < out.hollows.size(); ++i)
        out.hollows[i].outline.middle = out.hollows[i].outline.middle + Vec3{shift.x, shift.y, 0};
    }
  }
  bool under(const plan::Feature& f, const std::string& floor) const {
    const plan::Feature* g = plan::find_feature(plan_, floor);
    if (g == nullptr || g->at.value.empty() || f.at.value.empty()) return false;
    return std::hypot(g->at.value[0].x - f.at.value[0].x, g->at.value[0].y - f.at.value[0].y) < 1 * mm;
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  const compose::SetUp& s_;
  bool along_z_;
};

/// The height of a shape at a place, and its gap.
struct Column {
  double top = removal::nothing, gap_low = 0, gap_high = 0;
};
/// A tunnel through the column: a gap in it, or its new top where nothing is left above. A field knows one gap a
/// column; of two apart the taller stays.
void bored(const Tunnel& t, double x, double y, Column& c) {
  const double along = t.along_x ? x : y, off = std::fabs((t.along_x ? y : x) - t.across);
  if (along < t.from || along > t.to || !(off < t.half_across)) return;
  const double share = off / t.half_across,
               half = t.round ? t.half_height * std::sqrt(1 - share * share) : t.half_height;
  const double low = t.height - half, high = t.height + half;
  if (c.top <= low) return;
  if (c.top <= high) {
    c.top = c.gap_high > c.gap_low && c.gap_high >= low ? std::min(low, c.gap_low) : low;
    if (c.gap_high >= c.top) c.gap_low = c.gap_high = 0;
    return;
  }
  const bool any = c.gap_high > c.gap_low;
  if (any && c.gap_low <= high && low <= c.gap_high)
    c.gap_low = std::min(c.gap_low, low), c.gap_high = std::max(c.gap_high, high);
  else if (!any || high - low > c.gap_high - c.gap_low) c.gap_low = low, c.gap_high = high;
}
Column column(const Shape& s, double x, double y) {
  Column c;
  if (s.body.outside(x, y) > 0) return c;
  c.top = s.top;
  if (s.end_radius > 0) {
    const double at = s.ends_along_x ? std::fabs(x - s.body.middle.x) - s.body.half_x
                                     : std::fabs(y - s.body.middle.y) - s.body.half_y;
    const double in = std::min(at + s.end_radius, s.end_radius);
    if (in > 0) c.top = std::min(c.top, s.end_top - s.end_radius + std::sqrt(s.end_radius * s.end_radius - in * in));
  }
  for (const Hollow& h : s.hollows) {
    if (h.outline.outside(x, y) > 0) continue;
    if (h.ring) {
      if (c.top > h.upper + 1e-6) c.gap_low = h.lower, c.gap_high = h.upper;
      continue;
    }
    // A bore that goes through to what a core left opens there too, though its drawing ends at the finished floor.
    const bool met = h.lower <= removal::nothing && h.upper > c.top - 5 * mm && c.top < s.top - mm;
    if (h.upper < c.top - 1e-6 && !met) continue;  // does not open here
    c.top = std::min(c.top, h.opens ? removal::nothing : h.lower);
  }
  if (c.top <= c.gap_high) c.gap_low = c.gap_high = 0;
  for (const Tunnel& t : s.tunnels) bored(t, x, y, c);
  return c;
}

}  // namespace

double under_top(const Shape& s, double x, double y, double z) {
  if (s.body.outside(x, y) > 0) return 1e9;
  double top = s.top;
  bool skin = s.skin_top;
  for (const Hollow& h : s.hollows) {
    if (h.ring || h.outline.outside(x, y) > 0 || h.upper < top - 1e-6 || !(h.lower < top)) continue;
    top = h.opens ? removal::nothing : h.lower, skin = h.skin;
  }
  return skin && top > removal::nothing ? top - z : 1e9;
}

double Outline::outside(double x, double y) const {
  const double r = std::min(corner, std::min(half_x, half_y));
  const double dx = std::fabs(x - middle.x) - (half_x - r), dy = std::fabs(y - middle.y) - (half_y - r);
  const double ox = std::max(dx, 0.0), oy = std::max(dy, 0.0);
  return std::sqrt(ox * ox + oy * oy) + std::min(0.0, std::max(dx, dy)) - r;
}

std::vector<std::string> made_here(const plan::Operation& o) {
  std::vector<std::string> out;
  const auto take = [&](const std::string& r) {
    const std::string id = plan::parse_reference(r).id;
    if (!listed(out, id)) out.push_back(id);
  };
  for (const plan::Cut& c : o.cuts)
    for (const std::string& f : c.features.value) take(f);
  for (const std::string& f : o.makes.value) take(f);
  return out;
}

Shape raw_shape(const plan::Plan& plan, const plan::Operation& o, const compose::SetUp& s, const CastingDraw& draw,
                std::vector<std::string>& notes) {
  return Builder(plan, o, s).shape(false, draw, 0, &notes);
}
Shape finished_shape(const plan::Plan& plan, const plan::Operation& o, const compose::SetUp& s, double slack) {
  return Builder(plan, o, s).shape(true, {}, slack, nullptr);
}

void stand(removal::Field& f, const Shape& s, Vec3 at, double turn) {
  const double c = std::cos(turn), n = std::sin(turn);
  const double reach = std::hypot(s.body.half_x, s.body.half_y) + std::hypot(s.body.middle.x, s.body.middle.y) + f.cell;
  const bool rings =
      !s.tunnels.empty() || std::any_of(s.hollows.begin(), s.hollows.end(), [](const Hollow& h) { return h.ring; });
  if (rings && f.gap_low.empty()) f.gap_low.assign(f.top.size(), 0), f.gap_high = f.gap_low;
  cells_near(f, at.x, at.y, reach, [&](int k, int r) {
    const double dx = f.x(k) - at.x, dy = f.y(r) - at.y;
    const Column q = column(s, c * dx + n * dy, -n * dx + c * dy);
    if (q.top <= removal::nothing) return;
    const std::size_t i = f.index(k, r);
    f.top[i] = removal::grains(q.top);
    if (q.gap_high > q.gap_low) f.gap_low[i] = removal::grains(q.gap_low), f.gap_high[i] = removal::grains(q.gap_high);
  });
}

}  // namespace fettle::prove
