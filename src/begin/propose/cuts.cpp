// A tool of the shop for everything that an operation makes, its data, and the order.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>
#include <utility>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/castings.h"
#include "begin/features.h"
#include "begin/propose/cut_buy.h"
#include "begin/propose/cut_data.h"
#include "begin/propose/facts.h"
#include "plan/read.h"
#include "ref/threads.h"
#include "study/reach.h"

namespace fettle::begin {

namespace {

constexpr double pi = 3.14159265358979323846;

/// Tools that fit, the best first.
using Tools = std::vector<const plan::Tool*>;

struct Step {
  int order = 0;
  plan::Cut cut;
  Choice why;
  double width = 0, least = 0;  ///< m, radial width at most stock and at least, where the plan leaves it to be derived
  double inside = 0;            ///< m, radius of the wall round the inside of which it goes; 0: along a straight one
  double moves = 0;             ///< s, what the tool does in the air
  double slow = 1;              ///< speed of the tool's middle over that of its edge
};

/// Tools to buy in one plan at most.
constexpr std::size_t most_bought = 100;
/// Diameters that a hole is drilled deep in one go at most. Common practice, from memory.
constexpr double deepest_drilled = 8;
/// m, an end mill thinner than this is not tried where a thicker one touches. Common practice.
constexpr double least_mill = 6e-3;
/// m, a stick-out that clears everything: what is needed is read off it.
constexpr double far_out = 0.5;

class Cutter {
 public:
  Cutter(const Scene& scene, Draft& d) : scene_(scene), d_(d), iron_(iron_of(d.plan)) {
    d_.plan.tools.reserve(d_.plan.tools.size() + most_bought);  // pointers to tools outlive a purchase
  }

  void operation(plan::Operation& op) {
    op_ = &op;
    steps_.clear();
    machine_ = nullptr;
    for (const plan::Machine& m : scene_.shop.machines)
      if (m.id.value == op.machine.value) machine_ = &m;
    for (const std::string& ref : op.makes.value) {
      const plan::Feature* f = plan::find_feature(d_.plan, plan::parse_reference(ref).id);
      if (f != nullptr) feature(*f);
    }
    chamfers();
    in_order();
    flutes();
    for (Step& s : steps_) {
      cut_back(s);
      timed(s);
      say_asked(s);
      op.cuts.push_back(std::move(s.cut));
      d_.choices.push_back(std::move(s.why));
    }
  }

  /// Answers that ask for the tool of a cut which is not made: nothing is passed over.
  void unmet_takes() {
    for (const auto& [id, said] : scene_.answers) {
      if (!base::starts_with(id, cut_takes) || said == "as reckoned" || met_.contains(id)) continue;
      const std::string feature =
          id.substr(std::string(cut_takes).size(), id.rfind('.') - std::string(cut_takes).size());
      std::vector<std::string> there;
      for (const std::string& m : met_)
        if (base::starts_with(m, cut_take(feature, ""))) there.push_back(m.substr(5));
      d_.clashes.push_back(
          {{fmt::format("{} = {}", id, said)},
           fmt::format("this plan has no such cut; {}",
                       there.empty() ? "no tool of its own cuts " + feature : "it has " + base::join(there, ", "))});
    }
  }

  /// What is to be bought, when all of it is known.
  void say_bought() {
    for (const Bought& b : bought_) {
      const plan::Tool& got = *tool(b.id);
      const std::string shape = shape_words(got);
      Choice c{"cuts",
               "tool." + b.id,
               "to buy: " + tool_words(got, scene_.inch),
               fmt::format("the shop file has no {} that fits and reaches{}{}", base::join(b.what, ", no "),
                           got.stick_out.known() ? "; set out " + got.stick_out.typed : "", shape),
               "common practice",
               {}};
      if (const plan::Tool* near = nearest(got))
        c.others.push_back({named(*near),
                            "it does not fit or does not reach " + b.feature,
                            {},
                            "a tool that does not fit is none to take"});
      d_.choices.push_back(std::move(c));
      d_.disagree.push_back(fmt::format("to buy: {} for {}; the shop may have one that its file does not name",
                                        tool_words(got, scene_.inch), base::join(b.what, ", ")));
      d_.assumed.push_back(fmt::format(
          "tool.{}: {} ({}) is to be bought; teeth, stick-out{}{}, holder, life 45 min (25 to 75){} from memory: take "
          "them from the maker's card",
          b.id, tool_words(got, scene_.inch), b.feature, got.stick_out.known() ? " " + got.stick_out.typed : "", shape,
          price_words(got)));
    }
  }

 private:
  // ---- tools -------------------------------------------------------------------------------------------------------

