#include "app/serve/line.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <cerrno>

namespace fettle::serve {

namespace {

using Clock = std::chrono::steady_clock;
constexpr std::size_t most_head = 16U << 10U;
constexpr auto to_send = std::chrono::seconds(10), to_take = std::chrono::seconds(20);

void name_of(const sockaddr_storage& address, std::string& ip, int& port) {
  char text[INET6_ADDRSTRLEN] = {};
  if (address.ss_family == AF_INET) {
    const auto* v4 = reinterpret_cast<const sockaddr_in*>(&address);
    ::inet_ntop(AF_INET, &v4->sin_addr, text, sizeof text);
    port = ntohs(v4->sin_port);
  } else if (address.ss_family == AF_INET6) {
    const auto* v6 = reinterpret_cast<const sockaddr_in6*>(&address);
    ::inet_ntop(AF_INET6, &v6->sin6_addr, text, sizeof text);
    port = ntohs(v6->sin6_port);
  }
  ip = text;
}

}  // namespace

Line::Line(socket_t socket) : socket_(socket) {
  ::fcntl(socket_, F_SETFD, FD_CLOEXEC);  // no child of ours holds it open
  const int on = 1;
  ::setsockopt(socket_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
}

Line::~Line() {
  if (ssl_ != nullptr) SSL_free(ssl_);
}

bool Line::encrypt(SSL_CTX* with, std::chrono::seconds most) {
  ssl_ = SSL_new(with);
  if (ssl_ == nullptr || SSL_set_fd(ssl_, socket_) != 1) return false;
  ::fcntl(socket_, F_SETFL, ::fcntl(socket_, F_GETFL) | O_NONBLOCK);
  const Time until = Clock::now() + most;
  for (;;) {
    ERR_clear_error();
    const int n = SSL_accept(ssl_);
    if (n == 1) return true;
    if (!wait_for(n, until)) return false;
  }
}

/// After an encrypted call that did not end: waits for what it wants. False: it failed, or the time is over.
bool Line::wait_for(int result, Time until) const {
  const int why = SSL_get_error(ssl_, result);
  if (why == SSL_ERROR_WANT_READ) return wait(POLLIN, until);
  return why == SSL_ERROR_WANT_WRITE && wait(POLLOUT, until);
}

bool Line::wait(short events, Time until) const {
  for (;;) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(until - Clock::now()).count();
    if (left <= 0) return false;
    pollfd p{socket_, events, 0};
    const int n = ::poll(&p, 1, static_cast<int>(std::min<long long>(left, 60000)));
    if (n > 0) return true;
    if (n < 0 && errno != EINTR) return false;
  }
}

bool Line::comes(std::chrono::milliseconds most) {
  return at_ < buffer_.size() || (ssl_ != nullptr && SSL_pending(ssl_) > 0) || wait(POLLIN, Clock::now() + most);
}

void Line::start() { until_ = Clock::now() + to_send, left_ = most_head; }

// A second more for each megabyte: a dropped file comes over a shop's wireless network.
void Line::expect(std::size_t bytes) {
  left_ = bytes;
  until_ += std::chrono::seconds(bytes >> 20U);
}

/// What has come, once something has; 0 at the end, -1 when nothing comes in time.
ssize_t Line::take(char* to, std::size_t size, Time until) {
  if (ssl_ == nullptr) return wait(POLLIN, until) ? ::recv(socket_, to, size, 0) : -1;
  for (;;) {
    ERR_clear_error();
    const int n = SSL_read(ssl_, to, static_cast<int>(size));
    if (n > 0) return n;
    if (SSL_get_error(ssl_, n) == SSL_ERROR_ZERO_RETURN) return 0;
    if (!wait_for(n, until)) return -1;
  }
}

ssize_t Line::read(char* to, std::size_t size) {
  if (left_ == 0) return -1;
  if (at_ == buffer_.size()) {
    buffer_.resize(16U << 10U);
    at_ = 0;
    const ssize_t n = take(buffer_.data(), buffer_.size(), until_);
    buffer_.resize(n > 0 ? static_cast<std::size_t>(n) : 0);
    if (n <= 0) return n;
  }
  const std::size_t n = std::min({size, buffer_.size() - at_, left_});
  std::copy_n(buffer_.data() + at_, n, to);
  at_ += n, left_ -= n;
  return static_cast<ssize_t>(n);
}

ssize_t Line::write(const char* from, std::size_t size) {
  const Time until = Clock::now() + to_take + std::chrono::seconds(size >> 18U);
  std::size_t done = 0;
  while (ssl_ != nullptr && done < size) {
    ERR_clear_error();
    const int n = SSL_write(ssl_, from + done, static_cast<int>(std::min<std::size_t>(size - done, 1U << 20U)));
    if (n > 0) done += static_cast<std::size_t>(n);
    else if (!wait_for(n, until)) return -1;
  }
  while (done < size) {
    const ssize_t n = ::send(socket_, from + done, size - done, MSG_NOSIGNAL | MSG_DONTWAIT);
    if (n > 0) done += static_cast<std::size_t>(n);
    else if ((n < 0 && errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR) || !wait(POLLOUT, until)) return -1;
  }
  return static_cast<ssize_t>(size);
}

void Line::drain() {
  if (ssl_ != nullptr) SSL_shutdown(ssl_);
  ::shutdown(socket_, SHUT_WR);
  const Time until = Clock::now() + std::chrono::seconds(1);
  char waste[65536];
  while (wait(POLLIN, until))
    if (::recv(socket_, waste, sizeof waste, MSG_DONTWAIT) <= 0) return;
}

bool Line::is_readable() const {
  return at_ < buffer_.size() || (ssl_ != nullptr && SSL_pending(ssl_) > 0) || wait(POLLIN, until_);
}
bool Line::is_writable() const { return wait(POLLOUT, Clock::now() + to_take); }

void Line::get_remote_ip_and_port(std::string& ip, int& port) const {
  sockaddr_storage address{};
  socklen_t size = sizeof address;
  if (::getpeername(socket_, reinterpret_cast<sockaddr*>(&address), &size) == 0) name_of(address, ip, port);
}
void Line::get_local_ip_and_port(std::string& ip, int& port) const {
  sockaddr_storage address{};
  socklen_t size = sizeof address;
  if (::getsockname(socket_, reinterpret_cast<sockaddr*>(&address), &size) == 0) name_of(address, ip, port);
}

}  // namespace fettle::serve
