#pragma once
// HTTP around the routes: limits, rights, headers.
#include <atomic>
#include <memory>
#include <string>

#include "app/serve/desk.h"
#include "app/serve/gate.h"
#include "app/serve/page.h"

namespace fettle::serve {

struct Site {
  Desk& desk;
  Gate& gate;
  const Page& page;
  std::string start;  ///< the plan to open first
};

class Network {
 public:
  explicit Network(Site site);
  ~Network();
  Network(const Network&) = delete;
  Network& operator=(const Network&) = delete;
  /// The port, or 0 when it cannot be had. `port` 0: any that is free.
  int bind(const std::string& address, int port);
  /// Serves until the process ends.
  bool listen();

 private:
  class Doors;
  std::unique_ptr<Doors> doors_;
};

}  // namespace fettle::serve
