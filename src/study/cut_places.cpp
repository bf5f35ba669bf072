#include "study/cut_places.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fettle::study {

using frame::Vec3;

namespace {

using Way = CutModel::Way;

std::string axis_word(Vec3 n) {
  const char* names[] = {"X", "Y", "Z"};
  const double v[] = {n.x, n.y, n.z};
  int k = 0;
  for (int i = 1; i < 3; ++i)
    if (std::fabs(v[i]) > std::fabs(v[k])) k = i;
  return fmt::format("{}{}", v[k] < 0 ? "-" : "+", names[k]);
}

class Places {
 public:
  Places(const plan::Plan& plan, const CutModel& cut)
      : plan_(plan), cut_(cut), up_(direction(cut.operation->up.known() ? cut.operation->up.value : "+z")) {}

  std::vector<CutPlace> all() {
    for (const std::string& r : cut_.cut->features.value) {
      const plan::Reference ref = plan::parse_reference(r);
      const plan::Feature* f = plan::find_feature(plan_, ref.id);
      if (f != nullptr) feature(*f, ref);
    }
    return std::move(out_);
  }

 private:
  /// How far the middle of the engagement of each level stands below the top of a wall.
  std::vector<double> levels(double height) const {
    const double depth = std::min(cut_.stated.depth > 0 ? cut_.stated.depth : height, height);
    if (cut_.way == Way::chamfer) return {0.5 * depth};  // one edge, at the top
    const int n = height > 0 ? std::clamp(static_cast<int>(std::ceil(height / depth - 0.05)), 1, 3) : 1;
    std::vector<double> out;
    for (int k = 0; k < n; ++k) out.push_back(std::min(height, (k + 0.5) * depth));
    return out;
  }
  Vec3 feed_of(Vec3 out) const { return cut_.down ? frame::cross(out, up_) : frame::cross(up_, out); }
  void add(Vec3 at, Vec3 out, std::string words) { out_.push_back({at, feed_of(out), out, std::move(words)}); }
  static std::string level_words(std::size_t k, std::size_t of) {
    return of < 2 ? "" : fmt::format(", level {}", k + 1);
  }

