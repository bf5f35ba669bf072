// The reckoners of taps and squeals.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/chatter/reckoners_recordings.h"
#include "finding/reckoner_kit.h"

namespace fettle::chatter {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double two_pi = 6.283185307179586;

Outcome<ReckonerAnswer> answer_speeds(const ReckonerValues& v) {
  const double f = v["frequency"], teeth = v["teeth"], top = v["top_speed"] / two_pi;
  ReckonerAnswer a;
  std::vector<std::string> words;
  const double first = std::max(1.0, std::ceil(f / (teeth * top) - 1e-9));
  for (int i = 0; i < 5; ++i) words.push_back(base::fixed(60 * f / (teeth * (first + i)), 0) + " rpm");
  a.number["speed"] = two_pi * f / (teeth * first);
  a.number["waves"] = first;
  a.sentence =
      fmt::format("At {} Hz with {} teeth try {}.", base::fixed(f, 1), base::fixed(teeth, 0), base::join(words, ", "));
  if (first > 8) a.notes.push_back("so many waves between two teeth: speeds differ little, less depth does more");
  a.cautions = {"stay within the speed printed on tool and holder, and within the machine's"};
  return a;
}
Reckoner speeds() {
  Reckoner r;
  r.name = "chatter_speeds";
  r.science = "chatter";
  r.question = "It squeals at this frequency: which speeds are worth a try?";
  r.inputs = {quantity("frequency", Kind::frequency, "of the squeal (fettle listen)", 1, 1e5),
              count("teeth", "teeth, evenly spaced", 1, 200),
              quantity("top_speed", Kind::rotation, "the machine's, or the tool's when lower", 1, 1e5)};
  r.outputs = {{"speed", Kind::rotation, "highest within the top speed"},
               {"waves", Kind::number, "whole waves between two teeth there"}};
  r.formula = "n = 60 f / (teeth x j), j = 1, 2, 3, ...";
  r.source = "J. Tlusty and M. Polacek 1963, S. A. Tobias 1965 (from memory)";
  r.range = "one frequency, even teeth; few waves between two teeth";
  r.examples = {{{{"frequency", "634.2 Hz"}, {"teeth", "5"}, {"top_speed", "8000 rpm"}},
                 {{"speed", "7610.4 rpm"}, {"waves", "1"}},
                 1e-9,
                 "60 x 634.2/5 by hand"},
                {{{"frequency", "1250 Hz"}, {"teeth", "6"}, {"top_speed", "3000 rpm"}},
                 {{"speed", "2500 rpm"}, {"waves", "5"}},
                 1e-9,
                 "60 x 1250/(6 x 5) by hand; with 4 waves it would be 3125"}};
  r.answer = answer_speeds;
  return r;
}

}  // namespace

std::vector<Reckoner> recording_reckoners() { return {speeds()}; }

}  // namespace fettle::chatter
