#pragma once
// Scenes from text, for tests of readings: the plate named in them exists and is looked into only by those
// that load it.
#include "job/files.h"
#include "job/read_scene.h"
#include "light/delta_e_2000.h"
#include "predict/reading.h"

#include <cmath>
#include <gtest/gtest.h>
#include <sstream>

namespace kirtle::test {

class PredictTest : public ::testing::Test {
 protected:
  void SetUp() override {
    ::unsetenv("KIRTLE_DATA");
    folder_.write("a.png", "not looked into here");
  }

  /// A scene of plates with one pass each; `passes` are "NAME INK", and what follows a ';' goes into the
  /// pass,
  /// ';' again for a new line.
  Scene scene(const std::string& shirt, const std::vector<std::string>& passes,
              const std::string& more = {}) const {
    std::string text = "schema = 1\ntitle = \"t\"\nshirt = \"" + shirt + "\"\n" + more + "\n";
    std::string plates, rest;
    for (const std::string& pass : passes) {
      std::istringstream words(pass);
      std::string name, ink, keys;
      words >> name;
      std::getline(words, ink, ';');
      ink.erase(0, ink.find_first_not_of(' '));
      const std::string plate = "[[plate]]\nname = \"" + name + "\"\nfile = \"a.png\"\nink_is = \"dark\"\n";
      if (plates.find(plate) == std::string::npos) plates += plate;
      rest += "[[pass]]\nplate = \"" + name + "\"\nink = \"" + ink + "\"\n";
      while (std::getline(words, keys, ';')) rest += keys + "\n";
      if (pass.find("mesh") == std::string::npos) rest += "mesh = \"43-80\"\n";
    }
    SceneOptions options;
    options.data_folders = {KIRTLE_TEST_DATA "/demo_materials"};
    return read_scene(folder_.write("scene.toml", text + plates + rest), options);
  }

  static PointReading printed(const Scene& scene, const std::vector<double>& shares) {
    return read_printed(scene, PrintModel(scene), shares);
  }
  static PointReading film(const Scene& scene, const std::vector<double>& shares) {
    return read_film(scene, PrintModel(scene), shares);
  }

  const TempFolder folder_;
};

inline double hue_apart(const Lab& x, const Lab& y) {
  const double d = std::fabs(hue_degrees(x) - hue_degrees(y));
  return std::min(d, 360 - d);
}

}  // namespace kirtle::test
