#include "solid/solid.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "solid/codec.h"
#include "solid/door.h"
#include "step/part21.h"

namespace fettle::solid {

const Face* Model::face(int id) const {
  const auto at = std::lower_bound(faces.begin(), faces.end(), id, [](const Face& f, int i) { return f.id < i; });
  return at != faces.end() && at->id == id ? &*at : nullptr;
}

std::string_view word(Kind kind) {
  constexpr std::string_view words[] = {"plane", "cylinder", "cone", "torus", "sphere", "spline"};
  return words[static_cast<std::size_t>(kind)];
}
std::string_view word(End end) {
  constexpr std::string_view words[] = {"open", "flat", "cone", "sphere"};
  return words[static_cast<std::size_t>(end)];
}
std::string_view word(Step step) {
  constexpr std::string_view words[] = {"cylinder", "cone", "annulus", "torus", "sphere"};
  return words[static_cast<std::size_t>(step)];
}

namespace {

Outcome<bool> sane(const ReadOptions& o) {
  const auto within = [](double x, double lo, double hi) { return x >= lo && x <= hi; };
  if (!within(o.density, 0, 30000)) return bad("density out of range", base::shortest(o.density), "0 to 30000 kg/m3");
  if (!o.unit_if_none.empty() && o.unit_if_none != "mm" && o.unit_if_none != "in" && o.unit_if_none != "m")
    return bad("unknown length unit", o.unit_if_none, "mm, in or m");
  if (o.samples_per_face < 1 || o.samples_per_face > 100000)
    return bad("samples per face out of range", std::to_string(o.samples_per_face), "1 to 100000");
  if (!within(o.chord, 1e-7, 1)) return bad("chord out of range", base::shortest(o.chord), "1e-7 to 1 m");
  if (o.mesh_chord != 0 && !within(o.mesh_chord, 1e-6, 1))
    return bad("mesh chord out of range", base::shortest(o.mesh_chord), "0 (no mesh), or 1e-6 to 1 m");
  if (!within(o.mesh_angle, 0.01, 1.6))
    return bad("mesh angle out of range", base::shortest(o.mesh_angle), "0.01 to 1.6 rad");
  if (!within(o.cpu_seconds, 1, 3600))
    return bad("processor time out of range", base::shortest(o.cpu_seconds), "1 to 3600 s");
  if (!within(o.wall_seconds, 0.05, 3600))
    return bad("time limit out of range", base::shortest(o.wall_seconds), "0.05 to 3600 s");
  if (!within(o.memory_bytes, 268435456.0, 1e12))
    return bad("memory limit out of range", base::shortest(o.memory_bytes), "256 MB to 1 TB");
  for (const Cut& c : o.cuts)
    if (!(std::fabs(norm(c.normal) - 1) <= 1e-9)) return bad("a cut's normal is not a unit vector");
  return true;
}

}  // namespace

Outcome<Model> read_step_text(const std::string& text, const std::string& name, const ReadOptions& options) {
  if (const auto checked = sane(options); !checked) return checked.problems();
  // Our own reader goes first: syntax, bounds and tokens that the kernel would hang or crash on are refused here with
  // line and column, and the kernel gets the text without annotation meshes.
  const auto file = step::parse(text, name);
  if (!file) return file.problems();
  codec::Writer request;
  request.put(options);
  request.put(name);
  request.put(step::slim_copy(*file));
  const auto answer =
      run_in_child("read", request.out, name, {options.cpu_seconds, options.wall_seconds, options.memory_bytes});
  if (!answer) return answer.problems();
  Model model;
  if (!codec::decode(*answer, model)) return ours("the geometry child gave an answer that cannot be read");
  return model;
}

Outcome<Model> read_step(const std::string& path, const ReadOptions& options) {
  const auto text = base::read_file(path, std::size_t{256} << 20);
  if (!text) return text.problems();
  return read_step_text(*text, path, options);
}

}  // namespace fettle::solid
