#pragma once
// What a session is made of: its modes, its messages, and what work beside the window hands in.
#include "build.h"
#include "check/check_scene.h"
#include "predict/reading.h"
#include "predict/shirt_run.h"
#include "section.h"
#include "view.h"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

enum class Mode { print, plates, against };
/// What lies right of the line.
enum class Against { plates, shirt, file };
enum class Head { down, up };

/// What the window looks at. Panels change it and then touch() the session.
struct WhatIsSeen {
  View view;
  Mode mode = Mode::print;
  Against against = Against::plates;
  double line = 0.5;                       ///< place of the line, 0..1 of the pane
  std::string against_shirt;               ///< id
  int selected = 0;                        ///< plate
  std::optional<PointMm> marked;           ///< where the worst gap or a finding lies
  bool film_alone = false;                 ///< plates mode: the selected plate's film over the whole pane
  std::vector<std::string> lights_beside;  ///< shown beside the scene's light, at most 2
  double screen_px_per_mm = 3.78;          ///< of the monitor, calibrated by its user
};

struct Message {
  Severity severity = Severity::notice;
  std::string text;
};

/// The print at plate resolution made smaller, as sim draws it: for zoomed-out views.
struct Pyramid {
  std::shared_ptr<const Build> build;
  int width = 0, height = 0, shrink = 1;  ///< shrink: plate pixels a side of a pixel here
  std::vector<XYZf> xyz;
};

struct Pinned {
  PointMm at;
  Lab lab;
  std::string hex;
  Spectrum reflectance;
};

struct RunResult {
  ShirtRun run;
  ShirtRunSettings settings;
  std::string sentence;
};

/// Part of the print under the loupe as sim draws it, with the light that spreads.
struct LoupePicture {
  std::shared_ptr<const Build> build;
  PointMm corner;  ///< its top left
  double width_mm = 0, height_mm = 0;
  int width = 0, height = 0;
  std::vector<XYZf> xyz;
};

/// Mean of a garment's place for a print: its top left corner, mm on the garment, below the collar (common
/// practice, no source).
constexpr double kDropBelowCollarMm = 75;

}  // namespace kirtle
