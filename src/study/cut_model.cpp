#include "study/cut_model.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/cutting/cutting.h"
#include "ref/cutting.h"
#include "ref/materials.h"
#include "ref/threads.h"
#include "study/casting_model.h"
#include "study/cut_places.h"
#include "study/of_one_study.h"
#include "study/plan_times.h"

namespace fettle::study {

using Way = CutModel::Way;

namespace {

constexpr double pi = 3.14159265358979323846, mm1 = 1e-3;

/// A length that is given, derived or assumed.
struct Length {
  bool known = false;
  double value = 0, low = 0, high = 0;
  bool assumed = false;
  std::string source, replaced_by;
};
Length given(const plan::Number& n) {
  if (!n.known()) return {};
  return {true, n.si, n.low, n.high, false, "the plan gives this band", n.replaced_by};
}
Length firm(double v) { return {true, v, v, v, false, {}, {}}; }

std::optional<double> middle(const plan::Limits& l) {
  if (!l.known()) return {};
  if (l.value.lower && l.value.upper) return 0.5 * (*l.value.lower + *l.value.upper);
  return l.value.nominal;
}

/// The stock a finishing pass finds when nobody says it, per side.
Length finishing_stock() {
  return {true,
          0.25 * mm1,
          0.1 * mm1,
          0.5 * mm1,
          true,
          "common practice: 0.25 mm a side left for finishing",
          "say operation.cut.stock of the cut before"};
}

bool names(const plan::Cut& cut, const std::string& feature) {
  return std::any_of(cut.features.value.begin(), cut.features.value.end(),
                     [&](const std::string& r) { return plan::parse_reference(r).id == feature; });
}

class Reader {
 public:
  Reader(Context& c, const plan::Operation& o, int index, const std::vector<CutModel>& before)
      : c_(c), o_(o), index_(index), before_(before) {
    m_.operation = &o;
    m_.cut = &o.cuts[static_cast<std::size_t>(index)];
    m_.index = index;
    m_.tool = plan::find_tool(c.plan, m_.cut->tool.value);
    if (m_.tool != nullptr && m_.cut->stick_out.known()) {
      auto set = std::make_shared<plan::Tool>(*m_.tool);
      set->stick_out = m_.cut->stick_out;
      m_.tool = set.get(), m_.as_set = std::move(set);
    }
    m_.machine = find_machine(c.plan, o.machine.value);
  }

  CutModel read() {
    name();
    if (m_.tool == nullptr) {
      lack("operation.cut.tool: a tool of the shop");
      return std::move(m_);
    }
    way();
    tool();
    motion();
    iron();
    engagement();
    if (!m_.missing.empty()) return std::move(m_);
    knobs();
    arcs();
    m_.places = cut_places(c_.plan, m_);
    if (m_.places.empty())
      lack(fmt::format("operation.cut.features: what {} cuts, with its place", m_.cut->tool.value));
    cut_interruptions(c_, m_);
    return std::move(m_);
  }

 private:
  void lack(std::string words) { m_.missing.push_back(std::move(words)); }
  const plan::Feature* first() const {
    for (const std::string& r : m_.cut->features.value)
      if (const plan::Feature* f = plan::find_feature(c_.plan, plan::parse_reference(r).id)) return f;
    return nullptr;
  }

  void name() {
    if (!m_.cut->features.value.empty()) m_.feature = plan::parse_reference(m_.cut->features.value.front()).id;
    const std::string& k = m_.cut->kind.value;
    const char* verb = k == "rough"     ? "roughs"
                       : k == "finish"  ? "finishes"
                       : k == "drill"   ? "drills"
                       : k == "ream"    ? "reams"
                       : k == "tap"     ? "taps"
                       : k == "bore"    ? "bores"
                       : k == "groove"  ? "grooves"
                       : k == "chamfer" ? "chamfers"
                                        : "cuts";
    m_.words = fmt::format("{} {} {}", m_.cut->tool.value, verb,
                           m_.feature.empty() ? "what the plan does not name" : "the " + words_of(c_.plan, m_.feature));
    m_.finish = k == "finish" || k == "rough and finish" || k == "ream" || k == "bore" || k == "groove";
  }

