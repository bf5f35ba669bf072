#pragma once
// What the tests of every science's reckoners share: looking one up, asking it as a person does, and its worked
// examples.
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "finding/reckoner.h"
#include "published.h"

namespace fettle::test {

/// Texts as a person types them: name and value.
using Given = std::vector<std::pair<std::string, std::string>>;

/// The reckoner of that name; the test fails when the list has none.
inline finding::Reckoner reckoner_named(const std::vector<finding::Reckoner>& list, const std::string& name) {
  for (const finding::Reckoner& r : list)
    if (r.name == name) return r;
  ADD_FAILURE() << "no reckoner " << name;
  return {};
}

/// Reads the texts and runs the reckoner; the problems of either.
inline Outcome<finding::ReckonerAnswer> ask(const finding::Reckoner& r, const Given& given) {
  const auto values = finding::read_values(r, given);
  if (!values.ok()) return values.problems();
  return finding::run(r, *values);
}

/// What the source of a worked example says about how it was obtained.
inline How how_of(const std::string& source) {
  const auto says = [&](const char* word) { return source.find(word) != std::string::npos; };
  if (says("from memory")) return How::from_memory;
  if (says("exact") || says("closed form")) return How::exact;
  if (says("by hand") || says("computed") || says("worked") || says("full precision") || says("twin"))
    return How::computed;
  if (says("printed") || says("read")) return How::read;
  return How::computed;  // a source that does not say how it was seen is not claimed to have been read
}

/// The output described under that name, or null.
inline const finding::ReckonerOutput* output_named(const finding::Reckoner& r, const std::string& name) {
  for (const finding::ReckonerOutput& o : r.outputs)
    if (o.name == name) return &o;
  return nullptr;
}

/// One expected result, in the unit of its text: words to the letter, numbers within the example's tolerance and
/// recorded under `label`.
inline void expected_result(const finding::Reckoner& r, const finding::WorkedExample& e,
                            const finding::ReckonerAnswer& answer, const std::string& label, const std::string& name,
                            const std::string& text) {
  const finding::ReckonerOutput* o = output_named(r, name);
  ASSERT_NE(o, nullptr) << label << ": no output " << name;
  if (answer.text.count(name) > 0) {
    EXPECT_EQ(answer.text.at(name), text) << label << ": " << name;
    return;
  }
  const auto expected = unit::parse(text, o->kind);
  ASSERT_TRUE(expected.ok()) << label << ": " << name << ": " << say(expected.problem());
  ASSERT_EQ(answer.number.count(name), 1U) << label << ": " << name << " was not answered";
  const std::string& u = expected->unit;
  const auto in = [&](double si) { return u.empty() ? si : unit::in_unit(si, u, o->kind); };
  const double want = in(expected->si);
  published(r.science, label + ": " + name + (u.empty() ? "" : ", " + u), e.source, how_of(e.source), want,
            in(answer.number.at(name)), e.relative_tolerance * std::fabs(want));
}

/// Runs the worked examples of one reckoner, which has at least one; each lies inside the range of validity and expects
/// something. Returns how many results were compared.
inline int worked_examples(const finding::Reckoner& r) {
  EXPECT_FALSE(r.examples.empty()) << r.name;
  int number = 0, compared = 0;
  for (const finding::WorkedExample& e : r.examples) {
    const std::string label = "reckoner " + r.name + ", example " + std::to_string(++number);
    EXPECT_FALSE(e.expected.empty()) << label;
    const auto answer = ask(r, e.given);
    if (!answer.ok()) {
      ADD_FAILURE() << label << ": " << say(answer.problem());
      continue;
    }
    EXPECT_EQ(answer->beyond, "") << label << " lies inside the range of validity";
    EXPECT_FALSE(answer->sentence.empty()) << label;
    for (const auto& [name, text] : e.expected) expected_result(r, e, *answer, label, name, text);
    compared += static_cast<int>(e.expected.size());
  }
  return compared;
}
/// The same for a list, which must not be empty.
inline int worked_examples(const std::vector<finding::Reckoner>& list) {
  EXPECT_FALSE(list.empty());
  int compared = 0;
  for (const finding::Reckoner& r : list) compared += worked_examples(r);
  return compared;
}

}  // namespace fettle::test
