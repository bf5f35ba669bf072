#include "prove/prove.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/read.h"
#include "prove/ends.h"
#include "prove/loads.h"
#include "prove/walk.h"
#include "ref/materials.h"
#include "study/internal.h"
#include "study/plan_times.h"

namespace fettle::prove {

using finding::Finding;
using finding::State;

namespace {

struct Question {
  const char *key, *title, *formula;
};
constexpr Question questions[] = {
    {"rapid", "no rapid move through metal", "swept cutter against the castings as they are at that moment"},
    {"clash", "tool clear of plate, screw heads and jaws", "swept cutter against the fixture"},
    {"holder", "holder clear of parts and fixture", "swept cylinder of the holder, as high as the tool sticks out"},
    {"low", "rapid ways between parts stay clear",
     "rapid moves lowered by 1 mm against fixture, by 0.9 mm against metal"},
    {"gouge", "nothing cut into the finished part", "swept cutter against the finished part"},
    {"skin", "no cutter runs in the cast skin",
     "depth of each wall and floor that is laid bare under the raw surface, against the skin"},
    {"edge", "edges are broken before a mill leaves over them",
     "metal that stands at the end of a way over the outside of the part, grey iron"},
    {"roll", "ring grooves are met and left along their wall",
     "angle between the way and the wall where a keyseat cutter meets the groove's full diameter, 20 degrees"},
    {"left", "nothing left on the finished part", "castings after the last line against the finished part"},
    {"never", "every cut of the plan at every part", "places of the plan's cuts that the tool's moves at feed reach"},
    {"depth", "holes and threads to their depth", "lowest place of the tip in each hole"},
    {"order", "what must come first comes first", "first move of a cut after the last of what it needs"},
    {"tool", "tools are the plan's", "numbers of the program's tools against the ids of the plan's"},
    {"length", "every tool with its own length", "length offset on, and that of the tool in the spindle"},
    {"spindle", "spindle turns, and forward, in metal", "speed of the spindle in every move that takes metal"},
    {"speed", "spindle speed as planned", "speed within 2 % of the plan's"},
    {"feed", "feed as planned",
     "feed in metal up to 5 % over the plan's, at least once 30 % of it; taps by their pitch"},
    {"coolant", "coolant on in metal", "coolant in every move that takes metal, where the program uses it at all"},
    {"probe", "probing as planned", "a probing move where the plan probes"},
    {"zero", "zeros are those of the nests",
     "zero of every move at feed; places of the zeros against the pallet's nests"},
    {"travel", "span of each axis within the machine's travel",
     "largest less smallest place of the spindle's nose against the travel"},
    {"room", "no deeper below the part than needed", "lowest tip against the part's lower face"},
};

std::string places_words(std::size_t n) { return fmt::format("{} place{}", n, n == 1 ? "" : "s"); }
std::string lines_words(const std::vector<const Slip*>& all) {
  std::vector<int> lines;
  for (const Slip* s : all)
    if (std::find(lines.begin(), lines.end(), s->line) == lines.end()) lines.push_back(s->line);
  if (lines.size() < 2) return {};
  std::string out;
  for (std::size_t i = 1; i < lines.size() && i < 6; ++i) out += fmt::format("{}{}", i > 1 ? ", " : "", lines[i]);
  return fmt::format(" Also line{} {}{}.", lines.size() > 2 ? "s" : "", out,
                     lines.size() > 6 ? fmt::format(" and {} more", lines.size() - 6) : "");
}

class Judge {
 public:
  Judge(const plan::Plan& plan, const plan::Operation& o, const Scene& s, const program::Run& run, Walked& w,
        Proof& out)
      : plan_(plan), o_(o), s_(s), run_(run), w_(w), out_(out) {}

  void all() {
    zeros();
    // Ends that are known say more than the span between the places of a program's own zeros.
    if (!ends_findings(plan_, o_, s_, run_, w_.zeros, out_)) travel();
    for (const Question& q : questions) question(q);
    room();
    unknown();
  }

 private:
  Finding begin(const char* question, const std::string& tool, const std::string& nest, std::string title) {
    Finding f = study::start(o_.id.value, "program", question, std::move(title), unit::Kind::number);
    f.tool = tool;
    f.nest = nest;
    f.id = finding::make_id(f.operation, f.feature, f.question, tool, nest);
    f.source = "common practice";
    f.yes_no = true;
    f.limit = finding::upper(0);
    return f;
  }

