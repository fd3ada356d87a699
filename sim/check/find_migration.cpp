// Dye of polyester that wanders into light plastisol in the dryer.
#include "check/find.h"

#include <algorithm>
#include <cctype>
#include <fmt/format.h>

namespace kirtle::check {

namespace {

constexpr double kLeastPolyester = 0.2;  // of the area
constexpr double kDark = 50;             // L* of a shirt dyed deep
constexpr double kStrong = 30;           // chroma of a shirt dyed strong (reds)
constexpr double kLightInk = 60;         // L*

/// Inks made against it say so in their name.
bool holds_dye_back(const Ink& ink) {
  std::string text = ink.id + ' ' + ink.name;
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) {
    return c < 0x80 ? static_cast<char>(std::tolower(c)) : static_cast<char>(c);
  });
  const auto has = [&](const char* word) { return text.find(word) != std::string::npos; };
  return has("low-bleed") || has("low bleed") || has("blocker") || has("barrier");
}

}  // namespace

Findings find_dye_migration(const Facts& facts) {
  std::vector<std::size_t> open;  // light plastisol with nothing against migration below
  bool held_back = false;
  std::vector<bool> seen(facts.plates.size());
  for (std::size_t p = 0; p < facts.scene.passes.size(); ++p) {
    const ScenePass& pass = facts.scene.passes[p];
    held_back = held_back || holds_dye_back(pass.ink);
    if (pass.ink.family != InkFamily::plastisol || held_back) continue;
    for (std::size_t i = 0; i < facts.plates.size(); ++i) {
      const PlateFacts& plate = facts.plates[i];
      if (seen[i] ||
          std::find(plate.passes.begin(), plate.passes.end(), static_cast<int>(p)) == plate.passes.end())
        continue;
      seen[i] = true;
      if (plate.on_undyed.l >= kLightInk && !plate.survey.empty) open.push_back(i);
    }
  }
  Findings out;
  if (open.empty()) return out;
  for (const ShirtFacts& shirt : facts.shirts) {
    if (!(shirt.dyed_polyester >= kLeastPolyester)) continue;
    if (!(shirt.bare.l < kDark || chroma(shirt.bare) > kStrong)) continue;
    Finding f = about(facts, open);
    f.what =
        fmt::format("{} is {:.0f} % dyed polyester: its dye wanders into {} in the dryer and for days after",
                    shirt.cloth->name, 100 * shirt.dyed_polyester, names_of(facts, open));
    f.number = 100 * shirt.dyed_polyester;
    f.limit = 100 * kLeastPolyester;
    f.unit = "% polyester";
    f.remedy =
        "use a low-cure, low-bleed white, or a grey blocker as the base; keep the dryer at the ink's data "
        "sheet and "
        "look at a test print after two days";
    f.provenance = kCommonPractice;
    f.weight = shirt.dyed_polyester;
    out.push_back(f);
  }
  return out;
}

}  // namespace kirtle::check
