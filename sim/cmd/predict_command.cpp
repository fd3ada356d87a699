#include "base/clock.h"
#include "cmd/commands.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "job/own_files.h"
#include "job/press_plan.h"
#include "job/quantity.h"
#include "predict/picture.h"
#include "predict/run_press.h"
#include "predict/shirt_run.h"

#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <optional>
#include <sstream>
#include <sys/resource.h>
#include <unistd.h>
#include <vector>

namespace kirtle {

namespace {

struct PredictArguments {
  SceneArguments scene;
  std::string output, press, intent = "relative";
  std::optional<std::string> profile, loupe;
  std::optional<double> scale, dpi;
  int depth = 8;
  unsigned threads = 0;
  std::optional<std::uint32_t> shirt_number;
  bool quiet = false, no_scatter = false, worst = false;
};

Intent intent_from(const std::string& text) {
  if (text == "perceptual") return Intent::perceptual;
  if (text == "saturation") return Intent::saturation;
  if (text == "absolute") return Intent::absolute;
  return Intent::relative;
}

/// "X,Y,W,H": millimetres, or each with a unit. Throws InputError.
LoupeWindow window_from(const std::string& text, const Prediction& prediction, double dpi) {
  const auto wrong = [&](const std::string& what) {
    return InputError(
        {}, fmt::format("--loupe {}: {}", printable(text), what),
        fmt::format("write X,Y,W,H in mm or with units ({}), from the plates' top left corner, within "
                    "its {:.1f} x {:.1f} mm: for example --loupe 40,55,12,9",
                    units_of(Measure::length_mm), prediction.width_mm(), prediction.height_mm()));
  };
  std::vector<double> mm;
  std::istringstream parts(text);
  for (std::string part; std::getline(parts, part, ',');) {
    std::optional<double> length = quantity_from(part, Measure::length_mm);
    if (!length) length = quantity_from(part + " mm", Measure::length_mm);
    if (!length) throw wrong(fmt::format("\"{}\" is not a length", printable(part)));
    mm.push_back(*length);
  }
  if (mm.size() != 4) throw wrong(fmt::format("4 lengths are needed, {} found", mm.size()));
  const double pitch = kMmPerInch / dpi, slack = 1e-6;
  if (!(mm[0] >= 0 && mm[1] >= 0 && mm[2] >= pitch && mm[3] >= pitch &&
        mm[0] + mm[2] <= prediction.width_mm() + slack && mm[1] + mm[3] <= prediction.height_mm() + slack)) {
    throw wrong(fmt::format("{:.4g} x {:.4g} mm at {:.4g}, {:.4g} mm do not lie within the print", mm[2],
                            mm[3], mm[0], mm[1]));
  }
  return {{mm[0]}, {mm[1]}, {mm[2]}, {mm[3]}, dpi};
}

/// Scale and loupe. Throws InputError.
void set_size(const PredictArguments& a, const Prediction& prediction, PictureSettings& settings) {
  if (a.scale) settings.scale = *a.scale;
  if (a.loupe) {
    const double dpi = a.dpi.value_or(1200);
    if (!(dpi >= kLeastLoupeDpi && dpi <= kMostLoupeDpi)) {
      throw InputError(
          {},
          fmt::format("--dpi is {:g}; dots under the loupe are drawn at {:g} to {:g} device pixels per inch",
                      dpi, kLeastLoupeDpi, kMostLoupeDpi),
          "for a smaller picture add --scale, for example --dpi 1200 --scale 0.25");
    }
    settings.loupe = window_from(*a.loupe, prediction, dpi);
    settings.loupe_settings.scatter = !a.no_scatter;
    return;
  }
  if (a.dpi) settings.scale = *a.dpi / prediction.ppi();
  if (a.dpi && !(settings.scale <= 1 + 1e-9)) {
    throw InputError(
        {},
        fmt::format("a picture of {:g} pixels per inch was asked for, but the plates have {:g}", *a.dpi,
                    prediction.ppi()),
        fmt::format("ask for at most {:g}; a finer picture would only repeat pixels (--loupe shows dots)",
                    prediction.ppi()));
  }
  settings.scale = std::min(settings.scale, 1.0);
}

/// The sample print that the press is set up by, or one shirt of the run.
Scene chosen_shirt(const PredictArguments& a, Scene scene) {
  if (!a.press.empty()) use_press(scene, a.press);
  if (!a.shirt_number && !a.worst) return sample_print(scene);
  const RegisterRun press(register_model(scene));
  std::uint32_t number = a.shirt_number.value_or(1);
  if (a.worst) {
    Diagnostics notes;
    const Prediction in_register(scene, notes);
    ShirtRunSettings settings;
    settings.threads = a.threads;
    number = static_cast<std::uint32_t>(run_shirts(scene, in_register, press, settings).showing.worst) + 1;
  }
  scene.title += fmt::format(", shirt {}", number);
  return scene_on_shirt(scene, press, number);
}

void run_predict(const PredictArguments& a) {
  if (a.scale && a.dpi && !a.loupe) throw CLI::ExcludesError("--scale", "--dpi");
  const auto start = Clock::now();
  const Scene read = a.scene.read(a.quiet);
  refuse_own_files(own_files(read), std::vector<std::filesystem::path>{a.output}, "the picture is");
  const Scene scene = chosen_shirt(a, read);
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  print_notes(notes.all(), a.quiet);
  const double reading_s = seconds_since(start);

  PictureSettings settings;
  settings.bits = a.depth;
  settings.threads = a.threads;
  settings.intent = intent_from(a.intent);
  settings.progress = terminal_progress("predicting", a.quiet);
  if (a.profile) settings.profile = *a.profile;
  set_size(a, prediction, settings);
  const PictureReport r = write_print(scene, prediction, a.output, settings);
  if (a.quiet) return;
  say("{}: {} x {} pixels, {} x {}, {:.4g} per inch, {}\n", a.output, r.width, r.height,
      length_text(settings.loupe ? settings.loupe->width.v : prediction.width_mm()),
      length_text(settings.loupe ? settings.loupe->height.v : prediction.height_mm()), r.ppi, r.colour_space);
  say("  {} on {}, light {}\n", scene.title, scene.shirt.name, scene.light);
  const double pixels = static_cast<double>(r.width) * r.height;
  if (r.pixels_outside > 0) {
    say("  outside the gamut of {}: {:.2g} % of the picture, by up to dE00 {:.1f}{}\n", r.colour_space,
        100 * static_cast<double>(r.pixels_outside) / pixels, r.largest_de00,
        settings.profile ? "" : "; hue kept, chroma cut");
  }
  for (const ScenePass& pass : scene.passes) {
    if (pass.ink.effect != InkEffect::none) {
      say("  not predicted: {} (drawn flat)\n", pass.ink.name);
    }
  }
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  say("  read {:.2f} s, computed {:.2f} s, written {:.2f} s; peak memory {} MiB\n", reading_s, r.computing_s,
      r.writing_s, usage.ru_maxrss / 1024);
}

}  // namespace

void add_predict_command(CLI::App& app) {
  auto a = std::make_shared<PredictArguments>();
  CLI::App* c = app.add_subcommand("predict", "Draw the shirt as it will come off the press");
  a->scene.add_to(*c);
  c->add_option("-o,--output", a->output, "Picture to write: .png, .tif or .tiff")->required();
  c->add_option("--profile", a->profile, "ICC profile of the picture; without it sRGB. Embedded either way");
  c->add_option("--intent", a->intent, "Rendering intent with --profile")
      ->check(CLI::IsMember({"perceptual", "relative", "saturation", "absolute"}))
      ->capture_default_str();
  c->add_option("--scale", a->scale, "Size of the picture as a share of the plates', for example 0.25")
      ->check(within(1e-3, 1));
  c->add_option(
       "--dpi", a->dpi,
       "Pixels per inch of the picture instead, at most the plates'; with --loupe, of the dots' raster")
      ->check(within(1, 10000));
  CLI::Option* loupe =
      c->add_option("--loupe", a->loupe,
                    "Real dots in a window X,Y,W,H of the print, mm or with units, at --dpi 300 to "
                    "4800 (1200); --scale makes it smaller");
  c->add_flag("--no-scatter", a->no_scatter, "Under the loupe: no light sideways through the cloth; faster")
      ->needs(loupe);
  CLI::Option* number =
      c->add_option("--shirt-number", a->shirt_number,
                    "That shirt of the scene's run, where its press puts the plates, from 1")
          ->check(CLI::Range(1u, 1000000u));
  c->add_option("--press", a->press,
                "Another press, by id, in place of the scene's; a name that is none lists them");
  c->add_flag("--worst", a->worst, "The worst of the first 144 shirts of that run")->excludes(number);
  c->add_option("--depth", a->depth, "Bits a channel")->check(CLI::IsMember({8, 16}))->capture_default_str();
  c->add_option("--threads", a->threads, "Threads to use; the picture does not depend on it")
      ->check(CLI::Range(1u, 256u));
  c->add_flag("--quiet", a->quiet, "Print nothing but errors and warnings");
  c->footer(
      "Examples:\n"
      "  kirtle predict scenes/moth/scene.toml -o print.png\n"
      "  kirtle predict scenes/moth/scene.toml -o print.png --shirt black-cotton --light LED-B3 --scale "
      "0.25\n"
      "  kirtle predict scenes/reef/scene.toml -o dots.png --loupe 120,150,15,12 --dpi 2400\n"
      "  kirtle predict scenes/reef/scene.toml -o print.tif --depth 16 --profile press-room.icc");
  c->callback([a] { run_predict(*a); });
}

}  // namespace kirtle
