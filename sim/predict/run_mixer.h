#pragma once
// Pixels of one tile: plates moved, mixed by the overprint table through a memory of tuples, and averaged.
#include "predict/run_plates.h"
#include "verdict/eye_difference.h"

#include <array>
#include <span>
#include <vector>

namespace kirtle {

/// One plate over one tile of a shirt, row by row.
struct TilePlate {
  bool flat = false, contours = false;
  std::uint8_t value = 0;           ///< of a flat one
  std::vector<std::uint8_t> cover;  ///< 255 = full
  /// Distance to the contour in 1/kEdgeStep pixels, one more on each side; kEdgeFar where none cuts; with
  /// contours only.
  std::vector<std::int16_t> distance;
  std::vector<std::uint8_t> row;  ///< scratch
};

/// Where a tile's pixel (u, v) is taken from, in pixels of the plates: x + u (1 + xx) + v xy and so on.
struct TileSource {
  double x = 0, y = 0, xx = 0, xy = 0, yx = 0, yy = 0;
};

/// The plate's w * h pixels by linear interpolation: contours as contours, tints and fields as coverage. The
/// source may lie up to the plates' margin - 2 outside the tile.
void move_plate(const RunPlates& all, const RunPlate& plate, const TileSource& from, int w, int h,
                TilePlate& out);

/// One a thread.
class RunMixer {
 public:
  /// groups: one a plate, plates of one screen share a number >= 0; -1 alone.
  RunMixer(const OverprintTable& table, std::vector<int> groups);

  /// table: where several tints of one screen meet, on this shirt; null = in register.
  void begin_shirt(const OverprintTable* table);

  /// Adds the mean opponent channels of side * side pixels to each of the tile's kEyeTile * kEyeTile.
  void mix_tile(std::span<const TilePlate> plates, int w, int h, int side,
                std::array<std::array<float, kEyeTile * kEyeTile>, 3>& sum);

 private:
  /// Cover of every plate, 255 = full: a byte each.
  struct Tuple {
    std::array<std::uint64_t, 2> words{};
    std::uint8_t of(std::size_t plate) const {
      return static_cast<std::uint8_t>(words[plate / 8] >> (8 * (plate % 8)));
    }
    void set(std::size_t plate, std::uint8_t cover) {
      const std::size_t by = 8 * (plate % 8);
      words[plate / 8] = (words[plate / 8] & ~(std::uint64_t{255} << by)) | std::uint64_t{cover} << by;
    }
    bool operator==(const Tuple& other) const {
      return ((words[0] ^ other.words[0]) | (words[1] ^ other.words[1])) == 0;
    }
  };
  struct Slot {
    Tuple key;
    std::array<float, 3> value{};
    std::uint32_t shirt = 0;  ///< 0 = none yet, 1 = for every shirt, else for that one
  };
  /// Pixels of a row that are all alike, up to the next run.
  struct Run {
    int x = 0;
    Tuple tuple;
  };
  static std::size_t slot_of(const Tuple& tuple);  ///< the first of its two
  const std::array<float, 3>& mixed(const Tuple& tuple);
  std::array<float, 3> mixed_anew(const Tuple& tuple);
  bool is_joint(const Tuple& tuple) const;
  std::array<float, 3> cut(std::span<const TilePlate> plates, std::span<const int> edges, const Tuple& tuple,
                           int x, int y, int w);

  const OverprintTable* table_;
  const OverprintTable* of_shirt_ = nullptr;
  std::vector<int> groups_;
  std::uint32_t shirt_ = 1;
  std::vector<Slot> slots_;
  std::vector<std::array<float, 3>>
      pairs_;  ///< in their place for two plates or one: by cover; NaN = none yet
  std::vector<std::uint8_t> marks_;
  std::vector<Run> runs_;
  std::vector<double> shares_;
};

}  // namespace kirtle
