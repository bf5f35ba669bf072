#pragma once
// HTTP around the routes: limits, rights, headers.
#include <openssl/ssl.h>

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
  std::string start;                ///< the plan to open first
  std::shared_ptr<SSL_CTX> secret;  ///< with it everything is encrypted
};

/// Certificate (with those that vouch for it behind) and its key, both PEM. Problems: a file that cannot be read, is
/// no PEM, or a key that is another's.
Outcome<std::shared_ptr<SSL_CTX>> secret_of(const std::string& certificate, const std::string& key);

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