  void way() {
    const std::string& t = m_.tool->kind.value;
    const plan::Feature* f = first();
    const std::string on = f != nullptr ? f->kind.value : "";
    m_.way = t == "face mill"               ? Way::face
             : t == "drill"                 ? Way::drill
             : t == "reamer"                ? Way::ream
             : t == "tap"                   ? Way::tap
             : t == "thread mill"           ? Way::thread_mill
             : t == "boring tool"           ? Way::bore
             : t == "keyseat cutter"        ? Way::keyseat
             : t == "chamfer"               ? Way::chamfer
             : on == "slot"                 ? Way::slot
             : on == "face" || on == "boss" ? Way::face
                                            : Way::side;
    if (m_.way == Way::chamfer || m_.cut->kind.value == "chamfer") m_.way = Way::chamfer;
  }

  void tool() {
    const plan::Tool& t = *m_.tool;
    if (t.diameter.known()) m_.diameter = t.diameter.si;
    else lack(fmt::format("tool.diameter: cutting diameter of {}", t.id.value));
    m_.teeth = t.teeth.known() ? t.teeth.value : m_.way == Way::drill ? 2 : m_.way == Way::bore ? 1 : 0;
    if (m_.teeth < 1 && m_.way != Way::tap) lack(fmt::format("tool.teeth: teeth of {}", t.id.value));
    if (m_.way == Way::tap) m_.teeth = std::max(1, m_.teeth);
    m_.helix = t.helix.known() ? t.helix.si : 0;
    if (!t.helix.known() && t.kind.value == "end mill") {
      m_.helix = 30 * pi / 180;
      m_.taken.push_back("helix 30 deg (common practice; say tool.helix)");
    }
    if (m_.teeth > 0) {
      const bool uneven = t.spacing.value == "uneven";
      const double step = t.spacing_step.known() ? t.spacing_step.si : 0;
      m_.tooth_angles = uneven && step > 0 ? cutting::uneven_teeth(m_.teeth, step) : cutting::even_teeth(m_.teeth);
    }
    m_.lead = t.lead.known() ? t.lead.si : m_.way == Way::chamfer ? pi / 4 : 0;
    m_.approach = pi / 2 - m_.lead;
    if (m_.way == Way::drill) m_.approach = 0.5 * (t.point_angle.known() ? t.point_angle.si : 140 * pi / 180);
    if (m_.way == Way::ream && !t.lead.known()) {
      m_.approach = pi / 4;
      m_.taken.push_back("lead of the reamer 45 deg (common practice)");
    }
    m_.square =
        m_.lead == 0 && (m_.way == Way::side || m_.way == Way::slot || m_.way == Way::face || m_.way == Way::keyseat);
    m_.corner_radius = t.corner_radius.known() ? t.corner_radius.si : 0;
    m_.rake = t.rake.known() ? t.rake.si : 6 * pi / 180;
    m_.wear_land = t.wear_land.known() ? t.wear_land.si : 0;
    m_.down = m_.cut->direction.value != "up";
    if (m_.way == Way::tap) thread();
  }
  void thread() {
    const plan::Feature* f = first();
    if (f == nullptr || !f->thread.known()) return lack("feature.thread: the thread that is tapped");
    const auto t = ref::thread_data(f->thread.value);
    if (!t) return lack("feature.thread: " + say(t.problem()));
    m_.pitch = t->pitch;
    m_.drilled = f->drill.known() ? f->drill.si : t->tapping_drill;
  }

  void motion() {
    const plan::Cut& cut = *m_.cut;
    if (cut.speed.known()) m_.turns = cut.speed.si / (2 * pi);
    else lack("operation.cut.speed: spindle speed");
    if (!(m_.turns > 0) || m_.teeth < 1) return;
    if (m_.way == Way::tap) m_.feed_per_tooth = m_.pitch / m_.teeth;
    else if (cut.feed_per_tooth.known()) m_.feed_per_tooth = cut.feed_per_tooth.si;
    else if (cut.feed.known()) m_.feed_per_tooth = cut.feed.si / (m_.turns * m_.teeth);
    else lack("operation.cut.feed: feed of the tool's edge, or feed_per_tooth");
  }

