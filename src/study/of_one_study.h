#pragma once
// What several sciences ask of the same plan, worked out once per study.
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "study/cut_model.h"
#include "study/internal.h"
#include "study/push_off.h"

namespace fettle::study {

/// Safe from several threads; who asks while another works it out waits.
class OfOneStudy {
 public:
  /// `whole`: of the study, outlives this.
  explicit OfOneStudy(Context& whole) : whole_(whole) {}
  /// All cuts of the plan, by `read`.
  template <class Read>
  const std::vector<CutModel>& cuts(const Read& read) {
    std::call_once(cuts_once_, [&] { cuts_ = read(whole_); });
    return cuts_;
  }
  /// Asked surface by surface, by what `make` gives.
  template <class Make>
  Push push(const Make& make, const plan::Operation& o, const std::string& surface) {
    const std::lock_guard<std::mutex> hold(push_lock_);
    if (!push_) push_ = make(whole_);
    return push_(o, surface);
  }

 private:
  Context& whole_;
  std::once_flag cuts_once_;
  std::vector<CutModel> cuts_;
  std::mutex push_lock_;
  PushOf push_;
};

}  // namespace fettle::study
