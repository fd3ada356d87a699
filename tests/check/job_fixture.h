#pragma once
// Small jobs made up for one test: plates drawn in mm, a scene for them, and what check says of it.
#include "check/check_scene.h"
#include "job/files.h"
#include "job/read_scene.h"
#include "plate/io/write_picture.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace kirtle::test {

/// Film 0..1 of the pixel with this top left corner and side, mm.
using Film = std::function<double(double x, double y, double side)>;

/// Share of a pixel that an upright rectangle covers.
inline Film box(double x0, double y0, double x1, double y1) {
  return [=](double x, double y, double side) {
    const double across = std::min(x1, x + side) - std::max(x0, x),
                 down = std::min(y1, y + side) - std::max(y0, y);
    return across > 0 && down > 0 ? across * down / (side * side) : 0.0;
  };
}
inline Film sum(std::vector<Film> parts) {
  return [parts = std::move(parts)](double x, double y, double side) {
    double film = 0;
    for (const Film& part : parts) film += part(x, y, side);
    return std::min(film, 1.0);
  };
}
inline Film less(Film from, Film what) {
  return [=](double x, double y, double side) { return std::max(0.0, from(x, y, side) - what(x, y, side)); };
}
/// The film of a shape, `tone` where it is solid.
inline Film tint(Film shape, double tone) {
  return [=](double x, double y, double side) { return tone * shape(x, y, side); };
}

class Jobs : public ::testing::Test {
 protected:
  void SetUp() override { ::unsetenv("KIRTLE_DATA"); }

  /// A plate, black = ink, 40 x 40 mm.
  void plate(const std::string& name, const Film& film, double ppi = 300, double size_mm = 40) {
    const double side = kMmPerInch / ppi;
    const int n = static_cast<int>(std::lround(size_mm / side));
    std::vector<std::uint8_t> grey;
    for (int y = 0; y < n; ++y)
      for (int x = 0; x < n; ++x)
        grey.push_back(static_cast<std::uint8_t>(std::lround(255 - 255 * film(x * side, y * side, side))));
    write_grey_png(folder_.path() / (name + ".png"), n, n, ppi, grey);
  }

  /// Lines of a scene: one plate with its pass, in the short form.
  static std::string pass(const std::string& name, const std::string& ink, const std::string& more = {},
                          const std::string& mesh = "61-64") {
    return "[[plate]]\nname = \"" + name + "\"\nfile = \"" + name + ".png\"\nink_is = \"dark\"\nink = \"" +
           ink + "\"\nmesh = \"" + mesh + "\"\n" + more + "\n";
  }

  Scene scene(const std::string& shirt, const std::string& passes) {
    return read_scene(
        folder_.write("scene.toml", "schema = 1\ntitle = \"t\"\nshirt = \"" + shirt + "\"\n" + passes));
  }

  CheckReport check(const std::string& shirt, const std::string& passes, const CheckSettings& settings = {}) {
    return check_scene(scene(shirt, passes), settings);
  }

  /// The worst finding of a kind; none = nullptr.
  static const Finding* find(const CheckReport& report, const std::string& kind) {
    const auto at = std::find_if(report.findings.begin(), report.findings.end(),
                                 [&](const Finding& f) { return f.kind == kind; });
    if (at == report.findings.end()) return nullptr;
    EXPECT_FALSE(at->what.empty());
    EXPECT_FALSE(at->remedy.empty()) << at->what;
    EXPECT_FALSE(at->provenance.empty()) << at->what;
    return &*at;
  }
  static std::vector<std::string> kinds(const CheckReport& report) {
    std::vector<std::string> out;
    for (const Finding& f : report.findings) out.push_back(f.kind + ": " + f.what);
    return out;
  }

  const TempFolder folder_;
};

#define EXPECT_NOT_FOUND(report, kind) \
  EXPECT_EQ(find(report, kind), nullptr) << ::testing::PrintToString(kinds(report))
#define ASSERT_FOUND(name, report, kind)                 \
  const CheckReport name##_report = (report);            \
  const Finding* const name = find(name##_report, kind); \
  ASSERT_NE(name, nullptr) << ::testing::PrintToString(kinds(name##_report))

}  // namespace kirtle::test
