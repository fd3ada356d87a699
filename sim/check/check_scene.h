#pragma once
// What would make an operator send the plates back: every finding about a scene and its plates, worst first.
#include "check/finding.h"
#include "job/scene.h"
#include "predict/prediction.h"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

struct CheckSettings {
  std::vector<Mesh> meshes;        ///< to choose from in remedies; may be empty
  std::vector<Cloth> more_shirts;  ///< that the order prints on, besides the scene's
  bool youth_sizes = false;        ///< the order has some
  std::string youth_agreed;        ///< who agreed to discharge on them; empty = nobody
  /// In place of the scene's [compare] wet_limit_cm3_m2, and that in place of kWetLimit.
  std::optional<double> wet_limit_cm3_m2;
  unsigned threads = 0;  ///< 0 = default_threads(); findings do not depend on it
};

/// Wet load of water base and discharge that a dryer drives off in its usual dwell, cm3/m2 (placeholder, no
/// source).
constexpr double kWetLimit = 70;
/// Ink build of plastisol above which a print is stiff, um (common practice, no source).
constexpr double kBuildLimit = 200;
/// How many findings a person is shown.
constexpr std::size_t kFindingsShown = 10;

struct CheckReport {
  /// Sent back before caution before advice; the worst of each kind before its others; then as the table of
  /// findings has them.
  std::vector<Finding> findings;
  std::size_t kinds = 0;  ///< of findings that were looked for
  Diagnostics notes;      ///< what was noticed while the plates were read
  int width_px = 0, height_px = 0, plates = 0;
  double ppi = 0;

  bool sent_back() const;
};

/// Reads the plates and looks. Plates with the role print alone. Memory: the plates, and a few bytes a pixel
/// of one of them (up to 30 if it is nothing but dust). Throws InputError with every fault of the plates.
CheckReport check_scene(const Scene& scene, const CheckSettings& settings);

namespace check {
struct Facts;
}

using SharedImages = std::vector<std::shared_ptr<const PlateImage>>;

/// The same plates looked at once and judged on many shirts. Thread-safe once made.
class PlateCheck {
 public:
  /// images: of printing_plates(scene), in their order, of one size; ppi > 0. known: a look at some of the
  /// same images, which need not be looked at again; nullptr = none.
  PlateCheck(const Scene& scene, SharedImages images, double ppi, const CheckSettings& settings,
             const PlateCheck* known = nullptr);
  ~PlateCheck();

  /// What check_scene finds on a scene that differs from this one's in its shirt alone. model: of that scene.
  CheckReport on(const Scene& scene, const PrintModel& model) const;
  /// Scene plates that are bases: pale, flashed before others print on them; in print order.
  std::vector<int> bases() const;

 private:
  Scene scene_;
  CheckSettings settings_;
  SharedImages images_;
  double ppi_ = 0;
  PrintModel model_;
  std::unique_ptr<const check::Facts> facts_;
};

}  // namespace kirtle
