#include "study/levers.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <set>
#include <thread>

#include "base/text.h"
#include "plan/schema.h"
#include "study/cost.h"
#include "study/internal.h"

namespace fettle::study {

std::string_view word(Effort e) {
  switch (e) {
    case Effort::setting:
      return "a setting";
    case Effort::buying:
      return "something to buy or measure";
    case Effort::making:
      return "something to make";
    case Effort::route:
      return "another route";
  }
  return "";
}

namespace {

struct Change {
  LeverRow row;
  std::function<bool(plan::Plan&)> apply;  ///< false: it does not fit this plan
  /// The same change `reach` times as far; gives what would stand there, empty when that is no valid value.
  std::function<std::string(plan::Plan&, double reach)> far;
  std::vector<std::string> steps;  ///< that read what changes; empty: all
};

/// A number of one table that people can change, and the steps worth trying.
struct Rule {
  const char* table;
  const char* key;
  const char* words;
  Effort effort;
  std::vector<double> factors;  ///< new over old
  std::vector<double> steps;    ///< added, SI
};

const std::vector<Rule>& rules() {
  static const std::vector<Rule> all = {
      {"casting", "tolerance_grade", "grade of the casting", Effort::making, {}, {-1, 1}},
      {"casting", "draft", "draft of the walls", Effort::making, {0.67}, {}},
      {"casting", "warp", "bow of the casting", Effort::making, {0.5}, {}},
      {"casting.size", "raw", "raw size", Effort::making, {}, {0.5e-3, 1e-3, -0.5e-3}},
      {"casting.size", "spread", "scatter of the raw size", Effort::making, {0.5}, {}},
      {"casting.core", "shift_x", "core shift along X", Effort::making, {0.5}, {}},
      {"casting.core", "shift_y", "core shift along Y", Effort::making, {0.5}, {}},
      {"operation", "lot", "lot", Effort::setting, {2, 0.5}, {}},
      {"operation", "parts", "parts held at once", Effort::making, {}, {1, -1}},
      {"operation", "load_time", "loading", Effort::making, {0.7}, {}},
      {"operation", "time", "time of the operation", Effort::setting, {0.8}, {}},
      {"operation", "size_scatter", "scatter of honed sizes", Effort::buying, {0.5}, {}},
      {"operation.cut", "time", "time of the cut", Effort::setting, {0.8}, {}},
      {"operation.cut", "feed", "feed", Effort::setting, {1.2, 0.8}, {}},
      {"operation.cut", "speed", "speed", Effort::setting, {1.2, 0.8}, {}},
      {"operation.cut", "depth", "depth of cut", Effort::setting, {1.2, 0.8}, {}},
      {"operation.cut", "width", "width of cut", Effort::setting, {0.7}, {}},
      {"operation.clamp", "force", "clamp force", Effort::setting, {1.25, 0.8}, {}},
      {"operation.clamp", "torque", "torque of the clamp's screw", Effort::setting, {1.25, 0.8}, {}},
      {"operation.carrier", "size", "thickness of the carrier jaw", Effort::making, {}, {10e-3, -10e-3}},
      {"operation.carrier", "pushed_width", "length over which a vise pushes", Effort::making, {1.25}, {}},
      {"operation.cut", "aim", "size aimed at", Effort::setting, {}, {1e-6, -1e-6, 3e-6, -3e-6}},
      {"operation.locator", "repeat", "how well the locator repeats", Effort::buying, {0.5}, {}},
      {"operation.locator", "diameter", "pin's diameter", Effort::buying, {}, {2e-6, 5e-6, -5e-6}},
      {"operation.locator", "land", "land of the relieved pin", Effort::buying, {}, {-10e-6, -5e-6, 5e-6}},
      {"operation.locator", "land_width", "width of the land", Effort::buying, {0.75, 1.25}, {}},
      {"pallet", "temperature_high", "warmest pallet", Effort::setting, {}, {-2, -5, 5}},
      {"pallet", "part_temperature", "temperature of the parts as they go on", Effort::setting, {}, {-3, 3}},
      {"pallet", "on_table", "pallets on the table", Effort::making, {}, {1, -1}},
      {"pallet", "sets", "sets of pallets", Effort::making, {}, {1, -1}},
      {"pallet", "loaded_part_mass", "mass of the parts as they go on", Effort::setting, {0.9}, {}},
      {"pallet", "empty_mass", "mass of the empty pallet", Effort::making, {0.8}, {}},
      {"pallet", "swap_time", "swap of the pallets", Effort::making, {0.5}, {}},
      {"pallet", "probe_time", "probing", Effort::setting, {0.5}, {}},
      {"pallet", "move_time", "moving the pallets", Effort::making, {0.5}, {}},
      {"pallet.plate", "size", "thickness of the plate", Effort::making, {}, {-5e-3, 5e-3}},
      {"pallet.pin", "diameter", "pin's diameter", Effort::buying, {}, {2e-6, 5e-6, -5e-6}},
      {"pallet.pin", "land", "land of the relieved pin", Effort::buying, {}, {-10e-6, -5e-6, 5e-6}},
      {"pallet.pin", "land_width", "width of the land", Effort::buying, {0.75, 1.25}, {}},
      {"pallet.pin", "height", "straight height of the pin", Effort::buying, {0.5}, {}},
      {"pallet.screw", "torque", "torque of the nest's screws", Effort::setting, {1.25, 0.8}, {}},
      {"pallet.anchor", "repeat", "how well a swap repeats", Effort::making, {0.5}, {}},
      {"pallet.screw", "wrench_scatter", "scatter of the wrench", Effort::buying, {0.5}, {}},
      {"pallet.pad", "diameter", "diameter of the pads", Effort::making, {1.5}, {}},
      {"pallet.anchor", "stiffness_up", "stiffness of the anchors upright", Effort::making, {1.5}, {}},
      {"pallet.anchor", "stiffness_side", "stiffness of the anchors sideways", Effort::making, {1.5}, {}},
      {"pallet.anchor", "pull_down", "pull-down of the anchors", Effort::making, {1.5}, {}},
      {"lift", "frequency", "lifts a minute", Effort::setting, {0.5}, {}},
      {"lift", "hours", "hours of lifting", Effort::setting, {0.25}, {}},
      {"lift.end", "reach", "reach", Effort::making, {0.8, 0.65}, {}},
      {"lift.end", "height", "height", Effort::making, {0.85}, {}},
      {"lift.end", "twist", "twist", Effort::setting, {0}, {}},
      {"machine", "positioning", "positioning of the machine", Effort::making, {0.5}, {}},
      {"machine", "growth", "growth of the spindle", Effort::setting, {0.5}, {}},
      {"machine", "tool_change", "tool change", Effort::making, {0.5}, {}},
      {"machine", "rapid", "rapid", Effort::making, {1.5}, {}},
      {"machine", "change_over", "change-over", Effort::making, {0.5}, {}},
      {"machine", "bin", "volume of the swarf bin", Effort::buying, {1.5}, {}},
      {"machine", "filter", "fines that the filter holds", Effort::buying, {1.5}, {}},
      {"tool", "stick_out", "stick-out", Effort::setting, {0.85}, {}},
      {"tool", "parts_per_edge", "parts an edge", Effort::buying, {1.5}, {}},
      {"tool", "price", "price of the tool", Effort::buying, {0.8}, {}},
      {"gauge", "uncertainty", "uncertainty of the gauge", Effort::buying, {0.5}, {}},
      {"gauge", "resolution", "resolution of the gauge", Effort::buying, {0.5}, {}},
      {"people", "operators", "operators", Effort::making, {}, {1}},
      {"people", "load_time", "loading by hand", Effort::making, {0.8}, {}},
      {"people", "clean_time", "cleaning by hand", Effort::setting, {0.8}, {}},
      {"people", "unload_time", "unloading by hand", Effort::making, {0.8}, {}},
      {"people", "deburr_time", "deburring by hand", Effort::setting, {0.8}, {}},
      {"people", "gauge_time", "gauging", Effort::buying, {0.5}, {}},
      {"people", "hone_time", "honing", Effort::buying, {0.5}, {}},
      {"demand", "available", "share of the shift a machine has", Effort::setting, {}, {0.05}},
      {"room", "temperature_high", "warmest room", Effort::making, {}, {-3}},
      {"room", "part_off_machine", "parts as they come off", Effort::setting, {}, {-3}},
      {"loss", "share", "loss", Effort::making, {0.5}, {}}};
  return all;
}

/// Steps of the study that read a key; the others keep their findings. A test holds this against whole studies.
std::vector<std::string> read_by(const std::string& table, const std::string& key) {
  const auto is = [&](const char* t) { return table == t || table.ends_with(std::string(".") + t); };
  std::vector<std::string> money = {"bores", "time and cost"};
  const auto with_money = [&](std::vector<std::string> more) {
    more.insert(more.end(), money.begin(), money.end());
    return more;
  };
  if (is("tool") && (key == "price" || key == "parts_per_edge" || key == "life")) return money;
  if (is("tool") || is("tool.mode") || is("mode"))
    return with_money({"cutting", "holding", "stiffness", "chatter", "tolerances", "reach"});
  if (is("demand") && key == "per_week") return with_money({"run-off"});
  if (is("people") || is("loss") || is("demand")) return money;
  if (is("machine") && (key == "power" || key == "torque" || key == "top_speed" || key == "efficiency"))
    return with_money({"cutting", "chatter"});
  if (is("machine") && (key == "bin" || key == "filter" || key == "fines")) return {"run-off"};
  if (is("machine") && key.starts_with("spindle_")) return {"cutting", "chatter", "tolerances"};
  if (is("machine") && key != "positioning" && key != "growth") return money;
  if (is("machine")) return {"locating", "tolerances", "bores", "working dimensions"};
  if (is("gauge") || is("room")) return {"bores"};
  if (is("spread")) return with_money({"holding", "tolerances", "working dimensions"});
  if (is("casting") || is("casting.size") || is("size") || is("core") || is("casting.core"))
    return {"raw sizes", "locating", "castings", "working dimensions", "cutting", "holding", "stiffness",
            "chatter",   "run-off",  "reach"};
  if (is("lift") || is("lift.end") || is("end")) return {"lifting"};
  if (is("operation") && key == "parts") return with_money({"holding"});
  if (is("operation") && (key == "lot" || key == "load_time" || key == "time")) return money;
  if (is("operation.cut") && key == "time") return money;
  if (is("operation.cut") && key != "aim")
    return with_money({"cutting", "holding", "stiffness", "chatter", "tolerances", "reach"});
  if (is("operation.clamp") || is("operation.carrier")) return {"holding"};
  if (is("pallet") && key.ends_with("_time")) return {"time and cost"};
  if (is("pallet") && key.ends_with("_mass")) return {"lifting", "holding", "stiffness", "chatter", "run-off"};
  if (is("pallet.screw")) return {"holding", "reach"};
  if (is("pallet.pad")) return {"holding", "stiffness", "chatter"};
  if (is("pallet.anchor") && key != "repeat") return {"holding", "stiffness", "chatter"};
  return {};
}

bool same_table(const std::string& table, const std::string& wanted) {
  return table == wanted || (table.size() > wanted.size() && table.ends_with("." + wanted));
}

/// The number, integer, sizes, limits or spread behind a key, changed; what stood there and stands there now.
struct Said {
  bool done = false;
  std::string from, to;
};
Said change_value(const plan::Key& key, void* at, double factor, double step, const unit::Style& style) {
  Said s;
  switch (key.type) {
    case plan::Type::number: {
      auto& n = *static_cast<plan::Number*>(at);
      if (!n.known()) return s;
      const double now = n.si * factor + step;
      if (!(now >= key.low) || !(now <= key.high) || (key.low_open && !(now > key.low)) || now == n.si) return s;
      unit::Style fine = style;
      fine.gauge = key.kind == unit::Kind::length && std::fabs(n.si) < 1e-4;
      s.from = unit::print(n.si, n.kind, fine);
      s.to = unit::print(now, n.kind, fine);
      const double by = n.si != 0 ? now / n.si : 1;
      n.low = step != 0 ? n.low + step : n.low * by;
      n.high = step != 0 ? n.high + step : n.high * by;
      n.si = now;
      break;
    }
    case plan::Type::integer: {
      auto& n = *static_cast<plan::Integer*>(at);
      if (!n.known()) return s;
      const int now = static_cast<int>(std::lround(n.value * factor + step));
      if (!(now >= key.low) || !(now <= key.high) || now == n.value || now < 1) return s;
      s.from = fmt::format("{}", n.value);
      s.to = fmt::format("{}", now);
      n.value = now;
      break;
    }
    case plan::Type::sizes: {
      auto& n = *static_cast<plan::Sizes*>(at);
      if (n.value.size() != 3 || !(n.value[2] + step > 1e-3)) return s;
      s.from = unit::print(n.value[2], unit::Kind::length, style);
      n.value[2] += step;
      s.to = unit::print(n.value[2], unit::Kind::length, style);
      break;
    }
    case plan::Type::limits: {
      auto& n = *static_cast<plan::Limits*>(at);
      if (!n.known() || !n.value.lower || !n.value.upper) return s;
      unit::Style fine = style;
      fine.gauge = true;
      const auto words = [&] {
        return fmt::format("{} to {}", unit::print(*n.value.lower, unit::Kind::length, fine),
                           unit::print(*n.value.upper, unit::Kind::length, fine));
      };
      s.from = words();
      *n.value.lower += step;
      *n.value.upper += step;
      if (n.value.nominal) *n.value.nominal += step;
      s.to = words();
      break;
    }
    case plan::Type::spread: {
      auto& n = *static_cast<plan::Spread*>(at);
      if (!n.known()) return s;
      unit::Style fine = style;
      fine.gauge = true;
      const auto words = [&] {
        return n.value.family == unit::Spread::Family::uniform
                   ? "± " + unit::print(n.value.half_width, unit::Kind::length, fine)
                   : "s " + unit::print(n.value.s, unit::Kind::length, fine);
      };
      s.from = words();
      n.value.s *= factor;
      n.value.half_width *= factor;
      s.to = words();
      break;
    }
    default:
      return s;
  }
  s.done = true;
  return s;
}

/// A word that tells this object of a list from the others: its id, tool, kind.
std::string object_name(const plan::Table& table, void* object) {
  for (const char* name : {"id", "tool", "kind"}) {
    const plan::Key* k = plan::find_key(table, name);
    if (k == nullptr || k->type != plan::Type::text) continue;
    const auto& t = *static_cast<const plan::Text*>(k->at(object));
    if (t.known()) return t.value;
  }
  return {};
}

/// All numbers that a rule names, as changes. A place is told by its running number in the walk, the same for a copy.
void number_changes(const plan::Plan& plan, const unit::Style& style, std::vector<Change>& out) {
  plan::Plan copy = plan;
  const auto visit_roots = [](plan::Plan& p, const std::function<void(const plan::Table&, void*)>& visit) {
    plan::walk(plan::plan_schema(), &p, visit);
    plan::walk(plan::shop_schema(), &p, visit);
  };
  int place = 0;
  std::string operation, lift;
  int ends = 0;
  visit_roots(copy, [&](const plan::Table& table, void* object) {
    const int here = place++;
    if (table.name == "operation") operation = object_name(table, object);
    if (table.name == "lift") {
      lift = object_name(table, object);
      ends = 0;
    }
    if (table.name == "lift.end") ++ends;
    for (const plan::Key& key : table.keys) {
      const bool spread = table.name == "spread" && key.name == "value";
      for (const Rule& rule : rules()) {
        if (!same_table(table.name, rule.table) || key.name != rule.key) continue;
        const auto add = [&](double factor, double step) {
          void* at = key.at(object);
          // Try it on a second copy of the value by changing and reading what would stand there.
          plan::Plan trial = plan;
          int n = 0;
          Said said;
          visit_roots(trial, [&](const plan::Table& t, void* o) {
            if (n++ != here) return;
            const plan::Key* k = plan::find_key(t, key.name);
            if (k != nullptr) said = change_value(*k, k->at(o), factor, step, style);
          });
          static_cast<void>(at);
          if (!said.done) return;
          Change c;
          const std::string name = table.name == "lift.end"
                                       ? lift + (ends == 1 ? ", where it is picked up" : ", where it is set down")
                                       : object_name(table, object);
          const bool of_operation = table.name.rfind("operation.", 0) == 0;
          c.row.name = fmt::format("{}{}{}", rule.words, name.empty() ? "" : ", " + name,
                                   of_operation ? " in " + operation : "");
          c.row.key = table.name == "lift.end"
                          ? fmt::format("lift {}.{}.{}", lift, ends == 1 ? "from" : "to", key.name)
                          : fmt::format("{}{}.{}", table.name, name.empty() ? "" : " " + name, key.name);
          c.row.effort = rule.effort;
          c.steps = read_by(table.name, key.name);
          c.row.from = said.from;
          c.row.to = said.to;
          c.apply = [here, key_name = key.name, factor, step, style, visit_roots](plan::Plan& p) {
            int m = 0;
            bool done = false;
            visit_roots(p, [&](const plan::Table& t, void* o) {
              if (m++ != here) return;
              const plan::Key* k = plan::find_key(t, key_name);
              if (k != nullptr) done = change_value(*k, k->at(o), factor, step, style).done;
            });
            return done;
          };
          if (key.type != plan::Type::integer)
            c.far = [here, key_name = key.name, factor, step, style, visit_roots](plan::Plan& p, double reach) {
              int m = 0;
              Said far;
              visit_roots(p, [&](const plan::Table& t, void* o) {
                if (m++ != here) return;
                const plan::Key* k = plan::find_key(t, key_name);
                if (k != nullptr)
                  far = change_value(*k, k->at(o), factor > 0 ? std::pow(factor, reach) : 1 - std::min(reach, 1.0),
                                     step * reach, style);
              });
              return far.done ? far.to : std::string();
            };
          out.push_back(std::move(c));
        };
        for (double f : rule.factors) add(f, 0);
        for (double s : rule.steps) add(1, s);
      }
      if (spread) {
        const plan::Key* k = plan::find_key(table, "value");
        plan::Plan trial = plan;
        int n = 0;
        Said said;
        visit_roots(trial, [&](const plan::Table& t, void* o) {
          if (n++ == here)
            said = change_value(*plan::find_key(t, "value"), plan::find_key(t, "value")->at(o), 0.5, 0, style);
        });
        static_cast<void>(k);
        if (!said.done) continue;
        Change c;
        const std::string name = object_name(table, object);
        c.row.name = "scatter: " + name;
        c.row.key = fmt::format("spread {}.value", name);
        c.steps = read_by("spread", "value");
        c.row.effort = Effort::buying;
        c.row.from = said.from;
        c.row.to = said.to;
        c.apply = [here, style, visit_roots](plan::Plan& p) {
          int m = 0;
          bool done = false;
          visit_roots(p, [&](const plan::Table& t, void* o) {
            if (m++ == here)
              done = change_value(*plan::find_key(t, "value"), plan::find_key(t, "value")->at(o), 0.5, 0, style).done;
          });
          return done;
        };
        out.push_back(std::move(c));
      }
    }
  });
}

bool names(const plan::Texts& t, const std::string& id) {
  return std::any_of(t.value.begin(), t.value.end(),
                     [&](const std::string& r) { return plan::parse_reference(r).id == id; });
}
bool machining(const plan::Operation& o) {
  return !o.makes.value.empty() && o.kind.value != "grind" && o.kind.value != "hone";
}
/// Can a cutter that comes from `up` reach the feature at all? Holes through from the other side count.
bool faces_spindle(const plan::Feature& f, const plan::Operation& o) {
  if (!o.up.known()) return false;
  const frame::Vec3 up = direction(o.up.value);
  if (f.kind.value == "profile") return std::fabs(up.z) > 0.5;
  if (!f.normal.known()) return false;
  const double along = frame::dot(direction(f.normal.value), up);
  const bool through = f.kind.value == "bore" || f.kind.value == "hole";
  return along > 0.9 || (through && along < -0.9);
}
/// Something sits on this feature in an operation between the two.
bool carries(const plan::Plan& plan, const std::string& id, std::size_t from, std::size_t to) {
  for (std::size_t k = std::min(from, to); k <= std::max(from, to); ++k) {
    const plan::Operation& o = plan.operations[k];
    for (const plan::Locator& l : o.locators)
      for (const std::string& r : base::split(l.on.value, ' '))
        if (plan::parse_reference(r).id == id) return true;
    for (const plan::Clamp& c : o.clamps)
      if (plan::parse_reference(c.on.value).id == id) return true;
    if (o.kind.value == "pallet")
      for (const plan::Pin& p : plan.pallet.pins)
        if (plan::parse_reference(p.in.value).id == id) return true;
  }
  return false;
}
void take_out(plan::Texts& t, const std::string& id) {
  for (std::size_t i = t.value.size(); i-- > 0;)
    if (plan::parse_reference(t.value[i]).id == id) {
      t.value.erase(t.value.begin() + static_cast<std::ptrdiff_t>(i));
      if (i < t.places.size()) t.places.erase(t.places.begin() + static_cast<std::ptrdiff_t>(i));
    }
}

/// The feature and its last cut (the finishing one) from one operation to another.
bool move_feature(plan::Plan& p, const std::string& id, std::size_t from, std::size_t to) {
  plan::Operation &a = p.operations[from], &b = p.operations[to];
  take_out(a.makes, id);
  b.makes.value.push_back(id);
  b.makes.origin = plan::Origin::given;
  for (std::size_t i = a.cuts.size(); i-- > 0;) {
    plan::Cut& cut = a.cuts[i];
    if (!names(cut.features, id) || cut.kind.value == "chamfer") continue;
    if (cut.features.value.size() > 1) {
      plan::Cut own = cut;
      own.features.value = {id};
      take_out(cut.features, id);
      b.cuts.push_back(std::move(own));
    } else {
      b.cuts.push_back(cut);
      a.cuts.erase(a.cuts.begin() + static_cast<std::ptrdiff_t>(i));
    }
    break;
  }
  // What the cut gives goes with it: its scatter of size and form.
  for (plan::SpreadOf& x : p.spreads)
    if (x.operation.value == a.id.value && (x.replaces.value == "size" || x.replaces.value == "form") &&
        std::all_of(x.moves.value.begin(), x.moves.value.end(),
                    [&](const std::string& r) { return plan::parse_reference(r).id == id; }))
      x.operation.value = b.id.value;
  return true;
}

void feature_moves(const plan::Plan& plan, std::vector<Change>& out) {
  for (std::size_t from = 0; from < plan.operations.size(); ++from) {
    const plan::Operation& a = plan.operations[from];
    if (!machining(a)) continue;
    std::set<std::string> seen;
    for (const std::string& r : a.makes.value) {
      const std::string id = plan::parse_reference(r).id;
      const plan::Feature* f = plan::find_feature(plan, id);
      if (f == nullptr || !seen.insert(id).second || f->over.known() || f->datum.known()) continue;
      for (std::size_t to = 0; to < plan.operations.size(); ++to) {
        const plan::Operation& b = plan.operations[to];
        if (to == from || !machining(b) || !faces_spindle(*f, b) || carries(plan, id, from, to)) continue;
        // Only what some requirement ties to something cut there.
        const bool tied =
            std::any_of(plan.requirements.begin(), plan.requirements.end(), [&](const plan::Requirement& q) {
              const std::string one = plan::parse_reference(q.feature.value).id,
                                other = plan::parse_reference(q.to.value).id;
              return (one == id && q.to.known() && names(b.makes, other)) || (other == id && names(b.makes, one));
            });
        if (!tied) continue;
        Change c;
        c.row.name =
            fmt::format("{} {} finished in {}", id, f->name.known() ? f->name.value : f->kind.value, b.id.value);
        c.row.key = fmt::format("operation {}.makes", b.id.value);
        c.row.from = a.id.value;
        c.row.to = b.id.value;
        c.row.effort = Effort::route;
        c.row.structural = true;
        c.apply = [id, from, to](plan::Plan& p) { return move_feature(p, id, from, to); };
        out.push_back(std::move(c));
      }
    }
  }
}

void zero_moves(const plan::Plan& plan, std::vector<Change>& out) {
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const plan::Operation& o = plan.operations[k];
    if (o.kind.value != "pallet" || !o.zero.known()) continue;
    for (const char* zero : {"plate top", "part top", "probed pins"}) {
      if (o.zero.value == zero) continue;
      Change c;
      c.row.name = std::string(zero) == "probed pins" ? fmt::format("every pallet probed again in {}", o.id.value)
                                                      : fmt::format("zero of {} on the {}", o.id.value, zero);
      c.row.key = fmt::format("operation {}.zero", o.id.value);
      c.row.from = o.zero.value;
      c.row.to = zero;
      c.row.effort = std::string(zero) == "probed pins" ? Effort::setting : Effort::route;
      c.row.structural = true;
      c.apply = [k, zero](plan::Plan& p) {
        p.operations[k].zero.value = zero;
        return true;
      };
      out.push_back(std::move(c));
    }
  }
}

void grind_order(const plan::Plan& plan, std::vector<Change>& out) {
  for (std::size_t k = 0; k + 1 < plan.operations.size(); ++k) {
    const plan::Operation &a = plan.operations[k], &b = plan.operations[k + 1];
    if (a.kind.value != "grind" || b.kind.value != "grind") continue;
    Change c;
    c.row.name = fmt::format("{} ground last, not {}", a.makes.value.empty() ? a.id.value : a.makes.value[0],
                             b.makes.value.empty() ? b.id.value : b.makes.value[0]);
    c.row.key = fmt::format("operation {}", a.id.value);
    c.row.from = a.id.value + " first";
    c.row.to = b.id.value + " first";
    c.row.effort = Effort::route;
    c.row.structural = true;
    c.apply = [k](plan::Plan& p) {
      std::swap(p.operations[k], p.operations[k + 1]);
      return true;
    };
    out.push_back(std::move(c));
  }
}

/// The round pin in the other hole.
void pin_exchange(const plan::Plan& plan, std::vector<Change>& out) {
  const auto& pins = plan.pallet.pins;
  if (pins.size() != 2 || pins[0].in.value == pins[1].in.value) return;
  Change c;
  c.row.name = "round and relieved pin exchanged";
  c.row.key = "pallet.pin.in";
  c.row.from = fmt::format("round pin in {}", pins[pins[0].kind.value == "round" ? 0 : 1].in.value);
  c.row.to = fmt::format("round pin in {}", pins[pins[0].kind.value == "round" ? 1 : 0].in.value);
  c.row.effort = Effort::making;
  c.row.structural = true;
  c.apply = [](plan::Plan& p) {
    std::swap(p.pallet.pins[0].in, p.pallet.pins[1].in);
    return true;
  };
  out.push_back(std::move(c));
}

/// What touches the parts under one jaw, exchanged for another thing of the shop.
void jaw_things(const plan::Plan& plan, std::vector<Change>& out) {
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const plan::Operation& o = plan.operations[k];
    for (const plan::Clamp& clamp : o.clamps) {
      if (clamp.kind.value != "jaw" || !clamp.stiffness.known()) continue;
      for (const plan::Thing& thing : plan.shop.things) {
        if (!thing.stiffness.known() || thing.id.value == clamp.thing.value ||
            (thing.kind.value != "jaw" && thing.kind.value != "pad"))
          continue;
        Change c;
        c.row.name = fmt::format("{} under the jaw of {}", thing.id.value, o.id.value);
        c.row.key = fmt::format("operation {}.clamp.thing", o.id.value);
        c.row.from = clamp.thing.known() ? clamp.thing.value : "as said";
        c.row.to = thing.id.value;
        c.row.effort = Effort::making;
        c.row.structural = true;
        c.steps = {"holding"};
        const plan::Number stiffness = thing.stiffness;
        const std::string id = thing.id.value;
        c.apply = [k, stiffness, id](plan::Plan& p) {
          for (plan::Clamp& x : p.operations[k].clamps)
            if (x.kind.value == "jaw") {
              x.stiffness = stiffness;
              x.thing.value = id;
            }
          return true;
        };
        out.push_back(std::move(c));
      }
    }
  }
}

