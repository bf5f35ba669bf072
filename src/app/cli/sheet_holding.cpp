#include "app/cli/sheet_holding.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "output/drawings/figures.h"
#include "plan/read.h"

namespace fettle::cli {

using drawings::Point;
using drawings::SlipView;
using frame::Vec3;

namespace {

/// A way of looking at the part: axes to the right and up on paper, the third towards the reader.
struct Look {
  Vec3 right, up, near;
  const char *right_name, *up_name, *from;
  Point flat(Vec3 v) const { return {frame::dot(v, right), frame::dot(v, up)}; }
};
const Look from_above{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, "X", "Y", "+Z"};
const Look from_front{{1, 0, 0}, {0, 0, 1}, {0, -1, 0}, "X", "Z", "-Y"};
const Look from_right{{0, 1, 0}, {0, 0, 1}, {1, 0, 0}, "Y", "Z", "+X"};

Look look_of(const study::SlipPicture& p) {
  Vec3 sum;
  for (const study::SlipContact& c : p.contacts)
    sum = sum + Vec3{std::fabs(c.normal.x), std::fabs(c.normal.y), std::fabs(c.normal.z)};
  if (sum.z >= sum.x && sum.z >= sum.y) return from_above;
  return sum.y >= sum.x ? from_front : from_right;
}

const finding::Finding* find(const study::Study& s, const std::string& id) {
  for (const finding::Finding& f : s.findings)
    if (f.id == id) return &f;
  return nullptr;
}

double middle(const plan::Limits& l) {
  if (l.value.lower && l.value.upper) return 0.5 * (*l.value.lower + *l.value.upper);
  return l.value.nominal.value_or(0);
}

/// The part as a block about its profile's middle, standing on z = 0; what is cut into it from above in that look.
std::vector<drawings::Shape> outline_of(const plan::Plan& p, const Look& look) {
  const std::vector<double>& size = p.part.size.value;
  if (size.size() < 3) return {};
  Vec3 at{0, 0, 0.5 * size[2]};
  for (const plan::Feature& f : p.features)
    if (f.kind.value == "profile" && !f.at.value.empty()) at.x = f.at.value[0].x, at.y = f.at.value[0].y;
  const Point wide = look.flat({size[0], size[1], size[2]});
  const bool above = look.near.z > 0.5;
  const double corner = above && p.part.corner_radius.known() ? p.part.corner_radius.si : 0;
  std::vector<drawings::Shape> out{drawings::box(look.flat(at), std::fabs(wide.x), std::fabs(wide.y), corner)};
  if (!above) return out;
  for (const plan::Feature& f : p.features) {
    if (f.over.known() || f.kind.value != "bore" || !f.diameter.known()) continue;
    for (const Vec3& x : f.at.value) out.push_back(drawings::circle({x.x, x.y}, middle(f.diameter)));
  }
  return out;
}

SlipView slip_of(const study::Study& s, const plan::Plan& plan, const study::SlipPicture& p, const unit::Style& style) {
  const Look look = look_of(p);
  SlipView v;
  v.style = style;
  v.title = fmt::format("{}: {}", p.operation, p.words);
  const finding::Finding* f = find(s, p.finding);
  v.sentence = f != nullptr ? f->sentence : "";
  v.hand = f != nullptr && f->state == finding::State::outside;
  v.outline = outline_of(plan, look);
  v.right = look.right_name;
  v.up = look.up_name;
  v.tool = look.flat(p.at);
  v.tool_x = look.flat(p.force).x;
  v.tool_y = look.flat(p.force).y;
  v.tool_z = frame::dot(p.force, look.near);
  v.factor = p.factor;
  v.mechanism = p.mechanism;
  Vec3 about;
  for (const study::SlipContact& c : p.contacts) {
    drawings::SlipMark m;
    m.name = c.name;
    m.at = look.flat(c.at);
    m.preload = c.preload;
    m.used = c.used;
    m.push_x = look.flat(c.force).x;
    m.push_y = look.flat(c.force).y;
    m.slips = c.slips;
    m.carries = !(frame::norm(c.force) < 1e-3);
    v.contacts.push_back(m);
    about = about + (1.0 / static_cast<double>(p.contacts.size())) * c.at;
  }
  v.about = look.flat(about);
  // Only a motion in the plane of the paper can be drawn on it; a tipping is left to the words.
  const double across = std::hypot(frame::dot(p.turn, look.right), frame::dot(p.turn, look.up));
  const double turn = frame::dot(p.turn, look.near);
  const double leaves = std::fabs(frame::dot(p.slide, look.near)),
               slide = std::hypot(look.flat(p.slide).x, look.flat(p.slide).y);
  if (across <= 0.2 * frame::norm(p.turn) + 1e-9 && leaves <= 0.3 * slide + 1e-9) {
    v.slide = look.flat(p.slide);
    v.turn = turn;
  }
  v.caption = fmt::format(
      "Seen from {}. Heavy arrow: the tool's push (dot: towards the reader, cross: away). Grey arrows: what the "
      "contacts "
      "answer, and bars: the share of their friction in it, when {} acts. Broken ring and strokes: slides in that "
      "motion.",
      look.from,
      std::isfinite(p.factor) && p.factor < 100 ? fmt::format("{:.2f} times this push, the most they carry,", p.factor)
                                                : std::string("this push"));
  if (v.turn != 0 || v.slide.x != 0 || v.slide.y != 0) v.caption += " Dashed: how the part would go, drawn larger.";
  return v;
}

std::vector<drawings::JawBar> bars_of(const std::vector<study::JawPart>& parts) {
  std::vector<drawings::JawBar> out;
  for (const study::JawPart& p : parts) out.push_back({p.name, p.force, p.low, p.high, p.loose});
  return out;
}

}  // namespace

std::vector<SlipView> slips_of(const study::Study& s, const plan::Plan& plan, const unit::Style& style) {
  std::vector<const study::SlipPicture*> order;
  for (const study::SlipPicture& p : s.slips)
    if (!p.contacts.empty()) order.push_back(&p);
  // A factor that is no number stands first: it must not look good.
  const auto key = [](const study::SlipPicture* p) { return std::isfinite(p->factor) ? p->factor : -1; };
  std::stable_sort(order.begin(), order.end(), [&](const auto* a, const auto* b) { return key(a) < key(b); });
  std::vector<SlipView> out;
  for (const study::SlipPicture* p : order) out.push_back(slip_of(s, plan, *p, style));
  return out;
}

std::vector<drawings::JawView> jaws_of(const study::Study& s, const unit::Style& style) {
  std::vector<drawings::JawView> out;
  for (const study::JawPicture& p : s.jaws) {
    if (!p.there || p.parts.empty()) continue;
    drawings::JawView v;
    v.style = style;
    v.title = fmt::format("{}: clamp force of each part under the jaw", p.operation);
    v.sentence = p.words;
    v.cure = p.cure;
    v.need = p.need;
    v.planned = bars_of(p.parts);
    v.cured = bars_of(p.parts_cure);
    out.push_back(std::move(v));
  }
  return out;
}

}  // namespace fettle::cli