  using Fits = std::function<double(const plan::Tool&)>;  ///< how well, the larger the better; below 0: not at all
  /// Tools of the shop and those bought for an earlier feature that fit, the best first.
  Tools fitting(const char* kind, const Fits& fits) const {
    std::vector<std::pair<double, const plan::Tool*>> all;
    for (const std::vector<plan::Tool>* tools : {&scene_.shop.tools, &std::as_const(d_).plan.tools})
      for (const plan::Tool& t : *tools)
        if (t.kind.value == kind && t.diameter.known())
          if (const double x = fits(t); x > -1e-12) all.emplace_back(x, &t);
    std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    Tools out;
    for (const auto& [x, t] : all) out.push_back(t);
    return out;
  }
  bool in_shop(const plan::Tool& t) const {
    return std::any_of(scene_.shop.tools.begin(), scene_.shop.tools.end(),
                       [&](const plan::Tool& s) { return &s == &t; });
  }
  std::string asked_tool(const std::string& feature, const std::string& word) const {
    const std::string said = answer(scene_, cut_take(feature, word));
    return said == "as reckoned" ? "" : said;
  }
  /// The tool that an answer asks for stands first, though it only just clears. One that cannot is a clash.
  Tools as_asked(const char* word, const char* kind, const plan::Feature& f, const Fits& fits, Tools all) {
    met_.insert(cut_take(f.id.value, word));
    const std::string said = asked_tool(f.id.value, word);
    if (said.empty()) return all;
    const auto find = [&](const Tools& in) {
      return std::find_if(in.begin(), in.end(), [&](const plan::Tool* t) { return t->id.value == said; });
    };
    if (const auto at = find(all); at != all.end()) {
      const plan::Tool* t = *at;
      all.erase(at), all.insert(all.begin(), t);
      return all;
    }
    loose_ = true;
    const Tools touching = fitting(kind, fits);
    loose_ = false;
    if (const auto at = find(touching); at != touching.end()) all.insert(all.begin(), *at);
    else cannot(word, kind, f, said, touching.empty() ? all : touching);
    return all;
  }
  void cannot(const char* word, const char* kind, const plan::Feature& f, const std::string& said, const Tools& fit) {
    const plan::Tool* t = nullptr;
    std::vector<std::string> ids;
    for (const plan::Tool& x : scene_.shop.tools)
      if (x.id.value == said) t = &x;
    for (const plan::Tool* x : fit)
      if (in_shop(*x)) ids.push_back(x->id.value);
    std::string why = t == nullptr ? "the shop file has no tool " + said
                      : t->kind.value != kind
                          ? fmt::format("{} is no {}", named(*t), kind)
                          : fmt::format("{} does not fit {} or does not reach it", named(*t), f.id.value);
    why += ids.empty() ? "; none of the shop does" : "; those that do: " + base::join(ids, ", ");
    d_.clashes.push_back(
        {{fmt::format("{} = {}", cut_take(f.id.value, word), said), f.id.value + " cut in " + op_->id.value}, why});
  }
  /// What the next best tool of the shop is and why it is not taken.
  void runner_up(Step& s, const Tools& all, const std::string& why_not) const {
    const std::string& feature = s.cut.features.value.front();
    const std::string word = cut_word(s.cut.kind.value), take = cut_take(feature, word) + "=";
    const bool asked = asked_tool(feature, word) == s.cut.tool.value;
    if (asked) {
      s.why.others.push_back({"as reckoned", "this tool was asked for", take + "as reckoned"});
      return;
    }
    for (const plan::Tool* t : all)
      if (t->id.value != s.cut.tool.value && in_shop(*t)) {
        s.why.others.push_back({named(*t) + " instead", why_not, take + t->id.value});
        return;
      }
  }
  static std::string named(const plan::Tool& t) {
    return fmt::format("{} ({})", t.id.value, t.name.known() ? t.name.value : t.kind.value);
  }
  /// What the study will say of this tool at this feature; nothing where it does not ask. `out`: set out so far, m.
  std::optional<study::CutRoom> room(const plan::Tool& t, const plan::Feature& f, double out = 0) const {
    plan::Cut c;
    give(c.tool, t.id.value);
    if (out > 0) give_length(c.stick_out, out, false);
    return study::room_of_cut(d_.plan, *op_, c, t, f.id.value);
  }
  /// The tool cuts this feature and nothing of it comes near anything else: what the study asks of reach. A loose look
  /// takes what does not touch.
  bool reaches(const plan::Tool& t, const plan::Feature& f) const {
    const double length = length_of(f);
    if (t.flute_length.known() && t.kind.value == "drill" && t.flute_length.si < length) return false;
    if (!t.stick_out.known()) {  // the cut says how far
      const auto r = room(t, f, far_out);
      return !r || loose_ || (r->stick_out && *r->stick_out <= most_out(t.kind.value, t.diameter.si));
    }
    if (const auto r = room(t, f)) return r->stated >= (loose_ ? 0 : r->asked);
    const bool dives = t.holder.known() && diameter_of(f) > t.holder.si + 2e-3;
    return t.stick_out.si >= (dives ? length : below_top(f)) + 1e-3;
  }

  /// Tools of the shop that fit and reach, the best first; else one to buy; else, where none that is sold clears, those
  /// of the shop that at least do not touch. Empty: nothing cuts it, and that is said.
  Tools pick(const char* word, const std::string& kind, const plan::Feature& f, const Fits& fits, double widest,
             double width = 0, double wall = 0) {
    Tools all = as_asked(word, kind.c_str(), f, fits, fitting(kind.c_str(), fits));
    if (!all.empty()) return all;
    const auto bought = buy(f, kind, widest, width, wall);
    if (bought.ok()) return {*bought};
    loose_ = true;
    all = fitting(kind.c_str(), fits);
    loose_ = false;
    const std::string what = fmt::format("{} for {} in {}", kind, f.id.value, op_->id.value);
    if (all.empty())
      d_.unmet.push_back({{"a tool that the shop has or that is sold", f.id.value + " cut in " + op_->id.value},
                          fmt::format("the shop file has no {} that fits and reaches, and none is proposed to buy: {}; "
                                      "nothing cuts {}",
                                      what, bought.problem().what, f.id.value)});
    else
      d_.disagree.push_back(fmt::format("{} just clears as {}: none with more room is proposed to buy: {}",
                                        named(*all.front()), what, bought.problem().what));
    return all;
  }
  const plan::Tool* first(const Tools& all) const { return all.empty() ? nullptr : all.front(); }

  /// A tool that the shop lacks is bought: better than a hole that nobody cuts. A problem says why none is sold.
  Outcome<const plan::Tool*> buy(const plan::Feature& f, const std::string& kind, double widest, double width = 0,
                                 double wall = 0) {
    ToolWish w{kind, widest, 0, width, wall, f.id.value};
    std::vector<plan::Tool>& mine = d_.plan.tools;
    auto t = tool_to_buy(w, scene_.shop.tools, mine, scene_.inch);
    if (!t.ok()) return t.problems();
    if (kind == "drill" && length_of(f) > deepest_drilled * t->diameter.si)
      return bad(fmt::format("{} deep is {:.1f} times Ø{}", shown_length(length_of(f), scene_.inch),
                             length_of(f) / t->diameter.si, shown_length(t->diameter.si, scene_.inch)));
    if (kind != "face mill") {
      plan::Tool bare = t.value();  // its neck as long as it stands out
      bare.neck_length = {};
      w.reach = below_top(f);
      if (const auto r = room(bare, f, far_out)) {
        if (!r->stick_out && kind == "end mill" && t->diameter.si > least_mill)  // a thinner one may pass
          return buy(f, kind, 0.99 * t->diameter.si, width, wall);
        if (!r->stick_out) return bad("it would touch however far it stands out: " + r->words);
        w.reach = *r->stick_out - r->asked;
      }
      t = tool_to_buy(w, scene_.shop.tools, mine, scene_.inch);
      if (!t.ok()) return t.problems();
    }
    const std::string what = fmt::format("{} for {} in {}", kind, f.id.value, op_->id.value);
    for (plan::Tool& have : mine)
      if (same_but_longer(have, t.value())) {
        have.stick_out = t->stick_out, have.neck = t->neck, have.neck_length = t->neck_length;
        give(have.name, have.name.value + ", " + f.id.value);
        for (Bought& b : bought_)
          if (b.id == have.id.value) b.what.push_back(what);
        return &have;
      }
    if (mine.size() >= mine.capacity()) return bad("too many tools to buy", std::to_string(mine.size()));
    mine.push_back(t.value());
    bought_.push_back({mine.back().id.value, {what}, f.id.value});
    return &mine.back();
  }
  /// The same tool as one that is bought already, only farther out: that one is bought longer.
  bool same_but_longer(const plan::Tool& have, const plan::Tool& now) const {
    const auto same = [](const plan::Number& a, const plan::Number& b) {
      return a.known() == b.known() && (!a.known() || std::fabs(a.si - b.si) < 1e-9);
    };
    const bool mine =
        std::any_of(bought_.begin(), bought_.end(), [&](const Bought& b) { return b.id == have.id.value; });
    const bool neck = now.kind.value != "keyseat cutter" || same(have.neck, now.neck);
    return mine && have.kind.value == now.kind.value && same(have.diameter, now.diameter) &&
           same(have.width, now.width) && neck && have.stick_out.known() && now.stick_out.known() &&
           now.stick_out.si > have.stick_out.si;
  }
  /// Flutes of an end mill to buy: longer than any cut is deep that it makes.
  void flutes() {
    for (plan::Tool& t : d_.plan.tools) {
      if (t.kind.value != "end mill" || !t.stick_out.known()) continue;
      if (std::none_of(bought_.begin(), bought_.end(), [&](const Bought& b) { return b.id == t.id.value; })) continue;
      double deep = t.diameter.si;
      bool used = false;
      for (const Step& s : steps_)
        if (s.cut.tool.value == t.id.value) used = true, deep = std::max(deep, s.cut.depth.si + 2e-3);
      if (!used || (t.flute_length.known() && t.flute_length.si >= deep)) continue;
      const double step = scene_.inch ? 0.05 * 0.0254 : 1e-3;
      give_length(t.flute_length, std::min(step * std::ceil(deep / step - 1e-6), t.stick_out.low), scene_.inch);
    }
  }
  const plan::Tool* nearest(const plan::Tool& to) const {
    const plan::Tool* out = nullptr;
    double least = INFINITY;
    for (const plan::Tool& t : scene_.shop.tools)
      if (t.kind.value == to.kind.value && t.diameter.known())
        if (const double off = std::fabs(t.diameter.si - to.diameter.si); off < least) least = off, out = &t;
    return out;
  }

