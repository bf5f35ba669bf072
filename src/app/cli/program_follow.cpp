#include "app/cli/program_follow.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "app/cli/program_prove.h"
#include "base/text.h"
#include "calc/motion/motion.h"
#include "compose/compose.h"
#include "output/programs/print.h"
#include "plan/read.h"
#include "prove/walk.h"
#include "study/internal.h"
#include "study/program_times.h"

namespace fettle::cli {

namespace {

using frame::Vec3;
using program::Motion;
using program::Move;

bool arc(const Move& m) { return m.kind == Motion::clockwise || m.kind == Motion::counter; }
bool goes(const Move& m) {
  return arc(m) || m.kind == Motion::rapid || m.kind == Motion::feed || m.kind == Motion::probe;
}

/// Pieces of an arc so that no chord leaves it by more than the sag; 1 for all else.
int pieces(const Move& m, double sag) {
  if (!arc(m)) return 1;
  const double r = frame::norm(m.start - m.centre), share = std::clamp(1 - sag / std::max(r, 1e-9), 0.0, 1.0);
  const double step = std::max(2 * std::acos(share), 0.1);
  return std::clamp(static_cast<int>(std::ceil(program::sweep(m) / step)), 1, 200);
}

/// Moves up to the stop at which the parts are turned over for another operation, that stop too; else all.
int own_moves(const program::Run& run) {
  for (const program::Remark& r : run.remarks) {
    if (r.text.rfind("turn the parts over", 0) != 0) continue;
    for (std::size_t i = 0; i < run.moves.size(); ++i)
      if (run.moves[i].kind == Motion::stop && run.moves[i].line == r.line) return static_cast<int>(i) + 1;
  }
  return static_cast<int>(run.moves.size());
}

class Follower {
 public:
  Follower(const plan::Plan& plan, const plan::Operation& o, double sag, Followed& out)
      : plan_(plan), o_(o), sag_(sag), out_(out) {}

  void all() {
    const std::size_t end = std::min(out_.run.moves.size(), static_cast<std::size_t>(std::max(0, out_.proof.moves)));
    if (end < out_.run.moves.size()) out_.other_lines = out_.run.moves[end].line;
    for (std::size_t i = 0; i < end; ++i)
      if (const Move& m = out_.run.moves[i]; (m.kind == Motion::feed || arc(m)) && !m.held.machine_frame)
        zeros_.insert(m.zero);
    for (const int z : zeros_)
      if (const int n = prove::nest_of(z, zeros_, out_.set_up.nests.size()); n >= 0) zero_of_[n] = z;
    const std::vector<double> seconds = times(end);
    for (std::size_t k = 0; k < out_.proof.track.size(); ++k) engaged_[out_.proof.track[k].move] = static_cast<int>(k);
    for (std::size_t i = 0; i < end; ++i) one(i, i < seconds.size() ? seconds[i] : 0);
    out_.total = clock_;
  }

 private:
  std::vector<double> times(std::size_t end) {
    std::vector<std::string> missing;
    const plan::Machine* machine = study::find_machine(plan_, o_.machine.value);
    const std::span<const Move> moves(out_.run.moves.data(), end);
    if (machine != nullptr) {
      const motion::Limits limits = study::motion_limits(*machine, missing);
      if (missing.empty()) {
        auto r = motion::solve({moves, limits});
        if (r.ok()) {
          out_.timed = true;
          return std::move(r->seconds);
        }
        missing.push_back(say(r.problem()));
      }
    } else {
      missing.push_back("operation.machine: where it runs");
    }
    out_.notes.push_back("times are those of the feed alone; missing: " + base::join(missing, "; "));
    std::vector<double> out;
    for (const Move& m : moves) out.push_back(m.feed > 0 && goes(m) ? program::length(m) / m.feed : m.seconds);
    return out;
  }

  int tool_of(int number) {
    if (number <= 0) return -1;
    for (std::size_t k = 0; k < out_.tools.size(); ++k)
      if (out_.tools[k].number == number) return static_cast<int>(k);
    FollowedTool t;
    t.number = number;
    t.id = fmt::format("T{}", number);
    if (const plan::Tool* p = plan::find_tool(plan_, t.id); p != nullptr) {
      t.words = p->name.value;
      t.diameter = p->diameter.known() ? p->diameter.si : 0;
      t.stick_out = p->stick_out.known() ? p->stick_out.si : 0;
    }
    out_.tools.push_back(t);
    return static_cast<int>(out_.tools.size()) - 1;
  }

  /// From the frame of the move to that of the nest's pallet; nothing when nobody knows how they lie.
  std::optional<Vec3> shift(std::size_t i, const Move& m, int nest) const {
    const Vec3 at = out_.set_up.nests.empty() ? Vec3{} : out_.set_up.nests[static_cast<std::size_t>(nest)].at;
    const auto known = [&](int z) {
      return z > 0 && static_cast<std::size_t>(z) < out_.run.zero_known.size() &&
             out_.run.zero_known[static_cast<std::size_t>(z)];
    };
    const auto it = zero_of_.find(nest);
    if (!m.held.machine_frame && it != zero_of_.end() && it->second == m.zero) return at;
    if (it == zero_of_.end() || !known(it->second) || (!m.held.machine_frame && !known(m.zero))) return {};
    const Vec3 base = m.held.machine_frame ? Vec3{0, 0, -m.length_offset} : out_.run.origin_at(i, m.zero);
    return base - out_.run.origin_at(i, it->second) + at;
  }