/// One anchor more, in the middle of the plate.
void one_more_anchor(const plan::Plan& plan, std::vector<Change>& out) {
  if (plan.pallet.anchors.empty()) return;
  const auto& last = plan.pallet.anchors.back();
  for (const auto& a : plan.pallet.anchors)
    for (const frame::Vec3& at : a.at.value)
      if (std::hypot(at.x, at.y) < 0.03) return;
  if (!last.at.known()) return;
  Change c;
  c.row.name = "one more anchor, in the middle of the plate";
  c.row.key = "pallet.anchor";
  c.row.from = "none there";
  c.row.to = "as the others";
  c.row.effort = Effort::making;
  c.row.structural = true;
  c.apply = [](plan::Plan& p) {
    plan::Anchor more = p.pallet.anchors.back();
    more.at.value = {frame::Vec3{0, 0, 0}};
    p.pallet.anchors.push_back(more);
    return true;
  };
  out.push_back(std::move(c));
}

/// The same cut in twice as many levels, the other way round the part, or with teeth at uneven distances.
void other_cuts(const plan::Plan& plan, const unit::Style& style, std::vector<Change>& out) {
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const plan::Operation& o = plan.operations[k];
    for (std::size_t i = 0; i < o.cuts.size(); ++i) {
      const plan::Cut& cut = o.cuts[i];
      const plan::Tool* tool = plan::find_tool(plan, cut.tool.value);
      if (tool == nullptr || tool->kind.value != "end mill" || !cut.depth.known()) continue;
      const std::string what = fmt::format("{} in {}", cut.tool.value, o.id.value);
      Change levels;
      levels.row.name = fmt::format("twice as many levels of {}", what);
      levels.row.key = fmt::format("operation {}.cut {}.depth", o.id.value, cut.tool.value);
      levels.row.from = fmt::format("{} of {}", cut.passes.known() ? cut.passes.value : 1,
                                    unit::print(cut.depth.si, unit::Kind::length, style));
      levels.row.to = fmt::format("{} of {}", 2 * (cut.passes.known() ? cut.passes.value : 1),
                                  unit::print(0.5 * cut.depth.si, unit::Kind::length, style));
      levels.row.effort = Effort::setting;
      levels.row.structural = true;
      levels.apply = [k, i](plan::Plan& p) {
        plan::Cut& x = p.operations[k].cuts[i];
        x.depth.si *= 0.5, x.depth.low *= 0.5, x.depth.high *= 0.5;
        x.passes.value = 2 * (x.passes.known() ? x.passes.value : 1);
        x.passes.origin = plan::Origin::given;
        x.time.si *= 2, x.time.low *= 2, x.time.high *= 2;
        return true;
      };
      out.push_back(std::move(levels));
      if (!tool->spacing.known() || tool->spacing.value == "even") {
        Change uneven;
        uneven.row.name = fmt::format("teeth of {} at uneven distances", cut.tool.value);
        uneven.row.key = fmt::format("tool {}.spacing", cut.tool.value);
        uneven.row.from = "even";
        uneven.row.to = "uneven, ± 3 deg";
        uneven.row.effort = Effort::buying;
        uneven.row.structural = true;
        uneven.steps = {"cutting", "holding", "stiffness", "chatter", "tolerances"};
        const std::string id = tool->id.value;
        uneven.apply = [id](plan::Plan& p) {
          for (std::vector<plan::Tool>* tools : {&p.tools, &p.shop.tools})
            for (plan::Tool& t : *tools) {
              if (t.id.value != id) continue;
              t.spacing.value = "uneven";
              t.spacing.origin = plan::Origin::given;
              t.spacing_step.si = t.spacing_step.low = t.spacing_step.high = 3 * 3.14159265358979323846 / 180;
              t.spacing_step.kind = unit::Kind::angle;
              t.spacing_step.origin = plan::Origin::given;
            }
          return true;
        };
        out.push_back(std::move(uneven));
      }
    }
  }
}

