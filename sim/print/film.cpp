#include "print/film.h"

#include "base/check.h"
#include "base/parallel.h"
#include "plate/io/write_picture.h"
#include "print/cover.h"
#include "print/loupe_plate.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>
#include <sstream>
#include <stdexcept>

namespace kirtle {

namespace {

constexpr int kBand = 128;                                         // device rows worked on together
constexpr double kMarkLine = 0.15, kMarkCircle = 2, kMarkArm = 4;  // mm: line width, radius, half a cross
constexpr double kLabelGap = 1;                                    // mm, above and below the label

int device_px(double mm, double ppi) { return static_cast<int>(std::lround(mm / kMmPerInch * ppi)); }

void check_range(const char* what, double value, double lowest, double highest, const char* unit) {
  if (value >= lowest && value <= highest) return;
  std::ostringstream text;
  text << what << " is " << value << unit << "; it must be " << lowest << " to " << highest << unit;
  throw std::domain_error(text.str());
}

/// Where everything lies, in device pixels.
struct Layout {
  int art_x, art_y, art_width, art_height;
  int width, height;
  int label_y;
};

Layout layout_of(const PlateImage& plate, double ppi, const FilmSettings& s) {
  KIRTLE_CHECK(ppi, >, 0);
  check_range("resolution of a film", s.device_ppi, 300, 5080, " pixels per inch");
  check_range("margin of a film", s.margin.v, kLeastFilmMargin.v, 200, " mm");
  KIRTLE_CHECK(s.label.ink.size(), ==,
               static_cast<std::size_t>(s.label.width) * static_cast<std::size_t>(s.label.height));
  Layout l{};
  l.art_x = l.art_y = device_px(s.margin.v, s.device_ppi);
  l.art_width = std::max(1, static_cast<int>(std::lround(plate.width / ppi * s.device_ppi)));
  l.art_height = std::max(1, static_cast<int>(std::lround(plate.height / ppi * s.device_ppi)));
  l.width = 2 * l.art_x + l.art_width;
  l.height = 2 * l.art_y + l.art_height;
  l.label_y = l.height;
  if (s.label.height > 0) {
    const int gap = device_px(kLabelGap, s.device_ppi);
    l.label_y += gap;
    l.height += 2 * gap + s.label.height;
    if (l.art_x + s.label.width > l.width) {
      const double mm = kMmPerInch / s.device_ppi;
      std::ostringstream text;
      text << "the film's label is " << s.label.width * mm
           << " mm wide; from the art's left side on there are " << (l.width - l.art_x) * mm << " mm";
      throw std::domain_error(text.str());
    }
  }
  return l;
}

/// Rows of packed pixels, white to start with: a set bit is white.
class FilmRows {
 public:
  FilmRows(int width, int y0, int rows)
      : y0_(y0),
        stride_((static_cast<std::size_t>(width) + 7) / 8),
        bytes_(stride_ * static_cast<std::size_t>(rows), 0xFF) {}
  void ink(int x, int y) {
    std::uint8_t& byte =
        bytes_[static_cast<std::size_t>(y - y0_) * stride_ + static_cast<std::size_t>(x / 8)];
    byte = static_cast<std::uint8_t>(byte & ~(0x80 >> (x % 8)));
  }
  const std::vector<std::uint8_t>& bytes() const { return bytes_; }

 private:
  int y0_;
  std::size_t stride_;
  std::vector<std::uint8_t> bytes_;
};

class Film {
 public:
  Film(const PlateImage& plate, double ppi, const FilmSettings& settings)
      : plate_(plate),
        settings_(settings),
        layout_(layout_of(plate, ppi, settings)),
        cover_(plate, ppi, cover_settings(settings)),
        dots_(cover_, 0, DotRaster::plain),
        raster_{0.5 * kMmPerInch / settings.device_ppi, 0.5 * kMmPerInch / settings.device_ppi,
                kMmPerInch / settings.device_ppi} {
    for (int x = 0; x < layout_.art_width; ++x) column_.push_back(plate_pixel(x, plate.width));
  }

  const Layout& layout() const { return layout_; }

  FilmRows rows(int y0, int count) const {
    FilmRows out(layout_.width, y0, count);
    art(y0, count, out);
    marks(y0, count, out);
    label(y0, count, out);
    return out;
  }

