#pragma once
// Files made up for one test, in a folder that goes away with it.
#include "base/diagnostics.h"
#include "base/temp_folder.h"

#include <filesystem>
#include <string>
#include <vector>

namespace kirtle::test {

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
