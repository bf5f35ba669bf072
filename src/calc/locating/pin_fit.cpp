#include "calc/locating/pin_fit.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "calc/locating/growth.h"
#include "calc/locating/pins.h"

namespace fettle::locating {

namespace {

using maths::Point2;
constexpr double degree = 3.14159265358979323846 / 180;

double scale(double expansion, double temperature) { return 1 + expansion * (temperature - reference_temperature); }

/// One pair at given temperatures; `tight` chooses the small holes and large pins.
enum class Bound { tight, loose, mean };
double pick(const Size& s, Bound bound, bool hole) {
  if (bound == Bound::mean) return mean_of(s);
  return (bound == Bound::tight) == hole ? s.low : s.high;
}
PinPair pair_at(const PinFitInputs& in, Bound bound, double plate, double part) {
  const Warmth& w = in.warmth;
  const double hole = scale(w.part_expansion, part), pin = scale(w.pin_expansion, plate);
  PinPair p;
  p.round_hole = pick(in.round_hole, bound, true) * hole;
  p.relieved_hole = pick(in.relieved_hole, bound, true) * hole;
  p.round_pin = pick(in.round_pin, bound, false) * pin;
  p.land = pick(in.land, bound, false) * pin;
  p.land_width = pick(in.land_width, bound, false) * pin;
  p.part_span = mean_of(in.part_span) * hole;
  p.pallet_span = mean_of(in.pallet_span) * scale(w.plate_expansion, plate);
  p.relief_angle = in.relief_angle;
  return p;
}

/// Least spare at one pair of temperatures: both ways the spans can disagree.
double spare_at(const PinFitInputs& in, double plate, double part) {
  PinPair p = pair_at(in, Bound::tight, plate, part);
  const double hole = scale(in.warmth.part_expansion, part), pallet = scale(in.warmth.plate_expansion, plate);
  p.part_span = in.part_span.high * hole;
  p.pallet_span = in.pallet_span.low * pallet;
  const double long_part = spare(p);
  p.part_span = in.part_span.low * hole;
  p.pallet_span = in.pallet_span.high * pallet;
  return std::min(long_part, spare(p));
}
double spare_at_plate(const PinFitInputs& in, double plate) {
  return std::min(spare_at(in, plate, in.warmth.part_low), spare_at(in, plate, in.warmth.part_high));
}

/// Plate temperatures at which everything goes on: from the best one outwards to both sides.
struct Window {
  double low = 0, high = 0;
};
std::optional<Window> plate_window(const PinFitInputs& in) {
  constexpr double coldest = 203.15, warmest = 503.15;
  double a = coldest, b = warmest;
  for (int i = 0; i < 100; ++i) {  // the spare play is concave in the plate's temperature
    const double c = a + (b - a) / 3, d = b - (b - a) / 3;
    (spare_at_plate(in, c) < spare_at_plate(in, d) ? a : b) = spare_at_plate(in, c) < spare_at_plate(in, d) ? c : d;
  }
  const double best = 0.5 * (a + b);
  if (!(spare_at_plate(in, best) >= 0)) return std::nullopt;
  const auto edge = [&](double inside, double outside) {
    if (spare_at_plate(in, outside) >= 0) return outside;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (inside + outside);
      (spare_at_plate(in, middle) >= 0 ? inside : outside) = middle;
    }
    return inside;
  };
  return Window{edge(best, coldest), edge(best, warmest)};
}

/// Largest x in (low, high] at which the changed inputs still always go on.
template <class Change>
std::optional<double> largest_that_goes_on(const PinFitInputs& in, double low, double high, const Change& change) {
  const auto on = [&](double x) {
    PinFitInputs at = in;
    change(at, x);
    return least_spare(at) >= 0;
  };
  if (on(high)) return high;
  if (!on(low)) return std::nullopt;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (on(middle) ? low : high) = middle;
  }
  return low;
}