/// One nest fewer on every pallet.
void fewer_nests(const plan::Plan& plan, std::vector<Change>& out) {
  std::size_t nests = 0;
  for (const plan::Nest& n : plan.pallet.nests) nests += n.at.value.size();
  if (nests < 2) return;
  Change c;
  c.row.name = "nests on a pallet";
  c.row.key = "pallet.nest";
  c.row.from = fmt::format("{}", nests);
  c.row.to = fmt::format("{}", nests - 1);
  c.row.effort = Effort::making;
  c.row.structural = true;
  c.apply = [](plan::Plan& p) {
    auto& list = p.pallet.nests;
    while (!list.empty() && list.back().at.value.empty()) list.pop_back();
    if (list.empty()) return false;
    list.back().at.value.pop_back();
    if (list.back().at.value.empty()) list.pop_back();
    return true;
  };
  out.push_back(std::move(c));
}

/// Cut order within a clamping: a finishing cut moved behind every roughing one.
void cut_order(const plan::Plan& plan, std::vector<Change>& out) {
  for (std::size_t k = 0; k < plan.operations.size(); ++k) {
    const plan::Operation& o = plan.operations[k];
    for (std::size_t i = 0; i + 1 < o.cuts.size(); ++i) {
      if (o.cuts[i].kind.value != "finish") continue;
      const bool heavy_later =
          std::any_of(o.cuts.begin() + static_cast<std::ptrdiff_t>(i) + 1, o.cuts.end(), [](const plan::Cut& c) {
            return c.kind.value == "rough" || c.kind.value == "rough and finish" || c.kind.value == "groove";
          });
      if (!heavy_later) continue;
      Change c;
      c.row.name = fmt::format("{} after the last heavy cut of {}", o.cuts[i].tool.value, o.id.value);
      c.row.key = fmt::format("operation {}.cut {}", o.id.value, o.cuts[i].tool.value);
      c.row.from = fmt::format("cut {}", i + 1);
      c.row.to = "last";
      c.row.effort = Effort::setting;
      c.row.structural = true;
      c.apply = [k, i](plan::Plan& p) {
        auto& cuts = p.operations[k].cuts;
        std::rotate(cuts.begin() + static_cast<std::ptrdiff_t>(i), cuts.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                    cuts.end());
        return true;
      };
      out.push_back(std::move(c));
    }
  }
}

