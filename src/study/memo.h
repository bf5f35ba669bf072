#pragma once
// The study as a graph of pure calls, each kept by the bytes of its inputs: a changed number recomputes only what
// depends on it.
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <utility>

#include "base/bytes.h"
#include "base/text.h"

namespace fettle::study {

/// Keeps results of pure functions. Safe from several threads; a result is never changed once kept.
class Memo {
 public:
  /// f(inputs), or the kept result of the same function name with the same input bytes.
  template <class F, class In>
  auto call(std::string_view name, const F& f, const In& inputs) -> std::shared_ptr<const decltype(f(inputs))> {
    using R = decltype(f(inputs));
    std::string key(name);
    key += '\0';
    base::append_bytes(key, inputs);
    key = std::string(name) + " " + base::hash_hex(key);
    {
      const std::lock_guard<std::mutex> hold(lock_);
      if (const auto it = kept_.find(key); it != kept_.end()) {
        ++hits_[std::string(name)];
        return std::static_pointer_cast<const R>(it->second);
      }
    }
    auto result = std::make_shared<const R>(f(inputs));
    const std::lock_guard<std::mutex> hold(lock_);
    ++computed_[std::string(name)];
    if (kept_.size() >= limit_) kept_.clear();
    kept_.emplace(key, result);
    return result;
  }
  /// How often a named call was computed anew, and answered from what is kept.
  int computed(const std::string& name) const { return count(computed_, name); }
  int hits(const std::string& name) const { return count(hits_, name); }
  /// All calls computed so far, by name.
  std::map<std::string, int> computed() const {
    const std::lock_guard<std::mutex> hold(lock_);
    return computed_;
  }

 private:
  int count(const std::map<std::string, int>& m, const std::string& name) const {
    const std::lock_guard<std::mutex> hold(lock_);
    const auto it = m.find(name);
    return it == m.end() ? 0 : it->second;
  }
  mutable std::mutex lock_;
  std::map<std::string, std::shared_ptr<const void>> kept_;
  std::map<std::string, int> computed_, hits_;
  std::size_t limit_ = 200000;
};

}  // namespace fettle::study
