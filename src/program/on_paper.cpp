#include "program/on_paper.h"

#include <memory>
#include <vector>

#include "base/text.h"

namespace fettle::program {

namespace {

std::vector<std::string> words_of(std::string_view line) {
  std::vector<std::string> out;
  for (const std::string& w : base::split(line, ' '))
    if (!w.empty()) out.push_back(w);
  return out;
}

std::optional<double> unit_of(const std::string& word) {
  if (word == "mm") return 1e-3;
  if (word == "in") return 25.4e-3;
  return {};
}

/// One thing that a remark says: a parameter, a tool length, a touch.
void take(const std::vector<std::string>& w, Setting& s, std::vector<frame::Vec3>& touches) {
  const bool named = w.size() >= 3 && w[0].size() > 1 && w[1] == "=";
  const auto number = named ? base::to_double(w[0].substr(1)) : std::nullopt;
  const bool whole = number && *number >= 1 && *number <= 9999;
  const auto value = named ? base::to_double(w[2]) : std::nullopt;
  if (whole && value && w.size() == 3 && w[0][0] == '#') s.parameters.emplace(static_cast<int>(*number), *value);
  if (whole && value && w.size() == 4 && w[0][0] == 'H')
    if (const auto unit = unit_of(w[3])) s.lengths.emplace(static_cast<int>(*number), *value * *unit);
  if (w.size() != 6 || w[0] != "touch") return;
  const auto x = base::to_double(w[2]), y = base::to_double(w[3]), z = base::to_double(w[4]), unit = unit_of(w[5]);
  if (x && y && z && unit) touches.push_back({*x * *unit, *y * *unit, *z * *unit});
}

}  // namespace

Setting on_paper(std::string_view text, Setting s) {
  constexpr std::string_view mark = "on paper ";
  std::vector<frame::Vec3> touches;
  for (std::size_t at = text.find(mark); at != std::string_view::npos; at = text.find(mark, at + 1)) {
    std::string_view rest = text.substr(at + mark.size());
    rest = rest.substr(0, rest.find_first_of("\r\n)"));
    for (const std::string& one : base::split(rest, ',')) take(words_of(one), s, touches);
  }
  if (!touches.empty() && !s.probe_hits) {
    auto next = std::make_shared<std::size_t>(0);
    // From the first again after the last, so that a setting serves for more than one reading.
    s.probe_hits = [touches, next](const Move&) -> std::optional<frame::Vec3> {
      return touches[(*next)++ % touches.size()];
    };
  }
  return s;
}

}  // namespace fettle::program
