#pragma once
// The served folder: nothing outside it is read or written, not by "..", not through a link.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"

namespace fettle::serve {

class Folder {
 public:
  explicit Folder(const std::string& root);
  const std::string& root() const { return root_; }
  /// Its own name, without what it lies in.
  std::string name() const { return root_.substr(root_.rfind('/') + 1); }

  /// The file of that name within the folder. Problems: it leads out, a hidden part, a backslash, a zero byte; with
  /// `must_be_there` also: it is no plain file.
  Outcome<std::string> file(const std::string& path, bool must_be_there = true) const;
  /// Does this path of the machine lie within the folder, links followed?
  bool holds(const std::string& path) const;
  /// Every file of these endings below the folder, by name, at most `most`, four folders deep.
  std::vector<std::string> files(const std::vector<std::string>& endings, std::size_t most = 2000) const;

 private:
  std::string root_;
};

/// A plan from its text, as if it stood at `path` within the folder; every file it names must lie within.
Outcome<plan::Plan> read_within(const Folder& folder, const std::string& path, const std::string& text);

}  // namespace fettle::serve
