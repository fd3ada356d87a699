#include "predict/shirt_run.h"

#include "base/clock.h"
#include "light/delta_e_2000.h"
#include "press/random.h"
#include "press/register_run.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace kirtle {

namespace {

/// How far from an edge its neighbouring colour is read.
constexpr double kBesideMm = 0.25;

/// Colours at and beside edges, from the plates in register.
class EdgeColours {
 public:
  explicit EdgeColours(const Prediction& prediction)
      : prediction_(prediction),
        mixer_(prediction.model().table),
        white_(prediction.model().table.weights().white) {}

  /// The larger difference of what a gap shows to what lies on its two sides.
  double de00(const EdgePair& pair) {
    std::array<std::uint16_t, kMostPlates> gap{};
    if (pair.shows >= 0) gap[static_cast<std::size_t>(pair.shows)] = 65535;
    const Lab shows = lab(gap);
    const double in = delta_e_2000(shows, lab(beside(pair, -kBesideMm)));
    const double out = delta_e_2000(shows, lab(beside(pair, kBesideMm)));
    return std::max(in, out);
  }

 private:
  Lab lab(const std::array<std::uint16_t, kMostPlates>& cover) {
    const XYZf c = mixer_.mix(cover.data());
    return lab_from_xyz({static_cast<double>(c.x), static_cast<double>(c.y), static_cast<double>(c.z)},
                        white_);
  }
  std::array<std::uint16_t, kMostPlates> beside(const EdgePair& pair, double mm) const {
    const double px_per_mm = prediction_.ppi() / kMmPerInch;
    std::array<std::uint16_t, kMostPlates> cover{};
    const auto& covers = prediction_.covers();
    for (std::size_t p = 0; p < covers.size(); ++p) {
      const PlateImage& image = covers[p].image();
      const int x = std::clamp(static_cast<int>((pair.x_mm + mm * pair.nx) * px_per_mm), 0, image.width - 1);
      const int y = std::clamp(static_cast<int>((pair.y_mm + mm * pair.ny) * px_per_mm), 0, image.height - 1);
      // Coarse steps, so that few mixes are worked out.
      const double printed = prediction_.model().plates[p].tone.printed(image.film(x, y));
      cover[p] = static_cast<std::uint16_t>(std::lround(std::round(printed * 32) / 32 * 65535));
    }
    return cover;
  }

  const Prediction& prediction_;
  Mixer mixer_;
  XYZ white_;
};

std::vector<ShowingKind> kinds_of(const Prediction& prediction, const Showing& showing,
                                  const RunShowing& run) {
  std::map<std::array<int, 3>, ShowingKind> kinds;
  const auto key_of = [](const EdgePair& pair) {
    return std::array<int, 3>{pair.plate_a, pair.plate_b, pair.shows};
  };
  const auto name_of = [&](int plate) {
    return prediction.model().plates[static_cast<std::size_t>(plate)].name;
  };
  for (const EdgePair& pair : showing.pairs()) {
    auto [it, fresh] = kinds.try_emplace(key_of(pair));
    ShowingKind& kind = it->second;
    if (fresh) {
      kind.plate_a = name_of(pair.plate_a);
      kind.plate_b = name_of(pair.plate_b);
      kind.shows = pair.shows < 0 ? "shirt" : name_of(pair.shows);
      kind.least_overlap_mm = static_cast<double>(pair.t_mm);
    }
    kind.length_mm += static_cast<double>(pair.length_mm);
    kind.least_overlap_mm = std::min(kind.least_overlap_mm, static_cast<double>(pair.t_mm));
  }
  for (const ShirtShowing& shirt : run.shirts) {
    if (shirt.visible && shirt.widest_pair >= 0) {
      ++kinds[key_of(showing.pairs()[static_cast<std::size_t>(shirt.widest_pair)])].shirts_worst_here;
    }
  }
  std::vector<ShowingKind> out;
  for (const auto& [key, kind] : kinds) out.push_back(kind);
  std::stable_sort(out.begin(), out.end(), [](const ShowingKind& a, const ShowingKind& b) {
    return a.shirts_worst_here != b.shirts_worst_here ? a.shirts_worst_here > b.shirts_worst_here
                                                      : a.length_mm > b.length_mm;
  });
  return out;
}

}  // namespace

Scene scene_on_shirt(const Scene& scene, const RegisterRun& run, std::uint32_t shirt) {
  Scene out = scene;
  const std::vector<RegisterOffset> offsets = without_placement(run.offsets_of(shirt));
  for (std::size_t i = 0; i < out.passes.size(); ++i) out.passes[i].offset = offsets[i];
  return out;
}

Um wicked_edge(const PrintModel& model, int plate) {
  const PrintingPlate& p = model.plates[static_cast<std::size_t>(plate)];
  if (!p.cover.field) return {0};
  const XYZ& white = model.table.weights().white;
  std::vector<double> dose(model.plates.size(), 0.0);
  const auto lab = [&](double level) {
    dose[static_cast<std::size_t>(plate)] = level;
    return lab_from_xyz(model.table.mix(dose), white);
  };
  const Lab bare = lab(0);
  const double half = 0.5 * delta_e_2000(bare, lab(1));
  double lo = 0, hi = 1;
  for (int i = 0; i < 30; ++i) {
    const double mid = 0.5 * (lo + hi);
    (delta_e_2000(bare, lab(mid)) < half ? lo : hi) = mid;
  }
  // Beyond a straight edge the dose falls as the tail of a normal distribution of the wicking's width.
  return {1000 * p.cover.wick.v * std::max(0.0, -inverse_normal(std::clamp(hi, 1e-6, 0.5)))};
}

