#pragma once
// What a program needs to give work to a child process of its own and to hear its answer.
#include <string>
#include <string_view>

namespace fettle::base {

/// A file descriptor that closes itself; below 0: none.
struct Fd {
  int fd = -1;
  explicit Fd(int f = -1) : fd(f) {}
  Fd(const Fd&) = delete;
  Fd& operator=(const Fd&) = delete;
  ~Fd() { shut(); }
  void shut();
};

/// The same file under a number above 2: a program started without standard input would else get one that exec closes.
int above_standard(int fd);
/// False when not all could be written.
bool write_all(int fd, std::string_view bytes);
/// Adds what there is until the end. False when reading failed; `bytes` then holds what came before.
bool read_all(int fd, std::string& bytes);
/// A limit of this process (RLIMIT_AS, RLIMIT_CPU, ...), soft and hard.
void set_limit(int which, double value);

}  // namespace fettle::base
