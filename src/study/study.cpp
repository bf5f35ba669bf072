#include "study/study.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <deque>
#include <filesystem>
#include <future>
#include <iterator>
#include <map>
#include <optional>

#include "base/text.h"
#include "base/version.h"
#include "study/internal.h"
#include "study/of_one_study.h"
#include "study/practice.h"
#include "study/program_times.h"

namespace fettle::study {

using finding::Finding;
using finding::State;

namespace {

const char* number_word(int n) {
  constexpr const char* words[] = {"no",    "one",   "two",  "three", "four",   "five",  "six",
                                   "seven", "eight", "nine", "ten",   "eleven", "twelve"};
  return n <= 12 ? words[n] : nullptr;
}
std::string count_of(int n, const char* one, const char* many) {
  const char* w = number_word(n);
  return fmt::format("{} {}", w != nullptr ? std::string(w) : fmt::format("{}", n), n == 1 ? one : many);
}
std::string verdict_of(const Study& s) {
  const Counts& c = s.counts;
  if (s.findings.empty()) return "Nothing to judge yet: the plan gives no operation, casting or pallet.";
  const auto& first = s.findings.front();
  const std::string what =
      fmt::format("{}{}", first.title, first.operation.empty() ? "" : " (" + first.operation + ")");
  if (c.outside > 0)
    return fmt::format("Not yet. {} outside; the first to mend: {}.",
                       capital(count_of(c.outside, "finding is", "findings are")), what);
  if (c.open + c.beyond > 0)
    return fmt::format("Nothing is outside, but {} cannot be judged yet{}.",
                       count_of(c.open + c.beyond, "question", "questions"),
                       c.tight > 0 ? fmt::format(" and {} tight", count_of(c.tight, "is", "are")) : "");
  if (c.tight > 0)
    return fmt::format(
        "Nothing that this version looks at is outside, but {} tight; measure what is assumed, first for {}.",
        count_of(c.tight, "finding is", "findings are"), what);
  return fmt::format("What this version looks at is inside ({} findings), even at the bad end of everything assumed.",
                     c.inside);
}

/// Requirements of kinds that no science looks at yet.
std::string kinds_not_judged(const plan::Plan& plan) {
  std::map<std::string, int> kinds;
  int n = 0;
  for (const plan::Requirement& r : plan.requirements) {
    const std::string& k = r.kind.value;
    const bool judged = k == "size" || k == "distance" || k == "depth" || k == "position" || k == "coaxiality" ||
                        k == "perpendicularity" || k == "parallelism" || k == "flatness" || k == "straightness" ||
                        k == "roundness" || k == "cylindricity" || k == "roughness";
    if (judged) continue;
    ++kinds[k];
    ++n;
  }
  if (n == 0) return {};
  std::string words;
  for (const auto& [k, count] : kinds) words += fmt::format("{}{} {}", words.empty() ? "" : ", ", count, k);
  return fmt::format("{} of {} requirements: {}", n, plan.requirements.size(), words);
}

struct Step {
  const char* what;
  void (*run)(Context&);
  /// Needs nothing that other steps find: may run beside them. A number: the order in which whoever is free takes it;
  /// 0: runs in its turn. Chatter is the longest and begins with the plate, for which push-off waits too: until that
  /// is solved the others do what needs no plate.
  int free = 0;
  /// Free only where no virtual castings are drawn: what is drawn keeps all threads busy by itself.
  bool drawn = false;
  double share = 0;  ///< of a whole study that is done when it begins in its turn
};
constexpr Step all_steps[] = {{"lifting", lifting_findings, 9},
                              {"raw sizes", casting_size_findings, 8},
                              {"locating", locating_findings, 7},
                              {"castings", casting_findings},
                              {"cutting", cutting_findings, 14},
                              {"holding", holding_findings, 2},
                              {"stiffness", stiffness_findings, 13},
                              {"chatter", chatter_findings, 1},
                              {"tolerances", tolerance_findings, 12, true, draws_share},
                              {"working dimensions", working_findings, 11},
                              {"practice", practice_findings, 6},
                              {"bores", bore_findings, 4},
                              {"seals", seal_findings, 10},
                              {"run-off", run_off_findings, 3},
                              {"reach", reach_findings, 5},
                              {"time and cost", timing_findings, 0, false, 0.95}};

bool is_free(const Step& x, const Options& options) { return x.free > 0 && !(x.drawn && options.monte_carlo); }

bool wanted(const Options& options, const Step& x) {
  return options.only.empty() || std::find(options.only.begin(), options.only.end(), x.what) != options.only.end();
}

/// A step that says what it finds apart, until it is put where it would stand had it run in its turn.
struct Apart {
  const Step* step = nullptr;
  std::atomic<bool> taken{false};
  Study study;
  Problems problems;
  std::size_t findings = 0, notices = 0, nests = 0;  ///< of the study when its turn came
};

/// The free steps, on as many threads as there are: the study is the same at any number.
class Free {
 public:
  explicit Free(Context& c) : c_(c), options_(c.options) {
    options_.progress = nullptr;
    for (const Step& x : all_steps)
      if (is_free(x, c.options) && wanted(c.options, x)) {
        apart_.emplace_back();
        apart_.back().step = &x;
      }
    for (Apart& x : apart_) order_.push_back(&x);
    std::sort(order_.begin(), order_.end(),
              [](const Apart* a, const Apart* b) { return a->step->free < b->step->free; });
    for (int n = 1; n < std::min(c.options.threads, 4) && !order_.empty(); ++n)
      threads_.push_back(std::async(std::launch::async, [this] {
        for (Apart* x : order_) run(*x);
      }));
  }
  Free(const Free&) = delete;
  Free& operator=(const Free&) = delete;
  ~Free() {  // what ends early leaves nothing running
    for (Apart& x : apart_) x.taken = true;
  }
  /// Its turn has come: remembers the place where it says what it finds. False: it is none of these.
  bool turn(const Step& step) {
    for (Apart& x : apart_) {
      if (x.step != &step) continue;
      x.findings = c_.study.findings.size(), x.notices = c_.study.notices.size();
      x.nests = c_.study.compliance.nests.size();
      return true;
    }
    return false;
  }
  /// Lends a hand until none is left to take.
  void work(const std::function<void(const Step&)>& begins) {
    for (Apart* x : order_) {
      if (!x->taken) begins(*x->step);
      run(*x);
    }
  }
  /// Waits for all and puts what they say in its place. With problems: those of the first step that has any; `now`:
  /// the step that has come to those of the study itself.
  void join(const Step* now) {
    for (std::future<void>& t : threads_) t.get();
    threads_.clear();
    for (const Apart& x : apart_)
      if (!x.problems.empty() && (c_.problems.empty() || x.step < now)) {
        c_.problems = x.problems;
        return;
      }
    if (!c_.problems.empty()) return;
    for (auto x = apart_.rbegin(); x != apart_.rend(); ++x) put(*x);
    apart_.clear();
  }

