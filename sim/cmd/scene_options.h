#pragma once
// Options that every command which reads a scene has.
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

/// A check that a number lies in low..high; CLI11's own range lets "nan" through.
CLI::Validator within(double low, double high);

/// Warnings and, unless quiet, notices, one below the other, to standard error.
void print_notes(const std::vector<Diagnostic>& notes, bool quiet = false);

/// "61.0 /cm (155 /in)" and the like: both units, as shops use both.
std::string mesh_text(double threads_per_cm);
std::string length_text(double mm);

}  // namespace kirtle
