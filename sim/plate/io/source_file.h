#pragma once
// A plate's file, open for reading, and the refusals that name it. Internal to plate/io.
#include "base/diagnostics.h"
#include "plate/io/plate_file.h"

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <span>
#include <string>

namespace kirtle::detail {

class SourceFile {
 public:
  /// Throws InputError if the file is missing, a folder, not an ordinary file, not readable or empty.
  explicit SourceFile(const std::filesystem::path& file);
  ~SourceFile();
  SourceFile(const SourceFile&) = delete;
  SourceFile& operator=(const SourceFile&) = delete;

  std::uint64_t size() const { return size_; }
  std::FILE* stream() const { return stream_; }
  int descriptor() const;
  Place place() const { return {name_, 0, 0}; }
  const std::filesystem::path& path() const { return path_; }

  /// Reads at `offset` without moving the stream; returns how many bytes there were.
  std::size_t read_at(std::uint64_t offset, std::span<std::uint8_t> bytes) const;

  /// Every message from now on is about this page (from 0); -1: about the file.
  void talk_of_page(int page) { page_ = page; }
  /// "page 2: MESSAGE", or the message alone.
  std::string about_page(const std::string& message) const;

  [[noreturn]] void refuse(const std::string& message, const std::string& remedy) const;
  /// The file is damaged or cut short: `what`, with the remedy for that.
  [[noreturn]] void damaged(const std::string& what) const;
  /// Reading failed with row `row` (from 0) of `rows`; `detail` is the library's word, may be empty.
  [[noreturn]] void damaged_at_row(int row, int rows, const std::string& detail) const;
  /// Another program wrote the file since it was listed.
  [[noreturn]] void changed() const;

 private:
  std::filesystem::path path_;
  std::string name_;
  std::FILE* stream_ = nullptr;
  std::uint64_t size_ = 0;
  int page_ = -1;
};

/// Throws InputError unless width x height is within the limits of a plate.
void check_plate_size(const SourceFile& file, std::uint64_t width, std::uint64_t height);

/// Pixels per inch of a picture that states `x` and `y`; 0 if neither says anything. Whole numbers that were
/// rounded or cut off to whole pixels per metre or hundredths per centimetre come back whole (11811 per metre
/// is 300, 5905 and 5906 are 150). Throws InputError if x and y differ.
double agreed_ppi(const SourceFile& file, double x_ppi, double y_ppi);

/// What the notices say of tags that a plate's numbers do not need: "the gamma tag", "the colour profile".
void note_ignored_colour(const SourceFile& file, const std::vector<std::string>& ignored, Diagnostics& notes);

bool is_png(std::span<const std::uint8_t> head);
bool is_tiff(std::span<const std::uint8_t> head);

}  // namespace kirtle::detail
