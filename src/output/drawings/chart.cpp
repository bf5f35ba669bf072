#include "output/drawings/chart.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "output/drawings/kit.h"

namespace fettle::drawings {
namespace {

/// `digits` significant digits without an exponent, zeros at the end kept off.
std::string significant(double x, int digits) {
  if (x == 0) return "0";
  const int before = static_cast<int>(std::floor(std::log10(std::fabs(x)))) + 1;
  std::string s = base::fixed(x, std::clamp(digits - before, 0, 9));
  if (s.find('.') == std::string::npos) return s;
  while (s.back() == '0') s.pop_back();
  if (s.back() == '.') s.pop_back();
  return s;
}

std::string share_text(double share, int digits) {
  if (!std::isfinite(share)) return "open";
  if (share == 0) return "0 %";
  if (std::fabs(share) < 1e-9) return "below 0.001 ppm";
  if (std::fabs(share) < 1e-4) return significant(share * 1e6, digits) + " ppm";
  return significant(share * 100, share > 0.1 ? std::max(digits, 3) : digits) + " %";
}

}  // namespace

std::vector<double> ticks(double low, double high, int most, bool whole) {
  std::vector<double> out;
  const double width = high - low;
  if (!std::isfinite(low) || !std::isfinite(high) || !(width > 0) || most < 1) return out;
  const double power = std::pow(10.0, std::floor(std::log10(width / most)));
  if (!(power > 0) || !std::isfinite(power)) return out;
  double step = 0;
  for (double digit : {1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0}) {
    step = digit * power;
    if (whole && step != std::floor(step)) continue;
    if (whole && step < 1) continue;
    if (std::floor(high / step + 1e-9) - std::ceil(low / step - 1e-9) + 1 <= most) break;
  }
  const double first = std::ceil(low / step - 1e-9), last = std::floor(high / step + 1e-9);
  for (double i = first; i <= last && static_cast<int>(out.size()) < most; i += 1) out.push_back(i * step);
  return out;
}

std::string say_tick(double value, double step) {
  if (!std::isfinite(value)) return "open";
  int decimals = 0;
  for (double s = std::fabs(step); s > 0 && decimals < 9 && std::fabs(s - std::round(s)) > 1e-6 * s; s *= 10)
    ++decimals;
  std::string text = base::fixed(value, decimals);
  if (!text.empty() && text[0] == '-') text.replace(0, 1, "−");
  return text;
}

std::string say_share(double share) { return share_text(share, 2); }

std::string say_share_against(double share, double other) {
  for (int digits = 2; digits < 6; ++digits)
    if (share == other || share_text(share, digits) != share_text(other, digits)) return share_text(share, digits);
  return share_text(share, 6);
}

std::string say_minutes(double seconds) {
  if (!std::isfinite(seconds)) return "open";
  const double minutes = seconds / 60;
  if (std::fabs(minutes) >= 1e7) return significant(minutes / 60, 3) + " h";
  return (std::fabs(minutes) < 10 ? significant(minutes, 2) : base::fixed(minutes, 0)) + " min";
}

double centred_within(double x, double width, double from, double to) {
  return std::max(from, std::min(x - width / 2, to - width));
}

double heading(Pen* pen, const std::string& title, const std::string& sentence, double width) {
  double y = 0;
  const TextStyle head{.size = Type::head, .bold = true, .wrap = width, .max_lines = 2};
  const TextStyle words{.size = 3.2, .wrap = width, .max_lines = 12, .rich = true};
  if (!title.empty()) {
    if (pen) pen->text({0, 0}, title, head);
    y += measure(title, head).height + 1.2;
  }
  if (!sentence.empty()) {
    if (pen) pen->text({0, y}, sentence, words);
    y += measure(sentence, words).height + 1.5;
  }
  return y > 0 ? y + 1.5 : 0;
}

}  // namespace fettle::drawings
