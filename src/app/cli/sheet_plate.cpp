#include "app/cli/sheet_plate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "output/drawings/plate.h"

namespace fettle::cli {

namespace {

constexpr drawings::Room room{186, 250};
constexpr std::size_t modes_shown = 4;

bool inch(const unit::Style& s) { return s.system == unit::Style::System::inch; }
/// m per 100 N as printed: µm for 100 N, or millionths of an inch for 100 lbf.
double little(const unit::Style& s) { return inch(s) ? 4.4482216152605 / 25.4e-9 : 1e6; }
const char* unit_of(const unit::Style& s) { return inch(s) ? "µin" : "µm"; }
const char* load_of(const unit::Style& s) { return inch(s) ? "100 lbf" : "100 N"; }

/// Two digits, or whole from ten on.
std::string figure(double x) {
  if (!std::isfinite(x)) return "open";
  return std::fabs(x) < 10 ? fmt::format("{:.1f}", x) : fmt::format("{:.0f}", x);
}
std::string hertz(double f) { return std::isfinite(f) ? fmt::format("{:.0f} Hz", f) : "open"; }

drawings::Field field_of(const study::PlateField& f, double factor) {
  drawings::Field out{f.columns, f.rows, f.left, f.bottom, f.step_x, f.step_y, f.value};
  for (double& x : out.value) x *= factor;
  return out;
}

/// What the findings that are not inside say of each nest, a remark for each.
std::vector<drawings::Note> nests_of(const study::Study& s) {
  std::vector<drawings::Note> out;
  for (const study::NestVerdict& n : s.compliance.nests) {
    const bool gives = std::any_of(s.findings.begin(), s.findings.end(), [&](const finding::Finding& f) {
      return f.id == n.finding && f.question == "give";
    });
    if (!gives) continue;
    const std::string head = "nest " + n.nest;
    auto at = std::find_if(out.begin(), out.end(), [&](const drawings::Note& x) { return x.head == head; });
    if (at == out.end()) {
      out.push_back({{NAN, NAN}, head, "", false, {}});
      at = out.end() - 1;
    }
    at->text += (at->text.empty() ? "" : "; ") + n.text;
    at->hand = at->hand || n.state == finding::State::outside;
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.head < b.head; });
  return out;
}

drawings::Drawing give_of(const study::Study& s, const drawings::PalletView& pallet) {
  const study::CompliancePicture& p = s.compliance;
  const unit::Style& style = pallet.style;
  const double factor = little(style);
  drawings::GiveView v;
  v.pallet = pallet;
  v.title = fmt::format("How far {} press the pallet down", load_of(style));
  double least = INFINITY;
  int alike = 0;
  drawings::Point softest{p.softest_x, p.softest_y};  // of places alike the one next to the remarks
  for (std::size_t k = 0; k < p.field.value.size() && p.field.columns > 0; ++k) {
    const double x = p.field.value[k];
    if (std::isfinite(x)) least = std::min(least, x);
    if (!(x > 0.999 * p.softest)) continue;
    ++alike;
    const auto columns = static_cast<std::size_t>(p.field.columns);
    const std::size_t row = k / columns, column = k % columns;
    const drawings::Point here{p.field.left + p.field.step_x * static_cast<double>(column),
                               p.field.bottom + p.field.step_y * static_cast<double>(row)};
    if (here.x > softest.x + 1e-9 || (here.x > softest.x - 1e-9 && here.y > softest.y)) softest = here;
  }
  v.sentence = fmt::format("Softest {}: `{} {}`; stiffest `{} {}`. First mode of the loaded pallet `{}` ({} to {}).",
                           p.softest_words, figure(p.softest * factor), unit_of(style), figure(least * factor),
                           unit_of(style), hertz(p.first), hertz(p.first_low), hertz(p.first_high));
  v.field = field_of(p.field, factor);
  v.unit = fmt::format("{} for {}, upright on the plate where it stands: more strokes, softer", unit_of(style),
                       load_of(style));
  v.short_unit = fmt::format(" {}", unit_of(style));
  v.notes = nests_of(s);
  v.notes.push_back({softest,
                     "softest",
                     fmt::format("{} {} for {}{}", figure(p.softest * factor), unit_of(style), load_of(style),
                                 alike > 1 ? fmt::format("; {} places alike", alike) : ""),
                     false,
                     {}});
  v.caption =
      "Seen from above, anchors and parts as stated, parts as mass alone. Dashed rings: anchors below; dashed fields: "
      "run-off; thin: parts with their pins and screws. Above the plate the part's own height adds to it: what each "
      "tool feels stands in its finding.";
  return drawings::give(v, room);
}

drawings::Drawing modes_of(const study::Study& s, const drawings::PalletView& pallet) {
  drawings::ModesView v;
  v.pallet = pallet;
  v.title = "How the loaded pallet swings";
  v.sentence =
      "Its first modes. A mode has no size of its own: all are drawn much larger, by the same motion. Each band "
      "follows its shape, so it may end above that of the lowest mode.";
  for (const study::ModePicture& m : s.modes) {
    if (v.modes.size() == modes_shown) break;
    drawings::ModeView x;
    x.title = hertz(m.frequency);
    x.band = fmt::format("{} to {} over what is assumed", hertz(m.low), hertz(m.high));
    x.words = m.words;
    x.up = field_of(m.field, 1);
    x.slide_x = m.slide_x, x.slide_y = m.slide_y, x.spin = m.spin;
    for (std::size_t n = 0; n < m.parts.size(); ++n) {
      const study::ModePart& q = m.parts[n];
      x.parts.push_back({static_cast<int>(n),
                         {q.at.x, q.at.y, q.at.z},
                         {q.shift.x, q.shift.y, q.shift.z},
                         {q.turn.x, q.turn.y, q.turn.z}});
    }
    v.modes.push_back(std::move(x));
  }
  v.caption =
      "Assumed: anchors soft to stiff, parts as mass alone to bonded iron. Finely dashed: the plate at rest, and where "
      "it "
      "bears on its anchors, whose feet, drawn long, stand still. Arrows: how far the middle of each part's top goes. "
      "Chain line: does not move "
      "upright.";
  return drawings::modes(v, room);
}

}  // namespace

