#pragma once
// Long work asks between its blocks whether anybody still wants it.
#include <atomic>
#include <functional>
#include <utility>

namespace fettle::base {

/// Safe from several threads. Once it was asked to stop it stays so: what was begun is no result then.
class Halt {
 public:
  /// `stop`: true ends the work; may be asked from any thread, may be empty.
  explicit Halt(std::function<bool()> stop) : stop_(std::move(stop)) {}
  Halt(const Halt&) = delete;
  Halt& operator=(const Halt&) = delete;
  /// Asks.
  bool asked() {
    if (stop_ && !over_ && stop_()) over_ = true;
    return over_;
  }
  /// Whether it was asked to, without asking again.
  bool over() const { return over_; }

 private:
  std::function<bool()> stop_;
  std::atomic<bool> over_{false};
};
/// The same where there may be none.
inline bool asked(Halt* halt) { return halt != nullptr && halt->asked(); }

}  // namespace fettle::base
