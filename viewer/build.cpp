#include "build.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

namespace {

/// Values of a lattice at most.
constexpr std::size_t kMostValues = 400000;
/// Entries kept in each store: one for the scene, some for going back.
constexpr std::size_t kMostKept = 24;

std::string codes_key(const std::string& plates, const PrintingPlate& plate, std::size_t i) {
  return fmt::format("{}|{}|{}|{}|{}", plates, i, plate.cover.field ? 0 : plate.cover.tone.spread.v,
                     plate.cover.field, plate.cover.field ? plate.cover.wick.v : 0) +
         (plate.cover.field ? fmt::format("|{}|{}|{}", plate.tone.printed(0.1), plate.tone.printed(0.5),
                                          plate.tone.printed(0.9))
                            : std::string());
}

template <class Store>
void keep_few(Store& store, const std::string& needed) {
  while (store.size() > kMostKept) {
    const auto other =
        std::find_if(store.begin(), store.end(), [&](const auto& e) { return e.first != needed; });
    store.erase(other);
  }
}

}  // namespace

std::vector<ToneNode> tone_nodes(const ToneSettings& settings) {
  const ToneCurve curve(settings);
  std::vector<ToneNode> out;
  for (int i = 0; i < kToneNodes; ++i) {
    const double film = i / (kToneNodes - 1.0);
    const DotTone t = dot_tone(settings, film);
    out.push_back({static_cast<float>(curve.printed(film)), static_cast<float>(t.tone),
                   static_cast<float>(t.dots_held), static_cast<float>(t.holes_held)});
  }
  return out;
}

std::string plates_key(const Scene& scene) {
  std::string key = fmt::format("{}|{}", scene.file.string(), scene.ppi);
  if (scene.art_box) {
    const ArtBox& b = *scene.art_box;
    key += fmt::format("|{},{},{},{}", b.x.v, b.y.v, b.width.v, b.height.v);
  }
  for (const ScenePass& pass : scene.passes) {
    const ScenePlate& p = scene.plates[static_cast<std::size_t>(pass.plate)];
    std::error_code code;
    const auto time = std::filesystem::last_write_time(p.file, code);
    key += fmt::format("|{}:{}:{}:{}:{}", p.file.string(), p.page, p.sample, p.sample_number,
                       code ? 0 : time.time_since_epoch().count());
  }
  return key;
}

std::string stack_key(const Scene& scene) {
  const DischargeProcess& d = scene.discharge;
  std::string key =
      fmt::format("{}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}", scene.shirt.id, scene.surface_light, d.pot_hours,
                  d.pot_life_hours, d.kr_per_s, d.kd_per_s, d.ea_r_kj_mol, d.ea_d_kj_mol, d.t_ref_celsius,
                  scene.press.wet_trapping, scene.press.wet_pickup, scene.yule_nielsen_n.value_or(0));
  for (const DryerStep& s : d.dryer) key += fmt::format("|{}x{}", s.celsius, s.seconds);
  for (const ScenePass& p : scene.passes) {
    key += fmt::format("|{}:{}:{}:{}:{}:{}:{}:{}:{}", p.plate, p.ink.id, p.ink.optics.k[9], p.ink.optics.s[9],
                       wet_deposit_of(p).v, p.flash_after, p.halftone.lpi, static_cast<int>(p.halftone.shape),
                       p.strokes);
  }
  return key;
}

std::shared_ptr<const Build> BuildShop::make(const Scene& scene, bool quick, unsigned threads,
                                             const Progress& progress) {
  const auto part = [&](double from, double to) -> Progress {
    return [&progress, from, to](double share) { return !progress || progress(from + (to - from) * share); };
  };
  const auto go_on = [&](double share) {
    if (progress && !progress(share)) throw Cancelled();
  };
  auto build = std::make_shared<Build>();
  build->scene = std::make_unique<const Scene>(scene);
  const std::string plates = plates_key(scene);
  go_on(0.01);
  if (!plates_.contains(plates)) {
    plates_.clear();  // one set at a time: they are large
    codes_.clear();
    Diagnostics notes;
    plates_[plates] = read_printing_plates(*build->scene, notes);
    plate_notes_ = notes;
  }
  build->notes = plate_notes_;
  go_on(0.2);
  build->prediction = std::make_unique<const Prediction>(*build->scene, plates_[plates]);
  go_on(0.3);
  const std::size_t n = build->plates().size();
  for (std::size_t i = 0; i < n; ++i) {
    const PrintingPlate& plate = build->plates()[i];
    const std::string key = codes_key(plates, plate, i);
    std::shared_ptr<const PlateCodes>& kept = codes_[key];
    if (!kept) {
      const double from = 0.3 + 0.5 * static_cast<double>(i) / static_cast<double>(n);
      kept = make_plate_codes(plates_[plates]->images[i], build->ppi(), plate.cover, threads,
                              part(from, from + 0.5 / static_cast<double>(n)));
    }
    build->codes.push_back(kept);
    build->tones.push_back(tone_nodes(plate.cover.tone));
    keep_few(codes_, key);
  }
  const OverprintTable& table = build->prediction->model().table;
  if (PairLattice::fits(table)) {
    const std::string stack = stack_key(scene);
    std::string key = stack;
    for (int p = 0; p < table.plates(); ++p) {
      for (const double level : table.levels(p)) key += fmt::format(",{}", level);
    }
    const auto known = lattices_.find(key);
    if (known != lattices_.end()) {
      build->lattice = known->second;
    } else if (quick && latest_.contains(stack)) {
      build->lattice = latest_[stack];
      build->refined = false;
    } else {
      build->lattice = PairLattice::make(table, quick ? kQuickValues : kMostValues, threads, part(0.8, 1));
      build->refined = !quick || build->lattice->whole();
      if (build->refined) lattices_[key] = build->lattice;
    }
    latest_[stack] = build->lattice;
    build->contracted = build->lattice->contracted(table.weights());
    keep_few(lattices_, key);
    keep_few(latest_, stack);
  }
  return build;
}

void BuildShop::forget() {
  plates_.clear();
  codes_.clear();
  lattices_.clear();
  latest_.clear();
}

}  // namespace kirtle
