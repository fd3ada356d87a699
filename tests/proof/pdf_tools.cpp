#include "proof/pdf_tools.h"

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <gtest/gtest.h>
#include <iterator>
#include <sstream>
#include <sys/wait.h>
#include <unistd.h>

namespace kirtle::test {

Ran run(const std::vector<std::string>& words) {
  std::array<int, 2> ends{};
  if (::pipe(ends.data()) != 0) throw std::runtime_error("no pipe");
  const pid_t child = ::fork();
  if (child == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::dup2(ends[1], STDERR_FILENO);
    ::close(ends[0]);
    ::close(ends[1]);
    std::vector<char*> arguments;
    for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    ::execvp(arguments[0], arguments.data());
    ::_exit(127);
  }
  ::close(ends[1]);
  Ran ran;
  std::array<char, 4096> buffer{};
  for (ssize_t n; (n = ::read(ends[0], buffer.data(), buffer.size())) > 0;)
    ran.output.append(buffer.data(), static_cast<std::size_t>(n));
  ::close(ends[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  EXPECT_NE(ran.status, 127) << words[0] << " is not installed (tests/run.sh installs it)";
  return ran;
}

Rgb8 Pixels::at(int x, int y) const {
  const std::size_t i =
      3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x));
  return {rgb.at(i), rgb.at(i + 1), rgb.at(i + 2)};
}

Pixels rasterised(const std::filesystem::path& pdf, int page, int dpi, const TempFolder& scratch) {
  const std::filesystem::path root = scratch / "page";
  const std::string number = std::to_string(page);
  const Ran ran = run({"pdftoppm", "-f", number, "-l", number, "-singlefile", "-r", std::to_string(dpi),
                       pdf.string(), root.string()});
  EXPECT_EQ(ran.status, 0) << ran.output;
  std::ifstream in(root.string() + ".ppm", std::ios::binary);
  std::string magic;
  int most = 0;
  Pixels out;
  in >> magic >> out.width >> out.height >> most;
  in.get();
  EXPECT_EQ(magic, "P6");
  EXPECT_EQ(most, 255);
  out.rgb.resize(3 * static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
  in.read(reinterpret_cast<char*>(out.rgb.data()), static_cast<std::streamsize>(out.rgb.size()));
  EXPECT_TRUE(in.good());
  return out;
}

}  // namespace kirtle::test
