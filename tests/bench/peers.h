#pragma once
// What our renderer is measured against, on the same plates: each turns rows of a print into sRGB, 3 bytes a
// pixel.
#include "bench/bench_prints.h"
#include "light/srgb.h"

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

namespace kirtle::bench {

/// (A) lcms2 with an N-channel profile: a table of our own model's colours (33^2, 17^4, 9^6 points), default
/// flags. It gets its samples side by side, as it reads them best; that is not counted. 2, 4 or 6 plates.
class TablePeer {
 public:
  explicit TablePeer(const BenchPrint& print);
  ~TablePeer();
  void render(int y0, int rows, std::uint8_t* out) const;

 private:
  int width_, plates_, bytes_;
  std::vector<std::uint8_t> chunky_;
  void* transform_;
};

/// (B) The plain model, pixel by pixel: 2^N weights, 36 bands, one n-th power a band (n = 2, as std::pow of
/// floats), sums to XYZ, sRGB. The overprints' n-th roots are worked out before. 8-bit plates.
class SpectralPeer {
 public:
  explicit SpectralPeer(const BenchPrint& print);
  void render(int y0, int rows, std::uint8_t* out) const;

 private:
  const BenchPrint& print_;
  std::vector<std::vector<float>> tone_;          ///< per plate, by code value
  std::vector<std::array<float, kBands>> roots_;  ///< per overprint
  std::array<std::array<float, 3>, kBands> weights_{};
  SrgbEncoder srgb_;
};

/// (C) As many bytes moved as there are in the plates and the picture, half read and half written, by memcpy.
class CopyPeer {
 public:
  explicit CopyPeer(std::size_t bytes);
  void copy(unsigned threads);

 private:
  std::vector<std::uint8_t> from_, to_;
};

}  // namespace kirtle::bench
