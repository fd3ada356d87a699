#include "lane.h"

#include <utility>

namespace kirtle {

Lane::Lane() : thread_([this] { run(); }) {}

Lane::~Lane() {
  {
    const std::lock_guard lock(mutex_);
    quit_ = true;
    waiting_.reset();
    wanted_now_ = ++number_;
  }
  changed_.notify_all();
  thread_.join();
}

void Lane::start(std::string name, Work work) {
  {
    const std::lock_guard lock(mutex_);
    wanted_now_ = ++number_;
    waiting_ = Job{std::move(name), std::move(work), number_};
    finished_.reset();
    failed_ = nullptr;
  }
  changed_.notify_all();
}

void Lane::cancel() {
  const std::lock_guard lock(mutex_);
  wanted_now_ = ++number_;
  waiting_.reset();
  finished_.reset();
  failed_ = nullptr;
}

bool Lane::busy() const {
  const std::lock_guard lock(mutex_);
  return waiting_ || (running_ && running_->number == wanted_now_);
}

std::string Lane::name() const {
  const std::lock_guard lock(mutex_);
  return waiting_ ? waiting_->name : running_ ? running_->name : std::string();
}

void Lane::wait() {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [this] { return !waiting_ && !running_; });
}

bool Lane::poll(const std::function<void(const std::exception&)>& on_error) {
  std::optional<Finish> finish;
  std::exception_ptr failed;
  {
    const std::lock_guard lock(mutex_);
    finish = std::exchange(finished_, std::nullopt);
    failed = std::exchange(failed_, nullptr);
  }
  if (failed) {
    try {
      std::rethrow_exception(failed);
    } catch (const std::exception& e) {
      on_error(e);
    }
  }
  if (finish && *finish) (*finish)();
  return finish.has_value() || failed != nullptr;
}

void Lane::run() {
  std::unique_lock lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return quit_ || waiting_; });
    if (quit_) return;
    running_ = std::exchange(waiting_, std::nullopt);
    const std::uint64_t number = running_->number;
    const Work work = running_->work;
    share_ = 0;
    lock.unlock();
    Finish finish;
    std::exception_ptr failed;
    try {
      finish = work([this, number](double share) {
        share_ = share;
        return wanted_now_ == number;
      });
    } catch (const Cancelled&) {
    } catch (...) {
      failed = std::current_exception();
    }
    lock.lock();
    running_.reset();
    if (wanted_now_ == number) {
      finished_ = std::move(finish);
      failed_ = failed;
    }
    changed_.notify_all();
  }
}

}  // namespace kirtle
