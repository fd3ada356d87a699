#include "cmd/run_program.h"

#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <stdexcept>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>

namespace kirtle::test {

namespace {

/// Both ends of a pipe, closed when done with.
struct Ends {
  int read = -1, write = -1;
  Ends() = default;
  Ends(const Ends&) = delete;
  Ends& operator=(const Ends&) = delete;
  ~Ends() {
    close_read();
    close_write();
  }
  void close_read() {
    if (read >= 0) ::close(std::exchange(read, -1));
  }
  void close_write() {
    if (write >= 0) ::close(std::exchange(write, -1));
  }
};

void open_pipe(Ends& ends) {
  std::array<int, 2> fds{};
  if (::pipe2(fds.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  ends.read = fds[0];
  ends.write = fds[1];
}

void open_terminal(Ends& ends) {
  if (::openpty(&ends.read, &ends.write, nullptr, nullptr, nullptr) != 0)
    throw std::runtime_error("no pseudo-terminal");
  ::fcntl(ends.read, F_SETFD, FD_CLOEXEC);
  ::fcntl(ends.write, F_SETFD, FD_CLOEXEC);
}

void limit(int resource, std::size_t most) {
  const rlimit value{most, most};
  if (::setrlimit(static_cast<__rlimit_resource>(resource), &value) != 0) ::_exit(126);
}

/// In the child; never returns.
[[noreturn]] void become_kirtle(std::vector<char*>& argv, const RunSettings& s, int out, int err) {
  if (!s.folder.empty() && ::chdir(s.folder.c_str()) != 0) ::_exit(126);
  if (!s.output.empty()) {
    out = ::open(s.output.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0644);
    if (out < 0) ::_exit(126);
  }
  const int nothing = ::open("/dev/null", O_RDONLY);
  if (::dup2(nothing, STDIN_FILENO) < 0 || ::dup2(out, STDOUT_FILENO) < 0 || ::dup2(err, STDERR_FILENO) < 0)
    ::_exit(126);
  ::unsetenv("KIRTLE_DATA");
  ::unsetenv("KIRTLE_THREADS");
  for (const auto& [name, value] : s.environment) ::setenv(name.c_str(), value.c_str(), 1);
  if (s.address_space_mib > 0) limit(RLIMIT_AS, s.address_space_mib << 20);
  if (s.largest_file > 0) {
    ::signal(SIGXFSZ, SIG_IGN);  // so that the write fails, as on a full disk
    limit(RLIMIT_FSIZE, s.largest_file);
  }
  ::execv(argv.front(), argv.data());
  ::_exit(127);
}

/// Appends what is there; closes the end when the other side has.
void take(Ends& ends, std::string& to) {
  std::array<char, 65536> bytes{};
  const ssize_t got = ::read(ends.read, bytes.data(), bytes.size());
  if (got > 0) {
    to.append(bytes.data(), static_cast<std::size_t>(got));
  } else if (!(got < 0 && errno == EINTR)) {
    ends.close_read();  // a pseudo-terminal ends with EIO
  }
}

using Clock = std::chrono::steady_clock;
double since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

}  // namespace

ProgramRun run_kirtle(const std::vector<std::string>& arguments, const RunSettings& settings) {
  std::vector<std::string> words{KIRTLE_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& word : words) argv.push_back(word.data());
  argv.push_back(nullptr);

  Ends out, err;
  open_pipe(out);
  if (settings.terminal) {
    open_terminal(err);
  } else {
    open_pipe(err);
  }
  const Clock::time_point start = Clock::now();
  const pid_t child = ::fork();
  if (child < 0) throw std::runtime_error("cannot fork");
  if (child == 0) become_kirtle(argv, settings, out.write, err.write);
  out.close_write();
  err.close_write();

  ProgramRun run;
  bool interrupted = false;
  while (out.read >= 0 || err.read >= 0) {
    std::array<pollfd, 2> ends{pollfd{out.read, POLLIN, 0}, pollfd{err.read, POLLIN, 0}};
    ::poll(ends.data(), ends.size(), 100);
    if (ends[0].revents != 0) take(out, run.out);
    if (ends[1].revents != 0) take(err, run.err);
    if (!interrupted && !settings.interrupt_after.empty() &&
        run.err.find(settings.interrupt_after) != std::string::npos) {
      interrupted = true;
      ::kill(child, SIGINT);
    }
    if (since(start) > settings.seconds) ::kill(child, SIGKILL);
  }
  int state = 0;
  rusage usage{};
  while (::wait4(child, &state, 0, &usage) < 0 && errno == EINTR) {
  }
  run.seconds = since(start);
  run.peak_mib = static_cast<double>(usage.ru_maxrss) / 1024;
  run.status = WIFEXITED(state) ? WEXITSTATUS(state) : -WTERMSIG(state);
  if (run.status == 126 || run.status == 127)
    throw std::runtime_error("cannot start " + words.front() + " as asked");
  return run;
}

bool memory_can_be_limited() {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  return false;
#else
  return true;
#endif
}

}  // namespace kirtle::test