  /// By what must come first; of equals, all that one tool does together, in the order in which its first one came:
  /// a tool is changed in once and goes round all nests.
  void in_order() {
    std::stable_sort(steps_.begin(), steps_.end(), [](const Step& a, const Step& b) { return a.order < b.order; });
    std::vector<Step> out;
    std::vector<bool> taken(steps_.size(), false);
    for (std::size_t i = 0; i < steps_.size(); ++i) {
      if (taken[i]) continue;
      for (std::size_t j = i; j < steps_.size() && steps_[j].order == steps_[i].order; ++j)
        if (!taken[j] && steps_[j].cut.tool.value == steps_[i].cut.tool.value)
          taken[j] = true, out.push_back(steps_[j]);
    }
    steps_ = std::move(out);
  }

  double rotation(const plan::Tool& t, const CutData& data) const {
    double n = data.speed / (pi * t.diameter.si);
    if (machine_ != nullptr && machine_->top_speed.known()) n = std::min(n, machine_->top_speed.si / (2 * pi));
    return std::max(10.0, std::floor(n * 6)) / 6;  // whole tens of turns a minute
  }

  Step& add(int order, const plan::Tool& t, const std::vector<std::string>& features, const char* kind, bool finish) {
    Step s;
    s.order = order;
    give(s.cut.tool, t.id.value);
    for (const std::string& f : features) give(s.cut.features, f);
    give(s.cut.kind, kind);
    const CutData data = cutting_data(t, finish, iron_, scene_.inch);
    const double n = rotation(t, data);
    give(s.cut.speed, unit::Kind::rotation, base::shortest(std::round(60 * n)) + " rpm");
    const double feed = n * teeth(t) * data.feed;  // of a tap by its pitch, below
    if (feed > 0) give_feed(s.cut, feed);
    if (!t.stick_out.known()) stands_out(s.cut, t, features);
    s.why = {"cuts",
             fmt::format("operation.{}.cut.{}", op_->id.value, t.id.value),
             fmt::format("{} on {}, {}", named(t), base::join(features, ", "), s.cut.speed.typed),
             "",
             data.source,
             {}};
    steps_.push_back(std::move(s));
    return steps_.back();
  }
  static double teeth(const plan::Tool& t) { return t.teeth.known() ? static_cast<double>(t.teeth.value) : 1; }

