#include "solid/door.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstring>
#include <new>

#include "base/child.h"
#include "base/text.h"
#include "solid/codec.h"
#include "solid/kernel.h"

namespace fettle::solid {

using base::above_standard;
using base::Fd;
using base::read_all;
using base::set_limit;
using base::write_all;

namespace {

constexpr const char* flag = "--kernel-child";
constexpr std::string_view magic = "fettle-kernel-1\n";
bool door_open = false;  // maybe_kernel_child was called: a child of this program will know what to do

/// The child's whole life: request from stdin, answer to the old stdout. What the kernel prints goes nowhere.
int child(const std::string& job, double cpu_seconds, double memory_bytes) {
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  set_limit(RLIMIT_CORE, 0);
  set_limit(RLIMIT_CPU, cpu_seconds + 0.999);
#if !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)  // their shadow memory alone is terabytes of addresses
  set_limit(RLIMIT_AS, memory_bytes);
#endif
  const int answer = ::dup(1);
  const int nowhere = ::open("/dev/null", O_WRONLY);
  if (answer < 0 || nowhere < 0) return 1;
  ::dup2(nowhere, 1);
  ::dup2(nowhere, 2);
  std::string request;
  std::string reply;
  if (!read_all(0, request)) return 1;
  try {
    reply = kernel_job(job, request);
  } catch (const std::bad_alloc&) {
    reply = 'P' + codec::encode(Problems{{.what = "the geometry kernel ran out of memory",
                                          .found = base::fixed(memory_bytes / 1048576, 0) + " MB allowed",
                                          .expected = "a smaller or simpler model"}});
  } catch (...) {
    return 1;  // the parent reports a breakdown
  }
  if (!write_all(answer, magic) || !write_all(answer, reply)) return 1;
  ::_exit(0);  // no kernel destructors: the answer is out, and they can only crash
}

Problem about(const std::string& file, std::string what, std::string found, std::string expected) {
  Problem p;
  p.where.file = file;
  p.what = std::move(what);
  p.found = std::move(found);
  p.expected = std::move(expected);
  return p;
}

Problem no_child(const std::string& file, const char* step) {
  Problem p = about(file, std::string("could not start the geometry child (") + step + ")", std::strerror(errno), "");
  p.fault = Fault::environment;
  return p;
}

/// Reads until the child closes its end or the wall clock runs out (false).
bool collect(int fd, double wall_seconds, std::string& bytes) {
  using clock = std::chrono::steady_clock;
  const auto end =
      clock::now() + std::chrono::duration_cast<clock::duration>(std::chrono::duration<double>(wall_seconds));
  std::vector<char> buffer(1 << 16);
  for (;;) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - clock::now()).count();
    if (left <= 0) return false;
    pollfd p{fd, POLLIN, 0};
    const int ready = ::poll(&p, 1, static_cast<int>(left));
    if (ready == 0) return false;
    if (ready < 0) {
      if (errno == EINTR) continue;
      return false;
    }
    const ssize_t n = ::read(fd, buffer.data(), buffer.size());
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return true;
    bytes.append(buffer.data(), static_cast<std::size_t>(n));
  }
}

Problem breakdown(const std::string& file, int status, bool timed_out, const Limits& limits) {
  const std::string good = "a sound solid; export the model again, or heal it in the program it came from";
  if (timed_out)
    return about(file, "the geometry kernel did not come to an end",
                 "stopped after " + base::shortest(limits.wall_seconds) + " s", good);
  if (WIFSIGNALED(status) && (WTERMSIG(status) == SIGXCPU || WTERMSIG(status) == SIGKILL))
    return about(file, "the geometry kernel used up its processor time",
                 "stopped after " + base::shortest(limits.cpu_seconds) + " s of work", good);
  const std::string how = WIFSIGNALED(status) ? "signal " + std::to_string(WTERMSIG(status))
                                              : "exit code " + std::to_string(WEXITSTATUS(status));
  return about(file, "the geometry kernel broke down on this file", how, good);
}

}  // namespace

int maybe_kernel_child(int argc, char** argv) {
  door_open = true;
  if (argc != 5 || std::string_view(argv[1]) != flag) return -1;
  const auto cpu = base::to_double(argv[3]);
  const auto memory = base::to_double(argv[4]);
  if (!cpu || !memory) return 1;
  return child(argv[2], *cpu, *memory);
}

Outcome<std::string> run_in_child(const std::string& job, const std::string& request, const std::string& file,
                                  const Limits& limits) {
  if (!door_open)
    return ours("geometry was asked for in a program whose main() does not call maybe_kernel_child first");
  // The request lies in an anonymous file, so that neither side ever waits for the other to read.
  Fd in(above_standard(::memfd_create("fettle-request", MFD_CLOEXEC)));
  if (in.fd < 0 || !write_all(in.fd, request) || ::lseek(in.fd, 0, SEEK_SET) != 0) return no_child(file, "request");
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) return no_child(file, "pipe");
  Fd from(above_standard(ends[0])), to(above_standard(ends[1]));
  if (from.fd < 0 || to.fd < 0) return no_child(file, "pipe");
  const std::string cpu = base::shortest(limits.cpu_seconds), memory = base::shortest(limits.memory_bytes);
  const char* args[] = {"fettle", flag, job.c_str(), cpu.c_str(), memory.c_str(), nullptr};
  const pid_t pid = ::fork();
  if (pid < 0) return no_child(file, "fork");
  if (pid == 0) {  // only calls that are safe after fork in a threaded program
    ::dup2(in.fd, 0);
    ::dup2(to.fd, 1);
    ::execv("/proc/self/exe", const_cast<char**>(args));
    ::_exit(127);
  }
  to.shut();
  std::string reply;
  const bool ended = collect(from.fd, limits.wall_seconds, reply);
  if (!ended) ::kill(pid, SIGKILL);
  int status = 0;
  while (::waitpid(pid, &status, 0) < 0 && errno == EINTR) {
  }
  const bool whole = ended && WIFEXITED(status) && WEXITSTATUS(status) == 0 && base::starts_with(reply, magic) &&
                     reply.size() > magic.size();
  if (!whole) return breakdown(file, status, !ended, limits);
  const char kind = reply[magic.size()];
  reply.erase(0, magic.size() + 1);
  if (kind == 'A') return reply;
  Problems problems;
  if (kind != 'P' || !codec::decode(reply, problems) || problems.empty())
    return ours("the geometry child gave an answer that cannot be read");
  for (Problem& p : problems)
    if (p.where.file.empty()) p.where.file = file;
  return problems;
}

}  // namespace fettle::solid
