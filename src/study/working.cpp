// Working dimensions along X, Y and Z: the chart drawn from the plan's route.
#include "calc/tolerance/working.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/text.h"
#include "calc/tolerance/process.h"
#include "ref/casting_grades.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;

namespace {

constexpr const char* source =
    "tolerance chart (Wade, Tolerance Control in Design and Manufacturing, 1967: from memory); widest equal-cost "
    "tolerances by linear programming; judged by root sum square, worst case beside it";

struct Axis {
  char letter;  ///< 'x', 'y', 'z'
  Vec3 n;
};
double along(const Axis& a, Vec3 p) { return frame::dot(a.n, p); }

/// The chart as it grows, with what a finding says about it.
struct Draft {
  Axis axis;
  tolerance::WorkingInputs in;
  std::map<std::string, double> place;  ///< nominal place of each surface as the route has left it, m
  std::set<std::string> cut;            ///< surfaces that an operation has cut
  std::vector<int> assumed;             ///< by cut: index of its scatter among the finding's assumptions, -1 firm
  std::vector<std::string> missing, scatter_words;
  Finding f;
};

/// Name of a surface in the chart: the one it prepares, and a number where a feature stands in several places.
std::string key_of(const plan::Plan& plan, const std::string& reference) {
  const plan::Reference r = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, r.id);
  if (f != nullptr && f->over.known()) return f->over.value;
  return reference;
}
bool lies_across(const Axis& a, const Surface& s) {
  const double n = std::fabs(along(a, s.normal));
  return s.there && (s.round ? n < 0.5 : n > 0.5);
}

/// The references that a feature stands for along this axis: sides of a profile, single holes of a pattern.
std::vector<std::string> pieces_of(const plan::Plan& plan, const Axis& a, const std::string& reference) {
  std::vector<std::string> out;
  const plan::Reference r = plan::parse_reference(reference);
  const plan::Feature* f = plan::find_feature(plan, r.id);
  if (f == nullptr) return out;
  std::vector<std::string> all;
  if (f->kind.value == "profile" && r.side.empty()) {
    all = sides_of(*f);
  } else if (f->at.value.size() > 1 && r.index == 0) {
    const Surface s = surface_of(plan, reference);
    // A pattern whose pieces all lie at one place along the axis (pocket floors) is one surface here.
    const auto same = [&](const Vec3& p) { return std::fabs(along(a, p - f->at.value[0])) < 1e-9; };
    if (!s.round && std::all_of(f->at.value.begin(), f->at.value.end(), same)) all = {reference};
    else
      for (std::size_t i = 1; i <= f->at.value.size(); ++i) all.push_back(fmt::format("{}@{}", reference, i));
  } else {
    all = {reference};
  }
  for (const std::string& p : all)
    if (lies_across(a, surface_of(plan, p))) out.push_back(p);
  return out;
}

/// Raw metal above each finished surface, as the casting was ordered.
double raw_place(const Axis& a, const Surface& s, double stock) {
  return along(a, s.point) + along(a, s.normal) * stock;
}

