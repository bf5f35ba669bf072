#include "prove/table.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/casting/virtual_castings.h"
#include "plan/read.h"
#include "ref/threads.h"
#include "study/casting_model.h"
#include "study/internal.h"
#include "study/measured.h"

namespace fettle::prove {

using frame::Vec3;

namespace {

constexpr double mm = 1e-3, pi = 3.14159265358979323846;
constexpr double slack = 0.06 * mm;    ///< walls of the finished part stand that much back
constexpr double margin = 30 * mm;     ///< of the field beyond the parts
constexpr double jaw_thick = 20 * mm;  ///< from memory: a jaw's plate

void raise(removal::Field& f, const Outline& o, double top) {
  cells_near(f, o.middle.x, o.middle.y, std::hypot(o.half_x, o.half_y), [&](int c, int r) {
    std::int32_t& h = f.top[f.index(c, r)];
    if (o.outside(f.x(c), f.y(r)) <= 0) h = std::max(h, removal::grains(top));
  });
}
void sink(removal::Field& f, const Outline& o, double bottom) {
  cells_near(f, o.middle.x, o.middle.y, std::hypot(o.half_x, o.half_y), [&](int c, int r) {
    std::int32_t& h = f.top[f.index(c, r)];
    if (o.outside(f.x(c), f.y(r)) <= 0) h = std::min(h, removal::grains(bottom));
  });
}
Outline box(Vec3 at, double half_x, double half_y) { return {at, half_x, half_y, 0}; }
Outline disc(Vec3 at, double d) { return {at, 0.5 * d, 0.5 * d, 0.5 * d}; }

/// Screw heads to ISO 4762 on washers to ISO 7089, from memory: head 1.5 d wide and d high; washer 2 d and 0.2 d.
void screw_heads(const plan::Plan& plan, const compose::SetUp& s, Vec3 nest, double turn, removal::Field& f) {
  const double c = std::cos(turn), n = std::sin(turn);
  for (const plan::NestScrew& q : plan.pallet.screws) {
    double d = 0;
    if (q.thread.known())
      if (const auto t = ref::thread_data(q.thread.value); t.ok()) d = t->major;
    const plan::Feature* hole = q.through.known() ? plan::find_feature(plan, q.through.value) : nullptr;
    if (hole == nullptr || !(d > 0) || !hole->to.known()) continue;
    const double z = std::max((s.X_NP * Vec3{0, 0, hole->to.si}).z, (s.X_NP * Vec3{0, 0, hole->from.si}).z);
    for (const Vec3& p : hole->at.value) {
      const Vec3 q1 = s.X_NP * p, at{nest.x + c * q1.x - n * q1.y, nest.y + n * q1.x + c * q1.y, 0};
      raise(f, disc(at, 2 * d), z + 0.2 * d);
      raise(f, disc(at, 1.5 * d), z + 1.225 * d);
    }
  }
}

/// Jaws beside the part, where their height is known: on the surfaces that they press on.
void jaws(const plan::Plan& plan, const plan::Operation& o, const compose::SetUp& s, const Shape& raw, Vec3 nest,
          removal::Field& f) {
  const std::optional<double> top = study::jaws_above_rest(o);
  if (!top) return;
  std::vector<std::string> on;
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "jaw") on.push_back(l.on.value);
  for (const plan::Clamp& c : o.clamps)
    if (c.kind.value == "jaw" || c.kind.value == "vise") on.push_back(c.on.value);
  for (const std::string& r : on) {
    const study::Surface q = study::surface_of(plan, r);
    if (!q.there || q.round) continue;
    const Vec3 n = frame::rotate(s.X_NP, q.normal);
    const double wide = o.jaw_width.known() ? 0.5 * o.jaw_width.si : std::max(raw.body.half_x, raw.body.half_y);
    const Vec3 m = nest + raw.body.middle;
    if (std::fabs(n.x) > 0.5) {
      raise(f, box(m + Vec3{(n.x > 0 ? 1 : -1) * (raw.body.half_x + 0.5 * jaw_thick), 0, 0}, 0.5 * jaw_thick, wide),
            *top);
    } else if (std::fabs(n.y) > 0.5) {
      raise(f, box(m + Vec3{0, (n.y > 0 ? 1 : -1) * (raw.body.half_y + 0.5 * jaw_thick), 0}, wide, 0.5 * jaw_thick),
            *top);
    }
  }
}

/// The plate's top is known where the pads under the parts have a height; Z0 is then the plate's top.
void plate(const plan::Plan& plan, Scene& s, Table& t) {
  const bool known = std::any_of(plan.pallet.pads.begin(), plan.pallet.pads.end(),
                                 [](const plan::Pad& p) { return p.height.known(); });
  if (!known || plan.pallet.plate.size.value.size() != 3) return;
  s.plate_known = true;
  const auto& size = plan.pallet.plate.size.value;
  raise(t.fixture, box({}, 0.5 * size[0], 0.5 * size[1]), 0);
  // A trough along one axis from the middle of each nest to the middle of the plate.
  for (const plan::RunOff& r : plan.pallet.run_offs) {
    if (!r.width.known() || !r.depth.known()) continue;
    for (const compose::NestPlace& n : s.set_up.nests) {
      if (r.along.value == "y")
        sink(t.fixture, box({n.at.x, 0.5 * n.at.y, 0}, 0.5 * r.width.si, 0.5 * std::fabs(n.at.y) + 0.5 * r.width.si),
             -r.depth.si);
      else
        sink(t.fixture, box({0.5 * n.at.x, n.at.y, 0}, 0.5 * std::fabs(n.at.x) + 0.5 * r.width.si, 0.5 * r.width.si),
             -r.depth.si);
    }
  }
}

}  // namespace

