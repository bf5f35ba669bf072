#include "begin/propose/mend.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <optional>
#include <set>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/cut_data.h"
#include "begin/propose/facts.h"
#include "begin/propose/thicker.h"
#include "plan/read.h"

namespace fettle::begin {

namespace {

using finding::Finding;
using finding::State;
using unit::Kind;

/// One change that a finding asks for.
struct Try {
  std::string key;  ///< what it changes and to what: nothing is tried twice
  Choice choice;
  std::function<void(plan::Plan&)> apply;
  std::string tool = {};  ///< one to buy that it changes: what is said of it is built again
};
using Tries = std::vector<Try>;

const finding::Lever* lever(const Finding& f, const std::string& ending) {
  for (const finding::Lever& l : f.levers)
    if (l.key.ends_with(ending) && std::isfinite(l.flip)) return &l;
  return nullptr;
}

std::string number(double x, int digits) {
  return base::shortest(std::round(x * std::pow(10, digits)) / std::pow(10, digits));
}

/// Proposes changes for one study.
class Mender {
 public:
  /// `spend`: changes that cost time may be offered for what nobody can prove to sing.
  Mender(const Scene& scene, const Look& at, bool spend)
      : scene_(scene), plan_(at.plan), study_(at.study), spend_(spend) {}

  /// Changes that this finding asks for, the gentlest first.
  Tries asked(const Finding& f) {
    out_.clear();
    if (f.question == "holds" || f.question == "holds_with_pins" || f.question == "loose_part") holds(f);
    else if (f.question == "chatter") chatter(f);
    else if (f.question == "power" || f.question == "torque" || f.question == "engagement") load(f);
    else if (f.question == "chip") rubbing(f);
    else if (f.question == "screw_stress" || f.question == "pressure" || f.question == "pull_out") overtight(f);
    else if (base::starts_with(f.question, "size")) size(f);
    else if (f.question == "rocks_on_chuck") shim(f);
    else if (f.question == "hours") hours(f);
    else if (f.question == "springs_back") softer(f);
    else if (f.question == "give" || f.question == "plate_bow") thicker(f);
    pins(f);
    return std::move(out_);
  }

 private:
  struct At {
    std::size_t operation = 0, cut = 0;
    const plan::Cut* it = nullptr;
    const plan::Operation* in = nullptr;
  };
  std::optional<At> cut_of(const Finding& f) const {
    std::optional<At> out;
    const std::string feature = plan::parse_reference(f.feature).id;
    for (std::size_t k = 0; k < plan_.operations.size(); ++k) {
      const plan::Operation& o = plan_.operations[k];
      if (o.id.value != f.operation) continue;
      for (std::size_t i = 0; i < o.cuts.size(); ++i) {
        const plan::Cut& c = o.cuts[i];
        if (c.tool.value != f.tool) continue;
        const bool names =
            std::find(c.features.value.begin(), c.features.value.end(), feature) != c.features.value.end();
        if (names || !out) out = At{k, i, &c, &o};
        if (names) return out;
      }
    }
    return out;
  }
  std::string where(const At& at) const {
    return fmt::format("operation.{}.cut.{}", at.in->id.value, at.it->tool.value);
  }
  std::string cuts_what(const At& at) const { return base::join(at.it->features.value, ", "); }

  void offer(const std::string& stage, const std::string& about, const std::string& taken, const std::string& why,
             const Finding& f, const std::string& before, std::function<void(plan::Plan&)> apply) {
    Choice c{stage, about, taken, why, f.id, {}};
    if (!before.empty())
      c.others.push_back(
          {before, "then " + f.title + " is outside or not proved", {}, "it was tried, and the study found that"});
    out_.push_back({about + " " + taken, std::move(c), std::move(apply)});
  }

  // ---- numbers as a person types them ---------------------------------------------------------------------------

