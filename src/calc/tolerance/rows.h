#pragma once
// Inside the ledger: the state of every surface as rows over the columns (contributors, then the play of each operation
// with pins), and what a requirement asks as a sum over those states.
#include <array>
#include <vector>

#include "calc/tolerance/ledger.h"

namespace fettle::tolerance::inner {

/// One coefficient per column.
using Dense = std::vector<double>;
void add(Dense& to, double factor, const Dense& what);

/// A surface: shift 0..2 and turn 3..5 about its own point, size 6, form 7.
constexpr std::size_t size_at = 6, form_at = 7, state_size = 8;
using State = std::array<Dense, state_size>;
/// The part in its fixture: shift of the point `about`, and turn.
struct Pose {
  Vec3 about;
  std::array<Dense, 6> of;
};
/// What decides the play of one pair of pins: clearance of the round pin, relieved hole, land, spans' difference.
using PinSizes = std::array<Dense, 4>;

/// Axes of a pair of pins in the part's frame, and the distance of the holes.
struct PairFrame {
  Vec3 x, y, z;
  double span = 0;
};
PairFrame pair_frame(const Element& round_hole, const Element& relieved_hole);

/// How an operation turns deviations of its contacts into a pose; rows in the order: contacts, round pin x, y, relieved
/// pin y.
struct Fixture {
  Vec3 about;
  std::vector<double> pose_of;  ///< 6 x rows
  std::size_t rows = 0;
  PairFrame pair;
};
/// Problems: a freedom that nothing holds.
Outcome<Fixture> fixture(const Route& route, const Operation& operation);

/// Every column there is.
int count_columns(const Route& route);
std::vector<int> play_columns(const Route& route);

/// The whole route once, for one nest.
struct March {
  std::vector<State> surfaces;
  std::vector<Pose> poses;
  std::vector<PinSizes> pins;  ///< per operation, empty rows without pins; changes only
};
March march(const Route& route, const std::vector<Fixture>& fixtures, int nest);

/// What contributor `c` is on average, and its standard deviation.
double mean_of(const Contributor& c);
double s_of(const Contributor& c);
/// How far it may go in the worst case.
struct Range {
  double low = 0, high = 0;
};
Range worst_of(const Contributor& c);

/// constant + sum of coefficient x state.
struct Asked {
  double constant = 0;
  struct Term {
    int element = 0;
    std::array<double, state_size> c{};
  };
  std::vector<Term> terms;
  void add(int element, std::size_t which, double factor);
  void add(double factor, const Asked& other);
};
struct AskedShape {
  std::vector<Asked> scalar, pair, bonus, datum_bonus;
  std::vector<int> element_of;
};
/// Problems: surfaces of the wrong kind.
Outcome<AskedShape> asked(const Route& route, const Requirement& requirement);
Row row_of(const Asked& asked, const std::vector<State>& surfaces, int columns);
Row sparse(const Dense& dense, double constant);

/// Everything wrong with the texts and numbers of a route.
Problems refusals(const Route& route);

/// Two directions square to `axis` and to each other.
struct Across {
  Vec3 a, b;
};
Across across(Vec3 axis);

/// Where a round feature is judged: both ends of its axis, its middle when it has no length.
std::vector<Vec3> ends(const Element& axis);

}  // namespace fettle::tolerance::inner
