#include "app/cli/propose.h"

#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <iostream>

#include "app/cli/lists.h"
#include "app/cli/report.h"
#include "base/text.h"
#include "begin/features.h"
#include "begin/pose_model.h"
#include "begin/propose/propose.h"
#include "begin/propose/questions.h"
#include "begin/propose/raw_model.h"
#include "plan/read.h"

namespace fettle::cli {

namespace {

/// One line a question on standard error, one line an answer; an empty one leaves it open, the end of input all others.
begin::Answers ask(const std::vector<begin::Question>& questions, const plan::Plan& read) {
  begin::Answers out;
  std::cerr << questions.size() << " questions; an empty line leaves one open.\n";
  for (const begin::Question& q : questions) {
    for (;;) {
      std::cerr << "\n" << q.words << "  (" << q.why << ")\n";
      if (!q.choices.empty() && q.choices.size() <= 12) std::cerr << "  one of: " << begin::choices_text(q) << "\n";
      std::cerr << "  " << (q.start.empty() ? "such as " + q.example : "else " + q.start) << " > " << std::flush;
      std::string line;
      if (!std::getline(std::cin, line)) return out;
      const std::string answer(base::trim(line));
      if (answer.empty()) break;
      const std::string wrong = begin::wrong_answer(q, answer, read);
      if (wrong.empty()) {
        out[q.id] = answer;
        break;
      }
      std::cerr << "  " << wrong << "\n";
    }
  }
  return out;
}

/// "plan.toml" -> "plan-2.toml" for the second.
std::string numbered(const std::string& into, int n) {
  if (n == 1) return into;
  std::filesystem::path p(into);
  return (p.parent_path() / fmt::format("{}-{}{}", p.stem().string(), n, p.extension().string())).string();
}

void tell(const begin::Proposal& p, const std::string& file) {
  const study::Counts& c = p.study.counts;
  std::cout << fmt::format("\n{}. {}{}\n   {}\n   {} outside, {} tight, {} beyond, {} open, {} inside\n", p.rank,
                           p.draft.name, file.empty() ? "" : "   -> " + file, p.why_here, c.outside, c.tight, c.beyond,
                           c.open, c.inside);
  for (const std::string& s : p.draft.disagree) std::cout << "   look at: " << s << "\n";
}

/// Writes every proposal to its file; their names, or none when no file is wanted.
Outcome<std::vector<std::string>> written(const BeginArguments& a, const begin::Proposals& found) {
  std::vector<std::string> files;
  if (a.into.empty()) return files;
  for (const begin::Proposal& p : found.best) {
    files.push_back(numbered(a.into, p.rank));
    if (p.rank > 1 && std::filesystem::exists(files.back()) && !a.over)
      return bad("the plan is there already", files.back(), "another name, or --over");
  }
  for (std::size_t i = 0; i < files.size(); ++i)
    if (const auto done = base::write_file(files[i], found.best[i].text); !done.ok()) return done.problems();
  return files;
}

/// The raw casting of the first proposal as a STEP file; what is not in it goes to standard error.
Outcome<bool> write_raw(const BeginArguments& a, const BegunFrom& from, const begin::RawAsked& asked,
                        const plan::Plan& plan) {
  const auto raw = begin::raw_casting(from.step, a.model, a.unit, asked, plan);
  if (!raw.ok()) return raw.problems();
  if (auto done = base::write_file(a.raw, raw->step); !done.ok()) return done;
  std::cerr << fmt::format("wrote {}: {:.1f} cm3\n", a.raw, raw->volume * 1e6);
  for (const std::string& s : raw->said) std::cerr << s << "\n";
  return true;
}

int print_json(const BeginArguments& a, const begin::Proposals& found) {
  const auto files = written(a, found);
  if (!files.ok()) return report(files.problems());
  std::cout << proposals_json(found, *files) << "\n";
  return found.best.empty() ? 1 : 0;
}

int print_words(const BeginArguments& a, const begin::Proposals& found) {
  for (const begin::Question& q : found.not_asked)
    std::cerr << fmt::format("not answered: {} {}\n", q.words, q.start.empty() ? "(open)" : "taken: " + q.start);
  if (found.best.empty()) {
    std::cout << "No plan is possible as it stands. These wishes clash:\n";
    for (const begin::Clash& c : found.clashes)
      std::cout << "- " << base::join(c.wishes, " + ") << ": " << c.words << "\n";
    return 1;
  }
  const auto files = written(a, found);
  if (!files.ok()) return report(files.problems());
  std::cout << fmt::format("{} plan{} proposed, {} looked at.\n", found.best.size(), found.best.size() == 1 ? "" : "s",
                           found.looked_at);
  for (std::size_t i = 0; i < found.best.size(); ++i) tell(found.best[i], files->empty() ? "" : (*files)[i]);
  if (a.into.empty()) std::cout << "\n" << found.best.front().text;
  return found.best.front().draft.unmet.empty() ? 0 : 1;
}

}  // namespace

Outcome<plan::Shop> shop_of(const std::string& path, const std::string& text) {
  const std::string tiny = "fettle = 1\n[plan]\nname = \"x\"\nshop = \"shop\"\n";
  auto plan = plan::read_plan(tiny, "plan", [&](const std::string&) -> Outcome<std::string> { return text; });
  if (plan.ok()) return plan->shop;
  Problems out = plan.problems();
  for (Problem& p : out)
    if (p.where.file == "shop") p.where.file = path;
  return out;
}

int propose_plans(const BeginArguments& a, const begin::Begun& begun, const solid::Model& part,
                  const solid::Model* cast, const BegunFrom& from, const begin::Options& options,
                  const std::string& shop_in_plan) {
  const auto text = base::read_file(a.shop);
  if (!text.ok()) return report(text.problems());
  const auto shop = shop_of(a.shop, *text);
  if (!shop.ok()) return report(shop.problems());
  const std::vector<begin::Question> questions = begin::questions(begun.plan, *shop);
  if (a.questions) {
    std::cout << begin::answers_form(questions);
    return 0;
  }
  begin::Scene scene;
  scene.shop = *shop, scene.shop_path = shop_in_plan, scene.shop_text = *text;
  scene.inch = options.inch, scene.seed = static_cast<std::uint64_t>(a.seed);
  std::vector<std::string> said;
  if (const auto lists = take_lists(a, scene, said); !lists.ok()) return report(lists.problems());
  for (const std::string& s : said) std::cerr << s << "\n";
  if (!a.answers.empty()) {
    const auto file = base::read_file(a.answers);
    if (!file.ok()) return report(file.problems());
    plan::Plan asked = begun.plan;
    asked.shop = scene.shop;  // its tools may be taken
    auto answers = begin::read_answers(*file, a.answers, questions, asked);
    if (!answers.ok()) return report(answers.problems());
    scene.answers = std::move(answers.value());
  } else if (::isatty(STDIN_FILENO) != 0) {
    scene.answers = ask(questions, begun.plan);
  }
  const auto X = begin::pose_of(part, options);
  if (!X.ok()) return report(X.problems());
  const solid::Model placed = begin::posed(part, *X);
  std::optional<solid::Model> placed_cast;
  if (cast != nullptr) placed_cast = begin::posed(*cast, *X);
  scene.part = &placed, scene.cast = placed_cast ? &*placed_cast : nullptr;
  study::Data data;
  if (!options.measured.empty()) data.files[options.measured] = from.table;
  const bool loud = ::isatty(STDERR_FILENO) != 0;
  const auto found = begin::propose(scene, begun.plan, data, a.threads, [&](const std::string& what, double share) {
    if (loud) std::cerr << fmt::format("\r\x1b[K{} {:.0f} %", what, 100 * share) << std::flush;
  });
  if (loud) std::cerr << "\r\x1b[K";
  if (!found.ok()) return report(found.problems());
  if (!found->best.empty())
    if (const auto done = write_filled_shop(a, scene); !done.ok()) return report(done.problems());
  const int code = a.json ? print_json(a, *found) : print_words(a, *found);
  if (code > 1) return code;
  if (!a.raw.empty() && !found->best.empty()) {
    const begin::RawAsked asked =
        begin::raw_asked(placed, *X, found->best.front().draft.plan, from.drawing.threads, options.inch);
    if (const auto done = write_raw(a, from, asked, found->best.front().draft.plan); !done.ok())
      return report(done.problems());
  }
  return code;
}

}  // namespace fettle::cli
