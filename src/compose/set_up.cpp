#include "compose/set_up.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "plan/read.h"
#include "ref/threads.h"
#include "study/internal.h"

namespace fettle::compose {

using frame::Vec3;

namespace {

constexpr double over = 5e-3;  // m above everything when going from nest to nest; common practice

struct Box {
  Vec3 low{1e9, 1e9, 1e9}, high{-1e9, -1e9, -1e9};
  void take(Vec3 p) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
  }
};

/// The finished part: its size, standing where its profile and faces say.
Box box_of(const plan::Plan& plan) {
  const auto& size = plan.part.size.value;
  Vec3 half{0, 0, 0};
  if (size.size() == 3) half = {0.5 * size[0], 0.5 * size[1], 0.5 * size[2]};
  Vec3 middle{0, 0, half.z};
  for (const plan::Feature& f : plan.features) {
    if (f.at.value.empty()) continue;
    if (f.kind.value == "profile") {
      middle.x = f.at.value[0].x;
      middle.y = f.at.value[0].y;
      if (f.from.known() && f.to.known()) middle.z = 0.5 * (f.from.si + f.to.si);
    }
  }
  // The lowest and highest faces along Z say where a part without a profile stands.
  double low = 1e9, high = -1e9;
  for (const plan::Feature& f : plan.features)
    if (f.kind.value == "face" && !f.at.value.empty() && !f.diameter.known()) {
      const Vec3 n = f.normal.known() ? study::direction(f.normal.value) : Vec3{};
      if (n.z < -0.5) low = std::min(low, f.at.value[0].z);
      if (n.z > 0.5) high = std::max(high, f.at.value[0].z);
    }
  if (low < 1e8 && high > -1e8 && std::fabs(high - low - 2 * half.z) < 1e-4) middle.z = 0.5 * (low + high);
  Box b;
  b.take(middle - half);
  b.take(middle + half);
  return b;
}

frame::Pose pose_of(Vec3 up) {
  const Vec3 x = std::fabs(up.x) > 0.5 ? Vec3{0, 1, 0} : Vec3{1, 0, 0}, y = frame::cross(up, x);
  frame::Pose p;
  p.R = {x.x, x.y, x.z, y.x, y.y, y.z, up.x, up.y, up.z};
  return p;
}

bool listed(const plan::Texts& t, const std::string& id) {
  return std::any_of(t.value.begin(), t.value.end(),
                     [&](const std::string& r) { return r == id || plan::parse_reference(r).id == id; });
}

/// Coordinate of a surface along its own normal, and that normal; nothing for what has none.
struct Level {
  Vec3 normal;
  double at = 0;
};
std::optional<Level> level_of(const plan::Plan& plan, const std::string& reference) {
  const study::Surface s = study::surface_of(plan, reference);
  if (!s.there || s.round) return {};
  return Level{s.normal, frame::dot(s.point, s.normal)};
}

double head_top(const plan::Plan& plan, double stand_off, std::vector<std::string>& notes) {
  double top = 0;
  for (const plan::NestScrew& s : plan.pallet.screws) {
    double d = s.thread.known() ? s.thread.value.major : 0;
    if (s.thread.known())
      if (const auto t = ref::thread_data(s.thread.value); t.ok()) d = t->major;
    const plan::Feature* f = s.through.known() ? plan::find_feature(plan, s.through.value) : nullptr;
    double grip = plan.part.size.value.size() == 3 ? plan.part.size.value[2] : 0;
    if (f != nullptr && f->from.known() && f->to.known()) grip = std::fabs(f->to.si - f->from.si);
    // ISO 4762: the head is as high as the thread is wide; a washer to ISO 7089 below it, from memory 0.225 d.
    top = std::max(top, stand_off + grip + 1.225 * d);
  }
  if (!plan.pallet.screws.empty())
    notes.push_back("screw heads: head as high as the thread is wide, with a washer under it (say if they are higher)");
  return top;
}

void pallet_nests(const plan::Plan& plan, SetUp& s) {
  s.pallet = true;
  s.pallets = plan.pallet.on_table.known() ? std::max(1, plan.pallet.on_table.value) : 1;
  s.sets = plan.pallet.sets.known() ? std::max(1, plan.pallet.sets.value) : 1;
  for (int p = 0; p < s.pallets; ++p) {
    int k = 0;
    for (const plan::Nest& n : plan.pallet.nests)
      for (const Vec3& at : n.at.value) {
        ++k;
        s.nests.push_back({{at.x, at.y, 0},
                           n.turn.known() ? n.turn.si : 0,
                           p,
                           s.pallets > 1 ? fmt::format("pallet {} nest {}", p + 1, k) : fmt::format("nest {}", k)});
      }
  }
}

void held_nests(const plan::Plan& plan, const plan::Operation& o, double width_x, double depth_y, SetUp& s) {
  static_cast<void>(plan);
  const int n = o.parts.known() ? std::max(1, o.parts.value) : 1;
  if (o.kind.value == "vise gang") {
    s.in_series = n;
    s.series_pitch = depth_y;
    s.nests.push_back({{}, 0, 0, n > 1 ? fmt::format("row of {}", n) : "part"});
    return;
  }
  const double pitch = o.pitch.known() ? o.pitch.si : 1.2 * width_x;
  if (n > 1 && !o.pitch.known())
    s.notes.push_back("parts side by side: pitch not said, a part's length and a fifth taken (operation.pitch)");
  for (int k = 0; k < n; ++k)
    s.nests.push_back({{(k - 0.5 * (n - 1)) * pitch, 0, 0}, 0, 0, fmt::format("part {}", k + 1)});
}

}  // namespace

