#include "base/parallel.h"

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace kirtle {

unsigned default_threads() {
  if (const char* text = std::getenv("KIRTLE_THREADS")) {
    const long n = std::strtol(text, nullptr, 10);
    if (n >= 1 && n <= 256) return static_cast<unsigned>(n);
  }
  return std::max(1u, std::thread::hardware_concurrency());
}

void parallel_for(std::size_t items, unsigned threads,
                  const std::function<void(std::size_t, unsigned)>& work) {
  if (threads == 0) threads = default_threads();
  threads = static_cast<unsigned>(std::min<std::size_t>(threads, std::max<std::size_t>(items, 1)));
  std::atomic<std::size_t> next{0};
  std::exception_ptr failure;
  std::mutex failure_mutex;
  const auto run = [&](unsigned worker) {
    for (std::size_t item = next.fetch_add(1); item < items; item = next.fetch_add(1)) {
      try {
        work(item, worker);
      } catch (...) {
        const std::lock_guard lock(failure_mutex);
        if (!failure) failure = std::current_exception();
        next.store(items);
      }
    }
  };
  std::vector<std::thread> pool;
  pool.reserve(threads);
  for (unsigned worker = 1; worker < threads; ++worker) {
    // Items are handed out one by one, so fewer threads than asked for do the same work. Whatever the reason,
    // no room for its stack or none for its state: those that run must be joined.
    try {
      pool.emplace_back(run, worker);
    } catch (const std::exception&) {
      break;
    }
  }
  run(0);
  for (std::thread& t : pool) t.join();
  if (failure) std::rethrow_exception(failure);
}

}  // namespace kirtle
