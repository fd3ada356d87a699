#pragma once
// From a scene file to a Scene. docs/formats.md lists every key.
#include "job/scene.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace kirtle {

constexpr std::size_t kMaxPlates = 12;
constexpr std::size_t kMaxPasses = 24;

/// What the command line may set in place of the scene.
struct SceneOptions {
  std::optional<std::string> light;                 ///< a name of light_names()
  std::optional<std::string> shirt;                 ///< id of a shirt
  Place shirt_asked_at{};                           ///< where that id stands, if it is in a file
  std::optional<double> ppi;                        ///< of the plates, 10..5000
  std::vector<std::filesystem::path> data_folders;  ///< searched before the folder that came with Kirtle
};

/// Reads the scene, its records and checks that its plates are there (their contents are read later). Throws
/// InputError with every fault of every file; warnings and notices are in Scene::notes.
Scene read_scene(const std::filesystem::path& file, const SceneOptions& options = {});

}  // namespace kirtle
