// Prints the bits of what the sciences compute, one hex float a line, so that builds can be compared by their text:
// every reckoner on its worked examples and on many inputs drawn from its ranges. Used by tools/bits.sh.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>

#include "app/cli/all_reckoners.h"
#include "base/text.h"

namespace {
using fettle::finding::Reckoner;
using fettle::finding::ReckonerInput;
using fettle::finding::ReckonerValues;
using Form = ReckonerInput::Form;

void print(const Reckoner& r, const std::string& what, const ReckonerValues& values) {
  const auto answer = fettle::finding::run(r, values);
  if (!answer) {
    std::printf("%s %s refused: %s\n", r.name.c_str(), what.c_str(), fettle::say(answer.problem()).c_str());
    return;
  }
  for (const auto& [name, x] : answer->number)
    std::printf("%s %s %s %s\n", r.name.c_str(), what.c_str(), name.c_str(), fettle::base::hex_float(x).c_str());
  for (const auto& [name, text] : answer->text)
    std::printf("%s %s %s %s\n", r.name.c_str(), what.c_str(), name.c_str(), text.c_str());
  if (!answer->beyond.empty()) std::printf("%s %s beyond: %s\n", r.name.c_str(), what.c_str(), answer->beyond.c_str());
}

/// Values in range; the draws use integers and exact scaling only, so every build draws the same.
void draw(const Reckoner& r, std::mt19937_64& random, ReckonerValues& values) {
  for (const ReckonerInput& i : r.inputs) {
    if (random() % 3 == 0) continue;
    const double share = static_cast<double>(random() >> 11) * 0x1p-53;
    // The lower part of a range is where most questions lie.
    const double x = i.low + share * share * share * (i.high - i.low);
    if (i.form == Form::quantity) values.number[i.name] = x;
    if (i.form == Form::integer) values.number[i.name] = std::floor(x);
    if (i.form == Form::choice) values.text[i.name] = i.choices[random() % i.choices.size()];
  }
}
}  // namespace

// usage: bits [DRAWS]   draws to an example, 100 unless said; fewer are the first of them
int main(int count, char** words) {
  const int most = count > 1 ? std::atoi(words[1]) : 100;
  for (const Reckoner& r : fettle::cli::all_reckoners()) {
    // These two follow thousands of loads each time: as long as all the others together.
    const bool slow = r.name == "jaw_loads" || r.name == "pad_softness";
    const int draws = slow ? std::min(most, 5) : most;
    for (std::size_t n = 0; n < r.examples.size(); ++n) {
      const auto values = fettle::finding::read_values(r, r.examples[n].given);
      if (!values) {
        std::printf("%s example %zu refused\n", r.name.c_str(), n + 1);
        continue;
      }
      print(r, "example " + std::to_string(n + 1), *values);
      std::mt19937_64 random(11 + n);  // for each example anew, so that fewer draws are the first of them
      for (int k = 0; k < draws; ++k) {
        ReckonerValues drawn = *values;
        draw(r, random, drawn);
        print(r, "draw " + std::to_string(n + 1) + "." + std::to_string(k), drawn);
      }
    }
  }
  return 0;
}
