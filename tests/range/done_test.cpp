// Split, stopped, damaged, brought together: the same bytes.
#include "proof/sha256.h"
#include "range/done_file.h"
#include "range/range_fixture.h"

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

const std::vector<std::string> kShirts{"black-cotton", "white-cotton", "royal-cotton", "black-polyester",
                                       "navy-blend"};

class Done : public Ranges {
 protected:
  void SetUp() override {
    Ranges::SetUp();
    scenes_ = {discharge_scene()};
  }
  std::string bytes(const RangeResult& result) const {
    std::string out = range_json(scenes_, result) + range_csv(scenes_, result);
    for (const RangeItem& item : result.items) out += done_bytes(item);
    return out;
  }
  std::size_t finished(const std::string& folder) const {
    std::size_t n = 0;
    for (const auto& entry : fs::directory_iterator(folder_.path() / folder / "done")) {
      EXPECT_EQ(entry.path().extension(), ".range") << entry.path();
      ++n;
    }
    return n;
  }
  std::vector<Scene> scenes_;
};

TEST(RangeShards, EveryItemBelongsToJustOne) {
  for (const int of : {1, 2, 3, 7, 60}) {
    for (std::size_t item = 0; item < 100; ++item) {
      int owners = 0;
      for (int i = 0; i < of; ++i) owners += RangeShard{i, of}.has(item) ? 1 : 0;
      EXPECT_EQ(owners, 1);
    }
  }
  EXPECT_TRUE(shard_from("1/4").has(0));
  EXPECT_TRUE(shard_from("4/4").has(3));
  EXPECT_TRUE(shard_from("2/4").has(5));
  EXPECT_FALSE(shard_from("2/4").has(4));
}

TEST(RangeShards, WhatIsNoneIsRefused) {
  for (const char* text : {"0/2", "3/2", "x", "", "/", "1/", "/2", "1/0", "-1/2", "1/2/3", "1.5/2", "1/2x",
                           " 1/2", "1/99999999999", "1\x01/2"}) {
    try {
      shard_from(text);
      ADD_FAILURE() << text;
    } catch (const InputError& e) {
      EXPECT_THAT(e.what(), HasSubstr("--shard"));
      EXPECT_THAT(e.what(), HasSubstr("1/4 is the first of four"));
      EXPECT_EQ(std::string(e.what()).find('\x01'), std::string::npos);
    }
  }
}

TEST_F(Done, ShirtListsAreReadLineByLine) {
  const fs::path file = folder_.write("list.txt", "# ours\nblack-cotton\n\n  white-cotton  # new\r\n");
  EXPECT_EQ(read_shirt_list(file), (std::vector<std::string>{"black-cotton", "white-cotton"}));
  for (const auto& [text, says] : {std::pair{"", "it holds no id"},
                                   {"a\n<b>\n", ":2: error: \"<b>\" is no id"},
                                   {"../../etc\n", ":1: error"}}) {
    try {
      read_shirt_list(folder_.write("bad.txt", text));
      ADD_FAILURE() << text;
    } catch (const InputError& e) {
      EXPECT_THAT(e.what(), HasSubstr(says));
    }
  }
  EXPECT_THROW(read_shirt_list(folder_.path() / "none"), InputError);
  EXPECT_THROW(read_shirt_list(folder_.path()), InputError);
}

TEST_F(Done, AnItemComesBackAsItWas) {
  const RangeResult made = run_range(scenes_, options("", {"royal-cotton"}));
  const RangeItem& item = made.items.front();
  const std::optional<RangeItem> back = item_from(done_bytes(item), item.key);
  ASSERT_TRUE(back);
  EXPECT_EQ(done_bytes(*back), done_bytes(item));
  ASSERT_FALSE(back->lines.front().figures.rgb.empty());
  EXPECT_FALSE(item_from(done_bytes(item), std::string(64, '0'))) << "of another key";
}

TEST_F(Done, NoDamagedByteIsTaken) {
  const RangeResult made = run_range(scenes_, options("", {"royal-cotton"}));
  const RangeItem& item = made.items.front();
  const std::string whole = done_bytes(item);
  for (std::size_t at = 0; at < whole.size(); at += 1 + whole.size() / 200) {
    std::string other = whole;
    other[at] = static_cast<char>(other[at] ^ 1);
    EXPECT_FALSE(item_from(other, item.key)) << at;
    EXPECT_FALSE(item_from(whole.substr(0, at), item.key)) << at;
  }
  EXPECT_FALSE(item_from(whole + "x", item.key));
}

