#pragma once
// A scene made ready to be looked at: the prediction, and what the graphics card needs of it. Never changed
// once made; made beside the window.
#include "pair_lattice.h"
#include "plate_codes.h"
#include "predict/prediction.h"

#include <map>
#include <memory>
#include <string>
#include <vector>

namespace kirtle {

/// Tone of a screen at film = i / (kToneNodes - 1), for the shader.
constexpr int kToneNodes = 1021;  // every 8-bit value is a node, as in sim/screen/threshold.cpp
struct ToneNode {
  float printed = 0;    ///< share covered at arm's length
  float tone = 0;       ///< of single dots, where all are held
  float dots_held = 1;  ///< share of dots that the stencil holds
  float holes_held = 1;
};
std::vector<ToneNode> tone_nodes(const ToneSettings& settings);

struct Build {
  std::unique_ptr<const Scene> scene;
  std::unique_ptr<const Prediction> prediction;
  std::vector<std::shared_ptr<const PlateCodes>> codes;  ///< one a printing plate
  std::vector<std::vector<ToneNode>> tones;              ///< one a printing plate
  std::shared_ptr<const PairLattice> lattice;  ///< null: this scene cannot be mixed by the graphics card
  bool refined = true;                         ///< the lattice is this light's own, with all levels of doses
  std::vector<float> contracted;               ///< of the lattice, under the scene's light
  Diagnostics notes;

  const std::vector<PrintingPlate>& plates() const { return prediction->model().plates; }
  int width() const { return prediction->renderer().width(); }
  int height() const { return prediction->renderer().height(); }
  double ppi() const { return prediction->ppi(); }
};

/// Makes builds and keeps what the next one may share: plates, their codes, lattices. Used by one thread at a
/// time.
class BuildShop {
 public:
  /// quick: the lattice may leave out levels of doses, or be another light's, so that it is there sooner.
  /// Throws InputError, Cancelled.
  std::shared_ptr<const Build> make(const Scene& scene, bool quick, unsigned threads,
                                    const Progress& progress);
  void forget();  ///< everything kept; the plates are read again next time

 private:
  template <class T>
  using Kept = std::map<std::string, std::shared_ptr<const T>>;
  Kept<PlateSet> plates_;
  Diagnostics plate_notes_;
  Kept<PlateCodes> codes_;
  Kept<PairLattice> lattices_;  ///< by stack and levels of doses
  Kept<PairLattice> latest_;    ///< by stack: good enough until the right one is there
};

/// What the plates' images depend on; what the overprints of a scene depend on, register, light and tone left
/// out.
std::string plates_key(const Scene& scene);
std::string stack_key(const Scene& scene);

}  // namespace kirtle
