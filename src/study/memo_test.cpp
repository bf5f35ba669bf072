// A changed number recomputes only what depends on it; the same bytes at any number of threads.
#include <atomic>
#include <chrono>
#include <clocale>
#include <condition_variable>
#include <cstring>
#include <future>
#include <mutex>
#include <stdexcept>
#include <thread>

#include "places.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

struct Number {
  int number = 0;
};

TEST(Memo, WhatAnotherThreadComputesIsWaitedFor) {
  Memo memo;
  std::atomic<int> runs{0};
  const auto slow = [&](const Number& a) {
    ++runs;
    while (runs < 2 && a.number == 1) std::this_thread::yield();  // one key does not wait for another
    return a.number * 2;
  };
  std::vector<std::future<std::shared_ptr<const int>>> all;
  for (int n : {1, 1, 2, 1, 2, 2})
    all.push_back(std::async(std::launch::async, [&, n] { return memo.call("twice", slow, Number{n}); }));
  std::vector<std::shared_ptr<const int>> got;
  for (auto& x : all) got.push_back(x.get());
  EXPECT_EQ(runs, 2);
  EXPECT_EQ(memo.computed("twice"), 2);
  EXPECT_EQ(memo.hits("twice"), 4);
  EXPECT_EQ(got[0], got[1]) << "the same answer, not one like it";
  EXPECT_EQ(*got[3], 2);
  EXPECT_EQ(*got[5], 4);
}
TEST(Memo, WhatFailedIsComputedAnew) {
  Memo memo;
  bool fails = true;
  const auto f = [&](const Number& a) {
    if (fails) throw std::runtime_error("no");
    return a.number;
  };
  EXPECT_THROW(memo.call("f", f, Number{7}), std::runtime_error);
  fails = false;
  EXPECT_EQ(*memo.call("f", f, Number{7}), 7);
}
TEST(Memo, TheSameNameWithAnotherKindOfResultIsAnother) {
  Memo memo;
  const auto whole = [](const Number& a) { return a.number; };
  const auto half = [](const Number& a) { return 0.5 * a.number; };
  EXPECT_EQ(*memo.call("f", whole, Number{3}), 3);
  EXPECT_EQ(*memo.call("f", half, Number{3}), 1.5);
}

/// What was computed anew after `edits`, with everything of the unedited plan kept.
std::map<std::string, int> anew(const std::vector<demo::Edit>& edits, const std::string& table = "") {
  Memo memo;
  Options o;
  const std::vector<demo::Edit> few = {{"castings = 20000", "castings = 500"}};
  demo::demo(few, o, &memo);
  const auto before = memo.computed();
  std::vector<demo::Edit> both = few;
  both.insert(both.end(), edits.begin(), edits.end());
  demo::demo(both, o, &memo, table);
  std::map<std::string, int> out;
  for (const auto& [name, n] : memo.computed()) {
    const auto was = before.find(name);
    const int grown = n - (was == before.end() ? 0 : was->second);
    if (grown > 0) out[name] = grown;
  }
  return out;
}
std::string names(const std::map<std::string, int>& m) {
  std::string s;
  for (const auto& [name, n] : m) s += (s.empty() ? "" : ", ") + name;
  return s;
}

TEST(Kept, TheSamePlanComputesNothing) { EXPECT_EQ(names(anew({})), ""); }
TEST(Kept, ATorqueMovesTheHoldingOnly) {
  EXPECT_EQ(names(anew({{"torque = \"22 N·m\"", "torque = \"28 N·m\""}})), "cut force, holding");
}
TEST(Kept, ALandWidthMovesThePinsAndWhatTheyLocate) {
  EXPECT_EQ(names(anew({{"land_width = \"1.6 mm\"", "land_width = \"1.5 mm\""}})),
            "ledger, ledger linear, ledger sample, loading, pin fit, share not on, share outside");
}
TEST(Kept, AHeightOfALiftMovesTheLiftOnly) {
  EXPECT_EQ(names(anew({{"height = \"90 cm\"", "height = \"95 cm\""}})), "lifting");
}
TEST(Kept, AnchorsMoveTheSwapAndWhatItPlaces) {
  EXPECT_EQ(names(anew({{"repeat = \"± 0.005 mm\"", "repeat = \"± 0.006 mm\""}})),
            "ledger, ledger linear, ledger sample, share outside, swap");
}
TEST(Kept, ARowOfTheTableMovesTheCastingsOnly) {
  const std::string table = demo::edited(demo::text_of("castings.csv"), {{"5,40.1,97.4", "5,40.1,97.5"}});
  EXPECT_EQ(names(anew({}, table)), "best shift, virtual castings");
}
TEST(Kept, ARawSizeMovesTheCastingsOnly) {
  EXPECT_EQ(names(anew({{"raw = \"136.25 mm\"", "raw = \"136.50 mm\""}})),
            "best shift, casting model, practice, virtual castings, working dimensions");
}