/// Points and weights of a distribution.
struct Node {
  double at = 0, weight = 1;
};
double below(double z) { return 0.5 * std::erfc(-z * 0.70710678118654752440); }
/// A normal clearance cut at zero: the share below (too tight) and nodes for the rest (Simpson over +-6.5 s).
struct Clearance {
  double tight = 0;
  std::vector<Node> nodes;
};
Clearance clearance_nodes(double mean, double s) {
  if (!(s > 0)) return mean >= 0 ? Clearance{0, {{mean, 1}}} : Clearance{1, {}};
  Clearance out;
  out.tight = below(-mean / s);
  const double low = std::max(0.0, mean - 6.5 * s), high = mean + 6.5 * s;
  if (!(high > low)) return out;
  constexpr int steps = 40;
  double sum = 0;
  for (int i = 0; i <= steps; ++i) {
    const double at = low + (high - low) * i / steps, z = (at - mean) / s;
    const double w = std::exp(-z * z / 2) * (i == 0 || i == steps ? 1 : i % 2 ? 4 : 2);
    out.nodes.push_back({at, w});
    sum += w;
  }
  for (Node& n : out.nodes) n.weight *= (1 - out.tight) / sum;
  return out;
}
std::vector<Node> even_nodes(double low, double high) {
  if (!(high > low)) return {{low, 1}};
  // Gauss-Legendre, six points
  static constexpr std::array<double, 3> x = {0.2386191860831969, 0.6612093864662645, 0.9324695142031521};
  static constexpr std::array<double, 3> w = {0.4679139345726910, 0.3607615730481386, 0.1713244923791704};
  std::vector<Node> out;
  for (std::size_t i = 0; i < 3; ++i)
    for (const double side : {-1.0, 1.0})
      out.push_back({0.5 * (low + high) + side * x[i] * 0.5 * (high - low), w[i] / 2});
  return out;
}

void check(Problems& out, const char* name, double x, double low, double high, const char* range, double unit = 1) {
  if (x >= low && x <= high) return;
  out.push_back(bad(std::string(name) + " is impossible", base::shortest(x / unit), range));
}
void check(Problems& out, const char* name, const Size& s, double high = 10) {
  const std::size_t before = out.size();
  check(out, name, s.low, 1e-6, high, "above 0.001 mm", 1e-3);
  if (out.size() == before && !(s.high >= s.low && s.high <= high))
    out.push_back(
        bad(std::string(name) + ": the limits are crossed", base::shortest(s.high * 1e3), "upper at least lower"));
  if (s.mean && !std::isfinite(*s.mean)) out.push_back(bad(std::string(name) + ": the mean is not a number"));
  if (s.s && (!(*s.s >= 0) || !std::isfinite(*s.s)))
    out.push_back(bad(std::string(name) + ": the spread is impossible", base::shortest(*s.s), "0 or more"));
}
Problems refusals(const PinFitInputs& in) {
  Problems out;
  check(out, "hole over the round pin", in.round_hole);
  check(out, "round pin", in.round_pin);
  check(out, "hole over the relieved pin", in.relieved_hole);
  check(out, "land", in.land);
  check(out, "land width", in.land_width);
  check(out, "span of the part", in.part_span, 100);
  check(out, "span of the pallet", in.pallet_span, 100);
  const Warmth& w = in.warmth;
  const char* range = "-70..230 °C";
  check(out, "coldest plate", w.plate_low, 203.15, 503.15, range);
  check(out, "warmest plate", w.plate_high, w.plate_low, 503.15, "the coldest plate up to 230 °C");
  check(out, "coldest part", w.part_low, 203.15, 503.15, range);
  check(out, "warmest part", w.part_high, w.part_low, 503.15, "the coldest part up to 230 °C");
  check(out, "expansion of the plate", w.plate_expansion, 0, 1e-4, "0..1e-4 1/K");
  check(out, "expansion of the part", w.part_expansion, 0, 1e-4, "0..1e-4 1/K");
  check(out, "expansion of the pins", w.pin_expansion, 0, 1e-4, "0..1e-4 1/K");
  check(out, "angle of the relief", in.relief_angle, -7, 7, "-360..360 deg", degree);
  const double drawn = std::hypot(in.relieved_at.x - in.round_at.x, in.relieved_at.y - in.round_at.y);
  if (out.empty() && !(std::fabs(drawn - mean_of(in.part_span)) <= 1e-3))
    out.push_back(bad("the holes' places do not agree with the span of the part",
                      base::shortest(drawn * 1e3) + " mm apart", base::shortest(mean_of(in.part_span) * 1e3) + " mm"));
  for (const PinFeature& f : in.features)
    if (!std::isfinite(f.p.x + f.p.y + f.p.z + f.n.x + f.n.y + f.n.z))
      out.push_back(bad(f.name + ": a coordinate is not a number"));
  return out;
}

