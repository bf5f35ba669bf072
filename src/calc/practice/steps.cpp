// Which steps besides cutting the rules ask for.
#include <algorithm>
#include <array>

#include "calc/practice/practice.h"

namespace fettle::practice {

namespace {

struct Step {
  std::string_view word, fact;
  std::optional<bool> Steps::*member;
};
constexpr std::array<Step, 11> all = {{{"shim", "shims", &Steps::shims},
                                       {"demagnetise", "demagnetises", &Steps::demagnetises},
                                       {"deburr", "deburrs", &Steps::deburrs},
                                       {"wash", "washes", &Steps::washes},
                                       {"oil", "oils", &Steps::oils},
                                       {"blow off", "cleans_seats", &Steps::cleans_seats},
                                       {"look for pores", "looks_for_pores", &Steps::looks_for_pores},
                                       {"gauge", "gauges", &Steps::gauges},
                                       {"soak", "soaks", &Steps::soaks},
                                       {"single block", "single_block", &Steps::single_block},
                                       {"lift evenly", "lifts_evenly", &Steps::lifts_evenly}}};
constexpr std::array<std::string_view, all.size()> words = [] {
  std::array<std::string_view, all.size()> out{};
  for (std::size_t i = 0; i < all.size(); ++i) out[i] = all[i].word;
  return out;
}();

Operation* find(Facts& f, const std::string& id) {
  const auto it =
      std::find_if(f.operations.begin(), f.operations.end(), [&](const Operation& o) { return o.id == id; });
  return it == f.operations.end() ? nullptr : &*it;
}

}  // namespace

std::span<const std::string_view> step_words() { return words; }

std::optional<bool>* step_of(Steps& steps, std::string_view word) {
  for (const Step& s : all)
    if (s.word == word) return &(steps.*s.member);
  return nullptr;
}

std::vector<StepAsked> steps_asked(Facts f) {
  std::vector<StepAsked> out;
  // Each round fills at least one gap, and there are no more gaps than steps of operations.
  for (bool more = true; more;) {
    more = false;
    for (const Answer& a : judge(f).answers)
      for (const Missing& m : a.missing) {
        const auto step = std::find_if(all.begin(), all.end(), [&](const Step& s) { return s.fact == m.fact; });
        Operation* o = step == all.end() ? nullptr : find(f, m.where.operation);
        if (o == nullptr || (o->steps.*step->member).has_value()) continue;
        o->steps.*step->member = true;
        out.push_back({o->id, std::string(step->word), a.rule});
        more = true;
      }
  }
  return out;
}

}  // namespace fettle::practice
