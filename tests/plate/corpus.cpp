#include "plate/corpus.h"

#include <algorithm>
#include <cstdlib>
#include <gtest/gtest.h>

namespace kirtle::test {
namespace fs = std::filesystem;

unsigned corpus_ink(int plate, int x, int y, int levels) {
  if (x == 0 || y == 0 || x == kCorpusWidth - 1 || y == kCorpusHeight - 1) return 0;
  const int ink8 = (x * 7 + y * 13 + x * y + 41 * plate) % 256;
  if (levels == 65536) return static_cast<unsigned>(ink8 * 257 ^ (x + y) % 2);  // uses the low byte too
  return static_cast<unsigned>(ink8 * levels / 256);
}

std::vector<std::uint16_t> corpus_film(int plate, int levels) {
  std::vector<std::uint16_t> film;
  for (int y = 0; y < kCorpusHeight; ++y) {
    for (int x = 0; x < kCorpusWidth; ++x) {
      film.push_back(static_cast<std::uint16_t>(corpus_ink(plate, x, y, levels) * 65535u /
                                                static_cast<unsigned>(levels - 1)));
    }
  }
  return film;
}

std::vector<std::uint16_t> film_of(const PlateImage& image) {
  if (image.bits == 16) return image.ink16;
  std::vector<std::uint16_t> film;
  for (const std::uint8_t v : image.ink8) film.push_back(static_cast<std::uint16_t>(v * 257));
  return film;
}

std::vector<PlateImage> read_all(const fs::path& file, Diagnostics& notes, std::vector<std::string>* names) {
  std::vector<PlateEntry> plates;
  for (const PlateEntry& entry : list_plates(file, notes)) {
    if (!entry.composite) plates.push_back(entry);
  }
  if (names != nullptr) {
    for (const PlateEntry& entry : plates) names->push_back(entry.name);
  }
  return read_plates(plates, Polarity::dark_is_ink, notes);
}

namespace {
void expect_plate(const PlateImage& image, int plate, int levels, int tolerance) {
  ASSERT_EQ(image.width, kCorpusWidth);
  ASSERT_EQ(image.height, kCorpusHeight);
  EXPECT_EQ(image.dots, levels == 2);
  const auto got = film_of(image), wanted = corpus_film(plate, levels);
  ASSERT_EQ(got.size(), wanted.size());
  for (std::size_t i = 0; i < got.size(); ++i) {
    ASSERT_LE(std::abs(got[i] - wanted[i]), tolerance)
        << "plate " << plate << ", column " << i % kCorpusWidth + 1 << ", row " << i / kCorpusWidth + 1
        << ": " << got[i] << " and not " << wanted[i];
  }
}
}  // namespace

void expect_corpus(const fs::path& file, int plates, int levels, int tolerance) {
  SCOPED_TRACE(file.filename().string());
  try {
    Diagnostics notes;
    std::vector<PlateEntry> entries;
    for (const PlateEntry& entry : list_plates(file, notes)) {
      if (!entry.composite) entries.push_back(entry);
    }
    ASSERT_EQ(static_cast<int>(entries.size()), plates);
    const auto images = read_plates(entries, Polarity::dark_is_ink, notes);
    for (int i = 0; i < plates; ++i) {
      EXPECT_EQ(images[static_cast<std::size_t>(i)].name, entries[static_cast<std::size_t>(i)].name);
      EXPECT_FALSE(entries[static_cast<std::size_t>(i)].name.empty());
      expect_plate(images[static_cast<std::size_t>(i)], i, levels, tolerance);
      if (testing::Test::HasFatalFailure()) return;
    }
    for (const Diagnostic& d : notes.all()) {
      EXPECT_EQ(d.message.find("is the polarity right?"), std::string::npos) << d.message;
    }
    if (plates == 1) return;
    expect_plate(read_plates({entries.back()}, Polarity::dark_is_ink, notes)[0], plates - 1, levels,
                 tolerance);
    const auto swapped = read_plates({entries[1], entries[0]}, Polarity::dark_is_ink, notes);
    expect_plate(swapped[0], 1, levels, tolerance);
    expect_plate(swapped[1], 0, levels, tolerance);
  } catch (const InputError& e) {
    FAIL() << e.what();
  }
}

bool run_program(const std::string& command) {
  return std::system(("( " + command + " ) >/dev/null 2>&1").c_str()) == 0;
}

bool has_program(const std::string& name) { return run_program("command -v " + name); }

void write_grey_map(const fs::path& file, int plate, int levels) {
  const bool bits = levels == 2;
  const std::string head = (bits ? "P4 " : "P5 ") + std::to_string(kCorpusWidth) + " " +
                           std::to_string(kCorpusHeight) + (bits ? "\n" : " 255\n");
  std::vector<std::uint8_t> bytes(head.begin(), head.end());
  for (int y = 0; y < kCorpusHeight; ++y) {
    if (bits) bytes.resize(bytes.size() + (kCorpusWidth + 7) / 8);
    for (int x = 0; x < kCorpusWidth; ++x) {
      const unsigned ink = corpus_ink(plate, x, y, levels);
      if (bits) {
        bytes[bytes.size() - (kCorpusWidth + 7) / 8 + static_cast<std::size_t>(x / 8)] |=
            static_cast<std::uint8_t>(ink << (7 - x % 8));  // 1 is black
      } else {
        bytes.push_back(static_cast<std::uint8_t>(255 - ink * 255 / static_cast<unsigned>(levels - 1)));
      }
    }
  }
  write_bytes(file, bytes);
}

}  // namespace kirtle::test
