#pragma once
// A folder with two files that stand for plates, and scenes written into it.
#include "job/files.h"
#include "job/read_scene.h"

#include <cstdlib>
#include <gtest/gtest.h>

namespace kirtle::test {

inline const std::string kPlate = "[[plate]]\nname = \"one\"\nfile = \"a.png\"\nink_is = \"dark\"\n";
inline const std::string kPass = "[[pass]]\nplate = \"one\"\nink = \"base-white\"\nmesh = \"43-80\"\n";
inline const std::string kTop = "schema = 1\ntitle = \"t\"\nshirt = \"black-cotton\"\n";

class Scenes : public ::testing::Test {
 protected:
  void SetUp() override {
    ::unsetenv("KIRTLE_DATA");
    folder_.write("a.png", "not looked into here");
    folder_.write("b.png", "nor this");
  }
  Scene read(const std::string& text, const SceneOptions& options = {}) {
    return read_scene(folder_.write("scene.toml", text), options);
  }
  std::vector<std::string> faults(const std::string& text, const SceneOptions& options = {}) {
    try {
      read(text, options);
    } catch (const InputError& e) {
      return lines_of(e.diagnostics(), folder_);
    }
    return {};
  }
  const TempFolder folder_;
};

}  // namespace kirtle::test
