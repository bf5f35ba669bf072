#pragma once
// What the describers of this science's reckoners share.
#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "finding/reckoner.h"

namespace fettle::bore::kit {

inline finding::ReckonerInput quantity(std::string name, unit::Kind kind, std::string help, double low, double high) {
  finding::ReckonerInput i{finding::ReckonerInput::Form::quantity, std::move(name), kind, std::move(help), {}};
  i.low = low;
  i.high = high;
  return i;
}
inline finding::ReckonerInput count(std::string name, std::string help, int low, int high) {
  finding::ReckonerInput i{
      finding::ReckonerInput::Form::integer, std::move(name), unit::Kind::number, std::move(help), {}};
  i.low = low;
  i.high = high;
  return i;
}
inline finding::ReckonerInput text(std::string name, std::string help) {
  return {finding::ReckonerInput::Form::text, std::move(name), unit::Kind::number, std::move(help), {}};
}
inline finding::ReckonerInput choice(std::string name, std::string help, std::vector<std::string> choices,
                                     std::string fallback) {
  finding::ReckonerInput i{finding::ReckonerInput::Form::choice, std::move(name), unit::Kind::number, std::move(help),
                           std::move(fallback)};
  i.fallback_source = "the usual one";
  i.choices = std::move(choices);
  return i;
}
/// Both limits of a size.
inline finding::ReckonerInput limits(std::string name, std::string help) {
  finding::ReckonerInput i{
      finding::ReckonerInput::Form::limits, std::move(name), unit::Kind::length, std::move(help), {}};
  i.low = 1e-6;
  i.high = 10;
  return i;
}
inline finding::ReckonerInput length(std::string name, std::string help, double low, double high) {
  return quantity(std::move(name), unit::Kind::length, std::move(help), low, high);
}
/// Money: a plain number, one currency throughout.
inline finding::ReckonerInput money(std::string name, std::string help) {
  return quantity(std::move(name), unit::Kind::number, std::move(help) + ", in one currency throughout", 0, 1e9);
}
inline finding::ReckonerInput left_out(finding::ReckonerInput i) {
  i.optional = true;
  return i;
}
/// With a default that stands for "none", or for a value whose source is named.
inline finding::ReckonerInput or_else(finding::ReckonerInput i, std::string fallback,
                                      std::string source = "none unless said") {
  i.fallback = std::move(fallback);
  i.fallback_source = std::move(source);
  return i;
}

/// "22.0031 mm": to a tenth of a micrometre.
inline std::string size(double si) {
  unit::Style s;
  s.gauge = true;
  return unit::print(si, unit::Kind::length, s);
}
/// "3.4 µm".
inline std::string little(double si) { return base::fixed(si * 1e6, 2) + " µm"; }
inline std::string percent(double share) { return unit::print(share, unit::Kind::fraction); }

/// Both limits in m, fits resolved; a problem when one is absent.
Outcome<std::pair<double, double>> both_limits(const finding::ReckonerValues& values, const std::string& name);
/// "5.4 2.1 4.9 µm": numbers parted by blanks, commas refused; the unit last, once. SI.
Outcome<std::vector<double>> list_of(const std::string& text, unit::Kind kind, const std::string& name);

}  // namespace fettle::bore::kit
