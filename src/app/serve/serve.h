#pragma once
// `fettle serve`: the page and its JSON routes over HTTP (docs/api.md).
#include <string>

namespace fettle::serve {

struct ServeArguments {
  std::string what = ".";  ///< a plan, or a folder with plans
  int port = 8060;         ///< 0: any that is free
  bool lan = false, read_only = false;
  std::string certificate, key;  ///< PEM files; with them the connection is encrypted. Without key: in the same file
  std::string page;              ///< folder of a built page, instead of the one inside
};
/// Serves until it is stopped. 2: nothing to serve there, or the port is taken.
int serve_command(const ServeArguments& arguments);

}  // namespace fettle::serve