  void iron() {
    const auto m = ref::material(c_.plan.part.material.value);
    if (!m.ok()) {
      if (!c_.plan.part.cutting_force.known())
        lack("part.material: a material of the table, or part.cutting_force and part.chip_exponent as measured");
      return;
    }
    const plan::Text& words = c_.plan.casting.hardness;
    if (words.known()) {
      const auto h = ref::read_hardness(words.value, *m);
      if (!h.ok()) return lack("casting.hardness: " + say(h.problem()));
      hardness_ = {true,
                   h->stated,
                   h->soft,
                   h->hard,
                   false,
                   "the casting's hardness as the plan words it",
                   "Brinell test on the corner and the middle of a few castings"};
      m_.body_hardness = h->body;
    } else if (m->hardness_low > 0) {
      m_.body_hardness = m->hardness_high;
      hardness_ = {true,
                   0.5 * (m->hardness_low + m->hardness_high),
                   m->hardness_low,
                   m->hardness_high,
                   true,
                   "range of the grade: " + m->source,
                   "Brinell test of a few castings; say casting.hardness"};
    }
    if (!c_.plan.part.cutting_force.known())
      for (double hb : {hardness_.low, hardness_.high}) {
        const auto sets = ref::chip_force_sets(*m, hb);
        if (sets.ok()) {
          const bool beyond = std::any_of(sets->begin(), sets->end(), [](const auto& x) { return x.stretched; });
          if (beyond)
            m_.taken.push_back(
                fmt::format("{} HB lies outside the printed rows: their line carried on", base::fixed(hb, 0)));
          continue;
        }
        return lack(fmt::format("part.cutting_force: {}", say(sets.problem())));
      }
    if (const auto sets = ref::chip_force_sets(*m, hardness_.value); sets.ok() && !c_.plan.part.cutting_force.known())
      for (const auto& s : *sets) m_.sources.push_back(s.name + ": " + s.source);
    else m_.sources.push_back("the plan's own specific cutting force");
  }

  // ---- how wide and how deep ------------------------------------------------------------------------------------
  double height_of(const plan::Feature& f) const {
    return f.from.known() && f.to.known() ? std::fabs(f.to.si - f.from.si) : 0;
  }
  /// A later cut of the route on the same feature that finishes it after this one.
  bool finished_later(const std::string& feature, const plan::Operation& o, int index) const {
    bool after = false;
    for (const plan::Operation& x : c_.plan.operations)
      for (std::size_t i = 0; i < x.cuts.size(); ++i) {
        if (&x == &o && static_cast<int>(i) == index) {
          after = true;
          continue;
        }
        const std::string& k = x.cuts[i].kind.value;
        if (after && names(x.cuts[i], feature) && (k == "finish" || k == "ream" || k == "bore")) return true;
      }
    return false;
  }
  /// Stock per side that a cut leaves on a feature.
  Length left_by(const plan::Cut& cut, const std::string& feature, const plan::Operation& o, int index) const {
    if (cut.stock.known()) return given(cut.stock);
    return finished_later(feature, o, index) ? finishing_stock() : firm(0);
  }
  /// Diameter of a hole before this cut: raw, then what each earlier tool leaves.
  Length hole_before(const plan::Feature& f) {
    Length d;
    if (f.cast.value == "solid") d = firm(0);
    for (const plan::CastSize& s : c_.plan.casting.sizes) {
      if (s.feature.value != f.id.value || !s.raw.known() || s.kind.value == "height") continue;
      double shift = 0;
      for (const plan::Core& core : c_.plan.casting.cores)
        if (std::find(core.features.value.begin(), core.features.value.end(), f.id.value) != core.features.value.end())
          shift = std::max(
              {shift, core.shift_x.known() ? core.shift_x.si : 0.0, core.shift_y.known() ? core.shift_y.si : 0.0});
      // Two standard deviations either way of the size, and of where the core stands (counts double on the diameter).
      const double spread = spread_of(c_.plan, s);
      if (std::isnan(spread)) {
        unknown_spread_ = s.id.value;
        continue;
      }
      const double band = 2 * spread + 4 * shift;
      d = {true,
           s.raw.si,
           s.raw.si - band,
           s.raw.si + band,
           false,
           "cored diameter with two standard deviations of size and core shift",
           "measure a dozen castings"};
    }
    for (const plan::Operation& o : c_.plan.operations)
      for (std::size_t i = 0; i < o.cuts.size(); ++i) {
        if (&o == &o_ && static_cast<int>(i) == index_) return d;
        const plan::Cut& cut = o.cuts[i];
        const plan::Tool* t = plan::find_tool(c_.plan, cut.tool.value);
        if (t == nullptr || !names(cut, f.id.value)) continue;
        const std::string& kind = t->kind.value;
        if ((kind == "drill" || kind == "reamer" || kind == "boring tool") && t->diameter.known())
          d = firm(t->diameter.si);
        else if (kind == "end mill" && middle(f.diameter)) {
          const Length stock = left_by(cut, f.id.value, o, static_cast<int>(i));
          const double full = *middle(f.diameter);
          d = {true,          full - 2 * stock.value, full - 2 * stock.high, full - 2 * stock.low,
               stock.assumed, stock.source,           stock.replaced_by};
        }
      }
    return d;
  }
  /// The bore whose wall a groove lies in.
  const plan::Feature* wall_of(const plan::Feature& groove) const {
    const plan::Feature* best = nullptr;
    for (const plan::Feature& f : c_.plan.features) {
      const std::string& k = f.kind.value;
      if (&f == &groove || (k != "bore" && k != "counterbore" && k != "hole") || f.at.value.empty() ||
          groove.at.value.empty())
        continue;
      const bool beside = frame::norm(f.at.value[0] - groove.at.value[0]) < 1e-4;
      const bool covers = f.from.known() && f.to.known() && groove.from.known() && f.from.si <= groove.from.si &&
                          f.to.si >= groove.to.si;
      if (beside && covers) best = &f;
    }
    return best;
  }