/// Every number of a study, bit for bit, and every word.
std::string bytes(const Study& s) {
  std::string out;
  const auto number = [&](double x) {
    char b[sizeof x];
    std::memcpy(b, &x, sizeof x);
    out.append(b, sizeof x);
  };
  for (const auto& f : s.findings) {
    out += f.id + "\n" + f.sentence + "\n" + f.text + "\n" + f.worst + "\n";
    number(f.value);
    number(f.margin);
    for (const auto& i : f.inputs) {
      out += i.name + i.text;
      number(i.si);
    }
    for (const auto& a : f.assumptions) {
      number(a.margin_at_low);
      number(a.margin_at_high);
    }
    for (const auto& l : f.levers) {
      out += l.text;
      number(l.flip);
    }
  }
  for (const auto& l : s.nest_limits) {
    out += l.finding + l.nest + l.words;
    number(l.limit);
  }
  for (const auto& l : s.lobes) {
    out += l.finding + l.words;
    for (double x : l.limit) number(x);
  }
  for (const auto& n : s.compliance.nests) out += n.finding + n.nest;
  for (const auto& n : s.notices) out += n;
  for (const auto& [id, step] : s.step_of) out += id + step;
  return out + s.verdict + s.casting_sentence;
}

const std::vector<demo::Edit> fewer = {{"castings = 20000", "castings = 3000"}};

