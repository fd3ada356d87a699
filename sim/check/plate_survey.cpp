#include "check/plate_survey.h"

#include "base/parallel.h"
#include "check/tiles.h"
#include "plate/contour.h"

#include <algorithm>
#include <cmath>

namespace kirtle::check {

namespace {

constexpr int kBandRows = 128;
constexpr double kReach = 2;      // pixels: the least that contours are looked for with
constexpr int kShortestTint = 4;  // pixels along a row; what is shorter is the corner of a shape
constexpr int kFaintest = 5;      // of 255: below, a tint is the foot of a fade, or noise

/// What one band of rows holds.
struct Band {
  double ink = 0, cut = 0;
  std::array<std::size_t, 256> tones{};
  int left = 1 << 30, right = -1, top = -1, bottom = -1;
  struct Lost {
    std::size_t tile = 0, light = 0, dark = 0;
  };
  std::vector<Lost> lost;  ///< by run of pixels
  std::size_t light = 0, dark = 0;
  double light_sum = 0, dark_sum = 0;
};

void drop_short_tints(std::uint8_t* tint, int width) {
  for (int x = 0; x < width;) {
    if (tint[x] == 0) {
      ++x;
      continue;
    }
    const int from = x;
    while (x < width && tint[x] != 0) ++x;
    if (x - from < kShortestTint) std::fill(tint + from, tint + x, std::uint8_t{0});
  }
}

template <class Sample>
void read_band(const PlateImage& plate, const Sample* samples, int y0, int rows, const HeldTones& held,
               const Tiles& tiles, detail::CutPixels& pixels, Band& band) {
  DistanceRows contours = contour_distance(plate, y0, rows, 0, kReach);
  const int max = plate.max(), low = max / 255, high = max - max / 255;
  constexpr int kShift = sizeof(Sample) == 1 ? 0 : 8;
  const auto width = static_cast<std::size_t>(plate.width);
  const int lightest = static_cast<int>(std::lround(held.lightest * 255));
  const int darkest = static_cast<int>(std::lround(held.darkest * 255));
  for (int row = 0; row < rows; ++row) {
    const int y = y0 + row;
    const std::size_t at = static_cast<std::size_t>(y) * width;
    const Sample* v = samples + at;
    std::uint8_t* tint = contours.tint.data() + static_cast<std::size_t>(row) * width;
    drop_short_tints(tint, plate.width);
    std::uint8_t* cut = pixels.cut.data() + at;
    std::uint64_t all = 0, in_tints = 0;
    for (std::size_t x = 0; x < width; ++x) {
      const int code = v[x] >> kShift;
      all += v[x];
      if (code >= kFaintest) {
        band.left = std::min(band.left, static_cast<int>(x));
        band.right = std::max(band.right, static_cast<int>(x));
        if (band.top < 0) band.top = y;
        band.bottom = y;
      }
      if (tint[x] == 0) {
        cut[x] = v[x] <= low    ? std::uint8_t{0}
                 : v[x] >= high ? detail::kCutSolid
                                : static_cast<std::uint8_t>(std::clamp(code * 254 / 255, 1, 253));
        continue;
      }
      in_tints += v[x];
      cut[x] = detail::kCutTint;
      ++band.tones[static_cast<std::size_t>(code)];
      const bool light = code >= kFaintest && code < lightest;
      const bool dark = code > darkest && code <= 255 - kFaintest;
      if (!light && !dark) continue;
      const std::size_t tile = tiles.of(static_cast<double>(x), y);
      if (band.lost.empty() || band.lost.back().tile != tile) band.lost.push_back({tile, 0, 0});
      (light ? band.lost.back().light : band.lost.back().dark) += 1;
      (light ? band.light : band.dark) += 1;
      (light ? band.light_sum : band.dark_sum) += code / 255.0;
    }
    band.ink += static_cast<double>(all) / max;
    band.cut += static_cast<double>(all - in_tints) / max;
  }
}

double border_share(const PlateImage& plate) {
  double sum = 0;
  std::size_t count = 0;
  for (int y = 0; y < plate.height; ++y) {
    const bool edge = y == 0 || y + 1 == plate.height;
    const int step = edge ? 1 : std::max(1, plate.width - 1);
    for (int x = 0; x < plate.width; x += step) {
      sum += plate.film(x, y);
      ++count;
    }
  }
  return count > 0 ? sum / static_cast<double>(count) : 0;
}

}  // namespace

PlateSurvey survey_plate(const PlateImage& plate, double ppi, const HeldTones& held, unsigned threads) {
  detail::CutPixels pixels{plate.width, plate.height, std::vector<std::uint8_t>(plate.pixels())};
  Tiles light(plate.width, plate.height, ppi, kTile_mm), dark = light;
  std::vector<Band> bands(static_cast<std::size_t>((plate.height + kBandRows - 1) / kBandRows));
  parallel_for(bands.size(), threads, [&](std::size_t i, unsigned) {
    const int y0 = static_cast<int>(i) * kBandRows, rows = std::min(kBandRows, plate.height - y0);
    if (plate.bits == 8) {
      read_band(plate, plate.ink8.data(), y0, rows, held, light, pixels, bands[i]);
    } else {
      read_band(plate, plate.ink16.data(), y0, rows, held, light, pixels, bands[i]);
    }
  });
  const double mm = kMmPerInch / ppi, mm2 = mm * mm;
  PlateSurvey out;
  double ink = 0, cut = 0, light_sum = 0, dark_sum = 0;
  std::size_t lights = 0, darks = 0;
  int left = plate.width, right = -1, top = -1, bottom = -1;
  for (const Band& band : bands) {
    ink += band.ink;
    cut += band.cut;
    for (std::size_t v = 0; v < out.tones.size(); ++v) out.tones[v] += band.tones[v];
    left = std::min(left, band.left);
    right = std::max(right, band.right);
    if (top < 0) top = band.top;
    bottom = std::max(bottom, band.bottom);
    lights += band.light;
    darks += band.dark;
    light_sum += band.light_sum;
    dark_sum += band.dark_sum;
    for (const Band::Lost& lost : band.lost) {
      light[lost.tile] += static_cast<double>(lost.light);
      dark[lost.tile] += static_cast<double>(lost.dark);
    }
  }
  const auto area = static_cast<double>(plate.pixels());
  std::size_t tints = 0;
  for (const std::size_t n : out.tones) tints += n;
  out.coverage = area > 0 ? ink / area : 0;
  out.border_share = border_share(plate);
  out.empty = right < 0;
  if (out.empty) return out;
  out.ink_from = {{left * mm}, {top * mm}};
  out.ink_to = {{(right + 1) * mm}, {(bottom + 1) * mm}};
  out.tint_mm2 = static_cast<double>(tints) * mm2;
  out.solid_mm2 = cut * mm2;
  out.light_mm2 = static_cast<double>(lights) * mm2;
  out.dark_mm2 = static_cast<double>(darks) * mm2;
  out.light_tone = lights > 0 ? light_sum / static_cast<double>(lights) : 0;
  out.dark_tone = darks > 0 ? dark_sum / static_cast<double>(darks) : 0;
  out.light_at = light.centre(light.worst());
  out.dark_at = dark.centre(dark.worst());
  out.strokes = detail::thin_pieces(pixels, kWidestStroke_mm / mm, threads);
  // Near 45 degrees both rows and columns see a stroke: each counts where it runs more along its own way.
  std::erase_if(out.strokes, [](const detail::ThinPiece& p) {
    const double across = std::abs(p.x1 - p.x0), down = std::abs(p.y1 - p.y0);
    return p.by_columns ? across <= down : down < across;
  });
  out.type = find_type(pixels, ppi, out.strokes);
  return out;
}

}  // namespace kirtle::check
