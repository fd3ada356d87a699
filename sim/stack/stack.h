#pragma once
// What lies on what at one point of the print: the one place that knows. Table, point reading and ink load
// all ask it.
//
// A pass lays `wet` um of ink where its plate prints. Of the dry share, `soak` goes into bare cloth, less
// where a film already seals it: times exp(-film / barrier). The rest lies on top in print order. Onto a film
// that is still wet only part is laid (trapping), part of the wet film is taken away (pick-up), and what is
// left mixes with it into one layer; onto a flashed film it lies as a layer of its own. Discharge agent
// reaches the cloth through the same seal. Each film layer lets fibres and pinholes show: a share s =
// show_through exp(-X / surface_fibres) of its area is open. Sources: Kubelka 1954,
// doi:10.1364/JOSA.44.000330 (piles). Soak, seal, trapping, pick-up, show-through: plausible,
//   placeholders without a source, all of them keys of the records or the scene.
#include "cloth/cloth.h"
#include "cloth/cloth_stack.h"
#include "ink/ink.h"
#include "layer/kubelka_munk.h"

#include <span>
#include <string>
#include <vector>

namespace kirtle {

/// One pass as the cloth meets it.
struct StackPass {
  int plate = 0;  ///< which plate lays it, 0..plates-1
  Ink ink;
  Um wet{0};  ///< laid where the plate prints solid
  bool flash_after = false;
};

struct StackSettings {
  double wet_trapping = 0.8;  ///< share of an ink laid onto wet ink, 0..1
  double wet_pickup = 0.1;    ///< share of the wet film below that the next screen takes away, 0..1
  Um barrier{8};              ///< film thickness over which the cloth is sealed against soak, > 0
  bool surface_light = true;  ///< the light off a glossy film's surface (k1) is seen
};

/// Ink of one pass within a film layer.
struct FilmPart {
  int pass = 0;
  Um dry{0};
  bool operator==(const FilmPart&) const = default;
};

/// One layer on top of the cloth. Several parts: they were wet together and mixed.
struct FilmLayer {
  std::vector<FilmPart> parts;
  Um thickness() const;
  bool operator==(const FilmLayer&) const = default;
};

/// The cloth of one fibre under an overprint.
struct Ground {
  double share = 1;      ///< of the area
  Spectrum reflectance;  ///< 0..1
  KSSpectra scatter;     ///< effective K and S [1/um], for the sideways spread of light
};

/// Everything at a point where each plate lays a given dose.
struct Overprint {
  std::vector<FilmLayer> film;        ///< bottom up
  std::vector<LayerSpectra> film_rt;  ///< each film layer with its open share, same order
  std::vector<KSSpectra> film_ks;     ///< each film layer's K and S [1/um]
  LayerSpectra surface;               ///< of the topmost film; clear if there is none
  std::vector<Ground> grounds;        ///< one per fibre of the cloth
  std::vector<Spectrum> reflectance;  ///< one per fibre, the whole pile
  Um film_total{0};                   ///< ink build on top of the cloth
  Um soaked_total{0};                 ///< dry ink in the cloth
  Um wet_total{0};                    ///< wet load laid here, um = cm3/m2
  double agent_g_m2 = 0;
  bool has_flat = false;  ///< an ink outside the model lies here: drawn flat, not predicted
};

/// The pile over the whole area of the cloth: fibres added by their shares.
Spectrum mean_reflectance(const Overprint& overprint);

class Stack {
 public:
  /// Throws std::domain_error naming what is out of range.
  Stack(const Cloth& cloth, std::vector<StackPass> passes, int plates, const DischargeProcess& process,
        const StackSettings& settings);

  /// dose: one value a plate, 0 (nothing) to 1 (solid). Thread-safe.
  Overprint at(std::span<const double> dose) const;

  /// The fibres' cloth as a table of sublayers at this dose, one a fibre, for a cross-section.
  std::vector<SoakedCloth> cloth_table(std::span<const double> dose) const;

  int plates() const { return plates_; }
  const std::vector<StackPass>& passes() const { return passes_; }
  const Cloth& cloth() const { return cloth_; }

 private:
  struct Deposits;
  Deposits deposits(std::span<const double> dose) const;
  void add_film(const std::vector<FilmLayer>& film, Overprint& out) const;

  Cloth cloth_;
  std::vector<StackPass> passes_;
  int plates_ = 0;
  StackSettings settings_;
  std::vector<ClothStack> fibres_;
};

}  // namespace kirtle
