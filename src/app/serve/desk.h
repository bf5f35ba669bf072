#pragma once
// The plans that people have open: text, what was accepted, what can be undone, studies kept.
#include <chrono>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "app/serve/drops.h"
#include "app/serve/folder.h"
#include "app/serve/jobs.h"
#include "plan/edit.h"
#include "study/study.h"

namespace fettle::serve {

/// A text that could be read as a plan, with its study.
struct Studied {
  std::string hash;
  std::string stamp;  ///< of the other files that went into it
  plan::Plan plan;
  study::Data data;
  study::Study study;
};

/// One plan and everything about it that changes. Its members are used under `lock`.
struct Open {
  std::mutex lock;
  std::string path, full;  ///< within the folder; of the machine
  std::string text, hash;  ///< as last seen on disk
  std::string by = "disk";
  std::vector<std::string> undo, redo;       ///< whole texts, the nearest last
  std::map<std::string, std::string> texts;  ///< by hash: what people may have in front of them
  std::vector<std::string> seen;             ///< hashes, oldest first
  std::mutex study_lock;                     ///< one quick study at a time
  std::shared_ptr<study::Memo> memo = std::make_shared<study::Memo>();
  std::map<std::string, std::shared_ptr<const Studied>> studied;  ///< by hash, a few; without virtual castings
  std::shared_ptr<const Studied> whole_of, whole;  ///< the last studied with virtual castings, and that study
  std::string data_key;
  std::shared_ptr<const study::Data> data;
  std::mutex scene_lock;  ///< one scene at a time
  std::map<std::string, std::shared_ptr<const solid::Model>> models;
  std::map<std::string, std::string> scenes;    ///< by plan, operation and files
  std::map<std::string, std::string> flats;     ///< by plan, direction and files
  std::mutex program_lock;                      ///< one program at a time
  std::map<std::string, std::string> programs;  ///< by plan, operation, units and files
};

/// Changes whenever one of the other files that a plan is read from is another one, or another version of it.
std::string stamp_of(const plan::Plan& p);
/// Changes whenever a data file that the plan names is another one, or another version of it.
std::string key_of_data(const plan::Plan& p, const std::string& full);

class Desk {
 public:
  Desk(const std::string& root, int threads);
  const Folder& folder() const { return folder_; }
  Jobs& jobs() { return jobs_; }
  Drops& drops() { return drops_; }
  int threads() const { return threads_; }

  /// The plan of that name, its text as it is on disk now.
  Outcome<std::shared_ptr<Open>> open(const std::string& path);
  /// Its text and hash, together.
  static std::pair<std::string, std::string> now(Open& open);
  /// A text that a person may have in front of them; none when it is not known any more.
  static std::string text_of(Open& open, const std::string& hash);
  /// The study of a text without virtual castings, kept. Jobs give way to it: none of them may ask for it.
  Outcome<std::shared_ptr<const Studied>> quick(Open& open, const std::string& text);
  /// Writes a text that somebody accepted; the one before can be had back. `expected`: hash that must be on disk.
  Outcome<bool> write(Open& open, const std::string& text, const std::string& expected, const std::string& who);
  /// One step back or forth. False: there is none, or the file is another by now.
  Outcome<bool> step(Open& open, bool back, const std::string& expected, const std::string& who);

 private:
  static void look_at_disk(Open& open);
  static void remember(Open& open);
  Folder folder_;
  int threads_;
  std::mutex lock_;
  std::map<std::string, std::shared_ptr<Open>> open_;
  Drops drops_;
  Jobs jobs_;
};

/// Which keys differ between two texts of a plan; empty with `readable` false when one cannot be read.
std::vector<std::string> keys_between(const Folder& folder, const std::string& full, const std::string& a,
                                      const std::string& b, bool& readable);

}  // namespace fettle::serve