  void question(const Question& q) {
    std::vector<std::string> groups;
    std::map<std::string, std::vector<const Slip*>> by;
    for (const Slip& s : w_.slips) {
      if (s.question != q.key) continue;
      const std::string key = s.tool + "\n" + s.nest;
      if (by.count(key) == 0) groups.push_back(key);
      by[key].push_back(&s);
    }
    for (const std::string& g : groups) slipped(q, by[g]);
    const auto n = w_.checked.find(q.key);
    if (!groups.empty() || n == w_.checked.end() || n->second == 0) return;
    Finding f = begin(q.key, "", "", q.title);
    f.formula = q.formula;
    f.state = State::inside;
    f.value = 0;
    f.margin = 1;
    f.sentence = fmt::format("{}: {} looked at, nothing found.", study::capital(q.title), n->second);
    out_.findings.push_back(f);
  }
  /// ", casting 7" of the part that stands there.
  std::string casting(const std::string& nest) const {
    for (std::size_t i = 0; i < s_.castings.size(); ++i)
      if (!s_.castings[i].empty() && nest_words(s_, static_cast<int>(i)) == nest) return ", casting " + s_.castings[i];
    return {};
  }
  void slipped(const Question& q, const std::vector<const Slip*>& all) {
    // The deepest first; where depth says nothing, the first.
    const Slip* worst = all.front();
    for (const Slip* s : all)
      if (s->amount > 2 * worst->amount + 1e-9) worst = s;
    Finding f = begin(q.key, all.front()->tool, all.front()->nest, q.title);
    f.formula = q.formula;
    const bool look = std::all_of(all.begin(), all.end(), [](const Slip* s) { return s->look; });
    f.state = look ? State::tight : State::outside;
    f.value = static_cast<double>(all.size());
    f.margin = look ? 0 : -1;
    if (look) f.limit = finding::upper(f.value), f.yes_no = false, f.text = places_words(all.size());
    const std::string who = base::join(std::vector<std::string>{all.front()->tool, all.front()->nest}, ", ");
    std::vector<const Slip*> order{worst};
    for (const Slip* s : all)
      if (s != worst) order.push_back(s);
    f.sentence = fmt::format(
        "Line {}: {}{}{}.{}", worst->line, all.front()->tool.empty() ? "" : all.front()->tool + " ", worst->words,
        all.front()->nest.empty() ? "" : " (" + all.front()->nest + casting(all.front()->nest) + ")",
        lines_words(order));
    if (!look)
      f.cautions = {
          "Do not run this program. Prove a mended one again, then above the parts, with a hand on the feed."};
    out_.line_of[f.id] = worst->line;
    out_.findings.push_back(f);
  }

  /// Where zeros are known, they must lie to one another as the nests do.
  void zeros() {
    const std::size_t n = s_.set_up.nests.size();
    std::map<int, int> zero_of;
    for (const int z : w_.zeros)
      if (const int k = nest_of(z, w_.zeros, n); k >= 0) zero_of[k] = z;
    std::map<int, int> first;  // of each table
    for (const auto& [k, z] : zero_of) {
      if (static_cast<std::size_t>(z) >= run_.zero_known.size() || !run_.zero_known[static_cast<std::size_t>(z)])
        continue;
      const int t = s_.table_of[static_cast<std::size_t>(k)];
      if (first.emplace(t, k).second) continue;
      ++w_.checked["zero"];
      const int k0 = first[t];
      const frame::Vec3 plan_way =
          s_.set_up.nests[static_cast<std::size_t>(k)].at - s_.set_up.nests[static_cast<std::size_t>(k0)].at;
      const frame::Vec3 way =
          run_.zeros[static_cast<std::size_t>(z)] - run_.zeros[static_cast<std::size_t>(zero_of[k0])];
      const frame::Vec3 off = way - plan_way;
      // A probed pallet is turned and grown a little; half a millimetre is more than that.
      if (frame::norm(off) > 0.5e-3)
        w_.slips.push_back(
            {"zero", "", nest_words(s_, k), line_of_zero(z), frame::norm(off),
             fmt::format("zero {} lies X{} Y{} Z{} mm from where the plan has this nest, seen from {}", z,
                         millimetres(off.x), millimetres(off.y), millimetres(off.z), nest_words(s_, k0))});
    }
    for (std::size_t k = 0; k < n; ++k)
      if (zero_of.count(static_cast<int>(k)) == 0) {
        ++w_.checked["zero"];
        w_.slips.push_back({"zero", "", nest_words(s_, static_cast<int>(k)), w_.last_line, 0,
                            "no move at feed has the zero of this nest: the part stays uncut"});
      }
    if (!w_.zeros.empty()) ++w_.checked["zero"];
  }
  /// Where it was set last: the move that follows; else where it is used first.
  int line_of_zero(int z) const {
    for (auto it = run_.zero_sets.rbegin(); it != run_.zero_sets.rend(); ++it)
      if (it->zero == z && it->before < run_.moves.size()) return run_.moves[it->before].line;
    for (const program::Move& m : run_.moves)
      if (m.zero == z) return m.line;
    return 0;
  }

