#include "calc/seal/seal.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace fettle::seal {

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double mm = 1e-3;
// A share that stands on its guide must not leave it by its last bit.
constexpr double last_bit = 1e-12;

double middle(const Limits& x) { return 0.5 * (x.low + x.high); }
std::string percent(double share) { return base::fixed(100 * share, 1) + " %"; }

struct Refusals {
  Problems problems;
  void limits(const Limits& x, double low, double high, const char* what, const char* bounds) {
    if (!(x.low >= low && x.high <= high)) problems.push_back(bad(std::string(what) + " is out of bounds", {}, bounds));
    else if (!(x.low <= x.high)) problems.push_back(bad("limits of " + std::string(what) + " are reversed"));
  }
  void check(bool good, const char* what) {
    if (!good) problems.push_back(bad(what));
  }
};

Problems refusals(const Inputs& in) {
  Refusals r;
  r.limits(in.inside, 0.1 * mm, 2, "inside diameter of the ring", "0.1 mm to 2 m");
  r.limits(in.section, 0.1 * mm, 50 * mm, "section of the ring", "0.1 to 50 mm");
  r.limits(in.groove, 0.1 * mm, 3, "diameter of the groove", "0.1 mm to 3 m");
  r.limits(in.width, 0.1 * mm, 200 * mm, "width of the groove", "0.1 to 200 mm");
  if (is_face(in.gland)) {
    r.limits(in.depth, 0.01 * mm, 50 * mm, "depth of the groove", "0.01 to 50 mm");
    return r.problems;
  }
  r.limits(in.mate, 0.1 * mm, 3, "diameter of the mate", "0.1 mm to 3 m");
  r.limits(in.land, 0.1 * mm, 3, "diameter beside the groove", "0.1 mm to 3 m");
  r.check(in.offset >= 0 && in.offset <= 10 * mm, "offset of the groove is out of bounds, 0 to 10 mm");
  if (!r.problems.empty()) return r.problems;
  const bool bore = in.gland == Gland::in_bore;
  r.check(bore ? in.groove.low > in.land.high : in.groove.high < in.land.low,
          bore ? "a groove in a bore is larger than the bore" : "a groove on a plug is smaller than the plug");
  r.check(bore ? in.mate.high < in.land.low : in.mate.low > in.land.high,
          bore ? "the plug does not enter the bore" : "the plug does not enter the bore it seals in");
  return r.problems;
}

/// What the ring goes round when it lies in its place.
Limits goes_round(const Inputs& in) {
  switch (in.gland) {
    case Gland::in_bore:
      return in.mate;
    case Gland::on_plug:
      return in.groove;
    case Gland::face_pressed_from_outside:
      return in.groove;
    case Gland::face_pressed_from_inside:
      break;
  }
  return in.inside;  // it lies against the outer wall and goes round nothing
}

/// Stretch and the section that it leaves.
void stretch(const Inputs& in, Result& r) {
  const Limits round = goes_round(in);
  const bool free = in.gland == Gland::face_pressed_from_inside;
  const auto part = [&](double to, double from) { return free ? 0.0 : to / from - 1; };
  r.stretch = {part(round.low, in.inside.high), part(middle(round), middle(in.inside)),
               part(round.high, in.inside.low)};
  const auto at = [&](double inside, double section, double to, bool most) {
    if (free || !(to > inside)) return section;
    const double by_volume = section_at_equal_volume(inside, section, to);
    const double by_rule = section * (1 - section_loss_by_rule(to / inside - 1));
    return most ? std::min(by_volume, by_rule) : std::max(by_volume, by_rule);
  };
  r.section = {at(in.inside.low, in.section.low, round.high, true),
               at(middle(in.inside), middle(in.section), middle(round), false),
               at(in.inside.high, in.section.high, round.low, false)};
}

/// The wall that holds the ring from outside before the mate enters.
void pinch(const Inputs& in, Result& r) {
  if (in.gland == Gland::on_plug || in.gland == Gland::face_pressed_from_outside) return;
  const double low = in.inside.low + 2 * in.section.low, high = in.inside.high + 2 * in.section.high;
  const double mid = middle(in.inside) + 2 * middle(in.section);
  r.pinch = {1 - in.groove.high / low, 1 - middle(in.groove) / mid, 1 - in.groove.low / high};
}

