#include "job/own_files.h"

#include "base/diagnostics.h"

#include <fmt/format.h>
#include <system_error>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

void refuse_own_file(std::span<const fs::path> own, const fs::path& target, std::string_view made,
                     const char* another) {
  for (const fs::path& file : own) {
    std::error_code ignored;
    if (!fs::equivalent(file, target, ignored)) continue;
    throw InputError({target.string(), 0, 0}, fmt::format("cannot write this file: {} made from it", made),
                     fmt::format("name another {}; nothing was written", another));
  }
}

}  // namespace

std::vector<fs::path> own_files(const Scene& scene) {
  std::vector<fs::path> out{scene.file};
  for (const ScenePlate& plate : scene.plates) out.push_back(plate.file);
  if (!scene.compare.art.empty()) out.push_back(scene.compare.art);
  return out;
}

void refuse_own_files(std::span<const fs::path> own, std::span<const fs::path> targets,
                      std::string_view made) {
  for (const fs::path& target : targets) refuse_own_file(own, target, made, "file");
}

void refuse_own_files(std::span<const fs::path> own, const fs::path& folder,
                      std::span<const std::string_view> names, std::string_view made) {
  if (folder.empty()) return;
  for (const std::string_view name : names) refuse_own_file(own, folder / name, made, "folder");
}

}  // namespace kirtle
