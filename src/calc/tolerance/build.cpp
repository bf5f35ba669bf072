#include <algorithm>

#include "calc/tolerance/rows.h"

namespace fettle::tolerance {

using namespace inner;

namespace {

/// True when some effect differs by nest; else one march serves all.
bool differs_by_nest(const Route& route) {
  for (const Contributor& c : route.contributors)
    for (const Effect& e : c.effects)
      if (!e.by_nest.empty()) return true;
  return false;
}

Shape shape_of(const AskedShape& asked, const std::vector<State>& surfaces, int columns) {
  Shape s;
  const auto rows = [&](const std::vector<Asked>& from, std::vector<Row>& to) {
    for (const Asked& a : from) to.push_back(row_of(a, surfaces, columns));
  };
  rows(asked.scalar, s.scalar);
  rows(asked.pair, s.pair);
  rows(asked.bonus, s.bonus);
  rows(asked.datum_bonus, s.datum_bonus);
  s.element_of = asked.element_of;
  return s;
}

Row reading_of(const Route& route, std::size_t requirement) {
  Row row;
  for (std::size_t c = 0; c < route.contributors.size(); ++c) {
    double sum = 0;
    for (const Effect& e : route.contributors[c].effects)
      if (e.on == Effect::On::measured && e.index == static_cast<int>(requirement)) sum += e.factor;
    if (sum == 0) continue;
    row.column.push_back(static_cast<int>(c));
    row.coefficient.push_back(sum);
  }
  return row;
}

/// A size of the pins as a row that is `at_means` when every contributor is at its mean.
Row centred(const Route& route, const Dense& dense, double at_means) {
  double shift = 0;
  for (std::size_t c = 0; c < route.contributors.size(); ++c) shift += dense[c] * mean_of(route.contributors[c]);
  return sparse(dense, at_means - shift);
}

void pin_rows(Ledger& out, const March& m) {
  for (std::size_t k = 0; k < out.route.operations.size(); ++k) {
    const Pins& pins = out.route.operations[k].pins;
    const PinSizes& s = m.pins[k];
    const auto row = [&](std::size_t i, double at_means) {
      return pins.there ? centred(out.route, s[i], at_means) : Row{};
    };
    out.round_size.push_back(row(0, pins.pair.round_hole - pins.pair.round_pin));
    out.relieved_size.push_back(row(1, pins.pair.relieved_hole));
    out.land_size.push_back(row(2, pins.pair.land));
    out.span.push_back(row(3, pins.pair.part_span - pins.pair.pallet_span));
  }
}

}  // namespace

Outcome<Ledger> build(const Route& route) {
  Problems problems = refusals(route);
  if (!problems.empty()) return problems;
  std::vector<Fixture> fixtures;
  for (const Operation& op : route.operations) {
    Outcome<Fixture> f = fixture(route, op);
    if (f) fixtures.push_back(std::move(*f));
    else problems.insert(problems.end(), f.problems().begin(), f.problems().end());
  }
  std::vector<AskedShape> wanted;
  for (const Requirement& r : route.requirements) {
    Outcome<AskedShape> a = asked(route, r);
    if (a) wanted.push_back(std::move(*a));
    else problems.insert(problems.end(), a.problems().begin(), a.problems().end());
  }
  if (!problems.empty()) return problems;

  Ledger out;
  out.route = route;
  out.columns = count_columns(route);
  out.play_column = play_columns(route);
  const bool differs = differs_by_nest(route);
  for (int nest = 0; nest < route.nests; ++nest) {
    if (nest > 0 && !differs) {
      for (std::size_t r = 0; r < wanted.size(); ++r) out.shapes.push_back(out.shapes[r]);
      continue;
    }
    const March m = march(route, fixtures, nest);
    if (nest == 0) pin_rows(out, m);
    for (std::size_t r = 0; r < wanted.size(); ++r) {
      out.shapes.push_back(shape_of(wanted[r], m.surfaces, out.columns));
      out.shapes.back().reading = reading_of(route, r);
    }
  }
  return out;
}

}  // namespace fettle::tolerance