std::vector<papers::NamedDrawing> bend_of(const study::Study& s, const drawings::PalletView& pallet) {
  std::vector<papers::NamedDrawing> out;
  if (s.compliance.there) out.push_back({"give.svg", give_of(s, pallet)});
  if (!s.modes.empty()) out.push_back({"modes.svg", modes_of(s, pallet)});
  return out;
}

namespace {

/// A depth of cut, no finer than anybody sets one.
std::string depth(double si, const unit::Style& style) {
  if (!std::isfinite(si)) return "open";
  if (inch(style)) return fmt::format("{:.3f} in", si / 25.4e-3);
  return si < 0.9995e-3 ? fmt::format("{:.2f} mm", si * 1e3) : fmt::format("{:.1f} mm", si * 1e3);
}

drawings::LimitMark mark_of(const study::NestLimit& n, int nest, const unit::Style& style) {
  drawings::LimitMark m;
  m.nest = nest;
  m.state = n.state;
  if (n.state == finding::State::open) {
    m.limit = "not computed";
    return m;
  }
  if (n.asked > 0) m.share = n.limit / n.asked;
  m.limit = n.far ? "quiet past 10 times that" : "quiet to " + depth(n.limit, style);
  if (!n.soft.empty()) m.soft = "softest: " + n.soft;
  m.place = n.place;
  m.at = {n.x, n.y};
  return m;
}

}  // namespace

std::optional<drawings::LimitsView> limits_of(const study::Study& s, const drawings::PalletView& pallet) {
  drawings::LimitsView v;
  v.pallet = pallet;
  v.title = "How deep each nest stays quiet";
  std::vector<std::pair<std::string, std::string>> keys;  // operation and tool, of each plan
  for (const study::NestLimit& n : s.nest_limits) {
    const auto nest = std::find_if(pallet.nests.begin(), pallet.nests.end(),
                                   [&](const drawings::Nest& x) { return x.number == n.nest; });
    if (nest == pallet.nests.end()) continue;
    const std::pair<std::string, std::string> key{n.operation, n.tool};
    auto at = std::find(keys.begin(), keys.end(), key) - keys.begin();
    if (static_cast<std::size_t>(at) == keys.size()) {
      keys.push_back(key);
      v.plans.push_back({fmt::format("{} in {}", n.words, n.operation),
                         fmt::format("asked: {}{}", depth(n.asked, pallet.style), n.width ? " on the radius" : " deep"),
                         {}});
    }
    v.plans[static_cast<std::size_t>(at)].marks.push_back(
        mark_of(n, static_cast<int>(nest - pallet.nests.begin()), pallet.style));
  }
  if (v.plans.empty()) return {};
  v.sentence =
      "Bars: the depth at which the cut starts to sing at the values as stated; heavy upright: the depth asked. Dots: "
      "the place in each nest, where the words leave room for it.";
  v.caption =
      "Coarse strokes: outside, sings at the good ends of the bands too. Dotted and crossed: beyond, what is assumed "
      "decides and a test is named in the finding. Fine strokes: tight, quiet as stated. Solid: inside.";
  return v;
}

}  // namespace fettle::cli
