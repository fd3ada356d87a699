#include "light/delta_e_2000.h"

#include <cmath>
#include <numbers>

namespace kirtle {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;
constexpr double kTieTolerance_deg = 1e-9;

double seventh_power_share(double c) {
  constexpr double k25To7 = 6103515625.0;  // 25^7
  const double c7 = std::pow(c, 7);
  return std::sqrt(c7 / (c7 + k25To7));
}

double cos_deg(double angle_deg) { return std::cos(angle_deg * kDegree); }

}  // namespace

double delta_e_2000(const Lab& x, const Lab& y) {
  const double g = 0.5 * (1.0 - seventh_power_share(0.5 * (chroma(x) + chroma(y))));
  const Lab x1{x.l, (1.0 + g) * x.a, x.b};
  const Lab y1{y.l, (1.0 + g) * y.a, y.b};
  const double cx = chroma(x1), cy = chroma(y1);
  const double hx = hue_degrees(x1), hy = hue_degrees(y1);
  const bool grey = cx * cy == 0;

  double dh_deg = 0;
  double mean_h_deg = hx + hy;  // one of them is 0 without hue
  if (!grey) {
    const double apart = hy - hx;
    if (std::abs(apart) <= 180.0 + kTieTolerance_deg) {
      dh_deg = apart;
      mean_h_deg = 0.5 * (hx + hy);
    } else {
      dh_deg = apart > 0 ? apart - 360.0 : apart + 360.0;
      mean_h_deg = 0.5 * (hx + hy < 360.0 ? hx + hy + 360.0 : hx + hy - 360.0);
    }
  }
  const double dl = y.l - x.l;
  const double dc = cy - cx;
  const double dh = 2.0 * std::sqrt(cx * cy) * std::sin(0.5 * dh_deg * kDegree);

  const double mean_c = 0.5 * (cx + cy);
  const double l50 = 0.5 * (x.l + y.l) - 50.0;
  const double t = 1.0 - 0.17 * cos_deg(mean_h_deg - 30.0) + 0.24 * cos_deg(2.0 * mean_h_deg) +
                   0.32 * cos_deg(3.0 * mean_h_deg + 6.0) - 0.20 * cos_deg(4.0 * mean_h_deg - 63.0);
  const double bump = (mean_h_deg - 275.0) / 25.0;
  const double turn_deg = 30.0 * std::exp(-bump * bump);
  const double rt = -2.0 * seventh_power_share(mean_c) * std::sin(2.0 * turn_deg * kDegree);
  const double sl = 1.0 + 0.015 * l50 * l50 / std::sqrt(20.0 + l50 * l50);
  const double sc = 1.0 + 0.045 * mean_c;
  const double sh = 1.0 + 0.015 * mean_c * t;

  const double l = dl / sl, c = dc / sc, h = dh / sh;
  const double square = l * l + c * c + h * h + rt * c * h;
  return square < 0 ? 0.0 : std::sqrt(square);  // rounding can take a null difference below 0
}

}  // namespace kirtle