/// Loosest sizes, warm part on cold pins, and every difference of the spans that can happen.
PinPair loosest(const PinFitInputs& in) {
  const Warmth& w = in.warmth;
  PinPair p = pair_at(in, Bound::loose, w.plate_low, w.part_high);
  double low = 0, high = 0;
  bool first = true;
  for (const double plate : {w.plate_low, w.plate_high})
    for (const double part : {w.part_low, w.part_high}) {
      const double hole = scale(w.part_expansion, part), pallet = scale(w.plate_expansion, plate);
      const double least = in.part_span.low * hole - in.pallet_span.high * pallet;
      const double most = in.part_span.high * hole - in.pallet_span.low * pallet;
      low = first ? least : std::min(low, least);
      high = first ? most : std::max(high, most);
      first = false;
    }
  p.pallet_span = p.part_span - 0.5 * (low + high);
  p.span_band = 0.5 * (high - low);
  return p;
}

PinFeatureError feature_error(const PinFitInputs& in, const PinPair& loose, const PinPair& mean, const PinFeature& f) {
  const auto turned = [&](Vec3 d) { return turned_to_pair_frame(in.round_at, in.relieved_at, d); };
  const Point2 p = in_pair_frame(in.round_at, in.relieved_at, f.p), x = turned({1, 0, 0}), y = turned({0, 1, 0});
  PinFeatureError e;
  e.name = f.name;
  const auto distance = worst_distance(loose, p);
  if (!distance) return e;
  e.worst_distance = distance->distance;
  e.worst_x = worst_along(loose, p, x)->distance;
  e.worst_y = worst_along(loose, p, y)->distance;
  e.naive = naive_error(loose, p);
  e.s_x = play_s(mean, p, x);
  e.s_y = play_s(mean, p, y);
  const double length = std::hypot(f.n.x, f.n.y);
  if (length > 0) {
    const Point2 n = turned({f.n.x / length, f.n.y / length, 0});
    e.worst_along = worst_along(loose, p, n)->distance;
    e.s_along = play_s(mean, p, n);
  }
  for (const Point2 q : point_region(loose, p))  // back to the part's axes
    e.region.push_back({x.x * q.x + x.y * q.y, y.x * q.x + y.y * q.y});
  return e;
}

std::vector<std::string> warnings_of(const PinFitInputs& in) {
  std::vector<std::string> out;
  const double off = std::fabs(std::remainder(in.relief_angle, 180 * degree)) / degree;
  if (off > 45)
    out.push_back(fmt::format("the relieved pin stands the wrong way round: its relief is {} deg off the line of pins",
                              base::fixed(off, 0)));
  else if (off > 5)
    out.push_back(
        fmt::format("the relief of the second pin is turned {} deg against the line of pins", base::fixed(off, 0)));
  if (in.land_width.high >= in.land.low * 0.999)
    out.push_back("two round pins: they fight over the span; relieve one of them");
  else if (in.land_width.low < 0.1 * in.land.low)
    out.push_back("the land is narrower than a tenth of its diameter: it wears quickly");
  if (!(in.round_hole.low >= in.round_pin.high)) out.push_back("the round pin may be larger than its hole");
  if (!(in.relieved_hole.low >= in.land.high)) out.push_back("the land may be larger than its hole");
  return out;
}

}  // namespace

double mean_of(const Size& s) { return s.mean.value_or(0.5 * (s.low + s.high)); }
double s_of(const Size& s) { return s.s.value_or((s.high - s.low) / 6); }

double least_spare(const PinFitInputs& in) {
  return std::min(spare_at_plate(in, in.warmth.plate_low), spare_at_plate(in, in.warmth.plate_high));
}

