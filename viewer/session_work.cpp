// The session's slow work: what runs beside the window, and how its results come in.
#include "job/press_plan.h"
#include "predict/picture.h"
#include "print/loupe.h"
#include "session.h"

#include <algorithm>
#include <fmt/format.h>

namespace kirtle {

void Session::rebuild(bool quick) {
  painter_.cancel();
  close_painter_.cancel();
  builder_.start("predict", [this, scene = scene_now(), quick, shop = shop_,
                             threads = threads_](const Progress& progress) {
    std::shared_ptr<const Build> build = shop->make(scene, quick, threads, progress);
    return Lane::Finish([this, build, quick] {
      build_ = build;
      ++version_;
      if (point_) read_point();
      if (quick && !build_->refined) rebuild(false);
      paint();
    });
  });
}

void Session::paint() {
  painter_.start("paint", [this, build = build_, threads = threads_](const Progress& progress) {
    auto pyramid = std::make_shared<Pyramid>();
    pyramid->build = build;
    pyramid->shrink = 2;
    while (std::max(build->width(), build->height()) / pyramid->shrink > 8192) pyramid->shrink *= 2;
    const double scale = 1.0 / pyramid->shrink;
    pyramid->width = PrintRenderer::scaled(build->width(), scale);
    pyramid->height = PrintRenderer::scaled(build->height(), scale);
    pyramid->xyz.resize(static_cast<std::size_t>(pyramid->width) * static_cast<std::size_t>(pyramid->height));
    build->prediction->renderer().render(
        scale, threads, progress, [&](int y0, int, std::span<const XYZf> rows) {
          std::copy(rows.begin(), rows.end(),
                    pyramid->xyz.begin() + static_cast<std::ptrdiff_t>(y0) * pyramid->width);
        });
    return Lane::Finish([this, pyramid] {
      pyramid_ = pyramid;
      ++version_;
    });
  });
}

void Session::rebuild_other() {
  std::optional<Scene> scene;
  try {
    scene = other_scene();
  } catch (const std::exception& e) {
    failed(e);
  }
  if (!scene) {
    other_builder_.cancel();
    return;
  }
  other_builder_.start("the other side",
                       [this, scene = *scene, shop = other_shop_, threads = threads_](const Progress& p) {
                         std::shared_ptr<const Build> build = shop->make(scene, true, threads, p);
                         return Lane::Finish([this, build] {
                           other_ = build;
                           ++version_;
                         });
                       });
}

void Session::start_run(int shirts) {
  if (!is_open() || writing_picture()) return;
  runner_.start("run", [this, build = build_, scene = *scene_, shop = shop_, shirts,
                        threads = threads_](const Progress& progress) {
    ShirtRunSettings settings;
    settings.shirts = shirts;
    settings.threads = threads;
    settings.progress = progress;
    const RegisterRun run(register_model(scene));
    const Prediction in_register(scene, build->prediction->plate_set());
    auto result = std::make_shared<RunResult>();
    result->run = run_shirts(scene, in_register, run, settings);
    if (result->run.showing.cancelled) throw Cancelled();
    result->sentence = sentence_of(scene, result->run, settings);
    settings.progress = {};
    result->settings = settings;
    return Lane::Finish([this, result] {
      run_ = std::move(*result);
      ++version_;
    });
  });
}

bool Session::writing_picture() {
  if (!runner_.busy() || runner_.name() != "export") return false;
  say(Severity::notice, "a picture is being written: ask again when it is done, or stop it");
  return true;
}

void Session::start_check() {
  if (!is_open() || writing_picture()) return;
  CheckSettings settings;
  settings.threads = threads_;
  Diagnostics faults;
  settings.meshes = library_->all_meshes(faults);
  runner_.start("check", [this, scene = *scene_, settings](const Progress&) {
    auto report = std::make_shared<CheckReport>(check_scene(scene, settings));
    return Lane::Finish([this, report] {
      findings_ = std::move(*report);
      ++version_;
    });
  });
}

void Session::read_point() {
  reader_.start("read", [this, build = build_, at = *point_](const Progress&) {
    const PointReading reading = read_place(*build->scene, *build->prediction, {at.x}, {at.y});
    const Section section = make_section(*build, reading);
    return Lane::Finish([this, reading, section] {
      reading_ = reading;
      section_ = section;
    });
  });
}

void Session::export_picture(const std::filesystem::path& target) {
  if (!is_open()) return;
  runner_.start("export", [this, build = build_, target, threads = threads_](const Progress& progress) {
    PictureSettings settings;
    settings.threads = threads;
    settings.progress = progress;
    const PictureReport report = write_print(*build->scene, *build->prediction, target, settings);
    return Lane::Finish([this, target, report] {
      say(Severity::notice, fmt::format("wrote {}: {} x {} pixels, {}", printable(target.string(), 300),
                                        report.width, report.height, report.colour_space));
    });
  });
}

void Session::look_close(PointMm corner, double width_mm, double height_mm, double dpi) {
  const std::vector<double> asked{corner.x,  corner.y, width_mm,
                                  height_mm, dpi,      static_cast<double>(version_)};
  if (!is_open() || builder_.busy() || asked == loupe_asked_) return;
  loupe_asked_ = asked;
  // Within the print.
  const double x0 = std::max(corner.x, 0.0), y0 = std::max(corner.y, 0.0);
  const double x1 = std::min(corner.x + width_mm, build_->prediction->width_mm());
  const double y1 = std::min(corner.y + height_mm, build_->prediction->height_mm());
  dpi = std::clamp(dpi, kLeastLoupeDpi, kMostLoupeDpi);
  if (!((x1 - x0) * dpi > kMmPerInch && (y1 - y0) * dpi > kMmPerInch)) return;
  close_painter_.start(
      "loupe", [this, build = build_, x0, y0, x1, y1, dpi, threads = threads_](const Progress& progress) {
        auto picture = std::make_shared<LoupePicture>();
        picture->build = build;
        const LoupeWindow window{{x0}, {y0}, {x1 - x0}, {y1 - y0}, dpi};
        picture->width = Loupe::pixels(window.width, dpi);
        picture->height = Loupe::pixels(window.height, dpi);
        picture->corner = {x0, y0};
        picture->width_mm = picture->width * kMmPerInch / dpi;
        picture->height_mm = picture->height * kMmPerInch / dpi;
        const Loupe loupe(build->prediction->model().table, build->prediction->covers());
        loupe.render(window, 1, threads, progress, [&](int, int, std::span<const XYZf> rows) {
          picture->xyz.insert(picture->xyz.end(), rows.begin(), rows.end());
        });
        return Lane::Finish([this, picture] {
          if (picture->build != build_) return;
          loupe_picture_ = picture;
          loupe_asked_.back() = static_cast<double>(++version_);
        });
      });
}

}  // namespace kirtle
