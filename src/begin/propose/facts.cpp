#include "begin/propose/facts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/features.h"
#include "begin/holes.h"
#include "begin/propose/route.h"
#include "plan/read.h"

namespace fettle::begin {

std::string answer(const Scene& scene, const std::string& id) {
  const auto it = scene.answers.find(id);
  return it == scene.answers.end() ? "" : it->second;
}

std::vector<std::pair<std::string, std::string>> known_takes() {
  return {
      {"take.route", "1..9"},
      {"take.route.clamps", "straps | carrier | as reckoned"},
      {"take.route.jaw", "hard | pads | as reckoned"},
      {"take.route.hone", "none | as reckoned"},
      {"take.seat.pins", "swapped | as reckoned"},
      {"take.seat.holes", "holes"},
      {"take.seat.screws", "smaller | largest | lugs | as reckoned"},
      {"take.casting.parting", "middle | bottom | top | level"},
      {"take.casting.grade", "finer | as reckoned"},
      {"take.casting.cores", "solid | as reckoned"},
      {"take.casting.sizes", "by the grades | as reckoned"},
      {"take.casting.shift", "none | as reckoned"},
      {"take.pallet.nests", "1 | 2 | 3 | 4 | 5 | 6 | 8 | 9 | 10 | 12 | 15 | 16 | 18 | 20 | 24 | 25 | 30 | 36"},
      {"take.pallet.rotation",
       "0 deg | 15 deg | 30 deg | 45 deg | 60 deg | 75 deg | 90 deg | 105 deg | 120 deg | 135 deg | 150 deg | 165 deg"},
      {"take.pallet.thickness", "thinner | as reckoned | thicker"}};
}

std::string cut_take(const std::string& feature, const std::string& word) { return cut_takes + feature + "." + word; }
std::string cut_word(const std::string& kind) { return kind.substr(0, kind.find(' ')); }
const std::vector<std::string>& cut_words() {
  static const std::vector<std::string> words{"rough", "finish", "drill", "ream", "tap", "groove", "chamfer"};
  return words;
}

bool takes(const std::string& id, const std::string& value) {
  if (base::starts_with(id, cut_takes) || base::starts_with(id, gauge_takes)) return !value.empty();
  for (const auto& [known, allowed] : known_takes()) {
    if (known != id) continue;
    if (allowed == "holes") return base::split(value, ',').size() == 2;
    if (allowed == "1..9") return value.size() == 1 && value[0] >= '1' && value[0] <= '9';
    for (std::size_t at = 0; at <= allowed.size();) {
      const std::size_t end = std::min(allowed.find(" | ", at), allowed.size());
      if (allowed.compare(at, end - at, value) == 0) return true;
      at = end + 3;
    }
  }
  return false;
}

bool hole_like(const plan::Feature& f) {
  const std::string& k = f.kind.value;
  return k == "bore" || k == "counterbore" || k == "hole" || k == "thread";
}
double nominal_of(const plan::Limits& v) {
  const unit::Limits& d = v.value;
  return d.nominal ? *d.nominal : d.lower && d.upper ? 0.5 * (*d.lower + *d.upper) : 0;
}
double diameter_of(const plan::Feature& f) {
  const double d = nominal_of(f.diameter);
  return d == 0 && f.drill.known() ? f.drill.si : d;
}
double length_of(const plan::Feature& f) { return f.from.known() && f.to.known() ? std::fabs(f.to.si - f.from.si) : 0; }
bool is_floor(const plan::Feature& f) {
  const std::string& id = f.id.value;
  return id.size() > 5 && id.compare(id.size() - 5, 5, "floor") == 0;
}
bool in_model(const plan::Feature& f) { return f.name.value != made_for_screws && f.name.value != made_for_pins; }
bool machined(const plan::Feature& f) { return f.cast.known(); }

std::vector<const plan::Requirement*> requirements_on(const plan::Plan& plan, const std::string& feature) {
  std::vector<const plan::Requirement*> out;
  const auto on = [&](const plan::Text& t) { return t.known() && plan::parse_reference(t.value).id == feature; };
  for (const plan::Requirement& r : plan.requirements)
    if (on(r.feature) || on(r.to)) out.push_back(&r);
  return out;
}

double closest(const plan::Plan& plan, const std::string& feature) {
  double least = std::numeric_limits<double>::infinity();
  for (const plan::Requirement* r : requirements_on(plan, feature)) {
    const unit::Limits& l = r->limits.value;
    if (r->kind.value == "roughness" || r->kind.value == "angle" || !l.upper) continue;
    const double width = l.lower ? *l.upper - *l.lower : *l.upper;
    if (width > 0 && width < least) least = width;
  }
  return least;
}

std::string reached_from(const plan::Plan&, const plan::Feature& f) {
  if (f.kind.value == "profile" || f.note.value.find("through") != std::string::npos) return "";
  return f.normal.known() && f.normal.value.size() == 2 ? f.normal.value : "";
}

bool through(const Scene& scene, const plan::Feature& f) {
  if (!hole_like(f) || scene.part == nullptr || !f.normal.known() || f.normal.value.size() != 2) return false;
  if (f.name.value == made_for_screws) return true;
  const char axis = f.normal.value[1];
  if (scene.sight != nullptr)
    if (const auto it = scene.sight->open.find(f.id.value); it != scene.sight->open.end()) {
      const auto d = 2 * static_cast<std::size_t>(axis - 'x');
      return it->second[d] && it->second[d + 1];
    }
  const frame::Vec3 lo = scene.part->box.lo, hi = scene.part->box.hi;
  const double a = coordinate(lo, axis - 'x'), b = coordinate(hi, axis - 'x');
  return f.from.known() && f.to.known() && std::fabs(std::min(f.from.si, f.to.si) - a) < 1e-4 &&
         std::fabs(std::max(f.from.si, f.to.si) - b) < 1e-4;
}

bool cut_all_round(const Scene& scene, const Draft& d) {
  const plan::Operation* op = plan::find_operation(d.plan, d.pallet_operation);
  if (op == nullptr || scene.part == nullptr) return false;
  const std::vector<std::string>& made = op->makes.value;
  const auto makes = [&](const std::string& id) { return std::find(made.begin(), made.end(), id) != made.end(); };
  const frame::Vec3 box = scene.part->box.hi - scene.part->box.lo;
  return (plan::find_feature(d.plan, "outside") != nullptr && makes("outside")) ||
         std::any_of(d.plan.features.begin(), d.plan.features.end(), [&](const plan::Feature& f) {
           return f.kind.value == "boss" && diameter_of(f) > std::max(box.x, box.y) - 1e-4 && makes(f.id.value);
         });
}

double finished_of(const Scene& scene, const plan::Plan& plan, const plan::CastSize& size) {
  std::vector<std::string> ends = size.between.value;
  if (size.kind.value == "height") ends.push_back(size.feature.value);
  if (ends.size() != 2 || scene.part == nullptr) return 0;
  const frame::Vec3 lo = scene.part->box.lo, hi = scene.part->box.hi;
  std::array<double, 2> at{};
  char axis = 0;
  for (std::size_t i = 0; i < 2; ++i) {
    const plan::Reference r = plan::parse_reference(ends[i]);
    const plan::Feature* f = plan::find_feature(plan, r.id);
    if (f == nullptr) return 0;
    const std::string way = r.side.empty() ? f->normal.value : r.side;
    if (way.size() != 2 || f->at.value.empty()) return 0;
    axis = way[1];
    const auto part = [&](const frame::Vec3& p) { return coordinate(p, axis - 'x'); };
    at[i] = r.side.empty() ? part(f->at.value[0]) : part(way[0] == '+' ? hi : lo);
  }
  return std::fabs(at[0] - at[1]);
}

std::string shown_length(double si, bool inch) {
  std::string text = base::fixed(si / (inch ? 0.0254 : 1e-3), inch ? 4 : 3);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text + (inch ? " in" : " mm");
}

}  // namespace fettle::begin
