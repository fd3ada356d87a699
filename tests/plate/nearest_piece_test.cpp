#include "plate/nearest_piece.h"

#include <gtest/gtest.h>
#include <random>

namespace kirtle::detail {
namespace {

/// The slow twin: in double, from the definition, nothing left out.
double distance_to(const ContourPiece& piece, int x, int y) {
  const double right = x - piece.x, down = y - piece.y;
  const double across = right * piece.nx + down * piece.ny;
  const double along = std::max(std::abs(right * piece.ny - down * piece.nx) - piece.half, 0.0);
  return std::hypot(across, along);
}

TEST(NearestPieces, AreTheNearestOfAllInDouble) {
  std::mt19937 random(5);
  const auto even = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  NearestPieces near;  // one for all: nothing of one box may be left in the next
  for (const double reach : {2.25, 2.8, 3.3, 7.0, 20.0}) {
    const PixelBox box{30011, 20000, 100, 24};  // far out, where a float has 1/512 pixel left
    near.start(box, reach, box.y0 + 2, 1 << 20);
    std::vector<ContourPiece> pieces;
    for (int i = 0; i < 40; ++i) {
      const double turn = even(0, 6.3);
      pieces.push_back(
          {box.x0 + even(-25, 125), box.y0 + even(-25, 50), std::cos(turn), std::sin(turn), even(0, 0.9)});
      near.enter(pieces.back());
    }
    const int around = static_cast<int>(std::ceil(reach));
    int within = 0;
    for (int y = box.y0; y < box.y0 + box.rows; ++y) {
      for (int x = box.x0; x < box.x0 + box.width; ++x) {
        double least = reach;
        for (const ContourPiece& p : pieces) {
          const bool in_square = std::abs(x - static_cast<int>(std::lround(p.x))) <= around &&
                                 std::abs(y - static_cast<int>(std::lround(p.y))) <= around;
          if (in_square) least = std::min(least, distance_to(p, x, y));
        }
        const std::size_t block = static_cast<std::size_t>(y - box.y0) * near_blocks(box.x0, box.width) +
                                  near_block_of(box.x0, x - box.x0);
        const bool told = near.near()[block] != 0;
        if (y < box.y0 + 2) {
          EXPECT_FALSE(told) << "off the plate";
        } else if (told) {
          ASSERT_NEAR(std::sqrt(near.row(y)[x - box.x0]), least, 1e-5) << x << ' ' << y << ' ' << reach;
        } else {
          ASSERT_EQ(least, reach) << x << ' ' << y;
        }
        within += least < reach;
      }
    }
    EXPECT_GT(within, 100);
  }
}

TEST(NearestPieces, APixelsOwnPieceTellsItsSideWhileItIsTheNearest) {
  NearestPieces near;
  near.start({0, 0, 40, 20}, 2.25, 0, 20);
  const ContourPiece own{10.4, 10, 1, 0, 0.75};
  near.enter(own);
  near.own(own, 10, 10);
  const ContourPiece far_own{25.9, 5, 1, 0, 0.75}, nearer{23.2, 5, -1, 0, 0.75};
  near.enter(far_own);
  near.own(far_own, 24, 5);
  near.enter(nearer);
  std::vector<std::pair<std::size_t, bool>> told;
  near.for_each_own([&](const NearestPieces::Own& o, bool nearest) {
    EXPECT_TRUE(o.inside);
    told.emplace_back(o.at, nearest);
  });
  EXPECT_EQ(told, (std::vector<std::pair<std::size_t, bool>>{{10 * 40 + 10, true}, {5 * 40 + 24, false}}));
  // Into one pixel alone.
  near.start({0, 0, 40, 20}, 2.25, 0, 20);
  near.enter_into({10.5, 10, 1, 0, 0}, 10, 10);
  EXPECT_NEAR(std::sqrt(near.row(10)[10]), 0.5, 1e-6);
  EXPECT_NEAR(std::sqrt(near.row(10)[11]), 2.25, 1e-6);
}

}  // namespace
}  // namespace kirtle::detail
