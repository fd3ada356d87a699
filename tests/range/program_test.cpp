// kirtle range as its users have it.
#include "cmd/command_test.h"

#include <set>

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

const std::string kThree = "black-cotton,white-cotton,black-polyester";

class RangeProgram : public CommandTest {
 protected:
  static std::string bytes(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  /// All that is put together, one after the other.
  std::string outcome(const std::string& folder) const {
    std::string out;
    for (const char* name : {"range.json", "range.csv", "range.pdf", "range.png"}) {
      EXPECT_TRUE(fs::exists(path(folder) + "/" + name)) << name;
      out += bytes(path(folder) + "/" + name);
    }
    return out;
  }
  ProgramRun range(std::vector<std::string> more, const RunSettings& settings = {}) const {
    std::vector<std::string> all{"range", path("scene.toml"), "--shirts", kThree};
    all.insert(all.end(), more.begin(), more.end());
    return run_kirtle(all, settings);
  }
};

TEST_F(RangeProgram, WritesWhatItSays) {
  const std::string scene = small_scene();
  const ProgramRun run = range({"-o", path("out")});
  EXPECT_EQ(run.status, 0) << run.err;
  EXPECT_EQ(run.err, "");
  EXPECT_THAT(run.out, AllOf(HasSubstr("Black, cotton"), HasSubstr("Black, polyester"), HasSubstr("take")));
  outcome("out");
  const nlohmann::json j = nlohmann::json::parse(bytes(path("out/range.json")));
  EXPECT_EQ(j.at("kirtle_range"), 1);
  ASSERT_EQ(j.at("items").size(), 3u);
  const nlohmann::json& own = j.at("items").at(0);
  EXPECT_EQ(own.at("own_shirt"), true);
  const nlohmann::json& as_is = own.at("designs").at(0);
  EXPECT_EQ(as_is.at("difference_mean_dE00"), 0);
  EXPECT_EQ(as_is.at("new_screens"), 0);
  EXPECT_EQ(own.at("designs").at(1).at("variant"), "without-base");
  EXPECT_EQ(own.at("designs").at(1).at("screens"), as_is.at("screens").get<int>() - 1);
  EXPECT_EQ(run_kirtle({"range", "--shirts", kThree, scene, "--json"}).out, bytes(path("out/range.json")));
}

TEST_F(RangeProgram, ShardsAndOneRunGiveTheSameBytes) {
  small_scene();
  ASSERT_EQ(range({"-o", path("once"), "--threads", "2"}).status, 0);
  ASSERT_EQ(range({"-o", path("a"), "--shard", "1/2", "--threads", "1"}).status, 0);
  ASSERT_EQ(range({"-o", path("b"), "--shard", "2/2", "--threads", "1"}).status, 0);
  EXPECT_FALSE(fs::exists(path("a/range.json"))) << "a shard puts nothing together";
  ASSERT_EQ(range({"-o", path("both"), "--merge", path("a"), path("b")}).status, 0);
  EXPECT_EQ(outcome("both"), outcome("once"));
}

TEST_F(RangeProgram, StoppedByCtrlCItGoesOnToTheSameBytes) {
  small_scene();
  std::string all;  // every shirt known: enough to be stopped in the middle
  RunSettings settings;
  settings.terminal = true;
  settings.interrupt_after = "\rshirts  1";  // a tenth is done
  const ProgramRun stopped =
      run_kirtle({"range", path("scene.toml"), "-o", path("stopped"), "--threads", "1"}, settings);
  EXPECT_EQ(stopped.status, 130) << stopped.err;
  EXPECT_THAT(stopped.err, HasSubstr("finished shirts are kept"));
  EXPECT_FALSE(fs::exists(path("stopped/range.json")));
  std::size_t kept = 0;
  for (const auto& entry : fs::directory_iterator(path("stopped/done"))) {
    EXPECT_EQ(entry.path().extension(), ".range");
    ++kept;
  }
  EXPECT_GE(kept, 1u);
  ASSERT_EQ(run_kirtle({"range", path("scene.toml"), "-o", path("stopped")}).status, 0);
  ASSERT_EQ(run_kirtle({"range", path("scene.toml"), "-o", path("once")}).status, 0);
  std::size_t in_all = 0;
  for ([[maybe_unused]] const auto& entry : fs::directory_iterator(path("once/done"))) ++in_all;
  EXPECT_LT(kept, in_all);
  EXPECT_EQ(outcome("stopped"), outcome("once"));
}

// 40 : 1.
TEST_F(RangeProgram, AVeryLongPrintIsPutTogetherToo) {
  plate("line.png", 800, 20, 100, [](int, int) { return 1.0; });
  const std::string scene = write("line.toml", scene_text("white-cotton", {{"line", "red"}}));
  const ProgramRun run = run_kirtle({"range", scene, "--shirts", "white-cotton", "-o", path("out")});
  EXPECT_EQ(run.status, 0) << run.err;
  outcome("out");
}

TEST_F(RangeProgram, BadInputIsRefused) {
  small_scene();
  const auto complains = [&](std::vector<std::string> more) {
    std::vector<std::string> all{"range", path("scene.toml")};
    all.insert(all.end(), more.begin(), more.end());
    return complaint(all);
  };
  EXPECT_THAT(complains({"--shirts", "black-coton"}), AllOf(HasSubstr("there is no shirt \"black-coton\""),
                                                            HasSubstr("did you mean \"black-cotton\"?")));
  for (const char* shard : {"0/2", "3/2", "x"})
    EXPECT_THAT(complains({"--shirts", "black-cotton", "-o", path("o"), "--shard", shard}),
                AllOf(HasSubstr("--shard"), HasSubstr("write I/N")));
  EXPECT_THAT(complains({"--shirts", "black-cotton", "--shard", "1/2"}), HasSubstr("add -o FOLDER"));
  EXPECT_THAT(complains({"--shirts", "black-cotton", "-o", "/proc/range"}), HasSubstr("/proc/range"));
  EXPECT_THAT(complains({"--shirts", "a", "--shirts-file", path("none")}), HasSubstr("both given"));
  EXPECT_THAT(complains({"--shirts-file", path("none")}), HasSubstr("there is no such file"));
  EXPECT_THAT(complains({path("scene.toml"), "--shirts", "black-cotton"}), HasSubstr("named twice"));
  EXPECT_THAT(complains({path("nothing.toml"), "--shirts", "black-cotton"}), HasSubstr("nothing.toml"));
  EXPECT_THAT(complains({"--shirts", "black-cotton", "-o", path("o"), "--merge", path("nowhere")}),
              HasSubstr("nothing to merge"));
  EXPECT_FALSE(fs::exists(path("o")));
}

TEST_F(RangeProgram, NamesAreTextWhereverTheyStand) {
  small_scene();
  const std::string text = bytes(path("scene.toml"));
  write("scene.toml", changed(text, "title = \"test\"", "title = \"=<script>x</script>\\u001b[31m\""));
  const ProgramRun run = range({"-o", path("out")});
  EXPECT_EQ(run.status, 0) << run.err;
  EXPECT_THAT(run.out, Not(HasSubstr("\x1b")));
  const std::string csv = bytes(path("out/range.csv"));
  EXPECT_THAT(csv, AllOf(HasSubstr("'=<script>"), Not(HasSubstr("\x1b"))));
  EXPECT_NO_THROW(EXPECT_EQ(nlohmann::json::parse(bytes(path("out/range.json"))).at("items").size(), 3u));
}

}  // namespace
}  // namespace kirtle::test
