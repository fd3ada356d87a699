#pragma once
// What every test of the program has: a folder of its own, scenes and plates in it, and short ways to ask.
#include "cmd/run_program.h"
#include "plate/io/write_picture.h"
#include "plate/plate_files.h"

#include <array>
#include <fstream>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace kirtle::test {

/// One plate of a made-up scene, printed once.
struct PlateText {
  std::string name, ink;
  std::string more = {};  ///< further lines of its [[plate]]
  std::string file = {};  ///< empty = NAME.png
};

/// `text` with the first `from` replaced, or the test fails.
inline std::string changed(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << "no " << from << " in\n" << text;
  if (at != std::string::npos) text.replace(at, from.size(), to);
  return text;
}

inline int count_of(const std::string& text, const std::string& part) {
  int n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + part.size())) ++n;
  return n;
}

class CommandTest : public ::testing::Test {
 protected:
  std::string path(const std::string& name) const { return (folder_ / name).string(); }

  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name, std::ios::binary) << text;
    return path(name);
  }

  /// A plate of film coverage 0..1, black = ink, 8 bit.
  void plate(const std::string& name, int width, int height, double ppi,
             const std::function<double(int x, int y)>& film) const {
    std::vector<std::uint8_t> grey;
    for (int y = 0; y < height; ++y)
      for (int x = 0; x < width; ++x) grey.push_back(static_cast<std::uint8_t>(255 - 255 * film(x, y) + 0.5));
    write_grey_png(folder_ / name, width, height, ppi, grey);
  }

  static std::string scene_text(const std::string& shirt, const std::vector<PlateText>& plates,
                                const std::string& more = {}) {
    std::string text = "schema = 1\ntitle = \"test\"\nshirt = \"" + shirt + "\"\n" + more + "\n";
    for (const PlateText& p : plates) {
      text += "[[plate]]\nname = \"" + p.name + "\"\nfile = \"" +
              (p.file.empty() ? p.name + ".png" : p.file) + "\"\nink_is = \"dark\"\nink = \"" + p.ink +
              "\"\nmesh = \"61-64\"\n" + p.more + "\n";
    }
    return text;
  }

  /// Two plates of 80 x 60 at 100 per inch, bare round the edge: white base, solid and then a tint that fades
  /// out to the right, and red, a tint that rises downward (y / 60). Returns the scene's file.
  std::string small_scene(const std::string& name = "scene.toml") const {
    const auto inside = [](int x, int y) { return x >= 6 && x < 74 && y >= 6 && y < 54; };
    plate("base.png", 80, 60, 100, [&](int x, int y) {
      if (!inside(x, y)) return 0.0;
      return x < 26 ? 1.0 : (74 - x) / 60.0;
    });
    plate("red.png", 80, 60, 100, [&](int x, int y) { return inside(x, y) && y >= 20 ? y / 60.0 : 0.0; });
    return write(name, scene_text("black-cotton", {{"base", "base-white", "flash = true"}, {"red", "red"}}));
  }

  /// The program's complaint, which must end it with status 2, leave standard output empty and standard error
  /// without anything that looks like a crash.
  std::string complaint(const std::vector<std::string>& arguments, const RunSettings& settings = {}) const {
    const ProgramRun run = run_kirtle(arguments, settings);
    EXPECT_EQ(run.status, 2) << run.err;
    EXPECT_EQ(run.out, "");
    EXPECT_THAT(run.err, ::testing::HasSubstr("error"));
    EXPECT_THAT(run.err, ::testing::Not(::testing::HasSubstr("terminate")));
    return run.err;
  }

  static nlohmann::json json_of(const std::vector<std::string>& arguments) {
    const ProgramRun run = run_kirtle(arguments);
    EXPECT_EQ(run.status, 0) << run.err;
    return nlohmann::json::parse(run.out);
  }

  const TempFolder folder_;
};

}  // namespace kirtle::test