 private:
  static CoverSettings cover_settings(const FilmSettings& settings) {
    CoverSettings cover;
    cover.tone.halftone = settings.halftone;
    cover.tone.spread = {0};
    return cover;
  }

  /// The plate's pixel at a device pixel of the art.
  int plate_pixel(int device, int size) const {
    return std::clamp(static_cast<int>((device + 0.5) / settings_.device_ppi * cover_.ppi()), 0, size - 1);
  }

  int code(int x, int y) const {
    const std::size_t i = static_cast<std::size_t>(std::clamp(y, 0, plate_.height - 1)) *
                              static_cast<std::size_t>(plate_.width) +
                          static_cast<std::size_t>(std::clamp(x, 0, plate_.width - 1));
    return plate_.bits == 8 ? plate_.ink8[i] : plate_.ink16[i];
  }

  /// By column: 0 nothing there and around, 1 solid there and around, 2 anything else.
  std::vector<std::uint8_t> flat(int y) const {
    std::vector<std::uint8_t> kind(static_cast<std::size_t>(plate_.width));
    for (int x = 0; x < plate_.width; ++x) {
      const int here = code(x, y);
      bool alike = here == 0 || here == plate_.max();
      for (int j = -2; alike && j <= 2; ++j) {
        for (int i = -2; alike && i <= 2; ++i) alike = code(x + i, y + j) == here;
      }
      kind[static_cast<std::size_t>(x)] = alike ? here != 0 : 2;
    }
    return kind;
  }

  void art(int y0, int count, FilmRows& out) const {
    const int from = std::max(y0, layout_.art_y) - layout_.art_y;
    const int to = std::min(y0 + count, layout_.art_y + layout_.art_height) - layout_.art_y;
    if (from >= to) return;
    const PlateBand band = dots_.band(raster_, {0, from, layout_.art_width, to - from});
    std::vector<std::uint8_t> kind, state(static_cast<std::size_t>(layout_.art_width));
    for (int y = from, known = -1; y < to; ++y) {
      if (const int row = plate_pixel(y, plate_.height); row != known) kind = flat(known = row);
      const auto kind_at = [&](int x) {
        return kind[static_cast<std::size_t>(column_[static_cast<std::size_t>(x)])];
      };
      for (int x = 0; x < layout_.art_width;) {
        const std::uint8_t here = kind_at(x);
        int end = x + 1;
        while (end < layout_.art_width && kind_at(end) == here) ++end;
        const std::span<std::uint8_t> run(state.data(), static_cast<std::size_t>(end - x));
        if (here == 2) dots_.states(band, raster_, {x, y, end - x, 1}, run);
        for (int i = x; i < end; ++i) {
          const bool ink = here == 2 ? (run[static_cast<std::size_t>(i - x)] & kDeviceInk) != 0 : here == 1;
          if (ink) out.ink(layout_.art_x + i, layout_.art_y + y);
        }
        x = end;
      }
    }
  }

  void marks(int y0, int count, FilmRows& out) const {
    const double mm = kMmPerInch / settings_.device_ppi;
    const double middle_x = layout_.art_x + 0.5 * layout_.art_width,
                 middle_y = layout_.art_y + 0.5 * layout_.art_height;
    const double half = 0.5 * layout_.art_x;
    const double at[4][2] = {{middle_x, half},
                             {middle_x, layout_.art_y + layout_.art_height + half},
                             {half, middle_y},
                             {layout_.art_x + layout_.art_width + half, middle_y}};
    const double reach = (kMarkArm + kMarkLine) / mm;
    for (const auto& [cx, cy] : at) {
      const int top = std::max(y0, static_cast<int>(cy - reach)),
                bottom = std::min(y0 + count - 1, static_cast<int>(cy + reach));
      for (int y = top; y <= bottom; ++y) {
        for (int x = static_cast<int>(cx - reach); x <= static_cast<int>(cx + reach); ++x) {
          const double u = std::abs(x + 0.5 - cx) * mm, v = std::abs(y + 0.5 - cy) * mm;
          const bool cross = std::min(u, v) <= kMarkLine / 2 && std::max(u, v) <= kMarkArm;
          if (cross || std::abs(std::hypot(u, v) - kMarkCircle) <= kMarkLine / 2) out.ink(x, y);
        }
      }
    }
  }

