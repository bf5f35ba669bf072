#include "app/serve/propose_child.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstring>
#include <iostream>
#include <new>

#include "app/cli/propose.h"
#include "base/child.h"
#include "base/text.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

using Clock = std::chrono::steady_clock;
constexpr const char* flag = "--propose-child";
constexpr auto longest = std::chrono::minutes(30);
constexpr double most_memory = 6.0 * (1 << 30);
constexpr std::size_t most_answer = 256U << 20U;

// ---- what goes over: as binary JSON, since models are bytes
// ----------------------------------------------------------

json binary(const DroppedFile& f) {
  return {{"name", f.name}, {"bytes", json::binary({f.bytes.begin(), f.bytes.end()})}};
}
DroppedFile file_in(const json& j, const char* key) {
  const auto& bytes = j.at(key).at("bytes").get_binary();
  return {j.at(key).at("name").get<std::string>(), std::string(bytes.begin(), bytes.end())};
}

std::string request_of(const DroppedFiles& f, const begin::Answers& answers, int threads, const std::string& root) {
  json j = {{"stem", f.stem},
            {"part", binary(f.part)},
            {"cast", binary(f.cast)},
            {"table", binary(f.table)},
            {"tools", binary(f.tools)},
            {"holders", binary(f.holders)},
            {"times", binary(f.times)},
            {"shop", binary(f.shop)},
            {"answers", answers},
            {"threads", threads},
            {"root", root}};
  const auto bytes = json::to_cbor(j);
  return {bytes.begin(), bytes.end()};
}

// ---- the child
// -------------------------------------------------------------------------------------------------------

void tell_line(int to, const json& j) {
  if (!base::write_all(to, dump(j) + "\n")) ::_exit(1);  // nobody listens any more
}

json shown(const begin::Proposals& found) {
  json all = json::parse(cli::proposals_json(found));
  for (json& p : all["proposals"]) {
    p["n"] = p["rank"], p["why"] = p["why_here"], p["look_at"] = p["disagree"];
    for (const char* gone : {"rank", "why_here", "disagree", "file", "text"}) p.erase(gone);
  }
  return all;
}

json propose_here(const json& asked, int to) {
  DroppedFiles f;
  f.stem = asked.at("stem").get<std::string>();
  f.part = file_in(asked, "part"), f.cast = file_in(asked, "cast"), f.table = file_in(asked, "table");
  f.tools = file_in(asked, "tools"), f.holders = file_in(asked, "holders"), f.times = file_in(asked, "times");
  f.shop = file_in(asked, "shop");
  const std::string root = asked.at("root").get<std::string>();
  auto d = read_drop(f);
  if (!d.ok()) return {{"problems", problems_json(d.problems(), root)["problems"]}};
  begin::Scene scene = d->scene;
  scene.part = &d->part, scene.cast = d->cast ? &*d->cast : nullptr;
  scene.answers = asked.at("answers").get<begin::Answers>();
  const auto found = begin::propose(scene, d->begun.plan, d->data, asked.at("threads").get<int>(),
                                    [&](const std::string& what, double share) {
                                      tell_line(to, {{"doing", what}, {"share", share}});
                                    });
  if (!found.ok()) return {{"problems", problems_json(found.problems(), root)["problems"]}};
  json texts = json::array();
  for (const begin::Proposal& p : found->best) texts.push_back(p.text);
  return {{"found", shown(*found)}, {"texts", texts}};
}

int child() {
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() == 1) return 1;  // the server went before that
  base::set_limit(RLIMIT_CORE, 0);
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)  // their shadow memory alone is terabytes
  base::set_limit(RLIMIT_AS, most_memory);
#endif
  const int to = ::fcntl(1, F_DUPFD_CLOEXEC, 3), nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC);
  if (to < 0 || nowhere < 0) return 1;
  ::dup2(nowhere, 1);
  std::string bytes;
  base::read_all(0, bytes);
  try {
    tell_line(to, propose_here(json::from_cbor(bytes), to));
  } catch (const std::bad_alloc&) {
    const Problem p = bad("proposing ran out of memory", base::fixed(most_memory / (1 << 20), 0) + " MB allowed",
                          "a smaller or simpler model");
    tell_line(to, {{"problems", problems_json({p}, "")["problems"]}});
  } catch (const std::exception& e) {
    tell_line(to, {{"problems", problems_json({ours(e.what())}, "")["problems"]}});
  }
  ::_exit(0);
}

// ---- the server
// ------------------------------------------------------------------------------------------------------

