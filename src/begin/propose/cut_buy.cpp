#include "begin/propose/cut_buy.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "ref/threads.h"

namespace fettle::begin {

std::vector<double> sold_sizes(const std::string& kind, bool inch) {
  const double one = inch ? 25.4e-3 : 1e-3;
  std::vector<double> out;
  if (kind == "face mill") out = inch ? std::vector<double>{2, 2.5, 3, 4} : std::vector<double>{40, 50, 63, 80, 100};
  else if (kind == "end mill")
    out = inch ? std::vector<double>{0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75, 1, 1.25, 1.5}
               : std::vector<double>{3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40};
  else if (kind == "thread mill")
    out = inch ? std::vector<double>{0.12, 0.18, 0.25, 0.37, 0.5} : std::vector<double>{3, 4, 5, 6, 8, 10, 12};
  else if (kind == "chamfer") out = inch ? std::vector<double>{0.375} : std::vector<double>{10};
  for (double& x : out) x *= one;
  return out;
}

namespace {

/// Drills by number, 1 to 60, and by letter, A to Z, in: the usual shop list (common practice, from memory).
constexpr double numbered[] = {.2280, .2210, .2130, .2090, .2055, .2040, .2010, .1990, .1960, .1935, .1910, .1890,
                               .1850, .1820, .1800, .1770, .1730, .1695, .1660, .1610, .1590, .1570, .1540, .1520,
                               .1495, .1470, .1440, .1405, .1360, .1285, .1200, .1160, .1130, .1110, .1100, .1065,
                               .1040, .1015, .0995, .0980, .0960, .0935, .0890, .0860, .0820, .0810, .0785, .0760,
                               .0730, .0700, .0670, .0635, .0595, .0550, .0520, .0465, .0430, .0420, .0410, .0400};
constexpr double lettered[] = {.234, .238, .242, .246, .250, .257, .261, .266, .272, .277, .281, .290, .295,
                               .302, .316, .323, .332, .339, .348, .358, .368, .377, .386, .397, .404, .413};
constexpr double inch_si = 25.4e-3;
constexpr double same_drill = 1e-6;  ///< m

std::vector<double> rising(std::vector<double> all) {
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end(), [](double a, double b) { return b - a < same_drill; }), all.end());
  return all;
}
std::vector<double> metric_drills() {
  std::vector<double> out;
  for (int i = 5; i <= 140; ++i) out.push_back(1e-4 * i);
  for (int i = 57; i <= 128; ++i) out.push_back(0.25e-3 * i);
  for (int i = 65; i <= 100; ++i) out.push_back(0.5e-3 * i);
  for (const ref::ThreadData& t : ref::thread_table())
    if (t.system == unit::Thread::System::metric) out.push_back(t.tapping_drill);
  return rising(std::move(out));
}
std::vector<double> inch_drills() {
  std::vector<double> out;
  for (int i = 3; i <= 96; ++i) out.push_back(inch_si * i / 64);
  for (const double x : numbered) out.push_back(inch_si * x);
  for (const double x : lettered) out.push_back(inch_si * x);
  return rising(std::move(out));
}
bool in_stock(double d, bool inch) {
  const std::vector<double>& all = stock_drills(inch);
  return std::any_of(all.begin(), all.end(), [&](double x) { return std::fabs(x - d) < same_drill; });
}

}  // namespace

const std::vector<double>& stock_drills(bool inch) {
  static const std::vector<double> metric = metric_drills(), inches = inch_drills();
  return inch ? inches : metric;
}
double stock_drill(double wish, double low, double high, bool inch) {
  double best = 0;
  for (const double x : stock_drills(inch))
    if (x >= low - 1e-9 && x <= high + 1e-9 && (best == 0 || std::fabs(x - wish) < std::fabs(best - wish) - 1e-9))
      best = x;
  return best;
}
double stock_reamer(double wish, double low, double high, bool inch) {
  const double step = inch ? 0.0005 * inch_si : 0.01e-3;
  for (const double x : {std::round(wish / step), std::ceil(low / step - 1e-6), std::floor(high / step + 1e-6)})
    if (x * step >= low - 1e-9 && x * step <= high + 1e-9) return x * step;
  return 0;
}
std::string drill_name(double d) {
  const auto is = [&](double inches) { return std::fabs(inches * inch_si - d) < same_drill; };
  for (int i = 1; i <= 96; ++i)
    if (is(i / 64.0)) {
      int top = i, below = 64;
      while (top % 2 == 0 && below > 1) top /= 2, below /= 2;
      return below == 1 ? std::to_string(top) : fmt::format("{}/{}", top, below);
    }
  for (std::size_t i = 0; i < std::size(numbered); ++i)
    if (is(numbered[i])) return fmt::format("#{}", i + 1);
  for (std::size_t i = 0; i < std::size(lettered); ++i)
    if (is(lettered[i])) return std::string(1, static_cast<char>('A' + i));
  return "";
}