  void offer_feed(const Finding& f, const At& at, double factor, const std::string& why) {
    if (!at.it->feed.known() || !(factor > 0)) return;
    plan::Cut shown = *at.it;
    set_feed(plan_, shown, at.it->feed.si * factor, scene_.inch);
    const double feed = at.it->feed.si * factor;
    offer("cuts", where(at), fmt::format("{} feeds {} on {}", at.it->tool.value, shown.feed.typed, cuts_what(at)), why,
          f, "feed " + at.it->feed.typed, [inch = scene_.inch, k = at.operation, i = at.cut, feed](plan::Plan& p) {
            set_feed(p, p.operations[k].cuts[i], feed, inch);
          });
  }
  /// Every cut of that tool in that operation that is deeper than `limit` takes so many levels as `times` as now.
  void offer_levels(const Finding& f, const At& at, int times, const std::string& why, double limit = 0) {
    if (times < 2 || !at.it->depth.known()) return;
    const double depth = rounded_up(at.it->depth.si / times, scene_.inch);
    offer("cuts", where(at),
          fmt::format("{} cuts {} deep on {}, {} times as many levels", at.it->tool.value,
                      length_text(depth, scene_.inch), cuts_what(at), times),
          why, f, "depth " + at.it->depth.typed,
          [inch = scene_.inch, k = at.operation, i = at.cut, times, limit](plan::Plan& p) {
            const std::string tool = p.operations[k].cuts[i].tool.value;
            for (std::size_t j = 0; j < p.operations[k].cuts.size(); ++j) {
              plan::Cut& c = p.operations[k].cuts[j];
              const bool too_deep = limit > 0 && c.tool.value == tool && c.kind.value != "finish" && c.depth.si > limit;
              if (j != i && !too_deep) continue;
              give_length(c.depth, rounded_up(c.depth.si / times, inch), inch);
              const int n = c.passes.known() ? c.passes.value : 1;
              c.passes.value = n * times, c.passes.origin = plan::Origin::given;
              c.passes.typed = std::to_string(n * times);
              retime(p, c, c.feed.si, n);
            }
          });
  }
  /// The stock goes in two passes, the first of at most `widest`.
  void offer_passes(const Finding& f, const At& at, double widest) {
    const plan::Number& w = at.it->width;
    if (!w.known() || at.it->kind.value == "finish") return;
    const double most = std::max(w.high, w.si), each = std::max(0.5 * most, most - widest), low = std::min(w.low, w.si);
    if (each > widest || each > most - 1e-4) return;
    const auto text = [&](double x) { return number(x / (scene_.inch ? 0.0254 : 1e-3), 3); };
    const std::string typed =
        fmt::format("{} {} ({}..{} {})", text(0.5 * (std::min(low, each) + each)), scene_.inch ? "in" : "mm",
                    text(std::min(low, 0.9 * each)), text(each), scene_.inch ? "in" : "mm");
    offer("cuts", where(at), fmt::format("{} takes the stock of {} in two passes", at.it->tool.value, cuts_what(at)),
          "less at once pushes less than the clamping holds", f, "width " + w.typed,
          [k = at.operation, i = at.cut, typed](plan::Plan& p) {
            plan::Cut& c = p.operations[k].cuts[i];
            give(c.width, Kind::length, typed);
            const int n = c.passes.known() ? c.passes.value : 1;
            c.passes.value = n * 2, c.passes.origin = plan::Origin::given, c.passes.typed = std::to_string(n * 2);
            retime(p, c, c.feed.si, n);
          });
  }
  /// A tenth of a millimetre, or five thousandths of an inch.
  static double rounded_up(double length, bool inch) {
    const double step = inch ? 5e-3 * 0.0254 : 1e-4;
    return step * std::ceil(length / step - 1e-6);
  }
  /// Another speed with the same feed per tooth, for every cut of that tool there that turns as fast.
  void offer_speed(const Finding& f, const At& at, double speed, const std::string& why) {
    if (!at.it->speed.known() || !(speed > 0)) return;
    const double rpm = std::floor(speed / (2 * std::numbers::pi) * 6 + 1e-6) * 10;
    const double was = at.it->speed.si, ratio = rpm * std::numbers::pi / 30 / was;
    const std::string text = number(rpm, 0) + " rpm";
    offer("cuts", where(at), fmt::format("{} turns at {} on {}", at.it->tool.value, text, cuts_what(at)), why, f,
          at.it->speed.typed, [inch = scene_.inch, k = at.operation, i = at.cut, text, ratio, was](plan::Plan& p) {
            const std::string tool = p.operations[k].cuts[i].tool.value;
            for (plan::Cut& c : p.operations[k].cuts) {
              if (c.tool.value != tool || std::fabs(c.speed.si - was) > 1e-6 * was) continue;
              give(c.speed, Kind::rotation, text);
              if (c.feed.known()) set_feed(p, c, c.feed.si * ratio, inch);
            }
          });
  }

