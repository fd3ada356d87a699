#pragma once
// Checksums that say whether two files are the same. Here, because GLib comes with what pages are made with.
#include <filesystem>
#include <string>
#include <string_view>

namespace kirtle {

/// SHA-256 of bytes, 64 hex digits. Source: FIPS 180-4, by GLib.
std::string sha256_hex(std::string_view bytes);
/// The same of a file, read piece by piece: plates may be larger than memory. Throws InputError if it cannot
/// be read.
std::string sha256_of_file(const std::filesystem::path& file);

}  // namespace kirtle
