#include "app/serve/floor_words.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "app/cli/study_text.h"
#include "app/serve/reply.h"
#include "app/serve/scene_mesh.h"
#include "base/text.h"
#include "plan/read.h"
#include "study/internal.h"

namespace fettle::serve {

using frame::Vec3;
using nlohmann::json;

namespace {

constexpr double set_back = 5e-4;   // m: a face further in than that is told from the outside
constexpr double clearly = 1.15;    // a side is long when it is that much longer than the one across
constexpr double off_middle = 0.2;  // of half the part: a hole nearer to the middle is said to be there

const char* const pinch = "Keep hands clear of jaws and clamps while they close.";

/// How far out the part's flats and profile lie along n (an axis of the plan); none where no feature looks that way.
std::optional<double> outermost(const plan::Plan& p, Vec3 n) {
  std::optional<double> out;
  for (const plan::Feature& f : p.features) {
    if (f.over.known() || f.diameter.known() || (f.kind.value != "face" && f.kind.value != "profile")) continue;
    for (const std::string& side : study::sides_of(f)) {
      const study::Surface s = study::surface_of(p, side);
      if (s.there && frame::dot(s.normal, n) > 0.999) out = std::max(out.value_or(-1e9), frame::dot(s.point, n));
    }
  }
  return out;
}

/// The part as it lies: x to the right, y to the back, z to the spindle.
struct Lying {
  frame::Pose pose;
  Vec3 middle, half;
};
Lying lies(const plan::Plan& p, const plan::Operation& o) {
  const Block b = block_of(p);
  Vec3 middle = b.middle;
  for (double Vec3::*axis : {&Vec3::x, &Vec3::y, &Vec3::z}) {
    Vec3 n;
    n.*axis = 1;
    const auto high = outermost(p, n), low = outermost(p, -n);
    if (high && low) middle.*axis = 0.5 * (*high - *low);
  }
  Lying l{lying(o.up.known() ? o.up.value : "+z"), {}, {}};
  const Vec3 h = frame::rotate(l.pose, 0.5 * b.size);
  l.middle = l.pose * middle, l.half = {std::fabs(h.x), std::fabs(h.y), std::fabs(h.z)};
  return l;
}

/// Lengths that a person at the machine tells by eye.
std::string by_eye(double si, const plan::Plan& p) {
  if (cli::style_of(p).system == unit::Style::System::inch) return base::fixed(si / 0.0254, 2) + " in";
  return base::fixed(1e3 * si, 1e3 * si < 9.95 && std::fabs(1e3 * si - std::round(1e3 * si)) > 0.05 ? 1 : 0) + " mm";
}

/// Whether one of the references is this surface: the whole feature, or that side of it.
bool names(const std::vector<std::string>& list, const plan::Reference& r) {
  return std::any_of(list.begin(), list.end(), [&](const std::string& text) {
    const plan::Reference x = plan::parse_reference(text);
    return x.id == r.id && (x.side.empty() || r.side.empty() || x.side == r.side);
  });
}

/// ", cut in OP10" or ", as cast"; nothing where the plan does not say.
std::string state_of(const plan::Plan& p, const plan::Operation& o, const plan::Reference& r) {
  std::string cut;
  for (const plan::Operation& before : p.operations) {
    if (before.id.value == o.id.value) break;
    if (names(before.makes.value, r)) cut = before.id.value;
  }
  if (!cut.empty()) return ", cut in " + cut;
  const plan::Feature* f = plan::find_feature(p, r.id);
  const bool cast = f != nullptr && (f->cast.value == "skin" || f->cast.value == "cored");
  return cast ? ", as cast" : "";
}

std::string side_words(const Lying& l, Vec3 n) {
  const bool ends = std::fabs(n.x) > 0.5;  // it looks to the left or right: it runs from front to back
  const double along = ends ? l.half.y : l.half.x, across = ends ? l.half.x : l.half.y;
  const std::string how = along > clearly * across ? "long " : across > clearly * along ? "short " : "";
  const char* const at = ends ? (n.x > 0 ? "right" : "left") : (n.y > 0 ? "back" : "front");
  return "the " + how + "side at the " + at;
}

/// Where a flat is seen: `in` is how far it lies inside the part's outside there.
std::string flat_words(const plan::Plan& p, const Lying& l, Vec3 n, double in) {
  const bool back = in > set_back;
  const std::string far = back ? "a face " + by_eye(in, p) : "";
  if (n.z > 0.5) return back ? far + " below the top" : "the top";
  if (n.z < -0.5) return back ? far + " above the underside" : "the underside";
  return back ? far + " inside " + side_words(l, n) : side_words(l, n);
}

/// "at the front left": where a hole is seen, of its two directions across the axis.
std::string corner_words(const Lying& l, Vec3 at, Vec3 axis) {
  const Vec3 d = at - l.middle;
  const auto word = [](double x, double half, double along, const char* low, const char* high) -> std::string {
    if (along > 0.5 || !(half > 0) || std::fabs(x) < off_middle * half) return "";
    return x < 0 ? low : high;
  };
  std::vector<std::string> words;
  for (std::string w : {word(d.z, l.half.z, std::fabs(axis.z), "lower", "upper"),
                        word(d.y, l.half.y, std::fabs(axis.y), "front", "back"),
                        word(d.x, l.half.x, std::fabs(axis.x), "left", "right")})
    if (!w.empty()) words.push_back(std::move(w));
  if (words.size() == 1 && std::fabs(axis.z) < 0.5 && words[0] == "lower") return "low down";
  if (words.size() == 1 && std::fabs(axis.z) < 0.5 && words[0] == "upper") return "high up";
  return words.empty() ? "in the middle" : "at the " + base::join(words, " ");
}

/// The letter that the drawing gives to that place of the feature.
std::string letter_of(const plan::Feature& f, int index) {
  const auto letters = base::split(f.datum.value, ' ');
  const auto n = static_cast<std::size_t>(std::max(index, 1) - 1);
  return f.datum.known() && n < letters.size() && letters[n] != "-" ? " " + letters[n] : "";
}

std::string hole_words(const plan::Plan& p, const Lying& l, const plan::Feature& f, const study::Surface& s,
                       const plan::Reference& r) {
  const bool band =
      f.diameter.typed.find("..") != std::string::npos;  // of a pair of limits the middle says enough here
  const std::string size = f.thread.known() ? f.thread.typed : band ? "Ø" + by_eye(2 * s.radius, p) : f.diameter.typed;
  const std::string at = corner_words(l, l.pose * s.point, frame::rotate(l.pose, s.normal));
  return "hole" + letter_of(f, r.index) + (size.empty() ? "" : ", " + size) + ", " + at;
}

json points(const std::vector<Vec3>& list) {
  json out = json::array();
  for (const Vec3& v : list) out.push_back({number(v.x), number(v.y), number(v.z)});
  return out;
}

/// What the picture shows of a step: the kind of sign, the way the surface looks, and its places, in the part's axes.
json mark_of(const plan::Plan& p, const std::string& kind, const std::string& on, std::vector<Vec3> at) {
  const study::Surface s = study::surface_of(p, on);
  if (!s.there && !s.round) return nullptr;
  if (at.empty()) at = {s.point};
  return {{"kind", kind}, {"looks", {number(s.normal.x), number(s.normal.y), number(s.normal.z)}}, {"at", points(at)}};
}

/// "the short sides at the right and at the left, as cast" of two that are alike.
std::string of_both(const std::string& a, const std::string& b) {
  if (a.empty() || b.empty()) return "";
  const auto side = a.find("side at the "), end = a.find(','), other = b.find(',');
  const bool alike = side != std::string::npos && b.substr(0, side + 12) == a.substr(0, side + 12) &&
                     (end == std::string::npos ? other == end : other != end && a.substr(end) == b.substr(other));
  if (!alike) return a + ", and " + b;
  return a.substr(0, side) + "sides" + a.substr(side + 4, end - side - 4) + " and " + b.substr(side + 5);
}

/// A row about a surface: its place in words, its name in the plan, its sign in the picture.
json placed(json out, const plan::Plan& p, const plan::Operation& o, const std::string& kind, const std::string& on,
            const std::vector<Vec3>& at) {
  out["where"] = seen_at(p, o, on), out["on"] = on;
  if (out["where"] == "" && out["value"] == "") out["value"] = on;
  if (json mark = mark_of(p, kind, on, at); !mark.is_null()) out["mark"] = std::move(mark);
  return out;
}

std::string locator_words(const plan::Plan& p, const plan::Operation& o, const plan::Locator& l) {
  const std::string& kind = l.kind.value;
  if (kind == "round pin" || kind == "relieved pin") return "clean the " + kind + " and set the part on it";
  if (kind == "centre") return "the zero is taken in the middle between";
  if (kind == "chuck") return "lay it on the chuck";
  if (kind == "jaw") return "set it against the fixed jaw";
  const study::Surface s = study::surface_of(p, l.on.value);
  const bool down = s.there && frame::rotate(lies(p, o).pose, s.normal).z < -0.5;
  const std::string what = l.at.value.size() > 1 ? kind + "s" : kind;
  return (down ? "set it down on the " : kind == "stop" ? "push it against the " : "set it against the ") + what;
}

/// "close the vise on", "tighten 3 straps on".
std::string clamp_words(const std::string& kind, std::size_t many) {
  const std::string what = many > 1 ? std::to_string(many) + " " + kind + "s" : "the " + kind;
  const bool turned = kind == "screw" || kind == "strap";
  return (turned ? "tighten " : kind == "vise" || kind == "jaw" ? "close " : "switch on ") + what + " on";
}

/// What `does` says in the words of the person who does it.
struct Step {
  const char* does;
  const char* words;
};
/// In the order in which the work goes: the part comes off, is cleaned, looked at, measured, put away.
constexpr Step done_after[] = {
    {"lift evenly", "lift the part off evenly: tilted, it jams on its pins and scores their holes"},
    {"demagnetise", "demagnetise the part"},
    {"deburr", "deburr every edge that was cut, the hidden ones too"},
    {"wash", "wash the part"},
    {"look for pores", "look for pores in what was cut, before more work goes into the part"},
    {"soak", "let the part lie beside the gauge until it is as cold as the gauge"},
    {"gauge", "gauge the part: what to measure stands under Measure"},
    {"oil", "oil the bare metal"},
};

bool does(const plan::Operation& o, const std::string& step) {
  return std::find(o.does.value.begin(), o.does.value.end(), step) != o.does.value.end();
}

json does_row(const plan::Operation& o, const std::string& tab, const std::string& words) {
  return row(tab, words, "", "operation." + o.id.value + ".does");
}

/// Where the part will sit: pads of the pallet by number, rests of the operation.
std::string seats_of(const plan::Plan& p, const plan::Operation& o) {
  std::size_t pads = 0, rests = 0;
  if (o.kind.value == "pallet")
    for (const plan::Pad& x : p.pallet.pads) pads += x.at.value.size();
  for (const plan::Locator& l : o.locators)
    if (l.kind.value == "rest") rests += std::max<std::size_t>(1, l.at.value.size());
  const auto said = [](std::size_t n, const std::string& what) {
    return n == 0 ? "" : n == 1 ? "the " + what : "the " + std::to_string(n) + " " + what + "s";
  };
  const std::string a = said(pads, "pad"), b = said(rests, "rest");
  return a.empty() || b.empty() ? a + b : a + " and " + b;
}

/// Every loading of a pallet begins with clean seats (practice: clean_seats), whatever the plan lists.
void clean_row(const plan::Plan& p, const plan::Operation& o, json& out) {
  const bool pallet = o.kind.value == "pallet";
  const std::string seats = seats_of(p, o);
  if (!does(o, "blow off") && (!pallet || seats.empty())) return;
  const std::string what = seats.empty() ? "where the part will sit" : seats;
  json one = does_row(o, "load", "blow off and wipe " + what + ", and the part where it touches: one chip tilts it");
  if (!does(o, "blow off")) one["key"] = "pallet.pad";
  out.push_back(std::move(one));
}

std::string strength_of(const plan::Clamp& c) {
  return c.torque.known() ? c.torque.typed : c.force.known() ? c.force.typed : "open: nobody said it";
}

}  // namespace

json row(const std::string& tab, const std::string& what, const std::string& value, const std::string& key,
         const std::string& caution) {
  return {{"tab", tab},     {"what", what}, {"where", ""},       {"on", ""},
          {"value", value}, {"key", key},   {"caution", caution}};
}

std::string seen_at(const plan::Plan& p, const plan::Operation& o, const std::string& reference) {
  if (const auto both = base::split(reference, ' '); both.size() == 2)
    return of_both(seen_at(p, o, both[0]), seen_at(p, o, both[1]));
  const plan::Reference r = plan::parse_reference(reference);
  const study::Surface s = study::surface_of(p, r);
  const Lying l = lies(p, o);
  if (s.round && s.feature != nullptr) return hole_words(p, l, *s.feature, s, r);
  if (!s.there) return "";
  const Vec3 n = frame::rotate(l.pose, s.normal);
  const double in = outermost(p, s.normal).value_or(-1e9) - frame::dot(s.point, s.normal);
  return flat_words(p, l, n, in) + state_of(p, o, r);
}

void load_rows(const plan::Plan& p, const plan::Operation& o, json& out) {
  clean_row(p, o, out);
  if (o.kind.value == "pallet")
    for (const plan::Pin& x : p.pallet.pins)
      out.push_back(placed(
          row("load", "clean the " + x.kind.value + " pin and set the part on it", "", "pallet.pin." + x.id.value), p,
          o, x.kind.value + " pin", x.in.value, {}));
  for (std::size_t k = 0; k < o.locators.size(); ++k) {
    const plan::Locator& l = o.locators[k];
    out.push_back(placed(row("load", locator_words(p, o, l), l.note.value,
                             "operation." + o.id.value + ".locator." + std::to_string(k + 1)),
                         p, o, l.kind.value, l.on.value, l.at.value));
  }
  if (does(o, "shim"))
    out.push_back(does_row(o, "load", "shim it where it does not touch, until it lies without rocking; then hold it"));
}

void after_rows(const plan::Operation& o, json& out) {
  if (does(o, "single block"))
    out.push_back(does_row(o, "start", "the first nest in single block, hand on the feed, and stop before the second"));
  for (const Step& x : done_after)
    if (does(o, x.does)) out.push_back(does_row(o, "after", x.words));
  if (does(o, "nothing")) out.push_back(does_row(o, "after", "nothing more is done here besides the operation itself"));
}

void clamp_rows(const plan::Plan& p, const plan::Operation& o, json& out) {
  for (std::size_t k = 0, many = 1; k < o.clamps.size(); k += many) {
    const plan::Clamp& c = o.clamps[k];
    std::vector<Vec3> at = c.at.value;
    for (many = 1; k + many < o.clamps.size(); ++many) {
      const plan::Clamp& x = o.clamps[k + many];
      if (x.kind.value != c.kind.value || x.on.value != c.on.value || strength_of(x) != strength_of(c)) break;
      at.insert(at.end(), x.at.value.begin(), x.at.value.end());
    }
    const std::string key = "operation." + o.id.value + ".clamp." + std::to_string(k + 1);
    out.push_back(placed(row("torque", clamp_words(c.kind.value, many), strength_of(c) + (many > 1 ? " each" : ""),
                             key + (c.torque.known() ? ".torque" : ".force"), pinch),
                         p, o, "clamp", c.on.value, at));
  }
}

}  // namespace fettle::serve
