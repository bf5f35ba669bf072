#include "app/cli/program_read.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <nlohmann/json.hpp>

#include "app/cli/report.h"
#include "base/text.h"
#include "program/on_paper.h"
#include "program/read.h"

namespace fettle::cli {

namespace {

using nlohmann::json;
using program::Motion;
constexpr double mm = 1e-3;

Outcome<frame::Vec3> place_of(const json& j, const std::string& what) {
  if (!j.is_array() || j.size() != 3 || !j[0].is_number() || !j[1].is_number() || !j[2].is_number())
    return bad(what + " is no place", j.dump(), "[x, y, z] in millimetres");
  return frame::Vec3{j[0].get<double>() * mm, j[1].get<double>() * mm, j[2].get<double>() * mm};
}

/// The whole number that a key is; problems name the key.
Outcome<int> number_of(const std::string& key, int low, int high) {
  const auto v = base::to_double(key);
  if (!v || !(*v >= low && *v <= high) || *v != static_cast<int>(*v))
    return bad("no such number", key, fmt::format("{} to {}", low, high));
  return static_cast<int>(*v);
}

/// What the machine knows, from the file of --with.
Outcome<bool> settings_from(const std::string& path, program::Setting& s,
                            std::vector<std::optional<frame::Vec3>>& touches) {
  const Outcome<std::string> text = base::read_file(path, std::size_t{4} << 20);
  if (!text.ok()) return text.problems();
  const json j = json::parse(*text, nullptr, false);
  if (!j.is_object())
    return bad("not a JSON object", path, "{\"zeros\": {\"1\": [x, y, z]}, \"lengths\": {\"5\": 120}, ...}");
  const std::vector<std::string> known = {"zeros", "lengths", "parameters", "touches"};
  for (const auto& [key, value] : j.items()) {
    if (std::find(known.begin(), known.end(), key) == known.end())
      return bad("unknown key", key, base::join(known, ", "), base::nearest(key, known));
    if (key == "touches") {
      if (!value.is_array()) return bad("touches is no list", path, "[[x, y, z], ...] in millimetres");
      for (const json& t : value) {
        if (t.is_null()) {  // this one touches nothing
          touches.emplace_back();
          continue;
        }
        const auto p = place_of(t, "a touch");
        if (!p.ok()) return p.problems();
        touches.push_back(*p);
      }
      continue;
    }
    if (!value.is_object()) return bad(key + " is no table", path, "{\"number\": value}");
    for (const auto& [number, v] : value.items()) {
      const auto n = number_of(number, key == "lengths" ? 0 : 1,
                               key == "zeros"        ? 79
                               : key == "parameters" ? 5399
                                                     : 99'999'999);
      if (!n.ok()) return n.problems();
      if (key == "zeros") {
        const auto p = place_of(v, "a zero");
        if (!p.ok()) return p.problems();
        s.zeros[static_cast<std::size_t>(*n)] = *p;
        continue;
      }
      if (!v.is_number()) return bad(fmt::format("{} {} is no number", key, number), v.dump());
      if (key == "lengths") s.lengths[*n] = v.get<double>() * mm;
      else s.parameters[*n] = v.get<double>();
    }
  }
  return true;
}

Outcome<bool> set_parameters(const std::vector<std::string>& sets, program::Setting& s) {
  for (const std::string& t : sets) {
    const std::vector<std::string> parts = base::split(t, '=');
    const auto n = number_of(parts[0][0] == '#' ? parts[0].substr(1) : parts[0], 1, 5399);
    const auto v = parts.size() == 2 ? base::to_double(parts[1]) : std::nullopt;
    if (!n.ok() || !v) return bad("no setting of a parameter", t, "such as 503=5413");
    s.parameters[*n] = *v;
  }
  return true;
}

const char* word(Motion m) {
  switch (m) {
    case Motion::rapid:
      return "rapid";
    case Motion::feed:
      return "feed";
    case Motion::clockwise:
      return "clockwise";
    case Motion::counter:
      return "counter";
    case Motion::probe:
      return "probe";
    case Motion::dwell:
      return "dwell";
    case Motion::tool_change:
      return "tool";
    case Motion::spindle:
      return "spindle";
    case Motion::coolant:
      return "coolant";
    case Motion::stop:
      return "stop";
    case Motion::end:
      return "end";
  }
  return "";
}

/// The tip at the end of a move in machine coordinates, mm.
json tip(const program::Run& run, std::size_t i) {
  frame::Vec3 p = program::nose_at_end(run, i);
  p.z -= run.moves[i].length_offset;
  return {p.x / mm, p.y / mm, p.z / mm};
}

json moves_json(const program::Run& run) {
  json list = json::array();
  for (std::size_t i = 0; i < run.moves.size(); ++i) {
    const program::Move& m = run.moves[i];
    json j = {{"line", m.line}, {"kind", word(m.kind)}, {"end", tip(run, i)}, {"tool", m.tool}, {"zero", m.zero}};
    if (m.file != 0) j["file"] = run.files[static_cast<std::size_t>(m.file)];
    if (m.cycle != 0) j["cycle"] = m.cycle;
    if (m.feed > 0) j["feed_mm_min"] = m.feed / mm * 60;
    if (m.kind == Motion::dwell) j["seconds"] = m.seconds;
    if (m.kind == Motion::clockwise || m.kind == Motion::counter)
      j["degrees"] = program::sweep(m) * 180 / 3.14159265358979323846;
    list.push_back(std::move(j));
  }
  return list;
}

void print_json(const program::Run& run) {
  json parameters = json::object();
  for (const auto& [n, v] : run.parameters) parameters[fmt::format("{}", n)] = v;
  json notes = json::array();
  for (const Problem& p : run.notes) notes.push_back(say(p));
  std::cout << json{{"moves", moves_json(run)}, {"parameters", parameters}, {"notes", notes}}.dump() << "\n";
}

struct Room {
  frame::Vec3 low{1e9, 1e9, 1e9}, high{-1e9, -1e9, -1e9};
  double feed = 0, rapid = 0;
  int moves = 0, first_line = 0;
};

void print_text(const program::Run& run) {
  std::vector<std::pair<std::pair<int, int>, Room>> rooms;
  for (const program::Move& m : run.moves) {
    if (m.kind > Motion::probe || m.held.machine_frame) continue;
    const std::pair<int, int> key{m.tool, m.zero};
    auto it = std::find_if(rooms.begin(), rooms.end(), [&](const auto& r) { return r.first == key; });
    if (it == rooms.end()) it = rooms.insert(rooms.end(), {key, Room{}}), it->second.first_line = m.line;
    Room& r = it->second;
    ++r.moves;
    (m.kind == Motion::rapid ? r.rapid : r.feed) += program::length(m);
    if (m.kind == Motion::rapid) continue;
    for (const frame::Vec3& p : {m.start, m.end}) {
      r.low = {std::min(r.low.x, p.x), std::min(r.low.y, p.y), std::min(r.low.z, p.z)};
      r.high = {std::max(r.high.x, p.x), std::max(r.high.y, p.y), std::max(r.high.z, p.z)};
    }
  }
  std::cout << fmt::format("{} moves, {} remarks\n", run.moves.size(), run.remarks.size());
  std::cout << "tool zero  line  moves  feed mm  rapid mm  at feed between, mm in the frame of the zero\n";
  for (const auto& [key, r] : rooms) {
    const auto span = [](double a, double b) { return base::fixed(a / mm, 3) + " .. " + base::fixed(b / mm, 3); };
    std::cout << fmt::format("T{:<4} {:<4} {:>5} {:>6} {:>8} {:>9}  {}\n", key.first, key.second, r.first_line, r.moves,
                             base::fixed(r.feed / mm, 1), base::fixed(r.rapid / mm, 1),
                             r.high.x < r.low.x ? std::string("-")
                                                : "X " + span(r.low.x, r.high.x) + "  Y " + span(r.low.y, r.high.y) +
                                                      "  Z " + span(r.low.z, r.high.z));
  }
}

}  // namespace

int program_read_command(const ProgramReadArguments& a) {
  program::Setting setting;
  setting.inches = a.inches;
  setting.block_skip = a.skip;
  std::vector<std::optional<frame::Vec3>> touches;
  if (!a.with.empty())
    if (const auto done = settings_from(a.with, setting, touches); !done.ok()) return report(done.problems());
  if (const auto done = set_parameters(a.sets, setting); !done.ok()) return report(done.problems());
  std::size_t next = 0;
  if (!touches.empty())
    setting.probe_hits = [&](const program::Move&) -> std::optional<frame::Vec3> {
      return next++ < touches.size() ? touches[next - 1] : std::nullopt;
    };
  const Outcome<std::string> text = base::read_file(a.program);
  if (!text.ok()) return report(text.problems());
  const Outcome<program::Run> run = program::read(*text, a.program, program::on_paper(*text, setting));
  if (!touches.empty() && next > touches.size())
    return report(
        {bad("the program probes more often than touches are given", fmt::format("{} touches", touches.size()),
             fmt::format("{}; null for one that touches nothing", next))});
  if (!run.ok()) return report(run.problems());
  if (a.json) print_json(*run);
  else print_text(*run);
  for (const Problem& p : run->notes) std::cerr << "note: " << say(p) << "\n";
  return run->notes.empty() ? 0 : 4;
}

}  // namespace fettle::cli
