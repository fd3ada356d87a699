#pragma once
// What the eye sees of every shirt of a run: spatial CIELAB at about 100 pixels per inch against the print in
// register, where plates moved.
//
// Plates are laid down once, in register (run_plates.h): without the register errors that the scene knows of.
// A shirt moves them: pixels of the plates are mixed again, by the same overprint table, only in tiles where
// within the run's reach some plate is not flat, or where tints of one screen overlap by what the register
// says. The change is blurred and judged by EyeDifference. A shift that all plates share is placement: what
// is taken out is the shift under which the shirt looks most like the print in register (least squares of the
// picture's change, first order). Limits: covers in steps of 1/255, contours of 1/60 pixel; a turned or
// stretched plate is shifted tile by tile. Against each shirt rendered and filtered whole:
// tests/predict/run_eye_test.cpp.
#include "predict/run_plates.h"
#include "verdict/eye_difference.h"

#include <memory>
#include <span>
#include <vector>

namespace kirtle {

struct EyeSettings {
  Mm distance{600};       ///< eye to print, > 0
  double threshold = 2;   ///< dE00: from 2 a difference is seen side by side (common practice, no source)
  double least_mm2 = 10;  ///< a shirt differs to the eye from so much area on: a placeholder, no source
  unsigned threads = 0;   ///< the values do not depend on it
};

/// One shirt against the print in register, as the eye has it.
struct SeenOnShirt {
  double largest_de00 = 0, p999_de00 = 0;  ///< of the print's pixels
  double area_mm2 = 0;                     ///< where dE00 is over the threshold
  double x_mm = 0, y_mm = 0;               ///< where the largest is
  bool differs = false;
};

/// The farthest that any plate is moved, anywhere on the print, from the middle of any plate [mm], >= 0.
double farthest_apart(std::span<const RegisterOffset> offsets, double width_mm, double height_mm);

class RunEye {
 public:
  /// farthest: farthest_apart of no shirt is more [mm], >= 0.
  /// Both must outlive this. Throws InternalError.
  RunEye(const Scene& scene, const Prediction& prediction, Mm farthest, const EyeSettings& settings);
  ~RunEye();

  /// One shirt; offsets: one a plate of the model. Not thread-safe: it uses the threads of the settings.
  SeenOnShirt shirt(std::span<const RegisterOffset> offsets);

  /// The shift that all plates share on that shirt, as the eye would take it out.
  Placement placement(std::span<const RegisterOffset> offsets) const;

  double ppi() const { return ppi_; }  ///< of the picture that is judged
  /// Share of the print that is worked out for every shirt, 0..1.
  double share_worked_out() const;
  /// The change that placement leaves, opponent channels at ppi(); what shirt() judges.
  const OpponentPlanes& change() const { return change_; }
  int width() const { return width_; }
  int height() const { return height_; }

 private:
  struct Worker;
  struct Shift;  ///< of one plate
  void find_tiles(int reach_px);
  void weigh_placement();
  /// Moves the plates and fills change_.
  void move(std::span<const RegisterOffset> offsets, Placement shared);
  void tile(int tx, int ty, std::span<const Shift> shifts, Worker& worker) const;
  void mix_tile(int w, int h, Worker& worker) const;

  const Scene& scene_;
  const Prediction& prediction_;
  EyeSettings settings_;
  int side_ = 1;  ///< plate pixels to one of the picture
  double ppi_ = 0, px_per_mm_ = 0, farthest_mm_ = 0;
  int width_ = 0, height_ = 0, across_ = 0, down_ = 0;
  std::unique_ptr<PrintModel>
      in_register_;  ///< no pass off: the reference, and shirts whose tints lie as meant
  std::unique_ptr<RunPlates> plates_;
  std::vector<std::vector<std::uint8_t>> kind_;  ///< by plate and tile: flat, tone, or with contours
  std::vector<std::uint8_t> works_;              ///< by tile: to be worked out for every shirt
  std::vector<int> group_;                       ///< of plates of one screen; -1 alone
  bool joint_somewhere_ = false;
  OpponentPlanes register_, change_;
  std::vector<Worker> workers_;
  std::unique_ptr<EyeDifference> eye_;
  std::vector<std::array<double, 4>> weight_;  ///< of each plate's shift in the placement, 2 x 2
};

/// A print as the eye gets it: area means at about 100 per inch.
struct ShirtPicture {
  int width = 0, height = 0;
  std::vector<XYZf> xyz;
  PictureView view() const;  ///< of this, which must outlive it
};
ShirtPicture shirt_picture(const Prediction& shirt, const EyeSettings& settings);
/// The eye that pictures of this print are shown to.
SpatialLab eye_of(const Prediction& in_register, const EyeSettings& settings);

/// The slow twin: the shirt's picture rendered and filtered whole. in_register and shirt: predictions of the
/// two; at the resolution of RunEye.
SeenDifference seen_whole(const Prediction& in_register, const Prediction& shirt,
                          const EyeSettings& settings);

}  // namespace kirtle
