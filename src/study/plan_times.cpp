#include "study/plan_times.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "plan/read.h"
#include "study/program_times.h"
#include "unit/quantity.h"

namespace fettle::study {

namespace {

timing::Motion motion_of(const plan::Machine* m) {
  if (m == nullptr || !m->rapid.known()) return {};
  return {m->rapid.si, m->acceleration.known() ? m->acceleration.si : 0, m->jerk.known() ? m->jerk.si : 0};
}

/// Mean way from one point of the feature to the next as listed, m; 0 for a single place.
double way_between(const plan::Feature& f) {
  const auto& at = f.at.value;
  double way = 0;
  for (std::size_t i = 1; i < at.size(); ++i) way += std::hypot(at[i].x - at[i - 1].x, at[i].y - at[i - 1].y);
  return at.size() < 2 ? 0 : way / static_cast<double>(at.size() - 1);
}

std::optional<double> diameter_of(const plan::Feature& f) {
  const unit::Limits& d = f.diameter.value;
  if (!f.diameter.known()) return {};
  if (d.lower && d.upper) return 0.5 * (*d.lower + *d.upper);
  return d.nominal;
}

timing::CutTime time_of(const plan::Plan& plan, const plan::Cut& cut, const plan::Tool* tool,
                        const plan::Machine* machine) {
  timing::CutPath p;
  if (cut.time.known()) p.stated = cut.time.si;
  if (cut.length.known()) p.length = cut.length.si;
  if (cut.feed.known()) p.feed = cut.feed.si;
  else if (cut.feed_per_tooth.known() && cut.speed.known() && tool != nullptr && tool->teeth.known())
    p.feed = cut.feed_per_tooth.si * tool->teeth.value * cut.speed.si / (2 * 3.14159265358979323846);
  p.passes = cut.passes.known() ? cut.passes.value : 1;
  p.motion = motion_of(machine);
  const plan::Feature* f =
      cut.features.value.empty() ? nullptr : plan::find_feature(plan, plan::parse_reference(cut.features.value[0]).id);
  const std::string& kind = cut.kind.value;
  const bool hole = kind == "drill" || kind == "ream" || kind == "tap";
  if (f != nullptr && hole) {
    p.between = way_between(*f);
    if (p.length && kind != "tap") p.clearance = *p.length;  // a tap comes back in the feed
  }
  // A groove cut from inside a bore: the feed is the edge's, the centre runs on the smaller circle.
  if (f != nullptr && kind == "groove" && p.feed && tool != nullptr && tool->diameter.known())
    if (const auto wall = diameter_of(*f)) p.feed = timing::centre_feed(*p.feed, *wall, tool->diameter.si);
  const Outcome<timing::CutTime> t = timing::cut_time(p);
  return t.ok() ? *t : timing::CutTime{};
}

/// What must come before what: cuts of one feature as listed, and a finish after every rough cut listed before it.
std::vector<timing::OrderCut> order_of(const plan::Operation& o) {
  std::vector<timing::OrderCut> out;
  const auto id = [](const std::string& reference) { return plan::parse_reference(reference).id; };
  for (std::size_t i = 0; i < o.cuts.size(); ++i) {
    timing::OrderCut c{o.cuts[i].tool.value, {}};
    for (std::size_t j = 0; j < i; ++j) {
      bool same = o.cuts[i].kind.value == "finish" && o.cuts[j].kind.value == "rough";
      same = same || o.cuts[j].kind.value == "probe";
      for (const std::string& a : o.cuts[i].features.value)
        for (const std::string& b : o.cuts[j].features.value) same = same || id(a) == id(b);
      if (same) c.after.push_back(static_cast<int>(j));
    }
    out.push_back(c);
  }
  return out;
}

void need(std::vector<std::string>& missing, bool there, std::string words) {
  if (!there) missing.push_back(std::move(words));
}

int nests_of(const plan::Pallet& p) {
  std::size_t n = 0;
  for (const plan::Nest& nest : p.nests) n += nest.at.value.size();
  return static_cast<int>(n);
}

/// The whole parts that the shop states of an edge hold for all that the tool does on one machine.
bool counted_before(const PlanTimes& before, const OperationTime& t, const std::string& tool) {
  return std::any_of(before.operations.begin(), before.operations.end(), [&](const OperationTime& o) {
    return o.machine == t.machine &&
           std::any_of(o.cuts.begin(), o.cuts.end(), [&](const CutRow& r) { return r.counted && r.tool == tool; });
  });
}

/// Edges of the operation's tools, by the time of all its cuts with one tool.
void edges_of(const plan::Plan& plan, const PlanTimes& before, OperationTime& t) {
  for (CutRow& row : t.cuts) {
    const plan::Tool* tool = plan::find_tool(plan, row.tool);
    row.wears = tool == nullptr || tool->kind.value != "probe";
    if (!row.wears) continue;
    const bool again = std::any_of(t.cuts.data(), &row, [&](const CutRow& r) { return r.tool == row.tool; });
    if (again) continue;  // counted with its first cut
    double in_cut = 0;
    for (const CutRow& r : t.cuts)
      if (r.tool == row.tool) in_cut += r.time.used.value_or(0);
    timing::EdgeInputs in;
    if (tool != nullptr && tool->life.known()) in.life = tool->life.si;
    if (tool != nullptr && tool->parts_per_edge.known() && tool->parts_per_edge.value > 0)
      in.whole_parts = tool->parts_per_edge.value;
    if (tool != nullptr && tool->price.known()) in.price = tool->price.si;
    in.cut_per_part = in_cut;
    in.parts_per_set = t.parts;
    const Outcome<timing::EdgeResult> e = timing::edges(in);
    if (e.ok()) {
      row.edge = *e;
      row.counted = !in.whole_parts || !counted_before(before, t, row.tool);
      if (row.counted) t.edge_changes_per_part += 1.0 / e->between_changes;
    } else {
      t.edges_missing.push_back(
          fmt::format("tool.parts_per_edge (or life) of {}: whole parts that one edge lasts in {}", row.tool, t.id));
    }
  }
}

const OperationProgram* program_of(const TimesOptions& options, const std::string& operation) {
  for (const OperationProgram& p : options.programs)
    if (p.operation == operation) return &p;
  return nullptr;
}

bool same_tool(const ToolProgram& p, const std::string& id) {
  return p.id.empty() ? p.number > 0 && tool_number(id) == p.number : p.id == id;
}

/// Gives the time of each tool of the program to its cuts: in proportion to what the plan says of them, else alike.
void times_by_program(const OperationProgram& program, OperationTime& t) {
  for (const ToolProgram& tool : program.tools) {
    std::vector<CutRow*> rows;
    double said = 0;
    bool all = true;
    for (CutRow& row : t.cuts)
      if (same_tool(tool, row.tool)) {
        rows.push_back(&row);
        said += row.time.used.value_or(0);
        all = all && row.time.used && *row.time.used > 0;
      }
    for (CutRow* row : rows) {
      const double share = all ? *row->time.used / said : 1.0 / static_cast<double>(rows.size());
      row->time.used = share * program.factor * tool.per_part;
      row->source = tool.source;
    }
  }
}

/// Ways and changes of a set as the program makes them, run after run.
void set_by_program(const OperationProgram& program, const plan::Machine* machine, int planned_parts,
                    OperationTime& t) {
  const double runs = std::max(1.0, planned_parts / program.parts),
               share = t.parts / static_cast<double>(planned_parts);
  const double change = machine != nullptr && machine->tool_change.known() ? machine->tool_change.si : 0;
  t.program = program.source;
  double elsewhere = 0;  // tools that the operation does not have
  for (const ToolProgram& tool : program.tools)
    if (tool.number >= 0 &&
        std::none_of(t.cuts.begin(), t.cuts.end(), [&](const CutRow& r) { return same_tool(tool, r.tool); }))
      elsewhere += tool.per_part;
  t.set.changing = runs * (program.changes * change + program.factor * program.spindle);
  t.set.moving = program.factor * (runs * share * program.moving + t.parts * elsewhere);
  if (program.probes) t.set.probing = 0;
  t.set.total = t.set.cutting + t.set.changing + t.set.moving + t.set.probing;
  t.set.per_part = t.set.total / t.parts;
  t.set.not_cutting_per_part = (t.set.total - t.set.cutting) / t.parts;
}

void cuts_of(const plan::Plan& plan, const plan::Operation& o, const plan::Machine* machine,
             const TimesOptions& options, OperationTime& t) {
  for (const plan::Cut& cut : o.cuts) {
    const plan::Tool* tool = plan::find_tool(plan, cut.tool.value);
    CutRow row;
    row.tool = cut.tool.value;
    row.name = tool != nullptr && tool->name.known() ? tool->name.value : cut.tool.value;
    row.time = time_of(plan, cut, tool, machine);
    t.cuts.push_back(row);
  }
  if (const OperationProgram* program = program_of(options, t.id)) times_by_program(*program, t);
  for (const CutRow& row : t.cuts) {
    need(t.missing, row.time.used.has_value(),
         fmt::format("operation.cut.time of {} in {} (or length, feed and passes): how long it cuts", row.tool, t.id));
    t.cutting += row.time.used.value_or(0);
  }
  if (o.cuts.empty()) {
    need(t.missing, o.time.known(), fmt::format("operation.cut of {}, or operation.time: how long it takes", t.id));
    t.cutting = o.time.known() ? o.time.si : 0;
    return;
  }
  const double change = machine != nullptr && machine->tool_change.known() ? machine->tool_change.si : 0;
  const Outcome<timing::OrderResult> order = timing::order({order_of(o), t.parts, change});
  if (order.ok()) t.order = *order;
  if (t.order.tool_by_tool > 0)
    need(t.missing, machine != nullptr && machine->tool_change.known(),
         fmt::format("machine.tool_change of {}: chip to chip", t.machine));
}

/// Time from part to part: stated, else from the machine and the places, else not known.
void moves_of(const plan::Plan& plan, const plan::Machine* machine, const TimesOptions& options, OperationTime& t) {
  if (t.parts < 2) return;
  if (const OperationProgram* p = program_of(options, t.id); p != nullptr && p->whole) return;  // it makes them
  const timing::Motion motion = motion_of(machine);
  double way = 0;
  if (t.pallet) {
    if (plan.pallet.nest_move.known()) {
      t.move = plan.pallet.nest_move.si;
      return;
    }
    std::vector<frame::Vec3> at;
    for (const plan::Nest& n : plan.pallet.nests) at.insert(at.end(), n.at.value.begin(), n.at.value.end());
    way = at.size() > 1 ? timing::nest_tour(at).length / static_cast<double>(at.size() - 1) : 0;
  }
  // Side by side in a vise nobody says the pitch: a part's longer side and a fifth of it.
  if (way <= 0 && plan.part.size.value.size() >= 2)
    way = 1.2 * std::max(plan.part.size.value[0], plan.part.size.value[1]);
  if (motion.speed > 0 && way > 0) {
    t.move = timing::move_time(way, motion).ok() ? *timing::move_time(way, motion) : 0;
    t.move_worked_out = true;
  } else if (t.pallet) {
    t.missing.push_back("pallet.nest_move (or machine.rapid): from nest to nest");
  }
}

void finish_set(const plan::Machine* machine, const TimesOptions& options, int planned_parts, OperationTime& t) {
  timing::SetTimeInputs in;
  in.parts = t.parts;
  in.cut_per_part = t.cutting;
  in.tool_changes = t.order.tool_by_tool;
  in.tool_change = machine != nullptr && machine->tool_change.known() ? machine->tool_change.si : 0;
  // On a pallet every tool goes to every nest; in a vise the way to the first part is part of the tool change.
  const int visits = std::max(1, t.order.tool_by_tool);
  in.visits = t.cuts.empty() || t.parts < 2 ? 0 : visits * (t.pallet ? t.parts : t.parts - 1);
  in.move = t.move;
  in.probe = t.probe;
  if (const auto set = timing::set_time(in); set.ok()) t.set = *set;
  const OperationProgram* program = program_of(options, t.id);
  if (program != nullptr && program->whole) set_by_program(*program, machine, planned_parts, t);
}

void pallet_operation(const plan::Plan& plan, const plan::Operation& o, const plan::Machine* machine,
                      const TimesOptions& options, OperationTime& t) {
  const plan::Pallet& p = plan.pallet;
  t.pallet = true;
  need(t.missing, nests_of(p) > 0, "pallet.nest: where the parts sit");
  need(t.missing, p.on_table.known(), "pallet.on_table: pallets on the machine at once");
  need(t.missing, p.sets.known(), "pallet.sets: sets of pallets that swap");
  need(t.missing, p.swap_time.known(),
       "pallet.swap_time: all pallets of a set off and the next on, spindle to spindle");
  need(t.missing, p.probe_time.known() || o.zero.value != "probed pins", "pallet.probe_time: probing a cycle");
  const plan::People& people = plan.shop.people;
  const plan::Number& load = o.load_time.known() ? o.load_time : people.load_time;
  need(t.missing, load.known(), "people.load_time: loading one part");
  need(t.missing, people.unload_time.known(), "people.unload_time: unloading one part");
  need(t.missing, people.clean_time.known(), "people.clean_time: cleaning one nest");
  const int planned = std::max(1, nests_of(p) * std::max(1, p.on_table.value));
  t.parts = options.parts_on_set > 0 ? options.parts_on_set : planned;
  t.sets = std::max(1, p.sets.value);
  cuts_of(plan, o, machine, options, t);
  moves_of(plan, machine, options, t);
  t.probe = p.probe_time.known() ? p.probe_time.si : 0;
  t.swap = p.swap_time.known() ? p.swap_time.si : 0;
  t.swap_by_hand = p.move_time.known() ? p.move_time.si : t.swap;  // not said: the person is tied all along
  t.load = t.parts * (load.si + people.unload_time.si + people.clean_time.si);
  finish_set(machine, options, planned, t);
  const double cycle = (t.sets > 1 ? std::max(t.set.total, t.load) : t.set.total + t.load) + t.swap;
  t.machine_per_part = cycle / t.parts;
  t.person_per_part = (t.load + t.swap_by_hand) / t.parts;
  t.set_up = "pallets on " + t.machine;  // whatever stands on them: nothing is changed over
}

void held_operation(const plan::Plan& plan, const plan::Operation& o, const plan::Machine* machine,
                    const TimesOptions& options, OperationTime& t) {
  t.parts = o.parts.known() ? std::max(1, o.parts.value) : 1;
  const plan::Number& load = o.load_time.known() ? o.load_time : plan.shop.people.load_time;
  need(t.missing, load.known(), fmt::format("operation.load_time of {} (or people.load_time): loading one part", t.id));
  cuts_of(plan, o, machine, options, t);
  moves_of(plan, machine, options, t);
  finish_set(machine, options, t.parts, t);
  t.load = t.parts * load.si;
  t.machine_per_part = (t.set.total + t.load) / t.parts;  // it stands while it is loaded
  t.person_per_part = load.si;
}

/// Work at a bench: a hone, deburring, washing, packing.
void bench_operation(const plan::Plan& plan, const plan::Operation& o, double hone_share, OperationTime& t) {
  const plan::People& people = plan.shop.people;
  const std::string& kind = o.kind.value;
  const bool pack = kind == "deburr" && people.pack_time.known();
  std::optional<double> time;
  if (o.time.known()) time = o.time.si;
  else if (kind == "hone" && people.hone_time.known()) time = people.hone_time.si;
  else if (kind == "gauge" && people.gauge_time.known()) time = people.gauge_time.si;
  else if (kind == "deburr" && people.deburr_time.known())
    time = people.deburr_time.si + (pack ? people.pack_time.si : 0);
  need(t.missing, time.has_value(), fmt::format("operation.time of {}: how long one part takes by hand", t.id));
  t.parts = o.parts.known() ? std::max(1, o.parts.value) : 1;
  const double share = kind == "hone" ? hone_share : 1;
  t.cutting = time.value_or(0);
  t.person_per_part = t.bench_per_part = share * time.value_or(0);
  t.machine_per_part = t.machine.empty() ? 0 : t.person_per_part;
}

/// Features that a gauge measures, each once: those that it names, unless all that is asked of one goes to others by
/// name, and those that a requirement sends to it. In whatever order the requirements stand.
std::vector<std::string> gauged_by(const plan::Plan& plan, const plan::Gauge& g) {
  std::vector<std::string> out = g.features.value;
  const auto of = [](const plan::Requirement& r) { return plan::parse_reference(r.feature.value).id; };
  std::erase_if(out, [&](const std::string& id) {
    bool to_others = false, to_this = false;
    for (const plan::Requirement& r : plan.requirements)
      if (of(r) == id) (r.gauge.known() && r.gauge.value != g.id.value ? to_others : to_this) = true;
    return to_others && !to_this;
  });
  for (const plan::Requirement& r : plan.requirements)
    if (r.gauge.known() && r.gauge.value == g.id.value && std::find(out.begin(), out.end(), of(r)) == out.end())
      out.push_back(of(r));
  return out;
}

/// The operation after which a gauge looks at its feature: the last one that makes it.
void gauging(const plan::Plan& plan, PlanTimes& times) {
  for (const plan::Gauge& g : plan.shop.gauges)
    for (const std::string& feature : gauged_by(plan, g)) {
      const plan::Number& time = g.time.known() ? g.time : plan.shop.people.gauge_time;
      if (!time.known()) continue;
      for (std::size_t i = plan.operations.size(); i-- > 0;) {
        const auto& makes = plan.operations[i].makes.value;
        const bool here = std::any_of(makes.begin(), makes.end(),
                                      [&](const std::string& m) { return plan::parse_reference(m).id == feature; });
        if (!here) continue;
        times.operations[i].gauging_per_part += time.si;
        break;
      }
    }
}

}  // namespace

const OperationTime* PlanTimes::find(std::string_view id) const {
  for (const OperationTime& o : operations)
    if (o.id == id) return &o;
  return nullptr;
}

const plan::Machine* find_machine(const plan::Plan& plan, std::string_view id) {
  for (const plan::Machine& m : plan.shop.machines)
    if (m.id.value == id) return &m;
  return nullptr;
}

PlanTimes plan_times(const plan::Plan& plan, const TimesOptions& options) {
  PlanTimes out;
  for (const plan::Operation& o : plan.operations) {
    OperationTime t;
    t.id = o.id.value;
    t.kind = o.kind.value;
    t.machine = o.machine.value;
    t.lot = o.lot.known() ? o.lot.value : 0;
    const plan::Machine* machine = find_machine(plan, t.machine);
    const bool bench =
        t.kind == "hone" || t.kind == "deburr" || t.kind == "wash" || t.kind == "gauge" || t.kind == "other";
    t.set_up = fmt::format("{} {}", plan.header.name.value, t.id);
    if (bench && !(o.price.known() && t.machine.empty() && !o.time.known()))
      bench_operation(plan, o, options.hone_share, t);
    else if (t.machine.empty() && (o.price.known() || t.kind == "grind")) t.bought = true;
    else if (t.kind == "pallet") pallet_operation(plan, o, machine, options, t);
    else held_operation(plan, o, machine, options, t);
    if (!bench && !t.bought) {
      need(t.missing, !t.machine.empty(), fmt::format("operation.machine of {}: where it runs", t.id));
      edges_of(plan, out, t);
    }
    // Turned over in the same vise: nothing is loaded anew and nothing changed over.
    if (!out.operations.empty() && !t.bought && !bench && t.load == 0 && o.load_time.known() &&
        out.operations.back().machine == t.machine && out.operations.back().kind == t.kind)
      t.set_up = out.operations.back().set_up;
    out.operations.push_back(std::move(t));
  }
  gauging(plan, out);
  return out;
}

double share_without_losses(const plan::Plan& plan) {
  double share = 1;
  for (const plan::Loss& l : plan.losses) share *= 1 - l.share.si;
  return share;
}

std::vector<double> parts_per_good(const plan::Plan& plan, double good_share) {
  const std::size_t n = plan.operations.size();
  std::vector<double> out(n);
  double come = 1 / good_share;
  for (std::size_t i = 0; i < n; ++i) {
    out[i] = come;
    for (const plan::Loss& l : plan.losses)
      if (l.operation.value == plan.operations[i].id.value) come *= 1 - l.share.si;
  }
  return out;
}

timing::PlanLoad plan_load(const plan::Plan& plan, const PlanTimes& times, double good_share, double edge_time) {
  timing::PlanLoad out{plan.header.name.value, {}};
  const std::vector<double> per_good = parts_per_good(plan, good_share);
  for (std::size_t i = 0; i < times.operations.size(); ++i) {
    const OperationTime& t = times.operations[i];
    if (t.bought || !t.missing.empty()) continue;
    timing::OperationLoad o;
    o.operation = t.id;
    o.machine = t.machine;
    o.set_up = t.set_up;
    const double edges = t.edge_changes_per_part * edge_time;
    o.machine_per_part = t.machine.empty() ? 0 : t.machine_per_part + edges;
    o.person_per_part = t.person_per_part + t.gauging_per_part + edges;
    o.parts_per_week = plan.demand.per_week.si * per_good[i];
    o.lot = t.lot;
    out.operations.push_back(o);
  }
  return out;
}

std::optional<double> week_there(const plan::Plan& plan) {
  const plan::Number& hours = plan.demand.shift.known() ? plan.demand.shift : plan.shop.people.hours;
  if (!hours.known() || !plan.demand.available.known()) return {};
  return hours.si * plan.demand.available.si;
}

std::vector<timing::MachineThere> machines_there(const plan::Plan& plan) {
  std::vector<timing::MachineThere> out;
  for (const plan::Machine& m : plan.shop.machines) {
    timing::MachineThere t{m.id.value, week_there(plan).value_or(0), {}};
    if (m.change_over.known()) t.change_over = m.change_over.si;
    out.push_back(t);
  }
  return out;
}

std::string currency_of(const plan::Plan& plan) {
  std::vector<const plan::Number*> money = {&plan.casting.price, &plan.demand.price, &plan.pallet.cost};
  for (const plan::Operation& o : plan.operations) money.push_back(&o.price);
  for (const plan::Tool& t : plan.tools) money.push_back(&t.price);
  for (const plan::Tool& t : plan.shop.tools) money.push_back(&t.price);
  for (const plan::Number* n : money)
    if (n->known())
      if (const auto q = unit::parse(n->typed, unit::Kind::money); q.ok()) return q->unit;
  std::vector<const plan::Number*> rates = {&plan.shop.people.rate};
  for (const plan::Machine& m : plan.shop.machines) rates.push_back(&m.rate);
  for (const plan::Number* n : rates)
    if (n->known())
      if (const auto q = unit::parse(n->typed, unit::Kind::money_per_hour); q.ok())
        return q->unit.substr(0, q->unit.find('/'));
  return {};
}

}  // namespace fettle::study
