#include "app/cli/program_views.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "app/cli/sheet.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "output/drawings/pallet_signs.h"
#include "plan/read.h"
#include "study/coolant_pools.h"
#include "study/plate_model.h"

namespace fettle::cli {

namespace {

using drawings::Point;
using Kind = Waypoint::Kind;
using unit::Style;

std::string clock_words(double seconds) {
  const auto s = static_cast<long>(std::lround(seconds));
  return s < 60 ? fmt::format("{} s", s) : fmt::format("{} min {} s", s / 60, s % 60);
}
std::string length_words(double m, const Style& style) { return unit::print(m, unit::Kind::length, style); }
bool inches(const Style& s) { return s.system == Style::System::inch; }
double rate_in(double rate, const Style& s) { return rate * (inches(s) ? 60 / 1.6387064e-5 : 6e7); }
double area_in(double area, const Style& s) { return area * (inches(s) ? 1 / 6.4516e-4 : 1e6); }

/// A pattern of the part's own axes as it lies in the operation.
drawings::NestPattern lying(drawings::NestPattern p, const compose::SetUp& s) {
  const auto to = [&](Point q) {
    const frame::Vec3 v = s.X_NP * frame::Vec3{q.x, q.y, 0};
    return Point{v.x, v.y};
  };
  const bool on_face = std::fabs(frame::rotate(s.X_NP, {0, 0, 1}).z) > 0.5;
  for (drawings::Pin& x : p.pins) x.at = to(x.at);
  for (drawings::Screw& x : p.screws) x.at = to(x.at);
  for (drawings::Shape& x : p.details) x.at = to(x.at);
  if (!on_face) p.details.clear();
  if (!s.pallet) p.pins.clear(), p.screws.clear();
  const double corner = on_face ? p.outline.corner : 0;
  p.outline = drawings::box({0.5 * (s.low_x + s.high_x), 0.5 * (s.low_y + s.high_y)}, s.high_x - s.low_x,
                            s.high_y - s.low_y, corner);
  p.raw.reset();
  return p;
}

drawings::PalletView ground_of(const plan::Plan& plan, const Followed& f) {
  drawings::PalletView v = pallet_view(plan);
  const compose::SetUp& s = f.set_up;
  if (!s.pallet) v.plate = {}, v.holes.clear(), v.anchors.clear();
  v.patterns = {lying(v.patterns.empty() ? drawings::NestPattern{} : v.patterns[0], s)};
  v.nests.clear();
  for (std::size_t k = 0; k < s.nests.size(); ++k) {
    const compose::NestPlace& n = s.nests[k];
    if (n.pallet != 0) continue;
    const std::string& id = f.nests[k];
    const std::string number = id.substr(id.rfind('.') + 1);  // npos + 1 is 0
    const int row = std::max(1, s.in_series);
    for (int i = 0; i < row; ++i)
      v.nests.push_back(
          {i == row - 1 ? number : "", {n.at.x, n.at.y + (i - 0.5 * (row - 1)) * s.series_pitch}, n.turn, 0});
  }
  return v;
}

/// What one tool does, gathered from the way.
struct Gathered {
  drawings::ToolPath path;
  std::vector<int> order;
  double lowest = 1e9;
  std::map<int, double> feed_way;  ///< m by pallet
};

int pallet_of_nest(const Followed& f, int nest) {
  return nest < 0 ? -1 : f.set_up.nests[static_cast<std::size_t>(nest)].pallet;
}

/// At feed below the highest metal of the parts.
bool deep(const Followed& f, const Waypoint& w) {
  const double at = f.set_up.nests[static_cast<std::size_t>(w.nest)].at.z;
  return w.kind == Kind::feed && !w.probe && w.to.z - at < f.set_up.top - 1e-6;
}
/// Takes metal; where nothing was proved: could take some.
bool cuts(const Followed& f, const Waypoint& w) { return f.proof.track.empty() ? deep(f, w) : w.engaged >= 0; }

void gather(const Followed& f, std::vector<Gathered>& all) {
  for (std::size_t i = 1; i < f.way.size(); ++i) {
    const Waypoint &a = f.way[i - 1], &b = f.way[i];
    if (b.tool < 0 || b.nest < 0 || b.kind == Kind::wait) continue;
    Gathered& g = all[static_cast<std::size_t>(b.tool)];
    const int pallet = pallet_of_nest(f, b.nest);
    if (b.kind == Kind::feed) g.feed_way[pallet] += frame::norm(b.to - a.to);
    if (pallet != 0) continue;
    if (g.order.empty() || g.order.back() != b.nest)
      if (std::find(g.order.begin(), g.order.end(), b.nest) == g.order.end()) g.order.push_back(b.nest);
    const bool metal = cuts(f, b);
    if (metal) {
      g.lowest = std::min(g.lowest, b.to.z);
      if (!std::isfinite(g.path.start.x)) g.path.start = {a.to.x, a.to.y};
    }
    if (b.kind == Kind::feed && b.to.z < a.to.z - 1e-6 && std::hypot(b.to.x - a.to.x, b.to.y - a.to.y) < 1e-6 &&
        deep(f, b))
      g.path.plunges.push_back({b.to.x, b.to.y});
    // From another pallet, or from where tools are changed: no way on this one.
    if (a.nest < 0 || a.tool != b.tool || pallet_of_nest(f, a.nest) != pallet) continue;
    const bool rapid = b.kind == Kind::rapid;
    const Point from{a.to.x, a.to.y}, to{b.to.x, b.to.y};
    if (std::hypot(to.x - from.x, to.y - from.y) < 1e-6) continue;
    auto& strokes = g.path.strokes;
    const bool goes_on =
        !strokes.empty() && strokes.back().rapid == rapid &&
        std::hypot(strokes.back().points.back().x - from.x, strokes.back().points.back().y - from.y) < 1e-6;
    if (!goes_on) strokes.push_back({{from}, rapid});
    strokes.back().points.push_back(to);
  }
}

std::string nests_words(const Followed& f, const Gathered& g) {
  std::vector<std::string> out;
  for (const int n : g.order) {
    const std::string& id = f.nests[static_cast<std::size_t>(n)];
    out.push_back(id.substr(id.rfind('.') + 1));
  }
  return fmt::format("{} {}", out.size() == 1 ? "nest" : "nests", base::join(out, ", "));
}

/// "Line 1212, T11: ..." from a finding whose sentence may begin with its line.
std::string worst_words(const finding::Finding& f, int line) {
  std::string t = f.sentence;
  if (const std::string told = fmt::format("Line {}: ", line); t.rfind(told, 0) == 0) t = t.substr(told.size());
  for (std::size_t at = t.find(". "); at != std::string::npos; at = t.find(". ", at + 1))
    if (at > 40) {
      t = t.substr(0, at);
      break;
    }
  const bool said = f.tool.empty() || t.find(f.tool) != std::string::npos;
  return fmt::format("Line {}{}: {}: {}", line, said ? "" : ", " + f.tool, finding::word(f.state), t);
}

void name_worst(const Followed& f, const Style& style, drawings::EngagementView& v) {
  for (const finding::Finding& x : f.proof.findings) {
    const auto line = f.proof.line_of.find(x.id);
    if (x.state == finding::State::inside || line == f.proof.line_of.end() || line->second == 0) continue;
    v.worst = worst_words(x, line->second);
    v.worst_hand = x.state == finding::State::outside;
    for (const Waypoint& w : f.way)
      if (w.line == line->second && w.tool >= 0 &&
          (x.tool.empty() || f.tools[static_cast<std::size_t>(w.tool)].id == x.tool)) {
        v.worst_at = w.start;
        break;
      }
    return;
  }
  const Waypoint* most = nullptr;
  const auto rate = [&](const Waypoint& w) { return f.proof.track[static_cast<std::size_t>(w.engaged)].rate; };
  for (const Waypoint& w : f.way)
    if (w.engaged >= 0 && (most == nullptr || rate(w) > rate(*most))) most = &w;
  if (most == nullptr) return;
  v.worst = fmt::format("Most metal: line {}, {}: {}", most->line, f.tools[static_cast<std::size_t>(most->tool)].id,
                        engaged_words(f.proof.track[static_cast<std::size_t>(most->engaged)], style));
  v.worst_at = most->start;
}

void tool_rows(const Followed& f, const Style& style, drawings::EngagementView& v) {
  const bool inch = inches(style);
  v.heads = {"tool", "", "minutes", "deepest", "widest arc, °", inch ? "most, in³/min" : "most, cm³/min", "at line"};
  for (std::size_t k = 0; k < f.tools.size(); ++k) {
    float depth = 0, arc = 0, rate = -1;
    int line = 0;
    for (const Waypoint& w : f.way) {
      if (w.tool != static_cast<int>(k) || w.engaged < 0) continue;
      const prove::Engaged& e = f.proof.track[static_cast<std::size_t>(w.engaged)];
      depth = std::max(depth, e.depth), arc = std::max(arc, e.arc);
      if (e.rate > rate) rate = e.rate, line = w.line;
    }
    const FollowedTool& t = f.tools[k];
    const std::string minutes = base::fixed(t.seconds / 60, 2);
    if (line == 0 || !(depth > 1e-6F)) v.rows.push_back({{t.id, t.words, minutes, "—", "—", "—", "—"}});
    else
      v.rows.push_back({{t.id, t.words, minutes, length_words(depth, style),
                         base::fixed(static_cast<double>(arc) * 57.29577951308232, 0),
                         base::fixed(rate_in(rate, style), inch ? 3 : 1), std::to_string(line)}});
  }
}

/// Depth of what stands, in mm or inches, of the cells of a flooded field.
drawings::Field depth_of(const study::CoolantStays& s, const Style& style) {
  const maths::HeightField& f = s.field;
  drawings::Field out{f.nx, f.ny, f.middle(0, 0).x, f.middle(0, 0).y, f.cell, f.cell, {}};
  for (std::size_t i = 0; i < f.z.size(); ++i) {
    const double d = s.level[i] - f.z[i];
    out.value.push_back(std::isfinite(d) && s.outlet[i] == 0 && d > 1e-9 ? d / (inches(style) ? 25.4e-3 : 1e-3) : 0);
  }
  return out;
}
/// The middle of a pool's surface; its deepest place where that is not wet (a ring).
Point middle_of(const study::CoolantStays& s, const maths::Pool& p) {
  const maths::HeightField& f = s.field;
  const int i0 = static_cast<int>(std::floor((p.deepest.x - f.x0) / f.cell)),
            j0 = static_cast<int>(std::floor((p.deepest.y - f.y0) / f.cell));
  const auto wet = [&](int i, int j) {
    if (i < 0 || j < 0 || i >= f.nx || j >= f.ny) return false;
    const std::size_t k = f.at(i, j);
    return std::fabs(s.level[k] - p.level) < 1e-9 && s.level[k] - f.z[k] > 1e-9;
  };
  if (!wet(i0, j0)) return {p.deepest.x, p.deepest.y};
  std::vector<char> seen(f.z.size(), 0);
  std::vector<std::pair<int, int>> left{{i0, j0}};
  seen[f.at(i0, j0)] = 1;
  double x = 0, y = 0, n = 0;
  while (!left.empty()) {
    const auto [i, j] = left.back();
    left.pop_back();
    x += f.middle(i, j).x, y += f.middle(i, j).y, n += 1;
    for (const auto& [di, dj] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}})
      if (wet(i + di, j + dj) && seen[f.at(i + di, j + dj)] == 0) {
        seen[f.at(i + di, j + dj)] = 1;
        left.emplace_back(i + di, j + dj);
      }
  }
  const Point m{x / n, y / n};
  const bool there =
      wet(static_cast<int>(std::floor((m.x - f.x0) / f.cell)), static_cast<int>(std::floor((m.y - f.y0) / f.cell)));
  return there ? m : Point{p.deepest.x, p.deepest.y};
}
std::vector<drawings::Note> pool_notes(const study::CoolantStays& s, const Style& style) {
  constexpr std::size_t most = 8;
  std::vector<drawings::Note> out;
  for (std::size_t i = 0; i < s.pools.size() && i < most; ++i) {
    const maths::Pool& p = s.pools[i];
    const bool rest = i + 1 == most && s.pools.size() > most;
    out.push_back({middle_of(s, p),
                   unit::print(p.volume, unit::Kind::volume, style),
                   length_words(p.depth, style) + " deep" +
                       (rest ? fmt::format("; {} smaller ones are not named", s.pools.size() - most) : ""),
                   false,
                   {}});
  }
  return out;
}

