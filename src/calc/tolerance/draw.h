#pragma once
// Inside the ledger: the errors of a block of parts, drawn. A number depends on the seed, on the contributor's name and
// on which part (nest, pallet, set-up) it belongs to, and on nothing else.
#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "calc/tolerance/rows.h"

namespace fettle::tolerance::inner {

/// Parts that are worked through together. A block holds whole rounds of the nests, so that lane i is always the same
/// nest.
constexpr int lanes = 256;
struct alignas(16) Lanes {
  double v[lanes];
};

/// A row for every nest, ready for blocks.
struct RowPlan {
  double constant = 0;
  std::vector<int> column;
  std::vector<double> coefficient;
  std::vector<int> nest_column;  ///< columns whose coefficient differs by nest
  std::vector<Lanes> nest_coefficient;
};
/// `rows` holds the row of each nest.
RowPlan row_plan(const std::vector<const Row*>& rows);
/// y = constant + sum over the columns.
void evaluate(const RowPlan& row, const std::vector<Lanes>& x, Lanes& y);
/// y += factor x coefficient x what, for one place in the row (nest_column after column).
void accumulate(const RowPlan& row, std::size_t place, double factor, const Lanes& what, Lanes& y);
inline int column_at(const RowPlan& row, std::size_t place) {
  return place < row.column.size() ? row.column[place] : row.nest_column[place - row.column.size()];
}
inline std::size_t places(const RowPlan& row) { return row.column.size() + row.nest_column.size(); }

struct Block {
  int first = 0, count = 0;  ///< parts
  std::vector<Lanes> x;      ///< by column
  std::array<int, lanes> build{};
  std::array<std::uint8_t, lanes> not_on{};  ///< pairs of pins this part does not go on
};

class Drawing {
 public:
  /// `wanted`: columns that are needed; those that decide the play of pins follow by themselves.
  Drawing(const Ledger& ledger, const SampleInputs& in, const std::vector<char>& wanted);
  int parts_per_block() const { return per_block_; }
  int blocks() const { return (in_.parts + per_block_ - 1) / per_block_; }
  Block room() const;
  void draw(int block, Block& out) const;
  /// The play of operation `op` again, same random numbers, from the columns x.
  void draw_play(std::size_t op, const std::vector<Lanes>& x, const Block& block, Lanes* play,
                 std::uint8_t* not_on) const;
  bool draws_play(std::size_t op) const { return plays_[op].wanted; }
  /// Rows that decide the play: clearance, relieved hole, land, spans' difference.
  const std::array<RowPlan, 4>& sizes(std::size_t op) const { return plays_[op].sizes; }
  int nest_of(int part) const { return part % nests_; }
  int pallet_of(int part) const;
  int build_of(int part) const { return part / in_.parts_per_build; }

 private:
  struct Play {
    bool wanted = false;
    std::array<RowPlan, 4> sizes;
    maths::Point2 push_at, push_along;
    std::uint64_t stream = 0;
  };
  void draw_contributor(std::size_t c, const Block& block, Lanes& out) const;
  long long item(std::size_t c, int part) const;

  const Ledger& ledger_;
  SampleInputs in_;
  int nests_ = 1, pallets_ = 1, per_block_ = lanes;
  std::vector<std::uint64_t> stream_;
  std::vector<char> wanted_;
  std::vector<Play> plays_;
};

}  // namespace fettle::tolerance::inner