void raw_sizes(Context& c, Draft& d) {
  std::map<std::string, double> place;
  for (const plan::CastSize& s : c.plan.casting.sizes) {
    if (s.kind.value == "inside" || !s.raw.known()) continue;
    std::vector<std::string> ends = s.between.value;
    const bool height = s.kind.value == "height";
    if (height) ends.insert(ends.begin(), s.feature.value);
    if (ends.size() != 2) continue;
    const Surface p = surface_of(c.plan, ends[0]), q = surface_of(c.plan, ends[1]);
    if (!p.there || !q.there || p.round || q.round || !lies_across(d.axis, p) || !lies_across(d.axis, q)) continue;
    const double finished = std::fabs(along(d.axis, p.point - q.point));
    double whole = 0;
    if (s.tolerance.known()) whole = s.tolerance.si;
    else {
      const int grade = s.grade.known()                          ? s.grade.value
                        : c.plan.casting.tolerance_grade.known() ? c.plan.casting.tolerance_grade.value
                                                                 : 0;
      const Outcome<double> dct = ref::dct(grade, s.raw.si);
      if (grade == 0 || !dct.ok()) {
        d.missing.push_back("casting.tolerance_grade: DCTG the foundry holds");
        continue;
      }
      whole = *dct;
    }
    const std::string to = key_of(c.plan, ends[0]), from = key_of(c.plan, ends[1]);
    double size = 0;
    if (height) {  // raw above the later face that it is measured from
      if (place.count(from) == 0) {
        d.missing.push_back(
            fmt::format("casting.size: one that says where {} is raw, listed before {}", from, s.id.value));
        continue;
      }
      place[to] = along(d.axis, q.point) + (along(d.axis, p.point - q.point) > 0 ? 1 : -1) * s.raw.si;
    } else {
      const double total = s.raw.si - finished, last = s.stock.known() ? s.stock.si : 0.5 * total;
      place[from] = raw_place(d.axis, q, last);
      place[to] = raw_place(d.axis, p, total - last);
    }
    size = place[to] - place[from];
    d.in.raw.push_back({"raw " + s.id.value, from, to, size, whole / 2});
  }
  for (const auto& [key, at] : place) d.place[key] = at;
}

/// What locates the part along the axis in an operation: one surface, or two with the middle between them.
std::vector<std::string> datum_of(Context& c, const Draft& d, const plan::Operation& o) {
  for (const plan::Locator& l : o.locators) {
    std::vector<std::string> on;
    for (const std::string& w : base::split(l.on.value, ' '))
      if (!w.empty()) on.push_back(w);
    std::vector<std::string> keys;
    for (const std::string& w : on) {
      const Surface s = surface_of(c.plan, w);
      const bool pin = l.kind.value == "round pin";
      if (lies_across(d.axis, s) && (!s.round || pin)) keys.push_back(key_of(c.plan, w));
    }
    if (!keys.empty()) return keys;
  }
  if (o.kind.value != "pallet") return {};
  const Vec3 up = direction(o.up.value);
  if (std::fabs(along(d.axis, up)) < 0.5) {
    for (const plan::Pin& p : c.plan.pallet.pins)
      if (p.kind.value == "round" && surface_of(c.plan, p.in.value).there) return {key_of(c.plan, p.in.value)};
    return {};
  }
  // On the pads lies the face that looks down; a datum before others, then the largest.
  const plan::Feature* best = nullptr;
  const auto rank = [](const plan::Feature& f) {
    double area = 1;
    for (const double x : f.size.value) area *= x;
    return std::pair<bool, double>(f.datum.known(), f.size.value.empty() ? 0 : area);
  };
  for (const plan::Feature& f : c.plan.features) {
    if (f.kind.value != "face" || f.at.value.empty() || frame::dot(direction(f.normal.value), up) > -0.5) continue;
    if (best == nullptr || rank(f) > rank(*best)) best = &f;
  }
  if (best == nullptr) return {};
  return {key_of(c.plan, best->id.value)};
}

const char* process_word(const plan::Operation& o, const std::string& feature) {
  if (o.kind.value == "grind") return "surface grinding";
  // Where a bore or hole comes to lie is the machine's doing, not the drill's.
  bool rough = false, finish = false;
  for (const plan::Cut& k : o.cuts)
    for (const std::string& w : k.features.value) {
      if (plan::parse_reference(w).id != feature) continue;
      rough = rough || k.kind.value == "rough";
      finish = finish || k.kind.value == "finish";
    }
  return finish ? "finish milling" : rough ? "rough milling" : "milling";
}