TEST(SameBytes, AtAnyNumberOfThreads) {
  Options o;
  const std::string one = bytes(demo::demo(fewer, o).study);
  for (int threads : {2, 4}) {
    o.threads = threads;
    EXPECT_TRUE(bytes(demo::demo(fewer, o).study) == one) << threads << " threads";
  }
}
TEST(SameBytes, TwiceInOneProcessAndFromWhatIsKept) {
  Memo memo;
  const std::string one = bytes(demo::demo(fewer, Options{}, &memo).study);
  EXPECT_TRUE(bytes(demo::demo(fewer, Options{}, &memo).study) == one);
  EXPECT_TRUE(bytes(demo::demo(fewer, Options{}).study) == one);
}
TEST(SameBytes, AfterASeriesOfLevers) {
  const std::vector<demo::Edit> levers = {
      {"torque = \"22 N·m\"", "torque = \"28 N·m\""},         {"land_width = \"1.6 mm\"", "land_width = \"1.5 mm\""},
      {"repeat = \"± 0.005 mm\"", "repeat = \"± 0.006 mm\""}, {"raw = \"136.25 mm\"", "raw = \"136.50 mm\""},
      {"330 x 250 x 25 mm", "330 x 250 x 25.5 mm"},           {"at = \"±78, ±57 mm\"", "at = \"±78.5, ±57 mm\""}};
  Options kept, fresh;
  kept.monte_carlo = fresh.monte_carlo = false;
  kept.threads = 2;
  Memo memo;
  demo::demo({}, kept, &memo);
  for (unsigned set : {1U, 3U, 2U, 13U, 12U, 48U, 33U}) {  // each lever is pulled and let go, alone and with others
    std::vector<demo::Edit> edits;
    for (std::size_t i = 0; i < levers.size(); ++i)
      if ((set >> i & 1U) != 0) edits.push_back(levers[i]);
    EXPECT_TRUE(bytes(demo::demo(edits, kept, &memo).study) == bytes(demo::demo(edits, fresh).study)) << set;
  }
}
/// A run that is asked to stop ends within the step that it is in, keeps nothing half done, and can be run again.
TEST(Stop, WithinALongStep) {
  Memo memo;
  Options o;
  o.threads = 2;
  std::string step;
  std::atomic<bool> drawing{false};
  std::atomic<int> asked{0};
  o.progress = [&](const std::string& what, double) {
    step = what;
    drawing = what.rfind("castings, draw", 0) == 0;
  };
  o.stop = [&] { return drawing && ++asked > 3; };
  const std::vector<demo::Edit> many = {{"castings = 20000", "castings = 400000"}};
  const auto p = demo::read(demo::edited(demo::text_of("plan-0.toml"), many));
  ASSERT_TRUE(p.ok());
  const Data data = load_data(*p);
  const auto s = run(*p, data, o, memo);
  ASSERT_FALSE(s.ok());
  EXPECT_EQ(s.problem().what, "stopped");
  EXPECT_EQ(step.rfind("castings, draw 1", 0), 0U) << step;
  EXPECT_EQ(memo.computed("virtual castings"), 0);
  EXPECT_EQ(memo.computed("ledger sample"), 0);
  EXPECT_LE(asked, 30) << "by each thread once more at most";
  EXPECT_TRUE(bytes(demo::demo(fewer, Options{}, &memo).study) == bytes(demo::demo(fewer, Options{}).study));
}
/// The same where a step is in it that runs on a thread of its own: the run waits in its own steps until those have
/// asked, and never says itself that it is to stop.
TEST(Stop, WithinAStepThatRunsBesideTheOthers) {
  Memo memo;
  Options o = demo::quick();
  o.threads = 4;
  const auto own = std::this_thread::get_id();
  std::mutex lock;
  std::condition_variable fifth;
  int asked = 0;
  o.stop = [&] {
    std::unique_lock<std::mutex> hold(lock);
    if (std::this_thread::get_id() == own) {
      fifth.wait_for(hold, std::chrono::minutes(5), [&] { return asked >= 5; });
      return false;
    }
    if (++asked >= 5) fifth.notify_all();
    return asked >= 5;
  };
  const auto p = demo::read(demo::text_of("plan-0.toml"));
  ASSERT_TRUE(p.ok());
  const auto s = run(*p, load_data(*p), o, memo);
  ASSERT_FALSE(s.ok());
  EXPECT_EQ(s.problem().what, "stopped");
  EXPECT_GE(asked, 5);
  EXPECT_LE(asked, 9) << "by each of the others once more at most: three threads, and one that chatter and one that "
                         "stiffness start";
  EXPECT_TRUE(bytes(demo::demo({}, demo::quick(), &memo).study) == bytes(demo::demo().study));
}
TEST(SameBytes, UnderALocaleWithADecimalComma) {
  const std::string one = bytes(demo::demo().study);
  ::setenv("LOCPATH", (std::string(fettle::test::binary_dir) + "/locales").c_str(), 1);
  const char* set = std::setlocale(LC_ALL, "de_DE.UTF-8");
  const std::string comma = set == nullptr ? "" : bytes(demo::demo().study);
  std::setlocale(LC_ALL, "C");
  ::unsetenv("LOCPATH");
  if (set == nullptr) GTEST_SKIP() << "no locale with a decimal comma here (./check makes one)";
  EXPECT_TRUE(comma == one);
}
TEST(SameBytes, AnotherSeedIsAnotherDraw) {
  const demo::Run a = demo::demo(fewer, Options{}), b = demo::demo({fewer[0], {"seed = 1", "seed = 2"}}, Options{});
  EXPECT_NE(a.at("op30.F2.clean_up").value, b.at("op30.F2.clean_up").value);
  EXPECT_NEAR(a.at("op30.F2.clean_up").value, b.at("op30.F2.clean_up").value, 0.045);  // four standard deviations
}

}  // namespace
}  // namespace fettle::study
