#include "proof/print_study.h"

#include "base/check.h"
#include "job/press_plan.h"
#include "job/read_scene.h"
#include "predict/ink_used.h"
#include "predict/reading.h"
#include "predict/swatch.h"
#include "press/register_run.h"
#include "proof/watch_places.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace kirtle {

namespace {

/// Width of a garment on a page, pixels a mm on the shirt: 254 dpi on paper at an eighth of true size.
constexpr double kGarmentPxPerMm = 1.3;
constexpr double kCloseUpMm = 62, kCloseUpPxPerMm = 300 / kMmPerInch;
/// Film from here on counts as solid.
constexpr double kSolid = 0.95;

/// Plates with ink on film at a pixel, of a grid over the print.
struct Sampled {
  std::vector<std::vector<float>> film;  ///< one a plate
  std::size_t points = 0;
};

Sampled sample(const Prediction& prediction) {
  const int width = prediction.renderer().width(), height = prediction.renderer().height();
  const int step = std::max(1, static_cast<int>(std::sqrt(static_cast<double>(width) * height / 400000)));
  Sampled out;
  for (const PlateCover& cover : prediction.covers()) {
    std::vector<float> film;
    for (int y = step / 2; y < height; y += step)
      for (int x = step / 2; x < width; x += step)
        film.push_back(static_cast<float>(cover.image().film(x, y)));
    out.points = film.size();
    out.film.push_back(std::move(film));
  }
  return out;
}

/// Where a plate prints as solid as it does, over what it mostly lies on.
void find_levels(const Prediction& prediction, const Sampled& sampled, std::size_t plate, InkStudy& ink) {
  const std::vector<float>& own = sampled.film[plate];
  float level = 0;
  for (const float f : own) level = std::max(level, f);
  const float from = std::min(level, static_cast<float>(kSolid)) - 1e-4F;
  std::map<std::vector<bool>, std::size_t> below;
  for (std::size_t i = 0; i < sampled.points; ++i) {
    if (own[i] < from) continue;
    std::vector<bool> under(plate);
    for (std::size_t p = 0; p < plate; ++p) under[p] = sampled.film[p][i] >= 0.5F;
    ++below[under];
  }
  std::vector<bool> most(plate, false);
  std::size_t count = 0;
  for (const auto& [under, n] : below) {
    if (n <= count) continue;
    count = n;
    most = under;
  }
  const auto& plates = prediction.model().plates;
  ink.levels.assign(plates.size(), 0);
  ink.printed =
      level >= static_cast<float>(kSolid) ? 1 : plates[plate].tone.printed(static_cast<double>(level));
  ink.levels[plate] = ink.printed;
  for (std::size_t p = 0; p < plate; ++p) {
    if (!most[p]) continue;
    ink.levels[p] = 1;
    ink.over += (ink.over.empty() ? "" : ", ") + plates[p].name;
  }
}

std::vector<InkStudy> inks_of(const Scene& scene, const Prediction& prediction) {
  const Sampled sampled = sample(prediction);
  std::vector<InkStudy> out;
  const auto& plates = prediction.model().plates;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    const ScenePass& pass = first_pass_of(scene, plates[i].scene_plate);
    InkStudy ink;
    ink.plate = plates[i].name;
    ink.ink = pass.ink.name;
    const std::string& called = scene.plates[static_cast<std::size_t>(plates[i].scene_plate)].customer_ink;
    ink.customer = called.empty() ? pass.ink.name : called;
    ink.discharges = pass.ink.agent_g_cm3 > 0;
    ink.not_predicted = pass.ink.effect != InkEffect::none;
    find_levels(prediction, sampled, i, ink);
    out.push_back(std::move(ink));
  }
  return out;
}

InkOnShirt ink_on(const Scene& scene, const PrintModel& model, const InkStudy& ink) {
  const PointReading reading = read_printed(scene, model, ink.levels);
  return {reading.lab, srgb_codes8(reading.srgb.linear), reading.srgb.clipped ? reading.srgb.clip_de00 : 0,
          reading.ink_build_um};
}

std::array<float, 3> linear_of(const Rgb8& codes) {
  std::array<float, 3> out{};
  for (std::size_t i = 0; i < 3; ++i) out[i] = static_cast<float>(srgb_decode(codes[i] / 255.0));
  return out;
}

ShirtStudy shirt_of(const Scene& scene, const PrintModel& model) {
  const PointReading bare = read_printed(scene, model, std::vector<double>(model.plates.size(), 0.0));
  ShirtStudy out;
  out.id = scene.shirt.id;
  out.name = scene.shirt.name;
  out.fibre_text = scene.shirt.fibre_text;
  out.bare = bare.lab;
  out.linear = linear_of(srgb_codes8(bare.srgb.linear));
  out.discharge_grade = scene.shirt.discharge_grade;
  const XYZ white = viewing_weights("D50", Observer::cie1931_2deg).white;
  if (const auto codes = rgb8_from_hex(shirt_swatch(scene.shirt).discharged_hex))
    out.discharged = lab_from_xyz(xyz_from_srgb8(*codes, white), white);
  return out;
}

