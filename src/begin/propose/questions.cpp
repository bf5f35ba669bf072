#include "begin/propose/questions.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "plan/read.h"
#include "plan/toml_text.h"
#include "ref/casting_grades.h"
#include "ref/materials.h"
#include "ref/threads.h"
#include "study/plan_times.h"
#include "unit/quantity.h"

namespace fettle::begin {

namespace {

/// Pitches that a tap leaves at the end of a blind hole: its chamfer and room for chips. Common practice, from memory.
constexpr double lead_of_tap = 4;
/// Pitches that nothing threads there: the shortest chamfer of a bottoming tap, from memory.
constexpr double shortest_lead = 1;

/// What kind of text answers a question.
enum class Form { count, choice, material, machine, features, requirements, limits, money, threads };

struct Asked {
  Question question;
  Form form;
};

std::vector<std::string> irons() {
  std::vector<std::string> out;
  for (const ref::Material& m : ref::materials())
    if (base::starts_with(m.name, "EN-GJ")) out.push_back(m.name);
  return out;
}
std::vector<std::string> processes() {
  std::vector<std::string> out;
  for (const ref::ProcessGrades& p : ref::process_grades()) out.push_back(p.process);
  return out;
}
std::vector<std::string> machines(const plan::Shop& shop) {
  std::vector<std::string> out;
  for (const plan::Machine& m : shop.machines)
    if (m.travel.known()) out.push_back(m.id.value);
  return out;
}
bool skin_known(const plan::Plan& p) {
  return std::any_of(p.features.begin(), p.features.end(), [](const plan::Feature& f) { return f.cast.known(); });
}
bool no_sizes(const plan::Plan& p) {
  return std::none_of(p.requirements.begin(), p.requirements.end(),
                      [](const plan::Requirement& r) { return r.kind.value == "size"; });
}
bool critical_known(const plan::Plan& p) {
  return std::any_of(p.requirements.begin(), p.requirements.end(),
                     [](const plan::Requirement& r) { return r.critical.known() && r.critical.value; });
}

/// The coarse thread whose tapping drill is as wide as this plain hole; null: it looks like none, or the drawing says
/// its size.
const ref::ThreadData* looks_tapped(const plan::Plan& p, const plan::Feature& f) {
  if (!hole_like(f) || f.kind.value == "thread" || f.thread.known()) return nullptr;
  const unit::Limits& l = f.diameter.value;
  const bool sized = std::any_of(p.requirements.begin(), p.requirements.end(), [&](const plan::Requirement& r) {
    return r.kind.value == "size" && plan::parse_reference(r.feature.value).id == f.id.value;
  });
  if (sized || (l.lower && l.upper)) return nullptr;
  const bool inch = p.header.units.value == "inch";
  for (const ref::ThreadData& t : ref::thread_table()) {
    const bool mine = inch ? t.series == "UNC" : t.system == unit::Thread::System::metric && t.series == "coarse";
    if (mine && std::fabs(t.tapping_drill - diameter_of(f)) < 15e-6) return &t;
  }
  return nullptr;
}
/// "H4 as M8": what its holes look like.
std::vector<std::string> look_tapped(const plan::Plan& p, const char* as) {
  std::vector<std::string> out;
  for (const plan::Feature& f : p.features)
    if (const ref::ThreadData* t = looks_tapped(p, f); t != nullptr)
      out.push_back(
          f.id.value + as +
          (t->system == unit::Thread::System::metric ? base::split(t->designation, 'x').front() : t->designation));
  return out;
}

/// "H4 M8-6H 16 mm": which hole, which thread, how deep (where that is said).
struct Tapped {
  std::string feature;
  unit::Thread thread;
  ref::ThreadData data;
  std::string depth;
};
Outcome<Tapped> tapped_of(const std::string& item) {
  std::vector<std::string> words;
  for (const std::string& w : base::split(item, ' '))
    if (!w.empty()) words.push_back(w);
  Tapped out;
  if (words.size() < 2) return bad("a hole and its thread", item, "H4 M8-6H 16 mm");
  out.feature = words.front();
  for (std::size_t n = words.size(); n > 1; --n) {  // the longest that is a thread, the rest its depth
    const auto t =
        unit::parse_thread(base::join({words.begin() + 1, words.begin() + static_cast<std::ptrdiff_t>(n)}, " "));
    if (!t.ok()) continue;
    auto data = ref::thread_data(*t);
    if (!data.ok()) return data.problems();
    out.thread = *t, out.data = *data;
    out.depth = base::join({words.begin() + static_cast<std::ptrdiff_t>(n), words.end()}, " ");
    if (!out.depth.empty())
      if (const auto q = unit::parse(out.depth, unit::Kind::length); !q.ok() || !(q->si > 0))
        return bad("the depth of a thread is a length", out.depth, "16 mm");
    return out;
  }
  return bad("no such thread is known", words[1], "M8-6H, 3/8-16 UNC");
}
std::string wrong_threads(const std::string& answer, const plan::Plan& read);

/// At most a dozen of these, after a word: "; holes: H2 2 x Ø10.5 mm, H3 2 x Ø8 mm".
std::string named_after(const char* word, std::vector<std::string> ids) {
  constexpr std::size_t most = 12;
  if (ids.empty()) return "";
  const bool more = ids.size() > most;
  if (more) ids.resize(most);
  return fmt::format("; {}: {}{}", word, base::join(ids, ", "), more ? " and more" : "");
}
std::string holes_here(const plan::Plan& p) {
  std::vector<std::string> out;
  for (const plan::Feature& f : p.features)
    if (hole_like(f) && f.kind.value != "thread")
      out.push_back(fmt::format("{} {}{}", f.id.value,
                                f.at.value.size() > 1 ? std::to_string(f.at.value.size()) + " x " : "",
                                "Ø" + shown_length(diameter_of(f), p.header.units.value == "inch")));
  return named_after("holes", out);
}
/// The closest first.
std::string requirements_here(const plan::Plan& p) {
  std::vector<std::pair<double, std::string>> all;
  for (const plan::Requirement& r : p.requirements) {
    const unit::Limits& l = r.limits.value;
    if (r.kind.value == "roughness" || r.kind.value == "angle" || !l.upper) continue;
    all.emplace_back(l.lower ? *l.upper - *l.lower : *l.upper, r.id.value);
  }
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<std::string> ids;
  ids.reserve(all.size());
  for (const auto& [zone, id] : all) ids.push_back(id);
  return named_after("the closest", ids);
}

/// All of them, whether or not the plan answers them already.
std::vector<Asked> every(const plan::Plan& p, const plan::Shop& shop) {
  const std::vector<std::string> shops = machines(shop);
  std::vector<Asked> out;
  const auto ask = [&](bool open, Form form, Question q) {
    if (open) out.push_back({std::move(q), form});
  };
  ask(!p.part.material.known(), Form::material,
      {"material", "Which iron is it?", "EN-GJL-250", "", "forces, weight, tool data and growth with warmth", irons()});
  ask(!p.demand.per_week.known(), Form::count,
      {"per_week",
       "How many good parts a week?",
       "240",
       "",
       "how many nests and pallets pay, and whether hours suffice",
       {}});
  ask(shops.size() != 1, Form::machine,
      {"machine", "On which machine shall the pallets run?", shops.empty() ? "B" : shops.back(), "",
       "travels, power and pallet size; unanswered: the first of the shop file that the part fits", shops});
  ask(!skin_known(p), Form::features,
      {"cast_faces",
       "Which faces and sides come with cast skin and are machined?",
       "top, bottom, outside",
       "all outer faces",
       "stock, first cuts, and where the casting may be located before it is cut",
       {},
       "face"});
  ask(!p.casting.process.known(), Form::choice,
      {"process", "How does the foundry mould it?", "green sand, machine moulded", "green sand, machine moulded",
       "tolerance and allowance grades, draft", processes()});
  ask(true, Form::features,
      {"pin_holes",
       "Which holes may carry the pallet's pins?",
       "H3",
       "",
       "where pins can be; unanswered: searched among all holes" + holes_here(p),
       {},
       "hole"});
  ask(!critical_known(p), Form::requirements,
      {"critical",
       "Which requirements are critical?",
       p.requirements.empty() ? "none" : p.requirements.front().id.value,
       "",
       "what is finished after the last heavy cut; unanswered: what has less than 0.02 mm" + requirements_here(p),
       {},
       "requirement"});
  const std::vector<std::string> tapped = look_tapped(p, " "), like = look_tapped(p, " is as wide as the drill for ");
  ask(!tapped.empty(), Form::threads,
      {"threads",
       "Which holes are tapped, with what and how deep?",
       base::join(tapped, ", "),
       "none",
       base::join(like, ", ") + "; the model shows no thread: taps, their drills and their time hang on it",
       {},
       "thread"});
  ask(no_sizes(p), Form::limits,
      {"general_tolerance",
       "Which limits hold for sizes without their own?",
       "± 0.1 mm",
       "± 0.1 mm",
       "the model states no sizes with limits",
       {}});
  ask(!p.casting.price.known(), Form::money,
      {"casting_price", "What does a rough casting cost?", "9.80 EUR", "", "cost of a good part", {}});
  ask(true, Form::choice,
      {"grinding",
       "May large faces be ground outside?",
       "no",
       "no",
       "a face ground flat is the best first datum",
       {"yes", "no"}});
  ask(!p.demand.operators.known(), Form::count,
      {"operators", "How many people tend the machines in a shift?", "1", "1", "who loads while the spindle cuts", {}});
  ask(!p.pallet.sets.known(), Form::count,
      {"pallet_sets",
       "How many sets of pallets shall swap?",
       "2",
       "2",
       "loading beside the machine while it cuts",
       {}});
  return out;
}
/// At most a dozen of them.
std::vector<Asked> all(const plan::Plan& p, const plan::Shop& shop) {
  std::vector<Asked> out = every(p, shop);
  if (out.size() > 12) out.resize(12);
  return out;
}

std::vector<std::string> listed(const std::string& answer) {
  std::vector<std::string> out;
  for (const std::string& s : base::split(answer, ','))
    if (const std::string t(base::trim(s)); !t.empty()) out.push_back(t);
  return out;
}

std::string near_of(const std::string& word, const std::vector<std::string>& known) {
  const std::string near = base::nearest(word, known);
  return near.empty() ? "" : fmt::format("; did you mean \"{}\"?", near);
}

/// What is wrong with a reference beyond the feature's name: "H3@9" of two holes, "H3@1; H3@2".
std::string wrong_place(const std::string& s, const plan::Plan& read) {
  const plan::Reference r = plan::parse_reference(s);
  const plan::Feature* f = plan::find_feature(read, r.id);
  if (f == nullptr) return "";
  std::string again = r.id;
  if (r.index > 0) again += "@" + std::to_string(r.index);
  if (!r.side.empty()) again += "." + r.side;
  const std::size_t n = f->at.value.size();
  if (again != s)
    return fmt::format("\"{}\" is more than one name: names stand between commas, such as \"{}, ...\"", s, r.id);
  if (static_cast<std::size_t>(r.index) > std::max<std::size_t>(n, 1))
    return fmt::format("{} has {} place{}, there is no \"{}\"", r.id, n, n == 1 ? "" : "s", s);
  return "";
}

std::string wrong_references(const std::string& answer, const std::vector<std::string>& words,
                             const std::vector<std::string>& known, const char* what) {
  if (std::find(words.begin(), words.end(), answer) != words.end()) return "";
  const std::vector<std::string> items = listed(answer);
  if (items.empty()) return fmt::format("names no {}", what);
  for (const std::string& s : items) {
    const std::string id = std::string(what) == "requirement" ? s : plan::parse_reference(s).id;
    if (std::find(known.begin(), known.end(), id) == known.end())
      return fmt::format("there is no {} \"{}\"{}", what, s, near_of(id, known));
  }
  return "";
}

std::string wrong_count(const Question& q, const std::string& answer) {
  const auto n = base::to_double(answer);
  const double least = q.id == "operators" ? 0 : 1;
  if (!n || std::floor(*n) != *n || !(*n >= least) || !(*n <= 1e6))
    return fmt::format("must be a whole number, at least {}", least);
  return "";
}

std::string wrong_features(const Question& q, const std::string& answer, const plan::Plan& read) {
  const bool holes = q.id == "pin_holes";
  std::vector<std::string> known, words;
  if (!holes) words.emplace_back("all outer faces");
  for (const plan::Feature& f : read.features)
    if (!holes || hole_like(f)) known.push_back(f.id.value);
  if (std::string w = wrong_references(answer, words, known, holes ? "hole" : "feature"); !w.empty()) return w;
  for (const std::string& s : listed(answer))
    if (std::string w = wrong_place(s, read); !w.empty()) return w;
  return "";
}
/// "H1b is asked H1b.size, H1b.position": what may be called critical of a feature.
std::string requirements_of(const plan::Plan& read, const std::string& feature) {
  std::vector<std::string> ids;
  for (const plan::Requirement* r : requirements_on(read, feature)) ids.push_back(r->id.value);
  return ids.empty() ? fmt::format("the drawing asks nothing of {}", feature)
                     : fmt::format("of {} there {} {}", feature, ids.size() == 1 ? "is" : "are", base::join(ids, ", "));
}

std::string wrong(Form form, const Question& q, const std::string& answer, const plan::Plan& read) {
  std::vector<std::string> known;
  switch (form) {
    case Form::count:
      return wrong_count(q, answer);
    case Form::choice:
    case Form::machine:
      if (std::find(q.choices.begin(), q.choices.end(), answer) != q.choices.end()) return "";
      if (q.id == "process") return "";  // the foundry's own words are kept; grades then need a known one
      return fmt::format("must be one of: {}{}", choices_text(q), near_of(answer, q.choices));
    case Form::material:
      if (ref::material(answer).ok()) return "";
      return fmt::format("no such iron is in the tables{}", near_of(answer, q.choices));
    case Form::features:
      return wrong_features(q, answer, read);
    case Form::requirements:
      for (const plan::Requirement& r : read.requirements) known.push_back(r.id.value);
      for (const std::string& s : listed(answer))  // a feature: its requirements are meant
        if (plan::find_feature(read, s) != nullptr) return "a requirement is asked: " + requirements_of(read, s);
      return wrong_references(answer, {"none"}, known, "requirement");
    case Form::threads:
      return wrong_threads(answer, read);
    case Form::limits: {
      const auto l = unit::parse_limits("10 mm " + answer);
      return l.ok() ? "" : "must be limits such as \"± 0.1 mm\"";
    }
    case Form::money: {
      const auto q2 = unit::parse(answer, unit::Kind::money);
      if (!q2.ok() || !(q2->si >= 0)) return "must be money with its currency, such as \"9.80 EUR\"";
      const std::string shops = study::currency_of(read);
      return shops.empty() || q2->unit == shops
                 ? ""
                 : fmt::format("the shop's prices are in {}, and no rate is known: say it in {}", shops, shops);
    }
  }
  return "";
}

/// Of one hole and its thread; `named`: holes before it.
std::string wrong_thread(const std::string& item, const plan::Plan& read, const std::vector<std::string>& known,
                         std::set<std::string>& named) {
  const auto t = tapped_of(item);
  if (!t.ok()) return fmt::format("\"{}\": {}", item, say(t.problem()));
  if (!named.insert(t->feature).second) return fmt::format("{} is named twice: a hole has one thread", t->feature);
  const plan::Feature* f = plan::find_feature(read, t->feature);
  if (f == nullptr || !hole_like(*f))
    return fmt::format("there is no hole \"{}\"{}", t->feature, near_of(t->feature, known));
  const bool inch = read.header.units.value == "inch";
  if (const double d = diameter_of(*f); std::fabs(d - t->data.tapping_drill) > 0.06 * d)
    return fmt::format("{} is drilled {}, {} has {}", t->data.designation, shown_length(t->data.tapping_drill, inch),
                       f->id.value, shown_length(d, inch));
  const double deep = length_of(*f), end = f->depth.known() ? shortest_lead * t->data.pitch : 0;
  if (!t->depth.empty() && deep > 0)
    if (const auto q = unit::parse(t->depth, unit::Kind::length); q.ok() && q->si > deep - end + 1e-6)
      return fmt::format("{} is {} deep{}: no thread of {} goes into it", f->id.value, shown_length(deep, inch),
                         end > 0 ? " and blind, and the last pitch is no full thread" : "", t->depth);
  return "";
}

/// All that is wrong, hole by hole.
std::string wrong_threads(const std::string& answer, const plan::Plan& read) {
  if (answer == "none") return "";
  std::vector<std::string> known, wrong;
  for (const plan::Feature& f : read.features)
    if (hole_like(f)) known.push_back(f.id.value);
  if (listed(answer).empty()) return "names no hole";
  std::set<std::string> named;
  for (const std::string& item : listed(answer))
    if (std::string w = wrong_thread(item, read, known, named); !w.empty()) wrong.push_back(std::move(w));
  return base::join(wrong, "; ");
}

Form form_of(const std::string& id) {
  if (id == "per_week" || id == "operators" || id == "pallet_sets") return Form::count;
  if (id == "machine") return Form::machine;
  if (id == "material") return Form::material;
  if (id == "cast_faces" || id == "pin_holes") return Form::features;
  if (id == "critical") return Form::requirements;
  if (id == "threads") return Form::threads;
  if (id == "general_tolerance") return Form::limits;
  if (id == "casting_price") return Form::money;
  return Form::choice;
}

/// What is wrong with a value of a `take` whose id is known; empty when a stage can use it.
std::string wrong_take(const std::string& id, const std::string& allowed, const std::string& value,
                       const plan::Plan& read) {
  if (!takes(id, value)) {
    const std::string form = allowed == "1..9" ? "a whole number, 1 to 9" : "two holes such as \"H3@1, H3@2\"";
    return "must be " + (allowed == "1..9" || allowed == "holes" ? form : "one of: " + allowed);
  }
  if (allowed != "holes") return "";
  std::vector<std::string> known;
  for (const plan::Feature& f : read.features)
    if (hole_like(f)) known.push_back(f.id.value);
  std::string wrong = wrong_references(value, {}, known, "feature");
  const std::vector<std::string> two = listed(value);
  for (const std::string& s : two)
    if (wrong.empty()) wrong = wrong_place(s, read);
  if (!wrong.empty() || (two.size() == 2 && two[0] != two[1])) return wrong;
  return "must be two different holes";
}

/// What is wrong with "cut.H4.drill" = "T6"; no problem when a stage may use it. Whether the tool fits shows when it is
/// tried. The tools of the shop count where `read` has them.
std::optional<Problem> wrong_cut_take(const std::string& id, const std::string& value, const plan::Plan& read) {
  const std::string head = std::string(cut_takes).substr(5);  // "cut."
  const std::size_t dot = id.rfind('.');
  const std::string feature = dot > head.size() ? id.substr(head.size(), dot - head.size()) : id.substr(head.size()),
                    word = dot > head.size() ? id.substr(dot + 1) : "";
  std::vector<std::string> features, tools;
  for (const plan::Feature& f : read.features) features.push_back(f.id.value);
  if (std::find(features.begin(), features.end(), feature) == features.end())
    return bad(fmt::format("take.{}: there is no feature of that name", id), feature,
               "cut.FEATURE.WORD, such as \"cut.H4.drill\"", base::nearest(feature, features));
  const std::vector<std::string>& words = cut_words();
  if (std::find(words.begin(), words.end(), word) == words.end())
    return bad(fmt::format("take.{}: no cut is called so", id), word, "one of: " + base::join(words, ", "),
               base::nearest(word, words));
  for (const plan::Tool& t : read.shop.tools) tools.push_back(t.id.value);
  if (!tools.empty() && value != "as reckoned" && std::find(tools.begin(), tools.end(), value) == tools.end())
    return bad(fmt::format("take.{}: the shop file has no such tool", id), value,
               "a tool of the shop, or \"as reckoned\"", base::nearest(value, tools));
  return std::nullopt;
}

/// What is wrong with "gauge.H1b" = "air".
std::optional<Problem> wrong_gauge_take(const std::string& id, const std::string& value, const plan::Plan& read) {
  const std::string feature = id.substr(std::string(gauge_takes).size() - 5);
  std::vector<std::string> features, gauges;
  for (const plan::Requirement& r : read.requirements)
    if (r.kind.value == "size") features.push_back(plan::parse_reference(r.feature.value).id);
  for (const plan::Gauge& g : read.shop.gauges) gauges.push_back(g.id.value);
  if (std::find(features.begin(), features.end(), feature) == features.end())
    return bad(fmt::format("take.{}: no feature of that name has a size with limits", id), feature, "gauge.FEATURE",
               base::nearest(feature, features));
  if (!gauges.empty() && value != "as reckoned" && std::find(gauges.begin(), gauges.end(), value) == gauges.end())
    return bad(fmt::format("take.{}: the shop file has no such gauge", id), value,
               "a gauge of the shop, or \"as reckoned\"", base::nearest(value, gauges));
  return std::nullopt;
}

/// A number may stand bare in the file; everything else is a text.
std::optional<std::string> text_of(const toml::node& n) {
  if (const auto s = n.value_exact<std::string>()) return *s;
  if (const auto i = n.value_exact<std::int64_t>()) return std::to_string(*i);
  return std::nullopt;
}

/// The `[take]` table: "seat.pins" = "swapped" and seat.pins = "swapped" say the same.
class Takes {
 public:
  Takes(std::string path, const plan::Plan& read, Answers& out, Problems& problems)
      : path_(std::move(path)), read_(read), out_(out), problems_(problems), known_(known_takes()) {
    for (const auto& [id, allowed] : known_) ids_.push_back(id.substr(5));
    ids_.emplace_back("cut.FEATURE.WORD"), ids_.emplace_back("gauge.FEATURE");
  }
  void table(const toml::table& t, const std::string& head = "") {
    for (const auto& [key, node] : t) {
      const std::string id = head + std::string(key.str());
      if (const auto* deeper = node.as_table()) table(*deeper, id + ".");
      else one(id, node, key.source().begin);
    }
  }

