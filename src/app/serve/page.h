#pragma once
// The built page: a few files in memory, so that no request names a path of the machine.
#include <map>
#include <string>

#include "app/serve/reply.h"

namespace fettle::serve {

/// The files of the page that was there when this program was built, by path ("/index.html"); none: empty.
std::map<std::string, std::string> page_inside();

class Page {
 public:
  /// What is inside this program.
  static Page inside();
  /// Reads a folder with index.html, at most 20 MB; empty when there is none.
  static Page from_folder(const std::string& folder);
  bool there() const { return files_.count("/index.html") > 0; }
  /// The file of that path; "/" is index.html. Where there is no page, "/" says so.
  Reply file(const std::string& path) const;
  /// Does this name hold its own version, so that a browser may keep the file?
  static bool may_be_kept(const std::string& path);

 private:
  std::map<std::string, std::string> files_;
};

}  // namespace fettle::serve