  /// Feed that keeps the chip thick enough to cut, then as little as the spindle allows; levels where that is not
  /// enough. The times follow.
  void cut_back(Step& s) {
    plan::Cut& c = s.cut;
    const plan::Tool* t = tool(c.tool.value);
    if (t == nullptr || !c.feed.known() || t->kind.value == "tap" || t->kind.value == "thread mill") return;
    const double most = s.width > 0       ? s.width
                        : c.width.known() ? std::max(c.width.high, c.width.si)
                                          : 0,
                 least = s.least > 0       ? s.least
                         : c.width.known() ? std::min(c.width.low, c.width.si)
                                           : most;
    const auto load = [&](const plan::Cut& x) { return load_of(x, *t, iron_, most, least, s.inside); };
    const double thin = chip_over * least_chip(*t), chip = load(c).chip;
    if (chip > 0 && chip < thin) {
      give_feed(c, c.feed.si * std::min(2.5, thin / chip));
      s.why.why += fmt::format("; feed {} keeps the chip {} thick, half as much again as where the edge rubs",
                               c.feed.typed, shown_length(1e-7 * std::round(1e7 * thin), scene_.inch));
    }
    const auto within = [&](const plan::Cut& x) {
      const double gives = machine_ == nullptr ? 0 : machine_gives(*machine_, x.speed.si);
      return !(gives > 0) || load(x).power <= power_share * gives;
    };
    if (within(c)) return;
    const plan::Cut before = c;
    ease(c, within);
    std::string now = "feed " + c.feed.typed;
    if (c.speed.si < before.speed.si) now = c.speed.typed + " and " + now;
    if (c.depth.known() && c.depth.si < before.depth.si) now = c.depth.typed + " deep at once, " + now;
    if (within(c)) {
      s.why.why += fmt::format("; {}, so that it asks at most {:.0f} % of the spindle", now, 100 * power_share);
    } else {  // never called good: the study says by how much
      s.why.why += fmt::format("; {}, and still it asks more than {:.0f} % of the spindle", now, 100 * power_share);
      d_.disagree.push_back(fmt::format("{} on {}: machine {} is weak for it, even eased to {}", named(*t),
                                        base::join(c.features.value, ", "), op_->machine.value, now));
    }
    s.why.others.push_back({"feed " + before.feed.typed + ", " + before.speed.typed,
                            fmt::format("{} of power at most stock in hard iron with a used edge",
                                        unit::print(load(before).power, unit::Kind::power, {})),
                            {},
                            "the spindle does not give it"});
  }
  /// A tool that somebody asked for says so.
  void say_asked(Step& s) const {
    const std::string& feature = s.cut.features.value.front();
    if (asked_tool(feature, cut_word(s.cut.kind.value)) != s.cut.tool.value) return;
    s.why.why += "; the tool was asked for";
    s.why.asked_by = s.why.asked_by.empty() ? "answer" : "answer; " + s.why.asked_by;
  }
  /// A thinner chip, down to half; else more levels; else slower.
  void ease(plan::Cut& c, const std::function<bool(const plan::Cut&)>& within) const {
    const plan::Cut before = c;
    for (double k = 0.98; k >= 0.5 && !within(c); k *= 0.98) give_feed(c, before.feed.si * k);
    if (within(c)) return;
    if (c.depth.known() && c.kind.value != "finish") {
      c = before;
      const int n = c.passes.known() ? c.passes.value : 1;
      for (int times = 2; times <= 6 && !within(c); ++times) {
        give_length(c.depth, 1e-4 * std::ceil(1e4 * before.depth.si / times), scene_.inch);
        passes(c, n * times);
      }
    }
    const plan::Cut deep = c;
    // Slower helps where the motor's power is the limit, never where the torque is.
    const auto by_torque = [&](const plan::Cut& x) {
      return machine_->torque.known() &&
             machine_gives(*machine_, x.speed.si) >= machine_->torque.si * x.speed.si * (1 - 1e-9);
    };
    for (double k = 0.97; k >= 0.4 && !within(c) && !by_torque(c); k *= 0.97) {
      give(c.speed, unit::Kind::rotation,
           base::shortest(std::max(10.0, 10 * std::floor(deep.speed.si / (2 * pi) * 6 * k))) + " rpm");
      give_feed(c, deep.feed.si * c.speed.si / deep.speed.si);
    }
  }
  const plan::Tool* tool(const std::string& id) const {
    for (const std::vector<plan::Tool>* tools : {&std::as_const(d_).plan.tools, &scene_.shop.tools})
      for (const plan::Tool& t : *tools)
        if (t.id.value == id) return &t;
    return nullptr;
  }
  /// How deep below the part's top a feature reaches in this operation, m.
  double below_top(const plan::Feature& f) const {
    const std::string& up = op_->up.value;
    const int axis = up.size() == 2 ? up[1] - 'x' : 2;
    const frame::Vec3 lo = scene_.part->box.lo, hi = scene_.part->box.hi;
    const auto part = [&](const frame::Vec3& p) { return coordinate(p, axis); };
    const bool along = f.normal.value.size() == 2 && f.normal.value[1] == "xyz"[axis];
    if (!along || !f.from.known() || !f.to.known()) return std::min(length_of(f), part(hi) - part(lo));
    return up[0] == '-' ? std::max(f.from.si, f.to.si) - part(lo) : part(hi) - std::min(f.from.si, f.to.si);
  }
  /// Nobody said how far the tool stands out: as far as it must, and a little more. From memory.
  void stands_out(plan::Cut& c, const plan::Tool& t, const std::vector<std::string>& features) {
    double deep = 0;
    for (const std::string& id : features)
      if (const plan::Feature* f = plan::find_feature(d_.plan, id); f != nullptr) deep = std::max(deep, below_top(*f));
    const double d = t.diameter.si;
    double least = t.kind.value == "face mill" ? std::max(0.6 * d, 0.035) : std::max(deep + 6e-3, 1.5 * d);
    for (const std::string& id : features)
      if (const plan::Feature* f = plan::find_feature(d_.plan, id); f != nullptr)
        if (const auto r = room(t, *f, far_out); r && r->stick_out) least = std::max(least, *r->stick_out + 1e-3);
    const auto round_up = [](double x) { return 1e-3 * std::ceil(1e3 * x - 1e-6); };
    const double stated = round_up(1.15 * least), high = round_up(1.7 * least);
    give(c.stick_out, unit::Kind::length, band(stated, round_up(least), high));
    d_.assumed.push_back(
        fmt::format("operation.{}.cut.{}.stick_out {}: as far as it must reach and a little more, from "
                    "memory; measure it at the holder",
                    op_->id.value, t.id.value, c.stick_out.typed));
  }
  void give_feed(plan::Cut& c, double feed) const {
    if (scene_.inch) give(c.feed, unit::Kind::speed, base::fixed(feed / 0.0254 * 60, 2) + " in/min");
    else give(c.feed, unit::Kind::speed, base::shortest(std::round(feed * 60e3)) + " mm/min");
  }
  static void passes(plan::Cut& c, int n) {
    if (n <= 1) return;
    c.passes.value = n, c.passes.origin = plan::Origin::given, c.passes.typed = std::to_string(n);
  }
  /// Path of one pass, how many, and moves between them, at 0.6 s each: from memory.
  void path(Step& s, double length, int n, int moves = 0) const {
    give_length(s.cut.length, 1e-4 * std::round(1e4 * length), scene_.inch);
    passes(s.cut, n);
    s.moves = 0.6 * moves;
  }
  /// The time, when feed and passes stand.
  static void timed(Step& s) {
    plan::Cut& c = s.cut;
    if (!(c.feed.si > 0)) return;
    const int n = c.passes.known() ? c.passes.value : 1;
    const double minutes = (c.length.si * n / (c.feed.si * s.slow) + s.moves) / 60;
    give(c.time, unit::Kind::time, base::fixed(std::max(minutes, 0.01), 3) + " min");
  }

  // ---- features ----------------------------------------------------------------------------------------------------

  void feature(const plan::Feature& f) {
    const std::string& k = f.kind.value;
    if (is_floor(f)) return;  // with its bore
    if (k == "face") face(f);
    else if (k == "profile") outside(f);
    else if (k == "pocket" || k == "slot") pocket(f);
    else if (k == "groove") groove(f);
    else if (k == "thread" || f.thread.known()) thread(f);
    else if (hole_like(f)) round_hole(f);
    else if (k == "boss") boss(f);
    else if (k == "chamfer") {
      const plan::Tool* t = first(pick(
          "chamfer", "chamfer", f, [&](const plan::Tool& x) { return reaches(x, f) ? 1.0 : -1.0; }, 12.7e-3));
      if (t != nullptr) path(add(80, *t, {f.id.value}, "chamfer", false), 0.1, 1);
    } else {
      d_.disagree.push_back(fmt::format("{} ({}): no way to cut it is known here", f.id.value, k));
    }
  }

  double stock_of(const std::string& reference, double otherwise) const {
    for (const plan::CastSize& s : d_.plan.casting.sizes) {
      const bool height = s.kind.value == "height" && s.feature.value == reference;
      const bool outside = s.kind.value == "outside" && s.between.value.size() == 2 &&
                           (s.between.value[0] == reference || s.between.value[1] == reference);
      if (!height && !outside) continue;
      const double finished = finished_of(scene_, d_.plan, s);
      const double tolerance = s.tolerance.known() ? s.tolerance.si : 2e-3;
      if (finished > 0) return (height ? 1 : 0.5) * (s.raw.si - finished) + 0.5 * tolerance;
    }
    return otherwise;
  }