void room(const Inputs& in, Result& r) {
  if (is_face(in.gland)) {
    r.depth = {in.depth.low, middle(in.depth), in.depth.high};
    return;
  }
  const bool bore = in.gland == Gland::in_bore;
  const Limits& outer = bore ? in.groove : in.mate;
  const Limits& inner = bore ? in.mate : in.groove;
  r.depth = {0.5 * (outer.low - inner.high), 0.5 * (middle(outer) - middle(inner)), 0.5 * (outer.high - inner.low)};
  // The plug may lean on one side of its bore, and the groove may be off that bore.
  const double play = bore ? in.land.high - in.mate.low : in.mate.high - in.land.low;
  r.eccentric = 0.5 * play + in.offset;
  r.gap = play;
}

double squeezed(double section, double depth) { return (section - depth) / section; }

/// As guides mean it: free section, plug in the middle.
Ends squeeze(const Inputs& in, const Result& r) {
  return {squeezed(in.section.low, r.depth.high), squeezed(middle(in.section), r.depth.middle),
          squeezed(in.section.high, r.depth.low)};
}

/// The worst place round the ring, once at each end. Where the plug leans on its bore, the play that lets it lean comes
/// from the same sizes as the room, so each size is taken at one end for both.
Ends lies(const Inputs& in, const Result& r) {
  if (is_face(in.gland))
    return {squeezed(r.section.low, r.depth.high), squeezed(r.section.middle, r.depth.middle),
            squeezed(r.section.high, r.depth.low)};
  const bool bore = in.gland == Gland::in_bore;
  // Leaning plug in a bore: room on the far side = (groove - mate)/2 + (land - mate)/2; on the near side the first
  // minus the second, in which the mate's own size drops out.
  const double wide =
      bore ? 0.5 * (in.groove.high + in.land.high) - in.mate.low : in.mate.high - 0.5 * (in.groove.low + in.land.low);
  const double narrow = bore ? 0.5 * (in.groove.low - in.land.high) : 0.5 * (in.land.low - in.groove.high);
  return {squeezed(r.section.low, wide + in.offset), squeezed(r.section.middle, r.depth.middle),
          squeezed(r.section.high, narrow - in.offset)};
}

Ends fill(const Inputs& in, const Result& r) {
  const auto at = [](double section, double depth, double width) {
    return pi / 4 * section * section / (depth * width);
  };
  return {at(in.section.low, r.depth.high, in.width.high), at(middle(in.section), r.depth.middle, middle(in.width)),
          at(in.section.high, r.depth.low, in.width.low)};
}

std::vector<std::string> slips_of(const Result& r) {
  std::vector<std::string> out;
  const Guide& g = r.guide;
  const auto hold = [&](bool good, std::string text) {
    if (!good) out.push_back(std::move(text));
  };
  hold(r.squeeze.low >= g.squeeze_low - last_bit,
       fmt::format("squeeze falls to {}, {} are asked for", percent(r.squeeze.low), percent(g.squeeze_low)));
  hold(r.squeeze.high <= g.squeeze_high + last_bit,
       fmt::format("squeeze rises to {}, {} are the most", percent(r.squeeze.high), percent(g.squeeze_high)));
  hold(r.fill.high <= g.fill_high + last_bit,
       fmt::format("the groove is filled to {}, {} are the most", percent(r.fill.high), percent(g.fill_high)));
  hold(r.lies.low >= g.lies_low - last_bit,
       fmt::format("stretched and with the plug leaning, squeeze falls to {}, {} are asked for", percent(r.lies.low),
                   percent(g.lies_low)));
  hold(r.stretch.middle <= g.stretch_high + last_bit,
       fmt::format("the ring is stretched by {}, {} are the most", percent(r.stretch.middle), percent(g.stretch_high)));
  hold(r.stretch.high <= g.stretch_most + last_bit, fmt::format("the smallest ring is stretched by {}, {} are the most",
                                                                percent(r.stretch.high), percent(g.stretch_most)));
  hold(r.pinch.high <= g.pinch_high + last_bit,
       fmt::format("the ring is {} too large outside, {} are the most", percent(r.pinch.high), percent(g.pinch_high)));
  return out;
}

std::string beyond_of(const Result& r) {
  if (!(r.depth.low > 0)) return "there is no room for a ring: the groove's bottom reaches the mate";
  if (!(r.fill.low <= 1.5) || !std::isfinite(r.fill.high)) return "the groove holds far less than the ring";
  if (r.stretch.high > 0.25) return "stretched by more than a quarter: the rules for the section end there";
  return {};
}

}  // namespace