  // ---- what findings ask for ------------------------------------------------------------------------------------

  void torque(const Finding& f, double asked, const std::string& why) {
    if (plan_.pallet.screws.empty()) return;
    const bool ft = scene_.inch;
    const double one = ft ? 1.3558179483314 : 1;  // N m in a lbf ft
    const std::string text = fmt::format("{} {}", number(std::round(asked / one), 0), ft ? "lbf·ft" : "N·m");
    offer("seat", "pallet.screw", "screws tightened to " + text, why, f, plan_.pallet.screws[0].torque.typed,
          [text](plan::Plan& p) {
            for (plan::NestScrew& s : p.pallet.screws) give(s.torque, Kind::torque, text);
          });
  }
  static bool overtightens(const finding::Lever& l) { return l.text.find("overtighten") != std::string::npos; }
  void holds(const Finding& f) {
    const finding::Lever* by_torque = lever(f, "screw.torque");
    if (by_torque != nullptr && by_torque->flip > by_torque->now && !overtightens(*by_torque))
      torque(f, by_torque->flip * 1.04, "what the cut asks for, and the screw bears it");
    if (const finding::Lever* l = lever(f, "clamp.force"); l != nullptr && l->flip > l->now && l->flip < 2 * l->now)
      clamp_force(f, l->flip * 1.05 / l->now);
    const auto at = cut_of(f);
    if (!at) return;
    if (const finding::Lever* l = lever(f, "cut.feed"); l != nullptr && l->flip < l->now && l->flip > 0.6 * l->now)
      offer_feed(f, *at, 0.97 * l->flip / l->now, "a thinner chip pushes less than the clamping holds");
    if (const finding::Lever* l = lever(f, "cut.feed_per_tooth");
        l != nullptr && l->flip < l->now && l->flip > 0.6 * l->now)
      offer_feed(f, *at, 0.97 * l->flip / l->now, "a thinner chip pushes less than the clamping holds");
    if (const finding::Lever* l = lever(f, "cut.width"); l != nullptr && l->flip > 0.3 * l->now && l->flip < l->now)
      offer_passes(f, *at, 0.97 * l->flip);
    for (const char* key : {"cut.depth", "cut.stock"})
      if (const finding::Lever* l = lever(f, key); l != nullptr && l->flip > 0 && l->flip < l->now)
        offer_levels(f, *at, std::min(6, static_cast<int>(std::ceil(l->now / l->flip - 1e-6))),
                     "a shallower cut pushes less than the clamping holds");
    if (at->it->depth.known() && at->it->kind.value != "finish")
      offer_levels(f, *at, 2, "half the depth pushes half as hard");
    offer_feed(f, *at, 0.75, "a thinner chip pushes less");
  }
  void clamp_force(const Finding& f, double factor) {
    for (std::size_t k = 0; k < plan_.operations.size(); ++k) {
      const plan::Operation& o = plan_.operations[k];
      if (o.id.value != f.operation || o.clamps.empty() || !o.clamps[0].force.known()) continue;
      const plan::Number& n = o.clamps[0].force;
      const double one = scene_.inch ? 4.4482216152605 : 1e3;
      const char* unit = scene_.inch ? "lbf" : "kN";
      const int digits = scene_.inch ? -1 : 1;
      const double whole = std::ceil(n.si * factor / one * (scene_.inch ? 0.1 : 10)) * (scene_.inch ? 10 : 0.1);
      const double scale = whole * one / n.si;
      const std::string text =
          fmt::format("{} {} ({}..{} {})", number(whole, digits), unit, number(n.low * scale / one, digits),
                      number(n.high * scale / one, digits), unit);
      offer("route", fmt::format("operation.{}.clamp", o.id.value), "clamped with " + text,
            "what the cut asks for; measure it once with a load cell", f, n.typed, [k, text](plan::Plan& p) {
              for (plan::Clamp& c : p.operations[k].clamps) give(c.force, Kind::force, text);
            });
    }
  }
  /// The next thicker plate in stock; what it weighs counts in the same study.
  void thicker(const Finding& f) {
    const std::vector<double> size = plan_.pallet.plate.size.value;
    if (size.size() != 3 || !answer(scene_, "take.pallet.thickness").empty()) return;
    double t = 0;
    for (const plan::StockPlate& s : plan_.shop.plates)
      if (s.material.value == plan_.pallet.plate.material.value && s.thickness.si > size[2] + 1e-6 &&
          (t == 0 || s.thickness.si < t))
        t = s.thickness.si;
    if (t == 0) return;
    offer("pallet", "pallet.plate", length_text(t, scene_.inch) + " thick",
          "the next thicker plate in stock gives less", f, length_text(size[2], scene_.inch),
          [size, t, inch = scene_.inch](plan::Plan& p) {
            give(p.pallet.plate.size, {size[0], size[1], t}, inch);
            if (!p.pallet.empty_mass.known()) return;
            const double mass = p.pallet.empty_mass.si * t / size[2];
            give(p.pallet.empty_mass, Kind::mass,
                 inch ? base::fixed(mass / 0.45359237, 1) + " lb" : base::fixed(mass, 2) + " kg");
          });
  }
  void softer(const Finding& f) {
    if (const finding::Lever* l = lever(f, "clamp.force"); l != nullptr && l->flip < l->now && l->flip > 0.4 * l->now)
      clamp_force(f, 0.95 * l->flip / l->now);
  }

