#pragma once
// Who may ask: the address a request is meant for, where it comes from, and the codes of a network.
#include <chrono>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "app/serve/reply.h"

namespace fettle::serve {

/// What of a request says whether it may come in.
struct Knock {
  std::string method, path, host, origin, site;  ///< site: Sec-Fetch-Site
  std::string type, marked, cookie, from;        ///< Content-Type, X-Fettle, Cookie, address of the client
};
/// What a client may do.
enum class May { nothing, read, write };

class Gate {
 public:
  /// `read_only`: nobody writes. `lan`: only with a code.
  Gate(bool lan, bool read_only);
  void listens_on(int port);
  /// The page comes encrypted.
  void is_secret() { page_from_ = "https://"; }
  const std::string& reading_code() const { return read_code_; }
  const std::string& writing_code() const { return write_code_; }
  bool lan() const { return lan_; }

  May may(const Knock& k) const;
  /// Status 200: let it in. Else the refusal.
  Reply look(const Knock& k) const;
  /// Answers POST /api/pair; `cookie` is the value that the client shall keep, empty when the code is wrong.
  Reply pair(const Knock& k, const std::string& body, std::string& cookie);

 private:
  bool is_ours(const std::string& host) const;
  bool must_wait(const std::string& from, std::chrono::steady_clock::time_point now);
  bool lan_, read_only_;
  int port_ = 0;
  std::string page_from_ = "http://";
  std::string read_code_, write_code_;
  std::vector<std::string> names_;
  mutable std::mutex lock_;
  std::map<std::string, bool> tokens_;  ///< may it write?
  std::vector<std::string> order_;
  std::vector<std::pair<std::string, std::chrono::steady_clock::time_point>> wrong_;
};

std::string word(May may);

}  // namespace fettle::serve