Outcome<Scene> make_scene(const plan::Plan& plan, const plan::Operation& o, double cell,
                          const std::vector<CastingDraw>& draws) {
  Outcome<compose::SetUp> up = compose::set_up(plan, o);
  if (!up.ok()) return up.problems();
  Scene s;
  s.set_up = up.value();
  s.heads = s.set_up.heads;
  s.notes = s.set_up.notes;
  const int tables = std::max(1, s.set_up.pallets);
  const Shape back = finished_shape(plan, o, s.set_up, slack), exact = finished_shape(plan, o, s.set_up, 0);
  double low_x = 1e9, high_x = -1e9, low_y = 1e9, high_y = -1e9;
  for (std::size_t i = 0; i < s.set_up.nests.size(); ++i) {
    std::vector<std::string>* notes = i == 0 ? &s.notes : nullptr;
    std::vector<std::string> unheard;
    s.raw.push_back(
        raw_shape(plan, o, s.set_up, i < draws.size() ? draws[i] : CastingDraw{}, notes != nullptr ? *notes : unheard));
    s.finished.push_back(exact);
    s.castings.push_back(i < draws.size() ? draws[i].number : "");
    s.table_of.push_back(s.set_up.pallets > 0 ? s.set_up.nests[i].pallet : 0);
    const Shape& r = s.raw.back();
    const double reach = std::hypot(r.body.half_x, r.body.half_y) + margin;
    const bool turned = s.set_up.nests[i].turn != 0;
    const double hx = turned ? reach : r.body.half_x + margin,
                 hy = turned ? reach : r.body.half_y + margin + 0.5 * s.set_up.series_pitch * s.set_up.in_series;
    const Vec3 at = s.set_up.nests[i].at + r.body.middle;
    low_x = std::min(low_x, at.x - hx), high_x = std::max(high_x, at.x + hx);
    low_y = std::min(low_y, at.y - hy), high_y = std::max(high_y, at.y + hy);
  }
  // Edges of cells, not their middles, on round figures: a wall there is never on a middle.
  const auto down = [&](double v) { return std::floor(v / (4 * cell)) * 4 * cell; };
  for (int t = 0; t < tables; ++t) {
    const Outcome<removal::Field> empty =
        removal::make_field(down(low_x), down(low_y), high_x, high_y, cell, removal::nothing);
    if (!empty.ok()) return empty.problems();
    s.tables.push_back({*empty, *empty, *empty, 0});
  }
  for (std::size_t i = 0; i < s.set_up.nests.size(); ++i) {
    Table& t = s.tables[static_cast<std::size_t>(s.table_of[i])];
    const compose::NestPlace& n = s.set_up.nests[i];
    for (int k = 0; k < std::max(1, s.set_up.in_series); ++k) {
      const Vec3 at = n.at + Vec3{0, (k - 0.5 * (s.set_up.in_series - 1)) * s.set_up.series_pitch, 0};
      stand(t.metal, s.raw[i], at, n.turn);
      stand(t.finished, back, at, n.turn);
      if (s.set_up.pallet) screw_heads(plan, s.set_up, at, n.turn, t.fixture);
      else jaws(plan, o, s.set_up, s.raw[i], at, t.fixture);
    }
  }
  for (Table& t : s.tables) {
    if (s.set_up.pallet) plate(plan, s, t);
    for (const removal::Field* f : {&t.metal, &t.fixture})
      t.high = std::max(t.high, static_cast<double>(*std::max_element(f->top.begin(), f->top.end())) * removal::grain);
  }
  return s;
}

namespace {

/// How one casting differs, of what this operation cuts. `stock` at each of the model's points.
CastingDraw draw_of(const study::CastingModel& m, const casting::Model& model, const std::vector<double>& stock,
                    const plan::Plan& plan, const plan::Operation& o) {
  CastingDraw d;
  for (std::size_t k = 0; k < model.faces.size() && k < m.faces.size(); ++k) {
    const std::size_t first = static_cast<std::size_t>(model.first_point[k]),
                      last = static_cast<std::size_t>(model.first_point[k + 1]);
    if (first == last || model.operation_ids[static_cast<std::size_t>(model.faces[k].operation)] != o.id.value)
      continue;
    CastingDraw::Side s;
    s.reference = m.faces[k].final.empty() ? m.faces[k].id : m.faces[k].final;
    double xx = 0, yy = 0, sx = 0, sy = 0;
    for (std::size_t p = first; p < last; ++p) {
      const Vec3 nn = model.faces[k].points[p - first].n;
      const double more = stock[p] - model.nominal[p];
      s.more += more / static_cast<double>(last - first);
      sx += more * nn.x, sy += more * nn.y;
      xx += nn.x * nn.x, yy += nn.y * nn.y;
    }
    s.round = study::surface_of(plan, s.reference).round;
    // More stock where the normal (out of the metal, to the axis) points: the bore's middle stands the way of n.
    if (s.round && xx > 0 && yy > 0) s.shift_x = sx / xx, s.shift_y = sy / yy;
    d.sides.push_back(s);
  }
  return d;
}

}  // namespace