  void travel() {
    const plan::Machine* m = study::find_machine(plan_, o_.machine.value);
    Finding f = begin("travel", "", "", "span of each axis within the machine's travel");
    f.formula = "largest less smallest place of the spindle's nose against the travel";
    if (m == nullptr || m->travel.value.size() != 3) return open(f, {"machine.travel: how far each axis goes"});
    if (!(w_.low[0] <= w_.high[0]))
      return open(f, {"zeros of the nests in machine places: fettle program prove --zeros"});
    const char axis[] = {'X', 'Y', 'Z'};
    for (std::size_t k = 0; k < 3; ++k) {
      ++w_.checked["travel"];
      const double span = w_.high[k] - w_.low[k];
      if (!(span <= m->travel.value[k]))
        w_.slips.push_back({"travel", "", "", w_.low_line[k], span - m->travel.value[k],
                            fmt::format("{} goes over {} mm (to line {}), the machine has {}", axis[k],
                                        millimetres(span, 1), w_.high_line[k], millimetres(m->travel.value[k], 0))});
    }
    if (!w_.all_zeros_known) open(f, {"zeros of all nests in machine places"});
  }
  void open(Finding f, std::vector<std::string> missing) {
    f.state = State::open;
    f.value = f.margin = std::nan("");
    f.missing = std::move(missing);
    f.sentence = fmt::format("{}: not looked at; missing: {}.", study::capital(f.title), base::join(f.missing, "; "));
    out_.findings.push_back(std::move(f));
  }

  /// Tips that go below the plane the parts rest on, where nobody said what is there.
  void room() {
    if (s_.plate_known || !(w_.below < -1e-6)) return;
    Finding f = begin("under", "", "", "room under the parts for what goes through");
    out_.line_of[f.id] = w_.below_line;
    open(f, {fmt::format("{}: the program goes {} mm below the plane that the parts rest on (line {})",
                         s_.set_up.pallet ? "pallet.pad.height" : "what lies under the part", millimetres(-w_.below),
                         w_.below_line)});
  }
  void unknown() {
    const plan::Text& grade = plan_.casting.grade.known() ? plan_.casting.grade : plan_.part.material;
    if (!grade.known() || !ref::material(grade.value).ok())
      open(begin("edge", "", "", "edges are broken before a mill leaves over them"),
           {"casting.grade or part.material: which iron it is"});
    if (!plan_.casting.skin.known())
      open(begin("skin", "", "", "no cutter runs in the cast skin"), {"casting.skin: depth of the cast skin"});
    for (const Slip& s : w_.slips) {
      if (s.question == "unknown") {
        Finding f = begin("shape", s.tool, "", "shape of the tool");
        open(f, {s.words});
      }
      if (s.question == "beyond") {
        Finding f = begin("undercut", s.tool, s.nest, "undercuts");
        f.state = State::beyond;
        f.value = f.margin = std::nan("");
        f.range = s.words;
        f.sentence = fmt::format("Line {}: {}; what is cut there was not looked at.", s.line, s.words);
        out_.line_of[f.id] = s.line;
        if (std::none_of(out_.findings.begin(), out_.findings.end(), [&](const Finding& g) { return g.id == f.id; }))
          out_.findings.push_back(f);
      }
    }
    for (const plan::Cut& c : o_.cuts) {
      const ToolShape t = tool_shape(plan_, o_, number_in(c.tool.value));
      if (t.tool == nullptr || t.probe || (t.holder > 0 && t.stick_out > 0)) continue;
      Finding f = begin("holder", t.id, "", "holder clear of parts and fixture");
      std::vector<std::string> missing;
      if (!(t.stick_out > 0)) missing.push_back("tool.stick_out of " + t.id);
      if (!(t.holder > 0)) missing.push_back("tool.holder of " + t.id);
      if (std::none_of(out_.findings.begin(), out_.findings.end(), [&](const Finding& g) { return g.id == f.id; }))
        open(f, missing);
    }
  }

