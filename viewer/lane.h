#pragma once
// Work beside the window: one job at a time on a thread of its own, the newest request wins.
#include "base/progress.h"

#include <atomic>
#include <condition_variable>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

namespace kirtle {

/// The window's thread calls every function here; only the work itself runs beside it.
class Lane {
 public:
  /// What a job does, on the lane's thread. What it returns is run by poll(), on the window's thread.
  using Finish = std::function<void()>;
  using Work = std::function<Finish(const Progress&)>;

  Lane();
  ~Lane();  ///< cancels and waits
  Lane(const Lane&) = delete;
  Lane& operator=(const Lane&) = delete;

  /// Starts a job, or puts it in place of the one that waits. A job that runs is cancelled; its result is
  /// dropped.
  void start(std::string name, Work work);
  void cancel();
  /// Runs what finished jobs left to do. on_error gets the text of what a job threw. True if anything was
  /// done.
  bool poll(const std::function<void(const std::exception&)>& on_error);

  bool busy() const;
  double share() const { return share_; }  ///< 0..1 of the job that runs
  std::string name() const;
  void wait();  ///< until nothing runs or waits; results still need poll()

 private:
  struct Job {
    std::string name;
    Work work;
    std::uint64_t number = 0;
  };
  void run();

  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::optional<Job> waiting_, running_;
  std::optional<Finish> finished_;
  std::exception_ptr failed_;
  std::uint64_t number_ = 0;
  std::atomic<std::uint64_t> wanted_now_{0};
  std::atomic<double> share_{0};
  bool quit_ = false;
  std::thread thread_;
};

}  // namespace kirtle
