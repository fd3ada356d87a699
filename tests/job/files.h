#pragma once
// Files made up for one test, in a folder that goes away with it.
#include "base/diagnostics.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <unistd.h>
#include <vector>

namespace kirtle::test {

class TempFolder {
 public:
  TempFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "kirtle-test-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;
  ~TempFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  std::filesystem::path write(const std::string& name, const std::string& text) const {
    const std::filesystem::path file = path_ / name;
    std::filesystem::create_directories(file.parent_path());
    std::ofstream(file, std::ios::binary) << text;
    return file;
  }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

/// Every fault as "LINE:COLUMN MESSAGE | REMEDY", the folder taken out of the text.
inline std::vector<std::string> lines_of(const Diagnostics& faults, const TempFolder& folder) {
  std::vector<std::string> out;
  for (const Diagnostic& d : faults.all()) {
    std::string line = std::to_string(d.place.line) + ':' + std::to_string(d.place.column) + ' ' + d.message +
                       (d.remedy.empty() ? "" : " | " + d.remedy);
    const std::string root = folder.path().string();
    for (std::size_t at = line.find(root); at != std::string::npos; at = line.find(root))
      line.erase(at, root.size());
    out.push_back(line);
  }
  return out;
}

}  // namespace kirtle::test