 private:
  void say(Problem p, const toml::source_position& at) {
    p.where = {path_, static_cast<int>(at.line), static_cast<int>(at.column)};
    problems_.push_back(std::move(p));
  }
  void one(const std::string& id, const toml::node& node, const toml::source_position& at) {
    if (base::starts_with("take." + id, cut_takes) || base::starts_with("take." + id, gauge_takes))
      return named(id, node, at);
    const auto known =
        std::find_if(known_.begin(), known_.end(), [&](const auto& k) { return k.first == "take." + id; });
    if (known == known_.end())
      return say(bad("no runner-up is taken by this", id, base::join(ids_, ", "), base::nearest(id, ids_)), at);
    const auto value = text_of(node);
    const auto& there = node.source().begin;
    if (!value) return say(bad(fmt::format("take.{}: must be a text", id), "", known->second), there);
    if (value->empty()) return;  // left as reckoned
    if (out_.count("take." + id) != 0) return say(bad("this is taken twice", id, "one of the two"), at);
    const std::string why = wrong_take(known->first, known->second, *value, read_);
    if (!why.empty()) return say(bad(fmt::format("take.{}: {}", id, why), *value), there);
    out_[known->first] = *value;
  }
  /// A tool for a cut, a gauge for a size.
  void named(const std::string& id, const toml::node& node, const toml::source_position& at) {
    const auto value = text_of(node);
    if (!value)
      return say(bad(fmt::format("take.{}: must be a text", id), "", "a name of the shop file"), node.source().begin);
    if (value->empty()) return;  // left as reckoned
    if (out_.count("take." + id) != 0) return say(bad("this is taken twice", id, "one of the two"), at);
    auto wrong = base::starts_with("take." + id, cut_takes) ? wrong_cut_take(id, *value, read_)
                                                            : wrong_gauge_take(id, *value, read_);
    if (wrong) return say(std::move(*wrong), node.source().begin);
    out_["take." + id] = *value;
  }

