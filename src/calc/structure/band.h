#pragma once
// A symmetric positive matrix with a profile, factored in panels of 16 rows, and solved for many right sides at once.
// Every sum runs in one fixed order.
#include <cstddef>
#include <vector>

namespace fettle::structure {

class Band {
 public:
  static constexpr int wide = 16;  ///< rows of a panel

  Band() = default;
  /// `first[i]`: the first column of row i that may hold something, not above i.
  explicit Band(const std::vector<int>& first);
  /// Adds to the entry (i, j), j <= i and inside the profile.
  void add(int i, int j, double value);
  /// L L^T = A. False when A is not positive definite, or so nearly that rounding decides (then it is spoilt).
  bool factor();

  int size() const { return n_; }
  /// Rows that a block of right sides must have (the last panel is filled up).
  int padded() const { return wide * static_cast<int>(panels_.size()); }
  /// x := L^-1 x for `count` right sides (a multiple of 4), x row by row, padded() rows; rows before `from` are zero.
  void forward(double* x, int count, int from = 0) const;
  /// x := L^-T x.
  void backward(double* x, int count) const;
  /// x := A^-1 x.
  void solve(double* x, int count) const {
    forward(x, count);
    backward(x, count);
  }

 private:
  struct Panel {
    int first = 0;           ///< first column, a multiple of `wide`
    std::size_t offset = 0;  ///< of its first column in `value_`; each column is `wide` numbers
  };
  double* column(const Panel& p, int j) {
    return value_.data() + p.offset + static_cast<std::size_t>((j - p.first) * wide);
  }
  const double* column(const Panel& p, int j) const {
    return value_.data() + p.offset + static_cast<std::size_t>((j - p.first) * wide);
  }
  int n_ = 0;
  std::vector<Panel> panels_;
  std::vector<double> value_;
  std::vector<double> inverse_;  ///< of the diagonal blocks of L, column by column
};

}  // namespace fettle::structure