std::vector<CastingDraw> draw_castings(const plan::Plan& plan, const plan::Operation& o, std::size_t nests, int first,
                                       std::uint64_t seed, bool measured, std::vector<std::string>& notes) {
  const char* what = measured ? "measured castings: " : "virtual castings: ";
  const study::CastingModel m = study::casting_model(plan, study::numbers_of(plan));
  if (!m.missing.empty()) {
    notes.push_back(what + m.missing.front());
    return {};
  }
  const Outcome<casting::Model> model = casting::build(m.casting, m.route);
  if (!model.ok()) {
    notes.push_back(what + say(model.problem()));
    return {};
  }
  study::Sample sample;
  if (measured) {
    const Outcome<study::Sample> read = study::read_sample(plan, study::load_data(plan), m);
    if (!read.ok() || read->rows.empty()) {
      notes.push_back(
          what + (read.ok() ? std::string("the plan has no table of them (casting.measured)") : say(read.problem())));
      return {};
    }
    sample = *read;
  }
  std::vector<CastingDraw> out;
  for (std::size_t n = 0; n < nests; ++n) {
    const std::size_t number = static_cast<std::size_t>(first) + n;  // from 1
    if (measured) {
      const study::SampleRow& row = sample.rows[(number - 1) % sample.rows.size()];
      out.push_back(draw_of(
          m, *model, casting::stock(*model, study::row_parameters(m, sample, row, model->parameters.size())), plan, o));
      out.back().number = row.number;
    } else {
      out.push_back(
          draw_of(m, *model, casting::one_casting(*model, seed, static_cast<int>(number) - 1).stock, plan, o));
      out.back().number = std::to_string(number);
    }
  }
  return out;
}

int number_in(const std::string& id) {
  std::string digits;
  for (const char c : id)
    if (c >= '0' && c <= '9') digits += c;
  if (digits.empty() || digits.size() > 6) return 0;
  int n = 0;
  for (const char c : digits) n = 10 * n + (c - '0');
  return n;
}

ToolShape tool_shape(const plan::Plan& plan, const plan::Operation& o, int number) {
  ToolShape t;
  t.id = fmt::format("T{}", number);
  for (const std::vector<plan::Tool>* list : {&plan.tools, &plan.shop.tools})
    for (const plan::Tool& p : *list)
      if (t.tool == nullptr && number > 0 && number_in(p.id.value) == number) t.tool = &p;
  if (t.tool == nullptr) return t;
  const plan::Tool& p = *t.tool;
  t.id = p.id.value;
  const std::string& kind = p.kind.value;
  t.probe = kind == "probe";
  t.tap = kind == "tap";
  t.axial = t.tap || kind == "drill" || kind == "reamer" || kind == "boring tool";
  t.stick_out = p.stick_out.known() ? p.stick_out.si : 0;
  for (const plan::Cut& c : o.cuts)
    if (c.tool.value == t.id && c.stick_out.known()) t.stick_out = c.stick_out.si;
  t.holder = p.holder.known() ? p.holder.si : 0;
  if (!p.diameter.known() || t.probe) return t;
  t.cutter.diameter = p.diameter.si;
  if (kind == "drill") t.cutter.angle = p.point_angle.known() ? p.point_angle.si : 140 * pi / 180;
  else if (kind == "chamfer") t.cutter.angle = pi / 2;
  else if (kind == "keyseat cutter") t.cutter.thickness = p.width.known() ? p.width.si : 0;
  else if (kind == "ball mill") t.cutter.corner = 0.5 * t.cutter.diameter;
  else if (p.corner_radius.known()) t.cutter.corner = std::min(p.corner_radius.si, 0.5 * t.cutter.diameter);
  t.gouge = t.cutter;
  if (kind == "chamfer") t.slack = 0.75 * mm;
  if (t.tap)
    // A tap's crests stand in the wall on purpose: the core that the drill left is what must be there.
    for (const plan::Cut& c : o.cuts)
      for (const std::string& r : c.features.value)
        if (const plan::Feature* f = plan::find_feature(plan, plan::parse_reference(r).id);
            c.tool.value == t.id && f != nullptr && f->thread.known()) {
          const auto d = ref::thread_data(f->thread.value);
          t.gouge.diameter = f->drill.known() ? f->drill.si : d.ok() ? d->tapping_drill : t.cutter.diameter;
        }
  if (t.tap) t.cutter = t.gouge;
  return t;
}

}  // namespace fettle::prove