/// Three standard deviations of where this cut comes out, from the plan's spreads or from what the process holds.
double holds_of(Context& c, Draft& d, const plan::Operation& o, const std::string& reference, double about, bool within,
                const std::string& name) {
  const std::string feature = plan::parse_reference(reference).id;
  double variance = 0;
  std::vector<std::string> of;
  for (const plan::SpreadOf& s : c.plan.spreads) {
    const std::string& axis = s.axis.value;
    if (s.operation.value != o.id.value || within || (axis != "all" && axis.find(d.axis.letter) == std::string::npos))
      continue;
    const auto moved = [&](const std::string& w) { return plan::parse_reference(w).id == feature; };
    if (!s.moves.value.empty() && std::none_of(s.moves.value.begin(), s.moves.value.end(), moved)) continue;
    variance += s.value.value.s * s.value.value.s;
    of.push_back(s.id.value);
  }
  if (variance > 0) {
    d.assumed.push_back(-1);
    d.scatter_words.push_back(base::join(of, ", "));
    return 3 * std::sqrt(variance);
  }
  const char* word = surface_of(c.plan, reference).round ? "milling" : process_word(o, feature);
  const auto s = tolerance::process_scatter(word, std::clamp(std::fabs(about), 1e-3, 0.5));
  if (!s.ok()) {
    d.missing.push_back(
        fmt::format("spread of operation {} along {}: how far {} scatters", o.id.value, d.axis.letter, name));
    d.assumed.push_back(-1);
    d.scatter_words.emplace_back();
    return 1e-6;
  }
  finding::Assumption a;
  a.name = fmt::format("scatter of {}", name);
  a.key = fmt::format("spread.{}.{}", o.id.value, d.axis.letter);
  a.value = s->s;
  a.low = s->low;
  a.high = s->high;
  a.kind = unit::Kind::length;
  a.source = s->source;
  a.replaced_by = "thirty parts of this operation measured";
  d.assumed.push_back(static_cast<int>(d.f.assumptions.size()));
  d.f.assumptions.push_back(std::move(a));
  d.scatter_words.emplace_back(word);
  return 3 * s->s;
}

/// A requirement along the axis between two surfaces.
struct Asked {
  const plan::Requirement* r = nullptr;
  std::string from, to;
  double nominal = 0;
};
std::vector<Asked> asked_along(Context& c, const Axis& a) {
  std::vector<Asked> out;
  for (const plan::Requirement& r : c.plan.requirements) {
    if ((r.kind.value != "distance" && r.kind.value != "depth") || !r.to.known()) continue;
    const std::vector<std::string> p = pieces_of(c.plan, a, r.feature.value), q = pieces_of(c.plan, a, r.to.value);
    if (p.size() != 1 || q.size() != 1) continue;
    const Surface s = surface_of(c.plan, p[0]), t = surface_of(c.plan, q[0]);
    if (s.round || t.round || !r.limits.known()) continue;
    // A distance between walls of slots is none between their floors: where the plan puts the two surfaces outside the
    // limits, the requirement's own finding is open and says so. It counts from the one towards the other.
    const double drawn = along(a, s.point - t.point);
    if (!drawn_within(r.limits.value, std::fabs(drawn))) continue;
    out.push_back({&r, key_of(c.plan, q[0]), key_of(c.plan, p[0]), drawn});
  }
  return out;
}