/// A side of a profile roughed in an earlier clamping, 0.25 mm left for the finishing cut.
void rough_earlier(const plan::Plan& plan, std::vector<Change>& out) {
  constexpr double left = 0.25e-3;
  for (std::size_t to = 0; to < plan.operations.size(); ++to) {
    const plan::Operation& late = plan.operations[to];
    for (const std::string& r : late.makes.value) {
      const plan::Feature* f = plan::find_feature(plan, plan::parse_reference(r).id);
      if (f == nullptr || f->kind.value != "profile" || !machining(late)) continue;
      for (std::size_t from = 0; from < to; ++from) {
        const plan::Operation& early = plan.operations[from];
        if (!machining(early) || !faces_spindle(*f, early)) continue;
        for (const char axis : {'x', 'y'}) {
          const std::string sides[2] = {fmt::format("{}.+{}", f->id.value, axis),
                                        fmt::format("{}.-{}", f->id.value, axis)};
          const bool there = std::any_of(plan.features.begin(), plan.features.end(), [&](const plan::Feature& x) {
            return x.over.value == sides[0] || x.over.value == sides[1];
          });
          bool sits = false;  // the early operation itself sits on them
          for (const plan::Locator& l : early.locators)
            for (const std::string& on : base::split(l.on.value, ' '))
              sits = sits || ((on == sides[0] || on == sides[1]) && l.kind.value != "centre");
          if (there || sits) continue;
          Change c;
          c.row.name = fmt::format("both {} ends of {} roughed in {}", static_cast<char>(axis - 'a' + 'A'), f->id.value,
                                   early.id.value);
          c.row.key = fmt::format("operation {}.makes", early.id.value);
          c.row.from = late.id.value;
          c.row.to = early.id.value;
          c.row.effort = Effort::route;
          c.row.structural = true;
          c.apply = [from, sides](plan::Plan& p) {
            for (const std::string& side : sides) {
              const Surface s = surface_of(p, side);
              if (!s.there) return false;
              plan::Feature face;
              const auto text = [](plan::Text& t, std::string v) {
                t.origin = plan::Origin::given;
                t.value = std::move(v);
              };
              text(face.id, "rough " + side);
              std::replace(face.id.value.begin(), face.id.value.end(), '.', ' ');
              text(face.name, "roughed " + side);
              text(face.kind, "face");
              text(face.normal, side.substr(side.size() - 2));
              text(face.over, side);
              text(face.cast, "skin");
              face.at.origin = plan::Origin::given;
              face.at.value = {s.point + left * s.normal};
              face.size.origin = plan::Origin::given;
              face.size.value = {s.extent_u, s.extent_v};
              p.operations[from].makes.value.push_back(face.id.value);
              p.features.push_back(std::move(face));
            }
            return true;
          };
          out.push_back(std::move(c));
        }
      }
    }
  }
}

