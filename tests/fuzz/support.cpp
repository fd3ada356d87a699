#include "fuzz/readers.h"
#include "plate/plate_files.h"

#include <stdexcept>

namespace kirtle::test {

void found(const std::string& what) { throw std::logic_error(what); }

std::string as_file(std::span<const std::uint8_t> bytes, const std::string& name) {
  static const TempFolder folder;
  static const bool linked = [] {
    const std::filesystem::path plates = folder / "plates";
    std::filesystem::create_directory(plates);
    for (const char* scene : {"moth", "reef", "botanical"}) {
      for (const auto& file : std::filesystem::directory_iterator(std::string(KIRTLE_SOURCE_DIR "/scenes/") +
                                                                  scene + "/plates")) {
        std::error_code there_already;
        std::filesystem::create_symlink(file.path(), plates / file.path().filename(), there_already);
      }
    }
    std::filesystem::create_symlink(KIRTLE_SOURCE_DIR "/scenes/moth/scene.toml", folder / "moth.toml");
    return true;
  }();
  static_cast<void>(linked);
  const std::filesystem::path file = folder / name;
  write_bytes(file, {bytes.begin(), bytes.end()});
  return file.string();
}

}  // namespace kirtle::test
