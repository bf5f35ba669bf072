#include "base/text.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>
#include <xxhash.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <csignal>
#include <cstring>

namespace fettle::base {

std::string_view trim(std::string_view s) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; };
  while (!s.empty() && blank(s.front())) s.remove_prefix(1);
  while (!s.empty() && blank(s.back())) s.remove_suffix(1);
  return s;
}

std::vector<std::string> split(std::string_view s, char separator) {
  std::vector<std::string> out;
  std::size_t from = 0;
  for (std::size_t i = 0; i <= s.size(); ++i)
    if (i == s.size() || s[i] == separator) {
      out.emplace_back(s.substr(from, i - from));
      from = i + 1;
    }
  return out;
}

std::string join(std::span<const std::string> parts, std::string_view separator) {
  return fmt::format("{}", fmt::join(parts, separator));
}

std::string lower(std::string_view s) {
  std::string out(s);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

bool starts_with(std::string_view s, std::string_view head) { return s.substr(0, head.size()) == head; }

std::optional<double> to_double(std::string_view s) {
  if (!s.empty() && s.front() == '+') {
    s.remove_prefix(1);
    if (!s.empty() && (s.front() == '-' || s.front() == '+')) return {};
  }
  if (s.empty()) return {};
  const char c = s.front() == '-' && s.size() > 1 ? s[1] : s.front();
  if (!(c == '.' || (c >= '0' && c <= '9'))) return {};
  double x = 0;
  const auto [end, error] = std::from_chars(s.data(), s.data() + s.size(), x);
  if (error != std::errc{} || end != s.data() + s.size() || !std::isfinite(x)) return {};
  return x;
}

std::string shortest(double x) {
  char buffer[64];
  const auto r = std::to_chars(buffer, buffer + sizeof buffer, x);
  return {buffer, r.ptr};
}

std::string fixed(double x, int decimals) {
  char buffer[400];
  const auto r = std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::fixed, decimals);
  std::string s(buffer, r.ptr);
  if (s.front() == '-' && s.find_first_of("123456789") == std::string::npos && s.find('n') == std::string::npos)
    s.erase(0, 1);
  return s;
}

std::string hex_float(double x) {
  if (!std::isfinite(x)) return std::isnan(x) ? "nan" : x < 0 ? "-inf" : "inf";
  char buffer[64];
  const auto r = std::to_chars(buffer, buffer + sizeof buffer, std::fabs(x), std::chars_format::hex);
  return (std::signbit(x) ? "-0x" : "0x") + std::string(buffer, r.ptr);
}

namespace {
int edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::vector<int>> d(a.size() + 1, std::vector<int>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = static_cast<int>(i);
  for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i)
    for (std::size_t j = 1; j <= b.size(); ++j) {
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  return d[a.size()][b.size()];
}
}  // namespace

std::string nearest(std::string_view word, std::span<const std::string> candidates) {
  const std::string w = lower(word.substr(0, 64));
  std::string best;
  int least = 1 + std::max(1, static_cast<int>(w.size()) / 3);
  for (const std::string& c : candidates) {
    if (c.size() > 64) continue;
    const int d = edit_distance(w, lower(c));
    if (d < least) {
      least = d;
      best = c;
    }
  }
  return best;
}