  void feature(const plan::Feature& f, const plan::Reference& ref) {
    const std::string& kind = f.kind.value;
    if (kind == "profile") return profile(f, ref);
    const std::size_t n = f.at.value.size();
    for (std::size_t i = 0; i < n; ++i) {
      if (ref.index > 0 && static_cast<std::size_t>(ref.index) != i + 1) continue;
      const std::string one = n > 1 ? fmt::format("{}@{}", ref.id, i + 1) : ref.id;
      const Surface s = surface_of(plan_, one);
      if (!s.there) continue;
      const std::string name = words_of(plan_, ref.id) + (n > 1 ? fmt::format(" {}", i + 1) : "");
      if (along_axis(cut_.way)) hole(s, name);
      else if (kind == "pocket" || kind == "slot") pocket(f, s, name);
      else if (s.round) bore(s, name);
      else if (cut_.inside_radius == 0) face(s, name);
    }
  }
  void profile(const plan::Feature& f, const plan::Reference& ref) {
    const double radius = f.radius.known() ? f.radius.si : 0;
    if (f.at.value.empty() || f.size.value.size() < 2) return;
    const double hx = 0.5 * f.size.value[0], hy = 0.5 * f.size.value[1],
                 height = f.from.known() && f.to.known() ? std::fabs(f.to.si - f.from.si) : 0;
    Vec3 middle = f.at.value[0];
    middle.z = f.from.known() && f.to.known() ? 0.5 * (f.from.si + f.to.si) : middle.z;
    if (std::fabs(up_.z) < 0.5) return;  // an outside profile is milled round its own axis
    const auto below = levels(height);
    for (std::size_t k = 0; k < below.size(); ++k) {
      const Vec3 centre = middle + (0.5 * height - below[k]) * up_;
      for (const std::string& side : sides_of(f)) {
        const plan::Reference s = plan::parse_reference(side);
        if (!ref.side.empty() && s.side != ref.side) continue;
        const Vec3 n = direction(s.side), along{-n.y, n.x, 0};
        const double reach = std::fabs(n.x) > 0.5 ? hx : hy, half = (std::fabs(n.x) > 0.5 ? hy : hx) - radius;
        for (int e = -1; e <= 1; ++e)
          add(centre + reach * n + (e * half) * along, n,
              fmt::format("{} side, {}{}", axis_word(n), e == 0 ? "middle" : "towards " + axis_word(double(e) * along),
                          level_words(k, below.size())));
      }
      if (!ref.side.empty() || !(radius > 0)) continue;
      for (int sx = -1; sx <= 1; sx += 2)
        for (int sy = -1; sy <= 1; sy += 2) {
          const Vec3 n = frame::unit({double(sx), double(sy), 0});
          const Vec3 at = centre + Vec3{sx * (hx - radius), sy * (hy - radius), 0} + radius * n;
          add(at, n,
              fmt::format("corner {}X {}Y{}", sx > 0 ? "+" : "-", sy > 0 ? "+" : "-", level_words(k, below.size())));
        }
    }
  }
  void hole(const Surface& s, const std::string& name) {
    const Vec3 axis = s.normal;
    const double half = 0.5 * std::fabs(s.to - s.from);
    const Vec3 top = s.point + half * (frame::dot(axis, up_) < 0 ? -1.0 : 1.0) * axis;
    const Vec3 across = std::fabs(up_.x) < 0.9 ? Vec3{1, 0, 0} : Vec3{0, 1, 0};
    add(top, across, name);
  }
  void bore(const Surface& s, const std::string& name) {
    const double height = std::fabs(s.to - s.from);
    const Vec3 axis = (frame::dot(s.normal, up_) < 0 ? -1.0 : 1.0) * s.normal;
    const Vec3 at = s.point + (0.5 * height - levels(height).front()) * axis;
    const Vec3 u = std::fabs(up_.x) < 0.9 ? Vec3{1, 0, 0} : Vec3{0, 1, 0}, v = frame::cross(up_, u);
    const Vec3 four[] = {u, v, -u, -v};
    for (const Vec3& r : four) add(at + s.radius * r, -r, fmt::format("{}, {} wall", name, axis_word(r)));
  }
  void pocket(const plan::Feature& f, const Surface& s, const std::string& name) {
    const auto size = [](const plan::Limits& l) {
      return l.value.nominal                  ? *l.value.nominal
             : l.value.lower && l.value.upper ? 0.5 * (*l.value.lower + *l.value.upper)
                                              : 0.0;
    };
    const double hx = 0.5 * size(f.width), hy = 0.5 * size(f.length);
    const double height = f.from.known() && f.to.known() ? std::fabs(f.to.si - f.from.si) : 0;
    const Vec3 at = s.point + (height - levels(height).front()) * up_;
    if (!(hx > 0 && hy > 0) || std::fabs(up_.z) < 0.5) {
      add(at, {1, 0, 0}, name);
      return;
    }
    for (const Vec3 n : {Vec3{1, 0, 0}, Vec3{-1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, -1, 0}})
      add(at + (std::fabs(n.x) > 0.5 ? hx : hy) * n, -n, fmt::format("{}, {} wall", name, axis_word(n)));
  }
  void face(const Surface& s, const std::string& name) {
    if (frame::dot(s.normal, up_) < 0.9) return;
    const Vec3 u = axis_across(s.normal);
    const Vec3 v = std::fabs(s.normal.z) > 0.5 ? Vec3{0, 1, 0} : Vec3{0, 0, 1};
    // Passes of the width lie side by side over one extent; the tool runs along the other.
    const double width = cut_.stated.width * std::max(1, cut_.cut->passes.known() ? cut_.cut->passes.value : 1);
    const bool over_u = s.extent_u > 0 && s.extent_v > 0
                            ? std::fabs(width / s.extent_u - 1) < std::fabs(width / s.extent_v - 1)
                            : false;
    const Vec3 along = over_u ? v : u;
    const Vec3 at = s.point + (0.5 * cut_.stated.depth) * up_;
    const double hu = 0.4 * s.extent_u, hv = 0.4 * s.extent_v;
    const struct {
      double a, b;
      const char* words;
    } spots[] = {
        {0, 0, "middle"}, {1, 1, "corner ++"}, {1, -1, "corner +-"}, {-1, 1, "corner -+"}, {-1, -1, "corner --"}};
    for (const auto& x : spots)
      for (int way = -1; way <= 1; way += 2) {
        const Vec3 feed = double(way) * along;
        out_.push_back({at + (x.a * hu) * u + (x.b * hv) * v, feed, frame::cross(up_, feed),
                        fmt::format("{}, {}, towards {}", name, x.words, axis_word(feed))});
      }
  }

  const plan::Plan& plan_;
  const CutModel& cut_;
  Vec3 up_;
  std::vector<CutPlace> out_;
};

}  // namespace

std::vector<CutPlace> cut_places(const plan::Plan& plan, const CutModel& cut) { return Places(plan, cut).all(); }

}  // namespace fettle::study