void cuts_of(Context& c, Draft& d, const plan::Operation& o, const std::vector<Asked>& asked,
             const std::set<std::string>& wanted) {
  struct Made {
    std::string key, reference;
    Surface s;
  };
  std::vector<Made> made;
  for (const std::string& w : o.makes.value)
    for (const std::string& piece : pieces_of(c.plan, d.axis, w)) {
      const Surface s = surface_of(c.plan, piece);
      const std::string key = key_of(c.plan, piece);
      // Bores and holes matter where something is located on them later.
      if (s.round && wanted.count(key) == 0) continue;
      made.push_back({key, piece, s});
      // What is only roughed here and says so (feature.over) is stock; its own cut may be the later one's.
      const std::string what = s.feature->over.known() ? std::string() : what_cuts(c.plan, o, piece);
      if (!what.empty()) d.missing.push_back(what);
    }
  if (made.empty()) return;
  const std::vector<std::string> datum = datum_of(c, d, o);
  if (datum.empty()) {
    d.missing.push_back(fmt::format("operation {}: what locates the part along {}", o.id.value, d.axis.letter));
    return;
  }
  double at = 0;
  for (const std::string& k : datum) {
    if (d.place.count(k) == 0) {
      d.missing.push_back(
          fmt::format("casting.size: one that says where {} is before operation {} rests on it", k, o.id.value));
      return;
    }
    at += d.place.at(k) / static_cast<double>(datum.size());
  }
  std::map<std::string, double> here;  // cut in this clamping
  for (const Made& m : made) {
    tolerance::WorkingCut k;
    k.operation = o.id.value;
    k.from = datum;
    k.made = m.key;
    double base = at;
    for (const Asked& a : asked) {  // two ends of one dimension in one clamping: the second is set from the first
      const std::string other = a.from == m.key ? a.to : a.to == m.key ? a.from : "";
      if (here.count(other) == 0) continue;
      k.from = {other};
      k.within = true;
      base = here.at(other);
    }
    const double place = along(d.axis, m.s.point);
    k.about = place - base;
    k.name = fmt::format("{}: {} to {}", o.id.value, base::join(k.from, " and "), m.reference);
    const bool solid = m.s.feature->cast.known() && m.s.feature->cast.value == "solid";
    if (!m.s.round && d.place.count(m.key) == 0 && !solid)
      d.missing.push_back(fmt::format(
          "casting.size: one that says where {} is raw (or that it is cut from solid: feature.cast)", m.key));
    if (!m.s.round && d.place.count(m.key) > 0) {
      k.side = along(d.axis, m.s.normal) > 0 ? 1 : -1;
      const bool skin = d.cut.count(m.key) == 0;
      if (skin && !c.plan.casting.skin.known()) d.missing.push_back("casting.skin: least depth of the first cut");
      k.least_stock = skin ? c.plan.casting.skin.si : 0;
    }
    k.holds = holds_of(c, d, o, m.reference, k.about, k.within, k.name);
    d.in.cuts.push_back(k);
    here[m.key] = place;
  }
  for (const auto& [key, place] : here) {
    d.place[key] = place;
    d.cut.insert(key);
  }
}

/// "18.000 ± 0.040 mm" in the reader's unit.
std::string with_tolerance(const Context& c, double mean, double half) {
  const bool inch = c.style.system == unit::Style::System::inch;
  const double unit = inch ? 0.0254 : 1e-3;
  const int digits = inch ? 4 : 3;
  return fmt::format("{} ± {} {}", base::fixed(mean / unit, digits), base::fixed(half / unit, digits),
                     inch ? "in" : "mm");
}

void say_dimensions(Context& c, Draft& d, const tolerance::WorkingResult& r) {
  for (std::size_t j = 0; j < r.dimensions.size(); ++j) {
    const tolerance::WorkingDimension& w = r.dimensions[j];
    const double now = d.in.cuts[j].about;
    std::string text = with_tolerance(c, std::fabs(w.mean), w.tolerance);
    if (!(std::fabs(w.mean - now) < 5e-7)) text += fmt::format(" (the plan has it at {})", mm(c, std::fabs(now)));
    text += fmt::format("; the process holds ± {} ({})", mm(c, d.in.cuts[j].holds), d.scatter_words[j]);
    if (w.free) text += "; nothing asked stops it from being wider";
    else if (!w.held_by.empty()) text += "; held by " + base::join(w.held_by, ", ");
    d.f.inputs.push_back({w.name, std::fabs(w.mean), unit::Kind::length, text});
  }
  for (const tolerance::Resultant& x : r.resultants) {
    std::string text = with_tolerance(c, x.mean, x.reach);
    if (x.is_stock) text += fmt::format(", least {} asked", mm(c, x.lower.value_or(0)));
    else if (x.lower && x.upper)
      text += fmt::format(", {} asked", with_tolerance(c, (*x.lower + *x.upper) / 2, (*x.upper - *x.lower) / 2));
    d.f.inputs.push_back({x.name, x.mean, unit::Kind::length, text});
  }
}