/// Everything that may be changed, one at a time.
std::vector<Change> all_changes(const plan::Plan& plan, const unit::Style& style) {
  std::vector<Change> out;
  feature_moves(plan, out);
  zero_moves(plan, out);
  grind_order(plan, out);
  pin_exchange(plan, out);
  jaw_things(plan, out);
  one_more_anchor(plan, out);
  other_cuts(plan, style, out);
  fewer_nests(plan, out);
  cut_order(plan, out);
  rough_earlier(plan, out);
  number_changes(plan, style, out);
  return out;
}
unit::Style style_of(const plan::Plan& plan) {
  unit::Style style;
  style.system = plan.header.units.value == "inch" ? unit::Style::System::inch : unit::Style::System::metric;
  return style;
}

/// What a good part costs when this share of parts keeps every requirement; nothing when the plan says too little.
std::optional<double> cost_of(const plan::Plan& plan, double kept) {
  const PlanCost c = plan_cost(plan, std::clamp(share_without_losses(plan) * kept, 1e-6, 1.0));
  return c.there ? std::optional<double>(c.per_good) : std::nullopt;
}

double need(finding::State s) { return s == finding::State::outside ? 1.0 : s == finding::State::tight ? 0.3 : 0.0; }

/// A question that only changed its operation (a feature cut elsewhere) is one that moved, not one gone and one come.
void pair_moved(std::vector<Moved>& moved) {
  const auto question = [](const std::string& id) { return id.substr(std::min(id.size(), id.find('.'))); };
  for (Moved& m : moved) {
    if (!m.came) continue;
    const auto old = std::find_if(moved.begin(), moved.end(),
                                  [&](const Moved& x) { return x.went && question(x.id) == question(m.id); });
    if (old == moved.end()) continue;
    m.came = false;
    m.before = old->before;
    m.margin_before = old->margin_before;
    old->id.clear();
  }
  std::erase_if(moved, [](const Moved& m) {
    return m.id.empty() ||
           (!m.came && !m.went && m.before == m.after && std::fabs(m.margin_after - m.margin_before) < 0.005);
  });
}

