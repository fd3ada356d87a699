#pragma once
// A small scene on disk for tests of the viewer: two plates of 120 x 90 pixels at 100 per inch.
#include "job/files.h"
#include "plate/io/write_picture.h"
#include "session.h"

#include <gtest/gtest.h>

namespace kirtle::test {

class ViewScene {
 public:
  ViewScene() {
    ::unsetenv("KIRTLE_DATA");
    std::vector<std::uint8_t> base(120 * 90, 255), red(120 * 90, 255);
    for (int y = 10; y < 80; ++y) {
      for (int x = 10; x < 110; ++x) base[static_cast<std::size_t>(y * 120 + x)] = 0;
      for (int x = 20; x < 60; ++x) red[static_cast<std::size_t>(y * 120 + x)] = 0;
      for (int x = 60; x < 100; ++x)
        red[static_cast<std::size_t>(y * 120 + x)] = static_cast<std::uint8_t>(60 + 4 * (x - 60));
    }
    write_grey_png(folder.path() / "base.png", 120, 90, 100, base);
    write_grey_png(folder.path() / "red.png", 120, 90, 100, red);
    file = folder.write("scene.toml", kText);
  }

  static constexpr const char* kText =
      "# A comment that stays.\n"
      "schema = 1\n"
      "title = \"Two plates\"\n"
      "shirt = \"black-cotton\"  # the first\n"
      "other_shirts = [\"navy-cotton\"]\n"
      "\n"
      "[press]\n"
      "preset = \"average-automatic\"\n"
      "\n"
      "[[plate]]\n"
      "name = \"base\"\n"
      "file = \"base.png\"\n"
      "ink_is = \"dark\"\n"
      "ink = \"base-white\"\n"
      "mesh = \"61-64\"\n"
      "flash = true\n"
      "\n"
      "[[plate]]\n"
      "name = \"red\"\n"
      "file = \"red.png\"\n"
      "ink_is = \"dark\"\n"
      "ink = \"scarlet\"\n"
      "mesh = \"90-48\"   # fine\n"
      "lpi = 45\n"
      "angle = 52.5\n";

  const TempFolder folder;
  std::filesystem::path file;
};

inline bool says(const Session& s, Severity severity, const std::string& part) {
  for (const Message& m : s.messages()) {
    if (m.severity == severity && m.text.find(part) != std::string::npos) return true;
  }
  return false;
}

}  // namespace kirtle::test
