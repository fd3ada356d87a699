#pragma once
// The tags of one TIFF directory as they stand in the file. libtiff mends some before it shows them (it
// rewrites ExtraSamples of separated pictures of more than four inks, and drops a DotRange that is given ink
// by ink), and a plate needs them as written. Internal to plate/io.
#include "plate/io/source_file.h"

#include <optional>
#include <vector>

namespace kirtle::detail {

class TiffTags {
 public:
  /// The directory at `offset`. Throws InputError if it does not lie inside the file.
  TiffTags(const SourceFile& file, std::uint64_t offset);

  /// Whole numbers (types BYTE, SHORT, LONG), at most `most` of them; empty optional if the tag is missing.
  /// Throws InputError if it holds more, is of another type, or lies outside the file. `name` is for the
  /// message.
  std::optional<std::vector<std::uint32_t>> numbers(int tag, const char* name, std::uint64_t most) const;
  /// Bytes of a text tag (ASCII), at most 64 KiB.
  std::optional<std::string> text(int tag, const char* name) const;

 private:
  struct Found {
    int type = 0;
    std::uint64_t count = 0;
    std::vector<std::uint8_t> bytes;
  };
  std::optional<Found> find(int tag, const char* name, std::uint64_t most) const;
  std::uint64_t number(const std::uint8_t* at, int bytes) const;

  const SourceFile& file_;
  bool big_endian_ = false, big_tiff_ = false;
  std::vector<std::uint8_t> entries_;
};

}  // namespace kirtle::detail