/// The chart solved four ways: means free or as the plan has them, tolerances at worst or by root sum square.
struct Answers {
  tolerance::WorkingResult likely, worst, as_planned;
  /// What is printed: the plan's own places where they do, at worst where that exists.
  const tolerance::WorkingResult& shown() const { return as_planned.exist ? as_planned : worst.exist ? worst : likely; }
};

void say_result(Context& c, Draft& d, const Answers& a) {
  const char letter = static_cast<char>(d.axis.letter - 'a' + 'A');
  const tolerance::WorkingResult& r = a.likely;
  if (!r.exist) {
    std::vector<std::string> names;
    for (const int k : r.clash) names.push_back(r.resultants[static_cast<std::size_t>(k)].name);
    d.f.sentence = fmt::format("Along {} no working dimensions hold at what the processes hold: {}{}.", letter,
                               names.size() == 1 ? names[0] + " is too close for its chain"
                                                 : "these cannot all hold: " + base::join(names, ", "),
                               r.any ? fmt::format("; the processes would have to scatter only {} of what they do",
                                                   unit::print(r.factor, unit::Kind::fraction))
                                     : ", however well the processes hold");
    return;
  }
  const tolerance::WorkingResult& shown = a.shown();
  const auto tightest = std::min_element(shown.dimensions.begin(), shown.dimensions.end(),
                                         [](const auto& p, const auto& q) { return p.factor < q.factor; });
  std::string how = "at worst";
  if (!a.worst.exist)
    how = fmt::format("by root sum square; at worst only {} times as wide", base::fixed(a.worst.factor, 2));
  d.f.sentence = fmt::format(
      "Along {} every operation has a dimension that keeps drawing and stock, at least {} times as wide as its process "
      "holds ({}). Tightest: {}, {}{}.{}",
      letter, base::fixed(shown.factor, 2), how, tightest->name,
      with_tolerance(c, std::fabs(tightest->mean), tightest->tolerance),
      tightest->held_by.empty() ? "" : ", held by " + base::join(tightest->held_by, ", "),
      a.as_planned.exist ? "" : " The plan's own places would not do at worst; the inputs say where to set them.");
}

/// A single drawing dimension that is too close: the limit at which it would hold.
void levers(Context& c, Draft& d, const tolerance::WorkingResult& r) {
  for (const int k : r.clash) {
    const tolerance::Resultant& x = r.resultants[static_cast<std::size_t>(k)];
    if (x.is_stock || !x.lower || !x.upper || r.clash.size() != 1) continue;
    double squares = 0;
    for (const tolerance::ChainTerm& t : x.chain) {
      const auto i = static_cast<std::size_t>(t.index);
      const double part = t.sign * (t.is_raw ? d.in.raw[i].tolerance : d.in.cuts[i].holds);
      squares += part * part;
    }
    const double reach = std::sqrt(squares);
    const double now = (*x.upper - *x.lower) / 2;
    d.f.levers.push_back({x.name, "requirement." + x.name + ".limits", now, reach, unit::Kind::length,
                          fmt::format("{} ± {} → ± {} has working dimensions; or cut both its ends from one datum",
                                      x.name, mm(c, now), mm(c, reach))});
  }
}