  void engagement() {
    const plan::Feature* f = first();
    width_ = given(m_.cut->width);
    depth_ = given(m_.cut->depth);
    if (f == nullptr) {
      lack(fmt::format("operation.cut.features: what {} cuts", m_.cut->tool.value));
      return;
    }
    switch (m_.way) {
      case Way::drill:
        return drilled(*f);
      case Way::ream:
      case Way::bore:
        return opened(*f);
      case Way::tap:
        width_ = firm(0);
        depth_ = firm(f->thread_depth.known() ? f->thread_depth.si : height_of(*f));
        return;
      case Way::chamfer:
        return chamfered();
      case Way::face:
        return faced(*f);
      default:
        break;
    }
    const std::string& on = f->kind.value;
    if (on == "bore" || on == "counterbore" || on == "hole" || on == "groove" || on == "thread") return orbit(*f);
    if (on == "pocket" || on == "slot") return pocketed(*f);
    beside(*f);
  }
  void lack_spread() {
    lack(fmt::format("casting.tolerance_grade, or a spread for casting.size {}: how far the stock scatters",
                     unknown_spread_));
  }
  void drilled(const plan::Feature& f) {
    const Length before = hole_before(f);
    if (!before.known && !unknown_spread_.empty()) return lack_spread();
    const double open = before.known && before.value < m_.diameter ? before.value : 0;
    width_ = firm(0.5 * (m_.diameter - open));
    depth_ = firm(height_of(f));
    if (open > 0) m_.taken.push_back(fmt::format("hole before the drill {}", mm(c_, open)));
  }
  void opened(const plan::Feature& f) {
    depth_ = firm(height_of(f));
    if (width_.known) return;
    const Length before = hole_before(f);
    if (!before.known && !unknown_spread_.empty()) return lack_spread();
    if (!before.known || !(before.value > 0) || !(before.value < m_.diameter))
      return lack("operation.cut.width: stock per side, or the tool that makes the hole before");
    const auto side = [&](double d) { return std::max(0.5 * (m_.diameter - d), 0.005 * mm1); };
    width_ = {true,           side(before.value), side(before.high), side(before.low),
              before.assumed, before.source,      before.replaced_by};
    m_.taken.push_back(
        fmt::format("stock {} a side from the hole before, {}", mm(c_, width_.value), mm(c_, before.value)));
  }
  void chamfered() {
    if (!depth_.known) {
      depth_ = {true,
                0.5 * mm1,
                0.3 * mm1,
                1 * mm1,
                true,
                "common practice: edges broken by half a millimetre",
                "say operation.cut.depth, the leg of the chamfer"};
      m_.taken.push_back(fmt::format("chamfer of {}", mm(c_, depth_.value)));
    }
    if (!width_.known) width_ = depth_;
    width_.assumed = false;  // one assumption for both: the depth; the width follows it
  }
  void faced(const plan::Feature& f) {
    if (!depth_.known) lack("operation.cut.depth: axial depth of one pass");
    if (width_.known) {
      width_.value = std::min(width_.value, m_.diameter);
      width_.low = std::min(width_.low, m_.diameter);
      width_.high = std::min(width_.high, m_.diameter);
      return;
    }
    const Surface s = surface_of(c_.plan, f.id.value);
    const double across = std::min(s.extent_u, s.extent_v);
    if (!(across > 0)) return lack("operation.cut.width: width of one pass");
    width_ = firm(std::min(across, m_.diameter));
    m_.taken.push_back("width of the pass from the face");
  }
  void level_depth(double height, const char* words) {
    if (depth_.known) return;
    if (!(height > 0)) return lack("operation.cut.depth: axial depth of one level");
    const int passes = m_.cut->passes.known() ? std::max(1, m_.cut->passes.value) : 0;
    if (passes > 0) {
      depth_ = firm(height / passes);
      m_.taken.push_back(fmt::format("depth {} a level: {} in {}", mm(c_, depth_.value), words, passes));
      return;
    }
    depth_ = {true,
              height,
              height / 3,
              height,
              true,
              "nobody said how many levels: the whole height at once is the worst",
              "say operation.cut.depth, one level"};
    m_.taken.push_back(fmt::format("the whole height {} at once", mm(c_, height)));
  }
  void orbit(const plan::Feature& f) {
    const auto finished = middle(f.diameter);
    double after = finished ? *finished : 0;
    if (m_.way == Way::thread_mill) return milled_thread(f);
    if (!(after > m_.diameter)) return lack("feature.diameter: larger than the cutter that goes round inside it");
    const Length stock = left_by(*m_.cut, f.id.value, o_, index_);
    if (f.kind.value != "groove") after -= 2 * stock.value;
    m_.inside_radius = 0.5 * after;
    // The plan says the speed of the edge along the wall; the tool's centre, which makes the chip, moves slower.
    if (m_.cut->feed.known() && !m_.cut->feed_per_tooth.known()) {
      m_.feed_per_tooth *= (after - m_.diameter) / after;
      m_.taken.push_back(fmt::format("feed of the tool's centre {} of that of its edge",
                                     unit::print((after - m_.diameter) / after, unit::Kind::fraction, c_.style)));
    }
    if (f.kind.value == "groove") {
      const double wide = middle(f.width).value_or(m_.tool->width.known() ? m_.tool->width.si : 0);
      const double cutter = m_.tool->width.known() ? m_.tool->width.si : wide;
      if (!depth_.known) {
        if (wide > 0 && cutter > 0) depth_ = firm(std::min(wide, cutter));
        else lack("tool.width: width of the cutter");
      }
    } else {
      level_depth(height_of(f), "the bore");
    }
    if (width_.known) return;
    const plan::Feature* wall = f.kind.value == "groove" ? wall_of(f) : &f;
    Length before = wall != nullptr ? hole_before(*wall) : Length{};
    if (!before.known && wall != nullptr && wall != &f && middle(wall->diameter))
      before = firm(*middle(wall->diameter));
    if (!before.known && !unknown_spread_.empty()) return lack_spread();
    if (!before.known) return lack("operation.cut.width: radial stock, least and most");
    const auto side = [&](double d) { return std::max(0.5 * (after - d), 0.01 * mm1); };
    width_ = {true,           side(before.value), side(before.high), side(before.low),
              before.assumed, before.source,      before.replaced_by};
    m_.taken.push_back(
        fmt::format("stock {} a side from the hole before, {}", mm(c_, width_.value), mm(c_, before.value)));
  }
  void milled_thread(const plan::Feature& f) {
    if (!f.thread.known()) return lack("feature.thread: the thread that is milled");
    const auto t = ref::thread_data(f.thread.value);
    if (!t) return lack("feature.thread: " + say(t.problem()));
    if (!(t->major > m_.diameter)) return lack("tool.diameter: smaller than the thread that it mills");
    m_.inside_radius = 0.5 * t->major;
    if (m_.cut->feed.known() && !m_.cut->feed_per_tooth.known())
      m_.feed_per_tooth *= (t->major - m_.diameter) / t->major;
    const double drill = f.drill.known() ? f.drill.si : t->tapping_drill;
    if (!width_.known) width_ = firm(0.5 * (t->major - drill));
    // The flanks fill half of the length in the metal.
    if (!depth_.known) depth_ = firm(0.5 * (f.thread_depth.known() ? f.thread_depth.si : height_of(f)));
    m_.taken.push_back("thread milled in one turn; half of the engaged length is chip");
  }
  void pocketed(const plan::Feature& f) {
    level_depth(height_of(f), "the pocket");
    if (!width_.known) {
      width_ = firm(m_.diameter);
      m_.taken.push_back("the pocket is opened with a full cut");
    } else if (!(m_.cut->kind.value == "finish") && width_.high < m_.diameter) {
      width_.high = m_.diameter;
      width_.source = "the pocket's first pass and its corners take the whole cutter";
      m_.taken.push_back("most: a full cut, where the pocket is opened");
    }
  }
  /// A pass over what the same clamping has finished already takes what the pass before left by giving way.
  bool sprung(const plan::Feature& f) {
    const CutModel* last = nullptr;
    for (const CutModel& m : before_)
      if (m.operation == &o_ && m.way != Way::chamfer && names(*m.cut, f.id.value)) last = &m;
    if (last == nullptr || last->cut->kind.value != "finish" || last->cut->stock.known() || !last->missing.empty())
      return false;
    constexpr double least = 1e-6;  // nothing cuts less than its edge lets it
    const auto left = tool_push_off(c_, *last);
    if (!left) {
      lack(fmt::format(
          "operation.cut.stick_out (or tool.stick_out) and tool.material of {}: what its pass leaves for the next",
          last->cut->tool.value));
      return true;
    }
    const double low = std::max(least, left->least), high = std::max(low, left->most);
    width_ = {true, 0.5 * (low + high), low, high, false, "what the pass before leaves by bending", ""};
    m_.sprung = true;
    m_.taken.push_back(fmt::format("a pass over what is finished: stock {} to {}, what {} left by bending", mm(c_, low),
                                   mm(c_, high), last->cut->tool.value));
    return true;
  }
  void beside(const plan::Feature& f) {
    level_depth(height_of(f), "the wall");
    if (width_.known) return;
    if (m_.cut->kind.value == "finish") {
      if (sprung(f)) return;
      width_ = finishing_stock();
      for (const plan::Cut& cut : o_.cuts)
        if (&cut != m_.cut && names(cut, f.id.value) && cut.stock.known()) {
          width_ = given(cut.stock);
          break;
        }
      return;
    }
    lack("operation.cut.width: radial width of cut with its band, least and most stock");
  }

