#pragma once
// What tests of overprints compare in, and a stack that several of them print.
#include "light/delta_e_2000.h"
#include "print/halftone_cases.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace kirtle::test {

inline const ViewingWeights kD50 = viewing_weights("D50", Observer::cie1931_2deg);

inline double de00(const XYZ& a, const XYZ& b) {
  return delta_e_2000(lab_from_xyz(a, kD50.white), lab_from_xyz(b, kD50.white));
}

inline void expect_close(const Spectrum& got, const Spectrum& want, double tolerance) {
  for (std::size_t i = 0; i < kBands; ++i) EXPECT_NEAR(got[i], want[i], tolerance) << band_nm(i);
}

/// White, yellow and red on black cloth.
inline Stack three_inks() {
  return Stack(demo::black_cloth(),
               {demo::film_pass(0, demo::white(), 60), demo::film_pass(1, demo::yellow(), 20),
                demo::film_pass(2, demo::red(), 15)},
               3, demo::process(), {});
}

inline constexpr demo::GroundKind kGrounds[] = {demo::GroundKind::undyed, demo::GroundKind::discharged,
                                                demo::GroundKind::white_base};
inline constexpr const char* kGroundNames[] = {"undyed", "discharged", "white_base"};

/// Colour differences over many cases.
struct Errors {
  double sum = 0, max = 0;
  int n = 0;
  void add(double e) {
    sum += e;
    max = std::max(max, e);
    ++n;
  }
  void add(const Errors& o) {
    sum += o.sum;
    max = std::max(max, o.max);
    n += o.n;
  }
  double mean() const { return sum / n; }
};

}  // namespace kirtle::test