 private:
  bool run(Apart& x) {
    if (x.taken.exchange(true)) return false;
    Context mine{c_.plan, c_.data, options_, c_.memo, x.study, x.problems, c_.style, 0, 1, c_.of_one_study};
    x.step->run(mine);
    return true;
  }
  template <class T>
  static void put(std::vector<T>& into, std::size_t at, std::vector<T>& what) {
    into.insert(into.begin() + static_cast<std::ptrdiff_t>(at), std::make_move_iterator(what.begin()),
                std::make_move_iterator(what.end()));
  }
  template <class T>
  static void take(std::vector<T>& into, std::vector<T>& what) {
    if (!what.empty()) into = std::move(what);
  }
  void put(Apart& x) {
    Study &s = c_.study, &a = x.study;
    for (const Finding& f : a.findings) s.step_of.emplace(f.id, x.step->what);
    put(s.findings, x.findings, a.findings);
    put(s.notices, x.notices, a.notices);
    std::vector<NestVerdict> nests = std::move(s.compliance.nests);
    put(nests, x.nests, a.compliance.nests);
    if (a.compliance.there) s.compliance = std::move(a.compliance);
    s.compliance.nests = std::move(nests);
    if (a.play.there) s.play = std::move(a.play);
    if (a.thickness.there) s.thickness = std::move(a.thickness);
    if (a.kept) s.kept = a.kept;
    take(s.requirements, a.requirements);
    take(s.forces, a.forces), take(s.modes, a.modes), take(s.lobes, a.lobes), take(s.nest_limits, a.nest_limits);
    take(s.slips, a.slips), take(s.jaws, a.jaws);
  }
  Context& c_;
  Options options_;
  std::deque<Apart> apart_;                 ///< in the order of the steps
  std::vector<Apart*> order_;               ///< as they are taken
  std::vector<std::future<void>> threads_;  // last: done before the rest of this goes
};

void collect_assumptions(Study& s) {
  std::map<std::string, finding::Assumption> by_key;
  std::map<std::string, double> effect;
  for (const Finding& f : s.findings)
    for (const auto& a : f.assumptions) {
      const double e = std::fabs(a.margin_at_high - a.margin_at_low);
      auto& kept = by_key[a.key + "\n" + a.name];
      double& most = effect[a.key + "\n" + a.name];
      const bool flips = kept.flips || a.flips;
      if (kept.name.empty() || e > most) kept = a;
      kept.flips = flips;
      if (std::isfinite(e)) most = std::max(most, e);
    }
  for (auto& [key, a] : by_key) s.assumptions.push_back(a);
  std::stable_sort(s.assumptions.begin(), s.assumptions.end(), [&](const auto& a, const auto& b) {
    return effect[a.key + "\n" + a.name] > effect[b.key + "\n" + b.name];
  });
}

}  // namespace

Data load_data(const plan::Plan& plan) {
  Data d;
  const std::string folder = plan.files.empty() ? "" : std::filesystem::path(plan.files[0].path).parent_path().string();
  const auto load = [&](const plan::Text& t) {
    if (!t.given()) return;
    const std::filesystem::path p(t.value);
    const std::string path =
        p.is_absolute() || folder.empty() ? t.value : (std::filesystem::path(folder) / p).lexically_normal().string();
    const Outcome<std::string> bytes = base::read_file(path);
    if (bytes.ok()) d.files[t.value] = bytes.value();
    else d.not_read[t.value] = bytes.problem().what;
  };
  load(plan.casting.measured.table);
  load(plan.casting.measured.faces);
  load(plan.casting.measured.scan);
  for (const plan::Reading& r : plan.readings) load(r.file);
  for (const plan::Operation& o : plan.operations) {
    if (!o.program.given()) continue;
    if (program_stays_inside(o.program.value)) load(o.program);
    else d.not_read[o.program.value] = "a program lies in the plan's folder or below it";
  }
  if (plan.casting.points.value == "models") {
    const auto read = [&](const plan::Text& t, double mesh) -> std::optional<solid::Model> {
      if (!t.given()) return {};
      const std::filesystem::path p(t.value);
      const std::string path =
          p.is_absolute() || folder.empty() ? t.value : (std::filesystem::path(folder) / p).lexically_normal().string();
      solid::ReadOptions options;
      options.mesh_chord = mesh;
      const Outcome<solid::Model> m = solid::read_step(path, options);
      if (m.ok()) return *m;
      d.not_read[t.value] = say(m.problem());
      return {};
    };
    auto part = read(plan.part.model, 0);
    auto cast = read(plan.casting.model, 2e-5);
    if (part && cast) d.models = std::make_shared<const Models>(Models{std::move(*part), std::move(*cast)});
  }
  return d;
}

std::vector<std::string> steps() {
  std::vector<std::string> out;
  for (const Step& x : all_steps) out.emplace_back(x.what);
  return out;
}

namespace {
Problem stopped() { return {Fault::environment, {}, "stopped", {}, {}, {}}; }

Outcome<Study> run_all(const plan::Plan& plan, const Data& data, const Options& options, Memo& memo) {
  Study s;
  Problems problems;
  unit::Style style;
  style.system = plan.header.units.value == "inch" ? unit::Style::System::inch : unit::Style::System::metric;
  Context c{plan, data, options, memo, s, problems, style};
  s.plan_name = plan.header.name.value;
  s.plan_hash = plan.hash;
  s.version = base::version();
  s.tables = base::tables_version();
  s.seed = plan.header.seed.value;
  s.notices = plan.notices;
  c.of_one_study = std::make_shared<OfOneStudy>(c);
  Free free(c);
  double share = 0;
  const auto begins = [&](const Step& x) {
    share = std::max(share, x.share);
    if (options.progress) options.progress(x.what, share);
    look_for_stop(c);
  };
  const Step& last = *(std::end(all_steps) - 1);
  for (const Step& x : all_steps) {
    if (&x == &last) {
      share = last.share;
      free.work(begins);
      free.join(&x);
    }
    if (!wanted(options, x) || free.turn(x)) continue;
    begins(x);
    if (problems.empty()) x.run(c);
    if (!problems.empty()) {
      free.join(&x);
      return problems;
    }
    for (const Finding& f : s.findings) s.step_of.emplace(f.id, x.what);
  }
  if (!problems.empty()) return problems;
  finding::sort_by_need(s.findings);
  for (const Finding& f : s.findings) {
    int& n = f.state == State::inside    ? s.counts.inside
             : f.state == State::tight   ? s.counts.tight
             : f.state == State::outside ? s.counts.outside
             : f.state == State::open    ? s.counts.open
                                         : s.counts.beyond;
    ++n;
  }
  collect_assumptions(s);
  s.verdict = verdict_of(s);
  const std::string unjudged = kinds_not_judged(plan);
  s.not_looked_at = {"nests against the plate's edge and the machine's travel", "walls between features",
                     "tools against clamps and pins", "reach of face mills and of cuts across the operation's up",
                     "control programs (fettle program prove)"};
  if (!unjudged.empty()) s.not_looked_at.insert(s.not_looked_at.begin(), unjudged);
  return s;
}

}  // namespace

Outcome<Study> run(const plan::Plan& plan, const Data& data, const Options& options, Memo& memo) {
  try {
    return run_all(plan, data, options, memo);
  } catch (const Stopped&) {
    return stopped();
  }
}

int exit_code(const Study& s) {
  if (s.counts.outside > 0) return 1;
  return s.findings.empty() || s.counts.open + s.counts.beyond > 0 ? 4 : 0;
}

std::vector<Moved> moved(const Study& before, const Study& after) {
  std::vector<Moved> out;
  std::map<std::string, const Finding*> old;
  for (const Finding& f : before.findings) old[f.id] = &f;
  // Less than half a hundredth of a margin is not worth a line.
  const auto same = [](double a, double b) { return (std::isnan(a) && std::isnan(b)) || std::fabs(a - b) < 0.005; };
  for (const Finding& f : after.findings) {
    const auto it = old.find(f.id);
    Moved m{f.id, f.title, State::open, f.state, 0, f.margin, false, false};
    if (it == old.end()) {
      m.came = true;
    } else {
      m.before = it->second->state;
      m.margin_before = it->second->margin;
      const bool unchanged = m.before == m.after && same(m.margin_before, m.margin_after);
      old.erase(it);
      if (unchanged) continue;
    }
    out.push_back(m);
  }
  for (const auto& [id, f] : old) out.push_back({id, f->title, f->state, State::open, f->margin, 0, false, true});
  return out;
}

}  // namespace fettle::study