ShareNotOn share_not_on(const PinFitInputs& in) {
  const double s_round = std::hypot(s_of(in.round_hole), s_of(in.round_pin));
  const double s_land = std::hypot(s_of(in.relieved_hole), s_of(in.land));
  const double s_span = std::hypot(s_of(in.part_span), s_of(in.pallet_span));
  ShareNotOn share;
  // Clearances are summed node by node; the spans are normal, so for each node their tails are exact.
  for (const Node& plate : even_nodes(in.warmth.plate_low, in.warmth.plate_high))
    for (const Node& part : even_nodes(in.warmth.part_low, in.warmth.part_high)) {
      const double weight = plate.weight * part.weight;
      PinPair p = pair_at(in, Bound::mean, plate.at, part.at);
      const double off = p.part_span - p.pallet_span;
      const Clearance round = clearance_nodes(p.round_hole - p.round_pin, s_round);
      const Clearance land = clearance_nodes(p.relieved_hole - p.land, s_land);
      share.round_tight += weight * round.tight;
      share.land_tight += weight * (1 - round.tight) * land.tight;
      p.pallet_span = p.part_span;
      p.round_pin = p.round_hole;
      for (const Node& l : land.nodes) {
        p.relieved_hole = p.land + l.at;
        const double land_room = spare(p);
        for (const Node& c : round.nodes) {
          const double room = land_room + c.at / 2;
          const double not_on = s_span > 0 ? below((-room - off) / s_span) + below((off - room) / s_span)
                                           : static_cast<double>(!(std::fabs(off) <= room));
          share.span += weight * l.weight * c.weight * not_on;
        }
      }
    }
  share.all = share.round_tight + share.land_tight + share.span;
  return share;
}

Outcome<PinFitResult> pin_fit(const PinFitInputs& in) {
  if (Problems problems = refusals(in); !problems.empty()) return problems;
  const Warmth& w = in.warmth;
  PinFitResult r;
  r.spare = least_spare(in);
  r.goes_on = r.spare >= 0;
  r.spare_at_20 = spare_at(in, reference_temperature, reference_temperature);

  const double span = mean_of(in.part_span);
  r.growth_low = span_growth(span, w.plate_expansion, w.plate_low, w.part_expansion, w.part_high);
  r.growth_high = span_growth(span, w.plate_expansion, w.plate_high, w.part_expansion, w.part_low);
  r.round_least = in.round_hole.low - in.round_pin.high;
  r.round_most = in.round_hole.high - in.round_pin.low;
  r.land_least = in.relieved_hole.low - in.land.high;
  r.land_most = in.relieved_hole.high - in.land.low;
  PinPair tight = pair_at(in, Bound::tight, reference_temperature, reference_temperature);
  r.land_float_least = land_float(tight.relieved_hole, tight.land, tight.land_width);
  // The largest disagreement of the spans: limits, and growth the worse way.
  r.needed = std::max(in.part_span.high - in.pallet_span.low - r.growth_low,
                      in.pallet_span.high - in.part_span.low + r.growth_high);
  tight.part_span = tight.pallet_span;
  r.given = spare(tight);
  r.given_textbook = land_float_textbook(tight.relieved_hole, tight.land, tight.land_width) + r.round_least / 2;

  if (const auto window = plate_window(in)) {
    r.plate_coldest = window->low;
    r.plate_warmest = window->high;
  }
  const ShareNotOn share = share_not_on(in);
  r.share_not_on = share.all;
  r.share_round_tight = share.round_tight;
  r.share_land_tight = share.land_tight;
  r.share_span = share.span;

  const auto set_land = [](PinFitInputs& at, double x) { at.land.low = at.land.high = x; };
  const auto set_width = [](PinFitInputs& at, double x) { at.land_width.low = at.land_width.high = x; };
  r.largest_land = largest_that_goes_on(in, 0.01 * in.relieved_hole.low, in.relieved_hole.low, set_land);
  r.widest_land = largest_that_goes_on(in, 1e-6 * in.land.high, in.land.high, set_width);
  const double wanted = r.needed - r.round_least / 2;
  const double textbook = in.relieved_hole.low - 2 * in.land_width.high * wanted / in.relieved_hole.low;
  if (textbook > 0) r.largest_land_textbook = std::min(textbook, in.relieved_hole.low);

  const PinPair loose = loosest(in);
  const PinPair mean = pair_at(in, Bound::mean, 0.5 * (w.plate_low + w.plate_high), 0.5 * (w.part_low + w.part_high));
  r.largest_turn = largest_turn(loose).value_or(0);
  for (const PinFeature& f : in.features) r.features.push_back(feature_error(in, loose, mean, f));
  r.warnings = warnings_of(in);
  return r;
}

}  // namespace fettle::locating
