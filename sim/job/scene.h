#pragma once
// A scene, read and checked: everything a prediction needs, records resolved. No TOML in here.
#include "base/diagnostics.h"
#include "base/units.h"
#include "cloth/cloth.h"
#include "cloth/discharge.h"
#include "ink/ink.h"
#include "light/weights.h"
#include "plate/plate_image.h"
#include "press/register_run.h"
#include "screen/screen.h"
#include "screen/tone.h"

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

/// What a plate of a file is for. Shirt and ignore lay no ink.
enum class PlateRole { print, shirt, ignore };

/// What the [art] box leaves, mm from the plates' top left corner. What lies outside adds no ink.
struct ArtBox {
  Mm x{0}, y{0}, width{0}, height{0};
};

struct ScenePlate {
  std::string name;
  std::filesystem::path file;  ///< resolved against the scene's folder
  int page = 1;                ///< of the file, from 1
  std::string sample;          ///< name of one of the file's plates; empty = not given
  int sample_number = 0;       ///< the same by its place among the page's samples, from 1; 0 = not given
  std::optional<Polarity> polarity;  ///< of a grey; a spot or separated sample has its own
  PlateRole role = PlateRole::print;
  Place place;               ///< of its table in the scene
  std::string customer_ink;  ///< ink as the customer calls it, free text; may be empty
};

/// One pass: a plate through a screen with an ink. Passes are in print order.
struct ScenePass {
  int plate = 0;  ///< index into Scene::plates
  Ink ink;
  Mesh mesh;
  HalftoneScreen halftone;
  int strokes = 1;  ///< 1..4
  bool flash_after = false;
  bool cool_down = false;          ///< an empty station after the flash
  double transfer = 0.7;           ///< tau: share of the mesh's theoretical volume that is laid down, 0.3..1
  std::optional<Um> wet_deposit;   ///< overrides mesh and transfer; of one stroke
  std::optional<Um> ink_spread;    ///< overrides the ink's own
  std::optional<StepTable> steps;  ///< measured: replaces spread for tints
  CurveAt curve = CurveAt::none;   ///< where a gain curve already sits
  RegisterOffset offset;           ///< known register error of its screen
  double flash_shrink = 0;         ///< the flash after it shortens the cloth by this share
};

struct PressSettings {
  PressPreset preset;       ///< heads, flashes and pallets as the scene overrides them
  bool named = false;       ///< the scene says which press, or how many heads
  Place place;              ///< where, for what the press refuses
  int revolutions = 1;      ///< how often a shirt may go round, 1 or 2
  std::optional<Mm> holds;  ///< "holds +-": replaces the preset's sigmas
  bool draw_setup = false;  ///< what set-up leaves is drawn from the preset's sigmas
  std::uint64_t seed = 1;   ///< of the run's register
  std::optional<PalletBias> bad_pallet;
  double wet_trapping = 0.8;  ///< eta: share of an ink laid onto wet ink (placeholder)
  double wet_pickup = 0.1;    ///< share of the wet ink below taken away by the next screen (placeholder)
};

/// What `compare` and `reshape` are told about the job; all of it may be left out.
struct CompareKeys {
  std::string light, dark;    ///< plates, by name; empty = found out
  std::filesystem::path art;  ///< the art, sRGB PNG, resolved against the scene's folder; empty = none
  std::optional<double> wet_limit_cm3_m2;    ///< the shop's limit of wet load
  std::optional<double> ink_build_limit_um;  ///< the shop's limit of ink build
};

struct Scene {
  std::filesystem::path file;
  std::vector<std::filesystem::path> data_folders;  ///< its records come from, the first that has one first
  std::string title;
  std::string note;  ///< free text, for example "invented"
  Cloth shirt;
  std::vector<Cloth> other_shirts;  ///< shirts the customer may order, for later commands
  std::string light = "D50";
  Observer observer = Observer::cie1931_2deg;
  bool surface_light = true;  ///< include the light off a glossy film's surface (k1)
  double ppi = 0;             ///< of the plates, if scene or command line state it; 0 = from the files
  std::optional<ArtBox> art_box;
  std::vector<ScenePlate> plates;
  std::vector<ScenePass> passes;  ///< of plates with the role print alone
  DischargeProcess discharge;
  PressSettings press;
  CompareKeys compare;
  std::optional<double> yule_nielsen_n;  ///< overrides the pair form
  std::vector<std::string> assumed;  ///< keys of the scene that were left out, so that a default stands in
  std::vector<Diagnostic> notes;     ///< warnings and notices found while reading
};

}  // namespace kirtle
