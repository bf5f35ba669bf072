#include "output/drawings/figures.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"

namespace fettle::drawings {
namespace {

unit::Style with_gauge(unit::Style style, bool gauge) {
  style.gauge = style.gauge || gauge;
  return style;
}

}  // namespace

Shape circle(Point at, double diameter) { return {Shape::Form::circle, at, diameter, diameter, 0, 0, {}}; }
Shape box(Point at, double width, double height, double corner, double turn) {
  return {Shape::Form::box, at, width, height, corner, turn, {}};
}
Shape polygon(std::vector<Point> points) { return {Shape::Form::polygon, {}, 0, 0, 0, 0, std::move(points)}; }

std::string say(const Figure& figure, const unit::Style& style) {
  if (!figure.text.empty()) return figure.text;
  if (!std::isfinite(figure.si)) return "open";
  std::string said = unit::print(figure.si, figure.kind, with_gauge(style, figure.gauge));
  if (said.size() > 1 && said[0] == '-') said.replace(0, 1, "−");
  return said;
}

std::string say_size(double metres, const unit::Style& style) {
  std::string text = say({metres, unit::Kind::length}, style);
  const std::size_t point = text.find('.'), blank = text.find(' ');
  if (point == std::string::npos || (blank != std::string::npos && blank < point)) return text;
  std::size_t end = blank == std::string::npos ? text.size() : blank;
  std::size_t keep = end;
  while (keep > point + 1 && text[keep - 1] == '0') --keep;
  if (keep == point + 1) keep = point;
  return text.erase(keep, end - keep);
}

std::string say_limit(const finding::Limit& limit, unit::Kind kind, bool gauge, const unit::Style& style) {
  const auto print = [&](double x, unit::Kind k) {
    return std::isfinite(x) ? unit::print(x, k, with_gauge(style, gauge)) : std::string("open");
  };
  using Type = finding::Limit::Type;
  switch (limit.type) {
    case Type::none:
      return {};
    case Type::upper:
      return "≤ " + print(limit.high, kind);
    case Type::lower:
      return "≥ " + print(limit.low, kind);
    case Type::between:
      return print(limit.low, kind) + " to " + print(limit.high, kind);
    case Type::share:
      return "≤ " + print(limit.high, unit::Kind::fraction);
  }
  return {};
}

std::string say_margin(double margin) {
  if (!std::isfinite(margin)) return "—";
  const double shown = std::clamp(margin, -99.99, 99.99);
  const std::string digits = base::fixed(std::fabs(shown), 2);
  const std::string beyond = shown != margin ? ">" : "";
  // A margin that is below zero must not round to a good one.
  if (margin < 0) return beyond + "−" + (digits == "0.00" ? "0.01" : digits);
  return beyond + (digits == "0.00" ? "" : "+") + digits;
}

FindingRow row_of(const finding::Finding& f, const unit::Style& style) {
  FindingRow row;
  row.id = f.id;
  row.operation = f.operation;
  row.title = f.title;
  row.sentence = f.sentence;
  row.value = {f.state == State::open ? std::nan("") : f.value, f.kind, f.gauge,
               f.state == State::open ? std::string() : f.text};
  row.limit = say_limit(f.limit, f.kind, f.gauge, style);
  row.state = f.state;
  row.margin = f.state == State::open ? std::nan("") : f.margin;
  for (const finding::Assumption& a : f.assumptions)
    for (double m : {a.margin_at_low, a.margin_at_high})
      if (std::isfinite(m) && !(m >= row.margin_worst)) row.margin_worst = m;
  for (const finding::Lever& lever : f.levers) {
    row.lever = lever.text;
    if (row.lever.empty() && std::isfinite(lever.flip))
      row.lever = lever.name + " ▸ " + unit::print(lever.flip, lever.kind, style);
    if (!row.lever.empty()) break;
  }
  if (f.state == State::open && !f.missing.empty()) row.lever = "give: " + f.missing.front();
  if (f.state == State::beyond && row.lever.empty()) row.lever = f.range;
  row.worst = f.worst;
  row.confidence = f.confidence;
  if (f.low && f.high && std::isfinite(*f.low) && std::isfinite(*f.high))
    row.confidence = unit::print(*f.low, f.kind, with_gauge(style, f.gauge)) + " to " +
                     unit::print(*f.high, f.kind, with_gauge(style, f.gauge)) +
                     (f.confidence.empty() ? "" : " (" + f.confidence + ")");
  row.formula = f.formula;
  row.source = f.source;
  row.missing = f.missing;
  return row;
}

void count_findings(RouteStep& step, const std::vector<FindingRow>& rows, const unit::Style& style) {
  step.inside = step.tight = step.outside = step.open = step.beyond = 0;
  step.worst.clear();
  step.worst_state = State::inside;
  const FindingRow* worst = nullptr;
  for (const FindingRow& row : rows) {
    if (base::lower(row.operation) != base::lower(step.id)) continue;
    switch (row.state) {
      case State::inside:
        ++step.inside;
        break;
      case State::tight:
        ++step.tight;
        break;
      case State::outside:
        ++step.outside;
        break;
      case State::open:
        ++step.open;
        break;
      case State::beyond:
        ++step.beyond;
        break;
    }
    if (!worst || row.state < worst->state) worst = &row;
  }
  if (!worst) return;
  step.worst_state = worst->state;
  step.worst = worst->title + ": " + say(worst->value, style);
  if (!worst->limit.empty()) step.worst += ", asked " + worst->limit;
  if (worst->state != State::inside && !worst->lever.empty()) step.worst += "; " + worst->lever;
}

namespace {

struct TitleIn {
  std::string title, operation;
};
/// Each title once; one that stands in several operations names them.
std::vector<std::string> once_each(const std::vector<TitleIn>& all) {
  std::vector<std::string> titles;
  std::map<std::string, std::vector<std::string>> operations;
  for (const TitleIn& t : all) {
    const auto [place, fresh] = operations.try_emplace(t.title);
    if (fresh) titles.push_back(t.title);
    auto& in = place->second;
    if (!t.operation.empty() && std::find(in.begin(), in.end(), t.operation) == in.end()) in.push_back(t.operation);
  }
  for (std::string& t : titles)
    if (const auto& in = operations[t]; in.size() > 1) t += " (" + base::join(in, ", ") + ")";
  return titles;
}

}  // namespace

std::vector<AssumptionRow> assumptions_by_effect(const std::vector<finding::Finding>& findings,
                                                 const unit::Style& style) {
  std::vector<AssumptionRow> rows;
  std::map<std::string, std::size_t> known;
  std::map<std::size_t, std::vector<TitleIn>> flipped;
  for (const finding::Finding& f : findings)
    for (const finding::Assumption& a : f.assumptions) {
      const auto [place, fresh] = known.try_emplace(a.key.empty() ? a.name : a.key, rows.size());
      if (fresh) {
        AssumptionRow row;
        row.name = a.name;
        row.key = a.key;
        unit::Style own = style;
        own.gauge = f.gauge;
        row.value = std::isfinite(a.value) ? unit::print(a.value, a.kind, own) : "open";
        if (std::isfinite(a.low) && std::isfinite(a.high))
          row.band = unit::print(a.low, a.kind, own) + " to " + unit::print(a.high, a.kind, own);
        row.source = a.source;
        row.replaced_by = a.replaced_by;
        row.effect = -1;
        rows.push_back(row);
      }
      AssumptionRow& row = rows[place->second];
      double effect = std::fabs(a.margin_at_high - a.margin_at_low);
      if (std::isfinite(f.margin))
        effect = std::max({effect, std::fabs(a.margin_at_high - f.margin), std::fabs(a.margin_at_low - f.margin)});
      if (std::isfinite(effect) && effect > row.effect) {
        row.effect = effect;
        row.on = f.title;
      }
      if (a.flips) flipped[place->second].push_back({f.title, f.operation});
    }
  for (const auto& [row, findings_of] : flipped) rows[row].flips = once_each(findings_of);
  std::stable_sort(rows.begin(), rows.end(), [](const AssumptionRow& a, const AssumptionRow& b) {
    if (a.flips.empty() != b.flips.empty()) return b.flips.empty();
    if (a.effect != b.effect) return a.effect > b.effect;
    return a.name < b.name;
  });
  for (AssumptionRow& row : rows) row.effect = std::max(row.effect, 0.0);
  return rows;
}

}  // namespace fettle::drawings