  void chatter(const Finding& f) {
    const auto at = cut_of(f);
    if (!at) return;
    if (const finding::Lever* l = lever(f, "cut.speed");
        l != nullptr && l->flip < 1.36 * l->now && l->flip > 0.55 * l->now)
      offer_speed(f, *at, l->flip, "quieter between the lobes");
    const finding::Lever* l = lever(f, "cut.depth");
    if (f.state == State::outside && l != nullptr && l->flip > 0) thicker_mill(f, *at, l->now / l->flip);
    if (f.state != State::outside && !spend_) return;
    if (l == nullptr || !(l->flip > 0) || at->it->kind.value == "finish") return;
    const int levels = static_cast<int>(std::ceil(l->now / (0.97 * l->flip)));
    if (levels <= (f.state == State::outside ? 5 : 3))
      offer_levels(f, *at, levels, "the depth that stays quiet at this speed", l->flip);
    else if (f.state == State::outside) offer_levels(f, *at, 2, "nearer to the depth that stays quiet", l->flip);
  }
  /// Of an end mill that is still to be bought and goes round outsides only: a thicker one, and nests as far apart as
  /// it needs. How stiff a bar is goes with the fourth power of its diameter.
  void thicker_mill(const Finding& f, const At& at, double too_deep) {
    for (const ThickerMill& m : thicker_mills(plan_, at.it->tool.value, too_deep, scene_.inch)) {
      const std::string text = "Ø" + length_text(m.to, scene_.inch), now = "Ø" + length_text(m.from, scene_.inch);
      offer("cuts", "tool." + at.it->tool.value,
            fmt::format("an end mill {} instead of {}{}", text, now, m.apart ? ", nests as much farther apart" : ""),
            fmt::format("stands out as far and is {:.1f} times as stiff", std::pow(m.to / m.from, 4)), f, now, m.apply);
      out_.back().tool = at.it->tool.value;
    }
  }
  void load(const Finding& f) {
    const auto at = cut_of(f);
    if (!at) return;
    if (const finding::Lever* l = lever(f, "cut.feed"); l != nullptr && l->flip < l->now && l->flip > 0.5 * l->now)
      offer_feed(f, *at, 0.95 * l->flip / l->now, "as much as the spindle gives, with a little left");
    offer_levels(f, *at, 2, "half the depth asks half the power");
  }
  void rubbing(const Finding& f) {
    const auto at = cut_of(f);
    if (!at) return;
    if (const finding::Lever* l = lever(f, "cut.feed"); l != nullptr && l->flip > l->now && l->flip < 2.5 * l->now)
      offer_feed(f, *at, 1.05 * l->flip / l->now, "a chip thick enough that the edge cuts and does not rub");
  }
  void overtight(const Finding& f) {
    if (const finding::Lever* l = lever(f, "screw.torque"); l != nullptr && l->flip < l->now)
      torque(f, std::floor(0.97 * l->flip), "what screw and threads bear");
  }
  /// A bore that a hone follows is left small, so that what scatters can be honed and nothing is lost.
  void size(const Finding& f) {
    const study::RequirementRow* row = nullptr;
    for (const study::RequirementRow& r : study_.requirements)
      if (r.finding == f.id) row = &r;
    if (row == nullptr || !row->upper || !(row->s > 0)) return;
    const std::string feature = plan::parse_reference(f.feature).id;
    const bool honed = std::any_of(plan_.operations.begin(), plan_.operations.end(), [&](const plan::Operation& o) {
      if (o.kind.value != "hone") return false;
      return std::find(o.makes.value.begin(), o.makes.value.end(), feature) != o.makes.value.end() ||
             o.name.value.find(feature) != std::string::npos;
    });
    if (!honed && !row->lower) return;
    const double middle = honed ? row->mean : 0.5 * (*row->lower + *row->upper);
    double aim = honed ? *row->upper - 3.4 * row->s : middle;
    aim = 0.5e-6 * std::floor(aim / 0.5e-6);
    if (honed ? aim >= middle : std::fabs(row->mean - middle) < 0.3 * row->s) return;
    // The last cut of it is the one that is aimed.
    for (std::size_t k = plan_.operations.size(); k-- > 0;) {
      const plan::Operation& o = plan_.operations[k];
      for (std::size_t i = o.cuts.size(); i-- > 0;) {
        const auto& names = o.cuts[i].features.value;
        if (o.cuts[i].kind.value == "chamfer") continue;  // it breaks the edge, and makes no size
        if (std::find(names.begin(), names.end(), feature) == names.end()) continue;
        const std::string text = "Ø" + length_text(aim, scene_.inch);
        const std::string bare = length_text(aim, scene_.inch);
        offer("cuts", fmt::format("operation.{}.cut.{}", o.id.value, o.cuts[i].tool.value),
              fmt::format("{} aimed at {}", feature, text),
              honed ? "what comes out small is honed, what comes out large is lost"
                    : "the middle of the limits leaves most for scatter",
              f, o.cuts[i].aim.known() ? o.cuts[i].aim.typed : "the middle of the limits",
              [k, i, bare](plan::Plan& p) { give(p.operations[k].cuts[i].aim, Kind::length, bare); });
        return;
      }
    }
  }
  void shim(const Finding& f) {
    for (std::size_t k = 0; k < plan_.operations.size(); ++k) {
      const plan::Operation& o = plan_.operations[k];
      if (o.id.value != f.operation) continue;
      const auto& list = o.does.value;
      if (std::find(list.begin(), list.end(), "shim") != list.end()) continue;
      offer("route", fmt::format("operation.{}.does", o.id.value), "the bow is shimmed before grinding",
            "a magnet pulls a bowed casting flat; it springs back when let go", f, "", [k](plan::Plan& p) {
              plan::Operation& to = p.operations[k];
              std::erase(to.does.value, "nothing");
              to.does.value.emplace_back("shim");
              to.does.origin = plan::Origin::given;
            });
    }
  }
  /// The machine that lacks hours cuts faster, where nothing else is said against it.
  void hours(const Finding& f) {
    if (f.feature == "people") return lots(f);
    for (const double factor : {1.25, 1.12}) {
      Tries all;
      std::string said;
      std::vector<std::array<double, 3>> feeds;
      for (std::size_t k = 0; k < plan_.operations.size(); ++k) {
        const plan::Operation& o = plan_.operations[k];
        if (o.machine.value != f.feature) continue;
        for (std::size_t i = 0; i < o.cuts.size(); ++i) {
          const plan::Cut& c = o.cuts[i];
          if (!may_be_faster(c) || held_up(o, c)) continue;
          feeds.push_back({static_cast<double>(k), static_cast<double>(i), c.feed.si * factor});
          said += (said.empty() ? "" : ", ") + c.tool.value;
        }
      }
      if (feeds.empty()) continue;
      offer("cuts", fmt::format("machine {}", f.feature),
            fmt::format("feeds raised by {:.0f} %: {}", 100 * (factor - 1), said),
            "the week asks for it; power, holding, chatter and chips allow it", f, "feeds as they were",
            [inch = scene_.inch, feeds](plan::Plan& p) {
              for (const auto& [k, i, feed] : feeds)
                set_feed(p, p.operations[static_cast<std::size_t>(k)].cuts[static_cast<std::size_t>(i)], feed, inch);
            });
    }
    lots(f);
  }
  /// Twice the lot is half the change-overs; at most what a week asks for.
  void lots(const Finding& f) {
    std::vector<std::pair<std::size_t, int>> to;
    std::string said;
    for (std::size_t k = 0; k < plan_.operations.size(); ++k) {
      const plan::Operation& o = plan_.operations[k];
      const bool here = f.feature == "people" || o.machine.value == f.feature;
      if (!here || !o.lot.known() || o.lot.value <= 0 || 2.0 * o.lot.value > plan_.demand.per_week.si + 0.5) continue;
      to.emplace_back(k, 2 * o.lot.value);
      said += fmt::format("{}{} {}", said.empty() ? "" : ", ", o.id.value, 2 * o.lot.value);
    }
    if (to.empty()) return;
    offer("route", "operation.lot", "lots of " + said, "half as many change-overs; more parts lie about, oiled", f,
          "lots half as large", [to](plan::Plan& p) {
            for (const auto& [k, lot] : to) {
              plan::Integer& n = p.operations[k].lot;
              n.value = lot, n.origin = plan::Origin::given, n.typed = std::to_string(lot);
            }
          });
  }
  static bool may_be_faster(const plan::Cut& c) {
    const std::string& k = c.kind.value;
    return c.feed.known() && c.length.known() && c.time.known() && k != "tap" && k != "ream" && k != "finish";
  }
  /// Something about this cut is tight or worse: it is not made faster.
  bool held_up(const plan::Operation& o, const plan::Cut& c) const {
    return std::any_of(study_.findings.begin(), study_.findings.end(), [&](const Finding& f) {
      if (f.operation != o.id.value || f.tool != c.tool.value || f.question == "chip") return false;
      if (f.question == "chatter") return false;  // by speed and depth
      return f.state == State::outside || (std::isfinite(f.margin) && f.margin < 0.22 && f.state != State::open);
    });
  }
  /// Pins and their seat: the value at which the finding turns, and a little more.
  void pins(const Finding& f) {
    const finding::Lever* l = lever(f, "pin.height");
    if (l == nullptr || !(l->flip > 0.8e-3) || l->flip >= l->now) return;
    const std::string text = length_text(1e-4 * std::floor(1e4 * 0.98 * l->flip), scene_.inch);
    offer("seat", "pallet.pin", "pins stand " + text + " straight", "short pins let go when one end is lifted first", f,
          length_text(l->now, scene_.inch), [text](plan::Plan& p) {
            for (plan::Pin& pin : p.pallet.pins) give(pin.height, Kind::length, text);
          });
  }

