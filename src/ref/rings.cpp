#include "ref/rings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/text.h"

namespace fettle::ref {

namespace {

constexpr double inch = 0.0254, mm = 1e-3;
const char* const memory = "SAE AS568, from memory; inch sizes x 25.4";
const char* const read = "SAE AS568, from memory; the size in mm confirmed in a public list";

/// Dash number, inside diameter and its tolerance, in.
struct Row {
  int dash;
  double inside, tolerance;
};
// Dashes whose size in mm was confirmed in a list: 10 12 16 110 116 210 214 225 230. Public lists contain wrong
// rows (-240 printed as -242, -325 as 37.69 mm, -425 as 107.32 mm), so the inch size rules.
constexpr Row rows[] = {
    {10, .239, .005},   {11, .301, .005},   {12, .364, .005},   {13, .426, .005},   {14, .489, .005},
    {15, .551, .007},   {16, .614, .009},   {110, .362, .005},  {111, .424, .005},  {112, .487, .005},
    {113, .549, .007},  {114, .612, .009},  {115, .674, .009},  {116, .737, .009},  {117, .799, .010},
    {118, .862, .010},  {119, .924, .010},  {120, .987, .010},  {121, 1.049, .010}, {122, 1.112, .010},
    {123, 1.174, .012}, {124, 1.237, .012}, {125, 1.299, .012}, {126, 1.362, .012}, {127, 1.424, .012},
    {128, 1.487, .012}, {129, 1.549, .015}, {130, 1.612, .015}, {131, 1.674, .015}, {132, 1.737, .015},
    {133, 1.799, .015}, {134, 1.862, .015}, {135, 1.925, .017}, {136, 1.987, .017}, {137, 2.050, .017},
    {138, 2.112, .017}, {139, 2.175, .017}, {140, 2.237, .017}, {210, .734, .010},  {211, .796, .010},
    {212, .859, .010},  {213, .921, .010},  {214, .984, .010},  {215, 1.046, .010}, {216, 1.109, .012},
    {217, 1.171, .012}, {218, 1.234, .012}, {219, 1.296, .012}, {220, 1.359, .012}, {221, 1.421, .012},
    {222, 1.484, .015}, {223, 1.609, .015}, {224, 1.734, .015}, {225, 1.859, .018}, {226, 1.984, .018},
    {227, 2.109, .018}, {228, 2.234, .020}, {229, 2.359, .020}, {230, 2.484, .020}, {240, 3.734, .028},
    {325, 1.475, .015}, {330, 2.100, .018}, {340, 3.350, .024}, {425, 4.475, .033}};
constexpr int confirmed[] = {10, 12, 16, 110, 116, 210, 214, 225, 230};

/// The section of a dash number's series and its tolerance, in.
std::pair<double, double> section_of(int dash) {
  if (dash < 100) return {.070, .003};
  if (dash < 200) return {.103, .003};
  if (dash < 300) return {.139, .004};
  if (dash < 400) return {.210, .005};
  return {.275, .006};
}

std::vector<Ring> make_rings() {
  std::vector<Ring> out;
  for (const Row& r : rows) {
    const auto [section, tolerance] = section_of(r.dash);
    const bool sure = std::find(std::begin(confirmed), std::end(confirmed), r.dash) != std::end(confirmed);
    out.push_back({fmt::format("AS568-{:03}", r.dash), r.inside * inch, r.tolerance * inch, section * inch,
                   tolerance * inch, sure ? read : memory});
  }
  return out;
}

std::vector<GrooveRow> make_grooves() {
  const char* const source = "a ring dealer's public table of housing dimensions, read";
  return {{1.78 * mm, 1.45 * mm, 1.30 * mm, 2.40 * mm, 1.30 * mm, 2.60 * mm, source},
          {2.62 * mm, 2.25 * mm, 2.00 * mm, 3.60 * mm, 2.00 * mm, 3.80 * mm, source},
          {3.53 * mm, 3.10 * mm, 2.70 * mm, 4.80 * mm, 2.70 * mm, 5.00 * mm, source},
          {5.33 * mm, 4.70 * mm, 4.30 * mm, 7.10 * mm, 4.30 * mm, 7.30 * mm, source},
          {6.99 * mm, 6.10 * mm, 5.80 * mm, 9.50 * mm, 5.80 * mm, 9.70 * mm, source}};
}

}  // namespace

std::span<const Ring> ring_table() {
  static const std::vector<Ring> table = make_rings();
  return table;
}

Outcome<Ring> ring(std::string_view name) {
  std::string digits;
  for (const char c : name.size() >= 5 && name.substr(0, 5) == "AS568" ? name.substr(5) : name)
    if (c != '-' && c != ' ') digits += c;
  while (digits.size() < 3) digits.insert(digits.begin(), '0');
  const std::string asked = "AS568-" + digits;
  std::vector<std::string> names;
  for (const Ring& r : ring_table()) {
    if (r.name == asked) return r;
    names.push_back(r.name);
  }
  const std::string near = base::nearest(asked, names);
  return bad("the table of O-rings has no such ring", std::string(name), "a dash size such as AS568-135", near);
}

std::span<const GrooveRow> groove_table() {
  static const std::vector<GrooveRow> table = make_grooves();
  return table;
}

Outcome<GrooveRow> groove(double section) {
  for (const GrooveRow& r : groove_table())
    if (std::fabs(r.section - section) <= 0.05 * mm) return r;
  return bad("no printed groove for such a section", base::fixed(section / mm, 3) + " mm",
             "1.78, 2.62, 3.53, 5.33 or 6.99 mm");
}

}  // namespace fettle::ref
