#include "job/library.h"

#include "job/records.h"

#include <algorithm>
#include <cstdlib>

namespace kirtle {
namespace fs = std::filesystem;

namespace {

/// Ids that hold a word between their dashes: "navy" of "navy-cotton".
std::vector<std::string> ids_with_word(const std::string& word, const std::vector<std::string>& ids) {
  std::vector<std::string> out;
  if (word.empty()) return out;
  for (const std::string& id : ids)
    if (('-' + id + '-').find('-' + word + '-') != std::string::npos) out.push_back(id);
  return out;
}

}  // namespace

Library::Library(std::vector<fs::path> folders) : folders_(std::move(folders)) {}

std::vector<std::string> Library::ids(const std::string& shelf) const {
  std::set<std::string> found;
  for (const fs::path& folder : folders_) {
    std::error_code code;
    for (fs::directory_iterator i(folder / shelf, code), end; !code && i != end; i.increment(code)) {
      if (i->path().extension() == ".toml") found.insert(i->path().stem().string());
    }
  }
  return {found.begin(), found.end()};
}

template <class Record, class Read>
const Record* Library::take(Shelf<Record>& shelf, const char* folder, const char* noun, const std::string& id,
                            const Place& asked_at, Diagnostics& faults, Read read) {
  if (const auto known = shelf.find(id); known != shelf.end()) {
    if (known->second) return &*known->second;
    faults.error(asked_at, std::string(noun) + " \"" + id + "\" has the faults reported already",
                 "mend its record");
    return nullptr;
  }
  const std::string key = std::string(folder) + '/' + id;
  if (being_read_.contains(key)) {
    faults.error(asked_at, std::string(noun) + " \"" + printable(id) + "\" is made of itself",
                 "take it out of its own mix");
    return nullptr;
  }
  // An id becomes part of a path: nothing but what an id may hold goes there.
  const bool plain = id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string::npos;
  std::error_code code;
  for (const fs::path& root : folders_) {
    const fs::path file = root / folder / (id + ".toml");
    if (!plain || id.empty() || !fs::exists(file, code)) continue;
    being_read_.insert(key);
    const std::optional<Document> document = read_document(file, faults);
    std::optional<Record> record;
    if (document) record = read(*document);
    being_read_.erase(key);
    const auto& kept = shelf.emplace(id, std::move(record)).first->second;
    return kept ? &*kept : nullptr;
  }
  const std::vector<std::string> known = ids(folder);
  const std::string near = nearest_name(id, known);
  std::string remedy = "did you mean \"" + near + "\"?";
  const std::vector<std::string> with_word =
      near.empty() ? ids_with_word(id, known) : std::vector<std::string>();
  if (!with_word.empty()) {
    remedy = "did you mean ";
    for (std::size_t i = 0; i < with_word.size(); ++i)
      remedy += (i == 0 ? "\"" : i + 1 == with_word.size() ? " or \"" : ", \"") + with_word[i] + '"';
    remedy += '?';
  } else if (near.empty()) {
    remedy = known.empty() ? "no " + std::string(folder) + " were found in "
                           : "known " + std::string(folder) + ": ";
    for (std::size_t i = 0; i < known.size(); ++i) remedy += (i > 0 ? ", " : "") + known[i];
    for (std::size_t i = 0; known.empty() && i < folders_.size(); ++i) {
      remedy += (i > 0 ? ", " : "") + folders_[i].string();
    }
  }
  faults.error(asked_at, "there is no " + std::string(noun) + " \"" + printable(id, 64) + '"', remedy);
  return nullptr;
}

const Ink* Library::ink(const std::string& id, const Place& at, Diagnostics& faults) {
  return take(inks_, "inks", "ink", id, at, faults,
              [&](const Document& d) { return read_ink(d, *this, faults); });
}
const Cloth* Library::shirt(const std::string& id, const Place& at, Diagnostics& faults) {
  return take(shirts_, "shirts", "shirt", id, at, faults,
              [&](const Document& d) { return read_shirt(d, *this, faults); });
}
const Mesh* Library::mesh(const std::string& id, const Place& at, Diagnostics& faults) {
  return take(meshes_, "meshes", "mesh", id, at, faults,
              [&](const Document& d) { return read_mesh(d, faults); });
}
const PressPreset* Library::press(const std::string& id, const Place& at, Diagnostics& faults) {
  return take(presses_, "presses", "press", id, at, faults,
              [&](const Document& d) { return read_press(d, faults); });
}
const FibreRecord* Library::fibre(const std::string& id, const Place& at, Diagnostics& faults) {
  return take(fibres_, "fibres", "fibre", id, at, faults,
              [&](const Document& d) { return read_fibre(d, faults); });
}
const DyeRecord* Library::dye(const std::string& id, const Place& at, Diagnostics& faults) {
  return take(dyes_, "dyes", "dye", id, at, faults, [&](const Document& d) { return read_dye(d, faults); });
}

namespace {
template <class Record, class Take>
std::vector<Record> all(const std::vector<std::string>& ids, Take take_one) {
  std::vector<Record> out;
  for (const std::string& id : ids) {
    if (const Record* record = take_one(id)) out.push_back(*record);
  }
  return out;
}
}  // namespace

std::vector<Ink> Library::all_inks(Diagnostics& faults) {
  return all<Ink>(ids("inks"), [&](const std::string& id) { return ink(id, {}, faults); });
}
std::vector<Cloth> Library::all_shirts(Diagnostics& faults) {
  return all<Cloth>(ids("shirts"), [&](const std::string& id) { return shirt(id, {}, faults); });
}
std::vector<Mesh> Library::all_meshes(Diagnostics& faults) {
  return all<Mesh>(ids("meshes"), [&](const std::string& id) { return mesh(id, {}, faults); });
}
std::vector<PressPreset> Library::all_presses(Diagnostics& faults) {
  return all<PressPreset>(ids("presses"), [&](const std::string& id) { return press(id, {}, faults); });
}

fs::path default_data_folder() {
  if (const char* set = std::getenv("KIRTLE_DATA"); set != nullptr && *set != '\0') return set;
  std::error_code code;
  const fs::path program = fs::read_symlink("/proc/self/exe", code);
  if (!code) {
    const fs::path installed = program.parent_path().parent_path() / "share" / "kirtle" / "inkdata";
    if (fs::is_directory(installed, code)) return installed;
  }
  return KIRTLE_BUILT_FROM_INKDATA;
}

Library load_library(const std::vector<fs::path>& extra, Diagnostics& faults) {
  std::vector<fs::path> folders = extra;
  folders.push_back(default_data_folder());
  for (std::size_t i = 0; i < folders.size(); ++i) {
    std::error_code code;
    if (fs::is_directory(folders[i], code)) continue;
    faults.error({folders[i].string(), 0, 0}, "there is no such folder of records",
                 i + 1 < folders.size() ? "name a folder that holds inks/, shirts/, meshes/ or presses/"
                                        : "set KIRTLE_DATA to the folder inkdata that came with Kirtle");
  }
  return Library(std::move(folders));
}

}  // namespace kirtle