  double skin_depth() const { return d_.plan.casting.skin.known() ? d_.plan.casting.skin.high : 1e-3; }

  void face(const plan::Feature& f) {
    double u = 0, v = 0;
    if (f.size.value.size() >= 2) u = f.size.value[0], v = f.size.value[1];
    else u = v = nominal_of(f.diameter);
    const double wide = std::min(u, v), length = std::max(u, v);
    const Tools faces = fitting("face mill", [&](const plan::Tool& x) {
      return x.diameter.si >= 1.2 * wide ? 1 / x.diameter.si : 1e-3 * x.diameter.si;
    });
    const auto reaching = [&](const plan::Tool& x) { return reaches(x, f) ? x.diameter.si : -1.0; };
    Tools mills = faces;
    for (const plan::Tool* x : fitting("end mill", reaching)) mills.push_back(x);  // more rows, and it still cuts
    mills = as_asked(
        "rough", "face mill", f, [](const plan::Tool&) { return -1.0; }, std::move(mills));
    const plan::Tool* t = faces.empty() && asked_tool(f.id.value, "rough").empty() ? nullptr : first(mills);
    if (t == nullptr) {  // a small face is milled by what is there
      const Tools ends = fitting("end mill", [](const plan::Tool& x) { return x.diameter.si; });
      t = first(ends);
      if (t == nullptr || 2 * t->diameter.si < wide)
        if (const auto b = buy(f, "face mill", std::clamp(1.3 * wide, 41e-3, 101e-3)); b.ok()) t = *b;
    }
    if (t == nullptr) return;
    const double over = f.over.known() ? stock_of(f.over.value, 3e-3) : stock_of(f.id.value, 3e-3);
    const double d = t->diameter.si, step = 0.75 * d;
    const int rows = std::max(1, static_cast<int>(std::ceil(wide / step - 1e-9)));
    const double most = 3.5e-3;
    // Every level goes under the skin: rather one level fewer than one that runs in it.
    const double skin = skin_depth();
    int levels = std::max(1, static_cast<int>(std::ceil(over / most - 1e-9)));
    while (levels > 1 && over / levels < skin) --levels;
    Step& s = add(10, *t, {f.id.value}, "rough and finish", false);
    give_length(s.cut.depth, 1e-4 * std::ceil(1e4 * over / levels), scene_.inch);
    give_length(s.cut.width, 1e-4 * std::round(1e4 * std::min(wide, step)), scene_.inch);
    path(s, length + d, rows * (levels + 1), rows);
    runner_up(s, mills, "more rows, or more of the tool beside the face");
    s.why.why = fmt::format("the first cut goes under the skin: {} at most stock in {} level{}, and one to finish",
                            length_text(1e-4 * std::round(1e4 * over), scene_.inch), levels, levels == 1 ? "" : "s");
  }

  void outside(const plan::Feature& f) {
    const frame::Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    const double height = length_of(f) > 0 ? length_of(f) : box.z, round = 2 * (box.x + box.y);
    const auto fits = [&](const plan::Tool& t) { return t.diameter.si <= 20.1e-3 && reaches(t, f); };
    const Tools roughs = pick(
        "rough", "end mill", f, [&](const plan::Tool& t) { return fits(t) ? t.diameter.si - 1e-4 * teeth(t) : -1; },
        20.1e-3);
    const plan::Tool* rough = first(roughs);
    if (rough == nullptr) return;
    // As stiff as can be for the full height; of equals the one with more teeth. A second tool for the finish alone is
    // the runner-up: it costs a change, and its levels come off the week.
    const auto stiff = [&](const plan::Tool& t) { return fits(t) ? t.diameter.si + 1e-4 * teeth(t) : -1.0; };
    const Tools finishes = as_asked("finish", "end mill", f, stiff, fitting("end mill", stiff));
    const plan::Tool* finish = finishes.empty() ? rough : finishes.front();
    const bool one = finish->id.value == rough->id.value;
    const bool edges = std::any_of(d_.plan.features.begin(), d_.plan.features.end(),
                                   [](const plan::Feature& e) { return e.over.known() && e.cast.known(); });
    const double most = edges ? 0.5e-3 : stock_of("outside.+y", 3e-3), left = 0.25e-3;
    const double more = stock_of("outside.+x", most);
    const int levels = std::max(1, static_cast<int>(std::ceil(height / 18.5e-3 - 1e-9)));
    Step& r = add(20, *rough, {f.id.value}, "rough", false);
    give_length(r.cut.depth, 1e-4 * std::ceil(1e4 * height / levels), scene_.inch);
    const double wide = std::max(most, more) - left, least = std::max(0.2e-3, 0.3 * std::min(most, more));
    r.width = wide, r.least = least;
    give(r.cut.width, unit::Kind::length, band(0.5 * (least + wide), least, std::max(wide, least + 1e-4)));
    path(r, round + pi * rough->diameter.si, levels, levels);
    runner_up(r, roughs, "thinner or with less room for chips");
    r.why.why = fmt::format("reaches {}; {} level{} down, {} left to finish", length_text(height, scene_.inch), levels,
                            levels == 1 ? "" : "s", length_text(left, scene_.inch));
    Step& s = add(60, *finish, {f.id.value}, "finish", true);
    give_length(s.cut.depth, height, scene_.inch);
    give_length(s.cut.width, left, scene_.inch);
    path(s, round + pi * finish->diameter.si, 1, 1);
    runner_up(s, finishes, "thinner: it gives way more over the full height, but its edge never met skin");
    s.why.why = one ? "once round at full depth, after the last heavy cut, with an edge fresh enough for it"
                    : "once round at full depth, after the last heavy cut, with an edge that never met skin";
  }
  std::string band(double value, double low, double high) const {
    const auto text = [&](double x) {
      return base::shortest(std::round(x / (scene_.inch ? 0.0254 : 1e-3) * 1e4) / 1e4);
    };
    return fmt::format("{} {} ({}..{} {})", text(value), scene_.inch ? "in" : "mm", text(low), text(high),
                       scene_.inch ? "in" : "mm");
  }

