#pragma once
// Short builders for the inputs of a reckoner, and readers of what it was given; used where a science describes its
// reckoners. Bounds are SI and inclusive.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "finding/reckoner.h"

namespace fettle::finding::kit {

/// A quantity from low to high. `fallback` is a text with its unit ("0 mm"), `source` where that default comes from;
/// without a fallback the person must say it.
inline ReckonerInput quantity(std::string name, unit::Kind kind, std::string help, double low, double high,
                              std::string fallback = {}, std::string source = "none unless said") {
  ReckonerInput i{ReckonerInput::Form::quantity, std::move(name), kind, std::move(help), std::move(fallback)};
  if (!i.fallback.empty()) i.fallback_source = std::move(source);
  i.low = low;
  i.high = high;
  return i;
}
/// A length from low to high, in m; the default as for a quantity.
inline ReckonerInput length(std::string name, std::string help, double low, double high, std::string fallback = {},
                            std::string source = "none unless said") {
  return quantity(std::move(name), unit::Kind::length, std::move(help), low, high, std::move(fallback),
                  std::move(source));
}
/// A time from low to high, in s.
inline ReckonerInput time(std::string name, std::string help, double low = 0, double high = 1e6) {
  return quantity(std::move(name), unit::Kind::time, std::move(help), low, high);
}
/// Money from nothing to 1e9: a plain number, one currency throughout.
inline ReckonerInput money(std::string name, std::string help) {
  return quantity(std::move(name), unit::Kind::number, std::move(help) + ", in one currency throughout", 0, 1e9);
}
/// A whole number from low to high.
inline ReckonerInput count(std::string name, std::string help, int low, int high, std::string fallback = {}) {
  ReckonerInput i{ReckonerInput::Form::integer, std::move(name), unit::Kind::number, std::move(help),
                  std::move(fallback)};
  i.low = low;
  i.high = high;
  return i;
}
/// One of the words; an empty fallback means that the person must say it.
inline ReckonerInput choice(std::string name, std::string help, std::vector<std::string> choices, std::string fallback,
                            std::string source = {}) {
  ReckonerInput i{ReckonerInput::Form::choice, std::move(name),  unit::Kind::number, std::move(help),
                  std::move(fallback),         std::move(source)};
  i.choices = std::move(choices);
  return i;
}
/// Free text that the reckoner reads itself.
inline ReckonerInput text(std::string name, std::string help) {
  return {ReckonerInput::Form::text, std::move(name), unit::Kind::number, std::move(help), {}};
}
/// Limits of a size, in m, each from low to high; any size when low is not below high.
inline ReckonerInput limits(std::string name, std::string help, double low = 0, double high = 0) {
  ReckonerInput i{ReckonerInput::Form::limits, std::move(name), unit::Kind::length, std::move(help), {}};
  i.low = low;
  i.high = high;
  return i;
}

/// The same input, which may be left out and then has no value.
inline ReckonerInput left_out(ReckonerInput i) {
  i.optional = true;
  return i;
}
/// The same input with a default that stands for "none", or for a value whose source is named.
inline ReckonerInput or_else(ReckonerInput i, std::string fallback, std::string source = "none unless said") {
  i.fallback = std::move(fallback);
  i.fallback_source = std::move(source);
  return i;
}

/// The number given (SI), or `fallback` where it was left out.
inline double value(const ReckonerValues& v, const std::string& name, double fallback = 0) {
  return v.has(name) ? v[name] : fallback;
}
/// The number given (SI), or nothing where it was left out.
inline std::optional<double> maybe(const ReckonerValues& v, const std::string& name) {
  return v.has(name) ? std::optional(v[name]) : std::nullopt;
}

}  // namespace fettle::finding::kit
