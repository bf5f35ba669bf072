#pragma once
// The study as a graph of pure calls, each kept by the bytes of its inputs: a changed number recomputes only what
// depends on it.
#include <condition_variable>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <typeinfo>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "base/bytes.h"
#include "base/text.h"

namespace fettle::study {

/// Keeps results of pure functions. Safe from several threads: who asks for what another thread is computing waits for
/// it. A result is never changed once kept.
class Memo {
 public:
  /// f(inputs), or the kept result of the same function name with the same input bytes. f asks for nothing that asks
  /// for this.
  template <class F, class In>
  auto call(std::string_view name, const F& f, const In& inputs) -> std::shared_ptr<const decltype(f(inputs))> {
    using R = decltype(f(inputs));
    const std::string key = key_of(name, typeid(R).name(), inputs);
    if (auto kept = take(name, key)) return std::static_pointer_cast<const R>(std::move(kept));
    const Working mine(*this, key);
    auto result = std::make_shared<const R>(f(inputs));
    keep(name, key, result);
    return result;
  }
  /// How often a named call was computed anew, and answered from what is kept.
  int computed(const std::string& name) const { return count(computed_, name); }
  int hits(const std::string& name) const { return count(hits_, name); }
  /// All calls computed so far, by name.
  std::map<std::string, int> computed() const {
    const std::lock_guard<std::mutex> hold(lock_);
    return {computed_.begin(), computed_.end()};
  }

 private:
  using Counts = std::map<std::string, int, std::less<>>;
  template <class In>
  static std::string key_of(std::string_view name, const char* type, const In& inputs) {
    static thread_local std::string bytes;
    bytes.assign(name);
    bytes += '\0';
    bytes += type;
    bytes += '\0';
    base::append_bytes(bytes, inputs);
    return std::string(name) + " " + base::hash_hex(bytes);
  }
  /// What is kept under the key; else nothing, and the key is this thread's to compute.
  std::shared_ptr<const void> take(std::string_view name, const std::string& key) {
    std::unique_lock<std::mutex> hold(lock_);
    done_.wait(hold, [&] { return working_.count(key) == 0; });
    if (const auto it = kept_.find(key); it != kept_.end()) {
      ++of(hits_, name);
      return it->second;
    }
    working_.insert(key);
    return nullptr;
  }
  void keep(std::string_view name, const std::string& key, std::shared_ptr<const void> result) {
    const std::lock_guard<std::mutex> hold(lock_);
    ++of(computed_, name);
    if (kept_.size() >= limit_) kept_.clear();
    kept_.emplace(key, std::move(result));
  }
  /// A key that one thread computes; when it ends, by a result or by an exception, the others look again.
  class Working {
   public:
    Working(Memo& memo, const std::string& key) : memo_(memo), key_(key) {}
    Working(const Working&) = delete;
    Working& operator=(const Working&) = delete;
    ~Working() {
      {
        const std::lock_guard<std::mutex> hold(memo_.lock_);
        memo_.working_.erase(key_);
      }
      memo_.done_.notify_all();
    }

   private:
    Memo& memo_;
    const std::string& key_;
  };
  static int& of(Counts& m, std::string_view name) {
    const auto it = m.find(name);
    return it == m.end() ? m.emplace(name, 0).first->second : it->second;
  }
  int count(const Counts& m, const std::string& name) const {
    const std::lock_guard<std::mutex> hold(lock_);
    const auto it = m.find(name);
    return it == m.end() ? 0 : it->second;
  }
  mutable std::mutex lock_;
  std::condition_variable done_;
  std::unordered_map<std::string, std::shared_ptr<const void>> kept_;
  std::unordered_set<std::string> working_;
  Counts computed_, hits_;
  std::size_t limit_ = 200000;
};

}  // namespace fettle::study