  void pocket(const plan::Feature& f) {
    const double w = std::min(nominal_of(f.width), nominal_of(f.length)),
                 l = std::max(nominal_of(f.width), nominal_of(f.length)),
                 depth =
                     f.cast.value == "skin" ? stock_of(f.id.value, 3e-3) : length_of(f);  // hollow as cast: its floor
    const double radius = f.radius.known() ? f.radius.si : 0.5 * w;
    const double widest = std::min(2 * radius, 0.8 * (w > 0 ? w : 2 * radius));
    const Tools fit = pick(
        "rough", "end mill", f,
        [&](const plan::Tool& t) { return t.diameter.si <= widest + 1e-6 && reaches(t, f) ? t.diameter.si : -1.0; },
        widest);
    const plan::Tool* t = first(fit);
    if (t == nullptr) return;
    const double d = t->diameter.si, ap = 0.4 * d, ae = 0.6 * d;
    const int levels = std::max(1, static_cast<int>(std::ceil(depth / ap - 1e-9))),
              n = static_cast<int>(std::max<std::size_t>(1, f.at.value.size()));
    Step& s = add(f.cast.value == "skin" ? 12 : 30, *t, {f.id.value}, "rough and finish", false);
    give_length(s.cut.depth, 1e-4 * std::round(1e4 * depth / levels), scene_.inch);
    give_length(s.cut.width, 1e-4 * std::round(1e4 * ae), scene_.inch);
    const double walls = f.cast.value == "skin" ? 0 : 2 * (w + l) / levels;
    const double each = std::max(w * l / ae, l) + walls;
    path(s, each, levels * n, n);
    runner_up(s, fit, "thinner: more passes, and it gives way more");
    s.why.why = fmt::format("the largest that goes round a corner of {} and reaches {}",
                            length_text(radius, scene_.inch), length_text(depth, scene_.inch));
  }

  void groove(const plan::Feature& f) {
    const double width = nominal_of(f.width), groove = diameter_of(f);
    double bore = 0;
    for (const plan::Feature& b : d_.plan.features)
      if (hole_like(b) && !b.at.value.empty() && !f.at.value.empty() &&
          std::hypot(b.at.value[0].x - f.at.value[0].x, b.at.value[0].y - f.at.value[0].y) < 1e-5 &&
          diameter_of(b) < groove)
        bore = std::max(bore, diameter_of(b));
    const double deep = 0.5 * (groove - bore);
    const Tools fit = pick(
        "groove", "keyseat cutter", f,
        [&](const plan::Tool& x) {
          const double neck = x.neck.known() ? 0.5 * (x.diameter.si - x.neck.si) : 1;
          if (x.neck_length.known() && x.neck_length.si < below_top(f) + 0.5e-3) return -1.0;
          return x.diameter.si < bore - 1e-3 && x.width.known() && x.width.si <= width + 1e-6 && neck > deep &&
                         reaches(x, f)
                     ? x.width.si
                     : -1.0;
        },
        0.7 * bore, width, deep);
    const plan::Tool* t = first(fit);
    if (t == nullptr) return;
    Step& s = add(55, *t, {f.id.value}, "groove", false);
    runner_up(s, fit, "narrower: more passes for the width");
    const int n = std::max(1, static_cast<int>(std::ceil(width / t->width.si - 1e-9)));
    // Inside a bore the tool's middle runs slower than its edge by the ratio of the circles; the path is the middle's.
    path(s, pi * (groove - t->diameter.si), n, 2);
    s.slow = middle_share(d_.plan, s.cut);
    s.width = s.least = deep, s.inside = 0.5 * groove;
    s.why.why = fmt::format("goes through the bore, its neck lets {} deep, {} pass{} for the width",
                            shown_length(deep, scene_.inch), n, n == 1 ? "" : "es");
  }

  void thread(const plan::Feature& f) {
    const double shown = f.drill.known() ? f.drill.si : diameter_of(f), depth = length_of(f);
    const double major = f.thread.known() ? f.thread.value.major : 0;
    const int n = static_cast<int>(std::max<std::size_t>(1, f.at.value.size()));
    const double drill = tapping_drill(f, shown);
    if (!drilled(f, drill, depth, n)) return;
    if (std::fabs(drill - shown) > 1e-6)
      steps_.back().why.why += fmt::format(", {} for {}: the model shows {}", shown_length(drill, scene_.inch),
                                           f.thread.typed, shown_length(shown, scene_.inch));
    const Fits taps = [&](const plan::Tool& x) {
      return std::fabs(x.diameter.si - major) < 0.3e-3 && reaches(x, f) ? 1.0 : -1.0;
    };
    const auto mills = [&](const plan::Tool& x) {
      return x.diameter.si < 0.8 * major && reaches(x, f) ? x.diameter.si : -1.0;
    };
    Tools fit = fitting("tap", taps);
    for (const plan::Tool* x : fitting("thread mill", mills)) fit.push_back(x);
    fit = fit.empty() ? pick("tap", "tap", f, taps, major) : as_asked("tap", "tap", f, taps, std::move(fit));
    const plan::Tool* t = first(fit);
    if (t == nullptr) return;
    Step& s = add(70, *t, {f.id.value}, "tap", false);
    const double pitch = f.thread.value.pitch > 0 ? f.thread.value.pitch : coarse(major);
    const double way = (f.thread_depth.known() ? f.thread_depth.si : depth) + 3 * pitch;
    if (t->kind.value == "thread mill") {  // in at a quarter turn, once round, out: as deep as its teeth go at once
      const double teeth_long = t->flute_length.known() ? t->flute_length.si : 2 * major;
      if (!t->flute_length.known())
        d_.assumed.push_back(fmt::format(
            "operation.{}.cut.{}: its teeth are {} long, twice the thread (one to two and a half times), from memory: "
            "rounds and time hang on it; the maker's card says flute_length",
            op_->id.value, t->id.value, shown_length(teeth_long, scene_.inch)));
      path(s, 1.5 * pi * (major - t->diameter.si), n * std::max(1, static_cast<int>(std::ceil(way / teeth_long))), n);
      s.slow = (major - t->diameter.si) / major;
      runner_up(s, fit, "a tap is faster; broken, it takes the part along");
      s.why.why = "milled round the thread: chips are short, and a broken cutter comes out of the hole";
      return;
    }
    give_feed(s.cut, s.cut.speed.si / (2 * pi) * pitch);
    path(s, 2 * way, n, n);
    runner_up(s, fit, "slower; yet it breaks no tap in the part");
    s.why.why = "a tap that cuts: iron crumbles under one that forms";
  }
  /// Models show a thread's core or its outside as well as its drill: drilled with the drill of the thread table,
  /// unless the model's bore is neither.
  static double tapping_drill(const plan::Feature& f, double shown) {
    if (!f.thread.known()) return shown;
    const auto data = ref::thread_data(f.thread.value);
    constexpr double slack = 0.03;  // of the core; common practice draws it by one rule or another
    if (!data.ok() || shown < (1 - slack) * data->minor_diameter || shown > data->major + 1e-5) return shown;
    return data->tapping_drill;
  }
  static double coarse(double major) {
    return major <= 5.1e-3    ? 0.8e-3
           : major <= 6.1e-3  ? 1e-3
           : major <= 8.1e-3  ? 1.25e-3
           : major <= 10.1e-3 ? 1.5e-3
                              : 1.75e-3;
  }

