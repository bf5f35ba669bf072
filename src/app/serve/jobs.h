#pragma once
// Work that takes longer than a request: done by a few threads, asked after by short long-polls.
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "app/serve/reply.h"

namespace fettle::serve {

/// One piece of work and how far it is.
class Job {
 public:
  explicit Job(std::string id) : id_(std::move(id)) {}
  const std::string& id() const { return id_; }
  void tell(const std::string& doing, double share);
  void finish(Reply reply);
  bool done() const;
  bool stop_asked() const { return stop_; }
  void stop() { stop_ = true; }
  /// Waits until something changed after `step`, it is done, or the time is over: {job, step, doing, share, done}.
  nlohmann::json wait(int step, std::chrono::milliseconds most) const;
  Reply result() const;

 private:
  friend class Jobs;
  std::string id_;
  bool kept_ = false;  ///< somebody wants it for good; this and the next under the lock of Jobs
  int followers_ = 0;  ///< who wants it as long as a trial stands
  mutable std::mutex lock_;
  mutable std::condition_variable changed_;
  int step_ = 0;
  std::string doing_ = "waits for its turn";
  double share_ = 0;
  bool done_ = false;
  std::atomic<bool> stop_{false};
  Reply reply_;
};

/// At most `threads` at once and `waiting` in the queue; results are kept for the last 64.
class Jobs {
 public:
  Jobs(int threads, std::size_t waiting);
  ~Jobs();
  Jobs(const Jobs&) = delete;
  Jobs& operator=(const Jobs&) = delete;
  /// The job of that name: a new one, or the one that is there. `of_trial`: what it computes was not kept; whoever
  /// starts it so is one more who follows it, until they `leave`. Null when too many wait.
  std::shared_ptr<Job> start(const std::string& name, std::function<Reply(Job&)> work, bool of_trial = false);
  std::shared_ptr<Job> find(const std::string& id) const;
  /// Asks it to end; the next one of its name is a new one. Null: there is none of that id.
  std::shared_ptr<Job> stop(const std::string& id);
  /// One who followed it as a trial's does so no more. It ends when nobody does and nobody started it for good. Null:
  /// there is none of that id.
  std::shared_ptr<Job> leave(const std::string& id);

  /// While one lives somebody waits for a quick answer: jobs that give way leave the processors to it. No job may make
  /// one: it would stand back behind itself.
  class Ahead {
   public:
    explicit Ahead(Jobs& jobs) : jobs_(jobs) { ++jobs_.ahead_; }
    ~Ahead() { --jobs_.ahead_; }
    Ahead(const Ahead&) = delete;
    Ahead& operator=(const Ahead&) = delete;

   private:
    Jobs& jobs_;
  };
  /// Returns when nobody waits for a quick answer, or after half a second. Not to be called with anything locked that
  /// a quick answer may need. It may all the same wait for a job: for a result that the job is just computing and that
  /// both need (study::Memo).
  void give_way() const;

 private:
  void work();
  void end(Job& job);
  mutable std::mutex lock_;
  std::condition_variable more_;
  std::deque<std::pair<std::shared_ptr<Job>, std::function<Reply(Job&)>>> queue_;
  std::map<std::string, std::shared_ptr<Job>> by_id_;
  std::deque<std::string> order_;
  std::map<std::string, std::string> id_of_name_;
  std::size_t waiting_;
  std::atomic<int> ahead_{0};
  bool over_ = false;
  std::vector<std::thread> threads_;
};

/// 128 bits from the machine's own source of chance, as hex.
std::string random_name();

}  // namespace fettle::serve