  void label(int y0, int count, FilmRows& out) const {
    const FilmLabel& l = settings_.label;
    for (int y = std::max(y0, layout_.label_y); y < std::min(y0 + count, layout_.label_y + l.height); ++y) {
      const std::uint8_t* ink =
          l.ink.data() + static_cast<std::size_t>(y - layout_.label_y) * static_cast<std::size_t>(l.width);
      for (int x = 0; x < l.width; ++x) {
        if (ink[x] != 0) out.ink(layout_.art_x + x, y);
      }
    }
  }

  const PlateImage& plate_;
  const FilmSettings& settings_;
  Layout layout_;
  PlateCover cover_;
  LoupePlate dots_;
  DeviceRaster raster_;
  std::vector<int> column_;
};

FilmArt art_of(const Layout& l, double device_ppi) {
  const double mm = kMmPerInch / device_ppi;
  return {l.art_x * mm, l.art_y * mm, l.art_width * mm, l.art_height * mm, l.width, l.height};
}

std::string one_decimal(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

std::string dots_in_words(const HalftoneScreen& h) {
  if (h.shape == DotShape::noise) {
    return "scattered dots of " + std::to_string(std::lround(h.dot.v)) + " um";
  }
  const char* shape = h.shape == DotShape::round        ? "round dots"
                      : h.shape == DotShape::elliptical ? "elliptical dots"
                      : h.shape == DotShape::inverting  ? "dots that invert at 50 %"
                      : h.shape == DotShape::line       ? "lines for dots"
                                                        : "square dots";
  std::ostringstream text;
  text << h.lpi << " lines per inch, " << h.angle_deg << " degrees, " << shape;
  return text.str();
}

}  // namespace

FilmArt film_art(const PlateImage& plate, double ppi, const FilmSettings& settings) {
  return art_of(layout_of(plate, ppi, settings), settings.device_ppi);
}

FilmArt write_film(const std::filesystem::path& target, const PlateImage& plate, double ppi,
                   const FilmSettings& settings, unsigned threads) {
  const Film film(plate, ppi, settings);
  const Layout& l = film.layout();
  PictureFormat format;
  format.width = l.width;
  format.height = l.height;
  format.channels = 1;
  format.bits = 1;
  format.ppi = settings.device_ppi;
  format.threads = threads;
  if (!plate.name.empty()) format.text.emplace_back("Title", plate.name);
  if (!settings.note.empty()) format.text.emplace_back("Comment", settings.note);
  const auto writer = PictureWriter::open(target, format);
  if (threads == 0) threads = default_threads();
  const int bands = (l.height + kBand - 1) / kBand, at_once = 2 * static_cast<int>(threads);
  for (int first = 0; first < bands; first += at_once) {
    const int count = std::min(at_once, bands - first);
    std::vector<std::unique_ptr<FilmRows>> made(static_cast<std::size_t>(count));
    parallel_for(made.size(), threads, [&](std::size_t i, unsigned) {
      const int y0 = (first + static_cast<int>(i)) * kBand;
      made[i] = std::make_unique<FilmRows>(film.rows(y0, std::min(kBand, l.height - y0)));
    });
    for (const auto& rows : made) writer->write_rows8(rows->bytes());
  }
  writer->commit();
  return art_of(l, settings.device_ppi);
}

std::vector<std::string> film_label_lines(const FilmWords& words, const FilmArt& art) {
  std::vector<std::string> lines{words.plate, "ink: " + words.ink + ", mesh: " + words.mesh};
  lines.push_back(words.tints ? dots_in_words(words.halftone) : "no tints");
  lines.push_back(words.curve == CurveAt::none     ? "curve: none in this film"
                  : words.curve == CurveAt::plates ? "curve: in this film already; add none at output"
                                                   : "curve: none in this film; the output step adds it");
  lines.push_back("art starts " + one_decimal(art.x_mm) + " mm from the left, " + one_decimal(art.y_mm) +
                  " mm from the top, " + one_decimal(art.width_mm) + " x " + one_decimal(art.height_mm) +
                  " mm");
  return lines;
}

}  // namespace kirtle
