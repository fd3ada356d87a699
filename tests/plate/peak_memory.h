#pragma once
// How much memory this process has used at most.
#include <cstddef>
#include <fstream>
#include <string>

namespace kirtle::test {

/// This process's peak memory since the last call of forget_peak(), in bytes; 0 if the system does not tell.
inline std::size_t peak_bytes() {
  std::ifstream in("/proc/self/status");
  for (std::string line; std::getline(in, line);) {
    if (line.rfind("VmHWM:", 0) == 0) return std::stoull(line.substr(6)) * 1024;
  }
  return 0;
}

inline bool forget_peak() {
  std::ofstream out("/proc/self/clear_refs");
  out << "5" << std::flush;
  return out.good();
}

}  // namespace kirtle::test
