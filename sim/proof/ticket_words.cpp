#include "proof/ticket_words.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

std::vector<std::string> watch_texts(const PrintStudy& study) {
  std::vector<std::string> out;
  for (const WatchPlace& p : study.watch) {
    const double across = std::round(p.x_mm), down = std::round(p.y_mm);
    const std::string side =
        across == 0 ? "on the centre line"
                    : fmt::format("{:.0f} mm ({:.1f} in) {} of the centre line", std::abs(across),
                                  std::abs(p.x_mm) / kMmPerInch, across > 0 ? "right" : "left");
    const std::string opens =
        p.allowed_mm < 0.02 ? fmt::format("Here they only touch: any shift lets the {} show.", p.shows)
                            : fmt::format("The {} shows when they part by more than {:.2f} mm ({:.1f} pt).",
                                          p.shows, p.allowed_mm, p.allowed_mm / kMmPerPoint);
    out.push_back(fmt::format("{}, {:.0f} mm ({:.1f} in) below the top of the print: {} against {}. {}", side,
                              down, p.y_mm / kMmPerInch, p.plate_a, p.plate_b, opens));
  }
  if (out.empty())
    out.push_back(study.inks.size() < 2
                      ? "One screen: nothing to be in register with. Watch edges and even cover."
                      : "No two plates meet closely: register shows nothing here.");
  return out;
}

std::string dryer_text(const Scene& scene) {
  const std::vector<std::string>& assumed = scene.assumed;
  if (std::find(assumed.begin(), assumed.end(), "dryer") != assumed.end()) return {};
  std::string out = "predicted for";
  for (const DryerStep& s : scene.discharge.dryer)
    out += fmt::format(" {:.0f} C ({:.0f} F) {:.0f} s", s.celsius, fahrenheit_from_celsius(s.celsius),
                       s.seconds);
  return out;
}

}  // namespace kirtle
