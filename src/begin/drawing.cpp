// The drawing items of a STEP text, joined to faces: threads through their curve sets, sizes judged on the model.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "begin/begin.h"
#include "ref/threads.h"
#include "step/part21.h"
#include "step/shapes.h"

namespace fettle::begin {

namespace {

bool known_thread(const std::string& text) {
  const auto parsed = unit::parse_thread(text);
  return parsed.ok() && ref::thread_data(*parsed).ok();
}

/// Threads by face: the text of a callout bound to the bore or to its curve set; else a metric one by its diameter.
void find_threads(Drawing& d, const std::map<std::uint64_t, std::vector<std::uint64_t>>& by_set, bool metric) {
  const auto mark = [&](const step::Binding& b, const std::string& thread) {
    for (std::uint64_t f : b.faces) d.threads[static_cast<int>(f)] = thread;
  };
  for (const auto& c : d.pmi.circles) {
    const auto faces = by_set.find(c.set);
    const double mm = std::round(2e6 * c.radius) / 1e3;
    const std::string name = "M" + base::shortest(mm);
    if (faces == by_set.end() || !metric || !known_thread(name)) continue;
    for (std::uint64_t f : faces->second) d.threads[static_cast<int>(f)] = name;
  }
  for (const auto& t : d.pmi.threads) {
    if (t.entity == 0 || !known_thread(t.thread)) continue;
    for (const auto& x : d.pmi.dimensions)
      if (x.entity == t.entity)
        for (const auto& b : x.ends) mark(b, t.thread);
    for (const auto& x : d.pmi.tolerances)
      if (x.entity == t.entity) mark(x.on, t.thread);
  }
}

/// What is bound to the curve set of a thread is about the bore it is drawn in.
void add_faces(step::Binding& b, const std::map<std::uint64_t, std::vector<std::uint64_t>>& by_set) {
  for (std::uint64_t s : b.sets)
    if (const auto it = by_set.find(s); it != by_set.end())
      b.faces.insert(b.faces.end(), it->second.begin(), it->second.end());
  std::sort(b.faces.begin(), b.faces.end());
  b.faces.erase(std::unique(b.faces.begin(), b.faces.end()), b.faces.end());
}

}  // namespace

Outcome<Drawing> read_drawing(const std::string& text, const std::string& name, const std::string& unit) {
  Drawing out;
  const auto file = step::parse(text, name);
  if (!file.ok()) return file.problems();
  std::optional<double> length;
  if (!step::read_units(*file).length && !unit.empty()) length = unit == "in" ? 0.0254 : unit == "m" ? 1.0 : 1e-3;
  const auto pmi = step::read_pmi(*file, length);
  if (!pmi.ok()) return pmi.problems();
  out.pmi = *pmi;
  const double metres = out.pmi.units.length.value_or(length.value_or(1e-3));
  const step::Shapes shapes = step::read_shapes(*file, metres);
  std::map<std::uint64_t, std::vector<std::uint64_t>> by_set;
  for (const auto& c : out.pmi.circles) {
    const auto faces = step::threaded_faces(c, shapes);
    if (!faces.empty()) by_set[c.set].insert(by_set[c.set].end(), faces.begin(), faces.end());
  }
  for (auto& d : out.pmi.dimensions)
    for (auto& b : d.ends) add_faces(b, by_set);
  for (auto& t : out.pmi.tolerances) add_faces(t.on, by_set);
  find_threads(out, by_set, metres != 0.0254);
  out.judged = step::judge(out.pmi, step::stated(shapes));
  return out;
}

}  // namespace fettle::begin
