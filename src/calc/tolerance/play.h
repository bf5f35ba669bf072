#pragma once
// Inside the ledger: the seats of one pair of pins as theory needs them.
#include "calc/tolerance/rows.h"
#include "maths/polygon.h"

namespace fettle::tolerance::inner {

/// A sum a x + b y + c turn over the seat.
struct SeatSum {
  double x = 0, y = 0, turn = 0;
};

/// Anywhere, at mean sizes: for each place x of the round hole its own height y is even within its room, the relieved
/// hole's height within another, both independent; turn = (height - y) / span. The part's own sizes widen or
/// narrow the rooms: both places of the round hole by one normal factor about 1, the relieved hole's room by another.
/// Pushed: one seat, which moves with the sizes.
struct Play {
  bool there = false, pushed = false;
  double span = 1;
  struct Node {
    double x = 0, round = 0, relieved = 0, middle = 0, weight = 0, below = 0;  ///< half rooms; weight up to here
  };
  std::vector<Node> nodes;
  double round_s = 0, relieved_s = 0;              ///< standard deviations of the two factors
  maths::Seat seat;                                ///< pushed
  std::array<std::array<double, 4>, 3> by_size{};  ///< pushed: change of x, y, turn per size (order of PinSizes)
};
std::vector<Play> plays(const Ledger& ledger);
/// ... with `who` in place of the ledger's contributors.
std::vector<Play> plays(const Ledger& ledger, const std::vector<Contributor>& who);

/// Mean and covariance of two sums over the seat.
struct SeatMoments {
  double mean_a = 0, mean_b = 0, aa = 0, ab = 0, bb = 0;
};
SeatMoments moments(const Play& play, const SeatSum& a, const SeatSum& b);

/// A row with what pushed seats do folded into its contributors.
struct Flat {
  double constant = 0;
  std::vector<double> c;      ///< per contributor
  std::vector<SeatSum> seat;  ///< per operation, seats anywhere only
};
Flat flat(const Ledger& ledger, const std::vector<Contributor>& who, const std::vector<Play>& plays, const Row& row);

/// Extremes over every seat at the loosest sizes (each size at its worst, spans anywhere within theirs); pushed: over
/// the corners of the sizes.
struct WorstSeats {
  bool there = false;
  std::vector<SeatSum> seats;  ///< vertices
};
std::vector<WorstSeats> worst_seats(const Ledger& ledger);

/// Fills worst_low and worst_high.
void worst_case(const Ledger& ledger, const std::vector<WorstSeats>& seats, int requirement, Linear& out);

/// Shapes that differ, with how many nests have each.
struct NestGroup {
  const Shape* shape = nullptr;
  double weight = 0;
};
std::vector<NestGroup> nest_groups(const Ledger& ledger, int requirement);

}  // namespace fettle::tolerance::inner