  void knobs() {
    const plan::Tool& t = *m_.tool;
    Length wear{true, 1.3, 1, 1.6, true, "from memory", "spindle load of a new edge against a used one"};
    if (t.wear_factor.known())
      wear = {true,
              t.wear_factor.si,
              t.wear_factor.low,
              t.wear_factor.high,
              t.wear_factor.origin == plan::Origin::assumed,
              t.wear_factor.given() ? "the plan gives this band" : t.wear_factor.source,
              t.wear_factor.replaced_by};
    if (m_.way == Way::tap && !t.wear_factor.given()) {
      const ref::Banded worn = ref::worn_tap_factor();
      wear = {true, worn.value, worn.low, worn.high, true, worn.source, worn.replaced_by};
    }
    m_.wear_stated = wear.value;
    const ref::Banded ratio = ref::radial_ratio();
    m_.stated = {hardness_.value, width_.value, depth_.value, 0.5 * (1 + wear.value), ratio.value, 1};
    m_.soft = {hardness_.low, width_.low, depth_.low, 1, ratio.value, -1};
    // A hole lies in the body: hard corners are no deeper than skin and flash.
    if (along_axis(m_.way) && m_.body_hardness > 0) hardness_.high = std::min(hardness_.high, m_.body_hardness);
    m_.hard = {hardness_.high, width_.high, depth_.high, wear.value, ratio.value, 1};
    if (m_.way == Way::chamfer) {
      m_.stated.width = m_.stated.depth;
      m_.soft.width = m_.soft.depth;
      m_.hard.width = m_.hard.depth;
    }
    m_.wear_at = keep(wear, "wear factor of a used edge", "tool.wear_factor", unit::Kind::number);
    m_.radial_at = keep({true, ratio.value, ratio.low, ratio.high, true, ratio.source, ratio.replaced_by},
                        "radial over tangential force", "part.cutting_force", unit::Kind::number);
    m_.hardness_at = keep(hardness_, "hardness of the metal, HB", "casting.hardness", unit::Kind::number);
    if (m_.way != Way::chamfer)
      m_.width_at = keep(width_, "radial width of cut", "operation.cut.width", unit::Kind::length);
    m_.depth_at = keep(depth_, "axial depth of cut", "operation.cut.depth", unit::Kind::length);
  }
  int keep(const Length& l, const char* name, const char* key, unit::Kind kind) {
    if (!l.known || !(l.low < l.high)) return -1;
    finding::Assumption a;
    a.name = name;
    a.key = key;
    a.value = l.value;
    a.low = l.low;
    a.high = l.high;
    a.kind = kind;
    a.source = l.source;
    a.replaced_by = l.replaced_by;
    m_.assumptions.push_back(std::move(a));
    return static_cast<int>(m_.assumptions.size()) - 1;
  }
  void arcs() {
    if (along_axis(m_.way)) {
      m_.entry = 0;
      m_.exit = 2 * pi;
      return;
    }
    const cutting::Arc a = m_.way == Way::face    ? cutting::face_arc(m_.diameter, m_.stated.width, m_.offset)
                           : m_.inside_radius > 0 ? cutting::inside_arc(m_.diameter, m_.inside_radius - m_.stated.width,
                                                                        m_.inside_radius, m_.down)
                           : m_.way == Way::slot  ? cutting::Arc{0, pi}
                                                  : cutting::side_arc(m_.diameter, m_.stated.width, m_.down);
    m_.entry = a.entry;
    m_.exit = a.exit;
  }

