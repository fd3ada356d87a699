// Targets that cannot be written: status 2 (or 1 if the disk fails), the target and its folder as they were.
#include "cmd/command_test.h"

#include <sys/stat.h>
#include <unistd.h>

namespace kirtle::test {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;

class BadTarget : public CommandTest {
 protected:
  void SetUp() override { scene_ = small_scene(); }
  std::string predict(const std::string& target) const {
    return complaint({"predict", scene_, "-o", target});
  }
  std::string scene_;
};

TEST_F(BadTarget, FolderIsMissing) {
  const std::size_t before = folder_.entries();
  EXPECT_THAT(predict(path("nowhere/print.png")),
              AllOf(HasSubstr("nowhere/print.png: error: cannot write this file: No such file or directory"),
                    HasSubstr("fix: name a file in a folder that exists"), HasSubstr("nothing was written")));
  EXPECT_EQ(folder_.entries(), before);
}

TEST_F(BadTarget, FolderIsAFile) {
  write("file", "keep me");
  EXPECT_THAT(predict(path("file/print.png")), HasSubstr("Not a directory"));
  EXPECT_EQ(fs::file_size(folder_ / "file"), 7u);
}

TEST_F(BadTarget, IsAFolder) {
  fs::create_directory(folder_ / "print.png");
  EXPECT_THAT(predict(path("print.png")), HasSubstr("it is a folder"));
  EXPECT_TRUE(fs::is_empty(folder_ / "print.png"));
}

TEST_F(BadTarget, IsNoOrdinaryFile) {
  fs::create_symlink("/dev/full", folder_ / "print.png");
  EXPECT_THAT(predict(path("print.png")), HasSubstr("it is not an ordinary file"));
  ASSERT_EQ(::mkfifo(path("pipe.png").c_str(), 0600), 0);
  EXPECT_THAT(predict(path("pipe.png")), HasSubstr("it is not an ordinary file"));
}

// /proc takes no new files, not even from root.
TEST_F(BadTarget, FolderTakesNoFiles) {
  EXPECT_THAT(predict("/proc/print.png"), HasSubstr("/proc/print.png: error: cannot write this file"));
}

TEST_F(BadTarget, FolderOrFileIsReadOnly) {
  if (::geteuid() == 0) GTEST_SKIP() << "root may write anywhere";
  fs::create_directory(folder_ / "locked");
  fs::permissions(folder_ / "locked", fs::perms::owner_read | fs::perms::owner_exec);
  EXPECT_THAT(predict(path("locked/print.png")), HasSubstr("Permission denied"));
  fs::permissions(folder_ / "locked", fs::perms::owner_all);
  write("kept.png", "old");
  fs::permissions(folder_ / "kept.png", fs::perms::owner_read);
  EXPECT_THAT(predict(path("kept.png")), HasSubstr("Permission denied"));
  EXPECT_EQ(fs::file_size(folder_ / "kept.png"), 3u);
}

TEST_F(BadTarget, EndingIsNoPicture) {
  for (const std::string name : {"print.jpg", "print", "print.png.txt", "", "print."}) {
    EXPECT_THAT(complaint({"predict", scene_, "-o", name}), HasSubstr(".png, .tif and .tiff are known"))
        << name;
  }
}

// Whatever writes: a plate or the art has the name of something that the command makes.
TEST_F(BadTarget, IsWhatACommandMakesItsFilesFrom) {
  const std::string scene = path("own.toml"), here = folder_.path().string();
  struct Case {
    std::string name;
    std::vector<std::string> command;
    bool has_scene = true;
  };
  const std::vector<Case> cases{
      {"map.png", {"run", scene, "--shirts", "2", "-o", here}},
      {"range.png", {"range", scene, "--shirts", "black-cotton", "-o", here}},
      {"decision.png", {"compare", scene, "-o", here}},
      {"print.png", {"predict", scene, "-o", path("print.png")}},
      {"page-1.png", {"proof", scene, "-o", path("p.pdf"), "--png", path("page")}},
      {"page-1.png", {"ticket", scene, "-o", path("p.pdf"), "--png", path("page")}},
      {"one.png", {"plates", path("one.png"), "--pictures", here}, false},
      {"scene.toml", {"scene", "new", here, path("scene.toml"), "--replace"}, false}};
  for (const Case& c : cases) {
    SCOPED_TRACE(c.command.front() + " " + c.name);
    for (const bool art : {false, true}) {
      if (art && !c.has_scene) continue;
      plate("own.png", 80, 60, 100,
            [](int x, int y) { return x > 9 && x < 70 && y > 9 && y < 50 ? 1.0 : 0.0; });
      fs::rename(folder_ / "own.png", folder_ / c.name);
      const std::vector<std::uint8_t> before = bytes_of(folder_ / c.name);
      if (c.has_scene)
        write("own.toml", scene_text("black-cotton", {{"base", "base-white", "flash = true"},
                                                      {"red", "red", "", art ? "red.png" : c.name}}) +
                              (art ? "[compare]\nart = \"" + c.name + "\"\n" : ""));
      const std::size_t entries = folder_.entries();
      EXPECT_THAT(complaint(c.command), AllOf(HasSubstr(c.name + ": error: cannot write this file"),
                                              HasSubstr("made from it"), HasSubstr("nothing was written")));
      EXPECT_EQ(bytes_of(folder_ / c.name), before);
      EXPECT_EQ(folder_.entries(), entries);
      fs::remove(folder_ / c.name);
    }
  }
}

TEST_F(BadTarget, IsWhatThePictureIsMadeFrom) {
  const std::vector<std::uint8_t> plate = bytes_of(folder_ / "base.png");
  EXPECT_THAT(predict(path("base.png")), HasSubstr("the picture is made from it"));
  fs::create_hard_link(folder_ / "base.png", folder_ / "other-name.png");
  EXPECT_THAT(predict(path("other-name.png")), HasSubstr("the picture is made from it"));
  EXPECT_EQ(bytes_of(folder_ / "base.png"), plate);
}

// The disk fills up half-way: the old picture stays, and nothing lies beside it.
TEST_F(BadTarget, DiskFillsUp) {
  for (const std::string name : {"print.png", "print.tif"}) {
    write(name, "the old picture");
    const std::size_t before = folder_.entries();
    RunSettings full;
    full.largest_file = 600;
    const ProgramRun run = run_kirtle({"predict", scene_, "-o", path(name), "--depth", "16"}, full);
    EXPECT_EQ(run.status, 1);
    EXPECT_THAT(run.err, AllOf(HasSubstr(name + ": cannot write: File too large")));
    EXPECT_EQ(run.out, "");
    EXPECT_EQ(fs::file_size(folder_ / name), 15u);
    EXPECT_EQ(folder_.entries(), before);
  }
}

// A bad plate, found after the target was named, must not cost the old picture either.
TEST_F(BadTarget, StaysWhenTheInputIsBad) {
  write("print.png", "the old picture");
  write("red.png", "not a picture");
  const std::size_t before = folder_.entries();
  EXPECT_THAT(predict(path("print.png")), HasSubstr("red.png"));
  EXPECT_EQ(fs::file_size(folder_ / "print.png"), 15u);
  EXPECT_EQ(folder_.entries(), before);
}

TEST_F(BadTarget, AGoodRunReplacesTheOldPictureAndKeepsItsRights) {
  write("print.png", "the old picture");
  fs::permissions(folder_ / "print.png", fs::perms::owner_read | fs::perms::owner_write);
  const std::size_t before = folder_.entries();
  EXPECT_EQ(run_kirtle({"predict", scene_, "-o", path("print.png")}).status, 0);
  EXPECT_EQ(decode_png(folder_ / "print.png").width, 80);
  EXPECT_EQ(fs::status(folder_ / "print.png").permissions(), fs::perms::owner_read | fs::perms::owner_write);
  EXPECT_EQ(folder_.entries(), before);
}

// A list that cannot be printed must not look like one that was.
TEST_F(BadTarget, StandardOutputIsFull) {
  RunSettings full;
  full.output = "/dev/full";
  for (const std::vector<std::string>& line :
       {std::vector<std::string>{"inks"}, {"shirts", "--json"}, {"probe", scene_, "--film", "base=0"}}) {
    EXPECT_EQ(run_kirtle(line, full).status, 1) << line.front();
  }
}

}  // namespace
}  // namespace kirtle::test
