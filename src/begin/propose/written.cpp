#include "begin/propose/written.h"

#include <fmt/format.h>

#include "base/text.h"
#include "plan/read.h"

namespace fettle::begin {

namespace {

std::string one_line(const Choice& c) {
  std::string out = fmt::format("{}: {}. {}", c.about, c.taken, c.why);
  if (!c.asked_by.empty()) out += fmt::format(" [{}]", c.asked_by);
  for (const Alternative& a : c.others) {
    out += fmt::format(" Else: {}, but {}", a.words, a.why_not);
    const std::size_t is = a.take.find('=');
    if (is != std::string::npos)
      out += fmt::format(" (to take it: \"{}\" = \"{}\")", a.take.substr(5, is - 5), a.take.substr(is + 1));
    else if (!a.no_answer.empty()) out += fmt::format(" (no answer takes it: {})", a.no_answer);
    out += ".";
  }
  return out;
}

/// Comment lines of at most 118 columns; nothing of a model's names may end one early.
std::string comment(const std::string& text) {
  std::string out, line = "#";
  std::string clean = text;
  for (char& c : clean)
    if (static_cast<unsigned char>(c) < 0x20) c = ' ';
  for (const std::string& word : base::split(clean, ' ')) {
    if (word.empty()) continue;
    if (base::code_points(line) + 1 + base::code_points(word) > 118) {
      out += line + "\n";
      line = "#  ";
    }
    line += " " + word;
  }
  return out + line + "\n";
}

}  // namespace

std::string text_of(const Draft& d) {
  std::string out = comment(fmt::format("Proposed: {}.", d.name));
  out += "# Chosen, and why:\n";
  for (const Choice& c : d.choices) out += comment("- " + one_line(c));
  if (!d.unmet.empty()) out += "#\n# NOT in this plan:\n";
  for (const Clash& c : d.unmet) out += comment("- " + c.words);
  if (!d.assumed.empty()) out += "#\n# Assumed, since nobody said it:\n";
  for (const std::string& s : d.assumed) out += comment("- " + s);
  if (!d.disagree.empty()) out += "#\n# A practitioner may see it otherwise:\n";
  for (const std::string& s : d.disagree) out += comment("- " + s);
  return out + "\n" + plan::write_plan(d.plan);
}

Outcome<plan::Plan> read_back(const Scene& scene, const std::string& text) {
  const auto load = [&](const std::string& path) -> Outcome<std::string> {
    if (!scene.shop_path.empty() && path == scene.shop_path) return scene.shop_text;
    return bad("not here", path);
  };
  auto plan = plan::read_plan(text, "the proposal", load);
  if (plan.ok()) return plan;
  Problems out = plan.problems();
  for (Problem& p : out) p.fault = Fault::our_fault;
  return out;
}

study::Options quick_look() {
  study::Options out;
  out.monte_carlo = false;
  out.bands = false;
  return out;
}

Outcome<Look> look(const Scene& scene, const Draft& draft, const study::Data& data, const study::Options& options,
                   study::Memo& memo) {
  Look out;
  Draft with = draft;
  if (scene.known) scene.known(with);
  out.text = text_of(with);
  auto plan = read_back(scene, out.text);
  if (!plan.ok()) return plan.problems();
  out.plan = std::move(plan.value());
  auto studied = study::run(out.plan, data, options, memo);
  if (!studied.ok()) return studied.problems();
  out.study = std::move(studied.value());
  return out;
}

}  // namespace fettle::begin
