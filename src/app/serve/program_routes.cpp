// The control program of an operation as the page walks through it: lines, tools, places, seconds, faults.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iterator>

#include "app/cli/program_follow.h"
#include "app/cli/study_text.h"
#include "app/serve/routes.h"
#include "base/text.h"
#include "compose/compose.h"
#include "plan/read.h"
#include "prove/walk.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

constexpr std::size_t most_moves = 20000, most_lines = 20000, most_findings = 200, most_text = std::size_t{4} << 20U;
constexpr std::size_t most_kept = 6;

/// The program that the plan names, else one made from its cuts.
Outcome<cli::ProgramText> text_of(const Folder& folder, const Open& o, const plan::Plan& plan,
                                  const plan::Operation& op) {
  if (!op.program.given()) return cli::made_program(plan, op.id.value);
  const auto file = std::filesystem::path(o.full).parent_path() / op.program.value;
  if (!folder.holds(file.string()))
    return bad("the program lies outside the served folder", op.program.value, "a file below it");
  const auto text = base::read_file(file.string(), most_text);
  if (!text.ok()) return text.problems();
  return cli::ProgramText{*text, op.program.value, false, {}};
}

json tools_json(const cli::Followed& f) {
  json out = json::array();
  for (const cli::FollowedTool& t : f.tools) {
    json nests = json::object();
    for (const auto& [nest, seconds] : t.nests)
      if (nest >= 0) nests[f.nests[static_cast<std::size_t>(nest)]] = number(seconds);
    out.push_back({{"name", t.id},
                   {"words", t.words},
                   {"diameter", number(t.diameter)},
                   {"long", number(t.stick_out)},
                   {"seconds", number(t.seconds)},
                   {"nests", nests}});
  }
  return out;
}

json nests_json(const cli::Followed& f) {
  json out = json::array();
  for (std::size_t k = 0; k < f.nests.size(); ++k) {
    double seconds = 0;
    for (const cli::FollowedTool& t : f.tools)
      if (const auto it = t.nests.find(static_cast<int>(k)); it != t.nests.end()) seconds += it->second;
    const compose::NestPlace& n = f.set_up.nests[k];
    out.push_back({{"id", f.nests[k]},
                   {"words", n.words},
                   {"at", {number(n.at.x), number(n.at.y), number(n.at.z)}},
                   {"turn", number(n.turn)},
                   {"pallet", f.set_up.pallet ? json(n.pallet + 1) : json(nullptr)},
                   {"seconds", number(seconds)}});
  }
  return out;
}

/// Text, since the list is long.
std::string moves_text(const cli::Followed& f, const unit::Style& style, std::size_t count) {
  static constexpr const char* kinds[] = {"rapid", "feed", "wait"};
  const auto plain = [](double x, double grain) {
    return std::isfinite(x) ? std::round(x / grain) * grain + 0.0 : 0.0;
  };
  std::string t = "[";
  for (std::size_t i = 0; i < count; ++i) {
    const cli::Waypoint& w = f.way[i];
    fmt::format_to(std::back_inserter(t),
                   R"({}{{"line":{},"tool":{},"nest":"{}","kind":"{}","to":[{:.6g},{:.6g},{:.6g}],"start":{:.8g},)"
                   R"("seconds":{:.6g},"feed":{:.6g})",
                   i > 0 ? "," : "", w.line, w.tool, w.nest >= 0 ? f.nests[static_cast<std::size_t>(w.nest)] : "",
                   kinds[static_cast<int>(w.kind)], plain(w.to.x, 1e-6), plain(w.to.y, 1e-6), plain(w.to.z, 1e-6),
                   plain(w.start, 1e-3), plain(w.seconds, 1e-5), plain(w.feed, 1e-7));
    if (w.probe) t += R"(,"probe":true)";
    if (w.engaged >= 0) {
      const prove::Engaged& e = f.proof.track[static_cast<std::size_t>(w.engaged)];
      t += R"(,"engaged":)" + dump(cli::engaged_words(e, style));
      t += fmt::format(R"(,"depth":{:.4g},"arc":{:.4g},"rate":{:.4g})", e.depth, e.arc, e.rate);
    }
    t += '}';
  }
  return t + "]";
}

json findings_json(const prove::Proof& p, json& counts, std::size_t& left) {
  json out = json::array();
  for (const finding::Finding& f : p.findings) {
    const std::string state(finding::word(f.state));
    counts[state] = counts.value(state, 0) + 1;
    if (f.state == finding::State::inside) continue;
    if (out.size() >= most_findings) {
      ++left;
      continue;
    }
    const auto line = p.line_of.find(f.id);
    out.push_back({{"id", f.id},
                   {"state", state},
                   {"title", f.title},
                   {"sentence", f.sentence},
                   {"tool", f.tool},
                   {"nest", f.nest},
                   {"line", line == p.line_of.end() ? 0 : line->second},
                   {"missing", f.missing}});
  }
  return out;
}