bool made_before(const plan::Plan& plan, const plan::Operation& operation, std::size_t cut,
                 const std::string& feature) {
  for (const plan::Operation& o : plan.operations) {
    const bool here = &o == &operation;
    for (std::size_t i = 0; i < o.cuts.size() && !(here && i >= cut); ++i)
      if (listed(o.cuts[i].features, feature)) return true;
    if (here) return false;
    if (listed(o.makes, feature)) return true;
  }
  return false;
}

std::optional<double> stock_before(const plan::Plan& plan, const plan::Operation& operation, std::size_t cut,
                                   const std::string& reference) {
  const std::optional<Level> done = level_of(plan, reference);
  if (!done) return {};
  // A face that is cut first and lies over the same surface.
  std::optional<double> now;
  for (const plan::Feature& f : plan.features) {
    const std::optional<Level> l = level_of(plan, f.id.value);
    const bool same = l && frame::dot(l->normal, done->normal) > 0.9;
    if (same && f.over.value == reference && made_before(plan, operation, cut, f.id.value))
      now = std::min(now.value_or(1e9), l->at - done->at);
  }
  if (now) return now;
  if (made_before(plan, operation, cut, reference)) return 0.0;
  const plan::Feature* own = plan::find_feature(plan, plan::parse_reference(reference).id);
  const std::string under = own != nullptr && own->over.known() ? own->over.value : reference;
  const std::optional<Level> base = level_of(plan, under);
  if (!base) return {};
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (!s.raw.known() || s.kind.value == "inside") continue;
    const auto& b = s.between.value;
    if (std::find(b.begin(), b.end(), under) != b.end() && b.size() == 2) {
      const std::string& other = b[0] == under ? b[1] : b[0];
      const std::optional<Level> o = level_of(plan, other);
      if (!o) continue;
      const double all = s.raw.si - (base->at + o->at);  // beyond both finished surfaces
      const double mine = s.stock.known() && plan::parse_reference(under).side.empty() ? s.stock.si : 0.5 * all;
      return mine + base->at - done->at;
    }
    if (s.feature.value == under && s.kind.value == "height" && b.size() == 1) {
      const std::optional<Level> o = level_of(plan, b[0]);
      if (o) return s.raw.si - (base->at + o->at) + base->at - done->at;
    }
  }
  return {};
}