  void one(std::size_t i, double seconds) {
    const Move& m = out_.run.moves[i];
    Waypoint w;
    w.line = m.line, w.move = static_cast<int>(i), w.tool = tool_of(m.tool), w.start = clock_, w.seconds = seconds;
    w.to = here_;
    w.kind = Waypoint::Kind::wait;
    clock_ += seconds;
    const bool own = goes(m) && !m.held.machine_frame;
    const int nest = own ? prove::nest_of(m.zero, zeros_, out_.set_up.nests.size()) : -1;
    const bool at_nest = nest >= 0 && zero_of_.count(nest) > 0;
    if (at_nest) nest_ = nest;
    if (m.kind == Motion::tool_change) between_ = true;
    if (at_nest) between_ = false;
    w.nest = between_ || m.held.machine_frame ? -1 : nest_;
    if (goes(m)) {
      const std::optional<Vec3> by = shift(i, m, std::max(0, nest_));
      if (by) return travelled(m, w, *by);
      ++out_.unplaced;
    }
    if (seconds > 0) put(w);
  }

  void travelled(const Move& m, Waypoint w, Vec3 by) {
    w.kind = m.kind == Motion::rapid ? Waypoint::Kind::rapid : Waypoint::Kind::feed;
    w.probe = m.kind == Motion::probe;
    w.feed = m.kind == Motion::rapid ? 0 : m.feed;
    if (const auto it = engaged_.find(w.move); it != engaged_.end()) w.engaged = it->second;
    const int n = pieces(m, sag_);
    const double each = w.seconds / n, start = w.start;
    for (int k = 1; k <= n; ++k) {
      w.to = (k == n ? m.end : program::place(m, static_cast<double>(k) / n)) + by;
      w.start = start + (k - 1) * each, w.seconds = each;
      here_ = w.to;
      put(w);
    }
  }

  void put(const Waypoint& w) {
    out_.way.push_back(w);
    if (w.tool < 0) return;
    FollowedTool& t = out_.tools[static_cast<std::size_t>(w.tool)];
    t.seconds += w.seconds;
    t.nests[w.nest] += w.seconds;
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  double sag_;
  Followed& out_;
  std::set<int> zeros_;
  std::map<int, int> zero_of_, engaged_;
  Vec3 here_;
  double clock_ = 0;
  int nest_ = -1;
  bool between_ = true;
};

}  // namespace

Outcome<ProgramText> made_program(const plan::Plan& plan, const std::string& operation) {
  const Outcome<std::string> table = programs::dialect_text("classic");
  if (!table.ok()) return table.problems();
  const Outcome<programs::Dialect> dialect = programs::read_dialect(*table, "classic");
  if (!dialect.ok()) return dialect.problems();
  const Outcome<compose::Composition> c = compose::compose(plan, operation);
  if (!c.ok()) return c.problems();
  const Outcome<programs::Printed> p = programs::print(*c, *dialect, {plan.header.units.value == "inch", 0});
  if (!p.ok()) return p.problems();
  return ProgramText{p->program, base::lower(operation) + "." + dialect->file_end, true, c->missing};
}

Outcome<Followed> follow(const plan::Plan& plan, const std::string& operation, const std::string& text,
                         const std::string& file, Closely look, double sag, const std::vector<std::string>& sets) {
  const plan::Operation* o = plan::find_operation(plan, operation);
  if (o == nullptr) return bad("no operation of that name in the plan", operation);
  Followed out;
  out.operation = operation;
  out.words = o->name.value;
  out.file = file;
  prove::Options options;
  options.loads = look == Closely::loads;
  auto run = run_for_proof(plan, text, file, options, sets);
  if (!run.ok()) return run.problems();
  out.run = std::move(run.value());
  auto up = compose::set_up(plan, *o);
  if (!up.ok()) return up.problems();
  out.set_up = std::move(up.value());
  if (look == Closely::ways) {
    out.proof.moves = own_moves(out.run);
  } else {
    auto proof = prove::prove(plan, operation, out.run, options);
    if (!proof.ok()) return proof.problems();
    out.proof = std::move(proof.value());
  }
  std::map<int, int> in_pallet;
  for (const compose::NestPlace& n : out.set_up.nests) {
    const int k = ++in_pallet[n.pallet];
    out.nests.push_back(out.set_up.pallets > 1 ? fmt::format("{}.{}", n.pallet + 1, k) : std::to_string(k));
  }
  Follower(plan, *o, sag, out).all();
  out.notes.insert(out.notes.end(), out.proof.notes.begin(), out.proof.notes.end());
  out.notes.emplace_back(
      "tool lengths: tool.gauge_length, else stick-out and 100 mm of holder, from memory; the machine's own decide "
      "travel in Z");
  for (const Problem& n : out.run.notes) out.notes.push_back(say(n));
  return out;
}

std::string engaged_words(const prove::Engaged& e, const unit::Style& style) {
  const bool inch = style.system == unit::Style::System::inch;
  const std::string rate =
      inch ? fmt::format("{} in³/min", base::fixed(static_cast<double>(e.rate) * 60 / 1.6387064e-5, 2))
           : fmt::format("{} cm³/min", base::fixed(static_cast<double>(e.rate) * 6e7, 1));
  return fmt::format("{} deep, {}° of the cutter, {}", unit::print(e.depth, unit::Kind::length, style),
                     base::fixed(static_cast<double>(e.arc) * 57.29577951308232, 0), rate);
}

}  // namespace fettle::cli
