#pragma once
// Times of pieces of work that take turns.
#include <algorithm>
#include <chrono>
#include <cstddef>
#include <ctime>
#include <functional>
#include <vector>

namespace kirtle::bench {

/// Wall time, and the processor time of all threads, which other programs on the machine do not lengthen.
class Timer {
 public:
  void time(const std::function<void()>& work) {
    const auto start = std::chrono::steady_clock::now();
    const double cpu = cpu_s();
    work();
    cpu_.push_back(cpu_s() - cpu);
    wall_.push_back(std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
  }
  double wall() { return median(wall_); }
  double cpu() { return median(cpu_); }

 private:
  static double cpu_s() {
    timespec t{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
  }
  static double median(std::vector<double>& s) {
    const auto middle = s.begin() + static_cast<std::ptrdiff_t>(s.size() / 2);
    std::nth_element(s.begin(), middle, s.end());
    return *middle;
  }
  std::vector<double> wall_, cpu_;
};

}  // namespace kirtle::bench
