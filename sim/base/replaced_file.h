#pragma once
// Outputs are written beside their target and renamed into place, so that a target is always the old file or
// the new one, whole. Until then they have no name, where the file system can do that (most of Linux's): a
// program that is killed leaves nothing behind. Elsewhere a ".kirtle-" file may be left, which can be
// deleted.
#include <cstdio>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace kirtle {

/// A file being written; several may be at once, by several threads, one thread a file. A new file has the
/// rights that the umask leaves; asking for that sets it to 0 for a moment, so other threads should make
/// files through this alone. Until commit() the target is untouched; without commit() the part-file is
/// removed.
class ReplacedFile {
 public:
  /// Opens a new file beside `target` (which may be a symbolic link: its destination is replaced, the link
  /// kept). Throws InputError naming the target if it is a folder, or if its folder is missing or not
  /// writable.
  explicit ReplacedFile(const std::filesystem::path& target);
  ~ReplacedFile();
  ReplacedFile(const ReplacedFile&) = delete;
  ReplacedFile& operator=(const ReplacedFile&) = delete;

  /// For libraries that write through stdio. Owned by this object.
  std::FILE* stream() const { return stream_; }
  void write(std::span<const std::byte> bytes);
  void write(std::string_view text);

  /// Flushes to disk and renames into place. Throws std::runtime_error naming target and cause (full disk,
  /// say).
  void commit();

 private:
  std::filesystem::path target_;
  std::filesystem::path folder_;
  std::string part_;  ///< path of the file until it takes the target's; empty while it has no name
  std::FILE* stream_ = nullptr;
};

/// A whole file at once. Throws as ReplacedFile does.
void write_file(const std::filesystem::path& target, std::string_view text);

/// Makes a folder for outputs, with those above it; one that is there is fine. Throws InputError naming it.
void make_folder(const std::filesystem::path& folder);

}  // namespace kirtle
