#include "app/cli/sheet.h"

#include "app/cli/sheet_holding.h"
#include "app/cli/sheet_mechanics.h"
#include "app/cli/sheet_plate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "app/cli/program_views.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/figures.h"
#include "output/drawings/program.h"
#include "plan/read.h"

namespace fettle::cli {

using drawings::Point;
using finding::State;

namespace {

constexpr double pi = 3.14159265358979323846;

double middle(const plan::Limits& l) {
  if (l.value.lower && l.value.upper) return 0.5 * (*l.value.lower + *l.value.upper);
  return l.value.nominal.value_or(0);
}

const plan::Feature* profile_of(const plan::Plan& p) {
  for (const plan::Feature& f : p.features)
    if (f.kind.value == "profile" && f.size.value.size() >= 2) return &f;
  return nullptr;
}

double size_raw(const plan::Plan& p, char axis) {
  const std::string hi = std::string(".+") + axis;
  for (const plan::CastSize& s : p.casting.sizes)
    if (s.between.value.size() == 2 && s.between.value[0].find(hi) != std::string::npos) return s.raw.si;
  return 0;
}

drawings::NestPattern pattern_of(const plan::Plan& p) {
  drawings::NestPattern n;
  n.part = p.part.name.known() ? p.part.name.value : p.header.name.value;
  const auto& size = p.part.size.value;
  const double corner = p.part.corner_radius.known() ? p.part.corner_radius.si : 0;
  double w = size.empty() ? 0 : size[0], h = size.size() > 1 ? size[1] : 0;
  Point middle_of_part;
  if (const plan::Feature* f = profile_of(p)) {
    w = f->size.value[0];
    h = f->size.value[1];
    if (!f->at.value.empty()) middle_of_part = {f->at.value[0].x, f->at.value[0].y};
  }
  n.outline = drawings::box(middle_of_part, w, h, corner);
  const double rx = size_raw(p, 'x'), ry = size_raw(p, 'y');
  if (rx > w && ry > h) n.raw = drawings::box(middle_of_part, rx, ry, corner + 0.5 * std::min(rx - w, ry - h));
  for (const plan::Feature& f : p.features) {
    if (f.over.known()) continue;
    const std::string& k = f.kind.value;
    for (const frame::Vec3& at : f.at.value) {
      if (k == "pocket" || k == "slot") {
        if (f.width.known() && f.length.known())
          n.details.push_back(
              drawings::box({at.x, at.y}, middle(f.width), middle(f.length), f.radius.known() ? f.radius.si : 0));
      } else if (k == "bore" || k == "counterbore" || k == "hole" || k == "thread") {
        if (f.normal.known() && f.normal.value[1] != 'z') continue;
        const double d = f.diameter.known() ? middle(f.diameter) : f.thread.known() ? f.thread.value.major : f.drill.si;
        const bool seen = !f.to.known() || !f.normal.known() || f.normal.value == "+z" || d > 0.012;
        if (d > 0 && seen) n.details.push_back(drawings::circle({at.x, at.y}, d));
      }
    }
  }
  Point round_at;
  for (const plan::Pin& pin : p.pallet.pins) {
    const plan::Reference r = plan::parse_reference(pin.in.value);
    const plan::Feature* f = plan::find_feature(p, r.id);
    if (f == nullptr || f->at.value.empty()) continue;
    const frame::Vec3 at =
        f->at.value[static_cast<std::size_t>(std::clamp(r.index - 1, 0, static_cast<int>(f->at.value.size()) - 1))];
    drawings::Pin x;
    x.at = {at.x, at.y};
    x.relieved = pin.kind.value == "relieved";
    x.diameter = middle(x.relieved && pin.land.known() ? pin.land : pin.diameter);
    const auto letters = base::split(f->datum.value, ' ');
    x.name = r.index >= 1 && static_cast<std::size_t>(r.index) <= letters.size() && f->datum.known()
                 ? letters[static_cast<std::size_t>(r.index - 1)]
                 : pin.kind.value;
    if (x.relieved) {
      x.land_width = pin.land_width.si;
      x.free_along = pin.direction.known() ? pin.direction.si : std::atan2(x.at.y - round_at.y, x.at.x - round_at.x);
    } else {
      round_at = x.at;
    }
    n.pins.push_back(x);
  }
  int number = 0;
  for (const plan::NestScrew& s : p.pallet.screws) {
    const plan::Feature* f = plan::find_feature(p, s.through.value);
    const auto& points = f != nullptr ? f->at.value : s.at.value;
    const double head = s.head.known() ? s.head.si : 2 * s.thread.value.major;
    for (const frame::Vec3& at : points) n.screws.push_back({{at.x, at.y}, head, fmt::format("{}", ++number)});
  }
  for (const plan::Pad& pad : p.pallet.pads)
    for (const frame::Vec3& at : pad.at.value)
      n.pads.push_back(drawings::circle({at.x, at.y}, pad.diameter.known() ? pad.diameter.si : 0.01));
  if (size.size() > 2) n.height = size[2];
  return n;
}

drawings::PalletView pallet_of(const study::Study& s, const plan::Plan& p) {
  drawings::PalletView v;
  v.style = style_of(p);
  v.title = fmt::format("Pallet{}", p.pallet.name.known() ? " " + p.pallet.name.value : "");
  const auto& size = p.pallet.plate.size.value;
  if (size.size() >= 2) v.plate = drawings::box({0, 0}, size[0], size[1], 0.004);
  if (const auto& corners = p.pallet.plate.outline.value; corners.size() >= 3) {
    std::vector<Point> points;
    points.reserve(corners.size());
    for (const frame::Vec3& at : corners) points.push_back({at.x, at.y});
    v.plate = drawings::polygon(points);
  }
  if (size.size() >= 3) v.thickness = size[2];
  v.material = p.pallet.plate.material.value;
  for (const plan::Anchor& a : p.pallet.anchors)
    for (const frame::Vec3& at : a.at.value) v.anchors.push_back({{at.x, at.y}, a.patch.si, ""});
  v.patterns = {pattern_of(p)};
  int number = 0;
  for (const plan::Nest& n : p.pallet.nests)
    for (const frame::Vec3& at : n.at.value)
      v.nests.push_back({fmt::format("{}", ++number), {at.x, at.y}, n.turn.known() ? n.turn.si : 0, 0});
  for (const plan::RunOff& r : p.pallet.run_offs) {
    v.trough_depth = r.depth.si;
    for (const drawings::Nest& n : v.nests) {  // from behind the bore to the pallet's cross channel on its X axis
      const double behind = r.closed_end.known() ? r.closed_end.si : 0, far = n.at.y + (n.at.y > 0 ? behind : -behind);
      if (r.along.value == "y") v.troughs.push_back(drawings::box({n.at.x, 0.5 * far}, r.width.si, std::fabs(far)));
    }
    if (r.along.value == "y" && !v.nests.empty()) {
      double reach = 0;
      for (const drawings::Nest& n : v.nests) reach = std::max(reach, std::fabs(n.at.x));
      v.troughs.push_back(drawings::box({0, 0}, 2 * reach + r.width.si, r.width.si));
      if (r.exit_diameter.known()) v.holes.push_back(drawings::circle({0, 0}, r.exit_diameter.si));
    }
  }
  v.zero = Point{0, 0};
  for (const plan::Operation& o : p.operations)
    if (o.kind.value == "pallet" && o.zero.known()) v.zero_text = "zero, " + o.zero.value;
  const auto fact = [&](const char* name, const std::string& question) {
    for (const auto& f : s.findings)
      if (f.question == question && f.state != State::open) {
        v.facts.push_back(
            {name,
             {f.value, f.kind, f.gauge, f.question == "lift" ? "index " + base::fixed(f.value, 2) : f.text},
             f.state == State::outside});
        return;
      }
  };
  int nests = static_cast<int>(v.nests.size());
  v.facts.push_back({"nests", {NAN, unit::Kind::number, false, fmt::format("{}", nests)}});
  if (p.pallet.empty_mass.known() && p.pallet.loaded_part_mass.known())
    v.facts.push_back(
        {"loaded, dry", {p.pallet.empty_mass.si + nests * p.pallet.loaded_part_mass.si, unit::Kind::mass, false, ""}});
  fact("lifting", "lift");
  fact("pairs that do not go on", "goes_on");
  fact("a swap moves a nest by", "swap");
  for (const plan::NestScrew& x : p.pallet.screws)
    if (x.torque.known()) v.facts.push_back({"nest screws", {x.torque.si, unit::Kind::torque, false, ""}});
  return v;
}

drawings::RouteView route_of(const std::vector<drawings::FindingRow>& rows, const plan::Plan& p) {
  drawings::RouteView v;
  v.title = "The route";
  const unit::Style style = style_of(p);
  v.from = "raw casting";
  if (p.part.material.known()) v.from += ", " + p.part.material.value;
  if (p.casting.mass.known()) v.from += ", " + unit::print(p.casting.mass.si, unit::Kind::mass, style);
  v.to = p.part.name.known() ? p.part.name.value : "finished part";
  if (p.part.mass.known()) v.to += ", " + unit::print(p.part.mass.si, unit::Kind::mass, style);
  for (const plan::Operation& o : p.operations) {
    drawings::RouteStep step;
    step.id = o.id.value;
    step.title = o.name.known() ? o.name.value : o.kind.value;
    if (!step.title.empty() && step.title[0] >= 'a' && step.title[0] <= 'z')
      step.title[0] = static_cast<char>(step.title[0] - 'a' + 'A');
    if (o.machine.known()) step.place = "machine " + o.machine.value;
    std::string made;
    for (const std::string& m : o.makes.value) made += (made.empty() ? "" : ", ") + ("`" + m + "`");
    if (o.parts.known())
      step.sentence += fmt::format("`{}` {} at once. ", o.parts.value, o.parts.value == 1 ? "part" : "parts");
    if (!made.empty()) step.sentence += "Makes " + made + ". ";
    for (const plan::Clamp& k : o.clamps)
      if (k.force.known())
        step.sentence +=
            fmt::format("Held by {} with `{}`. ", k.kind.value, unit::print(k.force.si, unit::Kind::force, style));
    if (o.kind.value == "pallet")
      for (const plan::NestScrew& x : p.pallet.screws)
        if (x.torque.known())
          step.sentence +=
              fmt::format("Screws {} at `{}`. ", x.thread.typed, unit::print(x.torque.si, unit::Kind::torque, style));
    if (o.zero.known()) step.sentence += fmt::format("Zero: `{}`. ", o.zero.value);
    if (made.empty() && o.time.known()) step.sentence += fmt::format("`{}` a part. ", o.time.typed);
    if (o.wait.known() && o.wait.si > 0) step.sentence += fmt::format("Then `{}` of waiting. ", o.wait.typed);
    if (o.note.known()) step.remark = o.note.value;
    drawings::count_findings(step, rows, style);
    v.steps.push_back(step);
  }
  return v;
}

std::vector<Point> rounded(double w, double h, double r, Point shift) {
  std::vector<Point> out;
  const double cx[] = {w / 2 - r, -w / 2 + r, -w / 2 + r, w / 2 - r},
               cy[] = {h / 2 - r, h / 2 - r, -h / 2 + r, -h / 2 + r};
  for (int c = 0; c < 4; ++c)
    for (int i = 0; i <= 6; ++i) {
      const double a = (c + i / 6.0) * pi / 2;
      out.push_back({cx[c] + r * std::cos(a) + shift.x, cy[c] + r * std::sin(a) + shift.y});
    }
  return out;
}
std::vector<Point> ring(double d, Point shift) {
  std::vector<Point> out;
  out.reserve(48);
  for (int i = 0; i < 48; ++i)
    out.push_back({d / 2 * std::cos(i * pi / 24) + shift.x, d / 2 * std::sin(i * pi / 24) + shift.y});
  return out;
}

/// The worst measured casting from above and cut through: finished part, skin of this casting, what is left and what is
/// lacking.
drawings::CastingView casting_of(const study::Study& s, const plan::Plan& p) {
  drawings::CastingView v;
  const study::CastingPicture& c = s.picture;
  v.style = style_of(p);
  v.title = fmt::format("Casting {}, the worst of {}", c.number, s.castings.size());
  v.sentence = s.casting_sentence;
  v.need = p.casting.skin.si;
  const auto& size = p.part.size.value;
  const double w = size[0], h = size[1], t = size.size() > 2 ? size[2] : 0;
  const double corner = p.part.corner_radius.known() ? p.part.corner_radius.si : 0.004;
  const plan::Feature* bore = nullptr;
  const plan::Feature* floor = nullptr;
  for (const plan::CastSize& x : p.casting.sizes) {
    if (x.kind.value == "inside") bore = plan::find_feature(p, plan::parse_reference(x.feature.value).id);
    if (x.kind.value == "height") floor = plan::find_feature(p, plan::parse_reference(x.feature.value).id);
  }
  const double d = bore != nullptr ? middle(bore->diameter) : 0;
  const double z0 = 0, floor_z = floor != nullptr && !floor->at.value.empty() ? floor->at.value[0].z
                                 : bore != nullptr && bore->from.known()      ? bore->from.si
                                                                              : 0;
  drawings::CastingFace above;
  above.title = "from above, at the parting line";
  above.right = "X";
  above.up = "Y";
  above.skins.push_back({rounded(w, h, corner, {}), rounded(std::max(c.length_raw, w), std::max(c.width_raw, h), corner,
                                                            {c.outside_x, c.outside_y})});
  if (d > 0 && c.core_diameter > 0) above.skins.push_back({ring(d, {}), ring(c.core_diameter, {c.core_x, c.core_y})});
  for (const plan::Feature& f : p.features) {
    if (f.over.known() || &f == bore) continue;
    for (const frame::Vec3& at : f.at.value) {
      if (f.kind.value == "pocket" && f.width.known() && f.length.known())
        above.details.push_back(
            drawings::box({at.x, at.y}, middle(f.width), middle(f.length), f.radius.known() ? f.radius.si : 0));
      if ((f.kind.value == "bore" || f.kind.value == "hole") && f.diameter.known())
        above.details.push_back(drawings::circle({at.x, at.y}, middle(f.diameter)));
    }
  }
  const auto mark = [&](frame::Vec3 at, const std::string& where, double stock, bool hand) {
    drawings::StockMark m;
    m.at = {at.x, at.y};
    const bool on_bore = bore != nullptr && std::hypot(at.x, at.y) < 0.5 * d * 1.01;
    const double r = std::hypot(at.x, at.y);
    if (on_bore && r > 0) m.out = {-at.x / r, -at.y / r};
    else
      m.out =
          std::fabs(at.x) / w > std::fabs(at.y) / h ? Point{at.x > 0 ? 1.0 : -1.0, 0} : Point{0, at.y > 0 ? 1.0 : -1.0};
    m.stock = {stock, unit::Kind::length, false, ""};
    m.text = where;
    m.hand = hand;
    above.marks.push_back(m);
  };
  mark(c.least_at, c.least_where, c.least_stock, c.least < 0);
  mark(c.most_at, c.most_where + ", most", c.most, false);
  if (c.shift_x != 0 || c.shift_y != 0) {
    above.shift = Point{c.shift_x, c.shift_y};
    const auto with_sign = [&](double x) {
      return (x >= 0 ? "+" : "") + drawings::say({x, unit::Kind::length, false, ""}, v.style);
    };
    above.shift_text = fmt::format("shift X {}, Y {}", with_sign(c.shift_x), with_sign(c.shift_y));
  }
  v.faces.push_back(above);
  if (d > 0 && t > 0 && c.core_diameter > 0 && c.thickness_raw > 0) {
    drawings::CastingFace cut;
    cut.title = "section through the bore";
    cut.right = "X";
    cut.up = "Z";
    const double top_raw = c.bottom_raw + c.thickness_raw;
    const auto lean = [&](double z) { return std::tan(c.draft) * std::fabs(z - c.parting); };
    const double core_floor = c.core_floor > 0 ? c.core_floor : floor_z;
    drawings::Skin skin;
    // One outline of the cup: outside, top, bore wall, floor; the through bore is drawn thin.
    // The parting line has its own points, where the drafted walls are widest.
    const double mid = std::clamp(c.parting, z0, t);
    skin.finished = {{-w / 2, z0},     {w / 2, z0},       {w / 2, mid}, {w / 2, t},  {d / 2, t},
                     {d / 2, floor_z}, {-d / 2, floor_z}, {-d / 2, t},  {-w / 2, t}, {-w / 2, mid}};
    const double half = 0.5 * c.length_raw, core = 0.5 * c.core_diameter;
    const double low = half - lean(c.bottom_raw), high = half - lean(top_raw);
    skin.raw = {{-low, c.bottom_raw},
                {low, c.bottom_raw},
                {half, c.parting},
                {high, top_raw},
                {core + c.core_x, top_raw},
                {core + c.core_x, core_floor},
                {-core + c.core_x, core_floor},
                {-core + c.core_x, top_raw},
                {-high, top_raw},
                {-half, c.parting}};
    cut.skins.push_back(skin);
    for (const plan::Feature& f : p.features)
      if (f.kind.value == "bore" && !f.over.known() && f.diameter.known() && f.from.known() && f.to.known())
        for (double side : {-0.5, 0.5})
          cut.details.push_back(
              drawings::polygon({{side * middle(f.diameter), f.from.si}, {side * middle(f.diameter), f.to.si}}));
    for (const plan::Pad& pad : p.pallet.pads)
      for (const frame::Vec3& at : pad.at.value)
        if (at.y > 0) cut.rests.push_back({{at.x, z0}, {0, -1}, ""});
    v.faces.insert(v.faces.begin(), cut);
  }
  v.caption =
      "Thick line: finished part. Thin line: skin of this casting. Hatched: metal to remove. Coarse strokes: metal "
      "that is missing.";
  return v;
}

drawings::LocatingView locating_of(const study::Study& s, const plan::Plan& p) {
  drawings::LocatingView v;
  v.style = style_of(p);
  v.title = "On the pins of a nest";
  const drawings::NestPattern n = pattern_of(p);
  for (const auto& f : s.findings)
    if (f.question == "goes_on") v.sentence = f.sentence;
  std::size_t i = 0;
  unit::Style gauge = v.style;
  gauge.gauge = true;
  for (const plan::Pin& pin : p.pallet.pins) {
    const plan::Feature* f = plan::find_feature(p, plan::parse_reference(pin.in.value).id);
    if (f == nullptr || i >= n.pins.size()) continue;
    drawings::PinInHole x;
    x.name = pin.kind.value + " pin in " + n.pins[i].name;
    x.at = n.pins[i].at;
    x.hole = middle(f->diameter);
    x.pin = n.pins[i].diameter;
    x.relieved = n.pins[i].relieved;
    x.land_width = n.pins[i].land_width;
    x.text = fmt::format("mean clearance {}", unit::print(x.hole - x.pin, unit::Kind::length, gauge));
    v.pins.push_back(x);
    ++i;
  }
  for (const auto& f : s.findings)
    if (f.question == "play_of_pins" && f.state != State::open)
      v.facts.push_back({f.title, {f.value, f.kind, true, ""}, f.state == State::outside});
  for (const auto& f : s.findings)
    if (f.question == "comes_off" && f.state != State::open)
      for (const auto& i : f.inputs)
        if (i.name == "one end may go ahead by")
          v.facts.push_back({"lifting: " + i.name, {i.si, i.kind, false, ""}, false});
  if (s.play.there && s.play.region.size() > 2) {
    for (const auto& p : s.play.region) v.region.push_back({p[0], p[1]});
    v.region_y = unit::Kind::length;
    v.region_x_text = "where the " + s.play.feature + " may stand, X";
    v.region_y_text = "Y";
    v.region_worst = Point{s.play.worst[0], s.play.worst[1]};
    v.region_worst_text = fmt::format(
        "{} off, {} allowed", unit::print(std::hypot(s.play.worst[0], s.play.worst[1]), unit::Kind::length, gauge),
        unit::print(s.play.allowed, unit::Kind::length, gauge));
  }
  return v;
}

// ---- what will come out, the clock and the money -------------------------------------------------------------------

State state_of(const study::Study& s, const study::RequirementRow& r) {
  for (const auto& f : s.findings)
    if (f.id == r.finding) return f.state;
  return State::open;
}

/// What needs a hand first: by state, then by how far the share outside is above its goal.
std::vector<const study::RequirementRow*> by_need(const study::Study& s) {
  std::vector<const study::RequirementRow*> rows;
  for (const study::RequirementRow& r : s.requirements) rows.push_back(&r);
  const auto over = [](const study::RequirementRow* r) {
    const double ratio = r->share / r->goal;
    return std::isfinite(ratio) ? ratio : -1;
  };
  std::stable_sort(rows.begin(), rows.end(), [&](const auto* a, const auto* b) {
    const State x = state_of(s, *a), y = state_of(s, *b);
    return x != y ? x < y : over(a) > over(b);
  });
  return rows;
}

drawings::Spread spread_of(const study::Study& s, const study::RequirementRow& r) {
  drawings::Spread d;
  d.id = r.id;
  d.title = r.title;
  d.state = state_of(s, r);
  d.kind = r.kind;
  d.gauge = r.gauge;
  d.lower = r.lower;
  d.upper = r.upper;
  d.mean = r.mean;
  d.s = r.s;
  d.worst_low = r.worst_low;
  d.worst_high = r.worst_high;
  d.share = r.share;
  d.share_low = r.share_low;
  d.share_high = r.share_high;
  d.theory_share = r.theory_share;
  d.goal = r.goal;
  if (r.s > 0) {
    if (r.lower && r.upper) d.cp = r.cp;
    d.cpk = r.cpk;
  }
  d.first = r.first;
  d.step = r.step;
  d.bins = r.bins;
  return d;
}

drawings::SpreadsView spreads_of(const study::Study& s, const plan::Plan& p) {
  drawings::SpreadsView v;
  v.style = style_of(p);
  v.title = "What will come out";
  int outside = 0;
  for (const study::RequirementRow* r : by_need(s)) {
    v.rows.push_back(spread_of(s, *r));
    outside += v.rows.back().state == State::outside;
  }
  const auto n = v.rows.size();
  if (outside > 0) v.sentence = fmt::format("*{} of {} requirements* miss their goal. ", outside, n);
  for (const auto& f : s.findings)
    if (f.question == "rolled_yield" && f.state != State::open) v.sentence += f.sentence + " ";
  v.sentence +=
      "Thick lines: limits. Coarse strokes: parts outside. Dashed below: the worst case, which is shown and never "
      "decides.";
  return v;
}

drawings::MendingView mending_of(const study::Study& s, const plan::Plan& p) {
  drawings::MendingView v;
  v.style = style_of(p);
  v.title = "What mending buys";
  v.sentence = "Each contributor taken out alone. The dashed length is all that is outside now.";
  for (const study::RequirementRow* r : by_need(s)) {
    const State state = state_of(s, *r);
    const bool buys =
        std::any_of(r->contributors.begin(), r->contributors.end(), [](const auto& c) { return c.buys > 0; });
    if ((state != State::outside && state != State::tight) || !buys) continue;
    drawings::Mending m{r->id, r->title, state, r->share, r->goal, {}};
    for (const study::ContributorRow& c : r->contributors)
      m.rows.push_back({c.name, c.operation, c.buys, c.variance_share, c.mend});
    v.requirements.push_back(m);
  }
  return v;
}

drawings::CycleView cycle_of(const study::Study& s, const plan::Plan& p) {
  drawings::CycleView v;
  v.style = style_of(p);
  v.title = "One cycle";
  v.cycle = s.cycle.cycle;
  std::string waits;
  for (const std::string& who : s.cycle.who) {
    drawings::CycleRow row{who, {}};
    double waiting = 0;
    for (const study::CycleBar& b : s.cycle.bars) {
      if (b.who != who) continue;
      row.bars.push_back({b.what, b.from, b.to, b.waiting});
      if (b.waiting) waiting += b.to - b.from;
    }
    if (waiting > 0) waits += fmt::format("{}{} `{}`", waits.empty() ? "" : ", ", who, drawings::say_minutes(waiting));
    v.rows.push_back(row);
  }
  for (const auto& f : s.findings)
    if (f.question == "hands_keep_up" && f.state != State::open) v.sentence = f.sentence + " ";
  if (!waits.empty())
    v.sentence += fmt::format("Of `{}` without work: {}.", drawings::say_minutes(s.cycle.cycle), waits);
  v.facts = {{"cycle", {NAN, unit::Kind::time, false, drawings::say_minutes(s.cycle.cycle)}},
             {"parts", {NAN, unit::Kind::number, false, fmt::format("{}", s.cycle.parts)}}};
  if (s.cycle.parts > 0)
    v.facts.push_back(
        {"cycle a part", {NAN, unit::Kind::time, false, drawings::say_minutes(s.cycle.cycle / s.cycle.parts)}});
  return v;
}

drawings::CountCurveView count_curve_of(const study::Study& s) {
  drawings::CountCurveView v;
  v.title = "How many on a pallet set";
  v.now = s.counts_curve.now;
  v.currency = s.counts_curve.currency;
  const auto money = [&](double x) {
    return unit::print(x, unit::Kind::money) + (v.currency.empty() ? "" : " " + v.currency);
  };
  const study::CountPoint *now = nullptr, *least = nullptr;
  for (const study::CountPoint& x : s.counts_curve.points) {
    const double cost = x.cost > 0 ? x.cost : NAN;  // no cost known
    v.points.push_back({x.parts, x.minutes_machine * 60, x.minutes_person * 60, cost});
    if (x.parts == v.now) now = &x;
    if (x.cost > 0 && (least == nullptr || x.cost < least->cost)) least = &x;
  }
  if (now != nullptr) {
    v.sentence =
        fmt::format("With `{}` parts: `{}` of machine and `{}` of a person a part", now->parts,
                    drawings::say_minutes(now->minutes_machine * 60), drawings::say_minutes(now->minutes_person * 60));
    if (now->cost > 0) v.sentence += fmt::format(", `{}` a good part", money(now->cost));
    if (now->cost > 0 && least != now && least != nullptr)
      v.sentence += fmt::format("; least of those drawn `{}` with `{}`", money(least->cost), least->parts);
    v.sentence += ". The cost jumps where an edge no longer lasts through one more set.";
  }
  return v;
}

/// Where the tools go on the pallet, by the program that the plan names or by one made from its cuts. What cannot be
/// made or read is said elsewhere; here it is not drawn.
void add_program(const plan::Plan& p, const study::Data* data, papers::StudySheet& sheet) {
  const drawings::Room page{186, sheet.paper == papers::StudySheet::Paper::a4 ? 256.0 : 239.0};
  for (const plan::Operation& o : p.operations) {
    if (o.kind.value != "pallet" || o.cuts.empty()) continue;
    Outcome<ProgramText> text = bad("the program was not read", o.program.value);
    if (!o.program.given()) text = made_program(p, o.id.value);
    else if (data != nullptr)
      if (const auto it = data->files.find(o.program.value); it != data->files.end())
        text = ProgramText{it->second, o.program.value, false, {}};
    if (!text.ok()) continue;
    const Outcome<Followed> f = follow(p, o.id.value, text->text, text->file, Closely::ways);
    if (!f.ok()) continue;
    for (drawings::Drawing& d : drawings::paths(paths_view(p, *f), page))
      sheet.paths.push_back({fmt::format("paths-{}.svg", sheet.paths.size() + 1), std::move(d)});
  }
  if (const auto pools = pools_view(p)) sheet.coolant.push_back({"coolant.svg", drawings::pools(*pools, page)});
}

}  // namespace

drawings::PalletView pallet_view(const plan::Plan& p) { return pallet_of({}, p); }

papers::StudySheet sheet_of(const study::Study& s, const plan::Plan& p, const study::Data* data) {
  papers::StudySheet sheet;
  sheet.style = style_of(p);
  sheet.paper = sheet.style.system == unit::Style::System::inch ? papers::StudySheet::Paper::letter
                                                                : papers::StudySheet::Paper::a4;
  sheet.part = p.part.name.known() ? p.part.name.value : p.header.name.value;
  sheet.plan_name = s.plan_name;
  sheet.plan_hash = s.plan_hash;
  sheet.version = "Fettle " + s.version;
  sheet.tables = "tables " + s.tables;
  sheet.seed = fmt::format("{}", s.seed);
  sheet.date = p.header.date.known() ? p.header.date.value : "";
  sheet.verdict = s.counts.outside > 0 ? "*" + s.verdict + "*" : s.verdict;
  sheet.sub = s.casting_sentence;
  for (const auto& f : s.findings) sheet.findings.push_back(drawings::row_of(f, sheet.style));
  sheet.route = route_of(sheet.findings, p);
  if (p.pallet.plate.size.value.size() >= 2 && !p.pallet.nests.empty() && p.part.size.value.size() >= 2)
    sheet.pallets.push_back(pallet_of(s, p));
  if (s.picture.there && p.part.size.value.size() >= 2) sheet.castings.push_back(casting_of(s, p));
  if (p.pallet.pins.size() >= 2) sheet.locating.push_back(locating_of(s, p));
  if (!s.requirements.empty()) sheet.spreads = spreads_of(s, p);
  if (!s.requirements.empty()) sheet.mending = mending_of(s, p);
  if (s.cycle.there) sheet.cycle = cycle_of(s, p);
  if (s.counts_curve.there && !s.counts_curve.points.empty()) sheet.count_curve = count_curve_of(s);
  sheet.forces = forces_of(s, sheet.style);
  sheet.slips = slips_of(s, p, sheet.style);
  sheet.jaws = jaws_of(s, sheet.style);
  if (!sheet.pallets.empty()) sheet.bend = bend_of(s, sheet.pallets.front());
  sheet.thickness = thickness_of(s, sheet.style);
  if (!sheet.pallets.empty()) sheet.limits = limits_of(s, sheet.pallets.front());
  sheet.lobes = lobes_of(s, sheet.style);
  add_program(p, data, sheet);
  if (!s.not_looked_at.empty())
    sheet.sub += (sheet.sub.empty() ? "" : " ") +
                 fmt::format("Not looked at by this version: {}.", base::join(s.not_looked_at, "; "));
  sheet.assumptions = drawings::assumptions_by_effect(s.findings, sheet.style);
  for (const auto& f : s.findings)
    for (const std::string& c : f.cautions)
      if (std::find(sheet.cautions.begin(), sheet.cautions.end(), c) == sheet.cautions.end())
        sheet.cautions.push_back(c);
  return sheet;
}

}  // namespace fettle::cli
