#pragma once
// Tuples of coverage to colours, many at a time.
#include "print/overprint_table.h"

#include <cstdint>
#include <vector>

namespace kirtle {

/// Tristimulus values as the renderer stores them; Y = 100 for the perfect reflector.
struct XYZf {
  float x = 0, y = 0, z = 0;
};

/// Mixes tuples of coverage: at once, remembering those it has seen; or gathered by their cells, sixteen of a
/// cell at a time (cell_form.h). One a thread.
class Mixer {
 public:
  explicit Mixer(const OverprintTable& table);

  /// cover: one value a plate, 0..65535.
  XYZf mix(const std::uint16_t* cover);

  /// Puts the colour of a tuple where `out` says, by the next settle() at the latest. Within dE00 0.01 of
  /// mix(); which of the two ways is gone depends on the tuple alone.
  void put(const std::uint16_t* cover, XYZf* out);
  void settle();

  int plates() const { return static_cast<int>(plates_); }
  /// True if no plate has other levels than none and solid.
  bool two_levels() const { return two_levels_; }
  /// Of the cell in which these plates (bit i: plate i) are fractional and those solid; null if it has none.
  /// With two_levels() only.
  const CellForm* form_of(std::uint32_t fractional, std::uint32_t solid);

 private:
  /// A cell in few bits: five a plate for the lower level, one a plate if it is fractional.
  struct Place {
    std::uint64_t lower = 0;
    std::uint32_t fractional = 0;
    bool operator==(const Place&) const = default;
  };
  /// Pixels that wait for their cell to fill.
  struct Batch {
    Place place;
    const CellForm* form = nullptr;
    std::unique_ptr<Cell> spare;  ///< holds the form where the table does not
    int count = 0;
    FormLanes lanes;
    XYZf* out[kFormLanes];
  };
  Place place_of(const std::uint16_t* cover);
  bool has_form(std::uint32_t fractional) const;
  const CellForm& form_at(const Place& place, std::unique_ptr<Cell>& spare) const;
  Batch* batch_of(const Place& place);
  void mix_batch(Batch& batch);

  const OverprintTable& table_;
  std::size_t plates_;
  std::vector<std::uint16_t> keys_;  ///< kSlots tuples
  std::vector<XYZf> values_;
  std::vector<std::uint8_t> used_;
  std::vector<double> shares_;

  std::vector<const std::vector<double>*> levels_;  ///< per plate; null if only none and solid
  bool two_levels_ = true;                          ///< of every plate
  std::vector<std::uint32_t> same_screen_;          ///< sets of plates whose dots do not fall independently
  std::vector<Batch> batches_;
  Place form_place_;  ///< of the form that form_of gave last
  const CellForm* form_ = nullptr;
  std::unique_ptr<Cell> form_spare_;
  std::size_t batches_used_ = 0, last_batch_ = 0;
  float lane_[kMostPlates + 1] = {};  ///< shares of the tuple at hand, fractional plates only
};

}  // namespace kirtle