Outcome<SetUp> set_up(const plan::Plan& plan, const plan::Operation& o) {
  SetUp s;
  if (!o.up.known())
    return bad(fmt::format("operation.up of {}: which way of the part points to the spindle", o.id.value));
  const Vec3 up = study::direction(o.up.value);
  const Box box = box_of(plan);
  if (plan.part.size.value.size() != 3) return bad("part.size: the finished size of the part");
  s.X_NP = pose_of(up);
  s.pallet = o.kind.value == "pallet";
  const Vec3 a = frame::rotate(s.X_NP, box.low), b = frame::rotate(s.X_NP, box.high);
  Vec3 low{std::min(a.x, b.x), std::min(a.y, b.y), std::min(a.z, b.z)},
      high{std::max(a.x, b.x), std::max(a.y, b.y), std::max(a.z, b.z)};
  double rest = low.z, stand_off = 0;
  bool rests = false;
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "rest")
      for (const Vec3& at : l.at.value) {
        const double z = frame::rotate(s.X_NP, at).z;
        rest = rests ? std::min(rest, z) : z;
        rests = true;
      }
  if (s.pallet) {
    for (const plan::Pad& p : plan.pallet.pads) stand_off = std::max(stand_off, p.height.known() ? p.height.si : 0.0);
    const bool pads = std::any_of(plan.pallet.pads.begin(), plan.pallet.pads.end(),
                                  [](const plan::Pad& p) { return p.height.known(); });
    if (!pads)
      s.notes.push_back(
          "height of the pads not said (pallet.pad.height): Z0 is the plane the part rests on; cuts that go below it "
          "must find room there");
    s.floor = -stand_off;
    // Z0 is the top of the plate when the pads have a height; the part stands on them.
    s.X_NP.t = {0, 0, stand_off - low.z};
    pallet_nests(plan, s);
  } else {
    s.X_NP.t = {-0.5 * (low.x + high.x), -0.5 * (low.y + high.y), -rest};
    held_nests(plan, o, high.x - low.x, high.y - low.y, s);
  }
  if (s.nests.empty()) return bad("pallet.nest: where the parts sit");
  s.low_x = low.x + s.X_NP.t.x;
  s.high_x = high.x + s.X_NP.t.x;
  s.low_y = low.y + s.X_NP.t.y;
  s.high_y = high.y + s.X_NP.t.y;
  s.top = high.z + s.X_NP.t.z;
  double beyond = 0;
  for (const plan::Feature& f : plan.features)
    for (const std::string& side : study::sides_of(f)) {
      const std::optional<Level> l = level_of(plan, side);
      if (l && frame::dot(l->normal, up) > 0.9 && !f.over.known() && std::fabs(l->at - high.z) < 1e-4)
        beyond = std::max(beyond, stock_before(plan, o, 0, side).value_or(0));
    }
  s.top += beyond;
  for (const plan::Feature& f : plan.features) {
    if (f.cast.value != "skin" || f.over.known()) continue;
    const auto sides = study::sides_of(f);
    if (std::any_of(sides.begin(), sides.end(),
                    [&](const std::string& side) { return !stock_before(plan, o, 0, side); }))
      s.notes.push_back(fmt::format(
          "stock on {} not said (casting.size): none taken, a quick move may meet metal there", f.id.value));
  }
  if (s.pallet) s.heads = head_top(plan, stand_off, s.notes);
  else if (const auto jaws = study::jaws_above_rest(o)) {
    s.heads = *jaws;
    if (!o.parallel.known())
      s.notes.push_back(
          fmt::format("operation.{}.parallel not said: jaws taken to stand as high as on the lowest usual "
                      "parallels, {:.0f} mm above the rests",
                      o.id.value, 1e3 * *jaws));
  }
  s.safe = std::max(s.top, s.heads) + over;
  return s;
}

}  // namespace fettle::compose