  Context& c_;
  const plan::Operation& o_;
  int index_;
  const std::vector<CutModel>& before_;
  CutModel m_;
  Length width_, depth_, hardness_;
  std::string unknown_spread_;  ///< size of the casting whose scatter nothing says
};

std::vector<CutModel> read_cuts(Context& c) {
  std::vector<CutModel> out;
  for (const plan::Operation& o : c.plan.operations)
    for (std::size_t i = 0; i < o.cuts.size(); ++i) {
      if (o.cuts[i].kind.value == "probe") continue;
      const plan::Tool* t = plan::find_tool(c.plan, o.cuts[i].tool.value);
      if (t != nullptr && t->kind.value == "probe") continue;
      out.push_back(Reader(c, o, static_cast<int>(i), out).read());
    }
  return out;
}

}  // namespace

std::vector<CutModel> cut_models(Context& c) {
  if (c.of_one_study == nullptr) return read_cuts(c);
  return c.of_one_study->cuts(read_cuts);
}

double tolerance_on(const plan::Plan& plan, const std::string& feature) {
  double t = 0;
  for (const plan::Requirement& r : plan.requirements) {
    const std::string& k = r.kind.value;
    if (plan::parse_reference(r.feature.value).id != feature || (k != "size" && k != "distance")) continue;
    if (!r.limits.known() || !r.limits.value.lower || !r.limits.value.upper) continue;
    const double w = *r.limits.value.upper - *r.limits.value.lower;
    if (t == 0 || w < t) t = w;
  }
  return t;
}

}  // namespace fettle::study