void judge_row(LeverRow& row, const Study& before, const Study& after, const std::string& wanted) {
  row.moved = moved(before, after);
  pair_moved(row.moved);
  const auto value = [](double m) { return std::isfinite(m) ? std::clamp(m, -3.0, 1.5) : 0.0; };
  for (const Moved& m : row.moved) {
    const bool good = m.after == finding::State::inside || m.after == finding::State::tight;
    const bool bad_before = m.before == finding::State::outside;
    if (m.came || m.went) continue;
    // What leaves the range of its formula is judged by nothing any more: never better.
    const bool lost = m.after == finding::State::beyond && m.before != finding::State::beyond;
    if (lost) {
      if (wanted.empty() || m.id == wanted) row.gain -= need(m.before) + 1;
      row.breaks = row.breaks || !bad_before;
      continue;
    }
    if (wanted.empty()) {
      row.gain += (value(m.margin_after) - value(m.margin_before)) * std::max(need(m.before), need(m.after));
      row.mends = row.mends || (bad_before && good);
    } else if (m.id == wanted) {
      row.gain = m.margin_after - m.margin_before;
      if (!std::isfinite(row.gain)) row.gain = good && !std::isfinite(m.margin_before) ? 1 : -1;
      row.mends = bad_before && good;
    }
    if (!bad_before && m.after == finding::State::outside) row.breaks = true;
  }
  std::stable_sort(row.moved.begin(), row.moved.end(), [&](const Moved& a, const Moved& b) {
    if ((a.id == wanted) != (b.id == wanted)) return a.id == wanted;
    return std::fabs(value(a.margin_after) - value(a.margin_before)) >
           std::fabs(value(b.margin_after) - value(b.margin_before));
  });
}

