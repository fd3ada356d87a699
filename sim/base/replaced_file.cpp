#include "base/replaced_file.h"

#include "base/diagnostics.h"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <mutex>
#include <stdexcept>
#include <string>
#include <sys/stat.h>
#include <unistd.h>

namespace kirtle {
namespace fs = std::filesystem;

namespace {
[[noreturn]] void refuse(const fs::path& target, const std::string& why) {
  throw InputError({target.string(), 0, 0}, "cannot write this file: " + why,
                   "name a file in a folder that exists and that you may write to; nothing was written");
}

/// What is taken from the rights of new files. It can only be asked for by setting it: one thread at a time,
/// or one would take the other's 0 for it and leave that behind.
mode_t umask_now() {
  static std::mutex guard;
  const std::lock_guard lock(guard);
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return mask;
}

/// A file without a name: whatever ends this program, even the power, nothing of it is left. -1 where the
/// file system has none.
int open_nameless(const fs::path& folder) {
  if (::access("/proc/self/fd", X_OK) != 0) return -1;  // it is given its name through this
  return ::open(folder.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
}

/// Gives a nameless file a name in `folder` that no other file has. False: errno says why.
bool give_name(int fd, const fs::path& folder, std::string& name) {
  const std::string from = "/proc/self/fd/" + std::to_string(fd);
  for (int number = 0; number < 1000; ++number) {
    name = (folder / (".kirtle-" + std::to_string(::getpid()) + "-" + std::to_string(number))).string();
    if (::linkat(AT_FDCWD, from.c_str(), AT_FDCWD, name.c_str(), AT_SYMLINK_FOLLOW) == 0) return true;
    if (errno != EEXIST) return false;
  }
  return false;
}
}  // namespace

ReplacedFile::ReplacedFile(const fs::path& target) : target_(target) {
  std::error_code ignored;
  // One link at a time: weakly_canonical stops at a link whose destination does not exist yet. Linux
  // allows 40.
  for (int links = 0; links < 40 && fs::is_symlink(fs::symlink_status(target_, ignored)); ++links) {
    target_ = target_.parent_path() / fs::read_symlink(target_, ignored);
  }
  if (fs::is_symlink(fs::symlink_status(target_, ignored))) refuse(target, "its links go in a circle");
  struct stat old {};
  // A name that is too long, say: now, rather than when all is worked out.
  if (::lstat(target_.c_str(), &old) != 0 && errno != ENOENT) refuse(target, std::strerror(errno));
  if (fs::is_directory(target_, ignored)) refuse(target, "it is a folder");
  const bool exists = fs::exists(target_, ignored);
  if (exists && !fs::is_regular_file(target_, ignored)) refuse(target, "it is not an ordinary file");
  if (exists && ::access(target_.c_str(), W_OK) != 0) refuse(target, std::strerror(errno));
  folder_ = target_.parent_path();
  if (folder_.empty()) folder_ = ".";
  int fd = open_nameless(folder_);
  if (fd < 0) {
    part_ = (folder_ / ".kirtle-XXXXXX").string();
    fd = ::mkstemp(part_.data());
    if (fd < 0) {
      part_.clear();
      refuse(target, std::strerror(errno));
    }
  }
  // Give it what an ordinary new file, or the file being replaced, would have.
  const mode_t mask = umask_now();
  const bool keep = exists && ::stat(target_.c_str(), &old) == 0;
  if (::fchmod(fd, keep ? (old.st_mode & 07777) : (0666 & ~mask)) != 0) errno = 0;
  stream_ = ::fdopen(fd, "w+b");
  if (stream_ == nullptr) {
    const int cause = errno;
    ::close(fd);
    if (!part_.empty()) ::unlink(part_.c_str());
    refuse(target, std::strerror(cause));
  }
}

ReplacedFile::~ReplacedFile() {
  if (stream_ != nullptr) std::fclose(stream_);
  if (!part_.empty()) ::unlink(part_.c_str());
}

void ReplacedFile::write(std::span<const std::byte> bytes) {
  if (std::fwrite(bytes.data(), 1, bytes.size(), stream_) != bytes.size()) {
    throw std::runtime_error(target_.string() + ": cannot write: " + std::strerror(errno));
  }
}

void ReplacedFile::write(std::string_view text) { write(std::as_bytes(std::span(text))); }

void ReplacedFile::commit() {
  if (std::fflush(stream_) != 0 || std::ferror(stream_) != 0 || ::fsync(::fileno(stream_)) != 0) {
    throw std::runtime_error(target_.string() + ": cannot write: " + std::strerror(errno));
  }
  if (part_.empty()) {
    std::string name;
    if (!give_name(::fileno(stream_), folder_, name))
      throw std::runtime_error(target_.string() + ": cannot write: " + std::strerror(errno));
    part_ = name;
  }
  const int closed = std::fclose(stream_);
  stream_ = nullptr;
  if (closed != 0 || ::rename(part_.c_str(), target_.c_str()) != 0) {
    throw std::runtime_error(target_.string() + ": cannot write: " + std::strerror(errno));
  }
  part_.clear();
}

void write_file(const std::filesystem::path& target, std::string_view text) {
  ReplacedFile file(target);
  file.write(text);
  file.commit();
}

void make_folder(const std::filesystem::path& folder) {
  std::error_code failed;
  std::filesystem::create_directories(folder, failed);
  if (failed || !std::filesystem::is_directory(folder)) {
    throw InputError({folder.string(), 0, 0},
                     "cannot make this folder" + (failed ? ": " + failed.message() : ""),
                     "name a folder where you may write");
  }
}

}  // namespace kirtle
