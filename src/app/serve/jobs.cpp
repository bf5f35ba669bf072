#include "app/serve/jobs.h"

#include <fmt/format.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <random>

namespace fettle::serve {

std::string random_name() {
  std::random_device chance;
  std::string out;
  for (int i = 0; i < 4; ++i) out += fmt::format("{:08x}", chance());
  return out;
}

void Job::tell(const std::string& doing, double share) {
  const std::lock_guard<std::mutex> hold(lock_);
  if (doing == doing_ && share < share_ + 0.01 && share >= share_) return;
  doing_ = doing, share_ = share, ++step_;
  changed_.notify_all();
}
void Job::finish(Reply reply) {
  const std::lock_guard<std::mutex> hold(lock_);
  reply_ = std::move(reply), done_ = true, share_ = 1, ++step_;
  changed_.notify_all();
}
bool Job::done() const {
  const std::lock_guard<std::mutex> hold(lock_);
  return done_;
}
nlohmann::json Job::wait(int step, std::chrono::milliseconds most) const {
  std::unique_lock<std::mutex> hold(lock_);
  changed_.wait_for(hold, most, [&] { return step_ > step || done_; });
  return {{"job", id_}, {"step", step_}, {"doing", doing_}, {"share", share_}, {"done", done_}};
}
Reply Job::result() const {
  const std::lock_guard<std::mutex> hold(lock_);
  return reply_;
}

Jobs::Jobs(int threads, std::size_t waiting) : waiting_(waiting) {
  for (int i = 0; i < threads; ++i) threads_.emplace_back([this] { work(); });
}
Jobs::~Jobs() {
  {
    const std::lock_guard<std::mutex> hold(lock_);
    over_ = true;
    for (auto& [id, job] : by_id_) job->stop();
  }
  more_.notify_all();
  for (std::thread& t : threads_) t.join();
}

std::shared_ptr<Job> Jobs::start(const std::string& name, std::function<Reply(Job&)> work, bool of_trial) {
  const std::lock_guard<std::mutex> hold(lock_);
  const auto wanted = [of_trial](const std::shared_ptr<Job>& job) {
    if (of_trial) ++job->followers_;
    else job->kept_ = true;
    return job;
  };
  if (const auto it = id_of_name_.find(name); it != id_of_name_.end())
    if (const auto job = by_id_.find(it->second); job != by_id_.end()) return wanted(job->second);
  if (queue_.size() >= waiting_) return nullptr;
  auto job = std::make_shared<Job>(random_name());
  by_id_[job->id()] = job;
  id_of_name_[name] = job->id();
  order_.push_back(job->id());
  for (std::size_t i = 0; order_.size() > 64 && i < order_.size(); ++i) {
    const auto it = by_id_.find(order_[i]);
    if (it != by_id_.end() && !it->second->done()) continue;
    if (it != by_id_.end()) by_id_.erase(it);
    order_.erase(order_.begin() + static_cast<std::ptrdiff_t>(i));
    break;
  }
  std::erase_if(id_of_name_, [&](const auto& x) { return by_id_.count(x.second) == 0; });
  queue_.emplace_back(job, std::move(work));
  more_.notify_one();
  return wanted(job);
}

std::shared_ptr<Job> Jobs::find(const std::string& id) const {
  const std::lock_guard<std::mutex> hold(lock_);
  const auto it = by_id_.find(id);
  return it == by_id_.end() ? nullptr : it->second;
}

std::shared_ptr<Job> Jobs::stop(const std::string& id) {
  const std::lock_guard<std::mutex> hold(lock_);
  const auto it = by_id_.find(id);
  if (it == by_id_.end()) return nullptr;
  end(*it->second);
  return it->second;
}

std::shared_ptr<Job> Jobs::leave(const std::string& id) {
  const std::lock_guard<std::mutex> hold(lock_);
  const auto it = by_id_.find(id);
  if (it == by_id_.end()) return nullptr;
  Job& job = *it->second;
  if (job.followers_ > 0 && --job.followers_ == 0 && !job.kept_) end(job);
  return it->second;
}

/// Under the lock.
void Jobs::end(Job& job) {
  if (job.done()) return;
  job.stop();
  std::erase_if(id_of_name_, [&](const auto& x) { return x.second == job.id(); });
  const auto waits = std::find_if(queue_.begin(), queue_.end(), [&](const auto& x) { return x.first.get() == &job; });
  if (waits == queue_.end()) return;
  queue_.erase(waits);
  job.finish(refused("stopped", 409));
}

void Jobs::give_way() const {
  for (int i = 0; i < 250 && ahead_ > 0; ++i) std::this_thread::sleep_for(std::chrono::milliseconds(2));
}

void Jobs::work() {
  // Somebody waits for a quick answer or for a browser on the same box to draw: what takes long stands back for both.
  // Threads and programs that it starts do so too.
  constexpr int back = 10;
  ::setpriority(PRIO_PROCESS, static_cast<id_t>(::gettid()), back);
  for (;;) {
    std::pair<std::shared_ptr<Job>, std::function<Reply(Job&)>> next;
    {
      std::unique_lock<std::mutex> hold(lock_);
      more_.wait(hold, [&] { return over_ || !queue_.empty(); });
      if (over_) return;
      next = std::move(queue_.front());
      queue_.pop_front();
    }
    try {
      next.first->finish(next.second(*next.first));
    } catch (const std::exception& e) {
      next.first->finish(refused(std::string("a fault of ours: ") + e.what(), 500));
    }
  }
}

}  // namespace fettle::serve
