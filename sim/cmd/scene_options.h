#pragma once
// Options that every command which reads a scene has.
#include "base/progress.h"
#include "base/units.h"
#include "job/read_scene.h"

#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

struct SceneArguments {
  std::string scene;
  std::optional<std::string> light, shirt;
  std::optional<double> ppi;
  std::vector<std::string> data;

  void add_to(CLI::App& command);
  /// Reads the scene; prints its warnings and, unless quiet, its notices to standard error.
  Scene read(bool quiet = false) const;
};

/// The press in place of the scene's.
struct PressArguments {
  std::string press, holds;

  void add_to(CLI::App& command);
  /// The press is looked for where the scene's records are. Throws InputError.
  void apply(Scene& scene) const;
};

/// The light's name as it is spelt, if only capitals differ; else `name`.
std::string light_spelt(const std::string& name);

/// Every mesh on the scene's shelves, for remedies; records with faults are told as warnings and left out.
std::vector<Mesh> all_meshes(const Scene& scene, bool quiet);

/// "0.25 mm", "1 pt": a length from low to high. Throws InputError naming the option and what is allowed.
Mm length_option(const std::string& text, const char* option, Mm low, Mm high);

/// One line on standard error, "WHAT 12 %", that counts up; none unless that is a terminal, or if quiet.
Progress terminal_progress(const char* what, bool quiet = false);

/// From now on the first Ctrl-C asks work to stop (stoppable_progress), a second one ends the program at
/// once.
void catch_interrupt();
/// Stops when asked to by Ctrl-C; on a terminal, unless quiet, one line that counts up and goes when done.
Progress stoppable_progress(std::string what, bool quiet);

/// A check that a number lies in low..high; CLI11's own range lets "nan" through.
CLI::Validator within(double low, double high);

/// Warnings and, unless quiet, notices, one below the other, to standard error. A notice that is the same of
/// several files is said once: "base.png and 3 more: note: ...".
void print_notes(const std::vector<Diagnostic>& notes, bool quiet = false);

/// "61.0 /cm (155 /in)" and the like: both units, as shops use both.
std::string mesh_text(double threads_per_cm);
std::string length_text(double mm);

}  // namespace kirtle
