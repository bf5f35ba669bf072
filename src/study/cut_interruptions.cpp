// What the casting puts in a cut's way: stubs of gates on a raw surface, and openings in a face that is milled over.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "study/cut_places.h"

namespace fettle::study {

using frame::Vec3;
using Way = CutModel::Way;

namespace {

constexpr double pi = 3.14159265358979323846;

/// `wanted` covers `face`: the same feature, and the same side or all of them.
bool covers(const plan::Plan& plan, const std::string& wanted, const std::string& face) {
  const plan::Reference a = plan::parse_reference(wanted), b = plan::parse_reference(face);
  if (a.id == b.id) return a.side.empty() || b.side.empty() || a.side == b.side;
  const plan::Feature* f = plan::find_feature(plan, a.id);
  if (f == nullptr || !f->over.known()) return false;
  const plan::Reference over = plan::parse_reference(f->over.value);
  return over.id == b.id && (over.side.empty() || b.side.empty() || over.side == b.side);
}
bool any_covers(const plan::Plan& plan, const std::vector<std::string>& all, const std::string& face) {
  return std::any_of(all.begin(), all.end(), [&](const std::string& r) { return covers(plan, r, face); });
}
/// An operation before, or a cut before in this one, has been over the face already.
bool gone(const plan::Plan& plan, const CutModel& cut, const std::string& face) {
  for (const plan::Operation& o : plan.operations) {
    if (&o == cut.operation) break;
    if (any_covers(plan, o.makes.value, face)) return true;
  }
  for (int i = 0; i < cut.index; ++i) {
    const plan::Cut& before = cut.operation->cuts[static_cast<std::size_t>(i)];
    if (before.kind.value != "probe" && before.kind.value != "chamfer" && any_covers(plan, before.features.value, face))
      return true;
  }
  return false;
}

void gates(const plan::Plan& plan, CutModel& cut) {
  if (along_axis(cut.way) || cut.way == Way::chamfer || cut.way == Way::thread_mill || cut.way == Way::keyseat) return;
  for (const plan::Gate& g : plan.casting.gates) {
    const std::string& face = g.face.value;
    if (!g.height.known() || !(g.height.si > 0) || !any_covers(plan, cut.cut->features.value, face) ||
        gone(plan, cut, face))
      continue;
    const Surface s =
        surface_of(plan, surface_of(plan, cut.feature).there && cut.way == Way::face ? cut.feature : face);
    cut.gate_words += (cut.gate_words.empty() ? "" : ", ") + g.id.value;
    // The gate's place stands on the raw surface: what lies under it there, and the stub, against the stock as stated.
    // What that stock scatters by comes on top of both alike. Without a place the stub is all besides.
    const double stated = cut.way == Way::face ? cut.stated.depth : cut.stated.width;
    double besides = s.there && !g.at.value.empty() ? 0 : g.height.si;
    for (const Vec3& at : g.at.value)
      if (s.there) besides = std::max(besides, frame::dot(at - s.point, s.normal) + g.height.si - stated);
    if (!(besides > 0)) continue;  // the stated stock covers the stub
    cut.gate_stock = std::max(cut.gate_stock, besides);
    if (!s.there) continue;
    for (const Vec3& at : g.at.value) {
      // The tool passes where the gate stands, on the finished surface, in the ways in which it passes beside it.
      const CutPlace* near = nullptr;
      for (const CutPlace& p : cut.places)
        if (near == nullptr || frame::norm(p.at - at) < frame::norm(near->at - at)) near = &p;
      if (near == nullptr) continue;
      const Vec3 up = direction(cut.operation->up.known() ? cut.operation->up.value : "+z");
      const bool flat = cut.way == Way::face;
      const Vec3 n = flat ? up : near->out;
      Vec3 on = at - frame::dot(at - near->at, n) * n;
      if (!flat) on = on - frame::dot(on - near->at, up) * up;  // at the height of a level of the cut
      CutPlace there = *near;
      there.at = on;
      there.words = fmt::format("{}, at the stub of {}", words_of(plan, cut.feature), g.id.value);
      cut.gate_places.push_back(there);
      if (!flat) continue;
      there.feed = -there.feed;
      there.out = -there.out;
      cut.gate_places.push_back(std::move(there));
    }
  }
}

/// How wide an opening is when this cut passes: as cast until something has cut it.
double opening(const plan::Plan& plan, const CutModel& cut, const plan::Feature& f) {
  bool made = false;
  for (const plan::Operation& o : plan.operations) {
    if (&o == cut.operation) break;
    made = made || any_covers(plan, o.makes.value, f.id.value);
  }
  const auto& d = f.diameter.value;
  const double finished = d.lower && d.upper ? 0.5 * (*d.lower + *d.upper) : d.nominal.value_or(0);
  if (made) return finished;
  if (f.cast.value != "cored") return 0;
  for (const plan::CastSize& s : plan.casting.sizes)
    if (s.feature.value == f.id.value && s.raw.known() && s.kind.value != "height") return s.raw.si;
  return finished;
}

void openings(Context& c, CutModel& cut) {
  const plan::Plan& plan = c.plan;
  if (cut.way != Way::face) return;
  const Surface face = surface_of(plan, cut.feature);
  if (!face.there || face.round) return;
  double widest = 0;
  std::string widest_words;
  int n = 0;
  for (const plan::Feature& f : plan.features) {
    if (f.id.value == cut.feature || !f.diameter.known()) continue;
    for (std::size_t i = 0; i < f.at.value.size(); ++i) {
      const Surface s = surface_of(plan, f.at.value.size() > 1 ? fmt::format("{}@{}", f.id.value, i + 1) : f.id.value);
      if (!s.there || !s.round || std::fabs(frame::dot(s.normal, face.normal)) < 0.99) continue;
      const Vec3 off = s.point - face.point;
      const double along = frame::dot(off, face.normal), half = 0.5 * std::fabs(s.to - s.from);
      if (along + half < -1e-4) continue;  // it ends below the face
      const Vec3 in_face = off - along * face.normal;
      if (frame::norm(in_face) > 0.5 * std::hypot(face.extent_u, face.extent_v)) continue;
      const double d = opening(plan, cut, f);
      if (!(d > 0)) continue;
      ++n;
      if (d > widest) {
        widest = d;
        widest_words = words_of(plan, f.id.value);
      }
    }
  }
  if (n == 0) return;
  // The middle of the cutter passes over the middle of the opening: it is open ahead, to both sides alike.
  const double half = std::asin(std::min(1.0, widest / cut.diameter));
  cut.gaps.push_back({0.5 * pi - half, 0.5 * pi + half});
  cut.gap_words = fmt::format("the {}, {}", widest_words, mm(c, widest));
  if (n > 1) cut.gap_words += fmt::format(", and {} more", n - 1);
}

}  // namespace

void cut_interruptions(Context& c, CutModel& cut) {
  gates(c.plan, cut);
  openings(c, cut);
}

}  // namespace fettle::study
