// CIEDE2000 of many pixels at once against the double formula.
#include "verdict/delta_e_row.h"

#include "light/delta_e_2000.h"
#include "verdict/spatial_lab.h"

#include <gtest/gtest.h>
#include <random>
#include <vector>

namespace kirtle {
namespace {

TEST(DeltaERow, IsTheFormulaForColoursOfEveryHueAndDifferencesOfEverySize) {
  const XYZ white{96.42, 100, 82.49};
  std::mt19937 random(3);
  const auto even = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random()) / 4294967296.0;
  };
  std::array<std::vector<float>, 3> at, change;
  for (int i = 0; i < 200000; ++i) {
    const double reach = std::pow(10, even(-1, 2)), chroma = i % 3 == 0 ? 2 : 90;
    const Lab lab{even(0, 100), even(-chroma, chroma), even(-chroma, chroma)};
    const Lab other{std::max(0.0, lab.l + even(-reach, reach) / 2), lab.a + even(-reach, reach) / 2,
                    lab.b + even(-reach, reach) / 2};
    const XYZ p = xyz_from_lab(lab, white), q = xyz_from_lab(i % 50 == 0 ? lab : other, white);
    const auto narrow = [](const XYZ& c) {
      return XYZf{static_cast<float>(c.x), static_cast<float>(c.y), static_cast<float>(c.z)};
    };
    const std::array<float, 3> a = opponent_of(narrow(p)), b = opponent_of(narrow(q));
    for (std::size_t c = 0; c < 3; ++c) {
      at[c].push_back(a[c]);
      change[c].push_back(b[c] - a[c]);
    }
  }
  std::vector<float> found(at[0].size());
  const DeltaERow exactly(white);
  exactly({at[0].data(), at[1].data(), at[2].data()}, {change[0].data(), change[1].data(), change[2].data()},
          found.size(), found.data());
  for (std::size_t i = 0; i < found.size(); ++i) {
    const std::array<float, 3> a{at[0][i], at[1][i], at[2][i]},
        b{a[0] + change[0][i], a[1] + change[1][i], a[2] + change[2][i]};
    const Lab x = lab_from_xyz(xyz_of_opponent(a), white), y = lab_from_xyz(xyz_of_opponent(b), white);
    const double exact = delta_e_2000(x, y);
    if (exact > 100) continue;
    // Where the hues are opposite the formula itself jumps.
    if (std::abs(std::abs(hue_degrees(x) - hue_degrees(y)) - 180) < 0.1) continue;
    ASSERT_NEAR(static_cast<double>(found[i]), exact, 1e-3 + 1e-3 * exact)
        << x.l << ' ' << x.a << ' ' << x.b << " / " << y.l << ' ' << y.a << ' ' << y.b;
  }
}

}  // namespace
}  // namespace kirtle
