#include "study/chatter_readings.h"

#include <cmath>

#include "calc/chatter/wav.h"
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

const plan::Reading* reading(const Context& c, const char* kind, const std::string& tool) {
  for (const plan::Reading& r : c.plan.readings)
    if (r.kind.value == kind && (r.tool.known() ? r.tool.value : std::string()) == tool) return &r;
  return nullptr;
}

const std::string* bytes(const Context& c, const std::string& file, std::string& problem) {
  const auto it = c.data.files.find(file);
  if (it != c.data.files.end()) return &it->second;
  const auto why = c.data.not_read.find(file);
  problem = why != c.data.not_read.end() ? why->second : file + " was not read";
  return nullptr;
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

ToolTapped tool_tapped(Context& c, const std::string& tool) {
  ToolTapped out;
  const plan::Reading* r = reading(c, "tap test", tool);
  if (r == nullptr) return out;
  out.there = true, out.file = r->file.value;
  const std::string* text = bytes(c, out.file, out.problem);
  if (text == nullptr) return out;
  const auto table = read_tap_test(*text, out.file);
  if (!table.ok()) {
    out.problem = say(table.problem());
    return out;
  }
  out.fit = chatter::fit_tap_test(*table);
  if (!out.fit.ok) out.problem = out.file + ": " + out.fit.why;
  return out;
}

Rang rang(Context& c, const std::string& tool) {
  Rang out;
  const plan::Reading* r = reading(c, "tap recording", tool);
  if (r == nullptr) return out;
  out.there = true, out.file = r->file.value;
  const std::string* sound = bytes(c, out.file, out.problem);
  if (sound == nullptr) return out;
  const auto recording = chatter::read_wav(*sound, out.file);
  if (!recording.ok()) {
    out.problem = say(recording.problem());
    return out;
  }
  chatter::TapInputs in;
  in.rate = recording->rate, in.samples = recording->samples;
  out.tap = *c.memo.call("tap recording", chatter::tap, in);
  if (!out.tap.ok) out.problem = out.file + ": " + out.tap.why;
  return out;
}

Heard heard(Context& c, const std::string& tool, const std::string& operation, double turns, int teeth,
            double top_turns) {
  Heard out;
  const plan::Reading* r = reading(c, "squeal", tool);
  if (r == nullptr || (r->operation.known() && r->operation.value != operation)) return out;
  out.there = true, out.file = r->file.value;
  const std::string* sound = bytes(c, out.file, out.problem);
  if (sound == nullptr) return out;
  const auto recording = chatter::read_wav(*sound, out.file);
  if (!recording.ok()) {
    out.problem = say(recording.problem());
    return out;
  }
  chatter::SquealInputs in;
  in.rate = recording->rate, in.samples = recording->samples;
  in.turns = turns, in.teeth = teeth, in.top_turns = top_turns;
  out.squeal = *c.memo.call("squeal", chatter::squeal, in);
  if (!out.squeal.ok) out.problem = out.file + ": " + out.squeal.why;
  return out;
}

}  // namespace fettle::study
