#pragma once
// The numbers a program keeps: #1 to #5399, #<names>, and the values that a called subprogram is given.
#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

namespace fettle::program {

class Parameters {
 public:
  static constexpr int last = 5399;
  static constexpr int own = 30;  // of a called O subprogram: #1 to #30
  static bool there_is(long index) { return index >= 1 && index <= last; }

  bool was_set(int index) const { return local(index) || set_[static_cast<std::size_t>(index)] != 0; }
  double get(int index) const {
    return local(index) ? frames_.back().numbers[static_cast<std::size_t>(index)]
                        : plain_[static_cast<std::size_t>(index)];
  }
  void put(int index, double value) {
    if (local(index)) {
      frames_.back().numbers[static_cast<std::size_t>(index)] = value;
      return;
    }
    plain_[static_cast<std::size_t>(index)] = value;
    set_[static_cast<std::size_t>(index)] = 1;
  }
  /// Names that begin with _ hold everywhere, others within their subprogram.
  std::optional<double> named(int name, bool everywhere) const {
    const auto& m = everywhere || frames_.empty() ? names_ : frames_.back().names;
    const auto it = m.find(name);
    return it == m.end() ? std::nullopt : std::optional<double>(it->second);
  }
  void put_named(int name, bool everywhere, double value) {
    (everywhere || frames_.empty() ? names_ : frames_.back().names)[name] = value;
  }
  void enter(const std::vector<double>& given) {
    frames_.emplace_back();
    for (std::size_t i = 0; i < given.size() && i < own; ++i) frames_.back().numbers[i + 1] = given[i];
  }
  void leave() { frames_.pop_back(); }
  /// All that were set and belong to no subprogram.
  std::map<int, double> all() const {
    std::map<int, double> m;
    for (int i = 1; i <= last; ++i)
      if (set_[static_cast<std::size_t>(i)] != 0) m[i] = plain_[static_cast<std::size_t>(i)];
    return m;
  }

 private:
  struct Frame {
    std::array<double, own + 1> numbers{};
    std::map<int, double> names;
  };
  bool local(int index) const { return index <= own && !frames_.empty(); }
  std::vector<double> plain_ = std::vector<double>(static_cast<std::size_t>(last) + 1, 0.0);
  std::vector<std::uint8_t> set_ = std::vector<std::uint8_t>(static_cast<std::size_t>(last) + 1, 0);
  std::map<int, double> names_;
  std::vector<Frame> frames_;
};

}  // namespace fettle::program