  std::string path_;
  const plan::Plan& read_;
  Answers& out_;
  Problems& problems_;
  std::vector<std::pair<std::string, std::string>> known_;
  std::vector<std::string> ids_;
};

}  // namespace

std::vector<Question> questions(const plan::Plan& read, const plan::Shop& shop) {
  std::vector<Question> out;
  for (Asked& a : all(read, shop)) out.push_back(std::move(a.question));
  return out;
}

std::string wrong_answer(const Question& question, const std::string& answer, const plan::Plan& read) {
  return wrong(form_of(question.id), question, answer, read);
}

Outcome<Answers> read_answers(const std::string& text, const std::string& path, const std::vector<Question>& asked,
                              const plan::Plan& read) {
  Problems problems;
  const plan::Parsed parsed = plan::parse_toml(
      text, [](std::string_view) { return false; }, problems);
  for (Problem& p : problems) p.where.file = path;
  Answers out;
  std::vector<std::string> ids;
  ids.reserve(asked.size());
  for (const Question& q : asked) ids.push_back(q.id);
  ids.emplace_back("take");
  std::vector<Question> more;  // past the dozen: not asked, and an answer counts
  for (Asked& a : every(read, read.shop)) more.push_back(std::move(a.question));
  for (const auto& [key, node] : parsed.table) {
    const std::string id(key.str());
    const auto at = [&](const toml::source_position& p) {
      return Where{path, static_cast<int>(p.line), static_cast<int>(p.column)};
    };
    const auto say = [&](Problem p, const toml::source_position& where) {
      p.where = at(where);
      problems.push_back(std::move(p));
    };
    if (id == "take") {
      if (const auto* t = node.as_table()) Takes(path, read, out, problems).table(*t);
      else say(bad("what is taken is a table", "", "[take]"), key.source().begin);
      continue;
    }
    const Question* question = nullptr;
    for (const std::vector<Question>* from : {&std::as_const(more), &asked})
      for (const Question& q : *from)
        if (q.id == id) question = &q;
    if (question == nullptr) {
      say(bad("nobody asked this", id, base::join(ids, ", "), base::nearest(id, ids)), key.source().begin);
      continue;
    }
    const auto answer = text_of(node);
    if (!answer) {
      say(bad("an answer is a text", id, question->example), node.source().begin);
      continue;
    }
    if (answer->empty()) continue;  // left open
    const std::string why = wrong_answer(*question, *answer, read);
    if (!why.empty())
      say(bad(fmt::format("{}: {}", id, why), *answer, question->choices.empty() ? question->example : ""),
          node.source().begin);  // choices stand in the sentence
    else out[id] = *answer;
  }
  std::sort(problems.begin(), problems.end(), [](const Problem& a, const Problem& b) {
    return a.where.line != b.where.line ? a.where.line < b.where.line : a.where.column < b.where.column;
  });
  if (!problems.empty()) return problems;
  return out;
}

namespace {

/// The hole carries a thread: its bore is the drill's. Not so deep as the hole where nobody said, by the tap's lead.
void tap(plan::Plan& plan, const std::string& item) {
  const auto t = tapped_of(item);
  if (!t.ok()) return;
  for (plan::Feature& f : plan.features) {
    if (f.id.value != t->feature || f.thread.known()) continue;
    const bool inch = plan.header.units.value == "inch", blind = f.depth.known();
    f.kind = {}, f.name = {};
    give(f.kind, "thread");
    give(f.name, t->thread.typed + " thread");
    f.thread.value = t->thread, f.thread.typed = t->thread.typed, f.thread.origin = plan::Origin::given;
    give_length(f.drill, diameter_of(f), inch);
    const double deep = length_of(f) - (blind ? lead_of_tap * t->data.pitch : 0);
    if (!t->depth.empty()) give(f.thread_depth, unit::Kind::length, t->depth);
    else if (deep > 0) give_length(f.thread_depth, 1e-4 * std::floor(1e4 * deep + 1e-6), inch);
  }
}

}  // namespace

namespace {

/// A blind hole that leaves a tap less than its lead.
void say_lead(const plan::Feature& f, const Tapped& t, bool inch, Draft& d) {
  const double lead = lead_of_tap * t.data.pitch, deep = length_of(f);
  if (!f.depth.known() || !(deep > 0)) return;
  if (!f.thread_depth.known())
    d.disagree.push_back(fmt::format(
        "feature.{}: a blind hole of {} is no longer than the {} that a tap's lead and its chips take "
        "({:.0f} pitches, from memory): how deep its thread goes stays open; say it, \"{} {} 4 mm\", or drill "
        "deeper",
        f.id.value, shown_length(deep, inch), shown_length(lead, inch), lead_of_tap, f.id.value, t.thread.typed));
  else if (f.thread_depth.si > deep - lead + 1e-6)
    d.disagree.push_back(
        fmt::format("feature.{}: thread {} deep leaves {} to the end of a blind hole, {:.1f} pitches; a tap's lead and "
                    "its chips take {:.0f} (from memory): a bottoming tap, a thread mill, or a deeper hole",
                    f.id.value, f.thread_depth.typed, shown_length(deep - f.thread_depth.si, inch),
                    (deep - f.thread_depth.si) / t.data.pitch, lead_of_tap));
}

}  // namespace

void say_threads(const Answers& answers, const plan::Plan& read, Draft& d) {
  const auto it = answers.find("threads");
  if (it == answers.end()) {
    if (const auto like = look_tapped(read, " as for "); !like.empty())
      d.disagree.push_back(
          fmt::format("drilled and not tapped, since nobody said whether: {}; the answer `threads` says it",
                      base::join(like, ", ")));
    return;
  }
  for (const std::string& item : listed(it->second == "none" ? "" : it->second)) {
    const auto t = tapped_of(item);
    const plan::Feature* f = t.ok() ? plan::find_feature(d.plan, t->feature) : nullptr;
    if (f == nullptr || !f->thread.known()) continue;
    say_lead(*f, *t, read.header.units.value == "inch", d);
    d.choices.push_back({"casting",
                         "feature." + f->id.value,
                         fmt::format("tapped {}{}", t->thread.typed,
                                     f->thread_depth.known() ? ", " + f->thread_depth.typed + " deep" : ""),
                         "the model shows a plain hole as wide as the drill",
                         "answer",
                         {}});
    if (t->depth.empty() && f->depth.known() && f->thread_depth.known())
      d.assumed.push_back(
          fmt::format("feature.{}.thread_depth {}: {:.0f} pitches short of the hole's end, where no tap "
                      "cuts a full thread: from memory; the drawing says",
                      f->id.value, f->thread_depth.typed, lead_of_tap));
  }
}

std::string choices_text(const Question& q) {
  const bool commas = std::any_of(q.choices.begin(), q.choices.end(),
                                  [](const std::string& c) { return c.find(',') != std::string::npos; });
  return base::join(q.choices, commas ? " | " : ", ");
}

void apply_answers(const Answers& answers, plan::Plan& plan) {
  const auto said = [&](const char* id) {
    const auto it = answers.find(id);
    return it == answers.end() ? std::string() : it->second;
  };
  const auto said_or_start = [&](const char* id, const char* start) {
    const std::string a = said(id);
    return a.empty() ? std::string(start) : a;
  };
  if (const std::string a = said("per_week"); !a.empty() && !plan.demand.per_week.known())
    give(plan.demand.per_week, unit::Kind::number, a);
  if (const std::string a = said_or_start("operators", "1"); !plan.demand.operators.known()) {
    plan.demand.operators.value = static_cast<int>(base::to_double(a).value_or(1));
    plan.demand.operators.origin = plan::Origin::given;
    plan.demand.operators.typed = a;
  }
  if (!plan.demand.weeks.known()) {
    plan.demand.weeks.value = 48, plan.demand.weeks.origin = plan::Origin::given, plan.demand.weeks.typed = "48";
  }
  if (!plan.demand.shift.known()) give(plan.demand.shift, unit::Kind::time, "37.5 h");
  if (!plan.demand.available.known()) give(plan.demand.available, unit::Kind::fraction, "85 % (70..95 %)");
  const std::string critical = said("critical");
  for (const std::string& id : listed(critical == "none" ? "" : critical))
    for (plan::Requirement& r : plan.requirements)
      if (r.id.value == id) r.critical.value = true, r.critical.origin = plan::Origin::given, r.critical.typed = "true";
  if (const std::string a = said("threads"); a != "none")
    for (const std::string& item : listed(a)) tap(plan, item);
  if (!no_sizes(plan)) return;
  const std::string limits = said_or_start("general_tolerance", "± 0.1 mm");
  for (const plan::Feature& f : plan.features) {
    const unit::Limits& d = f.diameter.value;
    if (!d.nominal || (d.lower && d.upper) || f.thread.known()) continue;
    plan::Requirement r;
    give(r.id, f.id.value + ".size");
    give(r.feature, f.id.value);
    give(r.kind, "size");
    const bool inch = limits.find("in") != std::string::npos;
    give(r.limits, "Ø" + base::shortest(std::round(*d.nominal / (inch ? 0.0254 : 1e-3) * 1e5) / 1e5) + " " + limits);
    give(r.origin, "limits of sizes without their own");
    plan.requirements.push_back(std::move(r));
  }
}

std::string answers_form(const std::vector<Question>& asked) {
  std::string out =
      "# Answers for `fettle begin --answers`. What stays empty is assumed where that is said, else it stays open.\n";
  for (const Question& q : asked) {
    out += fmt::format("\n# {}\n# {}\n", q.words, q.why);
    if (!q.choices.empty() && q.choices.size() <= 12) out += fmt::format("# one of: {}\n", choices_text(q));
    else out += fmt::format("# such as: {}\n", q.example);
    out += q.start.empty() ? "" : fmt::format("# unanswered: {}\n", q.start);
    out += q.id + " = \"\"\n";
  }
  out +=
      "\n# Runners-up to take instead of what is reckoned; the proposed plans name them. Without the # a line "
      "counts.\n";
  out += "[take]\n";
  for (const auto& [id, allowed] : known_takes()) {
    const std::string may = allowed == "holes" ? "two holes, \"H3@1, H3@2\"" : allowed;
    out += fmt::format("# \"{}\" = \"\"  # {}\n", id.substr(5), may);
  }
  out += fmt::format("# \"cut.H1.drill\" = \"\"  # another tool of the shop for that cut; words of cuts: {}\n",
                     base::join(cut_words(), ", "));
  out += "# \"gauge.H1\" = \"\"  # another gauge of the shop for that size\n";
  return out;
}

}  // namespace fettle::begin
