#pragma once
// The dozen questions that no model answers.
#include "base/outcome.h"
#include "begin/propose/propose.h"
#include "plan/plan.h"

namespace fettle::begin {

/// The questions that this part and shop leave open, at most twelve, in the order they should be asked. Those that the
/// plan answers already are not among them.
std::vector<Question> questions(const plan::Plan& read, const plan::Shop& shop);

/// What a person may write: an answers file in TOML, one line a question ("per_week = 240", "machine = \"B\""), and a
/// table `[take]` of runners-up to take ("seat.pins" = "swapped"), which come back as "take.seat.pins".
/// Problems: TOML syntax, a question that nobody asked (with the nearest), an answer that cannot be one, a runner-up
/// that no stage knows; all at once, with line and column.
Outcome<Answers> read_answers(const std::string& text, const std::string& path, const std::vector<Question>& asked,
                              const plan::Plan& read);

/// What is wrong with one answer, in words; empty when it can be used.
std::string wrong_answer(const Question& question, const std::string& answer, const plan::Plan& read);

/// What may be answered, for people: between commas, or between bars where a choice has commas itself.
std::string choices_text(const Question& question);

/// Says which holes are tapped by an answer, and which look so and are not; `read`: before the answers.
void say_threads(const Answers& answers, const plan::Plan& read, Draft& draft);

/// Writes the answers that are numbers of the plan into it: demand, people, what is critical, which holes are tapped,
/// limits of sizes without their own.
void apply_answers(const Answers& answers, plan::Plan& plan);

/// An answers file to fill in: every question as a comment, its start value, what hangs on it.
std::string answers_form(const std::vector<Question>& asked);

}  // namespace fettle::begin