/// Along each trough to the channel across, and along that to its hole.
std::vector<std::pair<Point, Point>> flows_of(const plan::Plan& plan) {
  std::vector<std::pair<Point, Point>> out;
  for (const plan::RunOff& r : plan.pallet.run_offs) {
    if (!r.width.known()) continue;
    const bool along_y = r.along.value != "x";
    const auto place = [&](double along, double off) { return along_y ? Point{off, along} : Point{along, off}; };
    const double half = 0.5 * r.width.si, hole = r.exit_diameter.known() ? 0.5 * r.exit_diameter.si : 0;
    double reach[2] = {0, 0};
    for (const plan::Nest& n : plan.pallet.nests)
      for (const frame::Vec3& at : n.at.value) {
        const double along = along_y ? at.y : at.x, off = along_y ? at.x : at.y;
        reach[off > 0 ? 1 : 0] = std::max(reach[off > 0 ? 1 : 0], std::fabs(off));
        if (std::fabs(along) > 2 * half) out.push_back({place(along, off), place(std::copysign(half, along), off)});
      }
    for (const int side : {0, 1})
      if (hole > 0 && reach[side] > hole + 2 * half) {
        const double sign = side == 1 ? 1 : -1;
        out.push_back({place(0, sign * (reach[side] - half)), place(0, sign * (hole + 0.003))});
      }
  }
  return out;
}

