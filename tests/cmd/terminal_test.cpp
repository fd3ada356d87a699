// Titles and names come out of files that others wrote: none of them may steer the terminal.
#include "cmd/command_test.h"

#include <iterator>

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

class Terminal : public CommandTest {
 protected:
  /// A record that came with the program, with this key's text steering the terminal.
  void record(const std::string& file, const std::string& key) const {
    std::ifstream in(fs::path(KIRTLE_SOURCE_DIR) / "inkdata" / file, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    fs::create_directories((folder_ / ("own/" + file)).parent_path());
    write("own/" + file, changed(text, "\n" + key + " = \"", "\n" + key + " = \"\\u001b[31m\\u009b2J"));
  }
};

TEST_F(Terminal, NoCommandPassesOnWhatSteersIt) {
  small_scene();
  for (const char* ink : {"inks/red.toml", "inks/base-white.toml"}) record(ink, "name");
  record("shirts/black-cotton.toml", "name");
  record("shirts/white-cotton.toml", "fibre_text");
  const std::string scene =
      write("scene.toml",
            changed(scene_text("black-cotton",
                               {{"base", "base-white", "flash = true"}, {"r\\u001bed", "red", "", "red.png"}},
                               "data = [\"own\"]\n"),
                    "\"test\"", "\"te\\u001b[31mst\""));
  const std::string esc_file = path(
      "r\x1b"
      "ed.png");
  fs::copy_file(folder_ / "red.png", esc_file);
  const std::vector<std::vector<std::string>> commands{
      {"predict", scene, "-o", path("print.png")},
      {"probe", scene, "--at", "10,10"},
      {"run", scene, "--shirts", "4"},
      {"check", scene, "--all"},
      {"screens", scene},
      {"compare", scene, "--shirts", "4"},
      {"reshape", scene, "--build", "fade", "-o", path("built")},
      {"range", scene, "--shirts", "black-cotton,white-cotton"},
      {"proof", scene, "-o", path("proof.pdf")},
      {"ticket", scene, "-o", path("ticket.pdf")},
      {"plates", esc_file},
      {"scene", "new", path("new"), esc_file},
      {"inks", "--data", path("own")},
      {"shirts", "--data", path("own")},
      {"meshes", "--data", path("own")},
      {"presses", "--data", path("own")}};
  for (const std::vector<std::string>& command : commands) {
    SCOPED_TRACE(command.front());
    const ProgramRun run = run_kirtle(command);
    EXPECT_NE(run.status, 1) << run.err;
    for (const std::string& text : {run.out, run.err}) {
      EXPECT_THAT(text, Not(HasSubstr("\x1b")));
      EXPECT_THAT(text, Not(HasSubstr("\xc2\x9b")));
    }
    EXPECT_THAT(run.out + run.err, HasSubstr("\n"));
  }
}

}  // namespace
}  // namespace kirtle::test
