#include "base/replaced_file.h"

#include "base/diagnostics.h"

#include <atomic>
#include <csignal>
#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <iterator>
#include <stdexcept>
#include <stdlib.h>
#include <string>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>
#include <vector>

namespace kirtle {
namespace {
namespace fs = std::filesystem;

std::string text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

class ReplacedFileTest : public testing::Test {
 protected:
  ReplacedFileTest() {
    std::string name = (fs::temp_directory_path() / "kirtle-test-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
    folder = name;
  }
  ~ReplacedFileTest() override {
    std::error_code ignored;
    fs::permissions(folder, fs::perms::owner_all, ignored);
    fs::remove_all(folder, ignored);
  }
  void make(const std::string& name, const std::string& text) const { std::ofstream(folder / name) << text; }
  std::size_t entries() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
  }
  /// The text of the refusal to write `target`.
  static std::string refusal(const fs::path& target) {
    try {
      const ReplacedFile file(target);
    } catch (const InputError& e) {
      return e.what();
    }
    return "(accepted)";
  }
  fs::path folder;
};

/// Runs `work` without root's right to write everywhere, and comes back. The folder must let that user in.
template <class Work>
void as_ordinary_user(const Work& work) {
  const bool root = ::geteuid() == 0;
  if (root) {
    ASSERT_EQ(::seteuid(65534), 0);
  }
  work();
  if (root) {
    ASSERT_EQ(::seteuid(0), 0);
  }
}

TEST_F(ReplacedFileTest, WritesANewFile) {
  {
    ReplacedFile file(folder / "new.txt");
    file.write("one ");
    file.write("two");
    EXPECT_FALSE(fs::exists(folder / "new.txt")) << "nothing before commit()";
    file.commit();
  }
  EXPECT_EQ(text_of(folder / "new.txt"), "one two");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(ReplacedFileTest, SeveralThreadsAtOnceLeaveTheUmaskAsItWas) {
  const mode_t mask = ::umask(027);
  std::atomic<int> wide{0};
  std::vector<std::thread> threads;
  for (int thread = 0; thread < 8; ++thread) {
    threads.emplace_back([&, name = std::to_string(thread)] {
      for (int i = 0; i < 400; ++i) {
        ReplacedFile file(folder / name);
        struct stat made {};
        if (::fstat(::fileno(file.stream()), &made) != 0 || (made.st_mode & 0777) != 0640) ++wide;
      }
    });
  }
  for (std::thread& t : threads) t.join();
  EXPECT_EQ(::umask(mask), 027u);
  EXPECT_EQ(wide, 0);
}

TEST_F(ReplacedFileTest, TheOldFileStaysUntilCommit) {
  make("a.txt", "old");
  ReplacedFile file(folder / "a.txt");
  file.write("new");
  EXPECT_EQ(text_of(folder / "a.txt"), "old");
  file.commit();
  EXPECT_EQ(text_of(folder / "a.txt"), "new");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(ReplacedFileTest, WithoutCommitNothingIsLeft) {
  make("a.txt", "old");
  {
    ReplacedFile file(folder / "a.txt");
    file.write(std::string(100'000, 'x'));
    ReplacedFile other(folder / "b.txt");
    other.write("y");
  }
  EXPECT_EQ(text_of(folder / "a.txt"), "old");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(ReplacedFileTest, AnExceptionOnTheWayLeavesTheOldFile) {
  make("a.txt", "old");
  try {
    ReplacedFile file(folder / "a.txt");
    file.write("half of it");
    throw std::runtime_error("the work failed");
  } catch (const std::runtime_error&) {
  }
  EXPECT_EQ(text_of(folder / "a.txt"), "old");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(ReplacedFileTest, ASymbolicLinkStaysALink) {
  fs::create_directory(folder / "real");
  make("real/a.txt", "old");
  fs::create_symlink("real/a.txt", folder / "link.txt");
  ReplacedFile file(folder / "link.txt");
  file.write("new");
  file.commit();
  EXPECT_TRUE(fs::is_symlink(folder / "link.txt"));
  EXPECT_EQ(text_of(folder / "real/a.txt"), "new");
}

TEST_F(ReplacedFileTest, KeepsTheRightsOfTheOldFile) {
  make("a.txt", "old");
  fs::permissions(folder / "a.txt", fs::perms(0640));
  {
    ReplacedFile file(folder / "a.txt");
    file.commit();
  }
  EXPECT_EQ(fs::status(folder / "a.txt").permissions(), fs::perms(0640));
  const mode_t mask = ::umask(027);
  {
    ReplacedFile file(folder / "b.txt");
    file.commit();
  }
  ::umask(mask);
  EXPECT_EQ(fs::status(folder / "b.txt").permissions(), fs::perms(0640)) << "a new file follows the umask";
}

TEST_F(ReplacedFileTest, RefusalsNameTheTargetAndTheCause) {
  const std::string remedy =
      "\n  fix: name a file in a folder that exists and that you may write to; nothing was written";
  fs::create_directory(folder / "sub");
  EXPECT_EQ(refusal(folder / "sub"),
            (folder / "sub").string() + ": error: cannot write this file: it is a folder" + remedy);
  EXPECT_EQ(refusal(folder / "none" / "a.txt"),
            (folder / "none/a.txt").string() + ": error: cannot write this file: No such file or directory" +
                remedy);
  make("a.txt", "old");
  EXPECT_EQ(refusal(folder / "a.txt" / "b.txt"),
            (folder / "a.txt/b.txt").string() + ": error: cannot write this file: Not a directory" + remedy);
  ASSERT_EQ(::mkfifo((folder / "pipe").c_str(), 0600), 0);
  EXPECT_EQ(
      refusal(folder / "pipe"),
      (folder / "pipe").string() + ": error: cannot write this file: it is not an ordinary file" + remedy);
  EXPECT_EQ(entries(), 3u);
}

TEST_F(ReplacedFileTest, AReadOnlyFileIsNotReplaced) {
  make("a.txt", "old");
  fs::permissions(folder, fs::perms::all);
  fs::permissions(folder / "a.txt", fs::perms(0444));
  // access() asks for the real user, so a test run by root must put down both.
  const pid_t child = ::fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    if (::geteuid() == 0 && ::setuid(65534) != 0) ::_exit(2);
    const bool refused =
        refusal(folder / "a.txt").find("cannot write this file: Permission denied") != std::string::npos;
    ::_exit(refused ? 0 : 1);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
  EXPECT_EQ(text_of(folder / "a.txt"), "old");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(ReplacedFileTest, AReadOnlyFolderIsRefused) {
  fs::permissions(folder, fs::perms(0555));
  std::string text;
  as_ordinary_user([&] { text = refusal(folder / "a.txt"); });
  EXPECT_THAT(text, testing::HasSubstr("cannot write this file: Permission denied"));
  EXPECT_EQ(entries(), 0u);
}

TEST_F(ReplacedFileTest, AFullDiskThrowsAndLeavesTheOldFile) {
  make("a.txt", "old");
  const pid_t child = ::fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    // A limit on the length of files stands in for a full disk.
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{1000, 1000};
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) ::_exit(2);
    std::string text;
    try {
      ReplacedFile file(folder / "a.txt");
      file.write(std::string(1500, 'x'));  // fits into the buffer of the stream: the fault shows in commit()
      file.commit();
    } catch (const std::runtime_error& e) {
      text = e.what();
    }
    ::_exit(text == (folder / "a.txt").string() + ": cannot write: File too large" ? 0 : 1);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
  EXPECT_EQ(text_of(folder / "a.txt"), "old");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(ReplacedFileTest, ANameThatIsTooLongIsRefusedAtOnce) {
  EXPECT_THAT(refusal(folder / (std::string(300, 'x') + ".png")), testing::HasSubstr("File name too long"));
  EXPECT_EQ(entries(), 0u);
}

TEST_F(ReplacedFileTest, ADanglingLinkGetsItsDestination) {
  fs::create_symlink("later.txt", folder / "link.txt");
  ReplacedFile file(folder / "link.txt");
  file.write("new");
  file.commit();
  EXPECT_TRUE(fs::is_symlink(folder / "link.txt"));
  EXPECT_EQ(text_of(folder / "later.txt"), "new");
}

TEST_F(ReplacedFileTest, LinksInACircleAreRefused) {
  fs::create_symlink("b.txt", folder / "a.txt");
  fs::create_symlink("a.txt", folder / "b.txt");
  EXPECT_THROW(ReplacedFile(folder / "a.txt"), InputError);
}

}  // namespace
}  // namespace kirtle