  /// The stock drill for a hole: within its limits where it has some, else the closest; 0: none is sold there.
  double sold_drill(double d, double low, double high) const {
    for (const bool inch : {scene_.inch, !scene_.inch})
      if (const double exact = stock_drill(d, d - 1e-6, d + 1e-6, inch); exact > 0) return exact;
    return stock_drill(d, low, high, scene_.inch);
  }
  static bool has_limits(const plan::Feature& f) {
    const unit::Limits& l = f.diameter.value;
    return l.lower && l.upper && f.kind.value != "thread";
  }
  /// A drill alone leaves it within its limits: one of the shop or one that is sold.
  bool drill_does(const plan::Feature& f, double d) const {
    if (!has_limits(f)) return true;
    const double low = *f.diameter.value.lower, high = *f.diameter.value.upper;
    const auto all = fitting("drill", [&](const plan::Tool& x) {
      return x.diameter.si >= low - 1e-7 && x.diameter.si <= high + 1e-7 && reaches(x, f) ? 1.0 : -1.0;
    });
    return !all.empty() || sold_drill(d, low, high) > 0;
  }
  /// A drill that leaves the hole between its limits; without limits one within half a per cent.
  bool drilled(const plan::Feature& f, double d, double depth, int n) {
    const unit::Limits& l = f.diameter.value;
    const bool limits = has_limits(f);
    const double low = limits ? *l.lower : d - 0.005 * d - 2e-5, high = limits ? *l.upper : d + 0.005 * d + 2e-5;
    const Tools fit = pick(
        "drill", "drill", f,
        [&](const plan::Tool& x) {
          const double size = x.diameter.si;
          const bool in = size >= low - 1e-7 && size <= high + 1e-7 && reaches(x, f);
          return in ? 1 - std::fabs(size - d) / d : -1.0;
        },
        limits ? sold_drill(d, low, high) : sold_drill(d, 0, INFINITY));
    const plan::Tool* t = first(fit);
    if (t == nullptr) return false;
    Step& s = add(40, *t, {f.id.value}, "drill", false);
    path(s, depth + 0.3 * d + 2e-3, n, n);
    runner_up(s, fit, "farther from the middle of the limits");
    s.why.why = "from the solid";
    const double out = s.cut.stick_out.known() ? s.cut.stick_out.si : t->stick_out.si;
    if (out > deepest_drilled * t->diameter.si)
      s.why.why +=
          fmt::format("; it stands out {:.0f} times its diameter: spotted first, started slowly", out / t->diameter.si);
    return true;
  }
  /// The largest stock drill up to this.
  double up_to(double d) const { return stock_drill(d, 0, d, scene_.inch); }

  void round_hole(const plan::Feature& f) {
    const double d = diameter_of(f), depth = length_of(f), zone = size_zone(f);
    const int n = static_cast<int>(std::max<std::size_t>(1, f.at.value.size()));
    std::vector<std::string> both{f.id.value};
    if (const std::string floor = floor_of(f.id.value); has_floor(floor)) both.push_back(floor);
    const bool milled = f.cast.value == "cored" || d > 26e-3;
    if (milled) {
      const Tools fit = pick(
          "rough", "end mill", f,
          [&](const plan::Tool& x) { return x.diameter.si <= 0.6 * d && reaches(x, f) ? x.diameter.si : -1.0; },
          std::min(0.6 * d, 20.1e-3));
      const plan::Tool* t = first(fit);
      if (t == nullptr) return;
      const int levels = std::max(1, static_cast<int>(std::ceil(depth / 9e-3 - 1e-9)));
      Step& s = add(25, *t, both, "rough and finish", false);
      give_length(s.cut.depth, 1e-4 * std::round(1e4 * depth / levels), scene_.inch);
      path(s, pi * (d - t->diameter.si) * 1.5, n * (levels + 1), n);
      s.width = cored_stock(f, d), s.least = std::min(s.width, skin_depth()), s.inside = 0.5 * d;
      runner_up(s, fit, "thinner: it gives way more in the interrupted cut");
      s.why.why = "opens the cored hole level by level, and its floor";
      if (zone < 0.06e-3) finish_bore(f, d, depth, n);
      return;
    }
    const bool drill = drill_does(f, d);
    const double reamer = has_limits(f) ? stock_reamer(d, *f.diameter.value.lower, *f.diameter.value.upper, scene_.inch)
                                        : stock_reamer(d, 0, INFINITY, scene_.inch);
    if ((zone < 0.022e-3 || !drill) && d <= 16e-3) {  // reamed
      const Tools drills = pick(
          "drill", "drill", f,
          [&](const plan::Tool& x) {
            return x.diameter.si < d - 0.08e-3 && x.diameter.si > 0.94 * d && reaches(x, f) ? x.diameter.si : -1.0;
          },
          up_to(d - std::max(0.2e-3, 0.025 * d)));
      const plan::Tool* before = first(drills);
      if (before == nullptr) return;
      const double left = 0.5 * (d - before->diameter.si);
      Step& a = add(40, *before, {f.id.value}, "drill", false);
      path(a, depth + 0.3 * d + 2e-3, n, n);
      a.why.why = "leaves a little for the reamer";
      runner_up(a, drills, "it leaves more for the reamer");
      const Tools reamers = pick(
          "ream", "reamer", f,
          [&](const plan::Tool& x) { return std::fabs(x.diameter.si - d) < 0.05e-3 && reaches(x, f) ? 1.0 : -1.0; },
          reamer > 0 ? reamer : d);
      const plan::Tool* ream = first(reamers);
      if (ream == nullptr) return;
      Step& b = add(50, *ream, {f.id.value}, "ream", true);
      runner_up(b, reamers, "the shop file names it later");
      b.width = b.least = left;
      path(b, depth + 2e-3, n, n);
      b.why.why = fmt::format("limits {} wide", shown_length(zone, scene_.inch));
      if (!drill) b.why.why += "; no drill of a size between them is sold";
      if (!(reamer > 0)) b.why.why += "; ground to size: no reamer of a size between them is kept";
      return;
    }
    if (zone < 0.06e-3 || !drill) {  // drilled, bored
      const Tools drills = pick(
          "drill", "drill", f,
          [&](const plan::Tool& x) {
            return x.diameter.si <= d - 0.5e-3 && x.diameter.si >= 0.85 * d && reaches(x, f) ? x.diameter.si : -1.0;
          },
          up_to(std::min(0.95 * d, d - 0.8e-3)));
      const plan::Tool* before = first(drills);
      if (before == nullptr) return;
      {
        Step& a = add(40, *before, {f.id.value}, "drill", false);
        path(a, depth + 0.3 * d + 2e-3, n, n);
        a.why.why = "from the solid";
        runner_up(a, drills, "it leaves more to bore");
      }
      const auto straightens = [&](const plan::Tool& x) {
        return x.diameter.si < d - 0.05e-3 && x.diameter.si > d - 0.6e-3 && reaches(x, f) ? x.diameter.si : -1.0;
      };
      const Tools roughs = as_asked("rough", "boring tool", f, straightens, fitting("boring tool", straightens));
      if (const plan::Tool* rough = first(roughs); rough != nullptr) {
        Step& b = add(45, *rough, {f.id.value}, "rough", false);
        runner_up(b, roughs, "it leaves more for the last cut");
        path(b, depth + 2e-3, n, n);
        b.width = b.least = 0.035 * d;
        b.why.why = "straightens what the drill left";
      }
      finish_bore(f, d, depth, n);
      return;
    }
    drilled(f, d, depth, n);
  }
  double size_zone(const plan::Feature& f) const {
    double least = INFINITY;
    for (const plan::Requirement* r : requirements_on(d_.plan, f.id.value)) {
      const unit::Limits& l = r->limits.value;
      if (r->kind.value == "size" && l.lower && l.upper) least = std::min(least, *l.upper - *l.lower);
      if (r->kind.value == "cylindricity" && l.upper) least = std::min(least, 2 * *l.upper);
    }
    const unit::Limits& l = f.diameter.value;
    if (l.lower && l.upper) least = std::min(least, *l.upper - *l.lower);
    return least;
  }
  bool has_floor(const std::string& id) const {
    return std::any_of(op_->makes.value.begin(), op_->makes.value.end(), [&](const std::string& m) { return m == id; });
  }
  void finish_bore(const plan::Feature& f, double d, double depth, int n) {
    const Tools fit = pick(
        "finish", "boring tool", f,
        [&](const plan::Tool& x) { return std::fabs(x.diameter.si - d) < 0.06e-3 && reaches(x, f) ? 1.0 : -1.0; }, d);
    const plan::Tool* t = first(fit);
    if (t == nullptr) return;
    Step& s = add(65, *t, {f.id.value}, "finish", true);
    runner_up(s, fit, "the shop file names it later");
    path(s, depth + 3e-3, n, n);
    s.width = s.least = 0.1e-3;
    s.why.why = "a close bore is finished after the last heavy cut";
  }

