// kirtle run: an order of shirts on a press that never lands twice the same.
#include "base/replaced_file.h"
#include "cmd/commands.h"
#include "cmd/run_report.h"
#include "cmd/say.h"
#include "cmd/scene_options.h"
#include "job/own_files.h"
#include "job/press_plan.h"
#include "predict/picture.h"
#include "predict/run_map.h"

#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <string_view>

namespace kirtle {

namespace {

constexpr std::string_view kRunFiles[] = {"run.json", "shirts.csv",  "tolerance.svg",
                                          "map.png",  "typical.png", "worst.png"};

/// From the eye to the shirt: nearer nobody sees sharp, and from farther nothing of a print is seen.
constexpr Mm kNearest{50}, kFarthest{20000};

struct RunArguments {
  SceneArguments scene;
  PressArguments press;
  std::string distance = "600 mm", output, eye = "shown";
  int shirts = 144;
  std::optional<std::uint64_t> seed;
  unsigned threads = 0;
  bool json = false, quiet = false;
};

Scene scene_of(const RunArguments& a) {
  Scene scene = a.scene.read(a.quiet);
  if (a.seed) scene.press.seed = *a.seed;
  a.press.apply(scene);
  return scene;
}

void run_command(const RunArguments& a) {
  const Scene scene = scene_of(a);
  ShirtRunSettings settings;
  settings.shirts = a.shirts;
  settings.threads = a.threads;
  settings.visible.distance = length_option(a.distance, "--distance", kNearest, kFarthest);
  EyeSettings eye;
  eye.distance = settings.visible.distance;
  eye.threads = a.threads;
  const std::filesystem::path folder(a.output);
  refuse_own_files(own_files(scene), folder, kRunFiles, "the run is");
  if (!a.output.empty()) make_folder(a.output);
  catch_interrupt();
  settings.progress = stoppable_progress("shirts", a.quiet);
  Diagnostics notes;
  const Prediction prediction(scene, notes);
  print_notes(notes.all(), a.quiet);
  const RegisterRun press(register_model(scene));
  const ShirtRun run = run_shirts(scene, prediction, press, settings);
  const int done = static_cast<int>(run.showing.shirts.size());
  const EyeOn on = a.eye == "all" ? EyeOn::all : a.eye == "none" ? EyeOn::none : EyeOn::shown;
  bool cancelled = run.showing.cancelled;
  RunDrift drift;
  RunSeen seen;
  if (!cancelled) {
    try {
      drift = drift_of_tints(scene, prediction, press, done, a.threads,
                             stoppable_progress("shade of tints", a.quiet));
    } catch (const Cancelled&) {
      cancelled = true;
    }
  }
  if (!cancelled) {
    seen = see_shirts(scene, prediction, press, run, on, eye, stoppable_progress("shirts by eye", a.quiet));
    cancelled = seen.cancelled;
  }
  const RunReport report{scene, run,   settings,  on,       seen,
                         eye,   drift, cancelled, a.shirts, map_scale(run.showing.map, done)};
  if (!a.output.empty()) {
    write_file(folder / "run.json", run_json(report));
    write_file(folder / "shirts.csv", shirts_csv(report));
    write_file(folder / "tolerance.svg", tolerance_svg(run));
    if (!cancelled) {
      write_map(prediction, run.showing, folder / "map.png", a.threads);
      const auto draw = [&](int index, const char* file) {
        const Scene moved = scene_on_shirt(scene, press, static_cast<std::uint32_t>(index) + 1);
        Diagnostics again;
        const Prediction shirt(moved, again);
        PictureSettings picture;
        picture.threads = a.threads;
        write_print(moved, shirt, folder / file, picture);
      };
      draw(run.showing.typical, "typical.png");
      draw(run.showing.worst, "worst.png");
    }
  }
  if (a.json) {
    fmt::print("{}", run_json(report));
  } else {
    say("{}", run_text(report));
  }
  if (cancelled) {
    std::fflush(stdout);
    fmt::print(stderr, "stopped after {} of {} shirts; these are kept, pictures are left out\n", done,
               a.shirts);
    throw Cancelled();
  }
}

}  // namespace

void add_run_command(CLI::App& app) {
  auto a = std::make_shared<RunArguments>();
  CLI::App* c = app.add_subcommand("run", "An order of shirts: on how many the shirt shows, where, how wide");
  a->scene.add_to(*c);
  c->add_option("--shirts", a->shirts, "How many")->check(CLI::Range(1, 100000))->capture_default_str();
  a->press.add_to(*c);
  c->add_option("--distance", a->distance, "From the eye to the shirt")->capture_default_str();
  c->add_option(
       "--eye", a->eye,
       "Which shirts to compare, by eye, with a print in register: all, shown (typical and worst), none")
      ->check(CLI::IsMember({"all", "shown", "none"}))
      ->capture_default_str();
  c->add_option("--seed", a->seed, "Another run of the same press");
  c->add_option("--threads", a->threads, "Threads to use; the result does not depend on it")
      ->check(CLI::Range(1u, 256u));
  c->add_option("-o,--output", a->output,
                "Folder for run.json, shirts.csv, tolerance.svg, map.png, typical.png and worst.png");
  c->add_flag("--json", a->json, "One JSON document");
  c->add_flag("--quiet", a->quiet, "No progress, no notes: results, errors and warnings alone");
  c->footer(
      "Examples:\n"
      "  kirtle run scenes/moth/scene.toml --shirts 144\n"
      "  kirtle run scenes/moth/scene.toml --shirts 500 --holds \"0.4 mm\" --eye all -o out/moth-run\n"
      "  kirtle run scenes/reef/scene.toml --press worn-manual\n"
      "Ctrl-C keeps the shirts done: run.json, shirts.csv and tolerance.svg are written and say "
      "\"cancelled\";\n"
      "the exit status is 130. A second Ctrl-C ends at once.");
  c->callback([a] { run_command(*a); });
}

}  // namespace kirtle
