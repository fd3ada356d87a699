#include "base/diagnostics.h"
#include "fuzz/readers.h"
#include "proof/sha256.h"
#include "range/done_file.h"

#include <algorithm>
#include <cmath>

namespace kirtle::test {

void feed_done(std::span<const std::uint8_t> bytes) {
  // Behind a right checksum, as a piece that another version or another hand wrote.
  const std::string body(bytes.begin(), bytes.end());
  const std::string key(64, '0');
  const auto item = item_from("kirtle range 1 " + sha256_hex(body) + "\n" + body, key);
  if (!item) return;
  const std::string again = done_bytes(*item);
  if (!item_from(again, key)) found("a piece that was read cannot be written and read again");
  // What is put together from it: one line of CSV for each of its own, whatever its texts hold.
  RangeResult result;
  result.items.push_back(*item);
  const RangeLine& best = best_line(result.items.front());
  if (!std::isfinite(best.figures.difference_mean)) found("a figure that is none");
  const std::string csv = range_csv({Scene{}}, result);
  if (static_cast<std::size_t>(std::count(csv.begin(), csv.end(), '\n')) != 1 + item->lines.size())
    found("a CSV file with other lines than it was made of");
}

void feed_list(std::span<const std::uint8_t> bytes) {
  const std::string file = as_file(bytes, "shirts.txt");
  try {
    for (const std::string& id : read_shirt_list(file))
      if (id.empty() || id.find('/') != std::string::npos) found("an id that is none");
  } catch (const InputError&) {
  }
}

}  // namespace kirtle::test
