// `fettle listen`: what a recording of a tap or of a squeal says.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

#include "app/cli/commands.h"
#include "app/cli/report.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "calc/chatter/recording.h"
#include "calc/chatter/wav.h"
#include "plan/read.h"
#include "unit/quantity.h"

namespace fettle::cli {

namespace {

constexpr double two_pi = 6.283185307179586;

struct Cutting {
  bool squeal = false;
  double turns = 0, top = 0;
  int teeth = 0;
  bool uneven = false;
  std::string tool;
};

std::string rpm(double turns) { return base::fixed(turns * 60, 0) + " rpm"; }
std::string hertz(double f) { return base::fixed(f, f < 1000 ? 1 : 0) + " Hz"; }

/// The tool's teeth, its speed in the plan and the top speed of the machine that turns it.
Problems from_plan(const ListenArguments& a, Cutting& c) {
  const Outcome<plan::Plan> p = plan::read_plan(a.plan);
  if (!p.ok()) return p.problems();
  std::vector<std::string> ids;
  const plan::Tool* tool = nullptr;
  for (const std::vector<plan::Tool>* tools : {&p->tools, &p->shop.tools})
    for (const plan::Tool& t : *tools) {
      ids.push_back(t.id.value);
      if (t.id.value == a.tool) tool = &t;
    }
  if (tool == nullptr)
    return {bad("the plan has no such tool", a.tool, "one of the shop's tools", base::nearest(a.tool, ids))};
  if (c.teeth == 0 && tool->teeth.known()) c.teeth = static_cast<int>(tool->teeth.value);
  c.uneven = tool->spacing.value == "uneven";
  for (const plan::Operation& o : p->operations) {
    for (const plan::Cut& cut : o.cuts) {
      if (cut.tool.value != a.tool) continue;
      if (!(c.turns > 0) && cut.speed.known()) c.turns = cut.speed.si / two_pi;
      for (const plan::Machine& m : p->shop.machines)
        if (m.id.value == o.machine.value && m.top_speed.known()) c.top = m.top_speed.si / two_pi;
    }
  }
  return {};
}

Problems cutting_of(const ListenArguments& a, Cutting& c) {
  Problems out;
  c.tool = a.tool;
  c.teeth = a.teeth;
  if (!a.speed.empty()) {
    const auto speed = unit::parse(a.speed, unit::Kind::rotation);
    if (!speed.ok()) return speed.problems();
    if (!(speed->si > 0)) return {bad("the speed must be above zero", a.speed, "such as \"2190 rpm\"")};
    c.turns = speed->si / two_pi;
  }
  c.squeal = !a.speed.empty() || a.teeth > 0 || !a.tool.empty();
  if (!a.tool.empty() && a.plan.empty())
    out.push_back(bad("a tool is looked up in a plan", a.tool, "--plan PLAN beside --tool"));
  if (!a.plan.empty() && a.tool.empty())
    out.push_back(bad("a plan was given without a tool", a.plan, "--tool beside --plan, such as --tool T11"));
  if (!out.empty()) return out;
  if (!a.plan.empty()) {
    Problems p = from_plan(a, c);
    if (!p.empty()) return p;
  }
  if (c.squeal && !(c.turns > 0)) out.push_back(bad("the spindle speed is not known", {}, "--speed \"2190 rpm\""));
  if (c.squeal && c.teeth < 1) out.push_back(bad("the number of teeth is not known", {}, "--teeth 5"));
  return out;
}

std::string recorded(const chatter::Recording& r) {
  std::string out =
      fmt::format("{} s at {} samples a second{}", base::fixed(static_cast<double>(r.samples.size()) / r.rate, 2),
                  base::fixed(r.rate, 0), r.channels > 1 ? fmt::format(", {} channels averaged", r.channels) : "");
  if (r.clipped > 1e-4) out += "; too loud in places (at full scale): damping may be off, record from farther away";
  return out;
}

std::string tap_text(const chatter::TapResult& t) {
  std::string out;
  const chatter::Ring& first = t.rings.front();
  out += wrap(fmt::format("It rings at {} with damping {} ({} {} heard).", hertz(first.frequency),
                          base::fixed(first.damping, 4), t.taps, t.taps == 1 ? "tap" : "taps"),
              100, 0);
  out += "\n  frequency        ± (1 s)      damping    ± (1 s)    taps   share of the sound\n";
  for (const chatter::Ring& r : t.rings)
    out += fmt::format("  {:>10}   {:>10}   {:>10}  {:>9}   {:>5}   {:>5} %\n", hertz(r.frequency),
                       base::fixed(r.frequency_spread, 2) + " Hz", base::fixed(r.damping, 4),
                       base::fixed(r.damping_spread, 5), r.taps, base::fixed(100 * r.share, 0));
  out += "\n";
  out += wrap(fmt::format("The rings explain {} % of the sound after the blow. A microphone hears air and covers as "
                          "well: a ring counts when it is there in every tap.",
                          base::fixed(100 * (1 - t.left), 0)),
              100, 2);
  if (t.taps < 3)
    out +=
        wrap("Tap three times or more, half a second apart: then the spread is seen and not only estimated.", 100, 2);
  out += wrap("In a plan: a [[reading]] of kind \"tap recording\" with this file.", 100, 2);
  return out;
}

std::string squeal_text(const chatter::SquealResult& s, const Cutting& c) {
  std::string out;
  if (s.chatter) {
    out += wrap(fmt::format("It chatters at {} (± {} Hz): no multiple of the spindle's {} beats there.",
                            hertz(s.frequency), base::fixed(s.resolution, 1), rpm(c.turns)),
                100, 0);
  } else {
    out += wrap(
        fmt::format(
            "No chatter is heard: every strong tone is a multiple of the spindle's {} or of its {} teeth. The noise is "
            "forced; less force per tooth or another number of teeth changes it, hunting for a speed does not.",
            rpm(c.turns), c.teeth),
        100, 0);
  }
  out += "\n  tone          level   what it is\n";
  for (std::size_t i = 0; i < std::min<std::size_t>(s.tones.size(), 12); ++i) {
    const chatter::Tone& t = s.tones[i];
    const double each = c.turns * (t.teeth ? c.teeth : 1);
    out += fmt::format("  {:>10}   {:>4} %   {}\n", hertz(t.frequency), base::fixed(100 * t.level, 0),
                       t.teeth     ? fmt::format("teeth × {}", base::fixed(t.frequency / each, 0))
                       : t.turning ? fmt::format("spindle × {}", base::fixed(t.frequency / each, 0))
                                   : "no multiple of the spindle");
  }
  if (!s.chatter) return out;
  out += "\n";
  if (s.tries.empty()) {
    out += wrap(fmt::format("No speed between a third of the present one and {} puts the teeth in step with it: less "
                            "depth, more damping, or a stiffer set-up.",
                            c.top > 0 ? "the machine's top" : "three times it"),
                100, 2);
    return out;
  }
  std::vector<std::string> words;
  for (std::size_t i = 0; i < std::min<std::size_t>(s.tries.size(), 4); ++i) words.push_back(rpm(s.tries[i]));
  out += wrap(fmt::format("Try {}: there the waves of one tooth and the next run in step (60 f / (teeth × j)).",
                          base::join(words, ", then ")),
              100, 2);
  const double order = s.frequency / (c.teeth * c.turns);
  if (order > 8)
    out += wrap(fmt::format("Between two teeth it swings {} times: at so many, speeds differ little, and less speed "
                            "(the flank rubs) or less depth does more.",
                            base::fixed(order, 0)),
                100, 2);
  if (c.uneven)
    out +=
        wrap("The teeth are unevenly spaced, so no speed is right for all of them: what is tried is a guide.", 100, 2);
  if (!(c.top > 0))
    out += wrap(
        "The machine's top speed is not known here: keep within it, and within what tool and holder are rated for.",
        100, 2);
  out += wrap(
      "Keep the feed per tooth when the speed changes. Stay within the speed printed on tool and holder; doors closed.",
      100, 2);
  return out;
}

nlohmann::json as_json(const chatter::TapResult& t) {
  nlohmann::json rings = nlohmann::json::array();
  for (const chatter::Ring& r : t.rings)
    rings.push_back({{"frequency_hz", r.frequency},
                     {"frequency_spread_hz", r.frequency_spread},
                     {"damping", r.damping},
                     {"damping_spread", r.damping_spread},
                     {"share", r.share},
                     {"taps", r.taps}});
  return {{"schema", 1}, {"kind", "tap"}, {"taps", t.taps}, {"unexplained", t.left}, {"rings", std::move(rings)}};
}
nlohmann::json as_json(const chatter::SquealResult& s, const Cutting& c) {
  nlohmann::json tones = nlohmann::json::array(), tries = nlohmann::json::array();
  for (const chatter::Tone& t : s.tones)
    tones.push_back({{"frequency_hz", t.frequency}, {"level", t.level}, {"spindle", t.turning}, {"teeth", t.teeth}});
  for (double n : s.tries) tries.push_back(n * 60);
  nlohmann::json out = {{"schema", 1},
                        {"kind", "squeal"},
                        {"speed_rpm", c.turns * 60},
                        {"teeth", c.teeth},
                        {"chatter", s.chatter},
                        {"resolution_hz", s.resolution},
                        {"tones", std::move(tones)},
                        {"try_rpm", std::move(tries)}};
  out["frequency_hz"] = s.chatter ? nlohmann::json(s.frequency) : nlohmann::json(nullptr);
  return out;
}

Problems unheard(const ListenArguments& a, const std::string& why) {
  Problem p = bad(why);
  p.where.file = a.file;
  return {p};
}

}  // namespace

int listen_command(const ListenArguments& a) {
  Cutting c;
  const Problems wrong = cutting_of(a, c);
  if (!wrong.empty()) return report(wrong);
  const Outcome<std::string> bytes = base::read_file(a.file, std::size_t{200} << 20);
  if (!bytes.ok()) return report(bytes.problems());
  const Outcome<chatter::Recording> sound = chatter::read_wav(*bytes, a.file);
  if (!sound.ok()) return report(sound.problems());
  // A tool alone does not say whether it was tapped or cut: what rings down in several blows was tapped.
  const bool either = !a.tool.empty() && a.speed.empty() && a.teeth == 0;
  chatter::TapResult t;
  if (!c.squeal || either) {
    chatter::TapInputs in;
    in.rate = sound->rate, in.samples = sound->samples;
    t = chatter::tap(in);
  }
  if (!c.squeal || (either && t.ok && t.taps >= 2 && t.left < 0.5)) {
    if (!t.ok) return report(unheard(a, t.why + "; of the sound of a cut say --speed and --teeth"));
    if (a.json) std::cout << as_json(t).dump(1) << "\n";
    else std::cout << tap_text(t) << wrap(recorded(*sound) + ".", 100, 2);
    return 0;
  }
  chatter::SquealInputs in;
  in.rate = sound->rate, in.samples = sound->samples;
  in.turns = c.turns, in.teeth = c.teeth, in.top_turns = c.top;
  const chatter::SquealResult s = chatter::squeal(in);
  if (!s.ok) return report(unheard(a, s.why));
  if (a.json) std::cout << as_json(s, c).dump(1) << "\n";
  else std::cout << squeal_text(s, c) << wrap(recorded(*sound) + ".", 100, 2);
  return s.chatter ? 1 : 0;
}

}  // namespace fettle::cli
