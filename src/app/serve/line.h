#pragma once
// One connection. Everything that is read or written over it has an end in time and in size, however slowly it comes.
#include <httplib.h>

#include <chrono>
#include <string>

namespace fettle::serve {

class Line : public httplib::Stream {
 public:
  explicit Line(socket_t socket);
  ~Line() override;
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;
  /// From here on encrypted. False: the other side does not manage that in so many seconds.
  bool encrypt(SSL_CTX* with, std::chrono::seconds most = std::chrono::seconds(10));
  /// Waits for the first byte of the next request.
  bool comes(std::chrono::milliseconds most);
  /// A new request: its head may be that long and take that time.
  void start();
  /// The head is there: so many bytes follow.
  void expect(std::size_t bytes);
  /// Drops what still comes, so that the other side reads our answer before the line is closed.
  void drain();

  bool is_readable() const override;
  bool is_writable() const override;
  ssize_t read(char* to, std::size_t size) override;
  using Stream::write;
  ssize_t write(const char* from, std::size_t size) override;
  void get_remote_ip_and_port(std::string& ip, int& port) const override;
  void get_local_ip_and_port(std::string& ip, int& port) const override;
  socket_t socket() const override { return socket_; }

 private:
  using Time = std::chrono::steady_clock::time_point;
  bool wait(short events, Time until) const;
  bool wait_for(int result, Time until) const;
  ssize_t take(char* to, std::size_t size, Time until);
  socket_t socket_;
  SSL* ssl_ = nullptr;
  Time until_;
  std::size_t left_ = 0;
  std::string buffer_;
  std::size_t at_ = 0;
};

}  // namespace fettle::serve