std::vector<EdgePlate> edge_plates(const Scene& scene, const Prediction& prediction) {
  const std::vector<PrintingPlate>& plates = prediction.model().plates;
  std::vector<EdgePlate> out;
  for (std::size_t p = 0; p < plates.size(); ++p) {
    const Um spread = plates[p].cover.field ? wicked_edge(prediction.model(), static_cast<int>(p))
                                            : plates[p].cover.tone.spread;
    const std::size_t first = first_pass_number(scene, plates[p].scene_plate);
    const bool base = scene.passes[first].flash_after && first + 1 < scene.passes.size();
    out.push_back({&prediction.covers()[p].image(), &plates[p].tone, spread, base});
  }
  return out;
}

ShirtRun run_shirts(const Scene& scene, const Prediction& prediction, const RegisterRun& run,
                    const ShirtRunSettings& settings) {
  auto start = Clock::now();
  EdgeSearch search;
  search.ppi = prediction.ppi();
  search.threads = settings.threads;
  std::vector<EdgePair> pairs = find_edge_pairs(edge_plates(scene, prediction), search);

  ShirtRun out;
  out.edge_pairs = pairs.size();
  EdgeColours colours(prediction);
  ShowingSettings showing_settings;
  showing_settings.visible = settings.visible;
  showing_settings.map_cell = {2.5};
  const Showing showing(
      std::move(pairs), [&](const EdgePair& pair) { return colours.de00(pair); }, prediction.width_mm(),
      prediction.height_mm(), showing_settings);
  out.searching_s = seconds_since(start);
  start = Clock::now();
  out.showing = showing.run(
      settings.shirts,
      [&](int shirt) {
        return plate_offsets(scene, prediction.model(),
                             run.offsets_of(static_cast<std::uint32_t>(shirt) + 1));
      },
      settings.threads, settings.progress);
  out.running_s = seconds_since(start);
  out.kinds = kinds_of(prediction, showing, out.showing);
  out.pair_sigma_mm = run.model().pair_sigma.v;
  out.quoted_mm = holds_of_sigma({out.pair_sigma_mm}).v;
  out.stands_mm = out.quoted_mm * out.showing.stands_factor(settings.accepted_share);
  return out;
}

std::vector<RegisterOffset> plate_offsets(const Scene& scene, const PrintModel& model,
                                          const std::vector<RegisterOffset>& passes) {
  std::vector<RegisterOffset> out;
  for (const PrintingPlate& plate : model.plates)
    out.push_back(passes[first_pass_number(scene, plate.scene_plate)]);
  return out;
}

RunSeen see_shirts(const Scene& scene, const Prediction& prediction, const RegisterRun& run,
                   const ShirtRun& shirts, EyeOn on, const EyeSettings& settings, const Progress& progress) {
  RunSeen out;
  const int done = static_cast<int>(shirts.showing.shirts.size());
  std::vector<int> numbers;
  if (on == EyeOn::all) {
    for (int i = 1; i <= done; ++i) numbers.push_back(i);
  } else if (on == EyeOn::shown && done > 0) {
    numbers = {shirts.showing.typical + 1, shirts.showing.worst + 1};
  }
  if (numbers.empty()) return out;
  auto start = Clock::now();
  const auto offsets_of = [&](int number) {
    return plate_offsets(scene, prediction.model(), run.offsets_of(static_cast<std::uint32_t>(number)));
  };
  double farthest = 0;
  for (const int number : numbers)
    farthest =
        std::max(farthest, farthest_apart(offsets_of(number), prediction.width_mm(), prediction.height_mm()));
  RunEye eye(scene, prediction, {farthest}, settings);
  out.ppi = eye.ppi();
  out.worked_out = eye.share_worked_out();
  out.preparing_s = seconds_since(start);
  start = Clock::now();
  int differs = 0;
  for (const int number : numbers) {
    out.numbers.push_back(number);
    out.seen.push_back(eye.shirt(offsets_of(number)));
    differs += out.seen.back().differs;
    const double share = static_cast<double>(out.seen.size()) / static_cast<double>(numbers.size());
    out.cancelled = progress && !progress(share) && share < 1;
    if (out.cancelled) break;
  }
  out.looking_s = seconds_since(start);
  out.differs = wilson_share(differs, static_cast<int>(out.seen.size()));
  return out;
}

std::string what_can_show(const Scene& scene, const ShirtRun& run) {
  std::string what;
  std::vector<std::string> bases;
  for (const ShowingKind& kind : run.kinds) {
    if (kind.shows == "shirt") {
      what = fmt::format("the shirt ({})", scene.shirt.name);
    } else if (std::find(bases.begin(), bases.end(), kind.shows) == bases.end()) {
      bases.push_back(kind.shows);
    }
  }
  for (const std::string& base : bases) what += (what.empty() ? "" : " or ") + fmt::format("the {}", base);
  return what.empty() ? "anything" : what;
}

std::string sentence_of(const Scene& scene, const ShirtRun& run, const ShirtRunSettings& settings) {
  const ShirtShare& v = run.showing.visible;
  std::string text = fmt::format("Of {} shirts {} {} {}, seen from {:.1f} m", v.of,
                                 v.shirts == 0 ? "none" : fmt::format("{}", v.shirts),
                                 v.shirts == 1 || v.shirts == 0 ? "shows" : "show", what_can_show(scene, run),
                                 settings.visible.distance.v / 1000);
  text += fmt::format(": {:.1f} %, between {:.1f} and {:.1f} % in the long run", 100 * v.share, 100 * v.low,
                      100 * v.high);
  if (std::isfinite(run.stands_mm)) {
    text += fmt::format("; the design holds to +-{:.2f} mm, this press to +-{:.2f} mm", run.stands_mm,
                        run.quoted_mm);
  } else {
    text += "; nothing in the design opens, however far the register goes";
  }
  return text + ".";
}

}  // namespace kirtle