std::string answer_text(const plan::Plan& plan, const cli::ProgramText& program, const cli::Followed& f,
                        const std::string& hash) {
  std::vector<std::string> lines = base::split(program.text, '\n');
  while (!lines.empty() && base::trim(lines.back()).empty()) lines.pop_back();
  for (std::string& l : lines)
    if (!base::valid_utf8(l))
      for (char& c : l)
        if (static_cast<unsigned char>(c) >= 0x80) c = '?';
  const std::size_t lines_left = lines.size() - std::min(lines.size(), most_lines);
  lines.resize(lines.size() - lines_left);
  const std::size_t moves = std::min(f.way.size(), most_moves);
  std::size_t findings_left = 0;
  json counts = {{"outside", 0}, {"tight", 0}, {"beyond", 0}, {"open", 0}, {"inside", 0}};
  json findings = findings_json(f.proof, counts, findings_left);
  std::vector<std::string> notes;
  if (f.other_lines > 0)
    notes.push_back(
        fmt::format("the parts are turned over before line {}: what follows is another operation and not shown here",
                    f.other_lines));
  if (f.unplaced > 0)
    notes.push_back(fmt::format("{} moves whose place on the pallet is not known are not shown", f.unplaced));
  if (moves < f.way.size())
    notes.push_back(fmt::format("{} of {} pieces of the way are left out, from line {} on", f.way.size() - moves,
                                f.way.size(), f.way[moves].line));
  notes.insert(notes.end(), f.notes.begin(), f.notes.end());
  json out = {{"operation", f.operation},
              {"words", f.words},
              {"hash", hash},
              {"units", "m"},
              {"file", f.file},
              {"from", program.made ? "made" : "plan"},
              {"text", lines},
              {"tools", tools_json(f)},
              {"nests", nests_json(f)},
              {"total", number(f.total)},
              {"timed", f.timed},
              {"findings", findings},
              {"counts", counts},
              {"missing", program.missing},
              {"notes", notes},
              {"not_looked_at", f.proof.not_looked_at},
              {"left_out", {{"moves", f.way.size() - moves}, {"lines", lines_left}, {"findings", findings_left}}},
              {"caution",
               "A proof on paper is no leave to run: prove out above the parts, single block, with a hand on "
               "the feed. The shop's and the machine's own rules decide."}};
  std::string text = dump(out);
  text.pop_back();
  return text + ",\"moves\":" + moves_text(f, cli::style_of(plan), moves) + "}";
}

/// The program of an operation of this text of the plan, kept.
Reply followed(const Call& c, Open& o, const std::string& text, const std::string& id, const std::string& units) {
  auto plan = read_within(c.desk.folder(), o.full, text);
  if (!plan.ok()) return refused(plan.problems(), c.root());
  if (units == "metric" || units == "inch") plan.value().header.units.value = units;
  const plan::Operation* op = plan::find_operation(*plan, id);
  if (op == nullptr) {
    const std::vector<std::string> ids = compose::programmable(*plan);
    return refused({bad("no operation of this plan has that id", id, base::join(ids, ", "), base::nearest(id, ids))},
                   "", 404);
  }
  const std::lock_guard<std::mutex> one(o.program_lock);
  const std::string key = plan->hash + " " + id + " " + plan->header.units.value + "\n" + key_of_data(*plan, o.full);
  auto& kept = o.programs;
  const char* const type = "application/json; charset=utf-8";
  if (const auto it = kept.find(key); it != kept.end()) return {200, type, it->second};
  const auto program = text_of(c.desk.folder(), o, *plan, *op);
  if (!program.ok()) return refused(program.problems(), c.root());
  Outcome<cli::Followed> f = cli::follow(*plan, id, program->text, program->file, cli::Closely::loads);
  // A longer program is shown with coarser arcs before anything of it is left out.
  if (f.ok() && f->way.size() > most_moves)
    f = cli::follow(*plan, id, program->text, program->file, cli::Closely::loads, 2e-3);
  if (!f.ok()) return refused(f.problems(), c.root());
  if (kept.size() >= most_kept) kept.clear();
  return {200, type, kept[key] = answer_text(*plan, *program, *f, base::hash_hex(text))};
}

}  // namespace

Reply program_of(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root());
  return followed(c, **o, Desk::now(**o).first, c.asked["operation"], c.asked["units"]);
}

Reply program_tried(const Call& c) {
  const auto o = c.desk.open(text_in(c.body, "path"));
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto text = tried_text(c, **o);
  if (!text.ok()) return refused(text.problems(), c.root());
  if (text->empty()) return refused("the plan is another by now: somebody changed it", 409);
  return followed(c, **o, *text, text_in(c.body, "operation"), text_in(c.body, "units"));
}

}  // namespace fettle::serve
