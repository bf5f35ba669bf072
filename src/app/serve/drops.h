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
#include "app/serve/reply.h"
#include "begin/begin.h"
#include "begin/propose/propose.h"
#include "solid/solid.h"

namespace fettle::serve {

/// One dropped file, as bytes and as the name under which it is kept.
struct DroppedFile {
  std::string name, bytes;
};
/// Everything that was dropped together. Name and bytes are empty where nothing was.
struct DroppedFiles {
  std::string stem;  ///< of the part's model: the plan's name
  DroppedFile part, cast, table, tools, holders, times;
  DroppedFile shop;  ///< its name: as a plan in the new folder names it
};

/// What was read from them, and what is asked of the person.
struct ReadDrop {
  begin::Begun begun;
  solid::Model part;  ///< in the plan's frame
  std::optional<solid::Model> cast;
  begin::Scene scene;  ///< without answers, and without its models: whoever keeps them names them
  DroppedFile shop;    ///< as it was dropped, or filled from the lists
  study::Data data;
  std::vector<begin::Question> questions;
};
Outcome<ReadDrop> read_drop(const DroppedFiles& files);
/// {questions, features, requirements, views, units}: what is asked, and what can be pointed at to answer it.
nlohmann::json picks_json(const ReadDrop& d);
/// A file of a form under a name that does no harm; without bytes where none was dropped.
DroppedFile file_of(const Asked& asked, const std::string& field, const std::string& otherwise);

/// One dropped part. What stands above `lock` is not changed after it was read.
struct Dropped {
  std::string id, folder;  ///< folder: within the served one; plans are written there
  DroppedFiles files;
  begin::Begun begun;
  std::vector<begin::Question> questions;
  nlohmann::json picks;  ///< as picks_json
  std::mutex lock;
  int runs = 0;
  std::shared_ptr<Job> run;
  std::shared_ptr<const std::vector<std::string>> found;  ///< the proposed plans' texts, best first
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
