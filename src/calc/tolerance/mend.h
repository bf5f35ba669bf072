#pragma once
// Inside the ledger: the same parts again with one group of errors gone, and with it halved.
#include "calc/tolerance/intervals.h"
#include "calc/tolerance/judge.h"

namespace fettle::tolerance::inner {

/// Hits that are left; whole numbers, so that the order of summing does not matter.
struct MendTally {
  std::vector<long long> gone, halved;          ///< by group x requirement
  std::vector<long long> any_gone, any_halved;  ///< by group: parts with something outside
  void join(const MendTally& other);
};
/// Working room of one thread.
struct MendRoom {
  std::vector<std::array<std::uint8_t, lanes>> any, any_halved;  ///< by group
  std::vector<std::vector<Lanes>> play_gone, play_halved;        ///< by group: change of the play columns it redraws
  std::vector<Lanes> y, halved;
  std::vector<const Lanes*> at, at_halved;
  std::vector<Lanes> x;
  Verdicts verdicts;
};

class Mending {
 public:
  Mending() = default;
  Mending(const Ledger& ledger, const Drawing& drawing, const std::vector<RequirementPlan>& plans);
  bool on() const { return !groups_.empty(); }
  MendTally tally() const;
  MendRoom room() const;
  /// Redraws the play that depends on a group's sizes.
  void begin(const Drawing& drawing, const Block& block, MendRoom& room) const;
  void requirement(std::size_t r, const RequirementPlan& plan, const Block& block, const std::vector<Lanes>& y,
                   const Verdicts& as_is, MendRoom& room, MendTally& tally) const;
  void end(const Block& block, const MendRoom& room, MendTally& tally) const;
  std::vector<Mended> of(std::size_t r, const MendTally& tally, long long any_outside, const SampleInputs& in,
                         double effect) const;
  std::vector<Mended> over_all(const MendTally& tally, long long any_outside, const SampleInputs& in,
                               double effect) const;

 private:
  struct Place {  ///< one coefficient of one row that the group changes
    std::size_t row = 0, place = 0;
    int column = 0;
    int redrawn = -1;  ///< index among the group's redrawn play columns, -1: the column itself
  };
  struct Group {
    std::string name, key, operation;
    std::vector<int> columns;
    std::vector<std::size_t> redraws;      ///< operations whose play is drawn again
    std::vector<int> play_columns;         ///< their columns
    std::vector<std::vector<Place>> does;  ///< by requirement
  };
  std::vector<Group> groups_;
  std::vector<int> play_column_;  ///< of each operation
  std::size_t requirements_ = 0;
};

}  // namespace fettle::tolerance::inner
