#include "study/chatter_readings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/chatter/wav.h"
#include "study/plate_model.h"
#include "study/readings.h"

namespace fettle::study {

namespace {

std::optional<double> per_newton(const std::string& unit) {
  if (unit == "m/N") return 1;
  if (unit == "mm/N") return 1e-3;
  if (unit == "µm/N" || unit == "μm/N" || unit == "um/N") return 1e-6;
  if (unit == "nm/N") return 1e-9;
  return std::nullopt;
}

Outcome<std::vector<double>> compliance(ReadingTable table, int column) {
  const auto at = static_cast<std::size_t>(column);
  const auto factor = per_newton(table.columns[at].unit);
  if (!factor) {
    Problem p = bad("the unit of a response is not said", table.columns[at].header,
                    "m/N, mm/N, µm/N or nm/N in brackets behind the name");
    p.where = {table.file, table.header_line, table.columns[at].column};
    return p;
  }
  table.columns[at].unit.clear();
  auto v = numbers_of(table, column, unit::Kind::number);
  if (!v.ok()) return v.problems();
  for (double& x : *v) x *= *factor;
  return v;
}

bool of(const plan::Reading& r, const char* kind, const std::string& tool, const std::string& operation) {
  return r.kind.value == kind && (r.tool.known() ? r.tool.value : std::string()) == tool &&
         (!r.operation.known() || r.operation.value == operation);
}

int axis_of(const plan::Reading& r) {
  if (!r.direction.known()) return -1;
  return r.direction.value == "x" ? 0 : r.direction.value == "y" ? 1 : 2;
}

finding::Input note(const plan::Reading& r, const std::string& words) {
  return {"reading " + r.id.value, 0, unit::Kind::number, words};
}
/// What a reading gives that its kind has no use for.
void say_needless(const plan::Reading& r, bool nest, bool direction, const char* why,
                  std::vector<finding::Input>& notes) {
  if (nest && r.nest.known()) notes.push_back(note(r, fmt::format("its nest is not used: {}", why)));
  if (r.at.known()) notes.push_back(note(r, fmt::format("its place (at) is not used: {}", why)));
  if (direction && r.direction.known()) notes.push_back(note(r, fmt::format("its direction is not used: {}", why)));
}

const std::string* bytes(const Context& c, const std::string& file, std::string& problem) {
  const auto it = c.data.files.find(file);
  if (it != c.data.files.end()) return &it->second;
  const auto why = c.data.not_read.find(file);
  problem = why != c.data.not_read.end() ? why->second : file + " was not read";
  return nullptr;
}

chatter::TapResult ring_of(Context& c, const std::string& file, std::string& problem) {
  const std::string* sound = bytes(c, file, problem);
  if (sound == nullptr) return {};
  const auto recording = chatter::read_wav(*sound, file);
  if (!recording.ok()) {
    problem = say(recording.problem());
    return {};
  }
  chatter::TapInputs in;
  in.rate = recording->rate, in.samples = recording->samples;
  chatter::TapResult r = *c.memo.call("tap recording", chatter::tap, in);
  if (!r.ok) problem = file + ": " + r.why;
  return r;
}

chatter::FitResult fit_of(Context& c, const std::string& file, std::string& problem) {
  const std::string* text = bytes(c, file, problem);
  if (text == nullptr) return {};
  const auto table = read_tap_test(*text, file);
  if (!table.ok()) {
    problem = say(table.problem());
    return {};
  }
  const auto fit = [](const chatter::TapTest& t) { return chatter::fit_tap_test(t); };
  chatter::FitResult r = *c.memo.call("tap test", fit, *table);
  if (!r.ok) problem = file + ": " + r.why;
  return r;
}

}  // namespace

Outcome<chatter::TapTest> read_tap_test(const std::string& text, const std::string& file) {
  const auto table = cut_table(text, file);
  if (!table.ok()) return table.problems();
  const auto missing = [&](const char* what, const char* expected) {
    Problem p = bad(what, {}, expected);
    p.where = {file, table->header_line, 1};
    return p;
  };
  const int f = table->find({"frequency", "f"});
  if (f < 0) return missing("the table has no column of frequencies", "a column \"frequency [Hz]\"");
  chatter::TapTest out;
  auto frequency = numbers_of(*table, f, unit::Kind::frequency);
  if (!frequency.ok()) return frequency.problems();
  out.frequency = *frequency;
  const int re = table->find({"real", "re"}), im = table->find({"imaginary", "imag", "im"});
  if (re >= 0 && im >= 0) {
    auto a = compliance(*table, re), b = compliance(*table, im);
    if (!a.ok()) return a.problems();
    if (!b.ok()) return b.problems();
    out.real = *a, out.imaginary = *b;
    return out;
  }
  const int size = table->find({"magnitude", "size"}), phase = table->find({"phase"});
  if (size < 0 || phase < 0)
    return missing("the table has no response",
                   "columns \"real [µm/N]\" and \"imaginary [µm/N]\", or \"magnitude [µm/N]\" and \"phase [deg]\"");
  auto a = compliance(*table, size), b = numbers_of(*table, phase, unit::Kind::angle);
  if (!a.ok()) return a.problems();
  if (!b.ok()) return b.problems();
  for (std::size_t i = 0; i < a->size(); ++i) {
    out.real.push_back((*a)[i] * std::cos((*b)[i]));
    out.imaginary.push_back((*a)[i] * std::sin((*b)[i]));
  }
  return out;
}

ToolTapped tool_tapped(Context& c, Told& told, const std::string& tool, const std::string& operation) {
  ToolTapped out;
  const auto take = [&](const plan::Reading& r, const std::vector<int>& axes) {
    std::string problem;
    const chatter::FitResult fit = fit_of(c, r.file.value, problem);
    if (!problem.empty()) out.problem = problem;
    else
      for (int axis : axes) out.along[static_cast<std::size_t>(axis)] = TappedAlong{r.file.value, fit};
    say_needless(r, true, false, "a tool in its holder is tapped in no nest", out.notes);
  };
  const auto filled = [&](int axis) { return out.along[static_cast<std::size_t>(axis)].has_value(); };
  for (const bool named : {true, false})
    for (const plan::Reading& r : c.plan.readings) {
      if (!of(r, "tap test", tool, operation) || r.direction.known() != named) continue;
      told.insert(&r);
      std::vector<int> axes;
      for (int axis : named ? std::vector<int>{axis_of(r)} : std::vector<int>{0, 1})
        if (!filled(axis)) axes.push_back(axis);
      if (!axes.empty()) take(r, axes);
      else out.notes.push_back(note(r, "not used: another reading speaks for its direction"));
    }
  return out;
}

Rang rang(Context& c, Told& told, const std::string& tool, const std::string& operation) {
  Rang out;
  for (const plan::Reading& r : c.plan.readings) {
    if (!of(r, "tap recording", tool, operation)) continue;
    told.insert(&r);
    if (out.there && out.problem.empty()) {
      out.notes.push_back(note(r, "not used: " + out.file + " speaks for the same tool"));
      continue;
    }
    if (out.there) out.notes.push_back({"tap recording", 0, unit::Kind::number, "says nothing: " + out.problem});
    out.there = true, out.file = r.file.value, out.problem.clear();
    out.words = r.direction.known() ? "along " + r.direction.value : std::string();
    say_needless(r, true, false, "a tool in its holder is tapped in no nest", out.notes);
    out.tap = ring_of(c, out.file, out.problem);
  }
  return out;
}

namespace {

/// Where a pallet was tapped: the part in the nest, at half its height where no place is said; or the bare plate.
std::optional<PlatePoint> place_of(const Context& c, const plan::Reading& r) {
  if (!r.nest.known() && !r.at.known()) return std::nullopt;
  PlatePoint p{r.nest.known() ? r.nest.value - 1 : -1, {}};
  if (p.nest >= 0) {
    const auto parts = plate_inputs(c, stated_knobs(c), {}).parts;
    const auto& part = parts[static_cast<std::size_t>(p.nest)];
    p.at = {part.x, part.y, part.height};
  }
  if (r.at.known() && !r.at.value.empty()) p.at = {r.at.value.front().x, r.at.value.front().y, p.at.z};
  return p;
}

/// Hz of the mode that swings most where and as it was tapped.
double loudest(const maths::PointResponse& point, int axis) {
  double most = 0, hertz = 0;
  for (const auto& m : point.modes) {
    const double s = axis == 0   ? m.shape.x * m.shape.x
                     : axis == 1 ? m.shape.y * m.shape.y
                     : axis == 2 ? m.shape.z * m.shape.z
                                 : frame::dot(m.shape, m.shape);
    const double here = s / (2 * std::max(m.damping, 1e-4) * m.omega * m.omega);
    if (here > most) most = here, hertz = m.omega / 6.283185307179586;
  }
  return hertz;
}

void compare(Context& c, const plan::Reading& r, const std::vector<double>& frequencies, PalletTap& t) {
  if (const auto place = place_of(c, r)) {
    const auto answer = plate_answer(c, stated_knobs(c), {*place});
    if (answer.ok() && !answer->at.empty()) t.computed = loudest(answer->at.front(), axis_of(r)), t.loudest = true;
    return;
  }
  for (double f : frequencies)
    if (!(std::fabs(f - t.frequency) >= std::fabs(t.computed - t.frequency))) t.computed = f;
}

void listen(Context& c, const plan::Reading& r, PalletTap& t) {
  if (r.kind.value == "tap recording") {
    const auto tap = ring_of(c, t.file, t.problem);
    if (!t.problem.empty() || tap.rings.empty()) return;
    const chatter::Ring& ring = tap.rings.front();
    t.frequency = ring.frequency, t.damping = ring.damping, t.spread = ring.damping_spread;
    return;
  }
  const auto fit = fit_of(c, t.file, t.problem);
  if (!t.problem.empty() || fit.modes.empty()) return;
  const auto soft = std::min_element(fit.modes.begin(), fit.modes.end(), [](const auto& a, const auto& b) {
    return a.damping * a.stiffness < b.damping * b.stiffness;
  });
  t.frequency = soft->frequency, t.damping = soft->damping, t.spread = 0.1 * soft->damping, t.spread_assumed = true;
}

}  // namespace

std::vector<PalletTap> pallet_taps(Context& c, Told& told, const std::string& operation,
                                   const std::vector<double>& frequencies) {
  std::vector<PalletTap> out;
  for (const plan::Reading& r : c.plan.readings) {
    if (!of(r, "tap recording", "", operation) && !of(r, "tap test", "", operation)) continue;
    told.insert(&r);
    PalletTap t;
    t.file = r.file.value;
    if (r.nest.known()) t.nest = r.nest.value - 1, t.words = fmt::format("in nest {}", r.nest.value);
    if (r.at.known()) t.words += t.words.empty() ? "at the place said" : " at the place said";
    if (r.direction.known()) t.words += (t.words.empty() ? "along " : ", along ") + r.direction.value;
    if (r.at.value.size() > 1) t.notes.push_back(note(r, "only the first of its places (at) is used"));
    if (t.nest >= nest_count(c.plan)) t.problem = fmt::format("there is no nest {} on the pallet", r.nest.value);
    else listen(c, r, t);
    if (t.problem.empty()) compare(c, r, frequencies, t);
    out.push_back(std::move(t));
  }
  return out;
}

std::vector<Heard> heard(Context& c, Told& told, const std::string& tool, const std::string& operation, double turns,
                         int teeth, double top_turns) {
  std::vector<Heard> out;
  for (const plan::Reading& r : c.plan.readings) {
    if (!of(r, "squeal", tool, operation)) continue;
    told.insert(&r);
    Heard h;
    h.file = r.file.value;
    if (r.nest.known()) h.nest = r.nest.value - 1;
    say_needless(r, false, true, "a squeal is heard from anywhere alike", h.notes);
    const std::string* sound = bytes(c, h.file, h.problem);
    const auto recording = sound != nullptr ? chatter::read_wav(*sound, h.file) : Outcome<chatter::Recording>(bad("-"));
    if (sound != nullptr && !recording.ok()) h.problem = say(recording.problem());
    if (recording.ok()) {
      chatter::SquealInputs in;
      in.rate = recording->rate, in.samples = recording->samples;
      in.turns = turns, in.teeth = teeth, in.top_turns = top_turns;
      h.squeal = *c.memo.call("squeal", chatter::squeal, in);
      if (!h.squeal.ok) h.problem = h.file + ": " + h.squeal.why;
    }
    out.push_back(std::move(h));
  }
  return out;
}

void say_unused(Context& c, const Told& told) {
  for (const plan::Reading& r : c.plan.readings) {
    const std::string& kind = r.kind.value;
    if ((kind != "tap test" && kind != "tap recording" && kind != "squeal") || told.count(&r) > 0) continue;
    const std::string why =
        !r.tool.known()       ? kind == "squeal" ? std::string("say which tool squealed (tool)")
                                                 : std::string("no pallet's chatter is judged")
              : r.operation.known() ? fmt::format("no cut of {} in {} is judged for chatter", r.tool.value, r.operation.value)
                              : fmt::format("no cut of {} is judged for chatter", r.tool.value);
    c.study.notices.push_back(fmt::format("Reading {} ({}) is not used: {}.", r.id.value, r.file.value, why));
  }
}

}  // namespace fettle::study
