#pragma once
// TIFF tags that lie, and the message each must end in.
#include "plate/plate_files.h"

#include <string>
#include <vector>

namespace kirtle::test {

using Tags = std::vector<TiffEntry>;

/// 20 x 30, 8 bit, one strip of `samples` samples a pixel.
Tags honest_tags(std::uint32_t photometric, std::uint32_t samples);

/// One tag told otherwise, or left out if it has neither value nor count.
void tell(Tags& tags, const TiffEntry& lie);

struct Lie {
  const char* name;
  std::uint32_t photometric, samples;
  std::vector<TiffEntry> lies;
  const char* message;  // part of it
};
std::vector<Lie> lying_tags();

}  // namespace kirtle::test
