#pragma once
// The kinds of pile that meet under the loupe, with the light that each gives back from where.
//
// At every point the ground is the cloth and those film layers, from the bottom up, that stay the same
// whether the dots of the tints that meet here are there or not; what lies above it spreads no light
// sideways. The ground's reflectance rg is the sum of what its parts return, each spread by its own mean
// radius: where a base lies beside bare cloth, each side keeps its own.
#include "print/overprint_table.h"

#include <memory>
#include <shared_mutex>
#include <unordered_map>
#include <vector>

namespace kirtle {

/// Part of the ground's reflectance with the mean sideways radius of the light it returns.
struct GroundPart {
  float returned = 0;  ///< 0..1; the parts sum to rg
  float mean_um = 0;
};

/// One pile in the chosen bands, for each fibre: entry fibre * bands + band.
struct LoupeKind {
  struct Band {
    float through = 1;  ///< T of the layers above the ground
    float back = 0;     ///< their R0'
    float up = 0;       ///< light out of the ground if none went sideways: rg T / (1 - R0' rg)
    float xyz[3] = {};  ///< tristimulus values of light out of the ground in and around this band, through
                        ///< the layers
  };
  std::size_t parts = 0;  ///< parts of the ground: the cloth, then its films
  std::vector<Band> bands;
  std::vector<GroundPart> ground;  ///< `parts` a band
};

/// Per plate: a film's state (kDeviceInk, kDeviceTint) or the level of a field's dose, 0..levels.
using LoupeKey = std::array<std::uint8_t, kMostPlates>;

struct LoupeKeyHash {
  std::size_t operator()(const LoupeKey& key) const;
};

/// Makes kinds. Piles are worked out at few doses of each field and kept; between them every quantity is
/// straight, which serves the spread alone, since the pile's own colour comes from the table. Thread-safe.
class LoupeKinds {
 public:
  /// bands: indices of the bands in which the spread is worked out, rising.
  LoupeKinds(const OverprintTable& table, std::vector<int> bands);
  LoupeKind at(const LoupeKey& key) const;

  /// Steps of a field's dose: 254 for one field, fewer where several meet.
  int levels() const { return levels_; }
  const std::vector<double>& fibre_shares() const { return fibre_shares_; }
  /// The widest mean radius of light in bare cloth or under any one plate [um].
  double widest_um() const { return widest_um_; }

 private:
  const LoupeKind& node(const LoupeKey& key) const;
  LoupeKind make(const LoupeKey& key, std::span<const double> dose) const;

  const OverprintTable& table_;
  std::vector<int> bands_;
  std::vector<Spectrum> shapes_;  ///< what one of the bands stands for: a smooth curve through all of them
  std::vector<double> fibre_shares_;
  int levels_ = 254, nodes_ = 16;  ///< nodes_: doses at which piles are worked out, less one
  double widest_um_ = 0;
  mutable std::shared_mutex mutex_;
  mutable std::unordered_map<LoupeKey, std::unique_ptr<LoupeKind>, LoupeKeyHash> node_of_;
};

}  // namespace kirtle