/// The findings of these steps only.
Study part_of(const Study& s, const std::vector<std::string>& steps) {
  if (steps.empty()) return s;
  Study out;
  for (const finding::Finding& f : s.findings) {
    const auto it = s.step_of.find(f.id);
    if (it != s.step_of.end() && std::find(steps.begin(), steps.end(), it->second) != steps.end())
      out.findings.push_back(f);
  }
  return out;
}

const finding::Finding* find(const Study& s, const std::string& id) {
  for (const finding::Finding& f : s.findings)
    if (f.id == id) return &f;
  return nullptr;
}

/// For the numbers that move the wanted finding most: the value at which it just comes inside, looked for up to eight
/// times as far as the change tried.
void find_flips(const plan::Plan& plan, const Data& data, const Options& quick, Memo& memo, const std::string& wanted,
                std::vector<Change>& changes, const std::vector<char>& worked) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < changes.size(); ++i)
    if (worked[i] != 0 && changes[i].far && changes[i].row.gain > 0.02) order.push_back(i);
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return changes[a].row.gain > changes[b].row.gain; });
  std::set<std::string> tried;
  int n = 0;
  for (std::size_t i : order) {
    LeverRow& row = changes[i].row;
    if (row.moved.empty() || row.moved.front().id != wanted || row.moved.front().before != finding::State::outside)
      continue;
    if (!tried.insert(row.key).second || ++n > 8) continue;
    const auto inside_at = [&](double reach, std::string& text) {
      plan::Plan other = plan;
      text = changes[i].far(other, reach);
      if (text.empty()) return false;
      Options some = quick;
      some.only = changes[i].steps;
      const Outcome<Study> s = run(other, data, some, memo);
      const finding::Finding* f = s.ok() ? find(s.value(), wanted) : nullptr;
      return f != nullptr && (f->state == finding::State::inside || f->state == finding::State::tight);
    };
    std::string text, best;
    double good = 0, bad = 0;
    for (double reach : {1.0, 2.0, 4.0, 8.0}) {
      if (inside_at(reach, text)) {
        good = reach;
        best = text;
        break;
      }
      bad = reach;
    }
    if (good == 0) continue;
    for (int k = 0; k < 5; ++k) {
      const double middle = 0.5 * (good + bad);
      if (inside_at(middle, text)) {
        good = middle;
        best = text;
      } else bad = middle;
    }
    row.inside_from = best;
  }
}

bool worth_listing(const LeverRow& row) { return row.gain > 1e-6 || row.mends; }

