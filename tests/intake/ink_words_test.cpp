// What plates are, from what shops call them.
#include "intake/ink_words.h"

#include "job/library.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle {
namespace {

using testing::ElementsAre;

std::vector<KnownInk> inks() {
  Diagnostics faults;
  Library library({KIRTLE_SOURCE_DIR "/inkdata"});
  std::vector<KnownInk> out;
  for (const Ink& ink : library.all_inks(faults)) out.push_back({ink.id, ink.name});
  return out;
}

TEST(InkWords, Words) {
  EXPECT_THAT(words_of("Team_Shirt-02 Light Blue"), ElementsAre("team", "shirt", "02", "light", "blue"));
  EXPECT_THAT(words_of("plate3red"), ElementsAre("plate", "3", "red"));
  EXPECT_THAT(words_of("  --"), ElementsAre());
  EXPECT_THAT(words_of("Gr\xC3\xBCn"), ElementsAre("gr\xC3\xBCn"));
}

TEST(InkWords, ShopNames) {
  struct Row {
    const char* name;
    PlateKind kind;
    const char* ink;
    bool sure;
  };
  constexpr PlateKind top = PlateKind::top;
  const Row rows[] = {
      {"base", PlateKind::base, "base-white", true},
      {"Underbase White", PlateKind::base, "base-white", true},
      {"1 UB", PlateKind::base, "base-white", true},
      {"highlight white", PlateKind::highlight, "highlight-white", true},
      {"Hilite", PlateKind::highlight, "highlight-white", true},
      {"white", top, "highlight-white", false},
      {"Light Blue", top, "light-blue", true},
      {"3-scarlet", top, "scarlet", true},
      {"RED", top, "red", true},
      {"Key", top, "black", false},
      {"black", top, "black", true},
      {"yellow", top, "lemon-yellow", false},
      {"golden yellow", top, "golden-yellow", true},
      {"blue", top, "royal-blue", false},
      {"navy blue", top, "navy", true},
      {"cyan", top, "turquoise", false},
      {"turquoize", top, "turquoise", false},
      {"discharge cream", top, "discharge-cream", true},
      {"discharge base", PlateKind::base, "discharge-clear", false},
      {"water base black", top, "wb-black", true},
      {"WB navy", top, "wb-navy", true},
      {"shirt colour", PlateKind::shirt, "", false},
      {"background", PlateKind::shirt, "", false},
      {"registration marks", PlateKind::ignore, "", false},
      {"alpha mask", PlateKind::ignore, "", false},
      {"plate 4", top, "", false},
      {"zzzzqqq", top, "", false},
      {"", top, "", false},
  };
  const std::vector<KnownInk> known = inks();
  ASSERT_GT(known.size(), 20u);
  for (const Row& row : rows) {
    const NameGuess guess = guess_from_name(row.name, known);
    EXPECT_EQ(guess.kind, row.kind) << row.name;
    EXPECT_EQ(guess.ink, row.ink) << row.name;
    EXPECT_EQ(guess.sure_of_ink, row.sure) << row.name;
  }
}

TEST(InkWords, OnlyInksThatAreThere) {
  const std::vector<KnownInk> few{{"own-red", "Own red"}};
  EXPECT_EQ(guess_from_name("black", few).ink, "");
  EXPECT_EQ(guess_from_name("own red", few).ink, "own-red");
}

TEST(InkWords, Utf8) {
  for (const char* good : {"", "red", "gr\xC3\xBCn", "\xE2\x82\xAC", "\xF0\x9F\x90\xA0", "\xF4\x8F\xBF\xBF"})
    EXPECT_TRUE(is_utf8(good)) << good;
  for (const char* bad :
       {"\xFF", "a\xC3", "\xC0\x80", "\xE0\x80\x80", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\x80", "\xE2\x82"})
    EXPECT_FALSE(is_utf8(bad));
}

}  // namespace
}  // namespace kirtle
