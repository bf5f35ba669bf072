#pragma once
// View structs for the tests, with figures of an invented valve body and its pallet.
#include <cmath>

#include "output/drawings/views.h"

namespace fettle::drawings::samples {

inline FindingRow row(std::string operation, std::string title, std::string value, std::string limit, State state,
                      double margin, std::string lever = {}, double margin_worst = NAN) {
  FindingRow r;
  r.id = operation + "." + title;
  r.operation = std::move(operation);
  r.title = std::move(title);
  r.value.text = std::move(value);
  r.limit = std::move(limit);
  r.state = state;
  r.margin = margin;
  r.margin_worst = margin_worst;
  r.lever = std::move(lever);
  r.sentence = r.title + " is " + r.value.text + ", asked " + r.limit + ".";
  r.source = "common practice";
  return r;
}

inline MarginsView margins() {
  MarginsView v;
  v.title = "What needs a hand first";
  v.rows = {
      row("OP30", "holding, T11 on hard iron", "0.8 of the load", "≥ 1", State::outside, -0.20, "torque ▸ 28 N·m"),
      row("OP20", "third part under the jaw", "loose in 1 of 9 loads", "≤ 0.1 %", State::outside, -0.68,
          "pads ▸ 60 kN/mm"),
      row("OP30", "lifting through the door", "index 2.4", "≤ 1", State::outside, -1.4, "roll-in cart"),
      row("OP30", "F2 to F4, coaxial", "0.4 % out", "≤ 0.1 %", State::outside, -0.2, "zero set warm"),
      row("OP30", "relieved pin goes on, plate at 30 °C", "2 µm to spare", "≥ 0", State::tight, 0.05, "land −5 µm",
          -0.3),
      row("OP20", "F4 bore, gauge against limits", "6u/T 0.31", "≤ 0.4", State::tight, 0.22, "", -0.1),
      row("G10", "top cleans up, casting 7", "0.8 mm", "≥ 0.5 mm", State::inside, 0.6, "", 0.2),
      row("OP30", "groove cutter reaches", "5.5 mm to spare", "≥ 0", State::inside, 1.0),
      row("OP30", "table load", "71 kg", "≤ 450 kg", State::inside, 1.6),
      row("OP30", "chatter, T13 in the corner nest", "open", "", State::open, NAN, "give: tap.wav"),
      row("OP30", "swarf carried by the trough", "outside the formula", "", State::beyond, NAN, "slope above 1:10"),
  };
  return v;
}

inline NestPattern pattern() {
  NestPattern p;
  p.part = "WVB-3";
  p.outline = box({0, 0}, 0.132, 0.092, 0.012);
  p.raw = box({0, 0}, 0.13625, 0.0971, 0.014);
  p.details = {circle({0, 0}, 0.050), circle({0, 0}, 0.022), box({-0.042, 0.027}, 0.030, 0.022, 0.006),
               box({0.042, -0.027}, 0.030, 0.022, 0.006)};
  for (Point at : {Point{0.033, 0.020}, {-0.033, -0.020}, {0.033, -0.006}, {-0.033, 0.006}})
    p.details.push_back(circle(at, 0.006));
  p.pins = {{{-0.044, -0.034}, 0.008, false, 0, 0, "B"}, {{0.044, 0.034}, 0.008, true, 0.0016, 0.658, "C"}};
  p.screws = {{{-0.054, 0}, 0.016, "1"}, {{0.054, 0}, 0.016, "2"}};
  for (double sx : {-1.0, 1.0})
    for (double sy : {-1.0, 1.0}) {
      p.pads.push_back(circle({sx * 0.056, sy * 0.020}, 0.012));
      p.pads.push_back(circle({sx * 0.033, sy * 0.038}, 0.012));
    }
  p.height = 0.036;
  p.raw_height = 0.0;
  return p;
}

inline PalletView pallet() {
  PalletView v;
  v.title = "Pallet of OP30";
  v.plate = box({0, 0}, 0.330, 0.250, 0.004);
  v.thickness = 0.025;
  v.material = "EN AW-5083";
  for (double sx : {-1.0, 1.0})
    for (double sy : {-1.0, 1.0}) v.anchors.push_back({{sx * 0.105, sy * 0.075}, 0.040, ""});
  v.patterns = {pattern()};
  v.nests = {{"1", {-0.078, -0.057}}, {"2", {0.078, -0.057}}, {"3", {-0.078, 0.057}}, {"4", {0.078, 0.057}}};
  v.troughs = {box({0, 0}, 0.330, 0.024), box({0, 0}, 0.040, 0.024)};
  for (double sx : {-1.0, 1.0}) v.troughs.push_back(box({sx * 0.078, 0}, 0.024, 0.142));
  v.holes = {circle({0, 0}, 0.024)};
  v.trough_depth = 0.010;
  v.zero = Point{0, 0};
  v.zero_text = "zero, plate top";
  v.notes = {{{0.140, 0.097},
              "slips here first",
              "T11 on hard iron, turning about pin B",
              true,
              polygon({{0.144, 0.103}, {0.144, 0.085}, {0.126, 0.103}})}};
  v.facts = {{"first mode", {510, unit::Kind::frequency}},
             {"softest corner", {38e6, unit::Kind::stiffness}},
             {"lifted, raw and wet", {17.2, unit::Kind::mass}, true},
             {"tool changes", {NAN, unit::Kind::number, false, "9 for 8 parts"}},
             {"chatter", {NAN, unit::Kind::length}}};
  v.thickness_text = "at 30 mm the corner is a quarter stiffer, 1.2 kg more to lift";
  return v;
}

inline RouteView route() {
  RouteView v;
  v.title = "The route";
  v.from = "raw casting, EN-GJL-250, 3.51 kg";
  v.to = "WVB-3, 2.595 kg";
  RouteStep g;
  g.id = "G10";
  g.title = "Grind the top, then A";
  g.place = "subcontract, lots of 60";
  g.sentence =
      "Take `1.9 mm` off A, last, and the rest off the top, to `36.00 ± 0.06 mm`; A off the chuck flat within `0.03 "
      "mm`.";
  g.remark = "Least stock on the top 0.8 mm, casting 7.";
  g.worst = "top cleans up, casting 7: 0.8 mm, asked 0.5 mm";
  g.inside = 6;
  Sketch bow;
  std::vector<Point> outline;
  for (int i = 0; i <= 24; ++i) outline.push_back({0.132 * i / 24, 0.0032 * (1 - std::pow(i / 12.0 - 1, 2))});
  for (int i = 24; i >= 0; --i) outline.push_back({0.132 * i / 24, 0.0399 + 0.0032 * (1 - std::pow(i / 12.0 - 1, 2))});
  bow.items = {{Sketch::Part::metal, polygon(outline), ""},
               {Sketch::Part::cut, polygon({{-0.003, 0.0365}, {0.135, 0.0365}}), "top, to 36.00"},
               {Sketch::Part::cut, polygon({{-0.003, 0.0045}, {0.135, 0.0045}}), "A"}};
  bow.caption = "bow of casting 8, 0.32 mm, drawn ten times";
  g.sketch = bow;
  RouteStep e;
  e.id = "OP10";
  e.title = "Edges, in two vises";
  e.place = "machine A";
  e.sentence = "Hold `5` in series on the ground faces at `20 kN`; face to width, turn, face again to `93.00 mm`.";
  e.worst = "slips at 2.1 times what the hardest cut needs";
  e.inside = 9;
  Sketch stack;
  stack.items.push_back({Sketch::Part::jaw, box({-0.008, 0.045}, 0.016, 0.100), ""});
  for (int i = 0; i < 5; ++i)
    stack.items.push_back(
        {Sketch::Part::metal, box({0.018 + 0.036 * i, 0.045 + 0.002 * (i % 2 ? 1 : -1)}, 0.036, 0.085), ""});
  stack.items.push_back({Sketch::Part::jaw, box({0.188, 0.045}, 0.016, 0.100), ""});
  stack.items.push_back({Sketch::Part::arrow, polygon({{0.235, 0.045}, {0.200, 0.045}}), "20 kN"});
  stack.caption = "in series every part feels the whole force";
  e.sketch = stack;
  RouteStep t;
  t.id = "OP20";
  t.title = "Bottom up: bore, datum holes, threads";
  t.place = "machine A";
  t.sentence = "`3` parts in parallel under one carrier jaw at `25 kN`; F4 to size, B, C, threads M8.";
  t.worst_state = State::tight;
  t.worst = "F4 bore, gauge against limits: 6u/T 0.31, asked at most 0.4";
  t.inside = 11;
  t.tight = 1;
  RouteStep p;
  p.id = "OP30";
  p.title = "Everything on top, on pallets";
  p.place = "machine B, two pallets, two sets";
  p.sentence =
      "Four nests on a plate of `EN AW-5083`, `330 × 250 × 25 mm`, round pin in B, relieved pin in C, two cap screws "
      "at *22 N·m*. Zero on the "
      "`plate top`.";
  p.remark = "By tool over all nests: nine changes for eight parts.";
  p.worst_state = State::outside;
  p.worst = "T11 slips on hard iron: 0.8 of the load; 28 N·m would hold";
  p.outside = 3;
  p.tight = 1;
  p.open = 2;
  p.inside = 12;
  RouteStep h;
  h.id = "OP40";
  h.title = "Hone F4 where it is small";
  h.sentence = "`1.5 min` each, to `22.000..22.009 mm`.";
  h.worst_state = State::open;
  h.worst = "share to hone: give the gauge date";
  h.open = 1;
  RouteStep w;
  w.id = "OP50";
  w.title = "Deburr, wash, oil, inspect, pack";
  w.sentence = "Baskets of `24`, `15 min` unattended; oil within `4 h`.";
  w.inside = 2;
  v.steps = {g, e, t, p, h, w};
  return v;
}

/// Corner points of a rounded box, against the clock.
inline std::vector<Point> rounded(double w, double h, double r, Point shift = {}) {
  std::vector<Point> out;
  const double cx[] = {w / 2 - r, -w / 2 + r, -w / 2 + r, w / 2 - r},
               cy[] = {h / 2 - r, h / 2 - r, -h / 2 + r, -h / 2 + r};
  for (int c = 0; c < 4; ++c)
    for (int i = 0; i <= 6; ++i) {
      const double a = (c + i / 6.0) * 1.5707963267948966;
      out.push_back({cx[c] + r * std::cos(a) + shift.x, cy[c] + r * std::sin(a) + shift.y});
    }
  return out;
}
inline std::vector<Point> ring(double d, Point shift = {}) {
  std::vector<Point> out;
  for (int i = 0; i < 48; ++i)
    out.push_back(
        {d / 2 * std::cos(i * 0.1308996938995747) + shift.x, d / 2 * std::sin(i * 0.1308996938995747) + shift.y});
  return out;
}

inline CastingView casting() {
  CastingView v;
  v.title = "Casting 13 in OP30, the worst of 13";
  v.sentence =
      "Casting 13 does not clean up: the counterbore is *0.65 mm short* at +X, its core sits 2.6 mm off. A shift of `X "
      "−1.10 mm`, the most allowed, does not save it.";
  CastingFace plan;
  plan.title = "from above";
  plan.up = "Y";
  plan.skins = {{rounded(0.132, 0.092, 0.012), rounded(0.1365, 0.0973, 0.013, {0.0004, 0.0002})},
                {ring(0.050), ring(0.0461, {0.0026, 0.0004})}};
  plan.details = {circle({0, 0}, 0.022), box({-0.042, 0.027}, 0.030, 0.022, 0.006),
                  box({0.042, -0.027}, 0.030, 0.022, 0.006)};
  plan.rests = {{{-0.044, -0.034}, {0, 0}, "B"}, {{0.044, 0.034}, {0, 0}, "C"}};
  plan.marks = {{{0.025, 0.0}, {-1, 0}, {-0.00065}, "counterbore, +X: needs 0.8 mm", true},
                {{-0.025, 0.0}, {1, 0}, {0.00455}, "counterbore, −X: most", false},
                {{0.066, -0.02}, {1, 0}, {0.00265}, "edge +X", false}};
  plan.shift = Point{-0.0011, 0};
  plan.shift_text = "X −1.10 mm helps most: then 0.45 mm of stock at +X";
  CastingFace section;
  section.title = "section y = 0, as it rests on the pads";
  const auto half = [](double side) {
    Skin s;
    s.finished = {{side * 0.066, 0},     {side * 0.066, 0.036}, {side * 0.025, 0.036},
                  {side * 0.025, 0.018}, {side * 0.011, 0.018}, {side * 0.011, 0}};
    const double core = 0.0026;
    s.raw = {
        {side * 0.0682, 0},     {side * 0.0680, 0.036}, {side * 0.0231 + core, 0.036}, {side * 0.0231 + core, 0.0194},
        {side * 0.011, 0.0194}, {side * 0.011, 0}};
    return s;
  };
  section.skins = {half(1), half(-1)};
  section.details = {polygon({{-0.025, 0.036}, {0.025, 0.036}}), polygon({{-0.011, 0.018}, {0.011, 0.018}}),
                     polygon({{-0.011, 0}, {0.011, 0}})};
  section.rests = {
      {{-0.056, 0}, {0, -1}, ""}, {{-0.033, 0}, {0, -1}, ""}, {{0.033, 0}, {0, -1}, ""}, {{0.056, 0}, {0, -1}, ""}};
  section.marks = {{{0.018, 0.018}, {0, 1}, {0.0014}, "floor of F2", false}};
  v.faces = {section, plan};
  v.need = 0.0008;
  v.caption =
      "Thick line: finished part. Thin line: skin of this casting. Hatched: metal to remove. Coarse strokes: metal "
      "that is missing.";
  return v;
}

inline LocatingView locating() {
  LocatingView v;
  v.title = "On the pins of nest 4";
  v.sentence = "Goes on up to `31 °C` plate; what the pins leave moves F2 by at most *0.009 mm*.";
  v.pins = {{"round pin in B",
             {-0.044, -0.034},
             0.0080075,
             0.0079905,
             false,
             0,
             "Ø8.0075 mm hole, Ø7.9905 mm pin: play 0.017 mm"},
            {"relieved pin in C",
             {0.044, 0.034},
             0.0080075,
             0.007974,
             true,
             0.0016,
             "Ø7.974 mm land, 1.6 mm wide: play 0.034 mm"}};
  v.region = {{-8.5e-6, -1.6e-4}, {0, -2.3e-4}, {8.5e-6, -1.6e-4}, {8.5e-6, 1.6e-4}, {0, 2.3e-4}, {-8.5e-6, 1.6e-4}};
  v.region_x_text = "shift along the pins";
  v.region_y_text = "turn";
  v.region_worst = Point{8.5e-6, 1.6e-4};
  v.region_worst_text = "F2 0.009 mm off";
  v.facts = {{"spare at 20 °C", {4.2e-6, unit::Kind::length, true}},
             {"goes on up to", {304.15, unit::Kind::temperature}},
             {"lift level above", {0.0003, unit::Kind::length}}};
  return v;
}

/// A requirement whose parts are normal about `mean`; counted into bins of s / 5 out to 5 s. A zone's distances from 0
/// get only their positive half.
inline Spread requirement(std::string title, State state, std::optional<double> lower, std::optional<double> upper,
                          double mean, double s) {
  Spread r;
  r.id = r.title = std::move(title);
  r.state = state;
  r.lower = lower;
  r.upper = upper;
  r.mean = mean;
  r.s = s;
  r.worst_low = mean - 6 * s;
  r.worst_high = mean + 6 * s;
  const bool zone = !lower && upper && mean > 0 && mean < 4 * s;
  if (zone) r.worst_low = 0;
  r.step = s / 5;
  r.first = zone ? 0 : mean - 5 * s;
  const auto below = [&](double x) { return 0.5 * std::erfc(-(x - mean) / (s * std::sqrt(2.0))); };
  double total = 0;
  for (int i = 0; i < 50; ++i) {
    const double a = r.first + i * r.step;
    r.bins.push_back(below(a + r.step) - below(a));
    total += r.bins.back();
  }
  for (double& b : r.bins) b /= total;
  r.share = (lower ? below(*lower) : 0) + (upper ? 1 - below(*upper) : 0);
  r.share_low = 0.93 * r.share;
  r.share_high = std::min(1.0, 1.07 * r.share);
  r.theory_share = 0.96 * r.share;
  r.goal = 0.001;
  r.cpk = std::min(upper ? (*upper - mean) / (3 * s) : 1e9, lower ? (mean - *lower) / (3 * s) : 1e9);
  if (lower && upper) r.cp = (*upper - *lower) / (6 * s);
  return r;
}

inline SpreadsView spreads() {
  SpreadsView v;
  v.title = "What will come out";
  v.sentence = "*3.4 % of the parts* are outside on at least one requirement: `257` castings for `240` good parts.";
  Spread bore = requirement("F4 spool bore, diameter", State::outside, 0.022000, 0.022009, 0.0220048, 1.9e-6);
  bore.gauge = true;
  Spread coax = requirement("F2 to F4, coaxial", State::outside, std::nullopt, 0.00005, 0.000026, 1.3e-5);
  Spread depth = requirement("F1 depth from the plate", State::tight, 0.01792, 0.01808, 0.018012, 2.2e-5);
  Spread flat = requirement("A, flat", State::inside, std::nullopt, 0.00003, 0.000009, 3.5e-6);
  Spread width = requirement("width over the edges", State::inside, 0.0919, 0.0921, 0.092, 1.1e-5);
  width.share = width.theory_share = 0;
  width.share_low = 0;
  width.share_high = 3e-6;
  Spread wild = requirement("zero set cold, F7 from B across the whole of the plate and back", State::outside, 0.0329,
                            0.0331, 0.0345, 1.4e-3);
  Spread two = requirement("F3 from F2, two nests that differ", State::tight, 0.0299, 0.0301, 0.03, 1.5e-5);
  for (std::size_t i = 0; i < two.bins.size(); ++i) two.bins[i] = i % 25 > 7 && i % 25 < 17 ? 1.0 / 18 : 0;
  Spread open = requirement("thread depth", State::open, 0.012, std::nullopt, 0.0126, 1e-4);
  open.bins.clear();
  open.mean = open.s = open.share = open.share_low = open.share_high = open.theory_share = open.cpk = NAN;
  open.worst_low = open.worst_high = NAN;
  v.rows = {bore, coax, wild, depth, two, flat, width, open};
  return v;
}

inline MendingView mending() {
  MendingView v;
  v.title = "What mending buys";
  v.sentence = "Each contributor taken out alone; the dashed length is all that is outside now.";
  Mending coax{"coax", "F2 to F4, coaxial", State::outside, 0.034, 0.001, {}};
  coax.rows = {{"moving the part from OP20 to the pallet", "OP30", 0.029, 0.61,
                "cut F4 in the clamping of F2: one zero for both; costs 0.4 min a part"},
               {"play of the round pin in B", "OP30", 0.008, 0.18, "pin 5 µm larger, 12 EUR each"},
               {"nest to nest", "OP30", 0.004, 0.09, "probe each nest once"},
               {"zero of OP20", "OP20", 0.0007, 0.07, "set it warm, after the first part"},
               {"growth of the plate", "OP30", 0, 0.03, ""},
               {"dirt under the seat", "OP30", NAN, NAN, "open: give pallet.dirt"}};
  Mending depth{"depth", "F1 depth from the plate", State::tight, 0.0004, 0.001, {}};
  depth.rows = {{"tool length setting", "OP30", 0.0004, 0.72, "touch off on the plate"},
                {"thickness after grinding", "G10", 0.00001, 0.2, "does not enter with zero on the plate"}};
  for (int i = 0; i < 9; ++i) depth.rows.push_back({"small one " + std::to_string(i + 1), "OP30", 0, 0.008, ""});
  v.requirements = {coax, depth};
  return v;
}

inline CountCurveView count_curve() {
  CountCurveView v;
  v.title = "How many on a pallet set";
  v.sentence =
      "From `8` to `12` parts saves `0.21 min` of machine and `0.34 EUR` a part; beyond that the person is late.";
  v.currency = "EUR";
  v.now = 8;
  for (int n : {1, 2, 3, 4, 6, 8, 10, 12, 16})
    v.points.push_back({n, 60 * (6.6 + 5.2 / n), 60 * (4.1 + 1.9 / n + 0.02 * n), 21.4 + 9.5 / n + 0.07 * n});
  return v;
}

inline CycleView cycle() {
  CycleView v;
  v.title = "One cycle";
  v.sentence = "Machine B waits `0.3 min` of `61 min` for the swap; *the loader waits 24.5 min* for machine B.";
  v.cycle = 3660;
  CycleRow machine{"machine B", {}}, loader{"loader", {}}, second{"finisher", {}};
  machine.bars = {{"swap", 0, 20, false}, {"probe", 20, 62, false}};
  double at = 62;
  const double cuts[] = {420, 380, 95, 610, 44, 530, 700, 310, 400};
  for (int i = 0; i < 9; ++i) {
    machine.bars.push_back({"T" + std::to_string(11 + i), at, at + cuts[i], false});
    at += cuts[i];
    if (i < 8) machine.bars.push_back({"tool change", at, at + 6, false});
    at += i < 8 ? 6 : 0;
  }
  machine.bars.push_back({"waits for the loader", at, 3660, true});
  loader.bars = {{"swap", 0, 20, false}};
  at = 20;
  for (int i = 0; i < 8; ++i) {
    loader.bars.push_back({"take off", at, at + 45, false});
    loader.bars.push_back({"clean the nest", at + 45, at + 75, false});
    loader.bars.push_back({"load and tighten", at + 75, at + 215, false});
    at += 215;
  }
  loader.bars.push_back({"waits for machine B", at, 3660, true});
  second.bars = {{"wash", 60, 960, false},
                 {"gauge all bores of the set", 1000, 1900, false},
                 {"hone", 1900, 2500, false},
                 {"deburr", 2500, 3600, false}};
  v.rows = {machine, loader, second};
  v.facts = {{"cycle", {3660, unit::Kind::time}},
             {"parts", {8, unit::Kind::number}},
             {"machine a part", {457.5, unit::Kind::time}},
             {"unattended", {1470, unit::Kind::time}}};
  return v;
}

}  // namespace fettle::drawings::samples
