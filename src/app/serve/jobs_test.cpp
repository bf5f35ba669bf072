// Who follows a job, who leaves it, and when it ends.
#include "app/serve/jobs.h"

#include <gtest/gtest.h>

#include <thread>

namespace fettle::serve {
namespace {

using std::chrono::milliseconds;

/// Works until it is told to end, or for ten seconds.
Reply works(Job& job) {
  for (int i = 0; i < 5000 && !job.stop_asked(); ++i) std::this_thread::sleep_for(milliseconds(2));
  return refused(job.stop_asked() ? "stopped" : "nobody stopped it", 409);
}
bool ends(const Job& job) {
  for (int i = 0; i < 1000 && !job.done(); ++i) std::this_thread::sleep_for(milliseconds(2));
  return job.done();
}

TEST(Jobs, a_trial_ends_when_the_last_who_follows_it_leaves) {
  Jobs jobs(1, 8);
  const auto mine = jobs.start("trial", works, true), theirs = jobs.start("trial", works, true);
  ASSERT_EQ(mine, theirs);
  EXPECT_EQ(jobs.leave(mine->id()), mine);
  EXPECT_FALSE(mine->stop_asked()) << "the other one still looks at it";
  jobs.leave(mine->id());
  EXPECT_TRUE(mine->stop_asked());
  EXPECT_TRUE(ends(*mine));
  EXPECT_NE(jobs.start("trial", works, true), mine) << "who asks again starts a new one";
  EXPECT_EQ(jobs.leave("none"), nullptr);
}

TEST(Jobs, what_is_kept_is_no_trials_to_leave) {
  Jobs jobs(1, 8);
  const auto job = jobs.start("whole", works, true);
  jobs.start("whole", works, true);
  EXPECT_EQ(jobs.start("whole", works), job) << "accepted: the plan's own study goes on with it";
  for (int i = 0; i < 3; ++i) jobs.leave(job->id());
  EXPECT_FALSE(job->stop_asked());
  const auto own = jobs.start("own", works);
  jobs.leave(own->id());
  EXPECT_FALSE(own->stop_asked());
  jobs.stop(job->id());
  EXPECT_TRUE(ends(*job));
}

TEST(Jobs, what_waits_for_its_turn_ends_at_once) {
  Jobs jobs(1, 8);
  const auto first = jobs.start("first", works), waits = jobs.start("waits", works, true);
  jobs.leave(waits->id());
  EXPECT_TRUE(waits->done());
  EXPECT_EQ(waits->result().status, 409);
  EXPECT_FALSE(first->stop_asked());
}

TEST(Jobs, a_job_stands_back_while_somebody_waits) {
  Jobs jobs(1, 8);
  const auto took = [&jobs] {
    const auto start = std::chrono::steady_clock::now();
    jobs.give_way();
    return std::chrono::steady_clock::now() - start;
  };
  EXPECT_LT(took(), milliseconds(400));
  const Jobs::Ahead ahead(jobs);
  EXPECT_GE(took(), milliseconds(400)) << "but no longer than half a second";
}

}  // namespace
}  // namespace fettle::serve
