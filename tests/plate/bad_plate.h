#pragma once
// What the tests of refused files share.
#include "plate/one_plate.h"
#include "plate/plate_files.h"

#include <gtest/gtest.h>

namespace kirtle::test {

/// Greys that deflate and LZW cannot shorten, so that most bytes of a file are picture.
inline unsigned noise(int x, int y) {
  std::uint32_t h = static_cast<std::uint32_t>(x) * 0x9e3779b1u + static_cast<std::uint32_t>(y) * 0x85ebca77u;
  h = (h ^ h >> 15) * 0x2c1b3c6du;
  h = (h ^ h >> 12) * 0x297a2d39u;
  return (h ^ h >> 15) & 255u;
}
inline unsigned noise_sample(int x, int y, int) { return noise(x, y); }

/// Reads files that must be refused.
class BadPlate : public testing::Test {
 protected:
  /// The text of the InputError; the header alone must not pass where `header_too` says so.
  std::string refusal(const std::filesystem::path& file, bool header_too = true) {
    Diagnostics notes;
    std::string header_text = "(accepted)";
    try {
      list_plate(file);
    } catch (const InputError& e) {
      header_text = e.what();
    }
    std::string text = "(accepted)";
    try {
      read_plate(file, Polarity::dark_is_ink, notes);
    } catch (const InputError& e) {
      text = e.what();
    }
    if (header_too) {
      EXPECT_EQ(header_text, text);
    }
    EXPECT_TRUE(text == "(accepted)" || notes.all().empty());
    return text;
  }
  std::string refusal_of_bytes(const std::string& bytes) {
    write_bytes(folder / "x.png", {bytes.begin(), bytes.end()});
    return refusal(folder / "x.png");
  }
  std::string place(const std::string& name) const { return (folder / name).string(); }
  TempFolder folder;
};

/// An 8 bit grey TIFF of one strip that says what it likes.
inline std::vector<TiffEntry> tiff_that_claims(std::uint32_t width, std::uint32_t height,
                                               std::uint32_t stored) {
  std::vector<TiffEntry> entries{{256, 4, {width}}, {257, 4, {height}}, {258, 3, {8}},
                                 {259, 3, {1}},     {262, 3, {1}},      {273, 4, {0}},
                                 {277, 3, {1}},     {278, 4, {height}}, {279, 4, {stored}}};
  entries[5].values[0] = hand_made_data_offset(entries);
  return entries;
}

}  // namespace kirtle::test
