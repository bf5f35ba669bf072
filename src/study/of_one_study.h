#pragma once
// What several sciences ask of the same plan, worked out once per study.
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "base/text.h"
#include "calc/structure/factored.h"
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
  /// A plate, factored: too large to be kept for longer than this study.
  std::shared_ptr<const structure::Factored> plate(structure::Inputs in) {
    in.points.clear();
    in.damping = 0, in.modes = 0;
    const std::string key = base::hash_hex(base::bytes_of(in));
    std::shared_ptr<Plate> mine;
    {
      const std::lock_guard<std::mutex> hold(plates_lock_);
      auto& kept = plates_[key];
      if (kept == nullptr) kept = std::make_shared<Plate>();
      mine = kept;
    }
    std::call_once(mine->once, [&] { mine->factored = std::make_shared<const structure::Factored>(in); });
    return mine->factored;
  }

 private:
  struct Plate {
    std::once_flag once;
    std::shared_ptr<const structure::Factored> factored;
  };
  Context& whole_;
  std::once_flag cuts_once_;
  std::vector<CutModel> cuts_;
  std::mutex push_lock_;
  PushOf push_;
  std::mutex plates_lock_;
  std::map<std::string, std::shared_ptr<Plate>> plates_;
};

/// The same where nothing is kept for the study.
inline std::shared_ptr<const structure::Factored> factored(const Context& c, const structure::Inputs& in) {
  return c.of_one_study != nullptr ? c.of_one_study->plate(in) : std::make_shared<const structure::Factored>(in);
}

}  // namespace fettle::study