/// What is inside as stated is tight where its bands lead outside. What no change was looked at over its bands again
/// stays tight: nobody has seen it inside.
void state_row(LeverRow& row, const Study& before, const Study& after) {
  using finding::State;
  for (Moved& m : row.moved) {
    const finding::Finding *was = find(before, m.id), *is = find(after, m.id);
    const bool tight = was != nullptr && was->state == State::tight;
    if (m.before == State::inside && tight) m.before = State::tight;
    if (m.after == State::inside && (is != nullptr ? is->state == State::tight : tight)) m.after = State::tight;
  }
}

}  // namespace

Outcome<Levers> levers(const plan::Plan& plan, const Data& data, const LeverOptions& options, Memo& memo) {
  Options quick;
  quick.monte_carlo = false;
  quick.bands = false;
  Outcome<Study> base = run(plan, data, quick, memo);
  if (!base.ok()) return base.problems();
  Levers out;
  std::string wanted;
  if (!options.finding.empty()) {
    std::vector<std::string> ids, close;
    for (const finding::Finding& f : base->findings) {
      ids.push_back(f.id);
      if (f.id == options.finding) close = {f.id};
      else if ((close.empty() || close[0] != options.finding) &&
               (base::lower(f.id).find(base::lower(options.finding)) != std::string::npos ||
                base::lower(f.title).find(base::lower(options.finding)) != std::string::npos))
        close.push_back(f.id);
    }
    if (close.empty()) {
      std::string best = base::nearest(options.finding, ids);
      std::vector<std::string> questions;  // people type the last word of an id
      for (const finding::Finding& f : base->findings) questions.push_back(f.question);
      const std::string question = base::nearest(options.finding, questions);
      for (const finding::Finding& f : base->findings)
        if (best.empty() && !question.empty() && f.question == question) best = f.id;
      return bad("no finding of this plan has that id", options.finding, "an id as `fettle study` lists it", best);
    }
    if (close.size() > 1)
      return bad("several findings are called that", options.finding, "one of: " + base::join(close, ", "), "");
    wanted = close[0];
  }
  const unit::Style style = style_of(plan);
  std::vector<Change> changes = all_changes(plan, style);
  if (options.wanted) std::erase_if(changes, [&](const Change& c) { return !options.wanted(c.row); });
  out.tried = static_cast<int>(changes.size());

  const std::optional<double> cost_now = cost_of(plan, base->kept.value_or(1));
  std::atomic<std::size_t> next{0};
  std::atomic<bool> stopped{false};
  std::vector<char> worked(changes.size(), 0);
  const auto work = [&] {
    for (std::size_t i = next++; i < changes.size() && !stopped; i = next++) {
      if (options.stop && options.stop()) stopped = true;
      plan::Plan other = plan;
      if (!changes[i].apply(other)) continue;
      Options some = quick;
      if (!options.whole) some.only = changes[i].steps;
      const Outcome<Study> s = run(other, data, some, memo);
      if (!s.ok()) continue;
      judge_row(changes[i].row, part_of(base.value(), some.only), s.value(), wanted);
      if (cost_now) {
        const auto cost = cost_of(other, s->kept ? *s->kept : base->kept.value_or(1));
        if (cost && std::fabs(*cost - *cost_now) >= 0.0005) changes[i].row.cost_change = *cost - *cost_now;
      }
      worked[i] = 1;
    }
  };
  const auto in_threads = [&options](const std::function<void()>& of_each) {
    std::vector<std::thread> threads;
    for (int t = 1; t < options.threads; ++t) threads.emplace_back(of_each);
    of_each();
    for (std::thread& t : threads) t.join();
  };
  const Problem stop{Fault::environment, {}, "stopped", {}, {}, {}};
  in_threads(work);
  if (stopped) return stop;

  if (!wanted.empty()) find_flips(plan, data, quick, memo, wanted, changes, worked);

  // The states as a study says them, with the bands of what is assumed.
  Options banded = quick;
  banded.bands = true, banded.threads = options.threads;
  Outcome<Study> stated = run(plan, data, banded, memo);
  if (!stated.ok()) return stated.problems();
  banded.threads = 1;
  const auto judged_in = stated->step_of.find(wanted);
  if (judged_in != stated->step_of.end()) banded.only = {judged_in->second};
  next = 0;
  const auto say_states = [&] {
    for (std::size_t i = next++; i < changes.size() && !stopped; i = next++) {
      if (options.stop && options.stop()) stopped = true;
      if (worked[i] == 0 || !worth_listing(changes[i].row)) continue;
      Outcome<Study> after{Study{}};
      if (plan::Plan other = plan; !banded.only.empty() && changes[i].apply(other))
        after = run(other, data, banded, memo);
      state_row(changes[i].row, stated.value(), after.ok() ? after.value() : Study{});
    }
  };
  in_threads(say_states);
  if (stopped) return stop;
  for (std::size_t i = 0; i < changes.size(); ++i)
    if (worked[i] != 0 && worth_listing(changes[i].row)) out.rows.push_back(changes[i].row);
  std::stable_sort(out.rows.begin(), out.rows.end(), [&](const LeverRow& a, const LeverRow& b) {
    if (a.breaks != b.breaks) return b.breaks;
    if (a.mends != b.mends) return a.mends;
    // Gain over effort; what makes the part dearer counts half for every tenth of its cost, what makes it cheaper more.
    const auto worth = [&](const LeverRow& r) {
      const double dearer = r.cost_change && cost_now && *cost_now > 0 ? *r.cost_change / *cost_now : 0;
      return r.gain / (1.0 + static_cast<double>(r.effort)) * std::pow(2.0, -10 * std::clamp(dearer, -0.2, 0.5));
    };
    return worth(a) > worth(b);
  });
  out.base = std::move(stated.value());
  out.finding = wanted;
  out.currency = plan_cost(plan, 1).currency;
  return out;
}

std::optional<plan::Plan> with_lever(const plan::Plan& plan, const LeverRow& row) {
  for (const Change& c : all_changes(plan, style_of(plan))) {
    if (c.row.name != row.name || c.row.key != row.key || c.row.to != row.to) continue;
    plan::Plan out = plan;
    if (c.apply(out)) return out;
  }
  return std::nullopt;
}

}  // namespace fettle::study