drawings::PoolPlan plate_plan(const plan::Plan& plan, const study::CoolantStays& s, const Style& style) {
  const drawings::PalletView v = pallet_view(plan);
  drawings::PoolPlan p;
  p.title = "The plate, parts off";
  p.words = s.pools.empty() ? "No hollow of the plate holds coolant once the flow stops."
                            : fmt::format("{} hollows of the plate do not drain.", s.pools.size());
  p.outline = v.plate;
  for (const structure::Relief& r : study::plate_reliefs(plan)) {
    const drawings::Shape shape =
        r.round ? drawings::circle({r.x, r.y}, r.diameter) : drawings::box({r.x, r.y}, r.size_x, r.size_y, 0, r.turn);
    (r.through ? p.holes : p.below).push_back(shape);
  }
  p.flows = flows_of(plan);
  for (const drawings::Nest& n : v.nests) {
    const double off = n.at.x > 0 ? 0.024 : -0.024;
    p.names.push_back({{n.at.x + off, n.at.y}, n.number});
  }
  for (const drawings::Nest& n : v.nests)
    if (const drawings::NestPattern* pattern = drawings::pattern_of(v, n))
      p.details.push_back(drawings::in_plate(n, pattern->outline));
  p.depth = depth_of(s, style);
  p.notes = pool_notes(s, style);
  return p;
}

