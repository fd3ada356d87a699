#include "proof/cloth_picture.h"

#include "light/srgb.h"

#include <algorithm>
#include <cmath>

namespace kirtle {

InkBox ink_box(const Prediction& prediction) {
  InkBox box{prediction.renderer().width(), prediction.renderer().height(), 0, 0};
  for (const PlateCover& cover : prediction.covers()) {
    const PlateImage& image = cover.image();
    for (int y = 0; y < image.height; ++y) {
      for (int x = 0; x < image.width; ++x) {
        if (!(image.film(x, y) > 0.02)) continue;
        box.x0 = std::min(box.x0, x);
        box.x1 = std::max(box.x1, x + 1);
        box.y0 = std::min(box.y0, y);
        box.y1 = std::max(box.y1, y + 1);
      }
    }
  }
  return box.x1 > box.x0 ? box : InkBox{};
}

PrintPixels print_pixels(const Prediction& prediction, const InkBox& box, double px_per_mm,
                         unsigned threads) {
  const PrintRenderer& renderer = prediction.renderer();
  const double plate_px_per_mm = prediction.ppi() / kMmPerInch;
  const double scale = std::min(1.0, px_per_mm / plate_px_per_mm);
  const int width = PrintRenderer::scaled(renderer.width(), scale);
  const int height = PrintRenderer::scaled(renderer.height(), scale);
  const auto at = [&](int px, int whole, int scaled) {
    return std::clamp(static_cast<int>(std::lround(static_cast<double>(px) / whole * scaled)), 0, scaled);
  };
  InkBox cut{at(box.x0, renderer.width(), width), at(box.y0, renderer.height(), height),
             at(box.x1, renderer.width(), width), at(box.y1, renderer.height(), height)};
  cut.x0 = std::min(cut.x0, width - 1);
  cut.y0 = std::min(cut.y0, height - 1);
  cut.x1 = std::max(cut.x1, cut.x0 + 1);
  cut.y1 = std::max(cut.y1, cut.y0 + 1);
  PrintPixels out;
  out.width = cut.width();
  out.height = cut.height();
  out.px_per_mm = plate_px_per_mm * width / renderer.width();
  out.rgb.resize(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
  const SrgbEncoder encoder(prediction.model().table.weights().white);
  std::array<float, 256> linear{};
  for (std::size_t i = 0; i < 256; ++i)
    linear[i] = static_cast<float>(srgb_decode(static_cast<double>(i) / 255));
  const auto take = [&](int y0, int rows, std::span<const XYZf> xyz) {
    for (int r = 0; r < rows; ++r) {
      const int y = y0 + r - cut.y0;
      if (y < 0 || y >= out.height) continue;
      for (int x = 0; x < out.width; ++x) {
        const XYZf& c = xyz[static_cast<std::size_t>(r) * static_cast<std::size_t>(width) +
                            static_cast<std::size_t>(x + cut.x0)];
        const Rgb8 codes =
            encoder.encode8({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)});
        out.rgb[static_cast<std::size_t>(y) * static_cast<std::size_t>(out.width) +
                static_cast<std::size_t>(x)] = {linear[codes[0]], linear[codes[1]], linear[codes[2]]};
      }
    }
  };
  if (scale < 1) {
    renderer.render(scale, threads, {}, take);
  } else {  // no other rows are worked out
    RenderWorker worker(prediction.model().table);
    std::vector<XYZf> row(static_cast<std::size_t>(width));
    for (int y = cut.y0; y < cut.y1; ++y) {
      renderer.xyz_rows(y, 1, worker, row);
      take(y, 1, row);
    }
  }
  return out;
}

namespace {

/// Jersey as it is knitted: columns of stitches, each leaning one way and back. Its mean is 1.
/// Plausible, no source: 14 columns and 20 rows a centimetre, 4 % to either side.
double knit(double x_mm, double y_mm) {
  constexpr double kColumns = 1.4, kRows = 2.0, kDepth = 0.04;
  const double column = x_mm * kColumns - std::floor(x_mm * kColumns);
  const double lean = std::abs(column - 0.5);
  const double row = (y_mm * kRows + lean) * 2 * 3.14159265358979;
  return 1 + kDepth * (0.7 * std::sin(row) + 0.6 * std::cos(column * 2 * 3.14159265358979));
}

std::uint8_t code_of(double linear) {
  return static_cast<std::uint8_t>(std::lround(255 * srgb_encode(std::clamp(linear, 0.0, 1.0))));
}

/// Finer than this, stitches of a millimetre are drawn as such.
constexpr double kKnitShows = 4;

}  // namespace

PagePicture close_up(const PrintPixels& pixels) {
  PagePicture out;
  out.width = pixels.width;
  out.height = pixels.height;
  out.rgba.reserve(4 * pixels.rgb.size());
  const bool fine = pixels.px_per_mm >= kKnitShows;
  for (int y = 0; y < pixels.height; ++y) {
    for (int x = 0; x < pixels.width; ++x) {
      const auto& rgb = pixels.rgb[static_cast<std::size_t>(y) * static_cast<std::size_t>(pixels.width) +
                                   static_cast<std::size_t>(x)];
      const double shade = fine ? knit(x / pixels.px_per_mm, y / pixels.px_per_mm) : 1;
      for (const float c : rgb) out.rgba.push_back(code_of(static_cast<double>(c) * shade));
      out.rgba.push_back(255);
    }
  }
  return out;
}

InkBox busiest_window(const PrintPixels& coarse, const InkBox& ink, double plate_px_per_mm, double width_mm,
                      double height_mm) {
  const int w = std::min(coarse.width, std::max(1, static_cast<int>(width_mm * coarse.px_per_mm)));
  const int h = std::min(coarse.height, std::max(1, static_cast<int>(height_mm * coarse.px_per_mm)));
  // Steps between neighbours, in encoded values, summed from the corner.
  const std::size_t across = static_cast<std::size_t>(coarse.width) + 1;
  std::vector<double> sum(across * (static_cast<std::size_t>(coarse.height) + 1), 0.0);
  const auto rgb = [&](int x, int y) {
    return coarse.rgb[static_cast<std::size_t>(y) * static_cast<std::size_t>(coarse.width) +
                      static_cast<std::size_t>(x)];
  };
  for (int y = 0; y < coarse.height; ++y) {
    for (int x = 0; x < coarse.width; ++x) {
      double step = 0;
      for (std::size_t c = 0; c < 3; ++c) {
        const auto encoded = [&](int px, int py) { return srgb_encode(static_cast<double>(rgb(px, py)[c])); };
        step += std::abs(encoded(std::min(x + 1, coarse.width - 1), y) - encoded(x, y)) +
                std::abs(encoded(x, std::min(y + 1, coarse.height - 1)) - encoded(x, y));
      }
      const std::size_t i = (static_cast<std::size_t>(y) + 1) * across + static_cast<std::size_t>(x) + 1;
      sum[i] = step + sum[i - 1] + sum[i - across] - sum[i - across - 1];
    }
  }
  int best_x = 0, best_y = 0;
  double best = -1;
  for (int y = 0; y + h <= coarse.height; ++y) {
    for (int x = 0; x + w <= coarse.width; ++x) {
      const auto at = [&](int px, int py) {
        return sum[static_cast<std::size_t>(py) * across + static_cast<std::size_t>(px)];
      };
      const double here = at(x + w, y + h) - at(x, y + h) - at(x + w, y) + at(x, y);
      if (here > best * (1 + 1e-9)) {
        best = here;
        best_x = x;
        best_y = y;
      }
    }
  }
  const double plate_px = plate_px_per_mm / coarse.px_per_mm;
  InkBox out;
  const int want_w = std::min(ink.width(), static_cast<int>(std::lround(width_mm * plate_px_per_mm)));
  const int want_h = std::min(ink.height(), static_cast<int>(std::lround(height_mm * plate_px_per_mm)));
  out.x0 = std::clamp(ink.x0 + static_cast<int>(best_x * plate_px), ink.x0, ink.x1 - want_w);
  out.y0 = std::clamp(ink.y0 + static_cast<int>(best_y * plate_px), ink.y0, ink.y1 - want_h);
  out.x1 = out.x0 + want_w;
  out.y1 = out.y0 + want_h;
  return out;
}

}  // namespace kirtle
