#include "cmd/scene_options.h"

#include "job/library.h"
#include "job/quantity.h"
#include "light/weights.h"
#include "predict/run_press.h"

#include <algorithm>
#include <cctype>
#include <csignal>
#include <cstdio>
#include <fmt/format.h>
#include <set>
#include <unistd.h>

namespace kirtle {

namespace {

/// Set by Ctrl-C.
volatile std::sig_atomic_t interrupted = 0;

void on_interrupt(int) {
  interrupted = 1;
  std::signal(SIGINT, SIG_DFL);
}

}  // namespace

void SceneArguments::add_to(CLI::App& command) {
  command.add_option("SCENE", scene, "Scene file (docs/formats.md)")->required();
  command.add_option("--light", light,
                     "Light to see it under: D50, D65, A, F1 to F12, LED-B3 (scene: [view] light)");
  command.add_option("--shirt", shirt, "Another shirt, by id (kirtle shirts lists them)");
  command
      .add_option("--ppi", ppi,
                  "Pixels per inch of the plates at print size, if they do not say (scene: ppi)")
      ->check(within(10, 5000));
  command.add_option("--data", data, "Further folder of inks, shirts, meshes; may be given more than once")
      ->allow_extra_args(false);
}

Scene SceneArguments::read(bool quiet) const {
  SceneOptions options;
  if (light) options.light = light_spelt(*light);
  options.shirt = shirt;
  options.ppi = ppi;
  for (const std::string& folder : data) options.data_folders.emplace_back(folder);
  Scene out = read_scene(scene, options);
  print_notes(out.notes, quiet);
  return out;
}

std::string light_spelt(const std::string& name) {
  const auto same = [](char a, char b) {
    return std::toupper(static_cast<unsigned char>(a)) == std::toupper(static_cast<unsigned char>(b));
  };
  for (const std::string& light : light_names())
    if (std::equal(light.begin(), light.end(), name.begin(), name.end(), same)) return light;
  return name;
}

std::vector<Mesh> all_meshes(const Scene& scene, bool quiet) {
  Diagnostics faults;
  Library library(scene.data_folders);
  std::vector<Mesh> meshes = library.all_meshes(faults);
  std::vector<Diagnostic> left_out = faults.all();
  for (Diagnostic& d : left_out) d.severity = Severity::warning;
  print_notes(left_out, quiet);
  return meshes;
}

void PressArguments::add_to(CLI::App& command) {
  command.add_option("--press", press,
                     "Another press, by id, in place of the scene's; a name that is none lists them");
  command.add_option(
      "--holds", holds,
      "The press holds plus-minus this, for example \"0.25 mm\" or \"1/64 in\" (scene: [press])");
}

void PressArguments::apply(Scene& scene) const {
  if (!press.empty()) use_press(scene, press);
  if (!holds.empty()) scene.press.holds = length_option(holds, "--holds", {0}, kMostHolds);
}

Mm length_option(const std::string& text, const char* option, Mm low, Mm high) {
  const std::optional<double> mm = quantity_from(text, Measure::length_mm);
  if (!mm || !(*mm >= low.v && *mm <= high.v)) {
    throw InputError(
        {},
        fmt::format("{} \"{}\" is not a length from {:g} to {:g} mm", option, printable(text), low.v, high.v),
        fmt::format("write it with a unit, for example {}", example_of(Measure::length_mm)));
  }
  return {*mm};
}

Progress terminal_progress(const char* what, bool quiet) {
  if (quiet || ::isatty(STDERR_FILENO) == 0) return {};
  return [what](double share) {
    fmt::print(stderr, "\r{} {:3.0f} %{}", what, 100 * share, share >= 1 ? "\n" : "");
    std::fflush(stderr);
    return true;
  };
}

void catch_interrupt() { std::signal(SIGINT, on_interrupt); }

Progress stoppable_progress(std::string what, bool quiet) {
  const bool line = !quiet && ::isatty(STDERR_FILENO) != 0;
  return [line, what = std::move(what)](double share) {
    if (line) {
      fmt::print(stderr, "\r{} {:3.0f} %\x1b[K", what, 100 * share);
      if (share >= 1) fmt::print(stderr, "\r\x1b[K");
      std::fflush(stderr);
    }
    return interrupted == 0;
  };
}

CLI::Validator within(double low, double high) {
  return {[low, high](std::string& text) {
            double x = 0;
            if (CLI::detail::lexical_cast(text, x) && x >= low && x <= high) return std::string();
            return fmt::format("\"{}\" is not a number from {:g} to {:g}", printable(text), low, high);
          },
          fmt::format("{:g}..{:g}", low, high)};
}

void print_notes(const std::vector<Diagnostic>& notes, bool quiet) {
  std::set<std::string> said;  // notices of whole files
  for (Diagnostic d : notes) {
    if (quiet && d.severity == Severity::notice) continue;
    if (d.severity == Severity::notice && d.place.line == 0 && !d.place.file.empty()) {
      if (!said.insert(d.message).second) continue;
      std::set<std::string> files;
      for (const Diagnostic& o : notes) {
        if (o.severity == d.severity && o.place.line == 0 && o.message == d.message)
          files.insert(o.place.file);
      }
      if (files.size() > 1) d.place.file += fmt::format(" and {} more", files.size() - 1);
    }
    fmt::print(stderr, "{}\n", to_string(d));
  }
}

std::string mesh_text(double threads_per_cm) {
  return fmt::format("{:.4g} threads/cm ({:.0f}/in)", threads_per_cm,
                     threads_per_inch_from_per_cm(threads_per_cm));
}

std::string length_text(double mm) { return fmt::format("{:.1f} mm ({:.2f} in)", mm, mm / kMmPerInch); }

}  // namespace kirtle