drawings::PoolPlan part_plan(const plan::Plan& plan, const study::CoolantStays& s, double up, const Style& style) {
  drawings::PoolPlan p;
  p.title = fmt::format("One part as it lies, {} up", up > 0 ? "+Z" : "−Z");
  p.words = s.pools.empty() ? "Every hollow drains."
                            : fmt::format("{} {} not drain; blow them out or tip the part.", s.pools.size(),
                                          s.pools.size() == 1 ? "hollow does" : "hollows do");
  const auto& size = plan.part.size.value;
  p.outline = drawings::box({0, 0}, size[0], size[1], plan.part.corner_radius.known() ? plan.part.corner_radius.si : 0);
  const drawings::PalletView v = pallet_view(plan);
  if (!v.patterns.empty())
    for (drawings::Shape d : v.patterns[0].details) {
      d.at.y *= up;
      p.details.push_back(d);
    }
  p.depth = depth_of(s, style);
  p.notes = pool_notes(s, style);
  return p;
}

}  // namespace

drawings::PathsView paths_view(const plan::Plan& plan, const Followed& f) {
  const Style style = style_of(plan);
  std::vector<Gathered> all(f.tools.size());
  gather(f, all);
  drawings::PathsView v;
  v.title = fmt::format("Where the tools go, {}", f.operation);
  v.pallet = ground_of(plan, f);
  std::vector<std::string> other;
  for (std::size_t k = 0; k < all.size(); ++k) {
    Gathered& g = all[k];
    const FollowedTool& t = f.tools[k];
    for (const auto& [pallet, way] : g.feed_way)
      if (pallet > 0 && std::fabs(way - g.feed_way[0]) > 1e-3 * std::max(way, 1e-3)) {
        other.push_back(t.id);
        break;
      }
    if (g.order.empty()) continue;
    g.path.tool = t.id, g.path.words = t.words, g.path.diameter = t.diameter;
    g.path.facts = fmt::format("{}; {}", clock_words(t.seconds), nests_words(f, g));
    if (g.lowest < 1e8) g.path.facts += fmt::format("; down to Z {}", length_words(g.lowest, style));
    v.tools.push_back(g.path);
  }
  const std::size_t pallets = static_cast<std::size_t>(std::max(0, f.set_up.pallets));
  v.sentence = fmt::format("{}, seen from the spindle: `{}` for {} {}.", f.file, clock_words(f.total), f.nests.size(),
                           f.set_up.in_series > 1 ? "row of parts"
                           : f.nests.size() == 1  ? "nest"
                                                  : "nests");
  if (pallets > 1)
    v.sentence += other.empty() ? fmt::format(" Pallet 1 of {}; at feed the tools go alike on the others.", pallets)
                                : fmt::format(" Pallet 1 of {}; on another one {} go{} another way.", pallets,
                                              base::join(other, ", "), other.size() == 1 ? "es" : "");
  v.caption =
      "Ways of the tip, levels of one cut on one another. Times are of the whole program; Z from the plane that the "
      "zeros have. Ways from tool change and from pallet to pallet are not drawn. A picture is no leave to run: prove "
      "out above the parts, single block, with a hand on the feed.";
  return v;
}