  const Scene& scene_;
  const plan::Plan& plan_;
  const study::Study& study_;
  bool spend_;
  Tries out_;
};

bool of_time(const Finding& f) {
  return f.question == "hours" || f.question == "good_parts" || f.question == "simulated_week" ||
         f.question == "rolled_yield";
}
bool asks(const Finding& f, bool time) {
  if (of_time(f)) return time && f.state == State::outside;
  return f.state == State::outside || (f.state == State::beyond && f.question == "chatter");
}

void take(Draft& d, const Try& t, bool inch) {
  const plan::Plan before = t.tool.empty() ? plan::Plan{} : d.plan;
  t.apply(d.plan);
  // What replaces an earlier mend of the same place and kind says the latest only.
  const auto kind = [](const std::string& s) {
    std::string words;
    for (const std::string& w : base::split(s, ' '))
      if (w.find_first_of("0123456789") == std::string::npos) words += w + " ";
    return words;
  };
  std::erase_if(d.choices, [&](const Choice& c) {
    return c.about == t.choice.about && c.asked_by == t.choice.asked_by && kind(c.taken) == kind(t.choice.taken);
  });
  if (!t.tool.empty()) say_thicker(d, before, t.tool, inch);
  d.choices.push_back(t.choice);
}

}  // namespace

void retime(const plan::Plan& plan, plan::Cut& c, double feed_before, int passes_before, double length_before) {
  if (!c.time.known() || !c.length.known() || !(feed_before > 0) || !(c.feed.si > 0) || passes_before < 1) return;
  const double share = middle_share(plan, c);
  const int passes = c.passes.known() ? c.passes.value : 1;
  const double way = length_before > 0 ? length_before : c.length.si;
  const double before = way * passes_before / (feed_before * share);
  const double moves = std::max(0.0, c.time.si - before) * passes / passes_before;
  const double now = c.length.si * passes / (c.feed.si * share) + moves;
  give(c.time, Kind::time, base::fixed(std::max(now / 60, 0.01), 3) + " min");
}

void set_feed(const plan::Plan& plan, plan::Cut& c, double feed, bool inch, double length_before) {
  const double before = c.feed.si;
  if (inch) give(c.feed, Kind::speed, number(feed / 0.0254 * 60, 2) + " in/min");
  else give(c.feed, Kind::speed, number(feed * 60e3, 0) + " mm/min");
  retime(plan, c, before, c.passes.known() ? c.passes.value : 1, length_before);
}

Standing standing(const study::Study& study, bool with_time) {
  Standing s;
  for (const Finding& f : study.findings) {
    if (!with_time && of_time(f)) continue;
    s.outside += f.state == State::outside;
    s.open += f.state == State::open;
    s.beyond += f.state == State::beyond;
    if (f.state != State::outside) continue;
    const double margin = std::isfinite(f.margin) ? f.margin : -1;
    s.deep += std::min(5.0, std::max(0.0, -margin));
  }
  return s;
}

bool better(const Standing& a, const Standing& b) {
  if (a.open > b.open) return false;
  if (a.outside != b.outside) return a.outside < b.outside;
  if (a.open != b.open) return true;
  if (a.beyond != b.beyond) return a.beyond < b.beyond;
  return a.deep < b.deep - 0.01;
}

Outcome<Mended> mend(const Scene& scene, Draft draft, const study::Data& data, study::Memo& memo, int rounds,
                     int most) {
  Mended out;
  auto first = look(scene, draft, data, quick_look(), memo);
  if (!first.ok()) return first.problems();
  out.draft = std::move(draft), out.last = std::move(first.value()), out.studied = 1;
  std::set<std::string> tried;
  bool stopped = false;
  const auto attempt = [&](const Tries& tries, bool time) -> Outcome<bool> {
    if (out.studied >= most) {
      stopped = true;
      return false;
    }
    Draft other = out.draft;
    for (const Try& t : tries) take(other, t, scene.inch);
    auto l = look(scene, other, data, quick_look(), memo);
    if (!l.ok()) return l.problems();
    ++out.studied;
    if (!better(standing(l->study, time), standing(out.last.study, time))) return false;
    out.draft = std::move(other), out.last = std::move(l.value());
    return true;
  };
  const auto wanted = [&](bool time, bool spend) {
    Tries list;
    std::set<std::string> places;
    Mender mender(scene, out.last, spend);
    for (const Finding& f : out.last.study.findings) {
      if (!asks(f, time)) continue;
      for (Try& t : mender.asked(f)) {
        if (tried.count(t.key) > 0 || places.count(t.choice.about) > 0) continue;
        tried.insert(t.key), places.insert(t.choice.about);
        list.push_back(std::move(t));
        break;
      }
    }
    return list;
  };
  // What holds, cuts and measures right first; then what the week asks for; then, where the week leaves time, depths
  // that only may sing.
  for (const int phase : {0, 1, 2})
    for (int round = 0; round < (phase == 0 ? rounds : 3); ++round) {
      const bool time = phase > 0;
      const Tries tries = wanted(time, phase == 2);
      if (tries.empty()) break;
      const auto together = attempt(tries, time);
      if (!together.ok()) return together.problems();
      if (*together || tries.size() == 1) continue;
      for (const Try& t : tries) {
        const auto alone = attempt({t}, time);
        if (!alone.ok()) return alone.problems();
      }
    }
  if (stopped) {
    out.draft.disagree.push_back(
        fmt::format("mending stopped after {} studies of this draft; more may be mended by hand", most));
    if (const auto said = read_again(scene, out, data, memo); !said.ok()) return said.problems();
  }
  if (const auto thin = thinner_plate(scene, out, data, memo, most); !thin.ok()) return thin.problems();
  return out;
}

Outcome<bool> read_again(const Scene& scene, Mended& m, const study::Data& data, study::Memo& memo) {
  study::Options words = quick_look();
  words.only = {"lifting"};
  auto again = look(scene, m.draft, data, words, memo);
  if (!again.ok()) return again.problems();
  m.last.text = std::move(again->text), m.last.plan = std::move(again->plan);
  return true;
}

std::vector<Clash> clashes_of(const plan::Plan& plan, const study::Study& study) {
  std::vector<Clash> out;
  for (const Finding& f : study.findings) {
    if (f.state != State::outside) continue;
    Clash c;
    if (f.question == "hours" || f.question == "good_parts" || f.question == "simulated_week") {
      if (f.feature == "people")
        c.wishes = {
            fmt::format("{} operators", plan.demand.operators.known() ? plan.demand.operators.typed : "so many")};
      else if (f.question == "hours") c.wishes = {"one machine " + f.feature};
      else c.wishes = {"the machines and people there are"};
      c.wishes.push_back(fmt::format("{} good parts a week", plan.demand.per_week.typed));
      c.wishes.push_back("the hours of the week as they stand");
    } else if (f.question == "clean_up" || f.question == "measured" || f.question == "sample" ||
               f.question == "raw_size") {
      c.wishes = {f.title,
                  plan.casting.measured.table.given() ? "castings as they were measured" : "castings as ordered",
                  "held and cut as the route says"};
    } else {
      c.wishes = {f.title};
      if (!f.operation.empty()) c.wishes.push_back("operation " + f.operation + " as it is");
      for (const finding::Lever& l : f.levers) {
        c.wishes.push_back(l.name + " as it is");
        break;
      }
    }
    c.words = f.sentence;
    out.push_back(std::move(c));
  }
  return out;
}

}  // namespace fettle::begin
