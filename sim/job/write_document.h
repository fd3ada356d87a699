#pragma once
// A tree of values as TOML text.
#include "job/document.h"

#include <filesystem>
#include <string>
#include <string_view>

namespace kirtle {

/// A TOML basic string, quoted.
std::string toml_text(std::string_view text);

/// A path as seen from a folder, with forward slashes; where it cannot be made absolute, as it is.
std::string path_from(const std::filesystem::path& file, const std::filesystem::path& folder);

/// The tree as a TOML file that reads back as the same tree: plain keys first, then tables and arrays of
/// tables, each in the order of the tree. root must be a table.
std::string document_text(const Value& root);

}  // namespace kirtle
