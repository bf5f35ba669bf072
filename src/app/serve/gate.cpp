#include "app/serve/gate.h"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <random>

#include "app/serve/api.h"
#include "app/serve/jobs.h"
#include "app/serve/routes.h"
#include "base/text.h"

namespace fettle::serve {

namespace {

constexpr auto wait_after_wrong = std::chrono::seconds(60);
constexpr std::size_t most_wrong = 5, most_wrong_of_all = 30, most_tokens = 1000;

std::string six_digits() {
  std::random_device chance;
  return fmt::format("{:06}", std::uniform_int_distribution<int>(0, 999999)(chance));
}

bool is_address(const std::string& name) {
  in6_addr any{};
  if (::inet_pton(AF_INET, name.c_str(), &any) == 1) return true;
  return name.size() > 2 && name.front() == '[' && name.back() == ']' &&
         ::inet_pton(AF_INET6, name.substr(1, name.size() - 2).c_str(), &any) == 1;
}

/// Takes as long for a wrong code as for the right one.
bool same(const std::string& a, const std::string& b) {
  if (a.size() != b.size()) return false;
  unsigned differ = 0;
  for (std::size_t i = 0; i < a.size(); ++i)
    differ |= static_cast<unsigned>(static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]));
  return differ == 0;
}

std::string token_in(const std::string& cookie) {
  for (const std::string& part : base::split(cookie, ';')) {
    const std::string one(base::trim(part));
    if (base::starts_with(one, "fettle=")) return one.substr(7);
  }
  return {};
}

bool is_type(const std::string& type, const std::string& wanted) {
  return base::lower(std::string(base::trim(type.substr(0, type.find(';'))))) == wanted;
}

}  // namespace

std::string word(May may) { return may == May::write ? "write" : may == May::read ? "read" : "nothing"; }

Gate::Gate(bool lan, bool read_only)
    : lan_(lan), read_only_(read_only), read_code_(six_digits()), write_code_(six_digits()), names_{"localhost"} {
  while (write_code_ == read_code_) write_code_ = six_digits();
  char name[256] = {};
  if (lan && ::gethostname(name, sizeof name - 1) == 0 && name[0] != 0) {
    names_.push_back(base::lower(name));
    names_.push_back(base::lower(name) + ".local");
  }
}

void Gate::listens_on(int port) { port_ = port; }

// Another site's name that resolves to this machine must not do, so only addresses and our own names count.
bool Gate::is_ours(const std::string& host) const {
  const std::string end = fmt::format(":{}", port_);
  std::string name = base::lower(host);
  if (name.size() > end.size() && name.compare(name.size() - end.size(), end.size(), end) == 0)
    name.erase(name.size() - end.size());
  else if (port_ != (page_from_ == "https://" ? 443 : 80)) return false;
  if (std::find(names_.begin(), names_.end(), name) != names_.end()) return true;
  return lan_ ? is_address(name) : name == "127.0.0.1";
}

May Gate::may(const Knock& k) const {
  const May most = read_only_ ? May::read : May::write;
  if (!lan_) return most;
  const std::lock_guard<std::mutex> hold(lock_);
  const auto it = tokens_.find(token_in(k.cookie));
  if (it == tokens_.end()) return May::nothing;
  return it->second ? most : May::read;
}

Reply Gate::look(const Knock& k) const {
  if (!is_ours(k.host)) return refused({bad("this server is not meant", k.host, "the address it printed")}, "", 403);
  if (!k.origin.empty() && base::lower(k.origin) != page_from_ + base::lower(k.host))
    return refused({bad("the request comes from another page", k.origin, "the page of this server")}, "", 403);
  if (k.method != "GET" && k.method != "HEAD" && k.method != "POST") return refused("only GET and POST are known", 405);
  if (!base::starts_with(k.path, "/api/")) return k.method == "POST" ? refused("nothing to post to", 404) : Reply{};
  if (k.site == "cross-site") return refused("the request comes from another page", 403);
  if (k.method == "POST") {
    if (k.marked != "1") return refused("the header X-Fettle: 1 is missing", 403);
    const std::string type = takes_files(k.path) ? "multipart/form-data" : "application/json";
    if (!is_type(k.type, type)) return refused({bad("another kind of body", k.type, type)}, "", 415);
  }
  if (k.path == "/api/about" || k.path == "/api/pair") return {};
  const May may = this->may(k);
  if (may == May::nothing) {
    nlohmann::json j = problems_json({bad("this browser is not paired yet", "", "the code from the terminal")}, "");
    j["pairing"] = true;
    return json_reply(j, 403);
  }
  if (may != May::write && writes({k.method, k.path, {}, {}, {}, false}))
    return refused("only reading is allowed here", 403);
  if (read_only_ && k.path == "/api/entry") return refused("this server writes nothing", 403);
  return {};
}

bool Gate::must_wait(const std::string& from, std::chrono::steady_clock::time_point now) {
  std::erase_if(wrong_, [&](const auto& w) { return now - w.second > wait_after_wrong; });
  const auto of_this = std::count_if(wrong_.begin(), wrong_.end(), [&](const auto& w) { return w.first == from; });
  return static_cast<std::size_t>(of_this) >= most_wrong || wrong_.size() >= most_wrong_of_all;
}

Reply Gate::pair(const Knock& k, const std::string& body, std::string& cookie) {
  const auto j = nlohmann::json::parse(body, nullptr, false);
  const std::string code = j.is_object() ? text_in(j, "code") : std::string();
  const auto now = std::chrono::steady_clock::now();
  const std::lock_guard<std::mutex> hold(lock_);
  if (must_wait(k.from, now)) return refused("too many wrong codes; wait a minute", 503);
  const bool read = same(code, read_code_), write = same(code, write_code_);
  if (!read && !write) {
    wrong_.emplace_back(k.from, now);
    return refused("that is not the code in the terminal", 403);
  }
  cookie = random_name();
  tokens_[cookie] = write;
  order_.push_back(cookie);
  if (order_.size() > most_tokens) tokens_.erase(order_.front()), order_.erase(order_.begin());
  return json_reply({{"may", word(write && !read_only_ ? May::write : May::read)}});
}

}  // namespace fettle::serve
