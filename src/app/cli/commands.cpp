#include "app/cli/commands.h"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <map>
#include <set>
#include <thread>

#include "app/cli/report.h"
#include "app/cli/results.h"
#include "app/cli/study_text.h"
#include "app/cli/voids.h"
#include "base/memory.h"
#include "base/text.h"
#include "plan/read.h"
#include "study/study.h"

namespace fettle::cli {

namespace {

Look look_of_terminal(bool all) {
  Look look;
  look.all = all;
  const bool tty = ::isatty(STDOUT_FILENO) != 0;
  const char* no_colour = std::getenv("NO_COLOR");
  look.colour = tty && (no_colour == nullptr || *no_colour == '\0');
  winsize size{};
  if (tty && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
    look.width = std::clamp<int>(size.ws_col, 80, 130);
  return look;
}

/// Progress on stderr, from the second second on, only on a terminal.
/// In a terminal one line that is written over; `shown` tells whether it stands there.
std::function<void(const std::string&, double)> progress(bool& shown) {
  const auto start = std::chrono::steady_clock::now();
  const bool tty = ::isatty(STDERR_FILENO) != 0;
  return [start, tty, &shown, last = start](const std::string& what, double share) mutable {
    const auto now = std::chrono::steady_clock::now();
    if (now - start < std::chrono::seconds(1) || now - last < std::chrono::milliseconds(500)) return;
    last = now;
    shown = tty;
    if (tty) std::cerr << fmt::format("\r{} {:3.0f} %\x1b[K", what, 100 * share) << std::flush;
    else std::cerr << fmt::format("{} {:.0f} %\n", what, 100 * share);
  };
}

struct Loaded {
  plan::Plan plan;
  study::Data data;
};

Outcome<Loaded> load(const std::string& path) {
  Outcome<plan::Plan> p = plan::read_plan(path);
  if (!p.ok()) return p.problems();
  Loaded l{std::move(p.value()), {}};
  l.data = study::load_data(l.plan);
  return l;
}

/// `pictures`: with the curves that a folder of results and the JSON show.
Outcome<study::Study> run(const Loaded& l, bool quick, int threads, bool pictures) {
  base::keep_memory();
  study::Options options;
  options.threads = threads;
  options.pictures = pictures;
  options.monte_carlo = !quick;
  bool shown = false;
  options.progress = progress(shown);
  study::Memo memo;
  Outcome<study::Study> s = study::run(l.plan, l.data, options, memo);
  if (shown) std::cerr << "\r\x1b[K" << std::flush;  // the results begin on a clean line
  return s;
}

}  // namespace

int cores() { return static_cast<int>(std::clamp(std::thread::hardware_concurrency(), 1U, 16U)); }

int study_command(const StudyArguments& a) {
  Outcome<Loaded> l = load(a.plan);
  if (!l.ok()) return report(l.problems());
  if (a.seed >= 0) l->plan.header.seed.value = a.seed;
  const Outcome<study::Study> s = run(*l, a.quick, a.threads, a.json || !a.into.empty());
  if (!s.ok()) return report(s.problems());
  if (!a.into.empty()) {
    const Outcome<std::vector<std::string>> written = write_results(*s, l->plan, l->data, a.into);
    if (!written.ok()) return report(written.problems());
    if (!a.json)
      for (const std::string& w : *written) std::cerr << "wrote " << w << "\n";
  }
  if (a.json) std::cout << study_json(*s, l->plan);
  else std::cout << study_text(*s, l->plan, look_of_terminal(a.all));
  std::cout.flush();
  return study::exit_code(*s);
}

int explain_command(const std::string& path, const std::string& id) {
  const Outcome<Loaded> l = load(path);
  if (!l.ok()) return report(l.problems());
  const Outcome<study::Study> s = run(*l, false, cores(), false);
  if (!s.ok()) return report(s.problems());
  std::vector<std::string> ids;
  std::vector<const finding::Finding*> matches;
  for (const finding::Finding& f : s->findings) {
    ids.push_back(f.id);
    if (f.id == id) {
      matches = {&f};
      break;
    }
    if (base::lower(f.id).find(base::lower(id)) != std::string::npos ||
        base::lower(f.title).find(base::lower(id)) != std::string::npos)
      matches.push_back(&f);
  }
  if (matches.size() == 1) {
    std::cout << explain_text(*matches[0], style_of(l->plan), look_of_terminal(true));
    return 0;
  }
  if (matches.empty())
    return report(
        {bad("no finding of this plan has that id", id, "an id as `fettle study` lists it", base::nearest(id, ids))});
  std::cerr << "several findings match \"" << id << "\"; say one of:\n";
  for (const auto* f : matches) std::cerr << "  " << f->id << "   " << f->title << "\n";
  return 2;
}

namespace {

/// Two shop or pallet files: what differs, and which plans below the second one's folder it touches.
int diff_shared(const std::string& b, const std::vector<plan::Leaf>& in_a, const std::vector<plan::Leaf>& in_b) {
  std::map<std::string, std::string> old;
  for (const plan::Leaf& l : in_a) old[l.key] = l.typed;
  int n = 0;
  std::cout << "What differs\n";
  for (const plan::Leaf& l : in_b) {
    const auto it = old.find(l.key);
    if (it == old.end()) std::cout << "  " << l.path << ": new, " << l.typed << "\n";
    else if (it->second != l.typed) std::cout << "  " << l.path << ": " << it->second << " → " << l.typed << "\n";
    n += it == old.end() || it->second != l.typed ? 1 : 0;
    if (it != old.end()) old.erase(it);
  }
  for (const plan::Leaf& l : in_a)
    if (old.count(l.key) > 0) std::cout << "  " << l.path << ": gone, was " << l.typed << "\n";
  if (n == 0 && old.empty()) std::cout << "  nothing\n";
  std::cout << "\n" << voids_text(study::changes_between(in_a, in_b), {}, b, look_of_terminal(true));
  const std::string folder = std::filesystem::absolute(b).parent_path().string();
  const std::vector<std::string> plans = plan::plans_using(b, folder);
  std::cout << "\nPlans that stand on " << b << "\n";
  for (const std::string& p : plans) std::cout << "  " << p << "\n";
  if (plans.empty()) std::cout << "  none in its folder\n";
  return 0;
}

}  // namespace

int diff_command(const std::string& a, const std::string& b, bool quick) {
  const Outcome<std::vector<plan::Leaf>> sa_file = plan::shared_leaves(a), sb_file = plan::shared_leaves(b);
  if (sa_file.ok() && sb_file.ok() && !sa_file->empty() && !sb_file->empty()) return diff_shared(b, *sa_file, *sb_file);
  const Outcome<Loaded> la = load(a), lb = load(b);
  int code = 0;
  if (!la.ok()) code = std::max(code, report(la.problems()));
  if (!lb.ok()) code = std::max(code, report(lb.problems()));
  if (code != 0) return code;
  const Outcome<study::Study> sa = run(*la, quick, cores(), false), sb = run(*lb, quick, cores(), false);
  if (!sa.ok()) return report(sa.problems());
  if (!sb.ok()) return report(sb.problems());
  std::cout << diff_text(la->plan, *sa, lb->plan, *sb, look_of_terminal(true));
  return study::exit_code(*sb);
}

int rewrite_command(const std::string& path, const std::string& into, bool over) {
  const Outcome<plan::Plan> p = plan::read_plan(path);
  if (!p.ok()) return report(p.problems());
  for (const std::string& n : p->notices) std::cerr << n << "\n";
  const std::string text = plan::write_plan(*p);
  if (into.empty()) {
    std::cout << text;
    return 0;
  }
  if (std::filesystem::exists(into) && !over)
    return report({bad("the file is there already", into, "another name, or --over")});
  const Outcome<bool> done = base::write_file(into, text);
  return done.ok() ? 0 : report(done.problems());
}

int uses_command(const std::string& file, const std::string& folder) {
  if (!std::filesystem::exists(file)) return report({bad("no such file", file, "a shop or pallet file")});
  const std::vector<std::string> plans = plan::plans_using(file, folder);
  if (plans.empty()) std::cout << "no plan below " << folder << " stands on " << file << "\n";
  for (const std::string& p : plans) std::cout << p << "\n";
  return 0;
}

}  // namespace fettle::cli
