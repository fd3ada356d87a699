// Bad files: lying headers, absurd counts, wrong ink counts, bombs, cuts. Each is read in a process of its
// own whose memory is limited, and must end in exactly one message with a remedy.
#include "plate/corpus.h"
#include "plate/lying_tags.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <random>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>
#include <zlib.h>

#if defined(__SANITIZE_ADDRESS__)
#define KIRTLE_LIMIT_MEMORY 0  // the sanitizer maps all memory there is
#else
#define KIRTLE_LIMIT_MEMORY 1
#endif

namespace kirtle {
namespace {

using test::bytes_of;
using test::corpus_ink;
using test::hand_made_tiff;
using test::honest_tags;
using test::kCorpusHeight;
using test::kCorpusWidth;
using test::Lie;
using test::lying_tags;
using test::make_png;
using test::make_tiff;
using test::PngSpec;
using test::Tags;
using test::tell;
using test::TempFolder;
using test::TiffEntry;
using test::TiffSpec;
using test::write_bytes;
using testing::HasSubstr;

constexpr std::size_t kMemoryBeyondNow = std::size_t{80} << 20;

std::size_t pages_mapped() {
  std::ifstream in("/proc/self/statm");
  std::size_t pages = 0;
  in >> pages;
  return pages;
}

/// "accepted: N plates", or the only message of the InputError, or what else went wrong.
std::string outcome_here(const std::filesystem::path& file) {
  try {
    Diagnostics notes;
    return "accepted: " + std::to_string(test::read_all(file, notes).size()) + " plates";
  } catch (const InputError& e) {
    const auto& all = e.diagnostics().all();
    if (all.size() != 1) return "not one message: " + std::string(e.what());
    if (all[0].remedy.empty()) return "no remedy: " + all[0].message;
    if (all[0].place.file != file.string()) return "does not name the file: " + all[0].message;
    return all[0].message;
  } catch (const std::exception& e) {
    return std::string("trouble: ") + e.what();
  }
}

/// The same in a process of its own, with memory for no plate above 80 MiB.
std::string outcome(const std::filesystem::path& file) {
  int ends[2];
  if (::pipe(ends) != 0) return "no pipe";
  const pid_t child = ::fork();
  if (child == 0) {
    if (KIRTLE_LIMIT_MEMORY) {
      const rlim_t limit =
          pages_mapped() * static_cast<std::size_t>(::sysconf(_SC_PAGESIZE)) + kMemoryBeyondNow;
      const rlimit memory{limit, limit};
      ::setrlimit(RLIMIT_AS, &memory);
    }
    ::alarm(20);
    const std::string text = outcome_here(file);
    const ssize_t written = ::write(ends[1], text.data(), text.size());
    ::_exit(written == static_cast<ssize_t>(text.size()) ? 0 : 1);
  }
  ::close(ends[1]);
  std::string text;
  char buffer[4096];
  for (ssize_t got = 0; (got = ::read(ends[0], buffer, sizeof buffer)) > 0;)
    text.append(buffer, static_cast<std::size_t>(got));
  ::close(ends[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  if (status != 0) return "crashed with status " + std::to_string(status);
  return text;
}

class BadCorpus : public testing::Test {
 protected:
  void expect_message(const std::string& name, const std::string& message) {
    SCOPED_TRACE(name);
    EXPECT_THAT(outcome(folder / "bad.tif"), HasSubstr(message));
  }
  TempFolder folder;
};

TEST_F(BadCorpus, HonestOnesAreAccepted) {
  for (const auto& [photometric, samples] : {std::pair{1u, 1u}, {2u, 3u}, {5u, 4u}}) {
    Tags tags = honest_tags(photometric, samples);
    tell(tags, {273, 4, {test::hand_made_data_offset(tags)}});
    write_bytes(folder / "bad.tif", hand_made_tiff(tags, std::vector<std::uint8_t>(600 * samples, 9)));
    expect_message("honest", "accepted: " + std::to_string(samples == 3 ? 1 : samples) + " plates");
  }
}

TEST_F(BadCorpus, LyingTags) {
  int count = 0;
  for (const Lie& lie : lying_tags()) {
    Tags tags = honest_tags(lie.photometric, lie.samples);
    for (const TiffEntry& told : lie.lies) tell(tags, told);
    if (tags[5].tag == 273 && tags[5].values == std::vector<std::uint32_t>{0})
      tags[5].values = {test::hand_made_data_offset(tags)};
    auto bytes = hand_made_tiff(tags, std::vector<std::uint8_t>(600 * lie.samples, 9));
    const std::size_t next = 8 + 2 + 12 * tags.size();
    if (std::string(lie.name) == "next page beyond the end") bytes[next + 1] = 0x70;
    if (std::string(lie.name) == "pages in a circle") bytes[next] = 8;
    write_bytes(folder / "bad.tif", bytes);
    expect_message(lie.name, lie.message);
    ++count;
  }
  EXPECT_GE(count, 60);
}

TEST_F(BadCorpus, FloatsOutOfRangeAreNamedWithTheirPlace) {
  for (const float v : {NAN, INFINITY, -INFINITY, 1.5f, -0.01f, 1.0001f}) {
    for (const std::uint32_t samples : {1u, 2u}) {
      Tags tags = honest_tags(1, samples);
      tell(tags, {258, 3, {32}});
      tell(tags, {339, 3, {3}});
      tell(tags, {279, 4, {2400 * samples}});
      tell(tags, {273, 4, {test::hand_made_data_offset(tags)}});
      std::vector<float> numbers(600 * samples, 0.5f);
      numbers[(20 * 7 + 4) * samples + samples - 1] = v;
      const auto* bytes = reinterpret_cast<const std::uint8_t*>(numbers.data());
      write_bytes(folder / "bad.tif", hand_made_tiff(tags, {bytes, bytes + numbers.size() * sizeof(float)}));
      expect_message(std::to_string(v), samples == 1 ? "column 5, row 8 of \"bad\" holds "
                                                     : "column 5, row 8 of \"bad spot 1\" holds ");
    }
  }
}

TEST_F(BadCorpus, MorePlatesThanMayBeReadAtOnce) {
  // 14 plates of 400 million pixels, each in a strip that could be long enough.
  Tags tags = honest_tags(5, 14);
  tell(tags, {256, 4, {20000}});
  tell(tags, {257, 4, {20000}});
  tell(tags, {278, 4, {20000}});
  tell(tags, {259, 3, {50000}});
  tell(tags, {284, 3, {2}});
  tell(tags, {332, 3, {2}});
  tell(tags, {279, 4, std::vector<std::uint32_t>(14, 4000)});
  tell(tags, {273, 4, std::vector<std::uint32_t>(14, 1000)});
  write_bytes(folder / "bad.tif", hand_made_tiff(tags, std::vector<std::uint8_t>(6000, 9)));
  expect_message(
      "14 x 400",
      "14 plates of this file are 5600 million pixels together; up to 4800 million are read at once");
}

TEST_F(BadCorpus, MorePagesThanAreRead) {
  std::vector<TiffSpec> pages(65);
  for (TiffSpec& page : pages) page.width = page.height = 2;
  test::make_tiff_pages(folder / "bad.tif", pages, [](int, int, int, int) { return 255u; });
  expect_message("65 pages", "it holds more than 64 pages");
  pages.pop_back();
  test::make_tiff_pages(folder / "bad.tif", pages, [](int, int, int, int) { return 255u; });
  expect_message("64 pages", "accepted: 64 plates");
}

TEST_F(BadCorpus, TextBombsInAPngCostNothing) {
  // Text and profile chunks of 200 MB when unpacked: they are not of the plate, and are passed over.
  make_png(folder / "whole.png", {9, 9}, [](int, int, int) { return 200u; });
  const auto whole = bytes_of(folder / "whole.png");
  std::vector<std::uint8_t> zeros(std::size_t{200} << 20);
  uLongf packed_size = compressBound(zeros.size());
  std::vector<std::uint8_t> packed(packed_size);
  ASSERT_EQ(compress2(packed.data(), &packed_size, zeros.data(), zeros.size(), 1), Z_OK);
  packed.resize(packed_size);
  for (const char* type : {"zTXt", "iCCP"}) {
    std::vector<std::uint8_t> chunk(type, type + 4);
    chunk.insert(chunk.end(), {'a', 0, 0});
    chunk.insert(chunk.end(), packed.begin(), packed.end());
    const auto big = [](std::vector<std::uint8_t>& out, std::uint32_t v) {
      for (int shift = 24; shift >= 0; shift -= 8) out.push_back(static_cast<std::uint8_t>(v >> shift));
    };
    std::vector<std::uint8_t> bytes(whole.begin(), whole.begin() + 33);  // signature and header
    big(bytes, static_cast<std::uint32_t>(chunk.size() - 4));
    bytes.insert(bytes.end(), chunk.begin(), chunk.end());
    big(bytes, static_cast<std::uint32_t>(crc32(0, chunk.data(), static_cast<uInt>(chunk.size()))));
    bytes.insert(bytes.end(), whole.begin() + 33, whole.end());
    write_bytes(folder / "bad.tif", bytes);
    expect_message(type, "accepted: 1 plates");
  }
}

/// Files of each make, whole.
std::vector<std::vector<std::uint8_t>> whole_files(const TempFolder& folder) {
  std::vector<std::vector<std::uint8_t>> wholes;
  const auto ink = [](int x, int y, int c) { return corpus_ink(c, x, y, 256); };
  for (const bool interlaced : {false, true}) {
    make_png(folder / "w.png", {kCorpusWidth, kCorpusHeight, 8, PNG_COLOR_TYPE_GRAY, interlaced}, ink);
    wholes.push_back(bytes_of(folder / "w.png"));
  }
  for (const int compression : {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE,
                                COMPRESSION_ZSTD, COMPRESSION_LZMA, COMPRESSION_PACKBITS}) {
    for (const int planar : {PLANARCONFIG_CONTIG, PLANARCONFIG_SEPARATE}) {
      TiffSpec spec;
      spec.width = kCorpusWidth;
      spec.height = kCorpusHeight;
      spec.photometric = PHOTOMETRIC_SEPARATED;
      spec.samples = 5;
      spec.ink_set = INKSET_MULTIINK;
      spec.ink_names = std::string("a\0b\0c\0d\0e\0", 10);
      spec.number_of_inks = 5;
      spec.planar = planar;
      spec.compression = compression;
      spec.tile = compression == COMPRESSION_LZW ? 16 : 0;
      spec.mode = planar == PLANARCONFIG_SEPARATE ? "wb8" : "wl";
      make_tiff(folder / "w.tif", spec, ink);
      wholes.push_back(bytes_of(folder / "w.tif"));
    }
  }
  for (const int compression : {COMPRESSION_CCITTFAX4, COMPRESSION_CCITTFAX3}) {
    TiffSpec spec;
    spec.width = kCorpusWidth;
    spec.height = kCorpusHeight;
    spec.depth = 1;
    spec.compression = compression;
    make_tiff(folder / "w.tif", spec, [](int x, int y, int) { return corpus_ink(0, x, y, 2); });
    wholes.push_back(bytes_of(folder / "w.tif"));
  }
  return wholes;
}

TEST_F(BadCorpus, CutAtRandomPoints) {
  std::mt19937 random(20250207);
  for (const auto& whole : whole_files(folder)) {
    for (int round = 0; round < 6; ++round) {
      const std::size_t cut = 8 + random() % (whole.size() - 8);
      write_bytes(folder / "bad.tif", {whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(cut)});
      expect_message("cut at " + std::to_string(cut), "damaged or cut short");
    }
  }
}

TEST_F(BadCorpus, RandomDamageNeverDoesMore) {
  std::mt19937 random(20250208);
  int refused = 0, accepted = 0;
  for (const auto& whole : whole_files(folder)) {
    for (int round = 0; round < 150; ++round) {
      auto damaged = whole;
      // Half of the hits go to the last 400 bytes, where libtiff puts its directory.
      for (auto hits = 1 + random() % 3; hits > 0; --hits) {
        const std::size_t window =
            random() % 2 == 0 ? damaged.size() : std::min<std::size_t>(400, damaged.size());
        damaged[damaged.size() - 1 - random() % window] = static_cast<std::uint8_t>(random());
      }
      write_bytes(folder / "bad.tif", damaged);
      const std::string text = outcome_here(folder / "bad.tif");
      const bool read = text.rfind("accepted: ", 0) == 0;
      (read ? accepted : refused) += 1;
      for (const char* trouble : {"trouble: ", "not one message", "no remedy", "does not name"})
        ASSERT_NE(text.rfind(trouble, 0), 0u) << text;
    }
  }
  EXPECT_GT(refused, 100);
  EXPECT_GT(accepted, 100);
}

}  // namespace
}  // namespace kirtle