struct Run {
  json answer;  ///< the child's last word; null: there was none
  bool stopped = false, late = false, flood = false;
  int status = 0;
};

/// Hears the child out: one line of JSON after the other, the last one is its answer.
void hear(int fd, Job& job, Run& run) {
  const auto end = Clock::now() + longest;
  std::string line;
  std::vector<char> buffer(1U << 16U);
  for (;;) {
    if (run.stopped = job.stop_asked(); run.stopped) return;
    if (run.late = Clock::now() > end; run.late) return;
    pollfd p{fd, POLLIN, 0};
    const int ready = ::poll(&p, 1, 100);
    if (ready < 0 && errno != EINTR) return;
    if (ready <= 0) continue;
    const ssize_t n = ::read(fd, buffer.data(), buffer.size());
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return;
    line.append(buffer.data(), static_cast<std::size_t>(n));
    if (run.flood = line.size() > most_answer; run.flood) return;
    for (std::size_t at = line.find('\n'); at != std::string::npos; at = line.find('\n')) {
      json said = json::parse(line.begin(), line.begin() + static_cast<std::ptrdiff_t>(at), nullptr, false);
      line.erase(0, at + 1);
      if (said.is_object() && said.contains("doing"))
        job.tell(said["doing"].get<std::string>(), said["share"].get<double>());
      else run.answer = std::move(said);
    }
  }
}

Outcome<Run> run_child(const std::string& request, Job& job) {
  const auto cannot = [](const char* step) {
    Problem p = bad(std::string("could not start what proposes (") + step + ")", std::strerror(errno));
    p.fault = Fault::environment;
    return p;
  };
  base::Fd in(base::above_standard(::memfd_create("fettle-propose", MFD_CLOEXEC)));
  if (in.fd < 0 || !base::write_all(in.fd, request) || ::lseek(in.fd, 0, SEEK_SET) != 0) return cannot("request");
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) return cannot("pipe");
  base::Fd from(base::above_standard(ends[0])), to(base::above_standard(ends[1]));
  if (from.fd < 0 || to.fd < 0) return cannot("pipe");
  const char* args[] = {"fettle", flag, nullptr};
  const pid_t pid = ::fork();
  if (pid < 0) return cannot("fork");
  if (pid == 0) {  // only calls that are safe after fork in a threaded program
    ::dup2(in.fd, 0);
    ::dup2(to.fd, 1);
    ::close_range(3, ~0U, 0);  // connections of others end when the server ends them
    ::execv("/proc/self/exe", const_cast<char**>(args));
    ::_exit(127);
  }
  to.shut();
  Run run;
  hear(from.fd, job, run);
  if (run.stopped || run.late || run.flood) ::kill(pid, SIGKILL);
  while (::waitpid(pid, &run.status, 0) < 0 && errno == EINTR) {
  }
  return run;
}

Reply broke_down(const Run& run) {
  const std::string good =
      "fewer or other files; the server and everybody else work on. Please keep the model: it is a fault of ours";
  if (run.late)
    return refused({bad("proposing did not come to an end", "stopped after 30 min", "a smaller or simpler model")}, "",
                   500);
  const std::string how = WIFSIGNALED(run.status) ? "signal " + std::to_string(WTERMSIG(run.status))
                                                  : "exit code " + std::to_string(WEXITSTATUS(run.status));
  return refused({bad("proposing broke down on this part", how, good)}, "", 500);
}

}  // namespace

int maybe_propose_child(int argc, char** argv) { return argc == 2 && std::string_view(argv[1]) == flag ? child() : -1; }

Reply propose_in_child(Desk& desk, Dropped& d, const begin::Answers& answers, Job& job) {
  job.tell("reads the part", 0);
  auto run = run_child(request_of(d.files, answers, desk.threads(), desk.folder().root()), job);
  if (!run.ok()) return refused(run.problems(), desk.folder().root());
  if (run->stopped || job.stop_asked()) return refused("stopped", 409);
  json& said = run.value().answer;
  const bool whole = WIFEXITED(run->status) && WEXITSTATUS(run->status) == 0 && said.is_object();
  if (!whole) return broke_down(*run);
  if (said.contains("problems")) return json_reply(said, 400);
  const std::lock_guard<std::mutex> hold(d.lock);
  d.found = std::make_shared<const std::vector<std::string>>(said["texts"].get<std::vector<std::string>>());
  return json_reply(said["found"]);
}

}  // namespace fettle::serve
