#pragma once
// Every reader of users' files, fed with bytes that may be anything. A reader may refuse them by InputError,
// or take them; whatever else comes of it is a finding.
#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace kirtle::test {

using Bytes = std::vector<std::uint8_t>;

// One a kind of file.
void feed_scene(std::span<const std::uint8_t> bytes);
/// The same, and what is accepted is printed at a few film values: what the limits let through must compute,
/// and give a colour. Slow.
void feed_print(std::span<const std::uint8_t> bytes);
void feed_order(std::span<const std::uint8_t> bytes);
void feed_ink(std::span<const std::uint8_t> bytes);
void feed_shirt(std::span<const std::uint8_t> bytes);
void feed_record(
    std::span<const std::uint8_t> bytes);             ///< as mesh, press, fibre and dye, one after the other
void feed_png(std::span<const std::uint8_t> bytes);   ///< plates
void feed_tiff(std::span<const std::uint8_t> bytes);  ///< plates
void feed_art(std::span<const std::uint8_t> bytes);   ///< the colour PNG of [compare]
void feed_icc(std::span<const std::uint8_t> bytes);   ///< the profile of --profile, and one row through it
void feed_done(
    std::span<const std::uint8_t> bytes);  ///< a finished piece of `kirtle range`; checksum made good
void feed_list(std::span<const std::uint8_t> bytes);  ///< --shirts-file

struct Reader {
  const char* name;
  void (*feed)(std::span<const std::uint8_t>);
};
const std::vector<Reader>& readers();

/// Small good files of a reader, by its name: records and scenes that come with Kirtle, files made by libpng
/// and libtiff. Throws std::runtime_error for a name that is none.
std::vector<Bytes> seeds_of(const std::string& reader);

/// What is wrong with the way in which a reader failed: throws std::logic_error with `what`, which no reader
/// throws.
[[noreturn]] void found(const std::string& what);

/// Bytes as a file, always of the same path; its folder has the plates of the worked scenes
/// in "plates", and a scene, "moth.toml".
std::string as_file(std::span<const std::uint8_t> bytes, const std::string& name);

}  // namespace kirtle::test
