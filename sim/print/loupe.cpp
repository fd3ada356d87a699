#include "print/loupe.h"

#include "base/check.h"
#include "base/parallel.h"
#include "base/simd.h"
#include "print/loupe_scatter.h"
#include "print/plane_fourier.h"
#include "print/shrinker.h"

#include <algorithm>
#include <cmath>
#include <unordered_map>

namespace kirtle {

namespace {

constexpr int kTile = 384;         // device pixels a side
constexpr double kLightReach = 6;  // mean radii
constexpr int kDoseSteps = 1023;   // of a field's dose, for its colour
constexpr std::uint32_t kPlateSeed = 0x9E3779B9u;

KIRTLE_WIDE void add_film(const std::uint8_t* states, std::size_t count, unsigned plate,
                          std::uint16_t* overprint) {
  for (std::size_t i = 0; i < count; ++i)
    overprint[i] |= static_cast<std::uint16_t>((states[i] & kDeviceInk) << plate);
}

KIRTLE_WIDE void film_cover(const std::uint8_t* states, std::size_t count, std::uint16_t* cover) {
  for (std::size_t i = 0; i < count; ++i) cover[i] = (states[i] & kDeviceInk) != 0 ? 65535 : 0;
}

KIRTLE_WIDE void field_cover(const float* doses, std::size_t count, std::uint16_t* cover) {
  for (std::size_t i = 0; i < count; ++i) {
    const float dose = std::min(std::max(doses[i], 0.0F), 1.0F);
    const auto step = static_cast<float>(static_cast<std::int32_t>(dose * kDoseSteps + 0.5F));
    cover[i] = static_cast<std::uint16_t>(static_cast<std::int32_t>(step * (65535.0F / kDoseSteps) + 0.5F));
  }
}

}  // namespace

/// What lies at the device pixels of a tile, one a plate: a film's states or a field's doses.
struct Loupe::Layers {
  std::vector<std::vector<std::uint8_t>> states;
  std::vector<std::vector<float>> doses;
};

/// One a thread: mixed colours that it has met.
struct Loupe::Worker {
  explicit Worker(const OverprintTable& table) : mixer(table) {}
  const XYZf& film_colour(std::uint16_t overprint, std::size_t plates) {
    if (colours.empty()) {
      colours.resize(std::size_t{1} << plates);
      known.resize(colours.size());
    }
    if (!known[overprint]) {
      std::array<std::uint16_t, kMostPlates> cover{};
      for (std::size_t p = 0; p < plates; ++p) cover[p] = (overprint >> p & 1) != 0 ? 65535 : 0;
      colours[overprint] = mixer.mix(cover.data());
      known[overprint] = 1;
    }
    return colours[overprint];
  }
  Mixer mixer;
  std::vector<XYZf> colours;  ///< of overprints of films; bit i: plate i there
  std::vector<std::uint8_t> known;
  std::vector<std::uint16_t> row;  ///< scratch
  // A tile with light that spreads, memory kept from tile to tile.
  LoupeScatter scatter;
  LoupePiece piece;
  std::vector<XYZf> xyz;
};

Loupe::Loupe(const OverprintTable& table, const std::vector<PlateCover>& covers,
             const LoupeSettings& settings)
    : table_(table), settings_(settings), kinds_(table, loupe_bands(settings.band_step)) {
  KIRTLE_CHECK(covers.size(), ==, static_cast<std::size_t>(table.plates()));
  KIRTLE_CHECK(settings.band_step, >=, 1);
  KIRTLE_CHECK(settings.band_step, <=, 9);
  for (std::size_t i = 0; i < covers.size(); ++i)
    plates_.emplace_back(covers[i], settings.seed + kPlateSeed * static_cast<std::uint32_t>(i),
                         settings.dots);
}

int Loupe::pixels(Mm length, double dpi) {
  return std::max(1, static_cast<int>(std::lround(length.v / kMmPerInch * dpi)));
}

int Loupe::border(double dpi) const {
  if (!settings_.scatter) return 0;
  return static_cast<int>(std::ceil(kLightReach * kinds_.widest_um() / (kUmPerInch / dpi)));
}

/// Every pile by itself: rect, which lies `border` inside the layers.
void Loupe::mix(const Layers& layers, const DeviceRect& rect, int border, std::size_t wide, Worker& worker,
                XYZf* out, std::size_t stride) const {
  const std::size_t n = plates_.size(), width = static_cast<std::size_t>(rect.width);
  const bool films = std::none_of(plates_.begin(), plates_.end(), [](const auto& p) { return p.field(); });
  worker.row.resize(width * n);
  for (int y = 0; y < rect.height; ++y) {
    const std::size_t from = static_cast<std::size_t>(y + border) * wide + static_cast<std::size_t>(border);
    XYZf* to = out + static_cast<std::size_t>(y) * stride;
    std::uint16_t* row = worker.row.data();
    if (films) {
      std::fill_n(row, width, std::uint16_t{0});
      for (std::size_t p = 0; p < n; ++p)
        add_film(layers.states[p].data() + from, width, static_cast<unsigned>(p), row);
      for (std::size_t x = 0; x < width; ++x) to[x] = worker.film_colour(row[x], n);
      continue;
    }
    for (std::size_t p = 0; p < n; ++p) {
      if (plates_[p].field()) {
        field_cover(layers.doses[p].data() + from, width, row + p * width);
      } else {
        film_cover(layers.states[p].data() + from, width, row + p * width);
      }
    }
    std::array<std::uint16_t, kMostPlates> cover{};
    for (std::size_t x = 0; x < width; ++x) {
      bool same = x > 0;
      for (std::size_t p = 0; p < n; ++p) {
        same = same && row[p * width + x] == cover[p];
        cover[p] = row[p * width + x];
      }
      to[x] = same ? to[x - 1] : worker.mixer.mix(cover.data());
    }
  }
}

void Loupe::tile(const DeviceRaster& raster, const std::vector<PlateBand>& bands, const DeviceRect& rect,
                 int border, Worker& worker, std::span<XYZf> out, std::size_t stride) const {
  // A little more border where the transform then is faster.
  const DeviceRect wide{rect.x - border, rect.y - border,
                        border > 0 ? fourier_side(rect.width + 2 * border) : rect.width,
                        border > 0 ? fourier_side(rect.height + 2 * border) : rect.height};
  const std::size_t n = plates_.size(), pixels = wide.pixels(), row = static_cast<std::size_t>(wide.width);
  Layers layers{std::vector<std::vector<std::uint8_t>>(n), std::vector<std::vector<float>>(n)};
  for (std::size_t p = 0; p < n; ++p) {
    if (plates_[p].field()) {
      layers.doses[p].resize(pixels);
      plates_[p].doses(bands[p], raster, wide, layers.doses[p]);
    } else {
      layers.states[p].resize(pixels);
      plates_[p].states(bands[p], raster, wide, layers.states[p]);
    }
  }
  if (!settings_.scatter) return mix(layers, rect, border, row, worker, out.data(), stride);
  std::vector<XYZf>& xyz = worker.xyz;
  xyz.resize(pixels);
  XYZf* inside = xyz.data() + (row + 1) * static_cast<std::size_t>(border);
  mix(layers, rect, border, row, worker, inside, row);
  LoupePiece& piece = worker.piece;
  piece.width = wide.width;
  piece.height = wide.height;
  piece.pitch_um = raster.pitch_mm * 1000;
  piece.kinds.clear();
  piece.kind.resize(pixels);
  std::unordered_map<LoupeKey, std::uint32_t, LoupeKeyHash> index;
  LoupeKey key{}, before{};
  std::uint32_t at = 0;
  const auto levels = static_cast<float>(kinds_.levels());
  for (std::size_t i = 0; i < pixels; ++i) {
    for (std::size_t p = 0; p < n; ++p) {
      key[p] = plates_[p].field()
                   ? static_cast<std::uint8_t>(std::clamp(layers.doses[p][i], 0.0F, 1.0F) * levels + 0.5F)
                   : layers.states[p][i];
    }
    if (i == 0 || key != before) {
      const auto [it, is_new] = index.try_emplace(key, static_cast<std::uint32_t>(piece.kinds.size()));
      if (is_new) piece.kinds.push_back(kinds_.at(key));
      at = it->second;
      before = key;
    }
    piece.kind[i] = at;
  }
  if (piece.kinds.size() > 1) {
    if (settings_.other_scatter != nullptr) {
      settings_.other_scatter(piece, kinds_.fibre_shares(), xyz);
    } else {
      worker.scatter.add(piece, kinds_.fibre_shares(), xyz);
    }
  }
  for (int y = 0; y < rect.height; ++y) {
    const XYZf* from = inside + static_cast<std::size_t>(y) * row;
    XYZf* to = out.data() + static_cast<std::size_t>(y) * stride;
    for (int x = 0; x < rect.width; ++x)
      to[x] = {std::max(from[x].x, 0.0F), std::max(from[x].y, 0.0F), std::max(from[x].z, 0.0F)};
  }
}

void Loupe::render(const LoupeWindow& window, double scale, unsigned threads, const Progress& progress,
                   const std::function<void(int, int, std::span<const XYZf>)>& sink) const {
  KIRTLE_CHECK(window.dpi, >=, kLeastLoupeDpi);
  KIRTLE_CHECK(window.dpi, <=, kMostLoupeDpi);
  KIRTLE_CHECK(scale, >, 0.0);
  KIRTLE_CHECK(scale, <=, 1.0);
  if (threads == 0) threads = default_threads();
  const int width = pixels(window.width, window.dpi), height = pixels(window.height, window.dpi);
  const double pitch = kMmPerInch / window.dpi;
  const DeviceRaster raster{window.x.v + 0.5 * pitch, window.y.v + 0.5 * pitch, pitch};
  const int edge = border(window.dpi);
  const int across = (width + kTile - 1) / kTile, down = (height + kTile - 1) / kTile;
  // Enough tile rows at a time to keep the threads busy, no more: they are held in memory.
  const int batch = std::max(
      1, static_cast<int>((2 * threads + static_cast<unsigned>(across) - 1) / static_cast<unsigned>(across)));
  std::vector<Worker> workers;
  for (unsigned t = 0; t < threads; ++t) workers.emplace_back(table_);
  const std::size_t stride = static_cast<std::size_t>(width);
  std::vector<XYZf> buffer(stride * static_cast<std::size_t>(std::min(batch * kTile, height)));
  const int width_out = PrintRenderer::scaled(width, scale),
            height_out = PrintRenderer::scaled(height, scale);
  Shrinker shrinker(width, height, width_out, height_out);
  std::vector<XYZf> small(static_cast<std::size_t>(width_out));
  int rows_out = 0;
  for (int first = 0; first < down; first += batch) {
    const int count = std::min(batch, down - first), y0 = first * kTile,
              rows = std::min(count * kTile, height - y0);
    const auto tile_row = [&](int row) {
      const int top = (first + row) * kTile;
      return DeviceRect{0, top, width, std::min(kTile, height - top)};
    };
    std::vector<std::vector<PlateBand>> bands(static_cast<std::size_t>(count),
                                              std::vector<PlateBand>(plates_.size()));
    parallel_for(static_cast<std::size_t>(count) * plates_.size(), threads, [&](std::size_t item, unsigned) {
      const std::size_t row = item / plates_.size(), p = item % plates_.size();
      const DeviceRect r = tile_row(static_cast<int>(row));
      const int more = edge + plates_[p].margin(pitch);
      // To the right and below, planes of light go on to the next side that a transform is fast for.
      const auto beyond = [edge](int length) {
        return edge > 0 ? fourier_side(length + 2 * edge) - length - edge : 0;
      };
      const int last = width - (across - 1) * kTile;
      const int far = std::max({beyond(kTile), beyond(last), beyond(r.height)}) + plates_[p].margin(pitch);
      bands[row][p] =
          plates_[p].band(raster, {-more, r.y - more, r.width + more + far, r.height + more + far});
    });
    parallel_for(static_cast<std::size_t>(count * across), threads, [&](std::size_t item, unsigned worker) {
      const int row = static_cast<int>(item) / across, column = static_cast<int>(item) % across;
      DeviceRect r = tile_row(row);
      r.x = column * kTile;
      r.width = std::min(kTile, width - r.x);
      tile(raster, bands[static_cast<std::size_t>(row)], r, edge, workers[worker],
           std::span(buffer).subspan(static_cast<std::size_t>(r.y - y0) * stride +
                                     static_cast<std::size_t>(r.x)),
           stride);
    });
    const std::span<const XYZf> done(buffer.data(), stride * static_cast<std::size_t>(rows));
    if (scale == 1) {
      sink(y0, rows, done);
    } else {
      for (int y = 0; y < rows; ++y) {
        shrinker.add(done.subspan(stride * static_cast<std::size_t>(y), stride),
                     [&](const std::vector<XYZ>& row) {
                       std::transform(row.begin(), row.end(), small.begin(), to_float);
                       sink(rows_out++, 1, small);
                     });
      }
    }
    if (progress && !progress(static_cast<double>(y0 + rows) / height)) throw Cancelled();
  }
}

}  // namespace kirtle