std::size_t code_points(std::string_view s) {
  return static_cast<std::size_t>(
      std::count_if(s.begin(), s.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::size_t byte_of_code_point(std::string_view s, std::size_t n) {
  for (std::size_t i = 0; i < s.size(); ++i)
    if ((static_cast<unsigned char>(s[i]) & 0xC0U) != 0x80U) {
      if (n == 0) return i;
      --n;
    }
  return s.size();
}

bool valid_utf8(std::string_view s) {
  for (std::size_t i = 0; i < s.size();) {
    const auto c = static_cast<unsigned char>(s[i]);
    int more = 0;
    std::uint32_t cp = 0;
    if (c < 0x80) more = 0, cp = c;
    else if (c >= 0xC2 && c < 0xE0) more = 1, cp = c & 0x1FU;
    else if (c >= 0xE0 && c < 0xF0) more = 2, cp = c & 0x0FU;
    else if (c >= 0xF0 && c < 0xF5) more = 3, cp = c & 0x07U;
    else return false;
    if (i + static_cast<std::size_t>(more) >= s.size()) return false;
    for (int k = 1; k <= more; ++k) {
      const auto d = static_cast<unsigned char>(s[i + static_cast<std::size_t>(k)]);
      if ((d & 0xC0U) != 0x80U) return false;
      cp = cp << 6U | (d & 0x3FU);
    }
    if ((more == 2 && (cp < 0x800 || (cp >= 0xD800 && cp < 0xE000))) || (more == 3 && (cp < 0x10000 || cp > 0x10FFFF)))
      return false;
    i += static_cast<std::size_t>(more) + 1;
  }
  return true;
}

std::string hash_hex(std::string_view bytes) {
  const XXH128_hash_t h = XXH3_128bits(bytes.data(), bytes.size());
  return fmt::format("{:016x}{:016x}", h.high64, h.low64);
}

Outcome<std::string> read_file(const std::string& path, std::size_t limit) {
  const auto fail = [&](const std::string& why) {
    Problem p = bad("cannot read the file: " + why, path, "a readable file");
    p.where.file = path;
    return p;
  };
  const int fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (fd < 0) return fail(std::strerror(errno));
  struct stat st = {};
  if (::fstat(fd, &st) != 0 || S_ISDIR(st.st_mode)) {
    ::close(fd);
    return fail("it is a folder");
  }
  std::string out;
  std::vector<char> buffer(1U << 20U);
  for (;;) {
    const ssize_t n = ::read(fd, buffer.data(), buffer.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) {
      const std::string why = std::strerror(errno);
      ::close(fd);
      return fail(why);
    }
    if (n == 0) break;
    out.append(buffer.data(), static_cast<std::size_t>(n));
    if (out.size() > limit) {
      ::close(fd);
      return fail(fmt::format("larger than the limit of {} bytes", limit));
    }
  }
  ::close(fd);
  return out;
}

namespace {
char in_flight[4096];
volatile std::sig_atomic_t in_flight_set = 0;
struct InFlight {
  explicit InFlight(const std::string& path) {
    if (path.size() >= sizeof in_flight) return;
    std::memcpy(in_flight, path.c_str(), path.size() + 1);
    in_flight_set = 1;
  }
  ~InFlight() { in_flight_set = 0; }
  InFlight(const InFlight&) = delete;
  InFlight& operator=(const InFlight&) = delete;
};
}  // namespace

void drop_temporary_file() {
  if (in_flight_set != 0) ::unlink(in_flight);
}

Outcome<bool> write_file(const std::string& path, std::string_view bytes) {
  const auto fail = [&](const char* step) {
    Problem p{Fault::environment,
              {path, 0, 0},
              fmt::format("cannot write the file: {} ({})", std::strerror(errno), step),
              {},
              {},
              {}};
    return p;
  };
  const std::string temporary = fmt::format("{}.{}.tmp", path, ::getpid());
  const InFlight guard(temporary);
  const int fd = ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
  if (fd < 0) return fail("open");
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t n = ::write(fd, bytes.data() + done, bytes.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) {
      Problem p = fail("write");
      ::close(fd);
      ::unlink(temporary.c_str());
      return p;
    }
    done += static_cast<std::size_t>(n);
  }
  if (::fsync(fd) != 0 || ::close(fd) != 0 || ::rename(temporary.c_str(), path.c_str()) != 0) {
    Problem p = fail("sync and rename");
    ::unlink(temporary.c_str());
    return p;
  }
  return true;
}

}  // namespace fettle::base