namespace {

/// Widths of keyseat cutters, m.
std::vector<double> widths(bool inch) {
  std::vector<double> out = inch ? std::vector<double>{0.0625, 0.09375, 0.125, 0.1875, 0.25}
                                 : std::vector<double>{1, 1.5, 2, 2.5, 3, 4, 5, 6};
  for (double& x : out) x *= inch ? 25.4e-3 : 1e-3;
  return out;
}
double largest(const std::vector<double>& list, double most) {
  double out = 0;
  for (double x : list)
    if (x <= most + 1e-9) out = x;
  return out;
}

/// m, between the neck of a keyseat cutter and the bore's edge when it is in full depth; the study asks 1 mm.
constexpr double beside_neck = 1.2e-3;
/// m, that a tool stands out beyond its reach. From memory.
constexpr double beyond = 6e-3;

struct Usual {
  int teeth = 1;
  double price = 0;    ///< in units of the currency, near the demo of the trade; from memory
  double slender = 5;  ///< reach over diameter up to which it is sold and cuts; common practice, from memory
};
Usual usual(const std::string& kind, double d) {
  const int mill = d < 4e-3 ? 3 : d < 12e-3 ? 4 : 5;
  if (kind == "face mill") return {std::max(4, static_cast<int>(std::round(d / 10e-3))), 60, 3};
  if (kind == "end mill") return {mill, 15 + 3200 * d, 8};
  if (kind == "drill") return {2, 10 + 1500 * d, 12};
  if (kind == "reamer") return {d < 6e-3 ? 4 : 6, 25 + 2000 * d, 10};
  if (kind == "tap") return {3, 22 + 1000 * d, 8};
  if (kind == "thread mill") return {3, 70, 3.5};
  if (kind == "boring tool") return {1, 14, 5};
  if (kind == "keyseat cutter") return {6, 100, 3};
  if (kind == "chamfer") return {4, 26, 6};
  return {2, 40, 4};
}

std::string currency_of(const std::vector<plan::Tool>& shop) {
  for (const plan::Tool& t : shop)
    if (t.price.known())
      if (const auto q = unit::parse(t.price.typed, unit::Kind::money); q.ok()) return q->unit;
  return {};
}

std::string free_id(const std::vector<plan::Tool>& shop, const std::vector<plan::Tool>& bought) {
  const auto used = [&](const std::string& id) {
    const auto is = [&](const plan::Tool& t) { return t.id.value == id; };
    return std::any_of(shop.begin(), shop.end(), is) || std::any_of(bought.begin(), bought.end(), is);
  };
  int n = 1;
  while (used(fmt::format("N{}", n))) ++n;
  return fmt::format("N{}", n);
}

void give_count(plan::Integer& v, int n) { v.value = n, v.origin = plan::Origin::given, v.typed = std::to_string(n); }

std::string length_band(double least, bool inch) {
  const double one = inch ? 25.4e-3 : 1e-3, step = inch ? 0.05 : 1;
  const auto up = [&](double x) {
    return base::shortest(std::round(1e4 * step * std::ceil(x / one / step - 1e-6)) / 1e4);
  };
  const char* u = inch ? "in" : "mm";
  return fmt::format("{} {} ({}..{} {})", up(1.05 * least), u, up(least), up(1.25 * least), u);
}

}  // namespace

double most_out(const std::string& kind, double d) { return usual(kind, d).slender * d + beyond; }

