#include "study/study.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <future>
#include <map>
#include <optional>

#include "base/text.h"
#include "base/version.h"
#include "study/internal.h"
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
  bool aside = false;  ///< neither needs what other steps find, nor do they need what it finds: can run beside them
};
constexpr Step all_steps[] = {{"lifting", lifting_findings},      {"raw sizes", casting_size_findings},
                              {"locating", locating_findings},    {"castings", casting_findings},
                              {"cutting", cutting_findings},      {"holding", holding_findings},
                              {"stiffness", stiffness_findings},  {"chatter", chatter_findings, true},
                              {"tolerances", tolerance_findings}, {"working dimensions", working_findings},
                              {"practice", practice_findings},    {"bores", bore_findings},
                              {"seals", seal_findings},           {"run-off", run_off_findings},
                              {"reach", reach_findings},          {"time and cost", timing_findings}};

bool wanted(const Options& options, const Step& x) {
  return options.only.empty() || std::find(options.only.begin(), options.only.end(), x.what) != options.only.end();
}

/// The step that runs beside the others where there is a thread for it. What it says is put where it would stand had
/// it run in its turn, so that the study is the same.
class Aside {
 public:
  explicit Aside(Context& c)
      : c_(c), options_(c.options), context_{c.plan, c.data, options_, c.memo, study_, problems_, c.style} {
    if (c.options.threads < 2) return;
    options_.progress = nullptr, options_.stop = nullptr;
    const auto* const mine =
        std::find_if(std::begin(all_steps), std::end(all_steps), [](const Step& x) { return x.aside; });
    if (mine == std::end(all_steps) || !wanted(c.options, *mine)) return;
    running_ = std::async(std::launch::async, [this, mine] { mine->run(context_); });
  }
  Aside(const Aside&) = delete;
  Aside& operator=(const Aside&) = delete;
  bool runs() const { return running_.valid(); }
  void leave_place(const Step& x) {
    step_ = x.what, findings_ = c_.study.findings.size(), notices_ = c_.study.notices.size();
    nests_ = c_.study.compliance.nests.size();
  }
  void join() {
    if (!runs()) return;
    running_.get();
    c_.problems.insert(c_.problems.end(), problems_.begin(), problems_.end());
    for (const Finding& f : study_.findings) c_.study.step_of[f.id] = step_;
    put(c_.study.findings, findings_, study_.findings);
    put(c_.study.notices, notices_, study_.notices);
    put(c_.study.compliance.nests, nests_, study_.compliance.nests);
    c_.study.lobes = std::move(study_.lobes);
    c_.study.nest_limits = std::move(study_.nest_limits);
  }

 private:
  template <class T>
  static void put(std::vector<T>& into, std::size_t at, std::vector<T>& what) {
    into.insert(into.begin() + static_cast<std::ptrdiff_t>(at), std::make_move_iterator(what.begin()),
                std::make_move_iterator(what.end()));
  }
  Context& c_;
  Options options_;
  Study study_;
  Problems problems_;
  Context context_;
  std::string step_;
  std::size_t findings_ = 0, notices_ = 0, nests_ = 0;
  std::future<void> running_;  // last: done before the rest of this goes
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

Outcome<Study> run(const plan::Plan& plan, const Data& data, const Options& options, Memo& memo) {
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
  Aside beside(c);
  double done = 0;
  for (const Step& x : all_steps) {
    done += 1;
    if (!wanted(options, x)) continue;
    if (options.progress) options.progress(x.what, (done - 1) / std::size(all_steps));
    if (options.stop && options.stop()) return Problem{Fault::environment, {}, "stopped", {}, {}, {}};
    const std::size_t before = s.findings.size();
    if (x.aside && beside.runs()) beside.leave_place(x);
    else x.run(c);
    if (!problems.empty()) return problems;
    for (std::size_t i = before; i < s.findings.size(); ++i) s.step_of[s.findings[i].id] = x.what;
  }
  beside.join();
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
                     "tools against jaws, clamps and pins", "reach of face mills and of cuts across the operation's up",
                     "control programs (fettle program prove)"};
  if (!unjudged.empty()) s.not_looked_at.insert(s.not_looked_at.begin(), unjudged);
  return s;
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
