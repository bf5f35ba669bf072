#include "app/cli/sheet_mechanics.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "output/drawings/figures.h"

namespace fettle::cli {

using drawings::Dash;
using drawings::Panel;
using drawings::PanelsView;

namespace {

constexpr double pi = 3.14159265358979323846;

bool inch(const unit::Style& s) { return s.system == unit::Style::System::inch; }
std::vector<double> times(std::vector<double> v, double factor) {
  for (double& x : v) x *= factor;
  return v;
}

}  // namespace

std::vector<PanelsView> forces_of(const study::Study& s, const unit::Style& style) {
  std::vector<PanelsView> out;
  const double force = inch(style) ? 1 / 4.4482216152605 : 1;
  for (const study::ForcePicture& p : s.forces) {
    if (out.size() == 2 || p.angle.size() < 2) continue;
    PanelsView v;
    v.title = fmt::format("{} in {}", p.words, p.operation);
    v.sentence = fmt::format(
        "Solid: hard iron, most stock, used edge: peak `{}`, mean `{}`. Dashed: soft iron, least stock, "
        "new edge.",
        unit::print(p.peak, unit::Kind::force, style), unit::print(p.mean, unit::Kind::force, style));
    v.x_name = "turn of the tool, degrees";
    v.x = times(p.angle, 180 / pi);
    v.panel_height = 24;
    const auto add = [&](const char* name, const std::vector<double>& hard, const std::vector<double>& soft) {
      Panel panel;
      panel.name = fmt::format("{}, {}", name, inch(style) ? "lbf" : "N");
      panel.lines = {{"hard", times(hard, force), Dash::solid}, {"soft", times(soft, force), Dash::dashed}};
      panel.from_zero = true;
      v.panels.push_back(std::move(panel));
    };
    add("along the feed", p.feed, p.feed_soft);
    add("out of the wall", p.out, p.out_soft);
    add("towards the spindle", p.up, p.up_soft);
    out.push_back(std::move(v));
  }
  return out;
}

std::optional<PanelsView> thickness_of(const study::Study& s, const unit::Style& style) {
  const study::ThicknessCurve& t = s.thickness;
  if (!t.there) return {};
  const double length = inch(style) ? 1 / 25.4e-3 : 1e3, mass = inch(style) ? 1 / 0.45359237 : 1;
  const double little = inch(style) ? 4.4482216152605 / 25.4e-9 : 1e6;  // of m for 100 N
  const std::string load = inch(style) ? "100 lbf" : "100 N";
  PanelsView v;
  v.title = "The plate's thickness: " + t.material;
  std::string where = t.sentence;
  if (const auto at = where.find("100 N "); at != std::string::npos) where.replace(at, 5, load);
  v.sentence = where + " Hatched: anchors soft to stiff, parts as mass alone to iron bonded at its pads.";
  v.x_name = fmt::format("thickness, {}", inch(style) ? "in" : "mm");
  v.marked_name = "stands in the shop file";
  v.now = t.now * length;
  v.now_text = "now " + drawings::say_size(t.now, style);
  v.panel_height = 46;
  Panel give, first, weight;
  give.name = fmt::format("gives to {} there, {}", load, inch(style) ? "µin" : "µm");
  first.name = "first mode of the loaded pallet, Hz";
  weight.name = fmt::format("weight, {}", inch(style) ? "lb" : "kg");
  give.lines.resize(1), first.lines.resize(1);
  weight.lines = {{"plate", {}, Dash::solid}, {"with parts", {}, Dash::dashed}};
  for (const study::ThicknessPoint& p : t.points) {
    v.x.push_back(p.thickness * length);
    v.marked.push_back(p.stocked);
    give.lines[0].y.push_back(p.give * little);
    give.low.push_back(p.give_low * little);
    give.high.push_back(p.give_high * little);
    first.lines[0].y.push_back(p.first);
    first.low.push_back(p.first_low);
    first.high.push_back(p.first_high);
    weight.lines[0].y.push_back(p.mass * mass);
    weight.lines[1].y.push_back(p.loaded_mass * mass);
  }
  v.panels = {give, first, weight};
  return v;
}

std::vector<PanelsView> lobes_of(const study::Study& s, const unit::Style& style) {
  std::vector<PanelsView> out;
  const double length = inch(style) ? 1 / 25.4e-3 : 1e3;
  for (const study::LobePicture& p : s.lobes) {
    if (p.speed.size() < 2) continue;
    PanelsView v;
    v.title = p.nest.empty() ? p.words : fmt::format("{}, nest {}", p.words, p.nest);
    v.sentence = "Hatched: the band of what is assumed. Below the curve a cut stays quiet.";
    v.x_name = "spindle speed, rpm";
    v.x = times(p.speed, 60);
    v.now = p.now_speed * 60;
    v.now_text = fmt::format("now {:.0f} rpm", v.now);
    if (p.better_speed) {
      v.better = *p.better_speed * 60;
      v.better_text = fmt::format("better {:.0f} rpm", v.better);
      v.sentence += fmt::format(" Fine upright: the best speed nearby, `{:.0f} rpm`.", v.better);
    }
    v.panel_height = 42;
    Panel d;
    d.name = fmt::format("depth that stays quiet, {}", inch(style) ? "in" : "mm");
    d.lines = {{"as stated", times(p.limit, length), Dash::solid}};
    if (!p.limit_no_damping.empty()) d.lines.push_back({"no rubbing", times(p.limit_no_damping, length), Dash::dashed});
    d.low = times(p.limit_low, length);
    d.high = times(p.limit_high, length);
    d.point = p.now_depth * length;
    d.point_text = "this cut";
    d.most = 2.5 * d.point;
    v.panels = {d};
    out.push_back(std::move(v));
  }
  return out;
}

}  // namespace fettle::cli
