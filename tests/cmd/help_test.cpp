// Help and lists.
#include "cmd/command_test.h"

#include <set>

namespace kirtle::test {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::MatchesRegex;

class Help : public CommandTest {};

TEST_F(Help, TeachesByExample) {
  const ProgramRun top = run_kirtle({"--help"});
  EXPECT_EQ(top.status, 0);
  EXPECT_EQ(top.err, "");
  EXPECT_THAT(top.out, AllOf(HasSubstr("predict"), HasSubstr("probe"), HasSubstr("inks"), HasSubstr("shirts"),
                             HasSubstr("kirtle predict scenes/")));
  for (const std::string command : {"predict", "probe"}) {
    const ProgramRun run = run_kirtle({command, "--help"});
    EXPECT_EQ(run.status, 0);
    EXPECT_GE(count_of(run.out, "\n  kirtle " + command + " scenes/"), 3) << run.out;
    EXPECT_THAT(run.out, AllOf(HasSubstr("Examples:"), HasSubstr("--light"), HasSubstr("--shirt")));
  }
  for (const std::string command : {"inks", "shirts", "meshes", "presses"})
    EXPECT_EQ(run_kirtle({command, "-h"}).status, 0);
}

TEST_F(Help, SaysItsVersion) {
  const ProgramRun run = run_kirtle({"--version"});
  EXPECT_EQ(run.status, 0);
  EXPECT_THAT(run.out, MatchesRegex("kirtle [0-9]+\\.[0-9]+\\.[0-9]+\n"));
}

TEST_F(Help, InksAreAllListedWithProvenance) {
  const nlohmann::json j = json_of({"inks", "--json"});
  EXPECT_EQ(j.at("kirtle_inks"), 1);
  std::set<std::string> listed, files;
  for (const nlohmann::json& ink : j.at("inks")) {
    SCOPED_TRACE(ink.at("id").get<std::string>());
    listed.insert(ink.at("id").get<std::string>());
    EXPECT_NE(ink.at("provenance").at("status"), "");
    EXPECT_NE(ink.at("provenance").at("source"), "");
    EXPECT_THAT(ink.at("hex_over_white").get<std::string>(), MatchesRegex("#[0-9a-f]{6}"));
    EXPECT_THAT(ink.at("hex_over_black").get<std::string>(), MatchesRegex("#[0-9a-f]{6}"));
    EXPECT_GE(ink.at("contrast_ratio"), 0);
    EXPECT_LE(ink.at("contrast_ratio"), 1);
  }
  for (const auto& entry : std::filesystem::directory_iterator(KIRTLE_SOURCE_DIR "/inkdata/inks"))
    files.insert(entry.path().stem().string());
  EXPECT_EQ(listed, files);
}

TEST_F(Help, ShirtsMeshesAndPressesAreAllListedWithProvenance) {
  for (const std::string shelf : {"shirts", "meshes", "presses"}) {
    const nlohmann::json j = json_of({shelf, "--json"});
    EXPECT_EQ(j.at("kirtle_" + shelf), 1);
    std::set<std::string> listed, files;
    const std::string text = run_kirtle({shelf}).out;
    for (const nlohmann::json& record : j.at(shelf)) {
      listed.insert(record.at("id").get<std::string>());
      EXPECT_NE(record.at("provenance").at("status"), "");
      EXPECT_THAT(text, HasSubstr("\n" + record.at("id").get<std::string>() + " "));
    }
    for (const auto& entry : std::filesystem::directory_iterator(KIRTLE_SOURCE_DIR "/inkdata/" + shelf))
      files.insert(entry.path().stem().string());
    EXPECT_EQ(listed, files);
  }
}

TEST_F(Help, TextListsNameEveryRecordToo) {
  const std::string inks = run_kirtle({"inks"}).out, shirts = run_kirtle({"shirts"}).out;
  EXPECT_THAT(inks,
              AllOf(HasSubstr("base-white"), HasSubstr("not predicted, drawn flat"), HasSubstr("invented")));
  EXPECT_THAT(shirts, AllOf(HasSubstr("black-cotton"), HasSubstr("Test print each dye lot")));
}

// A folder of one's own comes first, and a bad record in it is told without hiding the good ones.
TEST_F(Help, ListsOnesOwnRecords) {
  const nlohmann::json j = json_of({"inks", "--json", "--data", KIRTLE_TEST_DATA "/demo_materials"});
  EXPECT_TRUE(std::any_of(j.at("inks").begin(), j.at("inks").end(),
                          [](const nlohmann::json& ink) { return ink.at("id") == "demo-yellow"; }));
  std::filesystem::create_directories(folder_ / "inks");
  write("inks/broken.toml", "schema = 1\nid = \"broken\"\n");
  const ProgramRun run = run_kirtle({"inks", "--data", folder_.path().string()});
  EXPECT_EQ(run.status, 2);
  EXPECT_THAT(run.out, HasSubstr("base-white"));
  EXPECT_THAT(run.err, AllOf(HasSubstr("broken.toml"), HasSubstr("error: ")));
}

TEST_F(Help, DataFolderFromTheEnvironment) {
  RunSettings settings;
  settings.environment["KIRTLE_DATA"] = KIRTLE_TEST_DATA "/demo_materials";
  const ProgramRun run = run_kirtle({"inks", "--json"}, settings);
  ASSERT_EQ(run.status, 0) << run.err;
  const nlohmann::json j = nlohmann::json::parse(run.out);
  EXPECT_EQ(j.at("inks").size(), 6u);
}

}  // namespace
}  // namespace kirtle::test
