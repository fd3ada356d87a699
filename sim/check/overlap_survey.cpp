#include "check/overlap_survey.h"

#include "base/check.h"
#include "base/parallel.h"
#include "check/tiles.h"

#include <algorithm>
#include <array>
#include <map>

namespace kirtle::check {

namespace {

constexpr double kShareOfTile = 0.5;

struct Sum {
  std::size_t pixels = 0;
  double value = 0;
};

/// What one square holds.
struct Square {
  std::vector<Sum> groups;
  Sum load;
  std::vector<std::pair<std::uint32_t, std::size_t>> piles;
  std::size_t pixels = 0;
};

/// Tables by film, so that the walk over pixels only adds.
struct Walker {
  const std::vector<SurveyPlate>& plates;
  const std::vector<WetGroup>& groups;
  std::vector<std::array<float, 256>> load;
  std::vector<int> solid_from;  // of 255
  int overlap_limit;            // film added up, of 255
  float load_limit;

  int code(std::size_t plate, std::size_t at) const {
    const PlateImage& image = *plates[plate].image;
    return image.bits == 8 ? image.ink8[at] : image.ink16[at] >> 8;
  }

  void pixel(std::size_t at, std::vector<int>& codes, Square& square) const {
    std::uint32_t mask = 0;
    int all = 0;
    float wet = 0;
    for (std::size_t p = 0; p < plates.size(); ++p) {
      const int c = codes[p] = code(p, at);
      all += c;
      if (c >= solid_from[p]) mask |= 1U << p;
      wet += load[p][static_cast<std::size_t>(c)];
    }
    if (all == 0) return;
    if (mask != 0) {
      const auto known = std::find_if(square.piles.begin(), square.piles.end(),
                                      [&](const auto& pile) { return pile.first == mask; });
      if (known == square.piles.end()) {
        square.piles.emplace_back(mask, 1);
      } else {
        ++known->second;
      }
    }
    if (wet > load_limit) {
      ++square.load.pixels;
      square.load.value += static_cast<double>(wet);
    }
    if (all <= overlap_limit) return;
    for (std::size_t g = 0; g < groups.size(); ++g) {
      int film = 0;
      for (const std::size_t p : groups[g]) film += codes[p];
      if (film <= overlap_limit) continue;
      ++square.groups[g].pixels;
      square.groups[g].value += film / 255.0;
    }
  }
};

bool half(std::size_t pixels, const Square& square) {
  return static_cast<double>(pixels) >= kShareOfTile * static_cast<double>(square.pixels);
}

std::uint32_t most_of(const Square& square) {
  const auto most = std::max_element(square.piles.begin(), square.piles.end(),
                                     [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == square.piles.end() ? 0 : most->first;
}

void add(const Sum& sum, const Square& square, PlateSpot at, double pixel_mm2, OverArea& out) {
  if (sum.pixels == 0 || !half(sum.pixels, square)) return;
  out.mm2 += static_cast<double>(sum.pixels) * pixel_mm2;
  const double mean = sum.value / static_cast<double>(sum.pixels);
  if (mean <= out.most) return;
  out.most = mean;
  out.at = at;
  out.plates = most_of(square);
}

}  // namespace

OverlapSurvey survey_overlap(const std::vector<SurveyPlate>& plates, const std::vector<WetGroup>& groups,
                             double ppi, double overlap_limit, double load_limit_cm3_m2, unsigned threads) {
  KIRTLE_CHECK(plates.size(), <=, std::size_t{32});
  OverlapSurvey out;
  out.wet_overlap.resize(groups.size());
  if (plates.empty()) return out;
  const int width = plates.front().image->width, height = plates.front().image->height;
  // A hair over the limit, since sums of tables are rounded.
  Walker walker{plates,
                groups,
                {},
                {},
                static_cast<int>(overlap_limit * 255 + 2.5),
                static_cast<float>(load_limit_cm3_m2 * 1.0001)};
  for (const SurveyPlate& plate : plates) {
    KIRTLE_CHECK(plate.printed.size(), ==, std::size_t{256});
    auto& table = walker.load.emplace_back();
    for (std::size_t c = 0; c < 256; ++c) table[c] = static_cast<float>(plate.wet_cm3_m2 * plate.printed[c]);
    walker.solid_from.push_back(std::clamp(static_cast<int>(plate.solid_from * 255), 1, 255));
  }
  const Tiles tiles(width, height, ppi, kOverlapTile_mm);
  const int side = tiles.side_px();
  std::vector<std::vector<Square>> bands(static_cast<std::size_t>(tiles.down()));
  parallel_for(bands.size(), threads, [&](std::size_t band, unsigned) {
    std::vector<Square>& row = bands[band];
    row.resize(static_cast<std::size_t>(tiles.across()));
    for (Square& square : row) square.groups.resize(groups.size());
    std::vector<int> codes(plates.size());
    const int y0 = static_cast<int>(band) * side, y1 = std::min(height, y0 + side);
    for (int y = y0; y < y1; ++y) {
      const std::size_t at = static_cast<std::size_t>(y) * static_cast<std::size_t>(width);
      for (int tile = 0, x = 0; tile < tiles.across(); ++tile) {
        Square& square = row[static_cast<std::size_t>(tile)];
        const int end = std::min(width, x + side);
        square.pixels += static_cast<std::size_t>(end - x);
        for (; x < end; ++x) walker.pixel(at + static_cast<std::size_t>(x), codes, square);
      }
    }
  });

  const double pixel_mm2 = kMmPerInch / ppi * kMmPerInch / ppi;
  std::map<std::uint32_t, SolidPile> piles;
  std::vector<SolidPair> pairs;
  for (std::size_t lower = 0; lower < plates.size(); ++lower)
    for (std::size_t upper = lower + 1; upper < plates.size(); ++upper)
      pairs.push_back({lower, upper, 0, 0, {}});
  std::size_t tile = 0;
  for (const std::vector<Square>& row : bands) {
    for (const Square& square : row) {
      const PlateSpot at = tiles.centre(tile++);
      for (std::size_t g = 0; g < groups.size(); ++g)
        add(square.groups[g], square, at, pixel_mm2, out.wet_overlap[g]);
      add(square.load, square, at, pixel_mm2, out.wet_load);
      for (const auto& [mask, pixels] : square.piles) {
        SolidPile& pile = piles[mask];
        pile.plates = mask;
        pile.mm2 += static_cast<double>(pixels) * pixel_mm2;
        const double share = static_cast<double>(pixels) / static_cast<double>(square.pixels);
        if (share <= pile.most_share) continue;
        pile.most_share = share;
        pile.at = at;
      }
      if (square.piles.empty()) continue;
      for (SolidPair& pair : pairs) {
        const std::uint32_t both = 1U << pair.lower | 1U << pair.upper;
        std::size_t pixels = 0;
        for (const auto& [mask, n] : square.piles)
          if ((mask & both) == both) pixels += n;
        if (pixels == 0 || !half(pixels, square)) continue;
        pair.mm2 += static_cast<double>(pixels) * pixel_mm2;
        const double share = static_cast<double>(pixels) / static_cast<double>(square.pixels);
        if (share <= pair.most_share) continue;
        pair.most_share = share;
        pair.at = at;
      }
    }
  }
  for (const auto& [mask, pile] : piles) out.piles.push_back(pile);
  std::stable_sort(out.piles.begin(), out.piles.end(),
                   [](const SolidPile& a, const SolidPile& b) { return a.mm2 > b.mm2; });
  for (const SolidPair& pair : pairs)
    if (pair.mm2 > 0) out.pairs.push_back(pair);
  return out;
}

}  // namespace kirtle::check