  /// Most stock on the wall of a cored hole; of one from the solid, all that the tool can take at once.
  double cored_stock(const plan::Feature& f, double d) const {
    for (const plan::CastSize& s : d_.plan.casting.sizes)
      if (s.kind.value == "inside" && s.feature.value == f.id.value)
        return 0.5 * (d - s.raw.si) + 0.5 * (s.tolerance.known() ? s.tolerance.si : 2e-3);
    return f.cast.value == "cored" ? 3e-3 : 0.5 * d;
  }

  void boss(const plan::Feature& f) {
    const double height = length_of(f), d = diameter_of(f);
    const Tools fit = pick(
        "rough", "end mill", f, [&](const plan::Tool& x) { return reaches(x, f) ? x.diameter.si : -1.0; }, 20.1e-3);
    const plan::Tool* t = first(fit);
    if (t == nullptr) return;
    Step& s = add(20, *t, {f.id.value}, "rough and finish", false);
    runner_up(s, fit, "thinner: it gives way more");
    give_length(s.cut.depth, height, scene_.inch);
    path(s, pi * (d + t->diameter.si), 2, 2);
    s.why.why = "round the boss, once to rough and once to finish";
  }

  /// What this operation opens and a chamfer tool goes round: the profile first, then the holes.
  std::vector<const plan::Feature*> opened() const {
    std::vector<const plan::Feature*> out;
    for (const std::string& m : op_->makes.value) {
      const plan::Feature* f = plan::find_feature(d_.plan, plan::parse_reference(m).id);
      if (f == nullptr || std::find(out.begin(), out.end(), f) != out.end()) continue;
      if (f->kind.value == "profile") out.insert(out.begin(), f);
      else if (hole_like(*f)) out.push_back(f);
    }
    return out;
  }
  /// Edges are broken where the operation opens them: before a later one breaks out over them, and threads after it, so
  /// that a tap starts in a countersink and pushes up no burr.
  void chamfers() {
    const std::vector<const plan::Feature*> edges = opened();
    if (steps_.empty() || edges.empty()) return;
    const plan::Feature& on = *edges.front();
    const auto clears = [&](const plan::Tool& x) { return reaches(x, on) ? 1.0 : -1.0; };
    const Tools fit = as_asked("chamfer", "chamfer", on, clears, fitting("chamfer", clears));
    const plan::Tool* t = first(fit);
    if (t == nullptr) {
      const auto bought = buy(on, "chamfer", 12.7e-3);
      if (!bought.ok()) {
        d_.disagree.push_back(fmt::format("{}: its edges are broken by hand, no chamfer tool clears: {}", op_->id.value,
                                          bought.problem().what));
        return;
      }
      t = *bought;
    }
    const frame::Vec3 box = scene_.part->box.hi - scene_.part->box.lo;
    std::vector<std::string> ids;
    double way = 0;
    int moves = 0;
    for (const plan::Feature* f : edges) {
      if (f != &on && !reaches(*t, *f)) continue;
      const auto n = static_cast<int>(std::max<std::size_t>(1, f->at.value.size()));
      way += f->kind.value == "profile" ? 2 * (box.x + box.y) : n * pi * diameter_of(*f);
      moves += n, ids.push_back(f->id.value);
    }
    Step& s = add(68, *t, ids, "chamfer", false);
    runner_up(s, fit, "the shop file names it later");
    path(s, way, 1, moves + 1);
    s.why.why = "grey iron breaks out at sharp edges, hands touch them, and taps start in a countersink";
    s.why.asked_by = "common practice";
    if (ids.size() < edges.size())
      d_.disagree.push_back(fmt::format("{}: {} edge{} out of reach of {}: broken by hand", op_->id.value,
                                        edges.size() - ids.size(), edges.size() - ids.size() == 1 ? " is" : "s are",
                                        named(*t)));
  }

  struct Bought {
    std::string id;
    std::vector<std::string> what;  ///< "drill for H3 in OP20"
    std::string feature;            ///< the first that it is for
  };

  const Scene& scene_;
  Draft& d_;
  Iron iron_;
  std::vector<Bought> bought_;
  std::set<std::string> met_;  ///< answers that a cut of this plan may be asked by
  bool loose_ = false;
  plan::Operation* op_ = nullptr;
  const plan::Machine* machine_ = nullptr;
  std::vector<Step> steps_;
};

}  // namespace

void cuts(const Scene& scene, Draft& d) {
  Cutter c(scene, d);
  for (plan::Operation& op : d.plan.operations) {
    const std::string& k = op.kind.value;
    if (k == "grind" || k == "hone" || k == "deburr" || k == "wash" || k == "gauge" || k == "other") continue;
    c.operation(op);
  }
  c.unmet_takes();
  c.say_bought();
}

}  // namespace fettle::begin