TEST_F(Done, NumbersThatAreNoCountsAreNotTakenBehindARightChecksumEither) {
  const RangeResult made = run_range(scenes_, options("", {"royal-cotton"}));
  const RangeItem& item = made.items.front();
  const std::string whole = done_bytes(item);
  const std::string body = whole.substr(whole.find('\n') + 1);
  for (const char* name :
       {"screens", "new_screens", "flashes", "width", "height", "variant", "verdict", "step"}) {
    const std::size_t at = body.find(':', body.find('"' + std::string(name) + '"')) + 1;
    const std::size_t end = body.find_first_of(",}", at);
    const auto with = [&](const std::string& number) {
      const std::string other = body.substr(0, at) + number + body.substr(end);
      return item_from("kirtle range 1 " + sha256_hex(other) + "\n" + other, item.key).has_value();
    };
    EXPECT_TRUE(with(body.substr(at, end - at))) << name;
    for (const char* number :
         {"-1", "1.5", "1e30", "2333333333333333333333333", "4294967297", "true", "\"1\""})
      EXPECT_FALSE(with(number)) << name << " " << number;
  }
}

TEST_F(Done, FiguresOutOfRangeAreNotTakenBehindARightChecksumEither) {
  const RangeResult made = run_range(scenes_, options("", {"royal-cotton"}));
  const RangeItem& item = made.items.front();
  const std::string whole = done_bytes(item);
  const std::string body = whole.substr(whole.find('\n') + 1);
  for (const char* name : {"difference_mean", "difference_p95", "contrast", "lost_share"}) {
    const std::size_t at = body.find(':', body.find('"' + std::string(name) + '"')) + 1;
    const std::size_t end = body.find_first_of(",}", at);
    const auto with = [&](const std::string& number) {
      const std::string other = body.substr(0, at) + number + body.substr(end);
      return item_from("kirtle range 1 " + sha256_hex(other) + "\n" + other, item.key).has_value();
    };
    for (const char* number : {"0", "0.5", "1"}) EXPECT_TRUE(with(number)) << name << " " << number;
    for (const char* number : {"-0.1", "200.1", "1e300", "-1e300", "1e999", "null", "\"1\""})
      EXPECT_FALSE(with(number)) << name << " " << number;
  }
}

TEST_F(Done, APieceOfAnotherShirtUnderTheRightNameIsNotTaken) {
  const RangeResult made = run_range(scenes_, options("d", {"royal-cotton"}));
  RangeItem other = made.items.front();
  other.shirt = "black-cotton,1";
  folder_.write("d/done/" + other.key + ".range", done_bytes(other));
  const RangeResult again = run_range(scenes_, options("d", {"royal-cotton"}));
  EXPECT_EQ(again.worked_out, 1u);
  EXPECT_EQ(again.items.front().shirt, "royal-cotton");
  EXPECT_EQ(bytes(again), bytes(made));
  // What stands in such a piece stays in its field of the CSV.
  RangeResult as_read;
  as_read.items.push_back(other);
  as_read.items.front().lines.front().id = "=1,\"a\"\n";
  EXPECT_THAT(range_csv(scenes_, as_read), HasSubstr(",\"black-cotton,1\","));
  EXPECT_THAT(range_csv(scenes_, as_read), HasSubstr(",\"'=1,\"\"a\"\"\\x0a\","));
}

TEST_F(Done, StoppedAndTakenUpAgainIsAsOneRun) {
  const std::string once = bytes(run_range(scenes_, options("once", kShirts)));
  RangeOptions stopped = options("stopped", kShirts);
  stopped.threads = 1;
  stopped.progress = [](double share) { return share < 0.3; };
  EXPECT_THROW(run_range(scenes_, stopped), Cancelled);
  EXPECT_EQ(finished("stopped"), 2u);
  const RangeResult rest = run_range(scenes_, options("stopped", kShirts));
  EXPECT_EQ(rest.worked_out, kShirts.size() - 2);
  EXPECT_EQ(bytes(rest), once);
  const RangeResult again = run_range(scenes_, options("stopped", kShirts));
  EXPECT_EQ(again.worked_out, 0u);
  EXPECT_EQ(bytes(again), once);
  EXPECT_EQ(bytes(run_range(scenes_, options("", kShirts))), once) << "without a folder";
}

TEST_F(Done, ShardsBroughtTogetherAreAsOneRun) {
  plate("star", box(5, 5, 15, 15), 150, 20);
  scenes_.push_back(read_scene(folder_.write(
      "two.toml", "schema = 1\ntitle = \"u\"\nshirt = \"white-cotton\"\n" + pass("star", "navy"))));
  const std::string once = bytes(run_range(scenes_, options("once", kShirts)));
  std::size_t worked = 0;
  for (const int i : {0, 1}) {
    // Each in its own folder, and all in one.
    for (const std::string& folder : {std::string("own") + std::to_string(i), std::string("shared")}) {
      RangeOptions shard = options(folder, kShirts);
      shard.shard = RangeShard{i, 2};
      worked += run_range(scenes_, shard).worked_out;
    }
  }
  EXPECT_EQ(worked, 2 * 2 * kShirts.size());
  const RangeResult shared = run_range(scenes_, options("shared", kShirts));
  EXPECT_EQ(shared.worked_out, 0u);
  EXPECT_EQ(bytes(shared), once);
  RangeOptions merge = options("merged", kShirts);
  merge.merge = {folder_.path() / "own0", folder_.path() / "own1"};
  const RangeResult merged = run_range(scenes_, merge);
  EXPECT_EQ(merged.worked_out, 0u);
  EXPECT_EQ(bytes(merged), once);
  EXPECT_EQ(finished("merged"), 2 * kShirts.size());
  // One shard missing: it is worked out.
  RangeOptions half = options("half", kShirts);
  half.merge = {folder_.path() / "own0"};
  const RangeResult filled = run_range(scenes_, half);
  EXPECT_EQ(filled.worked_out, kShirts.size());
  EXPECT_EQ(bytes(filled), once);
}