std::string_view word(Gland gland) {
  switch (gland) {
    case Gland::in_bore:
      return "groove in a bore";
    case Gland::on_plug:
      return "groove on a plug";
    case Gland::face_pressed_from_inside:
      return "groove in a face, pressure from inside";
    case Gland::face_pressed_from_outside:
      break;
  }
  return "groove in a face, pressure from outside";
}
bool is_face(Gland gland) {
  return gland == Gland::face_pressed_from_inside || gland == Gland::face_pressed_from_outside;
}

Guide guide_of(Gland gland, bool moving) {
  Guide g;
  g.squeeze_low = moving ? 0.12 : 0.18;
  g.squeeze_high = moving ? 0.18 : 0.30;
  g.lies_low = moving ? 0.08 : 0.10;
  g.fill_high = moving ? 0.80 : 0.85;
  if (gland != Gland::face_pressed_from_inside) g.stretch_high = 0.03, g.stretch_most = 0.05;
  g.pinch_high = 0.03;
  g.source = fmt::format(
      "squeeze {}; fill at most {}, stretch 1 to 3 %: a seal maker's guide; least squeeze as it lies, stretch of the "
      "smallest ring and 3 % outside: common practice",
      moving ? "12 to 18 %" : "18 to 30 %, common practice", moving ? "80 %" : "85 %");
  return g;
}

double section_at_equal_volume(double ring_inside, double ring_section, double inside) {
  if (!(inside > ring_inside)) return ring_section;
  // section^2 (inside + section) = what the free ring has; rises with the section, one root.
  const double volume = ring_section * ring_section * (ring_inside + ring_section);
  double low = 0, high = ring_section;
  for (int i = 0; i < 60; ++i) {
    const double s = 0.5 * (low + high);
    (s * s * (inside + s) < volume ? low : high) = s;
  }
  return 0.5 * (low + high);
}

double section_loss_by_rule(double stretch) {
  const double s = 100 * stretch;
  if (!(s > 0)) return 0;
  return 0.01 * (s <= 3 ? 0.01 + 1.06 * s - 0.1 * s * s : 0.56 + 0.59 * s - 0.0046 * s * s);
}

Outcome<Result> solve(const Inputs& in) {
  const Problems problems = refusals(in);
  if (!problems.empty()) return problems;
  Result r;
  r.guide = guide_of(in.gland, in.moving);
  stretch(in, r);
  pinch(in, r);
  room(in, r);
  r.squeeze = squeeze(in, r);
  r.lies = lies(in, r);
  r.fill = fill(in, r);
  r.beyond = beyond_of(r);
  r.slips = slips_of(r);
  r.cautions = {
      "A seal under pressure can throw fluid: the system's own codes and its maker decide. Edges that the ring passes "
      "are broken or led in at 15 to 20 degrees, the groove is free of open pores and burrs."};
  return r;
}

double margin_of(const Result& r) {
  const Guide& g = r.guide;
  const double half = 0.5 * (g.squeeze_high - g.squeeze_low);
  double m = std::min((r.squeeze.low - g.squeeze_low) / half, (g.squeeze_high - r.squeeze.high) / half);
  const auto most = [&m](double x, double limit) { m = std::min(m, (limit - x) / limit); };
  m = std::min(m, (r.lies.low - g.lies_low) / g.lies_low);
  most(r.fill.high, g.fill_high);
  if (g.stretch_high > 0) most(r.stretch.middle, g.stretch_high), most(r.stretch.high, g.stretch_most);
  most(r.pinch.high, g.pinch_high);
  return m;
}

std::vector<Choice> choose(const Inputs& inputs, const std::vector<Candidate>& rings) {
  std::vector<Choice> out;
  for (const Candidate& ring : rings) {
    Inputs in = inputs;
    in.inside = ring.inside;
    in.section = ring.section;
    Outcome<Result> r = solve(in);
    if (!r.ok() || !r->beyond.empty()) continue;
    const double margin = margin_of(*r);
    out.push_back({ring.name, std::move(r.value()), margin});
  }
  std::stable_sort(out.begin(), out.end(), [](const Choice& a, const Choice& b) { return a.margin > b.margin; });
  return out;
}

double middle_depth(const Result& r) {
  return r.section.middle * (1 - 0.5 * (r.guide.squeeze_low + r.guide.squeeze_high));
}

}  // namespace fettle::seal
