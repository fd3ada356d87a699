#include "base/parallel.h"

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <new>
#include <optional>
#include <stdexcept>
#include <stdlib.h>
#include <string>
#include <thread>
#include <vector>

namespace {
/// How often this thread may still allocate; negative = as often as it likes. Nothing of it inlined: a
/// compiler that sees into new and delete warns that they do not belong together.
thread_local int allocations_left = -1;
}  // namespace

[[gnu::noinline]] void* operator new(std::size_t size) {
  if (allocations_left == 0) throw std::bad_alloc();
  if (allocations_left > 0) --allocations_left;
  if (void* p = std::malloc(size > 0 ? size : 1)) return p;
  throw std::bad_alloc();
}
[[gnu::noinline]] void operator delete(void* p) noexcept { std::free(p); }
[[gnu::noinline]] void operator delete(void* p, std::size_t) noexcept { std::free(p); }

namespace kirtle {
namespace {

TEST(ParallelFor, DoesEveryItemOnce) {
  for (const unsigned threads : {0u, 1u, 2u, 3u, 16u}) {
    for (const std::size_t items : {0u, 1u, 2u, 15u, 1000u}) {
      std::vector<std::atomic<int>> done(items);
      parallel_for(items, threads, [&](std::size_t item, unsigned) { ++done[item]; });
      for (std::size_t i = 0; i < items; ++i)
        ASSERT_EQ(done[i], 1) << items << " items, " << threads << " threads";
    }
  }
}

TEST(ParallelFor, AWorkerBelongsToOneThreadAtATime) {
  constexpr unsigned kThreads = 4;
  std::vector<std::atomic<int>> inside(kThreads);
  std::atomic<bool> clash{false};
  parallel_for(2000, kThreads, [&](std::size_t, unsigned worker) {
    if (worker >= kThreads || inside[worker].fetch_add(1) != 0) clash = true;
    inside[worker].fetch_sub(1);
  });
  EXPECT_FALSE(clash);
}

TEST(ParallelFor, ReallyUsesSeveralThreads) {
  // Each of two items waits until the other has begun: on one thread this could not end but by the deadline.
  std::atomic<int> begun{0};
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(20);
  parallel_for(2, 2, [&](std::size_t, unsigned) {
    ++begun;
    while (begun < 2 && std::chrono::steady_clock::now() < deadline) std::this_thread::yield();
    EXPECT_EQ(begun, 2);
  });
}

TEST(ParallelFor, ThrowsWhatAnItemThrewAndStopsHandingOut) {
  for (const unsigned threads : {1u, 2u, 8u}) {
    std::atomic<int> done{0};
    try {
      parallel_for(1'000'000, threads, [&](std::size_t item, unsigned) {
        if (item == 10) throw std::runtime_error("item ten");
        ++done;
      });
      FAIL() << "nothing was thrown";
    } catch (const std::runtime_error& e) {
      EXPECT_STREQ(e.what(), "item ten");
    }
    EXPECT_GE(done, threads == 1 ? 10 : 0);
    EXPECT_LT(done, 1'000'000 - 1);
    if (threads == 1) {
      EXPECT_EQ(done, 10);
    }
  }
}

// Room for the list of threads and one thread, and for no more.
TEST(ParallelFor, ThreadsThatHaveNoRoomAreDoneWithout) {
  for (const int room : {1, 2, 3}) {
    std::atomic<int> done{0};
    const std::function<void(std::size_t, unsigned)> work = [&](std::size_t, unsigned) { ++done; };
    allocations_left = room;
    parallel_for(1000, 8, work);
    allocations_left = -1;
    EXPECT_EQ(done, 1000) << room;
  }
}

TEST(ParallelFor, EveryItemThrowingGivesOneException) {
  EXPECT_THROW(parallel_for(100, 4, [](std::size_t, unsigned) { throw std::invalid_argument("each"); }),
               std::invalid_argument);
}

/// Sets KIRTLE_THREADS for a test and puts back what was there.
class ThreadsVariable {
 public:
  explicit ThreadsVariable(const char* value) {
    if (const char* old = std::getenv("KIRTLE_THREADS")) old_ = old;
    ::setenv("KIRTLE_THREADS", value, 1);
  }
  ~ThreadsVariable() {
    if (old_) {
      ::setenv("KIRTLE_THREADS", old_->c_str(), 1);
    } else {
      ::unsetenv("KIRTLE_THREADS");
    }
  }
  ThreadsVariable(const ThreadsVariable&) = delete;
  ThreadsVariable& operator=(const ThreadsVariable&) = delete;

 private:
  std::optional<std::string> old_;
};

TEST(DefaultThreads, FollowsTheVariableWithinItsLimits) {
  const unsigned machine = [] {
    const ThreadsVariable none("");
    return default_threads();
  }();
  EXPECT_GE(machine, 1u);
  const auto with = [](const char* value) {
    const ThreadsVariable set(value);
    return default_threads();
  };
  EXPECT_EQ(with("1"), 1u);
  EXPECT_EQ(with("7"), 7u);
  EXPECT_EQ(with("256"), 256u);
  EXPECT_EQ(with("257"), machine);
  EXPECT_EQ(with("0"), machine);
  EXPECT_EQ(with("-3"), machine);
  EXPECT_EQ(with("many"), machine);
}

}  // namespace
}  // namespace kirtle