void one_axis(Context& c, const Axis& axis) {
  const std::vector<Asked> asked = asked_along(c, axis);
  const std::string name = fmt::format("axis {}", static_cast<char>(axis.letter - 'a' + 'A'));
  Draft d;
  d.axis = axis;
  d.f = start("", fmt::format("axis-{}", axis.letter), "working_dimensions",
              fmt::format("working dimensions exist for {}", name), unit::Kind::number);
  d.f.limit = finding::lower(1);
  d.f.source = source;
  d.f.formula =
      "largest factor s with tolerances ≥ s × what each process holds (3 s), so that every drawing dimension and "
      "every stock, each a signed sum of working dimensions and raw sizes, stays within its limits by root sum square";
  raw_sizes(c, d);
  std::set<std::string> wanted;
  for (const plan::Operation& o : c.plan.operations)
    for (const std::string& k : datum_of(c, d, o)) wanted.insert(k);
  for (const plan::Operation& o : c.plan.operations) cuts_of(c, d, o, asked, wanted);
  if (d.in.cuts.empty() && asked.empty()) return;
  for (const Asked& a : asked) {
    for (const std::string& end : {a.from, a.to})
      if (d.cut.count(end) == 0 && d.missing.empty())
        d.missing.push_back(fmt::format("operation.makes: which operation cuts {} ({})", end, a.r->id.value));
    const unit::Limits& l = a.r->limits.value;
    tolerance::DrawingLimit x{a.r->id.value, a.from, a.to, l.lower, l.upper};
    if (a.nominal < 0) std::swap(x.from, x.to);
    d.in.drawing.push_back(x);
  }
  std::sort(d.missing.begin(), d.missing.end());
  d.missing.erase(std::unique(d.missing.begin(), d.missing.end()), d.missing.end());
  if (!d.missing.empty()) {
    leave_open(c, std::move(d.f), d.missing);
    return;
  }
  const auto solved = [&c](const tolerance::WorkingInputs& in) {
    return c.memo.call("working dimensions", tolerance::working_dimensions, in);
  };
  d.in.statistical = true;  // worst case is shown, it does not decide
  const auto result = solved(d.in);
  if (!result->ok()) {
    std::vector<std::string> why;
    for (const Problem& p : result->problems()) why.push_back("operation: " + say(p));
    leave_open(c, std::move(d.f), why);
    return;
  }
  Answers a;
  a.likely = result->value();
  tolerance::WorkingInputs other = d.in;
  other.statistical = false;
  const auto worst = solved(other);
  other.means_given = true;
  const auto planned = solved(other);
  if (!worst->ok() || !planned->ok()) {
    leave_open(c, std::move(d.f), {say((worst->ok() ? planned : worst)->problem())});
    return;
  }
  a.worst = worst->value();
  a.as_planned = planned->value();
  say_result(c, d, a);
  say_dimensions(c, d, a.shown());
  levers(c, d, a.likely);
  d.f.inputs.push_back({"widest common factor at worst", a.worst.factor, unit::Kind::number, {}});
  d.f.inputs.push_back({"the same with the plan's own places", a.as_planned.factor, unit::Kind::number, {}});
  const std::vector<int> assumed = d.assumed;
  const tolerance::WorkingInputs in = d.in;
  settle(c, std::move(d.f), [&](const std::vector<double>& v) {
    tolerance::WorkingInputs moved = in;
    for (std::size_t j = 0; j < moved.cuts.size(); ++j)
      if (assumed[j] >= 0) moved.cuts[j].holds = 3 * v[static_cast<std::size_t>(assumed[j])];
    const auto x = solved(moved);
    // What a process holds and what is asked may meet exactly: such a pair must not fall apart in binary.
    return x->ok() ? std::round(x->value().factor * 1e9) / 1e9 : std::nan("");
  });
}

}  // namespace

void working_findings(Context& c) {
  tapped_findings(c);
  if (c.plan.operations.empty() || c.plan.features.empty()) return;
  for (const Axis& a : {Axis{'x', {1, 0, 0}}, Axis{'y', {0, 1, 0}}, Axis{'z', {0, 0, 1}}}) one_axis(c, a);
}

}  // namespace fettle::study
