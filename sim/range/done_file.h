#pragma once
// One finished item as a file: a line of checksum, a line of JSON, the pictures' pixels.
#include "range/range.h"

#include <filesystem>
#include <optional>
#include <string>

namespace kirtle {

/// The item as bytes and back. `scene` and `own_shirt` are the caller's and not in them. Damaged bytes, or
/// bytes of another key, or numbers out of their range: nothing.
std::string done_bytes(const RangeItem& item);
std::optional<RangeItem> item_from(const std::string& bytes, const std::string& key);

/// FOLDER/done/KEY.range
std::filesystem::path done_path(const std::filesystem::path& folder, const std::string& key);

/// planned: its key and shirt. Nothing: there is none. A damaged one, or one of another shirt, is told in
/// notes, as a warning, and counts as none.
std::optional<RangeItem> read_done(const std::filesystem::path& folder, const RangeItem& planned,
                                   Diagnostics& notes);

}  // namespace kirtle
