// The short run: without libFuzzer, so that any compiler builds it. Every seed must be taken or refused as it
// should; every input that once broke a reader (crashes/READER) must be harmless; and so must the seeds cut,
// overwritten, spliced and repeated at random.
#include "base/diagnostics.h"
#include "fuzz/readers.h"
#include "plate/plate_files.h"

#include <gtest/gtest.h>
#include <ostream>
#include <random>

namespace kirtle::test {

/// For the names of the tests.
static void PrintTo(const Reader& reader, std::ostream* out) { *out << reader.name; }

namespace {

namespace fs = std::filesystem;

class EveryReader : public testing::TestWithParam<Reader> {};

void expect_harmless(const Reader& reader, const Bytes& bytes, const std::string& which) {
  try {
    reader.feed(bytes);
  } catch (const std::exception& e) {
    const fs::path kept = fs::temp_directory_path() / ("kirtle-fuzz-" + std::string(reader.name) + "-found");
    write_bytes(kept, bytes);
    ADD_FAILURE() << reader.name << ", " << which << ": " << e.what() << "\nthe input is kept as " << kept;
  }
}

TEST(Readers, AreUnharmedByInputsThatOnceBrokeThem) {
  int fed = 0;
  for (const Reader& reader : readers()) {
    const fs::path folder = fs::path(KIRTLE_SOURCE_DIR "/tests/fuzz/crashes") / reader.name;
    if (!fs::exists(folder)) continue;
    for (const auto& file : fs::directory_iterator(folder)) {
      expect_harmless(reader, bytes_of(file.path()), file.path().filename());
      ++fed;
    }
  }
  EXPECT_GT(fed, 0);
}

/// One of the simple things that go wrong with files, and a few that tempt a reader.
void damage(Bytes& bytes, const std::vector<Bytes>& seeds, std::mt19937& random) {
  const auto below = [&](std::size_t n) { return n == 0 ? 0 : random() % n; };
  const std::size_t at = below(bytes.size());
  const auto here = bytes.begin() + static_cast<std::ptrdiff_t>(at);
  switch (random() % 7) {
    case 0:
      bytes.resize(at);
      break;
    case 1:
      if (!bytes.empty()) bytes[at] = static_cast<std::uint8_t>(random());
      break;
    case 2: {
      static constexpr std::uint8_t kEdges[] = {0, 1, 127, 128, 254, 255, '"', '[', '-', '.', '\n', '9'};
      if (!bytes.empty()) bytes[at] = kEdges[random() % std::size(kEdges)];
      break;
    }
    case 3:
      for (std::size_t i = at; i < bytes.size() && i < at + 4; ++i) bytes[i] = 255;
      break;
    case 4: {
      const Bytes again(here, bytes.begin() + static_cast<std::ptrdiff_t>(
                                                  at + below(std::min<std::size_t>(bytes.size() - at, 200))));
      bytes.insert(here, again.begin(), again.end());
      break;
    }
    case 5: {
      const Bytes& other = seeds[below(seeds.size())];
      const std::size_t from = below(other.size());
      bytes.resize(at);
      bytes.insert(bytes.end(), other.begin() + static_cast<std::ptrdiff_t>(from), other.end());
      break;
    }
    default:
      bytes.erase(here, bytes.begin() + static_cast<std::ptrdiff_t>(std::min(bytes.size(), at + below(40))));
  }
}

TEST_P(EveryReader, IsUnharmedByDamagedSeeds) {
  constexpr int kRounds = 400;
  const std::vector<Bytes> seeds = seeds_of(GetParam().name);
  ASSERT_FALSE(seeds.empty());
  for (const Bytes& seed : seeds) expect_harmless(GetParam(), seed, "a seed");
  expect_harmless(GetParam(), {}, "nothing");
  std::mt19937 random(20251129);
  for (int round = 0; round < kRounds && !HasFailure(); ++round) {
    Bytes bytes = seeds[static_cast<std::size_t>(round) % seeds.size()];
    for (auto hits = 1 + random() % 4; hits > 0; --hits) damage(bytes, seeds, random);
    expect_harmless(GetParam(), bytes, "round " + std::to_string(round));
  }
}

INSTANTIATE_TEST_SUITE_P(Fuzz, EveryReader, testing::ValuesIn(readers()),
                         [](const auto& reader) { return std::string(reader.param.name); });

}  // namespace
}  // namespace kirtle::test
