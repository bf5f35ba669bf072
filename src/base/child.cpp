#include "base/child.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cerrno>
#include <vector>

namespace fettle::base {

void Fd::shut() {
  if (fd >= 0) ::close(fd);
  fd = -1;
}

int above_standard(int fd) {
  if (fd < 0 || fd > 2) return fd;
  const int high = ::fcntl(fd, F_DUPFD_CLOEXEC, 3);
  ::close(fd);
  return high;
}

bool write_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd, bytes.data(), bytes.size());
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(n));
  }
  return true;
}

bool read_all(int fd, std::string& bytes) {
  std::vector<char> buffer(1 << 16);
  for (;;) {
    const ssize_t n = ::read(fd, buffer.data(), buffer.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return false;
    if (n == 0) return true;
    bytes.append(buffer.data(), static_cast<std::size_t>(n));
  }
}

void set_limit(int which, double value) {
  rlimit limit{};
  limit.rlim_cur = limit.rlim_max = static_cast<rlim_t>(value);
  ::setrlimit(static_cast<__rlimit_resource_t>(which), &limit);
}

}  // namespace fettle::base