  const plan::Plan& plan_;
  const plan::Operation& o_;
  const Scene& s_;
  const program::Run& run_;
  Walked& w_;
  Proof& out_;
};

/// The moves up to the stop at which the parts are turned over for another operation; `line` of that stop, else 0.
program::Run until_turned(const program::Run& whole, int& line) {
  for (const program::Remark& r : whole.remarks) {
    if (r.text.rfind("turn the parts over", 0) != 0) continue;
    for (std::size_t i = 0; i < whole.moves.size(); ++i) {
      if (whole.moves[i].kind != program::Motion::stop || whole.moves[i].line != r.line) continue;
      program::Run first = whole;
      first.moves.resize(i + 1);
      line = r.line;
      return first;
    }
  }
  return whole;
}
void turned_finding(const plan::Operation& o, int line, Proof& out) {
  Finding f =
      study::start(o.id.value, "program", "turned", "what follows when the parts are turned over", unit::Kind::number);
  f.state = State::open;
  f.missing = {fmt::format("a program of the next operation alone: from line {} on the parts lie another way", line)};
  f.sentence = fmt::format("Line {}: the parts are turned over here; what follows was not looked at.", line);
  out.line_of[f.id] = line;
  out.findings.push_back(std::move(f));
}

}  // namespace

Outcome<Proof> prove(const plan::Plan& plan, const std::string& operation, const program::Run& whole,
                     const Options& options) {
  const plan::Operation* o = plan::find_operation(plan, operation);
  if (o == nullptr)
    return bad("no operation of that name in the plan", operation,
               base::join(
                   [&] {
                     std::vector<std::string> ids;
                     for (const plan::Operation& p : plan.operations) ids.push_back(p.id.value);
                     return ids;
                   }(),
                   ", "));
  if (!(options.cell > 0)) return bad("the cell of the height field must be longer than nothing");
  Proof out;
  int turned = 0;
  const program::Run run = until_turned(whole, turned);
  out.moves = static_cast<int>(run.moves.size());
  const auto seed = static_cast<std::uint64_t>(plan.header.seed.known() ? plan.header.seed.value : 1);
  std::vector<CastingDraw> draws;
  if (options.castings > 0) draws = draw_castings(plan, *o, 64, options.castings, seed, options.measured, out.notes);
  Outcome<Scene> scene = make_scene(plan, *o, options.cell, draws);
  if (!scene.ok()) return scene.problems();
  Walked w = walk(plan, *o, scene.value(), run, options);
  look_back(plan, *o, scene.value(), run, w);
  out.notes.insert(out.notes.end(), scene->notes.begin(), scene->notes.end());
  Judge(plan, *o, scene.value(), run, w, out).all();
  if (turned > 0) turned_finding(*o, turned, out);
  out.slips = w.slips;
  out.work = w.work;
  out.track = std::move(w.track);
  if (options.loads) load_findings(plan, *o, out);
  finding::sort_by_need(out.findings);
  out.not_looked_at = {"edges that break out inside (holes that a mill crosses, the far end of a drilled hole)",
                       "the spindle's nose and the machine's own guards",
                       "hoses, cables, the door, the tool changer's way",
                       "errors across a wall of less than 0.3 mm (size of the field's cells)",
                       "whether offsets typed into the control are those of the sheet"};
  return out;
}

int exit_code(const Proof& p) {
  bool outside = false, unsure = p.findings.empty();
  for (const Finding& f : p.findings) {
    outside = outside || f.state == State::outside;
    unsure = unsure || f.state == State::open || f.state == State::beyond;
  }
  return outside ? 1 : unsure ? 4 : 0;
}

}  // namespace fettle::prove
