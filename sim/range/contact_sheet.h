#pragma once
// The range on paper: what to take for each shirt, then every design on every shirt as a small picture, those
// that work first.
#include "proof/page_file.h"
#include "range/range.h"

namespace kirtle {

struct ContactSheet {
  PageDocument document;
  std::size_t first_pictures = 0;  ///< the first page with pictures, from 0
};

/// result: with at least one item, each with lines.
ContactSheet contact_sheet(const std::vector<Scene>& scenes, const RangeResult& result);

}  // namespace kirtle
