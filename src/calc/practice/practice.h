#pragma once
// The rules of the trade as checks of any plan. See README.md for the rules, their numbers and sources.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "calc/practice/facts.h"

namespace fettle::practice {

enum class Group { casting, route, cuts, seats, after, prove_out };
std::string_view word(Group group);

/// What a broken rule means: a part, a tool or a person is lost; or it is done otherwise by people who know.
enum class Weight { must, should };

struct Rule {
  std::string_view id;  ///< "first_cut_under_skin"
  Group group = Group::route;
  Weight weight = Weight::must;
  std::string_view title;     ///< how it stands in a list: "the first cut goes under the skin"
  std::string_view question;  ///< ends with "?"
  std::string_view reason;
  std::string_view source;
  std::string_view mend;  ///< what to do
};
/// All rules, in order of the route.
std::span<const Rule> rules();
/// The rule of that id, or null.
const Rule* find_rule(std::string_view id);

enum class Verdict { kept, broken, open, not_applicable };
std::string_view word(Verdict verdict);

/// A place in the plan; parts may be empty.
struct Where {
  std::string operation, feature, tool;
};
/// A fact that nobody said.
struct Missing {
  std::string fact;  ///< one of facts_asked()
  Where where;
};
/// One place where a rule is broken.
struct Breach {
  Where where;
  std::string sentence;
};
struct Answer {
  std::string rule;
  Verdict verdict = Verdict::not_applicable;
  Where where;           ///< of the first breach, else of the first place that is open
  std::string sentence;  ///< why
  std::string mend;      ///< what to do about it; empty when kept or not applicable
  int looked_at = 0;     ///< places that were judged
  std::vector<Breach> breaches;
  std::vector<Missing> missing;  ///< also where another place is broken
};
struct Result {
  std::vector<Answer> answers;  ///< one a rule, in the order of rules()
};

/// Every rule judged. Nothing that is not said counts as kept.
Result judge(const Facts& facts);
/// One rule by its id; not_applicable with a sentence for an id that does not exist.
Answer judge(const Facts& facts, std::string_view rule);

/// What an operation would have to do besides cutting, by the word of the step and the rule that asks for it.
struct StepAsked {
  std::string operation, step, rule;
};
/// The steps that nobody has said and that the rules ask for: with them said, and everything else that is not said not
/// done, no rule is open for want of a step. A step that is said not to be done is not asked for again.
std::vector<StepAsked> steps_asked(Facts facts);
/// All words of steps, in the order of Steps: "shim", "demagnetise", ...
std::span<const std::string_view> step_words();
/// The member that a word stands for, or null.
std::optional<bool>* step_of(Steps& steps, std::string_view word);

/// What a fact is called, for people: {"skin", "depth of the cast skin"}.
struct FactWord {
  std::string_view fact, words;
};
/// Every fact that a rule may ask for.
std::span<const FactWord> facts_asked();

}  // namespace fettle::practice