TEST_F(Done, ADamagedFileIsToldAndWorkedOutAgain) {
  const RangeResult first = run_range(scenes_, options("d", {"black-cotton", "white-cotton"}));
  const fs::path file = done_path(folder_.path() / "d", first.items[1].key);
  fs::resize_file(file, fs::file_size(file) / 2);
  const RangeResult second = run_range(scenes_, options("d", {"black-cotton", "white-cotton"}));
  EXPECT_EQ(second.worked_out, 1u);
  ASSERT_EQ(second.notes.all().size(), 1u);
  EXPECT_EQ(second.notes.all().front().severity, Severity::warning);
  EXPECT_THAT(second.notes.all().front().message, HasSubstr("damaged"));
  EXPECT_EQ(bytes(second), bytes(first));
  EXPECT_TRUE(run_range(scenes_, options("d", {"black-cotton", "white-cotton"})).notes.all().empty());
}

TEST_F(Done, AnythingThatGoesInChangesTheKey) {
  const auto key = [&](const std::vector<Scene>& scenes, const RangeOptions& o) {
    return run_range(scenes, o).items.front().key;
  };
  const RangeOptions plain = options("k", {"black-cotton"});
  const std::string first = key(scenes_, plain);
  EXPECT_EQ(key(scenes_, plain), first);
  RangeOptions version = plain;
  version.version = "other";
  EXPECT_NE(key(scenes_, version), first);
  RangeOptions model = plain;
  ++model.model;
  EXPECT_NE(key(scenes_, model), first);
  std::vector<Scene> lit = scenes_;
  lit.front().light = "D65";
  EXPECT_NE(key(lit, plain), first);
  EXPECT_NE(key(scenes_, options("k", {"white-cotton"})), first);
  plate("dark", box(6, 6, 9, 13), 150, 20);
  EXPECT_NE(key(scenes_, plain), first) << "a plate was changed";
  EXPECT_EQ(run_range(scenes_, plain).worked_out, 0u);
}

TEST_F(Done, PlatesThatChangeBeforeTheyAreReadGiveNoResult) {
  RangeOptions o = options("c", {"black-cotton"});
  bool changed = false;
  // Asked first when the keys are made and nothing is read yet.
  o.progress = [&](double) {
    if (!changed) plate("dark", box(6, 6, 9, 12), 150, 20);
    changed = true;
    return true;
  };
  try {
    run_range(scenes_, o);
    ADD_FAILURE();
  } catch (const InputError& e) {
    EXPECT_THAT(e.what(), HasSubstr("was changed while they were read"));
  }
  EXPECT_EQ(finished("c"), 0u);
  EXPECT_EQ(run_range(scenes_, o).worked_out, 1u);
}

TEST_F(Done, RecordsThatChangedAreWorkedOutAgain) {
  const fs::path own = folder_.path() / "own";
  fs::create_directories(own / "inks");
  fs::copy_file(default_data_folder() / "inks" / "discharge-cream.toml",
                own / "inks" / "discharge-cream.toml");
  SceneOptions with;
  with.data_folders = {own};
  const std::vector<Scene> scenes{read_scene(scenes_.front().file, with)};
  const std::string before = run_range(scenes, options("r", {"black-cotton"})).items.front().key;
  std::ofstream(own / "inks" / "discharge-cream.toml", std::ios::app) << "\n# looked over\n";
  const RangeResult after = run_range(scenes, options("r", {"black-cotton"}));
  EXPECT_NE(after.items.front().key, before);
  EXPECT_EQ(after.worked_out, 1u);
}

TEST_F(Done, BadInputIsRefusedBeforeAnythingIsWritten) {
  EXPECT_THROW(run_range(scenes_, options("n", {"black-coton"})), InputError);
  EXPECT_FALSE(fs::exists(folder_.path() / "n"));
  EXPECT_THROW(run_range(scenes_, options("n", {"../shirts/black-cotton"})), InputError);
  RangeOptions shard = options("", {"black-cotton"});
  shard.shard = RangeShard{0, 2};
  EXPECT_THROW(run_range(scenes_, shard), InputError);
  RangeOptions merge = options("n", {"black-cotton"});
  merge.merge = {folder_.path() / "nowhere"};
  EXPECT_THROW(run_range(scenes_, merge), InputError);
  EXPECT_FALSE(fs::exists(folder_.path() / "n"));
  folder_.write("file", "keep me");
  EXPECT_THROW(run_range(scenes_, options("file", {"black-cotton"})), InputError);
  EXPECT_EQ(fs::file_size(folder_.path() / "file"), 7u);
}

}  // namespace
}  // namespace kirtle::test
