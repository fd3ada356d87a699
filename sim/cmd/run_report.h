#pragma once
// What kirtle run writes: one JSON document, a table of shirts, a drawing, a text.
#include "predict/run_drift.h"
#include "predict/shirt_run.h"

#include <string>

namespace kirtle {

struct RunReport {
  const Scene& scene;
  const ShirtRun& run;
  const ShirtRunSettings& settings;
  EyeOn eye_on = EyeOn::shown;
  const RunSeen& seen;
  const EyeSettings& eye;
  const RunDrift& drift;
  bool cancelled = false;
  int asked = 0;         ///< shirts
  double map_scale = 0;  ///< share of shirts that the map's strongest colour stands for
};

std::string run_json(const RunReport& report);
std::string run_text(const RunReport& report);
/// One line a shirt.
std::string shirts_csv(const RunReport& report);
/// Defects against tolerance as a drawing.
std::string tolerance_svg(const ShirtRun& run);

}  // namespace kirtle
