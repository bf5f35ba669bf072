#pragma once
// Inside the ledger: a block of parts held against one requirement's limits.
#include <limits>

#include "calc/tolerance/draw.h"

namespace fettle::tolerance::inner {

/// A requirement ready for blocks: its rows (scalar, then pairs, then bonus, then the datums' bonus) and its limits.
struct RequirementPlan {
  std::vector<RowPlan> rows;
  std::size_t scalars = 0, pairs = 0, bonuses = 0, datums = 0;  ///< pairs counts two rows as one
  std::vector<std::size_t> bonus_of;                            ///< of each scalar or pair: which bonus row
  double low = -std::numeric_limits<double>::infinity(), high = std::numeric_limits<double>::infinity();
  bool has_reading = false;
  RowPlan reading;
  struct Spot {  ///< where a pair is judged, in the plane across the datums: for the datums' shift
    double x = 0, y = 0;
  };
  std::vector<Spot> spot;
  /// What a datum still holds when the frame shifts: nothing in this plane; the place, up to its bonus; the turn alone
  /// (a second axis without bonus); everything (a plane that stands across).
  struct Hold {
    enum class What { nothing, place, turn, all } what = What::nothing;
    Spot spot;
    double line_x = 0, line_y = 0;  ///< turn: direction held
  };
  std::vector<Hold> hold;
  std::size_t bonus_row(std::size_t i) const { return scalars + 2 * pairs + i; }
  std::size_t datum_row(std::size_t i) const { return scalars + 2 * pairs + bonuses + i; }
};
RequirementPlan requirement_plan(const Ledger& ledger, std::size_t requirement);

struct Verdicts {
  std::array<std::uint8_t, lanes> outside, below, above;
  Lanes value;
};
/// Judges the rows y (one pointer per row of the plan). Of several elements the value is the one farthest from the
/// middle of the limits, or nearest the only limit.
void judge(const RequirementPlan& plan, const std::vector<const Lanes*>& y, Verdicts& out);
/// What lane l may reach with its bonus (the widest of its elements' for which it is judged worst).
double limit_with_bonus(const RequirementPlan& plan, const std::vector<const Lanes*>& y, int lane);

/// Is there a small shift and turn q of a plane figure that keeps every condition: |q(place) - d| <= radius, or only
/// its part along a direction? Deep cuts of the ellipsoid of what is still possible (Bland, Goldfarb & Todd 1981).
/// Radii below a nanometre count as one; when the region left is smaller than a thousandth of that the answer is no.
struct ShiftQuestion {
  struct Condition {
    double x = 0, y = 0;            ///< place
    double dx = 0, dy = 0;          ///< where the movement there should be
    double radius = 0;              ///< and how far it may be from that
    double line_x = 0, line_y = 0;  ///< only this part of it; both 0: all
  };
  std::vector<Condition> conditions;
};
bool shift_exists(const ShiftQuestion& question);

}  // namespace fettle::tolerance::inner