std::vector<PassStudy> passes_of(const Scene& scene, const Prediction& prediction, unsigned threads) {
  const std::vector<double> areas = covered_mm2(prediction, threads);
  const auto& plates = prediction.model().plates;
  std::vector<PassStudy> out;
  for (const ScenePass& pass : scene.passes) {
    PassStudy study;
    const auto plate = std::find_if(plates.begin(), plates.end(),
                                    [&](const PrintingPlate& p) { return p.scene_plate == pass.plate; });
    study.area_mm2 = areas[static_cast<std::size_t>(plate - plates.begin())];
    study.wet = wet_deposit_of(pass);
    study.grams_a_shirt = wet_grams(pass, study.area_mm2);
    out.push_back(study);
  }
  return out;
}

/// Film as people look at it, black on white, at most 200 pixels high.
PagePicture plate_picture(const PlateImage& image, const InkBox& box) {
  const int step = std::max(1, std::max(box.width(), box.height()) / 200);
  PagePicture out;
  out.width = std::max(1, box.width() / step);
  out.height = std::max(1, box.height() / step);
  for (int y = 0; y < out.height; ++y) {
    for (int x = 0; x < out.width; ++x) {
      // Ink much wider than tall, or taller than wide, has fewer rows or columns than one step.
      const int x0 = box.x0 + x * step, x1 = std::min(x0 + step, box.x1);
      const int y0 = box.y0 + y * step, y1 = std::min(y0 + step, box.y1);
      double ink = 0;
      for (int sy = y0; sy < y1; ++sy)
        for (int sx = x0; sx < x1; ++sx) ink += image.film(sx, sy);
      const auto grey = static_cast<std::uint8_t>(std::lround(255 * (1 - ink / ((x1 - x0) * (y1 - y0)))));
      out.rgba.insert(out.rgba.end(), {grey, grey, grey, 255});
    }
  }
  return out;
}

/// The scene with films output so that its ink is `width_mm` wide.
void resize(Scene& scene, const Prediction& prediction, double ink_width_mm, double width_mm) {
  const double factor = width_mm / ink_width_mm;
  scene.ppi = prediction.ppi() / factor;
  if (!scene.art_box) return;
  for (Mm* side : {&scene.art_box->x, &scene.art_box->y, &scene.art_box->width, &scene.art_box->height})
    side->v *= factor;
}

std::vector<ShirtSize> sizes_of(const Order& order) {
  std::vector<ShirtSize> out;
  for (const SizeCount& c : order.by_size()) out.push_back(c.size);
  return out;
}

/// One shirt colour of the order; the first fills in what all share.
void study_shirt(const OrderShirts& shirts, const StudySettings& settings, bool first, Scene scene,
                 PrintStudy& study, Diagnostics& notes) {
  auto prediction = std::make_unique<Prediction>(scene, notes);
  InkBox box = ink_box(*prediction);
  if (box.width() == 0) {
    throw InputError({scene.file.string(), 0, 0}, "no plate of this scene has any ink on it",
                     "check ink_is: \"dark\" means that black prints");
  }
  const std::optional<double> wanted = settings.width_mm   ? settings.width_mm
                                       : study.print.width ? std::optional<double>(study.print.width->v)
                                                           : std::nullopt;
  const double natural = box.width() / prediction->ppi() * kMmPerInch;
  if (wanted && std::abs(*wanted / natural - 1) > 1e-4) {
    resize(scene, *prediction, natural, *wanted);
    study.plate_scale = *wanted / natural;
    prediction = std::make_unique<Prediction>(scene, notes);
    box = ink_box(*prediction);
  }
  const double px_per_mm = prediction->ppi() / kMmPerInch;
  ShirtStudy shirt = shirt_of(scene, prediction->model());
  shirt.ordered = shirts.shirts();
  shirt.style = shirts.style;
  shirt.print = print_pixels(*prediction, box, kGarmentPxPerMm, settings.threads);
  if (first) {
    study.width_mm = box.width() / px_per_mm;
    study.height_mm = box.height() / px_per_mm;
    study.inks = inks_of(scene, *prediction);
    study.passes = passes_of(scene, *prediction, settings.threads);
    for (const PlateCover& cover : prediction->covers())
      study.plates.push_back(plate_picture(cover.image(), box));
    if (settings.pictures) {
      const InkBox window = busiest_window(shirt.print, box, px_per_mm, kCloseUpMm, kCloseUpMm);
      study.close_up = print_pixels(*prediction, window, kCloseUpPxPerMm, settings.threads);
    }
    const RegisterRun press(register_model(scene));
    study.quoted_mm = holds_of_sigma(press.model().pair_sigma).v;
    Diagnostics refusals;
    check_image_fits({study.width_mm}, {study.height_mm}, press_limits(scene), study.print.place, refusals);
    if (scene.press.named) {
      refusals.throw_if_errors();
    } else {
      for (const Diagnostic& d : refusals.all()) notes.warning(d.place, d.message, d.remedy);
    }
    study.share_asked = settings.share;
    if (settings.share || settings.watch) {
      ShirtRunSettings run;
      run.threads = settings.threads;
      study.run = run_shirts(scene, *prediction, press, run);
    }
    if (settings.watch) study.watch = watch_places(scene, *prediction, *study.run, box, settings.threads);
    study.scene = scene;
  }
  for (InkStudy& ink : study.inks) ink.on.push_back(ink_on(scene, prediction->model(), ink));
  study.shirts.push_back(std::move(shirt));
}

}  // namespace

