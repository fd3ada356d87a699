#pragma once
// Every overprint of a scene, worked out once, when first met; and the cells in which coverages mix.
//
// Each plate has levels of dose: a film's dots two (absent, present); a soaked field as many as its curve
// needs. A pixel lies in one cell: each plate at a level or between two neighbours, so that it mixes at most
// two levels a plate. Plates of one line count, angle and shape put dots on dots in register, and overlap as
// their shift against each other says out of register (joint_cover.h); others fall independently (Demichel
// 1924).
#include "light/weights.h"
#include "print/cell_form.h"
#include "print/joint_cover.h"
#include "print/pair_form.h"

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <shared_mutex>
#include <span>
#include <unordered_map>
#include <vector>

namespace kirtle {

constexpr int kMostPlates = 12;
/// A cell of more overprints than this mixes by mean flux instead of by pairs (see
/// OverprintTable::mean_flux).
constexpr int kMostPairedOverprints = 256;

/// What a table keeps of what it has worked out, at most; beyond it, the rest is worked out each time anew.
/// Photographs in four or more soaked inks come to that: with 24 levels each, six have 10^8 cells of 50 KB.
constexpr std::size_t kMostCellBytes = std::size_t{256} << 20, kMostOverprintBytes = std::size_t{128} << 20;

/// Which level of each plate, by index into its levels; unused plates 0.
using StackKey = std::array<std::uint8_t, kMostPlates>;

struct CellKey {
  StackKey lower{};              ///< level at or below the dose
  std::uint16_t fractional = 0;  ///< bit i: plate i lies between lower and lower + 1
  StackKey rank{};               ///< order of coverage among fractional plates whose dots sit on dots
  bool operator==(const CellKey&) const = default;
};

struct CellKeyHash {
  std::size_t operator()(const CellKey& key) const;
};

/// Plates that share their weights: one plate; several whose dots sit on dots, largest coverage first, with a
/// state for each number of plates present; or several of one screen out of register (`joint`), in order,
/// with a state for each overprint (bit j: plates[j] present).
struct CellAxis {
  std::array<std::uint8_t, kMostPlates> plates{};
  int count = 0;
  bool joint = false;
  int group = -1;
  int states() const { return joint ? 1 << count : count + 1; }
  /// Is plates[j] present in that state?
  bool present(int j, int state) const { return joint ? (state >> j & 1) != 0 : j < state; }
};

/// The quadratic form of one cell.
struct Cell {
  std::vector<CellAxis> axes;
  int overprints = 1;
  std::vector<double> q;  ///< XYZ of every pair p <= q, off-diagonals counted twice; row by row
  CellForm form;  ///< the same for many pixels; without plates where an axis has several, or q is empty
};

struct TableSettings {
  ViewingWeights weights;
  std::optional<double> yule_nielsen_n;  ///< overrides the pair form, >= 1
  std::size_t most_cell_bytes = kMostCellBytes, most_overprint_bytes = kMostOverprintBytes;
};

class OverprintTable {
 public:
  /// plates: one entry a plate of the stack, in order. Throws std::domain_error.
  OverprintTable(const Stack& stack, std::vector<PlateDots> plates, TableSettings settings);
  ~OverprintTable();

  /// Colour where each plate covers `coverage` (0..1 each): printed dots, or dose of a soaked field.
  /// Thread-safe.
  XYZ mix(std::span<const double> coverage) const;
  /// The same as reflectance, worked out pair by pair in every band: the slow twin, and what a probe shows.
  /// 0..1.
  Spectrum reflectance(std::span<const double> coverage) const;

  /// Q_pq of two overprints, by level of each plate (indices into levels()), as reflectance: 0..1. What a
  /// table that is contracted for a graphics card is made of. Not with yule_nielsen_n. Thread-safe.
  Spectrum pair(const StackKey& p, const StackKey& q) const;
  /// The form of one cell, for many pixels at once; of no plates where there is none. Lives as long as this,
  /// or, once the table is full, as `spare`. Thread-safe.
  const CellForm& form(const CellKey& key, std::unique_ptr<Cell>& spare) const {
    return cell(key, spare).form;
  }
  /// Plates with the same number share a screen, so that their dots do not fall independently; -1 = alone.
  int screen_group(int plate) const { return group_[plate]; }
  bool share_screen(int a, int b) const { return group_[a] >= 0 && group_[a] == group_[b]; }
  bool pair_form() const { return !settings_.yule_nielsen_n; }

  /// What the table holds of what it has worked out: at most the two bounds of its settings. Thread-safe.
  std::size_t kept_bytes() const;

  int plates() const { return static_cast<int>(plates_.size()); }
  const Stack& stack() const { return stack_; }
  const PlateDots& dots(int plate) const { return plates_[plate]; }
  const ViewingWeights& weights() const { return settings_.weights; }
  /// Levels of a plate, rising from 0 to 1.
  const std::vector<double>& levels(int plate) const { return levels_[plate]; }

 private:
  struct Place;  // where a coverage lies: its cell and the weights along the cell's axes
  Place locate(std::span<const double> coverage) const;
  std::vector<CellAxis> axes_of(const CellKey& key) const;
  std::vector<StackKey> overprints_of(const CellKey& key, const std::vector<CellAxis>& axes) const;
  /// Kept, or, once the table is full, in `spare`, which then lives as long as the caller needs it.
  const Overprint& overprint(const StackKey& key, std::vector<std::unique_ptr<Overprint>>& spare) const;
  std::vector<const Overprint*> overprints(const std::vector<StackKey>& keys,
                                           std::vector<std::unique_ptr<Overprint>>& spare) const;
  const Cell& cell(const CellKey& key, std::unique_ptr<Cell>& spare) const;
  Spectrum mix_spectra(const CellKey& key, std::span<const double> weights) const;
  Spectrum mean_flux(const std::vector<const Overprint*>& prints, std::span<const double> weights) const;
  void choose_levels(int plate);
  void find_groups();
  void cell_weights(const std::vector<CellAxis>& axes, std::span<const double> share,
                    std::vector<double>& w) const;

  Stack stack_;
  std::vector<PlateDots> plates_;
  TableSettings settings_;
  PairForm pair_form_;
  std::vector<int> group_;                          ///< plates with the same number share a screen; -1 alone
  std::vector<std::unique_ptr<JointCover>> joint_;  ///< by group, of all plates; empty where in register
  std::vector<std::vector<double>> levels_;
  struct Store;
  std::unique_ptr<Store> store_;
};

}  // namespace kirtle
