#pragma once
// Runs the built kirtle program as a user would, and catches all it says.
#include <cstddef>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace kirtle::test {

struct RunSettings {
  std::filesystem::path folder;  ///< to run in; empty = the folder of the test
  /// Set for the program, over what the test itself has; KIRTLE_DATA and KIRTLE_THREADS are unset otherwise.
  std::map<std::string, std::string> environment;
  std::size_t address_space_mib = 0;  ///< it may ask for no more memory than this; 0 = no limit
  std::size_t largest_file = 0;  ///< it may write no file longer than this, as on a full disk; 0 = no limit
  bool terminal = false;         ///< standard error is a terminal, not a pipe
  std::string interrupt_after;   ///< Ctrl-C (SIGINT) is sent once standard error has said this; empty = never
  std::filesystem::path output;  ///< standard output goes here instead of to the test
  double seconds = 60;           ///< killed after this long
};

struct ProgramRun {
  int status = 0;  ///< exit status; minus the signal's number if one ended it
  std::string out, err;
  double seconds = 0;
  double peak_mib = 0;  ///< largest memory in use; the start of the test itself counts in
};

/// Throws std::runtime_error if the program cannot be started.
ProgramRun run_kirtle(const std::vector<std::string>& arguments, const RunSettings& settings = {});

/// False under a sanitizer, whose own address space is beyond any limit.
bool memory_can_be_limited();

}  // namespace kirtle::test