drawings::EngagementView engagement_view(const plan::Plan& plan, const Followed& f) {
  const Style style = style_of(plan);
  const bool inch = inches(style);
  drawings::EngagementView v;
  v.title = fmt::format("What the tools take along the program, {}", f.operation);
  v.total = f.total;
  v.panels = {inch ? "metal taken, in³/min" : "metal taken, cm³/min",
              inch ? "cross-section of the cut along the feed, in²" : "cross-section of the cut along the feed, mm²",
              "arc of the cutter in the metal, °"};
  for (const Waypoint& w : f.way) {
    if (w.engaged < 0 || !(w.seconds > 0)) continue;
    const prove::Engaged& e = f.proof.track[static_cast<std::size_t>(w.engaged)];
    const double rate = e.rate, area = w.feed > 0 ? rate / w.feed : std::nan("");
    v.pieces.push_back({w.start,
                        w.start + w.seconds,
                        {rate_in(rate, style), area_in(area, style), static_cast<double>(e.arc) * 57.29577951308232}});
  }
  for (const Waypoint& w : f.way) {
    if (w.tool < 0) continue;
    const std::string& id = f.tools[static_cast<std::size_t>(w.tool)].id;
    if (v.bands.empty() || v.bands.back().tool != id) v.bands.push_back({id, w.start, w.start});
    v.bands.back().to = w.start + w.seconds;
  }
  name_worst(f, style, v);
  tool_rows(f, style, v);
  int outside = 0, open = 0;
  for (const finding::Finding& x : f.proof.findings) {
    outside += x.state == finding::State::outside ? 1 : 0;
    open += x.state == finding::State::open || x.state == finding::State::beyond ? 1 : 0;
  }
  v.sentence =
      fmt::format("{}: `{}`; proved: `{}` outside, `{}` open or beyond.", f.file, clock_words(f.total), outside, open);
  v.caption = fmt::format(
      "Each upright is the most within its width of paper. From a field of heights with cells of 0.25 mm: thin films "
      "and the last hundredths are not seen, taps take nothing here. {}",
      f.timed ? "Times with what the machine can do." : "Times of the feed alone.");
  return v;
}

std::optional<drawings::PoolsView> pools_view(const plan::Plan& plan) {
  const plan::Operation* o = nullptr;
  for (const plan::Operation& x : plan.operations)
    if (o == nullptr && x.kind.value == "pallet") o = &x;
  if (o == nullptr || plan.pallet.plate.size.value.size() != 3 || plan.part.size.value.size() != 3) return {};
  if (o->up.known() && o->up.value != "+z" && o->up.value != "-z") return {};
  const double up = o->up.value == "-z" ? -1 : 1;
  const Style style = style_of(plan);
  const study::CoolantStays plate = study::plate_coolant(plan), part = study::part_coolant(plan, up);
  const int nests = study::nest_count(plan);
  const auto volume = [&](double v) { return unit::print(v, unit::Kind::volume, style); };
  drawings::PoolsView v;
  v.style = style;
  v.title = fmt::format("What coolant stays, {}", o->id.value);
  v.sentence =
      fmt::format("Once it has run off, `{}` stand in the plate and `{}` in each of {} parts: `{}` on the pallet.",
                  volume(plate.volume()), volume(part.volume()), nests, volume(plate.volume() + nests * part.volume()));
  v.plans = {plate_plan(plan, plate, style), part_plan(plan, part, up, style)};
  if (inches(style)) {
    v.levels = {0.002, 0.1, 0.4};
    v.bands = {"under 0.1 in deep", "0.1 to 0.4 in", "over 0.4 in"};
  } else {
    v.levels = {0.05, 2, 10};
    v.bands = {"under 2 mm deep", "2 to 10 mm", "over 10 mm"};
  }
  v.caption =
      "Heights flooded from their edges, holes and outlets (priority-flood); pockets with square corners. The film on "
      "level faces, what stands "
      "while "
      "it still flows, and what swarf dams up come on top: the study's findings on run-off say them. Coolant on the "
      "floor and wet lifting can hurt.";
  return v;
}

}  // namespace fettle::cli
