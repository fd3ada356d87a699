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

std::string grams_text(double g) {
  if (g < 0.05) return "< 0.1 g";
  return g < 10 ? fmt::format("{:.1f} g", g) : fmt::format("{:.0f} g", g);
}

std::string mix_text(const InkToMix& mix) {
  const auto rounded = [](double g) { return std::round(g / 10) * 10; };
  if (mix.high_g < 950) return fmt::format("{:.0f} to {:.0f} g", rounded(mix.low_g), rounded(mix.high_g));
  return fmt::format("{:.2f} to {:.2f} kg", mix.low_g / 1000, mix.high_g / 1000);
}

std::string curve_text(CurveAt curve) {
  switch (curve) {
    case CurveAt::none:
      return "no curve";
    case CurveAt::plates:
      return "curve is in the plates";
    case CurveAt::output:
      return "curve is in the film output";
  }
  return {};
}

std::string mesh_text(const Mesh& mesh) {
  return fmt::format("{:.3g}-{:.0f} ({:.0f}/in)", mesh.threads_per_cm, mesh.thread.v,
                     threads_per_inch_from_per_cm(mesh.threads_per_cm));
}

}  // namespace kirtle