PrintStudy study_print(const Order& order, const OrderPrint& print, const StudySettings& settings,
                       Diagnostics& notes) {
  PrintStudy study;
  study.print = print;
  std::vector<OrderShirts> shirts = order.shirts;
  if (shirts.empty()) shirts.emplace_back();
  // The colour ordered most comes first: it is the one that is drawn large.
  std::stable_sort(shirts.begin(), shirts.end(),
                   [](const OrderShirts& a, const OrderShirts& b) { return a.shirts() > b.shirts(); });
  Diagnostics faults;
  std::vector<Scene> scenes;
  for (const OrderShirts& s : shirts) {
    SceneOptions options;
    if (!s.shirt.empty()) {
      options.shirt = s.shirt;
      options.shirt_asked_at = s.shirt_place;
    }
    options.light = settings.light;
    options.data_folders = settings.data;
    options.data_folders.insert(options.data_folders.end(), order.data.begin(), order.data.end());
    try {
      scenes.push_back(read_scene(print.scene, options));
      Diagnostics said;
      for (const Diagnostic& d : scenes.back().notes) {
        if (d.severity == Severity::warning) said.warning(d.place, d.message, d.remedy);
        if (d.severity == Severity::notice) said.notice(d.place, d.message, d.remedy);
      }
      notes.append_new(said);
    } catch (const InputError& e) {
      faults.append_new(e.diagnostics());
    }
  }
  faults.throw_if_errors();
  for (std::size_t i = 0; i < scenes.size(); ++i)
    study_shirt(shirts[i], settings, i == 0, scenes[i], study, notes);
  study.fit =
      fit_print(study.width_mm / kMmPerInch, study.height_mm / kMmPerInch, print.location, sizes_of(order));
  return study;
}

std::vector<PrintStudy> study_prints(const Order& order, const StudySettings& settings, Diagnostics& notes) {
  Diagnostics faults;
  std::vector<PrintStudy> out;
  for (const OrderPrint& print : order.prints) {
    try {
      out.push_back(study_print(order, print, settings, notes));
    } catch (const InputError& e) {
      faults.append_new(e.diagnostics());
    }
  }
  faults.throw_if_errors();
  return out;
}

void stop_for_youth_discharge(const Order& order, const std::vector<PrintStudy>& studies) {
  if (!order.youth_discharge_agreed.empty()) return;
  std::vector<ShirtSize> youth;
  for (const SizeCount& c : order.by_size())
    if (is_youth(c.size)) youth.push_back(c.size);
  if (youth.empty()) return;
  Diagnostics faults;
  for (const PrintStudy& study : studies) {
    for (const InkStudy& ink : study.inks) {
      if (!ink.discharges) continue;
      faults.error(
          study.print.place,
          fmt::format("the {} print discharges (ink \"{}\"), and youth sizes are ordered ({})",
                      to_string(study.print.location), printable(ink.ink), sizes_text(youth)),
          "stop and ask: the supplier's safety data sheet and local rules for children's wear decide; then "
          "say in the order who agreed and when: youth_discharge_agreed = \"...\"");
      break;
    }
  }
  faults.throw_if_errors();
}

double drop_mm(const OrderPrint& print, ShirtSize size) {
  return print.drop ? print.drop->v : drop_range(is_youth(size), print.location).usual_in * kMmPerInch;
}

ExtremeSizes extreme_sizes(const Order& order) {
  const std::vector<SizeCount> sizes = order.by_size();
  if (sizes.empty()) return {ShirtSize::s, ShirtSize::xl2, true};
  return {sizes.front().size, sizes.back().size, false};
}

std::string both_units(double mm) {
  // A hundredth of an inch only where a tenth would say too little.
  if (mm < kMmPerInch) return fmt::format("{:.2f} in ({:.1f} mm)", mm / kMmPerInch, mm);
  return fmt::format("{:.1f} in ({:.0f} mm)", mm / kMmPerInch, mm);
}

}  // namespace kirtle
