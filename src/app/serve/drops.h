#pragma once
// Parts that somebody dropped: what was read of them, until a plan is taken.
#include <deque>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "app/serve/jobs.h"
#include "begin/begin.h"
#include "begin/propose/propose.h"
#include "solid/solid.h"

namespace fettle::serve {

/// One dropped part. What stands above `lock` is not changed after it was read.
struct Dropped {
  std::string id, folder;  ///< folder: within the served one; plans are written there
  begin::Begun begun;
  solid::Model part;  ///< in the plan's frame
  std::optional<solid::Model> cast;
  begin::Scene scene;  ///< without answers
  std::vector<begin::Question> questions;
  study::Data data;
  std::mutex lock;
  int runs = 0;
  std::shared_ptr<Job> run;
  std::shared_ptr<const begin::Proposals> found;
};

/// The last eight.
class Drops {
 public:
  void add(const std::shared_ptr<Dropped>& d);
  /// By its id or by that of its run; null when it is not known any more.
  std::shared_ptr<Dropped> find(const std::string& id) const;

 private:
  mutable std::mutex lock_;
  std::deque<std::shared_ptr<Dropped>> all_;
};

}  // namespace fettle::serve