std::string tool_words(const plan::Tool& t, bool inch) {
  std::string out = t.kind.value;
  if (t.diameter.known()) {
    const bool drill = t.kind.value == "drill";
    const bool own = !drill || in_stock(t.diameter.si, inch) || !in_stock(t.diameter.si, !inch);
    out += " Ø" + shown_length(t.diameter.si, own ? inch : !inch);
    if (const std::string name = drill_name(t.diameter.si); drill && own == inch && !name.empty())
      out += " (" + name + ")";
  }
  if (t.width.known()) out += " x " + shown_length(t.width.si, inch);
  if (t.teeth.known() && t.teeth.value > 1) out += fmt::format(", {} teeth", t.teeth.value);
  return out;
}

std::string shape_words(const plan::Tool& t) {
  std::string out;
  if (t.flute_length.known()) out = ", flutes " + t.flute_length.typed;
  if (t.neck.known() && t.neck_length.known())
    out += fmt::format(", ground back to Ø{} for {} behind them", t.neck.typed, t.neck_length.typed);
  return out;
}

std::string price_words(const plan::Tool& t) {
  return t.price.known() ? ", price " + t.price.typed + " (half to twice)" : "";
}

Outcome<plan::Tool> tool_to_buy(const ToolWish& w, const std::vector<plan::Tool>& shop,
                                const std::vector<plan::Tool>& bought, bool inch) {
  double d = w.widest;
  if (const auto list = sold_sizes(w.kind, inch); !list.empty()) d = largest(list, w.widest);
  plan::Tool t;
  if (w.kind == "keyseat cutter") {
    const double width = largest(widths(inch), w.width), neck = w.widest - 2 * (w.wall + beside_neck);
    d = w.widest;
    if (!(width > 0)) return bad("no cutter that narrow is sold", length_text(w.width, inch));
    if (!(neck > 0.3 * d))
      return bad("nothing is left for the neck of the cutter", length_text(w.wall, inch) + " deep");
    give_length(t.width, width, inch);
    give_length(t.neck, 1e-3 * std::floor(1e3 * neck), inch);
    give_length(t.neck_length, 1e-3 * std::ceil(1e3 * (w.reach + 3e-3)), inch);
  }
  if (w.kind == "drill" && !in_stock(d, inch) && !in_stock(d, !inch)) d = largest(stock_drills(inch), d);
  if (!(d > 0)) return bad("none that small is sold", length_text(w.widest, inch));
  const Usual u = usual(w.kind, d);
  if (w.reach > u.slender * d)
    return bad(fmt::format("Ø{} would stand out {:.1f} times its diameter", shown_length(d, inch), w.reach / d),
               shown_length(w.reach, inch), fmt::format("at most {:.1f} times", u.slender));
  give(t.id, free_id(shop, bought));
  give(t.kind, w.kind);
  give_length(t.diameter, d, w.kind == "drill" && !in_stock(d, inch) ? !inch : inch);  // as its series has it
  give_count(t.teeth, u.teeth);
  if (w.kind == "end mill") give(t.helix, unit::Kind::angle, "38 deg");
  if (w.kind == "end mill" && w.reach > d) {  // ground back behind its edges where the wall is higher than they are
    give_length(t.neck, 1e-4 * std::floor(1e4 * 0.96 * d), inch);
    give_length(t.neck_length, 1e-3 * std::ceil(1e3 * (w.reach + 3e-3)), inch);
  }
  if (w.kind == "face mill") give(t.lead, unit::Kind::angle, "45 deg");
  give(t.material, w.kind == "tap" ? "high-speed steel" : "carbide");
  if (w.kind == "tap") t.forms.value = false, t.forms.origin = plan::Origin::given, t.forms.typed = "false";
  if (w.kind != "face mill")
    give(t.stick_out, unit::Kind::length, length_band(std::max(w.reach + beyond, 1.5 * d), inch));
  give_length(t.holder,
              inch ? 25.4e-3 * 0.25 * std::ceil(std::max(2 * d, 30e-3) / (25.4e-3 * 0.25))
                   : 2e-3 * std::ceil(std::max(2 * d, 30e-3) / 2e-3),
              inch);
  give(t.life, unit::Kind::time, "45 min (25..75 min)");
  if (const std::string c = currency_of(shop); !c.empty())
    give(t.price, unit::Kind::money, fmt::format("{:.0f} {}", u.price, c));  // sums of money take no band
  give(t.name, "to buy: " + tool_words(t, inch) + ", for " + w.for_what);
  return t;
}

}  // namespace fettle::begin
