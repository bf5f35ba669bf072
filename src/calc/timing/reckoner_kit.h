#pragma once
// What the describers of this science's reckoners share.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "finding/reckoner.h"

namespace fettle::timing::kit {

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
/// Money: a plain number, one currency throughout.
inline finding::ReckonerInput money(std::string name, std::string help) {
  return quantity(std::move(name), unit::Kind::number, std::move(help) + ", in one currency throughout", 0, 1e9);
}
inline finding::ReckonerInput time(std::string name, std::string help, double low = 0, double high = 1e6) {
  return quantity(std::move(name), unit::Kind::time, std::move(help), low, high);
}
inline finding::ReckonerInput left_out(finding::ReckonerInput i) {
  i.optional = true;
  return i;
}
/// With a default that stands for "none".
inline finding::ReckonerInput or_else(finding::ReckonerInput i, std::string fallback,
                                      std::string source = "none unless said") {
  i.fallback = std::move(fallback);
  i.fallback_source = std::move(source);
  return i;
}
inline double value(const finding::ReckonerValues& v, const std::string& name, double fallback = 0) {
  return v.has(name) ? v[name] : fallback;
}
inline std::optional<double> maybe(const finding::ReckonerValues& v, const std::string& name) {
  return v.has(name) ? std::optional(v[name]) : std::nullopt;
}

}  // namespace fettle::timing::kit
