#include "begin/propose/thicker.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/cut_buy.h"
#include "begin/propose/mend.h"
#include "plan/read.h"

namespace fettle::begin {

namespace {

using unit::Kind;

constexpr double thickest = 2.1;    ///< times as thick at most
constexpr double little = 0.15;     ///< of the stiffness that is missing: less is no mend
constexpr double plate_rim = 8e-3;  ///< m of plate beyond the cutter's way, as the pallet was laid out

const plan::Tool* to_buy(const plan::Plan& p, const std::string& id) {
  for (const plan::Tool& t : p.tools)
    if (t.id.value == id && t.kind.value == "end mill" && t.diameter.known() &&
        base::starts_with(t.name.value, "to buy"))
      return &t;
  return nullptr;
}
/// Every cut of it goes round a profile or a boss: no inner corner, no hole asks for its diameter.
bool goes_round(const plan::Plan& p, const std::string& tool) {
  const auto round = [&](const std::string& id) {
    const plan::Feature* x = plan::find_feature(p, plan::parse_reference(id).id);
    return x != nullptr && (x->kind.value == "profile" || x->kind.value == "boss");
  };
  for (const plan::Operation& o : p.operations)
    for (const plan::Cut& c : o.cuts)
      if (c.tool.value == tool && !std::all_of(c.features.value.begin(), c.features.value.end(), round)) return false;
  return true;
}
/// Whatever finding asks: the tool is as thick in every operation, and among nests only that on pallets counts.
bool on_pallet(const plan::Plan& p, const std::string& tool) {
  return std::any_of(p.operations.begin(), p.operations.end(), [&](const plan::Operation& o) {
    return o.kind.value == "pallet" &&
           std::any_of(o.cuts.begin(), o.cuts.end(), [&](const plan::Cut& c) { return c.tool.value == tool; });
  });
}

void thicken(plan::Plan& p, const std::string& id, double d, double to, bool inch) {
  for (plan::Tool& t : p.tools) {
    if (t.id.value != id) continue;
    const std::string old = tool_words(t, inch);
    give_length(t.diameter, to, inch);
    std::string name = t.name.value;
    if (const std::size_t k = name.find(old); k != std::string::npos)
      give(t.name, name.replace(k, old.size(), tool_words(t, inch)));
    if (t.neck.known()) give_length(t.neck, 1e-4 * std::floor(1e4 * 0.96 * to), inch);
    if (t.holder.known()) give_length(t.holder, t.holder.si + to - d, inch);
    const std::size_t unit = t.price.typed.find(' ');
    if (t.price.known() && unit != std::string::npos)  // carbide goes with the section; from memory
      give(t.price, Kind::money, base::fixed(t.price.si * to * to / (d * d), 0) + t.price.typed.substr(unit));
  }
  for (plan::Operation& o : p.operations)
    for (plan::Cut& c : o.cuts) {
      if (c.tool.value != id) continue;
      double ratio = 1;
      if (c.speed.known()) {
        const double rpm = std::floor(c.speed.si * d / to / (2 * std::numbers::pi) * 6 + 1e-6) * 10;
        ratio = rpm * std::numbers::pi / 30 / c.speed.si;
        give(c.speed, Kind::rotation, base::shortest(rpm) + " rpm");
      }
      const double way = c.length.si;  // its middle goes round a wider circle
      if (c.length.known()) give_length(c.length, 1e-4 * std::round(1e4 * (way + std::numbers::pi * (to - d))), inch);
      if (c.feed.known()) set_feed(p, c, c.feed.si * ratio, inch, way);
    }
}

/// Nests moved apart on a plate that grows with them.
struct Apart {
  std::vector<frame::Vec3> at;
  std::vector<double> size;
  double mass = 0;
};
void put_apart(plan::Plan& p, const Apart& a, bool inch) {
  if (a.at.empty()) return;
  for (std::size_t i = 0; i < a.at.size(); ++i) {
    p.pallet.nests[i].at = {};
    give(p.pallet.nests[i].at, {a.at[i]}, inch);
  }
  p.pallet.plate.size = {};
  give(p.pallet.plate.size, a.size, inch);
  if (a.mass > 0)
    give(p.pallet.empty_mass, Kind::mass,
         inch ? base::fixed(a.mass / 0.45359237, 1) + " lb" : base::fixed(a.mass, 2) + " kg");
}
/// The machine that carries the pallets gets round a plate of this size.
bool reached(const plan::Plan& p, const std::vector<double>& size) {
  const double side = p.pallet.on_table.known() ? p.pallet.on_table.value : 1;
  for (const plan::Operation& o : p.operations)
    for (const plan::Machine& m : p.shop.machines) {
      if (o.kind.value != "pallet" || m.id.value != o.machine.value || m.travel.value.size() < 2) continue;
      const double wide = std::max(m.travel.value[0], m.travel.value[1]),
                   deep = std::min(m.travel.value[0], m.travel.value[1]);
      if (side * size[0] - 2 * plate_rim > wide || size[1] - 2 * plate_rim > deep) return false;
    }
  return true;
}
/// Rows and columns each so much farther apart; nothing where the nests are no rows and columns, or where the machine
/// does not reach round them then.
std::optional<Apart> nests_apart(const plan::Plan& plan, double more) {
  const plan::Pallet& p = plan.pallet;
  const std::vector<double>& s = p.plate.size.value;
  if (p.nests.empty() || s.size() != 3) return std::nullopt;
  std::array<std::vector<double>, 2> rows;
  const auto row = [&](std::size_t k, double x) {
    const auto& all = rows[k];
    return std::find_if(all.begin(), all.end(), [&](double y) { return std::fabs(x - y) < 1e-6; }) - all.begin();
  };
  const auto part = [](const frame::Vec3& v, std::size_t k) { return k == 0 ? v.x : v.y; };
  for (const plan::Nest& n : p.nests) {
    if (n.at.value.size() != 1) return std::nullopt;
    for (const std::size_t k : {0U, 1U})
      if (const double x = part(n.at.value[0], k); static_cast<std::size_t>(row(k, x)) == rows[k].size())
        rows[k].push_back(x);
  }
  if (rows[0].size() * rows[1].size() != p.nests.size()) return std::nullopt;
  for (auto& all : rows) std::sort(all.begin(), all.end());
  Apart out;
  const auto moved = [&](const frame::Vec3& v, std::size_t k) {
    const double x = part(v, k), middle = 0.5 * (static_cast<double>(rows[k].size()) - 1);
    return 1e-7 * std::round(1e7 * (x + (static_cast<double>(row(k, x)) - middle) * more));
  };
  for (const plan::Nest& n : p.nests)
    out.at.push_back({moved(n.at.value[0], 0), moved(n.at.value[0], 1), n.at.value[0].z});
  const auto grown = [&](std::size_t k) {
    return 5e-3 * std::ceil(200 * (s[k] + (static_cast<double>(rows[k].size()) + 1) * more) - 1e-6);
  };
  out.size = {grown(0), grown(1), s[2]};
  if (p.empty_mass.known()) out.mass = p.empty_mass.si * out.size[0] * out.size[1] / (s[0] * s[1]);
  if (!reached(plan, out.size)) return std::nullopt;
  return out;
}

/// The first `from` becomes `to`.
bool exchange(std::string& s, const std::string& from, const std::string& to) {
  const std::size_t k = from.empty() ? std::string::npos : s.find(from);
  if (k == std::string::npos) return false;
  s.replace(k, from.size(), to);
  return true;
}

/// What was said of a cut when it was made names its tool and its speed, and reckons with the diameter.
void say_cut(Draft& d, const plan::Operation& op, const plan::Cut& was, const plan::Cut& is, const plan::Tool& thin,
             const plan::Tool& thick, bool inch) {
  const std::string about = fmt::format("operation.{}.cut.{}", op.id.value, is.tool.value),
                    on = fmt::format(" on {}, ", base::join(is.features.value, ", "));
  for (Choice& c : d.choices) {
    if (c.about != about || !base::starts_with(c.taken, is.tool.value + " (to buy")) continue;
    if (!exchange(c.taken, on + was.speed.typed, on + is.speed.typed)) continue;
    exchange(c.taken, tool_words(thin, inch), tool_words(thick, inch));
    c.why += fmt::format("; reckoned with Ø{} until chatter asked for Ø{}: feed {}",
                         length_text(thin.diameter.si, inch), length_text(thick.diameter.si, inch), is.feed.typed);
    return;
  }
}

}  // namespace

std::vector<ThickerMill> thicker_mills(const plan::Plan& plan, const std::string& id, double too_deep, bool inch) {
  std::vector<ThickerMill> out;
  const plan::Tool* tool = to_buy(plan, id);
  if (tool == nullptr || !goes_round(plan, id)) return out;
  const double d = tool->diameter.si;
  const bool pallet = on_pallet(plan, id);
  for (const double to : sold_sizes("end mill", inch)) {
    if (to < d + 1e-4 || to > thickest * d || std::pow(to / d, 4) < little * too_deep) continue;
    const auto move = pallet ? nests_apart(plan, to - d) : std::optional<Apart>(Apart{});
    if (!move) return out;
    out.push_back({d, to, pallet && plan.pallet.nests.size() > 1, [inch, id, d, to, at = *move](plan::Plan& p) {
                     thicken(p, id, d, to, inch);
                     put_apart(p, at, inch);
                   }});
  }
  return out;
}

void say_thicker(Draft& d, const plan::Plan& before, const std::string& id, bool inch) {
  const plan::Tool *thin = plan::find_tool(before, id), *thick = plan::find_tool(d.plan, id);
  if (thin == nullptr || thick == nullptr) return;
  const auto again = [&](std::string& s) {
    exchange(s, tool_words(*thin, inch), tool_words(*thick, inch));
    exchange(s, shape_words(*thin), shape_words(*thick));
    exchange(s, price_words(*thin), price_words(*thick));
  };
  for (Choice& c : d.choices)
    if (c.about == "tool." + id && base::starts_with(c.taken, "to buy: ")) again(c.taken), again(c.why);
  for (std::string& s : d.assumed)
    if (base::starts_with(s, "tool." + id + ": ")) again(s);
  const std::string& name = thin->name.value;  // "to buy: ..., for B1, B2"
  const std::size_t whom = name.rfind(", for ");
  const std::string first = whom == std::string::npos ? "" : base::split(name.substr(whom + 6), ',').front();
  for (std::string& s : d.disagree)
    if (base::starts_with(s, "to buy: " + tool_words(*thin, inch) + " for ") &&
        s.find(" for " + first + " in ") != std::string::npos)
      again(s);
  for (std::size_t k = 0; k < std::min(before.operations.size(), d.plan.operations.size()); ++k) {
    const plan::Operation &was = before.operations[k], &is = d.plan.operations[k];
    for (std::size_t i = 0; i < std::min(was.cuts.size(), is.cuts.size()); ++i)
      if (is.cuts[i].tool.value == id) say_cut(d, is, was.cuts[i], is.cuts[i], *thin, *thick, inch);
  }
}

}  // namespace fettle::begin
