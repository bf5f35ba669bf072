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

}  // namespace

Setting on_paper(std::string_view text, Setting s) {
  constexpr std::string_view mark = "on paper ";
  std::vector<frame::Vec3> touches;
  for (std::size_t at = text.find(mark); at != std::string_view::npos; at = text.find(mark, at + 1)) {
    std::string_view rest = text.substr(at + mark.size());
    rest = rest.substr(0, rest.find_first_of("\r\n)"));
    const std::vector<std::string> w = words_of(rest);
    if (w.size() == 3 && w[0].size() > 1 && w[0][0] == '#' && w[1] == "=") {
      const auto number = base::to_double(w[0].substr(1)), value = base::to_double(w[2]);
      if (number && value && *number >= 1 && *number <= 5399) s.parameters.emplace(static_cast<int>(*number), *value);
    } else if (w.size() == 4 && w[0].size() > 1 && w[0][0] == 'H' && w[1] == "=" && (w[3] == "mm" || w[3] == "in")) {
      const auto number = base::to_double(w[0].substr(1)), value = base::to_double(w[2]);
      const double unit = w[3] == "mm" ? 1e-3 : 25.4e-3;
      if (number && value && *number >= 1 && *number <= 9999)
        s.lengths.emplace(static_cast<int>(*number), *value * unit);
    } else if (w.size() == 6 && w[0] == "touch" && (w[5] == "mm" || w[5] == "in")) {
      const double unit = w[5] == "mm" ? 1e-3 : 25.4e-3;
      const auto x = base::to_double(w[2]), y = base::to_double(w[3]), z = base::to_double(w[4]);
      if (x && y && z) touches.push_back({*x * unit, *y * unit, *z * unit});
    }
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
